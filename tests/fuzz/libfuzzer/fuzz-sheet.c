/* Pump sheets: what is read has charts for its faces, or says why not.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "pump/ef-face-chart.h"
#include "pump/ef-pump-sheet.h"

#define MOST_CHARTS 3 /* they cost time, and are alike */

void
fuzz_sheet (const guint8 *data,
            gsize size)
{
  g_autofree char *text = g_strndup ((const char *) data, size);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_parse (text, FUZZ_FILE, &error);
  g_auto (GStrv) faces = NULL;

  fuzz_check_answer (sheet != NULL, error);
  if (sheet == NULL)
    return;
  faces = ef_face_ids (sheet);
  for (guint i = 0; faces[i] != NULL && i < MOST_CHARTS; i++)
    {
      g_autoptr (GError) problem = NULL;
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, faces[i], &problem);

      fuzz_check_answer (chart != NULL, problem);
    }
}
