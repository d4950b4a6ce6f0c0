/* What follows simply from readings: means, differences, ovality, flatness.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The readings are sorted first, so the order they were entered in can't change a bit of the result, and what belongs
 * together (same quantity, target, place, then direction) lies side by side.
 */
#include "ef-bore.h"
#include "ef-derive-private.h"
#include "ef-flatness.h"
#include "ef-propagate.h"

#include <math.h>
#include <string.h>

void
ef_derived_free (EfDerived *derived)
{
  if (derived == NULL)
    return;

  g_free (derived->quantity);
  g_free (derived->target);
  g_free (derived->place);
  g_free (derived->how);
  g_clear_pointer (&derived->reading_ids, g_ptr_array_unref);
  g_free (derived);
}

static gboolean
is_diameter (EfQuantity quantity)
{
  return quantity == EF_READ_BORE_DIAMETER || quantity == EF_READ_JOURNAL_DIAMETER;
}

static int
direction_of (const EfReading *reading)
{
  double turn = is_diameter (reading->quantity) ? G_PI : 2 * G_PI;
  double angle;
  int steps = (int) lround (turn / EF_DIRECTION_STEP);

  if (!(fabs (reading->angle) < 1e3))
    return -1;
  angle = fmod (reading->angle, turn);
  return (int) ((lround (angle / EF_DIRECTION_STEP) + steps) % steps);
}

static int
compare_numbers (double a,
                 double b)
{
  return a < b ? -1 : a > b;
}

static gboolean
usable (const EfReading *reading)
{
  if (reading->after || (guint) reading->quantity >= EF_N_READINGS || reading->target == NULL || !(fabs (reading->value) < 10))
    return FALSE;

  return reading->quantity != EF_READ_FLATNESS || (fabs (reading->u) < 10 && fabs (reading->v) < 10);
}

/* Takes @how. Its uncertainty is to be filled in. */
static EfDerived *
add (EfDerivation *work,
     const char *quantity,
     const char *target,
     const char *place,
     double value,
     double direction,
     char *how)
{
  EfDerived *derived = g_new0 (EfDerived, 1);

  derived->quantity = g_strdup (quantity);
  derived->target = g_strdup (target);
  derived->place = g_strdup (place);
  derived->value = value;
  derived->uncertainty = derived->fixed = NAN;
  derived->direction = direction;
  derived->u_direction = NAN;
  derived->how = how;
  derived->reading_ids = g_ptr_array_new_with_free_func (g_free);
  g_ptr_array_add (work->out, derived);

  return derived;
}

static void
combine (const EfDerivation *work,
         EfDerived *derived,
         const EfMean *mean,
         const EfMean *less)
{
  const EfMean means[EF_DERIVE_MEANS] = { *mean, less != NULL ? *less : *mean };
  const double c[EF_DERIVE_MEANS] = { 1, -1 };

  ef_derive_combine (work, means, c, less != NULL ? 2 : 1, derived);
}

static void
add_ids (const EfDerivation *work,
         EfDerived *derived,
         EfGroup group)
{
  for (guint i = 0; i < group.n; i++)
    g_ptr_array_add (derived->reading_ids, g_strdup (work->entries[group.first + i].reading->item.id));
}

/* The mean of a group as a value of its own; FALSE when there are no readings. */
static gboolean
derive_mean (EfDerivation *work,
             EfQuantity quantity,
             const char *target,
             const char *place,
             EfMean *mean)
{
  EfGroup group = ef_derive_find (work, quantity, target, place);
  g_autofree char *text = NULL;
  EfDerived *derived;

  if (group.n == 0)
    return FALSE;

  *mean = ef_derive_mean (work, group, NULL);
  text = ef_derive_mean_text (mean);
  derived = add (work, ef_quantity_name (quantity), target, place, mean->value, NAN, g_strdup_printf ("read directly: %s", text));
  combine (work, derived, mean, NULL);
  add_ids (work, derived, group);
  return TRUE;
}

/* One mean over several directions or places: what differs from one to the next in the gauge's error averages out. */
static EfMean
mean_over (const EfDerivation *work,
           EfGroup group,
           const EfScatter *scatter,
           double value,
           guint directions)
{
  EfMean mean = ef_derive_mean (work, group, scatter);

  mean.value = value;
  mean.reduction = sqrt (EF_SAME_GAUGE_CORRELATION + (1 - EF_SAME_GAUGE_CORRELATION) / MAX (directions, 1));
  mean.gauge *= mean.reduction;

  return mean;
}

