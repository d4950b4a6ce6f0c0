/* Fields and buttons for the sealing key.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-key-window.h"
#include "ef-ask-path.h"
#include "ef-list-window.h"
#include "ef-field.h"
#include "ef-who-fields.h"

#include "../record/ef-seal-key.h"

#include <glib/gi18n.h>
#include <string.h>

struct _EfKeyWindow
{
  AdwWindow parent_instance;

  EfStore *store; /* borrowed */
  EfWhoFields *who;
  EfField *passphrase, *new_passphrase, *again, *reason;
  GtkWidget *public_key, *fields, *lost, *state, *spinner;
  gboolean busy;
};

typedef enum { EXPORT, SET_PASSPHRASE, NEW_KEY, RESTORE } KeyTask;

/* What the worker needs. */
typedef struct
{
  KeyTask task;
  char *store, *path, *passphrase, *new_passphrase, *role, *reason;
  EfPermit *permit;
  gboolean lost;
} Work;

G_DEFINE_FINAL_TYPE (EfKeyWindow, ef_key_window, ADW_TYPE_WINDOW)

static void
free_secret (char *text)
{
  if (text != NULL)
    memset (text, 0, strlen (text));
  g_free (text);
}

static void
work_free (gpointer data)
{
  Work *work = data;

  g_free (work->store);
  g_free (work->path);
  g_free (work->role);
  g_free (work->reason);
  ef_permit_free (work->permit);
  free_secret (work->passphrase);
  free_secret (work->new_passphrase);
  g_free (work);
}
G_DEFINE_AUTOPTR_CLEANUP_FUNC (Work, work_free)

static gboolean
change_key (EfStore *store,
            const Work *work,
            GError **error)
{
  g_autoptr (EfSealKey) old = work->lost ? NULL : ef_seal_key_unlock (store, work->passphrase, error);
  g_autoptr (EfSealKey) key = NULL;

  if (old == NULL && !work->lost)
    return FALSE;
  key = ef_seal_key_change (store, old, work->new_passphrase, NULL, work->role, work->reason, error);
  return key != NULL;
}

static gboolean
set_passphrase (EfStore *store,
                const Work *work,
                GError **error)
{
  g_autoptr (EfSealKey) key = ef_seal_key_unlock (store, work->passphrase, error);

  return key != NULL && ef_seal_key_set_passphrase (store, key, work->new_passphrase, NULL, error);
}

static gboolean
restore (EfStore *store,
         const Work *work,
         GError **error)
{
  g_autoptr (EfSealKey) key = ef_seal_key_restore (store, work->path, work->passphrase, error);

  return key != NULL;
}

static void
work_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  const Work *work = task_data;
  GError *error = NULL;
  g_autoptr (EfStore) store = ef_store_open (work->store, &error);
  gboolean done = FALSE;

  if (store != NULL)
    ef_store_use_permit (store, work->permit);
  if (store != NULL)
    switch (work->task)
      {
      case EXPORT:
        done = ef_seal_key_export (store, work->path, &error);
        break;
      case SET_PASSPHRASE:
        done = set_passphrase (store, work, &error);
        break;
      case NEW_KEY:
        done = change_key (store, work, &error);
        break;
      case RESTORE:
      default:
        done = restore (store, work, &error);
        break;
      }
  if (done)
    g_task_return_boolean (task, TRUE);
  else
    g_task_return_error (task, error);
}

static void
say (EfKeyWindow *self,
     const char *text,
     gboolean error)
{
  gtk_label_set_label (GTK_LABEL (self->state), text);
  gtk_widget_set_visible (self->state, *text != '\0');
  if (error)
    gtk_widget_add_css_class (self->state, "error");
  else
    gtk_widget_remove_css_class (self->state, "error");
}

