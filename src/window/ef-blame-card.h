/* Is the pump to blame? One sentence, the pressure of the complaint cut into whose it is, and under which conditions it was measured.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_BLAME_CARD (ef_blame_card_get_type ())
G_DECLARE_FINAL_TYPE (EfBlameCard, ef_blame_card, EF, BLAME_CARD, GtkBox)

GtkWidget *ef_blame_card_new (EfSession *session);
/* The sentence shown; borrowed. */
const char *ef_blame_card_text (EfBlameCard *self);

G_END_DECLS
