/* Plan faces: pocket floor, mating face, sides of plates and covers.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All is built in the front view and turned over at the end where the face looks to the rear. */
#include "ef-chart-private.h"
#include "ef-pump-sheet-private.h"

#include <math.h>
#include <string.h>

void
ef_part_plane_place (const EfPart *part,
                     const EfSection *section,
                     const char *face,
                     double *z_out,
                     int *looks_out)
{
  gboolean rear = g_str_equal (face, "side-b") || g_str_equal (face, "mating-rear");

  if (g_str_equal (face, "mating"))
    rear = part->opens == EF_OPENS_REAR;
  *looks_out = rear ? -1 : 1;
  *z_out = rear ? part->z_front - part->thickness : part->z_front;
  if (g_str_equal (face, "floor") && section != NULL)
    {
      *looks_out = part->opens == EF_OPENS_FRONT ? 1 : -1;
      *z_out = *looks_out > 0 ? section->z_front - section->pocket_depth : section->z_front;
    }
}

/* Is the port cut into this face? */
static gboolean
port_shows (const EfFaceChart *chart,
            const EfPort *port)
{
  if (g_strcmp0 (chart->section->floor_face, chart->id) == 0)
    return port->in_floor;

  return g_strcmp0 (chart->section->facing_face, chart->id) == 0 && port->in_facing;
}

static void
move_ring (EfRing *ring,
           double x,
           double turn)
{
  double c = cos (turn);
  double s = sin (turn);

  for (guint i = 0; i < ring->n; i++)
    {
      double u = ring->xy[2 * i];
      double v = ring->xy[2 * i + 1];

      ring->xy[2 * i] = x + c * u - s * v;
      ring->xy[2 * i + 1] = s * u + c * v;
    }
}

/* Where the gears run: outlines, circles, labels, snaps, sense of rotation. */
static void
add_gears (EfFaceChart *chart)
{
  const EfSection *section = chart->section;
  static const char *const names[] = { "drive gear", "driven gear" };

  for (int k = 0; k < 2; k++)
    {
      double x = ef_section_axis_x (section, k);
      double turn = ef_chart_turn (chart->sheet, section, k);
      double step = 2.0 * G_PI / section->pair.in.teeth[k];
      EfRing gear = ef_gear_outline (&section->pair, k, 10);
      g_autofree char *tip = g_strdup_printf ("tip circle, %s", names[k]);
      g_autofree char *root = g_strdup_printf ("root circle, %s", names[k]);
      g_autofree char *axis = g_strdup_printf ("axis, %s", names[k]);

      move_ring (&gear, x, turn);
      ef_chart_add_line (chart, EF_LINE_GEAR, names[k], TRUE, gear);
      ef_chart_add_line (chart, EF_LINE_CIRCLE, root, TRUE, ef_ring_circle (x, 0.0, section->pair.in.root_radius[k], EF_CHART_CIRCLE_POINTS));
      ef_chart_add_label (chart, "gear", x, 0.0, names[k]);
      ef_chart_snap_point (chart, axis, x, 0.0);
      ef_chart_snap_circle (chart, tip, x, 0.0, section->pair.in.tip_radius[k]);
      ef_chart_snap_circle (chart, root, x, 0.0, section->pair.in.root_radius[k]);
      for (int tooth = 0; tooth < section->pair.in.teeth[k]; tooth++)
        {
          g_autofree char *name = g_strdup_printf ("tooth %d, %s", tooth + 1, names[k]);

          ef_chart_snap_ray (chart, name, x, 0.0, turn + tooth * step, section->pair.in.tip_radius[k]);
        }
      ef_chart_snap_rays (chart, x, 0.0, section->pocket_radius[k]);
    }
  chart->rotation = section->rotation;
  chart->rotation_u = ef_section_axis_x (section, 0);
  chart->rotation_v = 0.0;
  chart->rotation_radius = section->pair.working_radius[0];
}

static void
add_pocket (EfFaceChart *chart,
            const EfRegion *pocket,
            EfLineKind kind)
{
  static const char *const names[] = { "pocket wall, drive side", "pocket wall, driven side" };

  for (guint i = 0; i < pocket->n; i++)
    ef_chart_add_line (chart, kind, "pocket", TRUE, ef_ring_new (pocket->rings[i].n, pocket->rings[i].xy));
  for (int k = 0; k < 2; k++)
    ef_chart_snap_circle (chart, names[k], ef_section_axis_x (chart->section, k), 0.0, chart->section->pocket_radius[k]);
}

