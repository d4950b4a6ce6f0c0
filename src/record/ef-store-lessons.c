/* Lessons and attempts in the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-lessons.h"
#include "ef-role-private.h"
#include "ef-store-private.h"

#include "config.h"

#include <math.h>

#define LESSON_COLUMNS                                                                                                              \
  "seq, name, digest, title, pump, time, role, label, whole, away, (SELECT count (*) FROM lesson AS v WHERE v.name = lesson.name)," \
  " (SELECT count (*) FROM job WHERE job.lesson <> '' AND job.lesson IN (SELECT digest FROM lesson AS v WHERE v.name = lesson.name))"

void
ef_lesson_row_free (EfLessonRow *row)
{
  if (row == NULL)
    return;

  g_free (row->name);
  g_free (row->digest);
  g_free (row->title);
  g_free (row->pump);
  g_free (row->time);
  g_free (row->role);
  g_free (row->label);
  g_free (row->body);
  g_free (row);
}

void
ef_attempt_row_free (EfAttemptRow *row)
{
  if (row == NULL)
    return;

  g_free (row->lesson);
  g_free (row->title);
  g_free (row->apprentice);
  g_free (row->started);
  g_free (row->handed_in);
  g_free (row->result);
  g_free (row->number);
  g_free (row->pump);
  g_free (row->changed);
  g_free (row);
}

static EfLessonRow *
read_lesson (sqlite3_stmt *statement)
{
  EfLessonRow *row = g_new0 (EfLessonRow, 1);

  row->seq = sqlite3_column_int64 (statement, 0);
  row->name = ef_sql_column_text (statement, 1);
  row->digest = ef_sql_column_text (statement, 2);
  row->title = ef_sql_column_text (statement, 3);
  row->pump = ef_sql_column_text (statement, 4);
  row->time = ef_sql_column_text (statement, 5);
  row->role = ef_sql_column_text (statement, 6);
  row->label = ef_sql_column_text (statement, 7);
  row->whole = sqlite3_column_int (statement, 8) != 0;
  row->away = sqlite3_column_int (statement, 9) != 0;
  row->n_versions = (guint) sqlite3_column_int64 (statement, 10);
  row->n_attempts = (guint) sqlite3_column_int64 (statement, 11);
  if (sqlite3_column_count (statement) > 12)
    row->body = ef_sql_column_text (statement, 12);

  return row;
}

/* The first row, or NULL with or without an error. */
static EfLessonRow *
one_lesson (EfStore *store,
            sqlite3_stmt *statement,
            GError **error)
{
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  return row ? read_lesson (statement) : NULL;
}

static gboolean
insert_version (EfStore *store,
                const EfLessonRow *lesson,
                GError **error)
{
  g_autofree char *time = ef_store_now ();

  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO lesson (name, digest, title, pump, whole, away, body, time, role, program, label) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                     "ssssiisssss", lesson->name, lesson->digest, lesson->title, lesson->pump, (gint64) lesson->whole, (gint64) lesson->away, lesson->body, time,
                     lesson->role != NULL ? lesson->role : "", "endfloat " EF_VERSION, lesson->label != NULL ? lesson->label : "Lesson put in");
}

static EfLessonRow *
present (EfStore *store,
         const char *name,
         GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, "SELECT " LESSON_COLUMNS ", body FROM lesson WHERE name = ? ORDER BY seq DESC LIMIT 1", "s", name);

  return one_lesson (store, statement, error);
}

/* The trainer's lesson is there: a sheet of one of its versions adds nothing to it, and that of another one must not take its place. */
static gboolean
knows_version (EfStore *store,
               const EfLessonRow *sheet,
               GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (EfLessonRow) version = ef_store_lesson_by_digest (store, sheet->digest, &local);

  if (local != NULL)
    g_propagate_error (error, g_steal_pointer (&local));
  else if (version == NULL)
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID,
                 "lesson \"%s\": expected the sheet of a version that is here, found that of another one. The lesson with its reference is here; read in that version of it instead",
                 sheet->title);

  return version != NULL;
}

