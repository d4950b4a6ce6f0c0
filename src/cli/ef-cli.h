/* The command line: verbs that do what the window does, without a display.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * To add a verb: write ef-cli-<verb>.c with a function of type EfCliRun, and a line in the table of ef-cli.c.
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

/* Exit codes, the same for every verb. */
enum
{
  EF_EXIT_OK = 0,
  EF_EXIT_INPUT = 1, /* the input is wrong; the message names file, field and what was expected */
  EF_EXIT_USAGE = 2, /* the command itself is wrong */
  EF_EXIT_IO = 3,    /* a file can't be read or written, the disk is full, … */
};

/* @argv[0] is the verb. Returns an exit code. Results go to stdout or the named file, messages to stderr. */
typedef int (*EfCliRun) (int argc, char **argv);

/* Whether the command line has a verb of this name; otherwise the word is for the window. */
gboolean ef_cli_is_verb (const char *word);
/* @argv[0] is the program, @argv[1] the verb. */
int ef_cli_main (int argc, char **argv);

/* The verbs, each an EfCliRun. */
int ef_cli_assess (int argc, char **argv);
int ef_cli_report (int argc, char **argv);
int ef_cli_steps (int argc, char **argv);
int ef_cli_pictures (int argc, char **argv);
int ef_cli_check_sheet (int argc, char **argv);
int ef_cli_compare (int argc, char **argv);
int ef_cli_compute (int argc, char **argv);
int ef_cli_roles (int argc, char **argv);
int ef_cli_photos (int argc, char **argv);
int ef_cli_gauges (int argc, char **argv);
int ef_cli_upgrade (int argc, char **argv);
int ef_cli_claim_pack (int argc, char **argv);
int ef_cli_jobs (int argc, char **argv);
int ef_cli_statistics (int argc, char **argv);
int ef_cli_seal (int argc, char **argv);
int ef_cli_verify (int argc, char **argv);
int ef_cli_shelf (int argc, char **argv);
int ef_cli_backup (int argc, char **argv);
int ef_cli_salvage (int argc, char **argv);
int ef_cli_restore (int argc, char **argv);
int ef_cli_lesson (int argc, char **argv);
int ef_cli_specimen (int argc, char **argv);

/* Shared by the verbs. Parses options; returns FALSE after printing why and setting *code_out (0 after --help). */
gboolean ef_cli_options (const GOptionEntry *entries,
                         const char *parameters,
                         const char *summary,
                         int *argc,
                         char ***argv,
                         int *code_out);
/* Prints "endfloat: message" and returns the exit code that suits the error. */
int ef_cli_report_error (const GError *error);
int ef_cli_usage_error (const char *verb, const char *format, ...) G_GNUC_PRINTF (2, 3);
/* FALSE after saying what was expected; NULL is a day. */
gboolean ef_cli_check_day (const char *verb, const char *option, const char *day);
/* EF_ERROR_IO when there is no such file to read: told apart from a file whose content is wrong. */
gboolean ef_cli_can_read (const char *path, GError **error);
/* Tells on stderr where others can read or change the store. */
void ef_cli_warn_access (const char *store_path);
/* The next line of standard input for "-", otherwise the first of the file; for what shouldn't stand among the arguments, where others could see it. */
char *ef_cli_read_line (const char *path, GError **error);
/* Shows the share done, 0 … 1, in per cent on standard error, in place; @shown is an int *, -1 at first. For EfBackupProgress and the like, on a terminal only. */
void ef_cli_progress (double share, gpointer shown);
/* Writes text to @path, or to stdout for NULL or "-". */
gboolean ef_cli_write (const char *path, const char *text, GError **error);

G_END_DECLS
