/* The chain of seals, and jobs that go out and come in with theirs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-seal.h"
#include "ef-exchange.h"
#include "ef-role-private.h"
#include "ef-seal-private.h"
#include "ef-store-standing.h"
#include "ef-verify.h"
#include "../base/ef-json-canonical.h"

#include <string.h>

static gboolean
last_entry (EfStore *store,
            gint64 *number_out,
            char **digest_out,
            GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, "SELECT number, statement FROM seal ORDER BY number DESC LIMIT 1", "");
  const char *text;
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  *number_out = row ? sqlite3_column_int64 (statement, 0) : 0;
  text = row ? (const char *) sqlite3_column_text (statement, 1) : NULL;
  *digest_out = text != NULL ? ef_sha256 (text, -1) : g_strdup (EF_SEAL_NOTHING);

  return TRUE;
}

gboolean
ef_seal_append (EfStore *store,
                const EfSealEntry *entry,
                gint64 *number_out,
                GError **error)
{
  g_autoptr (JsonNode) node = json_node_init_object (json_node_alloc (), entry->statement);
  g_autofree char *previous = NULL;
  g_autofree char *text = NULL;
  g_autofree char *signature = NULL;
  g_autofree char *endorsement = NULL;
  g_autoptr (sqlite3_stmt) statement = NULL;
  gint64 last;

  if (!last_entry (store, &last, &previous, error))
    return FALSE;
  /* The first key comes with the first seal. */
  if (entry->job == 0 && !ef_store_need (store, last == 0 ? EF_ACT_SIGN : EF_ACT_KEY, json_object_get_string_member (entry->statement, "role"), error))
    return FALSE;
  json_object_set_string_member (entry->statement, "format", EF_SEAL_FORMAT);
  json_object_set_int_member (entry->statement, "version", EF_SEAL_VERSION);
  json_object_set_int_member (entry->statement, "number", last + 1);
  json_object_set_string_member (entry->statement, "previous", previous);
  json_object_set_string_member (entry->statement, "key", ef_seal_key_public (entry->key));
  text = ef_json_canonical (node, error);
  if (text == NULL)
    return FALSE;

  signature = ef_seal_key_sign (entry->key, text);
  endorsement = entry->endorser != NULL ? ef_seal_key_sign (entry->endorser, text) : NULL;
  statement = ef_sql_query (&store->sql, error,
                            "INSERT INTO seal (number, job, statement, signature, endorsement, form, locator)"
                            " VALUES (?, nullif (?, 0), ?, ?, ?, ?, ?)",
                            "iisssbs", last + 1, entry->job, text, signature, endorsement, entry->form, entry->locator);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, NULL, error))
    return FALSE;
  if (number_out != NULL)
    *number_out = last + 1;

  return TRUE;
}

static gboolean
check_inspection (EfStore *store,
                  gint64 job,
                  const EfInspection *seen,
                  GError **error)
{
  g_autoptr (EfInspection) kept = NULL;

  if (seen == NULL)
    return TRUE;
  kept = ef_store_load_inside (store, job, error);
  if (kept == NULL)
    return FALSE;
  if (ef_inspection_equal (kept, seen))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_BUSY,
               "%s: job %" G_GINT64_FORMAT ": expected it as it was looked at, found it changed by another window; open the job again",
               store->sql.name, job);

  return FALSE;
}

static JsonNode *
make_form (EfStore *store,
           gint64 job,
           const EfSealInput *input,
           GError **error)
{
  JsonObject *object = json_object_new ();
  g_autoptr (JsonNode) form = ef_json_object_node (object);
  JsonNode *inspection = ef_seal_inspection_node (&store->sql, job, NULL, error);
  JsonNode *photos, *certificates, *history;
  JsonObject *rules;

  if (inspection == NULL)
    return NULL;
  json_object_set_member (object, "inspection", inspection);
  photos = ef_seal_photos_node (inspection);
  json_object_set_member (object, "photos", photos);
  certificates = ef_seal_certificates_node (inspection);
  if (certificates != NULL)
    json_object_set_member (object, EF_SEAL_CERTIFICATES, certificates);
  if (!ef_seal_add_kept (store, photos, error) || (certificates != NULL && !ef_seal_add_kept (store, certificates, error)))
    return NULL;
  history = ef_seal_history_node (&store->sql, job, 0, error);
  if (history == NULL)
    return NULL;
  json_object_set_member (object, "history", history);
  json_object_set_member (object, "results", input->results != NULL ? json_node_copy (input->results) : json_node_init_null (json_node_alloc ()));
  rules = json_object_new ();
  json_object_set_string_member (rules, "version", input->rules != NULL ? input->rules : ef_store_rules (store));
  json_object_set_string_member (rules, "decision", input->decision != NULL ? input->decision : "");
  json_object_set_object_member (object, "rules", rules);

  return g_steal_pointer (&form);
}

