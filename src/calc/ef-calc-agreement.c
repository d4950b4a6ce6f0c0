/* Gauge studies and agreement of raters by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc.h"

#include "ef-calc-table.h"
#include "../metrology/ef-agreement.h"
#include "../metrology/ef-gauge-study.h"

#include <math.h>

#define FAR 1e12
#define MOST_ITEMS 10000

/* readings[part][appraiser][trial]; the first part says how many of each there are. */
static double *
read_readings (const EfJson *input,
               EfGaugeReadings *readings)
{
  g_auto (EfJson) parts = ef_json_array (input, "readings", 2, EF_STUDY_MOST);
  g_autoptr (GArray) values = g_array_new (FALSE, FALSE, sizeof (double));

  readings->n_parts = ef_json_length (&parts);
  for (guint i = 0; i < readings->n_parts; i++)
    {
      g_auto (EfJson) part = ef_json_element (&parts, i);

      if (i == 0)
        readings->n_appraisers = ef_json_length (&part);
      if (ef_json_length (&part) != readings->n_appraisers || readings->n_appraisers > EF_STUDY_MOST)
        ef_json_fail (&part, EF_ERROR_INVALID, "expected as many appraisers as for the first part, 2 to %d, found %u", EF_STUDY_MOST, ef_json_length (&part));
      for (guint j = 0; j < ef_json_length (&part) && j < EF_STUDY_MOST; j++)
        {
          g_auto (EfJson) trials = ef_json_element (&part, j);

          if (i == 0 && j == 0)
            readings->n_trials = ef_json_length (&trials);
          if (ef_json_length (&trials) != readings->n_trials || readings->n_trials > EF_STUDY_MOST)
            ef_json_fail (&trials, EF_ERROR_INVALID, "expected as many trials as in the first place, 2 to %d, found %u", EF_STUDY_MOST, ef_json_length (&trials));
          for (guint k = 0; k < ef_json_length (&trials) && k < EF_STUDY_MOST; k++)
            {
              g_auto (EfJson) one = ef_json_element (&trials, k);
              double value = ef_json_value (&one, -FAR, FAR);

              g_array_append_val (values, value);
            }
        }
    }

  return (double *) g_array_free (g_steal_pointer (&values), FALSE);
}

static JsonObject *
components_to_json (const EfGaugeComponents *c)
{
  JsonObject *object = json_object_new ();

  ef_json_put (object, "equipment", c->equipment);
  ef_json_put (object, "appraiser", c->appraiser);
  ef_json_put (object, "interaction", c->interaction);
  ef_json_put (object, "grr", c->grr);
  ef_json_put (object, "part", c->part);
  ef_json_put (object, "total", c->total);
  ef_json_put (object, "grr_percent", c->total > 0 ? 100 * c->grr / c->total : NAN);
  ef_json_put (object, "distinct_categories", isfinite (c->distinct) ? floor (c->distinct) : NAN);

  return object;
}

static JsonObject *
row_to_json (const EfVarianceRow *row)
{
  JsonObject *object = json_object_new ();

  ef_json_put (object, "ss", row->ss);
  ef_json_put (object, "df", row->df);
  ef_json_put (object, "ms", row->ms);
  if (isfinite (row->f))
    {
      ef_json_put (object, "f", row->f);
      ef_json_put (object, "p", row->p);
    }

  return object;
}

static JsonObject *
range_to_json (const EfGaugeStudyRange *s)
{
  JsonObject *object = components_to_json (&s->components);

  ef_json_put (object, "mean_range", s->all_range);
  ef_json_put (object, "appraiser_difference", s->difference);
  ef_json_put (object, "part_range", s->part_range);
  ef_json_put (object, "range_limit", s->range_limit);
  json_object_set_int_member (object, "ranges_over_limit", s->n_over);

  return object;
}

static JsonObject *
variance_to_json (const EfGaugeStudyVariance *s)
{
  JsonObject *object = components_to_json (&s->components);
  const struct
  {
    const char *name;
    const EfVarianceRow *row;
  } rows[] = { { "appraisers", &s->appraiser }, { "parts", &s->part }, { "interactions", &s->interaction }, { "repeats", &s->equipment }, { "all", &s->total } };
  JsonObject *table = json_object_new ();

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    json_object_set_object_member (table, rows[i].name, row_to_json (rows[i].row));
  json_object_set_boolean_member (object, "interaction_pooled", s->pooled);
  json_object_set_object_member (object, "table", table);

  return object;
}

static JsonNode *
run_gauge_study (const EfJson *input,
                 GError **error)
{
  static const char *const members[] = { "readings", "pool_above_p", NULL };
  EfGaugeReadings readings = { 0 };
  g_autofree double *values = read_readings (input, &readings);
  double alpha = ef_json_number_or (input, "pool_above_p", 0, 1, 0.25);
  EfGaugeStudyRange range;
  EfGaugeStudyVariance variance;
  JsonObject *result;

  ef_json_only (input, members);
  readings.values = values;
  if (!ef_json_finish (input->context, error) || !ef_gauge_study_range (&readings, &range, error) ||
      !ef_gauge_study_variance (&readings, alpha, &variance, error))
    return NULL;

  result = json_object_new ();
  json_object_set_object_member (result, "average_and_range", range_to_json (&range));
  json_object_set_object_member (result, "variance", variance_to_json (&variance));

  return ef_json_object_node (result);
}

static JsonObject *
kappa_to_json (const EfKappa *kappa)
{
  JsonObject *object = json_object_new ();

  ef_json_put (object, "observed", kappa->observed);
  ef_json_put (object, "expected", kappa->expected);
  ef_json_put (object, "kappa", kappa->kappa);
  ef_json_put (object, "u", kappa->u);
  ef_json_put (object, "low", kappa->low);
  ef_json_put (object, "high", kappa->high);
  ef_json_put (object, "p", kappa->p);

  return object;
}

