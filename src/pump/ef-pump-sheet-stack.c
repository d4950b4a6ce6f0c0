/* Stacks the parts along the pump's axis and refuses those that don't fit: order, bores, holes, shafts.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Housings, plates and covers stand face to face in the order of their "order", the frontmost with its front side at z = 0.
 * Gears lie midway in their pocket, so that half of the end clearance is on either side. */
#include "ef-pump-sheet-private.h"

#include <math.h>

#define MM 1e3
#define SLIP 1e-9

static gboolean
is_stacked (const EfPart *part)
{
  return part->kind == EF_PART_HOUSING || part->kind == EF_PART_PLATE || part->kind == EF_PART_COVER;
}

/* Stack */

static int
by_order (gconstpointer a,
          gconstpointer b)
{
  const EfPart *left = *(const EfPart *const *) a;
  const EfPart *right = *(const EfPart *const *) b;

  return left->order < right->order ? -1 : left->order > right->order;
}

static void
stack_parts (EfPumpSheet *sheet,
             const EfJson *root)
{
  g_autoptr (GPtrArray) stack = g_ptr_array_new ();
  double z = 0.0;

  for (guint i = 0; i < sheet->parts->len; i++)
    {
      EfPart *part = g_ptr_array_index (sheet->parts, i);

      if (!is_stacked (part))
        continue;
      for (guint k = 0; k < stack->len; k++)
        if (((EfPart *) g_ptr_array_index (stack, k))->order == part->order)
          {
            g_auto (EfJson) at = ef_check_item (root, "parts", i);

            ef_check_refuse (&at, "order", EF_ERROR_INVALID, "expected a place of its own along the axis, found %d again", part->order);
          }
      g_ptr_array_add (stack, part);
    }
  g_ptr_array_sort (stack, by_order);
  for (guint i = 0; i < stack->len; i++)
    {
      EfPart *part = g_ptr_array_index (stack, i);

      part->z_front = z;
      z -= part->thickness;
    }
}

static void
place_pocket (EfPumpSheet *sheet,
              EfSection *section,
              const EfJson *root)
{
  const EfPart *housing = ef_pump_sheet_part (sheet, section->pocket_part);
  gboolean fits;
  guint index = 0;

  section->z_front = housing->z_front;
  if (housing->opens == EF_OPENS_REAR)
    section->z_front = housing->z_front - housing->thickness + section->pocket_depth;
  fits = housing->opens == EF_OPENS_THROUGH ? fabs (housing->thickness - section->pocket_depth) < SLIP : housing->thickness > section->pocket_depth;
  if (!fits && g_ptr_array_find (sheet->parts, housing, &index))
    {
      g_auto (EfJson) at = ef_check_item (root, "parts", index);

      ef_check_refuse (&at, "thickness_mm", EF_ERROR_GEOMETRY, "expected %s the pocket depth %g mm, found %g mm",
                       housing->opens == EF_OPENS_THROUGH ? "a ring as thick as" : "more than", section->pocket_depth * MM, housing->thickness * MM);
    }
  for (int k = 0; k < 2; k++)
    {
      EfPart *gear = (EfPart *) ef_pump_sheet_part (sheet, section->gear_part[k]);

      gear->z_front = section->z_front - (section->pocket_depth - gear->thickness) / 2.0;
    }
}

/* The two end faces close the pocket: one at its front end looking back, one at its rear end looking forward. */
static void
check_closed (const EfPumpSheet *sheet,
              const EfSection *section,
              const EfJson *at)
{
  const char *const ids[] = { section->floor_face, section->facing_face };
  const char *const members[] = { "floor_face", "facing_face" };
  int looks[2];

  for (int i = 0; i < 2; i++)
    {
      const EfPart *part;
      const char *face;
      double z;
      double wanted;

      ef_pump_sheet_split_face (sheet, ids[i], &part, &face);
      ef_part_plane_place (part, section, face, &z, &looks[i]);
      wanted = looks[i] > 0 ? section->z_front - section->pocket_depth : section->z_front;
      if (fabs (z - wanted) > SLIP)
        ef_check_refuse (at, members[i], EF_ERROR_GEOMETRY, "expected a face that closes the pocket at z %.6g mm, found \"%s\" at z %.6g mm looking to the %s",
                         wanted * MM, ids[i], z * MM, looks[i] > 0 ? "front" : "rear");
    }
  if (looks[0] == looks[1])
    ef_check_refuse (at, "facing_face", EF_ERROR_GEOMETRY, "expected faces at both ends of the gears, found two that look the same way");
}