const char *
ef_seal_verdict (JsonNode *results)
{
  JsonNode *verdict = results != NULL && JSON_NODE_HOLDS_OBJECT (results) ? json_object_get_member (json_node_get_object (results), "verdict") : NULL;
  const char *name = NULL;

  if (verdict != NULL && JSON_NODE_HOLDS_OBJECT (verdict))
    name = json_object_get_string_member_with_default (json_node_get_object (verdict), "verdict", NULL);

  return name != NULL && g_strv_contains (ef_override_verdicts, name) ? name : NULL;
}

static gboolean
fill_statement (EfStore *store,
                gint64 job,
                const EfSealInput *input,
                const char *time,
                gint64 history,
                JsonObject *statement,
                GError **error)
{
  g_autoptr (sqlite3_stmt) row = ef_sql_query (&store->sql, error, "SELECT number, revision FROM job WHERE id = ?", "i", job);
  g_autofree char *number = NULL;

  if (row == NULL || !ef_sql_step (&store->sql, row, NULL, error))
    return FALSE;
  number = ef_sql_column_text (row, 0);
  json_object_set_string_member (statement, "kind", "job");
  json_object_set_string_member (statement, "time", time);
  json_object_set_string_member (statement, "role", input->role);
  json_object_set_string_member (statement, "note", input->note != NULL ? input->note : "");
  json_object_set_string_member (statement, "program", "endfloat " EF_VERSION);
  json_object_set_string_member (statement, "job", number != NULL ? number : "");
  json_object_set_int_member (statement, "job_id", job);
  json_object_set_int_member (statement, "revision", sqlite3_column_int64 (row, 1));
  json_object_set_int_member (statement, "history", history);

  return TRUE;
}

static gboolean
seal_form (EfStore *store,
           gint64 job,
           JsonNode *form,
           JsonObject *statement,
           const EfSealKey *key,
           gint64 *number_out,
           GError **error)
{
  JsonObject *digests = json_object_new ();
  g_autofree char *text = NULL;
  g_autofree char *digest = NULL;
  g_autofree char *locator = NULL;
  g_autofree char *locator_digest = NULL;
  g_autoptr (GBytes) packed = NULL;
  EfSealEntry entry = { .job = job, .statement = statement, .key = key };

  json_object_set_object_member (statement, "parts", digests);
  text = ef_seal_form_text (form, digests, error);
  packed = text != NULL ? ef_seal_pack (text, error) : NULL;
  if (packed == NULL)
    return FALSE;
  digest = ef_sha256 (text, -1);
  locator = ef_seal_locator (text);
  locator_digest = ef_sha256 (locator, -1);
  json_object_set_string_member (statement, "form", digest);
  json_object_set_string_member (statement, "locator", locator_digest);
  entry.form = packed;
  entry.locator = locator;

  return ef_seal_append (store, &entry, number_out, error);
}

gint64
ef_seal_job (EfStore *store,
             gint64 job,
             const EfSealInput *input,
             const EfSealKey *key,
             GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autofree char *time = ef_store_now ();
  g_autofree char *current = NULL;
  g_autoptr (JsonNode) form = NULL;
  g_autoptr (JsonObject) statement = json_object_new ();
  EfHistoryEntry entry = { .time = time, .label = "Signed and sealed", .action = "seal", .role = input->role, .reason = input->note };
  gint64 number = 0, history;

  g_return_val_if_fail (store != NULL && input != NULL && key != NULL, 0);
  if (input->role == NULL || *input->role == '\0')
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: role: expected who seals, found nothing", store->sql.name);
      return 0;
    }
  if (!ef_transaction_begin (&transaction, &store->sql, error)
      || !ef_store_check_open (store, job, error)
      || !check_inspection (store, job, input->inspection, error))
    return 0;
  current = ef_seal_key_current (store, error);
  if (g_strcmp0 (current, ef_seal_key_public (key)) != 0)
    {
      if (error == NULL || *error == NULL)
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: sealing key: expected the one in use, found another; unlock it again", store->sql.name);
      return 0;
    }

  if (!ef_store_add_entry (store, job, &entry, &history, error)
      || !fill_statement (store, job, input, time, history, statement, error))
    return 0;
  form = make_form (store, job, input, error);
  if (form == NULL || !seal_form (store, job, form, statement, key, &number, error)
      || !ef_sql_run (&store->sql, NULL, error, "UPDATE job SET sealed = ?, changed = ?, verdict = coalesce (?, verdict) WHERE id = ?", "issi",
                      number, time, ef_seal_verdict (input->results), job)
      || !ef_transaction_commit (&transaction, error))
    return 0;

  return number;
}

