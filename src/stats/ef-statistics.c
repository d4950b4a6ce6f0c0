/* Statistics from the store's outcomes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-statistics.h"
#include "../record/ef-store-outcome.h"
#include "../record/ef-store-private.h"
#include "../record/ef-store-schema.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The jobs asked for. Bound as "sss": model, from, to; NULL for any. Withdrawn jobs and attempts at lessons never count. */
#define JOBS_ASKED "withdrawn = 0 AND lesson = '' AND (?1 IS NULL OR model = ?1) AND (?2 IS NULL OR day >= ?2) AND (?3 IS NULL OR day <= ?3)"

typedef gboolean (*ReadRow) (EfStatistics *self, sqlite3_stmt *statement, gpointer data);

static void
wear_free (gpointer data)
{
  EfWearCount *count = data;

  g_free (count->model);
  g_free (count->subject);
  g_free (count->title);
  g_free (count->finding);
  g_free (count);
}

static void
series_free (gpointer data)
{
  EfClearanceSeries *series = data;

  g_free (series->model);
  g_free (series->section);
  g_free (series->title);
  g_array_unref (series->hours);
  g_array_unref (series->found);
  g_free (series);
}

static void
spell_free (gpointer data)
{
  EfReworkSpell *spell = data;

  g_free (spell->model);
  g_free (spell->serial);
  g_free (spell->number);
  g_free (spell->day);
  g_free (spell->next);
  g_free (spell);
}

/* Runs @text with the query bound and hands each row on; polls @cancellable. */
static gboolean
read_rows (EfStatistics *self,
           EfStore *store,
           const EfStatisticsQuery *query,
           const char *text,
           ReadRow take,
           gpointer data,
           GCancellable *cancellable,
           GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, text, "sss", query->model, query->from, query->to);
  guint n = 0;
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  while (row)
    {
      if (n++ % 1024 == 0 && g_cancellable_is_cancelled (cancellable))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: statistics were stopped", store->sql.name);
          return FALSE;
        }
      take (self, statement, data);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return FALSE;
    }

  return TRUE;
}

static gboolean
take_model (EfStatistics *self,
            sqlite3_stmt *statement,
            gpointer data)
{
  GHashTable *known = data;
  guint n = (guint) sqlite3_column_int64 (statement, 2);

  self->n_jobs += (guint) sqlite3_column_int64 (statement, 1);
  self->n_known += n;
  g_hash_table_insert (known, ef_sql_column_text (statement, 0), GUINT_TO_POINTER (n));

  return TRUE;
}

static gboolean
take_wear (EfStatistics *self,
           sqlite3_stmt *statement,
           gpointer data)
{
  GHashTable *known = data;
  EfWearCount *count = g_new0 (EfWearCount, 1);
  guint of;

  count->model = ef_sql_column_text (statement, 0);
  count->subject = ef_sql_column_text (statement, 1);
  count->title = ef_sql_column_text (statement, 2);
  count->mark = g_strcmp0 ((const char *) sqlite3_column_text (statement, 3), "mark") == 0;
  count->finding = ef_sql_column_text (statement, 4);
  count->scrap = (guint) sqlite3_column_int64 (statement, 6);
  of = GPOINTER_TO_UINT (g_hash_table_lookup (known, count->model));
  count->jobs = ef_proportion (MIN ((guint) sqlite3_column_int64 (statement, 5), of), of, EF_STATISTICS_CONFIDENCE);
  g_ptr_array_add (self->wear, count);

  return TRUE;
}

