/* Problems are put together, copied, checked and held against removals.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-lap-problem.h"

#include <math.h>

#define MOST_FACES 512
#define MOST_METRES 10.0
#define TOUCHED 1e-10 /* m: less than this is not touched */

static const char *const role_names[] = { "mating", "floor", "plate", "gear-end", "cover", "other" };

const char *
ef_lap_role_name (EfLapRole role)
{
  return role < EF_N_LAP_ROLES ? role_names[role] : "other";
}

static void
clear_face (gpointer data)
{
  EfLapFace *face = data;

  g_free (face->id);
  g_free (face->name);
}

static void
clear_section (gpointer data)
{
  EfLapSection *section = data;

  g_free (section->id);
  g_free (section->name);
  g_clear_pointer (&section->effects, g_array_unref);
}

static void
clear_limit (gpointer data)
{
  EfLapLimit *limit = data;

  g_free (limit->id);
  g_free (limit->name);
  g_clear_pointer (&limit->terms, g_array_unref);
}

static GArray *
array_of (gsize size,
          GDestroyNotify clear)
{
  GArray *array = g_array_new (FALSE, TRUE, (guint) size);

  g_array_set_clear_func (array, clear);

  return array;
}

EfLapProblem *
ef_lap_problem_new (void)
{
  EfLapProblem *problem = g_new0 (EfLapProblem, 1);

  problem->faces = array_of (sizeof (EfLapFace), clear_face);
  problem->sections = array_of (sizeof (EfLapSection), clear_section);
  problem->limits = array_of (sizeof (EfLapLimit), clear_limit);

  return problem;
}

void
ef_lap_problem_free (EfLapProblem *problem)
{
  if (problem == NULL)
    return;
  g_array_unref (problem->faces);
  g_array_unref (problem->sections);
  g_array_unref (problem->limits);
  g_free (problem);
}

EfLapFace *
ef_lap_problem_face (const EfLapProblem *problem,
                     guint i)
{
  return &g_array_index (problem->faces, EfLapFace, i);
}

EfLapSection *
ef_lap_problem_section (const EfLapProblem *problem,
                        guint i)
{
  return &g_array_index (problem->sections, EfLapSection, i);
}

EfLapLimit *
ef_lap_problem_limit (const EfLapProblem *problem,
                      guint i)
{
  return &g_array_index (problem->limits, EfLapLimit, i);
}

static GArray *
copy_terms (GArray *terms)
{
  GArray *copy = g_array_new (FALSE, TRUE, sizeof (EfLapTerm));

  g_array_append_vals (copy, terms->data, terms->len);

  return copy;
}

EfLapProblem *
ef_lap_problem_copy (const EfLapProblem *problem)
{
  EfLapProblem *copy = ef_lap_problem_new ();

  for (guint i = 0; i < problem->faces->len; i++)
    {
      EfLapFace face = *ef_lap_problem_face (problem, i);

      face.id = g_strdup (face.id);
      face.name = g_strdup (face.name);
      g_array_append_val (copy->faces, face);
    }
  for (guint i = 0; i < problem->sections->len; i++)
    {
      EfLapSection section = *ef_lap_problem_section (problem, i);

      section.id = g_strdup (section.id);
      section.name = g_strdup (section.name);
      section.effects = copy_terms (section.effects);
      g_array_append_val (copy->sections, section);
    }
  for (guint i = 0; i < problem->limits->len; i++)
    {
      EfLapLimit limit = *ef_lap_problem_limit (problem, i);

      limit.id = g_strdup (limit.id);
      limit.name = g_strdup (limit.name);
      limit.terms = copy_terms (limit.terms);
      g_array_append_val (copy->limits, limit);
    }

  return copy;
}

EfLapFace *
ef_lap_problem_add_face (EfLapProblem *problem,
                         const char *id,
                         EfLapRole role)
{
  EfLapFace face = { .id = g_strdup (id), .role = role, .flatness_allowed = INFINITY, .weight = 1.0 };

  g_array_append_val (problem->faces, face);

  return ef_lap_problem_face (problem, problem->faces->len - 1);
}

EfLapSection *
ef_lap_problem_add_section (EfLapProblem *problem,
                            const char *id)
{
  EfLapSection section = { .id = g_strdup (id), .width_allowed = INFINITY, .clearance_min = -INFINITY, .clearance_max = INFINITY,
                           .ends = { { -1, -1 }, { -1, -1 } } };

  section.effects = g_array_new (FALSE, TRUE, sizeof (EfLapTerm));
  g_array_append_val (problem->sections, section);

  return ef_lap_problem_section (problem, problem->sections->len - 1);
}

EfLapLimit *
ef_lap_problem_add_limit (EfLapProblem *problem,
                          const char *id)
{
  EfLapLimit limit = { .id = g_strdup (id), .min = -INFINITY, .max = INFINITY };

  limit.terms = g_array_new (FALSE, TRUE, sizeof (EfLapTerm));
  g_array_append_val (problem->limits, limit);

  return ef_lap_problem_limit (problem, problem->limits->len - 1);
}

