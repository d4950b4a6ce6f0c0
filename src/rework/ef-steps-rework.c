/* What is done to the parts.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "ef-step.h"

static const EfPart *
part_of_face (const EfPumpSheet *sheet,
              const char *face_id)
{
  const char *slash = strchr (face_id, '/');
  g_autofree char *part = slash != NULL ? g_strndup (face_id, slash - face_id) : g_strdup (face_id);

  return ef_pump_sheet_part (sheet, part);
}

static gboolean
is_magnesium (const EfPart *part)
{
  return part != NULL && part->material != NULL && g_str_has_prefix (part->material, "magnesium");
}

static void
say_why_lapped (EfStep *step,
                const EfLapStock *stock)
{
  GString *why = g_string_new (NULL);
  g_autofree char *deepest = ef_step_length (stock->deepest);
  g_autofree char *flatness = ef_step_length (stock->flatness);
  g_autofree char *clearance = ef_step_length (stock->clearance);

  if (stock->deepest > 0.0)
    g_string_append_printf (why, "Deepest wear %s. ", deepest);
  if (stock->flatness > 0.0)
    g_string_append_printf (why, "Out of flat by %s. ", flatness);
  if (stock->clearance > 0.0)
    g_string_append_printf (why, "The end clearance asks for %s. ", clearance);
  if (why->len == 0)
    g_string_append (why, "So that the mates keep the same width. ");
  g_string_truncate (why, why->len - 1);
  step->why = g_string_free (why, FALSE);
}

/* After what must be done to the same part first. */
static void
lap_after (EfStepPlan *plan,
           EfStep *step,
           const EfPart *part)
{
  ef_step_after (step, "wash");
  if (part == NULL || part->kind != EF_PART_HOUSING)
    return;
  ef_step_after (step, "studs-out");
  for (guint i = 0; i < plan->steps->len; i++)
    {
      const EfStep *other = plan->steps->pdata[i];

      if (g_str_has_prefix (other->id, "reset-") || (g_str_has_prefix (other->id, "bush-") && g_strcmp0 (other->part_id, part->id) == 0))
        ef_step_after (step, other->id);
    }
}

/* "11 on P400, 4 on P800, 5 on P1200" */
static char *
passes_text (const EfLapStock *stock)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < stock->n_grits; i++)
    if (stock->passes[i] > 0)
      g_string_append_printf (text, "%s%d on %s", text->len > 0 ? ", then " : "", stock->passes[i], stock->grit[i] != NULL ? stock->grit[i] : "the next paper");

  return g_string_free (text, FALSE);
}

/* Where to stop and measure: after each grit but the last. */
static void
add_stops (EfStep *step,
           const EfLapStock *stock)
{
  GString *stops = g_string_new (NULL);
  double off = 0.0;

  for (guint i = 0; i < stock->n_grits; i++)
    {
      g_autofree char *expected = NULL;

      off += stock->passes[i] * stock->per_pass[i];
      expected = ef_step_length (off);
      if (stock->passes[i] > 0 && i + 1 < stock->n_grits)
        g_string_append_printf (stops, "%s after %s about %s", stops->len > 0 ? "," : "", stock->grit[i] != NULL ? stock->grit[i] : "this paper", expected);
    }
  if (stops->len > 0)
    ef_step_check (step, g_strdup_printf ("Measured at four places:%s off.", stops->str));
  g_string_free (stops, TRUE);
}

