/* Making steps. Inside rework only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-lap-stock.h"
#include "ef-steps.h"

G_BEGIN_DECLS

/* What the step makers of each phase know. */
typedef struct
{
  const EfFindings *findings;
  const EfVerdict *verdict;
  const EfPumpSheet *sheet;
  GPtrArray *todo;   /* EfTodo * */
  GPtrArray *stocks; /* EfLapStock * */
  const EfLapWork *work;
  GPtrArray *steps;  /* EfStep *, out */
  gboolean apart;    /* a housing is scrap: nothing is put together again */
  gboolean changed;  /* something is reworked or replaced */
} EfStepPlan;

/* Takes @id and @text. @after: ids ended by NULL. */
EfStep *ef_step_add (EfStepPlan *plan, char *id, const char *phase, char *text, ...) G_GNUC_NULL_TERMINATED;
void ef_step_tools (EfStep *step, ...) G_GNUC_NULL_TERMINATED;
void ef_step_cautions (EfStep *step, ...) G_GNUC_NULL_TERMINATED;
void ef_step_check (EfStep *step, char *check); /* takes it */
void ef_step_after (EfStep *step, const char *id);
void ef_step_after_phase (EfStepPlan *plan, EfStep *step, const char *phase);
gboolean ef_step_has (const EfStepPlan *plan, const char *id);

/* Whether the verdict on the part is this very word. */
gboolean ef_step_part_is (const EfStepPlan *plan, const EfPart *part, EfVerdictWord word);
char *ef_step_face_text (const EfStepPlan *plan, const char *face_id); /* "side A of the separator plate" */
char *ef_step_slug (const char *prefix, const char *face_id);          /* "lap-separator-side-a" */
char *ef_step_length (double metres);                                  /* "0.18 mm" */

/* The phases, each appending its steps: stripping; cleaning and what is reworked; measuring again; putting together, or storing what is sound. */
void ef_steps_strip (EfStepPlan *plan);
void ef_steps_rework (EfStepPlan *plan);
void ef_steps_measure (EfStepPlan *plan);
void ef_steps_assemble (EfStepPlan *plan);

/* The hazard (of ef_hazards) that one of the texts below speaks of; NULL: none of them. */
const char *ef_caution_hazard (const char *text);
/* Puts the sheet's words in the place of the program's own wherever both speak of a hazard, each once. @cautions: char *, owned. */
void ef_cautions_settle (const EfPumpSheet *sheet, GPtrArray *cautions);

#define EF_CAUTION_SOLVENT "Solvent vapour burns and harms: ventilate, wear gloves and goggles, keep flames and sparks away; follow local codes."
#define EF_CAUTION_HOT_OIL "Hot oil scalds: let the engine cool; keep oil off skin and out of drains; follow local codes."
#define EF_CAUTION_HEAT "Hot metal burns: heat evenly with hot air or in an oven, never past 120 °C for light alloy, with gloves and tongs; no oil or solvent on the part."
#define EF_CAUTION_MAGNESIUM "Magnesium alloy: its dust and chips burn fiercely and water feeds the fire. Lap wet with oil, make no dry dust, no grinding, " \
                             "collect the slurry in oil in a closed metal can; keep a class D extinguisher at hand; follow local codes."
#define EF_CAUTION_ABRASIVE "Abrasive left in the pump wears it out in hours: wash every passage until a white cloth stays white."
#define EF_CAUTION_EYES "Springs, pins and grit fly: wear goggles, and never strike hardened parts with a steel hammer."
#define EF_CAUTION_PRESSURE "Oil under pressure and compressed air pierce skin: goggles, and never a finger over a passage."

G_END_DECLS
