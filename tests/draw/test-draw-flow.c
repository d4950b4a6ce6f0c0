/* Pictures of what the pump delivers: their words, that nothing leaves its box, that states differ without colour; the oil pressure over a face;
 * the report's page.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "draw/ef-draw-field.h"
#include "draw/ef-draw-flow.h"
#include "record/ef-exchange.h"

#include <cairo-pdf.h>
#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

typedef void (*DrawFlow) (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height);

static const struct
{
  const char *name;
  DrawFlow draw;
} pictures[] = {
  { "delivery", ef_draw_flow_delivery }, { "idle-pressure", ef_draw_flow_idle_pressure }, { "shares", ef_draw_flow_shares }, { "blame", ef_draw_flow_blame },
};

/* Job 1 as it is shipped; in coarse detail curves and shares are missing. */
static EfAssessment *
assess_demo (EfFlowDetail detail, gboolean complaint)
{
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  g_autoptr (EfInspection) inspection = ef_exchange_load (path, &error);
  EfAssessment *assessment;

  g_assert_no_error (error);
  if (!complaint)
    {
      EfItem *before = g_ptr_array_index (inspection->items[EF_ITEM_HEADER], 0);
      EfJobHeader *after = ef_item_copy (before);

      after->found_pressure = NAN;
      g_assert_true (ef_inspection_swap (inspection, before, (EfItem *) after, &error));
      ef_item_unref (after);
    }
  assessment = ef_assess_in_detail (inspection, rules, NULL, detail, NULL, &error);
  g_assert_no_error (error);
  return assessment;
}

/* In full detail, once for all tests. */
static EfAssessment *
demo (void)
{
  static EfAssessment *assessment;

  if (assessment == NULL)
    assessment = assess_demo (EF_DETAIL_FULL, TRUE);
  return assessment;
}

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

/* One run of words without line breaks. */
static char *
words_of_file (const char *path)
{
  g_autofree char *text = run ((const char *[]) { "pdftotext", "-layout", path, "-", NULL });
  g_auto (GStrv) words = g_strsplit_set (text, " \n\f\r\t", -1);
  GString *flat = g_string_new (NULL);

  for (guint i = 0; words[i] != NULL; i++)
    if (*words[i] != '\0')
      g_string_append_printf (flat, "%s ", words[i]);
  return g_string_free (flat, FALSE);
}

static char *
words_of (DrawFlow draw, const EfAssessment *assessment, double width, double height)
{
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "draw-flow.pdf", NULL);
  cairo_surface_t *surface = cairo_pdf_surface_create (path, width, height);
  cairo_t *cr = cairo_create (surface);
  EfDrawStyle style;

  ef_draw_style_screen (&style, FALSE, FALSE);
  draw (cr, &style, assessment, width, height);
  g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
  return words_of_file (path);
}

static void
assert_has (const char *text, const char *words)
{
  if (strstr (text, words) == NULL)
    g_error ("“%s” isn't in “%s”", words, text);
}

static void
assert_in_order (const char *text, const char *first, const char *second)
{
  assert_has (text, first);
  assert_has (text, second);
  g_assert_true (strstr (text, first) < strstr (text, second));
}

static void
test_plot_words (void)
{
  EfAssessment *assessment = demo ();
  const EfFlowResult *flow = assessment->flow;
  g_autofree char *delivery = words_of (ef_draw_flow_delivery, assessment, 560, 340);
  g_autofree char *idle = words_of (ef_draw_flow_idle_pressure, assessment, 560, 340);
  g_autofree char *as_new = g_strdup_printf ("as new: %.2f bar", flow->state[EF_STATE_NEW].idle.pressure / 1e5);
  g_autofree char *found = g_strdup_printf ("as found: %.2f bar", flow->state[EF_STATE_FOUND].idle.pressure / 1e5);
  g_autofree char *reworked = g_strdup_printf ("after rework: %.2f bar", flow->state[EF_STATE_REWORKED].idle.pressure / 1e5);
  const char *both[2] = { delivery, idle };

  for (int i = 0; i < 2; i++)
    {
      assert_has (both[i], as_new);
      assert_has (both[i], found);
      assert_has (both[i], reworked);
      /* the complaint of the demo was measured at hot idle */
      assert_has (both[i], "measured 0.82 bar");
    }
  assert_has (delivery, "what the engine takes");
  assert_has (delivery, "Pressure, bar");
  assert_has (idle, "limit 0.13 mm");
  assert_has (idle, "End clearance, cold, mm");
}

/* Rework that changes nothing isn't a third state. */
static void
test_same_states (void)
{
  g_autoptr (EfAssessment) assessment = assess_demo (EF_DETAIL_COARSE, TRUE);
  g_autofree char *text = NULL;

  assessment->flow->state[EF_STATE_REWORKED].idle.pressure = assessment->flow->state[EF_STATE_FOUND].idle.pressure;
  text = words_of (ef_draw_flow_delivery, assessment, 560, 340);
  assert_has (text, "as found:");
  g_assert_null (strstr (text, "after rework"));
}

