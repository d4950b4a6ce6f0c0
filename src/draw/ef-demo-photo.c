/* A photo that was never taken.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The face is drawn square on with the looks of lapped metal, then seen through a perspective, lit from one side, with a sensor's noise.
 */
#include "ef-demo-photo.h"
#include "ef-draw-path.h"

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <math.h>
#include <string.h>

#define FLAT 1500.0 /* px of the longer side, square on */
#define SEED 412
#define TAKEN "2026:03:09 10:42:00"

/* --- Square on ------------------------------------------------------------------------------------------------------------------ */

static void
draw_lapping (cairo_t *cr,
              GRand *rand,
              double size)
{
  cairo_set_line_width (cr, 0.8);
  for (int i = 0; i < 5000; i++)
    {
      double x = g_rand_double_range (rand, 0, size), y = g_rand_double_range (rand, 0, size), turn = g_rand_double_range (rand, 0, 2 * G_PI);
      double length = g_rand_double_range (rand, 10, 60), grey = g_rand_boolean (rand) ? 0.95 : 0.3;

      cairo_move_to (cr, x, y);
      cairo_rel_line_to (cr, length * cos (turn), length * sin (turn));
      cairo_set_source_rgba (cr, grey, grey, grey, 0.10);
      cairo_stroke (cr);
    }
}

static void
mark_path (cairo_t *cr,
           const EfFaceView *view,
           const EfMark *mark)
{
  for (guint i = 0; i < mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);
      double x, y;

      ef_face_view_to_screen (view, node->u, node->v, &x, &y);
      if (mark->shape == EF_SHAPE_POINT)
        cairo_arc (cr, x, y, MAX (view->scale * mark->size / 2, 2), 0, 2 * G_PI);
      else
        cairo_line_to (cr, x, y);
    }
  if (mark->shape == EF_SHAPE_AREA)
    cairo_close_path (cr);
}

/* Dark, with a bright rim at the side away from the light. */
static void
draw_mark (cairo_t *cr,
           const EfFaceView *view,
           const EfMark *mark)
{
  static const double shifts[2][3] = { { 1.5, 0.92, 0.7 }, { 0, 0.2, 0.85 } };

  for (int i = 0; i < 2; i++)
    {
      cairo_save (cr);
      cairo_translate (cr, shifts[i][0], shifts[i][0]);
      mark_path (cr, view, mark);
      cairo_set_source_rgba (cr, shifts[i][1], shifts[i][1] * 0.97, shifts[i][1] * 0.93, mark->shape == EF_SHAPE_AREA ? shifts[i][2] * 0.5 : shifts[i][2]);
      if (mark->shape == EF_SHAPE_LINE)
        {
          cairo_set_line_width (cr, MAX (view->scale * mark->size, 2));
          cairo_set_line_cap (cr, CAIRO_LINE_CAP_ROUND);
          cairo_stroke (cr);
        }
      else
        cairo_fill (cr);
      cairo_restore (cr);
    }
}

static cairo_surface_t *
draw_flat (const EfFaceChart *chart,
           GPtrArray *marks,
           GRand *rand,
           EfFaceView *view)
{
  double longer = MAX (chart->u1 - chart->u0, chart->v1 - chart->v0);
  int width, height;
  cairo_surface_t *surface;
  cairo_t *cr;

  view->scale = FLAT / longer;
  width = (int) ceil (view->scale * (chart->u1 - chart->u0));
  height = (int) ceil (view->scale * (chart->v1 - chart->v0));
  view->x0 = -view->scale * chart->u0;
  view->y0 = view->scale * chart->v1;
  surface = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, width, height);
  cr = cairo_create (surface);
  ef_path_region (cr, view, chart->solid);
  cairo_set_fill_rule (cr, CAIRO_FILL_RULE_EVEN_ODD);
  cairo_clip (cr);
  cairo_set_source_rgb (cr, 0.63, 0.63, 0.62);
  cairo_paint (cr);
  draw_lapping (cr, rand, MAX (width, height));
  for (guint i = 0; i < marks->len; i++)
    draw_mark (cr, view, marks->pdata[i]);
  ef_path_region (cr, view, chart->solid);
  cairo_set_line_width (cr, 7);
  cairo_set_source_rgba (cr, 0.95, 0.95, 0.93, 0.8);
  cairo_stroke (cr);
  cairo_destroy (cr);
  cairo_surface_flush (surface);

  return surface;
}

