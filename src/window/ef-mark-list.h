/* The marks of the shown face as a list: glyph, number, kind, depth, verdict. Its selection is the session's.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_MARK_LIST (ef_mark_list_get_type ())
G_DECLARE_FINAL_TYPE (EfMarkList, ef_mark_list, EF, MARK_LIST, GtkWidget)

/* Signal "activated": a row was pressed twice or entered, its fields are wanted. */
GtkWidget *ef_mark_list_new (EfSession *session);
guint ef_mark_list_length (EfMarkList *self);
const char *ef_mark_list_selected (EfMarkList *self); /* mark id; NULL */
void ef_mark_list_select (EfMarkList *self, guint row); /* as a press would */

G_END_DECLS
