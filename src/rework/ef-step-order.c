/* Steps in an order that can be worked: a stable topological sort.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-steps.h"

static gboolean
is_ready (const EfStep *step,
          GHashTable *waiting)
{
  for (guint i = 0; i < step->after->len; i++)
    if (g_hash_table_contains (waiting, step->after->pdata[i]))
      return FALSE;

  return TRUE;
}

gboolean
ef_steps_order (GPtrArray *steps,
                GError **error)
{
  g_autoptr (GHashTable) waiting = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GPtrArray) left = g_ptr_array_new ();
  g_autoptr (GPtrArray) ordered = g_ptr_array_new ();

  for (guint i = 0; i < steps->len; i++)
    {
      EfStep *step = steps->pdata[i];

      if (!g_hash_table_add (waiting, step->id))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "steps: expected each id once, found \"%s\" twice", step->id);
          return FALSE;
        }
      g_ptr_array_add (left, step);
    }

  while (left->len > 0)
    {
      guint i = 0;

      while (i < left->len && !is_ready (left->pdata[i], waiting))
        i++;
      if (i == left->len)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "steps/%s/after: expected an order that can be worked, found a circle",
                       ((EfStep *) left->pdata[0])->id);
          return FALSE;
        }
      g_hash_table_remove (waiting, ((EfStep *) left->pdata[i])->id);
      g_ptr_array_add (ordered, left->pdata[i]);
      g_ptr_array_remove_index (left, i);
    }
  for (guint i = 0; i < ordered->len; i++)
    steps->pdata[i] = ordered->pdata[i];

  return TRUE;
}
