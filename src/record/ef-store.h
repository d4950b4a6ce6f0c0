/* The store: all jobs of the shop in one SQLite file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * WAL, synchronous FULL, foreign keys on. Each command of a document is one transaction: the items' present state and an
 * append-only row of history. Schema version in PRAGMA user_version; an older one gets all its migrations
 * in one transaction, after a backup (ef-store-upgrade.h).
 * A store handle belongs to one thread.
 */
#pragma once

#include "../inspection/ef-document.h"

G_BEGIN_DECLS

typedef struct _EfStore EfStore;

/* Makes it (mode 0600, missing folders 0700) if missing, migrates if older, after a backup in the default folder. Refused without touching the file: another
 * database, a damaged header (EF_ERROR_CORRUPT), a newer version (EF_ERROR_NEWER_FORMAT), an older one of which no backup can be made. All functions below fail with EF_ERROR_BUSY when
 * another program holds the store for longer than two seconds, EF_ERROR_FULL when the disk is full, EF_ERROR_CORRUPT when a damaged
 * place is met; nothing is changed then. */
EfStore *ef_store_open (const char *path, GError **error);
/* For verifying and backups: nothing is written, not even to bring it up to date; folders that can't be written will do. */
EfStore *ef_store_open_to_read (const char *path, GError **error);
/* For looking at a store that can't be written: as it lies there, or, where it's of an older version or its log can't be read in a folder that can't be
 * written, as a copy in memory that is brought up to date. Every change fails with EF_ERROR_IO. */
EfStore *ef_store_open_read_only (const char *path, GError **error);
gboolean ef_store_read_only (EfStore *store); /* opened by one of these two */
void ef_store_close (EfStore *store); /* documents opened from it must be gone */
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfStore, ef_store_close)
char *ef_store_default_path (void); /* in the user's data folder */
/* As it was opened; borrowed. */
const char *ef_store_path (EfStore *store);

typedef struct
{
  gint64 id;
  char *number, *pump, *model, *serial, *received, *customer, *changed;
  char *verdict; /* name, or "" while not assessed */
  double found_pressure, expected_pressure; /* Pa; NAN */
  guint n_marks;
  gboolean withdrawn;
  gint64 sealed;  /* number of the seal that it stands under; 0 open; -1 sealed elsewhere */
  guint revision; /* 1, 2 … */
} EfJobRow;
void ef_job_row_free (EfJobRow *row);

typedef enum { EF_JOBS_ANY, EF_JOBS_OPEN, EF_JOBS_SEALED } EfJobsStanding;

/* Columns of the list that it may be in the order of. */
typedef enum { EF_JOBS_BY_DAY, EF_JOBS_BY_NUMBER, EF_JOBS_BY_MODEL, EF_JOBS_BY_CUSTOMER, EF_JOBS_BY_VERDICT, EF_JOBS_BY_PRESSURE } EfJobsOrder;

typedef struct
{
  const char *text;    /* words or beginnings or pieces of words, all to be found in the job, small or capital, with or without accents: number, pump,
                          model, serial, customer, and (from three characters on) complaint, notes, reasons, oil, parts from the shelf, kinds of
                          wear and other findings by name ("flat spot", "bore clearance"). Any text will do; of a very long one only the
                          first EF_JOB_QUERY_WORDS words count. NULL all */
  const char *verdict; /* NULL all, "" those not assessed */
  const char *from, *to; /* received (the day of making where none is given), ISO dates, inclusive; NULL open */
  guint limit, offset;   /* limit 0: all */
  const char *model;     /* exactly; NULL all */
  const char *finding;   /* ef_mark_kind_name() of a kind that was marked, or the id of a rule that found something wrong; NULL all */
  EfJobsStanding standing;
  gboolean withdrawn;    /* only those withdrawn; otherwise only those that aren't */
  EfJobsOrder order;     /* for ef_store_job_ids() alone */
  gboolean ascending;    /* day: oldest first; others: small first */
} EfJobQuery;
#define EF_JOB_QUERY_WORDS 24

