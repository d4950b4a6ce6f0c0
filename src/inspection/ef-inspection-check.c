/* Does an item make sense, and does it fit this pump? Asked once at the door, so nobody inside has to ask again.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../metrology/ef-decision.h"
#include "ef-replacement.h"

#include <math.h>
#include <string.h>

/* Bytes: a one-line field, a note, a list of photos. */
#define SHORT_TEXT_MAX 2000
#define LONG_TEXT_MAX 200000
#define PHOTOS_MAX 1000
#define ID_MAX 200

static gboolean
check_text (const char *field,
            const char *text,
            gsize max_bytes,
            GError **error)
{
  gsize length;

  if (text == NULL)
    return TRUE;

  length = strlen (text);
  if (length > max_bytes)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE,
                   "%s: expected at most %" G_GSIZE_FORMAT " bytes, found %" G_GSIZE_FORMAT,
                   field, max_bytes, length);
      return FALSE;
    }
  if (!g_utf8_validate (text, length, NULL))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected UTF-8 text", field);
      return FALSE;
    }

  return TRUE;
}

static gboolean
check_filled (const char *field,
              const char *text,
              gsize max_bytes,
              GError **error)
{
  if (text == NULL || *text == '\0')
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a text, found none", field);
      return FALSE;
    }

  return check_text (field, text, max_bytes, error);
}

static gboolean
check_photos (GStrv photos,
              GError **error)
{
  guint i;

  for (i = 0; photos != NULL && photos[i] != NULL; i++)
    {
      g_autofree char *field = g_strdup_printf ("photos[%u]", i);

      if (i >= PHOTOS_MAX)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "photos: expected at most %d", PHOTOS_MAX);
          return FALSE;
        }
      if (!check_filled (field, photos[i], SHORT_TEXT_MAX, error))
        return FALSE;
    }

  return TRUE;
}

/* "2026-03-09" */
static gboolean
is_date (const char *text)
{
  guint i;
  int year, month, day;

  if (strlen (text) != 10 || text[4] != '-' || text[7] != '-')
    return FALSE;
  for (i = 0; i < 10; i++)
    if (i != 4 && i != 7 && !g_ascii_isdigit (text[i]))
      return FALSE;

  year = atoi (text);
  month = atoi (text + 5);
  day = atoi (text + 8);

  return g_date_valid_dmy (day, month, year);
}

static gboolean
check_date (const char *field,
            const char *text,
            GError **error)
{
  if (text == NULL)
    return TRUE;
  if (!check_text (field, text, SHORT_TEXT_MAX, error))
    return FALSE;
  if (!is_date (text))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID,
                   "%s: expected a date such as 2026-03-09, found \"%s\"", field, text);
      return FALSE;
    }

  return TRUE;
}

static gboolean
check_time (const char *field,
            const char *text,
            GError **error)
{
  g_autoptr (GTimeZone) utc = NULL;
  g_autoptr (GDateTime) time = NULL;

  if (text == NULL)
    return TRUE;
  if (!check_text (field, text, SHORT_TEXT_MAX, error))
    return FALSE;

  utc = g_time_zone_new_utc ();
  time = g_date_time_new_from_iso8601 (text, utc);
  if (time == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID,
                   "%s: expected a time such as 2026-03-09T14:05:00Z, found \"%s\"", field, text);
      return FALSE;
    }

  return TRUE;
}

/* A number in [min, max], or NAN for "not said". @unit is that of the limits, for the message. */
static gboolean
check_number_or_nan (const char *field,
                     double value,
                     double min,
                     double max,
                     const char *unit,
                     GError **error)
{
  if (isnan (value) || (value >= min && value <= max))
    return TRUE;

  g_set_error (error, EF_ERROR, EF_ERROR_RANGE,
               "%s: expected %g … %g %s, found %g", field, min, max, unit, value);
  return FALSE;
}

static gboolean
check_number (const char *field,
              double value,
              double min,
              double max,
              const char *unit,
              GError **error)
{
  if (value >= min && value <= max)
    return TRUE;

  g_set_error (error, EF_ERROR, EF_ERROR_RANGE,
               "%s: expected %g … %g %s, found %g", field, min, max, unit, value);
  return FALSE;
}

