/* Stock per face, first form: each face by itself, then the mating face for the end clearance.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "ef-lap-stock.h"

#define CLEARANCE_LEAST 30e-6 /* where the sheet says nothing; common practice, no source */
#define CLEARANCE_MOST 120e-6 /* likewise: the rule's own limit */

static const char *const places[2] = { "drive", "driven" };

static void
lap_stock_free (EfLapStock *stock)
{
  g_free (stock->face_id);
  g_free (stock);
}

const EfLapStock *
ef_lap_stock_find (GPtrArray *stocks,
                   const char *face_id)
{
  for (guint i = 0; i < stocks->len; i++)
    {
      const EfLapStock *stock = stocks->pdata[i];

      if (g_strcmp0 (stock->face_id, face_id) == 0)
        return stock;
    }

  return NULL;
}

static double
round_up (double metres)
{
  return ceil (metres / EF_LAP_ROUND - 1e-6) * EF_LAP_ROUND;
}

static double
round_down (double metres)
{
  return floor (metres / EF_LAP_ROUND + 1e-6) * EF_LAP_ROUND;
}

/* Imprints and chips need not clean up. */
static double
deepest_wear (const EfFindings *findings,
              const char *face_id)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (findings->inspection, face_id);
  double deepest = 0.0;

  for (guint i = 0; i < marks->len; i++)
    {
      const EfMark *mark = marks->pdata[i];
      double depth = ef_mark_deepest (mark);

      if (mark->kind != EF_MARK_IMPRINT && mark->kind != EF_MARK_CHIP && depth > deepest)
        deepest = depth;
    }

  return deepest;
}

static double
measured_flatness (const EfFindings *findings,
                   const char *face_id)
{
  const EfDerived *derived = ef_derived_find (findings->derived, "flatness", face_id, NULL);

  return derived != NULL ? derived->value : 0.0;
}

static const EfPart *
part_of_face (const EfPumpSheet *sheet,
              const char *face_id)
{
  const char *slash = strchr (face_id, '/');
  g_autofree char *part = slash != NULL ? g_strndup (face_id, slash - face_id) : g_strdup (face_id);

  return ef_pump_sheet_part (sheet, part);
}

/* The entry for a face, made where it's missing. */
static EfLapStock *
stock_for (const EfFindings *findings,
           GPtrArray *stocks,
           const char *face_id)
{
  EfLapStock *stock = (EfLapStock *) ef_lap_stock_find (stocks, face_id);
  const EfPart *part = part_of_face (findings->inspection->sheet, face_id);

  if (stock != NULL)
    return stock;
  stock = g_new0 (EfLapStock, 1);
  stock->face_id = g_strdup (face_id);
  stock->bound = part != NULL && part->lappable ? part->lap_stock : 0.0;
  g_ptr_array_add (stocks, stock);

  return stock;
}

static void
clean_up (const EfFindings *findings,
          GPtrArray *stocks,
          const char *face_id)
{
  EfLapStock *stock = stock_for (findings, stocks, face_id);

  stock->deepest = deepest_wear (findings, face_id);
  stock->flatness = measured_flatness (findings, face_id);
  stock->stock = MAX (stock->stock, round_up (stock->deepest + stock->flatness));
}

void
ef_lap_clearance_window (const EfPumpSheet *sheet,
                         const EfSection *section,
                         double *least_out,
                         double *most_out)
{
  const EfLimit *limit = ef_pump_sheet_limit (sheet, "end-clearance", section->id);
  double most = NAN;

  *least_out = NAN;
  if (limit != NULL)
    {
      *least_out = isnan (limit->as_new_min) ? limit->wear_min : limit->as_new_min;
      most = isnan (limit->as_new_max) ? limit->wear_max : limit->as_new_max;
    }
  *most_out = isnan (most) ? CLEARANCE_MOST : most;
  if (isnan (*least_out))
    *least_out = MIN (CLEARANCE_LEAST, *most_out);
}

double
ef_lap_clearance_found (const EfFindings *findings,
                        const EfSection *section,
                        int gear)
{
  const EfDerived *derived = ef_derived_find (findings->derived, "end-clearance", section->id, places[gear]);

  if (derived == NULL)
    derived = ef_derived_find (findings->derived, "end-clearance", section->id, NULL);

  return derived != NULL ? derived->value : NAN;
}

static double
gear_stock (GPtrArray *stocks,
            const EfSection *section,
            int gear)
{
  static const char *const ends[2] = { "end-a", "end-b" };
  double sum = 0.0;

  for (int i = 0; i < 2; i++)
    {
      g_autofree char *face = g_strdup_printf ("%s/%s", section->gear_part[gear], ends[i]);
      const EfLapStock *stock = ef_lap_stock_find (stocks, face);

      sum += stock != NULL ? stock->stock : 0.0;
    }

  return sum;
}

