/* Header, switcher and pages of an open job.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-job-page.h"
#include "ef-role-button.h"
#include "ef-claim-dialog.h"
#include "ef-export.h"
#include "ef-map-page.h"
#include "ef-print.h"
#include "ef-readings-page.h"
#include "ef-record-page.h"
#include "ef-rework-page.h"
#include "ef-verdict-page.h"

#include <glib/gi18n.h>

/* Shorter work isn't worth a spinner that flickers. */
#define BUSY_DELAY_MS 300

struct _EfJobPage
{
  GtkBox parent_instance;

  AdwViewSwitcherTitle *switcher_title;
  GtkLabel *number;
  GtkLabel *pump;
  GtkButton *undo;
  GtkButton *redo;
  GtkSpinner *busy;
  AdwViewStack *stack;

  EfSession *session;
  guint busy_source;
};

G_DEFINE_FINAL_TYPE (EfJobPage, ef_job_page, GTK_TYPE_BOX)

static void
set_undo_tooltip (GtkButton *button,
                  const char *what,
                  const char *label,
                  const char *key)
{
  g_autofree char *text = NULL;

  if (label != NULL && label[0] != '\0')
    text = g_strdup_printf (_ ("%s: %s (%s)"), what, label, key);
  else
    text = g_strdup_printf ("%s (%s)", what, key);
  gtk_widget_set_tooltip_text (GTK_WIDGET (button), text);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, text, -1);
}

static void
session_changed_cb (EfJobPage *self)
{
  EfDocument *document = ef_session_document (self->session);
  const EfInspection *inspection = ef_document_inspection (document);
  const EfJobHeader *header = ef_inspection_header (inspection);
  g_autofree char *undo = NULL;
  g_autofree char *redo = NULL;
  g_autofree char *title = NULL;

  g_object_get (document, "undo-label", &undo, "redo-label", &redo, NULL);
  set_undo_tooltip (self->undo, _ ("Undo"), undo, _ ("Ctrl+Z"));
  set_undo_tooltip (self->redo, _ ("Redo"), redo, _ ("Ctrl+Shift+Z"));
  gtk_label_set_label (self->number, header->number);
  gtk_label_set_label (self->pump, inspection->sheet->model);
  gtk_widget_set_tooltip_text (GTK_WIDGET (self->pump), inspection->sheet->name);
  title = g_strdup_printf ("%s, %s", header->number, inspection->sheet->model);
  adw_view_switcher_title_set_title (self->switcher_title, title);
}

static gboolean
show_busy (gpointer user_data)
{
  EfJobPage *self = user_data;

  self->busy_source = 0;
  gtk_spinner_start (self->busy);
  gtk_widget_set_visible (GTK_WIDGET (self->busy), TRUE);
  return G_SOURCE_REMOVE;
}

static void
busy_changed_cb (EfJobPage *self)
{
  if (ef_session_busy (self->session))
    {
      if (self->busy_source == 0)
        self->busy_source = g_timeout_add (BUSY_DELAY_MS, show_busy, self);
      return;
    }
  g_clear_handle_id (&self->busy_source, g_source_remove);
  gtk_spinner_stop (self->busy);
  gtk_widget_set_visible (GTK_WIDGET (self->busy), FALSE);
}

static void
page_changed_cb (EfJobPage *self)
{
  GtkWidget *page = adw_view_stack_get_visible_child (self->stack);

  if (page == NULL || !gtk_widget_get_mapped (GTK_WIDGET (self)))
    return;
  if (EF_IS_READINGS_PAGE (page))
    ef_readings_page_focus (EF_READINGS_PAGE (page));
  else
    gtk_widget_child_focus (page, GTK_DIR_TAB_FORWARD);
}

static void
ef_job_page_dispose (GObject *object)
{
  EfJobPage *self = EF_JOB_PAGE (object);

  g_clear_handle_id (&self->busy_source, g_source_remove);
  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_JOB_PAGE);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_job_page_parent_class)->dispose (object);
}

