/* Pictures and words of flatness and roundness: ink where it belongs, told apart without colour, the same bytes each time, any size.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sample.h"
#include "draw/ef-draw-form.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

typedef struct
{
  EfPumpSheet *sheet;
  EfFaceChart *face, *bore;
  GPtrArray *heights, *diameters;
  EfGauge *gauge;
  EfFlatForm *flat;
  EfRoundForm *round;
  EfRoundPlace place;
} Forms;

static EfRoundForm *
round_of (Forms *forms, GPtrArray *readings)
{
  return ef_round_form_new (forms->sheet, EF_READ_BORE_DIAMETER, "pressure-housing", "drive", (EfReading *const *) readings->pdata, readings->len, &forms->gauge, 1, NULL);
}

static void
set_up (Forms *forms, gconstpointer data)
{
  forms->sheet = sample_sheet ("hl-24");
  forms->face = ef_face_chart_new (forms->sheet, "separator/side-a", NULL);
  forms->bore = ef_face_chart_new (forms->sheet, "pressure-housing/bore-drive", NULL);
  forms->heights = sample_flat_readings (forms->face);
  forms->diameters = sample_bore_readings ("pressure-housing", "drive", 18e-3, 6);
  forms->gauge = ef_gauge_default (EF_GAUGE_BORE);
  g_free (forms->gauge->item.id);
  forms->gauge->item.id = g_strdup ("depth");
  forms->flat = ef_flat_form_new (forms->face, (EfReading *const *) forms->heights->pdata, forms->heights->len, NULL);
  forms->round = round_of (forms, forms->diameters);
  ef_round_place_take (&forms->place, forms->bore, NULL);
  forms->place.load = 120;
  forms->place.load_angle = ef_angle_from_deg (280);
}

static void
tear_down (Forms *forms, gconstpointer data)
{
  ef_flat_form_free (forms->flat);
  ef_round_form_free (forms->round);
  g_ptr_array_unref (forms->heights);
  g_ptr_array_unref (forms->diameters);
  ef_item_unref (forms->gauge);
  ef_face_chart_unref (forms->face);
  ef_face_chart_unref (forms->bore);
  ef_pump_sheet_unref (forms->sheet);
}

typedef struct
{
  int width, height;
  guint32 *pixels;
} Image;

static void
image_clear (Image *image)
{
  g_free (image->pixels);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Image, image_clear)

typedef void (*Draw) (Forms *forms, cairo_t *cr, const EfDrawStyle *style, double width, double height);

static void
draw_flat (Forms *forms, cairo_t *cr, const EfDrawStyle *style, double width, double height)
{
  ef_draw_flat_form (cr, style, forms->face, forms->flat, EF_UNIT_MM, width, height);
}

static void
draw_round (Forms *forms, cairo_t *cr, const EfDrawStyle *style, double width, double height)
{
  ef_draw_round_form (cr, style, forms->round, &forms->place, EF_UNIT_MM, width, height);
}

static Image
render (Forms *forms, Draw draw, const EfDrawStyle *style, int width, int height)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, width, height);
  cairo_t *cr = cairo_create (surface);
  Image image = { width, height, g_new (guint32, (gsize) width * height) };

  ef_draw_paper (cr, style);
  draw (forms, cr, style, width, height);
  g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  for (int y = 0; y < height; y++)
    for (int x = 0; x < width; x++)
      image.pixels[(gsize) y * width + x] = 0xffffff & *(guint32 *) (cairo_image_surface_get_data (surface) + y * cairo_image_surface_get_stride (surface) + 4 * x);
  cairo_surface_destroy (surface);
  return image;
}

static guint
differing (const Image *a, const Image *b)
{
  guint n = 0;

  for (gsize i = 0; i < (gsize) a->width * a->height; i++)
    n += a->pixels[i] != b->pixels[i];
  return n;
}

static guint
inked (const Image *image)
{
  guint n = 0;

  for (gsize i = 0; i < (gsize) image->width * image->height; i++)
    n += image->pixels[i] != image->pixels[0];
  return n;
}

static void
test_same_bytes (Forms *forms, gconstpointer data)
{
  static const Draw draws[2] = { draw_flat, draw_round };
  EfDrawStyle style;

  ef_draw_style_screen (&style, FALSE, FALSE);
  for (int k = 0; k < 2; k++)
    {
      g_auto (Image) one = render (forms, draws[k], &style, 560, 460);
      g_auto (Image) other = render (forms, draws[k], &style, 560, 460);

      g_assert_cmpuint (differing (&one, &other), ==, 0);
      g_assert_cmpuint (inked (&one), >, 560 * 460 / 40);
    }
}

/* In every look and from a stamp to a wall chart, without errors and never beyond the edge. */
static void
test_sizes (Forms *forms, gconstpointer data)
{
  static const int sizes[][2] = { { 20, 20 }, { 80, 60 }, { 200, 200 }, { 700, 200 }, { 200, 700 }, { 1400, 1000 } };
  static const Draw draws[2] = { draw_flat, draw_round };

  for (int look = 0; look < 4; look++)
    for (guint i = 0; i < G_N_ELEMENTS (sizes); i++)
      for (int k = 0; k < 2; k++)
        {
          EfDrawStyle style;

          if (look == 3)
            ef_draw_style_print (&style);
          else
            ef_draw_style_screen (&style, look == 1, look == 2);
          {
            g_auto (Image) image = render (forms, draws[k], &style, sizes[i][0], sizes[i][1]);

            if (sizes[i][0] >= 200)
              g_assert_cmpuint (inked (&image), >, 500);
          }
        }
}

