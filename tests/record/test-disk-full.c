/* A disk that fills up: while editing, sealing, exporting, backing up, putting back, bringing an old store up to date. A message, nothing lost, and the
 * same thing done again when there is room.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A small tmpfs where mounting is allowed (in a namespace of our own), filled by a ballast file to the last byte; otherwise a limit on the size of files.
 * Each says which it was.
 */

#include "../inspection/random-inspection.h"

#include "record/ef-backup.h"
#include "record/ef-exchange.h"
#include "record/ef-store-private.h"
#include "record/ef-store-schema.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <sched.h>
#include <signal.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <unistd.h>
#include "../isolate.h"
#include "open-store.h"
#include "sealed-store.h"
#include "samples.h"

#define DISK_BYTES (6 << 20)

static gboolean may_mount;

typedef struct
{
  GRand *rand;
  char *folder; /* the disk */
  char *path;
  char *ballast;
  struct rlimit limit;
  EfStore *store;
  gint64 job;
} Fixture;

/* FALSE: not allowed here. */
static gboolean
enter_namespace (void)
{
  return unshare (CLONE_NEWNS) == 0 && mount ("none", "/", NULL, MS_REC | MS_PRIVATE, NULL) == 0;
}

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = NULL;

  self->rand = g_rand_new_with_seed (77);
  self->folder = g_dir_make_tmp ("full-XXXXXX", NULL);
  if (may_mount)
    {
      g_autofree char *options = g_strdup_printf ("size=%d,mode=0700", DISK_BYTES);

      g_assert_cmpint (mount ("endfloat-test", self->folder, "tmpfs", 0, options), ==, 0);
    }
  g_test_message ("%s", may_mount ? "a small tmpfs" : "a limit on the size of files");
  self->path = g_build_filename (self->folder, "jobs.endfloat", NULL);
  self->ballast = g_build_filename (self->folder, "ballast", NULL);
  self->store = open_store (self->path);
  inspection = random_inspection (self->rand, 6);
  self->job = ef_store_add (self->store, inspection, &error);
  g_assert_no_error (error);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  g_clear_pointer (&self->store, ef_store_close);
  if (may_mount)
    g_assert_cmpint (umount2 (self->folder, MNT_DETACH), ==, 0);
  isolated_remove (self->folder);
  g_free (self->folder);
  g_free (self->path);
  g_free (self->ballast);
  g_rand_free (self->rand);
}

/* But for @spare bytes. */
static void
fill_up (Fixture *self,
         gsize spare)
{
  static const char block[4096];
  int file;

  if (!may_mount)
    {
      struct rlimit small;

      g_assert_cmpint (getrlimit (RLIMIT_FSIZE, &self->limit), ==, 0);
      small = self->limit;
      small.rlim_cur = 8192 + spare;
      g_assert_cmpint (setrlimit (RLIMIT_FSIZE, &small), ==, 0);
      return;
    }
  file = g_open (self->ballast, O_WRONLY | O_CREAT | O_EXCL, 0600);
  g_assert_cmpint (file, >=, 0);
  while (write (file, block, sizeof block) == sizeof block)
    ;
  g_assert_cmpint (errno, ==, ENOSPC);
  if (spare > 0)
    g_assert_cmpint (ftruncate (file, lseek (file, 0, SEEK_END) - (off_t) spare), ==, 0);
  close (file);
}

static void
make_room (Fixture *self)
{
  if (may_mount)
    g_assert_cmpint (g_remove (self->ballast), ==, 0);
  else
    g_assert_cmpint (setrlimit (RLIMIT_FSIZE, &self->limit), ==, 0);
}

static void
assert_full (GError **error)
{
  g_assert_error (*error, EF_ERROR, EF_ERROR_FULL);
  g_clear_error (error);
}

static gboolean
write_note (EfDocument *document,
            const char *note,
            GError **error)
{
  const EfJobHeader *before = ef_inspection_header (ef_document_inspection (document));
  g_autoptr (EfItem) after = ef_item_copy (before);

  g_free (((EfJobHeader *) after)->note);
  ((EfJobHeader *) after)->note = g_strdup (note);

  return ef_document_replace (document, "Note", (gpointer) before, after, error);
}

/* From the disk, by another handle. */
static void
assert_stands (Fixture *self,
               const EfInspection *expected)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) other = ef_store_open_to_read (self->path, &error);
  g_autoptr (EfInspection) found = NULL;

  g_assert_no_error (error);
  found = ef_store_load (other, self->job, &error);
  g_assert_no_error (error);
  assert_same_inspection (found, expected);
}

/* Confirmed edits stand, the first that finds no room is refused as a whole, and goes through when there is room. */
static void
test_edit (Fixture *self,
           gconstpointer unused)
{
  EfDocument *document = ef_store_open_document (self->store, self->job, NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) confirmed = ef_document_snapshot (document);
  g_autofree char *note = NULL;
  guint i;

  fill_up (self, 600000);
  for (i = 0; error == NULL && i < 1000; i++)
    {
      g_autofree char *words = g_strnfill (3000, 'x');

      g_free (note);
      note = g_strdup_printf ("%u %s", i, words);
      if (write_note (document, note, &error))
        {
          g_clear_pointer (&confirmed, ef_inspection_free);
          confirmed = ef_document_snapshot (document);
        }
    }
  g_test_message ("%u edits until it was full", i - 1);
  g_assert_cmpuint (i, >, 1);
  g_assert_nonnull (strstr (error->message, "no room left on the disk; nothing was changed"));
  assert_full (&error);
  assert_same_inspection (ef_document_inspection (document), confirmed);
  assert_stands (self, confirmed);

  make_room (self);
  g_assert_true (write_note (document, note, &error));
  g_assert_no_error (error);
  g_assert_true (ef_store_check (self->store, &error));
  assert_stands (self, ef_document_inspection (document));
  g_object_unref (document);
}

