/* Gauges: their kinds and what each is usually good for.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-reading.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Resolution, expanded uncertainty (k = 2) and range, mm: common practice, no source. */
static const struct
{
  const char *name;
  const char *label;
  const char *usual; /* name of a usual one */
  double resolution, uncertainty;
  double low, high;
} kinds[EF_N_GAUGE_KINDS] = {
  [EF_GAUGE_FEELER] = { "feeler-blades", "Feeler blades", "Feeler blades 0.03–1 mm", 0.01, 0.010, 0.03, 1.0 },
  [EF_GAUGE_MICROMETER] = { "micrometer", "Micrometer", "Micrometer 0–50 mm", 0.001, 0.004, 0, 50 },
  [EF_GAUGE_BORE] = { "bore-gauge", "Bore gauge", "Bore gauge 6–100 mm", 0.001, 0.006, 6, 100 },
  [EF_GAUGE_DEPTH] = { "depth-gauge", "Depth gauge", "Depth micrometer 0–100 mm", 0.001, 0.006, 0, 100 },
  [EF_GAUGE_DIAL] = { "dial-indicator", "Dial indicator", "Dial indicator ±5 mm", 0.001, 0.005, -5, 5 },
  [EF_GAUGE_STRAIGHTEDGE] = { "straightedge", "Straightedge and feeler", "Straightedge and feeler blades", 0.01, 0.015, -1, 1 },
  [EF_GAUGE_PLASTIC_STRIP] = { "plastic-strip", "Plastic gauging strip", "Plastic gauging strip 0.025–0.25 mm", 0.013, 0.020, 0.025, 0.25 },
  [EF_GAUGE_SCRAPER] = { "scraper", "Scraper", "Scraper, by feel", 0.02, 0.040, 0, 2 },
  [EF_GAUGE_FINGERNAIL] = { "fingernail", "Fingernail", "Fingernail", 0.03, 0.060, 0, 2 },
};

static void
gauge_clear (gpointer item)
{
  EfGauge *gauge = item;

  g_free (gauge->name);
  g_free (gauge->serial);
  g_free (gauge->checked);
  g_free (gauge->due);
  g_free (gauge->note);
  g_clear_pointer (&gauge->certificates, g_ptr_array_unref);
}

static void
gauge_copy_fields (gpointer dest,
                   gconstpointer src)
{
  EfGauge *to = dest;
  const EfGauge *from = src;

  to->kind = from->kind;
  to->name = g_strdup (from->name);
  to->serial = g_strdup (from->serial);
  to->resolution = from->resolution;
  to->uncertainty = from->uncertainty;
  to->range_min = from->range_min;
  to->range_max = from->range_max;
  to->checked = g_strdup (from->checked);
  to->due = g_strdup (from->due);
  to->note = g_strdup (from->note);
  to->certificates = ef_certificates_copy (from->certificates);
}

static gboolean
same (double a,
      double b)
{
  return a == b || (isnan (a) && isnan (b));
}

static gboolean
gauge_equal (gconstpointer left,
             gconstpointer right)
{
  const EfGauge *a = left;
  const EfGauge *b = right;

  return a->kind == b->kind && g_strcmp0 (a->name, b->name) == 0 && g_strcmp0 (a->serial, b->serial) == 0
         && same (a->resolution, b->resolution) && same (a->uncertainty, b->uncertainty)
         && same (a->range_min, b->range_min) && same (a->range_max, b->range_max)
         && g_strcmp0 (a->checked, b->checked) == 0 && g_strcmp0 (a->due, b->due) == 0 && g_strcmp0 (a->note, b->note) == 0
         && ef_certificates_equal (a->certificates, b->certificates);
}

const EfItemClass ef_gauge_class = {
  .kind = EF_ITEM_GAUGE,
  .name = "gauge",
  .size = sizeof (EfGauge),
  .clear = gauge_clear,
  .copy_fields = gauge_copy_fields,
  .equal = gauge_equal,
};

EfGauge *
ef_gauge_default (EfGaugeKind kind)
{
  EfGauge *gauge = ef_item_new (&ef_gauge_class, NULL);
  guint k = (guint) kind < EF_N_GAUGE_KINDS ? kind : EF_GAUGE_FEELER;

  gauge->kind = (EfGaugeKind) k;
  gauge->name = g_strdup (kinds[k].usual);
  gauge->resolution = ef_length_from_mm (kinds[k].resolution);
  gauge->uncertainty = ef_length_from_mm (kinds[k].uncertainty);
  gauge->range_min = ef_length_from_mm (kinds[k].low);
  gauge->range_max = ef_length_from_mm (kinds[k].high);

  return gauge;
}

