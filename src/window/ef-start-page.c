/* Header and switcher over the start pages.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-start-page.h"
#include "ef-jobs-page.h"
#include "ef-role-button.h"
#include "ef-lessons-page.h"
#include "ef-sheets-page.h"
#include "ef-shelf-page.h"
#include "ef-statistics-page.h"

struct _EfStartPage
{
  GtkBox parent_instance;

  AdwViewStack *stack;
  EfJobsPage *jobs;
  EfSheetsPage *sheets;
  EfShelfPage *shelf;
  EfLessonsPage *lessons;
  EfStatisticsPage *statistics;
};

G_DEFINE_FINAL_TYPE (EfStartPage, ef_start_page, GTK_TYPE_BOX)

static void
ef_start_page_dispose (GObject *object)
{
  gtk_widget_dispose_template (GTK_WIDGET (object), EF_TYPE_START_PAGE);
  G_OBJECT_CLASS (ef_start_page_parent_class)->dispose (object);
}

static void
ef_start_page_class_init (EfStartPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_start_page_dispose;
  g_type_ensure (EF_TYPE_JOBS_PAGE);
  g_type_ensure (EF_TYPE_ROLE_BUTTON);
  g_type_ensure (EF_TYPE_SHEETS_PAGE);
  g_type_ensure (EF_TYPE_SHELF_PAGE);
  g_type_ensure (EF_TYPE_LESSONS_PAGE);
  g_type_ensure (EF_TYPE_STATISTICS_PAGE);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/start-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfStartPage, stack);
  gtk_widget_class_bind_template_child (widget_class, EfStartPage, jobs);
  gtk_widget_class_bind_template_child (widget_class, EfStartPage, sheets);
  gtk_widget_class_bind_template_child (widget_class, EfStartPage, shelf);
  gtk_widget_class_bind_template_child (widget_class, EfStartPage, lessons);
  gtk_widget_class_bind_template_child (widget_class, EfStartPage, statistics);
}

static void
ef_start_page_init (EfStartPage *self)
{
  gtk_widget_init_template (GTK_WIDGET (self));
}

void
ef_start_page_set_store (EfStartPage *self,
                         EfStore *store)
{
  ef_jobs_page_set_store (self->jobs, store);
  ef_sheets_page_set_store (self->sheets, store);
  ef_shelf_page_set_store (self->shelf, store);
  ef_lessons_page_set_store (self->lessons, store);
  ef_statistics_page_set_store (self->statistics, store);
}

void
ef_start_page_refresh (EfStartPage *self)
{
  ef_jobs_page_refresh (self->jobs);
  ef_shelf_page_refresh (self->shelf);
  ef_lessons_page_refresh (self->lessons);
  ef_statistics_page_refresh (self->statistics);
}

void
ef_start_page_refresh_verdicts (EfStartPage *self)
{
  ef_jobs_page_refresh (self->jobs);
  ef_statistics_page_refresh (self->statistics);
}

void
ef_start_page_search (EfStartPage *self)
{
  if (g_strcmp0 (adw_view_stack_get_visible_child_name (self->stack), "shelf") == 0)
    {
      ef_shelf_page_search (self->shelf);
      return;
    }
  adw_view_stack_set_visible_child_name (self->stack, "jobs");
  ef_jobs_page_search (self->jobs);
}
