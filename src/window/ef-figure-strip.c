/* The figures that follow from the map, and the verdict.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-figure-strip.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"

#include <adwaita.h>
#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

struct _EfFigureStrip
{
  GtkWidget parent_instance;

  EfSession *session;
  GSignalGroup *session_signals;
  GtkWidget *box, *cells_box, *busy;
  GtkWidget *part_name, *part_badge, *pump_badge;
  GPtrArray *cells; /* Cell * */
  GtkAdjustment *scroll; /* the strip's own */
  guint whole_idle;
};

/* One figure: its words are exchanged in place, so nothing jumps while a mark is edited. */
typedef struct
{
  GtkWidget *grid, *title, *values[3], *limit;
  char *text;
} Cell;

G_DEFINE_FINAL_TYPE (EfFigureStrip, ef_figure_strip, GTK_TYPE_WIDGET)

static void
cell_free (gpointer data)
{
  Cell *cell = data;

  g_free (cell->text);
  g_free (cell);
}

/* --- Which figures, and in what order --------------------------------------------------------------------------------------- */

/* What the marking is for comes first and never moves: pressure, delivery, and the clearance that decides them. Then the face at hand, then
 * the rest of its section, then all else; figures of other faces are left out: they are a press away. */
enum { RANK_IDLE, RANK_DELIVERY, RANK_CLEARANCE, RANK_FACE, RANK_PUMP, RANK_SECTION, RANK_OTHER, N_RANKS };

static int
rank (EfFigureStrip *self,
      const EfFigure *figure,
      const char *section)
{
  if (g_str_equal (figure->name, "idle-pressure"))
    return RANK_IDLE;
  if (g_str_equal (figure->name, "delivery"))
    return RANK_DELIVERY;
  if (figure->face != NULL)
    return g_strcmp0 (figure->face, ef_session_face (self->session)) == 0 ? RANK_FACE : -1;
  if (figure->section == NULL)
    return RANK_PUMP;
  if (g_strcmp0 (figure->section, section) != 0)
    return RANK_OTHER;
  return g_str_equal (figure->name, "end-clearance") ? RANK_CLEARANCE : RANK_SECTION;
}

/* The section of the face at hand; else the one that makes the pressure. */
static const char *
section_at_hand (EfFigureStrip *self,
                 EfAssessment *assessment)
{
  const char *face = ef_session_face (self->session);
  EfFaceChart *chart = face != NULL ? ef_session_chart (self->session, face) : NULL;

  if (chart != NULL && chart->section != NULL)
    return chart->section->id;
  return assessment->flow != NULL ? assessment->flow->section : NULL;
}

static GPtrArray *
choose_figures (EfFigureStrip *self,
                EfAssessment *assessment)
{
  const char *section = section_at_hand (self, assessment);
  GPtrArray *chosen = g_ptr_array_new ();
  int wanted;
  guint i;

  for (wanted = 0; wanted < N_RANKS; wanted++)
    for (i = 0; i < assessment->figures->len; i++)
      {
        EfFigure *figure = g_ptr_array_index (assessment->figures, i);

        if (rank (self, figure, section) == wanted)
          g_ptr_array_add (chosen, figure);
      }
  return chosen;
}

/* --- Words ---------------------------------------------------------------------------------------------------------------------- */

static char *
value_text (const EfFigure *figure,
            double value)
{
  if (!isfinite (value))
    return g_strdup ("–");
  if (figure->unit == EF_UNIT_NONE)
    {
      char number[G_ASCII_DTOSTR_BUF_SIZE];

      return g_strdup_printf ("%s %%", g_ascii_formatd (number, sizeof number, "%.1f", 100 * value));
    }
  /* a tenth of a litre is as well as a delivery is known */
  if (figure->unit == EF_UNIT_LPM)
    return ef_format_quantity (value, EF_UNIT_LPM, 1);
  return ef_settings_format (value, figure->unit);
}

static gboolean
is_outside (const EfFigure *figure,
            double value)
{
  return (isfinite (figure->limit_max) && value > figure->limit_max) || (isfinite (figure->limit_min) && value < figure->limit_min);
}

/* Cuts the unit off in place: "0.040 mm" to "0.040". */
static char *
without_unit (char *text)
{
  char *space = strrchr (text, ' ');

  if (space != NULL)
    *space = '\0';
  return text;
}

