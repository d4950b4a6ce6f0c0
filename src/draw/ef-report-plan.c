/* The lapping plan: in a sentence, face by face, end clearance before and after, the worst faces' curves, the alternatives; or why not.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "ef-draw-plan.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define CURVE_HEIGHT 150.0
#define MOST_CURVES 4
#define UNIT EF_UNIT_MM

static void
lay_conflicts (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 60, 45 };
  const char *heads[] = { _("These limits can't all be kept"), _("Each of them") };
  GPtrArray *conflicts = assessment->plan->conflicts;

  if (conflicts == NULL || conflicts->len == 0 || ef_plan_state (assessment) != EF_PLAN_PARTLY)
    return;
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < conflicts->len; i++)
    {
      const EfLapConflict *conflict = g_ptr_array_index (conflicts, i);
      g_autofree char *shortfall = ef_plan_shortfall (conflict, UNIT);

      ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (conflict->sentence), EF_PAGE_CELL (shortfall) });
    }
  ef_pages_table_end (pages);
}

static char *
found_to (double found, double allowed)
{
  g_autofree char *left = ef_report_number (found, UNIT);
  g_autofree char *right = ef_report_number (allowed, UNIT);

  return isnan (allowed) ? g_steal_pointer (&left) : g_strdup_printf ("%s → %s", left, right);
}

static void
lay_rows (EfPages *pages, GPtrArray *rows)
{
  static const double shares[] = { 30, 20, 20, 20, 13, 22 };
  const char *heads[] = { _("Face"), _("Wear found → may stay"), _("Flatness found → allowed"), _("Must, may come off"), _("Comes off"), _("Passes") };

  if (rows->len == 0)
    return;
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < rows->len; i++)
    {
      const EfPlanRow *row = g_ptr_array_index (rows, i);
      g_autofree char *wear = found_to (row->wear, row->residual);
      g_autofree char *flatness = found_to (row->flatness, row->flatness_allowed);
      g_autofree char *must = ef_report_number (row->least, UNIT);
      g_autofree char *may = ef_report_number (row->bound, UNIT);
      g_autofree char *stock = g_strdup_printf ("%s … %s", must, may);
      g_autofree char *number = ef_report_number (row->removal, UNIT);
      g_autofree char *off = row->failed ? g_strdup (_("can't clean up")) : row->bound > 0 ? g_strdup_printf ("%s (%.0f %%)", number, 100 * row->removal / row->bound) : g_strdup (number);

      ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (row->name), EF_PAGE_CELL (wear), EF_PAGE_CELL (flatness), EF_PAGE_CELL (stock), EF_PAGE_CELL (off), EF_PAGE_CELL (row->passes) });
    }
  ef_pages_table_end (pages);
}

static void
draw_bars (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  ef_draw_plan_bars (cr, style, data, UNIT, width, height);
}

static void
lay_bars (EfPages *pages, const EfAssessment *assessment, const EfLapOption *option)
{
  g_autoptr (GPtrArray) bars = ef_plan_bars (assessment, option);
  double width = ef_pages_width (pages), tall = ef_draw_plan_bars_height (ef_pages_style (pages), bars, width);

  if (bars->len == 0)
    return;
  ef_pages_subheading (pages, _("End clearance before and after"), tall);
  ef_pages_picture (pages, 0, 2, width, tall, draw_bars, g_ptr_array_ref (bars), (GDestroyNotify) g_ptr_array_unref);
  ef_pages_move (pages, tall + 6);
}

typedef struct
{
  EfDepthMap *map;
  GPtrArray *rows; /* held */
  const EfPlanRow *row;
} Curve;

static void
curve_free (gpointer data)
{
  Curve *curve = data;

  ef_depth_map_unref (curve->map);
  g_ptr_array_unref (curve->rows);
  g_free (curve);
}

static void
draw_curve (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  Curve *curve = data;

  ef_draw_plan_curve (cr, style, curve->map, curve->row, UNIT, width, height);
}

static int
deeper_first (gconstpointer a, gconstpointer b)
{
  const EfPlanRow *left = *(EfPlanRow *const *) a, *right = *(EfPlanRow *const *) b;

  return (left->wear < right->wear) - (left->wear > right->wear);
}

static EfDepthMap *
map_of (const EfAssessment *assessment, const EfPlanRow *row)
{
  EfDepthMap *map = g_hash_table_lookup (assessment->findings.maps, row->face_id);

  return map != NULL && ef_draw_depth_deepest (map) > 0 ? map : NULL;
}

