/* Charts of faces: every face of every shipped pump, and what must hold between them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "pump/ef-face-chart.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include "../isolate.h"

static const char *const shipped[] = { "hl-24", "hl-27", "rc-4", "tg-3" };

static EfPumpSheet *
load (const char *id)
{
  g_autofree char *file = g_strconcat (id, ".json", NULL);
  g_autofree char *path = ef_data_path ("pump-sheets", file, NULL);
  g_autoptr (GError) error = NULL;
  EfPumpSheet *sheet = ef_pump_sheet_load (path, &error);

  g_assert_no_error (error);

  return sheet;
}

static EfFaceChart *
chart_of (EfPumpSheet *sheet,
          const char *face_id)
{
  g_autoptr (GError) error = NULL;
  EfFaceChart *chart = ef_face_chart_new (sheet, face_id, &error);

  g_assert_no_error (error);
  g_assert_nonnull (chart);

  return chart;
}

typedef void (*EachFace) (EfPumpSheet *sheet, EfFaceChart *chart);

static void
for_each_face (EachFace each)
{
  for (guint i = 0; i < G_N_ELEMENTS (shipped); i++)
    {
      g_autoptr (EfPumpSheet) sheet = load (shipped[i]);
      g_auto (GStrv) ids = ef_face_ids (sheet);

      for (guint k = 0; ids[k] != NULL; k++)
        {
          g_autoptr (EfFaceChart) chart = chart_of (sheet, ids[k]);

          each (sheet, chart);
        }
    }
}

/* Ids */

static void
test_ids (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  g_autoptr (EfPumpSheet) tug = load ("tg-3");
  g_auto (GStrv) housing = ef_part_face_ids (sheet, "pressure-housing");
  g_auto (GStrv) gear = ef_part_face_ids (sheet, "pressure-drive-gear");
  g_auto (GStrv) plate = ef_part_face_ids (sheet, "separator");
  g_auto (GStrv) shaft = ef_part_face_ids (sheet, "drive-shaft");
  g_auto (GStrv) ring = ef_part_face_ids (tug, "body");
  g_auto (GStrv) cover = ef_part_face_ids (tug, "front-cover");
  g_auto (GStrv) pickup = ef_part_face_ids (sheet, "pickup");
  g_auto (GStrv) nothing = ef_part_face_ids (sheet, "nothing");
  g_autofree char *text = g_strjoinv (" ", housing);

  g_assert_cmpstr (text, ==, "pressure-housing/floor pressure-housing/wall-drive pressure-housing/wall-driven pressure-housing/mating "
                             "pressure-housing/bore-drive pressure-housing/bore-driven");
  g_clear_pointer (&text, g_free);
  text = g_strjoinv (" ", gear);
  g_assert_cmpstr (text, ==, "pressure-drive-gear/end-a pressure-drive-gear/end-b pressure-drive-gear/flank-drive pressure-drive-gear/flank-coast "
                             "pressure-drive-gear/tips pressure-drive-gear/bore pressure-drive-gear/keyway");
  g_clear_pointer (&text, g_free);
  text = g_strjoinv (" ", plate);
  g_assert_cmpstr (text, ==, "separator/side-a separator/side-b separator/hole-drive separator/hole-driven");
  g_clear_pointer (&text, g_free);
  text = g_strjoinv (" ", shaft);
  g_assert_cmpstr (text, ==, "drive-shaft/journal-front drive-shaft/journal-rear drive-shaft/keyway-coupling drive-shaft/keyway-pressure "
                             "drive-shaft/keyway-scavenge drive-shaft/pin-hole-nut");
  g_clear_pointer (&text, g_free);
  text = g_strjoinv (" ", ring);
  g_assert_cmpstr (text, ==, "body/wall-drive body/wall-driven body/mating-front body/mating-rear");
  g_clear_pointer (&text, g_free);
  text = g_strjoinv (" ", cover);
  g_assert_cmpstr (text, ==, "front-cover/hole-drive front-cover/hole-driven");
  g_assert_null (pickup[0]);
  g_assert_null (nothing[0]);
}

