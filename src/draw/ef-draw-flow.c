/* Delivery against pressure, hot-idle pressure against end clearance.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-flow.h"
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define BAR 1e5
#define LPM (1e-3 / 60)

/* How a state's line looks: width px, dash px. */
static const struct
{
  EfInk ink;
  double width, dash;
} looks[EF_N_STATES] = { { EF_INK_DIM, 1.4, 0 }, { EF_INK_DELIVERY, 2.8, 0 }, { EF_INK_ACCENT, 2.0, 7 } };

const char *
ef_draw_state_word (EfPumpState state)
{
  static const char *const words[EF_N_STATES] = { N_("as new"), N_("as found"), N_("after rework") };

  return _(words[state]);
}

void
ef_draw_state_colour (EfPumpState state, const EfDrawStyle *style, double rgb[3])
{
  ef_draw_ink (style, looks[state].ink, rgb);
}

void
ef_draw_state_marker (cairo_t *cr, const EfDrawStyle *style, EfPumpState state, double x, double y, double radius)
{
  cairo_new_path (cr);
  if (state == EF_STATE_NEW)
    cairo_arc (cr, x, y, radius, 0, 2 * G_PI);
  else if (state == EF_STATE_FOUND)
    cairo_rectangle (cr, x - 0.8 * radius, y - 0.8 * radius, 1.6 * radius, 1.6 * radius);
  else
    {
      double r = 1.35 * radius;

      cairo_move_to (cr, x - r, y);
      cairo_line_to (cr, x, y - r);
      cairo_line_to (cr, x + r, y);
      cairo_line_to (cr, x, y + r);
      cairo_close_path (cr);
    }
  if (state == EF_STATE_FOUND)
    {
      ef_draw_set_ink (cr, style, looks[state].ink, 1);
      cairo_fill_preserve (cr);
      ef_draw_set_ink (cr, style, EF_INK_PAPER, 1);
      ef_draw_set_width (cr, style, 1);
    }
  else
    {
      ef_draw_set_ink (cr, style, EF_INK_PAPER, state == EF_STATE_NEW ? 1 : 0.6);
      cairo_fill_preserve (cr);
      ef_draw_set_ink (cr, style, looks[state].ink, 1);
      ef_draw_set_width (cr, style, 2);
    }
  cairo_stroke (cr);
}

static void
say (cairo_t *cr, const EfDrawStyle *style, const char *text, double width, double height)
{
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, style->text_size, EF_TEXT_CENTRE, text);

  ef_text_wrap (layout, 0.8 * width, 0);
  ef_text_show (cr, style, layout, EF_INK_DIM, 0, width / 2, height / 2, 0.5, 0.5);
}

/* --- The legend over a plot ------------------------------------------------------------------------------------------ */

typedef enum { SAMPLE_NEW, SAMPLE_FOUND, SAMPLE_REWORKED, SAMPLE_DOTS } Sample;

typedef struct
{
  Sample sample;
  char *text;
} LegendEntry;

static void
legend_clear (gpointer data)
{
  g_free (((LegendEntry *) data)->text);
}

static GArray *
legend_new (void)
{
  GArray *legend = g_array_new (FALSE, FALSE, sizeof (LegendEntry));

  g_array_set_clear_func (legend, legend_clear);
  return legend;
}

static void
legend_add (GArray *legend, Sample sample, char *text)
{
  LegendEntry entry = { sample, text };

  g_array_append_val (legend, entry);
}

static void
draw_line_sample (cairo_t *cr, const EfDrawStyle *style, Sample sample, double x, double y, double length)
{
  double dash = sample == SAMPLE_DOTS ? 2.5 : looks[sample].dash;

  cairo_save (cr);
  ef_draw_set_ink (cr, style, sample == SAMPLE_DOTS ? EF_INK_TEXT : looks[sample].ink, 1);
  ef_draw_set_width (cr, style, sample == SAMPLE_DOTS ? 1.4 : looks[sample].width);
  if (dash > 0)
    {
      dash *= style->line_scale;
      cairo_set_dash (cr, &dash, 1, 0);
    }
  cairo_move_to (cr, x, y);
  cairo_line_to (cr, x + length, y);
  cairo_stroke (cr);
  cairo_restore (cr);
  if (sample != SAMPLE_DOTS)
    ef_draw_state_marker (cr, style, (EfPumpState) sample, x + length / 2, y, 3.6 * style->line_scale);
}

