/* The command line as a user meets it: the built program, run without a display.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <gio/gio.h>
#include <glib/gstdio.h>
#include <json-glib/json-glib.h>
#include <string.h>
#include <sys/wait.h>

#include "pump/ef-pump-sheet.h"
#include "../isolate.h"

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

/* PINs by standard input; what a role may not do, or not without its PIN, isn't done, be it sealing, withdrawing or restoring. */
static void
test_roles (void)
{
  g_autofree char *path = demo ();
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", NULL);
  g_autofree char *store = g_build_filename (folder, "store.sqlite", NULL);
  g_autofree char *pin = g_build_filename (folder, "pin", NULL);
  g_auto (Run) import = run_program (NULL, "seal", store, "import", path, NULL);
  g_auto (Run) first = run_program (NULL, "roles", store, "add", "bench 2", "--kind", "bench", NULL);
  g_auto (Run) owner = run_program (NULL, "roles", store, "add", "owner", "--kind", "owner", NULL);
  g_auto (Run) own = run_program ("4711\n", "roles", store, "set-pin", "owner", "--as", "owner", NULL);
  g_auto (Run) without = run_program ("", "roles", store, "add", "desk", "--kind", "clerk", "--as", "owner", NULL);
  g_auto (Run) wrong = run_program ("4712\n", "roles", store, "add", "desk", "--kind", "clerk", "--as", "owner", NULL);
  g_auto (Run) desk = run_program ("4711\n", "roles", store, "add", "desk", "--kind", "clerk", "--as", "owner", NULL);
  g_auto (Run) set = run_program ("4711\n1357\n", "roles", store, "set-pin", "desk", "--as", "owner", NULL);
  g_auto (Run) list = run_program (NULL, "roles", store, "list", NULL);
  g_auto (Run) history = run_program (NULL, "roles", store, "history", NULL);

  g_assert_cmpint (import.code, ==, 0);
  g_assert_cmpint (first.code, ==, 1);
  assert_in (first.errors, "expected owner for the first role");
  g_assert_cmpint (owner.code, ==, 0);
  g_assert_cmpint (own.code, ==, 0);
  g_assert_cmpint (without.code, ==, 1);
  assert_in (without.errors, "standard input: expected a line, found none");
  g_assert_cmpint (wrong.code, ==, 1);
  assert_in (wrong.errors, "owner: this isn't the PIN");
  g_assert_cmpint (desk.code, ==, 0);
  g_assert_cmpint (set.code, ==, 0);
  g_assert_cmpstr (list.output, ==, "owner\towner\tPIN\ndesk\tclerk\tPIN\n");
  assert_in (history.output, "desk\tPIN set\tby owner");

  g_assert_true (g_file_set_contents (pin, "1357\n", -1, NULL));
  {
    g_auto (Run) seal = run_program (NULL, "seal", store, "job", "J-0412", "-p", pin, "-r", "desk", "--pin-file", pin, NULL);
    g_auto (Run) nameless = run_program (NULL, "seal", store, "withdraw", "J-0412", "--reason", "entered twice", NULL);
    g_auto (Run) pinless = run_program (NULL, "seal", store, "withdraw", "J-0412", "-r", "desk", "--reason", "entered twice", NULL);
    g_auto (Run) withdraw = run_program ("1357\n", "seal", store, "withdraw", "J-0412", "-r", "desk", "--reason", "entered twice", "--pin-file", "-", NULL);
    g_auto (Run) withdrawn = run_program (NULL, "seal", store, "withdrawn", NULL);
    g_auto (Run) reinstate = run_program (NULL, "seal", store, "reinstate", "J-0412", "-r", "desk", "--reason", "wasn't", "--pin-file", pin, NULL);
    g_auto (Run) none = run_program (NULL, "seal", store, "withdrawn", NULL);
    g_auto (Run) backup = run_program (NULL, "backup", store, NULL);
    g_autofree char *copy = g_strchomp (g_strdup (backup.output));
    g_auto (Run) refused = run_program (NULL, "restore", copy, store, "-r", "desk", "--pin-file", pin, NULL);
    g_auto (Run) restored = run_program ("4711\n", "restore", copy, store, "-r", "owner", "--pin-file", "-", NULL);

    g_assert_cmpint (seal.code, ==, 1);
    assert_in (seal.errors, "desk, as clerk, may not sign off and seal");
    g_assert_cmpint (nameless.code, ==, 1);
    assert_in (nameless.errors, "expected one of the shop's (owner, desk), found none");
    g_assert_cmpint (pinless.code, ==, 1);
    assert_in (pinless.errors, "desk: PIN: expected it, found none");
    g_assert_cmpint (withdraw.code, ==, 0);
    assert_in (withdrawn.output, "J-0412\t");
    assert_in (withdrawn.output, "\tdesk\tentered twice\n");
    g_assert_cmpint (reinstate.code, ==, 0);
    g_assert_cmpstr (none.output, ==, "");
    g_assert_cmpint (refused.code, ==, 1);
    assert_in (refused.errors, "desk, as clerk, may not restore a backup");
    g_assert_cmpint (restored.code, ==, 0);
  }

  /* Others could read it: said, and done all the same. */
  g_assert_cmpint (g_chmod (store, 0644), ==, 0);
  {
    g_auto (Run) open = run_program (NULL, "roles", store, "list", NULL);
    g_auto (Run) lost = run_program (NULL, "roles", store, "lost-pin", "owner", NULL);
    g_auto (Run) after = run_program (NULL, "roles", store, "list", NULL);

    g_assert_cmpint (open.code, ==, 0);
    assert_in (open.errors, "can be read by others on this computer (mode 0644)");
    g_assert_cmpint (lost.code, ==, 0);
    assert_in (after.output, "owner\towner\tno PIN\n");
  }
}

