/* The store's files against their digests: those that a seal says were there, and those that photos and certificates of gauges name now.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-files.h"
#include "ef-store-private.h"
#include "ef-verify-private.h"

#include <string.h>

typedef enum { FILE_SOUND = 1, FILE_MISSING, FILE_CHANGED } FileState;

/* Each file is read once, however many seals and items name it. 0: an error. */
static FileState
look_at (EfStore *store,
         const char *digest,
         GHashTable *seen,
         GCancellable *cancellable,
         GError **error)
{
  FileState state = GPOINTER_TO_UINT (g_hash_table_lookup (seen, digest));
  g_autoptr (GError) local = NULL;

  if (state != 0)
    return state;
  if (ef_store_check_file (store, digest, cancellable, &local))
    state = FILE_SOUND;
  else if (g_error_matches (local, EF_ERROR, EF_ERROR_NOT_FOUND))
    state = FILE_MISSING;
  else if (g_error_matches (local, EF_ERROR, EF_ERROR_CORRUPT))
    state = FILE_CHANGED;
  else
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return 0;
    }
  g_hash_table_insert (seen, g_strdup (digest), GUINT_TO_POINTER (state));

  return state;
}

/* The name beside the digest in a list of files; NULL. */
static const char *
name_in_list (JsonNode *list,
              const char *digest)
{
  JsonArray *array = list != NULL && JSON_NODE_HOLDS_ARRAY (list) ? json_node_get_array (list) : NULL;

  for (guint i = 0; array != NULL && i < json_array_get_length (array); i++)
    {
      JsonNode *node = json_array_get_element (array, i);

      if (JSON_NODE_HOLDS_OBJECT (node) && g_str_equal (ef_verify_string (json_node_get_object (node), "file"), digest))
        return ef_verify_string (json_node_get_object (node), "name");
    }

  return NULL;
}

/* "photo strainer.jpg", or "gauge Depth micrometer 0–25 mm: certificate 114.pdf"; NULL where none of the gauges has it. */
static char *
certificate_in (JsonNode *gauges,
                const char *digest)
{
  JsonArray *array = gauges != NULL && JSON_NODE_HOLDS_ARRAY (gauges) ? json_node_get_array (gauges) : NULL;

  for (guint i = 0; array != NULL && i < json_array_get_length (array); i++)
    {
      JsonNode *node = json_array_get_element (array, i);
      JsonObject *gauge = JSON_NODE_HOLDS_OBJECT (node) ? json_node_get_object (node) : NULL;
      const char *name = gauge != NULL ? name_in_list (json_object_get_member (gauge, "certificates"), digest) : NULL;

      if (name != NULL)
        return g_strdup_printf ("gauge %s: certificate %s", ef_verify_string (gauge, "name"), name);
    }

  return NULL;
}

/* What the file was called when it was sealed, and whose it was. */
static char *
title_in (JsonObject *form,
          const char *part,
          const char *digest)
{
  JsonNode *node = json_object_get_member (form, "inspection");
  JsonObject *inspection = node != NULL && JSON_NODE_HOLDS_OBJECT (node) ? json_node_get_object (node) : NULL;
  gboolean certificate = g_str_equal (part, EF_SEAL_CERTIFICATES);
  JsonNode *replacements = inspection != NULL ? json_object_get_member (inspection, "replacements") : NULL;
  JsonArray *array = replacements != NULL && JSON_NODE_HOLDS_ARRAY (replacements) ? json_node_get_array (replacements) : NULL;
  const char *name = inspection != NULL && !certificate ? name_in_list (json_object_get_member (inspection, "photos"), digest) : NULL;
  char *title = inspection != NULL && certificate ? certificate_in (json_object_get_member (inspection, "gauges"), digest) : NULL;

  for (guint i = 0; certificate && title == NULL && array != NULL && i < json_array_get_length (array); i++)
    if (JSON_NODE_HOLDS_OBJECT (json_array_get_element (array, i)))
      title = certificate_in (json_object_get_member (json_array_get_object_element (array, i), "gauges"), digest);
  if (title != NULL)
    return title;

  return g_strdup_printf ("%s %s", certificate ? "certificate" : "photo", name != NULL ? name : "?");
}

/* The file @digest that @part says was kept. */
static gboolean
check_kept (const EfVerifyAt *at,
            EfStore *store,
            const char *title,
            const char *digest,
            GHashTable *seen,
            GCancellable *cancellable,
            GError **error)
{
  FileState state = look_at (store, digest, seen, cancellable, error);
  g_autofree char *place = g_strdup_printf ("%s: file", title);

  if (state == FILE_MISSING)
    ef_verify_tell (at, EF_VERIFY_BROKEN, place, "it was in the store when the job was sealed and was removed (digest %.12s…)", digest);
  if (state == FILE_CHANGED)
    ef_verify_tell (at, EF_VERIFY_BROKEN, place, "its bytes aren't those that were sealed: changed, cut or removed (digest %.12s…)", digest);

  return state != 0;
}