/* In rows as wide as there is room; returns the height. Only measures unless @show. */
static double
lay_legend (cairo_t *cr, const EfDrawStyle *style, GArray *legend, double x, double width, gboolean show)
{
  double size = ef_text_size (style, 0.9), row = 1.55 * size, sample = 2.6 * size;
  double at = 0, y = 0.2 * size;

  for (guint i = 0; i < legend->len; i++)
    {
      const LegendEntry *entry = &g_array_index (legend, LegendEntry, i);
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, size, 0, entry->text);
      double w;

      ef_text_extent (layout, &w, NULL);
      if (at > 0 && at + sample + 0.5 * size + w > width)
        {
          at = 0;
          y += row;
        }
      if (show)
        {
          draw_line_sample (cr, style, entry->sample, x + at, y + row / 2, sample);
          ef_text_show (cr, style, layout, EF_INK_TEXT, 0, x + at + sample + 0.5 * size, y + row / 2, 0, 0.5);
        }
      at += sample + 0.5 * size + w + 1.4 * size;
    }
  return y + row + 0.3 * size;
}

/* A pump that isn't reworked, or whose rework changes nothing here, has two states to show, not three. */
static gboolean
is_shown (const EfFlowResult *flow, int state)
{
  const EfStateFlow *found = &flow->state[EF_STATE_FOUND];

  return flow->state[state].known && !(state == EF_STATE_REWORKED && found->known && flow->state[state].idle.pressure == found->idle.pressure);
}

/* Over the plot; left out where it would take the plot's room. */
static double
draw_legend (cairo_t *cr, const EfDrawStyle *style, GArray *legend, double width, double height)
{
  double x = 0.5 * style->text_size, room = width - style->text_size;

  if (height - lay_legend (cr, style, legend, x, room, FALSE) < 9 * style->text_size)
    return 0;
  return lay_legend (cr, style, legend, x, room, TRUE);
}

/* A title down the side that's longer than the axis would run out of the picture. */
static const char *
fitting_title (cairo_t *cr, const EfDrawStyle *style, const char *title, double height)
{
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 0.85), 0, title);
  double w;

  ef_text_extent (layout, &w, NULL);
  return w < height - 3 * style->text_size ? title : NULL;
}

static void
legend_add_states (GArray *legend, const EfFlowResult *flow)
{
  for (int state = 0; state < EF_N_STATES; state++)
    if (is_shown (flow, state))
      {
        g_autofree char *number = ef_format_quantity (flow->state[state].idle.pressure, EF_UNIT_BAR, 2);

        legend_add (legend, (Sample) state, g_strdup_printf ("%s: %s", ef_draw_state_word (state), number));
      }
}

/* --- What the plots need to know ------------------------------------------------------------------------------------------- */

static gboolean
any_known (const EfFlowResult *flow)
{
  return flow->state[EF_STATE_NEW].known || flow->state[EF_STATE_FOUND].known || flow->state[EF_STATE_REWORKED].known;
}

static const char *
why_not (const EfFlowResult *flow)
{
  for (int state = 0; flow != NULL && state < EF_N_STATES; state++)
    if (!flow->state[state].known && flow->state[state].reason != NULL)
      return flow->state[state].reason;
  return _("Not worked out yet");
}

gboolean
ef_draw_flow_complaint_at_idle (const EfAssessment *assessment)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  const EfFlowResult *flow = assessment->flow;

  return job != NULL && flow != NULL && isfinite (job->found_pressure) &&
         (isnan (job->found_temperature) || fabs (job->found_temperature - flow->idle_temperature) < 1) &&
         (isnan (job->found_speed) || fabs (job->found_speed - flow->idle_speed) < 0.01 * flow->idle_speed);
}

