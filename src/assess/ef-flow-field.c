/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-field.h"

#include "ef-flow-private.h"

#include <math.h>
#include <string.h>

#define POSITIONS 4 /* as for the figures: the side play follows from their mean */

gboolean
ef_film_place_find (const EfPumpSheet *sheet,
                    const EfSection *section,
                    const char *face_id,
                    EfFilmPlace *place)
{
  const char *slash = face_id != NULL ? strchr (face_id, '/') : NULL;

  if (section == NULL || slash == NULL)
    return FALSE;
  *place = (EfFilmPlace) { -1, FALSE, -1 };
  if (g_strcmp0 (face_id, section->floor_face) == 0 || g_strcmp0 (face_id, section->facing_face) == 0)
    return TRUE;
  for (int gear = 0; gear < 2; gear++)
    if (section->gear_part[gear] != NULL && strlen (section->gear_part[gear]) == (gsize) (slash - face_id) &&
        g_str_has_prefix (face_id, section->gear_part[gear]))
      {
        place->is_end = TRUE;
        place->gear = gear;
        place->end = g_str_equal (slash + 1, "end-a") ? 0 : g_str_equal (slash + 1, "end-b") ? 1 : -1;
        return place->end >= 0;
      }

  return FALSE;
}

gboolean
ef_flow_field_has (const EfPumpSheet *sheet,
                   const char *face_id)
{
  EfFilmPlace place;

  return ef_film_place_find (sheet, ef_flow_section (sheet), face_id, &place);
}

/* Where the wall frame lies on a plane face of plate, cover or housing: by canonical frame and pump axes. The chart's own map is asked at three
 * places and turned round. */
gboolean
ef_field_patch_on_plane (const EfSection *section,
                         const EfFaceChart *chart,
                         EfFieldPatch *patch)
{
  double sign = ef_section_delivery_sign (section);
  double o[3], a[3], b[3], m[2][2], det;
  double wall[3][2] = { { 0, 0 }, { 1e-3, 0 }, { 0, 1e-3 } };
  double chart_at[3][2];

  ef_face_chart_to_pump (chart, 0.0, 0.0, o, NULL);
  ef_face_chart_to_pump (chart, 1e-3, 0.0, a, NULL);
  ef_face_chart_to_pump (chart, 0.0, 1e-3, b, NULL);
  for (int i = 0; i < 2; i++)
    {
      m[i][0] = (a[i] - o[i]) / 1e-3;
      m[i][1] = (b[i] - o[i]) / 1e-3;
    }
  det = m[0][0] * m[1][1] - m[0][1] * m[1][0];
  if (fabs (det) < 1e-9)
    return FALSE;
  for (int k = 0; k < 3; k++)
    {
      double x, y;

      ef_mesh_canonical_frame (&section->pair, patch->gear, wall[k][0], wall[k][1], &x, &y);
      x -= o[0];
      y = sign * y - o[1];
      chart_at[k][0] = (m[1][1] * x - m[0][1] * y) / det;
      chart_at[k][1] = (m[0][0] * y - m[1][0] * x) / det;
    }
  for (int i = 0; i < 2; i++)
    {
      patch->origin[i] = chart_at[0][i];
      patch->axes[i][0] = (chart_at[1][i] - chart_at[0][i]) / 1e-3;
      patch->axes[i][1] = (chart_at[2][i] - chart_at[0][i]) / 1e-3;
    }

  return TRUE;
}

/* A gear end's chart turns with the gear: its tooth 1 stands at @turn in the wall frame. Seen from the front the drive gear's wall frame is turned
 * over where delivery is up, the driven gear's where it's down; the rear end's chart has u = -x. */
void
ef_field_patch_on_end (const EfSection *section,
                       const EfFilmPlace *place,
                       double turn,
                       EfFieldPatch *patch)
{
  double sign = ef_section_delivery_sign (section);
  double front = patch->gear == 0 ? -sign : sign;
  double looks = place->end == 0 ? 1.0 : -1.0;

  patch->origin[0] = patch->origin[1] = 0.0;
  patch->axes[0][0] = looks * cos (turn);
  patch->axes[0][1] = looks * sin (turn);
  patch->axes[1][0] = -front * sin (turn);
  patch->axes[1][1] = front * cos (turn);
}

static gboolean
lay_patch (const EfSection *section,
           const EfFaceChart *chart,
           const EfFilmPlace *place,
           EfFieldPatch *patch,
           GError **error)
{
  EfMesh mesh;

  if (!place->is_end)
    {
      if (ef_field_patch_on_plane (section, chart, patch))
        return TRUE;
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "%s: expected a plane face", chart->id);
      return FALSE;
    }
  if (!ef_mesh_at (&section->pair, section->suction_angle, section->delivery_angle, ef_mesh_position (&section->pair, 0, POSITIONS), &mesh, error))
    return FALSE;
  ef_field_patch_on_end (section, place, mesh.gear[patch->gear].psi0, patch);

  return TRUE;
}

