/* From what was found to a lapping problem.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "ef-lap-work.h"
#include "ef-stock-needed.h"

#define GUARD 1.645        /* one-sided 95 %: JCGM 106 */
#define MOST_GUARD (1.0 / 3.0) /* of the window, both ends together */
#define KEPT_RESIDUAL 0.5  /* of the depth allowed for wear: common practice, no source */
#define SETUP 10e-6        /* touching a face costs as much as taking this off a housing: common practice, no source */
#define GEAR_WEIGHT 1.5    /* a gear's end is harder to hold square: common practice, no source */

static const char *const places[2] = { "drive", "driven" };

typedef struct
{
  const EfFindings *findings;
  const EfPumpSheet *sheet;
  const EfVerdict *verdict;
  GPtrArray *todo;
  EfLapLevel level;
  const EfLapReplacement *parts;
  guint n_parts;
  EfLapProblem *problem;
} Maker;

static const EfLapReplacement *
replacement (const Maker *maker,
             const char *part_id)
{
  for (guint i = 0; i < maker->n_parts; i++)
    if (g_strcmp0 (maker->parts[i].part_id, part_id) == 0)
      return &maker->parts[i];

  return NULL;
}

static gboolean
is_scrap (const Maker *maker,
          const char *part_id)
{
  g_autofree char *id = g_strconcat ("part:", part_id, NULL);
  const EfVerdict *node = ef_verdict_find (maker->verdict, id);

  return node != NULL && node->word == EF_VERDICT_SCRAP;
}

/* Imprints and chips need not clean up; a lip is stoned off first. */
static double
deepest_wear (const Maker *maker,
              const char *face_id)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (maker->findings->inspection, face_id);
  double deepest = 0.0;

  for (guint i = 0; i < marks->len; i++)
    {
      const EfMark *mark = marks->pdata[i];
      double depth = ef_mark_deepest (mark);

      if (mark->kind != EF_MARK_IMPRINT && mark->kind != EF_MARK_CHIP && mark->kind != EF_MARK_LIP && depth > deepest)
        deepest = depth;
    }

  return deepest;
}

static const char *
wear_quantity (const EfPart *part)
{
  return part->kind == EF_PART_HOUSING ? "mating-face-damage" : part->kind == EF_PART_GEAR ? "gear-end-scoring" : "plate-groove";
}

static double
limit_or (const Maker *maker,
          const char *quantity,
          const char *target,
          gboolean as_new,
          double fallback)
{
  const EfLimit *limit = ef_pump_sheet_limit (maker->sheet, quantity, target);
  double value = limit == NULL ? NAN : as_new ? limit->as_new_max : limit->wear_max;

  return isnan (value) ? fallback : value;
}

static double
flatness_found (const Maker *maker,
                const char *face_id)
{
  const EfDerived *derived = ef_derived_find (maker->findings->derived, "flatness", face_id, NULL);

  return derived != NULL ? fmax (derived->value, 0.0) : 0.0;
}

/* A face that the verdict asks to lap cleans up and comes level; on others what was found is good enough. */
static void
ask_for (const Maker *maker,
         const EfPart *part,
         EfLapFace *face)
{
  double residual = maker->level == EF_LAP_AS_NEW ? 0.0 : KEPT_RESIDUAL * limit_or (maker, wear_quantity (part), face->id, FALSE, 0.0);
  const double *sealing = maker->findings->sealing_stock != NULL ? g_hash_table_lookup (maker->findings->sealing_stock, face->id) : NULL;
  double deepest = deepest_wear (maker, face->id);

  face->flatness = flatness_found (maker, face->id);
  face->flatness_allowed = limit_or (maker, "flatness", face->id, maker->level == EF_LAP_AS_NEW, INFINITY);
  face->residual = residual;
  /* The worst place: see ef-stock-needed.h. */
  face->needed = deepest > residual ? face->flatness + deepest : 0.0;
  /* Enough of the land seals again before the deepest place is reached: so much more may stay there. */
  if (maker->level == EF_LAP_SEALING && sealing != NULL && *sealing > fmax (face->needed - residual, 0.0))
    {
      face->needed = face->flatness + fmax (deepest, *sealing - face->flatness);
      face->residual = face->needed - *sealing;
    }
}

