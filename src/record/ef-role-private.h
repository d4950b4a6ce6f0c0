/* PINs and permits, for the list of roles and the acts of the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-permit.h"
#include "ef-sql.h"
#include "ef-store-roles.h"

G_BEGIN_DECLS

/* As the library writes it, with salt and strength. NULL for a PIN that can't be (EF_ERROR_INVALID). */
char *ef_role_hash_pin (const char *pin, const EfSealStrength *strength, GError **error);
/* TRUE for a role without one. The try is counted before the PIN is looked at. EF_ERROR_PIN. */
gboolean ef_role_check_pin (EfStore *store, const EfRole *role, const char *pin, GError **error);

/* What the check has allowed; @role NULL: nothing any more. */
void ef_store_allow (EfStore *store, EfAct act, const char *role);
/* The one place where the store's own functions ask: TRUE where the shop has no roles, or @act was allowed, by @role where that says anything, and the list of roles still has it so; that uses it up.
 * Within the transaction that does it.
 * EF_ERROR_REFUSED. */
gboolean ef_store_need (EfStore *store, EfAct act, const char *role, GError **error);
/* By the list as it is now, without a PIN; TRUE where the shop has no roles. EF_ERROR_REFUSED. */
gboolean ef_role_still_may (EfStore *store, const char *name, EfAct act, GError **error);
/* As ef_store_need(), of a permit that isn't in a store, and without the list; @name: what the message begins with. */
gboolean ef_permit_is_for (const EfPermit *permit, EfAct act, const char *role, const char *name, GError **error);
/* Whether the store that is open there may be put aside for a backup: it asks nobody, as one without roles or without anything that can be read, or @permit is one for that. EF_ERROR_REFUSED. */
gboolean ef_role_need_restore (const EfSql *sql, const EfPermit *permit, GError **error);

G_END_DECLS
