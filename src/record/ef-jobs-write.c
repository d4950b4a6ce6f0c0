/* The list of jobs as text.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-jobs-write.h"
#include "../base/ef-csv.h"
#include "../inspection/ef-item-grid.h"

#include <math.h>

char *
ef_job_standing_text (const EfJobRow *row)
{
  if (row->withdrawn)
    return g_strdup ("withdrawn");
  if (row->sealed < 0)
    return g_strdup ("sealed elsewhere");
  if (row->sealed > 0)
    return g_strdup_printf ("sealed (%" G_GINT64_FORMAT ")", row->sealed);

  return g_strdup ("open");
}

char *
ef_jobs_to_csv (GPtrArray *rows)
{
  GString *csv = g_string_new (NULL);

  ef_csv_head (csv, "number", "pump", "model", "serial", "received", "vessel_or_machine", "verdict", "oil_pressure_found_bar", "oil_pressure_expected_bar",
               "marks", "standing", "revision", "changed", NULL);
  for (guint i = 0; i < rows->len; i++)
    {
      const EfJobRow *row = rows->pdata[i];
      g_autofree char *standing = ef_job_standing_text (row);

      ef_csv_text (csv, row->number);
      ef_csv_text (csv, row->pump);
      ef_csv_text (csv, row->model);
      ef_csv_text (csv, row->serial);
      ef_csv_text (csv, row->received);
      ef_csv_text (csv, row->customer);
      ef_csv_text (csv, row->verdict);
      ef_csv_number (csv, ef_pressure_to_bar (row->found_pressure));
      ef_csv_number (csv, ef_pressure_to_bar (row->expected_pressure));
      ef_csv_integer (csv, row->n_marks);
      ef_csv_text (csv, standing);
      ef_csv_integer (csv, row->revision);
      ef_csv_text (csv, row->changed);
      ef_csv_end (csv);
    }

  return g_string_free (csv, FALSE);
}

static void
put_bar (JsonObject *object,
         const char *member,
         double pressure)
{
  if (isfinite (pressure))
    json_object_set_double_member (object, member, ef_pressure_to_bar (pressure));
}

static JsonObject *
row_object (const EfJobRow *row)
{
  JsonObject *object = json_object_new ();
  g_autofree char *standing = ef_job_standing_text (row);

  json_object_set_string_member (object, "number", row->number);
  json_object_set_string_member (object, "pump", row->pump);
  json_object_set_string_member (object, "model", row->model);
  json_object_set_string_member (object, "serial", row->serial);
  json_object_set_string_member (object, "received", row->received);
  json_object_set_string_member (object, "customer", row->customer);
  json_object_set_string_member (object, "verdict", row->verdict);
  put_bar (object, "found_pressure_bar", row->found_pressure);
  put_bar (object, "expected_pressure_bar", row->expected_pressure);
  json_object_set_int_member (object, "marks", row->n_marks);
  json_object_set_string_member (object, "standing", standing);
  json_object_set_int_member (object, "revision", row->revision);
  json_object_set_string_member (object, "changed", row->changed);

  return object;
}

char *
ef_jobs_to_json (GPtrArray *rows,
                 guint n_found)
{
  JsonObject *object = json_object_new ();
  JsonArray *array = json_array_new ();
  g_autoptr (JsonNode) node = NULL;

  for (guint i = 0; i < rows->len; i++)
    json_array_add_object_element (array, row_object (rows->pdata[i]));
  json_object_set_int_member (object, "found", n_found);
  json_object_set_array_member (object, "jobs", array);
  node = ef_json_object_node (object);

  return ef_json_to_text (node);
}

#define N_COLUMNS 7

static void
row_texts (const EfJobRow *row,
           char *texts[N_COLUMNS])
{
  texts[0] = g_strdup (row->number);
  texts[1] = g_strdup (row->model);
  texts[2] = g_strdup (row->serial);
  texts[3] = g_strdup (row->received);
  texts[4] = g_strdup (*row->verdict != '\0' ? row->verdict : "not assessed");
  texts[5] = ef_job_standing_text (row);
  texts[6] = g_strdup (row->customer);
  for (guint i = 0; i < N_COLUMNS; i++)
    g_strdelimit (texts[i], "\t\r\n", ' ');
}

static void
append_line (GString *table,
             char *const texts[N_COLUMNS],
             const glong widths[N_COLUMNS])
{
  for (guint i = 0; i < N_COLUMNS; i++)
    {
      g_string_append (table, texts[i]);
      if (i + 1 < N_COLUMNS)
        g_string_append_printf (table, "%*s", (int) (widths[i] - g_utf8_strlen (texts[i], -1) + 2), "");
    }
  while (table->len > 0 && table->str[table->len - 1] == ' ')
    g_string_truncate (table, table->len - 1);
  g_string_append_c (table, '\n');
}

char *
ef_jobs_to_table (GPtrArray *rows)
{
  static const char *const titles[N_COLUMNS] = { "JOB", "MODEL", "SERIAL", "RECEIVED", "VERDICT", "STANDING", "VESSEL OR MACHINE" };
  GString *table = g_string_new (NULL);
  g_autofree char **texts = g_new0 (char *, (rows->len + 1) * N_COLUMNS);
  glong widths[N_COLUMNS] = { 0 };

  for (guint i = 0; i < N_COLUMNS; i++)
    texts[i] = g_strdup (titles[i]);
  for (guint i = 0; i < rows->len; i++)
    row_texts (rows->pdata[i], texts + (i + 1) * N_COLUMNS);
  for (guint i = 0; i < (rows->len + 1) * N_COLUMNS; i++)
    widths[i % N_COLUMNS] = MAX (widths[i % N_COLUMNS], g_utf8_strlen (texts[i], -1));
  for (guint i = 0; i <= rows->len; i++)
    append_line (table, texts + i * N_COLUMNS, widths);
  for (guint i = 0; i < (rows->len + 1) * N_COLUMNS; i++)
    g_free (texts[i]);

  return g_string_free (table, FALSE);
}
