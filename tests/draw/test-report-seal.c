/* What the report says of the seal, and its QR code as a reader of another make sees it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The code is read by zbarimg (ZBar) from the page as poppler draws it.
 */
#include "sample.h"
#include "base/ef-json-canonical.h"
#include "draw/ef-draw-qr.h"
#include "draw/ef-report-seal.h"
#include "draw/ef-step-sheet.h"
#include "record/ef-seal.h"
#include "record/ef-store-standing.h"

#include <glib/gstdio.h>
#include <string.h>
#include "../isolate.h"

#define CREATED "2026-03-02T10:00:00Z"

typedef struct
{
  char *folder, *pdf;
  EfStore *store;
  EfPumpSheet *sheet;
  EfInspection *inspection;
  EfAssessment *assessment;
  EfSealKey *key;
  gint64 job;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *path = NULL;
  g_autoptr (EfInspection) made = NULL;

  self->folder = g_dir_make_tmp ("report-seal-XXXXXX", &error);
  g_assert_no_error (error);
  path = g_build_filename (self->folder, "store.endfloat", NULL);
  self->pdf = g_build_filename (self->folder, "report.pdf", NULL);
  self->store = ef_store_open (path, &error);
  g_assert_no_error (error);
  self->sheet = sample_sheet ("hl-24");
  made = sample_inspection (self->sheet, 4);
  self->job = ef_store_add (self->store, made, &error);
  g_assert_no_error (error);
  self->inspection = ef_store_load (self->store, self->job, &error);
  g_assert_no_error (error);
  self->assessment = sample_assess (self->inspection);
  self->key = ef_seal_key_make (self->store, "brass and oil", &ef_seal_strength_least, "owner", &error);
  g_assert_no_error (error);
}

static void
tear_down (Fixture *self,
           gconstpointer data)
{
  ef_seal_key_free (self->key);
  ef_assessment_unref (self->assessment);
  ef_inspection_free (self->inspection);
  ef_pump_sheet_unref (self->sheet);
  ef_store_close (self->store);
  isolated_remove (self->folder);
  g_free (self->folder);
  g_free (self->pdf);
}

static void
seal (Fixture *self)
{
  g_autoptr (GError) error = NULL;
  gint64 number = ef_seal_assessed_job (self->store, self->job, self->assessment, "bench 2", "looked through", self->key, &error);

  g_assert_no_error (error);
  g_assert_cmpint (number, >, 0);
}

static EfReportSeal *
read_seal (Fixture *self,
           gboolean with_file)
{
  g_autoptr (GError) error = NULL;
  EfReportSeal *seal = ef_report_seal_of_job (self->store, self->job, with_file, &error);

  g_assert_no_error (error);

  return seal;
}

static char *
run (const char *const *argv)
{
  g_autoptr (GError) error = NULL;
  char *output = NULL;
  int status = 0;

  g_spawn_sync (NULL, (char **) argv, NULL, G_SPAWN_SEARCH_PATH | G_SPAWN_STDERR_TO_DEV_NULL, NULL, NULL, &output, NULL, &status, &error);
  g_assert_no_error (error);
  g_assert_true (g_spawn_check_wait_status (status, &error));

  return output;
}

/* Its words, one space between two. */
static char *
report_words (Fixture *self,
              const EfAssessment *assessment,
              const EfReportSeal *seal)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  g_auto (GStrv) words = NULL;
  GString *flat = g_string_new (NULL);

  g_assert_true (ef_report_write_pdf (assessment, seal, self->pdf, EF_PAPER_A4, CREATED, &error));
  g_assert_no_error (error);
  text = run ((const char *[]) { "pdftotext", self->pdf, "-", NULL });
  words = g_strsplit_set (text, " \n\f\r\t", -1);
  for (guint i = 0; words[i] != NULL; i++)
    if (*words[i] != '\0')
      g_string_append_printf (flat, "%s ", words[i]);

  return g_string_free (flat, FALSE);
}

#define assert_in(text, part) \
  G_STMT_START { \
    if (strstr ((text), (part)) == NULL) \
      g_error ("\"%s\" isn't in the report", (part)); \
  } G_STMT_END

static char *
grouped (const char *hex)
{
  GString *out = g_string_new (NULL);

  for (guint i = 0; hex[i] != '\0'; i++)
    g_string_append_printf (out, "%s%c", i > 0 && i % 8 == 0 ? " " : "", hex[i]);

  return g_string_free (out, FALSE);
}

