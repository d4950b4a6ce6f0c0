/* The chain from a verdict to its readings and gauges. Constructed readings on a demo's sheet.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../judge/judge-fixture.h"

#include "assess/ef-why.h"
#include "record/ef-exchange.h"
#include "../isolate.h"

static EfAssessment *
assess (Fixture *f)
{
  g_autoptr (GError) error = NULL;
  EfAssessment *assessment = ef_assess_in_detail (f->inspection, f->rules, NULL, EF_DETAIL_COARSE, NULL, &error);

  g_assert_no_error (error);

  return assessment;
}

static GPtrArray *
chain_of (const EfAssessment *assessment,
          const char *node,
          const char *rule)
{
  const EfVerdict *verdict = ef_verdict_find (assessment->verdict, node);

  g_assert_nonnull (verdict);
  for (guint i = 0; i < verdict->reasons->len; i++)
    if (g_str_equal (((EfReason *) verdict->reasons->pdata[i])->rule, rule))
      return ef_why_chain (assessment, verdict, verdict->reasons->pdata[i]);

  return NULL;
}

static const EfWhyLink *
link_of (GPtrArray *chain,
         EfWhyKind kind,
         guint n)
{
  for (guint i = 0; i < chain->len; i++)
    {
      const EfWhyLink *link = chain->pdata[i];

      if (link->kind == kind && n-- == 0)
        return link;
    }

  return NULL;
}

#define assert_says(link, words) \
  do \
    { \
      g_assert_nonnull (link); \
      if (strstr ((link)->text, words) == NULL) \
        g_error ("expected \"%s\" in \"%s\"", words, (link)->text); \
    } \
  while (0)

static void
add_gauge (Fixture *f,
           const char *id,
           double uncertainty,
           const char *due)
{
  EfGauge *gauge = ef_item_new (&ef_gauge_class, id);

  gauge->kind = EF_GAUGE_DEPTH;
  gauge->name = g_strdup (id);
  gauge->serial = g_strdup ("S-7");
  gauge->resolution = 0.001 * MM;
  gauge->uncertainty = uncertainty;
  gauge->range_min = gauge->range_max = NAN;
  gauge->checked = g_strdup ("2024-02-01");
  gauge->due = g_strdup (due);
  fixture_add (f, gauge);
}

static void
read_with (Fixture *f,
           EfQuantity quantity,
           const char *target,
           const char *place,
           double value,
           const char *gauge)
{
  EfReading *reading = ef_reading_new (quantity, target, place, value, EF_UNIT_MM, gauge);

  reading->temperature = 293.15;
  reading->time = g_strdup ("2026-03-04T10:00:00Z");
  fixture_add (f, reading);
}

/* Depth less width: both readings with their gauges, one of them overdue on the day. */
static void
test_measured (void)
{
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GPtrArray) chain = NULL;
  g_autofree char *line = NULL;
  const EfSection *section;
  const EfWhyLink *link;
  Fixture f;

  fixture_init_bare (&f, "hl-24");
  section = f.sheet->sections->pdata[0];
  add_gauge (&f, "depth-new", 0.004 * MM, "2026-03-04");
  add_gauge (&f, "micro-old", 0.004 * MM, "2026-03-03");
  read_with (&f, EF_READ_POCKET_DEPTH, section->id, "drive", section->pocket_depth + 0.40 * MM, "depth-new");
  read_with (&f, EF_READ_FACE_WIDTH, section->gear_part[0], NULL, section->pocket_depth, "micro-old");
  assessment = assess (&f);
  chain = chain_of (assessment, "pump", "end-clearance");
  g_assert_nonnull (chain);

  for (guint i = 0; i < chain->len; i++)
    {
      /* the order is that of going down */
      if (i > 0 && ((EfWhyLink *) chain->pdata[i - 1])->kind != EF_WHY_GAUGE)
        g_assert_cmpint (((EfWhyLink *) chain->pdata[i - 1])->kind, <=, ((EfWhyLink *) chain->pdata[i])->kind);
    }
  link = link_of (chain, EF_WHY_VERDICT, 0);
  g_assert_cmpstr (link->ref, ==, "verdict:pump");
  link = link_of (chain, EF_WHY_RULE, 0);
  assert_says (link, "end-clearance");
  assert_says (link, ef_rule_set_version (f.rules));
  link = link_of (chain, EF_WHY_LIMIT, 0);
  assert_says (link, "Source: ");
  link = link_of (chain, EF_WHY_DECISION, 0);
  assert_says (link, "0.400 mm ± ");
  assert_says (link, "guard band at 95 %");
  assert_says (link, "past the limit by more than the guard band");
  assert_says (link, "below 0.1 %");
  link = link_of (chain, EF_WHY_VALUE, 0);
  assert_says (link, "−");
  link = link_of (chain, EF_WHY_READING, 0);
  assert_says (link, "20 °C");
  assert_says (link, "2026-03-04T10:00:00Z");
  g_assert_true (g_str_has_prefix (link->ref, "reading:"));
  g_assert_nonnull (ef_inspection_find (f.inspection, EF_ITEM_READING, link->ref + strlen ("reading:")));
  g_assert_nonnull (link_of (chain, EF_WHY_READING, 1));
  g_assert_null (link_of (chain, EF_WHY_READING, 2));

  for (guint i = 0; i < 2; i++)
    {
      link = link_of (chain, EF_WHY_GAUGE, i);
      assert_says (link, "serial S-7");
      assert_says (link, "Resolution 0.001 mm");
      assert_says (link, "± 0.004 mm");
      assert_says (link, "Last checked 2024-02-01");
      g_assert_cmpint (link->warning, ==, g_str_equal (link->ref, "gauge:micro-old"));
      assert_says (link, link->warning ? "Overdue" : "Next check due 2026-03-04");
    }
  g_assert_null (link_of (chain, EF_WHY_GAUGE, 2));
  line = ef_why_line (chain);
  g_assert_nonnull (strstr (line, "micro-old, overdue"));
  g_assert_nonnull (strstr (line, " ← "));
  fixture_clear (&f);
}

