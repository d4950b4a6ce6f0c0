/* What each fault costs, as ranked bars; and the pressure of the complaint cut into whose it is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-flow.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

#define LEAST_LOSS 0.01e5 /* Pa: below, there is nothing to rank */
#define LEAST_SHARE 0.005 /* of what is lost */
#define MARKS_A_FACE 3

typedef enum { ROW_CLEARANCE, ROW_FACE, ROW_MARK, ROW_MORE } RowKind;

typedef struct
{
  RowKind kind;
  const EfLeakShare *share; /* ROW_MORE: NULL */
  EfMarkKind mark_kind;
  char *label;
} Row;

static void
row_clear (gpointer data)
{
  g_free (((Row *) data)->label);
}

static const EfMark *
mark_of (const EfAssessment *assessment, const EfLeakShare *share)
{
  if (!g_str_has_prefix (share->id, "mark:"))
    return NULL;
  return ef_inspection_find (assessment->inspection, EF_ITEM_MARK, share->id + strlen ("mark:"));
}

static gboolean
is_worth_showing (const EfLeakShare *share)
{
  return fabs (share->share) >= LEAST_SHARE;
}

/* The dearest marks of a face; the others that count at all as one row of words. */
static void
add_marks (const EfAssessment *assessment, const char *face_id, GArray *rows)
{
  GPtrArray *shares = assessment->flow->shares;
  guint shown = 0, more = 0;

  for (guint i = 0; i < shares->len; i++)
    {
      const EfLeakShare *share = g_ptr_array_index (shares, i);
      const EfMark *mark = mark_of (assessment, share);
      Row row = { ROW_MARK, share, 0, NULL };

      if (mark == NULL || g_strcmp0 (mark->face_id, face_id) != 0)
        continue;
      if (shown == MARKS_A_FACE || !is_worth_showing (share))
        {
          more++;
          continue;
        }
      row.mark_kind = mark->kind;
      row.label = g_strdup_printf (_("Mark %d, %s"), mark->number, _(ef_mark_kind_label (mark->kind)));
      g_array_append_val (rows, row);
      shown++;
    }
  if (shown > 0 && more > 0)
    {
      Row row = { ROW_MORE, NULL, 0, g_strdup_printf (ngettext ("%u more mark, of less", "%u more marks, each of less", more), more) };

      g_array_append_val (rows, row);
    }
}

static double
lost_in_all (const EfFlowResult *flow)
{
  return flow->state[EF_STATE_NEW].idle.pressure - flow->state[EF_STATE_FOUND].idle.pressure;
}

/* Clearances and faces in the order of what they cost, each face with its marks; @left: how many are too small to be shown. */
static GArray *
collect_rows (const EfAssessment *assessment, guint *left)
{
  GArray *rows = g_array_new (FALSE, TRUE, sizeof (Row));
  const EfFlowResult *flow = assessment->flow;

  g_array_set_clear_func (rows, row_clear);
  *left = 0;
  if (flow == NULL || flow->shares == NULL || !flow->state[EF_STATE_NEW].known || !flow->state[EF_STATE_FOUND].known || lost_in_all (flow) < LEAST_LOSS)
    return rows;
  for (guint i = 0; i < flow->shares->len; i++)
    {
      const EfLeakShare *share = g_ptr_array_index (flow->shares, i);
      gboolean face = g_str_has_prefix (share->id, "face:");
      Row row = { face ? ROW_FACE : ROW_CLEARANCE, share, 0, NULL };

      if (g_str_has_prefix (share->id, "mark:"))
        continue;
      if (!is_worth_showing (share))
        {
          ++*left;
          continue;
        }
      row.label = g_strdup (_(share->label));
      g_array_append_val (rows, row);
      if (face)
        add_marks (assessment, share->id + strlen ("face:"), rows);
    }
  return rows;
}

/* --- Layout -------------------------------------------------------------------------------------------------------------- */

typedef struct
{
  cairo_t *cr;
  const EfDrawStyle *style;
  double size, width;
  gboolean stacked;  /* words over the bar: narrow */
  double label_width, value_width, bar_x, bar_width;
  double full;       /* Pa of the longest bar */
} Bars;

static gboolean
is_stacked (const EfDrawStyle *style, double width)
{
  return width < 36 * style->text_size;
}

static double
row_height (const EfDrawStyle *style, RowKind kind, gboolean stacked)
{
  double size = style->text_size;

  if (kind == ROW_MORE)
    return 1.5 * size;
  if (stacked)
    return kind == ROW_MARK ? 2.4 * size : 2.8 * size;
  return kind == ROW_MARK ? 1.6 * size : 2.0 * size;
}

