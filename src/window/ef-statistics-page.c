/* The page of statistics: what is read, and what is worked out first, happens in workers.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-statistics-page.h"
#include "ef-ask-path.h"
#include "ef-field.h"
#include "ef-look.h"
#include "ef-plain-view.h"
#include "ef-window.h"
#include "../stats/ef-outcome.h"

#include <glib/gi18n.h>

#define PAGE_WIDTH 1100
#define PLOT_HEIGHT 340
#define AT_ONCE 30 /* jobs that are worked out without being asked */

typedef struct
{
  EfStatisticsPage *page; /* borrowed */
  EfStatisticsPlot plot;
  GtkWidget *area, *words, *csv, *picture;
} Card;

struct _EfStatisticsPage
{
  GtkBox parent_instance;

  EfStore *store; /* borrowed */
  GtkWidget *stack, *column;
  GtkDropDown *model;
  GtkMenuButton *dates;
  EfField *from, *to;
  GtkWidget *summary;
  GtkWidget *fill_box, *fill_words, *fill_button, *stop_button, *progress;
  Card cards[EF_N_STATISTICS];

  GPtrArray *models; /* char *: of the choice, by place */
  EfStatistics *statistics;
  GCancellable *reading, *filling;
  gboolean again;     /* asked for while it was being read */
  gboolean filled;    /* worked out once without being asked, for this store */
  gboolean changing;
  guint ticker;
  GMutex lock;        /* of the two below */
  guint done, all;
};

G_DEFINE_FINAL_TYPE (EfStatisticsPage, ef_statistics_page, GTK_TYPE_BOX)

static void start_reading (EfStatisticsPage *self);
static void start_filling (EfStatisticsPage *self);

typedef struct
{
  char *path, *model, *from, *to;
} Question;

static void
question_free (gpointer data)
{
  Question *question = data;

  g_free (question->path);
  g_free (question->model);
  g_free (question->from);
  g_free (question->to);
  g_free (question);
}

static void
tell (EfStatisticsPage *self,
      const char *text)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  if (window != NULL)
    ef_window_toast (window, text);
}

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer user_data)
{
  Card *card = user_data;
  EfDrawStyle style;

  if (card->page->statistics == NULL)
    return;
  ef_look_style (&style);
  ef_draw_statistics (cr, &style, card->page->statistics, card->plot, width, height);
}

static void
show_card (EfStatisticsPage *self,
           Card *card)
{
  g_autofree char *words = ef_statistics_words (self->statistics, card->plot);
  gboolean has = ef_statistics_has (self->statistics, card->plot);
  int height = (int) (PLOT_HEIGHT * ef_look_text_scale ());

  if (card->plot == EF_STATISTICS_WEAR)
    height = (int) ((4 + 2.1 * MAX (ef_statistics_wear_rows (self->statistics), 2)) * 15 * ef_look_text_scale ());
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (card->area), has ? height : 60);
  gtk_label_set_label (GTK_LABEL (card->words), words);
  gtk_accessible_update_property (GTK_ACCESSIBLE (card->area), GTK_ACCESSIBLE_PROPERTY_LABEL, ef_statistics_plot_title (card->plot), GTK_ACCESSIBLE_PROPERTY_DESCRIPTION,
                                  words, -1);
  gtk_widget_set_sensitive (card->csv, has);
  gtk_widget_set_sensitive (card->picture, has);
  gtk_widget_queue_draw (card->area);
}

