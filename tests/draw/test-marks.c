/* Marks, glyphs, views and depth on a picture.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "draw/ef-draw-ink.h"
#include "draw/ef-draw-text.h"
#include "draw/ef-plot.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

#define SIDE 400

/* A square plate of 40 mm, by hand. */
static EfFaceChart *
plate (void)
{
  const double corners[] = { 0, 0, 0.04, 0, 0.04, 0.04, 0, 0.04 };
  EfFaceChart *chart = g_new0 (EfFaceChart, 1);

  chart->id = (char *) "plate/side-a";
  chart->name = (char *) "Side A";
  chart->u1 = chart->v1 = 0.04;
  chart->solid = ef_region_new ();
  ef_region_take (chart->solid, ef_ring_new (4, corners));
  chart->lines = g_ptr_array_new ();
  chart->bands = g_ptr_array_new ();
  chart->labels = g_ptr_array_new ();
  return chart;
}

static void
plate_free (EfFaceChart *chart)
{
  ef_region_free (chart->solid);
  g_ptr_array_unref (chart->lines);
  g_ptr_array_unref (chart->bands);
  g_ptr_array_unref (chart->labels);
  g_free (chart);
}

static cairo_surface_t *
paint (const EfFaceChart *chart, GPtrArray *marks, const EfDepthMap *map, const EfFaceLayers *layers, const double clip[4], gboolean ground)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, SIDE, SIDE);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;
  EfFaceView view;

  ef_draw_style_screen (&style, FALSE, FALSE);
  ef_face_view_fit (&view, chart, SIDE, SIDE, 0);
  ef_draw_paper (cr, &style);
  if (ground)
    ef_draw_face_ground (cr, &style, &view, chart, layers);
  if (map != NULL)
    ef_draw_face_depth (cr, &style, &view, chart, map, layers);
  if (marks != NULL)
    ef_draw_face_marks (cr, &style, &view, chart, (EfMark *const *) marks->pdata, marks->len, layers, clip);
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  return surface;
}

static gboolean
same (cairo_surface_t *a, cairo_surface_t *b)
{
  return memcmp (cairo_image_surface_get_data (a), cairo_image_surface_get_data (b), (gsize) cairo_image_surface_get_stride (a) * cairo_image_surface_get_height (a)) == 0;
}

/* Pixels that aren't paper in a box of chart mm. */
static guint
ink_in (cairo_surface_t *surface, double u0, double v0, double u1, double v1)
{
  guint count = 0;

  for (int y = (int) (SIDE - v1 * 10); y < (int) (SIDE - v0 * 10); y++)
    for (int x = (int) (u0 * 10); x < (int) (u1 * 10); x++)
      count += (*(guint32 *) (cairo_image_surface_get_data (surface) + y * cairo_image_surface_get_stride (surface) + 4 * x) & 0xffffff) != 0xffffff;
  return count;
}

static GPtrArray *
one_mark (EfMarkKind kind, EfMarkShape shape)
{
  GPtrArray *marks = g_ptr_array_new_with_free_func (ef_item_unref);
  EfMark *mark = ef_mark_new ("plate/side-a", kind, shape, shape == EF_SHAPE_POINT ? 4e-3 : 1e-3);

  if (shape == EF_SHAPE_POINT)
    ef_mark_add_node (mark, 0.010, 0.010);
  else
    {
      ef_mark_add_node (mark, 0.006, 0.006);
      ef_mark_add_node (mark, 0.014, 0.007);
      ef_mark_add_node (mark, 0.012, 0.014);
    }
  mark->number = 7;
  g_ptr_array_add (marks, mark);
  return marks;
}

static void
test_ink_where_the_mark_is (void)
{
  EfFaceChart *chart = plate ();

  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    for (int shape = 0; shape < EF_N_SHAPES; shape++)
      {
        g_autoptr (GPtrArray) marks = one_mark ((EfMarkKind) kind, (EfMarkShape) shape);
        EfFaceLayers layers = { 0 };
        cairo_surface_t *a = paint (chart, marks, NULL, &layers, NULL, FALSE);
        cairo_surface_t *b = paint (chart, marks, NULL, &layers, NULL, FALSE);

        g_assert_true (same (a, b));
        g_assert_cmpuint (ink_in (a, 4, 4, 16, 16), >, 12);
        g_assert_cmpuint (ink_in (a, 20, 0, 40, 40), ==, 0);
        g_assert_cmpuint (ink_in (a, 0, 20, 40, 40), ==, 0);
        cairo_surface_destroy (a);
        cairo_surface_destroy (b);
      }
  plate_free (chart);
}