/* --- Through the camera --------------------------------------------------------------------------------------------------------- */

/* Turned a little, farther away at one side; the middle of the face near the middle of the photo. */
static void
make_view (const EfFaceChart *chart,
           double m[9])
{
  double longer = MAX ((chart->u1 - chart->u0) / EF_DEMO_PHOTO_WIDTH, (chart->v1 - chart->v0) / EF_DEMO_PHOTO_HEIGHT);
  double s = 0.78 / longer, turn = 0.09, size = MAX (chart->u1 - chart->u0, chart->v1 - chart->v0);
  double u = (chart->u0 + chart->u1) / 2, v = (chart->v0 + chart->v1) / 2;
  double cx = EF_DEMO_PHOTO_WIDTH * 0.5, cy = EF_DEMO_PHOTO_HEIGHT * 0.51, p = 0.16 / size, q = -0.20 / size;
  const double a[9] = { s * cos (turn) + cx * p, s * sin (turn) + cx * q, cx, s * sin (turn) + cy * p, -s * cos (turn) + cy * q, cy, p, q, 1 };

  /* About the middle of the face. */
  for (int r = 0; r < 3; r++)
    {
      m[3 * r] = a[3 * r];
      m[3 * r + 1] = a[3 * r + 1];
      m[3 * r + 2] = a[3 * r + 2] - a[3 * r] * u - a[3 * r + 1] * v;
    }
}

static void
invert (const double a[9],
        double out[9])
{
  const double c[9] = { a[4] * a[8] - a[5] * a[7], a[2] * a[7] - a[1] * a[8], a[1] * a[5] - a[2] * a[4],
                        a[5] * a[6] - a[3] * a[8], a[0] * a[8] - a[2] * a[6], a[2] * a[3] - a[0] * a[5],
                        a[3] * a[7] - a[4] * a[6], a[1] * a[6] - a[0] * a[7], a[0] * a[4] - a[1] * a[3] };
  double d = a[0] * c[0] + a[1] * c[3] + a[2] * c[6];

  for (int i = 0; i < 9; i++)
    out[i] = c[i] / d;
}

static void
put_px (guint8 *p,
        const guint8 *flat, /* NULL: the bench */
        double light,
        GRand *rand)
{
  double alpha = flat != NULL ? flat[3] / 255.0 : 0, noise = g_rand_double_range (rand, -5, 5) + g_rand_double_range (rand, -5, 5);
  const double bench[3] = { 40, 56, 74 }; /* blue, green, red: a wooden bench */

  for (int c = 0; c < 3; c++)
    {
      double value = light * ((flat != NULL ? flat[c] : 0) + (1 - alpha) * bench[c]) + noise;

      p[2 - c] = (guint8) CLAMP (value, 0, 255);
    }
}

static GdkPixbuf *
see (cairo_surface_t *flat,
     const EfFaceView *view,
     const double to_photo[9],
     GRand *rand)
{
  GdkPixbuf *pixbuf = gdk_pixbuf_new (GDK_COLORSPACE_RGB, FALSE, 8, EF_DEMO_PHOTO_WIDTH, EF_DEMO_PHOTO_HEIGHT);
  const guint8 *data = cairo_image_surface_get_data (flat);
  int width = cairo_image_surface_get_width (flat), height = cairo_image_surface_get_height (flat), stride = cairo_image_surface_get_stride (flat);
  guint8 *pixels = gdk_pixbuf_get_pixels (pixbuf);
  int rowstride = gdk_pixbuf_get_rowstride (pixbuf);
  double m[9];

  invert (to_photo, m);
  for (int y = 0; y < EF_DEMO_PHOTO_HEIGHT; y++)
    for (int x = 0; x < EF_DEMO_PHOTO_WIDTH; x++)
      {
        double px = x + 0.5, py = y + 0.5, w = m[6] * px + m[7] * py + m[8], fx, fy;
        double light = 1.08 - 0.28 * hypot (x / (double) EF_DEMO_PHOTO_WIDTH - 0.35, y / (double) EF_DEMO_PHOTO_HEIGHT - 0.3);
        const guint8 *at = NULL;

        ef_face_view_to_screen (view, (m[0] * px + m[1] * py + m[2]) / w, (m[3] * px + m[4] * py + m[5]) / w, &fx, &fy);
        if (w > 0 && fx >= 0 && fy >= 0 && fx < width && fy < height)
          at = data + (int) fy * (gsize) stride + 4 * (int) fx;
        put_px (pixels + y * (gsize) rowstride + 3 * x, at, light, rand);
      }

  return pixbuf;
}

