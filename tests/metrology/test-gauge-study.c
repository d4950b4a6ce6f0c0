/* Gauge studies: the reference study of the manual, a constructed one, and laws.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * tests/data/agreement: grr_aiag.csv and its figures are the reference study of Measurement Systems Analysis, 4th edition (AIAG, 2010), checked
 * against public transcriptions; results recomputed to ten digits. grr_constructed_2x3.csv is constructed.
 */
#include "../check-values.h"
#include "../fixed-random.h"
#include "metrology/ef-gauge-study.h"
#include "../isolate.h"

typedef struct
{
  EfGaugeReadings readings;
  double *values;
} Study;

static void
study_clear (Study *study)
{
  g_clear_pointer (&study->values, g_free);
}

static void
load (const char *name,
      guint n_parts,
      guint n_appraisers,
      guint n_trials,
      Study *study)
{
  g_autofree char *file = g_build_filename ("agreement", name, NULL);
  g_auto (GStrv) lines = check_lines (file);
  guint n = 0;

  study->values = g_new0 (double, n_parts * n_appraisers * n_trials);
  for (; lines[n] != NULL; n++)
    {
      g_auto (GStrv) fields = g_strsplit (lines[n], ",", -1);
      guint part = (guint) atoi (fields[0]) - 1;
      guint appraiser = (guint) (fields[1][0] - 'A');
      guint trial = (guint) atoi (fields[2]) - 1;

      study->values[(part * n_appraisers + appraiser) * n_trials + trial] = g_ascii_strtod (fields[3], NULL);
    }
  g_assert_cmpuint (n, ==, n_parts * n_appraisers * n_trials);
  study->readings = (EfGaugeReadings){ n_parts, n_appraisers, n_trials, study->values };
}

static void
load_named (const char *file,
            Study *study)
{
  if (g_str_equal (file, "grr_aiag.csv"))
    load (file, 10, 3, 3, study);
  else
    load (file, 8, 2, 3, study);
}

static double
component (const EfGaugeComponents *c,
           const char *name)
{
  const struct
  {
    const char *name;
    double value;
  } all[] = {
    { "EV", c->equipment }, { "AV", c->appraiser }, { "INT", c->interaction }, { "GRR", c->grr }, { "PV", c->part }, { "TV", c->total },
    { "pEV", 100 * c->equipment / c->total }, { "pAV", 100 * c->appraiser / c->total }, { "pGRR", 100 * c->grr / c->total },
    { "pPV", 100 * c->part / c->total }, { "ndc", c->distinct },
  };

  for (guint i = 0; i < G_N_ELEMENTS (all); i++)
    if (g_str_equal (all[i].name, name))
      return all[i].value;

  return NAN;
}

static double
of_range (const EfGaugeStudyRange *s,
          const char *name)
{
  if (g_str_equal (name, "Rbarbar"))
    return s->all_range;
  if (g_str_equal (name, "Xdiff"))
    return s->difference;
  if (g_str_equal (name, "Rp"))
    return s->part_range;
  if (g_str_has_prefix (name, "Rbar appraiser "))
    return s->mean_range[name[strlen ("Rbar appraiser ")] - 'A'];

  return component (&s->components, name);
}

static double
of_row (const EfVarianceRow *row,
        char letter,
        const char *column)
{
  if (g_str_has_prefix (column, "SS"))
    return row->ss;
  if (g_str_has_prefix (column, "MS"))
    return row->ms;

  return column[0] == 'd' ? row->df : row->f;
}

/* @with: interaction kept (F against its mean square); @pooled: pooled with the error. */
static double
of_variance (const EfGaugeStudyVariance *with,
             const EfGaugeStudyVariance *pooled,
             const char *name)
{
  static const char *const letters = "opie";
  const EfVarianceRow *rows[] = { &with->appraiser, &with->part, &with->interaction, &with->equipment };
  const char *letter;

  if (g_str_equal (name, "SST"))
    return with->total.ss;
  if (g_str_equal (name, "p_int"))
    return with->interaction.p;
  if (g_str_equal (name, "MS_pool"))
    return pow (pooled->components.equipment, 2);
  if (g_str_equal (name, "Fo_pool"))
    return pooled->appraiser.f;
  if (g_str_equal (name, "Fp_pool"))
    return pooled->part.f;
  if (g_str_equal (name, "F appraiser vs MSe"))
    return with->appraiser.ms / with->equipment.ms;
  if (g_str_equal (name, "F part vs MSe"))
    return with->part.ms / with->equipment.ms;
  if (g_str_has_prefix (name, "pooled (no interaction) "))
    return component (&pooled->components, name + strlen ("pooled (no interaction) "));
  if (g_str_has_prefix (name, "with interaction "))
    return component (&with->components, name + strlen ("with interaction "));
  letter = strchr (letters, name[strlen (name) - 1]);
  g_assert_nonnull (letter);

  return of_row (rows[letter - letters], *letter, name);
}

