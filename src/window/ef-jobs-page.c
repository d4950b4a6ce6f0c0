/* Jobs: one row each, one press to open.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-jobs-page.h"
#include "ef-ask-path.h"
#include "ef-field.h"
#include "ef-job-list.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"
#include "ef-window.h"
#include "../record/ef-jobs-write.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfJobsPage
{
  GtkBox parent_instance;

  GtkStack *stack;
  GtkStack *results;
  GtkSearchEntry *search;
  GtkDropDown *verdict, *model, *finding, *standing;
  GtkWidget *clear_filters, *export_button;
  GtkMenuButton *dates, *filters;
  EfField *from;
  EfField *to;
  GtkColumnView *view;
  GtkLabel *count;

  EfStore *store; /* borrowed */
  EfJobList *rows;
  GStrv models, findings;  /* of the filters, by place; NULL before they are filled */
  EfJobObject *probes[2];  /* to ask the view what it sorts by */
  int sorted_by;           /* Column; -1 none */
  gboolean ascending;
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

/* The rows are sorted by the store. The view's sorter only tells by which column and which way: whichever is asked first says so. */
typedef struct
{
  EfJobsPage *page; /* borrowed: the page outlives its view */
  Column column;
} SortBy;

static int
note_column (gconstpointer a,
             gconstpointer b,
             gpointer user_data)
{
  SortBy *by = user_data;

  if (by->page->sorted_by < 0)
    by->page->sorted_by = by->column;

  return -1;
}

