/* The nodes of the selected mark as numbers.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-node-table.h"
#include "ef-look.h"
#include "ef-mark-edit.h"
#include "ef-place-text.h"
#include "ef-settings.h"

#include <glib/gi18n.h>
#include <math.h>

#define MOST_ROWS 50 /* a freehand area has many: beyond, they are moved on the face */

typedef struct
{
  GtkWidget *box;
  GtkWidget *entries[3];
  GtkWidget *message;
  char *shown[3];
} Row;

struct _EfNodeTable
{
  GtkWidget parent_instance;

  EfSession *session;
  EfFaceCanvas *canvas;
  GtkWidget *box;
  GtkWidget *rest; /* how many more there are */
  GPtrArray *rows; /* Row * */
  char *mark_id;
  gboolean showing;
};

G_DEFINE_FINAL_TYPE (EfNodeTable, ef_node_table, GTK_TYPE_WIDGET)

static void
row_free (gpointer data)
{
  Row *row = data;
  int k;

  for (k = 0; k < 3; k++)
    g_free (row->shown[k]);
  g_free (row);
}

static void
set_message (Row *row,
             GtkWidget *entry,
             const char *message)
{
  gtk_widget_set_visible (row->message, message != NULL);
  gtk_label_set_label (GTK_LABEL (row->message), message != NULL ? message : "");
  if (entry == NULL)
    return;
  if (message != NULL)
    gtk_widget_add_css_class (entry, "error");
  else
    gtk_widget_remove_css_class (entry, "error");
  gtk_accessible_update_state (GTK_ACCESSIBLE (entry), GTK_ACCESSIBLE_STATE_INVALID,
                               message != NULL ? GTK_ACCESSIBLE_INVALID_TRUE : GTK_ACCESSIBLE_INVALID_FALSE, -1);
}

static gboolean
read_depth (const char *text,
            double *depth,
            EfUnit *unit,
            GError **error)
{
  g_autofree char *clean = g_strstrip (g_strdup (text));

  *depth = NAN;
  if (clean[0] == '\0')
    return TRUE;
  if (!ef_parse_length (clean, ef_settings_length_unit (), depth, unit, error))
    return FALSE;
  if (*depth < 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, _("A depth is measured from the face downwards: 0 or more"));
      return FALSE;
    }
  return TRUE;
}

static gboolean
change_node (EfMark *mark,
             guint at,
             int column,
             const char *text,
             GError **error)
{
  const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, at);
  const EfMarkDepth *old = ef_mark_edit_node_depth (mark, at);
  EfUnit unit = ef_settings_length_unit ();
  double value;

  if (column == 2)
    {
      const char *gauge = old != NULL ? old->gauge_id : mark->depths->len > 0 ? g_array_index (mark->depths, EfMarkDepth, 0).gauge_id
                                                                             : NULL;

      if (!read_depth (text, &value, &unit, error))
        return FALSE;
      ef_mark_edit_set_node_depth (mark, at, value, unit, gauge);
      return TRUE;
    }
  if (!ef_parse_length (text, unit, &value, NULL, error))
    return FALSE;
  ef_mark_edit_move_node (mark, at, column == 0 ? value : node->u, column == 1 ? value : node->v);
  return TRUE;
}

static void
commit (EfNodeTable *self,
        guint at,
        int column)
{
  EfMark *before = (EfMark *) ef_face_canvas_selected (self->canvas);
  Row *row = g_ptr_array_index (self->rows, at);
  const char *text = gtk_editable_get_text (GTK_EDITABLE (row->entries[column]));
  g_autoptr (EfItem) after = NULL;
  g_autoptr (GError) error = NULL;
  EfChange *change;

  if (before == NULL || g_strcmp0 (before->item.id, self->mark_id) != 0 || at >= before->nodes->len
      || g_strcmp0 (text, row->shown[column]) == 0)
    return;
  after = ef_item_copy (before);
  if (!change_node ((EfMark *) after, at, column, text, &error) || !ef_mark_check ((EfMark *) after, &error))
    {
      set_message (row, row->entries[column], error->message);
      return;
    }
  set_message (row, row->entries[column], NULL);
  g_free (row->shown[column]);
  row->shown[column] = NULL;
  change = ef_change_new (column == 2 ? _("Set a depth") : _("Move a node"));
  ef_change_add (change, before, after);
  ef_session_apply (self->session, change);
  ef_node_table_show (self, ef_face_canvas_selected (self->canvas));
}

static guint
place_of (GObject *object,
          int *column)
{
  guint code = GPOINTER_TO_UINT (g_object_get_data (object, "place"));

  *column = (int) (code % 4);
  return code / 4;
}

