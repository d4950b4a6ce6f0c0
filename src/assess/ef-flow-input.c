/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-input.h"

#include <math.h>
#include <string.h>

static const char *const places[2] = { "drive", "driven" };

void
ef_flow_assume (GPtrArray *assumptions,
                const char *format,
                ...)
{
  g_autofree char *sentence = NULL;
  va_list args;

  va_start (args, format);
  sentence = g_strdup_vprintf (format, args);
  va_end (args);
  if (assumptions != NULL && !g_ptr_array_find_with_equal_func (assumptions, sentence, g_str_equal, NULL))
    g_ptr_array_add (assumptions, g_steal_pointer (&sentence));
}

const EfSection *
ef_flow_section (const EfPumpSheet *sheet)
{
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];

      if (section->role == EF_SECTION_PRESSURE)
        return section;
    }

  return NULL;
}

static EfFaceChart *
find_chart (const EfFindings *findings,
            const char *face_id)
{
  return face_id != NULL ? g_hash_table_lookup (findings->charts, face_id) : NULL;
}

/* The gear end that a plane face lies against: the front one, 0, is met by a face that looks to the rear. */
static int
end_of_face (const EfFindings *findings,
             const char *face_id,
             int fallback)
{
  const EfFaceChart *chart = find_chart (findings, face_id);
  double position[3], normal[3];

  if (chart == NULL)
    return fallback;
  ef_face_chart_to_pump (chart, 0.5 * (chart->u0 + chart->u1), 0.5 * (chart->v0 + chart->v1), position, normal);

  return normal[2] < 0.0 ? 0 : 1;
}

EfFlowGeometry
ef_flow_geometry (const EfFindings *findings,
                  const EfSection *section)
{
  int facing_end = end_of_face (findings, section->facing_face, 0);
  double sign = ef_section_delivery_sign (section);
  EfFlowGeometry geometry = {
    .pair = section->pair,
    .face_width = section->pair.in.face_width,
    .shaft_radius = { section->shaft_radius[0], section->shaft_radius[1] },
    .suction_angle = section->suction_angle,
    .delivery_angle = section->delivery_angle,
    .n_ports = section->ports->len,
  };

  geometry.ports = g_new0 (EfFlowPort, MAX (geometry.n_ports, 1));
  for (guint i = 0; i < geometry.n_ports; i++)
    {
      const EfPort *port = &g_array_index (section->ports, EfPort, i);
      EfFlowPort *out = &geometry.ports[i];

      out->group = port->side == EF_SIDE_DELIVERY ? EF_GROUP_DELIVERY : EF_GROUP_SUCTION;
      out->outline = ef_ring_new (port->outline.n, port->outline.xy);
      for (guint k = 0; k < out->outline.n; k++)
        out->outline.xy[2 * k + 1] *= sign;
      out->at_end[facing_end] = port->in_facing;
      out->at_end[1 - facing_end] = port->in_floor;
    }

  return geometry;
}

static double
alpha_of (const EfPumpSheet *sheet,
          const char *part_id,
          GPtrArray *assumptions)
{
  const EfPart *part = part_id != NULL ? ef_pump_sheet_part (sheet, part_id) : NULL;
  double alpha = 0.0;

  if (part == NULL || !ef_material_expansion (part->material, &alpha))
    ef_flow_assume (assumptions, "The thermal growth of %s isn't known and is left out.", part != NULL ? part->name : "a part");

  return alpha;
}

/* The bearing's radial clearance: how far the gear can move from the middle. */
static double
nominal_play (const EfPumpSheet *sheet,
              const EfSection *section,
              int gear)
{
  const EfPart *part = ef_pump_sheet_part (sheet, section->pocket_part);

  for (guint i = 0; part != NULL && i < part->bores->len; i++)
    {
      const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, i);

      if (bore->axis == gear)
        return MAX (0.5 * bore->diameter - section->shaft_radius[gear], 0.0);
    }

  return 0.0;
}

static const EfDerived *
bore_clearance_in (GPtrArray *all,
                   const EfSection *section,
                   int gear)
{
  const EfDerived *largest = NULL;

  for (guint i = 0; i < all->len; i++)
    {
      const EfDerived *derived = all->pdata[i];

      if (g_str_equal (derived->quantity, "bore-clearance") && g_strcmp0 (derived->place, places[gear]) == 0 &&
          g_strcmp0 (derived->target, section->pocket_part) == 0 && (largest == NULL || derived->value > largest->value))
        largest = derived;
    }

  return largest;
}

const EfDerived *
ef_flow_bore_clearance (const EfFindings *findings,
                        const EfSection *section,
                        int gear)
{
  return bore_clearance_in (findings->derived, section, gear);
}

