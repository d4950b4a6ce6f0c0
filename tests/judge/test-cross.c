/* Directions of wear against the computed load, and the reading that the others contradict. Constructed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "judge-fixture.h"

#include "judge/ef-cross.h"
#include "../isolate.h"

#define DEGREE (G_PI / 180.0)

static const double load[2] = { -75 * DEGREE, -78 * DEGREE };

static const EfCross *
find (GPtrArray *list,
      const char *prefix)
{
  for (guint i = 0; i < list->len; i++)
    if (g_str_has_prefix (((EfCross *) list->pdata[i])->id, prefix))
      return list->pdata[i];

  return NULL;
}

static GPtrArray *
cross (Fixture *f)
{
  fixture_judge (f);

  return ef_cross_findings (&f->findings, f->sheet->sections->pdata[0], load);
}

static void
test_lip (void)
{
  static const struct
  {
    double psi;
    gboolean consistent;
  } rows[] = { { -75, TRUE }, { -100, TRUE }, { -45, TRUE }, { -20, FALSE }, { 75, FALSE }, { 105, FALSE } };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      g_autoptr (GPtrArray) list = NULL;
      EfFaceChart *chart;
      EfMark *mark;
      double u;
      Fixture f;

      fixture_init (&f, "hl-24");
      chart = fixture_chart (&f, "pressure-housing/wall-drive");
      u = chart->cylinder_radius * rows[i].psi * DEGREE;
      mark = ef_mark_new (chart->id, EF_MARK_LIP, EF_SHAPE_LINE, 0.5 * MM);
      ef_mark_add_node (mark, u - 0.5 * MM, 5 * MM);
      ef_mark_add_node (mark, u + 0.5 * MM, 5 * MM);
      g_free (fixture_add_mark (&f, mark));
      list = cross (&f);
      g_assert_nonnull (find (list, "lip:"));
      g_assert_cmpint (find (list, "lip:")->consistent, ==, rows[i].consistent);
      g_assert_cmpfloat (fabs (find (list, "lip:")->direction - rows[i].psi * DEGREE), <, 1e-4);
      g_assert_nonnull (strstr (find (list, "lip:")->next, rows[i].consistent ? "play" : "locating pins"));
      fixture_clear (&f);
    }
}

static void
read_bore (Fixture *f,
           double longest_deg,
           int wrong)
{
  for (int i = 0; i < 8; i++)
    fixture_read_at (f, EF_READ_BORE_DIAMETER, "pressure-housing", "drive", 22.5 * i,
                     18.03 * MM + 0.01 * MM * cos (2.0 * (22.5 * i - longest_deg) * DEGREE) + (i == wrong ? 0.05 * MM : 0.0));
}

/* The direction of a diameter is known modulo half a turn. */
static void
test_ovality (void)
{
  static const struct
  {
    double longest;
    gboolean consistent;
  } rows[] = { { -75, TRUE }, { 105, TRUE }, { 80, TRUE }, { 15, FALSE } };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      g_autoptr (GPtrArray) list = NULL;
      Fixture f;

      fixture_init (&f, "hl-24");
      read_bore (&f, rows[i].longest, -1);
      list = cross (&f);
      g_assert_nonnull (find (list, "bore-ovality:pressure-housing:drive"));
      g_assert_cmpint (find (list, "bore-ovality:")->consistent, ==, rows[i].consistent);
      g_assert_null (find (list, "suspect:"));
      fixture_clear (&f);
    }
}

/* One of eight reads 0.05 mm too much: it's named, whichever it is. */
static void
test_suspect (void)
{
  for (int wrong = 0; wrong < 8; wrong++)
    {
      g_autoptr (GPtrArray) list = NULL;
      const EfReading *reading;
      Fixture f;

      fixture_init (&f, "hl-24");
      read_bore (&f, 30, wrong);
      list = cross (&f);
      g_assert_nonnull (find (list, "suspect:"));
      reading = ef_inspection_find (f.inspection, EF_ITEM_READING, find (list, "suspect:")->id + strlen ("suspect:"));
      g_assert_nonnull (reading);
      g_assert_cmpfloat (fabs (reading->angle - wrong * 22.5 * DEGREE), <, 1e-6);
      fixture_clear (&f);
    }
}

