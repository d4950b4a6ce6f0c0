/* Backups: made while others write, sound or not made at all, kept by the policy, and put back without losing what was there.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../inspection/random-inspection.h"

#include "record/ef-backup-private.h"
#include "record/ef-exchange.h"
#include "record/ef-salvage.h"
#include "record/ef-store-private.h"
#include "record/ef-store-schema.h"

#include <glib/gstdio.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>
#include "../isolate.h"
#include "open-store.h"

typedef struct
{
  GRand *rand;
  char *folder;
  char *path;
  char *backups;
  EfStore *store;
  gint64 job;
} Fixture;

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
tear_down (Fixture *self,
           gconstpointer unused)
{
  g_clear_pointer (&self->store, ef_store_close);
  isolated_remove (self->folder);
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
    "20160310T120000Z", "20160310T110000Z", "20160310T100000Z", "20160309T120000Z", "20160309T110000Z", "20160308T120000Z",
    "20160307T120000Z", "20160228T120000Z", "20160227T120000Z", "20160101T120000Z", "20151231T120000Z",
  };
  static const char *const foreign[] = {
    "notes.txt", "jobs.sqlite", "jobs-2016.sqlite", "jobs-20160310T120000Z.sqlite.partial", "jobs-20100101T000000Z.sqlite.keep",
    "jobs-20100101T000000Z-x.sqlite", "my-jobs-20100101T000000Z.sqlite",
  };
  g_autofree char *spared = g_build_filename (self->backups, "jobs-20100101T000000Z.sqlite", NULL);
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
  make_named (self, "jobs-20100101T000000Z.sqlite");
  make_named (self, "jobs-20160310T120000Z-2.sqlite");
  make_named (self, "jobs-20160310T120000Z-10.sqlite");

  /* The newest three; the newest of each of three days; the newest of each of three months; the spared one. */
  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { 3, 3, 0, 3 }, spared, &error));
  left = names_left (self);
  g_assert_cmpstr (left, ==, "20160310T12+ 20160310T12+ 20160310T12 20160309T12 20160308T12 20160228T12 20160101T12 20100101T00");
  for (i = 0; i < G_N_ELEMENTS (foreign); i++)
    {
      g_autofree char *path = g_build_filename (self->backups, foreign[i], NULL);

      g_assert_true (g_file_test (path, G_FILE_TEST_EXISTS));
    }

  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { 0 }, NULL, &error));
  g_assert_cmpuint (count_files (self->backups), ==, G_N_ELEMENTS (foreign));
}

static void
make_sized (Fixture *self,
            const char *stamp,
            goffset size)
{
  g_autofree char *name = g_strdup_printf ("jobs-%s.sqlite", stamp);
  g_autofree char *path = g_build_filename (self->backups, name, NULL);

  make_named (self, name);
  g_assert_cmpint (truncate (path, size), ==, 0);
}

/* A limit on all together: the oldest of those that are kept otherwise go, and no more of them than it takes. */
static void
test_most (Fixture *self,
           gconstpointer unused)
{
  const EfBackupPolicy policy = { .recent = 4, .days = 10, .most = 5000 };
  g_autofree char *spared = g_build_filename (self->backups, "jobs-20160105T120000Z.sqlite", NULL);
  g_autofree char *left = NULL;
  g_autofree char *fewer = NULL;
  g_autofree char *one = NULL;
  g_autoptr (GError) error = NULL;

  make_sized (self, "20160105T120000Z", 2000);
  make_sized (self, "20160104T120000Z", 1000);
  make_sized (self, "20160103T120000Z", 1000);
  make_sized (self, "20160102T120000Z", 1000);
  make_sized (self, "20160101T120000Z", 1000);
  /* From the future, as it seems: stays, and counts. */
  make_sized (self, "29990101T120000Z", 500);
  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { .recent = 4, .days = 10, .most = 6500 }, spared, &error));
  left = names_left (self);
  g_assert_cmpstr (left, ==, "29990101T12 20160105T12 20160104T12 20160103T12 20160102T12 20160101T12");
  g_assert_true (ef_backup_rotate (self->backups, &policy, spared, &error));
  fewer = names_left (self);
  g_assert_cmpstr (fewer, ==, "29990101T12 20160105T12 20160104T12 20160103T12");
  /* Smaller than one: that stays, and what is from the future. */
  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { .recent = 4, .most = 1 }, spared, &error));
  one = names_left (self);
  g_assert_cmpstr (one, ==, "29990101T12 20160105T12");
}

