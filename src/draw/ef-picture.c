/* Pictures as files: PNG or SVG by the name's ending.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-difference.h"
#include "ef-draw-field.h"
#include "ef-draw-flow.h"
#include "ef-draw-lamp.h"
#include "ef-draw-plan.h"
#include "ef-draw-statistics.h"

#include "config.h"
#include <cairo-svg.h>
#include <glib/gi18n-lib.h>

typedef void (*DrawPicture) (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height);

static cairo_status_t
append_bytes (void *closure, const unsigned char *data, unsigned int length)
{
  g_byte_array_append (closure, data, length);
  return CAIRO_STATUS_SUCCESS;
}

static cairo_status_t
paint_on (cairo_surface_t *surface, DrawPicture draw, gpointer data, double width, double height)
{
  cairo_t *cr = cairo_create (surface);
  cairo_status_t status;
  EfDrawStyle style;

  ef_draw_style_screen (&style, FALSE, FALSE);
  ef_draw_paper (cr, &style);
  draw (cr, &style, data, width, height);
  status = cairo_status (cr);
  cairo_destroy (cr);
  return status;
}

static cairo_status_t
render (GByteArray *bytes, gboolean svg, DrawPicture draw, gpointer data, double width, double height)
{
  cairo_surface_t *surface = svg ? cairo_svg_surface_create_for_stream (append_bytes, bytes, width, height) : cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int) width, (int) height);
  cairo_status_t status = paint_on (surface, draw, data, width, height);

  if (svg)
    cairo_surface_finish (surface);
  else if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_write_to_png_stream (surface, append_bytes, bytes);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_status (surface);
  cairo_surface_destroy (surface);
  return status;
}

static gboolean
write_picture (const char *path, double width, double height, DrawPicture draw, gpointer data, GError **error)
{
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  g_autofree char *lower = g_ascii_strdown (path, -1);
  gboolean svg = g_str_has_suffix (lower, ".svg");
  g_autoptr (GError) local = NULL;
  cairo_status_t status;

  if (!svg && !g_str_has_suffix (lower, ".png"))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a name that ends in .png or .svg", path);
      return FALSE;
    }
  if (!(width >= 64 && width <= 16384 && height >= 64 && height <= 16384))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected a size between 64 and 16384 px, found %g x %g", path, width, height);
      return FALSE;
    }
  status = render (bytes, svg, draw, data, width, height);
  if (status != CAIRO_STATUS_SUCCESS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: the picture can't be drawn: %s", path, cairo_status_to_string (status));
      return FALSE;
    }
  if (!g_file_set_contents (path, (const char *) bytes->data, bytes->len, &local))
    {
      g_set_error (error, EF_ERROR, g_error_matches (local, G_FILE_ERROR, G_FILE_ERROR_NOSPC) ? EF_ERROR_FULL : EF_ERROR_IO, "%s: the picture can't be written: %s", path, local->message);
      return FALSE;
    }
  return TRUE;
}

typedef struct
{
  const EfAssessment *assessment;
  EfFaceChart *chart;
  EfFlowPicture flow;
  EfFlowField *field;
  GPtrArray *bars;
  const EfPlanRow *row;
  EfDepthMap *map;
} Subject;

static void
draw_face (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  Subject *subject = data;

  ef_draw_face_picture (cr, style, subject->chart, subject->assessment, width, height);
}

static void
draw_exploded (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  Subject *subject = data;
  g_autoptr (EfExploded) exploded = ef_exploded_new (subject->assessment->inspection->sheet, width, height);

  ef_exploded_draw (exploded, cr, style, subject->assessment->verdict, NULL, NULL);
}

gboolean
ef_picture_write_face (const EfAssessment *assessment, const char *face_id, const char *path, double width, double height, GError **error)
{
  EfFaceChart *known = assessment->findings.charts != NULL ? g_hash_table_lookup (assessment->findings.charts, face_id) : NULL;
  g_autoptr (EfFaceChart) chart = known != NULL ? ef_face_chart_ref (known) : ef_face_chart_new (assessment->inspection->sheet, face_id, error);
  Subject subject = { .assessment = assessment, .chart = chart };

  if (chart == NULL)
    return FALSE;
  return write_picture (path, width, height, draw_face, &subject, error);
}

gboolean
ef_picture_write_exploded (const EfAssessment *assessment, const char *path, double width, double height, GError **error)
{
  Subject subject = { .assessment = assessment };

  return write_picture (path, width, height, draw_exploded, &subject, error);
}

const char *
ef_flow_picture_name (EfFlowPicture picture)
{
  static const char *const names[EF_N_FLOW_PICTURES] = { "delivery", "idle-pressure", "shares" };

  return names[CLAMP ((int) picture, 0, EF_N_FLOW_PICTURES - 1)];
}

static void
draw_flow (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  static const struct
  {
    const char *title;
    void (*draw) (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height);
  } pictures[EF_N_FLOW_PICTURES] = {
    { N_("Delivery against pressure at hot idle"), ef_draw_flow_delivery },
    { N_("Hot-idle pressure against end clearance"), ef_draw_flow_idle_pressure },
    { N_("Where the pressure is lost"), ef_draw_flow_shares },
  };
  const Subject *subject = data;
  const EfJobHeader *job = ef_inspection_header (subject->assessment->inspection);
  g_autofree char *title = g_strdup_printf ("%s · %s, %s", _(pictures[subject->flow].title), job != NULL && job->number != NULL ? job->number : "–", subject->assessment->inspection->sheet->name);
  double size = style->text_size, top = 2.6 * size;
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 1.1), EF_TEXT_BOLD, title);

  ef_text_wrap (layout, width - 2 * size, 1);
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, size, 0.7 * size, 0, 0);
  cairo_save (cr);
  cairo_translate (cr, size, top);
  pictures[subject->flow].draw (cr, style, subject->assessment, width - 2 * size, MAX (height - top - size, 1));
  cairo_restore (cr);
}

gboolean
ef_picture_write_flow (const EfAssessment *assessment, EfFlowPicture picture, const char *path, double width, double height, GError **error)
{
  Subject subject = { .assessment = assessment, .flow = picture };

  return write_picture (path, width, height, draw_flow, &subject, error);
}

static void
draw_pressure (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  const Subject *subject = data;

  ef_draw_field_picture (cr, style, subject->chart, subject->assessment, subject->field, width, height);
}

gboolean
ef_picture_write_pressure (const EfAssessment *assessment, const char *face_id, const char *path, double width, double height, GError **error)
{
  g_autoptr (EfFlowField) field = ef_flow_field_new (assessment, face_id, EF_STATE_FOUND, NULL, error);
  Subject subject = { .assessment = assessment, .field = field };

  if (field == NULL)
    return FALSE;
  subject.chart = g_hash_table_lookup (assessment->findings.charts, face_id);
  return write_picture (path, width, height, draw_pressure, &subject, error);
}

/* A heading with job and pump; returns where the picture begins. */
static double
head (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, const char *what, double width)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  g_autofree char *title = g_strdup_printf ("%s · %s, %s", what, job != NULL && job->number != NULL ? job->number : "–", assessment->inspection->sheet->name);
  double size = style->text_size;
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 1.1), EF_TEXT_BOLD, title);

  ef_text_wrap (layout, width - 2 * size, 1);
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, size, 0.7 * size, 0, 0);

  return 2.6 * size;
}

