/* The recommended plan and its alternatives.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include <glib/gi18n.h>

#include "ef-lap-work.h"

static const char *const level_names[] = { "as-new", "residual", "within-limits", "sealing" };

const char *
ef_lap_level_name (EfLapLevel level)
{
  return level < EF_N_LAP_LEVELS ? level_names[level] : "as-new";
}

static void
option_free (gpointer data)
{
  EfLapOption *option = data;

  g_free (option->id);
  g_free (option->label);
  ef_lap_problem_free (option->problem);
  ef_lap_plan_free (option->plan);
  ef_lap_pass_plan_free (option->passes);
  g_free (option->grits);
  g_free (option);
}

void
ef_lap_work_free (EfLapWork *work)
{
  if (work == NULL)
    return;
  g_free (work->reason);
  g_clear_pointer (&work->conflicts, g_ptr_array_unref);
  g_clear_pointer (&work->failed, g_ptr_array_unref);
  g_clear_pointer (&work->bars, g_ptr_array_unref);
  g_clear_pointer (&work->options, g_ptr_array_unref);
  g_clear_pointer (&work->stocks, g_ptr_array_unref);
  g_clear_pointer (&work->table, ef_lap_table_unref);
  g_free (work);
}

static const EfPart *
part_of (const EfPumpSheet *sheet,
         const char *face_id)
{
  const char *slash = strchr (face_id, '/');
  g_autofree char *part = slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : g_strdup (face_id);

  return ef_pump_sheet_part (sheet, part);
}

static EfLapGrits *
grits_of (const EfLapTable *table,
          const EfPumpSheet *sheet,
          const EfLapProblem *problem)
{
  EfLapGrits *all = g_new0 (EfLapGrits, problem->faces->len + 1);

  for (guint i = 0; i < problem->faces->len; i++)
    {
      const EfPart *part = part_of (sheet, ef_lap_problem_face (problem, i)->id);
      double removal[EF_LAP_MOST_GRITS];

      if (part == NULL || ef_lap_table_material (table, part->material) == NULL)
        {
          ef_lap_grits_default (&all[i]);
          continue;
        }
      ef_lap_plan_removal (table, part->material, NULL, removal, NULL);
      all[i].n = MIN (table->n_grits, EF_PASSES_MOST_GRITS);
      for (guint k = 0; k < all[i].n; k++)
        {
          all[i].removal[k] = removal[k];
          all[i].damage[k] = table->grit[k].damage;
          all[i].effort[k] = table->grit[k].effort;
        }
    }

  return all;
}

static EfLapOption *
option_new (const char *id,
            const char *label,
            EfLapLevel level,
            EfLapGoal goal,
            EfLapProblem *problem,
            const EfLapTable *table,
            const EfPumpSheet *sheet,
            GError **error)
{
  EfLapOption *option = g_new0 (EfLapOption, 1);
  g_autoptr (GError) unfinished = NULL;

  option->id = g_strdup (id);
  option->label = g_strdup (label);
  option->level = level;
  option->problem = problem;
  option->grits = grits_of (table, sheet, problem);
  option->plan = ef_lap_plan_solve (problem, goal, error);
  if (option->plan == NULL)
    {
      option_free (option);
      return NULL;
    }
  if (!option->plan->feasible)
    return option;
  option->passes = ef_lap_passes_plan (problem, option->plan, option->grits, &unfinished);
  option->removal = option->passes != NULL && option->passes->feasible ? option->passes->removal : option->plan->removal;

  return option;
}

/* Expanded, of the clearances that the conflict is about. */
static double
uncertainty_of (const EfLapProblem *problem,
                const GPtrArray *conflicts)
{
  double worst = 0.0;

  for (guint i = 0; i < conflicts->len; i++)
    {
      const EfLapConflict *conflict = conflicts->pdata[i];

      if (conflict->kind == EF_LAP_LIMIT_CLEARANCE_MIN || conflict->kind == EF_LAP_LIMIT_CLEARANCE_MAX || conflict->kind == EF_LAP_LIMIT_WIDTH)
        worst = fmax (worst, ef_lap_problem_section (problem, conflict->index)->uncertainty);
    }

  return 2.0 * worst;
}

