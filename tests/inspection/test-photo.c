/* A photo of a job: what is refused, turning, and where its pairs lay it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "inspection/ef-document.h"
#include "inspection/ef-inspection.h"
#include "random-inspection.h"
#include "../isolate.h"

#define DIGEST "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

static EfPhoto *
make_photo (void)
{
  EfPhoto *photo = ef_photo_new (DIGEST, "IMG 1.jpg", "image/jpeg", 4000, 3000);

  photo->shows = g_strdup ("separator/side-a");
  photo->taken = g_strdup ("2026-03-09T10:15:00");

  return photo;
}

static EfInspection *
make_inspection (void)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", "hl-24.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);

  g_assert_no_error (error);

  return ef_inspection_new (sheet, "J-1");
}

typedef void (*Spoil) (EfPhoto *photo);

static void bad_file (EfPhoto *p) { p->file[3] = 'X'; }
static void no_file (EfPhoto *p) { g_clear_pointer (&p->file, g_free); }
static void bad_name (EfPhoto *p) { g_free (p->name); p->name = g_strdup ("a\xff.jpg"); }
static void no_name (EfPhoto *p) { p->name[0] = '\0'; }
static void bad_type (EfPhoto *p) { g_free (p->type); p->type = g_strdup ("image/svg+xml"); }
static void no_width (EfPhoto *p) { p->width = 0; }
static void too_wide (EfPhoto *p) { p->width = EF_PHOTO_MOST_SIDE + 1; p->height = 1; }
static void too_many (EfPhoto *p) { p->width = p->height = 8001; }
static void bad_turns (EfPhoto *p) { p->turns = 4; }
static void bad_taken (EfPhoto *p) { g_free (p->taken); p->taken = g_strdup ("2026-02-30T10:15:00"); }
static void zoned_taken (EfPhoto *p) { g_free (p->taken); p->taken = g_strdup ("2026-02-20T10:15:00Z"); }
static void bad_shows (EfPhoto *p) { g_free (p->shows); p->shows = g_strdup ("separator/side-q"); }
static void bad_part (EfPhoto *p) { g_free (p->shows); p->shows = g_strdup ("crankshaft"); }
static void pair_outside (EfPhoto *p) { ef_photo_add_pair (p, 4001, 1, 0, 0); }
static void pair_nan (EfPhoto *p) { ef_photo_add_pair (p, 1, 1, NAN, 0); }
static void pair_without_face (EfPhoto *p) { g_clear_pointer (&p->shows, g_free); ef_photo_add_pair (p, 1, 1, 0, 0); }
static void pair_of_part (EfPhoto *p) { g_free (p->shows); p->shows = g_strdup ("separator"); ef_photo_add_pair (p, 1, 1, 0, 0); }

static void
test_refused (void)
{
  static const struct
  {
    Spoil spoil;
    const char *says;
  } cases[] = {
    { bad_file, "file: expected a SHA-256" }, { no_file, "file: expected" }, { bad_name, "name: expected UTF-8" }, { no_name, "name: expected a name" },
    { bad_type, "type: expected image/jpeg or image/png, found \"image/svg+xml\"" }, { no_width, "size_px: expected" }, { too_wide, "size_px: expected" },
    { too_many, "at most 64 million px in all, found 8001 x 8001" }, { bad_turns, "turns: expected" }, { bad_taken, "taken: expected a time" },
    { zoned_taken, "taken: expected a time" }, { bad_shows, "shows: expected a face or part" }, { bad_part, "shows: expected a face or part" },
    { pair_outside, "pair 1: expected a place on the photo (4000 x 3000 px)" }, { pair_nan, "pair 1: expected" },
    { pair_without_face, "shows: expected a face" }, { pair_of_part, "shows: expected a face" },
  };
  g_autoptr (EfInspection) inspection = make_inspection ();

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (EfItem) photo = &make_photo ()->item;
      g_autoptr (GError) error = NULL;

      g_assert_true (ef_inspection_check_item (inspection, photo, &error));
      g_assert_no_error (error);
      cases[i].spoil ((EfPhoto *) photo);
      g_assert_false (ef_inspection_check_item (inspection, photo, &error));
      g_assert_true (g_utf8_validate (error->message, -1, NULL));
      if (!g_str_has_prefix (error->message, "photo ") || strstr (error->message, cases[i].says) == NULL)
        g_error ("case %u: expected \"%s\" in \"%s\"", i, cases[i].says, error->message);
    }
}

/* A quarter turn clockwise brings the upper left corner to the upper right; and there is a way back from everywhere. */
static void
test_turns (void)
{
  static const double corner[4][2] = { { 0, 0 }, { 3000, 0 }, { 4000, 3000 }, { 0, 4000 } };
  g_autoptr (EfItem) item = &make_photo ()->item;
  EfPhoto *photo = (EfPhoto *) item;

  for (photo->turns = 0; photo->turns < 4; photo->turns++)
    {
      double x, y, bx, by;
      int width, height;

      ef_photo_turned_size (photo, &width, &height);
      g_assert_cmpint (width, ==, photo->turns % 2 ? 3000 : 4000);
      ef_photo_turn_point (photo, 0, 0, &x, &y);
      g_assert_cmpfloat (x, ==, corner[photo->turns][0]);
      g_assert_cmpfloat (y, ==, corner[photo->turns][1]);
      ef_photo_turn_point (photo, 1234, 567, &x, &y);
      g_assert_true (x >= 0 && x <= width && y >= 0 && y <= height);
      ef_photo_upright_point (photo, x, y, &bx, &by);
      g_assert_cmpfloat (bx, ==, 1234);
      g_assert_cmpfloat (by, ==, 567);
    }
}

