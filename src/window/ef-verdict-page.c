/* Tree at the left, reasons at the right.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-verdict-page.h"
#include "ef-bench-plan.h"
#include "ef-blame-card.h"
#include "ef-cross-list.h"
#include "ef-flow-view.h"
#include "ef-gauge-dialog.h"
#include "ef-look.h"
#include "ef-missing-bar.h"
#include "ef-who-ask.h"
#include "ef-override-dialog.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"
#include "ef-verdict-node.h"
#include "ef-why-panel.h"
#include "ef-window.h"

#include "../draw/ef-draw-sure.h"

#include <glib/gi18n.h>
#include <math.h>

/* A reason about forty marks needs no forty buttons; the tree has them all. */
#define MOST_REFS 6
#define WHY_WIDTH 340

struct _EfVerdictPage
{
  GtkBox parent_instance;

  EfMissingBar *missing;
  GtkStack *stack;
  GtkListView *tree;
  GtkBox *detail;
  GtkScrolledWindow *scrolled;
  GtkBox *top;
  GtkBox *columns; /* tree, detail, why */
  GtkStack *views;
  GtkWidget *cross;
  GtkWidget *before; /* under which other rules it was judged before */
  GtkWidget *why;

  EfSession *session;
  GtkTreeListModel *rows;
  GtkSingleSelection *selection;
  GHashTable *opened; /* ids of the nodes whose children are shown; NULL before the first time */
  char *selected; /* id of the node shown at the right */
  char *shown;    /* what the tree said when it was last laid out */
  char *why_node, *why_rule, *why_sentence; /* which reason's chain is open */
  gboolean filling;
};

G_DEFINE_FINAL_TYPE (EfVerdictPage, ef_verdict_page, GTK_TYPE_BOX)

/* Tree rows: expander, title, glyph and word. */

static void
setup_row_cb (GtkSignalListItemFactory *factory,
              GtkListItem *item)
{
  GtkWidget *expander = gtk_tree_expander_new ();
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *title = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "hexpand", TRUE, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  gtk_box_append (GTK_BOX (box), title);
  gtk_box_append (GTK_BOX (box), ef_verdict_badge_new ());
  gtk_tree_expander_set_child (GTK_TREE_EXPANDER (expander), box);
  gtk_list_item_set_child (item, expander);
}

static void
bind_row_cb (GtkSignalListItemFactory *factory,
             GtkListItem *item)
{
  GtkTreeListRow *row = gtk_list_item_get_item (item);
  GtkTreeExpander *expander = GTK_TREE_EXPANDER (gtk_list_item_get_child (item));
  GtkWidget *box = gtk_tree_expander_get_child (expander);
  GtkWidget *title = gtk_widget_get_first_child (box);
  g_autoptr (EfVerdictNode) node = EF_VERDICT_NODE (gtk_tree_list_row_get_item (row));
  const EfVerdict *verdict = ef_verdict_node_verdict (node);
  g_autofree char *name = g_strdup_printf (_ ("%s: %s"), verdict->title, ef_verdict_shown (verdict->word));
  GtkWidget *cell = gtk_widget_get_parent (GTK_WIDGET (expander));

  gtk_tree_expander_set_list_row (expander, row);
  gtk_label_set_label (GTK_LABEL (title), verdict->title);
  if (verdict->level == EF_LEVEL_PUMP || verdict->level == EF_LEVEL_SECTION)
    gtk_widget_add_css_class (title, "heading");
  else
    gtk_widget_remove_css_class (title, "heading");
  ef_verdict_badge_set (EF_VERDICT_BADGE (gtk_widget_get_last_child (box)), verdict->word);
  if (cell != NULL)
    gtk_accessible_update_property (GTK_ACCESSIBLE (cell), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
}

static void
unbind_row_cb (GtkSignalListItemFactory *factory,
               GtkListItem *item)
{
  gtk_tree_expander_set_list_row (GTK_TREE_EXPANDER (gtk_list_item_get_child (item)), NULL);
}

static GListModel *
children_of (gpointer item,
             gpointer user_data)
{
  return ef_verdict_node_children (item);
}

/* The chosen verdict. */

static void
show_mark (EfVerdictPage *self,
           const char *mark)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  ef_session_select_mark (self->session, mark);
  if (window != NULL)
    ef_window_show_page (window, "map");
}

