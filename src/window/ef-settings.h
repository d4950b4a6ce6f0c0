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
#include "../record/ef-backup.h"

G_BEGIN_DECLS

GSettings *ef_settings_get (void); /* borrowed; one for the process */
EfUnit ef_settings_length_unit (void);
EfUnit ef_settings_pressure_unit (void);
EfPaper ef_settings_paper (void);
char *ef_settings_bench (void); /* may be "" */
char *ef_settings_role (void);
/* Sets how limits are decided on in a new job: into @decision_out a name, or NULL for the rule set's own. */
void ef_settings_decision (char **decision_out, double *coverage_out);
/* In the preferred unit; "–" for NAN. */
char *ef_settings_format_length (double metres);
char *ef_settings_format_pressure (double pascal);
/* The preferred unit of the same dimension as @unit: for values that carry a unit of their own. */
EfUnit ef_settings_shown_unit (EfUnit unit);
char *ef_settings_format (double si, EfUnit unit);
/* In @unit with every digit that counts, for fields that are read again: "25.1304 mm". NULL for NAN. */
char *ef_settings_exact (double si, EfUnit unit);
/* Where the store's backups lie, as the settings say. */
char *ef_settings_backup_folder (const char *store_path);
/* Which of them are kept, with the most that they may take together. */
EfBackupPolicy ef_settings_backup_policy (void);
/* Puts text size and colour scheme into effect, now and at each change. Needs a display. */
void ef_settings_follow_display (void);

G_END_DECLS
