/* Reads a pump sheet from JSON: units in the member names, unknown members refused.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The bounds given here are those of the JSON Schema (data/schemas/pump-sheet.schema.json), which a test holds against this
 * file. What follows from several numbers together is looked at in ef-pump-sheet-check.c. */
#include "ef-pump-sheet-private.h"
#include "../base/ef-json-canonical.h"
#include "../base/ef-units.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <glib/gstdio.h>

#define MAX_BYTES (64u * 1024u * 1024u)
#define FORMAT "endfloat-pump-sheet"
#define VERSION 1
#define MAX_MM 2000.0
#define MAX_SECTIONS 4
#define MAX_PARTS 64
#define MAX_CYLINDERS 16
#define MAX_HOLES 64
#define MAX_PORTS 8
#define MAX_PORT_POINTS 400
#define MAX_RULES 200
#define MAX_LIMITS 200
#define MAX_RATED 16
#define MAX_CAUTIONS 40

const char *const ef_limit_quantities[] = {
  "end-clearance", "tip-clearance", "backlash", "side-play", "bore-clearance", "bore-ovality", "flatness",
  "plate-groove", "plate-step", "floor-scoring", "wall-lip", "wall-scoring", "gear-end-scoring",
  "width-difference", "mating-face-damage", NULL
};

static const char *const kind_names[] = { "housing", "plate", "cover", "gear", "shaft", "pickup", "pin", "stud", NULL };
static const char *const materials[] = { "aluminium-alloy", "magnesium-alloy", "cast-iron", "steel", "bronze", NULL };
static const char *const axis_names[] = { "drive", "driven", NULL };
static const char *const role_names[] = { "pressure", "scavenge", NULL };
static const char *const side_names[] = { "suction", "delivery", NULL };
static const char *const cut_names[] = { "floor", "facing", NULL };
static const char *const opens_names[] = { "front", "rear", "through", NULL };
static const char *const hole_kinds[] = { "stud", "dowel", "oil", NULL };

/* Small readers */

static gboolean
is_id (const char *text)
{
  if (*text == '\0' || strlen (text) > 64)
    return FALSE;
  for (; *text != '\0'; text++)
    if (!g_ascii_islower (*text) && !g_ascii_isdigit (*text) && *text != '-')
      return FALSE;

  return TRUE;
}

static void
fail_at (const EfJson *json,
         const char *member,
         EfError code,
         const char *message)
{
  g_auto (EfJson) at = ef_json_optional (json, member);

  ef_json_fail (&at, code, "%s", message);
}

static char *
read_id (const EfJson *json,
         const char *member)
{
  char *id = ef_json_string (json, member);
  g_autofree char *message = NULL;

  if (!is_id (id))
    {
      message = g_strdup_printf ("expected an id of 1 to 64 small letters, digits and dashes, found \"%.80s\"", id);
      fail_at (json, member, EF_ERROR_INVALID, message);
    }

  return id;
}

/* A text that isn't empty. */
static char *
read_text (const EfJson *json,
           const char *member)
{
  char *text = ef_json_string (json, member);

  if (*text == '\0')
    fail_at (json, member, EF_ERROR_INVALID, "expected a text that isn't empty, found \"\"");

  return text;
}

/* "part/face" */
static char *
read_face (const EfJson *json,
           const char *member)
{
  char *face = ef_json_string (json, member);
  char *slash = strchr (face, '/');
  g_autofree char *part = slash != NULL ? g_strndup (face, (gsize) (slash - face)) : NULL;
  g_autofree char *message = NULL;

  if (slash == NULL || !is_id (part) || !is_id (slash + 1))
    {
      message = g_strdup_printf ("expected a face such as \"separator/side-a\", found \"%.80s\"", face);
      fail_at (json, member, EF_ERROR_INVALID, message);
    }

  return face;
}

static double
read_mm (const EfJson *json,
         const char *member,
         double least,
         double most)
{
  return ef_length_from_mm (ef_json_number (json, member, least, most));
}

static double
read_mm_or_nan (const EfJson *json,
                const char *member,
                double least,
                double most)
{
  double mm = ef_json_number_or (json, member, least, most, NAN);

  return isnan (mm) ? NAN : ef_length_from_mm (mm);
}

