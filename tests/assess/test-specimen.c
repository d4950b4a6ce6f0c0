/* Specimens of known truth: repeatable, true to the computed load, measured as gauges say, and found out by the judge.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/ef-specimen-trial.h"
#include "record/ef-exchange.h"
#include "../isolate.h"

#include <math.h>
#include <string.h>

#define DEGREE (G_PI / 180.0)

static EfPumpSheet *
load_sheet (const char *name)
{
  g_autofree char *file = g_strconcat (name, ".json", NULL);
  g_autofree char *path = ef_data_path ("pump-sheets", file, NULL);
  g_autoptr (GError) error = NULL;
  EfPumpSheet *sheet = ef_pump_sheet_load (path, &error);

  g_assert_no_error (error);

  return sheet;
}

static EfSpecimen *
make (EfPumpSheet *sheet,
      guint32 seed,
      EfCause cause,
      int difficulty)
{
  EfSpecimenOptions options = { seed, cause, difficulty, { -83 * DEGREE, -84 * DEGREE } };
  g_autoptr (GError) error = NULL;
  EfSpecimen *specimen = ef_specimen_new (sheet, &options, &error);

  g_assert_no_error (error);

  return specimen;
}

static char *
text_of (const EfSpecimen *specimen)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) measured = ef_specimen_measure (specimen, NULL, specimen->seed ^ EF_SPECIMEN_DEVIATIONS, &error);
  g_autofree char *truth = ef_exchange_write (specimen->truth);
  g_autofree char *text = NULL;

  g_assert_no_error (error);
  text = ef_exchange_write (measured);

  return g_strconcat (truth, text, specimen->story, NULL);
}

static void
test_repeatable (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("hl-24");

  for (int cause = EF_CAUSE_LOAD; cause < EF_N_CAUSES; cause++)
    {
      g_autoptr (EfSpecimen) one = make (sheet, 7, cause, 3);
      g_autoptr (EfSpecimen) same = make (sheet, 7, cause, 3);
      g_autoptr (EfSpecimen) other = make (sheet, 8, cause, 3);
      g_autofree char *a = text_of (one);
      g_autofree char *b = text_of (same);
      g_autofree char *c = text_of (other);

      g_assert_cmpstr (a, ==, b);
      g_assert_cmpstr (a, !=, c);
    }
}

/* Every pump, cause and difficulty: a job that the exchange file takes and gives back. */
static void
test_all_make_jobs (void)
{
  const char *const names[] = { "hl-24", "hl-27", "rc-4", "tg-3" };

  for (guint i = 0; i < G_N_ELEMENTS (names); i++)
    {
      g_autoptr (EfPumpSheet) sheet = load_sheet (names[i]);

      for (int cause = EF_CAUSE_NONE; cause < EF_N_CAUSES; cause++)
        for (int difficulty = 1 + cause % 2; difficulty <= EF_SPECIMEN_HARDEST; difficulty += 2)
          {
            g_autoptr (GError) error = NULL;
            g_autoptr (EfSpecimen) specimen = make (sheet, 11 * cause + difficulty, cause, difficulty);
            g_autofree char *text = ef_exchange_write (specimen->truth);
            g_autoptr (EfInspection) back = ef_exchange_parse (text, -1, "specimen", &error);

            g_assert_no_error (error);
            g_assert_true (ef_inspection_equal (back, specimen->truth));
            g_assert_cmpuint (specimen->truth->items[EF_ITEM_MARK]->len, >, 0);
            g_assert_cmpint (specimen->cause, !=, EF_CAUSE_NONE);
            if (cause != EF_CAUSE_NONE)
              g_assert_cmpint ((int) specimen->cause, ==, cause);
          }
    }
}

static const EfMark *
first_lip (const EfSpecimen *specimen)
{
  for (guint i = 0; i < specimen->truth->items[EF_ITEM_MARK]->len; i++)
    if (((EfMark *) specimen->truth->items[EF_ITEM_MARK]->pdata[i])->kind == EF_MARK_LIP)
      return specimen->truth->items[EF_ITEM_MARK]->pdata[i];

  return NULL;
}

/* The lip lies on the load's side and is as deep as what the shaft's wear leaves of the tip clearance; the bore's longest diameter has that wear. The
 * crescent's own formula is held against two circles, the shaft's set off by play and wear (elementary geometry). */
