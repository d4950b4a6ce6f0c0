/* The exploded pump, drawn: parts on their axes, each tinted by its verdict, with names and sections.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-exploded-private.h"

#include <math.h>
#include <string.h>

typedef struct
{
  const EfExploded *self;
  cairo_t *cr;
  const EfDrawStyle *style;
  const EfVerdict *verdict;
  const char *selected, *focus;
} Drawing;

static const EfVerdict *
verdict_of (const Drawing *d, const EfExplodedItem *item)
{
  g_autofree char *id = NULL;

  if (d->verdict == NULL)
    return NULL;
  id = g_strconcat ("part:", item->part->id, NULL);
  return ef_verdict_find (d->verdict, id);
}

static void
set_tinted (const Drawing *d, const EfExplodedItem *item, EfInk ink)
{
  const EfVerdict *verdict = verdict_of (d, item);
  double rgb[3], tint[3];

  ef_draw_ink (d->style, ink, rgb);
  if (verdict != NULL)
    {
      ef_draw_verdict_colour (verdict->word, d->style, tint);
      ef_draw_mix (rgb, tint, d->style->dark ? 0.34 : 0.28);
    }
  cairo_set_source_rgb (d->cr, rgb[0], rgb[1], rgb[2]);
}

static void
ring_path (const Drawing *d, const EfExplodedItem *item, const EfRing *ring, double z)
{
  for (guint i = 0; i < ring->n; i++)
    {
      double x, y;

      ef_exploded_point (d->self, item, ring->xy[2 * i], ring->xy[2 * i + 1], z, &x, &y);
      if (i == 0)
        cairo_move_to (d->cr, x, y);
      else
        cairo_line_to (d->cr, x, y);
    }
  cairo_close_path (d->cr);
}

/* The ring swept back from z0 to z1: one quad an edge, all turned the same way, so that filling by winding unites them. */
static void
sweep_path (const Drawing *d, const EfExplodedItem *item, const EfRing *ring, double z0, double z1)
{
  for (guint i = 0; i < ring->n; i++)
    {
      guint j = (i + 1) % ring->n;
      double x[4], y[4], area = 0;

      ef_exploded_point (d->self, item, ring->xy[2 * i], ring->xy[2 * i + 1], z0, &x[0], &y[0]);
      ef_exploded_point (d->self, item, ring->xy[2 * j], ring->xy[2 * j + 1], z0, &x[1], &y[1]);
      ef_exploded_point (d->self, item, ring->xy[2 * j], ring->xy[2 * j + 1], z1, &x[2], &y[2]);
      ef_exploded_point (d->self, item, ring->xy[2 * i], ring->xy[2 * i + 1], z1, &x[3], &y[3]);
      for (int k = 0; k < 4; k++)
        area += x[k] * y[(k + 1) % 4] - x[(k + 1) % 4] * y[k];
      for (int k = 0; k < 4; k++)
        {
          int m = area >= 0 ? k : 3 - k;

          if (k == 0)
            cairo_move_to (d->cr, x[m], y[m]);
          else
            cairo_line_to (d->cr, x[m], y[m]);
        }
      cairo_close_path (d->cr);
    }
}

/* The outer edge swept back and its back face, outlined once round. */
static void
draw_bulk (const Drawing *d, const EfExplodedItem *item, double width, gboolean glow)
{
  const EfRing *edge = &item->plan->rings[0];

  cairo_set_fill_rule (d->cr, CAIRO_FILL_RULE_WINDING);
  for (int pass = glow ? 1 : 0; pass < (glow ? 2 : 2); pass++)
    {
      sweep_path (d, item, edge, 0, item->thickness);
      if (pass == 0)
        {
          ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 1);
          ef_draw_set_width (d->cr, d->style, 2 * width);
          cairo_stroke (d->cr);
          ring_path (d, item, edge, item->thickness);
          cairo_stroke (d->cr);
        }
      else if (glow)
        {
          ef_draw_set_ink (d->cr, d->style, EF_INK_ACCENT, 1);
          ef_draw_set_width (d->cr, d->style, width);
          cairo_stroke (d->cr);
          ring_path (d, item, edge, item->thickness);
          cairo_stroke (d->cr);
          ring_path (d, item, edge, 0);
          cairo_stroke (d->cr);
        }
      else
        {
          set_tinted (d, item, EF_INK_SIDE);
          cairo_fill (d->cr);
          ring_path (d, item, edge, item->thickness);
          cairo_fill (d->cr);
        }
    }
}