static double
read_degrees (const EfJson *json,
              const char *member,
              double least,
              double most)
{
  return ef_angle_from_deg (ef_json_number (json, member, least, most));
}

static void
read_two (const EfJson *json,
          const char *member,
          double least,
          double most,
          double out[2])
{
  g_auto (EfJson) array = ef_json_array (json, member, 2, 2);

  for (guint i = 0; i < 2 && array.node != NULL; i++)
    {
      g_auto (EfJson) element = ef_json_element (&array, i);

      out[i] = ef_json_value (&element, least, most);
    }
}

static void
read_two_mm (const EfJson *json,
             const char *member,
             double least,
             double most,
             double out[2])
{
  read_two (json, member, least, most, out);
  for (int i = 0; i < 2; i++)
    out[i] = ef_length_from_mm (out[i]);
}

/* An array that may be missing: its length is 0 then. */
static EfJson
optional_array (const EfJson *json,
                const char *member,
                guint least,
                guint most)
{
  return ef_json_has (json, member) ? ef_json_array (json, member, least, most) : ef_json_optional (json, member);
}

/* Sections */

static void
read_gear_pair (const EfJson *json,
                EfGearPairInput *in)
{
  g_auto (EfJson) teeth = ef_json_array (json, "teeth", 2, 2);
  double diameter[2] = { 0.0, 0.0 };

  for (guint i = 0; i < 2 && teeth.node != NULL; i++)
    {
      g_auto (EfJson) element = ef_json_element (&teeth, i);
      double z = ef_json_value (&element, 5.0, 100.0);

      if (z != floor (z))
        ef_json_fail (&element, EF_ERROR_INVALID, "expected a whole number of teeth, found %g", z);
      in->teeth[i] = (int) z;
    }
  in->module = read_mm (json, "module_mm", 0.2, 25.0);
  in->pressure_angle = read_degrees (json, "pressure_angle_deg", 10.0, 35.0);
  read_two (json, "profile_shift", -2.0, 2.0, in->shift);
  read_two_mm (json, "tip_diameter_mm", 1.0, MAX_MM, diameter);
  for (int i = 0; i < 2; i++)
    in->tip_radius[i] = diameter[i] / 2.0;
  if (ef_json_has (json, "root_diameter_mm"))
    {
      read_two_mm (json, "root_diameter_mm", 0.5, MAX_MM, diameter);
      for (int i = 0; i < 2; i++)
        in->root_radius[i] = diameter[i] / 2.0;
    }
  in->centre_distance = read_mm (json, "centre_distance_mm", 1.0, MAX_MM);
  in->face_width = read_mm (json, "face_width_mm", 0.5, MAX_MM);
}

static void
read_cuts (const EfJson *json,
           EfPort *port)
{
  g_auto (EfJson) cuts = ef_json_array (json, "cut_in", 1, 2);
  gboolean seen[2] = { FALSE, FALSE };

  for (guint i = 0; i < ef_json_length (&cuts); i++)
    {
      g_auto (EfJson) element = ef_json_element (&cuts, i);
      int which = ef_json_choice (&element, NULL, cut_names);

      if (seen[which])
        ef_json_fail (&element, EF_ERROR_INVALID, "expected each of \"floor\", \"facing\" once, found \"%s\" twice", cut_names[which]);
      seen[which] = TRUE;
    }
  port->in_floor = seen[0];
  port->in_facing = seen[1];
}

static EfRing
read_outline (const EfJson *json,
              const char *member)
{
  g_auto (EfJson) array = ef_json_array (json, member, 3, MAX_PORT_POINTS);
  guint n = ef_json_length (&array);
  g_autofree double *xy = g_new0 (double, 2 * MAX (n, 1));

  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) point = ef_json_element (&array, i);
      double pair[2] = { 0.0, 0.0 };

      read_two_mm (&point, NULL, -MAX_MM, MAX_MM, pair);
      xy[2 * i] = pair[0];
      xy[2 * i + 1] = pair[1];
    }

  return ef_ring_new (n, xy);
}

