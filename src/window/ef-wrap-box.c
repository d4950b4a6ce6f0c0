/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-wrap-box.h"

struct _EfWrapBox
{
  GtkWidget parent_instance;

  int spacing;
};

G_DEFINE_FINAL_TYPE (EfWrapBox, ef_wrap_box, GTK_TYPE_WIDGET)

/* Neighbours that stand in one row. */
typedef struct
{
  GtkWidget *first, *after; /* NULL: to the last */
  int width, height;
  int n_expand;
} Row;

static int
natural_width (GtkWidget *child)
{
  int natural;

  gtk_widget_measure (child, GTK_ORIENTATION_HORIZONTAL, -1, NULL, &natural, NULL, NULL);

  return natural;
}

static int
height_at (GtkWidget *child,
           int width)
{
  int natural;

  gtk_widget_measure (child, GTK_ORIENTATION_VERTICAL, width, NULL, &natural, NULL, NULL);

  return natural;
}

static GtkWidget *
next_laid_out (GtkWidget *child)
{
  while (child != NULL && !gtk_widget_should_layout (child))
    child = gtk_widget_get_next_sibling (child);

  return child;
}

/* The row that begins with @first: at least one, even if it's wider. */
static Row
row_from (EfWrapBox *self,
          GtkWidget *first,
          int width)
{
  Row row = { first, NULL, 0, 0, 0 };
  GtkWidget *child;

  for (child = first; child != NULL; child = next_laid_out (gtk_widget_get_next_sibling (child)))
    {
      int wide = natural_width (child), with = child == first ? MIN (wide, width) : row.width + self->spacing + wide;

      if (child != first && with > width)
        break;
      row.height = MAX (row.height, height_at (child, child == first ? with : wide));
      row.n_expand += gtk_widget_compute_expand (child, GTK_ORIENTATION_HORIZONTAL) ? 1 : 0;
      row.width = with;
    }
  row.after = child;

  return row;
}

static GtkWidget *
first_of (EfWrapBox *self)
{
  return next_laid_out (gtk_widget_get_first_child (GTK_WIDGET (self)));
}

static GtkSizeRequestMode
ef_wrap_box_get_request_mode (GtkWidget *widget)
{
  return GTK_SIZE_REQUEST_HEIGHT_FOR_WIDTH;
}

static void
measure_width (EfWrapBox *self,
               int *minimum,
               int *natural)
{
  for (GtkWidget *child = first_of (self); child != NULL; child = next_laid_out (gtk_widget_get_next_sibling (child)))
    {
      int least;

      gtk_widget_measure (child, GTK_ORIENTATION_HORIZONTAL, -1, &least, NULL, NULL, NULL);
      *minimum = MAX (*minimum, least);
      *natural += (*natural > 0 ? self->spacing : 0) + natural_width (child);
    }
}

static void
ef_wrap_box_measure (GtkWidget *widget,
                     GtkOrientation orientation,
                     int for_size,
                     int *minimum,
                     int *natural,
                     int *minimum_baseline,
                     int *natural_baseline)
{
  EfWrapBox *self = EF_WRAP_BOX (widget);
  int height = 0;

  *minimum = *natural = 0;
  if (orientation == GTK_ORIENTATION_HORIZONTAL)
    {
      measure_width (self, minimum, natural);
      return;
    }
  for (GtkWidget *child = first_of (self); child != NULL;)
    {
      Row row = row_from (self, child, for_size >= 0 ? for_size : G_MAXINT);

      height += (height > 0 ? self->spacing : 0) + row.height;
      child = row.after;
    }
  *minimum = *natural = height;
}

static void
place_row (EfWrapBox *self,
           const Row *row,
           int y,
           int width)
{
  gboolean rtl = gtk_widget_get_direction (GTK_WIDGET (self)) == GTK_TEXT_DIR_RTL;
  int spare = MAX (width - row->width, 0), n_expand = row->n_expand, x = 0;

  for (GtkWidget *child = row->first; child != row->after; child = next_laid_out (gtk_widget_get_next_sibling (child)))
    {
      GtkAllocation box = { x, y, MIN (natural_width (child), width), row->height };

      if (n_expand > 0 && gtk_widget_compute_expand (child, GTK_ORIENTATION_HORIZONTAL))
        {
          box.width += spare / n_expand;
          spare -= spare / n_expand--;
        }
      x += box.width + self->spacing;
      if (rtl)
        box.x = width - box.x - box.width;
      gtk_widget_size_allocate (child, &box, -1);
    }
}

static void
ef_wrap_box_size_allocate (GtkWidget *widget,
                           int width,
                           int height,
                           int baseline)
{
  EfWrapBox *self = EF_WRAP_BOX (widget);
  int y = 0;

  for (GtkWidget *child = first_of (self); child != NULL;)
    {
      Row row = row_from (self, child, width);

      place_row (self, &row, y, width);
      y += row.height + self->spacing;
      child = row.after;
    }
}

static void
ef_wrap_box_dispose (GObject *object)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (object))) != NULL)
    gtk_widget_unparent (child);
  G_OBJECT_CLASS (ef_wrap_box_parent_class)->dispose (object);
}

static void
ef_wrap_box_class_init (EfWrapBoxClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_wrap_box_dispose;
  widget_class->get_request_mode = ef_wrap_box_get_request_mode;
  widget_class->measure = ef_wrap_box_measure;
  widget_class->size_allocate = ef_wrap_box_size_allocate;
  gtk_widget_class_set_css_name (widget_class, "wrapbox");
}

static void
ef_wrap_box_init (EfWrapBox *self)
{
}

GtkWidget *
ef_wrap_box_new (int spacing)
{
  EfWrapBox *self = g_object_new (EF_TYPE_WRAP_BOX, NULL);

  self->spacing = spacing;

  return GTK_WIDGET (self);
}

void
ef_wrap_box_append (EfWrapBox *self,
                    GtkWidget *child)
{
  gtk_widget_set_parent (child, GTK_WIDGET (self));
}