static void
draw_pocket (const Drawing *d, const EfExplodedItem *item)
{
  double depth = item->section != NULL ? item->section->pocket_depth : 0.6 * item->thickness;

  if (!item->pocket_in_front)
    {
      double dash[2] = { 4 * d->style->line_scale, 3 * d->style->line_scale };

      for (guint i = 0; i < item->pocket->n; i++)
        ring_path (d, item, &item->pocket->rings[i], 0);
      cairo_set_dash (d->cr, dash, 2, 0);
      ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 0.8);
      ef_draw_set_width (d->cr, d->style, 0.8);
      cairo_stroke (d->cr);
      cairo_set_dash (d->cr, NULL, 0, 0);
      return;
    }
  cairo_save (d->cr);
  for (guint i = 0; i < item->pocket->n; i++)
    ring_path (d, item, &item->pocket->rings[i], 0);
  cairo_clip_preserve (d->cr);
  set_tinted (d, item, EF_INK_SIDE);
  cairo_fill (d->cr);
  for (guint i = 0; i < item->pocket->n; i++)
    ring_path (d, item, &item->pocket->rings[i], depth);
  set_tinted (d, item, EF_INK_RECESS);
  cairo_fill_preserve (d->cr);
  ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 0.8);
  ef_draw_set_width (d->cr, d->style, 0.8);
  cairo_stroke (d->cr);
  /* shaft bores in the floor */
  for (guint i = 0; item->part->bores != NULL && i < item->part->bores->len && item->section != NULL; i++)
    {
      const EfCylinder *bore = &g_array_index (item->part->bores, EfCylinder, i);
      double x = (bore->axis == 0 ? -0.5 : 0.5) * item->section->pair.in.centre_distance;
      EfRing ring = ef_ring_circle (x, 0, bore->diameter / 2, 32);

      ring_path (d, item, &ring, depth);
      ef_draw_set_ink (d->cr, d->style, EF_INK_PAPER, 1);
      cairo_fill_preserve (d->cr);
      ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 1);
      cairo_stroke (d->cr);
      ef_ring_clear (&ring);
    }
  cairo_restore (d->cr);
  for (guint i = 0; i < item->pocket->n; i++)
    ring_path (d, item, &item->pocket->rings[i], 0);
  ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 1);
  ef_draw_set_width (d->cr, d->style, 1);
  cairo_stroke (d->cr);
}

/* True when ring @i of the plan lies inside the open pocket: the pocket then shows it on its floor. */
static gboolean
in_open_pocket (const EfExplodedItem *item, guint i)
{
  const EfRing *ring = &item->plan->rings[i];

  return i > 0 && item->pocket != NULL && item->pocket_in_front && ring->n > 0 && ef_region_contains (item->pocket, ring->xy[0], ring->xy[1]);
}

static void
draw_face (const Drawing *d, const EfExplodedItem *item)
{
  for (guint i = 0; i < item->plan->n; i++)
    if (!in_open_pocket (item, i))
      ring_path (d, item, &item->plan->rings[i], 0);
  cairo_set_fill_rule (d->cr, CAIRO_FILL_RULE_EVEN_ODD);
  set_tinted (d, item, EF_INK_MATERIAL);
  cairo_fill_preserve (d->cr);
  ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 1);
  ef_draw_set_width (d->cr, d->style, 1);
  cairo_stroke (d->cr);
  /* through the holes: the dark inside */
  for (guint i = 1; i < item->plan->n; i++)
    if (!in_open_pocket (item, i))
      {
        ring_path (d, item, &item->plan->rings[i], 0);
        ef_draw_set_ink (d->cr, d->style, item->part->kind == EF_PART_PLATE ? EF_INK_PAPER : EF_INK_EDGE, item->part->kind == EF_PART_PLATE ? 1 : 0.55);
        cairo_fill_preserve (d->cr);
        ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 1);
        cairo_stroke (d->cr);
      }
  if (item->pocket != NULL)
    draw_pocket (d, item);
}