static void
test_load_wears_where_it_pushes (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("hl-24");

  for (guint32 seed = 1; seed <= 20; seed++)
    {
      g_autoptr (EfSpecimen) specimen = make (sheet, seed, EF_CAUSE_LOAD, 1 + seed % 3);
      const EfMark *lip = first_lip (specimen);
      double bounds[4];

      g_assert_nonnull (lip);
      ef_mark_bounds (lip, bounds);
      g_assert_cmpfloat (fabs (0.5 * (bounds[0] + bounds[2]) / 21.66e-3 + 83.5 * DEGREE), <, 9.5 * DEGREE);
      for (guint i = 0; i < specimen->crescents->len; i++)
        {
          const EfCrescent *c = &g_array_index (specimen->crescents, EfCrescent, i);
          double inner = 9e-3, outer = inner + c->clearance;

          if (strstr (c->face_id, "bore-") == NULL)
            continue;
          for (double at = -G_PI; at < G_PI; at += 0.1)
            {
              double along = c->reach * cos (at), across = c->reach * sin (at);
              double exact = fmax (outer, along + sqrt (inner * inner - across * across)) - outer;

              g_assert_cmpfloat (fabs (ef_crescent_depth (c, c->psi + at) - exact), <, 2e-6); /* left out: (c + e)^2 / 2 r */
            }
          /* play c + wear e reach the wall: lip = c + e - tip clearance, 0.06 mm on this pump */
          if (g_str_has_suffix (c->face_id, strstr (lip->face_id, "driven") != NULL ? "driven" : "drive"))
            g_assert_cmpfloat (fabs (c->reach - 0.06e-3 - ef_mark_deepest (lip)), <, 2e-9);
        }
    }
}

static void
test_puzzles_lie_elsewhere (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("rc-4");

  for (guint32 seed = 1; seed <= 20; seed++)
    for (int cause = EF_CAUSE_MISFIT; cause <= EF_CAUSE_FOREIGN_BODY; cause++)
      {
        g_autoptr (EfSpecimen) specimen = make (sheet, seed, cause, 1);
        double bounds[4];

        ef_mark_bounds (first_lip (specimen), bounds);
        g_assert_cmpfloat (bounds[0] + bounds[2], >, 0.0); /* the delivery side */
      }
}

/* Where the wall of a gear is worn, rad in the gear's own frame. */
static double
wall_worn_at (const EfSpecimen *specimen,
              const char *wall)
{
  for (guint i = 0; i < specimen->crescents->len; i++)
    {
      const EfCrescent *one = &g_array_index (specimen->crescents, EfCrescent, i);

      if (g_str_has_suffix (one->face_id, wall))
        return one->psi;
    }
  g_error ("no worn wall %s", wall);
}

/* A misfit pushes both shafts the same way across the pump. Each gear's x points away from its mate, so one's is the other's mirrored: the same along y, opposite along x. */
static void
test_misfit_pushes_one_way (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("hl-24");
  double most = 0;

  for (guint32 seed = 1; seed <= 12; seed++)
    {
      g_autoptr (EfSpecimen) specimen = make (sheet, seed, EF_CAUSE_MISFIT, 1);
      double drive = wall_worn_at (specimen, "/wall-drive"), driven = wall_worn_at (specimen, "/wall-driven");

      g_assert_cmpfloat (fabs (sin (drive) - sin (driven)), <, 1e-9);
      g_assert_cmpfloat (fabs (cos (drive) + cos (driven)), <, 1e-9);
      most = fmax (most, fabs (cos (drive)));
    }
  g_assert_cmpfloat (most, >, 0.3); /* straight towards delivery both would be the same */
}

static void
check_scatter (const EfScatter *scatter,
               const char *what)
{
  double p = ef_scatter_p (scatter);

  g_test_message ("%s: n %u, mean square %.3f, within 2u %.3f, p %.4f", what, scatter->n, scatter->chi2 / scatter->n, (double) scatter->within / scatter->n, p);
  g_assert_cmpuint (scatter->n, >, 20);
  g_assert_cmpfloat (p, >, 0.001);
}

