/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-specimen-private.h"

#include <math.h>
#include <string.h>

#define UM 1e-6
#define PUZZLE_SPREAD (40.0 * G_PI / 180.0) /* how far from straight towards delivery a puzzle's wear lies */

double
ef_specimen_draw (EfSpecimenMaker *m,
                  double low,
                  double high)
{
  return low + (high - low) * gsl_rng_uniform (m->rng);
}

double
ef_specimen_draw_um (EfSpecimenMaker *m,
                     const double low[EF_SPECIMEN_HARDEST],
                     const double high[EF_SPECIMEN_HARDEST])
{
  int d = m->options->difficulty - 1;

  return ef_specimen_draw (m, low[d], high[d]) * UM;
}

EfFaceChart *
ef_specimen_chart (EfSpecimenMaker *m,
                   const char *face_id)
{
  EfFaceChart *chart = g_hash_table_lookup (m->charts, face_id);

  if (chart != NULL)
    return ef_face_chart_ref (chart);
  chart = ef_face_chart_new (m->sheet, face_id, m->error == NULL ? &m->error : NULL);
  if (chart != NULL)
    g_hash_table_insert (m->charts, g_strdup (face_id), ef_face_chart_ref (chart));

  return chart;
}

const char *
ef_specimen_faces (const EfSection *section,
                   int i)
{
  return i == 0 ? section->facing_face : section->floor_face;
}

void
ef_specimen_add_mark (EfSpecimenMaker *m,
                      EfMark *mark)
{
  EfMark *kept;

  m->n_marks++;
  g_free (mark->item.id);
  mark->item.id = g_strdup_printf ("m%03u", m->n_marks);
  mark->number = m->n_marks;
  kept = ef_item_on_grid (mark);
  if (m->error == NULL)
    ef_inspection_swap (m->specimen->truth, NULL, (EfItem *) kept, &m->error);
  ef_item_unref (kept);
  ef_item_unref (mark);
}

/* Half the play between a bore and its journal as the sheet has them, m. */
static double
new_play (EfSpecimenMaker *m,
          int gear)
{
  const EfLimit *limit = ef_pump_sheet_limit (m->sheet, "bore-clearance", m->section->pocket_part);
  double low = limit != NULL && isfinite (limit->as_new_min) ? limit->as_new_min : 30 * UM;
  double high = limit != NULL && isfinite (limit->as_new_max) ? limit->as_new_max : 70 * UM;
  const EfPart *part = ef_pump_sheet_part (m->sheet, m->section->pocket_part);

  for (guint i = 0; part != NULL && i < part->bores->len; i++)
    {
      const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, i);

      for (guint k = 0; bore->axis == gear && k < m->sheet->parts->len; k++)
        {
          const EfPart *shaft = m->sheet->parts->pdata[k];

          for (guint j = 0; shaft->kind == EF_PART_SHAFT && shaft->gear == gear && j < shaft->journals->len; j++)
            return 0.5 * (bore->diameter - g_array_index (shaft->journals, EfCylinder, j).diameter);
        }
    }

  return 0.25 * (low + high);
}

/* As a pump that has run well. */
static void
draw_sizes (EfSpecimenMaker *m)
{
  EfSpecimenSizes *s = &m->sizes;

  s->pocket_depth = m->section->pocket_depth + ef_specimen_draw (m, -3, 3) * UM;
  for (int gear = 0; gear < 2; gear++)
    {
      s->face_width[gear] = m->section->pair.in.face_width + ef_specimen_draw (m, -3, 2) * UM;
      s->play[gear] = new_play (m, gear);
      s->psi[gear] = m->options->load_psi[gear];
      s->tip_clearance[gear] = m->section->pocket_radius[gear] - m->section->pair.in.tip_radius[gear];
      s->journal[gear] = ef_specimen_draw (m, 0, 4) * UM;
    }
  s->backlash = fmax (60 * UM, m->section->pair.backlash) + ef_specimen_draw (m, 0, 20) * UM;
}

/* The shaft wears its bore until the wall is cut to @lip. */
static void
wear_bore (EfSpecimenMaker *m,
           int gear,
           double psi,
           double lip)
{
  m->sizes.psi[gear] = psi;
  m->sizes.lip[gear] = lip;
  m->sizes.wear[gear] = fmax (0.0, m->sizes.tip_clearance[gear] + lip - m->sizes.play[gear]);
  ef_specimen_lip (m, gear, psi, lip);
}