/* The newest sound one stays however large, also where newer ones aren't sound. */
static void
test_most_sound (Fixture *self,
                 gconstpointer unused)
{
  g_autofree char *older = make (self);
  g_autofree char *good = NULL;
  g_autofree char *bad = NULL;
  g_autofree char *again = NULL;
  g_autoptr (GPtrArray) left = NULL;
  g_autoptr (GError) error = NULL;

  good = make (self);
  bad = make (self);
  g_assert_true (g_file_set_contents (bad, "not a store at all", -1, NULL));
  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { .recent = 10, .most = 1 }, NULL, &error));
  g_assert_no_error (error);
  g_assert_false (g_file_test (older, G_FILE_TEST_EXISTS));
  g_assert_true (g_file_test (good, G_FILE_TEST_EXISTS));
  g_assert_false (g_file_test (bad, G_FILE_TEST_EXISTS));
  /* One that is made counts as sound: it was looked through. */
  again = ef_backup_make (self->store, self->backups, &(EfBackupPolicy) { .recent = 10, .most = 1 }, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  left = ef_backup_list (self->backups, &error);
  g_assert_cmpuint (left->len, ==, 1);
  g_assert_cmpstr (((EfBackup *) left->pdata[0])->path, ==, again);
  g_assert_true (ef_backup_check (again, NULL, &error));
}

/* Of several within a second the next is counted on: a number that fell free earlier would make the newest look the oldest. */
static void
test_within_second (Fixture *self,
                    gconstpointer unused)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GError) error = NULL;
  g_autofree char *path = NULL;
  guint i;

  for (i = 0; i < 10; i++)
    {
      g_autoptr (GDateTime) soon = g_date_time_add_seconds (now, i);
      g_autofree char *stamp = g_date_time_format (soon, "%Y%m%dT%H%M%SZ");
      g_autofree char *name = g_strdup_printf ("jobs-%s-3.sqlite", stamp);

      make_named (self, name);
    }
  path = ef_backup_make (self->store, self->backups, &(EfBackupPolicy) { .recent = 1 }, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_true (g_str_has_suffix (path, "Z-4.sqlite"));
}

/* ISO 8601: the week of a year's first Thursday is its week 1, so that 3 January 2016, a Sunday, is in 2015-W53 and the 4th in 2016-W01. */
static void
test_weeks (Fixture *self,
            gconstpointer unused)
{
  g_autofree char *left = NULL;
  g_autoptr (GError) error = NULL;

  make_named (self, "jobs-20160105T120000Z.sqlite");
  make_named (self, "jobs-20160104T120000Z.sqlite");
  make_named (self, "jobs-20160103T120000Z.sqlite");
  make_named (self, "jobs-20151228T120000Z.sqlite");
  make_named (self, "jobs-20151227T120000Z.sqlite");
  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { 0, 0, 2, 0 }, NULL, &error));
  left = names_left (self);
  g_assert_cmpstr (left, ==, "20160105T12 20160103T12");
}

