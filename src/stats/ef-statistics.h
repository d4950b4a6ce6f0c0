/* What a shop's own jobs tell: what wears out on which model, end clearance against running hours, how often rework held.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All from the outcomes that the store keeps (record/ef-store-outcome.h): nothing is assessed. Withdrawn jobs and attempts at lessons don't count.
 * They describe the jobs that came to this shop, not the pumps in use: a pump that never came isn't among them.
 */
#pragma once

#include <json-glib/json-glib.h>
#include "../record/ef-store.h"
#include "ef-proportion.h"
#include "ef-survival.h"
#include "ef-trend.h"

G_BEGIN_DECLS

#define EF_STATISTICS_CONFIDENCE 0.95

typedef struct
{
  const char *model;     /* NULL: all */
  const char *from, *to; /* day received, ISO, inclusive; NULL open */
  const char *today;     /* up to when nothing was heard of what didn't come back; NULL: the clock's day */
} EfStatisticsQuery;

/* A finding on a part (or pair, or section) of one model that led to rework or scrap. */
typedef struct
{
  char *model, *subject, *title, *finding;
  gboolean mark;         /* a kind of mark, else a rule */
  guint scrap;           /* of these jobs: where it led to scrap */
  EfProportion jobs;     /* that have it, of all jobs of the model */
} EfWearCount;

/* End clearances of one section of one model: each job's greater one of the two gears. */
typedef struct
{
  char *model, *section, *title;
  double as_new;         /* middle of the limits as new, m; NAN */
  GArray *hours, *found; /* double: h, m */
  EfTrend trend;         /* m over h */
} EfClearanceSeries;

/* One rework, and what became of it. */
typedef struct
{
  char *model, *serial, *number; /* of the job that was reworked */
  char *day;             /* when */
  char *next;            /* number of the job it ended with or was last seen in; NULL */
  double months;         /* calendar time watched */
  double hours;          /* run between the two jobs, where both noted them; NAN */
  gboolean came_back;    /* for rework or scrap */
} EfReworkSpell;

typedef struct
{
  guint n_jobs;          /* of the model and days asked for */
  guint n_known;         /* of these with an outcome, on which all below rests */
  guint n_stale;         /* of all jobs of the store: without an up-to-date outcome */
  guint n_rule_sets;     /* shared rule sets they were judged by, the sheets' own apart; more than one: not quite comparable */
  GPtrArray *models;     /* char *: all there are in the store */
  GPtrArray *wear;       /* EfWearCount *, by model, commonest first */
  GPtrArray *clearance;  /* EfClearanceSeries * */
  GPtrArray *spells;     /* EfReworkSpell * */
  guint n_unserialled;   /* reworked jobs without a serial number: nobody would know them again */
  EfSurvival *holds;     /* over months */
  double return_hours;   /* median hours run of those that came back, where noted; NAN */
  guint n_return_hours;
} EfStatistics;

/* Counts what is kept of the jobs that @query (NULL: all) asks for; outcomes that are missing or stale are told in n_stale, not made. EF_ERROR_CANCELLED. */
EfStatistics *ef_statistics_new (EfStore *store, const EfStatisticsQuery *query, GCancellable *cancellable, GError **error);
/* The same with a store handle of its own: for workers. */
EfStatistics *ef_statistics_read (const char *path, const EfStatisticsQuery *query, GCancellable *cancellable, GError **error);
void ef_statistics_free (EfStatistics *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfStatistics, ef_statistics_free)

/* Average days of a month in the Gregorian calendar. */
#define EF_DAYS_OF_MONTH 30.436875

/* Schema: data/schemas/statistics.schema.json. */
JsonNode *ef_statistics_to_json (const EfStatistics *self);
/* The data of one plot as CSV; free with g_free(). Lengths in µm. */
char *ef_statistics_wear_csv (const EfStatistics *self);
char *ef_statistics_clearance_csv (const EfStatistics *self);
char *ef_statistics_rework_csv (const EfStatistics *self);

G_END_DECLS
