/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-surface.h"
#include "ef-depth-base.h"
#include "ef-depth-field.h"

#include <math.h>
#include <string.h>

#define RIM 0.25        /* height of a dish's rim, of its depth */
#define RIM_REACH 1.45  /* where it ends, of the dish's radius */
#define SCORE_PITCH 0.28e-3 /* m: fine lines of a scored band lie so far apart */

/* A number between 0 and 1 that belongs to a place and a seed. */
static double
noise (guint32 seed,
       guint32 i,
       guint32 j)
{
  guint32 h = seed * 0x9e3779b1u ^ i * 0x85ebca77u ^ j * 0xc2b2ae3du;

  h ^= h >> 15;
  h *= 0x2c1b3c6du;
  h ^= h >> 12;
  h *= 0x297a2d39u;
  h ^= h >> 15;

  return h / 4294967296.0;
}

typedef struct
{
  EfSurface *surface;
  double period; /* of u, where the chart wraps; 0 */
} Build;

/* Columns and rows that come within @reach of a box; clamped to the grid. FALSE: none. */
static gboolean
cells_near (const EfSurface *s,
            const double bounds[4],
            double reach,
            int range[4])
{
  range[0] = MAX (0, (int) floor ((bounds[0] - reach - s->u0) / s->cell));
  range[1] = MAX (0, (int) floor ((bounds[1] - reach - s->v0) / s->cell));
  range[2] = MIN ((int) s->nu - 1, (int) floor ((bounds[2] + reach - s->u0) / s->cell));
  range[3] = MIN ((int) s->nv - 1, (int) floor ((bounds[3] + reach - s->v0) / s->cell));

  return range[0] <= range[2] && range[1] <= range[3];
}

/* Share of the mark's depth at a distance from its middle line, -1 … 1 of its half width. */
static double
line_profile (const EfSurface *s,
              const EfMark *mark,
              double x)
{
  double fine;

  switch (mark->kind)
    {
    case EF_MARK_SCORING:
      /* a bundle of lines, the middle ones deepest */
      fine = 0.5 + 0.5 * cos (2.0 * G_PI * x * 0.5 * mark->size / SCORE_PITCH);
      return (1.0 - x * x) * (mark->size > 2.0 * SCORE_PITCH ? 0.45 + 0.55 * fine : 1.0);
    case EF_MARK_LIP:
    case EF_MARK_STEP:
      /* worn down to one side, with the edge standing */
      return 0.5 * (1.0 - x);
    case EF_MARK_CRACK:
      return fmax (0.0, 1.0 - fabs (x));
    case EF_MARK_FLAT_SPOT:
      return fabs (x) < 0.9 ? 1.0 : 10.0 * (1.0 - fabs (x));
    default:
      return 1.0 - x * x;
    }
}

/* One piece of a line, with round ends. */
static void
cut_segment (Build *b,
             const EfMark *mark,
             const EfDepthField *field,
             guint i,
             double shift)
{
  EfSurface *s = b->surface;
  EfMarkNode from = g_array_index (mark->nodes, EfMarkNode, i), to = g_array_index (mark->nodes, EfMarkNode, i + 1);
  double half = 0.5 * mark->size;
  double bounds[4], along_u, along_v, length;
  int range[4];

  from.u += shift;
  to.u += shift;
  bounds[0] = fmin (from.u, to.u);
  bounds[1] = fmin (from.v, to.v);
  bounds[2] = fmax (from.u, to.u);
  bounds[3] = fmax (from.v, to.v);
  along_u = to.u - from.u;
  along_v = to.v - from.v;
  length = hypot (along_u, along_v);
  if (!cells_near (s, bounds, half, range))
    return;
  for (int j = range[1]; j <= range[3]; j++)
    for (int k = range[0]; k <= range[2]; k++)
      {
        double u = s->u0 + (k + 0.5) * s->cell, v = s->v0 + (j + 0.5) * s->cell;
        double distance = sqrt (ef_segment_distance2 (&from, &to, u, v, NULL));
        double side = along_u * (v - from.v) - along_v * (u - from.u) < 0.0 ? -1.0 : 1.0;
        double depth;

        if (distance >= half)
          continue;
        depth = field->n > 0 ? ef_depth_field_at_near (field, &i, 1, u - shift, v) : EF_SURFACE_UNKNOWN;
        ef_surface_cut (s, (guint) j * s->nu + k, -depth * line_profile (s, mark, length > 0.0 ? side * distance / half : 0.0));
      }
}

