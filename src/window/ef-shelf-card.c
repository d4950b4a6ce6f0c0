/* The card of a part on the shelf.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-shelf-card.h"
#include "ef-face-layer.h"
#include "ef-look.h"
#include "ef-settings.h"
#include "ef-shelf-dialog.h"
#include "ef-shelf-object.h"
#include "ef-verdict-badge.h"
#include "ef-window.h"

#include <glib/gi18n.h>
#include <math.h>

#define PICTURE_WIDTH 168
#define PICTURE_HEIGHT 96
#define MOST_PICTURES 12

struct _EfShelfCard
{
  GtkBox parent_instance;

  EfStore *store; /* borrowed */
  EfShelfPart *part;
  EfPumpSheet *sheet;
};

enum
{
  MOVED,
  OPEN_JOB,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfShelfCard, ef_shelf_card, GTK_TYPE_BOX)

static GtkWidget *
text_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

static GtkWidget *
add_group (EfShelfCard *self,
           const char *title)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);

  if (title != NULL)
    gtk_box_append (GTK_BOX (box), text_label (title, "heading"));
  gtk_box_append (GTK_BOX (self), box);
  return box;
}

/* Head */

static void
add_head (EfShelfCard *self)
{
  const EfReplacement *part = self->part->part;
  GtkWidget *box = add_group (self, NULL);
  GtkWidget *state = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  g_autofree char *title = g_strdup_printf ("%s · %s", part->shelf, part->name != NULL ? part->name : part->item.id);
  g_autofree char *under = g_strdup_printf ("%s, %s%s%s", self->part->model, part->material != NULL ? part->material : "", part->pair != NULL ? ", " : "",
                                            part->pair != NULL ? part->pair : "");
  g_autofree char *sentence = ef_shelf_state_sentence (self->part);

  gtk_box_append (GTK_BOX (box), text_label (title, "title-3"));
  gtk_box_append (GTK_BOX (box), text_label (under, "dim-label"));
  gtk_box_append (GTK_BOX (state), gtk_image_new_from_icon_name (ef_shelf_state_icon (self->part->state)));
  gtk_box_append (GTK_BOX (state), text_label (sentence, NULL));
  gtk_box_append (GTK_BOX (box), state);
  if (part->note != NULL)
    gtk_box_append (GTK_BOX (box), text_label (part->note, NULL));
}

/* Sizes */

static char *
size_name (const EfPartSize *size)
{
  if (size->place == NULL)
    return g_strdup (_ (ef_part_size_label (size->quantity)));

  return g_strdup_printf ("%s, %s", _ (ef_part_size_label (size->quantity)), size->place);
}

static void
add_sizes (EfShelfCard *self)
{
  GtkWidget *box = add_group (self, _ ("Sizes"));
  GtkWidget *grid = g_object_new (GTK_TYPE_GRID, "column-spacing", 16, "row-spacing", 4, NULL);
  const GArray *sizes = self->part->part->sizes;

  if (sizes->len == 0)
    gtk_box_append (GTK_BOX (box), text_label (_ ("None were read: it can only be matched by the sheet's."), "dim-label"));
  for (guint i = 0; i < sizes->len; i++)
    {
      const EfPartSize *size = &g_array_index (sizes, EfPartSize, i);
      g_autofree char *name = size_name (size);
      g_autofree char *value = ef_settings_exact (size->value, EF_UNIT_MM);
      g_autofree char *u = isnan (size->uncertainty) ? NULL : ef_settings_exact (2.0 * size->uncertainty, EF_UNIT_MM);
      g_autofree char *text = u != NULL ? g_strdup_printf ("%s ± %s", value, u) : g_strdup (value);
      GtkWidget *number = text_label (text, "numeric");

      gtk_grid_attach (GTK_GRID (grid), text_label (name, NULL), 0, (int) i, 1, 1);
      gtk_widget_set_hexpand (number, TRUE);
      gtk_grid_attach (GTK_GRID (grid), number, 1, (int) i, 1, 1);
    }
  gtk_box_append (GTK_BOX (box), grid);
}

/* Faces */

static GPtrArray *
marks_of_face (const EfReplacement *part,
               const char *face_id)
{
  GPtrArray *marks = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < part->marks->len; i++)
    if (g_strcmp0 (((EfMark *) part->marks->pdata[i])->face_id, face_id) == 0)
      g_ptr_array_add (marks, ef_item_ref (part->marks->pdata[i]));

  return marks;
}

static GdkTexture *
draw_face (EfShelfCard *self,
           EfFaceChart *chart,
           GPtrArray *marks)
{
  g_autoptr (EfDepthMap) map = marks->len > 0 ? ef_depth_map_new (chart, (EfMark *const *) marks->pdata, marks->len, 2e-4, NULL, NULL) : NULL;
  g_autoptr (EfFaceLayerJob) job = ef_face_layer_job_new (chart, marks, map);

  ef_look_style (&job->style);
  job->style.line_scale *= 0.7;
  job->layers.depth_colours = TRUE;
  job->width = PICTURE_WIDTH;
  job->height = PICTURE_HEIGHT;
  job->scale = gtk_widget_get_scale_factor (GTK_WIDGET (self));
  ef_face_view_fit (&job->view, chart, job->width, job->height, 4);

  return ef_face_layer_draw (job);
}

