/* The claim pack of a sealed job: what to leave out, where to write it, and the worker that does.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-form-window.h"
#include "ef-session.h"

#include "../draw/ef-claim-pack.h"

G_BEGIN_DECLS

#define EF_TYPE_CLAIM_DIALOG (ef_claim_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfClaimDialog, ef_claim_dialog, EF, CLAIM_DIALOG, EfFormWindow)

/* NULL, with a message, for a job that isn't sealed. */
EfClaimDialog *ef_claim_dialog_show (GtkWidget *parent, EfSession *session);
guint ef_claim_dialog_without (EfClaimDialog *self); /* EfClaimWithout, as the switches stand */

/* The packing itself, in a worker; main thread only. @progress is called in the worker. */
void ef_claim_async (EfSession *session, guint without, const char *path, EfVerifyProgress progress, gpointer progress_data, GCancellable *cancellable,
                     GAsyncReadyCallback callback, gpointer user_data);
gboolean ef_claim_finish (GAsyncResult *result, GError **error);

G_END_DECLS
