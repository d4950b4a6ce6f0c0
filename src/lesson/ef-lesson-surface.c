/* Surfaces, made and packed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-surface.h"

#include <math.h>
#include <string.h>

#define CELLS_MAX 4000000
#define FINEST 1e-7 /* m: a tenth of a micrometre */
#define LARGEST 32767.0
#define LAY_SEED 1

static EfLessonSurface *
surface_alloc (const char *face_id,
               guint nu,
               guint nv,
               double u0,
               double v0,
               double cell)
{
  EfLessonSurface *surface = g_new0 (EfLessonSurface, 1);

  surface->face_id = g_strdup (face_id);
  surface->nu = nu;
  surface->nv = nv;
  surface->u0 = u0;
  surface->v0 = v0;
  surface->cell = cell;
  surface->step = FINEST;
  surface->depth = g_new0 (gint16, MAX ((gsize) nu * nv, 1));

  return surface;
}

void
ef_lesson_surface_free (EfLessonSurface *surface)
{
  if (surface == NULL)
    return;

  g_free (surface->face_id);
  g_free (surface->depth);
  g_free (surface);
}

EfLessonSurface *
ef_lesson_surface_from_depths (const char *face_id,
                               guint nu,
                               guint nv,
                               double u0,
                               double v0,
                               double cell,
                               const float *depths)
{
  EfLessonSurface *surface = surface_alloc (face_id, nu, nv, u0, v0, cell);
  double most = 0;

  for (gsize k = 0; k < (gsize) nu * nv; k++)
    if (isfinite (depths[k]))
      most = fmax (most, fabs ((double) depths[k]));
  /* Whole tenths of a micrometre. */
  surface->step = FINEST * fmax (1, ceil (most / (FINEST * LARGEST)));
  for (gsize k = 0; k < (gsize) nu * nv; k++)
    surface->depth[k] = isfinite (depths[k]) ? (gint16) lround ((double) depths[k] / surface->step) : 0;

  return surface;
}

EfLessonSurface *
ef_lesson_surface_new (const EfFaceChart *chart,
                       const GPtrArray *marks,
                       const GArray *crescents,
                       GCancellable *cancellable,
                       GError **error)
{
  g_autoptr (EfSurface) whole = ef_crescents_surface (crescents, chart, marks, 0, 0, cancellable, error);
  g_autofree float *depths = NULL;
  gsize n;

  if (whole == NULL)
    return NULL;
  n = (gsize) whole->nu * whole->nv;
  depths = g_new (float, MAX (n, 1));
  for (gsize k = 0; k < n; k++)
    depths[k] = -whole->height[k];

  return ef_lesson_surface_from_depths (chart->id, whole->nu, whole->nv, whole->u0, whole->v0, whole->cell, depths);
}

EfSurface *
ef_lesson_surface_light (const EfLessonSurface *surface,
                         const EfFaceChart *chart,
                         GCancellable *cancellable,
                         GError **error)
{
  EfSurface *whole = ef_surface_new (chart, NULL, 0, 0, LAY_SEED, cancellable, error);

  for (guint j = 0; whole != NULL && j < whole->nv; j++)
    for (guint i = 0; i < whole->nu; i++)
      whole->height[(gsize) j * whole->nu + i]
          = (float) -ef_lesson_surface_depth (surface, whole->u0 + (i + 0.5) * whole->cell, whole->v0 + (j + 0.5) * whole->cell);

  return whole;
}

double
ef_lesson_surface_depth (const EfLessonSurface *surface,
                         double u,
                         double v)
{
  double i = floor ((u - surface->u0) / surface->cell), j = floor ((v - surface->v0) / surface->cell);

  if (!(i >= 0) || !(j >= 0) || i >= surface->nu || j >= surface->nv)
    return 0;

  return surface->depth[(gsize) j * surface->nu + (gsize) i] * surface->step;
}

static guint
cell_within (double place,
             guint n)
{
  return (guint) CLAMP (floor (place), 0, (double) n - 1);
}

double
ef_lesson_surface_deepest (const EfLessonSurface *surface,
                           double u,
                           double v,
                           double reach)
{
  double x = (u - surface->u0) / surface->cell, y = (v - surface->v0) / surface->cell, r = reach / surface->cell;
  double deepest = fmax (0, ef_lesson_surface_depth (surface, u, v));
  guint i0, i1, j0, j1;

  if (!isfinite (x) || !isfinite (y) || surface->nu == 0 || surface->nv == 0)
    return 0;
  i0 = cell_within (x - r, surface->nu);
  i1 = cell_within (x + r, surface->nu);
  j0 = cell_within (y - r, surface->nv);
  j1 = cell_within (y + r, surface->nv);
  for (guint j = j0; j <= j1; j++)
    for (guint i = i0; i <= i1; i++)
      if (hypot (i + 0.5 - x, j + 0.5 - y) <= r)
        deepest = fmax (deepest, surface->depth[(gsize) j * surface->nu + i] * surface->step);

  return deepest;
}

