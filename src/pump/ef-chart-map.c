/* What is asked of a chart: where a place lies in the pump, what to read out there, the same place on another tooth or on the mate.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-chart-private.h"

#include <math.h>
#include <string.h>

int
ef_chart_strip (const EfFaceChart *chart,
                double u)
{
  double gap = chart->strip_pitch - chart->strip_width;
  double k;

  if (chart->n_strips == 0 || !(chart->strip_pitch > 0.0))
    return 0;
  k = floor ((u - chart->u0 + gap / 2.0) / chart->strip_pitch);

  return (int) CLAMP (k, 0.0, chart->n_strips - 1.0);
}

static double
strip_local (const EfFaceChart *chart,
             double u)
{
  return u - chart->u0 - ef_chart_strip (chart, u) * chart->strip_pitch;
}

/* Chart to pump */

static void
set (double out[3],
     double x,
     double y,
     double z)
{
  if (out == NULL)
    return;
  out[0] = x;
  out[1] = y;
  out[2] = z;
}

/* Gear ends are turned with their gear; all other planes lie in the plan. */
static void
plane_to_pump (const EfFaceChart *chart,
               double u,
               double v,
               double position[3],
               double normal[3])
{
  const EfChartMap *map = &chart->map;
  double x = map->looks * u;
  double c = cos (map->turn);
  double s = sin (map->turn);

  set (position, map->axis_x + c * x - s * v, s * x + c * v, map->z0);
  set (normal, 0.0, 0.0, map->looks);
}

static void
polar_to_pump (const EfFaceChart *chart,
               double radius,
               double angle,
               double v,
               double position[3],
               double normal[3])
{
  const EfChartMap *map = &chart->map;

  set (position, map->axis_x + radius * cos (angle), radius * sin (angle), map->z0 + map->z_sign * v);
  set (normal, map->outward * cos (angle), map->outward * sin (angle), 0.0);
}

static double
tooth_angle (const EfFaceChart *chart,
             double u)
{
  return 2.0 * G_PI * ef_chart_strip (chart, u) / chart->map.teeth;
}

static double
flank_radius (const EfFaceChart *chart,
              double u)
{
  return MAX (chart->strip_r0 + strip_local (chart, u), chart->base_radius);
}

/* Angle in the gear's own frame. The involute's normal is tangent to the base circle: it leans from the tangential
 * direction by the pressure angle there, acos (rb / r), outwards. */
static double
flank_angle (const EfFaceChart *chart,
             double u)
{
  double r = flank_radius (chart, u);

  return tooth_angle (chart, u) + chart->map.side * ef_gear_thickness (&chart->map.pair, chart->gear, r) / (2.0 * r);
}

static void
flank_to_pump (const EfFaceChart *chart,
               double u,
               double v,
               double position[3],
               double normal[3])
{
  double r = flank_radius (chart, u);
  double angle = chart->map.turn + flank_angle (chart, u);
  double pressure = acos (CLAMP (chart->base_radius / r, -1.0, 1.0));
  double tangential = chart->map.side * cos (pressure);
  double radial = sin (pressure);

  polar_to_pump (chart, r, angle, v, position, NULL);
  set (normal, radial * cos (angle) - tangential * sin (angle), radial * sin (angle) + tangential * cos (angle), 0.0);
}

static double
tip_angle (const EfFaceChart *chart,
           double u)
{
  return tooth_angle (chart, u) + (strip_local (chart, u) - chart->strip_width / 2.0) / chart->cylinder_radius;
}

/* The slot's floor is square to the radius at angle 0, its walls parallel to it. */
static void
keyway_to_pump (const EfFaceChart *chart,
                double u,
                double v,
                double position[3],
                double normal[3])
{
  const EfChartMap *map = &chart->map;
  double half = map->width / 2.0;
  double up = MAX (fabs (u) - half, 0.0);
  double radial = map->radius - map->outward * (map->depth - up);
  double across = CLAMP (u, -half, half);
  double c = cos (map->turn);
  double s = sin (map->turn);
  double n_radial = up > 0.0 ? 0.0 : map->outward;
  double n_across = up > 0.0 ? (u > 0.0 ? -1.0 : 1.0) : 0.0;

  set (position, map->axis_x + c * radial - s * across, s * radial + c * across, map->z0 + map->z_sign * v);
  set (normal, c * n_radial - s * n_across, s * n_radial + c * n_across, 0.0);
}