static gboolean
take_clearance (EfStatistics *self,
                sqlite3_stmt *statement,
                gpointer data)
{
  EfClearanceSeries *series = self->clearance->len > 0 ? self->clearance->pdata[self->clearance->len - 1] : NULL;
  const char *model = (const char *) sqlite3_column_text (statement, 0);
  const char *section = (const char *) sqlite3_column_text (statement, 1);
  double hours = sqlite3_column_double (statement, 4);
  double found = sqlite3_column_double (statement, 5);

  if (series == NULL || g_strcmp0 (series->model, model) != 0 || g_strcmp0 (series->section, section) != 0)
    {
      series = g_new0 (EfClearanceSeries, 1);
      series->model = ef_sql_column_text (statement, 0);
      series->section = ef_sql_column_text (statement, 1);
      series->title = ef_sql_column_text (statement, 2);
      series->as_new = ef_sql_column_double (statement, 3);
      series->hours = g_array_new (FALSE, FALSE, sizeof (double));
      series->found = g_array_new (FALSE, FALSE, sizeof (double));
      g_ptr_array_add (self->clearance, series);
    }
  g_array_append_val (series->hours, hours);
  g_array_append_val (series->found, found);

  return TRUE;
}

/* A job of a pump that is known by its serial number, in order of time. */
typedef struct
{
  char *model, *serial, *number, *day, *verdict, *reworked;
  char *pump;    /* model and serial number as they compare */
  double hours;
  gboolean asked; /* within the days asked for */
} Visit;

static void
visit_free (gpointer data)
{
  Visit *visit = data;

  g_free (visit->model);
  g_free (visit->serial);
  g_free (visit->number);
  g_free (visit->day);
  g_free (visit->verdict);
  g_free (visit->reworked);
  g_free (visit->pump);
  g_free (visit);
}

static gboolean
take_visit (EfStatistics *self,
            sqlite3_stmt *statement,
            gpointer data)
{
  GPtrArray *visits = data;
  Visit *visit = g_new0 (Visit, 1);
  g_autofree char *serial = NULL;

  visit->model = ef_sql_column_text (statement, 0);
  visit->serial = g_strstrip (ef_sql_column_text (statement, 1));
  visit->number = ef_sql_column_text (statement, 2);
  visit->day = ef_sql_column_text (statement, 3);
  visit->verdict = ef_sql_column_text (statement, 4);
  visit->reworked = ef_sql_column_text (statement, 5);
  visit->hours = ef_sql_column_double (statement, 6);
  visit->asked = sqlite3_column_int (statement, 7) != 0;
  serial = ef_store_plain (visit->serial);
  visit->pump = g_strconcat (visit->model, "\n", serial, NULL);
  if (*visit->serial != '\0')
    g_ptr_array_add (visits, visit);
  else
    {
      self->n_unserialled += visit->asked && visit->reworked != NULL && *visit->reworked != '\0';
      visit_free (visit);
    }

  return TRUE;
}

/* Equal pumps side by side; the rows came in order of time, which stays. */
static int
compare_visits (gconstpointer a,
                gconstpointer b,
                gpointer unused)
{
  return strcmp ((*(Visit *const *) a)->pump, (*(Visit *const *) b)->pump);
}

/* Days from one ISO day to another; NAN where one isn't a day. */
static double
days_between (const char *from,
              const char *to)
{
  GDate days[2];
  const char *const texts[2] = { from, to };

  for (int i = 0; i < 2; i++)
    {
      int year, month, day;

      if (texts[i] == NULL || sscanf (texts[i], "%4d-%2d-%2d", &year, &month, &day) != 3
          || !g_date_valid_dmy ((GDateDay) CLAMP (day, 0, 99), (GDateMonth) CLAMP (month, 0, 13), (GDateYear) CLAMP (year, 0, 9999)))
        return NAN;
      g_date_clear (&days[i], 1);
      g_date_set_dmy (&days[i], (GDateDay) day, (GDateMonth) month, (GDateYear) year);
    }

  return g_date_days_between (&days[0], &days[1]);
}

static gboolean
is_one_of (const char *word,
           const char *first,
           const char *second)
{
  return g_strcmp0 (word, first) == 0 || g_strcmp0 (word, second) == 0;
}

/* What became of the rework of visit @i: it came back for rework or scrap; or it was last seen at a visit with an open verdict; or nothing was heard of it up
 * to today. A visit at which it was found good for use again counts as holding on. */
