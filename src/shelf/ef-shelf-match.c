/* The match told in the trade's words: what fits together, and why the rest doesn't.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-shelf-match.h"
#include "ef-shelf-problem.h"

#include <math.h>

static void
choice_free (EfShelfChoice *choice)
{
  g_free (choice->place);
  g_free (choice->label);
  g_ptr_array_unref (choice->parts);
  g_free (choice);
}

static void
check_free (EfShelfCheck *check)
{
  g_free (check->quantity);
  g_free (check->label);
  g_free (check);
}

static void
assembly_free (EfShelfAssembly *assembly)
{
  g_ptr_array_unref (assembly->choices);
  g_ptr_array_unref (assembly->checks);
  g_ptr_array_unref (assembly->laps);
  g_free (assembly);
}

void
ef_shelf_match_free (EfShelfMatch *match)
{
  if (match == NULL)
    return;

  g_clear_pointer (&match->assemblies, g_ptr_array_unref);
  g_clear_pointer (&match->misses, g_ptr_array_unref);
  g_clear_pointer (&match->assumptions, g_ptr_array_unref);
  g_clear_pointer (&match->open, g_ptr_array_unref);
  g_free (match->summary);
  g_free (match);
}

static const EfMatchCandidate *
candidate_at (const EfShelfProblem *problem,
              guint place,
              guint index)
{
  return &problem->problem.slots[place].candidates[index];
}

static void
add_check (EfShelfAssembly *assembly,
           const EfMatchTerm *term,
           const char *quantity,
           const char *label,
           double value,
           double u)
{
  EfShelfCheck *check = g_new0 (EfShelfCheck, 1);

  check->quantity = g_strdup (quantity);
  check->label = g_strdup (label);
  check->value = value;
  check->u = u;
  check->least = term->least;
  check->most = term->most;
  g_ptr_array_add (assembly->checks, check);
}

static void
tell_term (const EfShelfProblem *problem,
           guint t,
           const guint *choice,
           EfShelfAssembly *assembly)
{
  const EfMatchTerm *term = &problem->problem.terms[t];
  const EfShelfTerm *told = problem->told->pdata[t];
  EfMatchFit fit = ef_match_fit (&problem->problem, term, candidate_at (problem, term->slot[0], choice[term->slot[0]]),
                                 candidate_at (problem, term->slot[1], choice[term->slot[1]]), NULL);

  for (guint g = 0; g < (term->kind == EF_MATCH_STACK ? 2 : 1); g++)
    add_check (assembly, term, told->quantity, told->labels[g] != NULL ? told->labels[g] : told->label, fit.value[g], fit.u[g]);
  if (fit.lap_a > 0)
    g_ptr_array_add (assembly->laps, g_strdup_printf ("%.3f mm more off the mating face for the end clearance", fit.lap_a * 1e-6));
  if (fit.lap_b > 0)
    g_ptr_array_add (assembly->laps, g_strdup_printf ("%.3f mm more off one end of both gears for the end clearance", fit.lap_b * 1e-6));
}

static EfShelfAssembly *
tell_assembly (const EfShelfProblem *problem,
               const EfMatchResult *result)
{
  EfShelfAssembly *assembly = g_new0 (EfShelfAssembly, 1);

  assembly->choices = g_ptr_array_new_with_free_func ((GDestroyNotify) choice_free);
  assembly->checks = g_ptr_array_new_with_free_func ((GDestroyNotify) check_free);
  assembly->laps = g_ptr_array_new_with_free_func (g_free);
  assembly->faces = result->cost.faces;
  assembly->stock = result->cost.stock * 1e-9;
  assembly->leak = result->cost.leak;
  for (guint i = 0; i < problem->places->len; i++)
    {
      const EfShelfPlace *place = problem->places->pdata[i];
      const EfShelfUnit *unit = place->units->pdata[result->choice[i]];
      EfShelfChoice *choice = g_new0 (EfShelfChoice, 1);

      choice->place = g_strdup (place->id);
      choice->label = g_strdup (place->label);
      choice->parts = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_shelf_part_unref);
      for (int k = 0; k < 2; k++)
        if (unit->shelf[k] != NULL)
          g_ptr_array_add (choice->parts, ef_shelf_part_ref (unit->shelf[k]));
      g_ptr_array_add (assembly->choices, choice);
      ef_shelf_laps_of (unit, assembly->laps);
    }
  for (guint t = 0; t < problem->problem.n_terms; t++)
    tell_term (problem, t, result->choice, assembly);

  return assembly;
}

/* Why not */

