/* Items as JSON: one writer and one reader a kind, side by side, so that they stay partners.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Units stand in the member names. What isn't said (NULL, NAN) is left out. Numbers are written from the
 * grid (ef-item-grid.h), so reading what was written gives an equal item.
 */
#include "ef-item-grid.h"
#include "../metrology/ef-decision.h"
#include "ef-replacement.h"

#include <math.h>

#define NODES_MAX 100000
#define PHOTOS_MAX 1000
#define MM_MAX 1e5

static void
put_text (JsonObject *object,
          const char *member,
          const char *text)
{
  if (text != NULL)
    json_object_set_string_member (object, member, text);
}

static void
put_number (JsonObject *object,
            const char *member,
            double value)
{
  if (!isnan (value))
    json_object_set_double_member (object, member, value + 0.0);
}

static void
put_length (JsonObject *object,
            const char *member,
            double metres)
{
  put_number (object, member, isnan (metres) ? NAN : ef_length_to_mm (metres));
}

static JsonArray *
new_pair (double u,
          double v)
{
  JsonArray *pair = json_array_new ();

  json_array_add_double_element (pair, ef_length_to_mm (u) + 0.0);
  json_array_add_double_element (pair, ef_length_to_mm (v) + 0.0);

  return pair;
}

static void
put_unit (JsonObject *object,
          EfUnit unit)
{
  if (unit != EF_UNIT_NONE)
    json_object_set_string_member (object, "unit", ef_unit_name (unit));
}

static void
put_photos (JsonObject *object,
            GStrv photos)
{
  JsonArray *array;
  guint i;

  if (photos == NULL)
    return;

  array = json_array_new ();
  for (i = 0; photos[i] != NULL; i++)
    json_array_add_string_element (array, photos[i]);
  json_object_set_array_member (object, "photos", array);
}

static char *
get_text (const EfJson *json,
          const char *member)
{
  return ef_json_string_or (json, member, NULL);
}

static double
get_number (const EfJson *json,
            const char *member,
            double min,
            double max)
{
  return ef_json_number_or (json, member, min, max, NAN);
}

static double
get_length (const EfJson *json,
            const char *member)
{
  double mm = get_number (json, member, -MM_MAX, MM_MAX);

  return isnan (mm) ? NAN : ef_length_from_mm (mm);
}

static double
required_length (const EfJson *json,
                 const char *member)
{
  return ef_length_from_mm (ef_json_number (json, member, -MM_MAX, MM_MAX));
}

static gboolean
is_array (const EfJson *json)
{
  return json->node != NULL && JSON_NODE_HOLDS_ARRAY (json->node);
}

/* [u, v] in mm */
static void
get_pair (const EfJson *json,
          double *u_out,
          double *v_out)
{
  g_auto (EfJson) u = { 0 };
  g_auto (EfJson) v = { 0 };

  *u_out = *v_out = 0.0;
  if (!is_array (json) || ef_json_length (json) != 2)
    {
      ef_json_fail (json, EF_ERROR_PARSE, "expected two numbers [u, v] in mm");
      return;
    }

  u = ef_json_element (json, 0);
  v = ef_json_element (json, 1);
  *u_out = ef_length_from_mm (ef_json_value (&u, -MM_MAX, MM_MAX));
  *v_out = ef_length_from_mm (ef_json_value (&v, -MM_MAX, MM_MAX));
}

static EfUnit
get_unit (const EfJson *json)
{
  g_autofree char *name = get_text (json, "unit");
  EfUnit unit = EF_UNIT_NONE;

  if (name != NULL && !ef_unit_from_name (name, &unit))
    ef_json_fail (json, EF_ERROR_PARSE, "unit: expected a unit of length such as \"mm\", found \"%s\"", name);

  return unit;
}

static GStrv
get_photos (const EfJson *json)
{
  g_auto (EfJson) array = { 0 };
  g_autoptr (GStrvBuilder) builder = NULL;
  guint i;

  if (!ef_json_has (json, "photos"))
    return NULL;

  builder = g_strv_builder_new ();
  array = ef_json_array (json, "photos", 0, PHOTOS_MAX);
  for (i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) element = ef_json_element (&array, i);
      g_autofree char *photo = ef_json_value_string (&element);

      if (photo != NULL)
        g_strv_builder_add (builder, photo);
    }

  return g_strv_builder_end (builder);
}

