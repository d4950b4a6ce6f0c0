/* Flatness of a face: contours over its outline, the places read, those that carry the zone.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-form.h"
#include "ef-draw-path.h"
#include "ef-plot.h"

#include "../geometry/ef-triangulation.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define MOST_POINTS 4000 /* more are thinned out for the contours; the zone itself is of all */
#define MOST_LABELS 60
#define MOST_TINT 0.34

typedef struct
{
  cairo_t *cr;
  const EfDrawStyle *style;
  const EfFaceChart *chart;
  const EfFlatForm *form;
  EfUnit unit;
  EfFaceView view;
  guint n;            /* points that the contours go through */
  double *xy, *value; /* on the target; deviation in m */
  guint *corners;
  guint n_triangles;
  double step;        /* between contours, m */
  EfOccupied occupied;
} Flat;

/* A round number of the fine unit. */
static double
contour_step (const EfFlatForm *form, EfUnit unit)
{
  EfUnit fine = ef_draw_fine_unit (unit);

  return ef_unit_to_si (fine, ef_nice_step (ef_unit_from_si (fine, MAX (form->zone, 1e-9)), 8));
}

/* --- What is interpolated ---------------------------------------------------------------------------------------------------- */

static void
take_points (Flat *self)
{
  const EfFlatForm *form = self->form;
  guint every = form->n / MOST_POINTS + 1;

  self->xy = g_new (double, 2 * (gsize) form->n + 1);
  self->value = g_new (double, (gsize) form->n + 1);
  for (guint i = 0; i < form->n; i++)
    if (i % every == 0 || form->points[i].carries != 0)
      {
        ef_face_view_to_screen (&self->view, form->points[i].u, form->points[i].v, &self->xy[2 * self->n], &self->xy[2 * self->n + 1]);
        self->value[self->n++] = form->points[i].deviation;
      }
  self->corners = ef_triangulate (self->xy, self->n, &self->n_triangles);
}

/* The part of a triangle whose value lies from @low to @high, as a path. */
static void
band_path (const Flat *self, const guint corners[3], double low, double high)
{
  gboolean started = FALSE;

  for (int k = 0; k < 3; k++)
    {
      guint a = corners[k], b = corners[(k + 1) % 3];
      double va = self->value[a], vb = self->value[b];
      double cuts[4] = { 0, 1, 1, 1 };
      int n = 1;

      /* the side from a to b, cut where it meets the levels, in order */
      if (va != vb)
        {
          double t_low = (low - va) / (vb - va), t_high = (high - va) / (vb - va);
          double first = MIN (t_low, t_high), second = MAX (t_low, t_high);

          if (first > 0 && first < 1)
            cuts[n++] = first;
          if (second > 0 && second < 1)
            cuts[n++] = second;
        }
      for (int c = 0; c < n; c++)
        {
          double v = va + cuts[c] * (vb - va);
          double x = self->xy[2 * a] + cuts[c] * (self->xy[2 * b] - self->xy[2 * a]);
          double y = self->xy[2 * a + 1] + cuts[c] * (self->xy[2 * b + 1] - self->xy[2 * a + 1]);

          if (v < low - 1e-12 || v > high + 1e-12)
            continue;
          if (started)
            cairo_line_to (self->cr, x, y);
          else
            cairo_move_to (self->cr, x, y);
          started = TRUE;
        }
    }
  if (started)
    cairo_close_path (self->cr);
}

static void
fill_bands (const Flat *self, double most)
{
  int reach = (int) ceil (most / self->step - 1e-9);

  cairo_set_fill_rule (self->cr, CAIRO_FILL_RULE_WINDING);
  for (int k = -reach; k < reach; k++)
    {
      double share = (k >= 0 ? k + 0.5 : -k - 0.5) / MAX (reach, 1);

      cairo_new_path (self->cr);
      for (guint t = 0; t < self->n_triangles; t++)
        band_path (self, self->corners + 3 * t, k * self->step, (k + 1) * self->step);
      ef_draw_set_ink (self->cr, self->style, k >= 0 ? EF_INK_DELIVERY : EF_INK_SUCTION, MOST_TINT * share);
      cairo_fill (self->cr);
    }
}

/* --- Contours ---------------------------------------------------------------------------------------------------------------- */

typedef struct
{
  double x0, y0, x1, y1;
} Piece;

