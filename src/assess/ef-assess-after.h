/* The pump after the rework as the assessment shows it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../rework/ef-after.h"

G_BEGIN_DECLS

typedef struct
{
  EfInspection *inspection; /* as it is now: see ef_after_inspection() */
  EfFindings findings;
  EfVerdict *verdict;
  GPtrArray *rows;          /* EfAfterRow * */
  guint n_outside;
  char *summary;            /* one sentence */
} EfAfter;

/* Fails with EF_ERROR_NOT_FOUND when nothing was recorded. */
EfAfter *ef_assess_after_new (const EfFindings *before, const EfVerdict *found, GPtrArray *steps, const EfRuleSet *rules, GCancellable *cancellable, GError **error);
void ef_assess_after_free (EfAfter *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfAfter, ef_assess_after_free)
/* Cold end clearance after the rework, m: measured or brought up to date where @after isn't NULL, else as the steps will leave it. */
double ef_assess_after_clearance (const EfAfter *after, const EfFindings *before, GPtrArray *steps, const EfSection *section, int gear);

G_END_DECLS
