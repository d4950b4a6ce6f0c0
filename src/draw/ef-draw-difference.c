/* What differs between two states of one face, as one picture.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Marks that are the same in both are left out, so that what differs isn't lost among them.
 */
#include "ef-draw-difference.h"
#include "ef-draw-text.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

/* Hues of CIELAB that eyes without red or green receptors still tell apart; lightness runs with the amount either way. */
#define HUE_DEEPER 50.0
#define HUE_SHALLOWER 265.0
#define CHANGE_CHROMA 45.0
/* The least of the scale that a changed cell is drawn with: a small change is still seen. */
#define LEAST_SHARE 0.3

static const EfMark *
mark_on (const EfInspection *inspection, const char *id, const char *face_id)
{
  const EfMark *mark = ef_inspection_find (inspection, EF_ITEM_MARK, id);

  return mark != NULL && g_str_equal (mark->face_id, face_id) ? mark : NULL;
}

/* A mark has one line in the list for each field that differs. */
static void
collect_marks (EfFaceDifference *self, const EfInspection *before, const EfInspection *after, GPtrArray *differences, const char *face_id)
{
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; i < differences->len; i++)
    {
      const EfDifference *one = g_ptr_array_index (differences, i);
      const EfMark *was, *is;

      if (one->kind != EF_ITEM_MARK || *one->id == '\0' || !g_hash_table_add (seen, one->id))
        continue;
      was = mark_on (before, one->id, face_id);
      is = mark_on (after, one->id, face_id);
      if (was != NULL)
        g_ptr_array_add (self->before, (gpointer) was);
      if (is != NULL)
        g_ptr_array_add (self->after, (gpointer) is);
      self->n_removed += was != NULL && is == NULL;
      self->n_added += was == NULL && is != NULL;
      self->n_changed += was != NULL && is != NULL;
    }
}

/* Both maps lie on one base, so their cells are the same. */
static void
take_change (EfFaceDifference *self, const EfDepthMap *was)
{
  const EfDepthMap *is = self->grid;
  gsize n = (gsize) is->nu * is->nv;

  self->change = g_new (float, n);
  for (gsize k = 0; k < n; k++)
    {
      self->change[k] = is->cover[k] * is->depth[k] - was->cover[k] * was->depth[k];
      self->greatest = MAX (self->greatest, fabs (self->change[k]));
      self->volume += self->change[k] * is->cell * is->cell;
    }
}

EfFaceDifference *
ef_face_difference_new (const EfInspection *before, const EfInspection *after, GPtrArray *differences, const char *face_id, GCancellable *cancellable, GError **error)
{
  g_autoptr (EfFaceDifference) self = g_new0 (EfFaceDifference, 1);
  g_autoptr (GPtrArray) all_before = ef_inspection_face_marks (before, face_id);
  g_autoptr (GPtrArray) all_after = ef_inspection_face_marks (after, face_id);
  g_autoptr (EfDepthBase) base = NULL;
  g_autoptr (EfDepthMap) was = NULL;

  self->before = g_ptr_array_new ();
  self->after = g_ptr_array_new ();
  self->chart = ef_face_chart_new (after->sheet, face_id, error);
  base = self->chart != NULL ? ef_depth_base_new (self->chart, 0, error) : NULL;
  if (base == NULL)
    return NULL;
  was = ef_depth_map_new_on (base, self->chart, (EfMark *const *) all_before->pdata, all_before->len, cancellable, error);
  if (was != NULL)
    self->grid = ef_depth_map_new_on (base, self->chart, (EfMark *const *) all_after->pdata, all_after->len, cancellable, error);
  if (self->grid == NULL)
    return NULL;

  collect_marks (self, before, after, differences, face_id);
  self->n_same = all_after->len - self->after->len;
  take_change (self, was);

  return g_steal_pointer (&self);
}

void
ef_face_difference_free (EfFaceDifference *self)
{
  if (self == NULL)
    return;

  g_clear_pointer (&self->chart, ef_face_chart_unref);
  g_clear_pointer (&self->grid, ef_depth_map_unref);
  g_ptr_array_unref (self->before);
  g_ptr_array_unref (self->after);
  g_free (self->change);
  g_free (self);
}

GPtrArray *
ef_face_difference_faces (const EfInspection *before, const EfInspection *after, GPtrArray *differences)
{
  GPtrArray *faces = g_ptr_array_new_with_free_func (g_free);

  for (guint i = 0; i < differences->len; i++)
    {
      const EfDifference *one = g_ptr_array_index (differences, i);

      for (guint k = 0; one->kind == EF_ITEM_MARK && k < 2; k++)
        {
          const EfMark *mark = ef_inspection_find (k == 0 ? before : after, EF_ITEM_MARK, one->id);

          if (mark != NULL && !g_ptr_array_find_with_equal_func (faces, mark->face_id, g_str_equal, NULL))
            g_ptr_array_add (faces, g_strdup (mark->face_id));
        }
    }

  return faces;
}