/* The same model stays chosen where it's still there. */
static void
fill_models (EfStatisticsPage *self)
{
  GPtrArray *models = self->statistics->models;
  guint selected = gtk_drop_down_get_selected (self->model);
  const char *chosen = selected > 0 && self->models != NULL && selected <= self->models->len ? self->models->pdata[selected - 1] : NULL;
  g_autoptr (GtkStringList) words = NULL;
  GPtrArray *kept;
  gboolean same = self->models != NULL && self->models->len == models->len;

  for (guint i = 0; same && i < models->len; i++)
    same = g_str_equal (models->pdata[i], self->models->pdata[i]);
  if (same)
    return;
  words = gtk_string_list_new (NULL);
  kept = g_ptr_array_new_with_free_func (g_free);
  gtk_string_list_append (words, _ ("All models"));
  selected = 0;
  for (guint i = 0; i < models->len; i++)
    {
      gtk_string_list_append (words, models->pdata[i]);
      g_ptr_array_add (kept, g_strdup (models->pdata[i]));
      if (g_strcmp0 (chosen, models->pdata[i]) == 0)
        selected = i + 1;
    }
  self->changing = TRUE;
  g_clear_pointer (&self->models, g_ptr_array_unref);
  self->models = kept;
  gtk_drop_down_set_model (self->model, G_LIST_MODEL (words));
  gtk_drop_down_set_selected (self->model, selected);
  self->changing = FALSE;
}

static void
show_filling (EfStatisticsPage *self)
{
  gboolean running = self->filling != NULL;
  guint stale = self->statistics != NULL ? self->statistics->n_stale : 0;
  g_autofree char *words = NULL;

  if (running)
    words = g_strdup (_ ("Working out jobs…"));
  else
    words = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u job isn't worked out as it stands now, and doesn't count yet.",
                                          "%u jobs aren't worked out as they stand now, and don't count yet.", stale), stale);
  gtk_label_set_label (GTK_LABEL (self->fill_words), words);
  gtk_widget_set_visible (self->fill_box, running || stale > 0);
  gtk_widget_set_visible (self->fill_button, !running);
  gtk_widget_set_visible (self->stop_button, running);
  gtk_widget_set_visible (self->progress, running);
}

static void
show (EfStatisticsPage *self)
{
  const EfStatistics *statistics = self->statistics;
  g_autoptr (GString) text = g_string_new (NULL);

  fill_models (self);
  g_string_append_printf (text, g_dngettext (GETTEXT_PACKAGE, "%u job, %u worked out.", "%u jobs, %u worked out.", statistics->n_jobs), statistics->n_jobs, statistics->n_known);
  if (statistics->n_rule_sets > 1)
    g_string_append_printf (text, _ (" Judged by %u rule sets: less comparable."), statistics->n_rule_sets);
  gtk_label_set_label (GTK_LABEL (self->summary), text->str);
  gtk_stack_set_visible_child_name (GTK_STACK (self->stack), statistics->models->len > 0 ? "plots" : "empty");
  for (guint i = 0; i < EF_N_STATISTICS; i++)
    show_card (self, &self->cards[i]);
  show_filling (self);
}

static void
read_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  const Question *question = task_data;
  const EfStatisticsQuery query = { question->model, question->from, question->to, NULL };
  GError *error = NULL;
  EfStatistics *statistics = ef_statistics_read (question->path, &query, cancellable, &error);

  if (statistics != NULL)
    g_task_return_pointer (task, statistics, (GDestroyNotify) ef_statistics_free);
  else
    g_task_return_error (task, error);
}

/* Takes the reference that was given as user data. */
static void
read_cb (GObject *source,
         GAsyncResult *result,
         gpointer user_data)
{
  g_autoptr (EfStatisticsPage) self = user_data;
  g_autoptr (GError) error = NULL;
  EfStatistics *statistics = g_task_propagate_pointer (G_TASK (result), &error);
  gboolean current = self->reading != NULL && !g_cancellable_is_cancelled (self->reading) && self->store != NULL;

  g_clear_object (&self->reading);
  if (current && statistics != NULL && !self->again)
    {
      g_clear_pointer (&self->statistics, ef_statistics_free);
      self->statistics = g_steal_pointer (&statistics);
      show (self);
      if (!self->filled && self->statistics->n_stale > 0 && self->statistics->n_stale <= AT_ONCE && self->filling == NULL)
        start_filling (self);
    }
  else if (current && error != NULL)
    tell (self, error->message);
  g_clear_pointer (&statistics, ef_statistics_free);
  if (self->again)
    {
      self->again = FALSE;
      start_reading (self);
    }
}

