/* The parts of the pump as a row of buttons.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-part-row.h"
#include "ef-exploded-view.h"
#include "ef-look.h"
#include "ef-verdict-badge.h"

#include <glib/gi18n.h>

struct _EfPartRow
{
  GtkWidget parent_instance;

  EfSession *session;
  GSignalGroup *session_signals;
  GtkWidget *scrolled, *box;
  GPtrArray *buttons; /* GtkToggleButton *, data "part" and "glyph" */
  gboolean setting;
};

enum
{
  OPENED,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfPartRow, ef_part_row, GTK_TYPE_WIDGET)

static int
verdict_of (EfPartRow *self,
            const char *part_id)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  g_autofree char *id = g_strdup_printf ("part:%s", part_id);
  const EfVerdict *verdict = assessment != NULL ? ef_verdict_find (assessment->verdict, id) : NULL;

  return verdict != NULL ? (int) verdict->word : EF_VERDICT_UNKNOWN;
}

static void
draw_glyph (GtkDrawingArea *area,
            cairo_t *cr,
            int width,
            int height,
            gpointer user_data)
{
  int word = GPOINTER_TO_INT (g_object_get_data (G_OBJECT (area), "verdict")) - 1;
  double size = MIN (width, height);
  EfDrawStyle style;

  if (word == EF_VERDICT_UNKNOWN)
    return;
  ef_look_style (&style);
  ef_draw_verdict_glyph (cr, word, &style, (width - size) / 2, (height - size) / 2, size);
}

static void
refresh (EfPartRow *self)
{
  const char *selected = ef_session_part (self->session);
  guint i;

  self->setting = TRUE;
  for (i = 0; i < self->buttons->len; i++)
    {
      GObject *button = g_ptr_array_index (self->buttons, i);
      const char *part_id = g_object_get_data (button, "part");
      const char *name = g_object_get_data (button, "name");
      GtkWidget *glyph = g_object_get_data (button, "glyph");
      int word = verdict_of (self, part_id);
      g_autofree char *spoken = g_strdup_printf ("%s, %s", name, ef_verdict_shown (word));

      gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (button), g_strcmp0 (part_id, selected) == 0);
      if (g_strcmp0 (part_id, selected) == 0)
        ef_look_reveal (GTK_WIDGET (button), GTK_SCROLLED_WINDOW (self->scrolled));
      g_object_set_data (G_OBJECT (glyph), "verdict", GINT_TO_POINTER (word + 1));
      gtk_widget_set_visible (glyph, word != EF_VERDICT_UNKNOWN);
      gtk_widget_queue_draw (glyph);
      gtk_widget_set_tooltip_text (GTK_WIDGET (button), spoken);
      gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, spoken, -1);
    }
  self->setting = FALSE;
}

static void
toggled_cb (GtkToggleButton *button,
            EfPartRow *self)
{
  if (self->setting)
    return;
  ef_open_part (self->session, g_object_get_data (G_OBJECT (button), "part"));
  refresh (self);
  g_signal_emit (self, signals[OPENED], 0);
}

static void
add_part (EfPartRow *self,
          const EfPart *part)
{
  GtkWidget *button = gtk_toggle_button_new ();
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);
  GtkWidget *glyph = gtk_drawing_area_new ();
  GtkWidget *label = gtk_label_new (part->name);

  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (glyph), 16);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (glyph), 16);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (glyph), draw_glyph, NULL, NULL);
  gtk_widget_set_valign (glyph, GTK_ALIGN_CENTER);
  ef_look_follow (glyph);
  gtk_box_append (GTK_BOX (box), glyph);
  gtk_box_append (GTK_BOX (box), label);
  gtk_button_set_child (GTK_BUTTON (button), box);
  gtk_widget_add_css_class (button, "flat");
  gtk_widget_set_size_request (button, EF_TARGET, EF_TARGET);
  g_object_set_data_full (G_OBJECT (button), "part", g_strdup (part->id), g_free);
  g_object_set_data_full (G_OBJECT (button), "name", g_strdup (part->name), g_free);
  g_object_set_data (G_OBJECT (button), "glyph", glyph);
  g_signal_connect (button, "toggled", G_CALLBACK (toggled_cb), self);
  gtk_box_append (GTK_BOX (self->box), button);
  g_ptr_array_add (self->buttons, button);
}

static void
ef_part_row_dispose (GObject *object)
{
  EfPartRow *self = EF_PART_ROW (object);

  self->setting = TRUE;
  g_clear_object (&self->session_signals);
  g_clear_pointer (&self->scrolled, gtk_widget_unparent);
  g_clear_pointer (&self->buttons, g_ptr_array_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_part_row_parent_class)->dispose (object);
}

static void
ef_part_row_class_init (EfPartRowClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_part_row_dispose;
  signals[OPENED] = g_signal_new ("opened", EF_TYPE_PART_ROW, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  gtk_widget_class_set_layout_manager_type (widget_class, GTK_TYPE_BIN_LAYOUT);
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_GROUP);
}

static void
ef_part_row_init (EfPartRow *self)
{
  self->buttons = g_ptr_array_new ();
  self->box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 2);
  gtk_widget_set_margin_start (self->box, 6);
  gtk_widget_set_margin_end (self->box, 6);
  gtk_widget_set_margin_top (self->box, 2);
  gtk_widget_set_margin_bottom (self->box, 2);
  self->scrolled = gtk_scrolled_window_new ();
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (self->scrolled), GTK_POLICY_AUTOMATIC, GTK_POLICY_NEVER);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (self->scrolled), self->box);
  gtk_widget_set_parent (self->scrolled, GTK_WIDGET (self));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, _("Parts of the pump"), -1);
}

GtkWidget *
ef_part_row_new (EfSession *session)
{
  EfPartRow *self = g_object_new (EF_TYPE_PART_ROW, NULL);
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  guint i;

  self->session = g_object_ref (session);
  for (i = 0; i < inspection->sheet->parts->len; i++)
    add_part (self, g_ptr_array_index (inspection->sheet->parts, i));
  self->session_signals = g_signal_group_new (EF_TYPE_SESSION);
  g_signal_group_connect_swapped (self->session_signals, "notify::part", G_CALLBACK (refresh), self);
  g_signal_group_connect_swapped (self->session_signals, "assessed", G_CALLBACK (refresh), self);
  g_signal_group_set_target (self->session_signals, session);
  refresh (self);
  return GTK_WIDGET (self);
}
