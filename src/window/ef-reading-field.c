/* Entry, kept readings as small buttons, their mean.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-reading-field.h"
#include "ef-reading-dialog.h"
#include "ef-settings.h"

#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

struct _EfReadingField
{
  GtkBox parent_instance;

  EfField *field;
  GtkWidget *kept;
  GtkWidget *mean;
  GtkWidget *ungauged; /* words while one of the readings has no gauge */

  EfSession *session;
  const EfSlot *slot;
  GPtrArray *shown; /* EfReading *, as buttons stand for them */
  EfUnit unit;
  char *gauge_id;
  double temperature;
};

enum
{
  KEPT,
  ENTERED,
  BACK,
  TAKEN_BACK,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfReadingField, ef_reading_field, GTK_TYPE_BOX)

static const EfInspection *
inspection_of (EfReadingField *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

static char *
describe (EfReadingField *self)
{
  return g_strdup_printf ("%s, %s", _ (ef_quantity_label (self->slot->quantity)), self->slot->label);
}

static EfReading *
make_reading (EfReadingField *self,
              double value,
              EfUnit unit)
{
  EfReading *reading = ef_item_new (&ef_reading_class, NULL);
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();

  reading->quantity = self->slot->quantity;
  reading->target = g_strdup (self->slot->target);
  reading->place = g_strdup (self->slot->place);
  reading->angle = self->slot->angle;
  reading->u = self->slot->u;
  reading->v = self->slot->v;
  reading->value = value;
  reading->unit = unit;
  reading->gauge_id = g_strdup (self->gauge_id);
  reading->temperature = self->temperature;
  reading->time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  return reading;
}

/* Which reading it is about is clear at its field; its id says nothing to anybody. */
static const char *
without_id (const char *message,
            const EfItem *reading)
{
  g_autofree char *prefix = g_strdup_printf ("reading %s", reading->id);
  const char *rest = g_str_has_prefix (message, prefix) ? strstr (message, ": ") : NULL;

  return rest != NULL ? rest + strlen (": ") : message;
}

/* Keeps what was typed. FALSE when there is nothing, or when it can't be read: then it stays with a message. */
static gboolean
keep (EfReadingField *self)
{
  g_autoptr (EfChange) change = NULL;
  g_autoptr (EfItem) reading = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *what = NULL;
  g_autofree char *shown = NULL;
  g_autofree char *label = NULL;
  const EfGauge *gauge;
  double value;
  EfUnit unit;

  if (!ef_field_quantity (self->field, self->unit, FALSE, &value, &unit) || isnan (value))
    return FALSE;
  if (isinf (self->temperature))
    {
      ef_field_set_message (self->field, _ ("the temperature of the parts, above, can't be read: correct or empty it first"));
      return FALSE;
    }
  reading = (EfItem *) make_reading (self, value, unit);
  gauge = self->gauge_id != NULL ? ef_inspection_find (inspection_of (self), EF_ITEM_GAUGE, self->gauge_id) : NULL;
  if (!ef_reading_check ((EfReading *) reading, inspection_of (self)->sheet, &error)
      || !ef_reading_check_place ((EfReading *) reading, inspection_of (self)->sheet, &error)
      || (gauge != NULL && !ef_reading_check_gauge ((EfReading *) reading, gauge, &error)))
    {
      ef_field_set_message (self->field, without_id (error->message, reading));
      return FALSE;
    }
  what = describe (self);
  shown = ef_settings_exact (value, unit);
  label = g_strdup_printf (_ ("Add reading: %s, %s"), what, shown);
  change = ef_change_new (label);
  ef_change_add (change, NULL, reading);
  if (!ef_session_apply (self->session, g_steal_pointer (&change)))
    return FALSE;
  ef_field_set_text (self->field, NULL);
  return TRUE;
}

static void
committed_cb (EfReadingField *self)
{
  gboolean empty = ef_field_text (self->field)[0] == '\0';

  if (keep (self) || empty)
    g_signal_emit (self, signals[KEPT], 0, TRUE);
}

static void
left_cb (EfReadingField *self)
{
  /* Not while the page is being taken down. */
  if (gtk_widget_get_root (GTK_WIDGET (self)) != NULL)
    keep (self);
}

static void
entered_cb (EfReadingField *self)
{
  g_signal_emit (self, signals[ENTERED], 0);
}

static gboolean
stay_cb (GtkWidget *widget,
         GVariant *args,
         gpointer user_data)
{
  EfReadingField *self = user_data;

  if (keep (self))
    g_signal_emit (self, signals[KEPT], 0, FALSE);
  return TRUE;
}

static gboolean
back_cb (GtkWidget *widget,
         GVariant *args,
         gpointer user_data)
{
  g_signal_emit (user_data, signals[BACK], 0);
  return TRUE;
}

static void
pressed_cb (EfReadingField *self,
            GtkButton *button)
{
  const char *id = g_object_get_data (G_OBJECT (button), "ef-reading");
  const EfReading *reading = ef_inspection_find (inspection_of (self), EF_ITEM_READING, id);
  g_autofree char *title = describe (self);

  if (reading != NULL)
    ef_reading_dialog_show (GTK_WIDGET (self), self->session, reading, title);
}

/* Against the day of the reading; one without a time is taken as of today. */
static gboolean
was_overdue (const EfReading *reading,
             const EfGauge *gauge)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_local ();
  g_autofree char *day = reading->time != NULL ? g_strndup (reading->time, 10) : g_date_time_format (now, "%Y-%m-%d");

  return gauge != NULL && ef_gauge_overdue (gauge, day);
}

