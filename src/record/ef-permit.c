/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-permit.h"
#include "ef-role-private.h"
#include "ef-store-private.h"

struct _EfPermit
{
  EfAct act;
  char *role;
};

static EfPermit *
permit_new (EfAct act,
            const char *role)
{
  EfPermit *permit = g_new0 (EfPermit, 1);

  permit->act = act;
  permit->role = g_strdup (role);

  return permit;
}

void
ef_permit_free (EfPermit *permit)
{
  if (permit == NULL)
    return;
  g_free (permit->role);
  g_free (permit);
}

const char *
ef_permit_role (const EfPermit *permit)
{
  return permit != NULL ? permit->role : NULL;
}

EfPermit *
ef_store_permit (EfStore *store)
{
  g_return_val_if_fail (store != NULL, NULL);

  return store->permit != NULL ? permit_new (store->permit->act, store->permit->role) : NULL;
}

void
ef_store_use_permit (EfStore *store,
                     const EfPermit *permit)
{
  EfPermit *copy = permit != NULL ? permit_new (permit->act, permit->role) : NULL;

  g_return_if_fail (store != NULL);
  ef_permit_free (store->permit);
  store->permit = copy;
}

void
ef_store_allow (EfStore *store,
                EfAct act,
                const char *role)
{
  ef_permit_free (store->permit);
  store->permit = role != NULL ? permit_new (act, role) : NULL;
}

gboolean
ef_permit_is_for (const EfPermit *permit,
                  EfAct act,
                  const char *role,
                  const char *name,
                  GError **error)
{
  if (permit == NULL || permit->act != act)
    g_set_error (error, EF_ERROR, EF_ERROR_REFUSED, "%s: expected somebody who may %s to be asked first, found nobody", name, ef_act_words (act));
  else if (role != NULL && *role != '\0' && !g_str_equal (role, permit->role))
    g_set_error (error, EF_ERROR, EF_ERROR_REFUSED, "%s: role: expected %s, who was asked, found “%s”", name, permit->role, role);
  else
    return TRUE;

  return FALSE;
}

gboolean
ef_store_need (EfStore *store,
               EfAct act,
               const char *role,
               GError **error)
{
  gint64 roles;

  if (!ef_sql_integer (&store->sql, 0, &roles, error, "SELECT count (*) FROM role WHERE removed IS NULL", ""))
    return FALSE;
  if (roles == 0)
    return TRUE;
  if (!ef_permit_is_for (store->permit, act, role, store->sql.name, error) || !ef_role_still_may (store, store->permit->role, act, error))
    return FALSE;
  ef_store_use_permit (store, NULL);

  return TRUE;
}
