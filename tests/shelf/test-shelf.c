/* Parts worth keeping, what stands in for what, and the match of the demo jobs with the demo shelf.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "assess/ef-assessment.h"
#include "record/ef-exchange.h"
#include "shelf/ef-shelf-keep.h"
#include "shelf/ef-shelf-match.h"

#include <math.h>
#include "../isolate.h"

static EfInspection *
load_demo (const char *name)
{
  g_autofree char *path = ef_data_path ("demo", name, NULL);
  g_autoptr (GError) error = NULL;
  EfInspection *inspection = ef_exchange_load (path, &error);

  g_assert_no_error (error);

  return inspection;
}

static GPtrArray *
load_shelf (void)
{
  g_autofree char *path = ef_data_path ("shelf", "demo.json", NULL);
  g_autoptr (GError) error = NULL;
  GPtrArray *shelf = ef_shelf_load (path, &error);

  g_assert_no_error (error);
  for (guint i = 0; i < shelf->len; i++)
    {
      EfShelfPart *part = shelf->pdata[i];

      g_free (part->part->shelf);
      part->part->shelf = g_strdup_printf ("S-%04u", i + 1);
    }

  return shelf;
}

static EfAssessment *
assess (const EfInspection *inspection)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  EfAssessment *assessment = ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, &error);

  g_assert_no_error (error);

  return assessment;
}

static EfShelfMatch *
match (const EfAssessment *assessment,
       GPtrArray *shelf,
       EfShelfOpen open,
       guint most)
{
  const EfDecisionRule rule = EF_DECISION_DEFAULT;
  g_autoptr (GError) error = NULL;
  EfShelfMatch *found = ef_shelf_match (&assessment->findings, assessment->verdict, shelf, &rule, open, most, NULL, &error);

  g_assert_no_error (error);

  return found;
}

static const EfShelfCheck *
check_of (const EfShelfAssembly *assembly,
          const char *label)
{
  for (guint i = 0; i < assembly->checks->len; i++)
    if (strstr (((EfShelfCheck *) assembly->checks->pdata[i])->label, label) != NULL)
      return assembly->checks->pdata[i];
  g_assert_not_reached ();
}

static const char *
miss_of (const EfShelfMatch *found,
         const char *from_job,
         const char *part_id)
{
  for (guint i = 0; i < found->misses->len; i++)
    {
      const EfShelfMiss *miss = found->misses->pdata[i];

      if (g_strcmp0 (miss->part->part->from_job, from_job) == 0 && g_strcmp0 (miss->part->part->item.id, part_id) == 0)
        return miss->reason;
    }
  return NULL;
}

/* Demo: readings of job 2 and sizes of data/shelf/demo.json, both constructed. */
static void
test_demo_job (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-2-rc-4.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);
  g_autoptr (GPtrArray) shelf = load_shelf ();
  g_autoptr (EfShelfMatch) found = match (assessment, shelf, EF_SHELF_OPEN_UNSOUND, 10);
  const EfShelfAssembly *best;
  const EfShelfChoice *pair;

  g_assert_cmpuint (found->open->len, ==, 1);
  g_assert_cmpstr (found->open->pdata[0], ==, "Gear pair, Pressure section");
  g_assert_cmpuint (found->assemblies->len, ==, 2);
  best = found->assemblies->pdata[0];
  g_assert_cmpint (best->faces, ==, 0);
  /* 28.098 - 28.021 and 28.097 - 28.020; the gauges' 6 and 4 µm halved in quadrature. */
  g_assert_cmpfloat_with_epsilon (check_of (best, "drive gear")->value, 77e-6, 1e-9);
  g_assert_cmpfloat_with_epsilon (check_of (best, "driven gear")->value, 77e-6, 1e-9);
  g_assert_cmpfloat_with_epsilon (check_of (best, "End clearance")->u, hypot (3e-6, 2e-6), 5e-7);
  /* 0.09 read with gears as new, tips 3 µm shorter. */
  g_assert_cmpfloat_with_epsilon (check_of (best, "Tip clearance, Pressure section, drive")->value, 93e-6, 1e-9);
  pair = best->choices->pdata[best->choices->len - 1];
  g_assert_cmpstr (pair->place, ==, "pair:pressure");
  g_assert_cmpuint (pair->parts->len, ==, 2);
  g_assert_cmpstr (((EfShelfPart *) pair->parts->pdata[0])->part->from_job, ==, "J-0391");
  /* The narrow one: 0.138 needs lapping, and that comes second. */
  best = found->assemblies->pdata[1];
  g_assert_cmpint (best->faces, ==, 1);
  g_assert_cmpfloat_with_epsilon (best->stock, 5e-6, 1e-12);

  g_assert_nonnull (strstr (miss_of (found, "J-0352", "drive-gear"), "Backlash, Pressure section would be 0.385 mm ± 0.013 mm, over 0.350 mm"));
  g_assert_nonnull (strstr (miss_of (found, "J-0340", "driven-gear"), "Tip clearance"));
  g_assert_cmpstr (miss_of (found, "J-0402", "drive-gear"), ==, "Reserved for J-0409.");
  g_assert_nonnull (strstr (miss_of (found, "J-0329", "driven-gear"), "no mate"));
  g_assert_null (miss_of (found, "J-0391", "cover")); /* its place isn't open */
}