/* Shafts: a rod with its journals' ends and keyways. */
static void
draw_shaft_detail (const Drawing *d, const EfExplodedItem *item)
{
  const EfPart *part = item->part;
  double x = (item->box[0] + item->box[2]) / 2, r = (item->box[2] - item->box[0]) / 2;
  double shrink = item->thickness / MAX (part->thickness, 1e-6);

  ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 1);
  ef_draw_set_width (d->cr, d->style, 0.8);
  for (guint i = 0; part->journals != NULL && i < part->journals->len; i++)
    {
      const EfCylinder *journal = &g_array_index (part->journals, EfCylinder, i);

      for (int end = 0; end < 2; end++)
        {
          double z = CLAMP (shrink * (journal->z + end * journal->length), 0, item->thickness);

          /* the half of the circle that faces the viewer's side */
          for (int k = 0; k <= 16; k++)
            {
              double t = -G_PI / 2 + G_PI * k / 16, px, py;

              ef_exploded_point (d->self, item, x + r * sin (t), -r * cos (t), z, &px, &py);
              if (k == 0)
                cairo_move_to (d->cr, px, py);
              else
                cairo_line_to (d->cr, px, py);
            }
          cairo_stroke (d->cr);
        }
    }
  for (guint i = 0; part->keyways != NULL && i < part->keyways->len; i++)
    {
      const EfCylinder *key = &g_array_index (part->keyways, EfCylinder, i);
      double half = MIN (key->diameter / 2, 0.5 * r);
      double corners[4][2] = { { -half, key->z }, { half, key->z }, { half, key->z + key->length }, { -half, key->z + key->length } };

      for (int k = 0; k < 4; k++)
        {
          double px, py;

          ef_exploded_point (d->self, item, x + corners[k][0], -0.8 * r, CLAMP (shrink * corners[k][1], 0, item->thickness), &px, &py);
          if (k == 0)
            cairo_move_to (d->cr, px, py);
          else
            cairo_line_to (d->cr, px, py);
        }
      cairo_close_path (d->cr);
      ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 0.55);
      cairo_fill (d->cr);
    }
}

/* Small pictures of check-list parts, drawn in a box 0 … 1 along the axis and across. */
static void
small_pin (cairo_t *cr, gboolean split)
{
  if (split)
    {
      cairo_move_to (cr, 0.97, 0.36);
      cairo_line_to (cr, 0.86, 0.45);
      cairo_line_to (cr, 0.34, 0.45);
      cairo_curve_to (cr, -0.06, 0.12, -0.06, 0.88, 0.34, 0.55);
      cairo_line_to (cr, 0.76, 0.55);
      cairo_line_to (cr, 0.86, 0.66);
      return;
    }
  for (int k = 0; k < 2; k++)
    {
      double y = 0.3 + 0.4 * k;

      cairo_move_to (cr, 0.22, y - 0.11);
      cairo_line_to (cr, 0.78, y - 0.11);
      cairo_curve_to (cr, 0.88, y - 0.11, 0.88, y + 0.11, 0.78, y + 0.11);
      cairo_line_to (cr, 0.22, y + 0.11);
      cairo_curve_to (cr, 0.12, y + 0.11, 0.12, y - 0.11, 0.22, y - 0.11);
      cairo_curve_to (cr, 0.3, y - 0.11, 0.3, y + 0.11, 0.22, y + 0.11);
    }
}

static void
small_stud (cairo_t *cr)
{
  cairo_rectangle (cr, 0.0, 0.42, 1.0, 0.16);
  for (double x = 0.72; x < 0.99; x += 0.07)
    {
      cairo_move_to (cr, x, 0.58);
      cairo_line_to (cr, x + 0.05, 0.42);
    }
  for (double x = 0.03; x < 0.22; x += 0.07)
    {
      cairo_move_to (cr, x, 0.58);
      cairo_line_to (cr, x + 0.05, 0.42);
    }
  cairo_rectangle (cr, 0.5, 0.3, 0.17, 0.4);
  cairo_move_to (cr, 0.5, 0.43);
  cairo_line_to (cr, 0.67, 0.43);
  cairo_move_to (cr, 0.5, 0.57);
  cairo_line_to (cr, 0.67, 0.57);
}

