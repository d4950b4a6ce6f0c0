/* What is true of a specimen's sizes, and what gauges say of it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-specimen-private.h"

#include <gsl/gsl_randist.h>
#include <math.h>
#include <string.h>

#define BORE_ANGLES 6
#define JOURNAL_ANGLES 4
#define REPEATS 2

static const char *const sides[2] = { "drive", "driven" };

static EfReading *
add_reading (EfSpecimenMaker *m,
             EfQuantity quantity,
             const char *target,
             const char *place,
             double value)
{
  EfReading *reading = ef_reading_new (quantity, target, place, value, EF_UNIT_MM, NULL);
  g_autofree char *id = g_strdup_printf ("r%03u", m->specimen->truth->items[EF_ITEM_READING]->len + 1);

  g_free (reading->item.id);
  reading->item.id = g_steal_pointer (&id);
  reading->temperature = 293.15;

  return reading;
}

static void
put_reading (EfSpecimenMaker *m,
             EfReading *reading)
{
  EfReading *kept = ef_item_on_grid (reading);

  if (m->error == NULL)
    ef_inspection_swap (m->specimen->truth, NULL, (EfItem *) kept, &m->error);
  ef_item_unref (kept);
  ef_item_unref (reading);
}

static void
read_plain (EfSpecimenMaker *m,
            EfQuantity quantity,
            const char *target,
            const char *place,
            double value)
{
  put_reading (m, add_reading (m, quantity, target, place, value));
}

static void
read_at (EfSpecimenMaker *m,
         EfQuantity quantity,
         const char *target,
         const char *place,
         double angle,
         double value)
{
  EfReading *reading = add_reading (m, quantity, target, place, value);

  reading->angle = angle;
  put_reading (m, reading);
}

/* The bore worn to a crescent: what is found across it in a direction. */
static double
bore_diameter (double bore,
               double angle,
               const EfCrescent *crescent)
{
  return bore + ef_crescent_depth (crescent, angle) + ef_crescent_depth (crescent, angle + G_PI);
}

static void
read_bores (EfSpecimenMaker *m)
{
  const EfPart *part = ef_pump_sheet_part (m->sheet, m->section->pocket_part);

  for (guint i = 0; part != NULL && i < part->bores->len; i++)
    {
      const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, i);
      int gear = bore->axis;
      EfCrescent crescent = { g_strdup_printf ("%s/bore-%s", part->id, bore->id), m->sizes.psi[gear], m->sizes.play[gear] + m->sizes.wear[gear], m->sizes.play[gear], 0.0, bore->length };

      for (int k = 0; k < BORE_ANGLES; k++)
        {
          double angle = k * G_PI / BORE_ANGLES;

          read_at (m, EF_READ_BORE_DIAMETER, part->id, bore->id, angle, bore_diameter (bore->diameter, angle, &crescent));
        }
      if (m->sizes.wear[gear] > 0.0)
        g_array_append_val (m->specimen->crescents, crescent);
      else
        g_free (crescent.face_id);
    }
}

/* Those that run in the part round the pocket; a shaft without one: its first. */
static void
read_journals (EfSpecimenMaker *m)
{
  g_autofree char *prefix = g_strdup_printf ("%s/", m->section->pocket_part);

  for (guint i = 0; i < m->sheet->parts->len; i++)
    {
      const EfPart *part = m->sheet->parts->pdata[i];

      if (part->kind != EF_PART_SHAFT || part->gear < 0 || part->gear > 1)
        continue;
      for (guint k = 0; k < part->journals->len; k++)
        {
          const EfCylinder *journal = &g_array_index (part->journals, EfCylinder, k);

          if (journal->runs_in == NULL || !g_str_has_prefix (journal->runs_in, prefix))
            continue;
          for (int j = 0; j < JOURNAL_ANGLES; j++)
            read_at (m, EF_READ_JOURNAL_DIAMETER, part->id, journal->id, j * G_PI / JOURNAL_ANGLES, journal->diameter - m->sizes.journal[part->gear]);
        }
    }
}

/* Other sections ran as they should. */
static void
read_others (EfSpecimenMaker *m)
{
  for (guint i = 0; i < m->sheet->sections->len; i++)
    {
      const EfSection *section = m->sheet->sections->pdata[i];

      if (section == m->section)
        continue;
      for (int gear = 0; gear < 2; gear++)
        {
          read_plain (m, EF_READ_POCKET_DEPTH, section->id, sides[gear], section->pocket_depth);
          read_plain (m, EF_READ_FACE_WIDTH, section->gear_part[gear], NULL, section->pair.in.face_width);
        }
    }
}

