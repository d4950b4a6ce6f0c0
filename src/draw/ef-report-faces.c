/* Every marked face with its picture and the table of its marks.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

static void
draw_face (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  gpointer *pair = data;

  ef_draw_face_picture (cr, style, pair[1], pair[0], width, height);
}

/* 0 … 360. */
static double
degrees_of (double angle)
{
  double degrees = fmod (angle * 180 / G_PI, 360);

  return degrees < 0 ? degrees + 360 : degrees;
}

/* "tooth 3, r 18.20 mm at 135.0°", or the chart's own coordinates. */
static char *
place_text (const EfFaceChart *chart, const EfMark *mark)
{
  GString *text = g_string_new (NULL);
  const EfMarkNode *node;
  EfChartPlace place;

  if (mark->nodes->len == 0)
    return g_string_free (text, FALSE);
  node = &g_array_index (mark->nodes, EfMarkNode, 0);
  ef_face_chart_place (chart, node->u, node->v, &place);
  if (place.tooth > 0)
    g_string_append_printf (text, _("tooth %d, "), place.tooth);
  if (isfinite (place.angle) && chart->cylinder_radius > 0 && chart->n_strips == 0)
    g_string_append_printf (text, _("%.1f°, %.2f mm along"), degrees_of (place.angle), node->v * 1e3);
  else if (isfinite (place.radius) && isfinite (place.angle) && chart->n_strips == 0)
    g_string_append_printf (text, _("r %.2f mm at %.1f°"), place.radius * 1e3, degrees_of (place.angle));
  else if (isfinite (place.radius))
    g_string_append_printf (text, _("r %.2f mm, %.2f mm along"), place.radius * 1e3, node->v * 1e3);
  else
    g_string_append_printf (text, "%.2f, %.2f mm", node->u * 1e3, node->v * 1e3);
  return g_string_free (text, FALSE);
}

static char *
size_text (const EfMark *mark)
{
  if (mark->shape == EF_SHAPE_POINT)
    return g_strdup_printf ("Ø %.2f mm", mark->size * 1e3);
  if (mark->shape == EF_SHAPE_LINE)
    return g_strdup_printf (_("%.1f × %.2f mm"), ef_mark_length (mark) * 1e3, mark->size * 1e3);
  return g_strdup_printf (_("%.1f mm²"), ef_mark_area (mark) * 1e6);
}

static char *
depth_text (const EfMark *mark)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);
      g_autofree char *number = ef_format_quantity (depth->depth, depth->unit == EF_UNIT_NONE ? EF_UNIT_MM : depth->unit, -1);

      g_string_append_printf (text, "%s%s", i > 0 ? "; " : "", number);
    }
  if (text->len == 0)
    g_string_append (text, _("not measured"));
  return g_string_free (text, FALSE);
}

static char *
gauge_text (const EfAssessment *assessment, const EfMark *mark)
{
  GString *text = g_string_new (NULL);
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);
      const EfGauge *gauge;

      if (depth->gauge_id == NULL || !g_hash_table_add (seen, depth->gauge_id))
        continue;
      gauge = ef_inspection_find (assessment->inspection, EF_ITEM_GAUGE, depth->gauge_id);
      g_string_append_printf (text, "%s%s", text->len > 0 ? "; " : "", gauge != NULL ? gauge->name : depth->gauge_id);
    }
  if (text->len == 0)
    g_string_append (text, "–");
  return g_string_free (text, FALSE);
}

static char *
note_text (const EfMark *mark)
{
  guint photos = mark->photos != NULL ? g_strv_length (mark->photos) : 0;
  g_autofree char *shots = photos > 0 ? g_strdup_printf (ngettext ("%u photo", "%u photos", photos), photos) : NULL;

  if (mark->note == NULL || *mark->note == '\0')
    return g_strdup (shots != NULL ? shots : "");
  return shots != NULL ? g_strdup_printf ("%s (%s)", mark->note, shots) : g_strdup (mark->note);
}