static void
derive_tip_mean (EfDerivation *work,
                 EfGroup group,
                 const EfScatter *scatter,
                 double value,
                 guint directions)
{
  const EfReading *first = work->entries[group.first].reading;
  EfMean mean = mean_over (work, group, scatter, value, directions);
  EfDerived *derived = add (work, "tip-clearance-mean", first->target, first->place, value, NAN,
                            g_strdup_printf ("mean over %u %s", directions, directions == 1 ? "direction" : "directions"));

  combine (work, derived, &mean, NULL);
  add_ids (work, derived, group);
}

/* The largest of the means by direction, and the mean over directions. */
static void
derive_largest (EfDerivation *work,
                EfQuantity quantity,
                const char *target,
                const char *place)
{
  EfGroup group = ef_derive_find (work, quantity, target, place);
  EfScatter scatter = ef_derive_scatter (work, group);
  EfMean largest = { .value = -INFINITY };
  g_autofree char *text = NULL;
  g_autofree char *angle = NULL;
  EfDerived *derived;
  double sum = 0;
  guint n = 0;

  for (guint i = group.first; i < group.first + group.n;)
    {
      EfGroup part = ef_derive_together (work, group, i);
      EfMean mean = ef_derive_mean (work, part, &scatter);

      if (mean.value > largest.value)
        largest = mean;
      sum += mean.value;
      n++;
      i += part.n;
    }
  if (n == 0)
    return;

  text = ef_derive_mean_text (&largest);
  angle = isnan (largest.angle) ? g_strdup ("") : g_strdup_printf (" at %.1f°", largest.angle * 180 / G_PI);
  derived = add (work, ef_quantity_name (quantity), target, place, largest.value, largest.angle,
                 n == 1 ? g_strdup_printf ("read directly: %s%s", text, angle)
                        : g_strdup_printf ("largest of %u directions: %s%s", n, text, angle));
  combine (work, derived, &largest, NULL);
  add_ids (work, derived, largest.group);
  if (quantity == EF_READ_TIP_CLEARANCE)
    derive_tip_mean (work, group, &scatter, sum / n, n);
}

static void
derive_width_difference (EfDerivation *work,
                         const EfSection *section,
                         const EfMean width[2])
{
  g_autofree char *drive = ef_derive_mean_text (&width[0]);
  g_autofree char *driven = ef_derive_mean_text (&width[1]);
  EfDerived *derived = add (work, "width-difference", section->id, NULL, fabs (width[0].value - width[1].value), NAN,
                            g_strdup_printf ("face widths: drive gear %s, driven gear %s", drive, driven));

  combine (work, derived, &width[0], &width[1]);
  add_ids (work, derived, width[0].group);
  add_ids (work, derived, width[1].group);
}

static void
derive_end_clearance (EfDerivation *work,
                      const EfSection *section)
{
  static const char *const places[2] = { "drive", "driven" };
  EfMean width[2];
  gboolean have[2];

  for (int i = 0; i < 2; i++)
    have[i] = derive_mean (work, EF_READ_FACE_WIDTH, section->gear_part[i], NULL, &width[i]);

  for (int i = 0; i < 2; i++)
    {
      EfMean depth, clearance;
      g_autofree char *depth_text = NULL;
      g_autofree char *width_text = NULL;
      EfDerived *derived;

      derive_mean (work, EF_READ_END_CLEARANCE, section->id, places[i], &clearance);
      if (!derive_mean (work, EF_READ_POCKET_DEPTH, section->id, places[i], &depth) || !have[i])
        continue;

      depth_text = ef_derive_mean_text (&depth);
      width_text = ef_derive_mean_text (&width[i]);
      derived = add (work, "end-clearance", section->id, places[i], depth.value - width[i].value, NAN,
                     g_strdup_printf ("pocket depth %s − face width %s", depth_text, width_text));
      combine (work, derived, &depth, &width[i]);
      add_ids (work, derived, depth.group);
      add_ids (work, derived, width[i].group);
    }
  if (have[0] && have[1])
    derive_width_difference (work, section, width);
}

