/* The step sheet of every demo job goes on one page of either paper, in type that can be read, with all it has to say.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "sample.h"
#include "record/ef-exchange.h"
#include "draw/ef-step-sheet.h"

#include <glib/gstdio.h>
#include <string.h>
#include "../isolate.h"

static const char *const jobs[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-3-tg-3.json", "job-4-hl-27.json" };

static EfAssessment *
assess (const char *name,
        gboolean ticked)
{
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "demo", name, NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_exchange_load (path, &error);
  EfAssessment *assessment;

  g_assert_no_error (error);
  assessment = sample_assess (inspection);
  if (ticked && assessment->steps->len > 0)
    {
      g_autoptr (EfItem) tick = ef_item_new (&ef_tick_class, ((EfStep *) g_ptr_array_index (assessment->steps, 0))->id);

      ((EfTick *) tick)->role = g_strdup ("bench fitter");
      ((EfTick *) tick)->time = g_strdup ("2026-03-02T09:30:00Z");
      g_assert_true (ef_inspection_swap (assessment->inspection, NULL, tick, &error));
    }
  return assessment;
}

/* Only letters and figures: line breaks and hyphens of the layout don't count. */
static char *
squeeze (const char *text)
{
  GString *out = g_string_new (NULL);

  for (; *text != '\0'; text++)
    if (g_ascii_isalnum (*text))
      g_string_append_c (out, *text);
  return g_string_free (out, FALSE);
}

static char *
text_of (const char *path)
{
  const char *argv[] = { "pdftotext", "-raw", path, "-", NULL };
  g_autoptr (GError) error = NULL;
  g_autofree char *out = NULL;
  int status;

  g_assert_true (g_spawn_sync (NULL, (char **) argv, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &out, NULL, &status, &error));
  g_assert_no_error (error);
  g_assert_cmpint (status, ==, 0);
  return squeeze (out);
}

static void
expect_text (const char *all,
             const char *text)
{
  g_autofree char *wanted = squeeze (text);

  if (strstr (all, wanted) == NULL)
    {
      g_test_message ("not on the sheet: %s", text);
      g_test_fail ();
    }
}

static void
expect_all (const char *all,
            GPtrArray *texts)
{
  for (guint i = 0; texts != NULL && i < texts->len; i++)
    expect_text (all, g_ptr_array_index (texts, i));
}

static guint
pages_of (const char *path)
{
  const char *argv[] = { "pdfinfo", path, NULL };
  g_autofree char *out = NULL;
  const char *line;
  int status;

  g_assert_true (g_spawn_sync (NULL, (char **) argv, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &out, NULL, &status, NULL));
  g_assert_cmpint (status, ==, 0);
  line = strstr (out, "Pages:");
  g_assert_nonnull (line);
  return g_ascii_strtoull (line + 6, NULL, 10);
}

static void
check_job (const EfAssessment *assessment,
           EfPaper paper)
{
  g_autoptr (EfStepSheet) sheet = ef_step_sheet_new (assessment, NULL, paper);
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "endfloat-step-sheet.pdf", NULL);
  g_autoptr (GError) error = NULL;
  g_autofree char *all = NULL;

  g_assert_cmpuint (ef_step_sheet_n_pages (sheet), ==, 1);
  g_assert_cmpfloat (ef_step_sheet_text_size (sheet), >=, EF_STEP_SHEET_LEAST);
  g_assert_true (ef_step_sheet_write_pdf (assessment, NULL, path, paper, "2026-03-02T10:00:00Z", &error));
  g_assert_no_error (error);
  g_assert_cmpuint (pages_of (path), ==, 1);
  all = text_of (path);
  expect_all (all, assessment->cautions);
  for (guint i = 0; i < assessment->steps->len; i++)
    {
      const EfStep *step = g_ptr_array_index (assessment->steps, i);
      g_autofree char *text = g_strdup_printf ("%u. %s", i + 1, step->text);

      expect_text (all, text);
      expect_all (all, step->tools);
      expect_all (all, step->checks);
    }
  if (assessment->steps->len > 0)
    expect_text (all, "Done: bench fitter, 2026-03-02 09:30");
  g_unlink (path);
}

