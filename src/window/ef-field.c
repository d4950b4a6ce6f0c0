/* The labelled entry of every form.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-field.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfField
{
  GtkBox parent_instance;

  GtkWidget *label;
  GtkWidget *entry;
  GtkWidget *message;
};

enum
{
  PROP_0,
  PROP_LABEL,
  PROP_TEXT,
  PROP_PLACEHOLDER,
  PROP_MESSAGE,
  N_PROPS
};
static GParamSpec *properties[N_PROPS];

enum
{
  COMMITTED,
  LEFT,
  ENTERED,
  EDITED,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfField, ef_field, GTK_TYPE_BOX)

static void
activate_cb (EfField *self)
{
  g_signal_emit (self, signals[COMMITTED], 0);
}

static void
changed_cb (EfField *self)
{
  ef_field_set_message (self, NULL);
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_TEXT]);
  g_signal_emit (self, signals[EDITED], 0);
}

static void
focus_enter_cb (EfField *self)
{
  g_signal_emit (self, signals[ENTERED], 0);
}

static void
focus_leave_cb (EfField *self)
{
  g_signal_emit (self, signals[LEFT], 0);
}

static void
ef_field_get_property (GObject *object,
                       guint prop_id,
                       GValue *value,
                       GParamSpec *pspec)
{
  EfField *self = EF_FIELD (object);

  switch (prop_id)
    {
    case PROP_LABEL:
      g_value_set_string (value, gtk_label_get_label (GTK_LABEL (self->label)));
      break;
    case PROP_TEXT:
      g_value_set_string (value, ef_field_text (self));
      break;
    case PROP_PLACEHOLDER:
      g_value_set_string (value, gtk_entry_get_placeholder_text (GTK_ENTRY (self->entry)));
      break;
    case PROP_MESSAGE:
      g_value_set_string (value, ef_field_message (self));
      break;
    default:
      G_OBJECT_WARN_INVALID_PROPERTY_ID (object, prop_id, pspec);
    }
}

static void
ef_field_set_property (GObject *object,
                       guint prop_id,
                       const GValue *value,
                       GParamSpec *pspec)
{
  EfField *self = EF_FIELD (object);

  switch (prop_id)
    {
    case PROP_LABEL:
      ef_field_set_label (self, g_value_get_string (value));
      break;
    case PROP_TEXT:
      ef_field_set_text (self, g_value_get_string (value));
      break;
    case PROP_PLACEHOLDER:
      gtk_entry_set_placeholder_text (GTK_ENTRY (self->entry), g_value_get_string (value));
      break;
    case PROP_MESSAGE:
      ef_field_set_message (self, g_value_get_string (value));
      break;
    default:
      G_OBJECT_WARN_INVALID_PROPERTY_ID (object, prop_id, pspec);
    }
}

static gboolean
ef_field_grab_focus (GtkWidget *widget)
{
  return gtk_widget_grab_focus (EF_FIELD (widget)->entry);
}

static void
ef_field_class_init (EfFieldClass *klass)
{
  GObjectClass *object_class = G_OBJECT_CLASS (klass);
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);
  GParamFlags flags = G_PARAM_READWRITE | G_PARAM_STATIC_STRINGS;

  object_class->get_property = ef_field_get_property;
  object_class->set_property = ef_field_set_property;
  widget_class->grab_focus = ef_field_grab_focus;

  properties[PROP_LABEL] = g_param_spec_string ("label", NULL, NULL, NULL, flags);
  properties[PROP_TEXT] = g_param_spec_string ("text", NULL, NULL, NULL, flags);
  properties[PROP_PLACEHOLDER] = g_param_spec_string ("placeholder", NULL, NULL, NULL, flags);
  properties[PROP_MESSAGE] = g_param_spec_string ("message", NULL, NULL, NULL, flags);
  g_object_class_install_properties (object_class, N_PROPS, properties);

  signals[COMMITTED] = g_signal_new ("committed", EF_TYPE_FIELD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[LEFT] = g_signal_new ("left", EF_TYPE_FIELD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[ENTERED] = g_signal_new ("entered", EF_TYPE_FIELD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[EDITED] = g_signal_new ("edited", EF_TYPE_FIELD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_field_init (EfField *self)
{
  GtkEventController *focus = gtk_event_controller_focus_new ();

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 4);
  gtk_widget_add_css_class (GTK_WIDGET (self), "ef-field");

  self->label = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (self->label, "caption-heading");
  self->entry = g_object_new (GTK_TYPE_ENTRY, "hexpand", TRUE, "width-chars", 8, NULL);
  gtk_widget_add_css_class (self->entry, "ef-touch");
  /* As wide as its entry: a long message must not push the fields beside it away. */
  self->message = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "width-chars", 8, "max-width-chars", 16, "visible", FALSE, NULL);
  gtk_widget_add_css_class (self->message, "caption");
  gtk_widget_add_css_class (self->message, "error");

  gtk_box_append (GTK_BOX (self), self->label);
  gtk_box_append (GTK_BOX (self), self->entry);
  gtk_box_append (GTK_BOX (self), self->message);
  gtk_label_set_mnemonic_widget (GTK_LABEL (self->label), self->entry);
  gtk_accessible_update_relation (GTK_ACCESSIBLE (self->entry),
                                  GTK_ACCESSIBLE_RELATION_LABELLED_BY, self->label, NULL,
                                  GTK_ACCESSIBLE_RELATION_DESCRIBED_BY, self->message, NULL, -1);

  g_signal_connect_swapped (self->entry, "activate", G_CALLBACK (activate_cb), self);
  g_signal_connect_swapped (self->entry, "changed", G_CALLBACK (changed_cb), self);
  g_signal_connect_swapped (focus, "enter", G_CALLBACK (focus_enter_cb), self);
  g_signal_connect_swapped (focus, "leave", G_CALLBACK (focus_leave_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), focus);
}

