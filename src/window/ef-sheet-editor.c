/* The text of a pump sheet, checked while it is written.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-sheet-editor.h"
#include "ef-who-ask.h"
#include "ef-json-place.h"
#include "ef-sheets.h"

#include "../judge/ef-judge.h"

#include <glib/gi18n.h>

#define CHECK_DELAY_MS 250

struct _EfSheetEditor
{
  AdwWindow parent_instance;

  GtkTextView *text;
  GtkImage *icon;
  GtkLabel *message;
  GtkButton *go;
  GtkButton *save;

  EfStore *store; /* borrowed */
  char *own_id;   /* may be kept: the sheet is edited in place; NULL for a copy */
  guint check_source;
  GtkTextTag *bad;
  EfPumpSheet *valid; /* of the text as it stands; NULL while it isn't one */
  gboolean changed;
};

static guint saved_signal;

G_DEFINE_FINAL_TYPE (EfSheetEditor, ef_sheet_editor, ADW_TYPE_WINDOW)

static char *
get_text (EfSheetEditor *self)
{
  GtkTextBuffer *buffer = gtk_text_view_get_buffer (self->text);
  GtkTextIter start, end;

  gtk_text_buffer_get_bounds (buffer, &start, &end);
  return gtk_text_buffer_get_text (buffer, &start, &end, FALSE);
}

static gboolean
id_taken (EfStore *store,
          const char *id,
          const char *own_id)
{
  g_autoptr (GPtrArray) sheets = ef_sheets_all (store, NULL);
  guint i;

  if (g_strcmp0 (id, own_id) == 0)
    return FALSE;
  for (i = 0; i < sheets->len; i++)
    {
      const EfSheetEntry *entry = g_ptr_array_index (sheets, i);

      if (g_strcmp0 (entry->sheet->id, id) == 0)
        return TRUE;
    }
  return FALSE;
}

char *
ef_sheet_copy_text (const EfPumpSheet *sheet,
                    EfStore *store)
{
  g_autofree char *id = NULL;
  gsize start, end;
  int i;

  for (i = 2; id == NULL || id_taken (store, id, NULL); i++)
    {
      g_free (id);
      id = g_strdup_printf ("%s-%d", sheet->id, i);
    }
  if (!ef_json_place (sheet->json, "$.id", &start, &end))
    return g_strdup (sheet->json);
  return g_strdup_printf ("%.*s\"%s\"%s", (int) start, sheet->json, id, sheet->json + end);
}

/* Underlines what the message speaks of. */
static void
mark_place (EfSheetEditor *self,
            const char *text,
            const char *message)
{
  GtkTextBuffer *buffer = gtk_text_view_get_buffer (self->text);
  g_autofree char *path = NULL;
  guint line;
  gsize from, to;
  GtkTextIter start, end;

  ef_json_message_place (message, &path, &line);
  if (path != NULL && ef_json_place (text, path, &from, &to))
    {
      gtk_text_buffer_get_iter_at_offset (buffer, &start, g_utf8_strlen (text, from));
      gtk_text_buffer_get_iter_at_offset (buffer, &end, g_utf8_strlen (text, to));
    }
  else if (line > 0)
    {
      gtk_text_buffer_get_iter_at_line (buffer, &start, line - 1);
      end = start;
      gtk_text_iter_forward_to_line_end (&end);
    }
  else
    return;
  gtk_text_buffer_apply_tag (buffer, self->bad, &start, &end);
  gtk_text_buffer_move_mark_by_name (buffer, "bad", &start);
}

static void
show_state (EfSheetEditor *self,
            const char *message)
{
  gboolean bad = message != NULL;

  gtk_label_set_label (self->message, bad ? message : _ ("This pump sheet is sound: its geometry can exist."));
  gtk_image_set_from_icon_name (self->icon, bad ? "dialog-warning-symbolic" : "object-select-symbolic");
  gtk_widget_set_visible (GTK_WIDGET (self->go), bad);
  gtk_widget_set_sensitive (GTK_WIDGET (self->save), !bad);
}

