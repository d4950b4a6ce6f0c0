/* After the rework: what was recorded and measured changes the after state alone, and is held against what was expected.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "after-work.h"

#include <string.h>

#include "../isolate.h"

#define FACE "separator/side-a"
#define MATING "pressure-housing/mating"

static double
planned (const EfAssessment *assessment,
         const char *face)
{
  for (guint i = 0; i < assessment->steps->len; i++)
    {
      const EfStep *step = assessment->steps->pdata[i];

      if (g_strcmp0 (step->face_id, face) == 0 && !isnan (step->stock))
        return step->stock;
    }

  return NAN;
}

static const EfAfterRow *
row (const EfAssessment *assessment,
     const char *quantity,
     const char *target,
     const char *place)
{
  for (guint i = 0; i < assessment->after->rows->len; i++)
    {
      const EfAfterRow *one = assessment->after->rows->pdata[i];

      if (g_str_equal (one->quantity, quantity) && g_strcmp0 (one->target, target) == 0 && g_strcmp0 (one->place, place) == 0)
        return one;
    }

  return NULL;
}

static double
clearance (const EfAssessment *assessment)
{
  return ef_assessment_figure (assessment, "end-clearance", "pressure", NULL)->reworked;
}

/* Nothing recorded: nothing said, and the after state is the plan's. */
static void
test_nothing (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = after_assess (inspection);
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_after_recorded (inspection));
  g_assert_null (assessment->after);
  g_assert_null (ef_after_inspection (inspection, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
}

/* Done as planned and measured where expected: as found stays as it was, nothing is outside, what was lapped off is gone. */
static void
test_as_planned (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) before = after_assess (inspection);
  g_autoptr (EfAssessment) after = NULL;
  g_autoptr (GPtrArray) marks = NULL;
  double plate = planned (before, FACE), mating = planned (before, MATING);
  const EfFigure *found = ef_assessment_figure (before, "idle-pressure", NULL, NULL);
  const EfFigure *now;

  after_work (inspection, FACE, plate, "dial", 26, 15);
  after_work (inspection, MATING, mating, "depth", 11, 12);
  /* Found: 25.161 (mean of 25.160 and 25.162) and 25.158 mm, in the demo job. */
  after_read (inspection, EF_READ_POCKET_DEPTH, "pressure", "drive", 25.161 * MM - mating, "depth");
  after_read (inspection, EF_READ_POCKET_DEPTH, "pressure", "driven", 25.158 * MM - mating + 2e-6, "depth");
  after = after_assess (inspection);
  /* The floor's grooves still ask for their edges to be dressed, the split pin to be replaced. */
  g_assert_cmpint (after->after->verdict->word, ==, EF_VERDICT_REWORK);
  after_put (inspection, ef_item_new (&ef_tick_class, "dress-pressure-housing-floor"));
  after_put (inspection, ef_item_new (&ef_tick_class, "replace-split-pin"));
  g_clear_pointer (&after, ef_assessment_unref);
  after = after_assess (inspection);

  g_assert_nonnull (after->after);
  g_assert_cmpuint (after->after->n_outside, ==, 0);
  g_assert_cmpuint (after->after->rows->len, ==, 6); /* two removals, two pocket depths, two end clearances */
  g_assert_nonnull (row (after, "removal", FACE, NULL));
  g_assert_nonnull (row (after, "pocket-depth", "pressure", "driven"));
  g_assert_cmpfloat_with_epsilon (row (after, "end-clearance", "pressure", "drive")->measured, 25.161 * MM - mating - 24.99 * MM, 1e-9);
  /* Found readings say what they said. */
  g_assert_cmpstr (ef_verdict_name (after->verdict->word), ==, ef_verdict_name (before->verdict->word));
  g_assert_cmpuint (after->findings.derived->len, ==, before->findings.derived->len);
  now = ef_assessment_figure (after, "idle-pressure", NULL, NULL);
  g_assert_cmpfloat (now->found, ==, found->found);
  g_assert_cmpfloat (fabs (now->reworked / found->reworked - 1), <, 0.02);
  g_assert_cmpfloat_with_epsilon (clearance (after), clearance (before), 3e-6);
  /* The plate's grooves are gone, and the verdict knows. */
  marks = ef_inspection_face_marks (after->after->inspection, FACE);
  g_assert_cmpuint (marks->len, <=, 1); /* an imprint without a depth may stay */
  g_assert_cmpint (ef_verdict_find (after->after->verdict, "part:separator")->word, <, ef_verdict_find (after->verdict, "part:separator")->word);
  g_assert_cmpint (after->after->verdict->word, <, EF_VERDICT_REWORK);
}

