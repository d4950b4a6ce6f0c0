/* The work in a worker; the answer as a headline, figures, and a list of places.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-verify-window.h"
#include "ef-ask-path.h"
#include "ef-field.h"

#include "../record/ef-seal-key.h"
#include "../record/ef-verify.h"

#include <glib/gi18n.h>

/* More rows than anybody reads make the list slow. */
#define FINDINGS_SHOWN 200

static const char *const suffixes[] = { "pdf", "zip", "json", "endfloat", NULL };

struct _EfVerifyWindow
{
  AdwWindow parent_instance;

  char *path;
  GtkWidget *icon, *title, *words, *busy, *progress, *stop, *list, *key_words, *again, *again_box, *header_title;
  EfField *key;
  GCancellable *cancellable;
  double share; /* guarded by the lock */
  GMutex lock;
  guint ticker;
};

G_DEFINE_FINAL_TYPE (EfVerifyWindow, ef_verify_window, ADW_TYPE_WINDOW)

typedef struct
{
  EfVerifyWindow *window; /* held by the task's callback */
  char *path, *key;
} Work;

static void
work_free (gpointer data)
{
  Work *work = data;

  g_free (work->path);
  g_free (work->key);
  g_free (work);
}

static void
progress_cb (double share,
             gpointer user_data)
{
  EfVerifyWindow *self = user_data;

  g_mutex_lock (&self->lock);
  self->share = share;
  g_mutex_unlock (&self->lock);
}

static void
verify_thread (GTask *task,
               gpointer source,
               gpointer task_data,
               GCancellable *cancellable)
{
  Work *work = task_data;
  const EfVerifyOptions options = { .key = work->key };
  GError *error = NULL;
  EfVerification *verification = ef_verify (work->path, &options, progress_cb, work->window, cancellable, &error);

  if (verification != NULL)
    g_task_return_pointer (task, verification, (GDestroyNotify) ef_verification_free);
  else
    g_task_return_error (task, error);
}

static gboolean
tick_cb (gpointer user_data)
{
  EfVerifyWindow *self = user_data;
  double share;

  g_mutex_lock (&self->lock);
  share = self->share;
  g_mutex_unlock (&self->lock);
  gtk_progress_bar_set_fraction (GTK_PROGRESS_BAR (self->progress), share);

  return G_SOURCE_CONTINUE;
}

static void
show_head (EfVerifyWindow *self,
           const char *icon,
           const char *css_class,
           const char *title,
           const char *words)
{
  gtk_image_set_from_icon_name (GTK_IMAGE (self->icon), icon);
  gtk_widget_remove_css_class (self->icon, "success");
  gtk_widget_remove_css_class (self->icon, "error");
  if (css_class != NULL)
    gtk_widget_add_css_class (self->icon, css_class);
  gtk_label_set_label (GTK_LABEL (self->title), title);
  gtk_label_set_label (GTK_LABEL (self->words), words);
}

static void
add_row (EfVerifyWindow *self,
         const EfVerifyFinding *finding)
{
  g_autoptr (GString) title = g_string_new (NULL);
  gboolean broken = finding->level == EF_VERIFY_BROKEN;
  GtkWidget *row, *icon;

  if (finding->job != NULL)
    g_string_append_printf (title, _ ("Job %s"), finding->job);
  if (finding->seal > 0)
    g_string_append_printf (title, title->len > 0 ? _ (", seal %" G_GINT64_FORMAT) : _ ("Seal %" G_GINT64_FORMAT), finding->seal);
  g_string_append_printf (title, "%s%s", title->len > 0 ? ": " : "", finding->place);
  row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", title->str, "subtitle", finding->sentence, NULL);
  adw_action_row_set_title_lines (ADW_ACTION_ROW (row), 0);
  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
  icon = gtk_image_new_from_icon_name (broken ? "dialog-warning-symbolic" : "dialog-information-symbolic");
  gtk_widget_add_css_class (icon, broken ? "error" : "dim-label");
  adw_action_row_add_prefix (ADW_ACTION_ROW (row), icon);
  gtk_list_box_append (GTK_LIST_BOX (self->list), row);
}

