/* A gear's own faces: ends, flanks, tips.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-chart-private.h"

#include <math.h>

#define TIP_GAP 0.25   /* of a strip's width, between two tips */
#define FLANK_GAP 0.15 /* and between two flanks */

static void
map_gear (EfFaceChart *chart,
          const EfPart *part)
{
  const EfSection *section = chart->section;

  chart->map.axis_x = ef_section_axis_x (section, part->gear);
  chart->map.turn = ef_chart_turn (chart->sheet, section, part->gear);
  chart->map.teeth = section->pair.in.teeth[part->gear];
  chart->map.pair = section->pair;
  chart->map.z0 = part->z_front;
  chart->map.z_sign = -1;
}

/* Ends */

/* Bore and keyway in one outline, so that they make one hole. */
static EfRegion *
bore_region (const EfPart *part,
             GError **error)
{
  double r = g_array_index (part->bores, EfCylinder, 0).diameter / 2.0;
  g_autoptr (EfRegion) round = ef_chart_region (ef_ring_circle (0.0, 0.0, r, EF_CHART_CIRCLE_POINTS));
  g_autoptr (EfRegion) slot = NULL;
  const EfCylinder *keyway;

  if (part->keyways->len == 0)
    return g_steal_pointer (&round);
  keyway = &g_array_index (part->keyways, EfCylinder, 0);
  slot = ef_chart_region (ef_chart_rectangle (0.0, -keyway->diameter / 2.0, r + keyway->depth, keyway->diameter / 2.0));

  return ef_region_combine (round, slot, EF_REGION_UNION, error);
}

static void
add_circle (EfFaceChart *chart,
            const char *name,
            double radius)
{
  ef_chart_add_line (chart, EF_LINE_CIRCLE, name, TRUE, ef_ring_circle (0.0, 0.0, radius, EF_CHART_CIRCLE_POINTS));
  ef_chart_snap_circle (chart, name, 0.0, 0.0, radius);
}

static void
number_teeth (EfFaceChart *chart,
              double radius,
              double reach)
{
  int n = chart->map.teeth;

  for (int k = 0; k < n; k++)
    {
      double angle = 2.0 * G_PI * k / n;
      g_autofree char *number = g_strdup_printf ("%d", k + 1);
      g_autofree char *name = g_strdup_printf ("tooth %d", k + 1);

      ef_chart_add_label (chart, "tooth", radius * cos (angle), radius * sin (angle), number);
      ef_chart_snap_ray (chart, name, 0.0, 0.0, angle, reach);
    }
}

static gboolean
build_end (EfFaceChart *chart,
           const EfPart *part,
           GError **error)
{
  const EfGearPair *pair = &chart->section->pair;
  int gear = part->gear;
  double tip = pair->in.tip_radius[gear];
  double root = pair->in.root_radius[gear];
  g_autoptr (EfRegion) bore = bore_region (part, error);
  EfRegion *solid;
  EfRegion *hub;

  if (bore == NULL)
    return FALSE;
  chart->map.form = EF_FORM_PLANE;
  chart->map.looks = g_str_equal (chart->face, "end-a") ? 1 : -1;
  if (chart->map.looks < 0)
    chart->map.z0 = part->z_front - part->thickness;
  solid = ef_chart_region (ef_gear_outline (pair, gear, 24));
  hub = ef_chart_region (ef_ring_circle (0.0, 0.0, root, EF_CHART_CIRCLE_POINTS));
  ef_chart_add_line (chart, EF_LINE_EDGE, "tooth outline", TRUE, ef_ring_new (solid->rings[0].n, solid->rings[0].xy));
  for (guint i = 0; i < bore->n; i++)
    {
      ef_region_take (solid, ef_ring_new (bore->rings[i].n, bore->rings[i].xy));
      ef_region_take (hub, ef_ring_new (bore->rings[i].n, bore->rings[i].xy));
      ef_chart_add_line (chart, EF_LINE_HOLE, "bore", TRUE, ef_ring_new (bore->rings[i].n, bore->rings[i].xy));
    }
  ef_chart_take_solid (chart, solid);
  ef_chart_add_band (chart, "hub", hub);
  ef_chart_snap_point (chart, "axis", 0.0, 0.0);
  ef_chart_snap_circle (chart, "bore", 0.0, 0.0, g_array_index (part->bores, EfCylinder, 0).diameter / 2.0);
  add_circle (chart, "tip circle", tip);
  add_circle (chart, "pitch circle", pair->working_radius[gear]);
  add_circle (chart, "root circle", root);
  number_teeth (chart, (root + tip) / 2.0, tip);
  ef_chart_snap_rays (chart, 0.0, 0.0, tip);
  chart->rotation = gear == 0 ? chart->section->rotation : -chart->section->rotation;
  chart->rotation_radius = (root + g_array_index (part->bores, EfCylinder, 0).diameter / 2.0) / 2.0;
  if (chart->map.looks < 0)
    ef_chart_mirror (chart);

  return TRUE;
}