/* Attached, laid, removed, with undo and redo each. */
static void
test_undo (void)
{
  g_autoptr (EfInspection) inspection = make_inspection ();
  g_autoptr (EfDocument) document = ef_document_new (g_steal_pointer (&inspection));
  g_autoptr (EfItem) photo = &make_photo ()->item;
  g_autoptr (EfItem) laid = ef_item_copy (photo);
  g_autoptr (GError) error = NULL;
  EfItem *const steps[] = { NULL, photo, laid, NULL };
  guint n = ef_document_inspection (document)->items[EF_ITEM_PHOTO]->len;

  g_assert_cmpuint (n, ==, 0);
  for (guint i = 0; i < 4; i++)
    ef_photo_add_pair ((EfPhoto *) laid, 100 + 3000 * (i % 2), 100 + 2000 * (i / 2), 0.04 * (i % 2), -0.03 * (i / 2));
  for (guint i = 0; i + 1 < G_N_ELEMENTS (steps); i++)
    {
      EfChange *change = ef_change_new ("photo");

      ef_change_add (change, steps[i], steps[i + 1]);
      g_assert_true (ef_document_apply (document, change, &error));
      g_assert_no_error (error);
      g_assert_true (ef_document_undo (document, &error));
      g_assert_true (ef_item_equal (ef_inspection_find (ef_document_inspection (document), EF_ITEM_PHOTO, photo->id), steps[i]));
      g_assert_true (ef_document_redo (document, &error));
      g_assert_true (ef_item_equal (ef_inspection_find (ef_document_inspection (document), EF_ITEM_PHOTO, photo->id), steps[i + 1]));
    }
}

/* Pairs on the grid that files keep survive JSON to the last bit; the fit through the item is the fit of its pairs. */
static void
test_fit (void)
{
  g_autoptr (EfItem) item = &make_photo ()->item;
  EfPhoto *photo = (EfPhoto *) item;
  g_auto (EfRegistration) fit = { 0 };
  g_autoptr (GError) error = NULL;
  double u, v;

  ef_photo_add_pair (photo, 100, 100, -0.04, 0.03);
  ef_photo_add_pair (photo, 3900, 100, 0.04, 0.03);
  ef_photo_add_pair (photo, 3900, 2950, 0.04, -0.03);
  g_assert_false (ef_photo_fit (photo, &fit, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_clear_error (&error);
  ef_photo_add_pair (photo, 100, 2950, -0.04, -0.03);
  g_assert_true (ef_photo_fit (photo, &fit, &error));
  g_assert_no_error (error);
  ef_registration_to_face (&fit, 2000, 1525, &u, &v);
  g_assert_cmpfloat (hypot (u, v), <, 1e-12);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/photo/refused", test_refused);
  g_test_add_func ("/photo/turns", test_turns);
  g_test_add_func ("/photo/undo", test_undo);
  g_test_add_func ("/photo/fit", test_fit);

  return g_test_run ();
}