static void
test_shares_words (void)
{
  EfAssessment *assessment = demo ();
  const EfLeakShare *dearest = g_ptr_array_index (assessment->flow->shares, 0);
  g_autofree char *value = g_strdup_printf ("%.2f bar %.0f %%", dearest->pressure / 1e5, 100 * dearest->share);
  EfDrawStyle style;
  g_autofree char *whole = NULL;
  g_autofree char *cut = NULL;
  double tall;

  ef_draw_style_screen (&style, FALSE, FALSE);
  tall = ef_draw_flow_shares_height (&style, assessment, 700);
  g_assert_cmpfloat (tall, >, 10 * style.text_size);
  whole = words_of (ef_draw_flow_shares, assessment, 700, tall);
  cut = words_of (ef_draw_flow_shares, assessment, 700, 0.5 * tall);
  assert_has (whole, dearest->label);
  assert_has (whole, value);
  /* the demo's story: clearance first, then the grooved plate with its marks under it, then the rest */
  assert_in_order (whole, "End clearance beyond as new", "Separator plate");
  assert_in_order (whole, "Separator plate", "Mark 3, Groove");
  assert_in_order (whole, "Mark 3, Groove", "Tip clearance beyond as new");
  assert_has (whole, "Shaft clearance beyond as new");
  assert_has (cut, "End clearance beyond as new");
  g_assert_null (strstr (cut, "Shaft clearance beyond as new"));
  assert_has (cut, "left out");
}

static void
test_blame_words (void)
{
  EfAssessment *assessment = demo ();
  g_autofree char *text = words_of (ef_draw_flow_blame, assessment, 700, 70);
  g_autofree char *lost = g_strdup_printf ("%.2f bar lost by the pump", assessment->flow->explained / 1e5);

  assert_has (text, "0.82 bar measured");
  assert_has (text, lost);
  assert_has (text, "lost elsewhere");
}

/* Where something isn't known the picture says so, and draws no made-up line. */
static void
test_unknown (void)
{
  g_autoptr (EfAssessment) coarse = assess_demo (EF_DETAIL_COARSE, FALSE);
  g_autofree char *shares = words_of (ef_draw_flow_shares, coarse, 560, 200);
  g_autofree char *blame = words_of (ef_draw_flow_blame, coarse, 560, 70);
  g_autofree char *delivery = words_of (ef_draw_flow_delivery, coarse, 560, 300);
  g_autofree char *refused = NULL;

  assert_has (shares, "Not worked out yet");
  g_assert_cmpstr (blame, ==, "");
  g_assert_null (strstr (delivery, "measured"));
  for (int state = 0; state < EF_N_STATES; state++)
    {
      coarse->flow->state[state].known = FALSE;
      g_free (coarse->flow->state[state].reason);
      coarse->flow->state[state].reason = g_strdup ("the gear would seize");
    }
  refused = words_of (ef_draw_flow_delivery, coarse, 560, 300);
  assert_has (refused, "the gear would seize");
  g_assert_null (strstr (refused, "bar"));
}

/* --- Pixels ----------------------------------------------------------------------------------------------------------------- */

static cairo_surface_t *
paper (int width, int height, const EfDrawStyle *style, cairo_t **cr)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, width, height);

  *cr = cairo_create (surface);
  ef_draw_paper (*cr, style);
  return surface;
}

static guint32
pixel_at (cairo_surface_t *surface, int x, int y)
{
  const guint8 *data = cairo_image_surface_get_data (surface);

  return *(const guint32 *) (data + (gsize) y * cairo_image_surface_get_stride (surface) + 4 * x) & 0xffffff;
}

static double
lightness (guint32 pixel)
{
  return 0.2126 * ((pixel >> 16) & 0xff) + 0.7152 * ((pixel >> 8) & 0xff) + 0.0722 * (pixel & 0xff);
}

#define EDGE 40

