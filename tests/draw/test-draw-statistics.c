/* The plots of the statistics, and the sentences beside them: what is drawn lies where the numbers say.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "draw/ef-draw-statistics.h"
#include "draw/ef-plot.h"

#include "../isolate.h"
#include "pixels.h"

#include <math.h>

#define WIDTH 800
#define HEIGHT 500

static cairo_surface_t *
paint (const EfStatistics *statistics,
       EfStatisticsPlot plot)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, WIDTH, HEIGHT);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;

  ef_draw_style_screen (&style, FALSE, FALSE);
  ef_draw_paper (cr, &style);
  ef_draw_statistics (cr, &style, statistics, plot, WIDTH, HEIGHT);
  g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
  cairo_destroy (cr);
  cairo_surface_flush (surface);

  return surface;
}

static void
statistics_init (EfStatistics *statistics)
{
  *statistics = (EfStatistics) { .models = g_ptr_array_new (), .wear = g_ptr_array_new (), .clearance = g_ptr_array_new (), .spells = g_ptr_array_new () };
}

static void
statistics_clear (EfStatistics *statistics)
{
  g_ptr_array_unref (statistics->models);
  g_ptr_array_unref (statistics->wear);
  g_ptr_array_unref (statistics->clearance);
  g_ptr_array_unref (statistics->spells);
  g_clear_pointer (&statistics->holds, ef_survival_free);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfStatistics, statistics_clear)

/* How far right the bar of a row reaches that is blue on white: px. The rows share the height evenly. */
static int
bar_end (cairo_surface_t *surface,
         int y)
{
  const guint8 *data = cairo_image_surface_get_data (surface) + y * (gsize) cairo_image_surface_get_stride (surface);
  int end = 0;

  for (int x = 0; x < WIDTH; x++)
    {
      guint32 p = *(const guint32 *) (gconstpointer) (data + 4 * (gsize) x);
      int r = (int) (p >> 16 & 255), b = (int) (p & 255);

      if (abs (r - b) > 30)
        end = x;
    }

  return end;
}

/* One of one has the longer bar and is the less sure: ninety of a hundred stand above it, here and in the sentence. */
static void
test_order_of_wear (void)
{
  g_auto (EfStatistics) statistics;
  EfWearCount one = { (char *) "HL-24", (char *) "part:cover", (char *) "Cover", (char *) "crack", TRUE, 1, ef_proportion (1, 1, 0.95) };
  EfWearCount ninety = { (char *) "HL-24", (char *) "part:separator", (char *) "Separator plate", (char *) "groove", TRUE, 0, ef_proportion (90, 100, 0.95) };
  g_autofree char *words = NULL;
  cairo_surface_t *surface, *other;

  statistics_init (&statistics);
  statistics.n_jobs = statistics.n_known = 101;
  g_ptr_array_add (statistics.wear, &one);
  g_ptr_array_add (statistics.wear, &ninety);
  surface = paint (&statistics, EF_STATISTICS_WEAR);
  g_assert_cmpint (bar_end (surface, HEIGHT / 4), <, bar_end (surface, 5 * HEIGHT / 8));
  g_assert_cmpint (bar_end (surface, HEIGHT / 4), >, WIDTH / 2);
  words = ef_statistics_words (&statistics, EF_STATISTICS_WEAR);
  g_assert_nonnull (strstr (words, "Foremost: HL-24, Separator plate: groove, in 90 of the model's 100 jobs (90 %; between"));
  /* In whatever order they come. */
  statistics.wear->pdata[0] = &ninety;
  statistics.wear->pdata[1] = &one;
  other = paint (&statistics, EF_STATISTICS_WEAR);
  g_assert_true (same (surface, other));
  cairo_surface_destroy (other);
  cairo_surface_destroy (surface);
}

static EfReworkSpell *
spell (double months,
       gboolean came_back)
{
  EfReworkSpell *self = g_new0 (EfReworkSpell, 1);

  self->months = months;
  self->came_back = came_back;

  return self;
}

/* Where the plot's curve is drawn: the line's own ink, told from the band by its strength. */
static double
curve_at (cairo_surface_t *surface,
          int x,
          int top,
          int bottom)
{
  double least = 1, at = NAN;

  for (int y = top; y < bottom; y++)
    {
      double one = light (surface, x, y, 0);

      if (one < least - 0.02)
        {
          least = one;
          at = y;
        }
    }

  return at;
}