static EfLapRole
role_of (const EfPart *part,
         const char *face)
{
  if (part->kind == EF_PART_GEAR)
    return EF_LAP_GEAR_END;
  if (part->kind == EF_PART_HOUSING)
    return g_str_has_prefix (face, "mating") ? EF_LAP_MATING : EF_LAP_FLOOR;

  return part->kind == EF_PART_COVER ? EF_LAP_COVER : EF_LAP_PLATE;
}

/* "end-a" is end A, "side-b" side B. */
static char *
face_name (const EfPart *part,
           const char *face)
{
  g_autofree char *words = g_strdelimit (g_strdup (face), "-", ' ');
  gsize n = strlen (words);

  if (n > 2 && words[n - 2] == ' ')
    words[n - 1] = g_ascii_toupper (words[n - 1]);

  return g_strdup_printf ("%s, %s", part->name, g_str_equal (face, "mating") ? "mating face" : words);
}

static gboolean
is_plan_face (const EfPart *part,
              const char *face)
{
  if (part->kind == EF_PART_GEAR)
    return g_str_has_prefix (face, "end-");
  if (part->kind == EF_PART_HOUSING)
    return g_str_has_prefix (face, "mating") || (part->floor_lappable && g_str_equal (face, "floor"));

  return g_str_has_prefix (face, "side-") || g_str_has_prefix (face, "mating");
}

gboolean
ef_lap_is_plan_face (const EfPumpSheet *sheet,
                     const char *face_id)
{
  const char *slash = strchr (face_id, '/');
  g_autofree char *part_id = slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : NULL;
  const EfPart *part = part_id != NULL ? ef_pump_sheet_part (sheet, part_id) : NULL;

  return part != NULL && part->kind <= EF_PART_GEAR && is_plan_face (part, slash + 1);
}

static void
add_face (Maker *maker,
          const char *face_id)
{
  const char *slash = strchr (face_id, '/');
  g_autofree char *part_id = slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : NULL;
  const EfPart *part = part_id != NULL ? ef_pump_sheet_part (maker->sheet, part_id) : NULL;
  EfLapFace *face;

  if (!ef_lap_is_plan_face (maker->sheet, face_id))
    return;
  face = ef_lap_problem_add_face (maker->problem, face_id, role_of (part, slash + 1));
  face->name = face_name (part, slash + 1);
  face->weight = part->kind == EF_PART_GEAR ? GEAR_WEIGHT : 1.0;
  face->setup = SETUP;
  if (part->lappable && !is_scrap (maker, part_id))
    face->stock = part->lap_stock;
  if (replacement (maker, part_id) != NULL)
    face->stock = part->lappable ? part->lap_stock : 0.0;
  else if (ef_todo_has (maker->todo, "lap", face_id))
    ask_for (maker, part, face);
}

static int
end_of (const Maker *maker,
        const EfSection *section,
        int gear,
        int end)
{
  g_autofree char *id = g_strdup_printf ("%s/end-%c", section->gear_part[gear], 'a' + end);

  return ef_lap_problem_find_face (maker->problem, id);
}

static double
found_clearance (const Maker *maker,
                 const EfSection *section,
                 int gear)
{
  const EfLapReplacement *part = replacement (maker, section->gear_part[gear]);
  double found = ef_lap_clearance_found (maker->findings, section, gear);
  const EfDerived *width = ef_derived_find (maker->findings->derived, "face-width", section->gear_part[gear], NULL);

  if (part == NULL)
    return is_scrap (maker, section->gear_part[gear]) ? NAN : found;
  if (!isnan (found) && width != NULL)
    return found + width->value - part->width;

  return section->pocket_depth - part->width;
}

