/* What opening a store and bringing it up to date share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-store-private.h"
#include "ef-store-upgrade.h"

G_BEGIN_DECLS

/* Of a store that is opened so far that it can be read and written. A new, empty one gets its tables. */
EfUpgradeOutcome ef_store_upgrade_opened (EfStore *store, const EfUpgrade *how, char **backup_out, GError **error);
/* ef_store_open() by way of @how; NULL and the outcome where it can't be. */
EfStore *ef_store_open_as (const char *path, const EfUpgrade *how, char **backup_out, EfUpgradeOutcome *outcome_out, GError **error);

G_END_DECLS
