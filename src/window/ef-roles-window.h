/* People and roles: who there is, what each kind may do, and every change of it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store-roles.h"

G_BEGIN_DECLS

#define EF_TYPE_ROLES_WINDOW (ef_roles_window_get_type ())
G_DECLARE_FINAL_TYPE (EfRolesWindow, ef_roles_window, EF, ROLES_WINDOW, AdwWindow)

/* @store must outlive it. Signal "changed" after each change of the list. */
EfRolesWindow *ef_roles_window_show (GtkWidget *parent, EfStore *store);

G_END_DECLS