static void
follow (EfStatistics *self,
        GPtrArray *visits,
        guint i,
        const char *today)
{
  const Visit *visit = visits->pdata[i];
  EfReworkSpell *spell = g_new0 (EfReworkSpell, 1);
  const char *end = today;
  double days;

  spell->hours = NAN;
  for (guint k = i + 1; k < visits->len; k++)
    {
      const Visit *later = visits->pdata[k];

      if (!g_str_equal (later->pump, visit->pump))
        break;
      if (g_strcmp0 (later->day, visit->reworked) < 0 || is_one_of (later->verdict, "use-again", NULL))
        continue;
      spell->came_back = is_one_of (later->verdict, "rework", "scrap");
      spell->next = g_strdup (later->number);
      spell->hours = later->hours >= visit->hours ? later->hours - visit->hours : NAN;
      end = later->day;
      break;
    }
  days = days_between (visit->reworked, end);
  if (!(days >= 0))
    {
      spell_free (spell);
      return;
    }
  spell->months = days / EF_DAYS_OF_MONTH;
  spell->model = g_strdup (visit->model);
  spell->serial = g_strdup (visit->serial);
  spell->number = g_strdup (visit->number);
  spell->day = g_strdup (visit->reworked);
  g_ptr_array_add (self->spells, spell);
}

static int
compare_doubles (gconstpointer a,
                 gconstpointer b)
{
  double x = *(const double *) a;
  double y = *(const double *) b;

  return (x > y) - (x < y);
}

static void
count_spells (EfStatistics *self)
{
  g_autofree EfSpell *spells = g_new0 (EfSpell, self->spells->len + 1);
  g_autoptr (GArray) hours = g_array_new (FALSE, FALSE, sizeof (double));

  for (guint i = 0; i < self->spells->len; i++)
    {
      const EfReworkSpell *spell = self->spells->pdata[i];

      spells[i] = (EfSpell) { spell->months, spell->came_back };
      if (spell->came_back && isfinite (spell->hours))
        g_array_append_val (hours, spell->hours);
    }
  self->holds = ef_survival_new (spells, self->spells->len, EF_STATISTICS_CONFIDENCE);
  self->n_return_hours = hours->len;
  self->return_hours = NAN;
  if (hours->len > 0)
    {
      g_array_sort (hours, compare_doubles);
      self->return_hours = 0.5 * (g_array_index (hours, double, (hours->len - 1) / 2) + g_array_index (hours, double, hours->len / 2));
    }
}

static gboolean
find_spells (EfStatistics *self,
             EfStore *store,
             const EfStatisticsQuery *query,
             GCancellable *cancellable,
             GError **error)
{
  static const char text[] =
    "SELECT model, serial, number, day, verdict, coalesce (reworked, ''), hours, (?2 IS NULL OR day >= ?2) AND (?3 IS NULL OR day <= ?3)"
    " FROM job LEFT JOIN outcome ON outcome.job = job.id WHERE withdrawn = 0 AND lesson = '' AND (?1 IS NULL OR model = ?1) ORDER BY day, job.id";
  g_autoptr (GPtrArray) visits = g_ptr_array_new_with_free_func (visit_free);
  g_autoptr (GDateTime) now = g_date_time_new_now_local ();
  g_autofree char *clock_day = g_date_time_format (now, "%Y-%m-%d");

  if (!read_rows (self, store, query, text, take_visit, visits, cancellable, error))
    return FALSE;
  g_ptr_array_sort_with_data (visits, compare_visits, NULL);
  for (guint i = 0; i < visits->len; i++)
    {
      const Visit *visit = visits->pdata[i];

      /* A pump that is scrap didn't go back to work, whatever was done to it. */
      if (visit->asked && *visit->reworked != '\0' && g_strcmp0 (visit->verdict, "scrap") != 0)
        follow (self, visits, i, query->today != NULL ? query->today : clock_day);
    }
  count_spells (self);

  return TRUE;
}

static void
find_trends (EfStatistics *self)
{
  for (guint i = 0; i < self->clearance->len; i++)
    {
      EfClearanceSeries *series = self->clearance->pdata[i];

      series->trend = ef_trend ((double *) (gpointer) series->hours->data, (double *) (gpointer) series->found->data, series->hours->len, EF_STATISTICS_CONFIDENCE);
    }
}