static gboolean
check_length_unit (const char *field,
                   EfUnit unit,
                   GError **error)
{
  if (unit == EF_UNIT_NONE || (unit >= EF_UNIT_M && unit <= EF_UNIT_THOU))
    return TRUE;

  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a unit of length", field);
  return FALSE;
}

static gboolean
check_gauge_id (const EfInspection *self,
                const char *field,
                const char *gauge_id,
                GError **error)
{
  if (gauge_id == NULL || ef_inspection_find (self, EF_ITEM_GAUGE, gauge_id) != NULL)
    return TRUE;

  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND,
               "%s: expected the id of a gauge of this job, found \"%s\"", field, gauge_id);
  return FALSE;
}

static gboolean
check_decision (const EfJobHeader *header,
                GError **error)
{
  EfDecisionRule rule = { .coverage = header->coverage };

  if (header->decision == NULL)
    {
      if (header->coverage == 0)
        return TRUE;
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "coverage: expected none without a decision rule, found %g", header->coverage);
      return FALSE;
    }
  if (ef_decision_rule_from_name (header->decision, &rule.kind))
    return ef_decision_rule_check (&rule, error);
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "decision: expected guard-band, expanded or shared-risk, found \"%s\"", header->decision);

  return FALSE;
}

static gboolean
check_plan_goal (const EfJobHeader *header,
                 GError **error)
{
  g_autofree char *goals = NULL;

  if (header->plan_goal == NULL || g_strv_contains (ef_plan_goals, header->plan_goal))
    return TRUE;
  goals = g_strjoinv (", ", (GStrv) ef_plan_goals);
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "plan_goal: expected one of %s, found \"%s\"", goals, header->plan_goal);

  return FALSE;
}

static gboolean
check_header (const EfJobHeader *header,
              GError **error)
{
  if (!g_str_equal (header->item.id, "job"))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "id: expected \"job\", found \"%s\"", header->item.id);
      return FALSE;
    }

  return check_text ("number", header->number, SHORT_TEXT_MAX, error)
         && check_text ("serial", header->serial, SHORT_TEXT_MAX, error)
         && check_date ("received", header->received, error)
         && check_text ("customer", header->customer, SHORT_TEXT_MAX, error)
         && check_text ("bench", header->bench, SHORT_TEXT_MAX, error)
         && check_text ("role", header->role, SHORT_TEXT_MAX, error)
         && check_number_or_nan ("hours", header->hours, 0.0, 1e7, "h", error)
         && check_text ("complaint", header->complaint, LONG_TEXT_MAX, error)
         && check_number_or_nan ("found_pressure", header->found_pressure, 0.0, 1e9, "Pa", error)
         && check_number_or_nan ("found_speed", header->found_speed, 0.0, 1e4, "rev/s", error)
         && check_number_or_nan ("found_temperature", header->found_temperature, 100.0, 1000.0, "K", error)
         && check_number_or_nan ("expected_pressure", header->expected_pressure, 0.0, 1e9, "Pa", error)
         && check_text ("oil", header->oil, SHORT_TEXT_MAX, error)
         && check_decision (header, error)
         && check_plan_goal (header, error)
         && check_text ("note", header->note, LONG_TEXT_MAX, error);
}

static gboolean
check_face (const EfInspection *self,
            const char *face_id,
            GError **error)
{
  const char *slash = face_id != NULL ? strchr (face_id, '/') : NULL;
  g_autofree char *part_id = slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : NULL;
  g_auto (GStrv) faces = part_id != NULL ? ef_part_face_ids (self->sheet, part_id) : NULL;

  if (faces == NULL || !g_strv_contains ((const char *const *) faces, face_id))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND,
                   "face: expected a face of %s such as \"part/face\", found \"%s\"",
                   self->sheet->model, face_id != NULL ? face_id : "");
      return FALSE;
    }

  return TRUE;
}

