/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-cause.h"

#include <math.h>
#include <string.h>

#define SAME_WAY (60.0 * G_PI / 180.0) /* directions across the pump that count as one; an assumption */
#define ACROSS 0.08                    /* of the centre distance: how far past the line of the axes a scratch reaches on both sides */

const char *const ef_cause_names[] = { "none", "load", "debris", "end-wear", "misfit", "foreign-body", NULL };

const char *
ef_cause_label (EfCause cause)
{
  static const char *const labels[EF_N_CAUSES] = {
    "Nothing that stands out", "Pushed by the oil's pressure", "Debris carried from delivery to suction", "Wear between the gears' ends and the faces they run on",
    "Parts out of line", "A foreign body",
  };

  return labels[cause];
}

gboolean
ef_cause_from_name (const char *name,
                    EfCause *cause_out)
{
  for (int i = 0; i < EF_N_CAUSES; i++)
    if (g_strcmp0 (name, ef_cause_names[i]) == 0)
      {
        *cause_out = i;
        return TRUE;
      }

  return FALSE;
}

void
ef_cause_finding_free (EfCauseFinding *finding)
{
  if (finding == NULL)
    return;
  g_free (finding->sentence);
  g_ptr_array_unref (finding->refs);
  g_free (finding);
}

EfCause
ef_cause_first (const GPtrArray *causes)
{
  return causes->len > 0 ? ((EfCauseFinding *) causes->pdata[0])->cause : EF_CAUSE_NONE;
}

typedef struct
{
  const EfFindings *findings;
  const EfRuleSet *rules;
  const EfSection *section;
  EfCauseFinding *of[EF_N_CAUSES]; /* NULL: nothing speaks for it */
  char *heaviest[EF_N_CAUSES];     /* its heaviest piece, in words */
} Weighing;

static void
weigh (Weighing *w,
       EfCause cause,
       double weight,
       const char *words,
       const GPtrArray *refs)
{
  EfCauseFinding *finding;

  if (!(weight >= EF_CAUSE_LEAST))
    return;
  if (w->of[cause] == NULL)
    {
      w->of[cause] = g_new0 (EfCauseFinding, 1);
      w->of[cause]->cause = cause;
      w->of[cause]->refs = g_ptr_array_new_with_free_func (g_free);
    }
  finding = w->of[cause];
  for (guint i = 0; refs != NULL && i < refs->len; i++)
    g_ptr_array_add (finding->refs, g_strdup (refs->pdata[i]));
  if (weight <= finding->weight)
    return;
  finding->weight = weight;
  g_free (w->heaviest[cause]);
  w->heaviest[cause] = g_strdup (words);
}

/* Share of the limit; NAN without one. */
static double
share_of_limit (const Weighing *w,
                const char *quantity,
                const char *target,
                double value)
{
  const EfLimit *limit = ef_pump_sheet_limit (w->findings->inspection->sheet, quantity, target);
  double most = limit != NULL && isfinite (limit->wear_max) ? limit->wear_max : ef_rule_set_limit (w->rules, quantity, NULL);

  return most > 0.0 ? value / most : NAN;
}

/* Lips and bores */

typedef struct
{
  double weight;    /* of the heaviest lip off the load's side; 0 none */
  double direction; /* across the pump, front view, rad */
  const EfCross *cross;
} Stray;

/* Psi of a gear as an angle in the front view. */
static double
across_pump (const EfSection *section,
             int gear,
             double psi)
{
  double x, y;

  ef_section_at_psi (section, gear, 1.0, psi, &x, &y);

  return atan2 (y, x - ef_section_axis_x (section, gear));
}

