/* Switches with what each means, then a file, then the worker with its progress.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-claim-dialog.h"
#include "ef-ask-path.h"
#include "ef-settings.h"
#include "ef-window.h"

#include "../record/ef-store-standing.h"

#include <glib/gi18n.h>

#define N_CHOICES 5

struct _EfClaimDialog
{
  EfFormWindow parent_instance;

  EfSession *session;
  GtkWidget *switches[N_CHOICES];
  GtkWidget *meaning;
};

G_DEFINE_FINAL_TYPE (EfClaimDialog, ef_claim_dialog, EF_TYPE_FORM_WINDOW)

typedef struct
{
  char *store, *path;
  gint64 job;
  EfPaper paper;
  guint without;
  EfVerifyProgress progress;
  gpointer progress_data;
} Work;

static void
work_free (gpointer data)
{
  Work *work = data;

  g_free (work->store);
  g_free (work->path);
  g_free (work);
}

static void
claim_thread (GTask *task,
              gpointer source,
              gpointer task_data,
              GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;
  g_autoptr (EfStore) store = ef_store_open (work->store, &error);

  if (store != NULL
      && ef_claim_pack_write (store, work->job, work->paper, work->without, work->path, work->progress, work->progress_data, cancellable, &error))
    g_task_return_boolean (task, TRUE);
  else
    g_task_return_error (task, error);
}

void
ef_claim_async (EfSession *session,
                guint without,
                const char *path,
                EfVerifyProgress progress,
                gpointer progress_data,
                GCancellable *cancellable,
                GAsyncReadyCallback callback,
                gpointer user_data)
{
  g_autoptr (GTask) task = g_task_new (NULL, cancellable, callback, user_data);
  Work *work = g_new0 (Work, 1);

  work->store = g_strdup (ef_store_path (ef_session_store (session)));
  work->job = ef_session_job (session);
  work->path = g_strdup (path);
  work->paper = ef_settings_paper ();
  work->without = without;
  work->progress = progress;
  work->progress_data = progress_data;
  g_task_set_check_cancellable (task, FALSE);
  g_task_set_task_data (task, work, work_free);
  g_task_run_in_thread (task, claim_thread);
}

gboolean
ef_claim_finish (GAsyncResult *result,
                 GError **error)
{
  return g_task_propagate_boolean (G_TASK (result), error);
}

/* From the file dialog to the end of the work. */
typedef struct
{
  EfSession *session;
  EfWindow *window; /* may be NULL */
  GCancellable *cancellable;
  char *path;
  guint without, ticker;
  int percent; /* written by the worker, read by the ticker */
} Ask;

static void
ask_clear (gpointer data)
{
  Ask *ask = data;

  g_object_unref (ask->session);
  g_clear_object (&ask->window);
  g_clear_object (&ask->cancellable);
  g_free (ask->path);
}

static void
ask_release (gpointer ask)
{
  g_rc_box_release_full (ask, ask_clear);
}

static void
progress_cb (double share,
             gpointer user_data)
{
  g_atomic_int_set (&((Ask *) user_data)->percent, (int) (100 * share));
}

static gboolean
tick_cb (gpointer user_data)
{
  Ask *ask = user_data;
  g_autofree char *text = g_strdup_printf (_ ("Packing… %d %%"), g_atomic_int_get (&ask->percent));

  /* closed meanwhile: the pack is still written */
  if (gtk_widget_get_realized (GTK_WIDGET (ask->window)))
    ef_window_begin_work (ask->window, text, ask->cancellable);

  return G_SOURCE_CONTINUE;
}

static void
packed_cb (GObject *source,
           GAsyncResult *result,
           gpointer user_data)
{
  Ask *ask = user_data;
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;

  g_clear_handle_id (&ask->ticker, g_source_remove);
  if (ask->window != NULL && gtk_widget_get_realized (GTK_WIDGET (ask->window)))
    ef_window_end_work (ask->window);
  if (ef_claim_finish (result, &error))
    text = g_strdup_printf (_ ("Written: %s"), ask->path);
  else if (g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED))
    text = g_strdup (_ ("Stopped. Nothing was written."));
  else
    text = g_strdup (error->message);
  ef_session_message (ask->session, text);
  ask_release (ask);
}

static void
chosen_cb (GtkWidget *owner,
           const char *path,
           gpointer data)
{
  Ask *ask = data;

  ask->path = g_strdup (path);
  ask->cancellable = g_cancellable_new ();
  if (ask->window != NULL)
    {
      tick_cb (ask);
      ask->ticker = g_timeout_add (200, tick_cb, ask);
    }
  ef_claim_async (ask->session, ask->without, path, progress_cb, ask, ask->cancellable, packed_cb, g_rc_box_acquire (ask));
}

/* Over the window that this one lies on: it's closed by then. */
static void
ask_for_place (EfClaimDialog *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  GtkWindow *parent = gtk_window_get_transient_for (GTK_WINDOW (self));
  g_autofree char *name = g_strdelimit (g_strconcat (ef_inspection_header (inspection)->number, "-claim.zip", NULL), "/\\:", '-');
  const EfAskPath dialog = { .title = _ ("Write the claim pack"), .accept = _ ("_Write"), .action = GTK_FILE_CHOOSER_ACTION_SAVE, .name = name };
  Ask *ask = g_rc_box_new0 (Ask);

  ask->session = g_object_ref (self->session);
  ask->window = EF_IS_WINDOW (parent) ? g_object_ref (EF_WINDOW (parent)) : NULL;
  ask->without = ef_claim_dialog_without (self);
  ef_ask_path (GTK_WIDGET (parent), &dialog, chosen_cb, ask, ask_release);
}

