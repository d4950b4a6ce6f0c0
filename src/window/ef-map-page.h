/* The map: the exploded pump, the face with its tools, the card of the selected mark, the list, the figures.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-exploded-view.h"
#include "ef-face-canvas.h"
#include "ef-face-row.h"
#include "ef-figure-strip.h"
#include "ef-mark-card.h"
#include "ef-mark-list.h"

G_BEGIN_DECLS

#define EF_TYPE_MAP_PAGE (ef_map_page_get_type ())
G_DECLARE_FINAL_TYPE (EfMapPage, ef_map_page, EF, MAP_PAGE, GtkWidget)

GtkWidget *ef_map_page_new (EfSession *session);
EfFaceCanvas *ef_map_page_canvas (EfMapPage *self);
EfMarkCard *ef_map_page_card (EfMapPage *self);
EfMarkList *ef_map_page_list (EfMapPage *self);
EfFigureStrip *ef_map_page_strip (EfMapPage *self);
EfExplodedView *ef_map_page_exploded (EfMapPage *self);
EfFaceRow *ef_map_page_faces (EfMapPage *self);
gboolean ef_map_page_is_narrow (EfMapPage *self); /* the pump is a row of parts above the face */

G_END_DECLS
