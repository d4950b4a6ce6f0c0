/* "What is this?" for every kind of wear: words that are there and differ, drawings that show something and differ. Constructed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/ef-kind-card.h"
#include "../isolate.h"

#include <math.h>
#include <string.h>

static void
test_words (void)
{
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);

  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      const EfKindWords *words = ef_kind_words (kind);
      const char *const texts[] = { words->looks, words->feels, words->origin, words->harmless, words->measure };

      for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
        {
          g_assert_nonnull (texts[i]);
          g_assert_cmpuint (strlen (texts[i]), >, 20);
          g_assert_true (g_str_has_suffix (texts[i], "."));
          g_assert_true (g_hash_table_add (seen, (gpointer) texts[i]));
        }
    }
  for (guint i = 0; i < 5; i++)
    g_assert_nonnull (ef_kind_headings[i]);
  g_assert_null (ef_kind_headings[5]);
}

/* What the trade holds, and the rules with it: each kind's words say what the shared rules decide. */
static void
test_words_agree_with_the_rules (void)
{
  const struct
  {
    EfMarkKind kind;
    const char *harmless;
  } rows[] = {
    { EF_MARK_IMPRINT, "Small imprints on gears are harmless" },
    { EF_MARK_SCORING, "Small scoring is harmless" },
    { EF_MARK_FLAT_SPOT, "condemns the gear, and its mate" },
    { EF_MARK_LIP, "measure the shaft bore" },
    { EF_MARK_CRACK, "isn't used again" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    g_assert_nonnull (strstr (ef_kind_words (rows[i].kind)->harmless, rows[i].harmless));
  g_assert_nonnull (strstr (ef_kind_words (EF_MARK_LIP)->origin, "suction side"));
}

static void
test_heights (void)
{
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      double least = 0.0, most = 0.0;

      for (double x = -1.0; x <= 1.0; x += 0.004)
        for (double y = -1.0; y <= 1.0; y += 0.02)
          {
            double h = ef_kind_height (kind, x, y);

            if (isnan (h))
              continue;
            least = fmin (least, h);
            most = fmax (most, h);
          }
      g_assert_cmpfloat (least, <, -0.5);
      if (kind != EF_MARK_FLAT_SPOT) /* against a round flank */
        g_assert_cmpfloat (least, >=, -1.2);
      g_assert_cmpfloat (most, <, 0.5);
    }
  g_assert_cmpfloat (ef_kind_height (EF_MARK_GROOVE, 0.5, 0.0), ==, 0.0);
}

/* As the words have it: only an imprint's rim and a lip's edge stand proud, and where a chip broke out there's nothing, nor past the edge it broke from. */
static void
test_shapes_as_said (void)
{
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      double most = 0.0;
      guint gone = 0, past_edge = 0;

      for (double x = -1.0; x <= 1.0; x += 0.004)
        for (double y = -1.0; y <= 1.0; y += 0.02)
          {
            double h = ef_kind_height (kind, x, y);

            gone += isnan (h) && x < 0.8;
            past_edge += isnan (h) && x > 0.81 && fabs (y) > 0.6;
            if (!isnan (h))
              most = fmax (most, h);
          }
      if (kind == EF_MARK_IMPRINT || kind == EF_MARK_LIP)
        g_assert_cmpfloat (most, >, 0.1);
      else if (kind != EF_MARK_FLAT_SPOT) /* against a round flank */
        g_assert_cmpfloat (most, <=, 0.0);
      g_assert_cmpint (gone > 0, ==, kind == EF_MARK_CHIP);
      g_assert_cmpint (past_edge > 0, ==, kind == EF_MARK_CHIP);
    }
  /* The rim lies round the hole: down in the middle, up at its edge, level outside. */
  g_assert_cmpfloat (ef_kind_height (EF_MARK_IMPRINT, -0.2, 0.0), <, -0.9);
  g_assert_cmpfloat (ef_kind_height (EF_MARK_IMPRINT, -0.2, 0.55 * 1.2), >, 0.2);
  g_assert_cmpfloat (ef_kind_height (EF_MARK_IMPRINT, -0.2, 0.55 * 1.5), ==, 0.0);
}

static cairo_surface_t *
draw (EfMarkKind kind,
      gboolean dark)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 360, 280);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;

  ef_draw_style_screen (&style, dark, FALSE);
  ef_draw_paper (cr, &style);
  ef_draw_kind_card (cr, &style, kind, 360, 280);
  g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
  cairo_destroy (cr);
  cairo_surface_flush (surface);

  return surface;
}

static void
test_drawings (void)
{
  cairo_surface_t *drawn[2 * EF_N_MARK_KINDS];
  gsize size;

  for (int i = 0; i < 2 * EF_N_MARK_KINDS; i++)
    drawn[i] = draw (i / 2, i % 2);
  size = (gsize) cairo_image_surface_get_stride (drawn[0]) * 280;
  for (int i = 0; i < 2 * EF_N_MARK_KINDS; i++)
    for (int j = 0; j < i; j++)
      g_assert_cmpint (memcmp (cairo_image_surface_get_data (drawn[i]), cairo_image_surface_get_data (drawn[j]), size), !=, 0);
  for (int i = 0; i < 2 * EF_N_MARK_KINDS; i++)
    cairo_surface_destroy (drawn[i]);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/kinds/words", test_words);
  g_test_add_func ("/kinds/words-agree-with-the-rules", test_words_agree_with_the_rules);
  g_test_add_func ("/kinds/heights", test_heights);
  g_test_add_func ("/kinds/shapes-as-said", test_shapes_as_said);
  g_test_add_func ("/kinds/drawings", test_drawings);

  return g_test_run ();
}