static char *
face_text (const EfReplacement *part,
           const EfFaceChart *chart,
           const char *face_id,
           guint n_marks)
{
  const EfPartFace *face = ef_replacement_face (part, face_id);
  g_autofree char *lap = face != NULL && face->lap > 0.0 ? ef_settings_format (face->lap, EF_UNIT_MM) : NULL;
  g_autofree char *count = n_marks > 0 ? g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u mark", "%u marks", n_marks), n_marks) : g_strdup (_ ("no marks"));

  return lap != NULL ? g_strdup_printf (_ ("%s · %s · lap %s"), chart->name, count, lap) : g_strdup_printf ("%s · %s", chart->name, count);
}

static GtkWidget *
face_cell (EfShelfCard *self,
           const char *face_id)
{
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (self->sheet, face_id, NULL);
  g_autoptr (GPtrArray) marks = marks_of_face (self->part->part, face_id);
  g_autoptr (GdkTexture) texture = NULL;
  g_autofree char *text = NULL;
  GtkWidget *box, *picture, *label;

  if (chart == NULL)
    return NULL;
  texture = draw_face (self, chart, marks);
  text = face_text (self->part->part, chart, face_id, marks->len);
  box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  picture = gtk_picture_new_for_paintable (GDK_PAINTABLE (texture));
  gtk_widget_set_size_request (picture, PICTURE_WIDTH, PICTURE_HEIGHT);
  gtk_picture_set_can_shrink (GTK_PICTURE (picture), TRUE);
  gtk_accessible_update_property (GTK_ACCESSIBLE (picture), GTK_ACCESSIBLE_PROPERTY_LABEL, text, -1);
  label = text_label (text, "caption");
  gtk_label_set_max_width_chars (GTK_LABEL (label), 22);
  gtk_box_append (GTK_BOX (box), picture);
  gtk_box_append (GTK_BOX (box), label);

  return box;
}

static void
add_faces (EfShelfCard *self)
{
  GtkWidget *box = add_group (self, _ ("Faces"));
  GtkWidget *flow = g_object_new (GTK_TYPE_FLOW_BOX, "selection-mode", GTK_SELECTION_NONE, "column-spacing", 8, "row-spacing", 8, "min-children-per-line", 1,
                                  "max-children-per-line", 2, "homogeneous", TRUE, NULL);
  g_auto (GStrv) faces = self->sheet != NULL ? ef_part_face_ids (self->sheet, self->part->part->item.id) : NULL;
  guint n = 0;

  for (guint i = 0; faces != NULL && faces[i] != NULL && n < MOST_PICTURES; i++)
    {
      GtkWidget *cell = face_cell (self, faces[i]);

      if (cell == NULL)
        continue;
      gtk_flow_box_append (GTK_FLOW_BOX (flow), cell);
      gtk_widget_set_focusable (gtk_widget_get_parent (cell), FALSE);
      n++;
    }
  if (n == 0)
    gtk_box_append (GTK_BOX (box), text_label (_ ("Its pump sheet isn't here: no pictures."), "dim-label"));
  gtk_box_append (GTK_BOX (box), flow);
}

/* Provenance and history */

static void
open_cb (EfShelfCard *self,
         GtkWidget *button)
{
  g_signal_emit (self, signals[OPEN_JOB], 0, (const char *) g_object_get_data (G_OBJECT (button), "ef-job"));
}

static GtkWidget *
job_button (EfShelfCard *self,
            const char *number)
{
  g_autofree char *label = g_strdup_printf (_ ("Open %s"), number);
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_halign (button, GTK_ALIGN_START);
  g_object_set_data_full (G_OBJECT (button), "ef-job", g_strdup (number), g_free);
  g_signal_connect_swapped (button, "clicked", G_CALLBACK (open_cb), self);
  return button;
}

static void
add_provenance (EfShelfCard *self)
{
  const EfReplacement *part = self->part->part;
  GtkWidget *box = add_group (self, _ ("Where it came from"));
  g_autofree char *text = g_strdup_printf (_ ("Job %s, %s; verdict then:"), part->from_job != NULL ? part->from_job : _ ("not noted"),
                                           part->from_date != NULL ? part->from_date : _ ("no date"));
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *badge = ef_verdict_badge_new ();

  ef_verdict_badge_set (EF_VERDICT_BADGE (badge), ef_verdict_from_stored (part->verdict));
  gtk_box_append (GTK_BOX (row), text_label (text, NULL));
  gtk_box_append (GTK_BOX (row), badge);
  gtk_box_append (GTK_BOX (box), row);
  if (part->from_job != NULL)
    gtk_box_append (GTK_BOX (box), job_button (self, part->from_job));
}

