/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

#include "../flow/ef-displacement.h"

#include <math.h>
#include <string.h>

#define CURVE_POINTS 21
#define DRAWS 50000 /* sampling error of the standard uncertainty: 0.3 % */
#define SEED 1

#define POSITIONS 4
#define COARSE_CELLS 64
#define FINE_CELLS 256

/* Films are kept apart by what they are used for, so that none of them is solved again for the other's temperature or trial. */
typedef enum
{
  FILMS_COARSE,
  FILMS_FINE,
  FILMS_RATED,
  FILMS_TRIAL,
  FILMS_BLAME, /* at the complaint's temperature: as new and as found */
  FILMS_BLAME_LOW,
  FILMS_BLAME_HIGH,
  FILMS_IDLE, /* at hot idle's */
  FILMS_IDLE_LOW,
  FILMS_IDLE_HIGH,
  FILMS_DRAWN,
  FILMS_WEIGHTS,
  N_FILMS
} FilmsUse;

struct _EfFlowCache
{
  GMutex lock;
  EfPumpSheet *sheet; /* held: the films are for its geometry */
  EfSectionFlow *like[2]; /* coarse and fine: what all films of that size share */
  EfWornMaps *worn;
  EfFlowFilms *films[N_FILMS][EF_N_STATES];
  EfFlowWeights *weights; /* of last time */
};

const char *
ef_pump_state_name (EfPumpState state)
{
  static const char *const names[EF_N_STATES] = { "as-new", "as-found", "after-rework" };

  return names[state];
}

EfFlowCache *
ef_flow_cache_new (void)
{
  EfFlowCache *cache = g_new0 (EfFlowCache, 1);

  g_mutex_init (&cache->lock);
  cache->worn = ef_worn_maps_new ();

  return cache;
}

static void
cache_empty (EfFlowCache *cache)
{
  for (int use = 0; use < N_FILMS; use++)
    for (int state = 0; state < EF_N_STATES; state++)
      g_clear_pointer (&cache->films[use][state], ef_flow_films_free);
  for (int fine = 0; fine < 2; fine++)
    g_clear_pointer (&cache->like[fine], ef_section_flow_free);
  g_clear_pointer (&cache->weights, ef_flow_weights_unref);
  g_clear_pointer (&cache->sheet, ef_pump_sheet_unref);
}

static void
serve_sheet (EfFlowCache *cache,
             EfPumpSheet *sheet)
{
  if (cache->sheet == sheet)
    return;
  cache_empty (cache);
  cache->sheet = ef_pump_sheet_ref (sheet);
}

void
ef_flow_cache_free (EfFlowCache *cache)
{
  if (cache == NULL)
    return;
  cache_empty (cache);
  ef_worn_maps_free (cache->worn);
  g_mutex_clear (&cache->lock);
  g_free (cache);
}

static EfFlowResult *
result_new (void)
{
  EfFlowResult *self = g_new0 (EfFlowResult, 1);

  self->ref_count = 1;
  self->displacement_ratio = NAN;
  self->missing = self->explained = self->explained_uncertainty = NAN;
  self->monte_carlo.demand_pressure = self->monte_carlo.below = NAN;
  self->assumptions = g_ptr_array_new_with_free_func (g_free);
  for (int state = 0; state < EF_N_STATES; state++)
    self->state[state].idle_uncertainty = NAN;

  return self;
}