/* A mistyped path is told, not made into an empty store. */
static void
test_mistyped_store (void)
{
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", NULL);
  g_autofree char *store = g_build_filename (folder, "mistyped.sqlite", NULL);
  const char *const tries[][6] = {
    { "roles", store, "list" },     { "seal", store, "withdrawn" },           { "seal", store, "job", "J-0412" }, { "shelf", "list", "--store", store },
    { "jobs", "--store", store },   { "statistics", "--store", store },       { "verify", store },                { "lesson", "progress", "--store", store },
    { "backup", store, "--check" }, { "photos", "list", "--store", store, "--job", "J-1" },
  };

  for (gsize i = 0; i < G_N_ELEMENTS (tries); i++)
    {
      g_auto (Run) run = run_program (NULL, tries[i][0], tries[i][1], tries[i][2], tries[i][3], tries[i][4], tries[i][5], NULL);

      g_assert_cmpint (run.code, ==, 3);
      assert_in (run.errors, store);
      g_assert_false (g_file_test (store, G_FILE_TEST_EXISTS));
    }
  isolated_remove (folder);
}

/* Copied, listed, checked, put back; a damaged copy is named and refused. */
static void
test_backup_and_restore (void)
{
  g_autofree char *path = demo ();
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", NULL);
  g_autofree char *store = g_build_filename (folder, "store.sqlite", NULL);
  g_autofree char *copies = g_build_filename (folder, "store.backups", NULL);
  g_auto (Run) import = run_program (NULL, "seal", store, "import", path, NULL);
  g_auto (Run) backup = run_program (NULL, "backup", store, NULL);
  g_autofree char *copy = g_strchomp (g_strdup (backup.output));
  g_auto (Run) list = run_program (NULL, "backup", store, "--list", NULL);
  g_auto (Run) check = run_program (NULL, "backup", copy, "--check", NULL);
  g_autofree char *bytes = NULL;
  gsize length;

  g_assert_cmpint (import.code, ==, 0);
  g_assert_cmpint (backup.code, ==, 0);
  g_assert_true (g_str_has_prefix (copy, copies));
  g_assert_cmpint (list.code, ==, 0);
  assert_in (list.output, "jobs:      1  sound  ");
  g_assert_cmpint (check.code, ==, 0);
  assert_in (check.output, ": sound, jobs: 1\n");

  g_assert_true (g_file_set_contents (store, "not a store any more", -1, NULL));
  {
    g_auto (Run) broken = run_program (NULL, "backup", store, "--check", NULL);
    g_auto (Run) restore = run_program (NULL, "restore", copy, store, NULL);
    g_autofree char *kept = g_strchomp (g_strdup (restore.output));
    g_auto (Run) again = run_program (NULL, "backup", store, "--check", NULL);

    g_assert_cmpint (broken.code, ==, 1);
    g_assert_cmpint (restore.code, ==, 0);
    g_assert_true (g_str_has_prefix (kept, store) && strstr (kept, ".before-") != NULL);
    g_assert_true (g_file_get_contents (kept, &bytes, &length, NULL));
    g_assert_cmpstr (bytes, ==, "not a store any more");
    assert_in (again.output, ": sound, jobs: 1\n");
  }

  g_clear_pointer (&bytes, g_free);
  g_assert_true (g_file_get_contents (copy, &bytes, &length, NULL));
  /* Over the pages that hold marks, wherever the store keeps them. */
  for (gsize at = 0; at + 4096 <= length; at += 4096)
    {
      g_autoptr (GBytes) page = g_bytes_new (bytes + at, 4096);

      if (memmem (g_bytes_get_data (page, NULL), 4096, "nodes_mm", 8) != NULL)
        memset (bytes + at, 0xa5, 4096);
    }
  g_assert_true (g_file_set_contents (copy, bytes, (gssize) length, NULL));
  {
    g_auto (Run) damaged = run_program (NULL, "backup", store, "--list", NULL);
    g_auto (Run) refused = run_program (NULL, "restore", copy, store, NULL);
    g_auto (Run) missing = run_program (NULL, "restore", "/proc/none", store, NULL);
    g_auto (Run) wrong = run_program (NULL, "backup", store, "--list", "--check", NULL);

    g_assert_cmpint (damaged.code, ==, 1);
    assert_in (damaged.output, "NOT SOUND");
    g_assert_cmpint (refused.code, ==, 1);
    g_assert_cmpint (missing.code, ==, 3);
    g_assert_cmpint (wrong.code, ==, 2);
  }
  /* The same damage in a store: what can be read comes out, what can't is named. */
  {
    g_autofree char *out = g_build_filename (folder, "out", NULL);
    g_autofree char *written = g_build_filename (folder, "out", "J-0412.json", NULL);
    g_auto (Run) whole = run_program (NULL, "salvage", store, out, NULL);
    g_auto (Run) compare = run_program (NULL, "compare", path, written, NULL);
    g_auto (Run) damaged = run_program (NULL, "salvage", copy, out, NULL);

    g_assert_cmpint (whole.code, ==, 0);
    assert_in (whole.output, "jobs written: 1 of 1;");
    g_assert_cmpint (compare.code, ==, 0);
    g_assert_cmpint (damaged.code, ==, 1);
  }
  isolated_remove (folder);
}

