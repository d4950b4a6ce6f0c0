/* What the parts of the pump-sheet code share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-pump-sheet.h"
#include "../base/ef-json.h"

G_BEGIN_DECLS

/* To be filled in by the loader: lists empty, no relief valve, a section turning as seen, a part that is no gear. */
EfPumpSheet *ef_pump_sheet_new_empty (const char *file);
EfSection *ef_section_new_empty (void);
EfPart *ef_part_new_empty (void);

/* Works out what follows from the numbers that were read (gear pairs, z of each part, shaft radii) and refuses what can't
 * exist or doesn't fit together, at its place in the JSON. Stops at the first refusal. @root: the sheet's own cursor. */
gboolean ef_pump_sheet_check (EfPumpSheet *sheet, const EfJson *root, GError **error);

/* Stages of the check, in this order; each relies on those before. The first refusal sticks in the cursor's context. */
void ef_check_references (const EfPumpSheet *sheet, const EfJson *root);
void ef_check_sections (EfPumpSheet *sheet, const EfJson *root); /* solves the gear pairs */
void ef_check_stack (EfPumpSheet *sheet, const EfJson *root);    /* places the parts along z */
void ef_check_bores (EfPumpSheet *sheet, const EfJson *root);    /* fills the shaft radii */
void ef_check_shafts (const EfPumpSheet *sheet, const EfJson *root);
void ef_check_ports (const EfPumpSheet *sheet, const EfJson *root);
void ef_check_limits (const EfPumpSheet *sheet, const EfJson *root);

/* Refuses at @member (NULL: the value itself) of @at. */
void ef_check_refuse (const EfJson *at, const char *member, EfError code, const char *format, ...) G_GNUC_PRINTF (4, 5);
/* "$.parts[3]" and "$.parts[3].bores[1]"; clear them. */
EfJson ef_check_item (const EfJson *root, const char *list, guint i);
EfJson ef_check_sub_item (const EfJson *root, const char *list, guint i, const char *member, guint k);
gboolean ef_check_failed (const EfJson *root);

/* A face id's part and face; FALSE when there is no such part. @face_out points into @face_id. */
gboolean ef_pump_sheet_split_face (const EfPumpSheet *sheet, const char *face_id, const EfPart **part_out, const char **face_out);
/* The bore, hole … a journal runs in: "part/bore-drive", "part/hole-driven"; NULL if there is none such. */
const EfCylinder *ef_pump_sheet_bore_of_face (const EfPumpSheet *sheet, const char *face_id, const EfPart **part_out);
/* z of the start of a bore (v = 0 on its chart) and the sign of z along it. */
void ef_part_bore_place (const EfPumpSheet *sheet, const EfPart *part, const EfCylinder *bore, double *z_out, int *sign_out);
/* z and sign of the outward normal's z of a plan face of a housing, plate or cover. */
void ef_part_plane_place (const EfPart *part, const EfSection *section, const char *face, double *z_out, int *looks_out);

/* The quantities a limit may be for, NULL-terminated. */
extern const char *const ef_limit_quantities[];

G_END_DECLS
