/* A rule as data, and what its check function is given and gives back. Inside judge only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rule of data/rules/common-practice.json names a check function, the parts, faces and kinds of mark it applies to, numbers for the
 * function, and for each outcome the function can have a verdict with its sentence. To add a rule, edit the data; to add a
 * check, write one small function and put it into the table of its group (ef-rule-<group>.c).
 */
#pragma once

#include "../base/ef-json.h"
#include "../metrology/ef-decision.h"
#include "ef-judge.h"

G_BEGIN_DECLS

typedef enum
{
  EF_OUTCOME_OK,      /* looked at and within limits */
  EF_OUTCOME_OVER,    /* above the limit */
  EF_OUTCOME_BEYOND,  /* above what rework may mend */
  EF_OUTCOME_UNDER,   /* below the least allowed */
  EF_OUTCOME_FOUND,   /* a thing without a number is there */
  EF_OUTCOME_UNKNOWN, /* the number that would decide is missing */
  EF_OUTCOME_COARSE,  /* the gauge is too coarse to say */
  EF_N_OUTCOMES
} EfOutcome;

#define EF_OUTCOME_NONE EF_N_OUTCOMES
#define EF_OUTCOME_BIT(o) (1u << (o))

typedef struct
{
  gboolean given;
  EfVerdictWord word;
  char *sentence; /* with {placeholders} */
  char *advice;   /* likewise; NULL */
  const char *action; /* one of ef_reason_actions; NULL */
} EfWording;

typedef struct _EfRule EfRule;
typedef struct _EfRuleCase EfRuleCase;

/* A check function looks at one case and says what it finds by ef_rule_say(); it may say several things or nothing. */
typedef struct
{
  const char *name;
  const char *summary;       /* what it looks at, and its params */
  guint outcomes;            /* EF_OUTCOME_BIT()s that need a wording of the rule's own */
  const char *const *params; /* numbers it reads, each with its unit in the name: "limit_mm", "width_share"; NULL-terminated */
  gboolean needs_quantity;   /* whether the rule must name a quantity */
  void (*run) (const EfRuleCase *c);
} EfCheckFunction;

extern const EfCheckFunction ef_checks_gear[], ef_checks_housing[], ef_checks_plate[], ef_checks_measure[], ef_checks_list[]; /* ended by a NULL name */
/* In all tables, by name; NULL. */
const EfCheckFunction *ef_check_function_find (const char *name);

struct _EfRule
{
  gint ref_count; /* a rule set for a pump sheet shares the rules it doesn't replace */
  char *id;
  guint index; /* place in the file: breaks ties */
  gboolean of_sheet; /* a pump sheet brought it */
  EfLevel level;
  const EfCheckFunction *check;
  guint parts, faces, kinds; /* masks of EfPartKind, EfFaceKind, EfMarkKind; all bits where not narrowed */
  guint states;              /* mask of EfCheckState */
  GHashTable *params;        /* name -> double *, SI */
  char *quantity;            /* NULL */
  EfWording wording[EF_N_OUTCOMES];
  char *source;
};

struct _EfRuleSet
{
  gint ref_count;
  EfRuleSet *base;   /* of a set for one pump sheet: the shared one; else NULL */
  char *sheet_rules; /* and the sheet's rules as text */
  char *file;
  char *version;
  GPtrArray *rules;         /* EfRule * */
  EfWording common[EF_N_OUTCOMES]; /* for outcomes a rule has no wording of its own for */
  EfDecisionRule decision;
  /* Sentences that join others: the first three the sentence, the others the advice. */
  struct
  {
    char *probability; /* with every number that was decided on */
    char *no_gauge;    /* where no gauge is noted */
    char *overdue;     /* where the gauge was due for its check */
    char *doubt;       /* where it can't be ruled out that rework won't do */
    char *repeats;     /* where more readings would decide */
  } notes;
  /* Expanded uncertainties where no gauge is noted, m. */
  double no_gauge_depth, no_gauge_reading, drawn_length;
  double drawn_share;
  double gauge_default[EF_N_GAUGE_KINDS]; /* expanded uncertainty where the gauge has none, m; NAN */
};

EfRule *ef_rule_ref (EfRule *rule);
void ef_rule_unref (EfRule *rule);
/* All of the array "rules" of @root, which is in a pump sheet or in a rule set's file; refuses ids that come twice. */
GPtrArray *ef_rules_read (const EfJson *root, guint least);

