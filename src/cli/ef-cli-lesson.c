/* endfloat lesson: lessons made, their sheets, readings on them, attempts scored.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"

#include "../draw/ef-draw-lesson.h"
#include "../lesson/ef-lesson-score.h"
#include "../lesson/ef-lesson-store.h"
#include "../record/ef-exchange.h"
#include "../record/ef-store-roles.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

typedef struct
{
  char *store_path, *output, *rules, *title, *task, *name, *made, *role, *pin_file, *apprentice, *started;
  char **faces, **gauges, **measure, **notes;
  char *face, *at, *gauge, *quantity, *target, *place;
  double place_mm, size_share, depth_mm, depth_share, verdict_cost, angle;
  gint64 seed;
  int repeat;
} Options;

static void
options_clear (Options *options)
{
  char **texts[] = { &options->store_path, &options->output, &options->rules, &options->title, &options->task, &options->name, &options->made, &options->role, &options->pin_file, &options->apprentice,
                     &options->started, &options->face, &options->at, &options->gauge, &options->quantity, &options->target, &options->place };
  char ***lists[] = { &options->faces, &options->gauges, &options->measure, &options->notes };

  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_clear_pointer (texts[i], g_free);
  for (gsize i = 0; i < G_N_ELEMENTS (lists); i++)
    g_clear_pointer (lists[i], g_strfreev);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

typedef gboolean (*Action) (const Options *options, char **files, GError **error);

static gboolean
write_text (const Options *options,
            char *text,
            GError **error)
{
  g_autofree char *own = text;

  return own != NULL && ef_cli_write (options->output, own, error);
}

static gboolean
write_node (const Options *options,
            JsonNode *node,
            GError **error)
{
  g_autoptr (JsonNode) own = node;

  return write_text (options, ef_json_to_text (own), error);
}

static EfRuleSet *
load_rules (const Options *options,
            GError **error)
{
  return options->rules != NULL ? ef_rule_set_load (options->rules, error) : ef_rule_set_default (error);
}

static EfLesson *
load_lesson (const char *path,
             GError **error)
{
  return ef_cli_can_read (path, error) ? ef_lesson_load (path, error) : NULL;
}

static EfLessonSheet *
load_sheet (const char *path,
            GError **error)
{
  return ef_cli_can_read (path, error) ? ef_lesson_sheet_load (path, error) : NULL;
}

static EfAttempt *
load_attempt (const char *path,
              GError **error)
{
  return ef_cli_can_read (path, error) ? ef_attempt_load (path, error) : NULL;
}

/* make */

static void
replace_text (char **place,
              const char *text)
{
  if (text == NULL)
    return;
  g_free (*place);
  *place = g_strdup (text);
}

static void
replace_list (GStrv *place,
              char **list)
{
  if (list == NULL)
    return;
  g_strfreev (*place);
  *place = g_strdupv (list);
}

/* "m003=Deepest of all." */
static gboolean
take_notes (EfLesson *lesson,
            char **notes,
            GError **error)
{
  for (guint i = 0; notes != NULL && notes[i] != NULL; i++)
    {
      const char *equals = strchr (notes[i], '=');
      g_autofree char *mark = equals != NULL ? g_strndup (notes[i], (gsize) (equals - notes[i])) : NULL;

      if (mark == NULL)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "--note: expected MARK=WORDS, found \"%s\"", notes[i]);
          return FALSE;
        }
      ef_lesson_set_note (lesson, mark, equals + 1);
    }

  return TRUE;
}

static gboolean
take_terms (EfLesson *lesson,
            const Options *options,
            GError **error)
{
  EfLessonTerms *terms = &lesson->terms;

  replace_text (&terms->title, options->title);
  replace_text (&terms->task, options->task);
  replace_text (&terms->name, options->name);
  replace_text (&terms->made, options->made);
  replace_text (&terms->role, options->role);
  replace_list (&terms->gauges, options->gauges);
  replace_list (&terms->measure, options->measure);
  if (!isnan (options->place_mm))
    terms->tolerance.place = options->place_mm * 1e-3;
  if (!isnan (options->size_share))
    terms->tolerance.size_share = options->size_share;
  if (!isnan (options->depth_mm))
    terms->tolerance.depth = options->depth_mm * 1e-3;
  if (!isnan (options->depth_share))
    terms->tolerance.depth_share = options->depth_share;
  if (!isnan (options->verdict_cost))
    terms->verdict_tolerance = options->verdict_cost;
  if (options->seed >= 0)
    lesson->seed = (guint32) options->seed;

  return take_notes (lesson, options->notes, error);
}

