/* The step sheet: only what this pump needs, in an order that can be worked, with numbers that follow from the wear.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../judge/judge-fixture.h"

#include "rework/ef-steps.h"
#include "../isolate.h"

static GPtrArray *
plan (Fixture *f)
{
  g_autoptr (GError) error = NULL;
  GPtrArray *steps = ef_steps_plan (&f->findings, fixture_judge (f), &error);

  g_assert_no_error (error);
  g_assert_nonnull (steps);

  return steps;
}

static int
place_of (GPtrArray *steps,
          const char *id)
{
  for (guint i = 0; i < steps->len; i++)
    if (g_str_equal (((EfStep *) steps->pdata[i])->id, id))
      return (int) i;

  return -1;
}

static const EfStep *
step (GPtrArray *steps,
      const char *id)
{
  int i = place_of (steps, id);

  if (i < 0)
    g_error ("step %s is missing", id);

  return steps->pdata[i];
}

static void
assert_before (GPtrArray *steps,
               const char *first,
               const char *second)
{
  step (steps, first);
  step (steps, second);
  if (place_of (steps, first) >= place_of (steps, second))
    g_error ("%s should come before %s", first, second);
}

static void
assert_order (GPtrArray *steps)
{
  for (guint i = 0; i < steps->len; i++)
    {
      const EfStep *one = steps->pdata[i];

      g_assert_cmpint (place_of (steps, one->id), ==, (int) i);
      g_assert_cmpuint (strlen (one->text), >, 10);
      for (guint k = 0; k < one->after->len; k++)
        g_assert_cmpint (place_of (steps, one->after->pdata[k]), <, (int) i);
    }
}

/* What the pressure section's readings say, in place of the sound ones. */
static void
set_clearance (Fixture *f,
               const char *section,
               double drive,
               double driven)
{
  GPtrArray *readings = f->inspection->items[EF_ITEM_READING];

  for (guint i = readings->len; i-- > 0;)
    {
      EfReading *reading = readings->pdata[i];

      if (reading->quantity == EF_READ_END_CLEARANCE && g_str_equal (reading->target, section))
        g_assert_true (ef_inspection_swap (f->inspection, (EfItem *) reading, NULL, NULL));
    }
  fixture_read (f, EF_READ_END_CLEARANCE, section, "drive", drive, NULL);
  fixture_read (f, EF_READ_END_CLEARANCE, section, "driven", driven, NULL);
}

/* In whole passes: no less than @least, and not much more (mm). */
static void
assert_stock (GPtrArray *steps,
              const char *id,
              double least)
{
  double stock = step (steps, id)->stock;

  g_assert_cmpfloat (stock, >=, least * MM - 1e-9);
  g_assert_cmpfloat (stock, <=, least * MM + 4e-6);
}

static void
assert_clearance (const Fixture *f,
                  GPtrArray *steps,
                  const char *section,
                  const char *place,
                  double least,
                  double most)
{
  double after = ef_steps_clearance_after (&f->findings, steps, ef_pump_sheet_section (f->sheet, section), place);

  g_assert_cmpfloat (after, >=, least * MM - 1e-9);
  g_assert_cmpfloat (after, <=, most * MM + 1e-9);
}

static void
test_used_again (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  steps = plan (&f);
  assert_order (steps);
  assert_before (steps, "wash", "gears-in");
  assert_before (steps, "measure-end-clearance-pressure", "gears-in");
  assert_before (steps, "gears-in", "close");
  g_assert_cmpint (place_of (steps, "drain"), <, 0);
  g_assert_cmpint (place_of (steps, "studs-out"), <, 0);
  g_assert_cmpint (place_of (steps, "deburr"), <, 0);
  for (guint i = 0; i < steps->len; i++)
    g_assert_cmpstr (((EfStep *) steps->pdata[i])->phase, !=, "rework");
  fixture_clear (&f);
}

/* Pressure section 0.170 / 0.160 mm, limit 0.13, as new 0.05 … 0.09: 0.08 mm off the mating face gives 0.09 / 0.08, in whole passes a little less.
 * Groove 0.15 mm on the plate: 0.15 mm off it, which leaves the clearance as it is. */
