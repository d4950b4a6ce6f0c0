/* Rework: what to do about it. One view for each question, chosen by the switcher on top: the steps, and what else is added.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_REWORK_PAGE (ef_rework_page_get_type ())
G_DECLARE_FINAL_TYPE (EfReworkPage, ef_rework_page, EF, REWORK_PAGE, GtkBox)

EfReworkPage *ef_rework_page_new (EfSession *session);
/* Shows one of the views by its name: "plan", "steps", "after", "right-pump", "cost", … Names that aren't there are passed over. */
void ef_rework_page_show (EfReworkPage *self, const char *view);

G_END_DECLS