/* A dish with its rim. */
static void
cut_point (Build *b,
           const EfMark *mark,
           double depth,
           double shift)
{
  EfSurface *s = b->surface;
  const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, 0);
  double half = 0.5 * mark->size, u0 = node->u + shift;
  const double bounds[4] = { u0, node->v, u0, node->v };
  gboolean rim = mark->kind == EF_MARK_IMPRINT;
  int range[4];

  if (!cells_near (s, bounds, RIM_REACH * half, range))
    return;
  for (int j = range[1]; j <= range[3]; j++)
    for (int k = range[0]; k <= range[2]; k++)
      {
        double x = hypot (s->u0 + (k + 0.5) * s->cell - u0, s->v0 + (j + 0.5) * s->cell - node->v) / half;
        guint cell = (guint) j * s->nu + k;

        if (x < 1.0)
          ef_surface_cut (s, cell, -depth * (1.0 - x * x));
        else if (rim && x < RIM_REACH && s->height[cell] >= 0.0)
          s->height[cell] = (float) fmax (s->height[cell], RIM * depth * sin (G_PI * (x - 1.0) / (RIM_REACH - 1.0)));
      }
}

/* Rough where the kind is: pits, or a rusty ground. */
static double
area_texture (const EfSurface *s,
              const EfMark *mark,
              guint i,
              guint j)
{
  double coarse, fine;

  if (mark->kind != EF_MARK_PITTING && mark->kind != EF_MARK_CORROSION && mark->kind != EF_MARK_CHIP)
    return 1.0;
  coarse = noise (s->seed, i / 4, j / 4);
  fine = noise (s->seed + 1, i, j);
  if (mark->kind == EF_MARK_PITTING)
    return coarse > 0.62 ? 0.5 + 0.5 * fine : 0.08;

  return 0.45 + 0.35 * coarse + 0.2 * fine;
}

/* Areas through the depth map, which knows how much of a cell they cover; that makes their edge. */
static gboolean
cut_area (Build *b,
          const EfFaceChart *chart,
          EfMark *mark,
          GCancellable *cancellable,
          GError **error)
{
  EfSurface *s = b->surface;
  EfMark *known = mark->depths->len > 0 ? ef_item_ref (mark) : ef_item_copy (mark);
  g_autoptr (EfDepthMap) map = NULL;

  if (known->depths->len == 0)
    ef_mark_set_depth (known, EF_SURFACE_UNKNOWN, EF_UNIT_MM, NULL);
  map = ef_depth_map_new_on (s->base, chart, &known, 1, cancellable, error);
  ef_item_unref (known);
  if (map == NULL)
    return FALSE;
  for (guint j = 0; j < s->nv; j++)
    for (guint i = 0; i < s->nu; i++)
      {
        guint k = j * s->nu + i;

        if (map->cover[k] > 0.0f)
          ef_surface_cut (s, k, -(double) map->depth[k] * (map->cover[k] / fmaxf (map->solid[k], 1e-3f)) * area_texture (s, mark, i, j));
      }

  return TRUE;
}

static gboolean
cut_mark (Build *b,
          const EfFaceChart *chart,
          EfMark *mark,
          GCancellable *cancellable,
          GError **error)
{
  EfDepthField field;

  if (!ef_mark_check (mark, error))
    return FALSE;
  if (mark->shape == EF_SHAPE_AREA)
    return cut_area (b, chart, mark, cancellable, error);
  ef_depth_field_init (&field, mark);
  for (int turn = b->period > 0.0 ? -1 : 0; turn <= (b->period > 0.0 ? 1 : 0); turn++)
    if (mark->shape == EF_SHAPE_POINT)
      cut_point (b, mark, field.n > 0 ? field.deepest : EF_SURFACE_UNKNOWN, turn * b->period);
    else
      for (guint i = 0; i + 1 < mark->nodes->len; i++)
        cut_segment (b, mark, &field, i, turn * b->period);
  ef_depth_field_clear (&field);

  return TRUE;
}

