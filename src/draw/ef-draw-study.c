/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-draw-study.h"
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

const char *
ef_study_picture_title (EfStudyPicture picture)
{
  static const char *const titles[EF_N_STUDY_PICTURES] = { N_ ("By part"), N_ ("By appraiser"), N_ ("Ranges"), N_ ("Where the scatter comes from") };

  return titles[picture];
}

/* --- Marks of appraisers ---------------------------------------------------------------------------------------------------------- */

/* Disc, square, triangle, diamond, cross, and again; each with an ink. */
static void
put_mark (cairo_t *cr,
          const EfDrawStyle *style,
          guint who,
          double x,
          double y,
          double size)
{
  static const EfInk inks[] = { EF_INK_TEXT, EF_INK_ACCENT, EF_INK_DELIVERY, EF_INK_SUCTION };
  double s = size * style->line_scale;

  ef_draw_set_ink (cr, style, inks[who % G_N_ELEMENTS (inks)], 1);
  cairo_new_path (cr);
  switch (who % 5)
    {
    case 0:
      cairo_arc (cr, x, y, s, 0, 2 * G_PI);
      break;
    case 1:
      cairo_rectangle (cr, x - s, y - s, 2 * s, 2 * s);
      break;
    case 2:
      cairo_move_to (cr, x, y - 1.2 * s);
      cairo_line_to (cr, x + 1.1 * s, y + 0.9 * s);
      cairo_line_to (cr, x - 1.1 * s, y + 0.9 * s);
      cairo_close_path (cr);
      break;
    case 3:
      cairo_move_to (cr, x, y - 1.3 * s);
      cairo_line_to (cr, x + 1.3 * s, y);
      cairo_line_to (cr, x, y + 1.3 * s);
      cairo_line_to (cr, x - 1.3 * s, y);
      cairo_close_path (cr);
      break;
    default:
      cairo_move_to (cr, x - s, y - s);
      cairo_line_to (cr, x + s, y + s);
      cairo_move_to (cr, x - s, y + s);
      cairo_line_to (cr, x + s, y - s);
      ef_draw_set_width (cr, style, 2);
      cairo_stroke (cr);
      return;
    }
  cairo_fill (cr);
}

static void
put_legend (cairo_t *cr,
            const EfDrawStyle *style,
            const EfStudyTable *table,
            double x,
            double y,
            double width)
{
  double at = x;

  for (guint j = 0; j < table->appraisers->len && at < x + width; j++)
    {
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 0.9), 0, table->appraisers->pdata[j]);
      double w, h;

      ef_text_extent (layout, &w, &h);
      put_mark (cr, style, j, at + 6 * style->line_scale, y + 0.5 * h, 4);
      ef_text_show (cr, style, layout, EF_INK_TEXT, 0, at + 14 * style->line_scale, y, 0, 0);
      at += w + 26 * style->line_scale;
    }
}

static double
legend_height (const EfDrawStyle *style)
{
  return 1.8 * style->text_size;
}

/* --- Numbers ------------------------------------------------------------------------------------------------------------------------ */

static double
value_at (const EfStudyTable *t,
          guint part,
          guint appraiser,
          guint trial)
{
  return t->values[(part * t->appraisers->len + appraiser) * t->readings.n_trials + trial];
}

static double
mean_of (const EfStudyTable *t,
         guint part,
         int appraiser, /* -1: of all */
         double *range_out)
{
  double sum = 0.0, low = INFINITY, high = -INFINITY;
  guint n = 0;

  for (guint j = 0; j < t->appraisers->len; j++)
    for (guint k = 0; (appraiser < 0 || (guint) appraiser == j) && k < t->readings.n_trials; k++)
      {
        double value = value_at (t, part, j, k);

        sum += value;
        low = fmin (low, value);
        high = fmax (high, value);
        n++;
      }
  if (range_out != NULL)
    *range_out = high - low;

  return sum / n;
}

static void
axis_of (EfPlotAxis *axis,
         double low,
         double high,
         const char *title)
{
  double room = high > low ? 0.05 * (high - low) : fmax (1e-9, 0.01 * fabs (high));

  *axis = (EfPlotAxis){ low - room, high + room, 0, title, FALSE };
  ef_plot_axis_nice (axis, 6);
}

