/* Roles: what each may do, PINs and how wrong ones are slowed down, that nobody is locked out and nothing is forgotten; who may read the store's files.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "record/ef-backup.h"
#include "record/ef-exchange.h"
#include "record/ef-seal.h"
#include "record/ef-store-lessons.h"
#include "record/ef-store-private.h"
#include "record/ef-store-roles.h"
#include "record/ef-store-standing.h"
#include "../isolate.h"
#include "open-store.h"
#include "store-digest.h"

#include <glib/gstdio.h>
#include <sodium.h>
#include <string.h>
#include <sys/stat.h>

typedef struct
{
  char *folder, *path;
  EfStore *store;
} Fixture;

static const EfWho nobody = { "", NULL };
static const EfWho owner = { "owner", "4711" };

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  self->folder = g_dir_make_tmp ("roles-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "jobs.sqlite", NULL);
  self->store = open_store (self->path);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  ef_store_fixed_time = NULL;
  g_clear_pointer (&self->store, ef_store_close);
  isolated_remove (self->folder);
  g_free (self->folder);
  g_free (self->path);
}

#define assert_refused(call, error_code, words) \
  G_STMT_START { \
    g_autoptr (GError) refused_ = NULL; \
    GError **error = &refused_; \
    g_assert_false (call); \
    g_assert_error (refused_, EF_ERROR, error_code); \
    if (strstr (refused_->message, words) == NULL) \
      g_error ("“%s” isn't in: %s", words, refused_->message); \
  } G_STMT_END

#define assert_done(call) \
  G_STMT_START { \
    g_autoptr (GError) done_ = NULL; \
    GError **error = &done_; \
    gboolean ok_ = (call); \
    g_assert_no_error (done_); \
    g_assert_true (ok_); \
  } G_STMT_END

/* An owner with a PIN, and one of each other kind without. */
static void
fill (EfStore *store)
{
  assert_done (ef_store_add_role (store, "owner", EF_ROLE_OWNER, &nobody, error));
  assert_done (ef_store_set_pin (store, "owner", "4711", &ef_seal_strength_least, &(EfWho){ "owner", NULL }, error));
  assert_done (ef_store_add_role (store, "bench 2", EF_ROLE_BENCH, &owner, error));
  assert_done (ef_store_add_role (store, "trainer", EF_ROLE_TRAINER, &owner, error));
  assert_done (ef_store_add_role (store, "desk", EF_ROLE_CLERK, &owner, error));
}

/* A shop of one isn't held up. */
static void
test_without (Fixture *self,
              gconstpointer unused)
{
  g_autoptr (GPtrArray) roles = ef_store_roles (self->store, TRUE, NULL);

  g_assert_cmpuint (roles->len, ==, 0);
  for (guint act = 0; act < EF_N_ACTS; act++)
    {
      assert_done (ef_store_authorise (self->store, &nobody, (EfAct) act, error));
      assert_done (ef_store_authorise (self->store, &(EfWho){ "whoever", "0000" }, (EfAct) act, error));
    }
}

/* What each kind may do, as a table written by hand from the record's description (docs/record.md): bench, trainer, clerk, owner. */
static const char *const names[] = { "bench 2", "trainer", "desk", "owner" };
static const struct
{
  const char *may, *words;
} table[] = {
  [EF_ACT_SIGN] = { "yyny", "may not sign off and seal: that is for bench, trainer, owner" },
  [EF_ACT_OVERRIDE] = { "yyny", "may not set a verdict by hand: that is for bench, trainer, owner" },
  [EF_ACT_REVISE] = { "yyny", "may not open a sealed job again: that is for bench, trainer, owner" },
  [EF_ACT_WITHDRAW] = { "nnyy", "may not withdraw or reinstate a job: that is for clerk, owner" },
  [EF_ACT_SHEETS] = { "nyny", "may not change pump sheets: that is for trainer, owner" },
  [EF_ACT_RESTORE] = { "nnny", "may not restore a backup: that is for owner" },
  [EF_ACT_LESSONS] = { "nyny", "may not change a lesson: that is for trainer, owner" },
  [EF_ACT_KEY] = { "nnny", "may not change, export or restore the sealing key: that is for owner" },
  [EF_ACT_ROLES] = { "nnny", "may not change people and roles: that is for owner" },
};

static void
test_acts (Fixture *self,
           gconstpointer unused)
{
  fill (self->store);
  g_assert_cmpuint (G_N_ELEMENTS (table), ==, EF_N_ACTS);
  for (guint act = 0; act < EF_N_ACTS; act++)
    for (guint k = 0; k < EF_N_ROLE_KINDS; k++)
      {
        const EfWho who = { names[k], k == EF_ROLE_OWNER ? "4711" : NULL };

        if (table[act].may[k] == 'y')
          assert_done (ef_store_authorise (self->store, &who, (EfAct) act, error));
        else
          assert_refused (ef_store_authorise (self->store, &who, (EfAct) act, error), EF_ERROR_REFUSED, table[act].words);
      }
  /* A clerk says so in the list's own name. */
  assert_refused (ef_store_authorise (self->store, &(EfWho){ "desk", NULL }, EF_ACT_SIGN, error), EF_ERROR_REFUSED, "desk, as clerk, may not");
  assert_refused (ef_store_authorise (self->store, &(EfWho){ "bench 9", NULL }, EF_ACT_SIGN, error), EF_ERROR_REFUSED, "expected one of the shop's (owner, bench 2, desk, trainer), found “bench 9”");
  assert_refused (ef_store_authorise (self->store, &nobody, EF_ACT_SIGN, error), EF_ERROR_REFUSED, "found none");
}

