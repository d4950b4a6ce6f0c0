/* Readings, what follows from them, the gauges, the check list.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"
#include "ef-draw-form.h"

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

  if (reading->after)
    g_string_append_printf (note, "%s%s", note->len > 0 ? "; " : "", _("after rework"));
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
  if (!ef_reading_check_place (reading, assessment->inspection->sheet, NULL))
    g_string_append_printf (note, "%s%s", note->len > 0 ? "; " : "", _("place in a hole or off the face"));
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

/* --- Form of faces and bores -------------------------------------------------------------------------------------------- */

typedef struct
{
  EfFaceChart *chart;
  EfFlatForm *flat;
  EfRoundForm *round;
  EfRoundPlace place;
} FormPicture;

static void
form_picture_free (gpointer data)
{
  FormPicture *self = data;

  g_clear_pointer (&self->chart, ef_face_chart_unref);
  ef_flat_form_free (self->flat);
  ef_round_form_free (self->round);
  g_free (self);
}

static void
draw_form (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  const FormPicture *self = data;

  if (self->flat != NULL)
    ef_draw_flat_form (cr, style, self->chart, self->flat, EF_UNIT_MM, width, height);
  else
    ef_draw_round_form (cr, style, self->round, &self->place, EF_UNIT_MM, width, height);
}

/* The picture for a derived flatness or ovality; NULL where there are too few readings for one. */
static FormPicture *
form_picture (const EfAssessment *assessment, const EfDerived *value)
{
  const EfInspection *inspection = assessment->inspection;
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  const GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];
  EfQuantity quantity = g_strcmp0 (value->quantity, "journal-ovality") == 0 ? EF_READ_JOURNAL_DIAMETER : EF_READ_BORE_DIAMETER;
  gboolean flat = g_strcmp0 (value->quantity, "flatness") == 0;
  g_autofree char *face = flat ? g_strdup (value->target) : ef_round_face_id (inspection->sheet, quantity, value->target, value->place);
  FormPicture *self;

  if (face == NULL || (!flat && g_strcmp0 (value->quantity, "bore-ovality") != 0 && quantity != EF_READ_JOURNAL_DIAMETER))
    return NULL;
  self = g_new0 (FormPicture, 1);
  self->chart = ef_face_chart_new (inspection->sheet, face, NULL);
  if (self->chart != NULL && flat)
    self->flat = ef_flat_form_new (self->chart, (EfReading *const *) readings->pdata, readings->len, assessment->findings.derived);
  else if (self->chart != NULL)
    {
      self->round = ef_round_form_new (inspection->sheet, quantity, value->target, value->place, (EfReading *const *) readings->pdata, readings->len,
                                       (EfGauge *const *) gauges->pdata, gauges->len, assessment->findings.derived);
      ef_round_place_take (&self->place, self->chart, assessment);
    }
  if ((self->flat != NULL && self->flat->known) || (self->round != NULL && self->round->known && self->round->oval_known))
    return self;
  form_picture_free (self);
  return NULL;
}

/* Two beside each other, each with its name above and its words below. */
static double
lay_form (EfPages *pages, const EfAssessment *assessment, const EfDerived *value, FormPicture *picture, double dx, double width, double high)
{
  g_autofree char *target = ef_report_target (assessment, value->target);
  g_autofree char *title = value->place != NULL ? g_strdup_printf ("%s, %s", target, value->place) : g_strdup (target);
  g_autofree char *words = picture->flat != NULL ? ef_draw_flat_words (picture->flat, EF_UNIT_MM) : ef_draw_round_words (picture->round, &picture->place, EF_UNIT_MM);
  g_autoptr (PangoLayout) head = ef_pages_layout (pages, title, 0.95, EF_TEXT_BOLD, width);
  g_autoptr (PangoLayout) text = ef_pages_layout (pages, words, 0.9, 0, width);
  double h, t;

  ef_text_extent (head, NULL, &h);
  ef_text_extent (text, NULL, &t);
  ef_pages_put (pages, head, EF_INK_TEXT, dx, 0);
  ef_pages_picture (pages, dx, h + 2, width, high, draw_form, picture, form_picture_free);
  ef_pages_put (pages, text, EF_INK_TEXT, dx, h + high + 4);
  return h + high + t + 10;
}

static void
lay_forms (EfPages *pages, const EfAssessment *assessment)
{
  GPtrArray *derived = assessment->findings.derived;
  double gap = 14, width = (ef_pages_width (pages) - gap) / 2, high = 230, used = 0;
  gboolean heading = FALSE;
  int column = 0;

  for (guint i = 0; derived != NULL && i < derived->len; i++)
    {
      const EfDerived *value = g_ptr_array_index (derived, i);
      FormPicture *picture = form_picture (assessment, value);
      double h;

      if (picture == NULL)
        continue;
      if (!heading)
        ef_pages_subheading (pages, _("Flatness and roundness"), high + 70);
      heading = TRUE;
      if (column == 0)
        ef_pages_need (pages, high + 70);
      h = lay_form (pages, assessment, value, picture, column * (width + gap), width, high);
      used = MAX (used, h);
      column++;
      if (column == 2)
        {
          ef_pages_move (pages, used);
          column = 0;
          used = 0;
        }
    }
  if (column > 0)
    ef_pages_move (pages, used);
}

/* "2025-10-07, overdue when used": against the days of the readings taken with it, or the day the pump came in where none is noted. */
static char *
due_text (const EfAssessment *assessment, const EfGauge *gauge)
{
  GPtrArray *readings = assessment->inspection->items[EF_ITEM_READING];
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  gboolean overdue = FALSE;

  if (gauge->due == NULL)
    return g_strdup ("–");
  for (guint i = 0; i < readings->len; i++)
    {
      const EfReading *reading = g_ptr_array_index (readings, i);
      g_autofree char *day = reading->time != NULL ? g_strndup (reading->time, 10) : g_strdup (job != NULL ? job->received : NULL);

      overdue = overdue || (g_strcmp0 (reading->gauge_id, gauge->item.id) == 0 && day != NULL && ef_gauge_overdue (gauge, day));
    }
  return overdue ? g_strdup_printf (_("%s, overdue when used"), gauge->due) : g_strdup (gauge->due);
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
      g_autofree char *due = due_text (assessment, gauge);

      ef_pages_table_row (pages, (EfPageCell[]) {
                                     EF_PAGE_CELL (gauge->name), EF_PAGE_CELL (_(ef_gauge_kind_label (gauge->kind))), EF_PAGE_CELL (gauge->serial != NULL ? gauge->serial : "–"),
                                     EF_PAGE_CELL (resolution), EF_PAGE_CELL (spread), EF_PAGE_CELL (due) });
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
  lay_forms (pages, assessment);
  lay_gauges (pages, assessment);
  lay_checks (pages, assessment);
}