static void
show_reading (EfVerdictPage *self,
              const char *id)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const EfReading *reading = ef_inspection_find (inspection, EF_ITEM_READING, id);
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  if (reading != NULL && window != NULL)
    ef_window_show_reading (window, reading);
}

static void
show_gauge (EfVerdictPage *self,
            const char *id)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const EfGauge *gauge = ef_inspection_find (inspection, EF_ITEM_GAUGE, id);

  if (gauge != NULL)
    ef_gauge_dialog_show (GTK_WIDGET (self), self->session, gauge);
}

/* "mark:ID", "reading:ID", "gauge:ID", "verdict:NODE". */
static void
follow_cb (EfVerdictPage *self,
           const char *ref)
{
  if (g_str_has_prefix (ref, "mark:"))
    show_mark (self, ref + strlen ("mark:"));
  else if (g_str_has_prefix (ref, "reading:"))
    show_reading (self, ref + strlen ("reading:"));
  else if (g_str_has_prefix (ref, "gauge:"))
    show_gauge (self, ref + strlen ("gauge:"));
  else if (g_str_has_prefix (ref, "verdict:"))
    ef_verdict_page_select (self, ref + strlen ("verdict:"));
}

static void
show_mark_cb (EfVerdictPage *self,
              GtkWidget *button)
{
  show_mark (self, g_object_get_data (G_OBJECT (button), "ef-mark"));
}

static void
show_readings_cb (EfVerdictPage *self,
                  GtkWidget *button)
{
  show_reading (self, g_object_get_data (G_OBJECT (button), "ef-reading"));
}

/* Why: the chain of one reason beside it. */

static gboolean
is_why (EfVerdictPage *self,
        const EfVerdict *node,
        const EfReason *reason)
{
  return g_strcmp0 (self->why_node, node->id) == 0 && g_strcmp0 (self->why_rule, reason->rule) == 0
         && g_strcmp0 (self->why_sentence, reason->sentence) == 0;
}

static void
forget_why (EfVerdictPage *self)
{
  g_clear_pointer (&self->why_node, g_free);
  g_clear_pointer (&self->why_rule, g_free);
  g_clear_pointer (&self->why_sentence, g_free);
}

static gboolean
is_why_button (GtkWidget *widget)
{
  return g_object_get_data (G_OBJECT (widget), "ef-reason") != NULL;
}

/* The button that opened the chain gets the keyboard back. */
static void
focus_why_button (EfVerdictPage *self)
{
  for (GtkWidget *card = gtk_widget_get_first_child (GTK_WIDGET (self->detail)); card != NULL; card = gtk_widget_get_next_sibling (card))
    {
      GtkWidget *head = gtk_widget_get_first_child (card);
      GtkWidget *button = head != NULL ? gtk_widget_get_last_child (head) : NULL;

      if (button != NULL && is_why_button (button) && g_strcmp0 (g_object_get_data (G_OBJECT (button), "ef-reason"), self->why_sentence) == 0)
        {
          gtk_widget_grab_focus (button);
          return;
        }
    }
}

static void
close_why_cb (EfVerdictPage *self)
{
  if (!gtk_widget_get_visible (self->why))
    return;
  focus_why_button (self);
  gtk_widget_set_visible (self->why, FALSE);
  forget_why (self);
}

