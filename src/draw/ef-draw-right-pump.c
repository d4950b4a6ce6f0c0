/* Pump models compared under a demand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-right-pump.h"

#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define BAR 1e5
#define MOST_LINES 8

/* How a line looks: this pump's states as in the other plots, other models by ink and dash, told apart without colour too. */
typedef struct
{
  EfInk ink;
  double width, dash;
} Look;

static Look
look_of (const EfPumpChoice *choice, guint other)
{
  static const Look others[] = { { EF_INK_SUCTION, 2.4, 0 }, { EF_INK_TEXT, 1.6, 3 }, { EF_INK_SUCTION, 1.6, 9 }, { EF_INK_TEXT, 1.6, 12 } };

  if (choice->state == EF_STATE_FOUND)
    return (Look) { EF_INK_DELIVERY, 2.8, 0 };
  if (choice->state == EF_STATE_REWORKED)
    return (Look) { EF_INK_ACCENT, 2.0, 7 };
  if (choice->this_model)
    return (Look) { EF_INK_DIM, 1.4, 0 };
  return others[other % G_N_ELEMENTS (others)];
}

static gboolean
is_drawn (const EfPumpChoice *choice)
{
  return choice->known && choice->same_mounting;
}

/* One row an entry, in as many columns as fit; returns the height. */
static double
lay_legend (cairo_t *cr, const EfDrawStyle *style, const EfRightPump *result, double width, gboolean show)
{
  double size = ef_text_size (style, 0.9), row = 1.6 * size, sample = 2.6 * size, at = 0, y = 0.2 * size;
  guint other = 0, lines = 0;

  for (guint i = 0; i < result->choices->len && lines < MOST_LINES; i++)
    {
      const EfPumpChoice *choice = result->choices->pdata[i];
      Look look = look_of (choice, other);
      g_autofree char *text = NULL;
      g_autoptr (PangoLayout) layout = NULL;
      double w;

      if (!is_drawn (choice))
        continue;
      other += !choice->this_model;
      lines++;
      text = g_strdup_printf (_("%s: %.2f bar"), choice->label, choice->pressure / BAR);
      layout = ef_text_layout (cr, style, size, 0, text);
      ef_text_extent (layout, &w, NULL);
      if (at > 0 && at + sample + 0.5 * size + w > width)
        {
          at = 0;
          y += row;
        }
      if (show)
        {
          double dash = look.dash * style->line_scale;

          cairo_save (cr);
          ef_draw_set_ink (cr, style, look.ink, 1);
          ef_draw_set_width (cr, style, look.width);
          if (dash > 0)
            cairo_set_dash (cr, &dash, 1, 0);
          cairo_move_to (cr, at, y + row / 2);
          cairo_line_to (cr, at + sample, y + row / 2);
          cairo_stroke (cr);
          cairo_restore (cr);
          ef_text_show (cr, style, layout, EF_INK_TEXT, 0, at + sample + 0.5 * size, y + row / 2, 0, 0.5);
        }
      at += sample + 0.5 * size + w + 1.4 * size;
    }
  return y + row + 0.4 * size;
}

static double
highest (const EfRightPump *result, gboolean over_speed)
{
  double most = result->wanted / BAR;

  for (guint i = 0; i < result->choices->len; i++)
    {
      const EfPumpChoice *choice = result->choices->pdata[i];
      const EfCurve *curve = over_speed ? &choice->over_speed : &choice->over_demand;

      for (guint k = 0; is_drawn (choice) && k < curve->n; k++)
        most = fmax (most, curve->y[k] / BAR);
    }
  return most;
}

void
ef_draw_right_pump (cairo_t *cr, const EfDrawStyle *style, const EfRightPump *result, gboolean over_speed, double width, double height)
{
  double legend = lay_legend (cr, style, result, width, FALSE);
  double most = highest (result, over_speed), rgb[3];
  EfPlotAxis ax = { over_speed ? 30 * result->speed : 0.5, over_speed ? 120 * result->speed : 2, 0, over_speed ? _("pump speed, 1/min") : _("times this demand"), FALSE };
  EfPlotAxis ay = { 0, isfinite (most) && most > 0 ? most : 1, 0, _("hot-idle pressure, bar"), FALSE };
  guint other = 0;
  EfPlot plot;

  if (height - legend < 9 * style->text_size)
    legend = 0;
  else
    lay_legend (cr, style, result, width, TRUE);
  ef_plot_axis_nice (&ax, MAX ((guint) (width / (5 * style->text_size)), 2));
  ef_plot_axis_nice (&ay, MAX ((guint) ((height - legend) / (3 * style->text_size)), 2));
  ef_plot_init (&plot, cr, style, &ax, &ay, 0, legend, width - 1.4 * style->text_size, height - legend); /* the last tick's number stands half outside */
  ef_plot_frame (&plot, cr, style);
  ef_draw_ink (style, EF_INK_TEXT, rgb);
  if (isfinite (result->wanted))
    ef_plot_limit (&plot, cr, style, FALSE, result->wanted / BAR, _("wanted"), rgb);
  ef_plot_limit (&plot, cr, style, TRUE, over_speed ? 60 * result->speed : 1, "", rgb);
  for (guint i = 0; i < result->choices->len; i++)
    {
      const EfPumpChoice *choice = result->choices->pdata[i];
      const EfCurve *curve = over_speed ? &choice->over_speed : &choice->over_demand;
      Look look = look_of (choice, other);
      double x[EF_RIGHT_PUMP_POINTS], y[EF_RIGHT_PUMP_POINTS];

      if (!is_drawn (choice))
        continue;
      other += !choice->this_model;
      for (guint k = 0; k < curve->n; k++)
        {
          x[k] = over_speed ? 60 * curve->x[k] : curve->x[k];
          y[k] = curve->y[k] / BAR;
        }
      ef_draw_ink (style, look.ink, rgb);
      ef_plot_line (&plot, cr, style, x, y, curve->n, rgb, look.width, look.dash);
    }
}
