/* Tables of check values in tests/data: case, inputs "name=value;…", quantity, value, unit, tolerance, source.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include <math.h>
#include <string.h>
#include <glib.h>

typedef struct
{
  const char *name;
  const char *inputs;
  const char *quantity;
  const char *text; /* the value as written */
  double value;     /* 0 where the text is no number */
  double tolerance; /* relative; 0: exact */
} CheckRow;

typedef void (*CheckRowFunc) (const CheckRow *row);

static inline char **
check_split_line (const char *line)
{
  GPtrArray *fields = g_ptr_array_new ();
  GString *field = g_string_new (NULL);
  gboolean quoted = FALSE;

  for (const char *p = line;; p++)
    {
      if (*p == '\0' || (*p == ',' && !quoted))
        {
          g_ptr_array_add (fields, g_string_free (field, FALSE));
          if (*p == '\0')
            break;
          field = g_string_new (NULL);
        }
      else if (*p == '"')
        quoted = !quoted;
      else if (*p != '\r')
        g_string_append_c (field, *p);
    }
  g_ptr_array_add (fields, NULL);

  return (char **) g_ptr_array_free (fields, FALSE);
}

/* The lines of a file in tests/data after its heading. */
static inline char **
check_lines (const char *file)
{
  g_autofree char *path = g_test_build_filename (G_TEST_DIST, "data", file, NULL);
  g_autofree char *text = NULL;
  g_autoptr (GError) error = NULL;

  g_file_get_contents (path, &text, NULL, &error);
  g_assert_no_error (error);

  return g_strsplit (strchr (g_strstrip (text), '\n') + 1, "\n", -1);
}

/* Calls @func for each row; returns how many there were. */
static inline guint
check_table (const char *file,
             CheckRowFunc func)
{
  g_auto (GStrv) lines = check_lines (file);
  guint n = 0;

  for (; lines[n] != NULL; n++)
    {
      g_auto (GStrv) fields = check_split_line (lines[n]);
      CheckRow row = { 0 };

      g_assert_cmpuint (g_strv_length (fields), ==, 7);
      row.name = fields[0];
      row.inputs = fields[1];
      row.quantity = fields[2];
      row.text = fields[3];
      row.value = g_ascii_strtod (fields[3], NULL);
      row.tolerance = g_str_equal (fields[5], "exact") ? 0.0 : g_ascii_strtod (fields[5], NULL);
      func (&row);
    }

  return n;
}

static inline double
check_input (const char *inputs,
             const char *name,
             double fallback)
{
  g_auto (GStrv) parts = g_strsplit (inputs, ";", -1);
  gsize n = strlen (name);

  for (guint i = 0; parts[i] != NULL; i++)
    if (g_str_has_prefix (parts[i], name) && parts[i][n] == '=')
      return g_ascii_strtod (parts[i] + n + 1, NULL);

  return fallback;
}

/* An expected value that is zero but for rounding is held as absolute. */
static inline void
check_near (const CheckRow *row,
            double value)
{
  g_test_message ("%s: %s %.10g, expected %.10g", row->name, row->quantity, value, row->value);
  if (fabs (row->value) < 1e-9)
    g_assert_cmpfloat (fabs (value), <, 1e-9);
  else
    g_assert_cmpfloat (fabs (value - row->value), <=, row->tolerance * fabs (row->value));
}
