/* The shelf in the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-shelf.h"
#include "ef-store-private.h"
#include "ef-store-schema.h"

#include "../shelf/ef-shelf-match.h"

#include <math.h>
#include <string.h>

#include "config.h"

#define COLUMNS "code, body, state, holder, reason, changed"

/* Reading */

static EfShelfPart *
parse_part (EfStore *store,
            const char *code,
            const char *text,
            GError **error)
{
  g_autofree char *where = g_strdup_printf ("%s: shelf part %s", store->sql.name, code);
  g_autoptr (GError) local = NULL;
  g_autoptr (EfJsonContext) context = ef_json_parse (text != NULL ? text : "", -1, where, &local);
  g_auto (EfJson) root = { 0 };
  EfShelfPart *part = NULL;

  if (context != NULL)
    {
      root = ef_json_root (context);
      part = ef_shelf_part_from_json (&root);
      if (part == NULL)
        ef_json_finish (context, &local);
    }
  if (part == NULL)
    g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s", local->message);

  return part;
}

static char *
filled (char *text)
{
  if (text != NULL && *text != '\0')
    return text;
  g_free (text);

  return NULL;
}

static EfShelfPart *
read_row (EfStore *store,
          sqlite3_stmt *statement,
          GError **error)
{
  g_autofree char *code = ef_sql_column_text (statement, 0);
  g_autofree char *state = ef_sql_column_text (statement, 2);
  EfShelfPart *part = parse_part (store, code, (const char *) sqlite3_column_text (statement, 1), error);

  if (part == NULL)
    return NULL;
  if (!ef_shelf_state_from_name (state, &part->state))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: shelf part %s: state: expected a known one, found \"%s\"", store->sql.name, code, state);
      ef_shelf_part_unref (part);
      return NULL;
    }
  g_free (part->holder);
  part->holder = filled (ef_sql_column_text (statement, 3));
  g_free (part->reason);
  part->reason = filled (ef_sql_column_text (statement, 4));
  g_free (part->changed);
  part->changed = filled (ef_sql_column_text (statement, 5));

  return part;
}

static GPtrArray *
read_rows (EfStore *store,
           sqlite3_stmt *statement,
           GError **error)
{
  g_autoptr (GPtrArray) parts = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_shelf_part_unref);
  gboolean row;

  if (!ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      EfShelfPart *part = read_row (store, statement, error);

      if (part == NULL)
        return NULL;
      g_ptr_array_add (parts, part);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&parts);
}

/* One condition with at most one text; @number where it's a number. */
typedef struct
{
  const char *condition;
  char *text;
  double number;
} Condition;

static void
condition_clear (gpointer data)
{
  g_free (((Condition *) data)->text);
}

static void
add_text (GArray *conditions,
          const char *condition,
          const char *text)
{
  Condition one = { condition, g_strdup (text), NAN };

  if (text != NULL)
    g_array_append_val (conditions, one);
}

static void
add_words (GArray *conditions,
           const char *text)
{
  g_autofree char *folded = text != NULL ? ef_store_fold (text) : g_strdup ("");
  g_auto (GStrv) words = g_strsplit_set (folded, " \t\n", -1);

  for (guint i = 0; words[i] != NULL; i++)
    if (*words[i] != '\0')
      add_text (conditions, "instr (search, ?) > 0", words[i]);
}

static void
add_size (GArray *conditions,
          const EfShelfQuery *query)
{
  Condition least = { " AND json_extract (value, '$.value_mm') >= ?", NULL, query->size_min * 1e3 };
  Condition most = { " AND json_extract (value, '$.value_mm') <= ?", NULL, query->size_max * 1e3 };
  Condition end = { ")", NULL, NAN };

  add_text (conditions, "EXISTS (SELECT 1 FROM json_each (body, '$.sizes') WHERE json_extract (value, '$.quantity') = ?", query->quantity);
  if (!isnan (query->size_min))
    g_array_append_val (conditions, least);
  if (!isnan (query->size_max))
    g_array_append_val (conditions, most);
  g_array_append_val (conditions, end);
}

static GArray *
conditions_of (const EfShelfQuery *query)
{
  GArray *conditions = g_array_new (FALSE, FALSE, sizeof (Condition));

  g_array_set_clear_func (conditions, condition_clear);
  if (query == NULL)
    return conditions;
  add_text (conditions, "model = ?", query->model);
  add_text (conditions, "kind = ?", query->kind);
  add_text (conditions, "state = ?", query->state);
  add_text (conditions, "material = ?", query->material);
  add_text (conditions, "sheet = ?", query->sheet);
  add_words (conditions, query->text);
  if (query->quantity != NULL)
    add_size (conditions, query);

  return conditions;
}

