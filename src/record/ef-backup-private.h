/* What making, keeping and putting back have in common.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-backup.h"
#include "ef-sql.h"

G_BEGIN_DECLS

#define EF_BACKUP_PARTIAL ".partial"

char *ef_backup_stamp (void); /* "20260309T140500Z" */
gboolean ef_file_sync (const char *path, GError **error);   /* a file or a folder, to the disk */
/* In the place of what is there; then the folder goes to the disk. */
gboolean ef_file_rename (const char *from, const char *to, GError **error);
gboolean ef_file_make_empty (const char *path, GError **error); /* mode 0600; there must be none */
gboolean ef_file_copy (const char *from, const char *to, GError **error); /* mode 0600; there must be none; synced */
gboolean ef_backup_from_future (const EfBackup *backup); /* made before a clock was set back */
typedef struct
{
  EfBackupProgress progress;
  gpointer user_data;
  GCancellable *cancellable;
} EfBackupWatch;

/* Into a new file by itself, which is checked and synced. What is left of a failure: ef_backup_remove_partial(). */
gboolean ef_backup_write_copy (EfStore *store, const char *partial, const EfBackupWatch *watch, GError **error);
void ef_backup_remove_partial (const char *partial);
gboolean ef_sql_open_plain (EfSql *sql, const char *path, int flags, GError **error);
int ef_backup_hold_folder (const char *folder, GError **error);
void ef_backup_sweep (const char *folder);
/* Pages and references; EF_ERROR_CORRUPT names what is wrong. */
gboolean ef_sql_check_pages (const EfSql *sql, GError **error);

G_END_DECLS
