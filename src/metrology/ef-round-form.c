/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-round-form.h"
#include "ef-bore.h"
#include "ef-derive-private.h"

#include <math.h>
#include <string.h>

#define SAME_DIRECTION (G_PI / 180e3)

const char *
ef_circle_abbreviation (EfCircleKind kind)
{
  static const char *const names[EF_N_CIRCLES] = { "LSCI", "MZCI", "MCCI", "MICI" };

  return names[CLAMP ((int) kind, 0, EF_N_CIRCLES - 1)];
}

const char *
ef_circle_label (EfCircleKind kind)
{
  static const char *const labels[EF_N_CIRCLES] = { "least squares", "minimum zone", "minimum circumscribed", "maximum inscribed" };

  return labels[CLAMP ((int) kind, 0, EF_N_CIRCLES - 1)];
}

typedef gboolean (*FitFunction) (const double *xy, guint n, EfCircleFit *fit, GError **error);

static void
fit_circles (EfRoundForm *self)
{
  static const FitFunction fits[EF_N_CIRCLES] = { ef_roundness_least_squares, ef_roundness_minimum_zone,
                                                  ef_roundness_circumscribed, ef_roundness_inscribed };
  g_autoptr (GError) error = NULL;

  for (int kind = 0; kind < EF_N_CIRCLES; kind++)
    if (!fits[kind](self->xy, self->n_points, &self->circle[kind], &error))
      {
        self->reason = g_strdup (error->message);
        return;
      }
  self->known = TRUE;
}

static EfRoundForm *
form_new (void)
{
  EfRoundForm *self = g_new0 (EfRoundForm, 1);

  self->amplitude = self->ovality = self->direction = self->u_ovality = self->u_direction = self->limit = NAN;
  return self;
}

EfRoundForm *
ef_round_form_from_points (const double *xy,
                           guint n)
{
  EfRoundForm *self = form_new ();
  EfHarmonic harmonic;

  self->n_points = n;
  self->xy = g_memdup2 (xy, 2 * (gsize) n * sizeof (double));
  fit_circles (self);
  if (self->known && ef_roundness_second_harmonic (xy, n, &harmonic, NULL))
    {
      self->oval_known = TRUE;
      self->amplitude = harmonic.amplitude;
      self->ovality = 4 * harmonic.amplitude;
      self->direction = harmonic.direction;
    }

  return self;
}

/* --- From diameters -------------------------------------------------------------------------------------------------------- */

static double
gauge_uncertainty (const EfReading *reading,
                   EfGauge *const *gauges,
                   guint n_gauges)
{
  for (guint i = 0; i < n_gauges; i++)
    if (g_strcmp0 (gauges[i]->item.id, reading->gauge_id) == 0)
      return gauges[i]->uncertainty / 2;

  return NAN;
}

static gboolean
same_direction (double a,
                double b)
{
  double between = fabs (a - b);

  return MIN (between, G_PI - between) <= SAME_DIRECTION;
}

static int
compare_directions (gconstpointer a,
                    gconstpointer b)
{
  double left = ((const EfRoundDirection *) a)->angle;
  double right = ((const EfRoundDirection *) b)->angle;

  return left < right ? -1 : left > right;
}

/* At 20 degrees C, as the verdict has it. */
static void
add_reading (GArray *directions,
             const EfPumpSheet *sheet,
             const EfReading *reading,
             double u)
{
  double angle = ef_angle_modulo_pi (reading->angle);
  EfEntry entry = { .reading = reading };
  EfRoundDirection fresh = { angle, NAN, u, 1 };

  ef_derive_to_20 (sheet, &entry);
  fresh.diameter = entry.value;
  for (guint i = 0; i < directions->len; i++)
    {
      EfRoundDirection *direction = &g_array_index (directions, EfRoundDirection, i);

      if (!same_direction (direction->angle, angle))
        continue;
      direction->diameter = (direction->diameter * direction->repeats + entry.value) / (direction->repeats + 1);
      direction->u = isnan (u) || isnan (direction->u) ? NAN : MAX (direction->u, u);
      direction->repeats++;
      return;
    }
  g_array_append_val (directions, fresh);
}

