/* What the materials of pump sheets are like.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-pump-sheet.h"

gboolean
ef_material_expansion (const char *material,
                       double *alpha_out)
{
  static const struct
  {
    const char *name;
    double alpha;
  } materials[] = {
    { "aluminium-alloy", 23e-6 },
    { "magnesium-alloy", 26e-6 },
    { "cast-iron", 10.5e-6 },
    { "steel", 11.5e-6 },
    { "bronze", 17.5e-6 },
  };

  for (gsize i = 0; i < G_N_ELEMENTS (materials); i++)
    if (g_strcmp0 (material, materials[i].name) == 0)
      {
        *alpha_out = materials[i].alpha;
        return TRUE;
      }

  return FALSE;
}
