/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-draw-lamp.h"

#include <math.h>
#include <string.h>

#define FLAT 0.52       /* brightness of the unworn face, 0 … 1 of the screen's range before its gamma */
#define LAY_MIX 0.35    /* how much of a cell's lay is its own; the rest goes on along the lay */
#define LAY_DIRECTIONS 16
#define HIGHEST (88.0 * G_PI / 180.0)

struct _EfLampScene
{
  guint nu, nv;
  double bounds[4];
  float *slope_u, *slope_v; /* dh/du, dh/dv with the lay's own */
  float *lay_u, *lay_v;     /* unit vector along the lay */
  guint8 *alpha;
  EfMetal metal;
  EfLay lay;
  gint ref_count;
};

void
ef_metal_of (const char *material,
             EfMetal *metal)
{
  static const struct
  {
    const char *name;
    EfMetal metal;
  } metals[] = {
    { "steel", { 0.55, 0.45, 0.10, 0.34, 0.012, { 0.90, 0.94, 1.00 } } },
    { "cast-iron", { 0.72, 0.28, 0.20, 0.36, 0.022, { 0.92, 0.92, 0.91 } } },
    { "aluminium-alloy", { 0.60, 0.40, 0.13, 0.38, 0.016, { 1.00, 1.00, 0.98 } } },
    { "magnesium-alloy", { 0.66, 0.34, 0.16, 0.38, 0.018, { 0.98, 0.97, 0.93 } } },
  };

  *metal = metals[0].metal;
  for (guint i = 0; i < G_N_ELEMENTS (metals); i++)
    if (g_strcmp0 (material, metals[i].name) == 0)
      *metal = metals[i].metal;
}

static double
noise (guint32 seed,
       gint32 i,
       gint32 j)
{
  guint32 h = seed * 0x9e3779b1u ^ (guint32) i * 0x85ebca77u ^ (guint32) j * 0xc2b2ae3du;

  h ^= h >> 15;
  h *= 0x2c1b3c6du;
  h ^= h >> 12;
  h *= 0x297a2d39u;
  h ^= h >> 15;

  return h / 2147483648.0 - 1.0;
}

/* A slope across the lay that runs on along it for a while, about 1 in rms. */
static double
lay_slope (const EfSurface *surface,
           double u,
           double v,
           double along_u,
           double along_v)
{
  double across, along;
  gint32 line;

  if (surface->lay.kind == EF_LAY_CIRCULAR && surface->lay.n_centres > 0)
    {
      guint nearest = surface->lay.n_centres > 1 && hypot (u - surface->lay.centre_u[1], v - surface->lay.centre_v[1]) < hypot (u - surface->lay.centre_u[0], v - surface->lay.centre_v[0]);
      double du = u - surface->lay.centre_u[nearest], dv = v - surface->lay.centre_v[nearest];

      across = hypot (du, dv);
      along = atan2 (dv, du) * across;
    }
  else
    {
      across = -along_v * u + along_u * v;
      along = along_u * u + along_v * v;
    }

  line = (gint32) floor (across / surface->cell);
  /* every line of the tool begins somewhere else */
  along += 60.0 * surface->cell * noise (surface->seed + 3, line, 0);

  return 1.4 * ((1.0 - LAY_MIX) * noise (surface->seed, line, (gint32) floor (along / (60.0 * surface->cell)))
                + LAY_MIX * noise (surface->seed + 7, line, (gint32) floor (along / (4.0 * surface->cell))));
}

/* Mean height of the metal in a block of cells. */
static void
shrink_heights (const EfSurface *surface,
                guint shrink,
                guint nu,
                guint nv,
                float *height,
                float *solid)
{
  for (guint j = 0; j < nv; j++)
    for (guint i = 0; i < nu; i++)
      {
        double sum = 0.0, share = 0.0;
        guint n = 0;

        for (guint b = j * shrink; b < MIN ((j + 1) * shrink, surface->nv); b++)
          for (guint a = i * shrink; a < MIN ((i + 1) * shrink, surface->nu); a++, n++)
            {
              gsize k = (gsize) b * surface->nu + a;

              sum += surface->solid[k] * surface->height[k];
              share += surface->solid[k];
            }
        height[j * nu + i] = share > 0.0 ? (float) (sum / share) : 0.0f;
        solid[j * nu + i] = n > 0 ? (float) (share / n) : 0.0f;
      }
}