static gboolean
faces_known (const EfLesson *lesson,
             char **faces,
             GError **error)
{
  g_auto (GStrv) known = ef_face_ids (lesson->reference->sheet);

  for (guint i = 0; faces != NULL && faces[i] != NULL; i++)
    if (!g_strv_contains ((const char *const *) known, faces[i]))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "--face: expected a face of the pump sheet, found \"%s\"", faces[i]);
        return FALSE;
      }

  return TRUE;
}

/* Written and read again, so that what is out of range is refused as in any file. */
static gboolean
run_make (const Options *options,
          char **files,
          GError **error)
{
  g_autoptr (EfInspection) reference = ef_cli_can_read (files[0], error) ? ef_exchange_load (files[0], error) : NULL;
  g_autoptr (EfRuleSet) rules = reference != NULL ? load_rules (options, error) : NULL;
  g_autoptr (EfLesson) lesson = rules != NULL ? ef_lesson_new (reference, rules, error) : NULL;
  g_autoptr (EfLesson) again = NULL;
  g_autofree char *text = NULL;

  if (lesson == NULL || !faces_known (lesson, options->faces, error) || !take_terms (lesson, options, error))
    return FALSE;
  if (options->faces != NULL)
    ef_lesson_set_faces (lesson, (const char *const *) options->faces, EF_VERDICT_USE);
  text = ef_lesson_write (lesson);
  again = ef_lesson_parse (text, -1, "lesson", error);

  return again != NULL && ef_cli_write (options->output, text, error);
}

/* sheet, start */

static gboolean
run_sheet (const Options *options,
           char **files,
           GError **error)
{
  g_autoptr (EfLesson) lesson = load_lesson (files[0], error);
  g_autoptr (EfLessonSheet) sheet = lesson != NULL ? ef_lesson_sheet_new (lesson, NULL, error) : NULL;

  return sheet != NULL && write_text (options, ef_lesson_sheet_write (sheet), error);
}

static gboolean
run_start (const Options *options,
           char **files,
           GError **error)
{
  g_autoptr (EfLessonSheet) sheet = load_sheet (files[0], error);
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = options->started != NULL ? g_strdup (options->started) : g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autoptr (EfAttempt) attempt = NULL;
  g_autoptr (EfAttempt) again = NULL;
  g_autofree char *text = NULL;

  if (sheet == NULL)
    return FALSE;
  attempt = ef_attempt_new (sheet->digest, sheet->terms.title, options->apprentice != NULL ? options->apprentice : "apprentice", time, NULL, sheet->bench);
  text = ef_attempt_write (attempt);
  again = ef_attempt_parse (text, -1, "attempt", error);

  return again != NULL && ef_cli_write (options->output, text, error);
}

/* read */

static gboolean
read_place (const char *text,
            double *u_out,
            double *v_out,
            GError **error)
{
  char *end = NULL;

  *u_out = g_ascii_strtod (text, &end) * 1e-3;
  if (end != text && *end == ',')
    {
      const char *second = end + 1;

      *v_out = g_ascii_strtod (second, &end) * 1e-3;
      if (end != second && *end == '\0' && isfinite (*u_out) && isfinite (*v_out))
        return TRUE;
    }
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "--at: expected U,V in mm such as 0.4,-8.2, found \"%s\"", text);

  return FALSE;
}