static void
mark_row (EfPages *pages, const EfAssessment *assessment, const EfFaceChart *chart, const EfMark *mark)
{
  g_autofree char *number = g_strdup_printf ("%d", mark->number);
  g_autofree char *place = place_text (chart, mark);
  g_autofree char *size = size_text (mark);
  g_autofree char *depth = depth_text (mark);
  g_autofree char *gauge = gauge_text (assessment, mark);
  g_autofree char *note = note_text (mark);
  g_autofree char *id = g_strconcat ("mark:", mark->item.id, NULL);
  const EfVerdict *verdict = assessment->verdict != NULL ? ef_verdict_find (assessment->verdict, id) : NULL;

  ef_pages_table_row (pages, (EfPageCell[]) {
                                 EF_PAGE_CELL (number),
                                 { _(ef_mark_kind_label (mark->kind)), -1, mark->kind },
                                 EF_PAGE_CELL (place), EF_PAGE_CELL (size), EF_PAGE_CELL (depth), EF_PAGE_CELL (gauge),
                                 { verdict != NULL ? _(ef_verdict_label (verdict->word)) : "–", verdict != NULL ? (int) verdict->word : -1, -1 },
                                 EF_PAGE_CELL (note) });
}

/* As tall as the face's own shape asks for, within what a page has; lower where few marks are to be told apart. */
static double
picture_height (EfPages *pages, const EfFaceChart *chart, GPtrArray *marks)
{
  double width = ef_pages_width (pages), size = ef_pages_style (pages)->text_size;
  gboolean present[EF_N_MARK_KINDS] = { FALSE };
  guint kinds = 0;
  double aspect = (chart->v1 - chart->v0) / MAX (chart->u1 - chart->u0, 1e-9);
  double tall = CLAMP (aspect * width * 0.8 + 60, 130, marks->len > 6 ? 330 : 240);

  for (guint i = 0; i < marks->len; i++)
    {
      const EfMark *mark = g_ptr_array_index (marks, i);

      kinds += !present[mark->kind];
      present[mark->kind] = TRUE;
    }
  /* the legend with its colours needs its room too */
  tall = MAX (tall, (1.8 * kinds + 13) * size);
  return MIN (tall, ef_pages_full (pages) - 80);
}

static void
lay_face (EfPages *pages, const EfAssessment *assessment, EfFaceChart *chart, GPtrArray *marks)
{
  static const double shares[] = { 8, 22, 22, 19, 17.5, 22, 19, 29 };
  const char *heads[] = { _("No."), _("Kind"), _("Where"), _("Size"), _("Depth"), _("Gauge"), _("Verdict"), _("Note") };
  const EfFaceWear *wear = assessment->findings.wear != NULL ? g_hash_table_lookup (assessment->findings.wear, chart->id) : NULL;
  double tall = picture_height (pages, chart, marks);
  gpointer *pair = g_new (gpointer, 2);

  ef_pages_need (pages, tall + 60);
  ef_pages_space (pages, 6);
  pair[0] = (gpointer) assessment;
  pair[1] = chart;
  ef_pages_picture (pages, 0, 0, ef_pages_width (pages), tall, draw_face, pair, g_free);
  ef_pages_move (pages, tall + 3);
  if (wear != NULL && wear->worn_area > 0)
    {
      g_autofree char *text = g_strdup_printf (_("Worn: %.1f %% of the material; deepest %.3f mm; volume lost %.2f mm³."), wear->worn_share * 100, wear->deepest * 1e3, wear->volume * 1e9);

      ef_pages_text (pages, text, 0.95, 0, EF_INK_TEXT, 0);
      ef_pages_move (pages, 2);
    }
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < marks->len; i++)
    mark_row (pages, assessment, chart, g_ptr_array_index (marks, i));
  ef_pages_table_end (pages);
  ef_report_face_photos (pages, assessment, chart->id);
}

void
ef_report_faces (EfPages *pages, const EfAssessment *assessment)
{
  g_auto (GStrv) ids = ef_face_ids (assessment->inspection->sheet);
  gboolean any = FALSE;

  for (guint i = 0; ids != NULL && ids[i] != NULL; i++)
    {
      g_autoptr (GPtrArray) marks = ef_inspection_face_marks (assessment->inspection, ids[i]);
      EfFaceChart *chart = assessment->findings.charts != NULL ? g_hash_table_lookup (assessment->findings.charts, ids[i]) : NULL;

      if (marks->len == 0 || chart == NULL)
        continue;
      if (!any)
        ef_pages_heading (pages, _("Marked faces"), picture_height (pages, chart, marks) + 60);
      any = TRUE;
      lay_face (pages, assessment, chart, marks);
    }
}
