/* Jobs: one row each, one press to open.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-jobs-page.h"
#include "ef-field.h"
#include "ef-job-object.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"
#include "ef-window.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfJobsPage
{
  GtkBox parent_instance;

  GtkStack *stack;
  GtkStack *results;
  GtkSearchEntry *search;
  GtkDropDown *verdict;
  GtkMenuButton *dates;
  EfField *from;
  EfField *to;
  GtkColumnView *view;
  GtkLabel *count;

  EfStore *store; /* borrowed */
  GListStore *rows;
  GtkSortListModel *sorted;
  GtkColumnViewColumn *pressure_column;
  gboolean refreshing;
};

G_DEFINE_FINAL_TYPE (EfJobsPage, ef_jobs_page, GTK_TYPE_BOX)

typedef enum { COLUMN_NUMBER, COLUMN_PUMP, COLUMN_FOR, COLUMN_RECEIVED, COLUMN_VERDICT, COLUMN_PRESSURE, N_COLUMNS } Column;

static const char *const column_titles[N_COLUMNS] = {
  N_ ("Job"), N_ ("Pump"), N_ ("Vessel or machine"), N_ ("Received"), N_ ("Verdict"), N_ ("Oil pressure, found → expected")
};

static char *
cell_text (const EfJobRow *row,
           Column column)
{
  g_autofree char *found = NULL;
  g_autofree char *expected = NULL;

  switch (column)
    {
    case COLUMN_NUMBER:
      return g_strdup (row->number);
    case COLUMN_PUMP:
      return row->serial != NULL && row->serial[0] != '\0' ? g_strdup_printf (_ ("%s, no. %s"), row->model, row->serial) : g_strdup (row->model);
    case COLUMN_FOR:
      return g_strdup (row->customer != NULL ? row->customer : "");
    case COLUMN_RECEIVED:
      return g_strdup (row->received != NULL ? row->received : "");
    case COLUMN_VERDICT:
      return g_strdup (ef_verdict_shown (ef_verdict_from_stored (row->verdict)));
    default:
      if (isnan (row->found_pressure) && isnan (row->expected_pressure))
        return g_strdup ("–");
      found = ef_settings_format_pressure (row->found_pressure);
      expected = ef_settings_format_pressure (row->expected_pressure);
      return g_strdup_printf ("%s → %s", found, expected);
    }
}

static int
compare_numbers (double a,
                 double b)
{
  if (isnan (a) || isnan (b))
    return isnan (a) - isnan (b);
  return (a > b) - (a < b);
}

/* "J-0099" before "J-0100" and "J-99" before "J-100". */
static int
compare_names (const char *a,
               const char *b)
{
  g_autofree char *key_a = g_utf8_collate_key_for_filename (a != NULL ? a : "", -1);
  g_autofree char *key_b = g_utf8_collate_key_for_filename (b != NULL ? b : "", -1);

  return strcmp (key_a, key_b);
}

static int
compare_rows (gconstpointer a,
              gconstpointer b,
              gpointer user_data)
{
  const EfJobRow *row_a = ef_job_object_row (EF_JOB_OBJECT ((gpointer) a));
  const EfJobRow *row_b = ef_job_object_row (EF_JOB_OBJECT ((gpointer) b));

  switch ((Column) GPOINTER_TO_INT (user_data))
    {
    case COLUMN_NUMBER:
      return compare_names (row_a->number, row_b->number);
    case COLUMN_PUMP:
      return compare_names (row_a->model, row_b->model);
    case COLUMN_FOR:
      return compare_names (row_a->customer, row_b->customer);
    case COLUMN_RECEIVED:
      return g_strcmp0 (row_a->received, row_b->received);
    case COLUMN_VERDICT:
      return ef_verdict_from_stored (row_a->verdict) - ef_verdict_from_stored (row_b->verdict);
    default:
      return compare_numbers (row_a->found_pressure, row_b->found_pressure);
    }
}

static void
setup_cell_cb (GtkSignalListItemFactory *factory,
               GtkListItem *item,
               gpointer user_data)
{
  Column column = GPOINTER_TO_INT (user_data);
  GtkWidget *child;

  if (column == COLUMN_VERDICT)
    child = ef_verdict_badge_new ();
  else
    {
      /* Names may be cut, numbers and dates never. */
      child = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, NULL);
      if (column == COLUMN_PUMP || column == COLUMN_FOR)
        g_object_set (child, "ellipsize", PANGO_ELLIPSIZE_END, "width-chars", 10, NULL);
      gtk_widget_add_css_class (child, "numeric");
    }
  if (column == COLUMN_NUMBER)
    gtk_widget_add_css_class (child, "heading");
  gtk_list_item_set_child (item, child);
}

