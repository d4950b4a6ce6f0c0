/* What differs between two states of a face: which marks count as removed, added or changed, how much wear that is, and that the picture shows it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sample.h"
#include "draw/ef-draw-difference.h"
#include "record/ef-exchange.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>
#include "../isolate.h"

#define FACE "separator/side-a"

static EfInspection *
demo (void)
{
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "demo", "job-1-hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  EfInspection *inspection = ef_exchange_load (path, &error);

  g_assert_no_error (error);
  return inspection;
}

/* The first of the kind on the face, deepest first. */
static const EfMark *
find_mark (const EfInspection *inspection, EfMarkKind kind)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, FACE);

  for (guint i = 0; i < marks->len; i++)
    if (((const EfMark *) g_ptr_array_index (marks, i))->kind == kind)
      return g_ptr_array_index (marks, i);
  g_assert_not_reached ();
}

static void
swap (EfInspection *inspection, const char *id, EfItem *by)
{
  EfItem *was = ef_inspection_find (inspection, EF_ITEM_MARK, id);
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_inspection_swap (inspection, was, by, &error));
  g_assert_no_error (error);
}

static EfFaceDifference *
differ (const EfInspection *before, const EfInspection *after, GPtrArray **differences)
{
  g_autoptr (GError) error = NULL;
  EfFaceDifference *self;

  *differences = ef_compare (before, after);
  self = ef_face_difference_new (before, after, *differences, FACE, NULL, &error);
  g_assert_no_error (error);
  return self;
}

/* m3, by the face's wear: worked out another way than cell by cell against each other. */
static double
lost (const EfInspection *inspection, const EfFaceChart *chart)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, FACE);
  g_autoptr (EfDepthMap) map = ef_depth_map_new (chart, (EfMark *const *) marks->pdata, marks->len, 0, NULL, NULL);
  EfFaceWear wear;
  double volume;

  ef_face_wear_from_map (chart, map, &wear);
  volume = wear.volume;
  ef_face_wear_clear (&wear);
  return volume;
}

static void
test_nothing (void)
{
  g_autoptr (EfInspection) inspection = demo ();
  g_autoptr (GPtrArray) differences = NULL;
  g_autoptr (EfFaceDifference) self = differ (inspection, inspection, &differences);
  g_autoptr (GPtrArray) faces = ef_face_difference_faces (inspection, inspection, differences);
  g_autofree char *words = ef_face_difference_words (self);

  g_assert_cmpuint (faces->len, ==, 0);
  g_assert_cmpuint (self->n_removed + self->n_added + self->n_changed, ==, 0);
  g_assert_cmpuint (self->n_same, ==, 27);
  g_assert_cmpfloat (self->greatest, ==, 0);
  g_assert_cmpstr (words, ==, "27 the same. No depth differs.");
}

static void
test_removed (void)
{
  g_autoptr (EfInspection) before = demo ();
  g_autoptr (EfInspection) after = demo ();
  g_autoptr (GPtrArray) differences = NULL;
  g_autoptr (GPtrArray) back_differences = NULL;
  g_autoptr (GPtrArray) faces = NULL;
  g_autoptr (EfFaceDifference) self = NULL;
  g_autoptr (EfFaceDifference) back = NULL;
  g_autofree char *words = NULL;

  swap (after, find_mark (after, EF_MARK_GROOVE)->item.id, NULL);
  self = differ (before, after, &differences);
  g_assert_cmpuint (self->n_removed, ==, 1);
  g_assert_cmpuint (self->n_added + self->n_changed, ==, 0);
  g_assert_cmpuint (self->n_same, ==, 26);
  g_assert_cmpfloat (self->volume, <, 0);
  g_assert_cmpfloat_with_epsilon (self->volume, lost (after, self->chart) - lost (before, self->chart), 1e-5 * fabs (self->volume));
  words = ef_face_difference_words (self);
  g_assert_true (g_str_has_prefix (words, "1 mark removed, 26 the same. "));
  g_assert_true (g_str_has_suffix (words, "mm³ less worn away."));
  faces = ef_face_difference_faces (before, after, differences);
  g_assert_cmpuint (faces->len, ==, 1);
  g_assert_cmpstr (g_ptr_array_index (faces, 0), ==, FACE);

  /* The other way round it was added, and everything changes its sign. */
  back = differ (after, before, &back_differences);
  g_assert_cmpuint (back->n_added, ==, 1);
  g_assert_cmpuint (back->n_removed, ==, 0);
  g_assert_cmpfloat (back->volume, ==, -self->volume);
  g_assert_cmpfloat (back->greatest, ==, self->greatest);
}

/* A mark that went to the other side was removed from this one. */
static void
test_moved_away (void)
{
  g_autoptr (EfInspection) before = demo ();
  g_autoptr (EfInspection) after = demo ();
  g_autoptr (GPtrArray) differences = NULL;
  g_autoptr (GPtrArray) faces = NULL;
  g_autoptr (EfFaceDifference) self = NULL;
  const EfMark *mark = find_mark (after, EF_MARK_IMPRINT);
  g_autoptr (EfItem) moved = ef_item_copy (&mark->item);

  g_free (((EfMark *) moved)->face_id);
  ((EfMark *) moved)->face_id = g_strdup ("separator/side-b");
  swap (after, mark->item.id, moved);
  self = differ (before, after, &differences);
  g_assert_cmpuint (self->n_removed, ==, 1);
  g_assert_cmpuint (self->n_changed, ==, 0);
  faces = ef_face_difference_faces (before, after, differences);
  g_assert_cmpuint (faces->len, ==, 2);
}