static void
test_unknown (void)
{
  static const char *const wrong[] = { "", "nothing", "separator", "separator/", "separator/floor", "/side-a", "pickup/side-a", "pressure-housing/bore-idler", "drive-shaft/journal-", NULL };
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");

  for (guint i = 0; i < G_N_ELEMENTS (wrong); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_face_chart_new (sheet, wrong[i], &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
    }
}

/* What holds on every face */

static void
well_formed (EfPumpSheet *sheet,
             EfFaceChart *chart)
{
  double area = ef_region_area (chart->solid);

  g_assert_cmpfloat (chart->u1, >, chart->u0);
  g_assert_cmpfloat (chart->v1, >, chart->v0);
  g_assert_cmpfloat (area, >, 1e-6);
  g_assert_cmpfloat (area, <=, (chart->u1 - chart->u0) * (chart->v1 - chart->v0) * (1.0 + 1e-9));
  g_assert_cmpuint (chart->lines->len, >, 0);
  g_assert_cmpuint (strlen (chart->name), >, 2);
  g_assert_true (chart->sheet == sheet);
  for (guint i = 0; i < chart->bands->len; i++)
    {
      const EfChartBand *band = g_ptr_array_index (chart->bands, i);
      double band_area = ef_region_area (band->region);
      g_autoptr (EfRegion) outside = ef_region_combine (band->region, chart->solid, EF_REGION_DIFFERENCE, NULL);

      /* A band is a part of the material, with some area. */
      g_assert_cmpfloat (band_area, >, 1e-6);
      g_assert_nonnull (outside);
      g_assert_cmpfloat (ef_region_area (outside), <, 1e-6 * band_area);
    }
  for (guint i = 0; i < chart->lines->len; i++)
    {
      const EfChartLine *line = g_ptr_array_index (chart->lines, i);

      g_assert_cmpuint (line->path.n, >=, line->closed ? 3 : 2);
      for (guint k = 0; k < 2 * line->path.n; k++)
        g_assert_true (isfinite (line->path.xy[k]));
    }
}

static void
test_well_formed (void)
{
  for_each_face (well_formed);
}

static void
derivative (const EfFaceChart *chart,
            double u,
            double v,
            double du,
            double dv,
            double out[3])
{
  double before[3];
  double after[3];

  ef_face_chart_to_pump (chart, u - du, v - dv, before, NULL);
  ef_face_chart_to_pump (chart, u + du, v + dv, after, NULL);
  for (int i = 0; i < 3; i++)
    out[i] = (after[i] - before[i]) / (2.0 * (du + dv));
}

static double
dot (const double a[3],
     const double b[3])
{
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Normals are unit vectors, square to the surface that the map itself spans. The map keeps lengths: along v always, along u
 * everywhere but on flanks, where u is the height. */
static void
normals_fit (EfPumpSheet *sheet,
             EfFaceChart *chart)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (24);

  for (int i = 0; i < 200; i++)
    {
      double u = g_rand_double_range (rand, chart->u0, chart->u1);
      double v = g_rand_double_range (rand, chart->v0, chart->v1);
      double step = 1e-6;
      double along_u[3];
      double along_v[3];
      double normal[3];

      if (!ef_region_contains (chart->solid, u - step, v) || !ef_region_contains (chart->solid, u + step, v))
        continue;
      if (chart->kind == EF_FACE_KEYWAY && fabs (fabs (u) - chart->map.width / 2.0) < 2.0 * step)
        continue; /* the corner has no normal */
      ef_face_chart_to_pump (chart, u, v, NULL, normal);
      derivative (chart, u, v, step, 0.0, along_u);
      derivative (chart, u, v, 0.0, step, along_v);
      g_assert_cmpfloat_with_epsilon (dot (normal, normal), 1.0, 1e-12);
      g_assert_cmpfloat_with_epsilon (dot (normal, along_u), 0.0, 1e-4);
      g_assert_cmpfloat_with_epsilon (dot (normal, along_v), 0.0, 1e-4);
      g_assert_cmpfloat_with_epsilon (dot (along_v, along_v), 1.0, 1e-6);
      g_assert_cmpfloat_with_epsilon (dot (along_u, along_v), 0.0, 1e-4);
      if (chart->kind != EF_FACE_FLANK)
        g_assert_cmpfloat_with_epsilon (dot (along_u, along_u), 1.0, 1e-4);
      else
        g_assert_cmpfloat (dot (along_u, along_u), >, 1.0);
    }
}

static void
test_normals (void)
{
  for_each_face (normals_fit);
}

/* A step along the normal leaves the material: farther from a shaft's axis, nearer to a bore's. */
static void
normals_point_out (EfPumpSheet *sheet,
                   EfFaceChart *chart)
{
  double u = chart->u0 + 0.37 * (chart->u1 - chart->u0);
  double v = chart->v0 + 0.41 * (chart->v1 - chart->v0);
  double p[3];
  double n[3];
  double axis;
  double change;

  ef_face_chart_to_pump (chart, u, v, p, n);
  axis = ef_section_axis_x (g_ptr_array_index (sheet->sections, 0), MAX (chart->gear, 0));
  change = hypot (p[0] + 1e-4 * n[0] - axis, p[1] + 1e-4 * n[1]) - hypot (p[0] - axis, p[1]);
  switch (chart->kind)
    {
    case EF_FACE_WALL:
    case EF_FACE_BORE:
      g_assert_cmpfloat_with_epsilon (change, -1e-4, 1e-9);
      break;
    case EF_FACE_JOURNAL:
    case EF_FACE_TIPS:
      g_assert_cmpfloat_with_epsilon (change, 1e-4, 1e-9);
      break;
    case EF_FACE_FLANK:
      g_assert_cmpfloat (change, >, 0.0);
      break;
    case EF_FACE_END:
      g_assert_cmpfloat (n[2], ==, g_str_equal (chart->face, "end-a") ? 1.0 : -1.0);
      break;
    case EF_FACE_SIDE:
      g_assert_cmpfloat (n[2], ==, g_str_equal (chart->face, "side-a") ? 1.0 : -1.0);
      break;
    case EF_FACE_FLOOR:
    case EF_FACE_MATING:
      {
        const EfPart *part = ef_pump_sheet_part (sheet, chart->part_id);
        gboolean rear = part->opens == EF_OPENS_REAR || g_str_equal (chart->face, "mating-rear");

        g_assert_cmpfloat (n[2], ==, rear ? -1.0 : 1.0);
      }
      break;
    case EF_FACE_KEYWAY:
    case EF_FACE_PIN_HOLE:
    case EF_N_FACE_KINDS:
    default:
      break;
    }
}

static void
test_normals_point_out (void)
{
  for_each_face (normals_point_out);
}

/* Wall, floor and plate */

static void
assert_same_place (const double a[3],
                   const double b[3],
                   double tolerance)
{
  for (int i = 0; i < 3; i++)
    g_assert_cmpfloat_with_epsilon (a[i], b[i], tolerance);
}

/* Each place of a wall is the pocket radius from its axis, at its psi; its bottom edge is the floor's edge, its top edge the
 * mating face's and, across the joint, the facing plate's. */
static void
wall_meets_floor (EfPumpSheet *sheet,
                  EfFaceChart *wall)
{
  g_autoptr (EfFaceChart) floor = NULL;
  g_autoptr (EfFaceChart) facing = NULL;
  g_autoptr (EfFaceChart) mating = NULL;
  const EfSection *section = wall->section;
  double depth;
  const EfPart *housing = ef_pump_sheet_part (sheet, wall->part_id);

  if (wall->kind != EF_FACE_WALL)
    return;
  depth = section->pocket_depth;
  floor = chart_of (sheet, section->floor_face);
  facing = chart_of (sheet, section->facing_face);
  mating = chart_of (sheet, section->mating_face);
  for (int i = 0; i <= 20; i++)
    {
      double u = wall->u0 + (wall->u1 - wall->u0) * i / 20.0;
      double psi = u / section->pocket_radius[wall->gear];
      EfChartPlace place;
      double bottom[3];
      double top[3];
      double other[3];

      ef_face_chart_to_pump (wall, u, depth, bottom, NULL);
      ef_face_chart_to_pump (wall, u, 0.0, top, NULL);
      g_assert_cmpfloat_with_epsilon (hypot (top[0] - ef_section_axis_x (section, wall->gear), top[1]), section->pocket_radius[wall->gear], 1e-12);
      g_assert_cmpfloat_with_epsilon (cos (ef_section_psi (section, wall->gear, top[0], top[1]) - psi), 1.0, 1e-12);
      ef_face_chart_to_pump (floor, floor->map.looks * bottom[0], bottom[1], other, NULL);
      /* A through pocket's wall is measured from the front: its far edge is at the rear plate. */
      assert_same_place (other, bottom, 1e-12);
      ef_face_chart_to_pump (facing, facing->map.looks * top[0], top[1], other, NULL);
      assert_same_place (other, top, 1e-12);
      ef_face_chart_to_pump (mating, mating->map.looks * top[0], top[1], other, NULL);
      assert_same_place (other, top, 1e-12);
      ef_face_chart_place (wall, u, 0.0, &place);
      g_assert_cmpfloat_with_epsilon (place.angle, psi, 1e-12);
      g_assert_cmpint (place.gear, ==, wall->gear);
      ef_face_chart_place (floor, floor->map.looks * bottom[0], bottom[1], &place);
      if (i > 0 && i < 20)
        {
          g_assert_cmpfloat_with_epsilon (cos (place.angle - psi), 1.0, 1e-12);
          g_assert_cmpint (place.gear, ==, wall->gear);
        }
    }
  g_assert_true (housing->opens != EF_OPENS_NOT);
}

static void
test_wall_meets_floor (void)
{
  for_each_face (wall_meets_floor);
}

/* The ends of the two walls meet in the cusps of the figure eight. */
static void
walls_meet (EfPumpSheet *sheet,
            EfFaceChart *wall)
{
  g_autoptr (EfFaceChart) other = NULL;
  g_autofree char *id = g_strconcat (wall->part_id, "/wall-driven", NULL);
  double a[3];
  double b[3];

  if (!g_str_has_suffix (wall->id, "/wall-drive"))
    return;
  other = chart_of (sheet, id);
  ef_face_chart_to_pump (wall, wall->u1, 0.0, a, NULL);
  ef_face_chart_to_pump (other, other->u1, 0.0, b, NULL);
  assert_same_place (a, b, 1e-9);
  g_assert_cmpfloat (a[1] * ef_section_delivery_sign (wall->section), >, 0.0);
  ef_face_chart_to_pump (wall, wall->u0, 0.0, a, NULL);
  ef_face_chart_to_pump (other, other->u0, 0.0, b, NULL);
  assert_same_place (a, b, 1e-9);
}

static void
test_walls_meet (void)
{
  for_each_face (walls_meet);
}

/* Area of the floor against closed forms: figure eight (two circles less their lens) less bores less ports. */
static void
test_floor_area (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  g_autoptr (EfFaceChart) floor = chart_of (sheet, "pressure-housing/floor");
  double r = 21.66e-3;
  double half = 18.85e-3;
  double lens = 2.0 * (r * r * acos (half / r) - half * sqrt (r * r - half * half));
  double expected = 2.0 * G_PI * r * r - lens - 2.0 * G_PI * 9.01e-3 * 9.01e-3;

  for (guint i = 0; i < floor->section->ports->len; i++)
    expected -= fabs (ef_ring_area (&g_array_index (floor->section->ports, EfPort, i).outline));
  /* Polygons of some 240 corners a circle miss 1 - sin (2 pi/240)/(2 pi/240) = 1.1e-4 of its area. Constructed. */
  g_assert_cmpfloat_with_epsilon (ef_region_area (floor->solid), expected, 2e-4 * expected);
}

/* As seen on a face: looking to the rear everything is mirrored, so delivery and the drive gear change hands. */
static void
test_handedness (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  g_autoptr (EfFaceChart) floor = chart_of (sheet, "pressure-housing/floor"); /* looks to the rear */
  g_autoptr (EfFaceChart) side = chart_of (sheet, "separator/side-a");        /* looks to the front */
  g_autoptr (EfFaceChart) back = chart_of (sheet, "separator/side-b");
  g_autoptr (EfFaceChart) end_a = chart_of (sheet, "pressure-drive-gear/end-a");
  g_autoptr (EfFaceChart) end_b = chart_of (sheet, "pressure-drive-gear/end-b");
  g_autoptr (EfFaceChart) driven = chart_of (sheet, "pressure-driven-gear/end-a");
  double p[3];
  double q[3];

  g_assert_cmpint (side->rotation, ==, 1);
  g_assert_cmpint (floor->rotation, ==, -1);
  g_assert_cmpint (back->rotation, ==, -1);
  g_assert_cmpint (end_a->rotation, ==, 1);
  g_assert_cmpint (end_b->rotation, ==, -1);
  g_assert_cmpint (driven->rotation, ==, -1);
  g_assert_cmpfloat (side->rotation_u, <, 0.0);
  g_assert_cmpfloat (floor->rotation_u, >, 0.0);
  /* Opposite places of floor and plate lie across the pocket from each other. */
  ef_face_chart_to_pump (side, -0.011, 0.004, p, NULL);
  ef_face_chart_to_pump (floor, 0.011, 0.004, q, NULL);
  g_assert_cmpfloat_with_epsilon (p[0], q[0], 1e-15);
  g_assert_cmpfloat_with_epsilon (p[1], q[1], 1e-15);
  g_assert_cmpfloat_with_epsilon (q[2] - p[2], 25.07e-3, 1e-12);
}

/* Labels and ports: suction and delivery are named on every face with a section, on their own side. */
static void
sides_named (EfPumpSheet *sheet,
             EfFaceChart *chart)
{
  guint found = 0;

  if (chart->section == NULL || (chart->kind != EF_FACE_FLOOR && chart->kind != EF_FACE_SIDE && chart->kind != EF_FACE_WALL))
    return;
  for (guint i = 0; i < chart->labels->len; i++)
    {
      const EfChartLabel *label = g_ptr_array_index (chart->labels, i);
      int side = g_str_equal (label->role, "delivery") ? 1 : -1;
      double p[3];

      if (!g_str_equal (label->role, "delivery") && !g_str_equal (label->role, "suction"))
        continue;
      ef_face_chart_to_pump (chart, label->u, label->v, p, NULL);
      g_assert_cmpfloat (p[1] * side * ef_section_delivery_sign (chart->section), >, 0.0);
      found++;
    }
  g_assert_cmpuint (found, ==, 2);
}

static void
test_sides_named (void)
{
  for_each_face (sides_named);
}

/* Marks count on the material only: not in bores, ports and outside. */
static void
test_plate_solid (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  g_autoptr (EfFaceChart) side = chart_of (sheet, "separator/side-b");
  g_autoptr (EfFaceChart) mating = chart_of (sheet, "pressure-housing/mating");

  g_assert_true (ef_region_contains (side->solid, 0.0, 0.0));
  g_assert_false (ef_region_contains (side->solid, 18.85e-3, 0.0));
  g_assert_false (ef_region_contains (side->solid, 0.0, 8e-3));
  g_assert_false (ef_region_contains (side->solid, 47.5e-3, 0.0));
  g_assert_true (ef_region_contains (side->solid, 51.9e-3 + 1e-3, 0.0));
  g_assert_false (ef_region_contains (side->solid, 60e-3, 0.0));
  g_assert_false (ef_region_contains (mating->solid, 0.0, 0.0));
  g_assert_false (ef_region_contains (mating->solid, 30e-3, 0.0));
  g_assert_true (ef_region_contains (mating->solid, 42e-3, 0.0));
  /* Dowel 1 of the front view at +40, +20.5: on the face that looks to the rear it's at the left. */
  g_assert_false (ef_region_contains (mating->solid, -40e-3, 20.5e-3));
  g_assert_true (ef_region_contains (mating->solid, 40e-3, 20.5e-3));
}

/* Gears */

/* The same tooth has the same number on both ends, on flanks and tips: its places lie on one line along the pump. */
static void
tooth_agrees (EfPumpSheet *sheet,
              EfFaceChart *end_a)
{
  const EfGearPair *pair = &end_a->map.pair;
  static const char *const faces[] = { "end-b", "flank-drive", "flank-coast", "tips" };
  int n = end_a->map.teeth;
  int gear = end_a->gear;

  if (!g_str_has_suffix (end_a->id, "/end-a"))
    return;
  for (guint f = 0; f < G_N_ELEMENTS (faces); f++)
    {
      g_autofree char *id = g_strconcat (end_a->part_id, "/", faces[f], NULL);
      g_autoptr (EfFaceChart) chart = chart_of (sheet, id);

      for (int tooth = 0; tooth < n; tooth++)
        {
          double angle = 2.0 * G_PI * tooth / n;
          double r = pair->in.tip_radius[gear];
          double a[3];
          double b[3];
          EfChartPlace place;
          double u = tooth * chart->strip_pitch + chart->strip_width - 1e-12;
          double v = 0.0;
          double turned;

          /* The tip's middle on end A. */
          ef_face_chart_to_pump (end_a, r * cos (angle), r * sin (angle), a, NULL);
          if (chart->kind == EF_FACE_END)
            {
              u = -r * cos (angle);
              v = r * sin (angle);
            }
          else if (chart->kind == EF_FACE_TIPS)
            u -= chart->strip_width / 2.0;
          ef_face_chart_to_pump (chart, u, v, b, NULL);
          ef_face_chart_place (chart, u, v * (1.0 - 1e-6), &place);
          g_assert_cmpint (place.tooth, ==, tooth + 1);
          turned = atan2 (b[1], b[0] - chart->map.axis_x) - atan2 (a[1], a[0] - end_a->map.axis_x);
          if (chart->kind == EF_FACE_FLANK)
            /* The flank's tip edge is half a tip from the middle, to the side it is on. */
            g_assert_cmpfloat_with_epsilon (remainder (turned, 2.0 * G_PI) * r, chart->map.side * pair->tip_thickness[gear] / 2.0, 1e-8);
          else
            g_assert_cmpfloat_with_epsilon (remainder (turned, 2.0 * G_PI), 0.0, 1e-9);
          g_assert_cmpfloat_with_epsilon (hypot (b[0] - chart->map.axis_x, b[1]), r, 1e-9);
          if (chart->kind == EF_FACE_END)
            g_assert_cmpfloat_with_epsilon (a[2] - b[2], pair->in.face_width, 1e-12);
          else
            g_assert_cmpfloat_with_epsilon (a[2], b[2], 1e-12);
        }
    }
}

static void
test_tooth_agrees (void)
{
  for_each_face (tooth_agrees);
}

/* The drive flanks of the two gears face each other across the mesh, and touch: the gears as they stand in the pump mesh. */
static void
drive_flanks_touch (EfPumpSheet *sheet,
                    EfFaceChart *drive)
{
  g_autoptr (EfFaceChart) driven = NULL;
  g_autofree char *id = NULL;
  const EfGearPair *pair = &drive->map.pair;
  double best = HUGE_VAL;
  double opposed = 0.0;

  if (drive->kind != EF_FACE_FLANK || drive->gear != 0 || !g_str_has_suffix (drive->id, "flank-drive"))
    return;
  g_assert_true (ef_face_chart_mate_id (drive, &id));
  driven = chart_of (sheet, id);
  /* Along the line of action rho1 + rho2 = a sin alpha_w: look for the pair of places that coincide. */
  for (int k = 0; k < drive->map.teeth; k++)
    for (int i = 0; i <= 400; i++)
      for (int m = 0; m < driven->map.teeth; m++)
        {
          double u = k * drive->strip_pitch + drive->strip_width * i / 400.0 * (1.0 - 1e-9);
          double mate_u;
          double mate_v;
          double p[3];
          double q[3];
          double np[3];
          double nq[3];
          double d;

          g_assert_true (ef_face_chart_mate_point (drive, u, 0.01, &mate_u, &mate_v));
          mate_u += (m - floor (mate_u / driven->strip_pitch)) * driven->strip_pitch;
          ef_face_chart_to_pump (drive, u, 0.01, p, np);
          ef_face_chart_to_pump (driven, mate_u, mate_v, q, nq);
          d = hypot (p[0] - q[0], p[1] - q[1]);
          if (d < best)
            {
              best = d;
              opposed = dot (np, nq);
            }
        }
  g_test_message ("%s: drive flanks are %.3g um apart where they touch", drive->id, best * 1e6);
  /* 400 steps over the flank: what is left is a part of one step. */
  g_assert_cmpfloat (best, <, drive->strip_width / 400.0);
  g_assert_cmpfloat_with_epsilon (opposed, -1.0, 1e-3);
  g_assert_cmpfloat (pair->contact_ratio, >, 1.0);
}

static void
test_drive_flanks_touch (void)
{
  for_each_face (drive_flanks_touch);
}

/* A flank's place lies on the end's outline. */
static void
flank_on_outline (EfPumpSheet *sheet,
                  EfFaceChart *flank)
{
  g_autofree char *id = g_strconcat (flank->part_id, "/end-a", NULL);
  g_autoptr (EfFaceChart) end = NULL;

  if (flank->kind != EF_FACE_FLANK)
    return;
  end = chart_of (sheet, id);
  for (int i = 1; i < 10; i++)
    {
      EfChartPlace place;
      double x;
      double y;
      double inside = 20e-6;

      ef_face_chart_place (flank, 3 * flank->strip_pitch + flank->strip_width * i / 10.0, 0.0, &place);
      g_assert_cmpint (place.tooth, ==, 4);
      x = place.radius * cos (place.angle);
      y = place.radius * sin (place.angle);
      /* 20 um towards the tooth's middle there is material, 20 um away there is none. */
      g_assert_true (ef_region_contains (end->solid, x + flank->map.side * inside * sin (place.angle), y - flank->map.side * inside * cos (place.angle)));
      g_assert_false (ef_region_contains (end->solid, x - flank->map.side * inside * sin (place.angle), y + flank->map.side * inside * cos (place.angle)));
    }
}

static void
test_flank_on_outline (void)
{
  for_each_face (flank_on_outline);
}

/* Going on by k teeth and back again, and by all teeth, leads to the same place; places stay in the material. */
static void
tooth_to_tooth (EfPumpSheet *sheet,
                EfFaceChart *chart)
{
  double u = chart->u0 + 0.4 * chart->strip_width;
  double v = chart->v0 + 0.3 * (chart->v1 - chart->v0);
  double u1;
  double v1;
  double u2;
  double v2;
  EfChartPlace before;
  EfChartPlace after;

  if (chart->kind != EF_FACE_END && chart->n_strips == 0)
    {
      g_assert_false (ef_face_chart_to_tooth (chart, 1, u, v, &u1, &v1));
      return;
    }
  if (chart->kind == EF_FACE_END)
    {
      double r = 0.97 * chart->map.pair.in.tip_radius[chart->gear];

      u = r * cos (0.02);
      v = r * sin (0.02);
    }
  for (int k = -30; k <= 30; k++)
    {
      g_assert_true (ef_face_chart_to_tooth (chart, k, u, v, &u1, &v1));
      g_assert_true (ef_face_chart_to_tooth (chart, -k, u1, v1, &u2, &v2));
      g_assert_cmpfloat_with_epsilon (u, u2, 1e-12);
      g_assert_cmpfloat_with_epsilon (v, v2, 1e-12);
      g_assert_true (ef_region_contains (chart->solid, u1, v1));
      ef_face_chart_place (chart, u, v, &before);
      ef_face_chart_place (chart, u1, v1, &after);
      g_assert_cmpint (((after.tooth - before.tooth - k) % chart->map.teeth + chart->map.teeth) % chart->map.teeth, ==, 0);
      g_assert_cmpfloat_with_epsilon (before.radius, after.radius, 1e-12);
    }
}

static void
test_tooth_to_tooth (void)
{
  for_each_face (tooth_to_tooth);
}

/* The mate's place of the mate's place is the first again where nothing had to be clamped (flanks: within the contact). */
static void
mate_of_mate (EfPumpSheet *sheet,
              EfFaceChart *chart)
{
  g_autofree char *id = NULL;
  g_autofree char *back = NULL;
  g_autoptr (EfFaceChart) mate = NULL;
  const EfGearPair *pair = &chart->map.pair;
  double u = 2 * chart->strip_pitch + 0.3 * chart->strip_width;
  double v = 0.004;
  double u1;
  double v1;
  double u2;
  double v2;

  if (!ef_face_chart_mate_id (chart, &id))
    {
      g_assert_false (ef_face_chart_mate_point (chart, u, v, &u1, &v1));
      g_assert_null (id);
      return;
    }
  mate = chart_of (sheet, id);
  g_assert_true (ef_face_chart_mate_id (mate, &back));
  g_assert_cmpstr (back, ==, chart->id);
  if (chart->kind == EF_FACE_FLANK)
    u = 2 * chart->strip_pitch + pair->working_radius[chart->gear] - chart->strip_r0;
  else if (chart->kind == EF_FACE_END)
    u = chart->map.looks * 1.02 * pair->in.root_radius[chart->gear];
  g_assert_true (ef_face_chart_mate_point (chart, u, v, &u1, &v1));
  g_assert_true (ef_face_chart_mate_point (mate, u1, v1, &u2, &v2));
  g_assert_cmpfloat_with_epsilon (u, u2, 1e-9);
  g_assert_cmpfloat_with_epsilon (v, v2, 1e-9);
  if (chart->kind == EF_FACE_FLANK)
    /* The pitch circles touch: working radius meets working radius. */
    g_assert_cmpfloat_with_epsilon (u1 - 2 * mate->strip_pitch + mate->strip_r0, pair->working_radius[mate->gear], 1e-9);
}

static void
test_mate_of_mate (void)
{
  for_each_face (mate_of_mate);
}

/* Gear bore and keyways line up: the keyway's slot lies under the gap in the bore and in the gear's end. */
static void
test_keyway (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  g_autoptr (EfFaceChart) bore = chart_of (sheet, "pressure-driven-gear/bore");
  g_autoptr (EfFaceChart) end = chart_of (sheet, "pressure-driven-gear/end-b");
  g_autoptr (EfFaceChart) slot = chart_of (sheet, "pressure-driven-gear/keyway");
  g_autoptr (EfFaceChart) shaft = chart_of (sheet, "driven-shaft/keyway-pressure");
  double p[3];
  double q[3];
  double n[3];

  g_assert_false (ef_region_contains (bore->solid, 0.0, 0.01));
  g_assert_true (ef_region_contains (bore->solid, 4e-3, 0.01));
  g_assert_false (ef_region_contains (end->solid, -10e-3, 0.0));
  g_assert_true (ef_region_contains (end->solid, 10e-3, 0.0));
  /* Slot floors of gear and shaft lie on one radius, 2.5 mm outside and inside the surface: 9 + 2.5 and 17.97/2 - 2.5 mm. */
  ef_face_chart_to_pump (slot, 0.0, 0.01, p, n);
  g_assert_cmpfloat_with_epsilon (hypot (p[0] - 18.85e-3, p[1]), 11.5e-3, 1e-12);
  g_assert_cmpfloat (n[0] * (p[0] - 18.85e-3) + n[1] * p[1], <, 0.0);
  ef_face_chart_to_pump (shaft, 0.0, 0.001, q, n);
  g_assert_cmpfloat_with_epsilon (hypot (q[0] - 18.85e-3, q[1]), 6.485e-3, 1e-12);
  g_assert_cmpfloat (n[0] * (q[0] - 18.85e-3) + n[1] * q[1], >, 0.0);
  g_assert_cmpfloat_with_epsilon (atan2 (p[1], p[0] - 18.85e-3), atan2 (q[1], q[0] - 18.85e-3), 1e-9);
  /* The wall's top edge is at the surface. */
  ef_face_chart_to_pump (shaft, shaft->u1, 0.001, q, NULL);
  g_assert_cmpfloat_with_epsilon (hypot (q[0] - 18.85e-3, q[1]), hypot (8.985e-3, 2.5e-3), 1e-12);
}

/* A journal lies in its bore: same axis, same z. */
static void
test_journal_in_bore (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (shipped); i++)
    {
      g_autoptr (EfPumpSheet) sheet = load (shipped[i]);

      for (guint k = 0; k < sheet->parts->len; k++)
        {
          const EfPart *part = g_ptr_array_index (sheet->parts, k);

          for (guint m = 0; m < part->journals->len; m++)
            {
              const EfCylinder *journal = &g_array_index (part->journals, EfCylinder, m);
              g_autofree char *id = g_strdup_printf ("%s/journal-%s", part->id, journal->id);
              g_autoptr (EfFaceChart) inner = chart_of (sheet, id);
              g_autoptr (EfFaceChart) outer = chart_of (sheet, journal->runs_in);
              double p[3];
              double q0[3];
              double q1[3];

              ef_face_chart_to_pump (inner, 0.0, journal->length / 2.0, p, NULL);
              ef_face_chart_to_pump (outer, 0.0, outer->v0, q0, NULL);
              ef_face_chart_to_pump (outer, 0.0, outer->v1, q1, NULL);
              g_assert_cmpfloat (p[2], >, MIN (q0[2], q1[2]));
              g_assert_cmpfloat (p[2], <, MAX (q0[2], q1[2]));
              g_assert_cmpfloat_with_epsilon (inner->map.axis_x, outer->map.axis_x, 1e-15);
            }
        }
    }
}

