/* The results file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Schema: data/schemas/results.schema.json. What isn't known is null. Lengths in mm are rounded to the nanometre, shares to a millionth.
 */
#include "../inspection/ef-replacement.h"
#include "config.h"

#include <math.h>

#include "ef-assessment.h"
#include "ef-plan-json.h"
#include "ef-right-pump.h"
#include "ef-flow-json.h"
#include "ef-why.h"

static void
add_string (JsonBuilder *builder,
            const char *name,
            const char *text)
{
  json_builder_set_member_name (builder, name);
  if (text != NULL)
    json_builder_add_string_value (builder, text);
  else
    json_builder_add_null_value (builder);
}

static void
add_number (JsonBuilder *builder,
            const char *name,
            double value,
            double per_unit)
{
  json_builder_set_member_name (builder, name);
  if (!isfinite (value))
    json_builder_add_null_value (builder);
  else
    json_builder_add_double_value (builder, round (value * per_unit * 1e6) / 1e6);
}

static void
add_in_unit (JsonBuilder *builder,
             const char *name,
             double si,
             EfUnit unit)
{
  add_number (builder, name, isfinite (si) ? ef_unit_from_si (unit, si) : si, 1.0);
}

static void
add_strings (JsonBuilder *builder,
             const char *name,
             GPtrArray *texts)
{
  json_builder_set_member_name (builder, name);
  json_builder_begin_array (builder);
  for (guint i = 0; texts != NULL && i < texts->len; i++)
    json_builder_add_string_value (builder, texts->pdata[i]);
  json_builder_end_array (builder);
}

static const char *
unit_name (EfUnit unit)
{
  return unit == EF_UNIT_NONE ? NULL : ef_unit_name (unit);
}

/* From the verdict down to the gauge. */
static void
add_why (JsonBuilder *builder,
         const EfAssessment *self,
         const EfVerdict *node,
         const EfReason *reason)
{
  g_autoptr (GPtrArray) chain = ef_why_chain (self, node, reason);

  json_builder_set_member_name (builder, "why");
  ef_why_add_json (builder, chain);
}

static void
add_reason (JsonBuilder *builder,
            const EfAssessment *self,
            const EfVerdict *node,
            const EfReason *reason)
{
  json_builder_begin_object (builder);
  add_string (builder, "verdict", ef_verdict_name (reason->word));
  add_string (builder, "rule", reason->rule);
  add_string (builder, "sentence", reason->sentence);
  add_in_unit (builder, "value", reason->value, reason->unit);
  add_in_unit (builder, "limit", reason->limit, reason->unit);
  add_in_unit (builder, "uncertainty", reason->uncertainty, reason->unit);
  add_number (builder, "probability", reason->probability, 1.0);
  add_string (builder, "unit", unit_name (reason->unit));
  add_string (builder, "source", reason->source);
  add_string (builder, "advice", reason->advice);
  add_string (builder, "action", reason->action);
  add_string (builder, "target", reason->target);
  add_strings (builder, "refs", reason->refs);
  add_why (builder, self, node, reason);
  json_builder_end_object (builder);
}

static const char *
level_name (EfLevel level)
{
  static const char *const names[] = { "mark", "part", "pair", "section", "pump" };

  return names[level];
}

static void
add_override (JsonBuilder *builder,
              const EfOverride *override)
{
  json_builder_set_member_name (builder, "override");
  if (override == NULL)
    {
      json_builder_add_null_value (builder);
      return;
    }
  json_builder_begin_object (builder);
  add_string (builder, "verdict", override->verdict);
  add_string (builder, "reason", override->reason);
  add_string (builder, "role", override->role);
  add_string (builder, "time", override->time);
  json_builder_end_object (builder);
}

static void
add_verdict (JsonBuilder *builder,
             const EfAssessment *self,
             const EfVerdict *verdict)
{
  json_builder_begin_object (builder);
  add_string (builder, "level", level_name (verdict->level));
  add_string (builder, "id", verdict->id);
  add_string (builder, "title", verdict->title);
  add_string (builder, "verdict", ef_verdict_name (verdict->word));
  add_string (builder, "computed", ef_verdict_name (verdict->computed));
  add_override (builder, verdict->override);
  json_builder_set_member_name (builder, "reasons");
  json_builder_begin_array (builder);
  for (guint i = 0; i < verdict->reasons->len; i++)
    add_reason (builder, self, verdict, verdict->reasons->pdata[i]);
  json_builder_end_array (builder);
  json_builder_set_member_name (builder, "children");
  json_builder_begin_array (builder);
  for (guint i = 0; i < verdict->children->len; i++)
    add_verdict (builder, self, verdict->children->pdata[i]);
  json_builder_end_array (builder);
  json_builder_end_object (builder);
}

