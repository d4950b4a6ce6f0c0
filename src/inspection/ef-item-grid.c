/* Brings the numbers of an item onto the grid that files keep to the last bit.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-item-grid.h"
#include "ef-replacement.h"

#include <math.h>

/* Whole steps of 1/@per_unit; NAN, infinities and what is too large for whole steps stay as they are. Never -0. */
static double
on_steps (double value,
          double per_unit)
{
  double steps = value * per_unit;

  if (!isfinite (value) || fabs (steps) > 9007199254740992.0)
    return value;

  return round (steps) / per_unit + 0.0;
}

double
ef_pressure_on_grid (double pascal)
{
  return on_steps (pascal, 1.0);
}

double
ef_pressure_to_bar (double pascal)
{
  return round (pascal) / 1e5 + 0.0;
}

double
ef_pressure_from_bar (double bar)
{
  return round (bar * 1e5) + 0.0;
}

double
ef_temperature_on_grid (double kelvin)
{
  return on_steps (kelvin, 1e6);
}

double
ef_temperature_to_celsius (double kelvin)
{
  return (round (kelvin * 1e6) - 273150000.0) / 1e6 + 0.0;
}

double
ef_temperature_from_celsius (double celsius)
{
  return (round (celsius * 1e6) + 273150000.0) / 1e6;
}

double
ef_speed_on_grid (double rev_per_s)
{
  return on_steps (rev_per_s, 6e7);
}

double
ef_speed_to_rpm (double rev_per_s)
{
  return round (rev_per_s * 6e7) / 1e6 + 0.0;
}

double
ef_speed_from_rpm (double rpm)
{
  return round (rpm * 1e6) / 6e7 + 0.0;
}

double
ef_flow_on_grid (double m3_per_s)
{
  return on_steps (m3_per_s, 6e10);
}

double
ef_flow_to_lpm (double m3_per_s)
{
  return round (m3_per_s * 6e10) / 1e6 + 0.0;
}

double
ef_flow_from_lpm (double lpm)
{
  return round (lpm * 1e6) / 6e10 + 0.0;
}

/* NAN means "not said" and stays. */
static double
length_on_grid (double metres)
{
  return isfinite (metres) ? ef_length_on_grid (metres) + 0.0 : metres;
}

static double
angle_on_grid (double radians)
{
  return isfinite (radians) ? ef_angle_on_grid (radians) + 0.0 : radians;
}

static void
grid_header (EfJobHeader *header)
{
  header->found_pressure = ef_pressure_on_grid (header->found_pressure);
  header->expected_pressure = ef_pressure_on_grid (header->expected_pressure);
  header->found_speed = ef_speed_on_grid (header->found_speed);
  header->found_temperature = ef_temperature_on_grid (header->found_temperature);
}

static void
grid_mark (EfMark *mark)
{
  guint i;

  mark->size = length_on_grid (mark->size);
  for (i = 0; i < mark->nodes->len; i++)
    {
      EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      node->u = length_on_grid (node->u);
      node->v = length_on_grid (node->v);
    }
  for (i = 0; i < mark->depths->len; i++)
    {
      EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      depth->u = length_on_grid (depth->u);
      depth->v = length_on_grid (depth->v);
      depth->depth = length_on_grid (depth->depth);
    }
}

static void
grid_reading (EfReading *reading)
{
  reading->angle = angle_on_grid (reading->angle);
  reading->u = length_on_grid (reading->u);
  reading->v = length_on_grid (reading->v);
  reading->value = length_on_grid (reading->value);
  reading->temperature = ef_temperature_on_grid (reading->temperature);
}

static void
grid_gauge (EfGauge *gauge)
{
  gauge->resolution = length_on_grid (gauge->resolution);
  gauge->uncertainty = length_on_grid (gauge->uncertainty);
  gauge->range_min = length_on_grid (gauge->range_min);
  gauge->range_max = length_on_grid (gauge->range_max);
}

static void
grid_work (EfWork *work)
{
  work->removed = length_on_grid (work->removed);
  work->pressure = ef_pressure_on_grid (work->pressure);
  work->stroke = length_on_grid (work->stroke);
}

static void
grid_demand (EfDemand *demand)
{
  demand->cooler_flow = ef_flow_on_grid (demand->cooler_flow);
  demand->cooler_drop = ef_pressure_on_grid (demand->cooler_drop);
  demand->extra_flow = ef_flow_on_grid (demand->extra_flow);
  demand->extra_pressure = ef_pressure_on_grid (demand->extra_pressure);
  demand->hotter = on_steps (demand->hotter, 1e6);
  demand->speed = ef_speed_on_grid (demand->speed);
}

gpointer
ef_item_on_grid (gpointer item)
{
  EfItem *self = item;
  g_autoptr (EfItem) copy = NULL;

  g_return_val_if_fail (self != NULL, NULL);

  switch (self->klass->kind)
    {
    case EF_ITEM_HEADER:
      copy = ef_item_copy (self);
      grid_header ((EfJobHeader *) copy);
      break;
    case EF_ITEM_MARK:
      copy = ef_item_copy (self);
      grid_mark ((EfMark *) copy);
      break;
    case EF_ITEM_READING:
      copy = ef_item_copy (self);
      grid_reading ((EfReading *) copy);
      break;
    case EF_ITEM_GAUGE:
      copy = ef_item_copy (self);
      grid_gauge ((EfGauge *) copy);
      break;
    case EF_ITEM_WORK:
      copy = ef_item_copy (self);
      grid_work ((EfWork *) copy);
      break;
    case EF_ITEM_DEMAND:
      copy = ef_item_copy (self);
      grid_demand ((EfDemand *) copy);
      break;
    case EF_ITEM_REPLACEMENT:
      copy = ef_item_copy (self);
      ef_replacement_on_grid ((EfReplacement *) copy);
      break;
    case EF_ITEM_PHOTO:
      copy = ef_item_copy (self);
      ef_photo_on_grid ((EfPhoto *) copy);
      break;
    default:
      break;
    }

  if (copy == NULL || ef_item_equal (self, copy))
    return ef_item_ref (self);

  return g_steal_pointer (&copy);
}