static void
test_mates_stay_together (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-2-rc-4.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);
  g_autoptr (GPtrArray) shelf = load_shelf ();
  g_autoptr (EfShelfMatch) found = NULL;

  /* The drive gear of the pair that fits goes: its mate must not go with another. */
  g_ptr_array_remove_index (shelf, 0);
  found = match (assessment, shelf, EF_SHELF_OPEN_UNSOUND, 10);
  g_assert_cmpuint (found->assemblies->len, ==, 1);
  g_assert_cmpstr (miss_of (found, "J-0391", "driven-gear"), ==, "Its mate isn't to be had.");
}

/* An end that needs lapping: both mates lose it, and the clearance grows by it. Constructed. */
static void
test_mates_are_lapped_alike (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-2-rc-4.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);
  g_autoptr (GPtrArray) shelf = load_shelf ();
  g_autoptr (EfShelfMatch) found = NULL;
  g_autoptr (EfShelfMatch) none = NULL;
  const EfShelfAssembly *best;
  EfPartFace *face = &g_array_index (((EfShelfPart *) shelf->pdata[0])->part->faces, EfPartFace, 0);

  g_ptr_array_set_size (shelf, 2);
  g_assert_cmpstr (face->face_id, ==, "drive-gear/end-a");
  face->lap = 10e-6;
  found = match (assessment, shelf, EF_SHELF_OPEN_UNSOUND, 10);
  g_assert_cmpuint (found->assemblies->len, ==, 1);
  best = found->assemblies->pdata[0];
  g_assert_cmpint (best->faces, ==, 2);
  g_assert_cmpfloat_with_epsilon (best->stock, 20e-6, 1e-12);
  g_assert_cmpfloat_with_epsilon (check_of (best, "End clearance, Pressure section, drive gear")->value, 87e-6, 1e-9);
  g_assert_cmpfloat_with_epsilon (check_of (best, "End clearance, Pressure section, driven gear")->value, 87e-6, 1e-9);
  g_assert_cmpuint (best->laps->len, ==, 2);

  face->lap = face->room + 5e-6;
  none = match (assessment, shelf, EF_SHELF_OPEN_UNSOUND, 10);
  g_assert_cmpuint (none->assemblies->len, ==, 0);
  g_assert_nonnull (strstr (miss_of (none, "J-0391", "driven-gear"), "only 0.040 mm may come off"));
}

