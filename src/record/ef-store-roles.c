/* Rows of roles, and their changes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-roles.h"
#include "ef-role-private.h"
#include "ef-store-private.h"

#include "config.h"

#include <string.h>
#include <sys/stat.h>

#define NAME_MAX_CHARS 60

void
ef_role_free (EfRole *role)
{
  if (role == NULL)
    return;
  g_free (role->name);
  g_free (role->removed);
  g_free (role);
}

static EfRole *
read_row (EfStore *store,
          sqlite3_stmt *statement,
          GError **error)
{
  g_autoptr (EfRole) role = g_new0 (EfRole, 1);
  g_autofree char *kind = ef_sql_column_text (statement, 1);

  role->name = ef_sql_column_text (statement, 0);
  role->has_pin = sqlite3_column_int64 (statement, 2) != 0;
  role->removed = ef_sql_column_text (statement, 3);
  role->wrong = (guint) sqlite3_column_int64 (statement, 4);
  if (!ef_role_kind_from_name (kind, &role->kind))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: role %s: kind: expected bench, trainer, clerk or owner, found “%s”", store->sql.name, role->name, kind);
      return NULL;
    }

  return g_steal_pointer (&role);
}

#define COLUMNS "SELECT name, kind, pin IS NOT NULL, removed, wrong FROM role"

GPtrArray *
ef_store_roles (EfStore *store,
                gboolean with_removed,
                GError **error)
{
  g_autoptr (GPtrArray) roles = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_role_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error, COLUMNS " WHERE ? OR removed IS NULL ORDER BY removed IS NOT NULL, kind <> 'owner', name", "i", (gint64) with_removed);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      EfRole *role = read_row (store, statement, error);

      if (role == NULL)
        return NULL;
      g_ptr_array_add (roles, role);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&roles);
}

EfRole *
ef_store_role (EfStore *store,
               const char *name,
               GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error, COLUMNS " WHERE name = ? AND removed IS NULL", "s", name);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error) || !row)
    return NULL;

  return read_row (store, statement, error);
}

static gboolean
count (EfStore *store,
       gint64 *all_out,
       gint64 *owners_out,
       GError **error)
{
  return ef_sql_integer (&store->sql, 0, all_out, error, "SELECT count (*) FROM role WHERE removed IS NULL", "")
         && ef_sql_integer (&store->sql, 0, owners_out, error, "SELECT count (*) FROM role WHERE removed IS NULL AND kind = 'owner'", "");
}

/* --- May they? ------------------------------------------------------------------------------------------------------------- */

static char *
list_names (GPtrArray *roles)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < roles->len; i++)
    g_string_append_printf (text, "%s%s", i > 0 ? ", " : "", ((EfRole *) roles->pdata[i])->name);

  return g_string_free (text, FALSE);
}

/* The role, for what follows; NULL with @free_out TRUE where there are no roles. */
static EfRole *
find_known (EfStore *store,
            const char *name,
            gboolean *free_out,
            GError **error)
{
  g_autoptr (GPtrArray) roles = ef_store_roles (store, FALSE, error);
  g_autofree char *names = NULL;

  *free_out = FALSE;
  if (roles == NULL)
    return NULL;
  if (roles->len == 0)
    {
      *free_out = TRUE;
      return NULL;
    }
  for (guint i = 0; i < roles->len; i++)
    if (g_strcmp0 (((EfRole *) roles->pdata[i])->name, name) == 0)
      return g_ptr_array_steal_index (roles, i);
  names = list_names (roles);
  if (name == NULL || *name == '\0')
    g_set_error (error, EF_ERROR, EF_ERROR_REFUSED, "role: expected one of the shop's (%s), found none", names);
  else
    g_set_error (error, EF_ERROR, EF_ERROR_REFUSED, "role: expected one of the shop's (%s), found “%s”", names, name);

  return NULL;
}

gboolean
ef_store_known_role (EfStore *store,
                     const char *name,
                     EfRole **role_out,
                     GError **error)
{
  gboolean open;

  g_return_val_if_fail (store != NULL && role_out != NULL, FALSE);
  *role_out = find_known (store, name, &open, error);

  return *role_out != NULL || open;
}

