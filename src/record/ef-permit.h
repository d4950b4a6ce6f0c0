/* Permission for one act, as the role check gives it and the store asks for it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the shop has roles, what is listed in ef-role.h is refused by the store itself unless ef_store_authorise() has allowed it before. What was allowed is
 * remembered in the store that was asked, for one act: doing it uses it up, and the next check takes its place. Work that goes on in another store of the same file (a worker opens its
 * own), or in several steps, takes a copy along. There's no other way to make one, so whoever forgets to ask is refused. The list of roles is looked at again when the act is done: who was removed from
 * it meanwhile, or is of another kind now, is refused too.
 */
#pragma once

#include "ef-role.h"
#include "ef-store.h"

G_BEGIN_DECLS

typedef struct _EfPermit EfPermit;

/* A copy of what the last check allowed and nothing has used yet; NULL: nothing, as where the shop has no roles. */
EfPermit *ef_store_permit (EfStore *store);
/* For the next act at @store. NULL: nothing. */
void ef_store_use_permit (EfStore *store, const EfPermit *permit);
const char *ef_permit_role (const EfPermit *permit); /* who was asked; NULL for NULL */
void ef_permit_free (EfPermit *permit);              /* NULL is fine */
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfPermit, ef_permit_free)

G_END_DECLS
