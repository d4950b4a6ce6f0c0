/* Crescents and what they leave of a face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-crescent.h"

#include <math.h>

static void
crescent_clear (gpointer data)
{
  g_free (((EfCrescent *) data)->face_id);
}

GArray *
ef_crescents_new (void)
{
  GArray *crescents = g_array_new (FALSE, TRUE, sizeof (EfCrescent));

  g_array_set_clear_func (crescents, crescent_clear);

  return crescents;
}

GArray *
ef_crescents_copy (const GArray *crescents)
{
  GArray *copy = ef_crescents_new ();

  for (guint i = 0; i < crescents->len; i++)
    {
      EfCrescent one = g_array_index (crescents, EfCrescent, i);

      one.face_id = g_strdup (one.face_id);
      g_array_append_val (copy, one);
    }

  return copy;
}

double
ef_crescent_depth (const EfCrescent *crescent,
                   double angle)
{
  return fmax (0.0, crescent->reach * cos (angle - crescent->psi) - crescent->clearance);
}

static void
cut_crescent (EfSurface *surface,
              const EfFaceChart *chart,
              const EfCrescent *crescent)
{
  for (guint i = 0; i < surface->nu; i++)
    {
      double depth = ef_crescent_depth (crescent, (surface->u0 + (i + 0.5) * surface->cell) / chart->cylinder_radius);

      for (guint j = 0; depth > 0.0 && j < surface->nv; j++)
        {
          double v = surface->v0 + (j + 0.5) * surface->cell;

          if (v >= crescent->v0 && v <= crescent->v1)
            ef_surface_cut (surface, j * surface->nu + i, -depth);
        }
    }
}

static gboolean
has_crescent (const GArray *crescents,
              const char *face_id)
{
  for (guint i = 0; i < crescents->len; i++)
    if (g_str_equal (g_array_index (crescents, EfCrescent, i).face_id, face_id))
      return TRUE;

  return FALSE;
}

EfSurface *
ef_crescents_surface (const GArray *crescents,
                      const EfFaceChart *chart,
                      const GPtrArray *marks,
                      double cell,
                      guint32 seed,
                      GCancellable *cancellable,
                      GError **error)
{
  g_autoptr (GPtrArray) seen = g_ptr_array_new ();
  gboolean worn = has_crescent (crescents, chart->id);
  EfSurface *surface;

  for (guint i = 0; i < marks->len; i++)
    if (!worn || ((EfMark *) marks->pdata[i])->kind != EF_MARK_LIP)
      g_ptr_array_add (seen, marks->pdata[i]);
  surface = ef_surface_new (chart, (EfMark *const *) seen->pdata, seen->len, cell, seed, cancellable, error);
  for (guint i = 0; surface != NULL && i < crescents->len; i++)
    if (g_str_equal (g_array_index (crescents, EfCrescent, i).face_id, chart->id))
      cut_crescent (surface, chart, &g_array_index (crescents, EfCrescent, i));

  return surface;
}
