/* The form of a job that is sealed: read from its rows as they are, written canonically, packed, and looked into.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-seal-private.h"
#include "ef-exchange.h"
#include "ef-store-files.h"
#include "../base/ef-json-canonical.h"

#include <string.h>

#define MOST_UNPACKED (256u * 1024u * 1024u)
#define PIECE 64
#define CHECK_DIGITS 4

const char *const ef_seal_parts[] = { EF_SEAL_CERTIFICATES, "history", "inspection", "photos", "results", "rules", NULL };

static const char *
member_of (const char *kind)
{
  EfItemKind one;
  const char *member;

  for (guint i = 0; (member = ef_exchange_list (i, &one)) != NULL; i++)
    if (g_strcmp0 (ef_item_kind_name (one), kind) == 0)
      return member;

  return NULL;
}

/* FALSE and the error where problems aren't collected. */
static gboolean
tell_problem (GPtrArray *problems,
              const char *place,
              const char *sentence,
              GError **error)
{
  if (problems != NULL)
    g_ptr_array_add (problems, g_strdup_printf ("%s\t%s", place, sentence));
  else
    g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: %s", place, sentence);

  return problems != NULL;
}

/* One row's JSON; NULL and a problem told. */
static JsonNode *
parse_body (const char *body,
            const char *place,
            GPtrArray *problems,
            GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (EfJsonContext) context = ef_json_parse (body != NULL ? body : "", -1, place, &local);
  g_auto (EfJson) root = { 0 };

  if (context == NULL)
    {
      tell_problem (problems, place, local->message, error);
      return NULL;
    }
  root = ef_json_root (context);
  if (JSON_NODE_HOLDS_OBJECT (root.node))
    return json_node_copy (root.node);
  tell_problem (problems, place, "expected an object", error);

  return NULL;
}

static gboolean
read_sheet (const EfSql *sql,
            gint64 job,
            JsonObject *object,
            GPtrArray *problems,
            GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, error, "SELECT body FROM sheet JOIN job ON sheet.id = job.sheet WHERE job.id = ?", "i", job);
  JsonNode *node;
  gboolean row;

  if (statement == NULL || !ef_sql_step (sql, statement, &row, error))
    return FALSE;
  if (!row)
    return tell_problem (problems, "pump sheet", "expected the job's pump sheet, found none", error);
  node = parse_body ((const char *) sqlite3_column_text (statement, 0), "pump sheet", problems, error);
  if (node != NULL)
    json_object_set_member (object, "pump_sheet", node);

  return node != NULL || problems != NULL;
}

/* @node is taken. */
static gboolean
add_item (JsonObject *object,
          const char *kind,
          const char *id,
          const char *place,
          JsonNode *node,
          GPtrArray *problems,
          GError **error)
{
  JsonObject *item = json_node_get_object (node);
  const char *member = member_of (kind);
  gboolean header = g_strcmp0 (kind, "header") == 0;
  const char *own = json_object_get_string_member_with_default (item, "id", "");

  if (header && g_strcmp0 (id, "job") == 0 && !json_object_has_member (object, "job"))
    {
      json_object_set_member (object, "job", node);
      return TRUE;
    }
  if (member == NULL || header || g_strcmp0 (id, own) != 0)
    {
      json_node_unref (node);
      return tell_problem (problems, place, member == NULL ? "expected an item of a known kind" : "expected its id in its body, found another", error);
    }
  if (!json_object_has_member (object, member))
    json_object_set_array_member (object, member, json_array_new ());
  json_array_add_element (json_object_get_array_member (object, member), node);

  return TRUE;
}