static gboolean
check_mark (const EfInspection *self,
            const EfMark *mark,
            GError **error)
{
  guint i;

  if (!check_filled ("face", mark->face_id, SHORT_TEXT_MAX, error)
      || !ef_mark_check (mark, error)
      || !check_face (self, mark->face_id, error)
      || !check_text ("note", mark->note, LONG_TEXT_MAX, error)
      || !check_photos (mark->photos, error))
    return FALSE;

  if (mark->number < 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "number: expected 0 or more, found %d", mark->number);
      return FALSE;
    }
  if (!check_number ("size", mark->size, 0.0, 10.0, "m", error))
    return FALSE;

  for (i = 0; i < mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);
      g_autofree char *field = g_strdup_printf ("nodes[%u]", i);

      if (!check_number (field, node->u, -10.0, 10.0, "m", error)
          || !check_number (field, node->v, -10.0, 10.0, "m", error))
        return FALSE;
    }
  for (i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);
      g_autofree char *field = g_strdup_printf ("depths[%u]", i);

      if (!check_number (field, depth->u, -10.0, 10.0, "m", error)
          || !check_number (field, depth->v, -10.0, 10.0, "m", error)
          || !check_length_unit (field, depth->unit, error)
          || !check_gauge_id (self, field, depth->gauge_id, error))
        return FALSE;
    }

  return TRUE;
}

static gboolean
check_reading (const EfInspection *self,
               const EfReading *reading,
               GError **error)
{
  if (isnan (reading->u) != isnan (reading->v))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "at: expected both coordinates or none");
      return FALSE;
    }

  return check_text ("target", reading->target, SHORT_TEXT_MAX, error)
         && check_text ("place", reading->place, SHORT_TEXT_MAX, error)
         && check_number_or_nan ("angle", reading->angle, -1000.0, 1000.0, "rad", error)
         && check_number_or_nan ("at", reading->u, -10.0, 10.0, "m", error)
         && check_number_or_nan ("at", reading->v, -10.0, 10.0, "m", error)
         && check_number ("value", reading->value, -10.0, 10.0, "m", error)
         && check_length_unit ("unit", reading->unit, error)
         && check_number_or_nan ("temperature", reading->temperature, 100.0, 1000.0, "K", error)
         && check_time ("time", reading->time, error)
         && check_text ("note", reading->note, LONG_TEXT_MAX, error)
         && ef_reading_check (reading, self->sheet, error)
         && check_gauge_id (self, "gauge", reading->gauge_id, error);
}

static gboolean
check_gauge (const EfGauge *gauge,
             GError **error)
{
  if ((guint) gauge->kind >= EF_N_GAUGE_KINDS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "kind: expected a kind of gauge, found %d", gauge->kind);
      return FALSE;
    }
  if (gauge->range_min > gauge->range_max)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "range: expected the smaller end first, found %g … %g m",
                   gauge->range_min, gauge->range_max);
      return FALSE;
    }

  return check_text ("name", gauge->name, SHORT_TEXT_MAX, error)
         && check_text ("serial", gauge->serial, SHORT_TEXT_MAX, error)
         && check_number ("resolution", gauge->resolution, 0.0, 1.0, "m", error)
         && check_number ("uncertainty", gauge->uncertainty, 0.0, 1.0, "m", error)
         && check_number_or_nan ("range", gauge->range_min, -10.0, 10.0, "m", error)
         && check_number_or_nan ("range", gauge->range_max, -10.0, 10.0, "m", error)
         && check_date ("checked", gauge->checked, error)
         && check_date ("due", gauge->due, error)
         && check_text ("note", gauge->note, SHORT_TEXT_MAX, error)
         && ef_certificates_check (gauge->certificates, error);
}

static gboolean
check_check (const EfInspection *self,
             const EfCheck *check,
             GError **error)
{
  if (ef_pump_sheet_part (self->sheet, check->item.id) == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "id: expected a part of %s, found \"%s\"",
                   self->sheet->model, check->item.id);
      return FALSE;
    }
  if ((guint) check->state >= EF_N_CHECK_STATES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "state: expected a state of a check, found %d", check->state);
      return FALSE;
    }

  return check_text ("note", check->note, LONG_TEXT_MAX, error) && check_photos (check->photos, error);
}

