/* Three states, plots, ranked bars, assumptions.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-flow-view.h"
#include "ef-look.h"
#include "ef-settings.h"

#include "../draw/ef-draw-flow.h"
#include "../draw/ef-flow-words.h"

#include <adwaita.h>
#include <glib/gi18n.h>
#include <math.h>

#define PLOT_WIDTH 400
#define PLOT_HEIGHT 300
#define MOST_WIDTH 1240

typedef void (*DrawFlow) (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height);

struct _EfFlowView
{
  GtkWidget parent_instance;

  EfSession *session;
  EfAssessment *shown; /* held: what the pictures are drawn from */
  gboolean refining;   /* finer figures are on their way */
  GtkWidget *scrolled, *conditions, *table, *shares, *assumptions, *busy;
  GtkWidget *plots[3];
  GtkWidget *cells[8][3];
  GtkWidget *sure_cells[2][3], *sure_words; /* to first order, and drawn */
};

G_DEFINE_FINAL_TYPE (EfFlowView, ef_flow_view, GTK_TYPE_WIDGET)

/* --- The table ---------------------------------------------------------------------------------------------------------- */

typedef char *(*CellText) (const EfFlowResult *flow, int state);

static char *
idle_text (const EfFlowResult *flow,
           int state)
{
  const EfStateFlow *at = &flow->state[state];
  g_autofree char *value = ef_settings_format (at->idle.pressure, EF_UNIT_BAR);
  g_autofree char *sure = NULL;

  if (at->idle.at_relief)
    return g_strdup_printf (_("%s (relief valve)"), value);
  if (!isfinite (at->idle_uncertainty))
    return g_steal_pointer (&value);
  sure = ef_settings_format (MAX (2 * at->idle_uncertainty, 0.005e5), EF_UNIT_BAR);
  return g_strdup_printf ("%s ± %s", value, sure);
}

static char *
delivery_text (const EfFlowResult *flow,
               int state)
{
  return ef_settings_format (flow->state[state].rated.delivery, EF_UNIT_LPM);
}

static char *
efficiency_text (const EfFlowResult *flow,
                 int state)
{
  return g_strdup_printf ("%.1f %%", 100 * flow->state[state].rated.efficiency);
}

static char *
loss_text (const EfFlowResult *flow,
           int state)
{
  return ef_settings_format (flow->state[state].idle.loss.pressure_loss, EF_UNIT_LPM);
}

static char *
power_text (const EfFlowResult *flow,
            int state)
{
  return g_strdup_printf ("%.1f W", flow->state[state].rated.loss_power);
}

static char *
two_lengths (const double value[2])
{
  g_autofree char *first = ef_settings_format (value[0], EF_UNIT_MM);
  g_autofree char *second = ef_settings_format (value[1], EF_UNIT_MM);

  return g_strdup_printf ("%s / %s", first, second);
}

static char *
end_text (const EfFlowResult *flow,
          int state)
{
  return two_lengths (flow->state[state].end_clearance);
}

static char *
tip_text (const EfFlowResult *flow,
          int state)
{
  return two_lengths (flow->state[state].tip_clearance);
}

static char *
load_text (const EfFlowResult *flow,
           int state)
{
  const double *load = flow->state[state].idle.loss.load;

  return g_strdup_printf ("%.0f N / %.0f N", load[0], load[1]);
}

static const struct
{
  const char *label;
  CellText text;
} rows[8] = {
  { N_("Hot-idle pressure"), idle_text },
  { N_("Delivery at rated speed"), delivery_text },
  { N_("Volumetric efficiency at rated speed"), efficiency_text },
  { N_("Lost through the gaps at hot idle"), loss_text },
  { N_("Power lost at rated speed"), power_text },
  { N_("End clearance, hot: drive / driven gear"), end_text },
  { N_("Tip clearance, hot: drive / driven gear"), tip_text },
  { N_("Force of the oil at hot idle: drive / driven gear"), load_text },
};

static GtkWidget *
cell_label (const char *text,
            gboolean head)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, "hexpand", TRUE, NULL);

  gtk_widget_add_css_class (label, "ef-table-cell");
  if (head)
    gtk_widget_add_css_class (label, "heading");
  return label;
}

