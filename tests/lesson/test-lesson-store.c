/* Lessons and attempts in the store, and the progress over them. Constructed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "lesson-fixture.h"

#include "../isolate.h"
#include "lesson/ef-lesson-progress.h"
#include "lesson/ef-lesson-score.h"
#include "lesson/ef-lesson-store.h"
#include "record/ef-store-lessons.h"
#include "record/ef-store-work.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

typedef struct
{
  EfStore *store;
  EfLesson *lesson;
  char *path;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer data)
{
  g_autoptr (GError) error = NULL;

  self->path = g_build_filename (g_get_user_data_dir (), "lessons.sqlite", NULL);
  g_remove (self->path);
  self->store = ef_store_open (self->path, &error);
  g_assert_no_error (error);
  self->lesson = fixture_lesson ();
}

static void
tear_down (Fixture *self,
           gconstpointer data)
{
  ef_store_close (self->store);
  ef_lesson_free (self->lesson);
  g_free (self->path);
}

static void
put (Fixture *self,
     const char *label)
{
  g_autoptr (GError) error = NULL;
  EfLessonRow *row = g_new0 (EfLessonRow, 1);

  row->name = g_strdup (self->lesson->terms.name);
  row->digest = ef_lesson_digest (self->lesson, NULL);
  row->title = g_strdup (self->lesson->terms.title);
  row->pump = g_strdup (self->lesson->reference->sheet->model);
  row->role = g_strdup ("trainer");
  row->label = g_strdup (label);
  row->whole = TRUE;
  row->body = ef_lesson_write (self->lesson);
  ef_store_put_lesson (self->store, row, &error);
  g_assert_no_error (error);
  ef_lesson_row_free (row);
}

static void
test_versions (Fixture *self,
               gconstpointer data)
{
  g_autofree char *first = ef_lesson_digest (self->lesson, NULL);
  g_autoptr (GPtrArray) list = NULL;
  g_autoptr (EfLessonRow) row = NULL;
  g_autoptr (EfLessonRow) old = NULL;
  g_autoptr (GError) error = NULL;

  put (self, "Made");
  put (self, "Made"); /* nothing new */
  ef_lesson_set_note (self->lesson, "m003", "Joins delivery and suction.");
  put (self, "Note");
  list = ef_store_lessons (self->store, FALSE, NULL);
  g_assert_cmpuint (list->len, ==, 1);
  g_assert_cmpuint (((EfLessonRow *) list->pdata[0])->n_versions, ==, 2);
  old = ef_store_lesson_by_digest (self->store, first, NULL);
  g_assert_nonnull (old);
  g_assert_true (ef_store_undo_lesson (self->store, "torn-filter", "trainer", NULL));
  row = ef_store_lesson (self->store, "torn-filter", NULL);
  g_assert_cmpstr (row->digest, ==, first);
  g_assert_cmpstr (row->label, ==, "Undo: Note");
  g_assert_true (ef_store_set_lesson_away (self->store, "torn-filter", TRUE, "trainer", NULL));
  g_ptr_array_unref (list);
  list = ef_store_lessons (self->store, FALSE, NULL);
  g_assert_cmpuint (list->len, ==, 0);
  g_assert_null (ef_store_lesson (self->store, "none", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
}

static void
step_to (Fixture *self,
         gboolean (*step) (EfStore *, const char *, const char *, GError **),
         const char *note,
         const char *label)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLesson) lesson = NULL;
  g_autoptr (EfLessonRow) row = NULL;

  g_assert_true (step (self->store, "torn-filter", "trainer", &error));
  g_assert_no_error (error);
  lesson = ef_lesson_store_get (self->store, "torn-filter", &error);
  row = ef_store_lesson (self->store, "torn-filter", &error);
  g_assert_no_error (error);
  g_assert_cmpstr (ef_lesson_note (lesson, "m003"), ==, note);
  g_assert_cmpstr (row->label, ==, label);
}

