/* Refuses gears, pockets and ports that can't exist.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-pump-sheet-private.h"

#include <math.h>
#include <string.h>

#define MM 1e3
#define SLIP 1e-6 /* m; outlines are typed to a hundredth of a millimetre, so this is rounding only */

/* Gears and pockets */

/* The gear solver names its fields as the program does; the sheet has them in millimetres, tips and roots as diameters. */
static const struct
{
  const char *field;
  const char *member;
} pair_members[] = {
  { "teeth", "teeth" },
  { "module", "module_mm" },
  { "pressure_angle", "pressure_angle_deg" },
  { "shift", "profile_shift" },
  { "tip_radius", "tip_diameter_mm" },
  { "root_radius", "root_diameter_mm" },
  { "centre_distance", "centre_distance_mm" },
  { "face_width", "face_width_mm" },
};

/* "tip_radius[1]: expected …" becomes a refusal at tip_diameter_mm[1]. Root diameters may be left out of a sheet; the place is
 * named all the same. */
static void
refuse_pair (const EfJson *at,
             const GError *cause)
{
  const char *colon = strchr (cause->message, ':');

  for (guint i = 0; i < G_N_ELEMENTS (pair_members) && colon != NULL; i++)
    {
      gsize length = strlen (pair_members[i].field);
      const char *rest = cause->message + length;
      g_auto (EfJson) place = { 0 };

      if (strncmp (cause->message, pair_members[i].field, length) != 0 || (*rest != ':' && *rest != '['))
        continue;
      place.context = at->context;
      place.path = g_strdup_printf ("%s.%s%.*s", at->path, pair_members[i].member, (int) (colon - rest), rest);
      ef_json_fail (&place, (EfError) cause->code, "%s", colon + 1 + strspn (colon + 1, " "));
      return;
    }
  ef_check_refuse (at, NULL, (EfError) cause->code, "%s", cause->message);
}

static void
solve_pair (EfSection *section,
            const EfJson *at)
{
  EfGearPairInput input = section->pair.in;
  g_autoptr (GError) local = NULL;

  if (!ef_gear_pair_solve (&input, &section->pair, &local))
    refuse_pair (at, local);
}

/* Looked at before the gears are: gears that mesh always have tips that overlap. */
static void
check_pockets_meet (const EfSection *section,
                    const EfJson *at)
{
  double a = section->pair.in.centre_distance;
  const double *r = section->pocket_radius;

  if (!(r[0] + r[1] > a))
    ef_check_refuse (at, "pocket_radius_mm", EF_ERROR_GEOMETRY, "expected radii that add up to more than the centre distance %g mm, found %g mm: the two pockets don't meet",
                     a * MM, (r[0] + r[1]) * MM);
}

static void
check_pocket (const EfSection *section,
              const EfJson *at)
{
  const EfGearPairInput *in = &section->pair.in;
  double a = in->centre_distance;
  const double *r = section->pocket_radius;

  for (guint i = 0; i < 2; i++)
    if (!(r[i] > in->tip_radius[i]))
      {
        g_auto (EfJson) radius = ef_check_item (at, "pocket_radius_mm", i);

        ef_check_refuse (&radius, NULL, EF_ERROR_GEOMETRY, "expected more than the tip radius %g mm, found %g mm: the gear's tips don't fit into the pocket",
                         in->tip_radius[i] * MM, r[i] * MM);
      }
  for (guint i = 0; i < 2; i++)
    if (!(r[i] < a))
      {
        g_auto (EfJson) radius = ef_check_item (at, "pocket_radius_mm", i);

        ef_check_refuse (&radius, NULL, EF_ERROR_GEOMETRY, "expected less than the centre distance %g mm, found %g mm: the pocket reaches the other shaft", a * MM, r[i] * MM);
      }
  if (!(in->face_width < section->pocket_depth))
    ef_check_refuse (at, "pocket_depth_mm", EF_ERROR_GEOMETRY, "expected more than the face width %g mm, found %g mm: the gears are wider than the pocket is deep",
                     in->face_width * MM, section->pocket_depth * MM);
}

