/* How well an attempt agrees with its lesson's reference: marks, decisions, readings; and what would have come of it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The score is that of the marks (5), the decisions (4) and, where the lesson asks for some, the readings (1), by these weights: the program's own choice, no
 * source. What the attempt would have meant in oil pressure is worked out and told beside it, not scored: a mark moved within its tolerance changes the
 * pressure a little and must not change the score.
 */
#pragma once

#include "../assess/ef-assessment.h"
#include "ef-attempt.h"
#include "ef-lesson.h"

G_BEGIN_DECLS

/* One mark, beside what ef_score_marks() says of it. */
typedef struct
{
  const EfMarkScore *score;  /* borrowed from EfLessonScore.marks */
  EfMark *reference, *attempt; /* NULL: false, missed */
  double common;             /* area covered by both over that by either; NAN unless both are there */
  double depth_error_in_u;   /* depth error over the expanded uncertainty of the gauge it was read with; NAN */
  char *note;                /* the trainer's; NULL */
} EfLessonMark;

/* One part. */
typedef struct
{
  char *part, *title;
  EfVerdictWord right, said;
  gboolean decided;
  double cost, worst; /* of what was said, and the worst that could have been; undecided counts as the worst */
  gboolean agrees;    /* the same, or within the lesson's tolerance */
  char *sentence;
  char *reason;       /* the apprentice's; NULL */
  char *note;         /* the trainer's; NULL */
} EfLessonDecision;

/* One quantity of one thing: over all directions and places that it was asked at. */
typedef struct
{
  EfQuantity quantity;
  char *target, *place;
  guint asked, taken;
  double error;      /* m, the largest by amount, with its sign; NAN not taken */
  double error_in_u; /* over the expanded uncertainty of its gauge; NAN */
  double score;
  char *sentence;
} EfLessonReading;

typedef struct
{
  guint reference, found, wrong_kind, missed, wrongly_seen; /* wrongly_seen: false ones of this kind */
} EfLessonKind;

typedef struct
{
  EfMarksScore *marks;
  GPtrArray *mark_rows; /* EfLessonMark *, as marks->marks */
  EfLessonKind kinds[EF_N_MARK_KINDS];
  GPtrArray *decisions; /* EfLessonDecision * */
  double decisions_score;
  GPtrArray *readings;  /* EfLessonReading *; none: none asked */
  double readings_score; /* NAN: none asked */
  double score;         /* 0 … 1 */
  /* Hot-idle pressure, Pa; NAN not known. */
  double pressure_new, pressure_reference, pressure_attempt; /* as new; as found by the reference's marks, and by the attempt's */
  double pressure_right, pressure_decided;                   /* that the pump goes back with, by the reference's decisions and by the attempt's */
  char *pressure_found_text, *pressure_decided_text;
  GPtrArray *remarks;   /* char *: dearest mistake, and what to look at */
} EfLessonScore;

/* @attempt: the inspection of an attempt at this lesson (marks on faces that aren't given don't count). @rules NULL: the shipped ones. @cache may be NULL. Seconds of
 * work: run it in a worker. Fails as ef_assess(). */
EfLessonScore *ef_lesson_score (const EfLesson *lesson, const EfInspection *attempt, const EfRuleSet *rules, EfAssessCache *cache, GCancellable *cancellable,
                                GError **error);
typedef void (*EfLessonProgress) (double share, gpointer user_data); /* 0 … 1; in the thread that scores */
EfLessonScore *ef_lesson_score_telling (const EfLesson *lesson, const EfInspection *attempt, const EfRuleSet *rules, EfAssessCache *cache, EfLessonProgress progress,
                                        gpointer user_data, GCancellable *cancellable, GError **error);
/* Marks, decisions and readings alone: everything but the pressures. @verdict: of the reference, for the marks' weights; NULL: all count alike. */
EfLessonScore *ef_lesson_score_alone (const EfLesson *lesson, const EfInspection *attempt, const EfVerdict *verdict, GError **error);
void ef_lesson_score_free (EfLessonScore *score);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLessonScore, ef_lesson_score_free)
/* What the store keeps of it and ef_lesson_past_new() reads: scores 0 … 1, rows of marks, kinds, decisions and readings, pressures in bar. */
JsonNode *ef_lesson_score_to_json (const EfLessonScore *score);

/* A score is worked out once and kept as JSON beside the key of what it was worked out from: lesson, attempt, rules, program. @digest: of the lesson. @rules NULL: the
 * shipped ones. NULL with an error where those can't be read. */
char *ef_lesson_score_key (const char *digest, const EfInspection *attempt, const EfRuleSet *rules, GError **error);
char *ef_lesson_score_keep (const EfLessonScore *score, const char *key);
/* What was kept, without solving for any pressure again: some milliseconds. NULL where nothing was kept, it has another key, or it isn't what these marks and decisions come
 * to: then it's to be worked out anew. */
EfLessonScore *ef_lesson_score_again (const EfLesson *lesson, const EfInspection *attempt, const char *kept, const char *key);

G_END_DECLS