static double
note_height (const EfDrawStyle *style, double width)
{
  return (is_stacked (style, width) ? 4.2 : width < 60 * style->text_size ? 3.0 : 2.6) * style->text_size;
}

double
ef_draw_flow_shares_height (const EfDrawStyle *style, const EfAssessment *assessment, double width)
{
  guint left;
  g_autoptr (GArray) rows = collect_rows (assessment, &left);
  double height = note_height (style, width);

  for (guint i = 0; i < rows->len; i++)
    height += row_height (style, g_array_index (rows, Row, i).kind, is_stacked (style, width));
  return rows->len > 0 ? height : 3 * style->text_size;
}

static char *
value_text (const EfLeakShare *share)
{
  double bar = share->pressure / 1e5;

  /* a tenth of a millibar isn't known that well */
  if (fabs (bar) < 0.005)
    return g_strdup_printf (_("below 0.01 bar  %.0f %%"), 100 * share->share);
  return g_strdup_printf ("%.2f bar  %.0f %%", bar, 100 * share->share);
}

static void
bars_init (Bars *bars, cairo_t *cr, const EfDrawStyle *style, GArray *rows, double width)
{
  double widest = 0;

  *bars = (Bars) { .cr = cr, .style = style, .size = style->text_size, .width = width, .stacked = is_stacked (style, width) };
  for (guint i = 0; i < rows->len; i++)
    {
      const Row *row = &g_array_index (rows, Row, i);
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, bars->size, 0, row->label);
      double w;

      ef_text_extent (layout, &w, NULL);
      widest = MAX (widest, w + (row->kind == ROW_MARK ? 3.6 * bars->size : 0));
      if (row->share != NULL)
        {
          g_autofree char *value = value_text (row->share);
          g_autoptr (PangoLayout) number = ef_text_layout (cr, style, bars->size, 0, value);

          bars->full = MAX (bars->full, fabs (row->share->pressure));
          ef_text_extent (number, &w, NULL);
          bars->value_width = MAX (bars->value_width, w);
        }
    }
  bars->label_width = bars->stacked ? width : MIN (widest, 0.42 * width);
  bars->bar_x = bars->stacked ? 0 : bars->label_width + bars->size;
  bars->bar_width = MAX (width - bars->bar_x - bars->value_width - 0.8 * bars->size, 2 * bars->size);
}

/* --- Drawing --------------------------------------------------------------------------------------------------------------- */

/* Slanting strokes tell a face's bar from a clearance's in black and white. */
static void
hatch (cairo_t *cr, const EfDrawStyle *style, double x, double y, double width, double height)
{
  double step = 5 * style->line_scale;

  cairo_save (cr);
  cairo_rectangle (cr, x, y, width, height);
  cairo_clip (cr);
  for (double at = x - height; at < x + width; at += step)
    {
      cairo_move_to (cr, at, y + height);
      cairo_line_to (cr, at + height, y);
    }
  ef_draw_set_width (cr, style, 1.3);
  cairo_stroke (cr);
  cairo_restore (cr);
}

/* What gains pressure by being worn is drawn open and dashed. */
static void
draw_bar (const Bars *bars, const Row *row, double y, double height)
{
  double length = bars->full > 0 ? fabs (row->share->pressure) / bars->full * bars->bar_width : 0;
  double width = MAX (length, 1.5 * bars->style->line_scale);
  double x = bars->bar_x + (bars->stacked && row->kind == ROW_MARK ? 1.2 * bars->size : 0);
  cairo_t *cr = bars->cr;

  if (row->share->pressure < 0)
    {
      double dash = 3 * bars->style->line_scale;

      cairo_save (cr);
      ef_draw_set_ink (cr, bars->style, EF_INK_DIM, 1);
      ef_draw_set_width (cr, bars->style, 1);
      cairo_set_dash (cr, &dash, 1, 0);
      cairo_rectangle (cr, x, y, width, height);
      cairo_stroke (cr);
      cairo_restore (cr);
      return;
    }
  cairo_rectangle (cr, x, y, width, height);
  ef_draw_set_ink (cr, bars->style, EF_INK_DELIVERY, row->kind == ROW_CLEARANCE ? 1 : row->kind == ROW_FACE ? 0.25 : 0.12);
  cairo_fill_preserve (cr);
  ef_draw_set_ink (cr, bars->style, EF_INK_DELIVERY, 1);
  ef_draw_set_width (cr, bars->style, 1);
  cairo_stroke (cr);
  if (row->kind == ROW_FACE)
    hatch (cr, bars->style, x, y, width, height);
}

