/* The lapping plan in words and pictures: the numbers are the assessment's, zones and markers are where they belong without colour, the same bytes twice; the
 * report's section.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "draw/ef-draw-plan.h"
#include "record/ef-exchange.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>
#include "../isolate.h"
#include "pixels.h"

#define WIDTH 700

static EfAssessment *
assess (const char *file)
{
  g_autofree char *path = ef_data_path ("demo", file, NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  g_autoptr (EfInspection) inspection = ef_exchange_load (path, &error);
  EfAssessment *assessment;

  g_assert_no_error (error);
  assessment = ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, &error);
  g_assert_no_error (error);
  return assessment;
}

static cairo_surface_t *
paint (GPtrArray *bars, const EfDepthMap *map, const EfPlanRow *row, double width, double height, gboolean dark)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int) width, (int) height);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;

  ef_draw_style_screen (&style, dark, FALSE);
  ef_draw_paper (cr, &style);
  if (bars != NULL)
    ef_draw_plan_bars (cr, &style, bars, EF_UNIT_MM, width, height);
  else if (map != NULL)
    ef_draw_plan_curve (cr, &style, map, row, EF_UNIT_MM, width, height);
  else
    ef_draw_plan_share (cr, &style, row, width, height);
  g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  return surface;
}

/* Constructed: found 0.15 past the limit 0.13 for use, window 0.05 … 0.09 with 0.01 kept off, after 0.07. Scale: 0.04 … 0.16 and a tenth of it on either side. */
static void
test_zones (void)
{
  g_autoptr (GPtrArray) bars = g_ptr_array_new ();
  EfPlanBar bar = { (char *) "Pressure section, drive gear", 0.15e-3, 0.07e-3, 0.01e-3, 0.05e-3, 0.09e-3, 0.06e-3, 0.08e-3, 0.04e-3, 0.13e-3, TRUE };
  EfDrawStyle style;
  cairo_surface_t *first, *second;
  double tall, y, low = 0.028e-3, high = 0.172e-3, px = (WIDTH - 4) / (high - low);

  g_ptr_array_add (bars, &bar);
  ef_draw_style_screen (&style, FALSE, FALSE);
  tall = ef_draw_plan_bars_height (&style, bars, WIDTH);
  first = paint (bars, NULL, NULL, WIDTH, tall, FALSE);
  second = paint (bars, NULL, NULL, WIDTH, tall, FALSE);
  g_assert_true (same (first, second));
  y = (2.55 + 0.575) * ef_text_size (&style, 1); /* the middle of the bar */
  /* darkest past the limits, grey where it's still good for use, hatched where it's kept off, plain where it should end */
  g_assert_cmpfloat (light (first, 2 + px * (0.034e-3 - low), y, 3), <, 0.5);
  g_assert_cmpfloat (light (first, 2 + px * (0.140e-3 - low), y, 3), <, 0.5);
  g_assert_cmpfloat (light (first, 2 + px * (0.110e-3 - low), y, 3), <, 0.92);
  g_assert_cmpfloat (light (first, 2 + px * (0.110e-3 - low), y, 3), >, 0.6);
  g_assert_cmpfloat (light (first, 2 + px * (0.055e-3 - low), y, 4), <, 0.95);
  g_assert_cmpfloat (light (first, 2 + px * (0.0635e-3 - low), y, 3), >, 0.99);
  /* a stem through the bar at each of the two */
  g_assert_cmpfloat (light (first, 2 + px * (0.07e-3 - low), y, 1), <, 0.9);
  g_assert_cmpfloat (light (first, 2 + px * (0.15e-3 - low), y - 12, 1), <, 0.7);
  cairo_surface_destroy (second);
  bar.after = bar.found;
  bar.changed = FALSE;
  second = paint (bars, NULL, NULL, WIDTH, tall, FALSE);
  g_assert_false (same (first, second));
  g_assert_cmpfloat (light (second, 2 + px * (0.07e-3 - low), y, 1), >, 0.99);
  cairo_surface_destroy (first);
  cairo_surface_destroy (second);
}

