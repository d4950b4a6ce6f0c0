/* A verdict as people see it: its glyph and its word, never a colour alone.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../judge/ef-judge.h"

G_BEGIN_DECLS

#define EF_VERDICT_UNKNOWN (-1)

#define EF_TYPE_VERDICT_BADGE (ef_verdict_badge_get_type ())
G_DECLARE_FINAL_TYPE (EfVerdictBadge, ef_verdict_badge, EF, VERDICT_BADGE, GtkBox)

GtkWidget *ef_verdict_badge_new (void);
void ef_verdict_badge_set (EfVerdictBadge *self, int word); /* EfVerdictWord or EF_VERDICT_UNKNOWN */
int ef_verdict_badge_word (EfVerdictBadge *self);
void ef_verdict_badge_set_glyph_size (EfVerdictBadge *self, int pixels);
/* Translated word; "Not assessed yet" where unknown. */
const char *ef_verdict_shown (int word);
/* From ef_verdict_name(); EF_VERDICT_UNKNOWN for NULL, "" and anything else. */
int ef_verdict_from_stored (const char *name);

G_END_DECLS
