/* Pictures of gauge studies and of how people agree.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values along the axes are in the unit of the readings. Appraisers are told apart by marks and words, not by colour alone.
 */
#pragma once

#include "ef-draw-text.h"
#include "../metrology/ef-study-table.h"

G_BEGIN_DECLS

typedef enum
{
  EF_STUDY_BY_PART,      /* each appraiser's mean of every part, joined; all readings as dots */
  EF_STUDY_BY_APPRAISER, /* each appraiser's readings less the part's mean, with their mean */
  EF_STUDY_RANGES,       /* range of every appraiser at every part, against the limit of repeating */
  EF_STUDY_SHARES,       /* where the scatter comes from, by both methods, % of the total */
  EF_N_STUDY_PICTURES
} EfStudyPicture;
const char *ef_study_picture_title (EfStudyPicture picture); /* untranslated */
/* One of the pictures into a box of @width x @height target units with its corner at the origin. @table is looked at by the first three, @range by the last two, @variance by the last. */
void ef_draw_study (cairo_t *cr, const EfDrawStyle *style, EfStudyPicture picture, const EfStudyTable *table, const EfGaugeStudyRange *range, const EfGaugeStudyVariance *variance,
                    double width, double height);

/* A bar for each rule: share of pairs of people who chose differently, %; the rule's name beside it. */
void ef_draw_rules_disagreed (cairo_t *cr, const EfDrawStyle *style, const EfRatingSummary *summary, double width, double height);
double ef_draw_rules_height (const EfDrawStyle *style, const EfRatingSummary *summary);
/* Kappa of every pair of raters, and of all, with 95 % intervals on one scale. */
void ef_draw_kappas (cairo_t *cr, const EfDrawStyle *style, const EfRatingTable *table, const EfRatingSummary *summary, double width, double height);
double ef_draw_kappas_height (const EfDrawStyle *style, const EfRatingSummary *summary);

G_END_DECLS
