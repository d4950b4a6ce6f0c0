/* Verifying a long chain of seals: how it grows, what it takes beyond the digests and signatures alone, and how soon it stops when it's told to.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sizes: 1,000 and 10,000 seals, or as given on the command line (1000 10000 100000). One job of 10 marks is entered and sealed by the program; the others are copies of it under numbers of
 * their own: rows by SQL, forms with their digests by exchanging the number in the text, statements signed and linked by the program. The whole is sound, and verified as any store.
 *
 * The reference is what no verification can do without, on the same bytes in the same run: SHA-256 of statement and form, and one Ed25519 verification, by libsodium. Everything beyond
 * it (unpacking, the job as it is now, its history, the list's columns) is in the ratio.
 */
#include "record/ef-seal-key.h"
#include "record/ef-store-private.h"
#include "record/ef-store-schema.h"
#include "record/ef-verify.h"
#include "base/ef-json-canonical.h"

#include "../record/sealed-store.h"

#include <fcntl.h>
#include <glib/gstdio.h>
#include <math.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define TEMPLATE "T-0000000"
#define SAMPLE 1000 /* seals that the reference is measured on */

static void
check (gboolean done,
       GError *error)
{
  if (!done)
    g_error ("%s", error != NULL ? error->message : "expected it to work");
}

static void
run (EfStore *store,
     const char *text)
{
  GError *error = NULL;

  check (ef_sql_exec (&store->sql, text, &error), error);
}

static void
add_template (EfStore *store,
              const EfSealKey *key)
{
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", "hl-24.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, TEMPLATE);
  const EfPart *gear = ef_pump_sheet_part (sheet, ((EfSection *) sheet->sections->pdata[0])->gear_part[0]);
  g_autofree char *face = g_strdup_printf ("%s/end-a", gear->id);
  GError *error = NULL;

  for (guint k = 0; k < 10; k++)
    {
      g_autoptr (EfItem) mark = (EfItem *) ef_mark_new (face, (EfMarkKind) (k % 3), EF_SHAPE_POINT, 1e-3);

      ef_mark_add_node ((EfMark *) mark, 1e-3 * k, 2e-3);
      ef_mark_set_depth ((EfMark *) mark, 2e-5, EF_UNIT_UM, NULL);
      ef_inspection_swap (inspection, NULL, mark, NULL);
    }
  check (ef_store_add (store, inspection, &error) == 1, error);
  seal_small (store, 1, "clerk", "looked through", key);
}

/* @n jobs in all, by SQL. */
static void
copy_jobs (EfStore *store,
           guint n)
{
  g_autofree char *numbers = g_strdup_printf ("CREATE TEMP TABLE wanted AS WITH RECURSIVE k (i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM k WHERE i < %u)"
                                              " SELECT i, printf ('J-%%07d', i) AS number FROM k", n);

  run (store, numbers);
  run (store, "INSERT INTO job (id, number, sheet, pump, model, serial, received, customer, verdict, found_pressure, changed, n_marks, day, findings, revision, sealed)"
              " SELECT i, wanted.number, sheet, pump, model, serial, received, customer, verdict, found_pressure, changed, n_marks, day, findings, revision, i + 1"
              " FROM wanted JOIN job ON job.id = 1");
  run (store, "INSERT INTO item (job, kind, id, seq, body, tag, words) SELECT i, kind, id, seq, replace (body, '" TEMPLATE "', wanted.number), tag, words"
              " FROM wanted JOIN item ON item.job = 1");
  run (store, "INSERT INTO change (job, seq, time, role, bench, program, label, edits, rules, action, reason, clock_back)"
              " SELECT i, seq, time, role, bench, program, label, replace (edits, '" TEMPLATE "', wanted.number), rules, action, reason, clock_back"
              " FROM wanted JOIN change ON change.job = 1");
  run (store, "UPDATE job SET search = " EF_SQL_JOB_SEARCH "; INSERT INTO job_text (rowid, body) SELECT id, " EF_SQL_JOB_TEXT " FROM job WHERE id > 1; DROP TABLE wanted");
}

static char *
replaced (const char *text,
          const char *from,
          const char *to)
{
  g_auto (GStrv) pieces = g_strsplit (text, from, -1);

  return g_strjoinv (to, pieces);
}

/* What the copies are made from. */
typedef struct
{
  JsonNode *statement;
  char *parts[5]; /* canonical, in the order of ef_seal_parts */
  char *edits;    /* of the first row of history */
} Template;

