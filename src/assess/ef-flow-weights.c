/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

#include <math.h>

/* Square cells round a gear's axis, as in EfFieldPatch. */
typedef struct
{
  guint cells;
  double extent;
  double *value;
} Grid;

struct _EfFlowWeights
{
  gint ref_count;
  EfPumpSheet *sheet;
  const EfSection *section; /* the sheet's */
  double mu; /* of the oil; all else is the sheet's */
  Grid wall[2][2];  /* gear, end: of what stands still */
  Grid tooth[2][2]; /* of what turns with the gear */
};

static void
grid_init (Grid *grid,
           guint cells,
           double extent)
{
  grid->cells = cells;
  grid->extent = extent;
  grid->value = g_new0 (double, (gsize) cells * cells);
}

static double
grid_place (const Grid *grid,
            guint i)
{
  return -grid->extent + (i + 0.5) * 2.0 * grid->extent / grid->cells;
}

/* Bilinear; 0 outside. */
static double
grid_at (const Grid *grid,
         double x,
         double y)
{
  double pitch = 2.0 * grid->extent / grid->cells;
  double fi = (x + grid->extent) / pitch - 0.5, fj = (y + grid->extent) / pitch - 0.5;
  int i0 = (int) floor (fi), j0 = (int) floor (fj), n = (int) grid->cells;
  double sum = 0.0;

  for (int k = 0; k < 4; k++)
    {
      int i = i0 + k % 2, j = j0 + k / 2;

      if (i >= 0 && j >= 0 && i < n && j < n)
        sum += (k % 2 == 1 ? fi - i0 : 1.0 - fi + i0) * (k / 2 == 1 ? fj - j0 : 1.0 - fj + j0) * grid->value[(gsize) j * grid->cells + (guint) i];
    }

  return sum;
}

/* Mean square of the differences to the neighbours along one axis, of those that are film. */
static double
square_along (const double *p,
              guint n,
              guint at,
              guint step,
              guint i,
              double pitch)
{
  double sum = 0.0;
  int found = 0;

  for (int side = -1; side <= 1; side += 2)
    {
      double other;

      if ((side < 0 && i == 0) || (side > 0 && i + 1 == n))
        continue;
      other = p[side < 0 ? at - step : at + step];
      if (isnan (other))
        continue;
      sum += (other - p[at]) * (other - p[at]) / (pitch * pitch);
      found++;
    }

  return found > 0 ? sum / found : 0.0;
}

/* Adds |grad p|^2 of one position. */
static void
add_squares (Grid *grid,
             const double *p)
{
  double pitch = 2.0 * grid->extent / grid->cells;

  for (guint j = 0; j < grid->cells; j++)
    for (guint i = 0; i < grid->cells; i++)
      {
        guint at = j * grid->cells + i;

        if (!isnan (p[at]))
          grid->value[at] += square_along (p, grid->cells, at, 1, i, pitch) + square_along (p, grid->cells, at, grid->cells, j, pitch);
      }
}

/* Adds what a place of the turning gear meets at one position, as the mean over its teeth. */
static void
add_turned (Grid *grid,
            const Grid *still,
            double turn,
            int teeth)
{
  for (int tooth = 0; tooth < teeth; tooth++)
    {
      double psi = turn + 2.0 * G_PI * tooth / teeth;
      double c = cos (psi), s = sin (psi);

      for (guint j = 0; j < grid->cells; j++)
        for (guint i = 0; i < grid->cells; i++)
          {
            double x = grid_place (grid, i), y = grid_place (grid, j);

            if (x * x + y * y <= grid->extent * grid->extent)
              grid->value[(gsize) j * grid->cells + i] += grid_at (still, c * x - s * y, s * x + c * y) / teeth;
          }
    }
}

static void
scale (Grid *grid,
       double factor)
{
  for (gsize i = 0; i < (gsize) grid->cells * grid->cells; i++)
    grid->value[i] *= factor;
}