/* The reason that is told may be gone after a change. */
static void
renew_why (EfVerdictPage *self,
           const EfAssessment *assessment)
{
  const EfVerdict *node = self->why_node != NULL ? ef_verdict_find (assessment->verdict, self->why_node) : NULL;

  for (guint i = 0; node != NULL && i < node->reasons->len; i++)
    if (is_why (self, node, node->reasons->pdata[i]))
      {
        ef_why_panel_show (EF_WHY_PANEL (self->why), assessment, node, node->reasons->pdata[i]);
        return;
      }
  gtk_widget_set_visible (self->why, FALSE);
  forget_why (self);
}

static void
why_cb (EfVerdictPage *self,
        GtkWidget *button)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  const EfVerdict *node = assessment != NULL ? ef_verdict_find (assessment->verdict, self->selected) : NULL;
  const char *sentence = g_object_get_data (G_OBJECT (button), "ef-reason");

  for (guint i = 0; node != NULL && i < node->reasons->len; i++)
    {
      const EfReason *reason = node->reasons->pdata[i];

      if (g_strcmp0 (reason->sentence, sentence) != 0)
        continue;
      forget_why (self);
      self->why_node = g_strdup (node->id);
      self->why_rule = g_strdup (reason->rule);
      self->why_sentence = g_strdup (reason->sentence);
      ef_why_panel_show (EF_WHY_PANEL (self->why), assessment, node, reason);
      gtk_widget_set_visible (self->why, TRUE);
      gtk_widget_child_focus (self->why, GTK_DIR_TAB_FORWARD);
      return;
    }
}

static void
override_cb (EfVerdictPage *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  const EfVerdict *verdict = assessment != NULL ? ef_verdict_find (assessment->verdict, self->selected) : NULL;

  if (verdict != NULL)
    ef_override_dialog_show (GTK_WIDGET (self), self->session, verdict);
}

static gboolean
remove_override (gpointer owner,
                 const char *role,
                 const char *reason)
{
  EfVerdictPage *self = owner;
  EfAssessment *assessment = ef_session_assessment (self->session);
  const EfVerdict *verdict = assessment != NULL ? ef_verdict_find (assessment->verdict, self->selected) : NULL;

  if (verdict != NULL)
    ef_override_remove (self->session, verdict->id, verdict->title);
  return TRUE;
}

static void
remove_override_cb (EfVerdictPage *self)
{
  ef_who_ask (GTK_WIDGET (self), ef_session_store (self->session), EF_ACT_OVERRIDE, _ ("Back to the Computed Verdict"), _ ("_Take Back"), NULL, remove_override, G_OBJECT (self));
}

static GtkWidget *
text_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR,
                                   "selectable", TRUE, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

static GtkWidget *
touch_button (const char *label)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  return button;
}

static char *
figures_text (const EfReason *reason)
{
  g_autofree char *value = NULL;
  g_autofree char *limit = NULL;

  if (isnan (reason->value) || isnan (reason->limit))
    return NULL;
  value = ef_settings_format (reason->value, reason->unit);
  limit = ef_settings_format (reason->limit, reason->unit);
  return g_strdup_printf (reason->limit_assumed ? _ ("found %s, limit %s by default: the pump sheet gives none") : _ ("found %s, limit %s"), value, limit);
}

static GtkWidget *
mark_button (EfVerdictPage *self,
             const EfMark *mark)
{
  EfFaceChart *chart = ef_session_chart (self->session, mark->face_id);
  g_autofree char *label = g_strdup_printf (_ ("Mark %d"), mark->number);
  g_autofree char *tip = g_strdup_printf (_ ("Show mark %d on the face: %s"), mark->number, chart != NULL ? chart->name : mark->face_id);
  GtkWidget *button = touch_button (label);

  gtk_widget_set_tooltip_text (button, tip);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, tip, -1);
  g_object_set_data_full (G_OBJECT (button), "ef-mark", g_strdup (mark->item.id), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (show_mark_cb), self, G_CONNECT_SWAPPED);
  return button;
}