/* In groups of eight, so that two can be compared by eye. */
static char *
grouped (const char *hex)
{
  GString *out = g_string_new (NULL);
  guint i;

  for (i = 0; hex[i] != '\0'; i++)
    {
      if (i > 0 && i % 8 == 0)
        g_string_append_c (out, i == 32 ? '\n' : ' ');
      g_string_append_c (out, hex[i]);
    }
  return g_string_free (out, FALSE);
}

static void
refresh (EfKeyWindow *self)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *key = ef_seal_key_current (self->store, &error);
  g_autofree char *text = key != NULL ? grouped (key) : g_strdup (error != NULL ? error->message : _ ("There is no key yet: it is made with the first seal, on a job's Record page."));

  gtk_label_set_label (GTK_LABEL (self->public_key), text);
  gtk_label_set_selectable (GTK_LABEL (self->public_key), key != NULL);
  if (key != NULL)
    gtk_widget_add_css_class (self->public_key, "monospace");
  else
    gtk_widget_remove_css_class (self->public_key, "monospace");
  gtk_widget_set_visible (self->fields, key != NULL);
  gtk_widget_set_sensitive (self->fields, !self->busy);
  gtk_widget_set_visible (self->spinner, self->busy);
}

static const char *
done_words (KeyTask task)
{
  switch (task)
    {
    case EXPORT:
      return _ ("The locked key is kept in the file. It opens with the same passphrase.");
    case SET_PASSPHRASE:
      return _ ("The key has the new passphrase. Files it was kept in before still open with the old one.");
    case NEW_KEY:
      return _ ("A new key seals from now on. Print the public key anew, and keep the key elsewhere.");
    case RESTORE:
    default:
      return _ ("The key is back.");
    }
}

static void
done_cb (GObject *source,
         GAsyncResult *result,
         gpointer user_data)
{
  g_autoptr (EfKeyWindow) self = user_data;
  const Work *work = g_task_get_task_data (G_TASK (result));
  g_autoptr (GError) error = NULL;
  gboolean done = g_task_propagate_boolean (G_TASK (result), &error);

  self->busy = FALSE;
  if (self->store == NULL)
    return;
  gtk_spinner_stop (GTK_SPINNER (self->spinner));
  refresh (self);
  if (!done && strstr (error->message, "doesn't open with this passphrase") != NULL)
    {
      ef_field_set_message (self->passphrase, _ ("The key doesn't open with this passphrase."));
      gtk_widget_grab_focus (GTK_WIDGET (self->passphrase));
      return;
    }
  say (self, done ? done_words (work->task) : error->message, !done);
  if (!done)
    return;
  ef_field_set_text (self->passphrase, NULL);
  ef_field_set_text (self->new_passphrase, NULL);
  ef_field_set_text (self->again, NULL);
  ef_field_set_text (self->reason, NULL);
  gtk_check_button_set_active (GTK_CHECK_BUTTON (self->lost), FALSE);
}

static gboolean
refuse (EfField *field,
        const char *message)
{
  ef_field_set_message (field, message);
  gtk_widget_grab_focus (GTK_WIDGET (field));
  return FALSE;
}

/* What this task needs. */
static gboolean
check_fields (EfKeyWindow *self,
              KeyTask task)
{
  gboolean lost = task == NEW_KEY && gtk_check_button_get_active (GTK_CHECK_BUTTON (self->lost));
  gboolean new = task == NEW_KEY || task == SET_PASSPHRASE;

  ef_field_set_message (self->passphrase, NULL);
  ef_field_set_message (self->new_passphrase, NULL);
  ef_field_set_message (self->again, NULL);
  ef_field_set_message (self->reason, NULL);
  if (task != EXPORT && !lost && *ef_field_text (self->passphrase) == '\0')
    return refuse (self->passphrase, _ ("The key opens with its passphrase."));
  if (new && g_utf8_strlen (ef_field_text (self->new_passphrase), -1) < EF_SEAL_PASSPHRASE_MIN)
    return refuse (self->new_passphrase, _ ("At least 8 characters."));
  if (new && !g_str_equal (ef_field_text (self->new_passphrase), ef_field_text (self->again)))
    return refuse (self->again, _ ("The two aren't the same."));
  if (task == NEW_KEY && *ef_field_text (self->reason) == '\0')
    return refuse (self->reason, _ ("This needs a reason: it stands in the chain of seals."));
  return TRUE;
}

