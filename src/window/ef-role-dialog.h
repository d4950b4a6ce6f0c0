/* One change of the list of roles: add one, change its kind, its PIN, or remove it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-form-window.h"
#include "../record/ef-store-roles.h"

G_BEGIN_DECLS

#define EF_TYPE_ROLE_DIALOG (ef_role_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfRoleDialog, ef_role_dialog, EF, ROLE_DIALOG, EfFormWindow)

typedef enum { EF_ROLE_ADD, EF_ROLE_CHANGE, EF_ROLE_PIN, EF_ROLE_REMOVE } EfRoleTask;

/* @role NULL: one to be added. @store must outlive it. Signal "saved". */
EfRoleDialog *ef_role_dialog_show (GtkWidget *parent, EfStore *store, EfRoleTask task, const EfRole *role);
/* "Bench", "Trainer", …, for people. */
const char *ef_role_kind_shown (EfRoleKind kind);

G_END_DECLS