/* The list itself is the owner's, and there's always one. */
static void
test_owner (Fixture *self,
            gconstpointer unused)
{
  EfStore *store = self->store;

  assert_refused (ef_store_add_role (store, "bench 2", EF_ROLE_BENCH, &nobody, error), EF_ERROR_INVALID, "expected owner for the first role");
  fill (store);
  assert_refused (ef_store_add_role (store, "bench 3", EF_ROLE_BENCH, &(EfWho){ "bench 2", NULL }, error), EF_ERROR_REFUSED, "may not change people and roles");
  assert_refused (ef_store_add_role (store, "bench 3", EF_ROLE_BENCH, &(EfWho){ "owner", "4712" }, error), EF_ERROR_PIN, "this isn't the PIN");
  assert_refused (ef_store_add_role (store, "bench 2", EF_ROLE_CLERK, &owner, error), EF_ERROR_INVALID, "found “bench 2” in use");
  assert_refused (ef_store_add_role (store, " bench", EF_ROLE_CLERK, &owner, error), EF_ERROR_INVALID, "without blanks about them");
  assert_refused (ef_store_add_role (store, "", EF_ROLE_CLERK, &owner, error), EF_ERROR_INVALID, "1 to 60 characters");
  assert_refused (ef_store_change_role (store, "owner", EF_ROLE_CLERK, &owner, error), EF_ERROR_INVALID, "the last owner stays");
  assert_refused (ef_store_remove_role (store, "owner", "left", &owner, error), EF_ERROR_INVALID, "the last owner stays");
  assert_refused (ef_store_remove_role (store, "bench 2", "  ", &owner, error), EF_ERROR_INVALID, "reason");
  assert_refused (ef_store_remove_role (store, "bench 9", "left", &owner, error), EF_ERROR_NOT_FOUND, "bench 9");
  assert_done (ef_store_change_role (store, "trainer", EF_ROLE_OWNER, &owner, error));
  assert_done (ef_store_change_role (store, "owner", EF_ROLE_CLERK, &owner, error));
  assert_refused (ef_store_authorise (store, &owner, EF_ACT_ROLES, error), EF_ERROR_REFUSED, "owner, as clerk");
  /* Down to none, the owner last: then it's open again. */
  assert_done (ef_store_remove_role (store, "bench 2", "left", &(EfWho){ "trainer", NULL }, error));
  assert_done (ef_store_remove_role (store, "desk", "left", &(EfWho){ "trainer", NULL }, error));
  assert_done (ef_store_remove_role (store, "owner", "left", &(EfWho){ "trainer", NULL }, error));
  assert_done (ef_store_remove_role (store, "trainer", "shop of one", &(EfWho){ "trainer", NULL }, error));
  assert_done (ef_store_authorise (store, &nobody, EF_ACT_ROLES, error));
}

/* What lies in the file is Argon2id and not the PIN; the library that made it takes it from a second program, too. */
static void
test_hash (Fixture *self,
           gconstpointer unused)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  g_autoptr (GError) problem = NULL;
  g_autofree char *hash = NULL;
  g_autofree char *other = NULL;
  gboolean row;

  fill (self->store);
  assert_done (ef_store_set_pin (self->store, "bench 2", "4711", NULL, &owner, error));
  statement = ef_sql_query (&self->store->sql, &problem, "SELECT group_concat (pin, ' ') FROM role WHERE pin IS NOT NULL ORDER BY name", "");
  g_assert_true (ef_sql_step (&self->store->sql, statement, &row, &problem) && row);
  hash = ef_sql_column_text (statement, 0);
  other = strchr (hash, ' ') != NULL ? g_strdup (strchr (hash, ' ') + 1) : NULL;
  g_assert_nonnull (other);
  *strchr (hash, ' ') = '\0';
  /* RFC 9106's id in the usual text form; salted: the same PIN twice is two texts. */
  g_assert_true (g_str_has_prefix (hash, "$argon2id$v=19$"));
  g_assert_true (g_str_has_prefix (other, "$argon2id$v=19$"));
  g_assert_true (strstr (hash, "$m=19456,t=2,p=1$") != NULL || strstr (other, "$m=19456,t=2,p=1$") != NULL);
  g_assert_cmpstr (hash, !=, other);
  g_assert_null (strstr (hash, "4711"));
  g_assert_cmpint (crypto_pwhash_str_verify (hash, "4711", 4), ==, 0);
  g_assert_cmpint (crypto_pwhash_str_verify (hash, "4712", 4), !=, 0);
}

