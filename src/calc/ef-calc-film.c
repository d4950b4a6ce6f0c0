/* Computations by name: the film in a plane gap of any outline.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc.h"

#include <float.h>
#include <math.h>

#include "../flow/ef-film.h"
#include "../wear/ef-depth-field.h"

#define MOST_POINTS 20000
#define MOST_RINGS 200
#define MOST_GROUPS 64
#define MOST_GROOVES 1000
#define CIRCLE_POINTS 2880

/* Where @outline has points the groove is that outline, else a line with a width. */
typedef struct
{
  EfRing outline;
  EfMarkNode from, to;
  double half_width;
  double depth;
} Groove;

typedef struct
{
  EfFilmShape shape;
  GPtrArray *names; /* char * */
  double gap;
  guint n_grooves;
  Groove *grooves;
} Film;

static void
film_clear (Film *film)
{
  ef_film_shape_clear (&film->shape);
  g_clear_pointer (&film->names, g_ptr_array_unref);
  for (guint i = 0; i < film->n_grooves; i++)
    ef_ring_clear (&film->grooves[i].outline);
  g_clear_pointer (&film->grooves, g_free);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Film, film_clear)

static void
read_place (const EfJson *json,
            double place[2])
{
  place[0] = place[1] = 0.0;
  if (json->node != NULL && ef_json_length (json) != 2)
    ef_json_fail (json, EF_ERROR_INVALID, "expected a place as two numbers");
  for (guint k = 0; k < 2 && ef_json_length (json) == 2; k++)
    {
      g_auto (EfJson) number = ef_json_element (json, k);

      place[k] = 1e-3 * ef_json_value (&number, -2000.0, 2000.0);
    }
}

static EfRing
read_outline (const EfJson *input,
              const char *member)
{
  g_auto (EfJson) list = ef_json_array (input, member, 3, MOST_POINTS);
  guint n = ef_json_length (&list);
  g_autofree double *xy = g_new0 (double, 2 * MAX (n, 3));

  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) place = ef_json_element (&list, i);

      read_place (&place, xy + 2 * i);
    }

  return ef_ring_new (MAX (n, 3), xy);
}

/* The number of a group's name, which is given one when it's new. */
static int
group_of (Film *film,
          const EfJson *at,
          const char *name)
{
  for (guint i = 0; i < film->names->len; i++)
    if (g_str_equal (film->names->pdata[i], name))
      return (int) i;
  if (film->names->len == MOST_GROUPS)
    {
      ef_json_fail (at, EF_ERROR_RANGE, "expected at most %d groups", MOST_GROUPS);
      return 0;
    }
  g_ptr_array_add (film->names, g_strdup (name));

  return (int) film->names->len - 1;
}

static int
read_group (Film *film,
            const EfJson *value)
{
  g_autofree char *name = NULL;

  if (value->node == NULL || JSON_NODE_HOLDS_NULL (value->node))
    return EF_FILM_NO_FLUX;
  name = ef_json_value_string (value);

  return name != NULL ? group_of (film, value, name) : EF_FILM_NO_FLUX;
}

static void
read_ring (Film *film,
           const EfJson *json,
           EfFilmRing *ring)
{
  static const char *const members[] = { "outline_mm", "circle_mm", "group", "groups", NULL };
  g_auto (EfJson) group = { 0 };

  ef_json_only (json, members);
  if (ef_json_has (json, "circle_mm"))
    {
      g_auto (EfJson) circle = ef_json_array (json, "circle_mm", 3, 3);
      double numbers[3] = { 0.0, 0.0, 1.0 };

      for (guint k = 0; k < 3 && ef_json_length (&circle) == 3; k++)
        {
          g_auto (EfJson) number = ef_json_element (&circle, k);

          numbers[k] = 1e-3 * ef_json_value (&number, k < 2 ? -2000.0 : DBL_MIN, 2000.0);
        }
      ring->ring = ef_ring_circle (numbers[0], numbers[1], numbers[2], CIRCLE_POINTS);
    }
  else
    ring->ring = read_outline (json, "outline_mm");
  if (ef_json_has (json, "groups"))
    {
      g_auto (EfJson) list = ef_json_array (json, "groups", ring->ring.n, ring->ring.n);

      ring->group = g_new0 (int, ring->ring.n);
      for (guint i = 0; i < ring->ring.n && i < ef_json_length (&list); i++)
        {
          g_auto (EfJson) one = ef_json_element (&list, i);

          ring->group[i] = read_group (film, &one);
        }
      return;
    }
  group = ef_json_optional (json, "group");
  ring->all = read_group (film, &group);
}