gint64
ef_seal_assessed_job (EfStore *store,
                      gint64 job,
                      const EfAssessment *assessment,
                      const char *role,
                      const char *note,
                      const EfSealKey *key,
                      GError **error)
{
  g_autoptr (JsonNode) results = ef_assessment_to_json (assessment);
  g_autofree char *decision = ef_decision_rule_text (&assessment->decision);
  const EfSealInput input = { .role = role, .note = note, .inspection = assessment->inspection, .results = results,
                              .rules = assessment->rule_set, .decision = decision };

  return ef_seal_job (store, job, &input, key, error);
}

EfSeal *
ef_seal_copy (const EfSeal *seal)
{
  EfSeal *copy = g_memdup2 (seal, sizeof *seal);

  copy->job_number = g_strdup (seal->job_number);
  copy->role = g_strdup (seal->role);
  copy->time = g_strdup (seal->time);
  copy->note = g_strdup (seal->note);
  copy->program = g_strdup (seal->program);
  copy->rules = g_strdup (seal->rules);
  copy->decision = g_strdup (seal->decision);
  copy->digest = g_strdup (seal->digest);
  copy->key = g_strdup (seal->key);
  copy->results = g_strdup (seal->results);

  return copy;
}

void
ef_seal_free (EfSeal *seal)
{
  if (seal == NULL)
    return;
  g_free (seal->job_number);
  g_free (seal->role);
  g_free (seal->time);
  g_free (seal->note);
  g_free (seal->program);
  g_free (seal->rules);
  g_free (seal->decision);
  g_free (seal->digest);
  g_free (seal->key);
  g_free (seal->results);
  g_free (seal);
}

static char *
text_of (JsonObject *object,
         const char *member)
{
  JsonNode *node = json_object_get_member (object, member);

  return g_strdup (node != NULL && JSON_NODE_HOLDS_VALUE (node) && json_node_get_value_type (node) == G_TYPE_STRING ? json_node_get_string (node) : "");
}

static gint64
integer_of (JsonObject *object,
            const char *member)
{
  JsonNode *node = json_object_get_member (object, member);

  return node != NULL && JSON_NODE_HOLDS_VALUE (node) && json_node_get_value_type (node) == G_TYPE_INT64 ? json_node_get_int (node) : 0;
}

static char *
part_of (JsonObject *statement,
         const char *part)
{
  JsonNode *parts = json_object_get_member (statement, "parts");

  return parts != NULL && JSON_NODE_HOLDS_OBJECT (parts) ? text_of (json_node_get_object (parts), part) : g_strdup ("");
}

/* NULL for a text that isn't a statement. */
static EfSeal *
read_seal (const char *text,
           gint64 job)
{
  g_autoptr (JsonNode) node = json_from_string (text != NULL ? text : "", NULL);
  JsonObject *object;
  EfSeal *seal;

  if (node == NULL || !JSON_NODE_HOLDS_OBJECT (node))
    return NULL;
  object = json_node_get_object (node);
  seal = g_new0 (EfSeal, 1);
  seal->job = job;
  seal->number = integer_of (object, "number");
  seal->revision = (guint) integer_of (object, "revision");
  seal->history = integer_of (object, "history");
  seal->job_number = text_of (object, "job");
  seal->role = text_of (object, "role");
  seal->time = text_of (object, "time");
  seal->note = text_of (object, "note");
  seal->program = text_of (object, "program");
  seal->key = text_of (object, "key");
  seal->results = part_of (object, "results");
  seal->digest = ef_sha256 (text, -1);

  return seal;
}

EfSeal *
ef_seal_of_block (JsonNode *block)
{
  JsonNode *statement = block != NULL && JSON_NODE_HOLDS_OBJECT (block) ? json_object_get_member (json_node_get_object (block), "statement") : NULL;
  g_autofree char *text = statement != NULL ? ef_json_canonical (statement, NULL) : NULL;
  EfSeal *seal = read_seal (text, 0);

  if (seal != NULL)
    seal->elsewhere = TRUE;

  return seal;
}

