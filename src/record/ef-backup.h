/* Copies of the store: made while it is in use, checked, few enough to keep, and put back when the store is lost.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A backup is one SQLite file "jobs-20260309T140500Z.sqlite" (UTC; "-2" and so on where there are several in a second) in a folder of its own, one a
 * store. It gets that name only after it was copied whole, found sound and written to the disk; what is being made is called
 * ".partial", and what is left of one that was cut off goes when the next is made. Only files named like that are ever deleted, and
 * only after a newer one was made.
 */
#pragma once

#include <gio/gio.h>
#include "ef-permit.h"

G_BEGIN_DECLS

/* Which to keep: the newest @recent, then the newest of each of the last @days days, @weeks weeks (ISO 8601) and @months months that have one. Of these the oldest go as
 * long as all together have more than @most bytes, but never the newest sound one. */
typedef struct
{
  guint recent, days, weeks, months;
  goffset most; /* bytes; 0: as many as it takes */
} EfBackupPolicy;

extern const EfBackupPolicy ef_backup_policy_default; /* 10, 14, 8, 12, EF_BACKUP_MOST_GB */
#define EF_BACKUP_MOST_GB 20 /* 10^9 bytes */

typedef struct
{
  char *path;
  char *time;    /* UTC, ISO 8601, from its name */
  goffset size;  /* bytes */
} EfBackup;
void ef_backup_free (EfBackup *backup);

/* Of this store alone: "NAME.backups" beside it; with a folder for the backups of all stores, "NAME-8HEX.backups" in that. */
char *ef_backup_default_folder (const char *store_path);
char *ef_backup_folder (const char *store_path, const char *common); /* @common NULL or "": the default */

typedef void (*EfBackupProgress) (double share, gpointer user_data); /* 0 … 1 */

/* Copies the store as it is at one moment; others may go on writing meanwhile. The copy is checked before it counts, then older ones are
 * let go by @policy (NULL: the default). Use a store handle of the thread's own. @progress may be NULL. EF_ERROR_BUSY while
 * another window makes one there. Returns the new file's path; free with g_free(). */
char *ef_backup_make (EfStore *store, const char *folder, const EfBackupPolicy *policy,
                      EfBackupProgress progress, gpointer user_data, GCancellable *cancellable, GError **error);
/* Is anything in the store that isn't in the newest backup, and either that much (@changes rows of what is only ever added to: history, seals,
 * pump sheets) or the newest older than @seconds? Backups from the future, where a clock was set back, and a newest one that can't be read count as none. */
gboolean ef_backup_due (EfStore *store, const char *folder, gint64 seconds, gint64 changes, gboolean *due_out, GError **error);
/* Deletes what @policy lets go of in the folder, but never @spared (a path, or NULL) and none that is from the future, which counts for its size only. Where all are
 * too large together and @spared isn't the newest, this looks through backups to find the newest sound one. */
gboolean ef_backup_rotate (const char *folder, const EfBackupPolicy *policy, const char *spared, GError **error);
GPtrArray *ef_backup_list (const char *folder, GError **error); /* EfBackup *, newest first; empty where there's no folder */
/* All of it in a worker with a read-only handle of its own: makes a backup by @policy (NULL: the default) if one is due after @seconds or @changes
 * (EF_BACKUP_INTERVAL, EF_BACKUP_CHANGES), and writes into the log what came of it. @path_out: NULL where none was due or another window is at it. */
#define EF_BACKUP_INTERVAL (4 * 60 * 60)
#define EF_BACKUP_CHANGES 100
void ef_backup_auto_async (const char *store_path, const char *folder, const EfBackupPolicy *policy, gint64 seconds, gint64 changes,
                           GCancellable *cancellable, GAsyncReadyCallback callback, gpointer user_data);
gboolean ef_backup_auto_finish (GAsyncResult *result, char **path_out, GError **error);
/* What the automatic backups and the restores of this user did, a line each with its time: "endfloat/backups.log" in the user's state folder. The older
 * half goes when it has grown past 200 kB. */
char *ef_backup_log_path (void);
void ef_backup_log (const char *store_path, const char *what);
/* Opens the file on its own, read-only: looks through every page, references, and whether tables, columns, triggers and indices are those of its version.
 * @n_jobs_out (or NULL): how many jobs it holds. */
gboolean ef_backup_check (const char *path, gint64 *n_jobs_out, GError **error);
/* Puts a backup in the place of the store, which must be closed everywhere. The store that was there, sound or not, is kept beside it under a
 * name with the time ("jobs.sqlite.before-20260309T140500Z"), which @kept_out (or NULL) receives: NULL where there was none. Fails and leaves all as
 * it was when @permit (NULL: none) isn't one for it and that store has roles (EF_ERROR_REFUSED), when the backup isn't sound, when it's cancelled, or another program has the store open (EF_ERROR_BUSY). @progress may be NULL. */
gboolean ef_backup_restore (const char *backup_path, const char *store_path, const EfPermit *permit, char **kept_out,
                            EfBackupProgress progress, gpointer user_data, GCancellable *cancellable, GError **error);
/* Where a restore was cut off between putting the store aside and the backup in its place: does the rest. Nothing to do is fine. ef_store_open()
 * calls it where there's no store. */
gboolean ef_backup_finish_restore (const char *store_path, GError **error);

/* What a restore would take back: jobs that the backup doesn't have, and edits of jobs that it has. EF_ERROR_CORRUPT where the store can't be read
 * far enough to tell. */
typedef struct
{
  gint64 jobs, edits;
} EfBackupDifference;
gboolean ef_backup_compare (const char *backup_path, const char *store_path, EfBackupDifference *difference, GError **error);

/* Looks through the whole store: pages, references between tables, the search index. EF_ERROR_CORRUPT names what is wrong. */
gboolean ef_store_check (EfStore *store, GError **error);
/* The same of a file that others may have open, and the pages only; reads all of it. In this thread, or in a worker. */
gboolean ef_store_look_through (const char *path, GCancellable *cancellable, GError **error);
void ef_store_look_through_async (const char *path, GCancellable *cancellable, GAsyncReadyCallback callback, gpointer user_data);
gboolean ef_store_look_through_finish (GAsyncResult *result, GError **error);

G_END_DECLS
