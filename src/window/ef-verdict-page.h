/* Verdict: a tree from the pump to the mark, the reasons of what is chosen, setting it by hand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_VERDICT_PAGE (ef_verdict_page_get_type ())
G_DECLARE_FINAL_TYPE (EfVerdictPage, ef_verdict_page, EF, VERDICT_PAGE, GtkBox)

EfVerdictPage *ef_verdict_page_new (EfSession *session);
/* Chooses a node by the verdict's id: "pump", "part:separator", "mark:…". FALSE when it isn't there. */
gboolean ef_verdict_page_select (EfVerdictPage *self, const char *id);

G_END_DECLS
