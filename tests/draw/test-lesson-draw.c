/* Pictures of lessons: the signs are told apart without colour, the record sheet says what it is and is the same for the same input.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../lesson/lesson-fixture.h"

#include "../isolate.h"
#include "draw/ef-draw-lesson.h"

#include <gio/gio.h>
#include <string.h>

#define SIDE 48

/* Ink of a sign as grey. */
static void
sign_pixels (EfLessonMatch match,
             guint8 grey[SIDE * SIDE])
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, SIDE, SIDE);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;

  ef_draw_style_print (&style);
  cairo_set_source_rgb (cr, 1, 1, 1);
  cairo_paint (cr);
  ef_draw_lesson_sign (cr, &style, match, SIDE / 2.0, SIDE / 2.0, SIDE - 4);
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  for (int y = 0; y < SIDE; y++)
    for (int x = 0; x < SIDE; x++)
      {
        const guint8 *pixel = cairo_image_surface_get_data (surface) + y * cairo_image_surface_get_stride (surface) + 4 * x;

        grey[y * SIDE + x] = pixel[0] > 200 && pixel[1] > 200 && pixel[2] > 200 ? 255 : 0;
      }
  cairo_surface_destroy (surface);
}

/* In black and white each two differ in a tenth of a sign's ground at least: that is, by their form. */
static void
test_signs (void)
{
  static guint8 grey[EF_N_MATCHES][SIDE * SIDE];

  for (int match = 0; match < EF_N_MATCHES; match++)
    sign_pixels (match, grey[match]);
  for (int a = 0; a < EF_N_MATCHES; a++)
    for (int b = 0; b < a; b++)
      {
        guint differ = 0;

        for (guint k = 0; k < SIDE * SIDE; k++)
          differ += grey[a][k] != grey[b][k];
        g_assert_cmpuint (differ, >, SIDE * SIDE / 40);
      }
}

static char *
text_of (const char *path)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GSubprocess) process = g_subprocess_new (G_SUBPROCESS_FLAGS_STDOUT_PIPE, &error, "pdftotext", "-layout", path, "-", NULL);
  char *text = NULL;

  g_assert_no_error (error);
  g_assert_true (g_subprocess_communicate_utf8 (process, NULL, NULL, &text, NULL, &error));
  g_assert_no_error (error);

  return text;
}

static void
test_record_sheet (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfLessonScore) score = ef_lesson_score_alone (lesson, lesson->reference, NULL, NULL);
  const EfLessonCertificate certificate = { lesson, score, "apprentice 7", "2026-03-17T09:30:00Z" };
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "record.pdf", NULL);
  g_autofree char *again = g_build_filename (g_get_user_data_dir (), "again.pdf", NULL);
  g_autofree char *nowhere = g_build_filename (g_get_user_data_dir (), "no", "such", "folder.pdf", NULL);
  g_autofree char *first = NULL;
  g_autofree char *second = NULL;
  g_autofree char *text = NULL;
  g_autoptr (GError) error = NULL;
  gsize n_first, n_second;

  g_assert_true (ef_lesson_certificate_write_pdf (&certificate, path, EF_PAPER_A4, "2026-03-17T10:00:00Z", &error));
  g_assert_true (ef_lesson_certificate_write_pdf (&certificate, again, EF_PAPER_A4, "2026-03-17T10:00:00Z", &error));
  g_assert_true (g_file_get_contents (path, &first, &n_first, NULL));
  g_assert_true (g_file_get_contents (again, &second, &n_second, NULL));
  g_assert_cmpmem (first, n_first, second, n_second);
  text = text_of (path);
  g_assert_nonnull (strstr (text, "apprentice 7"));
  g_assert_nonnull (strstr (text, "2026-03-17"));
  g_assert_nonnull (strstr (text, "no licence"));
  /* All marks as in the reference, nothing decided: 5 of 9 parts of the score. */
  g_assert_nonnull (strstr (text, "56 of 100"));
  g_assert_nonnull (strstr (text, "nothing was decided"));
  g_assert_false (ef_lesson_certificate_write_pdf (&certificate, nowhere, EF_PAPER_A4, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/lesson-draw/signs", test_signs);
  g_test_add_func ("/lesson-draw/record-sheet", test_record_sheet);

  return g_test_run ();
}