static void
check_sealed_arc (const EfSection *section,
                  const EfJson *at)
{
  const char *const members[] = { "suction_angle_deg", "delivery_angle_deg" };
  const double angles[] = { section->suction_angle, section->delivery_angle };

  for (int gear = 0; gear < 2; gear++)
    {
      double half = ef_pocket_wall_half_angle (section->pair.in.centre_distance, section->pocket_radius, gear);

      for (int i = 0; i < 2; i++)
        if (!(angles[i] < half))
          ef_check_refuse (at, members[i], EF_ERROR_GEOMETRY, "expected less than %.4g degrees, where the %s pocket's wall ends, found %.4g",
                           half * 180.0 / G_PI, gear == 0 ? "drive" : "driven", angles[i] * 180.0 / G_PI);
    }
}

/* All sections run on the same two shafts. */
static void
check_common_shafts (const EfPumpSheet *sheet,
                     guint i,
                     const EfJson *at)
{
  const EfSection *first = g_ptr_array_index (sheet->sections, 0);
  const EfSection *section = g_ptr_array_index (sheet->sections, i);

  if (fabs (section->pair.in.centre_distance - first->pair.in.centre_distance) > 1e-9)
    ef_check_refuse (at, "centre_distance_mm", EF_ERROR_GEOMETRY, "expected %g mm as in section \"%s\" on the same shafts, found %g mm",
                     first->pair.in.centre_distance * MM, first->id, section->pair.in.centre_distance * MM);
  if (section->rotation != first->rotation)
    ef_check_refuse (at, "rotation", EF_ERROR_GEOMETRY, "expected %d as in section \"%s\" on the same shafts, found %d", first->rotation, first->id, section->rotation);
  if ((gint64) section->pair.in.teeth[0] * first->pair.in.teeth[1] != (gint64) section->pair.in.teeth[1] * first->pair.in.teeth[0])
    ef_check_refuse (at, "teeth", EF_ERROR_GEOMETRY, "expected the ratio %d/%d as in section \"%s\" on the same shafts, found %d/%d",
                     first->pair.in.teeth[0], first->pair.in.teeth[1], first->id, section->pair.in.teeth[0], section->pair.in.teeth[1]);
}

void
ef_check_sections (EfPumpSheet *sheet,
                   const EfJson *root)
{
  for (guint i = 0; i < sheet->sections->len && !ef_check_failed (root); i++)
    {
      EfSection *section = g_ptr_array_index (sheet->sections, i);
      g_auto (EfJson) at = ef_check_item (root, "sections", i);

      check_pockets_meet (section, &at);
      if (!ef_check_failed (root))
        solve_pair (section, &at);
      if (!ef_check_failed (root))
        check_pocket (section, &at);
      if (!ef_check_failed (root))
        check_sealed_arc (section, &at);
      check_common_shafts (sheet, i, &at);
    }
}

/* Ports */

static double
axis_distance (const EfSection *section,
               int axis,
               double x,
               double y)
{
  return hypot (x - ef_section_axis_x (section, axis), y);
}

static gboolean
in_pocket (const EfSection *section,
           double x,
           double y)
{
  return axis_distance (section, 0, x, y) <= section->pocket_radius[0] + SLIP || axis_distance (section, 1, x, y) <= section->pocket_radius[1] + SLIP;
}

static gboolean
in_mesh (const EfSection *section,
         double x,
         double y)
{
  return axis_distance (section, 0, x, y) < section->pair.in.tip_radius[0] && axis_distance (section, 1, x, y) < section->pair.in.tip_radius[1];
}