static GBytes *
convert (GConverter *converter,
         const void *data,
         gsize length,
         gsize most,
         GError **error)
{
  g_autoptr (GInputStream) memory = g_memory_input_stream_new_from_data (data, (gssize) length, NULL);
  g_autoptr (GInputStream) stream = g_converter_input_stream_new (memory, converter);
  g_autofree guint8 *out = g_malloc (most + 1);
  gsize got = 0;

  /* One more than is wanted, to see what is too long. */
  if (!g_input_stream_read_all (stream, out, most + 1, &got, NULL, error))
    return NULL;

  return g_bytes_new (out, got);
}

static char *
pack (const EfLessonSurface *surface)
{
  gsize n = (gsize) surface->nu * surface->nv;
  g_autofree guint8 *raw = g_malloc (2 * n + 1);
  g_autoptr (GZlibCompressor) compressor = g_zlib_compressor_new (G_ZLIB_COMPRESSOR_FORMAT_ZLIB, 9);
  g_autoptr (GBytes) packed = NULL;
  gsize length;
  const void *data;

  for (gsize k = 0; k < n; k++)
    {
      guint16 bits = (guint16) surface->depth[k];

      raw[2 * k] = bits & 0xff;
      raw[2 * k + 1] = (guint8) (bits >> 8);
    }
  /* zlib adds at most a thousandth and some bytes. */
  packed = convert (G_CONVERTER (compressor), raw, 2 * n, 2 * n + n / 100 + 1000, NULL);
  g_return_val_if_fail (packed != NULL, g_strdup (""));
  data = g_bytes_get_data (packed, &length);

  return g_base64_encode (data, length);
}

/* Whole nanometres. */
static double
in_mm (double length)
{
  return round (length * 1e9) / 1e6;
}

JsonObject *
ef_lesson_surface_to_json (const EfLessonSurface *surface)
{
  JsonObject *object = json_object_new ();
  g_autofree char *data = pack (surface);

  json_object_set_string_member (object, "face", surface->face_id);
  json_object_set_int_member (object, "columns", surface->nu);
  json_object_set_int_member (object, "rows", surface->nv);
  ef_json_put (object, "u0_mm", surface->u0 * 1e3);
  ef_json_put (object, "v0_mm", surface->v0 * 1e3);
  ef_json_put (object, "cell_mm", surface->cell * 1e3);
  ef_json_put (object, "step_mm", in_mm (surface->step));
  json_object_set_string_member (object, "depths", data);

  return object;
}

static gboolean
unpack (EfLessonSurface *surface,
        const char *text,
        const EfJson *json)
{
  gsize length, n = (gsize) surface->nu * surface->nv;
  g_autofree guchar *packed = g_base64_decode (text, &length);
  g_autoptr (GZlibDecompressor) decompressor = g_zlib_decompressor_new (G_ZLIB_COMPRESSOR_FORMAT_ZLIB);
  g_autoptr (GError) local = NULL;
  g_autoptr (GBytes) bytes = convert (G_CONVERTER (decompressor), packed, length, 2 * n, &local);
  const guint8 *raw;

  if (bytes == NULL)
    {
      ef_json_fail (json, EF_ERROR_CORRUPT, "depths: expected base64 of packed numbers, found none: %s", local->message);
      return FALSE;
    }
  if (g_bytes_get_size (bytes) != 2 * n)
    {
      ef_json_fail (json, EF_ERROR_CORRUPT, "depths: expected %u x %u numbers of two bytes, found %s", surface->nu, surface->nv,
                    g_bytes_get_size (bytes) > 2 * n ? "more" : "fewer");
      return FALSE;
    }
  raw = g_bytes_get_data (bytes, NULL);
  for (gsize k = 0; k < n; k++)
    {
      guint bits = raw[2 * k] | ((guint) raw[2 * k + 1] << 8);

      surface->depth[k] = (gint16) (bits >= 0x8000 ? (int) bits - 0x10000 : (int) bits);
    }

  return TRUE;
}

EfLessonSurface *
ef_lesson_surface_from_json (const EfJson *json)
{
  static const char *const members[] = { "face", "columns", "rows", "u0_mm", "v0_mm", "cell_mm", "step_mm", "depths", NULL };
  g_autofree char *face = ef_json_string (json, "face");
  gint64 nu = ef_json_integer (json, "columns", 1, CELLS_MAX), nv = ef_json_integer (json, "rows", 1, CELLS_MAX);
  double u0 = ef_json_number (json, "u0_mm", -10000, 10000), v0 = ef_json_number (json, "v0_mm", -10000, 10000);
  double cell = ef_json_number (json, "cell_mm", 0.001, 100), step = ef_json_number (json, "step_mm", 1e-6, 1);
  g_autofree char *depths = ef_json_string (json, "depths");
  g_autoptr (EfLessonSurface) surface = NULL;

  ef_json_only (json, members);
  if (!ef_json_finish (json->context, NULL))
    return NULL;
  if (nu * nv > CELLS_MAX)
    {
      ef_json_fail (json, EF_ERROR_RANGE, "rows: expected at most %d cells in all, found %" G_GINT64_FORMAT " x %" G_GINT64_FORMAT, CELLS_MAX, nu, nv);
      return NULL;
    }
  surface = surface_alloc (face, (guint) nu, (guint) nv, u0 * 1e-3, v0 * 1e-3, cell * 1e-3);
  surface->step = step * 1e-3;

  return unpack (surface, depths, json) ? g_steal_pointer (&surface) : NULL;
}