static gboolean
solve_end (EfFlowWeights *self,
           EfFlowFilms *films,
           int gear,
           int end,
           const EfSectionConditions *conditions,
           GCancellable *cancellable,
           GError **error)
{
  guint cells = ef_section_flow_cells (films->flow), positions = ef_section_flow_positions (films->flow);
  double extent = ef_section_flow_extent (films->flow, gear);

  grid_init (&self->wall[gear][end], cells, extent);
  grid_init (&self->tooth[gear][end], cells, extent);
  for (guint k = 0; k < positions; k++)
    {
      g_autofree double *p = ef_section_flow_field_at (films->flow, gear, end, k, conditions, error);
      Grid now = { 0 };

      if (p == NULL || g_cancellable_set_error_if_cancelled (cancellable, NULL))
        {
          if (p != NULL)
            g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "leakage weights: cancelled");
          return FALSE;
        }
      grid_init (&now, cells, extent);
      add_squares (&now, p);
      for (gsize i = 0; i < (gsize) cells * cells; i++)
        self->wall[gear][end].value[i] += now.value[i];
      add_turned (&self->tooth[gear][end], &now, ef_section_flow_turn (films->flow, gear, k), self->section->pair.in.teeth[gear]);
      g_free (now.value);
    }
  scale (&self->wall[gear][end], 1.0 / positions);
  scale (&self->tooth[gear][end], 1.0 / positions);

  return TRUE;
}

gboolean
ef_flow_weights_are_of (const EfFlowWeights *self,
                        double mu)
{
  return self->mu == mu;
}

EfFlowWeights *
ef_flow_weights_solve (const EfPumpSheet *sheet,
                       const EfSection *section,
                       EfFlowFilms *films,
                       const EfSectionConditions *conditions,
                       GCancellable *cancellable,
                       GError **error)
{
  g_autoptr (EfFlowWeights) self = g_new0 (EfFlowWeights, 1);

  self->ref_count = 1;
  self->sheet = ef_pump_sheet_ref ((EfPumpSheet *) sheet);
  self->section = section;
  self->mu = conditions->mu;
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      if (!solve_end (self, films, gear, end, conditions, cancellable, error))
        return NULL;

  return g_steal_pointer (&self);
}

EfFlowWeights *
ef_flow_weights_ref (EfFlowWeights *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_flow_weights_unref (EfFlowWeights *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        g_free (self->wall[gear][end].value);
        g_free (self->tooth[gear][end].value);
      }
  ef_pump_sheet_unref (self->sheet);
  g_free (self);
}

gboolean
ef_flow_weights_has (const EfFlowWeights *self,
                     const char *face_id)
{
  EfFilmPlace place;

  return ef_film_place_find (self->sheet, self->section, face_id, &place);
}

static void
add_patch (const Grid *grid,
           const EfFieldPatch *patch,
           const EfDepthMap *map,
           double *weights)
{
  for (guint j = 0; j < map->nv; j++)
    for (guint i = 0; i < map->nu; i++)
      {
        double du = map->u0 + (i + 0.5) * map->cell - patch->origin[0], dv = map->v0 + (j + 0.5) * map->cell - patch->origin[1];

        if (du * du + dv * dv <= grid->extent * grid->extent)
          weights[(gsize) j * map->nu + i] += grid_at (grid, patch->axes[0][0] * du + patch->axes[1][0] * dv, patch->axes[0][1] * du + patch->axes[1][1] * dv);
      }
}

double *
ef_flow_weights_on (const EfFlowWeights *self,
                    const EfFaceChart *chart,
                    const EfDepthMap *map)
{
  g_autofree double *weights = NULL;
  EfFilmPlace place;

  if (!ef_film_place_find (self->sheet, self->section, chart->id, &place))
    return NULL;
  if (!place.is_end)
    place.end = ef_film_end_met_by (chart);
  weights = g_new0 (double, (gsize) map->nu * map->nv);
  for (int gear = 0; gear < 2; gear++)
    {
      EfFieldPatch patch = { .gear = gear };

      if (place.is_end && gear != place.gear)
        continue;
      if (place.is_end)
        ef_field_patch_on_end (self->section, &place, 0.0, &patch);
      else if (!ef_field_patch_on_plane (self->section, chart, &patch))
        return NULL;
      add_patch (place.is_end ? &self->tooth[gear][place.end] : &self->wall[gear][place.end], &patch, map, weights);
    }

  return g_steal_pointer (&weights);
}