void
ef_lap_section_add (EfLapSection *section,
                    int face,
                    double effect)
{
  EfLapTerm term = { face, effect };

  g_array_append_val (section->effects, term);
}

void
ef_lap_limit_add (EfLapLimit *limit,
                  int face,
                  double effect)
{
  EfLapTerm term = { face, effect };

  g_array_append_val (limit->terms, term);
}

int
ef_lap_problem_find_face (const EfLapProblem *problem,
                          const char *id)
{
  for (guint i = 0; i < problem->faces->len; i++)
    if (g_strcmp0 (ef_lap_problem_face (problem, i)->id, id) == 0)
      return (int) i;

  return -1;
}

const char *
ef_lap_face_name (const EfLapFace *face)
{
  return face->name != NULL ? face->name : face->id;
}

const char *
ef_lap_section_name (const EfLapSection *section)
{
  return section->name != NULL ? section->name : section->id;
}

double
ef_lap_face_least (const EfLapFace *face)
{
  return fmax (fmax (face->needed - face->residual, face->flatness - face->flatness_allowed), 0.0);
}

void
ef_lap_section_window (const EfLapSection *section,
                       double *min_out,
                       double *max_out)
{
  *min_out = section->clearance_min + section->guard * section->uncertainty;
  *max_out = section->clearance_max - section->guard * section->uncertainty;
}

static double
sum_of (const GArray *terms,
        const double *removal)
{
  double sum = 0.0;

  for (guint i = 0; i < terms->len; i++)
    {
      const EfLapTerm *term = &g_array_index (terms, EfLapTerm, i);

      sum += term->effect * removal[term->face];
    }

  return sum;
}

double
ef_lap_section_depth (const EfLapSection *section,
                      const double *removal)
{
  return section->depth + sum_of (section->effects, removal);
}

double
ef_lap_section_width (const EfLapSection *section,
                      const double *removal,
                      int gear)
{
  double width = section->width[gear];

  for (int end = 0; end < 2; end++)
    if (section->ends[gear][end] >= 0)
      width -= removal[section->ends[gear][end]];

  return width;
}

double
ef_lap_section_clearance (const EfLapSection *section,
                          const double *removal,
                          int gear)
{
  return ef_lap_section_depth (section, removal) - ef_lap_section_width (section, removal, gear);
}

double
ef_lap_limit_sum (const EfLapLimit *limit,
                  const double *removal)
{
  return sum_of (limit->terms, removal);
}

double
ef_lap_problem_effort (const EfLapProblem *problem,
                       const double *removal)
{
  double effort = 0.0;

  for (guint i = 0; i < problem->faces->len; i++)
    {
      const EfLapFace *face = ef_lap_problem_face (problem, i);

      effort += face->weight * removal[i] + (removal[i] > TOUCHED ? face->setup : 0.0);
    }

  return effort;
}

double
ef_lap_problem_stock (const EfLapProblem *problem,
                      const double *removal)
{
  double stock = 0.0;

  for (guint i = 0; i < problem->faces->len; i++)
    stock += removal[i];

  return stock;
}

/* Keeps the worst. */
static void
weigh (double by,
       const char *name,
       const char *what,
       double *worst,
       char **what_out)
{
  if (!(by > *worst))
    return;
  *worst = by;
  if (what_out != NULL)
    {
      g_free (*what_out);
      *what_out = g_strdup_printf ("%s: %s by %.2f µm", name, what, by * 1e6);
    }
}

static void
weigh_section (const EfLapSection *section,
               const double *removal,
               double *worst,
               char **what_out)
{
  const char *name = ef_lap_section_name (section);
  double least, most;

  ef_lap_section_window (section, &least, &most);
  for (int gear = 0; gear < 2; gear++)
    {
      double c = ef_lap_section_clearance (section, removal, gear);

      weigh (least - c, name, "end clearance too small", worst, what_out);
      weigh (c - most, name, "end clearance too large", worst, what_out);
    }
  weigh (fabs (ef_lap_section_width (section, removal, 0) - ef_lap_section_width (section, removal, 1)) - section->width_allowed,
         name, "widths differ too much", worst, what_out);
}

double
ef_lap_problem_violation (const EfLapProblem *problem,
                          const double *removal,
                          char **what_out)
{
  double worst = -INFINITY;

  if (what_out != NULL)
    *what_out = NULL;
  for (guint i = 0; i < problem->faces->len; i++)
    {
      const EfLapFace *face = ef_lap_problem_face (problem, i);

      weigh (face->needed - face->residual - removal[i], ef_lap_face_name (face), "too much wear stays", &worst, what_out);
      weigh (face->flatness - face->flatness_allowed - removal[i], ef_lap_face_name (face), "not flat enough", &worst, what_out);
      weigh (removal[i] - face->stock, ef_lap_face_name (face), "more than its stock", &worst, what_out);
      weigh (-removal[i], ef_lap_face_name (face), "less than nothing", &worst, what_out);
    }
  for (guint i = 0; i < problem->sections->len; i++)
    weigh_section (ef_lap_problem_section (problem, i), removal, &worst, what_out);
  for (guint i = 0; i < problem->limits->len; i++)
    {
      const EfLapLimit *limit = ef_lap_problem_limit (problem, i);
      double sum = ef_lap_limit_sum (limit, removal);

      weigh (limit->min - sum, limit->name != NULL ? limit->name : limit->id, "too little off", &worst, what_out);
      weigh (sum - limit->max, limit->name != NULL ? limit->name : limit->id, "too much off", &worst, what_out);
    }

  return worst;
}

