/* Unrolled faces: pocket walls, bores and holes, journals, keyways, pin holes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-chart-private.h"
#include "ef-pump-sheet-private.h"

#include <math.h>
#include <string.h>

static const EfSection *
section_or_first (const EfFaceChart *chart)
{
  return chart->section != NULL ? chart->section : g_ptr_array_index (chart->sheet->sections, 0);
}

/* The chart of a rectangle with its edge lines. */
static void
take_rectangle (EfFaceChart *chart,
                double u0,
                double u1,
                double length)
{
  ef_chart_take_solid (chart, ef_chart_region (ef_chart_rectangle (u0, 0.0, u1, length)));
  ef_chart_snap_line (chart, "edge", u0, 0.0, u1, 0.0);
  ef_chart_snap_line (chart, "far edge", u0, length, u1, length);
}

/* Lines along the axis every 15 degrees within the chart. */
static void
snap_angles (EfFaceChart *chart,
             double radius,
             double length)
{
  for (int degrees = -180; degrees <= 180; degrees += 15)
    {
      double u = radius * degrees * G_PI / 180.0;
      g_autofree char *name = g_strdup_printf ("%d°", degrees);

      if (u >= chart->u0 - 1e-9 && u <= chart->u1 + 1e-9)
        ef_chart_snap_line (chart, name, u, 0.0, u, length);
    }
}

/* u = R psi: the polar angle of the front view falls or rises with it. */
static void
map_by_psi (EfFaceChart *chart,
            int axis)
{
  const EfSection *section = section_or_first (chart);
  int sign = ef_section_delivery_sign (section);

  chart->gear = axis;
  chart->map.axis_x = ef_section_axis_x (section, axis);
  chart->map.angle0 = axis == 0 ? G_PI : 0.0;
  chart->map.angle_sign = axis == 0 ? -sign : sign;
}

/* Whole cylinders */

static void
take_cylinder (EfFaceChart *chart,
               double radius,
               double length,
               const char *name)
{
  double half = G_PI * radius;

  chart->map.form = EF_FORM_CYLINDER;
  chart->cylinder_radius = radius;
  chart->wraps = TRUE;
  take_rectangle (chart, -half, half, length);
  ef_chart_add_line (chart, EF_LINE_EDGE, name, TRUE, ef_chart_rectangle (-half, 0.0, half, length));
  snap_angles (chart, radius, length);
}

/* Degrees where they help to find one's way, near the far edge. */
static void
label_angle (EfFaceChart *chart,
             double radius,
             double length,
             int degrees)
{
  g_autofree char *text = g_strdup_printf ("%s%d°", degrees < 0 ? "−" : "", ABS (degrees));

  ef_chart_add_label (chart, "angle", radius * degrees * G_PI / 180.0, 0.9 * length, text);
}

/* Walls */

static void
build_wall (EfFaceChart *chart,
            const EfPart *part)
{
  const EfSection *section = chart->section;
  int axis = g_str_equal (chart->face, "wall-drive") ? 0 : 1;
  double r = section->pocket_radius[axis];
  double half = r * ef_pocket_wall_half_angle (section->pair.in.centre_distance, section->pocket_radius, axis);
  double suction = -r * section->suction_angle;
  double delivery = r * section->delivery_angle;
  double depth = section->pocket_depth;

  chart->map.form = EF_FORM_CYLINDER;
  chart->map.outward = -1;
  chart->map.z_sign = part->opens == EF_OPENS_REAR ? 1 : -1;
  chart->map.z0 = part->opens == EF_OPENS_REAR ? section->z_front - depth : section->z_front;
  chart->cylinder_radius = r;
  map_by_psi (chart, axis);
  take_rectangle (chart, -half, half, depth);
  ef_chart_add_line (chart, EF_LINE_EDGE, "pocket wall", TRUE, ef_chart_rectangle (-half, 0.0, half, depth));
  ef_chart_add_segment (chart, EF_LINE_PORT, "suction edge", suction, 0.0, suction, depth);
  ef_chart_add_segment (chart, EF_LINE_PORT, "delivery edge", delivery, 0.0, delivery, depth);
  ef_chart_add_band (chart, "sealed arc", ef_chart_region (ef_chart_rectangle (suction, 0.0, delivery, depth)));
  ef_chart_add_label (chart, "suction", (suction - half) / 2.0, depth / 2.0, "suction");
  ef_chart_add_label (chart, "delivery", (delivery + half) / 2.0, depth / 2.0, "delivery");
  label_angle (chart, r, depth, 0);
  ef_chart_snap_line (chart, "suction edge", suction, 0.0, suction, depth);
  ef_chart_snap_line (chart, "delivery edge", delivery, 0.0, delivery, depth);
  snap_angles (chart, r, depth);
}

/* Bores and journals */

static void
label_bore_sides (EfFaceChart *chart,
                  double radius,
                  double length)
{
  double quarter = radius * G_PI / 2.0;

  ef_chart_add_label (chart, "suction", -quarter, length / 2.0, "suction");
  ef_chart_add_label (chart, "delivery", quarter, length / 2.0, "delivery");
  label_angle (chart, radius, length, 0);
}

static void
build_bore (EfFaceChart *chart,
            const EfPart *part,
            const EfCylinder *bore)
{
  chart->map.outward = -1;
  map_by_psi (chart, bore->axis);
  ef_part_bore_place (chart->sheet, part, bore, &chart->map.z0, &chart->map.z_sign);
  take_cylinder (chart, bore->diameter / 2.0, bore->length, "shaft bore");
  label_bore_sides (chart, bore->diameter / 2.0, bore->length);
}