static GArray *
level_pieces (const Flat *self, double level)
{
  GArray *pieces = g_array_new (FALSE, FALSE, sizeof (Piece));

  for (guint t = 0; t < self->n_triangles; t++)
    {
      double at[2][2];
      int n = 0;

      for (int k = 0; k < 3 && n < 2; k++)
        {
          guint a = self->corners[3 * t + k], b = self->corners[3 * t + (k + 1) % 3];
          double share;

          if ((self->value[a] < level) == (self->value[b] < level))
            continue;
          share = (level - self->value[a]) / (self->value[b] - self->value[a]);
          at[n][0] = self->xy[2 * a] + share * (self->xy[2 * b] - self->xy[2 * a]);
          at[n][1] = self->xy[2 * a + 1] + share * (self->xy[2 * b + 1] - self->xy[2 * a + 1]);
          n++;
        }
      if (n == 2)
        {
          Piece piece = { at[0][0], at[0][1], at[1][0], at[1][1] };

          g_array_append_val (pieces, piece);
        }
    }
  return pieces;
}

static void
set_contour_line (cairo_t *cr, const EfDrawStyle *style, int sign)
{
  double dash[2] = { 5 * style->line_scale, 3.5 * style->line_scale };

  ef_draw_set_ink (cr, style, sign > 0 ? EF_INK_DELIVERY : sign < 0 ? EF_INK_SUCTION : EF_INK_TEXT, 1);
  ef_draw_set_width (cr, style, sign == 0 ? 2 : 1.1);
  cairo_set_dash (cr, dash, sign < 0 ? 2 : 0, 0);
}

static gboolean
on_material (const Flat *self, double x, double y)
{
  double u, v;

  ef_face_view_to_chart (&self->view, x, y, &u, &v);
  return ef_region_contains (self->chart->solid, u, v);
}

static void
label_level (Flat *self, GArray *pieces, double level)
{
  double size = ef_text_size (self->style, 0.8), apart = 110 * self->style->line_scale, w, h;
  g_autofree char *text = ef_draw_fine (level, self->unit, FALSE);
  g_autoptr (PangoLayout) layout = ef_text_layout (self->cr, self->style, size, 0, text);
  double placed[2][2];
  guint n = 0;

  ef_text_extent (layout, &w, &h);
  for (guint k = 0; k < pieces->len && n < G_N_ELEMENTS (placed); k++)
    {
      /* from the middle outwards */
      guint i = (pieces->len / 2 + (k % 2 == 1 ? pieces->len - (k + 1) / 2 : k / 2)) % pieces->len;
      const Piece *piece = &g_array_index (pieces, Piece, i);
      double x = (piece->x0 + piece->x1) / 2, y = (piece->y0 + piece->y1) / 2;

      if (hypot (piece->x1 - piece->x0, piece->y1 - piece->y0) < 1.2 * w && pieces->len < 200)
        continue;
      if (n > 0 && hypot (x - placed[0][0], y - placed[0][1]) < apart)
        continue;
      if (!on_material (self, x, y) || !ef_occupied_take (&self->occupied, x - w / 2 - 1, y - h / 2, w + 2, h))
        continue;
      ef_text_show (self->cr, self->style, layout, EF_INK_DIM, EF_TEXT_HALO, x, y, 0.5, 0.5);
      placed[n][0] = x;
      placed[n++][1] = y;
    }
}

static void
draw_contours (Flat *self, double most)
{
  int reach = (int) ceil (most / self->step - 1e-9);

  cairo_set_line_cap (self->cr, CAIRO_LINE_CAP_BUTT);
  for (int k = -reach; k <= reach; k++)
    {
      g_autoptr (GArray) pieces = level_pieces (self, k * self->step);

      cairo_new_path (self->cr);
      for (guint i = 0; i < pieces->len; i++)
        {
          const Piece *piece = &g_array_index (pieces, Piece, i);

          cairo_move_to (self->cr, piece->x0, piece->y0);
          cairo_line_to (self->cr, piece->x1, piece->y1);
        }
      set_contour_line (self->cr, self->style, k);
      cairo_stroke (self->cr);
      cairo_set_dash (self->cr, NULL, 0, 0);
    }
}

