/* Work on the HL-24 demo job, as its plan asks for it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <math.h>

#include "assess/ef-assessment.h"
#include "record/ef-exchange.h"

#define MM 1e-3

static inline EfInspection *
after_load (const char *name)
{
  g_autofree char *path = ef_data_path ("demo", name, NULL);
  g_autoptr (GError) error = NULL;
  EfInspection *inspection = ef_exchange_load (path, &error);

  g_assert_no_error (error);

  return inspection;
}

static inline EfAssessment *
after_assess (const EfInspection *inspection)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  EfAssessment *assessment;

  g_assert_no_error (error);
  assessment = ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, &error);
  g_assert_no_error (error);

  return assessment;
}

/* Takes @item. */
static inline void
after_put (EfInspection *inspection,
           gpointer item)
{
  g_autoptr (GError) error = NULL;

  ef_inspection_swap (inspection, NULL, item, &error);
  g_assert_no_error (error);
  ef_item_unref (item);
}

static inline void
after_work (EfInspection *inspection,
            const char *face,
            double removed,
            const char *gauge,
            double coarse,
            double fine)
{
  EfWork *work = ef_work_new (face, removed, gauge);

  ef_work_set_passes (work, "coarse", coarse);
  ef_work_set_passes (work, "fine", fine);
  work->role = g_strdup ("bench 2");
  work->time = g_strdup ("2026-03-11T09:30:00Z");
  after_put (inspection, work);
}

static inline void
after_read (EfInspection *inspection,
            EfQuantity quantity,
            const char *target,
            const char *place,
            double value,
            const char *gauge)
{
  EfReading *reading = ef_reading_new (quantity, target, place, value, EF_UNIT_MM, gauge);

  reading->after = TRUE;
  after_put (inspection, reading);
}
