/* What the statistics say, in sentences.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-statistics.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define FEW 10 /* cases: below, a warning stands with them */

char *
ef_statistics_wear_label (const EfWearCount *count, gboolean with_model)
{
  g_autofree char *label = ef_finding_label (count->finding);
  g_autofree char *finding = g_utf8_strdown (_ (label), -1);

  return with_model ? g_strdup_printf (_("%s, %s: %s"), count->model, count->title, finding) : g_strdup_printf (_("%s: %s"), count->title, finding);
}

static void
add (GString *text, char *sentence)
{
  if (text->len > 0)
    g_string_append_c (text, ' ');
  g_string_append (text, sentence);
  g_free (sentence);
}

static const EfWearCount *
commonest (const EfStatistics *statistics)
{
  const EfWearCount *best = NULL;

  for (guint i = 0; i < statistics->wear->len; i++)
    {
      const EfWearCount *count = statistics->wear->pdata[i];

      if (best == NULL || count->jobs.low > best->jobs.low || (count->jobs.low == best->jobs.low && count->jobs.n > best->jobs.n))
        best = count;
    }

  return best;
}

static void
add_few (GString *text, guint n)
{
  if (n < FEW)
    add (text, g_strdup (_("That is few: take it as a hint, not as a number to plan with.")));
}

static void
say_wear (GString *text, const EfStatistics *statistics)
{
  const EfWearCount *count = commonest (statistics);
  g_autofree char *label = count != NULL ? ef_statistics_wear_label (count, TRUE) : NULL;

  if (statistics->n_known == 0)
    return;
  if (count == NULL)
    {
      add (text, g_strdup_printf (_("Of %u jobs, none asked for rework or scrap."), statistics->n_known));
      return;
    }
  add (text, g_strdup_printf (_("Foremost: %s, in %u of the model's %u jobs (%.0f %%; between %.0f and %.0f %% with 95 %% confidence)."), label, (guint) count->jobs.n,
                              (guint) count->jobs.of, 100 * count->jobs.share, 100 * count->jobs.low, 100 * count->jobs.high));
  if (count->scrap > 0)
    add (text, g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "In %u of them it meant scrap.", "In %u of them it meant scrap.", count->scrap), count->scrap));
  if (statistics->wear->len > ef_statistics_wear_rows (statistics))
    add (text, g_strdup_printf (_("%u findings are shown of %u; all are in the CSV."), ef_statistics_wear_rows (statistics), statistics->wear->len));
  add_few (text, (guint) count->jobs.of);
  add (text, g_strdup (_("The bars count jobs that came to this shop and asked for rework or scrap there; pumps that never came aren't among them.")));
}

static void
say_series (GString *text, const EfClearanceSeries *series)
{
  const EfTrend *trend = &series->trend;
  g_autofree char *name = g_strdup_printf (_("%s, %s"), series->model, series->title);

  if (!trend->known)
    {
      add (text, g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%s: %u job, too few for a line.", "%s: %u jobs, too few for a line.", trend->n), name, trend->n));
      return;
    }
  add (text, g_strdup_printf (_("%s: %+.1f µm in 1000 h (between %+.1f and %+.1f with 95 %% confidence; %u jobs)."), name, trend->slope * 1e9, trend->slope_low * 1e9,
                              trend->slope_high * 1e9, trend->n));
  if (trend->slope_low <= 0 && trend->slope_high >= 0)
    add (text, g_strdup (_("That may as well be none.")));
  else if (isfinite (trend->robust_slope) && (trend->robust_slope < trend->slope_low || trend->robust_slope > trend->slope_high))
    add (text, g_strdup_printf (_("A few odd jobs draw the line: without their weight it is %+.1f µm in 1000 h."), trend->robust_slope * 1e9));
}

static void
say_clearance (GString *text, const EfStatistics *statistics)
{
  if (statistics->clearance->len == 0)
    {
      add (text, g_strdup (_("Note running hours in a job's details, and measure end clearance as found: then each job is a point here.")));
      return;
    }
  for (guint i = 0; i < statistics->clearance->len; i++)
    say_series (text, statistics->clearance->pdata[i]);
  add (text, g_strdup (_("A point is a job: the greater of its two gears. The band is where the mean lies, not the single pump.")));
}

static void
say_at (GString *text, const EfSurvival *holds, double months)
{
  EfSurvivalStep step;

  if (!ef_survival_at (holds, months, &step) || holds->events == 0)
    return;
  add (text, g_strdup_printf (_("After %.0f months %.0f %% still hold (between %.0f and %.0f %% with 95 %% confidence)."), months, 100 * step.holds, 100 * step.low, 100 * step.high));
}

static void
say_rework (GString *text, const EfStatistics *statistics)
{
  const EfSurvival *holds = statistics->holds;

  if (holds->n == 0)
    {
      add (text, g_strdup (_("A rework counts once work or a reading after it is recorded in the job, and the pump has a serial number to know it by.")));
      return;
    }
  add (text, g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u rework of pumps with a serial number; %u came back for rework or scrap.",
                                           "%u reworks of pumps with a serial number; %u came back for rework or scrap.", holds->n),
                              holds->n, holds->events));
  say_at (text, holds, 12);
  say_at (text, holds, 24);
  say_at (text, holds, 60);
  if (holds->events == 0)
    add (text, g_strdup_printf (_("The longest was watched for %.0f months."), holds->longest));
  if (isfinite (holds->median))
    add (text, g_strdup_printf (_("Half had come back after %.0f months."), holds->median));
  if (statistics->n_return_hours > 0)
    add (text, g_strdup_printf (_("Those that came back had run %.0f h in the median (%u with hours noted both times)."), statistics->return_hours, statistics->n_return_hours));
  add_few (text, holds->n);
  if (statistics->n_unserialled > 0)
    add (text, g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u reworked pump has no serial number and isn't counted.", "%u reworked pumps have no serial number and aren't counted.",
                                             statistics->n_unserialled),
                                statistics->n_unserialled));
  add (text, g_strdup (_("A pump that broke and was taken elsewhere counts here as holding.")));
}

char *
ef_statistics_words (const EfStatistics *statistics, EfStatisticsPlot plot)
{
  GString *text = g_string_new (NULL);

  if (plot == EF_STATISTICS_WEAR)
    say_wear (text, statistics);
  else if (plot == EF_STATISTICS_CLEARANCE)
    say_clearance (text, statistics);
  else
    say_rework (text, statistics);

  return g_string_free (text, FALSE);
}

char *
ef_statistics_csv (const EfStatistics *statistics, EfStatisticsPlot plot)
{
  if (plot == EF_STATISTICS_WEAR)
    return ef_statistics_wear_csv (statistics);

  return plot == EF_STATISTICS_CLEARANCE ? ef_statistics_clearance_csv (statistics) : ef_statistics_rework_csv (statistics);
}