/* Ink in a column of px from @from to @to: the least light. */
static double
darkest (cairo_surface_t *surface, double x, double from, double to)
{
  double least = 1;

  for (double y = from; y <= to; y++)
    least = fmin (least, light (surface, x, y, 0));
  return least;
}

/* Constructed: both ends of the window alike, and found, after and their whiskers each at a place of its own. */
static void
test_marks_of_a_bar (void)
{
  g_autoptr (GPtrArray) bars = g_ptr_array_new ();
  EfPlanBar bar = { (char *) "Pressure section, drive gear", 0.15e-3, 0.07e-3, 0.004e-3, 0.05e-3, 0.10e-3, 0.06e-3, 0.09e-3, 0.04e-3, 0.13e-3, TRUE };
  EfDrawStyle style;
  cairo_surface_t *surface;
  double size, y, lane, low = 0.0286e-3, high = 0.1654e-3, px = (WIDTH - 4) / (high - low);

  g_ptr_array_add (bars, &bar);
  ef_draw_style_screen (&style, FALSE, FALSE);
  size = ef_text_size (&style, 1);
  surface = paint (bars, NULL, NULL, WIDTH, ef_draw_plan_bars_height (&style, bars, WIDTH), FALSE);
  y = (2.55 + 0.575) * size;
  lane = 2.0 * size;
  /* hatched inside both ends, plain between them, and no hatch outside of the upper one */
  g_assert_cmpfloat (light (surface, 2 + px * (0.055e-3 - low), y, 4), <, 0.95);
  g_assert_cmpfloat (light (surface, 2 + px * (0.095e-3 - low), y, 4), <, 0.95);
  g_assert_cmpfloat (light (surface, 2 + px * (0.080e-3 - low), y, 4), >, 0.99);
  g_assert_cmpfloat_with_epsilon (light (surface, 2 + px * (0.105e-3 - low), y, 4), light (surface, 2 + px * (0.120e-3 - low), y, 4), 0.02);
  /* a cap of the whiskers at either side of both */
  for (int i = 0; i < 2; i++)
    for (int side = -1; side <= 1; side += 2)
      g_assert_cmpfloat (darkest (surface, round (2 + px * ((i == 0 ? bar.found : bar.after) + side * bar.uncertainty - low)), lane - 3, lane + 3), <, 0.7);
  /* an arrow between the two, its head at what comes after: a wing off the line there, none at what was found */
  g_assert_cmpfloat (light (surface, 2 + px * (0.115e-3 - low), lane, 1), <, 0.95);
  {
    double gap = fmax (0.75 * size, px * bar.uncertainty + 0.4 * size), head = 0.5 * size;
    double tip = 2 + px * (bar.after - low) + gap, tail = 2 + px * (bar.found - low) - gap;

    g_assert_cmpfloat (light (surface, tip + head - 1, lane - 0.6 * head + 1, 1), <, 0.97);
    g_assert_cmpfloat (light (surface, tail - head + 1, lane - 0.6 * head + 1, 1), >, 0.97);
    g_assert_cmpfloat (light (surface, tip - 0.2 * size, lane, 0), >, 0.9);
  }
  cairo_surface_destroy (surface);
}

/* Giving way is called enough only where it is. */
static void
test_shortfall (void)
{
  EfLapConflict conflict = { .shortfall = 12e-6, .restores = TRUE };
  g_autofree char *enough = ef_plan_shortfall (&conflict, EF_UNIT_UM);
  g_autofree char *short_of = NULL;

  g_assert_nonnull (strstr (enough, "all can be had"));
  g_assert_nonnull (strstr (enough, "12"));
  conflict.restores = FALSE;
  short_of = ef_plan_shortfall (&conflict, EF_UNIT_UM);
  g_assert_nonnull (strstr (short_of, "would not be enough"));
}