static void
add_figures (JsonBuilder *builder,
             GPtrArray *figures)
{
  json_builder_set_member_name (builder, "figures");
  json_builder_begin_array (builder);
  for (guint i = 0; i < figures->len; i++)
    {
      const EfFigure *figure = figures->pdata[i];

      json_builder_begin_object (builder);
      add_string (builder, "name", figure->name);
      add_string (builder, "label", figure->label);
      add_string (builder, "section", figure->section);
      add_string (builder, "face", figure->face);
      add_string (builder, "unit", unit_name (figure->unit));
      add_in_unit (builder, "as_new", figure->as_new, figure->unit);
      add_in_unit (builder, "found", figure->found, figure->unit);
      add_in_unit (builder, "reworked", figure->reworked, figure->unit);
      add_in_unit (builder, "limit_min", figure->limit_min, figure->unit);
      add_in_unit (builder, "limit_max", figure->limit_max, figure->unit);
      add_string (builder, "source", figure->source);
      json_builder_end_object (builder);
    }
  json_builder_end_array (builder);
}

/* Marks without a depth are deepest nowhere. */
static void
add_deepest_place (JsonBuilder *builder,
                   const EfFaceWear *wear)
{
  json_builder_set_member_name (builder, "deepest_at_mm");
  if (!isfinite (wear->deepest_u) || !isfinite (wear->deepest_v))
    {
      json_builder_add_null_value (builder);
      return;
    }
  json_builder_begin_array (builder);
  json_builder_add_double_value (builder, round (wear->deepest_u * 1e9) / 1e6);
  json_builder_add_double_value (builder, round (wear->deepest_v * 1e9) / 1e6);
  json_builder_end_array (builder);
}

static void
add_face (JsonBuilder *builder,
          const EfFaceChart *chart,
          const EfFaceWear *wear,
          guint n_marks)
{
  json_builder_begin_object (builder);
  add_string (builder, "face", chart->id);
  add_string (builder, "name", chart->name);
  json_builder_set_member_name (builder, "marks");
  json_builder_add_int_value (builder, n_marks);
  add_number (builder, "material_area_mm2", wear->material_area, 1e6);
  add_number (builder, "worn_area_mm2", wear->worn_area, 1e6);
  add_number (builder, "worn_share", wear->worn_share, 1.0);
  add_number (builder, "deepest_mm", wear->worn_area > 0.0 ? wear->deepest : NAN, 1e3);
  add_deepest_place (builder, wear);
  add_number (builder, "volume_mm3", wear->volume, 1e9);
  json_builder_set_member_name (builder, "sealing_bands");
  json_builder_begin_array (builder);
  for (guint i = 0; i < wear->n_bands && i < chart->bands->len; i++)
    {
      json_builder_begin_object (builder);
      add_string (builder, "name", ((const EfChartBand *) chart->bands->pdata[i])->name);
      add_number (builder, "intact_share", wear->band_intact[i], 1.0);
      json_builder_end_object (builder);
    }
  json_builder_end_array (builder);
  json_builder_end_object (builder);
}

static void
add_faces (JsonBuilder *builder,
           const EfAssessment *self)
{
  g_auto (GStrv) faces = ef_face_ids (self->inspection->sheet);

  json_builder_set_member_name (builder, "faces");
  json_builder_begin_array (builder);
  for (guint i = 0; faces[i] != NULL; i++)
    {
      const EfFaceChart *chart = g_hash_table_lookup (self->findings.charts, faces[i]);
      const EfFaceWear *wear = g_hash_table_lookup (self->findings.wear, faces[i]);
      g_autoptr (GPtrArray) marks = ef_inspection_face_marks (self->inspection, faces[i]);

      if (chart != NULL && wear != NULL)
        add_face (builder, chart, wear, marks->len);
    }
  json_builder_end_array (builder);
}

static void
add_derived (JsonBuilder *builder,
             GPtrArray *derived)
{
  json_builder_set_member_name (builder, "derived");
  json_builder_begin_array (builder);
  for (guint i = 0; i < derived->len; i++)
    {
      const EfDerived *one = derived->pdata[i];

      json_builder_begin_object (builder);
      add_string (builder, "quantity", one->quantity);
      add_string (builder, "target", one->target);
      add_string (builder, "place", one->place);
      add_number (builder, "value_mm", one->value, 1e3);
      add_number (builder, "direction_deg", one->direction, 180.0 / G_PI);
      add_number (builder, "uncertainty_mm", one->uncertainty, 1e3);
      add_string (builder, "how", one->how);
      add_strings (builder, "readings", one->reading_ids);
      json_builder_end_object (builder);
    }
  json_builder_end_array (builder);
}