/* A NULL query: all jobs, withdrawn ones too. Attempts at lessons (ef-store-lessons.h) are no jobs. */
GPtrArray *ef_store_jobs (EfStore *store, const EfJobQuery *query, GError **error); /* EfJobRow *, newest day first, then the last made */
/* Ids alone (gint64) in the order asked for, those that are equal newest first: quick for a hundred thousand jobs; and rows by id, in the order
 * given, those that aren't there left out. */
GArray *ef_store_job_ids (EfStore *store, const EfJobQuery *query, GError **error);
GPtrArray *ef_store_job_rows (EfStore *store, const gint64 *ids, guint n, GError **error);
/* What there is to choose from, each once, by name: models of jobs; kinds of mark and rules that found something wrong. NULL-terminated. */
GStrv ef_store_job_models (EfStore *store, GError **error);
GStrv ef_store_job_findings (EfStore *store, GError **error);
/* "Flat spot", "Bore clearance". Untranslated; free with g_free(). */
char *ef_finding_label (const char *finding);
gint64 ef_store_count (EfStore *store, const EfJobQuery *query, GError **error); /* -1 on error */
gint64 ef_store_add (EfStore *store, const EfInspection *inspection, GError **error); /* job id; fails if the number is taken or empty */
EfInspection *ef_store_load (EfStore *store, gint64 job, GError **error);
gboolean ef_store_exists (EfStore *store, const char *number, gint64 *job_out, GError **error); /* 0: no such job */
/* One transaction: items, list and history. EF_ERROR_INVALID for a job that is withdrawn or sealed (ef-store-standing.h). EF_ERROR_BUSY when an item isn't any more as the change expects it, since another window
 * changed it. The change must have been tried by a document; it isn't checked against the pump sheet here. */
gboolean ef_store_commit (EfStore *store, gint64 job, const EfChange *change, GError **error);
/* A document whose every change goes to the store first. The store must outlive it. */
EfDocument *ef_store_open_document (EfStore *store, gint64 job, GError **error);
/* For the list. A sealed job keeps the one it was sealed with. */
gboolean ef_store_set_verdict (EfStore *store, gint64 job, const char *verdict_name, GError **error);
/* Pump sheets edited in the program are kept in the store, the shipped ones in the data folder. */
gboolean ef_store_put_sheet (EfStore *store, const EfPumpSheet *sheet, GError **error);
GPtrArray *ef_store_sheets (EfStore *store, GError **error); /* EfPumpSheet * */

/* Rows stand in the order they were written, whatever the clock said. */
typedef struct
{
  gint64 seq;
  char *time, *role, *bench, *program, *label;
  /* Of jobs only, NULL for gauges: */
  char *rules;   /* version of the rule set then; "" where an earlier version of the program didn't note it */
  char *action;  /* "edit", "withdraw", "reinstate", "revise", "seal" */
  char *reason;  /* "" for edits */
  gboolean clock_back; /* its time lies before that of the row before it */
} EfHistoryRow;
void ef_history_row_free (EfHistoryRow *row);
/* The version of the shared rule set that rows of history note, with the rules of the job's pump sheet; the shipped one's until this is called. */
void ef_store_use_rules (EfStore *store, const char *version);
/* The role that rows of jobs' histories note from now on: who is at work. NULL: that of the job's own header, as at first. */
void ef_store_use_role (EfStore *store, const char *role);
/* The other rule set that the job's history noted last, and when; both NULL where it never was under any but @now. */
gboolean ef_store_rules_before (EfStore *store, gint64 job, const char *now, char **rules_out, char **time_out, GError **error);
/* The job as it stood after history row @seq, for looking at; everything is replayed from the history, not from the present items. */
EfInspection *ef_store_load_at (EfStore *store, gint64 job, gint64 seq, GError **error);
GPtrArray *ef_store_history (EfStore *store, gint64 job, GError **error); /* EfHistoryRow *, oldest first */

G_END_DECLS
