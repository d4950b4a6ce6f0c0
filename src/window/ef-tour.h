/* The guided tour: a card that points at one thing after another of an open job, and the offer of it on the first start.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The offer is a row at the foot of the start page until it's taken or sent away, and never again (setting "tour-offered"); it takes no focus. The tour
 * itself goes by buttons or keys: Enter or right goes on, left back, Escape ends it. The program stays usable beside it.
 */
#pragma once

#include "ef-window.h"

G_BEGIN_DECLS

#define EF_TYPE_TOUR (ef_tour_get_type ())
G_DECLARE_FINAL_TYPE (EfTour, ef_tour, EF, TOUR, GObject)

/* @parent: what covers the window, where the card belongs. Neither is held. */
EfTour *ef_tour_new (EfWindow *window, GtkWidget *parent);
/* On the open job. */
void ef_tour_start (EfTour *self);
void ef_tour_go (EfTour *self, int step); /* past the last: ends it */
void ef_tour_stop (EfTour *self);
int ef_tour_step (EfTour *self); /* from 0; -1: not under way */
int ef_tour_n_steps (void);
GtkWidget *ef_tour_card (EfTour *self); /* borrowed; NULL while it isn't under way */
GtkWidget *ef_tour_target (EfTour *self); /* what it points at; borrowed; NULL */

/* The row with the offer; shown while @settings say that it wasn't answered and @shown_with is on screen. */
GtkWidget *ef_tour_offer_new (GtkWidget *shown_with);

G_END_DECLS