JsonNode *
ef_seal_inspection_node (const EfSql *sql,
                         gint64 job,
                         GPtrArray *problems,
                         GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  JsonObject *object = json_object_new ();
  g_autoptr (JsonNode) node = ef_json_object_node (object);
  gboolean row;

  if (!read_sheet (sql, job, object, problems, error))
    return NULL;
  statement = ef_sql_query (sql, error, "SELECT kind, id, body FROM item WHERE job = ? ORDER BY kind, seq, id", "i", job);
  if (statement == NULL || !ef_sql_step (sql, statement, &row, error))
    return NULL;
  while (row)
    {
      g_autofree char *kind = ef_sql_column_text (statement, 0);
      g_autofree char *id = ef_sql_column_text (statement, 1);
      g_autofree char *place = g_strdup_printf ("%s %s", kind, id);
      JsonNode *item = parse_body ((const char *) sqlite3_column_text (statement, 2), place, problems, error);

      if (item == NULL ? problems == NULL : !add_item (object, kind, id, place, item, problems, error))
        return NULL;
      if (!ef_sql_step (sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&node);
}

static void
set_text (JsonObject *object,
          const char *member,
          sqlite3_stmt *statement,
          int column)
{
  g_autofree char *text = ef_sql_column_text (statement, column);

  json_object_set_string_member (object, member, text != NULL ? text : "");
}

JsonNode *
ef_seal_history_node (const EfSql *sql,
                      gint64 job,
                      gint64 last,
                      GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, error,
                                                     "SELECT seq, time, role, bench, program, rules, label, action, reason, clock_back, edits"
                                                     " FROM change WHERE job = ?1 AND (?2 = 0 OR seq <= ?2) ORDER BY seq", "ii", job, last);
  static const char *const texts[] = { "time", "role", "bench", "program", "rules", "label", "action", "reason" };
  JsonArray *array = json_array_new ();
  g_autoptr (JsonNode) node = json_node_init_array (json_node_alloc (), array);
  gboolean row;

  json_array_unref (array);
  if (statement == NULL || !ef_sql_step (sql, statement, &row, error))
    return NULL;
  while (row)
    {
      JsonObject *entry = json_object_new ();
      const char *edits = (const char *) sqlite3_column_text (statement, 10);
      g_autofree char *digest = ef_sha256 (edits != NULL ? edits : "", sqlite3_column_bytes (statement, 10));

      json_object_set_int_member (entry, "row", sqlite3_column_int64 (statement, 0));
      for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
        set_text (entry, texts[i], statement, (int) i + 1);
      json_object_set_int_member (entry, "clock_back", sqlite3_column_int64 (statement, 9));
      json_object_set_string_member (entry, "edits", digest);
      json_array_add_object_element (array, entry);
      if (!ef_sql_step (sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&node);
}

JsonNode *
ef_seal_file_inspection_node (JsonNode *root)
{
  JsonObject *object = json_object_new ();
  JsonObjectIter iter;
  const char *name;
  JsonNode *member;

  json_object_iter_init_ordered (&iter, json_node_get_object (root));
  while (json_object_iter_next_ordered (&iter, &name, &member))
    {
      gboolean empty = JSON_NODE_HOLDS_ARRAY (member) && json_array_get_length (json_node_get_array (member)) == 0;

      if (!empty && !g_str_equal (name, "format") && !g_str_equal (name, "version") && !g_str_equal (name, "seal"))
        json_object_set_member (object, name, json_node_copy (member));
    }

  return ef_json_object_node (object);
}

static int
compare_texts (gconstpointer a,
               gconstpointer b)
{
  return g_strcmp0 (*(const char *const *) a, *(const char *const *) b);
}

static void
collect_photos (JsonNode *node,
                GPtrArray *names)
{
  if (JSON_NODE_HOLDS_ARRAY (node))
    {
      JsonArray *array = json_node_get_array (node);

      for (guint i = 0; i < json_array_get_length (array); i++)
        {
          JsonNode *element = json_array_get_element (array, i);
          JsonNode *photos = JSON_NODE_HOLDS_OBJECT (element) ? json_object_get_member (json_node_get_object (element), "photos") : NULL;

          for (guint k = 0; photos != NULL && JSON_NODE_HOLDS_ARRAY (photos) && k < json_array_get_length (json_node_get_array (photos)); k++)
            g_ptr_array_add (names, (gpointer) json_array_get_string_element (json_node_get_array (photos), k));
        }
    }
}

/* Of the photos themselves, or of certificates. */
static void
collect_files (JsonNode *node,
               GPtrArray *names)
{
  JsonArray *array = JSON_NODE_HOLDS_ARRAY (node) ? json_node_get_array (node) : NULL;

  for (guint i = 0; array != NULL && i < json_array_get_length (array); i++)
    {
      JsonNode *element = json_array_get_element (array, i);

      if (JSON_NODE_HOLDS_OBJECT (element))
        g_ptr_array_add (names, (gpointer) json_object_get_string_member_with_default (json_node_get_object (element), "file", NULL));
    }
}

/* An array of those that are names, each once. */
static JsonNode *
sorted_once (GPtrArray *names)
{
  JsonArray *array = json_array_new ();
  JsonNode *node = json_node_init_array (json_node_alloc (), array);

  g_ptr_array_sort (names, compare_texts);
  for (guint i = 0; i < names->len; i++)
    if (names->pdata[i] != NULL && (i == 0 || g_strcmp0 (names->pdata[i], names->pdata[i - 1]) != 0))
      json_array_add_string_element (array, names->pdata[i]);
  json_array_unref (array);

  return node;
}

JsonNode *
ef_seal_photos_node (JsonNode *inspection)
{
  JsonObject *object = json_node_get_object (inspection);
  g_autoptr (GPtrArray) names = g_ptr_array_new ();
  static const char *const members[] = { "marks", "checks" };

  for (guint i = 0; i < G_N_ELEMENTS (members); i++)
    if (json_object_has_member (object, members[i]))
      collect_photos (json_object_get_member (object, members[i]), names);
  if (json_object_has_member (object, "photos"))
    collect_files (json_object_get_member (object, "photos"), names);

  return sorted_once (names);
}

/* Of one list of gauges. */
static void
collect_certificates (JsonNode *gauges,
                      GPtrArray *names)
{
  JsonArray *array = gauges != NULL && JSON_NODE_HOLDS_ARRAY (gauges) ? json_node_get_array (gauges) : NULL;

  for (guint i = 0; array != NULL && i < json_array_get_length (array); i++)
    {
      JsonNode *gauge = json_array_get_element (array, i);
      JsonNode *certificates = JSON_NODE_HOLDS_OBJECT (gauge) ? json_object_get_member (json_node_get_object (gauge), "certificates") : NULL;

      if (certificates != NULL)
        collect_files (certificates, names);
    }
}

/* The job's own gauges, and those that came with parts from the shelf. */
static void
collect_all_certificates (JsonObject *inspection,
                          GPtrArray *names)
{
  JsonNode *replacements = json_object_get_member (inspection, "replacements");
  JsonArray *array = replacements != NULL && JSON_NODE_HOLDS_ARRAY (replacements) ? json_node_get_array (replacements) : NULL;

  collect_certificates (json_object_get_member (inspection, "gauges"), names);
  for (guint i = 0; array != NULL && i < json_array_get_length (array); i++)
    {
      JsonNode *element = json_array_get_element (array, i);

      if (JSON_NODE_HOLDS_OBJECT (element))
        collect_certificates (json_object_get_member (json_node_get_object (element), "gauges"), names);
    }
}

JsonNode *
ef_seal_certificates_node (JsonNode *inspection)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new ();

  collect_all_certificates (json_node_get_object (inspection), names);

  return names->len > 0 ? sorted_once (names) : NULL;
}

gboolean
ef_seal_add_kept (EfStore *store,
                  JsonNode *names,
                  GError **error)
{
  JsonArray *array = json_node_get_array (names);
  guint n = json_array_get_length (array);

  for (guint i = 0; i < n; i++)
    {
      const char *digest = json_array_get_string_element (array, i);
      g_autofree char *kept = g_strconcat (EF_SEAL_KEPT, digest, NULL);
      g_autoptr (GError) local = NULL;

      if (ef_store_check_file (store, digest, NULL, &local))
        json_array_add_string_element (array, kept);
      else if (!g_error_matches (local, EF_ERROR, EF_ERROR_NOT_FOUND))
        {
          g_propagate_error (error, g_steal_pointer (&local));
          return FALSE;
        }
    }

  return TRUE;
}

char *
ef_seal_form_text (JsonNode *form,
                   JsonObject *digests,
                   GError **error)
{
  JsonObject *object = json_node_get_object (form);

  for (guint i = 0; ef_seal_parts[i] != NULL; i++)
    {
      JsonNode *part = json_object_get_member (object, ef_seal_parts[i]);
      g_autofree char *text = part != NULL ? ef_json_canonical (part, error) : NULL;
      g_autofree char *digest = text != NULL ? ef_sha256 (text, -1) : NULL;

      if (part != NULL && text == NULL)
        return NULL;
      if (digest != NULL && digests != NULL)
        json_object_set_string_member (digests, ef_seal_parts[i], digest);
    }

  return ef_json_canonical (form, error);
}

static GBytes *
convert (GConverter *converter,
         gconstpointer data,
         gsize length,
         gsize most,
         GError **error)
{
  g_autoptr (GInputStream) source = g_memory_input_stream_new_from_data (data, length, NULL);
  g_autoptr (GInputStream) stream = g_converter_input_stream_new (source, converter);
  g_autoptr (GByteArray) out = g_byte_array_new ();
  guint8 block[65536];
  gssize n;

  while ((n = g_input_stream_read (stream, block, sizeof block, NULL, error)) > 0)
    {
      if (out->len + (gsize) n > most)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "expected at most %" G_GSIZE_FORMAT " bytes when unpacked, found more", most);
          return NULL;
        }
      g_byte_array_append (out, block, (guint) n);
    }

  return n < 0 ? NULL : g_byte_array_free_to_bytes (g_steal_pointer (&out));
}