static GtkWidget *
make_table (EfFlowView *self)
{
  GtkWidget *grid = g_object_new (GTK_TYPE_GRID, NULL);
  guint i;
  int state;

  gtk_widget_add_css_class (grid, "card");
  gtk_widget_add_css_class (grid, "ef-table");
  for (state = 0; state < EF_N_STATES; state++)
    gtk_grid_attach (GTK_GRID (grid), cell_label (ef_draw_state_word ((EfPumpState) state), TRUE), state + 1, 0, 1, 1);
  for (i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      gtk_grid_attach (GTK_GRID (grid), cell_label (_(rows[i].label), FALSE), 0, i + 1, 1, 1);
      for (state = 0; state < EF_N_STATES; state++)
        {
          self->cells[i][state] = cell_label ("–", FALSE);
          gtk_widget_add_css_class (self->cells[i][state], "numeric");
          if (state == EF_STATE_FOUND)
            gtk_widget_add_css_class (self->cells[i][state], "heading");
          gtk_grid_attach (GTK_GRID (grid), self->cells[i][state], state + 1, i + 1, 1, 1);
        }
    }
  return grid;
}

static void
fill_table (EfFlowView *self,
            const EfFlowResult *flow)
{
  guint i;
  int state;

  for (i = 0; i < G_N_ELEMENTS (rows); i++)
    for (state = 0; state < EF_N_STATES; state++)
      {
        g_autofree char *text = flow->state[state].known ? rows[i].text (flow, state) : g_strdup ("–");

        gtk_label_set_label (GTK_LABEL (self->cells[i][state]), text);
        gtk_widget_set_tooltip_text (self->cells[i][state], flow->state[state].reason);
      }
}

char *
ef_flow_view_text (EfFlowView *self)
{
  GString *text = g_string_new (NULL);
  guint i;

  for (i = 0; i < G_N_ELEMENTS (rows); i++)
    g_string_append_printf (text, "%s: %s %s, %s %s, %s %s\n", _(rows[i].label),
                            ef_draw_state_word (EF_STATE_NEW), gtk_label_get_label (GTK_LABEL (self->cells[i][0])),
                            ef_draw_state_word (EF_STATE_FOUND), gtk_label_get_label (GTK_LABEL (self->cells[i][1])),
                            ef_draw_state_word (EF_STATE_REWORKED), gtk_label_get_label (GTK_LABEL (self->cells[i][2])));
  return g_string_free (text, FALSE);
}

/* --- How sure ------------------------------------------------------------------------------------------------------------ */

static char *
span_text (double low,
           double high,
           EfUnit unit)
{
  g_autofree char *first = ef_settings_format (low, unit);
  g_autofree char *second = ef_settings_format (high, unit);

  return g_strdup_printf (_("%s to %s"), first, second);
}

static GtkWidget *
make_sure (EfFlowView *self)
{
  static const char *const heads[] = { N_("95 % of cases lie in"), N_("Hot-idle pressure"), N_("Lost through the gaps"), N_("End clearance, cold") };
  static const char *const ways[] = { N_("First order (the ± above)"), N_("Drawn at random") };
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 8);
  GtkWidget *grid = g_object_new (GTK_TYPE_GRID, NULL);
  guint i, column;

  gtk_widget_add_css_class (grid, "ef-table");
  for (i = 0; i < G_N_ELEMENTS (heads); i++)
    gtk_grid_attach (GTK_GRID (grid), cell_label (_(heads[i]), TRUE), (int) i, 0, 1, 1);
  for (i = 0; i < G_N_ELEMENTS (ways); i++)
    {
      gtk_grid_attach (GTK_GRID (grid), cell_label (_(ways[i]), FALSE), 0, (int) i + 1, 1, 1);
      for (column = 0; column < 3; column++)
        {
          self->sure_cells[i][column] = cell_label ("–", FALSE);
          gtk_widget_add_css_class (self->sure_cells[i][column], "numeric");
          gtk_grid_attach (GTK_GRID (grid), self->sure_cells[i][column], (int) column + 1, (int) i + 1, 1, 1);
        }
    }
  self->sure_words = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "selectable", TRUE, NULL);
  gtk_box_append (GTK_BOX (box), grid);
  gtk_box_append (GTK_BOX (box), self->sure_words);
  return box;
}

