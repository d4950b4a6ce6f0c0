/* The places of a pump, who could fill them, and what must hold between them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-shelf-problem.h"
#include "ef-shelf-keep.h"
#include "../flow/ef-slot.h"

#include <math.h>
#include <string.h>

static const char *const gears[2] = { "drive", "driven" };

void
ef_shelf_miss_add (GPtrArray *misses,
                   EfShelfPart *part,
                   char *reason)
{
  EfShelfMiss *miss = g_new0 (EfShelfMiss, 1);

  miss->part = ef_shelf_part_ref (part);
  miss->reason = reason;
  g_ptr_array_add (misses, miss);
}

void
ef_shelf_assume (GPtrArray *assumptions,
                 const char *format,
                 ...)
{
  g_autofree char *sentence = NULL;
  va_list args;

  va_start (args, format);
  sentence = g_strdup_vprintf (format, args);
  va_end (args);
  if (!g_ptr_array_find_with_equal_func (assumptions, sentence, g_str_equal, NULL))
    g_ptr_array_add (assumptions, g_steal_pointer (&sentence));
}

static void
unit_free (EfShelfUnit *unit)
{
  for (int i = 0; i < 2; i++)
    {
      g_clear_pointer (&unit->part[i], ef_item_unref);
      g_clear_pointer (&unit->shelf[i], ef_shelf_part_unref);
    }
  g_free (unit);
}

static void
place_free (EfShelfPlace *place)
{
  g_free (place->id);
  g_free (place->label);
  g_ptr_array_unref (place->units);
  g_array_unref (place->dims);
  g_array_unref (place->candidates);
  g_free (place);
}

static void
term_free (EfShelfTerm *term)
{
  g_free (term->label);
  g_free (term->labels[0]);
  g_free (term->labels[1]);
  g_free (term);
}

static void
miss_free (EfShelfMiss *miss)
{
  ef_shelf_part_unref (miss->part);
  g_free (miss->reason);
  g_free (miss);
}

void
ef_shelf_problem_free (EfShelfProblem *self)
{
  if (self == NULL)
    return;

  g_clear_pointer (&self->places, g_ptr_array_unref);
  g_clear_pointer (&self->terms, g_array_unref);
  g_clear_pointer (&self->told, g_ptr_array_unref);
  g_clear_pointer (&self->misses, g_ptr_array_unref);
  g_clear_pointer (&self->assumptions, g_ptr_array_unref);
  g_free (self);
}

/* Places */

static EfShelfPlace *
add_place (EfShelfProblem *self,
           char *id,
           char *label,
           const EfPart *first,
           const EfPart *second)
{
  EfShelfPlace *place = g_new0 (EfShelfPlace, 1);

  place->id = id;
  place->label = label;
  place->parts[0] = first;
  place->parts[1] = second;
  place->units = g_ptr_array_new_with_free_func ((GDestroyNotify) unit_free);
  place->dims = g_array_new (FALSE, FALSE, sizeof (EfShelfDim));
  place->candidates = g_array_new (FALSE, TRUE, sizeof (EfMatchCandidate));
  g_ptr_array_add (self->places, place);

  return place;
}

static void
add_places (EfShelfProblem *self)
{
  const EfPumpSheet *sheet = self->findings->inspection->sheet;

  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = sheet->parts->pdata[i];

      if (part->kind < EF_PART_PICKUP && part->kind != EF_PART_GEAR)
        add_place (self, g_strdup (part->id), g_strdup (part->name), part, NULL);
    }
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];

      add_place (self, g_strconcat ("pair:", section->id, NULL), g_strdup_printf ("Gear pair, %s", section->name),
                 ef_pump_sheet_part (sheet, section->gear_part[0]), ef_pump_sheet_part (sheet, section->gear_part[1]));
    }
}

static int
place_of_part (const EfShelfProblem *self,
               const char *part_id)
{
  for (guint i = 0; i < self->places->len; i++)
    {
      const EfShelfPlace *place = self->places->pdata[i];

      for (int k = 0; k < 2; k++)
        if (place->parts[k] != NULL && g_strcmp0 (place->parts[k]->id, part_id) == 0)
          return (int) i;
    }

  return -1;
}

/* Units */

/* What must be measured again stays, as it was read. */
static gboolean
own_can_stay (EfShelfProblem *self,
              const EfPart *part)
{
  EfVerdictWord word = ef_shelf_verdict (self->findings, self->verdict, part);

  if (word == EF_VERDICT_MEASURE)
    ef_shelf_assume (self->assumptions, "%s has to be measured again: taken as it was read.", part->name);
  if (word == EF_VERDICT_MEASURE || word == EF_N_VERDICTS)
    return TRUE;

  return ef_shelf_is_sound (self->findings, self->verdict, part, NULL);
}

