/* A grid of labels.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-table.h"

static int
next_row (GtkWidget *table)
{
  int row = GPOINTER_TO_INT (g_object_get_data (G_OBJECT (table), "ef-rows"));

  g_object_set_data (G_OBJECT (table), "ef-rows", GINT_TO_POINTER (row + 1));
  return row;
}

static void
attach_row (GtkWidget *table,
            const char *css_class,
            const char *first,
            va_list rest)
{
  int row = next_row (table);
  int column = 0;
  const char *text;

  for (text = first; text != NULL; text = va_arg (rest, const char *))
    {
      GtkWidget *label = g_object_new (GTK_TYPE_LABEL,
                                       "label", text, "xalign", 0.0f, "yalign", 0.0f, "wrap", TRUE,
                                       "wrap-mode", PANGO_WRAP_WORD_CHAR, "hexpand", TRUE, "halign", GTK_ALIGN_FILL,
                                       "width-chars", 5, NULL);

      gtk_widget_add_css_class (label, css_class);
      gtk_grid_attach (GTK_GRID (table), label, column++, row, 1, 1);
    }
}

GtkWidget *
ef_table_new (const char *first_title,
              ...)
{
  GtkWidget *table = gtk_grid_new ();
  va_list titles;

  gtk_widget_add_css_class (table, "ef-table");
  gtk_widget_add_css_class (table, "card");
  va_start (titles, first_title);
  attach_row (table, "ef-table-head", first_title, titles);
  va_end (titles);
  return table;
}

void
ef_table_row (GtkWidget *table,
              const char *first_text,
              ...)
{
  va_list texts;

  va_start (texts, first_text);
  attach_row (table, "ef-table-cell", first_text, texts);
  va_end (texts);
}
