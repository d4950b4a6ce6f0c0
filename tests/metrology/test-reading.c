/* Readings, gauges, and what is derived from them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pump is a small constructed one; expected values are constructed unless another source stands beside the check.
 */
#include "metrology/ef-bore.h"
#include "metrology/ef-flatness.h"
#include "metrology/ef-reading.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))
#define UM 1e-6
#define MM 1e-3

static EfPart *
add_part (EfPumpSheet *sheet,
          const char *id,
          EfPartKind kind,
          int gear,
          int order)
{
  EfPart *part = g_new0 (EfPart, 1);

  part->id = g_strdup (id);
  part->kind = kind;
  part->gear = gear;
  part->order = order;
  part->thickness = kind == EF_PART_GEAR ? 25 * MM : NAN;
  part->bores = g_array_new (FALSE, TRUE, sizeof (EfCylinder));
  part->journals = g_array_new (FALSE, TRUE, sizeof (EfCylinder));
  g_ptr_array_add (sheet->parts, part);
  return part;
}

static void
add_cylinder (GArray *cylinders,
              const char *id,
              int axis,
              double diameter,
              double z,
              const char *runs_in)
{
  EfCylinder cylinder = { .id = (char *) id, .axis = axis, .diameter = diameter, .z = z, .runs_in = (char *) runs_in };

  g_array_append_val (cylinders, cylinder);
}

static void
free_part (gpointer data)
{
  EfPart *part = data;

  g_free (part->id);
  g_array_unref (part->bores);
  g_array_unref (part->journals);
  g_free (part);
}

static void
free_section (gpointer data)
{
  EfSection *section = data;

  g_free (section->id);
  g_free (section);
}

/* One section, a housing and a cover, two gears on two shafts; the driven shaft's journals don't say where they run. */
static EfPumpSheet *
small_pump (void)
{
  EfPumpSheet *sheet = g_new0 (EfPumpSheet, 1);
  EfSection *section = g_new0 (EfSection, 1);
  EfPart *part;

  sheet->ref_count = 1;
  sheet->sections = g_ptr_array_new_with_free_func (free_section);
  sheet->parts = g_ptr_array_new_with_free_func (free_part);
  section->id = g_strdup ("pressure");
  section->pocket_depth = 25.07 * MM;
  section->gear_part[0] = (char *) "drive-gear";
  section->gear_part[1] = (char *) "driven-gear";
  g_ptr_array_add (sheet->sections, section);

  part = add_part (sheet, "body", EF_PART_HOUSING, -1, 2);
  add_cylinder (part->bores, "drive", 0, 16.03 * MM, 0, NULL);
  add_cylinder (part->bores, "driven", 1, 16.03 * MM, 0, NULL);
  add_part (sheet, "drive-gear", EF_PART_GEAR, 0, 3);
  add_part (sheet, "driven-gear", EF_PART_GEAR, 1, 3);
  part = add_part (sheet, "cover", EF_PART_COVER, -1, 4);
  add_cylinder (part->bores, "drive", 0, 16.03 * MM, 0, NULL);
  add_cylinder (part->bores, "driven", 1, 16.03 * MM, 0, NULL);
  part = add_part (sheet, "drive-shaft", EF_PART_SHAFT, 0, 1);
  add_cylinder (part->journals, "rear", 0, 15.98 * MM, 0.08, "cover/hole-drive");
  add_cylinder (part->journals, "front", 0, 15.98 * MM, 0.03, "body/bore-drive");
  part = add_part (sheet, "driven-shaft", EF_PART_SHAFT, 1, 1);
  add_cylinder (part->journals, "rear", 1, 15.98 * MM, 0.05, NULL);
  add_cylinder (part->journals, "front", 1, 15.98 * MM, 0.00, NULL);
  return sheet;
}

static void
free_pump (EfPumpSheet *sheet)
{
  g_ptr_array_unref (sheet->sections);
  g_ptr_array_unref (sheet->parts);
  g_free (sheet);
}

typedef struct
{
  EfPumpSheet *sheet;
  GPtrArray *readings; /* EfReading * */
  GPtrArray *gauges;   /* EfGauge * */
  GPtrArray *derived;
} Bench;

static void
bench_init (Bench *bench)
{
  static const struct
  {
    const char *id;
    double uncertainty;
  } gauges[] = { { "depth", 6 * UM }, { "mic", 4 * UM }, { "bore", 8 * UM }, { "feeler", 10 * UM } };

  bench->sheet = small_pump ();
  bench->readings = g_ptr_array_new_with_free_func (ef_item_unref);
  bench->gauges = g_ptr_array_new_with_free_func (ef_item_unref);
  bench->derived = NULL;
  for (guint i = 0; i < G_N_ELEMENTS (gauges); i++)
    {
      EfGauge *gauge = ef_item_new (&ef_gauge_class, gauges[i].id);

      gauge->name = g_strdup (gauges[i].id);
      gauge->uncertainty = gauges[i].uncertainty;
      gauge->range_min = gauge->range_max = NAN;
      g_ptr_array_add (bench->gauges, gauge);
    }
}