/* A button for each mark, at most a handful; one for the readings. */
static void
append_refs (EfVerdictPage *self,
             GtkWidget *card,
             const EfReason *reason)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  GtkWidget *flow = g_object_new (GTK_TYPE_FLOW_BOX, "selection-mode", GTK_SELECTION_NONE, "column-spacing", 6, "row-spacing", 6,
                                  "min-children-per-line", 2, "max-children-per-line", 6, NULL);
  gboolean reading_shown = FALSE;
  guint n = 0;
  guint i;

  for (i = 0; reason->refs != NULL && i < reason->refs->len && n < MOST_REFS; i++)
    {
      const char *ref = g_ptr_array_index (reason->refs, i);
      GtkWidget *button = NULL;

      if (g_str_has_prefix (ref, "mark:"))
        {
          const EfMark *mark = ef_inspection_find (inspection, EF_ITEM_MARK, ref + strlen ("mark:"));

          if (mark != NULL)
            button = mark_button (self, mark);
        }
      else if (g_str_has_prefix (ref, "reading:") && !reading_shown)
        {
          button = touch_button (_ ("Show the Readings"));
          reading_shown = TRUE;
          g_object_set_data_full (G_OBJECT (button), "ef-reading", g_strdup (ref + strlen ("reading:")), g_free);
          g_signal_connect_object (button, "clicked", G_CALLBACK (show_readings_cb), self, G_CONNECT_SWAPPED);
        }
      if (button == NULL)
        continue;
      gtk_flow_box_append (GTK_FLOW_BOX (flow), button);
      gtk_widget_set_focusable (gtk_widget_get_last_child (flow), FALSE);
      n++;
    }
  if (n > 0)
    gtk_box_append (GTK_BOX (card), flow);
  else
    g_object_unref (g_object_ref_sink (flow));
}

typedef struct
{
  EfReason *reason;
  EfDecisionRule decision;
} Sure;

static void
sure_free (gpointer data)
{
  Sure *sure = data;

  ef_reason_free (sure->reason);
  g_free (sure);
}

static void
draw_sure_cb (GtkDrawingArea *area,
              cairo_t *cr,
              int width,
              int height,
              gpointer user_data)
{
  const Sure *sure = user_data;
  EfDrawStyle style;

  ef_look_style (&style);
  ef_draw_sure (cr, &style, sure->reason, &sure->decision, width, height);
}

/* The value against its limit and guard band. */
static void
append_sure (EfVerdictPage *self,
             GtkWidget *card,
             const EfReason *reason)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  g_autofree char *words = NULL;
  GtkWidget *picture;
  EfDrawStyle style;
  Sure *sure;

  if (assessment == NULL || !ef_draw_sure_can (reason))
    return;
  sure = g_new0 (Sure, 1);
  sure->reason = ef_reason_copy (reason);
  sure->decision = assessment->decision;
  picture = gtk_drawing_area_new ();
  words = ef_draw_sure_words (reason, &assessment->decision);
  ef_look_style (&style);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (picture), (int) ceil (ef_draw_sure_height (&style)));
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (picture), draw_sure_cb, sure, sure_free);
  gtk_accessible_update_property (GTK_ACCESSIBLE (picture), GTK_ACCESSIBLE_PROPERTY_LABEL, words, -1);
  ef_look_follow (picture);
  gtk_box_append (GTK_BOX (card), picture);
}

static void
append_why (EfVerdictPage *self,
            GtkWidget *head,
            const EfReason *reason)
{
  GtkWidget *button = touch_button (_ ("Why?"));
  g_autofree char *name = g_strdup_printf (_ ("Why? %s"), reason->sentence);

  gtk_widget_set_halign (button, GTK_ALIGN_END);
  gtk_widget_set_tooltip_text (button, _ ("From this verdict to its rule, limit, readings and gauges"));
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  g_object_set_data_full (G_OBJECT (button), "ef-reason", g_strdup (reason->sentence), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (why_cb), self, G_CONNECT_SWAPPED);
  gtk_box_append (GTK_BOX (head), button);
}