static char *
read_code (Fixture *self,
           const char *resolution)
{
  g_autofree char *image = g_build_filename (self->folder, "page", NULL);
  g_autofree char *png = g_strconcat (image, ".png", NULL);
  g_autofree char *info = run ((const char *[]) { "pdfinfo", self->pdf, NULL });
  g_autofree char *last = g_strdup_printf ("%d", atoi (strstr (info, "Pages:") + 6));
  g_autofree char *drawn = run ((const char *[]) { "pdftoppm", "-r", resolution, "-f", last, "-l", last, "-singlefile", "-png", self->pdf, image, NULL });

  return run ((const char *[]) { "zbarimg", "--quiet", "--raw", png, NULL });
}

/* Number, digest and key, in words and as code, exactly. The digest is taken anew from the exported statement. */
static void
test_sealed (Fixture *self,
             gconstpointer data)
{
  g_autoptr (EfReportSeal) seal_read = NULL;
  g_autofree char *words = NULL;
  g_autofree char *exported = NULL;
  g_autofree char *statement = NULL;
  g_autofree char *digest = NULL;
  g_autofree char *digest_words = NULL;
  g_autofree char *key_words = NULL;
  g_autofree char *expected = NULL;
  g_autofree char *coarse = NULL;
  g_autofree char *fine = NULL;
  g_autofree char *text = NULL;
  g_autoptr (JsonNode) root = NULL;

  seal (self);
  seal_read = read_seal (self, TRUE);
  words = report_words (self, self->assessment, seal_read);
  exported = ef_seal_export (self->store, self->job, NULL);
  root = json_from_string (exported, NULL);
  statement = ef_json_canonical (json_object_get_member (json_object_get_object_member (json_node_get_object (root), "seal"), "statement"), NULL);
  digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, statement, -1);
  digest_words = grouped (digest);
  key_words = grouped (ef_seal_key_public (self->key));
  assert_in (words, "Sealed as number 2 of the store's chain.");
  assert_in (words, digest_words);
  assert_in (words, key_words);
  assert_in (words, "The results on these pages are, to the last digit, those that were sealed.");
  assert_in (words, "Note: looked through");
  g_assert_null (strstr (words, "Not sealed"));

  expected = g_strdup_printf ("endfloat-seal 1\nnumber 2\ndigest %s\nkey %s\n", digest, ef_seal_key_public (self->key));
  text = ef_report_seal_text (seal_read);
  g_assert_cmpstr (text, ==, expected);
  coarse = read_code (self, "110");
  fine = read_code (self, "220");
  g_assert_cmpstr (g_strchomp (coarse), ==, g_strchomp (expected));
  g_assert_cmpstr (g_strchomp (fine), ==, expected);
  g_assert_cmpmem (g_bytes_get_data (seal_read->file, NULL), g_bytes_get_size (seal_read->file), exported, strlen (exported));
}

static void
test_not_sealed (Fixture *self,
                 gconstpointer data)
{
  g_autoptr (EfReportSeal) never = read_seal (self, TRUE);
  g_autofree char *words = report_words (self, self->assessment, never);
  g_autofree char *no_store = report_words (self, self->assessment, NULL);
  g_autofree char *text = ef_report_seal_text (never);

  assert_in (words, "Not sealed: what is said here may have been changed since, and may yet be.");
  assert_in (no_store, "Not sealed: what is said here");
  g_assert_null (strstr (words, "SHA-256"));
  g_assert_null (never->file);
  g_assert_null (text);
}

/* The step sheet says the same in its line: number and short digest, or that it isn't sealed. */
static void
test_step_sheet (Fixture *self,
                 gconstpointer data)
{
  g_autoptr (EfReportSeal) before = read_seal (self, FALSE);
  g_autoptr (EfReportSeal) after = NULL;
  g_autofree char *wanted = NULL;

  seal (self);
  after = read_seal (self, FALSE);
  wanted = g_strdup_printf ("Sealed as number 2 of the store's chain. Digest %.8s…; all of it in the report.", after->seal->digest);
  for (int i = 0; i < 3; i++)
    {
      const EfReportSeal *one = (const EfReportSeal *[]) { NULL, before, after }[i];
      g_autoptr (GError) error = NULL;
      g_autofree char *text = NULL;

      g_assert_true (ef_step_sheet_write_pdf (self->assessment, one, self->pdf, EF_PAPER_A4, CREATED, &error));
      g_assert_no_error (error);
      text = run ((const char *[]) { "pdftotext", "-raw", self->pdf, "-", NULL });
      g_strdelimit (text, "\n", ' ');
      assert_in (text, i < 2 ? "Not sealed: what is said here may have been changed since, and may yet be." : wanted);
    }
}

