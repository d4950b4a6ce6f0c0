/* The lapping plan on screen.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-plan-view.h"
#include "ef-look.h"
#include "ef-settings.h"
#include "ef-window.h"

#include "../draw/ef-draw-plan.h"

#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

#define CURVE_WIDTH 380
#define CURVE_HEIGHT 240
#define SHARE_WIDTH 72
#define SHARE_HEIGHT 14

struct _EfPlanView
{
  GtkBox parent_instance;

  GtkStack *stack;
  AdwStatusPage *none;
  GtkWidget *to_readings;
  GtkLabel *sentence, *note;
  GtkBox *conflicts;
  GtkGrid *table;
  GtkWidget *clearance, *bars;
  GtkWidget *options_box, *curves_box;
  GtkFlowBox *options, *curves;

  EfSession *session;
  EfAssessment *shown;  /* held: what the pictures are drawn from */
  GPtrArray *rows;      /* EfPlanRow * */
  GPtrArray *bar_rows;  /* EfPlanBar * */
  char *print;          /* what was laid out last */
};

G_DEFINE_FINAL_TYPE (EfPlanView, ef_plan_view, GTK_TYPE_BOX)

static EfUnit
unit (void)
{
  return ef_settings_length_unit ();
}

static GtkWidget *
text_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

static void
clear (GtkWidget *box)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (box)) != NULL)
    {
      if (GTK_IS_FLOW_BOX (box))
        gtk_flow_box_remove (GTK_FLOW_BOX (box), child);
      else if (GTK_IS_GRID (box))
        gtk_grid_remove (GTK_GRID (box), child);
      else
        gtk_box_remove (GTK_BOX (box), child);
    }
}

/* --- The table ----------------------------------------------------------------------------------------------------------- */

static void
face_cb (EfPlanView *self,
         GtkWidget *button)
{
  GtkRoot *root = gtk_widget_get_root (GTK_WIDGET (self));

  ef_session_select_face (self->session, g_object_get_data (G_OBJECT (button), "ef-face"));
  if (EF_IS_WINDOW (root))
    ef_window_show_page (EF_WINDOW (root), "map");
}

static GtkWidget *
face_button (EfPlanView *self,
             const EfPlanRow *row)
{
  GtkWidget *button = gtk_button_new ();
  g_autofree char *name = g_strdup_printf (_ ("Show on the map: %s"), row->name);

  gtk_button_set_child (GTK_BUTTON (button), text_label (row->name, "ef-plan-face"));
  gtk_button_set_has_frame (GTK_BUTTON (button), FALSE);
  gtk_widget_set_hexpand (button, TRUE);
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_tooltip_text (button, _ ("Show this face on the map"));
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  g_object_set_data_full (G_OBJECT (button), "ef-face", g_strdup (row->face_id), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (face_cb), self, G_CONNECT_SWAPPED);
  return button;
}

static char *
found_to (double found,
          double allowed)
{
  g_autofree char *left = ef_settings_format_length (found);
  g_autofree char *right = ef_settings_format_length (allowed);

  return isnan (allowed) ? g_steal_pointer (&left) : g_strdup_printf ("%s → %s", left, right);
}

static char *
stock_text (const EfPlanRow *row)
{
  g_autofree char *least = ef_settings_format_length (row->least);
  g_autofree char *bound = ef_settings_format_length (row->bound);

  return row->bound > 0 ? g_strdup_printf (_ ("%s to %s"), least, bound) : g_strdup (_ ("not to be lapped"));
}

static char *
removal_text (const EfPlanRow *row)
{
  return row->failed ? g_strdup (_ ("can't clean up")) : ef_settings_format_length (row->removal);
}

static const EfPlanRow *
find_row (EfPlanView *self,
          const char *face_id)
{
  guint i;

  for (i = 0; self->rows != NULL && i < self->rows->len; i++)
    if (g_str_equal (((const EfPlanRow *) g_ptr_array_index (self->rows, i))->face_id, face_id))
      return g_ptr_array_index (self->rows, i);
  return NULL;
}

