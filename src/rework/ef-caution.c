/* One hazard, one wording: what the sheet says of it, else what the program does.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-step.h"

static const struct
{
  const char *hazard, *text;
} own[] = {
  { "heat", EF_CAUTION_HEAT },         { "hot-oil", EF_CAUTION_HOT_OIL },   { "solvent", EF_CAUTION_SOLVENT },   { "magnesium", EF_CAUTION_MAGNESIUM },
  { "abrasive", EF_CAUTION_ABRASIVE }, { "eyes", EF_CAUTION_EYES }, { "pressure", EF_CAUTION_PRESSURE },
};

const char *
ef_caution_hazard (const char *text)
{
  for (guint i = 0; i < G_N_ELEMENTS (own); i++)
    if (g_strcmp0 (own[i].text, text) == 0)
      return own[i].hazard;

  return NULL;
}

static void
add_once (GPtrArray *cautions,
          const char *text)
{
  if (!g_ptr_array_find_with_equal_func (cautions, text, g_str_equal, NULL))
    g_ptr_array_add (cautions, g_strdup (text));
}

/* FALSE where the sheet has nothing to say of it. */
static gboolean
add_sheets (const EfPumpSheet *sheet,
            GPtrArray *cautions,
            const char *hazard)
{
  gboolean any = FALSE;

  for (guint i = 0; hazard != NULL && i < sheet->cautions->len; i++)
    if (g_strcmp0 (sheet->hazards->pdata[i], hazard) == 0)
      {
        add_once (cautions, sheet->cautions->pdata[i]);
        any = TRUE;
      }

  return any;
}

void
ef_cautions_settle (const EfPumpSheet *sheet,
                    GPtrArray *cautions)
{
  g_autoptr (GPtrArray) settled = g_ptr_array_new_with_free_func (g_free);

  for (guint i = 0; i < cautions->len; i++)
    if (!add_sheets (sheet, settled, ef_caution_hazard (cautions->pdata[i])))
      add_once (settled, cautions->pdata[i]);
  g_ptr_array_set_size (cautions, 0);
  for (guint i = 0; i < settled->len; i++)
    g_ptr_array_add (cautions, g_strdup (settled->pdata[i]));
}
