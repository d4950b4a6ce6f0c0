/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

#include "../metrology/ef-monte-carlo.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>
#include <math.h>

#define SIDE 4        /* knots to either side of what was found */
#define KNOTS (2 * SIDE + 1)
#define REACH 4.5     /* of the outermost, in standard uncertainties: one draw in 150,000 lies beyond and counts as if there */
#define LEAST_LEFT 0.05 /* of a hot clearance at the lowest knot */
#define CHECKS 6

/* One clearance by itself. */
typedef struct
{
  guint n; /* 0: it's exact */
  double shift[KNOTS], log_constant[KNOTS], drag[KNOTS];
  gsl_interp *constant_curve, *drag_curve;
} Term;

typedef struct
{
  const EfFlowTask *task;
  Term terms[EF_FLOW_TERMS];
  double constant, drag; /* as found */
  double scale;          /* of L: that of finer films over that of these */
  double hot_end[2], cold_end;
  enum { PRESSURE, LEAKAGE, END_CLEARANCE } wanted;
} Surrogate;

static void
surrogate_clear (Surrogate *self)
{
  for (guint i = 0; i < EF_FLOW_TERMS; i++)
    {
      g_clear_pointer (&self->terms[i].constant_curve, gsl_interp_free);
      g_clear_pointer (&self->terms[i].drag_curve, gsl_interp_free);
    }
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Surrogate, surrogate_clear)

void
ef_flow_monte_carlo_clear (EfFlowMonteCarlo *self)
{
  g_clear_pointer (&self->reason, g_free);
  self->known = FALSE;
}

gboolean
ef_flow_solve_moved (EfFlowFilms *films,
                     const EfFlowGaps *found,
                     const double shift[EF_FLOW_TERMS],
                     double temperature,
                     const EfFlowTask *task,
                     GCancellable *cancellable,
                     EfWorkingPoint *out,
                     GError **error)
{
  EfFlowGaps moved = *found; /* borrows the maps */

  for (int gear = 0; gear < 2; gear++)
    {
      moved.end_clearance[gear] += shift[EF_FLOW_END + gear];
      moved.tip_clearance[gear] = MAX (moved.tip_clearance[gear] + shift[EF_FLOW_TIP + gear], 0.0);
      moved.side_play[gear] = MAX (moved.side_play[gear] + shift[EF_FLOW_PLAY + gear], 0.0);
    }

  return ef_flow_gaps_heat (&moved, temperature, error) && ef_flow_films_set (films, &moved, cancellable, error) &&
         ef_flow_films_idle (films, &moved, task, out, error);
}

/* How far the clearance can go down. */
static double
room_below (const EfFlowGaps *found,
            guint term)
{
  guint gear = term % 2;

  if (term >= EF_FLOW_PLAY)
    return found->side_play[gear];

  return (1.0 - LEAST_LEFT) * (term >= EF_FLOW_TIP ? found->hot_tip[gear] : found->hot_end[gear]);
}

static void
place_knots (Term *term,
             double u,
             double room)
{
  double low = MIN (REACH * u, MAX (room, 0.0));

  if (!(u > 1e-12))
    return;
  for (guint k = low > 1e-12 ? SIDE : 0; k > 0; k--)
    term->shift[term->n++] = -low * k / SIDE;
  for (guint k = 0; k <= SIDE; k++)
    term->shift[term->n++] = REACH * u * k / SIDE;
}

static gboolean
solve_term (Surrogate *self,
            EfFlowFilms *films,
            const EfFlowGaps *found,
            guint index,
            double temperature,
            GCancellable *cancellable,
            GError **error)
{
  Term *term = &self->terms[index];

  for (guint k = 0; k < term->n; k++)
    {
      double shift[EF_FLOW_TERMS] = { 0.0 };
      EfWorkingPoint point;

      shift[index] = term->shift[k];
      if (!ef_flow_solve_moved (films, found, shift, temperature, self->task, cancellable, &point, error))
        return FALSE;
      if (!(point.loss.constant > 0.0))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "the gaps lose nothing at all: the spread of the pressure can't be worked out");
          return FALSE;
        }
      term->log_constant[k] = log (point.loss.constant);
      term->drag[k] = point.loss.drag;
    }
  if (term->n == 0)
    return TRUE;
  term->constant_curve = gsl_interp_alloc (gsl_interp_steffen, term->n);
  term->drag_curve = gsl_interp_alloc (gsl_interp_steffen, term->n);
  gsl_interp_init (term->constant_curve, term->shift, term->log_constant, term->n);
  gsl_interp_init (term->drag_curve, term->shift, term->drag, term->n);

  return TRUE;
}

