/* Which cells are film, what joins them, and what they border on: scan lines through the outlines.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-film-private.h"

#include "../base/ef-error.h"

#include <math.h>
#include <string.h>

#define LEAST_SHARE 0.001

/* Where a scan line meets an outline. */
typedef struct
{
  double at;
  guint ring; /* 0 outer, 1 … holes */
  int group;
} Crossing;

/* A stretch of film on a scan line. */
typedef struct
{
  double from, to;
  int from_group, to_group;
} Stretch;

void
ef_film_shape_clear (EfFilmShape *shape)
{
  for (guint i = 0; i < shape->n_holes; i++)
    {
      ef_ring_clear (&shape->holes[i].ring);
      g_free (shape->holes[i].group);
    }
  g_clear_pointer (&shape->holes, g_free);
  shape->n_holes = 0;
  ef_ring_clear (&shape->outer.ring);
  g_clear_pointer (&shape->outer.group, g_free);
}

static int
compare_crossings (gconstpointer a,
                   gconstpointer b)
{
  const Crossing *left = a;
  const Crossing *right = b;

  return (left->at > right->at) - (left->at < right->at);
}

/* All crossings of one ring with the lines y = y0 + (j + 1/2) cell (axis 0) or x = … (axis 1). */
static void
collect_ring (const EfFilmRing *ring,
              guint number,
              int axis,
              const EfFilmShape *shape,
              double cell,
              guint side,
              GArray **lines)
{
  double origin = axis == 0 ? shape->y0 : shape->x0;
  const double *xy = ring->ring.xy;

  for (guint k = 0; k < ring->ring.n; k++)
    {
      guint next = (k + 1) % ring->ring.n;
      double s0 = xy[2 * k + (axis == 0 ? 1 : 0)];
      double s1 = xy[2 * next + (axis == 0 ? 1 : 0)];
      double t0 = xy[2 * k + (axis == 0 ? 0 : 1)];
      double t1 = xy[2 * next + (axis == 0 ? 0 : 1)];
      double low = MIN (s0, s1);
      double high = MAX (s0, s1);
      int first = (int) ceil ((low - origin) / cell - 0.5);
      int last = (int) floor ((high - origin) / cell - 0.5);

      for (int j = MAX (first, 0); j <= MIN (last, (int) side - 1); j++)
        {
          double line = origin + (j + 0.5) * cell;
          Crossing crossing;

          /* Half-open, so that a corner on the line counts once. */
          if (!((s0 <= line && line < s1) || (s1 <= line && line < s0)))
            continue;
          crossing.at = t0 + (t1 - t0) * (line - s0) / (s1 - s0);
          crossing.ring = number;
          crossing.group = ring->group != NULL ? ring->group[k] : ring->all;
          g_array_append_val (lines[j], crossing);
        }
    }
}

static GArray **
collect_crossings (const EfFilmShape *shape,
                   int axis,
                   double cell,
                   guint side)
{
  GArray **lines = g_new (GArray *, side);

  for (guint j = 0; j < side; j++)
    lines[j] = g_array_new (FALSE, FALSE, sizeof (Crossing));
  collect_ring (&shape->outer, 0, axis, shape, cell, side, lines);
  for (guint i = 0; i < shape->n_holes; i++)
    collect_ring (&shape->holes[i], i + 1, axis, shape, cell, side, lines);
  for (guint j = 0; j < side; j++)
    g_array_sort (lines[j], compare_crossings);

  return lines;
}

static void
free_lines (GArray **lines,
            guint side)
{
  for (guint j = 0; j < side; j++)
    g_array_unref (lines[j]);
  g_free (lines);
}

static gboolean
is_film (const guint8 *inside,
         guint n_rings)
{
  if (!inside[0])
    return FALSE;
  for (guint i = 1; i < n_rings; i++)
    if (inside[i])
      return FALSE;

  return TRUE;
}

