/* A number pad for hands that hold a part: types into the field that was last entered.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_NUMBER_PAD (ef_number_pad_get_type ())
G_DECLARE_FINAL_TYPE (EfNumberPad, ef_number_pad, EF, NUMBER_PAD, GtkWidget)

GtkWidget *ef_number_pad_new (void);
/* The entry that is typed into; held weakly. */
void ef_number_pad_set_target (EfNumberPad *self, GtkEntry *entry);
GtkEntry *ef_number_pad_target (EfNumberPad *self);
/* As if a key of the pad were pressed: "0" … "9", ".", "back", "enter". */
void ef_number_pad_press (EfNumberPad *self, const char *key);

G_END_DECLS
