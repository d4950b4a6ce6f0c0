/* The exploded pump to press.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-exploded-view.h"
#include "ef-look.h"
#include "ef-verdict-badge.h"

#include <adwaita.h>
#include <glib/gi18n.h>
#include <math.h>

/* --- A part's place: invisible, but with a name and the focus ---------------------------------------------------------------- */

#define EF_TYPE_PART_SPOT (ef_part_spot_get_type ())
G_DECLARE_FINAL_TYPE (EfPartSpot, ef_part_spot, EF, PART_SPOT, GtkWidget)

struct _EfPartSpot
{
  GtkWidget parent_instance;
  char *part_id;
};

G_DEFINE_FINAL_TYPE (EfPartSpot, ef_part_spot, GTK_TYPE_WIDGET)

static void open_spot (EfPartSpot *self);

static gboolean
spot_key_cb (GtkWidget *widget,
             GVariant *args,
             gpointer data)
{
  open_spot (EF_PART_SPOT (widget));
  return TRUE;
}

static void
ef_part_spot_finalize (GObject *object)
{
  g_free (EF_PART_SPOT (object)->part_id);
  G_OBJECT_CLASS (ef_part_spot_parent_class)->finalize (object);
}

static void
ef_part_spot_class_init (EfPartSpotClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);
  static const guint keys[] = { GDK_KEY_Return, GDK_KEY_KP_Enter, GDK_KEY_space };
  guint i;

  G_OBJECT_CLASS (klass)->finalize = ef_part_spot_finalize;
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_BUTTON);
  for (i = 0; i < G_N_ELEMENTS (keys); i++)
    gtk_widget_class_add_binding (widget_class, keys[i], 0, spot_key_cb, NULL);
}

static void
ef_part_spot_init (EfPartSpot *self)
{
  gtk_widget_set_focusable (GTK_WIDGET (self), TRUE);
  gtk_widget_set_can_target (GTK_WIDGET (self), FALSE);
}

/* --- The view -------------------------------------------------------------------------------------------------------------------- */

struct _EfExplodedView
{
  GtkWidget parent_instance;

  EfSession *session;
  GSignalGroup *session_signals;
  EfExploded *exploded;
  int width, height;
  GPtrArray *spots; /* EfPartSpot *, borrowed children */
  char *hover;
};

enum
{
  OPENED,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfExplodedView, ef_exploded_view, GTK_TYPE_WIDGET)

static const EfPumpSheet *
sheet_of (EfSession *session)
{
  return ef_document_inspection (ef_session_document (session))->sheet;
}

void
ef_open_part (EfSession *session,
              const char *part_id)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  g_auto (GStrv) faces = ef_part_face_ids (inspection->sheet, part_id);
  const char *best = NULL;
  guint most = 0, i;

  ef_session_select_part (session, part_id);
  for (i = 0; faces != NULL && faces[i] != NULL; i++)
    {
      g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, faces[i]);

      if (best != NULL && marks->len <= most)
        continue;
      best = faces[i];
      most = marks->len;
    }
  if (best != NULL)
    ef_session_select_face (session, best);
}

static void
open_spot (EfPartSpot *spot)
{
  EfExplodedView *self = EF_EXPLODED_VIEW (gtk_widget_get_parent (GTK_WIDGET (spot)));

  ef_open_part (self->session, spot->part_id);
  g_signal_emit (self, signals[OPENED], 0);
}

