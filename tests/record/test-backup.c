/* Backups: made while others write, sound or not made at all, kept by the policy, and put back without losing what was there.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../inspection/random-inspection.h"

#include "record/ef-backup-private.h"
#include "record/ef-store-private.h"

#include <glib/gstdio.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>

typedef struct
{
  GRand *rand;
  char *folder;
  char *path;
  char *backups;
  EfStore *store;
  gint64 job;
} Fixture;

static EfStore *
open_store (const char *path)
{
  g_autoptr (GError) error = NULL;
  EfStore *store = ef_store_open (path, &error);

  g_assert_no_error (error);

  return store;
}

static gint64
add_random (Fixture *self,
            EfStore *store)
{
  g_autoptr (EfInspection) inspection = random_inspection (self->rand, 20);
  g_autoptr (GError) error = NULL;
  gint64 job = ef_store_add (store, inspection, &error);

  g_assert_no_error (error);

  return job;
}

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  guint i;

  self->rand = g_rand_new_with_seed (91);
  self->folder = g_dir_make_tmp ("backup-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "jobs.sqlite", NULL);
  self->backups = ef_backup_default_folder (self->path);
  self->store = open_store (self->path);
  for (i = 0; i < 25; i++)
    self->job = add_random (self, self->store);
}

static void
remove_tree (const char *path)
{
  GDir *dir = g_dir_open (path, 0, NULL);
  const char *name;

  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
    {
      g_autofree char *child = g_build_filename (path, name, NULL);

      remove_tree (child);
    }
  g_clear_pointer (&dir, g_dir_close);
  g_remove (path);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  g_clear_pointer (&self->store, ef_store_close);
  remove_tree (self->folder);
  g_free (self->folder);
  g_free (self->path);
  g_free (self->backups);
  g_rand_free (self->rand);
}

static char *
make (Fixture *self)
{
  g_autoptr (GError) error = NULL;
  char *path = ef_backup_make (self->store, self->backups, NULL, NULL, NULL, NULL, &error);

  g_assert_no_error (error);

  return path;
}

static void
assert_same_jobs (EfStore *a,
                  EfStore *b)
{
  g_autoptr (GPtrArray) rows = ef_store_jobs (a, NULL, NULL);
  guint i;

  g_assert_cmpint (ef_store_count (b, NULL, NULL), ==, rows->len);
  for (i = 0; i < rows->len; i++)
    {
      gint64 job = ((EfJobRow *) rows->pdata[i])->id;
      g_autoptr (EfInspection) left = ef_store_load (a, job, NULL);
      g_autoptr (EfInspection) right = ef_store_load (b, job, NULL);

      assert_same_inspection (left, right);
    }
}

static guint
count_files (const char *folder)
{
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  guint n = 0;

  while (dir != NULL && g_dir_read_name (dir) != NULL)
    n++;

  return n;
}

static void
test_make (Fixture *self,
           gconstpointer unused)
{
  g_autofree char *path = make (self);
  g_autofree char *second = make (self);
  g_autoptr (GPtrArray) list = NULL;
  g_autoptr (EfStore) copy = NULL;
  g_autoptr (GError) error = NULL;
  struct stat info;
  gint64 n_jobs;

  g_assert_true (ef_backup_check (path, &n_jobs, &error));
  g_assert_cmpint (n_jobs, ==, 25);
  g_assert_cmpint (stat (path, &info), ==, 0);
  g_assert_cmpint (info.st_mode & 0777, ==, 0600);
  g_assert_cmpint (stat (self->backups, &info), ==, 0);
  g_assert_cmpint (info.st_mode & 0777, ==, 0700);
  list = ef_backup_list (self->backups, &error);
  g_assert_cmpuint (list->len, ==, 2);
  g_assert_cmpuint (count_files (self->backups), ==, 2); /* no log, no journal, nothing partial */
  g_assert_cmpstr (((EfBackup *) list->pdata[0])->path, ==, second);
  g_assert_cmpint (((EfBackup *) list->pdata[0])->size, >, 10000);
  copy = open_store (path);
  g_assert_true (ef_store_check (copy, &error));
  assert_same_jobs (self->store, copy);
}

