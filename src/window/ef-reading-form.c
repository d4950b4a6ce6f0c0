/* Groups of fields with their gauge and unit, and what follows from the readings.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-reading-form.h"
#include "ef-derived-list.h"
#include "ef-form-picture.h"
#include "ef-form-window.h"
#include "ef-gauge-choice.h"
#include "ef-reading-field.h"
#include "ef-settings.h"

#include <glib/gi18n.h>
#include <math.h>

typedef struct
{
  EfReadingForm *form; /* borrowed */
  EfSlotGroup *group;  /* borrowed */
  GtkWidget *flow;
  GtkWidget *gauge;
  GtkWidget *unit;
  GtkWidget *direction_popover;
  EfField *direction;
  GtkWidget *direction_place;
} GroupView;

struct _EfReadingForm
{
  GtkBox parent_instance;

  EfSession *session;
  EfBenchForm *form;
  GPtrArray *views;  /* GroupView * */
  GPtrArray *fields; /* EfReadingField *, borrowed, in order */
  EfField *temperature;
};

enum
{
  SLOT_ENTERED,
  FINISHED,
  TAKEN_BACK,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfReadingForm, ef_reading_form, GTK_TYPE_BOX)

static const EfUnit units[] = { EF_UNIT_MM, EF_UNIT_UM, EF_UNIT_INCH, EF_UNIT_THOU };

static EfUnit
chosen_unit (const GroupView *view)
{
  guint selected = gtk_drop_down_get_selected (GTK_DROP_DOWN (view->unit));

  return selected < G_N_ELEMENTS (units) ? units[selected] : EF_UNIT_MM;
}

static void
pass_defaults (GroupView *view,
               EfReadingField *field)
{
  double temperature = NAN;

  if (!ef_field_quantity (view->form->temperature, EF_UNIT_CELSIUS, FALSE, &temperature, NULL))
    temperature = INFINITY;
  ef_reading_field_set_defaults (field, chosen_unit (view), ef_gauge_choice_get (EF_GAUGE_CHOICE (view->gauge)), temperature);
}

static EfSlotGroup *
group_of (EfReadingForm *self,
          const EfSlot *slot)
{
  guint i;

  for (i = 0; i < self->form->groups->len; i++)
    {
      EfSlotGroup *group = g_ptr_array_index (self->form->groups, i);

      if (g_ptr_array_find (group->slots, slot, NULL))
        return group;
    }
  return NULL;
}

static GroupView *
view_of (EfReadingForm *self,
         EfReadingField *field)
{
  EfSlotGroup *group = group_of (self, ef_reading_field_slot (field));
  guint i;

  for (i = 0; i < self->views->len; i++)
    {
      GroupView *view = g_ptr_array_index (self->views, i);

      if (view->group == group)
        return view;
    }
  return NULL;
}

static void
field_entered_cb (EfReadingForm *self,
                  EfReadingField *field)
{
  GroupView *view = view_of (self, field);

  if (view == NULL)
    return;
  pass_defaults (view, field);
  g_signal_emit (self, signals[SLOT_ENTERED], 0, view->group, ef_reading_field_slot (field));
}

static void
field_kept_cb (EfReadingForm *self,
               gboolean move_on,
               EfReadingField *field)
{
  guint at;

  if (!move_on || !g_ptr_array_find (self->fields, field, &at))
    return;
  if (at + 1 < self->fields->len)
    gtk_widget_grab_focus (GTK_WIDGET (ef_reading_field_field (g_ptr_array_index (self->fields, at + 1))));
  else
    g_signal_emit (self, signals[FINISHED], 0);
}

static void
field_back_cb (EfReadingForm *self,
               EfReadingField *field)
{
  guint at;

  if (g_ptr_array_find (self->fields, field, &at) && at > 0)
    gtk_widget_grab_focus (GTK_WIDGET (ef_reading_field_field (g_ptr_array_index (self->fields, at - 1))));
}

static void
field_taken_back_cb (EfReadingForm *self,
                     EfReadingField *field)
{
  g_signal_emit (self, signals[TAKEN_BACK], 0, ef_reading_field_field (field));
}

static void
defaults_changed_cb (GroupView *view)
{
  guint i;

  for (i = 0; i < view->form->fields->len; i++)
    {
      EfReadingField *field = g_ptr_array_index (view->form->fields, i);

      if (view_of (view->form, field) == view)
        pass_defaults (view, field);
    }
}

