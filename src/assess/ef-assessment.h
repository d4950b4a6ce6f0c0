/* The whole computation on one snapshot: what the window shows, the report prints and the command line writes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../judge/ef-cross.h"
#include "../judge/ef-judge.h"
#include "../rework/ef-cost.h"
#include "../rework/ef-steps.h"
#include "ef-assess-after.h"
#include "ef-flow-result.h"
#include "ef-land.h"

G_BEGIN_DECLS

/* Keeps charts and, for faces whose marks didn't change (same item pointers), depth maps and wear. Thread-safe. */
typedef struct _EfAssessCache EfAssessCache;
EfAssessCache *ef_assess_cache_new (void);
EfAssessCache *ef_assess_cache_ref (EfAssessCache *cache);
void ef_assess_cache_unref (EfAssessCache *cache);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfAssessCache, ef_assess_cache_unref)
/* Plans are made by these lapping rates from now on; takes @table, NULL: the shipped ones. */
void ef_assess_cache_take_lapping (EfAssessCache *cache, EfLapTable *table);

typedef struct _EfRightPump EfRightPump;

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

typedef struct _EfAssessment
{
  EfInspection *inspection; /* the snapshot it's about */
  guint64 serial;           /* of the document then; 0 from the command line */
  EfFindings findings;
  EfVerdict *verdict;
  GPtrArray *land;     /* EfFaceLand *: the worn plan faces, their land weighed by leakage where the film is worked out */
  EfLapWork *plan;     /* what is lapped, and the alternatives */
  GPtrArray *steps;    /* EfStep * */
  GPtrArray *cautions; /* char * */
  GPtrArray *figures;  /* EfFigure * */
  EfFlowResult *flow;  /* delivery, hot-idle pressure, blame */
  EfAfter *after;      /* as the pump is after the rework; NULL while nothing was recorded of it */
  EfCostSummary *cost; /* of the rework against a new pump */
  EfRightPump *right_pump; /* where the job has a demand, in full detail; else NULL */
  GPtrArray *across;   /* EfCross *: findings that cross parts */
  char *rule_set;      /* version */
  struct _EfAssessment *fitted; /* of the pump with the parts from the shelf in it; NULL where there are none */
  char *rules_before;  /* version of the rule set that the job was judged under before; NULL: none that is known of */
  char *judged_before; /* when it was last, ISO 8601; NULL */
  EfDecisionRule decision; /* how limits were decided on */
  gint ref_count;
} EfAssessment;

/* @cache may be NULL. Takes no ownership of @snapshot: copies it. In full detail. */
EfAssessment *ef_assess (const EfInspection *snapshot, const EfRuleSet *rules, EfAssessCache *cache, GCancellable *cancellable, GError **error);
/* The same with the flow solve as coarse or fine as asked for: coarse to follow the pointer, full for what is kept. */
EfAssessment *ef_assess_in_detail (const EfInspection *snapshot, const EfRuleSet *rules, EfAssessCache *cache, EfFlowDetail detail, GCancellable *cancellable, GError **error);
/* Only as far as the verdict, for lists and counting over many jobs: charts, wear, values, plan and verdict; no cautions, figures or flow. */
EfAssessment *ef_assess_verdict (const EfInspection *snapshot, const EfRuleSet *rules, EfAssessCache *cache, GCancellable *cancellable, GError **error);
EfAssessment *ef_assessment_ref (EfAssessment *self);
void ef_assessment_unref (EfAssessment *self);
/* For whoever knows the job's history, before the assessment is shown. */
void ef_assessment_take_before (EfAssessment *self, const char *rules, const char *time);
/* "Judged before under common-practice 1 (last on 2026-03-01), now under common-practice 2."; NULL. */
char *ef_assessment_before_text (const EfAssessment *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfAssessment, ef_assessment_unref)

/* A figure of the strip by name, narrowed by section and face where they aren't NULL; NULL if there is none. */
const EfFigure *ef_assessment_figure (const EfAssessment *self, const char *name, const char *section, const char *face);

/* Cold end clearance of the gears after the rework, m: measured, else as recorded, else as planned; NAN. */
void ef_assessment_clearance_after (const EfAssessment *self, const EfSection *section, double after[2]);

/* Results file: schema data/schemas/results.schema.json. */
JsonNode *ef_assessment_to_json (const EfAssessment *self);

G_END_DECLS
