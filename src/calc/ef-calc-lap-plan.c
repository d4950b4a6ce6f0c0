/* Stock needed, lapping plan and passes by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"

#include "../rework/ef-lap-passes.h"
#include "../rework/ef-stock-needed.h"

#include <math.h>
#include <float.h>

#define UM 1e-6
#define MOST_UM 10000.0
#define MOST 4000

static GArray *
read_list (const EfJson *input,
           const char *member,
           double low,
           double high)
{
  g_auto (EfJson) array = ef_json_array (input, member, 1, 100000);
  GArray *numbers = g_array_new (FALSE, FALSE, sizeof (double));

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) number = ef_json_element (&array, i);
      double value = ef_json_value (&number, low, high);

      g_array_append_val (numbers, value);
    }

  return numbers;
}

#define NUMBERS(array) ((double *) (gpointer) (array)->data)

static JsonNode *
run_stock_needed (const EfJson *input,
                  GError **error)
{
  static const char *const members[] = { "depths_um", "areas_mm2", "weights", "flatness_um", "goal", "residual_um", "share", "removal_um", NULL };
  g_autoptr (GArray) depths = read_list (input, "depths_um", -MOST_UM, MOST_UM);
  g_autoptr (GArray) areas = read_list (input, "areas_mm2", 0, 1e9);
  g_autoptr (GArray) weights = ef_json_has (input, "weights") ? read_list (input, "weights", 0, 1e12) : NULL;
  double flatness = UM * ef_json_number_or (input, "flatness_um", 0, MOST_UM, 0);
  EfCleanTarget target = { .goal = (EfCleanGoal) ef_json_choice (input, "goal", ef_clean_goals) };
  double removal;
  g_auto (EfLandCurve) land = { 0 };
  JsonObject *out;

  ef_json_only (input, members);
  target.residual = UM * ef_json_number_or (input, "residual_um", 0, MOST_UM, 0);
  target.share = ef_json_number_or (input, "share", 0, 1, 1);
  removal = UM * ef_json_number_or (input, "removal_um", 0, MOST_UM, NAN);
  if (depths->len != areas->len || (weights != NULL && weights->len != depths->len))
    ef_json_fail (input, EF_ERROR_INVALID, "expected as many areas_mm2 and weights as depths_um");
  if (!ef_json_finish (input->context, error))
    return NULL;
  for (guint i = 0; i < depths->len; i++)
    NUMBERS (depths)[i] *= UM;
  if (!ef_land_curve_init (&land, NUMBERS (depths), NUMBERS (areas), weights != NULL ? NUMBERS (weights) : NULL, depths->len, error))
    return NULL;
  out = json_object_new ();
  ef_json_put (out, "needed_um", ef_stock_needed (&land, flatness, &target) / UM);
  ef_json_put (out, "deepest_um", land.deepest / UM);
  ef_json_put (out, "restored_before", ef_land_restored (&land, flatness, 0.0));
  ef_json_put (out, "restored_after", ef_land_restored (&land, flatness, isnan (removal) ? ef_stock_needed (&land, flatness, &target) : removal));

  return ef_json_object_node (out);
}

/* Problems */

static const char *const role_names[] = { "mating", "floor", "plate", "gear-end", "cover", "other", NULL };

static double
um_or (const EfJson *json,
       const char *member,
       double fallback_um)
{
  return UM * ef_json_number_or (json, member, -1e7, 1e7, fallback_um);
}

static void
read_face (const EfJson *json,
           EfLapProblem *problem)
{
  static const char *const members[] = { "id", "role", "needed_um", "residual_um", "flatness_um", "flatness_allowed_um", "stock_um", "weight", "setup_um", NULL };
  g_autofree char *id = ef_json_string (json, "id");
  EfLapFace *face;

  ef_json_only (json, members);
  if (ef_lap_problem_find_face (problem, id) >= 0)
    ef_json_fail (json, EF_ERROR_INVALID, "expected an id used once, found \"%.80s\" again", id);
  face = ef_lap_problem_add_face (problem, id, (EfLapRole) ef_json_choice (json, "role", role_names));
  face->needed = um_or (json, "needed_um", 0);
  face->residual = um_or (json, "residual_um", 0);
  face->flatness = um_or (json, "flatness_um", 0);
  face->flatness_allowed = um_or (json, "flatness_allowed_um", INFINITY);
  face->stock = UM * ef_json_number (json, "stock_um", 0, MOST_UM);
  face->weight = ef_json_number_or (json, "weight", 0, 1e6, 1);
  face->setup = um_or (json, "setup_um", 0);
}