static EfSurface *
surface_on (EfDepthBase *base,
            const EfFaceChart *chart,
            guint32 seed)
{
  EfSurface *self = g_new0 (EfSurface, 1);

  self->ref_count = 1;
  self->base = base; /* taken */
  self->nu = base->grid.nu;
  self->nv = base->grid.nv;
  self->u0 = base->grid.u0;
  self->v0 = base->grid.v0;
  self->cell = base->grid.cell;
  self->solid = base->solid;
  self->height = g_new0 (float, (gsize) self->nu * self->nv);
  self->seed = seed;
  self->lay = ef_lay_of_face (chart, seed);

  return self;
}

EfSurface *
ef_surface_new (const EfFaceChart *chart,
                EfMark *const *marks,
                guint n_marks,
                double cell,
                guint32 seed,
                GCancellable *cancellable,
                GError **error)
{
  EfDepthBase *base = ef_depth_base_new (chart, cell, error);
  g_autoptr (EfSurface) self = base != NULL ? surface_on (base, chart, seed) : NULL;
  Build build = { self, chart->wraps ? chart->u1 - chart->u0 : 0.0 };

  if (self == NULL)
    return NULL;
  for (guint i = 0; i < n_marks; i++)
    {
      if (g_cancellable_is_cancelled (cancellable))
        {
          g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "cancelled");
          return NULL;
        }
      if (g_str_equal (marks[i]->face_id, chart->id) && !cut_mark (&build, chart, marks[i], cancellable, error))
        return NULL;
    }

  return g_steal_pointer (&self);
}

EfSurface *
ef_surface_ref (EfSurface *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_surface_unref (EfSurface *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;
  ef_depth_base_unref (self->base);
  g_free (self->height);
  g_free (self);
}

/* Lay */

EfLay
ef_lay_of_face (const EfFaceChart *chart,
                guint32 seed)
{
  EfLay lay = { EF_LAY_STRAIGHT, 0.0, 0, { 0, 0 }, { 0, 0 } };
  double position[3];

  switch (chart->kind)
    {
    case EF_FACE_END:
      lay.kind = EF_LAY_CIRCULAR;
      lay.n_centres = 1;
      break;
    case EF_FACE_FLOOR:
      ef_face_chart_to_pump (chart, 1e-3, 0.0, position, NULL);
      lay.kind = chart->section != NULL ? EF_LAY_CIRCULAR : EF_LAY_STRAIGHT;
      for (int gear = 0; chart->section != NULL && gear < 2; gear++)
        lay.centre_u[lay.n_centres++] = (position[0] > 0.0 ? 1.0 : -1.0) * ef_section_axis_x (chart->section, gear);
      break;
    case EF_FACE_SIDE:
    case EF_FACE_MATING:
      lay.angle = (noise (seed, 1, 2) - 0.5) * 0.8;
      break;
    case EF_FACE_FLANK:
    case EF_FACE_KEYWAY:
      lay.angle = G_PI / 2.0;
      break;
    default: /* walls, bores, journals, tips: round the axis, which is along u */
      break;
    }

  return lay;
}

void
ef_lay_at (const EfLay *lay,
           double u,
           double v,
           double *du,
           double *dv)
{
  double ru, rv, r;
  guint nearest = 0;

  *du = cos (lay->angle);
  *dv = sin (lay->angle);
  if (lay->kind != EF_LAY_CIRCULAR || lay->n_centres == 0)
    return;
  if (lay->n_centres > 1 && hypot (u - lay->centre_u[1], v - lay->centre_v[1]) < hypot (u - lay->centre_u[0], v - lay->centre_v[0]))
    nearest = 1;
  ru = u - lay->centre_u[nearest];
  rv = v - lay->centre_v[nearest];
  r = hypot (ru, rv);
  if (r > 0.0)
    {
      *du = -rv / r;
      *dv = ru / r;
    }
}
