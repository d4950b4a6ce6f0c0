/* The kinds of wear as drawn glyphs with words: one is chosen.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../wear/ef-mark.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_KIND_PICKER (ef_kind_picker_get_type ())
G_DECLARE_FINAL_TYPE (EfKindPicker, ef_kind_picker, EF, KIND_PICKER, GtkWidget)

/* Signal "picked" (guint kind): by the user, not by ef_kind_picker_set(). */
GtkWidget *ef_kind_picker_new (void);
EfMarkKind ef_kind_picker_get (EfKindPicker *self);
void ef_kind_picker_set (EfKindPicker *self, EfMarkKind kind);
/* The kind whose button has the focus, else the chosen one. */
EfMarkKind ef_kind_picker_focused (EfKindPicker *self);

G_END_DECLS