static void
bench_clear (Bench *bench)
{
  g_clear_pointer (&bench->derived, g_ptr_array_unref);
  g_ptr_array_unref (bench->readings);
  g_ptr_array_unref (bench->gauges);
  free_pump (bench->sheet);
}

static EfReading *
take (Bench *bench,
      EfQuantity quantity,
      const char *target,
      const char *place,
      double angle_deg,
      double value,
      const char *gauge)
{
  EfReading *reading = ef_reading_new (quantity, target, place, value, EF_UNIT_MM, gauge);

  reading->angle = angle_deg * G_PI / 180;
  g_ptr_array_add (bench->readings, reading);
  return reading;
}

static void
derive (Bench *bench)
{
  g_clear_pointer (&bench->derived, g_ptr_array_unref);
  bench->derived = ef_derive (bench->sheet, (EfReading *const *) bench->readings->pdata, bench->readings->len,
                              (EfGauge *const *) bench->gauges->pdata, bench->gauges->len);
}

static const EfDerived *
find (const Bench *bench,
      const char *quantity,
      const char *target,
      const char *place)
{
  const EfDerived *derived = ef_derived_find (bench->derived, quantity, target, place);

  if (derived == NULL)
    g_error ("no %s of %s", quantity, target);
  return derived;
}

static void
test_end_clearance (void)
{
  Bench bench;
  const EfDerived *derived;

  bench_init (&bench);
  take (&bench, EF_READ_POCKET_DEPTH, "pressure", "drive", NAN, 25.110 * MM, "depth");
  take (&bench, EF_READ_FACE_WIDTH, "drive-gear", NULL, NAN, 25.000 * MM, "mic");
  take (&bench, EF_READ_FACE_WIDTH, "driven-gear", NULL, NAN, 25.003 * MM, "mic");
  derive (&bench);
  /* 25.110 - 25.000 (check-values: "Pocket 25.110, gear 25.000"); u: 3 and 2 um in quadrature. */
  derived = find (&bench, "end-clearance", "pressure", "drive");
  assert_near (derived->value, 0.110 * MM, 1e-12);
  assert_near (derived->uncertainty, sqrt (13) * UM, 1e-12);
  g_assert_cmpstr (derived->how, ==, "pocket depth 25.110 mm − face width 25.000 mm");
  g_assert_cmpuint (derived->reading_ids->len, ==, 2);
  g_assert_null (ef_derived_find (bench.derived, "end-clearance", "pressure", "driven"));
  derived = find (&bench, "width-difference", "pressure", NULL);
  assert_near (derived->value, 0.003 * MM, 1e-12);
  /* One micrometer for both, 2 um each: 4 + 4 - 2 x 0.5 x 4. */
  assert_near (derived->uncertainty, 2 * UM, 1e-12);
  assert_near (find (&bench, "face-width", "driven-gear", NULL)->value, 25.003 * MM, 1e-12);

  /* A direct reading comes first; the difference is still there. */
  take (&bench, EF_READ_END_CLEARANCE, "pressure", "drive", NAN, 0.10 * MM, "feeler");
  derive (&bench);
  derived = find (&bench, "end-clearance", "pressure", "drive");
  assert_near (derived->value, 0.10 * MM, 1e-12);
  assert_near (derived->uncertainty, 5 * UM, 1e-12);
  g_assert_cmpstr (derived->how, ==, "read directly: 0.100 mm");
  {
    guint n = 0;

    for (guint i = 0; i < bench.derived->len; i++)
      n += g_str_equal (((EfDerived *) g_ptr_array_index (bench.derived, i))->quantity, "end-clearance");
    g_assert_cmpuint (n, ==, 2);
  }
  /* Without a place: the largest of those that count, so not the larger difference behind the direct reading. */
  take (&bench, EF_READ_END_CLEARANCE, "pressure", "driven", NAN, 0.09 * MM, "feeler");
  derive (&bench);
  assert_near (find (&bench, "end-clearance", "pressure", NULL)->value, 0.10 * MM, 1e-12);
  bench_clear (&bench);
}

