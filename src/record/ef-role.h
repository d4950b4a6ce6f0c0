/* What the roles of a shop may do.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Marking, measuring and everything else that isn't listed as an act is open to every role: a wrong reading is undone, and stands in the history.
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

typedef enum
{
  EF_ROLE_BENCH,   /* measures and decides at the bench */
  EF_ROLE_TRAINER, /* teaches; also keeps the pump sheets */
  EF_ROLE_CLERK,   /* keeps the list of jobs */
  EF_ROLE_OWNER,   /* answers for the shop: may do everything */
  EF_N_ROLE_KINDS
} EfRoleKind;
extern const char *const ef_role_kind_names[]; /* "bench", "trainer", "clerk", "owner"; NULL-terminated */
/* Out of ef_role_kind_names, and back: FALSE for a name that is none of them. */
const char *ef_role_kind_name (EfRoleKind kind);
gboolean ef_role_kind_from_name (const char *name, EfRoleKind *kind_out);

typedef enum
{
  EF_ACT_SIGN,     /* sign off and seal, take a sign-off back */
  EF_ACT_OVERRIDE, /* set a verdict by hand, or go back to the computed one */
  EF_ACT_REVISE,   /* open a sealed job again */
  EF_ACT_WITHDRAW, /* withdraw a job, reinstate one */
  EF_ACT_SHEETS,   /* change pump sheets and with them limits */
  EF_ACT_RESTORE,  /* put a backup in the store's place */
  EF_ACT_LESSONS,  /* change a lesson that is there, its reference above all */
  EF_ACT_KEY,      /* the sealing key: change, export, restore */
  EF_ACT_ROLES,    /* this list */
  EF_N_ACTS
} EfAct;
const char *ef_act_name (EfAct act);  /* "sign", "override", "revise", "withdraw", "sheets", "restore", "lessons", "key", "roles" */
const char *ef_act_words (EfAct act); /* "sign off and seal": what is refused, in a sentence; English, for messages */

/* Whether the kind of role may do this; an owner may do all. */
gboolean ef_role_kind_may (EfRoleKind kind, EfAct act);

G_END_DECLS
