/* The report as a PDF and page by page, pictures as files.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sample.h"
#include "draw/ef-draw-text.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>
#include "../isolate.h"

#define CREATED "2026-03-02T10:00:00Z"

static char *
run (const char *const *argv)
{
  g_autoptr (GError) error = NULL;
  char *output = NULL;
  int status = 0;

  g_spawn_sync (NULL, (char **) argv, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &output, NULL, &status, &error);
  g_assert_no_error (error);
  g_assert_true (g_spawn_check_wait_status (status, &error));
  return output;
}

static char *
text_of (const char *path)
{
  return run ((const char *[]) { "pdftotext", "-layout", path, "-", NULL });
}

/* One run of words without line breaks, so that wrapped cells can be found. */
static char *
flat_text_of (const char *path)
{
  g_autofree char *text = run ((const char *[]) { "pdftotext", path, "-", NULL });
  g_auto (GStrv) words = g_strsplit_set (text, " \n\f\r\t", -1);
  GString *flat = g_string_new (NULL);

  for (guint i = 0; words[i] != NULL; i++)
    if (*words[i] != '\0')
      g_string_append_printf (flat, "%s ", words[i]);
  return g_string_free (flat, FALSE);
}

static void
assert_has (const char *text, const char *words)
{
  if (strstr (text, words) == NULL)
    g_error ("“%s” isn't in the report", words);
}

static char *
temp_path (const char *name)
{
  return g_build_filename (g_get_tmp_dir (), name, NULL);
}

static void
test_content (gconstpointer data)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet (data);
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 30);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  g_autofree char *path = temp_path ("report-content.pdf");
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  g_autofree char *info = NULL;
  g_autofree char *fonts = NULL;
  g_autofree char *pages = NULL;
  gboolean defaults = FALSE;

  ef_assessment_take_before (assessment, "rules 1", "2026-01-02T03:04:05Z");
  g_assert_true (ef_report_write_pdf (assessment, NULL, path, EF_PAPER_A4, CREATED, &error));
  g_assert_no_error (error);
  text = flat_text_of (path);
  assert_has (text, sheet->name);
  assert_has (text, "J-0412");
  assert_has (text, "Öldruck 0,6 bar; debris up to 120 µm");
  assert_has (text, ef_verdict_label (assessment->verdict->word));
  for (guint i = 0; i < sheet->parts->len; i++)
    assert_has (text, ((EfPart *) g_ptr_array_index (sheet->parts, i))->name);
  for (guint i = 0; i < inspection->items[EF_ITEM_MARK]->len; i++)
    {
      const EfMark *mark = g_ptr_array_index (inspection->items[EF_ITEM_MARK], i);
      g_autofree char *row = g_strdup_printf ("%d", mark->number);

      assert_has (text, row);
      assert_has (text, ef_mark_kind_label (mark->kind));
    }
  assert_has (text, "not measured");
  assert_has (text, "Depth micrometer 0–25 mm");
  g_assert_cmpuint (assessment->steps->len, >, 0);
  for (guint i = 0; i < assessment->steps->len; i++)
    {
      g_autofree char *start = g_utf8_substring (((EfStep *) g_ptr_array_index (assessment->steps, i))->text, 0, 12);

      assert_has (text, start);
    }
  for (guint i = 0; i < assessment->cautions->len; i++)
    {
      g_autofree char *start = g_utf8_substring (g_ptr_array_index (assessment->cautions, i), 0, 20);

      assert_has (text, start);
    }
  for (guint i = 0; i < assessment->verdict->reasons->len; i++)
    defaults = defaults || (((EfReason *) assessment->verdict->reasons->pdata[i])->limit_assumed && isfinite (((EfReason *) assessment->verdict->reasons->pdata[i])->limit));
  g_assert_cmpint (strstr (text, "The limit is a default: the pump sheet gives none.") != NULL || !defaults, ==, TRUE);
  assert_has (text, "Judged before under rules 1 (last on 2026-01-02), now under common-practice");
  assert_has (text, "Sign-off");
  assert_has (text, assessment->rule_set);
  pages = g_strdup_printf ("page 1 of %u", ef_report_n_pages (assessment, NULL, EF_PAPER_A4));
  assert_has (text, pages);
  info = run ((const char *[]) { "pdfinfo", path, NULL });
  assert_has (info, "(A4)");
  assert_has (info, "Oil pump inspection J-0412");
  fonts = run ((const char *[]) { "pdffonts", path, NULL });
  /* every font embedded, with a table back to Unicode: columns emb sub uni */
  for (const char *line = strchr (strchr (fonts, '\n') + 1, '\n') + 1; *line != '\0'; line = strchr (line, '\n') + 1)
    {
      g_autofree char *row = g_strndup (line, strcspn (line, "\n"));

      g_assert_nonnull (strstr (row, "yes yes yes"));
    }
  g_remove (path);
}

