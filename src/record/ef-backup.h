/* Copies of the store: made while it is in use, checked, few enough to keep, and put back when the store is lost.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A backup is one SQLite file "jobs-20260309T140500Z.sqlite" (UTC; "-2" and so on where there are several in a second) in a folder of its own. It gets that
 * name only after it was copied whole, found sound and written to the disk; what is being made is called
 * ".partial". Only files named like that are ever deleted, and only after a newer one was made.
 */
#pragma once

#include <gio/gio.h>
#include "ef-store.h"

G_BEGIN_DECLS

/* Which to keep: the newest @recent, then the newest of each of the last @days days and @months months that have one. */
typedef struct
{
  guint recent, days, months;
} EfBackupPolicy;

extern const EfBackupPolicy ef_backup_policy_default; /* 5, 14, 12 */

typedef struct
{
  char *path;
  char *time;    /* UTC, ISO 8601, from its name */
  goffset size;  /* bytes */
} EfBackup;
void ef_backup_free (EfBackup *backup);

char *ef_backup_default_folder (const char *store_path); /* "backups" beside the store */

typedef void (*EfBackupProgress) (double share, gpointer user_data); /* 0 … 1 */

/* Copies the store as it is at one moment; others may go on writing meanwhile. The copy is checked before it counts, then older ones are
 * let go by @policy (NULL: the default). Use a store handle of the thread's own. @progress may be NULL. Returns the new file's
 * path; free with g_free(). */
char *ef_backup_make (EfStore *store, const char *folder, const EfBackupPolicy *policy,
                      EfBackupProgress progress, gpointer user_data, GCancellable *cancellable, GError **error);
/* Has any job been changed since the newest backup, and is that older than @seconds (or, after a clock was set back, from the
 * future)? No backup at all: yes, if there are jobs. */
gboolean ef_backup_due (EfStore *store, const char *folder, gint64 seconds, gboolean *due_out, GError **error);
/* Deletes what @policy lets go of in the folder, but never @spared (a path, or NULL). */
gboolean ef_backup_rotate (const char *folder, const EfBackupPolicy *policy, const char *spared, GError **error);
GPtrArray *ef_backup_list (const char *folder, GError **error); /* EfBackup *, newest first; empty where there's no folder */
/* All of it in a worker with a store handle of its own: makes a backup in the default folder by the default policy if one is due after
 * @seconds (EF_BACKUP_INTERVAL). For the window at its start and now and then. @path_out: NULL where none was due. */
#define EF_BACKUP_INTERVAL (4 * 60 * 60)
void ef_backup_auto_async (const char *store_path, gint64 seconds, GCancellable *cancellable, GAsyncReadyCallback callback, gpointer user_data);
gboolean ef_backup_auto_finish (GAsyncResult *result, char **path_out, GError **error);
/* Opens the file on its own, read-only, and looks through every page. @n_jobs_out (or NULL): how many jobs it holds. */
gboolean ef_backup_check (const char *path, gint64 *n_jobs_out, GError **error);
/* Puts a backup in the place of the store, which must be closed everywhere. The store that was there, sound or not, is kept beside it under a
 * name with the time ("jobs.sqlite.before-20260309T140500Z"), which @kept_out (or NULL) receives: NULL where there was none. Fails and leaves all as
 * it was when the backup isn't sound or another program has the store open. */
gboolean ef_backup_restore (const char *backup_path, const char *store_path, char **kept_out, GError **error);

/* Looks through the whole store: pages, references between tables, the search index. EF_ERROR_CORRUPT names what is wrong. */
gboolean ef_store_check (EfStore *store, GError **error);

G_END_DECLS