/* Undo walks back over all versions and stops at the first, redo forward to the last; something new ends redo; nothing is lost from the history. */
static void
test_undo_walks (Fixture *self,
                 gconstpointer data)
{
  g_autoptr (GPtrArray) list = NULL;
  g_autoptr (GError) error = NULL;

  put (self, "Made");
  for (int i = 1; i <= 3; i++)
    {
      g_autofree char *note = g_strdup_printf ("note %d", i);

      ef_lesson_set_note (self->lesson, "m003", note);
      put (self, note);
    }
  step_to (self, ef_store_undo_lesson, "note 2", "Undo: note 3");
  step_to (self, ef_store_undo_lesson, "note 1", "Undo: note 2");
  g_assert_true (ef_store_set_lesson_away (self->store, "torn-filter", TRUE, "trainer", NULL));
  g_assert_true (ef_store_set_lesson_away (self->store, "torn-filter", FALSE, "trainer", NULL));
  step_to (self, ef_store_undo_lesson, NULL, "Undo: note 1");
  g_assert_false (ef_store_undo_lesson (self->store, "torn-filter", "trainer", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  step_to (self, ef_store_redo_lesson, "note 1", "Redo: note 1");
  step_to (self, ef_store_redo_lesson, "note 2", "Redo: note 2");
  step_to (self, ef_store_redo_lesson, "note 3", "Redo: note 3");
  g_assert_false (ef_store_redo_lesson (self->store, "torn-filter", "trainer", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  step_to (self, ef_store_undo_lesson, "note 2", "Undo: note 3");
  ef_lesson_set_note (self->lesson, "m003", "another");
  put (self, "another");
  g_assert_false (ef_store_redo_lesson (self->store, "torn-filter", "trainer", NULL));
  step_to (self, ef_store_undo_lesson, "note 2", "Undo: another");
  step_to (self, ef_store_undo_lesson, "note 1", "Undo: note 2");
  list = ef_store_lessons (self->store, FALSE, NULL);
  g_assert_cmpuint (((EfLessonRow *) list->pdata[0])->n_versions, ==, 4 + 2 + 2 + 1 + 3 + 1 + 1 + 2);
}

static gint64
start (Fixture *self,
       const char *apprentice)
{
  g_autofree char *digest = ef_lesson_digest (self->lesson, NULL);
  g_autoptr (EfLessonSheet) sheet = ef_lesson_sheet_new (self->lesson, NULL, NULL);
  g_autoptr (GError) error = NULL;
  gint64 job = ef_store_add_attempt (self->store, digest, self->lesson->terms.title, apprentice, sheet->bench, NULL, NULL, &error);

  g_assert_no_error (error);
  g_assert_cmpint (job, >, 0);

  return job;
}

static gboolean
add_mark (EfDocument *document,
          GError **error)
{
  EfMark *mark = ef_mark_new ("separator/side-a", EF_MARK_IMPRINT, EF_SHAPE_POINT, 1e-3);
  gboolean done;

  ef_mark_add_node (mark, 30e-3, 0);
  mark->number = 1;
  done = ef_document_add (document, "Add imprint", mark, error);
  ef_item_unref (mark);

  return done;
}

/* An attempt is edited and undone like a job, but isn't among the jobs; handed in, it's frozen. */
static void
test_attempt (Fixture *self,
              gconstpointer data)
{
  gint64 before = ef_store_count (self->store, NULL, NULL);
  gint64 job = start (self, "apprentice 1");
  gint64 other = start (self, "apprentice 2");
  g_autoptr (EfDocument) document = ef_store_open_document (self->store, job, NULL);
  const EfJobQuery query = { .text = "launch" };
  g_autoptr (GPtrArray) jobs = ef_store_jobs (self->store, NULL, NULL);
  g_autoptr (GPtrArray) found = ef_store_jobs (self->store, &query, NULL);
  g_autoptr (GPtrArray) attempts = NULL;
  g_autoptr (EfAttemptRow) row = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_cmpint (job, !=, other);
  g_assert_cmpuint (jobs->len, ==, 0);
  g_assert_cmpuint (found->len, ==, 0);
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, before);
  g_assert_true (add_mark (document, &error));
  g_assert_true (ef_document_undo (document, &error));
  g_assert_true (ef_document_redo (document, &error));
  g_assert_false (ef_store_keep_result (self->store, job, 0.5, "{}", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_true (ef_store_hand_in (self->store, job, &error));
  g_assert_no_error (error);
  g_assert_false (ef_store_hand_in (self->store, job, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (add_mark (document, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_true (ef_store_keep_result (self->store, job, 0.5, "{}", &error));
  row = ef_store_attempt (self->store, job, &error);
  g_assert_cmpfloat (row->score, ==, 0.5);
  g_assert_cmpuint (row->n_marks, ==, 1);
  attempts = ef_store_attempts (self->store, "apprentice 2", NULL);
  g_assert_cmpuint (attempts->len, ==, 1);
  g_assert_true (isnan (((EfAttemptRow *) attempts->pdata[0])->score));
}

static char *
in_file (const char *name,
         const char *text)
{
  char *path = g_build_filename (g_get_user_data_dir (), name, NULL);
  g_autoptr (GError) error = NULL;

  g_file_set_contents (path, text, -1, &error);
  g_assert_no_error (error);

  return path;
}

static void
assert_import (Fixture *self,
               const char *name,
               const char *text,
               const char *says)
{
  g_autofree char *path = in_file (name, text);
  g_autofree char *told = NULL;
  g_autoptr (GError) error = NULL;
  gboolean done = ef_lesson_store_import (self->store, path, "trainer", &told, &error);

  g_assert_true (done == (error == NULL));
  if (strstr (done ? told : error->message, says) == NULL)
    g_error ("\"%s\" isn't in: %s", says, done ? told : error->message);
  if (!done)
    g_assert_nonnull (strstr (error->message, name));
}

static char *
sheet_text (const EfLesson *lesson)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLessonSheet) sheet = ef_lesson_sheet_new (lesson, NULL, &error);

  g_assert_no_error (error);

  return ef_lesson_sheet_write (sheet);
}

/* A sheet that comes back to the trainer's store never hides the lesson with its reference, of whatever version it is. */
static void
test_sheet_beside_lesson (Fixture *self,
                          gconstpointer data)
{
  g_autofree char *first = sheet_text (self->lesson);
  g_autofree char *foreign = NULL;
  g_autoptr (EfLesson) kept = NULL;
  g_autoptr (EfLesson) copy = ef_lesson_copy (self->lesson);
  g_autoptr (GPtrArray) list = NULL;
  g_autoptr (GError) error = NULL;

  put (self, "Made");
  ef_lesson_set_note (self->lesson, "m003", "Joins delivery and suction.");
  put (self, "Note");
  ef_lesson_set_note (copy, "m003", "Changed on another machine.");
  foreign = sheet_text (copy);
  assert_import (self, "first.json", first, "Sheet of");
  assert_import (self, "foreign.json", foreign, "expected the sheet of a version that is here");
  kept = ef_lesson_store_get (self->store, "torn-filter", &error);
  g_assert_no_error (error);
  g_assert_cmpstr (ef_lesson_note (kept, "m003"), ==, "Joins delivery and suction.");
  list = ef_store_lessons (self->store, TRUE, NULL);
  g_assert_cmpuint (((EfLessonRow *) list->pdata[0])->n_versions, ==, 2);
}

/* Alone a sheet is kept, and the lesson takes its place when it comes. */
static void
test_sheet_then_lesson (Fixture *self,
                        gconstpointer data)
{
  g_autofree char *sheet = sheet_text (self->lesson);
  g_autofree char *whole = ef_lesson_write (self->lesson);
  g_autoptr (EfLesson) kept = NULL;
  g_autoptr (GError) error = NULL;

  assert_import (self, "sheet.json", sheet, "Sheet of");
  g_assert_null (ef_lesson_store_get (self->store, "torn-filter", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_cmpint (ef_lesson_store_start (self->store, "torn-filter", "bench 2", &error), >, 0);
  g_assert_no_error (error);
  assert_import (self, "whole.json", whole, "Lesson “");
  kept = ef_lesson_store_get (self->store, "torn-filter", &error);
  g_assert_no_error (error);
}

static char *
attempt_text (const EfLesson *lesson,
              const char *apprentice,
              const char *handed_in)
{
  g_autofree char *digest = ef_lesson_digest (lesson, NULL);
  g_autoptr (EfAttempt) attempt = ef_attempt_new (digest, lesson->terms.title, apprentice, "2026-03-17T08:00:00Z", handed_in, lesson->reference);

  return ef_attempt_write (attempt);
}

/* Twice the same is refused; what was under way doesn't stand in the way of the same handed in; what has no lesson here yet is kept, and that's told. */
static void
test_attempt_twice (Fixture *self,
                    gconstpointer data)
{
  g_autofree char *under_way = attempt_text (self->lesson, "apprentice 3", NULL);
  g_autofree char *done = attempt_text (self->lesson, "  apprentice 3 ", "2026-03-17T09:00:00Z");
  g_autofree char *other = attempt_text (self->lesson, "apprentice 4", "2026-03-17T09:00:00Z");
  g_autoptr (GPtrArray) attempts = NULL;

  assert_import (self, "under-way.json", under_way, "isn't here yet");
  put (self, "Made");
  assert_import (self, "under-way.json", under_way, "here already");
  assert_import (self, "done.json", done, "read in.");
  assert_import (self, "done.json", done, "here already");
  assert_import (self, "under-way.json", under_way, "here already");
  assert_import (self, "other.json", other, "read in.");
  attempts = ef_store_attempts (self->store, "apprentice 3", NULL);
  g_assert_cmpuint (attempts->len, ==, 2);
  g_assert_cmpstr (((EfAttemptRow *) attempts->pdata[0])->handed_in, ==, "2026-03-17T09:00:00Z");
}

/* Whatever is kept as a code can be written and read again. */
static void
test_codes (Fixture *self,
            gconstpointer data)
{
  g_autofree char *long_code = g_strnfill (EF_ATTEMPT_CODE_MAX + 1, 'x');
  g_autofree char *longest = g_strnfill (EF_ATTEMPT_CODE_MAX, 'x');
  const char *const refused[] = { "", "  \t ", "bench\n2", "bench\x1b 2", long_code };
  const char *const taken[] = { "a", "  bench 2  ", "Lehrling №3 “links”", "<b>&amp;", longest };

  put (self, "Made");
  for (gsize i = 0; i < G_N_ELEMENTS (refused); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_cmpint (ef_lesson_store_start (self->store, "torn-filter", refused[i], &error), ==, 0);
      g_assert_nonnull (error);
      g_assert_true (g_str_has_prefix (error->message, "apprentice: expected"));
    }
  for (gsize i = 0; i < G_N_ELEMENTS (taken); i++)
    {
      g_autoptr (GError) error = NULL;
      gint64 job = ef_lesson_store_start (self->store, "torn-filter", taken[i], &error);
      g_autoptr (EfAttempt) attempt = ef_lesson_store_attempt (self->store, job, &error);
      g_autofree char *text = attempt != NULL ? ef_attempt_write (attempt) : NULL;
      g_autoptr (EfAttempt) again = text != NULL ? ef_attempt_parse (text, -1, "attempt.json", &error) : NULL;
      g_autofree char *code = g_strstrip (g_strdup (taken[i]));

      g_assert_no_error (error);
      g_assert_cmpstr (again->apprentice, ==, code);
    }
}

static char *
without_pressure (const char *result)
{
  g_autoptr (JsonNode) node = json_from_string (result, NULL);
  JsonObject *pressure = json_object_get_object_member (json_node_get_object (node), "pressure");

  g_assert_cmpfloat (json_object_get_double_member (pressure, "as_new_bar"), >, 0.5);
  for (const char *const *name = (const char *const[]){ "as_new_bar", "found_by_reference_bar", "found_by_attempt_bar", "delivered_by_reference_bar", "delivered_by_attempt_bar", NULL };
       *name != NULL; name++)
    json_object_set_double_member (pressure, *name, round (json_object_get_double_member (pressure, *name) * 1e9));

  return ef_json_to_text (node);
}

/* Scored once: what is kept comes back as it was, without the pressures being solved for; a mark, a decision, the lesson or the rules changed, and it's of no use. */
static void
test_kept_score (Fixture *self,
                 gconstpointer data)
{
  g_autofree char *digest = ef_lesson_digest (self->lesson, NULL);
  g_autofree char *other_digest = NULL;
  gint64 job = start (self, "apprentice 1");
  g_autoptr (EfDocument) document = ef_store_open_document (self->store, job, NULL);
  g_autoptr (EfInspection) attempt = NULL;
  g_autoptr (EfInspection) changed = NULL;
  g_autoptr (EfAttemptRow) row = NULL;
  g_autoptr (EfLessonScore) again = NULL;
  g_autofree char *key = NULL;
  g_autofree char *other_key = NULL;
  g_autofree char *text = NULL;
  g_autofree char *tampered = NULL;
  g_autoptr (GError) error = NULL;
  EfMark *mark;

  put (self, "Made");
  g_assert_true (add_mark (document, &error));
  g_assert_true (ef_store_hand_in (self->store, job, &error));
  g_assert_true (ef_lesson_store_score (self->store, job, NULL, NULL, &error));
  g_assert_no_error (error);
  row = ef_store_attempt (self->store, job, &error);
  g_assert_false (isnan (row->score));
  attempt = ef_store_load (self->store, job, &error);
  key = ef_lesson_score_key (digest, attempt, NULL, &error);
  again = ef_lesson_score_again (self->lesson, attempt, row->result, key);
  g_assert_nonnull (again);
  g_assert_cmpfloat (fabs (again->score - row->score), <, 1e-12);
  g_assert_false (isnan (again->pressure_attempt));
  g_assert_nonnull (again->pressure_decided_text);
  /* Kept again it's the same text, to the last weight and sentence; pressures to rounding. */
  text = ef_lesson_score_keep (again, key);
  {
    g_autofree char *before = without_pressure (row->result);
    g_autofree char *after = without_pressure (text);

    g_assert_cmpstr (after, ==, before);
  }

  /* Nothing is worked out a second time: a cancelled solve would be told. */
  {
    g_autoptr (GCancellable) cancelled = g_cancellable_new ();

    g_cancellable_cancel (cancelled);
    g_assert_true (ef_lesson_store_score (self->store, job, NULL, cancelled, &error));
    g_assert_no_error (error);
  }

  changed = ef_inspection_copy (attempt);
  mark = ef_item_copy (changed->items[EF_ITEM_MARK]->pdata[0]);
  mark->size *= 1.01;
  g_assert_true (ef_inspection_swap (changed, changed->items[EF_ITEM_MARK]->pdata[0], (EfItem *) mark, &error));
  ef_item_unref (mark);
  other_key = ef_lesson_score_key (digest, changed, NULL, &error);
  g_assert_cmpstr (other_key, !=, key);
  g_assert_null (ef_lesson_score_again (self->lesson, changed, row->result, other_key));
  ef_lesson_set_note (self->lesson, "m003", "another");
  other_digest = ef_lesson_digest (self->lesson, NULL);
  g_free (other_key);
  other_key = ef_lesson_score_key (other_digest, attempt, NULL, &error);
  g_assert_cmpstr (other_key, !=, key);
  g_assert_null (ef_lesson_score_again (self->lesson, attempt, row->result, other_key));
  /* Of the right key, but not what these marks come to. */
  {
    g_autoptr (GRegex) regex = g_regex_new ("\"score\": [0-9.e-]+,\n  \"marks_score\"", 0, 0, NULL);

    tampered = g_regex_replace_literal (regex, row->result, -1, 0, "\"score\": 0.999,\n  \"marks_score\"", 0, NULL);
    g_assert_cmpstr (tampered, !=, row->result);
    g_assert_null (ef_lesson_score_again (self->lesson, attempt, tampered, key));
  }
  g_assert_null (ef_lesson_score_again (self->lesson, attempt, "", key));
  g_assert_null (ef_lesson_score_again (self->lesson, attempt, "{}", key));
  g_assert_null (ef_lesson_score_again (self->lesson, attempt, "{\"key\": 7", key));
}

/* A real job beside it is listed as ever. */
static void
test_beside_jobs (Fixture *self,
                  gconstpointer data)
{
  g_autoptr (GPtrArray) jobs = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_cmpint (ef_store_add (self->store, self->lesson->reference, &error), >, 0);
  start (self, "apprentice 1");
  jobs = ef_store_jobs (self->store, NULL, NULL);
  g_assert_cmpuint (jobs->len, ==, 1);
  g_assert_cmpstr (((EfJobRow *) jobs->pdata[0])->number, ==, "J-0412");
}

static EfLessonPast *
past_of (const char *kind,
         guint missed,
         guint of)
{
  g_autofree char *text = g_strdup_printf ("{\"score\": 0.5, \"marks_score\": 0.5, \"decisions_score\": 1, \"kinds\": [{\"kind\": \"%s\", \"reference\": %u, \"found\": %u, "
                                           "\"wrong_kind\": 0, \"missed\": %u, \"false\": 0}], \"decisions\": [{\"reference\": \"scrap\", \"agrees\": false}]}",
                                           kind, of, of - missed, missed);
  g_autoptr (GError) error = NULL;
  EfLessonPast *past = ef_lesson_past_new ("", "", "", text, &error);

  g_assert_no_error (error);

  return past;
}

static EfLessonChoice *
choice_of (const char *name,
           EfMarkKind kind,
           guint n,
           guint attempts)
{
  EfLessonChoice *choice = g_new0 (EfLessonChoice, 1);

  choice->name = g_strdup (name);
  choice->title = g_strdup (name);
  choice->kinds[kind] = n;
  choice->attempts = attempts;

  return choice;
}

static void
test_suggestion (void)
{
  g_autoptr (GPtrArray) past = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_past_free);
  g_autoptr (GPtrArray) choices = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_choice_free);
  g_autofree char *reason = NULL;
  double needs[EF_N_MARK_KINDS];

  g_assert_cmpint (ef_lesson_suggest (past, choices, &reason), ==, -1);
  g_ptr_array_add (choices, choice_of ("grooves", EF_MARK_GROOVE, 5, 0));
  g_ptr_array_add (choices, choice_of ("cracks", EF_MARK_CRACK, 2, 0));
  g_ptr_array_add (choices, choice_of ("cracks again", EF_MARK_CRACK, 2, 3));
  g_ptr_array_add (past, past_of ("groove", 1, 4));
  g_ptr_array_add (past, past_of ("crack", 3, 4));
  g_assert_cmpint (ef_lesson_suggest (past, choices, &reason), ==, 1);
  g_assert_cmpstr (reason, ==, "Of 4 marks of crack so far 3 were missed; this lesson has some.");
  g_free (reason);
  ef_lesson_progress_needs (past, needs);
  g_assert_cmpfloat (needs[EF_MARK_CRACK], ==, 0.75);
  g_assert_cmpfloat (needs[EF_MARK_GROOVE], ==, 0.25);
  /* What was learned since counts: two attempts that find all cracks, and grooves come first. */
  g_ptr_array_add (past, past_of ("crack", 0, 8));
  g_ptr_array_add (past, past_of ("crack", 0, 8));
  g_assert_cmpint (ef_lesson_suggest (past, choices, &reason), ==, 0);
  /* By hand: weights 0.49, 0.7, 1 of the three attempts with cracks. */
  ef_lesson_progress_needs (past, needs);
  g_assert_cmpfloat (fabs (needs[EF_MARK_CRACK] - 0.49 * 3 / (0.49 * 4 + 0.7 * 8 + 8)), <, 1e-12);
  g_assert_true (((EfLessonPast *) past->pdata[0])->missed_scrap);
}

/* A lesson that was taken is worth half of one that wasn't; one mark of a kind in need counts for more than the tenth. */
static void
test_suggestion_weighs (void)
{
  g_autoptr (GPtrArray) past = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_past_free);
  g_autoptr (GPtrArray) choices = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_choice_free);
  g_autofree char *fresh = NULL;
  g_autofree char *untaken = NULL;
  g_autofree char *broad = NULL;
  EfLessonChoice *both;

  g_ptr_array_add (choices, choice_of ("cracks, taken", EF_MARK_CRACK, 3, 1));
  g_ptr_array_add (choices, choice_of ("cracks", EF_MARK_CRACK, 2, 0));
  g_assert_cmpint (ef_lesson_suggest (past, choices, &fresh), ==, 1);
  g_assert_cmpstr (fresh, ==, "No lesson was scored yet: begin here.");
  g_ptr_array_add (past, past_of ("crack", 2, 4));
  g_ptr_array_add (past, past_of ("groove", 2, 4));
  g_assert_cmpint (ef_lesson_suggest (past, choices, &untaken), ==, 1);

  g_ptr_array_set_size (choices, 0);
  g_ptr_array_add (choices, choice_of ("ten cracks", EF_MARK_CRACK, 10, 0));
  both = choice_of ("some of both", EF_MARK_CRACK, 4, 0);
  both->kinds[EF_MARK_GROOVE] = 4;
  g_ptr_array_add (choices, both);
  g_assert_cmpint (ef_lesson_suggest (past, choices, &broad), ==, 1);
}

/* Kinds that were taken for another, or seen where nothing was, are in need too, at half the weight; the reason says so. */
static void
test_suggestion_confused (void)
{
  static const char result[] = "{\"score\": 0.5, \"marks_score\": 0.5, \"decisions_score\": 1, \"decisions\": [], \"kinds\": ["
                               "{\"kind\": \"pitting\", \"reference\": 4, \"found\": 3, \"wrong_kind\": 1, \"missed\": 0, \"false\": 2},"
                               "{\"kind\": \"corrosion\", \"reference\": 0, \"found\": 0, \"wrong_kind\": 0, \"missed\": 0, \"false\": 1}]}";
  g_autoptr (GPtrArray) past = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_past_free);
  g_autoptr (GPtrArray) choices = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_choice_free);
  g_autoptr (GError) error = NULL;
  g_autofree char *reason = NULL;
  double needs[EF_N_MARK_KINDS];

  g_ptr_array_add (past, ef_lesson_past_new ("", "", "", result, &error));
  g_assert_no_error (error);
  ef_lesson_progress_needs (past, needs);
  g_assert_cmpfloat (fabs (needs[EF_MARK_PITTING] - 1.5 / 6), <, 1e-12);
  g_assert_cmpfloat (fabs (needs[EF_MARK_CORROSION] - 0.5), <, 1e-12);
  g_assert_cmpfloat (needs[EF_MARK_CRACK], ==, 0);
  g_ptr_array_add (choices, choice_of ("cracks", EF_MARK_CRACK, 9, 0));
  g_ptr_array_add (choices, choice_of ("pits", EF_MARK_PITTING, 2, 0));
  g_assert_cmpint (ef_lesson_suggest (past, choices, &reason), ==, 1);
  g_assert_cmpstr (reason, ==, "Marks of pitting were confused 3 times; this lesson has some.");
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add ("/lesson-store/versions", Fixture, NULL, set_up, test_versions, tear_down);
  g_test_add ("/lesson-store/undo-walks", Fixture, NULL, set_up, test_undo_walks, tear_down);
  g_test_add ("/lesson-store/attempt", Fixture, NULL, set_up, test_attempt, tear_down);
  g_test_add ("/lesson-store/beside-jobs", Fixture, NULL, set_up, test_beside_jobs, tear_down);
  g_test_add ("/lesson-store/sheet-beside-lesson", Fixture, NULL, set_up, test_sheet_beside_lesson, tear_down);
  g_test_add ("/lesson-store/sheet-then-lesson", Fixture, NULL, set_up, test_sheet_then_lesson, tear_down);
  g_test_add ("/lesson-store/attempt-twice", Fixture, NULL, set_up, test_attempt_twice, tear_down);
  g_test_add ("/lesson-store/codes", Fixture, NULL, set_up, test_codes, tear_down);
  g_test_add ("/lesson-store/kept-score", Fixture, NULL, set_up, test_kept_score, tear_down);
  g_test_add_func ("/lesson-store/suggestion", test_suggestion);
  g_test_add_func ("/lesson-store/suggestion-weighs", test_suggestion_weighs);
  g_test_add_func ("/lesson-store/suggestion-confused", test_suggestion_confused);

  return g_test_run ();
}
