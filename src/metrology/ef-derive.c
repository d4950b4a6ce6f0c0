/* What follows simply from readings: means, differences, ovality, flatness.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The readings are sorted first, so the order they were entered in can't change a bit of the result, and what belongs
 * together (same quantity, target, place, then direction) lies side by side.
 */
#include "ef-bore.h"
#include "ef-flatness.h"
#include "ef-reading.h"

#include <math.h>
#include <string.h>

#define DIRECTION_STEP (G_PI / 180e3) /* rad: directions nearer than this are one */

typedef struct
{
  const EfReading *reading;
  int direction; /* in steps, modulo half or whole turn; -1 not said */
} Entry;

typedef struct
{
  const EfPumpSheet *sheet;
  GHashTable *gauges; /* id -> EfGauge * */
  Entry *entries;
  guint n;
  GPtrArray *out;
} Work;

/* Entries [first, first + n) that belong together. */
typedef struct
{
  guint first, n;
} Group;

typedef struct
{
  double value, u; /* m */
  double angle;    /* rad */
  guint n;         /* readings */
} Mean;

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
  int steps = (int) lround (turn / DIRECTION_STEP);

  if (!(fabs (reading->angle) < 1e3))
    return -1;
  angle = fmod (reading->angle, turn);
  return (int) ((lround (angle / DIRECTION_STEP) + steps) % steps);
}

static int
compare_numbers (double a,
                 double b)
{
  return a < b ? -1 : a > b;
}

static int
compare_group (const EfReading *a,
               EfQuantity quantity,
               const char *target,
               const char *place)
{
  int order = (int) a->quantity - (int) quantity;

  if (order == 0)
    order = g_strcmp0 (a->target, target);
  return order != 0 ? order : g_strcmp0 (a->place, place);
}

static int
compare_entries (gconstpointer left,
                 gconstpointer right)
{
  const Entry *a = left;
  const Entry *b = right;
  int order = compare_group (a->reading, b->reading->quantity, b->reading->target, b->reading->place);

  if (order == 0)
    order = a->direction - b->direction;
  if (order == 0 && a->reading->quantity == EF_READ_FLATNESS)
    {
      order = compare_numbers (a->reading->u, b->reading->u);
      if (order == 0)
        order = compare_numbers (a->reading->v, b->reading->v);
    }
  if (order == 0)
    order = compare_numbers (a->reading->value, b->reading->value);
  return order != 0 ? order : g_strcmp0 (a->reading->item.id, b->reading->item.id);
}

static gboolean
usable (const EfReading *reading)
{
  if ((guint) reading->quantity >= EF_N_READINGS || reading->target == NULL || !(fabs (reading->value) < 10))
    return FALSE;

  return reading->quantity != EF_READ_FLATNESS || (fabs (reading->u) < 10 && fabs (reading->v) < 10);
}

static Group
find_group (const Work *work,
            EfQuantity quantity,
            const char *target,
            const char *place)
{
  guint low = 0;
  guint high = work->n;
  Group group;

  while (low < high)
    {
      guint middle = low + (high - low) / 2;

      if (compare_group (work->entries[middle].reading, quantity, target, place) < 0)
        low = middle + 1;
      else
        high = middle;
    }
  group.first = low;
  while (low < work->n && compare_group (work->entries[low].reading, quantity, target, place) == 0)
    low++;
  group.n = low - group.first;

  return group;
}

/* The part of @group that starts at @first and has one direction. */
static Group
same_direction (const Work *work,
                Group group,
                guint first)
{
  Group part = { first, 0 };

  while (first + part.n < group.first + group.n
         && work->entries[first + part.n].direction == work->entries[first].direction)
    part.n++;

  return part;
}

static double
standard_uncertainty (const Work *work,
                      const EfReading *reading)
{
  const EfGauge *gauge = reading->gauge_id != NULL ? g_hash_table_lookup (work->gauges, reading->gauge_id) : NULL;

  return gauge != NULL ? gauge->uncertainty / 2 : NAN;
}

/* Gauge term of a mean: errors of one gauge are common to its readings, those of different gauges independent. */
static double
gauge_term (const Work *work,
            Group group)
{
  double squares = 0;

  for (guint i = 0; i < group.n; i++)
    {
      const EfReading *reading = work->entries[group.first + i].reading;
      double share = 0;
      gboolean seen = FALSE;
      double u = standard_uncertainty (work, reading);

      if (isnan (u))
        return NAN;
      for (guint j = 0; j < group.n && !seen; j++)
        if (g_strcmp0 (work->entries[group.first + j].reading->gauge_id, reading->gauge_id) == 0)
          {
            seen = j < i;
            share += 1.0 / group.n;
          }
      if (!seen)
        squares += share * share * u * u;
    }

  return sqrt (squares);
}

