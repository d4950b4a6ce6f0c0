/* The same mark on the mate and on every tooth.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "random-inspection.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))

typedef struct
{
  GRand *rand;
  EfInspection *inspection;
  const EfSection *section;
  EfPumpSheet *sheet;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer model)
{
  g_autofree char *name = g_strdup_printf ("%s.json", (const char *) model);
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", name, NULL);
  g_autoptr (GError) error = NULL;

  self->sheet = ef_pump_sheet_load (path, &error);
  g_assert_no_error (error);
  self->rand = g_rand_new_with_seed (81);
  self->inspection = ef_inspection_new (self->sheet, "J-1");
  self->section = self->sheet->sections->pdata[0];
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  ef_inspection_free (self->inspection);
  ef_pump_sheet_unref (self->sheet);
  g_rand_free (self->rand);
}

/* A groove between two places, with a depth, a note, a photo and a gauge. */
static EfMark *
groove (Fixture *self,
        const char *face_id,
        double u0,
        double v0,
        double u1,
        double v1)
{
  EfGauge *gauge = ef_item_new (&ef_gauge_class, NULL);
  EfMark *mark = ef_mark_new (face_id, EF_MARK_GROOVE, EF_SHAPE_LINE, 2e-4);
  g_autoptr (GError) error = NULL;

  gauge->range_min = gauge->range_max = NAN;
  ef_inspection_swap (self->inspection, NULL, &gauge->item, &error);
  g_assert_no_error (error);
  ef_mark_add_node (mark, u0, v0);
  ef_mark_add_node (mark, u1, v1);
  ef_mark_set_depth (mark, 3e-5, EF_UNIT_UM, gauge->item.id);
  mark->note = g_strdup ("after the torn filter");
  mark->photos = g_strsplit ("one.jpg", " ", -1);
  mark->number = ef_inspection_next_number (self->inspection);
  ef_inspection_swap (self->inspection, NULL, &mark->item, &error);
  g_assert_no_error (error);
  ef_item_unref (gauge);

  return mark;
}

static void
assert_taken_over (Fixture *self,
                   const EfMark *mark,
                   const EfMark *copy)
{
  g_assert_cmpstr (copy->item.id, !=, mark->item.id);
  g_assert_cmpint (copy->kind, ==, mark->kind);
  g_assert_cmpint (copy->shape, ==, mark->shape);
  g_assert_cmpfloat (copy->size, ==, mark->size);
  g_assert_cmpstr (copy->note, ==, mark->note);
  g_assert_null (copy->photos);
  g_assert_cmpuint (copy->nodes->len, ==, mark->nodes->len);
  g_assert_cmpuint (copy->depths->len, ==, 1);
  g_assert_cmpfloat (g_array_index (copy->depths, EfMarkDepth, 0).depth, ==, 3e-5);
  g_assert_null (g_array_index (copy->depths, EfMarkDepth, 0).gauge_id);
}

static void
add_all (Fixture *self,
         const EfMark *mark,
         GPtrArray *copies)
{
  g_autoptr (GError) error = NULL;
  guint i;

  for (i = 0; i < copies->len; i++)
    {
      EfMark *copy = copies->pdata[i];

      assert_taken_over (self, mark, copy);
      g_assert_cmpint (copy->number, ==, ef_inspection_next_number (self->inspection));
      ef_inspection_swap (self->inspection, NULL, &copy->item, &error);
      g_assert_no_error (error);
    }
}

/* Gear ends: turned by whole teeth about the gear's own axis, so each copy is as far out and lies on metal just as the first. */
static void
test_teeth_end (Fixture *self,
                gconstpointer unused)
{
  int gear;

  for (gear = 0; gear < 2; gear++)
    {
      int teeth = self->section->pair.in.teeth[gear];
      double radius = self->section->pair.in.tip_radius[gear] - 5e-4;
      g_autofree char *face = g_strdup_printf ("%s/end-a", self->section->gear_part[gear]);
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (self->sheet, face, NULL);
      double angle = 0.3;
      g_autoptr (EfItem) item = NULL;
      EfMark *mark;
      g_autoptr (GPtrArray) copies = NULL;
      g_autoptr (GHashTable) seen = g_hash_table_new (NULL, NULL);
      g_autoptr (GError) error = NULL;
      guint i;

      item = (EfItem *) groove (self, face, radius * cos (angle), radius * sin (angle), radius * 0.95 * cos (angle), radius * 0.95 * sin (angle));
      mark = (EfMark *) item;
      copies = ef_repeat_on_teeth (self->inspection, mark, &error);
      g_assert_no_error (error);
      g_assert_cmpuint (copies->len, ==, teeth - 1);
      for (i = 0; i < copies->len; i++)
        {
          EfMark *copy = copies->pdata[i];
          EfMarkNode node = g_array_index (copy->nodes, EfMarkNode, 0);
          double turn = (atan2 (node.v, node.u) - angle) * teeth / (2 * G_PI);

          assert_near (hypot (node.u, node.v), radius, 2e-9);
          assert_near (turn, round (turn), 1e-4);
          g_hash_table_add (seen, GINT_TO_POINTER (((int) round (turn) % teeth + teeth) % teeth));
          g_assert_cmpint (ef_region_contains (chart->solid, node.u, node.v), ==,
                           ef_region_contains (chart->solid, radius * cos (angle), radius * sin (angle)));
        }
      g_assert_cmpuint (g_hash_table_size (seen), ==, teeth - 1);
      g_assert_false (g_hash_table_contains (seen, GINT_TO_POINTER (0)));
      add_all (self, mark, copies);
    }
}