static void
turn_anticlockwise (EfRing *ring)
{
  if (ef_ring_area (ring) >= 0.0)
    return;
  for (guint i = 0, j = ring->n - 1; i < j; i++, j--)
    for (int k = 0; k < 2; k++)
      {
        double swap = ring->xy[2 * i + k];

        ring->xy[2 * i + k] = ring->xy[2 * j + k];
        ring->xy[2 * j + k] = swap;
      }
}

static void
read_port (const EfJson *json,
           EfSection *section)
{
  static const char *const members[] = { "side", "cut_in", "outline_mm", NULL };
  EfPort port = { 0 };

  ef_json_only (json, members);
  port.side = (EfSide) ef_json_choice (json, "side", side_names);
  read_cuts (json, &port);
  port.outline = read_outline (json, "outline_mm");
  if (port.outline.n >= 3)
    turn_anticlockwise (&port.outline);
  g_array_append_val (section->ports, port);
}

static void
read_section (const EfJson *json,
              EfSection *section)
{
  static const char *const members[] = {
    "id", "role", "name", "rotation", "teeth", "module_mm", "pressure_angle_deg", "profile_shift", "tip_diameter_mm",
    "root_diameter_mm", "centre_distance_mm", "face_width_mm", "pocket_radius_mm", "pocket_depth_mm", "suction_angle_deg",
    "delivery_angle_deg", "pocket_part", "floor_face", "facing_face", "mating_face", "gear_parts", "ports", NULL
  };
  g_auto (EfJson) gears = ef_json_array (json, "gear_parts", 2, 2);
  g_auto (EfJson) ports = ef_json_array (json, "ports", 1, MAX_PORTS);
  gint64 rotation;

  ef_json_only (json, members);
  section->id = read_id (json, "id");
  section->role = (EfSectionRole) ef_json_choice (json, "role", role_names);
  section->name = read_text (json, "name");
  rotation = ef_json_integer (json, "rotation", -1, 1);
  if (rotation == 0)
    fail_at (json, "rotation", EF_ERROR_RANGE, "expected 1 (anticlockwise seen from the drive end) or -1, found 0");
  section->rotation = rotation < 0 ? -1 : 1;
  read_gear_pair (json, &section->pair.in);
  read_two_mm (json, "pocket_radius_mm", 0.5, MAX_MM, section->pocket_radius);
  section->pocket_depth = read_mm (json, "pocket_depth_mm", 0.5, MAX_MM);
  section->suction_angle = read_degrees (json, "suction_angle_deg", 30.0, 150.0);
  section->delivery_angle = read_degrees (json, "delivery_angle_deg", 30.0, 150.0);
  section->pocket_part = read_id (json, "pocket_part");
  section->floor_face = read_face (json, "floor_face");
  section->facing_face = read_face (json, "facing_face");
  section->mating_face = read_face (json, "mating_face");
  for (guint i = 0; i < 2 && gears.node != NULL; i++)
    {
      g_auto (EfJson) element = ef_json_element (&gears, i);

      section->gear_part[i] = read_id (&element, NULL);
    }
  for (guint i = 0; i < ef_json_length (&ports); i++)
    {
      g_auto (EfJson) element = ef_json_element (&ports, i);

      read_port (&element, section);
    }
}

/* Parts */

typedef enum { CYLINDER_BORE, CYLINDER_JOURNAL, CYLINDER_KEYWAY, CYLINDER_PIN_HOLE } CylinderKind;

static const char *const cylinder_members[][9] = {
  { "id", "axis", "diameter_mm", "length_mm", NULL },
  { "id", "axis", "diameter_mm", "length_mm", "z_mm", "runs_in", NULL },
  { "id", "axis", "width_mm", "depth_mm", "length_mm", "z_mm", NULL },
  { "id", "axis", "diameter_mm", "length_mm", "z_mm", NULL },
};

