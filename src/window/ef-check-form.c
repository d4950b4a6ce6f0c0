/* One card a part: what to look at, four answers, a note.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-check-form.h"
#include "ef-field.h"

#include <glib/gi18n.h>

typedef struct
{
  EfCheckForm *form; /* borrowed */
  char *part_id;
  GtkWidget *answers[EF_N_CHECK_STATES];
  EfField *note;
} CheckView;

struct _EfCheckForm
{
  GtkBox parent_instance;

  EfSession *session;
  GPtrArray *views; /* CheckView * */
  gboolean filling;
};

G_DEFINE_FINAL_TYPE (EfCheckForm, ef_check_form, GTK_TYPE_BOX)

static void
view_free (gpointer data)
{
  CheckView *view = data;

  g_free (view->part_id);
  g_free (view);
}

static const EfInspection *
inspection_of (EfCheckForm *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

static EfCheckState
chosen_state (const CheckView *view)
{
  int state;

  for (state = EF_CHECK_SOUND; state < EF_N_CHECK_STATES; state++)
    if (gtk_toggle_button_get_active (GTK_TOGGLE_BUTTON (view->answers[state])))
      return state;
  return EF_CHECK_UNSEEN;
}

static void
keep (CheckView *view)
{
  EfCheckForm *self = view->form;
  const EfInspection *inspection = inspection_of (self);
  const EfPart *part = ef_pump_sheet_part (inspection->sheet, view->part_id);
  EfCheck *before = ef_inspection_find (inspection, EF_ITEM_CHECK, view->part_id);
  g_autoptr (EfItem) item = before != NULL ? ef_item_copy (before) : ef_item_new (&ef_check_class, view->part_id);
  EfCheck *after = (EfCheck *) item;
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = NULL;

  after->state = chosen_state (view);
  g_clear_pointer (&after->note, g_free);
  ef_field_string (view->note, FALSE, &after->note);
  if (before != NULL ? ef_item_equal (before, after) : after->state == EF_CHECK_UNSEEN && after->note == NULL)
    return;
  label = g_strdup_printf (_ ("Check %s: %s"), part->name, _ (ef_check_state_label (after->state)));
  change = ef_change_new (label);
  ef_change_add (change, before, after);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
answer_cb (CheckView *view,
           GtkToggleButton *button)
{
  int state;

  if (view->form->filling)
    return;
  /* One answer at most; pressing it again takes it back. */
  view->form->filling = TRUE;
  for (state = EF_CHECK_SOUND; gtk_toggle_button_get_active (button) && state < EF_N_CHECK_STATES; state++)
    if (view->answers[state] != GTK_WIDGET (button))
      gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (view->answers[state]), FALSE);
  view->form->filling = FALSE;
  keep (view);
}

static void
note_cb (CheckView *view)
{
  if (!view->form->filling && gtk_widget_get_root (GTK_WIDGET (view->form)) != NULL)
    keep (view);
}

static void
fill_view (EfCheckForm *self,
           CheckView *view)
{
  const EfCheck *check = ef_inspection_find (inspection_of (self), EF_ITEM_CHECK, view->part_id);
  EfCheckState state = check != NULL ? check->state : EF_CHECK_UNSEEN;
  const char *note = check != NULL && check->note != NULL ? check->note : "";
  int i;

  for (i = EF_CHECK_SOUND; i < EF_N_CHECK_STATES; i++)
    gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (view->answers[i]), (int) state == i);
  if (g_strcmp0 (ef_field_text (view->note), note) != 0 && !gtk_widget_has_focus (ef_field_entry (view->note)))
    ef_field_set_text (view->note, note);
}

static void
fill (EfCheckForm *self)
{
  guint i;

  self->filling = TRUE;
  for (i = 0; i < self->views->len; i++)
    fill_view (self, g_ptr_array_index (self->views, i));
  self->filling = FALSE;
}