void
ef_check_stack (EfPumpSheet *sheet,
                const EfJson *root)
{
  stack_parts (sheet, root);
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      EfSection *section = g_ptr_array_index (sheet->sections, i);
      g_auto (EfJson) at = ef_check_item (root, "sections", i);

      place_pocket (sheet, section, root);
      check_closed (sheet, section, &at);
    }
}

/* Bores and holes */

/* Where v = 0 lies: at the face that meets the gears, else at the front side. */
void
ef_part_bore_place (const EfPumpSheet *sheet,
                    const EfPart *part,
                    const EfCylinder *bore,
                    double *z_out,
                    int *sign_out)
{
  const EfSection *section = ef_pump_sheet_section (sheet, part->section);
  g_autofree char *rear = g_strdup_printf ("%s/side-b", part->id);
  g_autofree char *front = g_strdup_printf ("%s/side-a", part->id);

  *z_out = part->z_front;
  *sign_out = -1;
  if (part->kind == EF_PART_HOUSING && section != NULL)
    {
      *sign_out = part->opens == EF_OPENS_REAR ? 1 : -1;
      *z_out = *sign_out > 0 ? section->z_front : section->z_front - section->pocket_depth;
    }
  else if (part->kind == EF_PART_COVER || part->kind == EF_PART_PLATE)
    {
      gboolean back = ef_pump_sheet_face_section (sheet, rear) != NULL && ef_pump_sheet_face_section (sheet, front) == NULL;

      /* A blind bore in the rearmost part opens to the front, in the frontmost to the rear. */
      if (back || (bore->length < part->thickness - SLIP && part->z_front == 0.0))
        {
          *sign_out = 1;
          *z_out = part->z_front - part->thickness;
        }
    }
}

static double
smallest_root (const EfPumpSheet *sheet,
               const EfPart *part,
               int axis)
{
  double root = HUGE_VAL;

  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sheet->sections, i);

      if (part->section == NULL || g_strcmp0 (part->section, section->id) == 0)
        root = MIN (root, section->pair.in.root_radius[axis]);
    }

  return root;
}

static double
room_for_bore (const EfPumpSheet *sheet,
               const EfPart *part)
{
  const EfSection *section = ef_pump_sheet_section (sheet, part->section);

  if (part->kind == EF_PART_HOUSING && section != NULL)
    return part->thickness - section->pocket_depth;

  return part->thickness;
}

static void
check_bores_apart (const EfPumpSheet *sheet,
                   guint i,
                   const EfJson *root)
{
  const EfPart *part = g_ptr_array_index (sheet->parts, i);
  double a = ((const EfSection *) g_ptr_array_index (sheet->sections, 0))->pair.in.centre_distance;

  for (guint k = 1; k < part->bores->len; k++)
    for (guint m = 0; m < k; m++)
      {
        const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, k);
        const EfCylinder *other = &g_array_index (part->bores, EfCylinder, m);
        g_auto (EfJson) at = ef_check_sub_item (root, "parts", i, "bores", k);

        if (other->axis == bore->axis)
          ef_check_refuse (&at, "axis", EF_ERROR_INVALID, "expected one bore an axis, found \"%s\" there already", other->id);
        else if (!((bore->diameter + other->diameter) / 2.0 < a))
          ef_check_refuse (&at, "diameter_mm", EF_ERROR_GEOMETRY, "expected shaft bores that don't overlap at a centre distance of %g mm, found %g and %g mm",
                           a * MM, other->diameter * MM, bore->diameter * MM);
      }
}

static void
check_bore (const EfPumpSheet *sheet,
            guint i,
            guint k,
            const EfJson *root)
{
  const EfPart *part = g_ptr_array_index (sheet->parts, i);
  const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, k);
  double room = room_for_bore (sheet, part);
  double limit = smallest_root (sheet, part, bore->axis);
  g_auto (EfJson) at = ef_check_sub_item (root, "parts", i, "bores", k);

  if (bore->length > room + SLIP)
    ef_check_refuse (&at, "length_mm", EF_ERROR_GEOMETRY, "expected at most %g mm, the material there, found %g mm", room * MM, bore->length * MM);
  if (!(bore->diameter / 2.0 < limit))
    ef_check_refuse (&at, "diameter_mm", EF_ERROR_GEOMETRY, "expected less than the root circle of the gear, %g mm, found %g mm", 2.0 * limit * MM, bore->diameter * MM);
  if (part->kind == EF_PART_GEAR && bore->axis != part->gear)
    ef_check_refuse (&at, "axis", EF_ERROR_INVALID, "expected the gear's own axis, found the other");
}

