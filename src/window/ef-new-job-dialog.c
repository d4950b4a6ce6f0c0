/* New job: pump sheet, number, what is known before the pump is opened.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-new-job-dialog.h"
#include "ef-field.h"
#include "ef-settings.h"
#include "ef-sheets.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfNewJobDialog
{
  AdwWindow parent_instance;

  GtkDropDown *sheet;
  GtkLabel *sheet_note;
  EfField *number, *received, *serial, *customer, *complaint, *pressure, *expected, *speed, *temperature;

  EfWindow *window;
  GPtrArray *sheets; /* EfSheetEntry * */
};

G_DEFINE_FINAL_TYPE (EfNewJobDialog, ef_new_job_dialog, ADW_TYPE_WINDOW)

#define LATEST_JOBS 500

/* The figures a number ends with; FALSE where there are none. */
static gboolean
split_number (const char *number,
              gsize *head_out,
              guint64 *tail_out)
{
  gsize length = strlen (number);
  gsize head = length;

  while (head > 0 && g_ascii_isdigit (number[head - 1]) && length - head < 15)
    head--;
  if (head == length)
    return FALSE;
  *head_out = head;
  *tail_out = g_ascii_strtoull (number + head, NULL, 10);
  return TRUE;
}

char *
ef_suggest_job_number (EfStore *store)
{
  EfJobQuery query = { .limit = LATEST_JOBS };
  g_autoptr (GPtrArray) jobs = ef_store_jobs (store, &query, NULL);
  g_autofree char *prefix = g_strdup ("J-");
  guint64 highest = 0;
  int width = 4;
  guint i;

  for (i = 0; jobs != NULL && i < jobs->len; i++)
    {
      const EfJobRow *row = g_ptr_array_index (jobs, i);
      gsize head;
      guint64 tail;

      if (!split_number (row->number, &head, &tail))
        continue;
      if (highest == 0)
        {
          /* The latest job shows how this shop numbers its jobs. */
          g_free (prefix);
          prefix = g_strndup (row->number, head);
          width = strlen (row->number) - head;
        }
      if (strncmp (row->number, prefix, head) == 0 && head == strlen (prefix))
        highest = MAX (highest, tail);
    }
  return g_strdup_printf ("%s%0*" G_GUINT64_FORMAT, prefix, width, highest + 1);
}

static EfPumpSheet *
chosen_sheet (EfNewJobDialog *self)
{
  guint selected = gtk_drop_down_get_selected (self->sheet);
  const EfSheetEntry *entry;

  if (selected == GTK_INVALID_LIST_POSITION || selected >= self->sheets->len)
    return NULL;
  entry = g_ptr_array_index (self->sheets, selected);
  return entry->sheet;
}

static void
sheet_chosen_cb (EfNewJobDialog *self)
{
  EfPumpSheet *sheet = chosen_sheet (self);
  const char *note = sheet != NULL ? sheet->notes : _ ("There are no pump sheets. Add one on the page Pump Sheets first.");

  gtk_label_set_label (self->sheet_note, note != NULL ? note : "");
}

/* All fields are tried, so that every message shows at once. The text fields can't fail but for the number. */
static EfJobHeader *
read_fields (EfNewJobDialog *self)
{
  g_autoptr (EfItem) item = ef_item_new (&ef_job_header_class, "job");
  EfJobHeader *header = (EfJobHeader *) item;
  gboolean ok = TRUE;

  header->hours = NAN;
  ok = ef_field_string (self->number, TRUE, &header->number) && ok;
  ok = ef_field_date (self->received, FALSE, &header->received) && ok;
  ok = ef_field_string (self->serial, FALSE, &header->serial) && ok;
  ok = ef_field_string (self->customer, FALSE, &header->customer) && ok;
  ok = ef_field_string (self->complaint, FALSE, &header->complaint) && ok;
  ok = ef_field_quantity (self->pressure, ef_settings_pressure_unit (), FALSE, &header->found_pressure, NULL) && ok;
  ok = ef_field_quantity (self->expected, ef_settings_pressure_unit (), FALSE, &header->expected_pressure, NULL) && ok;
  ok = ef_field_quantity (self->speed, EF_UNIT_RPM, FALSE, &header->found_speed, NULL) && ok;
  ok = ef_field_quantity (self->temperature, EF_UNIT_CELSIUS, FALSE, &header->found_temperature, NULL) && ok;
  if (!ok)
    return NULL;
  /* The header counts the speed in turns. */
  header->found_speed /= 2 * G_PI;
  header->bench = ef_settings_bench ();
  header->role = ef_settings_role ();
  ef_settings_decision (&header->decision, &header->coverage);
  return (EfJobHeader *) g_steal_pointer (&item);
}