static void
set_span (GtkWidget *label,
          gboolean known,
          double low,
          double high,
          EfUnit unit)
{
  g_autofree char *text = known ? span_text (low, high, unit) : g_strdup ("–");

  gtk_label_set_label (GTK_LABEL (label), text);
}

/* What was drawn, whether both ways agree, and how far the draws can be trusted. */
static char *
sure_words (EfFlowView *self,
            const EfFlowResult *flow)
{
  const EfFlowMonteCarlo *drawn = &flow->monte_carlo;
  GString *text = g_string_new (NULL);
  g_autofree char *words = ef_flow_drawn_words (flow);
  g_autofree char *agreement = ef_flow_agreement_words (flow);

  if (words == NULL)
    {
      if (self->refining)
        g_string_append (text, _("Being drawn…"));
      else
        g_string_append_printf (text, _("Not drawn at random: %s."), drawn->reason != NULL ? drawn->reason : _("the pump as found isn't known well enough"));
      return g_string_free (text, FALSE);
    }
  g_string_append (text, words);
  if (agreement != NULL)
    g_string_append_printf (text, " %s", agreement);
  g_string_append_printf (text, _(" The same draws each time (seed %u); solved directly at %u places beside them, the pressure differed by %.4f bar at most."), drawn->seed,
                          drawn->checks, drawn->surrogate_error / 1e5);
  if (drawn->failed > 0)
    g_string_append_printf (text, g_dngettext (GETTEXT_PACKAGE, " %u draw in which a gear would seize is left out.", " %u draws in which a gear would seize are left out.", drawn->failed),
                            drawn->failed);
  return g_string_free (text, FALSE);
}

static void
fill_sure (EfFlowView *self,
           const EfFlowResult *flow)
{
  const EfFlowMonteCarlo *drawn = &flow->monte_carlo;
  double low = NAN, high = NAN;
  gboolean known = ef_flow_first_order (flow, &low, &high);
  g_autofree char *words = sure_words (self, flow);

  set_span (self->sure_cells[0][0], known, low, high, EF_UNIT_BAR);
  set_span (self->sure_cells[1][0], drawn->known, drawn->pressure.low, drawn->pressure.high, EF_UNIT_BAR);
  set_span (self->sure_cells[1][1], drawn->known, drawn->leakage.low, drawn->leakage.high, EF_UNIT_LPM);
  set_span (self->sure_cells[1][2], drawn->known, drawn->end_clearance.low, drawn->end_clearance.high, EF_UNIT_MM);
  gtk_label_set_label (GTK_LABEL (self->sure_words), words);
}

const char *
ef_flow_view_sure (EfFlowView *self)
{
  return gtk_label_get_label (GTK_LABEL (self->sure_words));
}

/* --- Pictures --------------------------------------------------------------------------------------------------------------- */

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer user_data)
{
  EfFlowView *self = user_data;
  DrawFlow draw = g_object_get_data (G_OBJECT (area), "ef-draw");
  EfDrawStyle style;

  if (self->shown == NULL)
    return;
  ef_look_style (&style);
  draw (cr, &style, self->shown, width, height);
}

static GtkWidget *
make_picture (EfFlowView *self,
              DrawFlow draw,
              const char *name)
{
  GtkWidget *area = gtk_drawing_area_new ();

  g_object_set_data (G_OBJECT (area), "ef-draw", draw);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (area), draw_cb, self, NULL);
  gtk_widget_set_hexpand (area, TRUE);
  gtk_accessible_update_property (GTK_ACCESSIBLE (area), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  ef_look_follow (area);
  return area;
}

