/* A number pad for hands that hold a part.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The keys never take the focus, so the field stays entered and what it holds selected; the keyboard has no need of them.
 */
#include "config.h"

#include "ef-number-pad.h"
#include "ef-look.h"

#include <glib/gi18n.h>

struct _EfNumberPad
{
  GtkWidget parent_instance;

  GtkWidget *grid;
  GtkEntry *target;
};

G_DEFINE_FINAL_TYPE (EfNumberPad, ef_number_pad, GTK_TYPE_WIDGET)

static const struct
{
  const char *key, *label, *name;
  int column, row, width;
} keys[] = {
  { "7", "7", NULL, 0, 0, 1 },
  { "8", "8", NULL, 1, 0, 1 },
  { "9", "9", NULL, 2, 0, 1 },
  { "4", "4", NULL, 0, 1, 1 },
  { "5", "5", NULL, 1, 1, 1 },
  { "6", "6", NULL, 2, 1, 1 },
  { "1", "1", NULL, 0, 2, 1 },
  { "2", "2", NULL, 1, 2, 1 },
  { "3", "3", NULL, 2, 2, 1 },
  { "0", "0", NULL, 0, 3, 1 },
  { ".", ".", N_("Decimal point"), 1, 3, 1 },
  { "back", "⌫", N_("Delete the last digit"), 2, 3, 1 },
  { "enter", N_("Enter"), NULL, 0, 4, 3 },
};

static void
type_text (GtkEditable *editable,
           const char *text)
{
  int position;

  gtk_editable_delete_selection (editable);
  position = gtk_editable_get_position (editable);
  gtk_editable_insert_text (editable, text, -1, &position);
  gtk_editable_set_position (editable, position);
}

static void
type_back (GtkEditable *editable)
{
  int position;

  if (gtk_editable_get_selection_bounds (editable, NULL, NULL))
    {
      gtk_editable_delete_selection (editable);
      return;
    }
  position = gtk_editable_get_position (editable);
  if (position > 0)
    gtk_editable_delete_text (editable, position - 1, position);
}

void
ef_number_pad_press (EfNumberPad *self,
                     const char *key)
{
  GtkEditable *editable = GTK_EDITABLE (self->target);

  if (editable == NULL || !gtk_widget_is_sensitive (GTK_WIDGET (editable)))
    return;
  if (g_str_equal (key, "enter"))
    {
      g_signal_emit_by_name (editable, "activate");
      return;
    }
  if (!gtk_widget_has_focus (GTK_WIDGET (gtk_editable_get_delegate (editable))))
    gtk_widget_grab_focus (GTK_WIDGET (editable));
  if (g_str_equal (key, "back"))
    type_back (editable);
  else
    type_text (editable, key);
}

static void
clicked_cb (GtkButton *button,
            EfNumberPad *self)
{
  ef_number_pad_press (self, g_object_get_data (G_OBJECT (button), "key"));
}

static void
ef_number_pad_dispose (GObject *object)
{
  EfNumberPad *self = EF_NUMBER_PAD (object);

  g_clear_weak_pointer (&self->target);
  g_clear_pointer (&self->grid, gtk_widget_unparent);
  G_OBJECT_CLASS (ef_number_pad_parent_class)->dispose (object);
}

static void
ef_number_pad_class_init (EfNumberPadClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_number_pad_dispose;
  gtk_widget_class_set_layout_manager_type (widget_class, GTK_TYPE_BIN_LAYOUT);
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_GROUP);
  gtk_widget_class_set_css_name (widget_class, "numberpad");
}

static void
ef_number_pad_init (EfNumberPad *self)
{
  guint i;

  self->grid = gtk_grid_new ();
  gtk_grid_set_row_spacing (GTK_GRID (self->grid), 4);
  gtk_grid_set_column_spacing (GTK_GRID (self->grid), 4);
  gtk_grid_set_row_homogeneous (GTK_GRID (self->grid), TRUE);
  gtk_grid_set_column_homogeneous (GTK_GRID (self->grid), TRUE);
  gtk_widget_set_parent (self->grid, GTK_WIDGET (self));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, _("Number pad"), -1);

  for (i = 0; i < G_N_ELEMENTS (keys); i++)
    {
      GtkWidget *button = gtk_button_new_with_label (_(keys[i].label));

      gtk_widget_set_size_request (button, EF_TARGET + 4, EF_TARGET);
      gtk_widget_set_focus_on_click (button, FALSE);
      gtk_widget_set_focusable (button, FALSE);
      gtk_widget_add_css_class (button, "numeric");
      if (keys[i].name != NULL)
        {
          gtk_widget_set_tooltip_text (button, _(keys[i].name));
          gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, _(keys[i].name), -1);
        }
      if (g_str_equal (keys[i].key, "enter"))
        gtk_widget_add_css_class (button, "suggested-action");
      g_object_set_data (G_OBJECT (button), "key", (gpointer) keys[i].key);
      g_signal_connect (button, "clicked", G_CALLBACK (clicked_cb), self);
      gtk_grid_attach (GTK_GRID (self->grid), button, keys[i].column, keys[i].row, keys[i].width, 1);
    }
}

GtkWidget *
ef_number_pad_new (void)
{
  return g_object_new (EF_TYPE_NUMBER_PAD, NULL);
}

void
ef_number_pad_set_target (EfNumberPad *self,
                          GtkEntry *entry)
{
  g_set_weak_pointer (&self->target, entry);
}

GtkEntry *
ef_number_pad_target (EfNumberPad *self)
{
  return self->target;
}