static int
find_face (const EfJson *at,
           const EfLapProblem *problem,
           const char *id)
{
  int face = ef_lap_problem_find_face (problem, id);

  if (face < 0)
    ef_json_fail (at, EF_ERROR_NOT_FOUND, "expected the id of a face, found \"%.80s\"", id);

  return face;
}

/* Array of face ids, or of [id, effect]. */
static void
read_terms (const EfJson *json,
            const char *member,
            double effect,
            const EfLapProblem *problem,
            GArray *terms)
{
  g_auto (EfJson) list = ef_json_array (json, member, 0, 100);

  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) one = ef_json_element (&list, i);
      g_autofree char *id = ef_json_value_string (&one);
      EfLapTerm term = { find_face (&one, problem, id), effect };

      if (term.face >= 0)
        g_array_append_val (terms, term);
    }
}

static void
read_ends (const EfJson *json,
           const EfLapProblem *problem,
           EfLapSection *section)
{
  g_auto (EfJson) ends = ef_json_array (json, "gear_ends", 4, 4);

  for (guint i = 0; i < ef_json_length (&ends); i++)
    {
      g_auto (EfJson) one = ef_json_element (&ends, i);
      g_autofree char *id = ef_json_value_string (&one);

      section->ends[i / 2][i % 2] = id != NULL && *id != '\0' ? find_face (&one, problem, id) : -1;
    }
}

static void
read_section (const EfJson *json,
              EfLapProblem *problem)
{
  static const char *const members[] = { "id", "depth_um", "widths_um", "width_allowed_um", "clearance_min_um", "clearance_max_um", "u_um", "guard", "gear_ends",
                                         "shallower", "deeper", NULL };
  g_autofree char *id = ef_json_string (json, "id");
  g_auto (EfJson) widths = ef_json_array (json, "widths_um", 2, 2);
  EfLapSection *section = ef_lap_problem_add_section (problem, id);

  ef_json_only (json, members);
  section->depth = UM * ef_json_number (json, "depth_um", 0, 1e7);
  for (guint i = 0; i < ef_json_length (&widths); i++)
    {
      g_auto (EfJson) width = ef_json_element (&widths, i);

      section->width[i] = UM * ef_json_value (&width, 0, 1e7);
    }
  section->width_allowed = um_or (json, "width_allowed_um", INFINITY);
  section->clearance_min = um_or (json, "clearance_min_um", -INFINITY);
  section->clearance_max = um_or (json, "clearance_max_um", INFINITY);
  section->uncertainty = um_or (json, "u_um", 0);
  section->guard = ef_json_number_or (json, "guard", 0, 100, 0);
  read_ends (json, problem, section);
  if (ef_json_has (json, "shallower"))
    read_terms (json, "shallower", -1.0, problem, section->effects);
  if (ef_json_has (json, "deeper"))
    read_terms (json, "deeper", 1.0, problem, section->effects);
}

static void
read_limit (const EfJson *json,
            EfLapProblem *problem)
{
  static const char *const members[] = { "id", "faces", "min_um", "max_um", NULL };
  g_autofree char *id = ef_json_string (json, "id");
  EfLapLimit *limit = ef_lap_problem_add_limit (problem, id);

  ef_json_only (json, members);
  limit->min = um_or (json, "min_um", -INFINITY);
  limit->max = um_or (json, "max_um", INFINITY);
  read_terms (json, "faces", 1.0, problem, limit->terms);
}

static void
read_each (const EfJson *input,
           const char *member,
           EfLapProblem *problem,
           void (*read) (const EfJson *, EfLapProblem *))
{
  g_auto (EfJson) list = ef_json_array (input, member, 0, 400);

  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) one = ef_json_element (&list, i);

      read (&one, problem);
    }
}

static EfLapProblem *
read_problem (const EfJson *input)
{
  EfLapProblem *problem = ef_lap_problem_new ();

  read_each (input, "faces", problem, read_face);
  if (ef_json_has (input, "sections"))
    read_each (input, "sections", problem, read_section);
  if (ef_json_has (input, "limits"))
    read_each (input, "limits", problem, read_limit);

  return problem;
}

