/* Attempts, read and written.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-attempt.h"
#include "ef-lesson-private.h"

static const char *const members[] = { "format", "version", "lesson", "title", "apprentice", "started", "handed_in", "inspection", NULL };

EfAttempt *
ef_attempt_new (const char *lesson,
                const char *title,
                const char *apprentice,
                const char *started,
                const char *handed_in,
                const EfInspection *inspection)
{
  EfAttempt *attempt = g_new0 (EfAttempt, 1);

  attempt->lesson = g_strdup (lesson);
  attempt->title = g_strdup (title);
  attempt->apprentice = g_strdup (apprentice);
  attempt->started = g_strdup (started);
  attempt->handed_in = g_strdup (handed_in);
  attempt->inspection = ef_inspection_copy (inspection);

  return attempt;
}

void
ef_attempt_free (EfAttempt *attempt)
{
  if (attempt == NULL)
    return;

  g_free (attempt->lesson);
  g_free (attempt->title);
  g_free (attempt->apprentice);
  g_free (attempt->started);
  g_free (attempt->handed_in);
  ef_inspection_free (attempt->inspection);
  g_free (attempt);
}

gboolean
ef_attempt_check_apprentice (const char *code,
                             GError **error)
{
  if (!ef_lesson_check_text ("apprentice", code, EF_ATTEMPT_CODE_MAX, FALSE, error))
    return FALSE;
  for (const char *at = code; *at != '\0'; at = g_utf8_next_char (at))
    if (g_unichar_iscntrl (g_utf8_get_char (at)))
      {
        g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "apprentice: expected a code on one line, such as \"apprentice 3\", found control characters");
        return FALSE;
      }

  return TRUE;
}

static char *
read_code (const EfJson *json)
{
  char *code = g_strstrip (ef_lesson_read_text (json, "apprentice", EF_ATTEMPT_CODE_MAX, FALSE));
  g_autoptr (GError) local = NULL;

  if (ef_json_finish (json->context, NULL) && !ef_attempt_check_apprentice (code, &local))
    ef_json_fail (json, local->code, "%s", local->message);

  return code;
}

static char *
read_time (const EfJson *json,
           const char *member)
{
  char *text = ef_lesson_read_text (json, member, 40, FALSE);
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (text, utc);

  if (time == NULL && ef_json_finish (json->context, NULL))
    ef_json_fail (json, EF_ERROR_INVALID, "%s: expected a time such as 2026-03-09T08:00:00Z, found \"%s\"", member, text);

  return text;
}

static EfAttempt *
read_context (EfJsonContext *context,
              const char *file,
              GError **error)
{
  g_auto (EfJson) root = ef_json_root (context);
  g_autoptr (EfAttempt) attempt = NULL;

  if (!ef_lesson_check_format (&root, EF_ATTEMPT_FORMAT, EF_ATTEMPT_VERSION, error))
    return NULL;
  ef_json_only (&root, members);
  attempt = g_new0 (EfAttempt, 1);
  attempt->lesson = ef_lesson_read_digest (&root, "lesson");
  attempt->title = ef_lesson_read_text (&root, "title", EF_LESSON_TITLE_MAX, FALSE);
  attempt->apprentice = read_code (&root);
  attempt->started = read_time (&root, "started");
  if (ef_json_has (&root, "handed_in"))
    attempt->handed_in = read_time (&root, "handed_in");
  if (!ef_json_finish (context, error))
    return NULL;
  attempt->inspection = ef_lesson_read_inspection (&root, "inspection", file, error);

  return attempt->inspection != NULL ? g_steal_pointer (&attempt) : NULL;
}

EfAttempt *
ef_attempt_parse (const char *text,
                  gssize length,
                  const char *file,
                  GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse (text, length, file, error);

  return context != NULL ? read_context (context, file, error) : NULL;
}

EfAttempt *
ef_attempt_load (const char *path,
                 GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse_file (path, error);
  g_autofree char *name = g_filename_display_name (path);

  return context != NULL ? read_context (context, name, error) : NULL;
}

char *
ef_attempt_write (const EfAttempt *attempt)
{
  JsonObject *object = json_object_new ();
  g_autoptr (JsonNode) node = NULL;

  json_object_set_string_member (object, "format", EF_ATTEMPT_FORMAT);
  json_object_set_int_member (object, "version", EF_ATTEMPT_VERSION);
  json_object_set_string_member (object, "lesson", attempt->lesson);
  json_object_set_string_member (object, "title", attempt->title);
  json_object_set_string_member (object, "apprentice", attempt->apprentice);
  json_object_set_string_member (object, "started", attempt->started);
  if (attempt->handed_in != NULL)
    json_object_set_string_member (object, "handed_in", attempt->handed_in);
  json_object_set_member (object, "inspection", ef_lesson_inspection_to_json (attempt->inspection));
  node = ef_json_object_node (object);

  return ef_json_to_text (node);
}
