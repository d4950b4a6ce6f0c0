/* Asking the user for a file or a folder.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* What the dialog says. Only @title and @accept are needed. */
typedef struct
{
  const char *title;
  const char *accept;           /* label of the button that chooses */
  GtkFileChooserAction action;  /* open where not given */
  const char *name;             /* proposed for a file that's to be saved */
  const char *kind;             /* what the files of these @endings are called: only they are shown then */
  const char *const *endings;   /* without the dot, up to NULL */
  gboolean or_all;              /* all files can be shown instead */
} EfAskPath;

/* @path is on this machine. */
typedef void (*EfPathChosen) (GtkWidget *owner, const char *path, gpointer data);
/* @files: GFile, one at least. They may be elsewhere. */
typedef void (*EfFilesChosen) (GtkWidget *owner, GListModel *files, gpointer data);

/* Shows the dialog over the window of @owner and returns. @chosen is called once the user has chosen; not when it was cancelled, nor when @owner is
 * disposed of before, which closes the dialog. A place that isn't on this machine is refused in a message, and @chosen isn't called.
 * In any case @data is freed by @data_free at the end, unless that is NULL. */
void ef_ask_path (GtkWidget *owner, const EfAskPath *ask, EfPathChosen chosen, gpointer data, GDestroyNotify data_free);
/* The same for several files to be opened. */
void ef_ask_files (GtkWidget *owner, const EfAskPath *ask, EfFilesChosen chosen, gpointer data, GDestroyNotify data_free);

G_END_DECLS
