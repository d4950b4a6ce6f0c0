/* What each fault costs: the hot-idle pressure again with that fault alone made good.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

#include <math.h>

#define MOST_MARKS 40

/* The state as found, changed by @change before the films are set. */
typedef void (*GapChange) (EfFlowGaps *gaps, gpointer user_data);

typedef struct
{
  EfFlowResult *result;
  const EfFindings *findings;
  const EfSection *section;
  EfFlowFilms *films;
  const EfFlowTask *task;
  double found; /* Pa, on the same films */
  double lost;  /* against as new */
  GCancellable *cancellable;
} ShareTask;

static gboolean
pressure_with (const ShareTask *task,
               EfFlowGaps *gaps,
               double *pressure_out,
               GError **error)
{
  EfWorkingPoint point;

  if (g_cancellable_is_cancelled (task->cancellable))
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "flow: cancelled");
      return FALSE;
    }
  if (!ef_flow_gaps_heat (gaps, task->result->idle_temperature, error) ||
      !ef_flow_films_set (task->films, gaps, task->cancellable, error) ||
      !ef_flow_films_idle (task->films, gaps, task->task, &point, error))
    return FALSE;
  *pressure_out = point.pressure;

  return TRUE;
}

static void
add_share (const ShareTask *task,
           char *id,
           char *label,
           double pressure)
{
  EfLeakShare *share = g_new0 (EfLeakShare, 1);

  share->id = id;
  share->label = label;
  share->pressure = pressure - task->found;
  share->share = task->lost > 0.0 ? share->pressure / task->lost : 0.0;
  g_ptr_array_add (task->result->shares, share);
}

static gboolean
add_clearances (const ShareTask *task,
                GError **error)
{
  static const char *const ids[] = { "end-clearance", "tip-clearance", "side-play" };
  static const char *const labels[] = { "End clearance beyond as new", "Tip clearance beyond as new", "Shaft clearance beyond as new" };
  g_auto (EfFlowGaps) new = ef_flow_gaps (task->findings, task->section, EF_STATE_NEW, NULL, NULL, task->films->worn, NULL);

  for (int k = 0; k < 3; k++)
    {
      g_auto (EfFlowGaps) gaps = ef_flow_gaps (task->findings, task->section, EF_STATE_FOUND, NULL, NULL, task->films->worn, NULL);
      double *found[] = { gaps.end_clearance, gaps.tip_clearance, gaps.side_play };
      double *good[] = { new.end_clearance, new.tip_clearance, new.side_play };
      double pressure;

      if (found[k][0] == good[k][0] && found[k][1] == good[k][1])
        continue;
      found[k][0] = good[k][0];
      found[k][1] = good[k][1];
      if (!pressure_with (task, &gaps, &pressure, error))
        return FALSE;
      add_share (task, g_strdup (ids[k]), g_strdup (labels[k]), pressure);
    }

  return TRUE;
}

/* The slot of the gaps that holds a face's wear, or NULL where the face doesn't leak in this section. */
static EfWornMap **
find_slot (const ShareTask *task,
           EfFlowGaps *gaps,
           const EfFaceChart *chart)
{
  const EfDepthMap *map = g_hash_table_lookup (task->findings->maps, chart->id);
  EfWornMap **slots[] = {
    &gaps->plate[0], &gaps->plate[1], &gaps->wall[0], &gaps->wall[1],
    &gaps->gear_end[0][0], &gaps->gear_end[0][1], &gaps->gear_end[1][0], &gaps->gear_end[1][1],
  };

  for (gsize i = 0; i < G_N_ELEMENTS (slots); i++)
    if (*slots[i] != NULL && (*slots[i])->map == map)
      return slots[i];

  return NULL;
}

static char *
face_label (const ShareTask *task,
            const EfFaceChart *chart)
{
  const EfPart *part = ef_pump_sheet_part (task->findings->inspection->sheet, chart->part_id);

  return g_strdup_printf ("%s, %s", part != NULL ? part->name : chart->part_id, chart->name);
}

static gboolean
add_face (const ShareTask *task,
          const EfFaceChart *chart,
          gboolean *leaks_out,
          GError **error)
{
  g_auto (EfFlowGaps) gaps = ef_flow_gaps (task->findings, task->section, EF_STATE_FOUND, NULL, NULL, task->films->worn, NULL);
  EfWornMap **slot = find_slot (task, &gaps, chart);
  double pressure;

  *leaks_out = slot != NULL;
  if (slot == NULL)
    return TRUE;
  g_clear_pointer (slot, ef_worn_map_unref);
  if (!pressure_with (task, &gaps, &pressure, error))
    return FALSE;
  add_share (task, g_strdup_printf ("face:%s", chart->id), face_label (task, chart), pressure);

  return TRUE;
}

