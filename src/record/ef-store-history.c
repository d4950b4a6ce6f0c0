/* The history of a job: who changed what and when, and the job as it stood at any time.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each row keeps its edits whole, before and after, as
 *   [{"kind": "mark", "position": 3, "before": null, "after": {…}}, …]
 */
#include "ef-store-private.h"

#include "config.h"

static const char *const edit_members[] = { "kind", "position", "before", "after", NULL };

static JsonNode *
item_node (const EfItem *item)
{
  return item != NULL ? ef_item_to_json (item) : json_node_init_null (json_node_alloc ());
}

char *
ef_store_edits_text (const EfChange *change)
{
  g_autoptr (JsonNode) node = json_node_alloc ();
  JsonArray *array = json_array_new ();
  guint i;

  for (i = 0; i < change->edits->len; i++)
    {
      const EfEdit *edit = &g_array_index (change->edits, EfEdit, i);
      const EfItem *any = edit->after != NULL ? edit->after : edit->before;
      JsonObject *object = json_object_new ();

      json_object_set_string_member (object, "kind", any->klass->name);
      json_object_set_int_member (object, "position", edit->position);
      json_object_set_member (object, "before", item_node (edit->before));
      json_object_set_member (object, "after", item_node (edit->after));
      json_array_add_object_element (array, object);
    }
  json_node_init_array (node, array);
  json_array_unref (array);

  return ef_json_to_text (node);
}

gboolean
ef_store_add_history (EfStore *store,
                      gint64 job,
                      const char *time,
                      const char *label,
                      const char *edits,
                      GError **error)
{
  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO change (job, seq, time, role, bench, program, label, edits)"
                     " SELECT ?1, (SELECT coalesce (max (seq), 0) + 1 FROM change WHERE job = ?1), ?2,"
                     " coalesce (json_extract (body, '$.role'), ''), coalesce (json_extract (body, '$.bench'), ''), ?3, ?4, ?5"
                     " FROM item WHERE job = ?1 AND kind = 'header'",
                     "issss", job, time, "endfloat " EF_VERSION, label, edits);
}

void
ef_history_row_free (EfHistoryRow *row)
{
  if (row == NULL)
    return;

  g_free (row->time);
  g_free (row->role);
  g_free (row->bench);
  g_free (row->program);
  g_free (row->label);
  g_free (row);
}

GPtrArray *
ef_store_history (EfStore *store,
                  gint64 job,
                  GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_history_row_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error,
                            "SELECT seq, time, role, bench, program, label FROM change WHERE job = ? ORDER BY seq", "i", job);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  while (row)
    {
      EfHistoryRow *entry = g_new0 (EfHistoryRow, 1);

      entry->seq = sqlite3_column_int64 (statement, 0);
      entry->time = ef_sql_column_text (statement, 1);
      entry->role = ef_sql_column_text (statement, 2);
      entry->bench = ef_sql_column_text (statement, 3);
      entry->program = ef_sql_column_text (statement, 4);
      entry->label = ef_sql_column_text (statement, 5);
      g_ptr_array_add (rows, entry);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&rows);
}

static EfItem *
read_side (const EfJson *edit,
           const char *member,
           EfItemKind kind)
{
  g_auto (EfJson) side = ef_json_optional (edit, member);

  if (side.node == NULL || JSON_NODE_HOLDS_NULL (side.node))
    return NULL;

  return ef_item_from_json (kind, &side);
}

static EfItemKind
read_kind (const EfJson *edit)
{
  const char *names[EF_N_ITEM_KINDS + 1] = { NULL };
  guint i;

  for (i = 0; i < EF_N_ITEM_KINDS; i++)
    names[i] = ef_item_kind_name (i);

  return ef_json_choice (edit, "kind", names);
}

/* The inspection starts with an empty header, which the first row's replaces. */
static gboolean
set_header (EfInspection *inspection,
            EfItem *header,
            GError **error)
{
  g_autoptr (GPtrArray) one = g_ptr_array_new ();

  g_ptr_array_add (one, header);

  return ef_inspection_fill (inspection, EF_ITEM_HEADER, one, error);
}

static void
replay_edit (EfInspection *inspection,
             const EfJson *edit)
{
  EfItemKind kind = read_kind (edit);
  int position = (int) ef_json_integer (edit, "position", -1, G_MAXINT);
  g_autoptr (EfItem) before = read_side (edit, "before", kind);
  g_autoptr (EfItem) after = read_side (edit, "after", kind);
  g_autoptr (GError) local = NULL;
  gboolean done;

  ef_json_only (edit, edit_members);
  if (!ef_json_finish (edit->context, NULL))
    return;

  if (kind == EF_ITEM_HEADER && before == NULL && after != NULL)
    done = set_header (inspection, after, &local);
  else
    done = ef_inspection_swap_at (inspection, before, after, position, NULL, &local);
  if (!done)
    ef_json_fail (edit, EF_ERROR_CORRUPT, "%s", local->message);
}

static gboolean
replay_row (EfStore *store,
            gint64 job,
            gint64 seq,
            const char *edits,
            EfInspection *inspection,
            GError **error)
{
  g_autofree char *where = g_strdup_printf ("%s: job %" G_GINT64_FORMAT ", history row %" G_GINT64_FORMAT, store->sql.name, job, seq);
  g_autoptr (GError) local = NULL;
  g_autoptr (EfJsonContext) context = ef_json_parse (edits != NULL ? edits : "", -1, where, &local);
  g_auto (EfJson) root = { 0 };
  guint i;

  if (context != NULL)
    {
      root = ef_json_root (context);
      for (i = 0; i < ef_json_length (&root) && ef_json_finish (context, NULL); i++)
        {
          g_auto (EfJson) edit = ef_json_element (&root, i);

          replay_edit (inspection, &edit);
        }
    }
  if (context != NULL && ef_json_finish (context, &local))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s", local->message);

  return FALSE;
}

EfInspection *
ef_store_load_at (EfStore *store,
                  gint64 job,
                  gint64 seq,
                  GError **error)
{
  g_autoptr (EfPumpSheet) sheet = NULL;
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (sqlite3_stmt) statement = NULL;
  gint64 reached = 0;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  sheet = ef_store_job_sheet (store, job, error);
  if (sheet == NULL)
    return NULL;
  inspection = ef_inspection_new (sheet, NULL);
  statement = ef_sql_query (&store->sql, error, "SELECT seq, edits FROM change WHERE job = ? AND seq <= ? ORDER BY seq",
                            "ii", job, seq);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  while (row)
    {
      if (sqlite3_column_int64 (statement, 0) != ++reached)
        break;
      if (!replay_row (store, job, reached, (const char *) sqlite3_column_text (statement, 1), inspection, error)
          || !ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }
  if (row || reached != seq || seq < 1)
    {
      g_set_error (error, EF_ERROR, row ? EF_ERROR_CORRUPT : EF_ERROR_NOT_FOUND,
                   "%s: job %" G_GINT64_FORMAT ": expected history row %" G_GINT64_FORMAT ", found none",
                   store->sql.name, job, row ? reached : seq);
      return NULL;
    }

  return g_steal_pointer (&inspection);
}
