/* What of a stripped pump is worth keeping.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-shelf-keep.h"
#include "../rework/ef-lap-work.h"

#include <math.h>

static const char *const places[2] = { "drive", "driven" };

static void
take_size (EfReplacement *out,
           const EfFindings *findings,
           const char *quantity,
           const char *target,
           const char *place)
{
  const EfDerived *derived = ef_derived_find (findings->derived, quantity, target, place);

  if (derived != NULL && derived->value >= 0.0)
    ef_replacement_add_size (out, quantity, place, derived->value, derived->uncertainty);
}

/* Depth not read, but clearance and width: what they come to. */
static void
take_depth (EfReplacement *out,
            const EfFindings *findings,
            const EfSection *section,
            int gear)
{
  const EfDerived *clearance = ef_derived_find (findings->derived, "end-clearance", section->id, places[gear]);
  const EfDerived *width = ef_derived_find (findings->derived, "face-width", section->gear_part[gear], NULL);

  if (ef_derived_find (findings->derived, "pocket-depth", section->id, places[gear]) != NULL)
    take_size (out, findings, "pocket-depth", section->id, places[gear]);
  else if (clearance != NULL && width != NULL)
    ef_replacement_add_size (out, "pocket-depth", places[gear], clearance->value + width->value, hypot (clearance->uncertainty, width->uncertainty));
}

static void
take_pocket (EfReplacement *out,
             const EfFindings *findings,
             const EfSection *section)
{
  for (int gear = 0; gear < 2; gear++)
    {
      const EfDerived *tip = ef_derived_find (findings->derived, "tip-clearance", section->id, places[gear]);

      take_depth (out, findings, section, gear);
      if (tip != NULL)
        ef_replacement_add_size (out, "pocket-diameter", places[gear], 2.0 * (section->pair.in.tip_radius[gear] + tip->value), 2.0 * tip->uncertainty);
    }
}

static void
take_sizes (EfReplacement *out,
            const EfFindings *findings,
            const EfPart *part)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;

  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];

      if (g_strcmp0 (section->pocket_part, part->id) == 0)
        take_pocket (out, findings, section);
      for (int gear = 0; gear < 2; gear++)
        if (g_strcmp0 (section->gear_part[gear], part->id) == 0)
          {
            take_size (out, findings, "face-width", part->id, NULL);
            take_size (out, findings, "backlash", section->id, NULL);
          }
    }
  for (guint i = 0; part->kind != EF_PART_GEAR && i < part->bores->len; i++)
    take_size (out, findings, "bore-diameter", part->id, g_array_index (part->bores, EfCylinder, i).id);
  for (guint i = 0; i < part->journals->len; i++)
    take_size (out, findings, "journal-diameter", part->id, g_array_index (part->journals, EfCylinder, i).id);
}

static double
clean_up_of (const EfLapProblem *problem,
             const char *face_id)
{
  int face = ef_lap_problem_find_face (problem, face_id);

  if (face < 0)
    return 0.0;

  return EF_LAP_ROUND * ceil (ef_lap_problem_face (problem, (guint) face)->needed / EF_LAP_ROUND - 1e-6);
}

/* The faces of the part that may be lapped. */
static void
take_faces (EfReplacement *out,
            const EfFindings *findings,
            const EfVerdict *verdict,
            const EfPart *part)
{
  static const char *const names[] = { "mating", "mating-front", "mating-rear", "side-a", "side-b", "end-a", "end-b" };
  g_autoptr (GPtrArray) todo = ef_todo_list (findings, verdict);
  g_autoptr (EfLapProblem) problem = ef_lap_work_problem (findings, verdict, todo, EF_LAP_AS_NEW, NULL, 0);

  for (guint i = 0; part->lappable && i < G_N_ELEMENTS (names); i++)
    {
      EfPartFace face = { g_strdup_printf ("%s/%s", part->id, names[i]), 0.0, part->lap_stock };

      if (!g_hash_table_contains (findings->charts, face.face_id))
        {
          ef_part_face_clear (&face);
          continue;
        }
      face.lap = clean_up_of (problem, face.face_id);
      g_array_append_val (out->faces, face);
    }
}

static void
take_gauge (EfReplacement *out,
            const EfInspection *inspection,
            const char *gauge_id)
{
  EfItem *gauge = gauge_id != NULL ? ef_inspection_find (inspection, EF_ITEM_GAUGE, gauge_id) : NULL;

  if (gauge != NULL && !g_ptr_array_find (out->gauges, gauge, NULL))
    g_ptr_array_add (out->gauges, ef_item_ref (gauge));
}