static Mean
mean_of (const Work *work,
         Group group)
{
  Mean mean = { .n = group.n, .angle = NAN };
  double squares = 0;

  for (guint i = 0; i < group.n; i++)
    mean.value += work->entries[group.first + i].reading->value / group.n;
  for (guint i = 0; i < group.n; i++)
    {
      double e = work->entries[group.first + i].reading->value - mean.value;

      squares += e * e;
    }
  mean.u = group.n == 1 ? standard_uncertainty (work, work->entries[group.first].reading) : gauge_term (work, group);
  if (group.n > 1)
    mean.u = sqrt (mean.u * mean.u + squares / (group.n - 1) / group.n);
  if (group.n > 0 && work->entries[group.first].direction >= 0)
    mean.angle = work->entries[group.first].direction * DIRECTION_STEP;

  return mean;
}

/* "25.130 mm", "25.130 mm (mean of 3)". */
static char *
mean_text (const Mean *mean)
{
  return mean->n == 1 ? g_strdup_printf ("%.3f mm", mean->value * 1e3)
                      : g_strdup_printf ("%.3f mm (mean of %u)", mean->value * 1e3, mean->n);
}

/* Takes @how. */
static EfDerived *
add (Work *work,
     const char *quantity,
     const char *target,
     const char *place,
     double value,
     double u,
     double direction,
     char *how)
{
  EfDerived *derived = g_new0 (EfDerived, 1);

  derived->quantity = g_strdup (quantity);
  derived->target = g_strdup (target);
  derived->place = g_strdup (place);
  derived->value = value;
  derived->uncertainty = u;
  derived->direction = direction;
  derived->how = how;
  derived->reading_ids = g_ptr_array_new_with_free_func (g_free);
  g_ptr_array_add (work->out, derived);

  return derived;
}

static void
add_ids (const Work *work,
         EfDerived *derived,
         Group group)
{
  for (guint i = 0; i < group.n; i++)
    g_ptr_array_add (derived->reading_ids, g_strdup (work->entries[group.first + i].reading->item.id));
}

/* The mean of a group as a value of its own; FALSE when there are no readings. */
static gboolean
derive_mean (Work *work,
             EfQuantity quantity,
             const char *target,
             const char *place,
             Group *group,
             Mean *mean)
{
  g_autofree char *text = NULL;

  *group = find_group (work, quantity, target, place);
  if (group->n == 0)
    return FALSE;

  *mean = mean_of (work, *group);
  text = mean_text (mean);
  add_ids (work,
           add (work, ef_quantity_name (quantity), target, place, mean->value, mean->u, NAN, g_strdup_printf ("read directly: %s", text)),
           *group);
  return TRUE;
}

/* The largest of the means by direction, and the mean over directions. */
static void
derive_largest (Work *work,
                EfQuantity quantity,
                const char *target,
                const char *place)
{
  Group group = find_group (work, quantity, target, place);
  Group widest = { 0, 0 };
  Mean largest = { .value = -INFINITY };
  Mean all = mean_of (work, group);
  double sum = 0, squares = 0;
  guint n = 0;

  for (guint i = group.first; i < group.first + group.n;)
    {
      Group part = same_direction (work, group, i);
      Mean mean = mean_of (work, part);

      if (mean.value > largest.value)
        {
          largest = mean;
          widest = part;
        }
      sum += mean.value;
      squares += mean.u * mean.u;
      n++;
      i += part.n;
    }
  if (n == 0)
    return;

  {
    g_autofree char *text = mean_text (&largest);
    g_autofree char *angle = isnan (largest.angle) ? g_strdup ("") : g_strdup_printf (" at %.1f°", largest.angle * 180 / G_PI);

    add_ids (work,
             add (work, ef_quantity_name (quantity), target, place, largest.value, largest.u, largest.angle,
                  n == 1 ? g_strdup_printf ("read directly: %s%s", text, angle)
                         : g_strdup_printf ("largest of %u directions: %s%s", n, text, angle)),
             widest);
  }
  if (quantity == EF_READ_TIP_CLEARANCE)
    {
      /* Over one direction the scatter of its repeats counts; over several their difference is form, not scatter. */
      double u = n == 1 ? all.u : sqrt (squares) / n;

      add_ids (work,
               add (work, "tip-clearance-mean", target, place, sum / n, u, NAN, g_strdup_printf ("mean over %u %s", n, n == 1 ? "direction" : "directions")),
               group);
    }
}