/* Walks along a line; each change into or out of the film takes the group of the crossing that made it. */
static void
find_stretches (GArray *crossings,
                guint n_rings,
                guint8 *inside,
                GArray *stretches)
{
  Stretch open = { 0 };
  gboolean film = FALSE;

  memset (inside, 0, n_rings);
  g_array_set_size (stretches, 0);
  for (guint i = 0; i < crossings->len; i++)
    {
      const Crossing *crossing = &g_array_index (crossings, Crossing, i);
      gboolean now;

      inside[crossing->ring] ^= 1;
      now = is_film (inside, n_rings);
      if (now && !film)
        {
          open.from = crossing->at;
          open.from_group = crossing->group;
        }
      else if (!now && film)
        {
          open.to = crossing->at;
          open.to_group = crossing->group;
          g_array_append_val (stretches, open);
        }
      film = now;
    }
}

static void
add_border (EfFilmDomain *domain,
            int cell,
            int group,
            EfWay way,
            double share)
{
  EfBorderLink link = { cell, group, way, CLAMP (share, LEAST_SHARE, 1.0) };

  if (group != EF_FILM_NO_FLUX)
    g_array_append_val (domain->border, link);
}

/* The cells of one line whose centres lie in the stretch: first … last, empty when first > last. */
static void
stretch_cells (const EfFilmDomain *domain,
               const Stretch *stretch,
               double origin,
               int *first,
               int *last)
{
  *first = MAX ((int) ceil ((stretch->from - origin) / domain->cell - 0.5), 0);
  *last = MIN ((int) floor ((stretch->to - origin) / domain->cell - 0.5), (int) domain->side - 1);
}

static void
number_cells (EfFilmDomain *domain,
              GArray **lines,
              guint n_rings,
              guint8 *inside,
              GArray *stretches)
{
  for (guint j = 0; j < domain->side; j++)
    {
      find_stretches (lines[j], n_rings, inside, stretches);
      for (guint k = 0; k < stretches->len; k++)
        {
          int first, last;

          stretch_cells (domain, &g_array_index (stretches, Stretch, k), domain->x0, &first, &last);
          /* A centre on the very point where one stretch ends and the next begins lies in both. */
          for (int i = first; i <= last; i++)
            if (domain->index[j * domain->side + i] < 0)
              domain->index[j * domain->side + i] = (int) domain->n++;
        }
    }
  domain->column = g_new (guint, domain->n);
  domain->row = g_new (guint, domain->n);
  for (guint j = 0; j < domain->side; j++)
    for (guint i = 0; i < domain->side; i++)
      {
        int cell = domain->index[j * domain->side + i];

        if (cell < 0)
          continue;
        domain->column[cell] = i;
        domain->row[cell] = j;
      }
}

static int
cell_on_line (const EfFilmDomain *domain,
              int axis,
              guint line,
              int along)
{
  guint i = axis == 0 ? (guint) along : line;
  guint j = axis == 0 ? line : (guint) along;

  if (along < 0 || along >= (int) domain->side)
    return -1;

  return domain->index[j * domain->side + i];
}

/* Links along one stretch. Which cells are film was settled by the rows; a column may disagree about a centre that lies on an outline
 * to the last bit, so both ends look for themselves. */
static void
link_stretch (EfFilmDomain *domain,
              int axis,
              guint line,
              const Stretch *stretch)
{
  double origin = axis == 0 ? domain->x0 : domain->y0;
  EfWay forth = axis == 0 ? EF_WAY_RIGHT : EF_WAY_UP;
  EfWay back = axis == 0 ? EF_WAY_LEFT : EF_WAY_DOWN;
  int first, last;

  stretch_cells (domain, stretch, origin, &first, &last);
  while (first <= last && cell_on_line (domain, axis, line, first) < 0)
    first++;
  while (first <= last && cell_on_line (domain, axis, line, last) < 0)
    last--;
  if (first > last)
    return;

  add_border (domain, cell_on_line (domain, axis, line, first), stretch->from_group, back,
              (origin + (first + 0.5) * domain->cell - stretch->from) / domain->cell);
  add_border (domain, cell_on_line (domain, axis, line, last), stretch->to_group, forth,
              (stretch->to - origin - (last + 0.5) * domain->cell) / domain->cell);
  for (int i = first; i < last; i++)
    {
      EfInnerLink link = { cell_on_line (domain, axis, line, i), cell_on_line (domain, axis, line, i + 1), forth };

      if (link.a >= 0 && link.b >= 0)
        g_array_append_val (domain->inner, link);
    }
}

