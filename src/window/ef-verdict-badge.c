/* Glyph and word of a verdict.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-verdict-badge.h"
#include "ef-look.h"

#include <glib/gi18n.h>

struct _EfVerdictBadge
{
  GtkBox parent_instance;

  GtkWidget *glyph;
  GtkWidget *label;
  int word;
};

G_DEFINE_FINAL_TYPE (EfVerdictBadge, ef_verdict_badge, GTK_TYPE_BOX)

static void
draw_glyph (GtkDrawingArea *area,
            cairo_t *cr,
            int width,
            int height,
            gpointer user_data)
{
  EfVerdictBadge *self = user_data;
  EfDrawStyle style;
  double size = MIN (width, height);

  if (self->word == EF_VERDICT_UNKNOWN)
    return;
  ef_look_style (&style);
  ef_draw_verdict_glyph (cr, self->word, &style, (width - size) / 2, (height - size) / 2, size);
}

static void
ef_verdict_badge_class_init (EfVerdictBadgeClass *klass)
{
}

static void
ef_verdict_badge_init (EfVerdictBadge *self)
{
  self->word = EF_VERDICT_UNKNOWN;
  gtk_box_set_spacing (GTK_BOX (self), 8);
  gtk_widget_set_valign (GTK_WIDGET (self), GTK_ALIGN_CENTER);
  self->glyph = gtk_drawing_area_new ();
  gtk_widget_set_valign (self->glyph, GTK_ALIGN_CENTER);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->glyph), draw_glyph, self, NULL);
  ef_look_follow (self->glyph);
  self->label = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, NULL);
  gtk_box_append (GTK_BOX (self), self->glyph);
  gtk_box_append (GTK_BOX (self), self->label);
  ef_verdict_badge_set_glyph_size (self, 18);
  ef_verdict_badge_set (self, EF_VERDICT_UNKNOWN);
}

GtkWidget *
ef_verdict_badge_new (void)
{
  return g_object_new (EF_TYPE_VERDICT_BADGE, NULL);
}

void
ef_verdict_badge_set_glyph_size (EfVerdictBadge *self,
                                 int pixels)
{
  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (self->glyph), pixels);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->glyph), pixels);
}

void
ef_verdict_badge_set (EfVerdictBadge *self,
                      int word)
{
  self->word = word;
  gtk_label_set_label (GTK_LABEL (self->label), ef_verdict_shown (word));
  gtk_widget_set_visible (self->glyph, word != EF_VERDICT_UNKNOWN);
  if (word == EF_VERDICT_UNKNOWN)
    gtk_widget_add_css_class (self->label, "dim-label");
  else
    gtk_widget_remove_css_class (self->label, "dim-label");
  gtk_widget_queue_draw (self->glyph);
}

int
ef_verdict_badge_word (EfVerdictBadge *self)
{
  return self->word;
}

const char *
ef_verdict_shown (int word)
{
  switch (word)
    {
    case EF_VERDICT_USE:
      return _ ("Use again");
    case EF_VERDICT_MEASURE:
      return _ ("Measure again");
    case EF_VERDICT_REWORK:
      return _ ("Rework");
    case EF_VERDICT_SCRAP:
      return _ ("Scrap");
    default:
      return _ ("Not assessed yet");
    }
}

int
ef_verdict_from_stored (const char *name)
{
  EfVerdictWord word;

  if (name != NULL && name[0] != '\0' && ef_verdict_from_name (name, &word))
    return word;
  return EF_VERDICT_UNKNOWN;
}
