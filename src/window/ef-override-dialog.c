/* Four words, a reason, a role.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-override-dialog.h"
#include "ef-field.h"
#include "ef-verdict-badge.h"
#include "ef-who-fields.h"

#include <glib/gi18n.h>

struct _EfOverrideDialog
{
  EfFormWindow parent_instance;

  GtkWidget *words[EF_N_VERDICTS];
  EfField *reason;
  EfWhoFields *who;

  EfSession *session;
  char *subject;
  char *title;
};

G_DEFINE_FINAL_TYPE (EfOverrideDialog, ef_override_dialog, EF_TYPE_FORM_WINDOW)

static char *
now_text (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();

  return g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
}

static EfVerdictWord
chosen_word (EfOverrideDialog *self)
{
  int word;

  for (word = 0; word < EF_N_VERDICTS - 1; word++)
    if (gtk_check_button_get_active (GTK_CHECK_BUTTON (self->words[word])))
      return word;
  return EF_N_VERDICTS - 1;
}

static gboolean
ef_override_dialog_accept (EfFormWindow *window)
{
  EfOverrideDialog *self = EF_OVERRIDE_DIALOG (window);
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  EfOverride *before = ef_inspection_find (inspection, EF_ITEM_OVERRIDE, self->subject);
  g_autoptr (EfItem) item = ef_item_new (&ef_override_class, self->subject);
  EfOverride *after = (EfOverride *) item;
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = NULL;
  EfVerdictWord word = chosen_word (self);

  if (!ef_field_string (self->reason, TRUE, &after->reason))
    {
      ef_field_set_message (self->reason, _ ("A verdict set by hand needs a reason."));
      gtk_widget_grab_focus (GTK_WIDGET (self->reason));
      return FALSE;
    }
  if (!ef_who_fields_authorise (self->who, EF_ACT_OVERRIDE, TRUE, &after->role))
    return FALSE;
  after->verdict = g_strdup (ef_verdict_name (word));
  after->time = now_text ();
  label = g_strdup_printf (_ ("Set by hand: %s, %s"), self->title, ef_verdict_shown (word));
  change = ef_change_new (label);
  ef_change_add (change, before, after);
  return ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
ef_override_dialog_dispose (GObject *object)
{
  EfOverrideDialog *self = EF_OVERRIDE_DIALOG (object);

  g_clear_object (&self->session);
  g_clear_pointer (&self->subject, g_free);
  g_clear_pointer (&self->title, g_free);
  G_OBJECT_CLASS (ef_override_dialog_parent_class)->dispose (object);
}

static void
ef_override_dialog_class_init (EfOverrideDialogClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_override_dialog_dispose;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_override_dialog_accept;
}

static void
ef_override_dialog_init (EfOverrideDialog *self)
{
  EfFormWindow *window = EF_FORM_WINDOW (self);
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  int word;

  ef_form_window_set_accept_label (window, _ ("_Set Verdict"));
  for (word = 0; word < EF_N_VERDICTS; word++)
    {
      GtkWidget *badge = ef_verdict_badge_new ();

      ef_verdict_badge_set (EF_VERDICT_BADGE (badge), word);
      self->words[word] = gtk_check_button_new ();
      gtk_check_button_set_group (GTK_CHECK_BUTTON (self->words[word]), word > 0 ? GTK_CHECK_BUTTON (self->words[0]) : NULL);
      gtk_check_button_set_child (GTK_CHECK_BUTTON (self->words[word]), badge);
      gtk_widget_add_css_class (self->words[word], "ef-touch");
      gtk_accessible_update_property (GTK_ACCESSIBLE (self->words[word]), GTK_ACCESSIBLE_PROPERTY_LABEL, ef_verdict_shown (word), -1);
      gtk_box_append (GTK_BOX (box), self->words[word]);
    }
  self->reason = EF_FIELD (ef_field_new (_ ("Reason")));
  self->who = EF_WHO_FIELDS (ef_who_fields_new ());
  ef_form_window_add (window, box);
  ef_form_window_add (window, GTK_WIDGET (self->reason));
  ef_form_window_add (window, GTK_WIDGET (self->who));
  g_signal_connect_object (self->who, "committed", G_CALLBACK (ef_form_window_accept), self, G_CONNECT_SWAPPED);
}

EfOverrideDialog *
ef_override_dialog_show (GtkWidget *parent,
                         EfSession *session,
                         const EfVerdict *verdict)
{
  g_autofree char *title = g_strdup_printf (_ ("Verdict on %s"), verdict->title);
  EfOverrideDialog *self = g_object_new (EF_TYPE_OVERRIDE_DIALOG, "title", title, NULL);

  self->session = g_object_ref (session);
  ef_who_fields_set_store (self->who, ef_session_store (session));
  self->subject = g_strdup (verdict->id);
  self->title = g_strdup (verdict->title);
  gtk_check_button_set_active (GTK_CHECK_BUTTON (self->words[verdict->word]), TRUE);
  if (verdict->override != NULL)
    ef_field_set_text (self->reason, verdict->override->reason);
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
  gtk_widget_grab_focus (self->words[verdict->word]);
  return self;
}

void
ef_override_remove (EfSession *session,
                    const char *subject_id,
                    const char *title)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  EfOverride *before = ef_inspection_find (inspection, EF_ITEM_OVERRIDE, subject_id);
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = g_strdup_printf (_ ("Back to the computed verdict: %s"), title);

  if (before == NULL)
    return;
  change = ef_change_new (label);
  ef_change_add (change, before, NULL);
  ef_session_apply (session, g_steal_pointer (&change));
}