/* A sentence under the heading; returns its height. */
static double
say (cairo_t *cr, const EfDrawStyle *style, const char *text, double y, double width)
{
  double size = style->text_size, tall;
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, size, 0, text);

  ef_text_wrap (layout, width - 2 * size, 6);
  ef_text_extent (layout, NULL, &tall);
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, size, y, 0, 0);

  return tall + 0.8 * size;
}

static void
draw_plan (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  const Subject *subject = data;
  g_autofree char *sentence = ef_plan_sentence (subject->assessment, EF_UNIT_MM);
  double y = head (cr, style, subject->assessment, _("End clearance before and after"), width);

  y += say (cr, style, sentence, y, width);
  cairo_translate (cr, style->text_size, y);
  ef_draw_plan_bars (cr, style, subject->bars, EF_UNIT_MM, width - 2 * style->text_size, MAX (height - y, 1));
}

gboolean
ef_picture_write_plan (const EfAssessment *assessment, const char *path, double width, double height, GError **error)
{
  g_autoptr (GPtrArray) bars = ef_plan_bars (assessment, ef_plan_option (assessment));
  Subject subject = { .assessment = assessment, .bars = bars };

  if (bars->len == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: no end clearance is known yet", path);
      return FALSE;
    }
  return write_picture (path, width, height, draw_plan, &subject, error);
}

