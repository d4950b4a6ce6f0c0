/* From a gap to the mobility of each link.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each cell is sampled 4 x 4. For a link, the half of either cell that it crosses counts: resistance along the way, sub-cells in
 * series within a row, rows side by side.
 */
#include "ef-film-private.h"

#include "../base/ef-error.h"

#include <math.h>
#include <string.h>

#define SUB 4

/* Resistance 1 / h^3 of the half cell that a way crosses, one number a row, as a share of a whole cell's length. */
typedef struct
{
  double row[EF_N_WAYS][SUB];
} HalfCell;

static gboolean
check_cube (double cube,
            double x,
            double y,
            GError **error)
{
  if (cube > 0.0 && isfinite (cube))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "gap: expected more than 0 everywhere, found h^3 = %g m3 at x %.3f mm, y %.3f mm",
               cube, x * 1e3, y * 1e3);

  return FALSE;
}

static gboolean
sample_cell (const EfFilmDomain *domain,
             double x,
             double y,
             EfFilmGap gap,
             gpointer user_data,
             double samples[SUB][SUB],
             GError **error)
{
  for (int j = 0; j < SUB; j++)
    for (int i = 0; i < SUB; i++)
      {
        double dx = ((i + 0.5) / SUB - 0.5) * domain->cell;
        double dy = ((j + 0.5) / SUB - 0.5) * domain->cell;

        samples[j][i] = gap (x + dx, y + dy, user_data);
        if (!check_cube (samples[j][i], x + dx, y + dy, error))
          return FALSE;
      }

  return TRUE;
}

static void
even_cell (double cube,
           HalfCell *half)
{
  for (int way = 0; way < EF_N_WAYS; way++)
    for (int k = 0; k < SUB; k++)
      half->row[way][k] = 0.5 / cube;
}

static void
half_cell (double samples[SUB][SUB],
           EfFilmMean mean,
           HalfCell *half)
{
  double sum = 0.0;

  for (int j = 0; j < SUB; j++)
    for (int i = 0; i < SUB; i++)
      sum += samples[j][i];
  for (int k = 0; k < SUB; k++)
    {
      double right = 0.0, left = 0.0, up = 0.0, down = 0.0;

      for (int i = 0; i < SUB / 2; i++)
        {
          left += 1.0 / samples[k][i];
          right += 1.0 / samples[k][i + SUB / 2];
          down += 1.0 / samples[i][k];
          up += 1.0 / samples[i + SUB / 2][k];
        }
      if (mean == EF_FILM_AREA_MEAN)
        right = left = up = down = SUB * SUB / sum * (SUB / 2);
      half->row[EF_WAY_RIGHT][k] = right / SUB;
      half->row[EF_WAY_LEFT][k] = left / SUB;
      half->row[EF_WAY_UP][k] = up / SUB;
      half->row[EF_WAY_DOWN][k] = down / SUB;
    }
}

static double
inner_mobility (const HalfCell *a,
                const HalfCell *b,
                EfWay way)
{
  EfWay back = (way + 2) % EF_N_WAYS;
  double sum = 0.0;

  for (int k = 0; k < SUB; k++)
    sum += 1.0 / (a->row[way][k] + b->row[back][k]);

  return sum / SUB;
}

static double
border_mobility (const HalfCell *half,
                 EfWay way)
{
  double sum = 0.0;

  for (int k = 0; k < SUB; k++)
    sum += 0.5 / half->row[way][k];

  return sum / SUB;
}

static EfFilmLinks *
links_new (const EfFilmDomain *domain)
{
  EfFilmLinks *links = g_new (EfFilmLinks, 1);

  links->inner = g_new (double, MAX (domain->inner->len, 1));
  links->border = g_new (double, MAX (domain->border->len, 1));

  return links;
}

/* What links_update() works on. */
typedef struct
{
  const EfFilmDomain *domain;
  EfFilmGap gap;
  EfFilmEven even;
  gpointer user_data;
  EfFilmMean mean;
  int *slot;      /* of each cell in @halves; -1: not sampled yet */
  GArray *halves; /* HalfCell */
} Sampling;

