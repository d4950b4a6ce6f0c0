/* A table of header fields, each with how it's read and shown.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-header-form.h"
#include "ef-field.h"
#include "ef-settings.h"

#include <glib/gi18n.h>
#include <math.h>

typedef enum { TEXT, REQUIRED_TEXT, DATE, PRESSURE, SPEED, TEMPERATURE, HOURS } FieldKind;

typedef struct
{
  const char *label;
  const char *placeholder;
  FieldKind kind;
  gsize offset; /* in EfJobHeader */
  gboolean wide;
} HeaderField;

#define AT(field) G_STRUCT_OFFSET (EfJobHeader, field)

static const HeaderField header_fields[] = {
  { N_ ("Job number"), NULL, REQUIRED_TEXT, AT (number) },
  { N_ ("Received"), "2026-03-09", DATE, AT (received) },
  { N_ ("Serial number of the pump"), NULL, TEXT, AT (serial) },
  { N_ ("Vessel or machine"), N_ ("tug, port engine"), TEXT, AT (customer) },
  { N_ ("Running hours"), N_ ("4200"), HOURS, AT (hours) },
  { N_ ("Oil in use"), N_ ("SAE 30"), TEXT, AT (oil) },
  { N_ ("Complaint"), N_ ("low oil pressure at idle when hot"), TEXT, AT (complaint), TRUE },
  { N_ ("Oil pressure found, hot idle"), N_ ("1.2 bar"), PRESSURE, AT (found_pressure) },
  { N_ ("Oil pressure expected"), N_ ("2.5 bar"), PRESSURE, AT (expected_pressure) },
  { N_ ("At pump speed"), N_ ("600 rpm"), SPEED, AT (found_speed) },
  { N_ ("At oil temperature"), N_ ("95 °C"), TEMPERATURE, AT (found_temperature) },
  { N_ ("Bench"), N_ ("bench 2"), TEXT, AT (bench) },
  { N_ ("Role"), N_ ("rebuilder"), TEXT, AT (role) },
  { N_ ("Note"), NULL, TEXT, AT (note), TRUE },
};

struct _EfHeaderForm
{
  GtkBox parent_instance;

  EfSession *session;
  EfField *fields[G_N_ELEMENTS (header_fields)];
  gboolean filling;
};

G_DEFINE_FINAL_TYPE (EfHeaderForm, ef_header_form, GTK_TYPE_BOX)

static EfJobHeader *
header_of (EfHeaderForm *self)
{
  return (EfJobHeader *) ef_inspection_header (ef_document_inspection (ef_session_document (self->session)));
}

/* Reads the field into the header; FALSE with a message at the field when it can't be read. */
static gboolean
read_field (EfField *field,
            const HeaderField *what,
            EfJobHeader *header)
{
  char **text = G_STRUCT_MEMBER_P (header, what->offset);
  double *number = G_STRUCT_MEMBER_P (header, what->offset);
  double value = NAN;
  char *read = NULL;
  gboolean ok;

  switch (what->kind)
    {
    case TEXT:
    case REQUIRED_TEXT:
      ok = ef_field_string (field, what->kind == REQUIRED_TEXT, &read);
      break;
    case DATE:
      ok = ef_field_date (field, FALSE, &read);
      break;
    case PRESSURE:
      ok = ef_field_quantity (field, ef_settings_pressure_unit (), FALSE, &value, NULL);
      break;
    case SPEED:
      ok = ef_field_quantity (field, EF_UNIT_RPM, FALSE, &value, NULL);
      value /= 2 * G_PI;
      break;
    case TEMPERATURE:
      ok = ef_field_quantity (field, EF_UNIT_CELSIUS, FALSE, &value, NULL);
      break;
    default:
      ok = ef_field_number (field, FALSE, 0, 1e7, &value);
      break;
    }
  if (!ok)
    return FALSE;
  if (what->kind <= DATE)
    {
      g_free (*text);
      *text = read;
    }
  else
    *number = value;
  return TRUE;
}

static char *
shown_text (const HeaderField *what,
            const EfJobHeader *header)
{
  const double number = *(const double *) G_STRUCT_MEMBER_P (header, what->offset);

  switch (what->kind)
    {
    case TEXT:
    case REQUIRED_TEXT:
    case DATE:
      return g_strdup (*(char *const *) G_STRUCT_MEMBER_P (header, what->offset));
    case PRESSURE:
      return ef_settings_exact (number, ef_settings_pressure_unit ());
    case SPEED:
      return ef_settings_exact (number * 2 * G_PI, EF_UNIT_RPM);
    case TEMPERATURE:
      return ef_settings_exact (number, EF_UNIT_CELSIUS);
    default:
      return isnan (number) ? NULL : g_strdup_printf ("%.10g", number);
    }
}