static void
fill_clearances (const EfFindings *findings,
                 const EfSection *section,
                 EfPumpState state,
                 const double clearance_after[2],
                 EfFlowGaps *gaps,
                 GPtrArray *assumptions)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;

  for (int gear = 0; gear < 2; gear++)
    {
      GPtrArray *derived = state == EF_STATE_REWORKED && findings->derived_after != NULL ? findings->derived_after : findings->derived;
      const EfDerived *end = ef_derived_find (derived, "end-clearance", section->id, places[gear]);
      const EfDerived *tip = ef_derived_find (derived, "tip-clearance", section->id, places[gear]);
      const EfDerived *bore = bore_clearance_in (derived, section, gear);

      gaps->end_clearance[gear] = section->pocket_depth - section->pair.in.face_width;
      gaps->tip_clearance[gear] = section->pocket_radius[gear] - section->pair.in.tip_radius[gear];
      gaps->side_play[gear] = nominal_play (sheet, section, gear);
      if (state == EF_STATE_NEW)
        continue;
      if (end != NULL)
        gaps->end_clearance[gear] = end->value;
      else
        ef_flow_assume (assumptions, "End clearance of the %s gear isn't measured: taken as new, %.3f mm.", places[gear], gaps->end_clearance[gear] * 1e3);
      if (state == EF_STATE_REWORKED && !isnan (clearance_after[gear]))
        gaps->end_clearance[gear] = clearance_after[gear];
      if (tip != NULL)
        gaps->tip_clearance[gear] = tip->value;
      else
        ef_flow_assume (assumptions, "Tip clearance of the %s gear isn't measured: taken as new, %.3f mm.", places[gear], gaps->tip_clearance[gear] * 1e3);
      if (bore != NULL)
        gaps->side_play[gear] = MAX (0.5 * bore->value, 0.0);
      else
        ef_flow_assume (assumptions, "Clearance of the %s shaft in its bore isn't measured: taken as new, %.3f mm.", places[gear], 2e3 * gaps->side_play[gear]);
    }
}

static EfWornMap *
worn_map (const EfFindings *findings,
          EfWornMaps *worn,
          const char *face_id,
          GHashTable *stock)
{
  EfFaceChart *chart = find_chart (findings, face_id);
  EfDepthMap *map = face_id != NULL ? g_hash_table_lookup (findings->maps, face_id) : NULL;
  const double *off = stock != NULL && face_id != NULL ? g_hash_table_lookup (stock, face_id) : NULL;

  return chart != NULL ? ef_worn_maps_get (worn, chart, map, off != NULL ? *off : 0.0) : NULL;
}

static EfWornMap *
worn_part_map (const EfFindings *findings,
               EfWornMaps *worn,
               const char *part_id,
               const char *face,
               GHashTable *stock)
{
  g_autofree char *id = g_strdup_printf ("%s/%s", part_id, face);

  return worn_map (findings, worn, id, stock);
}

static void
fill_maps (const EfFindings *findings,
           const EfSection *section,
           EfWornMaps *worn,
           GHashTable *stock,
           EfFlowGaps *gaps)
{
  int facing_end = end_of_face (findings, section->facing_face, 0);

  gaps->plate[facing_end] = worn_map (findings, worn, section->facing_face, stock);
  gaps->plate[1 - facing_end] = worn_map (findings, worn, section->floor_face, stock);
  for (int gear = 0; gear < 2; gear++)
    {
      g_autofree char *tips_id = g_strdup_printf ("%s/tips", section->gear_part[gear]);
      g_autofree char *wall = g_strdup_printf ("wall-%s", places[gear]);
      const EfFaceChart *tips = find_chart (findings, tips_id);

      gaps->gear_end[gear][0] = worn_part_map (findings, worn, section->gear_part[gear], "end-a", stock);
      gaps->gear_end[gear][1] = worn_part_map (findings, worn, section->gear_part[gear], "end-b", stock);
      gaps->wall[gear] = worn_part_map (findings, worn, section->pocket_part, wall, NULL);
      if (tips != NULL)
        ef_flow_gaps_set_tips (gaps, gear, tips, g_hash_table_lookup (findings->maps, tips_id));
    }
}

EfFlowGaps
ef_flow_gaps (const EfFindings *findings,
              const EfSection *section,
              EfPumpState state,
              GHashTable *stock,
              const double clearance_after[2],
              EfWornMaps *worn,
              GPtrArray *assumptions)
{
  EfFlowGaps gaps = { .section = section, .delivery_sign = ef_section_delivery_sign (section), .end_share = 0.5 };

  gaps.alpha_housing = alpha_of (findings->inspection->sheet, section->pocket_part, assumptions);
  gaps.alpha_gear = alpha_of (findings->inspection->sheet, section->gear_part[0], assumptions);
  fill_clearances (findings, section, state, clearance_after, &gaps, assumptions);
  if (state != EF_STATE_NEW)
    fill_maps (findings, section, worn, state == EF_STATE_REWORKED ? stock : NULL, &gaps);

  return gaps;
}