static void
draw_share_cb (GtkDrawingArea *area,
               cairo_t *cr,
               int width,
               int height,
               gpointer user_data)
{
  const EfPlanRow *row = find_row (user_data, g_object_get_data (G_OBJECT (area), "ef-face"));
  EfDrawStyle style;

  ef_look_style (&style);
  if (row != NULL)
    ef_draw_plan_share (cr, &style, row, width, height);
}

static GtkWidget *
picture_of (EfPlanView *self,
            const EfPlanRow *row,
            GtkDrawingAreaDrawFunc draw,
            const char *name,
            int width,
            int height)
{
  GtkWidget *area = gtk_drawing_area_new ();

  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (area), width);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (area), height);
  g_object_set_data_full (G_OBJECT (area), "ef-face", g_strdup (row->face_id), g_free);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (area), draw, self, NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (area), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  ef_look_follow (area);
  return area;
}

static GtkWidget *
share_cell (EfPlanView *self,
            const EfPlanRow *row)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  g_autofree char *text = row->bound > 0 ? g_strdup_printf ("%.0f %%", 100 * row->removal / row->bound) : g_strdup ("–");
  g_autofree char *name = g_strdup_printf (_ ("%s of the stock of this face"), text);
  GtkWidget *area = picture_of (self, row, draw_share_cb, name, SHARE_WIDTH, SHARE_HEIGHT);
  GtkWidget *label = text_label (text, "numeric");

  gtk_widget_set_valign (area, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (box, "ef-table-cell");
  gtk_box_append (GTK_BOX (box), area);
  gtk_label_set_wrap (GTK_LABEL (label), FALSE);
  gtk_box_append (GTK_BOX (box), label);
  return box;
}

static const char *const heads[] = { N_ ("Face"), N_ ("Wear found → may stay"), N_ ("Flatness found → allowed"), N_ ("Must, may come off"), N_ ("Comes off"), N_ ("Of its stock"), N_ ("Passes") };

static void
attach_text (EfPlanView *self,
             const char *text,
             int column,
             int line,
             gboolean strong)
{
  GtkWidget *label = text_label (text, "ef-table-cell");

  if (line > 0)
    gtk_widget_add_css_class (label, "numeric");
  if (strong)
    gtk_widget_add_css_class (label, "heading");
  gtk_grid_attach (self->table, label, column, line, 1, 1);
}

static void
attach_row (EfPlanView *self,
            const EfPlanRow *row,
            int line)
{
  g_autofree char *wear = found_to (row->wear, row->residual);
  g_autofree char *flatness = found_to (row->flatness, row->flatness_allowed);
  g_autofree char *stock = stock_text (row);
  g_autofree char *removal = removal_text (row);

  gtk_grid_attach (self->table, face_button (self, row), 0, line, 1, 1);
  attach_text (self, wear, 1, line, FALSE);
  attach_text (self, flatness, 2, line, FALSE);
  attach_text (self, stock, 3, line, FALSE);
  attach_text (self, removal, 4, line, TRUE);
  gtk_grid_attach (self->table, share_cell (self, row), 5, line, 1, 1);
  attach_text (self, row->passes, 6, line, FALSE);
}

static void
fill_table (EfPlanView *self)
{
  guint i;

  clear (GTK_WIDGET (self->table));
  gtk_widget_set_visible (GTK_WIDGET (self->table), self->rows->len > 0);
  for (i = 0; i < G_N_ELEMENTS (heads); i++)
    attach_text (self, _ (heads[i]), (int) i, 0, TRUE);
  for (i = 0; i < self->rows->len; i++)
    attach_row (self, g_ptr_array_index (self->rows, i), (int) i + 1);
}

char *
ef_plan_view_text (EfPlanView *self)
{
  GString *text = g_string_new (NULL);
  guint i;

  for (i = 0; self->rows != NULL && i < self->rows->len; i++)
    {
      const EfPlanRow *row = g_ptr_array_index (self->rows, i);
      g_autofree char *removal = removal_text (row);
      g_autofree char *land = ef_plan_land_words (row, unit ());

      g_string_append_printf (text, "%s: %s, %s\n%s%s", row->face_id, removal, row->passes, land != NULL ? land : "", land != NULL ? "\n" : "");
    }
  return g_string_free (text, FALSE);
}

