/* The program: a verb for the command line, or the window.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "cli/ef-cli.h"
#include "window/ef-application.h"

#include <glib/gi18n.h>
#include <gsl/gsl_errno.h>
#include <locale.h>

int
main (int argc,
      char **argv)
{
  g_autoptr (EfApplication) application = NULL;

  gsl_set_error_handler_off ();
  setlocale (LC_ALL, "");
  bindtextdomain (GETTEXT_PACKAGE, EF_LOCALEDIR);
  bind_textdomain_codeset (GETTEXT_PACKAGE, "UTF-8");
  textdomain (GETTEXT_PACKAGE);

  if (argc > 1 && ef_cli_is_verb (argv[1]))
    return ef_cli_main (argc, argv);
  application = ef_application_new (NULL);
  return g_application_run (G_APPLICATION (application), argc, argv);
}
