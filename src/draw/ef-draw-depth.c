/* The depth map in colour, with contours and the depth of each spot in figures.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Only what is in view is drawn, sampled about as finely as the target shows it. Where a sample stands for several cells, the
 * deepest of them counts. Contours run inside covered ground only: at the edge of a mark all levels would fall together.
 */
#include "ef-draw-ink.h"
#include "ef-draw-text.h"
#include "ef-plot.h"

#include <math.h>
#include <string.h>

typedef struct
{
  guint nu, nv;
  double u0, v0, pitch; /* m; sample (i, j) is centred at u0 + (i + 1/2) pitch */
  float *depth;         /* NAN where nothing is covered */
  float *cover;
} Samples;

double
ef_draw_depth_deepest (const EfDepthMap *map)
{
  double deepest = 0;

  if (map == NULL)
    return 0;
  for (gsize k = 0; k < (gsize) map->nu * map->nv; k++)
    if (map->cover[k] > 0.05 && map->depth[k] > deepest)
      deepest = map->depth[k];
  return deepest;
}

static gboolean
samples_init (Samples *samples, cairo_t *cr, const EfFaceView *view, const EfDepthMap *map, double target_px)
{
  double x0, y0, x1, y1, u0, v0, u1, v1;
  int i0, j0, i1, j1, step;

  cairo_clip_extents (cr, &x0, &y0, &x1, &y1);
  ef_face_view_to_chart (view, x0, y1, &u0, &v0);
  ef_face_view_to_chart (view, x1, y0, &u1, &v1);
  i0 = CLAMP (floor ((u0 - map->u0) / map->cell) - 1, 0, map->nu);
  j0 = CLAMP (floor ((v0 - map->v0) / map->cell) - 1, 0, map->nv);
  i1 = CLAMP (ceil ((u1 - map->u0) / map->cell) + 1, 0, map->nu);
  j1 = CLAMP (ceil ((v1 - map->v0) / map->cell) + 1, 0, map->nv);
  if (i1 <= i0 || j1 <= j0)
    return FALSE;
  step = MAX ((int) floor (target_px / (map->cell * view->scale)), 1);
  i0 -= i0 % step; /* the same samples whatever part is in view */
  j0 -= j0 % step;
  *samples = (Samples) { .nu = (i1 - i0 + step - 1) / step, .nv = (j1 - j0 + step - 1) / step };
  samples->u0 = map->u0 + i0 * map->cell;
  samples->v0 = map->v0 + j0 * map->cell;
  samples->pitch = step * map->cell;
  samples->depth = g_new (float, (gsize) samples->nu * samples->nv);
  samples->cover = g_new0 (float, (gsize) samples->nu * samples->nv);
  for (guint j = 0; j < samples->nv; j++)
    for (guint i = 0; i < samples->nu; i++)
      {
        float deepest = NAN, cover = 0;

        for (int b = 0; b < step && j0 + (int) j * step + b < (int) map->nv; b++)
          for (int a = 0; a < step && i0 + (int) i * step + a < (int) map->nu; a++)
            {
              gsize k = (gsize) (j0 + j * step + b) * map->nu + i0 + i * step + a;

              cover += map->cover[k];
              if (map->cover[k] > 0.05 && !(map->depth[k] <= deepest))
                deepest = map->depth[k];
            }
        samples->depth[(gsize) j * samples->nu + i] = deepest;
        samples->cover[(gsize) j * samples->nu + i] = MIN (cover / (step * step), 1);
      }
  return TRUE;
}

static void
samples_clear (Samples *samples)
{
  g_free (samples->depth);
  g_free (samples->cover);
}

