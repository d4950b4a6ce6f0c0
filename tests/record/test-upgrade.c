/* Stores of earlier versions brought up to date: the backup before it, what happens where there can't be one, stopping, and what a failure leaves.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * On the kept samples (write-sample.c).
 */
#include "record/ef-backup-private.h"
#include "record/ef-store-private.h"
#include "record/ef-store-schema.h"
#include "record/ef-store-upgrade.h"

#include <glib/gstdio.h>
#include <string.h>
#include <unistd.h>
#include "../isolate.h"
#include "samples.h"

typedef struct
{
  char *folder, *path, *backups;
  char *bytes; /* of the sample */
  gsize length;
} Fixture;

#define VERSION 9

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  self->folder = g_dir_make_tmp ("upgrade-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "jobs.endfloat", NULL);
  self->backups = ef_backup_default_folder (self->path);
  unpack_sample (VERSION, self->path);
  g_assert_true (g_file_get_contents (self->path, &self->bytes, &self->length, NULL));
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  g_chmod (self->folder, 0700);
  isolated_remove (self->folder);
  g_free (self->folder);
  g_free (self->path);
  g_free (self->backups);
  g_free (self->bytes);
}

static gint64
version_of (const char *path)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open_to_read (path, &error);
  gint64 version;

  g_assert_no_error (error);
  g_assert_true (ef_sql_integer (&store->sql, 0, &version, &error, "PRAGMA user_version", ""));

  return version;
}

/* To the byte. */
static void
assert_untouched (Fixture *self)
{
  g_autofree char *bytes = NULL;
  gsize length;

  g_assert_true (g_file_get_contents (self->path, &bytes, &length, NULL));
  g_assert_cmpmem (bytes, length, self->bytes, self->length);
}

static char *
only_backup (const char *folder)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) list = ef_backup_list (folder, &error);

  g_assert_no_error (error);
  g_assert_cmpuint (list->len, ==, 1);

  return g_strdup (((EfBackup *) list->pdata[0])->path);
}

/* Opening does it by itself: the backup is of the version that was there, sound, and holds all. Opened again, none more is made. */
static void
test_by_itself (Fixture *self,
                gconstpointer unused)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *backup = NULL;
  g_autofree char *still = NULL;
  EfStore *store;
  gint64 from, to, n_jobs;

  g_assert_true (ef_store_upgrade_needed (self->path, &from, &to));
  g_assert_cmpint (from, ==, VERSION);
  g_assert_cmpint (to, ==, ef_store_schema_version ());
  assert_untouched (self);
  store = ef_store_open (self->path, &error);
  g_assert_no_error (error);
  ef_store_close (store);
  g_assert_false (ef_store_upgrade_needed (self->path, NULL, NULL));
  g_assert_cmpint (version_of (self->path), ==, ef_store_schema_version ());
  backup = only_backup (self->backups);
  g_assert_true (g_str_has_suffix (backup, "Z.sqlite"));
  g_assert_cmpint (version_of (backup), ==, VERSION);
  g_assert_true (ef_backup_check (backup, &n_jobs, &error));
  g_assert_cmpint (n_jobs, ==, 3);

  store = ef_store_open (self->path, &error);
  g_assert_no_error (error);
  ef_store_close (store);
  still = only_backup (self->backups);
  g_assert_cmpstr (still, ==, backup);
}

/* What isn't an older store isn't asked for, and a new one makes no backup of nothing. */
static void
test_not_needed (Fixture *self,
                 gconstpointer unused)
{
  g_autofree char *other = g_build_filename (self->folder, "other.endfloat", NULL);
  g_autofree char *backups = ef_backup_default_folder (other);
  g_autoptr (GError) error = NULL;
  EfStore *store;

  g_assert_false (ef_store_upgrade_needed (other, NULL, NULL));
  g_assert_false (g_file_test (other, G_FILE_TEST_EXISTS));
  store = ef_store_open (other, &error);
  g_assert_no_error (error);
  ef_store_close (store);
  g_assert_false (g_file_test (backups, G_FILE_TEST_EXISTS));
  g_assert_true (g_file_set_contents (other, "no store at all, but a text of some length so that it can't be taken for one", -1, NULL));
  g_assert_false (ef_store_upgrade_needed (other, NULL, NULL));
}