static void
bind_cell_cb (GtkSignalListItemFactory *factory,
              GtkListItem *item,
              gpointer user_data)
{
  Column column = GPOINTER_TO_INT (user_data);
  const EfJobRow *row = ef_job_object_row (gtk_list_item_get_item (item));
  GtkWidget *child = gtk_list_item_get_child (item);
  GtkWidget *cell = gtk_widget_get_parent (child);
  g_autofree char *text = cell_text (row, column);

  if (column == COLUMN_VERDICT)
    ef_verdict_badge_set (EF_VERDICT_BADGE (child), ef_verdict_from_stored (row->verdict));
  else
    gtk_label_set_label (GTK_LABEL (child), text);
  if (cell != NULL)
    gtk_accessible_update_property (GTK_ACCESSIBLE (cell), GTK_ACCESSIBLE_PROPERTY_LABEL, text, -1);
}

static GtkColumnViewColumn *
add_column (EfJobsPage *self,
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
  gtk_column_view_column_set_expand (view_column, column == COLUMN_FOR || column == COLUMN_PUMP);
  gtk_column_view_append_column (self->view, view_column);
  return view_column;
}

static void
open_row (EfJobsPage *self,
          guint position)
{
  g_autoptr (EfJobObject) job = g_list_model_get_item (G_LIST_MODEL (self->sorted), position);
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  if (job != NULL && window != NULL)
    ef_window_open_job (window, ef_job_object_row (job)->id);
}

static void
row_activated_cb (EfJobsPage *self,
                  guint position)
{
  open_row (self, position);
}

static void
open_first_cb (EfJobsPage *self)
{
  open_row (self, 0);
}

static void
refresh_cb (EfJobsPage *self)
{
  ef_jobs_page_refresh (self);
}

static void
dates_cb (EfJobsPage *self)
{
  ef_jobs_page_refresh (self);
}

static void
any_time_cb (EfJobsPage *self)
{
  ef_field_set_text (self->from, NULL);
  ef_field_set_text (self->to, NULL);
  gtk_menu_button_popdown (self->dates);
}

static void
show_all_cb (EfJobsPage *self)
{
  self->refreshing = TRUE;
  gtk_editable_set_text (GTK_EDITABLE (self->search), "");
  gtk_drop_down_set_selected (self->verdict, 0);
  ef_field_set_text (self->from, NULL);
  ef_field_set_text (self->to, NULL);
  self->refreshing = FALSE;
  ef_jobs_page_refresh (self);
}

static const char *
chosen_verdict (EfJobsPage *self)
{
  guint selected = gtk_drop_down_get_selected (self->verdict);

  if (selected == 0 || selected == GTK_INVALID_LIST_POSITION)
    return NULL;
  if (selected == EF_N_VERDICTS + 1)
    return "";
  return ef_verdict_name (selected - 1);
}

static void
label_dates (EfJobsPage *self,
             const char *from,
             const char *to)
{
  g_autofree char *label = NULL;

  if (from != NULL && to != NULL)
    label = g_strdup_printf (_ ("Received %s to %s"), from, to);
  else if (from != NULL)
    label = g_strdup_printf (_ ("Received from %s"), from);
  else if (to != NULL)
    label = g_strdup_printf (_ ("Received until %s"), to);
  else
    label = g_strdup (_ ("Received any time"));
  gtk_menu_button_set_label (self->dates, label);
}

static void
show_rows (EfJobsPage *self,
           GPtrArray *jobs,
           gint64 total)
{
  g_autoptr (GPtrArray) objects = g_ptr_array_new_with_free_func (g_object_unref);
  g_autofree char *text = NULL;
  guint i;

  for (i = 0; i < jobs->len; i++)
    g_ptr_array_add (objects, ef_job_object_new (g_ptr_array_index (jobs, i)));
  /* The objects own the rows now. */
  g_ptr_array_set_free_func (jobs, NULL);
  g_list_store_splice (self->rows, 0, g_list_model_get_n_items (G_LIST_MODEL (self->rows)), objects->pdata, objects->len);
  gtk_stack_set_visible_child_name (self->stack, total == 0 ? "empty" : "list");
  gtk_stack_set_visible_child_name (self->results, objects->len > 0 ? "some" : "none");
  if (objects->len == total)
    text = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u job", "%u jobs", objects->len), objects->len);
  else
    text = g_strdup_printf (_ ("%u of %u jobs"), objects->len, (guint) total);
  gtk_label_set_label (self->count, text);
}