static void
create_cb (EfNewJobDialog *self)
{
  EfPumpSheet *sheet = chosen_sheet (self);
  g_autoptr (EfItem) header = NULL;
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (GError) error = NULL;
  EfWindow *window = self->window;
  gint64 job;

  header = (EfItem *) read_fields (self);
  if (header == NULL || sheet == NULL)
    return;
  inspection = ef_inspection_new (sheet, ((EfJobHeader *) header)->number);
  if (!ef_inspection_swap (inspection, (EfItem *) ef_inspection_header (inspection), header, &error))
    {
      ef_field_set_message (self->number, error->message);
      return;
    }
  job = ef_store_add (ef_window_store (window), inspection, &error);
  if (job <= 0)
    {
      ef_field_set_message (self->number, error->message);
      gtk_widget_grab_focus (GTK_WIDGET (self->number));
      return;
    }
  gtk_window_close (GTK_WINDOW (self));
  ef_window_open_job (window, job);
}

static void
ef_new_job_dialog_dispose (GObject *object)
{
  EfNewJobDialog *self = EF_NEW_JOB_DIALOG (object);

  g_clear_pointer (&self->sheets, g_ptr_array_unref);
  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_NEW_JOB_DIALOG);
  G_OBJECT_CLASS (ef_new_job_dialog_parent_class)->dispose (object);
}

static void
ef_new_job_dialog_class_init (EfNewJobDialogClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_new_job_dialog_dispose;
  g_type_ensure (EF_TYPE_FIELD);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/new-job-dialog.ui");
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, sheet);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, sheet_note);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, number);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, received);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, serial);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, customer);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, complaint);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, pressure);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, expected);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, speed);
  gtk_widget_class_bind_template_child (widget_class, EfNewJobDialog, temperature);
  gtk_widget_class_bind_template_callback (widget_class, create_cb);
  gtk_widget_class_add_binding_action (widget_class, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
ef_new_job_dialog_init (EfNewJobDialog *self)
{
  g_autoptr (GDateTime) today = g_date_time_new_now_local ();
  g_autofree char *date = g_date_time_format (today, "%Y-%m-%d");

  gtk_widget_init_template (GTK_WIDGET (self));
  ef_field_set_text (self->received, date);
}

EfNewJobDialog *
ef_new_job_dialog_show (EfWindow *window)
{
  EfNewJobDialog *self = g_object_new (EF_TYPE_NEW_JOB_DIALOG, "transient-for", window, NULL);
  EfStore *store = ef_window_store (window);
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  g_autofree char *number = ef_suggest_job_number (store);
  guint i;

  self->window = window;
  self->sheets = ef_sheets_all (store, NULL);
  for (i = 0; i < self->sheets->len; i++)
    {
      const EfSheetEntry *entry = g_ptr_array_index (self->sheets, i);

      gtk_string_list_append (names, entry->sheet->name);
    }
  gtk_drop_down_set_model (self->sheet, G_LIST_MODEL (names));
  g_signal_connect_swapped (self->sheet, "notify::selected", G_CALLBACK (sheet_chosen_cb), self);
  sheet_chosen_cb (self);
  ef_field_set_text (self->number, number);
  gtk_window_present (GTK_WINDOW (self));
  gtk_widget_grab_focus (GTK_WIDGET (self->number));
  return self;
}
