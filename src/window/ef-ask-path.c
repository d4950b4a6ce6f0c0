/* The file dialog, from being shown to what was chosen.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-ask-path.h"

#include <adwaita.h>
#include <glib/gi18n.h>

typedef struct
{
  GtkFileChooserNative *dialog;
  GtkWidget *owner; /* weak */
  EfPathChosen path_chosen;
  EfFilesChosen files_chosen;
  gpointer data;
  GDestroyNotify data_free;
} Asking;

static void
asking_free (Asking *asking)
{
  if (asking->data_free != NULL)
    asking->data_free (asking->data);
  g_free (asking);
}

static void
close_dialog (Asking *asking)
{
  g_signal_handlers_disconnect_by_data (asking->dialog, asking);
  gtk_native_dialog_destroy (GTK_NATIVE_DIALOG (asking->dialog));
  g_clear_object (&asking->dialog);
}

static void
owner_gone_cb (gpointer data,
               GObject *owner)
{
  close_dialog (data);
  asking_free (data);
}

static GtkWindow *
window_of (GtkWidget *widget)
{
  GtkRoot *root = gtk_widget_get_root (widget);

  return GTK_IS_WINDOW (root) ? GTK_WINDOW (root) : NULL;
}

static void
refuse_place (GtkWidget *owner,
              GFile *file)
{
  g_autofree char *name = g_file_get_parse_name (file);
  GtkWidget *dialog = adw_message_dialog_new (window_of (owner), _ ("Not on This Machine"), NULL);

  adw_message_dialog_format_body (ADW_MESSAGE_DIALOG (dialog), _ ("Expected a place on this machine, found “%s”. Choose another one."), name);
  adw_message_dialog_add_response (ADW_MESSAGE_DIALOG (dialog), "close", _ ("_Close"));
  gtk_window_present (GTK_WINDOW (dialog));
}

static void
hand_over (const Asking *asking,
           GtkWidget *owner,
           GListModel *files)
{
  g_autoptr (GFile) file = g_list_model_get_item (files, 0);
  g_autofree char *path = file != NULL ? g_file_get_path (file) : NULL;

  if (asking->files_chosen != NULL && file != NULL)
    asking->files_chosen (owner, files, asking->data);
  else if (path != NULL)
    asking->path_chosen (owner, path, asking->data);
  else if (file != NULL)
    refuse_place (owner, file);
}

static void
response_cb (GtkNativeDialog *dialog,
             int response,
             Asking *asking)
{
  g_autoptr (GtkWidget) owner = g_object_ref (asking->owner);
  g_autoptr (GListModel) files = response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_files (GTK_FILE_CHOOSER (dialog)) : NULL;

  /* What is done with the files may close the owner. */
  g_object_weak_unref (G_OBJECT (owner), owner_gone_cb, asking);
  close_dialog (asking);
  if (files != NULL)
    hand_over (asking, owner, files);
  asking_free (asking);
}

static void
add_filters (GtkFileChooser *chooser,
             const EfAskPath *ask)
{
  g_autoptr (GtkFileFilter) kind = NULL;
  g_autoptr (GtkFileFilter) all = NULL;

  if (ask->kind == NULL)
    return;
  kind = gtk_file_filter_new ();
  gtk_file_filter_set_name (kind, ask->kind);
  for (guint i = 0; ask->endings[i] != NULL; i++)
    gtk_file_filter_add_suffix (kind, ask->endings[i]);
  gtk_file_chooser_add_filter (chooser, kind);
  if (!ask->or_all)
    return;
  all = gtk_file_filter_new ();
  gtk_file_filter_set_name (all, _ ("All files"));
  gtk_file_filter_add_pattern (all, "*");
  gtk_file_chooser_add_filter (chooser, all);
}

static void
show (Asking *asking,
      GtkWidget *owner,
      const EfAskPath *ask)
{
  GtkFileChooser *chooser;

  asking->dialog = gtk_file_chooser_native_new (ask->title, window_of (owner), ask->action, ask->accept, _ ("_Cancel"));
  asking->owner = owner;
  g_object_weak_ref (G_OBJECT (owner), owner_gone_cb, asking);
  chooser = GTK_FILE_CHOOSER (asking->dialog);
  if (ask->name != NULL)
    gtk_file_chooser_set_current_name (chooser, ask->name);
  gtk_file_chooser_set_select_multiple (chooser, asking->files_chosen != NULL);
  add_filters (chooser, ask);
  gtk_native_dialog_set_modal (GTK_NATIVE_DIALOG (asking->dialog), TRUE);
  g_signal_connect (asking->dialog, "response", G_CALLBACK (response_cb), asking);
  gtk_native_dialog_show (GTK_NATIVE_DIALOG (asking->dialog));
}

void
ef_ask_path (GtkWidget *owner,
             const EfAskPath *ask,
             EfPathChosen chosen,
             gpointer data,
             GDestroyNotify data_free)
{
  Asking *asking = g_new0 (Asking, 1);

  asking->path_chosen = chosen;
  asking->data = data;
  asking->data_free = data_free;
  show (asking, owner, ask);
}

void
ef_ask_files (GtkWidget *owner,
              const EfAskPath *ask,
              EfFilesChosen chosen,
              gpointer data,
              GDestroyNotify data_free)
{
  Asking *asking = g_new0 (Asking, 1);

  asking->files_chosen = chosen;
  asking->data = data;
  asking->data_free = data_free;
  show (asking, owner, ask);
}