static void
run_trial (const char *pump,
           guint n)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet (pump);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  EfSpecimenTrial trial;

  g_assert_no_error (error);
  g_assert_true (ef_specimen_trial (sheet, rules, 1, n, 0, NULL, &trial, &error));
  g_assert_no_error (error);
  for (int made = EF_CAUSE_LOAD; made < EF_N_CAUSES; made++)
    for (int found = 0; found < EF_N_CAUSES; found++)
      if (trial.table[made][found] > 0)
        g_test_message ("%s: %s found as %s: %u", pump, ef_cause_names[made], ef_cause_names[found], trial.table[made][found]);
  g_assert_cmpuint (trial.n, ==, n);
  g_assert_cmpfloat (trial.right, >=, 0.95 * n);
  for (int kind = 0; kind < EF_N_GAUGE_KINDS; kind++)
    if (trial.readings[kind].n > 0)
      check_scatter (&trial.readings[kind], ef_gauge_kind_name (kind));
  /* the budget counts the larger of scatter and scale, so it may state a little more than there is, never less */
  g_test_message ("derived: mean square %.3f, within 2u %.3f", trial.derived.chi2 / trial.derived.n, (double) trial.derived.within / trial.derived.n);
  g_assert_cmpuint (trial.derived.n, >, n);
  g_assert_true (trial.derived.chi2 < trial.derived.n || ef_scatter_p (&trial.derived) > 0.001);
  g_assert_cmpfloat (trial.derived.chi2, >, 0.6 * trial.derived.n);
}

static void
test_found_out (void)
{
  run_trial ("hl-24", 40);
}

static void
test_found_out_thousand (void)
{
  if (!g_test_slow ())
    {
      g_test_skip ("slow: run with -m slow");
      return;
    }
  run_trial ("hl-24", 1000);
}

/* A gauge twice as wide as it says is told by chi-square; so the test above can fail. */
static void
test_scatter_tells_a_bad_gauge (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("rc-4");
  g_autoptr (GPtrArray) wide = g_ptr_array_new_with_free_func (ef_item_unref);
  EfGauge *gauge = ef_gauge_default (EF_GAUGE_DEPTH);
  g_autoptr (EfSpecimen) specimen = make (sheet, 1, EF_CAUSE_END_WEAR, 1);
  EfScatter honest = { 0 }, lying = { 0 };

  g_ptr_array_add (wide, ef_item_copy (gauge));
  ((EfGauge *) wide->pdata[0])->uncertainty *= 2.0;
  for (guint32 seed = 1; seed <= 100; seed++)
    {
      const EfReading *exact = specimen->truth->items[EF_ITEM_READING]->pdata[0];

      g_assert_cmpint (exact->quantity, ==, EF_READ_POCKET_DEPTH);
      for (int k = 0; k < 2; k++)
        {
          g_autoptr (GError) error = NULL;
          g_autoptr (EfInspection) measured = ef_specimen_measure (specimen, k == 1 ? wide : NULL, seed, &error);
          double z = (((EfReading *) measured->items[EF_ITEM_READING]->pdata[0])->value - exact->value) / ef_specimen_reading_u (gauge);

          g_assert_no_error (error);
          (k == 1 ? &lying : &honest)->n++;
          (k == 1 ? &lying : &honest)->chi2 += z * z;
        }
    }
  ef_item_unref (gauge);
  g_assert_cmpfloat (ef_scatter_p (&honest), >, 0.001);
  g_assert_cmpfloat (ef_scatter_p (&lying), <, 1e-6);
}

/* Readings stand on the gauge's scale, and its deviation is common to what it reads: differences scatter by less than each. */
static void
test_readings_share_their_gauge (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("rc-4");
  g_autoptr (EfSpecimen) specimen = make (sheet, 5, EF_CAUSE_FOREIGN_BODY, 1);
  double sum2 = 0.0, difference2 = 0.0;

  for (guint32 seed = 1; seed <= 400; seed++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (EfInspection) measured = ef_specimen_measure (specimen, NULL, seed, &error);
      double off[2];
      guint n = 0;

      g_assert_no_error (error);
      for (guint i = 0; i < measured->items[EF_ITEM_READING]->len && n < 2; i++)
        {
          const EfReading *reading = measured->items[EF_ITEM_READING]->pdata[i];
          const EfReading *exact = specimen->truth->items[EF_ITEM_READING]->pdata[i];

          if (reading->quantity != EF_READ_BORE_DIAMETER)
            continue;
          g_assert_cmpfloat (fabs (remainder (reading->value, 1e-6)), <, 1e-9);
          off[n++] = reading->value - exact->value;
        }
      sum2 += off[0] * off[0];
      difference2 += (off[0] - off[1]) * (off[0] - off[1]);
    }
  /* variance of a difference at correlation 0.5: as much as of one reading; 15 % is 2 standard errors of 400 */
  g_assert_cmpfloat (fabs (difference2 / sum2 - 1.0), <, 0.2);
  g_assert_cmpfloat (fabs (sum2 / 400 / (9e-12) - 1.0), <, 0.2); /* (6 µm / 2)^2 */
}