gboolean
ef_store_put_lesson (EfStore *store,
                     const EfLessonRow *lesson,
                     GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (EfLessonRow) before = NULL;
  g_autoptr (GError) local = NULL;

  g_return_val_if_fail (store != NULL && lesson != NULL && lesson->body != NULL, FALSE);
  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  before = present (store, lesson->name, &local);
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  if (before != NULL && before->whole && !lesson->whole)
    return knows_version (store, lesson, error);
  if (before != NULL && before->whole == lesson->whole && !before->away && g_str_equal (before->body, lesson->body))
    return TRUE;
  /* A new one may be anybody's; what is there is the trainer's. */
  if (before != NULL && before->whole && !ef_store_need (store, EF_ACT_LESSONS, lesson->role, error))
    return FALSE;

  return insert_version (store, lesson, error) && ef_transaction_commit (&transaction, error);
}

GPtrArray *
ef_store_lessons (EfStore *store,
                  gboolean with_away,
                  GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_row_free);
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error,
                                                     "SELECT " LESSON_COLUMNS " FROM lesson WHERE seq IN (SELECT max (seq) FROM lesson GROUP BY name)"
                                                     " AND (away = 0 OR ?) ORDER BY seq DESC",
                                                     "i", (gint64) with_away);
  gboolean more;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &more, error))
    return NULL;
  while (more)
    {
      g_ptr_array_add (rows, read_lesson (statement));
      if (!ef_sql_step (&store->sql, statement, &more, error))
        return NULL;
    }

  return g_steal_pointer (&rows);
}

EfLessonRow *
ef_store_lesson (EfStore *store,
                 const char *name,
                 GError **error)
{
  g_autoptr (GError) local = NULL;
  EfLessonRow *row = present (store, name, &local);

  if (row == NULL && local == NULL)
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected lesson \"%s\", found none", store->sql.name, name);
  else if (local != NULL)
    g_propagate_error (error, g_steal_pointer (&local));

  return row;
}

EfLessonRow *
ef_store_lesson_by_digest (EfStore *store,
                           const char *digest,
                           GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error,
                                                     "SELECT " LESSON_COLUMNS ", body FROM lesson WHERE digest = ? ORDER BY whole DESC, seq DESC LIMIT 1", "s", digest);

  return one_lesson (store, statement, error);
}

/* Undo and redo: versions are only added, so where undoing has come to is found by going through them. */

#define UNDO "Undo: "
#define REDO "Redo: "

static int
find_body (const GPtrArray *line,
           const EfLessonRow *row,
           int from,
           int step)
{
  for (int i = from; i >= 0 && i < (int) line->len; i += step)
    if (g_str_equal (((EfLessonRow *) line->pdata[i])->body, row->body))
      return i;

  return -1;
}

/* The next version of the history onto the line of those that undo and redo walk along: what was undone goes when something else comes. */
static int
advance (GPtrArray *line,
         int at,
         EfLessonRow *row)
{
  int found = -1;

  if (at >= 0 && g_str_equal (((EfLessonRow *) line->pdata[at])->body, row->body))
    found = at; /* put away, or taken out again */
  else if (g_str_has_prefix (row->label, UNDO))
    found = find_body (line, row, at - 1, -1);
  if (found < 0 && (g_str_has_prefix (row->label, REDO) || g_str_has_prefix (row->label, UNDO)))
    found = find_body (line, row, at + 1, 1);
  if (found >= 0)
    {
      ef_lesson_row_free (row);
      return found;
    }
  g_ptr_array_set_size (line, at + 1);
  g_ptr_array_add (line, row);

  return at + 1;
}

/* Versions with the reference; @at_out: where among them the present one is. */
static GPtrArray *
line_of (EfStore *store,
         const char *name,
         int *at_out,
         GError **error)
{
  g_autoptr (GPtrArray) line = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_row_free);
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, "SELECT " LESSON_COLUMNS ", body FROM lesson WHERE name = ? AND whole <> 0 ORDER BY seq", "s", name);
  gboolean more;

  *at_out = -1;
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &more, error))
    return NULL;
  while (more)
    {
      *at_out = advance (line, *at_out, read_lesson (statement));
      if (!ef_sql_step (&store->sql, statement, &more, error))
        return NULL;
    }

  return g_steal_pointer (&line);
}