static void
test_revision_open (Fixture *self,
                    gconstpointer data)
{
  g_autoptr (EfReportSeal) before = NULL;
  g_autoptr (EfReportSeal) after = NULL;
  g_autofree char *words = NULL;

  seal (self);
  before = read_seal (self, FALSE);
  g_assert_true (ef_store_open_revision (self->store, self->job, "bench 2", "bore measured again", NULL));
  after = read_seal (self, TRUE);
  words = report_words (self, self->assessment, after);
  assert_in (words, "Not sealed: revision 1 was sealed as number 2, and has been opened again since.");
  g_assert_null (strstr (words, "SHA-256"));
  g_assert_null (after->file);
  g_assert_false (ef_report_seal_equal (before, after));
  g_assert_true (ef_report_seal_equal (after, after));
  g_assert_false (ef_report_seal_equal (after, NULL));
  g_assert_true (ef_report_seal_equal (NULL, NULL));
}

/* Another assessment than the sealed one isn't passed off as it. */
static void
test_other_results (Fixture *self,
                    gconstpointer data)
{
  g_autoptr (EfInspection) inspection = sample_inspection (self->sheet, 5);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  g_autoptr (EfReportSeal) seal_read = NULL;
  g_autofree char *words = NULL;

  seal (self);
  seal_read = read_seal (self, FALSE);
  words = report_words (self, assessment, seal_read);
  assert_in (words, "aren't to the last digit those that were sealed");
  g_assert_null (strstr (words, "are, to the last digit, those that were sealed"));
}

static void
test_file (Fixture *self,
           gconstpointer data)
{
  g_autofree char *path = g_build_filename (self->folder, "job.json", NULL);
  g_autofree char *text = NULL;
  g_autofree char *words = NULL;
  g_autofree char *broken = NULL;
  g_autofree char *open_words = NULL;
  g_autoptr (EfReportSeal) sealed = NULL;
  g_autoptr (EfReportSeal) changed = NULL;
  g_autoptr (EfReportSeal) open = NULL;
  g_autoptr (GError) error = NULL;
  char *at;

  open_words = ef_seal_export (self->store, self->job, NULL);
  g_assert_true (g_file_set_contents (path, open_words, -1, NULL));
  open = ef_report_seal_of_file (path, &error);
  g_assert_no_error (error);
  g_assert_null (open->seal);
  g_assert_null (open->file);

  seal (self);
  text = ef_seal_export (self->store, self->job, NULL);
  g_assert_true (g_file_set_contents (path, text, -1, NULL));
  sealed = ef_report_seal_of_file (path, &error);
  g_assert_no_error (error);
  g_assert_true (sealed->stands);
  words = report_words (self, self->assessment, sealed);
  assert_in (words, "Sealed as number 2 of another store's chain.");

  at = strstr (text, "\"hours\": ");
  g_assert_nonnull (at);
  at[9] = at[9] == '1' ? '2' : '1';
  g_assert_true (g_file_set_contents (path, text, -1, NULL));
  changed = ef_report_seal_of_file (path, &error);
  g_assert_no_error (error);
  g_assert_false (changed->stands);
  g_assert_null (changed->file);
  broken = report_words (self, self->assessment, changed);
  assert_in (broken, "Not sealed: the file carries a seal that doesn't hold (");
  g_assert_null (strstr (broken, "SHA-256 digest of the sealed"));
}

/* Whole modules, on white whatever the style; a text that's too long draws nothing. ISO/IEC 18004:2015, table 7: 2,331 bytes at level M. */
static void
test_code (void)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 200, 200);
  cairo_t *cr = cairo_create (surface);
  g_autofree char *fits = g_strnfill (2331, 'e');
  g_autofree char *long_text = g_strnfill (2332, 'e');
  const guint32 *pixels;
  guint black = 0;

  g_assert_false (ef_draw_qr (cr, long_text, 200));
  cairo_surface_flush (surface);
  pixels = (const guint32 *) (const void *) cairo_image_surface_get_data (surface);
  for (guint i = 0; i < 200 * 200; i++)
    g_assert_cmphex (pixels[i] & 0xffffff, ==, 0);
  g_assert_true (ef_draw_qr (cr, fits, 200));
  g_assert_true (ef_draw_qr (cr, "endfloat", 200));
  cairo_surface_flush (surface);
  for (guint i = 0; i < 200; i++)
    g_assert_cmphex (pixels[4 * 200 + i] & 0xffffff, ==, 0xffffff);
  for (guint i = 0; i < 200 * 200; i++)
    black += (pixels[i] & 0xffffff) == 0;
  g_assert_cmpuint (black, >, 200 * 200 / 10);
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
#define ADD(name, function) g_test_add ("/report-seal/" name, Fixture, NULL, set_up, function, tear_down)
  ADD ("sealed", test_sealed);
  ADD ("not-sealed", test_not_sealed);
  ADD ("revision-open", test_revision_open);
  ADD ("other-results", test_other_results);
  ADD ("file", test_file);
  ADD ("step-sheet", test_step_sheet);
  g_test_add_func ("/report-seal/code", test_code);

  return g_test_run ();
}
