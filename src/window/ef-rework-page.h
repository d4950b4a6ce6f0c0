/* Rework: cautions, then the steps by phase, to be ticked off.
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
/* "Strip" for "strip" …; translated. */
const char *ef_phase_label (const char *phase);

G_END_DECLS