/* At every size from a stamp to a wall, light, dark and print, nothing is drawn outside the picture's own box, and something inside. */
static void
test_inside (void)
{
  static const int sizes[][2] = { { 200, 150 }, { 340, 220 }, { 620, 400 }, { 1400, 500 } };
  EfAssessment *assessment = demo ();

  for (guint p = 0; p < G_N_ELEMENTS (pictures); p++)
    for (guint s = 0; s < G_N_ELEMENTS (sizes); s++)
      for (int look = 0; look < 3; look++)
        {
          int width = sizes[s][0], height = sizes[s][1];
          EfDrawStyle style;
          cairo_surface_t *surface;
          guint32 ground;
          guint inked = 0;
          cairo_t *cr;

          if (look == 2)
            ef_draw_style_print (&style);
          else
            ef_draw_style_screen (&style, look == 1, FALSE);
          surface = paper (width + 2 * EDGE, height + 2 * EDGE, &style, &cr);
          cairo_surface_flush (surface);
          ground = pixel_at (surface, 0, 0);
          cairo_translate (cr, EDGE, EDGE);
          pictures[p].draw (cr, &style, assessment, width, height);
          g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
          cairo_surface_flush (surface);
          for (int y = 0; y < height + 2 * EDGE; y++)
            for (int x = 0; x < width + 2 * EDGE; x++)
              {
                gboolean inside = x >= EDGE - 1 && y >= EDGE - 1 && x <= width + EDGE && y <= height + EDGE;

                if (pixel_at (surface, x, y) == ground)
                  continue;
                if (!inside)
                  g_error ("%s at %d x %d, look %d: ink at %d, %d outside its box", pictures[p].name, width, height, look, x - EDGE, y - EDGE);
                inked++;
              }
          g_assert_cmpuint (inked, >, 500);
          cairo_destroy (cr);
          cairo_surface_destroy (surface);
        }
}

/* Markers as bits, dark or not: any two differ in a good part of what they cover. */
static void
test_markers (void)
{
  gboolean dark[EF_N_STATES][40][40];
  EfDrawStyle style;

  ef_draw_style_screen (&style, FALSE, FALSE);
  for (int state = 0; state < EF_N_STATES; state++)
    {
      cairo_t *cr;
      cairo_surface_t *surface = paper (40, 40, &style, &cr);

      ef_draw_state_marker (cr, &style, (EfPumpState) state, 20, 20, 8);
      cairo_surface_flush (surface);
      for (int y = 0; y < 40; y++)
        for (int x = 0; x < 40; x++)
          dark[state][y][x] = lightness (pixel_at (surface, x, y)) < 160;
      cairo_destroy (cr);
      cairo_surface_destroy (surface);
    }
  for (int a = 0; a < EF_N_STATES; a++)
    for (int b = a + 1; b < EF_N_STATES; b++)
      {
        guint differ = 0, either = 0;

        for (int y = 0; y < 40; y++)
          for (int x = 0; x < 40; x++)
            {
              differ += dark[a][y][x] != dark[b][y][x];
              either += dark[a][y][x] || dark[b][y][x];
            }
        g_test_message ("%s and %s: %u of %u dark pixels differ", ef_draw_state_word (a), ef_draw_state_word (b), differ, either);
        g_assert_cmpuint (2 * differ, >, either);
      }
}

/* --- Oil pressure ----------------------------------------------------------------------------------------------------------------- */

static double
mean_lightness (cairo_surface_t *surface, const EfFaceView *view, const EfFaceChart *chart, const EfFlowField *field, double from, double to)
{
  double sum = 0;
  guint n = 0;

  for (int i = 0; i < 300; i++)
    for (int j = 0; j < 300; j++)
      {
        double u = chart->u0 + (chart->u1 - chart->u0) * (i + 0.5) / 300, v = chart->v0 + (chart->v1 - chart->v0) * (j + 0.5) / 300;
        double p = ef_flow_field_at (field, u, v), x, y;

        if (isnan (p) || p < from || p > to)
          continue;
        ef_face_view_to_screen (view, u, v, &x, &y);
        sum += lightness (pixel_at (surface, (int) x, (int) y));
        n++;
      }
  g_assert_cmpuint (n, >, 100);
  return sum / n;
}

/* On both ways a face can look the fill is darkest where the pressure is highest: the picture lies on the chart as the numbers do. */
static void
test_fill (gconstpointer face_id)
{
  EfAssessment *assessment = demo ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfFlowField) field = ef_flow_field_new (assessment, face_id, EF_STATE_FOUND, NULL, &error);
  EfFaceChart *chart = g_hash_table_lookup (assessment->findings.charts, face_id);
  EfDrawStyle style;
  cairo_surface_t *surface;
  EfFaceView view;
  double low, middle, high;
  cairo_t *cr;

  g_assert_no_error (error);
  ef_draw_style_screen (&style, FALSE, FALSE);
  surface = paper (600, 600, &style, &cr);
  ef_face_view_fit (&view, chart, 600, 600, 10);
  ef_draw_field_fill (cr, &style, &view, field);
  cairo_surface_flush (surface);
  low = mean_lightness (surface, &view, chart, field, 0, 0.1);
  middle = mean_lightness (surface, &view, chart, field, 0.4, 0.6);
  high = mean_lightness (surface, &view, chart, field, 0.9, 1);
  g_test_message ("%s: lightness %.0f, %.0f, %.0f", (const char *) face_id, low, middle, high);
  g_assert_cmpfloat (low, >, middle + 15);
  g_assert_cmpfloat (middle, >, high + 15);
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
}

