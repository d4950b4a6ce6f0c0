/* Pictures as files: PNG or SVG by the name's ending.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-field.h"
#include "ef-draw-flow.h"

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