static void
draw_plan_curve (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  const Subject *subject = data;
  g_autofree char *what = g_strdup_printf (_("What lapping leaves: %s"), subject->row->name);
  g_autofree char *words = ef_plan_land_words (subject->row, EF_UNIT_MM);
  double y = head (cr, style, subject->assessment, what, width);

  if (words != NULL)
    y += say (cr, style, words, y, width);
  cairo_translate (cr, style->text_size, y);
  ef_draw_plan_curve (cr, style, subject->map, subject->row, EF_UNIT_MM, width - 2 * style->text_size, MAX (height - y - style->text_size, 1));
}

gboolean
ef_picture_write_plan_curve (const EfAssessment *assessment, const char *face_id, const char *path, double width, double height, GError **error)
{
  g_autoptr (GPtrArray) rows = ef_plan_rows (assessment, ef_plan_option (assessment));
  Subject subject = { .assessment = assessment, .map = g_hash_table_lookup (assessment->findings.maps, face_id) };

  for (guint i = 0; i < rows->len; i++)
    if (g_str_equal (((const EfPlanRow *) g_ptr_array_index (rows, i))->face_id, face_id))
      subject.row = g_ptr_array_index (rows, i);
  if (subject.row == NULL || subject.map == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: the plan laps no wear of known depth there", face_id);
      return FALSE;
    }
  return write_picture (path, width, height, draw_plan_curve, &subject, error);
}

typedef struct
{
  const EfFaceChart *chart;
  EfLampScene *scene;
  double azimuth, elevation;
} LampSubject;

static void
draw_lamp (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  LampSubject *subject = data;

  ef_draw_lamp_picture (cr, style, subject->chart, subject->scene, subject->azimuth, subject->elevation, width, height);
}

gboolean
ef_picture_write_lamp (const EfFaceChart *chart, const EfSurface *surface, double azimuth, double elevation, const char *path, double width, double height, GError **error)
{
  const EfPart *part = ef_pump_sheet_part (chart->sheet, chart->part_id);
  g_autoptr (EfLampScene) scene = NULL;
  LampSubject subject = { chart, NULL, azimuth, elevation };
  EfMetal metal;

  ef_metal_of (part != NULL ? part->material : NULL, &metal);
  scene = subject.scene = ef_lamp_scene_new (surface, &metal, 1);

  return write_picture (path, width, height, draw_lamp, &subject, error);
}

typedef struct
{
  const EfStatistics *statistics;
  EfStatisticsPlot plot;
} StatisticsSubject;

/* Title above, the sentences below. */
static void
draw_statistics (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  const StatisticsSubject *subject = data;
  g_autofree char *words = ef_statistics_words (subject->statistics, subject->plot);
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, style->text_size, 0, words);
  double margin = style->text_size, top = 3 * style->text_size, text_width, text_height;

  ef_text_put (cr, style, ef_text_size (style, 1.3), EF_TEXT_BOLD, EF_INK_TEXT, ef_statistics_plot_title (subject->plot), margin, margin, 0, 0);
  ef_text_wrap (layout, width - 2 * margin, 0);
  ef_text_extent (layout, &text_width, &text_height);
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, margin, height - margin, 0, 1);
  cairo_save (cr);
  cairo_translate (cr, margin, top + margin);
  ef_draw_statistics (cr, style, subject->statistics, subject->plot, width - 2 * margin, MAX (height - top - 3 * margin - text_height, 10 * style->text_size));
  cairo_restore (cr);
}

gboolean
ef_picture_write_statistics (const EfStatistics *statistics, EfStatisticsPlot plot, const char *path, double width, double height, GError **error)
{
  StatisticsSubject subject = { statistics, plot };

  return write_picture (path, width, height, draw_statistics, &subject, error);
}

static void
draw_difference (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  const EfFaceDifference *difference = data;
  const EfPart *part = ef_pump_sheet_part (difference->chart->sheet, difference->chart->part_id);
  g_autofree char *title = g_strdup_printf ("%s · %s", part != NULL ? part->name : difference->chart->part_id, difference->chart->name);
  g_autofree char *words = ef_face_difference_words (difference);
  double size = style->text_size, y = 2.6 * size;

  ef_text_put (cr, style, ef_text_size (style, 1.1), EF_TEXT_BOLD, EF_INK_TEXT, title, size, 0.7 * size, 0, 0);
  y += say (cr, style, words, y, width);
  cairo_translate (cr, size, y);
  ef_draw_face_difference (cr, style, difference, width - 2 * size, MAX (height - y - size, 1));
}

gboolean
ef_picture_write_difference (const EfFaceDifference *self, const char *path, double width, double height, GError **error)
{
  return write_picture (path, width, height, draw_difference, (gpointer) self, error);
}