/* Least stock off the mating face that brings the larger clearance into the window without making the smaller one too small. */
static void
restore_clearance (const EfFindings *findings,
                   GPtrArray *stocks,
                   const EfSection *section)
{
  double least, most;
  double largest = NAN;
  double smallest = NAN;
  double needed, room;
  EfLapStock *stock;

  for (int i = 0; i < 2; i++)
    {
      double after = ef_lap_clearance_found (findings, section, i) + gear_stock (stocks, section, i);

      largest = fmax (largest, after);
      smallest = fmin (smallest, after);
    }
  if (isnan (largest) || section->mating_face == NULL)
    return;

  ef_lap_clearance_window (findings->inspection->sheet, section, &least, &most);
  stock = stock_for (findings, stocks, section->mating_face);
  needed = round_up (MAX (largest - most, 0.0));
  room = round_down (MAX (smallest - least, 0.0));
  stock->clearance = MIN (needed, room);
  stock->stock = MAX (stock->stock, stock->clearance);
}

/* Both gears' ends by the same, so that their widths stay alike. */
static void
lap_mates (const EfFindings *findings,
           GPtrArray *stocks)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;
  guint n = stocks->len;

  for (guint i = 0; i < n; i++)
    {
      const EfLapStock *stock = stocks->pdata[i];
      const EfPart *part = part_of_face (sheet, stock->face_id);
      const EfPart *mate = part != NULL && part->kind == EF_PART_GEAR ? ef_pump_sheet_mate (sheet, part) : NULL;
      g_autofree char *face = NULL;
      EfLapStock *other;

      if (mate == NULL)
        continue;
      face = g_strconcat (mate->id, strchr (stock->face_id, '/'), NULL);
      other = stock_for (findings, stocks, face);
      other->stock = MAX (other->stock, stock->stock);
    }
}

/* The wider gear down to the narrower, on its front end. */
static void
narrow_gear (const EfFindings *findings,
             GPtrArray *stocks,
             const EfSection *section)
{
  const EfDerived *width[2];
  g_autofree char *face = NULL;
  EfLapStock *stock;
  int wide;

  for (int i = 0; i < 2; i++)
    width[i] = ef_derived_find (findings->derived, "face-width", section->gear_part[i], NULL);
  if (width[0] == NULL || width[1] == NULL)
    return;
  wide = width[0]->value > width[1]->value ? 0 : 1;
  face = g_strconcat (section->gear_part[wide], "/end-a", NULL);
  stock = stock_for (findings, stocks, face);
  stock->stock += round_down (fabs (width[0]->value - width[1]->value));
}

/* Too tight: both gears by the same, on the front end. */
static void
open_clearance (const EfFindings *findings,
                GPtrArray *stocks,
                const EfSection *section)
{
  double least, most;
  double smallest = fmin (ef_lap_clearance_found (findings, section, 0), ef_lap_clearance_found (findings, section, 1));

  ef_lap_clearance_window (findings->inspection->sheet, section, &least, &most);
  if (isnan (smallest) || smallest >= least)
    return;
  for (int i = 0; i < 2; i++)
    {
      g_autofree char *face = g_strconcat (section->gear_part[i], "/end-a", NULL);
      EfLapStock *stock = stock_for (findings, stocks, face);

      stock->stock = MAX (stock->stock, round_up (least - smallest));
    }
}

/* Whether gear lapping carries the clearance past its limit. */
static gboolean
is_opened_too_far (const EfFindings *findings,
                   GPtrArray *stocks,
                   const EfSection *section)
{
  double least, most;

  ef_lap_clearance_window (findings->inspection->sheet, section, &least, &most);
  for (int i = 0; i < 2; i++)
    {
      double grown = gear_stock (stocks, section, i);

      if (grown > 0.0 && ef_lap_clearance_found (findings, section, i) + grown > most)
        return TRUE;
    }

  return FALSE;
}

static gboolean
part_can_be_lapped (const EfFindings *findings,
                    const char *face_id)
{
  const EfPart *part = face_id != NULL ? part_of_face (findings->inspection->sheet, face_id) : NULL;

  return part != NULL && part->lappable;
}

GPtrArray *
ef_lap_stocks (const EfFindings *findings,
               GPtrArray *todo)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;
  GPtrArray *stocks = g_ptr_array_new_with_free_func ((GDestroyNotify) lap_stock_free);

  for (guint i = 0; i < todo->len; i++)
    {
      const EfTodo *one = todo->pdata[i];

      if (g_str_equal (one->action, "lap"))
        clean_up (findings, stocks, one->target);
    }
  lap_mates (findings, stocks);
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];

      if (ef_todo_has (todo, "narrow-gear", section->id))
        narrow_gear (findings, stocks, section);
      if (ef_todo_has (todo, "open-clearance", section->id))
        open_clearance (findings, stocks, section);
      if (ef_todo_has (todo, "restore-clearance", section->id)
          || (is_opened_too_far (findings, stocks, section) && part_can_be_lapped (findings, section->mating_face)))
        restore_clearance (findings, stocks, section);
    }

  return stocks;
}
