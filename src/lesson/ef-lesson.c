/* The trainer's lesson: made from a job, checked, read and written.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-private.h"

#include "../assess/ef-assessment.h"
#include "../base/ef-json-canonical.h"

#include <math.h>
#include <string.h>

static const char *const members[] = { "format", "version", "name", "title", "task", "role", "made", "faces", "gauges", "measure", "tolerance",
                                       "seed", "notes", "verdicts", "crescents", "reference", NULL };

static void
note_free (gpointer data)
{
  EfLessonNote *note = data;

  g_free (note->mark);
  g_free (note->text);
  g_free (note);
}

void
ef_lesson_verdict_free (EfLessonVerdict *verdict)
{
  g_free (verdict->part);
  g_free (verdict->note);
  g_free (verdict);
}

static EfLesson *
lesson_alloc (void)
{
  EfLesson *lesson = g_new0 (EfLesson, 1);

  lesson->notes = g_ptr_array_new_with_free_func (note_free);
  lesson->verdicts = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_verdict_free);
  lesson->crescents = ef_crescents_new ();

  return lesson;
}

void
ef_lesson_free (EfLesson *lesson)
{
  if (lesson == NULL)
    return;

  ef_lesson_terms_clear (&lesson->terms);
  g_ptr_array_unref (lesson->notes);
  g_ptr_array_unref (lesson->verdicts);
  g_array_unref (lesson->crescents);
  ef_inspection_free (lesson->reference);
  g_free (lesson);
}

static void
add_verdict (EfLesson *lesson,
             const char *part,
             EfVerdictWord word,
             const char *note)
{
  EfLessonVerdict *verdict = g_new0 (EfLessonVerdict, 1);

  verdict->part = g_strdup (part);
  verdict->verdict = word;
  verdict->note = g_strdup (note);
  g_ptr_array_add (lesson->verdicts, verdict);
}

EfLesson *
ef_lesson_copy (const EfLesson *lesson)
{
  EfLesson *copy = lesson_alloc ();

  ef_lesson_terms_copy (&copy->terms, &lesson->terms);
  copy->seed = lesson->seed;
  for (guint i = 0; i < lesson->notes->len; i++)
    {
      const EfLessonNote *note = lesson->notes->pdata[i];

      ef_lesson_set_note (copy, note->mark, note->text);
    }
  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[i];

      add_verdict (copy, verdict->part, verdict->verdict, verdict->note);
    }
  ef_lesson_take_crescents (copy, lesson->crescents);
  copy->reference = ef_inspection_copy (lesson->reference);

  return copy;
}

static EfLessonNote *
find_note (const EfLesson *lesson,
           const char *mark)
{
  for (guint i = 0; i < lesson->notes->len; i++)
    if (g_str_equal (((EfLessonNote *) lesson->notes->pdata[i])->mark, mark))
      return lesson->notes->pdata[i];

  return NULL;
}

const char *
ef_lesson_note (const EfLesson *lesson,
                const char *mark)
{
  const EfLessonNote *note = find_note (lesson, mark);

  return note != NULL ? note->text : NULL;
}

void
ef_lesson_set_note (EfLesson *lesson,
                    const char *mark,
                    const char *text)
{
  EfLessonNote *note = find_note (lesson, mark);
  g_autofree char *stripped = g_strstrip (g_strdup (text != NULL ? text : ""));

  if (*stripped == '\0')
    {
      g_ptr_array_remove (lesson->notes, note);
      return;
    }
  if (note == NULL)
    {
      note = g_new0 (EfLessonNote, 1);
      note->mark = g_strdup (mark);
      g_ptr_array_add (lesson->notes, note);
    }
  g_free (note->text);
  note->text = g_strdup (text);
}

EfLessonVerdict *
ef_lesson_verdict (const EfLesson *lesson,
                   const char *part)
{
  for (guint i = 0; i < lesson->verdicts->len; i++)
    if (g_str_equal (((EfLessonVerdict *) lesson->verdicts->pdata[i])->part, part))
      return lesson->verdicts->pdata[i];

  return NULL;
}

static GStrv
in_bench_order (const EfPumpSheet *sheet,
                const char *const *faces)
{
  g_autoptr (GStrvBuilder) builder = g_strv_builder_new ();
  g_auto (GStrv) known = ef_face_ids (sheet);

  for (guint i = 0; known[i] != NULL; i++)
    if (g_strv_contains (faces, known[i]))
      g_strv_builder_add (builder, known[i]);

  return g_strv_builder_end (builder);
}

void
ef_lesson_set_faces (EfLesson *lesson,
                     const char *const *faces,
                     EfVerdictWord fallback)
{
  const EfPumpSheet *sheet = lesson->reference->sheet;
  GStrv ordered = in_bench_order (sheet, faces);
  GPtrArray *before = lesson->verdicts;

  g_strfreev (lesson->terms.faces);
  lesson->terms.faces = ordered;
  lesson->verdicts = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_verdict_free);
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = sheet->parts->pdata[i];
      const EfLessonVerdict *kept = NULL;

      if (!ef_lesson_part_given ((const char *const *) ordered, part->id))
        continue;
      for (guint k = 0; k < before->len; k++)
        if (g_str_equal (((EfLessonVerdict *) before->pdata[k])->part, part->id))
          kept = before->pdata[k];
      add_verdict (lesson, part->id, kept != NULL ? kept->verdict : fallback, kept != NULL ? kept->note : NULL);
    }
  g_ptr_array_unref (before);
}

static GStrv
marked_faces (const EfInspection *inspection)
{
  g_autoptr (GPtrArray) faces = g_ptr_array_new ();
  const GPtrArray *marks = inspection->items[EF_ITEM_MARK];

  for (guint i = 0; i < marks->len; i++)
    g_ptr_array_add (faces, ((EfMark *) marks->pdata[i])->face_id);
  g_ptr_array_add (faces, NULL);

  return in_bench_order (inspection->sheet, (const char *const *) faces->pdata);
}

static void
take_verdicts (EfLesson *lesson,
               const EfVerdict *verdict)
{
  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      EfLessonVerdict *one = lesson->verdicts->pdata[i];
      g_autofree char *id = g_strconcat ("part:", one->part, NULL);
      const EfVerdict *node = ef_verdict_find (verdict, id);

      if (node != NULL)
        one->verdict = node->word;
    }
}

static GStrv
gauge_ids (const EfInspection *inspection)
{
  g_autoptr (GStrvBuilder) builder = g_strv_builder_new ();
  const GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];

  for (guint i = 0; i < gauges->len; i++)
    g_strv_builder_add (builder, ((EfItem *) gauges->pdata[i])->id);

  return g_strv_builder_end (builder);
}

static char *
today (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_local ();

  return g_date_time_format (now, "%Y-%m-%d");
}

EfLesson *
ef_lesson_new (const EfInspection *reference,
               const EfRuleSet *rules,
               GError **error)
{
  g_autoptr (EfRuleSet) shipped = rules == NULL ? ef_rule_set_default (error) : NULL;
  const EfRuleSet *used = rules != NULL ? rules : shipped;
  g_autoptr (EfAssessment) assessment = used != NULL ? ef_assess_in_detail (reference, used, NULL, EF_DETAIL_COARSE, NULL, error) : NULL;
  g_autoptr (EfLesson) lesson = NULL;
  g_auto (GStrv) faces = NULL;

  if (assessment == NULL)
    return NULL;
  lesson = lesson_alloc ();
  lesson->reference = ef_inspection_copy (reference);
  lesson->terms.name = g_uuid_string_random ();
  lesson->terms.title = g_strdup (reference->sheet->name);
  lesson->terms.task = g_strdup ("");
  lesson->terms.role = g_strdup ("trainer");
  lesson->terms.made = today ();
  lesson->terms.gauges = gauge_ids (reference);
  lesson->terms.measure = g_new0 (char *, 1);
  lesson->terms.tolerance = EF_SCORE_TOLERANCE_DEFAULT;
  lesson->seed = g_random_int ();
  faces = marked_faces (reference);
  ef_lesson_set_faces (lesson, (const char *const *) faces, EF_VERDICT_USE);
  take_verdicts (lesson, assessment->verdict);

  return ef_lesson_check (lesson, error) ? g_steal_pointer (&lesson) : NULL;
}

char *
ef_lesson_face_title (const EfPumpSheet *sheet,
                      const char *face_id)
{
  g_autoptr (EfFaceChart) chart = ef_face_chart_new ((EfPumpSheet *) sheet, face_id, NULL);
  const EfPart *part = chart != NULL ? ef_pump_sheet_part (sheet, chart->part_id) : NULL;

  return part != NULL ? g_strdup_printf ("%s, %s", part->name, chart->name) : g_strdup (face_id);
}

char *
ef_lesson_target_title (const EfPumpSheet *sheet,
                        const char *id)
{
  const EfSection *section = ef_pump_sheet_section (sheet, id);
  const EfPart *part = ef_pump_sheet_part (sheet, id);

  if (section != NULL)
    return g_strdup (section->name);

  return part != NULL ? g_strdup (part->name) : ef_lesson_face_title (sheet, id);
}

GPtrArray *
ef_lesson_marks_of (const EfLessonTerms *terms,
                    const EfInspection *inspection)
{
  GPtrArray *marks = g_ptr_array_new_with_free_func (ef_item_unref);
  const GPtrArray *all = inspection->items[EF_ITEM_MARK];

  for (guint i = 0; i < all->len; i++)
    if (g_strv_contains ((const char *const *) terms->faces, ((EfMark *) all->pdata[i])->face_id))
      g_ptr_array_add (marks, ef_item_ref (all->pdata[i]));

  return marks;
}

GPtrArray *
ef_lesson_marks (const EfLesson *lesson)
{
  return ef_lesson_marks_of (&lesson->terms, lesson->reference);
}

static gboolean
check_verdicts (const EfLesson *lesson,
                GError **error)
{
  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[i];

      if (!ef_lesson_part_given ((const char *const *) lesson->terms.faces, verdict->part))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "verdicts[%u].part: expected a part with a face that is given, found \"%s\"", i, verdict->part);
          return FALSE;
        }
      if (ef_lesson_verdict (lesson, verdict->part) != verdict)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "verdicts[%u].part: expected each part once, found \"%s\" twice", i, verdict->part);
          return FALSE;
        }
      if (verdict->note != NULL && !ef_lesson_check_text ("note on a verdict", verdict->note, EF_LESSON_TEXT_MAX, TRUE, error))
        return FALSE;
    }

  return TRUE;
}

static gboolean
check_notes (const EfLesson *lesson,
             GError **error)
{
  for (guint i = 0; i < lesson->notes->len; i++)
    {
      const EfLessonNote *note = lesson->notes->pdata[i];

      if (ef_inspection_find (lesson->reference, EF_ITEM_MARK, note->mark) == NULL)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "notes[%u].mark: expected the id of a mark of the reference, found \"%s\"", i, note->mark);
          return FALSE;
        }
      if (!ef_lesson_check_text ("note on a mark", note->text, EF_LESSON_TEXT_MAX, FALSE, error))
        return FALSE;
    }

  return TRUE;
}

gboolean
ef_lesson_check (const EfLesson *lesson,
                 GError **error)
{
  return ef_lesson_terms_check (&lesson->terms, lesson->reference, error) && check_verdicts (lesson, error) && check_notes (lesson, error)
         && ef_lesson_check_crescents (lesson, error);
}

static void
read_notes (EfLesson *lesson,
            const EfJson *root)
{
  static const char *const note_members[] = { "mark", "note", NULL };
  g_auto (EfJson) array = ef_json_array (root, "notes", 0, EF_LESSON_LIST_MAX);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      g_autofree char *mark = ef_lesson_read_text (&one, "mark", EF_LESSON_TITLE_MAX, FALSE);
      g_autofree char *text = ef_lesson_read_text (&one, "note", EF_LESSON_TEXT_MAX, FALSE);

      ef_json_only (&one, note_members);
      if (find_note (lesson, mark) != NULL)
        ef_json_fail (&one, EF_ERROR_INVALID, "mark: expected one note a mark, found a second one for \"%s\"", mark);
      if (!ef_json_finish (root->context, NULL))
        return;
      ef_lesson_set_note (lesson, mark, text);
    }
}

static void
read_verdicts (EfLesson *lesson,
               const EfJson *root)
{
  static const char *const verdict_members[] = { "part", "verdict", "note", NULL };
  g_auto (EfJson) array = ef_json_array (root, "verdicts", 0, EF_LESSON_LIST_MAX);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      g_autofree char *part = ef_lesson_read_text (&one, "part", EF_LESSON_TITLE_MAX, FALSE);
      g_autofree char *note = ef_lesson_read_text (&one, "note", EF_LESSON_TEXT_MAX, TRUE);
      const char *const words[] = { "use-again", "measure-again", "rework", "scrap", NULL };
      EfVerdictWord word = (EfVerdictWord) ef_json_choice (&one, "verdict", words);

      ef_json_only (&one, verdict_members);
      add_verdict (lesson, part, word, *note != '\0' ? note : NULL);
    }
}

static EfLesson *
read_context (EfJsonContext *context,
              const char *file,
              GError **error)
{
  g_auto (EfJson) root = ef_json_root (context);
  g_autoptr (EfLesson) lesson = NULL;
  g_autoptr (GError) local = NULL;

  if (!ef_lesson_check_format (&root, EF_LESSON_FORMAT, EF_LESSON_VERSION, error))
    return NULL;
  ef_json_only (&root, members);
  lesson = lesson_alloc ();
  ef_lesson_terms_read (&lesson->terms, &root);
  lesson->seed = (guint32) ef_json_integer (&root, "seed", 0, G_MAXUINT32);
  read_notes (lesson, &root);
  read_verdicts (lesson, &root);
  ef_lesson_read_crescents (lesson, &root);
  if (!ef_json_finish (context, error))
    return NULL;
  lesson->reference = ef_lesson_read_inspection (&root, "reference", file, error);
  if (lesson->reference == NULL)
    return NULL;
  if (!ef_lesson_check (lesson, &local))
    {
      ef_json_fail (&root, local->code, "%s", local->message);
      ef_json_finish (context, error);
      return NULL;
    }

  return g_steal_pointer (&lesson);
}

EfLesson *
ef_lesson_parse (const char *text,
                 gssize length,
                 const char *file,
                 GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse (text, length, file, error);

  return context != NULL ? read_context (context, file, error) : NULL;
}

EfLesson *
ef_lesson_load (const char *path,
                GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse_file (path, error);
  g_autofree char *name = g_filename_display_name (path);

  return context != NULL ? read_context (context, name, error) : NULL;
}

static JsonArray *
notes_to_json (const EfLesson *lesson)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < lesson->notes->len; i++)
    {
      const EfLessonNote *note = lesson->notes->pdata[i];
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "mark", note->mark);
      json_object_set_string_member (one, "note", note->text);
      json_array_add_object_element (array, one);
    }

  return array;
}

static JsonArray *
verdicts_to_json (const EfLesson *lesson)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[i];
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "part", verdict->part);
      json_object_set_string_member (one, "verdict", ef_verdict_name (verdict->verdict));
      if (verdict->note != NULL)
        json_object_set_string_member (one, "note", verdict->note);
      json_array_add_object_element (array, one);
    }

  return array;
}

static JsonNode *
to_json (const EfLesson *lesson)
{
  JsonObject *object = json_object_new ();

  json_object_set_string_member (object, "format", EF_LESSON_FORMAT);
  json_object_set_int_member (object, "version", EF_LESSON_VERSION);
  ef_lesson_terms_write (&lesson->terms, object);
  json_object_set_int_member (object, "seed", lesson->seed);
  json_object_set_array_member (object, "notes", notes_to_json (lesson));
  json_object_set_array_member (object, "verdicts", verdicts_to_json (lesson));
  ef_lesson_write_crescents (lesson, object);
  json_object_set_member (object, "reference", ef_lesson_inspection_to_json (lesson->reference));

  return ef_json_object_node (object);
}

char *
ef_lesson_write (const EfLesson *lesson)
{
  g_autoptr (JsonNode) node = to_json (lesson);

  return ef_json_to_text (node);
}

char *
ef_lesson_digest (const EfLesson *lesson,
                  GError **error)
{
  g_autoptr (JsonNode) node = to_json (lesson);
  g_autofree char *canonical = ef_json_canonical (node, error);

  return canonical != NULL ? ef_sha256 (canonical, -1) : NULL;
}