/* One of @n names as @name gives them; 0 and an error otherwise. */
static int
get_choice (const EfJson *json,
            const char *member,
            guint n,
            const char *(*name) (guint))
{
  g_autofree const char **names = g_new0 (const char *, n + 1);
  guint i;

  for (i = 0; i < n; i++)
    names[i] = name (i);

  return ef_json_choice (json, member, names);
}

static const char *
mark_kind_name (guint i)
{
  return ef_mark_kind_name (i);
}

static const char *
mark_shape_name (guint i)
{
  return ef_mark_shape_name (i);
}

static const char *
quantity_name (guint i)
{
  return ef_quantity_name (i);
}

static const char *
gauge_kind_name (guint i)
{
  return ef_gauge_kind_name (i);
}

static const char *
check_state_name (guint i)
{
  return ef_check_state_name (i);
}

/* Header */

static const char *const header_members[] = {
  "number", "serial", "received", "customer", "bench", "role", "hours", "complaint",
  "found_pressure_bar", "found_speed_rpm", "found_temperature_c", "expected_pressure_bar",
  "oil", "decision", "coverage", "plan_goal", "note", NULL
};

static void
header_to_json (const EfJobHeader *header,
                JsonObject *object)
{
  put_text (object, "number", header->number);
  put_text (object, "serial", header->serial);
  put_text (object, "received", header->received);
  put_text (object, "customer", header->customer);
  put_text (object, "bench", header->bench);
  put_text (object, "role", header->role);
  put_number (object, "hours", header->hours);
  put_text (object, "complaint", header->complaint);
  put_number (object, "found_pressure_bar", ef_pressure_to_bar (header->found_pressure));
  put_number (object, "found_speed_rpm", ef_speed_to_rpm (header->found_speed));
  put_number (object, "found_temperature_c", ef_temperature_to_celsius (header->found_temperature));
  put_number (object, "expected_pressure_bar", ef_pressure_to_bar (header->expected_pressure));
  put_text (object, "oil", header->oil);
  put_text (object, "decision", header->decision);
  if (header->decision != NULL)
    put_number (object, "coverage", header->coverage);
  put_text (object, "plan_goal", header->plan_goal);
  put_text (object, "note", header->note);
}

static EfItem *
header_from_json (const EfJson *json)
{
  EfJobHeader *header = ef_item_new (&ef_job_header_class, "job");

  ef_json_only (json, header_members);
  header->number = get_text (json, "number");
  header->serial = get_text (json, "serial");
  header->received = get_text (json, "received");
  header->customer = get_text (json, "customer");
  header->bench = get_text (json, "bench");
  header->role = get_text (json, "role");
  header->hours = get_number (json, "hours", 0.0, 1e7);
  header->complaint = get_text (json, "complaint");
  header->found_pressure = ef_pressure_from_bar (get_number (json, "found_pressure_bar", 0.0, 1e4));
  header->found_speed = ef_speed_from_rpm (get_number (json, "found_speed_rpm", 0.0, 6e5));
  header->found_temperature = ef_temperature_from_celsius (get_number (json, "found_temperature_c", -173.15, 726.85));
  header->expected_pressure = ef_pressure_from_bar (get_number (json, "expected_pressure_bar", 0.0, 1e4));
  header->oil = get_text (json, "oil");
  header->decision = get_text (json, "decision");
  header->coverage = ef_json_number_or (json, "coverage", 0.5, 0.9999, header->decision != NULL ? EF_DECISION_DEFAULT.coverage : 0);
  header->plan_goal = get_text (json, "plan_goal");
  header->note = get_text (json, "note");

  return &header->item;
}

/* Marks */

static const char *const mark_members[] = {
  "id", "number", "face", "kind", "shape", "size_mm", "nodes_mm", "depths", "note", "photos", NULL
};
static const char *const depth_members[] = { "at_mm", "depth_mm", "unit", "gauge", NULL };