static gboolean
read_quantity (const Options *options,
               const EfLessonSheet *sheet,
               double *value_out,
               GError **error)
{
  g_autoptr (EfItem) item = NULL;
  EfQuantity quantity;
  EfReading *reading;

  if (!ef_quantity_from_name (options->quantity, &quantity))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "--quantity: expected one such as pocket-depth, found \"%s\"", options->quantity);
      return FALSE;
    }
  if (options->target == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "--target: expected the section, part or face that is measured, found none");
      return FALSE;
    }
  reading = ef_reading_new (quantity, options->target, options->place, 0, EF_UNIT_MM, options->gauge);
  item = &reading->item;
  reading->angle = isnan (options->angle) ? NAN : options->angle * G_PI / 180;
  if (options->at != NULL && !read_place (options->at, &reading->u, &reading->v, error))
    return FALSE;

  return ef_lesson_sheet_read (sheet, reading, (guint) options->repeat, value_out, error);
}

static gboolean
run_read (const Options *options,
          char **files,
          GError **error)
{
  g_autoptr (EfLessonSheet) sheet = load_sheet (files[0], error);
  JsonObject *object;
  double value, u, v;

  if (sheet == NULL)
    return FALSE;
  if (options->face != NULL && options->at != NULL)
    {
      if (!read_place (options->at, &u, &v, error)
          || !ef_lesson_sheet_read_depth (sheet, options->face, u, v, options->gauge, (guint) options->repeat, &value, error))
        return FALSE;
    }
  else if (options->quantity == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "expected --face and --at, or --quantity and --target, found neither");
      return FALSE;
    }
  else if (!read_quantity (options, sheet, &value, error))
    return FALSE;
  object = json_object_new ();
  json_object_set_string_member (object, "gauge", options->gauge != NULL ? options->gauge : "");
  ef_json_put (object, "value_mm", round (value * 1e9) / 1e6);

  return write_node (options, ef_json_object_node (object), error);
}

/* score */

static gboolean
check_belongs (const EfLesson *lesson,
               const EfAttempt *attempt,
               GError **error)
{
  g_autofree char *digest = ef_lesson_digest (lesson, error);

  if (digest == NULL)
    return FALSE;
  if (g_str_equal (digest, attempt->lesson))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "attempt: lesson: expected an attempt at this lesson (%.12s…), found one at another or at an earlier version of it (%.12s…)",
               digest, attempt->lesson);

  return FALSE;
}

static gboolean
run_score (const Options *options,
           char **files,
           GError **error)
{
  g_autoptr (EfLesson) lesson = load_lesson (files[0], error);
  g_autoptr (EfAttempt) attempt = lesson != NULL ? load_attempt (files[1], error) : NULL;
  g_autoptr (EfRuleSet) rules = attempt != NULL && check_belongs (lesson, attempt, error) ? load_rules (options, error) : NULL;
  g_autoptr (EfLessonScore) score = rules != NULL ? ef_lesson_score (lesson, attempt->inspection, rules, NULL, NULL, error) : NULL;

  return score != NULL && write_node (options, ef_lesson_score_to_json (score), error);
}

/* certificate */

static gboolean
run_certificate (const Options *options,
                 char **files,
                 GError **error)
{
  g_autoptr (EfLesson) lesson = load_lesson (files[0], error);
  g_autoptr (EfAttempt) attempt = lesson != NULL ? load_attempt (files[1], error) : NULL;
  g_autoptr (EfRuleSet) rules = attempt != NULL && check_belongs (lesson, attempt, error) ? load_rules (options, error) : NULL;
  g_autoptr (EfLessonScore) score = rules != NULL ? ef_lesson_score (lesson, attempt->inspection, rules, NULL, NULL, error) : NULL;
  const EfLessonCertificate certificate = { lesson, score, attempt != NULL ? attempt->apprentice : NULL, attempt != NULL ? attempt->handed_in : NULL };

  if (score == NULL)
    return FALSE;
  if (options->output == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "--output: expected the PDF to write, found none");
      return FALSE;
    }

  return ef_lesson_certificate_write_pdf (&certificate, options->output, EF_PAPER_A4, options->made, error);
}

/* import, progress: of a store */

static EfStore *
open_store (const Options *options,
            gboolean make,
            GError **error)
{
  g_autofree char *path = options->store_path != NULL ? g_strdup (options->store_path) : ef_store_default_path ();

  return make || ef_cli_can_read (path, error) ? ef_store_open (path, error) : NULL;
}

