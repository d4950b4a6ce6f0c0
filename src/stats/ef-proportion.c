/* Intervals of a counted share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-proportion.h"

#include <math.h>
#include <gsl/gsl_cdf.h>

/* Where the beta distribution has the share @tail below (or above) it. By halving: GSL's own inverse doesn't converge for tens of thousands. */
static double
beta_quantile (double tail,
               double a,
               double b,
               gboolean above)
{
  double low = 0, high = 1;

  for (int i = 0; i < 60; i++)
    {
      double middle = 0.5 * (low + high);
      gboolean right = above ? gsl_cdf_beta_Q (middle, a, b) > tail : gsl_cdf_beta_P (middle, a, b) < tail;

      if (right)
        low = middle;
      else
        high = middle;
    }

  return 0.5 * (low + high);
}

EfProportion
ef_proportion (guint64 n,
               guint64 of,
               double confidence)
{
  EfProportion p = { .n = n, .of = of, .share = NAN, .low = 0, .high = 1, .exact_low = 0, .exact_high = 1 };
  double z, middle, half, tail, count = (double) n, all = (double) of;

  g_return_val_if_fail (n <= of && confidence > 0 && confidence < 1, p);
  if (of == 0)
    return p;
  z = gsl_cdf_ugaussian_Pinv (0.5 + 0.5 * confidence);
  tail = 0.5 * (1 - confidence);
  p.share = count / all;
  middle = (p.share + z * z / (2 * all)) / (1 + z * z / all);
  half = z / (1 + z * z / all) * sqrt (p.share * (1 - p.share) / all + z * z / (4 * all * all));
  p.low = n == 0 ? 0 : MAX (middle - half, 0);
  p.high = n == of ? 1 : MIN (middle + half, 1);
  if (n > 0)
    p.exact_low = beta_quantile (tail, count, all - count + 1, FALSE);
  if (n < of)
    p.exact_high = beta_quantile (tail, count + 1, all - count, TRUE);

  return p;
}
