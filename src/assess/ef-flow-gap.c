/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-gap.h"

#include <math.h>

#define TIP_SAMPLES 5

void
ef_flow_gaps_clear (EfFlowGaps *gaps)
{
  for (int i = 0; i < 2; i++)
    {
      g_clear_pointer (&gaps->plate[i], ef_worn_map_unref);
      g_clear_pointer (&gaps->wall[i], ef_worn_map_unref);
      g_clear_pointer (&gaps->gear_end[i][0], ef_worn_map_unref);
      g_clear_pointer (&gaps->gear_end[i][1], ef_worn_map_unref);
    }
}

gboolean
ef_flow_gaps_heat (EfFlowGaps *gaps,
                   double temperature,
                   GError **error)
{
  const EfSection *section = gaps->section;

  gaps->temperature = temperature;
  for (int gear = 0; gear < 2; gear++)
    {
      const char *name = gear == 0 ? "drive" : "driven";

      gaps->hot_end[gear] = ef_hot_clearance (gaps->end_clearance[gear], section->pocket_depth, gaps->alpha_housing,
                                              section->pair.in.face_width, gaps->alpha_gear, temperature);
      gaps->hot_tip[gear] = ef_hot_clearance (gaps->tip_clearance[gear], section->pocket_radius[gear], gaps->alpha_housing,
                                              section->pair.in.tip_radius[gear], gaps->alpha_gear, temperature);
      if (!(gaps->hot_end[gear] > 0.0))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s gear: the end clearance would be %.3f mm at %.0f °C (%.3f mm cold): the gear would seize",
                       name, gaps->hot_end[gear] * 1e3, temperature - 273.15, gaps->end_clearance[gear] * 1e3);
          return FALSE;
        }
      if (!(gaps->hot_tip[gear] > 0.0))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s gear: the tip clearance would be %.3f mm at %.0f °C (%.3f mm cold)",
                       name, gaps->hot_tip[gear] * 1e3, temperature - 273.15, gaps->tip_clearance[gear] * 1e3);
          return FALSE;
        }
    }

  return TRUE;
}

gboolean
ef_flow_gaps_even (const EfFlowGaps *gaps,
                   int gear,
                   int end)
{
  return gaps->plate[end] == NULL && gaps->gear_end[gear][end] == NULL;
}

double
ef_flow_gaps_film (const EfFlowGaps *gaps,
                   int gear,
                   int end)
{
  return gaps->hot_end[gear] * (end == 0 ? gaps->end_share : 1.0 - gaps->end_share);
}

static void
plate_place (const EfFlowGaps *gaps,
             const EfWornMap *plate,
             int gear,
             double x,
             double y,
             double *u,
             double *v)
{
  double cx, cy;

  ef_mesh_canonical_frame (&gaps->section->pair, gear, x, y, &cx, &cy);
  ef_worn_map_from_pump (plate, cx, cy * gaps->delivery_sign, u, v);
}

/* A gear end's chart lies in the gear's own frame, tooth 1 at angle 0 in the front view; the rear end's chart has u = -x. In the wall frame the
 * drive gear's front view is turned over when delivery is up, the driven gear's when it's down. */
static void
gear_place (const EfFlowGaps *gaps,
            int gear,
            int end,
            double x,
            double y,
            double turn,
            double *u,
            double *v)
{
  double front = gear == 0 ? -gaps->delivery_sign : gaps->delivery_sign;
  double c = cos (turn);
  double s = sin (turn);

  *u = (c * x + s * y) * (end == 0 ? 1.0 : -1.0);
  *v = front * (c * y - s * x);
}

static double
cube (double h)
{
  return h * h * h;
}

/* Mean of h^3 over the four ways in which two partly covered faces can lie over each other. */
static double
mean_cube (double film,
           double cover_a,
           double depth_a,
           double cover_b,
           double depth_b)
{
  if (cover_a == 0.0 && cover_b == 0.0)
    return cube (film);

  return (1.0 - cover_a) * (1.0 - cover_b) * cube (film) + cover_a * (1.0 - cover_b) * cube (film + depth_a) +
         (1.0 - cover_a) * cover_b * cube (film + depth_b) + cover_a * cover_b * cube (film + depth_a + depth_b);
}

double
ef_flow_end_gap (int gear,
                 int end,
                 double x,
                 double y,
                 double turn,
                 gpointer user_data)
{
  const EfFlowGaps *gaps = user_data;
  double cover_a = 0.0, depth_a = 0.0, cover_b = 0.0, depth_b = 0.0;
  double u, v;

  if (gaps->plate[end] != NULL)
    {
      plate_place (gaps, gaps->plate[end], gear, x, y, &u, &v);
      ef_worn_map_at (gaps->plate[end], u, v, &cover_a, &depth_a);
    }
  if (gaps->gear_end[gear][end] != NULL)
    {
      gear_place (gaps, gear, end, x, y, turn, &u, &v);
      ef_worn_map_at (gaps->gear_end[gear][end], u, v, &cover_b, &depth_b);
    }

  return mean_cube (ef_flow_gaps_film (gaps, gear, end), cover_a, depth_a, cover_b, depth_b);
}

