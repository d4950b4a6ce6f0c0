/* PINs: kept as Argon2id, checked, and slowed down after wrong ones.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-role-private.h"
#include "ef-store-private.h"

#include <sodium.h>
#include <string.h>

/* The least that is usually recommended for Argon2id, from memory. Four digits are soon guessed by whoever has the file, whatever this costs. */
const EfSealStrength ef_pin_strength_default = { 2, 19 * 1024 * 1024 };

guint
ef_pin_wait (guint wrong)
{
  guint wait = EF_PIN_FIRST_WAIT;

  if (wrong < EF_PIN_FREE)
    return 0;
  for (guint i = EF_PIN_FREE; i < wrong && wait < EF_PIN_LONGEST_WAIT; i++)
    wait *= 2;

  return MIN (wait, EF_PIN_LONGEST_WAIT);
}

char *
ef_role_hash_pin (const char *pin,
                  const EfSealStrength *strength,
                  GError **error)
{
  const EfSealStrength *used = strength != NULL ? strength : &ef_pin_strength_default;
  char hash[crypto_pwhash_STRBYTES];

  if (!g_utf8_validate (pin, -1, NULL) || g_utf8_strlen (pin, -1) < EF_PIN_MIN || g_utf8_strlen (pin, -1) > EF_PIN_MAX)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "PIN: expected %d to %d characters", EF_PIN_MIN, EF_PIN_MAX);
      return NULL;
    }
  if (sodium_init () < 0 || crypto_pwhash_str (hash, pin, strlen (pin), used->operations, used->memory) != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "PIN: %" G_GUINT64_FORMAT " MiB of memory are needed to keep it, and can't be had", used->memory / (1024 * 1024));
      return NULL;
    }

  return g_strdup (hash);
}

static gint64
seconds (const char *time)
{
  g_autoptr (GDateTime) when = g_date_time_new_from_iso8601 (time, NULL);

  return when != NULL ? g_date_time_to_unix (when) : 0;
}

/* Seconds still to wait. A clock that was set back starts the wait anew: neither does it let one in, nor lock one out for years. */
static gint64
left_to_wait (guint wrong,
              const char *tried,
              const char *now)
{
  gint64 since = seconds (now) - seconds (tried);

  return (gint64) ef_pin_wait (wrong) - MAX (since, 0);
}

static gboolean
refuse_early (const EfRole *role,
              gint64 left,
              GError **error)
{
  if (left < 120)
    g_set_error (error, EF_ERROR, EF_ERROR_PIN, "%s: too many wrong PINs: wait %" G_GINT64_FORMAT " s", role->name, left);
  else
    g_set_error (error, EF_ERROR, EF_ERROR_PIN, "%s: too many wrong PINs: wait %" G_GINT64_FORMAT " min", role->name, (left + 59) / 60);

  return FALSE;
}

/* The hash to hold the PIN against; the try is counted by then, so that neither a second window nor a program stopped half way gets one for nothing. */
static char *
count_try (EfStore *store,
           const EfRole *role,
           GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (sqlite3_stmt) statement = NULL;
  g_autofree char *now = ef_store_now ();
  g_autofree char *hash = NULL;
  g_autofree char *tried = NULL;
  gboolean row;
  guint wrong;
  gint64 left;

  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return NULL;
  statement = ef_sql_query (&store->sql, error, "SELECT pin, wrong, tried FROM role WHERE name = ?", "s", role->name);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  hash = row ? ef_sql_column_text (statement, 0) : NULL;
  if (hash == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_BUSY, "%s: role %s: its PIN was changed by another window; try again", store->sql.name, role->name);
      return NULL;
    }
  wrong = (guint) sqlite3_column_int64 (statement, 1);
  tried = ef_sql_column_text (statement, 2);
  g_clear_pointer (&statement, sqlite3_finalize);
  left = left_to_wait (wrong, tried, now);
  if (left > 0)
    {
      /* In the future: from now on. */
      if (seconds (tried) > seconds (now)
          && (!ef_sql_run (&store->sql, NULL, error, "UPDATE role SET tried = ? WHERE name = ?", "ss", now, role->name) || !ef_transaction_commit (&transaction, error)))
        return NULL;
      refuse_early (role, left, error);
      return NULL;
    }
  if (!ef_sql_run (&store->sql, NULL, error, "UPDATE role SET wrong = wrong + 1, tried = ? WHERE name = ?", "ss", now, role->name)
      || !ef_transaction_commit (&transaction, error))
    return NULL;

  return g_steal_pointer (&hash);
}

gboolean
ef_role_check_pin (EfStore *store,
                   const EfRole *role,
                   const char *pin,
                   GError **error)
{
  g_autofree char *hash = NULL;

  if (!role->has_pin)
    return TRUE;
  if (pin == NULL || *pin == '\0')
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PIN, "%s: PIN: expected it, found none", role->name);
      return FALSE;
    }
  hash = count_try (store, role, error);
  if (hash == NULL)
    return FALSE;
  if (sodium_init () >= 0 && crypto_pwhash_str_verify (hash, pin, strlen (pin)) == 0)
    return ef_sql_run (&store->sql, NULL, error, "UPDATE role SET wrong = 0 WHERE name = ?", "s", role->name);
  g_set_error (error, EF_ERROR, EF_ERROR_PIN, "%s: this isn't the PIN", role->name);

  return FALSE;
}