/* "2026-05-31" exactly, a day there is. */
static gboolean
read_date (const char *text,
           GDate *date)
{
  guint year, month, day;
  char rest;

  if (text == NULL || strlen (text) != 10 || text[4] != '-' || text[7] != '-'
      || sscanf (text, "%4u-%2u-%2u%c", &year, &month, &day, &rest) != 3
      || !g_date_valid_dmy ((GDateDay) day, (GDateMonth) month, (GDateYear) year))
    return FALSE;

  g_date_clear (date, 1);
  g_date_set_dmy (date, (GDateDay) day, (GDateMonth) month, (GDateYear) year);
  return TRUE;
}

static gboolean
refuse (const EfGauge *gauge,
        EfError code,
        const char *field,
        const char *expected,
        const char **field_out,
        GError **error)
{
  if (field_out != NULL)
    *field_out = field;
  g_set_error (error, EF_ERROR, code, "gauge “%s”: %s: expected %s", gauge->name != NULL ? gauge->name : "", field, expected);
  return FALSE;
}

gboolean
ef_gauge_check_field (const EfGauge *gauge,
                      const char **field_out,
                      GError **error)
{
  GDate date;

  if ((guint) gauge->kind >= EF_N_GAUGE_KINDS)
    return refuse (gauge, EF_ERROR_INVALID, "kind", "a kind of gauge", field_out, error);
  if (gauge->name == NULL || *gauge->name == '\0')
    return refuse (gauge, EF_ERROR_INVALID, "name", "a name", field_out, error);
  if (!(gauge->resolution >= 0 && gauge->resolution <= 0.01))
    return refuse (gauge, EF_ERROR_RANGE, "resolution", "a length from 0 to 10 mm", field_out, error);
  if (!(gauge->uncertainty > 0 && gauge->uncertainty <= 0.01))
    return refuse (gauge, EF_ERROR_RANGE, "uncertainty", "a length above 0 and up to 10 mm", field_out, error);
  if (!isnan (gauge->range_min) && !(fabs (gauge->range_min) <= 10))
    return refuse (gauge, EF_ERROR_RANGE, "range_min", "a length within 10 m, or none", field_out, error);
  if (!isnan (gauge->range_max) && !(fabs (gauge->range_max) <= 10))
    return refuse (gauge, EF_ERROR_RANGE, "range_max", "a length within 10 m, or none", field_out, error);
  if (gauge->range_max <= gauge->range_min)
    return refuse (gauge, EF_ERROR_RANGE, "range_max", "more than range_min", field_out, error);
  if (gauge->checked != NULL && !read_date (gauge->checked, &date))
    return refuse (gauge, EF_ERROR_PARSE, "checked", "a date such as 2026-05-31", field_out, error);
  if (gauge->due != NULL && !read_date (gauge->due, &date))
    return refuse (gauge, EF_ERROR_PARSE, "due", "a date such as 2026-05-31", field_out, error);
  if (!ef_certificates_check (gauge->certificates, error))
    {
      if (field_out != NULL)
        *field_out = "certificates";
      g_prefix_error (error, "gauge “%s”: ", gauge->name);
      return FALSE;
    }

  return TRUE;
}

gboolean
ef_gauge_check (const EfGauge *gauge,
                GError **error)
{
  return ef_gauge_check_field (gauge, NULL, error);
}

gboolean
ef_gauge_overdue (const EfGauge *gauge,
                  const char *date)
{
  GDate due, day;

  return read_date (gauge->due, &due) && read_date (date, &day) && g_date_compare (&due, &day) < 0;
}

gboolean
ef_gauge_due_soon (const EfGauge *gauge,
                   const char *date)
{
  GDate due, day;
  int left;

  if (!read_date (gauge->due, &due) || !read_date (date, &day))
    return FALSE;
  left = g_date_days_between (&day, &due);

  return left >= 0 && left <= EF_GAUGE_SOON_DAYS;
}

const char *
ef_gauge_kind_name (EfGaugeKind kind)
{
  return (guint) kind < EF_N_GAUGE_KINDS ? kinds[kind].name : "unknown";
}

const char *
ef_gauge_kind_label (EfGaugeKind kind)
{
  return (guint) kind < EF_N_GAUGE_KINDS ? kinds[kind].label : "Unknown";
}

gboolean
ef_gauge_kind_from_name (const char *name,
                         EfGaugeKind *kind_out)
{
  for (guint i = 0; i < EF_N_GAUGE_KINDS; i++)
    if (g_strcmp0 (name, kinds[i].name) == 0)
      {
        *kind_out = (EfGaugeKind) i;
        return TRUE;
      }

  return FALSE;
}