/* Bores are read by psi too: 90 degrees is the delivery side. */
static void
test_bore_angle (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("rc-4");
  g_autoptr (EfFaceChart) bore = chart_of (sheet, "body/bore-driven");
  double quarter = bore->cylinder_radius * G_PI / 2.0;
  double p[3];
  EfChartPlace place;

  g_assert_true (bore->wraps);
  ef_face_chart_to_pump (bore, quarter, 0.001, p, NULL);
  g_assert_cmpfloat (p[1] * ef_section_delivery_sign (g_ptr_array_index (sheet->sections, 0)), >, 0.009);
  ef_face_chart_place (bore, quarter, 0.0, &place);
  g_assert_cmpfloat_with_epsilon (place.angle, G_PI / 2.0, 1e-12);
  g_assert_cmpint (place.gear, ==, 1);
  /* v = 0 is at the pocket's floor, the bore goes on to the front from there. */
  ef_face_chart_to_pump (bore, 0.0, 0.0, p, NULL);
  g_assert_cmpfloat_with_epsilon (p[2], -18e-3, 1e-12);
  ef_face_chart_to_pump (bore, 0.0, bore->v1, p, NULL);
  g_assert_cmpfloat_with_epsilon (p[2], -4e-3, 1e-12);
}

/* Snapping */

