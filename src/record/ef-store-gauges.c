/* The shop's gauges in the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-gauges.h"
#include "ef-store-files.h"
#include "ef-store-private.h"

#include "config.h"

void
ef_shop_gauge_free (EfShopGauge *self)
{
  if (self == NULL)
    return;
  if (self->gauge != NULL)
    ef_item_unref (&self->gauge->item);
  g_free (self->retired);
  g_free (self);
}

static EfShopGauge *
read_row (EfStore *store,
          sqlite3_stmt *statement,
          GError **error)
{
  g_autofree char *id = ef_sql_column_text (statement, 0);
  g_autofree char *body = ef_sql_column_text (statement, 1);
  EfItem *item = ef_store_item_parse (store, 0, EF_ITEM_GAUGE, id, body, error);
  EfShopGauge *gauge;

  if (item == NULL)
    return NULL;

  gauge = g_new0 (EfShopGauge, 1);
  gauge->gauge = (EfGauge *) item;
  gauge->version = sqlite3_column_int64 (statement, 2);
  gauge->retired = ef_sql_column_text (statement, 3);

  return gauge;
}

GPtrArray *
ef_store_gauges (EfStore *store,
                 gboolean with_retired,
                 GError **error)
{
  g_autoptr (GPtrArray) gauges = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_shop_gauge_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error,
                            "SELECT id, body, version, retired FROM gauge WHERE ? OR retired IS NULL ORDER BY seq", "i", (gint64) with_retired);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  while (row)
    {
      EfShopGauge *gauge = read_row (store, statement, error);

      if (gauge == NULL)
        return NULL;
      g_ptr_array_add (gauges, gauge);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&gauges);
}

static gboolean
add_history (EfStore *store,
             const char *id,
             const char *label,
             const char *role,
             const char *bench,
             GError **error)
{
  g_autofree char *time = ef_store_now ();

  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO gauge_change (gauge, seq, time, role, bench, program, label, body, retired)"
                     " SELECT id, version, ?2, ?3, ?4, ?5, ?6, body, retired FROM gauge WHERE id = ?1",
                     "ssssss", id, time, role != NULL ? role : "", bench != NULL ? bench : "", "endfloat " EF_VERSION, label);
}

/* Says why nothing was changed. */
static gboolean
refuse_stale (EfStore *store,
              const char *id,
              GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_BUSY, "%s: gauge %s: expected it as it was when it was opened, found it changed by another window. Nothing was kept; look at it again",
               store->sql.name, id);

  return FALSE;
}

static gboolean
insert_gauge (EfStore *store,
              const EfGauge *gauge,
              const char *body,
              GError **error)
{
  gint64 taken;

  if (!ef_sql_integer (&store->sql, 0, &taken, error, "SELECT count (*) FROM gauge WHERE id = ?", "s", gauge->item.id))
    return FALSE;
  if (taken > 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: gauge %s: expected an id that isn't taken, found it taken", store->sql.name, gauge->item.id);
      return FALSE;
    }

  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO gauge (id, seq, version, body) VALUES (?, (SELECT coalesce (max (seq), 0) + 1 FROM gauge), 1, ?)",
                     "ss", gauge->item.id, body);
}

/* The gauge as the list has it; NULL without an error where it has none. */
static EfGauge *
find_gauge (EfStore *store,
            const char *id,
            GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, "SELECT body FROM gauge WHERE id = ?", "s", id);
  g_autofree char *body = NULL;
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error) || !row)
    return NULL;
  body = ef_sql_column_text (statement, 0);

  return (EfGauge *) ef_store_item_parse (store, 0, EF_ITEM_GAUGE, id, body, error);
}

/* What is newly attached has to be there. */
static gboolean
check_files (EfStore *store,
             const EfGauge *before,
             const EfGauge *after,
             GError **error)
{
  for (guint i = 0; i < ef_certificates_length (after->certificates); i++)
    {
      const EfCertificate *one = after->certificates->pdata[i];
      g_autoptr (EfFileRow) row = NULL;

      if (before != NULL && ef_certificates_find (before->certificates, one->file) != NULL)
        continue;
      row = ef_store_file_info (store, one->file, error);
      if (row == NULL)
        {
          g_prefix_error (error, "gauge “%s”: certificate %s: ", after->name, one->name);
          return FALSE;
        }
    }

  return TRUE;
}

static void
add_names (GString *label,
           const char *what,
           const GPtrArray *of,
           const GPtrArray *not_in)
{
  for (guint i = 0; i < ef_certificates_length (of); i++)
    {
      const EfCertificate *one = of->pdata[i];

      if (ef_certificates_find (not_in, one->file) == NULL)
        g_string_append_printf (label, "%s%s: %s", label->len > 0 ? "; " : "", what, one->name);
    }
}