static void
set_points (EfRoundForm *self)
{
  guint n = self->n_directions;

  self->n_points = 2 * n;
  self->xy = g_new (double, 4 * (gsize) n + 1);
  for (guint i = 0; i < n; i++)
    {
      const EfRoundDirection *direction = &self->directions[i];
      double x = direction->diameter / 2 * cos (direction->angle);
      double y = direction->diameter / 2 * sin (direction->angle);

      self->xy[2 * i] = x;
      self->xy[2 * i + 1] = y;
      self->xy[2 * (n + i)] = -x;
      self->xy[2 * (n + i) + 1] = -y;
    }
}

/* Across a common centre the inscribed circle has room to shift sideways at no cost, so its centre isn't unique: it's held at the common one. */
static void
centre_inscribed (EfRoundForm *self)
{
  guint n = self->n_directions, least = 0, most = 0;

  for (guint i = 1; i < n; i++)
    {
      if (self->directions[i].diameter < self->directions[least].diameter)
        least = i;
      if (self->directions[i].diameter > self->directions[most].diameter)
        most = i;
    }
  self->circle[EF_CIRCLE_MICI] = (EfCircleFit) { .radius = self->directions[least].diameter / 2,
                                                 .roundness = (self->directions[most].diameter - self->directions[least].diameter) / 2,
                                                 .n_in = 2, .in = { least, n + least } };
}

static void
fit_oval (EfRoundForm *self)
{
  guint n = self->n_directions;
  g_autofree double *numbers = g_new (double, 3 * (gsize) n + 1);
  gboolean all = TRUE;
  EfBoreShape shape;

  for (guint i = 0; i < n; i++)
    {
      numbers[i] = self->directions[i].angle;
      numbers[n + i] = self->directions[i].diameter;
      numbers[2 * n + i] = self->directions[i].u;
      all = all && !isnan (self->directions[i].u);
    }
  if (!ef_bore_from_diameters (numbers, numbers + n, all ? numbers + 2 * n : NULL, n, &shape, NULL))
    return;
  self->oval_known = TRUE;
  self->amplitude = shape.amplitude;
  self->ovality = shape.elongation;
  self->direction = shape.direction;
  self->u_ovality = shape.u_elongation;
  self->u_direction = shape.u_direction;
}

EfRoundForm *
ef_round_form_new (const EfPumpSheet *sheet,
                   EfQuantity quantity,
                   const char *part,
                   const char *place,
                   EfReading *const *readings,
                   guint n_readings,
                   EfGauge *const *gauges,
                   guint n_gauges,
                   GPtrArray *derived)
{
  EfRoundForm *self = form_new ();
  g_autoptr (GArray) directions = g_array_new (FALSE, FALSE, sizeof (EfRoundDirection));
  const char *oval = quantity == EF_READ_BORE_DIAMETER ? "bore-ovality" : "journal-ovality";
  const EfLimit *limit = ef_pump_sheet_limit (sheet, oval, part);
  const EfDerived *value = ef_derived_find (derived, oval, part, place);

  for (guint i = 0; i < n_readings; i++)
    if (readings[i]->quantity == quantity && g_strcmp0 (readings[i]->target, part) == 0 && g_strcmp0 (readings[i]->place, place) == 0
        && fabs (readings[i]->angle) < 1e3 && readings[i]->value > 0 && readings[i]->value < 10)
      add_reading (directions, sheet, readings[i], gauge_uncertainty (readings[i], gauges, n_gauges));
  g_array_sort (directions, compare_directions);
  self->from_diameters = TRUE;
  self->n_directions = directions->len;
  self->directions = g_memdup2 (directions->data, directions->len * sizeof (EfRoundDirection));
  self->limit = limit != NULL ? limit->wear_max : NAN;
  self->source = limit != NULL ? g_strdup (limit->source) : NULL;
  set_points (self);
  if (self->n_directions < EF_ROUND_MIN_DIRECTIONS)
    self->reason = g_strdup_printf ("roundness: expected %d directions or more, found %u", EF_ROUND_MIN_DIRECTIONS, self->n_directions);
  else
    {
      fit_circles (self);
      centre_inscribed (self);
      fit_oval (self);
    }
  if (value != NULL)
    {
      self->ovality = value->value;
      self->direction = value->direction;
      self->u_ovality = value->uncertainty;
    }

  return self;
}

void
ef_round_form_free (EfRoundForm *self)
{
  if (self == NULL)
    return;
  g_free (self->directions);
  g_free (self->xy);
  g_free (self->reason);
  g_free (self->source);
  g_free (self);
}