static guint rows_done;

static void
check_row (const CheckRow *row)
{
  Study study = { 0 };
  double value;

  if (!g_str_has_prefix (row->inputs, "grr_"))
    return;
  load_named (row->inputs, &study);
  if (g_str_has_prefix (row->quantity, "avg-range "))
    {
      EfGaugeStudyRange range;

      g_assert_true (ef_gauge_study_range (&study.readings, &range, NULL));
      value = of_range (&range, row->quantity + strlen ("avg-range "));
    }
  else
    {
      EfGaugeStudyVariance with, pooled;

      g_assert_true (g_str_has_prefix (row->quantity, "anova "));
      g_assert_true (ef_gauge_study_variance (&study.readings, 1, &with, NULL));
      g_assert_true (ef_gauge_study_variance (&study.readings, 0, &pooled, NULL));
      g_assert_false (with.pooled);
      g_assert_true (pooled.pooled);
      value = of_variance (&with, &pooled, row->quantity + strlen ("anova "));
    }
  check_near (row, value);
  rows_done++;
  study_clear (&study);
}

static void
test_published (void)
{
  check_table ("agreement/expected.csv", check_row);
  g_assert_cmpuint (rows_done, ==, 111);
}

static void
test_wide_range (void)
{
  Study study = { 0 };
  EfGaugeStudyRange range;

  /* The manual: D4 2.574 for 3 trials, limit 0.8795; appraiser B's range of 1.02 on part 4 is above it. */
  load_named ("grr_aiag.csv", &study);
  g_assert_true (ef_gauge_study_range (&study.readings, &range, NULL));
  g_assert_cmpfloat (fabs (range.range_limit - 0.8795), <, 5e-4);
  g_assert_cmpuint (range.n_over, ==, 1);
  g_assert_cmpuint (range.over_part, ==, 3);
  g_assert_cmpuint (range.over_appraiser, ==, 1);
  study_clear (&study);
}

static void
test_factors (void)
{
  /* d2 of control charts (ASTM STP 15D; from memory), three places. */
  static const double d2[] = { [2] = 1.128, [3] = 1.693, [4] = 2.059, [5] = 2.326, [6] = 2.534, [7] = 2.704, [8] = 2.847, [9] = 2.970, [10] = 3.078 };
  /* The same of a single sample (the manual's appendix, five places; the last is off by up to 2 there). */
  static const double single[] = { [2] = 1.41421, [3] = 1.91155, [4] = 2.23887, [5] = 2.48124, [6] = 2.67253, [7] = 2.82981, [8] = 2.96288, [9] = 3.07794, [10] = 3.17905 };

  for (guint m = 2; m <= 10; m++)
    {
      g_assert_cmpfloat (fabs (ef_range_d2 (m) - d2[m]), <, 6e-4);
      g_assert_cmpfloat (fabs (ef_range_d2_single (m) - single[m]), <, 2e-5);
    }
  /* Closed form: 2 / sqrt pi. */
  g_assert_cmpfloat (fabs (ef_range_d2 (2) - 2 / sqrt (G_PI)), <, 1e-12);
  g_assert_true (isnan (ef_range_d2 (1)));
}

static double
draw_normal (GRand *random)
{
  double u = 1 - g_rand_double (random);

  return sqrt (-2 * log (u)) * cos (2 * G_PI * g_rand_double (random));
}