/* Those handed in whose lesson is there; the others wait for it. */
static gboolean
score_all (EfStore *store,
           const EfRuleSet *rules,
           guint *scored_out,
           GError **error)
{
  g_autoptr (GPtrArray) attempts = ef_store_attempts (store, NULL, error);

  *scored_out = 0;
  for (guint i = 0; attempts != NULL && i < attempts->len; i++)
    {
      const EfAttemptRow *row = attempts->pdata[i];
      g_autoptr (GError) local = NULL;

      if (row->handed_in[0] == '\0' || !isnan (row->score))
        continue;
      if (ef_lesson_store_score (store, row->job, rules, NULL, &local))
        ++*scored_out;
      else if (!g_error_matches (local, EF_ERROR, EF_ERROR_NOT_FOUND))
        {
          g_propagate_error (error, g_steal_pointer (&local));
          return FALSE;
        }
    }

  return attempts != NULL;
}

/* What takes the place of a lesson that is there must be allowed. Asked only where a role was named: readings and new lessons are anybody's. */
static gboolean
take_in (EfStore *store,
         const Options *options,
         const char *path,
         char **told_out,
         GError **error)
{
  g_autoptr (GError) refused = NULL;
  g_autoptr (GError) local = NULL;
  g_autofree char *pin = NULL;
  EfWho who = { options->role, NULL };

  if (options->pin_file != NULL && (pin = ef_cli_read_line (options->pin_file, error)) == NULL)
    return FALSE;
  who.pin = pin;
  if (options->role != NULL)
    ef_store_authorise (store, &who, EF_ACT_LESSONS, &refused);
  if (ef_lesson_store_import (store, path, options->role, told_out, &local))
    return TRUE;
  g_propagate_error (error, refused != NULL && g_error_matches (local, EF_ERROR, EF_ERROR_REFUSED) ? g_steal_pointer (&refused) : g_steal_pointer (&local));

  return FALSE;
}

static gboolean
run_import (const Options *options,
            char **files,
            GError **error)
{
  g_autoptr (EfStore) store = ef_cli_can_read (files[0], error) ? open_store (options, TRUE, error) : NULL;
  g_autoptr (EfRuleSet) rules = store != NULL ? load_rules (options, error) : NULL;
  g_autofree char *told = NULL;
  JsonObject *object;
  guint scored;

  if (rules == NULL || !take_in (store, options, files[0], &told, error) || !score_all (store, rules, &scored, error))
    return FALSE;
  object = json_object_new ();
  json_object_set_int_member (object, "scored", scored);
  json_object_set_string_member (object, "done", told);

  return write_node (options, ef_json_object_node (object), error);
}

static JsonArray *
past_to_json (const GPtrArray *past)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < past->len; i++)
    {
      const EfLessonPast *one = past->pdata[i];
      JsonObject *object = json_object_new ();

      json_object_set_string_member (object, "lesson", one->title);
      json_object_set_string_member (object, "handed_in", one->time);
      ef_json_put (object, "score", one->score);
      ef_json_put (object, "marks_score", one->marks);
      ef_json_put (object, "decisions_score", one->decisions);
      json_object_set_int_member (object, "decisions", one->n_decisions);
      json_object_set_int_member (object, "agreed", one->n_agree);
      json_object_set_boolean_member (object, "missed_scrap", one->missed_scrap);
      json_array_add_object_element (array, object);
    }

  return array;
}

static JsonArray *
kinds_to_json (const GPtrArray *past)
{
  JsonArray *array = json_array_new ();
  EfLessonKind kinds[EF_N_MARK_KINDS];
  double needs[EF_N_MARK_KINDS];

  ef_lesson_progress_kinds (past, kinds);
  ef_lesson_progress_needs (past, needs);
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      JsonObject *object;

      if (kinds[kind].reference + kinds[kind].wrongly_seen == 0)
        continue;
      object = json_object_new ();
      json_object_set_string_member (object, "kind", ef_mark_kind_name (kind));
      json_object_set_int_member (object, "reference", kinds[kind].reference);
      json_object_set_int_member (object, "found", kinds[kind].found);
      json_object_set_int_member (object, "wrong_kind", kinds[kind].wrong_kind);
      json_object_set_int_member (object, "missed", kinds[kind].missed);
      json_object_set_int_member (object, "false", kinds[kind].wrongly_seen);
      ef_json_put (object, "need", needs[kind]);
      json_array_add_object_element (array, object);
    }

  return array;
}