/* Difference of the neighbours; at the metal's edge of the one that is there. */
static double
slope (const float *height,
       const float *solid,
       gsize k,
       gsize step,
       gboolean has_before,
       gboolean has_after,
       double cell)
{
  gboolean before = has_before && solid[k - step] > 0.5f, after = has_after && solid[k + step] > 0.5f;

  if (before && after)
    return (height[k + step] - height[k - step]) / (2.0 * cell);
  if (after)
    return (height[k + step] - height[k]) / cell;
  if (before)
    return (height[k] - height[k - step]) / cell;

  return 0.0;
}

static void
fill_slopes (EfLampScene *self,
             const EfSurface *surface,
             const float *height,
             const float *solid,
             double cell)
{
  for (guint j = 0; j < self->nv; j++)
    for (guint i = 0; i < self->nu; i++)
      {
        gsize k = (gsize) j * self->nu + i;
        double u = surface->u0 + (i + 0.5) * cell, v = surface->v0 + (j + 0.5) * cell;
        double along_u, along_v, own;

        self->alpha[k] = (guint8) lround (255.0 * CLAMP (solid[k], 0.0f, 1.0f));
        ef_lay_at (&surface->lay, u, v, &along_u, &along_v);
        own = self->metal.lay > 0.0 && self->alpha[k] > 0 ? self->metal.lay * lay_slope (surface, u, v, along_u, along_v) : 0.0;
        self->slope_u[k] = (float) (slope (height, solid, k, 1, i > 0, i + 1 < self->nu, cell) - own * along_v);
        self->slope_v[k] = (float) (slope (height, solid, k, self->nu, j > 0, j + 1 < self->nv, cell) + own * along_u);
        self->lay_u[k] = (float) along_u;
        self->lay_v[k] = (float) along_v;
      }
}

EfLampScene *
ef_lamp_scene_new (const EfSurface *surface,
                   const EfMetal *metal,
                   guint shrink)
{
  EfLampScene *self = g_new0 (EfLampScene, 1);
  double cell = surface->cell * MAX (shrink, 1);
  g_autofree float *height = NULL;
  g_autofree float *solid = NULL;
  gsize n;

  self->ref_count = 1;
  self->metal = *metal;
  self->lay = surface->lay;
  self->nu = (surface->nu + MAX (shrink, 1) - 1) / MAX (shrink, 1);
  self->nv = (surface->nv + MAX (shrink, 1) - 1) / MAX (shrink, 1);
  n = (gsize) self->nu * self->nv;
  self->bounds[0] = surface->u0;
  self->bounds[1] = surface->v0;
  self->bounds[2] = surface->u0 + self->nu * cell;
  self->bounds[3] = surface->v0 + self->nv * cell;
  self->slope_u = g_new (float, n);
  self->slope_v = g_new (float, n);
  self->lay_u = g_new (float, n);
  self->lay_v = g_new (float, n);
  self->alpha = g_new (guint8, n);
  height = g_new (float, n);
  solid = g_new (float, n);
  shrink_heights (surface, MAX (shrink, 1), self->nu, self->nv, height, solid);
  fill_slopes (self, surface, height, solid, cell);

  return self;
}

