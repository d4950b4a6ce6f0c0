/* What of a stripped pump is worth keeping.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../judge/ef-judge.h"
#include "ef-shelf-part.h"

G_BEGIN_DECLS

/* A part of the job by itself: sizes from its readings, its marks, what its faces ask for. A pocket's diameter is that of the gear tips as on the sheet
 * and twice the tip clearance, so wear of the tips counts as the wall's. Code and pair are left open. NULL for a part without faces (pin, stud, pickup). */
EfReplacement *ef_shelf_describe (const EfFindings *findings, const EfVerdict *verdict, const EfPart *part);
/* Verdict of the part, for a gear of its pair if that's worse; EF_N_VERDICTS where it has none. */
EfVerdictWord ef_shelf_verdict (const EfFindings *findings, const EfVerdict *verdict, const EfPart *part);
/* Usable as it is or after lapping that its stock allows. @reason_out (or NULL) says why not. */
gboolean ef_shelf_is_sound (const EfFindings *findings, const EfVerdict *verdict, const EfPart *part, char **reason_out);

/* The parts worth keeping, EfShelfPart *, without codes; mates share a pair code that holds within the list and are only kept together. */
GPtrArray *ef_shelf_keep (const EfFindings *findings, const EfVerdict *verdict);

G_END_DECLS