static void
test_same_bytes (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("rc-4");
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 12);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  g_autofree char *path = temp_path ("report-same.pdf");
  g_autoptr (GError) error = NULL;
  char *bytes[2] = { NULL, NULL };
  gsize length[2];

  for (int i = 0; i < 2; i++)
    {
      g_assert_true (ef_report_write_pdf (assessment, NULL, path, EF_PAPER_A4, CREATED, &error));
      g_assert_true (g_file_get_contents (path, &bytes[i], &length[i], &error));
    }
  g_assert_cmpmem (bytes[0], length[0], bytes[1], length[1]);
  g_free (bytes[0]);
  g_free (bytes[1]);
  g_remove (path);
}

static void
test_letter (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("tg-3");
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 0);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  g_autofree char *path = temp_path ("report-letter.pdf");
  g_autoptr (GError) error = NULL;
  g_autofree char *info = NULL;
  g_autofree char *count = NULL;

  g_assert_true (ef_report_write_pdf (assessment, NULL, path, EF_PAPER_LETTER, CREATED, &error));
  info = run ((const char *[]) { "pdfinfo", path, NULL });
  assert_has (info, "(letter)");
  count = g_strdup_printf ("%u\n", ef_report_n_pages (assessment, NULL, EF_PAPER_LETTER));
  assert_has (strstr (info, "Pages:"), count);
  g_remove (path);
}

/* 300 marks with long notes: every number in the tables, all pages within their paper. */
static void
test_long_job (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 300);
  g_autoptr (EfAssessment) assessment = NULL;
  g_autofree char *path = temp_path ("report-long.pdf");
  g_autoptr (GError) error = NULL;
  g_autoptr (GString) endless = g_string_new (NULL);
  g_autofree char *text = NULL;
  EfMark *mark;

  /* a note longer than a page, and a word that has no place to break */
  for (int i = 0; i < 400; i++)
    g_string_append_printf (endless, "word%03d ", i);
  for (int i = 0; i < 120; i++)
    g_string_append (endless, "unbroken");
  g_string_append (endless, " lastword");
  mark = ef_item_copy (g_ptr_array_index (inspection->items[EF_ITEM_MARK], 4));
  g_free (mark->note);
  mark->note = g_strdup (endless->str);
  g_assert_true (ef_inspection_swap (inspection, g_ptr_array_index (inspection->items[EF_ITEM_MARK], 4), (EfItem *) mark, &error));
  ef_item_unref (mark);
  assessment = sample_assess (inspection);
  g_assert_cmpuint (ef_report_n_pages (assessment, NULL, EF_PAPER_A4), >, 15);
  g_assert_true (ef_report_write_pdf (assessment, NULL, path, EF_PAPER_A4, CREATED, &error));
  text = text_of (path);
  for (int i = 1; i <= 300; i++)
    {
      g_autofree char *row = g_strdup_printf ("(?m)^\\s*%d\\s+[A-Z][a-z]+", i);

      g_assert_true (g_regex_match_simple (row, text, G_REGEX_MULTILINE, 0));
    }
  for (int i = 0; i < 400; i++)
    {
      g_autofree char *word = g_strdup_printf ("word%03d", i);

      assert_has (text, word);
    }
  assert_has (text, "lastword");
  g_remove (path);
}

/* Ink outside the margins: none but in the footer and running head. */
static void
test_margins (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 60);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  guint pages = ef_report_n_pages (assessment, NULL, EF_PAPER_A4);

  for (guint page = 0; page < pages; page++)
    {
      cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 596, 842);
      cairo_t *cr = cairo_create (surface);
      guint ink = 0;

      cairo_set_source_rgb (cr, 1, 1, 1);
      cairo_paint (cr);
      ef_report_draw_page (assessment, NULL, EF_PAPER_A4, page, cr);
      cairo_destroy (cr);
      cairo_surface_flush (surface);
      for (int y = 0; y < 842; y++)
        for (int x = 0; x < 596; x++)
          {
            guint32 p = *(guint32 *) (cairo_image_surface_get_data (surface) + y * cairo_image_surface_get_stride (surface) + 4 * x) & 0xffffff;

            if (p == 0xffffff)
              continue;
            ink++;
            g_assert_true (x >= 44 && x <= 552 && y >= 30 && y <= 812);
            g_assert_false (y > 783 && y < 793); /* a clear gap over the footer */
          }
      g_assert_cmpuint (ink, >, 500);
      cairo_surface_destroy (surface);
    }
}

static void
test_bad_path (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("rc-4");
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 0);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_report_write_pdf (assessment, NULL, "/nowhere/at/all/report.pdf", EF_PAPER_A4, CREATED, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
  g_assert_nonnull (strstr (error->message, "/nowhere/at/all/report.pdf"));
}