static void
test_all_open (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-2-rc-4.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);
  g_autoptr (GPtrArray) shelf = load_shelf ();
  g_autoptr (EfShelfMatch) few = match (assessment, shelf, EF_SHELF_OPEN_UNSOUND, 1);
  g_autoptr (EfShelfMatch) all = match (assessment, shelf, EF_SHELF_OPEN_ALL, 100);
  const EfShelfAssembly *best = all->assemblies->pdata[0];

  /* More to choose from is never worse. */
  g_assert_cmpint (best->faces, <=, ((EfShelfAssembly *) few->assemblies->pdata[0])->faces);
  g_assert_cmpuint (all->assemblies->len, >, 2);
  for (guint i = 1; i < all->assemblies->len; i++)
    {
      const EfShelfAssembly *a = all->assemblies->pdata[i - 1], *b = all->assemblies->pdata[i];

      g_assert_true (a->faces < b->faces || (a->faces == b->faces && (a->stock < b->stock + 1e-12)));
    }
  g_assert_nonnull (strstr (miss_of (all, "J-0391", "cover"), "Withdrawn"));
}

static void
test_sound_pump_needs_nothing (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-3-tg-3.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);
  g_autoptr (GPtrArray) shelf = load_shelf ();
  g_autoptr (EfShelfMatch) found = match (assessment, shelf, EF_SHELF_OPEN_UNSOUND, 3);

  g_assert_cmpuint (found->open->len, ==, 0);
  g_assert_cmpuint (found->assemblies->len, ==, 0);
  g_assert_nonnull (strstr (found->summary, "nothing is needed"));
}

/* What is kept of job 2: all but the gears, which are condemned together. */
static void
test_keep (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-2-rc-4.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);
  g_autoptr (GPtrArray) kept = ef_shelf_keep (&assessment->findings, assessment->verdict);
  g_autofree char *text = NULL;
  g_autoptr (GPtrArray) again = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_cmpuint (kept->len, ==, 4);
  for (guint i = 0; i < kept->len; i++)
    {
      const EfShelfPart *part = kept->pdata[i];

      g_assert_cmpint (part->kind, !=, EF_PART_GEAR);
      g_assert_cmpstr (part->part->from_job, ==, "J-0418");
      g_assert_cmpuint (part->part->sizes->len, >, 0);
      g_assert_true (part->kind != EF_PART_HOUSING || part->part->marks->len == 6);
      g_free (part->part->shelf);
      part->part->shelf = g_strdup_printf ("S-%u", i);
      g_assert_true (ef_replacement_check (part->part, inspection->sheet, &error));
      g_assert_no_error (error);
    }
  g_assert_cmpfloat_with_epsilon (ef_replacement_size (((EfShelfPart *) kept->pdata[0])->part, "pocket-depth", "drive")->value, 28.098e-3, 1e-12);

  text = ef_shelf_write (kept);
  again = ef_shelf_parse (text, -1, "kept", &error);
  g_assert_no_error (error);
  g_assert_cmpuint (again->len, ==, kept->len);
  for (guint i = 0; i < kept->len; i++)
    g_assert_true (ef_item_equal (((EfShelfPart *) kept->pdata[i])->part, ((EfShelfPart *) again->pdata[i])->part));
}

static void
test_keep_scrapped_housing (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);
  g_autoptr (GPtrArray) kept = ef_shelf_keep (&assessment->findings, assessment->verdict);
  const EfShelfPart *separator = NULL;
  guint pairs = 0;

  for (guint i = 0; i < kept->len; i++)
    {
      const EfShelfPart *part = kept->pdata[i];

      pairs += part->part->pair != NULL;
      if (g_str_equal (part->part->item.id, "separator"))
        separator = part;
    }
  g_assert_cmpuint (pairs, ==, 4);
  g_assert_nonnull (separator);
  g_assert_cmpstr (separator->part->verdict, ==, "rework");
  g_assert_cmpfloat (ef_replacement_face (separator->part, "separator/side-a")->lap, >=, 160e-6);
}

