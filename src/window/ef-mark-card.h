/* The selected mark as a card: kind, depth, gauge, size, note, nodes; or the fields of a mark placed by numbers.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each field is one undoable change when it is left or Enter is pressed. What can't be read stays in its field, with a
 * message. Signal "done": the keyboard may go back to the face.
 */
#pragma once

#include "ef-face-canvas.h"
#include "ef-field.h"
#include "ef-node-table.h"
#include "ef-number-pad.h"

G_BEGIN_DECLS

#define EF_TYPE_MARK_CARD (ef_mark_card_get_type ())
G_DECLARE_FINAL_TYPE (EfMarkCard, ef_mark_card, EF, MARK_CARD, AdwBin)

GtkWidget *ef_mark_card_new (EfSession *session, EfFaceCanvas *canvas);
void ef_mark_card_enter_depth (EfMarkCard *self); /* the depth field has the focus, its text selected */
void ef_mark_card_enter_new (EfMarkCard *self);   /* the fields of a mark placed by numbers */
EfField *ef_mark_card_field (EfMarkCard *self, const char *name); /* "depth", "size", "note", "new-places", "new-size", "new-depth" */
EfNumberPad *ef_mark_card_pad (EfMarkCard *self);
EfNodeTable *ef_mark_card_nodes (EfMarkCard *self);
gboolean ef_mark_card_add_new (EfMarkCard *self); /* what the button does; FALSE: a field says why */
void ef_mark_card_set_new_shape (EfMarkCard *self, EfMarkShape shape);

G_END_DECLS
