/* A part on the shelf, for list models.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <glib-object.h>
#include "../shelf/ef-shelf-part.h"

G_BEGIN_DECLS

#define EF_TYPE_SHELF_OBJECT (ef_shelf_object_get_type ())
G_DECLARE_FINAL_TYPE (EfShelfObject, ef_shelf_object, EF, SHELF_OBJECT, GObject)

EfShelfObject *ef_shelf_object_new (EfShelfPart *part);          /* takes its own reference */
EfShelfPart *ef_shelf_object_part (EfShelfObject *self);         /* borrowed */
/* Words and icon of a state, as shown. */
const char *ef_shelf_state_shown (EfShelfState state);
const char *ef_shelf_state_icon (EfShelfState state);
/* "Reserved for J-0418", as shown; free with g_free(). */
char *ef_shelf_state_sentence (const EfShelfPart *part);
const char *ef_part_kind_shown (EfPartKind kind);

G_END_DECLS