/* With the points that carry the zone known, more is drawn; a bump moves the picture. */
static void
test_flat_follows (Forms *forms, gconstpointer data)
{
  g_auto (Image) before = { 0 };
  g_auto (Image) after = { 0 };
  g_auto (Image) three = { 0 };
  EfDrawStyle style;
  double zone = forms->flat->zone;

  ef_draw_style_print (&style);
  before = render (forms, draw_flat, &style, 500, 400);
  ((EfReading *) forms->heights->pdata[6])->value += 40e-6;
  ef_flat_form_free (forms->flat);
  forms->flat = ef_flat_form_new (forms->face, (EfReading *const *) forms->heights->pdata, forms->heights->len, NULL);
  g_assert_cmpfloat (forms->flat->zone, >, zone + 10e-6);
  g_assert_cmpint (forms->flat->points[6].carries, ==, 1);
  after = render (forms, draw_flat, &style, 500, 400);
  g_assert_cmpuint (differing (&before, &after), >, 2000);
  ef_flat_form_free (forms->flat);
  forms->flat = ef_flat_form_new (forms->face, (EfReading *const *) forms->heights->pdata, 3, NULL);
  three = render (forms, draw_flat, &style, 500, 400);
  g_assert_false (forms->flat->known);
  g_assert_cmpuint (inked (&three), >, 1000);
}

/* The middle of the small plot: its outer ring is the widest and lowest ink. */
static void
ring_centre (const Image *image, double *cx, double *cy)
{
  int left = image->width, right = 0, bottom = 0;

  for (int y = image->height / 3; y < image->height; y++)
    for (int x = 0; x < image->width; x++)
      if (image->pixels[y * image->width + x] != image->pixels[0])
        {
          left = MIN (left, x);
          right = MAX (right, x);
          bottom = MAX (bottom, y);
        }
  *cx = (left + right) / 2.0;
  *cy = bottom - (right - left) / 2.0;
}

static guint
ink_near (const Image *image, double x, double y, double reach)
{
  guint n = 0;

  for (int j = (int) (y - reach); j <= (int) (y + reach); j++)
    for (int i = (int) (x - reach); i <= (int) (x + reach); i++)
      if (i >= 0 && j >= 0 && i < image->width && j < image->height)
        n += image->pixels[j * image->width + i] != image->pixels[0];
  return n;
}

/* The load's arrow is there only when the load is known, and on the side it points to: 280 degrees of the drive bore's own angle, which counts
 * from the left towards delivery, is up a little to the left or right of straight, depending on the delivery side. */