static void
test_lapping (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  set_clearance (&f, "pressure", 0.17 * MM, 0.16 * MM);
  g_free (fixture_add_mark (&f, fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, 0.15 * MM, NULL)));
  steps = plan (&f);
  assert_order (steps);
  assert_stock (steps, "lap-pressure-housing-mating", 0.08);
  assert_stock (steps, "lap-separator-side-a", 0.15);
  assert_clearance (&f, steps, "pressure", "drive", 0.085, 0.09);
  assert_clearance (&f, steps, "pressure", "driven", 0.075, 0.08);
  assert_clearance (&f, steps, "scavenge", "drive", 0.08, 0.08);
  g_assert_nonnull (strstr (step (steps, "lap-pressure-housing-mating")->text, "11 on P400, then 4 on P800, then 5 on P1200"));
  g_assert_nonnull (strstr (step (steps, "lap-pressure-housing-mating")->checks->pdata[0], "after P400"));
  assert_before (steps, "pins-out", "nuts-off");
  assert_before (steps, "nuts-off", "mark-gears");
  assert_before (steps, "mark-gears", "gears-out");
  assert_before (steps, "studs-out", "lap-pressure-housing-mating");
  assert_before (steps, "lap-pressure-housing-mating", "deburr");
  assert_before (steps, "deburr", "clean");
  assert_before (steps, "clean", "measure-end-clearance-pressure");
  assert_before (steps, "measure-flatness-separator-side-a", "studs-in");
  assert_before (steps, "studs-in", "close");
  assert_before (steps, "leave-pickup", "close");
  g_assert_cmpint (place_of (steps, "reset-pickup"), <, 0);
  g_assert_nonnull (strstr (step (steps, "close")->text, "without gasket"));
  g_assert_nonnull (strstr (step (steps, "measure-end-clearance-pressure")->checks->pdata[0], "0.089 mm expected"));
  fixture_clear (&f);
}

/* 0.200 and 0.075 mm lie too far apart for the window as new, 0.05 to 0.09, with 0.04 mm to come off each of a gear's ends: what's left is the limits for use, 0.04 to 0.13,
 * and it's said. */
static void
test_lapping_not_too_far (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  set_clearance (&f, "pressure", 0.2 * MM, 0.075 * MM);
  steps = plan (&f);
  assert_order (steps);
  assert_clearance (&f, steps, "pressure", "drive", 0.04, 0.13);
  assert_clearance (&f, steps, "pressure", "driven", 0.04, 0.13);
  g_assert_nonnull (strstr (step (steps, "lap-less")->text, "too deep"));
  fixture_clear (&f);
}

/* A plate alone: nothing comes off the housing, so its studs stay. */
static void
test_plate_only (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  g_free (fixture_add_mark (&f, fixture_mark (&f, "separator/side-b", EF_MARK_STEP, 0.1, 0.043 * MM, NULL)));
  steps = plan (&f);
  assert_stock (steps, "lap-separator-side-b", 0.043);
  g_assert_cmpint (place_of (steps, "studs-out"), <, 0);
  g_assert_cmpint (place_of (steps, "lap-pressure-housing-mating"), <, 0);
  fixture_clear (&f);
}

/* A gear's end, 0.033 mm off it, and its mate to within the 0.01 mm by which they may differ: the clearance of 0.08 mm grows past the 0.09 as new, so
 * that the mating face is lapped as well. */
static void
test_gear_ends (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  g_free (fixture_add_mark (&f, fixture_mark (&f, "pressure-drive-gear/end-a", EF_MARK_SCORING, 0.1, 0.033 * MM, NULL)));
  steps = plan (&f);
  assert_stock (steps, "lap-pressure-drive-gear-end-a", 0.033);
  g_assert_true (place_of (steps, "lap-pressure-driven-gear-end-a") >= 0 || place_of (steps, "lap-pressure-driven-gear-end-b") >= 0);
  step (steps, "lap-pressure-housing-mating");
  assert_clearance (&f, steps, "pressure", "drive", 0.05, 0.09);
  assert_clearance (&f, steps, "pressure", "driven", 0.05, 0.09);
  g_assert_cmpfloat (fabs (ef_steps_clearance_after (&f.findings, steps, ef_pump_sheet_section (f.sheet, "pressure"), "drive") -
                           ef_steps_clearance_after (&f.findings, steps, ef_pump_sheet_section (f.sheet, "pressure"), "driven")), <=, 0.01 * MM + 1e-9);
  fixture_clear (&f);
}

