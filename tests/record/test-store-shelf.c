/* The shelf in the store: nothing is put twice, nothing is used twice, nothing is forgotten.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "record/ef-exchange.h"
#include "record/ef-store-private.h"
#include "record/ef-store-shelf.h"
#include "shelf/ef-shelf-match.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>
#include "open-store.h"
#include "../isolate.h"

#define ROUNDS 120

typedef struct
{
  char *folder, *path;
  EfStore *store;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  self->folder = g_dir_make_tmp ("shelf-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "jobs.sqlite", NULL);
  self->store = open_store (self->path);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  static const char *const ends[] = { "", "-wal", "-shm" };

  g_clear_pointer (&self->store, ef_store_close);
  for (guint i = 0; i < G_N_ELEMENTS (ends); i++)
    {
      g_autofree char *path = g_strconcat (self->path, ends[i], NULL);

      g_remove (path);
    }
  g_rmdir (self->folder);
  g_free (self->folder);
  g_free (self->path);
}

static GPtrArray *
demo_shelf (void)
{
  g_autofree char *path = ef_data_path ("shelf", "demo.json", NULL);
  g_autoptr (GError) error = NULL;
  GPtrArray *parts = ef_shelf_load (path, &error);

  g_assert_no_error (error);

  return parts;
}

static guint
put_demo (Fixture *self)
{
  g_autoptr (GPtrArray) parts = demo_shelf ();
  g_autoptr (GPtrArray) codes = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_store_shelf_put (self->store, parts, "rebuilder", &codes, &error));
  g_assert_no_error (error);

  return codes->len;
}

static gint64
add_job (Fixture *self)
{
  g_autofree char *path = ef_data_path ("demo", "job-2-rc-4.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_exchange_load (path, &error);
  gint64 job = ef_store_add (self->store, inspection, &error);

  g_assert_no_error (error);

  return job;
}

static void
assert_state (EfStore *store,
              const char *code,
              EfShelfState state,
              const char *holder)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfShelfPart) part = ef_store_shelf_part (store, code, &error);

  g_assert_no_error (error);
  g_assert_cmpint (part->state, ==, state);
  g_assert_cmpstr (part->holder, ==, holder);
}

static void
test_put_once (Fixture *self,
               gconstpointer unused)
{
  g_autoptr (GPtrArray) parts = demo_shelf ();
  g_autoptr (GPtrArray) all = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_cmpuint (put_demo (self), ==, parts->len);
  g_assert_cmpuint (put_demo (self), ==, 0);
  all = ef_store_shelf (self->store, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (all->len, ==, parts->len);
  for (guint i = 0; i < all->len; i++)
    {
      EfShelfPart *kept = all->pdata[i], *given = parts->pdata[i];

      g_assert_cmpint (kept->state, ==, given->state);
      g_assert_cmpint (kept->kind, ==, given->kind);
      g_assert_cmpstr (kept->part->from_job, ==, given->part->from_job);
      g_assert_cmpuint (kept->part->marks->len, ==, given->part->marks->len);
      g_assert_true ((kept->part->pair != NULL) == (given->part->pair != NULL));
    }
  /* Mates have one code, others another. */
  g_assert_cmpstr (((EfShelfPart *) all->pdata[0])->part->pair, ==, ((EfShelfPart *) all->pdata[1])->part->pair);
  g_assert_cmpstr (((EfShelfPart *) all->pdata[0])->part->pair, !=, ((EfShelfPart *) all->pdata[2])->part->pair);
}

static guint
count (Fixture *self,
       EfShelfQuery query)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) found = ef_store_shelf (self->store, &query, &error);

  g_assert_no_error (error);
  g_assert_cmpint (ef_store_shelf_count (self->store, &query, &error), ==, found->len);

  return found->len;
}