static void
add_bar (EfLapWork *work,
         const EfLapProblem *problem,
         const GPtrArray *conflicts,
         const EfLapConflict *conflict,
         const char *reason)
{
  const char *slash = strchr (conflict->target, '/');
  g_autofree char *part = slash != NULL ? g_strndup (conflict->target, (gsize) (slash - conflict->target)) : NULL;
  EfBar *bar = ef_bar_new (part != NULL ? part : conflict->target, part != NULL ? conflict->target : NULL, reason);

  bar->shortfall = conflict->shortfall;
  bar->uncertainty = uncertainty_of (problem, conflicts);
  g_ptr_array_add (work->bars, bar);
}

/* Wear that can only clean up at the cost of a limit stays: that face is left as it is. */
static gboolean
leave_worn (EfLapWork *work,
            EfLapProblem *problem,
            const GPtrArray *conflicts,
            const char *reason)
{
  gboolean any = FALSE;

  for (guint i = 0; i < conflicts->len; i++)
    {
      const EfLapConflict *conflict = conflicts->pdata[i];
      EfLapFace *face;

      if (conflict->kind != EF_LAP_LIMIT_WEAR && conflict->kind != EF_LAP_LIMIT_FLATNESS)
        continue;
      face = ef_lap_problem_face (problem, conflict->index);
      face->needed = 0.0;
      face->flatness_allowed = INFINITY;
      g_ptr_array_add (work->failed, g_strdup (face->id));
      add_bar (work, problem, conflicts, conflict, reason);
      any = TRUE;
    }

  return any;
}

/* A section whose clearance can't be reached at all is aimed at no more: nothing is lapped in vain. */
static void
leave_section (EfLapWork *work,
               EfLapProblem *problem,
               const GPtrArray *conflicts,
               const char *reason)
{
  for (guint i = 0; i < conflicts->len; i++)
    {
      const EfLapConflict *conflict = conflicts->pdata[i];
      EfLapSection *section;

      if (conflict->kind != EF_LAP_LIMIT_CLEARANCE_MIN && conflict->kind != EF_LAP_LIMIT_CLEARANCE_MAX && conflict->kind != EF_LAP_LIMIT_WIDTH)
        continue;
      section = ef_lap_problem_section (problem, conflict->index);
      add_bar (work, problem, conflicts, conflict, reason);
      section->clearance_min = -INFINITY;
      section->clearance_max = INFINITY;
      section->width_allowed = INFINITY;
      g_ptr_array_add (work->failed, g_strdup (section->id));
    }
}

static void
give_up (EfLapWork *work,
         EfLapProblem *problem,
         const GPtrArray *conflicts,
         const char *reason)
{
  if (!leave_worn (work, problem, conflicts, reason))
    leave_section (work, problem, conflicts, reason);
}

static void
add_conflicts (EfLapWork *work,
               EfLapPlan *plan)
{
  g_autofree char *reason = ef_lap_plan_reason (plan);
  char *all = work->reason != NULL ? g_strconcat (work->reason, " ", reason, NULL) : g_strdup (reason);

  g_free (work->reason);
  work->reason = all;
  if (work->conflicts == NULL)
    work->conflicts = g_ptr_array_ref (plan->conflicts);
}

