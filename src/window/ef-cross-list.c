/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cross-list.h"
#include "ef-look.h"

#include "../draw/ef-draw-sure.h"

#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

#define PICTURE 64
#define MOST_HEIGHT 220
#define MOST_SHARE 0.33 /* of a tall window */

struct _EfCrossList
{
  GtkBox parent_instance;

  EfAssessment *shown; /* held: the pictures draw from it */
  GtkWidget *expander, *summary, *cards;
  GtkWidget *scrolled; /* owned: with the cards in it */
  char *told;          /* ids and sentences of what is shown */
};

static guint follow_signal;

G_DEFINE_FINAL_TYPE (EfCrossList, ef_cross_list, GTK_TYPE_BOX)

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer user_data)
{
  EfCrossList *self = user_data;
  guint index = GPOINTER_TO_UINT (g_object_get_data (G_OBJECT (area), "ef-index"));
  EfDrawStyle style;

  if (self->shown == NULL || index >= self->shown->across->len)
    return;
  ef_look_style (&style);
  ef_draw_cross (cr, &style, self->shown->across->pdata[index], MIN (width, height));
}

static void
clicked_cb (EfCrossList *self,
            GtkWidget *button)
{
  g_autofree char *ref = g_strdup (g_object_get_data (G_OBJECT (button), "ef-ref"));

  g_signal_emit (self, follow_signal, 0, ref);
}

static GtkWidget *
label (const char *text,
       const char *css_class)
{
  GtkWidget *widget = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (widget, css_class);

  return widget;
}

static gboolean
is_suspect (const EfCross *cross)
{
  return g_str_has_prefix (cross->id, "suspect:");
}

static const char *
word_of (const EfCross *cross)
{
  if (is_suspect (cross))
    return _ ("A reading the others contradict");

  return cross->consistent ? _ ("Consistent with pressure load") : _ ("Not consistent with pressure load");
}

static GtkWidget *
verdict_line (const EfCross *cross)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);

  gtk_box_append (GTK_BOX (box), gtk_image_new_from_icon_name (cross->consistent ? "emblem-ok-symbolic" : "dialog-warning-symbolic"));
  gtk_box_append (GTK_BOX (box), label (word_of (cross), "heading"));

  return box;
}

static char *
directions (const EfCross *cross)
{
  if (!isfinite (cross->direction))
    return NULL;
  if (!isfinite (cross->load))
    return g_strdup_printf (_ ("Points to %.0f° ± %.0f° (k = 2)."), cross->direction * 180 / G_PI, 2 * cross->u_direction * 180 / G_PI);

  return g_strdup_printf (_ ("Points to %.0f° ± %.0f° (k = 2); the load to %.0f°. Angles from away from the mate, towards delivery."), cross->direction * 180 / G_PI,
                          2 * cross->u_direction * 180 / G_PI, cross->load * 180 / G_PI);
}

/* The first mark or reading it rests on. */
static GtkWidget *
go_button (EfCrossList *self,
           const EfCross *cross)
{
  const char *ref = cross->refs->len > 0 ? cross->refs->pdata[0] : NULL;
  GtkWidget *button;

  if (ref == NULL)
    return NULL;
  button = gtk_button_new_with_label (g_str_has_prefix (ref, "mark:") ? _ ("Show on the Map") : _ ("Show the Reading"));
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_halign (button, GTK_ALIGN_START);
  g_object_set_data_full (G_OBJECT (button), "ef-ref", g_strdup (ref), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (clicked_cb), self, G_CONNECT_SWAPPED);

  return button;
}

static GtkWidget *
make_card (EfCrossList *self,
           const EfCross *cross,
           guint index)
{
  GtkWidget *card = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *words = gtk_box_new (GTK_ORIENTATION_VERTICAL, 4);
  GtkWidget *button = go_button (self, cross);
  g_autofree char *where = directions (cross);
  g_autofree char *next = g_strdup_printf (_ ("Next: %s"), cross->next);

  gtk_widget_add_css_class (card, "card");
  gtk_widget_add_css_class (card, "ef-group");
  if (where != NULL)
    {
      GtkWidget *picture = gtk_drawing_area_new ();

      g_object_set_data (G_OBJECT (picture), "ef-index", GUINT_TO_POINTER (index));
      gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (picture), PICTURE);
      gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (picture), PICTURE);
      gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (picture), draw_cb, self, NULL);
      gtk_widget_set_valign (picture, GTK_ALIGN_START);
      gtk_accessible_update_property (GTK_ACCESSIBLE (picture), GTK_ACCESSIBLE_PROPERTY_LABEL, where, -1);
      ef_look_follow (picture);
      gtk_box_append (GTK_BOX (card), picture);
    }
  gtk_widget_set_hexpand (words, TRUE);
  gtk_box_append (GTK_BOX (words), verdict_line (cross));
  gtk_box_append (GTK_BOX (words), label (cross->sentence, NULL));
  if (where != NULL)
    gtk_box_append (GTK_BOX (words), label (where, "ef-small"));
  gtk_box_append (GTK_BOX (words), label (next, NULL));
  if (button != NULL)
    gtk_box_append (GTK_BOX (words), button);
  gtk_box_append (GTK_BOX (card), words);

  return card;
}

