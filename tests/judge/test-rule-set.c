/* The rule set's file: what is refused, and with which words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "judge-fixture.h"
#include "../isolate.h"

#define WORDING "{\"verdict\": \"measure-again\", \"sentence\": \"s\"}"
#define HEAD "{\"format\": \"endfloat-rules\", \"version\": \"1\", \"decision\": {\"rule\": \"guard-band\", \"coverage\": 0.95}, " \
             "\"no_gauge_uncertainty\": {\"depth_mm\": 0.06, \"reading_mm\": 0.02, \"drawn_mm\": 0.2, \"drawn_share\": 0.02}, " \
             "\"notes\": {\"probability\": \"p\", \"no_gauge\": \"n\", \"overdue\": \"o\", \"doubt\": \"d\", \"repeats\": \"r\"}, " \
             "\"gauge_default_uncertainty_mm\": {" \
             "\"feeler-blades\": 0.01, \"micrometer\": 0.01, \"bore-gauge\": 0.01, \"depth-gauge\": 0.01, \"dial-indicator\": 0.01, \"straightedge\": 0.01, " \
             "\"plastic-strip\": 0.01, \"scraper\": 0.01, \"fingernail\": 0.05}, " \
             "\"common\": {\"unknown\": " WORDING ", \"coarse\": " WORDING "}, \"rules\": ["
#define TAIL "]}"

static void
test_shipped (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);

  g_assert_no_error (error);
  g_assert_cmpstr (ef_rule_set_version (rules), ==, "common-practice 2");
}

static void
test_missing (void)
{
  g_autoptr (GError) error = NULL;

  g_assert_null (ef_rule_set_load ("/nowhere/rules.json", &error));
  g_assert_nonnull (error);
  g_assert_nonnull (strstr (error->message, "rules.json"));
}

typedef struct
{
  const char *name;
  const char *rule;    /* one rule as JSON */
  const char *message; /* part of the message; NULL: accepted */
} Case;

static const Case cases[] = {
  { "good",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"outcomes\": {\"found\": {\"verdict\": \"scrap\", \"sentence\": \"{mark}\"}}, \"source\": \"s\"}",
    NULL },
  { "unknown-check",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"guess\", \"outcomes\": {}, \"source\": \"s\"}",
    "rules[0]" },
  { "unknown-verdict",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"outcomes\": {\"found\": {\"verdict\": \"bin it\", \"sentence\": \"s\"}}, \"source\": \"s\"}",
    "rules[0].outcomes.found.verdict" },
  { "unknown-placeholder",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"outcomes\": {\"found\": {\"verdict\": \"scrap\", \"sentence\": \"{colour}\"}}, \"source\": \"s\"}",
    "{colour}" },
  { "open-placeholder",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"outcomes\": {\"found\": {\"verdict\": \"scrap\", \"sentence\": \"{mark\"}}, \"source\": \"s\"}",
    "closed {placeholder}" },
  { "missing-outcome",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"depth\", \"outcomes\": {\"ok\": " WORDING ", \"over\": " WORDING "}, \"source\": \"s\"}",
    "beyond" },
  { "foreign-outcome",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"outcomes\": {\"found\": " WORDING ", \"over\": " WORDING "}, \"source\": \"s\"}",
    "over" },
  { "foreign-param",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"params\": {\"limit_mm\": 1}, \"outcomes\": {\"found\": " WORDING "}, \"source\": \"s\"}",
    "limit_mm" },
  { "negative-param",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"size\", \"params\": {\"limit_mm\": -1}, \"outcomes\": {\"ok\": " WORDING ", \"over\": " WORDING "}, \"source\": \"s\"}",
    "rules[0].params.limit_mm" },
  { "unknown-face",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"applies\": {\"faces\": [\"roof\"]}, \"outcomes\": {\"found\": " WORDING "}, \"source\": \"s\"}",
    "roof" },
  { "quantity-missing",
    "{\"id\": \"a\", \"level\": \"section\", \"check\": \"required\", \"outcomes\": {\"unknown\": " WORDING "}, \"source\": \"s\"}",
    "quantity" },
  { "better-when-worse",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"size\", \"outcomes\": {\"ok\": {\"verdict\": \"scrap\", \"sentence\": \"s\"}, \"over\": {\"verdict\": \"rework\", \"sentence\": \"s\"}}, \"source\": \"s\"}",
    "no better" },
  { "twice",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"outcomes\": {\"found\": " WORDING "}, \"source\": \"s\"},"
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"outcomes\": {\"found\": " WORDING "}, \"source\": \"s\"}",
    "second time" },
  { "unknown-member",
    "{\"id\": \"a\", \"level\": \"mark\", \"check\": \"presence\", \"outcomes\": {\"found\": " WORDING "}, \"source\": \"s\", \"wish\": 1}",
    "wish" },
  { "not-an-object", "7", "rules[0]" },
};