/* A gear past its stock takes its mate along. 0.042 mm ± 0.004 mm deep, of 0.04 mm that may come off: not proved to be scrap, but not to be had either. */
static void
test_keep_mates_together (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GPtrArray) kept = NULL;
  g_autoptr (GError) error = NULL;
  EfMark *mark = ef_mark_new ("pressure-drive-gear/end-a", EF_MARK_SCORING, EF_SHAPE_LINE, 0.4e-3);
  g_autofree char *reason = NULL;
  const EfSection *section = ef_pump_sheet_section (inspection->sheet, "pressure");
  double r = 0.5 * (section->shaft_radius[0] + section->pair.in.root_radius[0]);

  if (!(section->pair.in.root_radius[0] > 0.0))
    r = section->shaft_radius[0] + 2e-3;
  ef_mark_add_node (mark, r, -1e-3);
  ef_mark_add_node (mark, r, 1e-3);
  ef_mark_set_depth (mark, 0.042e-3, EF_UNIT_MM, "dial");
  mark->number = 99;
  g_assert_true (ef_inspection_swap (inspection, NULL, &mark->item, &error));
  g_assert_no_error (error);
  assessment = assess (inspection);
  g_assert_cmpint (ef_shelf_verdict (&assessment->findings, assessment->verdict, ef_pump_sheet_part (inspection->sheet, "pressure-drive-gear")), ==, EF_VERDICT_REWORK);
  g_assert_false (ef_shelf_is_sound (&assessment->findings, assessment->verdict, ef_pump_sheet_part (inspection->sheet, "pressure-drive-gear"), &reason));
  g_assert_nonnull (strstr (reason, "may come off"));
  g_assert_true (ef_shelf_is_sound (&assessment->findings, assessment->verdict, ef_pump_sheet_part (inspection->sheet, "pressure-driven-gear"), NULL));
  kept = ef_shelf_keep (&assessment->findings, assessment->verdict);
  for (guint i = 0; i < kept->len; i++)
    g_assert_cmpstr (((EfShelfPart *) kept->pdata[i])->part->pair, !=, "pressure");
  ef_item_unref (mark);
}

