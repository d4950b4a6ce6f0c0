/* The inspection: what may go in, and what is refused with which words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "random-inspection.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

typedef struct
{
  GRand *rand;
  EfInspection *inspection;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  g_autoptr (EfPumpSheet) sheet = NULL;

  self->rand = g_rand_new_with_seed (7);
  sheet = random_sheet (self->rand);
  self->inspection = ef_inspection_new (sheet, "J-0412");
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  ef_inspection_free (self->inspection);
  g_rand_free (self->rand);
}

static void
assert_refused (Fixture *self,
                EfItem *item,
                EfError code,
                const char *words)
{
  g_autoptr (GError) error = NULL;
  guint before = self->inspection->items[item->klass->kind]->len;

  g_assert_false (ef_inspection_swap (self->inspection, NULL, item, &error));
  g_assert_error (error, EF_ERROR, (int) code);
  if (strstr (error->message, words) == NULL)
    g_error ("expected \"%s\" in \"%s\"", words, error->message);
  if (item->id[0] != '\0' && strstr (error->message, item->id) == NULL)
    g_error ("expected the id in \"%s\"", error->message);
  g_assert_cmpuint (self->inspection->items[item->klass->kind]->len, ==, before);
}

static void
test_new (Fixture *self,
          gconstpointer unused)
{
  const EfJobHeader *header = ef_inspection_header (self->inspection);

  g_assert_cmpstr (header->number, ==, "J-0412");
  g_assert_cmpstr (header->item.id, ==, "job");
  g_assert_true (isnan (header->hours));
  g_assert_true (isnan (header->found_pressure));
  g_assert_null (header->customer);
  g_assert_cmpint (ef_inspection_next_number (self->inspection), ==, 1);
  g_assert_null (ef_inspection_find (self->inspection, EF_ITEM_MARK, "none"));
}

static void
test_order (Fixture *self,
            gconstpointer unused)
{
  g_autoptr (EfItem) a = random_item (self->rand, self->inspection, EF_ITEM_TICK);
  g_autoptr (EfItem) b = random_item (self->rand, self->inspection, EF_ITEM_TICK);
  g_autoptr (EfItem) c = random_item (self->rand, self->inspection, EF_ITEM_TICK);
  GPtrArray *ticks = self->inspection->items[EF_ITEM_TICK];
  g_autoptr (GError) error = NULL;
  int position = 99;

  g_assert_true (ef_inspection_swap (self->inspection, NULL, a, &error));
  g_assert_true (ef_inspection_swap (self->inspection, NULL, b, &error));
  g_assert_true (ef_inspection_swap_at (self->inspection, NULL, c, -1, &position, &error));
  g_assert_cmpint (position, ==, 2);
  g_assert_true (ef_inspection_swap_at (self->inspection, b, NULL, -1, &position, &error));
  g_assert_cmpint (position, ==, 1);
  g_assert_true (ticks->pdata[1] == c);
  g_assert_true (ef_inspection_swap_at (self->inspection, NULL, b, position, &position, &error));
  g_assert_true (ticks->pdata[1] == b);
  g_assert_true (ef_inspection_swap (self->inspection, a, NULL, &error));
  g_assert_false (ef_inspection_swap_at (self->inspection, NULL, a, 17, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
}

static void
test_identity (Fixture *self,
               gconstpointer unused)
{
  g_autoptr (EfItem) tick = random_item (self->rand, self->inspection, EF_ITEM_TICK);
  g_autoptr (EfItem) variant = random_variant (self->rand, self->inspection, tick);
  g_autoptr (EfItem) other = random_item (self->rand, self->inspection, EF_ITEM_TICK);
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_inspection_swap (self->inspection, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_inspection_swap (self->inspection, tick, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_true (ef_inspection_swap (self->inspection, NULL, tick, &error));
  assert_refused (self, tick, EF_ERROR_INVALID, "taken");
  g_assert_false (ef_inspection_swap (self->inspection, tick, other, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_true (ef_inspection_swap (self->inspection, tick, variant, &error));
  g_assert_false (ef_inspection_swap (self->inspection, tick, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_assert_nonnull (strstr (error->message, "changed meanwhile"));
}

static void
test_header_stays (Fixture *self,
                   gconstpointer unused)
{
  EfItem *header = self->inspection->items[EF_ITEM_HEADER]->pdata[0];
  g_autoptr (EfItem) other = random_item (self->rand, self->inspection, EF_ITEM_HEADER);
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_inspection_swap (self->inspection, header, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_inspection_swap (self->inspection, NULL, other, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_true (ef_inspection_swap (self->inspection, header, other, &error));
}

static void
test_gauge_in_use (Fixture *self,
                   gconstpointer unused)
{
  g_autoptr (EfItem) gauge = random_item (self->rand, self->inspection, EF_ITEM_GAUGE);
  g_autoptr (EfItem) reading = random_item (self->rand, self->inspection, EF_ITEM_READING);
  g_autoptr (EfItem) mark = random_item (self->rand, self->inspection, EF_ITEM_MARK);
  g_autoptr (GError) error = NULL;

  ((EfReading *) reading)->gauge_id = g_strdup (gauge->id);
  ef_mark_set_depth ((EfMark *) mark, 4e-5, EF_UNIT_UM, gauge->id);
  assert_refused (self, reading, EF_ERROR_NOT_FOUND, "gauge");
  assert_refused (self, mark, EF_ERROR_NOT_FOUND, "gauge");
  g_assert_true (ef_inspection_swap (self->inspection, NULL, gauge, &error));
  g_assert_true (ef_inspection_swap (self->inspection, NULL, reading, &error));
  g_assert_true (ef_inspection_swap (self->inspection, NULL, mark, &error));
  g_assert_false (ef_inspection_swap (self->inspection, gauge, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "found 2"));
  g_clear_error (&error);
  g_assert_true (ef_inspection_swap (self->inspection, mark, NULL, &error));
  g_assert_true (ef_inspection_swap (self->inspection, reading, NULL, &error));
  g_assert_true (ef_inspection_swap (self->inspection, gauge, NULL, &error));
}

static void
test_refused_marks (Fixture *self,
                    gconstpointer unused)
{
  g_autoptr (EfItem) item = random_item (self->rand, self->inspection, EF_ITEM_MARK);
  EfMark *mark = (EfMark *) item;
  g_autofree char *face = g_strdup (mark->face_id);

  g_free (mark->face_id);
  mark->face_id = g_strdup ("no-such-part/floor");
  assert_refused (self, item, EF_ERROR_NOT_FOUND, "face");
  g_free (mark->face_id);
  mark->face_id = g_strdup_printf ("%s-none", face);
  assert_refused (self, item, EF_ERROR_NOT_FOUND, "face");
  g_free (mark->face_id);
  mark->face_id = g_steal_pointer (&face);

  mark->note = (g_free (mark->note), g_strdup ("bad \xff\xfe bytes"));
  assert_refused (self, item, EF_ERROR_INVALID, "note: expected UTF-8");
  g_clear_pointer (&mark->note, g_free);
  mark->number = -1;
  assert_refused (self, item, EF_ERROR_RANGE, "number");
  mark->number = 1;
  g_array_index (mark->nodes, EfMarkNode, 0).u = NAN;
  assert_refused (self, item, EF_ERROR_RANGE, "node");
}

static void
test_refused_header (Fixture *self,
                     gconstpointer unused)
{
  EfItem *present = self->inspection->items[EF_ITEM_HEADER]->pdata[0];
  static const struct
  {
    gsize offset;
    double value;
    const char *field;
  } bad[] = {
    { G_STRUCT_OFFSET (EfJobHeader, hours), -1, "hours" },
    { G_STRUCT_OFFSET (EfJobHeader, hours), INFINITY, "hours" },
    { G_STRUCT_OFFSET (EfJobHeader, found_pressure), -5, "found_pressure" },
    { G_STRUCT_OFFSET (EfJobHeader, found_speed), 1e9, "found_speed" },
    { G_STRUCT_OFFSET (EfJobHeader, found_temperature), 80, "found_temperature" },
    { G_STRUCT_OFFSET (EfJobHeader, expected_pressure), 1e12, "expected_pressure" },
  };
  static const char *const dates[] = { "2026-13-01", "2026-02-30", "yesterday", "2026-1-01", "", "2026-01-01T00:00:00Z" };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (bad); i++)
    {
      g_autoptr (EfItem) header = ef_item_copy (present);
      g_autoptr (GError) error = NULL;

      *(double *) G_STRUCT_MEMBER_P (header, bad[i].offset) = bad[i].value;
      g_assert_false (ef_inspection_swap (self->inspection, present, header, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
      g_assert_nonnull (strstr (error->message, bad[i].field));
    }
  for (i = 0; i < G_N_ELEMENTS (dates); i++)
    {
      g_autoptr (EfItem) header = ef_item_copy (present);
      g_autoptr (GError) error = NULL;

      ((EfJobHeader *) header)->received = g_strdup (dates[i]);
      g_assert_false (ef_inspection_swap (self->inspection, present, header, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
      g_assert_nonnull (strstr (error->message, "received: expected a date"));
    }
}

static void
test_refused_others (Fixture *self,
                     gconstpointer unused)
{
  g_autoptr (EfItem) check = ef_item_new (&ef_check_class, "no-such-part");
  g_autoptr (EfItem) override = random_item (self->rand, self->inspection, EF_ITEM_OVERRIDE);
  g_autoptr (EfItem) lost = ef_item_new (&ef_override_class, "part:no-such-part");
  g_autoptr (EfItem) gauge = random_item (self->rand, self->inspection, EF_ITEM_GAUGE);
  g_autoptr (EfItem) tick = random_item (self->rand, self->inspection, EF_ITEM_TICK);
  g_autoptr (EfItem) nameless = ef_item_new (&ef_tick_class, "");

  assert_refused (self, check, EF_ERROR_NOT_FOUND, "id: expected a part");
  assert_refused (self, lost, EF_ERROR_NOT_FOUND, "part:name");
  assert_refused (self, nameless, EF_ERROR_INVALID, "id");

  g_free (((EfOverride *) override)->reason);
  ((EfOverride *) override)->reason = g_strdup ("");
  assert_refused (self, override, EF_ERROR_INVALID, "reason");
  g_free (((EfOverride *) override)->verdict);
  ((EfOverride *) override)->verdict = g_strdup ("perhaps");
  assert_refused (self, override, EF_ERROR_INVALID, "use-again, measure-again");

  ((EfGauge *) gauge)->range_min = 2;
  ((EfGauge *) gauge)->range_max = 1;
  assert_refused (self, gauge, EF_ERROR_RANGE, "range");
  ((EfGauge *) gauge)->range_min = ((EfGauge *) gauge)->range_max = NAN;
  ((EfGauge *) gauge)->resolution = NAN;
  assert_refused (self, gauge, EF_ERROR_RANGE, "resolution");

  g_free (((EfTick *) tick)->time);
  ((EfTick *) tick)->time = g_strdup ("noon");
  assert_refused (self, tick, EF_ERROR_INVALID, "time");
}

static void
test_fill (Fixture *self,
           gconstpointer unused)
{
  g_autoptr (GPtrArray) ticks = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GError) error = NULL;
  guint i;

  for (i = 0; i < 3000; i++)
    g_ptr_array_add (ticks, random_item (self->rand, self->inspection, EF_ITEM_TICK));
  g_assert_true (ef_inspection_fill (self->inspection, EF_ITEM_TICK, ticks, &error));
  g_assert_cmpuint (self->inspection->items[EF_ITEM_TICK]->len, ==, 3000);
  g_assert_false (ef_inspection_fill (self->inspection, EF_ITEM_TICK, ticks, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_cmpuint (self->inspection->items[EF_ITEM_TICK]->len, ==, 3000);
  g_clear_error (&error);
  g_assert_false (ef_inspection_fill (self->inspection, EF_ITEM_GAUGE, ticks, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

/* Any double in the wide, ordinary range becomes one that a file gives back; most change, none by more than half a step. */
static void
test_grid (Fixture *self,
           gconstpointer unused)
{
  guint changed = 0;
  guint i;

  for (i = 0; i < 1000; i++)
    {
      g_autoptr (EfItem) raw = ef_item_new (&ef_job_header_class, "job");
      EfJobHeader *header = (EfJobHeader *) raw;
      g_autoptr (EfItem) grid = NULL;
      g_autoptr (EfItem) again = NULL;
      const EfJobHeader *on;

      header->hours = NAN;
      header->expected_pressure = NAN;
      header->found_pressure = g_rand_double_range (self->rand, 0, 1e6);
      header->found_speed = g_rand_double_range (self->rand, 0, 100);
      header->found_temperature = g_rand_double_range (self->rand, 250, 450);
      grid = ef_item_on_grid (raw);
      again = ef_item_on_grid (grid);
      on = (const EfJobHeader *) grid;
      changed += grid != raw;
      g_assert_true (again == grid);
      g_assert_cmpfloat (fabs (on->found_pressure - header->found_pressure), <=, 0.5);
      g_assert_cmpfloat (fabs (on->found_speed - header->found_speed) * 60, <=, 0.501e-6);
      g_assert_cmpfloat (fabs (on->found_temperature - header->found_temperature), <=, 0.501e-6);
      g_assert_true (isnan (on->expected_pressure));
    }
  g_assert_cmpuint (changed, >, 990);
}

