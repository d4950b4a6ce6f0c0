/* The built program run by a shell, and a store with the first demo job, for tests of its verbs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "record/ef-exchange.h"
#include "record/ef-store.h"

#include <string.h>

#define assert_in(text, part) \
  G_STMT_START { \
    if (strstr ((text), (part)) == NULL) \
      g_error ("\"%s\" isn't in: %s", (part), (text)); \
  } G_STMT_END

/* The exit code; output and errors together. */
G_GNUC_PRINTF (2, 3) static inline int
run (char **text_out,
     const char *format,
     ...)
{
  va_list arguments;
  g_autofree char *words = NULL;
  g_autofree char *line = NULL;
  g_autoptr (GSubprocess) process = NULL;

  va_start (arguments, format);
  words = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  line = g_strdup_printf ("'%s' %s", g_getenv ("ENDFLOAT_PROGRAM"), words);
  process = g_subprocess_newv ((const char *const[]) { "sh", "-c", line, NULL }, G_SUBPROCESS_FLAGS_STDOUT_PIPE | G_SUBPROCESS_FLAGS_STDERR_MERGE, NULL);
  g_assert_true (g_subprocess_communicate_utf8 (process, NULL, NULL, text_out, NULL, NULL));

  return g_subprocess_get_exit_status (process);
}

/* Of a run whose words don't matter. */
#define assert_code(code, ...) \
  G_STMT_START { \
    g_autofree char *told_ = NULL; \
    int found_ = run (&told_, __VA_ARGS__); \
    if (found_ != (code)) \
      g_error ("exit code %d instead of %d: %s", found_, (code), told_); \
  } G_STMT_END

/* Of a run that is to say @part. */
#define assert_says(code, part, ...) \
  G_STMT_START { \
    g_autofree char *told_ = NULL; \
    int found_ = run (&told_, __VA_ARGS__); \
    if (found_ != (code)) \
      g_error ("exit code %d instead of %d: %s", found_, (code), told_); \
    assert_in (told_, part); \
  } G_STMT_END

/* Its path; the job is J-0412. */
static inline char *
store_with_demo (void)
{
  g_autofree char *demo = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  char *path = g_build_filename (g_get_user_data_dir (), "store.endfloat", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_exchange_load (demo, &error);
  g_autoptr (EfStore) store = ef_store_open (path, &error);

  g_assert_no_error (error);
  g_assert_cmpint (ef_store_add (store, inspection, &error), >, 0);

  return path;
}

static inline void
assert_same_file (const char *a,
                  const char *b)
{
  g_autofree char *left = NULL;
  g_autofree char *right = NULL;
  gsize n_left, n_right;

  g_assert_true (g_file_get_contents (a, &left, &n_left, NULL));
  g_assert_true (g_file_get_contents (b, &right, &n_right, NULL));
  g_assert_cmpmem (left, n_left, right, n_right);
}