static void
test_one_page (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (jobs); i++)
    {
      g_autoptr (EfAssessment) assessment = assess (jobs[i], TRUE);

      check_job (assessment, EF_PAPER_A4);
      check_job (assessment, EF_PAPER_LETTER);
    }
}

/* Each step names the letters of its own cautions, and no others. */
static void
test_letters (void)
{
  g_autoptr (EfAssessment) assessment = assess (jobs[0], FALSE);
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "endfloat-step-letters.pdf", NULL);
  g_autofree char *all = NULL;

  g_assert_true (ef_step_sheet_write_pdf (assessment, NULL, path, EF_PAPER_A4, NULL, NULL));
  all = text_of (path);
  for (guint i = 0; i < assessment->cautions->len; i++)
    {
      g_autofree char *letter = ef_step_sheet_letter (i);
      g_autofree char *line = g_strdup_printf ("%s %s", letter, (char *) g_ptr_array_index (assessment->cautions, i));

      expect_text (all, line);
    }
  for (guint i = 0; i < assessment->steps->len; i++)
    {
      const EfStep *step = g_ptr_array_index (assessment->steps, i);
      GString *line;

      if (step->cautions->len == 0)
        continue;
      line = g_string_new ("Caution ");
      for (guint k = 0; k < step->cautions->len; k++)
        {
          guint at;
          g_autofree char *letter = NULL;

          g_assert_true (g_ptr_array_find_with_equal_func (assessment->cautions, g_ptr_array_index (step->cautions, k), g_str_equal, &at));
          letter = ef_step_sheet_letter (at);
          g_string_append_printf (line, "%s ", letter);
        }
      expect_text (all, line->str);
      g_string_free (line, TRUE);
    }
  g_unlink (path);
}

/* Far too much for a page: it goes on overleaf, nothing is lost, the type stays as large as it must be. */
static void
test_overleaf (void)
{
  g_autoptr (EfAssessment) assessment = assess (jobs[0], FALSE);
  g_autoptr (EfStepSheet) sheet = NULL;
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "endfloat-step-long.pdf", NULL);
  g_autofree char *all = NULL;
  EfStep *last = g_ptr_array_index (assessment->steps, assessment->steps->len - 1);

  for (guint i = 0; i < assessment->steps->len; i++)
    {
      EfStep *step = g_ptr_array_index (assessment->steps, i);

      for (guint k = 0; k < 12; k++)
        g_ptr_array_add (step->checks, g_strdup_printf ("Look at place %u of step %u once more, slowly and in good light.", k, i));
    }
  sheet = ef_step_sheet_new (assessment, NULL, EF_PAPER_A4);
  g_assert_cmpuint (ef_step_sheet_n_pages (sheet), >, 1);
  g_assert_cmpfloat (ef_step_sheet_text_size (sheet), >=, EF_STEP_SHEET_LEAST);
  g_assert_true (ef_step_sheet_write_pdf (assessment, NULL, path, EF_PAPER_A4, NULL, NULL));
  g_assert_cmpuint (pages_of (path), ==, ef_step_sheet_n_pages (sheet));
  all = text_of (path);
  expect_all (all, last->checks);
  g_unlink (path);
}

static void
test_not_written (void)
{
  g_autoptr (EfAssessment) assessment = assess (jobs[2], FALSE);
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_step_sheet_write_pdf (assessment, NULL, "/nowhere/at/all.pdf", EF_PAPER_A4, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
  g_assert_true (g_str_has_prefix (error->message, "/nowhere/at/all.pdf: "));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/step-sheet/one-page", test_one_page);
  g_test_add_func ("/draw/step-sheet/letters", test_letters);
  g_test_add_func ("/draw/step-sheet/overleaf", test_overleaf);
  g_test_add_func ("/draw/step-sheet/not-written", test_not_written);
  return g_test_run ();
}
