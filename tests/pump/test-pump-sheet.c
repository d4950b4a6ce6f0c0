/* Pump sheets: the four that are shipped, look-ups, and every refusal with its reason.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "pump/ef-pump-sheet.h"

#include <math.h>
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
  g_assert_nonnull (sheet);

  return sheet;
}

static char *
text_of (const char *id)
{
  g_autofree char *file = g_strconcat (id, ".json", NULL);
  g_autofree char *path = ef_data_path ("pump-sheets", file, NULL);
  char *text = NULL;

  g_assert_true (g_file_get_contents (path, &text, NULL, NULL));

  return text;
}

/* Shipped sheets */

static void
test_shipped (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (shipped); i++)
    {
      g_autoptr (EfPumpSheet) sheet = load (shipped[i]);
      g_autofree char *text = text_of (shipped[i]);
      guint n_quantities = 0;

      g_assert_cmpstr (sheet->id, ==, shipped[i]);
      g_assert_cmpstr (sheet->json, ==, text);
      g_assert_cmpuint (sheet->cautions->len, >=, 3);
      g_assert_nonnull (ef_pump_sheet_rated (sheet, "rated"));
      g_assert_nonnull (ef_pump_sheet_rated (sheet, "hot idle"));
      g_assert_null (ef_pump_sheet_rated (sheet, "cold start"));
      for (guint k = 0; k < sheet->sections->len; k++)
        {
          const EfSection *section = g_ptr_array_index (sheet->sections, k);
          double clearance = section->pocket_depth - section->pair.in.face_width;
          const EfLimit *limit = ef_pump_sheet_limit (sheet, "end-clearance", section->id);

          /* New numbers lie inside the sheet's own window. */
          g_assert_nonnull (limit);
          g_assert_cmpfloat (clearance, >=, limit->as_new_min - 1e-9);
          g_assert_cmpfloat (clearance, <=, limit->as_new_max + 1e-9);
          limit = ef_pump_sheet_limit (sheet, "backlash", section->id);
          g_assert_cmpfloat (section->pair.backlash, >=, limit->as_new_min);
          g_assert_cmpfloat (section->pair.backlash, <=, limit->as_new_max);
          limit = ef_pump_sheet_limit (sheet, "tip-clearance", section->id);
          for (int gear = 0; gear < 2; gear++)
            {
              double tip = section->pocket_radius[gear] - section->pair.in.tip_radius[gear];

              g_assert_cmpfloat (tip, >=, limit->as_new_min - 1e-9);
              g_assert_cmpfloat (tip, <=, limit->as_new_max + 1e-9);
              g_assert_cmpfloat (section->shaft_radius[gear], >, 0.005);
              g_assert_cmpfloat (section->shaft_radius[gear], <, section->pair.in.root_radius[gear]);
            }
        }
      for (guint k = 0; k < sheet->limits->len; k++)
        {
          const EfLimit *limit = &g_array_index (sheet->limits, EfLimit, k);

          n_quantities += limit->target == NULL;
          g_assert_cmpuint (strlen (limit->source), >, 3);
        }
      g_assert_cmpuint (n_quantities, ==, 15);
    }
}

