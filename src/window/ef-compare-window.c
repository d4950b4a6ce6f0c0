/* At the left the list, at the right one face: what differs on it, or both states side by side at one scale.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-compare-window.h"
#include "ef-form-window.h"
#include "ef-look.h"

#include "../draw/ef-draw-difference.h"
#include "../wear/ef-depth-map.h"

#include <glib/gi18n.h>
#include <string.h>

/* More rows than anybody reads make the list slow. */
#define DIFFERENCES_SHOWN 500

/* One of the two states, and what its picture is drawn from. */
typedef struct
{
  EfInspection *inspection;
  EfFaceChart *chart;
  EfDepthMap *map;
  GPtrArray *marks;
  GtkWidget *area;
} Side;

struct _EfCompareWindow
{
  AdwWindow parent_instance;

  Side sides[2];
  GPtrArray *differences; /* EfDifference * */
  GPtrArray *faces;       /* char *: ids of those that differ */
  EfFaceDifference *difference; /* of the face that is shown */
  GtkWidget *list, *summary, *face, *titles[2], *pictures, *no_pictures, *difference_area, *difference_words;
};

G_DEFINE_FINAL_TYPE (EfCompareWindow, ef_compare_window, ADW_TYPE_WINDOW)

static void
clear_picture (Side *side)
{
  g_clear_pointer (&side->chart, ef_face_chart_unref);
  g_clear_pointer (&side->map, ef_depth_map_unref);
  g_clear_pointer (&side->marks, g_ptr_array_unref);
}

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer user_data)
{
  EfCompareWindow *self = user_data;
  const Side *side = GTK_WIDGET (area) == self->sides[0].area ? &self->sides[0] : &self->sides[1];
  double deepest = MAX (ef_draw_depth_deepest (self->sides[0].map), ef_draw_depth_deepest (self->sides[1].map));
  EfFaceLayers layers = { .labels = TRUE, .depth_colours = TRUE, .contours = TRUE, .mark_numbers = TRUE, .max_depth = ef_draw_depth_scale (deepest) };
  EfDrawStyle style;
  EfFaceView view;

  if (side->chart == NULL)
    return;
  ef_look_style (&style);
  ef_face_view_fit (&view, side->chart, width, height, 12);
  ef_draw_face_ground (cr, &style, &view, side->chart, &layers);
  if (side->map != NULL)
    ef_draw_face_depth (cr, &style, &view, side->chart, side->map, &layers);
  ef_draw_face_marks (cr, &style, &view, side->chart, (EfMark *const *) side->marks->pdata, side->marks->len, &layers, NULL);
}

static void
draw_difference_cb (GtkDrawingArea *area,
                    cairo_t *cr,
                    int width,
                    int height,
                    gpointer user_data)
{
  EfCompareWindow *self = user_data;
  EfDrawStyle style;

  if (self->difference == NULL)
    return;
  ef_look_style (&style);
  ef_draw_face_difference (cr, &style, self->difference, width, height);
}

static void
show_difference (EfCompareWindow *self,
                 const char *face)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *words = NULL;

  g_clear_pointer (&self->difference, ef_face_difference_free);
  self->difference = ef_face_difference_new (self->sides[0].inspection, self->sides[1].inspection, self->differences, face, NULL, &error);
  words = self->difference != NULL ? ef_face_difference_words (self->difference) : g_strdup (error->message);
  gtk_label_set_label (GTK_LABEL (self->difference_words), words);
  gtk_widget_queue_draw (self->difference_area);
}

static void
show_face (EfCompareWindow *self,
           const char *face)
{
  for (guint i = 0; i < 2; i++)
    {
      Side *side = &self->sides[i];

      clear_picture (side);
      side->chart = ef_face_chart_new (side->inspection->sheet, face, NULL);
      side->marks = ef_inspection_face_marks (side->inspection, face);
      if (side->chart != NULL)
        side->map = ef_depth_map_new (side->chart, (EfMark *const *) side->marks->pdata, side->marks->len, 0, NULL, NULL);
      gtk_widget_queue_draw (side->area);
    }
  show_difference (self, face);
}

static void
face_cb (EfCompareWindow *self)
{
  guint i = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->face));

  if (i < self->faces->len)
    show_face (self, self->faces->pdata[i]);
}

static char *
face_title (const EfPumpSheet *sheet,
            const char *face)
{
  g_autofree char *part_id = g_strndup (face, strcspn (face, "/"));
  const EfPart *part = ef_pump_sheet_part (sheet, part_id);
  g_autoptr (EfFaceChart) chart = ef_face_chart_new ((EfPumpSheet *) sheet, face, NULL);

  return g_strdup_printf ("%s · %s", part != NULL ? part->name : part_id, chart != NULL ? chart->name : face);
}