/* What is left when all that can't be had is given up. */
static EfLapOption *
best_effort (EfLapWork *work,
             const EfFindings *findings,
             const EfVerdict *verdict,
             GPtrArray *todo,
             GError **error)
{
  g_autoptr (EfLapProblem) problem = ef_lap_work_problem (findings, verdict, todo, EF_LAP_WITHIN, NULL, 0);

  for (int round = 0; round < 64; round++)
    {
      EfLapOption *option = option_new ("recommended", _("What can be done"), EF_LAP_WITHIN, EF_LAP_LEAST_EFFORT, ef_lap_problem_copy (problem), work->table,
                                        findings->inspection->sheet, error);
      g_autofree char *reason = NULL;

      if (option == NULL || option->plan->feasible)
        return option;
      reason = ef_lap_plan_reason (option->plan);
      add_conflicts (work, option->plan);
      give_up (work, problem, option->plan->conflicts, reason);
      option_free (option);
    }
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "lapping plan: no end of limits that conflict");

  return NULL;
}

/* Level by level until one can be done. */
static gboolean
recommend (EfLapWork *work,
           const EfFindings *findings,
           const EfVerdict *verdict,
           GPtrArray *todo,
           GError **error)
{
  EfLapOption *option;

  for (int level = 0; level <= EF_LAP_WITHIN; level++)
    {
      option = option_new ("recommended", _("Recommended"), (EfLapLevel) level, EF_LAP_LEAST_EFFORT,
                           ef_lap_work_problem (findings, verdict, todo, (EfLapLevel) level, NULL, 0), work->table, findings->inspection->sheet, error);
      if (option == NULL)
        return FALSE;
      if (option->plan->feasible)
        {
          work->feasible = TRUE;
          g_ptr_array_add (work->options, option);
          return TRUE;
        }
      if (level == 0)
        work->reason = ef_lap_plan_reason (option->plan);
      option_free (option);
    }
  g_clear_pointer (&work->reason, g_free);
  option = best_effort (work, findings, verdict, todo, error);
  if (option == NULL)
    return FALSE;
  g_ptr_array_add (work->options, option);

  return TRUE;
}

static gboolean
same_removals (const EfLapOption *a,
               const EfLapOption *b)
{
  for (guint i = 0; i < a->plan->n_faces; i++)
    if (fabs (a->removal[i] - b->removal[i]) > 0.5e-6)
      return FALSE;

  return TRUE;
}

/* Shown only where they differ from what's there already. */
static gboolean
add_alternative (EfLapWork *work,
                 const EfFindings *findings,
                 const EfVerdict *verdict,
                 GPtrArray *todo,
                 const char *id,
                 const char *label,
                 EfLapLevel level,
                 EfLapGoal goal,
                 GError **error)
{
  EfLapOption *option = option_new (id, label, level, goal, ef_lap_work_problem (findings, verdict, todo, level, NULL, 0), work->table,
                                    findings->inspection->sheet, error);
  gboolean known;

  if (option == NULL)
    return FALSE;
  known = !option->plan->feasible;
  for (guint i = 0; i < work->options->len && !known; i++)
    known = same_removals (option, work->options->pdata[i]);
  if (known)
    option_free (option);
  else
    g_ptr_array_add (work->options, option);

  return TRUE;
}

static gboolean
is_wanted (GPtrArray *todo)
{
  static const char *const actions[] = { "lap", "restore-clearance", "open-clearance", "narrow-gear" };

  for (guint i = 0; i < G_N_ELEMENTS (actions); i++)
    if (ef_todo_has (todo, actions[i], NULL))
      return TRUE;

  return FALSE;
}

static double
deepest_of (const EfFindings *findings,
            const char *face_id)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (findings->inspection, face_id);
  double deepest = 0.0;

  for (guint i = 0; i < marks->len; i++)
    {
      const EfMark *mark = marks->pdata[i];

      if (mark->kind != EF_MARK_IMPRINT && mark->kind != EF_MARK_CHIP && mark->kind != EF_MARK_LIP)
        deepest = fmax (deepest, ef_mark_deepest (mark));
    }

  return deepest;
}