typedef struct
{
  Fixture *fixture;
  EfStore *other;
  guint calls;
  double last;
  GCancellable *cancellable;
} Meanwhile;

static void
write_meanwhile (double share,
                 gpointer user_data)
{
  Meanwhile *meanwhile = user_data;

  g_assert_cmpfloat (share, >=, meanwhile->last);
  g_assert_cmpfloat (share, <=, 1.0);
  meanwhile->last = share;
  meanwhile->calls++;
  if (meanwhile->other != NULL)
    add_random (meanwhile->fixture, meanwhile->other);
  if (meanwhile->cancellable != NULL && share > 0.2)
    g_cancellable_cancel (meanwhile->cancellable);
}

/* Another window writes between the steps: the copy is the store of the moment it was begun, and done in one go. */
static void
test_written_meanwhile (Fixture *self,
                        gconstpointer unused)
{
  Meanwhile meanwhile = { self, open_store (self->path) };
  g_autoptr (GError) error = NULL;
  g_autofree char *path = NULL;
  gint64 n_jobs;
  guint i;

  for (i = 0; i < 60; i++)
    add_random (self, self->store);
  path = ef_backup_make (self->store, self->backups, NULL, write_meanwhile, &meanwhile, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (meanwhile.calls, >=, 4);
  g_assert_cmpfloat (meanwhile.last, ==, 1.0);
  g_assert_true (ef_backup_check (path, &n_jobs, &error));
  g_assert_cmpint (n_jobs, ==, 85);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 85 + meanwhile.calls);
  ef_store_close (meanwhile.other);
}