static void
check_gear_bore (const EfPumpSheet *sheet,
                 guint i,
                 const EfJson *root)
{
  const EfPart *part = g_ptr_array_index (sheet->parts, i);
  const EfSection *section = ef_pump_sheet_section (sheet, part->section);
  const EfCylinder *bore;
  g_auto (EfJson) at = ef_check_item (root, "parts", i);

  if (part->bores->len != 1)
    {
      ef_check_refuse (&at, "bores", EF_ERROR_INVALID, "expected exactly one bore in a gear, found %u", part->bores->len);
      return;
    }
  if (part->keyways->len > 1)
    ef_check_refuse (&at, "keyways", EF_ERROR_INVALID, "expected at most one keyway in a gear, found %u", part->keyways->len);
  bore = &g_array_index (part->bores, EfCylinder, 0);
  for (guint k = 0; k < part->keyways->len; k++)
    {
      const EfCylinder *keyway = &g_array_index (part->keyways, EfCylinder, k);
      g_auto (EfJson) key_at = ef_check_item (&at, "keyways", k);

      if (!(keyway->diameter < bore->diameter))
        ef_check_refuse (&key_at, "width_mm", EF_ERROR_GEOMETRY, "expected less than the bore, %g mm, found %g mm", bore->diameter * MM, keyway->diameter * MM);
      if (!(hypot (bore->diameter / 2.0 + keyway->depth, keyway->diameter / 2.0) < section->pair.in.root_radius[part->gear]))
        ef_check_refuse (&key_at, "depth_mm", EF_ERROR_GEOMETRY, "expected a keyway inside the root circle of radius %g mm, found one that breaks through it",
                         section->pair.in.root_radius[part->gear] * MM);
      if (keyway->z + keyway->length > part->thickness + SLIP)
        ef_check_refuse (&key_at, "length_mm", EF_ERROR_GEOMETRY, "expected a keyway within the gear's %g mm, found one that ends at %g mm",
                         part->thickness * MM, (keyway->z + keyway->length) * MM);
    }
}

static void
check_hole_apart (const EfPart *part,
                  guint k,
                  const EfJson *at)
{
  const EfHole *hole = &g_array_index (part->holes, EfHole, k);

  for (guint m = 0; m < k; m++)
    {
      const EfHole *other = &g_array_index (part->holes, EfHole, m);

      if (hypot (hole->x - other->x, hole->y - other->y) < (hole->diameter + other->diameter) / 2.0)
        ef_check_refuse (at, NULL, EF_ERROR_GEOMETRY, "expected holes that don't overlap, found \"%s\" across \"%s\"", hole->id, other->id);
    }
}

static void
check_hole (const EfPumpSheet *sheet,
            const EfPart *part,
            guint k,
            const EfRegion *footprint,
            const EfJson *at)
{
  const EfHole *hole = &g_array_index (part->holes, EfHole, k);

  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sheet->sections, i);

      if (part->section != NULL && g_strcmp0 (part->section, section->id) != 0)
        continue;
      for (int axis = 0; axis < 2; axis++)
        if (hypot (hole->x - ef_section_axis_x (section, axis), hole->y) < section->pocket_radius[axis] + hole->diameter / 2.0)
          ef_check_refuse (at, NULL, EF_ERROR_GEOMETRY, "expected a hole clear of the pocket of section \"%s\", found \"%s\" in it", section->id, hole->id);
    }
  for (int i = 0; i < 36; i++)
    {
      double x = hole->x + hole->diameter / 2.0 * cos (i * G_PI / 18.0);
      double y = hole->y + hole->diameter / 2.0 * sin (i * G_PI / 18.0);

      if (!ef_region_contains (footprint, x, y))
        {
          ef_check_refuse (at, NULL, EF_ERROR_GEOMETRY, "expected a hole inside the part's outline, found \"%s\" reaching outside at %.4g, %.4g mm", hole->id, x * MM, y * MM);
          break;
        }
    }
  check_hole_apart (part, k, at);
}

