/* Lessons, sheets and attempts between files and the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-store.h"

#include "ef-lesson-private.h"

#include <math.h>

gboolean
ef_lesson_store_put (EfStore *store,
                     const EfLesson *lesson,
                     const char *role,
                     const char *label,
                     GError **error)
{
  g_autofree char *digest = ef_lesson_digest (lesson, error);
  g_autofree char *body = ef_lesson_write (lesson);
  const EfLessonRow row = {
    .name = lesson->terms.name,
    .digest = digest,
    .title = lesson->terms.title,
    .pump = lesson->reference->sheet->model,
    .role = (char *) role,
    .label = (char *) label,
    .whole = TRUE,
    .body = body,
  };

  return digest != NULL && ef_lesson_check (lesson, error) && ef_store_put_lesson (store, &row, error);
}

static gboolean
put_sheet (EfStore *store,
           const EfLessonSheet *sheet,
           const char *role,
           GError **error)
{
  g_autofree char *body = ef_lesson_sheet_write (sheet);
  const EfLessonRow row = {
    .name = sheet->terms.name,
    .digest = sheet->digest,
    .title = sheet->terms.title,
    .pump = sheet->bench->sheet->model,
    .role = (char *) role,
    .label = (char *) "Sheet read in",
    .whole = FALSE,
    .body = body,
  };

  return ef_store_put_lesson (store, &row, error);
}

EfLesson *
ef_lesson_store_get (EfStore *store,
                     const char *name,
                     GError **error)
{
  g_autoptr (EfLessonRow) row = ef_store_lesson (store, name, error);

  if (row == NULL)
    return NULL;
  if (row->whole)
    return ef_lesson_parse (row->body, -1, row->title, error);
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected the trainer's lesson, found only its sheet", row->title);

  return NULL;
}

static EfLessonSheet *
sheet_of (const EfLessonRow *row,
          GError **error)
{
  g_autoptr (EfLesson) lesson = row->whole ? ef_lesson_parse (row->body, -1, row->title, error) : NULL;

  if (!row->whole)
    return ef_lesson_sheet_parse (row->body, -1, row->title, error);

  return lesson != NULL ? ef_lesson_sheet_new (lesson, NULL, error) : NULL;
}

EfLessonSheet *
ef_lesson_store_sheet (EfStore *store,
                       const char *name,
                       GError **error)
{
  g_autoptr (EfLessonRow) row = ef_store_lesson (store, name, error);

  return row != NULL ? sheet_of (row, error) : NULL;
}

EfLessonSheet *
ef_lesson_store_sheet_by_digest (EfStore *store,
                                 const char *digest,
                                 GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (EfLessonRow) row = ef_store_lesson_by_digest (store, digest, &local);

  if (row != NULL)
    return sheet_of (row, error);
  if (local != NULL)
    g_propagate_error (error, g_steal_pointer (&local));
  else
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "lesson %.12s…: expected it in the store, found none", digest);

  return NULL;
}

/* One that was read in while it was under way doesn't stand in the way of the same handed in. */
static gboolean
is_there (EfStore *store,
          const EfAttempt *attempt,
          gboolean *there_out,
          GError **error)
{
  g_autoptr (GPtrArray) rows = ef_store_attempts (store, attempt->apprentice, error);

  *there_out = FALSE;
  for (guint i = 0; rows != NULL && i < rows->len; i++)
    {
      const EfAttemptRow *row = rows->pdata[i];

      if (g_str_equal (row->lesson, attempt->lesson) && g_str_equal (row->started, attempt->started) && (row->handed_in[0] != '\0' || attempt->handed_in == NULL))
        *there_out = TRUE;
    }

  return rows != NULL;
}

