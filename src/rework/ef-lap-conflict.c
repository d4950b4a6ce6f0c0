/* The smallest set of limits that contradicts itself.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * By hitting sets: every set of limits whose removal makes the rest solvable must share a limit with every contradicting set. A smallest set that hits all the
 * removals found so far is either contradicting, and then no smaller one is, or it can be grown into a solvable whole whose complement is a further removal. Known
 * from the theory of infeasible systems (from memory); the hitting set is a small 0-1 programme solved to the end.
 */
#include "ef-lap-model.h"

#include <math.h>
#include <string.h>

#define MOST_ROUNDS 2000
#define PREFER 1e-4 /* weight of the order among sets of the same size; far below 1 / number of rules */

static const char *const kind_names[] = { "wear", "flatness", "stock", "clearance-min", "clearance-max", "width", "further" };

const char *
ef_lap_limit_kind_name (EfLapLimitKind kind)
{
  return kind <= EF_LAP_LIMIT_FURTHER ? kind_names[kind] : "further";
}

static void
keep_all (EfLapModel *model,
          const gboolean *keep)
{
  for (guint i = 0; i < model->rules->len; i++)
    ef_lap_model_keep (model, i, keep == NULL || keep[i]);
}

/* Grows the solvable set; what's left over is written to @removed. */
static void
grow (EfLapModel *model,
      gboolean *keep,
      gboolean *removed)
{
  for (guint i = 0; i < model->rules->len; i++)
    {
      removed[i] = FALSE;
      if (keep[i])
        continue;
      ef_lap_model_keep (model, i, TRUE);
      keep[i] = ef_lap_model_solvable (model);
      if (!keep[i])
        {
          ef_lap_model_keep (model, i, FALSE);
          removed[i] = TRUE;
        }
    }
}

static glp_prob *
hitting_new (guint n)
{
  glp_prob *glp = glp_create_prob ();

  glp_set_obj_dir (glp, GLP_MIN);
  glp_add_cols (glp, (int) n);
  for (guint i = 0; i < n; i++)
    {
      glp_set_col_kind (glp, (int) i + 1, GLP_BV);
      glp_set_obj_coef (glp, (int) i + 1, 1.0 + PREFER * i / n);
    }

  return glp;
}

static void
hitting_add (glp_prob *glp,
             const gboolean *removed,
             guint n)
{
  g_autofree int *index = g_new (int, n + 1);
  g_autofree double *value = g_new (double, n + 1);
  int row = glp_add_rows (glp, 1);
  int length = 0;

  for (guint i = 0; i < n; i++)
    if (removed[i])
      {
        index[++length] = (int) i + 1;
        value[length] = 1.0;
      }
  glp_set_mat_row (glp, row, length, index, value);
  glp_set_row_bnds (glp, row, GLP_LO, 1.0, 1.0);
}

static gboolean
hitting_solve (glp_prob *glp,
               gboolean *keep,
               guint n)
{
  glp_iocp parameters;

  if (glp_get_num_rows (glp) == 0)
    {
      for (guint i = 0; i < n; i++)
        keep[i] = FALSE;
      return TRUE;
    }
  glp_init_iocp (&parameters);
  parameters.msg_lev = GLP_MSG_OFF;
  parameters.presolve = GLP_ON;
  if (glp_intopt (glp, &parameters) != 0 || glp_mip_status (glp) != GLP_OPT)
    return FALSE;
  for (guint i = 0; i < n; i++)
    keep[i] = glp_mip_col_val (glp, (int) i + 1) > 0.5;

  return TRUE;
}

/* Leaves out what isn't needed for the contradiction: only where the search above was given up. */
static void
delete_needless (EfLapModel *model,
                 gboolean *keep)
{
  guint n = model->rules->len;

  for (guint i = 0; i < n; i++)
    keep[i] = TRUE;
  keep_all (model, keep);
  for (guint i = n; i-- > 0;)
    {
      ef_lap_model_keep (model, i, FALSE);
      keep[i] = ef_lap_model_solvable (model);
      if (keep[i])
        ef_lap_model_keep (model, i, TRUE);
    }
}

