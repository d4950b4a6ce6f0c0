/* Writing reports, exchange files and pictures where the user wants them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>
#include "ef-session.h"

G_BEGIN_DECLS

/* Each asks for a place, then writes in a worker and tells through the session what became of it. */
void ef_export_report_dialog (GtkWidget *widget, EfSession *session);
void ef_export_exchange_dialog (GtkWidget *widget, EfSession *session);
void ef_export_pictures_dialog (GtkWidget *widget, EfSession *session); /* asks for a folder */

typedef enum
{
  EF_EXPORT_REPORT,   /* PDF on the preferred paper */
  EF_EXPORT_EXCHANGE, /* JSON */
  EF_EXPORT_PICTURES, /* into a folder: the pump, and each face that carries marks */
} EfExportKind;
/* The writing itself, once the assessment is the newest. To be called and cancelled in the main thread; @cancellable may be NULL. */
void ef_export_async (EfSession *session, EfExportKind kind, const char *path, GCancellable *cancellable,
                      GAsyncReadyCallback callback, gpointer user_data);
gboolean ef_export_finish (EfSession *session, GAsyncResult *result, GError **error);

G_END_DECLS