void
ef_specimen_readings (EfSpecimenMaker *m)
{
  const EfSpecimenSizes *s = &m->sizes;

  for (int gear = 0; gear < 2; gear++)
    {
      for (int k = 0; k < REPEATS; k++)
        {
          read_plain (m, EF_READ_POCKET_DEPTH, m->section->id, sides[gear], s->pocket_depth);
          read_plain (m, EF_READ_FACE_WIDTH, m->section->gear_part[gear], NULL, s->face_width[gear]);
        }
      /* against the unworn wall, gear in the middle */
      read_at (m, EF_READ_TIP_CLEARANCE, m->section->id, sides[gear], 0.0, s->tip_clearance[gear]);
      read_at (m, EF_READ_SIDE_PLAY, m->section->id, sides[gear], ef_angle_on_grid (remainder (s->psi[gear], 2.0 * G_PI)), 2.0 * s->play[gear] + s->wear[gear] + s->journal[gear]);
    }
  read_plain (m, EF_READ_BACKLASH, m->section->id, NULL, s->backlash);
  read_bores (m);
  read_journals (m);
  read_others (m);
}

EfGaugeKind
ef_specimen_gauge_kind (EfQuantity quantity)
{
  static const EfGaugeKind kinds[EF_N_READINGS] = {
    [EF_READ_END_CLEARANCE] = EF_GAUGE_FEELER,
    [EF_READ_POCKET_DEPTH] = EF_GAUGE_DEPTH,
    [EF_READ_FACE_WIDTH] = EF_GAUGE_MICROMETER,
    [EF_READ_TIP_CLEARANCE] = EF_GAUGE_FEELER,
    [EF_READ_BACKLASH] = EF_GAUGE_DIAL,
    [EF_READ_SIDE_PLAY] = EF_GAUGE_DIAL,
    [EF_READ_JOURNAL_DIAMETER] = EF_GAUGE_MICROMETER,
    [EF_READ_BORE_DIAMETER] = EF_GAUGE_BORE,
    [EF_READ_FLATNESS] = EF_GAUGE_DIAL,
  };

  return (guint) quantity < EF_N_READINGS ? kinds[quantity] : EF_GAUGE_DIAL;
}

double
ef_specimen_reading_u (const EfGauge *gauge)
{
  double repeat = EF_SPECIMEN_REPEAT * gauge->resolution;

  return sqrt (0.25 * gauge->uncertainty * gauge->uncertainty + repeat * repeat + gauge->resolution * gauge->resolution / 12.0);
}

/* Gauges as they deviate in one specimen. */
typedef struct
{
  gsl_rng *rng;
  EfGauge *gauges[EF_N_GAUGE_KINDS];
  double common[EF_N_GAUGE_KINDS];
  GHashTable *places; /* what is read where -> double *: that place's deviation */
} Bench;

static void
bench_init (Bench *bench,
            GPtrArray *gauges,
            guint32 seed)
{
  bench->rng = gsl_rng_alloc (gsl_rng_mt19937);
  gsl_rng_set (bench->rng, seed);
  bench->places = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  for (int kind = 0; kind < EF_N_GAUGE_KINDS; kind++)
    {
      EfGauge *given = NULL;

      for (guint i = 0; gauges != NULL && given == NULL && i < gauges->len; i++)
        if (((EfGauge *) gauges->pdata[i])->kind == (EfGaugeKind) kind)
          given = gauges->pdata[i];
      if (given != NULL)
        bench->gauges[kind] = ef_item_ref (given);
      else
        {
          bench->gauges[kind] = ef_gauge_default (kind);
          g_free (bench->gauges[kind]->item.id);
          bench->gauges[kind]->item.id = g_strdup (ef_gauge_kind_name (kind));
        }
      bench->common[kind] = gsl_ran_gaussian (bench->rng, 0.5 * bench->gauges[kind]->uncertainty * sqrt (EF_SAME_GAUGE_CORRELATION));
    }
}

static void
bench_clear (Bench *bench)
{
  for (int kind = 0; kind < EF_N_GAUGE_KINDS; kind++)
    ef_item_unref (bench->gauges[kind]);
  g_hash_table_unref (bench->places);
  gsl_rng_free (bench->rng);
}

