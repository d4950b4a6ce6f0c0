/* A user for tests: real pointer and key events through the X server, and waiting for what they bring about.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

typedef gboolean (*RobotCondition) (gpointer data);

/* Runs the main loop until @condition holds; fails the test after two minutes, naming @what. */
void robot_wait (RobotCondition condition, gpointer data, const char *what);
/* Runs the main loop until it has nothing to do. */
void robot_settle (void);
/* How long robot_settle() waits at the most, us; 0: as usual. With little patience, wait for what is to come about by robot_wait(). */
void robot_set_patience (gint64 us);
/* Gives @window the keyboard; there is no window manager to do it. Waits until it's mapped. */
void robot_focus (GtkWindow *window);

/* Pointer, in coordinates of @widget. */
void robot_move (GtkWidget *widget, double x, double y);
void robot_press (void);
void robot_release (void);
void robot_click (GtkWidget *widget); /* in its middle */
void robot_click_at (GtkWidget *widget, double x, double y);
/* From place to place with the button down; @xy has 2 @n numbers. */
void robot_drag (GtkWidget *widget, const double *xy, guint n);

/* Keys. @text: what a plain US keyboard can type. */
void robot_type (const char *text);
void robot_key (guint keyval, GdkModifierType modifiers);

/* The first visible descendant that fits; NULL if none. Depth first. */
typedef gboolean (*RobotMatch) (GtkWidget *widget, gpointer data);
GtkWidget *robot_find (GtkWidget *root, RobotMatch match, gpointer data);
GtkWidget *robot_find_type (GtkWidget *root, GType type);
/* A button by its label, or by the label inside it. */
GtkWidget *robot_find_button (GtkWidget *root, const char *label);
/* TRUE when a mapped label under @root contains @text. */
gboolean robot_sees (GtkWidget *root, const char *text);
/* The newest toplevel of this type; NULL if none. */
GtkWindow *robot_window (GType type);

G_END_DECLS
