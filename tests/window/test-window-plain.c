/* What the window computes for itself, without a display: the bench plan, what is missing, places in JSON texts.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-bench-plan.h"
#include "ef-json-place.h"
#include "ef-new-job-dialog.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

static void
assert_place (const char *text,
              const char *path,
              const char *expected)
{
  g_autofree char *found = NULL;
  gsize start, end;

  g_assert_true (ef_json_place (text, path, &start, &end));
  found = g_strndup (text + start, end - start);
  g_assert_cmpstr (found, ==, expected);
}

static void
test_json_place (void)
{
  const char *text = "{ \"id\": \"x\", \"a\": [1, { \"b,}\": \"q\\\"]\", \"c\": -2.5e3 }, []],\n \"d\": {\"e\": true} }";
  gsize start, end;

  assert_place (text, "$.id", "\"x\"");
  assert_place (text, "$.a[0]", "1");
  assert_place (text, "$.a[1].c", "-2.5e3");
  assert_place (text, "$.a[2]", "[]");
  assert_place (text, "$.d.e", "true");
  /* What isn't there shows what it would be in. */
  assert_place (text, "$.d.missing", "{\"e\": true}");
  assert_place (text, "$.a[1].c.deeper", "-2.5e3");
  assert_place (text, "$.a[9]", "[1, { \"b,}\": \"q\\\"]\", \"c\": -2.5e3 }, []]");
  g_assert_false (ef_json_place ("", "$.a", &start, &end));
  g_assert_false (ef_json_place (text, "a", &start, &end));
  /* Broken texts end somewhere, but end. */
  g_assert_true (ef_json_place ("{\"a\": [1, ", "$.a[1]", &start, &end));
  g_assert_true (ef_json_place ("{\"a", "$.a", &start, &end));
  g_assert_true (ef_json_place ("{\"a\": \"b\\", "$.a", &start, &end));
}

static void
test_message_place (void)
{
  g_autofree char *path = NULL;
  guint line;

  ef_json_message_place ("hl-24.json: $.sections[0].module_mm: expected a number above 0, found \"three\"", &path, &line);
  g_assert_cmpstr (path, ==, "$.sections[0].module_mm");
  g_assert_cmpuint (line, ==, 0);
  g_clear_pointer (&path, g_free);
  ef_json_message_place ("hl-24.json: line 12: expected a value", &path, &line);
  g_assert_null (path);
  g_assert_cmpuint (line, ==, 12);
  ef_json_message_place ("no place at all", &path, &line);
  g_assert_null (path);
  g_assert_cmpuint (line, ==, 0);
}

static EfPumpSheet *
load_sheet (const char *name)
{
  g_autofree char *path = ef_data_path ("pump-sheets", name, NULL);
  g_autoptr (GError) error = NULL;
  EfPumpSheet *sheet = ef_pump_sheet_load (path, &error);

  g_assert_no_error (error);
  return sheet;
}