static void
test_snap_named (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  g_autoptr (EfFaceChart) end = chart_of (sheet, "pressure-drive-gear/end-a");
  double u = 21.6e-3 + 0.2e-3;
  double v = 1e-3;
  const char *name = ef_face_chart_snap (end, 0.5e-3, &u, &v);

  g_assert_nonnull (name);
  /* Between tip circle and the tooth's own tip edge, which is the same circle there. */
  g_assert_cmpfloat_with_epsilon (hypot (u, v), 21.6e-3, 2e-6);
  u = 0.1e-3;
  v = -0.1e-3;
  g_assert_cmpstr (ef_face_chart_snap (end, 0.5e-3, &u, &v), ==, "axis");
  g_assert_cmpfloat (u, ==, 0.0);
  u = 18.85e-3 + 5e-5;
  v = 4e-5;
  /* Pitch circle and tooth 1's middle line cross here. */
  g_assert_nonnull (ef_face_chart_snap (end, 0.2e-3, &u, &v));
  g_assert_cmpfloat_with_epsilon (u, 18.85e-3, 1e-9);
  g_assert_cmpfloat_with_epsilon (v, 0.0, 1e-9);
  u = 40e-3;
  v = 0.0;
  g_assert_null (ef_face_chart_snap (end, 0.5e-3, &u, &v));
  g_assert_cmpfloat (u, ==, 40e-3);
}

