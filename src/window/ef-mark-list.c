/* The marks of the shown face as a list.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-mark-list.h"
#include "ef-look.h"
#include "ef-verdict-badge.h"

#include <glib/gi18n.h>
#include <math.h>

/* --- A mark as an object, for the list's model ---------------------------------------------------------------------------- */

#define EF_TYPE_MARK_ITEM (ef_mark_item_get_type ())
G_DECLARE_FINAL_TYPE (EfMarkItem, ef_mark_item, EF, MARK_ITEM, GObject)

struct _EfMarkItem
{
  GObject parent_instance;
  EfMark *mark;
};

G_DEFINE_FINAL_TYPE (EfMarkItem, ef_mark_item, G_TYPE_OBJECT)

static void
ef_mark_item_finalize (GObject *object)
{
  ef_item_unref (EF_MARK_ITEM (object)->mark);
  G_OBJECT_CLASS (ef_mark_item_parent_class)->finalize (object);
}

static void
ef_mark_item_class_init (EfMarkItemClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_mark_item_finalize;
}

static void
ef_mark_item_init (EfMarkItem *self)
{
}

static EfMarkItem *
mark_item_new (EfMark *mark)
{
  EfMarkItem *item = g_object_new (EF_TYPE_MARK_ITEM, NULL);

  item->mark = ef_item_ref (mark);
  return item;
}

/* --- The list ----------------------------------------------------------------------------------------------------------------- */

struct _EfMarkList
{
  GtkWidget parent_instance;

  EfSession *session;
  GSignalGroup *session_signals;
  GtkWidget *box, *heading, *stack, *view;
  GListStore *items;
  GtkSingleSelection *selection;
  GHashTable *bound; /* GtkListItem * now shown */
  gboolean showing;
};

enum
{
  ACTIVATED,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfMarkList, ef_mark_list, GTK_TYPE_WIDGET)

static EfMark *
mark_at (EfMarkList *self,
         guint i)
{
  g_autoptr (EfMarkItem) item = g_list_model_get_item (G_LIST_MODEL (self->items), i);

  return item != NULL ? item->mark : NULL;
}

/* The widgets of a row, in the order they stand. */
typedef struct
{
  GtkWidget *glyph, *label, *depth, *badge;
} RowParts;

static void
draw_glyph (GtkDrawingArea *area,
            cairo_t *cr,
            int width,
            int height,
            gpointer user_data)
{
  GtkListItem *list_item = user_data;
  EfMarkItem *item = gtk_list_item_get_item (list_item);
  EfDrawStyle style;

  if (item == NULL)
    return;
  ef_look_style (&style);
  ef_draw_mark_glyph (cr, &style, item->mark->kind, 0, 0, width, height);
}

static void
setup_cb (GtkSignalListItemFactory *factory,
          GtkListItem *list_item)
{
  RowParts *parts = g_new0 (RowParts, 1);
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);

  parts->glyph = gtk_drawing_area_new ();
  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (parts->glyph), 30);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (parts->glyph), 20);
  gtk_widget_set_valign (parts->glyph, GTK_ALIGN_CENTER);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (parts->glyph), draw_glyph, list_item, NULL);
  parts->label = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "hexpand", TRUE, "ellipsize", PANGO_ELLIPSIZE_END, NULL);
  parts->depth = g_object_new (GTK_TYPE_LABEL, "xalign", 1.0f, NULL);
  gtk_widget_add_css_class (parts->depth, "numeric");
  parts->badge = ef_verdict_badge_new ();
  gtk_widget_add_css_class (parts->badge, "caption");
  gtk_box_append (GTK_BOX (row), parts->glyph);
  gtk_box_append (GTK_BOX (row), parts->label);
  gtk_box_append (GTK_BOX (row), parts->depth);
  gtk_box_append (GTK_BOX (row), parts->badge);
  gtk_widget_set_size_request (row, -1, EF_TARGET - 8);
  gtk_widget_set_margin_start (row, 6);
  gtk_widget_set_margin_end (row, 6);
  g_object_set_data_full (G_OBJECT (row), "parts", parts, g_free);
  gtk_list_item_set_child (list_item, row);
}

static int
verdict_of (EfMarkList *self,
            const EfMark *mark)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  g_autofree char *id = g_strdup_printf ("mark:%s", mark->item.id);
  const EfVerdict *verdict = assessment != NULL ? ef_verdict_find (assessment->verdict, id) : NULL;

  return verdict != NULL ? (int) verdict->word : EF_VERDICT_UNKNOWN;
}

static char *
depth_text (const EfMark *mark)
{
  double deepest = ef_mark_deepest (mark);
  EfUnit unit = EF_UNIT_MM;
  guint i;

  if (!isfinite (deepest))
    return g_strdup (_("no depth"));
  for (i = 0; i < mark->depths->len; i++)
    if (g_array_index (mark->depths, EfMarkDepth, i).depth == deepest)
      unit = g_array_index (mark->depths, EfMarkDepth, i).unit;
  return ef_format_quantity (deepest, unit, -1);
}