/* A bent tube with a strainer at its foot. */
static void
small_pickup (cairo_t *cr)
{
  cairo_move_to (cr, 0.0, 0.16);
  cairo_line_to (cr, 0.45, 0.16);
  cairo_curve_to (cr, 0.66, 0.16, 0.72, 0.3, 0.72, 0.62);
  cairo_line_to (cr, 0.56, 0.62);
  cairo_curve_to (cr, 0.56, 0.4, 0.54, 0.34, 0.42, 0.34);
  cairo_line_to (cr, 0.0, 0.34);
  cairo_close_path (cr);
  cairo_move_to (cr, 0.46, 0.62);
  cairo_line_to (cr, 0.82, 0.62);
  cairo_line_to (cr, 0.98, 0.95);
  cairo_line_to (cr, 0.3, 0.95);
  cairo_close_path (cr);
  for (int k = 1; k < 4; k++)
    {
      cairo_move_to (cr, 0.46 + 0.09 * k, 0.62);
      cairo_line_to (cr, 0.3 + 0.17 * k, 0.95);
    }
  cairo_move_to (cr, 0.39, 0.78);
  cairo_line_to (cr, 0.9, 0.78);
}

static gboolean
is_split_pin (const EfExplodedItem *item)
{
  return item->part->kind == EF_PART_PIN && strstr (item->part->id, "split") != NULL;
}

static void
small_path (const Drawing *d, const EfExplodedItem *item)
{
  double size = MIN (item->body[2], item->body[3]);

  cairo_save (d->cr);
  cairo_translate (d->cr, item->body[0] + item->body[2] / 2, item->body[1] + item->body[3] / 2);
  if (d->self->upright && item->part->kind != EF_PART_PICKUP)
    cairo_rotate (d->cr, G_PI / 2);
  cairo_scale (d->cr, size, size);
  cairo_translate (d->cr, -0.5, -0.5);
  if (item->part->kind == EF_PART_PICKUP)
    small_pickup (d->cr);
  else if (item->part->kind == EF_PART_STUD)
    small_stud (d->cr);
  else
    small_pin (d->cr, is_split_pin (item));
  cairo_restore (d->cr);
}

static void
draw_small (const Drawing *d, const EfExplodedItem *item)
{
  small_path (d, item);
  if (is_split_pin (item))
    {
      /* bent wire: an edge with the tint inside */
      ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 1);
      ef_draw_set_width (d->cr, d->style, 4.5);
      cairo_stroke_preserve (d->cr);
      set_tinted (d, item, EF_INK_MATERIAL);
      ef_draw_set_width (d->cr, d->style, 2.5);
      cairo_stroke (d->cr);
      return;
    }
  cairo_set_fill_rule (d->cr, CAIRO_FILL_RULE_WINDING);
  set_tinted (d, item, EF_INK_MATERIAL);
  cairo_fill_preserve (d->cr);
  ef_draw_set_ink (d->cr, d->style, EF_INK_EDGE, 1);
  ef_draw_set_width (d->cr, d->style, 1.1);
  cairo_stroke (d->cr);
}

static void
draw_item (const Drawing *d, const EfExplodedItem *item)
{
  gboolean selected = g_strcmp0 (d->selected, item->part->id) == 0;

  cairo_set_line_join (d->cr, CAIRO_LINE_JOIN_ROUND);
  if (item->plan == NULL || item->plan->n == 0)
    {
      if (selected)
        {
          small_path (d, item);
          ef_draw_set_ink (d->cr, d->style, EF_INK_ACCENT, 1);
          ef_draw_set_width (d->cr, d->style, 6);
          cairo_stroke (d->cr);
        }
      draw_small (d, item);
      return;
    }
  if (selected)
    draw_bulk (d, item, 6, TRUE);
  draw_bulk (d, item, 1, FALSE);
  draw_face (d, item);
  if (item->part->kind == EF_PART_SHAFT)
    draw_shaft_detail (d, item);
}

