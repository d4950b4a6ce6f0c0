/* Progress over lessons.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-progress.h"

#include <math.h>

#define FADES 0.7  /* an attempt counts so much of the one after it */
#define TIRED 0.5  /* a lesson is worth so much less for each time it was taken */
#define PLAIN 1e-3 /* what a lesson is worth with nothing in need */

void
ef_lesson_past_free (EfLessonPast *past)
{
  if (past == NULL)
    return;

  g_free (past->lesson);
  g_free (past->title);
  g_free (past->time);
  g_free (past);
}

static void
read_kinds (EfLessonPast *past,
            const EfJson *root)
{
  g_auto (EfJson) array = ef_json_array (root, "kinds", 0, EF_N_MARK_KINDS);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      g_autofree char *name = ef_json_string (&one, "kind");
      EfMarkKind kind;

      if (name == NULL || !ef_mark_kind_from_name (name, &kind))
        {
          ef_json_fail (&one, EF_ERROR_INVALID, "kind: expected a kind of mark, found \"%s\"", name != NULL ? name : "");
          return;
        }
      past->kinds[kind].reference = (guint) ef_json_integer (&one, "reference", 0, G_MAXINT);
      past->kinds[kind].found = (guint) ef_json_integer (&one, "found", 0, G_MAXINT);
      past->kinds[kind].wrong_kind = (guint) ef_json_integer (&one, "wrong_kind", 0, G_MAXINT);
      past->kinds[kind].missed = (guint) ef_json_integer (&one, "missed", 0, G_MAXINT);
      past->kinds[kind].wrongly_seen = (guint) ef_json_integer (&one, "false", 0, G_MAXINT);
    }
}

static void
read_decisions (EfLessonPast *past,
                const EfJson *root)
{
  g_auto (EfJson) array = ef_json_array (root, "decisions", 0, G_MAXUINT);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      g_autofree char *right = ef_json_string (&one, "reference");
      gboolean agrees = ef_json_boolean_or (&one, "agrees", FALSE);

      past->n_decisions++;
      past->n_agree += agrees;
      if (g_strcmp0 (right, "scrap") == 0 && !agrees)
        past->missed_scrap = TRUE;
    }
}

EfLessonPast *
ef_lesson_past_new (const char *lesson,
                    const char *title,
                    const char *time,
                    const char *result,
                    GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse (result, -1, "result", error);
  g_auto (EfJson) root = { 0 };
  EfLessonPast *past;

  if (context == NULL)
    return NULL;
  root = ef_json_root (context);
  past = g_new0 (EfLessonPast, 1);
  past->lesson = g_strdup (lesson);
  past->title = g_strdup (title);
  past->time = g_strdup (time);
  past->score = ef_json_number (&root, "score", 0, 1);
  past->marks = ef_json_number (&root, "marks_score", 0, 1);
  past->decisions = ef_json_number (&root, "decisions_score", 0, 1);
  read_kinds (past, &root);
  read_decisions (past, &root);
  if (ef_json_finish (context, error))
    return past;
  ef_lesson_past_free (past);

  return NULL;
}

EfLessonChoice *
ef_lesson_choice_new (const EfLesson *lesson,
                      guint attempts)
{
  EfLessonChoice *choice = g_new0 (EfLessonChoice, 1);
  g_autoptr (GPtrArray) marks = ef_lesson_marks (lesson);

  choice->name = g_strdup (lesson->terms.name);
  choice->title = g_strdup (lesson->terms.title);
  choice->attempts = attempts;
  for (guint i = 0; i < marks->len; i++)
    choice->kinds[((EfMark *) marks->pdata[i])->kind]++;

  return choice;
}

void
ef_lesson_choice_free (EfLessonChoice *choice)
{
  if (choice == NULL)
    return;

  g_free (choice->name);
  g_free (choice->title);
  g_free (choice);
}

void
ef_lesson_progress_kinds (const GPtrArray *past,
                          EfLessonKind kinds[EF_N_MARK_KINDS])
{
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      kinds[kind] = (EfLessonKind){ 0 };
      for (guint i = 0; i < past->len; i++)
        {
          const EfLessonKind *one = &((EfLessonPast *) past->pdata[i])->kinds[kind];

          kinds[kind].reference += one->reference;
          kinds[kind].found += one->found;
          kinds[kind].wrong_kind += one->wrong_kind;
          kinds[kind].missed += one->missed;
          kinds[kind].wrongly_seen += one->wrongly_seen;
        }
    }
}

void
ef_lesson_progress_needs (const GPtrArray *past,
                          double needs[EF_N_MARK_KINDS])
{
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      double wrong = 0, all = 0, weight = 1;

      for (guint i = past->len; i > 0; i--, weight *= FADES)
        {
          const EfLessonKind *one = &((EfLessonPast *) past->pdata[i - 1])->kinds[kind];

          wrong += weight * (one->missed + 0.5 * one->wrong_kind + 0.5 * one->wrongly_seen);
          all += weight * (one->reference + one->wrongly_seen);
        }
      needs[kind] = all > 0 ? wrong / all : 0;
    }
}

/* Few marks of a kind in need are practice, many don't help much more. */
static double
worth (const EfLessonChoice *choice,
       const double needs[EF_N_MARK_KINDS])
{
  double sum = PLAIN;

  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    sum += needs[kind] * log1p (choice->kinds[kind]);

  return sum * pow (TIRED, choice->attempts);
}

static int
neediest_in (const EfLessonChoice *choice,
             const double needs[EF_N_MARK_KINDS])
{
  int found = -1;

  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    if (choice->kinds[kind] > 0 && needs[kind] > 0 && (found < 0 || needs[kind] > needs[found]))
      found = kind;

  return found;
}

static char *
say_why (const EfLessonChoice *choice,
         const GPtrArray *past,
         const double needs[EF_N_MARK_KINDS])
{
  int kind = neediest_in (choice, needs);
  EfLessonKind kinds[EF_N_MARK_KINDS];
  g_autofree char *name = kind >= 0 ? g_ascii_strdown (ef_mark_kind_label (kind), -1) : NULL;

  if (past->len == 0)
    return g_strdup ("No lesson was scored yet: begin here.");
  if (kind < 0)
    return g_strdup_printf (choice->attempts == 0 ? "Nothing was missed so far, and this one wasn't taken yet." : "Nothing was missed so far; of those taken it was taken least.");
  ef_lesson_progress_kinds (past, kinds);
  if (kinds[kind].missed > 0)
    return g_strdup_printf ("Of %u marks of %s so far %u were missed; this lesson has some.", kinds[kind].reference, name, kinds[kind].missed);

  return g_strdup_printf ("Marks of %s were confused %u times; this lesson has some.", name, kinds[kind].wrong_kind + kinds[kind].wrongly_seen);
}

int
ef_lesson_suggest (const GPtrArray *past,
                   const GPtrArray *choices,
                   char **reason_out)
{
  double needs[EF_N_MARK_KINDS], best = -1;
  int found = -1;

  *reason_out = NULL;
  ef_lesson_progress_needs (past, needs);
  for (guint i = 0; i < choices->len; i++)
    {
      double one = worth (choices->pdata[i], needs);

      if (one > best)
        {
          best = one;
          found = (int) i;
        }
    }
  if (found >= 0)
    *reason_out = say_why (choices->pdata[found], past, needs);

  return found;
}