static gboolean
read_imports (EfStore *store,
              gint64 job,
              GPtrArray *seals,
              GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, "SELECT block FROM seal_import WHERE job = ? ORDER BY id", "i", job);
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  while (row)
    {
      g_autoptr (JsonNode) block = json_from_string ((const char *) sqlite3_column_text (statement, 0), NULL);
      EfSeal *seal = ef_seal_of_block (block);

      if (seal != NULL)
        {
          seal->job = job;
          g_ptr_array_add (seals, seal);
        }
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return FALSE;
    }

  return TRUE;
}

GPtrArray *
ef_seals_of_job (EfStore *store,
                 gint64 job,
                 GError **error)
{
  g_autoptr (GPtrArray) seals = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_seal_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  if (!read_imports (store, job, seals, error))
    return NULL;
  statement = ef_sql_query (&store->sql, error, "SELECT statement FROM seal WHERE job = ? ORDER BY number", "i", job);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      EfSeal *seal = read_seal ((const char *) sqlite3_column_text (statement, 0), job);

      if (seal != NULL)
        g_ptr_array_add (seals, seal);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&seals);
}

static JsonArray *
key_entries (const EfSql *sql,
             gint64 number,
             GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, error,
                                                     "SELECT statement, signature, endorsement FROM seal WHERE job IS NULL AND number < ? ORDER BY number",
                                                     "i", number);
  g_autoptr (JsonArray) array = json_array_new ();
  gboolean row;

  if (statement == NULL || !ef_sql_step (sql, statement, &row, error))
    return NULL;
  while (row)
    {
      JsonObject *entry = json_object_new ();
      JsonNode *node = json_from_string ((const char *) sqlite3_column_text (statement, 0), NULL);

      json_object_set_member (entry, "statement", node != NULL ? node : json_node_init_null (json_node_alloc ()));
      json_object_set_string_member (entry, "signature", (const char *) sqlite3_column_text (statement, 1));
      if (sqlite3_column_type (statement, 2) != SQLITE_NULL)
        json_object_set_string_member (entry, "endorsement", (const char *) sqlite3_column_text (statement, 2));
      json_array_add_object_element (array, entry);
      if (!ef_sql_step (sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&array);
}

JsonNode *
ef_seal_block (const EfSql *sql,
               gint64 number,
               GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, error, "SELECT statement, signature, form, locator FROM seal WHERE number = ?", "i", number);
  g_autoptr (JsonNode) block = ef_json_object_node (json_object_new ());
  JsonObject *object = json_node_get_object (block);
  g_autofree char *form = NULL;
  g_autofree char *digest = NULL;
  g_autoptr (JsonNode) parsed = NULL;
  g_autoptr (JsonNode) stated = NULL;
  JsonArray *keys;
  gboolean row;

  if (statement == NULL || !ef_sql_step (sql, statement, &row, error))
    return NULL;
  if (row)
    {
      form = ef_seal_unpack (sqlite3_column_blob (statement, 2), (gsize) sqlite3_column_bytes (statement, 2), NULL);
      parsed = form != NULL ? json_from_string (form, NULL) : NULL;
      stated = json_from_string ((const char *) sqlite3_column_text (statement, 0), NULL);
    }
  if (parsed == NULL || stated == NULL || !JSON_NODE_HOLDS_OBJECT (parsed) || !JSON_NODE_HOLDS_OBJECT (stated))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: seal %" G_GINT64_FORMAT ": it is missing or damaged; verify the store", sql->name, number);
      return NULL;
    }
  keys = key_entries (sql, number, error);
  if (keys == NULL)
    return NULL;

  digest = ef_sha256 ((const char *) sqlite3_column_text (statement, 0), -1);
  json_object_set_member (object, "statement", g_steal_pointer (&stated));
  json_object_set_string_member (object, "digest", digest);
  json_object_set_string_member (object, "signature", (const char *) sqlite3_column_text (statement, 1));
  json_object_set_array_member (object, "keys", keys);
  json_object_set_string_member (object, "locator", (const char *) sqlite3_column_text (statement, 3));
  json_object_set_member (object, "form", g_steal_pointer (&parsed));

  return g_steal_pointer (&block);
}

/* In the order of exchange files. */
static const char *const single[] = { "pump_sheet", "job" };

char *
ef_seal_file_text (JsonObject *members,
                   JsonNode *block)
{
  g_autoptr (JsonNode) file = ef_json_object_node (json_object_new ());
  JsonObject *object = json_node_get_object (file);
  const char *list;

  json_object_set_string_member (object, "format", EF_EXCHANGE_FORMAT);
  json_object_set_int_member (object, "version", EF_EXCHANGE_VERSION);
  for (guint i = 0; i < G_N_ELEMENTS (single); i++)
    if (json_object_has_member (members, single[i]))
      json_object_set_member (object, single[i], json_node_copy (json_object_get_member (members, single[i])));
  for (guint i = 0; (list = ef_exchange_list (i, NULL)) != NULL; i++)
    if (json_object_has_member (members, list))
      json_object_set_member (object, list, json_node_copy (json_object_get_member (members, list)));
    else
      json_object_set_array_member (object, list, json_array_new ());
  if (block != NULL)
    json_object_set_member (object, "seal", block);

  return ef_json_to_text (file);
}