static void
derive_section (EfDerivation *work,
                const EfSection *section)
{
  EfMean mean;

  derive_end_clearance (work, section);
  derive_largest (work, EF_READ_TIP_CLEARANCE, section->id, "drive");
  derive_largest (work, EF_READ_TIP_CLEARANCE, section->id, "driven");
  derive_mean (work, EF_READ_BACKLASH, section->id, NULL, &mean);
  derive_largest (work, EF_READ_SIDE_PLAY, section->id, "drive");
  derive_largest (work, EF_READ_SIDE_PLAY, section->id, "driven");
}

/* A cylinder's diameters, one mean a direction. */
typedef struct
{
  EfGroup group;
  guint n;     /* directions that were said */
  EfMean *means;
  EfMean mean; /* over all */
  gboolean fitted;
  EfBoreShape shape;
} Diameters;

static void
diameters_clear (Diameters *self)
{
  g_free (self->means);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Diameters, diameters_clear)

/* What is common to all readings shifts the mean alone. */
static void
fit_harmonic (Diameters *self,
              const EfDerivation *work)
{
  g_autofree double *numbers = g_new (double, 3 * self->n + 1);
  gboolean known = TRUE;

  for (guint i = 0; i < self->n; i++)
    {
      numbers[i] = self->means[i].angle;
      numbers[self->n + i] = self->means[i].value;
      ef_derive_common (work, self->group, &self->means[i], &numbers[2 * self->n + i]);
      known = known && !isnan (numbers[2 * self->n + i]);
    }
  self->fitted = ef_bore_from_diameters (numbers, numbers + self->n, known ? numbers + 2 * self->n : NULL, self->n, &self->shape, NULL);
}

/* The mean over directions; least squares takes out what uneven directions would add. */
static void
diameters_init (Diameters *self,
                const EfDerivation *work,
                EfQuantity quantity,
                const char *target,
                const char *place)
{
  EfScatter scatter;
  double sum = 0;
  guint directions = 0;

  *self = (Diameters){ .group = ef_derive_find (work, quantity, target, place) };
  self->means = g_new (EfMean, self->group.n + 1);
  scatter = ef_derive_scatter (work, self->group);
  for (guint i = self->group.first; i < self->group.first + self->group.n;)
    {
      EfGroup part = ef_derive_together (work, self->group, i);
      EfMean mean = ef_derive_mean (work, part, &scatter);

      if (!isnan (mean.angle))
        self->means[self->n++] = mean;
      sum += mean.value;
      directions++;
      i += part.n;
    }
  if (directions == 0)
    return;

  fit_harmonic (self, work);
  self->mean = mean_over (work, self->group, &scatter, self->fitted && self->n == directions ? self->shape.mean : sum / directions, directions);
}

static void
derive_harmonic (EfDerivation *work,
                 const Diameters *diameters,
                 const char *quantity,
                 const char *target,
                 const char *place)
{
  const EfBoreShape *shape = &diameters->shape;
  EfDerived *derived = add (work, quantity, target, place, shape->elongation, shape->elongation > 0 ? shape->direction : NAN,
                            shape->elongation > 0 ? g_strdup_printf ("second harmonic through %u directions: %.3f mm, longest at %.1f°",
                                                                     diameters->n, shape->elongation * 1e3, shape->direction * 180 / G_PI)
                                                  : g_strdup_printf ("second harmonic through %u directions: none", diameters->n));

  derived->uncertainty = derived->fixed = shape->u_elongation;
  derived->u_direction = shape->u_direction;
  derived->repeats = derived->terms = 1;
  add_ids (work, derived, diameters->group);
}

/* Of two to four directions: the longest less the shortest; the true direction lies up to half their spacing from where one was measured. */
static void
derive_ovality (EfDerivation *work,
                const Diameters *diameters,
                const char *quantity,
                const char *target,
                const char *place)
{
  const EfMean *low = diameters->means;
  const EfMean *high = diameters->means;
  EfDerived *derived;

  if (diameters->n < 2)
    return;
  if (diameters->fitted)
    {
      derive_harmonic (work, diameters, quantity, target, place);
      return;
    }

  for (guint i = 1; i < diameters->n; i++)
    {
      if (diameters->means[i].value < low->value)
        low = &diameters->means[i];
      if (diameters->means[i].value > high->value)
        high = &diameters->means[i];
    }
  derived = add (work, quantity, target, place, high->value - low->value, high == low ? NAN : high->angle,
                 g_strdup_printf ("largest %.3f mm at %.1f° − smallest %.3f mm at %.1f°, of %u directions", high->value * 1e3,
                                  high->angle * 180 / G_PI, low->value * 1e3, low->angle * 180 / G_PI, diameters->n));
  combine (work, derived, high, low);
  derived->u_direction = ef_u_rectangular (G_PI / 2 / diameters->n);
  add_ids (work, derived, diameters->group);
}

