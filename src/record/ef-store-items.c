/* A job's items in the store: taken in whole, changed edit by edit, and read again.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-role-private.h"
#include "ef-store-private.h"
#include "ef-store-schema.h"

#define INSERT_ITEM "INSERT INTO item (job, kind, id, seq, body, tag, words) VALUES (?1, ?2, ?3, ?4, ?5, " \
                    EF_SQL_ITEM_TAG ("?2", "?5") ", " EF_SQL_ITEM_WORDS ("?5") ")"

/* What others refer to comes first. */
static const EfItemKind kinds[] = {
  EF_ITEM_HEADER, EF_ITEM_GAUGE, EF_ITEM_MARK, EF_ITEM_READING, EF_ITEM_CHECK, EF_ITEM_OVERRIDE, EF_ITEM_TICK,
  EF_ITEM_WORK, EF_ITEM_DEMAND, EF_ITEM_COST, EF_ITEM_REPLACEMENT, EF_ITEM_PHOTO
};

char *
ef_store_item_text (const EfItem *item)
{
  g_autoptr (JsonNode) node = ef_item_to_json (item);

  return ef_json_to_text (node);
}

EfItem *
ef_store_item_parse (EfStore *store,
                     gint64 job,
                     EfItemKind kind,
                     const char *id,
                     const char *text,
                     GError **error)
{
  g_autofree char *shown_id = g_utf8_make_valid (id, -1);
  g_autofree char *where = g_strdup_printf ("%s: job %" G_GINT64_FORMAT ", %s %s", store->sql.name, job, ef_item_kind_name (kind), shown_id);
  g_autoptr (GError) local = NULL;
  g_autoptr (EfJsonContext) context = ef_json_parse (text != NULL ? text : "", -1, where, &local);
  g_auto (EfJson) root = { 0 };
  EfItem *item = NULL;

  if (context != NULL)
    {
      root = ef_json_root (context);
      item = ef_item_from_json (kind, &root);
      if (item == NULL)
        ef_json_finish (context, &local);
    }
  if (item == NULL)
    g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s", local->message);

  return item;
}

static gboolean
check_number (EfStore *store,
              const EfJobHeader *header,
              GError **error)
{
  if (header->number != NULL && *header->number != '\0')
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: job number: expected a number such as J-0412, found none", store->sql.name);

  return FALSE;
}

/* Asked inside the transaction, so the answer holds. @job: the one that may have it; 0 none. */
static gboolean
check_number_free (EfStore *store,
                   const EfJobHeader *header,
                   gint64 job,
                   GError **error)
{
  gint64 holder;

  if (!check_number (store, header, error) || !ef_store_exists (store, header->number, &holder, error))
    return FALSE;
  if (holder == 0 || holder == job)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: job number: expected one that isn't taken, found \"%s\" taken",
               store->sql.name, header->number);

  return FALSE;
}

static gint64
insert_job (EfStore *store,
            const EfInspection *inspection,
            const char *time,
            GError **error)
{
  const EfJobHeader *header = ef_inspection_header (inspection);
  gint64 sheet = ef_store_keep_sheet (store, inspection->sheet, error);
  gint64 job;

  if (sheet == 0
      || !ef_sql_run (&store->sql, NULL, error,
                      "INSERT INTO job (number, sheet, pump, model, changed) VALUES (?, ?, ?, ?, ?)",
                      "sisss", header->number, sheet, inspection->sheet->name, inspection->sheet->model, time))
    return 0;
  job = sqlite3_last_insert_rowid (store->sql.db);

  return ef_store_update_row (store, job, header, time, error) ? job : 0;
}

static gboolean
insert_items (EfStore *store,
              gint64 job,
              const EfInspection *inspection,
              EfChange *made,
              GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, INSERT_ITEM, "");
  guint k, i;

  if (statement == NULL)
    return FALSE;
  for (k = 0; k < G_N_ELEMENTS (kinds); k++)
    for (i = 0; i < inspection->items[kinds[k]]->len; i++)
      {
        EfItem *item = inspection->items[kinds[k]]->pdata[i];
        g_autofree char *body = ef_store_item_text (item);

        ef_change_add (made, NULL, item);
        g_array_index (made->edits, EfEdit, made->edits->len - 1).position = i;
        if (!ef_sql_again (&store->sql, statement, error, "issis", job, item->klass->name, item->id, (gint64) i + 1, body))
          return FALSE;
      }

  return TRUE;
}

gint64
ef_store_add_inside (EfStore *store,
                     const EfInspection *inspection,
                     const char *label,
                     GError **error)
{
  g_autoptr (EfChange) made = ef_change_new (label);
  g_autofree char *time = ef_store_now ();
  g_autofree char *edits = NULL;
  gint64 job;

  if (!check_number_free (store, ef_inspection_header (inspection), 0, error))
    return 0;
  job = insert_job (store, inspection, time, error);
  if (job == 0 || !insert_items (store, job, inspection, made, error))
    return 0;
  edits = ef_store_edits_text (made);

  return ef_store_update_findings (store, job, time, NULL, error) && ef_store_add_history (store, job, time, made->label, edits, error) ? job : 0;
}

