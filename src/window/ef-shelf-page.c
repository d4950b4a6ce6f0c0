/* The shelf: search and filters, list, card.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-shelf-page.h"
#include "ef-field.h"
#include "ef-settings.h"
#include "ef-sheets.h"
#include "ef-shelf-card.h"
#include "ef-shelf-dialog.h"
#include "ef-shelf-object.h"
#include "ef-verdict-badge.h"
#include "ef-window.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfShelfPage
{
  GtkBox parent_instance;

  GtkStack *stack;
  GtkStack *results;
  GtkSearchEntry *search;
  GtkDropDown *model, *kind, *state, *quantity;
  GtkBox *sizes;
  EfField *least, *most; /* of the chosen quantity */
  GtkColumnView *view;
  EfShelfCard *card;
  GtkLabel *count;

  EfStore *store; /* borrowed */
  GListStore *rows;
  GtkSortListModel *sorted;
  GtkSingleSelection *selection;
  GPtrArray *models; /* char *, as in the drop-down */
  GPtrArray *sheets; /* EfSheetEntry *; NULL until needed */
  gboolean refreshing;
};

G_DEFINE_FINAL_TYPE (EfShelfPage, ef_shelf_page, GTK_TYPE_BOX)

typedef enum { COLUMN_CODE, COLUMN_PART, COLUMN_MODEL, COLUMN_SIZE, COLUMN_VERDICT, COLUMN_FROM, COLUMN_STATE, N_COLUMNS } Column;

static const char *const column_titles[N_COLUMNS] = { N_ ("Code"), N_ ("Part"), N_ ("Model"), N_ ("Size"), N_ ("Verdict"), N_ ("From job"), N_ ("State") };

/* From here on of EfPartKind there's nothing with faces. */
#define N_KINDS EF_PART_PICKUP

static char *
size_text (const EfShelfPart *part)
{
  const EfPartSize *size = ef_shelf_part_main_size (part);

  return size != NULL ? ef_settings_exact (size->value, EF_UNIT_MM) : g_strdup ("–");
}

/* "Face width 28.021 mm": where there is room for it. */
static char *
full_size_text (const EfShelfPart *part)
{
  const EfPartSize *size = ef_shelf_part_main_size (part);
  g_autofree char *value = size_text (part);

  return size != NULL ? g_strdup_printf (_ ("%s %s"), _ (ef_part_size_label (size->quantity)), value) : NULL;
}

static char *
cell_text (const EfShelfPart *part,
           Column column)
{
  const EfReplacement *own = part->part;

  switch (column)
    {
    case COLUMN_CODE:
      return g_strdup (own->shelf);
    case COLUMN_PART:
      return own->pair != NULL ? g_strdup_printf (_ ("%s, %s"), own->name != NULL ? own->name : own->item.id, own->pair) : g_strdup (own->name != NULL ? own->name : own->item.id);
    case COLUMN_MODEL:
      return g_strdup (part->model);
    case COLUMN_SIZE:
      return size_text (part);
    case COLUMN_VERDICT:
      return g_strdup (ef_verdict_shown (ef_verdict_from_stored (own->verdict)));
    case COLUMN_FROM:
      return g_strdup (own->from_job != NULL ? own->from_job : "–");
    default:
      return ef_shelf_state_sentence (part);
    }
}

static int
compare_rows (gconstpointer a,
              gconstpointer b,
              gpointer user_data)
{
  Column column = GPOINTER_TO_INT (user_data);
  const EfShelfPart *left = ef_shelf_object_part (EF_SHELF_OBJECT ((gpointer) a)), *right = ef_shelf_object_part (EF_SHELF_OBJECT ((gpointer) b));
  g_autofree char *text_a = cell_text (left, column);
  g_autofree char *text_b = cell_text (right, column);
  g_autofree char *key_a = g_utf8_collate_key_for_filename (text_a, -1);
  g_autofree char *key_b = g_utf8_collate_key_for_filename (text_b, -1);

  if (column == COLUMN_STATE && left->state != right->state)
    return (int) left->state - (int) right->state;

  return strcmp (key_a, key_b);
}

