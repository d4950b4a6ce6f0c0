/* Computations by name: the loss of a gear section, the state of a pump.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc-gear.h"
#include "ef-calc-inspection.h"

#include <float.h>
#include <math.h>

#include "../assess/ef-assessment.h"
#include "../assess/ef-flow-json.h"
#include "../flow/ef-section-flow.h"
#include "../record/ef-exchange.h"

#define DEG (G_PI / 180.0)
#define L_MIN 6e4 /* m3/s to L/min */
#define MOST_PORTS 20
#define MOST_POINTS 2000

static void
read_two (const EfJson *input,
          const char *member,
          double min,
          double scale,
          double out[2])
{
  g_auto (EfJson) list = ef_json_array (input, member, 2, 2);

  for (guint i = 0; i < 2 && ef_json_length (&list) == 2; i++)
    {
      g_auto (EfJson) element = ef_json_element (&list, i);

      out[i] = scale * ef_json_value (&element, min, 1e4);
    }
}

static EfRing
read_outline (const EfJson *json)
{
  g_auto (EfJson) list = ef_json_array (json, "outline_mm", 3, MOST_POINTS);
  guint n = ef_json_length (&list);
  EfRing ring = ef_ring_new (MAX (n, 3), NULL);

  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) place = ef_json_element (&list, i);

      if (place.node != NULL && ef_json_length (&place) != 2)
        ef_json_fail (&place, EF_ERROR_INVALID, "expected a place as two numbers");
      for (guint k = 0; k < 2 && ef_json_length (&place) == 2; k++)
        {
          g_auto (EfJson) number = ef_json_element (&place, k);

          ring.xy[2 * i + k] = 1e-3 * ef_json_value (&number, -2000.0, 2000.0);
        }
    }

  return ring;
}

static void
read_port (const EfJson *json,
           EfFlowPort *port)
{
  static const char *const members[] = { "side", "outline_mm", "ends", NULL };
  static const char *const sides[] = { "suction", "delivery", NULL };
  static const char *const ends[] = { "both", "a", "b", NULL };
  int which;

  ef_json_only (json, members);
  port->group = ef_json_choice (json, "side", sides) == 0 ? EF_GROUP_SUCTION : EF_GROUP_DELIVERY;
  port->outline = read_outline (json);
  which = ef_json_has (json, "ends") ? ef_json_choice (json, "ends", ends) : 0;
  port->at_end[0] = which != 2;
  port->at_end[1] = which != 1;
}

static gboolean
read_geometry (const EfJson *input,
               EfFlowGeometry *geometry,
               GError **error)
{
  g_auto (EfJson) ports = ef_json_array (input, "ports", 0, MOST_PORTS);
  EfGearPairInput in;

  read_two (input, "shaft_diameter_mm", DBL_MIN, 0.5e-3, geometry->shaft_radius);
  geometry->suction_angle = DEG * ef_json_number (input, "suction_angle_deg", 0.0, 180.0);
  geometry->delivery_angle = DEG * ef_json_number (input, "delivery_angle_deg", 0.0, 180.0);
  geometry->ports = g_new0 (EfFlowPort, MOST_PORTS);
  for (guint i = 0; i < ef_json_length (&ports) && i < MOST_PORTS; i++)
    {
      g_auto (EfJson) port = ef_json_element (&ports, i);

      read_port (&port, &geometry->ports[geometry->n_ports++]);
    }
  if (!ef_calc_read_gear_pair (input, &in, error) || !ef_gear_pair_solve (&in, &geometry->pair, error))
    return FALSE;
  geometry->face_width = geometry->pair.in.face_width;

  return ef_json_finish (input->context, error);
}

static void
read_conditions (const EfJson *input,
                 EfSectionConditions *conditions)
{
  conditions->dp = 1e5 * ef_json_number (input, "pressure_bar", DBL_MIN, 1e4);
  conditions->mu = 1e-3 * ef_json_number (input, "viscosity_mPa_s", DBL_MIN, 1e6);
  conditions->speed = ef_json_number (input, "speed_rpm", 0.0, 1e6) / 60.0;
  read_two (input, "tip_clearance_mm", DBL_MIN, 1e-3, conditions->tip_clearance);
  read_two (input, "side_play_mm", 0.0, 1e-3, conditions->side_play);
}

static void
set_two (JsonObject *object,
         const char *name,
         const double values[2],
         double scale)
{
  JsonArray *array = json_array_new ();

  json_array_add_double_element (array, scale * values[0]);
  json_array_add_double_element (array, scale * values[1]);
  json_object_set_array_member (object, name, array);
}