static void
refuse_backup (Fixture *self,
               const char *says)
{
  const EfUpgrade plainly = { 0 };
  g_autoptr (GError) opening = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *backup = NULL;

  g_assert_null (ef_store_open (self->path, &opening));
  g_assert_nonnull (strstr (opening->message, "it is of version 9 and has to be brought up to"));
  g_assert_nonnull (strstr (opening->message, "Nothing was changed"));
  g_assert_nonnull (strstr (opening->message, "--without-backup"));
  if (strstr (opening->message, says) == NULL)
    g_error ("expected \"%s\" in: %s", says, opening->message);
  g_assert_cmpint (ef_store_upgrade (self->path, &plainly, &backup, &error), ==, EF_UPGRADE_NO_BACKUP);
  g_assert_null (backup);
  g_assert_cmpstr (error->message, ==, opening->message);
  assert_untouched (self);
}

/* Where the folder can't be made, nothing is done; whoever says so goes on without. */
static void
test_no_folder (Fixture *self,
                gconstpointer unused)
{
  const EfUpgrade without = { .without_backup = TRUE };
  g_autofree char *backup = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_true (g_file_set_contents (self->backups, "a file where the folder should be", -1, NULL));
  refuse_backup (self, "can't be");
  g_assert_cmpint (ef_store_upgrade (self->path, &without, &backup, &error), ==, EF_UPGRADED);
  g_assert_no_error (error);
  g_assert_null (backup);
  g_assert_cmpint (version_of (self->path), ==, ef_store_schema_version ());
}

/* Another folder will do. */
static void
test_other_folder (Fixture *self,
                   gconstpointer unused)
{
  g_autofree char *elsewhere = g_build_filename (self->folder, "elsewhere", NULL);
  const EfUpgrade there = { .folder = elsewhere };
  g_autofree char *backup = NULL;
  g_autofree char *only = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_true (g_file_set_contents (self->backups, "a file where the folder should be", -1, NULL));
  g_assert_cmpint (ef_store_upgrade (self->path, &there, &backup, &error), ==, EF_UPGRADED);
  g_assert_no_error (error);
  only = only_backup (elsewhere);
  g_assert_cmpstr (backup, ==, only);
  g_assert_cmpint (version_of (backup), ==, VERSION);
}