static GtkWidget *
on_card (const char *title,
         GtkWidget *child)
{
  GtkWidget *card = gtk_box_new (GTK_ORIENTATION_VERTICAL, 8);
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", title, "xalign", 0.0f, "wrap", TRUE, NULL);

  gtk_widget_add_css_class (label, "heading");
  gtk_widget_add_css_class (card, "card");
  gtk_widget_add_css_class (card, "ef-group");
  gtk_box_append (GTK_BOX (card), label);
  gtk_box_append (GTK_BOX (card), child);
  gtk_widget_set_hexpand (card, TRUE);
  return card;
}

/* As tall as the bars need at this width. */
static void
fit_shares (EfFlowView *self)
{
  int width = gtk_widget_get_width (self->plots[2]);
  EfDrawStyle style;

  if (self->shown == NULL)
    return;
  ef_look_style (&style);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->plots[2]),
                                       (int) ceil (ef_draw_flow_shares_height (&style, self->shown, width > 0 ? width : 800)));
}

static void
fit_plots (EfFlowView *self)
{
  double scale = ef_look_text_scale ();
  int i;

  for (i = 0; i < 2; i++)
    {
      gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (self->plots[i]), (int) (PLOT_WIDTH * MIN (scale, 1.5)));
      gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->plots[i]), (int) (PLOT_HEIGHT * MIN (scale, 1.6)));
    }
  fit_shares (self);
}

/* --- Following ---------------------------------------------------------------------------------------------------------------- */

static void
fill_assumptions (EfFlowView *self,
                  const EfFlowResult *flow)
{
  GtkWidget *child;
  guint i;

  while ((child = gtk_widget_get_first_child (self->assumptions)) != NULL)
    gtk_box_remove (GTK_BOX (self->assumptions), child);
  for (i = 0; i < flow->assumptions->len; i++)
    {
      g_autofree char *text = g_strdup_printf ("· %s", (const char *) g_ptr_array_index (flow->assumptions, i));

      gtk_box_append (GTK_BOX (self->assumptions), g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "selectable", TRUE, NULL));
    }
}

static void
show_conditions (EfFlowView *self,
                 const EfFlowResult *flow)
{
  const EfInspection *inspection = self->shown->inspection;
  const EfJobHeader *job = ef_inspection_header (inspection);
  const char *oil = job != NULL && job->oil != NULL && job->oil[0] != '\0' ? job->oil : inspection->sheet->oil;
  g_autofree char *pressure = ef_settings_format (flow->rated_pressure, EF_UNIT_BAR);
  g_autofree char *text = NULL;

  text = g_strdup_printf (_("Hot idle: %.0f rpm, %.0f °C. Rated: %.0f rpm, %.0f °C, %s. Oil: %s, %.1f mPa s at hot idle."), 60 * flow->idle_speed, flow->idle_temperature - 273.15,
                          60 * flow->rated_speed, flow->rated_temperature - 273.15, pressure, oil != NULL ? oil : "–", 1e3 * flow->idle_mu);
  gtk_label_set_label (GTK_LABEL (self->conditions), text);
}

static void
assessed_cb (EfFlowView *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  gboolean refining = ef_session_refining (self->session) || ef_session_busy (self->session);
  int i;

  self->refining = refining;
  gtk_widget_set_opacity (self->busy, refining ? 1 : 0);
  if (assessment == NULL || assessment->flow == NULL)
    return;
  fill_table (self, assessment->flow);
  /* Coarse answers have no curves: the last that had some stay until the new ones are there. */
  if (refining && self->shown != NULL && self->shown->flow->shares != NULL)
    return;
  g_clear_pointer (&self->shown, ef_assessment_unref);
  self->shown = ef_assessment_ref (assessment);
  show_conditions (self, assessment->flow);
  fill_sure (self, assessment->flow);
  fill_assumptions (self, assessment->flow);
  fit_plots (self);
  for (i = 0; i < 3; i++)
    gtk_widget_queue_draw (self->plots[i]);
}

static void
ef_flow_view_dispose (GObject *object)
{
  EfFlowView *self = EF_FLOW_VIEW (object);

  g_clear_pointer (&self->scrolled, gtk_widget_unparent);
  g_clear_pointer (&self->shown, ef_assessment_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_flow_view_parent_class)->dispose (object);
}