static JsonArray *
depths_to_json (const EfMark *mark)
{
  JsonArray *array = json_array_new ();
  guint i;

  for (i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);
      JsonObject *object = json_object_new ();

      json_object_set_array_member (object, "at_mm", new_pair (depth->u, depth->v));
      put_length (object, "depth_mm", depth->depth);
      put_unit (object, depth->unit);
      put_text (object, "gauge", depth->gauge_id);
      json_array_add_object_element (array, object);
    }

  return array;
}

static void
mark_to_json (const EfMark *mark,
              JsonObject *object)
{
  JsonArray *nodes = json_array_new ();
  guint i;

  for (i = 0; i < mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      json_array_add_array_element (nodes, new_pair (node->u, node->v));
    }

  json_object_set_int_member (object, "number", mark->number);
  put_text (object, "face", mark->face_id);
  put_text (object, "kind", ef_mark_kind_name (mark->kind));
  put_text (object, "shape", ef_mark_shape_name (mark->shape));
  if (mark->size != 0.0)
    put_length (object, "size_mm", mark->size);
  json_object_set_array_member (object, "nodes_mm", nodes);
  json_object_set_array_member (object, "depths", depths_to_json (mark));
  put_text (object, "note", mark->note);
  put_photos (object, mark->photos);
}

static void
nodes_from_json (const EfJson *json,
                 EfMark *mark)
{
  g_auto (EfJson) nodes = ef_json_array (json, "nodes_mm", 1, NODES_MAX);
  guint i;

  for (i = 0; i < ef_json_length (&nodes); i++)
    {
      g_auto (EfJson) element = ef_json_element (&nodes, i);
      EfMarkNode node = { 0.0, 0.0 };

      get_pair (&element, &node.u, &node.v);
      g_array_append_val (mark->nodes, node);
    }
}

static void
depths_from_json (const EfJson *json,
                  EfMark *mark)
{
  g_auto (EfJson) depths = { 0 };
  guint i;

  if (!ef_json_has (json, "depths"))
    return;

  depths = ef_json_array (json, "depths", 0, NODES_MAX);
  for (i = 0; i < ef_json_length (&depths); i++)
    {
      g_auto (EfJson) element = ef_json_element (&depths, i);
      g_auto (EfJson) at = ef_json_array (&element, "at_mm", 2, 2);
      g_autofree char *gauge_id = get_text (&element, "gauge");
      double u, v;

      ef_json_only (&element, depth_members);
      get_pair (&at, &u, &v);
      ef_mark_add_depth (mark, u, v, required_length (&element, "depth_mm"), get_unit (&element), gauge_id);
    }
}

static EfItem *
mark_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  g_autofree char *face = ef_json_string (json, "face");
  EfMarkKind kind = get_choice (json, "kind", EF_N_MARK_KINDS, mark_kind_name);
  EfMarkShape shape = get_choice (json, "shape", EF_N_SHAPES, mark_shape_name);
  double size_mm = ef_json_number_or (json, "size_mm", 0.0, MM_MAX, 0.0);
  EfMark *mark = ef_mark_new (face, kind, shape, ef_length_from_mm (size_mm));

  ef_json_only (json, mark_members);
  g_free (mark->item.id);
  mark->item.id = g_steal_pointer (&id);
  mark->number = (int) ef_json_integer_or (json, "number", 0, G_MAXINT, 0);
  nodes_from_json (json, mark);
  depths_from_json (json, mark);
  mark->note = get_text (json, "note");
  mark->photos = get_photos (json);

  return &mark->item;
}

/* Readings */

static const char *const reading_members[] = {
  "id", "quantity", "target", "place", "angle_deg", "at_mm", "value_mm", "unit", "gauge",
  "temperature_c", "time", "note", "after", NULL
};

static void
reading_to_json (const EfReading *reading,
                 JsonObject *object)
{
  put_text (object, "quantity", ef_quantity_name (reading->quantity));
  put_text (object, "target", reading->target);
  put_text (object, "place", reading->place);
  put_number (object, "angle_deg", isnan (reading->angle) ? NAN : ef_angle_to_deg (reading->angle));
  if (!isnan (reading->u) && !isnan (reading->v))
    json_object_set_array_member (object, "at_mm", new_pair (reading->u, reading->v));
  put_length (object, "value_mm", reading->value);
  put_unit (object, reading->unit);
  put_text (object, "gauge", reading->gauge_id);
  put_number (object, "temperature_c", ef_temperature_to_celsius (reading->temperature));
  put_text (object, "time", reading->time);
  put_text (object, "note", reading->note);
  if (reading->after)
    json_object_set_boolean_member (object, "after", TRUE);
}

