/* Checks on gears: flanks worn flat or across, pitting, chips.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>

#include "../metrology/ef-propagate.h"
#include "ef-rule.h"

#define OK_OVER (EF_OUTCOME_BIT (EF_OUTCOME_OK) | EF_OUTCOME_BIT (EF_OUTCOME_OVER))

static const char *const limit_params[] = { "limit_mm", NULL };
static const char *const line_params[] = { "limit_mm", "heavy_limit_mm", "width_share", NULL };
static const char *const share_params[] = { "limit_share", NULL };

/* Radii between which a mark on a flank lies, m. */
static gboolean
flank_span (const EfRuleCase *c,
            double *inner_out,
            double *outer_out)
{
  EfChartPlace place;
  double bounds[4];
  double start;

  if (c->chart == NULL || c->chart->n_strips == 0)
    return FALSE;

  ef_mark_bounds (c->mark, bounds);
  ef_face_chart_place (c->chart, 0.5 * (bounds[0] + bounds[2]), 0.5 * (bounds[1] + bounds[3]), &place);
  start = c->chart->u0 + (MAX (place.tooth, 1) - 1) * c->chart->strip_pitch;
  *inner_out = c->chart->strip_r0 + CLAMP (bounds[0] - start, 0.0, c->chart->strip_width);
  *outer_out = c->chart->strip_r0 + CLAMP (bounds[2] - start, 0.0, c->chart->strip_width);

  return TRUE;
}

/* Depth of a flat from its width by the involute's own curvature, where no depth was read. The involute is
 * (r2^2 - r1^2) / (2 rb) long between two radii (ISO 21771: roll length over the base circle). */
static gboolean
flat_depth (const double *width,
            guint n,
            double *depth,
            gpointer data)
{
  const double *radii = data; /* base, middle */

  (void) n;

  return ef_flat_spot_depth (radii[0], radii[1], MAX (*width, 0.0), depth, NULL);
}

/* The width is as sure as it was drawn. */
static void
take_flat_from_width (const EfRuleCase *c,
                      EfQuestion *question)
{
  double inner, outer, width, radii[2], u;
  g_auto (EfPropagated) depth = { 0 };

  if (!flank_span (c, &inner, &outer) || c->chart->base_radius <= 0.0)
    return;
  radii[0] = c->chart->base_radius;
  radii[1] = 0.5 * (inner + outer);
  width = (outer * outer - inner * inner) / (2.0 * c->chart->base_radius);
  ef_rule_take_drawn (c, width, question);
  u = question->u;
  question->value = question->u = NAN;
  if (!ef_propagate (flat_depth, radii, &width, &u, NULL, 1, &depth, NULL))
    return;
  question->value = depth.value;
  question->u = question->fixed = depth.u;
}

static void
check_flank_flat (const EfRuleCase *c)
{
  EfQuestion question;
  EfOutcome outcome;

  ef_rule_question (c, &question);
  if (c->mark->depths->len > 0)
    {
      outcome = ef_rule_decide_depths (c, &question);
    }
  else
    {
      take_flat_from_width (c, &question);
      outcome = ef_rule_decide (c, &question);
    }
  ef_rule_say (c, outcome, &question, NULL, NULL);
}

/* Share of the face width that the mark runs over. */
static double
width_share (const EfRuleCase *c)
{
  double bounds[4];
  double width = c->chart != NULL ? c->chart->v1 - c->chart->v0 : c->part->thickness;

  ef_mark_bounds (c->mark, bounds);

  return width > 0.0 ? MIN ((bounds[3] - bounds[1]) / width, 1.0) : 0.0;
}

/* A line across the flank counts from the light limit on; any other scoring from the heavy one. */
static void
check_flank_line (const EfRuleCase *c)
{
  EfQuestion question;
  EfOutcome outcome;
  double share = width_share (c);
  double heavy = ef_rule_param (c, "heavy_limit_mm", NAN);
  gboolean across = share >= ef_rule_param (c, "width_share", 0.5);
  g_autofree char *runs = g_strdup_printf ("%.0f %%", share * 100.0);

  ef_rule_question (c, &question);
  if (across)
    {
      question.beyond = NAN;
    }
  else
    {
      question.limit = MAX (heavy, question.limit);
      question.beyond = question.limit;
    }
  outcome = ef_rule_decide_depths (c, &question);
  ef_rule_say (c, outcome, &question, NULL, "runs", runs, NULL);
}

static int
tooth_of (const EfRuleCase *c,
          const EfMark *mark)
{
  EfChartPlace place;
  const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, 0);

  if (c->chart == NULL || mark->nodes->len == 0)
    return 0;
  ef_face_chart_place (c->chart, node->u, node->v, &place);

  return place.tooth;
}

/* Area of one tooth's flank, or of the whole face where it has no strips, m2. */
static double
tooth_area (const EfRuleCase *c)
{
  if (c->chart == NULL)
    return NAN;
  if (c->chart->n_strips > 0)
    return c->chart->strip_width * (c->chart->v1 - c->chart->v0);

  return ef_region_area (c->chart->solid);
}

/* All pitting on the same tooth together. */
static void
check_pitting (const EfRuleCase *c)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (c->findings->inspection, c->mark->face_id);
  g_autofree char *tooth = NULL;
  EfQuestion question;
  double area = 0.0;
  int own = tooth_of (c, c->mark);

  for (guint i = 0; i < marks->len; i++)
    {
      const EfMark *mark = marks->pdata[i];

      if (mark->kind == c->mark->kind && tooth_of (c, mark) == own)
        area += ef_mark_area (mark);
    }
  ef_rule_question (c, &question);
  question.is_share = TRUE;
  question.limit = ef_rule_param (c, "limit_share", NAN);
  ef_rule_take_drawn (c, area / tooth_area (c), &question);
  tooth = own > 0 ? g_strdup_printf ("tooth %d", own) : g_strdup ("the face");
  ef_rule_say (c, ef_rule_decide (c, &question), &question, NULL, "tooth", tooth, NULL);
}

/* Size of the broken place: the diameter of a point, the longest extent of anything else. */
static void
check_size (const EfRuleCase *c)
{
  EfQuestion question;

  ef_rule_question (c, &question);
  ef_rule_take_drawn (c, c->mark->shape == EF_SHAPE_POINT ? c->mark->size : ef_mark_length (c->mark), &question);
  ef_rule_say (c, ef_rule_decide (c, &question), &question, NULL, NULL);
}

const EfCheckFunction ef_checks_gear[] = {
  { "flank-flat", "depth of a flat on a flank, from its width where no depth was read; limit_mm",
    OK_OVER, limit_params, FALSE, check_flank_flat },
  { "flank-line", "scoring on a flank: over width_share of the face width it counts from limit_mm, elsewhere from heavy_limit_mm",
    OK_OVER | EF_OUTCOME_BIT (EF_OUTCOME_BEYOND), line_params, FALSE, check_flank_line },
  { "pitting", "area of all pitting on the tooth as a share of its flank; limit_share",
    OK_OVER, share_params, FALSE, check_pitting },
  { "size", "longest extent of the mark; limit_mm",
    OK_OVER, limit_params, FALSE, check_size },
  { NULL }
};
