/* The job's oil: the grade in the header where it names one, else the pump sheet's.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-input.h"

#include "../oil/ef-oil.h"

#include <string.h>

static gboolean
oil_from_grade (const char *name,
                EfOil *oil,
                GPtrArray *assumptions,
                GError **error)
{
  g_autofree char *path = ef_data_path ("oil", "grades.json", NULL);
  g_autoptr (EfOilGrades) grades = ef_oil_grades_load (path, error);
  const EfOilGrade *grade = grades != NULL ? ef_oil_grades_find (grades, name, error) : NULL;

  if (grade == NULL)
    {
      g_prefix_error (error, "oil: ");
      return FALSE;
    }
  ef_flow_assume (assumptions, "Oil %s by its grade's figures, %.1f mm²/s at 40 °C and %.1f at 100 °C: %s.", grade->name, grade->nu40 * 1e6, grade->nu100 * 1e6, grade->source);

  return ef_oil_init_40_100 (oil, grade->nu40, grade->nu100, grade->density15, error);
}

gboolean
ef_flow_viscosity (const EfInspection *inspection,
                   double temperature,
                   double *mu_out,
                   GPtrArray *assumptions,
                   GError **error)
{
  const EfPumpSheet *sheet = inspection->sheet;
  const EfJobHeader *header = ef_inspection_header (inspection);
  const char *named = header != NULL && header->oil != NULL && header->oil[0] != '\0' ? header->oil : NULL;
  EfOilFlags flags = 0;
  EfOil oil;
  gboolean ok;

  if (named != NULL && g_strcmp0 (named, sheet->oil) != 0)
    ok = oil_from_grade (named, &oil, assumptions, error);
  else
    ok = ef_oil_init_40_100 (&oil, sheet->nu40, sheet->nu100, sheet->density15, error);
  if (!ok)
    return FALSE;
  *mu_out = ef_oil_dynamic (&oil, temperature, &flags);
  if (!(*mu_out > 0.0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "oil temperature: expected -100 to 400 °C, found %.0f °C", temperature - 273.15);
      return FALSE;
    }
  if (flags & EF_OIL_EXTRAPOLATED)
    ef_flow_assume (assumptions, "Viscosity at %.0f °C lies outside the two temperatures it is given for (40 and 100 °C).", temperature - 273.15);
  if (flags & EF_OIL_THIN)
    ef_flow_assume (assumptions, "Below 2 mm²/s the viscosity line holds less well.");

  return TRUE;
}
