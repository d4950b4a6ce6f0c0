/* Taking the pump apart so that it goes together again as it ran.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Order: common practice, no source.
 */
#include <string.h>

#include "ef-step.h"

static const EfPart *
first_part (const EfPumpSheet *sheet,
            EfPartKind kind)
{
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = sheet->parts->pdata[i];

      if (part->kind == kind)
        return part;
    }

  return NULL;
}

static void
add_fasteners (EfStepPlan *plan)
{
  EfStep *step;

  if (first_part (plan->sheet, EF_PART_PIN) != NULL)
    {
      step = ef_step_add (plan, g_strdup ("pins-out"), "strip",
                          g_strdup ("Draw the pins, split pins and locating pins alike, before any nut is loosened; mark which hole each came from."),
                          "mark-pickup", "drain", NULL);
      step->why = g_strdup ("A split pin holds its nut, a locating pin its part: with the nuts off, a stuck pin is levered against the faces.");
      ef_step_tools (step, "pin punch", "copper hammer", NULL);
      ef_step_cautions (step, EF_CAUTION_EYES, NULL);
    }
  step = ef_step_add (plan, g_strdup ("nuts-off"), "strip",
                      g_strdup ("Loosen the nuts or screws crosswise, half a turn at a time, and take them off."),
                      "pins-out", "mark-pickup", "drain", NULL);
  ef_step_tools (step, "socket spanners", NULL);
  step = ef_step_add (plan, g_strdup ("open"), "strip",
                      g_strdup ("Part the pump section by section from the drive end; never put a blade between the faces."),
                      "nuts-off", NULL);
  ef_step_tools (step, "copper hammer", NULL);
}

static gboolean
laps_a_housing (const EfStepPlan *plan)
{
  for (guint i = 0; i < plan->stocks->len; i++)
    if (strstr (((EfLapStock *) plan->stocks->pdata[i])->face_id, "/mating") != NULL)
      return TRUE;

  return FALSE;
}

static void
add_pickup (EfStepPlan *plan,
            const EfPart *pickup)
{
  g_autofree char *id = g_strdup (pickup->id);
  EfStep *step = ef_step_add (plan, g_strdup ("mark-pickup"), "strip",
                              g_strdup ("Mark with a scriber across tube and housing which way the pickup tube points."),
                              "drain", NULL);

  step->part_id = g_steal_pointer (&id);
  ef_step_tools (step, "scriber", "camera", NULL);
  if (ef_step_part_is (plan, pickup, EF_VERDICT_USE))
    {
      step = ef_step_add (plan, g_strdup ("leave-pickup"), "strip",
                          g_strdup ("Leave the pickup tube in its seat: it sits tight."),
                          "open", NULL);
      step->part_id = g_strdup (pickup->id);
      step->why = g_strdup ("Each time it's drawn the seat gets wider.");
    }
}

void
ef_steps_strip (EfStepPlan *plan)
{
  const EfPart *pickup = first_part (plan->sheet, EF_PART_PICKUP);
  EfStep *step;

  step = ef_step_add (plan, g_strdup ("drain"), "strip",
                      g_strdup ("Drain the oil through a clean cloth and keep what stays in it; take the pump off."), NULL);
  ef_step_tools (step, "drain pan", "white cloth", NULL);
  ef_step_cautions (step, EF_CAUTION_HOT_OIL, NULL);
  if (pickup != NULL)
    add_pickup (plan, pickup);
  add_fasteners (plan);
  step = ef_step_add (plan, g_strdup ("mark-gears"), "strip",
                      g_strdup ("Mark each gear's front end and the two teeth that mesh, section by section."),
                      "open", NULL);
  step->why = g_strdup ("Gears that have run in go back as they ran: same mate, same teeth, same end to the front.");
  ef_step_tools (step, "marking pen", NULL);
  ef_step_add (plan, g_strdup ("gears-out"), "strip", g_strdup ("Lift out gears and shafts and lay the mates together."), "mark-gears", NULL);
  if (laps_a_housing (plan) && first_part (plan->sheet, EF_PART_STUD) != NULL)
    {
      step = ef_step_add (plan, g_strdup ("studs-out"), "strip",
                          g_strdup ("Take the studs out of the housing that will be lapped; note their order and how far each stood out."),
                          "gears-out", NULL);
      step->why = g_strdup ("The mating face must lie flat on the lapping plate.");
      ef_step_tools (step, "stud extractor or two nuts", NULL);
    }
}