/* Repeats: mean; the gauge's half stays, scatter s2/n comes on top, times the factor for three readings, 2.920 / 1.645. 80, 82, 84 um: s2 = 4 um2. */
static void
test_repeats (void)
{
  Bench bench;
  const EfDerived *derived;

  bench_init (&bench);
  for (int i = 0; i < 3; i++)
    take (&bench, EF_READ_END_CLEARANCE, "pressure", "drive", NAN, (80 + 2 * i) * UM, "feeler");
  derive (&bench);
  derived = find (&bench, "end-clearance", "pressure", "drive");
  assert_near (derived->value, 82 * UM, 1e-12);
  assert_near (derived->uncertainty, sqrt (25 + 4.0 / 3 * pow (2.919986 / 1.644854, 2)) * UM, 1e-11);
  assert_near (derived->fixed, 5 * UM, 1e-12);
  assert_near (derived->scatter, 2 * UM, 1e-12);
  g_assert_cmpuint (derived->repeats, ==, 3);
  g_assert_cmpstr (derived->how, ==, "read directly: 0.082 mm (mean of 3)");
  g_assert_cmpuint (derived->reading_ids->len, ==, 3);

  /* Two of four with another gauge: half of 5 and half of 3 um in quadrature. */
  bench_clear (&bench);
  bench_init (&bench);
  for (int i = 0; i < 4; i++)
    take (&bench, EF_READ_END_CLEARANCE, "pressure", "drive", NAN, 80 * UM, i % 2 == 0 ? "feeler" : "depth");
  derive (&bench);
  assert_near (find (&bench, "end-clearance", "pressure", "drive")->uncertainty, sqrt (2.5 * 2.5 + 1.5 * 1.5) * UM, 1e-12);

  /* One reading without a gauge, or with one nobody knows: not known. */
  take (&bench, EF_READ_END_CLEARANCE, "pressure", "drive", NAN, 80 * UM, NULL);
  take (&bench, EF_READ_END_CLEARANCE, "pressure", "driven", NAN, 80 * UM, "lost");
  derive (&bench);
  g_assert_true (isnan (find (&bench, "end-clearance", "pressure", "drive")->uncertainty));
  g_assert_true (isnan (find (&bench, "end-clearance", "pressure", "driven")->uncertainty));
  bench_clear (&bench);
}

static void
test_by_direction (void)
{
  Bench bench;
  const EfDerived *derived;

  bench_init (&bench);
  take (&bench, EF_READ_TIP_CLEARANCE, "pressure", "drive", 0, 60 * UM, "feeler");
  take (&bench, EF_READ_TIP_CLEARANCE, "pressure", "drive", 90, 120 * UM, "feeler");
  take (&bench, EF_READ_TIP_CLEARANCE, "pressure", "drive", 450, 110 * UM, "feeler"); /* 90 again */
  take (&bench, EF_READ_TIP_CLEARANCE, "pressure", "drive", 180, 80 * UM, "feeler"); /* not 0 again: a gap, not a diameter */
  take (&bench, EF_READ_BACKLASH, "pressure", NULL, NAN, 0.21 * MM, "feeler");
  take (&bench, EF_READ_SIDE_PLAY, "pressure", "driven", -90, 0.05 * MM, "feeler");
  derive (&bench);
  derived = find (&bench, "tip-clearance", "pressure", "drive");
  assert_near (derived->value, 115 * UM, 1e-12);
  assert_near (derived->direction, G_PI / 2, 1e-6);
  /* s2/n = 50/2 um2, and 6.314 / 1.645 for one degree of freedom. */
  assert_near (derived->uncertainty, sqrt (25 + 25 * pow (6.313752 / 1.644854, 2)) * UM, 1e-10);
  g_assert_cmpstr (derived->how, ==, "largest of 3 directions: 0.115 mm (mean of 2) at 90.0°");
  assert_near (find (&bench, "tip-clearance-mean", "pressure", "drive")->value, 85 * UM, 1e-12);
  assert_near (find (&bench, "backlash", "pressure", NULL)->value, 0.21 * MM, 1e-12);
  derived = find (&bench, "side-play", "pressure", "driven");
  assert_near (derived->direction, 1.5 * G_PI, 1e-6);
  g_assert_cmpstr (derived->how, ==, "read directly: 0.050 mm at 270.0°");
  bench_clear (&bench);
}

/* d(t) = 16.040 + 2 A cos 2 (t - 30 deg), A = 5 um. */
static double
oval (double degrees)
{
  return 16.040 * MM + 10 * UM * cos (2 * (degrees - 30) * G_PI / 180);
}

