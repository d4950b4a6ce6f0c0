/* endfloat lesson import on the built program where the shop has roles: who may put a lesson in the place of one that is there, by PIN file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <gio/gio.h>

#include "lesson/ef-lesson-sheet.h"
#include "record/ef-store-lessons.h"
#include "record/ef-store-roles.h"
#include "../isolate.h"
#include "cli-run.h"

static char *store_path, *right_pin, *wrong_pin;

static char *
in_folder (const char *name)
{
  return g_build_filename (g_get_user_data_dir (), name, NULL);
}

/* Trainer with a PIN, bench without. */
static void
add_roles (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (store_path, &error);
  const EfWho owner = { "owner", NULL };

  g_assert_true (ef_store_add_role (store, "owner", EF_ROLE_OWNER, &(EfWho){ "", NULL }, &error));
  g_assert_true (ef_store_add_role (store, "trainer", EF_ROLE_TRAINER, &owner, &error));
  g_assert_true (ef_store_set_pin (store, "trainer", "2468", &ef_seal_strength_least, &owner, &error));
  g_assert_true (ef_store_add_role (store, "bench 2", EF_ROLE_BENCH, &owner, &error));
  g_assert_no_error (error);
}

/* A file of the lesson with this title. */
static char *
lesson_file (const char *title)
{
  g_autofree char *shipped = ef_data_path ("lessons", "torn-filter.json", NULL);
  g_autofree char *text = NULL;
  g_autofree char *name = g_strconcat (title, ".json", NULL);
  char *path = in_folder (name);
  g_autoptr (GError) error = NULL;
  EfLesson *lesson = ef_lesson_load (shipped, &error);

  g_assert_no_error (error);
  g_free (lesson->terms.title);
  lesson->terms.title = g_strdup (title);
  text = ef_lesson_write (lesson);
  ef_lesson_free (lesson);
  g_assert_true (g_file_set_contents (path, text, -1, NULL));

  return path;
}

/* The one lesson that is there, by title, role and how often it was put in: "Second, trainer, 2". */
static char *
present (void)
{
  g_autoptr (EfStore) store = ef_store_open (store_path, NULL);
  g_autoptr (GPtrArray) lessons = ef_store_lessons (store, TRUE, NULL);
  const EfLessonRow *row;

  g_assert_cmpuint (lessons->len, ==, 1);
  row = lessons->pdata[0];

  return g_strdup_printf ("%s, %s, %u", row->title, row->role, row->n_versions);
}

#define assert_present(text) \
  G_STMT_START { \
    g_autofree char *now_ = present (); \
    g_assert_cmpstr (now_, ==, (text)); \
  } G_STMT_END

/* A new one is anybody's, no PIN asked for; what is there is the trainer's, with the PIN. */
static void
test_import (void)
{
  g_autofree char *first = lesson_file ("First");
  g_autofree char *second = lesson_file ("Second");
  g_autofree char *third = lesson_file ("Third");

  assert_says (0, "First", "lesson import --store '%s' --role 'bench 2' '%s'", store_path, first);
  assert_present ("First, bench 2, 1");

  assert_says (1, "expected it, found none", "lesson import --store '%s' --role trainer '%s'", store_path, second);
  assert_says (1, "trainer: this isn't the PIN", "lesson import --store '%s' --role trainer --pin-file '%s' '%s'", store_path, wrong_pin, second);
  assert_says (1, "bench 2, as bench, may not change a lesson: that is for trainer, owner", "lesson import --store '%s' --role 'bench 2' '%s'", store_path, second);
  /* Somebody else's PIN doesn't help, nor a name that isn't the shop's, nor none. */
  assert_says (1, "bench 2, as bench, may not change a lesson", "lesson import --store '%s' --role 'bench 2' --pin-file '%s' '%s'", store_path, right_pin, second);
  assert_says (1, "found “trainer 9”", "lesson import --store '%s' --role 'trainer 9' --pin-file '%s' '%s'", store_path, right_pin, second);
  assert_says (1, "expected somebody who may change a lesson to be asked first", "lesson import --store '%s' '%s'", store_path, second);
  assert_says (3, "can't be read", "lesson import --store '%s' --role trainer --pin-file '%s.none' '%s'", store_path, right_pin, second);
  assert_present ("First, bench 2, 1");

  assert_says (0, "Second", "lesson import --store '%s' --role trainer --pin-file '%s' '%s'", store_path, right_pin, second);
  assert_present ("Second, trainer, 2");
  /* By standard input, as -. */
  assert_says (0, "Third", "lesson import --store '%s' --role trainer --pin-file - '%s' < '%s'", store_path, third, right_pin);
  assert_present ("Third, trainer, 3");
  /* The same again changes nothing, so nobody is asked. */
  assert_code (0, "lesson import --store '%s' --role 'bench 2' '%s'", store_path, third);
  assert_present ("Third, trainer, 3");
}

int
main (int argc,
      char **argv)
{
  int code;

  isolated_test_init (&argc, &argv);
  store_path = store_with_demo ();
  right_pin = in_folder ("right pin");
  wrong_pin = in_folder ("wrong pin");
  g_assert_true (g_file_set_contents (right_pin, "2468\n", -1, NULL));
  g_assert_true (g_file_set_contents (wrong_pin, "2469\n", -1, NULL));
  add_roles ();
  g_test_add_func ("/cli/lesson-import-roles", test_import);
  code = g_test_run ();
  g_free (store_path);
  g_free (right_pin);
  g_free (wrong_pin);

  return code;
}