static void
add_history (EfShelfCard *self)
{
  g_autoptr (GPtrArray) events = ef_store_shelf_history (self->store, self->part->part->shelf, NULL);
  GtkWidget *box;

  if (events == NULL || events->len == 0)
    return;
  box = add_group (self, _ ("History"));
  for (guint i = 0; i < events->len; i++)
    {
      const EfShelfEvent *event = events->pdata[i];
      g_autofree char *text = g_strdup_printf ("%.10s  %s%s%s", event->time, event->label, *event->role != '\0' ? ", " : "", event->role);

      gtk_box_append (GTK_BOX (box), text_label (text, "caption"));
    }
}

/* Moves */

static void
moved (EfShelfCard *self)
{
  g_signal_emit (self, signals[MOVED], 0);
}

static void
tell (EfShelfCard *self,
      const GError *error)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  if (window != NULL)
    ef_window_toast (window, error->message);
}

static void
return_cb (EfShelfCard *self)
{
  g_autofree char *role = ef_settings_role ();
  g_autoptr (GError) error = NULL;

  if (!ef_store_shelf_return (self->store, self->part->part->shelf, NULL, role, &error))
    tell (self, error);
  moved (self);
}

static void
move_cb (EfShelfCard *self,
         GtkWidget *button)
{
  EfShelfMove move = GPOINTER_TO_INT (g_object_get_data (G_OBJECT (button), "ef-move"));
  EfShelfDialog *dialog = ef_shelf_dialog_move (GTK_WIDGET (self), self->store, self->part, move);

  g_signal_connect_object (dialog, "moved", G_CALLBACK (moved), self, G_CONNECT_SWAPPED);
}

static void
add_move (EfShelfCard *self,
          GtkWidget *box,
          const char *label,
          EfShelfMove move)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  g_object_set_data (G_OBJECT (button), "ef-move", GINT_TO_POINTER (move));
  g_signal_connect_swapped (button, "clicked", G_CALLBACK (move_cb), self);
  gtk_box_append (GTK_BOX (box), button);
}

static void
add_return (EfShelfCard *self,
            GtkWidget *box,
            const char *label)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  g_signal_connect_swapped (button, "clicked", G_CALLBACK (return_cb), self);
  gtk_box_append (GTK_BOX (box), button);
}

static void
add_moves (EfShelfCard *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);

  switch (self->part->state)
    {
    case EF_SHELF_FREE:
      add_move (self, box, _ ("Reserve…"), EF_SHELF_RESERVE);
      add_move (self, box, _ ("Withdraw…"), EF_SHELF_WITHDRAW);
      break;
    case EF_SHELF_RESERVED:
      add_return (self, box, _ ("Give Back"));
      add_move (self, box, _ ("Withdraw…"), EF_SHELF_WITHDRAW);
      break;
    case EF_SHELF_USED:
      gtk_box_append (GTK_BOX (box), job_button (self, self->part->holder));
      add_return (self, box, _ ("Return to the Shelf"));
      break;
    default:
      add_move (self, box, _ ("Put Back…"), EF_SHELF_RESTORE);
    }
  gtk_box_append (GTK_BOX (self), box);
}

static void
ef_shelf_card_dispose (GObject *object)
{
  EfShelfCard *self = EF_SHELF_CARD (object);

  g_clear_pointer (&self->part, ef_shelf_part_unref);
  g_clear_pointer (&self->sheet, ef_pump_sheet_unref);
  G_OBJECT_CLASS (ef_shelf_card_parent_class)->dispose (object);
}

static void
ef_shelf_card_class_init (EfShelfCardClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_shelf_card_dispose;
  signals[MOVED] = g_signal_new ("moved", EF_TYPE_SHELF_CARD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[OPEN_JOB] = g_signal_new ("open-job", EF_TYPE_SHELF_CARD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
}

static void
ef_shelf_card_init (EfShelfCard *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 18);
}

GtkWidget *
ef_shelf_card_new (void)
{
  return g_object_new (EF_TYPE_SHELF_CARD, NULL);
}

void
ef_shelf_card_set (EfShelfCard *self,
                   EfStore *store,
                   EfShelfPart *part,
                   EfPumpSheet *sheet)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  g_clear_pointer (&self->part, ef_shelf_part_unref);
  g_clear_pointer (&self->sheet, ef_pump_sheet_unref);
  self->store = store;
  self->part = part != NULL ? ef_shelf_part_ref (part) : NULL;
  self->sheet = sheet != NULL ? ef_pump_sheet_ref (sheet) : NULL;
  if (part == NULL)
    {
      gtk_box_append (GTK_BOX (self), text_label (_ ("Choose a part to see its sizes, its faces and where it came from."), "dim-label"));
      return;
    }
  add_head (self);
  add_moves (self);
  add_sizes (self);
  add_faces (self);
  add_provenance (self);
  add_history (self);
}
