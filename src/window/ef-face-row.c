/* The faces of the shown part as small pictures in a row.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A picture is kept as a texture until the marks of its face, the colours or the size change.
 */
#include "config.h"

#include "ef-face-row.h"
#include "ef-face-layer.h"
#include "ef-look.h"

#include <adwaita.h>
#include <glib/gi18n.h>

#define PICTURE_WIDTH 84
#define PICTURE_HEIGHT 42

struct _EfFaceRow
{
  GtkWidget parent_instance;

  EfSession *session;
  GSignalGroup *session_signals;
  GtkWidget *scrolled, *box;
  GPtrArray *cells; /* Cell * */
  char *part_id;
  gboolean setting;
};

typedef struct
{
  EfFaceRow *row;
  char *face_id;
  GtkWidget *button, *picture, *label;
  GPtrArray *marks; /* as drawn */
  EfDepthMap *map;
} Cell;

enum
{
  OPENED,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfFaceRow, ef_face_row, GTK_TYPE_WIDGET)

static void
cell_free (gpointer data)
{
  Cell *cell = data;

  g_free (cell->face_id);
  g_clear_pointer (&cell->marks, g_ptr_array_unref);
  g_clear_pointer (&cell->map, ef_depth_map_unref);
  g_free (cell);
}

static void
draw_picture (EfFaceRow *self,
              Cell *cell)
{
  EfFaceChart *chart = ef_session_chart (self->session, cell->face_id);
  g_autoptr (EfFaceLayerJob) job = NULL;
  g_autoptr (GdkTexture) texture = NULL;

  if (chart == NULL)
    return;
  job = ef_face_layer_job_new (chart, cell->marks, cell->map);
  ef_look_style (&job->style);
  job->style.line_scale *= 0.6;
  job->layers.depth_colours = TRUE;
  job->width = PICTURE_WIDTH;
  job->height = PICTURE_HEIGHT;
  job->scale = gtk_widget_get_scale_factor (GTK_WIDGET (self));
  ef_face_view_fit (&job->view, chart, job->width, job->height, 3);
  texture = ef_face_layer_draw (job);
  gtk_picture_set_paintable (GTK_PICTURE (cell->picture), GDK_PAINTABLE (texture));
}

/* Marks and depth of the cell's face as they are now; TRUE when they are others than those drawn. */
static gboolean
take_marks (EfFaceRow *self,
            Cell *cell)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  EfAssessment *assessment = ef_session_assessment (self->session);
  g_autoptr (GPtrArray) found = ef_inspection_face_marks (inspection, cell->face_id);
  EfDepthMap *map = assessment != NULL && assessment->findings.maps != NULL
                      ? g_hash_table_lookup (assessment->findings.maps, cell->face_id)
                      : NULL;
  gboolean same = cell->marks != NULL && cell->marks->len == found->len && cell->map == map;
  guint i;

  for (i = 0; same && i < found->len; i++)
    same = g_ptr_array_index (cell->marks, i) == g_ptr_array_index (found, i);
  if (same)
    return FALSE;
  g_clear_pointer (&cell->marks, g_ptr_array_unref);
  cell->marks = g_ptr_array_new_with_free_func (ef_item_unref);
  for (i = 0; i < found->len; i++)
    g_ptr_array_add (cell->marks, ef_item_ref (g_ptr_array_index (found, i)));
  g_clear_pointer (&cell->map, ef_depth_map_unref);
  cell->map = map != NULL ? ef_depth_map_ref (map) : NULL;
  return TRUE;
}

