/* First page: title, job, verdict, the exploded pump, and why.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "../assess/ef-why.h"
#include "ef-draw-sure.h"
#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

char *
ef_report_number (double si, EfUnit unit)
{
  return isfinite (si) ? ef_format_quantity (si, unit, -1) : g_strdup ("–");
}

char *
ef_report_time (const char *iso)
{
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (iso, NULL);

  return time != NULL ? g_date_time_format (time, "%Y-%m-%d %H:%M") : g_strdup (iso);
}

char *
ef_report_target (const EfAssessment *assessment, const char *target)
{
  const EfPumpSheet *sheet = assessment->inspection->sheet;
  const EfSection *section;
  const EfPart *part;
  const EfFaceChart *chart;
  const char *slash;
  g_autofree char *part_id = NULL;

  if (target == NULL)
    return g_strdup ("–");
  section = ef_pump_sheet_section (sheet, target);
  if (section != NULL)
    return g_strdup (section->name);
  part = ef_pump_sheet_part (sheet, target);
  if (part != NULL)
    return g_strdup (part->name);
  slash = strchr (target, '/');
  if (slash == NULL)
    return g_strdup (target);
  part_id = g_strndup (target, slash - target);
  part = ef_pump_sheet_part (sheet, part_id);
  chart = assessment->findings.charts != NULL ? g_hash_table_lookup (assessment->findings.charts, target) : NULL;
  return g_strdup_printf ("%s, %s", part != NULL ? part->name : part_id, chart != NULL ? chart->name : slash + 1);
}

/* A name and its value, in one of two columns; returns the height. */
static double
put_field (EfPages *pages, const char *name, const char *value, double dx, double dy, double width)
{
  g_autoptr (PangoLayout) left = ef_pages_layout (pages, name, 0.9, 0, 0.36 * width);
  g_autoptr (PangoLayout) right = ef_pages_layout (pages, value, 1, 0, 0.62 * width);
  double h0, h1;

  ef_text_extent (left, NULL, &h0);
  ef_text_extent (right, NULL, &h1);
  ef_pages_put (pages, left, EF_INK_DIM, dx, dy + 0.6);
  ef_pages_put (pages, right, EF_INK_TEXT, dx + 0.37 * width, dy);
  return MAX (h0, h1) + 2;
}

typedef struct
{
  const char *name;
  char *value;
} Field;

static void
add_field (GArray *fields, const char *name, const char *value)
{
  Field field = { name, g_strdup (value) };

  if (value != NULL && *value != '\0')
    g_array_append_val (fields, field);
}

static void
add_number (GArray *fields, const char *name, double si, EfUnit unit)
{
  g_autofree char *text = isfinite (si) ? ef_format_quantity (si, unit, -1) : NULL;

  add_field (fields, name, text);
}

static void
clear_field (gpointer data)
{
  g_free (((Field *) data)->value);
}

static GArray *
job_fields (const EfAssessment *assessment)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  const EfPumpSheet *sheet = assessment->inspection->sheet;
  GArray *fields = g_array_new (FALSE, TRUE, sizeof (Field));
  g_autofree char *hours = NULL;

  g_array_set_clear_func (fields, clear_field);
  add_field (fields, _("Pump"), sheet->name);
  add_field (fields, _("Model"), sheet->model);
  if (job == NULL)
    return fields;
  add_field (fields, _("Serial number"), job->serial);
  add_field (fields, _("From"), job->customer);
  add_field (fields, _("Received"), job->received);
  add_field (fields, _("Bench"), job->bench);
  add_field (fields, _("Done by"), job->role);
  if (isfinite (job->hours))
    hours = g_strdup_printf ("%.0f", job->hours);
  add_field (fields, _("Running hours"), hours);
  add_field (fields, _("Oil"), job->oil != NULL ? job->oil : sheet->oil);
  add_number (fields, _("Pressure found"), job->found_pressure, EF_UNIT_BAR);
  add_number (fields, _("at speed"), job->found_speed * 2 * G_PI, EF_UNIT_RPM);
  add_number (fields, _("at oil temperature"), job->found_temperature, EF_UNIT_CELSIUS);
  add_number (fields, _("Pressure expected"), job->expected_pressure, EF_UNIT_BAR);
  return fields;
}