static void
weigh_lip (Weighing *w,
           const EfCross *cross,
           Stray stray[2])
{
  const EfMark *mark = ef_inspection_find (w->findings->inspection, EF_ITEM_MARK, cross->id + strlen ("lip:"));
  const EfFaceChart *chart = mark != NULL ? g_hash_table_lookup (w->findings->charts, mark->face_id) : NULL;
  g_autofree char *words = NULL;
  double weight;

  if (chart == NULL || chart->gear < 0 || chart->gear > 1)
    return;
  weight = share_of_limit (w, "wall-lip", mark->face_id, ef_mark_deepest (mark));
  if (cross->consistent)
    {
      words = g_strdup_printf ("a lip on the %s side's pocket wall, %.3f mm, where the computed load pushes the gear", chart->gear == 0 ? "drive" : "driven", ef_mark_deepest (mark) * 1e3);
      weigh (w, EF_CAUSE_LOAD, weight, words, cross->refs);
    }
  else if (weight >= EF_CAUSE_LEAST && weight > stray[chart->gear].weight)
    stray[chart->gear] = (Stray){ weight, across_pump (w->section, chart->gear, cross->direction), cross };
}

static void
weigh_ovality (Weighing *w,
               const EfCross *cross)
{
  g_auto (GStrv) words = g_strsplit (cross->id, ":", 3);
  const EfDerived *derived = g_strv_length (words) == 3 ? ef_derived_find (w->findings->derived, "bore-ovality", words[1], words[2]) : NULL;
  g_autofree char *text = NULL;

  if (derived == NULL)
    return;
  text = g_strdup_printf ("a shaft bore %.3f mm longer %s the computed load", derived->value * 1e3, cross->consistent ? "in the line of" : "across");
  weigh (w, cross->consistent ? EF_CAUSE_LOAD : EF_CAUSE_MISFIT, share_of_limit (w, "bore-ovality", cross->target, derived->value), text, cross->refs);
}

static void
weigh_strays (Weighing *w,
              const Stray stray[2])
{
  gboolean both = stray[0].cross != NULL && stray[1].cross != NULL && fabs (remainder (stray[0].direction - stray[1].direction, 2.0 * G_PI)) <= SAME_WAY;

  for (int gear = 0; gear < 2; gear++)
    if (stray[gear].cross != NULL)
      weigh (w, both ? EF_CAUSE_MISFIT : EF_CAUSE_FOREIGN_BODY, stray[gear].weight,
             both ? "lips on both gears' walls that lie the same way across the pump but not where the computed load pushes"
                  : "a lip at one gear alone, where the computed load doesn't push it",
             stray[gear].cross->refs);
  /* diameters can't tell which of two opposite sides wore: where the lips can, they count */
  if (both && w->of[EF_CAUSE_LOAD] != NULL)
    {
      weigh (w, EF_CAUSE_MISFIT, w->of[EF_CAUSE_LOAD]->weight, w->heaviest[EF_CAUSE_LOAD], w->of[EF_CAUSE_LOAD]->refs);
      g_clear_pointer (&w->of[EF_CAUSE_LOAD], ef_cause_finding_free);
    }
}

static void
weigh_directions (Weighing *w,
                  const GPtrArray *across)
{
  Stray stray[2] = { 0 };

  for (guint i = 0; i < across->len; i++)
    {
      const EfCross *cross = across->pdata[i];

      if (g_str_has_prefix (cross->id, "lip:"))
        weigh_lip (w, cross, stray);
      else if (g_str_has_prefix (cross->id, "bore-ovality:"))
        weigh_ovality (w, cross);
    }
  weigh_strays (w, stray);
}

/* Scratches and steps */

/* From one side of the line of the axes to the other: what the oil carries from delivery to suction does that. */
static gboolean
runs_across (const Weighing *w,
             const EfFaceChart *chart,
             const EfMark *mark)
{
  double reach = ACROSS * (ef_section_axis_x (w->section, 1) - ef_section_axis_x (w->section, 0));
  double low = INFINITY, high = -INFINITY;

  for (guint i = 0; i < mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);
      double position[3];

      ef_face_chart_to_pump (chart, node->u, node->v, position, NULL);
      low = fmin (low, position[1]);
      high = fmax (high, position[1]);
    }

  return mark->shape == EF_SHAPE_LINE && low < -reach && high > reach;
}