static void
show_words (EfFaceRow *self,
            Cell *cell)
{
  EfFaceChart *chart = ef_session_chart (self->session, cell->face_id);
  const char *name = chart != NULL ? chart->name : cell->face_id;
  /* "Flanks, drive side" stands on two lines. */
  g_auto (GStrv) lines = g_strsplit (name, ", ", 2);
  g_autofree char *broken = g_strjoinv ("\n", lines);
  g_autofree char *label = cell->marks->len > 0 ? g_strdup_printf ("%s · %u", broken, cell->marks->len) : g_strdup (broken);
  g_autofree char *count = g_strdup_printf (ngettext ("%u mark", "%u marks", cell->marks->len), cell->marks->len);
  g_autofree char *spoken = g_strdup_printf ("%s, %s", name, count);

  gtk_label_set_label (GTK_LABEL (cell->label), label);
  gtk_widget_set_tooltip_text (cell->button, spoken);
  gtk_accessible_update_property (GTK_ACCESSIBLE (cell->button), GTK_ACCESSIBLE_PROPERTY_LABEL, spoken, -1);
}

static void
refresh_cells (EfFaceRow *self)
{
  guint i;

  for (i = 0; i < self->cells->len; i++)
    {
      Cell *cell = g_ptr_array_index (self->cells, i);

      if (!take_marks (self, cell))
        continue;
      draw_picture (self, cell);
      show_words (self, cell);
    }
}

static void
redraw_cells (EfFaceRow *self)
{
  guint i;

  for (i = 0; i < self->cells->len; i++)
    draw_picture (self, g_ptr_array_index (self->cells, i));
}

static void
show_face (EfFaceRow *self)
{
  const char *face = ef_session_face (self->session);
  guint i;

  self->setting = TRUE;
  for (i = 0; i < self->cells->len; i++)
    {
      Cell *cell = g_ptr_array_index (self->cells, i);

      gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (cell->button), g_strcmp0 (cell->face_id, face) == 0);
      if (g_strcmp0 (cell->face_id, face) == 0)
        ef_look_reveal (cell->button, GTK_SCROLLED_WINDOW (self->scrolled));
    }
  self->setting = FALSE;
}

static void
toggled_cb (GtkToggleButton *button,
            Cell *cell)
{
  if (cell->row->setting)
    return;
  if (gtk_toggle_button_get_active (button))
    ef_session_select_face (cell->row->session, cell->face_id);
  show_face (cell->row);
  g_signal_emit (cell->row, signals[OPENED], 0);
}

static void
add_cell (EfFaceRow *self,
          const char *face_id)
{
  Cell *cell = g_new0 (Cell, 1);
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *frame = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 0);

  cell->row = self;
  cell->face_id = g_strdup (face_id);
  cell->button = gtk_toggle_button_new ();
  cell->picture = gtk_picture_new ();
  cell->label = g_object_new (GTK_TYPE_LABEL, "justify", GTK_JUSTIFY_CENTER, "width-chars", 11, NULL);
  gtk_widget_set_size_request (cell->picture, PICTURE_WIDTH, PICTURE_HEIGHT);
  gtk_picture_set_can_shrink (GTK_PICTURE (cell->picture), FALSE);
  /* In a frame of its own, so that a wide name doesn't enlarge it. */
  gtk_widget_set_halign (frame, GTK_ALIGN_CENTER);
  gtk_box_append (GTK_BOX (frame), cell->picture);
  gtk_widget_add_css_class (cell->label, "caption");
  gtk_box_append (GTK_BOX (box), frame);
  gtk_box_append (GTK_BOX (box), cell->label);
  gtk_widget_set_valign (box, GTK_ALIGN_START);
  gtk_button_set_child (GTK_BUTTON (cell->button), box);
  gtk_widget_add_css_class (cell->button, "flat");
  gtk_widget_add_css_class (cell->button, "ef-face");
  g_signal_connect (cell->button, "toggled", G_CALLBACK (toggled_cb), cell);
  gtk_box_append (GTK_BOX (self->box), cell->button);
  g_ptr_array_add (self->cells, cell);
  take_marks (self, cell);
  draw_picture (self, cell);
  show_words (self, cell);
}