struct _EfRuleCase
{
  const EfRuleSet *set;
  const EfRule *rule;
  const EfFindings *findings;
  const EfPart *part, *mate; /* NULL where it doesn't apply */
  const EfSection *section;
  const EfMark *mark;
  EfFaceKind face_kind;
  const EfFaceChart *chart; /* NULL when it isn't among the findings */
  const EfVerdict *node;    /* what the reasons go to, children done */
  GPtrArray *reasons;       /* out: EfReason * */
};

/* A number that decides, with its limits; NAN where there is none. */
typedef struct
{
  double value;
  double u;                    /* standard uncertainty; NAN: not found out yet */
  double fixed, scatter;       /* of it: what repeating leaves; of a single reading, 0 where nothing was repeated */
  guint terms;                 /* means in the value: 2 for a difference */
  gboolean assumed;            /* no gauge noted, or drawn by eye: the uncertainty is the rule set's */
  const EfGauge *overdue;      /* one of its gauges that was due for its check; NULL */
  double least, limit, beyond; /* below least: under; above limit: over; above beyond: beyond */
  gboolean is_share;           /* a share of 1, not a length */
  const char *source;          /* of the limit */
  gboolean from_sheet;         /* the limit is the pump sheet's */
  const char *how;             /* how the value follows from readings; NULL */
  /* Out: */
  double decided;              /* the one of the three that the answer turned on */
  double probability;          /* of lying within the limits; beyond the second limit: within that */
  double needed_u;             /* standard uncertainty that would have decided */
  gboolean doubtful;           /* over, and perhaps beyond */
} EfQuestion;

/* Limits for the rule's quantity: the pump sheet's, else the rule's own params limit_mm, rework_limit_mm, least_mm. */
void ef_rule_question (const EfRuleCase *c, EfQuestion *question);
/* The value, its uncertainty and its gauges. */
void ef_rule_take_derived (const EfRuleCase *c, const EfDerived *derived, EfQuestion *question);
void ef_rule_take_depth (const EfRuleCase *c, const EfMarkDepth *depth, EfQuestion *question);
/* A length or a share drawn on the face by eye. */
void ef_rule_take_drawn (const EfRuleCase *c, double value, EfQuestion *question);
/* By the rule set's decision rule (ef-decision.h). Worse or equal for a greater value, but for "under"; in no zone for sure: "coarse". The second
 * limit must be passed for sure before a thing is past rework. More uncertainty never gives "ok" where there was none. */
EfOutcome ef_rule_decide (const EfRuleCase *c, EfQuestion *question);
/* Verdict the rule gives for an outcome. */
EfVerdictWord ef_rule_word (const EfRuleCase *c, EfOutcome outcome);
double ef_rule_param (const EfRuleCase *c, const char *name, double fallback);
/* Puts the question to each depth of the mark; the worst answer and its depth stay in @question.
 * Without depths: EF_OUTCOME_UNKNOWN. */
EfOutcome ef_rule_decide_depths (const EfRuleCase *c, EfQuestion *question);

/* What is said besides the numbers: pairs of placeholder and text, ended by NULL; and the ids of the readings it rests on. The
 * pair "target" names what it's about, where that isn't the mark's face, the part or the section. */
void ef_rule_say (const EfRuleCase *c, EfOutcome outcome, const EfQuestion *question, GPtrArray *refs, ...) G_GNUC_NULL_TERMINATED;
/* Whether a template may use {name}. */
gboolean ef_rule_placeholder_known (const char *name);

/* Face kind from the part of a face id after the slash; EF_N_FACE_KINDS if it's none. */
EfFaceKind ef_rule_face_kind (const char *face_id);
const char *ef_rule_face_kind_name (EfFaceKind kind);
char *ef_rule_lower (const char *name); /* a name for the middle of a sentence */
char *ef_rule_face_name (const EfFaceChart *chart, const char *face_id);
char *ef_rule_length (double metres); /* "0.18 mm", "0.005 mm" */

/* All numbers NAN, no refs. Takes @sentence. */
EfReason *ef_reason_new (EfVerdictWord word, const char *rule, char *sentence);
/* EfReason *, brought into the order in which they are told: the worst verdict first, then the heaviest. */
void ef_reasons_rank (GPtrArray *reasons);

/* "Use again" with neither reasons nor children. Takes @id and @title. */
EfVerdict *ef_verdict_new (EfLevel level, char *id, char *title);

G_END_DECLS