static void
test_pins (Fixture *self,
           gconstpointer unused)
{
  EfStore *store = self->store;
  const EfWho bench = { "bench 2", NULL };
  const EfWho with_pin = { "bench 2", "släpp" };

  fill (store);
  assert_refused (ef_store_set_pin (store, "bench 2", "123", &ef_seal_strength_least, &bench, error), EF_ERROR_INVALID, "expected 4 to 64 characters");
  assert_refused (ef_store_set_pin (store, "bench 9", "1234", &ef_seal_strength_least, &owner, error), EF_ERROR_NOT_FOUND, "bench 9");
  /* One's own, while there's none; then only with it, or by the owner. */
  assert_done (ef_store_set_pin (store, "bench 2", "släpp", &ef_seal_strength_least, &bench, error));
  assert_refused (ef_store_authorise (store, &bench, EF_ACT_OVERRIDE, error), EF_ERROR_PIN, "expected it, found none");
  assert_refused (ef_store_authorise (store, &(EfWho){ "bench 2", "slapp" }, EF_ACT_OVERRIDE, error), EF_ERROR_PIN, "this isn't the PIN");
  assert_done (ef_store_authorise (store, &with_pin, EF_ACT_OVERRIDE, error));
  assert_refused (ef_store_set_pin (store, "bench 2", "5678", &ef_seal_strength_least, &bench, error), EF_ERROR_PIN, "found none");
  assert_refused (ef_store_set_pin (store, "bench 2", "5678", &ef_seal_strength_least, &(EfWho){ "trainer", NULL }, error), EF_ERROR_REFUSED, "trainer");
  assert_done (ef_store_set_pin (store, "bench 2", "5678", &ef_seal_strength_least, &with_pin, error));
  assert_refused (ef_store_authorise (store, &with_pin, EF_ACT_SIGN, error), EF_ERROR_PIN, "this isn't the PIN");
  assert_done (ef_store_authorise (store, &(EfWho){ "bench 2", "5678" }, EF_ACT_SIGN, error));
  /* Forgotten: the owner takes it away. */
  assert_done (ef_store_set_pin (store, "bench 2", NULL, NULL, &owner, error));
  assert_done (ef_store_authorise (store, &bench, EF_ACT_SIGN, error));
}

/* The owner's own forgotten: from outside, and it shows. */
static void
test_lost (Fixture *self,
           gconstpointer unused)
{
  g_autoptr (GPtrArray) history = NULL;
  const EfHistoryRow *last;

  fill (self->store);
  assert_done (ef_store_lost_pin (self->store, "owner", error));
  assert_done (ef_store_authorise (self->store, &(EfWho){ "owner", NULL }, EF_ACT_ROLES, error));
  history = ef_store_role_history (self->store, NULL);
  last = history->pdata[history->len - 1];
  g_assert_cmpstr (last->label, ==, "PIN taken away as lost, without being asked for");
  g_assert_cmpstr (last->bench, ==, "owner");
}

static void
at (const char *time)
{
  ef_store_fixed_time = time;
}

static gboolean
try (Fixture *self,
     const char *pin,
     GError **error)
{
  return ef_store_authorise (self->store, &(EfWho){ "owner", pin }, EF_ACT_ROLES, error);
}

/* With a clock of our own: three for nothing, then 5 s, 10 s, 20 s … up to 15 minutes; the right one is refused as well while it lasts, and afterwards
 * clears the count. It's kept in the store. */
static void
test_throttle (Fixture *self,
               gconstpointer unused)
{
  static const guint waits[] = { 0, 0, 0, 5, 10, 20, 40, 80, 160, 320, 640, 900, 900, 900 };

  for (guint i = 0; i < G_N_ELEMENTS (waits); i++)
    g_assert_cmpuint (ef_pin_wait (i), ==, waits[i]);
  g_assert_cmpuint (ef_pin_wait (G_MAXUINT), ==, 900);

  fill (self->store);
  at ("2026-03-02T08:00:00Z");
  for (guint i = 0; i < 3; i++)
    assert_refused (try (self, "0000", error), EF_ERROR_PIN, "this isn't the PIN");
  assert_refused (try (self, "4711", error), EF_ERROR_PIN, "too many wrong PINs: wait 5 s");
  at ("2026-03-02T08:00:04Z");
  assert_refused (try (self, "4711", error), EF_ERROR_PIN, "wait 1 s");
  /* Being told to wait costs nothing: it ends when it was said to. */
  at ("2026-03-02T08:00:05Z");
  assert_refused (try (self, "0000", error), EF_ERROR_PIN, "this isn't the PIN");
  at ("2026-03-02T08:00:14Z");
  assert_refused (try (self, "4711", error), EF_ERROR_PIN, "wait 1 s");

  /* Closing the program doesn't help. */
  ef_store_close (self->store);
  self->store = open_store (self->path);
  assert_refused (try (self, "4711", error), EF_ERROR_PIN, "wait 1 s");
  at ("2026-03-02T08:00:15Z");
  assert_done (try (self, "4711", error));
  /* From the beginning again. */
  for (guint i = 0; i < 3; i++)
    assert_refused (try (self, "0000", error), EF_ERROR_PIN, "this isn't the PIN");
  assert_refused (try (self, "0000", error), EF_ERROR_PIN, "wait 5 s");

  /* A clock set back by a year neither lets one in nor locks one out for a year. */
  at ("2025-03-02T08:00:00Z");
  assert_refused (try (self, "4711", error), EF_ERROR_PIN, "wait 5 s");
  at ("2025-03-02T08:00:05Z");
  assert_done (try (self, "4711", error));
  /* The others aren't held up meanwhile, and the owner's setting of a PIN clears theirs. */
  assert_done (ef_store_authorise (self->store, &(EfWho){ "bench 2", NULL }, EF_ACT_SIGN, error));
}

