/* The command line as a user meets it: the built program, run without a display.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <gio/gio.h>
#include <glib/gstdio.h>
#include <json-glib/json-glib.h>
#include <string.h>
#include <sys/wait.h>

#include "pump/ef-pump-sheet.h"

typedef struct
{
  char *output, *errors;
  int code;
} Run;

static void
run_clear (Run *run)
{
  g_free (run->output);
  g_free (run->errors);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Run, run_clear)

/* Arguments after the program's name, NULL-terminated; @input for stdin or NULL. */
static Run
run_program (const char *input,
             ...)
{
  g_autoptr (GPtrArray) argv = g_ptr_array_new ();
  g_autoptr (GSubprocessLauncher) launcher = g_subprocess_launcher_new (G_SUBPROCESS_FLAGS_STDIN_PIPE | G_SUBPROCESS_FLAGS_STDOUT_PIPE | G_SUBPROCESS_FLAGS_STDERR_PIPE);
  g_autoptr (GSubprocess) process = NULL;
  g_autoptr (GError) error = NULL;
  Run run = { 0 };
  const char *word;
  va_list args;

  g_ptr_array_add (argv, (char *) g_getenv ("ENDFLOAT_PROGRAM"));
  va_start (args, input);
  while ((word = va_arg (args, const char *)) != NULL)
    g_ptr_array_add (argv, (char *) word);
  va_end (args);
  g_ptr_array_add (argv, NULL);

  g_subprocess_launcher_unsetenv (launcher, "DISPLAY");
  g_subprocess_launcher_unsetenv (launcher, "WAYLAND_DISPLAY");
  process = g_subprocess_launcher_spawnv (launcher, (const char *const *) argv->pdata, &error);
  g_assert_no_error (error);
  g_assert_true (g_subprocess_communicate_utf8 (process, input != NULL ? input : "", NULL, &run.output, &run.errors, &error));
  g_assert_no_error (error);
  g_assert_true (g_subprocess_get_if_exited (process));
  run.code = g_subprocess_get_exit_status (process);

  return run;
}

#define assert_in(text, part) \
  G_STMT_START { \
    if (strstr ((text), (part)) == NULL) \
      g_error ("\"%s\" isn't in: %s", (part), (text)); \
  } G_STMT_END

static char *
demo (void)
{
  return ef_data_path ("demo", "job-1-hl-24.json", NULL);
}

static void
test_help (void)
{
  g_auto (Run) help = run_program (NULL, "help", NULL);
  g_auto (Run) version = run_program (NULL, "--version", NULL);
  g_auto (Run) verb = run_program (NULL, "report", "--help", NULL);

  g_assert_cmpint (help.code, ==, 0);
  assert_in (help.output, "assess");
  g_assert_cmpint (version.code, ==, 0);
  assert_in (version.output, "endfloat 0.");
  g_assert_cmpint (verb.code, ==, 0);
  assert_in (verb.output, "--paper");
}

static void
test_assess (void)
{
  g_autofree char *path = demo ();
  g_auto (Run) run = run_program (NULL, "assess", path, NULL);
  g_autoptr (JsonNode) node = NULL;
  JsonObject *object;

  g_assert_cmpint (run.code, ==, 0);
  node = json_from_string (run.output, NULL);
  g_assert_nonnull (node);
  object = json_node_get_object (node);
  g_assert_cmpstr (json_object_get_string_member (object, "format"), ==, "endfloat-results");
  g_assert_cmpstr (json_object_get_string_member (json_object_get_object_member (object, "verdict"), "verdict"), ==, "rework");
  g_assert_true (json_object_has_member (object, "flow"));
}

static void
test_report (void)
{
  g_autofree char *path = demo ();
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", NULL);
  g_autofree char *first = g_build_filename (folder, "first.pdf", NULL);
  g_autofree char *second = g_build_filename (folder, "second.pdf", NULL);
  g_auto (Run) run = run_program (NULL, "report", path, "-o", first, "--created", "2026-03-01T08:00:00Z", "-p", "letter", NULL);
  g_auto (Run) again = run_program (NULL, "report", path, "-o", second, "--created", "2026-03-01T08:00:00Z", "-p", "letter", NULL);
  g_autofree char *a = NULL, *b = NULL;
  g_autofree char *text = NULL;
  g_autofree char *command = g_strdup_printf ("pdftotext -layout %s -", first);
  gsize n, m;

  g_assert_cmpint (run.code, ==, 0);
  g_assert_cmpint (again.code, ==, 0);
  g_assert_true (g_file_get_contents (first, &a, &n, NULL));
  g_assert_true (g_file_get_contents (second, &b, &m, NULL));
  g_assert_cmpmem (a, n, b, m);
  g_assert_true (g_spawn_command_line_sync (command, &text, NULL, NULL, NULL));
  assert_in (text, "HL-24");
  assert_in (text, "Rework");
  g_unlink (first);
  g_unlink (second);
  g_rmdir (folder);
}