static EfItem *
reading_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfReading *reading = ef_item_new (&ef_reading_class, id);
  double angle_deg = get_number (json, "angle_deg", -36000.0, 36000.0);

  ef_json_only (json, reading_members);
  reading->quantity = get_choice (json, "quantity", EF_N_READINGS, quantity_name);
  reading->target = ef_json_string (json, "target");
  reading->place = get_text (json, "place");
  reading->angle = isnan (angle_deg) ? NAN : ef_angle_from_deg (angle_deg);
  reading->u = reading->v = NAN;
  if (ef_json_has (json, "at_mm"))
    {
      g_auto (EfJson) at = ef_json_array (json, "at_mm", 2, 2);

      get_pair (&at, &reading->u, &reading->v);
    }
  reading->value = required_length (json, "value_mm");
  reading->unit = get_unit (json);
  reading->gauge_id = get_text (json, "gauge");
  reading->temperature = ef_temperature_from_celsius (get_number (json, "temperature_c", -173.15, 726.85));
  reading->time = get_text (json, "time");
  reading->note = get_text (json, "note");
  reading->after = ef_json_boolean_or (json, "after", FALSE);

  return &reading->item;
}

/* Gauges */

static const char *const gauge_members[] = {
  "id", "kind", "name", "serial", "resolution_mm", "uncertainty_mm", "range_min_mm", "range_max_mm",
  "checked", "due", "note", "certificates", NULL
};

static void
put_certificates (JsonObject *object,
                  const GPtrArray *certificates)
{
  JsonArray *array;

  if (ef_certificates_length (certificates) == 0)
    return;
  array = json_array_new ();
  for (guint i = 0; i < certificates->len; i++)
    {
      const EfCertificate *certificate = certificates->pdata[i];
      JsonObject *row = json_object_new ();

      put_text (row, "file", certificate->file);
      put_text (row, "name", certificate->name);
      put_text (row, "type", certificate->type);
      json_array_add_object_element (array, row);
    }
  json_object_set_array_member (object, "certificates", array);
}

static GPtrArray *
get_certificates (const EfJson *json)
{
  static const char *const members[] = { "file", "name", "type", NULL };
  g_auto (EfJson) array = { 0 };
  GPtrArray *certificates = NULL;

  if (!ef_json_has (json, "certificates"))
    return NULL;
  array = ef_json_array (json, "certificates", 0, EF_GAUGE_MOST_CERTIFICATES);
  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) row = ef_json_element (&array, i);
      g_autofree char *file = ef_json_string (&row, "file");
      g_autofree char *name = ef_json_string (&row, "name");
      int type = ef_json_choice (&row, "type", ef_certificate_types);

      ef_json_only (&row, members);
      certificates = ef_certificates_add (certificates, ef_certificate_new (file, name, ef_certificate_types[type]));
    }

  return certificates;
}

static void
gauge_to_json (const EfGauge *gauge,
               JsonObject *object)
{
  put_text (object, "kind", ef_gauge_kind_name (gauge->kind));
  put_text (object, "name", gauge->name);
  put_text (object, "serial", gauge->serial);
  put_length (object, "resolution_mm", gauge->resolution);
  put_length (object, "uncertainty_mm", gauge->uncertainty);
  put_length (object, "range_min_mm", gauge->range_min);
  put_length (object, "range_max_mm", gauge->range_max);
  put_text (object, "checked", gauge->checked);
  put_text (object, "due", gauge->due);
  put_text (object, "note", gauge->note);
  put_certificates (object, gauge->certificates);
}