static void
start_reading (EfStatisticsPage *self)
{
  g_autoptr (GTask) task = NULL;
  Question *question;
  guint selected = gtk_drop_down_get_selected (self->model);
  g_autofree char *from = NULL;
  g_autofree char *to = NULL;

  if (self->store == NULL || self->changing || !ef_field_date (self->from, FALSE, &from) || !ef_field_date (self->to, FALSE, &to))
    return;
  if (self->reading != NULL)
    {
      self->again = TRUE;
      return;
    }
  question = g_new0 (Question, 1);
  question->path = g_strdup (ef_store_path (self->store));
  question->model = selected > 0 && self->models != NULL && selected <= self->models->len ? g_strdup (self->models->pdata[selected - 1]) : NULL;
  question->from = g_steal_pointer (&from);
  question->to = g_steal_pointer (&to);
  self->reading = g_cancellable_new ();
  task = g_task_new (NULL, self->reading, read_cb, g_object_ref (self));
  g_task_set_source_tag (task, start_reading);
  g_task_set_task_data (task, question, question_free);
  g_task_run_in_thread (task, read_thread);
}

static void
progress_cb (guint done,
             guint all,
             gpointer user_data)
{
  EfStatisticsPage *self = user_data;

  g_mutex_lock (&self->lock);
  self->done = done;
  self->all = all;
  g_mutex_unlock (&self->lock);
}

static gboolean
tick_cb (gpointer user_data)
{
  EfStatisticsPage *self = user_data;
  g_autofree char *text = NULL;
  guint done, all;

  g_mutex_lock (&self->lock);
  done = self->done;
  all = self->all;
  g_mutex_unlock (&self->lock);
  text = g_strdup_printf (_ ("%u of %u jobs"), done, all);
  gtk_progress_bar_set_fraction (GTK_PROGRESS_BAR (self->progress), all > 0 ? (double) done / all : 0);
  gtk_progress_bar_set_text (GTK_PROGRESS_BAR (self->progress), text);

  return G_SOURCE_CONTINUE;
}

typedef struct
{
  EfStatisticsPage *page; /* held by the task's callback */
  char *path;
} Fill;

static void
fill_free (gpointer data)
{
  g_free (((Fill *) data)->path);
  g_free (data);
}

static void
fill_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  Fill *fill = task_data;
  GError *error = NULL;
  guint failed = 0;

  if (ef_outcomes_fill (fill->path, 0, progress_cb, fill->page, &failed, cancellable, &error) < 0)
    g_task_return_error (task, error);
  else
    g_task_return_int (task, failed);
}

static void
fill_cb (GObject *source,
         GAsyncResult *result,
         gpointer user_data)
{
  g_autoptr (EfStatisticsPage) self = user_data;
  g_autoptr (GError) error = NULL;
  gssize failed = g_task_propagate_int (G_TASK (result), &error);
  g_autofree char *text = NULL;

  g_clear_object (&self->filling);
  g_clear_handle_id (&self->ticker, g_source_remove);
  if (self->store == NULL || self->stack == NULL)
    return;
  if (error != NULL && !g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED))
    tell (self, error->message);
  else if (failed > 0)
    {
      text = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%d job can't be assessed and doesn't count.", "%d jobs can't be assessed and don't count.", (int) failed), (int) failed);
      tell (self, text);
    }
  show_filling (self);
  start_reading (self);
}

