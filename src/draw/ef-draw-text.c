/* Words on pictures, by Pango, and the record of where words already stand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-text.h"

#include <math.h>
#include <string.h>

PangoFontDescription *
ef_text_font (const EfDrawStyle *style, double size, EfTextFlags flags)
{
  PangoFontDescription *font = pango_font_description_from_string (style->font != NULL ? style->font : "Sans");

  pango_font_description_set_absolute_size (font, size * PANGO_SCALE);
  if (flags & EF_TEXT_BOLD)
    pango_font_description_set_weight (font, PANGO_WEIGHT_BOLD);
  return font;
}

PangoLayout *
ef_text_layout (cairo_t *cr, const EfDrawStyle *style, double size, EfTextFlags flags, const char *text)
{
  PangoLayout *layout = pango_cairo_create_layout (cr);
  PangoFontDescription *font = ef_text_font (style, size, flags);

  pango_layout_set_font_description (layout, font);
  pango_font_description_free (font);
  pango_layout_set_text (layout, text != NULL ? text : "", -1);
  if (flags & EF_TEXT_CENTRE)
    pango_layout_set_alignment (layout, PANGO_ALIGN_CENTER);
  return layout;
}

/* What is broken within a word may be a digest or a number: a hyphen there would pass for one of its own. */
static void
break_without_hyphens (PangoLayout *layout)
{
  PangoAttrList *list = pango_attr_list_new ();

  pango_attr_list_insert (list, pango_attr_insert_hyphens_new (FALSE));
  pango_layout_set_attributes (layout, list);
  pango_attr_list_unref (list);
}

void
ef_text_wrap (PangoLayout *layout, double width, int lines)
{
  break_without_hyphens (layout);
  pango_layout_set_width (layout, MAX (width, 1) * PANGO_SCALE);
  pango_layout_set_wrap (layout, PANGO_WRAP_WORD_CHAR);
  if (lines > 0)
    {
      pango_layout_set_height (layout, -lines);
      pango_layout_set_ellipsize (layout, PANGO_ELLIPSIZE_END);
    }
}

void
ef_text_extent (PangoLayout *layout, double *width, double *height)
{
  int w, h;

  pango_layout_get_size (layout, &w, &h);
  if (width != NULL)
    *width = (double) w / PANGO_SCALE;
  if (height != NULL)
    *height = (double) h / PANGO_SCALE;
}

void
ef_text_show (cairo_t *cr, const EfDrawStyle *style, PangoLayout *layout, EfInk ink, EfTextFlags flags, double x, double y, double align_x, double align_y)
{
  double w, h;

  ef_text_extent (layout, &w, &h);
  if (pango_layout_get_width (layout) > 0)
    w = (double) pango_layout_get_width (layout) / PANGO_SCALE;
  x -= align_x * w;
  y -= align_y * h;
  cairo_save (cr);
  if (flags & EF_TEXT_HALO)
    {
      cairo_move_to (cr, x, y);
      pango_cairo_layout_path (cr, layout);
      ef_draw_set_ink (cr, style, EF_INK_PAPER, 0.85);
      cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
      cairo_set_line_width (cr, 3 * style->line_scale);
      cairo_stroke (cr);
    }
  ef_draw_set_ink (cr, style, ink, 1);
  cairo_move_to (cr, x, y);
  pango_cairo_show_layout (cr, layout);
  cairo_new_path (cr);
  cairo_restore (cr);
}

void
ef_text_put (cairo_t *cr, const EfDrawStyle *style, double size, EfTextFlags flags, EfInk ink, const char *text, double x, double y, double align_x, double align_y)
{
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, size, flags, text);

  ef_text_show (cr, style, layout, ink, flags, x, y, align_x, align_y);
}

double
ef_text_size (const EfDrawStyle *style, double share)
{
  return MAX (style->text_size * share, style->print ? 6.5 : 10);
}

char *
ef_text_mm (double metres, double step)
{
  double mm = metres * 1e3;
  int decimals = 0;

  step = fabs (step) * 1e3;
  while (decimals < 4 && fabs (step * pow (10, decimals) - rint (step * pow (10, decimals))) > 1e-6)
    decimals++;
  if (fabs (mm) < 0.5 * pow (10, -decimals))
    mm = 0;
  return g_strdup_printf ("%.*f", decimals, mm);
}

void
ef_occupied_init (EfOccupied *self, double x, double y, double w, double h, double cell)
{
  self->x = x;
  self->y = y;
  self->w = CLAMP (w, 0, 2e4);
  self->h = CLAMP (h, 0, 2e4);
  self->cell = cell;
  self->nx = (guint) ceil (self->w / cell) + 1;
  self->ny = (guint) ceil (self->h / cell) + 1;
  self->taken = g_malloc0 ((gsize) self->nx * self->ny);
}

static gboolean
cells_of (EfOccupied *self, double x, double y, double w, double h, int span[4])
{
  gboolean inside = x >= self->x && y >= self->y && x + w <= self->x + self->w && y + h <= self->y + self->h;

  if (!(x + w > self->x && y + h > self->y && x < self->x + self->w && y < self->y + self->h))
    {
      span[0] = span[1] = 0;
      span[2] = span[3] = -1;
      return FALSE;
    }
  span[0] = (int) floor ((MAX (x, self->x) - self->x) / self->cell);
  span[1] = (int) floor ((MAX (y, self->y) - self->y) / self->cell);
  span[2] = MIN ((int) floor ((MIN (x + w, self->x + self->w) - self->x) / self->cell), (int) self->nx - 1);
  span[3] = MIN ((int) floor ((MIN (y + h, self->y + self->h) - self->y) / self->cell), (int) self->ny - 1);
  return inside;
}

gboolean
ef_occupied_take (EfOccupied *self, double x, double y, double w, double h)
{
  int span[4];

  if (!cells_of (self, x, y, w, h, span))
    return FALSE;
  for (int j = span[1]; j <= span[3]; j++)
    for (int i = span[0]; i <= span[2]; i++)
      if (self->taken[(gsize) j * self->nx + i])
        return FALSE;
  ef_occupied_block (self, x, y, w, h);
  return TRUE;
}

void
ef_occupied_block (EfOccupied *self, double x, double y, double w, double h)
{
  int span[4];

  cells_of (self, x, y, w, h, span);
  for (int j = span[1]; j <= span[3]; j++)
    memset (self->taken + (gsize) j * self->nx + span[0], 1, span[2] >= span[0] ? span[2] - span[0] + 1 : 0);
}

void
ef_occupied_clear (EfOccupied *self)
{
  g_clear_pointer (&self->taken, g_free);
}