static gboolean
add_mark (const ShareTask *task,
          const EfFaceChart *chart,
          GPtrArray *marks,
          guint which,
          GError **error)
{
  g_auto (EfFlowGaps) gaps = ef_flow_gaps (task->findings, task->section, EF_STATE_FOUND, NULL, NULL, task->films->worn, NULL);
  EfWornMap **slot = find_slot (task, &gaps, chart);
  const EfMark *mark = marks->pdata[which];
  g_autoptr (GPtrArray) others = g_ptr_array_new ();
  g_autoptr (EfDepthMap) map = NULL;
  g_autofree char *face = face_label (task, chart);
  double pressure;

  for (guint i = 0; i < marks->len; i++)
    if (i != which)
      g_ptr_array_add (others, marks->pdata[i]);
  map = ef_depth_map_new_on ((*slot)->map->base, chart, (EfMark *const *) others->pdata, others->len, task->cancellable, error);
  if (map == NULL)
    return FALSE;
  g_clear_pointer (slot, ef_worn_map_unref);
  *slot = ef_worn_map_new (chart, map, 0.0);
  if (!pressure_with (task, &gaps, &pressure, error))
    return FALSE;
  ef_worn_maps_forget_changes (task->films->worn);
  add_share (task, g_strdup_printf ("mark:%s", mark->item.id),
             g_strdup_printf ("Mark %d, %s: %s", mark->number, ef_mark_kind_label (mark->kind), face), pressure);

  return TRUE;
}

static int
compare_volume (gconstpointer a,
                gconstpointer b)
{
  const EfMark *left = *(const EfMark *const *) a;
  const EfMark *right = *(const EfMark *const *) b;
  double l = ef_mark_area (left) * ef_mark_deepest (left);
  double r = ef_mark_area (right) * ef_mark_deepest (right);

  return (l < r) - (l > r);
}

/* The marks that take most away, at most MOST_MARKS over all faces. */
static gboolean
add_marks (const ShareTask *task,
           const EfFaceChart *chart,
           guint *left,
           GError **error)
{
  g_autoptr (GPtrArray) all = ef_inspection_face_marks (task->findings->inspection, chart->id);
  g_autoptr (GPtrArray) marks = g_ptr_array_new ();

  for (guint i = 0; i < all->len; i++)
    if (ef_mark_deepest (all->pdata[i]) > 0.0)
      g_ptr_array_add (marks, all->pdata[i]);
  if (marks->len < 2)
    return TRUE;
  g_ptr_array_sort (marks, compare_volume);
  for (guint i = 0; i < marks->len && *left > 0; i++, --*left)
    if (!add_mark (task, chart, marks, i, error))
      return FALSE;

  return TRUE;
}

static int
compare_shares (gconstpointer a,
                gconstpointer b)
{
  const EfLeakShare *left = *(const EfLeakShare *const *) a;
  const EfLeakShare *right = *(const EfLeakShare *const *) b;

  return (left->pressure < right->pressure) - (left->pressure > right->pressure);
}

static void
free_share (gpointer data)
{
  EfLeakShare *share = data;

  g_free (share->id);
  g_free (share->label);
  g_free (share);
}

static gboolean
add_faces (const ShareTask *task,
           GError **error)
{
  g_auto (GStrv) faces = ef_face_ids (task->findings->inspection->sheet);
  guint left = MOST_MARKS;

  for (guint i = 0; faces[i] != NULL; i++)
    {
      const EfFaceChart *chart = g_hash_table_lookup (task->findings->charts, faces[i]);
      gboolean leaks = FALSE;

      if (chart == NULL || g_hash_table_lookup (task->findings->maps, faces[i]) == NULL)
        continue;
      if (!add_face (task, chart, &leaks, error))
        return FALSE;
      if (leaks && !add_marks (task, chart, &left, error))
        return FALSE;
    }
  if (left == 0)
    ef_flow_assume (task->result->assumptions, "The share of single marks is worked out for the %d that take most away.", MOST_MARKS);

  return TRUE;
}

gboolean
ef_flow_shares (EfFlowResult *result,
                const EfFindings *findings,
                const EfSection *section,
                EfFlowFilms *films,
                const EfFlowTask *task,
                GCancellable *cancellable,
                GError **error)
{
  g_auto (EfFlowGaps) found = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, films->worn, NULL);
  g_auto (EfFlowGaps) new = ef_flow_gaps (findings, section, EF_STATE_NEW, NULL, NULL, films->worn, NULL);
  ShareTask share = { result, findings, section, films, task, 0.0, 0.0, cancellable };
  double as_new;

  result->shares = g_ptr_array_new_with_free_func (free_share);
  if (!pressure_with (&share, &new, &as_new, error) || !pressure_with (&share, &found, &share.found, error))
    return FALSE;
  share.lost = as_new - share.found;
  if (!add_clearances (&share, error) || !add_faces (&share, error))
    return FALSE;
  g_ptr_array_sort (result->shares, compare_shares);

  return TRUE;
}
