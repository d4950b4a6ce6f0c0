/* What was done to a face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-work.h"

#include "../base/ef-units.h"

#include <math.h>

static void
clear_passes (EfWork *work)
{
  for (guint i = 0; i < work->n_passes; i++)
    g_free (work->passes[i].grit);
  g_clear_pointer (&work->passes, g_free);
  work->n_passes = 0;
}

static void
work_clear (gpointer item)
{
  EfWork *work = item;

  clear_passes (work);
  g_free (work->face_id);
  g_free (work->gauge_id);
  g_free (work->role);
  g_free (work->time);
  g_free (work->note);
}

static void
work_copy_fields (gpointer dest,
                  gconstpointer src)
{
  EfWork *to = dest;
  const EfWork *from = src;

  to->face_id = g_strdup (from->face_id);
  to->removed = from->removed;
  to->gauge_id = g_strdup (from->gauge_id);
  to->n_passes = from->n_passes;
  to->passes = from->n_passes > 0 ? g_new0 (EfWorkPasses, from->n_passes) : NULL;
  for (guint i = 0; i < from->n_passes; i++)
    to->passes[i] = (EfWorkPasses){ g_strdup (from->passes[i].grit), from->passes[i].count };
  to->pressure = from->pressure;
  to->stroke = from->stroke;
  to->role = g_strdup (from->role);
  to->time = g_strdup (from->time);
  to->note = g_strdup (from->note);
}

static gboolean
same (double a,
      double b)
{
  return a == b || (isnan (a) && isnan (b));
}

static gboolean
work_equal (gconstpointer left,
            gconstpointer right)
{
  const EfWork *a = left;
  const EfWork *b = right;

  if (a->n_passes != b->n_passes)
    return FALSE;
  for (guint i = 0; i < a->n_passes; i++)
    if (g_strcmp0 (a->passes[i].grit, b->passes[i].grit) != 0 || !same (a->passes[i].count, b->passes[i].count))
      return FALSE;

  return g_strcmp0 (a->face_id, b->face_id) == 0 && same (a->removed, b->removed) && g_strcmp0 (a->gauge_id, b->gauge_id) == 0
         && same (a->pressure, b->pressure) && same (a->stroke, b->stroke) && g_strcmp0 (a->role, b->role) == 0
         && g_strcmp0 (a->time, b->time) == 0 && g_strcmp0 (a->note, b->note) == 0;
}

const EfItemClass ef_work_class = {
  .kind = EF_ITEM_WORK,
  .name = "work",
  .size = sizeof (EfWork),
  .clear = work_clear,
  .copy_fields = work_copy_fields,
  .equal = work_equal,
};

EfWork *
ef_work_new (const char *face_id,
             double removed,
             const char *gauge_id)
{
  EfWork *work = ef_item_new (&ef_work_class, NULL);

  work->face_id = g_strdup (face_id);
  work->removed = fabs (removed) < 1e3 ? ef_length_on_grid (removed) : removed;
  work->gauge_id = g_strdup (gauge_id);
  work->pressure = work->stroke = NAN;

  return work;
}

static void
drop_passes (EfWork *work,
             guint at)
{
  g_free (work->passes[at].grit);
  for (guint i = at; i + 1 < work->n_passes; i++)
    work->passes[i] = work->passes[i + 1];
  work->n_passes--;
}

void
ef_work_set_passes (EfWork *work,
                    const char *grit,
                    double count)
{
  for (guint i = 0; i < work->n_passes; i++)
    if (g_str_equal (work->passes[i].grit, grit))
      {
        if (count > 0.0)
          work->passes[i].count = count;
        else
          drop_passes (work, i);
        return;
      }
  if (!(count > 0.0))
    return;

  work->passes = g_renew (EfWorkPasses, work->passes, work->n_passes + 1);
  work->passes[work->n_passes++] = (EfWorkPasses){ g_strdup (grit), count };
}

double
ef_work_passes (const EfWork *work,
                const char *grit)
{
  for (guint i = 0; i < work->n_passes; i++)
    if (g_strcmp0 (work->passes[i].grit, grit) == 0)
      return work->passes[i].count;

  return 0.0;
}