static gboolean
check (gpointer user_data)
{
  EfSheetEditor *self = user_data;
  GtkTextBuffer *buffer = gtk_text_view_get_buffer (self->text);
  g_autofree char *text = get_text (self);
  g_autoptr (GError) error = NULL;
  GtkTextIter start, end;

  self->check_source = 0;
  gtk_text_buffer_get_bounds (buffer, &start, &end);
  gtk_text_buffer_remove_tag (buffer, self->bad, &start, &end);
  gtk_text_buffer_move_mark_by_name (buffer, "bad", &start);
  g_clear_pointer (&self->valid, ef_pump_sheet_unref);
  self->valid = ef_pump_sheet_parse (text, _ ("pump sheet"), &error);
  if (self->valid != NULL && !ef_rule_set_check_sheet (self->valid, &error))
    g_clear_pointer (&self->valid, ef_pump_sheet_unref);
  if (self->valid != NULL && id_taken (self->store, self->valid->id, self->own_id))
    {
      g_set_error (&error, EF_ERROR, EF_ERROR_INVALID, "%s: $.id: expected an id that no other pump sheet has, found \"%s\"",
                   _ ("pump sheet"), self->valid->id);
      g_clear_pointer (&self->valid, ef_pump_sheet_unref);
    }
  if (error != NULL)
    mark_place (self, text, error->message);
  show_state (self, error != NULL ? error->message : NULL);
  return G_SOURCE_REMOVE;
}

static void
changed_cb (EfSheetEditor *self)
{
  self->changed = TRUE;
  gtk_widget_set_sensitive (GTK_WIDGET (self->save), FALSE);
  g_clear_handle_id (&self->check_source, g_source_remove);
  self->check_source = g_timeout_add (CHECK_DELAY_MS, check, self);
}

static void
go_cb (EfSheetEditor *self)
{
  GtkTextBuffer *buffer = gtk_text_view_get_buffer (self->text);
  GtkTextIter iter;

  gtk_text_buffer_get_iter_at_mark (buffer, &iter, gtk_text_buffer_get_mark (buffer, "bad"));
  gtk_text_buffer_place_cursor (buffer, &iter);
  gtk_text_view_scroll_to_iter (self->text, &iter, 0.1, FALSE, 0, 0);
  gtk_widget_grab_focus (GTK_WIDGET (self->text));
}

static gboolean
save (gpointer owner,
      const char *role,
      const char *reason)
{
  EfSheetEditor *self = owner;
  g_autoptr (GError) error = NULL;

  if (self->valid == NULL)
    return TRUE;
  if (!ef_store_put_sheet (self->store, self->valid, &error))
    {
      show_state (self, error->message);
      return TRUE;
    }
  self->changed = FALSE;
  g_signal_emit (self, saved_signal, 0, self->valid->id);
  gtk_window_close (GTK_WINDOW (self));
  return TRUE;
}

static void
save_cb (EfSheetEditor *self)
{
  if (self->check_source != 0)
    {
      g_source_remove (self->check_source);
      check (self);
    }
  if (self->valid != NULL)
    ef_who_ask (GTK_WIDGET (self), self->store, EF_ACT_SHEETS, _ ("Save the Pump Sheet"), _ ("_Save"), NULL, save, G_OBJECT (self));
}

static void
discard_cb (EfSheetEditor *self,
            const char *response)
{
  if (g_str_equal (response, "discard"))
    gtk_window_destroy (GTK_WINDOW (self));
}

