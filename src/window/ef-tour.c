/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-tour.h"

#include "ef-exploded-view.h"
#include "ef-face-canvas.h"
#include "ef-look.h"
#include "ef-mark-card.h"
#include "ef-part-row.h"
#include "ef-readings-page.h"
#include "ef-record-page.h"
#include "ef-rework-page.h"
#include "ef-seal-panel.h"
#include "ef-settings.h"
#include "ef-verdict-page.h"

#include <glib/gi18n.h>

#define CARD_WIDTH 320
#define MARGIN 8
#define FRAMES 4
#define WATCHED 90 /* frames for which a page may still grow and slide after it was shown */

struct _EfTour
{
  GObject parent_instance;

  EfWindow *window; /* weak */
  GtkWidget *parent; /* weak */
  GtkWidget *card, *column, *title, *text, *count, *back, *next;
  GtkWidget *target; /* weak */
  int step;
  guint tick;
  int frames; /* since the step was asked for */
  graphene_rect_t seen; /* where the target was when last pointed at */
};

G_DEFINE_FINAL_TYPE (EfTour, ef_tour, G_TYPE_OBJECT)

typedef struct
{
  const char *page;
  GType (*target) (void), (*instead) (void); /* the second where the first isn't on screen */
  const char *title, *text;
} Step;

static const Step steps[] = {
  { "map", ef_exploded_view_get_type, ef_part_row_get_type, N_ ("The pump"),
    N_ ("The parts lie on their axis, front first, each with its verdict in words. Press a part, then one of its faces.") },
  { "map", ef_face_canvas_get_type, NULL, N_ ("The face"),
    N_ ("Choose Point, Line or Area and draw what you see where it is. The Lamp button lights the face: low light from the side shows what is shallow.") },
  { "map", ef_mark_card_get_type, NULL, N_ ("Kind and depth"),
    N_ ("Say what it is, and how deep, with the gauge you used; a fingernail is a gauge too, a coarse one. “What Is This?” explains each kind of wear.") },
  { "readings", ef_readings_page_get_type, NULL, N_ ("Readings"),
    N_ ("What is measured, part by part: clearances, depths, bores. The picture shows where the gauge goes.") },
  { "verdict", ef_verdict_page_get_type, NULL, N_ ("Verdict"),
    N_ ("Use again, measure again, rework or scrap: part by part, each with its reason, its limit and how sure it is. “Why” leads down to the reading.") },
  { "rework", ef_rework_page_get_type, NULL, N_ ("The plan"),
    N_ ("What is lapped off which face, what end clearance and oil pressure come to, and the steps to tick off. Read the cautions first.") },
  { "record", ef_seal_panel_get_type, ef_record_page_get_type, N_ ("The record"),
    N_ ("Every entry stays in the history. At the end the job is signed and sealed, so that nobody can change it unseen. That was the tour; Guided Tour in the menu shows it again.") },
};

int
ef_tour_n_steps (void)
{
  return G_N_ELEMENTS (steps);
}

int
ef_tour_step (EfTour *self)
{
  return self->step;
}

GtkWidget *
ef_tour_card (EfTour *self)
{
  return self->card;
}

GtkWidget *
ef_tour_target (EfTour *self)
{
  return self->target;
}

static GtkWidget *
find_mapped (GtkWidget *root,
             GType type)
{
  if (G_TYPE_CHECK_INSTANCE_TYPE (root, type))
    return gtk_widget_get_mapped (root) ? root : NULL;
  for (GtkWidget *child = gtk_widget_get_first_child (root); child != NULL; child = gtk_widget_get_next_sibling (child))
    {
      GtkWidget *found = find_mapped (child, type);

      if (found != NULL)
        return found;
    }

  return NULL;
}

static void
set_target (EfTour *self,
            GtkWidget *target)
{
  if (self->target != NULL)
    gtk_widget_remove_css_class (self->target, "ef-tour-target");
  g_set_weak_pointer (&self->target, target);
  if (target != NULL)
    gtk_widget_add_css_class (target, "ef-tour-target");
}

