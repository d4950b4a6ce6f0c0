/* A share that was counted, and how sure it is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  guint64 n, of;     /* counted, of all */
  double share;      /* n / of; NAN where of is 0 */
  double low, high;  /* Wilson's score interval (E. B. Wilson, JASA 22, 1927, 209): 0 and 1 where of is 0 */
  double exact_low, exact_high; /* Clopper and Pearson's (Biometrika 26, 1934, 404): never covers less than asked for */
} EfProportion;

/* @confidence: 0.95, between 0 and 1. @n is at most @of. */
EfProportion ef_proportion (guint64 n, guint64 of, double confidence);

G_END_DECLS
