/* The depth scale, verdict colours and glyphs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "draw/ef-draw-ink.h"

#include <math.h>
#include "../isolate.h"

static void
test_lab_known (void)
{
  /* sRGB red in CIELAB (D65): 53.24, 80.09, 67.20; from memory, found alike in many colour tables; within 0.05 */
  const double red[3] = { 1, 0, 0 }, grey[3] = { 0.5, 0.5, 0.5 };
  double lab[3], rgb[3];

  ef_rgb_to_lab (red, lab);
  g_assert_cmpfloat_with_epsilon (lab[0], 53.24, 0.05);
  g_assert_cmpfloat_with_epsilon (lab[1], 80.09, 0.05);
  g_assert_cmpfloat_with_epsilon (lab[2], 67.20, 0.05);
  ef_rgb_to_lab (grey, lab);
  g_assert_cmpfloat_with_epsilon (lab[1], 0, 0.02);
  g_assert_cmpfloat_with_epsilon (lab[2], 0, 0.02);
  g_assert_true (ef_lab_to_rgb (lab, rgb));
  for (int i = 0; i < 3; i++)
    g_assert_cmpfloat_with_epsilon (rgb[i], 0.5, 1e-4);
}

/* Lightness runs one way, and every step of the scale is as far from the next as any other. */
static void
test_scale_even (gconstpointer data)
{
  gboolean dark = GPOINTER_TO_INT (data);
  double before[3] = { 0 }, least = G_MAXDOUBLE, most = 0;

  for (int i = 0; i <= 200; i++)
    {
      double rgb[3], lab[3], far;

      ef_draw_depth_colour (i / 200.0, dark, rgb);
      ef_rgb_to_lab (rgb, lab);
      for (int c = 0; c < 3; c++)
        g_assert_true (rgb[c] > 0 && rgb[c] < 1); /* nowhere clipped to the edge of the gamut */
      if (i > 0)
        {
          far = sqrt (pow (lab[0] - before[0], 2) + pow (lab[1] - before[1], 2) + pow (lab[2] - before[2], 2));
          least = MIN (least, far);
          most = MAX (most, far);
          g_assert_true (dark ? lab[0] > before[0] : lab[0] < before[0]);
        }
      for (int c = 0; c < 3; c++)
        before[c] = lab[c];
    }
  /* by construction the same; 1 % for rounding in the matrices */
  g_assert_cmpfloat (most / least, <, 1.01);
}

/* Deuteranopia and protanopia, simulated in linear RGB with the projections of Viénot, Brettel and Mollon (1999), matrices
 * from memory: an eighth of the scale must still be plainly another colour. */
static void
test_scale_colour_blind (void)
{
  static const double blind[2][3][3] = {
    { { 0.29275, 0.70725, 0 }, { 0.29275, 0.70725, 0 }, { -0.02234, 0.02234, 1 } }, /* deuteranopia */
    { { 0.11238, 0.88762, 0 }, { 0.11238, 0.88762, 0 }, { 0.00401, -0.00401, 1 } }, /* protanopia */
  };

  for (int dark = 0; dark < 2; dark++)
    for (int kind = 0; kind < 2; kind++)
      {
        double before[3] = { 0 };

        for (int i = 0; i <= 8; i++)
          {
            double rgb[3], seen[3], lab[3];

            ef_draw_depth_colour (i / 8.0, dark, rgb);
            for (int c = 0; c < 3; c++)
              rgb[c] = rgb[c] <= 0.04045 ? rgb[c] / 12.92 : pow ((rgb[c] + 0.055) / 1.055, 2.4);
            for (int c = 0; c < 3; c++)
              {
                double l = CLAMP (blind[kind][c][0] * rgb[0] + blind[kind][c][1] * rgb[1] + blind[kind][c][2] * rgb[2], 0, 1);

                seen[c] = l <= 0.0031308 ? 12.92 * l : 1.055 * pow (l, 1 / 2.4) - 0.055;
              }
            ef_rgb_to_lab (seen, lab);
            if (i > 0)
              g_assert_cmpfloat (sqrt (pow (lab[0] - before[0], 2) + pow (lab[1] - before[1], 2) + pow (lab[2] - before[2], 2)), >, 5);
            for (int c = 0; c < 3; c++)
              before[c] = lab[c];
          }
      }
}