static void
append_reason (EfVerdictPage *self,
               const EfReason *reason)
{
  GtkWidget *card = gtk_box_new (GTK_ORIENTATION_VERTICAL, 8);
  GtkWidget *head = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *badge = ef_verdict_badge_new ();
  g_autofree char *figures = figures_text (reason);
  g_autofree char *source = g_strdup_printf (_ ("Rule: %s. Source: %s."), reason->rule,
                                             reason->source != NULL ? reason->source : _ ("common practice, no source"));

  ef_verdict_badge_set (EF_VERDICT_BADGE (badge), reason->word);
  gtk_widget_add_css_class (card, "ef-group");
  gtk_widget_add_css_class (card, "card");
  gtk_widget_set_hexpand (badge, TRUE);
  gtk_box_append (GTK_BOX (head), badge);
  append_why (self, head, reason);
  gtk_box_append (GTK_BOX (card), head);
  gtk_box_append (GTK_BOX (card), text_label (reason->sentence, NULL));
  if (figures != NULL)
    gtk_box_append (GTK_BOX (card), text_label (figures, "numeric"));
  append_sure (self, card, reason);
  if (reason->advice != NULL && reason->advice[0] != '\0')
    gtk_box_append (GTK_BOX (card), text_label (reason->advice, NULL));
  gtk_box_append (GTK_BOX (card), text_label (source, "ef-small"));
  append_refs (self, card, reason);
  gtk_box_append (self->detail, card);
}

static GtkWidget *
append_override (EfVerdictPage *self,
                 const EfVerdict *verdict)
{
  GtkWidget *buttons = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *set = touch_button (verdict->override != NULL ? _ ("Change the Verdict…") : _ ("Set Another Verdict…"));

  if (verdict->override != NULL)
    {
      g_autofree char *text = g_strdup_printf (_ ("Set by hand (%s, %s): %s. Computed: %s."), verdict->override->role,
                                               verdict->override->time != NULL ? verdict->override->time : "–",
                                               verdict->override->reason, ef_verdict_shown (verdict->computed));
      GtkWidget *remove = touch_button (_ ("Back to the Computed Verdict"));

      gtk_box_append (self->detail, text_label (text, NULL));
      g_signal_connect_object (remove, "clicked", G_CALLBACK (remove_override_cb), self, G_CONNECT_SWAPPED);
      gtk_box_append (GTK_BOX (buttons), remove);
    }
  gtk_widget_set_name (set, "set-verdict");
  g_signal_connect_object (set, "clicked", G_CALLBACK (override_cb), self, G_CONNECT_SWAPPED);
  gtk_box_prepend (GTK_BOX (buttons), set);
  gtk_box_append (self->detail, buttons);
  return set;
}

/* Takes the keyboard off what is about to go: TRUE when it was in there. */
static gboolean
let_go (EfVerdictPage *self)
{
  GtkRoot *root = gtk_widget_get_root (GTK_WIDGET (self));
  GtkWidget *focus = root != NULL ? gtk_root_get_focus (root) : NULL;

  if (focus == NULL || !gtk_widget_is_ancestor (focus, GTK_WIDGET (self->detail)))
    return FALSE;
  gtk_root_set_focus (root, NULL);
  return TRUE;
}

static void
show_detail (EfVerdictPage *self,
             const EfVerdict *verdict)
{
  GtkWidget *badge = ef_verdict_badge_new ();
  gboolean had_focus = let_go (self);
  GtkWidget *child, *set;
  guint i;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self->detail))) != NULL)
    gtk_box_remove (self->detail, child);
  gtk_box_append (self->detail, text_label (verdict->title, "title-2"));
  ef_verdict_badge_set (EF_VERDICT_BADGE (badge), verdict->word);
  ef_verdict_badge_set_glyph_size (EF_VERDICT_BADGE (badge), 28);
  gtk_widget_add_css_class (badge, "title-3");
  gtk_box_append (self->detail, badge);
  set = append_override (self, verdict);
  for (i = 0; verdict->reasons != NULL && i < verdict->reasons->len; i++)
    append_reason (self, g_ptr_array_index (verdict->reasons, i));
  if (verdict->reasons == NULL || verdict->reasons->len == 0)
    gtk_box_append (self->detail, text_label (_ ("Nothing found here that speaks against using it again."), NULL));
  if (had_focus)
    gtk_widget_grab_focus (set);
}

