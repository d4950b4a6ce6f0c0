/* The shelf match by name, on plain numbers: one section, its housings, pairs of gears, covers and shafts.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"

#include "../shelf/ef-match.h"

#include <float.h>
#include <math.h>

#define MOST_PARTS 100000
#define FAR 1e4

typedef struct
{
  const char *member;
  const char *sizes[3];  /* two numbers each */
  const char *faces;     /* the one a stack laps */
} PlaceForm;

static const PlaceForm forms[] = {
  { "housings", { "pocket_depth_mm", "pocket_diameter_mm", "bore_mm" } },
  { "pairs", { "face_width_mm", "tip_diameter_mm", NULL } },
  { "covers", { "bore_mm", NULL, NULL } },
  { "drive_shafts", { "journal_mm", NULL, NULL } },
  { "driven_shafts", { "journal_mm", NULL, NULL } },
};

typedef struct
{
  EfMatchProblem problem;
  GArray *candidates[G_N_ELEMENTS (forms)];
  GPtrArray *ids[G_N_ELEMENTS (forms)];
  const char *members[G_N_ELEMENTS (forms)]; /* of the slots that are there */
  int slot[G_N_ELEMENTS (forms)];
  GArray *terms;
  GPtrArray *names;
} Work;

static void
work_clear (Work *work)
{
  for (guint i = 0; i < G_N_ELEMENTS (forms); i++)
    {
      g_clear_pointer (&work->candidates[i], g_array_unref);
      g_clear_pointer (&work->ids[i], g_ptr_array_unref);
    }
  g_clear_pointer (&work->terms, g_array_unref);
  g_clear_pointer (&work->names, g_ptr_array_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Work, work_clear)

static void
read_two (const EfJson *json,
          const char *member,
          double *out)
{
  g_auto (EfJson) list = ef_json_array (json, member, 2, 2);

  for (guint i = 0; i < 2 && ef_json_length (&list) == 2; i++)
    {
      g_auto (EfJson) element = ef_json_element (&list, i);

      out[i] = 1e-3 * ef_json_value (&element, 0, FAR);
    }
}

static void
read_candidate (const EfJson *json,
                guint form,
                Work *work)
{
  const char *members[10] = { "id", "uncertainty_mm", "faces_to_lap", "stock_mm", "room_mm", NULL };
  EfMatchCandidate candidate = { 0 };
  double u = 1e-3 * ef_json_number_or (json, "uncertainty_mm", 0, FAR, 0);
  guint n = 5;

  for (guint i = 0; i < 3 && forms[form].sizes[i] != NULL; i++)
    {
      members[n++] = forms[form].sizes[i];
      read_two (json, forms[form].sizes[i], &candidate.x[2 * i]);
    }
  ef_json_only (json, members);
  for (guint d = 0; d < EF_MATCH_DIMS; d++)
    candidate.u[d] = u;
  candidate.faces = (int) ef_json_integer_or (json, "faces_to_lap", 0, 10, 0);
  candidate.stock = llround (1e6 * ef_json_number_or (json, "stock_mm", 0, FAR, 0));
  candidate.room = llround (1e6 * ef_json_number_or (json, "room_mm", 0, FAR, 0));
  candidate.lapped = candidate.faces > 0;
  g_array_append_val (work->candidates[form], candidate);
  g_ptr_array_add (work->ids[form], ef_json_string (json, "id"));
}

static void
read_places (const EfJson *input,
             Work *work)
{
  for (guint form = 0; form < G_N_ELEMENTS (forms); form++)
    {
      g_auto (EfJson) list = { 0 };

      work->candidates[form] = g_array_new (FALSE, FALSE, sizeof (EfMatchCandidate));
      work->ids[form] = g_ptr_array_new_with_free_func (g_free);
      work->slot[form] = -1;
      if (form >= 2 && !ef_json_has (input, forms[form].member))
        continue;
      list = ef_json_array (input, forms[form].member, 0, MOST_PARTS);
      for (guint i = 0; i < ef_json_length (&list); i++)
        {
          g_auto (EfJson) one = ef_json_element (&list, i);

          read_candidate (&one, form, work);
        }
      work->slot[form] = (int) work->problem.n_slots;
      work->members[work->problem.n_slots] = forms[form].member;
      work->problem.slots[work->problem.n_slots++] = (EfMatchSlot){
        work->candidates[form]->len, form == 0 ? 6 : form == 1 ? 4 : 2, (const EfMatchCandidate *) work->candidates[form]->data
      };
    }
}

static void
read_limit (const EfJson *limits,
            const char *member,
            EfMatchTerm *term)
{
  static const char *const members[] = { "least_mm", "most_mm", NULL };
  g_auto (EfJson) one = { 0 };

  term->least = term->most = NAN;
  if (!ef_json_has (limits, member))
    return;
  one = ef_json_object (limits, member);
  ef_json_only (&one, members);
  term->least = 1e-3 * ef_json_number_or (&one, "least_mm", -FAR, FAR, NAN);
  term->most = 1e-3 * ef_json_number_or (&one, "most_mm", -FAR, FAR, NAN);
}

static void
add_term (Work *work,
          const EfMatchTerm *term,
          const char *name)
{
  g_array_append_vals (work->terms, term, 1);
  g_ptr_array_add (work->names, (gpointer) name);
}

static void
read_terms (const EfJson *input,
            Work *work)
{
  static const char *const members[] = { "end_clearance", "tip_clearance", "bore_clearance", NULL };
  static const char *const tips[2] = { "tip clearance, drive", "tip clearance, driven" };
  static const char *const bores[2] = { "drive shaft in the housing", "driven shaft in the housing" };
  static const char *const holes[2] = { "drive shaft in the cover", "driven shaft in the cover" };
  static const char *const weights[] = { "end", "tip", "bore", NULL };
  g_auto (EfJson) limits = ef_json_object (input, "limits");
  g_auto (EfJson) leak = ef_json_optional (input, "leak");
  double weight[3] = { 1, 1, 0 };
  EfMatchTerm term = { EF_MATCH_STACK, { 0, 1 }, { { 0, 1 }, { 0, 1 } }, 1, NAN, NAN, { 0, 0 } };

  ef_json_only (&limits, members);
  if (leak.node != NULL)
    ef_json_only (&leak, weights);
  for (guint i = 0; leak.node != NULL && i < 3; i++)
    weight[i] = ef_json_number_or (&leak, weights[i], 0, 1e9, weight[i]);
  read_limit (&limits, "end_clearance", &term);
  term.leak[0] = term.leak[1] = weight[0];
  add_term (work, &term, "end clearance");
  for (guint g = 0; g < 2; g++)
    {
      term = (EfMatchTerm){ EF_MATCH_GAP, { 0, 1 }, { { 2 + g, 0 }, { 2 + g, 0 } }, 0.5, NAN, NAN, { weight[1], 0 } };
      read_limit (&limits, "tip_clearance", &term);
      add_term (work, &term, tips[g]);
    }
  for (guint g = 0; g < 2; g++)
    {
      if (work->slot[3 + g] < 0)
        continue;
      term = (EfMatchTerm){ EF_MATCH_GAP, { 0, (guint) work->slot[3 + g] }, { { 4 + g, 0 }, { 0, 0 } }, 1, NAN, NAN, { weight[2], 0 } };
      read_limit (&limits, "bore_clearance", &term);
      add_term (work, &term, bores[g]);
      if (work->slot[2] < 0)
        continue;
      term.slot[0] = (guint) work->slot[2];
      term.dim[0][0] = g;
      term.dim[1][0] = 1;
      add_term (work, &term, holes[g]);
    }
}

static JsonObject *
result_to_json (const Work *work,
                const EfMatchResult *result)
{
  JsonObject *object = json_object_new (), *parts = json_object_new ();
  JsonArray *values = json_array_new ();

  for (guint form = 0; form < G_N_ELEMENTS (forms); form++)
    if (work->slot[form] >= 0)
      json_object_set_string_member (parts, forms[form].member, work->ids[form]->pdata[result->choice[work->slot[form]]]);
  json_object_set_object_member (object, "parts", parts);
  json_object_set_int_member (object, "faces_to_lap", result->cost.faces);
  ef_json_put (object, "stock_mm", result->cost.stock * 1e-6);
  ef_json_put (object, "leak_mm3", result->cost.leak * 1e9);
  for (guint t = 0; t < work->problem.n_terms; t++)
    {
      const EfMatchTerm *term = &work->problem.terms[t];
      EfMatchFit fit = ef_match_fit (&work->problem, term, &work->problem.slots[term->slot[0]].candidates[result->choice[term->slot[0]]],
                                     &work->problem.slots[term->slot[1]].candidates[result->choice[term->slot[1]]], NULL);

      for (guint g = 0; g < (term->kind == EF_MATCH_STACK ? 2 : 1); g++)
        {
          JsonObject *one = json_object_new ();

          json_object_set_string_member (one, "what", work->names->pdata[t]);
          ef_json_put (one, "value_mm", fit.value[g] * 1e3);
          ef_json_put (one, "uncertainty_mm", fit.u[g] * 1e3);
          json_array_add_object_element (values, one);
        }
      if (term->kind == EF_MATCH_STACK)
        {
          ef_json_put (object, "lap_mating_mm", fit.lap_a * 1e-6);
          ef_json_put (object, "lap_each_gear_mm", fit.lap_b * 1e-6);
        }
    }
  json_object_set_array_member (object, "values", values);

  return object;
}

static JsonNode *
run_shelf_match (const EfJson *input,
                 GError **error)
{
  static const char *const members[] = { "limits", "guard", "leak", "most", "housings", "pairs", "covers", "drive_shafts", "driven_shafts", NULL };
  g_auto (Work) work = { 0 };
  g_autoptr (GArray) best = NULL;
  EfMatchStats stats;
  JsonObject *result;
  JsonArray *assemblies;
  guint most = (guint) ef_json_integer_or (input, "most", 1, 1000, 3);

  ef_json_only (input, members);
  work.terms = g_array_new (FALSE, FALSE, sizeof (EfMatchTerm));
  work.names = g_ptr_array_new ();
  work.problem.guard = ef_json_number_or (input, "guard", 0, 10, 1.645);
  read_places (input, &work);
  read_terms (input, &work);
  if (!ef_json_finish (input->context, error))
    return NULL;
  work.problem.terms = (const EfMatchTerm *) work.terms->data;
  work.problem.n_terms = work.terms->len;
  best = ef_match_best (&work.problem, most, &stats, NULL, error);
  if (best == NULL)
    return NULL;

  result = json_object_new ();
  assemblies = json_array_new ();
  for (guint i = 0; i < best->len; i++)
    json_array_add_object_element (assemblies, result_to_json (&work, &g_array_index (best, EfMatchResult, i)));
  json_object_set_array_member (result, "assemblies", assemblies);
  json_object_set_int_member (result, "bounds", (gint64) stats.boxes);

  return ef_json_object_node (result);
}

const EfCalc ef_calc_shelf[] = {
  { "shelf-match", "the assemblies from a shelf that fit, least rework first, then least leakage; exact, by branch and bound",
    "limits: object of end_clearance, tip_clearance, bore_clearance, each {least_mm, most_mm}, either left out: none\n"
    "guard: number, standard uncertainties to keep off a limit; 1.645\n"
    "leak: object of weights of gap^3 to rank by: end, tip (1 each), bore (0)\n"
    "most: how many to tell; 3\n"
    "housings: array of {id, pocket_depth_mm [drive, driven], pocket_diameter_mm [2], bore_mm [2]}\n"
    "pairs: array of {id, face_width_mm [2], tip_diameter_mm [2]}; mates are one unit\n"
    "covers: array of {id, bore_mm [2]}; may be left out\n"
    "drive_shafts, driven_shafts: arrays of {id, journal_mm [in the housing, in the cover]}; may be left out\n"
    "each part also: uncertainty_mm, standard; faces_to_lap and stock_mm it needs in any case (sizes are after that); room_mm left on its mating face, or on an end of both gears",
    "assemblies: array of {parts, faces_to_lap, stock_mm, leak_mm3, lap_mating_mm, lap_each_gear_mm, values}\n"
    "bounds: how many bounds were worked out",
    "{\n"
    "  \"limits\": {\"end_clearance\": {\"least_mm\": 0.04, \"most_mm\": 0.14}, \"tip_clearance\": {\"most_mm\": 0.16}, \"bore_clearance\": {\"least_mm\": 0.02, \"most_mm\": 0.12}},\n"
    "  \"housings\": [{\"id\": \"own\", \"pocket_depth_mm\": [28.098, 28.097], \"pocket_diameter_mm\": [50.78, 50.8], \"bore_mm\": [20.03, 20.035], \"uncertainty_mm\": 0.003, \"room_mm\": 0.12}],\n"
    "  \"pairs\": [{\"id\": \"A\", \"face_width_mm\": [28.021, 28.020], \"tip_diameter_mm\": [50.594, 50.595], \"uncertainty_mm\": 0.002},\n"
    "            {\"id\": \"B\", \"face_width_mm\": [27.960, 27.961], \"tip_diameter_mm\": [50.59, 50.588], \"uncertainty_mm\": 0.002},\n"
    "            {\"id\": \"C\", \"face_width_mm\": [28.012, 28.011], \"tip_diameter_mm\": [50.432, 50.45], \"uncertainty_mm\": 0.002}],\n"
    "  \"drive_shafts\": [{\"id\": \"own\", \"journal_mm\": [19.957, 19.958], \"uncertainty_mm\": 0.002}]\n"
    "}",
    "first principles: stack of sizes, guard band of ISO 14253-1; branch and bound on interval bounds",
    run_shelf_match },
  { NULL }
};
