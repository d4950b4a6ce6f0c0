/* Keeping what has the keyboard in sight.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-focus-sight.h"
#include "ef-look.h"

typedef struct
{
  GtkScrolledWindow *scrolled; /* owns this */
  GtkAdjustment *down;
  GtkRoot *root;               /* while mapped */
  gulong focus_changed;
  guint idle;
  gboolean seen; /* the focus was in sight when the user last saw to it */
} Sight;

/* Where in the content the focus stands, or the button whose list has it; FALSE when it's elsewhere. */
static gboolean
place_focus (const Sight *sight,
             graphene_rect_t *box_out)
{
  GtkWidget *view = gtk_scrolled_window_get_child (sight->scrolled);
  GtkWidget *content = GTK_IS_VIEWPORT (view) ? gtk_viewport_get_child (GTK_VIEWPORT (view)) : NULL;
  GtkWidget *focus = sight->root != NULL ? gtk_root_get_focus (sight->root) : NULL;
  GtkWidget *list = focus != NULL ? gtk_widget_get_ancestor (focus, GTK_TYPE_POPOVER) : NULL;

  focus = list != NULL ? gtk_widget_get_parent (list) : focus;

  return focus != NULL && content != NULL && gtk_widget_get_mapped (focus) && gtk_widget_is_ancestor (focus, content)
         && gtk_widget_compute_bounds (focus, content, box_out);
}

static gboolean
bring_in_sight (gpointer data)
{
  Sight *sight = data;
  graphene_rect_t box;

  sight->idle = 0;
  if (sight->seen && place_focus (sight, &box))
    gtk_adjustment_clamp_page (sight->down, box.origin.y - EF_TARGET, box.origin.y + box.size.height + EF_TARGET);

  return G_SOURCE_REMOVE;
}

/* Heights are told while places are being given out: looked at once that's done. */
static void
height_changed_cb (Sight *sight)
{
  if (sight->idle == 0)
    sight->idle = g_idle_add_full (G_PRIORITY_LOW, bring_in_sight, sight, NULL);
}

static void
scrolled_cb (Sight *sight)
{
  double top = gtk_adjustment_get_value (sight->down), page = gtk_adjustment_get_page_size (sight->down);
  graphene_rect_t box;

  /* Not what the content's growing does to it, until that has been seen to. */
  if (sight->idle == 0 && place_focus (sight, &box))
    sight->seen = box.origin.y + box.size.height > top && box.origin.y < top + page;
}

/* The viewport scrolls to it; where it can't yet, the next change of height does. */
static void
focus_changed_cb (Sight *sight)
{
  sight->seen = TRUE;
}

static void
map_cb (Sight *sight)
{
  sight->root = gtk_widget_get_root (GTK_WIDGET (sight->scrolled));
  sight->focus_changed = g_signal_connect_swapped (sight->root, "notify::focus-widget", G_CALLBACK (focus_changed_cb), sight);
}

static void
unmap_cb (Sight *sight)
{
  g_clear_signal_handler (&sight->focus_changed, sight->root);
  sight->root = NULL;
}

static void
sight_free (gpointer data)
{
  Sight *sight = data;

  if (sight->root != NULL)
    unmap_cb (sight);
  g_clear_handle_id (&sight->idle, g_source_remove);
  g_signal_handlers_disconnect_by_data (sight->down, sight);
  g_object_unref (sight->down);
  g_free (sight);
}

void
ef_keep_focus_in_sight (GtkScrolledWindow *scrolled)
{
  Sight *sight = g_new0 (Sight, 1);

  sight->scrolled = scrolled;
  sight->down = g_object_ref (gtk_scrolled_window_get_vadjustment (scrolled));
  g_object_set_data_full (G_OBJECT (scrolled), "ef-focus-sight", sight, sight_free);
  g_signal_connect_swapped (sight->down, "changed", G_CALLBACK (height_changed_cb), sight);
  g_signal_connect_swapped (sight->down, "value-changed", G_CALLBACK (scrolled_cb), sight);
  g_signal_connect_swapped (scrolled, "map", G_CALLBACK (map_cb), sight);
  g_signal_connect_swapped (scrolled, "unmap", G_CALLBACK (unmap_cb), sight);
}
