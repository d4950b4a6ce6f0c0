/* The paper side of the report: pages and what is drawn on each.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-pages.h"

#include "config.h"
#include <glib/gi18n-lib.h>

#define MARGIN 48.0
#define HEAD 22.0
#define FOOT 26.0

typedef enum { OP_LINES, OP_RULE, OP_FRAME, OP_VERDICT, OP_KIND, OP_TICK, OP_CAUTION, OP_PICTURE } OpType;

typedef struct
{
  OpType type;
  double x, y, w, h;
  EfInk ink;
  int value; /* verdict, kind, ticked */
  PangoLayout *layout;
  int first, n; /* its lines */
  EfPageDraw draw;
  gpointer data;
  GDestroyNotify destroy;
} Op;

typedef struct
{
  guint columns;
  char **heads;
  double *x, *w;
  gboolean open;
} Table;

struct _EfPages
{
  EfDrawStyle style;
  PangoContext *context;
  double width, height; /* of the paper */
  char *head, *foot;
  GPtrArray *pages; /* GArray of Op */
  GArray *outline;  /* EfPageMark */
  double y;         /* cursor */
  Table table;
};

static void
op_clear (gpointer data)
{
  Op *op = data;

  g_clear_object (&op->layout);
  if (op->destroy != NULL)
    op->destroy (op->data);
}

static void
page_mark_clear (gpointer data)
{
  g_free (((EfPageMark *) data)->text);
}

static void
new_page (EfPages *self)
{
  GArray *page = g_array_new (FALSE, TRUE, sizeof (Op));

  g_array_set_clear_func (page, op_clear);
  g_ptr_array_add (self->pages, page);
  self->y = MARGIN + (self->pages->len > 1 ? HEAD : 0);
}

void
ef_paper_size (EfPaper paper, double *width, double *height)
{
  /* ISO 216 A4 210 x 297 mm; Letter 8.5 x 11 in; in points of 1/72 in */
  *width = paper == EF_PAPER_LETTER ? 612 : 210 / 25.4 * 72;
  *height = paper == EF_PAPER_LETTER ? 792 : 297 / 25.4 * 72;
}