static char *
told_by (const EfAssessment *assessment)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < assessment->across->len; i++)
    {
      const EfCross *cross = assessment->across->pdata[i];

      g_string_append_printf (text, "%s\n%s\n%s\n", cross->id, cross->sentence, cross->next);
    }

  return g_string_free (text, FALSE);
}

/* "What crosses parts: 2 consistent with pressure load, 1 not, 1 suspect reading" */
static void
show_summary (EfCrossList *self)
{
  guint n[3] = { 0 };
  g_autofree char *text = NULL;

  for (guint i = 0; i < self->shown->across->len; i++)
    {
      const EfCross *cross = self->shown->across->pdata[i];

      n[is_suspect (cross) ? 2 : cross->consistent ? 0 : 1]++;
    }
  text = g_strdup_printf (_ ("What crosses parts: %u consistent with pressure load, %u not consistent, %u suspect readings"), n[0], n[1], n[2]);
  gtk_label_set_label (GTK_LABEL (self->summary), text);
}

void
ef_cross_list_show (EfCrossList *self,
                    EfAssessment *assessment)
{
  g_autofree char *told = NULL;
  GtkWidget *child;

  g_clear_pointer (&self->shown, ef_assessment_unref);
  self->shown = assessment != NULL ? ef_assessment_ref (assessment) : NULL;
  gtk_widget_set_visible (GTK_WIDGET (self), assessment != NULL && assessment->across->len > 0);
  if (assessment == NULL)
    return;
  told = told_by (assessment);
  if (g_strcmp0 (told, self->told) == 0)
    return;
  show_summary (self);
  while ((child = gtk_widget_get_first_child (self->cards)) != NULL)
    gtk_box_remove (GTK_BOX (self->cards), child);
  /* what speaks against it first */
  for (int consistent = 0; consistent < 2; consistent++)
    for (guint i = 0; i < assessment->across->len; i++)
      if (((const EfCross *) assessment->across->pdata[i])->consistent == consistent)
        gtk_box_append (GTK_BOX (self->cards), make_card (self, assessment->across->pdata[i], i));
  g_free (self->told);
  self->told = g_steal_pointer (&told);
}

static void
ef_cross_list_dispose (GObject *object)
{
  EfCrossList *self = EF_CROSS_LIST (object);

  g_clear_pointer (&self->shown, ef_assessment_unref);
  g_clear_pointer (&self->told, g_free);
  g_clear_object (&self->scrolled);
  G_OBJECT_CLASS (ef_cross_list_parent_class)->dispose (object);
}

static void
ef_cross_list_class_init (EfCrossListClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_cross_list_dispose;
  follow_signal = g_signal_new ("follow", G_TYPE_FROM_CLASS (klass), G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
}

/* Folded away the list isn't the expander's at all: GTK 4.8 maps the child of a folded expander without a window, and complains. */
static void
expanded_cb (EfCrossList *self)
{
  gboolean expanded = gtk_expander_get_expanded (GTK_EXPANDER (self->expander));

  GtkWidget *root = GTK_WIDGET (gtk_widget_get_root (GTK_WIDGET (self)));
  int most = root != NULL ? MAX (MOST_HEIGHT, (int) (MOST_SHARE * gtk_widget_get_height (root))) : MOST_HEIGHT;

  gtk_scrolled_window_set_max_content_height (GTK_SCROLLED_WINDOW (self->scrolled), most);
  gtk_expander_set_child (GTK_EXPANDER (self->expander), expanded ? self->scrolled : NULL);
}

static void
ef_cross_list_init (EfCrossList *self)
{

  self->summary = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "ellipsize", PANGO_ELLIPSIZE_END, NULL);
  gtk_widget_add_css_class (self->summary, "heading");
  self->cards = gtk_box_new (GTK_ORIENTATION_VERTICAL, 8);
  gtk_widget_add_css_class (self->cards, "ef-cross-cards");
  self->scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "propagate-natural-height", TRUE,
                           "max-content-height", MOST_HEIGHT, "child", self->cards, NULL);
  g_object_ref_sink (self->scrolled);
  self->expander = gtk_expander_new (NULL);
  gtk_widget_set_hexpand (self->expander, TRUE);
  gtk_widget_add_css_class (self->expander, "ef-cross");
  gtk_expander_set_label_widget (GTK_EXPANDER (self->expander), self->summary);
  g_signal_connect_swapped (self->expander, "notify::expanded", G_CALLBACK (expanded_cb), self);
  gtk_box_append (GTK_BOX (self), self->expander);
  gtk_widget_set_visible (GTK_WIDGET (self), FALSE);
}

GtkWidget *
ef_cross_list_new (void)
{
  return g_object_new (EF_TYPE_CROSS_LIST, NULL);
}