/* On the wall the psi of 45 degrees and the edge at the mating face cross. */
static void
test_snap_wall (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  g_autoptr (EfFaceChart) wall = chart_of (sheet, "pressure-housing/wall-driven");
  double u = 21.66e-3 * G_PI / 4.0 + 1e-4;
  double v = 1.5e-4;

  g_assert_nonnull (ef_face_chart_snap (wall, 0.3e-3, &u, &v));
  g_assert_cmpfloat_with_epsilon (u, 21.66e-3 * G_PI / 4.0, 1e-9);
  g_assert_cmpfloat_with_epsilon (v, 0.0, 1e-9);
}

/* A snap never moves farther than its reach, and what it lands on it stays on. */
static void
snap_within_reach (EfPumpSheet *sheet,
                   EfFaceChart *chart)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (7);

  for (int i = 0; i < 40; i++)
    {
      double u = g_rand_double_range (rand, chart->u0, chart->u1);
      double v = g_rand_double_range (rand, chart->v0, chart->v1);
      double reach = g_rand_double_range (rand, 1e-5, 2e-3);
      double u1 = u;
      double v1 = v;
      double u2;
      double v2;
      const char *name = ef_face_chart_snap (chart, reach, &u1, &v1);

      g_assert_cmpfloat (hypot (u1 - u, v1 - v), <=, reach);
      g_assert_true (name != NULL || (u1 == u && v1 == v));
      u2 = u1;
      v2 = v1;
      if (name != NULL)
        {
          g_assert_nonnull (ef_face_chart_snap (chart, 1e-7, &u2, &v2));
          g_assert_cmpfloat (hypot (u2 - u1, v2 - v1), <, 1e-7);
        }
    }
}