static double
highest_pressure (const EfFlowResult *flow)
{
  double highest = 0;

  for (int state = 0; state < EF_N_STATES; state++)
    if (flow->state[state].known)
      highest = MAX (highest, flow->state[state].idle.pressure);
  return highest;
}

static guint
ticks_for (double length, double text_size, double lines)
{
  return MAX ((guint) (length / (lines * text_size)), 2);
}

/* --- Delivery against pressure ---------------------------------------------------------------------------------------------- */

/* To well past the working points; to the relief valve's setting where that isn't far. */
static double
pressure_reach (const EfFlowResult *flow)
{
  double reach = 2.2 * highest_pressure (flow);

  for (int state = 0; state < EF_N_STATES; state++)
    if (flow->delivery[state].n > 0)
      reach = MIN (reach, 1.04 * flow->delivery[state].x[flow->delivery[state].n - 1]);
  return MAX (reach, 1.15 * highest_pressure (flow));
}

static void
draw_curve (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfCurve *curve, double x_unit, double y_unit, EfPumpState state)
{
  g_autofree double *x = g_new (double, MAX (curve->n, 1));
  g_autofree double *y = g_new (double, MAX (curve->n, 1));
  double rgb[3];

  for (guint i = 0; i < curve->n; i++)
    {
      x[i] = curve->x[i] / x_unit;
      y[i] = curve->y[i] / y_unit;
    }
  ef_draw_ink (style, looks[state].ink, rgb);
  ef_plot_line (plot, cr, style, x, y, curve->n, rgb, looks[state].width, looks[state].dash);
}

static void
draw_demand (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfFlowResult *flow)
{
  double x[2] = { 0, plot->ax.max };
  double y[2] = { 0, flow->demand * plot->ax.max * BAR / flow->idle_mu / LPM };
  double rgb[3];

  ef_draw_ink (style, EF_INK_TEXT, rgb);
  ef_plot_line (plot, cr, style, x, y, 2, rgb, 1.4, 2.5);
}

static void
drop_line (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, EfInk ink, double px, double py)
{
  double dash = 2 * style->line_scale, x, y;

  ef_plot_map (plot, px, py, &x, &y);
  cairo_save (cr);
  ef_draw_set_ink (cr, style, ink, 0.75);
  ef_draw_set_width (cr, style, 1);
  cairo_set_dash (cr, &dash, 1, 0);
  cairo_move_to (cr, x, y);
  cairo_line_to (cr, x, plot->y + plot->height);
  cairo_stroke (cr);
  cairo_restore (cr);
}

static void
draw_working_points (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfFlowResult *flow)
{
  for (int state = 0; state < EF_N_STATES; state++)
    {
      const EfWorkingPoint *point = &flow->state[state].idle;
      double x, y;

      if (!is_shown (flow, state))
        continue;
      drop_line (plot, cr, style, looks[state].ink, point->pressure / BAR, point->delivery / LPM);
      ef_plot_map (plot, point->pressure / BAR, point->delivery / LPM, &x, &y);
      ef_draw_state_marker (cr, style, (EfPumpState) state, x, y, 4.6 * style->line_scale);
    }
}

/* A dashed line at the pressure on the complaint; its words stand where the curves don't go. */
static void
draw_complaint (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, gboolean across_x)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  g_autofree char *number = NULL;
  g_autofree char *text = NULL;
  double size = ef_text_size (style, 0.85), x, y, rgb[3];

  if (!ef_draw_flow_complaint_at_idle (assessment))
    return;
  if (job->found_pressure / BAR > (across_x ? plot->ax.max : plot->ay.max))
    return;
  number = ef_format_quantity (job->found_pressure, EF_UNIT_BAR, 2);
  text = g_strdup_printf (_("measured %s"), number);
  ef_draw_ink (style, EF_INK_TEXT, rgb);
  ef_plot_limit (plot, cr, style, across_x, job->found_pressure / BAR, NULL, rgb);
  ef_plot_map (plot, across_x ? job->found_pressure / BAR : plot->ax.min, across_x ? plot->ay.min : job->found_pressure / BAR, &x, &y);
  if (across_x)
    ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_TEXT, text, x + 0.4 * size, y - 0.4 * size, 0, 1);
  else
    ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_TEXT, text, x + 0.4 * size, y + 0.15 * size, 0, 0);
}

