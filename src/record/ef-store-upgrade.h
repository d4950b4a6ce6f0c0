/* Bringing a store of an earlier version up to date: a backup first, then all steps in one transaction.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is cancelled, killed or fails leaves the store as it was. ef_store_open() does the same by itself, with the default folder, and refuses where no backup can be made; whoever
 * wants progress, another folder, or to go on without a backup calls this first.
 */
#pragma once

#include "ef-backup.h"

G_BEGIN_DECLS

/* Whether the file is a store that ef_store_open() would bring up to date. FALSE where there's none, or none that can be read: opening it tells why. @from and @to (or NULL): its
 * version and the present one. */
gboolean ef_store_upgrade_needed (const char *path, gint64 *from, gint64 *to);

typedef struct
{
  const char *folder;           /* of the backups; NULL: the default one */
  const EfBackupPolicy *policy; /* NULL: the default one */
  gboolean without_backup;      /* whoever asks knows that there's no way back */
  EfBackupProgress progress;    /* NULL none; called in this thread, 0 … 1 */
  gpointer user_data;
  GCancellable *cancellable;
} EfUpgrade;

typedef enum
{
  EF_UPGRADED,          /* or there was nothing to do */
  EF_UPGRADE_NO_BACKUP, /* the error says why none could be made; nothing was changed */
  EF_UPGRADE_FAILED     /* the error says why; nothing was changed but that there may be a backup */
} EfUpgradeOutcome;

/* @backup_out (or NULL): the backup made, NULL where none was. Takes as long as the store is large: for a worker. EF_ERROR_CANCELLED; EF_ERROR_FULL, EF_ERROR_IO, EF_ERROR_CORRUPT
 * and whatever ef_store_open() and ef_backup_make() refuse. Where another window does the same at this moment, it waits for that. */
EfUpgradeOutcome ef_store_upgrade (const char *path, const EfUpgrade *how, char **backup_out, GError **error);
/* The same in a worker; @how is copied, its progress called there. */
void ef_store_upgrade_async (const char *path, const EfUpgrade *how, GAsyncReadyCallback callback, gpointer user_data);
EfUpgradeOutcome ef_store_upgrade_finish (GAsyncResult *result, GError **error);

G_END_DECLS
