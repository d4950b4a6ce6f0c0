/* Details, history and sign-off at the left, the report at the right.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-record-page.h"
#include "ef-bench-plan.h"
#include "ef-field.h"
#include "ef-header-form.h"
#include "ef-missing-bar.h"
#include "ef-report-view.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

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
  GtkLabel *sign_state;
  EfField *sign_role;
  EfField *sign_note;
  GtkButton *sign;
  GtkWidget *unsign;
  AdwClamp *preview;

  EfSession *session;
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

static GtkWidget *
make_history_row (const EfHistoryRow *entry)
{
  g_autofree char *time = local_time (entry->time);
  g_autofree char *subtitle = NULL;
  GtkWidget *row;

  subtitle = g_strdup_printf ("%s%s%s%s%s", time,
                              entry->role != NULL && entry->role[0] != '\0' ? " · " : "", entry->role != NULL ? entry->role : "",
                              entry->bench != NULL && entry->bench[0] != '\0' ? " · " : "", entry->bench != NULL ? entry->bench : "");
  row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", entry->label, "subtitle", subtitle, NULL);
  adw_action_row_set_title_lines (ADW_ACTION_ROW (row), 0);
  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
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
    gtk_list_box_append (self->history, make_history_row (g_ptr_array_index (rows, i - 1)));
  note = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u entry, newest first. Nothing is ever deleted.",
                                       "%u entries, newest first. Nothing is ever deleted.", rows->len), rows->len);
  gtk_label_set_label (self->history_note, note);
  gtk_widget_set_visible (GTK_WIDGET (self->history), rows->len > 0);
}

static void
fill_sign_off (EfRecordPage *self)
{
  const EfTick *tick = ef_inspection_find (inspection_of (self), EF_ITEM_TICK, EF_SIGN_OFF_ID);
  g_autofree char *time = NULL;
  g_autofree char *text = NULL;

  if (tick != NULL)
    {
      time = local_time (tick->time);
      text = g_strdup_printf (_ ("Signed off by %s, %s.%s%s"), tick->role != NULL ? tick->role : "–", time,
                              tick->note != NULL ? " " : "", tick->note != NULL ? tick->note : "");
    }
  gtk_label_set_label (self->sign_state, tick != NULL ? text : _ ("Not signed off. Signing off says that the verdict and the readings were looked through and stand."));
  gtk_button_set_label (self->sign, tick != NULL ? _ ("Sign Off Again") : _ ("Sign Off"));
  gtk_widget_set_visible (self->unsign, tick != NULL);
}

static void
refresh (EfRecordPage *self)
{
  ef_missing_bar_take (self->missing, ef_missing_details (inspection_of (self)));
  fill_sign_off (self);
  if (g_strcmp0 (gtk_stack_get_visible_child_name (self->stack), "history") == 0)
    fill_history (self);
}

static void
sign_cb (EfRecordPage *self)
{
  EfTick *before = ef_inspection_find (inspection_of (self), EF_ITEM_TICK, EF_SIGN_OFF_ID);
  g_autoptr (EfItem) item = ef_item_new (&ef_tick_class, EF_SIGN_OFF_ID);
  EfTick *after = (EfTick *) item;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (EfChange) change = NULL;

  if (!ef_field_string (self->sign_role, TRUE, &after->role) || !ef_field_string (self->sign_note, FALSE, &after->note))
    return;
  after->time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  change = ef_change_new (_ ("Sign off"));
  ef_change_add (change, before, after);
  if (ef_session_apply (self->session, g_steal_pointer (&change)))
    ef_field_set_text (self->sign_note, NULL);
}

static void
unsign_cb (EfRecordPage *self)
{
  EfTick *before = ef_inspection_find (inspection_of (self), EF_ITEM_TICK, EF_SIGN_OFF_ID);
  g_autoptr (EfChange) change = NULL;

  if (before == NULL)
    return;
  change = ef_change_new (_ ("Take the sign-off back"));
  ef_change_add (change, before, NULL);
  ef_session_apply (self->session, g_steal_pointer (&change));
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
  g_type_ensure (EF_TYPE_FIELD);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/record-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, missing);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, stack);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, details);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, history);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, history_note);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, sign_state);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, sign_role);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, sign_note);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, sign);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, unsign);
  gtk_widget_class_bind_template_child (widget_class, EfRecordPage, preview);
  gtk_widget_class_bind_template_callback (widget_class, sign_cb);
  gtk_widget_class_bind_template_callback (widget_class, unsign_cb);
}

static void
ef_record_page_init (EfRecordPage *self)
{
  g_autofree char *role = ef_settings_role ();

  gtk_widget_init_template (GTK_WIDGET (self));
  ef_field_set_text (self->sign_role, role);
}

EfRecordPage *
ef_record_page_new (EfSession *session)
{
  EfRecordPage *self = g_object_new (EF_TYPE_RECORD_PAGE, NULL);

  self->session = g_object_ref (session);
  adw_bin_set_child (self->details, ef_header_form_new (session));
  adw_clamp_set_child (self->preview, ef_report_view_new (session));
  g_signal_connect_object (session, "changed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->stack, "notify::visible-child-name", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  refresh (self);
  return self;
}