static void
label_contours (Flat *self, double most)
{
  int reach = (int) ceil (most / self->step - 1e-9);

  for (int k = -reach; k <= reach; k++)
    {
      g_autoptr (GArray) pieces = level_pieces (self, k * self->step);

      label_level (self, pieces, k * self->step);
    }
}

/* --- Points -------------------------------------------------------------------------------------------------------------------- */

static void
draw_marker (cairo_t *cr, const EfDrawStyle *style, int carries, double x, double y, double radius)
{
  cairo_new_path (cr);
  if (carries == 0)
    cairo_arc (cr, x, y, 0.55 * radius, 0, 2 * G_PI);
  else
    {
      double up = carries > 0 ? -1 : 1;

      cairo_move_to (cr, x, y + 1.25 * up * radius);
      cairo_line_to (cr, x + 1.15 * radius, y - 0.75 * up * radius);
      cairo_line_to (cr, x - 1.15 * radius, y - 0.75 * up * radius);
      cairo_close_path (cr);
    }
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 1);
  ef_draw_set_width (cr, style, 3.4);
  cairo_stroke_preserve (cr);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  cairo_fill (cr);
}

static double
marker_radius (const Flat *self)
{
  return (self->form->n > 400 ? 2.5 : 6) * self->style->line_scale;
}

/* The number, bold, with the deviation after it, beside the point where there is room; without the deviation where there's less. */
static void
label_point (Flat *self, const EfFlatPoint *point, double x, double y)
{
  static const double beside[8][2] = { { 1, 0 }, { -1, 0 }, { 0, -1 }, { 0, 1 }, { 0.8, -0.9 }, { -0.8, -0.9 }, { 0.8, 0.9 }, { -0.8, 0.9 } };
  double size = ef_text_size (self->style, 0.85), gap = marker_radius (self) * 1.25 + 2.5 * self->style->line_scale;
  g_autofree char *number = g_strdup_printf ("%u", point->number);
  g_autofree char *value = isnan (point->deviation) ? NULL : ef_draw_fine (point->deviation, self->unit, FALSE);
  g_autofree char *whole = value != NULL ? g_strdup_printf ("%s: %s%s", number, point->deviation > 0 ? "+" : "", value) : g_strdup (number);
  const char *texts[2] = { whole, number };

  for (int t = 0; t < 2; t++)
    {
      EfTextFlags flags = EF_TEXT_HALO | (point->carries != 0 ? EF_TEXT_BOLD : 0);
      g_autoptr (PangoLayout) layout = ef_text_layout (self->cr, self->style, size, flags, texts[t]);
      double w, h;

      ef_text_extent (layout, &w, &h);
      for (guint k = 0; k < G_N_ELEMENTS (beside); k++)
        {
          double left = x + beside[k][0] * gap + (beside[k][0] - 1) / 2 * w;
          double top = y + beside[k][1] * gap + (beside[k][1] - 1) / 2 * h;

          if (fabs (beside[k][0]) < 0.1)
            left = x - w / 2;
          if (fabs (beside[k][1]) < 0.1)
            top = y - h / 2;
          if (!ef_occupied_take (&self->occupied, left, top, w, h))
            continue;
          ef_text_show (self->cr, self->style, layout, EF_INK_TEXT, flags, left, top, 0, 0);
          return;
        }
    }
}

static void
place_of (const Flat *self, const EfFlatPoint *point, double *x, double *y)
{
  ef_face_view_to_screen (&self->view, point->u, point->v, x, y);
}

static void
block_points (Flat *self)
{
  double r = marker_radius (self) * 1.3, x, y;

  for (guint i = 0; i < self->form->n; i++)
    {
      place_of (self, &self->form->points[i], &x, &y);
      ef_occupied_block (&self->occupied, x - r, y - r, 2 * r, 2 * r);
    }
}

/* Those that carry the zone over the others. */
static void
draw_points (Flat *self)
{
  double x, y;

  for (int pass = 0; pass < 2; pass++)
    for (guint i = 0; i < self->form->n; i++)
      if ((self->form->points[i].carries != 0) == (pass == 1))
        {
          place_of (self, &self->form->points[i], &x, &y);
          draw_marker (self->cr, self->style, self->form->points[i].carries, x, y, marker_radius (self));
        }
}