GtkWidget *
ef_field_new (const char *label)
{
  return g_object_new (EF_TYPE_FIELD, "label", label, NULL);
}

const char *
ef_field_text (EfField *self)
{
  return gtk_editable_get_text (GTK_EDITABLE (self->entry));
}

void
ef_field_set_text (EfField *self,
                   const char *text)
{
  gtk_editable_set_text (GTK_EDITABLE (self->entry), text != NULL ? text : "");
  ef_field_set_message (self, NULL);
}

void
ef_field_set_label (EfField *self,
                    const char *label)
{
  gtk_label_set_label (GTK_LABEL (self->label), label != NULL ? label : "");
  gtk_widget_set_visible (self->label, label != NULL && label[0] != '\0');
}

void
ef_field_set_message (EfField *self,
                      const char *message)
{
  gboolean bad = message != NULL && message[0] != '\0';

  gtk_label_set_label (GTK_LABEL (self->message), bad ? message : "");
  gtk_widget_set_visible (self->message, bad);
  if (bad)
    gtk_widget_add_css_class (self->entry, "error");
  else
    gtk_widget_remove_css_class (self->entry, "error");
  gtk_accessible_update_state (GTK_ACCESSIBLE (self->entry), GTK_ACCESSIBLE_STATE_INVALID,
                               bad ? GTK_ACCESSIBLE_INVALID_TRUE : GTK_ACCESSIBLE_INVALID_FALSE, -1);
}

const char *
ef_field_message (EfField *self)
{
  const char *text = gtk_label_get_label (GTK_LABEL (self->message));

  return text[0] != '\0' ? text : NULL;
}

GtkWidget *
ef_field_entry (EfField *self)
{
  return self->entry;
}

/* TRUE when there is something to read; otherwise *ok_out says whether empty will do. */
static gboolean
has_text (EfField *self,
          gboolean required,
          gboolean *ok_out)
{
  g_autofree char *text = g_strstrip (g_strdup (ef_field_text (self)));

  *ok_out = TRUE;
  if (text[0] != '\0')
    return TRUE;
  if (required)
    {
      ef_field_set_message (self, _ ("This is needed."));
      *ok_out = FALSE;
    }
  return FALSE;
}

gboolean
ef_field_quantity (EfField *self,
                   EfUnit unit,
                   gboolean required,
                   double *si_out,
                   EfUnit *unit_out)
{
  g_autoptr (GError) error = NULL;
  gboolean ok;

  *si_out = NAN;
  if (unit_out != NULL)
    *unit_out = unit;
  if (!has_text (self, required, &ok))
    return ok;
  switch (unit)
    {
    case EF_UNIT_M:
    case EF_UNIT_MM:
    case EF_UNIT_UM:
    case EF_UNIT_INCH:
    case EF_UNIT_THOU:
      ok = ef_parse_length (ef_field_text (self), unit, si_out, unit_out, &error);
      break;
    case EF_UNIT_RAD:
    case EF_UNIT_DEG:
      ok = ef_parse_angle (ef_field_text (self), unit, si_out, unit_out, &error);
      break;
    default:
      ok = ef_parse_quantity (ef_field_text (self), unit, si_out, unit_out, &error);
      break;
    }
  ef_field_set_message (self, ok ? NULL : error->message);
  return ok;
}

gboolean
ef_field_number (EfField *self,
                 gboolean required,
                 double min,
                 double max,
                 double *number_out)
{
  gboolean ok;
  g_autofree char *text = NULL;
  g_autofree char *message = NULL;
  char *end;
  double value;

  *number_out = NAN;
  if (!has_text (self, required, &ok))
    return ok;
  text = g_strdelimit (g_strstrip (g_strdup (ef_field_text (self))), ",", '.');
  value = g_ascii_strtod (text, &end);
  if (*end != '\0' || !isfinite (value) || value < min || value > max)
    {
      message = g_strdup_printf (_ ("Expected a number from %g to %g."), min, max);
      ef_field_set_message (self, message);
      return FALSE;
    }
  *number_out = value;
  ef_field_set_message (self, NULL);
  return TRUE;
}

gboolean
ef_field_string (EfField *self,
                 gboolean required,
                 char **text_out)
{
  gboolean ok;

  *text_out = NULL;
  if (!has_text (self, required, &ok))
    return ok;
  *text_out = g_strstrip (g_strdup (ef_field_text (self)));
  ef_field_set_message (self, NULL);
  return TRUE;
}

gboolean
ef_field_date (EfField *self,
               gboolean required,
               char **date_out)
{
  gboolean ok;
  g_autofree char *text = NULL;
  int year, month, day, end = 0;

  *date_out = NULL;
  if (!has_text (self, required, &ok))
    return ok;
  text = g_strstrip (g_strdup (ef_field_text (self)));
  if (sscanf (text, "%4d-%2d-%2d%n", &year, &month, &day, &end) != 3 || text[end] != '\0'
      || year < 1000 || month < 1 || month > 12 || day < 1 || !g_date_valid_dmy (day, month, year))
    {
      ef_field_set_message (self, _ ("Expected a date like 2026-03-09."));
      return FALSE;
    }
  *date_out = g_strdup_printf ("%04d-%02d-%02d", year, month, day);
  ef_field_set_message (self, NULL);
  return TRUE;
}