/* What the dashed line is, and what it rests on. */
static void
lay_land (EfPages *pages, const EfPlanRow *row)
{
  g_autofree char *words = ef_plan_land_words (row, UNIT);
  g_autofree char *text = words != NULL ? g_strdup_printf ("%s. %s", row->name, words) : NULL;

  if (text != NULL)
    ef_pages_text (pages, text, 0.9, 0, EF_INK_DIM, 0);
}

/* The faces with the deepest wear, two beside each other. */
static void
lay_curves (EfPages *pages, const EfAssessment *assessment, GPtrArray *rows)
{
  g_autoptr (GPtrArray) worst = g_ptr_array_new ();
  double width = (ef_pages_width (pages) - 16) / 2;

  for (guint i = 0; i < rows->len; i++)
    if (map_of (assessment, g_ptr_array_index (rows, i)) != NULL)
      g_ptr_array_add (worst, g_ptr_array_index (rows, i));
  g_ptr_array_sort (worst, deeper_first);
  if (worst->len == 0)
    return;
  ef_pages_subheading (pages, _("What lapping leaves of the wear"), CURVE_HEIGHT + 20);
  for (guint i = 0; i < MIN (worst->len, MOST_CURVES); i++)
    {
      Curve *curve = g_new0 (Curve, 1);
      double dx = i % 2 == 0 ? 0 : width + 16;
      g_autoptr (PangoLayout) title = NULL;

      curve->row = g_ptr_array_index (worst, i);
      curve->rows = g_ptr_array_ref (rows);
      curve->map = ef_depth_map_ref (map_of (assessment, curve->row));
      if (i % 2 == 0)
        ef_pages_need (pages, CURVE_HEIGHT + 24);
      title = ef_pages_layout (pages, curve->row->name, 1, EF_TEXT_BOLD, width);
      ef_pages_put (pages, title, EF_INK_TEXT, dx, 0);
      ef_pages_picture (pages, dx, 14, width, CURVE_HEIGHT, draw_curve, curve, curve_free);
      if (i % 2 == 1 || i + 1 == MIN (worst->len, MOST_CURVES))
        ef_pages_move (pages, CURVE_HEIGHT + 20);
    }
  for (guint i = 0; i < MIN (worst->len, MOST_CURVES); i++)
    lay_land (pages, g_ptr_array_index (worst, i));
}

static void
lay_options (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 38, 40, 14, 18, 40 };
  const char *heads[] = { _("Alternative"), _("What it reaches"), _("Passes"), _("Comes off in all"), _("End clearance after") };
  const EfLapOption *chosen = ef_plan_option (assessment);
  GPtrArray *options = assessment->plan->options;

  if (options->len < 2)
    return;
  ef_pages_subheading (pages, _("Alternatives"), 50);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < options->len; i++)
    {
      const EfLapOption *option = g_ptr_array_index (options, i);
      g_autofree char *label = option == chosen ? g_strdup_printf (_("%s (chosen)"), option->label) : g_strdup (option->label);
      g_autofree char *passes = ef_plan_passes (option) > 0 ? g_strdup_printf ("%u", ef_plan_passes (option)) : g_strdup ("–");
      g_autofree char *stock = ef_report_number (ef_plan_stock (option), UNIT);
      g_autofree char *clearances = ef_plan_clearances (assessment, option, UNIT);

      ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (label), EF_PAGE_CELL (ef_plan_level_words (option->level)), EF_PAGE_CELL (passes), EF_PAGE_CELL (stock), EF_PAGE_CELL (clearances) });
    }
  ef_pages_table_end (pages);
}

void
ef_report_plan (EfPages *pages, const EfAssessment *assessment)
{
  const EfLapOption *option = ef_plan_option (assessment);
  g_autofree char *sentence = NULL;
  g_autofree char *note = NULL;
  g_autoptr (GPtrArray) rows = NULL;

  if (assessment->plan == NULL || assessment->verdict == NULL)
    return;
  sentence = ef_plan_sentence (assessment, UNIT);
  note = ef_plan_note (assessment);
  rows = ef_plan_rows (assessment, option);
  if (rows->len > 0)
    ef_pages_break (pages);
  ef_pages_heading (pages, _("Rework plan"), 50);
  ef_pages_text (pages, sentence, 1.1, EF_TEXT_BOLD, EF_INK_TEXT, 0);
  if (note != NULL)
    ef_pages_text (pages, note, 1, 0, EF_INK_TEXT, 0);
  ef_pages_move (pages, 4);
  lay_conflicts (pages, assessment);
  lay_rows (pages, rows);
  lay_bars (pages, assessment, option);
  lay_curves (pages, assessment, rows);
  lay_options (pages, assessment);
}
