/* What trainer and apprentice both get, as JSON.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-private.h"

#include "../record/ef-exchange.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

void
ef_lesson_terms_clear (EfLessonTerms *terms)
{
  g_clear_pointer (&terms->name, g_free);
  g_clear_pointer (&terms->title, g_free);
  g_clear_pointer (&terms->task, g_free);
  g_clear_pointer (&terms->role, g_free);
  g_clear_pointer (&terms->made, g_free);
  g_clear_pointer (&terms->faces, g_strfreev);
  g_clear_pointer (&terms->gauges, g_strfreev);
  g_clear_pointer (&terms->measure, g_strfreev);
}

void
ef_lesson_terms_copy (EfLessonTerms *dest,
                      const EfLessonTerms *src)
{
  *dest = *src;
  dest->name = g_strdup (src->name);
  dest->title = g_strdup (src->title);
  dest->task = g_strdup (src->task);
  dest->role = g_strdup (src->role);
  dest->made = g_strdup (src->made);
  dest->faces = g_strdupv (src->faces);
  dest->gauges = g_strdupv (src->gauges);
  dest->measure = g_strdupv (src->measure);
}

gboolean
ef_lesson_check_format (const EfJson *root,
                        const char *format,
                        int version,
                        GError **error)
{
  const char *const formats[] = { format, NULL };
  gint64 found;

  ef_json_choice (root, "format", formats);
  found = ef_json_integer (root, "version", 1, G_MAXINT64);
  if (found > version)
    ef_json_fail (root, EF_ERROR_NEWER_FORMAT,
                  "version: expected at most %d, found %" G_GINT64_FORMAT ". A newer version of this program made the lesson; open it with that one",
                  version, found);

  return ef_json_finish (root->context, error);
}

gboolean
ef_lesson_check_text (const char *member,
                      const char *text,
                      guint most,
                      gboolean may_be_empty,
                      GError **error)
{
  g_autofree char *stripped = g_strstrip (g_strdup (text));

  if (g_utf8_strlen (text, -1) > (glong) most)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected at most %u characters, found %ld", member, most, g_utf8_strlen (text, -1));
      return FALSE;
    }
  if (*stripped == '\0' && !may_be_empty)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected some words, found none", member);
      return FALSE;
    }

  return TRUE;
}

char *
ef_lesson_read_text (const EfJson *json,
                     const char *member,
                     guint most,
                     gboolean may_be_empty)
{
  char *text = may_be_empty ? ef_json_string_or (json, member, "") : ef_json_string (json, member);
  g_autoptr (GError) local = NULL;

  if (text == NULL)
    return g_strdup ("");
  if (!ef_lesson_check_text (member, text, most, may_be_empty, &local))
    ef_json_fail (json, local->code, "%s", local->message);

  return text;
}

static gboolean
is_date (const char *text)
{
  int year, month, day, length = 0;

  return sscanf (text, "%4d-%2d-%2d%n", &year, &month, &day, &length) == 3 && length == 10 && text[10] == '\0'
         && year > 0 && month > 0 && day > 0 && g_date_valid_dmy ((GDateDay) day, (GDateMonth) month, (GDateYear) year);
}

char *
ef_lesson_read_date (const EfJson *json,
                     const char *member)
{
  char *text = ef_lesson_read_text (json, member, 10, FALSE);

  if (ef_json_finish (json->context, NULL) && !is_date (text))
    ef_json_fail (json, EF_ERROR_INVALID, "%s: expected a date such as 2026-03-09, found \"%s\"", member, text);

  return text;
}

char *
ef_lesson_read_digest (const EfJson *json,
                       const char *member)
{
  char *text = ef_lesson_read_text (json, member, 64, FALSE);

  if (ef_json_finish (json->context, NULL) && (strlen (text) != 64 || strspn (text, "0123456789abcdef") != 64))
    ef_json_fail (json, EF_ERROR_INVALID, "%s: expected 64 small hexadecimal digits, found \"%s\"", member, text);

  return text;
}

GStrv
ef_lesson_read_list (const EfJson *json,
                     const char *member)
{
  g_autoptr (GStrvBuilder) builder = g_strv_builder_new ();
  g_auto (EfJson) array = ef_json_array (json, member, 0, EF_LESSON_LIST_MAX);
  g_autoptr (GHashTable) seen = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      g_autofree char *text = ef_json_value_string (&one);

      if (text == NULL || !ef_json_finish (json->context, NULL))
        break;
      if (!g_hash_table_add (seen, g_strdup (text)))
        ef_json_fail (&one, EF_ERROR_INVALID, "expected each name once, found \"%s\" twice", text);
      g_strv_builder_add (builder, text);
    }

  return g_strv_builder_end (builder);
}

JsonArray *
ef_lesson_list_to_json (const char *const *list)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; list[i] != NULL; i++)
    json_array_add_string_element (array, list[i]);

  return array;
}

EfInspection *
ef_lesson_read_inspection (const EfJson *json,
                           const char *member,
                           const char *file,
                           GError **error)
{
  g_auto (EfJson) inside = ef_json_object (json, member);
  g_autofree char *text = NULL;
  g_autofree char *where = g_strdup_printf ("%s: %s", file, member);

  if (!ef_json_finish (json->context, error))
    return NULL;
  text = ef_json_to_text (inside.node);

  return ef_exchange_parse (text, -1, where, error);
}

JsonNode *
ef_lesson_inspection_to_json (const EfInspection *inspection)
{
  g_autofree char *text = ef_exchange_write (inspection);

  return json_from_string (text, NULL);
}

static void
read_tolerance (EfLessonTerms *terms,
                const EfJson *json)
{
  static const char *const members[] = { "place_mm", "size_share", "depth_mm", "depth_share", "least_overlap", "verdict_cost", NULL };
  g_auto (EfJson) inside = ef_json_object (json, "tolerance");

  ef_json_only (&inside, members);
  terms->tolerance.place = ef_json_number (&inside, "place_mm", 0.01, 100) * 1e-3;
  terms->tolerance.size_share = ef_json_number (&inside, "size_share", 0, 1);
  terms->tolerance.depth = ef_json_number (&inside, "depth_mm", 0.0001, 10) * 1e-3;
  terms->tolerance.depth_share = ef_json_number (&inside, "depth_share", 0, 1);
  terms->tolerance.least = ef_json_number (&inside, "least_overlap", 0, 1);
  terms->verdict_tolerance = ef_json_number (&inside, "verdict_cost", 0, 1);
}

void
ef_lesson_terms_read (EfLessonTerms *terms,
                      const EfJson *json)
{
  terms->name = ef_lesson_read_text (json, "name", EF_LESSON_TITLE_MAX, FALSE);
  terms->title = ef_lesson_read_text (json, "title", EF_LESSON_TITLE_MAX, FALSE);
  terms->task = ef_lesson_read_text (json, "task", EF_LESSON_TEXT_MAX, TRUE);
  terms->role = ef_lesson_read_text (json, "role", EF_LESSON_TITLE_MAX, FALSE);
  terms->made = ef_lesson_read_date (json, "made");
  terms->faces = ef_lesson_read_list (json, "faces");
  terms->gauges = ef_lesson_read_list (json, "gauges");
  terms->measure = ef_lesson_read_list (json, "measure");
  read_tolerance (terms, json);
}

/* To the nanometre, so that what was 2 mm is written so. */
static double
in_mm (double length)
{
  return round (length * 1e9) / 1e6;
}

