/* Charts, depth maps and wear that can be used again. Inside assess only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Marks are immutable, so a face whose marks are the very same items has the same map. The cache serves one pump sheet at a
 * time: another sheet empties it.
 */
#pragma once

#include "ef-assessment.h"

G_BEGIN_DECLS

/* Fills charts, maps and wear of the findings for all faces; @cache may be NULL. */
gboolean ef_assess_faces (EfFindings *findings, EfAssessCache *cache, GCancellable *cancellable, GError **error);
void ef_assess_findings_init (EfFindings *findings, const EfInspection *inspection);
void ef_assess_findings_clear (EfFindings *findings);
/* The flow solve's own films; borrowed. */
EfFlowCache *ef_assess_cache_flow (EfAssessCache *cache);
/* Curves of worn land; borrowed. */
EfLandCache *ef_assess_cache_land (EfAssessCache *cache);
/* The lapping rates to plan by; a new reference. NULL: the shipped ones. @cache may be NULL. */
EfLapTable *ef_assess_cache_lapping (EfAssessCache *cache);
/* How many depth maps were made since the cache was new: for tests. */
guint ef_assess_cache_misses (EfAssessCache *cache);

/* Where parts from the shelf stand in: assesses the pump with them, and takes over what it comes to after rework. */
gboolean ef_assess_fitted (EfAssessment *self, const EfRuleSet *rules, EfAssessCache *cache, EfFlowDetail detail, GCancellable *cancellable, GError **error);

G_END_DECLS