static void
lay_job (EfPages *pages, const EfAssessment *assessment)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  g_autoptr (GArray) fields = job_fields (assessment);
  double width = ef_pages_width (pages) / 2 - 10;
  guint half = (fields->len + 1) / 2;
  double heights[2] = { 0, 0 };

  for (guint i = 0; i < fields->len; i++)
    {
      const Field *field = &g_array_index (fields, Field, i);
      int column = i < half ? 0 : 1;

      heights[column] += put_field (pages, field->name, field->value, column * (width + 20), heights[column], width);
    }
  ef_pages_move (pages, MAX (heights[0], heights[1]) + 4);
  if (job != NULL && job->complaint != NULL && *job->complaint != '\0')
    {
      g_autofree char *text = g_strdup_printf (_("Complaint: %s"), job->complaint);

      ef_pages_text (pages, text, 1, 0, EF_INK_TEXT, 0);
    }
  if (job != NULL && job->note != NULL && *job->note != '\0')
    {
      g_autofree char *text = g_strdup_printf (_("Note: %s"), job->note);

      ef_pages_text (pages, text, 1, 0, EF_INK_TEXT, 0);
    }
}

static void
draw_pump (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  const EfAssessment *assessment = data;
  g_autoptr (EfExploded) exploded = ef_exploded_new (assessment->inspection->sheet, width, height);

  ef_exploded_draw (exploded, cr, style, assessment->verdict, NULL, NULL);
}

static void
lay_verdict (EfPages *pages, const EfAssessment *assessment)
{
  const EfVerdict *verdict = assessment->verdict;
  double width = ef_pages_width (pages), wide = 34;
  g_autoptr (PangoLayout) word = NULL;
  g_autoptr (PangoLayout) reason = NULL;
  g_autofree char *by_hand = NULL;
  double h0, h1 = 0, tall;

  if (verdict == NULL)
    return;
  word = ef_pages_layout (pages, _(ef_verdict_label (verdict->word)), 2.1, EF_TEXT_BOLD, width - wide - 24);
  ef_text_extent (word, NULL, &h0);
  if (verdict->override != NULL)
    by_hand = g_strdup_printf (_("Set by hand (%s): %s Computed: %s."), verdict->override->role != NULL ? verdict->override->role : "–", verdict->override->reason, _(ef_verdict_label (verdict->computed)));
  reason = ef_pages_layout (pages, by_hand != NULL ? by_hand : _("Verdict on the whole pump"), 1, 0, width - wide - 24);
  ef_text_extent (reason, NULL, &h1);
  tall = MAX (h0 + h1 + 16, 44);
  ef_pages_need (pages, tall);
  ef_pages_space (pages, 8);
  ef_pages_frame (pages, 0, 0, width, tall, EF_INK_EDGE, 1);
  ef_pages_verdict (pages, verdict->word, 10, (tall - 26) / 2, 26);
  ef_pages_put (pages, word, EF_INK_TEXT, wide + 12, 7);
  ef_pages_put (pages, reason, EF_INK_DIM, wide + 12, 7 + h0);
  ef_pages_move (pages, tall + 6);
}

/* The pump's own reasons gather those of its parts; where it has none, the parts' are taken. */
static void
collect_reasons (const EfVerdict *verdict, GPtrArray *reasons, GHashTable *seen)
{
  for (guint i = 0; i < verdict->reasons->len; i++)
    {
      EfReason *reason = g_ptr_array_index (verdict->reasons, i);

      if (reason->word != EF_VERDICT_USE && g_hash_table_add (seen, reason->sentence))
        g_ptr_array_add (reasons, reason);
    }
  for (guint i = 0; i < verdict->children->len && reasons->len == 0; i++)
    collect_reasons (g_ptr_array_index (verdict->children, i), reasons, seen);
}

/* The chain down to the gauge, in a line or two. */
static void
lay_chain (EfPages *pages, const EfAssessment *assessment, const EfReason *reason)
{
  double size = ef_pages_style (pages)->text_size;
  g_autoptr (GPtrArray) chain = ef_why_chain (assessment, assessment->verdict, reason);
  g_autofree char *line = ef_why_line (chain);
  g_autofree char *text = g_strdup_printf (_("Why: %s."), line);

  if (*line != '\0')
    ef_pages_text (pages, text, 0.8, 0, EF_INK_DIM, 1.8 * size);
}

typedef struct
{
  EfReason *reason;
  EfDecisionRule decision;
} Sure;

static void
sure_free (gpointer data)
{
  ef_reason_free (((Sure *) data)->reason);
  g_free (data);
}

static void
draw_sure (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  const Sure *sure = data;

  ef_draw_sure (cr, style, sure->reason, &sure->decision, width, height);
}

