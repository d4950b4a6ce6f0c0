/* The rule set's file: what is refused, and with which words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "judge-fixture.h"

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

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, G_TEST_OPTION_ISOLATE_DIRS, NULL);
  g_test_add_func ("/judge/rule-set/shipped", test_shipped);
  g_test_add_func ("/judge/rule-set/missing-file", test_missing);
  g_test_add_func ("/judge/rule-set/mutations", test_mutations);
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *path = g_strconcat ("/judge/rule-set/", cases[i].name, NULL);

      g_test_add_data_func (path, &cases[i], test_case);
    }

  return g_test_run ();
}
