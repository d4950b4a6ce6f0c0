/* Details, history and seal at the left, the report at the right.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-record-page.h"
#include "ef-bench-plan.h"
#include "ef-compare-window.h"
#include "ef-decision-choice.h"
#include "ef-header-form.h"
#include "ef-missing-bar.h"
#include "ef-photo-view.h"
#include "ef-report-view.h"
#include "ef-seal-panel.h"

#include <glib/gi18n.h>
#include <string.h>

/* More rows than anybody reads make the list slow; the store keeps them all. */
#define HISTORY_SHOWN 500

struct _EfRecordPage
{
  GtkBox parent_instance;

  EfMissingBar *missing;
  GtkStack *stack;
  AdwBin *details;
  GtkListBox *history;
  GtkLabel *history_note;
  GtkButton *compare;
  AdwBin *seal;
  AdwBin *photos;
  AdwClamp *preview;

  EfSession *session;
  gint64 chosen[2]; /* rows of the history to be compared; 0 none */
  GtkWidget *checks[2];
};

G_DEFINE_FINAL_TYPE (EfRecordPage, ef_record_page, GTK_TYPE_BOX)

static const EfInspection *
inspection_of (EfRecordPage *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

/* "2026-03-09T10:15:00Z" as the clock on the wall shows it. */
static char *
local_time (const char *iso)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = iso != NULL ? g_date_time_new_from_iso8601 (iso, utc) : NULL;
  g_autoptr (GDateTime) local = time != NULL ? g_date_time_to_local (time) : NULL;

  return local != NULL ? g_date_time_format (local, "%Y-%m-%d %H:%M:%S") : g_strdup (iso != NULL ? iso : "–");
}

static void
show_compare (EfRecordPage *self)
{
  gtk_button_set_label (self->compare, self->chosen[1] != 0 ? _ ("Compare the Two") : _ ("Compare with Now"));
  gtk_widget_set_sensitive (GTK_WIDGET (self->compare), self->chosen[0] != 0);
}

/* At most two: a third takes the place of the first. */
static void
chosen_cb (GtkCheckButton *check,
           EfRecordPage *self)
{
  gint64 seq = GPOINTER_TO_SIZE (g_object_get_data (G_OBJECT (check), "ef-seq"));
  GtkWidget *dropped = NULL;

  if (gtk_check_button_get_active (check))
    {
      guint place = self->chosen[0] == 0 ? 0 : 1;

      if (self->chosen[1] != 0)
        {
          dropped = self->checks[0];
          self->chosen[0] = self->chosen[1];
          self->checks[0] = self->checks[1];
        }
      self->chosen[place] = seq;
      self->checks[place] = GTK_WIDGET (check);
    }
  else
    {
      if (self->checks[0] == GTK_WIDGET (check))
        {
          self->chosen[0] = self->chosen[1];
          self->checks[0] = self->checks[1];
        }
      if (self->checks[0] == self->checks[1] || self->checks[1] == GTK_WIDGET (check))
        {
          self->chosen[1] = 0;
          self->checks[1] = NULL;
        }
    }
  if (dropped != NULL)
    {
      g_signal_handlers_block_by_func (dropped, chosen_cb, self);
      gtk_check_button_set_active (GTK_CHECK_BUTTON (dropped), FALSE);
      g_signal_handlers_unblock_by_func (dropped, chosen_cb, self);
    }
  show_compare (self);
}

static GtkWidget *
make_history_row (EfRecordPage *self,
                  const EfHistoryRow *entry)
{
  g_autofree char *time = local_time (entry->time);
  g_autoptr (GString) subtitle = g_string_new (time);
  GtkWidget *row, *check;

  if (entry->clock_back)
    g_string_append_printf (subtitle, " (%s)", _ ("clock set back"));
  if (entry->role != NULL && entry->role[0] != '\0')
    g_string_append_printf (subtitle, " · %s", entry->role);
  if (entry->bench != NULL && entry->bench[0] != '\0')
    g_string_append_printf (subtitle, " · %s", entry->bench);
  if (entry->reason != NULL && entry->reason[0] != '\0')
    g_string_append_printf (subtitle, "\n%s", entry->reason);
  row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", entry->label, "subtitle", subtitle->str, NULL);
  adw_action_row_set_title_lines (ADW_ACTION_ROW (row), 0);
  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
  gtk_widget_set_tooltip_markup (row, NULL);
  if (entry->program != NULL)
    {
      g_autofree char *tooltip = g_strdup_printf (_ ("Entry %" G_GINT64_FORMAT ", %s, rules %s"), entry->seq, entry->program,
                                                  entry->rules != NULL && *entry->rules != '\0' ? entry->rules : "–");

      gtk_widget_set_tooltip_text (row, tooltip);
    }
  check = gtk_check_button_new ();
  gtk_widget_add_css_class (check, "ef-touch");
  gtk_widget_set_valign (check, GTK_ALIGN_CENTER);
  gtk_widget_set_tooltip_text (check, _ ("Choose this state to compare it"));
  g_object_set_data (G_OBJECT (check), "ef-seq", GSIZE_TO_POINTER ((gsize) entry->seq));
  g_signal_connect_object (check, "toggled", G_CALLBACK (chosen_cb), self, 0);
  adw_action_row_add_prefix (ADW_ACTION_ROW (row), check);
  adw_action_row_set_activatable_widget (ADW_ACTION_ROW (row), check);
  return row;
}

