/* The exploded pump: every part there, pressed where it is drawn, large enough for a finger.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sample.h"
#include "draw/ef-draw-ink.h"

#include <string.h>
#include "../isolate.h"

static const char *const pumps[] = { "hl-24", "hl-27", "rc-4", "tg-3" };
static const int sizes[][2] = { { 300, 620 }, { 260, 520 }, { 900, 300 }, { 1600, 400 }, { 260, 300 }, { 480, 480 } };

static void
check_cells (EfExploded *pump, double width, double height)
{
  for (guint i = 0; i < ef_exploded_n_parts (pump); i++)
    {
      double box[4];
      const char *id = ef_exploded_part (pump, i, box);

      g_assert_cmpfloat (box[0], >=, -1e-6);
      g_assert_cmpfloat (box[1], >=, -1e-6);
      g_assert_cmpfloat (box[0] + box[2], <=, width + 1e-6);
      g_assert_cmpfloat (box[1] + box[3], <=, height + 1e-6);
      g_assert_cmpstr (ef_exploded_hit (pump, box[0] + box[2] / 2, box[1] + box[3] / 2), ==, id);
      /* no two share ground */
      for (guint j = 0; j < i; j++)
        {
          double other[4];

          ef_exploded_part (pump, j, other);
          g_assert_false (box[0] + 1e-6 < other[0] + other[2] && other[0] + 1e-6 < box[0] + box[2] && box[1] + 1e-6 < other[1] + other[3] && other[1] + 1e-6 < box[1] + box[3]);
        }
    }
}

static void
test_hit (void)
{
  for (guint p = 0; p < G_N_ELEMENTS (pumps); p++)
    for (guint s = 0; s < G_N_ELEMENTS (sizes); s++)
      {
        g_autoptr (EfPumpSheet) sheet = sample_sheet (pumps[p]);
        g_autoptr (EfExploded) pump = ef_exploded_new (sheet, sizes[s][0], sizes[s][1]);

        g_assert_cmpuint (ef_exploded_n_parts (pump), ==, sheet->parts->len);
        check_cells (pump, sizes[s][0], sizes[s][1]);
        g_assert_null (ef_exploded_hit (pump, -5, -5));
        g_assert_null (ef_exploded_part (pump, 1000, NULL));
      }
}

/* Where there is space, nothing is smaller than 44 px. */
static void
test_targets (void)
{
  for (guint p = 0; p < G_N_ELEMENTS (pumps); p++)
    for (guint s = 0; s < 4; s++)
      {
        g_autoptr (EfPumpSheet) sheet = sample_sheet (pumps[p]);
        g_autoptr (EfExploded) pump = ef_exploded_new (sheet, sizes[s][0], sizes[s][1]);

        for (guint i = 0; i < ef_exploded_n_parts (pump); i++)
          {
            double box[4];

            ef_exploded_part (pump, i, box);
            g_assert_cmpfloat (box[2], >=, 44);
            g_assert_cmpfloat (box[3], >=, sizes[s][1] >= 600 || sizes[s][0] > 600 ? 44 : 32);
          }
      }
}

static void
test_front_first (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (EfExploded) wide = ef_exploded_new (sheet, 900, 300);
  g_autoptr (EfExploded) tall = ef_exploded_new (sheet, 300, 620);
  int order = -1;

  for (guint i = 0; i < ef_exploded_n_parts (wide); i++)
    {
      double box[4], next[4];
      const EfPart *part = ef_pump_sheet_part (sheet, ef_exploded_part (wide, i, box));

      g_assert_cmpint (part->order, >=, order);
      order = part->order;
      if (i + 1 < ef_exploded_n_parts (wide))
        {
          ef_exploded_part (wide, i + 1, next);
          g_assert_cmpfloat (next[0], >=, box[0]); /* front at the left */
          ef_exploded_part (tall, i, box);
          ef_exploded_part (tall, i + 1, next);
          g_assert_cmpfloat (next[1], >=, box[1]); /* front at the top */
        }
    }
}

static cairo_surface_t *
paint (EfExploded *pump, const EfVerdict *verdict, const char *selected, const char *focus)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 900, 300);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;

  ef_draw_style_screen (&style, FALSE, FALSE);
  ef_draw_paper (cr, &style);
  ef_exploded_draw (pump, cr, &style, verdict, selected, focus);
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  return surface;
}