static void
add_own (EfShelfProblem *self,
         EfShelfPlace *place)
{
  EfShelfUnit *unit;

  for (int i = 0; i < 2; i++)
    if (place->parts[i] != NULL && !own_can_stay (self, place->parts[i]))
      return;
  unit = g_new0 (EfShelfUnit, 1);
  for (int i = 0; i < 2; i++)
    if (place->parts[i] != NULL)
      unit->part[i] = ef_shelf_describe (self->findings, self->verdict, place->parts[i]);
  g_ptr_array_add (place->units, unit);
}

static void
add_unit (EfShelfPlace *place,
          EfShelfPart *first,
          EfShelfPart *second)
{
  EfShelfUnit *unit = g_new0 (EfShelfUnit, 1);

  unit->shelf[0] = ef_shelf_part_ref (first);
  unit->part[0] = ef_item_ref (first->part);
  if (second != NULL)
    {
      unit->shelf[1] = ef_shelf_part_ref (second);
      unit->part[1] = ef_item_ref (second->part);
    }
  g_ptr_array_add (place->units, unit);
}

static gboolean
is_to_be_had (EfShelfProblem *self,
              EfShelfPart *part)
{
  const char *number = ef_inspection_header (self->findings->inspection)->number;

  if (part->state == EF_SHELF_FREE || (part->state == EF_SHELF_RESERVED && g_strcmp0 (part->holder, number) == 0))
    return TRUE;
  if (part->state != EF_SHELF_USED)
    {
      g_autofree char *text = ef_shelf_part_state_text (part);

      ef_shelf_miss_add (self->misses, part, g_strconcat (text, ".", NULL));
    }

  return FALSE;
}

/* Gears by pair code: each mate finds the one that came before it. */
static void
add_gear (EfShelfProblem *self,
          EfShelfPlace *place,
          EfShelfPart *part,
          GHashTable *waiting)
{
  gboolean is_driven = place->parts[0] == NULL || g_strcmp0 (part->part->item.id, place->parts[0]->id) != 0;
  g_autofree char *key = g_strdup_printf ("%s\n%s\n%s", place->id, part->part->pair != NULL ? part->part->pair : "",
                                          part->part->from_job != NULL ? part->part->from_job : "");
  EfShelfPart *mate = part->part->pair != NULL ? g_hash_table_lookup (waiting, key) : NULL;

  if (part->part->pair == NULL)
    ef_shelf_miss_add (self->misses, part, g_strdup ("Has no mate: gears that ran together stay together."));
  else if (mate == NULL)
    g_hash_table_insert (waiting, g_steal_pointer (&key), part);
  else if (g_strcmp0 (mate->part->item.id, part->part->item.id) == 0)
    ef_shelf_miss_add (self->misses, part, g_strdup ("Has the same pair code as another gear of its kind."));
  else
    {
      add_unit (place, is_driven ? mate : part, is_driven ? part : mate);
      g_hash_table_remove (waiting, key);
    }
}

static void
add_from_shelf (EfShelfProblem *self,
                GPtrArray *shelf)
{
  const EfPumpSheet *sheet = self->findings->inspection->sheet;
  g_autoptr (GHashTable) waiting = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  GHashTableIter iter;
  gpointer part;

  for (guint i = 0; i < shelf->len; i++)
    {
      EfShelfPart *one = shelf->pdata[i];
      int at = g_strcmp0 (one->part->sheet, sheet->id) == 0 ? place_of_part (self, one->part->item.id) : -1;
      EfShelfPlace *place = at >= 0 ? self->places->pdata[at] : NULL;

      if (place == NULL || !place->open)
        continue;
      self->considered++;
      if (!is_to_be_had (self, one))
        continue;
      if (place->parts[1] != NULL)
        add_gear (self, place, one, waiting);
      else
        add_unit (place, one, NULL);
    }
  g_hash_table_iter_init (&iter, waiting);
  while (g_hash_table_iter_next (&iter, NULL, &part))
    ef_shelf_miss_add (self->misses, part, g_strdup ("Its mate isn't to be had."));
}

/* Dimensions and terms */

