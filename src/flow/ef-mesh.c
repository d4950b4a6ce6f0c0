/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-mesh.h"
#include "ef-film.h"

#include <math.h>

double
ef_mesh_position (const EfGearPair *pair,
                  guint k,
                  guint n)
{
  return -0.5 * pair->base_pitch + (k + 0.5) * pair->base_pitch / n;
}

void
ef_mesh_wall_frame (const EfGearPair *pair,
                    int gear,
                    double x,
                    double y,
                    double *wall_x,
                    double *wall_y)
{
  double half = 0.5 * pair->in.centre_distance;

  *wall_x = gear == 0 ? -(x + half) : x - half;
  *wall_y = y;
}

void
ef_mesh_canonical_frame (const EfGearPair *pair,
                         int gear,
                         double wall_x,
                         double wall_y,
                         double *x,
                         double *y)
{
  double half = 0.5 * pair->in.centre_distance;

  *x = gear == 0 ? -wall_x - half : wall_x + half;
  *y = wall_y;
}

/* Where the contact is, and where tooth 0 stands. The drive gear pushes with the flank ahead, the driven gear is pushed on the one behind. */
static void
place_teeth (const EfGearPair *pair,
             int gear,
             double u,
             EfMeshGear *out)
{
  double rw = pair->working_radius[gear];
  double along = u * sin (pair->working_angle);
  double half_angle, contact_psi;

  out->teeth = pair->in.teeth[gear];
  out->pitch = 2.0 * G_PI / out->teeth;
  out->contact_x = gear == 0 ? -(rw + along) : along - rw;
  out->contact_y = -u * cos (pair->working_angle);
  out->contact_radius = hypot (out->contact_x, out->contact_y);
  contact_psi = atan2 (out->contact_y, out->contact_x);
  half_angle = ef_gear_thickness (pair, gear, out->contact_radius) / (2.0 * out->contact_radius);
  out->psi0 = gear == 0 ? contact_psi - half_angle : contact_psi + half_angle;
  while (out->psi0 > -0.5 * G_PI)
    out->psi0 -= 2.0 * G_PI;
  while (out->psi0 < -1.5 * G_PI)
    out->psi0 += 2.0 * G_PI;
}

static gboolean
sort_spaces (EfMeshGear *gear,
             int which,
             double suction_angle,
             double delivery_angle,
             GError **error)
{
  gear->n_sealed = 0;
  gear->first_tip = -1;
  for (int j = 0; j < gear->teeth; j++)
    {
      double low = gear->psi0 + j * gear->pitch;

      if (low < -suction_angle)
        gear->space_group[j] = EF_GROUP_SUCTION;
      else if (low + gear->pitch > delivery_angle)
        gear->space_group[j] = EF_GROUP_DELIVERY;
      else
        gear->space_group[j] = EF_GROUP_SPACE + gear->n_sealed++;
      if (low < -suction_angle)
        gear->tip_group[j] = EF_GROUP_SUCTION;
      else if (low > delivery_angle)
        gear->tip_group[j] = EF_GROUP_DELIVERY;
      else
        {
          gear->tip_group[j] = EF_FILM_NO_FLUX;
          if (gear->first_tip < 0)
            gear->first_tip = j;
        }
    }
  gear->tip_group[0] = which == 0 ? EF_GROUP_DELIVERY : EF_GROUP_SUCTION;
  if (gear->first_tip > 0)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY,
               "%s gear: no tooth seals between suction (-%.1f deg) and delivery (%.1f deg)",
               which == 0 ? "drive" : "driven", suction_angle * 180.0 / G_PI, delivery_angle * 180.0 / G_PI);

  return FALSE;
}

gboolean
ef_mesh_at (const EfGearPair *pair,
            double suction_angle,
            double delivery_angle,
            double u,
            EfMesh *mesh,
            GError **error)
{
  mesh->u = u;
  for (int gear = 0; gear < 2; gear++)
    {
      if (pair->in.teeth[gear] > EF_MESH_MOST_TEETH)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "teeth: expected at most %d, found %d", EF_MESH_MOST_TEETH, pair->in.teeth[gear]);
          return FALSE;
        }
      place_teeth (pair, gear, u, &mesh->gear[gear]);
      if (!sort_spaces (&mesh->gear[gear], gear, suction_angle, delivery_angle, error))
        return FALSE;
    }

  return TRUE;
}

int
ef_mesh_border_group (const EfGearPair *pair,
                      const EfMesh *mesh,
                      int gear,
                      double x,
                      double y,
                      double patch)
{
  const EfMeshGear *side = &mesh->gear[gear];
  double radius = hypot (x, y);
  double turns = (atan2 (y, x) - side->psi0) / side->pitch;
  int nearest = (int) lrint (turns);
  double offset = turns - nearest;
  int tooth = ((nearest % side->teeth) + side->teeth) % side->teeth;

  if (hypot (x - side->contact_x, y - side->contact_y) < patch)
    return EF_FILM_NO_FLUX;
  if (radius > pair->in.tip_radius[gear] * (1.0 - 1e-6))
    return side->tip_group[tooth];
  /* The flank in contact: beyond the contact it faces the other side. */
  if (tooth == 0 && radius > side->contact_radius)
    {
      if (gear == 0 && offset > 0.0)
        return EF_GROUP_DELIVERY;
      if (gear == 1 && offset < 0.0)
        return EF_GROUP_SUCTION;
    }

  return side->space_group[offset > 0.0 ? tooth : (tooth + side->teeth - 1) % side->teeth];
}
