/* Marks: fields, shapes, depths, each clever routine beside a slow plain one.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "wear/ef-mark.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))

static EfMark *
disc (double u,
      double v,
      double diameter)
{
  EfMark *mark = ef_mark_new ("plate/side-a", EF_MARK_PITTING, EF_SHAPE_POINT, diameter);

  ef_mark_add_node (mark, u, v);
  return mark;
}

static EfMark *
line (double width,
      const double *uv,
      guint n)
{
  EfMark *mark = ef_mark_new ("plate/side-a", EF_MARK_GROOVE, EF_SHAPE_LINE, width);

  for (guint i = 0; i < n; i++)
    ef_mark_add_node (mark, uv[2 * i], uv[2 * i + 1]);
  return mark;
}

static EfMark *
area (const double *uv,
      guint n)
{
  EfMark *mark = ef_mark_new ("plate/side-a", EF_MARK_SCORING, EF_SHAPE_AREA, 0);

  for (guint i = 0; i < n; i++)
    ef_mark_add_node (mark, uv[2 * i], uv[2 * i + 1]);
  return mark;
}

static const double square[] = { 0, 0, 0.01, 0, 0.01, 0.01, 0, 0.01 };

static void
test_names (void)
{
  for (int i = 0; i < EF_N_MARK_KINDS; i++)
    {
      EfMarkKind kind = EF_N_MARK_KINDS;

      g_assert_true (ef_mark_kind_from_name (ef_mark_kind_name (i), &kind));
      g_assert_cmpint (kind, ==, i);
      g_assert_cmpstr (ef_mark_kind_label (i), !=, "Unknown");
    }
  for (int i = 0; i < EF_N_SHAPES; i++)
    {
      EfMarkShape shape = EF_N_SHAPES;

      g_assert_true (ef_mark_shape_from_name (ef_mark_shape_name (i), &shape));
      g_assert_cmpint (shape, ==, i);
    }
  {
    EfMarkKind kind;
    EfMarkShape shape;

    g_assert_false (ef_mark_kind_from_name ("dent", &kind));
    g_assert_false (ef_mark_kind_from_name (NULL, &kind));
    g_assert_false (ef_mark_shape_from_name ("", &shape));
  }
  g_assert_cmpstr (ef_mark_kind_name (EF_MARK_FLAT_SPOT), ==, "flat-spot");
  g_assert_cmpstr (ef_mark_kind_label (EF_MARK_FLAT_SPOT), ==, "Flat spot");
}

static EfMark *
full_mark (void)
{
  static const char *const photos[] = { "one.jpg", "two.jpg", NULL };
  EfMark *mark = line (0.3e-3, square, 4);

  ef_mark_add_depth (mark, 0.001, 0.002, 40e-6, EF_UNIT_UM, "depth-1");
  ef_mark_add_depth (mark, 0.011, 0.002, 38.1e-6, EF_UNIT_THOU, NULL);
  mark->note = g_strdup ("from the delivery side");
  mark->photos = g_strdupv ((char **) photos);
  mark->number = 7;

  return mark;
}

/* A copy is equal and shares nothing; every field that is changed makes it unequal. */
static void
test_copy (void)
{
  EfMark *mark = full_mark ();

  for (int change = 0; change < 15; change++)
    {
      EfMark *copy = ef_item_copy (mark);
      EfMarkDepth *depth = &g_array_index (copy->depths, EfMarkDepth, 0);

      g_assert_true (ef_item_equal (mark, copy));
      switch (change)
        {
        case 0: copy->kind = EF_MARK_LIP; break;
        case 1: copy->shape = EF_SHAPE_AREA; break;
        case 2: copy->size += 1e-9; break;
        case 3: g_array_index (copy->nodes, EfMarkNode, 2).u += 1e-9; break;
        case 4: g_array_index (copy->nodes, EfMarkNode, 2).v += 1e-9; break;
        case 5: ef_mark_add_node (copy, 0, 0); break;
        case 6: depth->u += 1e-9; break;
        case 7: depth->depth += 1e-9; break;
        case 8: depth->unit = EF_UNIT_MM; break;
        case 9: g_free (depth->gauge_id); depth->gauge_id = NULL; break;
        case 10: ef_mark_set_depth (copy, 40e-6, EF_UNIT_UM, "depth-1"); break;
        case 11: copy->note[0] = 'F'; break;
        case 12: copy->photos[1][0] = 'T'; break;
        case 13: copy->number = 8; break;
        default: copy->face_id[0] = 'P'; break;
        }
      g_assert_false (ef_item_equal (mark, copy));
      g_assert_false (ef_item_equal (copy, mark));
      ef_item_unref (copy);
    }

  {
    g_autoptr (EfItem) fresh = (EfItem *) full_mark ();

    g_assert_true (g_strcmp0 (fresh->id, mark->item.id) != 0);
    g_assert_false (ef_item_equal (mark, fresh));
  }
  ef_item_unref (mark);
}