static sqlite3_stmt *
query_shelf (EfStore *store,
             const EfShelfQuery *query,
             const char *head,
             const char *tail,
             GError **error)
{
  g_autoptr (GArray) conditions = conditions_of (query);
  g_autoptr (GString) text = g_string_new (head);
  g_autoptr (sqlite3_stmt) statement = NULL;
  int at = 0;

  for (guint i = 0; i < conditions->len; i++)
    {
      const char *condition = g_array_index (conditions, Condition, i).condition;

      if (*condition != ' ' && *condition != ')')
        g_string_append (text, i == 0 ? " WHERE " : " AND ");
      g_string_append (text, condition);
    }
  g_string_append (text, tail);
  statement = ef_sql_query (&store->sql, error, text->str, "");
  for (guint i = 0; statement != NULL && i < conditions->len; i++)
    {
      const Condition *one = &g_array_index (conditions, Condition, i);
      int code = SQLITE_OK;

      if (one->text != NULL)
        code = sqlite3_bind_text (statement, ++at, one->text, -1, SQLITE_TRANSIENT);
      else if (!isnan (one->number))
        code = sqlite3_bind_double (statement, ++at, one->number);
      if (code != SQLITE_OK)
        {
          ef_sql_set_error (&store->sql, code, "search the shelf", error);
          return NULL;
        }
    }

  return g_steal_pointer (&statement);
}

GPtrArray *
ef_store_shelf (EfStore *store,
                const EfShelfQuery *query,
                GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  g_autofree char *tail = NULL;

  g_return_val_if_fail (store != NULL, NULL);
  tail = g_strdup_printf (" ORDER BY id LIMIT %d OFFSET %u", query != NULL && query->limit > 0 ? (int) MIN (query->limit, (guint) G_MAXINT) : -1,
                          query != NULL ? query->offset : 0);
  statement = query_shelf (store, query, "SELECT " COLUMNS " FROM shelf", tail, error);

  return statement != NULL ? read_rows (store, statement, error) : NULL;
}

gint64
ef_store_shelf_count (EfStore *store,
                      const EfShelfQuery *query,
                      GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;

  g_return_val_if_fail (store != NULL, -1);
  statement = query_shelf (store, query, "SELECT count (*) FROM shelf", "", error);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, NULL, error))
    return -1;

  return sqlite3_column_int64 (statement, 0);
}

GPtrArray *
ef_store_shelf_unit (EfStore *store,
                     const char *code,
                     GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  g_autoptr (GPtrArray) parts = NULL;

  g_return_val_if_fail (store != NULL && code != NULL, NULL);
  statement = ef_sql_query (&store->sql, error,
                            "SELECT " COLUMNS " FROM shelf WHERE code = ?1 OR (pair <> '' AND pair = (SELECT pair FROM shelf WHERE code = ?1)) ORDER BY id", "s", code);
  parts = statement != NULL ? read_rows (store, statement, error) : NULL;
  if (parts != NULL && parts->len == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a part \"%s\" on the shelf, found none", store->sql.name, code);
      return NULL;
    }

  return g_steal_pointer (&parts);
}

EfShelfPart *
ef_store_shelf_part (EfStore *store,
                     const char *code,
                     GError **error)
{
  g_autoptr (GPtrArray) unit = ef_store_shelf_unit (store, code, error);

  for (guint i = 0; unit != NULL && i < unit->len; i++)
    if (g_strcmp0 (((EfShelfPart *) unit->pdata[i])->part->shelf, code) == 0)
      return ef_shelf_part_ref (unit->pdata[i]);

  return NULL;
}

GPtrArray *
ef_store_shelf_values (EfStore *store,
                       const char *column,
                       GError **error)
{
  static const char *const columns[] = { "model", "material", "kind", NULL };
  g_autoptr (GPtrArray) values = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  g_autofree char *text = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL && g_strv_contains (columns, column), NULL);
  text = g_strdup_printf ("SELECT DISTINCT %s FROM shelf WHERE %s <> '' ORDER BY 1", column, column);
  statement = ef_sql_query (&store->sql, error, text, "");
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      g_ptr_array_add (values, ef_sql_column_text (statement, 0));
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&values);
}