static double
uncertainty_of (const Maker *maker,
                const EfSection *section)
{
  double worst = 0.0;

  for (int gear = 0; gear < 2; gear++)
    {
      const EfDerived *derived = ef_derived_find (maker->findings->derived, "end-clearance", section->id, places[gear]);

      if (derived == NULL)
        derived = ef_derived_find (maker->findings->derived, "end-clearance", section->id, NULL);
      if (derived != NULL && !isnan (derived->uncertainty))
        worst = fmax (worst, derived->uncertainty);
    }

  return worst;
}

static void
set_guard (EfLapSection *out)
{
  double window = out->clearance_max - out->clearance_min;

  out->guard = GUARD;
  if (isfinite (window) && out->uncertainty > 0.0)
    out->guard = fmin (GUARD, fmax (window, 0.0) * MOST_GUARD / 2.0 / out->uncertainty);
}

/* Asked to come back to the window as new, else to stay where a pump may be used; never less than what was found and let pass. */
static void
set_window (const Maker *maker,
            const EfSection *section,
            gboolean asked,
            const double found[2],
            EfLapSection *out)
{
  const EfLimit *limit = ef_pump_sheet_limit (maker->sheet, "end-clearance", section->id);

  if (asked && maker->level != EF_LAP_WITHIN)
    ef_lap_clearance_window (maker->sheet, section, &out->clearance_min, &out->clearance_max);
  else if (limit != NULL)
    {
      out->clearance_min = isnan (limit->wear_min) ? fmin (limit->as_new_min, fmin (found[0], found[1])) : limit->wear_min;
      out->clearance_max = isnan (limit->wear_max) ? INFINITY : limit->wear_max;
      if (isnan (out->clearance_min))
        out->clearance_min = 0.0;
    }
  else
    ef_lap_clearance_window (maker->sheet, section, &out->clearance_min, &out->clearance_max);
  out->left_alone = !asked;
  if (asked)
    set_guard (out);
  else
    {
      out->clearance_min = fmin (out->clearance_min, fmin (found[0], found[1]));
      out->clearance_max = fmax (out->clearance_max, fmax (found[0], found[1]));
    }
}

static void
add_depth_faces (const Maker *maker,
                 const EfSection *section,
                 EfLapSection *out)
{
  const EfPart *pocket = ef_pump_sheet_part (maker->sheet, section->pocket_part);
  int mating = ef_lap_problem_find_face (maker->problem, section->mating_face);
  int floor = ef_lap_problem_find_face (maker->problem, section->floor_face);

  if (mating >= 0)
    ef_lap_section_add (out, mating, -1.0);
  /* Open through: it has mating faces on both sides. */
  for (guint i = 0; pocket != NULL && pocket->opens == EF_OPENS_THROUGH && i < maker->problem->faces->len; i++)
    {
      const EfLapFace *face = ef_lap_problem_face (maker->problem, i);

      if (face->role == EF_LAP_MATING && (int) i != mating && g_str_has_prefix (face->id, pocket->id) && face->id[strlen (pocket->id)] == '/')
        ef_lap_section_add (out, (int) i, -1.0);
    }
  if (floor >= 0 && floor != mating && ef_lap_problem_face (maker->problem, (guint) floor)->role == EF_LAP_FLOOR)
    ef_lap_section_add (out, floor, 1.0);
}

/* The gears stay as alike as they are, or within what's allowed as new; made so where that's asked. */
static void
set_width_rule (const Maker *maker,
                const EfSection *section,
                EfLapSection *out)
{
  double allowed = limit_or (maker, "width-difference", section->id, maker->level != EF_LAP_WITHIN, 10e-6);

  if (!ef_todo_has (maker->todo, "narrow-gear", section->id))
    allowed = fmax (allowed, fabs (out->width[0] - out->width[1]));
  out->width_allowed = allowed;
}

static gboolean
touches (const Maker *maker,
         const EfSection *section)
{
  return replacement (maker, section->gear_part[0]) != NULL || replacement (maker, section->gear_part[1]) != NULL
         || ef_todo_has (maker->todo, "restore-clearance", section->id) || ef_todo_has (maker->todo, "open-clearance", section->id)
         || ef_todo_has (maker->todo, "narrow-gear", section->id);
}

