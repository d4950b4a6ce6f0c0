/* The verdict taken anew after the rework, and the comparison with what was expected.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-assess-after.h"
#include "ef-assess-cache.h"

#include <math.h>

static const char *const places[2] = { "drive", "driven" };

/* Nothing was done to its marks: the very same items, in the same order. */
static gboolean
is_untouched (const EfInspection *before,
              const char *face_id,
              GPtrArray *marks)
{
  g_autoptr (GPtrArray) own = ef_inspection_face_marks (before, face_id);

  if (own->len != marks->len)
    return FALSE;
  for (guint i = 0; i < own->len; i++)
    if (own->pdata[i] != marks->pdata[i])
      return FALSE;

  return TRUE;
}

/* Faces that nothing was done to keep their maps. */
static void
share_faces (EfFindings *after,
             const EfFindings *before)
{
  GHashTableIter iter;
  gpointer face, value;

  g_hash_table_iter_init (&iter, before->charts);
  while (g_hash_table_iter_next (&iter, &face, &value))
    g_hash_table_insert (after->charts, g_strdup (face), ef_face_chart_ref (value));
}

static gboolean
add_face (EfFindings *after,
          const EfFindings *before,
          const char *face_id,
          GCancellable *cancellable,
          GError **error)
{
  EfFaceChart *chart = g_hash_table_lookup (after->charts, face_id);
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (after->inspection, face_id);
  EfDepthMap *map = g_hash_table_lookup (before->maps, face_id);
  EfFaceWear *wear;

  if (marks->len == 0)
    return TRUE;
  if (map != NULL && is_untouched (before->inspection, face_id, marks))
    ef_depth_map_ref (map);
  else
    map = ef_depth_map_new (chart, (EfMark *const *) marks->pdata, marks->len, 0.0, cancellable, error);
  if (map == NULL)
    return FALSE;
  wear = g_new0 (EfFaceWear, 1);
  ef_face_wear_from_map (chart, map, wear);
  g_hash_table_insert (after->maps, g_strdup (face_id), map);
  g_hash_table_insert (after->wear, g_strdup (face_id), wear);

  return TRUE;
}

static gboolean
fill_findings (EfAfter *self,
               const EfFindings *before,
               GCancellable *cancellable,
               GError **error)
{
  GPtrArray *readings = self->inspection->items[EF_ITEM_READING];
  GPtrArray *gauges = self->inspection->items[EF_ITEM_GAUGE];
  g_auto (GStrv) faces = ef_face_ids (self->inspection->sheet);

  ef_assess_findings_init (&self->findings, self->inspection);
  self->findings.derived = ef_derive (self->inspection->sheet, (EfReading *const *) readings->pdata, readings->len,
                                      (EfGauge *const *) gauges->pdata, gauges->len);
  share_faces (&self->findings, before);
  for (guint i = 0; faces[i] != NULL; i++)
    if (!add_face (&self->findings, before, faces[i], cancellable, error))
      return FALSE;

  return TRUE;
}

static char *
summary_of (const EfAfter *self)
{
  guint judged = 0;

  for (guint i = 0; i < self->rows->len; i++)
    judged += !isnan (((const EfAfterRow *) self->rows->pdata[i])->en);
  if (judged == 0)
    return g_strdup ("Nothing measured after the rework can be compared yet.");
  if (self->n_outside == 0)
    return g_strdup_printf (judged == 1 ? "What was measured again is as expected." : "All %u values measured again are as expected.", judged);

  return g_strdup_printf ("%u of %u values measured again %s outside what was expected.", self->n_outside, judged, self->n_outside == 1 ? "is" : "are");
}

EfAfter *
ef_assess_after_new (const EfFindings *before,
                     const EfVerdict *found,
                     GPtrArray *steps,
                     const EfRuleSet *rules,
                     GCancellable *cancellable,
                     GError **error)
{
  g_autoptr (EfAfter) self = g_new0 (EfAfter, 1);

  self->inspection = ef_after_inspection (before->inspection, found, error);
  if (self->inspection == NULL || !fill_findings (self, before, cancellable, error))
    return NULL;
  self->verdict = ef_judge (rules, &self->findings, error);
  if (self->verdict == NULL)
    return NULL;
  self->rows = ef_after_compare (before, self->findings.derived, steps);
  for (guint i = 0; i < self->rows->len; i++)
    self->n_outside += ((const EfAfterRow *) self->rows->pdata[i])->outside;
  self->summary = summary_of (self);

  return g_steal_pointer (&self);
}

void
ef_assess_after_free (EfAfter *self)
{
  if (self == NULL)
    return;

  ef_verdict_free (self->verdict);
  g_clear_pointer (&self->rows, g_ptr_array_unref);
  ef_assess_findings_clear (&self->findings);
  ef_inspection_free (self->inspection);
  g_free (self->summary);
  g_free (self);
}

/* Measured after the rework counts; else what was recorded or planned is taken off what was found. */
double
ef_assess_after_clearance (const EfAfter *after,
                           const EfFindings *before,
                           GPtrArray *steps,
                           const EfSection *section,
                           int gear)
{
  const EfDerived *measured = after != NULL ? ef_derived_find (after->findings.derived, "end-clearance", section->id, places[gear]) : NULL;

  if (measured != NULL)
    return measured->value;

  return ef_steps_clearance_after (before, steps, section, places[gear]);
}