static void
name_spots (EfExplodedView *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  guint i;

  for (i = 0; i < self->spots->len; i++)
    {
      EfPartSpot *spot = g_ptr_array_index (self->spots, i);
      const EfPart *part = ef_pump_sheet_part (sheet_of (self->session), spot->part_id);
      g_autofree char *id = g_strdup_printf ("part:%s", spot->part_id);
      const EfVerdict *verdict = assessment != NULL ? ef_verdict_find (assessment->verdict, id) : NULL;
      g_autofree char *name = g_strdup_printf ("%s, %s", part != NULL ? part->name : spot->part_id,
                                               ef_verdict_shown (verdict != NULL ? (int) verdict->word : EF_VERDICT_UNKNOWN));

      gtk_accessible_update_property (GTK_ACCESSIBLE (spot), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
    }
}

static void
make_spots (EfExplodedView *self)
{
  guint n = ef_exploded_n_parts (self->exploded), i;

  for (i = 0; i < n; i++)
    {
      EfPartSpot *spot;
      double box[4];

      if (i >= self->spots->len)
        {
          spot = g_object_new (EF_TYPE_PART_SPOT, NULL);
          gtk_widget_set_parent (GTK_WIDGET (spot), GTK_WIDGET (self));
          g_ptr_array_add (self->spots, spot);
        }
      spot = g_ptr_array_index (self->spots, i);
      g_free (spot->part_id);
      spot->part_id = g_strdup (ef_exploded_part (self->exploded, i, box));
    }
  name_spots (self);
}

static void
lay_out (EfExplodedView *self,
         int width,
         int height)
{
  if (self->exploded != NULL && self->width == width && self->height == height)
    return;
  self->width = width;
  self->height = height;
  g_clear_pointer (&self->exploded, ef_exploded_free);
  if (width < 1 || height < 1)
    return;
  self->exploded = ef_exploded_new (sheet_of (self->session), width, height);
}

static void
ef_exploded_view_size_allocate (GtkWidget *widget,
                                int width,
                                int height,
                                int baseline)
{
  EfExplodedView *self = EF_EXPLODED_VIEW (widget);
  guint i;

  lay_out (self, width, height);
  for (i = 0; i < self->spots->len; i++)
    {
      GtkWidget *spot = g_ptr_array_index (self->spots, i);
      double box[4] = { 0, 0, 1, 1 };
      GtkAllocation place;

      if (self->exploded != NULL)
        ef_exploded_part (self->exploded, i, box);
      place = (GtkAllocation){ (int) floor (box[0]), (int) floor (box[1]), MAX (1, (int) ceil (box[2])), MAX (1, (int) ceil (box[3])) };
      gtk_widget_size_allocate (spot, &place, -1);
    }
}

static const char *
focused_part (EfExplodedView *self)
{
  guint i;

  for (i = 0; i < self->spots->len; i++)
    if (gtk_widget_has_visible_focus (g_ptr_array_index (self->spots, i)))
      return ((EfPartSpot *) g_ptr_array_index (self->spots, i))->part_id;
  return NULL;
}

static void
ef_exploded_view_snapshot (GtkWidget *widget,
                           GtkSnapshot *snapshot)
{
  EfExplodedView *self = EF_EXPLODED_VIEW (widget);
  EfAssessment *assessment = ef_session_assessment (self->session);
  const char *focus = focused_part (self);
  EfDrawStyle style;
  cairo_t *cr;

  if (self->exploded == NULL)
    return;
  ef_look_style (&style);
  cr = gtk_snapshot_append_cairo (snapshot, &GRAPHENE_RECT_INIT (0, 0, self->width, self->height));
  ef_exploded_draw (self->exploded, cr, &style, assessment != NULL ? assessment->verdict : NULL, ef_session_part (self->session),
                    focus != NULL ? focus : self->hover);
  cairo_destroy (cr);
}

static void
ef_exploded_view_measure (GtkWidget *widget,
                          GtkOrientation orientation,
                          int for_size,
                          int *minimum,
                          int *natural,
                          int *minimum_baseline,
                          int *natural_baseline)
{
  *minimum = orientation == GTK_ORIENTATION_HORIZONTAL ? 180 : 200;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 260 : 480;
}

gboolean
ef_exploded_view_press (EfExplodedView *self,
                        double x,
                        double y)
{
  const char *part_id = self->exploded != NULL ? ef_exploded_hit (self->exploded, x, y) : NULL;

  if (part_id == NULL)
    return FALSE;
  ef_open_part (self->session, part_id);
  g_signal_emit (self, signals[OPENED], 0);
  return TRUE;
}

gboolean
ef_exploded_view_place (EfExplodedView *self,
                        const char *part_id,
                        double *x,
                        double *y)
{
  guint i;

  for (i = 0; self->exploded != NULL && i < ef_exploded_n_parts (self->exploded); i++)
    {
      double box[4];

      if (g_strcmp0 (ef_exploded_part (self->exploded, i, box), part_id) != 0)
        continue;
      *x = box[0] + box[2] / 2;
      *y = box[1] + box[3] / 2;
      return TRUE;
    }
  return FALSE;
}

static void
pressed_cb (GtkGestureClick *gesture,
            int n_press,
            double x,
            double y,
            EfExplodedView *self)
{
  ef_exploded_view_press (self, x, y);
}

static void
motion_cb (GtkEventControllerMotion *motion,
           double x,
           double y,
           EfExplodedView *self)
{
  const char *part_id = self->exploded != NULL ? ef_exploded_hit (self->exploded, x, y) : NULL;
  const EfPart *part = part_id != NULL ? ef_pump_sheet_part (sheet_of (self->session), part_id) : NULL;

  if (g_strcmp0 (part_id, self->hover) == 0)
    return;
  g_free (self->hover);
  self->hover = g_strdup (part_id);
  gtk_widget_set_cursor_from_name (GTK_WIDGET (self), part_id != NULL ? "pointer" : NULL);
  gtk_widget_set_tooltip_text (GTK_WIDGET (self), part != NULL ? part->name : NULL);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
leave_cb (GtkEventControllerMotion *motion,
          EfExplodedView *self)
{
  g_clear_pointer (&self->hover, g_free);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
assessed_cb (EfExplodedView *self)
{
  name_spots (self);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
ef_exploded_view_dispose (GObject *object)
{
  EfExplodedView *self = EF_EXPLODED_VIEW (object);
  GtkWidget *child;

  g_clear_object (&self->session_signals);
  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_widget_unparent (child);
  g_clear_pointer (&self->spots, g_ptr_array_unref);
  g_clear_pointer (&self->exploded, ef_exploded_free);
  g_clear_pointer (&self->hover, g_free);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_exploded_view_parent_class)->dispose (object);
}

static void
ef_exploded_view_class_init (EfExplodedViewClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_exploded_view_dispose;
  signals[OPENED] = g_signal_new ("opened", EF_TYPE_EXPLODED_VIEW, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  widget_class->measure = ef_exploded_view_measure;
  widget_class->size_allocate = ef_exploded_view_size_allocate;
  widget_class->snapshot = ef_exploded_view_snapshot;
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_GROUP);
}

static void
ef_exploded_view_init (EfExplodedView *self)
{
  GtkGesture *click = gtk_gesture_click_new ();
  GtkEventController *motion = gtk_event_controller_motion_new ();
  GtkEventController *focus = gtk_event_controller_focus_new ();

  self->spots = g_ptr_array_new ();
  g_signal_connect (click, "pressed", G_CALLBACK (pressed_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), GTK_EVENT_CONTROLLER (click));
  g_signal_connect (motion, "motion", G_CALLBACK (motion_cb), self);
  g_signal_connect (motion, "leave", G_CALLBACK (leave_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), motion);
  gtk_widget_add_controller (GTK_WIDGET (self), focus);
  gtk_widget_set_overflow (GTK_WIDGET (self), GTK_OVERFLOW_HIDDEN);
  ef_look_follow (GTK_WIDGET (self));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, _("Parts of the pump"), -1);
}

GtkWidget *
ef_exploded_view_new (EfSession *session)
{
  EfExplodedView *self = g_object_new (EF_TYPE_EXPLODED_VIEW, NULL);

  self->session = g_object_ref (session);
  lay_out (self, 260, 480);
  make_spots (self);
  self->session_signals = g_signal_group_new (EF_TYPE_SESSION);
  g_signal_group_connect_swapped (self->session_signals, "notify::part", G_CALLBACK (gtk_widget_queue_draw), self);
  g_signal_group_connect_swapped (self->session_signals, "assessed", G_CALLBACK (assessed_cb), self);
  g_signal_group_set_target (self->session_signals, session);
  return GTK_WIDGET (self);
}