/* Pixels of part @i's cell that differ. */
static guint
differ_in (cairo_surface_t *a, cairo_surface_t *b, EfExploded *pump, guint i)
{
  double box[4];
  guint count = 0;

  ef_exploded_part (pump, i, box);
  for (int y = (int) box[1]; y < (int) (box[1] + box[3]); y++)
    {
      gsize at = (gsize) y * cairo_image_surface_get_stride (a) + 4 * (int) box[0];

      for (int x = 0; x < (int) box[2]; x++)
        count += memcmp (cairo_image_surface_get_data (a) + at + 4 * x, cairo_image_surface_get_data (b) + at + 4 * x, 3) != 0;
    }
  return count;
}

static EfVerdict *
new_verdict (const char *id, EfVerdictWord word)
{
  EfVerdict *verdict = g_new0 (EfVerdict, 1);

  verdict->id = g_strdup (id);
  verdict->title = g_strdup (id);
  verdict->word = verdict->computed = word;
  verdict->reasons = g_ptr_array_new ();
  verdict->children = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_verdict_free);
  return verdict;
}

/* Each part shows its verdict and selection, and the others don't. */
static void
test_drawn_state (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("rc-4");
  g_autoptr (EfExploded) pump = ef_exploded_new (sheet, 900, 300);
  cairo_surface_t *first = paint (pump, NULL, NULL, NULL);

  for (guint i = 0; i < ef_exploded_n_parts (pump); i++)
    {
      const char *id = ef_exploded_part (pump, i, NULL);
      g_autofree char *subject = g_strconcat ("part:", id, NULL);
      g_autoptr (EfVerdict) root = new_verdict ("pump", EF_VERDICT_SCRAP);
      cairo_surface_t *plain = paint (pump, NULL, NULL, NULL);
      cairo_surface_t *judged, *selected, *focused;

      g_assert_cmpuint (differ_in (first, plain, pump, i), ==, 0);
      g_ptr_array_add (root->children, new_verdict (subject, EF_VERDICT_SCRAP));
      judged = paint (pump, root, NULL, NULL);
      selected = paint (pump, NULL, id, NULL);
      focused = paint (pump, NULL, NULL, id);
      g_assert_cmpuint (differ_in (plain, judged, pump, i), >, 100);
      g_assert_cmpuint (differ_in (plain, selected, pump, i), >, 60);
      g_assert_cmpuint (differ_in (plain, focused, pump, i), >, 60);
      for (guint j = 0; j < ef_exploded_n_parts (pump); j++)
        if (j + 1 < i || j > i + 1) /* neighbours may touch at the rim */
          g_assert_cmpuint (differ_in (plain, judged, pump, j), ==, 0);
      cairo_surface_destroy (plain);
      cairo_surface_destroy (judged);
      cairo_surface_destroy (selected);
      cairo_surface_destroy (focused);
    }
  cairo_surface_destroy (first);
}

/* Nothing runs off the picture: a border of one pixel stays paper. */
static void
test_nothing_cut_off (void)
{
  for (guint p = 0; p < G_N_ELEMENTS (pumps); p++)
    {
      g_autoptr (EfPumpSheet) sheet = sample_sheet (pumps[p]);
      g_autoptr (EfExploded) pump = ef_exploded_new (sheet, 900, 300);
      cairo_surface_t *surface = paint (pump, NULL, NULL, NULL);
      const guint8 *data = cairo_image_surface_get_data (surface);
      int stride = cairo_image_surface_get_stride (surface);

      for (int x = 0; x < 900; x++)
        {
          g_assert_cmphex (*(guint32 *) (data + 4 * x) & 0xffffff, ==, 0xffffff);
          g_assert_cmphex (*(guint32 *) (data + (gsize) 299 * stride + 4 * x) & 0xffffff, ==, 0xffffff);
        }
      for (int y = 0; y < 300; y++)
        {
          g_assert_cmphex (*(guint32 *) (data + (gsize) y * stride) & 0xffffff, ==, 0xffffff);
          g_assert_cmphex (*(guint32 *) (data + (gsize) y * stride + 4 * 899) & 0xffffff, ==, 0xffffff);
        }
      cairo_surface_destroy (surface);
    }
}

int
main (int argc, char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/exploded/hit", test_hit);
  g_test_add_func ("/draw/exploded/targets", test_targets);
  g_test_add_func ("/draw/exploded/front-first", test_front_first);
  g_test_add_func ("/draw/exploded/drawn-state", test_drawn_state);
  g_test_add_func ("/draw/exploded/nothing-cut-off", test_nothing_cut_off);
  return g_test_run ();
}