static void
sorting_changed_cb (EfJobsPage *self,
                    GtkSorterChange change,
                    GtkSorter *sorter)
{
  GtkOrdering ordering;

  self->sorted_by = -1;
  ordering = gtk_sorter_compare (sorter, self->probes[0], self->probes[1]);
  self->ascending = ordering == GTK_ORDERING_SMALLER;
  ef_jobs_page_refresh (self);
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

static void
add_column (EfJobsPage *self,
            Column column)
{
  GtkListItemFactory *factory = gtk_signal_list_item_factory_new ();
  g_autoptr (GtkColumnViewColumn) view_column = NULL;
  g_autoptr (GtkSorter) sorter = NULL;
  SortBy *by = g_new (SortBy, 1);

  by->page = self;
  by->column = column;
  g_signal_connect (factory, "setup", G_CALLBACK (setup_cell_cb), GINT_TO_POINTER (column));
  g_signal_connect (factory, "bind", G_CALLBACK (bind_cell_cb), GINT_TO_POINTER (column));
  view_column = gtk_column_view_column_new (_ (column_titles[column]), factory);
  sorter = GTK_SORTER (gtk_custom_sorter_new (note_column, by, g_free));
  gtk_column_view_column_set_sorter (view_column, sorter);
  gtk_column_view_column_set_resizable (view_column, TRUE);
  gtk_column_view_column_set_expand (view_column, column == COLUMN_FOR || column == COLUMN_PUMP);
  gtk_column_view_append_column (self->view, view_column);
}

static void
open_row (EfJobsPage *self,
          guint position)
{
  g_autoptr (EfJobObject) job = g_list_model_get_item (G_LIST_MODEL (self->rows), position);
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
  gtk_drop_down_set_selected (self->model, 0);
  gtk_drop_down_set_selected (self->finding, 0);
  gtk_drop_down_set_selected (self->standing, 0);
  ef_field_set_text (self->from, NULL);
  ef_field_set_text (self->to, NULL);
  self->refreshing = FALSE;
  gtk_menu_button_popdown (self->filters);
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

static const char *
chosen_name (GtkDropDown *drop_down,
             GStrv names)
{
  guint selected = gtk_drop_down_get_selected (drop_down);

  if (names == NULL || selected == 0 || selected == GTK_INVALID_LIST_POSITION || selected > g_strv_length (names))
    return NULL;

  return names[selected - 1];
}

/* Takes @names. The same name stays chosen where it's still there. */
static void
fill_choice (GtkDropDown *drop_down,
             GStrv *kept,
             GStrv names,
             const char *all,
             char *(*label) (const char *name))
{
  g_autoptr (GtkStringList) words = NULL;
  g_autofree char *chosen = NULL;
  guint selected = 0;

  if (names == NULL || (*kept != NULL && g_strv_equal ((const char *const *) *kept, (const char *const *) names)))
    {
      g_strfreev (names);
      return;
    }
  chosen = g_strdup (chosen_name (drop_down, *kept));
  words = gtk_string_list_new (NULL);
  gtk_string_list_append (words, all);
  for (guint i = 0; names[i] != NULL; i++)
    {
      g_autofree char *word = label (names[i]);

      gtk_string_list_append (words, _ (word));
      if (g_strcmp0 (chosen, names[i]) == 0)
        selected = i + 1;
    }
  g_strfreev (*kept);
  *kept = names;
  gtk_drop_down_set_model (drop_down, G_LIST_MODEL (words));
  gtk_drop_down_set_selected (drop_down, selected);
}

static char *
model_label (const char *name)
{
  return g_strdup (name);
}

static void
fill_choices (EfJobsPage *self)
{
  self->refreshing = TRUE;
  fill_choice (self->model, &self->models, ef_store_job_models (self->store, NULL), _ ("All models"), model_label);
  fill_choice (self->finding, &self->findings, ef_store_job_findings (self->store, NULL), _ ("All findings"), ef_finding_label);
  self->refreshing = FALSE;
}

static void
show_count (EfJobsPage *self,
            gint64 total)
{
  guint n = g_list_model_get_n_items (G_LIST_MODEL (self->rows));
  g_autofree char *text = NULL;

  gtk_stack_set_visible_child_name (self->stack, total == 0 ? "empty" : "list");
  gtk_stack_set_visible_child_name (self->results, n > 0 ? "some" : "none");
  gtk_widget_set_sensitive (self->export_button, n > 0);
  if (n == total)
    text = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u job", "%u jobs", n), n);
  else
    text = g_strdup_printf (_ ("%u of %u jobs"), n, (guint) total);
  gtk_label_set_label (self->count, text);
}

/* The button says how many are on, so that they aren't forgotten in their popover. */
static void
label_filters (EfJobsPage *self,
               const EfJobQuery *query)
{
  guint n = (query->model != NULL) + (query->finding != NULL) + (query->standing != EF_JOBS_ANY);
  g_autofree char *label = n == 0 ? g_strdup (_ ("More filters")) : g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u more filter", "%u more filters", n), n);

  gtk_menu_button_set_label (self->filters, label);
  gtk_widget_set_sensitive (self->clear_filters, n > 0 || query->text != NULL || query->verdict != NULL || query->from != NULL || query->to != NULL);
}

static const EfJobsOrder orders[N_COLUMNS] = {
  [COLUMN_NUMBER] = EF_JOBS_BY_NUMBER, [COLUMN_PUMP] = EF_JOBS_BY_MODEL, [COLUMN_FOR] = EF_JOBS_BY_CUSTOMER,
  [COLUMN_RECEIVED] = EF_JOBS_BY_DAY, [COLUMN_VERDICT] = EF_JOBS_BY_VERDICT, [COLUMN_PRESSURE] = EF_JOBS_BY_PRESSURE,
};

/* What is chosen on the page; FALSE while a date isn't one. The dates are to be freed. */
static gboolean
make_query (EfJobsPage *self,
            EfJobQuery *query,
            char **from,
            char **to)
{
  const char *text = gtk_editable_get_text (GTK_EDITABLE (self->search));

  if (!ef_field_date (self->from, FALSE, from) || !ef_field_date (self->to, FALSE, to))
    return FALSE;
  query->text = text[0] != '\0' ? text : NULL;
  query->verdict = chosen_verdict (self);
  query->from = *from;
  query->to = *to;
  query->model = chosen_name (self->model, self->models);
  query->finding = chosen_name (self->finding, self->findings);
  query->standing = (EfJobsStanding) MIN (gtk_drop_down_get_selected (self->standing), EF_JOBS_SEALED);
  query->order = self->sorted_by >= 0 ? orders[self->sorted_by] : EF_JOBS_BY_DAY;
  query->ascending = self->sorted_by >= 0 && self->ascending;

  return TRUE;
}

/* As they stand in the list. */
static gboolean
write_csv (EfJobsPage *self,
           const char *path,
           GError **error)
{
  EfJobQuery query = { 0 };
  g_autofree char *from = NULL;
  g_autofree char *to = NULL;
  g_autoptr (GArray) ids = NULL;
  g_autoptr (GPtrArray) rows = NULL;
  g_autofree char *text = NULL;

  if (!make_query (self, &query, &from, &to))
    return TRUE;
  ids = ef_store_job_ids (self->store, &query, error);
  rows = ids != NULL ? ef_store_job_rows (self->store, (gint64 *) (gpointer) ids->data, ids->len, error) : NULL;
  if (rows == NULL)
    return FALSE;
  text = ef_jobs_to_csv (rows);

  return g_file_set_contents (path, text, -1, error);
}

void
ef_jobs_page_export (EfJobsPage *self,
                     const char *path)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));
  g_autoptr (GError) error = NULL;
  g_autofree char *name = g_path_get_basename (path);
  g_autofree char *text = NULL;

  text = write_csv (self, path, &error) ? g_strdup_printf (_ ("The jobs shown were written to “%s”."), name) : g_strdup (error->message);
  if (window != NULL)
    ef_window_toast (window, text);
}