/* Bored square to the shaft, 90 degrees on from the keyway; angle 0 round its axis looks to the front. */
static void
pin_hole_to_pump (const EfFaceChart *chart,
                  double u,
                  double v,
                  double position[3],
                  double normal[3])
{
  const EfChartMap *map = &chart->map;
  double r = chart->cylinder_radius;
  double angle = u / r;
  double along[2] = { cos (map->turn + G_PI / 2.0), sin (map->turn + G_PI / 2.0) };
  double across[2] = { -along[1], along[0] };
  double depth = map->radius - v;
  double side = r * sin (angle);

  set (position, map->axis_x + depth * along[0] + side * across[0], depth * along[1] + side * across[1], map->z0 + r * cos (angle));
  set (normal, -sin (angle) * across[0], -sin (angle) * across[1], -cos (angle));
}

void
ef_face_chart_to_pump (const EfFaceChart *chart,
                       double u,
                       double v,
                       double position[3],
                       double normal[3])
{
  switch (chart->map.form)
    {
    case EF_FORM_CYLINDER:
      polar_to_pump (chart, chart->cylinder_radius, chart->map.angle0 + chart->map.angle_sign * u / chart->cylinder_radius, v, position, normal);
      break;
    case EF_FORM_TIPS:
      polar_to_pump (chart, chart->cylinder_radius, chart->map.turn + tip_angle (chart, u), v, position, normal);
      break;
    case EF_FORM_FLANK:
      flank_to_pump (chart, u, v, position, normal);
      break;
    case EF_FORM_KEYWAY:
      keyway_to_pump (chart, u, v, position, normal);
      break;
    case EF_FORM_PIN_HOLE:
      pin_hole_to_pump (chart, u, v, position, normal);
      break;
    case EF_FORM_PLANE:
    default:
      plane_to_pump (chart, u, v, position, normal);
      break;
    }
}

/* Read-out */

static double
wrapped (double angle)
{
  return remainder (angle, 2.0 * G_PI);
}

static void
end_place (const EfFaceChart *chart,
           double u,
           double v,
           EfChartPlace *place)
{
  double x = chart->map.looks * u;
  int n = chart->map.teeth;
  double root = chart->map.pair.in.root_radius[chart->gear];

  place->radius = hypot (x, v);
  place->angle = atan2 (v, x);
  if (place->radius > root && n > 0)
    place->tooth = 1 + ((int) lround (place->angle * n / (2.0 * G_PI)) % n + n) % n;
}

static void
plan_place (const EfFaceChart *chart,
            double u,
            double v,
            EfChartPlace *place)
{
  const EfSection *section = chart->section != NULL ? chart->section : g_ptr_array_index (chart->sheet->sections, 0);
  double x = chart->map.looks * u;
  double d[2] = { hypot (x - ef_section_axis_x (section, 0), v), hypot (x - ef_section_axis_x (section, 1), v) };

  /* Nearest in shares of the pocket radius, so that gears of unequal size part at their mesh. */
  place->gear = d[0] / section->pocket_radius[0] <= d[1] / section->pocket_radius[1] ? 0 : 1;
  place->radius = d[place->gear];
  place->angle = ef_section_psi (section, place->gear, x, v);
}

void
ef_face_chart_place (const EfFaceChart *chart,
                     double u,
                     double v,
                     EfChartPlace *place_out)
{
  place_out->angle = NAN;
  place_out->radius = NAN;
  place_out->tooth = 0;
  place_out->gear = chart->gear;
  switch (chart->map.form)
    {
    case EF_FORM_PLANE:
      if (chart->kind == EF_FACE_END)
        end_place (chart, u, v, place_out);
      else
        plan_place (chart, u, v, place_out);
      break;
    case EF_FORM_FLANK:
      place_out->radius = flank_radius (chart, u);
      place_out->angle = wrapped (flank_angle (chart, u));
      place_out->tooth = 1 + ef_chart_strip (chart, u);
      break;
    case EF_FORM_TIPS:
      place_out->radius = chart->cylinder_radius;
      place_out->angle = wrapped (tip_angle (chart, u));
      place_out->tooth = 1 + ef_chart_strip (chart, u);
      break;
    case EF_FORM_CYLINDER:
    case EF_FORM_PIN_HOLE:
      place_out->radius = chart->cylinder_radius;
      place_out->angle = wrapped (u / chart->cylinder_radius);
      break;
    case EF_FORM_KEYWAY:
    default:
      break;
    }
}