static char *
tell_failure (const EfShelfProblem *problem,
              guint t,
              const EfMatchFit *fit)
{
  const EfMatchTerm *term = &problem->problem.terms[t];
  const EfShelfTerm *told = problem->told->pdata[t];
  double limit = fit->over ? term->most : term->least;
  gboolean sure = fabs (fit->worst - limit) > problem->problem.guard * fit->worst_u && (fit->worst > limit) == fit->over;
  const char *how = sure ? (fit->over ? "over" : "under") : fit->over ? "not surely within" : "not surely above";

  return g_strdup_printf ("%s would be %.3f mm ± %.3f mm, %s %.3f mm%s.", told->label, fit->worst * 1e3, 2e3 * fit->worst_u, how, limit * 1e3,
                          fit->no_stock ? ", and there isn't stock enough to lap it right" : "");
}

/* NULL when all terms of the place hold with @choice; the first that doesn't, told. */
static char *
first_failure (const EfShelfProblem *problem,
               guint place,
               const guint *choice,
               EfMatchCost *cost)
{
  for (guint t = 0; t < problem->problem.n_terms; t++)
    {
      const EfMatchTerm *term = &problem->problem.terms[t];
      EfMatchCost one;
      EfMatchFit fit;

      if (problem->problem.slots[term->slot[0]].n == 0 || problem->problem.slots[term->slot[1]].n == 0)
        continue;
      fit = ef_match_fit (&problem->problem, term, candidate_at (problem, term->slot[0], choice[term->slot[0]]),
                          candidate_at (problem, term->slot[1], choice[term->slot[1]]), &one);
      if (!fit.fits && (term->slot[0] == place || term->slot[1] == place))
        return tell_failure (problem, t, &fit);
      cost->faces += one.faces;
      cost->stock += one.stock;
      cost->leak += one.leak;
    }
  for (guint s = 0; s < problem->problem.n_slots; s++)
    if (problem->problem.slots[s].n > 0)
      {
        cost->faces += candidate_at (problem, s, choice[s])->faces;
        cost->stock += candidate_at (problem, s, choice[s])->stock;
      }

  return NULL;
}

static char *
tell_dearer (const EfMatchCost *cost,
             const EfMatchCost *best)
{
  if (cost->faces != best->faces)
    return g_strdup_printf ("Fits, but with %d faces to lap in all against %d.", cost->faces, best->faces);
  if (cost->stock != best->stock)
    return g_strdup_printf ("Fits, but with %.3f mm to lap off in all against %.3f mm.", cost->stock * 1e-6, best->stock * 1e-6);

  return g_strdup_printf ("Fits, but leaks %.0f %% more.", best->leak > 0.0 ? 100.0 * (cost->leak / best->leak - 1.0) : 0.0);
}

static gboolean
is_used (const GPtrArray *assemblies,
         const EfShelfPart *part)
{
  for (guint i = 0; i < assemblies->len; i++)
    {
      const EfShelfAssembly *assembly = assemblies->pdata[i];

      for (guint k = 0; k < assembly->choices->len; k++)
        if (g_ptr_array_find (((EfShelfChoice *) assembly->choices->pdata[k])->parts, part, NULL))
          return TRUE;
    }

  return FALSE;
}

