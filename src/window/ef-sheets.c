/* Gathering pump sheets from the data folder and the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-sheets.h"

#include "../judge/ef-judge.h"

static void
entry_free (gpointer data)
{
  EfSheetEntry *entry = data;

  ef_pump_sheet_unref (entry->sheet);
  g_free (entry);
}

static void
add_entry (GPtrArray *entries,
           EfPumpSheet *sheet,
           gboolean own)
{
  EfSheetEntry *entry = g_new0 (EfSheetEntry, 1);

  entry->sheet = sheet;
  entry->own = own;
  g_ptr_array_add (entries, entry);
}

static int
compare_entries (gconstpointer a,
                 gconstpointer b)
{
  const EfSheetEntry *entry_a = *(const EfSheetEntry *const *) a;
  const EfSheetEntry *entry_b = *(const EfSheetEntry *const *) b;

  if (entry_a->own != entry_b->own)
    return entry_a->own - entry_b->own;
  return g_utf8_collate (entry_a->sheet->name, entry_b->sheet->name);
}

static void
add_shipped (GPtrArray *entries,
             GPtrArray *failures)
{
  g_autofree char *folder = ef_data_path ("pump-sheets", NULL);
  g_autoptr (GError) dir_error = NULL;
  g_autoptr (GDir) dir = g_dir_open (folder, 0, &dir_error);
  const char *name;

  if (dir == NULL)
    {
      g_ptr_array_add (failures, g_strdup (dir_error->message));
      return;
    }
  while ((name = g_dir_read_name (dir)) != NULL)
    {
      g_autofree char *path = g_build_filename (folder, name, NULL);
      g_autoptr (GError) error = NULL;
      EfPumpSheet *sheet;

      if (!g_str_has_suffix (name, ".json") || g_str_has_suffix (name, ".schema.json"))
        continue;
      sheet = ef_pump_sheet_load (path, &error);
      if (sheet != NULL && !ef_rule_set_check_sheet (sheet, &error))
        g_clear_pointer (&sheet, ef_pump_sheet_unref);
      if (sheet != NULL)
        add_entry (entries, sheet, FALSE);
      else
        g_ptr_array_add (failures, g_strdup (error->message));
    }
}

GPtrArray *
ef_sheets_all (EfStore *store,
               GPtrArray **failures_out)
{
  GPtrArray *entries = g_ptr_array_new_with_free_func (entry_free);
  g_autoptr (GPtrArray) failures = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) own = NULL;
  guint i;

  add_shipped (entries, failures);
  if (store != NULL)
    {
      own = ef_store_sheets (store, &error);
      if (own == NULL)
        g_ptr_array_add (failures, g_strdup (error->message));
      for (i = 0; own != NULL && i < own->len; i++)
        add_entry (entries, ef_pump_sheet_ref (g_ptr_array_index (own, i)), TRUE);
    }
  g_ptr_array_sort (entries, compare_entries);
  if (failures_out != NULL)
    *failures_out = g_steal_pointer (&failures);
  return entries;
}
