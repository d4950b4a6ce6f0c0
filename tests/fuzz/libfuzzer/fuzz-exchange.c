/* Exchange files: what is read is written and read again as the same.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "record/ef-exchange.h"

void
fuzz_exchange (const guint8 *data,
               gsize size)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_exchange_parse ((const char *) data, (gssize) size, FUZZ_FILE, &error);
  g_autoptr (EfInspection) again = NULL;
  g_autofree char *text = NULL;

  fuzz_check_answer (inspection != NULL, error);
  if (inspection == NULL)
    return;
  text = ef_exchange_write (inspection);
  again = ef_exchange_parse (text, -1, FUZZ_FILE, &error);
  fuzz_check_answer (again != NULL, error);
  if (again == NULL)
    g_error ("what was written can't be read: %s", error->message);
  if (!ef_inspection_equal (inspection, again))
    g_error ("what was written reads as something else");
}