static GtkWidget *
make_answers (CheckView *view,
              const EfPart *part)
{
  GtkWidget *flow = g_object_new (GTK_TYPE_BOX, "spacing", 0, NULL);
  int state;

  gtk_widget_add_css_class (flow, "linked");
  for (state = EF_CHECK_SOUND; state < EF_N_CHECK_STATES; state++)
    {
      GtkWidget *button = gtk_toggle_button_new_with_label (_ (ef_check_state_label (state)));

      gtk_widget_add_css_class (button, "ef-touch");
      gtk_widget_set_hexpand (button, TRUE);
      view->answers[state] = button;
      g_signal_connect_swapped (button, "toggled", G_CALLBACK (answer_cb), view);
      gtk_box_append (GTK_BOX (flow), button);
    }
  gtk_accessible_update_property (GTK_ACCESSIBLE (flow), GTK_ACCESSIBLE_PROPERTY_LABEL, part->name, -1);
  return flow;
}

static void
add_part (EfCheckForm *self,
          const EfPart *part)
{
  CheckView *view = g_new0 (CheckView, 1);
  GtkWidget *card = gtk_box_new (GTK_ORIENTATION_VERTICAL, 10);
  GtkWidget *name = g_object_new (GTK_TYPE_LABEL, "label", part->name, "xalign", 0.0f, "wrap", TRUE, NULL);

  view->form = self;
  view->part_id = g_strdup (part->id);
  gtk_widget_add_css_class (card, "ef-group");
  gtk_widget_add_css_class (card, "card");
  gtk_widget_add_css_class (name, "heading");
  gtk_box_append (GTK_BOX (card), name);
  if (part->check != NULL && part->check[0] != '\0')
    gtk_box_append (GTK_BOX (card), g_object_new (GTK_TYPE_LABEL, "label", part->check, "xalign", 0.0f, "wrap", TRUE, NULL));
  gtk_box_append (GTK_BOX (card), make_answers (view, part));
  view->note = EF_FIELD (ef_field_new (_ ("Note")));
  gtk_box_append (GTK_BOX (card), GTK_WIDGET (view->note));
  g_signal_connect_swapped (view->note, "committed", G_CALLBACK (note_cb), view);
  g_signal_connect_swapped (view->note, "left", G_CALLBACK (note_cb), view);
  g_ptr_array_add (self->views, view);
  gtk_box_append (GTK_BOX (self), card);
}

static void
ef_check_form_dispose (GObject *object)
{
  EfCheckForm *self = EF_CHECK_FORM (object);
  GtkWidget *child;

  self->filling = TRUE;
  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  g_clear_pointer (&self->views, g_ptr_array_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_check_form_parent_class)->dispose (object);
}

static void
ef_check_form_class_init (EfCheckFormClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_check_form_dispose;
}

static void
ef_check_form_init (EfCheckForm *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 24);
  self->views = g_ptr_array_new_with_free_func (view_free);
}

GtkWidget *
ef_check_form_new (EfSession *session)
{
  EfCheckForm *self = g_object_new (EF_TYPE_CHECK_FORM, NULL);
  GtkWidget *title = g_object_new (GTK_TYPE_LABEL, "label", _ ("Check list"), "xalign", 0.0f, "wrap", TRUE, NULL);
  const EfPumpSheet *sheet;
  guint i;

  self->session = g_object_ref (session);
  sheet = inspection_of (self)->sheet;
  gtk_widget_add_css_class (title, "title-2");
  gtk_box_append (GTK_BOX (self), title);
  for (i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (sheet->parts, i);

      if (part->kind >= EF_PART_PICKUP)
        add_part (self, part);
    }
  if (self->views->len == 0)
    gtk_box_append (GTK_BOX (self), g_object_new (GTK_TYPE_LABEL, "label", _ ("This pump has no parts to be checked by eye alone."), "xalign", 0.0f, "wrap", TRUE, NULL));
  g_signal_connect_object (session, "changed", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  fill (self);
  return GTK_WIDGET (self);
}