static void
test_cancelled (Fixture *self,
                gconstpointer unused)
{
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  Meanwhile meanwhile = { self, NULL, 0, 0, cancellable };
  g_autofree char *path = make (self);
  g_autoptr (GError) error = NULL;

  g_assert_null (ef_backup_make (self->store, self->backups, &(EfBackupPolicy) { 0 }, write_meanwhile, &meanwhile, cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
  g_assert_cmpuint (count_files (self->backups), ==, 1);
  g_assert_true (g_file_test (path, G_FILE_TEST_EXISTS));
  add_random (self, self->store); /* nothing is left locked */
}

/* Damages the middle of the file, which must be closed. */
static void
damage (const char *path)
{
  g_autofree char *bytes = NULL;
  gsize length;

  g_assert_true (g_file_get_contents (path, &bytes, &length, NULL));
  memset (bytes + length / 2, 0xa5, MIN (20000, length / 4));
  g_assert_true (g_file_set_contents (path, bytes, (gssize) length, NULL));
}

/* A damaged store gives no backup, and costs none of those there are. */
static void
test_damaged_source (Fixture *self,
                     gconstpointer unused)
{
  g_autofree char *good = make (self);
  g_autoptr (GError) error = NULL;

  ef_store_close (self->store);
  damage (self->path);
  self->store = open_store (self->path);
  g_assert_false (ef_store_check (self->store, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_null (ef_backup_make (self->store, self->backups, &(EfBackupPolicy) { 0 }, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_assert_cmpuint (count_files (self->backups), ==, 1);
  g_assert_true (ef_backup_check (good, NULL, NULL));
}

/* A limit on the size of files plays the full disk. */
static void
test_no_room (Fixture *self,
              gconstpointer unused)
{
  g_autofree char *good = make (self);
  struct rlimit before, small;
  g_autoptr (GError) error = NULL;

  signal (SIGXFSZ, SIG_IGN);
  g_assert_cmpint (getrlimit (RLIMIT_FSIZE, &before), ==, 0);
  small = before;
  small.rlim_cur = 50000;
  g_assert_cmpint (setrlimit (RLIMIT_FSIZE, &small), ==, 0);
  g_assert_null (ef_backup_make (self->store, self->backups, &(EfBackupPolicy) { 0 }, NULL, NULL, NULL, &error));
  g_assert_cmpint (setrlimit (RLIMIT_FSIZE, &before), ==, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_FULL);
  g_assert_cmpuint (count_files (self->backups), ==, 1);
  g_assert_true (ef_backup_check (good, NULL, NULL));
}

static void
make_named (Fixture *self,
            const char *name)
{
  g_autofree char *path = g_build_filename (self->backups, name, NULL);

  g_mkdir_with_parents (self->backups, 0700);
  g_assert_true (g_file_set_contents (path, "x", 1, NULL));
}

static char *
names_left (Fixture *self)
{
  g_autoptr (GPtrArray) list = ef_backup_list (self->backups, NULL);
  GString *names = g_string_new (NULL);
  guint i;

  for (i = 0; i < list->len; i++)
    {
      g_autofree char *name = g_path_get_basename (((EfBackup *) list->pdata[i])->path);

      g_string_append_printf (names, "%s%.11s%s", i > 0 ? " " : "", name + 5, strchr (name + 21, '-') != NULL ? "+" : "");
    }

  return g_string_free (names, FALSE);
}

static void
test_rotation (Fixture *self,
               gconstpointer unused)
{
  static const char *const stamps[] = {
    "20260310T120000Z", "20260310T110000Z", "20260310T100000Z", "20260309T120000Z", "20260309T110000Z", "20260308T120000Z",
    "20260307T120000Z", "20260228T120000Z", "20260227T120000Z", "20260101T120000Z", "20251231T120000Z",
  };
  static const char *const foreign[] = {
    "notes.txt", "jobs.sqlite", "jobs-2026.sqlite", "jobs-20260310T120000Z.sqlite.partial", "jobs-20200101T000000Z.sqlite.keep",
    "jobs-20200101T000000Z-x.sqlite", "my-jobs-20200101T000000Z.sqlite",
  };
  g_autofree char *spared = g_build_filename (self->backups, "jobs-20200101T000000Z.sqlite", NULL);
  g_autofree char *left = NULL;
  g_autoptr (GError) error = NULL;
  guint i;

  for (i = 0; i < G_N_ELEMENTS (stamps); i++)
    {
      g_autofree char *name = g_strdup_printf ("jobs-%s.sqlite", stamps[i]);

      make_named (self, name);
    }
  for (i = 0; i < G_N_ELEMENTS (foreign); i++)
    make_named (self, foreign[i]);
  make_named (self, "jobs-20200101T000000Z.sqlite");
  make_named (self, "jobs-20260310T120000Z-2.sqlite");
  make_named (self, "jobs-20260310T120000Z-10.sqlite");

  /* The newest three; the newest of each of three days; the newest of each of three months; the spared one. */
  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { 3, 3, 3 }, spared, &error));
  left = names_left (self);
  g_assert_cmpstr (left, ==, "20260310T12+ 20260310T12+ 20260310T12 20260309T12 20260308T12 20260228T12 20260101T12 20200101T00");
  for (i = 0; i < G_N_ELEMENTS (foreign); i++)
    {
      g_autofree char *path = g_build_filename (self->backups, foreign[i], NULL);

      g_assert_true (g_file_test (path, G_FILE_TEST_EXISTS));
    }

  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { 0, 0, 0 }, NULL, &error));
  g_assert_cmpuint (count_files (self->backups), ==, G_N_ELEMENTS (foreign));
}

/* After a clock was set back the new backup looks older than all others; it's kept all the same. */
static void
test_clock_set_back (Fixture *self,
                     gconstpointer unused)
{
  g_autofree char *path = NULL;
  g_autoptr (GError) error = NULL;
  gboolean due;

  make_named (self, "jobs-29990101T000000Z.sqlite");
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, &due, &error));
  g_assert_true (due); /* a time from the future says nothing */
  path = ef_backup_make (self->store, self->backups, &(EfBackupPolicy) { 1, 0, 0 }, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_true (g_file_test (path, G_FILE_TEST_EXISTS));
}

static void
test_due (Fixture *self,
          gconstpointer unused)
{
  g_autofree char *empty_path = g_build_filename (self->folder, "empty.sqlite", NULL);
  g_autoptr (EfStore) empty = open_store (empty_path);
  g_autoptr (GError) error = NULL;
  g_autofree char *path = NULL;
  gboolean due;

  g_assert_true (ef_backup_due (empty, self->backups, 0, &due, &error));
  g_assert_false (due);
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, &due, &error));
  g_assert_true (due);
  make_named (self, "jobs-20200101T000000Z.sqlite");
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, &due, &error));
  g_assert_true (due);
  path = make (self);
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, &due, &error));
  g_assert_false (due); /* made just now */
  g_assert_true (ef_sql_exec (&self->store->sql, "UPDATE job SET changed = '2001-01-01T00:00:00Z'", &error));
  g_assert_true (ef_backup_due (self->store, self->backups, 0, &due, &error));
  g_assert_false (due); /* old enough, but nothing new */
  add_random (self, self->store);
  g_assert_true (ef_backup_due (self->store, self->backups, 0, &due, &error));
  g_assert_true (due);
}

