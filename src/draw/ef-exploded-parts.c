/* What the exploded pump shows of each part: a plan outline from the pump sheet's own numbers.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-exploded-private.h"

#include <math.h>

#define CIRCLE_POINTS 40

static double
axis_x (const EfSection *section, int axis)
{
  return (axis == 0 ? -0.5 : 0.5) * section->pair.in.centre_distance;
}

static const EfSection *
section_of (const EfPumpSheet *sheet, const EfPart *part)
{
  const EfSection *section = part->section != NULL ? ef_pump_sheet_section (sheet, part->section) : NULL;

  if (section == NULL && sheet->sections->len > 0)
    section = g_ptr_array_index (sheet->sections, 0);
  return section;
}

static void
add_circle (EfRegion *region, double x, double y, double radius)
{
  if (radius > 0)
    ef_region_take (region, ef_ring_circle (x, y, radius, CIRCLE_POINTS));
}

static EfRegion *
gear_plan (const EfSection *section, int gear)
{
  EfRegion *plan = ef_region_new ();
  EfRing ring = ef_gear_outline (&section->pair, gear, 8);
  double turn = gear == 0 ? 0 : ef_gear_pair_mesh_angle (&section->pair, 0, section->rotation);
  double x = axis_x (section, gear);

  for (guint i = 0; i < ring.n; i++)
    {
      double rx = ring.xy[2 * i], ry = ring.xy[2 * i + 1];

      ring.xy[2 * i] = x + cos (turn) * rx - sin (turn) * ry;
      ring.xy[2 * i + 1] = sin (turn) * rx + cos (turn) * ry;
    }
  ef_region_take (plan, ring);
  add_circle (plan, x, 0, section->shaft_radius[gear]);
  return plan;
}

/* Hull of the pockets grown by the part's margin, with its holes and bores. */
static EfRegion *
plate_plan (const EfSection *section, const EfPart *part)
{
  g_autoptr (EfRegion) pocket = ef_pocket_region (section->pair.in.centre_distance, section->pocket_radius, CIRCLE_POINTS, NULL);
  g_autoptr (EfRegion) hull = pocket != NULL ? ef_region_hull (pocket, NULL) : NULL;
  EfRegion *plan = hull != NULL ? ef_region_buffer (hull, MAX (part->margin, 1e-3), 8, NULL) : NULL;

  if (plan == NULL)
    return NULL;
  for (guint i = 0; part->holes != NULL && i < part->holes->len; i++)
    {
      const EfHole *hole = &g_array_index (part->holes, EfHole, i);

      add_circle (plan, hole->x, hole->y, hole->diameter / 2);
    }
  for (guint i = 0; part->bores != NULL && i < part->bores->len; i++)
    {
      const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, i);

      add_circle (plan, axis_x (section, bore->axis), 0, bore->diameter / 2);
    }
  return plan;
}

static EfRegion *
shaft_plan (const EfSection *section, const EfPart *part)
{
  EfRegion *plan = ef_region_new ();
  int axis = part->gear == 1 ? 1 : 0;

  add_circle (plan, axis_x (section, axis), 0, MAX (section->shaft_radius[axis], 1e-3));
  return plan;
}

/* The pocket opens towards the gears: to the front if they come before the housing. */
static void
add_pocket (EfExplodedItem *item, const EfPumpSheet *sheet, const EfSection *section)
{
  const EfPart *gear = section->gear_part[0] != NULL ? ef_pump_sheet_part (sheet, section->gear_part[0]) : NULL;

  if (g_strcmp0 (section->pocket_part, item->part->id) != 0)
    return;
  item->pocket = ef_pocket_region (section->pair.in.centre_distance, section->pocket_radius, CIRCLE_POINTS, NULL);
  item->pocket_in_front = gear == NULL || gear->order <= item->part->order;
}

static void
fill_item (EfExplodedItem *item, const EfPumpSheet *sheet, const EfPart *part)
{
  const EfSection *section = section_of (sheet, part);

  *item = (EfExplodedItem) { .part = part, .thickness = MAX (part->thickness, 1e-3) };
  item->section = part->section != NULL ? section : NULL;
  if (section == NULL)
    return;
  switch (part->kind)
    {
    case EF_PART_GEAR:
      item->plan = gear_plan (section, part->gear == 1 ? 1 : 0);
      break;
    case EF_PART_HOUSING:
    case EF_PART_PLATE:
    case EF_PART_COVER:
      item->plan = plate_plan (section, part);
      add_pocket (item, sheet, section);
      break;
    case EF_PART_SHAFT:
      item->plan = shaft_plan (section, part);
      break;
    default:
      break;
    }
  if (item->plan != NULL)
    ef_region_bounds (item->plan, item->box);
}

static int
compare_items (gconstpointer a, gconstpointer b)
{
  const EfPart *pa = ((const EfExplodedItem *) a)->part, *pb = ((const EfExplodedItem *) b)->part;

  if (pa->order != pb->order)
    return pa->order < pb->order ? -1 : 1;
  if (pa->kind != pb->kind)
    return pa->kind < pb->kind ? -1 : 1;
  if (pa->gear != pb->gear)
    return pa->gear < pb->gear ? -1 : 1;
  return g_strcmp0 (pa->id, pb->id);
}

static void
clear_item (gpointer data)
{
  EfExplodedItem *item = data;

  g_clear_pointer (&item->plan, ef_region_free);
  g_clear_pointer (&item->pocket, ef_region_free);
}

GArray *
ef_exploded_items (const EfPumpSheet *sheet)
{
  GArray *items = g_array_new (FALSE, TRUE, sizeof (EfExplodedItem));

  g_array_set_clear_func (items, clear_item);
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      EfExplodedItem item;

      fill_item (&item, sheet, g_ptr_array_index (sheet->parts, i));
      g_array_append_val (items, item);
    }
  g_array_sort (items, compare_items);
  return items;
}
