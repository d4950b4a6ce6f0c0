/* A photo drawn where it lies, the demo's photo, and photos in the report.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sample.h"
#include "draw/ef-demo-photo.h"
#include "draw/ef-draw-photo.h"
#include "draw/ef-report-photos.h"
#include "photo/ef-photo-file.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"
#include "../photo/photo-bytes.h"

/* A photo whose colours tell the place, seen askew: each px of the target has the colour of the place that the transform says, at any zoom. */
static void
test_laid (void)
{
  g_autoptr (GdkPixbuf) pixels = photo_pixels (800, 600);
  g_autoptr (EfPhotoPicture) picture = ef_photo_picture_new (pixels, 800, 600);
  /* px from metres: 20 px a mm, turned, a little perspective. */
  EfLaidPhoto laid = { picture, { 19000, 3000, 400, 3000, -19000, 300, 2.0, -1.5, 1 }, 1 };
  guint inside = 0, outside = 0;

  for (double scale = 4000; scale < 50000; scale *= 2.3)
    {
      EfFaceView view = { .scale = scale, .x0 = 120, .y0 = 90 };
      cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, 240, 180);
      cairo_t *cr = cairo_create (surface);
      const guint8 *data;

      ef_draw_laid_photo (cr, &view, &laid, 0, 0, 240, 180);
      cairo_destroy (cr);
      cairo_surface_flush (surface);
      data = cairo_image_surface_get_data (surface);
      for (int y = 5; y < 180; y += 17)
        for (int x = 5; x < 240; x += 19)
          {
            const guint8 *p = data + y * cairo_image_surface_get_stride (surface) + 4 * x;
            const double *m = laid.to_photo;
            double u, v, w, px, py;

            ef_face_view_to_chart (&view, x + 0.5, y + 0.5, &u, &v);
            w = m[6] * u + m[7] * v + m[8];
            px = (m[0] * u + m[1] * v + m[2]) / w;
            py = (m[3] * u + m[4] * v + m[5]) / w;
            if (px < -1 || py < -1 || px > 801 || py > 601)
              {
                g_assert_cmpint (p[3], ==, 0);
                outside++;
                continue;
              }
            if (px < 12 || py < 12 || px > 788 || py > 588)
              continue;
            inside++;
            g_assert_cmpint (p[3], ==, 255);
            g_assert_cmpfloat (fabs (p[2] - 255 * (px - 0.5) / 799), <, 3);
            g_assert_cmpfloat (fabs (p[1] - 255 * (py - 0.5) / 599), <, 3);
          }
      cairo_surface_destroy (surface);
    }
  g_assert_cmpuint (inside, >, 100);
  g_assert_cmpuint (outside, >, 20);
}

static cairo_surface_t *
lay (const EfLaidPhoto *laid,
     const EfFaceView *view,
     double device)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, (int) (120 * device), (int) (90 * device));
  cairo_t *cr;

  cairo_surface_set_device_scale (surface, device, device);
  cr = cairo_create (surface);
  ef_draw_laid_photo (cr, view, laid, 0, 0, 120, 90);
  cairo_destroy (cr);
  cairo_surface_flush (surface);

  return surface;
}

static const guint8 *
pixel_at (cairo_surface_t *surface,
          int x,
          int y)
{
  return cairo_image_surface_get_data (surface) + y * (gsize) cairo_image_surface_get_stride (surface) + 4 * x;
}

/* Px to px: where the photo is as large as the target, its px come through untouched, edges too. */
static void
test_px_to_px (void)
{
  g_autoptr (GdkPixbuf) pixels = photo_pixels (120, 90);
  g_autoptr (EfPhotoPicture) picture = ef_photo_picture_new (pixels, 120, 90);
  EfLaidPhoto laid = { picture, { 1000, 0, 60, 0, -1000, 45, 0, 0, 1 }, 1 };
  EfFaceView view = { .scale = 1000, .x0 = 60, .y0 = 45 };
  cairo_surface_t *surface = lay (&laid, &view, 1);

  for (int y = 0; y < 90; y += 89)
    for (int x = 0; x < 120; x += 7)
      {
        const guint8 *p = pixel_at (surface, x, y), *own = gdk_pixbuf_read_pixels (pixels) + y * gdk_pixbuf_get_rowstride (pixels) + x * gdk_pixbuf_get_n_channels (pixels);

        g_assert_cmpint (p[3], ==, 255);
        g_assert_cmpint (p[2], ==, own[0]);
        g_assert_cmpint (p[1], ==, own[1]);
      }
  cairo_surface_destroy (surface);
}

