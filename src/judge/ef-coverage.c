/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-coverage.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>

#define DIRECTIONS 6
#define GRID 3
#define MARK_ID "groove"

const char *const ef_coverage_item_names[] = { "end-clearance", "bore-ovality", "flatness", "plate-groove", NULL };

/* The library's own inverse doesn't always converge for counts in the thousands. */
static double
beta_quantile (double p,
               double a,
               double b)
{
  double low = 0.0, high = 1.0;

  for (guint i = 0; i < 60; i++)
    {
      double middle = 0.5 * (low + high);

      if (gsl_cdf_beta_P (middle, a, b) < p)
        low = middle;
      else
        high = middle;
    }

  return 0.5 * (low + high);
}

/* Beta quantiles: Clopper and Pearson's exact interval, the textbook formula from memory. */
EfShare
ef_share (guint count,
          guint of)
{
  EfShare share = { count, of, NAN, NAN, NAN };

  if (of == 0 || count > of)
    return share;
  gsl_set_error_handler_off ();
  share.share = (double) count / of;
  share.low = count == 0 ? 0.0 : beta_quantile (0.025, count, of - count + 1.0);
  share.high = count == of ? 1.0 : beta_quantile (0.975, count + 1.0, of - count);

  return share;
}

typedef enum { DEPTH, MICROMETER, BORE, DIAL, N_GAUGES } GaugeUse;

static const EfGaugeKind gauge_kinds[N_GAUGES] = { EF_GAUGE_DEPTH, EF_GAUGE_MICROMETER, EF_GAUGE_BORE, EF_GAUGE_DIAL };
static const char *const gauge_ids[N_GAUGES] = { "depth", "micrometer", "bore", "dial" };

typedef struct
{
  EfPumpSheet *sheet;
  const EfRuleSet *rules;
  const EfCoverageOptions *options;
  gsl_rng *rng;
  const EfSection *section;
  const EfPart *housing, *plate;
  const EfCylinder *bore;
  char *face;
  double limit[EF_N_COVERAGE_ITEMS];
  char *node[EF_N_COVERAGE_ITEMS]; /* where the rule speaks */
  EfInspection *base;              /* with the gauges */
  EfGauge *gauge[N_GAUGES];        /* borrowed from base */
  double shared[N_GAUGES];         /* of this pump, m */
  GHashTable *charts;
  EfFaceChart *chart; /* of the face; borrowed */
} Experiment;

static void
experiment_clear (Experiment *self)
{
  g_clear_pointer (&self->rng, gsl_rng_free);
  g_clear_pointer (&self->base, ef_inspection_free);
  g_clear_pointer (&self->charts, g_hash_table_unref);
  g_free (self->face);
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    g_free (self->node[i]);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Experiment, experiment_clear)

/* --- The subject ----------------------------------------------------------------------------------------------------------- */

static gboolean
find_parts (Experiment *self)
{
  self->section = self->sheet->sections->len > 0 ? self->sheet->sections->pdata[0] : NULL;
  for (guint i = 0; i < self->sheet->parts->len; i++)
    {
      const EfPart *part = self->sheet->parts->pdata[i];

      if (self->housing == NULL && part->kind == EF_PART_HOUSING && part->bores != NULL && part->bores->len > 0)
        self->housing = part;
      if (self->plate == NULL && part->kind == EF_PART_PLATE && part->lappable)
        self->plate = part;
    }
  if (self->section == NULL || ef_pump_sheet_part (self->sheet, self->section->gear_part[0]) == NULL || self->housing == NULL || self->plate == NULL)
    return FALSE;
  self->bore = &g_array_index (self->housing->bores, EfCylinder, 0);
  self->face = g_strconcat (self->plate->id, "/side-a", NULL);

  return TRUE;
}