static void
assert_refused (EfMark *mark,
                EfError code,
                const char *words)
{
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_mark_check (mark, &error));
  g_assert_error (error, EF_ERROR, (int) code);
  if (strstr (error->message, words) == NULL)
    g_error ("“%s” isn't in “%s”", words, error->message);
  ef_item_unref (mark);
}

static void
test_check (void)
{
  static const double flat[] = { 0, 0, 0.01, 0.01, 0.02, 0.02, 0.005, 0.005 };
  static const double bow_tie[] = { 0, 0, 0.01, 0.01, 0.01, 0, 0, 0.01 };
  g_autoptr (GError) error = NULL;
  EfMark *mark = full_mark ();

  g_assert_true (ef_mark_check (mark, &error));
  g_assert_no_error (error);
  ef_item_unref (mark);

  /* An outline that crosses itself does enclose an area. */
  mark = area (bow_tie, 4);
  g_assert_true (ef_mark_check (mark, &error));
  ef_item_unref (mark);

  assert_refused (disc (NAN, 0, 1e-3), EF_ERROR_RANGE, "nodes[0].u");
  assert_refused (disc (0, INFINITY, 1e-3), EF_ERROR_RANGE, "nodes[0].v");
  assert_refused (disc (0, 1e300, 1e-3), EF_ERROR_RANGE, "nodes[0].v");
  assert_refused (disc (0, 0, 0), EF_ERROR_RANGE, "size");
  assert_refused (disc (0, 0, NAN), EF_ERROR_RANGE, "size");
  assert_refused (disc (0, 0, -1e-3), EF_ERROR_RANGE, "size");
  assert_refused (disc (0, 0, 0.21), EF_ERROR_RANGE, "size");
  assert_refused (line (1e-3, square, 1), EF_ERROR_INVALID, "nodes");
  assert_refused (area (square, 2), EF_ERROR_INVALID, "nodes");
  assert_refused (area (flat, 4), EF_ERROR_GEOMETRY, "encloses an area");

  mark = disc (0, 0, 1e-3);
  ef_mark_add_node (mark, 0, 0);
  assert_refused (mark, EF_ERROR_INVALID, "nodes");
  mark = line (1e-3, square, 4);
  for (int i = 0; i < 10000; i++)
    ef_mark_add_node (mark, 0, i * 1e-6);
  assert_refused (mark, EF_ERROR_INVALID, "10004");
  mark = disc (0, 0, 1e-3);
  ef_mark_set_depth (mark, -1e-6, EF_UNIT_UM, NULL);
  assert_refused (mark, EF_ERROR_RANGE, "depths[0].depth");
  mark = disc (0, 0, 1e-3);
  ef_mark_set_depth (mark, NAN, EF_UNIT_UM, NULL);
  assert_refused (mark, EF_ERROR_RANGE, "depths[0].depth");
  mark = disc (0, 0, 1e-3);
  ef_mark_set_depth (mark, 25e-3, EF_UNIT_UM, NULL);
  assert_refused (mark, EF_ERROR_RANGE, "depths[0].depth");
  mark = disc (0, 0, 1e-3);
  ef_mark_set_depth (mark, 1e-6, EF_UNIT_BAR, NULL);
  assert_refused (mark, EF_ERROR_INVALID, "depths[0].unit");
  mark = disc (0, 0, 1e-3);
  mark->kind = (EfMarkKind) 99;
  assert_refused (mark, EF_ERROR_INVALID, "kind");
  mark = disc (0, 0, 1e-3);
  mark->shape = (EfMarkShape) -1;
  assert_refused (mark, EF_ERROR_INVALID, "shape");
  mark = disc (0, 0, 1e-3);
  g_clear_pointer (&mark->face_id, g_free);
  assert_refused (mark, EF_ERROR_INVALID, "face");
}

static void
test_grid (void)
{
  EfMark *mark = disc (0.1 / 3, -0.2 / 7, 0.01 / 3);
  EfMark *back;

  for (int i = 0; i < 2; i++)
    {
      double x = i == 0 ? g_array_index (mark->nodes, EfMarkNode, 0).u : mark->size;

      g_assert_cmpfloat (x, ==, ef_length_on_grid (x));
    }
  ef_mark_set_depth (mark, 40e-6, EF_UNIT_UM, NULL);
  back = ef_item_copy (mark);
  ef_mark_translate (back, 0.0123456789, -1.1);
  g_assert_false (ef_item_equal (mark, back));
  ef_mark_translate (back, -0.0123456789, 1.1);
  g_assert_true (ef_item_equal (mark, back));
  ef_item_unref (back);
  ef_item_unref (mark);
}

