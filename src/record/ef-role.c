/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-role.h"

const char *const ef_role_kind_names[] = { "bench", "trainer", "clerk", "owner", NULL };

static const struct
{
  const char *name, *words;
  gboolean may[EF_N_ROLE_KINDS]; /* bench, trainer, clerk, owner */
} acts[EF_N_ACTS] = {
  [EF_ACT_SIGN] = { "sign", "sign off and seal", { TRUE, TRUE, FALSE, TRUE } },
  [EF_ACT_OVERRIDE] = { "override", "set a verdict by hand", { TRUE, TRUE, FALSE, TRUE } },
  [EF_ACT_REVISE] = { "revise", "open a sealed job again", { TRUE, TRUE, FALSE, TRUE } },
  [EF_ACT_WITHDRAW] = { "withdraw", "withdraw or reinstate a job", { FALSE, FALSE, TRUE, TRUE } },
  [EF_ACT_SHEETS] = { "sheets", "change pump sheets", { FALSE, TRUE, FALSE, TRUE } },
  [EF_ACT_RESTORE] = { "restore", "restore a backup", { FALSE, FALSE, FALSE, TRUE } },
  [EF_ACT_LESSONS] = { "lessons", "change a lesson", { FALSE, TRUE, FALSE, TRUE } },
  [EF_ACT_KEY] = { "key", "change, export or restore the sealing key", { FALSE, FALSE, FALSE, TRUE } },
  [EF_ACT_ROLES] = { "roles", "change people and roles", { FALSE, FALSE, FALSE, TRUE } },
};

const char *
ef_role_kind_name (EfRoleKind kind)
{
  return (guint) kind < EF_N_ROLE_KINDS ? ef_role_kind_names[kind] : "unknown";
}

gboolean
ef_role_kind_from_name (const char *name,
                        EfRoleKind *kind_out)
{
  for (guint i = 0; i < EF_N_ROLE_KINDS; i++)
    if (g_strcmp0 (name, ef_role_kind_names[i]) == 0)
      {
        *kind_out = (EfRoleKind) i;
        return TRUE;
      }

  return FALSE;
}

const char *
ef_act_name (EfAct act)
{
  return (guint) act < EF_N_ACTS ? acts[act].name : "unknown";
}

const char *
ef_act_words (EfAct act)
{
  return (guint) act < EF_N_ACTS ? acts[act].words : "do that";
}

gboolean
ef_role_kind_may (EfRoleKind kind,
                  EfAct act)
{
  return (guint) kind < EF_N_ROLE_KINDS && (guint) act < EF_N_ACTS && acts[act].may[kind];
}