static void
show_row (EfMarkList *self,
          GtkListItem *list_item)
{
  GtkWidget *row = gtk_list_item_get_child (list_item);
  EfMarkItem *item = gtk_list_item_get_item (list_item);
  RowParts *parts = g_object_get_data (G_OBJECT (row), "parts");
  g_autofree char *label = NULL;
  g_autofree char *depth = NULL;
  g_autofree char *spoken = NULL;
  int word;

  if (item == NULL)
    return;
  word = verdict_of (self, item->mark);
  label = g_strdup_printf ("%d  %s", item->mark->number, _(ef_mark_kind_label (item->mark->kind)));
  depth = depth_text (item->mark);
  gtk_label_set_label (GTK_LABEL (parts->label), label);
  gtk_label_set_label (GTK_LABEL (parts->depth), depth);
  if (isfinite (ef_mark_deepest (item->mark)))
    gtk_widget_remove_css_class (parts->depth, "dim-label");
  else
    gtk_widget_add_css_class (parts->depth, "dim-label");
  ef_verdict_badge_set (EF_VERDICT_BADGE (parts->badge), word);
  gtk_widget_set_visible (parts->badge, word != EF_VERDICT_UNKNOWN);
  gtk_widget_queue_draw (parts->glyph);
  spoken = g_strdup_printf ("%s, %s, %s", label, depth, ef_verdict_shown (word));
  if (gtk_widget_get_parent (row) != NULL)
    gtk_accessible_update_property (GTK_ACCESSIBLE (gtk_widget_get_parent (row)), GTK_ACCESSIBLE_PROPERTY_LABEL, spoken, -1);
}

static void
bind_cb (GtkSignalListItemFactory *factory,
         GtkListItem *list_item,
         EfMarkList *self)
{
  g_hash_table_add (self->bound, list_item);
  show_row (self, list_item);
}

static void
unbind_cb (GtkSignalListItemFactory *factory,
           GtkListItem *list_item,
           EfMarkList *self)
{
  g_hash_table_remove (self->bound, list_item);
}

static void
show_selection (EfMarkList *self)
{
  const char *id = ef_session_mark (self->session);
  guint n = g_list_model_get_n_items (G_LIST_MODEL (self->items)), at = GTK_INVALID_LIST_POSITION, i;

  for (i = 0; id != NULL && i < n && at == GTK_INVALID_LIST_POSITION; i++)
    if (g_str_equal (mark_at (self, i)->item.id, id))
      at = i;
  self->showing = TRUE;
  gtk_single_selection_set_selected (self->selection, at);
  self->showing = FALSE;
  if (at != GTK_INVALID_LIST_POSITION && gtk_widget_get_mapped (self->view))
    gtk_widget_activate_action (self->view, "list.scroll-to-item", "u", at);
}

/* Only what has changed between the same beginning and the same end is exchanged. */
static void
refresh (EfMarkList *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const char *face = ef_session_face (self->session);
  g_autoptr (GPtrArray) marks = face != NULL ? ef_inspection_face_marks (inspection, face) : g_ptr_array_new ();
  g_autoptr (GPtrArray) fresh = g_ptr_array_new_with_free_func (g_object_unref);
  g_autofree char *heading = NULL;
  guint old = g_list_model_get_n_items (G_LIST_MODEL (self->items)), first = 0, last = 0, i;

  while (first < old && first < marks->len && mark_at (self, first) == g_ptr_array_index (marks, first))
    first++;
  while (last < old - first && last < marks->len - first
         && mark_at (self, old - 1 - last) == g_ptr_array_index (marks, marks->len - 1 - last))
    last++;
  for (i = first; i < marks->len - last; i++)
    g_ptr_array_add (fresh, mark_item_new (g_ptr_array_index (marks, i)));
  self->showing = TRUE;
  if (fresh->len > 0 || old - first - last > 0)
    g_list_store_splice (self->items, first, old - first - last, fresh->pdata, fresh->len);
  self->showing = FALSE;

  heading = face == NULL ? g_strdup (_("Marks")) : g_strdup_printf (ngettext ("%u mark on this face", "%u marks on this face", marks->len), marks->len);
  gtk_label_set_label (GTK_LABEL (self->heading), heading);
  gtk_stack_set_visible_child_name (GTK_STACK (self->stack), marks->len > 0 ? "list" : "empty");
  show_selection (self);
}

static void
assessed_cb (EfMarkList *self)
{
  GHashTableIter iter;
  gpointer list_item;

  g_hash_table_iter_init (&iter, self->bound);
  while (g_hash_table_iter_next (&iter, &list_item, NULL))
    show_row (self, list_item);
}

static void
selected_cb (EfMarkList *self)
{
  guint at = gtk_single_selection_get_selected (self->selection);
  EfMark *mark = at != GTK_INVALID_LIST_POSITION ? mark_at (self, at) : NULL;

  if (!self->showing && mark != NULL)
    ef_session_select_mark (self->session, mark->item.id);
}

static void
activate_cb (GtkListView *view,
             guint position,
             EfMarkList *self)
{
  EfMark *mark = mark_at (self, position);

  if (mark == NULL)
    return;
  ef_session_select_mark (self->session, mark->item.id);
  g_signal_emit (self, signals[ACTIVATED], 0);
}

