/* Readings, what follows from them, the gauges, the check list.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

/* 0 … 360. */
static double
degrees_of (double angle)
{
  double degrees = fmod (angle * 180 / G_PI, 360);

  return degrees < 0 ? degrees + 360 : degrees;
}

static char *
place_of (const EfReading *reading)
{
  GString *text = g_string_new (reading->place != NULL ? reading->place : "");

  if (isfinite (reading->angle))
    g_string_append_printf (text, "%s%.0f°", text->len > 0 ? ", " : "", degrees_of (reading->angle));
  if (isfinite (reading->u) && isfinite (reading->v))
    g_string_append_printf (text, "%s%.1f, %.1f mm", text->len > 0 ? ", " : "", reading->u * 1e3, reading->v * 1e3);
  return g_string_free (text, FALSE);
}

static void
reading_row (EfPages *pages, const EfAssessment *assessment, const EfReading *reading)
{
  const EfGauge *gauge = reading->gauge_id != NULL ? ef_inspection_find (assessment->inspection, EF_ITEM_GAUGE, reading->gauge_id) : NULL;
  g_autofree char *target = ef_report_target (assessment, reading->target);
  g_autofree char *place = place_of (reading);
  g_autofree char *value = ef_report_number (reading->value, reading->unit == EF_UNIT_NONE ? EF_UNIT_MM : reading->unit);
  g_autoptr (GString) note = g_string_new (reading->note != NULL ? reading->note : "");

  if (isfinite (reading->temperature))
    {
      g_autofree char *temperature = ef_format_quantity (reading->temperature, EF_UNIT_CELSIUS, 0);

      g_string_append_printf (note, "%s%s", note->len > 0 ? "; " : "", temperature);
    }
  if (reading->time != NULL)
    {
      g_autofree char *time = ef_report_time (reading->time);

      g_string_append_printf (note, "%s%s", note->len > 0 ? "; " : "", time);
    }
  ef_pages_table_row (pages, (EfPageCell[]) {
                                 EF_PAGE_CELL (_(ef_quantity_label (reading->quantity))), EF_PAGE_CELL (target), EF_PAGE_CELL (place),
                                 EF_PAGE_CELL (value), EF_PAGE_CELL (gauge != NULL ? gauge->name : "–"), EF_PAGE_CELL (note->str) });
}

static void
lay_readings (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 22, 28, 15, 15, 34, 30 };
  const char *heads[] = { _("Reading"), _("Of"), _("Where"), _("Value"), _("Gauge"), _("Note") };
  GPtrArray *readings = assessment->inspection->items[EF_ITEM_READING];

  if (readings->len == 0)
    return;
  ef_pages_heading (pages, _("Readings"), 60);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < readings->len; i++)
    reading_row (pages, assessment, g_ptr_array_index (readings, i));
  ef_pages_table_end (pages);
}

/* "end-clearance" as people read it. */
static char *
quantity_words (const char *name)
{
  char *words = g_strdup (name != NULL ? name : "");

  g_strdelimit (words, "-", ' ');
  words[0] = g_ascii_toupper (words[0]);
  return words;
}

static void
lay_derived (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 24, 34, 17, 20, 46 };
  const char *heads[] = { _("Value"), _("Of"), _("Result"), _("Uncertainty (k = 2)"), _("How") };
  GPtrArray *derived = assessment->findings.derived;

  if (derived == NULL || derived->len == 0)
    return;
  ef_pages_subheading (pages, _("What follows from them"), 50);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < derived->len; i++)
    {
      const EfDerived *value = g_ptr_array_index (derived, i);
      g_autofree char *words = quantity_words (value->quantity);
      g_autofree char *target = ef_report_target (assessment, value->target);
      g_autofree char *of = value->place != NULL ? g_strdup_printf ("%s, %s", target, value->place) : g_strdup (target);
      g_autofree char *number = ef_report_number (value->value, EF_UNIT_MM);
      g_autofree char *spread = isfinite (value->uncertainty) ? g_strdup_printf ("± %.4f mm", 2e3 * value->uncertainty) : g_strdup ("–");

      ef_pages_table_row (pages, (EfPageCell[]) { EF_PAGE_CELL (words), EF_PAGE_CELL (of), EF_PAGE_CELL (number), EF_PAGE_CELL (spread), EF_PAGE_CELL (value->how != NULL ? value->how : "") });
    }
  ef_pages_table_end (pages);
}

static void
lay_gauges (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 36, 26, 22, 18, 20, 18 };
  const char *heads[] = { _("Gauge"), _("Kind"), _("Serial number"), _("Resolution"), _("Uncertainty (k = 2)"), _("Due") };
  GPtrArray *gauges = assessment->inspection->items[EF_ITEM_GAUGE];

  if (gauges->len == 0)
    return;
  ef_pages_subheading (pages, _("Gauges"), 50);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < gauges->len; i++)
    {
      const EfGauge *gauge = g_ptr_array_index (gauges, i);
      g_autofree char *resolution = ef_report_number (gauge->resolution, EF_UNIT_MM);
      g_autofree char *spread = ef_report_number (gauge->uncertainty, EF_UNIT_MM);

      ef_pages_table_row (pages, (EfPageCell[]) {
                                     EF_PAGE_CELL (gauge->name), EF_PAGE_CELL (_(ef_gauge_kind_label (gauge->kind))), EF_PAGE_CELL (gauge->serial != NULL ? gauge->serial : "–"),
                                     EF_PAGE_CELL (resolution), EF_PAGE_CELL (spread), EF_PAGE_CELL (gauge->due != NULL ? gauge->due : "–") });
    }
  ef_pages_table_end (pages);
}

static void
lay_checks (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 30, 20, 40, 40 };
  const char *heads[] = { _("Part"), _("State"), _("What to look at"), _("Note") };
  const EfPumpSheet *sheet = assessment->inspection->sheet;
  gboolean open = FALSE;

  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (sheet->parts, i);
      const EfCheck *check = ef_inspection_find (assessment->inspection, EF_ITEM_CHECK, part->id);

      if (part->kind < EF_PART_PICKUP && check == NULL)
        continue;
      if (!open)
        {
          ef_pages_heading (pages, _("Check list"), 50);
          ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
        }
      open = TRUE;
      ef_pages_table_row (pages, (EfPageCell[]) {
                                     EF_PAGE_CELL (part->name), EF_PAGE_CELL (_(ef_check_state_label (check != NULL ? check->state : EF_CHECK_UNSEEN))),
                                     EF_PAGE_CELL (part->check != NULL ? part->check : ""), EF_PAGE_CELL (check != NULL && check->note != NULL ? check->note : "") });
    }
  if (open)
    ef_pages_table_end (pages);
}

void
ef_report_readings (EfPages *pages, const EfAssessment *assessment)
{
  lay_readings (pages, assessment);
  lay_derived (pages, assessment);
  lay_gauges (pages, assessment);
  lay_checks (pages, assessment);
}