static void
setup_cell_cb (GtkSignalListItemFactory *factory,
               GtkListItem *item,
               gpointer user_data)
{
  Column column = GPOINTER_TO_INT (user_data);
  GtkWidget *label, *child;

  if (column == COLUMN_VERDICT)
    {
      gtk_list_item_set_child (item, ef_verdict_badge_new ());
      return;
    }
  label = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, NULL);
  if (column == COLUMN_PART || column == COLUMN_STATE)
    g_object_set (label, "ellipsize", PANGO_ELLIPSIZE_END, "width-chars", 9, NULL);
  gtk_widget_add_css_class (label, column == COLUMN_CODE ? "heading" : "numeric");
  child = label;
  if (column == COLUMN_STATE)
    {
      child = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);
      gtk_box_append (GTK_BOX (child), gtk_image_new ());
      gtk_box_append (GTK_BOX (child), label);
    }
  gtk_list_item_set_child (item, child);
}

static void
bind_cell_cb (GtkSignalListItemFactory *factory,
              GtkListItem *item,
              gpointer user_data)
{
  Column column = GPOINTER_TO_INT (user_data);
  const EfShelfPart *part = ef_shelf_object_part (gtk_list_item_get_item (item));
  GtkWidget *child = gtk_list_item_get_child (item);
  GtkWidget *cell = gtk_widget_get_parent (child);
  g_autofree char *text = cell_text (part, column);

  if (column == COLUMN_VERDICT)
    ef_verdict_badge_set (EF_VERDICT_BADGE (child), ef_verdict_from_stored (part->part->verdict));
  else if (column == COLUMN_STATE)
    {
      gtk_image_set_from_icon_name (GTK_IMAGE (gtk_widget_get_first_child (child)), ef_shelf_state_icon (part->state));
      gtk_label_set_label (GTK_LABEL (gtk_widget_get_last_child (child)), text);
      gtk_widget_set_tooltip_text (child, text);
    }
  else
    gtk_label_set_label (GTK_LABEL (child), text);
  if (column == COLUMN_SIZE)
    {
      g_autofree char *full = full_size_text (part);

      gtk_widget_set_tooltip_text (child, full);
    }
  if (cell != NULL)
    gtk_accessible_update_property (GTK_ACCESSIBLE (cell), GTK_ACCESSIBLE_PROPERTY_LABEL, text, -1);
}

static void
add_column (EfShelfPage *self,
            Column column)
{
  GtkListItemFactory *factory = gtk_signal_list_item_factory_new ();
  g_autoptr (GtkColumnViewColumn) view_column = NULL;
  g_autoptr (GtkSorter) sorter = NULL;

  g_signal_connect (factory, "setup", G_CALLBACK (setup_cell_cb), GINT_TO_POINTER (column));
  g_signal_connect (factory, "bind", G_CALLBACK (bind_cell_cb), GINT_TO_POINTER (column));
  view_column = gtk_column_view_column_new (_ (column_titles[column]), factory);
  sorter = GTK_SORTER (gtk_custom_sorter_new (compare_rows, GINT_TO_POINTER (column), NULL));
  gtk_column_view_column_set_sorter (view_column, sorter);
  gtk_column_view_column_set_resizable (view_column, TRUE);
  gtk_column_view_column_set_expand (view_column, column == COLUMN_PART || column == COLUMN_STATE);
  gtk_column_view_append_column (self->view, view_column);
}

/* The sheets are only read when a card asks for pictures. */
static EfPumpSheet *
sheet_of (EfShelfPage *self,
          const EfShelfPart *part)
{
  if (self->sheets == NULL)
    self->sheets = ef_sheets_all (self->store, NULL);
  for (guint i = 0; self->sheets != NULL && i < self->sheets->len; i++)
    {
      const EfSheetEntry *entry = self->sheets->pdata[i];

      if (g_strcmp0 (entry->sheet->id, part->part->sheet) == 0)
        return entry->sheet;
    }

  return NULL;
}

static void
selected_cb (EfShelfPage *self)
{
  EfShelfObject *object = gtk_single_selection_get_selected_item (self->selection);
  EfShelfPart *part = object != NULL ? ef_shelf_object_part (object) : NULL;

  if (self->refreshing)
    return;
  ef_shelf_card_set (self->card, self->store, part, part != NULL ? sheet_of (self, part) : NULL);
}

static void
refresh_cb (EfShelfPage *self)
{
  ef_shelf_page_refresh (self);
}