/* Counted before it's looked at: a second window gets no further tries. */
static void
test_two_windows (Fixture *self,
                  gconstpointer unused)
{
  g_autoptr (EfStore) second = NULL;

  fill (self->store);
  second = open_store (self->path);
  at ("2026-03-02T08:00:00Z");
  assert_refused (try (self, "0000", error), EF_ERROR_PIN, "this isn't the PIN");
  assert_refused (ef_store_authorise (second, &(EfWho){ "owner", "0001" }, EF_ACT_ROLES, error), EF_ERROR_PIN, "this isn't the PIN");
  assert_refused (try (self, "0002", error), EF_ERROR_PIN, "this isn't the PIN");
  assert_refused (ef_store_authorise (second, &owner, EF_ACT_ROLES, error), EF_ERROR_PIN, "wait 5 s");
}

/* In the place of a store with roles only its owner puts a backup; in that of one without, or one that can't be read, anybody. */
static void
test_restore (Fixture *self,
              gconstpointer unused)
{
  g_autofree char *missing = g_build_filename (self->folder, "none.sqlite", NULL);
  g_autofree char *folder = g_build_filename (self->folder, "backups", NULL);
  g_autofree char *backup = NULL;
  EfPermit *permit = NULL;

  assert_done (ef_store_authorise_restore (missing, &nobody, &permit, error));
  g_assert_null (permit);
  assert_done (ef_store_authorise_restore (self->path, &nobody, &permit, error));
  g_assert_null (permit);
  fill (self->store);
  assert_done ((backup = ef_backup_make (self->store, folder, NULL, NULL, NULL, NULL, error)) != NULL);
  assert_done (ef_store_authorise (self->store, &owner, EF_ACT_KEY, error));
  permit = ef_store_permit (self->store);
  g_clear_pointer (&self->store, ef_store_close);
  /* Whoever forgets to ask, or asked for something else, is refused by what would do it. */
  assert_refused (ef_backup_restore (backup, self->path, NULL, NULL, NULL, NULL, NULL, error), EF_ERROR_REFUSED, "expected somebody who may restore a backup to be asked first");
  assert_refused (ef_backup_restore (backup, self->path, permit, NULL, NULL, NULL, NULL, error), EF_ERROR_REFUSED, "may restore a backup");
  g_clear_pointer (&permit, ef_permit_free);
  assert_refused (ef_store_authorise_restore (self->path, &nobody, &permit, error), EF_ERROR_REFUSED, "found none");
  assert_refused (ef_store_authorise_restore (self->path, &(EfWho){ "trainer", NULL }, &permit, error), EF_ERROR_REFUSED, "may not restore a backup");
  assert_refused (ef_store_authorise_restore (self->path, &(EfWho){ "owner", "1111" }, &permit, error), EF_ERROR_PIN, "this isn't the PIN");
  g_assert_null (permit);
  assert_done (ef_store_authorise_restore (self->path, &owner, &permit, error));
  assert_done (ef_backup_restore (backup, self->path, permit, NULL, NULL, NULL, NULL, error));
  g_clear_pointer (&permit, ef_permit_free);
  g_assert_true (g_file_set_contents (self->path, "no store at all", -1, NULL));
  assert_done (ef_store_authorise_restore (self->path, &nobody, &permit, error));
  assert_done (ef_backup_restore (backup, self->path, permit, NULL, NULL, NULL, NULL, error));
}

/* --- The store itself asks ------------------------------------------------------------------------------------------------- */

/* What a caller does, asked or not; one each that the store has. */
typedef struct
{
  EfStore *store;
  EfSealKey *key;
  gint64 job;
  char *folder;
  guint n; /* of calls, so that each says something new */
} Caller;
typedef gboolean (*Call) (Caller *caller, const char *role, GError **error);

static gboolean
withdraw (Caller *caller,
          const char *role,
          GError **error)
{
  return ef_store_withdraw (caller->store, caller->job, role, "entered twice", error);
}

static gboolean
reinstate (Caller *caller,
           const char *role,
           GError **error)
{
  return ef_store_reinstate (caller->store, caller->job, role, "it wasn't", error);
}

static gboolean
seal (Caller *caller,
      const char *role,
      GError **error)
{
  return ef_seal_job (caller->store, caller->job, &(EfSealInput){ .role = role }, caller->key, error) > 0;
}

static gboolean
revise (Caller *caller,
        const char *role,
        GError **error)
{
  return ef_store_open_revision (caller->store, caller->job, role, "measured again", error);
}

static gboolean
change (Caller *caller,
        const EfItemClass *klass,
        const char *id,
        const char *role,
        GError **error)
{
  g_autoptr (EfDocument) document = ef_store_open_document (caller->store, caller->job, NULL);
  g_autoptr (EfItem) item = ef_item_new (klass, id);
  const EfItem *before = ef_inspection_find (ef_document_inspection (document), klass->kind, id);
  g_autofree char *words = g_strdup_printf ("call %u", ++caller->n);

  if (klass == &ef_override_class)
    {
      ((EfOverride *) item)->verdict = g_strdup ("rework");
      ((EfOverride *) item)->reason = g_strdup (words);
      ((EfOverride *) item)->role = g_strdup (role);
    }
  else
    {
      ((EfTick *) item)->note = g_strdup (words);
      ((EfTick *) item)->role = g_strdup (role);
    }

  return ef_document_replace (document, "Set", (gpointer) before, item, error);
}

static gboolean
set_by_hand (Caller *caller,
             const char *role,
             GError **error)
{
  return change (caller, &ef_override_class, "part:separator", role, error);
}