static void
start_filling (EfStatisticsPage *self)
{
  g_autoptr (GTask) task = NULL;
  Fill *fill;

  if (self->store == NULL || self->filling != NULL)
    return;
  self->filled = TRUE;
  self->done = self->all = 0;
  fill = g_new0 (Fill, 1);
  fill->page = self;
  fill->path = g_strdup (ef_store_path (self->store));
  self->filling = g_cancellable_new ();
  self->ticker = g_timeout_add (200, tick_cb, self);
  task = g_task_new (NULL, self->filling, fill_cb, g_object_ref (self));
  g_task_set_source_tag (task, start_filling);
  g_task_set_check_cancellable (task, FALSE);
  g_task_set_task_data (task, fill, fill_free);
  g_task_run_in_thread (task, fill_thread);
  show_filling (self);
}

static void
stop_cb (EfStatisticsPage *self)
{
  if (self->filling != NULL)
    g_cancellable_cancel (self->filling);
}

static void
filter_cb (EfStatisticsPage *self)
{
  g_autofree char *from = NULL;
  g_autofree char *to = NULL;

  if (self->changing)
    return;
  if (ef_field_date (self->from, FALSE, &from) && ef_field_date (self->to, FALSE, &to))
    {
      g_autofree char *label = from == NULL && to == NULL ? g_strdup (_ ("Received any time"))
                                                           : g_strdup_printf (_ ("Received %s to %s"), from != NULL ? from : "…", to != NULL ? to : "…");

      gtk_menu_button_set_label (self->dates, label);
    }
  start_reading (self);
}

void
ef_statistics_page_export (EfStatisticsPage *self,
                           EfStatisticsPlot plot,
                           const char *path)
{
  g_autofree char *lower = g_ascii_strdown (path, -1);
  g_autofree char *name = g_path_get_basename (path);
  g_autofree char *text = NULL;
  g_autofree char *csv = NULL;
  g_autoptr (GError) error = NULL;
  gboolean done;

  g_return_if_fail (EF_IS_STATISTICS_PAGE (self));
  if (self->statistics == NULL)
    return;
  if (g_str_has_suffix (lower, ".png") || g_str_has_suffix (lower, ".svg"))
    done = ef_picture_write_statistics (self->statistics, plot, path, 1200, 800, &error);
  else
    {
      csv = ef_statistics_csv (self->statistics, plot);
      done = g_file_set_contents (path, csv, -1, &error);
    }
  text = done ? g_strdup_printf (_ ("Written to “%s”."), name) : g_strdup (error->message);
  tell (self, text);
}

static void
export_chosen_cb (GtkWidget *owner,
                  const char *path,
                  gpointer data)
{
  ef_statistics_page_export (EF_STATISTICS_PAGE (owner), GPOINTER_TO_INT (data), path);
}

static void
ask_export (Card *card,
            const char *ending)
{
  g_autofree char *name = g_strdup_printf ("%s.%s", ef_statistics_plot_name (card->plot), ending);
  const EfAskPath ask = { .title = ef_statistics_plot_title (card->plot), .accept = _ ("_Export"), .action = GTK_FILE_CHOOSER_ACTION_SAVE, .name = name };

  ef_ask_path (GTK_WIDGET (card->page), &ask, export_chosen_cb, GINT_TO_POINTER (card->plot), NULL);
}

static void
csv_cb (Card *card)
{
  ask_export (card, "csv");
}

static void
picture_cb (Card *card)
{
  ask_export (card, "svg");
}

static void
map_cb (EfStatisticsPage *self)
{
  start_reading (self);
}

static void
ef_statistics_page_dispose (GObject *object)
{
  EfStatisticsPage *self = EF_STATISTICS_PAGE (object);

  g_clear_handle_id (&self->ticker, g_source_remove);
  if (self->reading != NULL)
    g_cancellable_cancel (self->reading);
  if (self->filling != NULL)
    g_cancellable_cancel (self->filling);
  self->store = NULL;
  self->stack = NULL;
  G_OBJECT_CLASS (ef_statistics_page_parent_class)->dispose (object);
}