static void
take_items (EfReplacement *out,
            const EfInspection *inspection,
            const EfPart *part)
{
  for (guint i = 0; i < inspection->items[EF_ITEM_MARK]->len; i++)
    {
      EfMark *mark = inspection->items[EF_ITEM_MARK]->pdata[i];

      if (!ef_face_of_part (mark->face_id, part->id))
        continue;
      g_ptr_array_add (out->marks, ef_item_ref (mark));
      for (guint k = 0; k < mark->depths->len; k++)
        take_gauge (out, inspection, g_array_index (mark->depths, EfMarkDepth, k).gauge_id);
    }
  for (guint i = 0; i < inspection->items[EF_ITEM_READING]->len; i++)
    {
      EfReading *reading = inspection->items[EF_ITEM_READING]->pdata[i];

      if (!ef_reading_of_part (inspection->sheet, reading, part, FALSE))
        continue;
      g_ptr_array_add (out->readings, ef_item_ref (reading));
      take_gauge (out, inspection, reading->gauge_id);
    }
}

EfVerdictWord
ef_shelf_verdict (const EfFindings *findings,
                  const EfVerdict *verdict,
                  const EfPart *part)
{
  g_autofree char *id = g_strconcat ("part:", part->id, NULL);
  const EfVerdict *node = ef_verdict_find (verdict, id);
  EfVerdictWord word = node != NULL ? node->word : EF_N_VERDICTS;

  if (part->kind == EF_PART_GEAR && part->section != NULL && node != NULL)
    {
      g_autofree char *pair_id = g_strconcat ("pair:", part->section, NULL);
      const EfVerdict *pair = ef_verdict_find (verdict, pair_id);

      if (pair != NULL)
        word = MAX (word, pair->word);
    }

  return word;
}

EfReplacement *
ef_shelf_describe (const EfFindings *findings,
                   const EfVerdict *verdict,
                   const EfPart *part)
{
  const EfInspection *inspection = findings->inspection;
  const EfJobHeader *header = ef_inspection_header (inspection);
  EfVerdictWord word = ef_shelf_verdict (findings, verdict, part);
  EfReplacement *out;

  if (part->kind >= EF_PART_PICKUP)
    return NULL;
  out = ef_replacement_new (part->id, NULL);
  out->sheet = g_strdup (inspection->sheet->id);
  out->name = g_strdup (part->name);
  out->material = g_strdup (part->material);
  out->from_job = g_strdup (header->number);
  out->from_date = g_strdup (header->received);
  out->verdict = g_strdup (word == EF_VERDICT_REWORK || word == EF_VERDICT_USE ? ef_verdict_name (word) : NULL);
  take_sizes (out, findings, part);
  take_faces (out, findings, verdict, part);
  take_items (out, inspection, part);
  ef_replacement_on_grid (out);

  return out;
}

gboolean
ef_shelf_is_sound (const EfFindings *findings,
                   const EfVerdict *verdict,
                   const EfPart *part,
                   char **reason_out)
{
  EfVerdictWord word = ef_shelf_verdict (findings, verdict, part);
  EfReplacement *described = NULL;
  gboolean sound = TRUE;

  if (part->kind >= EF_PART_PICKUP || (word != EF_VERDICT_USE && word != EF_VERDICT_REWORK))
    {
      if (reason_out != NULL)
        *reason_out = g_strdup (word < EF_N_VERDICTS ? ef_verdict_label (word) : "Not judged");
      return FALSE;
    }
  described = ef_shelf_describe (findings, verdict, part);
  for (guint i = 0; sound && i < described->faces->len; i++)
    {
      const EfPartFace *face = &g_array_index (described->faces, EfPartFace, i);

      sound = face->lap <= face->room + 1e-12;
      if (!sound && reason_out != NULL)
        *reason_out = g_strdup_printf ("Needs %.3f mm off %s, %.3f mm may come off", face->lap * 1e3, face->face_id, face->room * 1e3);
    }
  ef_item_unref (described);

  return sound;
}

static gboolean
mate_is_sound (const EfFindings *findings,
               const EfVerdict *verdict,
               const EfPart *part)
{
  const EfPart *mate = part->kind == EF_PART_GEAR ? ef_pump_sheet_mate (findings->inspection->sheet, part) : NULL;

  return mate == NULL || ef_shelf_is_sound (findings, verdict, mate, NULL);
}

GPtrArray *
ef_shelf_keep (const EfFindings *findings,
               const EfVerdict *verdict)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;
  GPtrArray *kept = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_shelf_part_unref);

  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = sheet->parts->pdata[i];
      EfReplacement *described;

      if (!ef_shelf_is_sound (findings, verdict, part, NULL) || !mate_is_sound (findings, verdict, part))
        continue;
      described = ef_shelf_describe (findings, verdict, part);
      if (part->kind == EF_PART_GEAR && part->section != NULL)
        described->pair = g_strdup (part->section);
      g_ptr_array_add (kept, ef_shelf_part_new (described, sheet->model, part->kind));
    }

  return kept;
}