/* Parts or appraisers along x, 1 … n. */
static void
frame (cairo_t *cr,
       const EfDrawStyle *style,
       EfPlot *plot,
       const EfStudyTable *table,
       guint n,
       const char *what,
       const EfPlotAxis *ay,
       double width,
       double height)
{
  /* ticks count from the axis' beginning */
  EfPlotAxis ax = { 0, n + 1, MAX (1.0, ceil (n / 12.0)), what, FALSE };
  double top = legend_height (style);

  put_legend (cr, style, table, 4, 2, width);
  ef_plot_init (plot, cr, style, &ax, ay, 0, top, width, height - top);
  ef_plot_frame (plot, cr, style);
}

static void
draw_by_part (cairo_t *cr,
              const EfDrawStyle *style,
              const EfStudyTable *t,
              double width,
              double height)
{
  g_autofree double *x = g_new (double, t->parts->len), *y = g_new (double, t->parts->len);
  double low = INFINITY, high = -INFINITY, ink[3];
  EfPlotAxis ay;
  EfPlot plot;

  for (gsize i = 0; i < (gsize) t->parts->len * t->appraisers->len * t->readings.n_trials; i++)
    {
      low = fmin (low, t->values[i]);
      high = fmax (high, t->values[i]);
    }
  axis_of (&ay, low, high, _ ("value"));
  frame (cr, style, &plot, t, t->parts->len, _ ("part"), &ay, width, height);
  ef_draw_ink (style, EF_INK_DIM, ink);
  for (guint j = 0; j < t->appraisers->len; j++)
    {
      for (guint i = 0; i < t->parts->len; i++)
        {
          x[i] = i + 1;
          y[i] = mean_of (t, i, (int) j, NULL);
        }
      ef_plot_line (&plot, cr, style, x, y, t->parts->len, ink, 1.2, 0);
      for (guint i = 0; i < t->parts->len; i++)
        {
          double px, py;

          for (guint k = 0; k < t->readings.n_trials; k++)
            {
              ef_plot_map (&plot, i + 1 + 0.12 * ((double) j - 0.5 * (t->appraisers->len - 1)), value_at (t, i, j, k), &px, &py);
              put_mark (cr, style, j, px, py, 1.6);
            }
          ef_plot_map (&plot, x[i], y[i], &px, &py);
          put_mark (cr, style, j, px, py, 4);
        }
    }
}

static void
draw_by_appraiser (cairo_t *cr,
                   const EfDrawStyle *style,
                   const EfStudyTable *t,
                   double width,
                   double height)
{
  double low = 0.0, high = 0.0;
  EfPlotAxis ay;
  EfPlot plot;

  for (guint i = 0; i < t->parts->len; i++)
    for (guint j = 0; j < t->appraisers->len; j++)
      for (guint k = 0; k < t->readings.n_trials; k++)
        {
          double off = value_at (t, i, j, k) - mean_of (t, i, -1, NULL);

          low = fmin (low, off);
          high = fmax (high, off);
        }
  axis_of (&ay, low, high, _ ("less the part's mean"));
  frame (cr, style, &plot, t, t->appraisers->len, _ ("appraiser"), &ay, width, height);
  for (guint j = 0; j < t->appraisers->len; j++)
    {
      double sum = 0.0, px, py;

      for (guint i = 0; i < t->parts->len; i++)
        for (guint k = 0; k < t->readings.n_trials; k++)
          {
            double off = value_at (t, i, j, k) - mean_of (t, i, -1, NULL);

            sum += off;
            ef_plot_map (&plot, j + 1 + 0.5 * ((i + 0.5) / t->parts->len - 0.5), off, &px, &py);
            put_mark (cr, style, j, px, py, 2);
          }
      ef_plot_map (&plot, j + 1, sum / (t->parts->len * t->readings.n_trials), &px, &py);
      ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
      ef_draw_set_width (cr, style, 2.5);
      cairo_move_to (cr, px - 0.3 * plot.width / t->appraisers->len, py);
      cairo_line_to (cr, px + 0.3 * plot.width / t->appraisers->len, py);
      cairo_stroke (cr);
    }
}

