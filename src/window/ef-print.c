/* Print operations.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-print.h"
#include "ef-rework-page.h"
#include "ef-settings.h"
#include "ef-window.h"

#include <glib/gi18n.h>

#define STEP_MARGIN 42.0 /* points */
#define TICK_BOX 11.0

/* One layout of the step sheet. */
typedef struct
{
  PangoLayout *layout;
  gboolean box; /* with a box to tick */
  double height;
  double space; /* above, unless first on its page */
  guint page;
  double y;
} Block;

typedef struct
{
  EfAssessment *assessment;
  EfPaper paper;
  GArray *blocks; /* Block; the step sheet only */
} Print;

static void
print_free (gpointer data,
            GClosure *closure)
{
  Print *print = data;
  guint i;

  for (i = 0; print->blocks != NULL && i < print->blocks->len; i++)
    g_object_unref (g_array_index (print->blocks, Block, i).layout);
  g_clear_pointer (&print->blocks, g_array_unref);
  ef_assessment_unref (print->assessment);
  g_free (print);
}

static void
report_begin_cb (GtkPrintOperation *operation,
                 GtkPrintContext *context,
                 Print *print)
{
  gtk_print_operation_set_n_pages (operation, MAX (1, ef_report_n_pages (print->assessment, print->paper)));
}

static void
report_page_cb (GtkPrintOperation *operation,
                GtkPrintContext *context,
                int page,
                Print *print)
{
  ef_report_draw_page (print->assessment, print->paper, page, gtk_print_context_get_cairo_context (context));
}