/* "550 rpm, 115 °C": at which a figure of the flow holds; NULL for the others. */
static char *
conditions_text (const EfAssessment *assessment,
                 const EfFigure *figure)
{
  const EfFlowResult *flow = assessment->flow;
  g_autofree char *pressure = NULL;

  if (flow == NULL)
    return NULL;
  if (g_str_equal (figure->name, "idle-pressure"))
    return g_strdup_printf (_("%.0f rpm, %.0f °C"), 60 * flow->idle_speed, flow->idle_temperature - 273.15);
  if (!g_str_equal (figure->name, "delivery") && !g_str_equal (figure->name, "volumetric-efficiency"))
    return NULL;
  pressure = ef_settings_format (flow->rated_pressure, EF_UNIT_BAR);
  return g_strdup_printf (_("%.0f rpm, %.0f °C, %s"), 60 * flow->rated_speed, flow->rated_temperature - 273.15, pressure);
}

/* Standard, SI; NAN where it isn't known. */
static double
uncertainty_of (const EfAssessment *assessment,
                const EfFigure *figure)
{
  guint i;

  if (g_str_equal (figure->name, "idle-pressure"))
    return assessment->flow != NULL ? assessment->flow->state[EF_STATE_FOUND].idle_uncertainty : NAN;
  for (i = 0; i < assessment->findings.derived->len; i++)
    {
      const EfDerived *derived = g_ptr_array_index (assessment->findings.derived, i);

      if (g_str_equal (derived->quantity, figure->name) && g_strcmp0 (derived->target, figure->section) == 0 && derived->value == figure->found)
        return derived->uncertainty;
    }
  return NAN;
}

/* "± 0.014 mm" at 95 %, as a second figure never finer than the first. */
static char *
sureness_text (const EfAssessment *assessment,
               const EfFigure *figure)
{
  double u = uncertainty_of (assessment, figure);
  g_autofree char *text = NULL;

  if (!isfinite (u) || !isfinite (figure->found))
    return NULL;
  if (figure->unit == EF_UNIT_BAR && 2 * u < 0.005e5)
    u = 0.005e5;
  text = without_unit (value_text (figure, 2 * u));
  return g_strdup_printf ("± %s", text);
}

static char *
limit_only (const EfFigure *figure)
{
  g_autofree char *low = isfinite (figure->limit_min) ? value_text (figure, figure->limit_min) : NULL;
  g_autofree char *high = isfinite (figure->limit_max) ? value_text (figure, figure->limit_max) : NULL;

  if (low != NULL && high != NULL)
    return g_strdup_printf (_("limit %s to %s"), without_unit (low), high);
  if (high != NULL)
    return g_strdup_printf (_("limit up to %s"), high);
  if (low != NULL)
    return g_strdup_printf (_("limit from %s"), low);
  return g_strdup (_("no limit set"));
}

/* What the found value is to be held against, and how sure it is. */
static char *
limit_text (const EfAssessment *assessment,
            const EfFigure *figure)
{
  g_autofree char *conditions = conditions_text (assessment, figure);
  g_autofree char *sure = sureness_text (assessment, figure);
  g_autofree char *limit = conditions != NULL ? g_steal_pointer (&conditions) : limit_only (figure);
  gboolean judged = (isfinite (figure->limit_min) || isfinite (figure->limit_max)) && isfinite (figure->found);
  GString *text = g_string_new (limit);

  if (judged)
    g_string_append (text, is_outside (figure, figure->found) ? _(" · outside") : _(" · within"));
  if (sure != NULL)
    g_string_append_printf (text, " · %s", sure);
  return g_string_free (text, FALSE);
}

/* A figure of the shown face need not say which one: "Deepest wear, this face". */
static char *
shown_label (const EfFigure *figure)
{
  const char *label = figure->label != NULL ? _(figure->label) : figure->name;
  const char *comma = strchr (label, ',');

  if (figure->face == NULL || comma == NULL)
    return g_strdup (label);
  return g_strdup_printf (_("%.*s, this face"), (int) (comma - label), label);
}

/* --- Cells ------------------------------------------------------------------------------------------------------------------------ */