static void
read_cylinders (const EfJson *json,
                const char *member,
                CylinderKind kind,
                GArray *into)
{
  g_auto (EfJson) array = optional_array (json, member, 0, MAX_CYLINDERS);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) element = ef_json_element (&array, i);
      EfCylinder cylinder = { 0 };

      ef_json_only (&element, cylinder_members[kind]);
      cylinder.id = read_id (&element, "id");
      cylinder.axis = ef_json_choice (&element, "axis", axis_names);
      cylinder.diameter = read_mm (&element, kind == CYLINDER_KEYWAY ? "width_mm" : "diameter_mm", 0.1, MAX_MM);
      cylinder.length = read_mm (&element, "length_mm", 0.1, MAX_MM);
      if (kind == CYLINDER_KEYWAY)
        cylinder.depth = read_mm (&element, "depth_mm", 0.1, MAX_MM);
      if (kind != CYLINDER_BORE)
        cylinder.z = read_mm (&element, "z_mm", 0.0, MAX_MM);
      if (kind == CYLINDER_JOURNAL && ef_json_has (&element, "runs_in"))
        cylinder.runs_in = read_face (&element, "runs_in");
      if (ef_part_cylinder (into, cylinder.id) != NULL)
        {
          g_autofree char *message = g_strdup_printf ("expected an id used once here, found \"%s\" again", cylinder.id);

          fail_at (&element, "id", EF_ERROR_INVALID, message);
        }
      g_array_append_val (into, cylinder);
    }
}

static void
read_holes (const EfJson *json,
            GArray *into)
{
  static const char *const members[] = { "id", "kind", "x_mm", "y_mm", "diameter_mm", NULL };
  g_auto (EfJson) array = optional_array (json, "holes", 0, MAX_HOLES);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) element = ef_json_element (&array, i);
      EfHole hole = { 0 };

      ef_json_only (&element, members);
      hole.id = read_id (&element, "id");
      hole.kind = g_strdup (hole_kinds[ef_json_choice (&element, "kind", hole_kinds)]);
      hole.x = read_mm (&element, "x_mm", -MAX_MM, MAX_MM);
      hole.y = read_mm (&element, "y_mm", -MAX_MM, MAX_MM);
      hole.diameter = read_mm (&element, "diameter_mm", 0.1, MAX_MM);
      for (guint k = 0; k < into->len; k++)
        if (g_str_equal (g_array_index (into, EfHole, k).id, hole.id))
          {
            g_autofree char *message = g_strdup_printf ("expected an id used once here, found \"%s\" again", hole.id);

            fail_at (&element, "id", EF_ERROR_INVALID, message);
          }
      g_array_append_val (into, hole);
    }
}

/* Which members a part of each kind may carry, besides those all have. */
static void
refuse_foreign_members (const EfJson *json,
                        EfPartKind kind)
{
  static const struct
  {
    const char *member;
    guint kinds; /* bits of EfPartKind */
  } table[] = {
    { "section", 1u << EF_PART_HOUSING | 1u << EF_PART_PLATE | 1u << EF_PART_COVER | 1u << EF_PART_GEAR },
    { "gear", 1u << EF_PART_GEAR | 1u << EF_PART_SHAFT },
    { "margin_mm", 1u << EF_PART_HOUSING | 1u << EF_PART_PLATE | 1u << EF_PART_COVER },
    { "front_z_mm", 1u << EF_PART_SHAFT },
    { "pocket_opens", 1u << EF_PART_HOUSING },
    { "holes", 1u << EF_PART_HOUSING | 1u << EF_PART_PLATE | 1u << EF_PART_COVER },
    { "bores", 1u << EF_PART_HOUSING | 1u << EF_PART_PLATE | 1u << EF_PART_COVER | 1u << EF_PART_GEAR },
    { "journals", 1u << EF_PART_SHAFT },
    { "keyways", 1u << EF_PART_SHAFT | 1u << EF_PART_GEAR },
    { "pin_holes", 1u << EF_PART_SHAFT },
    { "lappable", 1u << EF_PART_HOUSING | 1u << EF_PART_PLATE | 1u << EF_PART_COVER | 1u << EF_PART_GEAR },
    { "lap_stock_um", 1u << EF_PART_HOUSING | 1u << EF_PART_PLATE | 1u << EF_PART_COVER | 1u << EF_PART_GEAR },
    { "lap_reserve_um", 1u << EF_PART_HOUSING | 1u << EF_PART_PLATE | 1u << EF_PART_COVER | 1u << EF_PART_GEAR },
    { "floor_lappable", 1u << EF_PART_HOUSING },
    { "shoulder_play_um", 1u << EF_PART_SHAFT },
    { "bushable", 1u << EF_PART_HOUSING | 1u << EF_PART_PLATE | 1u << EF_PART_COVER },
    { "check", 1u << EF_PART_PICKUP | 1u << EF_PART_PIN | 1u << EF_PART_STUD },
  };

  for (guint i = 0; i < G_N_ELEMENTS (table); i++)
    if (ef_json_has (json, table[i].member) && (table[i].kinds & 1u << kind) == 0)
      {
        g_autofree char *message = g_strdup_printf ("expected no such member on a part of kind \"%s\"", kind_names[kind]);

        fail_at (json, table[i].member, EF_ERROR_INVALID, message);
      }
}