static gboolean
sign_off (Caller *caller,
          const char *role,
          GError **error)
{
  return change (caller, &ef_tick_class, EF_SIGN_OFF_ID, role, error);
}

static gboolean
put_sheet (Caller *caller,
           const char *role,
           GError **error)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-27.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);

  return ef_store_put_sheet (caller->store, sheet, error);
}

static gboolean
put_lesson (Caller *caller,
            const char *role,
            GError **error)
{
  g_autofree char *body = g_strdup_printf ("{\"reference\": %u}", ++caller->n);
  const EfLessonRow row = { .name = (char *) "l-1", .digest = body, .title = (char *) "Grooves", .pump = (char *) "HL-24", .role = (char *) role, .whole = TRUE, .body = body };

  return ef_store_put_lesson (caller->store, &row, error);
}

static gboolean
undo_lesson (Caller *caller,
             const char *role,
             GError **error)
{
  return ef_store_undo_lesson (caller->store, "l-1", role, error);
}

static gboolean
redo_lesson (Caller *caller,
             const char *role,
             GError **error)
{
  return ef_store_redo_lesson (caller->store, "l-1", role, error);
}

static gboolean
export_key (Caller *caller,
            const char *role,
            GError **error)
{
  g_autofree char *path = g_build_filename (caller->folder, "key.json", NULL);

  return ef_seal_key_export (caller->store, path, error);
}

static gboolean
restore_key (Caller *caller,
             const char *role,
             GError **error)
{
  g_autofree char *path = g_build_filename (caller->folder, "key.json", NULL);
  g_autoptr (EfSealKey) key = ef_seal_key_restore (caller->store, path, "brass and oil", error);

  return key != NULL;
}

static gboolean
set_passphrase (Caller *caller,
                const char *role,
                GError **error)
{
  return ef_seal_key_set_passphrase (caller->store, caller->key, "brass and oil", &ef_seal_strength_least, error);
}

static gboolean
change_key (Caller *caller,
            const char *role,
            GError **error)
{
  EfSealKey *key = ef_seal_key_change (caller->store, caller->key, "brass and oil", &ef_seal_strength_least, role, "a new year", error);

  if (key == NULL)
    return FALSE;
  ef_seal_key_free (caller->key);
  caller->key = key;

  return TRUE;
}

static gboolean
make_key (Caller *caller,
          const char *role,
          GError **error)
{
  caller->key = ef_seal_key_make (caller->store, "brass and oil", &ef_seal_strength_least, role, error);

  return caller->key != NULL;
}

/* In an order in which each can be done. */
static const struct
{
  EfAct act;
  Call call;
} calls[] = {
  { EF_ACT_SIGN, make_key }, { EF_ACT_OVERRIDE, set_by_hand }, { EF_ACT_SIGN, sign_off }, { EF_ACT_SIGN, seal }, { EF_ACT_REVISE, revise }, { EF_ACT_WITHDRAW, withdraw },
  { EF_ACT_WITHDRAW, reinstate }, { EF_ACT_SHEETS, put_sheet }, { EF_ACT_LESSONS, put_lesson }, { EF_ACT_LESSONS, undo_lesson }, { EF_ACT_LESSONS, redo_lesson },
  { EF_ACT_KEY, export_key }, { EF_ACT_KEY, restore_key }, { EF_ACT_KEY, set_passphrase }, { EF_ACT_KEY, change_key },
};

static void
caller_start (Caller *caller,
              Fixture *fixture)
{
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (EfInspection) inspection = ef_exchange_load (path, NULL);

  *caller = (Caller) { .store = fixture->store, .folder = fixture->folder };
  caller->job = ef_store_add (fixture->store, inspection, NULL);
  g_assert_cmpint (caller->job, >, 0);
  /* A new lesson may be anybody's. */
  assert_done (put_lesson (caller, NULL, error));
}

/* All that is kept but the list of roles, in which each try of a PIN leaves its trace, and the file of the key. */
static char *
everything (Caller *caller)
{
  g_autoptr (GString) all = g_string_new (NULL);
  g_autofree char *path = g_build_filename (caller->folder, "key.json", NULL);
  g_autofree char *key = NULL;

  for (guint i = 0; i < G_N_ELEMENTS (store_tables); i++)
    if (!g_str_equal (store_tables[i], "role"))
      {
        g_autofree char *digest = store_table_digest (caller->store, store_tables[i]);

        g_string_append_printf (all, "%s %s\n", store_tables[i], digest);
      }
  g_file_get_contents (path, &key, NULL, NULL);
  g_string_append (all, key != NULL ? key : "no key");

  return g_string_free (g_steal_pointer (&all), FALSE);
}

static void
assert_nothing_done (Caller *caller,
                     const char *before)
{
  g_autofree char *now = everything (caller);

  g_assert_cmpstr (now, ==, before);
}

