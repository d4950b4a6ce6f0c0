/* Statistics as JSON and CSV.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-statistics.h"
#include "../base/ef-csv.h"
#include "../base/ef-json.h"

#include <math.h>

static void
put (JsonObject *object,
     const char *member,
     double value)
{
  if (isfinite (value))
    json_object_set_double_member (object, member, value + 0.0);
}

static JsonObject *
wear_object (const EfWearCount *count)
{
  JsonObject *object = json_object_new ();

  json_object_set_string_member (object, "model", count->model);
  json_object_set_string_member (object, "subject", count->subject);
  json_object_set_string_member (object, "title", count->title);
  json_object_set_string_member (object, "source", count->mark ? "mark" : "rule");
  json_object_set_string_member (object, "finding", count->finding);
  json_object_set_int_member (object, "jobs", (gint64) count->jobs.n);
  json_object_set_int_member (object, "of", (gint64) count->jobs.of);
  json_object_set_int_member (object, "scrap", count->scrap);
  put (object, "share", count->jobs.share);
  put (object, "low", count->jobs.low);
  put (object, "high", count->jobs.high);

  return object;
}

static JsonObject *
series_object (const EfClearanceSeries *series)
{
  JsonObject *object = json_object_new ();
  JsonArray *points = json_array_new ();
  const EfTrend *trend = &series->trend;

  json_object_set_string_member (object, "model", series->model);
  json_object_set_string_member (object, "section", series->section);
  put (object, "as_new_um", series->as_new * 1e6);
  json_object_set_int_member (object, "n", trend->n);
  put (object, "intercept_um", trend->intercept * 1e6);
  put (object, "slope_um_per_1000_h", trend->slope * 1e9);
  put (object, "slope_low_um_per_1000_h", trend->slope_low * 1e9);
  put (object, "slope_high_um_per_1000_h", trend->slope_high * 1e9);
  put (object, "robust_slope_um_per_1000_h", trend->robust_slope * 1e9);
  put (object, "robust_intercept_um", trend->robust_intercept * 1e6);
  put (object, "residual_um", trend->residual * 1e6);
  put (object, "r_squared", trend->r_squared);
  for (guint i = 0; i < series->hours->len; i++)
    {
      JsonArray *point = json_array_new ();

      json_array_add_double_element (point, g_array_index (series->hours, double, i));
      json_array_add_double_element (point, g_array_index (series->found, double, i) * 1e6);
      json_array_add_array_element (points, point);
    }
  json_object_set_array_member (object, "points_h_um", points);

  return object;
}

static JsonObject *
step_object (const EfSurvivalStep *step)
{
  JsonObject *object = json_object_new ();

  put (object, "months", step->time);
  json_object_set_int_member (object, "at_risk", step->at_risk);
  json_object_set_int_member (object, "came_back", step->events);
  put (object, "holds", step->holds);
  put (object, "error", step->error);
  put (object, "low", step->low);
  put (object, "high", step->high);

  return object;
}

static JsonObject *
rework_object (const EfStatistics *self)
{
  JsonObject *object = json_object_new ();
  JsonArray *steps = json_array_new ();

  json_object_set_int_member (object, "reworks", self->holds->n);
  json_object_set_int_member (object, "came_back", self->holds->events);
  json_object_set_int_member (object, "without_serial_number", self->n_unserialled);
  put (object, "longest_months", self->holds->longest);
  put (object, "median_months", self->holds->median);
  put (object, "median_hours_of_returns", self->return_hours);
  for (guint i = 0; i < self->holds->steps->len; i++)
    json_array_add_object_element (steps, step_object (&g_array_index (self->holds->steps, EfSurvivalStep, i)));
  json_object_set_array_member (object, "steps", steps);

  return object;
}

JsonNode *
ef_statistics_to_json (const EfStatistics *self)
{
  JsonObject *object = json_object_new ();
  JsonArray *wear = json_array_new ();
  JsonArray *clearance = json_array_new ();

  json_object_set_int_member (object, "jobs", self->n_jobs);
  json_object_set_int_member (object, "worked_out", self->n_known);
  json_object_set_int_member (object, "stale", self->n_stale);
  json_object_set_int_member (object, "rule_sets", self->n_rule_sets);
  json_object_set_double_member (object, "confidence", EF_STATISTICS_CONFIDENCE);
  for (guint i = 0; i < self->wear->len; i++)
    json_array_add_object_element (wear, wear_object (self->wear->pdata[i]));
  for (guint i = 0; i < self->clearance->len; i++)
    json_array_add_object_element (clearance, series_object (self->clearance->pdata[i]));
  json_object_set_array_member (object, "wear", wear);
  json_object_set_array_member (object, "clearance", clearance);
  json_object_set_object_member (object, "rework", rework_object (self));

  return ef_json_object_node (object);
}

char *
ef_statistics_wear_csv (const EfStatistics *self)
{
  GString *csv = g_string_new (NULL);

  ef_csv_head (csv, "model", "subject", "title", "source", "finding", "jobs", "of", "share", "low_95", "high_95", "exact_low_95", "exact_high_95", "scrap", NULL);
  for (guint i = 0; i < self->wear->len; i++)
    {
      const EfWearCount *count = self->wear->pdata[i];

      ef_csv_text (csv, count->model);
      ef_csv_text (csv, count->subject);
      ef_csv_text (csv, count->title);
      ef_csv_text (csv, count->mark ? "mark" : "rule");
      ef_csv_text (csv, count->finding);
      ef_csv_integer (csv, (gint64) count->jobs.n);
      ef_csv_integer (csv, (gint64) count->jobs.of);
      ef_csv_number (csv, count->jobs.share);
      ef_csv_number (csv, count->jobs.low);
      ef_csv_number (csv, count->jobs.high);
      ef_csv_number (csv, count->jobs.exact_low);
      ef_csv_number (csv, count->jobs.exact_high);
      ef_csv_integer (csv, count->scrap);
      ef_csv_end (csv);
    }

  return g_string_free (csv, FALSE);
}

char *
ef_statistics_clearance_csv (const EfStatistics *self)
{
  GString *csv = g_string_new (NULL);

  ef_csv_head (csv, "model", "section", "hours", "end_clearance_um", "line_um", "band_low_95_um", "band_high_95_um", NULL);
  for (guint i = 0; i < self->clearance->len; i++)
    {
      const EfClearanceSeries *series = self->clearance->pdata[i];

      for (guint k = 0; k < series->hours->len; k++)
        {
          double low, high;
          double line = ef_trend_at (&series->trend, g_array_index (series->hours, double, k), &low, &high);

          ef_csv_text (csv, series->model);
          ef_csv_text (csv, series->section);
          ef_csv_number (csv, g_array_index (series->hours, double, k));
          ef_csv_number (csv, g_array_index (series->found, double, k) * 1e6);
          ef_csv_number (csv, line * 1e6);
          ef_csv_number (csv, low * 1e6);
          ef_csv_number (csv, high * 1e6);
          ef_csv_end (csv);
        }
    }

  return g_string_free (csv, FALSE);
}

char *
ef_statistics_rework_csv (const EfStatistics *self)
{
  GString *csv = g_string_new (NULL);

  ef_csv_head (csv, "model", "serial", "job", "reworked", "months", "came_back", "next_job", "hours_run", "share_that_holds", "low_95", "high_95", NULL);
  for (guint i = 0; i < self->spells->len; i++)
    {
      const EfReworkSpell *spell = self->spells->pdata[i];
      EfSurvivalStep step;

      ef_survival_at (self->holds, spell->months, &step);
      ef_csv_text (csv, spell->model);
      ef_csv_text (csv, spell->serial);
      ef_csv_text (csv, spell->number);
      ef_csv_text (csv, spell->day);
      ef_csv_number (csv, spell->months);
      ef_csv_integer (csv, spell->came_back);
      ef_csv_text (csv, spell->next);
      ef_csv_number (csv, spell->hours);
      ef_csv_number (csv, step.holds);
      ef_csv_number (csv, step.low);
      ef_csv_number (csv, step.high);
      ef_csv_end (csv);
    }

  return g_string_free (csv, FALSE);
}
