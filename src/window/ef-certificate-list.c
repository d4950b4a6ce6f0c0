/* The certificates of a gauge in its form.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-certificate-list.h"

#include "../metrology/ef-certificate.h"
#include "../photo/ef-certificate-file.h"

#include <glib/gi18n.h>
#include <glib/gstdio.h>

struct _EfCertificateList
{
  GtkBox parent_instance;

  GtkWidget *list, *attach, *working, *message;
  EfStore *store;
  GPtrArray *certificates; /* NULL none */
  GHashTable *attached;    /* digest → bytes (GBytes) of those that aren't in the store yet */
  GCancellable *cancellable;
  guint n_working;
};

static guint kept_signal;

G_DEFINE_FINAL_TYPE (EfCertificateList, ef_certificate_list, GTK_TYPE_BOX)

static void fill (EfCertificateList *self);

static void
tell (EfCertificateList *self,
      const char *text)
{
  gtk_label_set_label (GTK_LABEL (self->message), text != NULL ? text : "");
  gtk_widget_set_visible (self->message, text != NULL);
}

/* --- Work off the main thread: a store belongs to one thread, so it's opened once more -------------------------------------------- */

typedef struct
{
  char *store, *digest, *path;
  GFile *file;
  GBytes *bytes;           /* of @file when it's read; of @digest where the store doesn't have it yet */
  GPtrArray *certificates; /* to be kept, with their bytes in @attached */
  GHashTable *attached;
  gboolean show; /* open @path when it's written */
} Work;

static void
work_free (gpointer data)
{
  Work *work = data;

  g_free (work->store);
  g_free (work->digest);
  g_free (work->path);
  g_clear_object (&work->file);
  g_clear_pointer (&work->bytes, g_bytes_unref);
  g_clear_pointer (&work->certificates, g_ptr_array_unref);
  g_clear_pointer (&work->attached, g_hash_table_unref);
  g_free (work);
}

static void
count_work (EfCertificateList *self,
            int step)
{
  self->n_working += step;
  gtk_spinner_set_spinning (GTK_SPINNER (self->working), self->n_working > 0);
  gtk_widget_set_visible (self->working, self->n_working > 0);
}

static void
attach_thread (GTask *task,
               gpointer source,
               gpointer task_data,
               GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;
  EfCertificate *certificate = ef_certificate_read (work->file, &work->bytes, cancellable, &error);

  if (certificate != NULL)
    g_task_return_pointer (task, certificate, (GDestroyNotify) ef_certificate_free);
  else
    g_task_return_error (task, error);
}

static gboolean
is_in_store (EfCertificateList *self,
             const char *digest)
{
  g_autoptr (EfFileRow) row = ef_store_file_info (self->store, digest, NULL);

  return row != NULL;
}

static void
take (EfCertificateList *self,
      EfCertificate *certificate,
      GBytes *bytes)
{
  const EfCertificate *there = ef_certificates_find (self->certificates, certificate->file);
  g_autofree char *text = NULL;

  if (there != NULL)
    text = g_strdup_printf (_ ("%s: the gauge has this file already, as %s"), certificate->name, there->name);
  else if (ef_certificates_length (self->certificates) >= EF_GAUGE_MOST_CERTIFICATES)
    text = g_strdup_printf (_ ("%s: a gauge has at most %d certificates; remove one first"), certificate->name, EF_GAUGE_MOST_CERTIFICATES);
  if (text == NULL)
    {
      if (!is_in_store (self, certificate->file))
        g_hash_table_insert (self->attached, g_strdup (certificate->file), g_bytes_ref (bytes));
      self->certificates = ef_certificates_add (self->certificates, certificate);
    }
  else
    ef_certificate_free (certificate);
  tell (self, text);
  fill (self);
}

static void
attached_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  EfCertificateList *self = EF_CERTIFICATE_LIST (source);
  const Work *work = g_task_get_task_data (G_TASK (result));
  g_autoptr (GError) error = NULL;
  EfCertificate *certificate = g_task_propagate_pointer (G_TASK (result), &error);

  count_work (self, -1);
  if (certificate != NULL)
    take (self, certificate, work->bytes);
  else if (!g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED))
    tell (self, error->message);
}

