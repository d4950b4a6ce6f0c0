/* Making a lesson out of its reference: words, faces, gauges, what is to be measured, tolerances, verdicts, a note on each mark.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each change is another version in the store at once; "Undo" brings the version before back, "Redo" what was undone. Signal "changed" after each.
 */
#pragma once

#include <adwaita.h>

#include "../lesson/ef-lesson-store.h"

G_BEGIN_DECLS

#define EF_TYPE_LESSON_EDITOR (ef_lesson_editor_get_type ())
G_DECLARE_FINAL_TYPE (EfLessonEditor, ef_lesson_editor, EF, LESSON_EDITOR, AdwWindow)

/* Shows it over @parent's window; NULL and an error where the lesson can't be read. */
EfLessonEditor *ef_lesson_editor_show (GtkWidget *parent, EfStore *store, const char *name, GError **error);
const EfLesson *ef_lesson_editor_lesson (EfLessonEditor *self); /* as it stands */
void ef_lesson_editor_undo (EfLessonEditor *self);
void ef_lesson_editor_redo (EfLessonEditor *self);

G_END_DECLS