static gboolean
delete_cb (GtkWidget *widget,
           GVariant *args,
           gpointer data)
{
  return gtk_widget_activate_action (widget, "face.delete", NULL);
}

static void
ef_mark_list_dispose (GObject *object)
{
  EfMarkList *self = EF_MARK_LIST (object);

  self->showing = TRUE;
  g_clear_object (&self->session_signals);
  g_clear_pointer (&self->box, gtk_widget_unparent);
  g_clear_pointer (&self->bound, g_hash_table_unref);
  g_clear_object (&self->selection);
  g_clear_object (&self->items);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_mark_list_parent_class)->dispose (object);
}

static void
ef_mark_list_class_init (EfMarkListClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_mark_list_dispose;
  signals[ACTIVATED] = g_signal_new ("activated", EF_TYPE_MARK_LIST, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  gtk_widget_class_set_layout_manager_type (widget_class, GTK_TYPE_BIN_LAYOUT);
  gtk_widget_class_add_binding (widget_class, GDK_KEY_Delete, 0, delete_cb, NULL);
}

static GtkWidget *
make_view (EfMarkList *self)
{
  GtkListItemFactory *factory = gtk_signal_list_item_factory_new ();
  GtkWidget *scrolled = gtk_scrolled_window_new ();

  g_signal_connect (factory, "setup", G_CALLBACK (setup_cb), NULL);
  g_signal_connect (factory, "bind", G_CALLBACK (bind_cb), self);
  g_signal_connect (factory, "unbind", G_CALLBACK (unbind_cb), self);
  self->view = gtk_list_view_new (GTK_SELECTION_MODEL (g_object_ref (self->selection)), factory);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->view), GTK_ACCESSIBLE_PROPERTY_LABEL, _("Marks of this face"), -1);
  g_signal_connect (self->view, "activate", G_CALLBACK (activate_cb), self);
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (scrolled), GTK_POLICY_NEVER, GTK_POLICY_AUTOMATIC);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), self->view);
  return scrolled;
}

static void
ef_mark_list_init (EfMarkList *self)
{
  GtkWidget *empty = g_object_new (GTK_TYPE_LABEL, "label", _("Nothing is marked here yet"), "xalign", 0.0f, "yalign", 0.0f, "wrap", TRUE,
                                   "margin-start", 12, "margin-end", 12, NULL);

  self->bound = g_hash_table_new (NULL, NULL);
  self->items = g_list_store_new (EF_TYPE_MARK_ITEM);
  self->selection = gtk_single_selection_new (G_LIST_MODEL (g_object_ref (self->items)));
  gtk_single_selection_set_autoselect (self->selection, FALSE);
  gtk_single_selection_set_can_unselect (self->selection, TRUE);
  g_signal_connect_swapped (self->selection, "notify::selected", G_CALLBACK (selected_cb), self);

  self->box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 4);
  self->heading = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "margin-start", 12, "margin-end", 12, "margin-top", 8, NULL);
  gtk_widget_add_css_class (self->heading, "heading");
  gtk_widget_add_css_class (empty, "dim-label");
  self->stack = gtk_stack_new ();
  gtk_widget_set_vexpand (self->stack, TRUE);
  gtk_stack_add_named (GTK_STACK (self->stack), make_view (self), "list");
  gtk_stack_add_named (GTK_STACK (self->stack), empty, "empty");
  gtk_box_append (GTK_BOX (self->box), self->heading);
  gtk_box_append (GTK_BOX (self->box), self->stack);
  gtk_widget_set_parent (self->box, GTK_WIDGET (self));
}

GtkWidget *
ef_mark_list_new (EfSession *session)
{
  EfMarkList *self = g_object_new (EF_TYPE_MARK_LIST, NULL);

  self->session = g_object_ref (session);
  self->session_signals = g_signal_group_new (EF_TYPE_SESSION);
  g_signal_group_connect_swapped (self->session_signals, "notify::face", G_CALLBACK (refresh), self);
  g_signal_group_connect_swapped (self->session_signals, "notify::mark", G_CALLBACK (show_selection), self);
  g_signal_group_connect_swapped (self->session_signals, "changed", G_CALLBACK (refresh), self);
  g_signal_group_connect_swapped (self->session_signals, "assessed", G_CALLBACK (assessed_cb), self);
  g_signal_group_set_target (self->session_signals, session);
  refresh (self);
  return GTK_WIDGET (self);
}

guint
ef_mark_list_length (EfMarkList *self)
{
  return g_list_model_get_n_items (G_LIST_MODEL (self->items));
}

const char *
ef_mark_list_selected (EfMarkList *self)
{
  guint at = gtk_single_selection_get_selected (self->selection);
  EfMark *mark = at != GTK_INVALID_LIST_POSITION ? mark_at (self, at) : NULL;

  return mark != NULL ? mark->item.id : NULL;
}

void
ef_mark_list_select (EfMarkList *self,
                     guint row)
{
  gtk_single_selection_set_selected (self->selection, row);
}