static void
read_groove (const EfJson *json,
             Groove *groove)
{
  static const char *const members[] = { "outline_mm", "from_mm", "to_mm", "width_mm", "depth_um", NULL };
  g_auto (EfJson) from = { 0 };
  g_auto (EfJson) to = { 0 };
  double place[2];

  ef_json_only (json, members);
  groove->depth = 1e-6 * ef_json_number (json, "depth_um", 0.0, 1e5);
  if (ef_json_has (json, "outline_mm"))
    {
      groove->outline = read_outline (json, "outline_mm");
      return;
    }
  from = ef_json_array (json, "from_mm", 2, 2);
  to = ef_json_array (json, "to_mm", 2, 2);
  read_place (&from, place);
  groove->from.u = place[0];
  groove->from.v = place[1];
  read_place (&to, place);
  groove->to.u = place[0];
  groove->to.v = place[1];
  groove->half_width = 0.5e-3 * ef_json_number (json, "width_mm", DBL_MIN, 2000.0);
}

/* The square from the lower left corner of the outline's box. */
static void
place_grid (EfFilmShape *shape)
{
  const EfRing *ring = &shape->outer.ring;
  double x1 = -INFINITY, y1 = -INFINITY;

  shape->x0 = shape->y0 = INFINITY;
  for (guint k = 0; k < ring->n; k++)
    {
      shape->x0 = MIN (shape->x0, ring->xy[2 * k]);
      shape->y0 = MIN (shape->y0, ring->xy[2 * k + 1]);
      x1 = MAX (x1, ring->xy[2 * k]);
      y1 = MAX (y1, ring->xy[2 * k + 1]);
    }
  shape->size = MAX (x1 - shape->x0, y1 - shape->y0);
}

static void
read_film (const EfJson *input,
           Film *film)
{
  g_auto (EfJson) outer = ef_json_object (input, "outer");
  g_auto (EfJson) holes = ef_json_optional (input, "holes");
  g_auto (EfJson) grooves = ef_json_optional (input, "grooves");
  guint n_holes = holes.node != NULL ? ef_json_length (&holes) : 0;
  guint n_grooves = grooves.node != NULL ? ef_json_length (&grooves) : 0;

  film->names = g_ptr_array_new_with_free_func (g_free);
  read_ring (film, &outer, &film->shape.outer);
  if (n_holes > MOST_RINGS || n_grooves > MOST_GROOVES)
    {
      ef_json_fail (input, EF_ERROR_RANGE, "expected at most %d holes and %d grooves, found %u and %u", MOST_RINGS, MOST_GROOVES, n_holes, n_grooves);
      return;
    }
  film->shape.holes = g_new0 (EfFilmRing, MAX (n_holes, 1));
  for (guint i = 0; i < n_holes; i++)
    {
      g_auto (EfJson) hole = ef_json_element (&holes, i);

      read_ring (film, &hole, &film->shape.holes[film->shape.n_holes++]);
    }
  film->grooves = g_new0 (Groove, MAX (n_grooves, 1));
  for (guint i = 0; i < n_grooves; i++)
    {
      g_auto (EfJson) groove = ef_json_element (&grooves, i);

      read_groove (&groove, &film->grooves[film->n_grooves++]);
    }
  film->shape.n_groups = film->names->len;
  film->gap = 1e-6 * ef_json_number (input, "gap_um", DBL_MIN, 1e5);
  place_grid (&film->shape);
}

static gboolean
in_outline (const EfRing *ring,
            double x,
            double y)
{
  gboolean inside = FALSE;

  for (guint k = 0; k < ring->n; k++)
    {
      const double *a = ring->xy + 2 * k;
      const double *b = ring->xy + 2 * ((k + 1) % ring->n);

      if ((a[1] > y) != (b[1] > y) && x < a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]))
        inside = !inside;
    }

  return inside;
}

/* Where grooves overlap the deeper counts. */
static double
film_gap (double x,
          double y,
          gpointer user_data)
{
  const Film *film = user_data;
  double depth = 0.0;

  for (guint i = 0; i < film->n_grooves; i++)
    {
      const Groove *groove = &film->grooves[i];
      gboolean in = groove->outline.n > 0 ? in_outline (&groove->outline, x, y)
                                          : ef_segment_distance2 (&groove->from, &groove->to, x, y, NULL) <= groove->half_width * groove->half_width;

      if (in)
        depth = MAX (depth, groove->depth);
    }

  return pow (film->gap + depth, 3.0);
}

