/* Lengths, angles and quantities as typed: what is read is written and read again as the same number.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "base/ef-units.h"

#include <math.h>

void
fuzz_units (const guint8 *data,
            gsize size)
{
  g_autofree char *text = g_strndup ((const char *) data, size);

  for (EfUnit unit = 0; unit <= EF_UNIT_RPM; unit++)
    {
      g_autoptr (GError) error = NULL;
      double value = NAN;
      EfUnit found = unit;
      gboolean ok = ef_parse_quantity (text, unit, &value, &found, &error);

      fuzz_check_answer (ok, error);
      if (ok && !isfinite (value))
        g_error ("\"%s\" read as %g", text, value);
    }
}
