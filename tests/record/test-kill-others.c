/* Kill -9 while something else than editing is under way: sealing, making a backup, putting one back, bringing an old store up to date.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A child does it in an endless loop and says over a pipe what is done; it's killed at a random moment. A few rounds as a rule; many with -m slow. Editing
 * is in test-store-kill.c.
 */
#include "../inspection/random-inspection.h"

#include "record/ef-backup-private.h"
#include "record/ef-store-private.h"
#include "record/ef-store-schema.h"

#include <glib/gstdio.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>
#include "../isolate.h"
#include "open-store.h"
#include "sealed-store.h"
#include "samples.h"

#define ROUNDS (g_test_slow () ? 100u : 8u)

typedef struct
{
  GRand *rand;
  char *folder;
  char *path;
  char *backups;
  char *backup; /* holds the first job alone */
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = NULL;

  self->rand = g_rand_new_with_seed (61);
  self->folder = g_dir_make_tmp ("kill-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "jobs.endfloat", NULL);
  self->backups = g_build_filename (self->folder, "backups", NULL);
  store = open_store (self->path);
  add_random_job (store, self->rand, 20);
  self->backup = ef_backup_make (store, self->backups, NULL, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  add_random_job (store, self->rand, 20);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  isolated_remove (self->folder);
  g_free (self->folder);
  g_free (self->path);
  g_free (self->backups);
  g_free (self->backup);
  g_rand_free (self->rand);
}

/* Never returns. Writes the number of each thing done to @report. */
typedef void (*Endless) (Fixture *self, int report);

static void
say (int report,
     guint done)
{
  if (write (report, &done, sizeof done) != sizeof done)
    _exit (2);
}

/* Kills after up to @most things done and @most_us more; returns how many were said to be done. */
static guint
kill_one (Fixture *self,
          Endless endless,
          int most,
          int most_us)
{
  guint done = 0;
  int ends[2];
  int status, wanted;
  pid_t child;

  g_assert_cmpint (pipe (ends), ==, 0);
  child = fork ();
  g_assert_cmpint (child, >=, 0);
  if (child == 0)
    {
      close (ends[0]);
      endless (self, ends[1]);
      _exit (3);
    }

  close (ends[1]);
  for (wanted = g_rand_int_range (self->rand, 0, most + 1); wanted > 0; wanted--)
    g_assert_cmpint (read (ends[0], &done, sizeof done), ==, sizeof done);
  g_usleep ((gulong) g_rand_int_range (self->rand, 0, most_us));
  g_assert_cmpint (kill (child, SIGKILL), ==, 0);
  g_assert_cmpint (waitpid (child, &status, 0), ==, child);
  g_assert_true (WIFSIGNALED (status) && WTERMSIG (status) == SIGKILL);
  while (read (ends[0], &done, sizeof done) == sizeof done)
    ;
  close (ends[0]);

  return done;
}

static void
assert_sound (const char *path)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);

  g_assert_no_error (error);
  g_assert_true (ef_store_check (store, &error));
  g_assert_no_error (error);
}

/* Sealing */

static void
seal_endless (Fixture *self,
              int report)
{
  g_autoptr (EfStore) store = ef_store_open (self->path, NULL);
  g_autoptr (EfSealKey) key = ef_seal_key_unlock (store, SEALED_PASSPHRASE, NULL);
  guint i;

  for (i = 1;; i++)
    {
      g_autofree char *number = g_strdup_printf ("K-%d-%u", (int) getpid (), i);
      g_autoptr (EfPumpSheet) sheet = random_sheet (self->rand);
      g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, number);
      gint64 job = ef_store_add (store, inspection, NULL);

      seal_small (store, job, "clerk", "one of many", key);
      say (report, i);
    }
}

static void
test_seal (Fixture *self,
           gconstpointer unused)
{
  gint64 sealed = 0;
  guint i, rounds = ROUNDS;

  {
    g_autoptr (EfStore) store = open_store (self->path);
    g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", NULL);

    g_assert_nonnull (key);
    seal_small (store, 1, "clerk", "the first", key);
    sealed = 1;
  }
  for (i = 0; i < rounds; i++)
    {
      guint confirmed = kill_one (self, seal_endless, 4, 10000);
      g_autoptr (EfVerification) verification = NULL;

      assert_sound (self->path);
      verification = verify_store (self->path);
      assert_holds (verification);
      g_assert_cmpint (verification->n_seals, >=, sealed + confirmed);
      g_assert_cmpint (verification->n_seals, <=, sealed + confirmed + 1);
      sealed = verification->n_seals;
    }
  g_test_message ("%" G_GINT64_FORMAT " seals in %u rounds", sealed, rounds);
}

/* Making a backup */

static void
backup_endless (Fixture *self,
                int report)
{
  g_autoptr (EfStore) store = ef_store_open (self->path, NULL);
  guint i;

  for (i = 1;; i++)
    {
      g_autofree char *path = ef_backup_make (store, self->backups, &(EfBackupPolicy) { .recent = 3 }, NULL, NULL, NULL, NULL);

      if (path == NULL)
        _exit (4);
      say (report, i);
    }
}

static guint
count_partial (const char *folder)
{
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  const char *name;
  guint n = 0;

  while ((name = g_dir_read_name (dir)) != NULL)
    n += strstr (name, ".partial") != NULL;

  return n;
}