/* Twice as deep: what one mark adds is what its depth adds, and the change is nowhere more than that. */
static void
test_deeper (void)
{
  g_autoptr (EfInspection) before = demo ();
  g_autoptr (EfInspection) after = demo ();
  g_autoptr (GPtrArray) differences = NULL;
  g_autoptr (EfFaceDifference) self = NULL;
  const EfMark *mark = find_mark (after, EF_MARK_GROOVE);
  g_autoptr (EfItem) deeper = ef_item_copy (&mark->item);
  GArray *depths = ((EfMark *) deeper)->depths;
  double deepest = 0;

  for (guint i = 0; i < depths->len; i++)
    {
      deepest = MAX (deepest, g_array_index (depths, EfMarkDepth, i).depth);
      g_array_index (depths, EfMarkDepth, i).depth *= 2;
    }
  swap (after, mark->item.id, deeper);
  self = differ (before, after, &differences);
  g_assert_cmpuint (self->n_changed, ==, 1);
  g_assert_cmpuint (self->n_removed + self->n_added, ==, 0);
  g_assert_cmpuint (self->before->len, ==, 1);
  g_assert_cmpuint (self->after->len, ==, 1);
  g_assert_cmpfloat (self->greatest, <=, deepest * (1 + 1e-6));
  g_assert_cmpfloat (self->greatest, >, 0.5 * deepest);
  g_assert_cmpfloat (self->volume, >, 0);
  for (gsize k = 0; k < (gsize) self->grid->nu * self->grid->nv; k++)
    g_assert_cmpfloat (self->change[k], >=, -1e-9);
}

/* Sums of the picture's blue less its red where the change was drawn: which way it went is to be seen. */
static double
blueness (const EfFaceDifference *self)
{
  cairo_surface_t *image = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 900, 600);
  cairo_t *cr = cairo_create (image);
  EfDrawStyle style;
  const guint8 *data;
  double sum = 0;

  ef_draw_style_screen (&style, FALSE, FALSE);
  ef_draw_paper (cr, &style);
  ef_draw_face_difference (cr, &style, self, 900, 600);
  g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
  cairo_surface_flush (image);
  data = cairo_image_surface_get_data (image);
  for (int y = 0; y < 540; y++) /* the scale at the foot has both colours */
    for (int x = 0; x < 900; x++)
      {
        const guint8 *pixel = data + y * cairo_image_surface_get_stride (image) + 4 * x;

        sum += pixel[0] - pixel[2];
      }
  cairo_destroy (cr);
  cairo_surface_destroy (image);
  return sum;
}

static void
test_colours (void)
{
  g_autoptr (EfInspection) before = demo ();
  g_autoptr (EfInspection) after = demo ();
  g_autoptr (GPtrArray) same_list = NULL;
  g_autoptr (GPtrArray) less_list = NULL;
  g_autoptr (GPtrArray) more_list = NULL;
  g_autoptr (EfFaceDifference) same = NULL;
  g_autoptr (EfFaceDifference) less = NULL;
  g_autoptr (EfFaceDifference) more = NULL;

  swap (after, find_mark (after, EF_MARK_GROOVE)->item.id, NULL);
  same = differ (after, after, &same_list);
  less = differ (before, after, &less_list);
  more = differ (after, before, &more_list);
  g_assert_cmpfloat (blueness (less), >, blueness (same) + 1000);
  g_assert_cmpfloat (blueness (more), <, blueness (same) - 1000);
}

static void
test_file (void)
{
  g_autoptr (EfInspection) before = demo ();
  g_autoptr (EfInspection) after = demo ();
  g_autoptr (GPtrArray) differences = NULL;
  g_autoptr (EfFaceDifference) self = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "endfloat-difference.svg", NULL);
  g_autofree char *text = NULL;

  swap (after, find_mark (after, EF_MARK_GROOVE)->item.id, NULL);
  self = differ (before, after, &differences);
  g_assert_true (ef_picture_write_difference (self, path, 1200, 900, &error));
  g_assert_no_error (error);
  g_assert_true (g_file_get_contents (path, &text, NULL, NULL));
  g_assert_nonnull (strstr (text, "</svg>"));
  g_unlink (path);
  g_assert_false (ef_picture_write_difference (self, "difference.txt", 1200, 900, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_face_difference_new (before, after, differences, "separator/side-c", NULL, &error));
  g_assert_nonnull (error);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/difference/nothing", test_nothing);
  g_test_add_func ("/draw/difference/removed", test_removed);
  g_test_add_func ("/draw/difference/moved-away", test_moved_away);
  g_test_add_func ("/draw/difference/deeper", test_deeper);
  g_test_add_func ("/draw/difference/colours", test_colours);
  g_test_add_func ("/draw/difference/file", test_file);
  return g_test_run ();
}