/* Sealed, taken out, verified; changed in one figure, and that is named. */
static void
test_seal_and_verify (void)
{
  g_autofree char *path = demo ();
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", NULL);
  g_autofree char *store = g_build_filename (folder, "store.sqlite", NULL);
  g_autofree char *passphrase = g_build_filename (folder, "passphrase", NULL);
  g_autofree char *file = g_build_filename (folder, "sealed.json", NULL);
  g_autofree char *changed = g_build_filename (folder, "changed.json", NULL);
  g_autofree char *text = NULL;
  char *complaint;

  g_assert_true (g_file_set_contents (passphrase, "brass and oil\n", -1, NULL));
  {
    g_auto (Run) import = run_program (NULL, "seal", store, "import", path, NULL);
    g_auto (Run) key = run_program (NULL, "seal", store, "make-key", "-p", passphrase, "-r", "owner", NULL);
    g_auto (Run) seal = run_program (NULL, "seal", store, "job", "J-0412", "-p", passphrase, "-r", "clerk", "-n", "looked through", NULL);
    g_auto (Run) export = run_program (NULL, "seal", store, "export", "J-0412", "-o", file, NULL);
    g_autofree char *public_key = g_strchomp (g_strdup (key.output));
    g_autofree char *entry = g_strchomp (g_strdup (seal.output));
    g_auto (Run) whole = run_program (NULL, "verify", store, "--key", public_key, "--entry", entry, NULL);
    g_auto (Run) alone = run_program (NULL, "verify", file, "--key", public_key, "--json", NULL);

    g_assert_cmpstr (import.errors, ==, "");
    g_assert_cmpint (key.code, ==, 0);
    g_assert_cmpstr (seal.errors, ==, "");
    g_assert_true (g_str_has_prefix (entry, "2:"));
    g_assert_cmpint (export.code, ==, 0);
    g_assert_cmpint (whole.code, ==, 0);
    assert_in (whole.output, "HOLDS");
    g_assert_cmpint (alone.code, ==, 0);
    assert_in (alone.output, "\"holds\": true");
  }

  g_assert_true (g_file_get_contents (file, &text, NULL, NULL));
  complaint = strstr (text, "\"complaint\": \"");
  g_assert_nonnull (complaint);
  complaint[14] = complaint[14] == 'X' ? 'Y' : 'X';
  g_assert_true (g_file_set_contents (changed, text, -1, NULL));
  {
    g_auto (Run) verify = run_program (NULL, "verify", changed, NULL);
    g_auto (Run) compare = run_program (NULL, "compare", file, changed, NULL);
    g_auto (Run) same = run_program (NULL, "compare", file, file, NULL);
    g_auto (Run) unsealed = run_program (NULL, "verify", path, NULL);
    g_auto (Run) locked = run_program (NULL, "seal", store, "job", "J-0412", "-p", passphrase, "-r", "clerk", NULL);

    g_assert_cmpint (verify.code, ==, 1);
    assert_in (verify.output, "job J-0412, job: complaint: sealed ");
    g_assert_cmpint (compare.code, ==, 0);
    assert_in (compare.output, "Job, complaint: ");
    g_assert_cmpstr (same.output, ==, "Nothing differs.\n");
    g_assert_cmpint (unsealed.code, ==, 1);
    assert_in (unsealed.output, "this file isn't sealed");
    g_assert_cmpint (locked.code, ==, 1);
    assert_in (locked.errors, "found it sealed");
  }
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
  g_autofree char *with_rules = ef_data_path ("pump-sheets", "tg-3.json", NULL);
  g_auto (Run) one = run_program (NULL, "check-sheet", good, NULL);
  g_auto (Run) own = run_program (NULL, "check-sheet", with_rules, NULL);

  g_assert_cmpint (one.code, ==, 0);
  assert_in (one.output, "contact ratio");
  assert_in (one.output, "judged by common-practice 2\n");
  assert_in (own.output, "judged by common-practice 2 + tg-3 rules ");
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

static double
number_in (const char *json,
           const char *object,
           const char *member)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (JsonNode) node = json_from_string (json, &error);

  g_assert_no_error (error);

  return json_object_get_double_member (object != NULL ? json_object_get_object_member (json_node_get_object (node), object) : json_node_get_object (node), member);
}