static void
test_restore (Fixture *self,
              gconstpointer unused)
{
  g_autofree char *backup = make (self);
  g_autofree char *kept = NULL;
  g_autoptr (EfStore) earlier = NULL;
  g_autoptr (EfStore) later = NULL;
  g_autoptr (GError) error = NULL;

  add_random (self, self->store);
  g_clear_pointer (&self->store, ef_store_close);
  g_assert_true (ef_backup_restore (backup, self->path, &kept, &error));
  g_assert_no_error (error);
  self->store = open_store (self->path);
  earlier = open_store (backup);
  assert_same_jobs (earlier, self->store);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 25);
  g_assert_nonnull (kept);
  later = open_store (kept);
  g_assert_cmpint (ef_store_count (later, NULL, NULL), ==, 26);
  add_random (self, self->store);
}

static void
test_restore_where_none (Fixture *self,
                         gconstpointer unused)
{
  g_autofree char *backup = make (self);
  g_autofree char *elsewhere = g_build_filename (self->folder, "new.sqlite", NULL);
  g_autofree char *kept = NULL;
  g_autoptr (EfStore) restored = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_backup_restore (backup, elsewhere, &kept, &error));
  g_assert_null (kept);
  restored = open_store (elsewhere);
  assert_same_jobs (self->store, restored);
}

/* What a crash leaves: the newest edits are in the log beside the file. They stay with the store that was put aside. */
static void
test_restore_after_crash (Fixture *self,
                          gconstpointer unused)
{
  static const char *const suffixes[] = { "", "-wal" };
  g_autofree char *backup = make (self);
  g_autofree char *crashed = g_build_filename (self->folder, "crashed.sqlite", NULL);
  g_autofree char *kept = NULL;
  g_autoptr (EfStore) restored = NULL;
  g_autoptr (EfStore) aside = NULL;
  g_autoptr (GError) error = NULL;
  guint i;

  add_random (self, self->store);
  for (i = 0; i < G_N_ELEMENTS (suffixes); i++)
    {
      g_autofree char *from = g_strconcat (self->path, suffixes[i], NULL);
      g_autofree char *to = g_strconcat (crashed, suffixes[i], NULL);

      g_assert_true (ef_file_copy (from, to, &error));
    }
  g_assert_true (ef_backup_restore (backup, crashed, &kept, &error));
  restored = open_store (crashed);
  g_assert_cmpint (ef_store_count (restored, NULL, NULL), ==, 25);
  g_assert_true (ef_store_check (restored, &error));
  aside = open_store (kept);
  g_assert_cmpint (ef_store_count (aside, NULL, NULL), ==, 26);
}

static void
test_restore_over_damaged (Fixture *self,
                           gconstpointer unused)
{
  g_autofree char *backup = make (self);
  g_autofree char *kept = NULL;
  g_autofree char *found = NULL;
  g_autoptr (GError) error = NULL;

  g_clear_pointer (&self->store, ef_store_close);
  g_assert_true (g_file_set_contents (self->path, "not a store any more, but whoever looks into it later shall find it", -1, NULL));
  g_assert_true (ef_backup_restore (backup, self->path, &kept, &error));
  g_assert_true (g_file_get_contents (kept, &found, NULL, NULL));
  g_assert_true (g_str_has_prefix (found, "not a store any more"));
  self->store = open_store (self->path);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 25);
}