GBytes *
ef_seal_pack (const char *text,
              GError **error)
{
  g_autoptr (GZlibCompressor) compressor = g_zlib_compressor_new (G_ZLIB_COMPRESSOR_FORMAT_ZLIB, 6);

  return convert (G_CONVERTER (compressor), text, strlen (text), G_MAXUINT / 2, error);
}

char *
ef_seal_unpack (gconstpointer data,
                gsize length,
                GError **error)
{
  g_autoptr (GZlibDecompressor) decompressor = g_zlib_decompressor_new (G_ZLIB_COMPRESSOR_FORMAT_ZLIB);
  g_autoptr (GError) local = NULL;
  g_autoptr (GBytes) bytes = convert (G_CONVERTER (decompressor), data != NULL ? data : "", length, MOST_UNPACKED, &local);
  gconstpointer text;
  gsize n;

  if (bytes == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "it can't be unpacked: %s", local->message);
      return NULL;
    }
  text = g_bytes_get_data (bytes, &n);
  if (n == 0 || memchr (text, 0, n) != NULL || !g_utf8_validate (text, (gssize) n, NULL))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "expected text, found none or other bytes");
      return NULL;
    }

  return g_strndup (text, n);
}

gsize
ef_seal_piece (void)
{
  return PIECE;
}

