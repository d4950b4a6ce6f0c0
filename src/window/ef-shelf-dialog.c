/* One field and what it's for.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-shelf-dialog.h"
#include "../assess/ef-assessment.h"
#include "../shelf/ef-shelf-keep.h"
#include "ef-field.h"
#include "ef-settings.h"
#include "ef-window.h"

#include <glib/gi18n.h>

struct _EfShelfDialog
{
  EfFormWindow parent_instance;

  EfField *field;
  EfStore *store; /* borrowed */
  char *code;     /* NULL: parts of a job are put */
  EfShelfMove move;
};

enum
{
  MOVED,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfShelfDialog, ef_shelf_dialog, EF_TYPE_FORM_WINDOW)

static GtkWidget *
explanation (const char *text)
{
  return g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, NULL);
}

/* The job's parts worth keeping; NULL and an error where it can't be assessed. */
static GPtrArray *
parts_of_job (EfStore *store,
              const char *number,
              GError **error)
{
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  gint64 job;

  if (!ef_store_exists (store, number, &job, error))
    return NULL;
  if (job == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, _ ("There is no job %s here."), number);
      return NULL;
    }
  inspection = ef_store_load (store, job, error);
  rules = inspection != NULL ? ef_rule_set_default (error) : NULL;
  assessment = rules != NULL ? ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, error) : NULL;

  return assessment != NULL ? ef_shelf_keep (&assessment->findings, assessment->verdict) : NULL;
}

static gboolean
put (EfShelfDialog *self,
     const char *number,
     GError **error)
{
  g_autoptr (GPtrArray) parts = parts_of_job (self->store, number, error);
  g_autoptr (GPtrArray) codes = NULL;
  g_autofree char *role = ef_settings_role ();
  g_autofree char *text = NULL;
  EfWindow *window = ef_window_of (GTK_WIDGET (gtk_window_get_transient_for (GTK_WINDOW (self))));

  if (parts == NULL || !ef_store_shelf_put (self->store, parts, role, &codes, error))
    return FALSE;
  if (parts->len == 0)
    text = g_strdup_printf (_ ("No part of %s is worth keeping."), number);
  else if (codes->len == 0)
    text = g_strdup_printf (_ ("All parts of %s that are worth keeping lie there already."), number);
  else
    text = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u part of %s put on the shelf.", "%u parts of %s put on the shelf.", codes->len), codes->len, number);
  if (window != NULL)
    ef_window_toast (window, text);

  return TRUE;
}

static gboolean
ef_shelf_dialog_accept (EfFormWindow *window)
{
  EfShelfDialog *self = EF_SHELF_DIALOG (window);
  g_autofree char *text = NULL;
  g_autofree char *role = ef_settings_role ();
  g_autoptr (GError) error = NULL;
  gboolean done;

  if (!ef_field_string (self->field, TRUE, &text))
    {
      gtk_widget_grab_focus (GTK_WIDGET (self->field));
      return FALSE;
    }
  if (self->code == NULL)
    done = put (self, text, &error);
  else
    done = ef_store_shelf_move (self->store, self->code, self->move, self->move == EF_SHELF_RESERVE ? text : NULL,
                                self->move == EF_SHELF_RESERVE ? NULL : text, role, &error);
  if (!done)
    {
      ef_field_set_message (self->field, error->message);
      return FALSE;
    }
  g_signal_emit (self, signals[MOVED], 0);

  return TRUE;
}

static void
ef_shelf_dialog_dispose (GObject *object)
{
  g_clear_pointer (&EF_SHELF_DIALOG (object)->code, g_free);
  G_OBJECT_CLASS (ef_shelf_dialog_parent_class)->dispose (object);
}

static void
ef_shelf_dialog_class_init (EfShelfDialogClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_shelf_dialog_dispose;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_shelf_dialog_accept;
  signals[MOVED] = g_signal_new ("moved", EF_TYPE_SHELF_DIALOG, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_shelf_dialog_init (EfShelfDialog *self)
{
}

static EfShelfDialog *
show (GtkWidget *parent,
      EfStore *store,
      const char *title,
      const char *accept,
      const char *text,
      const char *field)
{
  EfShelfDialog *self = g_object_new (EF_TYPE_SHELF_DIALOG, "title", title, NULL);

  self->store = store;
  ef_form_window_set_accept_label (EF_FORM_WINDOW (self), accept);
  ef_form_window_add (EF_FORM_WINDOW (self), explanation (text));
  self->field = EF_FIELD (ef_field_new (field));
  ef_form_window_add (EF_FORM_WINDOW (self), GTK_WIDGET (self->field));
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
  gtk_widget_grab_focus (GTK_WIDGET (self->field));

  return self;
}

EfShelfDialog *
ef_shelf_dialog_move (GtkWidget *parent,
                      EfStore *store,
                      const EfShelfPart *part,
                      EfShelfMove move)
{
  const char *mates = part->part->pair != NULL ? _ (" Its mate goes with it.") : "";
  g_autofree char *title = NULL;
  g_autofree char *text = NULL;
  EfShelfDialog *self;

  switch (move)
    {
    case EF_SHELF_RESERVE:
      title = g_strdup_printf (_ ("Reserve %s"), part->part->shelf);
      text = g_strdup_printf (_ ("Until it's given back nobody else can use it.%s"), mates);
      self = show (parent, store, title, _ ("_Reserve"), text, _ ("For job number"));
      break;
    case EF_SHELF_WITHDRAW:
      title = g_strdup_printf (_ ("Withdraw %s"), part->part->shelf);
      text = g_strdup_printf (_ ("It stays on record, but no pump gets it.%s"), mates);
      self = show (parent, store, title, _ ("_Withdraw"), text, _ ("Reason"));
      break;
    default:
      title = g_strdup_printf (_ ("Put %s Back"), part->part->shelf);
      text = g_strdup_printf (_ ("It was withdrawn: “%s”.%s"), part->reason != NULL ? part->reason : "", mates);
      self = show (parent, store, title, _ ("_Put Back"), text, _ ("Why it may be used after all"));
      break;
    }
  self->code = g_strdup (part->part->shelf);
  self->move = move;

  return self;
}

EfShelfDialog *
ef_shelf_dialog_put (GtkWidget *parent,
                     EfStore *store,
                     const char *job_number)
{
  EfShelfDialog *self = show (parent, store, _ ("Put Parts on the Shelf"), _ ("_Put on the Shelf"),
                              _ ("The parts of the job's pump that may be used again, as they are or after rework, with their sizes and marks. "
                                 "What lies there already isn't put twice."),
                              _ ("From job number"));

  ef_field_set_text (self->field, job_number);

  return self;
}