static int
compare_links (gconstpointer a,
               gconstpointer b)
{
  const EfInnerLink *left = a;
  const EfInnerLink *right = b;

  return left->a != right->a ? left->a - right->a : left->b - right->b;
}

static void
link_cells (EfFilmDomain *domain,
            const EfFilmShape *shape,
            GArray **rows,
            guint8 *inside,
            GArray *stretches)
{
  guint n_rings = shape->n_holes + 1;
  GArray **columns = collect_crossings (shape, 1, domain->cell, domain->side);

  for (int axis = 0; axis < 2; axis++)
    for (guint line = 0; line < domain->side; line++)
      {
        find_stretches (axis == 0 ? rows[line] : columns[line], n_rings, inside, stretches);
        for (guint k = 0; k < stretches->len; k++)
          link_stretch (domain, axis, line, &g_array_index (stretches, Stretch, k));
      }
  g_array_sort (domain->inner, compare_links);
  free_lines (columns, domain->side);
}

/* Cells that no chain of links joins to a fixed pressure would make the system singular: slivers behind a no-flux border. They carry no flow,
 * so they are tied to nothing but given a pressure by a link to themselves. Here they are simply taken out. */
static void
mark_reached (EfFilmDomain *domain,
              guint8 *reached)
{
  g_autofree int *stack = g_new (int, MAX (domain->n, 1));
  g_autofree guint *start = g_new0 (guint, domain->n + 1);
  g_autofree int *other = g_new (int, MAX (2 * domain->inner->len, 1));
  g_autofree guint *fill = NULL;
  guint depth = 0;

  for (guint k = 0; k < domain->inner->len; k++)
    {
      start[g_array_index (domain->inner, EfInnerLink, k).a + 1]++;
      start[g_array_index (domain->inner, EfInnerLink, k).b + 1]++;
    }
  for (guint i = 0; i < domain->n; i++)
    start[i + 1] += start[i];
  fill = g_memdup2 (start, (domain->n + 1) * sizeof (guint));
  for (guint k = 0; k < domain->inner->len; k++)
    {
      const EfInnerLink *link = &g_array_index (domain->inner, EfInnerLink, k);

      other[fill[link->a]++] = link->b;
      other[fill[link->b]++] = link->a;
    }
  for (guint k = 0; k < domain->border->len; k++)
    {
      int cell = g_array_index (domain->border, EfBorderLink, k).cell;

      if (!reached[cell])
        {
          reached[cell] = 1;
          stack[depth++] = cell;
        }
    }
  while (depth > 0)
    {
      int cell = stack[--depth];

      for (guint k = start[cell]; k < start[cell + 1]; k++)
        if (!reached[other[k]])
          {
            reached[other[k]] = 1;
            stack[depth++] = other[k];
          }
    }
}

static void
drop_unreached (EfFilmDomain *domain)
{
  g_autofree guint8 *reached = g_new0 (guint8, MAX (domain->n, 1));
  g_autofree int *renumber = g_new (int, MAX (domain->n, 1));
  guint kept = 0;
  guint kept_links = 0;

  mark_reached (domain, reached);
  for (guint i = 0; i < domain->n; i++)
    {
      renumber[i] = reached[i] ? (int) kept : -1;
      domain->index[domain->row[i] * domain->side + domain->column[i]] = renumber[i];
      if (!reached[i])
        continue;
      domain->row[kept] = domain->row[i];
      domain->column[kept] = domain->column[i];
      kept++;
    }
  for (guint k = 0; k < domain->inner->len; k++)
    {
      EfInnerLink link = g_array_index (domain->inner, EfInnerLink, k);

      link.a = renumber[link.a];
      link.b = renumber[link.b];
      if (link.a >= 0)
        g_array_index (domain->inner, EfInnerLink, kept_links++) = link;
    }
  g_array_set_size (domain->inner, kept_links);
  for (guint k = 0; k < domain->border->len; k++)
    {
      EfBorderLink *link = &g_array_index (domain->border, EfBorderLink, k);

      link->cell = renumber[link->cell];
    }
  domain->n = kept;
}