/* A chess board of single px far away is grey, not a pattern of its own. */
static void
test_far_away (void)
{
  g_autoptr (GdkPixbuf) pixels = gdk_pixbuf_new (GDK_COLORSPACE_RGB, FALSE, 8, 1024, 768);
  g_autoptr (EfPhotoPicture) picture = NULL;
  EfLaidPhoto laid = { .to_photo = { 9300, 0, 512, 0, -9300, 384, 0, 0, 1 }, .opacity = 1 };
  EfFaceView view = { .scale = 1000, .x0 = 60, .y0 = 45 };
  cairo_surface_t *surface;

  for (int y = 0; y < 768; y++)
    for (int x = 0; x < 3 * 1024; x++)
      gdk_pixbuf_get_pixels (pixels)[y * gdk_pixbuf_get_rowstride (pixels) + x] = (x / 3 + y) % 2 == 0 ? 255 : 0;
  picture = ef_photo_picture_new (pixels, 1024, 768);
  laid.picture = picture;
  surface = lay (&laid, &view, 1);
  for (int y = 10; y < 80; y += 3)
    for (int x = 10; x < 110; x += 3)
      g_assert_cmpint (abs (pixel_at (surface, x, y)[1] - 128), <, 12);
  cairo_surface_destroy (surface);
}

/* Beyond the horizon of a steep view there's nothing, though the transform gives a place there as well. */
static void
test_horizon (void)
{
  g_autoptr (GdkPixbuf) pixels = photo_pixels (800, 600);
  g_autoptr (EfPhotoPicture) picture = ef_photo_picture_new (pixels, 800, 600);
  EfLaidPhoto laid = { picture, { 20000, 0, 400, 0, -20000, -1300, 0, 40, 1 }, 1 };
  EfFaceView view = { .scale = 1000, .x0 = 60, .y0 = 45 };
  cairo_surface_t *surface = lay (&laid, &view, 1);
  guint behind = 0;

  for (int y = 0; y < 90; y++)
    for (int x = 0; x < 120; x += 3)
      {
        double u, v, w, px, py;

        ef_face_view_to_chart (&view, x + 0.5, y + 0.5, &u, &v);
        w = 40 * v + 1;
        px = (20000 * u + 400) / w;
        py = (-20000 * v - 1300) / w;
        if (w >= 0 || px < 0 || py < 0 || px > 800 || py > 600)
          continue;
        g_assert_cmpint (pixel_at (surface, x, y)[3], ==, 0);
        behind++;
      }
  g_assert_cmpuint (behind, >, 20);
  cairo_surface_destroy (surface);
}

/* On a screen of twice the density it's the same picture, twice as fine. */
static void
test_dense_screen (void)
{
  g_autoptr (GdkPixbuf) pixels = photo_pixels (800, 600);
  g_autoptr (EfPhotoPicture) picture = ef_photo_picture_new (pixels, 800, 600);
  EfLaidPhoto laid = { picture, { 6500, 0, 400, 0, -6500, 300, 0, 0, 1 }, 1 };
  EfFaceView view = { .scale = 1000, .x0 = 60, .y0 = 45 };
  cairo_surface_t *plain = lay (&laid, &view, 1), *dense = lay (&laid, &view, 2);

  for (int y = 4; y < 90; y += 9)
    for (int x = 4; x < 120; x += 11)
      for (int c = 1; c <= 2; c++)
        g_assert_cmpint (abs (pixel_at (plain, x, y)[c] - pixel_at (dense, 2 * x, 2 * y)[c]), <=, 4);
  cairo_surface_destroy (plain);
  cairo_surface_destroy (dense);
}

/* It's a photo like any other: read by the same reader, with its time, the same bytes each time; laid by its places it comes back to the truth. */
static void
test_demo_photo (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, "separator/side-a", &error);
  g_autoptr (GPtrArray) none = g_ptr_array_new ();
  double to_photo[9];
  g_autoptr (GBytes) bytes = ef_demo_photo_make (chart, none, to_photo, &error);
  g_autoptr (GBytes) again = ef_demo_photo_make (chart, none, NULL, &error);
  g_autoptr (EfItem) item = &ef_photo_new ("", "", "", EF_DEMO_PHOTO_WIDTH, EF_DEMO_PHOTO_HEIGHT)->item;
  g_auto (EfRegistration) fit = { 0 };
  EfPhotoProbe probe;
  double x, y, w = to_photo[6] * 0.02 + to_photo[7] * 0.01 + to_photo[8];

  g_assert_no_error (error);
  g_assert_true (g_bytes_equal (bytes, again));
  g_assert_cmpuint (g_bytes_get_size (bytes), <, 1500000);
  g_assert_true (ef_photo_probe (bytes, "demo", &probe, &error));
  g_assert_cmpint (probe.width, ==, EF_DEMO_PHOTO_WIDTH);
  g_assert_cmpint (probe.height, ==, EF_DEMO_PHOTO_HEIGHT);
  g_assert_cmpstr (probe.taken, ==, "2026-03-09T10:42:00");
  ef_demo_photo_lay ((EfPhoto *) item, chart, to_photo, 6);
  g_assert_cmpuint (((EfPhoto *) item)->pairs->len, ==, 6);
  g_assert_true (ef_photo_fit ((EfPhoto *) item, &fit, &error));
  g_assert_cmpfloat (fit.rms, >, 0.01e-3);
  g_assert_cmpfloat (fit.rms, <, 0.2e-3);
  ef_registration_to_photo (&fit, 0.02, 0.01, &x, &y);
  g_assert_cmpfloat (hypot (x - (to_photo[0] * 0.02 + to_photo[1] * 0.01 + to_photo[2]) / w, y - (to_photo[3] * 0.02 + to_photo[4] * 0.01 + to_photo[5]) / w), <, 4);
}