/* A caller that forgot to ask gets nowhere; one who asked for something else, or in another's name, neither; what was allowed is allowed once. */
static void
test_permit (Fixture *self,
             gconstpointer unused)
{
  Caller caller;

  caller_start (&caller, self);
  fill (self->store);
  for (guint i = 0; i < G_N_ELEMENTS (calls); i++)
    {
      EfAct act = calls[i].act, other = act == EF_ACT_ROLES ? EF_ACT_KEY : EF_ACT_ROLES;
      g_autofree char *before = everything (&caller);

      assert_refused (calls[i].call (&caller, "owner", error), EF_ERROR_REFUSED, ef_act_words (act));
      assert_done (ef_store_authorise (self->store, &owner, other, error));
      assert_refused (calls[i].call (&caller, "owner", error), EF_ERROR_REFUSED, ef_act_words (act));
      /* a check that failed leaves nothing behind */
      assert_done (ef_store_authorise (self->store, &owner, act, error));
      assert_refused (ef_store_authorise (self->store, &(EfWho){ "owner", "0000" }, act, error), EF_ERROR_PIN, "this isn't the PIN");
      assert_refused (calls[i].call (&caller, "owner", error), EF_ERROR_REFUSED, ef_act_words (act));
      assert_nothing_done (&caller, before);
      assert_done (ef_store_authorise (self->store, &owner, act, error));
      assert_done (calls[i].call (&caller, "owner", error));
      g_assert_null (ef_store_permit (self->store));
    }
  ef_seal_key_free (caller.key);
}

/* In the history stands who was asked, nobody else. The acts on the key but for a new one, and those on sheets, name nobody. */
static void
test_permit_name (Fixture *self,
                  gconstpointer unused)
{
  static const Call nameless[] = { put_sheet, export_key, restore_key, set_passphrase };
  Caller caller;

  caller_start (&caller, self);
  fill (self->store);
  for (guint i = 0; i < G_N_ELEMENTS (calls); i++)
    {
      g_autofree char *before = everything (&caller);
      gboolean named = TRUE;

      for (guint k = 0; k < G_N_ELEMENTS (nameless); k++)
        named = named && calls[i].call != nameless[k];
      assert_done (ef_store_authorise (self->store, &owner, calls[i].act, error));
      if (named)
        {
          assert_refused (calls[i].call (&caller, "desk", error), EF_ERROR_REFUSED, "expected owner, who was asked, found “desk”");
          assert_nothing_done (&caller, before);
        }
      assert_done (calls[i].call (&caller, "owner", error));
    }
  ef_seal_key_free (caller.key);
}

/* A kind of role through all the acts: what it may is done, what it may not is refused and nothing written; then the owner does it, so that the next can be tried. */
static void
test_each_kind (Fixture *self,
                gconstpointer data)
{
  const guint k = GPOINTER_TO_UINT (data);
  const EfWho who = { names[k], k == EF_ROLE_OWNER ? "4711" : NULL };
  Caller caller;

  caller_start (&caller, self);
  fill (self->store);
  for (guint i = 0; i < G_N_ELEMENTS (calls); i++)
    {
      EfAct act = calls[i].act;

      if (table[act].may[k] == 'y')
        {
          assert_done (ef_store_authorise (self->store, &who, act, error));
          assert_done (calls[i].call (&caller, names[k], error));
        }
      else
        {
          g_autofree char *before = everything (&caller);

          assert_refused (ef_store_authorise (self->store, &who, act, error), EF_ERROR_REFUSED, table[act].words);
          assert_refused (calls[i].call (&caller, names[k], error), EF_ERROR_REFUSED, ef_act_words (act));
          assert_nothing_done (&caller, before);
          assert_done (ef_store_authorise (self->store, &owner, act, error));
          assert_done (calls[i].call (&caller, "owner", error));
        }
    }
  ef_seal_key_free (caller.key);
}

/* The list itself: each way to change it asks for the owner, and nothing is written for another. */
static void
test_each_list (Fixture *self,
                gconstpointer unused)
{
  EfStore *store = self->store;

  fill (store);
  for (guint k = 0; k < EF_N_ROLE_KINDS; k++)
    {
      const EfWho who = { names[k], k == EF_ROLE_OWNER ? "4711" : NULL };
      const char *mate = k == EF_ROLE_BENCH ? "trainer" : "bench 2";
      g_autofree char *roles = store_table_digest (store, "role");
      g_autofree char *changes = store_table_digest (store, "role_change");
      g_autofree char *roles_now = NULL;
      g_autofree char *changes_now = NULL;

      if (k == EF_ROLE_OWNER)
        {
          assert_done (ef_store_add_role (store, "bench 3", EF_ROLE_BENCH, &who, error));
          assert_done (ef_store_change_role (store, "bench 3", EF_ROLE_CLERK, &who, error));
          assert_done (ef_store_set_pin (store, "bench 3", "1234", &ef_seal_strength_least, &who, error));
          assert_done (ef_store_remove_role (store, "bench 3", "left", &who, error));
          continue;
        }
      assert_refused (ef_store_add_role (store, "bench 3", EF_ROLE_BENCH, &who, error), EF_ERROR_REFUSED, table[EF_ACT_ROLES].words);
      assert_refused (ef_store_change_role (store, mate, EF_ROLE_CLERK, &who, error), EF_ERROR_REFUSED, table[EF_ACT_ROLES].words);
      assert_refused (ef_store_set_pin (store, mate, "1234", &ef_seal_strength_least, &who, error), EF_ERROR_REFUSED, table[EF_ACT_ROLES].words);
      assert_refused (ef_store_remove_role (store, mate, "left", &who, error), EF_ERROR_REFUSED, table[EF_ACT_ROLES].words);
      roles_now = store_table_digest (store, "role");
      changes_now = store_table_digest (store, "role_change");
      g_assert_cmpstr (roles_now, ==, roles);
      g_assert_cmpstr (changes_now, ==, changes);
    }
}

