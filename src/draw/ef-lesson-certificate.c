/* The certificate-like sheet of an attempt.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-lesson.h"
#include "ef-draw-text.h"
#include "ef-report-private.h"

#include "config.h"
#include <cairo-pdf.h>
#include <glib/gi18n-lib.h>
#include <math.h>

#define MARGIN 56.0
#define BODY 10.5

typedef struct
{
  const EfLessonCertificate *what;
  cairo_t *cr;
  EfDrawStyle style;
  double width, height, y;
  guint pages;
} Sheet;

static double
inner (const Sheet *self)
{
  return self->width - 2 * MARGIN;
}

static void
draw_frame (Sheet *self)
{
  ef_draw_set_ink (self->cr, &self->style, EF_INK_FAINT, 1);
  cairo_set_line_width (self->cr, 1.2);
  cairo_rectangle (self->cr, 28, 28, self->width - 56, self->height - 56);
  cairo_stroke (self->cr);
}

static void
begin_page (Sheet *self)
{
  draw_frame (self);
  self->y = MARGIN;
  self->pages++;
}

static void
need (Sheet *self, double room)
{
  if (self->y + room <= self->height - MARGIN)
    return;
  cairo_show_page (self->cr);
  begin_page (self);
}

static void
put (Sheet *self, const char *text, double size, EfTextFlags flags, EfInk ink, double indent, double after)
{
  g_autoptr (PangoLayout) layout = ef_text_layout (self->cr, &self->style, size, flags, text);
  double height;

  ef_text_wrap (layout, inner (self) - indent, 0);
  if (flags & EF_TEXT_CENTRE)
    pango_layout_set_alignment (layout, PANGO_ALIGN_CENTER);
  ef_text_extent (layout, NULL, &height);
  need (self, height);
  ef_text_show (self->cr, &self->style, layout, ink, 0, MARGIN + indent, self->y, 0, 0);
  self->y += height + after;
}

static void
put_pair (Sheet *self, const char *label, const char *value)
{
  need (self, 2 * BODY);
  ef_text_put (self->cr, &self->style, BODY, 0, EF_INK_DIM, label, MARGIN, self->y, 0, 0);
  self->y += 0;
  put (self, value, BODY, 0, EF_INK_TEXT, 150, 4);
}

static void
put_head (Sheet *self)
{
  const EfLessonTerms *terms = &self->what->lesson->terms;
  g_autofree char *score = g_strdup_printf (_("%.0f of 100"), 100 * self->what->score->score);
  g_autofree char *time = self->what->handed_in != NULL ? ef_report_time (self->what->handed_in) : g_strdup ("–");

  put (self, _("Record of a lesson"), 22, EF_TEXT_BOLD, EF_INK_TEXT, 0, 4);
  put (self, terms->title, 14, 0, EF_INK_TEXT, 0, 14);
  put_pair (self, _("Apprentice"), self->what->apprentice);
  put_pair (self, _("Handed in"), time);
  put_pair (self, _("Pump"), self->what->lesson->reference->sheet->name);
  put_pair (self, _("Lesson made by"), terms->role);
  put_pair (self, _("Score"), score);
  self->y += 8;
}

static void
put_title (Sheet *self, const char *title)
{
  need (self, 4 * BODY);
  self->y += 6;
  put (self, title, 12.5, EF_TEXT_BOLD, EF_INK_TEXT, 0, 4);
}

static void
put_bar (Sheet *self, const char *label, double share)
{
  g_autofree char *text = g_strdup_printf ("%.0f", 100 * share);
  double x = MARGIN + 150, w = inner (self) - 200;

  need (self, 2 * BODY);
  ef_text_put (self->cr, &self->style, BODY, 0, EF_INK_TEXT, label, MARGIN, self->y, 0, 0);
  cairo_rectangle (self->cr, x, self->y + 2, w, BODY - 2);
  ef_draw_set_ink (self->cr, &self->style, EF_INK_FAINT, 1);
  cairo_set_line_width (self->cr, 0.6);
  cairo_stroke (self->cr);
  cairo_rectangle (self->cr, x, self->y + 2, w * CLAMP (share, 0, 1), BODY - 2);
  ef_draw_set_ink (self->cr, &self->style, EF_INK_TEXT, 0.75);
  cairo_fill (self->cr);
  ef_text_put (self->cr, &self->style, BODY, 0, EF_INK_TEXT, text, MARGIN + inner (self), self->y, 1, 0);
  self->y += 1.7 * BODY;
}

static void
put_parts (Sheet *self)
{
  const EfLessonScore *score = self->what->score;

  put_title (self, _("What it is made of"));
  put_bar (self, _("Marks"), score->marks->score);
  if (score->decisions->len > 0)
    put_bar (self, _("Decisions"), score->decisions_score);
  if (!isnan (score->readings_score))
    put_bar (self, _("Readings"), score->readings_score);
}

static void
put_kinds (Sheet *self)
{
  const EfLessonScore *score = self->what->score;

  put_title (self, _("Marks by kind"));
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      const EfLessonKind *counts = &score->kinds[kind];
      g_autofree char *text = NULL;

      if (counts->reference + counts->wrongly_seen == 0)
        continue;
      text = g_strdup_printf (_("%u of %u found, %u of the wrong kind, %u missed, %u not there"), counts->found, counts->reference, counts->wrong_kind, counts->missed,
                              counts->wrongly_seen);
      put_pair (self, _(ef_mark_kind_label (kind)), text);
    }
}

static void
put_decisions (Sheet *self)
{
  const EfLessonScore *score = self->what->score;

  if (score->decisions->len == 0)
    return;
  put_title (self, _("Decisions"));
  for (guint i = 0; i < score->decisions->len; i++)
    put (self, ((EfLessonDecision *) score->decisions->pdata[i])->sentence, BODY, 0, EF_INK_TEXT, 0, 3);
}

static void
put_foot (Sheet *self)
{
  const EfLessonScore *score = self->what->score;

  if (score->pressure_decided_text != NULL)
    {
      put_title (self, _("Oil pressure"));
      put (self, score->pressure_decided_text, BODY, 0, EF_INK_TEXT, 0, 3);
    }
  put_title (self, _("What this sheet is"));
  put (self, _("This is the shop's own record of a lesson with the Endfloat program. It is no licence, certificate of competence or permission to work, and replaces none that "
               "local codes or an employer ask for."),
       BODY, 0, EF_INK_TEXT, 0, 14);
  need (self, 5 * BODY);
  self->y += 26;
  ef_draw_set_ink (self->cr, &self->style, EF_INK_TEXT, 1);
  cairo_set_line_width (self->cr, 0.6);
  cairo_move_to (self->cr, MARGIN, self->y);
  cairo_line_to (self->cr, MARGIN + 200, self->y);
  cairo_move_to (self->cr, MARGIN + inner (self) - 200, self->y);
  cairo_line_to (self->cr, MARGIN + inner (self), self->y);
  cairo_stroke (self->cr);
  ef_text_put (self->cr, &self->style, 8.5, 0, EF_INK_DIM, _("Trainer (role code), date"), MARGIN, self->y + 4, 0, 0);
  ef_text_put (self->cr, &self->style, 8.5, 0, EF_INK_DIM, _("Apprentice (role code), date"), MARGIN + inner (self) - 200, self->y + 4, 0, 0);
}

static cairo_status_t
append_bytes (void *closure, const unsigned char *data, unsigned int length)
{
  g_byte_array_append (closure, data, length);

  return CAIRO_STATUS_SUCCESS;
}

static cairo_status_t
draw_pdf (const EfLessonCertificate *certificate, EfPaper paper, const char *created, GByteArray *bytes)
{
  Sheet self = { .what = certificate };
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = created != NULL ? g_strdup (created) : g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  cairo_surface_t *surface;
  cairo_status_t status;

  ef_draw_style_print (&self.style);
  ef_paper_size (paper, &self.width, &self.height);
  surface = cairo_pdf_surface_create_for_stream (append_bytes, bytes, self.width, self.height);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_TITLE, _("Record of a lesson"));
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_CREATE_DATE, time);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_MOD_DATE, time);
  self.cr = cairo_create (surface);
  begin_page (&self);
  put_head (&self);
  put_parts (&self);
  put_kinds (&self);
  put_decisions (&self);
  put_foot (&self);
  cairo_show_page (self.cr);
  status = cairo_status (self.cr);
  cairo_destroy (self.cr);
  cairo_surface_finish (surface);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_status (surface);
  cairo_surface_destroy (surface);

  return status;
}

gboolean
ef_lesson_certificate_write_pdf (const EfLessonCertificate *certificate, const char *path, EfPaper paper, const char *created, GError **error)
{
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  g_autoptr (GError) local = NULL;
  cairo_status_t status = draw_pdf (certificate, paper, created, bytes);

  if (status != CAIRO_STATUS_SUCCESS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: the sheet can't be drawn: %s", path, cairo_status_to_string (status));
      return FALSE;
    }
  if (!g_file_set_contents (path, (const char *) bytes->data, bytes->len, &local))
    {
      g_set_error (error, EF_ERROR, g_error_matches (local, G_FILE_ERROR, G_FILE_ERROR_NOSPC) ? EF_ERROR_FULL : EF_ERROR_IO, "%s: the sheet can't be written: %s", path,
                   local->message);
      return FALSE;
    }

  return TRUE;
}