static JsonNode *
film_result (const Film *film,
             const EfFilmDomain *domain,
             const double *c,
             const EfFilmCheck *check)
{
  guint n = film->shape.n_groups;
  JsonObject *out = json_object_new ();
  JsonArray *names = json_array_new ();
  JsonArray *rows = json_array_new ();

  for (guint g = 0; g < n; g++)
    {
      JsonArray *row = json_array_new ();

      json_array_add_string_element (names, film->names->pdata[g]);
      for (guint h = 0; h < n; h++)
        json_array_add_double_element (row, 1e9 * c[g * n + h]);
      json_array_add_array_element (rows, row);
    }
  json_object_set_array_member (out, "groups", names);
  json_object_set_array_member (out, "conductance_mm3", rows);
  json_object_set_int_member (out, "unknowns", ef_film_domain_n_cells (domain));
  json_object_set_double_member (out, "cell_mm", 1e3 * ef_film_domain_cell (domain));
  json_object_set_double_member (out, "residual", check->residual);
  json_object_set_double_member (out, "imbalance", check->imbalance);
  json_object_set_int_member (out, "iterations", check->iterations);

  return ef_json_object_node (out);
}

static JsonNode *
run_plan_film (const EfJson *input,
               GError **error)
{
  static const char *const members[] = { "outer", "holes", "grooves", "gap_um", "cells", "mean", "method", NULL };
  static const char *const means[] = { "area", "rows", NULL };
  static const char *const methods[] = { "cholmod", "multigrid", NULL };
  g_auto (Film) film = { 0 };
  g_autoptr (EfFilmDomain) domain = NULL;
  g_autoptr (EfFilmLinks) links = NULL;
  g_autoptr (EfFilmSolver) solver = NULL;
  g_autofree double *c = NULL;
  EfFilmCheck check = { .want_residual = TRUE };
  EfFilmMean mean;
  EfFilmMethod method;
  guint cells;

  ef_json_only (input, members);
  cells = (guint) ef_json_integer_or (input, "cells", 8, 1024, 128);
  mean = ef_json_has (input, "mean") ? (EfFilmMean) ef_json_choice (input, "mean", means) : EF_FILM_ROWS;
  method = ef_json_has (input, "method") ? (EfFilmMethod) ef_json_choice (input, "method", methods) : EF_FILM_CHOLMOD;
  read_film (input, &film);
  if (!ef_json_finish (input->context, error))
    return NULL;
  if (film.shape.n_groups == 0)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "film: expected at least one group of fixed pressure");
      return NULL;
    }
  domain = ef_film_domain_new (&film.shape, cells, error);
  links = domain != NULL ? ef_film_links_new (domain, film_gap, NULL, &film, mean, error) : NULL;
  if (links == NULL)
    return NULL;
  solver = ef_film_solver_new (domain, method);
  c = g_new (double, film.shape.n_groups * film.shape.n_groups);
  if (!ef_film_solve (solver, links, NULL, c, NULL, &check, NULL, error))
    return NULL;

  return film_result (&film, domain, c, &check);
}

const EfCalc ef_calc_film[] = {
  {
      "plan-film",
      "The oil film in a plane gap of any outline: how much flows between the fixed pressures on its borders",
      "outer: the outline, an object with\n"
      "  outline_mm: places [x, y]; or circle_mm: [x, y, radius]\n"
      "  group: name of the fixed pressure all along it, null or left out: no flow across; or\n"
      "  groups: a name or null for each piece of the outline, from place i to i + 1\n"
      "holes: array of such objects, default none\n"
      "gap_um: the even gap\n"
      "grooves: array of objects with depth_um and outline_mm, or from_mm, to_mm and width_mm; default none\n"
      "cells: to the side of the square from the lower left corner of the outline's box, 8 to 1024, default 128\n"
      "mean: within a cell, \"rows\" (default) or \"area\"\n"
      "method: \"cholmod\" (default) or \"multigrid\"",
      "groups: the names, in the order of the rows\n"
      "conductance_mm3: matrix C, flow out of group g = sum of C[g][h] p[h] / mu\n"
      "unknowns, cell_mm\n"
      "residual: worst, relative to the right-hand side\n"
      "imbalance: sum of flows by the largest flow, worst\n"
      "iterations: of the multigrid method",
      "{\"outer\": {\"circle_mm\": [0, 0, 15.15], \"group\": \"delivery\"}, \"holes\": [{\"circle_mm\": [0, 0, 9], \"group\": \"bore\"}], \"gap_um\": 40,\n"
      " \"grooves\": [{\"from_mm\": [8, 0], \"to_mm\": [16, 0], \"width_mm\": 1, \"depth_um\": 80}], \"cells\": 96}",
      "Reynolds 1886; conservative finite volumes",
      run_plan_film,
  },
  { NULL },
};