static void
add_row (EfCompareWindow *self,
         const EfDifference *one)
{
  gboolean whole = *one->path == '\0';
  const char *before = one->before != NULL ? one->before : _ ("not said");
  const char *after = one->after != NULL ? one->after : _ ("not said");
  g_autofree char *title = whole ? g_strdup (one->title) : g_strdup_printf ("%s: %s", one->title, one->field);
  g_autofree char *subtitle = NULL;
  GtkWidget *row;

  if (whole && one->before == NULL)
    subtitle = g_strdup_printf (_ ("Added: %s"), one->after);
  else if (whole && one->after == NULL)
    subtitle = g_strdup_printf (_ ("Removed: %s"), one->before);
  else
    subtitle = g_strdup_printf ("%s → %s", before, after);
  row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", title, "subtitle", subtitle, NULL);
  adw_action_row_set_title_lines (ADW_ACTION_ROW (row), 0);
  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
  gtk_list_box_append (GTK_LIST_BOX (self->list), row);
}

static void
fill (EfCompareWindow *self)
{
  GPtrArray *differences = self->differences = ef_compare (self->sides[0].inspection, self->sides[1].inspection);
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  g_autofree char *summary = NULL;

  for (guint i = 0; i < MIN (differences->len, DIFFERENCES_SHOWN); i++)
    add_row (self, differences->pdata[i]);
  gtk_widget_set_visible (self->list, differences->len > 0);
  summary = differences->len == 0 ? g_strdup (_ ("Nothing differs."))
                                  : g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u difference", "%u differences", differences->len), differences->len);
  gtk_label_set_label (GTK_LABEL (self->summary), summary);
  self->faces = ef_face_difference_faces (self->sides[0].inspection, self->sides[1].inspection, differences);
  for (guint i = 0; i < self->faces->len; i++)
    {
      g_autofree char *title = face_title (self->sides[1].inspection->sheet, self->faces->pdata[i]);

      gtk_string_list_append (names, title);
    }
  gtk_widget_set_visible (self->pictures, self->faces->len > 0);
  gtk_widget_set_visible (self->no_pictures, self->faces->len == 0);
  gtk_drop_down_set_model (GTK_DROP_DOWN (self->face), G_LIST_MODEL (names));
  face_cb (self);
}

static void
ef_compare_window_finalize (GObject *object)
{
  EfCompareWindow *self = EF_COMPARE_WINDOW (object);

  for (guint i = 0; i < 2; i++)
    {
      clear_picture (&self->sides[i]);
      g_clear_pointer (&self->sides[i].inspection, ef_inspection_free);
    }
  g_clear_pointer (&self->difference, ef_face_difference_free);
  g_clear_pointer (&self->differences, g_ptr_array_unref);
  g_clear_pointer (&self->faces, g_ptr_array_unref);
  G_OBJECT_CLASS (ef_compare_window_parent_class)->finalize (object);
}

static void
ef_compare_window_class_init (EfCompareWindowClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_compare_window_finalize;
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static GtkWidget *
make_list (EfCompareWindow *self)
{
  GtkWidget *scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE, "width-request", 340, NULL);
  GtkWidget *column = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 12, "margin-start", 18, "margin-end", 18,
                                    "margin-top", 18, "margin-bottom", 18, NULL);

  self->summary = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (self->summary, "dim-label");
  self->list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  gtk_widget_add_css_class (self->list, "boxed-list");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->list), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("What differs"), -1);
  gtk_box_append (GTK_BOX (column), self->summary);
  gtk_box_append (GTK_BOX (column), self->list);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), column);

  return scrolled;
}

static GtkWidget *
make_side (EfCompareWindow *self,
           guint i)
{
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 6, "hexpand", TRUE, NULL);
  Side *side = &self->sides[i];

  self->titles[i] = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "yalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (self->titles[i], "heading");
  side->area = g_object_new (GTK_TYPE_DRAWING_AREA, "hexpand", TRUE, "vexpand", TRUE, "content-width", 240, "content-height", 280, NULL);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (side->area), draw_cb, self, NULL);
  ef_look_follow (side->area);
  gtk_box_append (GTK_BOX (box), self->titles[i]);
  gtk_box_append (GTK_BOX (box), side->area);

  return box;
}

