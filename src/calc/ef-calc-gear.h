/* Reading a gear pair, for every computation by name that needs one.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-calc.h"
#include "../geometry/ef-gear-pair.h"

G_BEGIN_DECLS

/* Members to allow, and their description. */
#define EF_CALC_GEAR_MEMBERS "teeth", "module_mm", "pressure_angle_deg", "shift", "tip_diameter_mm", "root_diameter_mm", "centre_distance_mm", "face_width_mm"
#define EF_CALC_GEAR_INPUT \
  "teeth: two whole numbers, 4 to 200, drive and driven\n" \
  "module_mm: number, mm, 0.1 to 100\n" \
  "pressure_angle_deg: number, 10 to 35, default 20\n" \
  "shift: two numbers, profile shift in modules, default 0, 0\n" \
  "tip_diameter_mm: two numbers, mm; default: tip clearance 0.25 modules at the centre distance without backlash\n" \
  "root_diameter_mm: two numbers, mm; default: module (z - 2.5 + 2 shift)\n" \
  "centre_distance_mm: number, mm; default: without backlash\n" \
  "face_width_mm: number, mm, default 20"

/* Fills @in from those members; not yet solved. */
gboolean ef_calc_read_gear_pair (const EfJson *input, EfGearPairInput *in, GError **error);

G_END_DECLS