/* What the findings say with the depth maps of the faces that have marks. */
static GPtrArray *
cross_with_maps (Fixture *f)
{
  GPtrArray *marks = f->inspection->items[EF_ITEM_MARK];
  GPtrArray *list;

  fixture_judge (f);
  f->findings.maps = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_depth_map_unref);
  for (guint i = 0; i < marks->len; i++)
    {
      const char *face = ((EfMark *) marks->pdata[i])->face_id;
      g_autoptr (GError) error = NULL;

      if (g_hash_table_contains (f->findings.maps, face))
        continue;
      g_hash_table_insert (f->findings.maps, g_strdup (face),
                           ef_depth_map_new (fixture_chart (f, face), (EfMark *const *) marks->pdata, marks->len, 2e-4, NULL, &error));
      g_assert_no_error (error);
    }
  list = ef_cross_findings (&f->findings, f->sheet->sections->pdata[0], load);
  g_clear_pointer (&f->findings.maps, g_hash_table_unref);

  return list;
}

/* A part of the floor at the driven gear worn, a ring sector of 150 degrees about psi. */
static void
wear_floor (Fixture *f,
            double psi_deg)
{
  const EfSection *section = f->sheet->sections->pdata[0];
  EfMark *mark = ef_mark_new (section->floor_face, EF_MARK_SCORING, EF_SHAPE_AREA, 0);
  EfFaceChart *chart = fixture_chart (f, section->floor_face);

  for (int i = 0; i < 32; i++)
    {
      double angle = psi_deg - 75 + 10 * (i < 16 ? i : 31 - i);
      double x, y;

      ef_section_at_psi (section, 1, (i < 16 ? 10 : 20.5) * MM, angle * DEGREE, &x, &y);
      ef_mark_add_node (mark, chart->map.looks < 0 ? -x : x, y);
    }
  ef_mark_set_depth (mark, 0.05 * MM, EF_UNIT_MM, FIXTURE_GAUGE);
  g_free (fixture_add_mark (f, mark));
}

/* Along the load's line, on either side; square to it not. */
static void
test_tilt (void)
{
  static const struct
  {
    double psi;
    gboolean consistent;
  } rows[] = { { -78, TRUE }, { 102, TRUE }, { -60, TRUE }, { 12, FALSE }, { 0, FALSE } };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      g_autoptr (GPtrArray) list = NULL;
      const EfCross *tilt;
      Fixture f;

      fixture_init (&f, "hl-24");
      wear_floor (&f, rows[i].psi);
      list = cross_with_maps (&f);
      tilt = find (list, "tilt:pressure-housing/floor:driven");
      g_assert_nonnull (tilt);
      /* ports on one side and a floor that isn't round pull the moment a little */
      g_assert_cmpfloat (fabs (remainder (tilt->direction - rows[i].psi * DEGREE, 2 * G_PI)), <, 12 * DEGREE);
      g_assert_cmpint (tilt->consistent, ==, rows[i].consistent);
      g_assert_cmpfloat (tilt->u_direction, >, 0);
      g_assert_cmpuint (tilt->refs->len, ==, 1);
      g_assert_null (find (list, "tilt:pressure-housing/floor:drive:"));
      fixture_clear (&f);
    }
}

/* As deep all round: nothing leans. */
static void
test_even_wear (void)
{
  g_autoptr (GPtrArray) list = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  for (int i = 0; i < 4; i++)
    wear_floor (&f, 90 * i);
  list = cross_with_maps (&f);
  g_assert_null (find (list, "tilt:"));
  fixture_clear (&f);
}

/* A gear's end turns under the load: wear on one side of it isn't the oil's. */
static void
test_gear_end (void)
{
  g_autoptr (GPtrArray) list = NULL;
  EfMark *mark;
  Fixture f;

  fixture_init (&f, "hl-24");
  mark = ef_mark_new ("pressure-drive-gear/end-a", EF_MARK_SCORING, EF_SHAPE_AREA, 0);
  ef_mark_add_node (mark, 0, -22 * MM);
  ef_mark_add_node (mark, 22 * MM, -22 * MM);
  ef_mark_add_node (mark, 22 * MM, 22 * MM);
  ef_mark_add_node (mark, 0, 22 * MM);
  ef_mark_set_depth (mark, 0.05 * MM, EF_UNIT_MM, FIXTURE_GAUGE);
  g_free (fixture_add_mark (&f, mark));
  list = cross_with_maps (&f);
  g_assert_nonnull (find (list, "tilt:pressure-drive-gear/end-a:drive"));
  g_assert_false (find (list, "tilt:")->consistent);
  g_assert_nonnull (strstr (find (list, "tilt:")->next, "foreign body"));
  fixture_clear (&f);
}