static gboolean
derive_diameters (EfDerivation *work,
                  const Diameters *diameters,
                  EfQuantity quantity,
                  const char *target,
                  const char *place)
{
  EfDerived *derived;

  if (diameters->group.n == 0)
    return FALSE;

  derived = add (work, ef_quantity_name (quantity), target, place, diameters->mean.value, NAN,
                 g_strdup_printf ("mean of %u readings in %u directions", diameters->group.n, MAX (diameters->n, 1)));
  combine (work, derived, &diameters->mean, NULL);
  add_ids (work, derived, diameters->group);
  derive_ovality (work, diameters, quantity == EF_READ_BORE_DIAMETER ? "bore-ovality" : "journal-ovality", target, place);
  return TRUE;
}

/* A bore or journal on an axis, with where it comes from the front. */
typedef struct
{
  const EfPart *part;
  const EfCylinder *cylinder;
  double place; /* parts' order; journals: order then z */
} OnAxis;

static int
compare_on_axis (gconstpointer a,
                 gconstpointer b)
{
  return compare_numbers (((const OnAxis *) a)->place, ((const OnAxis *) b)->place);
}

static GArray *
bores_on_axis (const EfPumpSheet *sheet,
               int axis,
               gboolean with_plates)
{
  GArray *bores = g_array_new (FALSE, FALSE, sizeof (OnAxis));

  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (sheet->parts, i);

      if (part->kind != EF_PART_HOUSING && part->kind != EF_PART_COVER && !(with_plates && part->kind == EF_PART_PLATE))
        continue;
      for (guint k = 0; part->bores != NULL && k < part->bores->len; k++)
        {
          OnAxis bore = { part, &g_array_index (part->bores, EfCylinder, k), part->order };

          if (bore.cylinder->axis == axis)
            g_array_append_val (bores, bore);
        }
    }
  g_array_sort (bores, compare_on_axis);

  return bores;
}

static GArray *
journals_on_axis (const EfPumpSheet *sheet,
                  int axis)
{
  GArray *journals = g_array_new (FALSE, FALSE, sizeof (OnAxis));

  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (sheet->parts, i);

      if (part->kind != EF_PART_SHAFT || part->gear != axis)
        continue;
      for (guint k = 0; part->journals != NULL && k < part->journals->len; k++)
        {
          OnAxis journal = { part, &g_array_index (part->journals, EfCylinder, k), 0 };

          journal.place = part->order * 100 + journal.cylinder->z;
          g_array_append_val (journals, journal);
        }
    }
  g_array_sort (journals, compare_on_axis);

  return journals;
}

static void
derive_bore_clearance (EfDerivation *work,
                       const OnAxis *bore,
                       const OnAxis *journal)
{
  g_auto (Diameters) hole = { 0 };
  g_auto (Diameters) shaft = { 0 };
  EfDerived *derived;

  diameters_init (&hole, work, EF_READ_BORE_DIAMETER, bore->part->id, bore->cylinder->id);
  diameters_init (&shaft, work, EF_READ_JOURNAL_DIAMETER, journal->part->id, journal->cylinder->id);
  if (hole.group.n == 0 || shaft.group.n == 0)
    return;

  derived = add (work, "bore-clearance", bore->part->id, bore->cylinder->id, hole.mean.value - shaft.mean.value, NAN,
                 g_strdup_printf ("mean bore %.3f mm − mean journal %.3f mm (%s, %s)", hole.mean.value * 1e3, shaft.mean.value * 1e3,
                                  journal->part->id, journal->cylinder->id));
  combine (work, derived, &hole.mean, &shaft.mean);
  add_ids (work, derived, hole.group);
  add_ids (work, derived, shaft.group);
}