/* Strips */

static void
take_strips (EfFaceChart *chart,
             double width,
             double gap,
             double length,
             const char *band)
{
  EfRegion *solid = ef_region_new ();

  chart->n_strips = (guint) chart->map.teeth;
  chart->strip_width = width;
  chart->strip_pitch = width * (1.0 + gap);
  for (guint k = 0; k < chart->n_strips; k++)
    {
      double u = k * chart->strip_pitch;
      g_autofree char *name = g_strdup_printf ("tooth %u", k + 1);
      g_autofree char *number = g_strdup_printf ("%u", k + 1);

      ef_region_take (solid, ef_chart_rectangle (u, 0.0, u + width, length));
      ef_chart_add_line (chart, EF_LINE_EDGE, name, TRUE, ef_chart_rectangle (u, 0.0, u + width, length));
      if (k > 0)
        ef_chart_add_segment (chart, EF_LINE_STRIP, name, u - gap * width / 2.0, 0.0, u - gap * width / 2.0, length);
      ef_chart_add_label (chart, "tooth", u + width / 2.0, 0.93 * length, number);
      ef_chart_snap_line (chart, name, u + width / 2.0, 0.0, u + width / 2.0, length);
    }
  if (band != NULL)
    ef_chart_add_band (chart, band, ef_region_copy (solid));
  ef_chart_take_solid (chart, solid);
  ef_chart_snap_line (chart, "end A", chart->u0, 0.0, chart->u1, 0.0);
  ef_chart_snap_line (chart, "end B", chart->u0, length, chart->u1, length);
}

static void
build_flank (EfFaceChart *chart,
             const EfPart *part)
{
  const EfGearPair *pair = &chart->section->pair;
  gboolean drive = g_str_equal (chart->face, "flank-drive");
  double form = pair->form_radius[part->gear];
  double pitch = pair->working_radius[part->gear] - form;

  chart->map.form = EF_FORM_FLANK;
  chart->map.side = drive ? chart->section->rotation : -chart->section->rotation;
  chart->base_radius = pair->base_radius[part->gear];
  chart->strip_r0 = form;
  take_strips (chart, pair->in.tip_radius[part->gear] - form, FLANK_GAP, part->thickness, NULL);
  for (guint k = 0; k < chart->n_strips; k++)
    {
      double u = k * chart->strip_pitch;

      ef_chart_add_segment (chart, EF_LINE_CIRCLE, "pitch circle", u + pitch, 0.0, u + pitch, part->thickness);
      ef_chart_snap_line (chart, "pitch circle", u + pitch, 0.0, u + pitch, part->thickness);
      ef_chart_snap_line (chart, "tip", u + chart->strip_width, 0.0, u + chart->strip_width, part->thickness);
      ef_chart_snap_line (chart, "root end of the flank", u, 0.0, u, part->thickness);
    }
}

static void
build_tips (EfFaceChart *chart,
            const EfPart *part)
{
  const EfGearPair *pair = &chart->section->pair;

  chart->map.form = EF_FORM_TIPS;
  chart->map.outward = 1;
  chart->cylinder_radius = pair->in.tip_radius[part->gear];
  take_strips (chart, pair->tip_thickness[part->gear], TIP_GAP, part->thickness, "tips");
  for (guint k = 0; k < chart->n_strips; k++)
    {
      double u = k * chart->strip_pitch;

      ef_chart_snap_line (chart, "tip edge", u, 0.0, u, part->thickness);
      ef_chart_snap_line (chart, "tip edge", u + chart->strip_width, 0.0, u + chart->strip_width, part->thickness);
    }
}

gboolean
ef_chart_build_gear (EfFaceChart *chart,
                     const EfPart *part,
                     GError **error)
{
  map_gear (chart, part);
  if (chart->kind == EF_FACE_END)
    return build_end (chart, part, error);
  if (chart->kind == EF_FACE_FLANK)
    build_flank (chart, part);
  else
    build_tips (chart, part);

  return TRUE;
}