/* Putting */

static char *
search_text (const EfShelfPart *part)
{
  const EfReplacement *own = part->part;
  g_autofree char *text = g_strjoin ("\n", own->shelf, own->pair != NULL ? own->pair : "", part->model != NULL ? part->model : "", own->item.id,
                                     own->name != NULL ? own->name : "", own->material != NULL ? own->material : "", own->from_job != NULL ? own->from_job : "",
                                     own->note != NULL ? own->note : "", part->holder != NULL ? part->holder : "", part->reason != NULL ? part->reason : "", NULL);

  return ef_store_fold (text);
}

static gboolean
add_event (EfStore *store,
           const char *code,
           const char *time,
           const char *role,
           const char *label,
           const EfShelfPart *part,
           GError **error)
{
  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO shelf_change (code, seq, time, role, program, label, state, holder, reason)"
                     " SELECT ?1, (SELECT coalesce (max (seq), 0) + 1 FROM shelf_change WHERE code = ?1), ?2, ?3, ?4, ?5, ?6, ?7, ?8",
                     "ssssssss", code, time, role != NULL ? role : "", "endfloat " EF_VERSION, label, ef_shelf_state_name (part->state),
                     part->holder != NULL ? part->holder : "", part->reason != NULL ? part->reason : "");
}

static gboolean
insert_part (EfStore *store,
             EfShelfPart *part,
             const char *time,
             const char *role,
             GError **error)
{
  const EfReplacement *own = part->part;
  g_autoptr (JsonNode) node = ef_shelf_part_to_json (part);
  g_autofree char *body = ef_json_to_text (node);
  g_autofree char *search = search_text (part);
  g_autofree char *label = own->from_job != NULL ? g_strdup_printf ("Put on the shelf from %s", own->from_job) : g_strdup ("Put on the shelf");

  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO shelf (code, pair, sheet, model, part, kind, material, from_job, state, holder, reason, search, body, changed)"
                     " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                     "ssssssssssssss", own->shelf, own->pair != NULL ? own->pair : "", own->sheet != NULL ? own->sheet : "", part->model != NULL ? part->model : "",
                     own->item.id, ef_part_kind_name (part->kind), own->material != NULL ? own->material : "", own->from_job != NULL ? own->from_job : "",
                     ef_shelf_state_name (part->state), part->holder != NULL ? part->holder : "", part->reason != NULL ? part->reason : "", search, body, time)
         && add_event (store, own->shelf, time, role, label, part, error);
}

/* @pairs: pair text and job -> pair code. */
static gboolean
put_part (EfStore *store,
          const EfShelfPart *given,
          GHashTable *pairs,
          const char *time,
          const char *role,
          GPtrArray *codes,
          GError **error)
{
  const EfReplacement *from = given->part;
  g_autofree char *key = g_strdup_printf ("%s\n%s", from->from_job != NULL ? from->from_job : "", from->pair != NULL ? from->pair : "");
  g_autoptr (EfShelfPart) part = NULL;
  gint64 there = 0, next;

  if (from->from_job != NULL && *from->from_job != '\0'
      && !ef_sql_integer (&store->sql, 0, &there, error, "SELECT id FROM shelf WHERE from_job = ? AND part = ?", "ss", from->from_job, from->item.id))
    return FALSE;
  if (there != 0)
    return TRUE;
  if (!ef_sql_integer (&store->sql, 1, &next, error, "SELECT coalesce (max (id), 0) + 1 FROM shelf", ""))
    return FALSE;
  part = ef_shelf_part_new (ef_item_copy (from), given->model, given->kind);
  part->state = given->state;
  part->holder = g_strdup (given->holder);
  part->reason = g_strdup (given->reason);
  g_free (part->part->shelf);
  part->part->shelf = g_strdup_printf ("S-%04" G_GINT64_FORMAT, next);
  if (from->pair != NULL)
    {
      if (!g_hash_table_contains (pairs, key))
        g_hash_table_insert (pairs, g_strdup (key), g_strdup_printf ("P-%04" G_GINT64_FORMAT, next));
      g_free (part->part->pair);
      part->part->pair = g_strdup (g_hash_table_lookup (pairs, key));
    }
  ef_replacement_on_grid (part->part);
  if (!insert_part (store, part, time, role, error))
    return FALSE;
  g_ptr_array_add (codes, g_strdup (part->part->shelf));

  return TRUE;
}

