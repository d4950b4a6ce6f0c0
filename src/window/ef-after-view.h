/* What was done and what was measured afterwards, against what was expected.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_AFTER_VIEW (ef_after_view_get_type ())
G_DECLARE_FINAL_TYPE (EfAfterView, ef_after_view, EF, AFTER_VIEW, GtkBox)

GtkWidget *ef_after_view_new (EfSession *session);

G_END_DECLS