/* Takes @place. */
static double
bench_read (Bench *bench,
            EfGaugeKind kind,
            char *place,
            double truth)
{
  const EfGauge *gauge = bench->gauges[kind];
  double *of_place = g_hash_table_lookup (bench->places, place);
  double value;

  if (of_place == NULL)
    {
      of_place = g_new (double, 1);
      *of_place = gsl_ran_gaussian (bench->rng, 0.5 * gauge->uncertainty * sqrt (1.0 - EF_SAME_GAUGE_CORRELATION));
      g_hash_table_insert (bench->places, place, of_place);
    }
  else
    g_free (place);
  value = truth + bench->common[kind] + *of_place + gsl_ran_gaussian (bench->rng, EF_SPECIMEN_REPEAT * gauge->resolution);

  return gauge->resolution > 0.0 ? gauge->resolution * round (value / gauge->resolution) : value;
}

static EfReading *
measure_reading (Bench *bench,
                 const EfReading *truth)
{
  EfReading *reading = ef_item_copy (truth);
  EfGaugeKind kind = ef_specimen_gauge_kind (truth->quantity);
  char *place = g_strdup_printf ("%d|%s|%s|%.4f", truth->quantity, truth->target, truth->place != NULL ? truth->place : "", isnan (truth->angle) ? 0.0 : truth->angle);

  reading->value = ef_length_on_grid (bench_read (bench, kind, place, truth->value));
  reading->gauge_id = g_strdup (bench->gauges[kind]->item.id);

  return reading;
}

static EfMark *
measure_mark (Bench *bench,
              const EfMark *truth)
{
  EfMark *mark = ef_item_copy (truth);

  for (guint i = 0; i < mark->depths->len; i++)
    {
      EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      depth->depth = ef_length_on_grid (fmax (0.0, bench_read (bench, EF_GAUGE_DIAL, g_strdup_printf ("mark %s %u", mark->item.id, i), depth->depth)));
      depth->gauge_id = g_strdup (bench->gauges[EF_GAUGE_DIAL]->item.id);
    }

  return mark;
}

static gboolean
put (EfInspection *inspection,
     gpointer item,
     GError **error)
{
  gboolean done = ef_inspection_swap (inspection, NULL, item, error);

  ef_item_unref (item);

  return done;
}

static gboolean
measure_into (const EfInspection *truth,
              Bench *bench,
              EfInspection *to,
              GError **error)
{
  gboolean used[EF_N_GAUGE_KINDS] = { FALSE };

  for (guint i = 0; i < truth->items[EF_ITEM_READING]->len; i++)
    used[ef_specimen_gauge_kind (((EfReading *) truth->items[EF_ITEM_READING]->pdata[i])->quantity)] = TRUE;
  used[EF_GAUGE_DIAL] |= truth->items[EF_ITEM_MARK]->len > 0;
  for (int kind = 0; kind < EF_N_GAUGE_KINDS; kind++)
    if (used[kind] && !put (to, ef_item_ref (bench->gauges[kind]), error))
      return FALSE;
  for (guint i = 0; i < truth->items[EF_ITEM_MARK]->len; i++)
    if (!put (to, measure_mark (bench, truth->items[EF_ITEM_MARK]->pdata[i]), error))
      return FALSE;
  for (guint i = 0; i < truth->items[EF_ITEM_READING]->len; i++)
    if (!put (to, measure_reading (bench, truth->items[EF_ITEM_READING]->pdata[i]), error))
      return FALSE;
  for (guint i = 0; i < truth->items[EF_ITEM_CHECK]->len; i++)
    if (!put (to, ef_item_ref (truth->items[EF_ITEM_CHECK]->pdata[i]), error))
      return FALSE;

  return TRUE;
}

EfInspection *
ef_specimen_measure (const EfSpecimen *self,
                     GPtrArray *gauges,
                     guint32 seed,
                     GError **error)
{
  g_autoptr (EfInspection) to = ef_inspection_new (self->truth->sheet, ef_inspection_header (self->truth)->number);
  Bench bench = { 0 };
  gboolean done;

  bench_init (&bench, gauges, seed);
  done = measure_into (self->truth, &bench, to, error);
  bench_clear (&bench);

  return done ? g_steal_pointer (&to) : NULL;
}