static void
test_round_load (Forms *forms, gconstpointer data)
{
  g_auto (Image) with = { 0 };
  g_auto (Image) without = { 0 };
  double angle = forms->place.angle0 + forms->place.angle_sign * forms->place.load_angle;
  int towards = 0, away = 0;
  double cx, cy;
  EfDrawStyle style;

  ef_draw_style_screen (&style, FALSE, FALSE);
  style.text_size = 13;
  with = render (forms, draw_round, &style, 200, 240);
  forms->place.load_angle = NAN;
  without = render (forms, draw_round, &style, 200, 240);
  ring_centre (&without, &cx, &cy);
  for (int y = 0; y < 240; y++)
    for (int x = 0; x < 200; x++)
      if (with.pixels[y * 200 + x] != without.pixels[y * 200 + x])
        {
          if ((x - cx) * cos (angle) - (y - cy) * sin (angle) > 0)
            towards++;
          else
            away++;
        }
  g_assert_cmpint (towards, >, 30);
  g_assert_cmpint (away, <, towards / 3);
}

/* What the directions leave open isn't drawn: no oval below five of them. */
static void
test_round_directions (Forms *forms, gconstpointer data)
{
  g_auto (Image) six = { 0 };
  g_auto (Image) four = { 0 };
  g_autoptr (GPtrArray) fewer = sample_bore_readings ("pressure-housing", "drive", 18e-3, 4);
  EfDrawStyle style;

  ef_draw_style_print (&style);
  six = render (forms, draw_round, &style, 400, 400);
  ef_round_form_free (forms->round);
  forms->round = round_of (forms, fewer);
  g_assert_false (forms->round->oval_known);
  four = render (forms, draw_round, &style, 400, 400);
  g_assert_cmpuint (differing (&six, &four), >, 1000);
  g_assert_cmpuint (ink_near (&six, 200, 200, 60), >, 50);
}

static void
assert_says (const char *text, const char *words)
{
  if (strstr (text, words) == NULL)
    g_error ("expected “%s” in “%s”", words, text);
}

static void
test_words (Forms *forms, gconstpointer data)
{
  g_autofree char *flat = ef_draw_flat_words (forms->flat, EF_UNIT_MM);
  g_autofree char *thou = ef_draw_flat_words (forms->flat, EF_UNIT_THOU);
  g_autofree char *oval = ef_draw_round_words (forms->round, &forms->place, EF_UNIT_MM);
  g_autofree char *plain = ef_draw_round_words (forms->round, NULL, EF_UNIT_UM);
  g_autofree char *zone = ef_format_quantity (forms->flat->zone, EF_UNIT_MM, -1);
  g_autoptr (GPtrArray) fewer = sample_bore_readings ("pressure-housing", "drive", 18e-3, 2);
  g_autoptr (EfRoundForm) two = round_of (forms, fewer);
  g_autoptr (EfFlatForm) three = ef_flat_form_new (forms->face, (EfReading *const *) forms->heights->pdata, 3, NULL);
  g_autofree char *few = ef_draw_round_words (two, NULL, EF_UNIT_MM);
  g_autofree char *missing = ef_draw_flat_words (three, EF_UNIT_MM);

  assert_says (flat, "Out of flat");
  assert_says (flat, zone);
  assert_says (flat, "limit 0.030 mm");
  assert_says (flat, "Carried by places");
  for (guint i = 0; i < forms->flat->n; i++)
    if (forms->flat->points[i].carries != 0)
      {
        g_autofree char *number = g_strdup_printf ("%u", forms->flat->points[i].number);

        assert_says (strstr (flat, "Carried"), number);
      }
  assert_says (thou, "thou");
  assert_says (oval, "widest across 105°");
  /* 280 - 180 = 100: five degrees off */
  assert_says (oval, "points to 280°, 5° from that axis");
  g_assert_null (strstr (plain, "hot idle"));
  assert_says (few, "Read in 2 directions");
  assert_says (missing, "3 of 9 places read");
}

int
main (int argc, char **argv)
{
  isolated_test_init (&argc, &argv);
#define ADD(path, function) g_test_add (path, Forms, NULL, set_up, function, tear_down)
  ADD ("/draw/form/same-bytes", test_same_bytes);
  ADD ("/draw/form/sizes", test_sizes);
  ADD ("/draw/form/flat-follows", test_flat_follows);
  ADD ("/draw/form/round-load", test_round_load);
  ADD ("/draw/form/round-directions", test_round_directions);
  ADD ("/draw/form/words", test_words);
  return g_test_run ();
}
