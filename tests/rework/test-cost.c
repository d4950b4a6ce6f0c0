/* Cost: sums by hand, and nothing where nothing was set.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../judge/judge-fixture.h"

#include "rework/ef-cost.h"
#include "../isolate.h"

static EfStep *
step (const char *phase,
      double stock)
{
  EfStep *one = g_new0 (EfStep, 1);

  one->id = g_strdup (phase);
  one->phase = g_strdup (phase);
  one->text = g_strdup ("");
  one->stock = stock;
  one->tools = g_ptr_array_new ();
  one->cautions = g_ptr_array_new ();
  one->checks = g_ptr_array_new ();
  one->after = g_ptr_array_new ();

  return one;
}

/* Two strip steps, one face lapped, one other rework, one each of the rest. */
static GPtrArray *
steps (void)
{
  GPtrArray *all = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_step_free);

  g_ptr_array_add (all, step ("strip", NAN));
  g_ptr_array_add (all, step ("strip", NAN));
  g_ptr_array_add (all, step ("rework", 5e-5));
  g_ptr_array_add (all, step ("rework", NAN));
  g_ptr_array_add (all, step ("clean", NAN));
  g_ptr_array_add (all, step ("measure", NAN));
  g_ptr_array_add (all, step ("assemble", NAN));

  return all;
}

static void
test_sums (void)
{
  g_autoptr (GPtrArray) all = steps ();
  g_autoptr (EfItem) item = (EfItem *) ef_cost_new ();
  EfCost *cost = (EfCost *) item;
  g_autoptr (EfCostSummary) summary = NULL;

  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    cost->minutes[i] = 10;
  cost->minutes[EF_COST_PASS] = 1;
  cost->hour_rate = 60;
  cost->parts = 12;
  cost->new_pump = 300;
  cost->currency = g_strdup ("units");
  summary = ef_cost_summary_new (all, 25, 0, cost);
  /* By hand: 7 steps of 10 min and 25 passes of 1 min are 95 min, at 1 a minute 95; with parts 107. New: 300 and 10 min. */
  g_assert_cmpfloat_with_epsilon (summary->rework_minutes, 95, 1e-9);
  g_assert_cmpfloat_with_epsilon (summary->rework, 107, 1e-9);
  g_assert_cmpfloat_with_epsilon (summary->replacement, 310, 1e-9);
  g_assert_cmpfloat_with_epsilon (summary->saved, 203, 1e-9);
  g_assert_cmpfloat_with_epsilon (summary->line[EF_COST_STRIP].amount, 20, 1e-9);
  g_assert_cmpfloat_with_epsilon (summary->line[EF_COST_LAP].count, 1, 1e-9);
  g_assert_cmpfloat_with_epsilon (summary->line[EF_COST_REWORK].count, 1, 1e-9);
  g_assert_true (summary->line[EF_COST_STRIP].own);
  g_assert_nonnull (strstr (summary->sentence, "203.00 units cheaper"));
}

static void
test_not_set (void)
{
  g_autoptr (GPtrArray) all = steps ();
  g_autoptr (EfCostSummary) none = ef_cost_summary_new (all, 0, 0, NULL);
  g_autoptr (EfItem) item = (EfItem *) ef_cost_new ();
  g_autoptr (EfCostSummary) rate_only = NULL;
  g_autofree char *text = ef_cost_amount_text (NAN, "units");

  g_assert_true (isnan (none->rework));
  g_assert_true (isnan (none->replacement));
  g_assert_true (isnan (none->saved));
  g_assert_cmpfloat (none->rework_minutes, >, 0);
  g_assert_false (none->line[EF_COST_STRIP].own);
  g_assert_nonnull (strstr (none->sentence, "isn't set"));
  g_assert_cmpstr (text, ==, "not set");
  ((EfCost *) item)->hour_rate = 48;
  rate_only = ef_cost_summary_new (all, 0, 0, (EfCost *) item);
  g_assert_cmpfloat_with_epsilon (rate_only->rework, 0.8 * rate_only->rework_minutes, 1e-9);
  g_assert_true (isnan (rate_only->replacement));
  g_assert_nonnull (strstr (rate_only->sentence, "without parts (not set)"));
}

/* 20 planned beside 5 recorded, 2 min each: 10 min and 40 min; the sentence says which is which. */
static void
test_planned (void)
{
  g_autoptr (GPtrArray) all = steps ();
  g_autoptr (EfCostSummary) both = ef_cost_summary_new (all, 5, 20, NULL);
  g_autoptr (EfCostSummary) planned = ef_cost_summary_new (all, 0, 20, NULL);
  g_autoptr (EfCostSummary) none = ef_cost_summary_new (all, 5, 0, NULL);

  g_assert_cmpfloat_with_epsilon (both->line[EF_COST_PASS].total, 25 * ef_cost_default_minutes (EF_COST_PASS), 1e-9);
  g_assert_cmpfloat_with_epsilon (both->rework_minutes - none->rework_minutes, 40, 1e-9);
  g_assert_nonnull (strstr (both->sentence, "Of its 25 passes of lapping 20 are the plan's"));
  g_assert_nonnull (strstr (planned->sentence, "Its 20 passes of lapping are the plan's: none is recorded yet."));
  g_assert_null (strstr (none->sentence, "plan"));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/rework/cost/sums", test_sums);
  g_test_add_func ("/rework/cost/planned", test_planned);
  g_test_add_func ("/rework/cost/not-set", test_not_set);

  return g_test_run ();
}