static void
read_plan_part (const EfJson *json,
                EfPart *part)
{
  part->section = ef_json_has (json, "section") ? read_id (json, "section") : NULL;
  part->margin = read_mm (json, "margin_mm", 0.5, MAX_MM);
  if (part->kind == EF_PART_HOUSING)
    part->opens = (EfOpens) (EF_OPENS_FRONT + ef_json_choice (json, "pocket_opens", opens_names));
  if (part->kind == EF_PART_HOUSING && part->section == NULL)
    fail_at (json, "section", EF_ERROR_INVALID, "expected the section that runs in this housing, found nothing");
  part->bushable = ef_json_boolean_or (json, "bushable", FALSE);
  read_holes (json, part->holes);
}

static void
read_lapping (const EfJson *json,
              EfPart *part)
{
  part->lappable = ef_json_boolean_or (json, "lappable", FALSE);
  part->lap_stock = ef_unit_to_si (EF_UNIT_UM, ef_json_number_or (json, "lap_stock_um", 0.0, 5000.0, 0.0));
  part->lap_reserve = ef_unit_to_si (EF_UNIT_UM, ef_json_number_or (json, "lap_reserve_um", 0.0, 5000.0, 0.0));
  part->floor_lappable = ef_json_boolean_or (json, "floor_lappable", FALSE);
  if (part->lappable && !(part->lap_stock > 0.0))
    fail_at (json, "lap_stock_um", EF_ERROR_RANGE, "expected the stock above 0 that may be lapped off, found none");
  if (!part->lappable && part->lap_stock > 0.0)
    fail_at (json, "lap_stock_um", EF_ERROR_INVALID, "expected no stock on a part that isn't lappable");
}

static EfPart *
read_part (const EfJson *json)
{
  static const char *const members[] = {
    "id", "kind", "name", "material", "section", "gear", "order", "thickness_mm", "margin_mm", "front_z_mm", "pocket_opens",
    "holes", "bores", "journals", "keyways", "pin_holes", "lappable", "lap_stock_um", "lap_reserve_um", "floor_lappable", "shoulder_play_um", "bushable",
    "check", NULL
  };
  EfPart *part = ef_part_new_empty ();

  ef_json_only (json, members);
  part->id = read_id (json, "id");
  part->kind = (EfPartKind) ef_json_choice (json, "kind", kind_names);
  refuse_foreign_members (json, part->kind);
  part->name = read_text (json, "name");
  part->material = g_strdup (materials[ef_json_choice (json, "material", materials)]);
  part->order = (int) ef_json_integer (json, "order", 0, 1000);
  part->thickness = read_mm (json, "thickness_mm", 0.1, MAX_MM);
  if (part->kind == EF_PART_GEAR || part->kind == EF_PART_SHAFT)
    part->gear = ef_json_choice (json, "gear", axis_names);
  if (part->kind == EF_PART_GEAR)
    part->section = read_id (json, "section");
  if (part->kind == EF_PART_SHAFT)
    part->z_front = read_mm (json, "front_z_mm", -MAX_MM, MAX_MM);
  if (part->kind <= EF_PART_COVER)
    read_plan_part (json, part);
  if (part->kind <= EF_PART_GEAR)
    read_lapping (json, part);
  part->shoulder_play = ef_unit_to_si (EF_UNIT_UM, ef_json_number_or (json, "shoulder_play_um", 0.0, 5000.0, 0.0));
  read_cylinders (json, "bores", CYLINDER_BORE, part->bores);
  read_cylinders (json, "journals", CYLINDER_JOURNAL, part->journals);
  read_cylinders (json, "keyways", CYLINDER_KEYWAY, part->keyways);
  read_cylinders (json, "pin_holes", CYLINDER_PIN_HOLE, part->pin_holes);
  if (part->kind >= EF_PART_PICKUP)
    part->check = read_text (json, "check");

  return part;
}