static void
activate_cb (GtkEntry *entry,
             EfNodeTable *self)
{
  int column;
  guint at = place_of (G_OBJECT (entry), &column);

  commit (self, at, column);
}

static void
leave_cb (GtkEventControllerFocus *focus,
          EfNodeTable *self)
{
  int column;
  guint at = place_of (G_OBJECT (gtk_event_controller_get_widget (GTK_EVENT_CONTROLLER (focus))), &column);

  if (!self->showing && at < self->rows->len)
    commit (self, at, column);
}

static void
enter_cb (GtkEventControllerFocus *focus,
          EfNodeTable *self)
{
  int column;
  guint at = place_of (G_OBJECT (gtk_event_controller_get_widget (GTK_EVENT_CONTROLLER (focus))), &column);

  if (!self->showing && ef_face_canvas_selected (self->canvas) != NULL)
    ef_face_canvas_set_node (self->canvas, (int) at);
}

static void
remove_cb (GtkButton *button,
           EfNodeTable *self)
{
  int column;
  guint at = place_of (G_OBJECT (button), &column);

  ef_face_canvas_set_node (self->canvas, (int) at);
  ef_face_canvas_delete (self->canvas);
}

static GtkWidget *
make_entry (EfNodeTable *self,
            guint at,
            int column)
{
  static const char *const names[] = { "x", "y", N_("depth") };
  GtkWidget *entry = gtk_entry_new ();
  GtkEventController *focus = gtk_event_controller_focus_new ();
  g_autofree char *label = g_strdup_printf (_("Node %u, %s"), at + 1, _(names[column]));

  gtk_editable_set_width_chars (GTK_EDITABLE (entry), 6);
  gtk_editable_set_max_width_chars (GTK_EDITABLE (entry), 9);
  gtk_widget_set_hexpand (entry, TRUE);
  gtk_widget_add_css_class (entry, "numeric");
  gtk_widget_set_size_request (entry, -1, EF_TARGET);
  if (column == 2)
    gtk_entry_set_placeholder_text (GTK_ENTRY (entry), "–");
  gtk_accessible_update_property (GTK_ACCESSIBLE (entry), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  g_object_set_data (G_OBJECT (entry), "place", GUINT_TO_POINTER (at * 4 + column));
  g_signal_connect (entry, "activate", G_CALLBACK (activate_cb), self);
  g_signal_connect (focus, "leave", G_CALLBACK (leave_cb), self);
  g_signal_connect (focus, "enter", G_CALLBACK (enter_cb), self);
  gtk_widget_add_controller (entry, focus);
  return entry;
}

static void
add_row (EfNodeTable *self,
         guint at)
{
  Row *row = g_new0 (Row, 1);
  GtkWidget *line = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 4);
  g_autofree char *text = g_strdup_printf ("%u", at + 1);
  GtkWidget *number = gtk_label_new (text);
  GtkWidget *remove = gtk_button_new_from_icon_name ("edit-delete-symbolic");
  int k;

  row->box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  gtk_label_set_width_chars (GTK_LABEL (number), 2);
  gtk_widget_add_css_class (number, "dim-label");
  gtk_box_append (GTK_BOX (line), number);
  for (k = 0; k < 3; k++)
    {
      row->entries[k] = make_entry (self, at, k);
      gtk_box_append (GTK_BOX (line), row->entries[k]);
    }
  gtk_widget_set_size_request (remove, EF_TARGET, EF_TARGET);
  gtk_widget_add_css_class (remove, "flat");
  gtk_widget_set_tooltip_text (remove, _("Delete this node"));
  g_object_set_data (G_OBJECT (remove), "place", GUINT_TO_POINTER (at * 4 + 3));
  g_signal_connect (remove, "clicked", G_CALLBACK (remove_cb), self);
  gtk_box_append (GTK_BOX (line), remove);
  row->message = g_object_new (GTK_TYPE_LABEL, "visible", FALSE, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (row->message, "error");
  gtk_widget_add_css_class (row->message, "caption");
  gtk_box_append (GTK_BOX (row->box), line);
  gtk_box_append (GTK_BOX (row->box), row->message);
  gtk_box_append (GTK_BOX (self->box), row->box);
  g_ptr_array_add (self->rows, row);
}

static void
drop_rows (EfNodeTable *self,
           guint keep)
{
  while (self->rows->len > keep)
    {
      Row *row = g_ptr_array_index (self->rows, self->rows->len - 1);

      gtk_box_remove (GTK_BOX (self->box), row->box);
      g_ptr_array_set_size (self->rows, self->rows->len - 1);
    }
}

static void
show_text (Row *row,
           int column,
           char *text,
           gboolean keep)
{
  const char *now = gtk_editable_get_text (GTK_EDITABLE (row->entries[column]));

  /* What is being typed, or could not be read, stays. */
  if (keep && row->shown[column] != NULL && g_strcmp0 (now, row->shown[column]) != 0)
    {
      g_free (text);
      return;
    }
  if (g_strcmp0 (now, text) != 0)
    gtk_editable_set_text (GTK_EDITABLE (row->entries[column]), text);
  g_free (row->shown[column]);
  row->shown[column] = text;
  set_message (row, row->entries[column], NULL);
}

void
ef_node_table_show (EfNodeTable *self,
                    const EfMark *mark)
{
  gboolean keep = mark != NULL && g_strcmp0 (mark->item.id, self->mark_id) == 0;
  gboolean read_only = ef_session_read_only (self->session);
  EfUnit unit = ef_settings_length_unit ();
  guint n = mark != NULL ? MIN (mark->nodes->len, MOST_ROWS) : 0, i;
  int k;

  self->showing = TRUE;
  drop_rows (self, n);
  while (self->rows->len < n)
    add_row (self, self->rows->len);
  for (i = 0; i < n; i++)
    {
      Row *row = g_ptr_array_index (self->rows, i);
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);
      const EfMarkDepth *depth = ef_mark_edit_node_depth (mark, i);

      show_text (row, 0, ef_format_exact (node->u, unit), keep);
      show_text (row, 1, ef_format_exact (node->v, unit), keep);
      show_text (row, 2, depth != NULL ? ef_format_exact (depth->depth, depth->unit) : g_strdup (""), keep);
      for (k = 0; k < 3; k++)
        gtk_editable_set_editable (GTK_EDITABLE (row->entries[k]), !read_only);
    }
  gtk_widget_set_visible (self->rest, mark != NULL && mark->nodes->len > MOST_ROWS);
  if (mark != NULL && mark->nodes->len > MOST_ROWS)
    {
      g_autofree char *text = g_strdup_printf (_("%u more nodes: move them on the face"), mark->nodes->len - MOST_ROWS);

      gtk_label_set_label (GTK_LABEL (self->rest), text);
    }
  g_free (self->mark_id);
  self->mark_id = mark != NULL ? g_strdup (mark->item.id) : NULL;
  self->showing = FALSE;
}

