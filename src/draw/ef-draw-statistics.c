/* Plots of the statistics.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-statistics.h"
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define WEAR_ROWS 14
#define POINTS_DRAWN 3000 /* of a series: more only blacken the paper */
#define BAND_POINTS 48

static const EfInk series_inks[] = { EF_INK_ACCENT, EF_INK_SUCTION, EF_INK_DELIVERY, EF_INK_TEXT };

const char *
ef_statistics_plot_name (EfStatisticsPlot plot)
{
  static const char *const names[EF_N_STATISTICS] = { "wear", "clearance", "rework" };

  return names[CLAMP ((int) plot, 0, EF_N_STATISTICS - 1)];
}

const char *
ef_statistics_plot_title (EfStatisticsPlot plot)
{
  static const char *const titles[EF_N_STATISTICS] = { N_ ("What wears out"), N_ ("End clearance against running hours"), N_ ("How often rework held") };

  return _ (titles[CLAMP ((int) plot, 0, EF_N_STATISTICS - 1)]);
}

gboolean
ef_statistics_has (const EfStatistics *statistics, EfStatisticsPlot plot)
{
  switch (plot)
    {
    case EF_STATISTICS_WEAR:
      return statistics->wear->len > 0;
    case EF_STATISTICS_CLEARANCE:
      return statistics->clearance->len > 0;
    default:
      return statistics->spells->len > 0;
    }
}

guint
ef_statistics_wear_rows (const EfStatistics *statistics)
{
  return MIN (statistics->wear->len, WEAR_ROWS);
}

/* By the lower end of the interval, so that one job of one doesn't stand before ninety of a hundred. */
static int
compare_counts (gconstpointer a, gconstpointer b)
{
  const EfWearCount *one = *(EfWearCount *const *) a;
  const EfWearCount *two = *(EfWearCount *const *) b;

  if (one->jobs.low != two->jobs.low)
    return one->jobs.low > two->jobs.low ? -1 : 1;

  return (one->jobs.n < two->jobs.n) - (one->jobs.n > two->jobs.n);
}

static gboolean
several_models (GPtrArray *wear)
{
  for (guint i = 1; i < wear->len; i++)
    if (!g_str_equal (((EfWearCount *) wear->pdata[i])->model, ((EfWearCount *) wear->pdata[0])->model))
      return TRUE;

  return FALSE;
}

static void
draw_wear_row (cairo_t *cr, const EfDrawStyle *style, const EfPlot *plot, const EfWearCount *count, gboolean with_model, double y, double step)
{
  g_autofree char *label = ef_statistics_wear_label (count, with_model);
  g_autofree char *number = g_strdup_printf (_("%u of %u"), (guint) count->jobs.n, (guint) count->jobs.of);
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, style->text_size, 0, label);
  double low = plot->x + count->jobs.low * plot->width;
  double high = plot->x + count->jobs.high * plot->width;
  double rgb[3], text_width, text_height;
  gboolean right;

  ef_text_wrap (layout, plot->x - 0.8 * style->text_size, 1);
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, plot->x - 0.5 * style->text_size, y, 1, 0.5);
  ef_draw_ink (style, EF_INK_ACCENT, rgb);
  cairo_set_source_rgba (cr, rgb[0], rgb[1], rgb[2], 0.45);
  cairo_rectangle (cr, plot->x, y - 0.3 * step, count->jobs.share * plot->width, 0.6 * step);
  cairo_fill (cr);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  ef_draw_set_width (cr, style, 1.5);
  cairo_move_to (cr, low, y);
  cairo_line_to (cr, high, y);
  cairo_move_to (cr, low, y - 0.15 * step);
  cairo_line_to (cr, low, y + 0.15 * step);
  cairo_move_to (cr, high, y - 0.15 * step);
  cairo_line_to (cr, high, y + 0.15 * step);
  cairo_stroke (cr);
  g_object_unref (layout);
  layout = ef_text_layout (cr, style, ef_text_size (style, 0.9), 0, number);
  ef_text_extent (layout, &text_width, &text_height);
  right = high + 0.5 * style->text_size + text_width < plot->x + plot->width;
  ef_text_show (cr, style, layout, EF_INK_DIM, EF_TEXT_HALO, right ? high + 0.5 * style->text_size : low - 0.5 * style->text_size, y, right ? 0 : 1, 0.5);
}

static void
draw_wear (cairo_t *cr, const EfDrawStyle *style, const EfStatistics *statistics, double width, double height)
{
  g_autoptr (GPtrArray) sorted = g_ptr_array_copy (statistics->wear, NULL, NULL);
  guint n = ef_statistics_wear_rows (statistics);
  EfPlotAxis ax = { 0, 100, 0, _("Share of the model's jobs, %"), FALSE };
  EfPlotAxis ay = { 0, 1, 2, NULL, TRUE };
  double left = MIN (24 * style->text_size, 0.45 * width);
  EfPlot plot;

  g_ptr_array_set_free_func (sorted, NULL);
  g_ptr_array_sort (sorted, compare_counts);
  ef_plot_axis_nice (&ax, 5);
  ef_plot_init (&plot, cr, style, &ax, &ay, left - 3 * style->text_size, 0, width - left + 1.5 * style->text_size, height);
  plot.width -= left - plot.x;
  plot.x = left;
  plot.ay.step = -1; /* no ticks along the side: each row has its words */
  ef_plot_frame (&plot, cr, style);
  for (guint i = 0; i < n; i++)
    draw_wear_row (cr, style, &plot, sorted->pdata[i], several_models (statistics->wear), plot.y + (i + 0.5) * plot.height / n, plot.height / n);
}

