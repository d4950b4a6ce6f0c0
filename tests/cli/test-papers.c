/* Sealed jobs on paper and in files for others, as a user of the command line meets them: report, its attachment, claim pack, verification.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <gio/gio.h>
#include <glib/gstdio.h>
#include <string.h>

#include "pump/ef-pump-sheet.h"
#include "record/ef-store.h"
#include "../assess/after-work.h"
#include "../isolate.h"
#include "../photo/photo-bytes.h"

typedef struct
{
  char *output, *errors;
  int code;
} Run;

static void
run_clear (Run *run)
{
  g_free (run->output);
  g_free (run->errors);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Run, run_clear)

static char *folder;

/* The program and its arguments, NULL-terminated; in the test's folder. */
static Run
run_program (const char *first,
             ...)
{
  g_autoptr (GPtrArray) argv = g_ptr_array_new ();
  g_autoptr (GSubprocessLauncher) launcher = g_subprocess_launcher_new (G_SUBPROCESS_FLAGS_STDOUT_PIPE | G_SUBPROCESS_FLAGS_STDERR_PIPE);
  g_autoptr (GSubprocess) process = NULL;
  g_autoptr (GError) error = NULL;
  Run run = { 0 };
  va_list args;

  va_start (args, first);
  for (const char *word = first; word != NULL; word = va_arg (args, const char *))
    g_ptr_array_add (argv, (char *) word);
  va_end (args);
  g_ptr_array_add (argv, NULL);
  g_subprocess_launcher_set_cwd (launcher, folder);
  process = g_subprocess_launcher_spawnv (launcher, (const char *const *) argv->pdata, &error);
  g_assert_no_error (error);
  g_assert_true (g_subprocess_communicate_utf8 (process, NULL, NULL, &run.output, &run.errors, &error));
  g_assert_no_error (error);
  g_assert_true (g_subprocess_get_if_exited (process));
  run.code = g_subprocess_get_exit_status (process);

  return run;
}

#define ENDFLOAT(...) run_program (g_getenv ("ENDFLOAT_PROGRAM"), __VA_ARGS__, NULL)
#define OTHER(...) run_program (__VA_ARGS__, NULL)

#define assert_in(text, part) \
  G_STMT_START { \
    if (strstr ((text), (part)) == NULL) \
      g_error ("\"%s\" isn't in: %s", (part), (text)); \
  } G_STMT_END

#define assert_ok(run) \
  G_STMT_START { \
    if ((run).code != 0) \
      g_error ("exit code %d: %s%s", (run).code, (run).output, (run).errors); \
  } G_STMT_END

/* A store with the demo's job 1, which has the number J-0412, sealed; once for all cases. */
static void
make_store (void)
{
  g_autofree char *demo = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autofree char *passphrase = g_build_filename (folder, "passphrase", NULL);
  g_auto (Run) import = { 0 };
  g_auto (Run) make = { 0 };
  g_auto (Run) before = { 0 };
  g_auto (Run) seal = { 0 };

  g_assert_true (g_file_set_contents (passphrase, "brass and oil\n", -1, NULL));
  import = ENDFLOAT ("seal", "s.endfloat", "import", demo);
  assert_ok (import);
  make = ENDFLOAT ("seal", "s.endfloat", "make-key", "-p", "passphrase", "-r", "owner");
  assert_ok (make);
  before = ENDFLOAT ("report", "-s", "s.endfloat", "-n", "J-0412", "-o", "open.pdf");
  assert_ok (before);
  seal = ENDFLOAT ("seal", "s.endfloat", "job", "J-0412", "-p", "passphrase", "-r", "bench 2");
  assert_ok (seal);
}