/* Teeth */

static int
modulo (int k,
        int n)
{
  return (k % n + n) % n;
}

gboolean
ef_face_chart_to_tooth (const EfFaceChart *chart,
                        int k,
                        double u,
                        double v,
                        double *u_out,
                        double *v_out)
{
  int n = chart->map.teeth;
  double angle;

  if (n <= 0 || (chart->kind != EF_FACE_END && chart->n_strips == 0))
    return FALSE;
  k = modulo (k, n);
  if (chart->kind == EF_FACE_END)
    {
      angle = chart->map.looks * 2.0 * G_PI * k / n;
      *u_out = cos (angle) * u - sin (angle) * v;
      *v_out = sin (angle) * u + cos (angle) * v;
    }
  else
    {
      int from = ef_chart_strip (chart, u);

      *u_out = u + (modulo (from + k, n) - from) * chart->strip_pitch;
      *v_out = v;
    }

  return TRUE;
}

/* Mate */

static const EfPart *
mate_gear (const EfFaceChart *chart)
{
  const EfPart *part = ef_pump_sheet_part (chart->sheet, chart->part_id);

  return part != NULL && part->kind == EF_PART_GEAR ? ef_pump_sheet_mate (chart->sheet, part) : NULL;
}

gboolean
ef_face_chart_mate_id (const EfFaceChart *chart,
                       char **face_id_out)
{
  const EfPart *mate = mate_gear (chart);

  *face_id_out = NULL;
  if (mate == NULL || (chart->kind != EF_FACE_END && chart->kind != EF_FACE_FLANK && chart->kind != EF_FACE_TIPS))
    return FALSE;
  *face_id_out = g_strdup_printf ("%s/%s", mate->id, chart->face);

  return TRUE;
}

/* Roots meet tips: the share of the height from root to tip is turned round; inside the root circle the radius stays. */
static void
mate_end (const EfFaceChart *chart,
          double u,
          double v,
          double *u_out,
          double *v_out)
{
  const EfGearPairInput *in = &chart->map.pair.in;
  int own = chart->gear;
  int other = 1 - own;
  double r = hypot (u, v);
  double share = (r - in->root_radius[own]) / (in->tip_radius[own] - in->root_radius[own]);
  double wanted = share > 0.0 ? in->root_radius[other] + CLAMP (share, 0.0, 1.0) * (in->tip_radius[other] - in->root_radius[other])
                              : r * in->root_radius[other] / in->root_radius[own];
  double scale = r > 0.0 ? wanted / r : 1.0;

  *u_out = u * scale;
  *v_out = -v * scale;
}

static double
mate_flank_radius (const EfFaceChart *chart,
                   double r)
{
  const EfGearPair *pair = &chart->map.pair;
  int own = chart->gear;
  int other = 1 - own;
  double rho = sqrt (MAX (r * r - pair->base_radius[own] * pair->base_radius[own], 0.0));
  double rest = pair->in.centre_distance * sin (pair->working_angle) - rho;

  return CLAMP (hypot (pair->base_radius[other], MAX (rest, 0.0)), pair->form_radius[other], pair->in.tip_radius[other]);
}

gboolean
ef_face_chart_mate_point (const EfFaceChart *chart,
                          double u,
                          double v,
                          double *u_out,
                          double *v_out)
{
  const EfPart *mate = mate_gear (chart);
  const EfGearPair *pair = &chart->map.pair;
  int strip;
  double width;

  if (mate == NULL)
    return FALSE;
  if (chart->kind == EF_FACE_END)
    {
      mate_end (chart, u, v, u_out, v_out);
      return TRUE;
    }
  if (chart->n_strips == 0)
    return FALSE;
  strip = modulo (ef_chart_strip (chart, u), pair->in.teeth[mate->gear]);
  *v_out = v;
  if (chart->kind == EF_FACE_TIPS)
    {
      width = pair->tip_thickness[mate->gear];
      *u_out = strip * width * chart->strip_pitch / chart->strip_width + width * (1.0 - strip_local (chart, u) / chart->strip_width);
    }
  else
    {
      width = pair->in.tip_radius[mate->gear] - pair->form_radius[mate->gear];
      *u_out = strip * width * chart->strip_pitch / chart->strip_width + mate_flank_radius (chart, flank_radius (chart, u)) - pair->form_radius[mate->gear];
    }

  return TRUE;
}
