/* A quiet row with an icon and a sentence.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-missing-bar.h"
#include "ef-bench-plan.h"

struct _EfMissingBar
{
  GtkBox parent_instance;

  GtkWidget *label;
};

G_DEFINE_FINAL_TYPE (EfMissingBar, ef_missing_bar, GTK_TYPE_BOX)

static void
ef_missing_bar_class_init (EfMissingBarClass *klass)
{
}

static void
ef_missing_bar_init (EfMissingBar *self)
{
  gtk_widget_add_css_class (GTK_WIDGET (self), "ef-missing");
  gtk_box_set_spacing (GTK_BOX (self), 12);
  gtk_box_append (GTK_BOX (self), gtk_image_new_from_icon_name ("dialog-information-symbolic"));
  self->label = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "hexpand", TRUE, NULL);
  gtk_box_append (GTK_BOX (self), self->label);
  gtk_widget_set_visible (GTK_WIDGET (self), FALSE);
}

GtkWidget *
ef_missing_bar_new (void)
{
  return g_object_new (EF_TYPE_MISSING_BAR, NULL);
}

void
ef_missing_bar_set (EfMissingBar *self,
                    const char *sentence)
{
  gtk_label_set_label (GTK_LABEL (self->label), sentence != NULL ? sentence : "");
  gtk_widget_set_visible (GTK_WIDGET (self), sentence != NULL);
}

void
ef_missing_bar_take (EfMissingBar *self,
                     GPtrArray *phrases)
{
  g_autofree char *sentence = ef_missing_sentence (phrases);

  ef_missing_bar_set (self, sentence);
  g_ptr_array_unref (phrases);
}