static void
test_report (void)
{
  g_auto (Run) first = ENDFLOAT ("report", "-s", "s.endfloat", "-n", "J-0412", "-o", "a.pdf", "--created", "2026-03-09T08:00:00Z");
  g_auto (Run) second = ENDFLOAT ("report", "-s", "s.endfloat", "-n", "J-0412", "-o", "b.pdf", "--created", "2026-03-09T08:00:00Z");
  g_auto (Run) same = OTHER ("cmp", "a.pdf", "b.pdf");
  g_auto (Run) words = OTHER ("pdftotext", "a.pdf", "-");
  g_auto (Run) open_words = OTHER ("pdftotext", "open.pdf", "-");

  assert_ok (first);
  assert_ok (second);
  assert_ok (same);
  assert_in (words.output, "Sealed as number 2");
  assert_in (words.output, "The results on these pages are, to the last digit, those that were sealed.");
  assert_in (open_words.output, "Not sealed");
}

/* The attached file is the exported one to the byte, and verifies from within the PDF. */
static void
test_attachment (void)
{
  g_auto (Run) report = ENDFLOAT ("report", "-s", "s.endfloat", "-n", "J-0412", "-o", "sealed.pdf");
  g_auto (Run) check = OTHER ("qpdf", "--check", "sealed.pdf");
  g_auto (Run) detach = OTHER ("pdfdetach", "-save", "1", "-o", "detached.json", "sealed.pdf");
  g_auto (Run) export = ENDFLOAT ("seal", "s.endfloat", "export", "J-0412", "-o", "exported.json");
  g_auto (Run) same = OTHER ("cmp", "detached.json", "exported.json");
  g_auto (Run) key = ENDFLOAT ("seal", "s.endfloat", "show-key");
  g_auto (Run) holds = { 0 };
  g_auto (Run) again = ENDFLOAT ("report", "detached.json", "-o", "again.pdf");
  g_auto (Run) again_holds = ENDFLOAT ("verify", "again.pdf");
  g_auto (Run) none = ENDFLOAT ("verify", "open.pdf");

  assert_ok (report);
  assert_ok (check);
  assert_ok (detach);
  assert_ok (export);
  assert_ok (same);
  g_strchomp (key.output);
  holds = ENDFLOAT ("verify", "sealed.pdf", "--key", key.output);
  assert_ok (holds);
  assert_in (holds.output, "sealed.pdf: HOLDS");
  assert_in (holds.output, "The pages are a drawing of it");
  g_assert_null (strstr (holds.output, "no public key was given"));
  assert_ok (again);
  assert_ok (again_holds);
  g_assert_cmpint (none.code, ==, 1);
  assert_in (none.errors, "open.pdf: expected a report with the sealed exchange file attached to it");
}

/* A field of the attached file changed: named, and the exit code says so. */
static void
test_changed_attachment (void)
{
  g_autofree char *from = g_build_filename (folder, "a.pdf", NULL);
  g_autofree char *to = g_build_filename (folder, "changed.pdf", NULL);
  g_autofree char *data = NULL;
  g_auto (Run) report = ENDFLOAT ("report", "-s", "s.endfloat", "-n", "J-0412", "-o", "a.pdf");
  g_auto (Run) verify = { 0 };
  gsize length;
  char *at;

  assert_ok (report);
  g_assert_true (g_file_get_contents (from, &data, &length, NULL));
  at = memmem (data, length, "\"hours\": 4310", 13);
  g_assert_nonnull (at);
  memcpy (at, "\"hours\": 1310", 13);
  g_assert_true (g_file_set_contents (to, data, (gssize) length, NULL));
  verify = ENDFLOAT ("verify", "changed.pdf");
  g_assert_cmpint (verify.code, ==, 1);
  assert_in (verify.output, "changed.pdf: DOES NOT HOLD");
  assert_in (verify.output, "job: running hours");
  assert_in (verify.output, "attachment: SHA-256");
}

