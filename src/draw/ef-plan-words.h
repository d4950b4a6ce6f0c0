/* The lapping plan in words and numbers for people: what window and report say of it alike.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * @unit: of lengths in sentences.
 */
#pragma once

#include "../assess/ef-assessment.h"

G_BEGIN_DECLS

typedef enum
{
  EF_PLAN_UNMEASURED, /* nothing to lap as far as is known, but an end clearance isn't */
  EF_PLAN_NOTHING,    /* nothing to lap */
  EF_PLAN_DONE,       /* all that is wanted can be had */
  EF_PLAN_PARTLY      /* it can't */
} EfPlanState;

/* By the plan of the assessment; without one that is wanted, by whether the end clearances are known. */
EfPlanState ef_plan_state (const EfAssessment *assessment);
/* The option that the job goes by; NULL when there is nothing to lap. */
const EfLapOption *ef_plan_option (const EfAssessment *assessment);
/* Sections whose end clearance isn't known, by name (char *). */
GPtrArray *ef_plan_missing (const EfAssessment *assessment);

/* The whole plan in a plain sentence or two. */
char *ef_plan_sentence (const EfAssessment *assessment, EfUnit unit);
/* What the level means, and why it isn't better; NULL. */
char *ef_plan_note (const EfAssessment *assessment);
/* By how much a limit out of a conflict would have to give way, and whether that is enough. */
char *ef_plan_shortfall (const EfLapConflict *conflict, EfUnit unit);

/* A face that is lapped, or should be. */
typedef struct
{
  char *face_id;
  char *name;              /* "Side A (front) of the separator plate" */
  double wear, residual;   /* deepest wear found and what of it may stay, m; NAN */
  double flatness, flatness_allowed; /* m; NAN */
  double least, bound;     /* must, may come off, m */
  double removal;          /* comes off, m */
  double cut;              /* depth below the unworn face that is surely reached, m */
  gboolean failed;         /* doesn't clean up */
  EfFaceLand *land;        /* held; NULL: no wear that has a depth */
  char *passes;            /* "12 × P400, 6 × P800"; "–" */
} EfPlanRow;
/* Share of the face's land that is restored by the removal, weighed by leakage where that's known; and what it rests on. NAN, NULL: no worn land. */
double ef_plan_restored (const EfPlanRow *row, double removal);
char *ef_plan_land_words (const EfPlanRow *row, EfUnit unit);
/* The faces that the option laps or should lap. Free with g_ptr_array_unref(). */
GPtrArray *ef_plan_rows (const EfAssessment *assessment, const EfLapOption *option); /* EfPlanRow * */

/* End clearance at one gear, m; what isn't known is NAN. */
typedef struct
{
  char *title;              /* "Pressure section, drive gear" */
  double found, after;
  double uncertainty;       /* expanded, k = 2, of the found one */
  double min, max;          /* window to end in, */
  double guard_min, guard_max; /* and less what is kept off for the uncertainty */
  double use_min, use_max;  /* limits for use */
  gboolean changed;         /* lapping changes it */
} EfPlanBar;
GPtrArray *ef_plan_bars (const EfAssessment *assessment, const EfLapOption *option); /* EfPlanBar * */
char *ef_plan_bar_words (const EfPlanBar *bar, EfUnit unit);
/* "0.148 mm → 0.082 mm" */
char *ef_plan_bar_values (const EfPlanBar *bar, EfUnit unit);

/* Of an option: passes in all (0: not in whole passes), what comes off in all, how it differs from others in words. */
guint ef_plan_passes (const EfLapOption *option);
double ef_plan_stock (const EfLapOption *option);
/* "0.082 mm" or "0.082 mm, 0.071 mm": the larger end clearance of each section that is known. */
char *ef_plan_clearances (const EfAssessment *assessment, const EfLapOption *option, EfUnit unit);
const char *ef_plan_level_words (EfLapLevel level);

G_END_DECLS