static gboolean
build (Surrogate *self,
       EfFlowFilms *films,
       const EfFlowGaps *found,
       const double u[EF_FLOW_TERMS],
       double anchor,
       double temperature,
       GCancellable *cancellable,
       GError **error)
{
  const double none[EF_FLOW_TERMS] = { 0.0 };
  EfWorkingPoint point;

  if (!ef_flow_solve_moved (films, found, none, temperature, self->task, cancellable, &point, error))
    return FALSE;
  self->constant = point.loss.constant;
  self->drag = point.loss.drag;
  self->scale = isnan (anchor) ? 1.0 : anchor / point.loss.constant;
  self->cold_end = 0.5 * (found->end_clearance[0] + found->end_clearance[1]);
  for (int gear = 0; gear < 2; gear++)
    self->hot_end[gear] = found->hot_end[gear];
  for (guint i = 0; i < EF_FLOW_TERMS; i++)
    {
      place_knots (&self->terms[i], u[i], room_below (found, i));
      if (!solve_term (self, films, found, i, temperature, cancellable, error))
        return FALSE;
    }

  return TRUE;
}

static double
pressure_at (const EfFlowTask *task,
             double displacement_flow,
             double constant)
{
  double pressure = task->mu * displacement_flow / (task->demand + constant);

  return !isnan (task->relief) && pressure > task->relief ? task->relief : pressure;
}

/* An EfModel. No value where a gear would seize. */
static gboolean
surrogate (const double *shift,
           guint n,
           double *out,
           gpointer data)
{
  const Surrogate *self = data;
  double constant = self->constant, drag = self->drag;
  double pressure;

  if (shift[EF_FLOW_END] <= -self->hot_end[0] || shift[EF_FLOW_END + 1] <= -self->hot_end[1])
    return FALSE;
  for (guint i = 0; i < n; i++)
    {
      const Term *term = &self->terms[i];
      double x;

      if (term->n == 0)
        continue;
      x = CLAMP (shift[i], term->shift[0], term->shift[term->n - 1]);
      constant += exp (gsl_interp_eval (term->constant_curve, term->shift, term->log_constant, x, NULL)) - self->constant;
      drag += gsl_interp_eval (term->drag_curve, term->shift, term->drag, x, NULL) - self->drag;
    }
  constant = MAX (constant, 0.0) * self->scale;
  pressure = pressure_at (self->task, self->task->displacement * self->task->speed + drag, constant);
  *out = self->wanted == PRESSURE ? pressure
         : self->wanted == LEAKAGE ? pressure * constant / self->task->mu
                                   : self->cold_end + 0.5 * (shift[EF_FLOW_END] + shift[EF_FLOW_END + 1]);

  return TRUE;
}

/* Several clearances off at once, half way between knots: each sign pattern other than the one before, all together first. */
static gboolean
check (Surrogate *self,
       EfFlowFilms *films,
       const EfFlowGaps *found,
       double temperature,
       GCancellable *cancellable,
       EfFlowMonteCarlo *out,
       GError **error)
{
  static const guint patterns[CHECKS] = { 0x3f, 0x00, 0x2a, 0x15, 0x33, 0x0e };

  self->wanted = PRESSURE;
  for (guint c = 0; c < CHECKS; c++)
    {
      double shift[EF_FLOW_TERMS] = { 0.0 };
      EfWorkingPoint point;
      double pressure, estimate;

      for (guint i = 0; i < EF_FLOW_TERMS; i++)
        {
          const Term *term = &self->terms[i];
          gboolean up = patterns[c] >> i & 1;

          if (term->n > 0)
            shift[i] = (up ? term->shift[term->n - 1] : term->shift[0]) * (c < 4 ? 1.5 : 0.5) / SIDE;
        }
      if (!ef_flow_solve_moved (films, found, shift, temperature, self->task, cancellable, &point, error))
        return FALSE;
      /* Like with like: the finer films' L for both. */
      pressure = pressure_at (self->task, point.theoretical + point.loss.drag, point.loss.constant * self->scale);
      if (!surrogate (shift, EF_FLOW_TERMS, &estimate, self))
        continue;
      out->surrogate_error = fmax (out->surrogate_error, fabs (estimate - pressure));
      out->checks++;
    }

  return TRUE;
}

