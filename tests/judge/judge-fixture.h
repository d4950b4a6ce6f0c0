/* A stripped pump with everything measured and sound, to which a test adds what it's about.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <math.h>
#include <string.h>

#include "judge/ef-judge.h"

#define MM 1e-3

/* Where a test names no gauge, one that's as good as exact; FIXTURE_NO_GAUGE: none is noted. */
#define FIXTURE_GAUGE "exact"
#define FIXTURE_NO_GAUGE ""

static inline const char *
fixture_gauge_id (const char *gauge)
{
  if (gauge == NULL)
    return FIXTURE_GAUGE;

  return *gauge != '\0' ? gauge : NULL;
}

typedef struct
{
  EfPumpSheet *sheet;
  EfInspection *inspection;
  EfRuleSet *rules;
  GHashTable *charts;
  EfFindings findings;
  EfVerdict *verdict;
} Fixture;

static inline void
fixture_add (Fixture *f,
             gpointer item)
{
  g_autoptr (GError) error = NULL;

  ef_inspection_swap (f->inspection, NULL, item, &error);
  g_assert_no_error (error);
  ef_item_unref (item);
}

static inline void
fixture_read (Fixture *f,
              EfQuantity quantity,
              const char *target,
              const char *place,
              double value,
              const char *gauge)
{
  fixture_add (f, ef_reading_new (quantity, target, place, value, EF_UNIT_MM, fixture_gauge_id (gauge)));
}

static inline void
fixture_read_at (Fixture *f,
                 EfQuantity quantity,
                 const char *target,
                 const char *place,
                 double angle_deg,
                 double value)
{
  EfReading *reading = ef_reading_new (quantity, target, place, value, EF_UNIT_MM, FIXTURE_GAUGE);

  reading->angle = angle_deg * G_PI / 180.0;
  fixture_add (f, reading);
}

static inline void
fixture_gauge (Fixture *f,
               const char *id,
               EfGaugeKind kind,
               double uncertainty)
{
  EfGauge *gauge = ef_item_new (&ef_gauge_class, id);

  gauge->kind = kind;
  gauge->name = g_strdup (id);
  gauge->resolution = 1e-7;
  gauge->uncertainty = uncertainty;
  gauge->range_min = gauge->range_max = NAN;
  fixture_add (f, gauge);
}

static inline void
fixture_check (Fixture *f,
               const char *part,
               EfCheckState state)
{
  EfCheck *before = ef_inspection_find (f->inspection, EF_ITEM_CHECK, part);
  EfCheck *check = ef_item_new (&ef_check_class, part);
  g_autoptr (GError) error = NULL;

  check->state = state;
  ef_inspection_swap (f->inspection, (EfItem *) before, (EfItem *) check, &error);
  g_assert_no_error (error);
  ef_item_unref (check);
}

static inline void
fixture_clearances (Fixture *f,
                    double value,
                    const char *gauge)
{
  for (guint i = 0; i < f->sheet->sections->len; i++)
    {
      const EfSection *section = f->sheet->sections->pdata[i];

      fixture_read (f, EF_READ_END_CLEARANCE, section->id, "drive", value, gauge);
      fixture_read (f, EF_READ_END_CLEARANCE, section->id, "driven", value, gauge);
    }
}

/* Nothing measured, nothing looked at. */
static inline void
fixture_init_bare (Fixture *f,
                   const char *pump)
{
  g_autofree char *file = g_strconcat (pump, ".json", NULL);
  g_autofree char *path = ef_data_path ("pump-sheets", file, NULL);
  g_autoptr (GError) error = NULL;

  memset (f, 0, sizeof *f);
  f->sheet = ef_pump_sheet_load (path, &error);
  g_assert_no_error (error);
  f->rules = ef_rule_set_default (&error);
  g_assert_no_error (error);
  f->inspection = ef_inspection_new (f->sheet, "J-1");
  fixture_gauge (f, FIXTURE_GAUGE, EF_GAUGE_DIAL, 1e-7);
  f->charts = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_face_chart_unref);
}

