/* What came of an attempt: the score and its parts, faces side by side, mark by mark with the trainer's notes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

#include "../draw/ef-draw-lesson.h"
#include "../record/ef-store-lessons.h"

G_BEGIN_DECLS

#define EF_TYPE_RESULT_PAGE (ef_result_page_get_type ())
G_DECLARE_FINAL_TYPE (EfResultPage, ef_result_page, EF, RESULT_PAGE, GtkBox)

/* Of an attempt that was handed in. Scores it in a worker where the store has the lesson, and keeps the result. */
EfResultPage *ef_result_page_new (EfStore *store, gint64 job);
gboolean ef_result_page_ready (EfResultPage *self);               /* scored, or known not to be possible */
const EfLessonScore *ef_result_page_score (EfResultPage *self);   /* NULL: not scored */
gboolean ef_result_page_write_certificate (EfResultPage *self, const char *path, GError **error);

G_END_DECLS