static gboolean
draw_figure (Surrogate *self,
             int wanted,
             const EfUncertain *inputs,
             const double *correlation,
             const EfMonteCarloOptions *options,
             GCancellable *cancellable,
             EfSpreadFigure *figure,
             EfMonteCarlo *drawn,
             GError **error)
{
  self->wanted = wanted;
  if (!ef_monte_carlo (surrogate, self, inputs, correlation, EF_FLOW_TERMS, options, cancellable, drawn, error))
    return FALSE;
  *figure = (EfSpreadFigure){ drawn->mean, drawn->u, drawn->short_low, drawn->short_high };

  return TRUE;
}

/* The three figures see the same draws: their number is that of the pressure's. */
static gboolean
draw_figures (Surrogate *self,
              const double u[EF_FLOW_TERMS],
              const double *correlation,
              const EfFlowDraws *draws,
              GCancellable *cancellable,
              EfFlowMonteCarlo *out,
              GError **error)
{
  EfMonteCarloOptions options = { .seed = draws->seed, .trials = draws->n, .lower = draws->demand_pressure, .upper = NAN };
  EfUncertain inputs[EF_FLOW_TERMS];
  EfMonteCarlo drawn;

  for (guint i = 0; i < EF_FLOW_TERMS; i++)
    inputs[i] = (EfUncertain){ 0.0, EF_DISTRIBUTION_NORMAL, u[i] };
  if (!draw_figure (self, PRESSURE, inputs, correlation, &options, cancellable, &out->pressure, &drawn, error))
    return FALSE;
  out->draws = options.trials = drawn.trials;
  out->failed = drawn.failed;
  out->below = isnan (draws->demand_pressure) ? NAN : 1.0 - drawn.within;

  return draw_figure (self, LEAKAGE, inputs, correlation, &options, cancellable, &out->leakage, &drawn, error) &&
         draw_figure (self, END_CLEARANCE, inputs, correlation, &options, cancellable, &out->end_clearance, &drawn, error);
}

gboolean
ef_flow_draw (const EfFindings *findings,
              const EfSection *section,
              EfFlowFilms *films,
              double temperature,
              const EfFlowTask *task,
              const EfFlowDraws *draws,
              GCancellable *cancellable,
              EfFlowMonteCarlo *out,
              GError **error)
{
  g_auto (EfFlowGaps) found = ef_flow_gaps (findings, section, EF_STATE_FOUND, NULL, NULL, films->worn, NULL);
  g_auto (Surrogate) self = { .task = task };
  g_autoptr (GError) problem = NULL;
  double u[EF_FLOW_TERMS], correlation[EF_FLOW_TERMS * EF_FLOW_TERMS];

  gsl_set_error_handler_off ();
  *out = (EfFlowMonteCarlo){ .seed = draws->seed, .demand_pressure = draws->demand_pressure, .below = NAN };
  if (!ef_flow_clearances_uncertain (findings, section, u, correlation))
    {
      out->reason = g_strdup ("the uncertainty of the end clearance isn't known: it isn't measured, or its gauges aren't noted");
      return TRUE;
    }
  out->known = ef_flow_gaps_heat (&found, temperature, &problem) && build (&self, films, &found, u, draws->anchor, temperature, cancellable, &problem) &&
               check (&self, films, &found, temperature, cancellable, out, &problem) &&
               draw_figures (&self, u, correlation, draws, cancellable, out, &problem);
  if (out->known)
    return TRUE;
  if (g_error_matches (problem, EF_ERROR, EF_ERROR_CANCELLED) || g_error_matches (problem, EF_ERROR, EF_ERROR_INVALID))
    {
      g_propagate_error (error, g_steal_pointer (&problem));
      return FALSE;
    }
  out->reason = g_strdup (problem->message);

  return TRUE;
}