/* The bore of a face id such as "pressure-housing/bore-drive"; FALSE when the sheet has none. */
static gboolean
bore_of_face (const EfPumpSheet *sheet,
              const char *face_id,
              OnAxis *bore)
{
  const char *slash = strchr (face_id, '/');
  g_autofree char *part_id = slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : NULL;

  bore->part = part_id != NULL ? ef_pump_sheet_part (sheet, part_id) : NULL;
  if (bore->part == NULL || !(g_str_has_prefix (slash, "/bore-") || g_str_has_prefix (slash, "/hole-")))
    return FALSE;

  bore->cylinder = ef_part_cylinder (bore->part->bores, slash + strlen ("/bore-"));
  return bore->cylinder != NULL;
}

/* Which journal runs in which bore: as the sheet says. Where it says nothing about any journal of an axis, in order from the
 * front, when there are as many bores of housings and covers (with plates, if it needs them to come out even) as journals;
 * otherwise nothing is derived. */
static void
derive_axis (EfDerivation *work,
             int axis)
{
  g_autoptr (GArray) journals = journals_on_axis (work->sheet, axis);
  g_autoptr (GArray) bores = bores_on_axis (work->sheet, axis, FALSE);
  gboolean said = FALSE;

  for (guint i = 0; i < journals->len; i++)
    {
      const OnAxis *journal = &g_array_index (journals, OnAxis, i);
      OnAxis bore;

      if (journal->cylinder->runs_in == NULL)
        continue;
      said = TRUE;
      if (bore_of_face (work->sheet, journal->cylinder->runs_in, &bore))
        derive_bore_clearance (work, &bore, journal);
    }
  if (said)
    return;

  if (bores->len != journals->len)
    {
      g_array_unref (bores);
      bores = bores_on_axis (work->sheet, axis, TRUE);
    }
  for (guint i = 0; i < bores->len && bores->len == journals->len; i++)
    derive_bore_clearance (work, &g_array_index (bores, OnAxis, i), &g_array_index (journals, OnAxis, i));
}

static void
derive_part (EfDerivation *work,
             const EfPart *part)
{
  for (guint i = 0; part->bores != NULL && i < part->bores->len; i++)
    {
      const char *id = g_array_index (part->bores, EfCylinder, i).id;
      g_auto (Diameters) diameters = { 0 };

      diameters_init (&diameters, work, EF_READ_BORE_DIAMETER, part->id, id);
      derive_diameters (work, &diameters, EF_READ_BORE_DIAMETER, part->id, id);
    }
  for (guint i = 0; part->journals != NULL && i < part->journals->len; i++)
    {
      const char *id = g_array_index (part->journals, EfCylinder, i).id;
      g_auto (Diameters) diameters = { 0 };

      diameters_init (&diameters, work, EF_READ_JOURNAL_DIAMETER, part->id, id);
      derive_diameters (work, &diameters, EF_READ_JOURNAL_DIAMETER, part->id, id);
    }
}

/* Means of the heights at one place each, with what is their own of the uncertainty: what is common to all shifts the plane alone. */
static guint
collect_heights (const EfDerivation *work,
                 EfGroup group,
                 double *xyz,
                 double *u)
{
  EfScatter scatter = ef_derive_scatter (work, group);
  guint n = 0;

  for (guint i = group.first; i < group.first + group.n;)
    {
      EfGroup place = ef_derive_together (work, group, i);
      EfMean mean = ef_derive_mean (work, place, &scatter);

      xyz[3 * n] = work->entries[i].reading->u;
      xyz[3 * n + 1] = work->entries[i].reading->v;
      xyz[3 * n + 2] = mean.value;
      ef_derive_common (work, group, &mean, &u[n++]);
      i += place.n;
    }

  return n;
}

