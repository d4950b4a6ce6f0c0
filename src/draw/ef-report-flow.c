/* What the pump delivers: whether it's to blame, three states side by side, plots, what each fault costs, what was taken for granted.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "ef-draw-flow.h"
#include "ef-flow-words.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define PLOT_HEIGHT 146.0

static char *
conditions_text (const EfAssessment *assessment, const EfFlowResult *flow)
{
  const EfSection *section = ef_pump_sheet_section (assessment->inspection->sheet, flow->section);
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  const char *oil = job != NULL && job->oil != NULL && *job->oil != '\0' ? job->oil : assessment->inspection->sheet->oil;
  g_autofree char *pressure = ef_report_number (flow->rated_pressure, EF_UNIT_BAR);

  return g_strdup_printf (_("%s, %s. Hot idle: %.0f rpm, %.0f °C (%.1f mPa s). Rated: %.0f rpm, %.0f °C, %s. Displacement %.2f cm³ a turn."),
                          section != NULL ? section->name : flow->section, oil != NULL ? oil : _("oil not named"), 60 * flow->idle_speed,
                          flow->idle_temperature - 273.15, 1e3 * flow->idle_mu, 60 * flow->rated_speed, flow->rated_temperature - 273.15, pressure,
                          1e6 * flow->displacement);
}

/* --- Blame ---------------------------------------------------------------------------------------------------------------- */

static void
draw_blame (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  ef_draw_flow_blame (cr, style, data, width, height);
}

static void
lay_blame (EfPages *pages, const EfAssessment *assessment)
{
  double tall = ef_draw_flow_blame_height (ef_pages_style (pages));

  ef_pages_subheading (pages, _("Is the pump to blame?"), 20 + tall);
  if (assessment->flow->blame == NULL)
    {
      ef_pages_text (pages, _("No pressure was noted with the complaint, so this can't be said."), 1, 0, EF_INK_TEXT, 0);
      return;
    }
  ef_pages_text (pages, assessment->flow->blame, 1.1, EF_TEXT_BOLD, EF_INK_TEXT, 0);
  ef_pages_move (pages, 4);
  ef_pages_need (pages, tall);
  ef_pages_picture (pages, 0, 0, ef_pages_width (pages), tall, draw_blame, (gpointer) assessment, NULL);
  ef_pages_move (pages, tall);
}

/* --- Three states ------------------------------------------------------------------------------------------------------------ */

typedef char *(*StateText) (const EfFlowResult *flow, int state);

static char *
idle_text (const EfFlowResult *flow, int state)
{
  const EfStateFlow *at = &flow->state[state];
  g_autofree char *value = ef_format_quantity (at->idle.pressure, EF_UNIT_BAR, 2);

  if (at->idle.at_relief)
    return g_strdup_printf (_("%s (relief valve)"), value);
  if (isfinite (at->idle_uncertainty) && 2 * at->idle_uncertainty >= 0.005e5)
    return g_strdup_printf ("%s ± %.2f", value, 2 * at->idle_uncertainty / 1e5);
  return g_steal_pointer (&value);
}

static char *
delivery_text (const EfFlowResult *flow, int state)
{
  return ef_format_quantity (flow->state[state].rated.delivery, EF_UNIT_LPM, 1);
}

static char *
efficiency_text (const EfFlowResult *flow, int state)
{
  return g_strdup_printf ("%.1f %%", 100 * flow->state[state].rated.efficiency);
}

static char *
loss_text (const EfFlowResult *flow, int state)
{
  return ef_format_quantity (flow->state[state].idle.loss.pressure_loss, EF_UNIT_LPM, 2);
}

static char *
two_lengths (const double value[2])
{
  return g_strdup_printf ("%.3f / %.3f mm", 1e3 * value[0], 1e3 * value[1]);
}

static char *
end_text (const EfFlowResult *flow, int state)
{
  return two_lengths (flow->state[state].end_clearance);
}

static char *
tip_text (const EfFlowResult *flow, int state)
{
  return two_lengths (flow->state[state].tip_clearance);
}

static char *
load_text (const EfFlowResult *flow, int state)
{
  const double *load = flow->state[state].idle.loss.load;

  return g_strdup_printf ("%.0f / %.0f N", load[0], load[1]);
}

/* Beside the ±, which is first order: what drawing at random says. */
static void
lay_monte_carlo (EfPages *pages, const EfFlowResult *flow)
{
  g_autofree char *drawn = ef_flow_drawn_words (flow);
  g_autofree char *agreement = ef_flow_agreement_words (flow);
  g_autofree char *text = NULL;

  if (drawn == NULL)
    return;
  text = g_strjoin (" ", drawn, agreement, NULL);
  ef_pages_text (pages, text, 0.85, 0, EF_INK_DIM, 0);
}

