/* How an apprentice gets on over the lessons, and which one to take next.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-lesson-score.h"

G_BEGIN_DECLS

/* An attempt that was scored, from its result as ef_lesson_score_to_json() writes it. */
typedef struct
{
  char *lesson; /* digest */
  char *title, *time;
  double score, marks, decisions;
  EfLessonKind kinds[EF_N_MARK_KINDS];
  guint n_decisions, n_agree;
  gboolean missed_scrap; /* a part to scrap was let pass */
} EfLessonPast;
EfLessonPast *ef_lesson_past_new (const char *lesson, const char *title, const char *time, const char *result, GError **error);
void ef_lesson_past_free (EfLessonPast *past);

/* A lesson to choose from. */
typedef struct
{
  char *name, *title;
  guint kinds[EF_N_MARK_KINDS]; /* marks of the reference, by kind */
  guint attempts;               /* the apprentice's, at any version */
} EfLessonChoice;
EfLessonChoice *ef_lesson_choice_new (const EfLesson *lesson, guint attempts);
void ef_lesson_choice_free (EfLessonChoice *choice);

/* All attempts together: counts by kind. */
void ef_lesson_progress_kinds (const GPtrArray *past, EfLessonKind kinds[EF_N_MARK_KINDS]);
/* How much each kind needs looking at, 0 … 1: share missed or taken for another (half) or seen where it wasn't (half), later attempts counting more: each one before by 0.7
 * of the next (the program's own choice, no source). */
void ef_lesson_progress_needs (const GPtrArray *past, double needs[EF_N_MARK_KINDS]);
/* Which of @choices (EfLessonChoice *) to take next: the one whose marks are most in need, less for each time it was taken already. -1: none there. @past: EfLessonPast *, oldest first.
 * @reason_out gets a sentence; free with g_free(). */
int ef_lesson_suggest (const GPtrArray *past, const GPtrArray *choices, char **reason_out);

G_END_DECLS
