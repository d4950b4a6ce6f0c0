/* Point sets of tests/data/form: comma-separated columns in mm under one line of names.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <glib.h>

/* All numbers of the file in m, row by row; @columns of them a row. Free with g_free(). */
static inline double *
form_data_read (const char *name,
                guint columns,
                guint *n_out)
{
  g_autofree char *path = g_test_build_filename (G_TEST_DIST, "data", "form", name, NULL);
  g_autofree char *text = NULL;
  g_autoptr (GError) error = NULL;
  g_auto (GStrv) lines = NULL;
  double *numbers;
  guint n = 0;

  g_file_get_contents (path, &text, NULL, &error);
  g_assert_no_error (error);
  lines = g_strsplit (g_strchomp (text), "\n", -1);
  numbers = g_new (double, columns * g_strv_length (lines));
  for (guint i = 1; lines[i] != NULL; i++)
    {
      g_auto (GStrv) fields = g_strsplit (lines[i], ",", -1);

      g_assert_cmpuint (g_strv_length (fields), ==, columns);
      for (guint k = 0; k < columns; k++)
        numbers[n++] = g_ascii_strtod (fields[k], NULL) * 1e-3;
    }
  *n_out = n / columns;
  return numbers;
}
