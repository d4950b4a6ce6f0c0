/* Real input by the XTest extension.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "robot.h"

#include <X11/XKBlib.h>
#include <X11/extensions/XTest.h>
#include <gdk/x11/gdkx.h>
#include <string.h>

#define DEADLINE_US (120 * G_USEC_PER_SEC) /* machines are slow under sanitizers */
#define QUIET_TURNS 40
#define LONGEST_US 2000000 /* a spinner never rests */

static gint64 patience = LONGEST_US;

static Display *
display (void)
{
  return gdk_x11_display_get_xdisplay (gdk_display_get_default ());
}

/* Handles what has come, without waiting for a frame. */
static void
pump (void)
{
  XSync (display (), False);
  g_usleep (2000);
  while (g_main_context_iteration (NULL, FALSE))
    ;
}

void
robot_settle (void)
{
  gint64 deadline = g_get_monotonic_time () + patience;
  guint quiet = 0;

  /* Until nothing has happened for two frames: sizes are given at the next frame, and drawn in the one after. Turns are counted,
   * not time: on a busy machine a long sleep says nothing. */
  XSync (display (), False);
  while (quiet < QUIET_TURNS && g_get_monotonic_time () < deadline)
    {
      if (g_main_context_iteration (NULL, FALSE))
        quiet = 0;
      else
        {
          quiet++;
          g_usleep (1000);
        }
    }
}

void
robot_set_patience (gint64 us)
{
  patience = us > 0 ? us : LONGEST_US;
}

void
robot_wait (RobotCondition condition,
            gpointer data,
            const char *what)
{
  gint64 deadline = g_get_monotonic_time () + DEADLINE_US;

  while (!condition (data))
    {
      if (g_get_monotonic_time () > deadline)
        {
          g_test_message ("waited in vain for: %s", what);
          g_assert_not_reached ();
        }
      if (!g_main_context_iteration (NULL, FALSE))
        g_usleep (1000);
    }
  robot_settle ();
}

static gboolean
is_mapped (gpointer data)
{
  return gtk_widget_get_mapped (data) && gtk_widget_get_width (data) > 0;
}

static gboolean
is_active (gpointer data)
{
  return gtk_window_is_active (data);
}

void
robot_focus (GtkWindow *window)
{
  robot_wait (is_mapped, window, "the window to be mapped");
  XSetInputFocus (display (), gdk_x11_surface_get_xid (gtk_native_get_surface (GTK_NATIVE (window))), RevertToParent, CurrentTime);
  robot_wait (is_active, window, "the window to be active");
}

void
robot_move (GtkWidget *widget,
            double x,
            double y)
{
  GtkNative *native = gtk_widget_get_native (widget);
  Window xid = gdk_x11_surface_get_xid (gtk_native_get_surface (native));
  graphene_point_t point;
  double dx, dy;
  int root_x, root_y;
  Window child;

  g_assert_true (gtk_widget_compute_point (widget, GTK_WIDGET (native), &GRAPHENE_POINT_INIT (x, y), &point));
  gtk_native_get_surface_transform (native, &dx, &dy);
  XTranslateCoordinates (display (), xid, DefaultRootWindow (display ()), (int) (point.x + dx), (int) (point.y + dy), &root_x, &root_y, &child);
  XTestFakeMotionEvent (display (), -1, root_x, root_y, CurrentTime);
  pump ();
}

void
robot_press (void)
{
  XTestFakeButtonEvent (display (), 1, True, CurrentTime);
  robot_settle ();
}

void
robot_release (void)
{
  XTestFakeButtonEvent (display (), 1, False, CurrentTime);
  robot_settle ();
}

/* On the widget, once it stands still under the pointer: a page may just be laid out anew. */
static void
rest_on (GtkWidget *widget,
         double x,
         double y)
{
  GtkWidget *root = GTK_WIDGET (gtk_widget_get_root (widget));
  g_autoptr (GtkWidget) kept = g_object_ref (widget);
  graphene_point_t before, after = GRAPHENE_POINT_INIT (-1, -1);

  do
    {
      before = after;
      robot_move (widget, x, y);
      robot_settle ();
      if (GTK_WIDGET (gtk_widget_get_root (widget)) != root)
        g_error ("a %s went away while it was about to be pressed", G_OBJECT_TYPE_NAME (widget));
      g_assert_true (gtk_widget_compute_point (widget, root, &GRAPHENE_POINT_INIT (x, y), &after));
    }
  while (!graphene_point_equal (&before, &after));
}

void
robot_click_at (GtkWidget *widget,
                double x,
                double y)
{
  rest_on (widget, x, y);
  robot_press ();
  robot_release ();
}

void
robot_click (GtkWidget *widget)
{
  robot_click_at (widget, gtk_widget_get_width (widget) / 2.0, gtk_widget_get_height (widget) / 2.0);
}