/* Every field of every form takes a reading of the sheet's own size, and takes it for its own. */
static void
test_bench_plan (void)
{
  static const char *const names[] = { "hl-24.json", "hl-27.json", "rc-4.json", "tg-3.json" };
  guint n, f, g, s;

  for (n = 0; n < G_N_ELEMENTS (names); n++)
    {
      g_autoptr (EfPumpSheet) sheet = load_sheet (names[n]);
      g_autoptr (GPtrArray) plan = ef_bench_plan (sheet);
      g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, "J-1");
      guint n_slots = 0;

      g_assert_cmpuint (plan->len, >=, sheet->sections->len);
      for (f = 0; f < plan->len; f++)
        {
          const EfBenchForm *form = g_ptr_array_index (plan, f);
          guint done, all;

          ef_bench_form_progress (form, inspection, &done, &all);
          g_assert_cmpuint (done, ==, 0);
          g_assert_cmpuint (all, >, 0);
          n_slots += all;
          for (g = 0; g < form->groups->len; g++)
            {
              const EfSlotGroup *group = g_ptr_array_index (form->groups, g);

              for (s = 0; s < group->slots->len; s++)
                {
                  const EfSlot *slot = g_ptr_array_index (group->slots, s);
                  EfReading *reading = ef_item_new (&ef_reading_class, NULL);
                  const EfSection *section = ef_pump_sheet_section (sheet, slot->target);
                  const EfPart *part = ef_pump_sheet_part (sheet, slot->target);
                  g_autoptr (GError) error = NULL;
                  guint i;

                  reading->quantity = slot->quantity;
                  reading->target = g_strdup (slot->target);
                  reading->place = g_strdup (slot->place);
                  reading->angle = slot->angle;
                  reading->u = slot->u;
                  reading->v = slot->v;
                  reading->temperature = NAN;
                  reading->unit = EF_UNIT_MM;
                  reading->value = 5e-5;
                  if (slot->quantity == EF_READ_POCKET_DEPTH)
                    reading->value = section->pocket_depth;
                  if (slot->quantity == EF_READ_FACE_WIDTH)
                    reading->value = part->thickness;
                  for (i = 0; slot->quantity == EF_READ_BORE_DIAMETER && i < part->bores->len; i++)
                    if (g_strcmp0 (g_array_index (part->bores, EfCylinder, i).id, slot->place) == 0)
                      reading->value = g_array_index (part->bores, EfCylinder, i).diameter;
                  for (i = 0; slot->quantity == EF_READ_JOURNAL_DIAMETER && i < part->journals->len; i++)
                    if (g_strcmp0 (g_array_index (part->journals, EfCylinder, i).id, slot->place) == 0)
                      reading->value = g_array_index (part->journals, EfCylinder, i).diameter;
                  ef_reading_check (reading, sheet, &error);
                  g_assert_no_error (error);
                  g_assert_true (ef_slot_holds (slot, reading));
                  g_assert_true (ef_inspection_swap (inspection, NULL, (EfItem *) reading, &error));
                  g_assert_no_error (error);
                  ef_item_unref (reading);
                }
            }
        }
      g_assert_cmpuint (inspection->items[EF_ITEM_READING]->len, ==, n_slots);
      for (f = 0; f < plan->len; f++)
        {
          guint done, all;

          ef_bench_form_progress (g_ptr_array_index (plan, f), inspection, &done, &all);
          g_assert_cmpuint (done, ==, all);
        }
      /* With every field read only the check list is missing. */
      {
        g_autoptr (GPtrArray) missing = ef_missing_readings (inspection);

        g_assert_cmpuint (missing->len, <=, 1);
      }
    }
}

static void
test_flatness_places (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ("hl-24.json");
  g_autoptr (GPtrArray) plan = ef_bench_plan (sheet);
  guint f, g, s, t, seen = 0;

  for (f = 0; f < plan->len; f++)
    {
      const EfBenchForm *form = g_ptr_array_index (plan, f);

      for (g = 0; g < form->groups->len; g++)
        {
          const EfSlotGroup *group = g_ptr_array_index (form->groups, g);
          g_autoptr (EfFaceChart) chart = NULL;

          if (group->quantity != EF_READ_FLATNESS)
            continue;
          seen++;
          chart = ef_face_chart_new (sheet, group->target, NULL);
          g_assert_nonnull (chart);
          /* A plane has three unknowns; fewer than four places tell nothing of flatness. */
          g_assert_cmpuint (group->slots->len, >=, 4);
          for (s = 0; s < group->slots->len; s++)
            {
              const EfSlot *slot = g_ptr_array_index (group->slots, s);

              g_assert_true (ef_region_contains (chart->solid, slot->u, slot->v));
              for (t = 0; t < s; t++)
                {
                  const EfSlot *other = g_ptr_array_index (group->slots, t);

                  /* Spread out: no two within 5 mm. */
                  g_assert_cmpfloat (hypot (slot->u - other->u, slot->v - other->v), >, 5e-3);
                }
            }
        }
    }
  g_assert_cmpuint (seen, >=, 3);
}