static void
fill_history (EfRecordPage *self)
{
  EfStore *store = ef_session_store (self->session);
  g_autoptr (GPtrArray) rows = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *note = NULL;
  GtkWidget *child;
  guint i;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self->history))) != NULL)
    gtk_list_box_remove (self->history, child);
  memset (self->chosen, 0, sizeof self->chosen);
  memset (self->checks, 0, sizeof self->checks);
  show_compare (self);
  gtk_widget_set_visible (GTK_WIDGET (self->compare), store != NULL);
  if (store == NULL)
    {
      gtk_label_set_label (self->history_note, _ ("This job isn't in a store, so it has no history."));
      return;
    }
  rows = ef_store_history (store, ef_session_job (self->session), &error);
  if (rows == NULL)
    {
      gtk_label_set_label (self->history_note, error->message);
      return;
    }
  for (i = rows->len; i > 0 && rows->len - i < HISTORY_SHOWN; i--)
    gtk_list_box_append (self->history, make_history_row (self, g_ptr_array_index (rows, i - 1)));
  note = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u entry, newest first. Nothing is ever deleted.",
                                       "%u entries, newest first. Nothing is ever deleted.", rows->len), rows->len);
  gtk_label_set_label (self->history_note, note);
  gtk_widget_set_visible (GTK_WIDGET (self->history), rows->len > 0);
}

static void
refresh (EfRecordPage *self)
{
  /* What can't be written any more isn't missed. */
  if (ef_session_read_only (self->session))
    ef_missing_bar_set (self->missing, NULL);
  else
    ef_missing_bar_take (self->missing, ef_missing_details (inspection_of (self)));
  if (g_strcmp0 (gtk_stack_get_visible_child_name (self->stack), "history") == 0)
    fill_history (self);
}

/* The titles of the pictures: when, and what was done. */
static char *
state_title (EfRecordPage *self,
             gint64 seq)
{
  g_autoptr (GPtrArray) rows = ef_store_history (ef_session_store (self->session), ef_session_job (self->session), NULL);

  for (guint i = 0; rows != NULL && i < rows->len; i++)
    {
      const EfHistoryRow *row = rows->pdata[i];
      g_autofree char *time = local_time (row->time);

      if (row->seq == seq)
        return g_strdup_printf (_ ("Entry %" G_GINT64_FORMAT ", %s: %s"), seq, time, row->label);
    }

  return g_strdup_printf (_ ("Entry %" G_GINT64_FORMAT), seq);
}

static void
compare_cb (EfRecordPage *self)
{
  EfStore *store = ef_session_store (self->session);
  gint64 job = ef_session_job (self->session);
  gint64 first = self->chosen[0], second = self->chosen[1];
  g_autoptr (GError) error = NULL;
  g_autofree char *before_title = NULL;
  g_autofree char *after_title = NULL;
  EfInspection *before, *after;

  if (first == 0)
    return;
  if (second != 0 && second < first)
    {
      first = self->chosen[1];
      second = self->chosen[0];
    }
  before = ef_store_load_at (store, job, first, &error);
  after = before != NULL ? (second != 0 ? ef_store_load_at (store, job, second, &error) : ef_inspection_copy (inspection_of (self))) : NULL;
  if (after == NULL)
    {
      g_clear_pointer (&before, ef_inspection_free);
      ef_session_message (self->session, error->message);
      return;
    }
  before_title = state_title (self, first);
  after_title = second != 0 ? state_title (self, second) : g_strdup (_ ("Now"));
  ef_compare_window_show (GTK_WIDGET (self), before, before_title, after, after_title);
}

static void
ef_record_page_dispose (GObject *object)
{
  EfRecordPage *self = EF_RECORD_PAGE (object);

  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_RECORD_PAGE);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_record_page_parent_class)->dispose (object);
}

static void
ef_record_page_class_init (EfRecordPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_record_page_dispose;
  g_type_ensure (EF_TYPE_MISSING_BAR);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/record-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, missing);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, stack);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, details);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, history);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, history_note);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, compare);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, seal);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, photos);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, preview);
  gtk_widget_class_bind_template_callback (widget_class, compare_cb);
}

static void
ef_record_page_init (EfRecordPage *self)
{
  gtk_widget_init_template (GTK_WIDGET (self));
}

EfRecordPage *
ef_record_page_new (EfSession *session)
{
  EfRecordPage *self = g_object_new (EF_TYPE_RECORD_PAGE, NULL);
  GtkWidget *details;

  self->session = g_object_ref (session);
  details = gtk_box_new (GTK_ORIENTATION_VERTICAL, 14);
  gtk_box_append (GTK_BOX (details), ef_header_form_new (session));
  gtk_box_append (GTK_BOX (details), ef_decision_choice_new (session));
  adw_bin_set_child (self->details, details);
  adw_bin_set_child (self->seal, ef_seal_panel_new (session));
  adw_bin_set_child (self->photos, ef_photo_view_new (session));
  adw_clamp_set_child (self->preview, ef_report_view_new (session));
  g_signal_connect_object (session, "changed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->stack, "notify::visible-child-name", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  refresh (self);
  return self;
}
