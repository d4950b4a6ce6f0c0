/* Tables of gauge studies and ratings: what is read, what is refused and where, and what follows.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/ef-study-table.h"
#include "../isolate.h"

#include <math.h>
#include <string.h>

static void
test_study (void)
{
  /* columns in another order, a quoted name with a comma, an empty row, Windows line ends */
  const char *text = "trial,value,appraiser,part\r\n1,1.5,\"bench 1, left\",a\r\n2,1.6,\"bench 1, left\",a\r\n\r\n1,1.4,b2,a\r\n2,1.7,b2,a\r\n"
                     "1,2.5,\"bench 1, left\",b\r\n2,2.6,\"bench 1, left\",b\r\n1,2.4,b2,b\r\n2,2.7,b2,b\r\n";
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStudyTable) table = ef_study_table_parse (text, "study.csv", &error);
  EfGaugeStudyRange range;

  g_assert_no_error (error);
  g_assert_cmpuint (table->parts->len, ==, 2);
  g_assert_cmpuint (table->appraisers->len, ==, 2);
  g_assert_cmpuint (table->readings.n_trials, ==, 2);
  g_assert_cmpstr (table->appraisers->pdata[0], ==, "bench 1, left");
  g_assert_cmpfloat (table->values[(1 * 2 + 1) * 2 + 1], ==, 2.7);
  g_assert_true (ef_gauge_study_range (&table->readings, &range, &error));
  /* ranges by hand: 0.1 and 0.3 at both parts */
  g_assert_cmpfloat (fabs (range.mean_range[0] - 0.1), <, 1e-12);
  g_assert_cmpfloat (fabs (range.mean_range[1] - 0.3), <, 1e-12);
}

static void
test_semicolons (void)
{
  const char *text = "part;appraiser;trial;value\na;x;1;0,14\na;x;2;0,15\na;y;1;0,13\na;y;2;0,16\nb;x;1;1,14\nb;x;2;1,15\nb;y;1;1,13\nb;y;2;1,16\n";
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStudyTable) table = ef_study_table_parse (text, "study.csv", &error);

  g_assert_no_error (error);
  g_assert_cmpfloat (table->values[0], ==, 0.14);
}

static void
test_study_refused (void)
{
  static const struct
  {
    const char *text, *says;
  } rows[] = {
    { "", "row 1" },
    { "part,trial,value\n", "row 1: expected a column “appraiser”" },
    { "part,appraiser,trial,value\na,x,1,1.0\na,x,2,soft\n", "row 3, column “value”: expected a number, found “soft”" },
    { "part,appraiser,trial,value\na,x,1.5,1.0\n", "row 2, column “trial”: expected a whole number" },
    { "part,appraiser,trial,value\na,,1,1.0\n", "row 2, column “appraiser”: expected something" },
    { "part,appraiser,trial,value\na,x,1,1.0\na,x,1,1.1\n", "row 3, column “trial”: expected one value for part a, appraiser x, trial 1" },
    { "part,appraiser,trial,value\na,x,1,1.0\na,x,2,1.1\nb,x,1,1.0\n", "part b, appraiser x has no trial 2" },
    { "part,appraiser,trial,value\n\"a,x,1,1.0\n", "row 2, column 1: expected a closing quote" },
    { "part,appraiser,trial,value\na,x,1,1e999\n", "column “value”: expected a number" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_study_table_parse (rows[i].text, "study.csv", &error));
      g_assert_nonnull (error);
      g_assert_true (g_str_has_prefix (error->message, "study.csv: "));
      if (strstr (error->message, rows[i].says) == NULL)
        g_error ("expected “%s” in “%s”", rows[i].says, error->message);
    }
}