/* "bench, trainer, owner" */
static char *
list_kinds (EfAct act)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < EF_N_ROLE_KINDS; i++)
    if (ef_role_kind_may ((EfRoleKind) i, act))
      g_string_append_printf (text, "%s%s", text->len > 0 ? ", " : "", ef_role_kind_names[i]);

  return g_string_free (text, FALSE);
}

static gboolean
check_kind (const EfRole *role,
            EfAct act,
            GError **error)
{
  g_autofree char *kinds = NULL;

  if (ef_role_kind_may (role->kind, act))
    return TRUE;
  kinds = list_kinds (act);
  g_set_error (error, EF_ERROR, EF_ERROR_REFUSED, "%s, as %s, may not %s: that is for %s", role->name, ef_role_kind_name (role->kind), ef_act_words (act), kinds);

  return FALSE;
}

gboolean
ef_role_still_may (EfStore *store,
                   const char *name,
                   EfAct act,
                   GError **error)
{
  gboolean open;
  g_autoptr (EfRole) role = find_known (store, name, &open, error);

  return role != NULL ? check_kind (role, act, error) : open;
}

gboolean
ef_store_authorise (EfStore *store,
                    const EfWho *who,
                    EfAct act,
                    GError **error)
{
  gboolean open = FALSE;
  g_autoptr (EfRole) role = NULL;

  g_return_val_if_fail (store != NULL && who != NULL, FALSE);
  ef_store_allow (store, act, NULL);
  role = find_known (store, who->name, &open, error);
  if (role == NULL)
    return open;
  if (!check_kind (role, act, error) || !ef_role_check_pin (store, role, who->pin, error))
    return FALSE;
  ef_store_allow (store, act, role->name);

  return TRUE;
}

/* Older stores, which aren't brought up to date for this, have no such table. */
static gboolean
has_roles (const EfSql *sql)
{
  gint64 table = 0, roles = 0;

  return ef_sql_integer (sql, 0, &table, NULL, "SELECT count (*) FROM sqlite_master WHERE type = 'table' AND name = 'role'", "") && table > 0
         && ef_sql_integer (sql, 0, &roles, NULL, "SELECT count (*) FROM role WHERE removed IS NULL", "") && roles > 0;
}

static gboolean
file_has_roles (const char *path)
{
  g_autoptr (EfStore) store = g_file_test (path, G_FILE_TEST_EXISTS) ? ef_store_open_to_read (path, NULL) : NULL;

  return store != NULL && has_roles (&store->sql);
}

gboolean
ef_store_authorise_restore (const char *path,
                            const EfWho *who,
                            EfPermit **permit_out,
                            GError **error)
{
  g_autoptr (EfStore) store = NULL;

  g_return_val_if_fail (path != NULL && who != NULL && permit_out != NULL, FALSE);
  *permit_out = NULL;
  if (!file_has_roles (path))
    return TRUE;
  store = ef_store_open (path, error);
  if (store == NULL || !ef_store_authorise (store, who, EF_ACT_RESTORE, error))
    return FALSE;
  *permit_out = ef_store_permit (store);

  return TRUE;
}

gboolean
ef_role_need_restore (const EfSql *sql,
                      const EfPermit *permit,
                      GError **error)
{
  return sql->db == NULL || !has_roles (sql) || ef_permit_is_for (permit, EF_ACT_RESTORE, NULL, sql->name, error);
}

/* --- Changes --------------------------------------------------------------------------------------------------------------- */

static gboolean
add_history (EfStore *store,
             const char *name,
             const char *by,
             const char *label,
             GError **error)
{
  g_autofree char *time = ef_store_now ();

  return ef_sql_run (&store->sql, NULL, error, "INSERT INTO role_change (role, time, by, program, label) VALUES (?, ?, ?, ?, ?)", "sssss", name, time,
                     by != NULL ? by : "", "endfloat " EF_VERSION, label);
}