static void
test_pickup (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-27");
  fixture_check (&f, "pickup", EF_CHECK_LOOSE);
  steps = plan (&f);
  assert_before (steps, "mark-pickup", "reset-pickup");
  g_assert_nonnull (strstr (step (steps, "reset-pickup")->checks->pdata[0], "points as the mark says"));
  g_assert_cmpint (place_of (steps, "leave-pickup"), <, 0);
  step (steps, "clock-pickup");
  fixture_clear (&f);
}

static void
test_scrapped_pair (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  set_clearance (&f, "pressure", 0.17 * MM, 0.16 * MM);
  g_free (fixture_add_mark (&f, fixture_mark (&f, "pressure-driven-gear/flank-coast", EF_MARK_FLAT_SPOT, 0.5, 0.05 * MM, NULL)));
  steps = plan (&f);
  assert_order (steps);
  g_assert_nonnull (strstr (step (steps, "set-aside")->text, "Pressure drive gear; Pressure driven gear. Keep"));
  g_assert_nonnull (strstr (step (steps, "set-aside")->text, "Separator plate"));
  step (steps, "replace-pressure-drive-gear");
  step (steps, "replace-pressure-driven-gear");
  /* What comes off the housing depends on the new gears' widths. */
  g_assert_cmpint (place_of (steps, "lap-pressure-housing-mating"), <, 0);
  g_assert_true (isnan (ef_steps_clearance_after (&f.findings, steps, ef_pump_sheet_section (f.sheet, "pressure"), "drive")));
  step (steps, "close");
  fixture_clear (&f);
}

static void
test_scrapped_housing (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  g_free (fixture_add_mark (&f, fixture_mark (&f, "pressure-housing/wall-drive", EF_MARK_SCORING, 0.5, 0.2 * MM, NULL)));
  g_free (fixture_add_mark (&f, fixture_mark (&f, "separator/side-b", EF_MARK_STEP, 0.1, 0.043 * MM, NULL)));
  steps = plan (&f);
  assert_order (steps);
  g_assert_nonnull (strstr (step (steps, "set-aside")->text, "mark so: Pressure housing. Keep"));
  step (steps, "store");
  g_assert_cmpint (place_of (steps, "close"), <, 0);
  g_assert_cmpint (place_of (steps, "lap-separator-side-b"), <, 0);
  fixture_clear (&f);
}

static void
test_measure_again (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  g_free (fixture_add_mark (&f, fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, NAN, NULL)));
  steps = plan (&f);
  assert_order (steps);
  assert_before (steps, "wash", "decide");
  g_assert_nonnull (strstr (step (steps, "measure-again-plate-groove-separator-side-a")->text, "Measure it with"));
  g_assert_cmpint (place_of (steps, "close"), <, 0);
  fixture_clear (&f);
}

static void
test_overruled (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  EfOverride *item;
  g_autofree char *mark = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  mark = fixture_add_mark (&f, fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, 0.05 * MM, NULL));
  item = ef_item_new (&ef_override_class, mark);
  item->verdict = g_strdup ("use-again");
  item->reason = g_strdup ("runs under no seal");
  fixture_add (&f, item);
  steps = plan (&f);
  g_assert_cmpint (place_of (steps, "lap-separator-side-a"), <, 0);
  fixture_clear (&f);
}

static void
test_decided (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  EfOverride *item;
  Fixture f;

  fixture_init (&f, "hl-24");
  item = ef_item_new (&ef_override_class, "part:separator");
  item->verdict = g_strdup ("rework");
  item->reason = g_strdup ("dress the port edges");
  fixture_add (&f, item);
  steps = plan (&f);
  assert_order (steps);
  g_assert_nonnull (strstr (step (steps, "as-decided-part-separator")->text, "dress the port edges"));
  assert_before (steps, "as-decided-part-separator", "clean");
  fixture_clear (&f);
}