static void
add_across (JsonBuilder *builder,
            GPtrArray *across)
{
  json_builder_set_member_name (builder, "findings");
  json_builder_begin_array (builder);
  for (guint i = 0; i < across->len; i++)
    {
      const EfCross *cross = across->pdata[i];

      json_builder_begin_object (builder);
      add_string (builder, "id", cross->id);
      add_string (builder, "target", cross->target);
      json_builder_set_member_name (builder, "consistent");
      json_builder_add_boolean_value (builder, cross->consistent);
      add_number (builder, "direction_deg", cross->direction, 180.0 / G_PI);
      add_number (builder, "u_direction_deg", cross->u_direction, 180.0 / G_PI);
      add_number (builder, "load_deg", cross->load, 180.0 / G_PI);
      add_string (builder, "sentence", cross->sentence);
      add_string (builder, "next", cross->next);
      add_strings (builder, "refs", cross->refs);
      json_builder_end_object (builder);
    }
  json_builder_end_array (builder);
}

static void
add_steps (JsonBuilder *builder,
           const EfAssessment *self)
{
  json_builder_set_member_name (builder, "steps");
  json_builder_begin_array (builder);
  for (guint i = 0; i < self->steps->len; i++)
    {
      const EfStep *step = self->steps->pdata[i];

      json_builder_begin_object (builder);
      add_string (builder, "id", step->id);
      add_string (builder, "phase", step->phase);
      add_string (builder, "text", step->text);
      add_string (builder, "why", step->why);
      add_string (builder, "part", step->part_id);
      add_string (builder, "face", step->face_id);
      add_number (builder, "stock_mm", step->stock, 1e3);
      add_strings (builder, "tools", step->tools);
      add_strings (builder, "cautions", step->cautions);
      add_strings (builder, "checks", step->checks);
      add_strings (builder, "after", step->after);
      json_builder_set_member_name (builder, "done");
      json_builder_add_boolean_value (builder, ef_inspection_find (self->inspection, EF_ITEM_TICK, step->id) != NULL);
      json_builder_end_object (builder);
    }
  json_builder_end_array (builder);
}

/* What still stands against using it again, each sentence once. */
static void
add_reason_texts (JsonBuilder *builder,
                  const EfVerdict *verdict,
                  GHashTable *told)
{
  for (guint i = 0; i < verdict->reasons->len; i++)
    {
      const EfReason *reason = verdict->reasons->pdata[i];

      if (reason->word != EF_VERDICT_USE && g_hash_table_add (told, reason->sentence))
        json_builder_add_string_value (builder, reason->sentence);
    }
  for (guint i = 0; i < verdict->children->len; i++)
    add_reason_texts (builder, verdict->children->pdata[i], told);
}

static void
add_after_row (JsonBuilder *builder,
               const EfAfterRow *row)
{
  json_builder_begin_object (builder);
  add_string (builder, "quantity", row->quantity);
  add_string (builder, "target", row->target);
  add_string (builder, "place", row->place);
  add_string (builder, "label", row->label);
  add_number (builder, "predicted_mm", row->predicted, 1e3);
  add_number (builder, "u_predicted_mm", row->u_predicted, 1e3);
  add_number (builder, "measured_mm", row->measured, 1e3);
  add_number (builder, "u_measured_mm", row->u_measured, 1e3);
  add_number (builder, "en", row->en, 1.0);
  json_builder_set_member_name (builder, "outside");
  json_builder_add_boolean_value (builder, row->outside);
  add_string (builder, "sentence", row->sentence);
  json_builder_end_object (builder);
}

/* null while nothing was recorded of the rework. */
static void
add_after (JsonBuilder *builder,
           const EfAfter *after)
{
  g_autoptr (GHashTable) told = g_hash_table_new (g_str_hash, g_str_equal);

  json_builder_set_member_name (builder, "after");
  if (after == NULL)
    {
      json_builder_add_null_value (builder);
      return;
    }
  json_builder_begin_object (builder);
  add_string (builder, "verdict", ef_verdict_name (after->verdict->word));
  add_string (builder, "summary", after->summary);
  json_builder_set_member_name (builder, "reasons");
  json_builder_begin_array (builder);
  add_reason_texts (builder, after->verdict, told);
  json_builder_end_array (builder);
  json_builder_set_member_name (builder, "compared");
  json_builder_begin_array (builder);
  for (guint i = 0; i < after->rows->len; i++)
    add_after_row (builder, after->rows->pdata[i]);
  json_builder_end_array (builder);
  json_builder_end_object (builder);
}

