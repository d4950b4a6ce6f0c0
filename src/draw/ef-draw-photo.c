/* A photo drawn where it lies on a face: each px of the target looked up on the photo.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-photo.h"

#include <math.h>

#define MOST_LEVELS 12
#define LEAST_SIDE 16
#define MOST_TARGET 16384 /* px a side */

struct _EfPhotoPicture
{
  gint ref_count;
  int width, height; /* of the photo, px */
  guint n;
  GdkPixbuf *level[MOST_LEVELS];
};

EfPhotoPicture *
ef_photo_picture_new (GdkPixbuf *upright,
                      int width,
                      int height)
{
  EfPhotoPicture *self = g_new0 (EfPhotoPicture, 1);

  g_return_val_if_fail (GDK_IS_PIXBUF (upright) && width > 0 && height > 0, NULL);
  self->ref_count = 1;
  self->width = width;
  self->height = height;
  self->level[self->n++] = g_object_ref (upright);
  while (self->n < MOST_LEVELS)
    {
      GdkPixbuf *last = self->level[self->n - 1];
      int w = gdk_pixbuf_get_width (last) / 2, h = gdk_pixbuf_get_height (last) / 2;
      GdkPixbuf *half = MIN (w, h) >= LEAST_SIDE ? gdk_pixbuf_scale_simple (last, w, h, GDK_INTERP_BILINEAR) : NULL;

      if (half == NULL)
        break;
      self->level[self->n++] = half;
    }

  return self;
}

EfPhotoPicture *
ef_photo_picture_ref (EfPhotoPicture *picture)
{
  g_atomic_int_inc (&picture->ref_count);

  return picture;
}

void
ef_photo_picture_unref (EfPhotoPicture *picture)
{
  if (picture == NULL || !g_atomic_int_dec_and_test (&picture->ref_count))
    return;
  for (guint i = 0; i < picture->n; i++)
    g_object_unref (picture->level[i]);
  g_free (picture);
}

/* One size of the photo as its px lie in memory, and how its px follow from those of the photo. */
typedef struct
{
  const guint8 *pixels;
  int width, height, stride, channels;
  double sx, sy;
} Level;

static Level
level_of (const EfPhotoPicture *picture,
          guint n)
{
  GdkPixbuf *pixbuf = picture->level[n];
  Level level = { gdk_pixbuf_read_pixels (pixbuf), gdk_pixbuf_get_width (pixbuf), gdk_pixbuf_get_height (pixbuf), gdk_pixbuf_get_rowstride (pixbuf),
                  gdk_pixbuf_get_n_channels (pixbuf), 0, 0 };

  level.sx = level.width / (double) picture->width;
  level.sy = level.height / (double) picture->height;

  return level;
}

/* Premultiplied, at a place in px of the level, whose px have their middles at halves. */
static guint32
sample (const Level *level,
        double x,
        double y)
{
  double fx = CLAMP (x - 0.5, 0, level->width - 1.0), fy = CLAMP (y - 0.5, 0, level->height - 1.0);
  int x0 = (int) fx, y0 = (int) fy;
  int x1 = MIN (x0 + 1, level->width - 1), y1 = MIN (y0 + 1, level->height - 1);
  double ax = fx - x0, ay = fy - y0;
  const guint8 *p[4] = { level->pixels + y0 * (gsize) level->stride + x0 * level->channels, level->pixels + y0 * (gsize) level->stride + x1 * level->channels,
                         level->pixels + y1 * (gsize) level->stride + x0 * level->channels, level->pixels + y1 * (gsize) level->stride + x1 * level->channels };
  const double weight[4] = { (1 - ax) * (1 - ay), ax * (1 - ay), (1 - ax) * ay, ax * ay };
  double sum[4] = { 0 };

  for (int i = 0; i < 4; i++)
    {
      double alpha = level->channels == 4 ? weight[i] * p[i][3] / 255.0 : weight[i];

      for (int c = 0; c < 3; c++)
        sum[c] += alpha * p[i][c];
      sum[3] += 255.0 * alpha;
    }

  return (guint32) lrint (sum[3]) << 24 | (guint32) lrint (sum[0]) << 16 | (guint32) lrint (sum[1]) << 8 | (guint32) lrint (sum[2]);
}

/* Photo px a px of the target, at the middle of what is drawn. */
static double
spread (const double m[9],
        double u,
        double v,
        double step)
{
  double place[2][2];

  for (int i = 0; i < 2; i++)
    {
      double du = i * step, w = m[6] * (u + du) + m[7] * v + m[8];

      place[i][0] = (m[0] * (u + du) + m[1] * v + m[2]) / w;
      place[i][1] = (m[3] * (u + du) + m[4] * v + m[5]) / w;
    }

  return hypot (place[1][0] - place[0][0], place[1][1] - place[0][1]);
}

static void
fill_row (guint32 *row,
          int n,
          const EfLaidPhoto *photo,
          const Level *level,
          double u,
          double du,
          double v)
{
  const double *m = photo->to_photo;
  double px = m[0] * u + m[1] * v + m[2], py = m[3] * u + m[4] * v + m[5], w = m[6] * u + m[7] * v + m[8];
  double width = photo->picture->width, height = photo->picture->height;

  for (int i = 0; i < n; i++, px += m[0] * du, py += m[3] * du, w += m[6] * du)
    {
      double x = px / w, y = py / w;

      if (w > 0 && x >= 0 && y >= 0 && x <= width && y <= height)
        row[i] = sample (level, x * level->sx, y * level->sy);
    }
}

void
ef_draw_laid_photo (cairo_t *cr,
                    const EfFaceView *view,
                    const EfLaidPhoto *photo,
                    double x,
                    double y,
                    double width,
                    double height)
{
  double sx = 1, sy = 1, u, v, step, least;
  cairo_surface_t *surface;
  int w, h, stride;
  guint8 *data;
  guint n = 0;
  Level level;

  if (photo == NULL || photo->picture == NULL || photo->opacity <= 0)
    return;
  cairo_surface_get_device_scale (cairo_get_target (cr), &sx, &sy);
  w = (int) CLAMP (ceil (width * sx), 1, MOST_TARGET);
  h = (int) CLAMP (ceil (height * sy), 1, MOST_TARGET);
  surface = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, w, h);
  if (cairo_surface_status (surface) != CAIRO_STATUS_SUCCESS)
    {
      cairo_surface_destroy (surface);
      return;
    }
  data = cairo_image_surface_get_data (surface);
  stride = cairo_image_surface_get_stride (surface);
  step = 1 / (view->scale * sx);
  ef_face_view_to_chart (view, x + width / 2, y + height / 2, &u, &v);
  least = spread (photo->to_photo, u, v, step);
  level = level_of (photo->picture, 0);
  while (n + 1 < photo->picture->n && least * level.sx > 2)
    level = level_of (photo->picture, ++n);
  for (int i = 0; i < h; i++)
    {
      ef_face_view_to_chart (view, x + 0.5 / sx, y + (i + 0.5) / sy, &u, &v);
      fill_row ((guint32 *) (data + i * (gsize) stride), w, photo, &level, u, step, v);
    }
  cairo_surface_mark_dirty (surface);
  cairo_surface_set_device_scale (surface, sx, sy);
  cairo_save (cr);
  cairo_set_source_surface (cr, surface, x, y);
  cairo_rectangle (cr, x, y, width, height);
  cairo_clip (cr);
  cairo_paint_with_alpha (cr, MIN (photo->opacity, 1));
  cairo_restore (cr);
  cairo_surface_destroy (surface);
}