char *
ef_seal_locator (const char *text)
{
  gsize length = strlen (text);
  GString *out = g_string_sized_new (length / PIECE * CHECK_DIGITS + CHECK_DIGITS + 1);

  for (gsize at = 0; at < length; at += PIECE)
    {
      g_autofree char *digest = ef_sha256 (text + at, (gssize) MIN ((gsize) PIECE, length - at));

      g_string_append_len (out, digest, CHECK_DIGITS);
    }

  return g_string_free (out, FALSE);
}

gssize
ef_seal_locate (const char *text,
                const char *locator)
{
  g_autofree char *own = ef_seal_locator (text);
  gsize n = 0;

  while (own[n] != '\0' && own[n] == locator[n])
    n++;
  if (own[n] == locator[n])
    return -1;

  return (gssize) MIN (n / CHECK_DIGITS * PIECE, strlen (text));
}

/* A container that is open at the place. */
typedef struct
{
  gboolean array;
  guint index;
  char *name;
} Level;

static void
level_clear (gpointer data)
{
  g_free (((Level *) data)->name);
}

static const char *
end_of_string (const char *p,
               const char *end)
{
  for (p++; p < end && *p != '"'; p++)
    if (*p == '\\' && p + 1 < end)
      p++;

  return p;
}

/* Walks to @end and keeps what is open. A member's name may be cut off there. */
static void
walk (const char *text,
      const char *end,
      GArray *levels)
{
  gboolean name_next = FALSE;

  for (const char *p = text; p < end; p++)
    {
      Level *top = levels->len > 0 ? &g_array_index (levels, Level, levels->len - 1) : NULL;

      if (*p == '{' || *p == '[')
        {
          Level level = { *p == '[', 0, NULL };

          g_array_append_val (levels, level);
          name_next = *p == '{';
        }
      else if ((*p == '}' || *p == ']') && top != NULL)
        g_array_set_size (levels, levels->len - 1);
      else if (*p == ',' && top != NULL)
        {
          top->index++;
          name_next = !top->array;
        }
      else if (*p == '"')
        {
          const char *last = end_of_string (p, end);

          if (name_next && top != NULL)
            {
              g_free (top->name);
              top->name = g_strndup (p + 1, (gsize) (last - p - 1));
              name_next = FALSE;
            }
          p = last;
        }
    }
}

char *
ef_seal_path_at (const char *text,
                 gsize offset)
{
  g_autoptr (GArray) levels = g_array_new (FALSE, FALSE, sizeof (Level));
  g_autoptr (GString) path = g_string_new (NULL);
  gsize length = strlen (text);

  g_array_set_clear_func (levels, level_clear);
  walk (text, text + MIN (offset + 1, length), levels);
  for (guint i = 0; i < levels->len; i++)
    {
      const Level *level = &g_array_index (levels, Level, i);

      if (level->array)
        g_string_append_printf (path, "[%u]", level->index);
      else if (level->name != NULL)
        g_string_append_printf (path, "%s%s", path->len > 0 ? "." : "", level->name);
    }

  return g_utf8_make_valid (path->str, -1);
}
