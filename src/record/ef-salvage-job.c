/* A job's own row made again, where it can't be read but some of what belongs to it can.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The row says little that isn't said elsewhere. Indices of the damaged store repeat number, model, standing and verdict, and lie on pages of their own; the header among the items, the history and the last
 * seal have the number; the seal's form has the pump sheet, whole. Only which sheet an unsealed job was made with stands nowhere else: it's taken from the model, or from being the only one.
 */
#include "ef-exchange.h"
#include "ef-salvage-private.h"
#include "ef-seal-private.h"
#include "../base/ef-json-canonical.h"

typedef struct
{
  char *number, *model, *lesson, *verdict;
  const char *number_from, *sheet_from; /* words for the report */
  gint64 sheet, withdrawn, sealed;
} Row;

static void
row_clear (Row *row)
{
  g_free (row->number);
  g_free (row->model);
  g_free (row->lesson);
  g_free (row->verdict);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Row, row_clear)

/* The first column of the first row, a text; NULL where there's none or it can't be read. */
static char *
ask (const EfSql *sql,
     const char *question,
     gint64 job)
{
  g_autoptr (sqlite3_stmt) answer = ef_sql_query (sql, NULL, question, "i", job);
  gboolean row = FALSE;

  return answer != NULL && ef_sql_step (sql, answer, &row, NULL) && row ? ef_sql_column_text (answer, 0) : NULL;
}

static gint64
ask_integer (const EfSql *sql,
             const char *question,
             gint64 job)
{
  g_autofree char *text = ask (sql, question, job);

  return text != NULL ? g_ascii_strtoll (text, NULL, 10) : 0;
}

EfInspection *
ef_salvage_sealed (EfStore *store,
                   gint64 job,
                   gint64 *seal_out,
                   char **verdict_out)
{
  g_autoptr (sqlite3_stmt) seal = ef_sql_query (&store->sql, NULL, "SELECT number, form FROM seal WHERE job = ? AND form IS NOT NULL ORDER BY number DESC LIMIT 1", "i", job);
  g_autofree char *text = NULL;
  g_autofree char *file = NULL;
  g_autoptr (JsonNode) form = NULL;
  g_autoptr (EfInspection) inspection = NULL;
  JsonNode *members = NULL;
  gboolean row = FALSE;

  if (seal == NULL || !ef_sql_step (&store->sql, seal, &row, NULL) || !row)
    return NULL;
  text = ef_seal_unpack (sqlite3_column_blob (seal, 1), (gsize) sqlite3_column_bytes (seal, 1), NULL);
  form = text != NULL ? json_from_string (text, NULL) : NULL;
  members = form != NULL && JSON_NODE_HOLDS_OBJECT (form) ? json_object_get_member (json_node_get_object (form), "inspection") : NULL;
  if (members == NULL || !JSON_NODE_HOLDS_OBJECT (members))
    return NULL;
  file = ef_seal_file_text (json_node_get_object (members), NULL);
  inspection = ef_exchange_parse (file, -1, "seal", NULL);
  if (inspection != NULL)
    *seal_out = sqlite3_column_int64 (seal, 0);
  if (inspection != NULL && verdict_out != NULL)
    *verdict_out = g_strdup (ef_seal_verdict (json_object_get_member (json_node_get_object (form), "results")));

  return g_steal_pointer (&inspection);
}