static gboolean
ef_claim_dialog_accept (EfFormWindow *window)
{
  ask_for_place (EF_CLAIM_DIALOG (window));

  return TRUE;
}

guint
ef_claim_dialog_without (EfClaimDialog *self)
{
  guint without = 0;

  for (guint i = 0; i < N_CHOICES; i++)
    if (!gtk_switch_get_active (GTK_SWITCH (self->switches[i])))
      without |= 1u << i;

  return without;
}

/* What the other party can verify then. */
static void
show_meaning (EfClaimDialog *self)
{
  guint without = ef_claim_dialog_without (self);
  gboolean personal = (without & (EF_CLAIM_WITHOUT_CUSTOMER | EF_CLAIM_WITHOUT_ROLES | EF_CLAIM_WITHOUT_NOTES)) != 0;

  gtk_label_set_label (GTK_LABEL (self->meaning),
                       personal ? _ ("A sealed job can't be shortened. So the pages are drawn without what is left out, and the sealed job itself stays here: in its place goes its seal, with "
                                     "those parts that hold nothing of it. The other party can verify less; what you show later has to fit the seal. Who sealed is part of the seal.")
                                : _ ("The pack holds the whole sealed job, history included, also attached to the report. The other party can verify all of it."));
}

static void
ef_claim_dialog_dispose (GObject *object)
{
  g_clear_object (&EF_CLAIM_DIALOG (object)->session);
  G_OBJECT_CLASS (ef_claim_dialog_parent_class)->dispose (object);
}

static void
ef_claim_dialog_class_init (EfClaimDialogClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_claim_dialog_dispose;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_claim_dialog_accept;
}

static GtkWidget *
make_row (EfClaimDialog *self,
          guint i,
          const char *title,
          const char *subtitle)
{
  GtkWidget *row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", title, "subtitle", subtitle, NULL);

  self->switches[i] = g_object_new (GTK_TYPE_SWITCH, "active", TRUE, "valign", GTK_ALIGN_CENTER, NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->switches[i]), GTK_ACCESSIBLE_PROPERTY_LABEL, title, -1);
  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), self->switches[i]);
  adw_action_row_set_activatable_widget (ADW_ACTION_ROW (row), self->switches[i]);
  g_signal_connect_object (self->switches[i], "notify::active", G_CALLBACK (show_meaning), self, G_CONNECT_SWAPPED);

  return row;
}

static void
ef_claim_dialog_init (EfClaimDialog *self)
{
  const struct
  {
    const char *title, *subtitle;
  } choices[N_CHOICES] = {
    { _ ("Customer"), _ ("Whose vessel or machine it is") },
    { _ ("Roles and benches"), _ ("Who marked, measured, decided, and where") },
    { _ ("Notes"), _ ("Of the job, its marks, readings and steps; the complaint stays in any case") },
    { _ ("Photos"), _ ("As they were sealed, with what the camera wrote into them: time, perhaps the place") },
    { _ ("Certificates of gauges"), _ ("The files attached to the job's gauges, with the names that stand in them") },
  };
  EfFormWindow *window = EF_FORM_WINDOW (self);
  GtkWidget *list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  GtkWidget *head = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "label",
                                  _ ("Report, sealed job, gauges, public key and how to verify them, in one zip file for the other party. It also holds, where it isn't left out:"), NULL);

  ef_form_window_set_accept_label (window, _ ("_Choose File…"));
  /* all of it without scrolling; wrapped labels ask for less than they need */
  gtk_window_set_default_size (GTK_WINDOW (self), 560, 660);
  gtk_widget_add_css_class (list, "boxed-list");
  gtk_accessible_update_property (GTK_ACCESSIBLE (list), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("What the pack holds"), -1);
  for (guint i = 0; i < N_CHOICES; i++)
    gtk_list_box_append (GTK_LIST_BOX (list), make_row (self, i, choices[i].title, choices[i].subtitle));
  self->meaning = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (self->meaning, "dim-label");
  ef_form_window_add (window, head);
  ef_form_window_add (window, list);
  ef_form_window_add (window, self->meaning);
  show_meaning (self);
}

EfClaimDialog *
ef_claim_dialog_show (GtkWidget *parent,
                      EfSession *session)
{
  EfStore *store = ef_session_store (session);
  EfStanding standing = { 0 };
  EfClaimDialog *self;

  if (store == NULL || !ef_store_standing (store, ef_session_job (session), &standing, NULL) || standing.sealed == 0)
    {
      ef_session_message (session, _ ("A claim pack is made of a sealed job: seal it first."));
      return NULL;
    }
  self = g_object_new (EF_TYPE_CLAIM_DIALOG, "title", _ ("Claim Pack"), NULL);
  self->session = g_object_ref (session);
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
  gtk_widget_grab_focus (self->switches[0]);

  return self;
}