static gboolean
find_limits (Experiment *self,
             GError **error)
{
  const char *targets[EF_N_COVERAGE_ITEMS] = { self->section->id, self->housing->id, self->plate->id, self->plate->id };

  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    {
      const EfLimit *limit = ef_pump_sheet_limit (self->sheet, ef_coverage_item_names[i], targets[i]);

      if (limit == NULL || isnan (limit->wear_max) || limit->wear_max <= self->options->spread)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: limits/%s: expected a wear limit above the spread of %g um, found none",
                       self->sheet->file, ef_coverage_item_names[i], 1e6 * self->options->spread);
          return FALSE;
        }
      self->limit[i] = limit->wear_max;
      self->node[i] = i == EF_COVERAGE_GROOVE ? g_strdup ("mark:" MARK_ID)
                                              : g_strconcat (i == EF_COVERAGE_END_CLEARANCE ? "section:" : "part:", targets[i], NULL);
    }

  return TRUE;
}

static gboolean
add_gauges (Experiment *self,
            GError **error)
{
  for (guint i = 0; i < N_GAUGES; i++)
    {
      EfGauge *usual = ef_gauge_default (gauge_kinds[i]);
      EfGauge *gauge = ef_item_new (&ef_gauge_class, gauge_ids[i]);
      gboolean ok;

      gauge->kind = usual->kind;
      gauge->name = g_strdup (usual->name);
      gauge->resolution = usual->resolution;
      gauge->uncertainty = usual->uncertainty * self->options->gauge_factor;
      gauge->range_min = gauge->range_max = NAN;
      ok = ef_inspection_swap (self->base, NULL, (EfItem *) gauge, error);
      self->gauge[i] = gauge;
      ef_item_unref (gauge);
      ef_item_unref (usual);
      if (!ok)
        return FALSE;
    }

  return TRUE;
}

static gboolean
experiment_init (Experiment *self,
                 GError **error)
{
  EfFaceChart *chart;

  if (!find_parts (self))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: parts: expected a section, a housing with a bore and a plate that may be lapped", self->sheet->file);
      return FALSE;
    }
  if (!find_limits (self, error))
    return FALSE;
  self->base = ef_inspection_new (self->sheet, "J-0");
  self->charts = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_face_chart_unref);
  chart = ef_face_chart_new (self->sheet, self->face, error);
  if (chart == NULL)
    return FALSE;
  g_hash_table_insert (self->charts, g_strdup (self->face), chart);
  self->chart = chart;
  self->rng = gsl_rng_alloc (gsl_rng_mt19937);
  gsl_rng_set (self->rng, self->options->seed);

  return add_gauges (self, error);
}

/* --- One pump -------------------------------------------------------------------------------------------------------------- */

/* What the gauge shows of the true value. */
static double
reads (Experiment *self,
       GaugeUse use,
       double truth)
{
  const EfGauge *gauge = self->gauge[use];
  double u = gauge->uncertainty / 2;
  double value = truth + self->shared[use] + gsl_ran_gaussian_ziggurat (self->rng, u * sqrt (1 - EF_SAME_GAUGE_CORRELATION));

  return gauge->resolution > 0 ? round (value / gauge->resolution) * gauge->resolution : value;
}

static void
take (Experiment *self,
      GPtrArray *readings,
      EfQuantity quantity,
      const char *target,
      const char *place,
      GaugeUse use,
      double truth,
      double angle)
{
  EfReading *reading = ef_reading_new (quantity, target, place, ef_length_on_grid (reads (self, use, truth)), EF_UNIT_MM, gauge_ids[use]);

  reading->angle = angle;
  g_ptr_array_add (readings, reading);
}

static void
take_clearance (Experiment *self,
                GPtrArray *readings,
                double truth)
{
  /* Where between two marks of the scales the values lie is as good as random. */
  double width = ef_pump_sheet_part (self->sheet, self->section->gear_part[0])->thickness + 1e-6 * gsl_rng_uniform (self->rng);

  take (self, readings, EF_READ_POCKET_DEPTH, self->section->id, "drive", DEPTH, width + truth, NAN);
  take (self, readings, EF_READ_FACE_WIDTH, self->section->gear_part[0], NULL, MICROMETER, width, NAN);
}

