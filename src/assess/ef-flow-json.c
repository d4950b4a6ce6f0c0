/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-json.h"

#include <math.h>

static void
number (JsonBuilder *builder,
        const char *name,
        double value)
{
  json_builder_set_member_name (builder, name);
  if (isfinite (value))
    json_builder_add_double_value (builder, value);
  else
    json_builder_add_null_value (builder);
}

static void
text (JsonBuilder *builder,
      const char *name,
      const char *value)
{
  json_builder_set_member_name (builder, name);
  if (value != NULL)
    json_builder_add_string_value (builder, value);
  else
    json_builder_add_null_value (builder);
}

static void
pair (JsonBuilder *builder,
      const char *name,
      const double value[2],
      double factor)
{
  json_builder_set_member_name (builder, name);
  json_builder_begin_array (builder);
  json_builder_add_double_value (builder, value[0] * factor);
  json_builder_add_double_value (builder, value[1] * factor);
  json_builder_end_array (builder);
}

static void
add_point (JsonBuilder *builder,
           const char *name,
           const EfWorkingPoint *point)
{
  const EfSectionLoss *loss = &point->loss;
  double psi[2] = { loss->load_psi[0], loss->load_psi[1] };

  json_builder_set_member_name (builder, name);
  json_builder_begin_object (builder);
  number (builder, "pressure_bar", point->pressure / 1e5);
  number (builder, "delivery_l_min", point->delivery * 6e4);
  number (builder, "theoretical_l_min", point->theoretical * 6e4);
  number (builder, "volumetric_efficiency", point->efficiency);
  number (builder, "loss_power_w", point->loss_power);
  json_builder_set_member_name (builder, "at_relief");
  json_builder_add_boolean_value (builder, point->at_relief);
  number (builder, "relieved_l_min", point->relieved * 6e4);
  number (builder, "pressure_loss_l_min", loss->pressure_loss * 6e4);
  number (builder, "film_loss_l_min", loss->film_loss * 6e4);
  number (builder, "drag_l_min", loss->drag * 6e4);
  number (builder, "to_bores_l_min", loss->to_bores * 6e4);
  number (builder, "loss_constant_m3", loss->constant);
  pair (builder, "load_n", loss->load, 1.0);
  pair (builder, "load_psi_deg", psi, 180.0 / G_PI);
  number (builder, "worst_imbalance", loss->worst_imbalance);
  json_builder_end_object (builder);
}

static void
add_curve (JsonBuilder *builder,
           const char *name,
           const EfCurve *curve,
           const char *x_name,
           double x_factor,
           const char *y_name,
           double y_factor)
{
  json_builder_set_member_name (builder, name);
  json_builder_begin_object (builder);
  json_builder_set_member_name (builder, x_name);
  json_builder_begin_array (builder);
  for (guint i = 0; i < curve->n; i++)
    json_builder_add_double_value (builder, curve->x[i] * x_factor);
  json_builder_end_array (builder);
  json_builder_set_member_name (builder, y_name);
  json_builder_begin_array (builder);
  for (guint i = 0; i < curve->n; i++)
    json_builder_add_double_value (builder, curve->y[i] * y_factor);
  json_builder_end_array (builder);
  json_builder_end_object (builder);
}

static void
add_state (JsonBuilder *builder,
           const EfFlowResult *self,
           EfPumpState state)
{
  const EfStateFlow *flow = &self->state[state];

  json_builder_set_member_name (builder, ef_pump_state_name (state));
  json_builder_begin_object (builder);
  json_builder_set_member_name (builder, "known");
  json_builder_add_boolean_value (builder, flow->known);
  text (builder, "reason", flow->reason);
  if (flow->known)
    {
      pair (builder, "hot_end_clearance_mm", flow->end_clearance, 1e3);
      pair (builder, "hot_tip_clearance_mm", flow->tip_clearance, 1e3);
      pair (builder, "side_play_mm", flow->side_play, 1e3);
      number (builder, "idle_pressure_uncertainty_bar", flow->idle_uncertainty / 1e5);
      add_point (builder, "hot_idle", &flow->idle);
      add_point (builder, "rated", &flow->rated);
      if (self->delivery[state].n > 0)
        add_curve (builder, "delivery_curve", &self->delivery[state], "pressure_bar", 1e-5, "delivery_l_min", 6e4);
    }
  json_builder_end_object (builder);
}

static void
add_shares (JsonBuilder *builder,
            const EfFlowResult *self)
{
  json_builder_set_member_name (builder, "shares");
  json_builder_begin_array (builder);
  for (guint i = 0; i < self->shares->len; i++)
    {
      const EfLeakShare *share = self->shares->pdata[i];

      json_builder_begin_object (builder);
      text (builder, "id", share->id);
      text (builder, "label", share->label);
      number (builder, "pressure_bar", share->pressure / 1e5);
      number (builder, "share", share->share);
      json_builder_end_object (builder);
    }
  json_builder_end_array (builder);
}