/* Less came off than planned, and one reading is far from what was expected. */
static void
test_flags (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) before = after_assess (inspection);
  g_autoptr (EfAssessment) after = NULL;
  double mating = planned (before, MATING);
  const EfAfterRow *drive, *driven;

  after_work (inspection, FACE, 0.100 * MM, "dial", 15, 8);
  after_read (inspection, EF_READ_POCKET_DEPTH, "pressure", "drive", 25.161 * MM - mating, "depth");
  after_read (inspection, EF_READ_POCKET_DEPTH, "pressure", "driven", 25.158 * MM - mating + 0.040 * MM, "depth");
  after = after_assess (inspection);

  drive = row (after, "end-clearance", "pressure", "drive");
  driven = row (after, "end-clearance", "pressure", "driven");
  g_assert_false (drive->outside);
  g_assert_true (driven->outside);
  g_assert_cmpfloat (driven->en, >, 1.0);
  g_assert_nonnull (strstr (driven->sentence, "outside"));
  g_assert_true (row (after, "removal", FACE, NULL)->outside);
  g_assert_cmpfloat (row (after, "removal", FACE, NULL)->en, <, -1.0);
  g_assert_cmpuint (after->after->n_outside, >=, 3);
  /* Measured, not planned. */
  g_assert_cmpfloat_with_epsilon (clearance (after), 25.158 * MM - mating + 0.040 * MM - 24.994 * MM, 1e-9);
  /* A groove deeper than what came off is shallower by it, not gone: 0.16 mm in the demo job. */
  g_assert_cmpfloat_with_epsilon (ef_assessment_figure (after, "deepest-wear", NULL, FACE)->reworked, 0.060 * MM, 1e-9);
  g_assert_cmpint (ef_verdict_find (after->after->verdict, "part:separator")->word, >=, EF_VERDICT_MEASURE);
}

/* Found readings are carried by what came off: pocket depth by the mating face, face width by both ends. */
static void
test_carried (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfInspection) after = NULL;
  g_autoptr (GError) error = NULL;
  gboolean flat = FALSE;

  after_work (inspection, MATING, 0.050 * MM, "depth", 8, 2);
  after_work (inspection, MATING, 0.010 * MM, "depth", 1, 4);
  after_work (inspection, "pressure-drive-gear/end-a", 0.004 * MM, "mic", 0, 4);
  after_work (inspection, "pressure-drive-gear/end-b", 0.003 * MM, "mic", 0, 3);
  g_assert_cmpfloat_with_epsilon (ef_after_removed (inspection, MATING, NULL), 0.060 * MM, 1e-12);
  g_assert_true (isnan (ef_after_removed (inspection, FACE, NULL)));
  after = ef_after_inspection (inspection, NULL, &error);
  g_assert_no_error (error);
  for (guint i = 0; i < after->items[EF_ITEM_READING]->len; i++)
    {
      const EfReading *reading = after->items[EF_ITEM_READING]->pdata[i];
      const EfReading *found = ef_inspection_find (inspection, EF_ITEM_READING, reading->item.id);
      double moved = found->value - reading->value;

      flat = flat || (reading->quantity == EF_READ_FLATNESS && g_str_equal (reading->target, MATING));
      if (reading->quantity == EF_READ_POCKET_DEPTH && g_str_equal (reading->target, "pressure"))
        g_assert_cmpfloat_with_epsilon (moved, 0.060 * MM, 1e-12);
      else if (reading->quantity == EF_READ_FACE_WIDTH && g_str_equal (reading->target, "pressure-drive-gear"))
        g_assert_cmpfloat_with_epsilon (moved, 0.007 * MM, 1e-12);
      else
        g_assert_cmpfloat (moved, ==, 0.0);
    }
  /* Flatness of a face that was lapped since says nothing any more. */
  g_assert_false (flat);
}

/* What counts against a limit doesn't change with a reading that was taken afterwards. */
static void
test_found_is_found (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-3-tg-3.json");
  g_autoptr (EfAssessment) before = after_assess (inspection);
  g_autoptr (EfAssessment) after = NULL;
  const EfSection *section = inspection->sheet->sections->pdata[0];

  after_read (inspection, EF_READ_END_CLEARANCE, section->id, "drive", 0.9 * MM, NULL);
  after = after_assess (inspection);
  g_assert_cmpint (after->verdict->word, ==, before->verdict->word);
  g_assert_cmpint (after->after->verdict->word, >, before->verdict->word);
  /* No gauge: can't be judged, and says so. */
  g_assert_true (isnan (row (after, "end-clearance", section->id, "drive")->en));
  g_assert_false (row (after, "end-clearance", section->id, "drive")->outside);
  g_assert_nonnull (strstr (row (after, "end-clearance", section->id, "drive")->sentence, "gauge"));
}