static void
set_load (EfFieldPatch *patch,
          const EfSectionLoss *loss)
{
  double x = cos (loss->load_psi[patch->gear]);
  double y = sin (loss->load_psi[patch->gear]);

  patch->load = loss->load[patch->gear];
  patch->load_u = patch->axes[0][0] * x + patch->axes[0][1] * y;
  patch->load_v = patch->axes[1][0] * x + patch->axes[1][1] * y;
}

static GHashTable *
stock_of (const EfAssessment *assessment,
          EfPumpState state)
{
  GHashTable *stock = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; state == EF_STATE_REWORKED && i < assessment->steps->len; i++)
    {
      EfStep *step = assessment->steps->pdata[i];

      if (step->face_id != NULL && !isnan (step->stock))
        g_hash_table_insert (stock, step->face_id, &step->stock);
    }

  return stock;
}

static EfFlowGaps
gaps_of (const EfAssessment *assessment,
         const EfSection *section,
         EfPumpState state)
{
  g_autoptr (GHashTable) stock = stock_of (assessment, state);
  double after[2] = { NAN, NAN };

  if (state == EF_STATE_REWORKED)
    {
      after[0] = ef_steps_clearance_after (&assessment->findings, assessment->steps, section, "drive");
      after[1] = ef_steps_clearance_after (&assessment->findings, assessment->steps, section, "driven");
    }

  return ef_flow_gaps (&assessment->findings, section, state, stock, after, NULL, NULL);
}

static EfFlowFilms *
films_of (const EfAssessment *assessment,
          const EfSection *section,
          EfFlowGaps *gaps,
          GCancellable *cancellable,
          GError **error)
{
  EfFlowGeometry geometry = ef_flow_geometry (&assessment->findings, section);
  EfSectionFlow *flow = ef_section_flow_new (&geometry, EF_FLOW_FIELD_CELLS, POSITIONS, EF_FILM_CONDENSE, error);
  EfFlowFilms *films = flow != NULL ? ef_flow_films_new (flow, NULL) : NULL;

  ef_flow_geometry_clear (&geometry);
  if (films != NULL && ef_flow_gaps_heat (gaps, assessment->flow->idle_temperature, error) && ef_flow_films_set (films, gaps, cancellable, error))
    return films;
  ef_flow_films_free (films);

  return NULL;
}

static gboolean
goes_on (GCancellable *cancellable,
         GError **error)
{
  if (!g_cancellable_is_cancelled (cancellable))
    return TRUE;
  g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "pressure field: cancelled");

  return FALSE;
}

static gboolean
solve_patches (EfFlowField *self,
               const EfAssessment *assessment,
               const EfSection *section,
               const EfFilmPlace *place,
               GCancellable *cancellable,
               GError **error)
{
  g_auto (EfFlowGaps) gaps = gaps_of (assessment, section, self->state);
  EfFlowFilms *films = films_of (assessment, section, &gaps, cancellable, error);
  EfSectionConditions conditions = { .dp = self->pressure, .mu = assessment->flow->idle_mu, .speed = self->speed, .wall = ef_flow_wall_gap, .wall_data = &gaps };
  gboolean ok = films != NULL;

  for (int gear = 0; gear < 2; gear++)
    {
      conditions.tip_clearance[gear] = gaps.hot_tip[gear];
      conditions.side_play[gear] = gaps.side_play[gear];
    }
  for (guint k = 0; ok && k < self->n_patches; k++)
    {
      EfFieldPatch *patch = &self->patch[k];

      patch->cells = ef_section_flow_cells (films->flow);
      patch->extent = ef_section_flow_extent (films->flow, patch->gear);
      patch->values = ef_section_flow_field (films->flow, patch->gear, place->end, &conditions, error);
      ok = patch->values != NULL && goes_on (cancellable, error);
    }
  ef_flow_films_free (films);

  return ok;
}

static EfFlowField *
field_new (const EfAssessment *assessment,
           const char *face_id,
           EfPumpState state,
           const EfFilmPlace *place)
{
  EfFlowField *self = g_new0 (EfFlowField, 1);

  self->ref_count = 1;
  self->face_id = g_strdup (face_id);
  self->state = state;
  self->serial = assessment->serial;
  self->pressure = assessment->flow->state[state].idle.pressure;
  self->speed = assessment->flow->idle_speed;
  self->temperature = assessment->flow->idle_temperature;
  self->n_patches = place->is_end ? 1 : 2;
  for (guint k = 0; k < self->n_patches; k++)
    self->patch[k].gear = place->is_end ? place->gear : (int) k;

  return self;
}

