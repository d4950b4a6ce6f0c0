/* endfloat verify: what holds of a sealed exchange file or a store, and what doesn't.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../base/ef-json.h"
#include "../record/ef-seal-key.h"
#include "../record/ef-verify.h"

#include <string.h>
#include <unistd.h>

int
ef_cli_verify (int argc,
               char **argv)
{
  g_autofree char *key = NULL;
  g_autofree char *entry = NULL;
  g_autofree char *output = NULL;
  gboolean json = FALSE;
  const GOptionEntry entries[] = {
    { "key", 'k', 0, G_OPTION_ARG_STRING, &key, "Public key that is trusted, as the report shows it", "HEX" },
    { "entry", 'e', 0, G_OPTION_ARG_STRING, &entry, "An entry of the chain known from elsewhere, with its digest: it must be there", "NUMBER:DIGEST" },
    { "json", 'j', 0, G_OPTION_ARG_NONE, &json, "As JSON instead of plain text", NULL },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &output, "Write here (default: standard output)", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (JsonNode) node = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  EfVerifyOptions options = { 0 };
  int shown = -1;
  int code;

  if (!ef_cli_options (entries, "FILE|STORE", "What holds of a sealed exchange file or of a store with sealed jobs, and exactly what doesn't.\n"
                                              "Exit code 0: every seal holds; 1: something doesn't, or nothing is sealed.", &argc, &argv, &code))
    return code;
  if (argc != 2)
    return ef_cli_usage_error ("verify", "expected one exchange file or store, found %d", argc - 1);
  if (key != NULL)
    for (char *digit = key; *digit != '\0'; digit++)
      *digit = g_ascii_tolower (*digit);
  if (key != NULL && !ef_seal_public_key_valid (key))
    return ef_cli_usage_error ("verify", "--key: expected 64 hexadecimal digits, found \"%s\"", key);
  if (entry != NULL)
    {
      options.number = g_ascii_strtoll (entry, NULL, 10);
      options.digest = strchr (entry, ':') != NULL ? strchr (entry, ':') + 1 : NULL;
      if (options.number < 1 || options.digest == NULL || strlen (options.digest) != 64)
        return ef_cli_usage_error ("verify", "--entry: expected a number, a colon and 64 hexadecimal digits, found \"%s\"", entry);
    }
  options.key = key;

  if (ef_cli_can_read (argv[1], &error))
    verification = ef_verify (argv[1], &options, isatty (STDERR_FILENO) ? ef_cli_progress : NULL, &shown, NULL, &error);
  if (verification == NULL)
    return ef_cli_report_error (error);
  node = json ? ef_verification_to_json (verification) : NULL;
  text = json ? ef_json_to_text (node) : ef_verification_to_text (verification);
  if (!ef_cli_write (output, text, &error))
    return ef_cli_report_error (error);

  return verification->holds ? EF_EXIT_OK : EF_EXIT_INPUT;
}