gboolean
ef_flow_end_even (int gear,
                  int end,
                  double x,
                  double y,
                  double half,
                  double turn,
                  gpointer user_data,
                  double *cube_out)
{
  const EfFlowGaps *gaps = user_data;
  double u, v;

  if (gaps->plate[end] != NULL)
    {
      plate_place (gaps, gaps->plate[end], gear, x, y, &u, &v);
      if (!ef_worn_map_untouched (gaps->plate[end], u, v, half))
        return FALSE;
    }
  if (gaps->gear_end[gear][end] != NULL)
    {
      gear_place (gaps, gear, end, x, y, turn, &u, &v);
      /* The square may lie askew on the gear. */
      if (!ef_worn_map_untouched (gaps->gear_end[gear][end], u, v, half * G_SQRT2))
        return FALSE;
    }
  *cube_out = cube (ef_flow_gaps_film (gaps, gear, end));

  return TRUE;
}

gboolean
ef_flow_end_same (int gear,
                  int end,
                  double x,
                  double y,
                  double half,
                  double turn,
                  gpointer user_data)
{
  const EfFlowGaps *gaps = user_data;
  const EfWornChange *plate = gaps->since[gear][end].plate;
  const EfWornChange *own = gaps->since[gear][end].gear_end;
  double u, v;

  if (!gaps->since[gear][end].known)
    return FALSE;
  if (!ef_worn_change_nowhere (plate))
    {
      plate_place (gaps, ef_worn_change_map (plate), gear, x, y, &u, &v);
      if (!ef_worn_change_none (plate, u, v, half))
        return FALSE;
    }
  if (ef_worn_change_nowhere (own))
    return TRUE;
  gear_place (gaps, gear, end, x, y, turn, &u, &v);

  return ef_worn_change_none (own, u, v, half * G_SQRT2);
}

/* Mean depth of one tooth's tip strip, which begins at chart place @u. */
static double
strip_depth (const EfDepthMap *map,
             double u,
             double width)
{
  int first = CLAMP ((int) lrint ((u - map->u0) / map->cell), 0, (int) map->nu);
  int end = CLAMP ((int) lrint ((u + width - map->u0) / map->cell), 0, (int) map->nu);
  double sum = 0.0;

  if (first >= end || map->nv == 0)
    return 0.0;
  for (guint j = 0; j < map->nv; j++)
    for (int i = first; i < end; i++)
      sum += (double) map->cover[j * map->nu + i] * map->depth[j * map->nu + i];

  return sum / ((double) (end - first) * map->nv);
}

void
ef_flow_gaps_set_tips (EfFlowGaps *gaps,
                       int gear,
                       const EfFaceChart *chart,
                       EfDepthMap *map)
{
  gaps->tips[gear] = map;
  for (guint k = 0; k < EF_MESH_MOST_TEETH; k++)
    gaps->tip_depth[gear][k] = map != NULL && k < chart->n_strips ? strip_depth (map, chart->u0 + k * chart->strip_pitch, chart->strip_width) : 0.0;
}

static double
floored (double h)
{
  return MAX (h, EF_TIP_LEAST_GAP);
}

/* Over one line across the wall whose gap is nowhere at its floor: mean gap, mean cube, by the column's sums. */
static void
wall_column (const EfWornColumn *column,
             double h,
             double *gap,
             double *mean)
{
  *gap = h + column->depth;
  *mean = h * (h * (h + 3.0 * column->depth) + 3.0 * column->depth2) + column->depth3;
}

/* The same cell by cell: where the gear has worn its way in, only the wear is gap. */
static void
wall_cells (const EfWornMap *wall,
            double u,
            double h,
            double *gap,
            double *mean)
{
  double sum_gap = 0.0, sum_cube = 0.0;

  for (guint j = 0; j < wall->map->nv; j++)
    {
      double cover, depth, plain = floored (h), worn;

      ef_worn_map_at (wall, u, wall->map->v0 + (j + 0.5) * wall->map->cell, &cover, &depth);
      worn = floored (h + depth);
      sum_gap += (1.0 - cover) * plain + cover * worn;
      sum_cube += (1.0 - cover) * cube (plain) + cover * cube (worn);
    }
  *gap = sum_gap / wall->map->nv;
  *mean = sum_cube / wall->map->nv;
}

static void
wall_line (EfWornMap *wall,
           double u,
           double h,
           double *gap,
           double *mean)
{
  const EfWornColumn *column = ef_worn_map_column (wall, u);

  if (column == NULL)
    {
      *gap = floored (h);
      *mean = cube (*gap);
    }
  else if (h >= EF_TIP_LEAST_GAP)
    wall_column (column, h, gap, mean);
  else
    wall_cells (wall, u, h, gap, mean);
}

/* Across the tip's thickness the lines are in series; along the face width side by side. */
void
ef_flow_wall_gap (int gear,
                  int tooth,
                  double psi,
                  double h,
                  EfTipGap *out,
                  gpointer user_data)
{
  const EfFlowGaps *gaps = user_data;
  double radius = gaps->section->pocket_radius[gear];
  double thickness = gaps->section->pair.tip_thickness[gear];
  double worn = h + gaps->tip_depth[gear][tooth];
  double resistance = 0.0;
  double sum = 0.0;

  out->gap = floored (worn);
  out->cube = cube (out->gap);
  if (gaps->wall[gear] == NULL)
    return;
  for (int k = 0; k < TIP_SAMPLES; k++)
    {
      double u = radius * psi + ((k + 0.5) / TIP_SAMPLES - 0.5) * thickness;
      double gap, mean;

      wall_line (gaps->wall[gear], u, worn, &gap, &mean);
      resistance += 1.0 / mean;
      sum += gap;
    }
  out->cube = TIP_SAMPLES / resistance;
  out->gap = sum / TIP_SAMPLES;
}