static void
add_lap (EfStepPlan *plan,
         const EfLapStock *stock)
{
  const EfPart *part = part_of_face (plan->sheet, stock->face_id);
  g_autofree char *face = ef_step_face_text (plan, stock->face_id);
  g_autofree char *amount = ef_step_length (stock->stock);
  g_autofree char *bound = ef_step_length (stock->bound);
  g_autofree char *passes = passes_text (stock);
  EfStep *step;

  step = ef_step_add (plan, ef_step_slug ("lap", stock->face_id), "rework",
                      passes[0] != '\0' ?
                      g_strdup_printf ("Lap %s: take off %s on paper over plate glass: %s, passes of about 20 figure eights (common practice, no source); "
                                       "a quarter turn after each, part and glass cleaned between grits.",
                                       face, amount, passes) :
                      g_strdup_printf ("Lap %s: take off %s on wet-and-dry paper over plate glass, in figure eights, measuring often; no whole number of passes comes out "
                                       "right. Turn the part a quarter after each pass, clean part and glass between grits.", face, amount),
                      NULL);
  step->stock = stock->stock;
  step->part_id = g_strdup (part != NULL ? part->id : NULL);
  step->face_id = g_strdup (stock->face_id);
  say_why_lapped (step, stock);
  ef_step_tools (step, "plate glass", "wet-and-dry paper", "lapping oil", "micrometer", "straightedge", NULL);
  ef_step_cautions (step, EF_CAUTION_ABRASIVE, NULL);
  if (is_magnesium (part))
    ef_step_cautions (step, EF_CAUTION_MAGNESIUM, NULL);
  add_stops (step, stock);
  ef_step_check (step, g_strdup_printf ("Measured all round: %s off, even within 0.005 mm; never more than %s in all.", amount, bound));
  lap_after (plan, step, part);
}

/* What can't be had, before anybody starts. */
static void
add_not_possible (EfStepPlan *plan)
{
  EfStep *step;

  if (!plan->work->wanted || plan->work->reason == NULL)
    return;
  step = ef_step_add (plan, g_strdup (plan->work->feasible ? "lap-less" : "lap-not-possible"), "rework",
                      plan->work->feasible ?
                      g_strdup_printf ("Not everything can be brought back to as new: %s What is planned here keeps the limits for use.", plan->work->reason) :
                      g_strdup_printf ("Settle this before any lapping: lapping alone doesn't save this pump. %s", plan->work->reason),
                      "wash", NULL);
  step->why = g_strdup ("These limits can't all be kept at once, however much is lapped off which face.");
}

static void
add_bush (EfStepPlan *plan,
          const EfTodo *todo)
{
  g_autofree char *face = ef_step_face_text (plan, todo->target);
  EfStep *step = ef_step_add (plan, ef_step_slug ("bush", todo->target), "rework",
                              g_strdup_printf ("Bush %s: bore out, press the bush in, ream it in line with the bore it runs with.", face),
                              "wash", NULL);

  step->part_id = g_strdup (todo->part_id);
  step->face_id = g_strdup (todo->target);
  step->why = g_strdup (todo->reason->sentence);
  ef_step_tools (step, "boring mill", "press", "line reamer", "bore gauge", NULL);
  ef_step_cautions (step, EF_CAUTION_EYES, NULL);
  if (todo->part_id != NULL && is_magnesium (ef_pump_sheet_part (plan->sheet, todo->part_id)))
    ef_step_cautions (step, EF_CAUTION_MAGNESIUM, NULL);
  ef_step_check (step, g_strdup ("The shaft turns freely and has no more play than the limit in the readings."));
}

static void
add_reset (EfStepPlan *plan,
           const EfTodo *todo)
{
  EfStep *step = ef_step_add (plan, ef_step_slug ("reset", todo->target), "rework",
                              g_strdup ("Warm the seat of the pickup tube, draw the tube, clean seat and tube, and set it again by the mark."),
                              "wash", "mark-pickup", NULL);

  step->part_id = g_strdup (todo->part_id);
  step->why = g_strdup (todo->reason->sentence);
  ef_step_tools (step, "hot-air gun", "temperature stick", "gloves", NULL);
  ef_step_cautions (step, EF_CAUTION_HEAT, NULL);
  if (todo->part_id != NULL && is_magnesium (ef_pump_sheet_part (plan->sheet, todo->part_id)))
    ef_step_cautions (step, EF_CAUTION_MAGNESIUM, NULL);
  ef_step_check (step, g_strdup ("The tube points as the mark says, its end clears the sump, and it can't be moved by hand when cold."));
}