static guint
dim_of (EfShelfPlace *place,
        EfShelfDim dim)
{
  for (guint i = 0; i < place->dims->len; i++)
    {
      const EfShelfDim *one = &g_array_index (place->dims, EfShelfDim, i);

      if (g_strcmp0 (one->part_id, dim.part_id) == 0 && g_strcmp0 (one->quantity, dim.quantity) == 0 && g_strcmp0 (one->place, dim.place) == 0)
        return i;
    }
  g_array_append_val (place->dims, dim);

  return place->dims->len - 1;
}

static EfMatchTerm *
add_term (EfShelfProblem *self,
          EfMatchTermKind kind,
          int a,
          int b,
          const EfSection *section,
          const char *quantity,
          const char *target,
          char *label)
{
  const EfLimit *limit = ef_pump_sheet_limit (self->findings->inspection->sheet, quantity, target);
  EfMatchTerm term = { .kind = kind, .slot = { a, b }, .scale = 1.0, .least = NAN, .most = NAN };
  EfShelfTerm *told = g_new0 (EfShelfTerm, 1);

  if (limit != NULL)
    {
      term.least = limit->wear_min;
      term.most = limit->wear_max;
    }
  else
    ef_shelf_assume (self->assumptions, "The pump sheet has no limit for %s: it isn't checked.", quantity);
  told->section = section;
  told->quantity = quantity;
  told->label = label;
  g_array_append_val (self->terms, term);
  g_ptr_array_add (self->told, told);

  return &g_array_index (self->terms, EfMatchTerm, self->terms->len - 1);
}

/* Half an annulus at each end with half the clearance, from shaft to root circle; for dp = mu = 1. */
static double
end_weight (const EfSection *section,
            int gear)
{
  double root = section->pair.in.root_radius[gear] > 0.0 ? section->pair.in.root_radius[gear] : section->pair.in.tip_radius[gear] - 2.25 * section->pair.in.module;
  double flow = 0.0;

  if (!ef_annulus_flow (0.5, section->shaft_radius[gear], root, 1.0, 1.0, &flow, NULL))
    return 0.0;

  return flow; /* two ends, half a turn */
}

/* As many tips in series as seal between the ports. */
static double
tip_weight (const EfSection *section,
            int gear)
{
  double pitch = 2.0 * G_PI / section->pair.in.teeth[gear];
  double seals = MAX (floor ((section->suction_angle + section->delivery_angle) / pitch), 1.0);
  double flow = 0.0;

  if (!ef_slot_flow (section->pair.in.face_width, 1.0, section->pair.tip_thickness[gear] * seals, 1.0, 1.0, 0.0, &flow, NULL))
    return 0.0;

  return flow;
}

static void
add_section (EfShelfProblem *self,
             const EfSection *section)
{
  const EfPumpSheet *sheet = self->findings->inspection->sheet;
  int housing = place_of_part (self, section->pocket_part), pair = place_of_part (self, section->gear_part[0]);
  EfShelfPlace *a = self->places->pdata[housing], *b = self->places->pdata[pair];
  double k = 2.0 * tan (section->pair.working_angle);
  double centre = section->pair.in.centre_distance;
  EfMatchTerm *term = add_term (self, EF_MATCH_STACK, housing, pair, section, "end-clearance", section->id,
                                g_strdup_printf ("End clearance, %s", section->name));
  EfShelfTerm *told = self->told->pdata[self->told->len - 1];

  for (int g = 0; g < 2; g++)
    {
      term->dim[0][g] = dim_of (a, (EfShelfDim){ a->parts[0]->id, "pocket-depth", gears[g], section->pocket_depth, 1.0, 0.0 });
      term->dim[1][g] = dim_of (b, (EfShelfDim){ section->gear_part[g], "face-width", NULL, section->pair.in.face_width, 1.0, 0.0 });
      term->leak[g] = section->role == EF_SECTION_PRESSURE ? end_weight (section, g) : 0.0;
      told->labels[g] = g_strdup_printf ("End clearance, %s, %s gear", section->name, gears[g]);
    }
  for (int g = 0; g < 2; g++)
    {
      term = add_term (self, EF_MATCH_GAP, housing, pair, section, "tip-clearance", section->id,
                       g_strdup_printf ("Tip clearance, %s, %s gear", section->name, gears[g]));
      term->scale = 0.5;
      term->dim[0][0] = dim_of (a, (EfShelfDim){ a->parts[0]->id, "pocket-diameter", gears[g], 2.0 * section->pocket_radius[g], 1.0, 0.0 });
      term->dim[1][0] = dim_of (b, (EfShelfDim){ section->gear_part[g], "tip-diameter", NULL, 2.0 * section->pair.in.tip_radius[g], 1.0, 0.0 });
      term->leak[0] = section->role == EF_SECTION_PRESSURE ? tip_weight (section, g) : 0.0;
    }
  if (ef_pump_sheet_limit (sheet, "backlash", section->id) == NULL)
    return;
  term = add_term (self, EF_MATCH_GAP, housing, pair, section, "backlash", section->id, g_strdup_printf ("Backlash, %s", section->name));
  term->dim[0][0] = dim_of (a, (EfShelfDim){ a->parts[0]->id, "centre-distance", section->id, centre, k, 0.0 });
  term->dim[1][0] = dim_of (b, (EfShelfDim){ section->gear_part[1], "backlash", NULL, section->pair.backlash, -1.0, k * centre });
}