static void
test_case (gconstpointer data)
{
  const Case *one = data;
  g_autofree char *json = g_strconcat (HEAD, one->rule, TAIL, NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_parse (json, "own-rules.json", &error);

  if (one->message == NULL)
    {
      g_assert_no_error (error);
      g_assert_nonnull (rules);
      return;
    }
  g_assert_null (rules);
  g_assert_nonnull (error);
  g_assert_true (g_str_has_prefix (error->message, "own-rules.json: "));
  if (strstr (error->message, one->message) == NULL)
    g_error ("expected \"%s\" in \"%s\"", one->message, error->message);
}

/* The shipped file with bytes changed, dropped or doubled: read or refused with a message, never a crash. */
static void
test_mutations (void)
{
  g_autofree char *path = ef_data_path ("rules", "common-practice.json", NULL);
  g_autofree char *text = NULL;
  gsize length;
  guint refused = 0;

  g_assert_true (g_file_get_contents (path, &text, &length, NULL));
  for (guint run = 0; run < 300; run++)
    {
      GString *broken = g_string_new_len (text, (gssize) length);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfRuleSet) rules = NULL;

      for (int n = g_test_rand_int_range (1, 4); n > 0; n--)
        {
          gsize at = (gsize) g_test_rand_int_range (0, (int) broken->len - 1);

          switch (g_test_rand_int_range (0, 3))
            {
            case 0:
              broken->str[at] = (char) g_test_rand_int_range (1, 128);
              break;
            case 1:
              g_string_erase (broken, (gssize) at, MIN (g_test_rand_int_range (1, 40), (int) (broken->len - at)));
              break;
            default:
              g_string_insert_len (broken, (gssize) at, text + g_test_rand_int_range (0, (int) length - 40), 20);
              break;
            }
        }
      rules = ef_rule_set_parse (broken->str, "broken.json", &error);
      g_assert_true ((rules == NULL) == (error != NULL));
      if (rules == NULL)
        {
          refused++;
          g_assert_true (g_str_has_prefix (error->message, "broken.json"));
        }
      g_string_free (broken, TRUE);
    }
  g_assert_cmpuint (refused, >, 150);
}

/* Rules of a pump sheet. */

#define OWN_CHIP "{\"id\": \"gear-chip\", \"level\": \"mark\", \"check\": \"size\", \"applies\": {\"parts\": [\"gear\"], \"kinds\": [\"chip\"]}, " \
                 "\"params\": {\"limit_mm\": %s}, \"outcomes\": {\"ok\": {\"verdict\": \"use-again\", \"sentence\": \"ok {limit}\"}, " \
                 "\"over\": {\"verdict\": \"scrap\", \"sentence\": \"over {limit}\"}}, \"source\": \"own note\"}"
#define OWN_NEW "{\"id\": \"imprint-noted\", \"level\": \"mark\", \"check\": \"presence\", \"applies\": {\"parts\": [\"gear\"], \"kinds\": [\"imprint\"]}, " \
                "\"outcomes\": {\"found\": {\"verdict\": \"rework\", \"sentence\": \"noted\"}}, \"source\": \"second note\"}"

/* HL-24 with @rules, a list of rules without its brackets. */
static EfPumpSheet *
sheet_with (const char *rules)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autofree char *text = NULL;
  g_autofree char *json = NULL;
  g_autoptr (GError) error = NULL;
  EfPumpSheet *sheet;

  g_assert_true (g_file_get_contents (path, &text, NULL, NULL));
  *strrchr (text, '}') = '\0';
  json = g_strdup_printf ("%s, \"rules\": [%s]}", text, rules);
  sheet = ef_pump_sheet_parse (json, "own-pump.json", &error);
  g_assert_no_error (error);

  return sheet;
}

/* Puts a sheet with @rules into the place of the fixture's. */
static void
init_with (Fixture *f,
           const char *rules)
{
  fixture_init_bare (f, "hl-24");
  ef_inspection_free (f->inspection);
  ef_pump_sheet_unref (f->sheet);
  f->sheet = sheet_with (rules);
  f->inspection = ef_inspection_new (f->sheet, "J-1");
}

/* A point 0.75 mm across; the id of its verdict, to be freed. */
static char *
chip (Fixture *f,
      EfMarkKind kind)
{
  EfMark *mark = ef_mark_new ("pressure-drive-gear/end-a", kind, EF_SHAPE_POINT, 0.75 * MM);

  ef_mark_add_node (mark, 0.015, 0.0);
  mark->number = ef_inspection_next_number (f->inspection);
  fixture_chart (f, "pressure-drive-gear/end-a");

  return fixture_add_mark (f, mark);
}