static void
find_smallest (EfLapModel *model,
               gboolean *keep)
{
  guint n = model->rules->len;
  g_autofree gboolean *removed = g_new0 (gboolean, n);
  glp_prob *hitting = hitting_new (n);
  gboolean found = FALSE;

  for (guint round = 0; round < MOST_ROUNDS && !found; round++)
    {
      if (!hitting_solve (hitting, keep, n))
        break;
      keep_all (model, keep);
      found = !ef_lap_model_solvable (model);
      if (!found)
        {
          grow (model, keep, removed);
          hitting_add (hitting, removed, n);
        }
    }
  glp_delete_prob (hitting);
  if (!found)
    delete_needless (model, keep);
}

/* Sentences */

static char *
mm (double metres)
{
  char *text = g_strdup_printf ("%.3f", fabs (metres) < 5e-7 ? 0.0 : metres * 1e3);
  gsize length = strlen (text);

  if (text[length - 1] == '0')
    text[length - 1] = '\0';

  return text;
}

static char *
stock_sentence (const EfLapFace *face,
                double shortfall)
{
  g_autofree char *needed = mm (MAX (face->stock, 0.0) + shortfall);
  g_autofree char *stock = mm (face->stock);

  if (face->stock <= 0.0)
    return g_strdup_printf ("%s needs %s mm off, and it can't be lapped.", ef_lap_face_name (face), needed);

  return g_strdup_printf ("%s needs %s mm off, its stock is %s mm.", ef_lap_face_name (face), needed, stock);
}

static char *
clearance_sentence (const EfLapSection *section,
                    gboolean least,
                    double shortfall)
{
  g_autofree char *by = mm (shortfall);
  g_autofree char *got = NULL;
  g_autofree char *asked = NULL;
  double window[2];
  double limit;

  ef_lap_section_window (section, &window[0], &window[1]);
  limit = window[least ? 0 : 1];
  got = mm (least ? limit - shortfall : limit + shortfall);
  asked = mm (limit);

  return g_strdup_printf ("%s: the pocket would end %s mm too %s: end clearance %s mm, at %s %s mm%s is wanted.", ef_lap_section_name (section), by,
                          least ? "shallow" : "deep", got, least ? "least" : "most", asked,
                          section->guard * section->uncertainty > 0.0 ? " (the limit less the uncertainty of measuring)" : "");
}

static char *
further_sentence (const EfLapLimit *limit,
                  double shortfall)
{
  g_autofree char *by = mm (shortfall);

  return g_strdup_printf ("%s: exceeded by %s mm.", limit->name != NULL ? limit->name : limit->id, by);
}

/* "face: wear would stay 0.04 mm, 0.015 mm may stay." */
static char *
two_lengths (const char *name,
             const char *would,
             double got,
             const char *may,
             double allowed)
{
  g_autofree char *got_mm = mm (got);
  g_autofree char *allowed_mm = mm (allowed);

  return g_strdup_printf ("%s: %s %s mm, %s mm %s.", name, would, got_mm, allowed_mm, may);
}