static void
test_pictures (void)
{
  g_autofree char *path = demo ();
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", NULL);
  g_auto (Run) run = run_program (NULL, "pictures", path, "-o", folder, "-f", "svg", "--face", "separator/side-a", NULL);
  g_auto (Run) wrong = run_program (NULL, "pictures", path, "-o", folder, "--face", "separator/side-z", NULL);
  g_autofree char *file = g_build_filename (folder, "separator_side-a.svg", NULL);

  g_assert_cmpint (run.code, ==, 0);
  assert_in (run.output, "separator_side-a.svg");
  g_assert_true (g_file_test (file, G_FILE_TEST_IS_REGULAR));
  g_assert_cmpint (wrong.code, ==, 1);
  assert_in (wrong.errors, "separator/side-a");
  g_unlink (file);
  g_rmdir (folder);
}

static void
test_check_sheet (void)
{
  g_autofree char *good = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autofree char *bad = demo ();
  g_auto (Run) both = run_program (NULL, "check-sheet", good, bad, NULL);
  g_auto (Run) one = run_program (NULL, "check-sheet", good, NULL);

  g_assert_cmpint (one.code, ==, 0);
  assert_in (one.output, "contact ratio");
  g_assert_cmpint (both.code, ==, 1);
  assert_in (both.errors, "$.format");
}

static void
test_compute (void)
{
  g_auto (Run) list = run_program (NULL, "compute", "--list", NULL);
  g_auto (Run) example = run_program (NULL, "compute", "--example", "flat-spot", NULL);
  g_auto (Run) describe = run_program (NULL, "compute", "--describe", "gear-pair", NULL);
  g_auto (Run) run = run_program (example.output, "compute", "flat-spot", NULL);
  g_auto (Run) bad = run_program ("{\"module_mm\": }", "compute", "gear-pair", NULL);
  g_auto (Run) unknown = run_program ("{}", "compute", "horoscope", NULL);

  g_assert_cmpint (list.code, ==, 0);
  assert_in (list.output, "gear-pair");
  assert_in (list.output, "bearing-area");
  g_assert_cmpint (describe.code, ==, 0);
  assert_in (describe.output, "module_mm");
  g_assert_cmpint (run.code, ==, 0);
  assert_in (run.output, "depth_mm");
  g_assert_cmpint (bad.code, ==, 1);
  g_assert_cmpint (unknown.code, ==, 2);
  assert_in (unknown.errors, "horoscope");
}

static void
test_wrong_commands (void)
{
  g_autofree char *path = demo ();
  g_auto (Run) nothing = run_program (NULL, "assess", NULL);
  g_auto (Run) option = run_program (NULL, "assess", "--colour", path, NULL);
  g_auto (Run) paper = run_program (NULL, "report", path, "-o", "x.pdf", "-p", "foolscap", NULL);
  g_auto (Run) missing = run_program (NULL, "assess", "no-such-file.json", NULL);
  g_auto (Run) folder = run_program (NULL, "report", path, "-o", "/no/such/folder/x.pdf", NULL);

  g_assert_cmpint (nothing.code, ==, 2);
  g_assert_cmpint (option.code, ==, 2);
  g_assert_cmpint (paper.code, ==, 2);
  assert_in (paper.errors, "foolscap");
  g_assert_cmpint (missing.code, ==, 3);
  assert_in (missing.errors, "no-such-file.json");
  g_assert_cmpint (folder.code, ==, 3);
  assert_in (folder.errors, "/no/such/folder/x.pdf");
}

static void
test_broken_file (void)
{
  g_autofree char *path = demo ();
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", NULL);
  g_autofree char *file = g_build_filename (folder, "broken.json", NULL);
  g_autofree char *text = NULL;
  gsize n;

  g_assert_true (g_file_get_contents (path, &text, &n, NULL));
  g_assert_true (g_file_set_contents (file, text, n / 2, NULL));
  {
    g_auto (Run) run = run_program (NULL, "assess", file, NULL);

    g_assert_cmpint (run.code, ==, 1);
    assert_in (run.errors, "broken.json");
    g_assert_cmpstr (run.output, ==, "");
  }
  g_unlink (file);
  g_rmdir (folder);
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/cli/help", test_help);
  g_test_add_func ("/cli/assess", test_assess);
  g_test_add_func ("/cli/report-same-bytes", test_report);
  g_test_add_func ("/cli/pictures", test_pictures);
  g_test_add_func ("/cli/check-sheet", test_check_sheet);
  g_test_add_func ("/cli/compute", test_compute);
  g_test_add_func ("/cli/wrong-commands", test_wrong_commands);
  g_test_add_func ("/cli/broken-file", test_broken_file);

  return g_test_run ();
}
