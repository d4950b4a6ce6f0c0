/* From what was found to a verdict: rules, reasons, and the tree mark -> part -> mated pair -> section -> pump.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../inspection/ef-inspection.h"
#include "../metrology/ef-decision.h"
#include "../wear/ef-depth-map.h"

G_BEGIN_DECLS

/* In order of severity, but for "measure again", which stands between use again and rework in the worst-counts order. */
typedef enum { EF_VERDICT_USE, EF_VERDICT_MEASURE, EF_VERDICT_REWORK, EF_VERDICT_SCRAP, EF_N_VERDICTS } EfVerdictWord;

const char *ef_verdict_name (EfVerdictWord word);  /* "use-again", "measure-again", "rework", "scrap" */
const char *ef_verdict_label (EfVerdictWord word); /* "Use again" … */
gboolean ef_verdict_from_name (const char *name, EfVerdictWord *word_out);

/* One reason for a verdict. */
typedef struct
{
  EfVerdictWord word;
  char *rule;     /* id of the rule */
  char *sentence; /* plain, whole, with numbers and units */
  double value, limit; /* SI; NAN where there is no number */
  double uncertainty;  /* of the value, expanded (k = 2), SI; NAN */
  double probability;  /* that the true value is within the limit (JCGM 106); NAN */
  gboolean may_scrap;  /* it isn't proved, but not ruled out either, that the part is scrap */
  EfUnit unit;    /* to show them in */
  char *source;   /* of the limit or rule; "common practice, no source" */
  char *advice;   /* what to do or measure next; NULL */
  char *action;   /* what the step sheet does about it: see ef_reason_actions; NULL: nothing */
  char *target;   /* face, part or section id that it's about; NULL */
  GPtrArray *refs; /* char *: "mark:ID", "reading:ID" */
} EfReason;

/* "lap" a face until it cleans up; "restore-clearance" or "open-clearance" of a section; "narrow-gear" of a pair; "bush" or "ream" a bore;
 * "polish" a journal; "stone" an edge or a lip; "replace" a part; "reset-pickup"; "find-worn" of a section: which part to replace; "dress" the edges of marks that stay. Ended by NULL. */
extern const char *const ef_reason_actions[];

typedef enum { EF_LEVEL_MARK, EF_LEVEL_PART, EF_LEVEL_PAIR, EF_LEVEL_SECTION, EF_LEVEL_PUMP } EfLevel;

typedef struct _EfVerdict EfVerdict;
struct _EfVerdict
{
  EfLevel level;
  char *id;     /* "mark:ID", "part:separator", "pair:pressure", "section:pressure", "pump" */
  char *title;  /* "Separator plate", "Mark 3: groove" */
  EfVerdictWord word;     /* with override applied */
  EfVerdictWord computed; /* without */
  const EfOverride *override; /* borrowed from the inspection snapshot; NULL */
  GPtrArray *reasons;  /* EfReason *, worst first */
  GPtrArray *children; /* EfVerdict * */
};

/* What rules look at: all computed beforehand. */
typedef struct
{
  const EfInspection *inspection;
  GPtrArray *derived;        /* EfDerived * */
  GHashTable *charts;        /* face id -> EfFaceChart * */
  GHashTable *maps;          /* face id -> EfDepthMap *; faces with marks only */
  GHashTable *wear;          /* face id -> EfFaceWear * */
} EfFindings;

/* The rule set: data (data/rules/common-practice.json) plus one small function a rule. */
typedef struct _EfRuleSet EfRuleSet;
EfRuleSet *ef_rule_set_load (const char *path, GError **error);
EfRuleSet *ef_rule_set_parse (const char *json, const char *file, GError **error); /* @file for messages */
EfRuleSet *ef_rule_set_default (GError **error); /* the shipped one */
void ef_rule_set_free (EfRuleSet *rules);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfRuleSet, ef_rule_set_free)
const char *ef_rule_set_version (const EfRuleSet *rules);
/* How limits are decided on: from the file's "decision", or as set here. Fails as ef_decision_rule_check(). */
EfDecisionRule ef_rule_set_decision (const EfRuleSet *rules);
gboolean ef_rule_set_use_decision (EfRuleSet *rules, const EfDecisionRule *decision, GError **error);

/* The verdict on the pump with all below it. */
EfVerdict *ef_judge (const EfRuleSet *rules, const EfFindings *findings, GError **error);
void ef_verdict_free (EfVerdict *verdict);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfVerdict, ef_verdict_free)
const EfVerdict *ef_verdict_find (const EfVerdict *root, const char *id);

G_END_DECLS
