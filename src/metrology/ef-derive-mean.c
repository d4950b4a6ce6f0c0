/* Means of readings and what they're good for.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-derive-private.h"
#include "ef-propagate.h"

#include <math.h>
#include <string.h>

#define REFERENCE 293.15           /* K: ISO 1 */
#define TEMPERATURE_HALF_WIDTH 1.0 /* K: how well a part's temperature is known; common practice, no source */
#define EXPANSION_HALF_WIDTH 0.1   /* as a share of the coefficient: tables differ by as much */

static double
expansion_of (const EfPumpSheet *sheet,
              const char *part_id)
{
  const EfPart *part = part_id != NULL ? ef_pump_sheet_part (sheet, part_id) : NULL;
  double alpha;

  return part != NULL && ef_material_expansion (part->material, &alpha) ? alpha : 0;
}

/* Growth in m per K of what was measured, as signed terms that don't go together: a length, or a pocket less the gear in it. */
static void
find_growth (const EfPumpSheet *sheet,
             const EfReading *reading,
             double growth[2])
{
  const EfSection *section = ef_pump_sheet_section (sheet, reading->target);
  const EfPart *gear;

  growth[0] = growth[1] = 0;
  switch (reading->quantity)
    {
    case EF_READ_FACE_WIDTH:
    case EF_READ_JOURNAL_DIAMETER:
    case EF_READ_BORE_DIAMETER:
      growth[0] = reading->value * expansion_of (sheet, reading->target);
      break;
    case EF_READ_POCKET_DEPTH:
      growth[0] = section != NULL ? reading->value * expansion_of (sheet, section->pocket_part) : 0;
      break;
    case EF_READ_END_CLEARANCE:
      if (section == NULL)
        break;
      gear = ef_pump_sheet_part (sheet, section->gear_part[g_strcmp0 (reading->place, "driven") == 0 ? 1 : 0]);
      if (gear == NULL || isnan (gear->thickness))
        break;
      growth[0] = section->pocket_depth * expansion_of (sheet, section->pocket_part);
      growth[1] = -gear->thickness * expansion_of (sheet, gear->id);
      break;
    case EF_READ_TIP_CLEARANCE:
    case EF_READ_BACKLASH:
    case EF_READ_SIDE_PLAY:
    case EF_READ_FLATNESS:
    case EF_N_READINGS:
    default:
      break;
    }
}

void
ef_derive_to_20 (const EfPumpSheet *sheet,
                 EfEntry *entry)
{
  double warmth = entry->reading->temperature - REFERENCE;
  double growth[2];

  entry->value = entry->reading->value;
  entry->shift = entry->u_warmth = 0;
  if (!(fabs (warmth) < 500))
    return;
  find_growth (sheet, entry->reading, growth);
  entry->shift = -(growth[0] + growth[1]) * warmth;
  entry->value += entry->shift;
  entry->u_warmth = sqrt (pow (ef_u_rectangular (TEMPERATURE_HALF_WIDTH) * (growth[0] + growth[1]), 2)
                          + pow (ef_u_rectangular (EXPANSION_HALF_WIDTH) * warmth, 2) * (growth[0] * growth[0] + growth[1] * growth[1]));
}

static int
compare_numbers (double a,
                 double b)
{
  return a < b ? -1 : a > b;
}

static int
compare_group (const EfReading *a,
               EfQuantity quantity,
               const char *target,
               const char *place)
{
  int order = (int) a->quantity - (int) quantity;

  if (order == 0)
    order = g_strcmp0 (a->target, target);
  return order != 0 ? order : g_strcmp0 (a->place, place);
}

gboolean
ef_derive_same_group (const EfReading *a,
                      const EfReading *b)
{
  return compare_group (a, b->quantity, b->target, b->place) == 0;
}

static int
compare_place (const EfEntry *a,
               const EfEntry *b)
{
  int order = a->direction - b->direction;

  if (order != 0 || a->reading->quantity != EF_READ_FLATNESS)
    return order;
  order = compare_numbers (a->reading->u, b->reading->u);
  return order != 0 ? order : compare_numbers (a->reading->v, b->reading->v);
}