EfLampScene *
ef_lamp_scene_ref (EfLampScene *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_lamp_scene_unref (EfLampScene *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;
  g_free (self->slope_u);
  g_free (self->slope_v);
  g_free (self->lay_u);
  g_free (self->lay_v);
  g_free (self->alpha);
  g_free (self);
}

void
ef_lamp_scene_bounds (const EfLampScene *self,
                      double bounds[4])
{
  memcpy (bounds, self->bounds, sizeof self->bounds);
}

/* The lamp, and halfway between it and the eye. */
typedef struct
{
  float l[3], h[3];
} Lamp;

/* Light that comes back to the eye from a cell. */
static float
brightness (const EfMetal *metal,
            const Lamp *lamp,
            float slope_u,
            float slope_v,
            float lay_u,
            float lay_v)
{
  float scale = 1.0f / sqrtf (1.0f + slope_u * slope_u + slope_v * slope_v);
  float nx = -slope_u * scale, ny = -slope_v * scale, nz = scale;
  float nl = nx * lamp->l[0] + ny * lamp->l[1] + nz * lamp->l[2];
  float nh, hx, hy, exponent;

  if (nl <= 0.0f)
    return 0.0f;
  nh = nx * lamp->h[0] + ny * lamp->h[1] + nz * lamp->h[2];
  hx = lay_u * lamp->h[0] + lay_v * lamp->h[1] + (lay_u * slope_u + lay_v * slope_v) * lamp->h[2];
  hy = -lay_v * lamp->h[0] + lay_u * lamp->h[1] + (-lay_v * slope_u + lay_u * slope_v) * lamp->h[2];
  hx /= (float) metal->along;
  hy /= (float) metal->across;
  exponent = (hx * hx + hy * hy) / fmaxf (nh * nh, 1e-6f);

  return (float) metal->diffuse * nl
         + (metal->specular > 0.0 ? (float) metal->specular * nl * expf (-exponent) / (4.0f * (float) G_PI * (float) (metal->along * metal->across) * sqrtf (fmaxf (nl * nz, 1e-4f))) : 0.0f);
}

/* What the eye makes of it: @share of the unworn face's, compressed so that the brightest still shows. */
static float
seen (float share)
{
  float x = (float) FLAT * share;

  /* even around the flat face, bending to 1 */
  return x < 0.6f ? x : 0.6f + 0.4f * (1.0f - expf (-(x - 0.6f) / 0.4f));
}

/* Brightness that the eye adapts to: of the flat face; where the lay goes round, its flare is seen against the mean of all directions. */
static float
unworn (const EfLampScene *self,
        const Lamp *lamp)
{
  guint n = self->lay.kind == EF_LAY_CIRCULAR ? LAY_DIRECTIONS : 1;
  float sum = 0.0f;

  for (guint i = 0; i < n; i++)
    {
      double angle = self->lay.angle + i * G_PI / n;

      sum += brightness (&self->metal, lamp, 0, 0, (float) cos (angle), (float) sin (angle));
    }

  return sum / n;
}

static void
fill_lut (guint8 lut[1024])
{
  for (int i = 0; i < 1024; i++)
    lut[i] = (guint8) lround (255.0 * pow (i / 1023.0, 1.0 / 1.7));
}

cairo_surface_t *
ef_lamp_scene_light (const EfLampScene *self,
                     double azimuth,
                     double elevation)
{
  cairo_surface_t *image = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, (int) self->nu, (int) self->nv);
  double e = CLAMP (elevation, EF_LAMP_LOWEST, HIGHEST);
  Lamp lamp = { { (float) (cos (e) * cos (azimuth)), (float) (cos (e) * sin (azimuth)), (float) sin (e) }, { 0, 0, 0 } };
  float half = sqrtf (lamp.l[0] * lamp.l[0] + lamp.l[1] * lamp.l[1] + (lamp.l[2] + 1) * (lamp.l[2] + 1));
  guint8 lut[1024];
  guint8 *data;
  float flat;
  int stride;

  if (cairo_surface_status (image) != CAIRO_STATUS_SUCCESS)
    return image;
  lamp.h[0] = lamp.l[0] / half;
  lamp.h[1] = lamp.l[1] / half;
  lamp.h[2] = (lamp.l[2] + 1) / half;
  flat = unworn (self, &lamp);
  fill_lut (lut);
  cairo_surface_flush (image);
  data = cairo_image_surface_get_data (image);
  stride = cairo_image_surface_get_stride (image);
  for (guint j = 0; j < self->nv; j++)
    {
      guint32 *row = (guint32 *) (gpointer) (data + (gsize) (self->nv - 1 - j) * stride);

      for (guint i = 0; i < self->nu; i++)
        {
          gsize k = (gsize) j * self->nu + i;
          guint alpha = self->alpha[k], value;

          if (alpha == 0)
            {
              row[i] = 0;
              continue;
            }
          value = lut[(int) (1023.0f * seen (brightness (&self->metal, &lamp, self->slope_u[k], self->slope_v[k], self->lay_u[k], self->lay_v[k]) / flat))];
          row[i] = alpha << 24 | (guint32) (value * self->metal.tint[0] * alpha / 255.0) << 16 | (guint32) (value * self->metal.tint[1] * alpha / 255.0) << 8
                   | (guint32) (value * self->metal.tint[2] * alpha / 255.0);
        }
    }
  cairo_surface_mark_dirty (image);

  return image;
}