static void
test_equal (Fixture *self,
            gconstpointer unused)
{
  guint i;

  for (i = 0; i < 100; i++)
    {
      g_autoptr (EfInspection) a = random_inspection (self->rand, 20);
      g_autoptr (EfInspection) b = ef_inspection_copy (a);
      EfItemKind kind = g_rand_int_range (self->rand, 0, EF_N_ITEM_KINDS);
      EfItem *item = a->items[kind]->len > 0 ? a->items[kind]->pdata[0] : NULL;
      g_autoptr (EfItem) variant = NULL;

      g_assert_true (ef_inspection_equal (a, b));
      if (item == NULL)
        continue;
      variant = random_variant (self->rand, a, item);
      g_assert_true (ef_inspection_swap (b, item, variant, NULL));
      g_assert_cmpint (ef_inspection_equal (a, b), ==, ef_item_equal (item, variant));
      g_assert_true (a->items[kind]->pdata[0] == item);
    }
}

static void
test_face_marks (Fixture *self,
                 gconstpointer unused)
{
  GPtrArray *marks = self->inspection->items[EF_ITEM_MARK];
  guint i, k;

  for (i = 0; i < 50; i++)
    {
      g_autoptr (EfItem) mark = random_item (self->rand, self->inspection, EF_ITEM_MARK);

      g_assert_true (ef_inspection_swap (self->inspection, NULL, mark, NULL));
    }
  for (i = 0; i < marks->len; i++)
    {
      EfMark *mark = marks->pdata[i];
      g_autoptr (GPtrArray) same_face = ef_inspection_face_marks (self->inspection, mark->face_id);

      g_assert_true (g_ptr_array_find (same_face, mark, NULL));
      for (k = 0; k < same_face->len; k++)
        g_assert_cmpstr (((EfMark *) same_face->pdata[k])->face_id, ==, mark->face_id);
      for (k = 1; k < same_face->len; k++)
        g_assert_cmpint (((EfMark *) same_face->pdata[k - 1])->number, <, ((EfMark *) same_face->pdata[k])->number);
    }
  g_assert_cmpint (ef_inspection_next_number (self->inspection), ==, 51);
}

