/* Putting the pump together, or what is kept of it away.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Order: common practice, no source.
 */
#include "ef-step.h"

static gboolean
has_part (const EfPumpSheet *sheet,
          EfPartKind kind)
{
  for (guint i = 0; i < sheet->parts->len; i++)
    if (((const EfPart *) sheet->parts->pdata[i])->kind == kind)
      return TRUE;

  return FALSE;
}

static void
add_store (EfStepPlan *plan)
{
  EfStep *step = ef_step_add (plan, g_strdup ("store"), "assemble",
                              g_strdup ("Oil the parts worth keeping, mates tied together, wrap and tag them, and put them on the shelf."), NULL);

  ef_step_after_phase (plan, step, "rework");
  ef_step_after_phase (plan, step, "measure");
  ef_step_after_phase (plan, step, "clean");
  ef_step_tools (step, "preserving oil", "oiled paper", "tags", NULL);
}

static void
add_decide (EfStepPlan *plan)
{
  EfStep *step = ef_step_add (plan, g_strdup ("decide"), "measure",
                              g_strdup ("Enter the new readings: verdict and further steps follow from them."), NULL);

  ef_step_after_phase (plan, step, "measure");
}

static void
add_close (EfStepPlan *plan)
{
  EfStep *step;

  if (ef_step_has (plan, "studs-out"))
    {
      step = ef_step_add (plan, g_strdup ("studs-in"), "assemble",
                          g_strdup ("Screw the studs back in, each to the height noted."), "clean", NULL);
      ef_step_after_phase (plan, step, "measure");
    }
  step = ef_step_add (plan, g_strdup ("gears-in"), "assemble",
                      g_strdup ("Oil gears, shafts and bores and put them in: same mates, marked teeth together, front ends to the front."), "studs-in", NULL);
  ef_step_after_phase (plan, step, "measure");
  ef_step_tools (step, "clean engine oil", NULL);
  step = ef_step_add (plan, g_strdup ("close"), "assemble",
                      g_strdup ("Close the pump face to face, oiled, without gasket or sealing compound."), "gears-in", NULL);
  step->why = g_strdup ("A gasket's thickness adds to the end clearance.");
  if (has_part (plan->sheet, EF_PART_PIN))
    ef_step_add (plan, g_strdup ("pins-in"), "assemble", g_strdup ("Drive in the locating pins, each in its own hole."), "close", NULL);
  step = ef_step_add (plan, g_strdup ("preload"), "assemble",
                      g_strdup ("Run the nuts or screws down by hand, then draw them up crosswise to a quarter of their torque, turning the shaft all the while."),
                      "close", "pins-in", NULL);
  step->why = g_strdup ("A part that sits askew binds now, before the full load bends it straight.");
  ef_step_check (step, g_strdup ("The shaft turns as freely as before; the faces touch all round."));
  step = ef_step_add (plan, g_strdup ("nuts-on"), "assemble",
                      g_strdup ("Tighten the nuts or screws crosswise in three rounds to the torque of the maker's or the workshop's data."),
                      "preload", NULL);
  ef_step_tools (step, "torque wrench", NULL);
}

static void
add_turn_and_prime (EfStepPlan *plan)
{
  EfStep *step = ef_step_add (plan, g_strdup ("turn"), "assemble",
                              g_strdup ("Turn the pump by hand through every mesh."), "nuts-on", NULL);

  step->why = g_strdup ("What can be felt by hand now costs the pump later.");
  ef_step_check (step, g_strdup ("It turns evenly, without a tight spot, for as many turns as the gear has teeth."));
  if (has_part (plan->sheet, EF_PART_PICKUP))
    {
      step = ef_step_add (plan, g_strdup ("clock-pickup"), "assemble",
                          g_strdup ("Check that the pickup tube points by the mark and its end clears the sump floor."), "nuts-on", NULL);
      ef_step_check (step, g_strdup ("Scriber mark on tube and housing in line."));
    }
  step = ef_step_add (plan, g_strdup ("prime"), "assemble",
                      g_strdup ("Fill the pump with clean oil from the delivery side while turning it backwards by hand, and close the ports until it's fitted."),
                      "turn", "clock-pickup", NULL);
  step->why = g_strdup ("A dry pump scores before it draws.");
  ef_step_tools (step, "oil can", "plugs", NULL);
  step = ef_step_add (plan, g_strdup ("test"), "assemble",
                      g_strdup ("After fitting, read the oil pressure at hot idle and enter it."), "prime", NULL);
  ef_step_tools (step, "pressure gauge", "thermometer", NULL);
  ef_step_cautions (step, EF_CAUTION_PRESSURE, EF_CAUTION_HOT_OIL, NULL);
}

void
ef_steps_assemble (EfStepPlan *plan)
{
  if (plan->apart)
    {
      add_store (plan);
      return;
    }
  if (plan->verdict->word == EF_VERDICT_MEASURE)
    {
      add_decide (plan);
      return;
    }
  add_close (plan);
  add_turn_and_prime (plan);
}