/* Marks come and go, so an override of one may outlive it; parts and sections don't. */
static gboolean
check_subject (const EfInspection *self,
               const char *id,
               GError **error)
{
  const char *name = strchr (id, ':');
  gboolean known = FALSE;

  if (name == NULL)
    known = g_str_equal (id, "pump");
  else if (g_str_has_prefix (id, "mark:"))
    known = name[1] != '\0';
  else if (g_str_has_prefix (id, "part:"))
    known = ef_pump_sheet_part (self->sheet, name + 1) != NULL;
  else if (g_str_has_prefix (id, "section:") || g_str_has_prefix (id, "pair:"))
    known = ef_pump_sheet_section (self->sheet, name + 1) != NULL;

  if (!known)
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND,
                 "id: expected \"pump\" or a mark, part, pair or section of %s such as \"part:name\", found \"%s\"",
                 self->sheet->model, id);

  return known;
}

static gboolean
check_override (const EfInspection *self,
                const EfOverride *override,
                GError **error)
{
  if (!check_subject (self, override->item.id, error))
    return FALSE;
  if (override->verdict == NULL || !g_strv_contains (ef_override_verdicts, override->verdict))
    {
      g_autofree char *words = g_strjoinv (", ", (GStrv) ef_override_verdicts);

      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "verdict: expected one of %s, found \"%s\"",
                   words, override->verdict != NULL ? override->verdict : "");
      return FALSE;
    }

  return check_filled ("reason", override->reason, LONG_TEXT_MAX, error)
         && check_text ("role", override->role, SHORT_TEXT_MAX, error)
         && check_time ("time", override->time, error);
}

static gboolean
check_tick (const EfTick *tick,
            GError **error)
{
  return check_text ("role", tick->role, SHORT_TEXT_MAX, error)
         && check_time ("time", tick->time, error)
         && check_text ("note", tick->note, LONG_TEXT_MAX, error);
}

static gboolean
check_passes (const EfWork *work,
              GError **error)
{
  if (work->n_passes > EF_WORK_MOST_GRITS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "passes: expected at most %d grits, found %u", EF_WORK_MOST_GRITS, work->n_passes);
      return FALSE;
    }
  for (guint i = 0; i < work->n_passes; i++)
    {
      g_autofree char *field = g_strdup_printf ("passes[%u]", i);

      if (!check_filled (field, work->passes[i].grit, SHORT_TEXT_MAX, error))
        return FALSE;
      if (!(work->passes[i].count > 0.0))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected above 0, found %g", field, work->passes[i].count);
          return FALSE;
        }
      if (!check_number (field, work->passes[i].count, 0.0, 10000.0, "passes", error))
        return FALSE;
      for (guint k = 0; k < i; k++)
        if (g_str_equal (work->passes[i].grit, work->passes[k].grit))
          {
            g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected each grit once, found \"%s\" twice", field, work->passes[i].grit);
            return FALSE;
          }
    }

  return TRUE;
}

static gboolean
check_work (const EfInspection *self,
            const EfWork *work,
            GError **error)
{
  if (isnan (work->removed) && work->n_passes == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "removed: expected what came off or the passes, found neither");
      return FALSE;
    }

  return check_face (self, work->face_id, error)
         && check_number_or_nan ("removed", work->removed, -1e-3, 5e-3, "m", error)
         && check_gauge_id (self, "gauge", work->gauge_id, error)
         && check_passes (work, error)
         && check_number_or_nan ("pressure", work->pressure, 1.0, 1e7, "Pa", error)
         && check_number_or_nan ("stroke", work->stroke, 1e-3, 1000.0, "m", error)
         && check_text ("role", work->role, SHORT_TEXT_MAX, error)
         && check_time ("time", work->time, error)
         && check_text ("note", work->note, LONG_TEXT_MAX, error);
}

/* There is one at most, so its id is given. */
static gboolean
check_only_id (const EfItem *item,
               const char *id,
               GError **error)
{
  if (g_str_equal (item->id, id))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "id: expected \"%s\", found \"%s\"", id, item->id);

  return FALSE;
}

