/* A lesson: a job whose marking and verdicts an apprentice is to find.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two files. The trainer's lesson (data/schemas/lesson.schema.json) holds the reference: marks, verdicts, why. The apprentice's sheet
 * (ef-lesson-sheet.h) holds the part and what gauges read on it, and nothing of how it is to be judged. What binds the two, and an attempt to
 * both, is the lesson's digest. docs/lessons.md says what a sheet can't hide.
 */
#pragma once

#include "../inspection/ef-inspection.h"
#include "../judge/ef-judge.h"
#include "../teach/ef-score.h"
#include "../wear/ef-crescent.h"

G_BEGIN_DECLS

#define EF_LESSON_FORMAT "endfloat-lesson"
#define EF_LESSON_VERSION 1

/* What trainer and apprentice both get to see. */
typedef struct
{
  char *name;  /* stays the same over all versions of the lesson */
  char *title;
  char *task;  /* words for the apprentice; may be empty */
  char *role;  /* who made it */
  char *made;  /* ISO date */
  GStrv faces; /* ids of the faces that are given, in bench order; marks on others don't count */
  GStrv gauges; /* ids in the reference */
  GStrv measure; /* ef_quantity_name() of what is to be measured; other readings are given */
  EfScoreTolerance tolerance;
  double verdict_tolerance; /* a wrong verdict that costs no more than this (ef_score_verdict_cost()) counts as right */
} EfLessonTerms;
void ef_lesson_terms_clear (EfLessonTerms *terms);
void ef_lesson_terms_copy (EfLessonTerms *dest, const EfLessonTerms *src);

/* Why a mark of the reference is harmless, or isn't. */
typedef struct
{
  char *mark; /* id in the reference */
  char *text;
} EfLessonNote;

/* What is to be decided. */
typedef struct
{
  char *part; /* id of a part of the pump sheet */
  EfVerdictWord verdict;
  char *note; /* or NULL */
} EfLessonVerdict;

typedef struct
{
  EfLessonTerms terms;
  guint32 seed;         /* of the gauges' errors; not in the sheet */
  GPtrArray *notes;     /* EfLessonNote * */
  GPtrArray *verdicts;  /* EfLessonVerdict *, in bench order */
  GArray *crescents;    /* EfCrescent: worn bores and walls, which the reference's marks don't hold; seen under the lamp and felt by the gauge, never scored */
  EfInspection *reference;
} EfLesson;

/* A lesson from a job: all faces that have marks, all gauges but the fingernail's kind left as they are, nothing to measure, verdicts of the parts with these faces as the rules or
 * the job's overrides have them. Title: the job's pump. @rules NULL: the shipped ones. */
EfLesson *ef_lesson_new (const EfInspection *reference, const EfRuleSet *rules, GError **error);
EfLesson *ef_lesson_copy (const EfLesson *lesson);
void ef_lesson_free (EfLesson *lesson);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLesson, ef_lesson_free)

/* Names of what doesn't fit: unknown faces, gauges, marks, parts; numbers out of range; nothing given. */
gboolean ef_lesson_check (const EfLesson *lesson, GError **error);
/* Sets what belongs to a mark or part; an empty text takes the note away. */
void ef_lesson_set_note (EfLesson *lesson, const char *mark, const char *text);
const char *ef_lesson_note (const EfLesson *lesson, const char *mark); /* NULL */
/* Sets the crescents, to what a file of them says: whole nanometres. */
void ef_lesson_take_crescents (EfLesson *lesson, const GArray *crescents);
/* Gives these faces, in bench order; parts whose faces are new get the verdict @fallback, those left without faces lose theirs. */
void ef_lesson_set_faces (EfLesson *lesson, const char *const *faces, EfVerdictWord fallback);
EfLessonVerdict *ef_lesson_verdict (const EfLesson *lesson, const char *part); /* NULL */
void ef_lesson_verdict_free (EfLessonVerdict *verdict);
/* Those of the reference on given faces: EfMark *, borrowed references owned by the array. */
GPtrArray *ef_lesson_marks (const EfLesson *lesson);
/* The same of any inspection. */
GPtrArray *ef_lesson_marks_of (const EfLessonTerms *terms, const EfInspection *inspection);

/* In words: "Separator plate, side A (front)". Ids that the sheet hasn't got come back as they are. */
char *ef_lesson_face_title (const EfPumpSheet *sheet, const char *face_id);
char *ef_lesson_target_title (const EfPumpSheet *sheet, const char *id); /* of a section, part or face */

/* EF_ERROR_NEWER_FORMAT for a file of a newer version; otherwise messages name file, field and what was expected. */
EfLesson *ef_lesson_load (const char *path, GError **error);
EfLesson *ef_lesson_parse (const char *text, gssize length, const char *file, GError **error);
char *ef_lesson_write (const EfLesson *lesson);
/* SHA-256 of the lesson's canonical JSON (RFC 8785): what its sheet and attempts name it by. NULL with an error where a number has no canonical text. */
char *ef_lesson_digest (const EfLesson *lesson, GError **error);

G_END_DECLS