static gboolean
import_attempt (EfStore *store,
                const char *path,
                char **told_out,
                GError **error)
{
  g_autoptr (EfAttempt) attempt = ef_attempt_load (path, error);
  g_autoptr (EfLessonRow) lesson = NULL;
  g_autoptr (GError) local = NULL;
  gboolean there;

  if (attempt == NULL || !is_there (store, attempt, &there, error))
    return FALSE;
  lesson = ef_store_lesson_by_digest (store, attempt->lesson, &local);
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  if (there)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected an attempt that isn't here yet, found that of %s of %.10s here already", path, attempt->apprentice,
                   attempt->started);
      return FALSE;
    }
  if (ef_store_add_attempt (store, attempt->lesson, attempt->title, attempt->apprentice, attempt->inspection, attempt->started, attempt->handed_in, error) == 0)
    return FALSE;
  *told_out = g_strdup_printf ("Attempt of %s at “%s” read in.%s", attempt->apprentice, attempt->title,
                               lesson != NULL && lesson->whole ? "" : " Its lesson with the reference isn't here yet: read that in too, to see the result.");

  return TRUE;
}

static gboolean
import_lesson (EfStore *store,
               const char *path,
               const char *role,
               char **told_out,
               GError **error)
{
  g_autoptr (EfLesson) lesson = ef_lesson_load (path, error);

  if (lesson == NULL)
    return FALSE;
  if (!ef_lesson_store_put (store, lesson, role, "Lesson read in", error))
    {
      g_prefix_error (error, "%s: ", path);
      return FALSE;
    }
  *told_out = g_strdup_printf ("Lesson “%s” read in.", lesson->terms.title);

  return TRUE;
}

static gboolean
import_sheet (EfStore *store,
              const char *path,
              const char *role,
              char **told_out,
              GError **error)
{
  g_autoptr (EfLessonSheet) sheet = ef_lesson_sheet_load (path, error);

  if (sheet == NULL)
    return FALSE;
  if (!put_sheet (store, sheet, role, error))
    {
      g_prefix_error (error, "%s: ", path);
      return FALSE;
    }
  *told_out = g_strdup_printf ("Sheet of “%s” read in.", sheet->terms.title);

  return TRUE;
}

gboolean
ef_lesson_store_import (EfStore *store,
                        const char *path,
                        const char *role,
                        char **told_out,
                        GError **error)
{
  static const char *const formats[] = { EF_LESSON_FORMAT, EF_LESSON_SHEET_FORMAT, EF_ATTEMPT_FORMAT, NULL };
  g_autoptr (EfJsonContext) context = ef_json_parse_file (path, error);
  g_auto (EfJson) root = { 0 };
  int format;

  *told_out = NULL;
  if (context == NULL)
    return FALSE;
  root = ef_json_root (context);
  format = ef_json_choice (&root, "format", formats);
  if (!ef_json_finish (context, error))
    return FALSE;
  switch (format)
    {
    case 0:
      return import_lesson (store, path, role, told_out, error);
    case 1:
      return import_sheet (store, path, role, told_out, error);
    default:
      return import_attempt (store, path, told_out, error);
    }
}

EfAttempt *
ef_lesson_store_attempt (EfStore *store,
                         gint64 job,
                         GError **error)
{
  g_autoptr (EfAttemptRow) row = ef_store_attempt (store, job, error);
  g_autoptr (EfInspection) inspection = row != NULL ? ef_store_load (store, job, error) : NULL;

  if (inspection == NULL)
    return NULL;

  return ef_attempt_new (row->lesson, row->title, row->apprentice, row->started, row->handed_in[0] != '\0' ? row->handed_in : NULL, inspection);
}

gint64
ef_lesson_store_start (EfStore *store,
                       const char *name,
                       const char *apprentice,
                       GError **error)
{
  g_autoptr (EfLessonSheet) sheet = ef_attempt_check_apprentice (apprentice, error) ? ef_lesson_store_sheet (store, name, error) : NULL;
  g_autofree char *code = g_strstrip (g_strdup (apprentice));

  return sheet != NULL ? ef_store_add_attempt (store, sheet->digest, sheet->terms.title, code, sheet->bench, NULL, NULL, error) : 0;
}