static char *
make_sentence (const EfLapProblem *problem,
               const EfLapRule *rule,
               double shortfall)
{
  const EfLapFace *face = rule->index < problem->faces->len ? ef_lap_problem_face (problem, rule->index) : NULL;

  switch (rule->kind)
    {
    case EF_LAP_LIMIT_WEAR:
      return two_lengths (ef_lap_face_name (face), "wear would stay as deep as", face->residual + shortfall, "may stay", face->residual);
    case EF_LAP_LIMIT_FLATNESS:
      return two_lengths (ef_lap_face_name (face), "would stay out of flat by", face->flatness_allowed + shortfall, "is allowed", face->flatness_allowed);
    case EF_LAP_LIMIT_STOCK:
      return stock_sentence (face, shortfall);
    case EF_LAP_LIMIT_CLEARANCE_MIN:
    case EF_LAP_LIMIT_CLEARANCE_MAX:
      return clearance_sentence (ef_lap_problem_section (problem, rule->index), rule->kind == EF_LAP_LIMIT_CLEARANCE_MIN, shortfall);
    case EF_LAP_LIMIT_WIDTH:
      return two_lengths (ef_lap_section_name (ef_lap_problem_section (problem, rule->index)), "the gears' widths would differ by",
                          ef_lap_problem_section (problem, rule->index)->width_allowed + shortfall, "is allowed",
                          ef_lap_problem_section (problem, rule->index)->width_allowed);
    default:
      return further_sentence (ef_lap_problem_limit (problem, rule->index), shortfall);
    }
}

static const char *
target_of (const EfLapProblem *problem,
           const EfLapRule *rule)
{
  switch (rule->kind)
    {
    case EF_LAP_LIMIT_WEAR:
    case EF_LAP_LIMIT_FLATNESS:
    case EF_LAP_LIMIT_STOCK:
      return ef_lap_problem_face (problem, rule->index)->id;
    case EF_LAP_LIMIT_FURTHER:
      return ef_lap_problem_limit (problem, rule->index)->id;
    default:
      return ef_lap_problem_section (problem, rule->index)->id;
    }
}

static void
conflict_free (gpointer data)
{
  EfLapConflict *conflict = data;

  g_free (conflict->target);
  g_free (conflict->sentence);
  g_free (conflict);
}

static EfLapConflict *
describe (EfLapModel *model,
          guint index,
          const gboolean *set)
{
  const EfLapRule *rule = ef_lap_model_rule (model, index);
  EfLapConflict *conflict = g_new0 (EfLapConflict, 1);

  keep_all (model, NULL);
  conflict->kind = rule->kind;
  conflict->index = rule->index;
  conflict->target = g_strdup (target_of (model->problem, rule));
  conflict->shortfall = ef_lap_model_shortfall (model, index);
  conflict->restores = !isnan (conflict->shortfall);
  if (!conflict->restores)
    {
      keep_all (model, set);
      conflict->shortfall = ef_lap_model_shortfall (model, index);
    }
  conflict->sentence = make_sentence (model->problem, rule, conflict->shortfall);

  return conflict;
}

/* What the pump would suffer from is told first, then what stands in the way. */
static int
told_first (gconstpointer a,
            gconstpointer b)
{
  static const int place[] = { [EF_LAP_LIMIT_CLEARANCE_MIN] = 0, [EF_LAP_LIMIT_CLEARANCE_MAX] = 0, [EF_LAP_LIMIT_STOCK] = 1, [EF_LAP_LIMIT_FURTHER] = 1,
                               [EF_LAP_LIMIT_WIDTH] = 2, [EF_LAP_LIMIT_WEAR] = 3, [EF_LAP_LIMIT_FLATNESS] = 3 };
  const EfLapConflict *x = *(EfLapConflict *const *) a, *y = *(EfLapConflict *const *) b;

  return place[x->kind] != place[y->kind] ? place[x->kind] - place[y->kind] : (int) x->index - (int) y->index;
}

GPtrArray *
ef_lap_conflicts_find (EfLapModel *model)
{
  guint n = model->rules->len;
  GPtrArray *conflicts = g_ptr_array_new_with_free_func (conflict_free);
  g_autofree gboolean *keep = g_new0 (gboolean, n + 1);

  find_smallest (model, keep);
  for (guint i = 0; i < n; i++)
    if (keep[i])
      g_ptr_array_add (conflicts, describe (model, i, keep));
  g_ptr_array_sort (conflicts, told_first);

  return conflicts;
}
