/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-draw-sure.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define SHARE 0.85 /* of the text size */

typedef struct
{
  const EfReason *reason;
  double guard;     /* m or share */
  double low, high; /* of the scale */
  double x, width, y, bar;
} Sure;

gboolean
ef_draw_sure_can (const EfReason *reason)
{
  return isfinite (reason->value) && isfinite (reason->limit) && isfinite (reason->uncertainty);
}

double
ef_draw_sure_height (const EfDrawStyle *style)
{
  return 4.6 * ef_text_size (style, SHARE);
}

static gboolean
is_least (const EfReason *reason)
{
  return reason->limit == reason->least && reason->limit != reason->wear;
}

static double
at (const Sure *s,
    double value)
{
  return s->x + s->width * (CLAMP (value, s->low, s->high) - s->low) / (s->high - s->low);
}

static void
set_scale (Sure *s)
{
  const EfReason *r = s->reason;
  double u = r->uncertainty;
  double room;

  s->low = fmin (r->value - u, r->limit - s->guard);
  s->high = fmax (r->value + u, r->limit + s->guard);
  room = fmax (0.25 * (s->high - s->low), 0.1 * r->limit);
  if (room <= 0.0)
    room = 1e-6;
  s->low = fmax (s->low - room, fmin (0.0, r->value - u));
  s->high += room;
}

static void
hatch (cairo_t *cr,
       double x,
       double y,
       double width,
       double height)
{
  cairo_save (cr);
  cairo_rectangle (cr, x, y, width, height);
  cairo_clip (cr);
  for (double d = -height; d < width; d += 5)
    {
      cairo_move_to (cr, x + d, y + height);
      cairo_line_to (cr, x + d + height, y);
    }
  cairo_stroke (cr);
  cairo_restore (cr);
}

/* The word under a zone when there's room for it. */
static void
word (const Sure *s,
      cairo_t *cr,
      const EfDrawStyle *style,
      double from,
      double to,
      const char *text)
{
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, SHARE), EF_TEXT_PLAIN, text);
  double width;

  ef_text_extent (layout, &width, NULL);
  if (width <= to - from)
    ef_text_show (cr, style, layout, EF_INK_DIM, EF_TEXT_PLAIN, (from + to) / 2, s->y + s->bar + 2 * style->line_scale, 0.5, 0);
}

static void
draw_zones (const Sure *s,
            cairo_t *cr,
            const EfDrawStyle *style)
{
  double left = at (s, s->reason->limit - s->guard);
  double right = at (s, s->reason->limit + s->guard);
  double end = s->x + s->width;
  gboolean least = is_least (s->reason);
  double past_from = least ? s->x : right;
  double past_to = least ? left : end;

  ef_draw_set_width (cr, style, 1);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 0.72);
  cairo_rectangle (cr, past_from, s->y, past_to - past_from, s->bar);
  cairo_fill (cr);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 0.8);
  hatch (cr, left, s->y, right - left, s->bar);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  cairo_rectangle (cr, s->x, s->y, s->width, s->bar);
  cairo_stroke (cr);
  word (s, cr, style, least ? right : s->x, least ? end : left, _("within for sure"));
  word (s, cr, style, past_from, past_to, _("past for sure"));
  word (s, cr, style, left, right, _("can't say"));
}

static void
draw_limit (const Sure *s,
            cairo_t *cr,
            const EfDrawStyle *style)
{
  double x = at (s, s->reason->limit);

  ef_draw_set_ink (cr, style, EF_INK_PAPER, 1);
  ef_draw_set_width (cr, style, 5);
  cairo_move_to (cr, x, s->y - 3 * style->line_scale);
  cairo_line_to (cr, x, s->y + s->bar + 3 * style->line_scale);
  cairo_stroke (cr);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  ef_draw_set_width (cr, style, 2);
  cairo_move_to (cr, x, s->y - 3 * style->line_scale);
  cairo_line_to (cr, x, s->y + s->bar + 3 * style->line_scale);
  cairo_stroke (cr);
}

/* A dot with whiskers to the expanded uncertainty. */
static void
draw_value (const Sure *s,
            cairo_t *cr,
            const EfDrawStyle *style,
            double y)
{
  double x = at (s, s->reason->value);
  double left = at (s, s->reason->value - s->reason->uncertainty);
  double right = at (s, s->reason->value + s->reason->uncertainty);
  double cap = 4 * style->line_scale;

  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  ef_draw_set_width (cr, style, 2);
  cairo_move_to (cr, left, y);
  cairo_line_to (cr, right, y);
  cairo_move_to (cr, left, y - cap);
  cairo_line_to (cr, left, y + cap);
  cairo_move_to (cr, right, y - cap);
  cairo_line_to (cr, right, y + cap);
  cairo_stroke (cr);
  cairo_arc (cr, x, y, 4 * style->line_scale, 0, 2 * G_PI);
  cairo_fill (cr);
}