static void
test_share (void)
{
  EfPlanRow row = { .removal = 60e-6, .bound = 150e-6, .least = 30e-6 };
  cairo_surface_t *surface = paint (NULL, NULL, &row, 100, 14, FALSE);

  g_assert_cmpfloat (light (surface, 30, 7, 2), <, 0.7);
  g_assert_cmpfloat (light (surface, 60, 7, 2), >, 0.99);
  g_assert_cmpfloat (light (surface, 20, 7, 0), <, 0.3); /* the least */
  cairo_surface_destroy (surface);
}

static void
test_demo (void)
{
  g_autoptr (EfAssessment) assessment = assess ("job-1-hl-24.json");
  const EfLapOption *option = ef_plan_option (assessment);
  g_autoptr (GPtrArray) rows = ef_plan_rows (assessment, option);
  g_autoptr (GPtrArray) bars = ef_plan_bars (assessment, option);
  g_autofree char *sentence = ef_plan_sentence (assessment, EF_UNIT_MM);
  guint met = 0;

  g_assert_cmpint (ef_plan_state (assessment), ==, EF_PLAN_DONE);
  g_assert_true (g_str_has_prefix (sentence, "Lapping saves the pump: "));
  g_assert_cmpuint (rows->len, ==, assessment->plan->stocks->len);
  for (guint i = 0; i < rows->len; i++)
    {
      const EfPlanRow *row = g_ptr_array_index (rows, i);
      const EfLapStock *stock = ef_lap_stock_find (assessment->plan->stocks, row->face_id);
      EfDepthMap *map = g_hash_table_lookup (assessment->findings.maps, row->face_id);
      g_autofree char *number = ef_format_quantity (row->removal, EF_UNIT_MM, -1);

      g_assert_nonnull (stock);
      g_assert_cmpfloat (row->removal, ==, stock->stock);
      g_assert_nonnull (strstr (sentence, number));
      if (map == NULL)
        continue;
      cairo_surface_t *first = paint (NULL, map, row, 420, 260, TRUE);
      cairo_surface_t *second = paint (NULL, map, row, 420, 260, TRUE);
      EfPlanRow other = *row;
      cairo_surface_t *third;

      other.cut = 0.5 * row->cut;
      third = paint (NULL, map, &other, 420, 260, TRUE);
      g_assert_true (same (first, second));
      g_assert_false (same (first, third));
      cairo_surface_destroy (first);
      cairo_surface_destroy (second);
      cairo_surface_destroy (third);
      met++;
    }
  g_assert_cmpuint (met, >=, 1);
  /* where the plan ends is where the figures say */
  g_assert_cmpuint (bars->len, ==, 4);
  g_assert_cmpfloat_with_epsilon (((EfPlanBar *) bars->pdata[0])->after, ef_assessment_figure (assessment, "end-clearance", "pressure", NULL)->reworked, 1e-9);
  for (guint i = 0; i < bars->len; i++)
    {
      const EfPlanBar *bar = bars->pdata[i];

      if (bar->changed)
        g_assert_true (bar->after >= bar->guard_min - 1e-9 && bar->after <= bar->guard_max + 1e-9);
    }
}

static void
test_states (void)
{
  g_autoptr (EfAssessment) none = assess ("job-3-tg-3.json");
  g_autoptr (EfAssessment) cannot = assess ("job-5-hl-24.json");
  g_autofree char *nothing = ef_plan_sentence (none, EF_UNIT_MM);
  g_autofree char *reason = ef_plan_sentence (cannot, EF_UNIT_MM);

  g_assert_cmpint (ef_plan_state (none), ==, EF_PLAN_NOTHING);
  g_assert_true (g_str_has_prefix (nothing, "Nothing to lap"));
  g_assert_cmpint (ef_plan_state (cannot), ==, EF_PLAN_PARTLY);
  g_assert_true (g_str_has_prefix (reason, "It can't be lapped within the limits: "));
  g_assert_nonnull (strstr (reason, strchr (((const EfLapConflict *) cannot->plan->conflicts->pdata[0])->sentence, ' ')));
}