/* Limits, rated points, oil */

static void
read_limit (const EfJson *json,
            EfPumpSheet *sheet)
{
  static const char *const members[] = {
    "quantity", "target", "as_new_min_mm", "as_new_max_mm", "wear_min_mm", "wear_max_mm", "rework_max_mm", "source", NULL
  };
  EfLimit limit = { 0 };

  ef_json_only (json, members);
  limit.quantity = g_strdup (ef_limit_quantities[ef_json_choice (json, "quantity", ef_limit_quantities)]);
  limit.target = ef_json_has (json, "target") ? read_id (json, "target") : NULL;
  limit.as_new_min = read_mm_or_nan (json, "as_new_min_mm", 0.0, 20.0);
  limit.as_new_max = read_mm_or_nan (json, "as_new_max_mm", 0.0, 20.0);
  limit.wear_min = read_mm_or_nan (json, "wear_min_mm", 0.0, 20.0);
  limit.wear_max = read_mm_or_nan (json, "wear_max_mm", 0.0, 20.0);
  limit.rework_max = read_mm_or_nan (json, "rework_max_mm", 0.0, 20.0);
  limit.source = read_text (json, "source");
  g_array_append_val (sheet->limits, limit);
}

static void
read_rated (const EfJson *json,
            EfPumpSheet *sheet)
{
  static const char *const members[] = { "name", "speed_rpm", "pressure_bar", "temperature_c", "flow_l_min", NULL };
  EfRatedPoint rated = { 0 };
  double flow;

  ef_json_only (json, members);
  rated.name = read_text (json, "name");
  rated.speed = ef_json_number (json, "speed_rpm", 1.0, 30000.0) / 60.0;
  rated.pressure = ef_unit_to_si (EF_UNIT_BAR, ef_json_number (json, "pressure_bar", 0.0, 400.0));
  rated.temperature = ef_unit_to_si (EF_UNIT_CELSIUS, ef_json_number (json, "temperature_c", -40.0, 200.0));
  flow = ef_json_number_or (json, "flow_l_min", 0.0, 10000.0, NAN);
  rated.demand = isnan (flow) ? NAN : ef_unit_to_si (EF_UNIT_LPM, flow);
  if (ef_pump_sheet_rated (sheet, rated.name) != NULL)
    fail_at (json, "name", EF_ERROR_INVALID, "expected a name used once, found it again");
  g_array_append_val (sheet->rated, rated);
}

static void
read_oil (const EfJson *root,
          EfPumpSheet *sheet)
{
  static const char *const members[] = { "grade", "nu40_mm2_s", "nu100_mm2_s", "density15_kg_m3", NULL };
  g_auto (EfJson) oil = ef_json_object (root, "oil");

  ef_json_only (&oil, members);
  sheet->oil = read_text (&oil, "grade");
  sheet->nu40 = ef_json_number (&oil, "nu40_mm2_s", 2.0, 5000.0) * 1e-6;
  sheet->nu100 = ef_json_number (&oil, "nu100_mm2_s", 2.0, 500.0) * 1e-6;
  sheet->density15 = ef_json_number (&oil, "density15_kg_m3", 600.0, 1500.0);
  if (!(sheet->nu100 < sheet->nu40))
    fail_at (&oil, "nu100_mm2_s", EF_ERROR_RANGE, "expected less than nu40_mm2_s: oil thins as it warms");
}