static EfRing
bore_ring (const EfSection *section,
           const EfCylinder *bore)
{
  return ef_ring_circle (ef_section_axis_x (section, bore->axis), 0.0, bore->diameter / 2.0, EF_CHART_CIRCLE_POINTS);
}

/* Takes bores and holes out of the solid, which encloses them; they don't touch each other (the loader sees to that). */
static void
cut_bores (EfFaceChart *chart,
           const EfPart *part,
           EfRegion *solid)
{
  const EfSection *any = chart->section != NULL ? chart->section : g_ptr_array_index (chart->sheet->sections, 0);

  for (guint i = 0; i < part->bores->len; i++)
    {
      const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, i);
      g_autofree char *name = g_strdup_printf ("shaft bore, %s", bore->axis == 0 ? "drive" : "driven");

      ef_region_take (solid, bore_ring (any, bore));
      ef_chart_add_line (chart, EF_LINE_HOLE, name, TRUE, bore_ring (any, bore));
      ef_chart_snap_circle (chart, name, ef_section_axis_x (any, bore->axis), 0.0, bore->diameter / 2.0);
    }
}

static void
cut_holes (EfFaceChart *chart,
           const EfPart *part,
           EfRegion *solid)
{
  for (guint i = 0; i < part->holes->len; i++)
    {
      const EfHole *hole = &g_array_index (part->holes, EfHole, i);

      ef_region_take (solid, ef_ring_circle (hole->x, hole->y, hole->diameter / 2.0, 72));
      ef_chart_add_line (chart, EF_LINE_HOLE, hole->id, TRUE, ef_ring_circle (hole->x, hole->y, hole->diameter / 2.0, 72));
      ef_chart_snap_point (chart, hole->id, hole->x, hole->y);
      ef_chart_snap_circle (chart, hole->id, hole->x, hole->y, hole->diameter / 2.0);
    }
}

static const char *
side_name (EfSide side)
{
  return side == EF_SIDE_SUCTION ? "suction" : "delivery";
}

static EfRegion *
cut_ports (EfFaceChart *chart,
           EfRegion *solid,
           GError **error)
{
  for (guint i = 0; i < chart->section->ports->len && solid != NULL; i++)
    {
      const EfPort *port = &g_array_index (chart->section->ports, EfPort, i);
      g_autofree char *name = g_strdup_printf ("%s port", side_name (port->side));

      if (!port_shows (chart, port))
        continue;
      solid = ef_chart_cut (solid, &port->outline, error);
      ef_chart_add_line (chart, EF_LINE_PORT, name, TRUE, ef_ring_new (port->outline.n, port->outline.xy));
    }

  return solid;
}

/* Says which side is which, also where no port is cut. */
static void
label_sides (EfFaceChart *chart)
{
  gboolean done[2] = { FALSE, FALSE };

  for (guint i = 0; i < chart->section->ports->len; i++)
    {
      const EfPort *port = &g_array_index (chart->section->ports, EfPort, i);
      double u;
      double v;

      if (done[port->side])
        continue;
      done[port->side] = TRUE;
      ef_chart_inner_point (&port->outline, &u, &v);
      ef_chart_add_label (chart, side_name (port->side), u, v, side_name (port->side));
    }
}

/* Sealing bands */

static gboolean
add_band_within (EfFaceChart *chart,
                 const char *name,
                 EfRegion *region,
                 const EfRegion *solid,
                 GError **error)
{
  g_autoptr (EfRegion) whole = region;
  EfRegion *band = ef_region_combine (whole, solid, EF_REGION_INTERSECTION, error);

  if (band == NULL)
    return FALSE;
  ef_chart_add_band (chart, name, band);

  return TRUE;
}

/* Half the width of the land between the ports, m. */
static double
port_gap (const EfSection *section)
{
  double gap = MIN (section->pocket_radius[0], section->pocket_radius[1]);

  for (guint i = 0; i < section->ports->len; i++)
    {
      const EfRing *ring = &g_array_index (section->ports, EfPort, i).outline;

      for (guint k = 0; k < ring->n; k++)
        gap = MIN (gap, fabs (ring->xy[2 * k + 1]));
    }

  return gap;
}