static void
draw_colours (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const Samples *samples, double max_depth)
{
  cairo_surface_t *image = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, samples->nu, samples->nv);
  guint8 *data = cairo_image_surface_get_data (image);
  int stride = cairo_image_surface_get_stride (image);
  guint8 table[256][3];
  double x, y;

  if (data == NULL)
    {
      cairo_surface_destroy (image);
      return;
    }
  for (int k = 0; k < 256; k++)
    {
      double rgb[3];

      ef_draw_depth_colour (k / 255.0, style->dark, rgb);
      for (int c = 0; c < 3; c++)
        table[k][c] = (guint8) rint (255 * rgb[c]);
    }
  cairo_surface_flush (image);
  for (guint j = 0; j < samples->nv; j++)
    {
      guint32 *row = (guint32 *) (data + (gsize) (samples->nv - 1 - j) * stride);

      for (guint i = 0; i < samples->nu; i++)
        {
          float depth = samples->depth[(gsize) j * samples->nu + i];
          guint alpha = (guint) (255 * samples->cover[(gsize) j * samples->nu + i] + 0.5);
          const guint8 *c = table[isnan (depth) ? 0 : (int) (255 * CLAMP (depth / max_depth, 0, 1))];

          if (isnan (depth))
            alpha = 0;
          row[i] = alpha << 24 | (c[0] * alpha / 255) << 16 | (c[1] * alpha / 255) << 8 | c[2] * alpha / 255;
        }
    }
  cairo_surface_mark_dirty (image);
  ef_face_view_to_screen (view, samples->u0, samples->v0 + samples->nv * samples->pitch, &x, &y);
  cairo_save (cr);
  cairo_translate (cr, x, y);
  cairo_scale (cr, samples->pitch * view->scale, samples->pitch * view->scale);
  cairo_set_source_surface (cr, image, 0, 0);
  cairo_pattern_set_filter (cairo_get_source (cr), samples->pitch * view->scale > 4 ? CAIRO_FILTER_NEAREST : CAIRO_FILTER_BILINEAR);
  cairo_paint (cr);
  cairo_restore (cr);
  cairo_surface_destroy (image);
}

/* Contours: marching squares between sample centres; a segment joins two of a square's sides, the sides are shared, so following
 * shared sides strings segments into lines. */
typedef struct
{
  guint32 side[2];
  double x[2], y[2];
  gboolean used;
} Segment;

static guint32
side_id (const Samples *s, guint i, guint j, gboolean upright)
{
  return 2 * (j * s->nu + i) + (upright ? 1 : 0);
}

static void
square_segments (const Samples *s, const EfFaceView *view, guint i, guint j, double level, GArray *out)
{
  /* corners: 0 (i, j), 1 (i + 1, j), 2 (i + 1, j + 1), 3 (i, j + 1); side k from corner k to k + 1 */
  const double d[4] = { s->depth[j * s->nu + i], s->depth[j * s->nu + i + 1], s->depth[(j + 1) * s->nu + i + 1], s->depth[(j + 1) * s->nu + i] };
  const guint32 ids[4] = { side_id (s, i, j, FALSE), side_id (s, i + 1, j, TRUE), side_id (s, i, j + 1, FALSE), side_id (s, i, j, TRUE) };
  static const int cu[4] = { 0, 1, 1, 0 }, cv[4] = { 0, 0, 1, 1 };
  int hits[4], n = 0;

  for (int k = 0; k < 4; k++)
    if (isnan (d[k]))
      return;
  for (int k = 0; k < 4; k++)
    if ((d[k] < level) != (d[(k + 1) % 4] < level))
      hits[n++] = k;
  /* saddle: the middle says which way round the two lines go */
  if (n == 4 && (d[0] < level) == ((d[0] + d[1] + d[2] + d[3]) / 4 < level))
    {
      int first = hits[0];

      hits[0] = hits[1];
      hits[1] = hits[2];
      hits[2] = hits[3];
      hits[3] = first;
    }
  for (int k = 0; k + 1 < n; k += 2)
    {
      Segment segment = { 0 };

      for (int e = 0; e < 2; e++)
        {
          int a = hits[k + e], b = (a + 1) % 4;
          double t = (level - d[a]) / (d[b] - d[a]);

          segment.side[e] = ids[a];
          ef_face_view_to_screen (view, s->u0 + (i + 0.5 + cu[a] + t * (cu[b] - cu[a])) * s->pitch, s->v0 + (j + 0.5 + cv[a] + t * (cv[b] - cv[a])) * s->pitch, &segment.x[e], &segment.y[e]);
        }
      g_array_append_val (out, segment);
    }
}

static gpointer
side_key (guint32 side)
{
  return GUINT_TO_POINTER (side + 1);
}

/* The other segment at a side, or -1. Two segments at most share one: kept as a pair of indices. */
static int
next_at (GHashTable *by_side, guint32 side, int from)
{
  const int *pair = g_hash_table_lookup (by_side, side_key (side));

  return pair == NULL ? -1 : pair[0] == from ? pair[1] : pair[0];
}

static GHashTable *
index_sides (GArray *segments)
{
  GHashTable *by_side = g_hash_table_new_full (NULL, NULL, NULL, g_free);

  for (guint i = 0; i < segments->len; i++)
    for (int e = 0; e < 2; e++)
      {
        guint32 side = g_array_index (segments, Segment, i).side[e];
        int *pair = g_hash_table_lookup (by_side, side_key (side));

        if (pair == NULL)
          {
            pair = g_new (int, 2);
            pair[0] = (int) i;
            pair[1] = -1;
            g_hash_table_insert (by_side, side_key (side), pair);
          }
        else
          pair[1] = (int) i;
      }
  return by_side;
}