char *
ef_face_difference_words (const EfFaceDifference *self)
{
  GString *words = g_string_new (NULL);

  if (self->n_removed > 0)
    g_string_append_printf (words, g_dngettext (GETTEXT_PACKAGE, "%u mark removed, ", "%u marks removed, ", self->n_removed), self->n_removed);
  if (self->n_added > 0)
    g_string_append_printf (words, g_dngettext (GETTEXT_PACKAGE, "%u mark added, ", "%u marks added, ", self->n_added), self->n_added);
  if (self->n_changed > 0)
    g_string_append_printf (words, g_dngettext (GETTEXT_PACKAGE, "%u mark changed, ", "%u marks changed, ", self->n_changed), self->n_changed);
  g_string_append_printf (words, _("%u the same. "), self->n_same);
  if (self->greatest > 0)
    g_string_append_printf (words, self->volume >= 0 ? _("%.3g mm³ more worn away.") : _("%.3g mm³ less worn away."), fabs (self->volume) * 1e9);
  else
    g_string_append (words, _("No depth differs."));

  return g_string_free (words, FALSE);
}

void
ef_draw_change_colour (double share, gboolean dark, double rgb[3])
{
  double amount = isfinite (share) ? MIN (fabs (share), 1) : 0;
  double hue = (share < 0 ? HUE_SHALLOWER : HUE_DEEPER) * G_PI / 180;
  double lightness = dark ? 35 + 40 * amount : 90 - 45 * amount;
  double lab[3] = { lightness, CHANGE_CHROMA * amount * cos (hue), CHANGE_CHROMA * amount * sin (hue) };

  ef_lab_to_rgb (lab, rgb);
}

/* The change that is largest either way among the cells that one pixel stands for. */
static float
largest_of (const EfFaceDifference *self, guint i0, guint j0, guint step)
{
  float largest = 0;

  for (guint j = j0; j < MIN (j0 + step, self->grid->nv); j++)
    for (guint i = i0; i < MIN (i0 + step, self->grid->nu); i++)
      {
        float change = self->change[(gsize) j * self->grid->nu + i];

        if (fabsf (change) > fabsf (largest))
          largest = change;
      }

  return largest;
}

static guint32
change_pixel (const EfFaceDifference *self, float change, gboolean dark)
{
  double share = change / self->greatest, rgb[3];

  /* What rounding leaves where two ways of adding up meet is no change. */
  if (fabs (share) < 1e-4)
    return 0;
  ef_draw_change_colour (copysign (LEAST_SHARE + (1 - LEAST_SHARE) * fabs (share), share), dark, rgb);

  return 0xff000000u | (guint32) rint (255 * rgb[0]) << 16 | (guint32) rint (255 * rgb[1]) << 8 | (guint32) rint (255 * rgb[2]);
}

static void
draw_change (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceDifference *self)
{
  const EfDepthMap *grid = self->grid;
  guint step = MAX ((guint) floor (1 / (grid->cell * view->scale)), 1);
  guint nu = (grid->nu + step - 1) / step, nv = (grid->nv + step - 1) / step;
  cairo_surface_t *image = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, nu, nv);
  guint8 *data = cairo_image_surface_get_data (image);
  int stride = cairo_image_surface_get_stride (image);
  double x, y;

  if (data == NULL || !(self->greatest > 0))
    {
      cairo_surface_destroy (image);
      return;
    }
  cairo_surface_flush (image);
  for (guint j = 0; j < nv; j++)
    for (guint i = 0; i < nu; i++)
      ((guint32 *) (data + (gsize) (nv - 1 - j) * stride))[i] = change_pixel (self, largest_of (self, i * step, j * step, step), style->dark);
  cairo_surface_mark_dirty (image);
  ef_face_view_to_screen (view, grid->u0, grid->v0 + nv * step * grid->cell, &x, &y);
  cairo_save (cr);
  cairo_translate (cr, x, y);
  cairo_scale (cr, step * grid->cell * view->scale, step * grid->cell * view->scale);
  cairo_set_source_surface (cr, image, 0, 0);
  cairo_pattern_set_filter (cairo_get_source (cr), CAIRO_FILTER_NEAREST);
  cairo_paint (cr);
  cairo_restore (cr);
  cairo_surface_destroy (image);
}

