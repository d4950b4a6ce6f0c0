/* A program with a store of its own and a window, for tests.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-window.h"

G_BEGIN_DECLS

typedef struct
{
  EfApplication *application;
  EfWindow *window;
  char *folder; /* for the store and what is exported; removed at the end */
} Shell;

/* First thing in main: display, animations off, fonts fixed. */
void shell_test_init (int *argc, char ***argv);
/* After it where figures and shares are looked at; the others stop at the coarse answer, which is soon there and stays. */
void shell_full_detail (void);
void shell_set_up (Shell *shell, gconstpointer data);
void shell_tear_down (Shell *shell, gconstpointer data);
#define SHELL_TEST(path, function) g_test_add (path, Shell, NULL, shell_set_up, function, shell_tear_down)

/* Opens the demo as the menu does and waits for the first job with its assessment. */
EfSession *shell_open_demo (Shell *shell);
/* The open job's row in the store; free with ef_job_row_free(). */
EfJobRow *shell_job_row (Shell *shell);

G_END_DECLS