static void
draw_point (cairo_t *cr, guint shape, double x, double y, double r)
{
  cairo_new_sub_path (cr);
  switch (shape % 4)
    {
    case 0:
      cairo_arc (cr, x, y, r, 0, 2 * G_PI);
      break;
    case 1:
      cairo_rectangle (cr, x - r, y - r, 2 * r, 2 * r);
      break;
    case 2:
      cairo_move_to (cr, x, y - 1.2 * r);
      cairo_line_to (cr, x + 1.2 * r, y + r);
      cairo_line_to (cr, x - 1.2 * r, y + r);
      cairo_close_path (cr);
      break;
    default:
      cairo_move_to (cr, x, y - 1.3 * r);
      cairo_line_to (cr, x + 1.3 * r, y);
      cairo_line_to (cr, x, y + 1.3 * r);
      cairo_line_to (cr, x - 1.3 * r, y);
      cairo_close_path (cr);
      break;
    }
}

static void
draw_band (cairo_t *cr, const EfDrawStyle *style, const EfPlot *plot, const EfTrend *trend, const double rgb[3])
{
  double px[BAND_POINTS], py[BAND_POINTS], low[BAND_POINTS], high[BAND_POINTS], x, y;

  for (int i = 0; i < BAND_POINTS; i++)
    {
      px[i] = trend->x_min + (trend->x_max - trend->x_min) * i / (BAND_POINTS - 1);
      py[i] = ef_trend_at (trend, px[i], &low[i], &high[i]) * 1e6;
      low[i] *= 1e6;
      high[i] *= 1e6;
    }
  cairo_save (cr);
  cairo_rectangle (cr, plot->x, plot->y, plot->width, plot->height);
  cairo_clip (cr);
  for (int i = 0; i < 2 * BAND_POINTS; i++)
    {
      int k = i < BAND_POINTS ? i : 2 * BAND_POINTS - 1 - i;

      ef_plot_map (plot, px[k], i < BAND_POINTS ? low[k] : high[k], &x, &y);
      cairo_line_to (cr, x, y);
    }
  cairo_close_path (cr);
  cairo_set_source_rgba (cr, rgb[0], rgb[1], rgb[2], 0.15);
  cairo_fill (cr);
  cairo_restore (cr);
  ef_plot_line (plot, cr, style, px, py, BAND_POINTS, rgb, 2, 0);
}

static void
draw_series (cairo_t *cr, const EfDrawStyle *style, const EfPlot *plot, const EfClearanceSeries *series, guint place, gboolean legend)
{
  guint stride = 1 + series->hours->len / POINTS_DRAWN;
  double rgb[3], x, y;

  ef_draw_ink (style, series_inks[(place + place / 4) % G_N_ELEMENTS (series_inks)], rgb);
  if (series->trend.known)
    draw_band (cr, style, plot, &series->trend, rgb);
  for (guint i = 0; i < series->hours->len; i += stride)
    {
      ef_plot_map (plot, g_array_index (series->hours, double, i), g_array_index (series->found, double, i) * 1e6, &x, &y);
      draw_point (cr, place, x, y, 0.3 * style->text_size);
    }
  cairo_set_source_rgba (cr, rgb[0], rgb[1], rgb[2], series->hours->len > 200 ? 0.4 : 0.8);
  cairo_fill (cr);
  if (legend)
    {
      g_autofree char *text = g_strdup_printf (_("%s, %s"), series->model, series->title);

      y = plot->y + (1.2 + 1.4 * place) * style->text_size;
      cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
      draw_point (cr, place, plot->x + style->text_size, y, 0.35 * style->text_size);
      cairo_fill (cr);
      ef_text_put (cr, style, ef_text_size (style, 0.9), EF_TEXT_HALO, EF_INK_TEXT, text, plot->x + 1.8 * style->text_size, y, 0, 0.5);
    }
}

static void
draw_clearance (cairo_t *cr, const EfDrawStyle *style, const EfStatistics *statistics, double width, double height)
{
  EfPlotAxis ax = { 0, 0, 0, _("Running hours"), FALSE };
  EfPlotAxis ay = { 0, 0, 0, _("End clearance as found, µm"), FALSE };
  EfPlot plot;

  for (guint i = 0; i < statistics->clearance->len; i++)
    {
      const EfClearanceSeries *series = statistics->clearance->pdata[i];

      for (guint k = 0; k < series->hours->len; k++)
        {
          ax.max = MAX (ax.max, g_array_index (series->hours, double, k));
          ay.max = MAX (ay.max, g_array_index (series->found, double, k) * 1e6);
        }
    }
  ax.max = MAX (ax.max, 1);
  ay.max = MAX (ay.max, 1);
  ef_plot_axis_nice (&ax, MAX ((guint) (width / (7 * style->text_size)), 2));
  ef_plot_axis_nice (&ay, MAX ((guint) (height / (3 * style->text_size)), 2));
  ef_plot_init (&plot, cr, style, &ax, &ay, 0, 0, width - 1.5 * style->text_size, height);
  ef_plot_frame (&plot, cr, style);
  for (guint i = 0; i < statistics->clearance->len; i++)
    draw_series (cr, style, &plot, statistics->clearance->pdata[i], i, statistics->clearance->len > 1);
}