static void
test_seal (Fixture *self,
           gconstpointer unused)
{
  g_autoptr (JsonNode) results = small_results ("rework");
  const EfSealInput input = { .role = "clerk", .note = "looked through", .results = results, .rules = "7", .decision = "guard band at 95 %" };
  g_autoptr (GError) error = NULL;
  g_autoptr (EfSealKey) key = ef_seal_key_make (self->store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_autoptr (EfVerification) verification = NULL;

  g_assert_no_error (error);
  g_assert_true (ef_sql_exec (&self->store->sql, "PRAGMA wal_checkpoint (TRUNCATE)", &error));
  fill_up (self, 0);
  g_assert_cmpint (ef_seal_job (self->store, self->job, &input, key, &error), <=, 0);
  assert_full (&error);
  make_room (self);
  g_assert_cmpint (ef_seal_job (self->store, self->job, &input, key, &error), >, 0);
  g_assert_no_error (error);
  verification = verify_store (self->path);
  assert_holds (verification);
  g_assert_cmpint (verification->n_seals, ==, 1);
}

/* The file that was there before stays. */
static void
test_export (Fixture *self,
             gconstpointer unused)
{
  g_autofree char *file = g_build_filename (self->folder, "out.json", NULL);
  g_autofree char *before = NULL;
  g_autofree char *after = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_seal_export_file (self->store, self->job, file, &error));
  g_assert_true (g_file_get_contents (file, &before, NULL, NULL));
  fill_up (self, 0);
  g_assert_false (ef_seal_export_file (self->store, self->job, file, &error));
  assert_full (&error);
  g_assert_true (g_file_get_contents (file, &after, NULL, NULL));
  g_assert_cmpstr (before, ==, after);
  make_room (self);
  g_assert_true (ef_seal_export_file (self->store, self->job, file, &error));
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

/* No half of a copy is left, none of the older ones is let go. */
static void
test_backup (Fixture *self,
             gconstpointer unused)
{
  g_autofree char *backups = g_build_filename (self->folder, "backups", NULL);
  g_autoptr (GError) error = NULL;
  g_autofree char *good = ef_backup_make (self->store, backups, NULL, NULL, NULL, NULL, &error);

  g_assert_no_error (error);
  fill_up (self, 50000);
  g_assert_null (ef_backup_make (self->store, backups, &(EfBackupPolicy) { 0 }, NULL, NULL, NULL, &error));
  assert_full (&error);
  g_assert_cmpuint (count_files (backups), ==, 1);
  g_assert_true (ef_backup_check (good, NULL, &error));
  make_room (self);
  g_free (ef_backup_make (self->store, backups, NULL, NULL, NULL, NULL, &error));
  g_assert_no_error (error);
  g_assert_cmpuint (count_files (backups), ==, 2);
}

static void
test_restore (Fixture *self,
              gconstpointer unused)
{
  g_autofree char *backups = g_build_filename (self->folder, "backups", NULL);
  g_autoptr (GError) error = NULL;
  g_autofree char *backup = ef_backup_make (self->store, backups, NULL, NULL, NULL, NULL, &error);
  g_autoptr (EfInspection) before = ef_store_load (self->store, self->job, NULL);
  guint files;

  g_clear_pointer (&self->store, ef_store_close);
  files = count_files (self->folder);
  fill_up (self, 50000);
  g_assert_false (ef_backup_restore (backup, self->path, NULL, NULL, NULL, NULL, NULL, &error));
  assert_full (&error);
  assert_stands (self, before);
  make_room (self);
  g_assert_cmpuint (count_files (self->folder), <=, files + 2); /* reading leaves an empty log and its index */
  g_assert_true (ef_backup_restore (backup, self->path, NULL, NULL, NULL, NULL, NULL, &error));
  assert_stands (self, before);
}

/* A step that finds no room isn't done at all; the next opening goes on from there. */
static void
test_up_to_date (Fixture *self,
                 gconstpointer unused)
{
  g_autofree char *path = g_build_filename (self->folder, "old.endfloat", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = NULL;
  gint64 version, job;

  unpack_sample (1, path);
  fill_up (self, 60000);
  g_assert_null (ef_store_open (path, &error));
  assert_full (&error);
  store = ef_store_open_to_read (path, &error);
  g_assert_no_error (error);
  g_assert_true (ef_sql_integer (&store->sql, 0, &version, &error, "PRAGMA user_version", ""));
  g_assert_cmpint (version, >=, 1);
  g_assert_cmpint (version, <, ef_store_schema_version ());
  g_assert_true (ef_store_schema_compare (&store->sql, version, &error));
  g_clear_pointer (&store, ef_store_close);
  make_room (self);

  store = open_store (path);
  g_assert_true (ef_store_check (store, &error));
  g_assert_true (ef_store_exists (store, "S-1", &job, &error) && job > 0);
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  signal (SIGXFSZ, SIG_IGN);
  may_mount = enter_namespace ();
  ADD ("/disk-full/edit", test_edit);
  ADD ("/disk-full/seal", test_seal);
  ADD ("/disk-full/export", test_export);
  ADD ("/disk-full/backup", test_backup);
  ADD ("/disk-full/put-back", test_restore);
  ADD ("/disk-full/up-to-date", test_up_to_date);

  return g_test_run ();
}