/* What the row of history is called: "Gauge changed; certificate attached: 114.pdf". @before NULL: a new gauge. */
static char *
change_label (const EfGauge *before,
              const EfGauge *after)
{
  g_autoptr (EfItem) else_same = before != NULL ? ef_item_copy (before) : NULL;
  GString *label = g_string_new (NULL);

  if (before != NULL)
    {
      g_clear_pointer (&((EfGauge *) else_same)->certificates, g_ptr_array_unref);
      ((EfGauge *) else_same)->certificates = ef_certificates_copy (after->certificates);
    }
  if (before == NULL)
    g_string_append (label, "Gauge added");
  else if (!ef_item_equal (else_same, after) || ef_certificates_equal (before->certificates, after->certificates))
    g_string_append (label, "Gauge changed");
  add_names (label, label->len > 0 ? "certificate attached" : "Certificate attached", after->certificates, before != NULL ? before->certificates : NULL);
  if (before != NULL)
    add_names (label, label->len > 0 ? "certificate removed" : "Certificate removed", before->certificates, after->certificates);

  return g_string_free (label, FALSE);
}

gboolean
ef_store_put_gauge (EfStore *store,
                    const EfGauge *gauge,
                    gint64 version,
                    const char *role,
                    const char *bench,
                    GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (EfItem) kept = NULL;
  g_autoptr (EfItem) before = NULL;
  g_autoptr (GError) local = NULL;
  g_autofree char *body = NULL;
  g_autofree char *label = NULL;
  int changed = 1;

  g_return_val_if_fail (store != NULL && gauge != NULL, FALSE);
  if (!ef_gauge_check (gauge, error))
    return FALSE;

  kept = ef_item_on_grid ((gpointer) gauge);
  body = ef_store_item_text (kept);
  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  if (version != 0)
    before = (EfItem *) find_gauge (store, gauge->item.id, &local);
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  if (!check_files (store, (EfGauge *) before, gauge, error))
    return FALSE;
  if (version == 0)
    {
      if (!insert_gauge (store, gauge, body, error))
        return FALSE;
    }
  else if (!ef_sql_run (&store->sql, &changed, error, "UPDATE gauge SET body = ?, version = version + 1 WHERE id = ? AND version = ?",
                        "ssi", body, gauge->item.id, version))
    return FALSE;
  if (changed == 0)
    return refuse_stale (store, gauge->item.id, error);
  label = change_label ((EfGauge *) before, (EfGauge *) kept);

  return add_history (store, gauge->item.id, label, role, bench, error)
         && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_retire_gauge (EfStore *store,
                       const char *id,
                       gint64 version,
                       const char *reason,
                       const char *role,
                       const char *bench,
                       GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  int changed;

  g_return_val_if_fail (store != NULL && id != NULL, FALSE);
  if (reason != NULL && *reason == '\0')
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "gauge %s: reason: expected why it isn't used any more, found none", id);
      return FALSE;
    }
  if (!ef_transaction_begin (&transaction, &store->sql, error)
      || !ef_sql_run (&store->sql, &changed, error, "UPDATE gauge SET retired = ?, version = version + 1 WHERE id = ? AND version = ?",
                      "ssi", reason, id, version))
    return FALSE;
  if (changed == 0)
    return refuse_stale (store, id, error);

  return add_history (store, id, reason != NULL ? "Gauge retired" : "Gauge in use again", role, bench, error)
         && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_seed_gauges (EfStore *store,
                      GError **error)
{
  gint64 n;

  g_return_val_if_fail (store != NULL, FALSE);
  if (!ef_sql_integer (&store->sql, 0, &n, error, "SELECT count (*) FROM gauge", ""))
    return FALSE;
  for (int kind = 0; n == 0 && kind < EF_N_GAUGE_KINDS; kind++)
    {
      g_autoptr (EfItem) item = (EfItem *) ef_gauge_default (kind);
      EfGauge *gauge = (EfGauge *) item;

      g_free (gauge->note);
      gauge->note = g_strdup ("Typical of its kind, no certificate");
      if (!ef_store_put_gauge (store, gauge, 0, "", "", error))
        return FALSE;
    }

  return TRUE;
}

GPtrArray *
ef_store_gauge_history (EfStore *store,
                        const char *id,
                        GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_history_row_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL && id != NULL, NULL);
  statement = ef_sql_query (&store->sql, error,
                            "SELECT seq, time, role, bench, program, label || coalesce (': ' || retired, '') FROM gauge_change WHERE gauge = ? ORDER BY seq", "s", id);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  while (row)
    {
      EfHistoryRow *entry = ef_store_history_row (statement);

      g_ptr_array_add (rows, entry);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&rows);
}