EfFlowResult *
ef_flow_result_ref (EfFlowResult *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

static void
curve_clear (EfCurve *curve)
{
  g_clear_pointer (&curve->x, g_free);
  g_clear_pointer (&curve->y, g_free);
}

void
ef_flow_result_unref (EfFlowResult *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;
  for (int state = 0; state < EF_N_STATES; state++)
    {
      g_free (self->state[state].reason);
      curve_clear (&self->delivery[state]);
    }
  curve_clear (&self->idle_pressure);
  ef_flow_monte_carlo_clear (&self->monte_carlo);
  g_clear_pointer (&self->shares, g_ptr_array_unref);
  g_ptr_array_unref (self->assumptions);
  g_free (self->section);
  g_free (self->blame);
  g_free (self);
}

/* Speed, pressure, temperature and demand: hot idle's, and the rated point's. */
static gboolean
fill_points (EfFlowResult *self,
             const EfInspection *inspection,
             GError **error)
{
  const EfPumpSheet *sheet = inspection->sheet;
  const EfRatedPoint *idle = ef_pump_sheet_rated (sheet, "hot idle");
  const EfRatedPoint *rated = ef_pump_sheet_rated (sheet, "rated");
  const EfRatedPoint *known = idle != NULL && !isnan (idle->demand) ? idle : rated;
  double mu;

  if (idle == NULL || known == NULL || isnan (known->demand))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: the pump sheet has no rated point \"hot idle\" with a demand (flow_l_min): the hot-idle pressure can't be worked out", sheet->file);
      return FALSE;
    }
  self->idle_speed = idle->speed;
  self->idle_temperature = idle->temperature;
  self->rated_speed = rated != NULL ? rated->speed : idle->speed;
  self->rated_temperature = rated != NULL ? rated->temperature : idle->temperature;
  self->rated_pressure = rated != NULL ? rated->pressure : idle->pressure;
  self->relief = sheet->relief;
  if (!ef_flow_viscosity (inspection, self->idle_temperature, &self->idle_mu, self->assumptions, error) ||
      !ef_flow_viscosity (inspection, self->rated_temperature, &self->rated_mu, self->assumptions, error) ||
      !ef_flow_viscosity (inspection, known->temperature, &mu, NULL, error))
    return FALSE;
  if (!isnan (self->relief) && self->rated_pressure > self->relief)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: the rated pressure %.2f bar is above the relief valve's %.2f bar", sheet->file, self->rated_pressure / 1e5, self->relief / 1e5);
      return FALSE;
    }

  return ef_demand_constant (known->demand, known->pressure, mu, &self->demand, error);
}

static gboolean
fill_displacement (EfFlowResult *self,
                   const EfPumpSheet *sheet,
                   const EfSection *section,
                   GError **error)
{
  EfDisplacement own;

  if (!ef_displacement_solve (&section->pair, &own, error))
    return FALSE;
  self->displacement = own.volume;
  self->ripple = own.ripple;
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *other = sheet->sections->pdata[i];
      EfDisplacement scavenge;

      if (other->role == EF_SECTION_SCAVENGE && ef_displacement_solve (&other->pair, &scavenge, NULL))
        self->displacement_ratio = ef_displacement_ratio (&scavenge, &own);
    }

  return TRUE;
}

static void
note_limits_of_model (EfFlowResult *self)
{
  const char *const sentences[] = {
    "The side films are laminar and steady; the drag of the turning gear ends (0.1 to 0.3 % of delivery) is left out.",
    "Each gear end has half of the end clearance; a gear that rests against one side would leak up to four times as much there.",
    "The mesh seals at one contact line; flank wear and backlash don't leak in this model.",
    "Not modelled: shear thinning (multigrade oils lose 10 to 30 % at high shear), fuel in the oil, air, filling losses, cavitation.",
    "The engine's resistance follows the viscosity (k p / mu); the relief valve opens at its setting and holds it.",
    "Scavenge sections pump mostly air-laden oil: only displacement and clearances are judged there.",
  };

  for (gsize i = 0; i < G_N_ELEMENTS (sentences); i++)
    ef_flow_assume (self->assumptions, "%s", sentences[i]);
}

/* The worst of the three states, once. */
static void
note_losses (EfFlowResult *self)
{
  double reynolds = 0.0;
  double entry = 0.0;

  for (int state = 0; state < EF_N_STATES; state++)
    {
      const EfSectionLoss *loss = &self->state[state].idle.loss;

      if (!self->state[state].known)
        continue;
      reynolds = MAX (reynolds, loss->reynolds);
      entry = MAX (entry, loss->entry_share);
    }
  if (reynolds > 1000.0)
    ef_flow_assume (self->assumptions, "Some tip gaps may be turbulent (rho U h / mu up to %.0f, laminar below 1000).", reynolds);
  if (entry > 0.1)
    ef_flow_assume (self->assumptions, "Entry losses at the tips reach up to %.0f %% of a step: the tip loss is overestimated.", 100.0 * entry);
}

static gboolean
fill_rated (EfFlowResult *self,
            EfFlowFilms *films,
            EfFlowGaps *gaps,
            EfStateFlow *state,
            GCancellable *cancellable,
            GError **error)
{
  EfFlowTask rated = { self->rated_speed, self->rated_mu, self->displacement, self->demand, NAN, self->rated_pressure };

  return ef_flow_gaps_heat (gaps, self->rated_temperature, error) && ef_flow_films_set (films, gaps, cancellable, error) &&
         ef_flow_films_deliver (films, gaps, &rated, self->rated_pressure, &state->rated, error);
}