static void
test_check_states (void)
{
  EfCheckState state;
  guint i;

  for (i = 0; i < EF_N_CHECK_STATES; i++)
    {
      g_assert_true (ef_check_state_from_name (ef_check_state_name (i), &state));
      g_assert_cmpuint (state, ==, i);
      g_assert_cmpstr (ef_check_state_label (i), !=, "");
    }
  g_assert_false (ef_check_state_from_name ("so-so", &state));
  g_assert_false (ef_check_state_from_name (NULL, &state));
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  ADD ("/inspection/new-has-empty-header", test_new);
  ADD ("/inspection/order-of-making-kept", test_order);
  ADD ("/inspection/ids-and-what-was-there", test_identity);
  ADD ("/inspection/one-header", test_header_stays);
  ADD ("/inspection/gauge-in-use-stays", test_gauge_in_use);
  ADD ("/inspection/refused/marks", test_refused_marks);
  ADD ("/inspection/refused/header", test_refused_header);
  ADD ("/inspection/refused/others", test_refused_others);
  ADD ("/inspection/fill", test_fill);
  ADD ("/inspection/grid", test_grid);
  ADD ("/inspection/equal-sees-every-change", test_equal);
  ADD ("/inspection/face-marks", test_face_marks);
  g_test_add_func ("/inspection/check-states", test_check_states);

  return g_test_run ();
}