static void
check_bores_inside (const EfPart *part,
                    const EfSection *any,
                    const EfRegion *footprint,
                    const EfJson *at)
{
  for (guint k = 0; k < part->bores->len; k++)
    {
      const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, k);

      for (int i = 0; i < 36; i++)
        {
          double x = ef_section_axis_x (any, bore->axis) + bore->diameter / 2.0 * cos (i * G_PI / 18.0);
          double y = bore->diameter / 2.0 * sin (i * G_PI / 18.0);

          if (!ef_region_contains (footprint, x, y))
            {
              g_auto (EfJson) bore_at = ef_check_item (at, "bores", k);

              ef_check_refuse (&bore_at, "diameter_mm", EF_ERROR_GEOMETRY, "expected a bore inside the part's outline, found one that reaches outside");
              break;
            }
        }
    }
}

static void
check_plan_part (const EfPumpSheet *sheet,
                 guint i,
                 const EfJson *root)
{
  const EfPart *part = g_ptr_array_index (sheet->parts, i);
  g_autoptr (GError) local = NULL;
  g_autoptr (EfRegion) footprint = ef_part_footprint (sheet, part, &local);
  g_auto (EfJson) at = ef_check_item (root, "parts", i);

  if (footprint == NULL)
    {
      ef_check_refuse (&at, NULL, EF_ERROR_GEOMETRY, "%s", local->message);
      return;
    }
  check_bores_inside (part, g_ptr_array_index (sheet->sections, 0), footprint, &at);
  for (guint k = 0; k < part->holes->len; k++)
    {
      g_auto (EfJson) hole_at = ef_check_item (&at, "holes", k);

      check_hole (sheet, part, k, footprint, &hole_at);
    }
}

/* Oil leaks off the gear's ends to the shaft bores of the two faces; the larger one is nearer to the teeth. A face without
 * a bore leaves it to the other; without any the gear's own bore counts. */
static void
fill_shaft_radii (const EfPumpSheet *sheet,
                  EfSection *section)
{
  const char *const ids[] = { section->floor_face, section->facing_face };

  for (int axis = 0; axis < 2; axis++)
    {
      const EfPart *gear = ef_pump_sheet_part (sheet, section->gear_part[axis]);
      double r = 0.0;

      for (int i = 0; i < 2; i++)
        {
          const EfPart *part;
          const char *face;

          ef_pump_sheet_split_face (sheet, ids[i], &part, &face);
          for (guint k = 0; k < part->bores->len; k++)
            if (g_array_index (part->bores, EfCylinder, k).axis == axis)
              r = MAX (r, g_array_index (part->bores, EfCylinder, k).diameter / 2.0);
        }
      if (!(r > 0.0))
        r = g_array_index (gear->bores, EfCylinder, 0).diameter / 2.0;
      section->shaft_radius[axis] = r;
    }
}

void
ef_check_bores (EfPumpSheet *sheet,
                const EfJson *root)
{
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (sheet->parts, i);

      check_bores_apart (sheet, i, root);
      for (guint k = 0; k < part->bores->len; k++)
        check_bore (sheet, i, k, root);
      if (part->kind == EF_PART_GEAR)
        check_gear_bore (sheet, i, root);
      if (is_stacked (part))
        check_plan_part (sheet, i, root);
    }
  for (guint i = 0; i < sheet->sections->len && !ef_check_failed (root); i++)
    fill_shaft_radii (sheet, g_ptr_array_index (sheet->sections, i));
}

/* Shafts */

static void
check_along_shaft (const EfPart *shaft,
                   const EfCylinder *cylinder,
                   const char *what,
                   const EfJson *at)
{
  if (cylinder->axis != shaft->gear)
    ef_check_refuse (at, "axis", EF_ERROR_INVALID, "expected the shaft's own axis, found the other");
  if (cylinder->z + cylinder->length > shaft->thickness + SLIP)
    ef_check_refuse (at, "length_mm", EF_ERROR_GEOMETRY, "expected a %s within the shaft's length of %g mm, found one that ends at %g mm",
                     what, shaft->thickness * MM, (cylinder->z + cylinder->length) * MM);
}

