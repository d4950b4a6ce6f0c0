/* The list of computations, and running one by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc.h"

/* One line a topic; order is the order they are listed in. */
static const EfCalc *const tables[] = {
  ef_calc_geometry,
  ef_calc_oil,
  ef_calc_wear,
  ef_calc_metrology,
  ef_calc_decision,
  ef_calc_coverage,
  ef_calc_agreement,
  ef_calc_flow,
  ef_calc_film,
  ef_calc_score,
  ef_calc_specimen,
  ef_calc_section,
  ef_calc_monte_carlo,
  ef_calc_shelf,
  ef_calc_why,
  ef_calc_record,
  ef_calc_lap,
  ef_calc_lap_plan,
  ef_calc_after,
  ef_calc_photo,
  ef_calc_land,
};

static GPtrArray *
collect (void)
{
  GPtrArray *all = g_ptr_array_new ();

  for (guint i = 0; i < G_N_ELEMENTS (tables); i++)
    for (const EfCalc *calc = tables[i]; calc->name != NULL; calc++)
      g_ptr_array_add (all, (gpointer) calc);

  return all;
}

const EfCalc *const *
ef_calc_all (guint *n_out)
{
  static GPtrArray *all = NULL;

  if (g_once_init_enter (&all))
    g_once_init_leave (&all, collect ());
  if (n_out != NULL)
    *n_out = all->len;

  return (const EfCalc *const *) all->pdata;
}

const EfCalc *
ef_calc_find (const char *name)
{
  guint n;
  const EfCalc *const *all = ef_calc_all (&n);

  for (guint i = 0; i < n; i++)
    if (g_strcmp0 (all[i]->name, name) == 0)
      return all[i];

  return NULL;
}

static void
set_unknown (const char *name,
             GError **error)
{
  g_autoptr (GString) names = g_string_new (NULL);
  guint n;
  const EfCalc *const *all = ef_calc_all (&n);

  for (guint i = 0; i < n; i++)
    g_string_append_printf (names, "%s%s", i > 0 ? ", " : "", all[i]->name);
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "computation: expected one of %s, found “%s”", names->str, name != NULL ? name : "");
}

JsonNode *
ef_calc_run (const char *name,
             const char *json,
             GError **error)
{
  const EfCalc *calc = ef_calc_find (name);
  g_autoptr (EfJsonContext) context = NULL;
  g_autoptr (JsonNode) result = NULL;
  g_auto (EfJson) root = { 0 };

  if (calc == NULL)
    {
      set_unknown (name, error);
      return NULL;
    }
  context = ef_json_parse (json, -1, "input", error);
  if (context == NULL)
    return NULL;
  root = ef_json_root (context);
  if (!JSON_NODE_HOLDS_OBJECT (root.node))
    {
      ef_json_fail (&root, EF_ERROR_INVALID, "expected an object");
      ef_json_finish (context, error);
      return NULL;
    }

  result = calc->run (&root, error);
  /* A computation that forgot to look at its input must not hand out numbers from it. */
  if (result != NULL && !ef_json_finish (context, error))
    return NULL;

  return g_steal_pointer (&result);
}