static void
start (EfCertificateList *self,
       Work *work,
       GTaskThreadFunc thread,
       GAsyncReadyCallback done)
{
  g_autoptr (GTask) task = g_task_new (self, self->cancellable, done, NULL);

  work->store = g_strdup (ef_store_path (self->store));
  tell (self, NULL);
  count_work (self, 1);
  g_task_set_task_data (task, work, work_free);
  g_task_set_check_cancellable (task, FALSE);
  g_task_run_in_thread (task, thread);
}

void
ef_certificate_list_attach (EfCertificateList *self,
                            GFile *file)
{
  Work *work;

  g_return_if_fail (EF_IS_CERTIFICATE_LIST (self) && self->store != NULL);
  work = g_new0 (Work, 1);
  work->file = g_object_ref (file);
  start (self, work, attach_thread, attached_cb);
}

static void
keep_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  const Work *work = task_data;
  GError *error = NULL;
  g_autoptr (EfStore) store = ef_store_open (work->store, &error);

  for (guint i = 0; error == NULL && i < work->certificates->len; i++)
    {
      const EfCertificate *one = work->certificates->pdata[i];

      ef_certificate_keep (store, one, g_hash_table_lookup (work->attached, one->file), cancellable, &error);
    }
  if (error == NULL)
    g_task_return_boolean (task, TRUE);
  else
    g_task_return_error (task, error);
}

static void
kept_cb (GObject *source,
         GAsyncResult *result,
         gpointer user_data)
{
  EfCertificateList *self = EF_CERTIFICATE_LIST (source);
  const Work *work = g_task_get_task_data (G_TASK (result));
  g_autoptr (GError) error = NULL;

  count_work (self, -1);
  if (g_task_propagate_boolean (G_TASK (result), &error))
    {
      for (guint i = 0; i < work->certificates->len; i++)
        g_hash_table_remove (self->attached, ((const EfCertificate *) work->certificates->pdata[i])->file);
      g_signal_emit (self, kept_signal, 0);
    }
  else if (!g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED))
    tell (self, error->message);
}

gboolean
ef_certificate_list_keep (EfCertificateList *self)
{
  GPtrArray *certificates = NULL;
  Work *work;

  g_return_val_if_fail (EF_IS_CERTIFICATE_LIST (self), FALSE);
  for (guint i = 0; i < ef_certificates_length (self->certificates); i++)
    {
      const EfCertificate *one = self->certificates->pdata[i];

      if (g_hash_table_contains (self->attached, one->file))
        certificates = ef_certificates_add (certificates, ef_certificate_new (one->file, one->name, one->type));
    }
  if (certificates == NULL)
    return TRUE;
  work = g_new0 (Work, 1);
  work->certificates = certificates;
  work->attached = g_hash_table_new_full (g_str_hash, g_str_equal, NULL, (GDestroyNotify) g_bytes_unref);
  for (guint i = 0; i < certificates->len; i++)
    {
      const EfCertificate *one = certificates->pdata[i];

      g_hash_table_insert (work->attached, one->file, g_bytes_ref (g_hash_table_lookup (self->attached, one->file)));
    }
  start (self, work, keep_thread, kept_cb);

  return FALSE;
}

/* Opened and read only where the bytes aren't at hand. */
static GBytes *
bytes_of (const Work *work,
          GCancellable *cancellable,
          GError **error)
{
  g_autoptr (EfStore) store = NULL;

  if (work->bytes != NULL)
    return g_bytes_ref (work->bytes);
  store = ef_store_open (work->store, error);

  return store != NULL ? ef_store_read_file (store, work->digest, cancellable, error) : NULL;
}

static void
save_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  const Work *work = task_data;
  GError *error = NULL;
  g_autoptr (GBytes) bytes = bytes_of (work, cancellable, &error);
  gconstpointer data;
  gsize length;

  if (bytes != NULL)
    {
      data = g_bytes_get_data (bytes, &length);
      if (g_file_set_contents_full (work->path, data, (gssize) length, G_FILE_SET_CONTENTS_CONSISTENT, 0600, &error))
        {
          g_task_return_boolean (task, TRUE);
          return;
        }
    }
  g_task_return_error (task, error);
}

