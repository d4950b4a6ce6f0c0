/* Is the pump to blame? How much of the missing pressure its wear explains, and how sure that is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

#include <math.h>

/* A pressure gauge's half width where the job doesn't say: common practice, no source. */
#define GAUGE_HALF_WIDTH 0.1e5

static double
end_clearance_uncertainty (const EfFindings *findings,
                           const EfSection *section)
{
  static const char *const places[2] = { "drive", "driven" };
  double worst = NAN;

  for (int gear = 0; gear < 2; gear++)
    {
      const EfDerived *derived = ef_derived_find (findings->derived, "end-clearance", section->id, places[gear]);

      if (derived == NULL || isnan (derived->uncertainty))
        return NAN;
      worst = fmax (worst, derived->uncertainty);
    }

  return worst;
}

static gboolean
idle_pressure (EfFlowFilms *films,
               EfFlowGaps *gaps,
               const EfFlowTask *task,
               double temperature,
               GCancellable *cancellable,
               double *pressure_out,
               GError **error)
{
  EfWorkingPoint point;

  if (!ef_flow_gaps_heat (gaps, temperature, error) || !ef_flow_films_set (films, gaps, cancellable, error) ||
      !ef_flow_films_idle (films, gaps, task, &point, error))
    return FALSE;
  *pressure_out = point.pressure;

  return TRUE;
}

double
ef_flow_idle_uncertainty (const EfFindings *findings,
                          const EfSection *section,
                          EfFlowFilms *films,
                          const EfFlowGaps *gaps,
                          const EfFlowTask *task,
                          GCancellable *cancellable)
{
  double u = end_clearance_uncertainty (findings, section);
  double pressure[2];

  if (isnan (u))
    return NAN;
  for (int way = 0; way < 2; way++)
    {
      g_auto (EfFlowGaps) moved = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, NULL);

      for (int gear = 0; gear < 2; gear++)
        moved.end_clearance[gear] += way == 0 ? -u : u;
      if (!idle_pressure (films, &moved, task, gaps->temperature, cancellable, &pressure[way], NULL))
        return NAN;
    }

  return 0.5 * fabs (pressure[0] - pressure[1]);
}

static char *
blame_sentence (const EfFlowResult *self,
                double as_new,
                double found,
                double measured)
{
  const char *elsewhere = "main and big-end bearings, relief valve, strainer and suction leaks, oil grade and fuel in it, the gauge itself";
  double missing = self->missing / 1e5;
  double explained = self->explained / 1e5;
  double margin = 2.0 * self->explained_uncertainty / 1e5;
  g_autofree char *sure = isnan (margin) ? g_strdup ("its uncertainty isn't known: the end clearance's gauges aren't noted")
                                         : g_strdup_printf ("± %.2f bar at 95 %%", margin);

  if (self->missing <= GAUGE_HALF_WIDTH)
    return g_strdup_printf ("No pressure is missing: %.2f bar was measured where a pump as new makes %.2f bar.", measured / 1e5, as_new / 1e5);
  if (self->explained < 0.15 * self->missing)
    return g_strdup_printf ("The pump is not to blame: its wear explains %.2f bar (%s) of the %.2f bar missing; look at %s.", explained, sure, missing, elsewhere);
  if (self->missing - self->explained <= GAUGE_HALF_WIDTH + (isnan (margin) ? 0.0 : margin * 1e5))
    return g_strdup_printf ("The pump's wear explains the missing pressure: %.2f bar (%s) of the %.2f bar missing.", explained, sure, missing);

  return g_strdup_printf ("The pump's wear explains %.0f %% of the missing pressure: %.2f bar (%s) of %.2f bar; for the rest look at %s.",
                          100.0 * explained / missing, explained, sure, missing, elsewhere);
}

/* At the speed and temperature of the complaint. */
gboolean
ef_flow_blame (EfFlowResult *self,
               const EfFindings *findings,
               const EfSection *section,
               EfFlowFilms *films,
               const EfFlowTask *task,
               GCancellable *cancellable,
               GError **error)
{
  const EfJobHeader *header = ef_inspection_header (findings->inspection);
  g_auto (EfFlowGaps) new = ef_flow_gaps (findings, section, EF_STATE_NEW, NULL, NULL, NULL);
  g_auto (EfFlowGaps) found = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, NULL);
  EfFlowTask then = *task;
  double temperature, as_new, as_found, u;

  if (header == NULL || isnan (header->found_pressure))
    return TRUE;
  temperature = isnan (header->found_temperature) ? self->idle_temperature : header->found_temperature;
  if (!isnan (header->found_speed) && header->found_speed > 0.0)
    then.speed = header->found_speed;
  if (isnan (header->found_temperature))
    ef_flow_assume (self->assumptions, "The complaint names no oil temperature: hot idle's %.0f °C is taken.", temperature - 273.15);
  if (isnan (header->found_speed))
    ef_flow_assume (self->assumptions, "The complaint names no speed: hot idle's is taken.");
  if (!ef_flow_viscosity (findings->inspection, temperature, &then.mu, self->assumptions, error) ||
      !idle_pressure (films, &new, &then, temperature, cancellable, &as_new, error) ||
      !idle_pressure (films, &found, &then, temperature, cancellable, &as_found, error))
    return FALSE;
  self->has_complaint = TRUE;
  self->missing = as_new - header->found_pressure;
  self->explained = as_new - as_found;
  u = ef_flow_idle_uncertainty (findings, section, films, &found, &then, cancellable);
  self->explained_uncertainty = u;
  ef_flow_assume (self->assumptions, "The pressure gauge of the complaint is taken as good to ± 0.1 bar (common practice, no source).");
  self->blame = blame_sentence (self, as_new, as_found, header->found_pressure);

  return TRUE;
}
