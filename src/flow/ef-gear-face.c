/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-gear-face.h"

#include <math.h>

#define POINTS_PER_FLANK 24
#define BORE_POINTS 720

static void
turn_ring (EfRing *ring,
           double angle)
{
  double c = cos (angle);
  double s = sin (angle);

  for (guint k = 0; k < ring->n; k++)
    {
      double x = ring->xy[2 * k];
      double y = ring->xy[2 * k + 1];

      ring->xy[2 * k] = c * x - s * y;
      ring->xy[2 * k + 1] = s * x + c * y;
    }
}

static EfFilmRing
gear_ring (const EfGearPair *pair,
           const EfMesh *mesh,
           int gear)
{
  EfFilmRing ring = { 0 };

  ring.ring = ef_gear_outline (pair, gear, POINTS_PER_FLANK);
  turn_ring (&ring.ring, mesh->gear[gear].psi0);
  ring.group = g_new (int, ring.ring.n);
  for (guint k = 0; k < ring.ring.n; k++)
    {
      guint next = (k + 1) % ring.ring.n;
      double r0 = hypot (ring.ring.xy[2 * k], ring.ring.xy[2 * k + 1]);
      double r1 = hypot (ring.ring.xy[2 * next], ring.ring.xy[2 * next + 1]);
      double x = 0.5 * (ring.ring.xy[2 * k] + ring.ring.xy[2 * next]);
      double y = 0.5 * (ring.ring.xy[2 * k + 1] + ring.ring.xy[2 * next + 1]);
      double tip = pair->in.tip_radius[gear] * (1.0 - 1e-7);

      /* A chord of the tip arc lies a little inside it: moved out, so that it counts as tip. */
      if (r0 > tip && r1 > tip)
        {
          double out = pair->in.tip_radius[gear] / hypot (x, y);

          x *= out;
          y *= out;
        }
      ring.group[k] = ef_mesh_border_group (pair, mesh, gear, x, y, EF_CONTACT_PATCH);
    }

  return ring;
}

static EfFilmRing
port_ring (const EfGearPair *pair,
           const EfFlowPort *port,
           int gear)
{
  EfFilmRing ring = { 0 };

  ring.ring = ef_ring_new (port->outline.n, port->outline.xy);
  ring.all = port->group;
  for (guint k = 0; k < ring.ring.n; k++)
    ef_mesh_wall_frame (pair, gear, ring.ring.xy[2 * k], ring.ring.xy[2 * k + 1], &ring.ring.xy[2 * k], &ring.ring.xy[2 * k + 1]);

  return ring;
}

EfFilmShape
ef_gear_face_shape (const EfFlowGeometry *geometry,
                    const EfMesh *mesh,
                    int gear,
                    int end)
{
  double reach = geometry->pair.in.tip_radius[gear];
  EfFilmShape shape = { 0 };

  shape.outer = gear_ring (&geometry->pair, mesh, gear);
  shape.holes = g_new0 (EfFilmRing, geometry->n_ports + 1);
  shape.holes[shape.n_holes].ring = ef_ring_circle (0.0, 0.0, geometry->shaft_radius[gear], BORE_POINTS);
  shape.holes[shape.n_holes++].all = EF_GROUP_BORE;
  for (guint i = 0; i < geometry->n_ports; i++)
    if (geometry->ports[i].at_end[end])
      shape.holes[shape.n_holes++] = port_ring (&geometry->pair, &geometry->ports[i], gear);
  shape.n_groups = EF_GROUP_SPACE + mesh->gear[gear].n_sealed;
  shape.x0 = shape.y0 = -reach;
  shape.size = 2.0 * reach;

  return shape;
}
