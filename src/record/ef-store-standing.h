/* Whether a job may be changed: withdrawn, sealed, or open; and how it comes from one to the other.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Nothing is deleted: a job that shouldn't count is withdrawn with a reason, and may be reinstated. A sealed job is changed by a new revision, which
 * says why. Each of these is a row of the history with its role and reason.
 */
#pragma once

#include "ef-store.h"

G_BEGIN_DECLS

typedef struct
{
  gboolean withdrawn;
  gint64 sealed;  /* number of the seal that it stands under; 0 open; -1 sealed elsewhere */
  guint revision; /* 1, 2 … */
} EfStanding;

/* EF_ERROR_NOT_FOUND: no such job. */
gboolean ef_store_standing (EfStore *store, gint64 job, EfStanding *standing, GError **error);
/* @reason must say something; @role NULL: the header's. EF_ERROR_INVALID where the job is so already. A withdrawn job can't be changed or
 * sealed and isn't listed with the others; a seal stays what it is. */
gboolean ef_store_withdraw (EfStore *store, gint64 job, const char *role, const char *reason, GError **error);
gboolean ef_store_reinstate (EfStore *store, gint64 job, const char *role, const char *reason, GError **error);
/* The last withdrawal of a job. NULL without one (EF_ERROR_NOT_FOUND). */
typedef struct
{
  char *time, *role, *reason;
} EfWithdrawal;
void ef_withdrawal_free (EfWithdrawal *withdrawal);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfWithdrawal, ef_withdrawal_free)
EfWithdrawal *ef_store_withdrawal (EfStore *store, gint64 job, GError **error);
/* Opens a sealed job again, as its next revision. The state that was sealed stays in the store with its seal. */
gboolean ef_store_open_revision (EfStore *store, gint64 job, const char *role, const char *reason, GError **error);

G_END_DECLS
