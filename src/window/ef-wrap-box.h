/* A row of widgets that goes on in further rows where it doesn't fit.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_WRAP_BOX (ef_wrap_box_get_type ())
G_DECLARE_FINAL_TYPE (EfWrapBox, ef_wrap_box, EF, WRAP_BOX, GtkWidget)

/* @spacing: px, between neighbours and between rows. */
GtkWidget *ef_wrap_box_new (int spacing);
/* @child may expand horizontally: it shares what its row leaves. */
void ef_wrap_box_append (EfWrapBox *self, GtkWidget *child);

G_END_DECLS