/* The pump put together with the pair from the shelf. */
static void
test_fitted (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-2-rc-4.json");
  g_autoptr (EfAssessment) before = assess (inspection);
  g_autoptr (EfAssessment) after = NULL;
  g_autoptr (GPtrArray) shelf = load_shelf ();
  g_autoptr (EfDocument) document = ef_document_new (ef_inspection_copy (inspection));
  g_autoptr (GPtrArray) pair = g_ptr_array_new ();
  g_autoptr (EfInspection) fitted = NULL;
  g_autoptr (GError) error = NULL;
  const EfDerived *derived;
  EfChange *change;

  g_assert_null (ef_inspection_fitted (inspection, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_ptr_array_add (pair, shelf->pdata[0]);
  g_ptr_array_add (pair, shelf->pdata[1]);
  change = ef_shelf_use_change (inspection, pair);
  g_assert_cmpstr (change->label, ==, "Fit S-0001 and S-0002 from the shelf");
  g_assert_true (ef_document_apply (document, change, &error));
  g_assert_no_error (error);
  fitted = ef_inspection_fitted (ef_document_inspection (document), &error);
  g_assert_no_error (error);
  for (guint i = 0; i < fitted->items[EF_ITEM_MARK]->len; i++)
    g_assert_cmpint (((EfMark *) fitted->items[EF_ITEM_MARK]->pdata[i])->kind, !=, EF_MARK_FLAT_SPOT);

  after = assess (fitted);
  g_assert_cmpint (ef_verdict_find (before->verdict, "pair:pressure")->word, ==, EF_VERDICT_SCRAP);
  g_assert_cmpint (ef_verdict_find (after->verdict, "pair:pressure")->word, ==, EF_VERDICT_USE);
  g_assert_cmpint (after->verdict->word, <, EF_VERDICT_SCRAP);
  derived = ef_derived_find (after->findings.derived, "end-clearance", "pressure", "drive");
  g_assert_cmpfloat_with_epsilon (derived->value, 77e-6, 1e-9);
  derived = ef_derived_find (after->findings.derived, "tip-clearance", "pressure", "driven");
  g_assert_cmpfloat_with_epsilon (derived->value, 102.5e-6, 1e-9); /* 0.1, tips 2.5 µm shorter */
  derived = ef_derived_find (after->findings.derived, "backlash", "pressure", NULL);
  g_assert_cmpfloat_with_epsilon (derived->value, 205e-6, 1e-9);
  g_assert_true (after->flow->state[EF_STATE_FOUND].known);
  g_assert_cmpfloat (after->flow->state[EF_STATE_FOUND].idle.pressure, >, before->flow->state[EF_STATE_FOUND].idle.pressure);

  /* Undone, the pump is what it was. */
  g_assert_true (ef_document_undo (document, &error));
  g_assert_true (ef_inspection_equal (ef_document_inspection (document), inspection));
}

static void
test_bad_files (void)
{
  static const struct
  {
    const char *text, *message;
  } cases[] = {
    { "{}", "format" },
    { "{\"format\": \"endfloat-shelf\", \"version\": 2, \"parts\": []}", "version" },
    { "{\"format\": \"endfloat-shelf\", \"version\": 1, \"parts\": [{\"id\": \"a\", \"kind\": \"gear\"}]}", "$.parts[0].sizes" },
    { "{\"format\": \"endfloat-shelf\", \"version\": 1, \"parts\": [{\"id\": \"a\", \"kind\": \"wheel\", \"sizes\": []}]}", "$.parts[0].kind" },
    { "{\"format\": \"endfloat-shelf\", \"version\": 1, \"parts\": [{\"id\": \"a\", \"kind\": \"gear\", \"sizes\": [{\"quantity\": \"hue\", \"value_mm\": 1}]}]}", "$.parts[0].sizes[0].quantity" },
    { "{\"format\": \"endfloat-shelf\", \"version\": 1, \"parts\": [{\"id\": \"a\", \"kind\": \"gear\", \"sizes\": [], \"zz\": 1}]}", "zz" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_shelf_parse (cases[i].text, -1, "shelf.json", &error));
      g_assert_nonnull (error);
      g_assert_nonnull (strstr (error->message, cases[i].message));
    }
}

static void
test_check_refuses (void)
{
  g_autoptr (EfInspection) inspection = load_demo ("job-2-rc-4.json");
  g_autoptr (GPtrArray) shelf = load_shelf ();
  EfReplacement *part = ef_item_copy (((EfShelfPart *) shelf->pdata[0])->part);
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_replacement_check (part, inspection->sheet, &error));
  g_free (part->item.id);
  part->item.id = g_strdup ("driven-gear"); /* marks and readings lie on the other */
  g_assert_false (ef_replacement_check (part, inspection->sheet, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_free (part->item.id);
  part->item.id = g_strdup ("drive-gear");
  g_free (part->sheet);
  part->sheet = g_strdup ("hl-24");
  g_assert_false (ef_replacement_check (part, inspection->sheet, &error));
  g_clear_error (&error);
  ef_item_unref (part);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/shelf/demo-job", test_demo_job);
  g_test_add_func ("/shelf/mates-stay-together", test_mates_stay_together);
  g_test_add_func ("/shelf/mates-are-lapped-alike", test_mates_are_lapped_alike);
  g_test_add_func ("/shelf/keep-mates-together", test_keep_mates_together);
  g_test_add_func ("/shelf/all-open", test_all_open);
  g_test_add_func ("/shelf/sound-pump", test_sound_pump_needs_nothing);
  g_test_add_func ("/shelf/keep", test_keep);
  g_test_add_func ("/shelf/keep-rework", test_keep_scrapped_housing);
  g_test_add_func ("/shelf/fitted", test_fitted);
  g_test_add_func ("/shelf/bad-files", test_bad_files);
  g_test_add_func ("/shelf/check-refuses", test_check_refuses);

  return g_test_run ();
}