static char *
run (const char *const *argv)
{
  g_autoptr (GError) error = NULL;
  char *output = NULL;

  g_spawn_sync (NULL, (char **) argv, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &output, NULL, NULL, &error);
  g_assert_no_error (error);

  return output;
}

#define DIGEST "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

static void
test_report (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 5);
  g_autoptr (EfItem) item = &ef_photo_new (DIGEST, "IMG 0412.jpg", "image/jpeg", 4000, 3000)->item;
  g_autoptr (GdkPixbuf) pixels = photo_pixels (1600, 1200);
  g_autoptr (GError) error = NULL;
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "report.pdf", NULL);

  ((EfPhoto *) item)->shows = g_strdup ("separator/side-a");
  ((EfPhoto *) item)->taken = g_strdup ("2026-03-09T10:15:00");
  ((EfPhoto *) item)->note = g_strdup ("wiped dry");
  g_assert_true (ef_inspection_swap (inspection, NULL, item, &error));
  for (int shown = 0; shown < 2; shown++)
    {
      g_autoptr (EfAssessment) assessment = sample_assess (inspection);
      g_autofree char *text = NULL;
      g_autofree char *images = NULL;

      if (shown)
        ef_report_keep_photo ((EfPhoto *) item, pixels);
      g_assert_true (ef_report_write_pdf (assessment, NULL, path, EF_PAPER_A4, "2026-03-02T10:00:00Z", &error));
      g_assert_no_error (error);
      text = run ((const char *[]) { "pdftotext", path, "-", NULL });
      g_strdelimit (text, "\n", ' ');
      images = run ((const char *[]) { "pdfimages", "-list", path, NULL });
      g_assert_nonnull (strstr (text, "IMG 0412.jpg"));
      g_assert_nonnull (strstr (text, "wiped dry"));
      g_assert_true ((strstr (text, "its file isn't at hand") == NULL) == shown);
      /* At most 900 px, as the JPEG that it is. */
      g_assert_true ((strstr (images, "900") != NULL && strstr (images, "675") != NULL && strstr (images, "jpeg") != NULL) == shown);
    }
}

/* Beside the face that it shows stands a small one with the places it's laid by, and again in the section of them all; one that shows no marked face stands there only. */
static void
test_report_beside_face (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 5);
  const EfMark *mark = inspection->items[EF_ITEM_MARK]->pdata[0];
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "beside.pdf", NULL);
  g_autoptr (GdkPixbuf) pixels = photo_pixels (400, 300);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  g_autofree char *text = NULL;
  g_autofree char *images = NULL;
  guint n = 0;

  for (int i = 0; i < 2; i++)
    {
      g_autofree char *digest = g_strnfill (64, (char) ('a' + i));
      g_autofree char *name = g_strdup_printf ("IMG %d.jpg", i);
      g_autoptr (EfItem) item = &ef_photo_new (digest, name, "image/jpeg", 400, 300)->item;

      ((EfPhoto *) item)->shows = g_strdup (i == 0 ? mark->face_id : "pickup");
      for (int k = 0; i == 0 && k < 3; k++)
        ef_photo_add_pair ((EfPhoto *) item, 50 + 100 * k, 60 + 80 * (k % 2), 1e-3 * k, 1e-3 * (k % 2));
      g_assert_true (ef_inspection_swap (inspection, NULL, item, &error));
      ef_report_keep_photo ((EfPhoto *) item, pixels);
    }
  g_assert_cmpuint (ef_report_photos_missing (inspection), ==, 0);
  assessment = sample_assess (inspection);
  g_assert_true (ef_report_write_pdf (assessment, NULL, path, EF_PAPER_A4, "2026-03-02T10:00:00Z", &error));
  g_assert_no_error (error);
  text = run ((const char *[]) { "pdftotext", path, "-", NULL });
  g_strdelimit (text, "\n", ' ');
  g_assert_nonnull (strstr (text, "IMG 0.jpg, SHA-256 aaaaaaaa…; laid by 3 places"));
  g_assert_nonnull (strstr (text, "Photos of "));
  g_assert_null (strstr (text, "IMG 1.jpg, SHA-256"));
  g_assert_nonnull (strstr (text, "IMG 1.jpg: "));
  images = run ((const char *[]) { "pdfimages", "-list", path, NULL });
  for (const char *at = images; (at = strstr (at, " jpeg ")) != NULL; at++)
    n++;
  g_assert_cmpuint (n, ==, 3);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/photo/laid", test_laid);
  g_test_add_func ("/draw/photo/px-to-px", test_px_to_px);
  g_test_add_func ("/draw/photo/far-away", test_far_away);
  g_test_add_func ("/draw/photo/horizon", test_horizon);
  g_test_add_func ("/draw/photo/dense-screen", test_dense_screen);
  g_test_add_func ("/draw/photo/demo", test_demo_photo);
  g_test_add_func ("/draw/photo/report", test_report);
  g_test_add_func ("/draw/photo/report-beside-face", test_report_beside_face);

  return g_test_run ();
}