static void
test_bore (void)
{
  Bench bench;
  const EfDerived *derived;

  bench_init (&bench);
  for (int i = 0; i < 6; i++)
    take (&bench, EF_READ_BORE_DIAMETER, "body", "drive", i * 30, oval (i * 30), "bore");
  take (&bench, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 0, 15.970 * MM, "mic");
  take (&bench, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 90, 15.974 * MM, "mic");
  take (&bench, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "rear", 0, 15.900 * MM, "mic");
  /* The driven shaft's journals say nothing: the one in front runs in the body. */
  take (&bench, EF_READ_BORE_DIAMETER, "body", "driven", 0, 16.050 * MM, "bore");
  take (&bench, EF_READ_BORE_DIAMETER, "body", "driven", 90, 16.030 * MM, "bore");
  take (&bench, EF_READ_JOURNAL_DIAMETER, "driven-shaft", "front", 0, 15.980 * MM, "mic");
  take (&bench, EF_READ_JOURNAL_DIAMETER, "driven-shaft", "rear", 0, 15.940 * MM, "mic");
  derive (&bench);

  derived = find (&bench, "bore-clearance", "body", "drive");
  assert_near (derived->value, (16.040 - 15.972) * MM, 2e-9);
  /* Six diameters of 4 um each with one gauge, half of the variance common: 16 (1/2 + 1/12); two of 2 um: 4 (1/2 + 1/4). */
  assert_near (derived->uncertainty, sqrt (16 * 7.0 / 12 + 3) * UM, 1e-12);
  g_assert_cmpuint (derived->reading_ids->len, ==, 8);
  g_assert_nonnull (strstr (derived->how, "mean bore 16.040 mm − mean journal 15.972 mm"));
  derived = find (&bench, "bore-clearance", "body", "driven");
  assert_near (derived->value, 0.060 * MM, 1e-12);
  g_assert_null (ef_derived_find (bench.derived, "bore-clearance", "cover", "driven"));

  /* Elongation 4 A = 20 um along 30 deg (readings lie on the nanometre grid). */
  derived = find (&bench, "bore-ovality", "body", "drive");
  assert_near (derived->value, 20 * UM, 2e-9);
  assert_near (derived->direction, G_PI / 6, 1e-4);
  /* u (2 a) = 2 u sqrt (2/n), n = 6 evenly spread; of 4 um what isn't common: 4 / sqrt 2. */
  assert_near (derived->uncertainty, 2 * 4 / sqrt (2) * sqrt (2.0 / 6) * UM, 1e-11);
  /* u (t2) = u (2 a) / (2 x 2 a), 2 a = 20 um. */
  assert_near (derived->u_direction, derived->uncertainty / 2 / (20 * UM), 1e-4);
  derived = find (&bench, "bore-ovality", "body", "driven");
  assert_near (derived->value, 20 * UM, 1e-12);
  assert_near (derived->direction, 0, 1e-9);
  assert_near (derived->uncertainty, 4 * UM, 1e-12); /* 16 + 16 - 2 x 0.5 x 16 */
  assert_near (derived->u_direction, G_PI / 4 / sqrt (3), 1e-9);
  derived = find (&bench, "journal-ovality", "drive-shaft", "front");
  assert_near (derived->value, 4 * UM, 1e-12);
  assert_near (derived->direction, G_PI / 2, 1e-6);
  g_assert_null (ef_derived_find (bench.derived, "journal-ovality", "drive-shaft", "rear"));
  bench_clear (&bench);
}

/* Four directions of an oval aren't enough for the harmonic: largest - smallest. */
static void
test_few_directions (void)
{
  Bench bench;
  const EfDerived *derived;

  bench_init (&bench);
  for (int i = 0; i < 4; i++)
    take (&bench, EF_READ_BORE_DIAMETER, "cover", "drive", i * 45, oval (i * 45), "bore");
  /* The same directions, half a turn on. */
  for (int i = 0; i < 4; i++)
    take (&bench, EF_READ_BORE_DIAMETER, "cover", "drive", i * 45 - 180, oval (i * 45), "bore");
  derive (&bench);
  derived = find (&bench, "bore-ovality", "cover", "drive");
  assert_near (derived->value, oval (45) - oval (135), 2e-9);
  assert_near (derived->direction, G_PI / 4, 1e-6);
  g_assert_nonnull (strstr (derived->how, "of 4 directions"));
  bench_clear (&bench);
}