/* Follows from segment @start over its end @e; appends x y pairs. */
static void
follow (GArray *segments, GHashTable *by_side, int start, int e, GArray *xy)
{
  int at = start;

  for (;;)
    {
      Segment *segment = &g_array_index (segments, Segment, at);
      int next;

      segment->used = TRUE;
      g_array_append_val (xy, segment->x[e]);
      g_array_append_val (xy, segment->y[e]);
      next = next_at (by_side, segment->side[e], at);
      if (next < 0 || g_array_index (segments, Segment, next).used)
        return;
      e = g_array_index (segments, Segment, next).side[0] == segment->side[e] ? 1 : 0;
      at = next;
    }
}

static double
string_length (GArray *xy)
{
  double length = 0;

  for (guint i = 2; i + 1 < xy->len; i += 2)
    length += hypot (g_array_index (xy, double, i) - g_array_index (xy, double, i - 2), g_array_index (xy, double, i + 1) - g_array_index (xy, double, i - 1));
  return length;
}

/* Whether the box stands on covered ground with all its corners. */
static gboolean
on_ground (const Samples *s, const EfFaceView *view, double x, double y, double w, double h)
{
  for (int k = 0; k < 9; k++)
    {
      double u, v;
      int i, j;

      ef_face_view_to_chart (view, x + (k % 3 - 1) * w / 2, y + (k / 3 - 1) * h / 2, &u, &v);
      i = (int) floor ((u - s->u0) / s->pitch);
      j = (int) floor ((v - s->v0) / s->pitch);
      if (i < 0 || j < 0 || i >= (int) s->nu || j >= (int) s->nv || isnan (s->depth[(gsize) j * s->nu + i]))
        return FALSE;
    }
  return TRUE;
}

/* Words only where they stand inside the worn patch: outside they would belong to nothing. */
static void
label_at (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const Samples *samples, EfOccupied *occupied, PangoLayout *layout, const char *text, EfTextFlags flags, double x, double y)
{
  double w, h;

  pango_layout_set_text (layout, text, -1);
  ef_text_extent (layout, &w, &h);
  if (!on_ground (samples, view, x, y, w, 0.7 * h))
    return;
  if (ef_occupied_take (occupied, x - w / 2 - 1, y - h / 2, w + 2, h))
    ef_text_show (cr, style, layout, EF_INK_TEXT, EF_TEXT_HALO | flags, x, y, 0.5, 0.5);
}

static void
draw_level (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const Samples *samples, double level, double step, EfOccupied *occupied, PangoLayout *layout)
{
  g_autoptr (GArray) segments = g_array_new (FALSE, FALSE, sizeof (Segment));
  g_autoptr (GHashTable) by_side = NULL;
  g_autofree char *text = ef_text_mm (level, step);

  for (guint j = 0; j + 1 < samples->nv; j++)
    for (guint i = 0; i + 1 < samples->nu; i++)
      square_segments (samples, view, i, j, level, segments);
  by_side = index_sides (segments);
  for (guint i = 0; i < segments->len; i++)
    {
      g_autoptr (GArray) xy = NULL;
      g_autoptr (GArray) back = NULL;

      if (g_array_index (segments, Segment, i).used)
        continue;
      back = g_array_new (FALSE, FALSE, sizeof (double));
      xy = g_array_new (FALSE, FALSE, sizeof (double));
      follow (segments, by_side, (int) i, 0, back);
      for (guint k = back->len; k >= 2; k -= 2)
        g_array_append_vals (xy, &g_array_index (back, double, k - 2), 2);
      follow (segments, by_side, (int) i, 1, xy);
      for (guint k = 0; k + 1 < xy->len; k += 2)
        if (k == 0)
          cairo_move_to (cr, g_array_index (xy, double, 0), g_array_index (xy, double, 1));
        else
          cairo_line_to (cr, g_array_index (xy, double, k), g_array_index (xy, double, k + 1));
      ef_draw_set_ink (cr, style, EF_INK_TEXT, 0.6);
      ef_draw_set_width (cr, style, 0.7);
      cairo_stroke (cr);
      if (string_length (xy) > 70 * style->line_scale)
        {
          guint middle = xy->len / 4 * 2;

          label_at (cr, style, view, samples, occupied, layout, text, 0, g_array_index (xy, double, middle), g_array_index (xy, double, middle + 1));
        }
    }
}