static EfVerdictNode *
node_at (EfVerdictPage *self,
         guint position)
{
  g_autoptr (GtkTreeListRow) row = g_list_model_get_item (G_LIST_MODEL (self->rows), position);

  return row != NULL ? EF_VERDICT_NODE (gtk_tree_list_row_get_item (row)) : NULL;
}

static void
selected_cb (EfVerdictPage *self)
{
  guint position;
  g_autoptr (EfVerdictNode) node = NULL;
  const EfVerdict *verdict;

  if (self->filling || self->selection == NULL)
    return;
  position = gtk_single_selection_get_selected (self->selection);
  if (position == GTK_INVALID_LIST_POSITION)
    return;
  node = node_at (self, position);
  if (node == NULL)
    return;
  verdict = ef_verdict_node_verdict (node);
  if (g_strcmp0 (verdict->id, self->selected) != 0)
    gtk_adjustment_set_value (gtk_scrolled_window_get_vadjustment (self->scrolled), 0);
  g_free (self->selected);
  self->selected = g_strdup (verdict->id);
  show_detail (self, verdict);
}

gboolean
ef_verdict_page_select (EfVerdictPage *self,
                        const char *id)
{
  guint n = self->rows != NULL ? g_list_model_get_n_items (G_LIST_MODEL (self->rows)) : 0;
  guint i;

  for (i = 0; i < n; i++)
    {
      g_autoptr (EfVerdictNode) node = node_at (self, i);

      if (g_strcmp0 (ef_verdict_node_verdict (node)->id, id) == 0)
        {
          gtk_single_selection_set_selected (self->selection, i);
          selected_cb (self);
          return TRUE;
        }
    }
  return FALSE;
}

/* At first everything is open down to the parts that need something. */
static gboolean
open_at_first (const EfVerdict *verdict)
{
  return verdict->level != EF_LEVEL_MARK && (verdict->level != EF_LEVEL_PART || verdict->word != EF_VERDICT_USE);
}

static void
remember_opened (EfVerdictPage *self)
{
  guint n = self->rows != NULL ? g_list_model_get_n_items (G_LIST_MODEL (self->rows)) : 0;
  guint i;

  if (n == 0)
    return;
  g_clear_pointer (&self->opened, g_hash_table_unref);
  self->opened = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  for (i = 0; i < n; i++)
    {
      g_autoptr (GtkTreeListRow) row = g_list_model_get_item (G_LIST_MODEL (self->rows), i);
      g_autoptr (EfVerdictNode) node = EF_VERDICT_NODE (gtk_tree_list_row_get_item (row));

      if (gtk_tree_list_row_get_expanded (row))
        g_hash_table_add (self->opened, g_strdup (ef_verdict_node_verdict (node)->id));
    }
}

static void
open_rows (EfVerdictPage *self)
{
  guint i;

  for (i = 0; i < g_list_model_get_n_items (G_LIST_MODEL (self->rows)); i++)
    {
      g_autoptr (GtkTreeListRow) row = g_list_model_get_item (G_LIST_MODEL (self->rows), i);
      g_autoptr (EfVerdictNode) node = EF_VERDICT_NODE (gtk_tree_list_row_get_item (row));
      const EfVerdict *verdict = ef_verdict_node_verdict (node);

      gtk_tree_list_row_set_expanded (row, self->opened != NULL ? g_hash_table_contains (self->opened, verdict->id) : open_at_first (verdict));
    }
}

