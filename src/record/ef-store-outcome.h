/* What each job came to when it was last assessed: kept beside the jobs so that a hundred thousand of them can be counted.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An outcome isn't history: it follows from the job and the rules, and may be made again at any time. A job whose history has gone on
 * since is stale. Attempts at lessons have none.
 */
#pragma once

#include "ef-store.h"

G_BEGIN_DECLS

/* Counts up whenever outcomes are made otherwise, so that older ones are made again. */
#define EF_OUTCOME_FORM 2

typedef struct
{
  char *subject;  /* as in verdicts: "part:separator", "section:pressure" */
  char *title;    /* of it */
  gboolean mark;  /* a kind of mark; otherwise the id of a rule */
  char *finding;
  char *word;     /* name of the worst verdict that it led to */
  guint n;
} EfOutcomeFinding;

typedef struct
{
  char *section, *gear, *title;
  double as_new;  /* m; NAN */
  double found;   /* m */
} EfOutcomeClearance;

typedef struct
{
  char *rules;
  double hours;          /* NAN */
  gboolean reworked;     /* work was recorded, or something was measured after it */
  char *reworked_day;    /* when last; NULL: not noted, the job's own day counts */
  GPtrArray *findings;   /* EfOutcomeFinding * */
  GPtrArray *clearances; /* EfOutcomeClearance * */
} EfOutcome;

/* Empty. @rules: version of those it was judged by. */
EfOutcome *ef_outcome_new (const char *rules);
void ef_outcome_free (EfOutcome *outcome);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfOutcome, ef_outcome_free)
/* The one that is there already, or a new one; its count and word are for the caller to set. Texts are copied. */
EfOutcomeFinding *ef_outcome_finding (EfOutcome *outcome, const char *subject, const char *title, gboolean mark, const char *finding);
/* One gear's end clearance, m. */
void ef_outcome_clearance (EfOutcome *outcome, const char *section, const char *gear, const char *title, double as_new, double found);

/* The job's last row of history; to be asked before the job is loaded for its outcome. 0: no such job. */
gint64 ef_store_last_row (EfStore *store, gint64 job, GError **error);
/* In the place of the one before. @row: ef_store_last_row() from before the job was loaded, by which it's stale later. */
gboolean ef_store_set_outcome (EfStore *store, gint64 job, gint64 row, const EfOutcome *outcome, GError **error);
/* Jobs without an up-to-date outcome (gint64), newest first, at most @limit (0: all). Withdrawn ones aren't among them. */
GArray *ef_store_stale_outcomes (EfStore *store, guint limit, GError **error);
/* Whether the job wants its outcome made anew; never for attempts at lessons. */
gboolean ef_store_outcome_stale (EfStore *store, gint64 job, const char *rules, gboolean *stale_out, GError **error);

G_END_DECLS
