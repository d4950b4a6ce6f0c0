/* A small form that asks who does a thing, where the shop has roles, and why.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-who-fields.h"

G_BEGIN_DECLS

#define EF_TYPE_WHO_DIALOG (ef_who_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfWhoDialog, ef_who_dialog, EF, WHO_DIALOG, EfFormWindow)

/* FALSE: it failed and has said so; the form stays. */
typedef gboolean (*EfWhoDone) (gpointer owner, const char *role, const char *reason);
/* Asks who does @act and, where @reason_label isn't NULL, why; then calls @done with both and closes. Where nothing is asked (no roles, no reason), @done is
 * called at once. Nothing is done any more once @owner is gone. */
void ef_who_ask (GtkWidget *parent, EfStore *store, EfAct act, const char *title, const char *accept_label, const char *reason_label, EfWhoDone done,
                 GObject *owner);

G_END_DECLS
