/* The pages of the newest assessment.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-report-view.h"
#include "ef-report-page.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

struct _EfReportView
{
  GtkBox parent_instance;

  EfSession *session;
  EfAssessment *assessment; /* the one that is laid out */
  EfPaper paper;
};

G_DEFINE_FINAL_TYPE (EfReportView, ef_report_view, GTK_TYPE_BOX)

static GtkWidget *
make_page (EfReportView *self,
           guint page,
           guint n_pages)
{
  GtkWidget *widget = ef_report_page_new (self->assessment, self->paper, page);
  g_autofree char *label = g_strdup_printf (_ ("Page %u of %u of the report"), page + 1, n_pages);

  gtk_accessible_update_property (GTK_ACCESSIBLE (widget), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  return widget;
}

static void
clear_pages (EfReportView *self)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
}

static void
lay_out (EfReportView *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  guint n_pages, i;

  if (assessment == NULL || (assessment == self->assessment && self->paper == ef_settings_paper ()))
    return;
  clear_pages (self);
  g_clear_pointer (&self->assessment, ef_assessment_unref);
  self->assessment = ef_assessment_ref (assessment);
  self->paper = ef_settings_paper ();
  n_pages = ef_report_n_pages (assessment, self->paper);
  for (i = 0; i < n_pages; i++)
    gtk_box_append (GTK_BOX (self), make_page (self, i, n_pages));
}

/* Laying out costs; nobody looks while another page of the job is shown. */
static void
assessed_cb (EfReportView *self)
{
  if (gtk_widget_get_mapped (GTK_WIDGET (self)))
    lay_out (self);
}

static void
ef_report_view_map (GtkWidget *widget)
{
  GTK_WIDGET_CLASS (ef_report_view_parent_class)->map (widget);
  lay_out (EF_REPORT_VIEW (widget));
}

static void
ef_report_view_dispose (GObject *object)
{
  EfReportView *self = EF_REPORT_VIEW (object);

  clear_pages (self);
  g_clear_pointer (&self->assessment, ef_assessment_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_report_view_parent_class)->dispose (object);
}

static void
ef_report_view_class_init (EfReportViewClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_report_view_dispose;
  GTK_WIDGET_CLASS (klass)->map = ef_report_view_map;
}

static void
ef_report_view_init (EfReportView *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 18);
  g_object_set (self, "margin-start", 18, "margin-end", 18, "margin-top", 12, "margin-bottom", 18, NULL);
}

GtkWidget *
ef_report_view_new (EfSession *session)
{
  EfReportView *self = g_object_new (EF_TYPE_REPORT_VIEW, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed::paper", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  return GTK_WIDGET (self);
}
