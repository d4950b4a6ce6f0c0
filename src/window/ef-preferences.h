/* The preferences window.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_PREFERENCES (ef_preferences_get_type ())
G_DECLARE_FINAL_TYPE (EfPreferences, ef_preferences, EF, PREFERENCES, AdwPreferencesWindow)

void ef_preferences_show (GtkWindow *parent);

G_END_DECLS