/* A mark of another face, and one that isn't finite, leave no ink. */
static void
test_no_ink_for_others (void)
{
  EfFaceChart *chart = plate ();
  g_autoptr (GPtrArray) marks = one_mark (EF_MARK_GROOVE, EF_SHAPE_LINE);
  EfMark *mark = g_ptr_array_index (marks, 0);
  EfFaceLayers layers = { .mark_numbers = TRUE };
  cairo_surface_t *surface;

  g_free (mark->face_id);
  mark->face_id = g_strdup ("plate/side-b");
  surface = paint (chart, marks, NULL, &layers, NULL, FALSE);
  g_assert_cmpuint (ink_in (surface, 0, 0, 40, 40), ==, 0);
  cairo_surface_destroy (surface);
  g_free (mark->face_id);
  mark->face_id = g_strdup ("plate/side-a");
  g_array_index (mark->nodes, EfMarkNode, 1).u = NAN;
  surface = paint (chart, marks, NULL, &layers, NULL, FALSE);
  g_assert_cmpuint (ink_in (surface, 0, 0, 40, 40), ==, 0);
  cairo_surface_destroy (surface);
  plate_free (chart);
}

/* What the clip leaves out isn't painted; what it lets through is what a whole redraw paints there. */
static void
test_clip_matches_whole (void)
{
  EfFaceChart *chart = plate ();
  g_autoptr (GPtrArray) marks = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GRand) rand = g_rand_new_with_seed (11);
  EfFaceLayers layers = { 0 };
  const double clip[4] = { 100, 120, 150, 90 };
  cairo_surface_t *whole, *part;
  guint off = 0;

  for (int i = 0; i < 200; i++)
    {
      EfMark *mark = ef_mark_new ("plate/side-a", (EfMarkKind) (i % EF_N_MARK_KINDS), EF_SHAPE_LINE, 5e-4);

      for (int k = 0; k < 3; k++)
        ef_mark_add_node (mark, g_rand_double_range (rand, 0, 0.04), g_rand_double_range (rand, 0, 0.04));
      g_ptr_array_add (marks, mark);
    }
  whole = paint (chart, marks, NULL, &layers, NULL, FALSE);
  part = paint (chart, marks, NULL, &layers, clip, FALSE);
  for (int y = 0; y < SIDE; y++)
    for (int x = 0; x < SIDE; x++)
      {
        gsize at = (gsize) y * cairo_image_surface_get_stride (whole) + 4 * x;
        guint32 p = *(guint32 *) (cairo_image_surface_get_data (part) + at) & 0xffffff;
        guint32 w = *(guint32 *) (cairo_image_surface_get_data (whole) + at) & 0xffffff;
        gboolean inside = x >= 100 && x < 250 && y >= 120 && y < 210;

        if (!inside)
          g_assert_cmphex (p, ==, 0xffffff);
        else
          {
            /* edges are smoothed in steps, which a clip may shift; a hatch out of step would be off by far more, all over */
            g_assert_cmpint (ABS ((int) (p & 0xff) - (int) (w & 0xff)), <=, 72);
            off += ABS ((int) (p & 0xff) - (int) (w & 0xff)) > 24;
          }
      }
  g_assert_cmpuint (off, <, 150 * 90 / 200);
  cairo_surface_destroy (whole);
  cairo_surface_destroy (part);
  plate_free (chart);
}

static void
test_selected_and_number_show (void)
{
  EfFaceChart *chart = plate ();
  g_autoptr (GPtrArray) marks = one_mark (EF_MARK_STEP, EF_SHAPE_LINE);
  EfFaceLayers plain = { 0 }, numbered = { .mark_numbers = TRUE };
  EfFaceLayers selected = { .selected = ((EfMark *) g_ptr_array_index (marks, 0))->item.id };
  cairo_surface_t *a = paint (chart, marks, NULL, &plain, NULL, FALSE);
  cairo_surface_t *b = paint (chart, marks, NULL, &numbered, NULL, FALSE);
  cairo_surface_t *c = paint (chart, marks, NULL, &selected, NULL, FALSE);

  g_assert_false (same (a, b));
  g_assert_false (same (a, c));
  cairo_surface_destroy (a);
  cairo_surface_destroy (b);
  cairo_surface_destroy (c);
  plate_free (chart);
}