static gboolean
ef_sheet_editor_close_request (GtkWindow *window)
{
  EfSheetEditor *self = EF_SHEET_EDITOR (window);
  GtkWidget *dialog;

  if (!self->changed)
    return GTK_WINDOW_CLASS (ef_sheet_editor_parent_class)->close_request (window);
  dialog = adw_message_dialog_new (window, _ ("Discard what was written?"), _ ("The pump sheet has not been saved in the store."));
  adw_message_dialog_add_responses (ADW_MESSAGE_DIALOG (dialog), "keep", _ ("_Keep Editing"), "discard", _ ("_Discard"), NULL);
  adw_message_dialog_set_response_appearance (ADW_MESSAGE_DIALOG (dialog), "discard", ADW_RESPONSE_DESTRUCTIVE);
  adw_message_dialog_set_default_response (ADW_MESSAGE_DIALOG (dialog), "keep");
  adw_message_dialog_set_close_response (ADW_MESSAGE_DIALOG (dialog), "keep");
  g_signal_connect_object (dialog, "response", G_CALLBACK (discard_cb), self, G_CONNECT_SWAPPED);
  gtk_window_present (GTK_WINDOW (dialog));
  return TRUE;
}

static void
ef_sheet_editor_dispose (GObject *object)
{
  EfSheetEditor *self = EF_SHEET_EDITOR (object);

  g_clear_handle_id (&self->check_source, g_source_remove);
  g_clear_pointer (&self->valid, ef_pump_sheet_unref);
  g_clear_pointer (&self->own_id, g_free);
  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_SHEET_EDITOR);
  G_OBJECT_CLASS (ef_sheet_editor_parent_class)->dispose (object);
}

static void
ef_sheet_editor_class_init (EfSheetEditorClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_sheet_editor_dispose;
  GTK_WINDOW_CLASS (klass)->close_request = ef_sheet_editor_close_request;
  saved_signal = g_signal_new ("saved", EF_TYPE_SHEET_EDITOR, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/sheet-editor.ui");
  gtk_widget_class_bind_template_child (widget_class, EfSheetEditor, text);
  gtk_widget_class_bind_template_child (widget_class, EfSheetEditor, icon);
  gtk_widget_class_bind_template_child (widget_class, EfSheetEditor, message);
  gtk_widget_class_bind_template_child (widget_class, EfSheetEditor, go);
  gtk_widget_class_bind_template_child (widget_class, EfSheetEditor, save);
  gtk_widget_class_bind_template_callback (widget_class, go_cb);
  gtk_widget_class_bind_template_callback (widget_class, save_cb);
  gtk_widget_class_add_binding_action (widget_class, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
ef_sheet_editor_init (EfSheetEditor *self)
{
  GtkTextBuffer *buffer;
  GtkTextIter start;

  gtk_widget_init_template (GTK_WIDGET (self));
  buffer = gtk_text_view_get_buffer (self->text);
  self->bad = gtk_text_buffer_create_tag (buffer, NULL, "underline", PANGO_UNDERLINE_ERROR, NULL);
  gtk_text_buffer_get_start_iter (buffer, &start);
  gtk_text_buffer_create_mark (buffer, "bad", &start, TRUE);
}

EfSheetEditor *
ef_sheet_editor_show (GtkWindow *parent,
                      EfStore *store,
                      const EfPumpSheet *sheet,
                      gboolean own)
{
  EfSheetEditor *self = g_object_new (EF_TYPE_SHEET_EDITOR, "transient-for", parent, NULL);
  GtkTextBuffer *buffer = gtk_text_view_get_buffer (self->text);
  g_autofree char *text = own ? g_strdup (sheet->json) : ef_sheet_copy_text (sheet, store);
  GtkTextIter start;

  self->store = store;
  self->own_id = own ? g_strdup (sheet->id) : NULL;
  gtk_text_buffer_begin_irreversible_action (buffer);
  gtk_text_buffer_set_text (buffer, text, -1);
  gtk_text_buffer_end_irreversible_action (buffer);
  gtk_text_buffer_get_start_iter (buffer, &start);
  gtk_text_buffer_place_cursor (buffer, &start);
  g_signal_connect_swapped (buffer, "changed", G_CALLBACK (changed_cb), self);
  check (self);
  gtk_window_present (GTK_WINDOW (self));
  gtk_widget_grab_focus (GTK_WIDGET (self->text));
  return self;
}