GtkEntry *
ef_node_table_entry (EfNodeTable *self,
                     guint row,
                     guint column)
{
  if (row >= self->rows->len || column > 2)
    return NULL;
  return GTK_ENTRY (((Row *) g_ptr_array_index (self->rows, row))->entries[column]);
}

const char *
ef_node_table_message (EfNodeTable *self,
                       guint row)
{
  GtkWidget *message;

  if (row >= self->rows->len)
    return NULL;
  message = ((Row *) g_ptr_array_index (self->rows, row))->message;
  return gtk_widget_get_visible (message) ? gtk_label_get_label (GTK_LABEL (message)) : NULL;
}

static void
ef_node_table_dispose (GObject *object)
{
  EfNodeTable *self = EF_NODE_TABLE (object);

  self->showing = TRUE;
  g_clear_pointer (&self->box, gtk_widget_unparent);
  g_clear_pointer (&self->rows, g_ptr_array_unref);
  g_clear_pointer (&self->mark_id, g_free);
  g_clear_object (&self->session);
  g_clear_weak_pointer (&self->canvas);
  G_OBJECT_CLASS (ef_node_table_parent_class)->dispose (object);
}

static void
ef_node_table_class_init (EfNodeTableClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_node_table_dispose;
  gtk_widget_class_set_layout_manager_type (GTK_WIDGET_CLASS (klass), GTK_TYPE_BIN_LAYOUT);
}

static void
ef_node_table_init (EfNodeTable *self)
{
  self->rows = g_ptr_array_new_with_free_func (row_free);
  self->box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 4);
  self->rest = g_object_new (GTK_TYPE_LABEL, "visible", FALSE, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (self->rest, "dim-label");
  gtk_widget_set_parent (self->box, GTK_WIDGET (self));
  gtk_box_append (GTK_BOX (self->box), self->rest);
}

GtkWidget *
ef_node_table_new (EfSession *session,
                   EfFaceCanvas *canvas)
{
  EfNodeTable *self = g_object_new (EF_TYPE_NODE_TABLE, NULL);

  self->session = g_object_ref (session);
  g_set_weak_pointer (&self->canvas, canvas);
  return GTK_WIDGET (self);
}
