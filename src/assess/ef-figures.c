/* The figures of the strip: what was measured and what the maps say. As new, as found, after rework.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "ef-figures.h"

static const EfFigureMaker makers[] = { ef_figures_measured, ef_figures_wear };
gboolean
ef_figures_make (EfAssessment *assessment,
                 GCancellable *cancellable,
                 GError **error)
{
  for (guint i = 0; i < G_N_ELEMENTS (makers); i++)
    if (!makers[i] (assessment, cancellable, error))
      return FALSE;

  return TRUE;
}

EfFigure *
ef_figure_add (EfAssessment *assessment,
               const char *name,
               char *label,
               const char *section,
               const char *face,
               EfUnit unit)
{
  EfFigure *figure = g_new0 (EfFigure, 1);

  figure->name = g_strdup (name);
  figure->label = label;
  figure->section = g_strdup (section);
  figure->face = g_strdup (face);
  figure->unit = unit;
  figure->as_new = figure->found = figure->reworked = NAN;
  figure->limit_min = figure->limit_max = NAN;
  g_ptr_array_add (assessment->figures, figure);

  return figure;
}

void
ef_figure_free (EfFigure *figure)
{
  if (figure == NULL)
    return;

  g_free (figure->name);
  g_free (figure->label);
  g_free (figure->section);
  g_free (figure->face);
  g_free (figure->source);
  g_free (figure);
}

static char *
lower_first (const char *name)
{
  if (name == NULL || name[0] == '\0' || !g_ascii_islower (name[1]))
    return g_strdup (name != NULL ? name : "");

  return g_strdup_printf ("%c%s", g_ascii_tolower (name[0]), name + 1);
}

static void
set_limits (const EfPumpSheet *sheet,
            EfFigure *figure,
            const char *quantity,
            const char *target)
{
  const EfLimit *limit = ef_pump_sheet_limit (sheet, quantity, target);

  if (limit == NULL)
    return;
  figure->limit_min = limit->wear_min;
  figure->limit_max = limit->wear_max;
  figure->source = g_strdup (limit->source);
}

/* The larger of the two gears' values. */
static double
largest_found (GPtrArray *all,
               const char *quantity,
               const char *section)
{
  double largest = NAN;

  for (guint i = 0; i < all->len; i++)
    {
      const EfDerived *derived = all->pdata[i];

      if (g_str_equal (derived->quantity, quantity) && g_strcmp0 (derived->target, section) == 0
          && ef_derived_find (all, quantity, section, derived->place) == derived)
        largest = fmax (largest, derived->value);
    }

  return largest;
}

static EfFigure *
add_section_figure (EfAssessment *assessment,
                    const EfSection *section,
                    const char *quantity,
                    const char *label,
                    double as_new)
{
  g_autofree char *name = lower_first (section->name);
  EfFigure *figure = ef_figure_add (assessment, quantity, g_strdup_printf ("%s, %s", label, name), section->id, NULL, EF_UNIT_MM);

  figure->as_new = as_new;
  figure->found = largest_found (assessment->findings.derived, quantity, section->id);
  set_limits (assessment->inspection->sheet, figure, quantity, section->id);

  return figure;
}

/* What lapping doesn't change stays as found, unless it was measured anew. */
static double
reworked_of (const EfAssessment *assessment,
             const EfFigure *figure)
{
  return assessment->after != NULL ? largest_found (assessment->after->findings.derived, figure->name, figure->section) : figure->found;
}

gboolean
ef_figures_measured (EfAssessment *assessment,
                     GCancellable *cancellable,
                     GError **error)
{
  GPtrArray *sections = assessment->inspection->sheet->sections;

  for (guint i = 0; i < sections->len; i++)
    {
      const EfSection *section = sections->pdata[i];
      EfFigure *figure;
      double after[2];
      double tip = fmax (section->pocket_radius[0] - section->pair.in.tip_radius[0],
                         section->pocket_radius[1] - section->pair.in.tip_radius[1]);

      figure = add_section_figure (assessment, section, "end-clearance", "End clearance",
                                   section->pocket_depth - section->pair.in.face_width);
      ef_assessment_clearance_after (assessment, section, after);
      figure->reworked = fmax (after[0], after[1]);
      figure = add_section_figure (assessment, section, "tip-clearance", "Tip clearance", tip);
      figure->reworked = reworked_of (assessment, figure);
      figure = add_section_figure (assessment, section, "backlash", "Backlash", section->pair.backlash);
      figure->reworked = reworked_of (assessment, figure);
    }

  return TRUE;
}

static void
add_face_figures (EfAssessment *assessment,
                  const EfFaceChart *chart,
                  const EfFaceWear *wear,
                  const EfDepthMap *map)
{
  const EfPart *part = ef_pump_sheet_part (assessment->inspection->sheet, chart->part_id);
  g_autofree char *part_name = lower_first (part != NULL ? part->name : chart->part_id);
  g_autofree char *face = lower_first (chart->name);
  g_autoptr (GHashTable) off = ef_after_stock (assessment->inspection, assessment->steps);
  const double *known = g_hash_table_lookup (off, chart->id);
  double stock = known != NULL ? *known : 0.0;
  const char *section = chart->section != NULL ? chart->section->id : NULL;
  EfFigure *figure;

  figure = ef_figure_add (assessment, "deepest-wear", g_strdup_printf ("Deepest wear, %s, %s", part_name, face), section, chart->id, EF_UNIT_MM);
  figure->as_new = 0.0;
  figure->found = wear->worn_area > 0.0 ? wear->deepest : NAN; /* marks without a depth say nothing */
  figure->reworked = isnan (figure->found) ? NAN : MAX (wear->deepest - stock, 0.0);
  figure = ef_figure_add (assessment, "worn-share", g_strdup_printf ("Worn share, %s, %s", part_name, face), section, chart->id, EF_UNIT_NONE);
  figure->as_new = 0.0;
  figure->found = wear->worn_area > 0.0 ? wear->worn_share : NAN;
  figure->reworked = figure->found;
  if (stock > 0.0 && !isnan (figure->found))
    figure->reworked = 1.0 - ef_bearing_area_share (map, stock);
}

gboolean
ef_figures_wear (EfAssessment *assessment,
                 GCancellable *cancellable,
                 GError **error)
{
  g_auto (GStrv) faces = ef_face_ids (assessment->inspection->sheet);

  for (guint i = 0; faces[i] != NULL; i++)
    {
      const EfFaceChart *chart = g_hash_table_lookup (assessment->findings.charts, faces[i]);
      const EfFaceWear *wear = g_hash_table_lookup (assessment->findings.wear, faces[i]);
      const EfDepthMap *map = g_hash_table_lookup (assessment->findings.maps, faces[i]);

      if (chart != NULL && wear != NULL && map != NULL)
        add_face_figures (assessment, chart, wear, map);
    }

  return TRUE;
}