static void
clear_list (EfVerifyWindow *self)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (self->list), child);
}

static void
show_result (EfVerifyWindow *self,
             const EfVerification *result)
{
  g_autoptr (GString) words = g_string_new (NULL);
  g_autoptr (GString) keys = g_string_new (NULL);

  if (result->store)
    g_string_append_printf (words, _ ("Seals: %" G_GINT64_FORMAT ", entries in the chain: %" G_GINT64_FORMAT ". Jobs sealed: %" G_GINT64_FORMAT
                                      "; with a revision open: %" G_GINT64_FORMAT "; never sealed, not covered: %" G_GINT64_FORMAT "."),
                            result->n_seals, result->n_entries, result->n_jobs, result->n_open, result->n_never);
  for (guint i = 0; i < result->keys->len; i++)
    g_string_append_printf (keys, "%s%s", i > 0 ? "\n" : "", (const char *) result->keys->pdata[i]);
  if (result->n_seals == 0)
    show_head (self, "dialog-information-symbolic", NULL, _ ("Nothing is sealed"), words->str);
  else if (result->holds)
    show_head (self, "channel-secure-symbolic", "success", _ ("Every seal holds"), words->str);
  else
    show_head (self, "channel-insecure-symbolic", "error", _ ("Something was changed"), words->str);
  gtk_label_set_label (GTK_LABEL (self->key_words), keys->str);
  gtk_widget_set_visible (gtk_widget_get_parent (self->key_words), keys->len > 0);
  clear_list (self);
  for (guint i = 0; i < MIN (result->findings->len, FINDINGS_SHOWN); i++)
    add_row (self, result->findings->pdata[i]);
  gtk_widget_set_visible (self->list, result->findings->len > 0);
}

/* What can't be pressed meanwhile doesn't look as if it could. */
static void
show_busy (EfVerifyWindow *self,
           gboolean busy)
{
  gtk_widget_set_visible (self->busy, busy);
  gtk_widget_set_sensitive (self->stop, TRUE);
  gtk_widget_set_sensitive (self->again_box, !busy);
  gtk_widget_grab_focus (busy ? self->stop : self->again);
}

static void
stop_cb (EfVerifyWindow *self)
{
  if (self->cancellable == NULL)
    return;
  g_cancellable_cancel (self->cancellable);
  gtk_widget_set_sensitive (self->stop, FALSE);
  gtk_label_set_label (GTK_LABEL (self->title), _ ("Stopping…"));
}

static void
verified_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  g_autoptr (EfVerifyWindow) self = user_data;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfVerification) verification = g_task_propagate_pointer (G_TASK (result), &error);

  g_clear_handle_id (&self->ticker, g_source_remove);
  g_clear_object (&self->cancellable);
  if (self->progress == NULL)
    return;
  show_busy (self, FALSE);
  if (verification != NULL)
    show_result (self, verification);
  else if (g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED))
    show_head (self, "dialog-information-symbolic", NULL, _ ("Stopped before the end"), _ ("Nothing can be said about the seals: not all of them were worked out."));
  else
    show_head (self, "dialog-warning-symbolic", "error", _ ("It can't be verified"), error->message);
}

static void
begin (EfVerifyWindow *self)
{
  g_autoptr (GTask) task = NULL;
  g_autofree char *key = g_ascii_strdown (ef_field_text (self->key), -1);
  Work *work;

  if (self->cancellable != NULL)
    return;
  g_strstrip (key);
  ef_field_set_message (self->key, NULL);
  if (*key != '\0' && !ef_seal_public_key_valid (key))
    {
      ef_field_set_message (self->key, _ ("A public key has 64 digits, 0 to 9 and a to f."));
      return;
    }
  work = g_new0 (Work, 1);
  work->window = self;
  work->path = g_strdup (self->path);
  work->key = *key != '\0' ? g_strdup (key) : NULL;
  self->cancellable = g_cancellable_new ();
  self->share = 0;
  gtk_progress_bar_set_fraction (GTK_PROGRESS_BAR (self->progress), 0);
  show_busy (self, TRUE);
  self->ticker = g_timeout_add (100, tick_cb, self);
  show_head (self, "system-search-symbolic", NULL, _ ("Verifying…"), _ ("Every seal is worked out anew and held against each sealed job."));
  clear_list (self);
  gtk_widget_set_visible (self->list, FALSE);
  gtk_widget_set_visible (gtk_widget_get_parent (self->key_words), FALSE);
  task = g_task_new (NULL, self->cancellable, verified_cb, g_object_ref (self));
  g_task_set_check_cancellable (task, FALSE);
  g_task_set_task_data (task, work, work_free);
  g_task_run_in_thread (task, verify_thread);
}