/* Another window makes one there: this one waits its turn. What is left of one that was cut off goes. */
static void
test_held (Fixture *self,
           gconstpointer unused)
{
  g_autofree char *good = make (self);
  g_autofree char *next = NULL;
  g_autoptr (GError) error = NULL;
  int lock;

  make_named (self, "jobs-20160105T120000Z.sqlite.partial");
  make_named (self, "jobs-20160105T120000Z.sqlite.partial-journal");
  make_named (self, "jobs-20160105T120000Z.sqlite.partial-wal");
  make_named (self, "jobs-20160105T120000Z.sqlite.partial-shm");
  make_named (self, "invoices.sqlite.partial"); /* somebody else's */
  lock = ef_backup_hold_folder (self->backups, &error);
  g_assert_no_error (error);
  g_assert_null (ef_backup_make (self->store, self->backups, NULL, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_assert_cmpuint (count_files (self->backups), ==, 6);
  close (lock);
  next = make (self);
  g_assert_cmpuint (count_files (self->backups), ==, 3);
  g_assert_true (g_file_test (good, G_FILE_TEST_EXISTS));
  g_assert_true (g_file_test (next, G_FILE_TEST_EXISTS));
}

/* Of a copy that came to nothing nothing stays, also what the database kept beside it; another one's does. */
static void
test_remove_partial (Fixture *self,
                     gconstpointer unused)
{
  static const char *const ends[] = { "", "-journal", "-wal", "-shm" };
  g_autofree char *good = make (self);
  g_autofree char *partial = g_build_filename (self->backups, "jobs-20160105T120000Z.sqlite.partial", NULL);

  for (guint i = 0; i < G_N_ELEMENTS (ends); i++)
    {
      g_autofree char *name = g_strconcat ("jobs-20160105T120000Z.sqlite.partial", ends[i], NULL);
      g_autofree char *other = g_strconcat ("jobs-20160106T120000Z.sqlite.partial", ends[i], NULL);

      make_named (self, name);
      make_named (self, other);
    }
  ef_backup_remove_partial (partial);
  g_assert_cmpuint (count_files (self->backups), ==, 1 + G_N_ELEMENTS (ends));
  g_assert_false (g_file_test (partial, G_FILE_TEST_EXISTS));
  g_assert_true (g_file_test (good, G_FILE_TEST_EXISTS));
}

/* A copy that lacks what its version has isn't sound, though SQLite finds nothing wrong with it. */
static void
test_schema (Fixture *self,
             gconstpointer unused)
{
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_store_schema_compare (&self->store->sql, ef_store_schema_version (), &error));
  g_assert_true (ef_sql_exec (&self->store->sql, "DROP TRIGGER change_no_delete", &error));
  g_assert_null (ef_backup_make (self->store, self->backups, NULL, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_assert_nonnull (strstr (error->message, "trigger change_no_delete"));
  g_assert_cmpuint (count_files (self->backups), ==, 0);
}

static void
test_folders (void)
{
  g_autofree char *beside = ef_backup_folder ("/srv/shop/jobs.sqlite", "");
  g_autofree char *common = ef_backup_folder ("/srv/shop/jobs.sqlite", "/mnt/copies");
  g_autofree char *other = ef_backup_folder ("/srv/school/jobs.sqlite", "/mnt/copies");
  g_autofree char *hidden = ef_backup_folder ("/srv/.jobs", NULL);

  g_assert_cmpstr (beside, ==, "/srv/shop/jobs.backups");
  g_assert_cmpstr (hidden, ==, "/srv/.jobs.backups");
  g_assert_true (g_str_has_prefix (common, "/mnt/copies/jobs-") && g_str_has_suffix (common, ".backups"));
  g_assert_cmpstr (common, !=, other);
}

/* Lines of both, the older half let go when it's long. */
static void
test_log (void)
{
  g_autofree char *path = ef_backup_log_path ();
  g_autofree char *long_text = g_strnfill (3000, 'x');
  g_autofree char *text = NULL;
  guint i;

  ef_backup_log ("/srv/shop/jobs.sqlite", "no backup: no room\non the disk");
  g_assert_true (g_file_get_contents (path, &text, NULL, NULL));
  g_assert_true (g_str_has_suffix (text, "Z /srv/shop/jobs.sqlite: no backup: no room on the disk\n"));
  for (i = 0; i < 100; i++)
    ef_backup_log ("/srv/shop/jobs.sqlite", long_text);
  g_clear_pointer (&text, g_free);
  g_assert_true (g_file_get_contents (path, &text, NULL, NULL));
  g_assert_cmpuint (strlen (text), <, 210000);
  g_assert_true (g_ascii_isdigit (text[0]) && g_str_has_suffix (text, "x\n"));
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
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, 100000, &due, &error));
  g_assert_true (due); /* a time from the future says nothing */
  make_named (self, "jobs-29980101T000000Z.sqlite");
  path = ef_backup_make (self->store, self->backups, &(EfBackupPolicy) { 1 }, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_true (g_file_test (path, G_FILE_TEST_EXISTS));
  g_assert_cmpuint (count_files (self->backups), ==, 3); /* those from the future may still be needed */
}

/* Of the last job; one row of history. */
static void
edit (Fixture *self)
{
  g_autoptr (EfDocument) document = ef_store_open_document (self->store, self->job, NULL);
  g_autoptr (EfItem) header = ef_item_copy (ef_inspection_header (ef_document_inspection (document)));
  g_autoptr (GError) error = NULL;

  g_free (((EfJobHeader *) header)->note);
  ((EfJobHeader *) header)->note = g_strdup_printf ("%u", g_rand_int (self->rand));
  ef_document_replace (document, "Note", (gpointer) ef_inspection_header (ef_document_inspection (document)), header, &error);
  g_assert_no_error (error);
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

  g_assert_true (ef_backup_due (empty, self->backups, 0, 100000, &due, &error));
  g_assert_false (due);
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, 100000, &due, &error));
  g_assert_true (due);
  make_named (self, "jobs-20200101T000000Z.sqlite");
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, 100000, &due, &error));
  g_assert_true (due);
  path = make (self);
  g_assert_true (ef_backup_due (self->store, self->backups, 0, 1, &due, &error));
  g_assert_false (due); /* nothing new */
  /* Another store in its place that has less: what is different counts, on either side. */
  g_assert_true (ef_backup_due (empty, self->backups, 3600, 2, &due, &error));
  g_assert_true (due);
  edit (self);
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, 100000, &due, &error));
  g_assert_false (due); /* one edit, just now */
  g_assert_true (ef_backup_due (self->store, self->backups, 0, 100000, &due, &error));
  g_assert_true (due);
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, 2, &due, &error));
  g_assert_false (due);
  edit (self);
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, 2, &due, &error));
  g_assert_true (due);
  make_named (self, "jobs-29990101T000000Z.sqlite"); /* says nothing */
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, 3, &due, &error));
  g_assert_false (due);
}

