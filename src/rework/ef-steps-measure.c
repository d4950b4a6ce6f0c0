/* Cleaning after the work and measuring what came out of it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "ef-step.h"

static const char *const places[2] = { "drive", "driven" };

/* One step for each reading that a verdict still waits for. */
static void
add_measure_again (EfStepPlan *plan)
{
  for (guint i = 0; i < plan->verdict->reasons->len; i++)
    {
      const EfReason *reason = plan->verdict->reasons->pdata[i];
      g_autofree char *about = g_strdup_printf ("%s-%s", reason->rule, reason->target != NULL ? reason->target : "pump");
      g_autofree char *id = NULL;
      EfStep *step;

      if (reason->word != EF_VERDICT_MEASURE)
        continue;
      id = ef_step_slug ("measure-again", about);
      if (ef_step_has (plan, id))
        continue;
      step = ef_step_add (plan, g_steal_pointer (&id), "measure",
                          g_strdup (reason->advice != NULL ? reason->advice : "Look again and decide."), "wash", NULL);
      step->why = g_strdup (reason->sentence);
    }
}

static gboolean
is_worked (const EfStepPlan *plan)
{
  static const char *const worked[] = { "lap-", "bush-", "ream-", "stone-", "polish-" };

  for (guint i = 0; i < plan->steps->len; i++)
    for (guint k = 0; k < G_N_ELEMENTS (worked); k++)
      if (g_str_has_prefix (((EfStep *) plan->steps->pdata[i])->id, worked[k]))
        return TRUE;

  return FALSE;
}

static void
add_clean (EfStepPlan *plan)
{
  EfStep *step;

  if (is_worked (plan))
    {
      step = ef_step_add (plan, g_strdup ("deburr"), "rework",
                          g_strdup ("Break every edge that was worked with a fine oilstone; run a fingertip in a cotton glove round ports and holes."), NULL);
      ef_step_tools (step, "fine oilstone", NULL);
      ef_step_check (step, g_strdup ("No edge catches the glove; the faces themselves are untouched."));
      ef_step_after_phase (plan, step, "rework");
    }
  step = ef_step_add (plan, g_strdup ("clean"), "clean",
                      g_strdup ("Wash all parts again, flush each passage and stud hole, dry, and wipe with a white cloth."), "wash", NULL);
  ef_step_after_phase (plan, step, "rework");
  ef_step_tools (step, "parts washer", "passage brushes", "white cloth", NULL);
  ef_step_cautions (step, EF_CAUTION_ABRASIVE, EF_CAUTION_SOLVENT, EF_CAUTION_PRESSURE, NULL);
  ef_step_check (step, g_strdup ("The white cloth stays white."));
}

/* What is lapped is brought back to as new; what isn't must be within its limits for use. */
static void
clearance_window (const EfStepPlan *plan,
                  const EfSection *section,
                  double *least_out,
                  double *most_out)
{
  const EfLapStock *stock = ef_lap_stock_find (plan->stocks, section->mating_face);
  const EfLimit *limit = ef_pump_sheet_limit (plan->sheet, "end-clearance", section->id);

  ef_lap_clearance_window (plan->sheet, section, least_out, most_out);
  if (limit == NULL || (stock != NULL && stock->clearance > 0.0))
    return;
  if (!isnan (limit->wear_min))
    *least_out = limit->wear_min;
  if (!isnan (limit->wear_max))
    *most_out = limit->wear_max;
}

static void
check_clearance (EfStepPlan *plan,
                 EfStep *step,
                 const EfSection *section)
{
  double least, most;
  g_autofree char *low = NULL;
  g_autofree char *high = NULL;

  clearance_window (plan, section, &least, &most);
  low = ef_step_length (least);
  high = ef_step_length (most);
  for (int i = 0; i < 2; i++)
    {
      double after = ef_steps_clearance_after (plan->findings, plan->steps, section, places[i]);
      g_autofree char *text = isnan (after) ? NULL : ef_step_length (after);

      if (text != NULL)
        ef_step_check (step, g_strdup_printf ("%s gear: %s expected.", i == 0 ? "Drive" : "Driven", text));
    }
  ef_step_check (step, g_strdup_printf ("Within %s to %s.", low, high));
}

static void
add_end_clearance (EfStepPlan *plan,
                   const EfSection *section)
{
  EfStep *step = ef_step_add (plan, ef_step_slug ("measure-end-clearance", section->id), "measure",
                              g_strdup_printf ("Measure the end clearance at both gears: %s.", section->name), "clean", "wash", NULL);

  ef_step_tools (step, "depth micrometer", "micrometer", "straightedge and feeler blades", NULL);
  check_clearance (plan, step, section);
}

static void
add_flatness (EfStepPlan *plan,
              const EfLapStock *stock)
{
  const char *slash = strchr (stock->face_id, '/');
  g_autofree char *part = g_strndup (stock->face_id, slash != NULL ? (gsize) (slash - stock->face_id) : strlen (stock->face_id));
  const EfLimit *limit = ef_pump_sheet_limit (plan->sheet, "flatness", part);
  g_autofree char *face = ef_step_face_text (plan, stock->face_id);
  g_autofree char *most = NULL;
  EfStep *step;

  step = ef_step_add (plan, ef_step_slug ("measure-flatness", stock->face_id), "measure",
                      g_strdup_printf ("Check that %s is flat, along, across and over both diagonals.", face), "clean", NULL);
  step->part_id = g_strdup (part);
  step->face_id = g_strdup (stock->face_id);
  ef_step_tools (step, "straightedge", "feeler blades", NULL);
  if (limit != NULL && !isnan (limit->wear_max))
    {
      most = ef_step_length (limit->wear_max);
      ef_step_check (step, g_strdup_printf ("Flat within %s.", most));
    }
}

void
ef_steps_measure (EfStepPlan *plan)
{
  add_measure_again (plan);
  if (plan->apart)
    return;
  if (plan->changed)
    add_clean (plan);
  for (guint i = 0; plan->changed && i < plan->stocks->len; i++)
    if (((EfLapStock *) plan->stocks->pdata[i])->stock > 0.0)
      add_flatness (plan, plan->stocks->pdata[i]);
  if (plan->changed || plan->verdict->word == EF_VERDICT_USE)
    for (guint i = 0; i < plan->sheet->sections->len; i++)
      add_end_clearance (plan, plan->sheet->sections->pdata[i]);
}