/* Both launch pumps to be lapped; only one is of magnesium. */
static void
test_magnesium (void)
{
  static const char *const pumps[2] = { "hl-24", "hl-27" };

  for (guint i = 0; i < 2; i++)
    {
      g_autoptr (GPtrArray) steps = NULL;
      g_autoptr (GPtrArray) cautions = NULL;
      const EfStep *lap;
      gboolean in_step = FALSE;
      gboolean in_all = FALSE;
      Fixture f;

      fixture_init (&f, pumps[i]);
      set_clearance (&f, "pressure", 0.17 * MM, 0.16 * MM);
      steps = plan (&f);
      lap = step (steps, "lap-pressure-housing-mating");
      for (guint k = 0; k < lap->cautions->len; k++)
        in_step = in_step || strstr (lap->cautions->pdata[k], "class D extinguisher") != NULL;
      cautions = ef_steps_cautions (f.sheet, steps);
      for (guint k = 0; k < cautions->len; k++)
        {
          in_all = in_all || strstr (cautions->pdata[k], "class D extinguisher") != NULL;
          for (guint n = 0; n < k; n++)
            g_assert_cmpstr (cautions->pdata[k], !=, cautions->pdata[n]);
        }
      g_assert_cmpint (in_step, ==, i == 1);
      g_assert_cmpint (in_all, ==, i == 1);
      fixture_clear (&f);
    }
}

static guint
n_with (const GPtrArray *texts,
        const char *words)
{
  guint n = 0;

  for (guint i = 0; i < texts->len; i++)
    n += strstr (texts->pdata[i], words) != NULL;

  return n;
}

/* Sheet and program both know of solvent and magnesium: said once, in the sheet's words, in every step and on the sheet. */
static void
test_said_once (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  g_autoptr (GPtrArray) cautions = NULL;
  guint solvent = 0;
  Fixture f;

  fixture_init (&f, "hl-27");
  set_clearance (&f, "pressure", 0.17 * MM, 0.16 * MM);
  steps = plan (&f);
  cautions = ef_steps_cautions (f.sheet, steps);
  g_assert_cmpuint (n_with (cautions, "Solvent vapour"), ==, 1);
  g_assert_cmpuint (n_with (cautions, "burn fiercely"), ==, 1);
  for (guint i = 0; i < steps->len; i++)
    {
      const EfStep *one = steps->pdata[i];

      solvent += n_with (one->cautions, "Solvent vapour");
      g_assert_cmpuint (n_with (one->cautions, "Solvent vapour"), <=, 1);
      g_assert_cmpuint (n_with (one->cautions, "burn fiercely"), <=, 1);
      for (guint k = 0; k < one->cautions->len; k++)
        g_assert_true (g_ptr_array_find_with_equal_func (cautions, one->cautions->pdata[k], g_str_equal, NULL));
    }
  g_assert_cmpuint (solvent, >=, 1);
  /* What the sheet doesn't speak of keeps the program's words. */
  g_assert_cmpuint (n_with (cautions, "Abrasive left in the pump"), ==, 1);
  fixture_clear (&f);
}

static EfStep *
bare_step (const char *id,
           const char *after)
{
  EfStep *self = g_new0 (EfStep, 1);

  self->id = g_strdup (id);
  self->tools = g_ptr_array_new_with_free_func (g_free);
  self->cautions = g_ptr_array_new_with_free_func (g_free);
  self->checks = g_ptr_array_new_with_free_func (g_free);
  self->after = g_ptr_array_new_with_free_func (g_free);
  if (after != NULL)
    g_ptr_array_add (self->after, g_strdup (after));

  return self;
}

static void
test_order_is_stable (void)
{
  g_autoptr (GPtrArray) steps = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_step_free);
  g_autoptr (GError) error = NULL;

  g_ptr_array_add (steps, bare_step ("c", "b"));
  g_ptr_array_add (steps, bare_step ("a", NULL));
  g_ptr_array_add (steps, bare_step ("x", "not there"));
  g_ptr_array_add (steps, bare_step ("b", "a"));
  g_assert_true (ef_steps_order (steps, &error));
  g_assert_cmpint (place_of (steps, "a"), ==, 0);
  g_assert_cmpint (place_of (steps, "x"), ==, 1);
  g_assert_cmpint (place_of (steps, "b"), ==, 2);
  g_assert_cmpint (place_of (steps, "c"), ==, 3);
}