static char *
write_table (const char *folder,
             const char *text)
{
  char *path = g_build_filename (folder, "table.csv", NULL);
  g_autoptr (GError) error = NULL;

  g_file_set_contents (path, text, -1, &error);
  g_assert_no_error (error);

  return path;
}

/* A table of what was read, as it comes from a spreadsheet. Values of the first: Measurement Systems Analysis, 4th edition (AIAG 2010), chapter III section B, as in
 * tests/data/agreement/expected.csv. Of the others by hand: 6 of 8 agree, 0.5 by chance, kappa 0.5. */
static void
test_compute_csv (void)
{
  g_autofree char *aiag = g_test_build_filename (G_TEST_DIST, "data", "agreement", "grr_aiag.csv", NULL);
  g_autofree char *folder = g_dir_make_tmp ("endfloat-table-XXXXXX", NULL);
  g_autofree char *path = write_table (folder, "item,rater,category\na,x,good\na,y,good\nb,x,good\nb,y,good\nc,x,good\nc,y,good\nd,x,good\nd,y,bad\n"
                                               "e,x,bad\ne,y,bad\nf,x,bad\nf,y,bad\ng,x,bad\ng,y,bad\nh,x,bad\nh,y,good\n");
  g_auto (Run) study = run_program (NULL, "compute", "gauge-study", "--csv", aiag, NULL);
  g_auto (Run) two = run_program (NULL, "compute", "agreement", "--csv", path, NULL);
  g_auto (Run) many = run_program (NULL, "compute", "agreement-of-many", "--csv", path, NULL);
  static const struct
  {
    const char *calc, *text, *says;
    int code;
  } wrong[] = {
    { "gauge-study", "part,appraiser,trial,value\na,x,1,1.0\na,x,2,soft\n", "table.csv: row 3, column “value”: expected a number, found “soft”", 1 },
    { "gauge-study", "part;appraiser;value\n", "expected a column “trial”", 1 },
    { "gauge-study", "\xff\xfe", "expected text in UTF-8", 1 },
    { "agreement", "item,rater,category\na,x,good\na,y,bad\na,z,bad\n", "column “rater”: expected two people, found 3", 1 },
    { "agreement", "item,rater,category\na,x,good\na,y,good\n", "column “category”: expected at least two different ones, found “good” alone", 1 },
    { "agreement-of-many", "item,rater,category\na,x,good\na,y,bad\nb,x,bad\n", "item b: expected a category from everybody, found none from y", 1 },
    { "gear-pair", "", "--csv: expected gauge-study, agreement or agreement-of-many, found \"gear-pair\"", 2 },
  };
  g_auto (Run) missing = run_program (NULL, "compute", "gauge-study", "--csv", "/no/such.csv", NULL);

  g_assert_cmpint (study.code, ==, 0);
  g_assert_cmpfloat_with_epsilon (number_in (study.output, "average_and_range", "equipment"), 0.2018566667, 1e-6);
  g_assert_cmpfloat_with_epsilon (number_in (study.output, "average_and_range", "appraiser"), 0.2296670291, 1e-6);
  g_assert_cmpfloat_with_epsilon (number_in (study.output, "average_and_range", "grr_percent"), 26.67804984, 1e-4);
  g_assert_cmpfloat_with_epsilon (number_in (study.output, "variance", "equipment"), 0.1999331797, 1e-6);
  g_assert_cmpfloat_with_epsilon (number_in (study.output, "variance", "grr"), 0.3023715223, 1e-6);
  g_assert_cmpint (two.code, ==, 0);
  g_assert_cmpfloat_with_epsilon (number_in (two.output, NULL, "kappa"), 0.5, 1e-9);
  g_assert_cmpint (many.code, ==, 0);
  g_assert_cmpfloat_with_epsilon (number_in (many.output, NULL, "kappa"), 0.5, 1e-9);
  g_assert_cmpint (missing.code, ==, 3);
  for (guint i = 0; i < G_N_ELEMENTS (wrong); i++)
    {
      g_autofree char *bad = write_table (folder, wrong[i].text);
      g_auto (Run) run = run_program (NULL, "compute", wrong[i].calc, "--csv", bad, NULL);

      assert_in (run.errors, wrong[i].says);
      g_assert_cmpint (run.code, ==, wrong[i].code);
      g_assert_cmpstr (run.output, ==, "");
    }
  g_unlink (path);
  g_rmdir (folder);
}