gboolean
ef_store_shelf_put (EfStore *store,
                    GPtrArray *parts,
                    const char *role,
                    GPtrArray **codes_out,
                    GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (GHashTable) pairs = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  g_autoptr (GPtrArray) codes = g_ptr_array_new_with_free_func (g_free);
  g_autofree char *time = ef_store_now ();

  g_return_val_if_fail (store != NULL && parts != NULL, FALSE);
  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  for (guint i = 0; i < parts->len; i++)
    if (!put_part (store, parts->pdata[i], pairs, time, role, codes, error))
      return FALSE;
  if (!ef_transaction_commit (&transaction, error))
    return FALSE;
  if (codes_out != NULL)
    *codes_out = g_steal_pointer (&codes);

  return TRUE;
}

/* Moving */

static gboolean
set_state (EfStore *store,
           EfShelfPart *part,
           EfShelfState state,
           const char *holder,
           const char *reason,
           const char *time,
           const char *role,
           const char *label,
           GError **error)
{
  g_autofree char *search = NULL;

  part->state = state;
  g_free (part->holder);
  part->holder = g_strdup (holder);
  g_free (part->reason);
  part->reason = g_strdup (reason);
  search = search_text (part);

  return ef_sql_run (&store->sql, NULL, error, "UPDATE shelf SET state = ?, holder = ?, reason = ?, search = ?, changed = ? WHERE code = ?", "ssssss",
                     ef_shelf_state_name (state), holder != NULL ? holder : "", reason != NULL ? reason : "", search, time, part->part->shelf)
         && add_event (store, part->part->shelf, time, role, label, part, error);
}

static gboolean
refuse (const EfStore *store,
        const EfShelfPart *part,
        const char *expected,
        GError **error)
{
  g_autofree char *text = ef_shelf_part_state_text (part);

  g_set_error (error, EF_ERROR, EF_ERROR_BUSY, "%s: shelf part %s: expected it %s, found: %s", store->sql.name, part->part->shelf, expected, text);

  return FALSE;
}

static gboolean
may_move (const EfStore *store,
          const EfShelfPart *part,
          EfShelfMove move,
          GError **error)
{
  switch (move)
    {
    case EF_SHELF_RESERVE:
      return part->state == EF_SHELF_FREE || refuse (store, part, "free", error);
    case EF_SHELF_RELEASE:
      return part->state == EF_SHELF_RESERVED || refuse (store, part, "reserved", error);
    case EF_SHELF_WITHDRAW:
      return part->state == EF_SHELF_FREE || part->state == EF_SHELF_RESERVED || refuse (store, part, "free or reserved", error);
    default:
      return part->state == EF_SHELF_WITHDRAWN || refuse (store, part, "withdrawn", error);
    }
}

static gboolean
check_said (const EfStore *store,
            EfShelfMove move,
            const char *job_number,
            const char *reason,
            GError **error)
{
  const char *asked = move == EF_SHELF_RESERVE ? job_number : reason;

  if (move == EF_SHELF_RELEASE || (asked != NULL && *asked != '\0'))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected %s", store->sql.name, move == EF_SHELF_RESERVE ? "the number of the job to reserve it for" : "a reason");

  return FALSE;
}

static char *
label_of (EfShelfMove move,
          const char *job_number,
          const char *reason)
{
  switch (move)
    {
    case EF_SHELF_RESERVE:
      return g_strdup_printf ("Reserved for %s", job_number);
    case EF_SHELF_RELEASE:
      return reason != NULL && *reason != '\0' ? g_strdup_printf ("Given back: %s", reason) : g_strdup ("Given back");
    case EF_SHELF_WITHDRAW:
      return g_strdup_printf ("Withdrawn: %s", reason);
    default:
      return g_strdup_printf ("Put back: %s", reason);
    }
}