static gboolean
fill_idle (EfFlowResult *self,
           EfFlowFilms *films,
           EfFlowGaps *gaps,
           EfStateFlow *state,
           GCancellable *cancellable,
           GError **error)
{
  EfFlowTask idle = { self->idle_speed, self->idle_mu, self->displacement, self->demand, self->relief, 1e5 };

  if (!ef_flow_gaps_heat (gaps, self->idle_temperature, error) || !ef_flow_films_set (films, gaps, cancellable, error) ||
      !ef_flow_films_idle (films, gaps, &idle, &state->idle, error))
    return FALSE;
  for (int gear = 0; gear < 2; gear++)
    {
      state->end_clearance[gear] = gaps->hot_end[gear];
      state->tip_clearance[gear] = gaps->hot_tip[gear];
      state->side_play[gear] = gaps->side_play[gear];
    }
  state->known = TRUE;

  return TRUE;
}

static void
fill_delivery_curve (EfFlowResult *self,
                     EfFlowFilms *films,
                     EfFlowGaps *gaps,
                     EfCurve *curve)
{
  EfFlowTask idle = { self->idle_speed, self->idle_mu, self->displacement, self->demand, NAN, 1e5 };
  double most = isnan (self->relief) ? self->rated_pressure : self->relief;

  curve->x = g_new (double, CURVE_POINTS);
  curve->y = g_new (double, CURVE_POINTS);
  for (guint i = 0; i < CURVE_POINTS; i++)
    {
      EfWorkingPoint point;
      double p = most * (i + 1) / CURVE_POINTS;

      if (!ef_flow_films_deliver (films, gaps, &idle, p, &point, NULL))
        break;
      curve->x[i] = p;
      curve->y[i] = point.delivery;
      curve->n = i + 1;
    }
}

/* Hot-idle pressure over cold end clearance, the wear as found. Both gears have the same clearance. */
static gboolean
fill_idle_curve (EfFlowResult *self,
                 EfFlowFilms *films,
                 EfFlowGaps *gaps,
                 GCancellable *cancellable)
{
  EfFlowTask idle = { self->idle_speed, self->idle_mu, self->displacement, self->demand, self->relief, 1e5 };
  double found[2] = { gaps->end_clearance[0], gaps->end_clearance[1] };
  double most = MAX (0.20e-3, 1.3 * MAX (found[0], found[1]));
  EfCurve *curve = &self->idle_pressure;

  curve->x = g_new (double, CURVE_POINTS);
  curve->y = g_new (double, CURVE_POINTS);
  for (guint i = 0; i < CURVE_POINTS; i++)
    {
      EfWorkingPoint point;

      gaps->end_clearance[0] = gaps->end_clearance[1] = 0.02e-3 + (most - 0.02e-3) * i / (CURVE_POINTS - 1);
      if (g_cancellable_is_cancelled (cancellable))
        return FALSE;
      if (!ef_flow_gaps_heat (gaps, self->idle_temperature, NULL) || !ef_flow_films_set (films, gaps, cancellable, NULL) ||
          !ef_flow_films_idle (films, gaps, &idle, &point, NULL))
        continue;
      curve->x[curve->n] = gaps->end_clearance[0];
      curve->y[curve->n++] = point.pressure;
    }
  gaps->end_clearance[0] = found[0];
  gaps->end_clearance[1] = found[1];

  return TRUE;
}

static EfFlowFilms *
cached_films (EfFlowCache *cache,
              const EfFlowGeometry *geometry,
              FilmsUse use,
              EfPumpState state,
              GError **error)
{
  gboolean fine = use == FILMS_FINE;

  if (cache->films[use][state] != NULL)
    return cache->films[use][state];
  if (cache->like[fine] == NULL)
    cache->like[fine] = ef_section_flow_new (geometry, fine ? FINE_CELLS : COARSE_CELLS, POSITIONS, EF_FILM_CONDENSE, error);
  if (cache->like[fine] == NULL)
    return NULL;
  cache->films[use][state] = ef_flow_films_new (ef_section_flow_new_like (cache->like[fine]), cache->worn);

  return cache->films[use][state];
}

static gboolean
is_cancelled (const GError *error)
{
  return g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED);
}