static Cell *
make_cell (EfFigureStrip *self)
{
  static const char *const heads[3] = { N_("as new"), N_("found"), N_("after rework") };
  Cell *cell = g_new0 (Cell, 1);
  GtkGrid *grid;
  int k;

  cell->grid = gtk_grid_new ();
  grid = GTK_GRID (cell->grid);
  gtk_grid_set_column_spacing (grid, 14);
  gtk_widget_add_css_class (cell->grid, "ef-figure");
  cell->title = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "ellipsize", PANGO_ELLIPSIZE_END, "max-width-chars", 36, NULL);
  gtk_widget_add_css_class (cell->title, "caption-heading");
  gtk_grid_attach (grid, cell->title, 0, 0, 3, 1);
  for (k = 0; k < 3; k++)
    {
      GtkWidget *head = g_object_new (GTK_TYPE_LABEL, "label", _(heads[k]), "xalign", 0.0f, NULL);

      gtk_widget_add_css_class (head, "caption");
      gtk_widget_add_css_class (head, "dim-label");
      cell->values[k] = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, NULL);
      gtk_widget_add_css_class (cell->values[k], "numeric");
      if (k == 1)
        gtk_widget_add_css_class (cell->values[k], "heading");
      gtk_grid_attach (grid, head, k, 1, 1, 1);
      gtk_grid_attach (grid, cell->values[k], k, 2, 1, 1);
    }
  cell->limit = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "ellipsize", PANGO_ELLIPSIZE_END, "max-width-chars", 40, NULL);
  gtk_widget_add_css_class (cell->limit, "caption");
  gtk_grid_attach (grid, cell->limit, 0, 3, 3, 1);
  gtk_box_append (GTK_BOX (self->cells_box), cell->grid);
  return cell;
}

static void
set_class (GtkWidget *widget,
           const char *name,
           gboolean on)
{
  if (on)
    gtk_widget_add_css_class (widget, name);
  else
    gtk_widget_remove_css_class (widget, name);
}

static void
show_figure (Cell *cell,
             const EfAssessment *assessment,
             const EfFigure *figure)
{
  const double values[3] = { figure->as_new, figure->found, figure->reworked };
  g_autofree char *limit = limit_text (assessment, figure);
  g_autofree char *label = shown_label (figure);
  char *texts[3];
  gboolean outside = is_outside (figure, figure->found);
  int k;

  gtk_label_set_label (GTK_LABEL (cell->title), label);
  for (k = 0; k < 3; k++)
    {
      g_autofree char *shown = value_text (figure, values[k]);

      texts[k] = g_strdup (shown);
      /* the unit once, on the value that counts */
      gtk_label_set_label (GTK_LABEL (cell->values[k]), k == 1 ? shown : without_unit (shown));
    }
  gtk_label_set_label (GTK_LABEL (cell->limit), limit);
  set_class (cell->values[1], "error", outside);
  set_class (cell->limit, "error", outside);
  set_class (cell->limit, "dim-label", !outside);
  set_class (cell->values[2], "error", is_outside (figure, figure->reworked));
  g_free (cell->text);
  cell->text = g_strdup_printf (_("%s: as new %s, found %s, after rework %s, %s"), label, texts[0], texts[1], texts[2], limit);
  for (k = 0; k < 3; k++)
    g_free (texts[k]);
  gtk_widget_set_tooltip_text (cell->grid, figure->source != NULL ? figure->source : cell->text);
  gtk_accessible_update_property (GTK_ACCESSIBLE (cell->grid), GTK_ACCESSIBLE_PROPERTY_LABEL, cell->text, -1);
}

static void
show_figures (EfFigureStrip *self,
              EfAssessment *assessment)
{
  g_autoptr (GPtrArray) figures = assessment != NULL ? choose_figures (self, assessment) : g_ptr_array_new ();
  guint i;

  while (self->cells->len > figures->len)
    {
      Cell *cell = g_ptr_array_index (self->cells, self->cells->len - 1);

      gtk_box_remove (GTK_BOX (self->cells_box), cell->grid);
      g_ptr_array_set_size (self->cells, self->cells->len - 1);
    }
  while (self->cells->len < figures->len)
    g_ptr_array_add (self->cells, make_cell (self));
  for (i = 0; i < figures->len; i++)
    show_figure (g_ptr_array_index (self->cells, i), assessment, g_ptr_array_index (figures, i));
}