static void
draw_ranges (cairo_t *cr,
             const EfDrawStyle *style,
             const EfStudyTable *t,
             const EfGaugeStudyRange *study,
             double width,
             double height)
{
  double high = study->range_limit, ink[3];
  EfPlotAxis ay;
  EfPlot plot;

  for (guint i = 0; i < t->parts->len; i++)
    for (guint j = 0; j < t->appraisers->len; j++)
      {
        double range;

        mean_of (t, i, (int) j, &range);
        high = fmax (high, range);
      }
  axis_of (&ay, 0.0, high, _ ("range"));
  ay.min = 0.0;
  frame (cr, style, &plot, t, t->parts->len, _ ("part"), &ay, width, height);
  ef_draw_ink (style, EF_INK_ACCENT, ink);
  ef_plot_limit (&plot, cr, style, FALSE, study->range_limit, _ ("no longer repeating"), ink);
  for (guint i = 0; i < t->parts->len; i++)
    for (guint j = 0; j < t->appraisers->len; j++)
      {
        double range, px, py;

        mean_of (t, i, (int) j, &range);
        ef_plot_map (&plot, i + 1 + 0.16 * ((double) j - 0.5 * (t->appraisers->len - 1)), range, &px, &py);
        put_mark (cr, style, j, px, py, 4);
      }
}

/* A row of a bar chart that lies: words, bar, number. */
static void
put_bar (cairo_t *cr,
         const EfDrawStyle *style,
         const char *words,
         double share, /* 0 … 1; NAN: only the words */
         const char *number,
         EfInk ink,
         double y,
         double width)
{
  double row = 1.7 * style->text_size, left = 0.42 * width, most = width - left - 8 * style->text_size;
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 0.95), 0, words);

  ef_text_wrap (layout, left - 8, 1);
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, 0, y + 0.5 * row, 0, 0.5);
  if (isnan (share))
    return;
  ef_draw_set_ink (cr, style, ink, 0.85);
  cairo_rectangle (cr, left, y + 0.2 * row, fmax (1.0, most * CLAMP (share, 0.0, 1.0)), 0.6 * row);
  cairo_fill (cr);
  ef_text_put (cr, style, ef_text_size (style, 0.95), 0, EF_INK_TEXT, number, left + most * CLAMP (share, 0.0, 1.0) + 6, y + 0.5 * row, 0, 0.5);
}

static void
draw_shares (cairo_t *cr,
             const EfDrawStyle *style,
             const EfGaugeStudyRange *range,
             const EfGaugeStudyVariance *variance,
             double width,
             double height)
{
  const EfGaugeComponents *methods[] = { &range->components, &variance->components };
  const char *const heads[] = { N_ ("Average and range"), N_ ("Analysis of variance") };
  double row = 1.7 * style->text_size, y = 0.0;

  for (int m = 0; m < 2; m++)
    {
      const EfGaugeComponents *c = methods[m];
      const struct
      {
        const char *words;
        double value;
      } rows[] = { { N_ ("repeating (equipment)"), c->equipment }, { N_ ("who reads it"), c->appraiser }, { N_ ("who at which part"), c->interaction }, { N_ ("gauge in all (GRR)"), c->grr }, { N_ ("the parts"), c->part } };

      ef_text_put (cr, style, ef_text_size (style, 0.95), EF_TEXT_BOLD, EF_INK_TEXT, _ (heads[m]), 0, y + 0.5 * row, 0, 0.5);
      y += row;
      for (guint i = 0; i < G_N_ELEMENTS (rows) && y + row <= height; i++, y += row)
        {
          double share = c->total > 0 ? rows[i].value / c->total : 0.0;
          g_autofree char *number = g_strdup_printf ("%.1f %%", 100 * share);

          put_bar (cr, style, _ (rows[i].words), share, number, i == 3 ? EF_INK_ACCENT : EF_INK_SIDE, y, width);
        }
      y += 0.5 * row;
    }
}

void
ef_draw_study (cairo_t *cr,
               const EfDrawStyle *style,
               EfStudyPicture picture,
               const EfStudyTable *table,
               const EfGaugeStudyRange *range,
               const EfGaugeStudyVariance *variance,
               double width,
               double height)
{
  if (picture == EF_STUDY_BY_PART)
    draw_by_part (cr, style, table, width, height);
  else if (picture == EF_STUDY_BY_APPRAISER)
    draw_by_appraiser (cr, style, table, width, height);
  else if (picture == EF_STUDY_RANGES)
    draw_ranges (cr, style, table, range, width, height);
  else
    draw_shares (cr, style, range, variance, width, height);
}

/* --- People ------------------------------------------------------------------------------------------------------------------------- */

double
ef_draw_rules_height (const EfDrawStyle *style,
                      const EfRatingSummary *summary)
{
  return 1.7 * style->text_size * MAX (summary->rules->len, 1);
}

