/* Lessons and attempts in the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A lesson's text is kept as it was written; each change of it is another version, nothing is overwritten. An attempt is a job of its own kind: its edits go to the
 * store and into its history as any job's, but it isn't listed, searched, counted or learned from with the jobs. Once handed in it can't be changed.
 */
#pragma once

#include "ef-store.h"

G_BEGIN_DECLS

typedef struct
{
  gint64 seq;
  char *name, *digest, *title, *pump, *time, *role, *label;
  gboolean whole; /* with the reference */
  gboolean away;
  guint n_versions, n_attempts; /* at any version */
  char *body;     /* NULL in lists */
} EfLessonRow;
void ef_lesson_row_free (EfLessonRow *row);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLessonRow, ef_lesson_row_free)

/* What is put in: all texts but @seq, time and counts. The same text as the present version's adds nothing. A sheet doesn't take the place of the lesson that it was made
 * from: that of a version that is here adds nothing, that of another one is EF_ERROR_INVALID.
 * Where the shop has roles, whatever takes the place of a lesson with its reference, undo and redo too, must have been allowed (EF_ACT_LESSONS): EF_ERROR_REFUSED. */
gboolean ef_store_put_lesson (EfStore *store, const EfLessonRow *lesson, GError **error);
/* The present version of each, last changed first; with those put away only if asked for. */
GPtrArray *ef_store_lessons (EfStore *store, gboolean with_away, GError **error); /* EfLessonRow * */
/* With its body. EF_ERROR_NOT_FOUND. */
EfLessonRow *ef_store_lesson (EfStore *store, const char *name, GError **error);
/* Any version, the one with the reference before a sheet of it. NULL without an error: the store hasn't got it. */
EfLessonRow *ef_store_lesson_by_digest (EfStore *store, const char *digest, GError **error);
/* The version before the present one becomes a new one again, and with the next undo the one before that; redo goes the other way, until something else is put in.
 * Sheets aren't among them. EF_ERROR_NOT_FOUND where there's none. */
gboolean ef_store_undo_lesson (EfStore *store, const char *name, const char *role, GError **error);
gboolean ef_store_redo_lesson (EfStore *store, const char *name, const char *role, GError **error);
gboolean ef_store_set_lesson_away (EfStore *store, const char *name, gboolean away, const char *role, GError **error);

typedef struct
{
  gint64 job;
  char *lesson; /* digest */
  char *title, *apprentice, *started, *handed_in; /* "" not yet */
  double score; /* NAN not scored */
  char *result; /* JSON; "" none; NULL in lists without */
  char *number, *pump, *changed;
  guint n_marks;
} EfAttemptRow;
void ef_attempt_row_free (EfAttemptRow *row);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfAttemptRow, ef_attempt_row_free)

/* Started with what lies on the bench; of @from only header, gauges, marks, readings, checks and overrides are taken. The job's number is made: "Attempt 12". @started, @handed_in
 * NULL: now, not yet. Returns the job's id; 0 on error. */
gint64 ef_store_add_attempt (EfStore *store, const char *lesson, const char *title, const char *apprentice, const EfInspection *from, const char *started,
                             const char *handed_in, GError **error);
/* Freezes it. EF_ERROR_INVALID where it is handed in already, EF_ERROR_NOT_FOUND where there's no such attempt. */
gboolean ef_store_hand_in (EfStore *store, gint64 job, GError **error);
/* Of one handed in. */
gboolean ef_store_keep_result (EfStore *store, gint64 job, double score, const char *result, GError **error);
/* @apprentice NULL: all. Newest first. With their results. */
GPtrArray *ef_store_attempts (EfStore *store, const char *apprentice, GError **error); /* EfAttemptRow * */
EfAttemptRow *ef_store_attempt (EfStore *store, gint64 job, GError **error); /* EF_ERROR_NOT_FOUND */

G_END_DECLS