/* The example of Fleiss 1971 has many raters; here three raters and a table small enough for counting by hand. */
static void
test_ratings (void)
{
  const char *text = "item,rater,category,rule\n"
                     "1,t,scrap,flank\n1,a,scrap,flank\n1,b,use-again,flank\n"
                     "2,t,use-again,dent\n2,a,use-again,dent\n2,b,use-again,dent\n"
                     "3,t,rework,groove\n3,a,scrap,groove\n3,b,use-again,groove\n"
                     "4,t,rework,groove\n4,a,rework,groove\n4,b,rework,groove\n";
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRatingTable) table = ef_rating_table_parse (text, "ratings.csv", &error);
  g_autoptr (EfRatingSummary) summary = NULL;
  const EfRuleDisagreement *rule;

  g_assert_no_error (error);
  /* verdicts are put in their order, which weights need */
  g_assert_cmpuint (table->categories->len, ==, 3);
  g_assert_cmpstr (table->categories->pdata[0], ==, "use-again");
  g_assert_cmpstr (table->categories->pdata[2], ==, "scrap");
  summary = ef_rating_summary_new (table, &error);
  g_assert_no_error (error);
  g_assert_true (summary->has_all);
  /* agreement by item: 1/3, 1, 0, 1: mean 7/12; shares 5/12, 4/12, 3/12: chance 50/144 */
  g_assert_cmpfloat (fabs (summary->all.all.observed - 7.0 / 12.0), <, 1e-12);
  g_assert_cmpfloat (fabs (summary->all.all.expected - 50.0 / 144.0), <, 1e-12);
  g_assert_cmpuint (summary->pairs->len, ==, 3);
  /* t and a: same on 3 of 4; t: 1 use 2 rework 1 scrap, a: 1 use 1 rework 2 scrap: chance 5/16 */
  g_assert_cmpfloat (fabs (g_array_index (summary->pairs, EfRaterPair, 0).plain.kappa - (0.75 - 5.0 / 16.0) / (1 - 5.0 / 16.0)), <, 1e-12);
  g_assert_cmpuint (summary->rules->len, ==, 3);
  /* flank 2 of 3 pairs, groove 3 of 6, dent none */
  rule = &g_array_index (summary->rules, EfRuleDisagreement, 0);
  g_assert_cmpstr (rule->rule, ==, "flank");
  g_assert_cmpuint (rule->differ, ==, 2);
  g_assert_cmpuint (rule->pairs, ==, 3);
  rule = &g_array_index (summary->rules, EfRuleDisagreement, 1);
  g_assert_cmpstr (rule->rule, ==, "groove");
  g_assert_cmpuint (rule->differ, ==, 3);
  g_assert_cmpuint (rule->pairs, ==, 6);
  g_assert_cmpuint (rule->items, ==, 2);
}

/* Who didn't rate everything still counts where they did. */
static void
test_gaps (void)
{
  const char *text = "item,rater,category\n1,t,yes\n1,a,yes\n2,t,no\n2,a,yes\n3,t,no\n";
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRatingTable) table = ef_rating_table_parse (text, "ratings.csv", &error);
  g_autoptr (EfRatingSummary) summary = ef_rating_summary_new (table, &error);

  g_assert_no_error (error);
  g_assert_false (summary->has_all);
  g_assert_cmpuint (g_array_index (summary->pairs, EfRaterPair, 0).n, ==, 2);
  g_assert_cmpuint (g_array_index (summary->rules, EfRuleDisagreement, 0).pairs, ==, 2);
}

static void
test_ratings_refused (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GError) few = NULL;
  g_autoptr (EfRatingTable) table = NULL;

  g_assert_null (ef_rating_table_parse ("item,rater,category\n1,t,yes\n1,t,no\n", "r.csv", &error));
  g_assert_nonnull (strstr (error->message, "r.csv: row 3, column “rater”: expected each rater once for an item"));
  table = ef_rating_table_parse ("item,rater,category\n1,t,yes\n", "r.csv", NULL);
  g_assert_null (ef_rating_summary_new (table, &few));
  g_assert_error (few, EF_ERROR, EF_ERROR_INVALID);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/study-table/study", test_study);
  g_test_add_func ("/study-table/semicolons", test_semicolons);
  g_test_add_func ("/study-table/study-refused", test_study_refused);
  g_test_add_func ("/study-table/ratings", test_ratings);
  g_test_add_func ("/study-table/gaps", test_gaps);
  g_test_add_func ("/study-table/ratings-refused", test_ratings_refused);

  return g_test_run ();
}