/* En by hand: constructed. (0.085 - 0.060) / (2 sqrt (0.003^2 + 0.004^2)) = 2.5. */
static void
test_en (void)
{
  g_assert_cmpfloat_with_epsilon (ef_after_en (0.085, 0.003, 0.060, 0.004), 2.5, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_after_en (0.055, 0.003, 0.060, 0.004), -0.5, 1e-12);
  g_assert_true (isnan (ef_after_en (0.055, NAN, 0.060, 0.004)));
}

/* A part that was replaced takes its marks and readings along. */
static void
test_replaced (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-2-rc-4.json");
  g_autoptr (EfInspection) after = NULL;
  g_autoptr (GError) error = NULL;
  const EfSection *section = inspection->sheet->sections->pdata[0];
  g_autofree char *tick = g_strdup_printf ("replace-%s", section->gear_part[1]);
  EfReading *reading = ef_reading_new (EF_READ_FACE_WIDTH, section->gear_part[1], NULL, section->pair.in.face_width, EF_UNIT_MM, NULL);

  reading->after = TRUE;
  after_put (inspection, reading);
  after_put (inspection, ef_item_new (&ef_tick_class, tick));
  g_assert_true (ef_after_replaced (inspection, section->gear_part[1]));
  after = ef_after_inspection (inspection, NULL, &error);
  g_assert_no_error (error);
  for (guint i = 0; i < after->items[EF_ITEM_MARK]->len; i++)
    g_assert_false (g_str_has_prefix (((EfMark *) after->items[EF_ITEM_MARK]->pdata[i])->face_id, section->gear_part[1]));
  g_assert_cmpuint (after->items[EF_ITEM_MARK]->len, <, inspection->items[EF_ITEM_MARK]->len);
  for (guint i = 0; i < after->items[EF_ITEM_READING]->len; i++)
    if (((EfReading *) after->items[EF_ITEM_READING]->pdata[i])->quantity == EF_READ_BACKLASH)
      g_error ("backlash of a pair that isn't there any more still counts");
}

/* Passes in the cost: all of them the plan's while nothing is recorded; on a face that something is recorded of only that counts, whatever was planned for it. */
static void
test_passes_in_the_cost (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) before = NULL;
  g_autoptr (EfAssessment) after = NULL;
  const EfLapOption *option;
  const char *face = NULL;
  double all = 0.0, of_face = 0.0;

  while (inspection->items[EF_ITEM_WORK]->len > 0)
    g_assert_true (ef_inspection_swap (inspection, inspection->items[EF_ITEM_WORK]->pdata[0], NULL, NULL));
  before = after_assess (inspection);
  option = before->plan->chosen;
  g_assert_nonnull (option);
  g_assert_true (option->passes->feasible);
  for (guint i = 0; i < option->passes->n_faces; i++)
    {
      double sum = 0.0;

      for (guint k = 0; k < option->grits[i].n; k++)
        sum += option->passes->counts[i][k];
      all += sum;
      if (sum > 0.0)
        {
          face = ef_lap_problem_face (option->problem, i)->id;
          of_face = sum;
        }
    }
  g_assert_cmpfloat (of_face, >, 0.0);
  g_assert_cmpfloat (before->cost->passes_planned, ==, all);
  g_assert_cmpfloat (before->cost->line[EF_COST_PASS].count, ==, all);

  after_work (inspection, face, NAN, NULL, 3, 2);
  after = after_assess (inspection);
  g_assert_cmpfloat (after->cost->passes_planned, ==, all - of_face);
  g_assert_cmpfloat (after->cost->line[EF_COST_PASS].count, ==, all - of_face + 5);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/after/nothing", test_nothing);
  g_test_add_func ("/after/as-planned", test_as_planned);
  g_test_add_func ("/after/flags", test_flags);
  g_test_add_func ("/after/carried", test_carried);
  g_test_add_func ("/after/found-is-found", test_found_is_found);
  g_test_add_func ("/after/en", test_en);
  g_test_add_func ("/after/replaced", test_replaced);
  g_test_add_func ("/after/passes-in-the-cost", test_passes_in_the_cost);

  return g_test_run ();
}