/* 1 mm is the shared limit for chips, 0.5 mm or so the sheet's own. */
static void
test_sheet_replaces (void)
{
  g_autofree char *tight = g_strdup_printf (OWN_CHIP, "0.5");
  const EfReason *reason;
  g_autofree char *first = NULL;
  g_autofree char *second = NULL;
  const EfVerdict *verdict;
  Fixture f;

  fixture_init (&f, "hl-24");
  first = chip (&f, EF_MARK_CHIP);
  fixture_judge (&f);
  reason = fixture_reason (&f, first, "gear-chip");
  g_assert_cmpint (reason->word, ==, EF_VERDICT_USE);
  g_assert_true (reason->limit_assumed);
  fixture_clear (&f);

  init_with (&f, tight);
  second = chip (&f, EF_MARK_CHIP);
  fixture_judge (&f);
  reason = fixture_reason (&f, second, "gear-chip");
  g_assert_cmpint (reason->word, ==, EF_VERDICT_SCRAP);
  g_assert_cmpstr (reason->source, ==, "own note");
  g_assert_true (g_str_has_prefix (reason->sentence, "Over 0.50 mm"));
  g_assert_cmpfloat_with_epsilon (reason->limit, 0.5 * MM, 1e-12);
  g_assert_false (reason->limit_assumed);
  verdict = ef_verdict_find (f.verdict, second);
  for (guint i = 0, n = 0; i < verdict->reasons->len; i++)
    {
      n += g_str_equal (((EfReason *) verdict->reasons->pdata[i])->rule, "gear-chip");
      g_assert_cmpuint (n, <=, 1);
    }
  fixture_clear (&f);
}

static void
test_sheet_adds (void)
{
  g_autofree char *id = NULL;
  Fixture f;

  init_with (&f, OWN_NEW);
  id = chip (&f, EF_MARK_IMPRINT);
  fixture_judge (&f);
  g_assert_cmpint (fixture_reason (&f, id, "imprint-noted")->word, ==, EF_VERDICT_REWORK);
  g_assert_nonnull (fixture_reason (&f, id, "gear-imprint"));
  fixture_clear (&f);
}

/* One version for the same rules however they are written, another for others. */
static void
test_sheet_version (void)
{
  g_autofree char *half = g_strdup_printf (OWN_CHIP, "0.5");
  g_autofree char *same = g_strdup_printf ("  " OWN_CHIP "\n", "0.50");
  g_autofree char *other = g_strdup_printf (OWN_CHIP, "0.6");
  const char *texts[] = { half, same, other, "" };
  g_autoptr (EfRuleSet) base = ef_rule_set_default (NULL);
  EfRuleSet *sets[G_N_ELEMENTS (texts)];
  g_autoptr (EfRuleSet) again = NULL;
  g_autoptr (EfPumpSheet) last = sheet_with (other);
  const char *version;

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    {
      g_autoptr (EfPumpSheet) sheet = sheet_with (texts[i]);

      g_assert_true (ef_rule_set_check_sheet (sheet, NULL));
      sets[i] = ef_rule_set_for_sheet (base, sheet, NULL);
      g_assert_nonnull (sets[i]);
    }
  version = ef_rule_set_version (sets[0]);
  g_assert_true (g_str_has_prefix (version, "common-practice 2 + hl-24 rules "));
  g_assert_cmpuint (strspn (strrchr (version, ' ') + 1, "0123456789abcdef"), ==, 8);
  g_assert_cmpuint (strlen (strrchr (version, ' ') + 1), ==, 8);
  g_assert_cmpstr (ef_rule_set_version (sets[1]), ==, version);
  g_assert_cmpstr (ef_rule_set_version (sets[2]), !=, version);
  g_assert_true (sets[3] == base);
  /* From the shared ones, whichever combination it is asked of. */
  again = ef_rule_set_for_sheet (sets[0], last, NULL);
  g_assert_cmpstr (ef_rule_set_version (again), ==, ef_rule_set_version (sets[2]));
  g_assert_cmpstr (ef_rule_set_version (base), ==, "common-practice 2");
  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    ef_rule_set_free (sets[i]);
}

/* What reading a sheet doesn't see is refused at its place in the sheet, and so is judging by it. */
static void
test_sheet_refused (void)
{
  g_autofree char *bad = g_strdup_printf (OWN_CHIP, "\"small\"");
  g_autofree char *both = g_strdup_printf ("%s, %s", OWN_NEW, bad);
  g_autoptr (EfRuleSet) base = ef_rule_set_default (NULL);
  g_autoptr (EfPumpSheet) sheet = sheet_with (both);
  g_autoptr (GError) error = NULL;
  g_autoptr (GError) second = NULL;

  g_assert_false (ef_rule_set_check_sheet (sheet, &error));
  g_assert_cmpstr (error->message, ==, "own-pump.json: $.rules[1].params.limit_mm: expected a number from 0 to 1000000, found \"small\"");
  g_assert_null (ef_rule_set_for_sheet (base, sheet, &second));
  g_assert_cmpstr (second->message, ==, error->message);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/judge/rule-set/shipped", test_shipped);
  g_test_add_func ("/judge/rule-set/missing-file", test_missing);
  g_test_add_func ("/judge/rule-set/sheet/replaces", test_sheet_replaces);
  g_test_add_func ("/judge/rule-set/sheet/adds", test_sheet_adds);
  g_test_add_func ("/judge/rule-set/sheet/version", test_sheet_version);
  g_test_add_func ("/judge/rule-set/sheet/refused", test_sheet_refused);
  g_test_add_func ("/judge/rule-set/mutations", test_mutations);
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *path = g_strconcat ("/judge/rule-set/", cases[i].name, NULL);

      g_test_add_data_func (path, &cases[i], test_case);
    }

  return g_test_run ();
}