void
ef_draw_flow_delivery (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height)
{
  const EfFlowResult *flow = assessment->flow;
  EfPlotAxis ax = { 0, 0, 0, _("Pressure, bar"), FALSE };
  EfPlotAxis ay = { 0, 0, 0, _("Delivery, l/min"), FALSE };
  g_autoptr (GArray) legend = NULL;
  double top;
  EfPlot plot;

  if (flow == NULL || !any_known (flow))
    {
      say (cr, style, why_not (flow), width, height);
      return;
    }
  for (int state = 0; state < EF_N_STATES; state++)
    {
      if (flow->state[state].known)
        ay.max = MAX (ay.max, flow->state[state].idle.delivery / LPM);
      for (guint i = 0; i < flow->delivery[state].n; i++)
        ay.max = MAX (ay.max, flow->delivery[state].y[i] / LPM);
    }
  ax.max = pressure_reach (flow) / BAR;
  ay.max *= 1.05;
  legend = legend_new ();
  legend_add_states (legend, flow);
  legend_add (legend, SAMPLE_DOTS, g_strdup (_("what the engine takes")));
  top = draw_legend (cr, style, legend, width, height);
  ay.title = fitting_title (cr, style, ay.title, height - top);
  ef_plot_axis_nice (&ax, ticks_for (width, style->text_size, 4.5));
  ef_plot_axis_nice (&ay, ticks_for (height - top, style->text_size, 3));
  ef_plot_init (&plot, cr, style, &ax, &ay, 0, top, width, height - top);
  ef_plot_frame (&plot, cr, style);
  draw_demand (&plot, cr, style, flow);
  for (int state = 0; state < EF_N_STATES; state++)
    if (is_shown (flow, state))
      draw_curve (&plot, cr, style, &flow->delivery[state], BAR, LPM, (EfPumpState) state);
  if (isfinite (flow->relief) && flow->relief / BAR <= plot.ax.max)
    {
      double rgb[3];

      ef_draw_ink (style, EF_INK_DIM, rgb);
      ef_plot_limit (&plot, cr, style, TRUE, flow->relief / BAR, _("relief valve"), rgb);
    }
  draw_complaint (&plot, cr, style, assessment, TRUE);
  draw_working_points (&plot, cr, style, flow);
}

/* --- Hot-idle pressure against end clearance ----------------------------------------------------------------------------------- */

static double
mean_clearance (const EfAssessment *assessment, const EfSection *section, EfPumpState state)
{
  static const char *const places[2] = { "drive", "driven" };
  double sum = 0;

  for (int gear = 0; gear < 2; gear++)
    {
      const EfDerived *found = ef_derived_find (assessment->findings.derived, "end-clearance", section->id, places[gear]);
      double after = ef_steps_clearance_after (&assessment->findings, assessment->steps, section, places[gear]);
      double value = section->pocket_depth - section->pair.in.face_width;

      if (state != EF_STATE_NEW && found != NULL)
        value = found->value;
      if (state == EF_STATE_REWORKED && isfinite (after))
        value = after;
      sum += value;
    }
  return sum / 2;
}

/* The band of a new pump, and the limit beyond which it isn't used again. Words stand at different heights, so none covers another. */
static void
draw_limits (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfLimit *limit)
{
  double size = ef_text_size (style, 0.85), x0, x1, y, rgb[3];

  if (limit == NULL)
    return;
  if (isfinite (limit->as_new_min) && isfinite (limit->as_new_max))
    {
      ef_plot_map (plot, limit->as_new_min * 1e3, plot->ay.min, &x0, &y);
      ef_plot_map (plot, limit->as_new_max * 1e3, plot->ay.min, &x1, &y);
      x1 = MIN (x1, plot->x + plot->width);
      ef_draw_set_ink (cr, style, EF_INK_DIM, 0.16);
      cairo_rectangle (cr, x0, plot->y, MAX (x1 - x0, 0), plot->height);
      cairo_fill (cr);
      ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_DIM, _("new"), (x0 + x1) / 2, plot->y + plot->height - 0.4 * size, 0.5, 1);
    }
  if (isfinite (limit->wear_max) && limit->wear_max * 1e3 < plot->ax.max)
    {
      g_autofree char *number = ef_text_mm (limit->wear_max, 1e-5);
      g_autofree char *text = g_strdup_printf (_("limit %s mm"), number);

      ef_draw_ink (style, EF_INK_TEXT, rgb);
      ef_plot_limit (plot, cr, style, TRUE, limit->wear_max * 1e3, NULL, rgb);
      ef_plot_map (plot, limit->wear_max * 1e3, plot->ay.min, &x0, &y);
      ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_TEXT, text, x0 + 0.4 * size, y - 0.4 * size, 0, 1);
    }
}