/* Ten kinds in pure black and white: no two alike. */
static void
test_glyphs_differ (void)
{
  enum { W = 48, H = 32 };
  static guint8 pixels[EF_N_MARK_KINDS][W * H];

  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, W, H);
      cairo_t *cr = cairo_create (surface);
      guint ink = 0;
      EfDrawStyle style;

      ef_draw_style_screen (&style, FALSE, FALSE);
      ef_draw_paper (cr, &style);
      ef_draw_mark_glyph (cr, &style, (EfMarkKind) kind, 0, 0, W, H);
      cairo_destroy (cr);
      cairo_surface_flush (surface);
      for (int k = 0; k < W * H; k++)
        {
          guint32 p = *(guint32 *) (cairo_image_surface_get_data (surface) + k / W * cairo_image_surface_get_stride (surface) + 4 * (k % W));

          pixels[kind][k] = (p & 0xff) < 128;
          ink += pixels[kind][k];
          if (k / W == 0 || k / W == H - 1 || k % W == 0 || k % W == W - 1)
            g_assert_cmphex (p & 0xffffff, ==, 0xffffff); /* nothing cut off */
        }
      g_assert_cmpuint (ink, >, 15);
      cairo_surface_destroy (surface);
    }
  for (int i = 0; i < EF_N_MARK_KINDS; i++)
    for (int j = 0; j < i; j++)
      {
        guint differ = 0;

        for (int k = 0; k < W * H; k++)
          differ += pixels[i][k] != pixels[j][k];
        g_assert_cmpuint (differ, >, 60);
      }
}

static void
test_view_round_trip (void)
{
  EfFaceChart *chart = plate ();
  EfFaceView view;
  double x, y, u, v;

  ef_face_view_fit (&view, chart, 500, 300, 20);
  g_assert_cmpfloat_with_epsilon (view.scale, 260 / 0.04, 1e-9);
  for (int i = 0; i < 50; i++)
    {
      ef_face_view_to_screen (&view, 0.0013 * i, -0.0007 * i, &x, &y);
      ef_face_view_to_chart (&view, x, y, &u, &v);
      g_assert_cmpfloat_with_epsilon (u, 0.0013 * i, 1e-15);
      g_assert_cmpfloat_with_epsilon (v, -0.0007 * i, 1e-15);
    }
  ef_face_view_to_screen (&view, 0.02, 0.02, &x, &y);
  g_assert_cmpfloat_with_epsilon (x, 250, 1e-9);
  g_assert_cmpfloat_with_epsilon (y, 150, 1e-9);
  ef_face_view_to_screen (&view, 0.02, 0.04, &x, &y);
  g_assert_cmpfloat_with_epsilon (y, 20, 1e-9); /* v points up */
  plate_free (chart);
}

/* A map of 40 x 40 cells of 1 mm, by hand: the lower left quarter worn, deeper to the right. */
static EfDepthMap *
slope (void)
{
  EfDepthMap *map = g_new0 (EfDepthMap, 1);

  map->nu = map->nv = 40;
  map->cell = 1e-3;
  map->solid = g_new (float, 1600);
  map->cover = g_new0 (float, 1600);
  map->depth = g_new0 (float, 1600);
  for (guint j = 0; j < 40; j++)
    for (guint i = 0; i < 40; i++)
      {
        map->solid[j * 40 + i] = 1;
        map->cover[j * 40 + i] = i < 20 && j < 20;
        map->depth[j * 40 + i] = i < 20 && j < 20 ? (float) ((i + 1) * 5e-6) : 0;
      }
  return map;
}

static void
slope_free (EfDepthMap *map)
{
  g_free (map->solid);
  g_free (map->cover);
  g_free (map->depth);
  g_free (map);
}

