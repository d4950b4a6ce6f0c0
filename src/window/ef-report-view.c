/* The pages of the newest assessment.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-report-view.h"
#include "ef-report-page.h"
#include "ef-report-pictures.h"
#include "ef-settings.h"
#include "../draw/ef-report-photos.h"

#include <glib/gi18n.h>

struct _EfReportView
{
  GtkBox parent_instance;

  EfSession *session;
  EfAssessment *assessment; /* the one that is laid out */
  EfReportSeal *seal;       /* with what is said of the seal; NULL: not sealed */
  EfPaper paper;
  guint n_pages;
  guint frames; /* drawn since the pages were made */
  GCancellable *reading; /* the photos of the one that is laid out; NULL: not under way */
  GtkAdjustment *scroll; /* of the window it's scrolled in; NULL before it's shown */
};

G_DEFINE_FINAL_TYPE (EfReportView, ef_report_view, GTK_TYPE_BOX)

static GtkWidget *
make_page (EfReportView *self,
           guint page,
           guint n_pages)
{
  GtkWidget *widget = ef_report_page_new (self->assessment, self->seal, self->paper, page);
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

/* Draws the pages that are seen, and those a screen away. */
static void
draw_near (EfReportView *self)
{
  GtkWidget *scrolled = gtk_widget_get_ancestor (GTK_WIDGET (self), GTK_TYPE_SCROLLED_WINDOW);
  GtkWidget *child;
  double screen;

  if (scrolled == NULL)
    return;
  screen = gtk_widget_get_height (scrolled);
  for (child = gtk_widget_get_first_child (GTK_WIDGET (self)); child != NULL; child = gtk_widget_get_next_sibling (child))
    {
      graphene_rect_t bounds;

      if (!gtk_widget_compute_bounds (child, scrolled, &bounds) || bounds.size.height <= 0)
        continue;
      if (bounds.origin.y < 2 * screen && bounds.origin.y + bounds.size.height > -screen)
        ef_report_page_come_near (EF_REPORT_PAGE (child));
    }
}

static void
follow_scroll (EfReportView *self)
{
  GtkWidget *scrolled = gtk_widget_get_ancestor (GTK_WIDGET (self), GTK_TYPE_SCROLLED_WINDOW);

  if (scrolled == NULL || self->scroll != NULL)
    return;
  self->scroll = g_object_ref (gtk_scrolled_window_get_vadjustment (GTK_SCROLLED_WINDOW (scrolled)));
  g_signal_connect_object (self->scroll, "value-changed", G_CALLBACK (draw_near), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->scroll, "changed", G_CALLBACK (draw_near), self, G_CONNECT_SWAPPED);
}

/* In the second frame the pages have their places. */
static gboolean
laid_out_cb (GtkWidget *widget,
             GdkFrameClock *clock,
             gpointer user_data)
{
  EfReportView *self = EF_REPORT_VIEW (widget);

  if (++self->frames < 2)
    return G_SOURCE_CONTINUE;
  draw_near (self);
  return G_SOURCE_REMOVE;
}

/* NULL for a job that isn't in a store. */
static EfReportSeal *
read_seal (EfReportView *self)
{
  EfStore *store = ef_session_store (self->session);
  g_autoptr (GError) error = NULL;
  EfReportSeal *seal = store != NULL ? ef_report_seal_of_job (store, ef_session_job (self->session), FALSE, &error) : NULL;

  if (error != NULL)
    ef_session_message (self->session, error->message);
  return seal;
}

static void lay_out (EfReportView *self);

static void
pictures_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  g_autoptr (EfReportView) self = user_data;
  gboolean more = ef_report_pictures_finish (result);

  if (g_cancellable_is_cancelled (g_task_get_cancellable (G_TASK (result))))
    return;
  g_clear_object (&self->reading);
  if (!more)
    return;
  /* the same assessment, with photos */
  g_clear_pointer (&self->assessment, ef_assessment_unref);
  lay_out (self);
}

static void
stop_reading (EfReportView *self)
{
  if (self->reading != NULL)
    g_cancellable_cancel (self->reading);
  g_clear_object (&self->reading);
}

static void
read_pictures (EfReportView *self)
{
  stop_reading (self);
  if (ef_report_photos_missing (self->assessment->inspection) == 0)
    return;
  self->reading = g_cancellable_new ();
  ef_report_pictures_take (self->session, self->assessment, self->reading, pictures_cb, g_object_ref (self));
}

static void
lay_out (EfReportView *self)
{
  g_autoptr (EfReportSeal) seal = NULL;
  EfAssessment *assessment = ef_session_assessment (self->session);
  EfPaper paper = ef_settings_paper ();
  GtkWidget *child;
  guint n_pages, i;

  if (assessment == NULL)
    return;
  seal = read_seal (self);
  if (assessment == self->assessment && self->paper == paper && ef_report_seal_equal (seal, self->seal))
    return;
  g_clear_pointer (&self->assessment, ef_assessment_unref);
  self->assessment = ef_assessment_ref (assessment);
  g_clear_pointer (&self->seal, ef_report_seal_unref);
  self->seal = g_steal_pointer (&seal);
  read_pictures (self);
  n_pages = ef_report_n_pages (assessment, self->seal, paper);
  if (n_pages == self->n_pages && paper == self->paper)
    {
      for (child = gtk_widget_get_first_child (GTK_WIDGET (self)); child != NULL; child = gtk_widget_get_next_sibling (child))
        ef_report_page_set_assessment (EF_REPORT_PAGE (child), assessment, self->seal);
      return;
    }
  clear_pages (self);
  self->paper = paper;
  self->n_pages = n_pages;
  for (i = 0; i < n_pages; i++)
    gtk_box_append (GTK_BOX (self), make_page (self, i, n_pages));
  self->frames = 0;
  gtk_widget_add_tick_callback (GTK_WIDGET (self), laid_out_cb, NULL, NULL);
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
  follow_scroll (EF_REPORT_VIEW (widget));
  lay_out (EF_REPORT_VIEW (widget));
}

static void
ef_report_view_dispose (GObject *object)
{
  EfReportView *self = EF_REPORT_VIEW (object);

  clear_pages (self);
  stop_reading (self);
  g_clear_pointer (&self->assessment, ef_assessment_unref);
  g_clear_pointer (&self->seal, ef_report_seal_unref);
  g_clear_object (&self->scroll);
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
  /* sealing changes no item and so no verdict, but what the report says of the seal */
  g_signal_connect_object (session, "changed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed::paper", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  return GTK_WIDGET (self);
}