/* The deepest value of each separate patch that is large enough to carry its figure. */
static void
draw_spot_depths (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const Samples *s, EfOccupied *occupied, PangoLayout *layout)
{
  g_autofree guint8 *visited = g_new0 (guint8, (gsize) s->nu * s->nv);
  g_autoptr (GArray) stack = g_array_new (FALSE, FALSE, sizeof (guint32));
  double pixel = s->pitch * view->scale;

  for (guint32 k = 0; k < s->nu * s->nv; k++)
    {
      guint32 box[4] = { k % s->nu, k / s->nu, k % s->nu, k / s->nu };
      guint32 deepest = k, count = 0;
      double su = 0, sv = 0, x, y;
      g_autofree char *text = NULL;

      if (visited[k] || isnan (s->depth[k]))
        continue;
      visited[k] = 1;
      g_array_append_val (stack, k);
      while (stack->len > 0)
        {
          guint32 c = g_array_index (stack, guint32, stack->len - 1);
          guint32 i = c % s->nu, j = c / s->nu;
          guint32 next[4] = { i > 0 ? c - 1 : c, i + 1 < s->nu ? c + 1 : c, j > 0 ? c - s->nu : c, j + 1 < s->nv ? c + s->nu : c };

          g_array_set_size (stack, stack->len - 1);
          box[0] = MIN (box[0], i);
          box[1] = MIN (box[1], j);
          box[2] = MAX (box[2], i);
          box[3] = MAX (box[3], j);
          if (s->depth[c] > s->depth[deepest] * (1 + 1e-4))
            {
              deepest = c;
              su = sv = 0;
              count = 0;
            }
          if (s->depth[c] >= s->depth[deepest] * (1 - 1e-4))
            {
              su += i;
              sv += j;
              count++;
            }
          for (int e = 0; e < 4; e++)
            if (!visited[next[e]] && !isnan (s->depth[next[e]]))
              {
                visited[next[e]] = 1;
                g_array_append_val (stack, next[e]);
              }
        }
      if ((box[2] - box[0]) * pixel < 34 * style->line_scale || (box[3] - box[1]) * pixel < 18 * style->line_scale)
        continue;
      /* the middle of the deepest ground, where that is itself ground; else its first cell */
      su = count > 0 ? su / count : deepest % s->nu;
      sv = count > 0 ? sv / count : deepest / s->nu;
      if (isnan (s->depth[(guint32) sv * s->nu + (guint32) su]) || s->depth[(guint32) sv * s->nu + (guint32) su] < 0.98 * s->depth[deepest])
        {
          su = deepest % s->nu;
          sv = deepest / s->nu;
        }
      ef_face_view_to_screen (view, s->u0 + (su + 0.5) * s->pitch, s->v0 + (sv + 0.5) * s->pitch, &x, &y);
      text = ef_text_mm (s->depth[deepest], 1e-6);
      while (g_str_has_suffix (text, "0") && strlen (text) > 4)
        text[strlen (text) - 1] = '\0';
      label_at (cr, style, view, s, occupied, layout, text, EF_TEXT_BOLD, x, y);
    }
}

static void
draw_contours (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfDepthMap *map, double max_depth)
{
  double step = ef_nice_step (max_depth, 6);
  EfOccupied occupied;
  Samples samples;
  double x0, y0, x1, y1;
  g_autoptr (PangoLayout) layout = NULL;

  if (!samples_init (&samples, cr, view, map, 2.5 * style->line_scale))
    return;
  cairo_clip_extents (cr, &x0, &y0, &x1, &y1);
  ef_occupied_init (&occupied, x0, y0, x1 - x0, y1 - y0, 3 * style->line_scale);
  layout = ef_text_layout (cr, style, ef_text_size (style, 0.78), 0, "");
  draw_spot_depths (cr, style, view, &samples, &occupied, layout);
  for (double level = step; level < max_depth * (1 + 1e-9); level += step)
    draw_level (cr, style, view, &samples, level, step, &occupied, layout);
  ef_occupied_clear (&occupied);
  samples_clear (&samples);
}

void
ef_draw_face_depth (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, const EfDepthMap *map, const EfFaceLayers *layers)
{
  double max_depth = layers->max_depth;
  Samples samples;

  if (map == NULL || map->nu == 0 || map->nv == 0)
    return;
  if (!(max_depth > 0))
    max_depth = ef_draw_depth_scale (ef_draw_depth_deepest (map));
  cairo_save (cr);
  if (layers->depth_colours && samples_init (&samples, cr, view, map, 1))
    {
      draw_colours (cr, style, view, &samples, max_depth);
      samples_clear (&samples);
    }
  if (layers->contours)
    draw_contours (cr, style, view, map, max_depth);
  cairo_restore (cr);
}