static char *
report_text (const EfAssessment *assessment)
{
  g_autofree char *pdf = g_build_filename (g_get_tmp_dir (), "plan-report.pdf", NULL);
  g_autofree char *command = g_strdup_printf ("pdftotext -layout %s -", pdf);
  g_autoptr (GError) error = NULL;
  char *text = NULL;

  g_assert_true (ef_report_write_pdf (assessment, NULL, pdf, EF_PAPER_A4, "2026-03-02T09:30:00Z", &error));
  g_assert_true (g_spawn_command_line_sync (command, &text, NULL, NULL, &error));
  g_unlink (pdf);
  return text;
}

static void
test_report (void)
{
  g_autoptr (EfAssessment) saved = assess ("job-1-hl-24.json");
  g_autoptr (EfAssessment) cannot = assess ("job-5-hl-24.json");
  g_autofree char *text = report_text (saved);
  g_autofree char *why = report_text (cannot);

  g_assert_nonnull (strstr (text, "Rework plan"));
  g_assert_nonnull (strstr (text, "Lapping saves the pump: "));
  g_assert_nonnull (strstr (text, "End clearance before and after"));
  g_assert_nonnull (strstr (text, "What lapping leaves of the wear"));
  g_assert_nonnull (strstr (text, "Alternatives"));
  g_assert_nonnull (strstr (why, "It can't be lapped within the limits"));
  g_assert_nonnull (strstr (why, "These limits can't all be kept"));
}

static gboolean
starts_with (const char *path, const char *bytes)
{
  g_autofree char *all = NULL;

  g_assert_true (g_file_get_contents (path, &all, NULL, NULL));
  return g_str_has_prefix (all, bytes);
}

/* The files of the command line: the kind by the name; each face that's lapped has its own; none where there is nothing to show. */
static void
test_pictures (void)
{
  g_autoptr (EfAssessment) saved = assess ("job-1-hl-24.json");
  g_autofree char *png = g_build_filename (g_get_tmp_dir (), "plan.png", NULL);
  g_autofree char *svg = g_build_filename (g_get_tmp_dir (), "plan-curve.svg", NULL);
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_picture_write_plan (saved, png, 900, 600, &error));
  g_assert_no_error (error);
  g_assert_true (starts_with (png, "\x89PNG"));
  g_assert_true (ef_picture_write_plan_curve (saved, "separator/side-a", svg, 900, 600, &error));
  g_assert_no_error (error);
  g_assert_true (starts_with (svg, "<?xml"));
  g_assert_false (ef_picture_write_plan_curve (saved, "separator/side-b", svg, 900, 600, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_false (ef_picture_write_plan (saved, "plan.gif", 900, 600, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_unlink (png);
  g_unlink (svg);
}

/* What the curve is weighed by is said, and the weighed share is another than the plain one. */
static void
test_land_words (void)
{
  g_autoptr (EfAssessment) saved = assess ("job-1-hl-24.json");
  g_autoptr (GPtrArray) rows = ef_plan_rows (saved, ef_plan_option (saved));
  guint film = 0;

  for (guint i = 0; i < rows->len; i++)
    {
      const EfPlanRow *row = g_ptr_array_index (rows, i);
      g_autofree char *words = ef_plan_land_words (row, EF_UNIT_MM);

      if (row->land == NULL)
        continue;
      g_assert_nonnull (strstr (words, row->land->rests_on));
      film += row->land->by_leakage;
      g_assert_cmpfloat (ef_plan_restored (row, row->removal), >=, ef_plan_restored (row, 0));
    }
  g_assert_cmpuint (film, >=, 1);
}

int
main (int argc, char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/plan/zones", test_zones);
  g_test_add_func ("/draw/plan/marks-of-a-bar", test_marks_of_a_bar);
  g_test_add_func ("/draw/plan/shortfall", test_shortfall);
  g_test_add_func ("/draw/plan/share", test_share);
  g_test_add_func ("/draw/plan/demo", test_demo);
  g_test_add_func ("/draw/plan/states", test_states);
  g_test_add_func ("/draw/plan/pictures", test_pictures);
  g_test_add_func ("/draw/plan/land-words", test_land_words);
  g_test_add_func ("/draw/plan/report", test_report);
  return g_test_run ();
}