static gboolean
walk (EfStore *store,
      const char *name,
      const char *role,
      int step,
      GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (EfLessonRow) now = NULL;
  g_autoptr (GPtrArray) line = NULL;
  EfLessonRow *next;
  char *label;
  int at;

  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  now = ef_store_lesson (store, name, error);
  line = now != NULL ? line_of (store, name, &at, error) : NULL;
  if (line == NULL)
    return FALSE;
  if (at + step < 0 || at + step >= (int) line->len)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: lesson \"%s\": expected %s version, found none", store->sql.name, now->title,
                   step < 0 ? "an earlier" : "an undone");
      return FALSE;
    }
  if (!ef_store_need (store, EF_ACT_LESSONS, role, error))
    return FALSE;
  next = line->pdata[at + step];
  label = step < 0 ? g_strconcat (UNDO, ((EfLessonRow *) line->pdata[at])->label, NULL) : g_strconcat (REDO, next->label, NULL);
  g_free (next->role);
  g_free (next->label);
  next->role = g_strdup (role);
  next->label = label;
  next->away = now->away;

  return insert_version (store, next, error) && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_undo_lesson (EfStore *store,
                      const char *name,
                      const char *role,
                      GError **error)
{
  return walk (store, name, role, -1, error);
}

gboolean
ef_store_redo_lesson (EfStore *store,
                      const char *name,
                      const char *role,
                      GError **error)
{
  return walk (store, name, role, 1, error);
}

gboolean
ef_store_set_lesson_away (EfStore *store,
                          const char *name,
                          gboolean away,
                          const char *role,
                          GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (EfLessonRow) now = NULL;

  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  now = ef_store_lesson (store, name, error);
  if (now == NULL)
    return FALSE;
  if (now->away == away)
    return TRUE;
  now->away = away;
  g_free (now->role);
  g_free (now->label);
  now->role = g_strdup (role);
  now->label = g_strdup (away ? "Put away" : "Taken out again");

  return insert_version (store, now, error) && ef_transaction_commit (&transaction, error);
}

/* Attempts */

static const EfItemKind taken_kinds[] = { EF_ITEM_GAUGE, EF_ITEM_MARK, EF_ITEM_READING, EF_ITEM_CHECK, EF_ITEM_OVERRIDE };

static gboolean
put_header (EfInspection *attempt,
            const EfJobHeader *from,
            const char *number,
            const char *apprentice,
            GError **error)
{
  g_autoptr (GPtrArray) headers = g_ptr_array_new_with_free_func (ef_item_unref);
  EfJobHeader *header = ef_item_copy (from);

  g_free (header->number);
  g_free (header->role);
  header->number = g_strdup (number);
  header->role = g_strdup (apprentice);
  g_ptr_array_add (headers, header);

  return ef_inspection_fill (attempt, EF_ITEM_HEADER, headers, error);
}

static EfInspection *
attempt_inspection (const EfInspection *from,
                    const char *number,
                    const char *apprentice,
                    GError **error)
{
  g_autoptr (EfInspection) attempt = ef_inspection_new (from->sheet, number);

  if (!put_header (attempt, ef_inspection_header (from), number, apprentice, error))
    return NULL;
  for (guint k = 0; k < G_N_ELEMENTS (taken_kinds); k++)
    if (!ef_inspection_fill (attempt, taken_kinds[k], from->items[taken_kinds[k]], error))
      return NULL;

  return g_steal_pointer (&attempt);
}

/* The first number that no job has. */
static char *
free_number (EfStore *store,
             GError **error)
{
  gint64 n, holder;

  if (!ef_sql_integer (&store->sql, 0, &n, error, "SELECT count (*) FROM attempt", ""))
    return NULL;
  for (;;)
    {
      g_autofree char *number = g_strdup_printf ("Attempt %" G_GINT64_FORMAT, ++n);

      if (!ef_store_exists (store, number, &holder, error))
        return NULL;
      if (holder == 0)
        return g_steal_pointer (&number);
    }
}

gint64
ef_store_add_attempt (EfStore *store,
                      const char *lesson,
                      const char *title,
                      const char *apprentice,
                      const EfInspection *from,
                      const char *started,
                      const char *handed_in,
                      GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autoptr (EfInspection) attempt = NULL;
  g_autofree char *number = NULL;
  g_autofree char *now = ef_store_now ();
  gint64 job;

  g_return_val_if_fail (store != NULL && lesson != NULL && from != NULL, 0);
  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return 0;
  number = free_number (store, error);
  attempt = number != NULL ? attempt_inspection (from, number, apprentice, error) : NULL;
  job = attempt != NULL ? ef_store_add_inside (store, attempt, "Attempt started", error) : 0;
  if (job == 0
      || !ef_sql_run (&store->sql, NULL, error, "UPDATE job SET lesson = ? WHERE id = ?", "si", lesson, job)
      || !ef_sql_run (&store->sql, NULL, error, "INSERT INTO attempt (job, title, apprentice, started, handed_in) VALUES (?, ?, ?, ?, ?)", "issss", job, title, apprentice,
                      started != NULL ? started : now, handed_in != NULL ? handed_in : "")
      || !ef_transaction_commit (&transaction, error))
    return 0;

  return job;
}