/* The value against its limit and guard band. */
static void
lay_sure (EfPages *pages, const EfAssessment *assessment, const EfReason *reason)
{
  const EfDrawStyle *style = ef_pages_style (pages);
  double tall = ef_draw_sure_height (style), left = 1.8 * style->text_size;
  Sure *sure = g_new0 (Sure, 1);

  sure->reason = ef_reason_copy (reason);
  sure->decision = assessment->decision;
  ef_pages_need (pages, tall);
  ef_pages_picture (pages, left, 0, 0.6 * ef_pages_width (pages), tall, draw_sure, sure, sure_free);
  ef_pages_move (pages, tall);
}

static void
lay_reason (EfPages *pages, const EfAssessment *assessment, const EfReason *reason)
{
  double size = ef_pages_style (pages)->text_size;
  g_autofree char *text = g_strdup_printf ("%s: %s", _(ef_verdict_label (reason->word)), reason->sentence);
  g_autofree char *more = NULL;
  g_autoptr (GString) small = g_string_new (NULL);

  if (reason->advice != NULL)
    g_string_append_printf (small, "%s ", reason->advice);
  if (reason->source != NULL)
    g_string_append_printf (small, _("Source: %s."), reason->source);
  if (reason->limit_assumed && isfinite (reason->limit))
    g_string_append (small, _(" The limit is a default: the pump sheet gives none."));
  ef_pages_need (pages, 3.2 * size);
  ef_pages_verdict (pages, reason->word, 1, 0.4, 1.2 * size);
  ef_pages_text (pages, text, 1, 0, EF_INK_TEXT, 1.8 * size);
  if (small->len > 0)
    ef_pages_text (pages, small->str, 0.88, 0, EF_INK_DIM, 1.8 * size);
  if (ef_draw_sure_can (reason))
    lay_sure (pages, assessment, reason);
  lay_chain (pages, assessment, reason);
  ef_pages_move (pages, 3);
}

/* Worst first; within one word in the order of the tree. */
static void
lay_why (EfPages *pages, const EfAssessment *assessment)
{
  g_autoptr (GPtrArray) reasons = g_ptr_array_new ();
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);

  if (assessment->verdict == NULL)
    return;
  collect_reasons (assessment->verdict, reasons, seen);
  ef_pages_heading (pages, _("Why"), 40);
  for (int word = EF_N_VERDICTS - 1; word > EF_VERDICT_USE; word--)
    for (guint i = 0; i < reasons->len; i++)
      {
        const EfReason *reason = g_ptr_array_index (reasons, i);

        if ((int) reason->word == word)
          lay_reason (pages, assessment, reason);
      }
  if (reasons->len == 0)
    ef_pages_text (pages, _("Nothing that was seen or measured stands against using the pump again."), 1, 0, EF_INK_TEXT, 0);
}

/* Directions of wear against the load, and readings that others contradict: those against it first. */
static void
lay_across (EfPages *pages, const EfAssessment *assessment)
{
  if (assessment->across == NULL || assessment->across->len == 0)
    return;
  ef_pages_heading (pages, _("What crosses parts"), 40);
  for (int consistent = 0; consistent < 2; consistent++)
    for (guint i = 0; i < assessment->across->len; i++)
      {
        const EfCross *cross = g_ptr_array_index (assessment->across, i);
        g_autofree char *next = g_strdup_printf (_("Next: %s"), cross->next);

        if (cross->consistent != consistent)
          continue;
        ef_pages_text (pages, cross->sentence, 1, 0, EF_INK_TEXT, 0);
        ef_pages_text (pages, next, 0.88, 0, EF_INK_DIM, 0);
        ef_pages_move (pages, 3);
      }
}

static void
lay_before (EfPages *pages, const EfAssessment *assessment)
{
  g_autofree char *text = ef_assessment_before_text (assessment);

  if (text == NULL)
    return;
  ef_pages_text (pages, text, 1, 0, EF_INK_TEXT, 0);
  ef_pages_move (pages, 3);
}

void
ef_report_front (EfPages *pages, const EfAssessment *assessment, const EfReportSeal *seal)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  g_autofree char *title = g_strdup_printf (_("Oil pump inspection %s"), job != NULL && job->number != NULL ? job->number : "");
  double tall = 168;

  ef_pages_text (pages, title, 2.1, EF_TEXT_BOLD, EF_INK_TEXT, 0);
  ef_report_seal_line (pages, seal);
  ef_pages_move (pages, 6);
  lay_job (pages, assessment);
  lay_verdict (pages, assessment);
  lay_before (pages, assessment);
  ef_pages_need (pages, tall);
  ef_pages_picture (pages, 0, 0, ef_pages_width (pages), tall, draw_pump, (gpointer) assessment, NULL);
  ef_pages_move (pages, tall);
  lay_why (pages, assessment);
  lay_across (pages, assessment);
}