static GtkWidget *
make_button (EfReadingField *self,
             const EfReading *reading)
{
  g_autofree char *value = ef_settings_exact (reading->value, reading->unit);
  const EfGauge *gauge = reading->gauge_id != NULL ? ef_inspection_find (inspection_of (self), EF_ITEM_GAUGE, reading->gauge_id) : NULL;
  gboolean overdue = was_overdue (reading, gauge);
  gboolean misplaced = !ef_reading_check_place (reading, inspection_of (self)->sheet, NULL);
  g_autofree char *text = overdue || misplaced ? g_strdup_printf ("⚠ %s", value) : g_strdup (value);
  g_autofree char *tip = g_strdup_printf ("%s\n%s%s%s", gauge != NULL ? gauge->name : _ ("No gauge noted"),
                                          overdue ? _ ("The gauge's check was overdue when it was used.\n") : "",
                                          misplaced ? _ ("Its place lies in a hole or off the face.\n") : "", _ ("Press to correct or remove"));
  GtkWidget *button = gtk_button_new_with_label (text);

  gtk_widget_add_css_class (button, "ef-reading");
  gtk_widget_add_css_class (button, "numeric");
  gtk_widget_set_tooltip_text (button, tip);
  g_object_set_data_full (G_OBJECT (button), "ef-reading", g_strdup (reading->item.id), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (pressed_cb), self, G_CONNECT_SWAPPED);
  return button;
}

static gboolean
same_readings (const GPtrArray *a,
               const GPtrArray *b)
{
  guint i;

  if (a->len != b->len)
    return FALSE;
  for (i = 0; i < a->len; i++)
    if (g_ptr_array_index (a, i) != g_ptr_array_index (b, i))
      return FALSE;
  return TRUE;
}

static void
show_mean (EfReadingField *self)
{
  g_autofree char *value = NULL;
  g_autofree char *text = NULL;
  double sum = 0;
  guint i;

  gtk_widget_set_visible (self->mean, self->shown->len > 1);
  if (self->shown->len < 2)
    return;
  for (i = 0; i < self->shown->len; i++)
    sum += ((const EfReading *) g_ptr_array_index (self->shown, i))->value;
  value = ef_settings_format_length (sum / self->shown->len);
  text = g_strdup_printf (_ ("mean of %u: %s"), self->shown->len, value);
  gtk_label_set_label (GTK_LABEL (self->mean), text);
}

static void
show_ungauged (EfReadingField *self)
{
  gboolean any = FALSE;
  guint i;

  for (i = 0; i < self->shown->len; i++)
    any = any || ((const EfReading *) g_ptr_array_index (self->shown, i))->gauge_id == NULL;
  gtk_widget_set_visible (self->ungauged, any);
}

void
ef_reading_field_refresh (EfReadingField *self)
{
  g_autoptr (GPtrArray) readings = ef_slot_readings (self->slot, inspection_of (self));
  gboolean fewer = readings->len < self->shown->len;
  GtkWidget *child;
  guint i;

  if (same_readings (readings, self->shown))
    return;
  g_ptr_array_set_size (self->shown, 0);
  while ((child = gtk_widget_get_first_child (self->kept)) != NULL)
    gtk_flow_box_remove (GTK_FLOW_BOX (self->kept), child);
  for (i = 0; i < readings->len; i++)
    {
      g_ptr_array_add (self->shown, ef_item_ref (g_ptr_array_index (readings, i)));
      gtk_flow_box_append (GTK_FLOW_BOX (self->kept), make_button (self, g_ptr_array_index (readings, i)));
      gtk_widget_set_focusable (gtk_widget_get_last_child (self->kept), FALSE);
    }
  gtk_widget_set_visible (self->kept, readings->len > 0);
  show_mean (self);
  show_ungauged (self);
  if (fewer)
    g_signal_emit (self, signals[TAKEN_BACK], 0);
}