static const char *
chosen_quantity (EfShelfPage *self)
{
  guint at = gtk_drop_down_get_selected (self->quantity);

  return at > 0 && at <= g_strv_length ((GStrv) ef_part_size_quantities) ? ef_part_size_quantities[at - 1] : NULL;
}

/* From and to only mean something of a quantity. */
static void
quantity_cb (EfShelfPage *self)
{
  gboolean any = chosen_quantity (self) != NULL;

  if (self->least == NULL)
    return;
  gtk_widget_set_visible (GTK_WIDGET (self->sizes), any);
  ef_shelf_page_refresh (self);
}

/* Fields are read in millimetres unless another unit is typed, as sizes are shown here. FALSE, with the message at the field, where one can't be read. */
static gboolean
read_sizes (EfShelfPage *self,
            EfShelfQuery *query)
{
  query->quantity = chosen_quantity (self);
  if (query->quantity == NULL)
    return TRUE;
  if (!ef_field_quantity (self->least, EF_UNIT_MM, FALSE, &query->size_min, NULL) || !ef_field_quantity (self->most, EF_UNIT_MM, FALSE, &query->size_max, NULL))
    return FALSE;
  ef_field_set_message (self->most, query->size_min > query->size_max ? _ ("Expected no less than the size it begins with.") : NULL);

  return !(query->size_min > query->size_max);
}

static EfField *
add_size_field (EfShelfPage *self,
                const char *label,
                const char *example)
{
  GtkWidget *field = ef_field_new (label);

  g_object_set (field, "placeholder", example, NULL);
  gtk_widget_set_size_request (field, 180, -1);
  gtk_widget_set_hexpand (field, FALSE);
  gtk_box_append (self->sizes, field);
  g_signal_connect_object (field, "edited", G_CALLBACK (refresh_cb), self, G_CONNECT_SWAPPED);

  return EF_FIELD (field);
}

static void
put_cb (EfShelfPage *self)
{
  EfShelfDialog *dialog;

  if (self->store == NULL)
    return;
  dialog = ef_shelf_dialog_put (GTK_WIDGET (self), self->store, NULL);
  g_signal_connect_object (dialog, "moved", G_CALLBACK (refresh_cb), self, G_CONNECT_SWAPPED);
}

static void
open_job_cb (EfShelfPage *self,
             const char *number)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  gint64 job = 0;

  if (window == NULL || number == NULL)
    return;
  if (!ef_store_exists (self->store, number, &job, &error))
    ef_window_toast (window, error->message);
  else if (job != 0)
    ef_window_open_job (window, job);
  else
    {
      text = g_strdup_printf (_ ("Job %s isn't in this store."), number);
      ef_window_toast (window, text);
    }
}

static void
show_all_cb (EfShelfPage *self)
{
  self->refreshing = TRUE;
  gtk_editable_set_text (GTK_EDITABLE (self->search), "");
  gtk_drop_down_set_selected (self->model, 0);
  gtk_drop_down_set_selected (self->kind, 0);
  gtk_drop_down_set_selected (self->state, 0);
  gtk_drop_down_set_selected (self->quantity, 0);
  ef_field_set_text (self->least, NULL);
  ef_field_set_text (self->most, NULL);
  self->refreshing = FALSE;
  ef_shelf_page_refresh (self);
}

/* The models there are; the chosen one stays. */
static void
fill_models (EfShelfPage *self)
{
  g_autoptr (GPtrArray) models = ef_store_shelf_values (self->store, "model", NULL);
  g_autoptr (GtkStringList) list = gtk_string_list_new (NULL);
  guint selected = gtk_drop_down_get_selected (self->model);
  const char *chosen = self->models != NULL && selected > 0 && selected <= self->models->len ? self->models->pdata[selected - 1] : NULL;
  guint again = 0;

  if (models == NULL || (self->models != NULL && self->models->len == models->len))
    return;
  gtk_string_list_append (list, _ ("All models"));
  for (guint i = 0; i < models->len; i++)
    {
      gtk_string_list_append (list, models->pdata[i]);
      if (g_strcmp0 (models->pdata[i], chosen) == 0)
        again = i + 1;
    }
  self->refreshing = TRUE;
  gtk_drop_down_set_model (self->model, G_LIST_MODEL (list));
  gtk_drop_down_set_selected (self->model, again);
  self->refreshing = FALSE;
  g_clear_pointer (&self->models, g_ptr_array_unref);
  self->models = g_steal_pointer (&models);
}