/* Readings made from known components give them back on the average: 400 studies, so within a few per cent. Constructed. */
static void
test_recovers_components (void)
{
  enum { PARTS = 10, APPRAISERS = 5, TRIALS = 3, STUDIES = 400 };
  GRand *random = fixed_random ();
  double values[PARTS * APPRAISERS * TRIALS];
  EfGaugeReadings readings = { PARTS, APPRAISERS, TRIALS, values };
  double equipment = 0, appraiser = 0, interaction = 0, part = 0;

  for (guint study = 0; study < STUDIES; study++)
    {
      double of_part[PARTS], of_appraiser[APPRAISERS];
      EfGaugeStudyVariance s;

      for (guint i = 0; i < PARTS; i++)
        of_part[i] = 4 * draw_normal (random);
      for (guint j = 0; j < APPRAISERS; j++)
        of_appraiser[j] = 2 * draw_normal (random);
      for (guint i = 0; i < PARTS * APPRAISERS; i++)
        {
          double both = 1.5 * draw_normal (random);

          for (guint k = 0; k < TRIALS; k++)
            values[i * TRIALS + k] = of_part[i / APPRAISERS] + of_appraiser[i % APPRAISERS] + both + draw_normal (random);
        }
      g_assert_true (ef_gauge_study_variance (&readings, 1, &s, NULL));
      equipment += pow (s.components.equipment, 2) / STUDIES;
      appraiser += pow (s.components.appraiser, 2) / STUDIES;
      interaction += pow (s.components.interaction, 2) / STUDIES;
      part += pow (s.components.part, 2) / STUDIES;
    }
  g_assert_cmpfloat (fabs (equipment - 1), <, 0.03);
  g_assert_cmpfloat (fabs (interaction - 2.25), <, 0.15);
  g_assert_cmpfloat (fabs (appraiser - 4), <, 0.6);
  g_assert_cmpfloat (fabs (part - 16), <, 1.6);
}

/* Shifting all readings changes nothing; scaling scales; the order of parts doesn't matter. */
static void
test_laws (void)
{
  Study study = { 0 };
  EfGaugeStudyVariance before, after;
  EfGaugeStudyRange range_before, range_after;

  load_named ("grr_constructed_2x3.csv", &study);
  g_assert_true (ef_gauge_study_variance (&study.readings, 0.25, &before, NULL));
  g_assert_true (ef_gauge_study_range (&study.readings, &range_before, NULL));
  g_assert_false (before.pooled);
  for (guint i = 0; i < 48; i++)
    study.values[i] = 1000 * (study.values[i] - 25);
  for (guint i = 0; i < 6; i++)
    {
      double kept = study.values[i];

      study.values[i] = study.values[42 + i];
      study.values[42 + i] = kept;
    }
  g_assert_true (ef_gauge_study_variance (&study.readings, 0.25, &after, NULL));
  g_assert_true (ef_gauge_study_range (&study.readings, &range_after, NULL));
  g_assert_cmpfloat (fabs (after.components.grr / before.components.grr - 1000), <, 1e-6);
  g_assert_cmpfloat (fabs (after.components.part / before.components.part - 1000), <, 1e-6);
  g_assert_cmpfloat (fabs (after.interaction.p - before.interaction.p), <, 1e-8);
  g_assert_cmpfloat (fabs (range_after.components.grr / range_before.components.grr - 1000), <, 1e-6);
  study_clear (&study);
}

static void
test_degenerate (void)
{
  double same[8] = { 1, 1, 1, 1, 1, 1, 1, 1 };
  double apart[8] = { 1, 1, 1, 1, 2, 2, 2, 2 };
  EfGaugeStudyRange range;
  EfGaugeStudyVariance variance;
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_gauge_study_range (&(EfGaugeReadings){ 2, 2, 2, same }, &range, NULL));
  g_assert_true (ef_gauge_study_variance (&(EfGaugeReadings){ 2, 2, 2, same }, 0.25, &variance, NULL));
  g_assert_cmpfloat (variance.components.total, ==, 0);
  g_assert_true (isnan (variance.part.f));
  g_assert_true (ef_gauge_study_variance (&(EfGaugeReadings){ 2, 2, 2, apart }, 0.25, &variance, NULL));
  g_assert_cmpfloat (variance.components.grr, ==, 0);
  g_assert_cmpfloat (fabs (variance.components.part - sqrt (0.5)), <, 1e-12);
  g_assert_true (isinf (variance.components.distinct));

  g_assert_false (ef_gauge_study_range (&(EfGaugeReadings){ 1, 2, 2, same }, &range, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "parts: expected 2"));
  g_clear_error (&error);
  same[3] = NAN;
  g_assert_false (ef_gauge_study_variance (&(EfGaugeReadings){ 2, 2, 2, same }, 0.25, &variance, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/gauge-study/published", test_published);
  g_test_add_func ("/gauge-study/wide-range", test_wide_range);
  g_test_add_func ("/gauge-study/factors", test_factors);
  g_test_add_func ("/gauge-study/recovers-components", test_recovers_components);
  g_test_add_func ("/gauge-study/laws", test_laws);
  g_test_add_func ("/gauge-study/degenerate", test_degenerate);

  return g_test_run ();
}