static gboolean
must_hit (EfStore *store,
          gint64 job,
          int changed,
          const char *expected,
          GError **error)
{
  gint64 there;

  if (changed > 0)
    return TRUE;
  if (!ef_sql_integer (&store->sql, 0, &there, error, "SELECT count (*) FROM attempt WHERE job = ?", "i", job))
    return FALSE;
  g_set_error (error, EF_ERROR, there > 0 ? EF_ERROR_INVALID : EF_ERROR_NOT_FOUND, "%s: attempt %" G_GINT64_FORMAT ": expected %s", store->sql.name, job,
               there > 0 ? expected : "an attempt, found none");

  return FALSE;
}

gboolean
ef_store_hand_in (EfStore *store,
                  gint64 job,
                  GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autofree char *time = ef_store_now ();
  const EfHistoryEntry entry = { .time = time, .label = "Handed in", .action = "hand-in" };
  int changed;

  return ef_transaction_begin (&transaction, &store->sql, error)
         && ef_sql_run (&store->sql, &changed, error, "UPDATE attempt SET handed_in = ? WHERE job = ? AND handed_in = ''", "si", time, job)
         && must_hit (store, job, changed, "one that is under way, found it handed in", error) && ef_store_add_entry (store, job, &entry, NULL, error)
         && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_keep_result (EfStore *store,
                      gint64 job,
                      double score,
                      const char *result,
                      GError **error)
{
  int changed;

  return ef_sql_run (&store->sql, &changed, error, "UPDATE attempt SET score = ?, result = ? WHERE job = ? AND handed_in <> ''", "dsi", score, result, job)
         && must_hit (store, job, changed, "one that is handed in, found it under way", error);
}

static EfAttemptRow *
read_attempt (sqlite3_stmt *statement)
{
  EfAttemptRow *row = g_new0 (EfAttemptRow, 1);

  row->job = sqlite3_column_int64 (statement, 0);
  row->lesson = ef_sql_column_text (statement, 1);
  row->title = ef_sql_column_text (statement, 2);
  row->apprentice = ef_sql_column_text (statement, 3);
  row->started = ef_sql_column_text (statement, 4);
  row->handed_in = ef_sql_column_text (statement, 5);
  row->score = ef_sql_column_double (statement, 6);
  row->result = ef_sql_column_text (statement, 7);
  row->number = ef_sql_column_text (statement, 8);
  row->pump = ef_sql_column_text (statement, 9);
  row->changed = ef_sql_column_text (statement, 10);
  row->n_marks = (guint) sqlite3_column_int64 (statement, 11);

  return row;
}

static GPtrArray *
read_attempts (EfStore *store,
               sqlite3_stmt *statement,
               GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_attempt_row_free);
  gboolean more;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &more, error))
    return NULL;
  while (more)
    {
      g_ptr_array_add (rows, read_attempt (statement));
      if (!ef_sql_step (&store->sql, statement, &more, error))
        return NULL;
    }

  return g_steal_pointer (&rows);
}

#define ATTEMPT_COLUMNS \
  "SELECT job.id, job.lesson, attempt.title, apprentice, started, handed_in, score, result, number, pump, changed, n_marks FROM attempt JOIN job ON job.id = attempt.job"

GPtrArray *
ef_store_attempts (EfStore *store,
                   const char *apprentice,
                   GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, ATTEMPT_COLUMNS " WHERE ?1 IS NULL OR apprentice = ?1 ORDER BY job.id DESC", "s", apprentice);

  return read_attempts (store, statement, error);
}

EfAttemptRow *
ef_store_attempt (EfStore *store,
                  gint64 job,
                  GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, ATTEMPT_COLUMNS " WHERE job.id = ?", "i", job);
  g_autoptr (GPtrArray) rows = read_attempts (store, statement, error);

  if (rows == NULL)
    return NULL;
  if (rows->len == 1)
    return g_ptr_array_steal_index (rows, 0);
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected attempt %" G_GINT64_FORMAT ", found none", store->sql.name, job);

  return NULL;
}