/* Out of round by 0.02 mm, or worn evenly. */
static void
test_journal (void)
{
  for (int oval = 0; oval < 2; oval++)
    {
      g_autoptr (GPtrArray) list = NULL;
      Fixture f;

      fixture_init (&f, "hl-24");
      fixture_chart (&f, "drive-shaft/journal-front");
      for (int i = 0; i < 8; i++)
        fixture_read_at (&f, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 22.5 * i, 17.95 * MM + (oval ? 0.01 * MM * cos (2 * (22.5 * i - 40) * DEGREE) : 0.0));
      list = cross (&f);
      g_assert_cmpint (find (list, "journal-ovality:drive-shaft:front") != NULL, ==, oval);
      if (oval)
        g_assert_false (find (list, "journal-ovality:")->consistent);
      fixture_clear (&f);
    }
}

static void
test_journal_marks (void)
{
  g_autoptr (GPtrArray) list = NULL;
  EfMark *mark;
  Fixture f;

  fixture_init (&f, "hl-24");
  mark = fixture_mark (&f, "drive-shaft/journal-front", EF_MARK_SCORING, 0.6, 0.02 * MM, NULL);
  mark->size = 12 * MM;
  g_free (fixture_add_mark (&f, mark));
  list = cross_with_maps (&f);
  g_assert_nonnull (find (list, "journal-wear:drive-shaft:front"));
  g_assert_cmpuint (find (list, "journal-wear:")->refs->len, ==, 1);
  fixture_clear (&f);
}

/* Clearances of both gears: alike, apart, apart by the gears' widths. */
static void
test_end_tilt (void)
{
  static const struct
  {
    double driven, narrower;
    gboolean told, consistent;
  } rows[] = { { 0.08, 0, FALSE, FALSE }, { 0.14, 0, TRUE, FALSE }, { 0.14, 0.06, TRUE, TRUE } };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      g_autoptr (GPtrArray) list = NULL;
      const EfSection *section;
      Fixture f;

      fixture_init_bare (&f, "hl-24");
      section = f.sheet->sections->pdata[0];
      fixture_gauge (&f, "gauge", EF_GAUGE_FEELER, 0.01 * MM);
      fixture_read (&f, EF_READ_END_CLEARANCE, section->id, "drive", 0.08 * MM, "gauge");
      fixture_read (&f, EF_READ_END_CLEARANCE, section->id, "driven", rows[i].driven * MM, "gauge");
      fixture_read (&f, EF_READ_FACE_WIDTH, section->gear_part[0], NULL, section->pair.in.face_width, "gauge");
      fixture_read (&f, EF_READ_FACE_WIDTH, section->gear_part[1], NULL, section->pair.in.face_width - rows[i].narrower * MM, "gauge");
      list = cross (&f);
      g_assert_cmpint (find (list, "end-tilt:") != NULL, ==, rows[i].told);
      if (rows[i].told)
        g_assert_cmpint (find (list, "end-tilt:")->consistent, ==, rows[i].consistent);
      fixture_clear (&f);
    }
}

/* Clearance read and had from depth less width: one of the three of the drive gear is 0.1 mm wrong. */
static void
test_end_suspect (void)
{
  for (int wrong = -1; wrong < 3; wrong++)
    {
      static const char *const names[] = { "the clearance as read", "the pocket depth", "face width" };
      g_autoptr (GPtrArray) list = NULL;
      const EfCross *suspect;
      const EfReading *reading;
      const EfSection *section;
      Fixture f;

      fixture_init_bare (&f, "hl-24");
      section = f.sheet->sections->pdata[0];
      fixture_gauge (&f, "gauge", EF_GAUGE_DEPTH, 0.01 * MM);
      for (int i = 0; i < 2; i++)
        {
          const char *side = i == 0 ? "drive" : "driven";
          double width = section->pair.in.face_width - 0.01 * MM;

          fixture_read (&f, EF_READ_END_CLEARANCE, section->id, side, 0.09 * MM + (i == 0 && wrong == 0 ? 0.1 * MM : 0), "gauge");
          fixture_read (&f, EF_READ_POCKET_DEPTH, section->id, side, width + 0.09 * MM + (i == 0 && wrong == 1 ? 0.1 * MM : 0), "gauge");
          fixture_read (&f, EF_READ_FACE_WIDTH, section->gear_part[i], NULL, width - (i == 0 && wrong == 2 ? 0.1 * MM : 0), "gauge");
        }
      list = cross (&f);
      suspect = find (list, "suspect:end-clearance:pressure:drive");
      g_assert_cmpint (suspect != NULL, ==, wrong >= 0);
      g_assert_null (find (list, "suspect:end-clearance:pressure:driven"));
      if (suspect != NULL)
        {
          static const EfQuantity quantities[] = { EF_READ_END_CLEARANCE, EF_READ_POCKET_DEPTH, EF_READ_FACE_WIDTH };

          g_assert_nonnull (strstr (suspect->sentence, names[wrong]));
          g_assert_nonnull (strstr (suspect->sentence, "is the suspect"));
          g_assert_cmpuint (suspect->refs->len, ==, 1);
          reading = ef_inspection_find (f.inspection, EF_ITEM_READING, strchr (suspect->refs->pdata[0], ':') + 1);
          g_assert_cmpint (reading->quantity, ==, quantities[wrong]);
        }
      fixture_clear (&f);
    }
}