static EfItem *
gauge_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfGauge *gauge = ef_item_new (&ef_gauge_class, id);

  ef_json_only (json, gauge_members);
  gauge->kind = get_choice (json, "kind", EF_N_GAUGE_KINDS, gauge_kind_name);
  gauge->name = get_text (json, "name");
  gauge->serial = get_text (json, "serial");
  gauge->resolution = required_length (json, "resolution_mm");
  gauge->uncertainty = required_length (json, "uncertainty_mm");
  gauge->range_min = get_length (json, "range_min_mm");
  gauge->range_max = get_length (json, "range_max_mm");
  gauge->checked = get_text (json, "checked");
  gauge->due = get_text (json, "due");
  gauge->note = get_text (json, "note");
  gauge->certificates = get_certificates (json);

  return &gauge->item;
}

/* Checks, overrides, ticks */

static const char *const check_members[] = { "id", "state", "note", "photos", NULL };

static void
check_to_json (const EfCheck *check,
               JsonObject *object)
{
  put_text (object, "state", ef_check_state_name (check->state));
  put_text (object, "note", check->note);
  put_photos (object, check->photos);
}

static EfItem *
check_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfCheck *check = ef_item_new (&ef_check_class, id);

  ef_json_only (json, check_members);
  check->state = get_choice (json, "state", EF_N_CHECK_STATES, check_state_name);
  check->note = get_text (json, "note");
  check->photos = get_photos (json);

  return &check->item;
}

static const char *const override_members[] = { "id", "verdict", "reason", "role", "time", NULL };

static void
override_to_json (const EfOverride *override,
                  JsonObject *object)
{
  put_text (object, "verdict", override->verdict);
  put_text (object, "reason", override->reason);
  put_text (object, "role", override->role);
  put_text (object, "time", override->time);
}

static EfItem *
override_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfOverride *override = ef_item_new (&ef_override_class, id);

  ef_json_only (json, override_members);
  override->verdict = g_strdup (ef_override_verdicts[ef_json_choice (json, "verdict", ef_override_verdicts)]);
  override->reason = ef_json_string (json, "reason");
  override->role = get_text (json, "role");
  override->time = get_text (json, "time");

  return &override->item;
}

static const char *const tick_members[] = { "id", "role", "time", "note", NULL };

static void
tick_to_json (const EfTick *tick,
              JsonObject *object)
{
  put_text (object, "role", tick->role);
  put_text (object, "time", tick->time);
  put_text (object, "note", tick->note);
}

static EfItem *
tick_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfTick *tick = ef_item_new (&ef_tick_class, id);

  ef_json_only (json, tick_members);
  tick->role = get_text (json, "role");
  tick->time = get_text (json, "time");
  tick->note = get_text (json, "note");

  return &tick->item;
}

/* Work, demand, cost */

static const char *const work_members[] = {
  "id", "face", "removed_mm", "gauge", "passes", "pressure_kpa", "stroke_m", "role", "time", "note", NULL
};

static void
work_to_json (const EfWork *work,
              JsonObject *object)
{
  JsonArray *passes = json_array_new ();

  put_text (object, "face", work->face_id);
  put_length (object, "removed_mm", work->removed);
  put_text (object, "gauge", work->gauge_id);
  for (guint i = 0; i < work->n_passes; i++)
    {
      JsonObject *row = json_object_new ();

      json_object_set_string_member (row, "grit", work->passes[i].grit);
      json_object_set_double_member (row, "count", work->passes[i].count);
      json_array_add_object_element (passes, row);
    }
  json_object_set_array_member (object, "passes", passes);
  put_number (object, "pressure_kpa", round (work->pressure) / 1e3);
  put_number (object, "stroke_m", round (work->stroke * 1e9) / 1e9);
  put_text (object, "role", work->role);
  put_text (object, "time", work->time);
  put_text (object, "note", work->note);
}

static void
passes_from_json (const EfJson *json,
                  EfWork *work)
{
  static const char *const members[] = { "grit", "count", NULL };
  g_auto (EfJson) passes = { 0 };

  if (!ef_json_has (json, "passes"))
    return;
  passes = ef_json_array (json, "passes", 0, EF_WORK_MOST_GRITS);
  for (guint i = 0; i < ef_json_length (&passes); i++)
    {
      g_auto (EfJson) element = ef_json_element (&passes, i);
      g_autofree char *grit = ef_json_string (&element, "grit");
      double count = ef_json_number (&element, "count", 0.0, 10000.0);

      ef_json_only (&element, members);
      if (ef_work_passes (work, grit) > 0.0)
        ef_json_fail (&element, EF_ERROR_INVALID, "expected each grit once, found \"%s\" twice", grit);
      if (grit != NULL)
        ef_work_set_passes (work, grit, count);
    }
}

