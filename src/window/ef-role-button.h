/* The role at work, in the header: shown once the shop has roles, and changed there.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_ROLE_BUTTON (ef_role_button_get_type ())
G_DECLARE_FINAL_TYPE (EfRoleButton, ef_role_button, EF, ROLE_BUTTON, AdwBin)

/* Property "compact": an icon without the name beside it. Follows the window's "roles-changed". */
void ef_role_button_refresh (EfRoleButton *self);

G_END_DECLS
