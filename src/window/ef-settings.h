/* What the user prefers: units, paper, text size, colours, bench and role.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The one place that reads the GSettings of the program. Views that show lengths follow "changed::length-unit".
 */
#pragma once

#include <gio/gio.h>
#include "../base/ef-units.h"
#include "../draw/ef-draw.h"

G_BEGIN_DECLS

GSettings *ef_settings_get (void); /* borrowed; one for the process */
EfUnit ef_settings_length_unit (void);
EfUnit ef_settings_pressure_unit (void);
EfPaper ef_settings_paper (void);
char *ef_settings_bench (void); /* may be "" */
char *ef_settings_role (void);
/* In the preferred unit; "–" for NAN. */
char *ef_settings_format_length (double metres);
char *ef_settings_format_pressure (double pascal);
/* The preferred unit of the same dimension as @unit: for values that carry a unit of their own. */
EfUnit ef_settings_shown_unit (EfUnit unit);
char *ef_settings_format (double si, EfUnit unit);
/* In @unit with every digit that counts, for fields that are read again: "25.1304 mm". NULL for NAN. */
char *ef_settings_exact (double si, EfUnit unit);
/* Puts text size and colour scheme into effect, now and at each change. Needs a display. */
void ef_settings_follow_display (void);

G_END_DECLS