static void
add_journal (EfShelfProblem *self,
             int shaft,
             const EfPart *part,
             const EfCylinder *journal)
{
  const EfPumpSheet *sheet = self->findings->inspection->sheet;
  const char *slash = journal->runs_in != NULL ? strchr (journal->runs_in, '/') : NULL;
  g_autofree char *host_id = slash != NULL ? g_strndup (journal->runs_in, slash - journal->runs_in) : NULL;
  const EfPart *host = host_id != NULL ? ef_pump_sheet_part (sheet, host_id) : NULL;
  const char *bore_id = slash != NULL && (g_str_has_prefix (slash + 1, "bore-") || g_str_has_prefix (slash + 1, "hole-")) ? slash + 6 : NULL;
  const EfCylinder *bore = host != NULL && bore_id != NULL ? ef_part_cylinder (host->bores, bore_id) : NULL;
  int at = bore != NULL ? place_of_part (self, host->id) : -1;
  EfMatchTerm *term;

  if (at < 0 || ef_pump_sheet_limit (sheet, "bore-clearance", host->id) == NULL)
    return;
  term = add_term (self, EF_MATCH_GAP, at, shaft, NULL, "bore-clearance", host->id, g_strdup_printf ("Clearance of the %s in %s, %s bore", part->name, host->name, bore->id));
  term->dim[0][0] = dim_of (self->places->pdata[at], (EfShelfDim){ host->id, "bore-diameter", bore->id, bore->diameter, 1.0, 0.0 });
  term->dim[1][0] = dim_of (self->places->pdata[shaft], (EfShelfDim){ part->id, "journal-diameter", journal->id, journal->diameter, 1.0, 0.0 });
  /* The gap is half of what is told: its cube an eighth. */
  if (ef_journal_flow (bore->diameter, 1.0, 1.0, MAX (journal->length, 1e-3), 1.0, 1.0, &term->leak[0], NULL))
    term->leak[0] /= 8.0;
}

static void
add_terms (EfShelfProblem *self)
{
  const EfPumpSheet *sheet = self->findings->inspection->sheet;

  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];

      if (place_of_part (self, section->pocket_part) >= 0 && place_of_part (self, section->gear_part[0]) >= 0)
        add_section (self, section);
    }
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = sheet->parts->pdata[i];

      for (guint k = 0; part->kind == EF_PART_SHAFT && k < part->journals->len; k++)
        add_journal (self, place_of_part (self, part->id), part, &g_array_index (part->journals, EfCylinder, k));
    }
}

/* Candidates */

static const EfReplacement *
part_of_unit (const EfShelfUnit *unit,
              const char *part_id)
{
  return unit->part[1] != NULL && g_strcmp0 (unit->part[1]->item.id, part_id) == 0 ? unit->part[1] : unit->part[0];
}

static const EfPartSize *
size_of_unit (const EfShelfUnit *unit,
              const EfShelfDim *dim)
{
  const EfPartSize *size = ef_replacement_size (part_of_unit (unit, dim->part_id), dim->quantity, dim->place);

  /* Backlash is told of either mate; one centre distance will do for a housing of one section. */
  if (size == NULL && g_str_equal (dim->quantity, "backlash"))
    size = ef_replacement_size (unit->part[0], "backlash", NULL);
  if (size == NULL && g_str_equal (dim->quantity, "centre-distance"))
    size = ef_replacement_size (unit->part[0], "centre-distance", NULL);

  return size;
}