static JsonNode *
loss_result (const EfSectionLoss *loss)
{
  JsonObject *out = json_object_new ();

  json_object_set_double_member (out, "pressure_loss_l_min", loss->pressure_loss * L_MIN);
  json_object_set_double_member (out, "film_loss_l_min", loss->film_loss * L_MIN);
  json_object_set_double_member (out, "drag_l_min", loss->drag * L_MIN);
  json_object_set_double_member (out, "to_bores_l_min", loss->to_bores * L_MIN);
  json_object_set_double_member (out, "loss_constant_m3", loss->constant);
  set_two (out, "load_n", loss->load, 1.0);
  set_two (out, "load_psi_deg", loss->load_psi, 1.0 / DEG);
  json_object_set_int_member (out, "iterations", loss->iterations);
  json_object_set_double_member (out, "worst_imbalance", loss->worst_imbalance);
  json_object_set_double_member (out, "tip_reynolds", loss->reynolds);
  json_object_set_double_member (out, "tip_entry_share", loss->entry_share);

  return ef_json_object_node (out);
}

static gboolean
solve_section (const EfFlowGeometry *geometry,
               const EfSectionConditions *conditions,
               const double clearance[2],
               double share,
               guint cells,
               guint positions,
               EfSectionLoss *loss,
               GError **error)
{
  g_autoptr (EfSectionFlow) flow = ef_section_flow_new (geometry, cells, positions, EF_FILM_CHOLMOD, error);

  if (flow == NULL)
    return FALSE;
  for (int gear = 0; gear < 2; gear++)
    if (!ef_section_flow_set_even (flow, gear, 0, clearance[gear] * share, error) ||
        !ef_section_flow_set_even (flow, gear, 1, clearance[gear] * (1.0 - share), error))
      return FALSE;

  return ef_section_flow_solve (flow, conditions, loss, error);
}

static JsonNode *
run_section_loss (const EfJson *input,
                  GError **error)
{
  static const char *const members[] = { EF_CALC_GEAR_MEMBERS, "shaft_diameter_mm", "suction_angle_deg", "delivery_angle_deg", "ports",
                                         "end_clearance_mm", "end_share", "tip_clearance_mm", "side_play_mm", "pressure_bar",
                                         "viscosity_mPa_s", "speed_rpm", "cells", "positions", NULL };
  EfFlowGeometry geometry = { 0 };
  EfSectionConditions conditions = { 0 };
  EfSectionLoss loss;
  double clearance[2] = { 0 };
  double share;
  guint cells, positions;
  gboolean ok;

  ef_json_only (input, members);
  read_conditions (input, &conditions);
  read_two (input, "end_clearance_mm", DBL_MIN, 1e-3, clearance);
  share = ef_json_number_or (input, "end_share", 0.01, 0.99, 0.5);
  cells = (guint) ef_json_integer_or (input, "cells", 16, 1024, 128);
  positions = (guint) ef_json_integer_or (input, "positions", 1, 16, 4);
  ok = read_geometry (input, &geometry, error) && solve_section (&geometry, &conditions, clearance, share, cells, positions, &loss, error);
  ef_flow_geometry_clear (&geometry);

  return ok ? loss_result (&loss) : NULL;
}

/* A number that isn't known is left out. */
static void
drop_nulls (JsonNode *node)
{
  if (JSON_NODE_HOLDS_ARRAY (node))
    {
      JsonArray *array = json_node_get_array (node);

      for (guint i = 0; i < json_array_get_length (array); i++)
        drop_nulls (json_array_get_element (array, i));
    }
  else if (JSON_NODE_HOLDS_OBJECT (node))
    {
      JsonObject *object = json_node_get_object (node);
      g_autoptr (GList) names = json_object_get_members (object);

      for (GList *l = names; l != NULL; l = l->next)
        if (json_object_get_null_member (object, l->data))
          json_object_remove_member (object, l->data);
        else
          drop_nulls (json_object_get_member (object, l->data));
    }
}

EfInspection *
ef_calc_read_inspection (const EfJson *input,
                         GError **error)
{
  g_autofree char *demo = NULL;
  g_autofree char *name = NULL;
  g_autofree char *path = NULL;

  if (ef_json_has (input, "inspection") == ef_json_has (input, "demo"))
    ef_json_fail (input, EF_ERROR_INVALID, "expected either inspection or demo");
  else if (ef_json_has (input, "inspection"))
    {
      g_auto (EfJson) inspection = ef_json_object (input, "inspection");
      g_autofree char *text = NULL;

      if (!ef_json_finish (input->context, error))
        return NULL;
      text = ef_json_to_text (inspection.node);

      return ef_exchange_parse (text, -1, "inspection", error);
    }
  else
    demo = ef_json_string (input, "demo");
  if (demo != NULL && !g_regex_match_simple ("^[a-z0-9-]+$", demo, 0, 0))
    ef_json_fail (input, EF_ERROR_INVALID, "demo: expected a name such as job-2-rc-4, found “%s”", demo);
  if (!ef_json_finish (input->context, error))
    return NULL;
  name = g_strconcat (demo, ".json", NULL);
  path = ef_data_path ("demo", name, NULL);

  return ef_exchange_load (path, error);
}

