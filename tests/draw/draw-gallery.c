/* Draws every picture into a folder, for looking at: draw-gallery FOLDER, or those of flatness and roundness alone: draw-gallery FOLDER forms.
 * Not a test.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sample.h"
#include "draw/ef-draw-form.h"

#include <stdlib.h>

static cairo_surface_t *surface;

static cairo_t *
begin (double width, double height, gboolean dark, gboolean contrast, EfDrawStyle *style)
{
  cairo_t *cr;

  surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int) width, (int) height);
  cr = cairo_create (surface);
  ef_draw_style_screen (style, dark, contrast);
  ef_draw_paper (cr, style);
  return cr;
}

static void
end (cairo_t *cr, const char *folder, const char *name)
{
  g_autofree char *path = g_strdup_printf ("%s/%s.png", folder, name);

  g_strdelimit (path + strlen (folder) + 1, "/", '_');
  cairo_destroy (cr);
  if (cairo_surface_write_to_png (surface, path) != CAIRO_STATUS_SUCCESS)
    g_printerr ("%s: can't be written\n", path);
  cairo_surface_destroy (surface);
}

static void
faces (EfPumpSheet *sheet, const char *folder, guint n_marks)
{
  g_auto (GStrv) ids = ef_face_ids (sheet);

  for (guint i = 0; ids[i] != NULL; i++)
    {
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, ids[i], NULL);
      g_autoptr (GPtrArray) marks = sample_marks (chart, i % 2 == 0 ? n_marks : 6, i + 1);
      g_autoptr (EfAssessment) assessment = sample_face_assessment (sheet, chart, marks);
      g_autofree char *name = g_strdup_printf ("face-%s-%s", sheet->id, ids[i]);
      EfDrawStyle style;
      cairo_t *cr = begin (820, 620, i % 2, FALSE, &style);

      ef_draw_face_picture (cr, &style, chart, assessment, 820, 620);
      end (cr, folder, name);
    }
}

static void
exploded (EfPumpSheet *sheet, const char *folder)
{
  static const int sizes[][2] = { { 300, 620 }, { 900, 300 }, { 1600, 400 }, { 260, 300 }, { 500, 170 }, { 480, 480 } };
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 12);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);

  for (guint i = 0; i < G_N_ELEMENTS (sizes); i++)
    {
      g_autofree char *name = g_strdup_printf ("exploded-%s-%dx%d", sheet->id, sizes[i][0], sizes[i][1]);
      g_autoptr (EfExploded) pump = ef_exploded_new (sheet, sizes[i][0], sizes[i][1]);
      EfDrawStyle style;
      cairo_t *cr = begin (sizes[i][0], sizes[i][1], i % 2, FALSE, &style);

      ef_exploded_draw (pump, cr, &style, assessment->verdict, ef_exploded_part (pump, 3, NULL), ef_exploded_part (pump, 5, NULL));
      end (cr, folder, name);
    }
}

static void
sketches (EfPumpSheet *sheet, const char *folder)
{
  const EfSection *section = g_ptr_array_index (sheet->sections, 0);
  g_autofree char *name = g_strdup_printf ("gauges-%s", sheet->id);
  EfDrawStyle style;
  cairo_t *cr = begin (960, 720, FALSE, FALSE, &style);

  for (int i = 0; i < EF_N_READINGS; i++)
    {
      const char *target = i == EF_READ_FACE_WIDTH ? section->gear_part[0] : section->id;

      cairo_save (cr);
      cairo_translate (cr, 10 + i % 3 * 320, 10 + i / 3 * 240);
      ef_draw_gauge_sketch (cr, &style, sheet, (EfQuantity) i, target, i % 2 ? "driven" : "drive", 300, 220);
      cairo_restore (cr);
    }
  end (cr, folder, name);
}

static void
curve (EfPumpSheet *sheet, const char *folder)
{
  g_auto (GStrv) ids = ef_face_ids (sheet);
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, ids[0], NULL);
  g_autoptr (GPtrArray) marks = sample_marks (chart, 12, 5);
  g_autoptr (EfDepthMap) map = ef_depth_map_new (chart, (EfMark *const *) marks->pdata, marks->len, 0, NULL, NULL);
  EfDrawStyle style;
  cairo_t *cr = begin (360, 220, FALSE, FALSE, &style);

  ef_draw_bearing_area (cr, &style, map, 360, 220);
  end (cr, folder, "curve");
}

static void
form_style (EfDrawStyle *style, guint k)
{
  if (k == 3)
    ef_draw_style_print (style);
}

static void
flat_forms (EfPumpSheet *sheet, const char *folder)
{
  static const int sizes[][2] = { { 560, 420 }, { 900, 700 }, { 220, 200 }, { 330, 260 }, { 420, 700 } };
  g_auto (GStrv) ids = ef_face_ids (sheet);

  for (guint i = 0; ids[i] != NULL; i++)
    {
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, ids[i], NULL);
      g_autoptr (GPtrArray) readings = NULL;
      g_autoptr (EfFlatForm) form = NULL;

      if (chart->kind != EF_FACE_MATING && chart->kind != EF_FACE_SIDE)
        continue;
      readings = sample_flat_readings (chart);
      form = ef_flat_form_new (chart, (EfReading *const *) readings->pdata, readings->len, NULL);
      for (guint k = 0; k < G_N_ELEMENTS (sizes); k++)
        {
          g_autofree char *name = g_strdup_printf ("flat-%s-%s-%dx%d", sheet->id, ids[i], sizes[k][0], sizes[k][1]);
          EfDrawStyle style;
          cairo_t *cr = begin (sizes[k][0], sizes[k][1], k % 2, FALSE, &style);

          form_style (&style, k);
          ef_draw_paper (cr, &style);
          ef_draw_flat_form (cr, &style, chart, form, k == 4 ? EF_UNIT_INCH : EF_UNIT_MM, sizes[k][0], sizes[k][1]);
          end (cr, folder, name);
        }
    }
}

static void
round_forms (EfPumpSheet *sheet, const char *folder)
{
  static const int sizes[][2] = { { 560, 480 }, { 900, 800 }, { 200, 200 }, { 330, 300 }, { 420, 700 } };
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 4);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  const EfPart *part = NULL;
  guint k;

  for (k = 0; part == NULL && k < sheet->parts->len; k++)
    {
      const EfPart *one = g_ptr_array_index (sheet->parts, k);

      if ((one->kind == EF_PART_HOUSING || one->kind == EF_PART_COVER) && one->bores != NULL && one->bores->len > 0)
        part = one;
    }
  for (k = 0; k < G_N_ELEMENTS (sizes); k++)
    {
      const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, k % part->bores->len);
      g_autofree char *face = ef_round_face_id (sheet, EF_READ_BORE_DIAMETER, part->id, bore->id);
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, face, NULL);
      g_autoptr (GPtrArray) readings = sample_bore_readings (part->id, bore->id, bore->diameter, k == 4 ? 4 : 6);
      g_autoptr (EfRoundForm) form = ef_round_form_new (sheet, EF_READ_BORE_DIAMETER, part->id, bore->id, (EfReading *const *) readings->pdata, readings->len,
                                                        (EfGauge *const *) inspection->items[EF_ITEM_GAUGE]->pdata, inspection->items[EF_ITEM_GAUGE]->len, NULL);
      g_autofree char *name = g_strdup_printf ("round-%s-%dx%d", sheet->id, sizes[k][0], sizes[k][1]);
      EfRoundPlace place;
      EfDrawStyle style;
      cairo_t *cr = begin (sizes[k][0], sizes[k][1], k % 2, FALSE, &style);

      ef_round_place_take (&place, chart, assessment);
      form_style (&style, k);
      ef_draw_paper (cr, &style);
      ef_draw_round_form (cr, &style, form, &place, EF_UNIT_MM, sizes[k][0], sizes[k][1]);
      end (cr, folder, name);
    }
}

static void
report (EfPumpSheet *sheet, const char *folder)
{
  g_autoptr (EfInspection) inspection = sample_inspection (sheet, 40);
  g_autoptr (EfAssessment) assessment = sample_assess (inspection);
  g_autofree char *path = g_strdup_printf ("%s/report-%s.pdf", folder, sheet->id);
  g_autoptr (GError) error = NULL;

  if (!ef_report_write_pdf (assessment, NULL, path, EF_PAPER_A4, "2026-03-02T10:00:00Z", &error))
    g_printerr ("%s\n", error->message);
}

int
main (int argc, char **argv)
{
  static const char *const pumps[] = { "hl-24", "hl-27", "rc-4", "tg-3" };

  if (argc < 2)
    {
      g_printerr ("draw-gallery FOLDER [forms]\n");
      return EXIT_FAILURE;
    }
  g_mkdir_with_parents (argv[1], 0755);
  for (guint i = 0; i < G_N_ELEMENTS (pumps); i++)
    {
      g_autoptr (EfPumpSheet) sheet = sample_sheet (pumps[i]);

      flat_forms (sheet, argv[1]);
      round_forms (sheet, argv[1]);
      if (g_strcmp0 (argv[2], "forms") == 0)
        continue;
      exploded (sheet, argv[1]);
      faces (sheet, argv[1], 14);
      sketches (sheet, argv[1]);
      report (sheet, argv[1]);
      if (i == 0)
        curve (sheet, argv[1]);
    }
  return EXIT_SUCCESS;
}