static GtkPrintOperation *
new_operation (EfAssessment *assessment,
               const char *job_name,
               Print **print_out)
{
  GtkPrintOperation *operation = gtk_print_operation_new ();
  g_autoptr (GtkPageSetup) setup = gtk_page_setup_new ();
  GtkPaperSize *size;
  Print *print = g_new0 (Print, 1);

  print->assessment = ef_assessment_ref (assessment);
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
ef_print_report_operation (EfAssessment *assessment)
{
  const EfJobHeader *header = ef_inspection_header (assessment->inspection);
  g_autofree char *name = g_strdup_printf (_ ("Report %s"), header->number);
  Print *print;
  GtkPrintOperation *operation = new_operation (assessment, name, &print);

  g_signal_connect (operation, "begin-print", G_CALLBACK (report_begin_cb), print);
  g_signal_connect_data (operation, "draw-page", G_CALLBACK (report_page_cb), print, print_free, 0);
  return operation;
}

static void
add_block (Print *print,
           GtkPrintContext *context,
           const char *text,
           const char *font,
           double space,
           gboolean box)
{
  Block block = { .box = box, .space = space };
  PangoFontDescription *description = pango_font_description_from_string (font);
  double indent = box ? TICK_BOX + 8 : 0;
  int height;

  if (text == NULL || text[0] == '\0')
    {
      pango_font_description_free (description);
      return;
    }
  block.layout = gtk_print_context_create_pango_layout (context);
  pango_layout_set_font_description (block.layout, description);
  pango_font_description_free (description);
  pango_layout_set_width (block.layout, (int) ((gtk_print_context_get_width (context) - 2 * STEP_MARGIN - indent) * PANGO_SCALE));
  pango_layout_set_wrap (block.layout, PANGO_WRAP_WORD_CHAR);
  pango_layout_set_text (block.layout, text, -1);
  pango_layout_get_size (block.layout, NULL, &height);
  block.height = (double) height / PANGO_SCALE;
  g_array_append_val (print->blocks, block);
}

static void
add_texts (Print *print,
           GtkPrintContext *context,
           const char *format,
           const GPtrArray *texts,
           const char *font)
{
  guint i;

  for (i = 0; texts != NULL && i < texts->len; i++)
    {
      g_autofree char *text = g_strconcat (format, (const char *) g_ptr_array_index (texts, i), NULL);

      add_block (print, context, text, font, 2, FALSE);
    }
}

static void
add_step (Print *print,
          GtkPrintContext *context,
          const EfStep *step,
          guint number)
{
  g_autofree char *text = g_strdup_printf ("%u. %s", number, step->text);

  add_block (print, context, text, "Sans 10", 9, TRUE);
  add_texts (print, context, _ ("Caution: "), step->cautions, "Sans Bold 9");
  add_texts (print, context, _ ("Tool: "), step->tools, "Sans 8");
  add_texts (print, context, _ ("Check: "), step->checks, "Sans 9");
}

static void
collect_blocks (Print *print,
                GtkPrintContext *context)
{
  const EfAssessment *assessment = print->assessment;
  const EfJobHeader *header = ef_inspection_header (assessment->inspection);
  g_autofree char *title = g_strdup_printf (_ ("Step sheet, job %s"), header->number);
  const char *phase = NULL;
  guint i;

  add_block (print, context, title, "Sans Bold 16", 0, FALSE);
  add_block (print, context, assessment->inspection->sheet->name, "Sans 11", 4, FALSE);
  add_texts (print, context, _ ("Caution: "), assessment->cautions, "Sans Bold 9");
  for (i = 0; i < assessment->steps->len; i++)
    {
      const EfStep *step = g_ptr_array_index (assessment->steps, i);

      if (g_strcmp0 (step->phase, phase) != 0)
        add_block (print, context, ef_phase_label (step->phase), "Sans Bold 12", 16, FALSE);
      phase = step->phase;
      add_step (print, context, step, i + 1);
    }
}

static void
steps_begin_cb (GtkPrintOperation *operation,
                GtkPrintContext *context,
                Print *print)
{
  double bottom = gtk_print_context_get_height (context) - STEP_MARGIN;
  double y = STEP_MARGIN;
  guint page = 0;
  guint i;

  collect_blocks (print, context);
  for (i = 0; i < print->blocks->len; i++)
    {
      Block *block = &g_array_index (print->blocks, Block, i);

      if (y > STEP_MARGIN)
        y += block->space;
      if (y > STEP_MARGIN && y + block->height > bottom)
        {
          page++;
          y = STEP_MARGIN;
        }
      block->page = page;
      block->y = y;
      y += block->height;
    }
  gtk_print_operation_set_n_pages (operation, page + 1);
}

static void
steps_page_cb (GtkPrintOperation *operation,
               GtkPrintContext *context,
               int page,
               Print *print)
{
  cairo_t *cr = gtk_print_context_get_cairo_context (context);
  guint i;

  cairo_set_source_rgb (cr, 0, 0, 0);
  for (i = 0; i < print->blocks->len; i++)
    {
      const Block *block = &g_array_index (print->blocks, Block, i);

      if (block->page != (guint) page)
        continue;
      if (block->box)
        {
          cairo_rectangle (cr, STEP_MARGIN + 0.5, block->y + 1.5, TICK_BOX, TICK_BOX);
          cairo_set_line_width (cr, 0.8);
          cairo_stroke (cr);
        }
      cairo_move_to (cr, STEP_MARGIN + (block->box ? TICK_BOX + 8 : 0), block->y);
      pango_cairo_show_layout (cr, block->layout);
    }
}

GtkPrintOperation *
ef_print_steps_operation (EfAssessment *assessment)
{
  const EfJobHeader *header = ef_inspection_header (assessment->inspection);
  g_autofree char *name = g_strdup_printf (_ ("Step sheet %s"), header->number);
  Print *print;
  GtkPrintOperation *operation = new_operation (assessment, name, &print);

  print->blocks = g_array_new (FALSE, FALSE, sizeof (Block));
  g_signal_connect (operation, "begin-print", G_CALLBACK (steps_begin_cb), print);
  g_signal_connect_data (operation, "draw-page", G_CALLBACK (steps_page_cb), print, print_free, 0);
  return operation;
}

static void
run (GtkWidget *widget,
     EfSession *session,
     GtkPrintOperation *(*make) (EfAssessment *assessment))
{
  EfAssessment *assessment;
  g_autoptr (GtkPrintOperation) operation = NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfSession) held = g_object_ref (session);
  GtkRoot *root = gtk_widget_get_root (widget);
  g_autoptr (EfWindow) window = EF_IS_WINDOW (root) ? g_object_ref (EF_WINDOW (root)) : NULL;

  if (window != NULL && ef_session_refining (session))
    ef_window_begin_work (window, _ ("Working out the verdict before printing…"), NULL);
  ef_session_settle_fully (session);
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
  operation = make (assessment);
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