static void
find_number (Row *row,
             const EfSql *from,
             const EfSql *to,
             gint64 job)
{
  const struct
  {
    const EfSql *sql;
    const char *question, *words;
  } places[] = {
    { to, "SELECT json_extract (body, '$.number') FROM item WHERE job = ? AND kind = 'header' AND json_valid (body)", "its items" },
    { to, "SELECT json_extract (one.value, '$.after.number') FROM change, json_each (CASE WHEN json_valid (edits) THEN edits ELSE '[]' END) AS one"
          " WHERE job = ? AND json_extract (one.value, '$.kind') = 'header' AND json_extract (one.value, '$.after.number') <> '' ORDER BY seq DESC LIMIT 1",
      "its history" },
    { from, "SELECT number FROM job INDEXED BY sqlite_autoindex_job_1 WHERE +id = ?", "an index of the store" },
    { to, "SELECT json_extract (statement, '$.job') FROM seal WHERE job = ? AND json_valid (statement) ORDER BY number DESC LIMIT 1", "its seal" },
  };

  for (guint i = 0; row->number == NULL && i < G_N_ELEMENTS (places); i++)
    {
      row->number = ask (places[i].sql, places[i].question, job);
      row->number_from = places[i].words;
    }
}

#define IN_LIST(column) "SELECT " column " FROM job INDEXED BY job_list WHERE +id = ?"
#define LAST_SEAL "(SELECT max (number) FROM seal WHERE job = ?1)"

/* By the index of the list, which repeats it; else as history and seals tell. */
static void
find_standing (Row *row,
               const EfSql *from,
               const EfSql *to,
               gint64 job)
{
  g_autofree char *withdrawn = ask (from, IN_LIST ("withdrawn"), job);
  g_autofree char *sealed = withdrawn != NULL ? ask (from, IN_LIST ("sealed"), job) : NULL;

  if (sealed != NULL)
    {
      row->withdrawn = g_ascii_strtoll (withdrawn, NULL, 10);
      row->sealed = g_ascii_strtoll (sealed, NULL, 10);
      row->lesson = ask (from, IN_LIST ("lesson"), job);
      row->model = ask (from, IN_LIST ("model"), job);
      g_free (row->verdict);
      row->verdict = ask (from, IN_LIST ("verdict"), job);
      return;
    }
  row->withdrawn = ask_integer (to, "SELECT action = 'withdraw' FROM change WHERE job = ? AND action IN ('withdraw', 'reinstate') ORDER BY seq DESC LIMIT 1", job);
  row->sealed = ask_integer (to, "SELECT CASE coalesce ((SELECT action FROM change WHERE job = ?1 AND action IN ('seal', 'revise', 'import') ORDER BY seq DESC LIMIT 1),"
                                 " CASE WHEN " LAST_SEAL " IS NULL THEN '' ELSE 'seal' END)"
                                 " WHEN 'seal' THEN coalesce (" LAST_SEAL ", 0) WHEN 'import' THEN -1 ELSE 0 END", job);
  row->lesson = ask (to, "SELECT max (digest) FROM lesson WHERE title = (SELECT title FROM attempt WHERE job = ?1) HAVING count (DISTINCT digest) = 1", job);
}

static char *
canonical (const char *text)
{
  g_autoptr (JsonNode) node = text != NULL ? json_from_string (text, NULL) : NULL;

  return node != NULL ? ef_json_canonical (node, NULL) : NULL;
}

/* Seals have sheets in canonical text, so what is compared is what they say; a sheet that is lost is put in again. */
static gint64
sheet_of_seal (EfStore *store,
               const EfInspection *sealed)
{
  g_autofree char *wanted = canonical (sealed->sheet->json);
  g_autoptr (sqlite3_stmt) sheets = ef_sql_query (&store->sql, NULL, "SELECT id, body FROM sheet WHERE model = ?", "s", sealed->sheet->model);
  gboolean row = FALSE;

  while (sheets != NULL && ef_sql_step (&store->sql, sheets, &row, NULL) && row)
    {
      g_autofree char *body = canonical ((const char *) sqlite3_column_text (sheets, 1));

      if (g_strcmp0 (body, wanted) == 0)
        return sqlite3_column_int64 (sheets, 0);
    }

  return ef_store_keep_sheet (store, sealed->sheet, NULL);
}