/* Dash-dotted, along each shaft, behind everything. */
static void
draw_axes (const Drawing *d)
{
  const EfExploded *self = d->self;
  const EfSection *section = self->sheet->sections->len > 0 ? g_ptr_array_index (self->sheet->sections, 0) : NULL;
  double dash[4] = { 10 * d->style->line_scale, 3 * d->style->line_scale, 2 * d->style->line_scale, 3 * d->style->line_scale };
  double end = (self->upright ? self->height : self->width);

  if (section == NULL)
    return;
  cairo_set_dash (d->cr, dash, 4, 0);
  ef_draw_set_ink (d->cr, d->style, EF_INK_FAINT, 1);
  ef_draw_set_width (d->cr, d->style, 1);
  for (guint row = 0; row < self->rows; row++)
    {
      double from = end, to = 0;

      for (guint i = 0; i < self->items->len; i++)
        {
          const EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, i);
          const EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, item->slot);

          if (slot->row != row || item->plan == NULL)
            continue;
          from = MIN (from, slot->start - self->text);
          to = MAX (to, slot->start + slot->length + self->text);
        }
      for (int axis = 0; axis < 2 && from < to; axis++)
        {
          double c = ef_exploded_row_middle (self, row) + self->scale * (axis - 0.5) * section->pair.in.centre_distance;

          cairo_move_to (d->cr, self->upright ? c : from, self->upright ? from : c);
          cairo_line_to (d->cr, self->upright ? c : to, self->upright ? to : c);
        }
      cairo_stroke (d->cr);
    }
  cairo_set_dash (d->cr, NULL, 0, 0);
}

static double
text_size (const Drawing *d)
{
  return ef_text_size (d->style, 0.8);
}

/* Glyph and name outside the part: names of parts above the middle stand above (beside: first), the others below. */
static void
draw_name_beside (const Drawing *d, const EfExplodedItem *item)
{
  const EfExploded *self = d->self;
  const EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, item->slot);
  const EfVerdict *verdict = verdict_of (d, item);
  guint k = (guint) (item - &g_array_index (self->items, EfExplodedItem, slot->first));
  double size = text_size (d), glyph = 1.25 * size;
  double from = item->cell[1], room = item->cell[3] / slot->n;
  double x = ef_exploded_row_middle (self, slot->row) + self->reach * self->scale + 0.8 * size;
  double y = from + room * (k + 0.5);
  double width = (slot->row + 1) * self->row_size - x - glyph - 0.6 * size;

  if (verdict != NULL)
    ef_draw_verdict_glyph (d->cr, verdict->word, d->style, x, y - glyph / 2, glyph);
  if (self->names)
    {
      g_autoptr (PangoLayout) layout = ef_text_layout (d->cr, d->style, size, 0, item->part->name);

      ef_text_wrap (layout, width, CLAMP ((int) (room / (1.25 * size)), 1, 3));
      ef_text_show (d->cr, d->style, layout, EF_INK_TEXT, 0, x + glyph + 0.4 * size, y, 0, 0.5);
    }
}

static void
draw_name_under (const Drawing *d, const EfExplodedItem *item)
{
  const EfExploded *self = d->self;
  const EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, item->slot);
  const EfVerdict *verdict = verdict_of (d, item);
  double size = text_size (d), glyph = 1.25 * size;
  double middle = item->body[0] + item->body[2] / 2;
  double width = item->cell[2] - 0.3 * size;
  gboolean above = slot->n > 1 && item->cell[1] < ef_exploded_row_middle (self, slot->row) - 0.25 * self->row_size && item == &g_array_index (self->items, EfExplodedItem, slot->first);
  double edge = above ? item->body[1] - 0.35 * size : item->body[1] + item->body[3] + 0.35 * size;

  middle = CLAMP (middle, item->cell[0] + width / 2, item->cell[0] + item->cell[2] - width / 2);
  if (verdict != NULL)
    {
      ef_draw_verdict_glyph (d->cr, verdict->word, d->style, middle - glyph / 2, above ? edge - glyph : edge, glyph);
      edge += (above ? -1 : 1) * (glyph + 0.15 * size);
    }
  if (self->names)
    {
      g_autoptr (PangoLayout) layout = ef_text_layout (d->cr, d->style, size, EF_TEXT_CENTRE, item->part->name);

      ef_text_wrap (layout, width, 3);
      ef_text_show (d->cr, d->style, layout, EF_INK_TEXT, EF_TEXT_HALO, middle, edge, 0.5, above ? 1 : 0);
    }
}