/* Constructed. */
static void
test_depth_of_line (void)
{
  static const double corner[] = { 0, 0, 0.010, 0, 0.010, 0.010 };
  EfMark *mark = line (1e-3, corner, 3);

  g_assert_true (isnan (ef_mark_depth_at (mark, 0, 0)));
  g_assert_true (isnan (ef_mark_deepest (mark)));
  ef_mark_add_depth (mark, 0.002, 0.0004, 10e-6, EF_UNIT_UM, NULL);
  assert_near (ef_mark_depth_at (mark, 0.01, 0.01), 10e-6, 1e-18);
  /* Entered out of order: at s = 18 mm, 50 um; between s = 2 and s = 18 the depth is 10 + 40 (s - 2)/16. */
  ef_mark_add_depth (mark, 0.0101, 0.008, 50e-6, EF_UNIT_UM, NULL);
  assert_near (ef_mark_depth_at (mark, 0.006, -0.0003), 20e-6, 1e-15);
  assert_near (ef_mark_depth_at (mark, 0.0097, 0.004), 40e-6, 1e-15);
  assert_near (ef_mark_depth_at (mark, -0.0004, 0), 10e-6, 1e-18);
  assert_near (ef_mark_depth_at (mark, 0.010, 0.0101), 50e-6, 1e-18);
  /* Two readings at one place: their mean. */
  ef_mark_add_depth (mark, 0.002, -0.0004, 20e-6, EF_UNIT_UM, NULL);
  assert_near (ef_mark_depth_at (mark, 0, 0), 15e-6, 1e-15);
  assert_near (ef_mark_deepest (mark), 50e-6, 1e-18);
  ef_mark_set_depth (mark, 5e-6, EF_UNIT_UM, NULL);
  g_assert_cmpuint (mark->depths->len, ==, 1);
  assert_near (ef_mark_depth_at (mark, 0.01, 0.01), 5e-6, 1e-18);
  ef_item_unref (mark);
}

/* Constructed: inverse square of the distances. */
static void
test_depth_of_area (void)
{
  EfMark *mark = area (square, 4);

  ef_mark_add_depth (mark, 0.002, 0.005, 10e-6, EF_UNIT_UM, NULL);
  ef_mark_add_depth (mark, 0.008, 0.005, 30e-6, EF_UNIT_UM, NULL);
  assert_near (ef_mark_depth_at (mark, 0.005, 0.001), 20e-6, 1e-15);
  assert_near (ef_mark_depth_at (mark, 0.002, 0.005), 10e-6, 1e-18);
  /* At 2 and 4 mm: (10 x 4 + 30) / 5. */
  assert_near (ef_mark_depth_at (mark, 0.004, 0.005), 14e-6, 1e-15);
  ef_item_unref (mark);
}

static void
test_shapes (void)
{
  static const double l_shape[] = { 0, 0, 0.010, 0, 0.010, 0.010 };
  static const double bow_tie[] = { 0, 0, 0.01, 0.01, 0.01, 0, 0, 0.01 };
  double bounds[4];
  EfMark *mark = disc (0.001, 0.002, 2e-3);

  /* Closed forms. */
  assert_near (ef_mark_area (mark), G_PI * 1e-6, 1e-18);
  assert_near (ef_mark_length (mark), 2e-3, 0);
  ef_mark_bounds (mark, bounds);
  assert_near (bounds[0], 0, 1e-15);
  assert_near (bounds[1], 0.001, 1e-15);
  assert_near (bounds[2], 0.002, 1e-15);
  assert_near (bounds[3], 0.003, 1e-15);
  assert_near (ef_mark_distance (mark, 0.001, 0.0028), 0, 0);
  assert_near (ef_mark_distance (mark, 0.004, 0.006), 4e-3, 1e-15);
  ef_item_unref (mark);

  mark = line (1e-3, square, 2);
  assert_near (ef_mark_area (mark), 10e-6 + G_PI / 4 * 1e-6, 1e-18);
  assert_near (ef_mark_length (mark), 0.01, 1e-18);
  ef_item_unref (mark);

  /* A right angle: outside a quarter disc is added, inside a square of the half width is shared:
   * L w + pi w2/4 + (pi/4 - 1) w2/4. Round ends by chords, hence 1e-4. */
  mark = line (1e-3, l_shape, 3);
  assert_near (ef_mark_area (mark) / (20e-6 + G_PI / 4 * 1e-6 + (G_PI / 4 - 1) / 4 * 1e-6), 1, 1e-4);
  assert_near (ef_mark_length (mark), 0.02, 1e-18);
  assert_near (ef_mark_distance (mark, 0.005, 0.005), 4.5e-3, 1e-15);
  ef_item_unref (mark);

  mark = area (square, 4);
  assert_near (ef_mark_area (mark), 1e-4, 1e-16);
  assert_near (ef_mark_length (mark), 0.01 * G_SQRT2, 1e-15);
  assert_near (ef_mark_distance (mark, 0.005, 0.005), 0, 0);
  assert_near (ef_mark_distance (mark, 0.013, 0.014), 5e-3, 1e-15);
  assert_near (ef_mark_distance (mark, 0.005, -0.001), 1e-3, 1e-15);
  ef_item_unref (mark);

  mark = area (bow_tie, 4);
  assert_near (ef_mark_area (mark), 0.5e-4, 1e-15);
  assert_near (ef_mark_distance (mark, 0.002, 0.005), 0, 0);
  assert_near (ef_mark_distance (mark, 0.005, 0.002), 0.003 / G_SQRT2, 1e-15);
  ef_item_unref (mark);
}

