/* What the lesson's files share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-lesson.h"

G_BEGIN_DECLS

#define EF_LESSON_TEXT_MAX 20000
#define EF_LESSON_TITLE_MAX 200
#define EF_LESSON_LIST_MAX 2000

/* Format and version; names the newer one. */
gboolean ef_lesson_check_format (const EfJson *root, const char *format, int version, GError **error);
/* EF_ERROR_RANGE for more than @most characters, EF_ERROR_INVALID for nothing but space where there must be words. */
gboolean ef_lesson_check_text (const char *member, const char *text, guint most, gboolean may_be_empty, GError **error);
/* A text with at most @most characters. Free with g_free(). */
char *ef_lesson_read_text (const EfJson *json, const char *member, guint most, gboolean may_be_empty);
char *ef_lesson_read_date (const EfJson *json, const char *member);
char *ef_lesson_read_digest (const EfJson *json, const char *member);
GStrv ef_lesson_read_list (const EfJson *json, const char *member);
JsonArray *ef_lesson_list_to_json (const char *const *list);
/* A whole inspection inside a file: messages say "FILE: MEMBER: $.…". */
EfInspection *ef_lesson_read_inspection (const EfJson *json, const char *member, const char *file, GError **error);
JsonNode *ef_lesson_inspection_to_json (const EfInspection *inspection);
/* Members title, task, role, made, faces, gauges, measure, tolerance. */
void ef_lesson_terms_read (EfLessonTerms *terms, const EfJson *json);
void ef_lesson_terms_write (const EfLessonTerms *terms, JsonObject *object);
/* Against the pump sheet and the gauges that are there. */
gboolean ef_lesson_terms_check (const EfLessonTerms *terms, const EfInspection *inspection, GError **error);
/* Member crescents, which only lessons from specimens have. */
void ef_lesson_read_crescents (EfLesson *lesson, const EfJson *root);
gboolean ef_lesson_check_crescents (const EfLesson *lesson, GError **error);
void ef_lesson_write_crescents (const EfLesson *lesson, JsonObject *object);
/* Whether the part has one of the faces. */
gboolean ef_lesson_part_given (const char *const *faces, const char *part_id);
char *ef_lesson_part_of (const char *face_id); /* "separator" of "separator/side-a" */

G_END_DECLS
