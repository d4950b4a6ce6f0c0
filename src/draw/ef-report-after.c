/* What was done, what was measured afterwards, which pump suits the demand, and what it costs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "ef-draw-right-pump.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define PLOT_HEIGHT 170.0

/* --- Work ---------------------------------------------------------------------------------------------------------------- */

static char *
passes_text (const EfWork *work)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < work->n_passes; i++)
    g_string_append_printf (text, "%s%g %s", i > 0 ? ", " : "", work->passes[i].count, work->passes[i].grit);
  if (text->len == 0)
    g_string_append (text, "–");
  return g_string_free (text, FALSE);
}

static void
lay_work (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 34, 15, 26, 14, 20 };
  const char *heads[] = { _("Face"), _("Taken off"), _("Passes"), _("By"), _("When") };
  GPtrArray *all = assessment->inspection->items[EF_ITEM_WORK];

  if (all->len == 0)
    return;
  ef_pages_subheading (pages, _("Work done"), 50);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < all->len; i++)
    {
      const EfWork *work = all->pdata[i];
      g_autofree char *face = ef_report_target (assessment, work->face_id);
      g_autofree char *removed = ef_report_number (work->removed, EF_UNIT_MM);
      g_autofree char *passes = passes_text (work);
      g_autofree char *time = work->time != NULL ? ef_report_time (work->time) : g_strdup ("–");

      ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (face), EF_PAGE_CELL (removed), EF_PAGE_CELL (passes), EF_PAGE_CELL (work->role != NULL ? work->role : "–"), EF_PAGE_CELL (time) });
    }
  ef_pages_table_end (pages);
}

/* --- Compared -------------------------------------------------------------------------------------------------------------- */

static char *
with_uncertainty (double value, double u)
{
  if (isnan (value))
    return g_strdup ("–");
  if (isnan (u))
    return g_strdup_printf ("%.3f mm", 1e3 * value);
  return g_strdup_printf ("%.3f ± %.3f mm", 1e3 * value, 2e3 * u);
}

static void
lay_compared (EfPages *pages, const EfAfter *after)
{
  static const double shares[] = { 42, 24, 24, 10, 18 };
  const char *heads[] = { _("Measured again"), _("Expected"), _("Measured"), _("En"), _("So") };

  if (after->rows->len == 0)
    return;
  ef_pages_subheading (pages, _("Against what was expected"), 50);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < after->rows->len; i++)
    {
      const EfAfterRow *row = after->rows->pdata[i];
      g_autofree char *predicted = with_uncertainty (row->predicted, row->u_predicted);
      g_autofree char *measured = with_uncertainty (row->measured, row->u_measured);
      g_autofree char *en = isnan (row->en) ? g_strdup ("–") : g_strdup_printf ("%.1f", fabs (row->en) < 0.05 ? 0.0 : row->en);

      ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (row->label), EF_PAGE_CELL (predicted), EF_PAGE_CELL (measured), EF_PAGE_CELL (en), EF_PAGE_CELL (isnan (row->en) ? _("can't be said") : row->outside ? _("outside") : _("as expected")) });
    }
  ef_pages_table_end (pages);
  ef_pages_text (pages, _("En: difference over the combined expanded uncertainty (k = 2); beyond 1 it's outside what both allow."), 0.85, 0, EF_INK_DIM, 0);
}

void
ef_report_after (EfPages *pages, const EfAssessment *assessment)
{
  const EfAfter *after = assessment->after;
  double size = ef_pages_style (pages)->text_size;
  g_autofree char *verdict = NULL;

  if (after == NULL)
    return;
  ef_pages_heading (pages, _("After rework"), 80);
  verdict = g_strdup_printf (_("Verdict after rework: %s"), _(ef_verdict_label (after->verdict->word)));
  ef_pages_verdict (pages, after->verdict->word, 0, 0, 1.3 * size);
  ef_pages_text (pages, verdict, 1.15, EF_TEXT_BOLD, EF_INK_TEXT, 2 * size);
  ef_pages_text (pages, after->summary, 1, 0, EF_INK_TEXT, 2 * size);
  ef_pages_move (pages, 4);
  lay_work (pages, assessment);
  lay_compared (pages, after);
  ef_pages_move (pages, 4);
  for (guint i = 0; i < after->rows->len; i++)
    if (((const EfAfterRow *) after->rows->pdata[i])->outside)
      ef_pages_text (pages, ((const EfAfterRow *) after->rows->pdata[i])->sentence, 1, 0, EF_INK_TEXT, 0);
}

/* --- The right pump ---------------------------------------------------------------------------------------------------------- */

static void
draw_over_speed (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  ef_draw_right_pump (cr, style, data, TRUE, width, height);
}

static void
draw_over_demand (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  ef_draw_right_pump (cr, style, data, FALSE, width, height);
}

static char *
demand_text (const EfDemand *demand)
{
  GString *text = g_string_new (NULL);

  if (demand->cooler_drop > 0)
    g_string_append_printf (text, _("An extra oil cooler and its lines, %.2f bar at %.1f L/min. "), 1e-5 * demand->cooler_drop, 6e4 * demand->cooler_flow);
  if (demand->extra_flow > 0)
    g_string_append_printf (text, _("Added consumers, %.1f L/min at %.2f bar. "), 6e4 * demand->extra_flow, 1e-5 * demand->extra_pressure);
  if (fabs (demand->hotter) > 0)
    g_string_append_printf (text, _("Oil %.0f K hotter. "), demand->hotter);
  if (demand->speed > 0)
    g_string_append_printf (text, _("Idle at %.0f 1/min of the pump. "), 60 * demand->speed);
  if (demand->note != NULL)
    g_string_append (text, demand->note);
  return g_string_free (text, FALSE);
}