static void
check_journal (const EfPumpSheet *sheet,
               const EfPart *shaft,
               const EfCylinder *journal,
               const EfJson *at)
{
  const EfPart *part;
  const EfCylinder *bore;
  double z;
  double low;
  double high;
  int sign;

  check_along_shaft (shaft, journal, "journal", at);
  if (journal->runs_in == NULL)
    return;
  bore = ef_pump_sheet_bore_of_face (sheet, journal->runs_in, &part);
  if (bore == NULL || bore->axis != journal->axis)
    {
      ef_check_refuse (at, "runs_in", EF_ERROR_NOT_FOUND, "expected a shaft bore on the same axis, found \"%s\"", journal->runs_in);
      return;
    }
  if (!(journal->diameter < bore->diameter))
    ef_check_refuse (at, "diameter_mm", EF_ERROR_GEOMETRY, "expected less than its bore, %g mm, found %g mm", bore->diameter * MM, journal->diameter * MM);
  ef_part_bore_place (sheet, part, bore, &z, &sign);
  low = MAX (MIN (z, z + sign * bore->length), shaft->z_front - journal->z - journal->length);
  high = MIN (MAX (z, z + sign * bore->length), shaft->z_front - journal->z);
  if (!(high - low > journal->length / 2.0))
    ef_check_refuse (at, "z_mm", EF_ERROR_GEOMETRY, "expected a journal that lies in \"%s\" for more than half its length, found %.4g of %.4g mm",
                     journal->runs_in, MAX (high - low, 0.0) * MM, journal->length * MM);
}

static double
shaft_diameter (const EfPart *shaft)
{
  double d = 0.0;

  for (guint i = 0; i < shaft->journals->len; i++)
    d = MAX (d, g_array_index (shaft->journals, EfCylinder, i).diameter);

  return d;
}

static void
check_keyway (const EfPart *shaft,
              const EfCylinder *keyway,
              const EfJson *at)
{
  double d = shaft_diameter (shaft);

  check_along_shaft (shaft, keyway, "keyway", at);
  if (!(keyway->diameter < d))
    ef_check_refuse (at, "width_mm", EF_ERROR_GEOMETRY, "expected less than the shaft's diameter %g mm, found %g mm", d * MM, keyway->diameter * MM);
  if (!(keyway->depth < d / 2.0))
    ef_check_refuse (at, "depth_mm", EF_ERROR_GEOMETRY, "expected less than half the shaft's diameter %g mm, found %g mm", d * MM, keyway->depth * MM);
}

static void
check_pin_hole (const EfPart *shaft,
                const EfCylinder *hole,
                const EfJson *at)
{
  double d = shaft_diameter (shaft);

  if (hole->axis != shaft->gear)
    ef_check_refuse (at, "axis", EF_ERROR_INVALID, "expected the shaft's own axis, found the other");
  if (hole->z - hole->diameter / 2.0 < -SLIP || hole->z + hole->diameter / 2.0 > shaft->thickness + SLIP)
    ef_check_refuse (at, "z_mm", EF_ERROR_GEOMETRY, "expected a pin hole within the shaft's length of %g mm, found one round %g mm", shaft->thickness * MM, hole->z * MM);
  if (!(hole->diameter < d) || hole->length > d + 1e-4)
    ef_check_refuse (at, "length_mm", EF_ERROR_GEOMETRY, "expected a pin hole inside the shaft's diameter of %g mm, found %g mm wide and %g mm long",
                     d * MM, hole->diameter * MM, hole->length * MM);
}

void
ef_check_shafts (const EfPumpSheet *sheet,
                 const EfJson *root)
{
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *shaft = g_ptr_array_index (sheet->parts, i);
      g_auto (EfJson) part_at = ef_check_item (root, "parts", i);

      if (shaft->kind != EF_PART_SHAFT)
        continue;
      if (shaft->journals->len == 0)
        ef_check_refuse (&part_at, "journals", EF_ERROR_INVALID, "expected at least one journal on a shaft, found none");
      for (guint k = 0; k < shaft->journals->len; k++)
        {
          g_auto (EfJson) at = ef_check_item (&part_at, "journals", k);

          check_journal (sheet, shaft, &g_array_index (shaft->journals, EfCylinder, k), &at);
        }
      for (guint k = 0; k < shaft->keyways->len; k++)
        {
          g_auto (EfJson) at = ef_check_item (&part_at, "keyways", k);

          check_keyway (shaft, &g_array_index (shaft->keyways, EfCylinder, k), &at);
        }
      for (guint k = 0; k < shaft->pin_holes->len; k++)
        {
          g_auto (EfJson) at = ef_check_item (&part_at, "pin_holes", k);

          check_pin_hole (shaft, &g_array_index (shaft->pin_holes, EfCylinder, k), &at);
        }
    }
}