static void
template_read (Template *self,
               EfStore *store)
{
  g_autoptr (sqlite3_stmt) row = ef_sql_query (&store->sql, NULL, "SELECT statement, form FROM seal WHERE job = 1", "");
  g_autoptr (sqlite3_stmt) edits = ef_sql_query (&store->sql, NULL, "SELECT edits FROM change WHERE job = 1 AND seq = 1", "");
  g_autofree char *text = NULL;
  g_autoptr (JsonNode) form = NULL;

  check (ef_sql_step (&store->sql, row, NULL, NULL) && ef_sql_step (&store->sql, edits, NULL, NULL), NULL);
  self->statement = json_from_string ((const char *) sqlite3_column_text (row, 0), NULL);
  self->edits = ef_sql_column_text (edits, 0);
  text = ef_seal_unpack (sqlite3_column_blob (row, 1), (gsize) sqlite3_column_bytes (row, 1), NULL);
  form = json_from_string (text, NULL);
  for (guint i = 0; i < G_N_ELEMENTS (self->parts); i++)
    self->parts[i] = ef_json_canonical (json_object_get_member (json_node_get_object (form), ef_seal_parts[i]), NULL);
}

static void
template_clear (Template *self)
{
  json_node_unref (self->statement);
  for (guint i = 0; i < G_N_ELEMENTS (self->parts); i++)
    g_free (self->parts[i]);
  g_free (self->edits);
}

/* The template's form under another number, its digests in @parts. */
static char *
make_form (const Template *template,
           const char *number,
           JsonObject *parts)
{
  g_autofree char *edits = replaced (template->edits, TEMPLATE, number);
  g_autofree char *old_digest = ef_sha256 (template->edits, -1);
  g_autofree char *new_digest = ef_sha256 (edits, -1);
  GString *form = g_string_new ("{");

  for (guint i = 0; i < G_N_ELEMENTS (template->parts); i++)
    {
      g_autofree char *numbered = replaced (template->parts[i], TEMPLATE, number);
      g_autofree char *part = replaced (numbered, old_digest, new_digest);
      g_autofree char *digest = ef_sha256 (part, -1);

      g_string_append_printf (form, "%s\"%s\":%s", i > 0 ? "," : "", ef_seal_parts[i], part);
      json_object_set_string_member (parts, ef_seal_parts[i], digest);
    }
  g_string_append_c (form, '}');

  return g_string_free (form, FALSE);
}

static void
seal_copy (EfStore *store,
           const Template *template,
           gint64 job,
           const EfSealKey *key)
{
  g_autofree char *number = g_strdup_printf ("J-%07d", (int) job);
  g_autoptr (JsonNode) node = json_node_copy (template->statement);
  g_autofree char *text = json_to_string (node, FALSE);
  g_autoptr (JsonNode) own = json_from_string (text, NULL);
  JsonObject *statement = json_node_get_object (own);
  g_autofree char *form = make_form (template, number, json_object_get_object_member (statement, "parts"));
  g_autofree char *locator = ef_seal_locator (form);
  g_autofree char *form_digest = ef_sha256 (form, -1);
  g_autofree char *locator_digest = ef_sha256 (locator, -1);
  GError *error = NULL;
  g_autoptr (GBytes) packed = ef_seal_pack (form, &error);
  EfSealEntry entry = { .job = job, .statement = statement, .key = key, .form = packed, .locator = locator };

  json_object_set_string_member (statement, "job", number);
  json_object_set_int_member (statement, "job_id", job);
  json_object_set_string_member (statement, "form", form_digest);
  json_object_set_string_member (statement, "locator", locator_digest);
  check (packed != NULL && ef_seal_append (store, &entry, NULL, &error), error);
}

static void
fill (const char *path,
      guint n)
{
  g_autoptr (EfStore) store = ef_store_open (path, NULL);
  g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", NULL);
  Template template = { 0 };

  /* Only here: filling isn't what is measured. */
  run (store, "PRAGMA synchronous = OFF; PRAGMA cache_size = -200000");
  add_template (store, key);
  template_read (&template, store);
  run (store, "BEGIN");
  copy_jobs (store, n);
  for (gint64 job = 2; job <= n; job++)
    seal_copy (store, &template, job, key);
  run (store, "COMMIT");
  template_clear (&template);
}

/* Seconds a seal. */
static double
reference (const char *path)
{
  g_autoptr (EfStore) store = ef_store_open_to_read (path, NULL);
  g_autoptr (sqlite3_stmt) rows = ef_sql_query (&store->sql, NULL, "SELECT statement, form, signature FROM seal WHERE job IS NOT NULL LIMIT ?", "i", (gint64) SAMPLE);
  gint64 spent = 0;
  guint n = 0;
  gboolean row;

  while (ef_sql_step (&store->sql, rows, &row, NULL) && row)
    {
      const char *statement = (const char *) sqlite3_column_text (rows, 0);
      g_autofree char *form = ef_seal_unpack (sqlite3_column_blob (rows, 1), (gsize) sqlite3_column_bytes (rows, 1), NULL);
      g_autoptr (JsonNode) node = json_from_string (statement, NULL);
      const char *key = json_object_get_string_member (json_node_get_object (node), "key");
      const char *signature = (const char *) sqlite3_column_text (rows, 2);
      guchar public_key[crypto_sign_PUBLICKEYBYTES], bytes[crypto_sign_BYTES], hash[crypto_hash_sha256_BYTES];
      gint64 start;

      sodium_hex2bin (public_key, sizeof public_key, key, strlen (key), NULL, NULL, NULL);
      sodium_hex2bin (bytes, sizeof bytes, signature, strlen (signature), NULL, NULL, NULL);
      start = g_get_monotonic_time ();
      crypto_hash_sha256 (hash, (const guchar *) form, strlen (form));
      crypto_hash_sha256 (hash, (const guchar *) statement, strlen (statement));
      if (crypto_sign_verify_detached (bytes, (const guchar *) statement, strlen (statement), public_key) != 0)
        g_error ("expected the signature to hold");
      spent += g_get_monotonic_time () - start;
      n++;
    }

  return spent / 1e6 / n;
}