static void
lay_states (EfPages *pages, const EfFlowResult *flow)
{
  const struct
  {
    const char *label;
    StateText text;
  } rows[] = {
    { _("Hot-idle pressure"), idle_text },
    { _("Delivery at rated speed"), delivery_text },
    { _("Volumetric efficiency at rated speed"), efficiency_text },
    { _("Lost through the gaps at hot idle"), loss_text },
    { _("End clearance, hot, drive / driven gear"), end_text },
    { _("Tip clearance, hot, drive / driven gear"), tip_text },
    { _("Force of the oil at hot idle, drive / driven gear"), load_text },
  };
  static const double shares[] = { 40, 20, 22, 20 };
  const char *heads[] = { _("Figure"), _("As new"), _("As found"), _("After rework") };
  gboolean unsure = isfinite (flow->state[EF_STATE_FOUND].idle_uncertainty) && 2 * flow->state[EF_STATE_FOUND].idle_uncertainty >= 0.005e5;

  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      char *texts[EF_N_STATES];

      for (int state = 0; state < EF_N_STATES; state++)
        texts[state] = flow->state[state].known ? rows[i].text (flow, state) : g_strdup ("–");
      ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (rows[i].label), EF_PAGE_CELL (texts[0]), EF_PAGE_CELL (texts[1]), EF_PAGE_CELL (texts[2]) });
      for (int state = 0; state < EF_N_STATES; state++)
        g_free (texts[state]);
    }
  ef_pages_table_end (pages);
  if (unsure)
    ef_pages_text (pages, _("±: at 95 %, from how sure the readings of end, tip and shaft clearance are."), 0.85, 0, EF_INK_DIM, 0);
  lay_monte_carlo (pages, flow);
}

static void
lay_reasons (EfPages *pages, const EfFlowResult *flow)
{
  for (int state = 0; state < EF_N_STATES; state++)
    if (!flow->state[state].known && flow->state[state].reason != NULL)
      {
        g_autofree char *text = g_strdup_printf (_("Not known %s: %s"), ef_draw_state_word (state), flow->state[state].reason);

        ef_pages_text (pages, text, 1, 0, EF_INK_TEXT, 0);
      }
}

/* --- Plots -------------------------------------------------------------------------------------------------------------------- */

static void
draw_delivery (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  ef_draw_flow_delivery (cr, style, data, width, height);
}

static void
draw_idle_pressure (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  ef_draw_flow_idle_pressure (cr, style, data, width, height);
}

static void
draw_shares (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  ef_draw_flow_shares (cr, style, data, width, height);
}

static void
put_plot (EfPages *pages, const EfAssessment *assessment, const char *title, EfPageDraw draw, double dx, double width)
{
  g_autoptr (PangoLayout) layout = ef_pages_layout (pages, title, 1.08, EF_TEXT_BOLD, width);

  ef_pages_put (pages, layout, EF_INK_TEXT, dx, 0);
  ef_pages_picture (pages, dx, 16, width, PLOT_HEIGHT, draw, (gpointer) assessment, NULL);
}

static void
lay_plots (EfPages *pages, const EfAssessment *assessment)
{
  double width = (ef_pages_width (pages) - 16) / 2;

  if (assessment->flow->idle_pressure.n == 0)
    return;
  ef_pages_need (pages, PLOT_HEIGHT + 30);
  ef_pages_space (pages, 8);
  put_plot (pages, assessment, _("Delivery against pressure at hot idle"), draw_delivery, 0, width);
  put_plot (pages, assessment, _("Hot-idle pressure against end clearance"), draw_idle_pressure, width + 16, width);
  ef_pages_move (pages, PLOT_HEIGHT + 20);
}

static void
lay_shares (EfPages *pages, const EfAssessment *assessment)
{
  double width = ef_pages_width (pages), tall;

  if (assessment->flow->shares == NULL)
    return;
  tall = MIN (ef_draw_flow_shares_height (ef_pages_style (pages), assessment, width), ef_pages_full (pages) - 40);
  ef_pages_subheading (pages, _("Where the pressure is lost"), tall);
  ef_pages_picture (pages, 0, 0, width, tall, draw_shares, (gpointer) assessment, NULL);
  ef_pages_move (pages, tall);
}

static void
lay_assumptions (EfPages *pages, const EfFlowResult *flow)
{
  if (flow->assumptions->len == 0)
    return;
  ef_pages_subheading (pages, _("Taken for granted, and not in the model"), 30);
  for (guint i = 0; i < flow->assumptions->len; i++)
    {
      g_autofree char *text = g_strdup_printf ("· %s", (const char *) g_ptr_array_index (flow->assumptions, i));

      ef_pages_text (pages, text, 0.82, 0, EF_INK_DIM, 0);
    }
}

void
ef_report_flow (EfPages *pages, const EfAssessment *assessment)
{
  const EfFlowResult *flow = assessment->flow;
  gboolean known = FALSE;

  if (flow == NULL)
    return;
  for (int state = 0; state < EF_N_STATES; state++)
    known = known || flow->state[state].known;
  ef_pages_break (pages);
  ef_pages_heading (pages, _("What the pump delivers"), 60);
  if (known)
    {
      g_autofree char *conditions = conditions_text (assessment, flow);

      ef_pages_text (pages, conditions, 0.92, 0, EF_INK_DIM, 0);
      lay_blame (pages, assessment);
      lay_states (pages, flow);
    }
  lay_reasons (pages, flow);
  if (known)
    {
      lay_plots (pages, assessment);
      lay_shares (pages, assessment);
    }
  lay_assumptions (pages, flow);
}