static void
fill_choices (EfShelfPage *self)
{
  g_autoptr (GtkStringList) kinds = gtk_string_list_new (NULL);
  g_autoptr (GtkStringList) states = gtk_string_list_new (NULL);
  g_autoptr (GtkStringList) sizes = gtk_string_list_new (NULL);

  gtk_string_list_append (kinds, _ ("All kinds"));
  for (guint i = 0; i < N_KINDS; i++)
    gtk_string_list_append (kinds, ef_part_kind_shown (i));
  gtk_drop_down_set_model (self->kind, G_LIST_MODEL (kinds));
  gtk_string_list_append (states, _ ("All states"));
  for (guint i = 0; i < EF_N_SHELF_STATES; i++)
    gtk_string_list_append (states, ef_shelf_state_shown (i));
  gtk_drop_down_set_model (self->state, G_LIST_MODEL (states));
  gtk_string_list_append (sizes, _ ("Any size"));
  for (guint i = 0; ef_part_size_quantities[i] != NULL; i++)
    gtk_string_list_append (sizes, _ (ef_part_size_label (ef_part_size_quantities[i])));
  gtk_drop_down_set_model (self->quantity, G_LIST_MODEL (sizes));
}

static void
show_rows (EfShelfPage *self,
           GPtrArray *parts,
           gint64 total)
{
  EfShelfObject *chosen = gtk_single_selection_get_selected_item (self->selection);
  g_autofree char *code = chosen != NULL ? g_strdup (ef_shelf_object_part (chosen)->part->shelf) : NULL;
  g_autoptr (GPtrArray) objects = g_ptr_array_new_with_free_func (g_object_unref);
  g_autofree char *text = NULL;

  for (guint i = 0; i < parts->len; i++)
    g_ptr_array_add (objects, ef_shelf_object_new (parts->pdata[i]));
  self->refreshing = TRUE;
  g_list_store_splice (self->rows, 0, g_list_model_get_n_items (G_LIST_MODEL (self->rows)), objects->pdata, objects->len);
  self->refreshing = FALSE;
  ef_shelf_page_choose (self, code);
  gtk_stack_set_visible_child_name (self->stack, total == 0 ? "empty" : "list");
  gtk_stack_set_visible_child_name (self->results, objects->len > 0 ? "some" : "none");
  if (objects->len == total)
    text = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u part", "%u parts", objects->len), objects->len);
  else
    text = g_strdup_printf (_ ("%u of %u parts"), objects->len, (guint) total);
  gtk_label_set_label (self->count, text);
}

static void
ef_shelf_page_dispose (GObject *object)
{
  EfShelfPage *self = EF_SHELF_PAGE (object);

  g_clear_object (&self->selection);
  g_clear_object (&self->sorted);
  g_clear_object (&self->rows);
  g_clear_pointer (&self->models, g_ptr_array_unref);
  g_clear_pointer (&self->sheets, g_ptr_array_unref);
  gtk_widget_dispose_template (GTK_WIDGET (object), EF_TYPE_SHELF_PAGE);
  G_OBJECT_CLASS (ef_shelf_page_parent_class)->dispose (object);
}

static void
ef_shelf_page_class_init (EfShelfPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_shelf_page_dispose;
  g_type_ensure (EF_TYPE_SHELF_CARD);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/shelf-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, stack);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, results);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, search);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, model);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, kind);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, state);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, sizes);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, quantity);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, view);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, card);
  gtk_widget_class_bind_template_child (widget_class, EfShelfPage, count);
  gtk_widget_class_bind_template_callback (widget_class, refresh_cb);
  gtk_widget_class_bind_template_callback (widget_class, quantity_cb);
  gtk_widget_class_bind_template_callback (widget_class, put_cb);
  gtk_widget_class_bind_template_callback (widget_class, show_all_cb);
}

