/* The same mark again: on the mate gear, on every tooth.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-inspection.h"

/* Where a place of the mark goes; FALSE where there is no such place. */
typedef gboolean (*MapPlace) (const EfFaceChart *chart, int k, double u, double v, double *u_out, double *v_out);

static gboolean
to_mate (const EfFaceChart *chart,
         int unused,
         double u,
         double v,
         double *u_out,
         double *v_out)
{
  return ef_face_chart_mate_point (chart, u, v, u_out, v_out);
}

static gboolean
no_place (const EfFaceChart *chart,
          const char *what,
          GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a face with %s, found none", chart->id, what);

  return FALSE;
}

/* On strips a mark moves as a whole only if it lies on one of them. */
static gboolean
check_one_tooth (const EfFaceChart *chart,
                 const EfMark *mark,
                 GError **error)
{
  EfChartPlace first, place;
  guint i;

  if (chart->n_strips == 0 || mark->nodes->len == 0)
    return TRUE;

  ef_face_chart_place (chart, g_array_index (mark->nodes, EfMarkNode, 0).u, g_array_index (mark->nodes, EfMarkNode, 0).v, &first);
  for (i = 1; i < mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      ef_face_chart_place (chart, node->u, node->v, &place);
      if (place.tooth != first.tooth)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "%s: mark %d: expected all of it on one tooth, found teeth %d and %d",
                       chart->id, mark->number, first.tooth, place.tooth);
          return FALSE;
        }
    }

  return TRUE;
}

static EfMark *
repeat (const EfFaceChart *chart,
        const EfMark *mark,
        const char *face_id,
        int number,
        MapPlace map,
        int k)
{
  EfMark *copy = ef_mark_new (face_id, mark->kind, mark->shape, mark->size);
  gboolean mapped = TRUE;
  double u, v;
  guint i;

  copy->number = number;
  copy->note = g_strdup (mark->note);
  for (i = 0; mapped && i < mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      mapped = map (chart, k, node->u, node->v, &u, &v);
      if (mapped)
        ef_mark_add_node (copy, u, v);
    }
  for (i = 0; mapped && i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      mapped = map (chart, k, depth->u, depth->v, &u, &v);
      if (mapped)
        ef_mark_add_depth (copy, u, v, depth->depth, depth->unit, NULL);
    }
  if (!mapped)
    g_clear_pointer ((EfItem **) &copy, ef_item_unref);

  return copy;
}

GPtrArray *
ef_repeat_on_mate (const EfInspection *self,
                   const EfMark *mark,
                   GError **error)
{
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (self->sheet, mark->face_id, error);
  g_autoptr (GPtrArray) marks = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autofree char *mate_id = NULL;
  EfMark *copy = NULL;

  if (chart == NULL || !check_one_tooth (chart, mark, error))
    return NULL;
  if (ef_face_chart_mate_id (chart, &mate_id))
    copy = repeat (chart, mark, mate_id, ef_inspection_next_number (self), to_mate, 0);
  if (copy == NULL)
    {
      no_place (chart, "a mate", error);
      return NULL;
    }
  g_ptr_array_add (marks, copy);

  return g_steal_pointer (&marks);
}

static guint
count_teeth (const EfInspection *self,
             const EfFaceChart *chart)
{
  const EfPart *part = ef_pump_sheet_part (self->sheet, chart->part_id);

  if (chart->section == NULL || part == NULL || part->kind != EF_PART_GEAR)
    return 0;

  return (guint) chart->section->pair.in.teeth[part->gear];
}

GPtrArray *
ef_repeat_on_teeth (const EfInspection *self,
                    const EfMark *mark,
                    GError **error)
{
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (self->sheet, mark->face_id, error);
  g_autoptr (GPtrArray) marks = g_ptr_array_new_with_free_func (ef_item_unref);
  int number = ef_inspection_next_number (self);
  guint teeth, k;

  if (chart == NULL || !check_one_tooth (chart, mark, error))
    return NULL;

  teeth = count_teeth (self, chart);
  for (k = 1; k < teeth; k++)
    {
      EfMark *copy = repeat (chart, mark, mark->face_id, number + (int) k - 1, ef_face_chart_to_tooth, (int) k);

      if (copy == NULL)
        break;
      g_ptr_array_add (marks, copy);
    }
  if (marks->len == 0)
    {
      no_place (chart, "teeth", error);
      return NULL;
    }

  return g_steal_pointer (&marks);
}