static void
make_load (EfSpecimenMaker *m)
{
  static const double low[] = { 55, 40, 33 }, high[] = { 85, 58, 42 };
  double deep = ef_specimen_draw_um (m, low, high);
  int first = gsl_rng_uniform_int (m->rng, 2);

  for (int i = 0; i < 2; i++)
    {
      int gear = i == 0 ? first : 1 - first;

      /* bearings and wall answer to the load of many hours, which isn't always that of the rated point */
      wear_bore (m, gear, m->options->load_psi[gear] + ef_specimen_draw (m, -8, 8) * G_PI / 180.0, i == 0 ? deep : deep * ef_specimen_draw (m, 0.6, 0.95));
    }
  m->specimen->story = g_strdup_printf ("The oil's pressure pushed the gears towards suction. The shafts wore their bores long that way until the tips cut the pocket walls: "
                                        "a lip of %.3f mm at the %s gear, a bore %.3f mm long.",
                                        deep * 1e3, first == 0 ? "drive" : "driven", m->sizes.wear[first] * 1e3);
}

static void
make_debris (EfSpecimenMaker *m)
{
  static const double low[] = { 90, 55, 38 }, high[] = { 160, 95, 55 };
  double depth = ef_specimen_draw_um (m, low, high);

  ef_specimen_debris (m, depth);
  m->specimen->story = g_strdup_printf ("Hard grit came with the oil, was carried round, and was dragged back with the leakage from delivery to suction: grooves up to %.3f mm deep.", depth * 1e3);
}

static void
make_end_wear (EfSpecimenMaker *m)
{
  static const double low[] = { 95, 60, 36 }, high[] = { 140, 90, 55 };
  double all = ef_specimen_draw_um (m, low, high);
  const EfLimit *limit = ef_pump_sheet_limit (m->sheet, "end-clearance", m->section->id);
  double worn_max = limit != NULL && isfinite (limit->wear_max) ? limit->wear_max : 130 * UM;
  double gears, floor, plate;

  /* so much that the clearance by depth and width alone is past the limit */
  all = fmax (all, (worn_max - (m->sizes.pocket_depth - m->sizes.face_width[0])) * 1.6);
  gears = ef_specimen_draw (m, 0.3, 0.45) * all;
  floor = ef_specimen_draw (m, 0.25, 0.35) * all;
  plate = all - gears - floor;
  if (m->section->floor_face == NULL || ef_specimen_faces (m->section, 1) == NULL)
    floor = 0.0;
  m->sizes.pocket_depth += floor;
  for (int gear = 0; gear < 2; gear++)
    m->sizes.face_width[gear] -= gears;
  ef_specimen_steps (m, plate, floor);
  m->specimen->story = g_strdup_printf ("Dirty oil over many hours wore the gears' ends and what they run on: the gears %.3f mm narrower, %.3f mm off the floor, a step of %.3f mm in the face opposite.",
                                        gears * 1e3, floor * 1e3, plate * 1e3);
}

/* Psi of a gear that points in the same direction across the pump as @psi of the drive gear. */
static double
same_way (double psi,
          int gear)
{
  /* x points away from the mate on both, so it's mirrored between them */
  return gear == 0 ? psi : remainder (G_PI - psi, 2.0 * G_PI);
}

static void
make_misfit (EfSpecimenMaker *m)
{
  static const double low[] = { 55, 42, 34 }, high[] = { 85, 60, 45 };
  double deep = ef_specimen_draw_um (m, low, high);
  double psi = 0.5 * G_PI + ef_specimen_draw (m, -PUZZLE_SPREAD, PUZZLE_SPREAD);

  for (int gear = 0; gear < 2; gear++)
    wear_bore (m, gear, same_way (psi, gear), gear == 0 ? deep : deep * ef_specimen_draw (m, 0.75, 1.0));
  m->specimen->story = g_strdup_printf ("A part sat beside its locating pins, so that both shafts ran pushed over towards delivery: lips of up to %.3f mm on the side where the oil doesn't push.", deep * 1e3);
}

static void
make_foreign_body (EfSpecimenMaker *m)
{
  static const double low[] = { 55, 42, 34 }, high[] = { 85, 60, 45 };
  double deep = ef_specimen_draw_um (m, low, high);
  double psi = 0.5 * G_PI + ef_specimen_draw (m, -PUZZLE_SPREAD, 0.3 * PUZZLE_SPREAD);
  int gear = gsl_rng_uniform_int (m->rng, 2);

  ef_specimen_lip (m, gear, psi, deep);
  m->sizes.lip[gear] = deep;
  ef_specimen_track (m, gear, psi, 0.6 * deep);
  m->specimen->story = g_strdup_printf ("Something hard went round with the %s gear and left its track, and a lip of %.3f mm, on the delivery side of one wall; the bores are round.", gear == 0 ? "drive" : "driven", deep * 1e3);
}

/* Wear that isn't the cause, well within its limits. */
static void
make_harmless (EfSpecimenMaker *m)
{
  EfCause cause = m->specimen->cause;
  int difficulty = m->options->difficulty;

  if (difficulty < 2)
    return;
  ef_specimen_light_scoring (m, 2 * difficulty);
  ef_specimen_imprints (m, 3 * difficulty);
  if (difficulty < 3)
    return;
  if (cause == EF_CAUSE_DEBRIS || cause == EF_CAUSE_END_WEAR)
    ef_specimen_lip (m, gsl_rng_uniform_int (m->rng, 2), m->options->load_psi[0], ef_specimen_draw (m, 5, 12) * UM);
  else
    ef_specimen_debris (m, ef_specimen_draw (m, 8, 16) * UM);
}