/* Rows of equal length; how long goes to @n_columns_out. */
static double *
read_rows (const EfJson *input,
           const char *member,
           guint most_rows,
           guint *n_rows_out,
           guint *n_columns_out)
{
  g_auto (EfJson) rows = ef_json_array (input, member, 1, most_rows);
  g_autoptr (GArray) values = g_array_new (FALSE, FALSE, sizeof (double));

  *n_rows_out = ef_json_length (&rows);
  *n_columns_out = 0;
  for (guint i = 0; i < *n_rows_out; i++)
    {
      g_auto (EfJson) row = ef_json_element (&rows, i);
      guint n = ef_json_length (&row);

      if (i == 0)
        *n_columns_out = n;
      if (n != *n_columns_out || n < 2 || n > EF_AGREEMENT_MOST)
        ef_json_fail (&row, EF_ERROR_INVALID, "expected as many counts as in the first row, 2 to %d, found %u", EF_AGREEMENT_MOST, n);
      for (guint j = 0; j < n && j < EF_AGREEMENT_MOST; j++)
        {
          g_auto (EfJson) one = ef_json_element (&row, j);
          double value = ef_json_value (&one, 0, FAR);

          g_array_append_val (values, value);
        }
    }

  return (double *) g_array_free (g_steal_pointer (&values), FALSE);
}

static JsonNode *
run_two (const EfJson *input,
         GError **error)
{
  static const char *const members[] = { "table", "weight", NULL };
  guint n_rows, n_columns;
  g_autofree double *table = read_rows (input, "table", EF_AGREEMENT_MOST, &n_rows, &n_columns);
  EfAgreementWeight weight = EF_WEIGHT_NONE;
  EfKappa kappa;

  ef_json_only (input, members);
  if (ef_json_has (input, "weight"))
    weight = (EfAgreementWeight) ef_json_choice (input, "weight", ef_agreement_weight_names);
  if (n_rows != n_columns)
    ef_json_fail (input, EF_ERROR_INVALID, "table: expected as many rows as columns, found %u and %u", n_rows, n_columns);
  if (!ef_json_finish (input->context, error) || !ef_kappa_two (table, n_rows, weight, &kappa, error))
    return NULL;

  return ef_json_object_node (kappa_to_json (&kappa));
}

static JsonNode *
run_many (const EfJson *input,
          GError **error)
{
  static const char *const members[] = { "counts", NULL };
  guint n_rows, n_columns;
  g_autofree double *counts = read_rows (input, "counts", MOST_ITEMS, &n_rows, &n_columns);
  EfKappaMany kappa;
  JsonObject *result;
  JsonArray *categories;

  ef_json_only (input, members);
  if (!ef_json_finish (input->context, error) || !ef_kappa_many (counts, n_rows, n_columns, &kappa, error))
    return NULL;

  result = kappa_to_json (&kappa.all);
  categories = json_array_new ();
  for (guint j = 0; j < n_columns; j++)
    {
      JsonObject *category = json_object_new ();

      ef_json_put (category, "share", kappa.share[j]);
      ef_json_put (category, "kappa", kappa.kappa[j]);
      json_array_add_object_element (categories, category);
    }
  json_object_set_array_member (result, "categories", categories);

  return ef_json_object_node (result);
}

const EfCalc ef_calc_agreement[] = {
  {
    .name = "gauge-study",
    .summary = "Scatter of readings apart by gauge, appraiser and part: average and range, and analysis of variance",
    .input = "readings: array of parts, each an array of appraisers, each an array of trials; numbers in any one unit\n"
             "or with --csv a table: part, appraiser, trial, value\n"
             "pool_above_p: the interaction is counted as repeating where its p is above this, 0.25 where not given",
    .output = "average_and_range, variance: equipment, appraiser, interaction, grr, part, total (standard deviations), grr_percent, distinct_categories",
    .example = "{\"readings\": [[[24.97, 24.971, 24.97], [24.973, 24.973, 24.975]], [[24.968, 24.966, 24.966], [24.971, 24.97, 24.97]], "
               "[[24.985, 24.987, 24.987], [24.986, 24.989, 24.988]]]}",
    .source = "Measurement Systems Analysis, 4th edition (AIAG 2010), chapter III section B",
    .run = run_gauge_study,
    .from_table = ef_calc_table_study,
  },
  {
    .name = "agreement",
    .summary = "Kappa of two raters from their table",
    .input = "table: square, counts, first rater down, second across\nor with --csv a table of two people: item, rater, category\nweight: none (default), linear, quadratic",
    .output = "observed, expected, kappa, u, low, high (95 %), p (of agreeing so well by chance)",
    .example = "{\"table\": [[34, 3, 1], [4, 21, 5], [0, 3, 29]], \"weight\": \"linear\"}",
    .source = "Cohen 1960, 1968; standard errors Fleiss, Cohen, Everitt 1969",
    .run = run_two,
    .from_table = ef_calc_table_two,
  },
  {
    .name = "agreement-of-many",
    .summary = "Kappa of many raters who sort the same items into categories",
    .input = "counts: a row each item: how many raters chose each category\nor with --csv a table: item, rater, category",
    .output = "observed, expected, kappa, u, low, high (95 %), p, and share and kappa of each category",
    .example = "{\"counts\": [[5, 0], [4, 1], [0, 5], [5, 0], [3, 2], [0, 5]]}",
    .source = "Fleiss 1971; jackknife over items for u",
    .run = run_many,
    .from_table = ef_calc_table_many,
  },
  { 0 },
};