static void
ef_jobs_page_dispose (GObject *object)
{
  EfJobsPage *self = EF_JOBS_PAGE (object);

  g_signal_handlers_disconnect_by_data (ef_settings_get (), self);
  g_clear_object (&self->sorted);
  g_clear_object (&self->rows);
  gtk_widget_dispose_template (GTK_WIDGET (object), EF_TYPE_JOBS_PAGE);
  G_OBJECT_CLASS (ef_jobs_page_parent_class)->dispose (object);
}

static void
ef_jobs_page_class_init (EfJobsPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_jobs_page_dispose;
  g_type_ensure (EF_TYPE_FIELD);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/jobs-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, stack);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, results);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, search);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, verdict);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, dates);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, from);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, to);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, view);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, count);
  gtk_widget_class_bind_template_callback (widget_class, row_activated_cb);
  gtk_widget_class_bind_template_callback (widget_class, open_first_cb);
  gtk_widget_class_bind_template_callback (widget_class, refresh_cb);
  gtk_widget_class_bind_template_callback (widget_class, dates_cb);
  gtk_widget_class_bind_template_callback (widget_class, any_time_cb);
  gtk_widget_class_bind_template_callback (widget_class, show_all_cb);
}

static void
ef_jobs_page_init (EfJobsPage *self)
{
  g_autoptr (GtkStringList) words = gtk_string_list_new (NULL);
  GtkSingleSelection *selection;
  int word;
  Column column;

  gtk_widget_init_template (GTK_WIDGET (self));
  gtk_string_list_append (words, _ ("All verdicts"));
  for (word = 0; word < EF_N_VERDICTS; word++)
    gtk_string_list_append (words, ef_verdict_shown (word));
  gtk_string_list_append (words, ef_verdict_shown (EF_VERDICT_UNKNOWN));
  gtk_drop_down_set_model (self->verdict, G_LIST_MODEL (words));

  for (column = 0; column < N_COLUMNS; column++)
    add_column (self, column);
  self->rows = g_list_store_new (EF_TYPE_JOB_OBJECT);
  self->sorted = gtk_sort_list_model_new (G_LIST_MODEL (g_object_ref (self->rows)),
                                          g_object_ref (gtk_column_view_get_sorter (self->view)));
  selection = gtk_single_selection_new (G_LIST_MODEL (g_object_ref (self->sorted)));
  gtk_single_selection_set_autoselect (selection, FALSE);
  gtk_single_selection_set_can_unselect (selection, TRUE);
  gtk_column_view_set_model (self->view, GTK_SELECTION_MODEL (selection));
  g_object_unref (selection);
  g_signal_connect_swapped (ef_settings_get (), "changed::pressure-unit", G_CALLBACK (refresh_cb), self);
}

void
ef_jobs_page_set_store (EfJobsPage *self,
                        EfStore *store)
{
  self->store = store;
  ef_jobs_page_refresh (self);
}

void
ef_jobs_page_refresh (EfJobsPage *self)
{
  EfJobQuery query = { 0 };
  g_autofree char *from = NULL;
  g_autofree char *to = NULL;
  g_autoptr (GPtrArray) jobs = NULL;
  g_autoptr (GError) error = NULL;
  const char *text = gtk_editable_get_text (GTK_EDITABLE (self->search));
  gint64 total;

  if (self->store == NULL || self->refreshing)
    return;
  if (!ef_field_date (self->from, FALSE, &from) || !ef_field_date (self->to, FALSE, &to))
    return;
  query.text = text[0] != '\0' ? text : NULL;
  query.verdict = chosen_verdict (self);
  query.from = from;
  query.to = to;
  label_dates (self, from, to);
  jobs = ef_store_jobs (self->store, &query, &error);
  total = jobs != NULL ? ef_store_count (self->store, NULL, &error) : -1;
  if (total < 0)
    {
      EfWindow *window = ef_window_of (GTK_WIDGET (self));

      if (window != NULL)
        ef_window_toast (window, error->message);
      return;
    }
  show_rows (self, jobs, total);
}

void
ef_jobs_page_search (EfJobsPage *self)
{
  gtk_widget_grab_focus (GTK_WIDGET (self->search));
}

GListModel *
ef_jobs_page_rows (EfJobsPage *self)
{
  return G_LIST_MODEL (self->sorted);
}