static void
derive_end_clearance (Work *work,
                      const EfSection *section)
{
  static const char *const places[2] = { "drive", "driven" };
  Group widths[2];
  Mean width[2];
  gboolean have[2];

  for (int i = 0; i < 2; i++)
    have[i] = derive_mean (work, EF_READ_FACE_WIDTH, section->gear_part[i], NULL, &widths[i], &width[i]);

  for (int i = 0; i < 2; i++)
    {
      Group depths, direct;
      Mean depth, clearance;
      g_autofree char *depth_text = NULL;
      g_autofree char *width_text = NULL;
      EfDerived *derived;

      derive_mean (work, EF_READ_END_CLEARANCE, section->id, places[i], &direct, &clearance);
      if (!derive_mean (work, EF_READ_POCKET_DEPTH, section->id, places[i], &depths, &depth) || !have[i])
        continue;

      depth_text = mean_text (&depth);
      width_text = mean_text (&width[i]);
      derived = add (work, "end-clearance", section->id, places[i], depth.value - width[i].value, hypot (depth.u, width[i].u), NAN,
                     g_strdup_printf ("pocket depth %s − face width %s", depth_text, width_text));
      add_ids (work, derived, depths);
      add_ids (work, derived, widths[i]);
    }

  if (have[0] && have[1])
    {
      g_autofree char *drive = mean_text (&width[0]);
      g_autofree char *driven = mean_text (&width[1]);
      EfDerived *derived = add (work, "width-difference", section->id, NULL, fabs (width[0].value - width[1].value),
                                hypot (width[0].u, width[1].u), NAN,
                                g_strdup_printf ("face widths: drive gear %s, driven gear %s", drive, driven));

      add_ids (work, derived, widths[0]);
      add_ids (work, derived, widths[1]);
    }
}

static void
derive_section (Work *work,
                const EfSection *section)
{
  Group group;
  Mean mean;

  derive_end_clearance (work, section);
  derive_largest (work, EF_READ_TIP_CLEARANCE, section->id, "drive");
  derive_largest (work, EF_READ_TIP_CLEARANCE, section->id, "driven");
  derive_mean (work, EF_READ_BACKLASH, section->id, NULL, &group, &mean);
  derive_largest (work, EF_READ_SIDE_PLAY, section->id, "drive");
  derive_largest (work, EF_READ_SIDE_PLAY, section->id, "driven");
}

/* A cylinder's diameters, one mean a direction. */
typedef struct
{
  Group group;
  guint n;     /* directions that were said */
  Mean *means;
  Mean mean;   /* over all */
  gboolean fitted;
  EfBoreShape shape;
} Diameters;

static void
diameters_clear (Diameters *self)
{
  g_free (self->means);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Diameters, diameters_clear)

static void
fit_harmonic (Diameters *self)
{
  g_autofree double *numbers = g_new (double, 3 * self->n + 1);
  gboolean known = TRUE;

  for (guint i = 0; i < self->n; i++)
    {
      numbers[i] = self->means[i].angle;
      numbers[self->n + i] = self->means[i].value;
      numbers[2 * self->n + i] = self->means[i].u;
      known = known && !isnan (self->means[i].u);
    }
  self->fitted = ef_bore_from_diameters (numbers, numbers + self->n, known ? numbers + 2 * self->n : NULL, self->n, &self->shape, NULL);
}

static void
diameters_init (Diameters *self,
                const Work *work,
                EfQuantity quantity,
                const char *target,
                const char *place)
{
  double sum = 0, squares = 0;
  guint directions = 0;

  *self = (Diameters){ .group = find_group (work, quantity, target, place) };
  self->means = g_new (Mean, self->group.n + 1);
  for (guint i = self->group.first; i < self->group.first + self->group.n;)
    {
      Group part = same_direction (work, self->group, i);
      Mean mean = mean_of (work, part);

      if (!isnan (mean.angle))
        self->means[self->n++] = mean;
      sum += mean.value;
      squares += mean.u * mean.u;
      directions++;
      i += part.n;
    }
  if (directions == 0)
    return;

  /* The mean over directions; least squares takes out what uneven directions would add. */
  self->mean = mean_of (work, self->group);
  if (directions > 1)
    {
      self->mean.value = sum / directions;
      self->mean.u = sqrt (squares) / directions;
    }
  fit_harmonic (self);
  if (self->fitted && self->n == directions)
    {
      self->mean.value = self->shape.mean;
      self->mean.u = self->shape.u_mean;
    }
}