/* Round each shaft bore up to the roots, and between the two root circles from delivery to suction. */
static gboolean
add_end_bands (EfFaceChart *chart,
               const EfRegion *solid,
               GError **error)
{
  static const char *const names[] = { "hub, drive gear", "hub, driven gear" };
  const EfSection *section = chart->section;
  double gap = port_gap (section);
  double x[2] = { ef_section_axis_x (section, 0), ef_section_axis_x (section, 1) };
  EfRegion *land = ef_chart_region (ef_chart_rectangle (x[0], -gap, x[1], gap));

  for (int k = 0; k < 2; k++)
    {
      EfRing root = ef_ring_circle (x[k], 0.0, section->pair.in.root_radius[k], EF_CHART_CIRCLE_POINTS);

      if (land != NULL)
        land = ef_chart_cut (land, &root, error);
      if (land == NULL)
        {
          ef_ring_clear (&root);
          return FALSE;
        }
      if (!add_band_within (chart, names[k], ef_chart_region (root), solid, error))
        {
          ef_region_free (land);
          return FALSE;
        }
    }

  return add_band_within (chart, "between delivery and suction", land, solid, error);
}

static gboolean
add_round_band (EfFaceChart *chart,
                const EfRegion *solid,
                const EfRegion *pocket,
                GError **error)
{
  EfRegion *round = ef_region_combine (solid, pocket, EF_REGION_DIFFERENCE, error);

  if (round == NULL)
    return FALSE;
  ef_chart_add_band (chart, "round the pocket", round);

  return TRUE;
}

/* The three kinds of plan face */

static gboolean
build_floor (EfFaceChart *chart,
             const EfPart *part,
             const EfRegion *pocket,
             GError **error)
{
  EfRegion *solid = ef_region_copy (pocket);

  add_pocket (chart, pocket, EF_LINE_EDGE);
  cut_bores (chart, part, solid);
  solid = cut_ports (chart, solid, error);
  if (solid == NULL)
    return FALSE;
  ef_chart_take_solid (chart, solid);

  return add_end_bands (chart, chart->solid, error);
}

static gboolean
build_mating (EfFaceChart *chart,
              const EfPart *part,
              const EfRegion *pocket,
              EfRegion *solid)
{
  for (guint i = 0; i < pocket->n; i++)
    ef_region_take (solid, ef_ring_new (pocket->rings[i].n, pocket->rings[i].xy));
  add_pocket (chart, pocket, EF_LINE_EDGE);
  cut_holes (chart, part, solid);
  ef_chart_take_solid (chart, solid);
  ef_chart_add_band (chart, "round the pocket", ef_region_copy (solid));

  return TRUE;
}

static gboolean
build_side (EfFaceChart *chart,
            const EfPart *part,
            const EfRegion *pocket,
            EfRegion *solid,
            GError **error)
{
  cut_bores (chart, part, solid);
  cut_holes (chart, part, solid);
  if (pocket != NULL)
    {
      add_pocket (chart, pocket, EF_LINE_POCKET);
      solid = cut_ports (chart, solid, error);
      if (solid == NULL)
        return FALSE;
    }
  ef_chart_take_solid (chart, solid);
  if (pocket == NULL)
    return TRUE;

  return add_end_bands (chart, chart->solid, error) && add_round_band (chart, chart->solid, pocket, error);
}

static gboolean
build_front_view (EfFaceChart *chart,
                  const EfPart *part,
                  GError **error)
{
  g_autoptr (EfRegion) pocket = NULL;
  EfRegion *outline;

  if (chart->section != NULL)
    {
      pocket = ef_pocket_region (chart->section->pair.in.centre_distance, chart->section->pocket_radius, 2 * EF_CHART_CIRCLE_POINTS, error);
      if (pocket == NULL)
        return FALSE;
    }
  if (chart->kind == EF_FACE_FLOOR)
    return build_floor (chart, part, pocket, error);
  outline = ef_part_footprint (chart->sheet, part, error);
  if (outline == NULL)
    return FALSE;
  ef_chart_add_line (chart, EF_LINE_EDGE, "outline", TRUE, ef_ring_new (outline->rings[0].n, outline->rings[0].xy));
  if (chart->kind == EF_FACE_MATING)
    return build_mating (chart, part, pocket, outline);

  return build_side (chart, part, pocket, outline, error);
}

gboolean
ef_chart_build_plan (EfFaceChart *chart,
                     const EfPart *part,
                     GError **error)
{
  chart->map.form = EF_FORM_PLANE;
  ef_part_plane_place (part, chart->section, chart->face, &chart->map.z0, &chart->map.looks);
  if (!build_front_view (chart, part, error))
    return FALSE;
  if (chart->section != NULL)
    {
      add_gears (chart);
      label_sides (chart);
    }
  if (chart->map.looks < 0)
    ef_chart_mirror (chart);

  return TRUE;
}