static void
begin (EfKeyWindow *self,
       KeyTask kind,
       const char *path)
{
  g_autoptr (Work) work = g_new0 (Work, 1);
  g_autoptr (GTask) task = NULL;

  if (self->busy || !check_fields (self, kind) || !ef_who_fields_authorise (self->who, EF_ACT_KEY, FALSE, &work->role))
    return;
  work->task = kind;
  work->store = g_strdup (ef_store_path (self->store));
  work->permit = ef_store_permit (self->store);
  work->path = g_strdup (path);
  work->passphrase = g_strdup (ef_field_text (self->passphrase));
  work->new_passphrase = g_strdup (ef_field_text (self->new_passphrase));
  work->reason = g_strdup (ef_field_text (self->reason));
  work->lost = gtk_check_button_get_active (GTK_CHECK_BUTTON (self->lost));
  self->busy = TRUE;
  say (self, "", FALSE);
  gtk_spinner_start (GTK_SPINNER (self->spinner));
  refresh (self);
  task = g_task_new (NULL, NULL, done_cb, g_object_ref (self));
  g_task_set_task_data (task, g_steal_pointer (&work), work_free);
  g_task_run_in_thread (task, work_thread);
}

gboolean
ef_key_window_busy (EfKeyWindow *self)
{
  return self->busy;
}

void
ef_key_window_export (EfKeyWindow *self,
                      const char *path)
{
  begin (self, EXPORT, path);
}

void
ef_key_window_restore (EfKeyWindow *self,
                       const char *path)
{
  begin (self, RESTORE, path);
}

static void
passphrase_cb (EfKeyWindow *self)
{
  begin (self, SET_PASSPHRASE, NULL);
}

static void
new_key_cb (EfKeyWindow *self)
{
  begin (self, NEW_KEY, NULL);
}

static void
chosen_cb (GtkWidget *owner,
           const char *path,
           gpointer task)
{
  begin (EF_KEY_WINDOW (owner), (KeyTask) GPOINTER_TO_INT (task), path);
}

static void
choose_file (EfKeyWindow *self,
             KeyTask task)
{
  const EfAskPath keep = { .title = _ ("Keep the key in a file"), .accept = _ ("_Keep"), .action = GTK_FILE_CHOOSER_ACTION_SAVE, .name = "sealing-key.json" };
  const EfAskPath put_back = { .title = _ ("Put a kept key back"), .accept = _ ("_Open") };

  ef_ask_path (GTK_WIDGET (self), task == EXPORT ? &keep : &put_back, chosen_cb, GINT_TO_POINTER ((int) task), NULL);
}

static void
export_cb (EfKeyWindow *self)
{
  choose_file (self, EXPORT);
}

static void
restore_cb (EfKeyWindow *self)
{
  if (check_fields (self, RESTORE))
    choose_file (self, RESTORE);
}

static void
ef_key_window_dispose (GObject *object)
{
  EF_KEY_WINDOW (object)->store = NULL;
  G_OBJECT_CLASS (ef_key_window_parent_class)->dispose (object);
}

static void
ef_key_window_class_init (EfKeyWindowClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_key_window_dispose;
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static GtkWidget *
make_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

static EfField *
make_secret (const char *label)
{
  EfField *field = EF_FIELD (ef_field_new (label));
  GtkWidget *entry = ef_field_entry (field);

  gtk_entry_set_visibility (GTK_ENTRY (entry), FALSE);
  gtk_entry_set_input_purpose (GTK_ENTRY (entry), GTK_INPUT_PURPOSE_PASSWORD);
  return field;
}

static void
add_button (EfKeyWindow *self,
            GtkWidget *box,
            const char *label,
            GCallback callback)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_halign (button, GTK_ALIGN_START);
  g_signal_connect_swapped (button, "clicked", callback, self);
  gtk_box_append (GTK_BOX (box), button);
}