/* Four heights on RC-4's cover, as in its demo job; then one in a stud's hole and one past the edge. */
static void
test_flatness_place (void)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "rc-4.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  const double places[4][2] = { { -0.045, -0.028 }, { 0.045, -0.028 }, { -0.045, 0.028 }, { 0.045, 0.028 } };
  EfReading *readings[4];
  const EfPart *cover = ef_pump_sheet_part (sheet, "cover");
  const EfHole *hole = &g_array_index (cover->holes, EfHole, 0);

  for (int i = 0; i < 4; i++)
    {
      readings[i] = ef_reading_new (EF_READ_FLATNESS, "cover/side-a", NULL, i * UM, EF_UNIT_MM, NULL);
      readings[i]->u = places[i][0];
      readings[i]->v = places[i][1];
      g_assert_true (ef_reading_check_place (readings[i], sheet, NULL));
    }
  for (int i = 0; i < 2; i++)
    {
      g_autoptr (GError) error = NULL;

      readings[0]->u = i == 0 ? hole->x : 0.2;
      readings[0]->v = i == 0 ? hole->y : 0.0;
      g_assert_false (ef_reading_check_place (readings[0], sheet, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
      g_assert_nonnull (strstr (error->message, ": at: expected a place on the metal of the "));
    }
  for (int i = 0; i < 4; i++)
    ef_item_unref (readings[i]);
}

static void
test_flatness (void)
{
  Bench bench;
  const EfDerived *derived;

  bench_init (&bench);
  /* A saddle on a tilted plane: +10 um and -10 um at opposite corners about any plane. */
  for (int i = 0; i < 4; i++)
    {
      double u = i % 2 * 0.04;
      double v = i / 2 * 0.03;
      EfReading *reading = take (&bench, EF_READ_FLATNESS, "cover/side-a", NULL, NAN,
                                 (i == 0 || i == 3 ? 10 : -10) * UM + 0.001 * u - 0.002 * v, "depth");

      reading->u = u;
      reading->v = v;
    }
  derive (&bench);
  derived = find (&bench, "flatness", "cover/side-a", NULL);
  /* Square to a plane that slopes by 0.1 and 0.2 %: 2.5 millionths less. */
  assert_near (derived->value, 20 * UM * (1 - 2.5e-6), 1e-13);
  /* Two highs and two lows at half weight each: 3 um each, so 3; half of it common. */
  assert_near (derived->uncertainty, 3 / sqrt (2) * UM, 1e-11);
  g_assert_cmpstr (derived->how, ==, "flatness (minimum zone): 0.020 mm over 4 places; about the least-squares plane 0.020 mm");

  /* Three places always lie on a plane: nothing to say. */
  g_ptr_array_remove_index (bench.readings, 3);
  derive (&bench);
  g_assert_null (ef_derived_find (bench.derived, "flatness", "cover/side-a", NULL));
  bench_clear (&bench);
}

static EfGauge *
gauge_of (const Bench *bench,
          const char *id)
{
  for (guint i = 0; i < bench->gauges->len; i++)
    if (g_str_equal (((EfItem *) bench->gauges->pdata[i])->id, id))
      return bench->gauges->pdata[i];

  return NULL;
}

/* A scale of 10 um: rectangular, 10 / sqrt 12, unless the readings scatter more. */
static void
test_resolution (void)
{
  Bench bench;
  const EfDerived *derived;

  bench_init (&bench);
  gauge_of (&bench, "feeler")->resolution = 10 * UM;
  take (&bench, EF_READ_BACKLASH, "pressure", NULL, NAN, 200 * UM, "feeler");
  derive (&bench);
  derived = find (&bench, "backlash", "pressure", NULL);
  assert_near (derived->uncertainty, sqrt (25 + 100.0 / 12) * UM, 1e-12);
  g_assert_cmpfloat (derived->scatter, ==, 0);
  /* The same again: it doesn't average out. */
  take (&bench, EF_READ_BACKLASH, "pressure", NULL, NAN, 200 * UM, "feeler");
  derive (&bench);
  assert_near (find (&bench, "backlash", "pressure", NULL)->uncertainty, sqrt (25 + 100.0 / 12) * UM, 1e-12);
  /* s = 10 um of three. */
  take (&bench, EF_READ_BACKLASH, "pressure", NULL, NAN, 200 * UM + 10 * UM * sqrt (3), "feeler");
  derive (&bench);
  derived = find (&bench, "backlash", "pressure", NULL);
  assert_near (derived->scatter, 10 * UM, 2e-9);
  assert_near (derived->uncertainty, sqrt (25 + 100.0 / 3 * pow (2.919986 / 1.644854, 2)) * UM, 1e-8);
  assert_near (derived->fixed, sqrt (25 + 100.0 / 12) * UM, 1e-12);
  bench_clear (&bench);
}

/* Depth and width with one gauge: what it's off by as a whole cancels; two gauges don't know of each other. */
static void
test_same_gauge (void)
{
  Bench bench;

  bench_init (&bench);
  take (&bench, EF_READ_POCKET_DEPTH, "pressure", "drive", NAN, 25.110 * MM, "depth");
  take (&bench, EF_READ_FACE_WIDTH, "drive-gear", NULL, NAN, 25.000 * MM, "depth");
  derive (&bench);
  assert_near (find (&bench, "end-clearance", "pressure", "drive")->uncertainty, 3 * UM, 1e-12); /* 9 + 9 - 2 x 0.5 x 9 */
  /* A worse gauge never makes it better. */
  for (double more = 1; more < 20; more += 0.5)
    {
      double before = find (&bench, "end-clearance", "pressure", "drive")->uncertainty;

      gauge_of (&bench, "depth")->uncertainty += more * UM;
      derive (&bench);
      g_assert_cmpfloat (find (&bench, "end-clearance", "pressure", "drive")->uncertainty, >, before);
    }
  bench_clear (&bench);
}

/* A housing of aluminium alloy at 40 degrees C reads 25.110 mm: 23e-6 x 25.110 x 20 = 11.55 um too much; the steel gear at 30: 11.5e-6 x 25 x 10
 * = 2.9 um. u: 1 K and 10 % of the coefficient, rectangular. */
static void
test_temperature (void)
{
  Bench bench;
  const EfDerived *derived;
  EfPart *body, *gear;
  EfSection *section;
  double growth = 25.110e3 * 23e-6; /* um per K */

  bench_init (&bench);
  section = bench.sheet->sections->pdata[0];
  section->pocket_part = (char *) "body";
  body = (EfPart *) ef_pump_sheet_part (bench.sheet, "body");
  gear = (EfPart *) ef_pump_sheet_part (bench.sheet, "drive-gear");
  body->material = (char *) "aluminium-alloy";
  gear->material = (char *) "steel";
  take (&bench, EF_READ_POCKET_DEPTH, "pressure", "drive", NAN, 25.110 * MM, "depth")->temperature = 313.15;
  take (&bench, EF_READ_FACE_WIDTH, "drive-gear", NULL, NAN, 25.000 * MM, "mic")->temperature = 303.15;
  take (&bench, EF_READ_BORE_DIAMETER, "body", "drive", 0, 16.040 * MM, "bore")->temperature = 293.15;
  derive (&bench);
  derived = find (&bench, "pocket-depth", "pressure", "drive");
  assert_near (derived->value, 25.110 * MM - 20 * growth * UM, 1e-12);
  assert_near (derived->uncertainty, sqrt (9 + growth * growth / 3 + pow (2 * growth, 2) / 3) * UM, 1e-12);
  g_assert_nonnull (strstr (derived->how, "(brought to 20 °C: -0.0116 mm)"));
  derived = find (&bench, "end-clearance", "pressure", "drive");
  assert_near (derived->value, (110 - 20 * growth + 10 * 25e3 * 11.5e-6) * UM, 1e-11);
  assert_near (find (&bench, "bore-diameter", "body", "drive")->value, 16.040 * MM, 1e-12);

  /* Read with feelers, pump at 40 degrees C: pocket grows by 25.07 x 23e-6, gear by 25 x 11.5e-6 for each K. */
  take (&bench, EF_READ_END_CLEARANCE, "pressure", "drive", NAN, 0.10 * MM, "feeler")->temperature = 313.15;
  derive (&bench);
  derived = find (&bench, "end-clearance", "pressure", "drive");
  assert_near (derived->value, 0.10 * MM - 20 * (25.07e3 * 23e-6 - 25e3 * 11.5e-6) * UM, 1e-11);
  bench_clear (&bench);
}

/* Any order of entry gives the same numbers to the last bit; readings that make no sense are passed over. */
static void
test_order (void)
{
  Bench bench;
  g_autoptr (GRand) rand = g_rand_new_with_seed (5);
  g_autoptr (GPtrArray) first = NULL;

  bench_init (&bench);
  for (int i = 0; i < 7; i++)
    {
      take (&bench, EF_READ_BORE_DIAMETER, "body", "drive", i * 25.7, oval (i * 25.7) + i * i * 1e-7, "bore");
      take (&bench, EF_READ_TIP_CLEARANCE, "pressure", "driven", i % 3 * 60, (60 + i * 7) * UM, "feeler");
      take (&bench, EF_READ_FACE_WIDTH, "drive-gear", NULL, NAN, 25 * MM + i * 3e-7, "mic");
    }
  take (&bench, EF_READ_FACE_WIDTH, "drive-gear", NULL, NAN, NAN, "mic");
  take (&bench, EF_READ_FACE_WIDTH, "no-such-gear", NULL, NAN, 25 * MM, "mic");
  take (&bench, EF_READ_FLATNESS, "no-such/side-a", NULL, NAN, 0, "mic");
  g_free (take (&bench, EF_READ_FACE_WIDTH, "drive-gear", NULL, NAN, 25 * MM, "mic")->target);
  ((EfReading *) g_ptr_array_index (bench.readings, bench.readings->len - 1))->target = NULL;
  derive (&bench);
  first = g_steal_pointer (&bench.derived);
  g_assert_cmpuint (first->len, >, 4);

  for (int round = 0; round < 20; round++)
    {
      for (guint i = bench.readings->len - 1; i > 0; i--)
        {
          guint k = (guint) g_rand_int_range (rand, 0, (gint32) i + 1);
          gpointer swap = bench.readings->pdata[i];

          bench.readings->pdata[i] = bench.readings->pdata[k];
          bench.readings->pdata[k] = swap;
        }
      derive (&bench);
      g_assert_cmpuint (bench.derived->len, ==, first->len);
      for (guint i = 0; i < first->len; i++)
        {
          const EfDerived *a = g_ptr_array_index (first, i);
          const EfDerived *b = g_ptr_array_index (bench.derived, i);

          g_assert_cmpstr (a->quantity, ==, b->quantity);
          g_assert_cmpfloat (a->value, ==, b->value);
          g_assert_cmpfloat (a->uncertainty, ==, b->uncertainty);
          g_assert_cmpstr (a->how, ==, b->how);
        }
    }
  bench_clear (&bench);
}

static void
assert_refused (const Bench *bench,
                EfReading *reading,
                EfError code,
                const char *words)
{
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_reading_check (reading, bench->sheet, &error));
  g_assert_error (error, EF_ERROR, (int) code);
  if (strstr (error->message, words) == NULL)
    g_error ("“%s” isn't in “%s”", words, error->message);
}

