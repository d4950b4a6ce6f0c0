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

EfStore *ef_store_open (const char *path, GError **error); /* makes it (mode 0600, folder 0700) if missing, migrates if older */
void ef_store_close (EfStore *store);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfStore, ef_store_close)
char *ef_store_default_path (void);

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
  const char *text;    /* in number, pump, model, serial, customer; NULL all */
  const char *verdict; /* NULL all */
  const char *from, *to; /* received, ISO dates, inclusive; NULL open */
  guint limit, offset;   /* limit 0: all */
} EfJobQuery;

GPtrArray *ef_store_jobs (EfStore *store, const EfJobQuery *query, GError **error); /* EfJobRow *, newest first */
gint64 ef_store_count (EfStore *store, const EfJobQuery *query, GError **error); /* -1 on error */
gint64 ef_store_add (EfStore *store, const EfInspection *inspection, GError **error); /* job id; fails if the number is taken */
EfInspection *ef_store_load (EfStore *store, gint64 job, GError **error);
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
GPtrArray *ef_store_history (EfStore *store, gint64 job, GError **error); /* EfHistoryRow *, oldest first */

G_END_DECLS
