/* Lessons, sheets and attempts between files and the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../record/ef-store-lessons.h"
#include "ef-attempt.h"
#include "ef-lesson-progress.h"
#include "ef-lesson-sheet.h"

G_BEGIN_DECLS

/* Keeps the lesson under its name as the next version, by @role, told as @label in its history. Fails as ef_lesson_check(), and where the store can't be written. */
gboolean ef_lesson_store_put (EfStore *store, const EfLesson *lesson, const char *role, const char *label, GError **error);
/* The present version. */
EfLesson *ef_lesson_store_get (EfStore *store, const char *name, GError **error); /* EF_ERROR_NOT_FOUND also where only its sheet is there */
/* Of the present version: made from the lesson, or as it came. */
EfLessonSheet *ef_lesson_store_sheet (EfStore *store, const char *name, GError **error);
/* Of any version, by digest; NULL with EF_ERROR_NOT_FOUND. */
EfLessonSheet *ef_lesson_store_sheet_by_digest (EfStore *store, const char *digest, GError **error);
/* A lesson, a sheet or an attempt, told apart by its format. @told_out: a sentence of what was done. An attempt that is there already is EF_ERROR_INVALID;
 * so is the sheet of another version than those that are there of a lesson with its reference, whose place it would take. */
gboolean ef_lesson_store_import (EfStore *store, const char *path, const char *role, char **told_out, GError **error);
/* An attempt of the apprentice with this code at the present version. Its job's id; 0 on error, as ef_attempt_check_apprentice() and ef_lesson_store_sheet(). */
gint64 ef_lesson_store_start (EfStore *store, const char *name, const char *apprentice, GError **error);
/* The attempt as it stands, to be written to a file. */
EfAttempt *ef_lesson_store_attempt (EfStore *store, gint64 job, GError **error);
/* Scores an attempt that was handed in and keeps its result, unless what is kept is of the same lesson, attempt, rules and program; as ef_lesson_score(). EF_ERROR_NOT_FOUND where the store hasn't got its lesson with the reference. */
gboolean ef_lesson_store_score (EfStore *store, gint64 job, const EfRuleSet *rules, GCancellable *cancellable, GError **error);
/* Those with a result, oldest first: EfLessonPast *. @apprentice NULL: all. */
GPtrArray *ef_lesson_store_past (EfStore *store, const char *apprentice, GError **error);
/* The lessons to choose from, with the apprentice's attempts at each: EfLessonChoice *. Those of which only a sheet is there have no marks to count. */
GPtrArray *ef_lesson_store_choices (EfStore *store, const char *apprentice, GError **error);

G_END_DECLS
