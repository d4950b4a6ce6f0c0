/* What the shelf holds for this job: assemblies that fit, why the rest doesn't, and what is already fitted.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_SHELF_MATCHES (ef_shelf_matches_get_type ())
G_DECLARE_FINAL_TYPE (EfShelfMatches, ef_shelf_matches, EF, SHELF_MATCHES, GtkBox)

GtkWidget *ef_shelf_matches_new (EfSession *session);
/* FALSE until the answer for the shown assessment is there; for tests. */
gboolean ef_shelf_matches_ready (EfShelfMatches *self);

G_END_DECLS