static void
draw_label (const Bars *bars, const Row *row, double y, double height)
{
  double indent = row->kind == ROW_MARK || row->kind == ROW_MORE ? 1.2 * bars->size : 0;
  EfInk ink = row->kind == ROW_MORE ? EF_INK_DIM : EF_INK_TEXT;
  double size = row->kind == ROW_MARK || row->kind == ROW_MORE ? ef_text_size (bars->style, 0.92) : bars->size;
  g_autoptr (PangoLayout) layout = ef_text_layout (bars->cr, bars->style, size, 0, row->label);

  if (row->kind == ROW_MARK)
    {
      ef_draw_mark_glyph (bars->cr, bars->style, row->mark_kind, indent, y + 0.5 * height - 0.65 * size, 2.1 * size, 1.3 * size);
      indent += 2.5 * size;
    }
  ef_text_wrap (layout, bars->label_width - indent, 1);
  ef_text_show (bars->cr, bars->style, layout, ink, 0, indent, y + height / 2, 0, 0.5);
}

static void
draw_row (const Bars *bars, const Row *row, double y)
{
  double height = row_height (bars->style, row->kind, bars->stacked);
  double line = bars->stacked && row->kind != ROW_MORE ? 1.35 * bars->size : height;
  double bar_height = row->kind == ROW_MARK ? 0.55 * bars->size : 1.0 * bars->size;
  double bar_y = bars->stacked ? y + line + 0.05 * bars->size : y + (height - bar_height) / 2;
  g_autofree char *value = NULL;

  draw_label (bars, row, y, line);
  if (row->share == NULL)
    return;
  draw_bar (bars, row, bar_y, bar_height);
  value = value_text (row->share);
  ef_text_put (bars->cr, bars->style, row->kind == ROW_MARK ? ef_text_size (bars->style, 0.92) : bars->size, 0,
               row->kind == ROW_MARK ? EF_INK_DIM : EF_INK_TEXT, value, bars->width, bar_y + bar_height / 2, 1, 0.5);
}

static void
draw_note (const Bars *bars, guint left, double y, double height)
{
  g_autoptr (GString) text = g_string_new (_("Bar: hot-idle pressure gained if this alone were as new; % of all that is lost. Shares overlap and needn't add up to 100 %."));
  g_autoptr (PangoLayout) layout = NULL;
  double size = ef_text_size (bars->style, 0.85);

  if (left > 0)
    g_string_append_printf (text, ngettext (" %u smaller one is left out.", " %u smaller ones are left out.", left), left);
  layout = ef_text_layout (bars->cr, bars->style, size, 0, text->str);
  ef_text_wrap (layout, bars->width, MAX ((int) (height / (1.35 * size)), 1));
  ef_text_show (bars->cr, bars->style, layout, EF_INK_DIM, 0, 0, y, 0, 0);
}

static const char *
why_none (const EfAssessment *assessment)
{
  const EfFlowResult *flow = assessment->flow;

  if (flow != NULL && flow->state[EF_STATE_FOUND].reason != NULL)
    return flow->state[EF_STATE_FOUND].reason;
  if (flow == NULL || flow->shares == NULL)
    return _("Not worked out yet");
  return _("Nothing to speak of is lost against as new.");
}

void
ef_draw_flow_shares (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height)
{
  guint left;
  g_autoptr (GArray) rows = collect_rows (assessment, &left);
  double y = 0, note = note_height (style, width);
  Bars bars;

  if (rows->len == 0)
    {
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, style->text_size, 0, why_none (assessment));

      ef_text_wrap (layout, width, 0);
      ef_text_show (cr, style, layout, EF_INK_DIM, 0, 0, 0.5 * style->text_size, 0, 0);
      return;
    }
  bars_init (&bars, cr, style, rows, width);
  for (guint i = 0; i < rows->len; i++)
    {
      const Row *row = &g_array_index (rows, Row, i);
      double tall = row_height (style, row->kind, bars.stacked);

      if (y + tall + note > height + 1e-6)
        {
          left += row->kind == ROW_MORE ? 0 : 1;
          continue;
        }
      draw_row (&bars, row, y);
      y += tall;
    }
  draw_note (&bars, left, y + 0.4 * style->text_size, note - 0.4 * style->text_size);
}

/* --- Whose the missing pressure is ------------------------------------------------------------------------------------------------ */

typedef enum { PIECE_MEASURED, PIECE_PUMP, PIECE_ELSEWHERE } Piece;