gboolean
ef_store_shelf_move (EfStore *store,
                     const char *code,
                     EfShelfMove move,
                     const char *job_number,
                     const char *reason,
                     const char *role,
                     GError **error)
{
  static const EfShelfState after[EF_N_SHELF_MOVES] = { EF_SHELF_RESERVED, EF_SHELF_FREE, EF_SHELF_WITHDRAWN, EF_SHELF_FREE };
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (GPtrArray) unit = NULL;
  g_autofree char *time = ef_store_now ();
  g_autofree char *label = NULL;

  g_return_val_if_fail (store != NULL && code != NULL && move < EF_N_SHELF_MOVES, FALSE);
  if (!check_said (store, move, job_number, reason, error) || !ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  unit = ef_store_shelf_unit (store, code, error);
  if (unit == NULL)
    return FALSE;
  label = label_of (move, job_number, reason);
  for (guint i = 0; i < unit->len; i++)
    if (!may_move (store, unit->pdata[i], move, error)
        || !set_state (store, unit->pdata[i], after[move], move == EF_SHELF_RESERVE ? job_number : NULL, reason, time, role, label, error))
      return FALSE;

  return ef_transaction_commit (&transaction, error);
}

/* What the edits of a job do to the shelf. */

static gboolean
job_of (EfStore *store,
        gint64 job,
        char **number_out,
        char **role_out,
        GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error,
                                                     "SELECT number, (SELECT json_extract (body, '$.role') FROM item WHERE item.job = job.id AND kind = 'header')"
                                                     " FROM job WHERE id = ?", "i", job);
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  *number_out = row ? ef_sql_column_text (statement, 0) : NULL;
  *role_out = row ? ef_sql_column_text (statement, 1) : NULL;

  return TRUE;
}

/* NULL without an error where this shelf doesn't have it: then the job came from elsewhere. */
static gboolean
find_own (EfStore *store,
          const EfReplacement *replacement,
          EfShelfPart **part_out,
          GError **error)
{
  gint64 there;

  *part_out = NULL;
  if (!ef_sql_integer (&store->sql, 0, &there, error, "SELECT count (*) FROM shelf WHERE code = ? AND part = ? AND from_job = ?", "sss", replacement->shelf,
                       replacement->item.id, replacement->from_job != NULL ? replacement->from_job : ""))
    return FALSE;
  if (there == 0)
    return TRUE;
  *part_out = ef_store_shelf_part (store, replacement->shelf, error);

  return *part_out != NULL;
}

static gboolean
bring_back (EfStore *store,
            const EfReplacement *replacement,
            const char *number,
            const char *role,
            const char *time,
            GError **error)
{
  g_autoptr (EfShelfPart) part = NULL;
  g_autofree char *label = g_strdup_printf ("Came back from %s", number);

  if (!find_own (store, replacement, &part, error))
    return FALSE;
  if (part == NULL || part->state != EF_SHELF_USED || g_strcmp0 (part->holder, number) != 0)
    return TRUE;

  return set_state (store, part, EF_SHELF_FREE, NULL, NULL, time, role, label, error);
}

static gboolean
take (EfStore *store,
      const EfReplacement *replacement,
      const char *number,
      const char *role,
      const char *time,
      GError **error)
{
  g_autoptr (EfShelfPart) part = NULL;
  g_autofree char *label = g_strdup_printf ("Used in %s", number);

  if (!find_own (store, replacement, &part, error))
    return FALSE;
  if (part == NULL)
    return TRUE;
  if (part->state != EF_SHELF_FREE && !(part->state == EF_SHELF_RESERVED && g_strcmp0 (part->holder, number) == 0))
    return refuse (store, part, "free or reserved for this job", error);

  return set_state (store, part, EF_SHELF_USED, number, NULL, time, role, label, error);
}

/* Mates are in the same hands after the change. */
static gboolean
check_mates (EfStore *store,
             const EfReplacement *replacement,
             GError **error)
{
  gint64 hands;

  if (replacement->pair == NULL || *replacement->pair == '\0')
    return TRUE;
  if (!ef_sql_integer (&store->sql, 0, &hands, error, "SELECT count (DISTINCT state || char (10) || holder) FROM shelf WHERE pair = ?", "s", replacement->pair))
    return FALSE;
  if (hands <= 1)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: shelf part %s: expected its mate to go with it (pair %s), found it left behind",
               store->sql.name, replacement->shelf, replacement->pair);

  return FALSE;
}

