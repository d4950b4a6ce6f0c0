/* What the apprentice gets of a lesson: the part, the gauges, and what they read on it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * In it: pump sheet and complaint, readings that are given, faces to look at with their surfaces, what each gauge would show at each place that is to be measured (never
 * the true value), parts to decide on, tolerances. Not in it: marks, kinds of wear, verdicts, notes, the seed of the errors. Depths are read on the surface with the
 * gauge's error added; who reads the file instead can see the surface, as whoever has the part in hand can.
 *
 * How a gauge errs: standard uncertainty u = U/2, half of its variance common to all it reads, half differing from place to place, as in EF_SAME_GAUGE_CORRELATION;
 * repeats scatter by u/4 (the program's own choice, no source); then to the nearest step of its scale.
 */
#pragma once

#include "ef-lesson-surface.h"
#include "ef-lesson.h"

G_BEGIN_DECLS

#define EF_LESSON_SHEET_FORMAT "endfloat-lesson-sheet"
#define EF_LESSON_REPEATS 5

/* One gauge at one place: as often as it may be read before it repeats itself. */
typedef struct
{
  char *gauge;
  guint n;
  double values[EF_LESSON_REPEATS]; /* m */
} EfLessonShown;

/* Something to be measured. */
typedef struct
{
  EfQuantity quantity;
  char *target, *place;  /* as in EfReading; place may be NULL */
  double angle, u, v;    /* NAN where they don't apply */
  GPtrArray *shown;      /* EfLessonShown * */
} EfLessonPlace;

typedef struct
{
  EfLessonTerms terms;
  char *digest;        /* of the lesson */
  GStrv decide;        /* ids of the parts */
  EfInspection *bench; /* what the apprentice starts with: no marks, no overrides */
  GPtrArray *surfaces; /* EfLessonSurface * */
  GPtrArray *places;   /* EfLessonPlace * */
} EfLessonSheet;

/* Makes the surfaces and what the gauges show: seconds of work. EF_ERROR_CANCELLED. */
EfLessonSheet *ef_lesson_sheet_new (const EfLesson *lesson, GCancellable *cancellable, GError **error);
void ef_lesson_sheet_free (EfLessonSheet *sheet);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLessonSheet, ef_lesson_sheet_free)
/* From a file, or from text (@length -1: until NUL; @file for messages only). Fails as ef_json_parse(), and with "file: path: expected …" for what isn't a sheet. */
EfLessonSheet *ef_lesson_sheet_load (const char *path, GError **error);
EfLessonSheet *ef_lesson_sheet_parse (const char *text, gssize length, const char *file, GError **error);
/* As text, which ef_lesson_sheet_parse() reads back; free with g_free(). */
char *ef_lesson_sheet_write (const EfLessonSheet *sheet);
const EfLessonSurface *ef_lesson_sheet_surface (const EfLessonSheet *sheet, const char *face_id); /* NULL */

/* What the gauge shows as the depth at a place of a face: the deepest within the lesson's place tolerance. @repeat: 0, 1 …: how often it was read there before. m.
 * EF_ERROR_NOT_FOUND for a face or gauge that isn't given; EF_ERROR_RANGE where the gauge doesn't reach. */
gboolean ef_lesson_sheet_read_depth (const EfLessonSheet *sheet, const char *face_id, double u, double v, const char *gauge, guint repeat, double *depth_out, GError **error);
/* What it shows of anything else. The nearest place that is in the sheet: within 15 degrees or 10 mm. EF_ERROR_NOT_FOUND with words for the apprentice where nothing can be
 * read: not to be measured in this lesson, not there, not by this gauge. @reading: quantity, target, place, angle, u, v and gauge_id. */
gboolean ef_lesson_sheet_read (const EfLessonSheet *sheet, const EfReading *reading, guint repeat, double *value_out, GError **error);
const EfLessonPlace *ef_lesson_sheet_place (const EfLessonSheet *sheet, const EfReading *reading); /* NULL */
/* Whether a gauge of the kind is made for it (common practice, no source). */
gboolean ef_lesson_gauge_suits (EfGaugeKind kind, EfQuantity quantity);

/* The true values behind the sheet's places, from the reference: the same places, one value each. For scoring. */
typedef struct
{
  EfLessonPlace place; /* without anything shown */
  double value;        /* m */
} EfLessonTruth;
GPtrArray *ef_lesson_truth (const EfLesson *lesson); /* EfLessonTruth * */
/* The place of the list that the reading belongs to, as for ef_lesson_sheet_read(); -1. */
int ef_lesson_truth_find (const GPtrArray *truth, const EfReading *reading);

G_END_DECLS