/* What lapping its faces for their wear alone would make of an end clearance that is good as it is: brought back to as new if that moves it. */
static gboolean
is_moved (const Maker *maker,
          const EfLapSection *out)
{
  for (int i = 0; i < 4; i++)
    if (out->ends[i / 2][i % 2] >= 0 && ef_lap_face_least (ef_lap_problem_face (maker->problem, (guint) out->ends[i / 2][i % 2])) > 0.0)
      return TRUE;

  return FALSE;
}

static void
add_section (Maker *maker,
             const EfSection *section)
{
  double found[2] = { found_clearance (maker, section, 0), found_clearance (maker, section, 1) };
  EfLapSection *out = ef_lap_problem_add_section (maker->problem, section->id);

  out->name = g_strdup (section->name);
  out->depth = section->pocket_depth;
  for (int gear = 0; gear < 2; gear++)
    {
      out->width[gear] = isnan (found[gear]) ? section->pair.in.face_width : out->depth - found[gear];
      for (int end = 0; end < 2; end++)
        out->ends[gear][end] = end_of (maker, section, gear, end);
    }
  add_depth_faces (maker, section, out);
  if (isnan (found[0]) || isnan (found[1]))
    {
      out->width_allowed = limit_or (maker, "width-difference", section->id, TRUE, 10e-6);
      return;
    }
  out->uncertainty = uncertainty_of (maker, section);
  set_width_rule (maker, section, out);
  set_window (maker, section, touches (maker, section) || is_moved (maker, out), found, out);
}

/* A part may not become thinner than the sheet allows; threads, dowels and ports end so much deeper. */
static void
add_part_limit (Maker *maker,
                const EfPart *part)
{
  EfLapLimit *limit;

  if (!(part->lap_reserve > 0.0))
    return;
  limit = ef_lap_problem_add_limit (maker->problem, part->id);
  limit->name = g_strdup_printf ("%s, depth left for threads, dowels and ports", part->name);
  limit->max = part->lap_reserve;
  for (guint i = 0; i < maker->problem->faces->len; i++)
    {
      const char *id = ef_lap_problem_face (maker->problem, i)->id;

      if (g_str_has_prefix (id, part->id) && id[strlen (part->id)] == '/')
        ef_lap_limit_add (limit, (int) i, 1.0);
    }
}

/* Between a shaft's shoulders stand the parts between its two bearings' housings: what comes off their faces comes off the play. */
static void
add_shaft_limit (Maker *maker,
                 const EfPart *shaft)
{
  EfLapLimit *limit;

  if (!(shaft->shoulder_play > 0.0))
    return;
  limit = ef_lap_problem_add_limit (maker->problem, shaft->id);
  limit->name = g_strdup_printf ("%s, end play between its shoulders", shaft->name);
  limit->max = shaft->shoulder_play;
  for (guint i = 0; i < maker->problem->faces->len; i++)
    {
      const EfLapFace *face = ef_lap_problem_face (maker->problem, i);

      if (face->role == EF_LAP_MATING || face->role == EF_LAP_PLATE || face->role == EF_LAP_COVER)
        ef_lap_limit_add (limit, (int) i, 1.0);
    }
}

EfLapProblem *
ef_lap_work_problem (const EfFindings *findings,
                     const EfVerdict *verdict,
                     GPtrArray *todo,
                     EfLapLevel level,
                     const EfLapReplacement *parts,
                     guint n_parts)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;
  Maker maker = { findings, sheet, verdict, todo, level, parts, n_parts, ef_lap_problem_new () };
  g_auto (GStrv) faces = ef_face_ids (sheet);

  for (guint i = 0; faces[i] != NULL; i++)
    add_face (&maker, faces[i]);
  for (guint i = 0; i < sheet->sections->len; i++)
    add_section (&maker, sheet->sections->pdata[i]);
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      add_part_limit (&maker, sheet->parts->pdata[i]);
      add_shaft_limit (&maker, sheet->parts->pdata[i]);
    }

  return maker.problem;
}