static gboolean
fill_states (EfFlowResult *self,
             const EfFindings *findings,
             const EfSection *section,
             GHashTable *stock,
             const double clearance_after[2],
             EfFlowDetail detail,
             EfFlowCache *cache,
             const EfFlowGeometry *geometry,
             GCancellable *cancellable,
             GError **error)
{
  FilmsUse use = detail == EF_DETAIL_COARSE ? FILMS_COARSE : FILMS_FINE;

  for (int state = 0; state < EF_N_STATES; state++)
    {
      g_auto (EfFlowGaps) gaps = ef_flow_gaps (findings, section, state, stock, clearance_after, cache->worn, self->assumptions);
      EfFlowFilms *films = cached_films (cache, geometry, use, state, error);
      EfFlowFilms *rated = films != NULL ? cached_films (cache, geometry, FILMS_RATED, state, error) : NULL;
      g_autoptr (GError) problem = NULL;

      if (rated == NULL)
        return FALSE;
      if (!fill_rated (self, rated, &gaps, &self->state[state], cancellable, &problem) ||
          !fill_idle (self, films, &gaps, &self->state[state], cancellable, &problem))
        {
          if (is_cancelled (problem))
            {
              g_propagate_error (error, g_steal_pointer (&problem));
              return FALSE;
            }
          self->state[state].reason = g_strdup (problem->message);
          continue;
        }
      if (detail == EF_DETAIL_FULL)
        fill_delivery_curve (self, films, &gaps, &self->delivery[state]);
    }

  return TRUE;
}

/* The three films that an uncertainty takes, beginning with @use; FALSE when they can't be made. */
static gboolean
cached_spread (EfFlowCache *cache,
               const EfFlowGeometry *geometry,
               FilmsUse use,
               EfFlowSpread *spread,
               GError **error)
{
  spread->found = cached_films (cache, geometry, use, EF_STATE_FOUND, error);
  if (spread->found == NULL)
    return FALSE;
  spread->low = cached_films (cache, geometry, use + 1, EF_STATE_FOUND, error);
  spread->high = cached_films (cache, geometry, use + 2, EF_STATE_FOUND, error);

  return TRUE;
}

/* The hot-idle pressure that the sheet asks for, Pa; NAN. */
static double
demand_pressure (const EfPumpSheet *sheet)
{
  const EfRatedPoint *idle = ef_pump_sheet_rated (sheet, "hot idle");

  return idle != NULL && !isnan (idle->demand) ? idle->pressure : NAN;
}

/* On the coarse films, brought to the loss of those that the figures shown are from. */
static gboolean
fill_monte_carlo (EfFlowResult *self,
                  const EfFindings *findings,
                  const EfSection *section,
                  guint32 seed,
                  guint draws,
                  EfFlowCache *cache,
                  const EfFlowGeometry *geometry,
                  GCancellable *cancellable,
                  GError **error)
{
  EfFlowTask idle = { self->idle_speed, self->idle_mu, self->displacement, self->demand, self->relief, 1e5 };
  EfFlowFilms *films = cached_films (cache, geometry, FILMS_DRAWN, EF_STATE_FOUND, error);
  EfFlowDraws what = { seed, draws, self->state[EF_STATE_FOUND].idle.loss.constant, demand_pressure (findings->inspection->sheet) };

  return films != NULL && ef_flow_draw (findings, section, films, self->idle_temperature, &idle, &what, cancellable, &self->monte_carlo, error);
}

/* Shares, uncertainty, blame and the curve over end clearance are differences of like with like: the coarse films serve. */
static gboolean
fill_rest (EfFlowResult *self,
           const EfFindings *findings,
           const EfSection *section,
           EfFlowDetail detail,
           EfFlowCache *cache,
           const EfFlowGeometry *geometry,
           GCancellable *cancellable,
           GError **error)
{
  g_auto (EfFlowGaps) gaps = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, cache->worn, NULL);
  EfFlowTask idle = { self->idle_speed, self->idle_mu, self->displacement, self->demand, self->relief, 1e5 };
  EfFlowFilms *films = cached_films (cache, geometry, FILMS_TRIAL, EF_STATE_FOUND, error);
  EfFlowFilms *new = films != NULL ? cached_films (cache, geometry, FILMS_BLAME, EF_STATE_NEW, error) : NULL;
  EfFlowSpread spread;

  if (new == NULL)
    return FALSE;
  if (detail == EF_DETAIL_COARSE || !self->state[EF_STATE_FOUND].known || !self->state[EF_STATE_NEW].known)
    return TRUE;
  if (!cached_spread (cache, geometry, FILMS_BLAME, &spread, error) ||
      !ef_flow_blame (self, findings, section, new, &spread, &idle, cancellable, error))
    return FALSE;
  if (detail != EF_DETAIL_FULL)
    return TRUE;
  if (!ef_flow_shares (self, findings, section, films, &idle, cancellable, error) ||
      !cached_spread (cache, geometry, FILMS_IDLE, &spread, error))
    return FALSE;
  self->state[EF_STATE_FOUND].idle_uncertainty = ef_flow_idle_uncertainty (findings, section, &spread, self->idle_temperature, &idle, self->assumptions, cancellable);
  if (!fill_monte_carlo (self, findings, section, SEED, DRAWS, cache, geometry, cancellable, error))
    return FALSE;
  if (fill_idle_curve (self, films, &gaps, cancellable))
    return TRUE;
  g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "flow: cancelled");

  return FALSE;
}