int
ef_derive_compare (gconstpointer left,
                   gconstpointer right)
{
  const EfEntry *a = left;
  const EfEntry *b = right;
  int order = compare_group (a->reading, b->reading->quantity, b->reading->target, b->reading->place);

  if (order == 0)
    order = compare_place (a, b);
  if (order == 0)
    order = compare_numbers (a->value, b->value);
  if (order == 0)
    order = g_strcmp0 (a->reading->gauge_id, b->reading->gauge_id);
  return order != 0 ? order : g_strcmp0 (a->reading->item.id, b->reading->item.id);
}

EfGroup
ef_derive_find (const EfDerivation *work,
                EfQuantity quantity,
                const char *target,
                const char *place)
{
  guint low = 0;
  guint high = work->n;
  EfGroup group;

  while (low < high)
    {
      guint middle = low + (high - low) / 2;

      if (compare_group (work->entries[middle].reading, quantity, target, place) < 0)
        low = middle + 1;
      else
        high = middle;
    }
  group.first = low;
  while (low < work->n && compare_group (work->entries[low].reading, quantity, target, place) == 0)
    low++;
  group.n = low - group.first;

  return group;
}

EfGroup
ef_derive_together (const EfDerivation *work,
                    EfGroup group,
                    guint first)
{
  EfGroup part = { first, 0 };

  while (first + part.n < group.first + group.n && compare_place (&work->entries[first + part.n], &work->entries[first]) == 0)
    part.n++;

  return part;
}

static double
squares_of (const EfDerivation *work,
            EfGroup group)
{
  double mean = 0, squares = 0;

  for (guint i = 0; i < group.n; i++)
    mean += work->entries[group.first + i].value / group.n;
  for (guint i = 0; i < group.n; i++)
    squares += pow (work->entries[group.first + i].value - mean, 2);

  return squares;
}

EfScatter
ef_derive_scatter (const EfDerivation *work,
                   EfGroup group)
{
  EfScatter scatter = { 0, 0 };
  double squares = 0;

  for (guint i = group.first; i < group.first + group.n;)
    {
      EfGroup part = ef_derive_together (work, group, i);

      squares += squares_of (work, part);
      scatter.freedom += part.n - 1;
      i += part.n;
    }
  if (scatter.freedom > 0)
    scatter.scatter = sqrt (squares / scatter.freedom);

  return scatter;
}

/* One of the gauges in a mean, and how much of the mean it gave. */
typedef struct
{
  const EfGauge *gauge;
  double share;
} Term;

static void
collect_terms (const EfDerivation *work,
               EfGroup group,
               double c,
               GArray *terms)
{
  guint from = terms->len;

  for (guint i = 0; i < group.n; i++)
    {
      const EfGauge *gauge = work->entries[group.first + i].gauge;
      guint k = from;

      while (k < terms->len && g_array_index (terms, Term, k).gauge != gauge)
        k++;
      if (k == terms->len)
        {
          Term term = { gauge, 0 };

          g_array_append_val (terms, term);
        }
      g_array_index (terms, Term, k).share += c / group.n;
    }
}

/* Where a gauge is in several means it's positively correlated with itself. */
static double
u_of_terms (const GArray *terms)
{
  guint n = terms->len;
  g_autofree double *c = g_new (double, n + 1);
  g_autofree double *u = g_new (double, n + 1);
  g_autofree double *correlation = g_new0 (double, n * n + 1);
  double out;

  for (guint i = 0; i < n; i++)
    {
      const Term *term = &g_array_index (terms, Term, i);

      if (term->gauge == NULL)
        return NAN;
      c[i] = term->share;
      u[i] = term->gauge->uncertainty / 2;
      for (guint j = 0; j < n; j++)
        if (g_array_index (terms, Term, j).gauge == term->gauge)
          correlation[i * n + j] = i == j ? 1 : EF_SAME_GAUGE_CORRELATION;
    }

  return ef_propagate_linear (c, u, correlation, n, &out, NULL) ? out : NAN;
}