static void
keep (EfHeaderForm *self,
      guint index)
{
  const HeaderField *what = &header_fields[index];
  EfJobHeader *before = header_of (self);
  g_autoptr (EfItem) after = NULL;
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = NULL;
  g_autofree char *shown = shown_text (what, before);

  /* Unless it was edited there is nothing to keep; reading it back could round a number. */
  if (g_strcmp0 (ef_field_text (self->fields[index]), shown != NULL ? shown : "") == 0)
    return;
  after = ef_item_copy (before);
  if (!read_field (self->fields[index], what, (EfJobHeader *) after) || ef_item_equal (before, after))
    return;
  label = g_strdup_printf (_ ("Job details: %s"), _ (what->label));
  change = ef_change_new (label);
  ef_change_add (change, before, after);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

static guint
index_of (EfHeaderForm *self,
          EfField *field)
{
  guint i;

  for (i = 0; i < G_N_ELEMENTS (header_fields) - 1; i++)
    if (self->fields[i] == field)
      return i;
  return i;
}

static void
committed_cb (EfHeaderForm *self,
              EfField *field)
{
  guint i = index_of (self, field);

  keep (self, i);
  if (ef_field_message (field) == NULL && i + 1 < G_N_ELEMENTS (header_fields))
    gtk_widget_grab_focus (GTK_WIDGET (self->fields[i + 1]));
}

static void
left_cb (EfHeaderForm *self,
         EfField *field)
{
  if (!self->filling && gtk_widget_get_root (GTK_WIDGET (self)) != NULL)
    keep (self, index_of (self, field));
}

static void
fill (EfHeaderForm *self)
{
  const EfJobHeader *header = header_of (self);
  guint i;

  self->filling = TRUE;
  for (i = 0; i < G_N_ELEMENTS (header_fields); i++)
    {
      g_autofree char *text = shown_text (&header_fields[i], header);

      /* What can't be read yet stays where it is. */
      if (ef_field_message (self->fields[i]) == NULL && g_strcmp0 (ef_field_text (self->fields[i]), text != NULL ? text : "") != 0)
        ef_field_set_text (self->fields[i], text);
    }
  self->filling = FALSE;
  for (guint k = 0; k < G_N_ELEMENTS (header_fields); k++)
    gtk_editable_set_editable (GTK_EDITABLE (ef_field_entry (self->fields[k])), !ef_session_read_only (self->session));
}

static void
ef_header_form_dispose (GObject *object)
{
  EfHeaderForm *self = EF_HEADER_FORM (object);

  self->filling = TRUE;
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_header_form_parent_class)->dispose (object);
}

static void
ef_header_form_class_init (EfHeaderFormClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_header_form_dispose;
}

static void
ef_header_form_init (EfHeaderForm *self)
{
  GtkWidget *grid = g_object_new (GTK_TYPE_GRID, "row-spacing", 14, "column-spacing", 12, "column-homogeneous", TRUE, "hexpand", TRUE, NULL);
  int row = 0, column = 0;
  guint i;

  gtk_box_append (GTK_BOX (self), grid);
  for (i = 0; i < G_N_ELEMENTS (header_fields); i++)
    {
      self->fields[i] = EF_FIELD (ef_field_new (_ (header_fields[i].label)));
      if (header_fields[i].placeholder != NULL)
        g_object_set (self->fields[i], "placeholder", _ (header_fields[i].placeholder), NULL);
      if (header_fields[i].wide && column == 1)
        {
          row++;
          column = 0;
        }
      gtk_grid_attach (GTK_GRID (grid), GTK_WIDGET (self->fields[i]), column, row, header_fields[i].wide ? 2 : 1, 1);
      column = header_fields[i].wide ? 0 : 1 - column;
      if (column == 0)
        row++;
    }
}

GtkWidget *
ef_header_form_new (EfSession *session)
{
  EfHeaderForm *self = g_object_new (EF_TYPE_HEADER_FORM, NULL);
  guint i;

  self->session = g_object_ref (session);
  fill (self);
  for (i = 0; i < G_N_ELEMENTS (header_fields); i++)
    {
      g_signal_connect_object (self->fields[i], "committed", G_CALLBACK (committed_cb), self, G_CONNECT_SWAPPED);
      g_signal_connect_object (self->fields[i], "left", G_CALLBACK (left_cb), self, G_CONNECT_SWAPPED);
    }
  g_signal_connect_object (session, "changed", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed::pressure-unit", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  return GTK_WIDGET (self);
}
