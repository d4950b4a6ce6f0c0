/* A lesson from the first demo job, always the same.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "lesson/ef-lesson-sheet.h"
#include "record/ef-exchange.h"

static inline EfLesson *
fixture_lesson (void)
{
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) job = ef_exchange_load (path, &error);
  EfLesson *lesson;

  g_assert_no_error (error);
  lesson = ef_lesson_new (job, NULL, &error);
  g_assert_no_error (error);
  g_free (lesson->terms.name);
  g_free (lesson->terms.made);
  lesson->terms.name = g_strdup ("torn-filter");
  lesson->terms.made = g_strdup ("2026-03-16");
  lesson->seed = 4711;

  return lesson;
}

static inline void
fixture_measure (EfLesson *lesson, const char *first, const char *second)
{
  const char *const list[] = { first, second, NULL };

  g_strfreev (lesson->terms.measure);
  lesson->terms.measure = g_strdupv ((GStrv) list);
}