static void
saved_cb (GObject *source,
          GAsyncResult *result,
          gpointer user_data)
{
  EfCertificateList *self = EF_CERTIFICATE_LIST (source);
  const Work *work = g_task_get_task_data (G_TASK (result));
  g_autoptr (GError) error = NULL;
  GtkRoot *root = gtk_widget_get_root (GTK_WIDGET (self));

  count_work (self, -1);
  if (!g_task_propagate_boolean (G_TASK (result), &error))
    {
      if (!g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED))
        tell (self, error->message);
    }
  else if (work->show)
    {
      g_autofree char *uri = g_filename_to_uri (work->path, NULL, NULL);

      gtk_show_uri (GTK_IS_WINDOW (root) ? GTK_WINDOW (root) : NULL, uri, GDK_CURRENT_TIME);
    }
}

static void
write_to (EfCertificateList *self,
          const char *digest,
          const char *path,
          gboolean show)
{
  Work *work = g_new0 (Work, 1);
  GBytes *bytes = g_hash_table_lookup (self->attached, digest);

  work->digest = g_strdup (digest);
  work->bytes = bytes != NULL ? g_bytes_ref (bytes) : NULL;
  work->path = g_strdup (path);
  work->show = show;
  start (self, work, save_thread, saved_cb);
}

void
ef_certificate_list_save (EfCertificateList *self,
                          const char *digest,
                          const char *path)
{
  g_return_if_fail (EF_IS_CERTIFICATE_LIST (self) && self->store != NULL);
  write_to (self, digest, path, FALSE);
}

/* --- What the buttons do ----------------------------------------------------------------------------------------------------------- */

static const EfCertificate *
certificate_of (EfCertificateList *self,
                GtkWidget *button)
{
  return ef_certificates_find (self->certificates, g_object_get_data (G_OBJECT (button), "ef-certificate"));
}

/* A copy for this session, in a folder of the user's own, called by its digest: names come from elsewhere. */
static void
open_cb (EfCertificateList *self,
         GtkWidget *button)
{
  const EfCertificate *one = certificate_of (self, button);
  g_autofree char *folder = g_build_filename (g_get_user_runtime_dir (), "endfloat", NULL);
  g_autofree char *name = NULL;
  g_autofree char *path = NULL;

  if (one == NULL)
    return;
  name = g_strdup_printf ("certificate-%.12s%s", one->file, ef_certificate_ending (one->type));
  path = g_build_filename (folder, name, NULL);
  g_mkdir_with_parents (folder, 0700);
  write_to (self, one->file, path, TRUE);
}

typedef struct
{
  EfCertificateList *self;
  char *digest;
} Ask;

static Ask *
ask_new (EfCertificateList *self,
         const char *digest)
{
  Ask *ask = g_new0 (Ask, 1);

  ask->self = g_object_ref (self);
  ask->digest = g_strdup (digest);

  return ask;
}

static void
ask_free (Ask *ask)
{
  g_object_unref (ask->self);
  g_free (ask->digest);
  g_free (ask);
}

static GtkFileChooserNative *
new_dialog (EfCertificateList *self,
            const char *title,
            GtkFileChooserAction action,
            const char *accept)
{
  GtkRoot *root = gtk_widget_get_root (GTK_WIDGET (self));
  GtkFileChooserNative *dialog = gtk_file_chooser_native_new (title, GTK_IS_WINDOW (root) ? GTK_WINDOW (root) : NULL, action, accept, _ ("_Cancel"));

  gtk_native_dialog_set_modal (GTK_NATIVE_DIALOG (dialog), TRUE);

  return dialog;
}

static void
save_response_cb (GtkNativeDialog *dialog,
                  int response,
                  gpointer user_data)
{
  Ask *ask = user_data;
  g_autoptr (GFile) file = response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_file (GTK_FILE_CHOOSER (dialog)) : NULL;
  const char *path = file != NULL ? g_file_peek_path (file) : NULL;

  if (path != NULL)
    ef_certificate_list_save (ask->self, ask->digest, path);
  ask_free (ask);
  g_object_unref (dialog);
}

static void
save_cb (EfCertificateList *self,
         GtkWidget *button)
{
  const EfCertificate *one = certificate_of (self, button);
  GtkFileChooserNative *dialog;
  g_autofree char *name = NULL;

  if (one == NULL)
    return;
  name = g_strdelimit (g_strdup (one->name), "/\\:", '-');
  dialog = new_dialog (self, _ ("Save a copy of the certificate"), GTK_FILE_CHOOSER_ACTION_SAVE, _ ("_Save"));
  gtk_file_chooser_set_current_name (GTK_FILE_CHOOSER (dialog), name);
  g_signal_connect (dialog, "response", G_CALLBACK (save_response_cb), ask_new (self, one->file));
  gtk_native_dialog_show (GTK_NATIVE_DIALOG (dialog));
}