static JsonArray *
sections_out (const EfLapProblem *problem,
              const double *removal)
{
  JsonArray *sections = json_array_new ();

  for (guint i = 0; i < problem->sections->len; i++)
    {
      const EfLapSection *section = ef_lap_problem_section (problem, i);
      JsonObject *one = json_object_new ();
      JsonArray *widths = json_array_new ();
      JsonArray *clearances = json_array_new ();

      json_object_set_string_member (one, "id", section->id);
      ef_json_put (one, "depth_um", ef_lap_section_depth (section, removal) / UM);
      for (int gear = 0; gear < 2; gear++)
        {
          json_array_add_double_element (widths, ef_lap_section_width (section, removal, gear) / UM);
          json_array_add_double_element (clearances, ef_lap_section_clearance (section, removal, gear) / UM);
        }
      json_object_set_array_member (one, "widths_um", widths);
      json_object_set_array_member (one, "clearances_um", clearances);
      json_array_add_object_element (sections, one);
    }

  return sections;
}

static JsonArray *
conflicts_out (const EfLapPlan *plan)
{
  JsonArray *conflicts = json_array_new ();

  for (guint i = 0; i < plan->conflicts->len; i++)
    {
      const EfLapConflict *conflict = plan->conflicts->pdata[i];
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "limit", ef_lap_limit_kind_name (conflict->kind));
      json_object_set_string_member (one, "target", conflict->target);
      ef_json_put (one, "shortfall_um", conflict->shortfall / UM);
      json_object_set_boolean_member (one, "restores", conflict->restores);
      json_object_set_string_member (one, "sentence", conflict->sentence);
      json_array_add_object_element (conflicts, one);
    }

  return conflicts;
}

static JsonObject *
plan_out (const EfLapProblem *problem,
          const EfLapPlan *plan)
{
  JsonObject *out = json_object_new ();
  JsonArray *faces = json_array_new ();

  json_object_set_boolean_member (out, "feasible", plan->feasible);
  if (!plan->feasible)
    {
      json_array_unref (faces);
      json_object_set_array_member (out, "conflicts", conflicts_out (plan));
      return out;
    }
  for (guint i = 0; i < plan->n_faces; i++)
    {
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "id", ef_lap_problem_face (problem, i)->id);
      ef_json_put (one, "least_um", ef_lap_face_least (ef_lap_problem_face (problem, i)) / UM);
      ef_json_put (one, "removal_um", plan->removal[i] / UM);
      json_array_add_object_element (faces, one);
    }
  json_object_set_array_member (out, "faces", faces);
  json_object_set_array_member (out, "sections", sections_out (problem, plan->removal));
  ef_json_put (out, "effort_um", plan->effort / UM);
  ef_json_put (out, "stock_um", plan->stock / UM);
  ef_json_put (out, "gap", plan->gap);

  return out;
}

static EfLapGoal
read_goal (const EfJson *input)
{
  static const char *const goals[] = { "least-effort", "least-stock", "durable", NULL };

  return ef_json_has (input, "goal") ? (EfLapGoal) ef_json_choice (input, "goal", goals) : EF_LAP_LEAST_EFFORT;
}

static JsonNode *
run_lap_plan (const EfJson *input,
              GError **error)
{
  static const char *const members[] = { "faces", "sections", "limits", "goal", NULL };
  g_autoptr (EfLapProblem) problem = NULL;
  g_autoptr (EfLapPlan) plan = NULL;
  EfLapGoal goal = read_goal (input);

  ef_json_only (input, members);
  problem = read_problem (input);
  if (!ef_json_finish (input->context, error))
    return NULL;
  plan = ef_lap_plan_solve (problem, goal, error);

  return plan != NULL ? ef_json_object_node (plan_out (problem, plan)) : NULL;
}

/* Passes */

static void
read_grits (const EfJson *input,
            EfLapGrits *grits)
{
  static const char *const members[] = { "removal_um", "damage_um", "effort", NULL };
  g_auto (EfJson) list = { 0 };

  ef_lap_grits_default (grits);
  if (!ef_json_has (input, "grits"))
    return;
  list = ef_json_array (input, "grits", 1, EF_PASSES_MOST_GRITS);
  grits->n = ef_json_length (&list);
  for (guint i = 0; i < grits->n; i++)
    {
      g_auto (EfJson) one = ef_json_element (&list, i);

      ef_json_only (&one, members);
      grits->removal[i] = UM * ef_json_number (&one, "removal_um", 0.001, 1000);
      grits->damage[i] = UM * ef_json_number_or (&one, "damage_um", 0, 1000, 0);
      grits->effort[i] = ef_json_number_or (&one, "effort", DBL_MIN, 1e6, 1);
    }
}

