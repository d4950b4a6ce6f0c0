/* What people made of a lesson's parts, side by side.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../metrology/ef-study-table.h"
#include "ef-attempt.h"
#include "ef-lesson.h"

G_BEGIN_DECLS

/* Verdicts on the lesson's parts: of the reference, whose rater is "reference", and of every attempt (EfAttempt *), whose rater is its apprentice; of several by one
 * apprentice the last counts. A part is judged by the rule of the worst reason that the rules find for it in the reference. Parts an attempt doesn't decide on are left
 * out of it. Fails as assessing the reference does. */
EfRatingTable *ef_lesson_ratings (const EfLesson *lesson, const GPtrArray *attempts, GError **error);

G_END_DECLS