void
ef_draw_chart_image (cairo_t *cr,
                     const EfFaceView *view,
                     cairo_surface_t *image,
                     const double bounds[4])
{
  double x0, y0, x1, y1;
  int width = cairo_image_surface_get_width (image), height = cairo_image_surface_get_height (image);

  if (width < 1 || height < 1)
    return;
  ef_face_view_to_screen (view, bounds[0], bounds[3], &x0, &y0);
  ef_face_view_to_screen (view, bounds[2], bounds[1], &x1, &y1);
  cairo_save (cr);
  cairo_translate (cr, x0, y0);
  cairo_scale (cr, (x1 - x0) / width, (y1 - y0) / height);
  cairo_set_source_surface (cr, image, 0, 0);
  cairo_pattern_set_filter (cairo_get_source (cr), CAIRO_FILTER_BILINEAR);
  cairo_paint (cr);
  cairo_restore (cr);
}

void
ef_draw_lamp_dial (cairo_t *cr,
                   const EfDrawStyle *style,
                   double x,
                   double y,
                   double radius,
                   double azimuth,
                   double elevation)
{
  double r = radius * cos (CLAMP (elevation, 0.0, G_PI / 2.0));
  double lx = x + r * cos (azimuth), ly = y - r * sin (azimuth);
  double ink = style->dark ? 0.92 : 0.15;

  cairo_save (cr);
  cairo_new_path (cr);
  cairo_arc (cr, x, y, radius + 9 * style->line_scale, 0, 2 * G_PI);
  cairo_set_source_rgba (cr, 1 - ink, 1 - ink, 1 - ink, 0.78);
  cairo_fill (cr);
  cairo_set_line_width (cr, 1.2 * style->line_scale);
  cairo_set_source_rgba (cr, ink, ink, ink, 0.55);
  cairo_arc (cr, x, y, radius, 0, 2 * G_PI);
  cairo_stroke (cr);
  cairo_move_to (cr, x, y);
  cairo_line_to (cr, lx, ly);
  cairo_set_source_rgba (cr, ink, ink, ink, 0.8);
  cairo_stroke (cr);
  cairo_arc (cr, lx, ly, 6.5 * style->line_scale, 0, 2 * G_PI);
  cairo_set_source_rgb (cr, 1.0, 0.82, 0.30);
  cairo_fill_preserve (cr);
  cairo_set_source_rgb (cr, ink, ink, ink);
  cairo_stroke (cr);
  cairo_restore (cr);
}

void
ef_draw_lamp_picture (cairo_t *cr,
                      const EfDrawStyle *style,
                      const EfFaceChart *chart,
                      const EfLampScene *scene,
                      double azimuth,
                      double elevation,
                      double width,
                      double height)
{
  cairo_surface_t *image = ef_lamp_scene_light (scene, azimuth, elevation);
  double bounds[4], margin = 40.0 * style->line_scale;
  EfFaceView view;

  ef_lamp_scene_bounds (scene, bounds);
  ef_draw_paper (cr, style);
  ef_face_view_fit (&view, chart, width, height, margin);
  ef_draw_chart_image (cr, &view, image, bounds);
  cairo_surface_destroy (image);
  ef_draw_scale_bar (cr, style, &view, 12.0 * style->line_scale, height - 14.0 * style->line_scale, 0.3 * width);
  ef_draw_lamp_dial (cr, style, width - 44.0 * style->line_scale, 44.0 * style->line_scale, 28.0 * style->line_scale, azimuth, elevation);
}
