/* A lesson's crescents: taken from a specimen, read, checked, written.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-private.h"

#include <math.h>

#define DEEPEST_MM 10.0
#define LONGEST_MM 10000.0

/* As they're written: whole nanometres and thousand-millionths of a degree, so that a lesson is the same before and after its file. */
static double
in_mm (double length)
{
  return round (length * 1e9) / 1e6;
}

static double
in_degrees (double angle)
{
  return round (angle * 180 / G_PI * 1e9) / 1e9;
}

static double
in_rad (double degrees)
{
  return degrees * G_PI / 180;
}

void
ef_lesson_take_crescents (EfLesson *lesson,
                          const GArray *crescents)
{
  g_array_unref (lesson->crescents);
  lesson->crescents = ef_crescents_copy (crescents);
  for (guint i = 0; i < crescents->len; i++)
    {
      EfCrescent *one = &g_array_index (lesson->crescents, EfCrescent, i);

      one->psi = in_rad (in_degrees (one->psi));
      one->reach = in_mm (one->reach) * 1e-3;
      one->clearance = in_mm (one->clearance) * 1e-3;
      one->v0 = in_mm (one->v0) * 1e-3;
      one->v1 = in_mm (one->v1) * 1e-3;
    }
}

void
ef_lesson_read_crescents (EfLesson *lesson,
                          const EfJson *root)
{
  static const char *const members[] = { "face", "angle_deg", "reach_mm", "clearance_mm", "from_mm", "to_mm", NULL };
  g_auto (EfJson) array = { 0 };

  if (!ef_json_has (root, "crescents"))
    return;
  array = ef_json_array (root, "crescents", 1, EF_LESSON_LIST_MAX);
  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) json = ef_json_element (&array, i);
      EfCrescent one = { 0 };

      one.face_id = ef_lesson_read_text (&json, "face", EF_LESSON_TITLE_MAX, FALSE);
      one.psi = in_rad (ef_json_number (&json, "angle_deg", -720, 720));
      one.reach = ef_json_number (&json, "reach_mm", 0, DEEPEST_MM) * 1e-3;
      one.clearance = ef_json_number (&json, "clearance_mm", 0, DEEPEST_MM) * 1e-3;
      one.v0 = ef_json_number (&json, "from_mm", -LONGEST_MM, LONGEST_MM) * 1e-3;
      one.v1 = ef_json_number (&json, "to_mm", -LONGEST_MM, LONGEST_MM) * 1e-3;
      ef_json_only (&json, members);
      g_array_append_val (lesson->crescents, one);
    }
}

static gboolean
is_inside (const EfFaceChart *chart)
{
  return chart->map.form == EF_FORM_CYLINDER && chart->map.outward < 0;
}

gboolean
ef_lesson_check_crescents (const EfLesson *lesson,
                           GError **error)
{
  for (guint i = 0; i < lesson->crescents->len; i++)
    {
      const EfCrescent *one = &g_array_index (lesson->crescents, EfCrescent, i);
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (lesson->reference->sheet, one->face_id, NULL);

      if (chart == NULL || !is_inside (chart))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "crescents[%u].face: expected a bore or wall of the pump, found \"%s\"", i, one->face_id);
          return FALSE;
        }
      if (!(one->reach > one->clearance))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "crescents[%u].reach_mm: expected more than the clearance of %g, found %g", i, one->clearance * 1e3,
                       one->reach * 1e3);
          return FALSE;
        }
      if (!(one->v1 > one->v0))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "crescents[%u].to_mm: expected more than from_mm, %g, found %g", i, one->v0 * 1e3, one->v1 * 1e3);
          return FALSE;
        }
    }

  return TRUE;
}

void
ef_lesson_write_crescents (const EfLesson *lesson,
                           JsonObject *object)
{
  JsonArray *array;

  if (lesson->crescents->len == 0)
    return;
  array = json_array_new ();
  for (guint i = 0; i < lesson->crescents->len; i++)
    {
      const EfCrescent *one = &g_array_index (lesson->crescents, EfCrescent, i);
      JsonObject *json = json_object_new ();

      json_object_set_string_member (json, "face", one->face_id);
      ef_json_put (json, "angle_deg", in_degrees (one->psi));
      ef_json_put (json, "reach_mm", in_mm (one->reach));
      ef_json_put (json, "clearance_mm", in_mm (one->clearance));
      ef_json_put (json, "from_mm", in_mm (one->v0));
      ef_json_put (json, "to_mm", in_mm (one->v1));
      json_array_add_object_element (array, json);
    }
  json_object_set_array_member (object, "crescents", array);
}
