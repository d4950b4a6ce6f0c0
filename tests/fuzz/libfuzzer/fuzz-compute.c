/* Computations by name: the first line names one, the rest is its input.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "calc/ef-calc.h"

#include <string.h>

#define MOST_INPUT 600 /* more is more work, not another */

/* Those that judge or draw thousands of pumps by design: a minute each under the sanitizers. */
static gboolean
is_long (const char *name)
{
  static const char *const names[] = { "coverage-experiment", NULL };

  return g_strv_contains (names, name);
}

void
fuzz_compute (const guint8 *data,
              gsize size)
{
  const guint8 *end = memchr (data, '\n', size);
  g_autofree char *name = end != NULL ? g_strndup ((const char *) data, (gsize) (end - data)) : NULL;
  g_autofree char *input = end != NULL ? g_strndup ((const char *) end + 1, size - (gsize) (end + 1 - data)) : NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (JsonNode) node = NULL;

  if (input == NULL || strlen (input) > MOST_INPUT || is_long (name) || ef_calc_find (name) == NULL)
    return;
  node = ef_calc_run (name, input, &error);
  fuzz_check_answer (node != NULL, error);
}
