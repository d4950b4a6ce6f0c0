/* Kill -9 at any moment: no confirmed edit is lost, and the file is sound.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A child opens the job and ticks numbered steps, changes and undoes, in an endless loop, and says over a pipe how many commands
 * are confirmed. It's killed at a random moment; the store must then hold a whole number of commands, at least as
 * many as were confirmed and at most one more (the one under way). Rounds: $ENDFLOAT_KILL_ROUNDS; if not set 30, with -m slow 300.
 */
#include "../inspection/random-inspection.h"

#include "record/ef-store-private.h"

#include <glib/gstdio.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>
#include "../isolate.h"

/* Command @k of the loop; each state tells how many commands led to it. */
static gboolean
do_command (EfDocument *document,
            guint k)
{
  g_autofree char *id = g_strdup_printf ("step-%u", k);
  g_autoptr (EfItem) tick = ef_item_new (&ef_tick_class, id);
  g_autoptr (EfItem) header = ef_item_copy (ef_inspection_header (ef_document_inspection (document)));
  EfChange *change = ef_change_new ("Tick");

  /* Two items in one command: never one without the other. */
  g_free (((EfJobHeader *) header)->note);
  ((EfJobHeader *) header)->note = g_strdup_printf ("%u", k);
  ((EfTick *) tick)->note = g_strnfill (1 + k * 37 % 3000, 'x');
  ef_change_add (change, NULL, tick);
  ef_change_add (change, (gpointer) ef_inspection_header (ef_document_inspection (document)), header);

  return ef_document_apply (document, change, NULL);
}

static guint
commands_done (const EfInspection *inspection)
{
  const char *note = ef_inspection_header (inspection)->note;

  return note != NULL ? (guint) atoi (note) : 0;
}

static void
run_child (const char *path,
           gint64 job,
           int report)
{
  EfStore *store = ef_store_open (path, NULL);
  EfDocument *document = store != NULL ? ef_store_open_document (store, job, NULL) : NULL;
  guint k;

  if (document == NULL)
    _exit (1);
  k = commands_done (ef_document_inspection (document));
  for (;;)
    {
      k++;
      if (!do_command (document, k) || write (report, &k, sizeof k) != sizeof k)
        _exit (2);
    }
}

/* Lets the child work for a random time, kills it, and returns the last command it confirmed. */
static guint
kill_one (const char *path,
          gint64 job,
          GRand *rand,
          guint before)
{
  guint confirmed = before;
  int ends[2];
  int status, wanted;
  guint k;
  pid_t child;

  g_assert_cmpint (pipe (ends), ==, 0);
  child = fork ();
  g_assert_cmpint (child, >=, 0);
  if (child == 0)
    {
      close (ends[0]);
      run_child (path, job, ends[1]);
    }

  close (ends[1]);
  /* Some are killed while opening, most after a few commands and somewhere in the next. */
  for (wanted = g_rand_int_range (rand, 0, 7); wanted > 0; wanted--)
    g_assert_cmpint (read (ends[0], &confirmed, sizeof confirmed), ==, sizeof confirmed);
  g_usleep (g_rand_int_range (rand, 0, 20000));
  g_assert_cmpint (kill (child, SIGKILL), ==, 0);
  g_assert_cmpint (waitpid (child, &status, 0), ==, child);
  g_assert_true (WIFSIGNALED (status) && WTERMSIG (status) == SIGKILL);
  while (read (ends[0], &k, sizeof k) == sizeof k)
    confirmed = k;
  close (ends[0]);

  return confirmed;
}

static void
assert_sound (EfStore *store)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (sqlite3_stmt) check = ef_sql_query (&store->sql, &error, "PRAGMA integrity_check", "");
  gint64 broken_keys;

  g_assert_no_error (error);
  g_assert_cmpint (sqlite3_step (check), ==, SQLITE_ROW);
  g_assert_cmpstr ((const char *) sqlite3_column_text (check, 0), ==, "ok");
  g_assert_true (ef_sql_integer (&store->sql, -1, &broken_keys, &error, "SELECT count (*) FROM pragma_foreign_key_check", ""));
  g_assert_cmpint (broken_keys, ==, 0);
}

/* Returns how many commands the store holds. */
static guint
check_store (const char *path,
             gint64 job,
             guint confirmed)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (EfInspection) replayed = NULL;
  g_autoptr (GPtrArray) history = NULL;
  GPtrArray *ticks;
  guint i, done;

  g_assert_no_error (error);
  assert_sound (store);
  inspection = ef_store_load (store, job, &error);
  g_assert_no_error (error);
  done = commands_done (inspection);
  g_assert_cmpuint (done, >=, confirmed);
  g_assert_cmpuint (done, <=, confirmed + 1);

  ticks = inspection->items[EF_ITEM_TICK];
  g_assert_cmpuint (ticks->len, ==, done);
  for (i = 0; i < done; i++)
    {
      g_autofree char *id = g_strdup_printf ("step-%u", i + 1);
      const EfTick *tick = ticks->pdata[i];

      g_assert_cmpstr (tick->item.id, ==, id);
      g_assert_cmpuint (strlen (tick->note), ==, 1 + (i + 1) * 37 % 3000);
    }

  history = ef_store_history (store, job, &error);
  g_assert_cmpuint (history->len, ==, done + 1);
  replayed = ef_store_load_at (store, job, done + 1, &error);
  g_assert_no_error (error);
  assert_same_inspection (inspection, replayed);

  return done;
}

static void
test_kill (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (51);
  g_autofree char *folder = g_dir_make_tmp ("kill-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "jobs.sqlite", NULL);
  g_autoptr (EfPumpSheet) sheet = random_sheet (rand);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, "J-1");
  const char *rounds_text = g_getenv ("ENDFLOAT_KILL_ROUNDS");
  guint rounds = rounds_text != NULL ? (guint) atoi (rounds_text) : g_test_slow () ? 300 : 30;
  EfStore *store = ef_store_open (path, NULL);
  gint64 job = ef_store_add (store, inspection, NULL);
  guint done = 0;
  guint i;

  ef_store_close (store);
  for (i = 0; i < rounds; i++)
    done = check_store (path, job, kill_one (path, job, rand, done));
  g_test_message ("%u commands in %u rounds", done, rounds);
  g_assert_cmpuint (done, >=, 2 * rounds);

  for (i = 0; i < 3; i++)
    {
      static const char *const suffixes[] = { "", "-wal", "-shm" };
      g_autofree char *file = g_strconcat (path, suffixes[i], NULL);

      g_remove (file);
    }
  g_rmdir (folder);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/store/kill-at-any-moment", test_kill);

  return g_test_run ();
}
