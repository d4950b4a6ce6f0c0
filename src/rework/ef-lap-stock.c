/* Stock per face, and the end clearance that lapping starts from and aims at.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "ef-lap-stock.h"

#define CLEARANCE_LEAST 30e-6 /* where the sheet says nothing; common practice, no source */
#define CLEARANCE_MOST 120e-6 /* likewise: the rule's own limit */

static const char *const places[2] = { "drive", "driven" };

EfLapStock *
ef_lap_stock_new (const char *face_id)
{
  EfLapStock *stock = g_new0 (EfLapStock, 1);

  stock->face_id = g_strdup (face_id);

  return stock;
}

void
ef_lap_stock_free (EfLapStock *stock)
{
  for (guint i = 0; i < G_N_ELEMENTS (stock->grit); i++)
    g_free (stock->grit[i]);
  g_free (stock->face_id);
  g_free (stock);
}

const EfLapStock *
ef_lap_stock_find (GPtrArray *stocks,
                   const char *face_id)
{
  for (guint i = 0; i < stocks->len; i++)
    {
      const EfLapStock *stock = stocks->pdata[i];

      if (g_strcmp0 (stock->face_id, face_id) == 0)
        return stock;
    }

  return NULL;
}

void
ef_lap_clearance_window (const EfPumpSheet *sheet,
                         const EfSection *section,
                         double *least_out,
                         double *most_out)
{
  const EfLimit *limit = ef_pump_sheet_limit (sheet, "end-clearance", section->id);
  double most = NAN;

  *least_out = NAN;
  if (limit != NULL)
    {
      *least_out = isnan (limit->as_new_min) ? limit->wear_min : limit->as_new_min;
      most = isnan (limit->as_new_max) ? limit->wear_max : limit->as_new_max;
    }
  *most_out = isnan (most) ? CLEARANCE_MOST : most;
  if (isnan (*least_out))
    *least_out = MIN (CLEARANCE_LEAST, *most_out);
}

double
ef_lap_clearance_found (const EfFindings *findings,
                        const EfSection *section,
                        int gear)
{
  const EfDerived *derived = ef_derived_find (findings->derived, "end-clearance", section->id, places[gear]);

  if (derived == NULL)
    derived = ef_derived_find (findings->derived, "end-clearance", section->id, NULL);

  return derived != NULL ? derived->value : NAN;
}
