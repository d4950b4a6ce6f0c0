/* Rule sets.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "judge/ef-judge.h"

void
fuzz_rules (const guint8 *data,
            gsize size)
{
  g_autofree char *text = g_strndup ((const char *) data, size);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_parse (text, FUZZ_FILE, &error);

  fuzz_check_answer (rules != NULL, error);
  if (rules != NULL)
    g_assert_nonnull (ef_rule_set_version (rules));
}