static void
test_snap_within_reach (void)
{
  for_each_face (snap_within_reach);
}

/* Every tooth has a ray or a line to snap to. */
static void
teeth_snap (EfPumpSheet *sheet,
            EfFaceChart *chart)
{
  guint found = 0;
  EfSnap *snap;

  if (chart->map.teeth == 0)
    return;
  for (guint i = 0; i < chart->snaps->len; i++)
    {
      snap = &g_array_index (chart->snaps, EfSnap, i);
      found += g_str_has_prefix (snap->name, "tooth ");
      if (snap->kind == EF_SNAP_RAY && g_str_has_prefix (snap->name, "tooth "))
        {
          EfChartPlace place;

          /* The ray runs through the tooth it is named after, on mirrored ends too. */
          ef_face_chart_place (chart, 0.98 * snap->radius * cos (snap->angle), 0.98 * snap->radius * sin (snap->angle), &place);
          g_assert_cmpint (place.tooth, ==, atoi (snap->name + strlen ("tooth ")));
        }
    }
  g_assert_cmpuint (found, ==, (guint) chart->map.teeth);
  found = 0;
  for (guint i = 0; i < chart->labels->len; i++)
    found += g_str_equal (((EfChartLabel *) g_ptr_array_index (chart->labels, i))->role, "tooth");
  g_assert_cmpuint (found, ==, (guint) chart->map.teeth);
}