static void
test_check (void)
{
  Bench bench;
  EfReading *reading;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfItem) gauge = (EfItem *) ef_gauge_default (EF_GAUGE_FEELER);

  bench_init (&bench);
  take (&bench, EF_READ_END_CLEARANCE, "pressure", "drive", NAN, 0.08 * MM, NULL);
  take (&bench, EF_READ_POCKET_DEPTH, "pressure", "driven", NAN, 25.1 * MM, NULL);
  take (&bench, EF_READ_FACE_WIDTH, "drive-gear", NULL, NAN, 25 * MM, NULL);
  take (&bench, EF_READ_TIP_CLEARANCE, "pressure", "drive", 90, 0.1 * MM, NULL);
  take (&bench, EF_READ_BACKLASH, "pressure", NULL, NAN, 0.3 * MM, NULL);
  take (&bench, EF_READ_SIDE_PLAY, "pressure", "driven", 90, 0.1 * MM, NULL);
  take (&bench, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 0, 15.97 * MM, NULL);
  take (&bench, EF_READ_BORE_DIAMETER, "cover", "driven", 0, 16.1 * MM, NULL);
  reading = take (&bench, EF_READ_FLATNESS, "body/floor", NULL, NAN, -0.01 * MM, NULL);
  reading->u = 0.01;
  reading->v = -0.02;
  reading->temperature = 293.15;
  for (guint i = 0; i < bench.readings->len; i++)
    {
      g_assert_true (ef_reading_check (g_ptr_array_index (bench.readings, i), bench.sheet, &error));
      g_assert_no_error (error);
    }

  assert_refused (&bench, take (&bench, EF_READ_END_CLEARANCE, "scavenge", "drive", NAN, 1e-4, NULL), EF_ERROR_NOT_FOUND, "target");
  assert_refused (&bench, take (&bench, EF_READ_END_CLEARANCE, "pressure", "left", NAN, 1e-4, NULL), EF_ERROR_NOT_FOUND, "place");
  assert_refused (&bench, take (&bench, EF_READ_END_CLEARANCE, "pressure", NULL, NAN, 1e-4, NULL), EF_ERROR_NOT_FOUND, "place");
  assert_refused (&bench, take (&bench, EF_READ_END_CLEARANCE, "pressure", "drive", NAN, -1e-5, NULL), EF_ERROR_RANGE, "value");
  assert_refused (&bench, take (&bench, EF_READ_END_CLEARANCE, "pressure", "drive", NAN, NAN, NULL), EF_ERROR_RANGE, "value");
  assert_refused (&bench, take (&bench, EF_READ_POCKET_DEPTH, "pressure", "drive", NAN, 0.9 * MM, NULL), EF_ERROR_RANGE, "value");
  assert_refused (&bench, take (&bench, EF_READ_FACE_WIDTH, "body", NULL, NAN, 25 * MM, NULL), EF_ERROR_NOT_FOUND, "a gear");
  assert_refused (&bench, take (&bench, EF_READ_FACE_WIDTH, "drive-gear", NULL, NAN, 25.4 * 25 * MM, NULL), EF_ERROR_RANGE, "value");
  assert_refused (&bench, take (&bench, EF_READ_BORE_DIAMETER, "body", "front", NAN, 16 * MM, NULL), EF_ERROR_NOT_FOUND, "place");
  assert_refused (&bench, take (&bench, EF_READ_JOURNAL_DIAMETER, "body", "drive", NAN, 16 * MM, NULL), EF_ERROR_NOT_FOUND, "place");
  assert_refused (&bench, take (&bench, EF_READ_JOURNAL_DIAMETER, "nothing", "drive", NAN, 16 * MM, NULL), EF_ERROR_NOT_FOUND, "target");
  assert_refused (&bench, take (&bench, EF_READ_JOURNAL_DIAMETER, NULL, "drive", NAN, 16 * MM, NULL), EF_ERROR_NOT_FOUND, "target");
  assert_refused (&bench, take (&bench, EF_READ_BORE_DIAMETER, "body", "drive", INFINITY, 16 * MM, NULL), EF_ERROR_RANGE, "angle");
  assert_refused (&bench, take (&bench, EF_READ_FLATNESS, "body/floor", NULL, NAN, 0, NULL), EF_ERROR_RANGE, "u");
  assert_refused (&bench, take (&bench, EF_READ_FLATNESS, "body/bore-drive", NULL, NAN, 0, NULL), EF_ERROR_NOT_FOUND, "plane face");
  assert_refused (&bench, take (&bench, EF_READ_FLATNESS, "body", NULL, NAN, 0, NULL), EF_ERROR_NOT_FOUND, "target");
  reading = take (&bench, EF_READ_BACKLASH, "pressure", NULL, NAN, 0.3 * MM, NULL);
  reading->unit = EF_UNIT_BAR;
  assert_refused (&bench, reading, EF_ERROR_INVALID, "unit");
  reading->unit = EF_UNIT_MM;
  reading->temperature = 20;
  assert_refused (&bench, reading, EF_ERROR_RANGE, "temperature");
  reading->quantity = (EfQuantity) 77;
  assert_refused (&bench, reading, EF_ERROR_INVALID, "quantity");

  /* Feeler blades end at 1 mm. */
  reading = take (&bench, EF_READ_TIP_CLEARANCE, "pressure", "drive", NAN, 1.2 * MM, NULL);
  g_assert_false (ef_reading_check_gauge (reading, (EfGauge *) gauge, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  reading->value = 0.5 * MM;
  g_assert_true (ef_reading_check_gauge (reading, (EfGauge *) gauge, NULL));
  bench_clear (&bench);
}

static void
test_items (void)
{
  EfReading *reading = ef_reading_new (EF_READ_BORE_DIAMETER, "body", "drive", 16.0300001 * MM, EF_UNIT_MM, "bore");

  g_assert_cmpfloat (reading->value, ==, ef_length_from_mm (16.03));
  g_assert_true (isnan (reading->angle));
  reading->time = g_strdup ("2026-03-04T10:00:00Z");
  for (int change = 0; change < 12; change++)
    {
      EfReading *copy = ef_item_copy (reading);

      g_assert_true (ef_item_equal (reading, copy));
      switch (change)
        {
        case 0: copy->quantity = EF_READ_BACKLASH; break;
        case 1: copy->target[0] = 'B'; break;
        case 2: copy->place[0] = 'D'; break;
        case 3: copy->angle = 0; break;
        case 4: copy->u = 0; break;
        case 5: copy->v = 0; break;
        case 6: copy->value += 1e-9; break;
        case 7: copy->unit = EF_UNIT_UM; break;
        case 8: copy->gauge_id[0] = 'B'; break;
        case 9: copy->temperature = 293.15; break;
        case 10: copy->time[0] = '3'; break;
        default: copy->note = g_strdup ("warm"); break;
        }
      g_assert_false (ef_item_equal (reading, copy));
      ef_item_unref (copy);
    }
  ef_item_unref (reading);

  for (int i = 0; i < EF_N_READINGS; i++)
    {
      EfQuantity quantity = EF_N_READINGS;

      g_assert_true (ef_quantity_from_name (ef_quantity_name (i), &quantity));
      g_assert_cmpint (quantity, ==, i);
      g_assert_cmpstr (ef_quantity_label (i), !=, "Unknown");
    }
}

static void
test_gauges (void)
{
  for (int i = 0; i < EF_N_GAUGE_KINDS; i++)
    {
      EfGaugeKind kind = EF_N_GAUGE_KINDS;
      EfGauge *gauge = ef_gauge_default (i);
      g_autoptr (GError) error = NULL;

      g_assert_true (ef_gauge_kind_from_name (ef_gauge_kind_name (i), &kind));
      g_assert_cmpint (kind, ==, i);
      g_assert_cmpint (gauge->kind, ==, i);
      g_assert_true (ef_gauge_check (gauge, &error));
      g_assert_no_error (error);

      for (int change = 0; change < 9; change++)
        {
          EfGauge *copy = ef_item_copy (gauge);

          g_assert_true (ef_item_equal (gauge, copy));
          switch (change)
            {
            case 0: copy->kind = EF_N_GAUGE_KINDS; break;
            case 1: copy->name[0] = '\0'; break;
            case 2: copy->uncertainty = 0; break;
            case 3: copy->uncertainty = NAN; break;
            case 4: copy->resolution = -1; break;
            case 5: copy->range_max = copy->range_min; break;
            case 6: copy->range_min = INFINITY; break;
            case 7: copy->due = g_strdup ("2026-02-30"); break;
            default: copy->checked = g_strdup ("yesterday"); break;
            }
          g_assert_false (ef_item_equal (gauge, copy));
          g_assert_false (ef_gauge_check (copy, NULL));
          ef_item_unref (copy);
        }
      ef_item_unref (gauge);
    }
}

static void
test_overdue (void)
{
  EfGauge *gauge = ef_gauge_default (EF_GAUGE_DEPTH);

  g_assert_false (ef_gauge_overdue (gauge, "2026-05-31"));
  gauge->due = g_strdup ("2026-05-31");
  g_assert_false (ef_gauge_overdue (gauge, "2026-05-31"));
  g_assert_true (ef_gauge_overdue (gauge, "2026-06-01"));
  g_assert_false (ef_gauge_overdue (gauge, "soon"));
  g_assert_false (ef_gauge_overdue (gauge, NULL));
  ef_item_unref (gauge);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/metrology/reading/items", test_items);
  g_test_add_func ("/metrology/reading/check-names-the-field", test_check);
  g_test_add_func ("/metrology/gauge/kinds", test_gauges);
  g_test_add_func ("/metrology/gauge/overdue", test_overdue);
  g_test_add_func ("/metrology/derive/end-clearance", test_end_clearance);
  g_test_add_func ("/metrology/derive/repeats", test_repeats);
  g_test_add_func ("/metrology/derive/resolution", test_resolution);
  g_test_add_func ("/metrology/derive/same-gauge", test_same_gauge);
  g_test_add_func ("/metrology/derive/temperature", test_temperature);
  g_test_add_func ("/metrology/derive/by-direction", test_by_direction);
  g_test_add_func ("/metrology/derive/bore", test_bore);
  g_test_add_func ("/metrology/derive/few-directions", test_few_directions);
  g_test_add_func ("/metrology/derive/flatness", test_flatness);
  g_test_add_func ("/metrology/derive/flatness-place", test_flatness_place);
  g_test_add_func ("/metrology/derive/order-of-entry", test_order);

  return g_test_run ();
}
