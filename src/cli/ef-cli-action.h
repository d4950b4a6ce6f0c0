/* Verbs that have actions: a table of them, its listing, and the one that was asked for.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A verb's table has rows of a struct of its own that begins with an EfCliAction; @rows, @n and @size say where it lies, how many rows it has and how
 * large one is.
 */
#pragma once

#include "../record/ef-store.h"

G_BEGIN_DECLS

typedef struct
{
  const char *name;
  const char *argument; /* what stands after it; NULL nothing */
  const char *summary;
  gboolean makes_store; /* where there is none at the path; the others refuse a path that was mistyped */
  gboolean repeats;     /* the argument may stand there more than once */
} EfCliAction;

/* @intro and a line for each action, for --help. Free with g_free(). */
char *ef_cli_actions_text (const char *intro, gconstpointer rows, gsize n, gsize size);
/* The row that @words ask for: an action's name, then its argument where it takes one. NULL after saying what is wrong with them as
 * ef_cli_usage_error() does; @expected names what should have stood there, such as "a store and an action". */
gconstpointer ef_cli_action (const char *verb, const char *expected, gconstpointer rows, gsize n, gsize size, int n_words, char **words);
/* The store an action works on. NULL with EF_ERROR_IO where there is none and @action makes none; otherwise errors of ef_store_open(). */
EfStore *ef_cli_action_store (const EfCliAction *action, const char *path, GError **error);
/* Writes the file of the store that has the digest to @path, checked against it. EF_ERROR_INVALID without a path; errors of ef_store_read_file();
 * EF_ERROR_IO where it can't be written. */
gboolean ef_cli_save_stored_file (EfStore *store, const char *digest, const char *path, GError **error);

G_END_DECLS
