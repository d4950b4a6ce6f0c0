/* The kinds of wear as drawn glyphs with words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-kind-picker.h"
#include "ef-kind-window.h"
#include "ef-look.h"

#include <glib/gi18n.h>

struct _EfKindPicker
{
  GtkWidget parent_instance;

  GtkWidget *column, *box;
  GtkWidget *buttons[EF_N_MARK_KINDS];
  EfMarkKind kind;
  gboolean setting;
};

enum
{
  PICKED,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfKindPicker, ef_kind_picker, GTK_TYPE_WIDGET)

static void
draw_glyph (GtkDrawingArea *area,
            cairo_t *cr,
            int width,
            int height,
            gpointer user_data)
{
  EfDrawStyle style;

  ef_look_style (&style);
  ef_draw_mark_glyph (cr, &style, GPOINTER_TO_INT (user_data), 0, 0, width, height);
}

static void
toggled_cb (GtkToggleButton *button,
            EfKindPicker *self)
{
  if (self->setting || !gtk_toggle_button_get_active (button))
    return;
  self->kind = GPOINTER_TO_INT (g_object_get_data (G_OBJECT (button), "kind"));
  g_signal_emit (self, signals[PICKED], 0, (guint) self->kind);
}

static GtkWidget *
make_button (EfKindPicker *self,
             EfMarkKind kind)
{
  GtkWidget *button = gtk_toggle_button_new ();
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *glyph = gtk_drawing_area_new ();
  GtkWidget *label = gtk_label_new (_(ef_mark_kind_label (kind)));

  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (glyph), 34);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (glyph), 22);
  gtk_widget_set_halign (glyph, GTK_ALIGN_CENTER);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (glyph), draw_glyph, GINT_TO_POINTER (kind), NULL);
  ef_look_follow (glyph);
  gtk_widget_add_css_class (label, "caption");
  gtk_box_append (GTK_BOX (box), glyph);
  gtk_box_append (GTK_BOX (box), label);
  gtk_button_set_child (GTK_BUTTON (button), box);
  gtk_widget_set_size_request (button, EF_TARGET, EF_TARGET);
  gtk_widget_set_focus_on_click (button, FALSE);
  gtk_widget_add_css_class (button, "flat");
  gtk_widget_add_css_class (button, "ef-kind");
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, _(ef_mark_kind_label (kind)), -1);
  g_object_set_data (G_OBJECT (button), "kind", GINT_TO_POINTER (kind));
  if (kind > 0)
    gtk_toggle_button_set_group (GTK_TOGGLE_BUTTON (button), GTK_TOGGLE_BUTTON (self->buttons[0]));
  g_signal_connect (button, "toggled", G_CALLBACK (toggled_cb), self);
  return button;
}

static void
what_cb (EfKindPicker *self)
{
  GtkRoot *root = gtk_widget_get_root (GTK_WIDGET (self));

  ef_kind_window_show (GTK_IS_WINDOW (root) ? GTK_WINDOW (root) : NULL, self->kind);
}

static GtkWidget *
make_what (EfKindPicker *self)
{
  GtkWidget *button = gtk_button_new_with_label (_ ("What Is This?"));

  gtk_widget_add_css_class (button, "flat");
  gtk_widget_set_halign (button, GTK_ALIGN_START);
  gtk_widget_set_size_request (button, EF_TARGET, EF_TARGET);
  gtk_widget_set_tooltip_text (button, _ ("The chosen kind of wear in plain words, with a drawing (F1)"));
  g_signal_connect_swapped (button, "clicked", G_CALLBACK (what_cb), self);

  return button;
}

static void
ef_kind_picker_dispose (GObject *object)
{
  EfKindPicker *self = EF_KIND_PICKER (object);

  g_clear_pointer (&self->column, gtk_widget_unparent);
  G_OBJECT_CLASS (ef_kind_picker_parent_class)->dispose (object);
}

static void
ef_kind_picker_class_init (EfKindPickerClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_kind_picker_dispose;
  signals[PICKED] = g_signal_new ("picked", EF_TYPE_KIND_PICKER, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_UINT);
  gtk_widget_class_set_layout_manager_type (widget_class, GTK_TYPE_BIN_LAYOUT);
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_RADIO_GROUP);
  gtk_widget_class_set_css_name (widget_class, "kindpicker");
}

static void
ef_kind_picker_init (EfKindPicker *self)
{
  int kind;

  self->box = gtk_flow_box_new ();
  gtk_flow_box_set_selection_mode (GTK_FLOW_BOX (self->box), GTK_SELECTION_NONE);
  gtk_flow_box_set_homogeneous (GTK_FLOW_BOX (self->box), TRUE);
  gtk_flow_box_set_min_children_per_line (GTK_FLOW_BOX (self->box), 2);
  gtk_flow_box_set_max_children_per_line (GTK_FLOW_BOX (self->box), 5);
  gtk_flow_box_set_row_spacing (GTK_FLOW_BOX (self->box), 2);
  gtk_flow_box_set_column_spacing (GTK_FLOW_BOX (self->box), 2);
  self->column = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  gtk_box_append (GTK_BOX (self->column), self->box);
  gtk_box_append (GTK_BOX (self->column), make_what (self));
  gtk_widget_set_parent (self->column, GTK_WIDGET (self));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, _("Kind of wear"), -1);
  for (kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      GtkWidget *child = gtk_flow_box_child_new ();

      self->buttons[kind] = make_button (self, kind);
      gtk_widget_set_focusable (child, FALSE);
      gtk_flow_box_child_set_child (GTK_FLOW_BOX_CHILD (child), self->buttons[kind]);
      gtk_flow_box_insert (GTK_FLOW_BOX (self->box), child, -1);
    }
  ef_kind_picker_set (self, EF_MARK_SCORING);
}

GtkWidget *
ef_kind_picker_new (void)
{
  return g_object_new (EF_TYPE_KIND_PICKER, NULL);
}

EfMarkKind
ef_kind_picker_get (EfKindPicker *self)
{
  return self->kind;
}

void
ef_kind_picker_set (EfKindPicker *self,
                    EfMarkKind kind)
{
  g_return_if_fail ((guint) kind < EF_N_MARK_KINDS);
  self->kind = kind;
  self->setting = TRUE;
  gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (self->buttons[kind]), TRUE);
  self->setting = FALSE;
}

EfMarkKind
ef_kind_picker_focused (EfKindPicker *self)
{
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    if (gtk_widget_has_focus (self->buttons[kind]))
      return (EfMarkKind) kind;

  return self->kind;
}