static void
show_before (EfVerdictPage *self,
             const EfAssessment *assessment)
{
  g_autofree char *text = assessment != NULL ? ef_assessment_before_text (assessment) : NULL;

  gtk_label_set_label (GTK_LABEL (gtk_widget_get_last_child (self->before)), text != NULL ? text : "");
  gtk_widget_set_visible (self->before, text != NULL);
}

static void
append_said (GString *said,
             const EfVerdict *node)
{
  guint i;

  g_string_append_printf (said, "%s|%s|%d|%d|%s\n", node->id, node->title, node->word, node->computed,
                          node->override != NULL ? node->override->reason : "");
  for (i = 0; i < node->reasons->len; i++)
    {
      const EfReason *reason = g_ptr_array_index (node->reasons, i);

      g_string_append_printf (said, " %d|%s|%s|%s|%s|%.17g|%.17g|%u\n", reason->word, reason->rule, reason->sentence, reason->advice, reason->source,
                              reason->value, reason->uncertainty, reason->refs != NULL ? reason->refs->len : 0);
    }
  for (i = 0; i < node->children->len; i++)
    append_said (said, g_ptr_array_index (node->children, i));
}

/* A finer solve changes figures, not verdicts: then nothing is laid out anew, least of all under a finger that is about to press. */
static gboolean
says_the_same (EfVerdictPage *self,
               const EfAssessment *assessment)
{
  GString *said = g_string_new (NULL);
  gboolean same;

  append_said (said, assessment->verdict);
  same = g_strcmp0 (said->str, self->shown) == 0;
  g_free (self->shown);
  self->shown = g_string_free (said, FALSE);
  return same;
}

static void
assessed_cb (EfVerdictPage *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  g_autoptr (GListStore) root = NULL;
  g_autoptr (EfVerdictNode) node = NULL;

  ef_missing_bar_take (self->missing, ef_missing_readings (inspection));
  gtk_stack_set_visible_child_name (self->stack, assessment != NULL ? "verdict" : "none");
  ef_cross_list_show (EF_CROSS_LIST (self->cross), assessment);
  show_before (self, assessment);
  if (assessment == NULL)
    return;
  renew_why (self, assessment);
  if (says_the_same (self, assessment))
    return;
  root = g_list_store_new (EF_TYPE_VERDICT_NODE);
  node = ef_verdict_node_new (assessment, assessment->verdict);
  g_list_store_append (root, node);

  self->filling = TRUE;
  remember_opened (self);
  g_clear_object (&self->selection);
  g_clear_object (&self->rows);
  self->rows = gtk_tree_list_model_new (G_LIST_MODEL (g_steal_pointer (&root)), FALSE, FALSE, children_of, NULL, NULL);
  open_rows (self);
  self->selection = gtk_single_selection_new (G_LIST_MODEL (g_object_ref (self->rows)));
  g_signal_connect_object (self->selection, "notify::selected", G_CALLBACK (selected_cb), self, G_CONNECT_SWAPPED);
  gtk_list_view_set_model (self->tree, GTK_SELECTION_MODEL (self->selection));
  self->filling = FALSE;
  if (self->selected == NULL || !ef_verdict_page_select (self, self->selected))
    ef_verdict_page_select (self, "pump");
}

/* Lengths are shown in another unit. */
static void
unit_changed_cb (EfVerdictPage *self)
{
  g_clear_pointer (&self->shown, g_free);
  assessed_cb (self);
}

static void
ef_verdict_page_dispose (GObject *object)
{
  EfVerdictPage *self = EF_VERDICT_PAGE (object);

  self->filling = TRUE;
  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_VERDICT_PAGE);
  g_clear_object (&self->selection);
  g_clear_object (&self->rows);
  g_clear_object (&self->session);
  g_clear_pointer (&self->selected, g_free);
  g_clear_pointer (&self->shown, g_free);
  forget_why (self);
  g_clear_pointer (&self->opened, g_hash_table_unref);
  G_OBJECT_CLASS (ef_verdict_page_parent_class)->dispose (object);
}