static void
take_dim (EfShelfProblem *self,
          const EfShelfUnit *unit,
          const EfShelfDim *dim,
          double *x,
          double *u)
{
  const EfPartSize *size = size_of_unit (unit, dim);
  const EfReplacement *part = part_of_unit (unit, dim->part_id);

  *x = dim->scale * (size != NULL ? size->value : dim->nominal) + dim->offset;
  *u = fabs (dim->scale) * (size != NULL && !isnan (size->uncertainty) ? size->uncertainty : EF_SHELF_ASSUMED_U);
  if (size == NULL && unit->shelf[0] == NULL)
    ef_shelf_assume (self->assumptions, "%s, %s%s%s: not measured, taken from the sheet, %.3f mm.", part->name, ef_part_size_label (dim->quantity),
                     dim->place != NULL ? " " : "", dim->place != NULL ? dim->place : "", dim->nominal * 1e3);
}

static gint64
in_steps (double metres)
{
  return metres > 0.0 ? EF_MATCH_STEP * (gint64) ceil (metres * (1e9 / EF_MATCH_STEP) - 1e-3) : 0;
}

static gint64
room_of (const EfReplacement *part,
         const char *face_id,
         gint64 lap)
{
  const EfPartFace *face = ef_replacement_face (part, face_id);

  return face != NULL ? MAX ((gint64) llround (face->room * 1e9) - lap, 0) : 0;
}

/* NULL, or why the part can't be used at all. */
static char *
check_faces (const EfReplacement *part)
{
  for (guint i = 0; i < part->faces->len; i++)
    {
      const EfPartFace *face = &g_array_index (part->faces, EfPartFace, i);

      if (in_steps (face->lap) > llround (face->room * 1e9))
        return g_strdup_printf ("Needs %.3f mm off %s, but only %.3f mm may come off.", in_steps (face->lap) * 1e-6, face->face_id, face->room * 1e3);
    }

  return NULL;
}

static gint64
end_lap (const EfShelfUnit *unit,
         const char *end)
{
  gint64 most = 0;

  for (int i = 0; i < 2; i++)
    {
      g_autofree char *id = g_strdup_printf ("%s/%s", unit->part[i]->item.id, end);
      const EfPartFace *face = ef_replacement_face (unit->part[i], id);

      most = MAX (most, face != NULL ? in_steps (face->lap) : 0);
    }

  return most;
}

/* Both mates lose the same at an end, so that their widths stay alike. */
static void
take_pair_laps (const EfShelfUnit *unit,
                EfMatchCandidate *candidate,
                gint64 *off)
{
  static const char *const ends[2] = { "end-a", "end-b" };
  gint64 laps[2], room = G_MAXINT64;
  int chosen;

  for (int e = 0; e < 2; e++)
    {
      laps[e] = end_lap (unit, ends[e]);
      candidate->faces += laps[e] > 0 ? 2 : 0;
      candidate->stock += 2 * laps[e];
      *off += laps[e];
    }
  chosen = laps[1] > laps[0] ? 1 : 0;
  for (int i = 0; i < 2; i++)
    {
      g_autofree char *id = g_strdup_printf ("%s/%s", unit->part[i]->item.id, ends[chosen]);

      room = MIN (room, room_of (unit->part[i], id, laps[chosen]));
    }
  candidate->lapped = laps[chosen] > 0;
  candidate->room = room;
}

static const EfSection *
section_of_pocket (const EfShelfProblem *self,
                   const EfPart *part)
{
  const EfPumpSheet *sheet = self->findings->inspection->sheet;

  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];

      if (g_strcmp0 (section->pocket_part, part->id) == 0)
        return section;
    }

  return NULL;
}

static void
take_laps (const EfShelfProblem *self,
           const EfShelfUnit *unit,
           const EfShelfPlace *place,
           EfMatchCandidate *candidate,
           gint64 *off)
{
  const EfSection *section = section_of_pocket (self, place->parts[0]);

  for (guint i = 0; i < unit->part[0]->faces->len; i++)
    {
      const EfPartFace *face = &g_array_index (unit->part[0]->faces, EfPartFace, i);
      gint64 lap = in_steps (face->lap);

      candidate->faces += lap > 0;
      candidate->stock += lap;
      if (section == NULL || g_strcmp0 (face->face_id, section->mating_face) != 0)
        continue;
      *off = lap;
      candidate->lapped = lap > 0;
      candidate->room = room_of (unit->part[0], face->face_id, lap);
    }
}