/* Constructed: ten reworks, at 10 months five come back at once, at 20 the others were still holding. The curve stays at the top up to the month of the return,
 * goes straight down there and on at half; a tick stands for each that still holds, none for those that came back. */
static void
test_stairs (void)
{
  g_auto (EfStatistics) statistics;
  EfSpell spells[10];
  cairo_surface_t *surface, *without;
  int left, right;
  double top, half;

  statistics_init (&statistics);
  for (int i = 0; i < 10; i++)
    {
      spells[i] = (EfSpell) { i < 5 ? 10 : 20, i < 5 };
      g_ptr_array_add (statistics.spells, spell (spells[i].time, spells[i].event));
    }
  statistics.holds = ef_survival_new (spells, 10, 0.95);
  statistics.n_jobs = statistics.n_known = 10;
  surface = paint (&statistics, EF_STATISTICS_REWORK);
  /* The frame's ticks of the axes aside, the curve is the darkest in a column in the middle of either half. */
  left = WIDTH / 4;
  right = 3 * WIDTH / 4;
  top = curve_at (surface, left, 4, HEIGHT - 60);
  half = curve_at (surface, right, 4, HEIGHT - 60);
  g_assert_cmpfloat (top, <, 0.15 * HEIGHT);
  g_assert_cmpfloat (half, >, 0.3 * HEIGHT);
  g_assert_cmpfloat (half, <, 0.6 * HEIGHT);
  /* Level on both sides of the step: stairs, no slope. */
  g_assert_cmpfloat (fabs (curve_at (surface, (int) (0.42 * WIDTH), 4, HEIGHT - 60) - top), <, 3);
  g_assert_cmpfloat (fabs (curve_at (surface, (int) (0.65 * WIDTH), 4, HEIGHT - 60) - half), <, 3);
  /* The band reaches to both sides of the lower stretch; none is needed where nothing came back yet. */
  g_assert_cmpfloat (light (surface, right, half - 30, 2), <, 0.985);
  g_assert_cmpfloat (light (surface, right, half + 30, 2), <, 0.985);
  g_assert_cmpfloat (light (surface, left, top + 30, 2), >, 0.985);
  /* Ticks: those that came back leave no trace, those that hold do. */
  for (int i = 0; i < 5; i++)
    {
      g_free (statistics.spells->pdata[i]);
      statistics.spells->pdata[i] = spell (5, TRUE);
    }
  without = paint (&statistics, EF_STATISTICS_REWORK);
  g_assert_true (same (surface, without));
  cairo_surface_destroy (without);
  ((EfReworkSpell *) statistics.spells->pdata[9])->months = 5;
  without = paint (&statistics, EF_STATISTICS_REWORK);
  g_assert_false (same (surface, without));
  cairo_surface_destroy (without);
  cairo_surface_destroy (surface);
  for (guint i = 0; i < statistics.spells->len; i++)
    g_free (statistics.spells->pdata[i]);
}

static char *
words_of_line (double robust)
{
  g_auto (EfStatistics) statistics;
  EfClearanceSeries series = { .model = (char *) "HL-24", .section = (char *) "pressure", .title = (char *) "Pressure section", .as_new = 60e-6 };

  statistics_init (&statistics);
  series.trend = (EfTrend) { .n = 9, .known = TRUE, .slope = 10e-9, .slope_low = 8e-9, .slope_high = 12e-9, .robust_slope = robust };
  g_ptr_array_add (statistics.clearance, &series);

  return ef_statistics_words (&statistics, EF_STATISTICS_CLEARANCE);
}

/* Odd jobs are named where the robust line lies outside the other's interval, on either side; not inside it, nor where it isn't known. */
static void
test_odd_jobs (void)
{
  static const struct
  {
    double robust;
    const char *words; /* NULL: not named */
  } cases[] = { { 10e-9, NULL }, { 8.5e-9, NULL }, { NAN, NULL }, { 5e-9, "without their weight it is +5.0 µm in 1000 h" }, { 15e-9, "without their weight it is +15.0 µm in 1000 h" } };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *words = words_of_line (cases[i].robust);

      g_assert_nonnull (strstr (words, "+10.0 µm in 1000 h (between +8.0 and +12.0"));
      if (cases[i].words != NULL)
        g_assert_nonnull (strstr (words, cases[i].words));
      else
        g_assert_null (strstr (words, "odd jobs"));
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/statistics/order-of-wear", test_order_of_wear);
  g_test_add_func ("/draw/statistics/stairs", test_stairs);
  g_test_add_func ("/draw/statistics/odd-jobs", test_odd_jobs);

  return g_test_run ();
}
