/* Why a reason was given: the chain from the verdict down to each reading and its gauge.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * verdict, rule, limit, decision, value, then each mark or reading, followed by the gauge that it and those before it were taken with.
 */
#pragma once

#include "ef-assessment.h"

#include <json-glib/json-glib.h>

G_BEGIN_DECLS

typedef enum
{
  EF_WHY_VERDICT,  /* what was said, of what */
  EF_WHY_RULE,     /* its id, what it looks at, the rule set's version */
  EF_WHY_LIMIT,    /* with its source */
  EF_WHY_DECISION, /* value, expanded uncertainty, decision rule, probability of conformity */
  EF_WHY_VALUE,    /* how it follows from readings */
  EF_WHY_MARK,     /* one depth of a mark, or what it has instead */
  EF_WHY_READING,  /* value, temperature, time */
  EF_WHY_GAUGE,    /* of the marks or readings just before */
  EF_WHY_MORE,     /* what else is behind it and isn't told one by one */
  EF_N_WHY_KINDS
} EfWhyKind;
const char *ef_why_kind_name (EfWhyKind kind); /* "verdict", "rule" … */

typedef struct
{
  EfWhyKind kind;
  char *title; /* "Limit" */
  char *text;  /* a sentence or two */
  char *brief; /* for one line of many; NULL: left out there */
  char *ref;   /* "verdict:NODE", "mark:ID", "reading:ID", "gauge:ID"; NULL: leads nowhere */
  gboolean warning; /* a default instead of the pump's own limit, an overdue gauge, no gauge at all */
} EfWhyLink;

/* EfWhyLink * elements. @node: the verdict that @reason stands under. */
GPtrArray *ef_why_chain (const EfAssessment *assessment, const EfVerdict *node, const EfReason *reason);
/* "rule end-clearance (common-practice 2) ← limit 0.15 mm, … ← …": the chain in a line or two. */
char *ef_why_line (GPtrArray *chain);
/* The chain as an array. */
void ef_why_add_json (JsonBuilder *builder, GPtrArray *chain);

G_END_DECLS
