/* Laying the step sheet out on one page.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-step-sheet.h"
#include "ef-draw-text.h"
#include "ef-report-private.h"

#include "config.h"
#include <cairo-pdf.h>
#include <glib/gi18n-lib.h>

#define MARGIN 24.0 /* points: most printers reach so far */
#define GUTTER 14.0
#define LARGEST 10.0
#define STEP_DOWN 0.25

/* A text at a place of a page, with a box to tick before it or a triangle. */
typedef struct
{
  PangoLayout *layout;
  EfInk ink;
  guint page;
  double x, y;
  int box;      /* 0 none, 1 open, 2 ticked */
  gboolean sign; /* the caution triangle */
  gboolean rule; /* a line over it */
} Piece;

struct _EfStepSheet
{
  const EfAssessment *assessment;
  char *seal; /* how the job stands, in a line */
  EfDrawStyle style;
  PangoContext *context;
  double width, height;

  GArray *pieces; /* Piece */
  double size;
  gboolean reasons;
  guint page, column;
  double top, y; /* of the columns, of the cursor */
};

static void
piece_clear (gpointer data)
{
  g_clear_object (&((Piece *) data)->layout);
}

static PangoContext *
make_context (void)
{
  PangoContext *context = pango_font_map_create_context (pango_cairo_font_map_get_default ());
  cairo_font_options_t *options = cairo_font_options_create ();

  /* the same line breaks on screen, printer and file */
  cairo_font_options_set_hint_style (options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics (options, CAIRO_HINT_METRICS_OFF);
  pango_cairo_context_set_font_options (context, options);
  cairo_font_options_destroy (options);
  pango_cairo_context_set_resolution (context, 72);
  pango_context_set_round_glyph_positions (context, FALSE);
  return context;
}

static PangoLayout *
make_layout (EfStepSheet *self, const char *text, double share, EfTextFlags flags, double width)
{
  PangoLayout *layout = pango_layout_new (self->context);
  PangoFontDescription *font = ef_text_font (&self->style, self->size * share, flags);

  pango_layout_set_font_description (layout, font);
  pango_font_description_free (font);
  pango_layout_set_text (layout, text, -1);
  ef_text_wrap (layout, width, 0);
  return layout;
}

static double
column_width (const EfStepSheet *self)
{
  return (self->width - 2 * MARGIN - GUTTER) / 2;
}

static double
bottom (const EfStepSheet *self)
{
  return self->height - MARGIN - 12;
}

static double
column_x (const EfStepSheet *self)
{
  return MARGIN + self->column * (column_width (self) + GUTTER);
}

static Piece *
add_piece (EfStepSheet *self, PangoLayout *layout, EfInk ink, double x, double y)
{
  Piece piece = { .layout = layout, .ink = ink, .page = self->page, .x = x, .y = y };

  g_array_append_val (self->pieces, piece);
  return &g_array_index (self->pieces, Piece, self->pieces->len - 1);
}

/* The next column, or the first of a new page. */
static void
next_column (EfStepSheet *self)
{
  self->column++;
  if (self->column == 2)
    {
      self->column = 0;
      self->page++;
      self->top = MARGIN;
    }
  self->y = self->top;
}

/* Texts that belong to one step, kept together. */
typedef struct
{
  PangoLayout *layout;
  EfInk ink;
  double indent;
} Part;

static void
add_part (EfStepSheet *self, GArray *parts, const char *text, double share, EfTextFlags flags, EfInk ink, double indent)
{
  Part part = { make_layout (self, text, share, flags, column_width (self) - indent), ink, indent };

  g_array_append_val (parts, part);
}

static void
add_labelled (EfStepSheet *self, GArray *parts, const char *label, const GPtrArray *texts, const char *between, double indent)
{
  GString *line;

  if (texts == NULL || texts->len == 0)
    return;
  line = g_string_new (label);
  for (guint i = 0; i < texts->len; i++)
    g_string_append_printf (line, "%s%s", i == 0 ? ": " : between, (const char *) texts->pdata[i]);
  add_part (self, parts, line->str, 1, 0, EF_INK_TEXT, indent);
  g_string_free (line, TRUE);
}

char *
ef_step_sheet_letter (guint index)
{
  if (index < 26)
    return g_strdup_printf ("%c", 'A' + index);
  return g_strdup_printf ("%c%c", 'A' + index / 26 - 1, 'A' + index % 26);
}

/* "Caution A, C"; NULL for none. */
static char *
caution_letters (const EfStepSheet *self, const EfStep *step)
{
  const GPtrArray *all = self->assessment->cautions;
  GString *line = g_string_new (NULL);

  for (guint i = 0; step->cautions != NULL && i < step->cautions->len; i++)
    for (guint k = 0; all != NULL && k < all->len; k++)
      if (g_str_equal (all->pdata[k], step->cautions->pdata[i]))
        {
          g_autofree char *letter = ef_step_sheet_letter (k);

          g_string_append_printf (line, "%s%s", line->len > 0 ? ", " : _("Caution "), letter);
        }
  if (line->len > 0)
    return g_string_free (line, FALSE);
  g_string_free (line, TRUE);
  return NULL;
}

static GArray *
step_parts (EfStepSheet *self, const EfStep *step, guint number, double indent)
{
  const EfTick *tick = ef_inspection_find (self->assessment->inspection, EF_ITEM_TICK, step->id);
  g_autofree char *text = g_strdup_printf ("%u. %s", number, step->text);
  g_autofree char *letters = caution_letters (self, step);
  GArray *parts = g_array_new (FALSE, FALSE, sizeof (Part));

  add_part (self, parts, text, 1, 0, EF_INK_TEXT, indent);
  if (self->reasons && step->why != NULL)
    add_part (self, parts, step->why, 1, 0, EF_INK_DIM, indent);
  if (letters != NULL)
    add_part (self, parts, letters, 1, EF_TEXT_BOLD, EF_INK_TEXT, indent);
  add_labelled (self, parts, _("Tools"), step->tools, ", ", indent);
  add_labelled (self, parts, _("Check"), step->checks, " ", indent);
  if (tick != NULL)
    {
      g_autofree char *time = tick->time != NULL ? ef_report_time (tick->time) : g_strdup ("–");
      g_autofree char *done = g_strdup_printf (_("Done: %s, %s"), tick->role != NULL ? tick->role : "–", time);

      add_part (self, parts, done, 1, 0, EF_INK_DIM, indent);
    }
  return parts;
}

static double
parts_height (const GArray *parts)
{
  double sum = 0;

  for (guint i = 0; i < parts->len; i++)
    {
      double h;

      ef_text_extent (g_array_index (parts, Part, i).layout, NULL, &h);
      sum += h;
    }
  return sum;
}

static void
lay_step (EfStepSheet *self, const EfStep *step, guint number)
{
  gboolean ticked = ef_inspection_find (self->assessment->inspection, EF_ITEM_TICK, step->id) != NULL;
  g_autoptr (GArray) parts = step_parts (self, step, number, 1.5 * self->size);

  if (self->y > self->top && self->y + parts_height (parts) > bottom (self))
    next_column (self);
  for (guint i = 0; i < parts->len; i++)
    {
      const Part *part = &g_array_index (parts, Part, i);
      Piece *piece;
      double h;

      piece = add_piece (self, part->layout, part->ink, column_x (self) + part->indent, self->y);
      if (i == 0)
        piece->box = ticked ? 2 : 1;
      ef_text_extent (part->layout, NULL, &h);
      self->y += h;
    }
  self->y += 0.35 * self->size;
}

static void
lay_phase (EfStepSheet *self, const char *phase)
{
  PangoLayout *layout = make_layout (self, ef_report_phase (phase), 1.2, EF_TEXT_BOLD, column_width (self));
  double h;

  ef_text_extent (layout, NULL, &h);
  if (self->y + h + 4 * self->size > bottom (self))
    next_column (self);
  if (self->y > self->top)
    self->y += 0.4 * self->size;
  add_piece (self, layout, EF_INK_TEXT, column_x (self), self->y)->rule = TRUE;
  self->y += h + 0.2 * self->size;
}

/* Over the whole width, in two columns of their own: as many lines left as right. */
static void
lay_cautions (EfStepSheet *self)
{
  const GPtrArray *cautions = self->assessment->cautions;
  double left = self->y, right = self->y, indent = 1.5 * self->size;

  for (guint i = 0; cautions != NULL && i < cautions->len; i++)
    {
      g_autofree char *letter = ef_step_sheet_letter (i);
      g_autofree char *text = g_strdup_printf ("%s  %s", letter, (const char *) cautions->pdata[i]);
      PangoLayout *layout = make_layout (self, text, 1, 0, column_width (self) - indent);
      gboolean second = right < left;
      double *y = second ? &right : &left;
      double h;

      ef_text_extent (layout, NULL, &h);
      add_piece (self, layout, EF_INK_TEXT, MARGIN + indent + (second ? column_width (self) + GUTTER : 0), *y)->sign = TRUE;
      *y += h + 0.2 * self->size;
    }
  self->y = MAX (left, right) + 0.3 * self->size;
}

static void
lay_head (EfStepSheet *self)
{
  const EfJobHeader *job = ef_inspection_header (self->assessment->inspection);
  g_autofree char *title = g_strdup_printf (_("Step sheet %s"), job != NULL && job->number != NULL ? job->number : "");
  g_autofree char *about = g_strdup_printf ("%s%s%s · %s", self->assessment->inspection->sheet->name, job != NULL && job->serial != NULL ? " · " : "",
                                            job != NULL && job->serial != NULL ? job->serial : "", _(ef_verdict_label (self->assessment->verdict->word)));
  PangoLayout *layout = make_layout (self, title, 1.7, EF_TEXT_BOLD, self->width - 2 * MARGIN);
  double h;

  add_piece (self, layout, EF_INK_TEXT, MARGIN, self->y);
  ef_text_extent (layout, NULL, &h);
  self->y += h;
  layout = make_layout (self, about, 1, 0, self->width - 2 * MARGIN);
  add_piece (self, layout, EF_INK_DIM, MARGIN, self->y);
  ef_text_extent (layout, NULL, &h);
  self->y += h;
  layout = make_layout (self, self->seal, 1, 0, self->width - 2 * MARGIN);
  add_piece (self, layout, EF_INK_DIM, MARGIN, self->y);
  ef_text_extent (layout, NULL, &h);
  self->y += h + 0.5 * self->size;
}

static void
lay_out (EfStepSheet *self, double size, gboolean reasons)
{
  const GPtrArray *steps = self->assessment->steps;
  const char *phase = NULL;

  g_array_set_size (self->pieces, 0);
  self->size = size;
  self->reasons = reasons;
  self->page = self->column = 0;
  self->y = MARGIN;
  lay_head (self);
  lay_cautions (self);
  self->top = self->y;
  for (guint i = 0; steps != NULL && i < steps->len; i++)
    {
      const EfStep *step = steps->pdata[i];

      if (g_strcmp0 (phase, step->phase) != 0)
        lay_phase (self, step->phase);
      phase = step->phase;
      lay_step (self, step, i + 1);
    }
}

EfStepSheet *
ef_step_sheet_new (const EfAssessment *assessment, const EfReportSeal *seal, EfPaper paper)
{
  EfStepSheet *self = g_new0 (EfStepSheet, 1);
  double size = LARGEST;

  self->assessment = ef_assessment_ref ((EfAssessment *) assessment);
  self->seal = ef_report_seal_words (seal, FALSE);
  ef_draw_style_print (&self->style);
  ef_paper_size (paper, &self->width, &self->height);
  self->context = make_context ();
  self->pieces = g_array_new (FALSE, FALSE, sizeof (Piece));
  g_array_set_clear_func (self->pieces, piece_clear);
  lay_out (self, size, TRUE);
  while (self->page > 0 && size > EF_STEP_SHEET_LEAST)
    {
      size = MAX (size - STEP_DOWN, EF_STEP_SHEET_LEAST);
      lay_out (self, size, TRUE);
    }
  /* Reasons may be read in the window; large type helps at the bench. */
  for (size = LARGEST; self->page > 0 && size >= EF_STEP_SHEET_LEAST; size -= STEP_DOWN)
    lay_out (self, size, FALSE);
  return self;
}

void
ef_step_sheet_free (EfStepSheet *self)
{
  if (self == NULL)
    return;
  g_array_unref (self->pieces);
  g_object_unref (self->context);
  ef_assessment_unref ((EfAssessment *) self->assessment);
  g_free (self->seal);
  g_free (self);
}

guint
ef_step_sheet_n_pages (EfStepSheet *self)
{
  return self->page + 1;
}

double
ef_step_sheet_text_size (EfStepSheet *self)
{
  return self->size;
}

static void
draw_box (EfStepSheet *self, cairo_t *cr, const Piece *piece)
{
  double s = self->size, x = piece->x - 1.5 * s, y = piece->y + 0.15 * s;

  ef_draw_set_ink (cr, &self->style, EF_INK_TEXT, 1);
  cairo_set_line_width (cr, 0.8);
  cairo_rectangle (cr, x, y, s, s);
  cairo_stroke (cr);
  if (piece->box < 2)
    return;
  cairo_set_line_width (cr, 1.4);
  cairo_move_to (cr, x + 0.18 * s, y + 0.52 * s);
  cairo_line_to (cr, x + 0.42 * s, y + 0.78 * s);
  cairo_line_to (cr, x + 0.86 * s, y + 0.16 * s);
  cairo_stroke (cr);
}

static void
draw_sign (EfStepSheet *self, cairo_t *cr, const Piece *piece)
{
  double s = 1.1 * self->size, x = piece->x - 1.4 * self->size, y = piece->y + 0.05 * s;

  ef_draw_set_ink (cr, &self->style, EF_INK_TEXT, 1);
  cairo_set_line_width (cr, 0.09 * s);
  cairo_move_to (cr, x + 0.5 * s, y + 0.08 * s);
  cairo_line_to (cr, x + 0.96 * s, y + 0.92 * s);
  cairo_line_to (cr, x + 0.04 * s, y + 0.92 * s);
  cairo_close_path (cr);
  cairo_move_to (cr, x + 0.5 * s, y + 0.38 * s);
  cairo_line_to (cr, x + 0.5 * s, y + 0.62 * s);
  cairo_move_to (cr, x + 0.5 * s, y + 0.72 * s);
  cairo_line_to (cr, x + 0.5 * s, y + 0.8 * s);
  cairo_stroke (cr);
}

static void
draw_foot (EfStepSheet *self, cairo_t *cr, guint page)
{
  g_autofree char *left = g_strdup_printf (_("Endfloat %s · rules %s · local codes go before anything said here"), EF_VERSION,
                                           self->assessment->rule_set != NULL ? self->assessment->rule_set : "–");
  g_autofree char *right = g_strdup_printf (_("page %u of %u"), page + 1, ef_step_sheet_n_pages (self));
  g_autoptr (PangoLayout) a = make_layout (self, left, EF_STEP_SHEET_LEAST / self->size, 0, self->width - 2 * MARGIN - 80);
  g_autoptr (PangoLayout) b = make_layout (self, right, EF_STEP_SHEET_LEAST / self->size, 0, 78);

  pango_layout_set_alignment (b, PANGO_ALIGN_RIGHT);
  ef_text_show (cr, &self->style, a, EF_INK_DIM, 0, MARGIN, self->height - MARGIN - 8, 0, 0);
  ef_text_show (cr, &self->style, b, EF_INK_DIM, 0, self->width - MARGIN, self->height - MARGIN - 8, 1, 0);
}

void
ef_step_sheet_draw (EfStepSheet *self, guint page, cairo_t *cr)
{
  cairo_save (cr);
  cairo_new_path (cr);
  for (guint i = 0; i < self->pieces->len; i++)
    {
      const Piece *piece = &g_array_index (self->pieces, Piece, i);

      if (piece->page != page)
        continue;
      if (piece->box > 0)
        draw_box (self, cr, piece);
      if (piece->sign)
        draw_sign (self, cr, piece);
      if (piece->rule)
        {
          ef_draw_set_ink (cr, &self->style, EF_INK_FAINT, 1);
          cairo_set_line_width (cr, 0.5);
          cairo_move_to (cr, piece->x, piece->y - 1);
          cairo_line_to (cr, piece->x + column_width (self), piece->y - 1);
          cairo_stroke (cr);
        }
      ef_text_show (cr, &self->style, piece->layout, piece->ink, 0, piece->x, piece->y, 0, 0);
    }
  draw_foot (self, cr, page);
  cairo_restore (cr);
}

static cairo_status_t
append_bytes (void *closure, const unsigned char *data, unsigned int length)
{
  g_byte_array_append (closure, data, length);
  return CAIRO_STATUS_SUCCESS;
}

static cairo_status_t
draw_pdf (const EfAssessment *assessment, const EfReportSeal *seal, EfPaper paper, const char *created, GByteArray *bytes)
{
  g_autoptr (EfStepSheet) sheet = ef_step_sheet_new (assessment, seal, paper);
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = created != NULL ? g_strdup (created) : g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream (append_bytes, bytes, sheet->width, sheet->height);
  cairo_status_t status;
  cairo_t *cr;

  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_TITLE, _("Step sheet"));
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_CREATE_DATE, time);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_MOD_DATE, time);
  cr = cairo_create (surface);
  for (guint page = 0; page < ef_step_sheet_n_pages (sheet); page++)
    {
      ef_step_sheet_draw (sheet, page, cr);
      cairo_show_page (cr);
    }
  status = cairo_status (cr);
  cairo_destroy (cr);
  cairo_surface_finish (surface);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_status (surface);
  cairo_surface_destroy (surface);
  return status;
}

gboolean
ef_step_sheet_write_pdf (const EfAssessment *assessment, const EfReportSeal *seal, const char *path, EfPaper paper, const char *created, GError **error)
{
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  g_autoptr (GError) local = NULL;
  cairo_status_t status = draw_pdf (assessment, seal, paper, created, bytes);

  if (status != CAIRO_STATUS_SUCCESS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: the step sheet can't be drawn: %s", path, cairo_status_to_string (status));
      return FALSE;
    }
  if (!g_file_set_contents (path, (const char *) bytes->data, bytes->len, &local))
    {
      g_set_error (error, EF_ERROR, g_error_matches (local, G_FILE_ERROR, G_FILE_ERROR_NOSPC) ? EF_ERROR_FULL : EF_ERROR_IO,
                   "%s: the step sheet can't be written: %s", path, local->message);
      return FALSE;
    }
  return TRUE;
}