static void
show_name (EfVerifyWindow *self)
{
  g_autofree char *name = g_path_get_basename (self->path);
  g_autofree char *shown = g_filename_display_name (name);

  adw_window_title_set_subtitle (ADW_WINDOW_TITLE (self->header_title), shown);
}

void
ef_verify_window_verify (EfVerifyWindow *self,
                         const char *path)
{
  if (self->cancellable != NULL)
    return;
  g_free (self->path);
  self->path = g_strdup (path);
  show_name (self);
  begin (self);
}

static void
chosen_cb (GtkWidget *owner,
           const char *path,
           gpointer data)
{
  ef_verify_window_verify (EF_VERIFY_WINDOW (owner), path);
}

static void
choose_cb (EfVerifyWindow *self)
{
  const EfAskPath ask = { .title = _ ("Verify a file"), .accept = _ ("_Verify"), .kind = _ ("Reports, claim packs, exchange files, stores"),
                          .endings = suffixes, .or_all = TRUE };

  ef_ask_path (GTK_WIDGET (self), &ask, chosen_cb, NULL, NULL);
}

static gboolean
close_request (GtkWindow *window)
{
  EfVerifyWindow *self = EF_VERIFY_WINDOW (window);

  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_handle_id (&self->ticker, g_source_remove);

  return GTK_WINDOW_CLASS (ef_verify_window_parent_class)->close_request (window);
}

static void
ef_verify_window_dispose (GObject *object)
{
  EfVerifyWindow *self = EF_VERIFY_WINDOW (object);

  g_clear_handle_id (&self->ticker, g_source_remove);
  self->progress = NULL;
  G_OBJECT_CLASS (ef_verify_window_parent_class)->dispose (object);
}

static void
ef_verify_window_finalize (GObject *object)
{
  EfVerifyWindow *self = EF_VERIFY_WINDOW (object);

  g_clear_object (&self->cancellable);
  g_mutex_clear (&self->lock);
  g_free (self->path);
  G_OBJECT_CLASS (ef_verify_window_parent_class)->finalize (object);
}

static void
ef_verify_window_class_init (EfVerifyWindowClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_verify_window_dispose;
  G_OBJECT_CLASS (klass)->finalize = ef_verify_window_finalize;
  GTK_WINDOW_CLASS (klass)->close_request = close_request;
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

/* How far it is, and the way out of it. */
static GtkWidget *
make_busy (EfVerifyWindow *self)
{
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "spacing", 12, NULL);

  self->progress = g_object_new (GTK_TYPE_PROGRESS_BAR, "hexpand", TRUE, "valign", GTK_ALIGN_CENTER, NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->progress), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Verified so far"), -1);
  self->stop = gtk_button_new_with_mnemonic (_ ("_Stop"));
  gtk_widget_add_css_class (self->stop, "ef-touch");
  g_signal_connect_swapped (self->stop, "clicked", G_CALLBACK (stop_cb), self);
  gtk_box_append (GTK_BOX (box), self->progress);
  gtk_box_append (GTK_BOX (box), self->stop);

  return box;
}