static EfItem *
work_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfWork *work = ef_item_new (&ef_work_class, id);
  double kilopascal, metres;

  ef_json_only (json, work_members);
  work->face_id = ef_json_string (json, "face");
  work->removed = get_length (json, "removed_mm");
  work->gauge_id = get_text (json, "gauge");
  passes_from_json (json, work);
  kilopascal = get_number (json, "pressure_kpa", 0.0, 1e6);
  work->pressure = isnan (kilopascal) ? NAN : round (kilopascal * 1e3);
  metres = get_number (json, "stroke_m", 0.0, 1e4);
  work->stroke = isnan (metres) ? NAN : ef_length_on_grid (metres);
  work->role = get_text (json, "role");
  work->time = get_text (json, "time");
  work->note = get_text (json, "note");

  return &work->item;
}

static const char *const demand_members[] = {
  "id", "cooler_flow_lpm", "cooler_drop_bar", "extra_flow_lpm", "extra_pressure_bar", "hotter_k", "speed_rpm", "note", NULL
};

static void
demand_to_json (const EfDemand *demand,
                JsonObject *object)
{
  put_number (object, "cooler_flow_lpm", ef_flow_to_lpm (demand->cooler_flow));
  put_number (object, "cooler_drop_bar", ef_pressure_to_bar (demand->cooler_drop));
  put_number (object, "extra_flow_lpm", ef_flow_to_lpm (demand->extra_flow));
  put_number (object, "extra_pressure_bar", ef_pressure_to_bar (demand->extra_pressure));
  put_number (object, "hotter_k", demand->hotter);
  put_number (object, "speed_rpm", ef_speed_to_rpm (demand->speed));
  put_text (object, "note", demand->note);
}

static EfItem *
demand_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfDemand *demand = ef_item_new (&ef_demand_class, id);

  ef_json_only (json, demand_members);
  demand->cooler_flow = ef_flow_from_lpm (get_number (json, "cooler_flow_lpm", 0.0, 1e5));
  demand->cooler_drop = ef_pressure_from_bar (get_number (json, "cooler_drop_bar", 0.0, 1e3));
  demand->extra_flow = ef_flow_from_lpm (get_number (json, "extra_flow_lpm", 0.0, 1e5));
  demand->extra_pressure = ef_pressure_from_bar (get_number (json, "extra_pressure_bar", 0.0, 1e3));
  demand->hotter = get_number (json, "hotter_k", -100.0, 100.0);
  demand->speed = ef_speed_from_rpm (get_number (json, "speed_rpm", 0.0, 6e4));
  demand->note = get_text (json, "note");

  return &demand->item;
}

static const char *const cost_members[] = { "id", "currency", "hour_rate", "new_pump", "parts", "minutes", "note", NULL };

static void
cost_to_json (const EfCost *cost,
              JsonObject *object)
{
  JsonObject *minutes = json_object_new ();

  put_text (object, "currency", cost->currency);
  put_number (object, "hour_rate", cost->hour_rate);
  put_number (object, "new_pump", cost->new_pump);
  put_number (object, "parts", cost->parts);
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    put_number (minutes, ef_cost_kind_name (i), cost->minutes[i]);
  json_object_set_object_member (object, "minutes", minutes);
  put_text (object, "note", cost->note);
}

static EfItem *
cost_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfCost *cost = ef_item_new (&ef_cost_class, id);
  const char *names[EF_N_COST_KINDS + 1] = { NULL };
  g_auto (EfJson) minutes = ef_json_optional (json, "minutes");

  ef_json_only (json, cost_members);
  cost->currency = get_text (json, "currency");
  cost->hour_rate = get_number (json, "hour_rate", 0.0, 1e9);
  cost->new_pump = get_number (json, "new_pump", 0.0, 1e12);
  cost->parts = get_number (json, "parts", 0.0, 1e12);
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    {
      names[i] = ef_cost_kind_name (i);
      cost->minutes[i] = minutes.node != NULL ? get_number (&minutes, names[i], 0.0, 1e5) : NAN;
    }
  if (minutes.node != NULL)
    ef_json_only (&minutes, names);
  cost->note = get_text (json, "note");

  return &cost->item;
}

