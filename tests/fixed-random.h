/* Random numbers that are the same in every run.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include <glib.h>

static inline GRand *
fixed_random (void)
{
  static GRand *generator = NULL;

  if (generator == NULL)
    generator = g_rand_new_with_seed (20260117);

  return generator;
}

static inline double
fixed_double (double begin,
              double end)
{
  return g_rand_double_range (fixed_random (), begin, end);
}

static inline int
fixed_int (int begin,
           int end)
{
  return g_rand_int_range (fixed_random (), begin, end);
}

static inline guint32
fixed_bits (void)
{
  return g_rand_int (fixed_random ());
}