gboolean
ef_verify_kept (const EfVerifyAt *at,
                EfStore *store,
                const char *form_text,
                GHashTable *seen,
                GCancellable *cancellable,
                GError **error)
{
  static const char *const parts[] = { "photos", EF_SEAL_CERTIFICATES };
  g_autoptr (JsonNode) form = form_text != NULL && strstr (form_text, "\"" EF_SEAL_KEPT) != NULL ? json_from_string (form_text, NULL) : NULL;

  for (guint k = 0; form != NULL && JSON_NODE_HOLDS_OBJECT (form) && k < G_N_ELEMENTS (parts); k++)
    {
      JsonNode *part = json_object_get_member (json_node_get_object (form), parts[k]);
      JsonArray *array = part != NULL && JSON_NODE_HOLDS_ARRAY (part) ? json_node_get_array (part) : NULL;

      for (guint i = 0; array != NULL && i < json_array_get_length (array); i++)
        {
          JsonNode *node = json_array_get_element (array, i);
          const char *text = json_node_get_value_type (node) == G_TYPE_STRING ? json_node_get_string (node) : "";
          const char *digest = text + strlen (EF_SEAL_KEPT);
          g_autofree char *title = NULL;

          if (!g_str_has_prefix (text, EF_SEAL_KEPT))
            continue;
          title = title_in (json_node_get_object (form), parts[k], digest);
          if (!check_kept (at, store, title, digest, seen, cancellable, error))
            return FALSE;
        }
    }

  return TRUE;
}

static gboolean
check_named (EfStore *store,
             EfVerification *out,
             sqlite3_stmt *statement,
             GHashTable *seen,
             GCancellable *cancellable,
             GError **error)
{
  g_autofree char *job = ef_sql_column_text (statement, 0);
  g_autofree char *title = ef_sql_column_text (statement, 1);
  g_autofree char *digest = ef_sql_column_text (statement, 2);
  EfVerifyAt at = { out, 0, job };
  g_autofree char *place = g_strdup_printf ("%s: file", title);
  FileState state = look_at (store, digest, seen, cancellable, error);

  if (state == FILE_MISSING)
    ef_verify_tell (&at, EF_VERIFY_NOTE, place, "the store doesn't have it, only its digest %.12s…", digest);
  if (state == FILE_CHANGED)
    ef_verify_tell (&at, EF_VERIFY_NOTE, place, "its bytes aren't those with the digest %.12s…: changed, cut or removed; no seal says that they were here", digest);

  return state != 0;
}

#define SOUND(body) "CASE WHEN json_valid (" body ") THEN " body " ELSE '{}' END"
#define CERTIFICATE_ROWS(number, gauge)                                                                         \
  " SELECT " number ", 'gauge ' || coalesce (json_extract (" gauge ", '$.name'), '') || ': certificate '"       \
  "   || coalesce (json_extract (one.value, '$.name'), ''), coalesce (json_extract (one.value, '$.file'), '')"

/* Of jobs first, in the order of the items; then those of the shop's own gauges. */
static const char *const named[] = {
  "SELECT job.number, 'photo ' || coalesce (json_extract (body, '$.name'), ''), coalesce (json_extract (body, '$.file'), '')"
  " FROM item JOIN job ON job.id = item.job WHERE item.kind = 'photo' AND json_valid (body) ORDER BY job.id, item.seq",
  CERTIFICATE_ROWS ("job.number", "body")
  " FROM item JOIN job ON job.id = item.job, json_each (" SOUND ("item.body") ", '$.certificates') AS one"
  " WHERE item.kind = 'gauge' AND one.type = 'object' ORDER BY job.id, item.seq",
  CERTIFICATE_ROWS ("job.number", "own.value")
  " FROM item JOIN job ON job.id = item.job, json_each (" SOUND ("item.body") ", '$.gauges') AS own,"
  "   json_each (CASE own.type WHEN 'object' THEN own.value ELSE '{}' END, '$.certificates') AS one"
  " WHERE item.kind = 'replacement' AND one.type = 'object' ORDER BY job.id, item.seq",
  CERTIFICATE_ROWS ("NULL", "body")
  " FROM gauge, json_each (" SOUND ("gauge.body") ", '$.certificates') AS one WHERE one.type = 'object' ORDER BY gauge.seq",
};

/* What a seal says was kept has been told. */
gboolean
ef_verify_files (EfStore *store,
                 EfVerification *out,
                 GHashTable *seen,
                 GCancellable *cancellable,
                 GError **error)
{
  for (guint i = 0; i < G_N_ELEMENTS (named); i++)
    {
      g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, named[i], "");
      gboolean row = TRUE;

      if (statement == NULL)
        return FALSE;
      while (row)
        if (!ef_sql_step (&store->sql, statement, &row, error)
            || (row && !check_named (store, out, statement, seen, cancellable, error)))
          return FALSE;
    }

  return TRUE;
}