/* Packed, read by unzip and sha256sum, verified; one file changed is named. */
static void
test_claim_pack (void)
{
  g_auto (Run) pack = ENDFLOAT ("claim-pack", "-s", "s.endfloat", "-n", "J-0412", "-o", "pack.zip");
  g_auto (Run) tested = OTHER ("unzip", "-tq", "pack.zip");
  g_auto (Run) unpacked = OTHER ("unzip", "-q", "pack.zip", "-d", "pack");
  g_auto (Run) summed = OTHER ("sh", "-c", "cd pack && sha256sum --strict -c SHA256SUMS");
  g_auto (Run) key = ENDFLOAT ("seal", "s.endfloat", "show-key");
  g_auto (Run) holds = { 0 };
  g_auto (Run) changed = OTHER ("python3", "-c", "import zipfile\nwith zipfile.ZipFile ('pack.zip') as a, zipfile.ZipFile ('other.zip', 'w') as b:\n"
                                                 "  for i in a.infolist ():\n    b.writestr (i.filename, a.read (i) + (b'x' if i.filename == 'gauges.txt' else b''))");
  g_auto (Run) found = ENDFLOAT ("verify", "other.zip");
  g_auto (Run) less = ENDFLOAT ("claim-pack", "-s", "s.endfloat", "-n", "J-0412", "-o", "less.zip", "--without", "customer,notes");
  g_auto (Run) less_holds = ENDFLOAT ("verify", "less.zip");
  g_auto (Run) word = ENDFLOAT ("claim-pack", "-s", "s.endfloat", "-n", "J-0412", "-o", "x.zip", "--without", "faces");
  g_auto (Run) none = ENDFLOAT ("claim-pack", "-s", "s.endfloat", "-n", "J-9", "-o", "x.zip");
  g_auto (Run) half = ENDFLOAT ("claim-pack", "-s", "s.endfloat", "-o", "x.zip");

  assert_ok (pack);
  assert_ok (tested);
  assert_ok (unpacked);
  assert_ok (summed);
  g_strchomp (key.output);
  holds = ENDFLOAT ("verify", "pack.zip", "--key", key.output);
  assert_ok (holds);
  assert_in (holds.output, "pack.zip: HOLDS");
  assert_ok (changed);
  g_assert_cmpint (found.code, ==, 1);
  assert_in (found.output, "gauges.txt: it was changed since it was packed");
  assert_ok (less);
  assert_ok (less_holds);
  assert_in (less_holds.output, "part inspection: left out by choice");
  g_assert_cmpint (word.code, ==, 2);
  assert_in (word.errors, "expected customer, roles, notes, photos or certificates, found \"faces\"");
  g_assert_cmpint (none.code, ==, 1);
  g_assert_cmpint (half.code, ==, 2);
}

/* A job whose housing was lapped by two grits, as a shop with quicker abrasives than the shipped figures would. Figures constructed. */
static void
add_lapped (EfStore *store,
            const char *number,
            double rate)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfItem) header = ef_item_copy (inspection->items[EF_ITEM_HEADER]->pdata[0]);
  g_autoptr (GError) error = NULL;

  g_free (((EfJobHeader *) header)->number);
  ((EfJobHeader *) header)->number = g_strdup (number);
  g_assert_true (ef_inspection_swap (inspection, inspection->items[EF_ITEM_HEADER]->pdata[0], header, &error));
  after_work (inspection, "pressure-housing/mating", 10 * rate + 4e-6, "depth", 10, 4);
  g_assert_cmpint (ef_store_add (store, inspection, &error), >, 0);
  g_assert_no_error (error);
}