static void
derive_ovality (Work *work,
                const Diameters *diameters,
                const char *quantity,
                const char *target,
                const char *place)
{
  const Mean *low = diameters->means;
  const Mean *high = diameters->means;
  EfDerived *derived;

  if (diameters->n < 2)
    return;
  if (diameters->fitted)
    {
      const EfBoreShape *shape = &diameters->shape;

      if (shape->elongation > 0)
        derived = add (work, quantity, target, place, shape->elongation, shape->u_elongation, shape->direction,
                       g_strdup_printf ("second harmonic through %u directions: %.3f mm, longest at %.1f°", diameters->n,
                                        shape->elongation * 1e3, shape->direction * 180 / G_PI));
      else
        derived = add (work, quantity, target, place, 0, shape->u_elongation, NAN,
                       g_strdup_printf ("second harmonic through %u directions: none", diameters->n));
      add_ids (work, derived, diameters->group);
      return;
    }

  for (guint i = 1; i < diameters->n; i++)
    {
      if (diameters->means[i].value < low->value)
        low = &diameters->means[i];
      if (diameters->means[i].value > high->value)
        high = &diameters->means[i];
    }
  derived = add (work, quantity, target, place, high->value - low->value, hypot (high->u, low->u), high == low ? NAN : high->angle,
                 g_strdup_printf ("largest %.3f mm at %.1f° − smallest %.3f mm at %.1f°, of %u directions", high->value * 1e3,
                                  high->angle * 180 / G_PI, low->value * 1e3, low->angle * 180 / G_PI, diameters->n));
  add_ids (work, derived, diameters->group);
}

static gboolean
derive_diameters (Work *work,
                  const Diameters *diameters,
                  EfQuantity quantity,
                  const char *target,
                  const char *place)
{
  if (diameters->group.n == 0)
    return FALSE;

  add_ids (work,
           add (work, ef_quantity_name (quantity), target, place, diameters->mean.value, diameters->mean.u, NAN,
                g_strdup_printf ("mean of %u readings in %u directions", diameters->group.n, MAX (diameters->n, 1))),
           diameters->group);
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
derive_bore_clearance (Work *work,
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

  derived = add (work, "bore-clearance", bore->part->id, bore->cylinder->id, hole.mean.value - shaft.mean.value,
                 hypot (hole.mean.u, shaft.mean.u), NAN,
                 g_strdup_printf ("mean bore %.3f mm − mean journal %.3f mm (%s, %s)", hole.mean.value * 1e3, shaft.mean.value * 1e3,
                                  journal->part->id, journal->cylinder->id));
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
derive_axis (Work *work,
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
derive_part (Work *work,
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

/* Means of the heights at one place each. */
static guint
collect_heights (const Work *work,
                 Group group,
                 double *xyz,
                 double *u)
{
  guint n = 0;

  for (guint i = group.first; i < group.first + group.n;)
    {
      const EfReading *reading = work->entries[i].reading;
      Group place = { i, 1 };
      Mean mean;

      while (i + place.n < group.first + group.n && work->entries[i + place.n].reading->u == reading->u
             && work->entries[i + place.n].reading->v == reading->v)
        place.n++;
      mean = mean_of (work, place);
      xyz[3 * n] = reading->u;
      xyz[3 * n + 1] = reading->v;
      xyz[3 * n + 2] = mean.value;
      u[n++] = mean.u;
      i += place.n;
    }

  return n;
}

static void
derive_flatness (Work *work,
                 Group group)
{
  g_autofree double *xyz = g_new (double, 3 * group.n);
  g_autofree double *u = g_new (double, group.n);
  const char *face = work->entries[group.first].reading->target;
  guint n = collect_heights (work, group, xyz, u);
  EfFlatness squares;
  EfFlatnessZone zone;
  double u2 = 0;

  if (n < 4 || !ef_flatness_minimum_zone_normal (xyz, n, &zone, NULL) || !ef_flatness_least_squares_normal (xyz, n, &squares, NULL))
    return;

  for (guint i = 0; i < zone.n_high; i++)
    u2 += pow (zone.high_weight[i] * u[zone.high[i]], 2);
  for (guint i = 0; i < zone.n_low; i++)
    u2 += pow (zone.low_weight[i] * u[zone.low[i]], 2);
  add_ids (work,
           add (work, "flatness", face, NULL, zone.zone, sqrt (u2), NAN,
                g_strdup_printf ("flatness (minimum zone): %.3f mm over %u places; about the least-squares plane %.3f mm", zone.zone * 1e3, n,
                                 squares.flatness * 1e3)),
           group);
}

/* Faces aren't listed in the sheet: those that have readings, in order of their ids. */
static void
derive_faces (Work *work)
{
  for (guint i = 0; i < work->n;)
    {
      const EfReading *reading = work->entries[i].reading;
      Group group = { i, 1 };

      while (i + group.n < work->n
             && compare_group (work->entries[i + group.n].reading, reading->quantity, reading->target, reading->place) == 0)
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
  g_autofree Entry *entries = g_new (Entry, n_readings + 1);
  Work work = { .sheet = sheet, .gauges = by_id, .entries = entries };

  for (guint i = 0; i < n_gauges; i++)
    g_hash_table_insert (by_id, gauges[i]->item.id, gauges[i]);
  for (guint i = 0; i < n_readings; i++)
    if (usable (readings[i]))
      entries[work.n++] = (Entry){ readings[i], direction_of (readings[i]) };
  qsort (entries, work.n, sizeof (Entry), compare_entries);

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