/* Whatever bears a backup's name is sound; what was cut off goes when the next is made. */
static void
test_backup (Fixture *self,
             gconstpointer unused)
{
  guint n_partial = 0, most = 3;
  guint i, rounds = ROUNDS;

  for (i = 0; i < rounds; i++)
    {
      g_autoptr (GPtrArray) list = NULL;
      guint j;

      /* The new one counts before an old one goes. A round killed before it had done that once adds one to those of the round before. */
      most = kill_one (self, backup_endless, 2, 20000) > 0 ? 4 : most + 1;
      list = ef_backup_list (self->backups, NULL);
      g_assert_cmpuint (list->len, >=, 1);
      g_assert_cmpuint (list->len, <=, most);
      for (j = 0; j < list->len; j++)
        {
          g_autoptr (GError) error = NULL;

          ef_backup_check (((EfBackup *) list->pdata[j])->path, NULL, &error);
          g_assert_no_error (error);
        }
      n_partial += count_partial (self->backups);
      assert_sound (self->path);
    }
  {
    g_autoptr (EfStore) store = open_store (self->path);
    g_autofree char *last = ef_backup_make (store, self->backups, NULL, NULL, NULL, NULL, NULL);

    g_assert_nonnull (last);
    g_assert_cmpuint (count_partial (self->backups), ==, 0);
  }
  g_test_message ("%u rounds, %u left a part of a copy", rounds, n_partial);
}

/* Putting one back */

static void
restore_once (Fixture *self,
              int report)
{
  if (!ef_backup_restore (self->backup, self->path, NULL, NULL, NULL, NULL, NULL, NULL))
    _exit (4);
  say (report, 1);
  pause ();
}

static gint64
count_jobs (const char *path)
{
  g_autoptr (EfStore) store = open_store (path);

  return ef_store_count (store, NULL, NULL);
}

static char *
find_kept (Fixture *self)
{
  g_autoptr (GDir) dir = g_dir_open (self->folder, 0, NULL);
  const char *name;

  while ((name = g_dir_read_name (dir)) != NULL)
    if (strstr (name, ".before-") != NULL && g_ascii_isalnum (name[strlen (name) - 1]) && strstr (name, "-wal") == NULL && strstr (name, "-shm") == NULL)
      return g_build_filename (self->folder, name, NULL);

  return NULL;
}

/* Either the store that was there, or the backup with that store beside it: never neither. */
static void
test_restore (Fixture *self,
              gconstpointer unused)
{
  g_autofree char *whole = g_build_filename (self->folder, "whole", NULL);
  guint n_restored = 0, n_said = 0;
  guint i, rounds = ROUNDS * 3;
  g_autofree char *bytes = NULL;
  gsize length;

  g_assert_true (g_file_get_contents (self->path, &bytes, &length, NULL));
  for (i = 0; i < rounds; i++)
    {
      g_autofree char *kept = NULL;
      guint said = kill_one (self, restore_once, 1, 40000);
      gint64 n;

      assert_sound (self->path);
      n = count_jobs (self->path);
      kept = find_kept (self);
      n_said += said;
      if (said)
        g_assert_cmpint (n, ==, 1);
      if (n == 1)
        {
          n_restored++;
          g_assert_nonnull (kept);
          assert_sound (kept);
          g_assert_cmpint (count_jobs (kept), ==, 2);
          remove_store (kept);
          remove_store (self->path);
          g_assert_true (g_file_set_contents (self->path, bytes, (gssize) length, NULL));
        }
      else
        {
          g_assert_cmpint (n, ==, 2);
          g_assert_null (kept);
        }
    }
  g_test_message ("%u rounds, %u were put back, %u had said so", rounds, n_restored, n_said);
}

/* Bringing an old one up to date */

static void
open_endless (Fixture *self,
              int report)
{
  g_autofree char *path = g_build_filename (self->folder, "old.endfloat", NULL);
  g_autoptr (EfStore) store = ef_store_open (path, NULL);

  if (store == NULL)
    _exit (4);
  say (report, 1);
  pause ();
}

static void
test_up_to_date (Fixture *self,
                 gconstpointer unused)
{
  g_autofree char *path = g_build_filename (self->folder, "old.endfloat", NULL);
  g_autoptr (GString) seen = g_string_new (NULL);
  guint i, rounds = ROUNDS * 3;

  for (i = 0; i < rounds; i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (EfStore) store = NULL;
      EfSql sql = { NULL, path };
      const gint64 was = 1 + i % (guint) (ef_store_schema_version () - 1);
      gint64 version, job;

      remove_store (path);
      unpack_sample ((guint) was, path);
      kill_one (self, open_endless, 0, 60000);
      /* What was being written when it was killed may have to be taken back, which takes writing. */
      g_assert_true (ef_sql_open_plain (&sql, path, SQLITE_OPEN_READWRITE, &error));
      g_assert_true (ef_sql_integer (&sql, 0, &version, &error, "PRAGMA user_version", ""));
      g_assert_true (version == was || version == ef_store_schema_version ()); /* all steps or none */
      g_assert_true (ef_store_schema_compare (&sql, version, &error));
      g_string_append_printf (seen, " %" G_GINT64_FORMAT, version);
      sqlite3_close_v2 (sql.db);

      assert_sound (path);
      store = open_store (path);
      g_assert_true (ef_store_exists (store, "S-1", &job, &error) && job > 0);
      {
        g_autoptr (EfInspection) inspection = ef_store_load (store, job, &error);

        g_assert_no_error (error);
        g_assert_cmpstr (ef_inspection_header (inspection)->note, ==, "second note, of a periwinkle on the strainer");
      }
    }
  g_test_message ("%u rounds, cut off at versions%s", rounds, seen->str);
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  ADD ("/kill/sealing", test_seal);
  ADD ("/kill/making-a-backup", test_backup);
  ADD ("/kill/putting-back", test_restore);
  ADD ("/kill/up-to-date", test_up_to_date);

  return g_test_run ();
}