static void
add_small (EfStepPlan *plan,
           const EfTodo *todo,
           const char *prefix,
           const char *verb,
           const char *how,
           const char *tool)
{
  g_autofree char *face = ef_step_face_text (plan, todo->target);
  EfStep *step = ef_step_add (plan, ef_step_slug (prefix, todo->target), "rework", g_strdup_printf ("%s %s%s", verb, face, how), "wash", NULL);

  step->part_id = g_strdup (todo->part_id);
  step->face_id = strchr (todo->target, '/') != NULL ? g_strdup (todo->target) : NULL;
  step->why = g_strdup (todo->reason->sentence);
  ef_step_tools (step, tool, NULL);
}

static void
add_replace (EfStepPlan *plan,
             const EfTodo *todo)
{
  const EfPart *part = todo->part_id != NULL ? ef_pump_sheet_part (plan->sheet, todo->part_id) : NULL;
  EfStep *step;

  if (part == NULL || ef_step_part_is (plan, part, EF_VERDICT_SCRAP))
    return;
  step = ef_step_add (plan, ef_step_slug ("replace", part->id), "rework",
                      g_strdup_printf ("Get ready for fitting: %s, new or sound, of the same grade and size.", part->name), "wash", NULL);
  step->part_id = g_strdup (part->id);
  step->why = g_strdup (todo->reason->sentence);
}

static void
add_find_worn (EfStepPlan *plan,
               const EfTodo *todo)
{
  g_autofree char *id = ef_step_slug ("find-worn", todo->target);
  g_autofree char *unique = g_strdup_printf ("%s-%s", id, todo->reason->rule);
  EfStep *step = ef_step_add (plan, g_steal_pointer (&unique), "rework", g_strdup (todo->reason->advice != NULL ? todo->reason->advice : todo->reason->sentence),
                              "wash", NULL);

  step->why = g_strdup (todo->reason->sentence);
  ef_step_tools (step, "bore gauge", "micrometer", "feeler blades", NULL);
}

/* Deepest of the marks on a face that lapping somewhere else leaves where they are; 0. */
static double
deepest_on (const EfStepPlan *plan,
            const char *face_id)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (plan->findings->inspection, face_id);
  double deepest = 0.0;

  for (guint i = 0; i < marks->len; i++)
    if (((const EfMark *) marks->pdata[i])->kind != EF_MARK_IMPRINT)
      deepest = fmax (deepest, ef_mark_deepest (marks->pdata[i]));

  return deepest;
}

/* Marks that nothing takes out: their edges are dressed, and it's said that they stay. */
static void
add_dress (EfStepPlan *plan,
           const EfTodo *todo)
{
  g_autofree char *face = ef_step_face_text (plan, todo->target);
  g_autofree char *depth = ef_step_length (deepest_on (plan, todo->target));
  EfStep *step = ef_step_add (plan, ef_step_slug ("dress", todo->target), "rework",
                              g_strdup_printf ("Dress the edges of the marks on %s so that nothing stands proud. The marks themselves stay, up to %s "
                                               "deep: oil goes on leaking through them, and the end clearance must make up for it.", face, depth),
                              "wash", NULL);

  step->part_id = g_strdup (todo->part_id);
  step->face_id = g_strdup (todo->target);
  step->why = g_strdup (todo->reason->sentence);
  ef_step_tools (step, "fine oilstone", NULL);
  ef_step_check (step, g_strdup ("A fingernail drawn across the marks catches on no edge."));
}

static void
add_todo (EfStepPlan *plan,
          const EfTodo *todo)
{
  if (g_str_equal (todo->action, "bush"))
    add_bush (plan, todo);
  else if (g_str_equal (todo->action, "reset-pickup"))
    add_reset (plan, todo);
  else if (g_str_equal (todo->action, "polish"))
    add_small (plan, todo, "polish", "Polish", " with fine cloth and oil, turning the shaft, until nothing can be felt.", "crocus cloth");
  else if (g_str_equal (todo->action, "stone"))
    add_small (plan, todo, "stone", "Stone off what stands proud on", "; take nothing off the face.", "fine oilstone");
  else if (g_str_equal (todo->action, "ream"))
    add_small (plan, todo, "ream", "Ream", " in line with the bore it runs with, to the play in the readings' limits.", "line reamer");
  else if (g_str_equal (todo->action, "dress"))
    add_dress (plan, todo);
  else if (g_str_equal (todo->action, "replace"))
    add_replace (plan, todo);
  else if (g_str_equal (todo->action, "find-worn"))
    add_find_worn (plan, todo);
}