static JsonArray *
counts_out (const EfLapGrits *grits,
            const int *counts)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < grits->n; i++)
    json_array_add_int_element (array, counts[i]);

  return array;
}

static JsonObject *
one_face_passes (const EfLapGrits *grits,
                 double lower,
                 double upper)
{
  int counts[EF_PASSES_MOST_GRITS];
  double effort;
  JsonObject *out = json_object_new ();
  gboolean found = ef_lap_passes_find (grits, lower, upper, counts, &effort);

  json_object_set_boolean_member (out, "feasible", found);
  if (found)
    {
      json_object_set_array_member (out, "passes", counts_out (grits, counts));
      ef_json_put (out, "removal_um", ef_lap_grits_removal (grits, counts) / UM);
      ef_json_put (out, "effort", effort);
    }

  return out;
}

static JsonObject *
joint_passes (const EfLapProblem *problem,
              const EfLapPassPlan *passes,
              const EfLapGrits *grits)
{
  JsonObject *out = json_object_new ();
  JsonArray *faces = json_array_new ();

  json_object_set_boolean_member (out, "feasible", passes->feasible);
  if (passes->reason != NULL)
    json_object_set_string_member (out, "reason", passes->reason);
  for (guint i = 0; passes->feasible && i < passes->n_faces; i++)
    {
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "id", ef_lap_problem_face (problem, i)->id);
      json_object_set_array_member (one, "passes", counts_out (grits, passes->counts[i]));
      ef_json_put (one, "removal_um", passes->removal[i] / UM);
      json_array_add_object_element (faces, one);
    }
  json_object_set_array_member (out, "faces", faces);
  if (passes->feasible)
    {
      json_object_set_array_member (out, "sections", sections_out (problem, passes->removal));
      ef_json_put (out, "effort", passes->effort);
    }

  return out;
}

static JsonNode *
run_joint (const EfJson *input,
           const EfLapGrits *grits,
           GError **error)
{
  g_autoptr (EfLapProblem) problem = read_problem (input);
  g_autoptr (EfLapPlan) plan = NULL;
  g_autoptr (EfLapPassPlan) passes = NULL;
  g_autofree EfLapGrits *all = NULL;
  EfLapGoal goal = read_goal (input);

  if (!ef_json_finish (input->context, error))
    return NULL;
  plan = ef_lap_plan_solve (problem, goal, error);
  if (plan == NULL)
    return NULL;
  if (!plan->feasible)
    return ef_json_object_node (plan_out (problem, plan));
  all = g_new (EfLapGrits, problem->faces->len + 1);
  for (guint i = 0; i < problem->faces->len; i++)
    all[i] = *grits;
  passes = ef_lap_passes_plan (problem, plan, all, error);

  return passes != NULL ? ef_json_object_node (joint_passes (problem, passes, grits)) : NULL;
}

static JsonNode *
run_lap_passes (const EfJson *input,
                GError **error)
{
  static const char *const members[] = { "grits", "lower_um", "upper_um", "faces", "sections", "limits", "goal", NULL };
  EfLapGrits grits;
  double lower, upper;

  ef_json_only (input, members);
  read_grits (input, &grits);
  if (ef_json_has (input, "faces"))
    return run_joint (input, &grits, error);
  lower = UM * ef_json_number (input, "lower_um", 0, MOST_UM);
  upper = UM * ef_json_number (input, "upper_um", 0, MOST_UM);
  if (!ef_json_finish (input->context, error) || !ef_lap_grits_check (&grits, error))
    return NULL;

  return ef_json_object_node (one_face_passes (&grits, lower, upper));
}