static void
draw_floor_field (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfFlowField) field = ef_flow_field_new (assessment, "pressure-housing/floor", EF_STATE_FOUND, NULL, &error);

  g_assert_no_error (error);
  ef_draw_field_picture (cr, style, g_hash_table_lookup (assessment->findings.charts, "pressure-housing/floor"), assessment, field, width, height);
}

static void
test_field_words (void)
{
  EfAssessment *assessment = demo ();
  g_autofree char *text = words_of (draw_floor_field, assessment, 820, 640);

  /* 1.00 bar at hot idle: isobars every 0.2 bar */
  for (int k = 1; k <= 4; k++)
    {
      g_autofree char *label = g_strdup_printf ("0.%d ", 2 * k);

      assert_has (text, label);
    }
  for (int gear = 0; gear < 2; gear++)
    {
      g_autofree char *load = g_strdup_printf ("%.0f N", assessment->flow->state[EF_STATE_FOUND].idle.loss.load[gear]);

      assert_has (text, load);
    }
  assert_has (text, "Oil pressure, bar (550 rpm, 115 °C)");
}

/* --- Files ------------------------------------------------------------------------------------------------------------------------ */

static void
test_report (void)
{
  EfAssessment *assessment = demo ();
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "draw-flow-report.pdf", NULL);
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  g_auto (GStrv) blame = g_strsplit (assessment->flow->blame, ";", 2);

  g_assert_true (ef_report_write_pdf (assessment, NULL, path, EF_PAPER_A4, "2026-03-02T10:00:00Z", &error));
  g_assert_no_error (error);
  text = words_of_file (path);
  assert_has (text, "What the pump delivers");
  assert_has (text, "Is the pump to blame?");
  assert_has (text, blame[0]);
  assert_has (text, "Hot-idle pressure");
  assert_has (text, "Delivery at rated speed");
  assert_has (text, "Volumetric efficiency at rated speed");
  assert_has (text, "Where the pressure is lost");
  for (guint i = 0; i < assessment->flow->assumptions->len; i++)
    {
      g_autofree char *start = g_utf8_substring (g_ptr_array_index (assessment->flow->assumptions, i), 0, 24);

      assert_has (text, start);
    }
  g_remove (path);
}

static void
test_report_without_complaint (void)
{
  g_autoptr (EfAssessment) assessment = assess_demo (EF_DETAIL_COARSE, FALSE);
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "draw-flow-report.pdf", NULL);
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;

  g_assert_true (ef_report_write_pdf (assessment, NULL, path, EF_PAPER_LETTER, "2026-03-02T10:00:00Z", &error));
  text = words_of_file (path);
  assert_has (text, "No pressure was noted with the complaint");
  assert_has (text, "Hot-idle pressure");
  g_remove (path);
}

static void
test_files (void)
{
  EfAssessment *assessment = demo ();

  for (int picture = 0; picture < EF_N_FLOW_PICTURES; picture++)
    {
      g_autofree char *name = g_strdup_printf ("%s.png", ef_flow_picture_name (picture));
      g_autofree char *path = g_build_filename (g_get_tmp_dir (), name, NULL);
      g_autoptr (GError) error = NULL;
      cairo_surface_t *surface;

      g_assert_true (ef_picture_write_flow (assessment, picture, path, 640, 480, &error));
      g_assert_no_error (error);
      surface = cairo_image_surface_create_from_png (path);
      g_assert_cmpint (cairo_image_surface_get_width (surface), ==, 640);
      cairo_surface_destroy (surface);
      g_remove (path);
      g_assert_false (ef_picture_write_flow (assessment, picture, "no/such/folder/a.png", 640, 480, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_IO);
    }
}

int
main (int argc, char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/draw-flow/plot-words", test_plot_words);
  g_test_add_func ("/draw-flow/same-states", test_same_states);
  g_test_add_func ("/draw-flow/shares-words", test_shares_words);
  g_test_add_func ("/draw-flow/blame-words", test_blame_words);
  g_test_add_func ("/draw-flow/unknown", test_unknown);
  g_test_add_func ("/draw-flow/inside", test_inside);
  g_test_add_func ("/draw-flow/markers", test_markers);
  g_test_add_data_func ("/draw-flow/fill/plate", "separator/side-a", test_fill);
  g_test_add_data_func ("/draw-flow/fill/floor", "pressure-housing/floor", test_fill);
  g_test_add_data_func ("/draw-flow/fill/gear-end", "pressure-driven-gear/end-b", test_fill);
  g_test_add_func ("/draw-flow/field-words", test_field_words);
  g_test_add_func ("/draw-flow/report", test_report);
  g_test_add_func ("/draw-flow/report-without-complaint", test_report_without_complaint);
  g_test_add_func ("/draw-flow/files", test_files);
  return g_test_run ();
}