/* As the text's size asks for, as far as there's room. */
static int
card_width (EfTour *self)
{
  return (int) MIN (CARD_WIDTH * ef_look_text_scale (), 0.8 * gtk_widget_get_width (self->parent));
}

/* As high as the words are at this width: left to itself the card takes the height that they'd have on longer lines. */
static void
fit_card (EfTour *self)
{
  int width = card_width (self), height;

  gtk_widget_set_size_request (self->column, width, -1);
  gtk_widget_measure (self->column, GTK_ORIENTATION_VERTICAL, width + 2 * MARGIN, NULL, &height, NULL, NULL);
  gtk_widget_set_size_request (self->column, width, height - 2 * MARGIN);
}

/* A thing that fills the window is pointed at near its top, so that the card lies over it and not off the screen. */
static void
point (EfTour *self)
{
  int width = gtk_widget_get_width (self->parent);
  GdkRectangle place = { width / 2 - 10, 60, 20, 20 };
  graphene_rect_t box;

  gtk_popover_set_position (GTK_POPOVER (self->card), GTK_POS_BOTTOM);
  if (self->target != NULL && gtk_widget_compute_bounds (self->target, self->parent, &box))
    {
      gboolean left = box.origin.x + 0.5 * box.size.width < 0.5 * width;
      double room = left ? width - box.origin.x - box.size.width : box.origin.x;
      gboolean wide = box.size.width > 0.6 * width || room < card_width (self) + 8 * MARGIN;

      self->seen = box;
      place = (GdkRectangle){ (int) box.origin.x, (int) box.origin.y, (int) MAX (box.size.width, 1), (int) MAX (box.size.height, 1) };
      if (wide)
        place = (GdkRectangle){ place.x + place.width / 2 - 10, place.y + 8, 20, 20 };
      else
        gtk_popover_set_position (GTK_POPOVER (self->card), left ? GTK_POS_RIGHT : GTK_POS_LEFT);
    }
  gtk_popover_set_pointing_to (GTK_POPOVER (self->card), &place);
}

static void
show_card (EfTour *self)
{
  const Step *step = &steps[self->step];
  GtkWidget *target = find_mapped (GTK_WIDGET (self->window), step->target ());

  if (target == NULL && step->instead != NULL)
    target = find_mapped (GTK_WIDGET (self->window), step->instead ());
  set_target (self, target);
  fit_card (self);
  point (self);
  gtk_popover_popup (GTK_POPOVER (self->card));
  gtk_popover_present (GTK_POPOVER (self->card));
  gtk_widget_grab_focus (self->next);
}

static gboolean
target_moved (EfTour *self)
{
  graphene_rect_t box;

  return self->target != NULL && gtk_widget_compute_bounds (self->target, self->parent, &box) && !graphene_rect_equal (&box, &self->seen);
}

/* Only when the page it's on has its size, some frames after it was asked for; and after it as long as that may still change. */
static gboolean
point_cb (GtkWidget *window,
          GdkFrameClock *clock,
          gpointer data)
{
  EfTour *self = data;

  if (self->card == NULL || self->window == NULL)
    {
      self->tick = 0;
      return G_SOURCE_REMOVE;
    }
  self->frames++;
  if (self->frames == FRAMES)
    show_card (self);
  else if (self->frames > FRAMES && target_moved (self))
    {
      point (self);
      gtk_popover_present (GTK_POPOVER (self->card));
    }
  if (self->frames < FRAMES + WATCHED)
    return G_SOURCE_CONTINUE;
  self->tick = 0;

  return G_SOURCE_REMOVE;
}