/* @which: 0 the share itself, 1 low, 2 high. */
static double
step_value (const EfSurvivalStep *step, int which)
{
  double value = which == 0 ? step->holds : which == 1 ? step->low : step->high;

  return 100 * (isnan (value) ? step->holds : value);
}

/* As stairs: n points a step. */
static guint
make_stairs (const EfSurvival *holds, int which, double *px, double *py)
{
  double before = 100;
  guint n = 0;

  px[n] = 0;
  py[n++] = before;
  for (guint i = 0; i < holds->steps->len; i++)
    {
      const EfSurvivalStep *step = &g_array_index (holds->steps, EfSurvivalStep, i);

      px[n] = step->time;
      py[n++] = before;
      before = step_value (step, which);
      px[n] = step->time;
      py[n++] = before;
    }
  px[n] = holds->longest;
  py[n++] = before;

  return n;
}

static void
draw_rework (cairo_t *cr, const EfDrawStyle *style, const EfStatistics *statistics, double width, double height)
{
  const EfSurvival *holds = statistics->holds;
  EfPlotAxis ax = { 0, MAX (holds->longest, 1), 0, _("Months since the rework"), FALSE };
  EfPlotAxis ay = { 0, 100, 0, _("Still holds, %"), FALSE };
  guint most = 2 * holds->steps->len + 2;
  g_autofree double *buffer = g_new (double, 4 * most);
  double *px = buffer;
  double *py[3] = { buffer + most, buffer + 2 * most, buffer + 3 * most };
  double rgb[3], x, y;
  guint n = 0;
  EfPlot plot;

  for (int i = 0; i < 3; i++)
    n = make_stairs (holds, i, px, py[i]);
  ef_plot_axis_nice (&ax, MAX ((guint) (width / (6 * style->text_size)), 2));
  ef_plot_axis_nice (&ay, 5);
  ef_plot_init (&plot, cr, style, &ax, &ay, 0, 0, width - 1.5 * style->text_size, height);
  ef_plot_frame (&plot, cr, style);
  ef_draw_ink (style, EF_INK_ACCENT, rgb);
  for (guint i = 0; i < 2 * n; i++)
    {
      guint k = i < n ? i : 2 * n - 1 - i;

      ef_plot_map (&plot, px[k], py[i < n ? 1 : 2][k], &x, &y);
      cairo_line_to (cr, x, y);
    }
  cairo_close_path (cr);
  cairo_set_source_rgba (cr, rgb[0], rgb[1], rgb[2], 0.15);
  cairo_fill (cr);
  ef_plot_line (&plot, cr, style, px, py[0], n, rgb, 2, 0);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 0.7);
  ef_draw_set_width (cr, style, 1);
  for (guint i = 0; i < statistics->spells->len; i += 1 + statistics->spells->len / POINTS_DRAWN)
    {
      const EfReworkSpell *spell = statistics->spells->pdata[i];
      EfSurvivalStep step;

      if (spell->came_back)
        continue;
      ef_survival_at (holds, spell->months, &step);
      ef_plot_map (&plot, spell->months, 100 * step.holds, &x, &y);
      cairo_move_to (cr, x, y - 0.3 * style->text_size);
      cairo_line_to (cr, x, y + 0.3 * style->text_size);
    }
  cairo_stroke (cr);
}

static const char *
nothing_words (EfStatisticsPlot plot)
{
  switch (plot)
    {
    case EF_STATISTICS_WEAR:
      return _("No job here asked for rework or scrap");
    case EF_STATISTICS_CLEARANCE:
      return _("No job here has both running hours and an end clearance");
    default:
      return _("No pump with a serial number was reworked here");
    }
}

void
ef_draw_statistics (cairo_t *cr, const EfDrawStyle *style, const EfStatistics *statistics, EfStatisticsPlot plot, double width, double height)
{
  if (statistics->n_known == 0)
    ef_text_put (cr, style, style->text_size, 0, EF_INK_DIM, _("No job is worked out yet"), width / 2, height / 2, 0.5, 0.5);
  else if (!ef_statistics_has (statistics, plot))
    ef_text_put (cr, style, style->text_size, 0, EF_INK_DIM, nothing_words (plot), width / 2, height / 2, 0.5, 0.5);
  else if (plot == EF_STATISTICS_WEAR)
    draw_wear (cr, style, statistics, width, height);
  else if (plot == EF_STATISTICS_CLEARANCE)
    draw_clearance (cr, style, statistics, width, height);
  else
    draw_rework (cr, style, statistics, width, height);
}
