/* Verbs that have actions.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-cli-action.h"
#include "ef-cli.h"
#include "../record/ef-store-files.h"

static const EfCliAction *
row_at (gconstpointer rows,
        gsize size,
        gsize i)
{
  return (const EfCliAction *) ((const char *) rows + i * size);
}

char *
ef_cli_actions_text (const char *intro,
                     gconstpointer rows,
                     gsize n,
                     gsize size)
{
  GString *text = g_string_new (intro);

  for (gsize i = 0; i < n; i++)
    {
      const EfCliAction *action = row_at (rows, size, i);

      g_string_append_printf (text, "\n  %s%s%s: %s", action->name, action->argument != NULL ? " " : "", action->argument != NULL ? action->argument : "", action->summary);
    }

  return g_string_free (text, FALSE);
}

gconstpointer
ef_cli_action (const char *verb,
               const char *expected,
               gconstpointer rows,
               gsize n,
               gsize size,
               int n_words,
               char **words)
{
  const EfCliAction *found = NULL;

  for (gsize i = 0; n_words > 0 && found == NULL && i < n; i++)
    if (g_str_equal (row_at (rows, size, i)->name, words[0]))
      found = row_at (rows, size, i);
  if (found == NULL)
    {
      ef_cli_usage_error (verb, "expected %s, found %s", expected, n_words > 0 ? words[0] : "less");
      return NULL;
    }
  if (found->repeats ? n_words < 2 : n_words != (found->argument != NULL ? 2 : 1))
    {
      ef_cli_usage_error (verb, "%s: expected %s", found->name, found->argument != NULL ? found->argument : "no more arguments");
      return NULL;
    }

  return found;
}

EfStore *
ef_cli_action_store (const EfCliAction *action,
                     const char *path,
                     GError **error)
{
  EfStore *store = action->makes_store || ef_cli_can_read (path, error) ? ef_store_open (path, error) : NULL;

  if (store != NULL)
    ef_cli_warn_access (path);

  return store;
}

gboolean
ef_cli_save_stored_file (EfStore *store,
                         const char *digest,
                         const char *path,
                         GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (GBytes) bytes = NULL;
  gconstpointer data;
  gsize length;

  if (path == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "expected --output");
      return FALSE;
    }
  bytes = ef_store_read_file (store, digest, NULL, error);
  if (bytes == NULL)
    return FALSE;
  data = g_bytes_get_data (bytes, &length);
  if (g_file_set_contents (path, data, (gssize) length, &local))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s", local->message);

  return FALSE;
}