/* Widths of the mates: as new, wider than new, at odds with the clearances read. */
static void
test_width_suspect (void)
{
  for (int wrong = 0; wrong < 3; wrong++)
    {
      g_autoptr (GPtrArray) list = NULL;
      const EfSection *section;
      double width;
      Fixture f;

      fixture_init (&f, "hl-24");
      section = f.sheet->sections->pdata[0];
      width = section->pair.in.face_width;
      fixture_read (&f, EF_READ_FACE_WIDTH, section->gear_part[0], NULL, width, NULL);
      fixture_read (&f, EF_READ_FACE_WIDTH, section->gear_part[1], NULL, width + (wrong == 1 ? 0.1 * MM : wrong == 2 ? -0.1 * MM : 0), NULL);
      list = cross (&f);
      g_assert_cmpint (find (list, "suspect:face-width:pressure-driven-gear") != NULL, ==, wrong == 1);
      g_assert_null (find (list, "suspect:face-width:pressure-drive-gear"));
      g_assert_cmpint (find (list, "suspect:mates:pressure") != NULL, ==, wrong > 0);
      if (wrong == 2)
        g_assert_cmpstr (find (list, "suspect:mates:")->target, ==, "pressure-driven-gear");
      fixture_clear (&f);
    }
}

/* A tilted plane, and one height of nine 0.05 mm off, whichever. */
static void
test_height_suspect (void)
{
  for (int wrong = -1; wrong < 9; wrong++)
    {
      g_autoptr (GPtrArray) list = NULL;
      const EfReading *reading;
      Fixture f;

      fixture_init (&f, "hl-24");
      fixture_gauge (&f, "dial", EF_GAUGE_DIAL, 0.004 * MM);
      for (int i = 0; i < 9; i++)
        {
          EfReading *height = ef_reading_new (EF_READ_FLATNESS, "separator/side-a", NULL, 0.01 * MM * (i % 3) + (i == wrong ? 0.05 * MM : 0), EF_UNIT_MM, "dial");

          height->u = 35 * MM * (i % 3 - 1);
          height->v = 15 * MM * (i / 3 - 1);
          fixture_add (&f, height);
        }
      list = cross (&f);
      g_assert_cmpint (find (list, "suspect:") != NULL, ==, wrong >= 0);
      if (wrong >= 0)
        {
          reading = ef_inspection_find (f.inspection, EF_ITEM_READING, strchr (find (list, "suspect:")->id, ':') + 1);
          g_assert_nonnull (reading);
          g_assert_cmpfloat (fabs (reading->u - 35 * MM * (wrong % 3 - 1)) + fabs (reading->v - 15 * MM * (wrong / 3 - 1)), <, 1e-9);
        }
      fixture_clear (&f);
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/judge/cross/lip", test_lip);
  g_test_add_func ("/judge/cross/ovality", test_ovality);
  g_test_add_func ("/judge/cross/suspect", test_suspect);

  g_test_add_func ("/judge/cross/tilt", test_tilt);
  g_test_add_func ("/judge/cross/even-wear", test_even_wear);
  g_test_add_func ("/judge/cross/gear-end", test_gear_end);
  g_test_add_func ("/judge/cross/journal", test_journal);
  g_test_add_func ("/judge/cross/journal-marks", test_journal_marks);
  g_test_add_func ("/judge/cross/end-tilt", test_end_tilt);
  g_test_add_func ("/judge/cross/end-suspect", test_end_suspect);
  g_test_add_func ("/judge/cross/width-suspect", test_width_suspect);
  g_test_add_func ("/judge/cross/height-suspect", test_height_suspect);

  return g_test_run ();
}