#define EXAMPLE_PROBLEM                                                                                                                              \
  "\"faces\": [{\"id\": \"housing/mating\", \"role\": \"mating\", \"needed_um\": 18, \"residual_um\": 5, \"flatness_um\": 25, \"flatness_allowed_um\": 10, " \
  "\"stock_um\": 150}, {\"id\": \"plate/side-a\", \"role\": \"plate\", \"needed_um\": 90, \"residual_um\": 10, \"flatness_um\": 12, "                  \
  "\"flatness_allowed_um\": 10, \"stock_um\": 200}, {\"id\": \"drive/end-a\", \"role\": \"gear-end\", \"needed_um\": 12, \"residual_um\": 3, "         \
  "\"stock_um\": 40, \"weight\": 1.5}, {\"id\": \"drive/end-b\", \"role\": \"gear-end\", \"needed_um\": 4, \"residual_um\": 3, \"stock_um\": 40, "    \
  "\"weight\": 1.5}, {\"id\": \"driven/end-a\", \"role\": \"gear-end\", \"needed_um\": 9, \"residual_um\": 3, \"stock_um\": 40, \"weight\": 1.5}, "    \
  "{\"id\": \"driven/end-b\", \"role\": \"gear-end\", \"needed_um\": 3, \"residual_um\": 3, \"stock_um\": 40, \"weight\": 1.5}], "                    \
  "\"sections\": [{\"id\": \"pressure\", \"depth_um\": 25130, \"widths_um\": [25000, 25003], \"width_allowed_um\": 5, \"clearance_min_um\": 50, "     \
  "\"clearance_max_um\": 80, \"gear_ends\": [\"drive/end-a\", \"drive/end-b\", \"driven/end-a\", \"driven/end-b\"], "                                \
  "\"shallower\": [\"housing/mating\"]}]"

#define PROBLEM_INPUT                                                                                                                              \
  "faces: array; each id, role (mating, floor, plate, gear-end, cover, other), stock_um that may come off, and optional needed_um (deepest wear below the "    \
  "highest places), residual_um that may stay, flatness_um, flatness_allowed_um, weight (effort for each um), setup_um (effort of touching it)\n"           \
  "sections: array, optional; each id, depth_um of the pocket, widths_um of both gears, gear_ends (4 face ids: drive a and b, driven a and b; \"\": none), and "    \
  "optional width_allowed_um, clearance_min_um, clearance_max_um, u_um, guard, shallower and deeper (ids of faces that change the depth)\n"                   \
  "limits: array, optional; each id, faces (ids), min_um, max_um of the sum of their removals\n"                                                           \
  "goal: least-effort (default), least-stock, durable\n"

const EfCalc ef_calc_lap_plan[] = {
  {
      "stock-needed",
      "How far a face must be lapped for its wear to clean up",
      "depths_um, areas_mm2: pieces of the land with their depth of wear\n"
      "weights: of the pieces, optional: what a place costs in leakage, such as the square of the pressure gradient\n"
      "flatness_um: peak to valley, default 0\n"
      "goal: wholly, residual (residual_um may stay) or share (share of the weighted land restored)\n"
      "removal_um: optional, for restored_after; default what is needed",
      "needed_um: to take off\n"
      "deepest_um\n"
      "restored_before, restored_after: share of the weighted land that is as new (material ratio)",
      "{\"depths_um\": [0, 10, 30, 80], \"areas_mm2\": [60, 25, 10, 5], \"flatness_um\": 12, \"goal\": \"share\", \"share\": 0.95}",
      "material ratio: ISO 21920-2; flatness adds to depth: rigid geometry",
      run_stock_needed,
  },
  {
      "lap-plan",
      "How much to lap off which face: proven least effort, or the limits that conflict",
      PROBLEM_INPUT,
      "feasible\n"
      "faces: removal_um, least_um; sections: depth_um, widths_um, clearances_um afterwards; effort_um, stock_um; gap: 0 when proved\n"
      "conflicts: the smallest set of limits that can't all hold, each with shortfall_um and a sentence",
      "{" EXAMPLE_PROBLEM "}",
      "mixed-integer linear programme; rigid flat faces",
      run_lap_plan,
  },
  {
      "lap-passes",
      "Whole passes by grit: for one face between two bounds, or for all faces of a plan together",
      "grits: optional, coarsest first; each removal_um by a pass, damage_um the finer ones must take off, effort; default 6, 2.5, 1 um\n"
      "lower_um, upper_um: one face; or the members of lap-plan: all together",
      "feasible; passes by grit, removal_um, effort\n"
      "reason: where no whole number of passes will do",
      "{" EXAMPLE_PROBLEM "}",
      "exhaustive search; default rates: common practice, no source",
      run_lap_passes,
  },
  { NULL },
};