static gboolean
count_rest (EfStatistics *self,
            EfStore *store,
            const EfStatisticsQuery *query,
            GError **error)
{
  g_autoptr (GArray) stale = ef_store_stale_outcomes (store, 0, error);
  g_auto (GStrv) models = stale != NULL ? ef_store_job_models (store, error) : NULL;
  gint64 rule_sets;

  if (models == NULL
      || !ef_sql_integer (&store->sql, 0, &rule_sets, error,
                          "SELECT count (DISTINCT CASE WHEN instr (rules, ' + ') > 0 THEN substr (rules, 1, instr (rules, ' + ') - 1) ELSE rules END) FROM outcome JOIN job ON job.id = outcome.job WHERE " JOBS_ASKED, "sss", query->model, query->from, query->to))
    return FALSE;
  self->n_stale = stale->len;
  self->n_rule_sets = (guint) rule_sets;
  for (guint i = 0; models[i] != NULL; i++)
    g_ptr_array_add (self->models, g_strdup (models[i]));

  return TRUE;
}

EfStatistics *
ef_statistics_new (EfStore *store,
                   const EfStatisticsQuery *query,
                   GCancellable *cancellable,
                   GError **error)
{
  g_autoptr (EfStatistics) self = g_new0 (EfStatistics, 1);
  g_autoptr (GHashTable) known = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  static const EfStatisticsQuery all = { 0 };

  g_return_val_if_fail (store != NULL, NULL);
  if (query == NULL)
    query = &all;
  self->models = g_ptr_array_new_with_free_func (g_free);
  self->wear = g_ptr_array_new_with_free_func (wear_free);
  self->clearance = g_ptr_array_new_with_free_func (series_free);
  self->spells = g_ptr_array_new_with_free_func (spell_free);
  if (!read_rows (self, store, query,
                  "SELECT model, count (*), count (outcome.job) FROM job LEFT JOIN outcome ON outcome.job = job.id WHERE " JOBS_ASKED " GROUP BY model",
                  take_model, known, cancellable, error)
      || !read_rows (self, store, query,
                     "SELECT model, subject, max (title), source, finding, count (*) AS n, sum (word = 'scrap') FROM outcome_finding JOIN job ON job.id = outcome_finding.job"
                     " WHERE word IN ('rework', 'scrap') AND " JOBS_ASKED " GROUP BY model, subject, source, finding ORDER BY model, n DESC, subject, source, finding",
                     take_wear, known, cancellable, error)
      || !read_rows (self, store, query,
                     "SELECT model, section, max (title), max (as_new), hours, max (found) FROM outcome_clearance JOIN job ON job.id = outcome_clearance.job"
                     " JOIN outcome ON outcome.job = job.id WHERE hours IS NOT NULL AND " JOBS_ASKED " GROUP BY model, section, job.id ORDER BY model, section, job.id",
                     take_clearance, NULL, cancellable, error)
      || !find_spells (self, store, query, cancellable, error)
      || !count_rest (self, store, query, error))
    return NULL;
  find_trends (self);

  return g_steal_pointer (&self);
}

EfStatistics *
ef_statistics_read (const char *path,
                    const EfStatisticsQuery *query,
                    GCancellable *cancellable,
                    GError **error)
{
  g_autoptr (EfStore) store = NULL;

  g_return_val_if_fail (path != NULL, NULL);
  store = ef_store_open (path, error);

  return store != NULL ? ef_statistics_new (store, query, cancellable, error) : NULL;
}

void
ef_statistics_free (EfStatistics *self)
{
  if (self == NULL)
    return;

  g_clear_pointer (&self->models, g_ptr_array_unref);
  g_clear_pointer (&self->wear, g_ptr_array_unref);
  g_clear_pointer (&self->clearance, g_ptr_array_unref);
  g_clear_pointer (&self->spells, g_ptr_array_unref);
  g_clear_pointer (&self->holds, ef_survival_free);
  g_free (self);
}