void
ef_tour_go (EfTour *self,
            int step)
{
  g_autofree char *count = NULL;

  if (step >= (int) G_N_ELEMENTS (steps) || self->window == NULL || ef_window_session (self->window) == NULL)
    {
      ef_tour_stop (self);
      return;
    }
  if (self->card == NULL)
    return;
  self->step = MAX (step, 0);
  count = g_strdup_printf (_ ("%d of %d"), self->step + 1, (int) G_N_ELEMENTS (steps));
  gtk_label_set_label (GTK_LABEL (self->title), _ (steps[self->step].title));
  gtk_label_set_label (GTK_LABEL (self->text), _ (steps[self->step].text));
  gtk_label_set_label (GTK_LABEL (self->count), count);
  gtk_widget_set_sensitive (self->back, self->step > 0);
  gtk_button_set_label (GTK_BUTTON (self->next), self->step + 1 < (int) G_N_ELEMENTS (steps) ? _ ("Next") : _ ("Done"));
  ef_window_show_page (self->window, steps[self->step].page);
  self->frames = 0;
  if (self->tick == 0)
    self->tick = gtk_widget_add_tick_callback (GTK_WIDGET (self->window), point_cb, g_object_ref (self), g_object_unref);
}

static void
back_cb (EfTour *self)
{
  ef_tour_go (self, self->step - 1);
}

static void
next_cb (EfTour *self)
{
  ef_tour_go (self, self->step + 1);
}

static gboolean
key_cb (GtkEventControllerKey *key,
        guint value,
        guint code,
        GdkModifierType state,
        EfTour *self)
{
  if (value == GDK_KEY_Escape)
    ef_tour_stop (self);
  else if (value == GDK_KEY_Right)
    next_cb (self);
  else if (value == GDK_KEY_Left)
    back_cb (self);
  else
    return GDK_EVENT_PROPAGATE;

  return GDK_EVENT_STOP;
}

static GtkWidget *
add_button (GtkWidget *row,
            const char *label,
            GCallback callback,
            EfTour *self)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_set_size_request (button, EF_TARGET, EF_TARGET);
  g_signal_connect_object (button, "clicked", callback, self, G_CONNECT_SWAPPED);
  gtk_box_append (GTK_BOX (row), button);

  return button;
}

static GtkWidget *
make_row (EfTour *self)
{
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);

  self->count = gtk_label_new (NULL);
  gtk_widget_add_css_class (self->count, "dim-label");
  gtk_widget_set_hexpand (self->count, TRUE);
  gtk_label_set_xalign (GTK_LABEL (self->count), 0);
  gtk_box_append (GTK_BOX (row), self->count);
  add_button (row, _ ("Stop"), G_CALLBACK (ef_tour_stop), self);
  self->back = add_button (row, _ ("Back"), G_CALLBACK (back_cb), self);
  self->next = add_button (row, _ ("Next"), G_CALLBACK (next_cb), self);
  gtk_widget_add_css_class (self->next, "suggested-action");

  return row;
}

static void
make_card (EfTour *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 8);
  GtkEventController *key = gtk_event_controller_key_new ();

  self->card = gtk_popover_new ();
  self->title = gtk_label_new (NULL);
  self->text = gtk_label_new (NULL);
  gtk_widget_add_css_class (self->title, "title-4");
  gtk_label_set_xalign (GTK_LABEL (self->title), 0);
  gtk_label_set_xalign (GTK_LABEL (self->text), 0);
  gtk_label_set_wrap (GTK_LABEL (self->text), TRUE);
  gtk_label_set_max_width_chars (GTK_LABEL (self->text), 40);
  self->column = box;
  g_object_set (box, "margin-start", MARGIN, "margin-end", MARGIN, "margin-top", MARGIN, "margin-bottom", MARGIN, NULL);
  gtk_box_append (GTK_BOX (box), self->title);
  gtk_box_append (GTK_BOX (box), self->text);
  gtk_box_append (GTK_BOX (box), make_row (self));
  gtk_popover_set_child (GTK_POPOVER (self->card), box);
  gtk_popover_set_autohide (GTK_POPOVER (self->card), FALSE);
  gtk_event_controller_set_propagation_phase (key, GTK_PHASE_CAPTURE);
  g_signal_connect_object (key, "key-pressed", G_CALLBACK (key_cb), self, 0);
  gtk_widget_add_controller (self->card, key);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->card), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Guided tour"), -1);
  gtk_widget_set_parent (self->card, self->parent);
}