gint64
ef_store_add (EfStore *store,
              const EfInspection *inspection,
              GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  gint64 job;

  g_return_val_if_fail (store != NULL && inspection != NULL, 0);
  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return 0;
  job = ef_store_add_inside (store, inspection, "Job entered", error);

  return job != 0 && ef_transaction_commit (&transaction, error) ? job : 0;
}

static gboolean
load_kind (EfStore *store,
           gint64 job,
           EfItemKind kind,
           EfInspection *inspection,
           GError **error)
{
  g_autoptr (GPtrArray) items = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error,
                                                     "SELECT id, body FROM item WHERE job = ? AND kind = ? ORDER BY seq",
                                                     "is", job, ef_item_kind_name (kind));
  g_autoptr (GError) local = NULL;
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  while (row)
    {
      g_autofree char *id = ef_sql_column_text (statement, 0);
      EfItem *item = ef_store_item_parse (store, job, kind, id != NULL ? id : "",
                                          (const char *) sqlite3_column_text (statement, 1), error);

      if (item == NULL)
        return FALSE;
      g_ptr_array_add (items, item);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return FALSE;
    }

  if (!ef_inspection_fill (inspection, kind, items, &local))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: job %" G_GINT64_FORMAT ": %s", store->sql.name, job, local->message);
      return FALSE;
    }

  return TRUE;
}

EfInspection *
ef_store_load_inside (EfStore *store,
                      gint64 job,
                      GError **error)
{
  g_autoptr (EfPumpSheet) sheet = ef_store_job_sheet (store, job, error);
  g_autoptr (EfInspection) inspection = NULL;
  guint k;

  if (sheet == NULL)
    return NULL;
  inspection = ef_inspection_new (sheet, NULL);
  for (k = 0; k < G_N_ELEMENTS (kinds); k++)
    if (!load_kind (store, job, kinds[k], inspection, error))
      return NULL;

  return g_steal_pointer (&inspection);
}

/* In one read transaction, so that another window's change isn't seen by halves. */
EfInspection *
ef_store_load (EfStore *store,
               gint64 job,
               GError **error)
{
  EfInspection *inspection;

  g_return_val_if_fail (store != NULL, NULL);
  if (!ef_sql_exec (&store->sql, "BEGIN", error))
    return NULL;

  inspection = ef_store_load_inside (store, job, error);
  sqlite3_exec (store->sql.db, "ROLLBACK", NULL, NULL, NULL); /* nothing was written */

  return inspection;
}

/* Is the row still what the change thinks it is? Compared as items, since the text may have been written by an older version. */
static gboolean
check_before (EfStore *store,
              gint64 job,
              const EfItem *before,
              GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error,
                                                     "SELECT body FROM item WHERE job = ? AND kind = ? AND id = ?",
                                                     "iss", job, before->klass->name, before->id);
  g_autoptr (EfItem) kept = NULL;
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  if (row)
    {
      kept = ef_store_item_parse (store, job, before->klass->kind, before->id, (const char *) sqlite3_column_text (statement, 0), error);
      if (kept == NULL)
        return FALSE;
    }
  if (kept == NULL || !ef_item_equal (kept, before))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_BUSY,
                   "%s: %s %s: expected it unchanged, found it %s by another window; open the job again",
                   store->sql.name, before->klass->name, before->id, kept == NULL ? "removed" : "changed");
      return FALSE;
    }

  return TRUE;
}

/* The seq for an item that goes to @position among those of its kind (-1: last); makes room for it. */
static gboolean
make_room (EfStore *store,
           gint64 job,
           const char *kind,
           int position,
           gint64 *seq_out,
           GError **error)
{
  gint64 last, there = 0;

  if (!ef_sql_integer (&store->sql, 0, &last, error, "SELECT coalesce (max (seq), 0) FROM item WHERE job = ? AND kind = ?", "is", job, kind))
    return FALSE;
  if (position >= 0
      && !ef_sql_integer (&store->sql, 0, &there, error,
                          "SELECT seq FROM item WHERE job = ? AND kind = ? ORDER BY seq LIMIT 1 OFFSET ?",
                          "isi", job, kind, (gint64) position))
    return FALSE;

  *seq_out = there > 0 ? there : last + 1;
  if (there == 0)
    return TRUE;

  return ef_sql_run (&store->sql, NULL, error, "UPDATE item SET seq = seq + 1 WHERE job = ? AND kind = ? AND seq >= ?",
                     "isi", job, kind, there);
}