static void
draw_state_points (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, const EfSection *section)
{
  const EfFlowResult *flow = assessment->flow;

  for (int state = 0; state < EF_N_STATES; state++)
    {
      double clearance = mean_clearance (assessment, section, (EfPumpState) state) * 1e3;
      double x, y, u = flow->state[state].idle_uncertainty / BAR;

      if (!is_shown (flow, state) || clearance > plot->ax.max)
        continue;
      drop_line (plot, cr, style, looks[state].ink, clearance, flow->state[state].idle.pressure / BAR);
      if (isfinite (u))
        {
          double low, high;

          ef_plot_map (plot, clearance, flow->state[state].idle.pressure / BAR - 2 * u, &x, &low);
          ef_plot_map (plot, clearance, flow->state[state].idle.pressure / BAR + 2 * u, &x, &high);
          ef_draw_set_ink (cr, style, looks[state].ink, 1);
          ef_draw_set_width (cr, style, 1.5);
          cairo_move_to (cr, x, low);
          cairo_line_to (cr, x, high);
          cairo_stroke (cr);
        }
      ef_plot_map (plot, clearance, flow->state[state].idle.pressure / BAR, &x, &y);
      ef_draw_state_marker (cr, style, (EfPumpState) state, x, y, 4.6 * style->line_scale);
    }
}

void
ef_draw_flow_idle_pressure (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height)
{
  const EfFlowResult *flow = assessment->flow;
  const EfSection *section = flow != NULL && flow->section != NULL ? ef_pump_sheet_section (assessment->inspection->sheet, flow->section) : NULL;
  EfPlotAxis ax = { 0, 0, 0, _("End clearance, cold, mm"), FALSE };
  EfPlotAxis ay = { 0, 0, 0, _("Hot-idle pressure, bar"), FALSE };
  const EfLimit *limit;
  g_autoptr (GArray) legend = NULL;
  double top;
  EfPlot plot;

  if (section == NULL || !any_known (flow))
    {
      say (cr, style, why_not (flow), width, height);
      return;
    }
  limit = ef_pump_sheet_limit (assessment->inspection->sheet, "end-clearance", section->id);
  ax.max = 0.15;
  for (guint i = 0; i < flow->idle_pressure.n; i++)
    {
      ax.max = MAX (ax.max, flow->idle_pressure.x[i] * 1e3);
      ay.max = MAX (ay.max, flow->idle_pressure.y[i] / BAR);
    }
  ay.max = 1.06 * MAX (ay.max, highest_pressure (flow) / BAR);
  legend = legend_new ();
  legend_add_states (legend, flow);
  top = draw_legend (cr, style, legend, width, height);
  ay.title = fitting_title (cr, style, ay.title, height - top);
  ef_plot_axis_nice (&ax, ticks_for (width, style->text_size, 4.5));
  ef_plot_axis_nice (&ay, ticks_for (height - top, style->text_size, 3));
  ef_plot_init (&plot, cr, style, &ax, &ay, 0, top, width, height - top);
  ef_plot_frame (&plot, cr, style);
  draw_limits (&plot, cr, style, limit);
  draw_curve (&plot, cr, style, &flow->idle_pressure, 1e-3, BAR, EF_STATE_FOUND);
  draw_complaint (&plot, cr, style, assessment, FALSE);
  draw_state_points (&plot, cr, style, assessment, section);
}