static void
add_cost (JsonBuilder *builder,
          const EfCostSummary *cost)
{
  json_builder_set_member_name (builder, "cost");
  json_builder_add_value (builder, ef_cost_summary_to_json (cost));
}

static void
add_job (JsonBuilder *builder,
         const EfJobHeader *header)
{
  json_builder_set_member_name (builder, "job");
  json_builder_begin_object (builder);
  add_string (builder, "number", header->number);
  add_string (builder, "serial", header->serial);
  add_string (builder, "received", header->received);
  add_string (builder, "customer", header->customer);
  add_string (builder, "complaint", header->complaint);
  add_number (builder, "found_pressure_bar", header->found_pressure, 1e-5);
  add_number (builder, "expected_pressure_bar", header->expected_pressure, 1e-5);
  json_builder_end_object (builder);
}

static void
add_pump (JsonBuilder *builder,
          const EfPumpSheet *sheet)
{
  json_builder_set_member_name (builder, "pump");
  json_builder_begin_object (builder);
  add_string (builder, "id", sheet->id);
  add_string (builder, "model", sheet->model);
  add_string (builder, "name", sheet->name);
  json_builder_end_object (builder);
}

/* Only where parts from the shelf stand in. */
static void
add_fitted (JsonBuilder *builder,
            const EfAssessment *self)
{
  const GPtrArray *parts = self->inspection->items[EF_ITEM_REPLACEMENT];

  if (self->fitted == NULL)
    return;
  json_builder_set_member_name (builder, "fitted");
  json_builder_begin_object (builder);
  add_string (builder, "verdict", ef_verdict_name (self->fitted->verdict->word));
  json_builder_set_member_name (builder, "parts");
  json_builder_begin_array (builder);
  for (guint i = 0; i < parts->len; i++)
    {
      const EfReplacement *part = parts->pdata[i];

      json_builder_begin_object (builder);
      add_string (builder, "part", part->item.id);
      add_string (builder, "shelf", part->shelf);
      add_string (builder, "from_job", part->from_job);
      json_builder_end_object (builder);
    }
  json_builder_end_array (builder);
  json_builder_end_object (builder);
}

JsonNode *
ef_assessment_to_json (const EfAssessment *self)
{
  g_autoptr (JsonBuilder) builder = json_builder_new ();

  json_builder_begin_object (builder);
  add_string (builder, "format", "endfloat-results");
  json_builder_set_member_name (builder, "version");
  json_builder_add_int_value (builder, 1);
  add_string (builder, "program", EF_VERSION);
  add_string (builder, "rules", self->rule_set);
  json_builder_set_member_name (builder, "decision");
  json_builder_begin_object (builder);
  add_string (builder, "rule", ef_decision_rule_name (self->decision.kind));
  add_number (builder, "coverage", self->decision.coverage, 1.0);
  add_number (builder, "guard_band_factor", ef_decision_factor (&self->decision), 1.0);
  json_builder_end_object (builder);
  add_pump (builder, self->inspection->sheet);
  add_job (builder, ef_inspection_header (self->inspection));
  json_builder_set_member_name (builder, "verdict");
  add_verdict (builder, self, self->verdict);
  add_figures (builder, self->figures);
  json_builder_set_member_name (builder, "flow");
  json_builder_add_value (builder, ef_flow_result_to_json (self->flow));
  add_faces (builder, self);
  add_derived (builder, self->findings.derived);
  add_across (builder, self->across);
  json_builder_set_member_name (builder, "plan");
  json_builder_add_value (builder, ef_lap_work_to_json (self->plan, self->land, self->findings.derived));
  add_steps (builder, self);
  add_after (builder, self->after);
  add_cost (builder, self->cost);
  json_builder_set_member_name (builder, "right_pump");
  if (self->right_pump != NULL)
    json_builder_add_value (builder, ef_right_pump_to_json (self->right_pump));
  else
    json_builder_add_null_value (builder);
  add_strings (builder, "cautions", self->cautions);
  add_fitted (builder, self);
  json_builder_end_object (builder);

  return json_builder_get_root (builder);
}
