/* The history of a job: who changed what and when, and the job as it stood at any time.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each row keeps its edits whole, before and after, as
 *   [{"kind": "mark", "position": 3, "before": null, "after": {…}}, …]
 */
#include "ef-role-private.h"
#include "ef-store-private.h"
#include "../judge/ef-judge.h"

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

const char *
ef_store_rules (EfStore *store)
{
  g_autoptr (EfRuleSet) rules = NULL;

  if (store->rules == NULL)
    {
      rules = ef_rule_set_default (NULL);
      store->rules = g_strdup (rules != NULL ? ef_rule_set_version (rules) : "");
    }

  return store->rules;
}

void
ef_store_use_role (EfStore *store,
                   const char *role)
{
  g_autofree char *own = g_strdup (role);

  g_return_if_fail (store != NULL);
  g_free (store->role);
  store->role = g_steal_pointer (&own);
}

void
ef_store_use_rules (EfStore *store,
                    const char *version)
{
  g_return_if_fail (store != NULL && version != NULL);
  g_free (store->rules);
  store->rules = g_strdup (version);
}

/* With those of the job's pump sheet. */
static char *
rules_of_job (EfStore *store,
              gint64 job)
{
  g_autoptr (EfPumpSheet) sheet = ef_store_job_sheet (store, job, NULL);

  return sheet != NULL ? ef_rule_set_version_with (ef_store_rules (store), sheet) : g_strdup (ef_store_rules (store));
}

gboolean
ef_store_rules_before (EfStore *store,
                       gint64 job,
                       const char *now,
                       char **rules_out,
                       char **time_out,
                       GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL && now != NULL && rules_out != NULL && time_out != NULL, FALSE);
  *rules_out = *time_out = NULL;
  statement = ef_sql_query (&store->sql, error,
                            "SELECT rules, time FROM change WHERE job = ? AND rules <> '' AND rules <> ? ORDER BY seq DESC LIMIT 1", "is", job, now);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  if (row)
    {
      *rules_out = ef_sql_column_text (statement, 0);
      *time_out = ef_sql_column_text (statement, 1);
    }

  return TRUE;
}

/* What a row of history says was done, where that is an act of its own. */
static const struct
{
  const char *action;
  EfAct act;
} acts[] = {
  { "seal", EF_ACT_SIGN },
  { "revise", EF_ACT_REVISE },
  { "withdraw", EF_ACT_WITHDRAW },
  { "reinstate", EF_ACT_WITHDRAW },
};

static gboolean
check_permit (EfStore *store,
              const EfHistoryEntry *entry,
              GError **error)
{
  for (guint i = 0; i < G_N_ELEMENTS (acts); i++)
    if (g_strcmp0 (acts[i].action, entry->action) == 0)
      return ef_store_need (store, acts[i].act, entry->role, error);

  return TRUE;
}

gboolean
ef_store_add_entry (EfStore *store,
                    gint64 job,
                    const EfHistoryEntry *entry,
                    gint64 *seq_out,
                    GError **error)
{
  g_autofree char *rules = rules_of_job (store, job);

  if (!check_permit (store, entry, error)
      || !ef_sql_run (&store->sql, NULL, error,
                   "INSERT INTO change (job, seq, time, role, bench, program, label, edits, rules, action, reason, clock_back)"
                   " SELECT ?1, coalesce (last.seq, 0) + 1, ?2,"
                   " coalesce (?6, json_extract (body, '$.role'), ''), coalesce (json_extract (body, '$.bench'), ''), ?3, ?4, ?5, ?7, ?8, ?9,"
                   " coalesce (julianday (?2) < julianday (last.time), 0)"
                   " FROM item LEFT JOIN change AS last ON last.job = ?1 AND last.seq = (SELECT max (seq) FROM change WHERE job = ?1)"
                   " WHERE item.job = ?1 AND kind = 'header'",
                   "issssssss", job, entry->time, "endfloat " EF_VERSION, entry->label, entry->edits != NULL ? entry->edits : "[]\n",
                   entry->role != NULL ? entry->role : store->role, rules, entry->action, entry->reason != NULL ? entry->reason : ""))
    return FALSE;

  return seq_out == NULL
         || ef_sql_integer (&store->sql, 0, seq_out, error, "SELECT coalesce (max (seq), 0) FROM change WHERE job = ?", "i", job);
}

gboolean
ef_store_add_history (EfStore *store,
                      gint64 job,
                      const char *time,
                      const char *label,
                      const char *edits,
                      GError **error)
{
  const EfHistoryEntry entry = { .time = time, .label = label, .edits = edits, .action = "edit" };

  return ef_store_add_entry (store, job, &entry, NULL, error);
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
  g_free (row->rules);
  g_free (row->action);
  g_free (row->reason);
  g_free (row);
}

/* Columns: seq, time, role, bench, program, label, and for jobs rules, action, reason, clock_back. */
EfHistoryRow *
ef_store_history_row (sqlite3_stmt *statement)
{
  EfHistoryRow *entry = g_new0 (EfHistoryRow, 1);

  entry->seq = sqlite3_column_int64 (statement, 0);
  entry->time = ef_sql_column_text (statement, 1);
  entry->role = ef_sql_column_text (statement, 2);
  entry->bench = ef_sql_column_text (statement, 3);
  entry->program = ef_sql_column_text (statement, 4);
  entry->label = ef_sql_column_text (statement, 5);
  if (sqlite3_column_count (statement) > 6)
    {
      entry->rules = ef_sql_column_text (statement, 6);
      entry->action = ef_sql_column_text (statement, 7);
      entry->reason = ef_sql_column_text (statement, 8);
      entry->clock_back = sqlite3_column_int (statement, 9) != 0;
    }

  return entry;
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
                            "SELECT seq, time, role, bench, program, label, rules, action, reason, clock_back FROM change WHERE job = ? ORDER BY seq", "i", job);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  while (row)
    {
      g_ptr_array_add (rows, ef_store_history_row (statement));
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