static EfItem *
replacement_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfReplacement *replacement = ef_replacement_new (id, NULL);

  ef_json_only (json, ef_replacement_members);
  ef_replacement_read (replacement, json);

  return &replacement->item;
}

static EfItem *
photo_from_json (const EfJson *json)
{
  g_autofree char *id = ef_json_string (json, "id");
  EfPhoto *photo = ef_photo_new (NULL, NULL, NULL, 0, 0);

  g_free (photo->item.id);
  photo->item.id = g_strdup (id != NULL ? id : "");
  ef_photo_read (photo, json);

  return &photo->item;
}

static void
fields_to_json (const EfItem *item,
                JsonObject *object)
{
  switch (item->klass->kind)
    {
    case EF_ITEM_HEADER:
      header_to_json ((const EfJobHeader *) item, object);
      break;
    case EF_ITEM_MARK:
      mark_to_json ((const EfMark *) item, object);
      break;
    case EF_ITEM_READING:
      reading_to_json ((const EfReading *) item, object);
      break;
    case EF_ITEM_GAUGE:
      gauge_to_json ((const EfGauge *) item, object);
      break;
    case EF_ITEM_CHECK:
      check_to_json ((const EfCheck *) item, object);
      break;
    case EF_ITEM_OVERRIDE:
      override_to_json ((const EfOverride *) item, object);
      break;
    case EF_ITEM_TICK:
      tick_to_json ((const EfTick *) item, object);
      break;
    case EF_ITEM_WORK:
      work_to_json ((const EfWork *) item, object);
      break;
    case EF_ITEM_DEMAND:
      demand_to_json ((const EfDemand *) item, object);
      break;
    case EF_ITEM_COST:
      cost_to_json ((const EfCost *) item, object);
      break;
    case EF_ITEM_REPLACEMENT:
      ef_replacement_to_json ((const EfReplacement *) item, object);
      break;
    case EF_ITEM_PHOTO:
      ef_photo_to_json ((const EfPhoto *) item, object);
      break;
    default:
      g_assert_not_reached ();
    }
}

JsonNode *
ef_item_to_json (const EfItem *item)
{
  JsonObject *object = json_object_new ();
  JsonNode *node;

  if (item->klass->kind != EF_ITEM_HEADER)
    json_object_set_string_member (object, "id", item->id);
  fields_to_json (item, object);

  node = json_node_init_object (json_node_alloc (), object);
  json_object_unref (object);

  return node;
}

static EfItem *
read_item (EfItemKind kind,
           const EfJson *json)
{
  switch (kind)
    {
    case EF_ITEM_HEADER:
      return header_from_json (json);
    case EF_ITEM_MARK:
      return mark_from_json (json);
    case EF_ITEM_READING:
      return reading_from_json (json);
    case EF_ITEM_GAUGE:
      return gauge_from_json (json);
    case EF_ITEM_CHECK:
      return check_from_json (json);
    case EF_ITEM_OVERRIDE:
      return override_from_json (json);
    case EF_ITEM_TICK:
      return tick_from_json (json);
    case EF_ITEM_WORK:
      return work_from_json (json);
    case EF_ITEM_DEMAND:
      return demand_from_json (json);
    case EF_ITEM_COST:
      return cost_from_json (json);
    case EF_ITEM_REPLACEMENT:
      return replacement_from_json (json);
    case EF_ITEM_PHOTO:
      return photo_from_json (json);
    default:
      ef_json_fail (json, EF_ERROR_INVALID, "expected a known kind of item");
      return NULL;
    }
}

EfItem *
ef_item_from_json (EfItemKind kind,
                   const EfJson *json)
{
  g_autoptr (EfItem) item = NULL;

  if (json->node == NULL || !JSON_NODE_HOLDS_OBJECT (json->node))
    {
      ef_json_fail (json, EF_ERROR_PARSE, "expected an object");
      return NULL;
    }

  item = read_item (kind, json);
  if (!ef_json_finish (json->context, NULL))
    return NULL;

  return g_steal_pointer (&item);
}