static JsonNode *
run_pump_state (const EfJson *input,
                GError **error)
{
  static const char *const members[] = { "inspection", "demo", "detail", NULL };
  static const char *const details[] = { "coarse", "fine", "full", NULL };
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  EfFlowDetail detail;
  JsonNode *result;

  ef_json_only (input, members);
  detail = ef_json_has (input, "detail") ? (EfFlowDetail) ef_json_choice (input, "detail", details) : EF_DETAIL_FINE;
  inspection = ef_calc_read_inspection (input, error);
  rules = inspection != NULL ? ef_rule_set_default (error) : NULL;
  if (rules == NULL)
    return NULL;
  assessment = ef_assess_in_detail (inspection, rules, NULL, detail, NULL, error);
  if (assessment == NULL)
    return NULL;
  result = ef_flow_result_to_json (assessment->flow);
  drop_nulls (result);

  return result;
}

const EfCalc ef_calc_section[] = {
  {
      "section-loss",
      "What a gear section with even clearances loses, and the loads on its gears",
      EF_CALC_GEAR_INPUT
      "\nshaft_diameter_mm: two numbers\n"
      "suction_angle_deg, delivery_angle_deg: to where the wall is open, from the direction that points away from the mate\n"
      "ports: array of objects with side (\"suction\" or \"delivery\"), outline_mm (places [x, y]: origin midway between the axes, x from the\n"
      "  drive gear to the driven, y towards delivery) and ends (\"both\" (default), \"a\" or \"b\")\n"
      "end_clearance_mm: two numbers, both ends together\n"
      "end_share: of it at end a, default 0.5\n"
      "tip_clearance_mm: two numbers, radial\n"
      "side_play_mm: two numbers, how far each gear moves from the middle\n"
      "pressure_bar, viscosity_mPa_s, speed_rpm (of the drive gear)\n"
      "cells: to the side of each gear face, default 128\n"
      "positions: of the mesh to average over, default 4",
      "pressure_loss_l_min: driven by pressure alone\n"
      "film_loss_l_min: the part of it that leaves delivery at the gear ends\n"
      "drag_l_min: dragged along the wall towards delivery\n"
      "to_bores_l_min\n"
      "loss_constant_m3: L = mu q / dp\n"
      "load_n, load_psi_deg: on each gear\n"
      "iterations: until the direction of the side play settled\n"
      "worst_imbalance: of the films' flows\n"
      "tip_reynolds: laminar below 1000\n"
      "tip_entry_share: above 0.1 the tip loss is overestimated",
      "{\"teeth\": [12, 12], \"module_mm\": 3, \"shift\": [0.3, 0.3], \"tip_diameter_mm\": [43.2, 43.2], \"centre_distance_mm\": 37.7, \"face_width_mm\": 25,\n"
      " \"shaft_diameter_mm\": [18, 18], \"suction_angle_deg\": 100, \"delivery_angle_deg\": 95, \"ports\": [\n"
      "  {\"side\": \"delivery\", \"outline_mm\": [[-5, 6], [5, 6], [5, 30], [-5, 30]]},\n"
      "  {\"side\": \"suction\", \"outline_mm\": [[-5, -30], [5, -30], [5, -6], [-5, -6]]}],\n"
      " \"end_clearance_mm\": [0.07, 0.07], \"tip_clearance_mm\": [0.06, 0.06], \"side_play_mm\": [0.025, 0.025],\n"
      " \"pressure_bar\": 4, \"viscosity_mPa_s\": 11.5071, \"speed_rpm\": 3000, \"cells\": 96}",
      "Reynolds 1886 at the gear ends; slot and Couette flow at the tips; pressure on the teeth's chords: derived from first principles",
      run_section_loss,
  },
  {
      "pump-state",
      "Delivery and hot-idle pressure of an inspected pump: as new, as found, after rework",
      "inspection: a whole inspection as in its file; or\n"
      "demo: name of a demo job that comes with the program\n"
      "detail: \"coarse\", \"fine\" (default; and whether the pump is to blame), \"full\" (and what each fault costs, and curves)",
      "states: by name, with pressure, delivery and losses at hot idle and at the rated point\n"
      "complaint: whether the pump is to blame, in one sentence\n"
      "shares: what each fault costs, dearest first\n"
      "assumptions: all that went in without being measured, and what isn't modelled\n"
      "What isn't known is left out.",
      "{\"demo\": \"job-2-rc-4\", \"detail\": \"coarse\"}",
      "docs/flow-model.md",
      run_pump_state,
  },
  { NULL },
};