/* --- End clearance -------------------------------------------------------------------------------------------------------- */

static void
draw_bars_cb (GtkDrawingArea *area,
              cairo_t *cr,
              int width,
              int height,
              gpointer user_data)
{
  EfPlanView *self = user_data;
  EfDrawStyle style;

  ef_look_style (&style);
  if (self->bar_rows != NULL)
    ef_draw_plan_bars (cr, &style, self->bar_rows, unit (), width, height);
}

static void
fit_bars (EfPlanView *self)
{
  int width = gtk_widget_get_width (self->bars);
  EfDrawStyle style;

  if (self->bar_rows == NULL)
    return;
  ef_look_style (&style);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->bars), (int) ceil (ef_draw_plan_bars_height (&style, self->bar_rows, width > 0 ? width : 1100)));
}

static void
fill_bars (EfPlanView *self)
{
  GString *words = g_string_new (NULL);
  guint i;

  for (i = 0; i < self->bar_rows->len; i++)
    {
      g_autofree char *one = ef_plan_bar_words (g_ptr_array_index (self->bar_rows, i), unit ());

      g_string_append_printf (words, "%s%s", i > 0 ? "\n" : "", one);
    }
  gtk_widget_set_visible (self->clearance, self->bar_rows->len > 0);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->bars), GTK_ACCESSIBLE_PROPERTY_LABEL, words->str, -1);
  gtk_widget_set_tooltip_text (self->bars, words->str);
  g_string_free (words, TRUE);
  fit_bars (self);
  gtk_widget_queue_draw (self->bars);
}

/* --- Curves -------------------------------------------------------------------------------------------------------------------- */

static EfDepthMap *
map_of (EfPlanView *self,
        const char *face_id)
{
  EfDepthMap *map = g_hash_table_lookup (self->shown->findings.maps, face_id);

  return map != NULL && ef_draw_depth_deepest (map) > 0 ? map : NULL;
}

static void
draw_curve_cb (GtkDrawingArea *area,
               cairo_t *cr,
               int width,
               int height,
               gpointer user_data)
{
  EfPlanView *self = user_data;
  const EfPlanRow *row = find_row (self, g_object_get_data (G_OBJECT (area), "ef-face"));
  EfDrawStyle style;

  ef_look_style (&style);
  if (row != NULL && self->shown != NULL)
    ef_draw_plan_curve (cr, &style, map_of (self, row->face_id), row, unit (), width, height);
}

static void
append_curve (EfPlanView *self,
              const EfPlanRow *row)
{
  double scale = MIN (ef_look_text_scale (), 1.6);
  GtkWidget *card = gtk_box_new (GTK_ORIENTATION_VERTICAL, 8);
  g_autofree char *words = ef_draw_plan_curve_words (map_of (self, row->face_id), row, unit ());
  GtkWidget *area = picture_of (self, row, draw_curve_cb, words, (int) (CURVE_WIDTH * scale), (int) (CURVE_HEIGHT * scale));

  gtk_widget_add_css_class (card, "card");
  gtk_widget_add_css_class (card, "ef-group");
  gtk_widget_set_hexpand (area, TRUE);
  gtk_widget_set_tooltip_text (area, words);
  gtk_box_append (GTK_BOX (card), text_label (row->name, "heading"));
  gtk_box_append (GTK_BOX (card), area);
  if (row->land != NULL)
    {
      g_autofree char *land = ef_plan_land_words (row, unit ());

      gtk_box_append (GTK_BOX (card), text_label (land, "ef-small"));
    }
  gtk_flow_box_append (self->curves, card);
  gtk_widget_set_focusable (gtk_widget_get_last_child (GTK_WIDGET (self->curves)), FALSE);
}

static void
fill_curves (EfPlanView *self)
{
  gboolean any = FALSE;
  guint i;

  clear (GTK_WIDGET (self->curves));
  for (i = 0; i < self->rows->len; i++)
    {
      const EfPlanRow *row = g_ptr_array_index (self->rows, i);

      if (map_of (self, row->face_id) == NULL)
        continue;
      append_curve (self, row);
      any = TRUE;
    }
  gtk_widget_set_visible (self->curves_box, any);
}