/* EXIF 2.3, 4.5: IFD 0 with a pointer to the Exif IFD, which has DateTimeOriginal; big-endian. */
static GBytes *
with_time (const guint8 *jpeg,
           gsize length)
{
  static const guint8 head[] = {
    0xff, 0xd8, 0xff, 0xe1, 0, 2 + 6 + 26 + 18 + 20, 'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, 42, 0, 0, 0, 8,
    0, 1, 0x87, 0x69, 0, 4, 0, 0, 0, 1, 0, 0, 0, 26, 0, 0, 0, 0,
    0, 1, 0x90, 0x03, 0, 2, 0, 0, 0, 20, 0, 0, 0, 44, 0, 0, 0, 0
  };
  GByteArray *out = g_byte_array_new ();

  g_byte_array_append (out, head, sizeof head);
  g_byte_array_append (out, (const guint8 *) TAKEN, 20);
  g_byte_array_append (out, jpeg + 2, (guint) length - 2);

  return g_byte_array_free_to_bytes (out);
}

GBytes *
ef_demo_photo_make (const EfFaceChart *chart,
                    GPtrArray *marks,
                    double to_photo[9],
                    GError **error)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (SEED);
  g_autoptr (GdkPixbuf) pixbuf = NULL;
  g_autofree char *jpeg = NULL;
  g_autoptr (GError) local = NULL;
  cairo_surface_t *flat;
  EfFaceView view = { 0 };
  double m[9];
  gsize length;

  make_view (chart, m);
  flat = draw_flat (chart, marks, rand, &view);
  pixbuf = see (flat, &view, m, rand);
  cairo_surface_destroy (flat);
  if (to_photo != NULL)
    memcpy (to_photo, m, sizeof m);
  if (!gdk_pixbuf_save_to_buffer (pixbuf, &jpeg, &length, "jpeg", &local, "quality", "82", NULL))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "demo photo: %s", local->message);
      return NULL;
    }

  return with_time ((const guint8 *) jpeg, length);
}

/* One after the other, each the farthest from those before it. */
static int
farthest (const EfFaceChart *chart,
          const EfPhoto *photo)
{
  double most = 2e-3;
  int best = -1;

  for (guint i = 0; i < chart->snaps->len; i++)
    {
      const EfSnap *snap = &g_array_index (chart->snaps, EfSnap, i);
      double least = hypot (snap->u - (chart->u0 + chart->u1) / 2, snap->v - (chart->v0 + chart->v1) / 2);

      if (snap->kind != EF_SNAP_POINT)
        continue;
      for (guint k = 0; k < photo->pairs->len; k++)
        {
          const EfRegistrationPair *pair = &g_array_index (photo->pairs, EfRegistrationPair, k);

          least = MIN (least, hypot (snap->u - pair->u, snap->v - pair->v));
        }
      if (least > most)
        {
          most = least;
          best = (int) i;
        }
    }

  return best;
}

void
ef_demo_photo_lay (EfPhoto *photo,
                   const EfFaceChart *chart,
                   const double to_photo[9],
                   guint n)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (SEED);

  for (guint k = 0; k < n; k++)
    {
      int i = farthest (chart, photo);
      const EfSnap *snap;
      double w, x, y;

      if (i < 0)
        break;
      snap = &g_array_index (chart->snaps, EfSnap, i);
      w = to_photo[6] * snap->u + to_photo[7] * snap->v + to_photo[8];
      x = (to_photo[0] * snap->u + to_photo[1] * snap->v + to_photo[2]) / w + g_rand_double_range (rand, -1.5, 1.5);
      y = (to_photo[3] * snap->u + to_photo[4] * snap->v + to_photo[5]) / w + g_rand_double_range (rand, -1.5, 1.5);
      ef_photo_add_pair (photo, CLAMP (x, 0, photo->width), CLAMP (y, 0, photo->height), snap->u, snap->v);
    }
  ef_photo_on_grid (photo);
}