static void
attach_response_cb (GtkNativeDialog *dialog,
                    int response,
                    gpointer user_data)
{
  Ask *ask = user_data;
  g_autoptr (GListModel) files = response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_files (GTK_FILE_CHOOSER (dialog)) : NULL;

  for (guint i = 0; files != NULL && i < g_list_model_get_n_items (files); i++)
    {
      g_autoptr (GFile) file = g_list_model_get_item (files, i);

      ef_certificate_list_attach (ask->self, file);
    }
  ask_free (ask);
  g_object_unref (dialog);
}

static void
attach_cb (EfCertificateList *self)
{
  GtkFileChooserNative *dialog = new_dialog (self, _ ("Attach certificate"), GTK_FILE_CHOOSER_ACTION_OPEN, _ ("_Attach"));
  g_autoptr (GtkFileFilter) filter = gtk_file_filter_new ();

  gtk_file_filter_set_name (filter, _ ("Certificates (PDF, JPEG, PNG)"));
  for (guint i = 0; ef_certificate_types[i] != NULL; i++)
    gtk_file_filter_add_mime_type (filter, ef_certificate_types[i]);
  gtk_file_chooser_add_filter (GTK_FILE_CHOOSER (dialog), filter);
  gtk_file_chooser_set_select_multiple (GTK_FILE_CHOOSER (dialog), TRUE);
  g_signal_connect (dialog, "response", G_CALLBACK (attach_response_cb), ask_new (self, NULL));
  gtk_native_dialog_show (GTK_NATIVE_DIALOG (dialog));
}

static void
remove_cb (EfCertificateList *self,
           GtkWidget *button)
{
  const EfCertificate *one = certificate_of (self, button);

  if (one == NULL)
    return;
  g_hash_table_remove (self->attached, one->file);
  g_ptr_array_remove (self->certificates, (gpointer) one);
  tell (self, NULL);
  fill (self);
  gtk_widget_grab_focus (self->attach);
}

/* --- Rows -------------------------------------------------------------------------------------------------------------------------- */

static char *
describe (EfCertificateList *self,
          const EfCertificate *one,
          gboolean *there_out)
{
  static const char *const kinds[] = { "PDF", "JPEG", "PNG" };
  GBytes *bytes = g_hash_table_lookup (self->attached, one->file);
  g_autoptr (EfFileRow) row = self->store != NULL && bytes == NULL ? ef_store_file_info (self->store, one->file, NULL) : NULL;
  g_autofree char *size = bytes != NULL ? g_format_size (g_bytes_get_size (bytes)) : row != NULL ? g_format_size ((guint64) row->size) : NULL;
  const char *kind = "";

  for (guint i = 0; i < G_N_ELEMENTS (kinds); i++)
    if (g_strcmp0 (one->type, ef_certificate_types[i]) == 0)
      kind = kinds[i];
  *there_out = size != NULL;
  if (size != NULL)
    return g_strdup_printf ("%s, %s", kind, size);

  return g_strdup_printf (_ ("%s; the file isn't in this store. Attach it again to have it"), kind);
}

static void
add_button (EfCertificateList *self,
            GtkWidget *row,
            const EfCertificate *one,
            const char *icon,
            const char *tip,
            gboolean sensitive,
            GCallback callback)
{
  GtkWidget *button = gtk_button_new_from_icon_name (icon);
  g_autofree char *label = g_strdup_printf ("%s: %s", tip, one->name);

  gtk_widget_set_tooltip_text (button, tip);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (button, "flat");
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_sensitive (button, sensitive);
  g_object_set_data_full (G_OBJECT (button), "ef-certificate", g_strdup (one->file), g_free);
  g_signal_connect_object (button, "clicked", callback, self, G_CONNECT_SWAPPED);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), button);
}

