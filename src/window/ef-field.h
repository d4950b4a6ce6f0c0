/* A labelled entry that says at the place what is wrong with what was typed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Label above, entry, message below. What was typed is never thrown away: a message only stands beside it.
 */
#pragma once

#include <adwaita.h>
#include "../base/ef-units.h"

G_BEGIN_DECLS

#define EF_TYPE_FIELD (ef_field_get_type ())
G_DECLARE_FINAL_TYPE (EfField, ef_field, EF, FIELD, GtkBox)

/* Properties "label", "text", "placeholder", "message". Signals: "committed" (Enter), "left" (focus has gone), "entered", "edited". */
GtkWidget *ef_field_new (const char *label);
const char *ef_field_text (EfField *self);
void ef_field_set_text (EfField *self, const char *text); /* NULL: empty; clears the message */
void ef_field_set_message (EfField *self, const char *message); /* NULL: all is well */
const char *ef_field_message (EfField *self);
void ef_field_set_label (EfField *self, const char *label);
GtkWidget *ef_field_entry (EfField *self);

/* Each reads the text and, where it can't be read, sets the message and returns FALSE. An empty text gives NAN or NULL
 * where @required is FALSE. Results in SI; a bare number has @unit. */
gboolean ef_field_quantity (EfField *self, EfUnit unit, gboolean required, double *si_out, EfUnit *unit_out);
gboolean ef_field_number (EfField *self, gboolean required, double min, double max, double *number_out);
gboolean ef_field_string (EfField *self, gboolean required, char **text_out);
gboolean ef_field_date (EfField *self, gboolean required, char **date_out); /* ISO, "2026-03-09" */

G_END_DECLS
