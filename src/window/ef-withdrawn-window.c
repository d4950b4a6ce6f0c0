/* A list of withdrawn jobs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-withdrawn-window.h"
#include "ef-list-window.h"
#include "ef-who-ask.h"

#include "../record/ef-store-standing.h"

#include <glib/gi18n.h>

#define MOST_SHOWN 500

struct _EfWithdrawnWindow
{
  AdwWindow parent_instance;

  AdwToastOverlay *toasts;
  GtkWidget *list, *none, *more;
  EfStore *store; /* borrowed */
  gint64 job;     /* to be reinstated */
};

static guint reinstated_signal;

G_DEFINE_FINAL_TYPE (EfWithdrawnWindow, ef_withdrawn_window, ADW_TYPE_WINDOW)

static void fill (EfWithdrawnWindow *self);

static void
tell (EfWithdrawnWindow *self,
      const char *text)
{
  g_autofree char *escaped = g_markup_escape_text (text, -1);

  adw_toast_overlay_add_toast (self->toasts, adw_toast_new (escaped));
}

static gboolean
reinstate (gpointer owner,
           const char *role,
           const char *reason)
{
  EfWithdrawnWindow *self = owner;
  g_autoptr (GError) error = NULL;

  if (!ef_store_reinstate (self->store, self->job, role, reason, &error))
    tell (self, error->message);
  else
    {
      tell (self, _ ("The job is in use again"));
      g_signal_emit (self, reinstated_signal, 0);
    }
  fill (self);
  return TRUE;
}

static void
reinstate_cb (EfWithdrawnWindow *self,
              GtkWidget *button)
{
  const gint64 *job = g_object_get_data (G_OBJECT (button), "ef-job");
  g_autofree char *title = g_strdup_printf (_ ("Reinstate %s"), (const char *) g_object_get_data (G_OBJECT (button), "ef-number"));

  self->job = *job;
  ef_who_ask (GTK_WIDGET (self), self->store, EF_ACT_WITHDRAW, title, _ ("_Reinstate"), _ ("Reason"), reinstate, G_OBJECT (self));
}

static char *
day_of (const char *time)
{
  return g_strndup (time != NULL ? time : "–", 10);
}

static GtkWidget *
make_row (EfWithdrawnWindow *self,
          const EfJobRow *job)
{
  GtkWidget *row = adw_action_row_new ();
  GtkWidget *button = gtk_button_new_with_label (_ ("Reinstate…"));
  g_autoptr (GError) error = NULL;
  g_autoptr (EfWithdrawal) withdrawal = ef_store_withdrawal (self->store, job->id, &error);
  g_autofree char *title = g_strdup_printf ("%s · %s%s%s", job->number, job->pump, *job->customer != '\0' ? " · " : "", job->customer);
  g_autofree char *day = withdrawal != NULL ? day_of (withdrawal->time) : NULL;
  g_autofree char *subtitle = NULL;

  if (withdrawal != NULL)
    subtitle = g_strdup_printf (_ ("Withdrawn %s by %s: %s"), day, *withdrawal->role != '\0' ? withdrawal->role : _ ("nobody named"), withdrawal->reason);
  else
    subtitle = g_strdup (error->message);
  adw_preferences_row_set_use_markup (ADW_PREFERENCES_ROW (row), FALSE);
  adw_preferences_row_set_title (ADW_PREFERENCES_ROW (row), title);
  adw_action_row_set_subtitle (ADW_ACTION_ROW (row), subtitle);
  adw_action_row_set_title_lines (ADW_ACTION_ROW (row), 0);
  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (button, "ef-touch");
  g_object_set_data_full (G_OBJECT (button), "ef-job", g_memdup2 (&job->id, sizeof job->id), g_free);
  g_object_set_data_full (G_OBJECT (button), "ef-number", g_strdup (job->number), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (reinstate_cb), self, G_CONNECT_SWAPPED);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), button);
  return row;
}

static void
fill (EfWithdrawnWindow *self)
{
  const EfJobQuery query = { .withdrawn = TRUE, .limit = MOST_SHOWN + 1 };
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) jobs = ef_store_jobs (self->store, &query, &error);
  GtkWidget *child;
  guint i;

  if (jobs == NULL)
    {
      tell (self, error->message);
      return;
    }
  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (self->list), child);
  for (i = 0; i < MIN (jobs->len, MOST_SHOWN); i++)
    gtk_list_box_append (GTK_LIST_BOX (self->list), make_row (self, jobs->pdata[i]));
  gtk_widget_set_visible (self->list, jobs->len > 0);
  gtk_widget_set_visible (self->none, jobs->len == 0);
  gtk_widget_set_visible (self->more, jobs->len > MOST_SHOWN);
}

static void
ef_withdrawn_window_class_init (EfWithdrawnWindowClass *klass)
{
  reinstated_signal = g_signal_new ("reinstated", EF_TYPE_WITHDRAWN_WINDOW, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static GtkWidget *
dim_label (const char *text)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, NULL);

  gtk_widget_add_css_class (label, "dim-label");
  return label;
}

static void
ef_withdrawn_window_init (EfWithdrawnWindow *self)
{
  GtkWidget *column = gtk_box_new (GTK_ORIENTATION_VERTICAL, 18);

  self->list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  gtk_widget_add_css_class (self->list, "boxed-list");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->list), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Withdrawn jobs"), -1);
  self->none = dim_label (_ ("No job is withdrawn."));
  self->more = dim_label (_ ("The newest 500 are shown."));
  gtk_box_append (GTK_BOX (column), dim_label (_ ("A withdrawn job isn't listed with the others and can't be changed. Nothing of it is deleted. Withdrawing is done on the job's Record page.")));
  gtk_box_append (GTK_BOX (column), self->none);
  gtk_box_append (GTK_BOX (column), self->list);
  gtk_box_append (GTK_BOX (column), self->more);
  self->toasts = ef_list_window_dress (ADW_WINDOW (self), _ ("Withdrawn Jobs"), column, 860, NULL, 760, 560);
}

EfWithdrawnWindow *
ef_withdrawn_window_show (GtkWidget *parent,
                          EfStore *store)
{
  EfWithdrawnWindow *self = g_object_new (EF_TYPE_WITHDRAWN_WINDOW, NULL);

  self->store = store;
  fill (self);
  gtk_window_set_transient_for (GTK_WINDOW (self), GTK_WINDOW (gtk_widget_get_root (parent)));
  gtk_window_present (GTK_WINDOW (self));
  return self;
}