static gboolean
check_shape (const EfFilmShape *shape,
             guint n,
             GError **error)
{
  if (n < 8 || n > 2048)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "cells to the side: expected 8 to 2048, found %u", n);
      return FALSE;
    }
  if (!isfinite (shape->x0) || !isfinite (shape->y0) || !(shape->size > 0.0) || !isfinite (shape->size))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "grid: expected a finite square, found %g m at %g, %g", shape->size, shape->x0, shape->y0);
      return FALSE;
    }
  if (shape->outer.ring.n < 3)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "outline: expected at least 3 points, found %u", shape->outer.ring.n);
      return FALSE;
    }

  return TRUE;
}

EfFilmDomain *
ef_film_domain_new (const EfFilmShape *shape,
                    guint n,
                    GError **error)
{
  g_autoptr (EfFilmDomain) domain = NULL;
  g_autofree guint8 *inside = NULL;
  g_autoptr (GArray) stretches = g_array_new (FALSE, FALSE, sizeof (Stretch));
  GArray **rows;

  if (!check_shape (shape, n, error))
    return NULL;
  domain = g_new0 (EfFilmDomain, 1);
  domain->ref_count = 1;
  domain->side = n;
  domain->x0 = shape->x0;
  domain->y0 = shape->y0;
  domain->cell = shape->size / n;
  domain->n_groups = shape->n_groups;
  domain->index = g_new (int, n * n);
  memset (domain->index, 0xff, (gsize) n * n * sizeof (int));
  domain->inner = g_array_new (FALSE, FALSE, sizeof (EfInnerLink));
  domain->border = g_array_new (FALSE, FALSE, sizeof (EfBorderLink));
  inside = g_new (guint8, shape->n_holes + 1);

  rows = collect_crossings (shape, 0, domain->cell, n);
  number_cells (domain, rows, shape->n_holes + 1, inside, stretches);
  link_cells (domain, shape, rows, inside, stretches);
  free_lines (rows, n);
  drop_unreached (domain);
  if (domain->n == 0)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_GEOMETRY, "film: no cell of it borders on a fixed pressure");
      return NULL;
    }

  return g_steal_pointer (&domain);
}

EfFilmDomain *
ef_film_domain_ref (EfFilmDomain *domain)
{
  g_atomic_int_inc (&domain->ref_count);

  return domain;
}

void
ef_film_domain_unref (EfFilmDomain *domain)
{
  if (domain == NULL || !g_atomic_int_dec_and_test (&domain->ref_count))
    return;
  g_free (domain->index);
  g_free (domain->column);
  g_free (domain->row);
  g_array_unref (domain->inner);
  g_array_unref (domain->border);
  ef_condense_tree_free (domain->tree);
  g_free (domain);
}

guint
ef_film_domain_n_cells (const EfFilmDomain *domain)
{
  return domain->n;
}

guint
ef_film_domain_n_groups (const EfFilmDomain *domain)
{
  return domain->n_groups;
}

guint
ef_film_domain_side (const EfFilmDomain *domain)
{
  return domain->side;
}

double
ef_film_domain_cell (const EfFilmDomain *domain)
{
  return domain->cell;
}

int
ef_film_domain_index (const EfFilmDomain *domain,
                      guint i,
                      guint j)
{
  return i < domain->side && j < domain->side ? domain->index[j * domain->side + i] : -1;
}

void
ef_film_domain_place (const EfFilmDomain *domain,
                      guint cell,
                      double *x,
                      double *y)
{
  *x = domain->x0 + (domain->column[cell] + 0.5) * domain->cell;
  *y = domain->y0 + (domain->row[cell] + 0.5) * domain->cell;
}