static void
ef_reading_field_dispose (GObject *object)
{
  EfReadingField *self = EF_READING_FIELD (object);

  g_signal_handlers_disconnect_by_data (self->field, self);
  g_clear_object (&self->session);
  g_clear_pointer (&self->shown, g_ptr_array_unref);
  g_clear_pointer (&self->gauge_id, g_free);
  G_OBJECT_CLASS (ef_reading_field_parent_class)->dispose (object);
}

static void
ef_reading_field_class_init (EfReadingFieldClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_reading_field_dispose;
  signals[KEPT] = g_signal_new ("kept", EF_TYPE_READING_FIELD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_BOOLEAN);
  signals[ENTERED] = g_signal_new ("entered", EF_TYPE_READING_FIELD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[BACK] = g_signal_new ("back", EF_TYPE_READING_FIELD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[TAKEN_BACK] = g_signal_new ("taken-back", EF_TYPE_READING_FIELD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
add_enter_key (EfReadingField *self,
               GtkShortcutController *keys,
               GdkModifierType modifiers,
               GtkShortcutFunc callback)
{
  GtkShortcutTrigger *either = gtk_alternative_trigger_new (gtk_keyval_trigger_new (GDK_KEY_Return, modifiers),
                                                            gtk_keyval_trigger_new (GDK_KEY_KP_Enter, modifiers));

  gtk_shortcut_controller_add_shortcut (keys, gtk_shortcut_new (either, gtk_callback_action_new (callback, self, NULL)));
}

static void
ef_reading_field_init (EfReadingField *self)
{
  GtkEventController *keys = gtk_shortcut_controller_new ();

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 6);
  self->unit = EF_UNIT_MM;
  self->temperature = NAN;
  self->shown = g_ptr_array_new_with_free_func (ef_item_unref);
  self->field = EF_FIELD (ef_field_new (NULL));
  self->kept = g_object_new (GTK_TYPE_FLOW_BOX, "selection-mode", GTK_SELECTION_NONE, "column-spacing", 4, "row-spacing", 4,
                             "max-children-per-line", 2, "visible", FALSE, NULL);
  self->mean = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "visible", FALSE, NULL);
  self->ungauged = g_object_new (GTK_TYPE_LABEL, "label", _ ("⚠ No gauge noted: how sure it is, is assumed"), "xalign", 0.0f, "wrap", TRUE, "visible", FALSE, NULL);
  gtk_widget_add_css_class (self->ungauged, "caption");
  gtk_widget_add_css_class (self->mean, "caption");
  gtk_widget_add_css_class (self->mean, "dim-label");
  gtk_box_append (GTK_BOX (self), GTK_WIDGET (self->field));
  gtk_box_append (GTK_BOX (self), self->kept);
  gtk_box_append (GTK_BOX (self), self->mean);
  gtk_box_append (GTK_BOX (self), self->ungauged);
  gtk_event_controller_set_propagation_phase (keys, GTK_PHASE_CAPTURE);
  add_enter_key (self, GTK_SHORTCUT_CONTROLLER (keys), GDK_CONTROL_MASK, stay_cb);
  add_enter_key (self, GTK_SHORTCUT_CONTROLLER (keys), GDK_SHIFT_MASK, back_cb);
  gtk_widget_add_controller (GTK_WIDGET (self->field), keys);
  g_signal_connect_swapped (self->field, "committed", G_CALLBACK (committed_cb), self);
  g_signal_connect_swapped (self->field, "left", G_CALLBACK (left_cb), self);
  g_signal_connect_swapped (self->field, "entered", G_CALLBACK (entered_cb), self);
}

GtkWidget *
ef_reading_field_new (EfSession *session,
                      const EfSlot *slot)
{
  EfReadingField *self = g_object_new (EF_TYPE_READING_FIELD, NULL);

  self->session = g_object_ref (session);
  self->slot = slot;
  ef_field_set_label (self->field, slot->label);
  g_signal_connect_object (session, "changed", G_CALLBACK (ef_reading_field_refresh), self, G_CONNECT_SWAPPED);
  ef_reading_field_refresh (self);
  return GTK_WIDGET (self);
}

const EfSlot *
ef_reading_field_slot (EfReadingField *self)
{
  return self->slot;
}

EfField *
ef_reading_field_field (EfReadingField *self)
{
  return self->field;
}

void
ef_reading_field_set_defaults (EfReadingField *self,
                               EfUnit unit,
                               const char *gauge_id,
                               double temperature)
{
  self->unit = unit;
  self->temperature = temperature;
  if (g_strcmp0 (self->gauge_id, gauge_id) != 0)
    {
      g_free (self->gauge_id);
      self->gauge_id = g_strdup (gauge_id);
    }
}