static void
take_bore (Experiment *self,
           GPtrArray *readings,
           double truth)
{
  double mean = self->bore->diameter + 1e-6 * gsl_rng_uniform (self->rng);
  double longest = G_PI * gsl_rng_uniform (self->rng);

  for (guint i = 0; i < DIRECTIONS; i++)
    {
      double angle = G_PI * i / DIRECTIONS;

      take (self, readings, EF_READ_BORE_DIAMETER, self->housing->id, self->bore->id, BORE, mean + truth / 2 * cos (2 * (angle - longest)), angle);
    }
}

/* A saddle: opposite corners high and low by half of the flatness; its minimum zone is known (four corners carry it). */
static void
take_flatness (Experiment *self,
               GPtrArray *readings,
               double truth)
{
  const EfFaceChart *chart = self->chart;

  for (int i = -1; i <= 1; i++)
    for (int k = -1; k <= 1; k++)
      {
        EfReading *reading;

        take (self, readings, EF_READ_FLATNESS, self->face, NULL, DIAL, truth / 2 * i * k + 1e-6 * gsl_rng_uniform (self->rng), NAN);
        reading = readings->pdata[readings->len - 1];
        reading->u = ef_length_on_grid (0.5 * (chart->u0 + chart->u1) + 0.4 * i * (chart->u1 - chart->u0));
        reading->v = ef_length_on_grid (0.5 * (chart->v0 + chart->v1) + 0.4 * k * (chart->v1 - chart->v0));
      }
}

static EfMark *
cut_groove (Experiment *self,
            double truth)
{
  const EfFaceChart *chart = self->chart;
  double u = 0.5 * (chart->u0 + chart->u1), v = 0.5 * (chart->v0 + chart->v1);
  EfMark *mark = ef_mark_new (self->face, EF_MARK_GROOVE, EF_SHAPE_LINE, 0.2e-3);

  g_free (mark->item.id);
  mark->item.id = g_strdup (MARK_ID);
  mark->number = 1;
  ef_mark_add_node (mark, u, v - 1e-3);
  ef_mark_add_node (mark, u, v + 1e-3);
  ef_mark_set_depth (mark, ef_length_on_grid (MAX (reads (self, DIAL, truth), 0.0)), EF_UNIT_MM, gauge_ids[DIAL]);

  return mark;
}

static EfInspection *
measure (Experiment *self,
         const double truth[EF_N_COVERAGE_ITEMS],
         GError **error)
{
  g_autoptr (EfInspection) inspection = ef_inspection_copy (self->base);
  g_autoptr (GPtrArray) readings = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GPtrArray) marks = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < N_GAUGES; i++)
    self->shared[i] = gsl_ran_gaussian_ziggurat (self->rng, self->gauge[i]->uncertainty / 2 * sqrt (EF_SAME_GAUGE_CORRELATION));
  take_clearance (self, readings, truth[EF_COVERAGE_END_CLEARANCE]);
  take_bore (self, readings, truth[EF_COVERAGE_OVALITY]);
  take_flatness (self, readings, truth[EF_COVERAGE_FLATNESS]);
  g_ptr_array_add (marks, cut_groove (self, truth[EF_COVERAGE_GROOVE]));
  if (!ef_inspection_fill (inspection, EF_ITEM_READING, readings, error) || !ef_inspection_fill (inspection, EF_ITEM_MARK, marks, error))
    return NULL;

  return g_steal_pointer (&inspection);
}

static gboolean
find_words (const Experiment *self,
            const EfVerdict *root,
            EfVerdictWord words[EF_N_COVERAGE_ITEMS],
            GError **error)
{
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    {
      const EfVerdict *node = ef_verdict_find (root, self->node[i]);
      gboolean found = FALSE;

      words[i] = EF_VERDICT_USE;
      for (guint k = 0; node != NULL && k < node->reasons->len; k++)
        {
          const EfReason *reason = node->reasons->pdata[k];

          if (!g_str_equal (reason->rule, ef_coverage_item_names[i]))
            continue;
          words[i] = MAX (words[i], reason->word);
          found = TRUE;
        }
      if (!found)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "rules: expected a verdict of rule “%s” on %s, found none", ef_coverage_item_names[i], self->node[i]);
          return FALSE;
        }
    }

  return TRUE;
}

