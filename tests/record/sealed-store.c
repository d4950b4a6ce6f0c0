/* A small store with sealed jobs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sealed-store.h"
#include "../inspection/random-inspection.h"

#include "record/ef-store-standing.h"

#include <glib/gstdio.h>

EfVerification *
verify_store (const char *path)
{
  g_autoptr (GError) error = NULL;
  EfVerification *verification = ef_verify_store (path, NULL, NULL, NULL, NULL, &error);

  g_assert_no_error (error);

  return verification;
}

guint
count_findings (const EfVerification *verification)
{
  guint n = 0;

  for (guint i = 0; i < verification->findings->len; i++)
    {
      const EfVerifyFinding *finding = verification->findings->pdata[i];

      n += !(finding->level == EF_VERIFY_NOTE && g_str_has_suffix (finding->place, ": file") && g_str_has_prefix (finding->sentence, "the store doesn't have it"));
    }

  return n;
}

JsonNode *
small_results (const char *verdict)
{
  g_autofree char *text = g_strdup_printf ("{\"format\": \"endfloat-results\", \"version\": 1, \"verdict\": {\"verdict\": \"%s\","
                                           " \"reasons\": [{\"value\": 0.125, \"limit\": 0.1, \"unit\": \"mm\"}]}, \"figures\": [1.5, 2.25, 3]}", verdict);

  return json_from_string (text, NULL);
}

gint64
seal_small (EfStore *store,
            gint64 job,
            const char *role,
            const char *note,
            const EfSealKey *key)
{
  g_autoptr (JsonNode) results = small_results ("rework");
  const EfSealInput input = { .role = role, .note = note, .results = results, .rules = "7", .decision = "guard band at 95 %" };
  g_autoptr (GError) error = NULL;
  gint64 number = ef_seal_job (store, job, &input, key, &error);

  g_assert_no_error (error);
  g_assert_cmpint (number, >, 0);

  return number;
}

gint64
add_random_job (EfStore *store,
                GRand *rand,
                guint most_items)
{
  g_autoptr (EfInspection) inspection = random_inspection (rand, most_items);
  g_autoptr (GError) error = NULL;
  gint64 job = ef_store_add (store, inspection, &error);

  g_assert_no_error (error);

  return job;
}

static void
edit_some (EfStore *store,
           GRand *rand,
           gint64 job,
           guint n)
{
  g_autoptr (GError) error = NULL;
  EfDocument *document = ef_store_open_document (store, job, &error);

  g_assert_no_error (error);
  for (guint i = 0; i < n; i++)
    ef_document_apply (document, random_change (rand, document), NULL);
  g_object_unref (document);
}

static void
import_one (EfStore *store,
            GRand *rand,
            const char *path)
{
  g_autofree char *other_path = g_strconcat (path, ".other", NULL);
  g_autofree char *file = g_strconcat (path, ".json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) other = ef_store_open (other_path, &error);
  g_autoptr (EfSealKey) key = ef_seal_key_make (other, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  gint64 job = add_random_job (other, rand, 6);

  seal_small (other, job, "clerk", "from elsewhere", key);
  g_assert_true (ef_seal_export_file (other, job, file, &error));
  g_assert_cmpint (ef_seal_import (store, file, &error), >, 0);
  g_assert_no_error (error);
  g_clear_pointer (&other, ef_store_close);
  remove_store (other_path);
  g_remove (file);
}

void
make_sealed_store (const char *path,
                   GRand *rand)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) first = NULL;
  g_autoptr (EfSealKey) second = NULL;
  gint64 jobs[4];

  g_assert_no_error (error);
  for (guint i = 0; i < G_N_ELEMENTS (jobs); i++)
    {
      jobs[i] = add_random_job (store, rand, 7);
      edit_some (store, rand, jobs[i], 3);
    }
  first = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_assert_no_error (error);
  seal_small (store, jobs[0], "clerk", "looked through", first);
  seal_small (store, jobs[1], "rebuilder", NULL, first);
  second = ef_seal_key_change (store, first, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", "a new year", &error);
  g_assert_no_error (error);
  seal_small (store, jobs[2], "clerk", "first time", second);
  g_assert_true (ef_store_open_revision (store, jobs[2], "clerk", "bore measured again", &error));
  edit_some (store, rand, jobs[2], 2);
  seal_small (store, jobs[2], "clerk", "second time", second);
  seal_small (store, jobs[3], "owner", "too early", second);
  g_assert_true (ef_store_open_revision (store, jobs[3], "owner", "too early", &error));
  edit_some (store, rand, jobs[3], 2);
  import_one (store, rand, path);
  add_random_job (store, rand, 5);
}

void
remove_store (const char *path)
{
  static const char *const endings[] = { "", "-wal", "-shm" };

  for (guint i = 0; i < G_N_ELEMENTS (endings); i++)
    {
      g_autofree char *file = g_strconcat (path, endings[i], NULL);

      g_remove (file);
    }
}

void
change_by_hand (const char *path,
                const char *text)
{
  sqlite3 *db;

  g_assert_cmpint (sqlite3_open_v2 (path, &db, SQLITE_OPEN_READWRITE, NULL), ==, SQLITE_OK);
  g_assert_cmpint (sqlite3_exec (db, text, NULL, NULL, NULL), ==, SQLITE_OK);
  sqlite3_close_v2 (db);
}

const EfVerifyFinding *
finding_of (const EfVerification *verification,
            const char *place)
{
  for (guint i = 0; i < verification->findings->len; i++)
    {
      const EfVerifyFinding *finding = verification->findings->pdata[i];

      if (g_str_equal (finding->place, place))
        return finding;
    }

  return NULL;
}