static void
temperature_edited_cb (EfReadingForm *self)
{
  guint i;

  for (i = 0; i < self->views->len; i++)
    defaults_changed_cb (g_ptr_array_index (self->views, i));
}

/* The field goes in after those of its group that are there. */
static EfReadingField *
add_field (EfReadingForm *self,
           GroupView *view,
           const EfSlot *slot)
{
  EfReadingField *field = EF_READING_FIELD (ef_reading_field_new (self->session, slot));
  guint at = self->fields->len;
  guint i;

  for (i = 0; i < self->fields->len; i++)
    if (view_of (self, g_ptr_array_index (self->fields, i)) == view)
      at = i + 1;
  g_ptr_array_insert (self->fields, at, field);
  gtk_flow_box_append (GTK_FLOW_BOX (view->flow), GTK_WIDGET (field));
  gtk_widget_set_focusable (gtk_widget_get_last_child (view->flow), FALSE);
  g_signal_connect_object (field, "entered", G_CALLBACK (field_entered_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (field, "kept", G_CALLBACK (field_kept_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (field, "back", G_CALLBACK (field_back_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (field, "taken-back", G_CALLBACK (field_taken_back_cb), self, G_CONNECT_SWAPPED);
  pass_defaults (view, field);
  return field;
}

static gboolean
group_holds (const EfSlotGroup *group,
             const EfReading *reading)
{
  guint i;

  for (i = 0; i < group->slots->len; i++)
    if (ef_slot_holds (g_ptr_array_index (group->slots, i), reading))
      return TRUE;
  return FALSE;
}

/* A slot of the group that differs from the reading in its direction only. */
static const EfSlot *
slot_like (const EfSlotGroup *group,
           const EfReading *reading)
{
  guint i;

  for (i = 0; i < group->slots->len; i++)
    {
      const EfSlot *slot = g_ptr_array_index (group->slots, i);

      if (slot->quantity == reading->quantity && g_strcmp0 (slot->target, reading->target) == 0
          && g_strcmp0 (slot->place, reading->place) == 0)
        return slot;
    }
  return NULL;
}

/* Readings at places the plan doesn't name (another direction, another place of a face) get a field of their own. */
static void
add_fields_for_readings (EfReadingForm *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  guint i, j;

  for (i = 0; i < self->views->len; i++)
    {
      GroupView *view = g_ptr_array_index (self->views, i);

      for (j = 0; j < readings->len; j++)
        {
          const EfReading *reading = g_ptr_array_index (readings, j);
          const EfSlot *like = slot_like (view->group, reading);
          EfSlot *slot;

          if (like == NULL || group_holds (view->group, reading))
            continue;
          if (reading->quantity == EF_READ_FLATNESS)
            {
              g_autofree char *label = g_strdup_printf (_ ("Place %u"), view->group->slots->len + 1);

              slot = ef_slot_new (reading->quantity, reading->target, reading->place, NAN, label);
              slot->u = reading->u;
              slot->v = reading->v;
            }
          else if (isnan (reading->angle))
            slot = ef_slot_new (reading->quantity, reading->target, reading->place, NAN, _ ("Direction not noted"));
          else
            slot = ef_slot_at_direction (like, reading->angle);
          g_ptr_array_add (view->group->slots, slot);
          add_field (self, view, slot);
        }
    }
}

static void
add_direction_cb (GroupView *view)
{
  EfReadingForm *self = view->form;
  const EfSlot *like = g_ptr_array_index (view->group->slots, 0);
  guint selected = view->direction_place != NULL ? gtk_drop_down_get_selected (GTK_DROP_DOWN (view->direction_place)) : 0;
  EfSlot *slot;
  double angle;
  guint i;

  if (!ef_field_quantity (view->direction, EF_UNIT_DEG, TRUE, &angle, NULL))
    return;
  for (i = 0; i < view->group->slots->len; i++)
    {
      const EfSlot *candidate = g_ptr_array_index (view->group->slots, i);

      if (g_strcmp0 (candidate->place, selected == 0 ? "drive" : "driven") == 0)
        {
          like = candidate;
          break;
        }
    }
  slot = ef_slot_at_direction (like, ef_angle_on_grid (angle));
  g_ptr_array_add (view->group->slots, slot);
  gtk_popover_popdown (GTK_POPOVER (view->direction_popover));
  ef_field_set_text (view->direction, NULL);
  gtk_widget_grab_focus (GTK_WIDGET (ef_reading_field_field (add_field (self, view, slot))));
}

static GtkWidget *
make_direction_button (GroupView *view)
{
  GtkWidget *button = gtk_menu_button_new ();
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  GtkWidget *add = gtk_button_new_with_label (_ ("Add"));

  view->direction_popover = gtk_popover_new ();
  view->direction = EF_FIELD (ef_field_new (_ ("Direction in degrees")));
  g_object_set (view->direction, "placeholder", "22.5", NULL);
  if (view->group->quantity == EF_READ_TIP_CLEARANCE)
    {
      const char *gears[] = { _ ("Drive gear"), _ ("Driven gear"), NULL };

      view->direction_place = gtk_drop_down_new_from_strings (gears);
      gtk_box_append (GTK_BOX (box), ef_labelled (_ ("At"), view->direction_place));
    }
  gtk_widget_add_css_class (add, "ef-touch");
  g_object_set (box, "margin-start", 6, "margin-end", 6, "margin-top", 6, "margin-bottom", 6, NULL);
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (view->direction));
  gtk_box_append (GTK_BOX (box), add);
  gtk_popover_set_child (GTK_POPOVER (view->direction_popover), box);
  gtk_menu_button_set_popover (GTK_MENU_BUTTON (button), view->direction_popover);
  gtk_menu_button_set_label (GTK_MENU_BUTTON (button), _ ("Another Direction"));
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_add_css_class (button, "flat");
  gtk_widget_set_halign (button, GTK_ALIGN_START);
  g_signal_connect_swapped (add, "clicked", G_CALLBACK (add_direction_cb), view);
  g_signal_connect_swapped (view->direction, "committed", G_CALLBACK (add_direction_cb), view);
  return button;
}

static void
follow_preferred_unit (GtkDropDown *drop_down)
{
  guint i;

  for (i = 0; i < G_N_ELEMENTS (units); i++)
    if (units[i] == ef_settings_length_unit ())
      gtk_drop_down_set_selected (drop_down, i);
}

static GtkWidget *
make_unit_choice (void)
{
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  GtkWidget *drop_down;
  guint i;

  for (i = 0; i < G_N_ELEMENTS (units); i++)
    gtk_string_list_append (names, ef_unit_symbol (units[i]));
  drop_down = gtk_drop_down_new (G_LIST_MODEL (g_steal_pointer (&names)), NULL);
  follow_preferred_unit (GTK_DROP_DOWN (drop_down));
  g_signal_connect_object (ef_settings_get (), "changed::length-unit", G_CALLBACK (follow_preferred_unit), drop_down, G_CONNECT_SWAPPED);
  gtk_widget_add_css_class (drop_down, "ef-touch");
  gtk_widget_set_tooltip_text (drop_down, _ ("Unit of a value typed without one"));
  gtk_accessible_update_property (GTK_ACCESSIBLE (drop_down), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Unit"), -1);
  return drop_down;
}

/* The gauge of the group's last reading is the likeliest for the next, then that of the last reading of this kind in the job. */
static const char *
last_gauge (EfReadingForm *self,
            const EfSlotGroup *group)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  const char *found = NULL;
  guint i;

  for (i = readings->len; i > 0; i--)
    {
      const EfReading *reading = g_ptr_array_index (readings, i - 1);

      if (reading->gauge_id != NULL && slot_like (group, reading) != NULL)
        return reading->gauge_id;
      if (found == NULL && reading->quantity == group->quantity)
        found = reading->gauge_id;
    }
  return found;
}

/* Groups nobody has chosen a gauge for yet take the one that reads the same elsewhere. */
static void
follow_gauges (EfReadingForm *self)
{
  guint i;

  for (i = 0; i < self->views->len; i++)
    {
      GroupView *view = g_ptr_array_index (self->views, i);
      EfGaugeChoice *choice = EF_GAUGE_CHOICE (view->gauge);

      if (!ef_gauge_choice_said (choice) && ef_gauge_choice_get (choice) == NULL)
        ef_gauge_choice_set (choice, last_gauge (self, view->group));
    }
}

static EfGaugeKind
usual_gauge (EfQuantity quantity)
{
  static const EfGaugeKind kinds[EF_N_READINGS] = {
    [EF_READ_END_CLEARANCE] = EF_GAUGE_STRAIGHTEDGE, [EF_READ_POCKET_DEPTH] = EF_GAUGE_DEPTH,
    [EF_READ_FACE_WIDTH] = EF_GAUGE_MICROMETER,      [EF_READ_TIP_CLEARANCE] = EF_GAUGE_FEELER,
    [EF_READ_BACKLASH] = EF_GAUGE_DIAL,              [EF_READ_SIDE_PLAY] = EF_GAUGE_DIAL,
    [EF_READ_JOURNAL_DIAMETER] = EF_GAUGE_MICROMETER, [EF_READ_BORE_DIAMETER] = EF_GAUGE_BORE,
    [EF_READ_FLATNESS] = EF_GAUGE_DIAL,
  };

  return kinds[quantity];
}

/* On to the first field of the group that's still empty, or the first of all. */
static void
gauge_picked_cb (GroupView *view)
{
  EfReadingForm *self = view->form;
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  EfReadingField *first = NULL;
  guint i;

  defaults_changed_cb (view);
  for (i = 0; i < self->fields->len; i++)
    {
      EfReadingField *field = g_ptr_array_index (self->fields, i);
      g_autoptr (GPtrArray) readings = NULL;

      if (view_of (self, field) != view)
        continue;
      readings = ef_slot_readings (ef_reading_field_slot (field), inspection);
      if (first == NULL || readings->len == 0)
        first = field;
      if (readings->len == 0)
        break;
    }
  if (first != NULL)
    gtk_widget_grab_focus (GTK_WIDGET (ef_reading_field_field (first)));
}

static gboolean
open_gauges_cb (GtkWidget *widget,
                GVariant *args,
                gpointer user_data)
{
  EfReadingForm *self = EF_READING_FORM (widget);
  GtkWidget *focus = gtk_root_get_focus (gtk_widget_get_root (widget));
  GtkWidget *field = focus != NULL ? gtk_widget_get_ancestor (focus, EF_TYPE_READING_FIELD) : NULL;
  GroupView *view = field != NULL ? view_of (self, EF_READING_FIELD (field)) : NULL;

  if (view == NULL && self->views->len > 0)
    view = g_ptr_array_index (self->views, 0);
  if (view != NULL)
    ef_gauge_choice_open (EF_GAUGE_CHOICE (view->gauge));
  return view != NULL;
}

static void
add_group (EfReadingForm *self,
           EfSlotGroup *group)
{
  GroupView *view = g_new0 (GroupView, 1);
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  GtkWidget *heading = g_object_new (GTK_TYPE_LABEL, "label", group->title, "xalign", 0.0f, "wrap", TRUE, NULL);
  GtkWidget *with = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);
  guint i;

  view->form = self;
  view->group = group;
  view->gauge = ef_gauge_choice_new (self->session);
  view->unit = make_unit_choice ();
  gtk_widget_set_valign (view->unit, GTK_ALIGN_START);
  view->flow = g_object_new (GTK_TYPE_FLOW_BOX, "selection-mode", GTK_SELECTION_NONE, "homogeneous", TRUE,
                             "column-spacing", 12, "row-spacing", 12, "min-children-per-line", 1, "max-children-per-line", 4, NULL);
  ef_gauge_choice_set (EF_GAUGE_CHOICE (view->gauge), last_gauge (self, group));
  ef_gauge_choice_suggest (EF_GAUGE_CHOICE (view->gauge), usual_gauge (group->quantity));
  gtk_widget_set_hexpand (view->gauge, TRUE);
  gtk_widget_add_css_class (heading, "heading");
  gtk_widget_add_css_class (box, "ef-group");
  gtk_widget_add_css_class (box, "card");
  gtk_box_append (GTK_BOX (with), view->gauge);
  gtk_box_append (GTK_BOX (with), view->unit);
  gtk_box_append (GTK_BOX (box), heading);
  gtk_box_append (GTK_BOX (box), with);
  gtk_box_append (GTK_BOX (box), view->flow);
  g_ptr_array_add (self->views, view);
  for (i = 0; i < group->slots->len; i++)
    add_field (self, view, g_ptr_array_index (group->slots, i));
  if (group->directions)
    gtk_box_append (GTK_BOX (box), make_direction_button (view));
  gtk_box_append (GTK_BOX (box), ef_derived_list_new (self->session, group));
  if (ef_form_picture_has (group))
    gtk_box_append (GTK_BOX (box), ef_form_picture_new (self->session, group));
  gtk_box_append (GTK_BOX (self), box);
  g_signal_connect_swapped (view->unit, "notify::selected", G_CALLBACK (defaults_changed_cb), view);
  g_signal_connect_swapped (view->gauge, "picked", G_CALLBACK (gauge_picked_cb), view);
}

static void
ef_reading_form_dispose (GObject *object)
{
  EfReadingForm *self = EF_READING_FORM (object);
  GtkWidget *child;

  /* Widgets first: they call back into the views. */
  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  g_clear_pointer (&self->views, g_ptr_array_unref);
  g_clear_pointer (&self->fields, g_ptr_array_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_reading_form_parent_class)->dispose (object);
}

static void
ef_reading_form_class_init (EfReadingFormClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_reading_form_dispose;
  gtk_widget_class_add_binding (GTK_WIDGET_CLASS (klass), GDK_KEY_g, GDK_ALT_MASK, open_gauges_cb, NULL);
  signals[SLOT_ENTERED] = g_signal_new ("slot-entered", EF_TYPE_READING_FORM, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                                        G_TYPE_NONE, 2, G_TYPE_POINTER, G_TYPE_POINTER);
  signals[FINISHED] = g_signal_new ("finished", EF_TYPE_READING_FORM, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[TAKEN_BACK] = g_signal_new ("taken-back", EF_TYPE_READING_FORM, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, GTK_TYPE_WIDGET);
}

static void
ef_reading_form_init (EfReadingForm *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 24);
  self->views = g_ptr_array_new_with_free_func (g_free);
  self->fields = g_ptr_array_new ();
}

GtkWidget *
ef_reading_form_new (EfSession *session,
                     EfBenchForm *form)
{
  EfReadingForm *self = g_object_new (EF_TYPE_READING_FORM, NULL);
  GtkWidget *title = g_object_new (GTK_TYPE_LABEL, "label", form->title, "xalign", 0.0f, "wrap", TRUE, NULL);
  guint i;

  self->session = g_object_ref (session);
  self->form = form;
  gtk_widget_add_css_class (title, "title-2");
  gtk_box_append (GTK_BOX (self), title);
  if (form->note != NULL)
    {
      GtkWidget *note = g_object_new (GTK_TYPE_LABEL, "label", form->note, "xalign", 0.0f, "wrap", TRUE, NULL);

      gtk_widget_add_css_class (note, "dim-label");
      gtk_box_append (GTK_BOX (self), note);
    }
  self->temperature = EF_FIELD (ef_field_new (_ ("Temperature of the parts, if not 20 °C")));
  g_object_set (self->temperature, "placeholder", "20 °C", "halign", GTK_ALIGN_START, NULL);
  gtk_box_append (GTK_BOX (self), GTK_WIDGET (self->temperature));
  for (i = 0; i < form->groups->len; i++)
    add_group (self, g_ptr_array_index (form->groups, i));
  g_signal_connect_object (self->temperature, "edited", G_CALLBACK (temperature_edited_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->temperature, "committed", G_CALLBACK (ef_reading_form_focus_first), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "changed", G_CALLBACK (add_fields_for_readings), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "changed", G_CALLBACK (follow_gauges), self, G_CONNECT_SWAPPED);
  add_fields_for_readings (self);
  return GTK_WIDGET (self);
}

EfBenchForm *
ef_reading_form_form (EfReadingForm *self)
{
  return self->form;
}

void
ef_reading_form_focus_first (EfReadingForm *self)
{
  if (self->fields->len > 0)
    gtk_widget_grab_focus (GTK_WIDGET (ef_reading_field_field (g_ptr_array_index (self->fields, 0))));
}

const char *
ef_reading_form_temperature (EfReadingForm *self)
{
  return ef_field_text (self->temperature);
}

void
ef_reading_form_set_temperature (EfReadingForm *self,
                                 const char *text)
{
  ef_field_set_text (self->temperature, text);
}