static void
test_depth_colours (void)
{
  EfFaceChart *chart = plate ();
  EfDepthMap *map = slope ();
  EfFaceLayers layers = { .depth_colours = TRUE };
  cairo_surface_t *surface = paint (chart, NULL, map, &layers, NULL, FALSE);
  double rgb[3];
  guint32 p;

  g_assert_cmpfloat_with_epsilon (ef_draw_depth_deepest (map), 1e-4, 1e-10);
  g_assert_cmpuint (ink_in (surface, 1, 1, 19, 19), ==, 180 * 180);
  g_assert_cmpuint (ink_in (surface, 21, 0, 40, 40), ==, 0);
  g_assert_cmpuint (ink_in (surface, 0, 21, 40, 40), ==, 0);
  /* the cell at (15 … 16, 5 … 6) mm is 0.080 mm deep on a scale to 0.1 mm */
  p = *(guint32 *) (cairo_image_surface_get_data (surface) + (SIDE - 55) * cairo_image_surface_get_stride (surface) + 4 * 155);
  ef_draw_depth_colour (0.8, FALSE, rgb);
  g_assert_cmpint (ABS ((int) (p >> 16 & 0xff) - (int) rint (255 * rgb[0])), <=, 2);
  g_assert_cmpint (ABS ((int) (p >> 8 & 0xff) - (int) rint (255 * rgb[1])), <=, 2);
  g_assert_cmpint (ABS ((int) (p & 0xff) - (int) rint (255 * rgb[2])), <=, 2);
  cairo_surface_destroy (surface);
  slope_free (map);
  plate_free (chart);
}

/* The contour of 0.04 mm runs where the map crosses it: between the centres of cells 6 (0.035) and 7 (0.040), at u = 7.5 mm. */
static void
test_contours (void)
{
  EfFaceChart *chart = plate ();
  EfDepthMap *map = slope ();
  EfFaceLayers layers = { .contours = TRUE };
  cairo_surface_t *surface = paint (chart, NULL, map, &layers, NULL, FALSE);

  g_assert_cmpuint (ink_in (surface, 7.2, 1, 7.8, 19), >, 100);
  g_assert_cmpuint (ink_in (surface, 20.5, 0, 40, 40), ==, 0);
  cairo_surface_destroy (surface);
  slope_free (map);
  plate_free (chart);
}

static void
test_ground (void)
{
  EfFaceChart *chart = plate ();
  EfFaceLayers layers = { .labels = TRUE }, grid = { .labels = TRUE, .grid = TRUE };
  EfChartLabel label = { (char *) "suction", (char *) "suction", 0.02, 0.03 };
  cairo_surface_t *bare = paint (chart, NULL, NULL, &layers, NULL, TRUE);
  cairo_surface_t *named, *gridded;

  g_ptr_array_add (chart->labels, &label);
  named = paint (chart, NULL, NULL, &layers, NULL, TRUE);
  gridded = paint (chart, NULL, NULL, &grid, NULL, TRUE);
  g_assert_cmpuint (ink_in (bare, 1, 1, 39, 39), ==, 380 * 380);
  g_assert_false (same (bare, named));
  g_assert_false (same (gridded, named));
  cairo_surface_destroy (bare);
  cairo_surface_destroy (named);
  cairo_surface_destroy (gridded);
  plate_free (chart);
}

/* Words that are wider than their hole stay in it, also where text is twice as large. */
static void
test_label_in_hole (void)
{
  const double radius = 34;

  for (int scale = 1; scale <= 2; scale++)
    {
      EfFaceChart *chart = plate ();
      double xy[2 * 60], wide;
      EfChartLine hole = { EF_LINE_HOLE, (char *) "hole", TRUE, { 60, xy } };
      EfChartLabel label = { (char *) "driven gear", (char *) "gear", 0.02, 0.02 };
      cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_A8, SIDE, SIDE);
      cairo_t *cr = cairo_create (surface);
      g_autoptr (PangoLayout) layout = NULL;
      EfDrawStyle style;
      EfFaceView view;
      guint ink = 0;

      for (int k = 0; k < 60; k++)
        {
          xy[2 * k] = label.u + 1e-4 * radius * cos (2 * G_PI * k / 60);
          xy[2 * k + 1] = label.v + 1e-4 * radius * sin (2 * G_PI * k / 60);
        }
      g_ptr_array_add (chart->lines, &hole);
      g_ptr_array_add (chart->labels, &label);
      ef_draw_style_screen (&style, FALSE, FALSE);
      style.text_size *= scale;
      ef_face_view_fit (&view, chart, SIDE, SIDE, 0);
      layout = ef_text_layout (cr, &style, ef_text_size (&style, 0.92), 0, label.text);
      ef_text_extent (layout, &wide, NULL);
      g_assert_cmpfloat (wide, >, 2 * radius);
      ef_draw_face_labels (cr, &style, &view, chart);
      cairo_surface_flush (surface);
      for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++)
          if (cairo_image_surface_get_data (surface)[y * cairo_image_surface_get_stride (surface) + x] != 0)
            {
              ink++;
              g_assert_cmpfloat (hypot (x + 0.5 - SIDE / 2, y + 0.5 - SIDE / 2), <=, radius);
            }
      g_assert_cmpuint (ink, >, 100);
      cairo_destroy (cr);
      cairo_surface_destroy (surface);
      plate_free (chart);
    }
}

