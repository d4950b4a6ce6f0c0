/* The step sheet as a whole.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>

#include "ef-step.h"

static gboolean
housing_is_scrap (const EfStepPlan *plan)
{
  for (guint i = 0; i < plan->sheet->parts->len; i++)
    {
      const EfPart *part = plan->sheet->parts->pdata[i];

      if (part->kind == EF_PART_HOUSING && ef_step_part_is (plan, part, EF_VERDICT_SCRAP))
        return TRUE;
    }

  return FALSE;
}

GPtrArray *
ef_steps_plan (const EfFindings *findings,
               const EfVerdict *verdict,
               GError **error)
{
  g_autoptr (GPtrArray) todo = ef_todo_list (findings, verdict);
  g_autoptr (EfLapWork) work = ef_lap_work_new (findings, verdict, todo, NULL, error);

  return work != NULL ? ef_steps_plan_with (findings, verdict, todo, work, error) : NULL;
}

GPtrArray *
ef_steps_plan_with (const EfFindings *findings,
                    const EfVerdict *verdict,
                    GPtrArray *todo,
                    const EfLapWork *work,
                    GError **error)
{
  g_autoptr (GPtrArray) steps = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_step_free);
  EfStepPlan plan = { 0 };

  g_return_val_if_fail (findings != NULL && verdict != NULL, NULL);

  plan.findings = findings;
  plan.verdict = verdict;
  plan.sheet = findings->inspection->sheet;
  plan.todo = todo;
  plan.stocks = work->stocks;
  plan.work = work;
  plan.steps = steps;
  plan.apart = housing_is_scrap (&plan);
  plan.changed = verdict->word >= EF_VERDICT_REWORK || todo->len > 0;
  if (plan.changed)
    ef_steps_strip (&plan);
  ef_steps_rework (&plan);
  ef_steps_measure (&plan);
  ef_steps_assemble (&plan);
  for (guint i = 0; i < steps->len; i++)
    ef_cautions_settle (plan.sheet, ((EfStep *) steps->pdata[i])->cautions);
  if (!ef_steps_order (steps, error))
    return NULL;

  return g_steal_pointer (&steps);
}

static double
stock_on (GPtrArray *steps,
          const char *face_id)
{
  for (guint i = 0; face_id != NULL && i < steps->len; i++)
    {
      const EfStep *step = steps->pdata[i];

      if (g_strcmp0 (step->face_id, face_id) == 0 && !isnan (step->stock))
        return step->stock;
    }

  return 0.0;
}

double
ef_steps_clearance_after (const EfFindings *findings,
                          GPtrArray *steps,
                          const EfSection *section,
                          const char *place)
{
  int gear = g_strcmp0 (place, "driven") == 0 ? 1 : 0;
  g_autofree char *end_a = g_strconcat (section->gear_part[gear], "/end-a", NULL);
  g_autofree char *end_b = g_strconcat (section->gear_part[gear], "/end-b", NULL);
  double found = ef_lap_clearance_found (findings, section, gear);

  for (guint i = 0; i < steps->len; i++)
    if (g_strcmp0 (((EfStep *) steps->pdata[i])->part_id, section->gear_part[gear]) == 0
        && g_str_has_prefix (((EfStep *) steps->pdata[i])->id, "replace-"))
      return NAN;

  return found - stock_on (steps, section->mating_face) + stock_on (steps, end_a) + stock_on (steps, end_b);
}

static void
add_once (GPtrArray *cautions,
          const char *text)
{
  if (!g_ptr_array_find_with_equal_func (cautions, text, g_str_equal, NULL))
    g_ptr_array_add (cautions, g_strdup (text));
}

GPtrArray *
ef_steps_cautions (const EfPumpSheet *sheet,
                   GPtrArray *steps)
{
  GPtrArray *cautions = g_ptr_array_new_with_free_func (g_free);

  for (guint i = 0; sheet->cautions != NULL && i < sheet->cautions->len; i++)
    add_once (cautions, sheet->cautions->pdata[i]);
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = sheet->parts->pdata[i];

      if (part->material != NULL && g_str_has_prefix (part->material, "magnesium"))
        add_once (cautions, EF_CAUTION_MAGNESIUM);
    }
  for (guint i = 0; i < steps->len; i++)
    {
      const EfStep *step = steps->pdata[i];

      for (guint k = 0; k < step->cautions->len; k++)
        add_once (cautions, step->cautions->pdata[k]);
    }
  ef_cautions_settle (sheet, cautions);

  return cautions;
}