void
robot_drag (GtkWidget *widget,
            const double *xy,
            guint n)
{
  const guint steps = 6;
  guint i, k;

  robot_move (widget, xy[0], xy[1]);
  robot_press ();
  for (i = 1; i < n; i++)
    for (k = 1; k <= steps; k++)
      {
        double share = (double) k / steps;

        robot_move (widget, xy[2 * i - 2] + share * (xy[2 * i] - xy[2 * i - 2]), xy[2 * i - 1] + share * (xy[2 * i + 1] - xy[2 * i - 1]));
      }
  robot_release ();
}

static void
send_key (KeySym keysym,
          GdkModifierType modifiers)
{
  static const struct
  {
    GdkModifierType mask;
    KeySym keysym;
  } holds[] = { { GDK_SHIFT_MASK, XK_Shift_L }, { GDK_CONTROL_MASK, XK_Control_L }, { GDK_ALT_MASK, XK_Alt_L } };
  KeyCode code = XKeysymToKeycode (display (), keysym);
  guint i;

  g_assert_cmpint (code, !=, 0);
  if (XkbKeycodeToKeysym (display (), code, 0, 0) != keysym && XkbKeycodeToKeysym (display (), code, 0, 1) == keysym)
    modifiers |= GDK_SHIFT_MASK;
  for (i = 0; i < G_N_ELEMENTS (holds); i++)
    if (modifiers & holds[i].mask)
      XTestFakeKeyEvent (display (), XKeysymToKeycode (display (), holds[i].keysym), True, CurrentTime);
  XTestFakeKeyEvent (display (), code, True, CurrentTime);
  XTestFakeKeyEvent (display (), code, False, CurrentTime);
  for (i = 0; i < G_N_ELEMENTS (holds); i++)
    if (modifiers & holds[i].mask)
      XTestFakeKeyEvent (display (), XKeysymToKeycode (display (), holds[i].keysym), False, CurrentTime);
}

void
robot_key (guint keyval,
           GdkModifierType modifiers)
{
  send_key (keyval, modifiers);
  robot_settle ();
}

void
robot_type (const char *text)
{
  const char *p;

  for (p = text; *p != '\0'; p = g_utf8_next_char (p))
    send_key (gdk_unicode_to_keyval (g_utf8_get_char (p)), 0);
  robot_settle ();
}

GtkWidget *
robot_find (GtkWidget *root,
            RobotMatch match,
            gpointer data)
{
  GtkWidget *child;

  if (match (root, data))
    return root;
  for (child = gtk_widget_get_first_child (root); child != NULL; child = gtk_widget_get_next_sibling (child))
    {
      GtkWidget *found = gtk_widget_get_visible (child) ? robot_find (child, match, data) : NULL;

      if (found != NULL)
        return found;
    }
  return NULL;
}

static gboolean
has_type (GtkWidget *widget,
          gpointer data)
{
  return g_type_is_a (G_OBJECT_TYPE (widget), *(GType *) data);
}

GtkWidget *
robot_find_type (GtkWidget *root,
                 GType type)
{
  return robot_find (root, has_type, &type);
}

static gboolean
is_label (GtkWidget *widget,
          gpointer data)
{
  g_autofree char *shown = NULL;

  if (!GTK_IS_LABEL (widget))
    return FALSE;
  shown = g_strdup (gtk_label_get_text (GTK_LABEL (widget)));
  return g_strcmp0 (shown, data) == 0;
}

static gboolean
is_button (GtkWidget *widget,
           gpointer data)
{
  return (GTK_IS_BUTTON (widget) || GTK_IS_CHECK_BUTTON (widget)) && gtk_widget_get_mapped (widget) && robot_find (widget, is_label, data) != NULL;
}

GtkWidget *
robot_find_button (GtkWidget *root,
                   const char *label)
{
  return robot_find (root, is_button, (gpointer) label);
}

static gboolean
contains (GtkWidget *widget,
          gpointer data)
{
  return GTK_IS_LABEL (widget) && gtk_widget_get_mapped (widget) && strstr (gtk_label_get_text (GTK_LABEL (widget)), data) != NULL;
}

gboolean
robot_sees (GtkWidget *root,
            const char *text)
{
  return robot_find (root, contains, (gpointer) text) != NULL;
}

GtkWindow *
robot_window (GType type)
{
  GListModel *toplevels = gtk_window_get_toplevels ();
  guint i;

  for (i = g_list_model_get_n_items (toplevels); i > 0; i--)
    {
      g_autoptr (GtkWindow) window = g_list_model_get_item (toplevels, i - 1);

      if (g_type_is_a (G_OBJECT_TYPE (window), type))
        return window;
    }
  return NULL;
}