static void
ef_job_page_class_init (EfJobPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_job_page_dispose;
  g_type_ensure (EF_TYPE_ROLE_BUTTON);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/job-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfJobPage, switcher_title);
  gtk_widget_class_bind_template_child (widget_class, EfJobPage, number);
  gtk_widget_class_bind_template_child (widget_class, EfJobPage, pump);
  gtk_widget_class_bind_template_child (widget_class, EfJobPage, undo);
  gtk_widget_class_bind_template_child (widget_class, EfJobPage, redo);
  gtk_widget_class_bind_template_child (widget_class, EfJobPage, busy);
  gtk_widget_class_bind_template_child (widget_class, EfJobPage, stack);
  gtk_widget_class_bind_template_callback (widget_class, page_changed_cb);
}

static void
ef_job_page_init (EfJobPage *self)
{
  gtk_widget_init_template (GTK_WIDGET (self));
}

static void
add_page (EfJobPage *self,
          GtkWidget *page,
          const char *name,
          const char *title,
          const char *icon)
{
  adw_view_stack_add_titled (self->stack, page, name, title);
  adw_view_stack_page_set_icon_name (adw_view_stack_get_page (self->stack, page), icon);
}

EfJobPage *
ef_job_page_new (EfSession *session)
{
  EfJobPage *self = g_object_new (EF_TYPE_JOB_PAGE, NULL);

  self->session = g_object_ref (session);
  add_page (self, GTK_WIDGET (ef_map_page_new (session)), "map", _ ("Map"), "ef-map-symbolic");
  add_page (self, GTK_WIDGET (ef_readings_page_new (session)), "readings", _ ("Readings"), "ef-readings-symbolic");
  add_page (self, GTK_WIDGET (ef_verdict_page_new (session)), "verdict", _ ("Verdict"), "ef-verdict-symbolic");
  add_page (self, GTK_WIDGET (ef_rework_page_new (session)), "rework", _ ("Rework"), "ef-rework-symbolic");
  add_page (self, GTK_WIDGET (ef_record_page_new (session)), "record", _ ("Record"), "ef-record-symbolic");
  g_signal_connect_object (session, "changed", G_CALLBACK (session_changed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "notify::busy", G_CALLBACK (busy_changed_cb), self, G_CONNECT_SWAPPED);
  session_changed_cb (self);
  busy_changed_cb (self);
  return self;
}

void
ef_job_page_show (EfJobPage *self,
                  const char *page)
{
  adw_view_stack_set_visible_child_name (self->stack, page);
}

void
ef_job_page_show_reading (EfJobPage *self,
                          const EfReading *reading)
{
  EfReadingsPage *readings = EF_READINGS_PAGE (adw_view_stack_get_child_by_name (self->stack, "readings"));
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  g_autofree char *part = g_strndup (reading->target, strcspn (reading->target, "/"));
  guint i;

  ef_job_page_show (self, "readings");
  if (reading->quantity != EF_READ_FACE_WIDTH)
    {
      ef_readings_page_show (readings, part);
      return;
    }
  /* Face widths are read with their section. */
  for (i = 0; i < inspection->sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (inspection->sheet->sections, i);

      if (g_strcmp0 (section->gear_part[0], part) == 0 || g_strcmp0 (section->gear_part[1], part) == 0)
        ef_readings_page_show (readings, section->id);
    }
}

const char *
ef_job_page_shown (EfJobPage *self)
{
  return adw_view_stack_get_visible_child_name (self->stack);
}

void
ef_job_page_do (EfJobPage *self,
                const char *action)
{
  GtkWidget *widget = GTK_WIDGET (self);

  if (g_str_equal (action, "print"))
    ef_print_report (widget, self->session);
  else if (g_str_equal (action, "export-report"))
    ef_export_report_dialog (widget, self->session);
  else if (g_str_equal (action, "export-exchange"))
    ef_export_exchange_dialog (widget, self->session);
  else if (g_str_equal (action, "export-pictures"))
    ef_export_pictures_dialog (widget, self->session);
  else if (g_str_equal (action, "claim-pack"))
    ef_claim_dialog_show (widget, self->session);
}
