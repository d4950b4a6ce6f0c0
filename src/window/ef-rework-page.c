/* What to do about it: a switcher over views, each a widget of its own that follows the session.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-rework-page.h"
#include "ef-missing-bar.h"
#include "ef-after-view.h"
#include "ef-cost-view.h"
#include "ef-right-pump-view.h"
#include "ef-shelf-matches.h"
#include "ef-plan-view.h"
#include "ef-step-list.h"

#include <glib/gi18n.h>

struct _EfReworkPage
{
  GtkBox parent_instance;

  EfMissingBar *missing;
  GtkBox *top;
  GtkStack *views;

  EfSession *session;
};

G_DEFINE_FINAL_TYPE (EfReworkPage, ef_rework_page, GTK_TYPE_BOX)

/* In the order in which they are worked through. To add one, add its maker. */
static GtkWidget *
make_steps (EfSession *session)
{
  return GTK_WIDGET (ef_step_list_new (session));
}

static GtkWidget *
make_matches (EfSession *session)
{
  return ef_shelf_matches_new (session);
}

static const struct
{
  const char *name, *title;
  GtkWidget *(*make) (EfSession *session);
} views[] = {
  { "plan", N_ ("Plan"), ef_plan_view_new },
  { "steps", N_ ("Steps"), make_steps },
  { "shelf", N_ ("From the Shelf"), make_matches },
  { "after", N_ ("After Rework"), ef_after_view_new },
  { "right-pump", N_ ("Right Pump?"), ef_right_pump_view_new },
  { "cost", N_ ("Cost"), ef_cost_view_new },
};

static void
assessed_cb (EfReworkPage *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);

  ef_missing_bar_set (self->missing,
                      assessment != NULL && assessment->verdict->word == EF_VERDICT_MEASURE
                        ? _ ("Still missing: finer readings. Until the verdict is more than “measure again”, the steps may change.")
                        : NULL);
}

static void
ef_rework_page_dispose (GObject *object)
{
  EfReworkPage *self = EF_REWORK_PAGE (object);

  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_REWORK_PAGE);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_rework_page_parent_class)->dispose (object);
}

static void
ef_rework_page_class_init (EfReworkPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_rework_page_dispose;
  g_type_ensure (EF_TYPE_MISSING_BAR);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/rework-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfReworkPage, missing);
  gtk_widget_class_bind_template_child (widget_class, EfReworkPage, top);
  gtk_widget_class_bind_template_child (widget_class, EfReworkPage, views);
}

static void
ef_rework_page_init (EfReworkPage *self)
{
  gtk_widget_init_template (GTK_WIDGET (self));
}

EfReworkPage *
ef_rework_page_new (EfSession *session)
{
  EfReworkPage *self = g_object_new (EF_TYPE_REWORK_PAGE, NULL);
  guint i;

  self->session = g_object_ref (session);
  for (i = 0; i < G_N_ELEMENTS (views); i++)
    gtk_stack_add_titled (self->views, views[i].make (session), views[i].name, _ (views[i].title));
  gtk_widget_set_visible (GTK_WIDGET (self->top), G_N_ELEMENTS (views) > 1);
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  assessed_cb (self);
  return self;
}

void
ef_rework_page_show (EfReworkPage *self,
                     const char *view)
{
  GtkWidget *child = gtk_stack_get_child_by_name (self->views, view);

  if (child != NULL)
    gtk_stack_set_visible_child (self->views, child);
}
