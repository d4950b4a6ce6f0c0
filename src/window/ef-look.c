/* The look that drawn widgets share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-look.h"

#include <adwaita.h>

#define TAG_PAD 6

double
ef_look_text_scale (void)
{
  GtkSettings *settings = gtk_settings_get_default ();
  int dpi = 0;

  if (settings == NULL)
    return 1;
  g_object_get (settings, "gtk-xft-dpi", &dpi, NULL);
  return dpi > 0 ? CLAMP (dpi / (96.0 * PANGO_SCALE), 0.5, 4) : 1;
}

void
ef_look_style (EfDrawStyle *style)
{
  AdwStyleManager *manager = adw_style_manager_get_default ();

  ef_draw_style_screen (style, adw_style_manager_get_dark (manager), adw_style_manager_get_high_contrast (manager));
  style->text_size *= ef_look_text_scale ();
}

void
ef_look_colour (GtkWidget *widget,
                const char *name,
                GdkRGBA *colour_out)
{
  if (gtk_style_context_lookup_color (gtk_widget_get_style_context (widget), name, colour_out))
    return;
  *colour_out = (GdkRGBA){ 0.5, 0.5, 0.5, 1 };
}

void
ef_look_follow (GtkWidget *widget)
{
  AdwStyleManager *manager = adw_style_manager_get_default ();
  GtkSettings *settings = gtk_settings_get_default ();

  g_signal_connect_object (manager, "notify::dark", G_CALLBACK (gtk_widget_queue_draw), widget, G_CONNECT_SWAPPED);
  g_signal_connect_object (manager, "notify::high-contrast", G_CALLBACK (gtk_widget_queue_draw), widget, G_CONNECT_SWAPPED);
  g_signal_connect_object (settings, "notify::gtk-xft-dpi", G_CALLBACK (gtk_widget_queue_resize), widget, G_CONNECT_SWAPPED);
}

typedef struct
{
  GtkWidget *child;
  GtkScrolledWindow *scrolled;
} Reveal;

static gboolean
reveal_cb (gpointer data)
{
  Reveal *reveal = data;
  GtkAdjustment *across = reveal->scrolled != NULL ? gtk_scrolled_window_get_hadjustment (reveal->scrolled) : NULL;
  GtkWidget *content = reveal->child != NULL ? gtk_widget_get_parent (reveal->child) : NULL;
  graphene_rect_t box;

  if (across != NULL && content != NULL && gtk_widget_compute_bounds (reveal->child, content, &box))
    gtk_adjustment_clamp_page (across, box.origin.x - EF_TARGET, box.origin.x + box.size.width + EF_TARGET);
  return G_SOURCE_REMOVE;
}

static void
reveal_free (gpointer data)
{
  Reveal *reveal = data;

  g_clear_weak_pointer (&reveal->child);
  g_clear_weak_pointer (&reveal->scrolled);
  g_free (reveal);
}

void
ef_look_reveal (GtkWidget *child,
                GtkScrolledWindow *scrolled)
{
  Reveal *reveal = g_new0 (Reveal, 1);

  g_set_weak_pointer (&reveal->child, child);
  g_set_weak_pointer (&reveal->scrolled, scrolled);
  /* After layout and drawing, when the new size is known. */
  g_idle_add_full (G_PRIORITY_LOW, reveal_cb, reveal, reveal_free);
}

void
ef_look_tag (GtkWidget *widget,
             GtkSnapshot *snapshot,
             const char *text,
             double x,
             double y,
             double width,
             double height)
{
  g_autoptr (PangoLayout) layout = gtk_widget_create_pango_layout (widget, text);
  GskRoundedRect outline;
  GdkRGBA ground, ink;
  int w, h;

  ef_look_colour (widget, "popover_bg_color", &ground);
  ef_look_colour (widget, "popover_fg_color", &ink);
  pango_layout_get_pixel_size (layout, &w, &h);
  x = CLAMP (x, 2, MAX (2, width - w - 2 * TAG_PAD - 2));
  y = CLAMP (y - h - 2 * TAG_PAD, 2, MAX (2, height - h - 2 * TAG_PAD - 2));

  gsk_rounded_rect_init_from_rect (&outline, &GRAPHENE_RECT_INIT (x, y, w + 2 * TAG_PAD, h + 2 * TAG_PAD), TAG_PAD);
  gtk_snapshot_append_outset_shadow (snapshot, &outline, &(GdkRGBA){ 0, 0, 0, 0.35 }, 0, 1, 0, 3);
  gtk_snapshot_push_rounded_clip (snapshot, &outline);
  gtk_snapshot_append_color (snapshot, &ground, &outline.bounds);
  gtk_snapshot_pop (snapshot);
  gtk_snapshot_save (snapshot);
  gtk_snapshot_translate (snapshot, &GRAPHENE_POINT_INIT (x + TAG_PAD, y + TAG_PAD));
  gtk_snapshot_append_layout (snapshot, layout, &ink);
  gtk_snapshot_restore (snapshot);
}