/* Judged against the load turned round, the pump that the oil wore isn't said to be worn by it. */
static void
test_judge_needs_the_load (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("hl-24");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  guint right = 0, turned = 0;

  for (guint32 seed = 1; seed <= 6; seed++)
    {
      g_autoptr (EfSpecimen) specimen = make (sheet, seed, EF_CAUSE_LOAD, 1);
      g_autoptr (EfInspection) measured = ef_specimen_measure (specimen, NULL, seed, &error);
      g_autoptr (EfAssessment) assessment = ef_assess_in_detail (measured, rules, NULL, EF_DETAIL_COARSE, NULL, &error);
      const EfSection *section = sheet->sections->pdata[0];
      const double other[2] = { 97 * DEGREE, 96 * DEGREE };
      g_autoptr (GPtrArray) causes = NULL;
      g_autoptr (GPtrArray) across = NULL;
      g_autoptr (GPtrArray) otherwise = NULL;

      g_assert_no_error (error);
      causes = ef_assessment_causes (assessment, rules);
      right += ef_cause_first (causes) == EF_CAUSE_LOAD;
      across = ef_cross_findings (&assessment->findings, section, other);
      otherwise = ef_cause_findings (&assessment->findings, rules, section, across);
      turned += ef_cause_first (otherwise) == EF_CAUSE_LOAD;
    }
  g_assert_cmpuint (right, ==, 6);
  g_assert_cmpuint (turned, ==, 0);
}

static void
test_sound_pump_has_no_cause (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("hl-24");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  g_autoptr (EfInspection) empty = ef_inspection_new (sheet, "J-1");
  g_autoptr (EfAssessment) assessment = ef_assess_in_detail (empty, rules, NULL, EF_DETAIL_COARSE, NULL, &error);
  g_autoptr (GPtrArray) causes = NULL;

  g_assert_no_error (error);
  causes = ef_assessment_causes (assessment, rules);
  g_assert_cmpint (ef_cause_first (causes), ==, EF_CAUSE_NONE);
}

static void
test_refused (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("hl-24");
  const struct
  {
    EfSpecimenOptions options;
    int code;
    const char *says;
  } rows[] = {
    { { 1, EF_CAUSE_LOAD, 4, { 0, 0 } }, EF_ERROR_RANGE, "difficulty: expected 1 to 3, found 4" },
    { { 1, EF_N_CAUSES, 1, { 0, 0 } }, EF_ERROR_RANGE, "cause: expected" },
    { { 1, EF_CAUSE_LOAD, 1, { NAN, 0 } }, EF_ERROR_INVALID, "load: expected" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_specimen_new (sheet, &rows[i].options, &error));
      g_assert_error (error, EF_ERROR, rows[i].code);
      g_assert_nonnull (strstr (error->message, rows[i].says));
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/specimen/repeatable", test_repeatable);
  g_test_add_func ("/specimen/all-make-jobs", test_all_make_jobs);
  g_test_add_func ("/specimen/load-wears-where-it-pushes", test_load_wears_where_it_pushes);
  g_test_add_func ("/specimen/puzzles-lie-elsewhere", test_puzzles_lie_elsewhere);
  g_test_add_func ("/specimen/misfit-pushes-one-way", test_misfit_pushes_one_way);
  g_test_add_func ("/specimen/found-out", test_found_out);
  g_test_add_func ("/specimen/found-out-thousand", test_found_out_thousand);
  g_test_add_func ("/specimen/scatter-tells-a-bad-gauge", test_scatter_tells_a_bad_gauge);
  g_test_add_func ("/specimen/readings-share-their-gauge", test_readings_share_their_gauge);
  g_test_add_func ("/specimen/judge-needs-the-load", test_judge_needs_the_load);
  g_test_add_func ("/specimen/sound-pump-has-no-cause", test_sound_pump_has_no_cause);
  g_test_add_func ("/specimen/refused", test_refused);

  return g_test_run ();
}