static gboolean
check_name (const char *name,
            GError **error)
{
  if (name != NULL && g_utf8_validate (name, -1, NULL) && *name != '\0' && !g_ascii_isspace (name[0]) && !g_ascii_isspace (name[strlen (name) - 1])
      && g_utf8_strlen (name, -1) <= NAME_MAX_CHARS && strpbrk (name, "\r\n\t") == NULL)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "role: name: expected 1 to %d characters on one line, without blanks about them", NAME_MAX_CHARS);

  return FALSE;
}

static gboolean
refuse_unknown (EfStore *store,
                const char *name,
                GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected role “%s”, found none in use", store->sql.name, name);

  return FALSE;
}

/* Within the transaction: the counts are those that the change meets. */
static gboolean
check_first (EfStore *store,
             EfRoleKind kind,
             GError **error)
{
  gint64 all, owners;

  if (!count (store, &all, &owners, error))
    return FALSE;
  if (all > 0 || kind == EF_ROLE_OWNER)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "role: kind: expected owner for the first role, so that there is somebody who can put a forgotten PIN right; found %s",
               ef_role_kind_name (kind));

  return FALSE;
}

static gboolean
check_owner_left (EfStore *store,
                  const EfRole *role,
                  gboolean removed,
                  GError **error)
{
  gint64 all, owners;

  if (!count (store, &all, &owners, error))
    return FALSE;
  if (role->kind != EF_ROLE_OWNER || owners > 1 || (removed && all == 1))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: the last owner stays an owner while there are other roles", role->name);

  return FALSE;
}

static gboolean
put_role (EfStore *store,
          const char *name,
          EfRoleKind kind,
          GError **error)
{
  int changed;

  if (!ef_sql_run (&store->sql, &changed, error,
                   "INSERT INTO role (name, kind) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET kind = excluded.kind, removed = NULL, pin = NULL, wrong = 0"
                   " WHERE removed IS NOT NULL",
                   "ss", name, ef_role_kind_name (kind)))
    return FALSE;
  if (changed > 0)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "role: name: expected one that isn't taken, found “%s” in use", name);

  return FALSE;
}