/* Of --apprentice, or of all together. */
static gboolean
run_progress (const Options *options,
              char **files,
              GError **error)
{
  g_autoptr (EfStore) store = open_store (options, FALSE, error);
  g_autoptr (GPtrArray) past = store != NULL ? ef_lesson_store_past (store, options->apprentice, error) : NULL;
  g_autoptr (GPtrArray) choices = past != NULL ? ef_lesson_store_choices (store, options->apprentice, error) : NULL;
  g_autofree char *reason = NULL;
  JsonObject *object;
  int next;

  if (choices == NULL)
    return FALSE;
  next = ef_lesson_suggest (past, choices, &reason);
  object = json_object_new ();
  json_object_set_array_member (object, "attempts", past_to_json (past));
  json_object_set_array_member (object, "kinds", kinds_to_json (past));
  if (next >= 0)
    {
      json_object_set_string_member (object, "next", ((EfLessonChoice *) choices->pdata[next])->title);
      json_object_set_string_member (object, "reason", reason);
    }

  return write_node (options, ef_json_object_node (object), error);
}

static const struct
{
  const char *name;
  int n_files;
  const char *files;
  Action run;
} actions[] = {
  { "make", 1, "INSPECTION", run_make },
  { "sheet", 1, "LESSON", run_sheet },
  { "start", 1, "SHEET", run_start },
  { "read", 1, "SHEET", run_read },
  { "score", 2, "LESSON ATTEMPT", run_score },
  { "certificate", 2, "LESSON ATTEMPT", run_certificate },
  { "import", 1, "FILE", run_import },
  { "progress", 0, "no file", run_progress },
};

static int
find_action (const char *word)
{
  for (gsize i = 0; i < G_N_ELEMENTS (actions); i++)
    if (g_str_equal (actions[i].name, word))
      return (int) i;

  return -1;
}

static int
refuse_action (const char *word)
{
  g_autoptr (GString) list = g_string_new (NULL);

  for (gsize i = 0; i < G_N_ELEMENTS (actions); i++)
    g_string_append_printf (list, "%s%s", i == 0 ? "" : ", ", actions[i].name);

  return ef_cli_usage_error ("lesson", "expected one of %s, found \"%s\"", list->str, word);
}