/* One that is damaged isn't touched: no copy of it would be sound. */
static void
test_damaged (Fixture *self,
              gconstpointer unused)
{
  g_autoptr (GPtrArray) list = NULL;
  g_autoptr (GError) error = NULL;
  gsize at = self->length / 2 / 4096 * 4096;

  memset (self->bytes + at, 0x5a, 4096);
  g_assert_true (g_file_set_contents (self->path, self->bytes, (gssize) self->length, NULL));
  g_assert_null (ef_store_open (self->path, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  assert_untouched (self);
  list = ef_backup_list (self->backups, NULL);
  g_assert_cmpuint (list->len, ==, 0);
}

/* By rotation: it's one like any other. */
static void
test_rotated (Fixture *self,
              gconstpointer unused)
{
  const EfBackupPolicy policy = { .recent = 1 };
  const EfUpgrade how = { .policy = &policy };
  g_autofree char *old = g_build_filename (self->backups, "jobs-20160105T120000Z.sqlite", NULL);
  g_autofree char *backup = NULL;
  g_autofree char *only = NULL;
  g_autoptr (GError) error = NULL;

  g_mkdir (self->backups, 0700);
  g_assert_true (g_file_set_contents (old, "x", -1, NULL));
  g_assert_cmpint (ef_store_upgrade (self->path, &how, &backup, &error), ==, EF_UPGRADED);
  only = only_backup (self->backups);
  g_assert_cmpstr (only, ==, backup);
}

typedef struct
{
  GCancellable *cancellable;
  double at, last;
  guint n;
} Watch;

static void
progress_cb (double share,
             gpointer user_data)
{
  Watch *watch = user_data;

  g_assert_cmpfloat (share, >=, watch->last);
  g_assert_cmpfloat (share, <=, 1);
  watch->last = share;
  watch->n++;
  if (share >= watch->at)
    g_cancellable_cancel (watch->cancellable);
}

/* At any moment: while the backup is made, after it, after each step; the last of all is too late to matter and still leaves it untouched. */
static void
test_cancelled (Fixture *self,
                gconstpointer unused)
{
  const double moments[] = { 0, 0.1, 0.4, 0.5, 0.51, 0.75, 0.99, 1 };

  for (guint i = 0; i < G_N_ELEMENTS (moments); i++)
    {
      g_autoptr (GCancellable) cancellable = g_cancellable_new ();
      Watch watch = { cancellable, moments[i], 0, 0 };
      const EfUpgrade how = { .progress = progress_cb, .user_data = &watch, .cancellable = cancellable };
      g_autofree char *backup = NULL;
      g_autoptr (GError) error = NULL;

      g_assert_cmpint (ef_store_upgrade (self->path, &how, &backup, &error), ==, EF_UPGRADE_FAILED);
      g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
      g_assert_cmpuint (watch.n, >, 0);
      assert_untouched (self);
    }
  {
    Watch watch = { NULL, 2, 0, 0 };
    const EfUpgrade how = { .progress = progress_cb, .user_data = &watch };
    g_autoptr (GError) error = NULL;

    g_assert_cmpint (ef_store_upgrade (self->path, &how, NULL, &error), ==, EF_UPGRADED);
    g_assert_cmpfloat (watch.last, ==, 1);
    g_assert_cmpuint (watch.n, >, 3);
  }
}

/* A step that can't be done takes those before it back. */
static void
test_failing_step (Fixture *self,
                   gconstpointer unused)
{
  const EfUpgrade how = { .without_backup = TRUE };
  g_autoptr (GError) error = NULL;
  sqlite3 *db;

  unpack_sample (2, self->path);
  g_assert_cmpint (sqlite3_open (self->path, &db), ==, SQLITE_OK);
  g_assert_cmpint (sqlite3_exec (db, "CREATE TABLE role (in_the_way)", NULL, NULL, NULL), ==, SQLITE_OK); /* of step 8 */
  sqlite3_close (db);
  g_assert_cmpint (ef_store_upgrade (self->path, &how, NULL, &error), ==, EF_UPGRADE_FAILED);
  g_assert_nonnull (error);
  g_assert_cmpint (version_of (self->path), ==, 2);
}

typedef struct
{
  const char *path;
  int opened; /* atomic */
} Opening;

static gpointer
open_beside (gpointer data)
{
  Opening *opening = data;
  g_autoptr (GError) error = NULL;
  EfStore *store = ef_store_open (opening->path, &error);

  g_assert_no_error (error);
  g_atomic_int_set (&opening->opened, 1);
  ef_store_close (store);

  return NULL;
}

/* Another window is making a backup there: it's waited for. */
static void
test_held (Fixture *self,
           gconstpointer unused)
{
  Opening opening = { self->path, 0 };
  GThread *other;
  int lock;

  g_mkdir (self->backups, 0700);
  lock = ef_backup_hold_folder (self->backups, NULL);
  g_assert_cmpint (lock, >=, 0);
  other = g_thread_new ("other", open_beside, &opening);
  g_usleep (300000);
  g_assert_cmpint (g_atomic_int_get (&opening.opened), ==, 0);
  close (lock);
  g_thread_join (other);
  g_assert_cmpint (g_atomic_int_get (&opening.opened), ==, 1);
  g_free (only_backup (self->backups));
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  ADD ("/upgrade/by-itself", test_by_itself);
  ADD ("/upgrade/not-needed", test_not_needed);
  ADD ("/upgrade/no-folder", test_no_folder);
  ADD ("/upgrade/other-folder", test_other_folder);
  ADD ("/upgrade/damaged", test_damaged);
  ADD ("/upgrade/rotated", test_rotated);
  ADD ("/upgrade/cancelled", test_cancelled);
  ADD ("/upgrade/failing-step", test_failing_step);
  ADD ("/upgrade/held", test_held);

  return g_test_run ();
}
