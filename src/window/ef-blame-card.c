/* Is the pump to blame?
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-blame-card.h"
#include "ef-look.h"
#include "ef-settings.h"
#include "ef-window.h"

#include "../draw/ef-draw-flow.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfBlameCard
{
  GtkBox parent_instance;

  EfSession *session;
  EfAssessment *shown; /* held: with a blame, or the latest */
  GtkWidget *sentence, *picture, *measured, *enter;
};

G_DEFINE_FINAL_TYPE (EfBlameCard, ef_blame_card, GTK_TYPE_BOX)

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer user_data)
{
  EfBlameCard *self = user_data;
  EfDrawStyle style;

  if (self->shown == NULL)
    return;
  ef_look_style (&style);
  ef_draw_flow_blame (cr, &style, self->shown, width, height);
}

/* "Measured 0.82 bar at 550 rpm and 115 °C; a pump as new would have made 1.40 bar there, this one as found 1.02 bar." */
static char *
measured_text (const EfAssessment *assessment)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  const EfFlowResult *flow = assessment->flow;
  g_autofree char *measured = ef_settings_format (job->found_pressure, EF_UNIT_BAR);
  g_autofree char *as_new = ef_settings_format (job->found_pressure + flow->missing, EF_UNIT_BAR);
  g_autofree char *found = ef_settings_format (job->found_pressure + flow->missing - flow->explained, EF_UNIT_BAR);
  double speed = isfinite (job->found_speed) && job->found_speed > 0 ? job->found_speed : flow->idle_speed;
  double temperature = isfinite (job->found_temperature) ? job->found_temperature : flow->idle_temperature;

  return g_strdup_printf (_("Measured %s; at %.0f rpm and %.0f °C a pump as new makes %s, this one as found %s."), measured, 60 * speed, temperature - 273.15, as_new, found);
}

static const char *
why_nothing (EfBlameCard *self,
             EfAssessment *assessment)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);

  if (assessment->flow == NULL || !assessment->flow->state[EF_STATE_FOUND].known)
    return assessment->flow != NULL && assessment->flow->state[EF_STATE_FOUND].reason != NULL ? assessment->flow->state[EF_STATE_FOUND].reason : _("Not worked out yet");
  if (job == NULL || !isfinite (job->found_pressure))
    return _("No oil pressure was noted with the complaint. With pressure, speed and oil temperature it can be said how much of what is missing the pump's wear explains.");
  return _("Working it out…");
}

static void
show_words (EfBlameCard *self)
{
  gboolean blamed = self->shown->flow != NULL && self->shown->flow->blame != NULL;
  const EfJobHeader *job = ef_inspection_header (self->shown->inspection);
  g_autofree char *measured = blamed ? measured_text (self->shown) : NULL;

  gtk_label_set_label (GTK_LABEL (self->sentence), blamed ? self->shown->flow->blame : why_nothing (self, self->shown));
  gtk_label_set_label (GTK_LABEL (self->measured), measured != NULL ? measured : "");
  gtk_widget_set_visible (self->measured, blamed);
  gtk_widget_set_visible (self->picture, blamed);
  gtk_widget_set_visible (self->enter, job == NULL || !isfinite (job->found_pressure));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->picture), GTK_ACCESSIBLE_PROPERTY_LABEL, measured != NULL ? measured : "", -1);
}

static void
assessed_cb (EfBlameCard *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  EfDrawStyle style;

  if (assessment == NULL)
    return;
  /* The sentence comes with the finer answer: until then the old one stays, unless the complaint is gone. */
  if (ef_session_refining (self->session) && assessment->flow != NULL && assessment->flow->blame == NULL && self->shown != NULL && self->shown->flow != NULL &&
      self->shown->flow->blame != NULL && isfinite (ef_inspection_header (assessment->inspection)->found_pressure))
    return;
  g_clear_pointer (&self->shown, ef_assessment_unref);
  self->shown = ef_assessment_ref (assessment);
  ef_look_style (&style);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->picture), (int) ceil (ef_draw_flow_blame_height (&style)));
  show_words (self);
  gtk_widget_queue_draw (self->picture);
}

static void
enter_cb (EfBlameCard *self)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  if (window != NULL)
    ef_window_show_page (window, "readings");
}

static void
ef_blame_card_dispose (GObject *object)
{
  EfBlameCard *self = EF_BLAME_CARD (object);

  g_clear_pointer (&self->shown, ef_assessment_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_blame_card_parent_class)->dispose (object);
}

static void
ef_blame_card_class_init (EfBlameCardClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_blame_card_dispose;
}

static void
ef_blame_card_init (EfBlameCard *self)
{
  GtkWidget *title = g_object_new (GTK_TYPE_LABEL, "label", _("Is the pump to blame?"), "xalign", 0.0f, NULL);

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 6);
  gtk_widget_add_css_class (title, "caption-heading");
  gtk_widget_add_css_class (title, "dim-label");
  self->sentence = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "selectable", TRUE, NULL);
  gtk_widget_add_css_class (self->sentence, "ef-blame");
  self->picture = gtk_drawing_area_new ();
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->picture), draw_cb, self, NULL);
  ef_look_follow (self->picture);
  self->measured = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (self->measured, "ef-small");
  self->enter = gtk_button_new_with_label (_("Note the Complaint"));
  gtk_widget_add_css_class (self->enter, "ef-touch");
  gtk_widget_set_halign (self->enter, GTK_ALIGN_START);
  gtk_widget_set_visible (self->enter, FALSE);
  g_signal_connect_object (self->enter, "clicked", G_CALLBACK (enter_cb), self, G_CONNECT_SWAPPED);
  gtk_box_append (GTK_BOX (self), title);
  gtk_box_append (GTK_BOX (self), self->sentence);
  gtk_box_append (GTK_BOX (self), self->measured);
  gtk_box_append (GTK_BOX (self), self->picture);
  gtk_box_append (GTK_BOX (self), self->enter);
}

GtkWidget *
ef_blame_card_new (EfSession *session)
{
  EfBlameCard *self = g_object_new (EF_TYPE_BLAME_CARD, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  assessed_cb (self);
  return GTK_WIDGET (self);
}

const char *
ef_blame_card_text (EfBlameCard *self)
{
  return gtk_label_get_label (GTK_LABEL (self->sentence));
}
