/* Rework: cautions, then the steps by phase, to be ticked off.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_STEP_LIST (ef_step_list_get_type ())
G_DECLARE_FINAL_TYPE (EfStepList, ef_step_list, EF, STEP_LIST, GtkBox)

EfStepList *ef_step_list_new (EfSession *session);
/* Ticks a step off in the role of the preferences, now; or takes that back. @text names it in the history. TRUE once it's on disk. */
gboolean ef_step_set_done (EfSession *session, const char *id, const char *text, gboolean done);
/* When it was ticked off, in local time. */
char *ef_step_time (const EfTick *tick);
/* "Strip" for "strip" …; translated. */
const char *ef_phase_label (const char *phase);

G_END_DECLS