int
ef_cli_lesson (int argc,
               char **argv)
{
  g_auto (Options) options = { .place_mm = NAN, .size_share = NAN, .depth_mm = NAN, .depth_share = NAN, .verdict_cost = NAN, .angle = NAN, .seed = -1 };
  const GOptionEntry entries[] = {
    { "store", 0, 0, G_OPTION_ARG_FILENAME, &options.store_path, "import, progress: the store (default: the user's)", "FILE" },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &options.output, "File to write (default: standard output)", "FILE" },
    { "rules", 'r', 0, G_OPTION_ARG_FILENAME, &options.rules, "make, score: rule set (default: the one shipped)", "FILE" },
    { "title", 0, 0, G_OPTION_ARG_STRING, &options.title, "make: title (default: the pump's name)", "WORDS" },
    { "task", 0, 0, G_OPTION_ARG_STRING, &options.task, "make: words for the apprentice", "WORDS" },
    { "name", 0, 0, G_OPTION_ARG_STRING, &options.name, "make: name that stays over all versions (default: a random one)", "NAME" },
    { "made", 0, 0, G_OPTION_ARG_STRING, &options.made, "make: date (default: today); certificate: time written into the PDF, ISO 8601", "DATE" },
    { "role", 0, 0, G_OPTION_ARG_STRING, &options.role, "make: who makes it (default: trainer); import: who puts it in", "ROLE" },
    { "pin-file", 0, 0, G_OPTION_ARG_FILENAME, &options.pin_file, "import: file whose first line is the role's PIN, where it has one; -: standard input", "FILE" },
    { "face", 0, 0, G_OPTION_ARG_STRING_ARRAY, &options.faces, "make, again for each: face that is given (default: all with marks); read: the face", "FACE" },
    { "gauge", 0, 0, G_OPTION_ARG_STRING_ARRAY, &options.gauges, "make, again for each: gauge that is given (default: all); read: the gauge", "ID" },
    { "measure", 0, 0, G_OPTION_ARG_STRING_ARRAY, &options.measure, "make, again for each: quantity to be measured (default: none, all readings are given)", "QUANTITY" },
    { "note", 0, 0, G_OPTION_ARG_STRING_ARRAY, &options.notes, "make, again for each: why a mark matters or doesn't", "MARK=WORDS" },
    { "place-tolerance", 0, 0, G_OPTION_ARG_DOUBLE, &options.place_mm, "make: nearer than this is right (default: 2)", "MM" },
    { "size-tolerance", 0, 0, G_OPTION_ARG_DOUBLE, &options.size_share, "make: share of its area that a mark may be too large or small (default: 0.5)", "SHARE" },
    { "depth-tolerance", 0, 0, G_OPTION_ARG_DOUBLE, &options.depth_mm, "make: depth that counts as right (default: 0.01)", "MM" },
    { "depth-share", 0, 0, G_OPTION_ARG_DOUBLE, &options.depth_share, "make: or this share of the reference's depth (default: 0.2)", "SHARE" },
    { "verdict-tolerance", 0, 0, G_OPTION_ARG_DOUBLE, &options.verdict_cost, "make: cost up to which a wrong verdict counts as right (default: 0)", "COST" },
    { "seed", 0, 0, G_OPTION_ARG_INT64, &options.seed, "make: of the gauges' errors (default: random)", "NUMBER" },
    { "apprentice", 0, 0, G_OPTION_ARG_STRING, &options.apprentice, "start: role code; progress: of this one alone", "ROLE" },
    { "started", 0, 0, G_OPTION_ARG_STRING, &options.started, "start: time, ISO 8601 (default: now)", "TIME" },
    { "at", 0, 0, G_OPTION_ARG_STRING, &options.at, "read: place on the face", "U,V" },
    { "quantity", 0, 0, G_OPTION_ARG_STRING, &options.quantity, "read: what is measured", "QUANTITY" },
    { "target", 0, 0, G_OPTION_ARG_STRING, &options.target, "read: section, part or face", "ID" },
    { "place", 0, 0, G_OPTION_ARG_STRING, &options.place, "read: drive, driven, a journal or a bore", "ID" },
    { "angle", 0, 0, G_OPTION_ARG_DOUBLE, &options.angle, "read: direction", "DEGREES" },
    { "repeat", 0, 0, G_OPTION_ARG_INT, &options.repeat, "read: how often it was read there before (default: 0)", "NUMBER" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (GError) error = NULL;
  int code, action;

  if (!ef_cli_options (entries, "make INSPECTION | sheet LESSON | start SHEET | read SHEET | score LESSON ATTEMPT | certificate LESSON ATTEMPT | import FILE | progress",
                       "Lessons: made from an inspection, the apprentice's sheet, an empty attempt, readings on the sheet, an attempt scored (JSON), its record (PDF), "
                       "a lesson, sheet or attempt put into a store, progress over a store's attempts (JSON).",
                       &argc, &argv, &code))
    return code;
  if (argc < 2)
    return refuse_action ("");
  action = find_action (argv[1]);
  if (action < 0)
    return refuse_action (argv[1]);
  if (argc - 2 != actions[action].n_files)
    return ef_cli_usage_error ("lesson", "%s: expected %s, found %d files", argv[1], actions[action].files, argc - 2);
  if (options.repeat < 0 || options.seed > G_MAXUINT32)
    return ef_cli_usage_error ("lesson", "--repeat, --seed: expected 0 or more, and a seed below 4294967296");
  /* One name for one face or gauge and for many. */
  if (g_str_equal (argv[1], "read"))
    {
      options.face = options.faces != NULL ? g_strdup (options.faces[0]) : NULL;
      options.gauge = options.gauges != NULL ? g_strdup (options.gauges[0]) : NULL;
    }
  if (!actions[action].run (&options, argv + 2, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