/* Parts that turn: angle 0 is at tooth 1 or the keyway. */
static void
map_turning (EfFaceChart *chart,
             const EfPart *part,
             double z)
{
  const EfSection *section = section_or_first (chart);

  chart->gear = part->gear;
  chart->map.axis_x = ef_section_axis_x (section, part->gear);
  chart->map.turn = ef_chart_turn (chart->sheet, chart->section, part->gear);
  chart->map.angle0 = chart->map.turn;
  chart->map.angle_sign = 1;
  chart->map.z0 = part->z_front - z;
  chart->map.z_sign = -1;
}

static gboolean
build_gear_bore (EfFaceChart *chart,
                 const EfPart *part,
                 GError **error)
{
  const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, 0);
  double r = bore->diameter / 2.0;

  chart->map.outward = -1;
  map_turning (chart, part, 0.0);
  take_cylinder (chart, r, bore->length, "bore");
  for (int degrees = -90; degrees <= 90; degrees += 180)
    label_angle (chart, r, bore->length, degrees);
  if (part->keyways->len > 0)
    {
      const EfCylinder *keyway = &g_array_index (part->keyways, EfCylinder, 0);
      double half = r * asin (keyway->diameter / 2.0 / r);
      EfRing slot = ef_chart_rectangle (-half, keyway->z, half, MIN (keyway->z + keyway->length, bore->length));
      EfRegion *solid = ef_chart_cut (g_steal_pointer (&chart->solid), &slot, error);

      ef_chart_add_line (chart, EF_LINE_HOLE, "keyway", TRUE, slot);
      if (solid == NULL)
        return FALSE;
      ef_chart_take_solid (chart, solid);
    }

  return TRUE;
}

static void
build_journal (EfFaceChart *chart,
               const EfPart *part,
               const EfCylinder *journal)
{
  chart->map.outward = 1;
  map_turning (chart, part, journal->z);
  take_cylinder (chart, journal->diameter / 2.0, journal->length, "journal");
  for (int degrees = -90; degrees <= 90; degrees += 90)
    label_angle (chart, journal->diameter / 2.0, journal->length, degrees);
}

/* Keyways and pin holes */

static double
shaft_radius (const EfPart *shaft)
{
  double d = 0.0;

  for (guint i = 0; i < shaft->journals->len; i++)
    d = MAX (d, g_array_index (shaft->journals, EfCylinder, i).diameter);

  return d / 2.0;
}

static void
build_keyway (EfFaceChart *chart,
              const EfPart *part,
              const EfCylinder *keyway)
{
  double half = keyway->diameter / 2.0;
  double reach = half + keyway->depth;

  map_turning (chart, part, keyway->z);
  chart->map.form = EF_FORM_KEYWAY;
  chart->map.outward = part->kind == EF_PART_SHAFT ? 1 : -1;
  chart->map.radius = part->kind == EF_PART_SHAFT ? shaft_radius (part) : g_array_index (part->bores, EfCylinder, 0).diameter / 2.0;
  chart->map.width = keyway->diameter;
  chart->map.depth = keyway->depth;
  take_rectangle (chart, -reach, reach, keyway->length);
  ef_chart_add_line (chart, EF_LINE_EDGE, "keyway", TRUE, ef_chart_rectangle (-reach, 0.0, reach, keyway->length));
  ef_chart_add_segment (chart, EF_LINE_STRIP, "corner", -half, 0.0, -half, keyway->length);
  ef_chart_add_segment (chart, EF_LINE_STRIP, "corner", half, 0.0, half, keyway->length);
  ef_chart_snap_line (chart, "corner", -half, 0.0, -half, keyway->length);
  ef_chart_snap_line (chart, "corner", half, 0.0, half, keyway->length);
  ef_chart_snap_line (chart, "middle", 0.0, 0.0, 0.0, keyway->length);
}

static void
build_pin_hole (EfFaceChart *chart,
                const EfPart *part,
                const EfCylinder *hole)
{
  map_turning (chart, part, hole->z);
  take_cylinder (chart, hole->diameter / 2.0, hole->length, "pin hole");
  chart->map.form = EF_FORM_PIN_HOLE;
  chart->map.outward = -1;
  chart->map.radius = shaft_radius (part);
}

static const EfCylinder *
named_cylinder (const GArray *cylinders,
                const char *face,
                const char *prefix)
{
  return g_str_has_prefix (face, prefix) ? ef_part_cylinder (cylinders, face + strlen (prefix)) : NULL;
}

gboolean
ef_chart_build_unrolled (EfFaceChart *chart,
                         const EfPart *part,
                         GError **error)
{
  const EfCylinder *cylinder;

  if (chart->kind == EF_FACE_WALL)
    build_wall (chart, part);
  else if (part->kind == EF_PART_GEAR && chart->kind == EF_FACE_BORE)
    return build_gear_bore (chart, part, error);
  else if (part->kind == EF_PART_GEAR)
    build_keyway (chart, part, &g_array_index (part->keyways, EfCylinder, 0));
  else if ((cylinder = named_cylinder (part->bores, chart->face, part->kind == EF_PART_HOUSING ? "bore-" : "hole-")) != NULL)
    build_bore (chart, part, cylinder);
  else if ((cylinder = named_cylinder (part->journals, chart->face, "journal-")) != NULL)
    build_journal (chart, part, cylinder);
  else if ((cylinder = named_cylinder (part->keyways, chart->face, "keyway-")) != NULL)
    build_keyway (chart, part, cylinder);
  else if ((cylinder = named_cylinder (part->pin_holes, chart->face, "pin-hole-")) != NULL)
    build_pin_hole (chart, part, cylinder);
  else
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a face of this pump, found \"%s\"", chart->sheet->file, chart->id);
      return FALSE;
    }

  return TRUE;
}