static void
drop_cells (EfFaceRow *self)
{
  guint i;

  for (i = 0; i < self->cells->len; i++)
    {
      Cell *cell = g_ptr_array_index (self->cells, i);

      g_signal_handlers_disconnect_by_data (cell->button, cell);
      gtk_box_remove (GTK_BOX (self->box), cell->button);
    }
  g_ptr_array_set_size (self->cells, 0);
}

static void
show_part (EfFaceRow *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const char *part = ef_session_part (self->session);
  g_auto (GStrv) faces = NULL;
  guint i;

  if (g_strcmp0 (part, self->part_id) == 0)
    return;
  g_free (self->part_id);
  self->part_id = g_strdup (part);
  drop_cells (self);
  if (part != NULL)
    faces = ef_part_face_ids (inspection->sheet, part);
  for (i = 0; faces != NULL && faces[i] != NULL; i++)
    add_cell (self, faces[i]);
  show_face (self);
}

static void
ef_face_row_dispose (GObject *object)
{
  EfFaceRow *self = EF_FACE_ROW (object);

  g_clear_object (&self->session_signals);
  if (self->cells != NULL)
    drop_cells (self);
  g_clear_pointer (&self->cells, g_ptr_array_unref);
  g_clear_pointer (&self->scrolled, gtk_widget_unparent);
  g_clear_pointer (&self->part_id, g_free);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_face_row_parent_class)->dispose (object);
}

static void
ef_face_row_class_init (EfFaceRowClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_face_row_dispose;
  signals[OPENED] = g_signal_new ("opened", EF_TYPE_FACE_ROW, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  gtk_widget_class_set_layout_manager_type (widget_class, GTK_TYPE_BIN_LAYOUT);
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_GROUP);
}

static void
ef_face_row_init (EfFaceRow *self)
{
  AdwStyleManager *manager = adw_style_manager_get_default ();

  self->cells = g_ptr_array_new_with_free_func (cell_free);
  self->box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 4);
  gtk_widget_set_margin_start (self->box, 6);
  gtk_widget_set_margin_end (self->box, 6);
  gtk_widget_set_margin_top (self->box, 4);
  gtk_widget_set_margin_bottom (self->box, 4);
  self->scrolled = gtk_scrolled_window_new ();
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (self->scrolled), GTK_POLICY_AUTOMATIC, GTK_POLICY_NEVER);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (self->scrolled), self->box);
  gtk_scrollable_set_hscroll_policy (GTK_SCROLLABLE (gtk_scrolled_window_get_child (GTK_SCROLLED_WINDOW (self->scrolled))), GTK_SCROLL_NATURAL);
  gtk_widget_set_parent (self->scrolled, GTK_WIDGET (self));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, _("Faces of this part"), -1);
  g_signal_connect_object (manager, "notify::dark", G_CALLBACK (redraw_cells), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (manager, "notify::high-contrast", G_CALLBACK (redraw_cells), self, G_CONNECT_SWAPPED);
}

GtkWidget *
ef_face_row_new (EfSession *session)
{
  EfFaceRow *self = g_object_new (EF_TYPE_FACE_ROW, NULL);

  self->session = g_object_ref (session);
  self->session_signals = g_signal_group_new (EF_TYPE_SESSION);
  g_signal_group_connect_swapped (self->session_signals, "notify::part", G_CALLBACK (show_part), self);
  g_signal_group_connect_swapped (self->session_signals, "notify::face", G_CALLBACK (show_face), self);
  g_signal_group_connect_swapped (self->session_signals, "changed", G_CALLBACK (refresh_cells), self);
  g_signal_group_connect_swapped (self->session_signals, "assessed", G_CALLBACK (refresh_cells), self);
  g_signal_group_set_target (self->session_signals, session);
  show_part (self);
  return GTK_WIDGET (self);
}

guint
ef_face_row_length (EfFaceRow *self)
{
  return self->cells->len;
}

GtkWidget *
ef_face_row_button (EfFaceRow *self,
                    guint i)
{
  return i < self->cells->len ? ((Cell *) g_ptr_array_index (self->cells, i))->button : NULL;
}
