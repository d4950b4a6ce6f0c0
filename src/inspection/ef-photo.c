/* A photo that belongs to a job.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-photo.h"

#include "../base/ef-units.h"

#include <math.h>
#include <string.h>

static void
photo_clear (gpointer item)
{
  EfPhoto *photo = item;

  g_free (photo->file);
  g_free (photo->name);
  g_free (photo->type);
  g_free (photo->taken);
  g_free (photo->shows);
  g_free (photo->note);
  g_clear_pointer (&photo->pairs, g_array_unref);
}

static void
photo_copy_fields (gpointer dest,
                   gconstpointer src)
{
  EfPhoto *to = dest;
  const EfPhoto *from = src;

  to->file = g_strdup (from->file);
  to->name = g_strdup (from->name);
  to->type = g_strdup (from->type);
  to->width = from->width;
  to->height = from->height;
  to->taken = g_strdup (from->taken);
  to->turns = from->turns;
  to->shows = g_strdup (from->shows);
  to->note = g_strdup (from->note);
  to->model = from->model;
  to->pairs = g_array_copy (from->pairs);
}

static gboolean
photo_equal (gconstpointer left,
             gconstpointer right)
{
  const EfPhoto *a = left;
  const EfPhoto *b = right;

  if (a->pairs->len != b->pairs->len)
    return FALSE;
  for (guint i = 0; i < a->pairs->len; i++)
    {
      const EfRegistrationPair *p = &g_array_index (a->pairs, EfRegistrationPair, i);
      const EfRegistrationPair *q = &g_array_index (b->pairs, EfRegistrationPair, i);

      if (p->x != q->x || p->y != q->y || p->u != q->u || p->v != q->v)
        return FALSE;
    }

  return g_strcmp0 (a->file, b->file) == 0 && g_strcmp0 (a->name, b->name) == 0 && g_strcmp0 (a->type, b->type) == 0 && a->width == b->width
         && a->height == b->height && g_strcmp0 (a->taken, b->taken) == 0 && a->turns == b->turns && g_strcmp0 (a->shows, b->shows) == 0
         && g_strcmp0 (a->note, b->note) == 0 && a->model == b->model;
}

const EfItemClass ef_photo_class = {
  .kind = EF_ITEM_PHOTO,
  .name = "photo",
  .size = sizeof (EfPhoto),
  .clear = photo_clear,
  .copy_fields = photo_copy_fields,
  .equal = photo_equal,
};

EfPhoto *
ef_photo_new (const char *file,
              const char *name,
              const char *type,
              int width,
              int height)
{
  EfPhoto *photo = ef_item_new (&ef_photo_class, NULL);

  photo->file = g_strdup (file);
  photo->name = g_strdup (name);
  photo->type = g_strdup (type);
  photo->width = width;
  photo->height = height;
  photo->model = EF_REGISTRATION_PROJECTIVE;
  photo->pairs = g_array_new (FALSE, FALSE, sizeof (EfRegistrationPair));

  return photo;
}

void
ef_photo_add_pair (EfPhoto *photo,
                   double x,
                   double y,
                   double u,
                   double v)
{
  EfRegistrationPair pair = { x, y, u, v };

  g_array_append_val (photo->pairs, pair);
}

gboolean
ef_photo_of_face (const EfPhoto *photo,
                  const char *face_id)
{
  return face_id != NULL && g_strcmp0 (photo->shows, face_id) == 0;
}

gboolean
ef_photo_fit (const EfPhoto *photo,
              EfRegistration *out,
              GError **error)
{
  return ef_registration_fit (photo->model, (const EfRegistrationPair *) photo->pairs->data, photo->pairs->len, out, error);
}

void
ef_photo_turned_size (const EfPhoto *photo,
                      int *width,
                      int *height)
{
  *width = photo->turns % 2 == 0 ? photo->width : photo->height;
  *height = photo->turns % 2 == 0 ? photo->height : photo->width;
}

void
ef_photo_turn_point (const EfPhoto *photo,
                     double x,
                     double y,
                     double *turned_x,
                     double *turned_y)
{
  const double w = photo->width, h = photo->height;
  const double places[4][2] = { { x, y }, { h - y, x }, { w - x, h - y }, { y, w - x } };

  *turned_x = places[photo->turns & 3][0];
  *turned_y = places[photo->turns & 3][1];
}

void
ef_photo_upright_point (const EfPhoto *photo,
                        double turned_x,
                        double turned_y,
                        double *x,
                        double *y)
{
  const double w = photo->width, h = photo->height;
  const double places[4][2] = { { turned_x, turned_y }, { turned_y, h - turned_x }, { w - turned_x, h - turned_y }, { w - turned_y, turned_x } };

  *x = places[photo->turns & 3][0];
  *y = places[photo->turns & 3][1];
}

/* Thousandths of a px; nanometres. */
void
ef_photo_on_grid (EfPhoto *photo)
{
  for (guint i = 0; i < photo->pairs->len; i++)
    {
      EfRegistrationPair *pair = &g_array_index (photo->pairs, EfRegistrationPair, i);

      if (!(fabs (pair->x) < 1e6) || !(fabs (pair->y) < 1e6) || !(fabs (pair->u) < 1e3) || !(fabs (pair->v) < 1e3))
        continue;
      pair->x = round (pair->x * 1e3) / 1e3 + 0.0;
      pair->y = round (pair->y * 1e3) / 1e3 + 0.0;
      pair->u = ef_length_on_grid (pair->u);
      pair->v = ef_length_on_grid (pair->v);
    }
}