static GtkWidget *
make_head (EfVerifyWindow *self)
{
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "spacing", 12, NULL);
  GtkWidget *texts = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 6, "hexpand", TRUE, NULL);

  self->icon = g_object_new (GTK_TYPE_IMAGE, "pixel-size", 48, "valign", GTK_ALIGN_START, NULL);
  self->title = make_label ("", "title-2");
  self->words = make_label ("", NULL);
  self->busy = make_busy (self);
  gtk_box_append (GTK_BOX (texts), self->title);
  gtk_box_append (GTK_BOX (texts), self->words);
  gtk_box_append (GTK_BOX (texts), self->busy);
  gtk_box_append (GTK_BOX (box), self->icon);
  gtk_box_append (GTK_BOX (box), texts);

  return box;
}

static GtkWidget *
make_keys (EfVerifyWindow *self)
{
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 6, NULL);

  gtk_box_append (GTK_BOX (box), make_label (_ ("Public keys it was sealed with; compare them with the ones on paper:"), "dim-label"));
  self->key_words = make_label ("", "monospace");
  gtk_label_set_selectable (GTK_LABEL (self->key_words), TRUE);
  gtk_box_append (GTK_BOX (box), self->key_words);

  return box;
}

static GtkWidget *
make_again (EfVerifyWindow *self)
{
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 12, NULL);
  GtkWidget *button = gtk_button_new_with_label (_ ("Verify Again"));
  GtkWidget *other = gtk_button_new_with_label (_ ("Verify Another File…"));
  GtkWidget *row = g_object_new (GTK_TYPE_BOX, "spacing", 12, NULL);

  self->key = EF_FIELD (ef_field_new (_ ("Public key that is known from elsewhere")));
  g_object_set (self->key, "placeholder", _ ("64 digits, as a report shows them; may be left empty"), NULL);
  g_signal_connect_swapped (self->key, "committed", G_CALLBACK (begin), self);
  self->again = button;
  self->again_box = box;
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_add_css_class (other, "ef-touch");
  g_signal_connect_swapped (button, "clicked", G_CALLBACK (begin), self);
  g_signal_connect_swapped (other, "clicked", G_CALLBACK (choose_cb), self);
  gtk_box_append (GTK_BOX (row), button);
  gtk_box_append (GTK_BOX (row), other);
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (self->key));
  gtk_box_append (GTK_BOX (box), row);

  return box;
}

static void
ef_verify_window_init (EfVerifyWindow *self)
{
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE, NULL);
  GtkWidget *column = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 18, "margin-start", 18, "margin-end", 18,
                                    "margin-top", 18, "margin-bottom", 18, NULL);
  GtkWidget *header = adw_header_bar_new ();

  g_mutex_init (&self->lock);
  self->header_title = adw_window_title_new (_ ("Verify"), NULL);
  adw_header_bar_set_title_widget (ADW_HEADER_BAR (header), self->header_title);
  self->list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  gtk_widget_add_css_class (self->list, "boxed-list");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->list), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("What was found"), -1);
  gtk_box_append (GTK_BOX (column), make_head (self));
  gtk_box_append (GTK_BOX (column), self->list);
  gtk_box_append (GTK_BOX (column), make_keys (self));
  gtk_box_append (GTK_BOX (column), make_again (self));
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), column);
  gtk_box_append (GTK_BOX (content), header);
  gtk_box_append (GTK_BOX (content), scrolled);
  adw_window_set_content (ADW_WINDOW (self), content);
  gtk_window_set_title (GTK_WINDOW (self), _ ("Verify"));
  gtk_window_set_default_size (GTK_WINDOW (self), 700, 620);
}

EfVerifyWindow *
ef_verify_window_show (GtkWidget *parent,
                       const char *path)
{
  EfVerifyWindow *self = g_object_new (EF_TYPE_VERIFY_WINDOW, NULL);
  GtkRoot *root = gtk_widget_get_root (parent);

  self->path = g_strdup (path);
  if (GTK_IS_WINDOW (root))
    gtk_window_set_transient_for (GTK_WINDOW (self), GTK_WINDOW (root));
  show_name (self);
  begin (self);
  gtk_window_present (GTK_WINDOW (self));

  return self;
}

gboolean
ef_verify_window_busy (EfVerifyWindow *self)
{
  return self->cancellable != NULL;
}