static gboolean
make_checks (EfSpecimenMaker *m)
{
  for (guint i = 0; m->error == NULL && i < m->sheet->parts->len; i++)
    {
      const EfPart *part = m->sheet->parts->pdata[i];
      EfCheck *check;

      if (part->kind < EF_PART_PICKUP)
        continue;
      check = ef_item_new (&ef_check_class, part->id);
      /* the pins give a misfit away to whoever looks; that's fair, but not for the beginner alone */
      check->state = m->specimen->cause == EF_CAUSE_MISFIT && part->kind == EF_PART_PIN && strstr (part->id, "dowel") != NULL ? EF_CHECK_DAMAGED : EF_CHECK_SOUND;
      ef_inspection_swap (m->specimen->truth, NULL, (EfItem *) check, &m->error);
      ef_item_unref (check);
    }

  return m->error == NULL;
}

static void
make (EfSpecimenMaker *m)
{
  static void (*const makers[EF_N_CAUSES]) (EfSpecimenMaker *) = {
    [EF_CAUSE_LOAD] = make_load, [EF_CAUSE_DEBRIS] = make_debris, [EF_CAUSE_END_WEAR] = make_end_wear, [EF_CAUSE_MISFIT] = make_misfit, [EF_CAUSE_FOREIGN_BODY] = make_foreign_body,
  };

  draw_sizes (m);
  makers[m->specimen->cause] (m);
  make_harmless (m);
  ef_specimen_readings (m);
  make_checks (m);
}

static const EfSection *
pressure_section (const EfPumpSheet *sheet)
{
  for (guint i = 0; i < sheet->sections->len; i++)
    if (((EfSection *) sheet->sections->pdata[i])->role == EF_SECTION_PRESSURE)
      return sheet->sections->pdata[i];

  return NULL;
}

static gboolean
check_options (const EfPumpSheet *sheet,
               const EfSpecimenOptions *options,
               GError **error)
{
  if (options->difficulty < 1 || options->difficulty > EF_SPECIMEN_HARDEST)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "difficulty: expected 1 to %d, found %d", EF_SPECIMEN_HARDEST, options->difficulty);
      return FALSE;
    }
  if (options->cause >= EF_N_CAUSES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "cause: expected one of load, debris, end-wear, misfit and foreign-body");
      return FALSE;
    }
  if (!isfinite (options->load_psi[0]) || !isfinite (options->load_psi[1]))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "load: expected the directions of the load on both gears");
      return FALSE;
    }
  if (pressure_section (sheet) == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a pressure section to wear", sheet->file);
      return FALSE;
    }

  return TRUE;
}

static EfSpecimen *
specimen_new (EfPumpSheet *sheet,
              const EfSection *section,
              const EfSpecimenOptions *options)
{
  EfSpecimen *self = g_new0 (EfSpecimen, 1);
  g_autofree char *number = g_strdup_printf ("S-%u", options->seed);

  self->seed = options->seed;
  self->difficulty = options->difficulty;
  self->section = g_strdup (section->id);
  self->truth = ef_inspection_new (sheet, number);
  self->crescents = ef_crescents_new ();

  return self;
}

EfSpecimen *
ef_specimen_new (EfPumpSheet *sheet,
                 const EfSpecimenOptions *options,
                 GError **error)
{
  g_autoptr (EfSpecimen) self = NULL;
  EfSpecimenMaker m = { .sheet = sheet, .options = options };

  if (!check_options (sheet, options, error))
    return NULL;
  m.section = pressure_section (sheet);
  self = m.specimen = specimen_new (sheet, m.section, options);
  m.charts = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_face_chart_unref);
  m.rng = gsl_rng_alloc (gsl_rng_mt19937);
  gsl_rng_set (m.rng, options->seed);
  self->cause = EF_CAUSE_LOAD + gsl_rng_uniform_int (m.rng, EF_N_CAUSES - EF_CAUSE_LOAD);
  if (options->cause != EF_CAUSE_NONE)
    self->cause = options->cause;
  make (&m);
  gsl_rng_free (m.rng);
  g_hash_table_unref (m.charts);
  if (m.error != NULL)
    {
      g_propagate_error (error, m.error);
      return NULL;
    }

  return g_steal_pointer (&self);
}

void
ef_specimen_free (EfSpecimen *self)
{
  if (self == NULL)
    return;
  ef_inspection_free (self->truth);
  g_array_unref (self->crescents);
  g_free (self->section);
  g_free (self->story);
  g_free (self);
}