static gboolean
sample_half (Sampling *self,
             guint cell,
             GError **error)
{
  const EfFilmDomain *domain = self->domain;
  double samples[SUB][SUB];
  double x, y, cube;
  HalfCell half;

  if (self->slot[cell] >= 0)
    return TRUE;
  ef_film_domain_place (domain, cell, &x, &y);
  if (self->even != NULL && self->even (x, y, 0.5 * domain->cell, self->user_data, &cube))
    {
      if (!check_cube (cube, x, y, error))
        return FALSE;
      even_cell (cube, &half);
    }
  else
    {
      if (!sample_cell (domain, x, y, self->gap, self->user_data, samples, error))
        return FALSE;
      half_cell (samples, self->mean, &half);
    }
  self->slot[cell] = (int) self->halves->len;
  g_array_append_val (self->halves, half);

  return TRUE;
}

static const HalfCell *
half_of (const Sampling *self,
         guint cell)
{
  return &g_array_index (self->halves, HalfCell, self->slot[cell]);
}

/* The links of the cells that are marked, with what they need of their neighbours. */
static gboolean
update_marked (Sampling *self,
               const guint8 *marked,
               EfFilmLinks *links,
               GError **error)
{
  const EfFilmDomain *domain = self->domain;

  for (guint k = 0; k < domain->inner->len; k++)
    {
      const EfInnerLink *link = &g_array_index (domain->inner, EfInnerLink, k);

      if (!marked[link->a] && !marked[link->b])
        continue;
      if (!sample_half (self, link->a, error) || !sample_half (self, link->b, error))
        return FALSE;
      links->inner[k] = inner_mobility (half_of (self, link->a), half_of (self, link->b), link->way) / 12.0;
    }
  for (guint k = 0; k < domain->border->len; k++)
    {
      const EfBorderLink *link = &g_array_index (domain->border, EfBorderLink, k);

      if (!marked[link->cell])
        continue;
      if (!sample_half (self, link->cell, error))
        return FALSE;
      links->border[k] = border_mobility (half_of (self, link->cell), link->way) / 12.0 / link->share;
    }

  return TRUE;
}

gboolean
ef_film_links_update (const EfFilmDomain *domain,
                      EfFilmLinks *links,
                      EfFilmGap gap,
                      EfFilmEven even,
                      EfFilmSame same,
                      gpointer user_data,
                      EfFilmMean mean,
                      GError **error)
{
  g_autofree guint8 *marked = g_new (guint8, domain->n);
  g_autofree int *slot = NULL;
  g_autoptr (GArray) halves = NULL;
  Sampling sampling = { .domain = domain, .gap = gap, .even = even, .user_data = user_data, .mean = mean };
  guint n = 0;

  for (guint i = 0; i < domain->n; i++)
    {
      double x, y;

      ef_film_domain_place (domain, i, &x, &y);
      marked[i] = same == NULL || !same (x, y, 0.5 * domain->cell, user_data);
      n += marked[i];
    }
  if (n == 0)
    return TRUE;
  slot = g_new (int, domain->n);
  memset (slot, 0xff, domain->n * sizeof (int));
  halves = g_array_sized_new (FALSE, FALSE, sizeof (HalfCell), MIN (2 * n, domain->n));
  sampling.slot = slot;
  sampling.halves = halves;

  return update_marked (&sampling, marked, links, error);
}

EfFilmLinks *
ef_film_links_new (const EfFilmDomain *domain,
                   EfFilmGap gap,
                   EfFilmEven even,
                   gpointer user_data,
                   EfFilmMean mean,
                   GError **error)
{
  g_autoptr (EfFilmLinks) links = links_new (domain);

  if (!ef_film_links_update (domain, links, gap, even, NULL, user_data, mean, error))
    return NULL;

  return g_steal_pointer (&links);
}

EfFilmLinks *
ef_film_links_new_uniform (const EfFilmDomain *domain,
                           double h,
                           GError **error)
{
  double mobility = h * h * h / 12.0;
  EfFilmLinks *links;

  if (!(h > 0.0) || !isfinite (h))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "gap: expected more than 0, found %g m", h);
      return NULL;
    }
  links = links_new (domain);
  for (guint k = 0; k < domain->inner->len; k++)
    links->inner[k] = mobility;
  for (guint k = 0; k < domain->border->len; k++)
    links->border[k] = mobility / g_array_index (domain->border, EfBorderLink, k).share;

  return links;
}

void
ef_film_links_free (EfFilmLinks *links)
{
  if (links == NULL)
    return;
  g_free (links->inner);
  g_free (links->border);
  g_free (links);
}