/* Of this process, MB. */
static double
resident (void)
{
  g_autofree char *text = NULL;
  char *rest = NULL;

  if (!g_file_get_contents ("/proc/self/statm", &text, NULL, NULL))
    return NAN;
  g_ascii_strtoull (text, &rest, 10);

  return (double) g_ascii_strtoull (rest, NULL, 10) * (double) sysconf (_SC_PAGESIZE) / 1e6;
}

typedef struct
{
  double last, most;
  guint calls;
  gint64 end; /* when all seals had been shown */
} Watch;

static void
watch_cb (double share,
          gpointer user_data)
{
  Watch *watch = user_data;

  if (share < watch->last || share > 1)
    g_error ("expected progress between %g and 1, found %g", watch->last, share);
  watch->last = share;
  watch->end = g_get_monotonic_time ();
  if (watch->calls++ % 500 == 0)
    watch->most = MAX (watch->most, resident ());
}

typedef struct
{
  GCancellable *cancellable;
  double after; /* seconds */
  gint64 at;
} Stop;

static gpointer
stop_thread (gpointer data)
{
  Stop *stop = data;

  g_usleep ((gulong) (stop->after * 1e6));
  stop->at = g_get_monotonic_time ();
  g_cancellable_cancel (stop->cancellable);

  return NULL;
}

/* Seconds between the wish and the answer; NAN where it was done before. */
static double
stop_after (const char *path,
            double seconds)
{
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  Stop stop = { cancellable, seconds, 0 };
  GThread *thread = g_thread_new ("stop", stop_thread, &stop);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfVerification) verification = ef_verify_store (path, NULL, NULL, NULL, cancellable, &error);
  gint64 now = g_get_monotonic_time ();

  g_thread_join (thread);
  if (verification == NULL && !g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED))
    g_error ("%s", error->message);

  return verification != NULL ? NAN : (now - stop.at) / 1e6;
}

static void
measure (guint n)
{
  static const double moments[] = { 0.05, 0.3 };
  g_autofree char *folder = g_dir_make_tmp ("bench-verify-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "jobs.sqlite", NULL);
  gint64 start = g_get_monotonic_time (), end;
  double made, before, seconds, single;
  EfVerification *verification;
  Watch watch = { 0 };
  GError *error = NULL;
  GStatBuf info;

  fill (path, n);
  made = (g_get_monotonic_time () - start) / 1e6;
  g_stat (path, &info);
  /* Before and after, since a machine that does other work too isn't the same from one minute to the next. */
  single = reference (path) / 2;
  before = resident ();
  watch.most = before;
  start = g_get_monotonic_time ();
  verification = ef_verify_store (path, NULL, watch_cb, &watch, NULL, &error);
  end = g_get_monotonic_time ();
  seconds = (end - start) / 1e6;
  check (verification != NULL, error);
  single += reference (path) / 2;
  assert_holds (verification);
  if (verification->n_seals != n || watch.last < 1)
    g_error ("expected %u seals and all of them shown, found %" G_GINT64_FORMAT " and %g", n, verification->n_seals, watch.last);
  g_print ("%7u seals, file %.1f MB, made in %.1f s: verified in %.2f s, %.3f ms a seal, %.2f of digests and signature alone (%.3f ms); memory %+.1f MB; %.1f seals' time after the last\n",
           n, info.st_size / 1e6, made, seconds, seconds / n * 1e3, seconds / n / single, single * 1e3, watch.most - before, (end - watch.end) / 1e6 / (seconds / n));
  ef_verification_free (verification);
  for (guint i = 0; i < G_N_ELEMENTS (moments); i++)
    {
      double answer = stop_after (path, moments[i] * seconds);

      if (isnan (answer))
        g_print ("        stopped at %2.0f %%: done before\n", moments[i] * 100);
      else
        g_print ("        stopped at %2.0f %%: answered after %.2f seals' time\n", moments[i] * 100, answer / (seconds / n));
    }
  remove_store (path);
  g_rmdir (folder);
}

int
main (int argc,
      char **argv)
{
  if (sodium_init () < 0)
    g_error ("libsodium doesn't start");
  if (argc < 2)
    {
      measure (1000);
      measure (10000);
    }
  for (int i = 1; i < argc; i++)
    measure ((guint) atoi (argv[i]));

  return 0;
}