static void
test_search (Fixture *self,
             gconstpointer unused)
{
  g_autoptr (GPtrArray) models = NULL;
  g_autoptr (GError) error = NULL;

  put_demo (self);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .model = "RC-4" }), ==, 14);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .model = "RC-4", .kind = "gear" }), ==, 11);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .state = "withdrawn" }), ==, 1);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .state = "reserved" }), ==, 2);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .text = "CHIPPED corner" }), ==, 1);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .text = "j-0391" }), ==, 4);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .text = "j-0409" }), ==, 2);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .text = "cracked 50%" }), ==, 0);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .quantity = "face-width", .size_min = 28.0205e-3, .size_max = NAN, .model = "RC-4" }), ==, 1);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .quantity = "face-width", .size_min = 27.9e-3, .size_max = 27.97e-3 }), ==, 2);
  g_assert_cmpuint (count (self, (EfShelfQuery) { .material = "cast-iron" }), >=, 2);
  models = ef_store_shelf_values (self->store, "model", &error);
  g_assert_cmpuint (models->len, ==, 4);
  g_assert_null (ef_store_shelf_part (self->store, "S-9999", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
}

static void
test_moves (Fixture *self,
            gconstpointer unused)
{
  g_autoptr (GPtrArray) events = NULL;
  g_autoptr (GError) error = NULL;

  put_demo (self);
  g_assert_false (ef_store_shelf_move (self->store, "S-0001", EF_SHELF_RESERVE, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_true (ef_store_shelf_move (self->store, "S-0001", EF_SHELF_RESERVE, "J-1", NULL, "rebuilder", &error));
  g_assert_no_error (error);
  assert_state (self->store, "S-0002", EF_SHELF_RESERVED, "J-1"); /* the mate too */
  g_assert_false (ef_store_shelf_move (self->store, "S-0002", EF_SHELF_RESERVE, "J-2", NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_assert_nonnull (strstr (error->message, "Reserved for J-1"));
  g_clear_error (&error);
  g_assert_true (ef_store_shelf_return (self->store, "S-0002", "not needed", NULL, &error));
  assert_state (self->store, "S-0001", EF_SHELF_FREE, NULL);
  g_assert_false (ef_store_shelf_move (self->store, "S-0001", EF_SHELF_WITHDRAW, NULL, "", NULL, &error));
  g_clear_error (&error);
  g_assert_true (ef_store_shelf_move (self->store, "S-0001", EF_SHELF_WITHDRAW, NULL, "rusty", "rebuilder", &error));
  assert_state (self->store, "S-0002", EF_SHELF_WITHDRAWN, NULL);
  g_assert_false (ef_store_shelf_move (self->store, "S-0001", EF_SHELF_RESERVE, "J-1", NULL, NULL, &error));
  g_clear_error (&error);
  g_assert_true (ef_store_shelf_move (self->store, "S-0001", EF_SHELF_RESTORE, NULL, "cleaned", NULL, &error));
  events = ef_store_shelf_history (self->store, "S-0001", &error);
  g_assert_no_error (error);
  g_assert_cmpuint (events->len, ==, 5);
  g_assert_cmpstr (((EfShelfEvent *) events->pdata[0])->label, ==, "Put on the shelf from J-0391");
  g_assert_cmpstr (((EfShelfEvent *) events->pdata[1])->label, ==, "Reserved for J-1");
  g_assert_cmpstr (((EfShelfEvent *) events->pdata[3])->label, ==, "Withdrawn: rusty");
  g_assert_cmpstr (((EfShelfEvent *) events->pdata[3])->role, ==, "rebuilder");
  g_assert_false (ef_sql_exec (&self->store->sql, "DELETE FROM shelf_change", NULL));
  g_assert_false (ef_sql_exec (&self->store->sql, "UPDATE shelf_change SET label = 'x'", NULL));
  g_assert_false (ef_sql_exec (&self->store->sql, "DELETE FROM shelf", NULL));
}

static void
test_use_and_undo (Fixture *self,
                   gconstpointer unused)
{
  g_autoptr (EfStore) other = NULL;
  g_autoptr (EfDocument) document = NULL;
  g_autoptr (GPtrArray) unit = NULL;
  g_autoptr (EfInspection) reloaded = NULL;
  g_autoptr (GError) error = NULL;
  gint64 job = add_job (self);

  put_demo (self);
  other = open_store (self->path);
  g_assert_true (ef_store_shelf_move (self->store, "S-0001", EF_SHELF_RESERVE, "J-0418", NULL, NULL, &error));
  document = ef_store_open_document (self->store, job, &error);
  unit = ef_store_shelf_unit (self->store, "S-0001", &error);
  g_assert_no_error (error);
  g_assert_true (ef_document_apply (document, ef_shelf_use_change (ef_document_inspection (document), unit), &error));
  g_assert_no_error (error);
  assert_state (other, "S-0001", EF_SHELF_USED, "J-0418");
  assert_state (other, "S-0002", EF_SHELF_USED, "J-0418");
  reloaded = ef_store_load (other, job, &error);
  g_assert_cmpuint (reloaded->items[EF_ITEM_REPLACEMENT]->len, ==, 2);
  g_assert_true (ef_inspection_equal (reloaded, ef_document_inspection (document)));

  /* Undone it's free; taken by another window, it can't be done again. */
  g_assert_true (ef_document_undo (document, &error));
  assert_state (other, "S-0001", EF_SHELF_FREE, NULL);
  g_assert_true (ef_store_shelf_move (other, "S-0002", EF_SHELF_RESERVE, "J-0500", NULL, NULL, &error));
  g_assert_false (ef_document_redo (document, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_clear_error (&error);
  g_assert_cmpuint (ef_document_inspection (document)->items[EF_ITEM_REPLACEMENT]->len, ==, 0);
  g_assert_true (ef_store_shelf_return (other, "S-0001", NULL, NULL, &error));
  g_assert_true (ef_document_redo (document, &error));
  g_assert_no_error (error);
  assert_state (other, "S-0002", EF_SHELF_USED, "J-0418");

  /* Brought back from the shelf's side: the job's record follows. */
  g_assert_true (ef_store_shelf_return (other, "S-0002", NULL, NULL, &error));
  g_assert_no_error (error);
  assert_state (self->store, "S-0001", EF_SHELF_FREE, NULL);
  g_clear_pointer (&reloaded, ef_inspection_free);
  reloaded = ef_store_load (self->store, job, &error);
  g_assert_cmpuint (reloaded->items[EF_ITEM_REPLACEMENT]->len, ==, 0);
}

static void
test_one_mate_alone (Fixture *self,
                     gconstpointer unused)
{
  g_autoptr (EfDocument) document = NULL;
  g_autoptr (GPtrArray) unit = NULL;
  g_autoptr (GError) error = NULL;
  gint64 job = add_job (self);

  put_demo (self);
  document = ef_store_open_document (self->store, job, &error);
  unit = ef_store_shelf_unit (self->store, "S-0003", &error);
  g_assert_cmpuint (unit->len, ==, 2);
  g_ptr_array_remove_index (unit, 1);
  g_assert_false (ef_document_apply (document, ef_shelf_use_change (ef_document_inspection (document), unit), &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  assert_state (self->store, "S-0003", EF_SHELF_FREE, NULL);
}

/* A job from elsewhere that names a code of this shelf moves nothing. */
static void
test_foreign_job (Fixture *self,
                  gconstpointer unused)
{
  g_autofree char *path = ef_data_path ("demo", "job-2-rc-4.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_exchange_load (path, &error);
  g_autoptr (EfInspection) again = NULL;
  g_autoptr (EfDocument) document = NULL;
  g_autofree char *text = NULL;
  g_autoptr (GPtrArray) unit = NULL;
  gint64 job;

  put_demo (self);
  unit = ef_store_shelf_unit (self->store, "S-0001", &error);
  document = ef_document_new (g_steal_pointer (&inspection));
  g_assert_true (ef_document_apply (document, ef_shelf_use_change (ef_document_inspection (document), unit), &error));
  text = ef_exchange_write (ef_document_inspection (document));
  again = ef_exchange_parse (text, -1, "again", &error);
  g_assert_no_error (error);
  g_assert_true (ef_inspection_equal (again, ef_document_inspection (document)));
  job = ef_store_add (self->store, again, &error);
  g_assert_no_error (error);
  g_assert_cmpint (job, >, 0);
  assert_state (self->store, "S-0001", EF_SHELF_FREE, NULL);
}

/* One of two processes: waits for the shout, reaches for the part, says by its exit code whether it got it. */
static G_NORETURN void
compete (const char *path,
         const char *code,
         const char *job,
         int shout)
{
  g_autoptr (GError) error = NULL;
  EfStore *store = ef_store_open (path, &error);
  gboolean got;
  char byte;

  if (store == NULL || read (shout, &byte, 1) < 0)
    _exit (3);
  got = ef_store_shelf_move (store, code, EF_SHELF_RESERVE, job, NULL, NULL, &error);
  ef_store_close (store);
  _exit (got ? 0 : g_error_matches (error, EF_ERROR, EF_ERROR_BUSY) ? 1 : 2);
}

static void
test_two_processes (Fixture *self,
                    gconstpointer unused)
{
  guint wins[2] = { 0, 0 };

  put_demo (self);
  for (guint round = 0; round < ROUNDS; round++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (EfShelfPart) part = NULL;
      int shout[2], status[2];
      pid_t child[2];

      g_clear_pointer (&self->store, ef_store_close);
      g_assert_cmpint (pipe (shout), ==, 0);
      for (int i = 0; i < 2; i++)
        {
          child[i] = fork ();
          if (child[i] == 0)
            {
              close (shout[1]);
              compete (self->path, i == 0 ? "S-0001" : "S-0002", i == 0 ? "J-1" : "J-2", shout[0]);
            }
        }
      close (shout[0]);
      close (shout[1]); /* both wake at the same time */
      for (int i = 0; i < 2; i++)
        {
          g_assert_cmpint (waitpid (child[i], &status[i], 0), ==, child[i]);
          g_assert_true (WIFEXITED (status[i]));
          g_assert_cmpint (WEXITSTATUS (status[i]), <=, 1);
        }
      g_assert_cmpint ((WEXITSTATUS (status[0]) == 0) + (WEXITSTATUS (status[1]) == 0), ==, 1);
      self->store = open_store (self->path);
      part = ef_store_shelf_part (self->store, "S-0001", &error);
      g_assert_cmpstr (part->holder, ==, WEXITSTATUS (status[0]) == 0 ? "J-1" : "J-2");
      wins[WEXITSTATUS (status[0]) == 0 ? 0 : 1]++;
      g_assert_true (ef_store_shelf_return (self->store, "S-0001", NULL, NULL, &error));
    }
  g_test_message ("of %d rounds the first got it %u times, the second %u", ROUNDS, wins[0], wins[1]);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
#define ADD(name, function) g_test_add ("/store-shelf/" name, Fixture, NULL, set_up, function, tear_down)
  ADD ("put-once", test_put_once);
  ADD ("search", test_search);
  ADD ("moves", test_moves);
  ADD ("use-and-undo", test_use_and_undo);
  ADD ("one-mate-alone", test_one_mate_alone);
  ADD ("foreign-job", test_foreign_job);
  ADD ("two-processes", test_two_processes);

  return g_test_run ();
}