/* --- Alternatives ------------------------------------------------------------------------------------------------------------- */

void
ef_plan_view_choose (EfPlanView *self,
                     const char *option)
{
  EfJobHeader *before = (EfJobHeader *) ef_inspection_header (ef_document_inspection (ef_session_document (self->session)));
  const char *goal = g_str_equal (option, "recommended") ? NULL : option;
  g_autoptr (EfItem) item = NULL;
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = NULL;
  const char *words = option;
  guint i;

  if (before == NULL || g_strcmp0 (before->plan_goal, goal) == 0)
    return;
  for (i = 0; self->shown != NULL && i < self->shown->plan->options->len; i++)
    if (g_str_equal (((const EfLapOption *) g_ptr_array_index (self->shown->plan->options, i))->id, option))
      words = ((const EfLapOption *) g_ptr_array_index (self->shown->plan->options, i))->label;
  item = ef_item_copy (before);
  g_free (((EfJobHeader *) item)->plan_goal);
  ((EfJobHeader *) item)->plan_goal = g_strdup (goal);
  label = g_strdup_printf (_ ("Lapping plan: %s"), words);
  change = ef_change_new (label);
  ef_change_add (change, before, item);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
choose_cb (EfPlanView *self,
           GtkWidget *button)
{
  g_autofree char *option = g_strdup (g_object_get_data (G_OBJECT (button), "ef-option"));

  ef_plan_view_choose (self, option);
}

/* Wraps early, so that cards stand side by side. */
static GtkWidget *
narrow_label (const char *text,
              const char *css_class)
{
  GtkWidget *label = text_label (text, css_class);

  gtk_label_set_width_chars (GTK_LABEL (label), 22);
  gtk_label_set_max_width_chars (GTK_LABEL (label), 28);
  return label;
}

static void
append_fact (GtkWidget *card,
             const char *name,
             const char *value)
{
  g_autofree char *text = g_strdup_printf (_ ("%s: %s"), name, value);

  gtk_box_append (GTK_BOX (card), narrow_label (text, NULL));
}

static GtkWidget *
choose_button (EfPlanView *self,
               const EfLapOption *option,
               gboolean chosen)
{
  GtkWidget *button = gtk_button_new_with_label (chosen ? _ ("Chosen") : _ ("Choose"));
  g_autofree char *name = g_strdup_printf (chosen ? _ ("Chosen: %s") : _ ("Choose: %s"), option->label);

  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_valign (button, GTK_ALIGN_END);
  gtk_widget_set_vexpand (button, TRUE);
  gtk_widget_set_halign (button, GTK_ALIGN_START);
  gtk_widget_set_sensitive (button, !chosen && !ef_session_read_only (self->session));
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  g_object_set_data_full (G_OBJECT (button), "ef-option", g_strdup (option->id), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (choose_cb), self, G_CONNECT_SWAPPED);
  return button;
}

static void
append_option (EfPlanView *self,
               const EfLapOption *option,
               gboolean chosen)
{
  GtkWidget *card = gtk_box_new (GTK_ORIENTATION_VERTICAL, 4);
  g_autofree char *passes = ef_plan_passes (option) > 0 ? g_strdup_printf ("%u", ef_plan_passes (option)) : g_strdup ("–");
  g_autofree char *stock = ef_settings_format_length (ef_plan_stock (option));
  g_autofree char *clearances = ef_plan_clearances (self->shown, option, unit ());

  gtk_widget_add_css_class (card, "card");
  gtk_widget_add_css_class (card, "ef-group");
  if (chosen)
    gtk_widget_add_css_class (card, "ef-chosen");
  gtk_box_append (GTK_BOX (card), narrow_label (option->label, "heading"));
  gtk_box_append (GTK_BOX (card), narrow_label (ef_plan_level_words (option->level), "ef-small"));
  append_fact (card, _ ("Passes in all"), passes);
  append_fact (card, _ ("Comes off in all"), stock);
  append_fact (card, _ ("End clearance after"), clearances);
  gtk_box_append (GTK_BOX (card), choose_button (self, option, chosen));
  gtk_flow_box_append (self->options, card);
  gtk_widget_set_focusable (gtk_widget_get_last_child (GTK_WIDGET (self->options)), FALSE);
}

static void
fill_options (EfPlanView *self)
{
  GPtrArray *options = self->shown->plan->options;
  const EfLapOption *chosen = ef_plan_option (self->shown);
  guint i;

  clear (GTK_WIDGET (self->options));
  gtk_flow_box_set_max_children_per_line (self->options, MAX (options->len, 1));
  for (i = 0; i < options->len && options->len > 1; i++)
    append_option (self, g_ptr_array_index (options, i), g_ptr_array_index (options, i) == chosen);
  gtk_widget_set_visible (self->options_box, options->len > 1);
}

/* --- Why not ------------------------------------------------------------------------------------------------------------------- */

static gboolean
is_any_lapped (EfPlanView *self)
{
  guint i;

  for (i = 0; i < self->rows->len; i++)
    if (((const EfPlanRow *) g_ptr_array_index (self->rows, i))->removal > 1e-9)
      return TRUE;
  return FALSE;
}

static void
fill_conflicts (EfPlanView *self)
{
  GPtrArray *conflicts = self->shown->plan->conflicts;
  gboolean any = ef_plan_state (self->shown) == EF_PLAN_PARTLY && conflicts != NULL && conflicts->len > 0;
  guint i;

  clear (GTK_WIDGET (self->conflicts));
  gtk_widget_set_visible (GTK_WIDGET (self->conflicts), any);
  if (!any)
    return;
  gtk_box_append (self->conflicts, text_label (conflicts->len > 1 ? _ ("These limits can't all be kept; without any one of them the others could be:") : _ ("This limit can't be kept:"), "heading"));
  for (i = 0; i < conflicts->len; i++)
    {
      const EfLapConflict *conflict = g_ptr_array_index (conflicts, i);
      g_autofree char *shortfall = ef_plan_shortfall (conflict, unit ());
      g_autofree char *text = g_strdup_printf ("%u. %s %s.", i + 1, conflict->sentence, shortfall);

      gtk_box_append (self->conflicts, text_label (text, NULL));
    }
  if (is_any_lapped (self))
    gtk_box_append (self->conflicts, text_label (_ ("Below: what can be done all the same."), NULL));
}

/* --- Following ------------------------------------------------------------------------------------------------------------------ */

static void
show_none (EfPlanView *self,
           EfPlanState state)
{
  g_autofree char *sentence = ef_plan_sentence (self->shown, unit ());

  adw_status_page_set_title (self->none, state == EF_PLAN_UNMEASURED ? _ ("No plan yet") : _ ("Nothing to lap"));
  adw_status_page_set_description (self->none, sentence);
  gtk_widget_set_visible (self->to_readings, state == EF_PLAN_UNMEASURED);
  gtk_stack_set_visible_child_name (self->stack, "none");
}

/* What the layout depends on, so that nothing moves under the pointer when a finer answer is the same. */
static char *
fingerprint (EfPlanView *self)
{
  GString *print = g_string_new (NULL);
  const EfLapOption *chosen = ef_plan_option (self->shown);
  guint i;

  g_string_append_printf (print, "%d %d %s\n", (int) ef_plan_state (self->shown), (int) unit (), chosen != NULL ? chosen->id : "");
  for (i = 0; i < self->rows->len; i++)
    {
      const EfPlanRow *row = g_ptr_array_index (self->rows, i);

      g_string_append_printf (print, "%s %.8g %.8g %.8g %.8g %.8g %p %p %s\n", row->face_id, row->wear, row->flatness, row->least, row->bound, row->removal,
                              (gpointer) map_of (self, row->face_id), (gpointer) row->land, row->passes);
    }
  for (i = 0; i < self->bar_rows->len; i++)
    {
      const EfPlanBar *bar = g_ptr_array_index (self->bar_rows, i);

      g_string_append_printf (print, "%.8g %.8g %.8g %.8g\n", bar->found, bar->after, bar->uncertainty, bar->guard_max);
    }
  for (i = 0; i < self->shown->plan->options->len; i++)
    {
      const EfLapOption *option = g_ptr_array_index (self->shown->plan->options, i);

      g_string_append_printf (print, "%s %u %.8g\n", option->id, ef_plan_passes (option), ef_plan_stock (option));
    }
  if (self->shown->plan->reason != NULL)
    g_string_append (print, self->shown->plan->reason);
  return g_string_free (print, FALSE);
}

static void
fill_plan (EfPlanView *self)
{
  g_autofree char *sentence = ef_plan_sentence (self->shown, unit ());
  g_autofree char *note = ef_plan_note (self->shown);

  gtk_label_set_label (self->sentence, sentence);
  gtk_label_set_label (self->note, note != NULL ? note : "");
  gtk_widget_set_visible (GTK_WIDGET (self->note), note != NULL);
  fill_conflicts (self);
  fill_table (self);
  fill_bars (self);
  fill_options (self);
  fill_curves (self);
}

static void
assessed_cb (EfPlanView *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  const EfLapOption *option;
  EfPlanState state;
  g_autofree char *print = NULL;

  if (assessment == NULL || assessment->plan == NULL)
    return;
  ef_assessment_ref (assessment);
  g_clear_pointer (&self->shown, ef_assessment_unref);
  self->shown = assessment;
  option = ef_plan_option (assessment);
  g_clear_pointer (&self->rows, g_ptr_array_unref);
  g_clear_pointer (&self->bar_rows, g_ptr_array_unref);
  self->rows = ef_plan_rows (assessment, option);
  self->bar_rows = ef_plan_bars (assessment, option);
  state = ef_plan_state (assessment);
  print = fingerprint (self);
  if (state == EF_PLAN_NOTHING || state == EF_PLAN_UNMEASURED)
    {
      show_none (self, state);
      g_clear_pointer (&self->print, g_free);
      return;
    }
  gtk_stack_set_visible_child_name (self->stack, "plan");
  if (g_strcmp0 (print, self->print) == 0)
    return;
  g_free (self->print);
  self->print = g_steal_pointer (&print);
  fill_plan (self);
}

static void
settings_cb (EfPlanView *self)
{
  g_clear_pointer (&self->print, g_free);
  assessed_cb (self);
}

static void
to_readings_cb (EfPlanView *self)
{
  GtkRoot *root = gtk_widget_get_root (GTK_WIDGET (self));

  if (EF_IS_WINDOW (root))
    ef_window_show_page (EF_WINDOW (root), "readings");
}

static void
ef_plan_view_dispose (GObject *object)
{
  EfPlanView *self = EF_PLAN_VIEW (object);

  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_PLAN_VIEW);
  g_clear_pointer (&self->rows, g_ptr_array_unref);
  g_clear_pointer (&self->bar_rows, g_ptr_array_unref);
  g_clear_pointer (&self->shown, ef_assessment_unref);
  g_clear_pointer (&self->print, g_free);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_plan_view_parent_class)->dispose (object);
}

static void
ef_plan_view_class_init (EfPlanViewClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_plan_view_dispose;
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/plan-view.ui");
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, stack);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, none);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, to_readings);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, sentence);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, note);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, conflicts);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, table);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, clearance);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, bars);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, options_box);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, options);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, curves_box);
  gtk_widget_class_bind_template_child (widget_class, EfPlanView, curves);
  gtk_widget_class_bind_template_callback (widget_class, to_readings_cb);
}

static void
ef_plan_view_init (EfPlanView *self)
{
  gtk_widget_init_template (GTK_WIDGET (self));
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->bars), draw_bars_cb, self, NULL);
  g_signal_connect_object (self->bars, "resize", G_CALLBACK (fit_bars), self, G_CONNECT_SWAPPED);
  ef_look_follow (self->bars);
}

GtkWidget *
ef_plan_view_new (EfSession *session)
{
  EfPlanView *self = g_object_new (EF_TYPE_PLAN_VIEW, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed", G_CALLBACK (settings_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (gtk_settings_get_default (), "notify::gtk-xft-dpi", G_CALLBACK (settings_cb), self, G_CONNECT_SWAPPED);
  assessed_cb (self);
  return GTK_WIDGET (self);
}