static void
draw_piece (cairo_t *cr, const EfDrawStyle *style, Piece piece, double x, double y, double width, double height)
{
  if (!(width > 0))
    return;
  cairo_rectangle (cr, x, y, width, height);
  ef_draw_set_ink (cr, style, piece == PIECE_PUMP ? EF_INK_DELIVERY : EF_INK_MATERIAL, piece == PIECE_PUMP ? 0.25 : 1);
  if (piece != PIECE_ELSEWHERE)
    cairo_fill (cr);
  cairo_new_path (cr);
  ef_draw_set_ink (cr, style, EF_INK_DELIVERY, 1);
  if (piece == PIECE_PUMP)
    hatch (cr, style, x, y, width, height);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 1);
  cairo_rectangle (cr, x, y, width, height);
  cairo_stroke (cr);
}

static double
blame_size (const EfDrawStyle *style)
{
  return ef_text_size (style, 0.92);
}

double
ef_draw_flow_blame_height (const EfDrawStyle *style)
{
  return 4.6 * blame_size (style);
}

/* In one line where there is room, else in two; on a stamp the numbers alone. Returns the width of all three. */
static double
lay_piece_words (cairo_t *cr, const EfDrawStyle *style, const double values[3], const char *between, PangoLayout *layouts[3], double widths[3])
{
  static const char *const words[3] = { N_("measured"), N_("lost by the pump"), N_("lost elsewhere") };
  double size = blame_size (style), sum = 0;

  for (int i = 0; i < 3; i++)
    {
      g_autofree char *number = ef_format_quantity (values[i], EF_UNIT_BAR, 2);
      g_autofree char *text = between != NULL ? g_strconcat (number, between, _(words[i]), NULL) : g_strdup (number);

      g_clear_object (&layouts[i]);
      if (!(values[i] >= 0.005e5))
        continue;
      layouts[i] = ef_text_layout (cr, style, size, 0, text);
      ef_text_extent (layouts[i], &widths[i], NULL);
      sum += widths[i] + 0.8 * size;
    }
  return sum;
}

/* Under the beginnings of the pieces, moved apart where they would meet. */
static void
draw_piece_words (cairo_t *cr, const EfDrawStyle *style, const double edges[4], const double values[3], double y, double width)
{
  PangoLayout *layouts[3] = { NULL, NULL, NULL };
  double gap = 0.8 * blame_size (style), left = 0, right = width, w[3], x[3];

  if (lay_piece_words (cr, style, values, " ", layouts, w) > width && lay_piece_words (cr, style, values, "\n", layouts, w) > width)
    lay_piece_words (cr, style, values, NULL, layouts, w);
  for (int i = 0; i < 3; i++)
    if (layouts[i] != NULL)
      {
        x[i] = MAX (edges[i], left);
        left = x[i] + w[i] + gap;
      }
  for (int i = 2; i >= 0; i--)
    if (layouts[i] != NULL)
      {
        x[i] = MIN (x[i], right - w[i]);
        right = x[i] - gap;
        ef_text_show (cr, style, layouts[i], EF_INK_TEXT, 0, x[i], y, 0, 0);
        g_object_unref (layouts[i]);
      }
}

void
ef_draw_flow_blame (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height)
{
  const EfFlowResult *flow = assessment->flow;
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  double size = blame_size (style), tall = 1.5 * size, y = 0.2 * size;
  double values[3], edges[4], scale;

  if (flow == NULL || !flow->has_complaint || job == NULL || !(flow->missing + job->found_pressure > 0))
    return;
  values[PIECE_MEASURED] = job->found_pressure;
  values[PIECE_PUMP] = MAX (MIN (flow->explained, flow->missing), 0);
  values[PIECE_ELSEWHERE] = MAX (flow->missing - values[PIECE_PUMP], 0);
  scale = (width - 2) / MAX (values[0] + values[1] + values[2], 1);
  edges[0] = 1;
  for (int i = 0; i < 3; i++)
    {
      edges[i + 1] = edges[i] + scale * values[i];
      draw_piece (cr, style, (Piece) i, edges[i], y, edges[i + 1] - edges[i], tall);
    }
  if (isfinite (flow->explained_uncertainty) && flow->missing > 0)
    {
      double middle = edges[1] + scale * values[PIECE_PUMP], reach = 2 * scale * flow->explained_uncertainty;

      ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
      ef_draw_set_width (cr, style, 1.6);
      cairo_move_to (cr, middle - reach, y + tall / 2);
      cairo_line_to (cr, middle + reach, y + tall / 2);
      for (int side = -1; side <= 1; side += 2)
        {
          cairo_move_to (cr, middle + side * reach, y + 0.3 * tall);
          cairo_line_to (cr, middle + side * reach, y + 0.7 * tall);
        }
      cairo_stroke (cr);
    }
  draw_piece_words (cr, style, edges, values, y + tall + 0.3 * size, width);
}