static void
export_chosen_cb (GtkWidget *owner,
                  const char *path,
                  gpointer data)
{
  ef_jobs_page_export (EF_JOBS_PAGE (owner), path);
}

static void
export_cb (EfJobsPage *self)
{
  const EfAskPath ask = { .title = _ ("Export CSV"), .accept = _ ("_Export"), .action = GTK_FILE_CHOOSER_ACTION_SAVE, .name = "jobs.csv" };

  ef_ask_path (GTK_WIDGET (self), &ask, export_chosen_cb, NULL, NULL);
}

static void
ef_jobs_page_dispose (GObject *object)
{
  EfJobsPage *self = EF_JOBS_PAGE (object);

  g_signal_handlers_disconnect_by_data (ef_settings_get (), self);
  g_clear_object (&self->rows);
  g_clear_object (&self->probes[0]);
  g_clear_object (&self->probes[1]);
  g_clear_pointer (&self->models, g_strfreev);
  g_clear_pointer (&self->findings, g_strfreev);
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
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, model);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, finding);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, standing);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, clear_filters);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, export_button);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, dates);
  gtk_widget_class_bind_template_child (widget_class, EfJobsPage, filters);
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
  gtk_widget_class_bind_template_callback (widget_class, export_cb);
}

static void
ef_jobs_page_init (EfJobsPage *self)
{
  g_autoptr (GtkStringList) words = gtk_string_list_new (NULL);
  g_autoptr (GtkStringList) standings = gtk_string_list_new (NULL);
  GtkSingleSelection *selection;
  int word;
  Column column;

  gtk_widget_init_template (GTK_WIDGET (self));
  gtk_string_list_append (words, _ ("All verdicts"));
  for (word = 0; word < EF_N_VERDICTS; word++)
    gtk_string_list_append (words, ef_verdict_shown (word));
  gtk_string_list_append (words, ef_verdict_shown (EF_VERDICT_UNKNOWN));
  gtk_drop_down_set_model (self->verdict, G_LIST_MODEL (words));
  gtk_string_list_append (standings, _ ("Open and sealed"));
  gtk_string_list_append (standings, _ ("Open"));
  gtk_string_list_append (standings, _ ("Sealed"));
  gtk_drop_down_set_model (self->standing, G_LIST_MODEL (standings));

  for (column = 0; column < N_COLUMNS; column++)
    add_column (self, column);
  self->sorted_by = -1;
  self->probes[0] = ef_job_object_new (g_new0 (EfJobRow, 1));
  self->probes[1] = ef_job_object_new (g_new0 (EfJobRow, 1));
  g_signal_connect_swapped (gtk_column_view_get_sorter (self->view), "changed", G_CALLBACK (sorting_changed_cb), self);
  self->rows = ef_job_list_new ();
  selection = gtk_single_selection_new (G_LIST_MODEL (g_object_ref (self->rows)));
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
  if (store != self->store)
    ef_job_list_clear (self->rows);
  self->store = store;
  ef_jobs_page_refresh (self);
}

void
ef_jobs_page_refresh (EfJobsPage *self)
{
  EfJobQuery query = { 0 };
  g_autofree char *from = NULL;
  g_autofree char *to = NULL;
  g_autoptr (GError) error = NULL;
  gint64 total;

  if (self->store == NULL || self->refreshing)
    return;
  fill_choices (self);
  if (!make_query (self, &query, &from, &to))
    return;
  label_dates (self, from, to);
  label_filters (self, &query);
  total = ef_job_list_ask (self->rows, self->store, &query, &error) ? ef_store_count (self->store, NULL, &error) : -1;
  if (total < 0)
    {
      EfWindow *window = ef_window_of (GTK_WIDGET (self));

      if (window != NULL)
        ef_window_toast (window, error->message);
      return;
    }
  show_count (self, total);
}

void
ef_jobs_page_search (EfJobsPage *self)
{
  gtk_widget_grab_focus (GTK_WIDGET (self->search));
}

GListModel *
ef_jobs_page_rows (EfJobsPage *self)
{
  return G_LIST_MODEL (self->rows);
}