/* Checks */

static gboolean
in_range (double value,
          double least,
          gboolean may_be_infinite,
          const char *what,
          const char *field,
          GError **error)
{
  if (value >= least && (value <= MOST_METRES || (may_be_infinite && value == INFINITY)))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: %s: expected %g to %g, found %g", what, field, least, MOST_METRES, value);

  return FALSE;
}

static gboolean
check_face (const EfLapFace *face,
            GError **error)
{
  const char *id = face->id != NULL ? face->id : "face";

  return in_range (face->needed, 0.0, FALSE, id, "needed", error) && in_range (face->residual, 0.0, FALSE, id, "residual", error) &&
         in_range (face->flatness, 0.0, FALSE, id, "flatness", error) && in_range (face->flatness_allowed, 0.0, TRUE, id, "flatness allowed", error) &&
         in_range (face->stock, 0.0, FALSE, id, "stock", error) && in_range (face->weight * 1e-6, 0.0, FALSE, id, "weight / 1e6", error) &&
         in_range (face->setup, 0.0, FALSE, id, "setup", error);
}

static gboolean
check_terms (const GArray *terms,
             guint n_faces,
             const char *id,
             GError **error)
{
  for (guint i = 0; i < terms->len; i++)
    {
      const EfLapTerm *term = &g_array_index (terms, EfLapTerm, i);

      if (term->face < 0 || (guint) term->face >= n_faces || !(fabs (term->effect) <= 1000.0))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: term %u: expected a face of the problem and an effect of at most 1000, found face %d, %g",
                       id, i, term->face, term->effect);
          return FALSE;
        }
      for (guint k = 0; k < i; k++)
        if (g_array_index (terms, EfLapTerm, k).face == term->face)
          {
            g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: term %u: expected each face once, found face %d again", id, i, term->face);
            return FALSE;
          }
    }

  return TRUE;
}

static gboolean
check_ends (const EfLapSection *section,
            guint n_faces,
            GError **error)
{
  for (int i = 0; i < 4; i++)
    {
      int end = section->ends[i / 2][i % 2];
      gboolean again = FALSE;

      for (int k = 0; k < i; k++)
        again = again || (end >= 0 && section->ends[k / 2][k % 2] == end);
      for (guint k = 0; k < section->effects->len; k++)
        again = again || (end >= 0 && g_array_index (section->effects, EfLapTerm, k).face == end);
      if (end < -1 || end >= (int) n_faces || again)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: end %d: expected a face of the problem used once, or none, found %d", section->id, i, end);
          return FALSE;
        }
    }

  return TRUE;
}

static gboolean
check_section (const EfLapSection *section,
               guint n_faces,
               GError **error)
{
  const char *id = section->id != NULL ? section->id : "section";

  if (!in_range (section->depth, 0.0, FALSE, id, "depth", error) || !in_range (section->width[0], 0.0, FALSE, id, "width", error) ||
      !in_range (section->width[1], 0.0, FALSE, id, "width", error) || !in_range (section->width_allowed, 0.0, TRUE, id, "width allowed", error) ||
      !in_range (section->uncertainty, 0.0, FALSE, id, "uncertainty", error) || !in_range (section->guard, 0.0, FALSE, id, "guard", error))
    return FALSE;
  if (isnan (section->clearance_min) || isnan (section->clearance_max) || section->clearance_min > MOST_METRES || section->clearance_max < -MOST_METRES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: window: expected two lengths, found %g to %g", id, section->clearance_min, section->clearance_max);
      return FALSE;
    }

  return check_terms (section->effects, n_faces, id, error) && check_ends (section, n_faces, error);
}

gboolean
ef_lap_problem_check (const EfLapProblem *problem,
                      GError **error)
{
  guint n = problem->faces->len;

  if (n > MOST_FACES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "faces: expected at most %d, found %u", MOST_FACES, n);
      return FALSE;
    }
  for (guint i = 0; i < n; i++)
    if (!check_face (ef_lap_problem_face (problem, i), error))
      return FALSE;
  for (guint i = 0; i < problem->sections->len; i++)
    if (!check_section (ef_lap_problem_section (problem, i), n, error))
      return FALSE;
  for (guint i = 0; i < problem->limits->len; i++)
    {
      const EfLapLimit *limit = ef_lap_problem_limit (problem, i);

      if (isnan (limit->min) || isnan (limit->max) || limit->min > MOST_METRES || limit->max < -MOST_METRES)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected two lengths, found %g to %g", limit->id, limit->min, limit->max);
          return FALSE;
        }
      if (!check_terms (limit->terms, n, limit->id, error))
        return FALSE;
    }

  return TRUE;
}
