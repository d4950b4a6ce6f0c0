/* Paper with its drawing.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-report-page.h"

/* Points. */
static const double paper_size[][2] = {
  [EF_PAPER_A4] = { 595.276, 841.890 },
  [EF_PAPER_LETTER] = { 612, 792 },
};

#define LEAST_WIDTH 240
#define NATURAL_WIDTH 720

struct _EfReportPage
{
  GtkWidget parent_instance;

  EfAssessment *assessment;
  EfReportSeal *seal; /* NULL: not sealed */
  EfPaper paper;
  guint page;
  gboolean near;
};

G_DEFINE_FINAL_TYPE (EfReportPage, ef_report_page, GTK_TYPE_WIDGET)

static GtkSizeRequestMode
ef_report_page_get_request_mode (GtkWidget *widget)
{
  return GTK_SIZE_REQUEST_HEIGHT_FOR_WIDTH;
}

static void
ef_report_page_measure (GtkWidget *widget,
                        GtkOrientation orientation,
                        int for_size,
                        int *minimum,
                        int *natural,
                        int *minimum_baseline,
                        int *natural_baseline)
{
  const double *size = paper_size[EF_REPORT_PAGE (widget)->paper];
  double ratio = size[1] / size[0];

  if (orientation == GTK_ORIENTATION_HORIZONTAL)
    {
      *minimum = LEAST_WIDTH;
      *natural = NATURAL_WIDTH;
      return;
    }
  *minimum = *natural = (int) (ratio * (for_size > 0 ? for_size : LEAST_WIDTH) + 0.5);
}

static void
ef_report_page_snapshot (GtkWidget *widget,
                         GtkSnapshot *snapshot)
{
  EfReportPage *self = EF_REPORT_PAGE (widget);
  double width = gtk_widget_get_width (widget);
  double height = gtk_widget_get_height (widget);
  double scale = MIN (width / paper_size[self->paper][0], height / paper_size[self->paper][1]);
  cairo_t *cr = gtk_snapshot_append_cairo (snapshot, &GRAPHENE_RECT_INIT (0, 0, width, height));

  cairo_set_source_rgb (cr, 1, 1, 1);
  cairo_paint (cr);
  if (self->near)
    {
      cairo_scale (cr, scale, scale);
      cairo_set_source_rgb (cr, 0, 0, 0);
      ef_report_draw_page (self->assessment, self->seal, self->paper, self->page, cr);
    }
  cairo_destroy (cr);
}

static void
ef_report_page_finalize (GObject *object)
{
  g_clear_pointer (&EF_REPORT_PAGE (object)->assessment, ef_assessment_unref);
  g_clear_pointer (&EF_REPORT_PAGE (object)->seal, ef_report_seal_unref);
  G_OBJECT_CLASS (ef_report_page_parent_class)->finalize (object);
}

static void
ef_report_page_class_init (EfReportPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->finalize = ef_report_page_finalize;
  widget_class->get_request_mode = ef_report_page_get_request_mode;
  widget_class->measure = ef_report_page_measure;
  widget_class->snapshot = ef_report_page_snapshot;
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_IMG);
}

static void
ef_report_page_init (EfReportPage *self)
{
  gtk_widget_add_css_class (GTK_WIDGET (self), "ef-paper");
}

void
ef_report_page_come_near (EfReportPage *self)
{
  if (self->near)
    return;
  self->near = TRUE;
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

void
ef_report_page_set_assessment (EfReportPage *self,
                               EfAssessment *assessment,
                               EfReportSeal *seal)
{
  ef_assessment_ref (assessment);
  ef_assessment_unref (self->assessment);
  self->assessment = assessment;
  ef_report_seal_unref (self->seal);
  self->seal = seal != NULL ? ef_report_seal_ref (seal) : NULL;
  if (self->near)
    gtk_widget_queue_draw (GTK_WIDGET (self));
}

GtkWidget *
ef_report_page_new (EfAssessment *assessment,
                    EfReportSeal *seal,
                    EfPaper paper,
                    guint page)
{
  EfReportPage *self = g_object_new (EF_TYPE_REPORT_PAGE, NULL);

  self->assessment = ef_assessment_ref (assessment);
  self->seal = seal != NULL ? ef_report_seal_ref (seal) : NULL;
  self->paper = paper;
  self->page = page;
  return GTK_WIDGET (self);
}