static void
add_conditions (JsonBuilder *builder,
                const EfFlowResult *self)
{
  number (builder, "displacement_cm3", self->displacement * 1e6);
  number (builder, "ripple", self->ripple);
  number (builder, "displacement_ratio", self->displacement_ratio);
  number (builder, "idle_speed_rpm", self->idle_speed * 60.0);
  number (builder, "idle_temperature_c", self->idle_temperature - 273.15);
  number (builder, "idle_viscosity_pa_s", self->idle_mu);
  number (builder, "rated_speed_rpm", self->rated_speed * 60.0);
  number (builder, "rated_temperature_c", self->rated_temperature - 273.15);
  number (builder, "rated_viscosity_pa_s", self->rated_mu);
  number (builder, "rated_pressure_bar", self->rated_pressure / 1e5);
  number (builder, "demand_constant_m3", self->demand);
  number (builder, "relief_bar", self->relief / 1e5);
  json_builder_set_member_name (builder, "cells");
  json_builder_add_int_value (builder, self->cells);
  json_builder_set_member_name (builder, "mesh_positions");
  json_builder_add_int_value (builder, self->positions);
}

static void
put_spread (JsonObject *object,
            const char *name,
            const EfSpreadFigure *figure,
            double factor)
{
  JsonObject *spread = json_object_new ();

  ef_json_put (spread, "mean", figure->mean * factor);
  ef_json_put (spread, "u", figure->u * factor);
  ef_json_put (spread, "low", figure->low * factor);
  ef_json_put (spread, "high", figure->high * factor);
  json_object_set_object_member (object, name, spread);
}

JsonNode *
ef_flow_monte_carlo_to_json (const EfFlowMonteCarlo *self)
{
  JsonObject *object = json_object_new ();

  json_object_set_boolean_member (object, "known", self->known);
  if (self->reason != NULL)
    json_object_set_string_member (object, "reason", self->reason);
  else
    json_object_set_null_member (object, "reason");
  if (!self->known)
    return ef_json_object_node (object);
  json_object_set_int_member (object, "seed", self->seed);
  json_object_set_int_member (object, "draws", self->draws);
  json_object_set_int_member (object, "failed", self->failed);
  put_spread (object, "end_clearance_mm", &self->end_clearance, 1e3);
  put_spread (object, "leakage_l_min", &self->leakage, 6e4);
  put_spread (object, "hot_idle_pressure_bar", &self->pressure, 1e-5);
  ef_json_put (object, "demand_pressure_bar", self->demand_pressure / 1e5);
  ef_json_put (object, "below_demand", self->below);
  ef_json_put (object, "surrogate_error_bar", self->surrogate_error / 1e5);
  json_object_set_int_member (object, "checks", self->checks);

  return ef_json_object_node (object);
}

JsonNode *
ef_flow_result_to_json (const EfFlowResult *self)
{
  g_autoptr (JsonBuilder) builder = json_builder_new ();

  json_builder_begin_object (builder);
  text (builder, "section", self->section);
  add_conditions (builder, self);
  json_builder_set_member_name (builder, "states");
  json_builder_begin_object (builder);
  for (int state = 0; state < EF_N_STATES; state++)
    add_state (builder, self, state);
  json_builder_end_object (builder);
  if (self->shares != NULL)
    add_shares (builder, self);
  if (self->idle_pressure.n > 0)
    add_curve (builder, "idle_pressure_curve", &self->idle_pressure, "end_clearance_mm", 1e3, "idle_pressure_bar", 1e-5);
  if (self->monte_carlo.known || self->monte_carlo.reason != NULL)
    {
      json_builder_set_member_name (builder, "monte_carlo");
      json_builder_add_value (builder, ef_flow_monte_carlo_to_json (&self->monte_carlo));
    }
  json_builder_set_member_name (builder, "complaint");
  if (self->has_complaint)
    {
      json_builder_begin_object (builder);
      number (builder, "missing_bar", self->missing / 1e5);
      number (builder, "explained_bar", self->explained / 1e5);
      number (builder, "explained_uncertainty_bar", self->explained_uncertainty / 1e5);
      text (builder, "sentence", self->blame);
      json_builder_end_object (builder);
    }
  else
    json_builder_add_null_value (builder);
  json_builder_set_member_name (builder, "assumptions");
  json_builder_begin_array (builder);
  for (guint i = 0; i < self->assumptions->len; i++)
    json_builder_add_string_value (builder, self->assumptions->pdata[i]);
  json_builder_end_array (builder);
  json_builder_end_object (builder);

  return json_builder_get_root (builder);
}