static void
test_teeth_strips (Fixture *self,
                   gconstpointer unused)
{
  static const char *const names[] = { "flank-drive", "flank-coast", "tips" };
  guint n;

  for (n = 0; n < G_N_ELEMENTS (names); n++)
    {
      int teeth = self->section->pair.in.teeth[1];
      g_autofree char *face = g_strdup_printf ("%s/%s", self->section->gear_part[1], names[n]);
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (self->sheet, face, NULL);
      double u = chart->u0 + 2 * chart->strip_pitch + 0.4 * chart->strip_width; /* third tooth */
      g_autoptr (EfItem) item = (EfItem *) groove (self, face, u, 1e-3, u + 0.2 * chart->strip_width, 4e-3);
      g_autoptr (GPtrArray) copies = NULL;
      g_autofree guint *hits = g_new0 (guint, teeth + 1);
      g_autoptr (GError) error = NULL;
      EfChartPlace place;
      guint i;
      int t;

      copies = ef_repeat_on_teeth (self->inspection, (EfMark *) item, &error);
      g_assert_no_error (error);
      g_assert_cmpuint (copies->len, ==, teeth - 1);
      for (i = 0; i < copies->len; i++)
        {
          const EfMark *copy = copies->pdata[i];
          EfMarkNode from = g_array_index (copy->nodes, EfMarkNode, 0);
          EfMarkNode to = g_array_index (copy->nodes, EfMarkNode, 1);

          ef_face_chart_place (chart, from.u, from.v, &place);
          g_assert_cmpint (place.tooth, >=, 1);
          g_assert_cmpint (place.tooth, <=, teeth);
          hits[place.tooth]++;
          assert_near (to.u - from.u, 0.2 * chart->strip_width, 2e-9);
          assert_near (to.v, 4e-3, 1e-9);
        }
      for (t = 1; t <= teeth; t++)
        g_assert_cmpuint (hits[t], ==, t == 3 ? 0 : 1);
      add_all (self, (EfMark *) item, copies);
    }
}

/* Flanks touch where the radii of curvature of the two involutes add up to a sin(alpha_w) (ISO 21771, line of action). */
static void
test_mate_flank (Fixture *self,
                 gconstpointer unused)
{
  const EfGearPair *pair = &self->section->pair;
  int gear;

  for (gear = 0; gear < 2; gear++)
    {
      g_autofree char *face = g_strdup_printf ("%s/flank-drive", self->section->gear_part[gear]);
      g_autofree char *mate_face = g_strdup_printf ("%s/flank-drive", self->section->gear_part[1 - gear]);
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (self->sheet, face, NULL);
      g_autoptr (EfFaceChart) mate_chart = ef_face_chart_new (self->sheet, mate_face, NULL);
      double pitch_radius = pair->base_radius[gear] / cos (pair->working_angle);
      double u = chart->u0 + chart->strip_pitch + pitch_radius - chart->strip_r0;
      g_autoptr (EfItem) item = (EfItem *) groove (self, face, u, 1e-3, u + 2e-4, 4e-3);
      g_autoptr (GPtrArray) copies = NULL;
      g_autoptr (GPtrArray) back = NULL;
      g_autoptr (GError) error = NULL;
      EfMark *copy;
      guint i;

      copies = ef_repeat_on_mate (self->inspection, (EfMark *) item, &error);
      g_assert_no_error (error);
      g_assert_cmpuint (copies->len, ==, 1);
      copy = copies->pdata[0];
      g_assert_cmpstr (copy->face_id, ==, mate_face);
      for (i = 0; i < 2; i++)
        {
          EfMarkNode own = g_array_index (((EfMark *) item)->nodes, EfMarkNode, i);
          EfMarkNode other = g_array_index (copy->nodes, EfMarkNode, i);
          EfChartPlace own_place, other_place;
          double rho, mate_rho;

          ef_face_chart_place (chart, own.u, own.v, &own_place);
          ef_face_chart_place (mate_chart, other.u, other.v, &other_place);
          g_assert_cmpint (own_place.tooth, ==, 2);
          g_assert_cmpint (other_place.tooth, ==, 2);
          rho = sqrt (own_place.radius * own_place.radius - pair->base_radius[gear] * pair->base_radius[gear]);
          mate_rho = sqrt (other_place.radius * other_place.radius - pair->base_radius[1 - gear] * pair->base_radius[1 - gear]);
          assert_near (rho + mate_rho, pair->in.centre_distance * sin (pair->working_angle), 2e-8);
        }
      add_all (self, (EfMark *) item, copies);

      /* The mate's mate is the gear itself. */
      back = ef_repeat_on_mate (self->inspection, copy, &error);
      g_assert_no_error (error);
      g_assert_cmpstr (((EfMark *) back->pdata[0])->face_id, ==, face);
      for (i = 0; i < 2; i++)
        assert_near (g_array_index (((EfMark *) back->pdata[0])->nodes, EfMarkNode, i).u,
                     g_array_index (((EfMark *) item)->nodes, EfMarkNode, i).u, 2e-8);
    }
}