static void
add_candidate (EfShelfProblem *self,
               EfShelfPlace *place,
               const EfShelfUnit *unit)
{
  EfMatchCandidate candidate = { 0 };
  gint64 off = 0;

  if (place->parts[1] != NULL)
    take_pair_laps (unit, &candidate, &off);
  else
    take_laps (self, unit, place, &candidate, &off);
  for (guint d = 0; d < place->dims->len; d++)
    {
      const EfShelfDim *dim = &g_array_index (place->dims, EfShelfDim, d);

      take_dim (self, unit, dim, &candidate.x[d], &candidate.u[d]);
      if (g_str_equal (dim->quantity, "face-width") || g_str_equal (dim->quantity, "pocket-depth"))
        candidate.x[d] -= off * 1e-9;
    }
  g_array_append_val (place->candidates, candidate);
}

static void
add_candidates (EfShelfProblem *self,
                EfShelfPlace *place)
{
  for (guint i = 0; i < place->units->len;)
    {
      EfShelfUnit *unit = place->units->pdata[i];
      g_autofree char *reason = check_faces (unit->part[0]);

      if (reason == NULL && unit->part[1] != NULL)
        reason = check_faces (unit->part[1]);
      if (reason == NULL)
        {
          add_candidate (self, place, unit);
          i++;
          continue;
        }
      for (int k = 0; k < 2; k++)
        if (unit->shelf[k] != NULL)
          ef_shelf_miss_add (self->misses, unit->shelf[k], g_strdup (reason));
      g_ptr_array_remove_index (place->units, i);
    }
}

void
ef_shelf_laps_of (const EfShelfUnit *unit,
                  GPtrArray *laps)
{
  for (int i = 0; i < 2; i++)
    for (guint k = 0; unit->part[i] != NULL && k < unit->part[i]->faces->len; k++)
      {
        const EfPartFace *face = &g_array_index (unit->part[i]->faces, EfPartFace, k);
        const char *end = strchr (face->face_id, '/');
        gint64 lap = unit->part[1] != NULL && end != NULL ? end_lap (unit, end + 1) : in_steps (face->lap);

        if (lap > 0)
          g_ptr_array_add (laps, g_strdup_printf ("%.3f mm off %s%s%s", lap * 1e-6, face->face_id, unit->shelf[i] != NULL ? " of " : "",
                                                  unit->shelf[i] != NULL ? unit->part[i]->shelf : ""));
      }
}

static gboolean
check_size (const EfShelfProblem *self,
            GError **error)
{
  gboolean fits = self->places->len <= EF_MATCH_SLOTS;

  for (guint i = 0; fits && i < self->places->len; i++)
    fits = ((EfShelfPlace *) self->places->pdata[i])->dims->len <= EF_MATCH_DIMS;
  if (!fits)
    g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected at most %d places with %d sizes each to be matched", self->findings->inspection->sheet->id,
                 EF_MATCH_SLOTS, EF_MATCH_DIMS);

  return fits;
}

EfShelfProblem *
ef_shelf_problem_new (const EfFindings *findings,
                      const EfVerdict *verdict,
                      GPtrArray *shelf,
                      const EfDecisionRule *rule,
                      EfShelfOpen open,
                      GError **error)
{
  g_autoptr (EfShelfProblem) self = g_new0 (EfShelfProblem, 1);

  self->findings = findings;
  self->verdict = verdict;
  self->places = g_ptr_array_new_with_free_func ((GDestroyNotify) place_free);
  self->terms = g_array_new (FALSE, TRUE, sizeof (EfMatchTerm));
  self->told = g_ptr_array_new_with_free_func ((GDestroyNotify) term_free);
  self->misses = g_ptr_array_new_with_free_func ((GDestroyNotify) miss_free);
  self->assumptions = g_ptr_array_new_with_free_func (g_free);
  add_places (self);
  for (guint i = 0; i < self->places->len; i++)
    {
      EfShelfPlace *place = self->places->pdata[i];

      add_own (self, place);
      place->open = open == EF_SHELF_OPEN_ALL || place->units->len == 0;
    }
  add_from_shelf (self, shelf);
  add_terms (self);
  if (!check_size (self, error))
    return NULL;
  for (guint i = 0; i < self->places->len; i++)
    {
      EfShelfPlace *place = self->places->pdata[i];

      add_candidates (self, place);
      self->problem.slots[i] = (EfMatchSlot){ place->candidates->len, place->dims->len, (const EfMatchCandidate *) place->candidates->data };
    }
  self->problem.n_slots = self->places->len;
  self->problem.n_terms = self->terms->len;
  self->problem.terms = (const EfMatchTerm *) self->terms->data;
  self->problem.guard = ef_decision_factor (rule);

  return g_steal_pointer (&self);
}
