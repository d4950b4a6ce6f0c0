/* What each kind of wear is: plain words and a drawing of its own, the worn place from above in low light and cut through.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The drawings are made from one height function a kind; nothing is taken from a photo.
 */
#pragma once

#include "ef-draw.h"

G_BEGIN_DECLS

/* Untranslated; shown through gettext. None is empty. */
typedef struct
{
  const char *looks;    /* and where */
  const char *feels;
  const char *origin;
  const char *harmless; /* whether, and when it isn't */
  const char *measure;
} EfKindWords;
const EfKindWords *ef_kind_words (EfMarkKind kind);
/* Their headings, in the order of the members; NULL-terminated, untranslated. */
extern const char *const ef_kind_headings[];

/* Height of the drawn example at a place (-1 … 1 each way), 1 being the depth of the mark: 0 unworn, -1 at its deepest. NAN: no metal there. */
double ef_kind_height (EfMarkKind kind, double x, double y);
/* From above, light from the upper left; below it the cut along the dashed line with the depth. */
void ef_draw_kind_card (cairo_t *cr, const EfDrawStyle *style, EfMarkKind kind, double width, double height);

G_END_DECLS