static void
label_points (Flat *self)
{
  double x, y;

  for (int pass = 0; pass < 2; pass++)
    for (guint i = 0; i < self->form->n; i++)
      {
        const EfFlatPoint *point = &self->form->points[i];

        if ((point->carries != 0) != (pass == 0) || (pass == 1 && self->form->n > MOST_LABELS))
          continue;
        place_of (self, point, &x, &y);
        label_point (self, point, x, y);
      }
}

static void
label_sides (Flat *self)
{
  double size = ef_text_size (self->style, 0.8);

  for (guint i = 0; i < self->chart->labels->len; i++)
    {
      const EfChartLabel *label = g_ptr_array_index (self->chart->labels, i);
      gboolean suction = g_strcmp0 (label->role, "suction") == 0;
      const char *words = suction ? _("suction") : _("delivery");
      g_autoptr (PangoLayout) layout = NULL;
      double x, y, w, h;

      if (!suction && g_strcmp0 (label->role, "delivery") != 0)
        continue;
      layout = ef_text_layout (self->cr, self->style, size, 0, words);
      ef_text_extent (layout, &w, &h);
      ef_face_view_to_screen (&self->view, label->u, label->v, &x, &y);
      if (ef_occupied_take (&self->occupied, x - w / 2, y - h / 2, w, h))
        ef_text_show (self->cr, self->style, layout, suction ? EF_INK_SUCTION : EF_INK_DELIVERY, EF_TEXT_HALO, x, y, 0.5, 0.5);
    }
}

/* --- Words around it --------------------------------------------------------------------------------------------------------------- */

static char *
headline (const EfFlatForm *form, EfUnit unit)
{
  g_autofree char *zone = NULL;
  g_autofree char *limit = NULL;

  if (!form->known)
    return ef_draw_flat_words (form, unit);
  zone = ef_format_quantity (form->zone, unit, -1);
  if (!isfinite (form->limit))
    return g_strdup_printf (_("Minimum zone %s; no limit given"), zone);
  limit = ef_format_quantity (form->limit, unit, -1);
  return g_strdup_printf (_("Minimum zone %s, limit %s"), zone, limit);
}

typedef enum { SIGN_UPPER, SIGN_LOWER, SIGN_ABOVE, SIGN_MIDDLE, SIGN_BELOW, N_SIGNS } Sign;

static void
draw_sign (cairo_t *cr, const EfDrawStyle *style, Sign sign, double x, double y, double length)
{
  static const int signs[N_SIGNS] = { 1, -1, 1, 0, -1 };

  if (sign == SIGN_UPPER || sign == SIGN_LOWER)
    {
      draw_marker (cr, style, signs[sign], x + length / 2, y, 5 * style->line_scale);
      return;
    }
  cairo_save (cr);
  set_contour_line (cr, style, signs[sign]);
  cairo_move_to (cr, x, y);
  cairo_line_to (cr, x + length, y);
  cairo_stroke (cr);
  cairo_restore (cr);
}

/* In rows as wide as there is room, from the top; with @draw FALSE it only measures. Returns the height. */
static double
legend (cairo_t *cr, const EfDrawStyle *style, const char *closing, double y, double width, gboolean draw)
{
  const char *words[N_SIGNS] = { _("carries the zone, above"), _("carries the zone, below"), _("above the middle plane"), _("middle plane"), _("below") };
  double size = ef_text_size (style, 0.82), row = 1.55 * size, left = 0.5 * size, at = left, top = y;
  g_autoptr (PangoLayout) last = ef_text_layout (cr, style, size, 0, closing);
  double h;

  for (int sign = 0; sign < N_SIGNS; sign++)
    {
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, size, 0, words[sign]);
      double sample = sign <= SIGN_LOWER ? 1.2 * size : 2.2 * size, w;

      ef_text_extent (layout, &w, NULL);
      if (at > left && at + sample + 0.4 * size + w > width - left)
        {
          at = left;
          top += row;
        }
      if (draw)
        {
          draw_sign (cr, style, sign, at, top + row / 2, sample);
          ef_text_show (cr, style, layout, EF_INK_TEXT, 0, at + sample + 0.4 * size, top + row / 2, 0, 0.5);
        }
      at += sample + 0.4 * size + w + 1.2 * size;
    }
  top += row;
  ef_text_wrap (last, width - 2 * left, 0);
  ef_text_extent (last, NULL, &h);
  if (draw)
    ef_text_show (cr, style, last, EF_INK_DIM, 0, left, top + 0.2 * size, 0, 0);
  return top + h + 0.4 * size - y;
}

