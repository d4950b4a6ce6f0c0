/* Directions of wear against the computed load, and the reading that the others contradict. Constructed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "judge-fixture.h"

#include "judge/ef-cross.h"

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

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, G_TEST_OPTION_ISOLATE_DIRS, NULL);
  g_test_add_func ("/judge/cross/lip", test_lip);
  g_test_add_func ("/judge/cross/ovality", test_ovality);
  g_test_add_func ("/judge/cross/suspect", test_suspect);

  return g_test_run ();
}