static void
test_circle (void)
{
  g_autoptr (GPtrArray) steps = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_step_free);
  g_autoptr (GError) error = NULL;

  g_ptr_array_add (steps, bare_step ("a", "b"));
  g_ptr_array_add (steps, bare_step ("b", "a"));
  g_assert_false (ef_steps_order (steps, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

/* Grooves in a pocket floor aren't lapped out: it's said how deep they stay. */
static void
test_floor_grooves_stay (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  g_free (fixture_add_mark (&f, fixture_mark (&f, "pressure-housing/floor", EF_MARK_GROOVE, 0.1, 0.07 * MM, NULL)));
  g_free (fixture_add_mark (&f, fixture_mark (&f, "pressure-housing/floor", EF_MARK_GROOVE, 0.1, 0.09 * MM, NULL)));
  steps = plan (&f);
  assert_order (steps);
  g_assert_nonnull (strstr (step (steps, "dress-pressure-housing-floor")->text, "stay, up to 0.09 mm"));
  fixture_clear (&f);
}

/* Window 0.05 to 0.09 mm, wear limit 0.13 mm, 0.15 mm may come off the mating face: 0.30 mm can't be brought back, and nothing is lapped in vain. */
static void
test_clearance_not_met (void)
{
  static const struct
  {
    double drive, driven; /* mm */
    gboolean met;
  } rows[] = {
    { 0.20, 0.18, TRUE },
    { 0.20, 0.10, TRUE }, /* the driven gear gets narrower */
    { 0.14, 0.09, TRUE },
    { 0.30, 0.30, FALSE },
  };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      g_autoptr (GPtrArray) steps = NULL;
      Fixture f;

      fixture_init (&f, "hl-24");
      set_clearance (&f, "pressure", rows[i].drive * MM, rows[i].driven * MM);
      steps = plan (&f);
      assert_order (steps);
      g_assert_cmpint (place_of (steps, "lap-not-possible") >= 0, ==, !rows[i].met);
      g_assert_cmpint (place_of (steps, "clearance-not-met-pressure-drive") >= 0, ==, !rows[i].met);
      if (rows[i].met)
        {
          assert_clearance (&f, steps, "pressure", "drive", 0.05, 0.09);
          assert_clearance (&f, steps, "pressure", "driven", 0.05, 0.09);
        }
      else
        {
          const char *text = step (steps, "lap-not-possible")->text;

          /* 0.30 - 0.13 to come off */
          g_assert_nonnull (strstr (text, "mating face needs 0.17 mm"));
          g_assert_nonnull (strstr (text, "its stock is 0.15 mm"));
          g_assert_nonnull (strstr (text, "the pocket would end 0.02 mm too deep"));
          g_assert_cmpint (place_of (steps, "lap-pressure-housing-mating"), <, 0);
        }
      fixture_clear (&f);
    }
}

static void
test_tight_backlash (void)
{
  g_autoptr (GPtrArray) steps = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_read (&f, EF_READ_BACKLASH, "pressure", NULL, 0.03 * MM, NULL);
  steps = plan (&f);
  assert_order (steps);
  g_assert_nonnull (strstr (step (steps, "find-worn-pressure-backlash")->text, "burrs"));
  fixture_clear (&f);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/rework/steps/used-again", test_used_again);
  g_test_add_func ("/rework/steps/lapping", test_lapping);
  g_test_add_func ("/rework/steps/lapping-not-too-far", test_lapping_not_too_far);
  g_test_add_func ("/rework/steps/plate-only", test_plate_only);
  g_test_add_func ("/rework/steps/gear-ends", test_gear_ends);
  g_test_add_func ("/rework/steps/loose-pickup", test_pickup);
  g_test_add_func ("/rework/steps/scrapped-pair", test_scrapped_pair);
  g_test_add_func ("/rework/steps/scrapped-housing", test_scrapped_housing);
  g_test_add_func ("/rework/steps/measure-again", test_measure_again);
  g_test_add_func ("/rework/steps/overruled", test_overruled);
  g_test_add_func ("/rework/steps/decided-by-hand", test_decided);
  g_test_add_func ("/rework/steps/magnesium", test_magnesium);
  g_test_add_func ("/rework/steps/said-once", test_said_once);
  g_test_add_func ("/rework/steps/floor-grooves-stay", test_floor_grooves_stay);
  g_test_add_func ("/rework/steps/clearance-not-met", test_clearance_not_met);
  g_test_add_func ("/rework/steps/tight-backlash", test_tight_backlash);
  g_test_add_func ("/rework/order/stable", test_order_is_stable);
  g_test_add_func ("/rework/order/circle", test_circle);

  return g_test_run ();
}
