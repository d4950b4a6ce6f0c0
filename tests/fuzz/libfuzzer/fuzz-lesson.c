/* What trainer and apprentices hand to each other: lessons, their sheets, attempts. What is read is written and read again.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "lesson/ef-attempt.h"
#include "lesson/ef-lesson-sheet.h"
#include "lesson/ef-lesson.h"

static void
try_lesson (const char *text,
            gssize size)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLesson) lesson = ef_lesson_parse (text, size, FUZZ_FILE, &error);

  fuzz_check_answer (lesson != NULL, error);
}

static void
try_sheet (const char *text,
           gssize size)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLessonSheet) sheet = ef_lesson_sheet_parse (text, size, FUZZ_FILE, &error);

  fuzz_check_answer (sheet != NULL, error);
}

static void
try_attempt (const char *text,
             gssize size)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfAttempt) attempt = ef_attempt_parse (text, size, FUZZ_FILE, &error);
  g_autoptr (EfAttempt) again = NULL;
  g_autofree char *written = NULL;

  fuzz_check_answer (attempt != NULL, error);
  if (attempt == NULL)
    return;
  written = ef_attempt_write (attempt);
  again = ef_attempt_parse (written, -1, FUZZ_FILE, &error);
  if (again == NULL)
    g_error ("what was written can't be read: %s", error->message);
}

void
fuzz_lesson (const guint8 *data,
             gsize size)
{
  try_lesson ((const char *) data, (gssize) size);
  try_sheet ((const char *) data, (gssize) size);
  try_attempt ((const char *) data, (gssize) size);
}