/* What was allowed counts by the list as it is when it's done. */
static void
test_permit_list_changed (Fixture *self,
                          gconstpointer unused)
{
  g_autoptr (EfPermit) permit = NULL;
  Caller caller;

  caller_start (&caller, self);
  fill (self->store);
  assert_done (ef_store_authorise (self->store, &(EfWho){ "trainer", NULL }, EF_ACT_LESSONS, error));
  permit = ef_store_permit (self->store);
  ef_store_use_permit (self->store, permit);
  assert_done (put_lesson (&caller, "trainer", error));
  assert_done (ef_store_change_role (self->store, "trainer", EF_ROLE_CLERK, &owner, error));
  ef_store_use_permit (self->store, permit);
  assert_refused (put_lesson (&caller, "trainer", error), EF_ERROR_REFUSED, "trainer, as clerk, may not change a lesson");
  assert_done (ef_store_remove_role (self->store, "trainer", "left", &owner, error));
  ef_store_use_permit (self->store, permit);
  assert_refused (put_lesson (&caller, "trainer", error), EF_ERROR_REFUSED, "found “trainer”");
}

static void
test_permit_free (Fixture *self,
                  gconstpointer unused)
{
  Caller caller;

  caller_start (&caller, self);
  for (guint i = 0; i < G_N_ELEMENTS (calls); i++)
    assert_done (calls[i].call (&caller, "whoever", error));
  ef_seal_key_free (caller.key);
}

/* Work that goes on in another store of the same file takes it along, for each of its steps. */
static void
test_permit_copy (Fixture *self,
                  gconstpointer unused)
{
  g_autoptr (EfStore) second = NULL;
  g_autoptr (EfPermit) permit = NULL;
  Caller caller;

  caller_start (&caller, self);
  fill (self->store);
  second = open_store (self->path);
  assert_done (ef_store_authorise (self->store, &(EfWho){ "bench 2", NULL }, EF_ACT_SIGN, error));
  permit = ef_store_permit (self->store);
  g_assert_cmpstr (ef_permit_role (permit), ==, "bench 2");
  assert_done (sign_off (&caller, "bench 2", error));
  caller.store = second;
  assert_refused (make_key (&caller, "bench 2", error), EF_ERROR_REFUSED, "sign off and seal");
  ef_store_use_permit (second, permit);
  assert_done (make_key (&caller, "bench 2", error));
  assert_refused (seal (&caller, "bench 2", error), EF_ERROR_REFUSED, "sign off and seal");
  ef_store_use_permit (second, permit);
  assert_done (seal (&caller, "bench 2", error));
  ef_seal_key_free (caller.key);
}

/* Undo isn't asked for, nor what has no act of its own; in an attempt at a lesson the verdicts are the apprentice's. */
static void
test_permit_not_needed (Fixture *self,
                        gconstpointer unused)
{
  g_autoptr (EfDocument) document = NULL;
  g_autoptr (EfItem) item = ef_item_new (&ef_override_class, "part:separator");
  g_autoptr (EfItem) tick = ef_item_new (&ef_tick_class, "strip:rinse");
  g_autoptr (EfInspection) kept = NULL;
  Caller caller;

  caller_start (&caller, self);
  fill (self->store);
  kept = ef_store_load (self->store, caller.job, NULL);
  ((EfOverride *) item)->verdict = g_strdup ("rework");
  ((EfOverride *) item)->reason = g_strdup ("seen on the lathe");
  document = ef_store_open_document (self->store, caller.job, NULL);
  assert_done (ef_document_add (document, "A tick", tick, error));
  assert_done (ef_store_authorise (self->store, &owner, EF_ACT_OVERRIDE, error));
  assert_done (ef_document_add (document, "Set by hand", item, error));
  assert_done (ef_document_undo (document, error));
  assert_done (ef_document_redo (document, error));
  assert_refused (ef_document_remove (document, "Back", item, error), EF_ERROR_REFUSED, "set a verdict by hand");

  caller.job = ef_store_add_attempt (self->store, "d", "Grooves", "apprentice 1", kept, NULL, NULL, NULL);
  g_assert_cmpint (caller.job, >, 0);
  assert_done (set_by_hand (&caller, "apprentice 1", error));
}

/* The history of a job notes who is at work; otherwise the role of the job's own header. */
static void
test_at_work (Fixture *self,
              gconstpointer unused)
{
  static const char *const expected[] = { "", "bench 2", "", "desk" };
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (EfInspection) inspection = ef_exchange_load (path, NULL);
  g_autoptr (GPtrArray) history = NULL;
  g_autoptr (EfDocument) document = NULL;
  const char *own = ef_inspection_header (inspection)->role;
  gint64 job = ef_store_add (self->store, inspection, NULL);

  g_assert_cmpint (job, >, 0);
  g_assert_cmpstr (own, !=, "bench 2");
  document = ef_store_open_document (self->store, job, NULL);
  for (guint i = 1; i < G_N_ELEMENTS (expected); i++)
    {
      EfGauge *gauge = ef_gauge_default (EF_GAUGE_DIAL);
      EfChange *change = ef_change_new ("A gauge");

      ef_store_use_role (self->store, *expected[i] != '\0' ? expected[i] : NULL);
      ef_change_add (change, NULL, gauge);
      ef_item_unref (gauge);
      assert_done (ef_document_apply (document, change, error));
    }
  history = ef_store_history (self->store, job, NULL);
  g_assert_cmpuint (history->len, ==, G_N_ELEMENTS (expected));
  for (guint i = 0; i < history->len; i++)
    g_assert_cmpstr (((EfHistoryRow *) history->pdata[i])->role, ==, *expected[i] != '\0' ? expected[i] : own);
}