/* The same seed makes the same job, which the other verbs take. */
static void
test_specimen (void)
{
  g_autofree char *folder = g_dir_make_tmp ("endfloat-specimen-XXXXXX", NULL);
  g_autofree char *job = g_build_filename (folder, "job.json", NULL);
  g_autofree char *truth = g_build_filename (folder, "truth.json", NULL);
  g_auto (Run) first = run_program (NULL, "specimen", "--sheet", "hl-24", "--seed", "7", "--cause", "load", "-d", "2", "-o", job, "--truth", truth, "--tell", NULL);
  g_auto (Run) again = run_program (NULL, "specimen", "--sheet", "hl-24", "--seed", "7", "--cause", "load", "-d", "2", NULL);
  g_auto (Run) other = run_program (NULL, "specimen", "--sheet", "hl-24", "--seed", "8", "--cause", "load", "-d", "2", NULL);
  g_auto (Run) assess = run_program (NULL, "assess", job, NULL);
  g_auto (Run) wrong = run_program (NULL, "specimen", "--sheet", "hl-24", "--cause", "rust", NULL);
  g_auto (Run) hard = run_program (NULL, "specimen", "--sheet", "hl-24", "-d", "4", NULL);
  g_auto (Run) none = run_program (NULL, "specimen", "--sheet", "no-such", NULL);
  g_autofree char *text = NULL;

  g_assert_cmpint (first.code, ==, 0);
  assert_in (first.errors, "load: The oil's pressure pushed the gears");
  g_assert_true (g_file_get_contents (job, &text, NULL, NULL));
  g_assert_cmpstr (text, ==, again.output);
  g_assert_cmpstr (text, !=, other.output);
  g_assert_true (g_file_test (truth, G_FILE_TEST_EXISTS));
  g_assert_cmpint (assess.code, ==, 0);
  assert_in (assess.output, "consistent with wear by the oil's pressure");
  g_assert_cmpint (wrong.code, ==, 2);
  assert_in (wrong.errors, "found \"rust\"");
  g_assert_cmpint (hard.code, ==, 2);
  g_assert_cmpint (none.code, ==, 3);
  g_unlink (job);
  g_unlink (truth);
  g_rmdir (folder);
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

/* The list on the command line: searched, filtered, counted, as JSON and CSV; what is wrong in the command is said. */
static void
test_jobs (void)
{
  g_autofree char *path = demo ();
  g_autofree char *other = ef_data_path ("demo", "job-2-rc-4.json", NULL);
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", NULL);
  g_autofree char *store = g_build_filename (folder, "store.sqlite", NULL);
  g_auto (Run) first = run_program (NULL, "seal", store, "import", path, NULL);
  g_auto (Run) second = run_program (NULL, "seal", store, "import", other, NULL);
  g_auto (Run) all = run_program (NULL, "jobs", "--store", store, NULL);
  g_auto (Run) railcar = run_program (NULL, "jobs", "--store", store, "--search", "RAILC", "--csv", NULL);
  g_auto (Run) json = run_program (NULL, "jobs", "--store", store, "--model", "HL-24", "--finding", "groove", "--standing", "open", "--json", NULL);
  g_auto (Run) none = run_program (NULL, "jobs", "--store", store, "--standing", "sealed", "--count", NULL);
  g_auto (Run) unjudged = run_program (NULL, "jobs", "--store", store, "--verdict", "none", "--count", NULL);
  g_auto (Run) judged = run_program (NULL, "jobs", "--store", store, "--verdict", "rework", "--count", NULL);
  g_auto (Run) counted = run_program (NULL, "jobs", "--store", store, "--limit", "1", "--count", NULL);
  g_auto (Run) part = run_program (NULL, "jobs", "--store", store, "--order", "number", "--ascending", "--limit", "1", "--offset", "1", "--json", NULL);
  g_auto (Run) past = run_program (NULL, "jobs", "--store", store, "--offset", "7", "--csv", NULL);
  g_auto (Run) states = run_program (NULL, "compare", "--store", store, "--job", "J-9999", "1", "2", NULL);
  g_auto (Run) hostile = run_program (NULL, "jobs", "--store", store, "--search", "\" OR ' NEAR(*", "--count", NULL);
  g_auto (Run) day = run_program (NULL, "jobs", "--store", store, "--from", "2026-02-30", NULL);
  g_auto (Run) word = run_program (NULL, "jobs", "--store", store, "--verdict", "perhaps", NULL);
  g_auto (Run) nowhere = run_program (NULL, "jobs", "--store", "/no/such/store", NULL);

  g_assert_cmpstr (first.errors, ==, "");
  g_assert_cmpstr (second.errors, ==, "");
  assert_in (all.output, "J-0412");
  assert_in (all.output, "J-0418");
  g_assert_true (g_str_has_prefix (railcar.output, "number,pump,model,"));
  assert_in (railcar.output, "\r\nJ-0418,");
  g_assert_null (strstr (railcar.output, "J-0412"));
  assert_in (json.output, "\"found\": 1");
  assert_in (json.output, "J-0412");
  g_assert_cmpstr (none.output, ==, "0\n");
  g_assert_cmpstr (unjudged.output, ==, "2\n");
  g_assert_cmpstr (judged.output, ==, "0\n");
  /* How many there are, whatever part is looked at. */
  g_assert_cmpstr (counted.output, ==, "2\n");
  assert_in (part.output, "\"found\": 2");
  assert_in (part.output, "J-0418");
  g_assert_null (strstr (part.output, "J-0412"));
  g_assert_true (g_str_has_suffix (past.output, "\r\n"));
  g_assert_null (strstr (past.output, "J-04"));
  g_assert_cmpint (states.code, ==, 1);
  assert_in (states.errors, "expected job J-9999, found none");
  g_assert_cmpstr (hostile.output, ==, "0\n");
  g_assert_cmpint (hostile.code, ==, 0);
  g_assert_cmpint (day.code, ==, 2);
  assert_in (day.errors, "2026-02-30");
  g_assert_cmpint (word.code, ==, 2);
  assert_in (word.errors, "use-again");
  g_assert_cmpint (nowhere.code, ==, 3);
  g_unlink (store);
  g_rmdir (folder);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/cli/help", test_help);
  g_test_add_func ("/cli/assess", test_assess);
  g_test_add_func ("/cli/backup-and-restore", test_backup_and_restore);
  g_test_add_func ("/cli/mistyped-store", test_mistyped_store);
  g_test_add_func ("/cli/roles", test_roles);
  g_test_add_func ("/cli/seal-and-verify", test_seal_and_verify);
  g_test_add_func ("/cli/jobs", test_jobs);
  g_test_add_func ("/cli/report-same-bytes", test_report);
  g_test_add_func ("/cli/pictures", test_pictures);
  g_test_add_func ("/cli/check-sheet", test_check_sheet);
  g_test_add_func ("/cli/compute", test_compute);
  g_test_add_func ("/cli/compute-csv", test_compute_csv);
  g_test_add_func ("/cli/specimen", test_specimen);
  g_test_add_func ("/cli/wrong-commands", test_wrong_commands);
  g_test_add_func ("/cli/broken-file", test_broken_file);

  return g_test_run ();
}