static char *
number (double value,
        EfUnit unit)
{
  return unit == EF_UNIT_NONE ? g_strdup_printf ("%.0f %%", value * 100) : ef_format_quantity (value, unit, -1);
}

void
ef_draw_sure (cairo_t *cr,
              const EfDrawStyle *style,
              const EfReason *reason,
              const EfDecisionRule *decision,
              double width,
              double height)
{
  double size = ef_text_size (style, SHARE);
  Sure s = { .reason = reason, .guard = ef_decision_factor (decision) * reason->uncertainty / 2.0 };
  g_autofree char *limit = number (reason->limit, reason->unit);
  g_autofree char *limit_text = g_strdup_printf (_("limit %s"), limit);
  double x;

  if (!ef_draw_sure_can (reason))
    return;
  s.x = 2;
  s.width = width - 4;
  s.bar = 1.0 * size;
  s.y = 2.15 * size;
  set_scale (&s);
  draw_zones (&s, cr, style);
  draw_limit (&s, cr, style);
  draw_value (&s, cr, style, s.y - 0.5 * size);
  x = at (&s, reason->limit);
  ef_text_put (cr, style, size, EF_TEXT_PLAIN, EF_INK_TEXT, limit_text, x, 0, x < s.x + s.width * 0.25 ? 0 : x > s.x + s.width * 0.75 ? 1 : 0.5, 0);
}

char *
ef_draw_sure_words (const EfReason *reason,
                    const EfDecisionRule *decision)
{
  double guard = ef_decision_factor (decision) * reason->uncertainty / 2.0;
  g_autofree char *value = number (reason->value, reason->unit);
  g_autofree char *u = number (reason->uncertainty, reason->unit);
  g_autofree char *limit = number (reason->limit, reason->unit);
  g_autofree char *band = number (guard, reason->unit);

  return g_strdup_printf (_("%s ± %s against the limit %s with a guard band of %s on either side"), value, u, limit, band);
}

/* An arrow from the middle; with @both heads also backwards. */
static void
arrow (cairo_t *cr,
       double angle,
       double from,
       double length,
       double head,
       gboolean both)
{
  for (int k = 0; k < (both ? 2 : 1); k++)
    {
      double a = angle + k * G_PI;
      double x = length * cos (a), y = -length * sin (a);

      cairo_move_to (cr, from * cos (a), -from * sin (a));
      cairo_line_to (cr, x, y);
      cairo_stroke (cr);
      cairo_move_to (cr, x, y);
      cairo_line_to (cr, x - head * cos (a - 0.45), y + head * sin (a - 0.45));
      cairo_line_to (cr, x - head * cos (a + 0.45), y + head * sin (a + 0.45));
      cairo_close_path (cr);
      cairo_fill (cr);
    }
}

void
ef_draw_cross (cairo_t *cr,
               const EfDrawStyle *style,
               const EfCross *cross,
               double size)
{
  double r = size / 2 - 3;
  gboolean both = cross->period < 1.5 * G_PI;
  double spread = fmin (2.0 * cross->u_direction, G_PI / 2);
  const double dash[] = { 4 * style->line_scale, 3 * style->line_scale };

  if (!isfinite (cross->direction))
    return;
  cairo_save (cr);
  cairo_translate (cr, size / 2, size / 2);
  ef_draw_set_width (cr, style, 1);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  cairo_arc (cr, 0, 0, r, 0, 2 * G_PI);
  cairo_stroke (cr);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 0.2);
  for (int k = 0; k < (both ? 2 : 1); k++)
    {
      cairo_move_to (cr, 0, 0);
      cairo_arc (cr, 0, 0, r, -cross->direction - spread + k * G_PI, -cross->direction + spread + k * G_PI);
      cairo_close_path (cr);
      cairo_fill (cr);
    }
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  ef_draw_set_width (cr, style, 2);
  arrow (cr, cross->direction, 0, r, 8 * style->line_scale, both);
  if (isfinite (cross->load))
    {
      ef_draw_set_ink (cr, style, EF_INK_ACCENT, 1);
      cairo_set_dash (cr, dash, 2, 0);
      arrow (cr, cross->load, 0, 0.8 * r, 7 * style->line_scale, FALSE);
    }
  cairo_restore (cr);
}
