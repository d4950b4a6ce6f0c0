/* A grid over a face that finds the mark under a finger.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each cell lists the marks whose bounds touch it. About one cell a mark, at most 128 x 128.
 */
#include "ef-face-index.h"

#include <math.h>

#define MOST_CELLS 128

struct _EfFaceIndex
{
  GPtrArray *marks;
  double *bounds; /* 4 a mark */
  double u0, v0, step_u, step_v;
  int n;          /* cells a side */
  GArray **cells; /* of guint; NULL where empty */
};

static int
cell_of (double value,
         double start,
         double step,
         int n)
{
  double i = floor ((value - start) / step);

  return isfinite (i) ? (int) CLAMP (i, 0, n - 1) : 0;
}

static void
cell_range (const EfFaceIndex *self,
            const double rect[4],
            int range[4])
{
  range[0] = cell_of (rect[0], self->u0, self->step_u, self->n);
  range[1] = cell_of (rect[1], self->v0, self->step_v, self->n);
  range[2] = cell_of (rect[2], self->u0, self->step_u, self->n);
  range[3] = cell_of (rect[3], self->v0, self->step_v, self->n);
}

static void
insert (EfFaceIndex *self,
        guint k)
{
  int range[4], i, j;

  cell_range (self, self->bounds + 4 * k, range);
  for (j = range[1]; j <= range[3]; j++)
    for (i = range[0]; i <= range[2]; i++)
      {
        GArray **cell = &self->cells[j * self->n + i];

        if (*cell == NULL)
          *cell = g_array_new (FALSE, FALSE, sizeof (guint));
        g_array_append_val (*cell, k);
      }
}

EfFaceIndex *
ef_face_index_new (GPtrArray *marks)
{
  EfFaceIndex *self = g_new0 (EfFaceIndex, 1);
  double all[4] = { G_MAXDOUBLE, G_MAXDOUBLE, -G_MAXDOUBLE, -G_MAXDOUBLE };
  guint k;

  self->marks = g_ptr_array_new_full (marks->len, ef_item_unref);
  self->bounds = g_new (double, 4 * MAX (marks->len, 1));
  for (k = 0; k < marks->len; k++)
    {
      double *b = self->bounds + 4 * k;

      g_ptr_array_add (self->marks, ef_item_ref (g_ptr_array_index (marks, k)));
      ef_mark_bounds (g_ptr_array_index (marks, k), b);
      all[0] = MIN (all[0], b[0]);
      all[1] = MIN (all[1], b[1]);
      all[2] = MAX (all[2], b[2]);
      all[3] = MAX (all[3], b[3]);
    }
  if (marks->len == 0)
    all[0] = all[1] = all[2] = all[3] = 0;

  self->n = (int) CLAMP (sqrt (marks->len), 1, MOST_CELLS);
  self->u0 = all[0];
  self->v0 = all[1];
  self->step_u = MAX ((all[2] - all[0]) / self->n, 1e-9);
  self->step_v = MAX ((all[3] - all[1]) / self->n, 1e-9);
  self->cells = g_new0 (GArray *, (gsize) self->n * self->n);
  for (k = 0; k < marks->len; k++)
    insert (self, k);

  return self;
}

void
ef_face_index_free (EfFaceIndex *self)
{
  int i;

  if (self == NULL)
    return;
  for (i = 0; i < self->n * self->n; i++)
    g_clear_pointer (&self->cells[i], g_array_unref);
  g_free (self->cells);
  g_free (self->bounds);
  g_ptr_array_unref (self->marks);
  g_free (self);
}

static int
compare_index (gconstpointer a,
               gconstpointer b)
{
  guint left = *(const guint *) a;
  guint right = *(const guint *) b;

  return (left > right) - (left < right);
}

/* Indices of the marks whose bounds meet the rectangle, each once, ascending. */
static GArray *
candidates (EfFaceIndex *self,
            const double rect[4])
{
  GArray *found = g_array_new (FALSE, FALSE, sizeof (guint));
  int range[4], i, j;
  guint k, n = 0;

  cell_range (self, rect, range);
  for (j = range[1]; j <= range[3]; j++)
    for (i = range[0]; i <= range[2]; i++)
      {
        GArray *cell = self->cells[j * self->n + i];

        for (k = 0; cell != NULL && k < cell->len; k++)
          {
            guint mark = g_array_index (cell, guint, k);
            const double *b = self->bounds + 4 * mark;

            if (b[0] <= rect[2] && b[2] >= rect[0] && b[1] <= rect[3] && b[3] >= rect[1])
              g_array_append_val (found, mark);
          }
      }

  g_array_sort (found, compare_index);
  for (k = 0; k < found->len; k++)
    if (k == 0 || g_array_index (found, guint, k) != g_array_index (found, guint, k - 1))
      g_array_index (found, guint, n++) = g_array_index (found, guint, k);
  g_array_set_size (found, n);

  return found;
}

EfMark *
ef_face_index_pick (EfFaceIndex *self,
                    double u,
                    double v,
                    double reach)
{
  const double rect[4] = { u - reach, v - reach, u + reach, v + reach };
  g_autoptr (GArray) found = candidates (self, rect);
  EfMark *best = NULL;
  double best_distance = reach, best_size = G_MAXDOUBLE;
  guint k;

  for (k = 0; k < found->len; k++)
    {
      guint i = g_array_index (found, guint, k);
      EfMark *mark = g_ptr_array_index (self->marks, i);
      const double *b = self->bounds + 4 * i;
      double distance = ef_mark_distance (mark, u, v);
      double size = hypot (b[2] - b[0], b[3] - b[1]);

      if (!(distance <= reach) || distance > best_distance)
        continue;
      if (best != NULL && distance == best_distance && size > best_size)
        continue;
      best = mark;
      best_distance = distance;
      best_size = size;
    }
  return best;
}

GPtrArray *
ef_face_index_within (EfFaceIndex *self,
                      const double rect[4])
{
  g_autoptr (GArray) found = candidates (self, rect);
  GPtrArray *marks = g_ptr_array_sized_new (MAX (found->len, 1));
  guint k;

  for (k = 0; k < found->len; k++)
    g_ptr_array_add (marks, g_ptr_array_index (self->marks, g_array_index (found, guint, k)));
  return marks;
}