static void
show_verdicts (EfFigureStrip *self,
               EfAssessment *assessment)
{
  const char *part_id = ef_session_part (self->session);
  const EfPart *part = NULL;
  const EfVerdict *verdict = NULL;

  if (part_id != NULL)
    {
      const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
      g_autofree char *id = g_strdup_printf ("part:%s", part_id);

      part = ef_pump_sheet_part (inspection->sheet, part_id);
      verdict = assessment != NULL ? ef_verdict_find (assessment->verdict, id) : NULL;
    }
  gtk_label_set_label (GTK_LABEL (self->part_name), part != NULL ? part->name : _("No part chosen"));
  ef_verdict_badge_set (EF_VERDICT_BADGE (self->part_badge), verdict != NULL ? (int) verdict->word : EF_VERDICT_UNKNOWN);
  gtk_widget_set_visible (self->part_badge, part != NULL);
  ef_verdict_badge_set (EF_VERDICT_BADGE (self->pump_badge), assessment != NULL ? (int) assessment->verdict->word : EF_VERDICT_UNKNOWN);
}

/* Old figures stay, said to be old, until the new ones are there; coarse ones are said to become finer. */
static void
busy_cb (EfFigureStrip *self)
{
  gboolean busy = ef_session_busy (self->session);
  gboolean refining = ef_session_refining (self->session);

  gtk_label_set_label (GTK_LABEL (self->busy), busy ? _("working it out…") : _("refining…"));
  gtk_widget_set_opacity (self->busy, busy || refining ? 1 : 0);
}

static void
refresh (EfFigureStrip *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);

  show_figures (self, assessment);
  show_verdicts (self, assessment);
  busy_cb (self);
}

static void
ef_figure_strip_dispose (GObject *object)
{
  EfFigureStrip *self = EF_FIGURE_STRIP (object);

  g_clear_object (&self->session_signals);
  g_clear_pointer (&self->box, gtk_widget_unparent);
  /* Last: coming apart, the strip still scrolls. */
  g_clear_handle_id (&self->whole_idle, g_source_remove);
  g_clear_pointer (&self->cells, g_ptr_array_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_figure_strip_parent_class)->dispose (object);
}

static void
ef_figure_strip_class_init (EfFigureStripClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_figure_strip_dispose;
  gtk_widget_class_set_layout_manager_type (widget_class, GTK_TYPE_BIN_LAYOUT);
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_GROUP);
  gtk_widget_class_set_css_name (widget_class, "figurestrip");
}

static void
add_verdict (EfFigureStrip *self,
             GtkGrid *grid,
             int row,
             GtkWidget **name,
             GtkWidget **badge,
             const char *text)
{
  *name = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "ellipsize", PANGO_ELLIPSIZE_END, "max-width-chars", 18, NULL);
  gtk_widget_add_css_class (*name, "caption");
  gtk_widget_add_css_class (*name, "dim-label");
  *badge = ef_verdict_badge_new ();
  gtk_widget_add_css_class (*badge, "heading");
  gtk_grid_attach (grid, *name, 0, row, 1, 1);
  gtk_grid_attach (grid, *badge, 1, row, 1, 1);
}

/* A figure cut through reads as another one: what doesn't stand wholly in the strip is left blank until it's scrolled to. The first always shows. */
static void
show_whole_figures (EfFigureStrip *self)
{
  double left = gtk_adjustment_get_value (self->scroll);
  double right = left + gtk_adjustment_get_page_size (self->scroll);
  GtkWidget *first = gtk_widget_get_first_child (self->cells_box);

  for (GtkWidget *child = first; child != NULL; child = gtk_widget_get_next_sibling (child))
    {
      graphene_rect_t place;
      gboolean whole = gtk_widget_compute_bounds (child, self->cells_box, &place) &&
                       place.origin.x >= left - 1 && place.origin.x + place.size.width <= right + 1;

      gtk_widget_set_opacity (child, whole || child == first ? 1 : 0);
    }
}

static gboolean
show_whole_idle_cb (gpointer user_data)
{
  EfFigureStrip *self = user_data;

  self->whole_idle = 0;
  show_whole_figures (self);

  return G_SOURCE_REMOVE;
}