static void
join_names (GString *text,
            const char *name)
{
  if (text->len > 0)
    g_string_append (text, "; ");
  g_string_append (text, name);
}

/* Scrap goes aside so that it can't be mistaken; what is sound is worth keeping. */
static void
add_set_aside (EfStepPlan *plan)
{
  g_autoptr (GString) scrap = g_string_new (NULL);
  g_autoptr (GString) keep = g_string_new (NULL);
  EfStep *step;

  for (guint i = 0; i < plan->sheet->parts->len; i++)
    {
      const EfPart *part = plan->sheet->parts->pdata[i];

      join_names (ef_step_part_is (plan, part, EF_VERDICT_SCRAP) ? scrap : keep, part->name);
    }
  if (scrap->len == 0)
    return;
  step = ef_step_add (plan, g_strdup ("set-aside"), "rework",
                      g_strdup_printf ("Set aside as scrap and mark so: %s. Keep the sound ones: %s.", scrap->str, keep->len > 0 ? keep->str : "none"),
                      "wash", NULL);
  step->why = g_strdup ("A scrapped part on the bench finds its way into the next pump.");
  ef_step_tools (step, "paint stick", "tags", NULL);
  if (plan->apart)
    ef_step_check (step, g_strdup ("Each kept part has a tag with pump, job number and its measured sizes."));
}

static void
add_fit_sound (EfStepPlan *plan)
{
  for (guint i = 0; i < plan->sheet->parts->len; i++)
    {
      const EfPart *part = plan->sheet->parts->pdata[i];
      EfStep *step;

      if (!ef_step_part_is (plan, part, EF_VERDICT_SCRAP))
        continue;
      step = ef_step_add (plan, ef_step_slug ("replace", part->id), "rework",
                          g_strdup_printf ("Find a sound replacement: %s%s.", part->name,
                                           part->kind == EF_PART_GEAR ? ", together with its mate, as a pair" : ""),
                          "set-aside", NULL);
      step->part_id = g_strdup (part->id);
      ef_step_check (step, g_strdup ("Its sizes are measured and entered before it's fitted."));
    }
}

/* Rework that somebody decided on has no rule to say how: the reason given is the instruction. */
static void
add_decided (EfStepPlan *plan,
             const EfVerdict *node)
{
  if (node->override != NULL && node->word == EF_VERDICT_REWORK)
    {
      g_autofree char *slug = g_strdelimit (g_strdup (node->id), ":/", '-');
      EfStep *step = ef_step_add (plan, g_strconcat ("as-decided-", slug, NULL), "rework",
                                  g_strdup_printf ("Rework as decided at the bench, %s: %s", node->title, node->override->reason), "wash", NULL);

      if (node->level == EF_LEVEL_PART)
        step->part_id = g_strdup (node->id + strlen ("part:"));
    }
  for (guint i = 0; i < node->children->len; i++)
    add_decided (plan, node->children->pdata[i]);
}

/* End clearance at a gear when all that's planned and may come off is off. */
static double
clearance_reached (const EfStepPlan *plan,
                   const EfSection *section,
                   const char *place)
{
  const EfLapStock *stock = section->mating_face != NULL ? ef_lap_stock_find (plan->stocks, section->mating_face) : NULL;
  double excess = stock != NULL ? fmax (stock->stock - stock->bound, 0.0) : 0.0;

  return ef_steps_clearance_after (plan->findings, plan->steps, section, place) + excess;
}