static void
ef_shelf_page_init (EfShelfPage *self)
{
  self->refreshing = TRUE;
  gtk_widget_init_template (GTK_WIDGET (self));
  fill_choices (self);
  self->least = add_size_field (self, _ ("From, mm"), _ ("27.9"));
  self->most = add_size_field (self, _ ("To, mm"), _ ("28.1"));
  for (Column column = 0; column < N_COLUMNS; column++)
    add_column (self, column);
  self->rows = g_list_store_new (EF_TYPE_SHELF_OBJECT);
  self->sorted = gtk_sort_list_model_new (G_LIST_MODEL (g_object_ref (self->rows)), g_object_ref (gtk_column_view_get_sorter (self->view)));
  self->selection = gtk_single_selection_new (G_LIST_MODEL (g_object_ref (self->sorted)));
  gtk_column_view_set_model (self->view, GTK_SELECTION_MODEL (self->selection));
  g_signal_connect_object (self->selection, "notify::selected-item", G_CALLBACK (selected_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->card, "moved", G_CALLBACK (refresh_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->card, "open-job", G_CALLBACK (open_job_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self, "map", G_CALLBACK (refresh_cb), self, G_CONNECT_SWAPPED);
  self->refreshing = FALSE;
}

void
ef_shelf_page_set_store (EfShelfPage *self,
                         EfStore *store)
{
  self->store = store;
  g_clear_pointer (&self->models, g_ptr_array_unref);
  g_clear_pointer (&self->sheets, g_ptr_array_unref);
  ef_shelf_page_refresh (self);
}

void
ef_shelf_page_refresh (EfShelfPage *self)
{
  EfShelfQuery query = { .size_min = NAN, .size_max = NAN };
  g_autoptr (GPtrArray) parts = NULL;
  g_autoptr (GError) error = NULL;
  const char *text = gtk_editable_get_text (GTK_EDITABLE (self->search));
  guint model, kind, state;
  gint64 total;

  if (self->store == NULL || self->refreshing)
    return;
  fill_models (self);
  model = gtk_drop_down_get_selected (self->model);
  kind = gtk_drop_down_get_selected (self->kind);
  state = gtk_drop_down_get_selected (self->state);
  query.text = text[0] != '\0' ? text : NULL;
  query.model = self->models != NULL && model > 0 && model <= self->models->len ? self->models->pdata[model - 1] : NULL;
  query.kind = kind > 0 && kind <= N_KINDS ? ef_part_kind_name (kind - 1) : NULL;
  query.state = state > 0 && state <= EF_N_SHELF_STATES ? ef_shelf_state_name (state - 1) : NULL;
  if (!read_sizes (self, &query))
    return;
  parts = ef_store_shelf (self->store, &query, &error);
  total = parts != NULL ? ef_store_shelf_count (self->store, NULL, &error) : -1;
  if (total < 0)
    {
      EfWindow *window = ef_window_of (GTK_WIDGET (self));

      if (window != NULL)
        ef_window_toast (window, error->message);
      return;
    }
  show_rows (self, parts, total);
}

void
ef_shelf_page_search (EfShelfPage *self)
{
  gtk_widget_grab_focus (GTK_WIDGET (self->search));
}

void
ef_shelf_page_filter_size (EfShelfPage *self,
                           const char *quantity,
                           const char *least,
                           const char *most)
{
  guint at = 0;

  for (guint i = 0; quantity != NULL && ef_part_size_quantities[i] != NULL; i++)
    if (g_str_equal (ef_part_size_quantities[i], quantity))
      at = i + 1;
  self->refreshing = TRUE;
  ef_field_set_text (self->least, least);
  ef_field_set_text (self->most, most);
  gtk_drop_down_set_selected (self->quantity, at);
  self->refreshing = FALSE;
  quantity_cb (self);
}

GListModel *
ef_shelf_page_rows (EfShelfPage *self)
{
  return G_LIST_MODEL (self->sorted);
}

/* The one with this code, or the first. */
void
ef_shelf_page_choose (EfShelfPage *self,
                      const char *code)
{
  guint n = g_list_model_get_n_items (G_LIST_MODEL (self->sorted));
  guint at = 0;

  for (guint i = 0; i < n; i++)
    {
      g_autoptr (EfShelfObject) object = g_list_model_get_item (G_LIST_MODEL (self->sorted), i);

      if (g_strcmp0 (ef_shelf_object_part (object)->part->shelf, code) == 0)
        at = i;
    }
  gtk_single_selection_set_selected (self->selection, n > 0 ? at : GTK_INVALID_LIST_POSITION);
  selected_cb (self);
}
