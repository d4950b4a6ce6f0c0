/* Print operations.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-print.h"
#include "ef-report-pictures.h"
#include "ef-settings.h"
#include "ef-window.h"
#include "../draw/ef-step-sheet.h"

#include <glib/gi18n.h>

typedef struct
{
  EfAssessment *assessment;
  EfReportSeal *seal; /* NULL: not sealed */
  EfPaper paper;
  EfStepSheet *sheet; /* once laid out; the step sheet only */
} Print;

static void
print_free (gpointer data,
            GClosure *closure)
{
  Print *print = data;

  g_clear_pointer (&print->sheet, ef_step_sheet_free);
  ef_assessment_unref (print->assessment);
  ef_report_seal_unref (print->seal);
  g_free (print);
}

static void
report_begin_cb (GtkPrintOperation *operation,
                 GtkPrintContext *context,
                 Print *print)
{
  gtk_print_operation_set_n_pages (operation, MAX (1, ef_report_n_pages (print->assessment, print->seal, print->paper)));
}

static void
report_page_cb (GtkPrintOperation *operation,
                GtkPrintContext *context,
                int page,
                Print *print)
{
  ef_report_draw_page (print->assessment, print->seal, print->paper, page, gtk_print_context_get_cairo_context (context));
}

static GtkPrintOperation *
new_operation (EfAssessment *assessment,
               EfReportSeal *seal,
               const char *job_name,
               Print **print_out)
{
  GtkPrintOperation *operation = gtk_print_operation_new ();
  g_autoptr (GtkPageSetup) setup = gtk_page_setup_new ();
  GtkPaperSize *size;
  Print *print = g_new0 (Print, 1);

  print->assessment = ef_assessment_ref (assessment);
  print->seal = seal != NULL ? ef_report_seal_ref (seal) : NULL;
  print->paper = ef_settings_paper ();
  size = gtk_paper_size_new (print->paper == EF_PAPER_LETTER ? GTK_PAPER_NAME_LETTER : GTK_PAPER_NAME_A4);
  gtk_page_setup_set_paper_size_and_default_margins (setup, size);
  gtk_paper_size_free (size);
  gtk_print_operation_set_default_page_setup (operation, setup);
  gtk_print_operation_set_use_full_page (operation, TRUE);
  gtk_print_operation_set_unit (operation, GTK_UNIT_POINTS);
  gtk_print_operation_set_job_name (operation, job_name);
  gtk_print_operation_set_embed_page_setup (operation, TRUE);
  *print_out = print;
  return operation;
}

GtkPrintOperation *
ef_print_report_operation (EfAssessment *assessment,
                           EfReportSeal *seal)
{
  const EfJobHeader *header = ef_inspection_header (assessment->inspection);
  g_autofree char *name = g_strdup_printf (_ ("Report %s"), header->number);
  Print *print;
  GtkPrintOperation *operation = new_operation (assessment, seal, name, &print);

  g_signal_connect (operation, "begin-print", G_CALLBACK (report_begin_cb), print);
  g_signal_connect_data (operation, "draw-page", G_CALLBACK (report_page_cb), print, print_free, 0);
  return operation;
}

static void
steps_begin_cb (GtkPrintOperation *operation,
                GtkPrintContext *context,
                Print *print)
{
  print->sheet = ef_step_sheet_new (print->assessment, print->seal, print->paper);
  gtk_print_operation_set_n_pages (operation, ef_step_sheet_n_pages (print->sheet));
}

static void
steps_page_cb (GtkPrintOperation *operation,
               GtkPrintContext *context,
               int page,
               Print *print)
{
  ef_step_sheet_draw (print->sheet, page, gtk_print_context_get_cairo_context (context));
}

GtkPrintOperation *
ef_print_steps_operation (EfAssessment *assessment,
                          EfReportSeal *seal)
{
  const EfJobHeader *header = ef_inspection_header (assessment->inspection);
  g_autofree char *name = g_strdup_printf (_ ("Step sheet %s"), header->number);
  Print *print;
  GtkPrintOperation *operation = new_operation (assessment, seal, name, &print);

  g_signal_connect (operation, "begin-print", G_CALLBACK (steps_begin_cb), print);
  g_signal_connect_data (operation, "draw-page", G_CALLBACK (steps_page_cb), print, print_free, 0);
  return operation;
}

static void
run (GtkWidget *widget,
     EfSession *session,
     GtkPrintOperation *(*make) (EfAssessment *assessment, EfReportSeal *seal))
{
  EfAssessment *assessment;
  g_autoptr (GtkPrintOperation) operation = NULL;
  g_autoptr (EfReportSeal) seal = NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfSession) held = g_object_ref (session);
  GtkRoot *root = gtk_widget_get_root (widget);
  g_autoptr (EfWindow) window = EF_IS_WINDOW (root) ? g_object_ref (EF_WINDOW (root)) : NULL;

  if (window != NULL && ef_session_refining (session))
    ef_window_begin_work (window, _ ("Working out the verdict before printing…"), NULL);
  ef_session_settle_fully (session);
  if (make == ef_print_report_operation && ef_session_assessment (session) != NULL)
    ef_report_pictures_wait (session, ef_session_assessment (session));
  if (window != NULL)
    {
      ef_window_end_work (window);
      /* It may have been closed, or gone back to the jobs, meanwhile. */
      if (ef_window_session (window) != session)
        return;
    }
  assessment = ef_session_assessment (session);
  if (assessment == NULL)
    {
      ef_session_message (session, _ ("There is nothing to print yet."));
      return;
    }
  if (ef_session_store (session) != NULL)
    seal = ef_report_seal_of_job (ef_session_store (session), ef_session_job (session), FALSE, &error);
  if (error != NULL)
    {
      ef_session_message (session, error->message);
      return;
    }
  operation = make (assessment, seal);
  gtk_print_operation_set_allow_async (operation, TRUE);
  if (gtk_print_operation_run (operation, GTK_PRINT_OPERATION_ACTION_PRINT_DIALOG, GTK_WINDOW (root), &error) == GTK_PRINT_OPERATION_RESULT_ERROR)
    ef_session_message (session, error->message);
}

void
ef_print_report (GtkWidget *widget,
                 EfSession *session)
{
  run (widget, session, ef_print_report_operation);
}

void
ef_print_steps (GtkWidget *widget,
                EfSession *session)
{
  run (widget, session, ef_print_steps_operation);
}
