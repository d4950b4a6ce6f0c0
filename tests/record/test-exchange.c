/* The exchange file: a round trip loses nothing, and what can't be read is refused with file and place.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../inspection/random-inspection.h"

#include "record/ef-exchange.h"

#include <glib/gstdio.h>
#include <string.h>
#include "../isolate.h"

static void
test_round_trip (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (21);
  guint i;

  for (i = 0; i < 500; i++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (rand, 30);
      g_autofree char *text = ef_exchange_write (inspection);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfInspection) back = ef_exchange_parse (text, -1, "job.json", &error);
      g_autofree char *again = NULL;

      g_assert_no_error (error);
      assert_same_inspection (inspection, back);
      again = ef_exchange_write (back);
      g_assert_cmpstr (text, ==, again);
    }
}

static void
test_file (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (22);
  g_autoptr (EfInspection) inspection = random_inspection (rand, 30);
  g_autofree char *folder = g_dir_make_tmp ("exchange-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "jöb.json", NULL);
  g_autofree char *missing = g_build_filename (folder, "none", "job.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) back = NULL;

  g_assert_true (ef_exchange_save (inspection, path, &error));
  g_assert_true (ef_exchange_save (inspection, path, &error));
  back = ef_exchange_load (path, &error);
  g_assert_no_error (error);
  assert_same_inspection (inspection, back);

  g_assert_false (ef_exchange_save (inspection, missing, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
  g_assert_nonnull (strstr (error->message, missing));
  g_clear_error (&error);
  g_assert_null (ef_exchange_load (missing, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_assert_nonnull (strstr (error->message, missing));

  g_remove (path);
  g_rmdir (folder);
}

/* Where nothing can be written: an error of ours. */
static void
test_unwritable (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (23);
  g_autoptr (EfInspection) inspection = random_inspection (rand, 5);
  g_autoptr (GError) error = NULL;

  /* Takes no new file, even from root. */
  g_assert_false (ef_exchange_save (inspection, "/proc/job.json", &error));
  g_assert_true (error != NULL && error->domain == EF_ERROR);
}

static char *
replace (const char *text,
         const char *old,
         const char *new)
{
  g_auto (GStrv) halves = g_strsplit (text, old, 2);

  g_assert_cmpuint (g_strv_length (halves), ==, 2);

  return g_strjoinv (new, halves);
}

static EfInspection *
plain_inspection (void)
{
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", "hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  g_autoptr (EfItem) check = NULL;
  EfInspection *inspection;

  g_assert_no_error (error);
  inspection = ef_inspection_new (sheet, "J-0412");
  check = ef_item_new (&ef_check_class, ((EfPart *) sheet->parts->pdata[0])->id);
  g_assert_true (ef_inspection_swap (inspection, NULL, check, &error));

  return inspection;
}

static void
test_refused (void)
{
  static const struct
  {
    const char *old, *new;
    EfError code;
    const char *words;
  } cases[] = {
    { "\"endfloat-inspection\"", "\"another-format\"", EF_ERROR_INVALID, "$.format: expected one of \"endfloat-inspection\"" },
    { "\"version\": 1", "\"version\": 2", EF_ERROR_NEWER_FORMAT, "newer version of this program" },
    { "\"version\": 1", "\"version\": 0", EF_ERROR_RANGE, "$.version" },
    { "\"version\": 1", "\"version\": \"1\"", EF_ERROR_INVALID, "$.version" },
    { "\"number\": \"J-0412\"", "\"number\": 412", EF_ERROR_INVALID, "$.job.number: expected a text, found 412" },
    { "\"number\": \"J-0412\"", "\"number\": \"J-0412\", \"received\": \"soon\"", EF_ERROR_INVALID, "$.job: header job: received: expected a date" },
    { "\"number\": \"J-0412\"", "\"number\": \"J-0412\", \"owner\": \"x\"", EF_ERROR_INVALID, "$.job.owner" },
    { "\"gauges\": []", "\"gauges\": {}", EF_ERROR_INVALID, "$.gauges: expected an array" },
    { "\"gauges\": []", "\"gauges\": [{\"id\": \"g\"}]", EF_ERROR_INVALID, "$.gauges[0].kind" },
    { "\"ticks\": []", "\"ticks\": [{\"id\": \"a\"}, {\"id\": \"b\"}, {\"id\": \"a\"}]", EF_ERROR_INVALID, "$.ticks: tick a: expected an id that isn't taken" },
    { "\"ticks\": []", "\"ticks\": [{\"id\": \"a\"}, {\"id\": \"b\", \"time\": \"noon\"}]", EF_ERROR_INVALID, "$.ticks[1]: tick b: time" },
    { "\"ticks\": []", "\"tocks\": []", EF_ERROR_INVALID, "$.tocks" },
    { "\"readings\": []", "\"readings\": [7]", EF_ERROR_PARSE, "$.readings[0]: expected an object" },
    { "\"model\": \"HL-24\"", "\"model\": 24", EF_ERROR_INVALID, "$.pump_sheet.model: expected a text" },
    { "{", "", EF_ERROR_PARSE, "job.json: " },
  };
  g_autoptr (EfInspection) inspection = plain_inspection ();
  g_autofree char *good = ef_exchange_write (inspection);
  guint i;

  for (i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *bad = replace (good, cases[i].old, cases[i].new);
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_exchange_parse (bad, -1, "job.json", &error));
      g_assert_true (g_str_has_prefix (error->message, "job.json: "));
      if (strstr (error->message, cases[i].words) == NULL || error->code != (int) cases[i].code)
        g_error ("expected %d \"%s\" in %d \"%s\"", cases[i].code, cases[i].words, error->code, error->message);
    }
}

/* A list that is left out is empty. */
static void
test_lists_optional (void)
{
  g_autoptr (EfInspection) inspection = plain_inspection ();
  g_autofree char *good = ef_exchange_write (inspection);
  g_autofree char *less = replace (good, "\"ticks\": []", "\"marks\": []");
  g_autofree char *without = replace (less, "\"marks\": [],", "");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) back = ef_exchange_parse (without, -1, "job.json", &error);

  g_assert_no_error (error);
  g_assert_true (ef_inspection_equal (inspection, back));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/exchange/round-trip-loses-nothing", test_round_trip);
  g_test_add_func ("/exchange/file", test_file);
  g_test_add_func ("/exchange/unwritable", test_unwritable);
  g_test_add_func ("/exchange/refused", test_refused);
  g_test_add_func ("/exchange/lists-optional", test_lists_optional);

  return g_test_run ();
}