/* Those of the model, or all: the first where they say the same, else the newest. 0: none. */
static gint64
sheet_of_model (EfStore *store,
                const char *model,
                gboolean *differ_out)
{
  g_autoptr (sqlite3_stmt) sheets = ef_sql_query (&store->sql, NULL, "SELECT id, body FROM sheet WHERE ?1 IS NULL OR model = ?1 ORDER BY id", "s", model);
  g_autofree char *first = NULL;
  gint64 chosen = 0;
  gboolean row = FALSE;

  *differ_out = FALSE;
  while (sheets != NULL && ef_sql_step (&store->sql, sheets, &row, NULL) && row)
    {
      g_autofree char *body = canonical ((const char *) sqlite3_column_text (sheets, 1));

      *differ_out = *differ_out || (chosen != 0 && g_strcmp0 (body, first) != 0);
      if (chosen == 0 || *differ_out)
        chosen = sqlite3_column_int64 (sheets, 0);
      if (first == NULL)
        first = g_steal_pointer (&body);
    }

  return chosen;
}

static void
find_sheet (Row *row,
            EfStore *store,
            const EfInspection *sealed)
{
  gboolean differ = FALSE;

  row->sheet = sealed != NULL ? sheet_of_seal (store, sealed) : sheet_of_model (store, row->model, &differ);
  if (sealed != NULL)
    row->sheet_from = "its seal";
  else if (row->model == NULL)
    row->sheet_from = "being the only one in the store";
  else
    row->sheet_from = differ ? "being the newest of its model, of which there are several: look whether it's the right one" : "being the only one of its model";
  if (row->model == NULL && differ)
    row->sheet = 0;
}

static gboolean
refuse (const char *number,
        gint64 job,
        const char *what,
        char **told_out)
{
  *told_out = g_strdup_printf ("job %s (no. %" G_GINT64_FORMAT " in the store): its own row can't be read, and %s; what there is of it isn't taken over",
                               number != NULL ? number : "?", job, what);

  return FALSE;
}

gboolean
ef_salvage_job_row (const EfSql *from,
                    EfStore *to,
                    gint64 job,
                    char **told_out)
{
  g_auto (Row) row = { 0 };
  gint64 seal = 0, attempt;
  g_autoptr (EfInspection) sealed = ef_salvage_sealed (to, job, &seal, &row.verdict);
  g_autoptr (GError) error = NULL;

  *told_out = NULL;
  find_number (&row, from, &to->sql, job);
  find_standing (&row, from, &to->sql, job);
  find_sheet (&row, to, sealed);
  attempt = ask_integer (&to->sql, "SELECT count (*) FROM attempt WHERE job = ?", job);
  if (row.number == NULL)
    return refuse (NULL, job, "nothing else that can be read has its number", told_out);
  if (row.sheet == 0)
    return refuse (row.number, job, "which pump sheet it was made with stands nowhere else that can be read", told_out);
  if (attempt > 0 && (row.lesson == NULL || *row.lesson == '\0'))
    return refuse (row.number, job, "which lesson it is an attempt at stands nowhere else that can be read", told_out);
  if (!ef_sql_run (&to->sql, NULL, &error,
                   "UPDATE job SET number = ?2, sheet = ?3, pump = (SELECT json_extract (body, '$.name') FROM sheet WHERE id = ?3), model = (SELECT model FROM sheet WHERE id = ?3),"
                   " changed = coalesce ((SELECT max (time) FROM change WHERE job = ?1), changed), withdrawn = ?4, sealed = ?5,"
                   " revision = 1 + (SELECT count (*) FROM change WHERE job = ?1 AND action = 'revise'), lesson = coalesce (?6, ''), verdict = coalesce (?7, '') WHERE id = ?1",
                   "isiiiss", job, row.number, row.sheet, row.withdrawn, row.sealed, row.lesson, row.verdict))
    return refuse (row.number, job, error->message, told_out);
  *told_out = g_strdup_printf ("job %s (no. %" G_GINT64_FORMAT " in the store): its own row can't be read and was made again; its number comes from %s, its pump sheet from %s",
                               row.number, job, row.number_from, row.sheet_from);

  return TRUE;
}