void
ef_tour_start (EfTour *self)
{
  if (self->window == NULL || self->parent == NULL || ef_window_session (self->window) == NULL)
    return;
  if (self->card == NULL)
    make_card (self);
  g_settings_set_boolean (ef_settings_get (), "tour-offered", TRUE);
  ef_tour_go (self, 0);
}

void
ef_tour_stop (EfTour *self)
{
  GtkWidget *card = self->card;

  self->step = -1;
  set_target (self, NULL);
  self->card = NULL;
  if (card == NULL)
    return;
  gtk_popover_popdown (GTK_POPOVER (card));
  gtk_widget_unparent (card);
}

static void
ef_tour_dispose (GObject *object)
{
  EfTour *self = EF_TOUR (object);

  ef_tour_stop (self);
  g_clear_weak_pointer (&self->window);
  g_clear_weak_pointer (&self->parent);
  G_OBJECT_CLASS (ef_tour_parent_class)->dispose (object);
}

static void
ef_tour_class_init (EfTourClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_tour_dispose;
}

static void
ef_tour_init (EfTour *self)
{
  self->step = -1;
}

EfTour *
ef_tour_new (EfWindow *window,
             GtkWidget *parent)
{
  EfTour *self = g_object_new (EF_TYPE_TOUR, NULL);

  g_set_weak_pointer (&self->window, window);
  g_set_weak_pointer (&self->parent, parent);

  return self;
}

/* --- The offer ---------------------------------------------------------------------------------------------------------------------- */

static void
dismiss_cb (GtkButton *button)
{
  g_settings_set_boolean (ef_settings_get (), "tour-offered", TRUE);
}

static void
update_offer (GtkWidget *offer)
{
  GtkWidget *with = g_object_get_data (G_OBJECT (offer), "shown-with");

  gtk_widget_set_visible (offer, with != NULL && gtk_widget_get_child_visible (with) && gtk_widget_get_mapped (with) && !g_settings_get_boolean (ef_settings_get (), "tour-offered"));
}

GtkWidget *
ef_tour_offer_new (GtkWidget *shown_with)
{
  GtkWidget *offer = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *text = gtk_label_new (_ ("New here? A short tour on the demo job shows what is where."));
  GtkWidget *take = gtk_button_new_with_label (_ ("Take the Tour")), *dismiss = gtk_button_new_with_label (_ ("Not Now"));

  gtk_label_set_wrap (GTK_LABEL (text), TRUE);
  gtk_label_set_xalign (GTK_LABEL (text), 0);
  gtk_widget_set_hexpand (text, TRUE);
  gtk_actionable_set_action_name (GTK_ACTIONABLE (take), "win.tour");
  gtk_widget_add_css_class (take, "suggested-action");
  gtk_widget_add_css_class (take, "ef-touch");
  gtk_widget_add_css_class (dismiss, "ef-touch");
  gtk_widget_add_css_class (offer, "toolbar");
  gtk_widget_add_css_class (offer, "ef-tour-offer");
  g_signal_connect (dismiss, "clicked", G_CALLBACK (dismiss_cb), NULL);
  gtk_box_append (GTK_BOX (offer), text);
  gtk_box_append (GTK_BOX (offer), dismiss);
  gtk_box_append (GTK_BOX (offer), take);
  g_object_set_data (G_OBJECT (offer), "shown-with", shown_with);
  gtk_widget_set_visible (offer, FALSE);
  g_signal_connect_object (shown_with, "map", G_CALLBACK (update_offer), offer, G_CONNECT_SWAPPED | G_CONNECT_AFTER);
  g_signal_connect_object (shown_with, "unmap", G_CALLBACK (gtk_widget_hide), offer, G_CONNECT_SWAPPED | G_CONNECT_AFTER);
  g_signal_connect_object (ef_settings_get (), "changed::tour-offered", G_CALLBACK (update_offer), offer, G_CONNECT_SWAPPED);

  return offer;
}
