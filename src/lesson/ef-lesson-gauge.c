/* How gauges err in lessons.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-place.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#define SCATTER 0.25 /* of the gauge's standard uncertainty */

/* Normal, from the text: its SHA-256 seeds the generator (MT19937), the inverse of the distribution function does the rest. */
static double
normal (const char *seed,
        const char *gauge,
        const char *where,
        guint repeat)
{
  g_autofree char *text = g_strdup_printf ("%s\n%s\n%s\n%u", seed, gauge, where, repeat);
  g_autoptr (GChecksum) checksum = g_checksum_new (G_CHECKSUM_SHA256);
  g_autoptr (GRand) random = NULL;
  guint8 digest[32];
  gsize length = sizeof digest;
  guint32 words[8];

  g_checksum_update (checksum, (const guchar *) text, -1);
  g_checksum_get_digest (checksum, digest, &length);
  for (guint i = 0; i < 8; i++)
    words[i] = (guint32) digest[4 * i] | (guint32) digest[4 * i + 1] << 8 | (guint32) digest[4 * i + 2] << 16 | (guint32) digest[4 * i + 3] << 24;
  random = g_rand_new_with_seed_array (words, 8);

  return gsl_cdf_ugaussian_Pinv (g_rand_double_range (random, 1e-9, 1 - 1e-9));
}

double
ef_lesson_gauge_shows (const EfGauge *gauge,
                       double truth,
                       const char *seed,
                       const char *where,
                       guint repeat)
{
  double u = isfinite (gauge->uncertainty) ? gauge->uncertainty / 2 : 0;
  double common = sqrt (EF_SAME_GAUGE_CORRELATION) * normal (seed, gauge->item.id, "", 0);
  double own = sqrt (1 - EF_SAME_GAUGE_CORRELATION) * normal (seed, gauge->item.id, where, 0);
  double scatter = SCATTER * normal (seed, gauge->item.id, where, repeat + 1);
  double value = truth + u * (common + own + scatter);
  double step = gauge->resolution > 0 && isfinite (gauge->resolution) ? gauge->resolution : 1e-9;

  /* Whole nanometres, as lengths are kept. */
  return round (round (value / step) * step * 1e9) * 1e-9;
}

gboolean
ef_lesson_gauge_suits (EfGaugeKind kind,
                       EfQuantity quantity)
{
  static const guint suits[EF_N_READINGS] = {
    [EF_READ_END_CLEARANCE] = 1u << EF_GAUGE_FEELER | 1u << EF_GAUGE_PLASTIC_STRIP | 1u << EF_GAUGE_DIAL | 1u << EF_GAUGE_STRAIGHTEDGE,
    [EF_READ_POCKET_DEPTH] = 1u << EF_GAUGE_DEPTH,
    [EF_READ_FACE_WIDTH] = 1u << EF_GAUGE_MICROMETER,
    [EF_READ_TIP_CLEARANCE] = 1u << EF_GAUGE_FEELER,
    [EF_READ_BACKLASH] = 1u << EF_GAUGE_DIAL | 1u << EF_GAUGE_FEELER,
    [EF_READ_SIDE_PLAY] = 1u << EF_GAUGE_DIAL | 1u << EF_GAUGE_FEELER,
    [EF_READ_JOURNAL_DIAMETER] = 1u << EF_GAUGE_MICROMETER,
    [EF_READ_BORE_DIAMETER] = 1u << EF_GAUGE_BORE,
    [EF_READ_FLATNESS] = 1u << EF_GAUGE_DIAL | 1u << EF_GAUGE_STRAIGHTEDGE,
  };

  return (suits[quantity] & 1u << kind) != 0;
}
