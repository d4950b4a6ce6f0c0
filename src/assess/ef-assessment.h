/* The whole computation on one snapshot: what the window shows, the report prints and the command line writes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../judge/ef-cross.h"
#include "../judge/ef-judge.h"
#include "../rework/ef-steps.h"
#include "ef-flow-result.h"

G_BEGIN_DECLS

/* Keeps charts and, for faces whose marks didn't change (same item pointers), depth maps and wear. Thread-safe. */
typedef struct _EfAssessCache EfAssessCache;
EfAssessCache *ef_assess_cache_new (void);
EfAssessCache *ef_assess_cache_ref (EfAssessCache *cache);
void ef_assess_cache_unref (EfAssessCache *cache);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfAssessCache, ef_assess_cache_unref)

/* A figure of the strip: as new, as found, after rework. NAN where not known. */
typedef struct
{
  char *name;    /* "end-clearance" */
  char *label;   /* "End clearance, pressure section" */
  char *section; /* or NULL */
  char *face;    /* or NULL */
  EfUnit unit;
  double as_new, found, reworked;
  double limit_min, limit_max;
  char *source;  /* of the limit */
} EfFigure;

typedef struct
{
  EfInspection *inspection; /* the snapshot it's about */
  guint64 serial;           /* of the document then; 0 from the command line */
  EfFindings findings;
  EfVerdict *verdict;
  GPtrArray *steps;    /* EfStep * */
  GPtrArray *cautions; /* char * */
  GPtrArray *figures;  /* EfFigure * */
  EfFlowResult *flow;  /* delivery, hot-idle pressure, blame */
  GPtrArray *across;   /* EfCross *: findings that cross parts */
  char *rule_set;      /* version */
  gint ref_count;
} EfAssessment;

/* @cache may be NULL. Takes no ownership of @snapshot: copies it. In full detail. */
EfAssessment *ef_assess (const EfInspection *snapshot, const EfRuleSet *rules, EfAssessCache *cache, GCancellable *cancellable, GError **error);
/* The same with the flow solve as coarse or fine as asked for: coarse to follow the pointer, full for what is kept. */
EfAssessment *ef_assess_in_detail (const EfInspection *snapshot, const EfRuleSet *rules, EfAssessCache *cache, EfFlowDetail detail, GCancellable *cancellable, GError **error);
EfAssessment *ef_assessment_ref (EfAssessment *self);
void ef_assessment_unref (EfAssessment *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfAssessment, ef_assessment_unref)

/* A figure of the strip by name, narrowed by section and face where they aren't NULL; NULL if there is none. */
const EfFigure *ef_assessment_figure (const EfAssessment *self, const char *name, const char *section, const char *face);

/* Results file: schema data/schemas/results.schema.json. */
JsonNode *ef_assessment_to_json (const EfAssessment *self);

G_END_DECLS
