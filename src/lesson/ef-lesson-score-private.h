/* What scoring is made of.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-lesson-score.h"

G_BEGIN_DECLS

/* FALSE: nothing decided. @reason_out (or NULL): borrowed. */
gboolean ef_lesson_decided (const EfInspection *attempt, const char *part, EfVerdictWord *word_out, const char **reason_out);

typedef struct
{
  const EfLesson *lesson;
  const EfInspection *attempt;
  const EfRuleSet *rules;
  EfAssessCache *cache;
  GCancellable *cancellable;
  const EfAssessment *reference;
  EfLessonProgress progress; /* may be NULL */
  gpointer user_data;
} EfLessonFlow;
void ef_lesson_flow_tell (const EfLessonFlow *flow, double share);
/* Fills the pressures and their sentences. */
gboolean ef_lesson_flow (const EfLessonFlow *flow, EfLessonScore *score, GError **error);

G_END_DECLS
