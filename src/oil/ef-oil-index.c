/* Viscosity index by ASTM D2270 / ISO 2909.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-oil-private.h"

#include <math.h>

#define MM2_S 1e-6

/* L and H at @y mm2/s, 2 at least. */
static void
basic_values (double y,
              double *l,
              double *h)
{
  guint low = 0;
  guint high = ef_oil_index_rows - 1;
  double share;

  if (y > ef_oil_index_table[high].nu100)
    {
      *l = 0.8353 * y * y + 14.67 * y - 216.0;
      *h = 0.1684 * y * y + 11.85 * y - 97.0;
      return;
    }
  while (high - low > 1)
    {
      guint middle = (low + high) / 2;

      if (ef_oil_index_table[middle].nu100 <= y)
        low = middle;
      else
        high = middle;
    }
  share = (y - ef_oil_index_table[low].nu100) / (ef_oil_index_table[high].nu100 - ef_oil_index_table[low].nu100);
  *l = ef_oil_index_table[low].l + share * (ef_oil_index_table[high].l - ef_oil_index_table[low].l);
  *h = ef_oil_index_table[low].h + share * (ef_oil_index_table[high].h - ef_oil_index_table[low].h);
}

static double
index_value (double u,
             double y,
             double *l,
             double *h,
             double *n)
{
  basic_values (y, l, h);
  *n = NAN;
  if (u >= *h)
    return 100.0 * (*l - u) / (*l - *h);
  *n = log10 (*h / u) / log10 (y);

  return (pow (10.0, *n) - 1.0) / 0.00715 + 100.0;
}

gboolean
ef_oil_viscosity_index (double nu40,
                        double nu100,
                        EfViscosityIndex *index,
                        GError **error)
{
  double u = nu40 / MM2_S;
  double y = nu100 / MM2_S;

  if (!(y >= 2.0 * (1.0 - 1e-12) && y <= 1e4))
    {
      g_set_error (error, EF_ERROR, isfinite (y) ? EF_ERROR_RANGE : EF_ERROR_INVALID, "nu100: expected from 2 to 1e4 mm²/s, where the viscosity index is defined, found %g mm²/s", y);
      return FALSE;
    }
  if (!(u > y && u <= 1e7))
    {
      g_set_error (error, EF_ERROR, isfinite (u) ? EF_ERROR_RANGE : EF_ERROR_INVALID, "nu40: expected above the %g mm²/s at 100 °C, found %g mm²/s", y, u);
      return FALSE;
    }

  *index = (EfViscosityIndex){ 0 };
  index->value = index_value (u, fmax (y, 2.0), &index->l, &index->h, &index->n);
  index->procedure = isnan (index->n) ? 'A' : 'B';
  /* rint() rounds halves to even. */
  index->reported = (int) rint (index->value);
  index->l *= MM2_S;
  index->h *= MM2_S;

  return TRUE;
}

/* The index rises with nu100 at a given nu40, and falls with nu40 at a given nu100. */
double
ef_oil_nu100_from_index (double nu40,
                         double index,
                         GError **error)
{
  double u = nu40 / MM2_S;
  double low = 2.0;
  double high = fmin (1000.0, u * (1.0 - 1e-9));
  double l;
  double h;
  double n;

  if (!isfinite (index) || !isfinite (u) || u <= 2.0 || index_value (u, low, &l, &h, &n) > index || index_value (u, high, &l, &h, &n) < index)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "viscosity_index: expected one that an oil of %g mm²/s at 40 °C can have, found %g", u, index);
      return NAN;
    }
  for (int i = 0; i < 100; i++)
    {
      double middle = 0.5 * (low + high);

      if (index_value (u, middle, &l, &h, &n) < index)
        low = middle;
      else
        high = middle;
    }

  return MM2_S * 0.5 * (low + high);
}

double
ef_oil_nu40_from_index (double nu100,
                        double index,
                        GError **error)
{
  double y = nu100 / MM2_S;
  double l;
  double h;
  double u = NAN;

  if (isfinite (index) && y >= 2.0 && y <= 1000.0)
    {
      basic_values (y, &l, &h);
      u = index <= 100.0 ? l - 0.01 * index * (l - h) : h / pow (y, log10 (1.0 + 0.00715 * (index - 100.0)));
    }
  if (!(u > y))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "viscosity_index: expected one that an oil of %g mm²/s at 100 °C can have, found %g", y, index);
      return NAN;
    }

  return MM2_S * u;
}