static gboolean
fill_result (EfFlowResult *self,
             const EfFindings *findings,
             const EfSection *section,
             GHashTable *stock,
             const double clearance_after[2],
             EfFlowDetail detail,
             EfFlowCache *cache,
             GCancellable *cancellable,
             GError **error)
{
  EfFlowGeometry geometry = ef_flow_geometry (findings, section);
  gboolean ok;

  serve_sheet (cache, findings->inspection->sheet);
  ok = fill_states (self, findings, section, stock, clearance_after, detail, cache, &geometry, cancellable, error) &&
       fill_rest (self, findings, section, detail, cache, &geometry, cancellable, error);
  ef_flow_geometry_clear (&geometry);
  ef_worn_maps_sweep (cache->worn);

  return ok;
}

EfFlowResult *
ef_flow_result_new (const EfFindings *findings,
                    GHashTable *stock,
                    const double clearance_after[2],
                    EfFlowDetail detail,
                    EfFlowCache *cache,
                    GCancellable *cancellable,
                    GError **error)
{
  const EfSection *section = ef_flow_section (findings->inspection->sheet);
  EfFlowCache *own = cache == NULL ? ef_flow_cache_new () : NULL;
  EfFlowCache *use = cache != NULL ? cache : own;
  g_autoptr (EfFlowResult) self = result_new ();
  g_autoptr (GError) problem = NULL;
  gboolean ok;

  self->cells = detail == EF_DETAIL_COARSE ? COARSE_CELLS : FINE_CELLS;
  self->positions = POSITIONS;
  if (section == NULL)
    {
      ef_flow_assume (self->assumptions, "The pump has no pressure section: no delivery is worked out.");
      for (int state = 0; state < EF_N_STATES; state++)
        self->state[state].reason = g_strdup ("the pump has no pressure section");
      g_clear_pointer (&own, ef_flow_cache_free);
      return g_steal_pointer (&self);
    }
  self->section = g_strdup (section->id);
  g_mutex_lock (&use->lock);
  ok = fill_displacement (self, findings->inspection->sheet, section, &problem) &&
       fill_points (self, findings->inspection, &problem) &&
       fill_result (self, findings, section, stock, clearance_after, detail, use, cancellable, &problem);
  g_mutex_unlock (&use->lock);
  g_clear_pointer (&own, ef_flow_cache_free);
  if (!ok && is_cancelled (problem))
    {
      g_propagate_error (error, g_steal_pointer (&problem));
      return NULL;
    }
  for (int state = 0; !ok && state < EF_N_STATES; state++)
    if (!self->state[state].known && self->state[state].reason == NULL)
      self->state[state].reason = g_strdup (problem->message);
  note_losses (self);
  note_limits_of_model (self);

  return g_steal_pointer (&self);
}

/* Only what the draws need: the state as found. */
static gboolean
draw_found (EfFlowResult *self,
            const EfFindings *findings,
            const EfSection *section,
            guint32 seed,
            guint draws,
            EfFlowCache *cache,
            GCancellable *cancellable,
            GError **error)
{
  EfFlowGeometry geometry = ef_flow_geometry (findings, section);
  g_auto (EfFlowGaps) gaps = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, cache->worn, NULL);
  EfFlowFilms *films;
  gboolean ok;

  cache->sheet = ef_pump_sheet_ref (findings->inspection->sheet);
  films = cached_films (cache, &geometry, FILMS_FINE, EF_STATE_FOUND, error);
  ok = films != NULL && fill_idle (self, films, &gaps, &self->state[EF_STATE_FOUND], cancellable, error) &&
       fill_monte_carlo (self, findings, section, seed, draws, cache, &geometry, cancellable, error);
  ef_flow_geometry_clear (&geometry);

  return ok;
}