/* How far that's outside its window: above 0 too wide, below 0 too tight; 0 within, or not known. */
static double
miss_at (const EfStepPlan *plan,
         const EfSection *section,
         const char *place)
{
  double reached = clearance_reached (plan, section, place);
  double least, most;

  ef_lap_clearance_window (plan->sheet, section, &least, &most);
  if (reached > most + 1e-9)
    return reached - most;

  return reached < least - 1e-9 ? reached - least : 0.0;
}

static const char *
way_out (const EfStepPlan *plan,
         const EfSection *section,
         double reached,
         double miss)
{
  const EfLimit *limit = ef_pump_sheet_limit (plan->sheet, "end-clearance", section->id);

  if (limit != NULL && reached <= limit->wear_max && !(reached < limit->wear_min))
    return "That's still within the wear limits: decide before the work starts whether it will do.";
  if (miss > 0.0)
    return "Fit wider gears or another housing, and don't start lapping for the clearance before that's settled.";

  return "Narrower gears are needed, or more off both gears' ends: settle that before the work starts.";
}

static void
say_missed (EfStepPlan *plan,
            const EfSection *section,
            const char *place,
            double miss)
{
  double reached = clearance_reached (plan, section, place);
  double least, most;
  g_autofree char *slug = g_strdup_printf ("clearance-not-met-%s-%s", section->id, place);
  g_autofree char *reached_text = ef_step_length (reached);
  g_autofree char *miss_text = ef_step_length (fabs (miss));
  g_autofree char *least_text = NULL;
  g_autofree char *most_text = NULL;
  EfStep *step;

  ef_lap_clearance_window (plan->sheet, section, &least, &most);
  least_text = ef_step_length (least);
  most_text = ef_step_length (most);
  step = ef_step_add (plan, g_steal_pointer (&slug), "rework",
                      g_strdup_printf ("%s: lapping alone doesn't bring the end clearance at the %s gear into its window. It comes to %s, wanted is %s to %s: "
                                       "%s too %s. %s", section->name, place, reached_text, least_text, most_text, miss_text,
                                       miss > 0.0 ? "much" : "little", way_out (plan, section, reached, miss)),
                      "wash", NULL);
  step->why = g_strdup ("What may come off the faces, and what the other gear needs, leave no more room.");
}

/* Only where something is lapped for it, or was asked to be. */
static void
add_missed_clearances (EfStepPlan *plan)
{
  static const char *const places[2] = { "drive", "driven" };

  for (guint i = 0; i < plan->sheet->sections->len; i++)
    {
      const EfSection *section = plan->sheet->sections->pdata[i];

      if (!ef_todo_has (plan->todo, "restore-clearance", section->id) && !ef_todo_has (plan->todo, "open-clearance", section->id)
          && ef_lap_stock_find (plan->stocks, section->mating_face) == NULL)
        continue;
      for (int k = 0; k < 2; k++)
        if (miss_at (plan, section, places[k]) != 0.0)
          say_missed (plan, section, places[k], miss_at (plan, section, places[k]));
    }
}

void
ef_steps_rework (EfStepPlan *plan)
{
  EfStep *step = ef_step_add (plan, g_strdup ("wash"), "clean",
                              g_strdup ("Wash all parts, brush out every passage and port, dry them with clean air."), "gears-out", NULL);

  ef_step_tools (step, "parts washer", "passage brushes", "lint-free cloth", NULL);
  ef_step_cautions (step, EF_CAUTION_SOLVENT, EF_CAUTION_PRESSURE, NULL);
  ef_step_after_phase (plan, step, "strip");
  add_set_aside (plan);
  if (plan->apart)
    return;
  add_fit_sound (plan);
  for (guint i = 0; i < plan->todo->len; i++)
    add_todo (plan, plan->todo->pdata[i]);
  add_decided (plan, plan->verdict);
  for (guint i = 0; i < plan->stocks->len; i++)
    if (((EfLapStock *) plan->stocks->pdata[i])->stock > 0.0)
      add_lap (plan, plan->stocks->pdata[i]);
  add_not_possible (plan);
  add_missed_clearances (plan);
}
