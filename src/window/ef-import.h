/* Exchange files into the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files are read and checked in a worker; the store, which belongs to the main thread, is written there afterwards.
 */
#pragma once

#include <gio/gio.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

typedef enum
{
  EF_IMPORT_DEMO = 1 << 0, /* a job that is there already is no failure, and the first is opened */
} EfImportFlags;

typedef struct
{
  GPtrArray *failures; /* char *: sentences */
  GPtrArray *missing;  /* char *: a sentence for each job whose photos or certificates didn't come along; never of the demo */
  guint n_added;
  gint64 open; /* job to open; 0 none */
} EfImportResult;
void ef_import_result_free (EfImportResult *result);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfImportResult, ef_import_result_free)

/* @owner: kept alive meanwhile. @store must outlive the call. */
void ef_import_async (GObject *owner, EfStore *store, GFile **files, guint n_files, EfImportFlags flags,
                      GCancellable *cancellable, GAsyncReadyCallback callback, gpointer user_data);
EfImportResult *ef_import_finish (GAsyncResult *result); /* never NULL */
/* The demo's files in order, as GFile *; NULL and an error where there are none. */
GPtrArray *ef_import_demo_files (GError **error);

G_END_DECLS