static void
derive_flatness (EfDerivation *work,
                 EfGroup group)
{
  g_autofree double *xyz = g_new (double, 3 * group.n);
  g_autofree double *u = g_new (double, group.n);
  const char *face = work->entries[group.first].reading->target;
  guint n = collect_heights (work, group, xyz, u);
  EfDerived *derived;
  EfFlatness squares;
  EfFlatnessZone zone;
  double u2 = 0;

  if (n < 4 || !ef_flatness_minimum_zone_normal (xyz, n, &zone, NULL) || !ef_flatness_least_squares_normal (xyz, n, &squares, NULL))
    return;

  for (guint i = 0; i < zone.n_high; i++)
    u2 += pow (zone.high_weight[i] * u[zone.high[i]], 2);
  for (guint i = 0; i < zone.n_low; i++)
    u2 += pow (zone.low_weight[i] * u[zone.low[i]], 2);
  derived = add (work, "flatness", face, NULL, zone.zone, NAN,
                 g_strdup_printf ("flatness (minimum zone): %.3f mm over %u places; about the least-squares plane %.3f mm", zone.zone * 1e3, n,
                                  squares.flatness * 1e3));
  derived->uncertainty = derived->fixed = sqrt (u2);
  derived->repeats = derived->terms = 1;
  add_ids (work, derived, group);
}

/* Faces aren't listed in the sheet: those that have readings, in order of their ids. */
static void
derive_faces (EfDerivation *work)
{
  for (guint i = 0; i < work->n;)
    {
      const EfReading *reading = work->entries[i].reading;
      EfGroup group = { i, 1 };

      while (i + group.n < work->n && ef_derive_same_group (work->entries[i + group.n].reading, reading))
        group.n++;
      if (reading->quantity == EF_READ_FLATNESS && ef_reading_check (reading, work->sheet, NULL))
        derive_flatness (work, group);
      i += group.n;
    }
}

static void
free_derived (gpointer data)
{
  ef_derived_free (data);
}

GPtrArray *
ef_derive (const EfPumpSheet *sheet,
           EfReading *const *readings,
           guint n_readings,
           EfGauge *const *gauges,
           guint n_gauges)
{
  g_autoptr (GHashTable) by_id = g_hash_table_new (g_str_hash, g_str_equal);
  g_autofree EfEntry *entries = g_new (EfEntry, n_readings + 1);
  EfDerivation work = { .sheet = sheet, .entries = entries };

  for (guint i = 0; i < n_gauges; i++)
    g_hash_table_insert (by_id, gauges[i]->item.id, gauges[i]);
  for (guint i = 0; i < n_readings; i++)
    if (usable (readings[i]))
      {
        const EfReading *reading = readings[i];
        EfEntry *entry = &entries[work.n++];

        *entry = (EfEntry){ .reading = reading, .direction = direction_of (reading) };
        entry->gauge = reading->gauge_id != NULL ? g_hash_table_lookup (by_id, reading->gauge_id) : NULL;
        if (entry->gauge != NULL && !(entry->gauge->uncertainty > 0))
          entry->gauge = NULL;
        ef_derive_to_20 (sheet, entry);
      }
  qsort (entries, work.n, sizeof (EfEntry), ef_derive_compare);

  work.out = g_ptr_array_new_with_free_func (free_derived);
  for (guint i = 0; i < sheet->sections->len; i++)
    derive_section (&work, g_ptr_array_index (sheet->sections, i));
  for (guint i = 0; i < sheet->parts->len; i++)
    derive_part (&work, g_ptr_array_index (sheet->parts, i));
  for (int axis = 0; axis < 2; axis++)
    derive_axis (&work, axis);
  derive_faces (&work);

  return work.out;
}

/* TRUE when an earlier one is of the same thing: only the first counts. */
static gboolean
comes_second (GPtrArray *derived,
              guint index)
{
  const EfDerived *one = g_ptr_array_index (derived, index);

  for (guint i = 0; i < index; i++)
    {
      const EfDerived *other = g_ptr_array_index (derived, i);

      if (g_strcmp0 (one->quantity, other->quantity) == 0 && g_strcmp0 (one->target, other->target) == 0
          && g_strcmp0 (one->place, other->place) == 0)
        return TRUE;
    }

  return FALSE;
}

const EfDerived *
ef_derived_find (GPtrArray *derived,
                 const char *quantity,
                 const char *target,
                 const char *place)
{
  const EfDerived *largest = NULL;

  for (guint i = 0; derived != NULL && i < derived->len; i++)
    {
      const EfDerived *one = g_ptr_array_index (derived, i);

      if (g_strcmp0 (one->quantity, quantity) != 0 || g_strcmp0 (one->target, target) != 0)
        continue;
      if (g_strcmp0 (one->place, place) == 0)
        return one;
      if (place == NULL && (largest == NULL || one->value > largest->value) && !comes_second (derived, i))
        largest = one;
    }

  return largest;
}