/* Each unit that is in no assembly, put into the best one (or, where none fits, into the first of everything). */
static void
tell_misses (EfShelfProblem *problem,
             const GArray *best,
             EfShelfMatch *match)
{
  const EfMatchResult *first = best->len > 0 ? &g_array_index (best, EfMatchResult, 0) : NULL;

  for (guint p = 0; p < problem->places->len; p++)
    {
      const EfShelfPlace *place = problem->places->pdata[p];

      for (guint i = 0; i < place->units->len; i++)
        {
          const EfShelfUnit *unit = place->units->pdata[i];
          guint choice[EF_MATCH_SLOTS] = { 0 };
          EfMatchCost cost = { 0 };
          g_autofree char *reason = NULL;

          if (unit->shelf[0] == NULL || is_used (match->assemblies, unit->shelf[0]))
            continue;
          for (guint s = 0; first != NULL && s < problem->places->len; s++)
            choice[s] = first->choice[s];
          choice[p] = i;
          reason = first_failure (problem, p, choice, &cost);
          if (reason == NULL)
            reason = first != NULL ? tell_dearer (&cost, &first->cost) : g_strdup ("Would fit by itself, but another place stays empty.");
          for (int k = 0; k < 2; k++)
            if (unit->shelf[k] != NULL)
              ef_shelf_miss_add (problem->misses, unit->shelf[k], g_strdup (reason));
        }
    }
}

static char *
tell_empty (const EfShelfProblem *problem)
{
  for (guint i = 0; i < problem->places->len; i++)
    {
      const EfShelfPlace *place = problem->places->pdata[i];

      if (place->units->len == 0)
        return g_strdup_printf ("Nothing on the shelf for: %s.", place->label);
    }

  return g_strdup ("No parts on the shelf go together within the limits.");
}

static char *
summarise (const EfShelfProblem *problem,
           const EfShelfMatch *match)
{
  if (match->open->len == 0)
    return g_strdup ("Every part of this pump can stay: nothing is needed from the shelf.");
  if (match->assemblies->len == 0)
    return tell_empty (problem);

  return g_strdup_printf ("%u %s found among %u parts on the shelf%s.", match->assemblies->len, match->assemblies->len == 1 ? "way to make it good was" : "ways to make it good were",
                          problem->considered, match->assemblies->len == 1 ? "" : "; least rework first");
}

EfShelfMatch *
ef_shelf_match (const EfFindings *findings,
                const EfVerdict *verdict,
                GPtrArray *shelf,
                const EfDecisionRule *rule,
                EfShelfOpen open,
                guint most,
                GCancellable *cancellable,
                GError **error)
{
  g_autoptr (EfShelfProblem) problem = ef_shelf_problem_new (findings, verdict, shelf, rule, open, error);
  g_autoptr (EfShelfMatch) match = NULL;
  g_autoptr (GArray) best = NULL;

  if (problem == NULL)
    return NULL;
  match = g_new0 (EfShelfMatch, 1);
  match->assemblies = g_ptr_array_new_with_free_func ((GDestroyNotify) assembly_free);
  match->open = g_ptr_array_new_with_free_func (g_free);
  match->considered = problem->considered;
  for (guint i = 0; i < problem->places->len; i++)
    if (((EfShelfPlace *) problem->places->pdata[i])->open)
      g_ptr_array_add (match->open, g_strdup (((EfShelfPlace *) problem->places->pdata[i])->label));

  best = ef_match_best (&problem->problem, most, &match->stats, cancellable, error);
  if (best == NULL)
    return NULL;
  for (guint i = 0; match->open->len > 0 && i < best->len; i++)
    g_ptr_array_add (match->assemblies, tell_assembly (problem, &g_array_index (best, EfMatchResult, i)));
  tell_misses (problem, best, match);
  match->misses = g_steal_pointer (&problem->misses);
  match->assumptions = g_steal_pointer (&problem->assumptions);
  match->summary = summarise (problem, match);

  return g_steal_pointer (&match);
}