static void
test_teeth_snap (void)
{
  for_each_face (teeth_snap);
}

static void
test_kind_names (void)
{
  g_assert_cmpstr (ef_face_kind_name (EF_FACE_FLOOR), ==, "floor");
  g_assert_cmpstr (ef_face_kind_name (EF_FACE_PIN_HOLE), ==, "pin-hole");
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/face-chart/ids", test_ids);
  g_test_add_func ("/face-chart/unknown-faces-are-refused", test_unknown);
  g_test_add_func ("/face-chart/every-face/well-formed", test_well_formed);
  g_test_add_func ("/face-chart/every-face/normals-square-to-the-surface", test_normals);
  g_test_add_func ("/face-chart/every-face/normals-point-out", test_normals_point_out);
  g_test_add_func ("/face-chart/every-face/snap-within-reach", test_snap_within_reach);
  g_test_add_func ("/face-chart/wall/meets-floor-plate-and-mating-face", test_wall_meets_floor);
  g_test_add_func ("/face-chart/wall/two-walls-meet", test_walls_meet);
  g_test_add_func ("/face-chart/floor/area", test_floor_area);
  g_test_add_func ("/face-chart/plan/handedness", test_handedness);
  g_test_add_func ("/face-chart/plan/sides-named", test_sides_named);
  g_test_add_func ("/face-chart/plan/solid", test_plate_solid);
  g_test_add_func ("/face-chart/gear/tooth-agrees", test_tooth_agrees);
  g_test_add_func ("/face-chart/gear/drive-flanks-touch", test_drive_flanks_touch);
  g_test_add_func ("/face-chart/gear/flank-on-outline", test_flank_on_outline);
  g_test_add_func ("/face-chart/gear/tooth-to-tooth", test_tooth_to_tooth);
  g_test_add_func ("/face-chart/gear/mate-of-mate", test_mate_of_mate);
  g_test_add_func ("/face-chart/gear/keyway", test_keyway);
  g_test_add_func ("/face-chart/gear/teeth-snap", test_teeth_snap);
  g_test_add_func ("/face-chart/shaft/journal-in-bore", test_journal_in_bore);
  g_test_add_func ("/face-chart/bore/angle", test_bore_angle);
  g_test_add_func ("/face-chart/snap/named", test_snap_named);
  g_test_add_func ("/face-chart/snap/wall", test_snap_wall);
  g_test_add_func ("/face-chart/kind-names", test_kind_names);

  return g_test_run ();
}
