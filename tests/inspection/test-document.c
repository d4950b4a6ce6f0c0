/* The document: commands, undo and redo, and the sink that comes first.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "random-inspection.h"

#include <string.h>
#include "../isolate.h"

typedef struct
{
  guint calls;
  guint fail_at; /* the call that fails; 0 none */
  char *label;
  EfDocument *document; /* to try a change from within */
} Sink;

static gboolean
test_sink (const EfChange *change,
           gpointer user_data,
           GError **error)
{
  Sink *sink = user_data;

  sink->calls++;
  g_free (sink->label);
  sink->label = g_strdup (change->label);
  if (sink->document != NULL)
    {
      g_autoptr (EfItem) tick = ef_item_new (&ef_tick_class, NULL);
      g_autoptr (GError) inner = NULL;

      g_assert_false (ef_document_add (sink->document, "From within", tick, &inner));
      g_assert_error (inner, EF_ERROR, EF_ERROR_BUSY);
    }
  if (sink->calls != sink->fail_at)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_FULL, "store: no room left");

  return FALSE;
}

static EfDocument *
new_document (GRand *rand)
{
  return ef_document_new (random_inspection (rand, 10));
}

static void
count_call (guint *count)
{
  (*count)++;
}

static void
test_labels_and_signals (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);
  EfDocument *document = new_document (rand);
  g_autoptr (EfItem) tick = random_item (rand, ef_document_inspection (document), EF_ITEM_TICK);
  guint64 serial = ef_document_serial (document);
  guint changed = 0, undo_label = 0;
  g_autoptr (GError) error = NULL;
  g_autofree char *label = NULL;
  gboolean can_undo;

  g_signal_connect_swapped (document, "changed", G_CALLBACK (count_call), &changed);
  g_signal_connect_swapped (document, "notify::undo-label", G_CALLBACK (count_call), &undo_label);
  g_assert_false (ef_document_can_undo (document));
  g_assert_cmpstr (ef_document_undo_label (document), ==, "");
  g_assert_false (ef_document_undo (document, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);

  g_assert_true (ef_document_add (document, "Tick step", tick, &error));
  g_object_get (document, "undo-label", &label, "can-undo", &can_undo, NULL);
  g_assert_cmpstr (label, ==, "Tick step");
  g_assert_true (can_undo);
  g_assert_false (ef_document_can_redo (document));
  g_assert_cmpuint (changed, ==, 1);
  g_assert_cmpuint (undo_label, ==, 1);
  g_assert_cmpuint (ef_document_serial (document), >, serial);

  g_assert_true (ef_document_undo (document, &error));
  g_assert_cmpstr (ef_document_redo_label (document), ==, "Tick step");
  g_assert_null (ef_inspection_find (ef_document_inspection (document), EF_ITEM_TICK, tick->id));
  g_assert_true (ef_document_redo (document, &error));
  g_assert_true (ef_inspection_find (ef_document_inspection (document), EF_ITEM_TICK, tick->id) == tick);
  g_assert_true (ef_document_undo (document, &error));
  g_assert_true (ef_document_add (document, "Another", tick, &error));
  g_assert_false (ef_document_can_redo (document));
  g_assert_cmpuint (changed, ==, 5);

  g_assert_finalize_object (document);
}