EfPages *
ef_pages_new (EfPaper paper, const char *head, const char *foot)
{
  EfPages *self = g_new0 (EfPages, 1);
  cairo_font_options_t *options = cairo_font_options_create ();

  ef_draw_style_print (&self->style);
  ef_paper_size (paper, &self->width, &self->height);
  self->context = pango_font_map_create_context (pango_cairo_font_map_get_default ());
  /* the same line breaks on screen, printer and file */
  cairo_font_options_set_hint_style (options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics (options, CAIRO_HINT_METRICS_OFF);
  pango_cairo_context_set_font_options (self->context, options);
  cairo_font_options_destroy (options);
  pango_cairo_context_set_resolution (self->context, 72);
  pango_context_set_round_glyph_positions (self->context, FALSE);
  self->head = g_strdup (head);
  self->foot = g_strdup (foot);
  self->pages = g_ptr_array_new_with_free_func ((GDestroyNotify) g_array_unref);
  self->outline = g_array_new (FALSE, TRUE, sizeof (EfPageMark));
  g_array_set_clear_func (self->outline, page_mark_clear);
  new_page (self);
  return self;
}

static void
table_clear (Table *table)
{
  g_clear_pointer (&table->heads, g_strfreev);
  g_clear_pointer (&table->x, g_free);
  g_clear_pointer (&table->w, g_free);
  table->open = FALSE;
}

void
ef_pages_free (EfPages *self)
{
  if (self == NULL)
    return;
  table_clear (&self->table);
  g_ptr_array_unref (self->pages);
  g_array_unref (self->outline);
  g_clear_object (&self->context);
  g_free (self->head);
  g_free (self->foot);
  g_free (self);
}

const EfDrawStyle *
ef_pages_style (EfPages *self)
{
  return &self->style;
}

GArray *
ef_pages_outline (EfPages *self)
{
  return self->outline;
}

guint
ef_pages_count (EfPages *self)
{
  return self->pages->len;
}

double
ef_pages_width (EfPages *self)
{
  return self->width - 2 * MARGIN;
}

static double
bottom (EfPages *self)
{
  return self->height - MARGIN - FOOT + 12;
}

double
ef_pages_room (EfPages *self)
{
  return bottom (self) - self->y;
}

double
ef_pages_full (EfPages *self)
{
  return bottom (self) - MARGIN - HEAD;
}

static GArray *
current (EfPages *self)
{
  return g_ptr_array_index (self->pages, self->pages->len - 1);
}

void
ef_pages_break (EfPages *self)
{
  if (current (self)->len > 0)
    new_page (self);
}

void
ef_pages_need (EfPages *self, double height)
{
  if (ef_pages_room (self) < MIN (height, ef_pages_full (self)))
    ef_pages_break (self);
}

void
ef_pages_space (EfPages *self, double height)
{
  if (current (self)->len > 0)
    self->y += height;
}

void
ef_pages_move (EfPages *self, double up_or_down)
{
  self->y += up_or_down;
}

static Op *
add_op (EfPages *self, OpType type, double dx, double dy)
{
  Op op = { .type = type, .x = MARGIN + dx, .y = self->y + dy };

  g_array_append_val (current (self), op);
  return &g_array_index (current (self), Op, current (self)->len - 1);
}

PangoLayout *
ef_pages_layout (EfPages *self, const char *text, double share, EfTextFlags flags, double width)
{
  PangoLayout *layout = pango_layout_new (self->context);
  PangoFontDescription *font = ef_text_font (&self->style, self->style.text_size * share, flags);

  pango_layout_set_font_description (layout, font);
  pango_font_description_free (font);
  pango_layout_set_text (layout, text != NULL ? text : "", -1);
  if (width > 0)
    ef_text_wrap (layout, width, 0);
  if (flags & EF_TEXT_CENTRE)
    pango_layout_set_alignment (layout, PANGO_ALIGN_CENTER);
  return layout;
}

/* Logical top and height of each line, in units. */
static double
line_span (PangoLayout *layout, int first, int n)
{
  double top = 0, low = 0;
  PangoLayoutIter *iter = pango_layout_get_iter (layout);
  int i = 0;

  do
    {
      int y0, y1;

      pango_layout_iter_get_line_yrange (iter, &y0, &y1);
      if (i == first)
        top = (double) y0 / PANGO_SCALE;
      if (i < first + n)
        low = (double) y1 / PANGO_SCALE;
      i++;
    }
  while (pango_layout_iter_next_line (iter));
  pango_layout_iter_free (iter);
  return low - top;
}

/* How many lines from @first on fit into @room. */
static int
lines_fitting (PangoLayout *layout, int first, double room)
{
  int total = pango_layout_get_line_count (layout);
  int n = 0;

  while (first + n < total && line_span (layout, first, n + 1) <= room + 1e-6)
    n++;
  return n;
}

static void
add_lines (EfPages *self, PangoLayout *layout, int first, int n, EfInk ink, double dx, double dy)
{
  Op *op = add_op (self, OP_LINES, dx, dy);

  op->layout = g_object_ref (layout);
  op->first = first;
  op->n = n;
  op->ink = ink;
}

void
ef_pages_put (EfPages *self, PangoLayout *layout, EfInk ink, double dx, double dy)
{
  add_lines (self, layout, 0, pango_layout_get_line_count (layout), ink, dx, dy);
}

void
ef_pages_text (EfPages *self, const char *text, double share, EfTextFlags flags, EfInk ink, double indent)
{
  g_autoptr (PangoLayout) layout = ef_pages_layout (self, text, share, flags, ef_pages_width (self) - indent);
  int total = pango_layout_get_line_count (layout), first = 0;

  while (first < total)
    {
      int n = lines_fitting (layout, first, ef_pages_room (self));

      if (n == 0 && current (self)->len > 0)
        {
          new_page (self);
          continue;
        }
      n = MAX (n, 1);
      add_lines (self, layout, first, n, ink, indent, 0);
      self->y += line_span (layout, first, n);
      first += n;
    }
}

void
ef_pages_heading (EfPages *self, const char *text, double with)
{
  EfPageMark mark;

  ef_pages_need (self, 34 + with);
  ef_pages_space (self, 14);
  mark = (EfPageMark) { g_strdup (text), self->pages->len - 1, self->y };
  g_array_append_val (self->outline, mark);
  ef_pages_text (self, text, 1.4, EF_TEXT_BOLD, EF_INK_TEXT, 0);
  ef_pages_rule (self, 0, 2, ef_pages_width (self), EF_INK_EDGE, 0.8);
  self->y += 7;
}

void
ef_pages_subheading (EfPages *self, const char *text, double with)
{
  ef_pages_need (self, 22 + with);
  ef_pages_space (self, 7);
  ef_pages_text (self, text, 1.08, EF_TEXT_BOLD, EF_INK_TEXT, 0);
  self->y += 3;
}

void
ef_pages_verdict (EfPages *self, EfVerdictWord word, double dx, double dy, double size)
{
  Op *op = add_op (self, OP_VERDICT, dx, dy);

  op->value = word;
  op->w = size;
}

void
ef_pages_rule (EfPages *self, double dx, double dy, double width, EfInk ink, double thick)
{
  Op *op = add_op (self, OP_RULE, dx, dy);

  op->w = width;
  op->h = thick;
  op->ink = ink;
}

void
ef_pages_frame (EfPages *self, double dx, double dy, double width, double height, EfInk ink, double thick)
{
  Op *op = add_op (self, OP_FRAME, dx, dy);

  op->w = width;
  op->h = height;
  op->ink = ink;
  op->value = (int) (thick * 100);
}

void
ef_pages_picture (EfPages *self, double dx, double dy, double width, double height, EfPageDraw draw, gpointer data, GDestroyNotify destroy)
{
  Op *op = add_op (self, OP_PICTURE, dx, dy);

  op->w = width;
  op->h = height;
  op->draw = draw;
  op->data = data;
  op->destroy = destroy;
}

void
ef_pages_tick_box (EfPages *self, double dx, double dy, double size, gboolean ticked)
{
  Op *op = add_op (self, OP_TICK, dx, dy);

  op->w = size;
  op->value = ticked;
}

void
ef_pages_caution_sign (EfPages *self, double dx, double dy, double size)
{
  add_op (self, OP_CAUTION, dx, dy)->w = size;
}

/* Tables */

#define CELL_PAD 3.0

static void
table_head (EfPages *self)
{
  Table *table = &self->table;
  double tallest = 0;

  for (guint c = 0; c < table->columns; c++)
    {
      g_autoptr (PangoLayout) layout = ef_pages_layout (self, table->heads[c], 0.88, EF_TEXT_BOLD, table->w[c] - 2 * CELL_PAD);
      double h;

      ef_text_extent (layout, NULL, &h);
      tallest = MAX (tallest, h);
      ef_pages_put (self, layout, EF_INK_DIM, table->x[c] + CELL_PAD, 2);
    }
  self->y += tallest + 4;
  ef_pages_rule (self, 0, 0, ef_pages_width (self), EF_INK_EDGE, 0.7);
  self->y += 2;
}

void
ef_pages_table_begin (EfPages *self, guint columns, const char *const *heads, const double *shares)
{
  Table *table = &self->table;
  double sum = 0, x = 0;

  table_clear (table);
  table->columns = columns;
  table->heads = g_new0 (char *, columns + 1);
  table->x = g_new (double, columns);
  table->w = g_new (double, columns);
  for (guint c = 0; c < columns; c++)
    sum += shares[c];
  for (guint c = 0; c < columns; c++)
    {
      table->heads[c] = g_strdup (heads[c]);
      table->x[c] = x;
      table->w[c] = shares[c] / sum * ef_pages_width (self);
      x += table->w[c];
    }
  table->open = TRUE;
  ef_pages_need (self, 44);
  table_head (self);
}

static double
glyph_room (EfPages *self, const EfPageCell *cell)
{
  return cell->verdict >= 0 ? 1.5 * self->style.text_size : cell->kind >= 0 ? 2.6 * self->style.text_size : 0;
}

static void
cell_glyph (EfPages *self, const EfPageCell *cell, double dx)
{
  double size = self->style.text_size;
  Op *op;

  if (cell->verdict >= 0)
    ef_pages_verdict (self, (EfVerdictWord) cell->verdict, dx, 0.5, 1.15 * size);
  else if (cell->kind >= 0)
    {
      op = add_op (self, OP_KIND, dx, -1);
      op->value = cell->kind;
      op->w = 2.3 * size;
      op->h = 1.6 * size;
    }
}

void
ef_pages_table_row (EfPages *self, const EfPageCell *cells)
{
  Table *table = &self->table;
  g_autofree PangoLayout **layouts = g_new0 (PangoLayout *, table->columns);
  g_autofree int *next = g_new0 (int, table->columns);
  double whole = 0;
  gboolean first = TRUE, left = TRUE;

  for (guint c = 0; c < table->columns; c++)
    {
      double h;

      layouts[c] = ef_pages_layout (self, cells[c].text, 0.95, 0, table->w[c] - 2 * CELL_PAD - glyph_room (self, &cells[c]));
      ef_text_extent (layouts[c], NULL, &h);
      whole = MAX (whole, h);
    }
  if (whole + 6 > ef_pages_room (self) && whole + 30 <= ef_pages_full (self))
    {
      ef_pages_break (self);
      table_head (self);
    }
  while (left)
    {
      double used = 0;

      if (!first)
        {
          new_page (self);
          table_head (self);
        }
      else if (ef_pages_room (self) < 20)
        {
          ef_pages_break (self);
          table_head (self);
        }
      left = FALSE;
      for (guint c = 0; c < table->columns; c++)
        {
          double dx = table->x[c] + CELL_PAD;
          int total = pango_layout_get_line_count (layouts[c]);
          int n = MIN (lines_fitting (layouts[c], next[c], ef_pages_room (self) - 6), total - next[c]);

          if (first)
            cell_glyph (self, &cells[c], dx);
          if (n > 0)
            {
              add_lines (self, layouts[c], next[c], n, EF_INK_TEXT, dx + glyph_room (self, &cells[c]), 0);
              used = MAX (used, line_span (layouts[c], next[c], n));
              next[c] += n;
            }
          left = left || next[c] < total;
        }
      self->y += used + 3;
      first = FALSE;
    }
  ef_pages_rule (self, 0, 0, ef_pages_width (self), EF_INK_FAINT, 0.4);
  self->y += 3;
  for (guint c = 0; c < table->columns; c++)
    g_object_unref (layouts[c]);
}

void
ef_pages_table_end (EfPages *self)
{
  table_clear (&self->table);
  self->y += 4;
}

/* Drawing */

static void
draw_lines (EfPages *self, cairo_t *cr, const Op *op)
{
  PangoLayoutIter *iter = pango_layout_get_iter (op->layout);
  int i = 0, top = 0;

  ef_draw_set_ink (cr, &self->style, op->ink, 1);
  do
    {
      if (i >= op->first && i < op->first + op->n)
        {
          PangoRectangle logical;
          int y0;

          pango_layout_iter_get_line_yrange (iter, &y0, NULL);
          if (i == op->first)
            top = y0;
          pango_layout_iter_get_line_extents (iter, NULL, &logical);
          cairo_move_to (cr, op->x + (double) logical.x / PANGO_SCALE, op->y + (double) (pango_layout_iter_get_baseline (iter) - top) / PANGO_SCALE);
          pango_cairo_show_layout_line (cr, pango_layout_iter_get_line_readonly (iter));
        }
      i++;
    }
  while (pango_layout_iter_next_line (iter));
  pango_layout_iter_free (iter);
}

static void
draw_tick_box (EfPages *self, cairo_t *cr, const Op *op)
{
  ef_draw_set_ink (cr, &self->style, EF_INK_TEXT, 1);
  cairo_set_line_width (cr, 0.9);
  cairo_rectangle (cr, op->x, op->y, op->w, op->w);
  cairo_stroke (cr);
  if (!op->value)
    return;
  cairo_set_line_width (cr, 1.5);
  cairo_move_to (cr, op->x + 0.18 * op->w, op->y + 0.52 * op->w);
  cairo_line_to (cr, op->x + 0.42 * op->w, op->y + 0.78 * op->w);
  cairo_line_to (cr, op->x + 0.86 * op->w, op->y + 0.16 * op->w);
  cairo_stroke (cr);
}

static void
draw_caution (EfPages *self, cairo_t *cr, const Op *op)
{
  double s = op->w;

  ef_draw_set_ink (cr, &self->style, EF_INK_TEXT, 1);
  cairo_set_line_width (cr, 0.1 * s);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  cairo_move_to (cr, op->x + 0.5 * s, op->y + 0.06 * s);
  cairo_line_to (cr, op->x + 0.97 * s, op->y + 0.92 * s);
  cairo_line_to (cr, op->x + 0.03 * s, op->y + 0.92 * s);
  cairo_close_path (cr);
  cairo_stroke (cr);
  cairo_set_line_cap (cr, CAIRO_LINE_CAP_ROUND);
  cairo_move_to (cr, op->x + 0.5 * s, op->y + 0.36 * s);
  cairo_line_to (cr, op->x + 0.5 * s, op->y + 0.6 * s);
  cairo_move_to (cr, op->x + 0.5 * s, op->y + 0.76 * s);
  cairo_line_to (cr, op->x + 0.501 * s, op->y + 0.76 * s);
  cairo_stroke (cr);
}

static void
draw_op (EfPages *self, cairo_t *cr, const Op *op)
{
  cairo_save (cr);
  cairo_new_path (cr);
  switch (op->type)
    {
    case OP_LINES:
      draw_lines (self, cr, op);
      break;
    case OP_RULE:
      ef_draw_set_ink (cr, &self->style, op->ink, 1);
      cairo_set_line_width (cr, op->h);
      cairo_move_to (cr, op->x, op->y);
      cairo_line_to (cr, op->x + op->w, op->y);
      cairo_stroke (cr);
      break;
    case OP_FRAME:
      ef_draw_set_ink (cr, &self->style, op->ink, 1);
      cairo_set_line_width (cr, op->value / 100.0);
      cairo_rectangle (cr, op->x, op->y, op->w, op->h);
      cairo_stroke (cr);
      break;
    case OP_VERDICT:
      ef_draw_verdict_glyph (cr, (EfVerdictWord) op->value, &self->style, op->x, op->y, op->w);
      break;
    case OP_KIND:
      ef_draw_mark_glyph (cr, &self->style, (EfMarkKind) op->value, op->x, op->y, op->w, op->h);
      break;
    case OP_TICK:
      draw_tick_box (self, cr, op);
      break;
    case OP_CAUTION:
      draw_caution (self, cr, op);
      break;
    case OP_PICTURE:
      cairo_translate (cr, op->x, op->y);
      cairo_rectangle (cr, 0, 0, op->w, op->h);
      cairo_clip (cr);
      op->draw (cr, &self->style, op->data, op->w, op->h);
      break;
    }
  cairo_restore (cr);
}

static void
draw_edge_text (EfPages *self, cairo_t *cr, const char *text, double x, double y, double align, double width)
{
  g_autoptr (PangoLayout) layout = ef_pages_layout (self, text, 0.8, 0, width);

  if (width > 0)
    ef_text_wrap (layout, width, 1);
  if (align > 0)
    pango_layout_set_alignment (layout, PANGO_ALIGN_RIGHT);
  ef_text_show (cr, &self->style, layout, EF_INK_DIM, 0, x, y, align, 0);
}

void
ef_pages_draw (EfPages *self, guint page, cairo_t *cr)
{
  g_autofree char *number = NULL;
  GArray *ops;

  if (page >= self->pages->len)
    return;
  ops = g_ptr_array_index (self->pages, page);
  number = g_strdup_printf (_("page %u of %u"), page + 1, self->pages->len);
  for (guint i = 0; i < ops->len; i++)
    draw_op (self, cr, &g_array_index (ops, Op, i));
  if (page > 0)
    draw_edge_text (self, cr, self->head, MARGIN, MARGIN - 14, 0, ef_pages_width (self));
  draw_edge_text (self, cr, self->foot, MARGIN, self->height - MARGIN, 0, ef_pages_width (self) - 80);
  draw_edge_text (self, cr, number, self->width - MARGIN, self->height - MARGIN, 1, 78);
}