/* What is wrong with one place of a port's edge; NULL if nothing. */
static char *
port_place_fault (const EfSection *section,
                  const EfPort *port,
                  double x,
                  double y)
{
  int sign = ef_section_delivery_sign (section) * (port->side == EF_SIDE_DELIVERY ? 1 : -1);
  int axis = axis_distance (section, 0, x, y) < axis_distance (section, 1, x, y) ? 0 : 1;
  double limit = port->side == EF_SIDE_SUCTION ? section->suction_angle : section->delivery_angle;
  double psi = fabs (ef_section_psi (section, axis, x, y));

  if (!in_pocket (section, x, y))
    return g_strdup_printf ("expected a port inside the pocket, found an edge outside it at %.4g, %.4g mm", x * MM, y * MM);
  if (!(y * sign > 0.0))
    return g_strdup_printf ("expected the %s port at y %s 0 for this rotation, found an edge at %.4g, %.4g mm",
                            port->side == EF_SIDE_SUCTION ? "suction" : "delivery", sign > 0 ? ">" : "<", x * MM, y * MM);
  if (psi < limit - 1.0 * G_PI / 180.0)
    return g_strdup_printf ("expected a port beyond %.4g degrees, found an edge on the sealed arc at %.4g, %.4g mm (%.4g degrees)",
                            limit * 180.0 / G_PI, x * MM, y * MM, psi * 180.0 / G_PI);
  if (axis_distance (section, axis, x, y) < section->shaft_radius[axis] + SLIP)
    return g_strdup_printf ("expected a port clear of the shaft bore of %.4g mm radius, found an edge in it at %.4g, %.4g mm",
                            section->shaft_radius[axis] * MM, x * MM, y * MM);

  return NULL;
}

static double
cross (const double *o,
       const double *a,
       const double *b)
{
  return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
}

static gboolean
crosses_itself (const EfRing *ring)
{
  guint n = ring->n;

  for (guint i = 0; i < n; i++)
    for (guint j = i + 2; j < n; j++)
      {
        const double *a = ring->xy + 2 * i;
        const double *b = ring->xy + 2 * (i + 1);
        const double *c = ring->xy + 2 * j;
        const double *d = ring->xy + 2 * ((j + 1) % n);

        if ((j + 1) % n == i)
          continue;
        if (cross (a, b, c) * cross (a, b, d) < 0.0 && cross (c, d, a) * cross (c, d, b) < 0.0)
          return TRUE;
      }

  return FALSE;
}

/* Looks at each edge at eight places: edges may leave the pocket between two corners that are inside. */
static void
check_port (const EfSection *section,
            const EfPort *port,
            const EfJson *at)
{
  const EfRing *ring = &port->outline;
  gboolean reaches = FALSE;

  if (fabs (ef_ring_area (ring)) < 1e-8)
    ef_check_refuse (at, "outline_mm", EF_ERROR_GEOMETRY, "expected an outline of at least 0.01 mm2, found %g", fabs (ef_ring_area (ring)) * 1e6);
  if (crosses_itself (ring))
    ef_check_refuse (at, "outline_mm", EF_ERROR_GEOMETRY, "expected an outline that doesn't cross itself");
  for (guint i = 0; i < ring->n; i++)
    {
      const double *p = ring->xy + 2 * i;
      const double *q = ring->xy + 2 * ((i + 1) % ring->n);

      for (int k = 0; k < 8; k++)
        {
          double x = p[0] + (q[0] - p[0]) * k / 8.0;
          double y = p[1] + (q[1] - p[1]) * k / 8.0;
          g_autofree char *fault = port_place_fault (section, port, x, y);

          reaches = reaches || in_mesh (section, x, y);
          if (fault != NULL)
            {
              ef_check_refuse (at, "outline_mm", EF_ERROR_GEOMETRY, "%s", fault);
              return;
            }
        }
    }
  if (!reaches)
    ef_check_refuse (at, "outline_mm", EF_ERROR_GEOMETRY, "expected a port that reaches the teeth in mesh, found one that ends before them");
}

void
ef_check_ports (const EfPumpSheet *sheet,
                const EfJson *root)
{
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sheet->sections, i);
      gboolean seen[2] = { FALSE, FALSE };
      g_auto (EfJson) at = ef_check_item (root, "sections", i);

      for (guint k = 0; k < section->ports->len; k++)
        {
          const EfPort *port = &g_array_index (section->ports, EfPort, k);
          g_auto (EfJson) port_at = ef_check_item (&at, "ports", k);

          check_port (section, port, &port_at);
          seen[port->side] = TRUE;
        }
      if (!seen[EF_SIDE_SUCTION] || !seen[EF_SIDE_DELIVERY])
        ef_check_refuse (&at, "ports", EF_ERROR_INVALID, "expected a suction port and a delivery port, found no %s port", seen[EF_SIDE_SUCTION] ? "delivery" : "suction");
    }
}