void
ef_lesson_terms_write (const EfLessonTerms *terms,
                       JsonObject *object)
{
  JsonObject *tolerance = json_object_new ();

  json_object_set_string_member (object, "name", terms->name);
  json_object_set_string_member (object, "title", terms->title);
  json_object_set_string_member (object, "task", terms->task);
  json_object_set_string_member (object, "role", terms->role);
  json_object_set_string_member (object, "made", terms->made);
  json_object_set_array_member (object, "faces", ef_lesson_list_to_json ((const char *const *) terms->faces));
  json_object_set_array_member (object, "gauges", ef_lesson_list_to_json ((const char *const *) terms->gauges));
  json_object_set_array_member (object, "measure", ef_lesson_list_to_json ((const char *const *) terms->measure));
  ef_json_put (tolerance, "place_mm", in_mm (terms->tolerance.place));
  ef_json_put (tolerance, "size_share", terms->tolerance.size_share);
  ef_json_put (tolerance, "depth_mm", in_mm (terms->tolerance.depth));
  ef_json_put (tolerance, "depth_share", terms->tolerance.depth_share);
  ef_json_put (tolerance, "least_overlap", terms->tolerance.least);
  ef_json_put (tolerance, "verdict_cost", terms->verdict_tolerance);
  json_object_set_object_member (object, "tolerance", tolerance);
}

char *
ef_lesson_part_of (const char *face_id)
{
  const char *slash = strchr (face_id, '/');

  return slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : g_strdup (face_id);
}

gboolean
ef_lesson_part_given (const char *const *faces,
                      const char *part_id)
{
  gsize length = strlen (part_id);

  for (guint i = 0; faces[i] != NULL; i++)
    if (strncmp (faces[i], part_id, length) == 0 && faces[i][length] == '/')
      return TRUE;

  return FALSE;
}

static gboolean
unknown (const char *member,
         const char *what,
         const char *found,
         GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected %s, found \"%s\"", member, what, found);

  return FALSE;
}

gboolean
ef_lesson_terms_check (const EfLessonTerms *terms,
                       const EfInspection *inspection,
                       GError **error)
{
  g_auto (GStrv) known = ef_face_ids (inspection->sheet);
  EfQuantity quantity;

  if (!ef_lesson_check_text ("title", terms->title, EF_LESSON_TITLE_MAX, FALSE, error) || !ef_lesson_check_text ("task", terms->task, EF_LESSON_TEXT_MAX, TRUE, error))
    return FALSE;
  for (guint i = 0; terms->faces[i] != NULL; i++)
    if (!g_strv_contains ((const char *const *) known, terms->faces[i]))
      return unknown ("faces", "a face of the pump sheet", terms->faces[i], error);
  if (terms->faces[0] == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "faces: expected at least one face to look at, found none");
      return FALSE;
    }
  for (guint i = 0; terms->gauges[i] != NULL; i++)
    if (ef_inspection_find (inspection, EF_ITEM_GAUGE, terms->gauges[i]) == NULL)
      return unknown ("gauges", "the id of a gauge that is listed", terms->gauges[i], error);
  for (guint i = 0; terms->measure[i] != NULL; i++)
    if (!ef_quantity_from_name (terms->measure[i], &quantity))
      return unknown ("measure", "the name of a quantity", terms->measure[i], error);

  return TRUE;
}