static GtkWidget *
make_row (EfCertificateList *self,
          const EfCertificate *one)
{
  gboolean there;
  g_autofree char *text = describe (self, one, &there);
  GtkWidget *row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", one->name, "subtitle", text, "activatable", FALSE, NULL);

  adw_action_row_set_title_lines (ADW_ACTION_ROW (row), 2);
  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
  gtk_widget_set_tooltip_text (row, one->name);
  add_button (self, row, one, "document-open-symbolic", _ ("Open"), there, G_CALLBACK (open_cb));
  add_button (self, row, one, "document-save-symbolic", _ ("Save a copy…"), there, G_CALLBACK (save_cb));
  add_button (self, row, one, "user-trash-symbolic", _ ("Remove"), TRUE, G_CALLBACK (remove_cb));

  return row;
}

static void
fill (EfCertificateList *self)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (self->list), child);
  for (guint i = 0; i < ef_certificates_length (self->certificates); i++)
    gtk_list_box_append (GTK_LIST_BOX (self->list), make_row (self, self->certificates->pdata[i]));
  gtk_widget_set_visible (self->list, ef_certificates_length (self->certificates) > 0);
  gtk_widget_set_sensitive (self->attach, ef_certificates_length (self->certificates) < EF_GAUGE_MOST_CERTIFICATES);
}

/* The form is closed: a worker holds the list a while longer. */
static void
ef_certificate_list_unroot (GtkWidget *widget)
{
  g_cancellable_cancel (EF_CERTIFICATE_LIST (widget)->cancellable);
  GTK_WIDGET_CLASS (ef_certificate_list_parent_class)->unroot (widget);
}

static void
ef_certificate_list_dispose (GObject *object)
{
  EfCertificateList *self = EF_CERTIFICATE_LIST (object);

  g_clear_object (&self->cancellable);
  g_clear_pointer (&self->attached, g_hash_table_unref);
  g_clear_pointer (&self->certificates, g_ptr_array_unref);
  G_OBJECT_CLASS (ef_certificate_list_parent_class)->dispose (object);
}

static void
ef_certificate_list_class_init (EfCertificateListClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_certificate_list_dispose;
  GTK_WIDGET_CLASS (klass)->unroot = ef_certificate_list_unroot;
  kept_signal = g_signal_new ("kept", EF_TYPE_CERTIFICATE_LIST, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_certificate_list_init (EfCertificateList *self)
{
  GtkWidget *title = g_object_new (GTK_TYPE_LABEL, "label", _ ("Certificate files"), "xalign", 0.0f, NULL);
  GtkWidget *bottom = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 6);
  self->cancellable = g_cancellable_new ();
  self->attached = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) g_bytes_unref);
  gtk_widget_add_css_class (title, "caption-heading");
  self->list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  gtk_widget_add_css_class (self->list, "boxed-list");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->list), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Certificate files"), -1);
  self->message = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, "visible", FALSE, NULL);
  gtk_widget_add_css_class (self->message, "error");
  self->attach = gtk_button_new_with_label (_ ("Attach Certificate…"));
  gtk_widget_add_css_class (self->attach, "ef-touch");
  gtk_widget_set_tooltip_text (self->attach, _ ("PDF, JPEG or PNG, at most 40 MB a file"));
  self->working = g_object_new (GTK_TYPE_SPINNER, "visible", FALSE, NULL);
  gtk_box_append (GTK_BOX (bottom), self->attach);
  gtk_box_append (GTK_BOX (bottom), self->working);
  gtk_box_append (GTK_BOX (self), title);
  gtk_box_append (GTK_BOX (self), self->list);
  gtk_box_append (GTK_BOX (self), self->message);
  gtk_box_append (GTK_BOX (self), bottom);
  g_signal_connect_swapped (self->attach, "clicked", G_CALLBACK (attach_cb), self);
}

GtkWidget *
ef_certificate_list_new (EfStore *store)
{
  EfCertificateList *self = g_object_new (EF_TYPE_CERTIFICATE_LIST, NULL);

  self->store = store;
  gtk_widget_set_visible (self->attach, store != NULL && !ef_store_read_only (store));
  fill (self);

  return GTK_WIDGET (self);
}

void
ef_certificate_list_set (EfCertificateList *self,
                         const GPtrArray *certificates)
{
  GPtrArray *copy = ef_certificates_copy (certificates);

  g_clear_pointer (&self->certificates, g_ptr_array_unref);
  self->certificates = copy;
  fill (self);
}

GPtrArray *
ef_certificate_list_get (EfCertificateList *self)
{
  return ef_certificates_copy (self->certificates);
}

gboolean
ef_certificate_list_busy (EfCertificateList *self)
{
  return self->n_working > 0;
}