static void
test_empty_change_refused (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (2);
  EfDocument *document = new_document (rand);
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_document_apply (document, ef_change_new ("Nothing"), &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_finalize_object (document);
}

/* The second edit doesn't fit: the first has no effect either, and the sink never hears of it. */
static void
test_all_or_nothing (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (3);
  EfDocument *document = new_document (rand);
  g_autoptr (EfInspection) before = ef_document_snapshot (document);
  g_autoptr (EfItem) tick = random_item (rand, before, EF_ITEM_TICK);
  g_autoptr (EfItem) bad = ef_item_new (&ef_check_class, "no-such-part");
  EfChange *change = ef_change_new ("Half");
  Sink sink = { 0 };
  g_autoptr (GError) error = NULL;

  ef_document_set_sink (document, test_sink, &sink, NULL);
  ef_change_add (change, NULL, tick);
  ef_change_add (change, NULL, bad);
  g_assert_false (ef_document_apply (document, change, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_assert_cmpuint (sink.calls, ==, 0);
  g_assert_true (ef_inspection_equal (before, ef_document_inspection (document)));
  g_assert_false (ef_document_can_undo (document));
  g_assert_finalize_object (document);
}

static void
test_items_come_on_grid (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (4);
  EfDocument *document = new_document (rand);
  g_autoptr (EfItem) item = random_item (rand, ef_document_inspection (document), EF_ITEM_MARK);
  EfMark *mark = (EfMark *) item;
  const EfMark *kept;
  g_autoptr (GError) error = NULL;

  mark->size = 0.00123456789012;
  g_assert_true (ef_document_add (document, "Add", item, &error));
  kept = ef_inspection_find (ef_document_inspection (document), EF_ITEM_MARK, item->id);
  g_assert_cmpfloat (kept->size, ==, 1234568 / 1e9);
  /* What the caller still holds is off the grid, and yet known as the same. */
  g_assert_true (ef_document_remove (document, "Remove", item, &error));
  g_assert_no_error (error);
  g_assert_finalize_object (document);
}

static void
remember (GPtrArray *states,
          EfDocument *document)
{
  g_ptr_array_add (states, ef_document_snapshot (document));
}

/* 40 documents, 60 random changes each: undoing all passes through every state backwards, redoing all forwards. */
static void
test_undo_redo_property (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (5);
  guint round, i;

  for (round = 0; round < 40; round++)
    {
      EfDocument *document = new_document (rand);
      g_autoptr (GPtrArray) states = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_inspection_free);
      g_autoptr (GError) error = NULL;

      remember (states, document);
      for (i = 0; i < 60; i++)
        {
          ef_document_apply (document, random_change (rand, document), &error);
          g_assert_no_error (error);
          remember (states, document);
        }
      for (i = 60; i > 0; i--)
        {
          g_assert_true (ef_document_undo (document, &error));
          assert_same_inspection (states->pdata[i - 1], ef_document_inspection (document));
        }
      g_assert_false (ef_document_can_undo (document));
      for (i = 1; i <= 60; i++)
        {
          g_assert_true (ef_document_redo (document, &error));
          assert_same_inspection (states->pdata[i], ef_document_inspection (document));
        }
      g_assert_false (ef_document_can_redo (document));
      g_assert_finalize_object (document);
    }
}

/* A walk of changes, undos and redos with a plain model beside it: a list of states and a place in it. */
static void
test_random_walk (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (6);
  EfDocument *document = new_document (rand);
  g_autoptr (GPtrArray) states = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_inspection_free);
  guint at = 0;
  guint i;

  remember (states, document);
  for (i = 0; i < 600; i++)
    {
      int what = g_rand_int_range (rand, 0, 3);
      gboolean could = what == 0 || (what == 1 ? at > 0 : at + 1 < states->len);
      gboolean did;

      if (what == 0)
        did = ef_document_apply (document, random_change (rand, document), NULL);
      else
        did = what == 1 ? ef_document_undo (document, NULL) : ef_document_redo (document, NULL);
      g_assert_cmpint (did, ==, could);
      if (!did)
        continue;
      if (what == 0)
        {
          g_ptr_array_set_size (states, at + 1);
          remember (states, document);
        }
      at += what == 1 ? -1 : 1;
      assert_same_inspection (states->pdata[at], ef_document_inspection (document));
    }
  g_assert_finalize_object (document);
}

/* Whatever was under way when the sink failed: nothing is changed, and afterwards it works. */
static void
test_failed_sink (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (8);
  EfDocument *document = new_document (rand);
  Sink sink = { 0 };
  guint i;

  ef_document_set_sink (document, test_sink, &sink, NULL);
  sink.document = document;
  for (i = 0; i < 300; i++)
    {
      g_autoptr (EfInspection) before = ef_document_snapshot (document);
      guint64 serial = ef_document_serial (document);
      g_autofree char *undo_label = g_strdup (ef_document_undo_label (document));
      g_autofree char *redo_label = g_strdup (ef_document_redo_label (document));
      g_autoptr (GError) error = NULL;
      int what = g_rand_int_range (rand, 0, 3);
      gboolean fails = g_rand_boolean (rand);
      gboolean did;

      sink.calls = 0;
      sink.fail_at = fails ? 1 : 0;
      if (what == 1 && ef_document_can_undo (document))
        did = ef_document_undo (document, &error);
      else if (what == 2 && ef_document_can_redo (document))
        did = ef_document_redo (document, &error);
      else
        did = ef_document_apply (document, random_change (rand, document), &error);
      g_assert_cmpuint (sink.calls, ==, 1);
      g_assert_cmpint (did, ==, !fails);
      if (!fails)
        continue;

      g_assert_error (error, EF_ERROR, EF_ERROR_FULL);
      g_assert_true (ef_inspection_equal (before, ef_document_inspection (document)));
      g_assert_cmpuint (ef_document_serial (document), ==, serial);
      g_assert_cmpstr (ef_document_undo_label (document), ==, undo_label);
      g_assert_cmpstr (ef_document_redo_label (document), ==, redo_label);
    }
  g_free (sink.label);
  g_assert_finalize_object (document);
}

static void
test_sink_labels (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (9);
  EfDocument *document = new_document (rand);
  g_autoptr (EfItem) tick = random_item (rand, ef_document_inspection (document), EF_ITEM_TICK);
  Sink sink = { 0 };

  ef_document_set_sink (document, test_sink, &sink, NULL);
  g_assert_true (ef_document_add (document, "Add groove", tick, NULL));
  g_assert_cmpstr (sink.label, ==, "Add groove");
  g_assert_true (ef_document_undo (document, NULL));
  g_assert_cmpstr (sink.label, ==, "Undo: Add groove");
  g_assert_true (ef_document_redo (document, NULL));
  g_assert_cmpstr (sink.label, ==, "Redo: Add groove");
  g_assert_true (ef_document_undo (document, NULL));
  g_assert_cmpstr (sink.label, ==, "Undo: Add groove");
  g_free (sink.label);
  g_assert_finalize_object (document);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/document/labels-and-signals", test_labels_and_signals);
  g_test_add_func ("/document/empty-change-refused", test_empty_change_refused);
  g_test_add_func ("/document/all-or-nothing", test_all_or_nothing);
  g_test_add_func ("/document/items-come-on-grid", test_items_come_on_grid);
  g_test_add_func ("/document/undo-redo-property", test_undo_redo_property);
  g_test_add_func ("/document/random-walk", test_random_walk);
  g_test_add_func ("/document/failed-sink-changes-nothing", test_failed_sink);
  g_test_add_func ("/document/sink-labels", test_sink_labels);

  return g_test_run ();
}