/* The whole */

typedef void (*ReadElement) (const EfJson *element, EfPumpSheet *sheet);

static void
read_each (const EfJson *root,
           const char *member,
           guint least,
           guint most,
           ReadElement read,
           EfPumpSheet *sheet)
{
  g_auto (EfJson) array = ef_json_array (root, member, least, most);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) element = ef_json_element (&array, i);

      read (&element, sheet);
    }
}

static void
add_section (const EfJson *element,
             EfPumpSheet *sheet)
{
  EfSection *section = ef_section_new_empty ();

  read_section (element, section);
  if (ef_pump_sheet_section (sheet, section->id) != NULL)
    fail_at (element, "id", EF_ERROR_INVALID, "expected an id used once, found it again on another section");
  g_ptr_array_add (sheet->sections, section);
}

static void
add_part (const EfJson *element,
          EfPumpSheet *sheet)
{
  EfPart *part = read_part (element);

  if (ef_pump_sheet_part (sheet, part->id) != NULL)
    fail_at (element, "id", EF_ERROR_INVALID, "expected an id used once, found it again on another part");
  if (ef_pump_sheet_section (sheet, part->id) != NULL)
    fail_at (element, "id", EF_ERROR_INVALID, "expected an id used once, found it again on a section");
  g_ptr_array_add (sheet->parts, part);
}

/* A text, or a text with the hazard that it speaks of. */
static void
add_caution (const EfJson *element,
             EfPumpSheet *sheet)
{
  static const char *const members[] = { "hazard", "text", NULL };
  g_autofree char *hazard = NULL;

  if (element->node == NULL || !JSON_NODE_HOLDS_OBJECT (element->node))
    {
      g_ptr_array_add (sheet->cautions, ef_json_value_string (element));
      g_ptr_array_add (sheet->hazards, NULL);
      return;
    }
  ef_json_only (element, members);
  hazard = ef_json_string (element, "hazard");
  if (hazard != NULL && !g_strv_contains (ef_hazards, hazard))
    {
      g_autofree char *known = g_strjoinv (", ", (GStrv) ef_hazards);
      g_autofree char *message = g_strdup_printf ("expected one of %s, found \"%s\"", known, hazard);

      fail_at (element, "hazard", EF_ERROR_INVALID, message);
    }
  g_ptr_array_add (sheet->cautions, ef_json_string (element, "text"));
  g_ptr_array_add (sheet->hazards, g_steal_pointer (&hazard));
}

/* No more than what every rule needs; the rest is known where rules are applied. */
static void
read_rules (const EfJson *root,
            EfPumpSheet *sheet)
{
  g_auto (EfJson) list = ef_json_optional (root, "rules");
  g_autoptr (GHashTable) seen = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (JsonObject) object = json_object_new ();
  g_autoptr (JsonNode) whole = json_node_init_object (json_node_alloc (), object);
  g_autoptr (GError) error = NULL;

  if (list.node == NULL)
    return;
  ef_json_clear (&list);
  list = ef_json_array (root, "rules", 0, MAX_RULES);
  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) rule = ef_json_element (&list, i);
      g_autofree char *source = read_text (&rule, "source");
      char *id = read_id (&rule, "id");

      if (id != NULL && !g_hash_table_add (seen, id))
        fail_at (&rule, "id", EF_ERROR_INVALID, "expected an id used once, found it again on another rule");
    }
  if (ef_json_length (&list) == 0)
    return;
  json_object_set_member (object, "rules", json_node_copy (list.node));
  sheet->rules = ef_json_canonical (whole, &error);
  if (sheet->rules == NULL)
    ef_json_fail (&list, EF_ERROR_RANGE, "expected numbers that can be written exactly, found %s", error->message);
}