static void
draw_section_name (const Drawing *d, const EfSection *section, guint row, double from, double to)
{
  const EfExploded *self = d->self;
  double size = text_size (d), tick = 0.4 * size;
  double at = self->upright ? ef_exploded_row_middle (self, row) - self->reach * self->scale - 0.7 * size : (row + 1) * self->row_size - self->band + 0.2 * size;
  double inward = self->upright ? tick : -tick;
  g_autoptr (PangoLayout) layout = ef_text_layout (d->cr, d->style, size, 0, section->name);
  double w;

  ef_draw_set_ink (d->cr, d->style, EF_INK_DIM, 1);
  ef_draw_set_width (d->cr, d->style, 1);
  if (self->upright)
    {
      cairo_move_to (d->cr, at + inward, from);
      cairo_line_to (d->cr, at, from);
      cairo_line_to (d->cr, at, to);
      cairo_line_to (d->cr, at + inward, to);
    }
  else
    {
      cairo_move_to (d->cr, from, at + inward);
      cairo_line_to (d->cr, from, at);
      cairo_line_to (d->cr, to, at);
      cairo_line_to (d->cr, to, at + inward);
    }
  cairo_stroke (d->cr);
  ef_text_extent (layout, &w, NULL);
  if (w > to - from)
    {
      /* "Pressure section": the first word says it */
      g_auto (GStrv) words = g_strsplit (section->name, " ", 2);

      pango_layout_set_text (layout, words[0] != NULL ? words[0] : "", -1);
      ef_text_extent (layout, &w, NULL);
      if (w > to - from + 2 * size)
        ef_text_wrap (layout, to - from, 1);
    }
  cairo_save (d->cr);
  if (self->upright)
    {
      cairo_translate (d->cr, at - 0.2 * size, (from + to) / 2);
      cairo_rotate (d->cr, -G_PI / 2);
      ef_text_show (d->cr, d->style, layout, EF_INK_DIM, 0, 0, 0, 0.5, 1);
    }
  else
    ef_text_show (d->cr, d->style, layout, EF_INK_DIM, 0, (from + to) / 2, at + 0.1 * size, 0.5, 0);
  cairo_restore (d->cr);
}

static void
draw_sections (const Drawing *d)
{
  const EfExploded *self = d->self;

  for (guint s = 0; s < self->sheet->sections->len; s++)
    for (guint row = 0; row < self->rows; row++)
      {
        const EfSection *section = g_ptr_array_index (self->sheet->sections, s);
        double from = G_MAXDOUBLE, to = -G_MAXDOUBLE;

        for (guint i = 0; i < self->items->len; i++)
          {
            const EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, i);
            const EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, item->slot);

            if (item->section != section || slot->row != row || item->plan == NULL)
              continue;
            from = MIN (from, slot->start);
            to = MAX (to, slot->start + slot->length);
          }
        if (to > from)
          draw_section_name (d, section, row, from, to);
      }
}

static void
draw_focus (const Drawing *d, const EfExplodedItem *item)
{
  double r = 6 * d->style->line_scale;
  double x = item->cell[0] + 2, y = item->cell[1] + 2, w = item->cell[2] - 4, h = item->cell[3] - 4;

  cairo_new_sub_path (d->cr);
  cairo_arc (d->cr, x + w - r, y + r, r, -G_PI / 2, 0);
  cairo_arc (d->cr, x + w - r, y + h - r, r, 0, G_PI / 2);
  cairo_arc (d->cr, x + r, y + h - r, r, G_PI / 2, G_PI);
  cairo_arc (d->cr, x + r, y + r, r, G_PI, 1.5 * G_PI);
  cairo_close_path (d->cr);
  ef_draw_set_ink (d->cr, d->style, EF_INK_ACCENT, 1);
  ef_draw_set_width (d->cr, d->style, 2);
  cairo_stroke (d->cr);
}

void
ef_exploded_draw (EfExploded *self, cairo_t *cr, const EfDrawStyle *style, const EfVerdict *verdict, const char *selected, const char *focus)
{
  Drawing d = { self, cr, style, verdict, selected, focus };

  if (self->items->len == 0)
    return;
  if (fabs (text_size (&d) - self->text) > 1e-6)
    {
      self->text = text_size (&d);
      ef_exploded_layout (self);
    }
  cairo_save (cr);
  draw_axes (&d);
  draw_sections (&d);
  /* from the rear, so that what is in front covers what is behind */
  for (guint i = self->items->len; i-- > 0;)
    draw_item (&d, &g_array_index (self->items, EfExplodedItem, i));
  for (guint i = 0; i < self->items->len; i++)
    {
      const EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, i);

      if (self->upright)
        draw_name_beside (&d, item);
      else
        draw_name_under (&d, item);
      if (g_strcmp0 (focus, item->part->id) == 0)
        draw_focus (&d, item);
    }
  cairo_restore (cr);
}