/* Quieter than the ground of the map: material, holes, ports and pockets alone. */
static void
draw_ground (const Flat *self)
{
  cairo_save (self->cr);
  cairo_set_fill_rule (self->cr, CAIRO_FILL_RULE_EVEN_ODD);
  ef_path_region (self->cr, &self->view, self->chart->solid);
  ef_draw_set_ink (self->cr, self->style, EF_INK_MATERIAL, self->style->print ? 0.5 : 0.8);
  cairo_fill (self->cr);
  for (guint i = 0; i < self->chart->lines->len; i++)
    {
      const EfChartLine *line = g_ptr_array_index (self->chart->lines, i);

      if (line->kind != EF_LINE_POCKET && line->kind != EF_LINE_PORT)
        continue;
      ef_path_ring (self->cr, &self->view, &line->path, line->closed);
      ef_draw_set_ink (self->cr, self->style, EF_INK_FAINT, 1);
      ef_draw_set_width (self->cr, self->style, 0.8);
      cairo_stroke (self->cr);
    }
  cairo_restore (self->cr);
}

static void
draw_outline (const Flat *self)
{
  cairo_new_path (self->cr);
  ef_path_region (self->cr, &self->view, self->chart->solid);
  ef_draw_set_ink (self->cr, self->style, EF_INK_EDGE, 1);
  ef_draw_set_width (self->cr, self->style, 1);
  cairo_stroke (self->cr);
}

static void
draw_face (Flat *self, double top, double width, double height)
{
  double most = 0;

  cairo_save (self->cr);
  cairo_rectangle (self->cr, 0, top, width, height);
  cairo_clip (self->cr);
  ef_face_view_fit (&self->view, self->chart, width, height, 1.4 * self->style->text_size);
  self->view.y0 += top;
  draw_ground (self);
  if (self->form->known)
    {
      take_points (self);
      for (guint i = 0; i < self->n; i++)
        most = MAX (most, fabs (self->value[i]));
      self->step = contour_step (self->form, self->unit);
      if (most > 0)
        {
          cairo_save (self->cr);
          cairo_new_path (self->cr);
          cairo_set_fill_rule (self->cr, CAIRO_FILL_RULE_EVEN_ODD);
          ef_path_region (self->cr, &self->view, self->chart->solid);
          cairo_clip (self->cr);
          fill_bands (self, most);
          draw_contours (self, most);
          cairo_restore (self->cr);
        }
    }
  draw_outline (self);
  ef_occupied_init (&self->occupied, 0, top, width, height, 2 * self->style->line_scale);
  block_points (self);
  draw_points (self);
  label_points (self);
  label_sides (self);
  if (self->form->known && most > 0)
    label_contours (self, most);
  ef_occupied_clear (&self->occupied);
  cairo_restore (self->cr);
}

void
ef_draw_flat_form (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfFlatForm *form, EfUnit unit, double width, double height)
{
  Flat flat = { .cr = cr, .style = style, .chart = chart, .form = form, .unit = unit };
  double size = style->text_size, top, bottom = 0;
  g_autofree char *head = headline (form, unit);
  g_autofree char *step = NULL;
  g_autofree char *closing = NULL;
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, size, EF_TEXT_BOLD, head);
  gboolean words;

  cairo_save (cr);
  ef_text_wrap (layout, width - size, 2);
  ef_text_extent (layout, NULL, &top);
  top += 0.5 * size;
  step = ef_draw_fine (contour_step (form, unit), unit, TRUE);
  closing = g_strdup_printf (_("Contours every %s; at each place its number and deviation from the middle plane in %s. Straight between neighbouring places (Delaunay)."),
                             step, ef_unit_symbol (ef_draw_fine_unit (unit)));
  if (form->known)
    bottom = legend (cr, style, closing, 0, width, FALSE);
  words = form->known && height - top - bottom > 0.45 * height;
  if (!words)
    bottom = 0;
  draw_face (&flat, top, width, MAX (height - top - bottom, 1));
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, 0.5 * size, 0.25 * size, 0, 0);
  if (words)
    legend (cr, style, closing, height - bottom, width, TRUE);
  g_free (flat.xy);
  g_free (flat.value);
  g_free (flat.corners);
  cairo_restore (cr);
}