static void
test_pictures (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("rc-4");
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 12);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  g_autofree char *png = temp_path ("face.png");
  g_autofree char *svg = temp_path ("pump.svg");
  g_auto (GStrv) ids = ef_face_ids (sheet);
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  cairo_surface_t *surface;

  for (guint i = 0; ids[i] != NULL; i++)
    {
      g_assert_true (ef_picture_write_face (assessment, ids[i], png, 500, 400, &error));
      g_assert_no_error (error);
      surface = cairo_image_surface_create_from_png (png);
      g_assert_cmpint (cairo_image_surface_get_width (surface), ==, 500);
      g_assert_cmpint (cairo_image_surface_get_height (surface), ==, 400);
      cairo_surface_destroy (surface);
    }
  g_assert_true (ef_picture_write_exploded (assessment, svg, 900, 300, &error));
  g_assert_true (g_file_get_contents (svg, &text, NULL, &error));
  g_assert_nonnull (strstr (text, "<svg"));
  g_assert_nonnull (strstr (text, "</svg>"));
  g_assert_false (ef_picture_write_face (assessment, "nothing/here", png, 500, 400, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_false (ef_picture_write_exploded (assessment, "pump.bmp", 900, 300, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_picture_write_exploded (assessment, svg, NAN, 300, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_remove (png);
  g_remove (svg);
}

/* Every quantity has a sketch of its own, with ink, for every pump. */
static void
test_gauge_sketches (void)
{
  static const char *const pumps[] = { "hl-24", "hl-27", "rc-4", "tg-3" };

  for (guint p = 0; p < G_N_ELEMENTS (pumps); p++)
    {
      g_autoptr (EfPumpSheet) sheet = sample_sheet (pumps[p]);
      const EfSection *section = g_ptr_array_index (sheet->sections, 0);
      g_autofree char *before = NULL;

      for (int q = 0; q < EF_N_READINGS; q++)
        for (int driven = 0; driven < 2; driven++)
          {
            cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 300, 220);
            cairo_t *cr = cairo_create (surface);
            gsize size = (gsize) cairo_image_surface_get_stride (surface) * 220;
            EfDrawStyle style;

            ef_draw_style_screen (&style, FALSE, FALSE);
            ef_draw_paper (cr, &style);
            ef_draw_gauge_sketch (cr, &style, sheet, (EfQuantity) q, section->id, driven ? "driven" : "drive", 300, 220);
            g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
            cairo_destroy (cr);
            cairo_surface_flush (surface);
            if (before != NULL && !driven)
              g_assert_cmpint (memcmp (before, cairo_image_surface_get_data (surface), size), !=, 0);
            g_free (before);
            before = g_memdup2 (cairo_image_surface_get_data (surface), size);
            cairo_surface_destroy (surface);
          }
    }
}

static guint
glyphs_of (PangoLayout *layout)
{
  guint n = 0;

  for (GSList *line = pango_layout_get_lines_readonly (layout); line != NULL; line = line->next)
    for (GSList *run = ((PangoLayoutLine *) line->data)->runs; run != NULL; run = run->next)
      n += ((PangoGlyphItem *) run->data)->glyphs->num_glyphs;
  return n;
}

/* A digest is read off as it stands: where a line is too short for it, nothing is put in between. */
static void
test_digest_unbroken (void)
{
  static const char digest[] = "920183d57b26619015c89f5a3ef58e55185cfd04bfc65f1466bbc7645c319c7c";
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 16, 16);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;

  ef_draw_style_print (&style);
  for (double width = 80; width < 300; width += 7)
    {
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, &style, 9, 0, digest);

      ef_text_wrap (layout, width, 0);
      g_assert_cmpint (pango_layout_get_line_count (layout), >, 1);
      g_assert_cmpuint (glyphs_of (layout), ==, strlen (digest));
    }
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
}

int
main (int argc, char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_data_func ("/draw/report/content/hl-24", "hl-24", test_content);
  g_test_add_data_func ("/draw/report/content/hl-27", "hl-27", test_content);
  g_test_add_data_func ("/draw/report/content/rc-4", "rc-4", test_content);
  g_test_add_data_func ("/draw/report/content/tg-3", "tg-3", test_content);
  g_test_add_func ("/draw/report/same-bytes", test_same_bytes);
  g_test_add_func ("/draw/report/letter", test_letter);
  g_test_add_func ("/draw/report/long-job", test_long_job);
  g_test_add_func ("/draw/report/margins", test_margins);
  g_test_add_func ("/draw/report/bad-path", test_bad_path);
  g_test_add_func ("/draw/report/digest-unbroken", test_digest_unbroken);
  g_test_add_func ("/draw/pictures", test_pictures);
  g_test_add_func ("/draw/gauge-sketches", test_gauge_sketches);
  return g_test_run ();
}