static void
weigh_mark (Weighing *w,
            const EfMark *mark)
{
  const EfFaceChart *chart = g_hash_table_lookup (w->findings->charts, mark->face_id);
  g_autoptr (GPtrArray) refs = g_ptr_array_new_with_free_func (g_free);
  double depth = ef_mark_deepest (mark);
  gboolean plate = chart != NULL && (g_strcmp0 (chart->id, w->section->facing_face) == 0 || g_strcmp0 (chart->id, w->section->floor_face) == 0);
  const char *quantity = NULL;
  g_autofree char *words = NULL;

  if (chart == NULL || isnan (depth))
    return;
  if (mark->kind == EF_MARK_SCORING || mark->kind == EF_MARK_GROOVE)
    quantity = plate ? (chart->kind == EF_FACE_FLOOR ? "floor-scoring" : "plate-groove") : chart->kind == EF_FACE_WALL && chart->section == w->section ? "wall-scoring" : NULL;
  g_ptr_array_add (refs, g_strdup_printf ("mark:%s", mark->item.id));
  if (quantity != NULL && runs_across (w, chart, mark))
    {
      words = g_strdup_printf ("scratches %.3f mm deep that run from the delivery side to the suction side", depth * 1e3);
      weigh (w, EF_CAUSE_DEBRIS, share_of_limit (w, quantity, mark->face_id, depth), words, refs);
    }
  if (mark->kind == EF_MARK_STEP && plate)
    {
      words = g_strdup_printf ("a step of %.3f mm where the gears' ends run", depth * 1e3);
      weigh (w, EF_CAUSE_END_WEAR, share_of_limit (w, chart->kind == EF_FACE_FLOOR ? "floor-scoring" : "plate-step", mark->face_id, depth), words, refs);
    }
}

static void
weigh_ends (Weighing *w)
{
  const EfDerived *clearance = ef_derived_find (w->findings->derived, "end-clearance", w->section->id, NULL);
  g_autoptr (GPtrArray) refs = g_ptr_array_new_with_free_func (g_free);
  g_autofree char *words = NULL;

  if (clearance == NULL)
    return;
  for (guint i = 0; i < clearance->reading_ids->len; i++)
    g_ptr_array_add (refs, g_strdup_printf ("reading:%s", (char *) clearance->reading_ids->pdata[i]));
  words = g_strdup_printf ("an end clearance of %.3f mm", clearance->value * 1e3);
  weigh (w, EF_CAUSE_END_WEAR, share_of_limit (w, "end-clearance", w->section->id, clearance->value), words, refs);
}

static gint
compare_weight (gconstpointer a,
                gconstpointer b)
{
  const EfCauseFinding *one = *(EfCauseFinding *const *) a, *other = *(EfCauseFinding *const *) b;

  return one->weight > other->weight ? -1 : one->weight < other->weight ? 1 : (int) one->cause - (int) other->cause;
}

GPtrArray *
ef_cause_findings (const EfFindings *findings,
                   const EfRuleSet *rules,
                   const EfSection *section,
                   const GPtrArray *across)
{
  GPtrArray *list = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_cause_finding_free);
  const GPtrArray *marks = findings->inspection->items[EF_ITEM_MARK];
  Weighing w = { .findings = findings, .rules = rules, .section = section };

  if (section == NULL)
    return list;
  weigh_directions (&w, across);
  for (guint i = 0; i < marks->len; i++)
    weigh_mark (&w, marks->pdata[i]);
  weigh_ends (&w);
  for (int i = 0; i < EF_N_CAUSES; i++)
    {
      if (w.of[i] != NULL)
        {
          w.of[i]->sentence = g_strdup_printf ("%s: %s, %.1f times its limit.", ef_cause_label (i), w.heaviest[i], w.of[i]->weight);
          g_ptr_array_add (list, w.of[i]);
        }
      g_free (w.heaviest[i]);
    }
  g_ptr_array_sort (list, compare_weight);

  return list;
}