/* Beside the mark's middle rather than on it, at the first free place. */
static void
put_number (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, EfOccupied *occupied, const EfMark *mark, const char *sign)
{
  static const double around[][2] = { { 1, 0 }, { -1, 0 }, { 0, -1 }, { 0, 1 }, { 1, -1 }, { -1, -1 }, { 1, 1 }, { -1, 1 } };
  double size = ef_text_size (style, 0.9), bounds[4], x, y, w, h;
  g_autofree char *text = g_strdup_printf ("%s%d", sign, mark->number);
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, size, EF_TEXT_BOLD | EF_TEXT_HALO, text);

  ef_mark_bounds (mark, bounds);
  ef_face_view_to_screen (view, (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2, &x, &y);
  ef_text_extent (layout, &w, &h);
  for (guint ring = 1; ring <= 3; ring++)
    for (guint k = 0; k < G_N_ELEMENTS (around); k++)
      {
        double cx = x + around[k][0] * ring * 1.2 * w, cy = y + around[k][1] * ring * 1.2 * h;

        if (ef_occupied_take (occupied, cx - w / 2, cy - h / 2, w, h))
          {
            ef_text_show (cr, style, layout, EF_INK_TEXT, EF_TEXT_BOLD | EF_TEXT_HALO, cx, cy, 0.5, 0.5);
            return;
          }
      }
}

static gboolean
has_mark (GPtrArray *marks, const EfMark *mark)
{
  for (guint i = 0; i < marks->len; i++)
    if (g_str_equal (((const EfMark *) g_ptr_array_index (marks, i))->item.id, mark->item.id))
      return TRUE;

  return FALSE;
}

static void
draw_marks (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceDifference *self, double width, double height)
{
  EfFaceLayers layers = { 0 };
  EfOccupied occupied;

  ef_draw_face_marks (cr, style, view, self->chart, (EfMark *const *) self->before->pdata, self->before->len, &layers, NULL);
  ef_draw_face_marks (cr, style, view, self->chart, (EfMark *const *) self->after->pdata, self->after->len, &layers, NULL);
  ef_occupied_init (&occupied, 0, 0, width, height, 4 * style->line_scale);
  for (guint i = 0; i < self->after->len; i++)
    {
      const EfMark *mark = g_ptr_array_index (self->after, i);

      put_number (cr, style, view, &occupied, mark, has_mark (self->before, mark) ? "" : "+");
    }
  for (guint i = 0; i < self->before->len; i++)
    {
      const EfMark *mark = g_ptr_array_index (self->before, i);

      if (!has_mark (self->after, mark))
        put_number (cr, style, view, &occupied, mark, "−");
    }
  ef_occupied_clear (&occupied);
}

/* From shallower to deeper; (x, y) is its left upper corner. */
static void
draw_scale (cairo_t *cr, const EfDrawStyle *style, const EfFaceDifference *self, double x, double y, double width)
{
  double size = ef_text_size (style, 0.85), band = size, by = y + 1.4 * size;
  g_autofree char *end = ef_text_mm (self->greatest, self->greatest / 10);
  g_autofree char *less = g_strdup_printf ("−%s mm", end);
  g_autofree char *more = g_strdup_printf ("+%s mm", end);
  int n = 64;

  for (int k = 0; k < n; k++)
    {
      double rgb[3];

      ef_draw_change_colour (2 * (k + 0.5) / n - 1, style->dark, rgb);
      cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
      cairo_rectangle (cr, x + width * k / n, by, MIN (width / n * 1.6, width * (n - k) / n), band);
      cairo_fill (cr);
    }
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 0.8);
  cairo_rectangle (cr, x, by, width, band);
  cairo_stroke (cr);
  ef_text_put (cr, style, size, 0, EF_INK_DIM, _("shallower now"), x, y, 0, 0);
  ef_text_put (cr, style, size, 0, EF_INK_DIM, _("deeper now"), x + width, y, 1, 0);
  ef_text_put (cr, style, size, 0, EF_INK_TEXT, less, x, by + band + 0.2 * size, 0, 0);
  ef_text_put (cr, style, size, 0, EF_INK_TEXT, "0", x + width / 2, by + band + 0.2 * size, 0.5, 0);
  ef_text_put (cr, style, size, 0, EF_INK_TEXT, more, x + width, by + band + 0.2 * size, 1, 0);
}

void
ef_draw_face_difference (cairo_t *cr, const EfDrawStyle *style, const EfFaceDifference *self, double width, double height)
{
  double size = ef_text_size (style, 0.85), foot = 4.5 * size;
  double scale_width = MIN (0.5 * width, 26 * size);
  EfFaceLayers layers = { .labels = TRUE };
  EfFaceView view;

  cairo_save (cr);
  ef_face_view_fit (&view, self->chart, width, MAX (height - foot, 1), 1.2 * size);
  ef_draw_face_ground (cr, style, &view, self->chart, &layers);
  draw_change (cr, style, &view, self);
  draw_marks (cr, style, &view, self, width, MAX (height - foot, 1));
  ef_draw_scale_bar (cr, style, &view, 0.5 * size, height - 0.4 * size, MIN (0.35 * width, 14 * size));
  if (self->greatest > 0)
    draw_scale (cr, style, self, width - scale_width - 0.5 * size, height - foot + 0.2 * size, scale_width);
  cairo_restore (cr);
}
