/* An attempt at a lesson: the task, the face to look at and mark, what is to be measured, what is to be decided. Nothing of the reference.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Marks, readings and decisions are changes of the session's document like in any job: on disk at once, and they can be undone. The session assesses nothing meanwhile.
 * Signal "handed-in" after the attempt was frozen.
 */
#pragma once

#include <adwaita.h>

#include "../lesson/ef-lesson-sheet.h"
#include "ef-map-page.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_ATTEMPT_PAGE (ef_attempt_page_get_type ())
G_DECLARE_FINAL_TYPE (EfAttemptPage, ef_attempt_page, EF, ATTEMPT_PAGE, GtkBox)

/* Takes @sheet. */
EfAttemptPage *ef_attempt_page_new (EfSession *session, EfLessonSheet *sheet);
/* "task", "mark", "measure", "decide"; by number, from 1. */
void ef_attempt_page_show (EfAttemptPage *self, const char *page);
void ef_attempt_page_show_number (EfAttemptPage *self, int number);
EfMapPage *ef_attempt_page_map (EfAttemptPage *self);
/* What the buttons do. @place: index into the sheet's places. */
void ef_attempt_page_measure_mark (EfAttemptPage *self);
void ef_attempt_page_measure (EfAttemptPage *self, guint place, const char *gauge);
void ef_attempt_page_decide (EfAttemptPage *self, const char *part, EfVerdictWord word);
void ef_attempt_page_hand_in (EfAttemptPage *self); /* without asking */

G_END_DECLS