static void
ef_verdict_page_class_init (EfVerdictPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_verdict_page_dispose;
  g_type_ensure (EF_TYPE_MISSING_BAR);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/verdict-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfVerdictPage, missing);
  gtk_widget_class_bind_template_child (widget_class, EfVerdictPage, stack);
  gtk_widget_class_bind_template_child (widget_class, EfVerdictPage, tree);
  gtk_widget_class_bind_template_child (widget_class, EfVerdictPage, detail);
  gtk_widget_class_bind_template_child (widget_class, EfVerdictPage, scrolled);
  gtk_widget_class_bind_template_child (widget_class, EfVerdictPage, top);
  gtk_widget_class_bind_template_child (widget_class, EfVerdictPage, columns);
  gtk_widget_class_bind_template_child (widget_class, EfVerdictPage, views);
}

static void
ef_verdict_page_init (EfVerdictPage *self)
{
  g_autoptr (GtkListItemFactory) factory = gtk_signal_list_item_factory_new ();

  gtk_widget_init_template (GTK_WIDGET (self));
  g_signal_connect (factory, "setup", G_CALLBACK (setup_row_cb), NULL);
  g_signal_connect (factory, "bind", G_CALLBACK (bind_row_cb), NULL);
  g_signal_connect (factory, "unbind", G_CALLBACK (unbind_row_cb), NULL);
  gtk_list_view_set_factory (self->tree, factory);
}

/* The answer to the complaint stands on top; what the pump delivers is a press away. */
static void
add_flow (EfVerdictPage *self)
{
  GtkWidget *blame = ef_blame_card_new (self->session);

  gtk_widget_set_hexpand (blame, TRUE);
  gtk_box_prepend (self->top, blame);
  gtk_stack_add_titled (self->views, ef_flow_view_new (self->session), "delivery", _ ("Delivery"));
}

/* What crosses parts under it; why beside the reasons. */
static void
add_across (EfVerdictPage *self)
{
  self->cross = ef_cross_list_new ();
  gtk_box_insert_child_after (GTK_BOX (gtk_widget_get_parent (GTK_WIDGET (self->top))), self->cross, GTK_WIDGET (self->top));
  g_signal_connect_object (self->cross, "follow", G_CALLBACK (follow_cb), self, G_CONNECT_SWAPPED);
  self->before = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  gtk_widget_add_css_class (self->before, "ef-before");
  gtk_box_append (GTK_BOX (self->before), gtk_image_new_from_icon_name ("dialog-warning-symbolic"));
  gtk_box_append (GTK_BOX (self->before), text_label ("", NULL));
  gtk_box_insert_child_after (GTK_BOX (gtk_widget_get_parent (GTK_WIDGET (self->top))), self->before, GTK_WIDGET (self->top));
  self->why = ef_why_panel_new (self->session);
  gtk_widget_set_size_request (self->why, WHY_WIDTH, -1);
  gtk_widget_set_hexpand (self->why, FALSE);
  gtk_widget_set_visible (self->why, FALSE);
  gtk_box_append (self->columns, self->why);
  g_signal_connect_object (self->why, "follow", G_CALLBACK (follow_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->why, "close", G_CALLBACK (close_why_cb), self, G_CONNECT_SWAPPED);
}

EfVerdictPage *
ef_verdict_page_new (EfSession *session)
{
  EfVerdictPage *self = g_object_new (EF_TYPE_VERDICT_PAGE, NULL);

  self->session = g_object_ref (session);
  add_flow (self);
  add_across (self);
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed::length-unit", G_CALLBACK (unit_changed_cb), self, G_CONNECT_SWAPPED);
  assessed_cb (self);
  return self;
}
