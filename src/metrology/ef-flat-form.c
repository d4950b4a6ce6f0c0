/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flat-form.h"
#include "ef-flatness.h"

#include <math.h>

#define PLAN_PLACES 9
#define PLAN_GRID 32

/* --- Places ---------------------------------------------------------------------------------------------------------------- */

static GArray *
grid_inside (const EfFaceChart *chart)
{
  GArray *inside = g_array_new (FALSE, FALSE, sizeof (EfFlatPlace));

  for (guint i = 0; i < PLAN_GRID; i++)
    for (guint j = 0; j < PLAN_GRID; j++)
      {
        EfFlatPlace place = { ef_length_on_grid (chart->u0 + (chart->u1 - chart->u0) * (i + 0.5) / PLAN_GRID),
                              ef_length_on_grid (chart->v0 + (chart->v1 - chart->v0) * (j + 0.5) / PLAN_GRID) };

        if (ef_region_contains (chart->solid, place.u, place.v))
          g_array_append_val (inside, place);
      }

  return inside;
}

/* Each as far as can be from those before. */
static GArray *
plan_places (const EfFaceChart *chart)
{
  GArray *places = g_array_new (FALSE, FALSE, sizeof (EfFlatPlace));
  g_autoptr (GArray) inside = grid_inside (chart);
  g_autofree double *nearest = g_new (double, inside->len + 1);

  for (guint i = 0; i < inside->len; i++)
    nearest[i] = INFINITY;
  for (guint n = 0; n < MIN (PLAN_PLACES, inside->len); n++)
    {
      EfFlatPlace chosen;
      guint best = 0;

      for (guint i = 1; n > 0 && i < inside->len; i++)
        if (nearest[i] > nearest[best])
          best = i;
      chosen = g_array_index (inside, EfFlatPlace, best);
      g_array_append_val (places, chosen);
      for (guint i = 0; i < inside->len; i++)
        {
          const EfFlatPlace *place = &g_array_index (inside, EfFlatPlace, i);

          nearest[i] = MIN (nearest[i], hypot (place->u - chosen.u, place->v - chosen.v));
        }
    }

  return places;
}

static gboolean
is_of (const EfReading *reading,
       const EfFaceChart *chart)
{
  return reading->quantity == EF_READ_FLATNESS && g_strcmp0 (reading->target, chart->id) == 0 && fabs (reading->value) < 10
         && fabs (reading->u) < 10 && fabs (reading->v) < 10;
}

/* The place's index; -1 for none. */
static int
find_place (GArray *places,
            double u,
            double v)
{
  for (guint i = 0; i < places->len; i++)
    {
      const EfFlatPlace *place = &g_array_index (places, EfFlatPlace, i);

      if (fabs (place->u - u) < EF_FLAT_SAME_PLACE && fabs (place->v - v) < EF_FLAT_SAME_PLACE)
        return (int) i;
    }

  return -1;
}

GArray *
ef_flat_places (const EfFaceChart *chart,
                EfReading *const *readings,
                guint n_readings)
{
  GArray *places = plan_places (chart);
  gboolean any = FALSE, planned = FALSE;

  for (guint i = 0; i < n_readings; i++)
    if (is_of (readings[i], chart))
      {
        any = TRUE;
        planned = planned || find_place (places, readings[i]->u, readings[i]->v) >= 0;
      }
  if (any && !planned)
    g_array_set_size (places, 0);
  for (guint i = 0; i < n_readings; i++)
    if (is_of (readings[i], chart) && find_place (places, readings[i]->u, readings[i]->v) < 0)
      {
        EfFlatPlace place = { readings[i]->u, readings[i]->v };

        g_array_append_val (places, place);
      }

  return places;
}

/* --- The form -------------------------------------------------------------------------------------------------------------- */

static void
collect (EfFlatForm *self,
         const EfFaceChart *chart,
         EfReading *const *readings,
         guint n_readings)
{
  g_autoptr (GArray) places = ef_flat_places (chart, readings, n_readings);
  g_autofree double *sum = g_new0 (double, places->len + 1);
  g_autofree guint *count = g_new0 (guint, places->len + 1);

  for (guint i = 0; i < n_readings; i++)
    if (is_of (readings[i], chart))
      {
        int place = find_place (places, readings[i]->u, readings[i]->v);

        if (place >= 0)
          {
            sum[place] += readings[i]->value;
            count[place]++;
          }
      }
  self->n_places = places->len;
  self->points = g_new0 (EfFlatPoint, places->len + 1);
  for (guint i = 0; i < places->len; i++)
    {
      const EfFlatPlace *place = &g_array_index (places, EfFlatPlace, i);

      if (count[i] > 0)
        self->points[self->n++] = (EfFlatPoint) { .number = i + 1, .repeats = count[i], .u = place->u, .v = place->v,
                                                  .height = sum[i] / count[i], .deviation = NAN };
    }
}

static void
take_zone (EfFlatForm *self,
           const EfFlatnessZone *zone)
{
  /* heights along z to distances square to the plane */
  double tilt = sqrt (1 + zone->plane.slope_x * zone->plane.slope_x + zone->plane.slope_y * zone->plane.slope_y);

  self->known = TRUE;
  self->zone = zone->zone;
  for (guint i = 0; i < self->n; i++)
    self->points[i].deviation = (self->points[i].height - ef_plane_at (&zone->plane, self->points[i].u, self->points[i].v)) / tilt;
  for (guint i = 0; i < zone->n_high; i++)
    self->points[zone->high[i]].carries = 1;
  for (guint i = 0; i < zone->n_low; i++)
    self->points[zone->low[i]].carries = -1;
}

static void
fit_zone (EfFlatForm *self)
{
  g_autofree double *xyz = g_new (double, 3 * (gsize) self->n + 1);
  g_autoptr (GError) error = NULL;
  EfFlatnessZone zone;

  if (self->n < EF_FLAT_MIN_PLACES)
    {
      self->reason = g_strdup_printf ("flatness: expected %d places or more, found %u", EF_FLAT_MIN_PLACES, self->n);
      return;
    }
  for (guint i = 0; i < self->n; i++)
    {
      xyz[3 * i] = self->points[i].u;
      xyz[3 * i + 1] = self->points[i].v;
      xyz[3 * i + 2] = self->points[i].height;
    }
  if (ef_flatness_minimum_zone_normal (xyz, self->n, &zone, &error))
    take_zone (self, &zone);
  else
    self->reason = g_strdup (error->message);
}

EfFlatForm *
ef_flat_form_new (const EfFaceChart *chart,
                  EfReading *const *readings,
                  guint n_readings,
                  GPtrArray *derived)
{
  EfFlatForm *self = g_new0 (EfFlatForm, 1);
  const EfDerived *value = ef_derived_find (derived, "flatness", chart->id, NULL);
  const EfLimit *limit = ef_pump_sheet_limit (chart->sheet, "flatness", chart->id);

  self->face_id = g_strdup (chart->id);
  self->zone = NAN;
  self->uncertainty = value != NULL ? value->uncertainty : NAN;
  self->limit = limit != NULL ? limit->wear_max : NAN;
  self->source = limit != NULL ? g_strdup (limit->source) : NULL;
  collect (self, chart, readings, n_readings);
  fit_zone (self);

  return self;
}

void
ef_flat_form_free (EfFlatForm *self)
{
  if (self == NULL)
    return;
  g_free (self->face_id);
  g_free (self->points);
  g_free (self->reason);
  g_free (self->source);
  g_free (self);
}