static void
read_sheet (const EfJson *root,
            EfPumpSheet *sheet)
{
  static const char *const members[] = {
    "format", "version", "id", "model", "name", "notes", "mounting", "pickup", "cautions", "oil", "relief_bar",
    "rated_points", "sections", "parts", "limits", "rules", NULL
  };
  static const char *const formats[] = { FORMAT, NULL };
  double relief;

  ef_json_choice (root, "format", formats);
  if (ef_json_integer (root, "version", 1, G_MAXINT64) > VERSION)
    fail_at (root, "version", EF_ERROR_NEWER_FORMAT, "expected version 1, found a newer one: this sheet needs a newer program");
  ef_json_only (root, members);
  sheet->id = read_id (root, "id");
  sheet->model = read_text (root, "model");
  sheet->name = read_text (root, "name");
  sheet->notes = ef_json_string_or (root, "notes", NULL);
  sheet->mounting = ef_json_string_or (root, "mounting", NULL);
  sheet->pickup = ef_json_string_or (root, "pickup", NULL);
  read_each (root, "cautions", 0, MAX_CAUTIONS, add_caution, sheet);
  read_oil (root, sheet);
  relief = ef_json_number_or (root, "relief_bar", 0.1, 400.0, NAN);
  sheet->relief = isnan (relief) ? NAN : ef_unit_to_si (EF_UNIT_BAR, relief);
  read_each (root, "rated_points", 1, MAX_RATED, read_rated, sheet);
  read_each (root, "sections", 1, MAX_SECTIONS, add_section, sheet);
  read_each (root, "parts", 1, MAX_PARTS, add_part, sheet);
  read_each (root, "limits", 0, MAX_LIMITS, read_limit, sheet);
  read_rules (root, sheet);
}

static EfPumpSheet *
sheet_from_context (EfJsonContext *context,
                    const char *file,
                    GError **error)
{
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_new_empty (file);
  g_auto (EfJson) root = ef_json_root (context);

  read_sheet (&root, sheet);
  if (!ef_json_finish (context, error))
    return NULL;
  if (!ef_pump_sheet_check (sheet, &root, error))
    return NULL;

  return g_steal_pointer (&sheet);
}

EfPumpSheet *
ef_pump_sheet_parse (const char *json,
                     const char *file,
                     GError **error)
{
  g_autoptr (EfJsonContext) context = NULL;
  EfPumpSheet *sheet;

  if (file == NULL)
    file = "pump sheet";
  if (json == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a pump sheet, found nothing", file);
      return NULL;
    }
  context = ef_json_parse (json, -1, file, error);
  if (context == NULL)
    return NULL;
  sheet = sheet_from_context (context, file, error);
  if (sheet != NULL)
    sheet->json = g_strdup (json);

  return sheet;
}

/* The whole file, or a little more than the JSON reader takes, so that it refuses by size. */
static GByteArray *
read_bytes (const char *path,
            const char *name,
            GError **error)
{
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  guint8 buffer[16384];
  FILE *stream = g_fopen (path, "rbe");
  gsize got;
  int failure = errno;

  if (stream != NULL)
    {
      while (bytes->len <= MAX_BYTES && (got = fread (buffer, 1, sizeof buffer, stream)) > 0)
        g_byte_array_append (bytes, buffer, (guint) got);
      failure = ferror (stream) ? errno : 0;
      fclose (stream);
      if (failure == 0)
        return g_steal_pointer (&bytes);
    }
  g_set_error (error, EF_ERROR, failure == ENOENT ? EF_ERROR_NOT_FOUND : EF_ERROR_IO, "%s: %s", name, g_strerror (failure));

  return NULL;
}

EfPumpSheet *
ef_pump_sheet_load (const char *path,
                    GError **error)
{
  g_autofree char *name = NULL;
  g_autoptr (GByteArray) bytes = NULL;
  g_autoptr (EfJsonContext) context = NULL;
  EfPumpSheet *sheet;

  g_return_val_if_fail (path != NULL, NULL);
  name = g_filename_display_name (path);
  bytes = read_bytes (path, name, error);
  if (bytes == NULL)
    return NULL;
  context = ef_json_parse ((const char *) bytes->data, (gssize) bytes->len, name, error);
  if (context == NULL)
    return NULL;
  sheet = sheet_from_context (context, name, error);
  if (sheet != NULL)
    sheet->json = g_strndup ((const char *) bytes->data, bytes->len);

  return sheet;
}