static void
test_mate_end (Fixture *self,
               gconstpointer unused)
{
  const EfGearPair *pair = &self->section->pair;
  g_autofree char *face = g_strdup_printf ("%s/end-b", self->section->gear_part[0]);
  g_autofree char *mate_face = g_strdup_printf ("%s/end-b", self->section->gear_part[1]);
  double tip = pair->in.tip_radius[0];
  double root = pair->in.root_radius[0];
  g_autoptr (EfItem) item = (EfItem *) groove (self, face, tip, 0, root, 0);
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) copies = ef_repeat_on_mate (self->inspection, (EfMark *) item, &error);
  EfMark *copy;

  g_assert_no_error (error);
  copy = copies->pdata[0];
  g_assert_cmpstr (copy->face_id, ==, mate_face);
  assert_near (hypot (g_array_index (copy->nodes, EfMarkNode, 0).u, g_array_index (copy->nodes, EfMarkNode, 0).v), pair->in.tip_radius[1], 2e-9);
  assert_near (hypot (g_array_index (copy->nodes, EfMarkNode, 1).u, g_array_index (copy->nodes, EfMarkNode, 1).v), pair->in.root_radius[1], 2e-9);
  add_all (self, (EfMark *) item, copies);
}

static void
assert_not_repeated (GPtrArray *copies,
                     GError *error,
                     EfError code)
{
  g_assert_null (copies);
  g_assert_error (error, EF_ERROR, (int) code);
  g_error_free (error);
}

static void
test_refused (Fixture *self,
              gconstpointer unused)
{
  g_autofree char *face = g_strdup_printf ("%s/flank-coast", self->section->gear_part[0]);
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (self->sheet, face, NULL);
  g_autoptr (EfItem) across = (EfItem *) groove (self, face, chart->u0 + 0.5 * chart->strip_width, 1e-3,
                                                  chart->u0 + chart->strip_pitch + 0.5 * chart->strip_width, 1e-3);
  g_autoptr (EfItem) floor = (EfItem *) groove (self, self->section->floor_face, 0, 0, 1e-3, 1e-3);
  g_autoptr (EfItem) lost = (EfItem *) ef_mark_new ("no-such-part/floor", EF_MARK_LIP, EF_SHAPE_POINT, 1e-3);
  GError *error = NULL;
  GPtrArray *copies;

  copies = ef_repeat_on_teeth (self->inspection, (EfMark *) across, &error);
  assert_not_repeated (copies, g_steal_pointer (&error), EF_ERROR_GEOMETRY);
  copies = ef_repeat_on_mate (self->inspection, (EfMark *) across, &error);
  assert_not_repeated (copies, g_steal_pointer (&error), EF_ERROR_GEOMETRY);
  copies = ef_repeat_on_teeth (self->inspection, (EfMark *) floor, &error);
  assert_not_repeated (copies, g_steal_pointer (&error), EF_ERROR_NOT_FOUND);
  copies = ef_repeat_on_mate (self->inspection, (EfMark *) floor, &error);
  assert_not_repeated (copies, g_steal_pointer (&error), EF_ERROR_NOT_FOUND);
  copies = ef_repeat_on_mate (self->inspection, (EfMark *) lost, &error);
  assert_not_repeated (copies, g_steal_pointer (&error), EF_ERROR_NOT_FOUND);
}

int
main (int argc,
      char **argv)
{
  static const char *const models[] = { "hl-24", "tg-3" };
  static const struct
  {
    const char *path;
    void (*function) (Fixture *, gconstpointer);
  } tests[] = {
    { "teeth-of-end", test_teeth_end }, { "teeth-of-strips", test_teeth_strips }, { "mate-flank-touches", test_mate_flank },
    { "mate-end", test_mate_end }, { "refused", test_refused },
  };
  guint i, m;

  isolated_test_init (&argc, &argv);
  for (m = 0; m < G_N_ELEMENTS (models); m++)
    for (i = 0; i < G_N_ELEMENTS (tests); i++)
      {
        g_autofree char *path = g_strdup_printf ("/repeat/%s/%s", models[m], tests[i].path);

        g_test_add (path, Fixture, models[m], set_up, tests[i].function, tear_down);
      }

  return g_test_run ();
}