static inline void
fixture_init (Fixture *f,
              const char *pump)
{
  fixture_init_bare (f, pump);
  fixture_clearances (f, 0.08 * MM, NULL);
  for (guint i = 0; i < f->sheet->parts->len; i++)
    {
      const EfPart *part = f->sheet->parts->pdata[i];

      if (part->kind >= EF_PART_PICKUP)
        fixture_check (f, part->id, EF_CHECK_SOUND);
    }
}

static inline void
fixture_clear (Fixture *f)
{
  g_clear_pointer (&f->verdict, ef_verdict_free);
  g_clear_pointer (&f->findings.derived, g_ptr_array_unref);
  g_hash_table_unref (f->charts);
  ef_inspection_free (f->inspection);
  ef_rule_set_free (f->rules);
  ef_pump_sheet_unref (f->sheet);
}

static inline EfFaceChart *
fixture_chart (Fixture *f,
               const char *face)
{
  EfFaceChart *chart = g_hash_table_lookup (f->charts, face);
  g_autoptr (GError) error = NULL;

  if (chart == NULL)
    {
      chart = ef_face_chart_new (f->sheet, face, &error);
      g_assert_no_error (error);
      g_hash_table_insert (f->charts, g_strdup (face), chart);
    }

  return chart;
}

/* A mark across @share of the face's v extent in the middle of its first strip, or of the face; depth NAN: none. */
static inline EfMark *
fixture_mark (Fixture *f,
              const char *face,
              EfMarkKind kind,
              double share,
              double depth,
              const char *gauge)
{
  EfFaceChart *chart = fixture_chart (f, face);
  double u = chart->n_strips > 0 ? chart->u0 + 0.5 * chart->strip_width : 0.5 * (chart->u0 + chart->u1) + 1e-3;
  double v = 0.5 * (chart->v0 + chart->v1);
  double half = 0.5 * share * (chart->v1 - chart->v0);
  EfMark *mark = ef_mark_new (face, kind, EF_SHAPE_LINE, 0.2 * MM);

  ef_mark_add_node (mark, u, v - half);
  ef_mark_add_node (mark, u + 1e-6, v + half);
  if (!isnan (depth))
    ef_mark_set_depth (mark, depth, EF_UNIT_MM, fixture_gauge_id (gauge));
  mark->number = ef_inspection_next_number (f->inspection);

  return mark;
}

/* Adds the mark and returns the id of its verdict; free it. */
static inline char *
fixture_add_mark (Fixture *f,
                  EfMark *mark)
{
  char *id = g_strconcat ("mark:", mark->item.id, NULL);

  fixture_add (f, mark);

  return id;
}

static inline const EfVerdict *
fixture_judge (Fixture *f)
{
  GPtrArray *readings = f->inspection->items[EF_ITEM_READING];
  GPtrArray *gauges = f->inspection->items[EF_ITEM_GAUGE];
  g_autoptr (GError) error = NULL;

  g_clear_pointer (&f->verdict, ef_verdict_free);
  g_clear_pointer (&f->findings.derived, g_ptr_array_unref);
  f->findings.inspection = f->inspection;
  f->findings.charts = f->charts;
  f->findings.derived = ef_derive (f->sheet, (EfReading *const *) readings->pdata, readings->len,
                                   (EfGauge *const *) gauges->pdata, gauges->len);
  f->verdict = ef_judge (f->rules, &f->findings, &error);
  g_assert_no_error (error);

  return f->verdict;
}

static inline const EfReason *
fixture_reason (const Fixture *f,
                const char *node,
                const char *rule)
{
  const EfVerdict *verdict = ef_verdict_find (f->verdict, node);

  g_assert_nonnull (verdict);
  for (guint i = 0; i < verdict->reasons->len; i++)
    {
      const EfReason *reason = verdict->reasons->pdata[i];

      if (g_str_equal (reason->rule, rule))
        return reason;
    }

  return NULL;
}

static inline EfVerdictWord
fixture_word (const Fixture *f,
              const char *node)
{
  const EfVerdict *verdict = ef_verdict_find (f->verdict, node);

  g_assert_nonnull (verdict);

  return verdict->word;
}

#define assert_word(f, node, expected) g_assert_cmpstr (ef_verdict_name (fixture_word (f, node)), ==, ef_verdict_name (expected))