void
ef_draw_rules_disagreed (cairo_t *cr,
                         const EfDrawStyle *style,
                         const EfRatingSummary *summary,
                         double width,
                         double height)
{
  double row = 1.7 * style->text_size;

  for (guint i = 0; i < summary->rules->len && (i + 1) * row <= height + 1; i++)
    {
      const EfRuleDisagreement *rule = &g_array_index (summary->rules, EfRuleDisagreement, i);
      double share = rule->pairs > 0 ? (double) rule->differ / rule->pairs : NAN;
      g_autofree char *number = g_strdup_printf (_ ("%.0f %% of %u"), 100 * share, rule->pairs);

      put_bar (cr, style, *rule->rule != '\0' ? rule->rule : _ ("no rule noted"), share, number, EF_INK_DELIVERY, i * row, width);
    }
}

double
ef_draw_kappas_height (const EfDrawStyle *style,
                       const EfRatingSummary *summary)
{
  return 1.7 * style->text_size * (summary->pairs->len + 2.5);
}

/* From -1 to 1, with a mark at chance. */
static void
put_interval (cairo_t *cr,
              const EfDrawStyle *style,
              const char *words,
              const EfKappa *kappa,
              double y,
              double width)
{
  double row = 1.7 * style->text_size, left = 0.42 * width, span = width - left - 5 * style->text_size;
  g_autofree char *number = isfinite (kappa->kappa) ? g_strdup_printf ("%.2f", kappa->kappa) : g_strdup ("–");

  put_bar (cr, style, words, NAN, NULL, EF_INK_SIDE, y, width);
  ef_text_put (cr, style, ef_text_size (style, 0.95), 0, EF_INK_TEXT, number, width, y + 0.5 * row, 1, 0.5);
  if (!isfinite (kappa->kappa))
    return;
  ef_draw_set_ink (cr, style, EF_INK_ACCENT, 1);
  ef_draw_set_width (cr, style, 2);
  if (isfinite (kappa->low) && isfinite (kappa->high))
    {
      cairo_move_to (cr, left + span * 0.5 * (1 + kappa->low), y + 0.5 * row);
      cairo_line_to (cr, left + span * 0.5 * (1 + kappa->high), y + 0.5 * row);
      cairo_stroke (cr);
    }
  cairo_arc (cr, left + span * 0.5 * (1 + kappa->kappa), y + 0.5 * row, 4 * style->line_scale, 0, 2 * G_PI);
  cairo_fill (cr);
}

void
ef_draw_kappas (cairo_t *cr,
                const EfDrawStyle *style,
                const EfRatingTable *table,
                const EfRatingSummary *summary,
                double width,
                double height)
{
  double row = 1.7 * style->text_size, left = 0.42 * width, span = width - left - 5 * style->text_size, y = row;
  const struct
  {
    double at;
    const char *words;
  } ticks[] = { { -1, "−1" }, { 0, N_ ("chance") }, { 1, "1" } };

  ef_draw_set_ink (cr, style, EF_INK_FAINT, 1);
  ef_draw_set_width (cr, style, 1);
  for (guint i = 0; i < G_N_ELEMENTS (ticks); i++)
    {
      double x = left + span * 0.5 * (1 + ticks[i].at);

      cairo_move_to (cr, x, row);
      cairo_line_to (cr, x, height);
      cairo_stroke (cr);
      ef_text_put (cr, style, ef_text_size (style, 0.85), 0, EF_INK_DIM, i == 1 ? _ (ticks[i].words) : ticks[i].words, x, 0.5 * row, 0.5, 0.5);
      ef_draw_set_ink (cr, style, EF_INK_FAINT, 1);
    }
  if (summary->has_all)
    put_interval (cr, style, _ ("All (Fleiss)"), &summary->all.all, y, width);
  else
    put_bar (cr, style, _ ("All: not everybody rated everything"), NAN, NULL, EF_INK_SIDE, y, width);
  y += row;
  for (guint i = 0; i < summary->pairs->len && y + row <= height + 1; i++, y += row)
    {
      const EfRaterPair *pair = &g_array_index (summary->pairs, EfRaterPair, i);
      g_autofree char *words = g_strdup_printf ("%s – %s", (char *) table->raters->pdata[pair->a], (char *) table->raters->pdata[pair->b]);

      put_interval (cr, style, words, &pair->weighted, y, width);
    }
}