static void
test_restore_refused (Fixture *self,
                      gconstpointer unused)
{
  g_autofree char *backup = make (self);
  g_autofree char *bad = make (self);
  g_autofree char *letter = g_build_filename (self->folder, "letter.txt", NULL);
  g_autofree char *missing = g_build_filename (self->folder, "missing.sqlite", NULL);
  g_autoptr (GError) error = NULL;
  guint files;

  /* Open here. */
  add_random (self, self->store);
  files = count_files (self->folder);
  g_assert_false (ef_backup_restore (backup, self->path, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_clear_error (&error);
  g_assert_cmpuint (count_files (self->folder), ==, files);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 26);
  add_random (self, self->store);
  g_clear_pointer (&self->store, ef_store_close);

  damage (bad);
  g_assert_false (ef_backup_check (bad, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_false (ef_backup_restore (bad, self->path, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_true (g_file_set_contents (letter, "Dear customer, thank you for sending us the pump of your launch.", -1, NULL));
  g_assert_false (ef_backup_restore (letter, self->path, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_true (g_file_set_contents (letter, "", 0, NULL));
  g_assert_false (ef_backup_restore (letter, self->path, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_false (ef_backup_restore (missing, self->path, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
  g_clear_error (&error);
  g_assert_false (ef_backup_check (missing, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);

  self->store = open_store (self->path);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 27);
}

typedef struct
{
  gboolean done, good;
  char *path;
  GError *error;
} Outcome;

static void
auto_done (GObject *source,
           GAsyncResult *result,
           gpointer user_data)
{
  Outcome *outcome = user_data;

  outcome->good = ef_backup_auto_finish (result, &outcome->path, &outcome->error);
  outcome->done = TRUE;
}

static void
run_auto (const char *store_path,
          GCancellable *cancellable,
          Outcome *outcome)
{
  *outcome = (Outcome) { 0 };
  ef_backup_auto_async (store_path, EF_BACKUP_INTERVAL, cancellable, auto_done, outcome);
  while (!outcome->done)
    g_main_context_iteration (NULL, TRUE);
}

static void
test_auto (Fixture *self,
           gconstpointer unused)
{
  g_autoptr (GCancellable) cancelled = g_cancellable_new ();
  Outcome outcome;

  g_cancellable_cancel (cancelled);
  run_auto (self->path, cancelled, &outcome);
  g_assert_false (outcome.good);
  g_assert_error (outcome.error, EF_ERROR, EF_ERROR_CANCELLED);
  g_clear_error (&outcome.error);

  run_auto (self->path, NULL, &outcome);
  g_assert_no_error (outcome.error);
  g_assert_true (outcome.good && ef_backup_check (outcome.path, NULL, NULL));
  g_free (outcome.path);

  run_auto (self->path, NULL, &outcome);
  g_assert_true (outcome.good);
  g_assert_null (outcome.path); /* not due again */
  g_assert_cmpuint (count_files (self->backups), ==, 1);

  run_auto ("/proc/none/jobs.sqlite", NULL, &outcome);
  g_assert_false (outcome.good);
  g_assert_error (outcome.error, EF_ERROR, EF_ERROR_IO);
  g_clear_error (&outcome.error);
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, G_TEST_OPTION_ISOLATE_DIRS, NULL);
  ADD ("/backup/make", test_make);
  ADD ("/backup/written-meanwhile", test_written_meanwhile);
  ADD ("/backup/cancelled", test_cancelled);
  ADD ("/backup/damaged-source", test_damaged_source);
  ADD ("/backup/no-room", test_no_room);
  ADD ("/backup/rotation", test_rotation);
  ADD ("/backup/clock-set-back", test_clock_set_back);
  ADD ("/backup/due", test_due);
  ADD ("/backup/by-itself", test_auto);
  ADD ("/backup/restore", test_restore);
  ADD ("/backup/restore-where-none-is", test_restore_where_none);
  ADD ("/backup/restore-after-crash", test_restore_after_crash);
  ADD ("/backup/restore-over-damaged", test_restore_over_damaged);
  ADD ("/backup/restore-refused", test_restore_refused);

  return g_test_run ();
}