gboolean
ef_lesson_store_score (EfStore *store,
                       gint64 job,
                       const EfRuleSet *rules,
                       GCancellable *cancellable,
                       GError **error)
{
  g_autoptr (EfAttemptRow) attempt = ef_store_attempt (store, job, error);
  g_autoptr (EfInspection) inspection = attempt != NULL ? ef_store_load (store, job, error) : NULL;
  g_autoptr (GError) local = NULL;
  g_autoptr (EfLessonRow) row = inspection != NULL ? ef_store_lesson_by_digest (store, attempt->lesson, &local) : NULL;
  g_autoptr (EfLesson) lesson = NULL;
  g_autoptr (EfLessonScore) score = NULL;
  g_autofree char *key = NULL;
  g_autofree char *text = NULL;

  if (inspection == NULL)
    return FALSE;
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  if (row == NULL || !row->whole)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "attempt at “%s”: expected its lesson with the reference in the store, found none", attempt->title);
      return FALSE;
    }
  lesson = ef_lesson_parse (row->body, -1, row->title, error);
  key = lesson != NULL ? ef_lesson_score_key (row->digest, inspection, rules, error) : NULL;
  if (key == NULL)
    return FALSE;
  score = ef_lesson_score_again (lesson, inspection, attempt->result, key);
  if (score != NULL)
    return TRUE;
  score = ef_lesson_score (lesson, inspection, rules, NULL, cancellable, error);
  if (score == NULL)
    return FALSE;
  text = ef_lesson_score_keep (score, key);

  return ef_store_keep_result (store, job, score->score, text, error);
}

GPtrArray *
ef_lesson_store_past (EfStore *store,
                      const char *apprentice,
                      GError **error)
{
  g_autoptr (GPtrArray) rows = ef_store_attempts (store, apprentice, error);
  g_autoptr (GPtrArray) past = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_past_free);

  if (rows == NULL)
    return NULL;
  for (guint i = rows->len; i > 0; i--)
    {
      const EfAttemptRow *row = rows->pdata[i - 1];
      EfLessonPast *one;

      if (row->result == NULL || row->result[0] == '\0')
        continue;
      one = ef_lesson_past_new (row->lesson, row->title, row->handed_in, row->result, error);
      if (one == NULL)
        return NULL;
      g_ptr_array_add (past, one);
    }

  return g_steal_pointer (&past);
}

/* Attempts name versions; a lesson's are counted over all of them by title and digest of those that are known. */
static guint
attempts_at (EfStore *store,
             const GPtrArray *rows,
             const char *name)
{
  guint n = 0;

  for (guint i = 0; i < rows->len; i++)
    {
      g_autoptr (EfLessonRow) version = ef_store_lesson_by_digest (store, ((EfAttemptRow *) rows->pdata[i])->lesson, NULL);

      n += version != NULL && g_str_equal (version->name, name);
    }

  return n;
}

GPtrArray *
ef_lesson_store_choices (EfStore *store,
                         const char *apprentice,
                         GError **error)
{
  g_autoptr (GPtrArray) rows = ef_store_attempts (store, apprentice, error);
  g_autoptr (GPtrArray) lessons = rows != NULL ? ef_store_lessons (store, FALSE, error) : NULL;
  g_autoptr (GPtrArray) choices = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_choice_free);

  if (lessons == NULL)
    return NULL;
  for (guint i = lessons->len; i > 0; i--)
    {
      const EfLessonRow *row = lessons->pdata[i - 1];
      guint attempts = attempts_at (store, rows, row->name);
      g_autoptr (EfLesson) lesson = row->whole ? ef_lesson_store_get (store, row->name, error) : NULL;
      EfLessonChoice *choice;

      if (row->whole && lesson == NULL)
        return NULL;
      if (lesson != NULL)
        {
          g_ptr_array_add (choices, ef_lesson_choice_new (lesson, attempts));
          continue;
        }
      choice = g_new0 (EfLessonChoice, 1);
      choice->name = g_strdup (row->name);
      choice->title = g_strdup (row->title);
      choice->attempts = attempts;
      g_ptr_array_add (choices, choice);
    }

  return g_steal_pointer (&choices);
}