gboolean
ef_store_add_role (EfStore *store,
                   const char *name,
                   EfRoleKind kind,
                   const EfWho *who,
                   GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autofree char *label = g_strdup_printf ("Added as %s", ef_role_kind_name (kind));

  g_return_val_if_fail (store != NULL && who != NULL, FALSE);

  return check_name (name, error) && ef_store_authorise (store, who, EF_ACT_ROLES, error) && ef_transaction_begin (&transaction, &store->sql, error)
         && check_first (store, kind, error) && put_role (store, name, kind, error) && add_history (store, name, who->name, label, error)
         && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_change_role (EfStore *store,
                      const char *name,
                      EfRoleKind kind,
                      const EfWho *who,
                      GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (GError) local = NULL;
  g_autoptr (EfRole) role = NULL;
  g_autofree char *label = NULL;

  g_return_val_if_fail (store != NULL && who != NULL, FALSE);
  if (!ef_store_authorise (store, who, EF_ACT_ROLES, error) || !ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  role = ef_store_role (store, name, &local);
  if (role == NULL)
    return local != NULL ? (g_propagate_error (error, g_steal_pointer (&local)), FALSE) : refuse_unknown (store, name, error);
  if (role->kind == kind)
    return TRUE;
  label = g_strdup_printf ("From %s to %s", ef_role_kind_name (role->kind), ef_role_kind_name (kind));

  return check_owner_left (store, role, FALSE, error)
         && ef_sql_run (&store->sql, NULL, error, "UPDATE role SET kind = ? WHERE name = ?", "ss", ef_role_kind_name (kind), name)
         && add_history (store, name, who->name, label, error) && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_remove_role (EfStore *store,
                      const char *name,
                      const char *reason,
                      const EfWho *who,
                      GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (GError) local = NULL;
  g_autoptr (EfRole) role = NULL;
  g_autofree char *words = g_strstrip (g_strdup (reason != NULL ? reason : ""));
  g_autofree char *label = g_strdup_printf ("Removed: %s", words);

  g_return_val_if_fail (store != NULL && who != NULL, FALSE);
  if (*words == '\0')
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "reason: expected some words, found none");
      return FALSE;
    }
  if (!ef_store_authorise (store, who, EF_ACT_ROLES, error) || !ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  role = ef_store_role (store, name, &local);
  if (role == NULL)
    return local != NULL ? (g_propagate_error (error, g_steal_pointer (&local)), FALSE) : refuse_unknown (store, name, error);

  return check_owner_left (store, role, TRUE, error)
         && ef_sql_run (&store->sql, NULL, error, "UPDATE role SET removed = ?, pin = NULL, wrong = 0 WHERE name = ?", "ss", words, name)
         && add_history (store, name, who->name, label, error) && ef_transaction_commit (&transaction, error);
}

/* Oneself, by the PIN one has; anybody else's as an owner. */
static gboolean
may_set_pin (EfStore *store,
             const EfRole *role,
             const EfWho *who,
             GError **error)
{
  if (g_strcmp0 (role->name, who->name) == 0)
    return ef_role_check_pin (store, role, who->pin, error);

  return ef_store_authorise (store, who, EF_ACT_ROLES, error);
}

static gboolean
keep_pin (EfStore *store,
          const char *name,
          const char *hash,
          const char *by,
          const char *label,
          GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };

  return ef_transaction_begin (&transaction, &store->sql, error)
         && ef_sql_run (&store->sql, NULL, error, "UPDATE role SET pin = ?, wrong = 0 WHERE name = ? AND removed IS NULL", "ss", hash, name)
         && add_history (store, name, by, label, error) && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_set_pin (EfStore *store,
                  const char *name,
                  const char *pin,
                  const EfSealStrength *strength,
                  const EfWho *who,
                  GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (EfRole) role = NULL;
  g_autofree char *hash = NULL;

  g_return_val_if_fail (store != NULL && who != NULL, FALSE);
  role = ef_store_role (store, name, &local);
  if (role == NULL)
    return local != NULL ? (g_propagate_error (error, g_steal_pointer (&local)), FALSE) : refuse_unknown (store, name, error);
  if (!may_set_pin (store, role, who, error))
    return FALSE;
  if (pin != NULL)
    {
      hash = ef_role_hash_pin (pin, strength, error);
      if (hash == NULL)
        return FALSE;
    }

  return keep_pin (store, name, hash, who->name, pin == NULL ? "PIN taken away" : role->has_pin ? "PIN changed" : "PIN set", error);
}

gboolean
ef_store_lost_pin (EfStore *store,
                   const char *name,
                   GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (EfRole) role = NULL;

  g_return_val_if_fail (store != NULL, FALSE);
  role = ef_store_role (store, name, &local);
  if (role == NULL)
    return local != NULL ? (g_propagate_error (error, g_steal_pointer (&local)), FALSE) : refuse_unknown (store, name, error);

  return keep_pin (store, name, NULL, "", "PIN taken away as lost, without being asked for", error);
}

GPtrArray *
ef_store_role_history (EfStore *store,
                       GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_history_row_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error, "SELECT seq, time, by, role, program, label FROM role_change ORDER BY seq", "");
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      g_ptr_array_add (rows, ef_store_history_row (statement));
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&rows);
}

char *
ef_store_access_warning (const char *path)
{
  g_autofree char *name = g_filename_display_name (path);
  struct stat info;

  if (stat (path, &info) != 0)
    return NULL;
  if ((info.st_mode & (S_IWGRP | S_IWOTH)) != 0)
    return g_strdup_printf ("%s can be changed by others on this computer (mode %04o). Only its owner should be able to: chmod 600", name, (guint) info.st_mode & 07777);
  if ((info.st_mode & (S_IRGRP | S_IROTH)) != 0)
    return g_strdup_printf ("%s can be read by others on this computer (mode %04o). If they needn't: chmod 600", name, (guint) info.st_mode & 07777);

  return NULL;
}
