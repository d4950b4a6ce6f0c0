/* endfloat compute: any single computation of the library by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../calc/ef-calc.h"
#include "../calc/ef-calc-table.h"

#include <gio/gio.h>
#include <gio/gunixinputstream.h>
#include <unistd.h>

#define MAX_INPUT_BYTES (64 * 1024 * 1024)

static void
list_computations (void)
{
  guint n;
  const EfCalc *const *all = ef_calc_all (&n);

  for (guint i = 0; i < n; i++)
    g_print ("%-24s %s\n", all[i]->name, all[i]->summary);
}

static void
describe (const EfCalc *calc)
{
  g_print ("%s: %s\n\nInput (JSON object):\n%s\n\nOutput:\n%s\n\nSource: %s\n\nExample:\n%s\n",
           calc->name, calc->summary, calc->input, calc->output, calc->source, calc->example);
}

static char *
read_stdin (GError **error)
{
  g_autoptr (GInputStream) input = g_unix_input_stream_new (STDIN_FILENO, FALSE);
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  guint8 block[65536];
  gssize n;

  while ((n = g_input_stream_read (input, block, sizeof block, NULL, error)) > 0)
    {
      g_byte_array_append (bytes, block, n);
      if (bytes->len <= MAX_INPUT_BYTES)
        continue;
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "standard input: expected at most %d bytes", MAX_INPUT_BYTES);
      return NULL;
    }
  if (n < 0)
    return NULL;
  g_byte_array_append (bytes, (const guint8 *) "", 1);

  return (char *) g_byte_array_free (g_steal_pointer (&bytes), FALSE);
}

/* The input as JSON: from a table, or as it comes on standard input. */
static char *
read_input (const EfCalc *calc,
            const char *table,
            GError **error)
{
  g_autofree char *text = NULL;

  if (table == NULL)
    return read_stdin (error);
  text = ef_cli_can_read (table, error) ? ef_calc_table_load (table, error) : NULL;

  return text != NULL ? calc->from_table (text, table, error) : NULL;
}

static int
run (const EfCalc *calc,
     const char *table)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *input = read_input (calc, table, &error);
  g_autoptr (JsonNode) result = input != NULL ? ef_calc_run (calc->name, input, &error) : NULL;
  g_autofree char *text = NULL;

  if (result == NULL)
    return ef_cli_report_error (error);
  text = ef_json_to_text (result);
  if (!ef_cli_write (NULL, text, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}

int
ef_cli_compute (int argc,
                char **argv)
{
  gboolean list = FALSE;
  gboolean explain = FALSE;
  gboolean example = FALSE;
  g_autofree char *table = NULL;
  const GOptionEntry entries[] = {
    { "list", 'l', 0, G_OPTION_ARG_NONE, &list, "List all computations", NULL },
    { "describe", 'd', 0, G_OPTION_ARG_NONE, &explain, "Describe the input, with units, the output, and the source", NULL },
    { "example", 'e', 0, G_OPTION_ARG_NONE, &example, "Print an example input, ready to be piped in", NULL },
    { "csv", 0, 0, G_OPTION_ARG_FILENAME, &table, "gauge-study, agreement, agreement-of-many: take the input from a table instead", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  const EfCalc *calc;
  int code;

  if (!ef_cli_options (entries, "NAME", "Runs one computation: JSON on standard input (or, of some, a table with --csv), JSON on standard output.", &argc, &argv, &code))
    return code;
  if (list)
    {
      list_computations ();
      return EF_EXIT_OK;
    }
  if (argc != 2)
    return ef_cli_usage_error ("compute", "expected the name of one computation (--list lists them)");
  calc = ef_calc_find (argv[1]);
  if (calc == NULL)
    return ef_cli_usage_error ("compute", "no computation \"%s\" (--list lists them)", argv[1]);
  if (explain)
    describe (calc);
  else if (example)
    g_print ("%s\n", calc->example);
  else if (table != NULL && calc->from_table == NULL)
    return ef_cli_usage_error ("compute", "--csv: expected gauge-study, agreement or agreement-of-many, found \"%s\"", calc->name);
  else
    return run (calc, table);

  return EF_EXIT_OK;
}