gboolean
ef_store_shelf_follow (EfStore *store,
                       gint64 job,
                       const EfChange *change,
                       const char *time,
                       GError **error)
{
  g_autofree char *number = NULL;
  g_autofree char *role = NULL;

  for (int pass = 0; pass < 3; pass++)
    for (guint i = 0; i < change->edits->len; i++)
      {
        const EfEdit *edit = &g_array_index (change->edits, EfEdit, i);
        const EfItem *any = edit->after != NULL ? edit->after : edit->before;
        const EfReplacement *before = (const EfReplacement *) edit->before, *after = (const EfReplacement *) edit->after;

        if (any->klass->kind != EF_ITEM_REPLACEMENT)
          continue;
        if (before != NULL && after != NULL && g_strcmp0 (before->shelf, after->shelf) == 0)
          continue;
        if (number == NULL && !job_of (store, job, &number, &role, error))
          return FALSE;
        if (number == NULL)
          return TRUE; /* no such job: told by the commit */
        if (pass == 0 && before != NULL && !bring_back (store, before, number, role, time, error))
          return FALSE;
        if (pass == 1 && after != NULL && !take (store, after, number, role, time, error))
          return FALSE;
        if (pass == 2 && ((before != NULL && !check_mates (store, before, error)) || (after != NULL && !check_mates (store, after, error))))
          return FALSE;
      }

  return TRUE;
}

gboolean
ef_store_shelf_use (EfStore *store,
                    const char *code,
                    gint64 job,
                    GError **error)
{
  g_autoptr (GPtrArray) unit = NULL;
  g_autoptr (EfDocument) document = NULL;

  g_return_val_if_fail (store != NULL && code != NULL, FALSE);
  unit = ef_store_shelf_unit (store, code, error);
  document = unit != NULL ? ef_store_open_document (store, job, error) : NULL;

  return document != NULL && ef_document_apply (document, ef_shelf_use_change (ef_document_inspection (document), unit), error);
}

/* Out of the job that uses it. */
static gboolean
take_out (EfStore *store,
          GPtrArray *unit,
          const char *number,
          GError **error)
{
  g_autoptr (EfDocument) document = NULL;
  EfChange *change;
  gint64 job;

  if (!ef_store_exists (store, number, &job, error))
    return FALSE;
  document = job != 0 ? ef_store_open_document (store, job, error) : NULL;
  if (document == NULL)
    {
      if (job == 0)
        g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %s, which uses the part, found none", store->sql.name, number);
      return FALSE;
    }
  change = ef_change_new ("Return parts to the shelf");
  for (guint i = 0; i < unit->len; i++)
    {
      const EfShelfPart *part = unit->pdata[i];
      EfReplacement *there = ef_inspection_find (ef_document_inspection (document), EF_ITEM_REPLACEMENT, part->part->item.id);

      if (there != NULL && g_strcmp0 (there->shelf, part->part->shelf) == 0)
        ef_change_add (change, there, NULL);
    }

  return ef_document_apply (document, change, error);
}

gboolean
ef_store_shelf_return (EfStore *store,
                       const char *code,
                       const char *reason,
                       const char *role,
                       GError **error)
{
  g_autoptr (GPtrArray) unit = NULL;
  const EfShelfPart *first;

  g_return_val_if_fail (store != NULL && code != NULL, FALSE);
  unit = ef_store_shelf_unit (store, code, error);
  if (unit == NULL)
    return FALSE;
  first = unit->pdata[0];
  if (first->state == EF_SHELF_USED)
    return take_out (store, unit, first->holder, error);

  return ef_store_shelf_move (store, code, EF_SHELF_RELEASE, NULL, reason, role, error);
}

/* History */

void
ef_shelf_event_free (EfShelfEvent *event)
{
  if (event == NULL)
    return;

  g_free (event->code);
  g_free (event->time);
  g_free (event->role);
  g_free (event->program);
  g_free (event->label);
  g_free (event);
}

GPtrArray *
ef_store_shelf_history (EfStore *store,
                        const char *code,
                        GError **error)
{
  g_autoptr (GPtrArray) events = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_shelf_event_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL && code != NULL, NULL);
  statement = ef_sql_query (&store->sql, error, "SELECT seq, code, time, role, program, label FROM shelf_change WHERE code = ? ORDER BY seq", "s", code);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      EfShelfEvent *event = g_new0 (EfShelfEvent, 1);

      event->seq = sqlite3_column_int64 (statement, 0);
      event->code = ef_sql_column_text (statement, 1);
      event->time = ef_sql_column_text (statement, 2);
      event->role = ef_sql_column_text (statement, 3);
      event->program = ef_sql_column_text (statement, 4);
      event->label = ef_sql_column_text (statement, 5);
      g_ptr_array_add (events, event);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&events);
}