/* t.endfloat: the demo's job 1 beside others that teach how lapping goes in this shop; photo.jpg. */
static void
make_shop (void)
{
  g_autofree char *path = g_build_filename (folder, "t.endfloat", NULL);
  g_autofree char *photo = g_build_filename (folder, "photo.jpg", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (GdkPixbuf) pixels = photo_pixels (64, 48);
  g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");

  g_assert_no_error (error);
  g_assert_cmpint (ef_store_add (store, inspection, &error), >, 0);
  add_lapped (store, "J-1", 9.0e-6);
  add_lapped (store, "J-2", 9.1e-6);
  add_lapped (store, "J-3", 8.9e-6);
  g_assert_true (g_file_set_contents (photo, (const char *) jpeg->data, jpeg->len, NULL));
}

/* What is sealed on the command line, drawn by the report and packed is one and the same: what the shop has learned goes into all of it, and the photos are on the pages. */
static void
test_alike (void)
{
  g_auto (Run) key = (make_shop (), ENDFLOAT ("seal", "t.endfloat", "make-key", "-p", "passphrase", "-r", "owner"));
  g_auto (Run) attach = ENDFLOAT ("photos", "attach", "-s", "t.endfloat", "-n", "J-0412", "photo.jpg");
  g_auto (Run) seal = ENDFLOAT ("seal", "t.endfloat", "job", "J-0412", "-p", "passphrase", "-r", "bench 2");
  g_auto (Run) report = ENDFLOAT ("report", "-s", "t.endfloat", "-n", "J-0412", "-o", "t.pdf");
  g_auto (Run) words = OTHER ("pdftotext", "t.pdf", "-");
  g_auto (Run) images = OTHER ("pdfimages", "-list", "t.pdf");
  g_auto (Run) pack = ENDFLOAT ("claim-pack", "-s", "t.endfloat", "-n", "J-0412", "-o", "t.zip");
  g_auto (Run) unpack = OTHER ("unzip", "-q", "t.zip", "report.pdf", "-d", "t");
  g_auto (Run) packed_words = OTHER ("pdftotext", "t/report.pdf", "-");
  g_auto (Run) packed_images = OTHER ("pdfimages", "-list", "t/report.pdf");

  assert_ok (key);
  assert_ok (attach);
  assert_ok (seal);
  assert_ok (report);
  g_assert_cmpstr (report.errors, ==, "");
  assert_in (words.output, "The results on these pages are, to the last digit, those that were sealed.");
  assert_in (words.output, "photo.jpg");
  g_assert_null (strstr (words.output, "at hand"));
  assert_in (images.output, "jpeg");
  assert_ok (pack);
  assert_ok (unpack);
  g_assert_cmpstr (packed_images.output, ==, images.output);
  g_assert_cmpstr (packed_words.output, ==, words.output);
}

/* A damaged photo is named, and the report made without it. */
static void
test_damaged_photo (void)
{
  g_auto (Run) damage = OTHER ("python3", "-c", "import sqlite3\nd = sqlite3.connect ('t.endfloat')\n"
                                                "d.execute ('DROP TRIGGER file_piece_no_update')\n"
                                                "d.execute ('UPDATE file_piece SET body = zeroblob (length (body))')\nd.commit ()");
  g_auto (Run) report = ENDFLOAT ("report", "-s", "t.endfloat", "-n", "J-0412", "-o", "u.pdf");
  g_auto (Run) words = OTHER ("pdftotext", "u.pdf", "-");

  assert_ok (damage);
  assert_ok (report);
  assert_in (report.errors, "photo photo.jpg isn't shown: ");
  assert_in (words.output, "at hand");
}

static void
test_report_usage (void)
{
  g_auto (Run) half = ENDFLOAT ("report", "-s", "s.endfloat", "-o", "x.pdf");
  g_auto (Run) both = ENDFLOAT ("report", "-s", "s.endfloat", "-n", "J-0412", "also.json", "-o", "x.pdf");
  g_auto (Run) no_job = ENDFLOAT ("report", "-s", "s.endfloat", "-n", "J-9", "-o", "x.pdf");

  g_assert_cmpint (half.code, ==, 2);
  assert_in (half.errors, "--store and --job together");
  g_assert_cmpint (both.code, ==, 2);
  assert_in (both.errors, "expected no inspection file beside --store");
  g_assert_cmpint (no_job.code, ==, 1);
  assert_in (no_job.errors, "expected job J-9, found none");
}

int
main (int argc,
      char **argv)
{
  int result;

  isolated_test_init (&argc, &argv);
  folder = g_dir_make_tmp ("papers-XXXXXX", NULL);
  make_store ();
  g_test_add_func ("/papers/report", test_report);
  g_test_add_func ("/papers/attachment", test_attachment);
  g_test_add_func ("/papers/changed-attachment", test_changed_attachment);
  g_test_add_func ("/papers/claim-pack", test_claim_pack);
  g_test_add_func ("/papers/alike", test_alike);
  g_test_add_func ("/papers/damaged-photo", test_damaged_photo);
  g_test_add_func ("/papers/report-usage", test_report_usage);
  result = g_test_run ();
  isolated_remove (folder);
  g_free (folder);

  return result;
}