static gboolean
check_demand (const EfDemand *demand,
              GError **error)
{
  if (isnan (demand->cooler_flow) != isnan (demand->cooler_drop))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "cooler: expected both flow and pressure lost, or none");
      return FALSE;
    }
  if (isnan (demand->extra_flow) != isnan (demand->extra_pressure))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "extra: expected both flow and pressure, or none");
      return FALSE;
    }

  return check_only_id (&demand->item, "demand", error)
         && check_number_or_nan ("cooler_flow", demand->cooler_flow, 1e-9, 1.0, "m3/s", error)
         && check_number_or_nan ("cooler_drop", demand->cooler_drop, 0.0, 1e8, "Pa", error)
         && check_number_or_nan ("extra_flow", demand->extra_flow, 0.0, 1.0, "m3/s", error)
         && check_number_or_nan ("extra_pressure", demand->extra_pressure, 1.0, 1e8, "Pa", error)
         && check_number_or_nan ("hotter", demand->hotter, -100.0, 100.0, "K", error)
         && check_number_or_nan ("speed", demand->speed, 1e-2, 1e3, "rev/s", error)
         && check_text ("note", demand->note, LONG_TEXT_MAX, error);
}

static gboolean
check_cost (const EfCost *cost,
            GError **error)
{
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    if (!check_number_or_nan (ef_cost_kind_name (i), cost->minutes[i], 0.0, 1e5, "min", error))
      return FALSE;

  return check_only_id (&cost->item, "cost", error)
         && check_text ("currency", cost->currency, SHORT_TEXT_MAX, error)
         && check_number_or_nan ("hour_rate", cost->hour_rate, 0.0, 1e9, "an hour", error)
         && check_number_or_nan ("new_pump", cost->new_pump, 0.0, 1e12, "", error)
         && check_number_or_nan ("parts", cost->parts, 0.0, 1e12, "", error)
         && check_text ("note", cost->note, LONG_TEXT_MAX, error);
}

static gboolean
check_fields (const EfInspection *self,
              const EfItem *item,
              GError **error)
{
  switch (item->klass->kind)
    {
    case EF_ITEM_HEADER:
      return check_header ((const EfJobHeader *) item, error);
    case EF_ITEM_MARK:
      return check_mark (self, (const EfMark *) item, error);
    case EF_ITEM_READING:
      return check_reading (self, (const EfReading *) item, error);
    case EF_ITEM_GAUGE:
      return check_gauge ((const EfGauge *) item, error);
    case EF_ITEM_CHECK:
      return check_check (self, (const EfCheck *) item, error);
    case EF_ITEM_OVERRIDE:
      return check_override (self, (const EfOverride *) item, error);
    case EF_ITEM_TICK:
      return check_tick ((const EfTick *) item, error);
    case EF_ITEM_WORK:
      return check_work (self, (const EfWork *) item, error);
    case EF_ITEM_DEMAND:
      return check_demand ((const EfDemand *) item, error);
    case EF_ITEM_COST:
      return check_cost ((const EfCost *) item, error);
    case EF_ITEM_REPLACEMENT:
      return ef_replacement_check ((const EfReplacement *) item, self->sheet, error);
    case EF_ITEM_PHOTO:
      return ef_photo_check ((const EfPhoto *) item, self->sheet, error);
    default:
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "expected a known kind of item");
      return FALSE;
    }
}

gboolean
ef_inspection_check_item (const EfInspection *self,
                          const EfItem *item,
                          GError **error)
{
  g_autoptr (GError) local = NULL;

  if (!check_filled ("id", item->id, ID_MAX, &local))
    {
      g_set_error (error, EF_ERROR, local->code, "%s: %s", item->klass->name, local->message);
      return FALSE;
    }
  if (!check_fields (self, item, &local))
    {
      g_autofree char *prefix = g_strdup_printf ("%s %s", item->klass->name, item->id);
      gboolean named = g_str_has_prefix (local->message, prefix); /* by the reading's own check */

      g_set_error (error, EF_ERROR, local->code, "%s%s%s", named ? "" : prefix, named ? "" : ": ", local->message);
      return FALSE;
    }

  return TRUE;
}