static gboolean
judge (Experiment *self,
       const double truth[EF_N_COVERAGE_ITEMS],
       EfVerdictWord words[EF_N_COVERAGE_ITEMS],
       GError **error)
{
  g_autoptr (EfInspection) inspection = measure (self, truth, error);
  g_autoptr (GPtrArray) derived = NULL;
  g_autoptr (EfVerdict) verdict = NULL;
  EfFindings findings = { .inspection = inspection, .charts = self->charts };
  GPtrArray *readings, *gauges;

  if (inspection == NULL)
    return FALSE;
  readings = inspection->items[EF_ITEM_READING];
  gauges = inspection->items[EF_ITEM_GAUGE];
  derived = ef_derive (self->sheet, (EfReading *const *) readings->pdata, readings->len, (EfGauge *const *) gauges->pdata, gauges->len);
  findings.derived = derived;
  verdict = ef_judge (self->rules, &findings, error);

  return verdict != NULL && find_words (self, verdict, words, error);
}

/* --- Counting -------------------------------------------------------------------------------------------------------------- */

typedef struct
{
  guint beyond, within, all, limit;
  guint false_use, false_reject, undecided, use_at_limit;
} Count;

static void
count_random (Count *count,
              gboolean beyond,
              EfVerdictWord word)
{
  count->all++;
  count->beyond += beyond;
  count->within += !beyond;
  count->false_use += beyond && word == EF_VERDICT_USE;
  count->false_reject += !beyond && word > EF_VERDICT_MEASURE;
  count->undecided += word == EF_VERDICT_MEASURE;
}

static gboolean
count_pump (Experiment *self,
            Count counts[EF_N_COVERAGE_ITEMS],
            GError **error)
{
  double truth[EF_N_COVERAGE_ITEMS];
  EfVerdictWord words[EF_N_COVERAGE_ITEMS];

  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    truth[i] = self->limit[i] + self->options->spread * (2 * gsl_rng_uniform (self->rng) - 1);
  if (!judge (self, truth, words, error))
    return FALSE;
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    count_random (&counts[i], truth[i] > self->limit[i], words[i]);
  if (!judge (self, self->limit, words, error))
    return FALSE;
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    {
      counts[i].limit++;
      counts[i].use_at_limit += words[i] == EF_VERDICT_USE;
    }

  return TRUE;
}

static gboolean
check_options (const EfCoverageOptions *options,
               GError **error)
{
  if (options->pumps > 0 && options->spread > 0 && options->spread < 1e-3 && options->gauge_factor > 0 && options->gauge_factor <= 100)
    return TRUE;
  g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "coverage: expected pumps, a spread up to 1 mm and a gauge factor up to 100, all above 0");

  return FALSE;
}

gboolean
ef_coverage_run (EfPumpSheet *sheet,
                 const EfRuleSet *rules,
                 const EfCoverageOptions *options,
                 GCancellable *cancellable,
                 EfCoverage out[EF_N_COVERAGE_ITEMS],
                 GError **error)
{
  g_auto (Experiment) self = { .sheet = sheet, .rules = rules, .options = options };
  Count counts[EF_N_COVERAGE_ITEMS] = { { 0 } };

  if (!check_options (options, error) || !experiment_init (&self, error))
    return FALSE;
  for (guint i = 0; i < options->pumps; i++)
    {
      if (g_cancellable_is_cancelled (cancellable))
        {
          g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "coverage: cancelled");
          return FALSE;
        }
      if (!count_pump (&self, counts, error))
        return FALSE;
    }
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    out[i] = (EfCoverage){ self.limit[i], ef_share (counts[i].false_use, counts[i].beyond), ef_share (counts[i].false_reject, counts[i].within),
                           ef_share (counts[i].undecided, counts[i].all), ef_share (counts[i].use_at_limit, counts[i].limit) };

  return TRUE;
}
