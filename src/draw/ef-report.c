/* The report: its parts in order, as a PDF file or page by page.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Everything in the file comes from the assessment and @created, so the same input gives the same bytes.
 */
#include "ef-report-private.h"

#include "../record/ef-pdf-attachment.h"
#include "config.h"
#include <cairo-pdf.h>
#include <glib/gi18n-lib.h>

static EfPages *
lay_out (const EfAssessment *assessment, const EfReportSeal *seal, EfPaper paper)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  const char *number = job != NULL && job->number != NULL ? job->number : "";
  g_autofree char *head = g_strdup_printf ("%s · %s", number, assessment->inspection->sheet->name);
  g_autofree char *decision = ef_decision_rule_text (&assessment->decision);
  g_autofree char *foot = g_strdup_printf (_("Endfloat %s · rules %s · limits by %s"), EF_VERSION, assessment->rule_set != NULL ? assessment->rule_set : "–", decision);
  EfPages *pages = ef_pages_new (paper, head, foot);

  ef_report_front (pages, assessment, seal);
  ef_report_verdicts (pages, assessment);
  ef_report_flow (pages, assessment);
  ef_report_faces (pages, assessment);
  ef_report_photos (pages, assessment);
  ef_report_readings (pages, assessment);
  ef_report_plan (pages, assessment);
  ef_report_steps (pages, assessment);
  ef_report_after (pages, assessment);
  ef_report_right_pump (pages, assessment);
  ef_report_cost (pages, assessment);
  ef_report_sign_off (pages, assessment);
  ef_report_seal (pages, assessment, seal);
  return pages;
}

guint
ef_report_n_pages (const EfAssessment *assessment, const EfReportSeal *seal, EfPaper paper)
{
  g_autoptr (EfPages) pages = lay_out (assessment, seal, paper);

  return ef_pages_count (pages);
}

void
ef_report_draw_page (const EfAssessment *assessment, const EfReportSeal *seal, EfPaper paper, guint page, cairo_t *cr)
{
  g_autoptr (EfPages) pages = lay_out (assessment, seal, paper);
  double width, height;

  ef_paper_size (paper, &width, &height);
  cairo_save (cr);
  cairo_rectangle (cr, 0, 0, width, height);
  cairo_clip (cr);
  ef_draw_paper (cr, ef_pages_style (pages));
  ef_pages_draw (pages, page, cr);
  cairo_restore (cr);
}

static cairo_status_t
append_bytes (void *closure, const unsigned char *data, unsigned int length)
{
  g_byte_array_append (closure, data, length);
  return CAIRO_STATUS_SUCCESS;
}

static void
set_metadata (cairo_surface_t *surface, const EfAssessment *assessment, const char *created)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  g_autofree char *title = g_strdup_printf (_("Oil pump inspection %s"), job != NULL && job->number != NULL ? job->number : "");
  g_autofree char *creator = g_strdup_printf ("Endfloat %s", EF_VERSION);

  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_TITLE, title);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_SUBJECT, assessment->inspection->sheet->name);
  if (job != NULL && job->bench != NULL)
    cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_AUTHOR, job->bench);
  if (assessment->verdict != NULL)
    cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_KEYWORDS, _(ef_verdict_label (assessment->verdict->word)));
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_CREATOR, creator);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_CREATE_DATE, created);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_MOD_DATE, created);
}

static void
set_outline (cairo_surface_t *surface, EfPages *pages)
{
  GArray *outline = ef_pages_outline (pages);

  for (guint i = 0; i < outline->len; i++)
    {
      const EfPageMark *mark = &g_array_index (outline, EfPageMark, i);
      char y[G_ASCII_DTOSTR_BUF_SIZE];
      g_autofree char *where = g_strdup_printf ("page=%u pos=[48 %s]", mark->page + 1, g_ascii_formatd (y, sizeof y, "%.1f", mark->y));

      cairo_pdf_surface_add_outline (surface, CAIRO_PDF_OUTLINE_ROOT, mark->text, where, 0);
    }
}

/* "J-0412.endfloat.json": what any system takes as the name of a file. */
static char *
attachment_name (const char *number)
{
  char *name = g_strdup_printf ("%.64s.endfloat.json", number != NULL && *number != '\0' ? number : "job");

  return g_strcanon (name, G_CSET_A_2_Z G_CSET_a_2_z G_CSET_DIGITS "-_.", '-');
}

/* With the sealed exchange file where the job has one. */
static GBytes *
with_file (const EfAssessment *assessment, const EfReportSeal *seal, const char *created, GByteArray *drawn, GError **error)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  g_autofree char *name = attachment_name (job != NULL ? job->number : NULL);
  g_autoptr (GBytes) pdf = g_bytes_new (drawn->data, drawn->len);
  EfPdfAttachment attachment = { .name = name, .description = _("The sealed exchange file; \"endfloat verify\" says whether it holds"), .created = created };

  if (seal == NULL || seal->file == NULL)
    return g_steal_pointer (&pdf);
  attachment.file = seal->file;
  attachment.number = seal->seal->number;
  attachment.digest = seal->seal->digest;
  attachment.key = seal->seal->key;
  return ef_pdf_attach (pdf, &attachment, error);
}

GBytes *
ef_report_make_pdf (const EfAssessment *assessment, const EfReportSeal *seal, const char *path, EfPaper paper, const char *created, GError **error)
{
  g_autoptr (EfPages) pages = lay_out (assessment, seal, paper);
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = created != NULL ? g_strdup (created) : g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  GBytes *written;
  cairo_surface_t *surface;
  cairo_status_t status;
  double width, height;
  cairo_t *cr;

  ef_paper_size (paper, &width, &height);
  surface = cairo_pdf_surface_create_for_stream (append_bytes, bytes, width, height);
  set_metadata (surface, assessment, time);
  cr = cairo_create (surface);
  for (guint page = 0; page < ef_pages_count (pages); page++)
    {
      ef_pages_draw (pages, page, cr);
      cairo_show_page (cr);
    }
  set_outline (surface, pages);
  status = cairo_status (cr);
  cairo_destroy (cr);
  cairo_surface_finish (surface);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_status (surface);
  cairo_surface_destroy (surface);
  if (status != CAIRO_STATUS_SUCCESS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: the report can't be drawn: %s", path, cairo_status_to_string (status));
      return NULL;
    }
  written = with_file (assessment, seal, time, bytes, error);
  if (written == NULL)
    g_prefix_error (error, "%s: ", path);
  return written;
}

gboolean
ef_report_write_pdf (const EfAssessment *assessment, const EfReportSeal *seal, const char *path, EfPaper paper, const char *created, GError **error)
{
  g_autoptr (GBytes) pdf = ef_report_make_pdf (assessment, seal, path, paper, created, error);
  g_autoptr (GError) local = NULL;

  if (pdf == NULL)
    return FALSE;
  if (!g_file_set_contents (path, g_bytes_get_data (pdf, NULL), (gssize) g_bytes_get_size (pdf), &local))
    {
      g_set_error (error, EF_ERROR, g_error_matches (local, G_FILE_ERROR, G_FILE_ERROR_NOSPC) ? EF_ERROR_FULL : EF_ERROR_IO, "%s: the report can't be written: %s", path, local->message);
      return FALSE;
    }
  return TRUE;
}