void
ef_report_right_pump (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 30, 17, 17, 17, 17, 34 };
  const char *heads[] = { _("Pump"), _("Hot idle"), _("Before"), _("Delivery"), _("Scavenge"), _("Mounting, pickup") };
  const EfDemand *demand = ef_inspection_find (assessment->inspection, EF_ITEM_DEMAND, "demand");
  EfRightPump *result = assessment->right_pump;
  double width = (ef_pages_width (pages) - 16) / 2;
  g_autofree char *asked = NULL;

  if (demand == NULL || result == NULL)
    return;
  ef_pages_heading (pages, _("The right pump?"), 90);
  asked = demand_text (demand);
  ef_pages_text (pages, asked, 1, 0, EF_INK_DIM, 0);
  ef_pages_text (pages, result->sentence, 1.1, EF_TEXT_BOLD, EF_INK_TEXT, 0);
  ef_pages_move (pages, 4);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < result->choices->len; i++)
    {
      const EfPumpChoice *choice = result->choices->pdata[i];
      g_autofree char *pressure = choice->known ? g_strdup_printf ("%.2f bar", 1e-5 * choice->pressure) : g_strdup ("–");
      g_autofree char *before = choice->known ? g_strdup_printf ("%.2f bar", 1e-5 * choice->before) : g_strdup ("–");
      g_autofree char *delivery = choice->known ? g_strdup_printf ("%.1f L/min", 6e4 * choice->delivery) : g_strdup ("–");
      g_autofree char *scavenge = isfinite (choice->scavenge_margin) ? g_strdup_printf ("× %.2f", choice->scavenge_margin) : g_strdup ("–");
      const char *fits = choice->this_model ? _("as it is") : !choice->same_mounting ? _("other mounting") : choice->same_pickup ? _("same mounting and pickup") : _("same mounting, other pickup");

      ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (choice->label), EF_PAGE_CELL (pressure), EF_PAGE_CELL (before), EF_PAGE_CELL (delivery), EF_PAGE_CELL (scavenge), EF_PAGE_CELL (fits) });
    }
  ef_pages_table_end (pages);
  ef_pages_need (pages, PLOT_HEIGHT + 8);
  ef_pages_picture (pages, 0, 0, width, PLOT_HEIGHT, draw_over_speed, result, NULL);
  ef_pages_picture (pages, width + 16, 0, width, PLOT_HEIGHT, draw_over_demand, result, NULL);
  ef_pages_move (pages, PLOT_HEIGHT + 8);
  for (guint i = 0; i < result->notes->len; i++)
    ef_pages_text (pages, result->notes->pdata[i], 0.85, 0, EF_INK_DIM, 0);
}

/* --- Cost ------------------------------------------------------------------------------------------------------------------------ */

void
ef_report_cost (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 40, 12, 22, 16, 24 };
  const char *heads[] = { _("Kind of work"), _("Count"), _("Minutes each"), _("Minutes"), _("Amount") };
  const EfCostSummary *cost = assessment->cost;
  g_autofree char *rate = NULL;
  g_autofree char *parts = NULL;
  g_autofree char *pump = NULL;
  g_autofree char *line = NULL;

  /* Without a word from the shop there's nothing to count in money, and nothing to print. */
  if (cost == NULL || ef_inspection_find (assessment->inspection, EF_ITEM_COST, "cost") == NULL)
    return;
  ef_pages_heading (pages, _("Cost"), 90);
  ef_pages_text (pages, cost->sentence, 1.1, EF_TEXT_BOLD, EF_INK_TEXT, 0);
  ef_pages_move (pages, 4);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint kind = 0; kind < EF_N_COST_KINDS; kind++)
    {
      const EfCostLine *one = &cost->line[kind];
      g_autofree char *count = g_strdup_printf ("%g", one->count);
      g_autofree char *minutes = g_strdup_printf (one->own ? "%g" : _("%g (common practice)"), one->minutes);
      g_autofree char *total = g_strdup_printf ("%.0f", one->total);
      g_autofree char *amount = ef_cost_amount_text (one->amount, cost->currency);

      if (one->count > 0)
        ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (_(ef_cost_kind_label (kind))), EF_PAGE_CELL (count), EF_PAGE_CELL (minutes), EF_PAGE_CELL (total), EF_PAGE_CELL (amount) });
    }
  ef_pages_table_end (pages);
  rate = ef_cost_amount_text (cost->hour_rate, cost->currency);
  parts = ef_cost_amount_text (cost->parts, cost->currency);
  pump = ef_cost_amount_text (cost->new_pump, cost->currency);
  line = g_strdup_printf (_("The shop's rates: an hour %s; parts and materials %s; a new pump %s. Minutes marked common practice have no source."), rate, parts, pump);
  ef_pages_text (pages, line, 0.9, 0, EF_INK_DIM, 0);
}