/* A mark's number isn't put on the face's own words. */
static void
test_number_beside_label (void)
{
  EfFaceChart *chart = plate ();
  g_autoptr (GPtrArray) marks = one_mark (EF_MARK_IMPRINT, EF_SHAPE_POINT);
  EfFaceLayers bare = { .mark_numbers = TRUE }, named = { .mark_numbers = TRUE, .labels = TRUE };
  EfChartLabel label = { (char *) "suction", (char *) "suction", 0.0145, 0.0135 };
  cairo_surface_t *free_there, *taken;

  g_ptr_array_add (chart->labels, &label);
  free_there = paint (chart, marks, NULL, &bare, NULL, FALSE);
  taken = paint (chart, marks, NULL, &named, NULL, FALSE);
  g_assert_cmpuint (ink_in (free_there, 12.5, 13, 16.5, 14), >, 0);
  g_assert_cmpuint (ink_in (taken, 12.5, 13, 16.5, 14), ==, 0);
  g_assert_cmpuint (ink_in (taken, 0, 0, 40, 40), >, ink_in (taken, 7.8, 7.8, 12.2, 12.2));
  cairo_surface_destroy (free_there);
  cairo_surface_destroy (taken);
  plate_free (chart);
}

static void
test_ticks (void)
{
  EfPlotAxis axis = { 0.013, 0.268, 0, NULL, FALSE };

  g_assert_cmpfloat_with_epsilon (ef_nice_step (0.268, 6), 0.05, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_nice_step (10, 5), 2, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_nice_step (1, 1), 1, 1e-12);
  g_assert_cmpfloat (ef_nice_step (0, 5), >, 0);
  ef_plot_axis_nice (&axis, 6);
  g_assert_cmpfloat_with_epsilon (axis.min, 0, 1e-12);
  g_assert_cmpfloat_with_epsilon (axis.max, 0.3, 1e-12);
}

static void
test_millimetres (void)
{
  g_autofree char *a = ef_text_mm (5e-5, 5e-5);
  g_autofree char *b = ef_text_mm (0.02, 0.01);
  g_autofree char *c = ef_text_mm (-1e-9, 1e-3);

  g_assert_cmpstr (a, ==, "0.05");
  g_assert_cmpstr (b, ==, "20");
  g_assert_cmpstr (c, ==, "0");
}

static void
test_occupied (void)
{
  EfOccupied occupied;

  ef_occupied_init (&occupied, 10, 10, 100, 50, 4);
  g_assert_true (ef_occupied_take (&occupied, 20, 20, 20, 10));
  g_assert_false (ef_occupied_take (&occupied, 35, 25, 20, 10));
  g_assert_true (ef_occupied_take (&occupied, 60, 20, 20, 10));
  g_assert_false (ef_occupied_take (&occupied, 100, 40, 20, 10)); /* out at the right */
  ef_occupied_block (&occupied, -50, -50, 65, 65);
  g_assert_false (ef_occupied_take (&occupied, 11, 11, 3, 3));
  ef_occupied_block (&occupied, 500, 500, 10, 10);
  ef_occupied_clear (&occupied);
}

int
main (int argc, char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/marks/ink-where-the-mark-is", test_ink_where_the_mark_is);
  g_test_add_func ("/draw/marks/no-ink-for-others", test_no_ink_for_others);
  g_test_add_func ("/draw/marks/clip-matches-whole", test_clip_matches_whole);
  g_test_add_func ("/draw/marks/selected-and-number-show", test_selected_and_number_show);
  g_test_add_func ("/draw/marks/glyphs-differ", test_glyphs_differ);
  g_test_add_func ("/draw/view/round-trip", test_view_round_trip);
  g_test_add_func ("/draw/depth/colours", test_depth_colours);
  g_test_add_func ("/draw/depth/contours", test_contours);
  g_test_add_func ("/draw/ground", test_ground);
  g_test_add_func ("/draw/labels/in-hole", test_label_in_hole);
  g_test_add_func ("/draw/labels/number-beside", test_number_beside_label);
  g_test_add_func ("/draw/plot/ticks", test_ticks);
  g_test_add_func ("/draw/text/millimetres", test_millimetres);
  g_test_add_func ("/draw/text/occupied", test_occupied);
  return g_test_run ();
}