static void
ef_statistics_page_finalize (GObject *object)
{
  EfStatisticsPage *self = EF_STATISTICS_PAGE (object);

  g_clear_object (&self->reading);
  g_clear_object (&self->filling);
  g_clear_pointer (&self->models, g_ptr_array_unref);
  g_clear_pointer (&self->statistics, ef_statistics_free);
  g_mutex_clear (&self->lock);
  G_OBJECT_CLASS (ef_statistics_page_parent_class)->finalize (object);
}

static void
ef_statistics_page_class_init (EfStatisticsPageClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_statistics_page_dispose;
  G_OBJECT_CLASS (klass)->finalize = ef_statistics_page_finalize;
}

static GtkWidget *
make_button (const char *label,
             GCallback callback,
             gpointer data)
{
  GtkWidget *button = gtk_button_new_with_mnemonic (label);

  gtk_widget_add_css_class (button, "ef-touch");
  g_signal_connect_swapped (button, "clicked", callback, data);

  return button;
}

static GtkWidget *
make_dates (EfStatisticsPage *self)
{
  GtkWidget *popover = gtk_popover_new ();
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 12, "margin-start", 12, "margin-end", 12, "margin-top", 12,
                                 "margin-bottom", 12, NULL);

  self->from = EF_FIELD (ef_field_new (_ ("Received from")));
  self->to = EF_FIELD (ef_field_new (_ ("Received until")));
  g_object_set (self->from, "placeholder", _ ("2026-01-01"), NULL);
  g_object_set (self->to, "placeholder", _ ("2026-12-31"), NULL);
  g_signal_connect_swapped (self->from, "edited", G_CALLBACK (filter_cb), self);
  g_signal_connect_swapped (self->to, "edited", G_CALLBACK (filter_cb), self);
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (self->from));
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (self->to));
  gtk_popover_set_child (GTK_POPOVER (popover), box);
  self->dates = GTK_MENU_BUTTON (gtk_menu_button_new ());
  gtk_menu_button_set_label (self->dates, _ ("Received any time"));
  gtk_menu_button_set_popover (self->dates, popover);
  gtk_widget_set_tooltip_text (GTK_WIDGET (self->dates), _ ("Count jobs received between two dates"));
  gtk_widget_add_css_class (GTK_WIDGET (self->dates), "ef-touch");

  return GTK_WIDGET (self->dates);
}

static GtkWidget *
make_filters (EfStatisticsPage *self)
{
  GtkWidget *row = g_object_new (GTK_TYPE_BOX, "spacing", 12, "margin-start", 18, "margin-end", 18, "margin-top", 12, "margin-bottom", 12, NULL);
  const char *const words[] = { _ ("All models"), NULL };

  self->model = GTK_DROP_DOWN (gtk_drop_down_new_from_strings (words));
  gtk_widget_add_css_class (GTK_WIDGET (self->model), "ef-touch");
  gtk_widget_set_tooltip_text (GTK_WIDGET (self->model), _ ("Count jobs of this pump model"));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->model), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Model"), -1);
  g_signal_connect_swapped (self->model, "notify::selected", G_CALLBACK (filter_cb), self);
  self->summary = ef_plain_text ("", "dim-label");
  gtk_widget_set_hexpand (self->summary, TRUE);
  gtk_box_append (GTK_BOX (row), GTK_WIDGET (self->model));
  gtk_box_append (GTK_BOX (row), make_dates (self));
  gtk_box_append (GTK_BOX (row), self->summary);

  return row;
}