/* HL-24's pressure section has the gears of the worked case of the computation's specification (constructed). */
static void
test_hl24_numbers (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  const EfSection *section = ef_pump_sheet_section (sheet, "pressure");
  const EfSection *scavenge = ef_pump_sheet_section (sheet, "scavenge");
  const EfPart *front = ef_pump_sheet_part (sheet, "pressure-housing");
  const EfPart *plate = ef_pump_sheet_part (sheet, "separator");
  const EfPart *rear = ef_pump_sheet_part (sheet, "scavenge-housing");
  const EfPart *gear = ef_pump_sheet_part (sheet, "pressure-drive-gear");
  const EfRatedPoint *idle = ef_pump_sheet_rated (sheet, "hot idle");

  /* alpha_w 26.19210 deg, contact ratio 1.154762, backlash 124.296 um: constructed, 1e-5 (backlash 1e-4). */
  g_assert_cmpfloat_with_epsilon (section->pair.working_angle * 180.0 / G_PI, 26.19210, 26.2e-5);
  g_assert_cmpfloat_with_epsilon (section->pair.contact_ratio, 1.154762, 1.2e-5);
  g_assert_cmpfloat_with_epsilon (section->pair.backlash, 124.296e-6, 1.3e-8);
  g_assert_cmpfloat_with_epsilon (section->pocket_depth, 25.07e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (section->suction_angle, 100.0 * G_PI / 180.0, 1e-9);
  g_assert_cmpint (ef_section_delivery_sign (section), ==, -1);
  g_assert_cmpfloat_with_epsilon (sheet->relief, 4.5e5, 1e-3);
  g_assert_cmpfloat_with_epsilon (idle->speed, 550.0 / 60.0, 1e-12);
  g_assert_cmpfloat_with_epsilon (idle->temperature, 388.15, 1e-9);
  g_assert_cmpfloat_with_epsilon (idle->demand, 8.88e-3 / 60.0, 1e-12);
  g_assert_cmpfloat_with_epsilon (sheet->nu40, 95e-6, 1e-15);
  g_assert_cmpfloat_with_epsilon (front->lap_stock, 150e-6, 1e-12);
  /* The stack, worked out by hand from the sheet: front housing 40.07 mm, plate 6 mm. */
  g_assert_cmpfloat_with_epsilon (front->z_front, 0.0, 1e-12);
  g_assert_cmpfloat_with_epsilon (section->z_front, -15e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (gear->z_front, -15.035e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (plate->z_front, -40.07e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (rear->z_front, -46.07e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (scavenge->z_front, -46.07e-3, 1e-12);
  /* Leakage runs to the larger bore, the plate's of 18.1 mm. */
  g_assert_cmpfloat_with_epsilon (section->shaft_radius[0], 9.05e-3, 1e-12);
}

static void
test_lookups (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("hl-24");
  const EfPart *gear = ef_pump_sheet_part (sheet, "scavenge-drive-gear");
  const EfSection *pressure = ef_pump_sheet_section (sheet, "pressure");
  const EfSection *scavenge = ef_pump_sheet_section (sheet, "scavenge");

  g_assert_cmpstr (ef_pump_sheet_mate (sheet, gear)->id, ==, "scavenge-driven-gear");
  g_assert_null (ef_pump_sheet_mate (sheet, ef_pump_sheet_part (sheet, "separator")));
  g_assert_null (ef_pump_sheet_part (sheet, "nothing"));
  g_assert_null (ef_pump_sheet_part (sheet, NULL));
  g_assert_true (ef_pump_sheet_face_section (sheet, "separator/side-a") == pressure);
  g_assert_true (ef_pump_sheet_face_section (sheet, "separator/side-b") == scavenge);
  g_assert_true (ef_pump_sheet_face_section (sheet, "pressure-housing/mating") == pressure);
  g_assert_true (ef_pump_sheet_face_section (sheet, "scavenge-drive-gear/tips") == scavenge);
  g_assert_null (ef_pump_sheet_face_section (sheet, "separator/hole-drive"));
  g_assert_null (ef_pump_sheet_face_section (sheet, "drive-shaft/journal-front"));
  g_assert_null (ef_pump_sheet_face_section (sheet, "nonsense"));
  g_assert_cmpstr (ef_part_kind_name (EF_PART_COVER), ==, "cover");
}

static void
test_outer_side_has_no_section (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("tg-3");

  g_assert_nonnull (ef_pump_sheet_face_section (sheet, "front-plate/side-b"));
  g_assert_null (ef_pump_sheet_face_section (sheet, "front-plate/side-a"));
}

static void
test_limit_most_particular (void)
{
  g_autoptr (EfPumpSheet) hl = load ("hl-24");
  g_autoptr (EfPumpSheet) rc = load ("rc-4");

  g_assert_cmpfloat_with_epsilon (ef_pump_sheet_limit (hl, "end-clearance", "pressure")->wear_max, 0.13e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_pump_sheet_limit (hl, "end-clearance", "scavenge")->wear_max, 0.16e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_pump_sheet_limit (hl, "end-clearance", "scavenge-drive-gear")->wear_max, 0.16e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_pump_sheet_limit (hl, "end-clearance", "separator/side-b")->wear_max, 0.16e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_pump_sheet_limit (hl, "end-clearance", "separator/side-a")->wear_max, 0.13e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_pump_sheet_limit (hl, "end-clearance", NULL)->wear_max, 0.13e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_pump_sheet_limit (rc, "plate-groove", "cover/side-a")->rework_max, 0.25e-3, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_pump_sheet_limit (rc, "plate-groove", "body")->rework_max, 0.2e-3, 1e-12);
  g_assert_true (isnan (ef_pump_sheet_limit (rc, "plate-groove", NULL)->wear_min));
  g_assert_null (ef_pump_sheet_limit (rc, "nothing", NULL));
}

/* psi and back, both axes and senses; psi = 90 degrees lies on the delivery side. */
static void
test_psi (void)
{
  g_autoptr (EfPumpSheet) hl = load ("hl-24");
  g_autoptr (EfPumpSheet) rc = load ("rc-4");
  const EfSection *sections[] = { g_ptr_array_index (hl->sections, 0), g_ptr_array_index (rc->sections, 0) };

  for (guint s = 0; s < 2; s++)
    for (int axis = 0; axis < 2; axis++)
      for (int degrees = -170; degrees <= 180; degrees += 10)
        {
          double x;
          double y;

          ef_section_at_psi (sections[s], axis, 0.02, degrees * G_PI / 180.0, &x, &y);
          g_assert_cmpfloat_with_epsilon (cos (ef_section_psi (sections[s], axis, x, y) - degrees * G_PI / 180.0), 1.0, 1e-12);
          if (degrees == 90)
            g_assert_cmpfloat (y * ef_section_delivery_sign (sections[s]), >, 0.0);
          if (degrees == 0)
            g_assert_cmpfloat (fabs (x), >, sections[s]->pair.in.centre_distance / 2.0);
        }
}

/* The outline keeps the margin from each pocket circle: at its nearest to the axis it is R + margin away. */
static void
test_footprint (void)
{
  g_autoptr (EfPumpSheet) sheet = load ("tg-3");
  const EfPart *body = ef_pump_sheet_part (sheet, "body");
  const EfSection *section = g_ptr_array_index (sheet->sections, 0);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRegion) outline = ef_part_footprint (sheet, body, &error);

  g_assert_no_error (error);
  for (int axis = 0; axis < 2; axis++)
    {
      double nearest = HUGE_VAL;

      for (guint i = 0; i < outline->rings[0].n; i++)
        nearest = MIN (nearest, hypot (outline->rings[0].xy[2 * i] - ef_section_axis_x (section, axis), outline->rings[0].xy[2 * i + 1]));
      g_assert_cmpfloat_with_epsilon (nearest, section->pocket_radius[axis] + body->margin, 1e-6);
    }
  g_assert_cmpfloat (ef_ring_area (&outline->rings[0]), >, 0.0);
}

/* Refusals */

typedef struct
{
  const char *name;
  const char *sheet;
  const char *after; /* look behind the first of this */
  const char *from;
  const char *to;
  int code;
  const char *path;   /* in the message */
  const char *reason; /* in the message */
} Refusal;

/* "." in @after stands for the beginning. */
static const Refusal refusals[] = {
  { "gears/undercut", "hl-24", ".",
    "\"teeth\": [12, 12],\n      \"module_mm\": 3,\n      \"pressure_angle_deg\": 20,\n      \"profile_shift\": [0.3, 0.3],\n      \"tip_diameter_mm\": [43.2, 43.2],\n      \"centre_distance_mm\": 37.7,",
    "\"teeth\": [9, 9], \"module_mm\": 3, \"pressure_angle_deg\": 20, \"profile_shift\": [0, 0], \"tip_diameter_mm\": [31.34, 31.34], \"centre_distance_mm\": 27.05,",
    EF_ERROR_GEOMETRY, "$.sections[0].profile_shift[", "undercut" },
  { "gears/pointed", "hl-24", ".", "\"profile_shift\": [0.3, 0.3]", "\"profile_shift\": [-0.4, 0.3]", EF_ERROR_GEOMETRY, "$.sections[0].tip_diameter_mm[0]", "pointed" },
  { "gears/backlash", "hl-24", ".", "\"profile_shift\": [0.3, 0.3]", "\"profile_shift\": [0.4, 0.4]", EF_ERROR_GEOMETRY, "$.sections[0].centre_distance_mm", "backlash" },
  { "gears/contact-ratio", "hl-24", ".", "\"tip_diameter_mm\": [43.2, 43.2]", "\"tip_diameter_mm\": [40, 40]", EF_ERROR_GEOMETRY, "$.sections[0].centre_distance_mm", "contact ratio" },
  { "gears/interference", "hl-24", ".", "\"pressure_angle_deg\": 20", "\"root_diameter_mm\": [30.3, 33], \"pressure_angle_deg\": 20", EF_ERROR_GEOMETRY, "$.sections[0].tip_diameter_mm[0]", "interfere" },
  { "pocket/circles-apart", "hl-24", ".", "\"pocket_radius_mm\": [21.66, 21.66]", "\"pocket_radius_mm\": [18, 19]", EF_ERROR_GEOMETRY, "$.sections[0].pocket_radius_mm", "don't meet" },
  { "pocket/tips-do-not-fit", "hl-24", ".", "\"pocket_radius_mm\": [21.66, 21.66]", "\"pocket_radius_mm\": [21.66, 21.5]", EF_ERROR_GEOMETRY, "$.sections[0].pocket_radius_mm[1]", "tips" },
  { "pocket/reaches-other-shaft", "hl-24", ".", "\"pocket_radius_mm\": [21.66, 21.66]", "\"pocket_radius_mm\": [38, 21.66]", EF_ERROR_GEOMETRY, "$.sections[0].pocket_radius_mm[0]", "centre distance" },
  { "pocket/face-wider", "hl-24", ".", "\"pocket_depth_mm\": 25.07", "\"pocket_depth_mm\": 24.99", EF_ERROR_GEOMETRY, "$.sections[0].pocket_depth_mm", "wider" },
  { "ports/on-the-sealed-arc", "hl-24", ".", "\"suction_angle_deg\": 100", "\"suction_angle_deg\": 150", EF_ERROR_GEOMETRY, "$.sections[0].ports[0].outline_mm", "sealed arc" },
  { "sections/centre-distance", "hl-24", "\"id\": \"scavenge\"", "\"centre_distance_mm\": 37.7", "\"centre_distance_mm\": 37.72", EF_ERROR_GEOMETRY, "$.sections[1].centre_distance_mm", "same shafts" },
  { "sections/rotation", "hl-24", "\"id\": \"scavenge\"", "\"rotation\": 1", "\"rotation\": -1", EF_ERROR_GEOMETRY, "$.sections[1].rotation", "same shafts" },
  { "sections/rotation-zero", "hl-24", ".", "\"rotation\": 1", "\"rotation\": 0", EF_ERROR_RANGE, "$.sections[0].rotation", "found 0" },
  { "sections/rotation-against-ports", "rc-4", ".", "\"rotation\": -1", "\"rotation\": 1", EF_ERROR_GEOMETRY, "$.sections[0].ports[0].outline_mm", "rotation" },
  { "sections/same-id", "hl-24", ".", "\"id\": \"scavenge\"", "\"id\": \"pressure\"", EF_ERROR_INVALID, "$.sections[1].id", "once" },
  { "sections/pocket-part", "hl-24", ".", "\"pocket_part\": \"pressure-housing\"", "\"pocket_part\": \"separator\"", EF_ERROR_NOT_FOUND, "$.sections[0].pocket_part", "housing" },
  { "sections/gear-part", "hl-24", ".", "[\"pressure-drive-gear\", ", "[\"pressure-gear\", ", EF_ERROR_NOT_FOUND, "$.sections[0].gear_parts[0]", "gear" },
  { "sections/gears-swapped", "hl-24", ".", "[\"pressure-drive-gear\", \"pressure-driven-gear\"]", "[\"pressure-driven-gear\", \"pressure-drive-gear\"]", EF_ERROR_INVALID, "$.sections[0].gear_parts[0]", "drive gear" },
  { "sections/facing-face", "hl-24", ".", "\"facing_face\": \"separator/side-a\"", "\"facing_face\": \"separator/side-c\"", EF_ERROR_INVALID, "$.sections[0].facing_face", "side-a or side-b" },
  { "sections/facing-not-there", "hl-24", ".", "\"facing_face\": \"separator/side-a\"", "\"facing_face\": \"plate/side-a\"", EF_ERROR_NOT_FOUND, "$.sections[0].facing_face", "face of a part" },
  { "sections/facing-wrong-side", "tg-3", ".", "\"facing_face\": \"front-plate/side-b\"", "\"facing_face\": \"front-plate/side-a\"", EF_ERROR_GEOMETRY, "$.sections[0].facing_face", "closes the pocket" },
  { "sections/mating-face", "hl-24", ".", "\"mating_face\": \"pressure-housing/mating\"", "\"mating_face\": \"pressure-housing/floor\"", EF_ERROR_INVALID, "$.sections[0].mating_face", "pressure-housing/mating" },
  { "ports/outside-pocket", "hl-24", ".", "[0.0, 9.78]", "[0.0, 14.5]", EF_ERROR_GEOMETRY, "$.sections[0].ports[0].outline_mm", "inside the pocket" },
  { "ports/wrong-side", "hl-24", ".", "\"side\": \"suction\"", "\"side\": \"delivery\"", EF_ERROR_GEOMETRY, "$.sections[0].ports[0].outline_mm", "delivery port" },
  { "ports/crosses-itself", "hl-24", ".", "[9.22, 12.08], [12.5, 14.08]", "[12.5, 14.08], [9.22, 12.08]", EF_ERROR_GEOMETRY, "$.sections[0].ports[0].outline_mm", "cross itself" },
  { "ports/in-bore", "hl-24", ".", "\"outline_mm\": [\n            [4.61, 6.0]", "\"outline_mm\": [\n            [10.6, 1.5]", EF_ERROR_GEOMETRY, "$.sections[0].ports[0].outline_mm", "shaft bore" },
  { "parts/same-id", "hl-24", ".", "\"id\": \"dowels\"", "\"id\": \"studs\"", EF_ERROR_INVALID, "$.parts[11].id", "once" },
  { "parts/section", "hl-24", "\"parts\"", "\"section\": \"pressure\"", "\"section\": \"return\"", EF_ERROR_INVALID, "$.sections[0].pocket_part", "section" },
  { "parts/order", "hl-24", "\"id\": \"separator\"", "\"order\": 4", "\"order\": 2", EF_ERROR_INVALID, "$.parts[3].order", "place of its own" },
  { "parts/order-apart", "hl-24", "\"id\": \"separator\"", "\"order\": 4", "\"order\": 9", EF_ERROR_GEOMETRY, "$.sections[0].facing_face", "closes the pocket" },
  { "parts/gear-width", "hl-24", "\"id\": \"pressure-driven-gear\"", "\"thickness_mm\": 25", "\"thickness_mm\": 24", EF_ERROR_GEOMETRY, "$.sections[0].gear_parts[1]", "face width" },
  { "parts/no-floor", "hl-24", "\"id\": \"pressure-housing\",", "\"thickness_mm\": 40.07", "\"thickness_mm\": 25.07", EF_ERROR_GEOMETRY, "$.parts[0].thickness_mm", "pocket depth" },
  { "parts/ring-too-thick", "tg-3", "\"id\": \"body\",", "\"thickness_mm\": 22.06", "\"thickness_mm\": 22.07", EF_ERROR_GEOMETRY, "$.parts[2].thickness_mm", "ring" },
  { "bores/overlap", "hl-24", "\"id\": \"separator\",", "\"axis\": \"drive\", \"diameter_mm\": 18.1", "\"axis\": \"drive\", \"diameter_mm\": 60", EF_ERROR_GEOMETRY, "$.parts[3].bores[1].diameter_mm", "don't overlap" },
  { "bores/beyond-the-roots", "hl-24", "\"id\": \"separator\",", "\"axis\": \"drive\", \"diameter_mm\": 18.1", "\"axis\": \"drive\", \"diameter_mm\": 31", EF_ERROR_GEOMETRY, "$.parts[3].bores[0].diameter_mm", "root circle" },
  { "bores/too-long", "hl-24", "\"id\": \"pressure-housing\",", "\"diameter_mm\": 18.02, \"length_mm\": 15", "\"diameter_mm\": 18.02, \"length_mm\": 16", EF_ERROR_GEOMETRY, "$.parts[0].bores[0].length_mm", "material" },
  { "bores/two-on-one-axis", "hl-24", "\"id\": \"separator\",", "\"id\": \"driven\", \"axis\": \"driven\"", "\"id\": \"driven\", \"axis\": \"drive\"", EF_ERROR_INVALID, "$.parts[3].bores[1].axis", "one bore an axis" },
  { "bores/same-id", "hl-24", "\"id\": \"separator\",", "\"id\": \"driven\", \"axis\"", "\"id\": \"drive\", \"axis\"", EF_ERROR_INVALID, "$.parts[3].bores[1].id", "once" },
  { "gear/no-bore", "hl-24", "\"id\": \"pressure-drive-gear\",", "\"bores\": [\n        { \"id\": \"bore\", \"axis\": \"drive\", \"diameter_mm\": 18, \"length_mm\": 25 }\n      ]", "\"bores\": []", EF_ERROR_INVALID, "$.parts[1].bores", "one bore" },
  { "gear/keyway-through-root", "hl-24", "\"id\": \"pressure-drive-gear\",", "\"depth_mm\": 2.5", "\"depth_mm\": 6.5", EF_ERROR_GEOMETRY, "$.parts[1].keyways[0].depth_mm", "root circle" },
  { "holes/outside", "hl-24", "\"id\": \"separator\",", "\"x_mm\": 47.5", "\"x_mm\": 51.5", EF_ERROR_GEOMETRY, "$.parts[3].holes[0]", "outline" },
  { "holes/in-pocket", "hl-24", "\"id\": \"separator\",", "\"x_mm\": 47.5", "\"x_mm\": 44", EF_ERROR_GEOMETRY, "$.parts[3].holes[0]", "clear of the pocket" },
  { "holes/overlap", "hl-24", "\"id\": \"separator\",", "\"x_mm\": 40, \"y_mm\": 20.5", "\"x_mm\": 25, \"y_mm\": 28.5", EF_ERROR_GEOMETRY, "$.parts[3].holes[6]", "overlap" },
  { "shaft/journal-too-long", "hl-24", "\"id\": \"drive-shaft\",", "\"length_mm\": 13.0", "\"length_mm\": 14.5", EF_ERROR_GEOMETRY, "$.parts[7].journals[1].length_mm", "shaft's length" },
  { "shaft/journal-too-thick", "hl-24", "\"id\": \"drive-shaft\",", "\"diameter_mm\": 17.97", "\"diameter_mm\": 18.03", EF_ERROR_GEOMETRY, "$.parts[7].journals[0].diameter_mm", "its bore" },
  { "shaft/journal-elsewhere", "hl-24", "\"id\": \"drive-shaft\",", "\"front_z_mm\": 30", "\"front_z_mm\": 45", EF_ERROR_GEOMETRY, "$.parts[7].journals[0].z_mm", "half its length" },
  { "shaft/runs-nowhere", "hl-24", "\"id\": \"drive-shaft\",", "\"pressure-housing/bore-drive\"", "\"pressure-housing/bore-driven\"", EF_ERROR_NOT_FOUND, "$.parts[7].journals[0].runs_in", "same axis" },
  { "shaft/keyway-too-deep", "hl-24", "\"id\": \"drive-shaft\",", "\"depth_mm\": 2.5", "\"depth_mm\": 9.5", EF_ERROR_GEOMETRY, "$.parts[7].keyways[0].depth_mm", "half" },
  { "shaft/pin-hole-off-the-end", "hl-24", "\"id\": \"drive-shaft\",", "\"length_mm\": 14, \"z_mm\": 4", "\"length_mm\": 14, \"z_mm\": 1", EF_ERROR_GEOMETRY, "$.parts[7].pin_holes[0].z_mm", "shaft's length" },
  { "limits/wear-below-new", "hl-24", "\"end-clearance\"", "\"wear_max_mm\": 0.13", "\"wear_max_mm\": 0.08", EF_ERROR_RANGE, "$.limits[0].wear_max_mm", "as_new_max_mm" },
  { "limits/new-upside-down", "hl-24", "\"end-clearance\"", "\"as_new_min_mm\": 0.05", "\"as_new_min_mm\": 0.1", EF_ERROR_RANGE, "$.limits[0].as_new_max_mm", "as_new_min_mm" },
  { "limits/rework-below-wear", "hl-24", "\"tip-clearance\"", "\"rework_max_mm\": 0.15", "\"rework_max_mm\": 0.14", EF_ERROR_RANGE, "$.limits[2].rework_max_mm", "wear_max_mm" },
  { "limits/target", "hl-24", "\"limits\"", "\"target\": \"scavenge\"", "\"target\": \"return\"", EF_ERROR_NOT_FOUND, "$.limits[1].target", "part or section" },
  { "limits/twice", "hl-24", "\"limits\"", "\"target\": \"scavenge\", ", "", EF_ERROR_INVALID, "$.limits[1].quantity", "again" },
  { "rules/no-source", "hl-24", "\"limits\"", "\n  ]\n}", "\n  ], \"rules\": [{\"id\": \"a\"}]}", EF_ERROR_INVALID, "$.rules[0].source", "expected" },
  { "rules/wrong-id", "hl-24", "\"limits\"", "\n  ]\n}", "\n  ], \"rules\": [{\"id\": \"A B\", \"source\": \"s\"}]}", EF_ERROR_INVALID, "$.rules[0].id", "expected" },
  { "rules/twice", "hl-24", "\"limits\"", "\n  ]\n}", "\n  ], \"rules\": [{\"id\": \"a\", \"source\": \"s\"}, {\"id\": \"a\", \"source\": \"s\"}]}", EF_ERROR_INVALID, "$.rules[1].id", "again" },
  { "rules/no-list", "hl-24", "\"limits\"", "\n  ]\n}", "\n  ], \"rules\": {}}", EF_ERROR_INVALID, "$.rules", "array" },
  { "oil/thickens", "hl-24", ".", "\"nu100_mm2_s\": 14", "\"nu100_mm2_s\": 140", EF_ERROR_RANGE, "$.oil.nu100_mm2_s", "thins" },
  { "format/newer", "hl-24", ".", "\"version\": 1", "\"version\": 2", EF_ERROR_NEWER_FORMAT, "$.version", "newer" },
  { "format/other", "hl-24", ".", "endfloat-pump-sheet", "something-else", EF_ERROR_INVALID, "$.format", "endfloat-pump-sheet" },
  { "format/unknown-member", "hl-24", ".", "\"rotation\": 1", "\"rotation\": 1, \"rotation_deg\": 3", EF_ERROR_INVALID, "$.sections[0].rotation_deg", "member" },
  { "format/duplicate-member", "hl-24", ".", "\"rotation\": 1", "\"rotation\": 1, \"rotation\": 1", EF_ERROR_PARSE, "", "" },
  { "format/wrong-type", "hl-24", ".", "\"module_mm\": 3", "\"module_mm\": \"three\"", EF_ERROR_INVALID, "$.sections[0].module_mm", "found \"three\"" },
  { "format/foreign-member", "hl-24", "\"id\": \"separator\",", "\"order\": 4", "\"order\": 4, \"pocket_opens\": \"rear\"", EF_ERROR_INVALID, "$.parts[3].pocket_opens", "plate" },
};

static char *
edited (const Refusal *refusal)
{
  g_autofree char *text = text_of (refusal->sheet);
  const char *start = g_str_equal (refusal->after, ".") ? text : strstr (text, refusal->after);
  const char *at;
  g_autofree char *head = NULL;

  g_assert_nonnull (start);
  at = strstr (start, refusal->from);
  g_assert_nonnull (at);
  head = g_strndup (text, (gsize) (at - text));

  return g_strconcat (head, refusal->to, at + strlen (refusal->from), NULL);
}

static void
test_refusal (gconstpointer data)
{
  const Refusal *refusal = data;
  g_autofree char *text = edited (refusal);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_parse (text, "my-pump.json", &error);

  g_assert_null (sheet);
  g_assert_nonnull (error);
  g_test_message ("%s", error->message);
  g_assert_error (error, EF_ERROR, refusal->code);
  g_assert_true (g_str_has_prefix (error->message, "my-pump.json: "));
  g_assert_nonnull (strstr (error->message, refusal->path));
  g_assert_nonnull (strstr (error->message, refusal->reason));
}

static void
test_no_file (void)
{
  g_autoptr (GError) error = NULL;

  g_assert_null (ef_pump_sheet_load ("/nowhere/pump.json", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_assert_nonnull (strstr (error->message, "/nowhere/pump.json"));
  g_clear_error (&error);
  g_assert_null (ef_pump_sheet_parse (NULL, "x.json", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_pump_sheet_parse ("", "x.json", &error));
  g_assert_nonnull (error);
}

static void
test_data_path (void)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);

  g_assert_true (g_str_has_prefix (path, g_getenv ("ENDFLOAT_DATADIR")));
  g_assert_true (g_str_has_suffix (path, "/pump-sheets/hl-24.json"));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/pump-sheet/shipped/load-and-keep-their-own-limits", test_shipped);
  g_test_add_func ("/pump-sheet/shipped/hl-24-numbers", test_hl24_numbers);
  g_test_add_func ("/pump-sheet/lookups", test_lookups);
  g_test_add_func ("/pump-sheet/outer-side-has-no-section", test_outer_side_has_no_section);
  g_test_add_func ("/pump-sheet/limit/most-particular", test_limit_most_particular);
  g_test_add_func ("/pump-sheet/psi/there-and-back", test_psi);
  g_test_add_func ("/pump-sheet/footprint/keeps-the-margin", test_footprint);
  g_test_add_func ("/pump-sheet/no-file", test_no_file);
  g_test_add_func ("/pump-sheet/data-path", test_data_path);
  for (guint i = 0; i < G_N_ELEMENTS (refusals); i++)
    {
      g_autofree char *path = g_strconcat ("/pump-sheet/refuses/", refusals[i].name, NULL);

      g_test_add_data_func (path, &refusals[i], test_refusal);
    }

  return g_test_run ();
}