static void
add_stock (EfLapWork *work,
           const EfFindings *findings,
           const EfLapOption *option,
           guint i)
{
  const EfLapFace *face = ef_lap_problem_face (option->problem, i);
  const EfDerived *flatness = ef_derived_find (findings->derived, "flatness", face->id, NULL);
  EfLapStock *stock;

  if (!(option->removal[i] > 1e-9))
    return;
  stock = ef_lap_stock_new (face->id);
  stock->stock = option->removal[i];
  stock->bound = face->stock;
  stock->deepest = face->needed > 0.0 ? deepest_of (findings, face->id) : 0.0;
  stock->flatness = face->flatness > 0.0 && flatness != NULL ? flatness->value : 0.0;
  if (face->role != EF_LAP_PLATE && face->role != EF_LAP_COVER && option->removal[i] > ef_lap_face_least (face) + 5e-6)
    stock->clearance = option->removal[i];
  if (option->passes != NULL && option->passes->feasible)
    {
      stock->n_grits = option->grits[i].n;
      for (guint k = 0; k < stock->n_grits; k++)
        {
          stock->passes[k] = option->passes->counts[i][k];
          stock->per_pass[k] = option->grits[i].removal[k];
          if (k < work->table->n_grits)
            stock->grit[k] = g_strdup (work->table->grit[k].paper);
        }
    }
  g_ptr_array_add (work->stocks, stock);
}

const EfLapOption *
ef_lap_work_option (const EfLapWork *work,
                    const char *id)
{
  for (guint i = 0; i < work->options->len; i++)
    {
      const EfLapOption *option = work->options->pdata[i];

      if (g_str_equal (option->id, id))
        return option;
    }

  return NULL;
}

static EfLapLevel
level_of (const EfLapWork *work)
{
  const EfLapOption *first = work->options->pdata[0];

  return first->level;
}

static void
choose (EfLapWork *work,
        const EfInspection *inspection)
{
  const EfJobHeader *job = ef_inspection_header (inspection);

  if (job != NULL && job->plan_goal != NULL)
    work->chosen = ef_lap_work_option (work, job->plan_goal);
  if (work->chosen == NULL)
    work->chosen = work->options->pdata[0];
}

EfLapWork *
ef_lap_work_new (const EfFindings *findings,
                 const EfVerdict *verdict,
                 GPtrArray *todo,
                 EfLapTable *table,
                 GError **error)
{
  g_autoptr (EfLapWork) work = g_new0 (EfLapWork, 1);

  work->failed = g_ptr_array_new_with_free_func (g_free);
  work->bars = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_bar_free);
  work->options = g_ptr_array_new_with_free_func (option_free);
  work->stocks = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lap_stock_free);
  work->feasible = TRUE;
  work->wanted = is_wanted (todo);
  work->table = table != NULL ? ef_lap_table_ref (table) : ef_lap_table_default (error);
  if (work->table == NULL)
    return NULL;
  if (!work->wanted)
    return g_steal_pointer (&work);
  work->feasible = FALSE;
  if (!recommend (work, findings, verdict, todo, error))
    return NULL;
  if (work->feasible &&
      (!add_alternative (work, findings, verdict, todo, "cheapest", _("Cheapest: shallow wear may stay"), EF_LAP_RESIDUAL, EF_LAP_LEAST_EFFORT, error) ||
       !add_alternative (work, findings, verdict, todo, "least-stock", _("Least stock off"), level_of (work), EF_LAP_LEAST_STOCK, error) ||
       !add_alternative (work, findings, verdict, todo, "sealing", _("Sealing land restored"), EF_LAP_SEALING, EF_LAP_LEAST_EFFORT, error) ||
       !add_alternative (work, findings, verdict, todo, "durable", _("Most durable: smallest end clearance"), EF_LAP_AS_NEW, EF_LAP_DURABLE, error)))
    return NULL;
  choose (work, findings->inspection);
  for (guint i = 0; i < work->chosen->problem->faces->len; i++)
    add_stock (work, findings, work->chosen, i);

  return g_steal_pointer (&work);
}