static void
ef_flow_view_class_init (EfFlowViewClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_flow_view_dispose;
  gtk_widget_class_set_layout_manager_type (GTK_WIDGET_CLASS (klass), GTK_TYPE_BIN_LAYOUT);
  gtk_widget_class_set_css_name (GTK_WIDGET_CLASS (klass), "flowview");
}

static GtkWidget *
make_head (EfFlowView *self)
{
  GtkWidget *head = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);

  self->conditions = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "hexpand", TRUE, NULL);
  gtk_widget_add_css_class (self->conditions, "dim-label");
  self->busy = g_object_new (GTK_TYPE_LABEL, "label", _("refining…"), "opacity", 0.0, NULL);
  gtk_widget_add_css_class (self->busy, "dim-label");
  gtk_box_append (GTK_BOX (head), self->conditions);
  gtk_box_append (GTK_BOX (head), self->busy);
  return head;
}

static GtkWidget *
make_body (EfFlowView *self)
{
  GtkWidget *body = gtk_box_new (GTK_ORIENTATION_VERTICAL, 18);
  GtkWidget *flow = g_object_new (GTK_TYPE_FLOW_BOX, "selection-mode", GTK_SELECTION_NONE, "column-spacing", 18, "row-spacing", 18,
                                  "min-children-per-line", 1, "max-children-per-line", 2, "homogeneous", TRUE, NULL);
  GtkWidget *expander = gtk_expander_new (_("Taken for granted, and not in the model"));
  const char *titles[2] = { _("Delivery against pressure at hot idle"), _("Hot-idle pressure against end clearance") };
  int i;

  self->plots[0] = make_picture (self, ef_draw_flow_delivery, titles[0]);
  self->plots[1] = make_picture (self, ef_draw_flow_idle_pressure, titles[1]);
  self->plots[2] = make_picture (self, ef_draw_flow_shares, _("Where the pressure is lost"));
  g_signal_connect_object (self->plots[2], "resize", G_CALLBACK (fit_shares), self, G_CONNECT_SWAPPED);
  for (i = 0; i < 2; i++)
    {
      gtk_flow_box_append (GTK_FLOW_BOX (flow), on_card (titles[i], self->plots[i]));
      gtk_widget_set_focusable (gtk_widget_get_last_child (flow), FALSE);
    }
  self->table = make_table (self);
  self->assumptions = gtk_box_new (GTK_ORIENTATION_VERTICAL, 4);
  gtk_widget_set_margin_top (self->assumptions, 6);
  gtk_expander_set_child (GTK_EXPANDER (expander), self->assumptions);
  gtk_widget_set_name (expander, "assumptions");
  gtk_box_append (GTK_BOX (body), make_head (self));
  gtk_box_append (GTK_BOX (body), flow);
  gtk_box_append (GTK_BOX (body), on_card (_("Where the pressure is lost"), self->plots[2]));
  gtk_box_append (GTK_BOX (body), self->table);
  gtk_box_append (GTK_BOX (body), on_card (_("How sure the figures as found are"), make_sure (self)));
  gtk_box_append (GTK_BOX (body), expander);
  g_object_set (body, "margin-start", 24, "margin-end", 24, "margin-top", 18, "margin-bottom", 24, NULL);
  return body;
}

static void
ef_flow_view_init (EfFlowView *self)
{
  GtkWidget *clamp = g_object_new (ADW_TYPE_CLAMP, "maximum-size", MOST_WIDTH, "tightening-threshold", MOST_WIDTH, NULL);

  self->scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, NULL);
  adw_clamp_set_child (ADW_CLAMP (clamp), make_body (self));
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (self->scrolled), clamp);
  gtk_widget_set_parent (self->scrolled, GTK_WIDGET (self));
}

GtkWidget *
ef_flow_view_new (EfSession *session)
{
  EfFlowView *self = g_object_new (EF_TYPE_FLOW_VIEW, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (gtk_settings_get_default (), "notify::gtk-xft-dpi", G_CALLBACK (fit_plots), self, G_CONNECT_SWAPPED);
  fit_plots (self);
  assessed_cb (self);
  return GTK_WIDGET (self);
}
