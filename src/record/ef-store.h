/* The store: all jobs of the shop in one SQLite file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * WAL, synchronous FULL, foreign keys on. Each command of a document is one transaction: the items' present state and an
 * append-only row of history. Schema version in PRAGMA user_version; migrations one by one, each in its own transaction.
 * A store handle belongs to one thread.
 */
#pragma once

#include "../inspection/ef-document.h"

G_BEGIN_DECLS

typedef struct _EfStore EfStore;

/* Makes it (mode 0600, missing folders 0700) if missing, migrates if older. Refused without touching the file: another database,
 * a damaged header (EF_ERROR_CORRUPT), a newer version (EF_ERROR_NEWER_FORMAT). All functions below fail with EF_ERROR_BUSY when
 * another program holds the store for longer than two seconds, EF_ERROR_FULL when the disk is full, EF_ERROR_CORRUPT when a damaged
 * place is met; nothing is changed then. */
EfStore *ef_store_open (const char *path, GError **error);
void ef_store_close (EfStore *store); /* documents opened from it must be gone */
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfStore, ef_store_close)
char *ef_store_default_path (void); /* in the user's data folder */
const char *ef_store_path (EfStore *store);

typedef struct
{
  gint64 id;
  char *number, *pump, *model, *serial, *received, *customer, *changed;
  char *verdict; /* name, or "" while not assessed */
  double found_pressure, expected_pressure; /* Pa; NAN */
  guint n_marks;
} EfJobRow;
void ef_job_row_free (EfJobRow *row);

typedef struct
{
  const char *text;    /* words, all to be found in the job, small or capital: number, pump, model, serial, customer, and (from three
                          characters on) complaint, notes and reasons; NULL all */
  const char *verdict; /* NULL all, "" those not assessed */
  const char *from, *to; /* received (the day of making where none is given), ISO dates, inclusive; NULL open */
  guint limit, offset;   /* limit 0: all */
  const char *model;     /* exactly; NULL all */
  const char *finding;   /* ef_mark_kind_name() of a kind that was marked; NULL all */
} EfJobQuery;

GPtrArray *ef_store_jobs (EfStore *store, const EfJobQuery *query, GError **error); /* EfJobRow *, newest day first, then the last made */
gint64 ef_store_count (EfStore *store, const EfJobQuery *query, GError **error); /* -1 on error */
gint64 ef_store_add (EfStore *store, const EfInspection *inspection, GError **error); /* job id; fails if the number is taken or empty */
EfInspection *ef_store_load (EfStore *store, gint64 job, GError **error);
gboolean ef_store_exists (EfStore *store, const char *number, gint64 *job_out, GError **error); /* 0: no such job */
/* One transaction: items, list and history. EF_ERROR_BUSY when an item isn't any more as the change expects it, since another window
 * changed it. The change must have been tried by a document; it isn't checked against the pump sheet here. */
gboolean ef_store_commit (EfStore *store, gint64 job, const EfChange *change, GError **error);
/* A document whose every change goes to the store first. The store must outlive it. */
EfDocument *ef_store_open_document (EfStore *store, gint64 job, GError **error);
gboolean ef_store_set_verdict (EfStore *store, gint64 job, const char *verdict_name, GError **error);
/* Pump sheets edited in the program are kept in the store, the shipped ones in the data folder. */
gboolean ef_store_put_sheet (EfStore *store, const EfPumpSheet *sheet, GError **error);
GPtrArray *ef_store_sheets (EfStore *store, GError **error); /* EfPumpSheet * */

typedef struct
{
  gint64 seq;
  char *time, *role, *bench, *program, *label;
} EfHistoryRow;
void ef_history_row_free (EfHistoryRow *row);
/* The job as it stood after history row @seq, for looking at; everything is replayed from the history, not from the present items. */
EfInspection *ef_store_load_at (EfStore *store, gint64 job, gint64 seq, GError **error);
GPtrArray *ef_store_history (EfStore *store, gint64 job, GError **error); /* EfHistoryRow *, oldest first */

G_END_DECLS
