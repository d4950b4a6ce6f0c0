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
/* FALSE for a name that is none of them. */
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
  guint n_own;     /* the first of them are its own; those after are of reasons like it that were gathered into it */
  const char *summary;   /* what the rule's check looks at; static; NULL */
  char *how;             /* how the value follows from readings; NULL */
  double least, wear, beyond; /* the limits that were asked about, SI: too tight below, worn above, past rework above; NAN */
  gboolean limit_assumed;     /* the pump sheet has neither limit nor rule of its own: the shared rule's */
  gboolean u_assumed;         /* no gauge noted or drawn by eye: the uncertainty is the rule set's */
} EfReason;

EfReason *ef_reason_copy (const EfReason *reason);
void ef_reason_free (EfReason *reason);

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

/* A part or section that the lapping plan can't save: known once it's planned. */
typedef struct
{
  char *target;      /* id of the part or section */
  char *face_id;     /* the face that doesn't clean up; NULL: it's about a clearance */
  char *reason;      /* the limits that conflict, whole sentences */
  double shortfall;  /* m, by how much the limit would have to give way */
  double uncertainty; /* expanded (k = 2), of the clearance it rests on, m: condemned only where the shortfall is more */
} EfBar;
EfBar *ef_bar_new (const char *target, const char *face_id, const char *reason);
void ef_bar_free (EfBar *bar);

/* What rules look at: all computed beforehand. */
typedef struct
{
  const EfInspection *inspection;
  GPtrArray *derived;        /* EfDerived * */
  GPtrArray *derived_after;  /* the same after the rework, borrowed; NULL while nothing was recorded of it. Not for rules */
  GHashTable *charts;        /* face id -> EfFaceChart * */
  GHashTable *maps;          /* face id -> EfDepthMap *; faces with marks only */
  GHashTable *wear;          /* face id -> EfFaceWear * */
  GPtrArray *barred;         /* EfBar *: what can't be lapped within the limits; NULL: not planned yet, or nothing */
  GHashTable *sealing_stock; /* face id -> double *: what must come off until enough of its sealing land is restored, m; NULL: not worked out. Not for rules */
} EfFindings;

/* The rule set: data (data/rules/common-practice.json) plus one small function a rule. */
typedef struct _EfRuleSet EfRuleSet;
EfRuleSet *ef_rule_set_load (const char *path, GError **error);
EfRuleSet *ef_rule_set_parse (const char *json, const char *file, GError **error); /* @file for messages */
EfRuleSet *ef_rule_set_default (GError **error); /* the shipped one */
EfRuleSet *ef_rule_set_ref (const EfRuleSet *rules);
void ef_rule_set_free (EfRuleSet *rules); /* drops one reference */
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfRuleSet, ef_rule_set_free)
/* The shared rules with those of a pump sheet: one with the id of a shared rule takes its place, another is added. @rules itself where the sheet has
 * none. The version names both, with the first 8 digits of the SHA-256 of the sheet's rules: "common-practice 2 + hl-24 rules 1a2b3c4d". */
EfRuleSet *ef_rule_set_for_sheet (const EfRuleSet *rules, const EfPumpSheet *sheet, GError **error);
/* Whether the sheet's rules can be read: reading a sheet looks at no more of them than id and source. */
gboolean ef_rule_set_check_sheet (const EfPumpSheet *sheet, GError **error);
const char *ef_rule_set_version (const EfRuleSet *rules);
/* What the version is with the sheet's rules, without reading them. Free with g_free(). */
char *ef_rule_set_version_with (const char *version, const EfPumpSheet *sheet);
/* The limit that the rule about a measured quantity has for pump sheets without one, m; NAN where there's no such rule. @source_out may be NULL. */
double ef_rule_set_limit (const EfRuleSet *rules, const char *quantity, const char **source_out);
/* How limits are decided on: from the file's "decision", or as set here. Fails as ef_decision_rule_check(). */
EfDecisionRule ef_rule_set_decision (const EfRuleSet *rules);
gboolean ef_rule_set_use_decision (EfRuleSet *rules, const EfDecisionRule *decision, GError **error);

/* How a job's limits are decided on: as its header says, otherwise as the rule set does. */
EfDecisionRule ef_judge_decision (const EfRuleSet *rules, const EfInspection *inspection);
/* The verdict on the pump with all below it, by @rules and those of its pump sheet. */
EfVerdict *ef_judge (const EfRuleSet *rules, const EfFindings *findings, GError **error);
void ef_verdict_free (EfVerdict *verdict);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfVerdict, ef_verdict_free)
/* @root or what is below it with this id ("part:separator"); borrowed; NULL: there is none. */
const EfVerdict *ef_verdict_find (const EfVerdict *root, const char *id);

G_END_DECLS