/* The coarsest scale counts: rounding doesn't average out between readings that round alike. */
static double
resolution_of (const EfDerivation *work,
               EfGroup group)
{
  double coarsest = 0;

  for (guint i = 0; i < group.n; i++)
    {
      const EfGauge *gauge = work->entries[group.first + i].gauge;

      coarsest = MAX (coarsest, gauge != NULL ? gauge->resolution : 0);
    }

  return ef_u_rectangular (coarsest / 2);
}

EfMean
ef_derive_mean (const EfDerivation *work,
                EfGroup group,
                const EfScatter *scatter)
{
  g_autoptr (GArray) terms = g_array_new (FALSE, FALSE, sizeof (Term));
  EfScatter own = scatter != NULL ? *scatter : ef_derive_scatter (work, group);
  EfMean mean = { .group = group, .angle = NAN, .reduction = 1, .scatter = own.scatter };

  for (guint i = 0; i < group.n; i++)
    {
      const EfEntry *entry = &work->entries[group.first + i];

      mean.value += entry->value / group.n;
      mean.shift += entry->shift / group.n;
      mean.warmth = MAX (mean.warmth, entry->u_warmth);
    }
  collect_terms (work, group, 1, terms);
  mean.gauge = u_of_terms (terms);
  mean.resolution = resolution_of (work, group);
  mean.type_a = ef_repeats_factor (own.freedom) * own.scatter / sqrt (MAX (group.n, 1));
  if (group.n > 0 && work->entries[group.first].direction >= 0)
    mean.angle = work->entries[group.first].direction * EF_DIRECTION_STEP;

  return mean;
}

/* Of scatter and resolution the larger counts: the scatter of readings holds the rounding already (ISO 14253-2, from memory). */
double
ef_derive_u (const EfMean *mean)
{
  return sqrt (mean->gauge * mean->gauge + mean->warmth * mean->warmth + pow (MAX (mean->type_a, mean->resolution), 2));
}

void
ef_derive_combine (const EfDerivation *work,
                   const EfMean *means,
                   const double *c,
                   guint n,
                   EfDerived *derived)
{
  g_autoptr (GArray) terms = g_array_new (FALSE, FALSE, sizeof (Term));
  double fixed, random = 0, rest = 0, scatter = 0;

  derived->repeats = G_MAXUINT;
  derived->terms = n;
  for (guint k = 0; k < n; k++)
    {
      const EfMean *mean = &means[k];

      collect_terms (work, mean->group, c[k] * mean->reduction, terms);
      rest += c[k] * c[k] * (mean->warmth * mean->warmth + mean->resolution * mean->resolution);
      random += c[k] * c[k] * (pow (mean->warmth, 2) + pow (MAX (mean->type_a, mean->resolution), 2));
      scatter += pow (c[k] * mean->scatter, 2);
      derived->repeats = MIN (derived->repeats, mean->group.n);
    }
  fixed = u_of_terms (terms);
  derived->uncertainty = sqrt (fixed * fixed + random);
  derived->fixed = sqrt (fixed * fixed + rest);
  derived->scatter = sqrt (scatter);
}

double
ef_derive_common (const EfDerivation *work,
                  EfGroup group,
                  const EfMean *mean,
                  double *u_own)
{
  double u = ef_derive_u (mean);
  double common;

  *u_own = u;
  for (guint i = 1; i < group.n; i++)
    if (work->entries[group.first + i].gauge != work->entries[group.first].gauge)
      return 0;
  if (isnan (mean->gauge))
    return 0;
  common = EF_SAME_GAUGE_CORRELATION * mean->gauge * mean->gauge;
  *u_own = sqrt (MAX (u * u - common, 0));

  return sqrt (common);
}

char *
ef_derive_mean_text (const EfMean *mean)
{
  GString *text = g_string_new (NULL);

  g_string_printf (text, "%.3f mm", mean->value * 1e3);
  if (mean->group.n > 1)
    g_string_append_printf (text, " (mean of %u)", mean->group.n);
  if (fabs (mean->shift) >= 0.05e-6)
    g_string_append_printf (text, " (brought to 20 °C: %+.4f mm)", mean->shift * 1e3);

  return g_string_free (text, FALSE);
}
