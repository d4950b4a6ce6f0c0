/* The frame of small forms: a window with Cancel, an accepting button and a column of fields.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_FORM_WINDOW (ef_form_window_get_type ())
G_DECLARE_DERIVABLE_TYPE (EfFormWindow, ef_form_window, EF, FORM_WINDOW, AdwWindow)

struct _EfFormWindowClass
{
  AdwWindowClass parent_class;

  /* Reads the fields and does the work; TRUE closes the window. */
  gboolean (*accept) (EfFormWindow *self);
};

/* To be called once from init of the deriving type. */
void ef_form_window_set_accept_label (EfFormWindow *self, const char *label);
void ef_form_window_add (EfFormWindow *self, GtkWidget *child);
/* Two beside each other, of equal width. */
void ef_form_window_add_pair (EfFormWindow *self, GtkWidget *left, GtkWidget *right);
/* A drop-down with a label above, and its accessible name. */
GtkWidget *ef_labelled (const char *label, GtkWidget *child);
/* Tries to accept, as the button does; also connected to "committed" of fields added. */
void ef_form_window_accept (EfFormWindow *self);
/* As high again as what is in it, after a message or more came in. */
void ef_form_window_refit (EfFormWindow *self);
/* Makes it transient for @parent's window and shows it. */
void ef_form_window_show (EfFormWindow *self, GtkWidget *parent);

G_END_DECLS
