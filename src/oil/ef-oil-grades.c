/* Oil grades read from a file: one viscosity and a viscosity index each.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-oil.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "../base/ef-json.h"

#define MM2_S 1e-6

static void
grade_free (EfOilGrade *grade)
{
  g_free (grade->name);
  g_free (grade->source);
  g_free (grade);
}

static EfOilGrade *
read_grade (const EfJson *item)
{
  static const char *const members[] = { "name", "nu40_mm2_s", "nu40_min_mm2_s", "nu40_max_mm2_s", "nu100_mm2_s", "nu100_min_mm2_s", "nu100_max_mm2_s",
                                         "hths150_min_mPa_s", "viscosity_index", "density15_kg_m3", "source", NULL };
  EfOilGrade *grade = g_new0 (EfOilGrade, 1);
  gboolean cold = ef_json_has (item, "nu40_mm2_s");
  g_autoptr (GError) error = NULL;
  double nu;

  ef_json_only (item, members);
  grade->name = ef_json_string (item, "name");
  grade->source = ef_json_string (item, "source");
  grade->viscosity_index = ef_json_number (item, "viscosity_index", -100.0, 400.0);
  grade->density15 = ef_json_number (item, "density15_kg_m3", 500.0, 1500.0);
  grade->hths_min = 1e-3 * ef_json_number_or (item, "hths150_min_mPa_s", DBL_MIN, 100.0, NAN);
  if (cold == ef_json_has (item, "nu100_mm2_s"))
    {
      ef_json_fail (item, EF_ERROR_INVALID, "expected one of nu40_mm2_s and nu100_mm2_s, found %s", cold ? "both" : "neither");
      return grade;
    }

  grade->at = 273.15 + (cold ? 40.0 : 100.0);
  nu = MM2_S * ef_json_number (item, cold ? "nu40_mm2_s" : "nu100_mm2_s", 1.0, 1e5);
  grade->nu_min = MM2_S * ef_json_number (item, cold ? "nu40_min_mm2_s" : "nu100_min_mm2_s", DBL_MIN, nu / MM2_S * (1.0 + 1e-12));
  grade->nu_max = MM2_S * ef_json_number (item, cold ? "nu40_max_mm2_s" : "nu100_max_mm2_s", nu / MM2_S * (1.0 - 1e-12), 1e5);
  grade->nu40 = cold ? nu : ef_oil_nu40_from_index (nu, grade->viscosity_index, &error);
  grade->nu100 = cold ? ef_oil_nu100_from_index (nu, grade->viscosity_index, &error) : nu;
  if (error != NULL)
    ef_json_fail (item, EF_ERROR_RANGE, "%s", error->message);

  return grade;
}

EfOilGrades *
ef_oil_grades_load (const char *path,
                    GError **error)
{
  static const char *const formats[] = { "endfloat-oil-grades", NULL };
  static const char *const members[] = { "format", "version", "grades", NULL };
  g_autoptr (EfJsonContext) context = ef_json_parse_file (path, error);
  g_autoptr (EfOilGrades) grades = NULL;
  g_auto (EfJson) root = { 0 };
  g_auto (EfJson) list = { 0 };

  if (context == NULL)
    return NULL;
  root = ef_json_root (context);
  ef_json_choice (&root, "format", formats);
  ef_json_integer (&root, "version", 1, 1);
  ef_json_only (&root, members);
  list = ef_json_array (&root, "grades", 1, 500);
  grades = g_new0 (EfOilGrades, 1);
  grades->grades = g_ptr_array_new_with_free_func ((GDestroyNotify) grade_free);
  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) item = ef_json_element (&list, i);

      g_ptr_array_add (grades->grades, read_grade (&item));
    }
  if (!ef_json_finish (context, error))
    return NULL;

  return g_steal_pointer (&grades);
}

void
ef_oil_grades_free (EfOilGrades *grades)
{
  if (grades == NULL)
    return;
  g_ptr_array_unref (grades->grades);
  g_free (grades);
}

/* Letters and digits only, lower case, without the body that made the grade. */
static char *
plain_name (const char *name)
{
  g_autoptr (GString) plain = g_string_new (NULL);
  const char *start;

  for (const char *p = name; *p != '\0'; p++)
    if (g_ascii_isalnum (*p))
      g_string_append_c (plain, g_ascii_tolower (*p));
  start = plain->str;
  if (g_str_has_prefix (start, "sae") || g_str_has_prefix (start, "iso"))
    start += 3;

  return g_strdup (start);
}

const EfOilGrade *
ef_oil_grades_find (const EfOilGrades *grades,
                    const char *name,
                    GError **error)
{
  g_autofree char *wanted = plain_name (name != NULL ? name : "");
  g_autoptr (GString) names = g_string_new (NULL);

  for (guint i = 0; i < grades->grades->len; i++)
    {
      const EfOilGrade *grade = g_ptr_array_index (grades->grades, i);
      g_autofree char *plain = plain_name (grade->name);

      if (g_str_equal (plain, wanted))
        return grade;
      g_string_append_printf (names, "%s%s", i > 0 ? ", " : "", grade->name);
    }
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "oil: expected one of %s, found “%s”", names->str, name != NULL ? name : "");

  return NULL;
}
