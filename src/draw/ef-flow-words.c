/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-flow-words.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define SURE 0.999 /* a probability beyond which a percentage says too much */
#define ALIKE 0.15 /* of the width by which the ends of two intervals may differ */

gboolean
ef_flow_first_order (const EfFlowResult *flow, double *low_out, double *high_out)
{
  const EfStateFlow *found = &flow->state[EF_STATE_FOUND];

  if (!found->known || !isfinite (found->idle_uncertainty))
    return FALSE;
  *low_out = found->idle.pressure - 2 * found->idle_uncertainty;
  *high_out = found->idle.pressure + 2 * found->idle_uncertainty;
  return TRUE;
}

static void
append_below (GString *text, const EfFlowMonteCarlo *drawn)
{
  double demand = drawn->demand_pressure / 1e5;

  if (isnan (drawn->demand_pressure))
    return;
  g_string_append_c (text, ' ');
  if (drawn->below > SURE)
    g_string_append_printf (text, _("It is almost certainly below the pump sheet's %.2f bar."), demand);
  else if (drawn->below < 1 - SURE)
    g_string_append_printf (text, _("It is almost certainly not below the pump sheet's %.2f bar."), demand);
  else
    g_string_append_printf (text, _("It is below the pump sheet's %.2f bar with a probability of %.1f %%."), demand, 100 * drawn->below);
}

char *
ef_flow_drawn_words (const EfFlowResult *flow)
{
  const EfFlowMonteCarlo *drawn = &flow->monte_carlo;
  GString *text;

  if (!drawn->known)
    return NULL;
  text = g_string_new (NULL);
  g_string_append_printf (text, _("Clearances drawn at random within how sure their readings are, %u times: the hot-idle pressure as found is %.2f bar on average, and in "
                                  "95 %% of the draws between %.2f and %.2f bar; %.2f to %.2f L/min are lost through the gaps."),
                          drawn->draws, drawn->pressure.mean / 1e5, drawn->pressure.low / 1e5, drawn->pressure.high / 1e5, drawn->leakage.low * 6e4,
                          drawn->leakage.high * 6e4);
  append_below (text, drawn);
  return g_string_free (text, FALSE);
}

char *
ef_flow_agreement_words (const EfFlowResult *flow)
{
  const EfSpreadFigure *drawn = &flow->monte_carlo.pressure;
  double low, high, width, wide;

  if (!flow->monte_carlo.known || !ef_flow_first_order (flow, &low, &high))
    return NULL;
  width = drawn->high - drawn->low;
  wide = high - low;
  if (fmax (fabs (low - drawn->low), fabs (high - drawn->high)) <= ALIKE * fmax (width, wide))
    return g_strdup (_("Both ways agree."));
  if (width < wide)
    return g_strdup (_("The ± is wider: it takes both gears to be off together, each by the larger uncertainty. The drawn interval counts what the gauges really share."));
  return g_strdup (_("The drawn interval is wider or lies to one side: pressure doesn't fall evenly with clearance. Go by the drawn one."));
}