static GtkWidget *
make_fill (EfStatisticsPage *self)
{
  self->fill_box = g_object_new (GTK_TYPE_BOX, "spacing", 12, "margin-start", 18, "margin-end", 18, "margin-bottom", 12, "visible", FALSE, NULL);
  self->fill_words = ef_plain_text ("", NULL);
  gtk_widget_set_hexpand (self->fill_words, TRUE);
  self->progress = g_object_new (GTK_TYPE_PROGRESS_BAR, "show-text", TRUE, "valign", GTK_ALIGN_CENTER, "width-request", 200, NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->progress), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Jobs worked out so far"), -1);
  self->fill_button = make_button (_ ("_Work Them Out"), G_CALLBACK (start_filling), self);
  self->stop_button = make_button (_ ("_Stop"), G_CALLBACK (stop_cb), self);
  gtk_box_append (GTK_BOX (self->fill_box), self->fill_words);
  gtk_box_append (GTK_BOX (self->fill_box), self->progress);
  gtk_box_append (GTK_BOX (self->fill_box), self->fill_button);
  gtk_box_append (GTK_BOX (self->fill_box), self->stop_button);

  return self->fill_box;
}

static void
make_card (EfStatisticsPage *self,
           EfStatisticsPlot plot)
{
  Card *card = &self->cards[plot];
  GtkWidget *box = ef_plain_card (self->column, ef_statistics_plot_title (plot));
  GtkWidget *buttons = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);

  card->page = self;
  card->plot = plot;
  card->area = g_object_new (GTK_TYPE_DRAWING_AREA, "accessible-role", GTK_ACCESSIBLE_ROLE_IMG, "hexpand", TRUE, NULL);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (card->area), draw_cb, card, NULL);
  ef_look_follow (card->area);
  card->words = ef_plain_text ("", NULL);
  card->csv = make_button (_ ("Export CSV…"), G_CALLBACK (csv_cb), card);
  card->picture = make_button (_ ("Export Picture…"), G_CALLBACK (picture_cb), card);
  gtk_box_append (GTK_BOX (buttons), card->csv);
  gtk_box_append (GTK_BOX (buttons), card->picture);
  gtk_box_append (GTK_BOX (box), card->area);
  gtk_box_append (GTK_BOX (box), card->words);
  gtk_box_append (GTK_BOX (box), buttons);
}

static void
ef_statistics_page_init (EfStatisticsPage *self)
{
  GtkWidget *plots = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *empty = g_object_new (ADW_TYPE_STATUS_PAGE, "icon-name", "ef-statistics-symbolic", "title", _ ("No jobs yet"), "description",
                                   _ ("Once there are jobs, this page tells what wears out on which model, how end clearance grows with running hours, and how often rework held."), NULL);

  g_mutex_init (&self->lock);
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  self->stack = gtk_stack_new ();
  gtk_widget_set_vexpand (self->stack, TRUE);
  gtk_box_append (GTK_BOX (plots), make_filters (self));
  gtk_box_append (GTK_BOX (plots), make_fill (self));
  self->column = ef_plain_view_new (GTK_BOX (plots), PAGE_WIDTH);
  for (EfStatisticsPlot plot = 0; plot < EF_N_STATISTICS; plot++)
    make_card (self, plot);
  gtk_stack_add_named (GTK_STACK (self->stack), empty, "empty");
  gtk_stack_add_named (GTK_STACK (self->stack), plots, "plots");
  gtk_box_append (GTK_BOX (self), self->stack);
  g_signal_connect (self, "map", G_CALLBACK (map_cb), NULL);
}

void
ef_statistics_page_set_store (EfStatisticsPage *self,
                              EfStore *store)
{
  if (store != self->store)
    {
      if (self->reading != NULL)
        g_cancellable_cancel (self->reading);
      if (self->filling != NULL)
        g_cancellable_cancel (self->filling);
      self->filled = FALSE;
    }
  self->store = store;
  ef_statistics_page_refresh (self);
}

void
ef_statistics_page_refresh (EfStatisticsPage *self)
{
  if (gtk_widget_get_mapped (GTK_WIDGET (self)))
    start_reading (self);
}

gboolean
ef_statistics_page_busy (EfStatisticsPage *self)
{
  return self->reading != NULL || self->filling != NULL;
}

const EfStatistics *
ef_statistics_page_statistics (EfStatisticsPage *self)
{
  return self->statistics;
}