EfChange *
ef_shelf_use_change (const EfInspection *inspection,
                     GPtrArray *parts)
{
  g_autoptr (GString) label = g_string_new ("Fit");
  EfChange *change;

  for (guint i = 0; i < parts->len; i++)
    {
      const EfShelfPart *part = parts->pdata[i];

      g_string_append_printf (label, "%s %s", i == 0 ? "" : i + 1 == parts->len ? " and" : ",", part->part->shelf);
    }
  g_string_append (label, " from the shelf");
  change = ef_change_new (label->str);
  for (guint i = 0; i < parts->len; i++)
    {
      const EfShelfPart *part = parts->pdata[i];

      ef_change_add (change, ef_inspection_find (inspection, EF_ITEM_REPLACEMENT, part->part->item.id), part->part);
    }

  return change;
}

/* JSON */

static JsonNode *
assembly_to_json (const EfShelfAssembly *assembly)
{
  JsonObject *object = json_object_new ();
  JsonArray *parts = json_array_new (), *checks = json_array_new (), *laps = json_array_new ();

  for (guint i = 0; i < assembly->choices->len; i++)
    {
      const EfShelfChoice *choice = assembly->choices->pdata[i];
      JsonObject *one = json_object_new ();
      JsonArray *codes = json_array_new ();

      for (guint k = 0; k < choice->parts->len; k++)
        json_array_add_string_element (codes, ((EfShelfPart *) choice->parts->pdata[k])->part->shelf);
      json_object_set_string_member (one, "place", choice->place);
      json_object_set_boolean_member (one, "own", choice->parts->len == 0);
      json_object_set_array_member (one, "shelf", codes);
      json_array_add_object_element (parts, one);
    }
  for (guint i = 0; i < assembly->checks->len; i++)
    {
      const EfShelfCheck *check = assembly->checks->pdata[i];
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "quantity", check->quantity);
      json_object_set_string_member (one, "label", check->label);
      ef_json_put (one, "value_mm", check->value * 1e3);
      ef_json_put (one, "uncertainty_mm", check->u * 1e3);
      ef_json_put (one, "least_mm", check->least * 1e3);
      ef_json_put (one, "most_mm", check->most * 1e3);
      json_array_add_object_element (checks, one);
    }
  for (guint i = 0; i < assembly->laps->len; i++)
    json_array_add_string_element (laps, assembly->laps->pdata[i]);
  json_object_set_array_member (object, "parts", parts);
  json_object_set_int_member (object, "faces_to_lap", assembly->faces);
  ef_json_put (object, "stock_mm", assembly->stock * 1e3);
  ef_json_put (object, "leak_m3", assembly->leak);
  json_object_set_array_member (object, "laps", laps);
  json_object_set_array_member (object, "checks", checks);

  return ef_json_object_node (object);
}

static JsonArray *
texts (const GPtrArray *list)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < list->len; i++)
    json_array_add_string_element (array, list->pdata[i]);

  return array;
}

JsonNode *
ef_shelf_match_to_json (const EfShelfMatch *match)
{
  JsonObject *object = json_object_new ();
  JsonArray *assemblies = json_array_new (), *misses = json_array_new ();

  for (guint i = 0; i < match->assemblies->len; i++)
    json_array_add_element (assemblies, assembly_to_json (match->assemblies->pdata[i]));
  for (guint i = 0; i < match->misses->len; i++)
    {
      const EfShelfMiss *miss = match->misses->pdata[i];
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "shelf", miss->part->part->shelf != NULL ? miss->part->part->shelf : "");
      json_object_set_string_member (one, "reason", miss->reason);
      json_array_add_object_element (misses, one);
    }
  json_object_set_string_member (object, "summary", match->summary);
  json_object_set_array_member (object, "open", texts (match->open));
  json_object_set_int_member (object, "considered", match->considered);
  json_object_set_array_member (object, "assemblies", assemblies);
  json_object_set_array_member (object, "misses", misses);
  json_object_set_array_member (object, "assumptions", texts (match->assumptions));
  json_object_set_int_member (object, "bounds", (gint64) match->stats.boxes);

  return ef_json_object_node (object);
}