/* The newest can't be read: that is as good as none, however new it is. */
static void
test_due_unreadable (Fixture *self,
                     gconstpointer unused)
{
  g_autofree char *stamp = ef_backup_stamp ();
  g_autofree char *name = g_strdup_printf ("jobs-%s.sqlite", stamp);
  g_autoptr (GError) error = NULL;
  gboolean due;

  make_named (self, name);
  g_assert_true (ef_backup_due (self->store, self->backups, 3600, 100000, &due, &error));
  g_assert_true (due);
}

/* Newest first, also past the ninth of a second; the one that's spared stays where the policy lets it go. */
static void
test_order_and_spared (Fixture *self,
                       gconstpointer unused)
{
  static const char *const names[] = { "jobs-20160107T120000Z-10.sqlite", "jobs-20160107T120000Z-9.sqlite", "jobs-20160107T120000Z-2.sqlite",
                                       "jobs-20160107T120000Z.sqlite", "jobs-20160106T120000Z.sqlite" };
  g_autofree char *spared = g_build_filename (self->backups, names[2], NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) list = NULL;

  for (guint i = 0; i < G_N_ELEMENTS (names); i++)
    make_named (self, names[(i + 2) % G_N_ELEMENTS (names)]);
  list = ef_backup_list (self->backups, &error);
  g_assert_cmpuint (list->len, ==, G_N_ELEMENTS (names));
  for (guint i = 0; i < list->len; i++)
    g_assert_true (g_str_has_suffix (((EfBackup *) list->pdata[i])->path, names[i]));
  g_assert_true (ef_backup_rotate (self->backups, &(EfBackupPolicy) { .recent = 1 }, spared, &error));
  g_ptr_array_unref (list);
  list = ef_backup_list (self->backups, &error);
  g_assert_cmpuint (list->len, ==, 2);
  g_assert_true (g_str_has_suffix (((EfBackup *) list->pdata[0])->path, names[0]));
  g_assert_cmpstr (((EfBackup *) list->pdata[1])->path, ==, spared);
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
  g_assert_true (ef_backup_restore (backup, self->path, NULL, &kept, NULL, NULL, NULL, &error));
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

  g_assert_true (ef_backup_restore (backup, elsewhere, NULL, &kept, NULL, NULL, NULL, &error));
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
  g_assert_true (ef_backup_restore (backup, crashed, NULL, &kept, NULL, NULL, NULL, &error));
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
  g_assert_true (ef_backup_restore (backup, self->path, NULL, &kept, NULL, NULL, NULL, &error));
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
  g_assert_false (ef_backup_restore (backup, self->path, NULL, NULL, NULL, NULL, NULL, &error));
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
  g_assert_false (ef_backup_restore (bad, self->path, NULL, NULL, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_true (g_file_set_contents (letter, "Dear customer, thank you for sending us the pump of your launch.", -1, NULL));
  g_assert_false (ef_backup_restore (letter, self->path, NULL, NULL, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_true (g_file_set_contents (letter, "", 0, NULL));
  g_assert_false (ef_backup_restore (letter, self->path, NULL, NULL, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_false (ef_backup_restore (missing, self->path, NULL, NULL, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
  g_clear_error (&error);
  g_assert_false (ef_backup_check (missing, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);

  self->store = open_store (self->path);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 27);
}

static void
rename_to (const char *from,
           const char *to)
{
  g_assert_cmpint (g_rename (from, to), ==, 0);
}

/* Cut off between putting aside and putting in place: opening does the rest, with the log of the store put aside kept with it. */
static void
test_restore_cut_off (Fixture *self,
                      gconstpointer unused)
{
  g_autofree char *backup = make (self);
  g_autofree char *copy = g_strconcat (self->path, ".restoring", NULL);
  g_autofree char *kept = g_strconcat (self->path, ".before-20160310T120000Z", NULL);
  g_autofree char *log = g_strconcat (self->path, "-wal", NULL);
  g_autofree char *kept_log = g_strconcat (kept, "-wal", NULL);
  g_autofree char *aside = g_build_filename (self->folder, "log", NULL);
  g_autoptr (EfStore) later = NULL;
  g_autoptr (GError) error = NULL;

  add_random (self, self->store);
  g_assert_true (ef_file_copy (log, aside, &error)); /* closing empties it */
  g_assert_true (ef_file_copy (self->path, kept, &error));
  g_clear_pointer (&self->store, ef_store_close);
  g_assert_true (ef_file_copy (backup, copy, &error));
  g_remove (self->path);
  rename_to (aside, log);

  self->store = open_store (self->path);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 25);
  g_assert_true (g_file_test (kept_log, G_FILE_TEST_EXISTS));
  g_assert_false (g_file_test (copy, G_FILE_TEST_EXISTS));
  later = open_store (kept);
  g_assert_cmpint (ef_store_count (later, NULL, NULL), ==, 26);
}

static void
test_restore_cancelled (Fixture *self,
                        gconstpointer unused)
{
  g_autofree char *backup = make (self);
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  Meanwhile meanwhile = { self, NULL, 0, 0, cancellable };
  g_autoptr (GError) error = NULL;
  guint files;

  add_random (self, self->store);
  g_clear_pointer (&self->store, ef_store_close);
  files = count_files (self->folder);
  g_assert_false (ef_backup_restore (backup, self->path, NULL, NULL, write_meanwhile, &meanwhile, cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
  g_assert_cmpuint (count_files (self->folder), ==, files);
  self->store = open_store (self->path);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 26);
}

static void
test_compare (Fixture *self,
              gconstpointer unused)
{
  g_autofree char *backup = make (self);
  g_autoptr (GError) error = NULL;
  EfBackupDifference difference;

  g_assert_true (ef_backup_compare (backup, self->path, &difference, &error));
  g_assert_cmpint (difference.jobs, ==, 0);
  g_assert_cmpint (difference.edits, ==, 0);
  edit (self);
  edit (self);
  add_random (self, self->store);
  g_assert_true (ef_backup_compare (backup, self->path, &difference, &error));
  g_assert_cmpint (difference.jobs, ==, 1);
  g_assert_cmpint (difference.edits, ==, 2);
  g_assert_false (ef_backup_compare ("/proc/none", self->path, &difference, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
}

static guint
count_loadable (const char *folder,
                EfStore *original)
{
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  const char *name;
  guint n = 0;

  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
    {
      g_autofree char *path = g_build_filename (folder, name, NULL);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfInspection) read = ef_exchange_load (path, &error);
      g_autoptr (EfInspection) as_it_was = NULL;
      gint64 job;

      g_assert_no_error (error);
      g_assert_true (ef_store_exists (original, ef_inspection_header (read)->number, &job, NULL));
      as_it_was = ef_store_load (original, job, NULL);
      assert_same_inspection (as_it_was, read);
      n++;
    }

  return n;
}

/* Pages damaged one after the other: what is taken out is as it was, what isn't is named. */
static void
test_salvage (Fixture *self,
              gconstpointer unused)
{
  g_autofree char *whole = make (self);
  g_autoptr (EfStore) original = open_store (whole);
  g_autofree char *bytes = NULL;
  guint n_written = 0, n_all = 0, n_found = 0;
  gsize length, page, stride;

  g_clear_pointer (&self->store, ef_store_close);
  g_assert_true (g_file_get_contents (self->path, &bytes, &length, NULL));
  stride = length / 4096 / (g_test_slow () ? 80 : 8);
  for (page = 1; page < length / 4096; page += stride)
    {
      g_autofree char *hurt = g_memdup2 (bytes, length);
      g_autofree char *path = g_build_filename (self->folder, "hurt.sqlite", NULL);
      g_autofree char *name = g_strdup_printf ("out-%" G_GSIZE_FORMAT, page);
      g_autofree char *folder = g_build_filename (self->folder, name, NULL);
      g_autoptr (EfSalvage) salvage = NULL;
      g_autoptr (GError) error = NULL;
      g_autoptr (GError) found = NULL;

      memset (hurt + page * 4096, 0xa5, 4096);
      g_assert_true (g_file_set_contents (path, hurt, (gssize) length, NULL));
      n_found += !ef_store_look_through (path, NULL, &found);
      salvage = ef_salvage (path, folder, NULL, NULL, NULL, &error);
      n_all += 25;
      if (salvage == NULL)
        {
          g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
          continue;
        }
      g_assert_cmpuint (count_loadable (folder, original), ==, salvage->n_written);
      if (salvage->n_written < 25)
        g_assert_cmpuint (salvage->losses->len, >, 0);
      n_written += salvage->n_written;
    }
  g_test_message ("%u of %u jobs taken out; %u of the damaged files found out by looking through", n_written, n_all, n_found);
  /* One damaged page costs few jobs as a rule; one that holds the root of a table may cost them all. */
  g_assert_cmpuint (n_written, >, n_all * 3 / 4);
  g_assert_cmpuint (n_found, >, 0);
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
          const char *folder,
          GCancellable *cancellable,
          Outcome *outcome)
{
  *outcome = (Outcome) { 0 };
  ef_backup_auto_async (store_path, folder, NULL, EF_BACKUP_INTERVAL, EF_BACKUP_CHANGES, cancellable, auto_done, outcome);
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
  run_auto (self->path, self->backups, cancelled, &outcome);
  g_assert_false (outcome.good);
  g_assert_error (outcome.error, EF_ERROR, EF_ERROR_CANCELLED);
  g_clear_error (&outcome.error);

  run_auto (self->path, self->backups, NULL, &outcome);
  g_assert_no_error (outcome.error);
  g_assert_true (outcome.good && ef_backup_check (outcome.path, NULL, NULL));
  g_free (outcome.path);

  run_auto (self->path, self->backups, NULL, &outcome);
  g_assert_true (outcome.good);
  g_assert_null (outcome.path); /* not due again */
  g_assert_cmpuint (count_files (self->backups), ==, 1);

  run_auto ("/proc/none/jobs.sqlite", "/proc/none/backups", NULL, &outcome);
  g_assert_false (outcome.good);
  g_assert_error (outcome.error, EF_ERROR, EF_ERROR_IO);
  g_clear_error (&outcome.error);
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  ADD ("/backup/make", test_make);
  ADD ("/backup/written-meanwhile", test_written_meanwhile);
  ADD ("/backup/cancelled", test_cancelled);
  ADD ("/backup/damaged-source", test_damaged_source);
  ADD ("/backup/no-room", test_no_room);
  ADD ("/backup/rotation", test_rotation);
  ADD ("/backup/most-together", test_most);
  ADD ("/backup/most-but-the-newest-sound", test_most_sound);
  ADD ("/backup/within-a-second", test_within_second);
  ADD ("/backup/weeks", test_weeks);
  ADD ("/backup/held-by-another", test_held);
  ADD ("/backup/remove-partial", test_remove_partial);
  ADD ("/backup/lacks-a-part", test_schema);
  g_test_add_func ("/backup/folders", test_folders);
  g_test_add_func ("/backup/log", test_log);
  ADD ("/backup/clock-set-back", test_clock_set_back);
  ADD ("/backup/due", test_due);
  ADD ("/backup/due-unreadable", test_due_unreadable);
  ADD ("/backup/order-and-spared", test_order_and_spared);
  ADD ("/backup/by-itself", test_auto);
  ADD ("/backup/restore", test_restore);
  ADD ("/backup/restore-where-none-is", test_restore_where_none);
  ADD ("/backup/restore-after-crash", test_restore_after_crash);
  ADD ("/backup/restore-over-damaged", test_restore_over_damaged);
  ADD ("/backup/restore-cut-off", test_restore_cut_off);
  ADD ("/backup/restore-cancelled", test_restore_cancelled);
  ADD ("/backup/compare", test_compare);
  ADD ("/backup/salvage", test_salvage);
  ADD ("/backup/restore-refused", test_restore_refused);

  return g_test_run ();
}
