/* Places that are measured at, and how gauges err there.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-lesson-sheet.h"

G_BEGIN_DECLS

void ef_lesson_place_clear (EfLessonPlace *place);
/* 0 at the place, 1 at the edge of what counts as it, INFINITY elsewhere. */
double ef_lesson_place_apart (const EfLessonPlace *place, const EfReading *reading);
/* What the gauge shows, m. @seed: of the lesson or sheet; @where tells the places apart. The same for the same arguments on every machine. */
double ef_lesson_gauge_shows (const EfGauge *gauge, double truth, const char *seed, const char *where, guint repeat);

G_END_DECLS
