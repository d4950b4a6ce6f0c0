/* endfloat check-sheet: reads pump sheets and says what is wrong.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../judge/ef-judge.h"

static void
print_summary (const char *path,
               const EfPumpSheet *sheet,
               const EfRuleSet *rules)
{
  g_print ("%s: sound: %s, %u parts\n", path, sheet->name, sheet->parts->len);
  g_print ("  judged by %s\n", ef_rule_set_version (rules));
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];
      const EfGearPair *pair = &section->pair;

      g_print ("  %s: %d/%d teeth, module %.3f mm, contact ratio %.3f, backlash %.3f mm, end clearance %.3f mm, tip clearance %.3f mm\n",
               section->id, pair->in.teeth[0], pair->in.teeth[1], pair->in.module * 1e3,
               pair->contact_ratio, pair->backlash * 1e3,
               (section->pocket_depth - pair->in.face_width) * 1e3,
               (section->pocket_radius[0] - pair->in.tip_radius[0]) * 1e3);
    }
}

int
ef_cli_check_sheet (int argc,
                    char **argv)
{
  const GOptionEntry entries[] = { G_OPTION_ENTRY_NULL };
  g_autoptr (GError) shared_error = NULL;
  g_autoptr (EfRuleSet) shared = NULL;
  int worst = EF_EXIT_OK;
  int code;

  if (!ef_cli_options (entries, "SHEET…", "Reads pump sheets; prints what follows from their numbers, or what is wrong.", &argc, &argv, &code))
    return code;
  if (argc < 2)
    return ef_cli_usage_error ("check-sheet", "expected at least one pump sheet");

  shared = ef_rule_set_default (&shared_error);
  if (shared == NULL)
    return ef_cli_report_error (shared_error);
  for (int i = 1; i < argc; i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (EfPumpSheet) sheet = ef_cli_can_read (argv[i], &error) ? ef_pump_sheet_load (argv[i], &error) : NULL;
      g_autoptr (EfRuleSet) rules = sheet != NULL ? ef_rule_set_for_sheet (shared, sheet, &error) : NULL;

      if (rules != NULL)
        print_summary (argv[i], sheet, rules);
      else
        worst = MAX (worst, ef_cli_report_error (error));
    }

  return worst;
}
