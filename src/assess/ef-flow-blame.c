/* Is the pump to blame? How much of the missing pressure its wear explains, and how sure that is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

#include <math.h>

/* A pressure gauge's half width where the job doesn't say: common practice, no source. */
#define GAUGE_HALF_WIDTH 0.1e5

static const char *const places[2] = { "drive", "driven" };

/* Both gears share the pocket's depth, so their end clearances are taken as off together, by the larger of the two. */
static double
end_clearance_uncertainty (const EfFindings *findings,
                           const EfSection *section)
{
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

/* Standard uncertainty of one gear's tip clearance or side play, m; NAN where it isn't known. The side play is half of the shaft's clearance. */
static double
radial_uncertainty (const EfFindings *findings,
                    const EfSection *section,
                    int gear,
                    gboolean play)
{
  const EfDerived *derived = play ? ef_flow_bore_clearance (findings, section, gear) : ef_derived_find (findings->derived, "tip-clearance", section->id, places[gear]);

  if (derived == NULL)
    return NAN;

  return play ? 0.5 * derived->uncertainty : derived->uncertainty;
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

static double
square (double value)
{
  return value * value;
}

/* Half the difference of the pressures with the end clearance of both gears an uncertainty less and more. */
static double
spread_by_ends (const EfFindings *findings,
                const EfSection *section,
                const EfFlowSpread *spread,
                double temperature,
                const EfFlowTask *task,
                GCancellable *cancellable)
{
  double u = end_clearance_uncertainty (findings, section);
  double pressure[2];

  if (isnan (u))
    return NAN;
  for (int way = 0; way < 2; way++)
    {
      EfFlowFilms *films = way == 0 ? spread->low : spread->high;
      g_auto (EfFlowGaps) moved = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, films->worn, NULL);

      for (int gear = 0; gear < 2; gear++)
        moved.end_clearance[gear] += way == 0 ? -u : u;
      if (!idle_pressure (films, &moved, task, temperature, cancellable, &pressure[way], NULL))
        return NAN;
    }

  return 0.5 * fabs (pressure[0] - pressure[1]);
}

/* The same for one gear's tip clearance or side play, which leave the films as they are. 0 where the uncertainty isn't known. */
static double
spread_by_radius (const EfFindings *findings,
                  const EfSection *section,
                  const EfFlowSpread *spread,
                  double temperature,
                  const EfFlowTask *task,
                  int gear,
                  gboolean play,
                  gboolean *known,
                  GCancellable *cancellable)
{
  double u = radial_uncertainty (findings, section, gear, play);
  double pressure[2];

  if (isnan (u))
    {
      *known = FALSE;
      return 0.0;
    }
  for (int way = 0; way < 2; way++)
    {
      g_auto (EfFlowGaps) moved = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, spread->found->worn, NULL);
      double *clearance = play ? &moved.side_play[gear] : &moved.tip_clearance[gear];

      *clearance = MAX (*clearance + (way == 0 ? -u : u), 0.0);
      if (!idle_pressure (spread->found, &moved, task, temperature, cancellable, &pressure[way], NULL))
        {
          *known = FALSE;
          return 0.0;
        }
    }

  return 0.5 * fabs (pressure[0] - pressure[1]);
}

double
ef_flow_idle_uncertainty (const EfFindings *findings,
                          const EfSection *section,
                          const EfFlowSpread *spread,
                          double temperature,
                          const EfFlowTask *task,
                          GPtrArray *assumptions,
                          GCancellable *cancellable)
{
  double sum = square (spread_by_ends (findings, section, spread, temperature, task, cancellable));
  gboolean known[2] = { TRUE, TRUE };

  if (isnan (sum))
    return NAN;
  for (int gear = 0; gear < 2; gear++)
    for (int play = 0; play < 2; play++)
      sum += square (spread_by_radius (findings, section, spread, temperature, task, gear, play == 1, &known[play], cancellable));
  if (!known[0])
    ef_flow_assume (assumptions, "The uncertainty of the tip clearance isn't known and isn't part of that of the hot-idle pressure.");
  if (!known[1])
    ef_flow_assume (assumptions, "The uncertainty of the shafts' clearance isn't known and isn't part of that of the hot-idle pressure.");

  return sqrt (sum);
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
               EfFlowFilms *new,
               const EfFlowSpread *spread,
               const EfFlowTask *task,
               GCancellable *cancellable,
               GError **error)
{
  const EfJobHeader *header = ef_inspection_header (findings->inspection);
  g_auto (EfFlowGaps) good = ef_flow_gaps (findings, section, EF_STATE_NEW, NULL, NULL, new->worn, NULL);
  g_auto (EfFlowGaps) found = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, new->worn, NULL);
  EfFlowTask then = *task;
  double temperature, as_new, as_found;

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
      !idle_pressure (new, &good, &then, temperature, cancellable, &as_new, error) ||
      !idle_pressure (spread->found, &found, &then, temperature, cancellable, &as_found, error))
    return FALSE;
  self->has_complaint = TRUE;
  self->missing = as_new - header->found_pressure;
  self->explained = as_new - as_found;
  self->explained_uncertainty = ef_flow_idle_uncertainty (findings, section, spread, temperature, &then, self->assumptions, cancellable);
  ef_flow_assume (self->assumptions, "The pressure gauge of the complaint is taken as good to ± 0.1 bar (common practice, no source).");
  self->blame = blame_sentence (self, as_new, as_found, header->found_pressure);

  return TRUE;
}