static char *
sealed_file (EfStore *store,
             gint64 job,
             JsonNode *block,
             GError **error)
{
  g_autoptr (JsonNode) inspection = ef_seal_inspection_node (&store->sql, job, NULL, error);
  JsonObject *members;

  members = inspection != NULL ? json_node_get_object (inspection) : NULL;
  if (members != NULL && !json_object_has_member (members, "job"))
    g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: job %" G_GINT64_FORMAT ": expected its header, found none", store->sql.name, job);
  if (members == NULL || !json_object_has_member (members, "job"))
    {
      json_node_unref (block);
      return NULL;
    }

  return ef_seal_file_text (members, block);
}

static JsonNode *
imported_block (EfStore *store,
                gint64 job,
                GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, "SELECT block FROM seal_import WHERE job = ? ORDER BY id DESC LIMIT 1", "i", job);
  JsonNode *node = NULL;
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  if (row)
    node = json_from_string ((const char *) sqlite3_column_text (statement, 0), NULL);
  if (node == NULL)
    g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: job %" G_GINT64_FORMAT ": the seal it came with is missing or damaged", store->sql.name, job);

  return node;
}

char *
ef_seal_export (EfStore *store,
                gint64 job,
                GError **error)
{
  g_autoptr (EfInspection) inspection = NULL;
  EfStanding standing;
  JsonNode *block;

  g_return_val_if_fail (store != NULL, NULL);
  if (!ef_store_standing (store, job, &standing, error))
    return NULL;
  if (standing.sealed == 0)
    {
      inspection = ef_store_load (store, job, error);
      return inspection != NULL ? ef_exchange_write (inspection) : NULL;
    }
  block = standing.sealed > 0 ? ef_seal_block (&store->sql, standing.sealed, error) : imported_block (store, job, error);

  return block != NULL ? sealed_file (store, job, block, error) : NULL;
}

gboolean
ef_seal_export_file (EfStore *store,
                     gint64 job,
                     const char *path,
                     GError **error)
{
  g_autofree char *text = ef_seal_export (store, job, error);

  return text != NULL && ef_exchange_save_text (text, path, error);
}

/* Adds the seal of the file to the job it has become. */
static gboolean
keep_import (EfStore *store,
             gint64 job,
             JsonNode *block,
             const EfVerification *verification,
             GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autofree char *time = ef_store_now ();
  g_autofree char *text = ef_json_to_text (block);
  g_autofree char *first = ef_verification_first_broken (verification);
  EfHistoryEntry entry = { .time = time, .label = "Came with a seal", .action = "import", .reason = first };

  if (verification->holds)
    entry.reason = "The seal holds: the job can't be changed without a new revision";

  return ef_transaction_begin (&transaction, &store->sql, error)
         && ef_sql_run (&store->sql, NULL, error, "INSERT INTO seal_import (job, time, block) VALUES (?, ?, ?)", "iss", job, time, text)
         && ef_sql_run (&store->sql, NULL, error, "UPDATE job SET sealed = ?, changed = ? WHERE id = ?", "isi",
                        (gint64) (verification->holds ? -1 : 0), time, job)
         && ef_store_add_entry (store, job, &entry, NULL, error)
         && ef_transaction_commit (&transaction, error);
}

gint64
ef_seal_import (EfStore *store,
                const char *path,
                GError **error)
{
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (EfJsonContext) context = NULL;
  g_auto (EfJson) root = { 0 };
  g_auto (EfJson) block = { 0 };
  gint64 job;

  g_return_val_if_fail (store != NULL && path != NULL, 0);
  inspection = ef_exchange_load (path, error);
  context = inspection != NULL ? ef_json_parse_file (path, error) : NULL;
  if (context == NULL)
    return 0;
  root = ef_json_root (context);
  block = ef_json_optional (&root, "seal");
  if (block.node != NULL)
    {
      verification = ef_verify_file (path, NULL, NULL, error);
      if (verification == NULL)
        return 0;
    }
  job = ef_store_add (store, inspection, error);
  if (job == 0 || (block.node != NULL && !keep_import (store, job, block.node, verification, error)))
    return 0;

  return job;
}