static void
test_directions (void)
{
  EfSlot *slot = ef_slot_new (EF_READ_BORE_DIAMETER, "pressure-housing", "drive", ef_angle_from_deg (45), "Across 45°");
  g_autoptr (EfItem) item = (EfItem *) ef_reading_new (EF_READ_BORE_DIAMETER, "pressure-housing", "drive", 0.016, EF_UNIT_MM, NULL);
  EfReading *reading = (EfReading *) item;

  /* A diameter's direction counts modulo half a turn. */
  reading->angle = ef_angle_from_deg (225);
  g_assert_true (ef_slot_holds (slot, reading));
  reading->angle = ef_angle_from_deg (-135);
  g_assert_true (ef_slot_holds (slot, reading));
  reading->angle = ef_angle_from_deg (135);
  g_assert_false (ef_slot_holds (slot, reading));
  reading->angle = NAN;
  g_assert_false (ef_slot_holds (slot, reading));
  ef_slot_free (slot);
  /* A tip clearance's direction counts modulo a whole turn. */
  slot = ef_slot_new (EF_READ_TIP_CLEARANCE, "pressure", "drive", ef_angle_from_deg (-60), "");
  reading->quantity = EF_READ_TIP_CLEARANCE;
  g_free (reading->target);
  reading->target = g_strdup ("pressure");
  reading->angle = ef_angle_from_deg (300);
  g_assert_true (ef_slot_holds (slot, reading));
  reading->angle = ef_angle_from_deg (120);
  g_assert_false (ef_slot_holds (slot, reading));
  ef_slot_free (slot);
}

static void
test_missing_sentence (void)
{
  g_autoptr (GPtrArray) phrases = g_ptr_array_new ();
  g_autofree char *two = NULL;
  g_autofree char *six = NULL;

  g_assert_null (ef_missing_sentence (phrases));
  g_ptr_array_add (phrases, (char *) "a");
  g_ptr_array_add (phrases, (char *) "b");
  two = ef_missing_sentence (phrases);
  g_assert_cmpstr (two, ==, "Still missing: a; b.");
  g_ptr_array_add (phrases, (char *) "c");
  g_ptr_array_add (phrases, (char *) "d");
  g_ptr_array_add (phrases, (char *) "e");
  g_ptr_array_add (phrases, (char *) "f");
  six = ef_missing_sentence (phrases);
  g_assert_cmpstr (six, ==, "Still missing: a; b; c; d and 2 more.");
}

static void
add_job (EfStore *store,
         EfPumpSheet *sheet,
         const char *number)
{
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, number);
  g_autoptr (GError) error = NULL;

  ef_store_add (store, inspection, &error);
  g_assert_no_error (error);
}

static void
assert_suggested (EfStore *store,
                  const char *expected)
{
  g_autofree char *number = ef_suggest_job_number (store);

  g_assert_cmpstr (number, ==, expected);
}

static void
test_suggested_number (void)
{
  g_autofree char *folder = g_dir_make_tmp ("endfloat-test-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "jobs.db", NULL);
  g_autoptr (EfPumpSheet) sheet = load_sheet ("rc-4.json");
  EfStore *store = ef_store_open (path, NULL);

  g_assert_nonnull (store);
  assert_suggested (store, "J-0001");
  add_job (store, sheet, "J-0412");
  assert_suggested (store, "J-0413");
  add_job (store, sheet, "J-0409");
  assert_suggested (store, "J-0413");
  /* The latest job shows how the shop numbers. */
  add_job (store, sheet, "2026/99");
  assert_suggested (store, "2026/100");
  ef_store_close (store);
  g_unlink (path);
  g_rmdir (folder);
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/window/plain/json-place", test_json_place);
  g_test_add_func ("/window/plain/message-place", test_message_place);
  g_test_add_func ("/window/plain/bench-plan", test_bench_plan);
  g_test_add_func ("/window/plain/flatness-places", test_flatness_places);
  g_test_add_func ("/window/plain/directions", test_directions);
  g_test_add_func ("/window/plain/missing-sentence", test_missing_sentence);
  g_test_add_func ("/window/plain/suggested-number", test_suggested_number);
  return g_test_run ();
}
