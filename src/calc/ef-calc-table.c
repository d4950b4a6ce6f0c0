/* Tables of comma-separated values as the input of a computation.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc-table.h"

#include "../metrology/ef-study-table.h"

#include <gio/gio.h>

#define MOST_BYTES (8 * 1024 * 1024)

/* Takes @array. */
static char *
input_text (const char *member,
            JsonArray *array)
{
  JsonObject *object = json_object_new ();
  g_autoptr (JsonNode) node = NULL;

  json_object_set_array_member (object, member, array);
  node = ef_json_object_node (object);

  return ef_json_to_text (node);
}

char *
ef_calc_table_study (const char *text,
                     const char *file,
                     GError **error)
{
  g_autoptr (EfStudyTable) table = ef_study_table_parse (text, file, error);
  const double *value = table != NULL ? table->values : NULL;
  JsonArray *parts;

  if (table == NULL)
    return NULL;
  parts = json_array_new ();
  for (guint p = 0; p < table->readings.n_parts; p++)
    {
      JsonArray *appraisers = json_array_new ();

      for (guint a = 0; a < table->readings.n_appraisers; a++)
        {
          JsonArray *trials = json_array_new ();

          for (guint t = 0; t < table->readings.n_trials; t++)
            json_array_add_double_element (trials, *value++);
          json_array_add_array_element (appraisers, trials);
        }
      json_array_add_array_element (parts, appraisers);
    }

  return input_text ("readings", parts);
}

static JsonArray *
counts_row (const guint *counts,
            guint n)
{
  JsonArray *row = json_array_new ();

  for (guint j = 0; j < n; j++)
    json_array_add_int_element (row, counts[j]);

  return row;
}

static int
rating_of (const EfRatingTable *table,
           guint item,
           guint rater)
{
  return table->ratings[item * table->raters->len + rater];
}

static gboolean
check_categories (const EfRatingTable *table,
                  const char *file,
                  GError **error)
{
  if (table->categories->len > 1)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: column “category”: expected at least two different ones, found “%s” alone", file,
               table->categories->len > 0 ? (char *) table->categories->pdata[0] : "");

  return FALSE;
}

char *
ef_calc_table_two (const char *text,
                   const char *file,
                   GError **error)
{
  g_autoptr (EfRatingTable) table = ef_rating_table_parse (text, file, error);
  guint n = table != NULL ? table->categories->len : 0;
  g_autofree guint *counts = g_new0 (guint, n * n + 1);
  JsonArray *rows;

  if (table == NULL || !check_categories (table, file, error))
    return NULL;
  if (table->raters->len != 2)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: column “rater”: expected two people, found %u; agreement-of-many is for more", file, table->raters->len);
      return NULL;
    }
  for (guint i = 0; i < table->items->len; i++)
    if (rating_of (table, i, 0) >= 0 && rating_of (table, i, 1) >= 0)
      counts[(guint) rating_of (table, i, 0) * n + (guint) rating_of (table, i, 1)]++;
  rows = json_array_new ();
  for (guint k = 0; k < n; k++)
    json_array_add_array_element (rows, counts_row (counts + k * n, n));

  return input_text ("table", rows);
}

char *
ef_calc_table_many (const char *text,
                    const char *file,
                    GError **error)
{
  g_autoptr (EfRatingTable) table = ef_rating_table_parse (text, file, error);
  guint n = table != NULL ? table->categories->len : 0;
  JsonArray *rows;

  if (table == NULL || !check_categories (table, file, error))
    return NULL;
  rows = json_array_new ();
  for (guint i = 0; i < table->items->len; i++)
    {
      g_autofree guint *counts = g_new0 (guint, n + 1);

      for (guint r = 0; r < table->raters->len; r++)
        {
          int category = rating_of (table, i, r);

          if (category >= 0)
            {
              counts[category]++;
              continue;
            }
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: item %s: expected a category from everybody, found none from %s", file, (char *) table->items->pdata[i],
                       (char *) table->raters->pdata[r]);
          json_array_unref (rows);
          return NULL;
        }
      json_array_add_array_element (rows, counts_row (counts, n));
    }

  return input_text ("counts", rows);
}

char *
ef_calc_table_load (const char *path,
                    GError **error)
{
  g_autoptr (GFile) file = g_file_new_for_path (path);
  g_autoptr (GFileInputStream) stream = g_file_read (file, NULL, error);
  g_autofree char *text = g_malloc (MOST_BYTES + 2);
  gsize length;

  if (stream == NULL || !g_input_stream_read_all (G_INPUT_STREAM (stream), text, MOST_BYTES + 1, &length, NULL, error))
    return NULL;
  text[length] = '\0';
  if (length <= MOST_BYTES && g_utf8_validate_len (text, length, NULL))
    return g_steal_pointer (&text);
  g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected text in UTF-8 of at most 8 MiB", path);

  return NULL;
}