static void
test_scale_ends (void)
{
  double a[3], b[3];

  ef_draw_depth_colour (NAN, FALSE, a);
  ef_draw_depth_colour (-3, FALSE, b);
  g_assert_cmpmem (a, sizeof a, b, sizeof b);
  ef_draw_depth_colour (7, FALSE, a);
  ef_draw_depth_colour (1, FALSE, b);
  g_assert_cmpmem (a, sizeof a, b, sizeof b);
  g_assert_cmpfloat_with_epsilon (ef_draw_depth_scale (0.137e-3), 0.15e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_draw_depth_scale (0.1e-3), 0.1e-3, 1e-12);
  g_assert_cmpfloat (ef_draw_depth_scale (0), >, 0);
}

static double
luminance (const double rgb[3])
{
  double l = 0;
  static const double weights[3] = { 0.2126, 0.7152, 0.0722 };

  for (int c = 0; c < 3; c++)
    l += weights[c] * (rgb[c] <= 0.04045 ? rgb[c] / 12.92 : pow ((rgb[c] + 0.055) / 1.055, 2.4));
  return l;
}

/* Contrast as WCAG 2.1 defines it: 4.5 for words and verdicts, 7 in high contrast. */
static void
test_contrast (void)
{
  for (int k = 0; k < 4; k++)
    {
      EfDrawStyle style;
      double paper[3], rgb[3], lp;

      ef_draw_style_screen (&style, k & 1, k & 2);
      ef_draw_ink (&style, EF_INK_PAPER, paper);
      lp = luminance (paper);
      for (int i = 0; i < EF_N_VERDICTS + 5; i++)
        {
          static const EfInk inks[5] = { EF_INK_TEXT, EF_INK_DIM, EF_INK_ACCENT, EF_INK_SUCTION, EF_INK_DELIVERY };
          double l, ratio;

          if (i < EF_N_VERDICTS)
            ef_draw_verdict_colour ((EfVerdictWord) i, &style, rgb);
          else
            ef_draw_ink (&style, inks[i - EF_N_VERDICTS], rgb);
          l = luminance (rgb);
          ratio = (MAX (l, lp) + 0.05) / (MIN (l, lp) + 0.05);
          g_assert_cmpfloat (ratio, >=, k & 2 ? 7 : 4.5);
        }
    }
}

/* Coverage in pure black and white at 16 px. */
static void
render_verdict (EfVerdictWord word, guint8 pixels[32 * 32])
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 32, 32);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;

  ef_draw_style_print (&style);
  ef_draw_paper (cr, &style);
  ef_draw_verdict_glyph (cr, word, &style, 4, 4, 24);
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  for (int y = 0; y < 32; y++)
    for (int x = 0; x < 32; x++)
      {
        guint32 p = *(guint32 *) (cairo_image_surface_get_data (surface) + y * cairo_image_surface_get_stride (surface) + 4 * x);

        pixels[y * 32 + x] = ((p >> 16 & 0xff) + (p >> 8 & 0xff) + (p & 0xff)) / 3 < 160;
      }
  cairo_surface_destroy (surface);
}

static void
test_verdicts_without_colour (void)
{
  guint8 pixels[EF_N_VERDICTS][32 * 32];

  for (int i = 0; i < EF_N_VERDICTS; i++)
    render_verdict ((EfVerdictWord) i, pixels[i]);
  for (int i = 0; i < EF_N_VERDICTS; i++)
    for (int j = 0; j < i; j++)
      {
        guint differ = 0, ink = 0;

        for (int k = 0; k < 32 * 32; k++)
          {
            differ += pixels[i][k] != pixels[j][k];
            ink += pixels[i][k];
          }
        g_assert_cmpuint (ink, >, 60);
        g_assert_cmpuint (differ, >, 120);
      }
}

int
main (int argc, char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/colour/lab-known", test_lab_known);
  g_test_add_data_func ("/draw/colour/depth-even/light", GINT_TO_POINTER (FALSE), test_scale_even);
  g_test_add_data_func ("/draw/colour/depth-even/dark", GINT_TO_POINTER (TRUE), test_scale_even);
  g_test_add_func ("/draw/colour/depth-colour-blind", test_scale_colour_blind);
  g_test_add_func ("/draw/colour/depth-ends", test_scale_ends);
  g_test_add_func ("/draw/colour/contrast", test_contrast);
  g_test_add_func ("/draw/colour/verdicts-without-colour", test_verdicts_without_colour);
  return g_test_run ();
}