/* Slow and plain: many places along each piece. */
static double
plain_distance (const EfMark *mark,
                double u,
                double v)
{
  guint n = mark->nodes->len;
  guint pieces = mark->shape == EF_SHAPE_AREA ? n : n - 1;
  double best = INFINITY;

  for (guint i = 0; i < pieces; i++)
    {
      const EfMarkNode *a = &g_array_index (mark->nodes, EfMarkNode, i);
      const EfMarkNode *b = &g_array_index (mark->nodes, EfMarkNode, (i + 1) % n);

      for (int k = 0; k <= 4000; k++)
        best = MIN (best, hypot (a->u + (b->u - a->u) * k / 4000 - u, a->v + (b->v - a->v) * k / 4000 - v));
    }
  return mark->shape == EF_SHAPE_AREA ? best : MAX (0, best - mark->size / 2);
}

/* Winding by angles summed: odd turns are inside. */
static gboolean
plain_inside (const EfMark *mark,
              double u,
              double v)
{
  guint n = mark->nodes->len;
  guint crossings = 0;

  for (guint i = 0; i < n; i++)
    {
      const EfMarkNode *a = &g_array_index (mark->nodes, EfMarkNode, i);
      const EfMarkNode *b = &g_array_index (mark->nodes, EfMarkNode, (i + 1) % n);
      double ta = atan2 (a->v - v, a->u - u);
      double tb = atan2 (b->v - v, b->u - u);

      /* Crosses the ray towards -u when the short way round passes pi. */
      if (fabs (ta - tb) > G_PI)
        crossings++;
    }
  return crossings % 2 == 1;
}

static void
test_random (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (20260501);

  for (int round = 0; round < 60; round++)
    {
      double uv[12];
      guint n = 3 + round % 4;
      EfMark *mark;

      for (guint i = 0; i < 2 * n; i++)
        uv[i] = g_rand_double_range (rand, -0.02, 0.02);
      mark = round % 2 == 0 ? area (uv, n) : line (1e-3, uv, n);
      for (int k = 0; k < 20; k++)
        {
          double u = g_rand_double_range (rand, -0.03, 0.03);
          double v = g_rand_double_range (rand, -0.03, 0.03);
          double distance = ef_mark_distance (mark, u, v);

          /* Steps are at most 57 mm / 4000 apart: chord error below 1e-4 x distance, or half a step near by. */
          if (mark->shape == EF_SHAPE_AREA && plain_inside (mark, u, v))
            g_assert_cmpfloat (distance, ==, 0);
          else
            assert_near (distance, plain_distance (mark, u, v), 8e-6);
        }
      ef_item_unref (mark);
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/wear/mark/names", test_names);
  g_test_add_func ("/wear/mark/copy-and-equal", test_copy);
  g_test_add_func ("/wear/mark/check-names-the-field", test_check);
  g_test_add_func ("/wear/mark/grid-and-translate", test_grid);
  g_test_add_func ("/wear/mark/depth-along-line", test_depth_of_line);
  g_test_add_func ("/wear/mark/depth-over-area", test_depth_of_area);
  g_test_add_func ("/wear/mark/closed-forms", test_shapes);
  g_test_add_func ("/wear/mark/random-against-plain", test_random);

  return g_test_run ();
}
