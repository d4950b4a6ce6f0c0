/* Pictures of lessons: a face with marks told apart by how they were matched, progress over time, the certificate-like sheet.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw.h"

#include "../lesson/ef-lesson-progress.h"

G_BEGIN_DECLS

/* How a mark came off. */
typedef enum { EF_MATCH_FOUND, EF_MATCH_WRONG_KIND, EF_MATCH_MISSED, EF_MATCH_FALSE, EF_N_MATCHES } EfLessonMatch;
EfLessonMatch ef_lesson_match (const EfLessonMark *row);
const char *ef_lesson_match_label (EfLessonMatch match);  /* "Found", "Wrong kind", "Missed", "Not there": untranslated */
/* A sign in a round ground, told by its form as much as by its colour, with its middle at (x, y). */
void ef_draw_lesson_sign (cairo_t *cr, const EfDrawStyle *style, EfLessonMatch match, double x, double y, double size);
/* The face with the marks of the reference, or of the attempt, each with its sign; under them what the signs mean. Fills width x height. */
void ef_draw_lesson_face (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfLessonScore *score, gboolean attempt, double width, double height);
/* Scores of the attempts (EfLessonPast *, oldest first) in order: all together, marks, decisions. */
void ef_draw_lesson_progress (cairo_t *cr, const EfDrawStyle *style, const GPtrArray *past, double width, double height);

/* What stands on the sheet. All borrowed. */
typedef struct
{
  const EfLesson *lesson;
  const EfLessonScore *score;
  const char *apprentice, *handed_in; /* role code; ISO 8601 */
} EfLessonCertificate;
/* One page or more: what was done, scores, date, role code; says plainly that it's the shop's own record and no licence. @created as ef_report_write_pdf(). EF_ERROR_IO, EF_ERROR_FULL. */
gboolean ef_lesson_certificate_write_pdf (const EfLessonCertificate *certificate, const char *path, EfPaper paper, const char *created, GError **error);

G_END_DECLS