static GtkWidget *
make_side_by_side (EfCompareWindow *self)
{
  GtkWidget *row = g_object_new (GTK_TYPE_BOX, "spacing", 12, "homogeneous", TRUE, "vexpand", TRUE, NULL);
  g_autoptr (GtkSizeGroup) heads = gtk_size_group_new (GTK_SIZE_GROUP_VERTICAL);

  gtk_box_append (GTK_BOX (row), make_side (self, 0));
  gtk_box_append (GTK_BOX (row), make_side (self, 1));
  gtk_size_group_add_widget (heads, self->titles[0]);
  gtk_size_group_add_widget (heads, self->titles[1]);

  return row;
}

static GtkWidget *
make_difference (EfCompareWindow *self)
{
  GtkWidget *column = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 6, NULL);

  self->difference_words = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  self->difference_area = g_object_new (GTK_TYPE_DRAWING_AREA, "hexpand", TRUE, "vexpand", TRUE, "content-width", 480, "content-height", 280, NULL);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->difference_area), draw_difference_cb, self, NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->difference_area), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("The marks that differ, and how much deeper or shallower the face became"), -1);
  ef_look_follow (self->difference_area);
  gtk_box_append (GTK_BOX (column), self->difference_words);
  gtk_box_append (GTK_BOX (column), self->difference_area);

  return column;
}

static GtkWidget *
make_pictures (EfCompareWindow *self)
{
  GtkWidget *stack = g_object_new (GTK_TYPE_STACK, "vexpand", TRUE, "hhomogeneous", FALSE, NULL);
  GtkWidget *switcher = g_object_new (GTK_TYPE_STACK_SWITCHER, "stack", stack, "halign", GTK_ALIGN_START, NULL);

  self->pictures = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 12, "hexpand", TRUE, "margin-start", 18, "margin-end", 18,
                                 "margin-top", 18, "margin-bottom", 18, NULL);
  self->face = gtk_drop_down_new (NULL, NULL);
  gtk_widget_add_css_class (self->face, "ef-touch");
  gtk_widget_add_css_class (switcher, "ef-touch");
  g_signal_connect_swapped (self->face, "notify::selected", G_CALLBACK (face_cb), self);
  gtk_stack_add_titled (GTK_STACK (stack), make_difference (self), "difference", _ ("What Differs"));
  gtk_stack_add_titled (GTK_STACK (stack), make_side_by_side (self), "both", _ ("Side by Side"));
  gtk_box_append (GTK_BOX (self->pictures), ef_labelled (_ ("Face"), self->face));
  gtk_box_append (GTK_BOX (self->pictures), switcher);
  gtk_box_append (GTK_BOX (self->pictures), stack);

  return self->pictures;
}

static void
ef_compare_window_init (EfCompareWindow *self)
{
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *halves = g_object_new (GTK_TYPE_BOX, "vexpand", TRUE, NULL);
  GtkWidget *header = adw_header_bar_new ();

  adw_header_bar_set_title_widget (ADW_HEADER_BAR (header), adw_window_title_new (_ ("Compare"), NULL));
  gtk_box_append (GTK_BOX (halves), make_list (self));
  gtk_box_append (GTK_BOX (halves), gtk_separator_new (GTK_ORIENTATION_VERTICAL));
  gtk_box_append (GTK_BOX (halves), make_pictures (self));
  self->no_pictures = g_object_new (GTK_TYPE_LABEL, "label", _ ("The marks are the same on every face."), "hexpand", TRUE, "wrap", TRUE, "margin-start", 18,
                                    "margin-end", 18, NULL);
  gtk_widget_add_css_class (self->no_pictures, "dim-label");
  gtk_box_append (GTK_BOX (halves), self->no_pictures);
  gtk_box_append (GTK_BOX (content), header);
  gtk_box_append (GTK_BOX (content), halves);
  adw_window_set_content (ADW_WINDOW (self), content);
  gtk_window_set_title (GTK_WINDOW (self), _ ("Compare"));
  gtk_window_set_default_size (GTK_WINDOW (self), 1160, 720);
}

EfCompareWindow *
ef_compare_window_show (GtkWidget *parent,
                        EfInspection *before,
                        const char *before_title,
                        EfInspection *after,
                        const char *after_title)
{
  EfCompareWindow *self = g_object_new (EF_TYPE_COMPARE_WINDOW, NULL);
  GtkRoot *root = gtk_widget_get_root (parent);

  self->sides[0].inspection = before;
  self->sides[1].inspection = after;
  gtk_label_set_label (GTK_LABEL (self->titles[0]), before_title);
  gtk_label_set_label (GTK_LABEL (self->titles[1]), after_title);
  fill (self);
  if (GTK_IS_WINDOW (root))
    gtk_window_set_transient_for (GTK_WINDOW (self), GTK_WINDOW (root));
  gtk_window_present (GTK_WINDOW (self));

  return self;
}