static gboolean
commit_edit (EfStore *store,
             gint64 job,
             const EfEdit *edit,
             GError **error)
{
  const EfItem *any = edit->after != NULL ? edit->after : edit->before;
  const char *kind = any->klass->name;
  g_autofree char *body = edit->after != NULL ? ef_store_item_text (edit->after) : NULL;
  gint64 seq;

  if (edit->before != NULL && !check_before (store, job, edit->before, error))
    return FALSE;
  if (edit->after == NULL)
    return ef_sql_run (&store->sql, NULL, error, "DELETE FROM item WHERE job = ? AND kind = ? AND id = ?", "iss", job, kind, any->id);
  if (edit->before != NULL)
    return ef_sql_run (&store->sql, NULL, error,
                       "UPDATE item SET body = ?1, tag = " EF_SQL_ITEM_TAG ("?3", "?1") ", words = " EF_SQL_ITEM_WORDS ("?1")
                       " WHERE job = ?2 AND kind = ?3 AND id = ?4",
                       "siss", body, job, kind, any->id);

  return make_room (store, job, kind, edit->position, &seq, error)
         && ef_sql_run (&store->sql, NULL, error, INSERT_ITEM, "issis", job, kind, any->id, seq, body);
}

static gboolean
commit_edits (EfStore *store,
              gint64 job,
              const EfChange *change,
              const char *time,
              GError **error)
{
  const EfJobHeader *header = NULL;
  guint i;

  for (i = 0; i < change->edits->len; i++)
    {
      const EfEdit *edit = &g_array_index (change->edits, EfEdit, i);

      if (!commit_edit (store, job, edit, error))
        return FALSE;
      if (edit->after != NULL && edit->after->klass->kind == EF_ITEM_HEADER)
        header = (const EfJobHeader *) edit->after;
    }

  return header == NULL
         || (check_number_free (store, header, job, error) && ef_store_update_row (store, job, header, time, error));
}

/* Edits that are acts: verdicts set by hand, and the sign-off, each by the role that was asked. Undo isn't asked for, and in an attempt at a lesson verdicts are the apprentice's. */
static gboolean
check_permit (EfStore *store,
              gint64 job,
              const EfChange *change,
              GError **error)
{
  gboolean decides = FALSE, signs = FALSE;
  const char *decided_by = NULL, *signed_by = NULL;
  gint64 attempt;

  for (guint i = 0; !change->back_or_again && i < change->edits->len; i++)
    {
      const EfEdit *edit = &g_array_index (change->edits, EfEdit, i);
      const EfItem *any = edit->after != NULL ? edit->after : edit->before;

      if (any->klass->kind == EF_ITEM_OVERRIDE)
        {
          decides = TRUE;
          decided_by = edit->after != NULL ? ((const EfOverride *) edit->after)->role : decided_by;
        }
      else if (any->klass->kind == EF_ITEM_TICK && g_str_equal (any->id, EF_SIGN_OFF_ID))
        {
          signs = TRUE;
          signed_by = edit->after != NULL ? ((const EfTick *) edit->after)->role : signed_by;
        }
    }
  if (!decides && !signs)
    return TRUE;
  if (!ef_sql_integer (&store->sql, 0, &attempt, error, "SELECT count (*) FROM attempt WHERE job = ?", "i", job))
    return FALSE;

  return attempt > 0 || ((!decides || ef_store_need (store, EF_ACT_OVERRIDE, decided_by, error)) && (!signs || ef_store_need (store, EF_ACT_SIGN, signed_by, error)));
}

gboolean
ef_store_commit (EfStore *store,
                 gint64 job,
                 const EfChange *change,
                 GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autofree char *time = ef_store_now ();
  g_autofree char *edits = NULL;
  int changed;

  g_return_val_if_fail (store != NULL && change != NULL, FALSE);
  edits = ef_store_edits_text (change);
  if (!ef_transaction_begin (&transaction, &store->sql, error)
      || !ef_store_check_open (store, job, error)
      || !check_permit (store, job, change, error)
      || !commit_edits (store, job, change, time, error)
      || !ef_store_shelf_follow (store, job, change, time, error)
      || !ef_store_update_findings (store, job, time, &changed, error))
    return FALSE;
  if (changed == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %" G_GINT64_FORMAT ", found none", store->sql.name, job);
      return FALSE;
    }

  return ef_store_add_history (store, job, time, change->label, edits, error)
         && ef_transaction_commit (&transaction, error);
}

typedef struct
{
  EfStore *store;
  gint64 job;
} SinkData;

static gboolean
store_sink (const EfChange *change,
            gpointer user_data,
            GError **error)
{
  SinkData *data = user_data;

  return ef_store_commit (data->store, data->job, change, error);
}

EfDocument *
ef_store_open_document (EfStore *store,
                        gint64 job,
                        GError **error)
{
  EfInspection *inspection;
  EfDocument *document;
  SinkData *data;

  inspection = ef_store_load (store, job, error);
  if (inspection == NULL)
    return NULL;

  document = ef_document_new (inspection);
  data = g_new (SinkData, 1);
  data->store = store;
  data->job = job;
  ef_document_set_sink (document, store_sink, data, g_free);

  return document;
}
