/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-gear-load.h"

#include <math.h>

void
ef_push_chord (double p,
               double width,
               double x0,
               double y0,
               double x1,
               double y1,
               double *fx,
               double *fy)
{
  *fx -= p * width * (y1 - y0);
  *fy += p * width * (x1 - x0);
}

void
ef_gear_load (const EfGearPair *pair,
              const EfMesh *mesh,
              int gear,
              double face_width,
              const double *spaces,
              double dp,
              double *fx,
              double *fy)
{
  const EfMeshGear *side = &mesh->gear[gear];
  double ra = pair->in.tip_radius[gear];
  double driven_ra = pair->in.tip_radius[1];
  double driven_rc = mesh->gear[1].contact_radius;
  double mesh_force = dp * face_width * (driven_ra * driven_ra - driven_rc * driven_rc) / (2.0 * pair->base_radius[1]);
  double x = side->contact_x;
  double y = side->contact_y;

  *fx = *fy = 0.0;
  for (int k = 0; k <= side->n_sealed; k++)
    {
      double psi = side->psi0 + (side->first_tip + k) * side->pitch;
      double tip_x = ra * cos (psi);
      double tip_y = ra * sin (psi);

      ef_push_chord (k > 0 ? spaces[k - 1] : 0.0, face_width, x, y, tip_x, tip_y, fx, fy);
      x = tip_x;
      y = tip_y;
    }
  ef_push_chord (dp, face_width, x, y, side->contact_x, side->contact_y, fx, fy);

  /* Canonical direction of the push on the driven gear: (sin, -cos). The driver's wall frame turns x round. */
  *fx += mesh_force * sin (pair->working_angle);
  *fy += (gear == 0 ? 1.0 : -1.0) * mesh_force * cos (pair->working_angle);
}