static GtkWidget *
make_fields (EfKeyWindow *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  GtkWidget *files = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);

  self->who = EF_WHO_FIELDS (ef_who_fields_new ());
  self->passphrase = make_secret (_ ("Passphrase of the key"));
  self->new_passphrase = make_secret (_ ("New passphrase"));
  self->again = make_secret (_ ("New passphrase again"));
  self->reason = EF_FIELD (ef_field_new (_ ("Reason for a new key")));
  self->lost = gtk_check_button_new_with_label (_ ("The old key or its passphrase is lost: the chain of seals gets a break, which whoever verifies is told"));
  gtk_label_set_wrap (GTK_LABEL (gtk_widget_get_last_child (self->lost)), TRUE);
  gtk_widget_add_css_class (self->lost, "ef-touch");
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (self->who));
  gtk_box_append (GTK_BOX (box), make_label (_ ("Keep it elsewhere"), "title-4"));
  gtk_box_append (GTK_BOX (box), make_label (_ ("The file holds the locked key. To put it back, type its passphrase first."), "dim-label"));
  add_button (self, files, _ ("Keep in a File…"), G_CALLBACK (export_cb));
  add_button (self, files, _ ("Put Back from a File…"), G_CALLBACK (restore_cb));
  gtk_box_append (GTK_BOX (box), files);
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (self->passphrase));
  gtk_box_append (GTK_BOX (box), make_label (_ ("Another passphrase, or a new key"), "title-4"));
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (self->new_passphrase));
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (self->again));
  add_button (self, box, _ ("Change the Passphrase"), G_CALLBACK (passphrase_cb));
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (self->reason));
  gtk_box_append (GTK_BOX (box), self->lost);
  add_button (self, box, _ ("Make a New Key"), G_CALLBACK (new_key_cb));
  return box;
}

static void
ef_key_window_init (EfKeyWindow *self)
{
  GtkWidget *column = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);

  self->public_key = make_label ("", "monospace");
  gtk_label_set_selectable (GTK_LABEL (self->public_key), TRUE);
  self->state = make_label ("", "heading");
  gtk_widget_set_visible (self->state, FALSE);
  self->spinner = gtk_spinner_new ();
  self->fields = make_fields (self);
  gtk_box_append (GTK_BOX (column), make_label (_ ("Public key"), "title-4"));
  gtk_box_append (GTK_BOX (column), self->public_key);
  gtk_box_append (GTK_BOX (column), make_label (_ ("Print it and hang it up: against it a seal is verified. Nobody can tell a lost passphrase again."), "dim-label"));
  gtk_box_append (GTK_BOX (column), self->state);
  gtk_box_append (GTK_BOX (column), self->spinner);
  gtk_box_append (GTK_BOX (column), self->fields);
  ef_list_window_dress (ADW_WINDOW (self), _ ("Sealing Key"), column, 640, NULL, 680, 700);
}

EfKeyWindow *
ef_key_window_show (GtkWidget *parent,
                    EfStore *store)
{
  EfKeyWindow *self = g_object_new (EF_TYPE_KEY_WINDOW, NULL);

  self->store = store;
  ef_who_fields_set_store (self->who, store);
  ef_who_fields_prefer (self->who, EF_ACT_KEY);
  refresh (self);
  gtk_window_set_transient_for (GTK_WINDOW (self), GTK_WINDOW (gtk_widget_get_root (parent)));
  gtk_window_present (GTK_WINDOW (self));
  /* Not on the public key, all of it selected. */
  if (gtk_widget_get_visible (self->fields))
    gtk_widget_grab_focus (GTK_WIDGET (self->passphrase));
  gtk_label_select_region (GTK_LABEL (self->public_key), 0, 0);
  return self;
}