/* Rows are only added, and say who did what to whom; no PIN stands in them. */
static void
test_history (Fixture *self,
              gconstpointer unused)
{
  static const char *const expected[] = {
    "|owner|Added as owner", "owner|owner|PIN set", "owner|bench 2|Added as bench", "owner|trainer|Added as trainer",
    "owner|desk|Added as clerk", "owner|desk|From clerk to bench", "owner|desk|Removed: moved away", "owner|desk|Added as clerk",
  };
  g_autoptr (GPtrArray) history = NULL;
  g_autoptr (GPtrArray) roles = NULL;
  g_autoptr (GError) problem = NULL;

  fill (self->store);
  assert_done (ef_store_change_role (self->store, "desk", EF_ROLE_BENCH, &owner, error));
  assert_done (ef_store_remove_role (self->store, "desk", "moved away", &owner, error));
  assert_refused (ef_store_authorise (self->store, &(EfWho){ "desk", NULL }, EF_ACT_SIGN, error), EF_ERROR_REFUSED, "found “desk”");
  roles = ef_store_roles (self->store, TRUE, &problem);
  g_assert_cmpuint (roles->len, ==, 4);
  g_assert_cmpstr (((EfRole *) roles->pdata[3])->removed, ==, "moved away");
  assert_done (ef_store_add_role (self->store, "desk", EF_ROLE_CLERK, &owner, error));
  history = ef_store_role_history (self->store, &problem);
  g_assert_no_error (problem);
  g_assert_cmpuint (history->len, ==, G_N_ELEMENTS (expected));
  for (guint i = 0; i < history->len; i++)
    {
      const EfHistoryRow *row = history->pdata[i];
      g_autofree char *text = g_strdup_printf ("%s|%s|%s", row->role, row->bench, row->label);

      g_assert_cmpstr (text, ==, expected[i]);
    }
  g_assert_false (ef_sql_exec (&self->store->sql, "DELETE FROM role_change", NULL));
  g_assert_false (ef_sql_exec (&self->store->sql, "UPDATE role_change SET by = 'desk'", NULL));
  g_assert_false (ef_sql_exec (&self->store->sql, "DELETE FROM role", NULL));
}

static guint
mode_of (const char *path)
{
  struct stat info;

  g_assert_cmpint (stat (path, &info), ==, 0);

  return info.st_mode & 07777;
}

/* Whatever the user's mask: the store, its companions and its backups are the user's alone; one that isn't is told of. */
static void
test_modes (Fixture *self,
            gconstpointer unused)
{
  g_autofree char *wal = g_strconcat (self->path, "-wal", NULL);
  g_autofree char *backups = g_build_filename (self->folder, "backups", NULL);
  g_autofree char *copy = NULL;
  g_autoptr (GError) problem = NULL;
  g_autofree char *warning = NULL;
  g_autofree char *readable = NULL;
  mode_t mask = umask (0);

  ef_store_close (self->store);
  g_unlink (self->path);
  self->store = open_store (self->path);
  fill (self->store);
  g_assert_cmphex (mode_of (self->path), ==, 0600);
  g_assert_cmphex (mode_of (wal), ==, 0600);
  copy = ef_backup_make (self->store, backups, NULL, NULL, NULL, NULL, &problem);
  g_assert_no_error (problem);
  g_assert_cmphex (mode_of (copy), ==, 0600);
  umask (mask);
  g_assert_null (ef_store_access_warning (self->path));
  g_assert_cmpint (g_chmod (self->path, 0664), ==, 0);
  warning = ef_store_access_warning (self->path);
  g_assert_nonnull (strstr (warning, "can be changed by others on this computer (mode 0664)"));
  g_assert_cmpint (g_chmod (self->path, 0640), ==, 0);
  readable = ef_store_access_warning (self->path);
  g_assert_nonnull (strstr (readable, "can be read by others on this computer (mode 0640)"));
}

#define KIND(path, kind) g_test_add ("/record/roles/each/" path, Fixture, GUINT_TO_POINTER (kind), set_up, test_each_kind, tear_down)
#define CASE(path, function) g_test_add ("/record/roles/" path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  CASE ("without", test_without);
  CASE ("acts", test_acts);
  CASE ("owner", test_owner);
  CASE ("hash", test_hash);
  CASE ("pins", test_pins);
  CASE ("lost", test_lost);
  CASE ("throttle", test_throttle);
  CASE ("two-windows", test_two_windows);
  CASE ("restore", test_restore);
  KIND ("bench", EF_ROLE_BENCH);
  KIND ("trainer", EF_ROLE_TRAINER);
  KIND ("clerk", EF_ROLE_CLERK);
  KIND ("owner", EF_ROLE_OWNER);
  CASE ("each/list", test_each_list);
  CASE ("permit", test_permit);
  CASE ("permit/name", test_permit_name);
  CASE ("permit/list-changed", test_permit_list_changed);
  CASE ("permit/free", test_permit_free);
  CASE ("permit/copy", test_permit_copy);
  CASE ("permit/not-needed", test_permit_not_needed);
  CASE ("at-work", test_at_work);
  CASE ("history", test_history);
  CASE ("modes", test_modes);
  return g_test_run ();
}