/* The face of plate or housing that a gear end looks at has its normal against the end's. */
int
ef_film_end_met_by (const EfFaceChart *chart)
{
  double normal[3];

  ef_face_chart_to_pump (chart, 0.5 * (chart->u0 + chart->u1), 0.5 * (chart->v0 + chart->v1), NULL, normal);

  return normal[2] < 0.0 ? 0 : 1;
}

EfFlowField *
ef_flow_field_new (const EfAssessment *assessment,
                   const char *face_id,
                   EfPumpState state,
                   GCancellable *cancellable,
                   GError **error)
{
  const EfPumpSheet *sheet = assessment->inspection->sheet;
  const EfSection *section = ef_flow_section (sheet);
  const EfFaceChart *chart = face_id != NULL ? g_hash_table_lookup (assessment->findings.charts, face_id) : NULL;
  g_autoptr (EfFlowField) self = NULL;
  EfFilmPlace place;

  if (chart == NULL || !ef_film_place_find (sheet, section, face_id, &place))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: this face doesn't meet the ends of the pressure section's gears: there is no oil film to show", face_id != NULL ? face_id : "face");
      return NULL;
    }
  if (assessment->flow == NULL || !assessment->flow->state[state].known)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: the pressure isn't known: %s", face_id,
                   assessment->flow != NULL && assessment->flow->state[state].reason != NULL ? assessment->flow->state[state].reason : "not worked out");
      return NULL;
    }
  if (!place.is_end)
    place.end = ef_film_end_met_by (chart);
  self = field_new (assessment, face_id, state, &place);
  for (guint k = 0; k < self->n_patches; k++)
    {
      if (!lay_patch (section, chart, &place, &self->patch[k], error))
        return NULL;
      set_load (&self->patch[k], &assessment->flow->state[state].idle.loss);
    }
  if (!goes_on (cancellable, error) || !solve_patches (self, assessment, section, &place, cancellable, error))
    return NULL;

  return g_steal_pointer (&self);
}

EfFlowField *
ef_flow_field_ref (EfFlowField *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_flow_field_unref (EfFlowField *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;
  g_free (self->face_id);
  g_free (self->patch[0].values);
  g_free (self->patch[1].values);
  g_free (self);
}

gboolean
ef_flow_field_is_of (const EfFlowField *self,
                     const EfAssessment *assessment)
{
  return assessment != NULL && assessment->flow != NULL && self->serial == assessment->serial && assessment->flow->state[self->state].known &&
         fabs (assessment->flow->state[self->state].idle.pressure - self->pressure) <= 1e-3 * self->pressure;
}

void
ef_field_patch_to_chart (const EfFieldPatch *patch,
                         double x,
                         double y,
                         double *u,
                         double *v)
{
  *u = patch->origin[0] + patch->axes[0][0] * x + patch->axes[0][1] * y;
  *v = patch->origin[1] + patch->axes[1][0] * x + patch->axes[1][1] * y;
}

/* Between the middles of four cells, those without a film left out. */
static double
patch_at (const EfFieldPatch *patch,
          double x,
          double y)
{
  double pitch = 2.0 * patch->extent / patch->cells;
  double fi = (x + patch->extent) / pitch - 0.5, fj = (y + patch->extent) / pitch - 0.5;
  int i0 = (int) floor (fi), j0 = (int) floor (fj);
  double sum = 0.0, weight = 0.0;

  for (int k = 0; k < 4; k++)
    {
      int i = i0 + k % 2, j = j0 + k / 2;
      double w = (k % 2 == 1 ? fi - i0 : 1.0 - fi + i0) * (k / 2 == 1 ? fj - j0 : 1.0 - fj + j0);
      double value;

      if (i < 0 || j < 0 || i >= (int) patch->cells || j >= (int) patch->cells)
        continue;
      value = patch->values[(gsize) j * patch->cells + i];
      if (isnan (value))
        continue;
      sum += w * value;
      weight += w;
    }

  return weight > 0.25 ? sum / weight : NAN;
}

double
ef_flow_field_at (const EfFlowField *self,
                  double u,
                  double v)
{
  for (guint k = 0; k < self->n_patches; k++)
    {
      const EfFieldPatch *patch = &self->patch[k];
      double du = u - patch->origin[0], dv = v - patch->origin[1];
      /* the axes are at right angles and of length 1: the way back is across */
      double value = patch_at (patch, patch->axes[0][0] * du + patch->axes[1][0] * dv, patch->axes[0][1] * du + patch->axes[1][1] * dv);

      if (!isnan (value))
        return value;
    }

  return NAN;
}