/* The adjustment changes while places are being given out: looked at once that's done. */
static void
scroll_changed_cb (EfFigureStrip *self)
{
  if (self->whole_idle == 0)
    self->whole_idle = g_idle_add_full (GDK_PRIORITY_REDRAW + 10, show_whole_idle_cb, self, NULL);
}

static void
ef_figure_strip_init (EfFigureStrip *self)
{
  GtkWidget *scrolled = gtk_scrolled_window_new ();
  GtkWidget *verdicts = gtk_grid_new ();
  GtkWidget *pump_name;

  self->cells = g_ptr_array_new_with_free_func (cell_free);
  self->box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 0);
  gtk_widget_set_parent (self->box, GTK_WIDGET (self));
  self->cells_box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 0);
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (scrolled), GTK_POLICY_AUTOMATIC, GTK_POLICY_NEVER);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), self->cells_box);
  gtk_scrollable_set_hscroll_policy (GTK_SCROLLABLE (gtk_scrolled_window_get_child (GTK_SCROLLED_WINDOW (scrolled))), GTK_SCROLL_NATURAL);
  gtk_widget_set_hexpand (scrolled, TRUE);
  self->scroll = gtk_scrolled_window_get_hadjustment (GTK_SCROLLED_WINDOW (scrolled));
  g_signal_connect_object (self->scroll, "changed", G_CALLBACK (scroll_changed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->scroll, "value-changed", G_CALLBACK (scroll_changed_cb), self, G_CONNECT_SWAPPED);
  gtk_box_append (GTK_BOX (self->box), scrolled);
  gtk_box_append (GTK_BOX (self->box), gtk_separator_new (GTK_ORIENTATION_VERTICAL));

  gtk_widget_add_css_class (verdicts, "ef-figure");
  gtk_widget_set_valign (verdicts, GTK_ALIGN_CENTER);
  gtk_grid_set_column_spacing (GTK_GRID (verdicts), 10);
  gtk_grid_set_row_spacing (GTK_GRID (verdicts), 6);
  add_verdict (self, GTK_GRID (verdicts), 0, &self->part_name, &self->part_badge, "");
  add_verdict (self, GTK_GRID (verdicts), 1, &pump_name, &self->pump_badge, _("Whole pump"));
  self->busy = g_object_new (GTK_TYPE_LABEL, "label", _("working it out…"), "xalign", 0.0f, "opacity", 0.0, NULL);
  gtk_widget_add_css_class (self->busy, "caption");
  gtk_widget_add_css_class (self->busy, "dim-label");
  gtk_grid_attach (GTK_GRID (verdicts), self->busy, 0, 2, 2, 1);
  gtk_box_append (GTK_BOX (self->box), verdicts);
}

GtkWidget *
ef_figure_strip_new (EfSession *session)
{
  EfFigureStrip *self = g_object_new (EF_TYPE_FIGURE_STRIP, NULL);

  self->session = g_object_ref (session);
  self->session_signals = g_signal_group_new (EF_TYPE_SESSION);
  g_signal_group_connect_swapped (self->session_signals, "notify::face", G_CALLBACK (refresh), self);
  g_signal_group_connect_swapped (self->session_signals, "notify::part", G_CALLBACK (refresh), self);
  g_signal_group_connect_swapped (self->session_signals, "assessed", G_CALLBACK (refresh), self);
  g_signal_group_connect_swapped (self->session_signals, "notify::busy", G_CALLBACK (busy_cb), self);
  g_signal_group_set_target (self->session_signals, session);
  g_signal_connect_object (ef_settings_get (), "changed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, _("Figures and verdict"), -1);
  refresh (self);
  busy_cb (self);
  return GTK_WIDGET (self);
}

guint
ef_figure_strip_length (EfFigureStrip *self)
{
  return self->cells->len;
}

const char *
ef_figure_strip_text (EfFigureStrip *self,
                      guint i)
{
  return i < self->cells->len ? ((Cell *) g_ptr_array_index (self->cells, i))->text : NULL;
}

int
ef_figure_strip_pump_verdict (EfFigureStrip *self)
{
  return ef_verdict_badge_word (EF_VERDICT_BADGE (self->pump_badge));
}

int
ef_figure_strip_part_verdict (EfFigureStrip *self)
{
  return ef_verdict_badge_word (EF_VERDICT_BADGE (self->part_badge));
}
