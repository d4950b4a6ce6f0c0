/* Grids of the quantities other than lengths and angles, and their exact partners in file units.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pressures: whole pascal. Temperatures: whole microkelvin. Speeds: whole 1e-6 rev/min. Flows: whole 1e-6 L/min. For an on-grid value
 * x, from_file (to_file (x)) == x to the last bit. NAN goes through unchanged.
 */
#pragma once

#include "ef-inspection.h"

G_BEGIN_DECLS

/* The nearest value on the grid (…_on_grid), as files have it (…_to_…), and back from a file (…_from_…), which is on the grid. */
double ef_pressure_on_grid (double pascal);
double ef_pressure_to_bar (double pascal);
double ef_pressure_from_bar (double bar);
double ef_temperature_on_grid (double kelvin);
double ef_temperature_to_celsius (double kelvin);
double ef_temperature_from_celsius (double celsius);
double ef_speed_on_grid (double rev_per_s);
double ef_speed_to_rpm (double rev_per_s);
double ef_speed_from_rpm (double rpm);
double ef_flow_on_grid (double m3_per_s);
double ef_flow_to_lpm (double m3_per_s);
double ef_flow_from_lpm (double lpm);

G_END_DECLS
