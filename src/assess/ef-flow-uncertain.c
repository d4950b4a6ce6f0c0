/* How sure the clearances of a section are, and how far they are off together for being read with the same gauges.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

#include <math.h>

static const char *const places[2] = { "drive", "driven" };

/* Of the derived values the gear's side play is half of a clearance. */
static const EfDerived *
term_derived (const EfFindings *findings,
              const EfSection *section,
              guint term,
              double *factor)
{
  guint gear = term % 2;

  *factor = term >= EF_FLOW_PLAY ? 0.5 : 1.0;
  if (term >= EF_FLOW_PLAY)
    return ef_flow_bore_clearance (findings, section, (int) gear);

  return ef_derived_find (findings->derived, term >= EF_FLOW_TIP ? "tip-clearance" : "end-clearance", section->id, places[gear]);
}

static gboolean
is_taken_off (const EfReading *reading)
{
  return reading->quantity == EF_READ_FACE_WIDTH || reading->quantity == EF_READ_JOURNAL_DIAMETER;
}

static guint
count_like (const EfInspection *inspection,
            const EfDerived *derived,
            EfQuantity quantity)
{
  guint n = 0;

  for (guint i = 0; i < derived->reading_ids->len; i++)
    {
      const EfReading *reading = ef_inspection_find (inspection, EF_ITEM_READING, derived->reading_ids->pdata[i]);

      n += reading != NULL && reading->quantity == quantity;
    }

  return MAX (n, 1);
}

/* Adds to @common, by gauge, what of the value's standard uncertainty the gauge has in common with all else that it reads, with its sign. Readings
 * that make one mean count alike. */
static void
add_common (const EfInspection *inspection,
            const EfDerived *derived,
            double factor,
            double *common)
{
  GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];

  for (guint i = 0; i < derived->reading_ids->len; i++)
    {
      const EfReading *reading = ef_inspection_find (inspection, EF_ITEM_READING, derived->reading_ids->pdata[i]);
      const EfGauge *gauge = reading != NULL && reading->gauge_id != NULL ? ef_inspection_find (inspection, EF_ITEM_GAUGE, reading->gauge_id) : NULL;
      double share;
      guint k;

      if (gauge == NULL || !(gauge->uncertainty > 0.0) || !g_ptr_array_find (gauges, gauge, &k))
        continue;
      share = factor / count_like (inspection, derived, reading->quantity);
      common[k] += (is_taken_off (reading) ? -share : share) * 0.5 * gauge->uncertainty * sqrt (EF_SAME_GAUGE_CORRELATION);
    }
}

/* What is common can't be more than there is. */
static void
limit_common (double *common,
              guint n,
              double u)
{
  double squares = 0.0;

  for (guint k = 0; k < n; k++)
    squares += common[k] * common[k];
  if (squares <= u * u)
    return;
  for (guint k = 0; k < n; k++)
    common[k] *= u / sqrt (squares);
}

static double
correlation_of (const double *a,
                double u_a,
                const double *b,
                double u_b,
                guint n)
{
  double sum = 0.0;

  if (u_a == 0.0 || u_b == 0.0)
    return 0.0;
  for (guint k = 0; k < n; k++)
    sum += a[k] / u_a * (b[k] / u_b);

  return CLAMP (sum, -1.0, 1.0);
}

gboolean
ef_flow_clearances_uncertain (const EfFindings *findings,
                              const EfSection *section,
                              double u[EF_FLOW_TERMS],
                              double correlation[EF_FLOW_TERMS * EF_FLOW_TERMS])
{
  const EfInspection *inspection = findings->inspection;
  guint n = inspection->items[EF_ITEM_GAUGE]->len;
  g_autofree double *common = g_new0 (double, EF_FLOW_TERMS * n + 1);

  for (guint i = 0; i < EF_FLOW_TERMS; i++)
    {
      double factor;
      const EfDerived *derived = term_derived (findings, section, i, &factor);

      u[i] = derived != NULL ? factor * derived->uncertainty : NAN;
      if (isnan (u[i]) && i < EF_FLOW_TIP)
        return FALSE;
      if (isnan (u[i]))
        u[i] = 0.0;
      else
        add_common (inspection, derived, factor, common + i * n);
      limit_common (common + i * n, n, u[i]);
    }
  for (guint i = 0; i < EF_FLOW_TERMS; i++)
    for (guint k = 0; k < EF_FLOW_TERMS; k++)
      correlation[i * EF_FLOW_TERMS + k] = i == k ? 1.0 : correlation_of (common + i * n, u[i], common + k * n, u[k], n);

  return TRUE;
}
