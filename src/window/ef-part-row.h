/* The parts of the pump as a row of buttons: what the exploded pump collapses to where there is little room.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_PART_ROW (ef_part_row_get_type ())
G_DECLARE_FINAL_TYPE (EfPartRow, ef_part_row, EF, PART_ROW, GtkWidget)

/* Signal "opened": by the user; the keyboard may go to the face. */
GtkWidget *ef_part_row_new (EfSession *session);

G_END_DECLS