gboolean
ef_flow_monte_carlo (const EfFindings *findings,
                     guint32 seed,
                     guint draws,
                     GCancellable *cancellable,
                     EfFlowMonteCarlo *out,
                     GError **error)
{
  const EfSection *section = ef_flow_section (findings->inspection->sheet);
  EfFlowCache *cache = ef_flow_cache_new ();
  g_autoptr (EfFlowResult) self = result_new ();
  g_autoptr (GError) problem = NULL;
  gboolean ok;

  if (section == NULL)
    g_set_error_literal (&problem, EF_ERROR, EF_ERROR_NOT_FOUND, "the pump has no pressure section");
  ok = section != NULL && fill_displacement (self, findings->inspection->sheet, section, &problem) && fill_points (self, findings->inspection, &problem) &&
       draw_found (self, findings, section, seed, draws, cache, cancellable, &problem);
  ef_flow_cache_free (cache);
  *out = self->monte_carlo;
  self->monte_carlo = (EfFlowMonteCarlo){ 0 };
  if (ok)
    return TRUE;
  if (is_cancelled (problem) || g_error_matches (problem, EF_ERROR, EF_ERROR_INVALID))
    {
      ef_flow_monte_carlo_clear (out);
      g_propagate_error (error, g_steal_pointer (&problem));
      return FALSE;
    }
  out->reason = g_strdup (problem->message);

  return TRUE;
}

/* As new at hot idle, at the pressure that the sheet asks for there: with the cache's lock held, and the cache serving this sheet. Of a job only its oil matters. */
static EfFlowWeights *
weights_of (EfFlowResult *self,
            const EfFindings *findings,
            const EfSection *section,
            EfFlowCache *cache,
            GCancellable *cancellable,
            GError **error)
{
  g_auto (EfFlowGaps) gaps = ef_flow_gaps (findings, section, EF_STATE_NEW, NULL, NULL, cache->worn, NULL);
  const EfRatedPoint *idle = ef_pump_sheet_rated (findings->inspection->sheet, "hot idle");
  EfSectionConditions conditions = { .dp = isnan (idle->pressure) ? self->rated_pressure : idle->pressure, .mu = self->idle_mu, .speed = self->idle_speed, .wall = ef_flow_wall_gap, .wall_data = &gaps };
  EfFlowGeometry geometry;
  EfFlowFilms *films;

  if (cache->weights != NULL && ef_flow_weights_are_of (cache->weights, self->idle_mu))
    return ef_flow_weights_ref (cache->weights);
  if (!ef_flow_gaps_heat (&gaps, self->idle_temperature, error))
    return NULL;
  for (int gear = 0; gear < 2; gear++)
    {
      conditions.tip_clearance[gear] = gaps.hot_tip[gear];
      conditions.side_play[gear] = gaps.side_play[gear];
    }
  geometry = ef_flow_geometry (findings, section);
  films = cached_films (cache, &geometry, FILMS_WEIGHTS, EF_STATE_NEW, error);
  ef_flow_geometry_clear (&geometry);
  g_clear_pointer (&cache->weights, ef_flow_weights_unref);
  if (films != NULL && ef_flow_films_set (films, &gaps, cancellable, error))
    cache->weights = ef_flow_weights_solve (findings->inspection->sheet, section, films, &conditions, cancellable, error);

  return cache->weights != NULL ? ef_flow_weights_ref (cache->weights) : NULL;
}

EfFlowWeights *
ef_flow_weights_new (const EfFindings *findings,
                     EfFlowCache *cache,
                     GCancellable *cancellable,
                     GError **error)
{
  const EfSection *section = ef_flow_section (findings->inspection->sheet);
  g_autoptr (EfFlowResult) self = result_new ();
  EfFlowCache *own = NULL;
  EfFlowWeights *weights = NULL;

  if (section == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_NOT_FOUND, "the pump has no pressure section");
      return NULL;
    }
  if (!fill_points (self, findings->inspection, error))
    return NULL;
  if (cache == NULL)
    cache = own = ef_flow_cache_new ();
  g_mutex_lock (&cache->lock);
  serve_sheet (cache, findings->inspection->sheet);
  weights = weights_of (self, findings, section, cache, cancellable, error);
  g_mutex_unlock (&cache->lock);
  ef_flow_cache_free (own);

  return weights;
}