/* A mark: its depth, where, and that no gauge is noted; the limit of the rule, since the sheet has none for it. */
static void
test_mark (void)
{
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GPtrArray) chain = NULL;
  g_autofree char *id = NULL;
  const EfWhyLink *link;
  const EfReason *reason;
  const EfVerdict *node;
  Fixture f;

  fixture_init (&f, "hl-24");
  id = fixture_add_mark (&f, fixture_mark (&f, "pressure-drive-gear/flank-drive", EF_MARK_FLAT_SPOT, 0.5, 0.2 * MM, FIXTURE_NO_GAUGE));
  assessment = assess (&f);
  node = ef_verdict_find (assessment->verdict, id);
  g_assert_nonnull (node);
  reason = node->reasons->pdata[0];
  chain = ef_why_chain (assessment, node, reason);
  link = link_of (chain, EF_WHY_LIMIT, 0);
  g_assert_nonnull (link);
  g_assert_true (link->warning == (ef_pump_sheet_limit (f.sheet, "flank-flat", NULL) == NULL));
  g_assert_cmpint (link->warning, ==, strstr (link->text, "default") != NULL);
  link = link_of (chain, EF_WHY_MARK, 0);
  assert_says (link, "0.200 mm deep");
  g_assert_cmpstr (link->ref, ==, id);
  link = link_of (chain, EF_WHY_GAUGE, 0);
  assert_says (link, "isn't said");
  g_assert_true (link->warning);
  g_assert_null (link->ref);
  fixture_clear (&f);
}

static void
test_override (void)
{
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GPtrArray) chain = NULL;
  EfOverride *override;
  Fixture f;

  fixture_init (&f, "hl-24");
  override = ef_item_new (&ef_override_class, "pump");
  override->verdict = g_strdup ("scrap");
  override->reason = g_strdup ("dropped on the floor");
  override->role = g_strdup ("bench 2");
  override->time = g_strdup ("2026-03-04T10:00:00Z");
  fixture_add (&f, override);
  assessment = assess (&f);
  chain = chain_of (assessment, "pump", "override");
  g_assert_nonnull (chain);
  g_assert_cmpuint (chain->len, ==, 2);
  assert_says (link_of (chain, EF_WHY_RULE, 0), "bench 2");
  fixture_clear (&f);
}

static void
check_tree (const EfAssessment *assessment,
            const EfVerdict *node,
            guint *n)
{
  for (guint i = 0; i < node->reasons->len; i++)
    {
      const EfReason *reason = node->reasons->pdata[i];
      g_autoptr (GPtrArray) chain = ef_why_chain (assessment, node, reason);

      (*n)++;
      g_assert_cmpuint (chain->len, >=, 2);
      g_assert_cmpuint (reason->n_own, <=, reason->refs->len);
      /* worst first */
      if (i > 0 && !g_str_equal (((EfReason *) node->reasons->pdata[i - 1])->rule, "override"))
        g_assert_cmpint (((EfReason *) node->reasons->pdata[i - 1])->word, >=, reason->word);
      for (guint k = 0; k < chain->len; k++)
        {
          const EfWhyLink *link = chain->pdata[k];
          const char *id = link->ref != NULL ? strchr (link->ref, ':') + 1 : NULL;

          g_assert_cmpuint (strlen (link->text), >, 0);
          if (link->kind == EF_WHY_MARK)
            g_assert_nonnull (ef_inspection_find (assessment->inspection, EF_ITEM_MARK, id));
          if (link->kind == EF_WHY_READING)
            g_assert_nonnull (ef_inspection_find (assessment->inspection, EF_ITEM_READING, id));
          if (link->kind == EF_WHY_GAUGE && id != NULL)
            g_assert_nonnull (ef_inspection_find (assessment->inspection, EF_ITEM_GAUGE, id));
        }
      if (isfinite (reason->value) && reason->n_own > 0)
        g_assert_nonnull (link_of (chain, EF_WHY_GAUGE, 0));
    }
  for (guint i = 0; i < node->children->len; i++)
    check_tree (assessment, node->children->pdata[i], n);
}

/* Every reason of every demo has a chain whose links lead somewhere, down to a gauge where there's a number. */
static void
test_demos (void)
{
  static const char *const demos[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-3-tg-3.json", "job-4-hl-27.json" };
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);

  g_assert_no_error (error);
  for (guint i = 0; i < G_N_ELEMENTS (demos); i++)
    {
      g_autofree char *path = ef_data_path ("demo", demos[i], NULL);
      g_autoptr (EfInspection) inspection = ef_exchange_load (path, &error);
      g_autoptr (EfAssessment) assessment = NULL;
      guint n = 0;

      g_assert_no_error (error);
      assessment = ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, &error);
      g_assert_no_error (error);
      check_tree (assessment, assessment->verdict, &n);
      g_assert_cmpuint (n, >, 5);
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/assess/why/measured", test_measured);
  g_test_add_func ("/assess/why/mark", test_mark);
  g_test_add_func ("/assess/why/override", test_override);
  g_test_add_func ("/assess/why/demos", test_demos);

  return g_test_run ();
}
