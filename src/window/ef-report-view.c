/* One drawing area a page; each page is drawn only when it's looked at.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-report-view.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

/* Points. */
static const double paper_size[][2] = {
  [EF_PAPER_A4] = { 595.276, 841.890 },
  [EF_PAPER_LETTER] = { 612, 792 },
};

#define LEAST_WIDTH 300

struct _EfReportView
{
  GtkBox parent_instance;

  EfSession *session;
  EfAssessment *assessment; /* the one that is laid out */
  EfPaper paper;
};

G_DEFINE_FINAL_TYPE (EfReportView, ef_report_view, GTK_TYPE_BOX)

static void
draw_page (GtkDrawingArea *area,
           cairo_t *cr,
           int width,
           int height,
           gpointer user_data)
{
  EfReportView *self = g_object_get_data (G_OBJECT (area), "ef-view");
  double scale = MIN (width / paper_size[self->paper][0], height / paper_size[self->paper][1]);

  if (self->assessment == NULL)
    return;
  cairo_translate (cr, (width - scale * paper_size[self->paper][0]) / 2, 0);
  cairo_scale (cr, scale, scale);
  cairo_rectangle (cr, 0, 0, paper_size[self->paper][0], paper_size[self->paper][1]);
  cairo_clip (cr);
  cairo_set_source_rgb (cr, 1, 1, 1);
  cairo_paint (cr);
  cairo_set_source_rgb (cr, 0, 0, 0);
  ef_report_draw_page (self->assessment, self->paper, GPOINTER_TO_UINT (user_data), cr);
}

static GtkWidget *
make_page (EfReportView *self,
           guint page,
           guint n_pages)
{
  GtkWidget *frame = gtk_aspect_frame_new (0.5, 0, paper_size[self->paper][0] / paper_size[self->paper][1], FALSE);
  GtkWidget *area = g_object_new (GTK_TYPE_DRAWING_AREA, "accessible-role", GTK_ACCESSIBLE_ROLE_IMG, NULL);
  g_autofree char *label = g_strdup_printf (_ ("Page %u of %u of the report"), page + 1, n_pages);

  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (area), LEAST_WIDTH);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (area),
                                       (int) (LEAST_WIDTH * paper_size[self->paper][1] / paper_size[self->paper][0]));
  g_object_set_data (G_OBJECT (area), "ef-view", self);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (area), draw_page, GUINT_TO_POINTER (page), NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (area), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  gtk_widget_add_css_class (area, "ef-paper");
  gtk_widget_set_hexpand (area, TRUE);
  gtk_aspect_frame_set_child (GTK_ASPECT_FRAME (frame), area);
  return frame;
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
