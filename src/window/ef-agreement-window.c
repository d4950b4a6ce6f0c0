/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-agreement-window.h"

#include "ef-ask-path.h"
#include "ef-look.h"
#include "ef-plain-view.h"
#include "ef-window.h"

#include "../draw/ef-draw-study.h"
#include "../lesson/ef-lesson-ratings.h"
#include "../record/ef-store-lessons.h"

#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

#define WIDTH 980
#define HEIGHT 760
#define COLUMN 900
#define PICTURE_HEIGHT 250
#define MARGIN 18 /* px above results that are scrolled to */
#define POOL 0.25 /* p above which the interaction counts as repeating: common practice */
#define MOST_BYTES (8 * 1024 * 1024)

/* One side of the window: a table as text, and what follows from it. */
typedef struct
{
  GtkWidget *column, *text, *problem, *results;
} Side;

struct _EfAgreementWindow
{
  AdwWindow parent_instance;

  Side study, ratings;
  GtkWidget *stack;
  GtkWidget *lessons;   /* drop-down; hidden where there are none */
  GPtrArray *lesson_rows; /* EfLessonRow *, as in the drop-down */
  EfStore *store;       /* borrowed from the application; NULL */
  EfStudyTable *table;
  EfGaugeStudyRange range;
  EfGaugeStudyVariance variance;
  EfRatingTable *rating_table;
  EfRatingSummary *summary;
};

G_DEFINE_FINAL_TYPE (EfAgreementWindow, ef_agreement_window, ADW_TYPE_WINDOW)

static const char study_example[] = "part,appraiser,trial,value\nplate 1,bench 1,1,0.142\nplate 1,bench 1,2,0.144\nplate 1,bench 2,1,0.146\nplate 1,bench 2,2,0.143\n"
                                    "plate 2,bench 1,1,0.161\nplate 2,bench 1,2,0.160\nplate 2,bench 2,1,0.165\nplate 2,bench 2,2,0.163\n"
                                    "plate 3,bench 1,1,0.118\nplate 3,bench 1,2,0.121\nplate 3,bench 2,1,0.122\nplate 3,bench 2,2,0.121\n";
static const char ratings_example[] = "item,rater,category,rule\nplate 1,trainer,rework,plate-groove\nplate 1,bench 1,rework,plate-groove\nplate 1,bench 2,scrap,plate-groove\n"
                                      "gear 1,trainer,use-again,gear-imprint\ngear 1,bench 1,use-again,gear-imprint\ngear 1,bench 2,use-again,gear-imprint\n"
                                      "gear 2,trainer,scrap,flank-flat\ngear 2,bench 1,use-again,flank-flat\ngear 2,bench 2,scrap,flank-flat\n"
                                      "housing 1,trainer,measure-again,wall-lip-suction\nhousing 1,bench 1,rework,wall-lip-suction\nhousing 1,bench 2,use-again,wall-lip-suction\n";

static void
tell (Side *side,
      const char *text)
{
  gtk_label_set_label (GTK_LABEL (side->problem), text != NULL ? text : "");
  gtk_widget_set_visible (side->problem, text != NULL);
  gtk_widget_set_visible (side->results, text == NULL);
}

/* Once laid out, what was asked for is in view: with large text it would be below what it was asked with. */
static gboolean
reveal_cb (GtkWidget *results,
           GdkFrameClock *clock,
           gpointer data)
{
  GtkWidget *viewport = gtk_widget_get_ancestor (results, GTK_TYPE_VIEWPORT);
  GtkAdjustment *at = gtk_scrollable_get_vadjustment (GTK_SCROLLABLE (viewport));
  graphene_point_t top;

  if (gtk_widget_get_height (results) <= 1)
    return G_SOURCE_CONTINUE;
  if (gtk_widget_compute_point (results, viewport, &GRAPHENE_POINT_INIT (0, 0), &top) && top.y > gtk_widget_get_height (viewport) / 2)
    gtk_adjustment_set_value (at, gtk_adjustment_get_value (at) + top.y - MARGIN);

  return G_SOURCE_REMOVE;
}

static void
reveal (Side *side)
{
  gtk_widget_add_tick_callback (side->results, reveal_cb, NULL, NULL);
}

/* --- Pictures ----------------------------------------------------------------------------------------------------------------------- */

static void
draw_study_cb (GtkDrawingArea *area,
               cairo_t *cr,
               int width,
               int height,
               gpointer data)
{
  EfAgreementWindow *self = EF_AGREEMENT_WINDOW (gtk_widget_get_ancestor (GTK_WIDGET (area), EF_TYPE_AGREEMENT_WINDOW));
  EfDrawStyle style;

  if (self == NULL || self->table == NULL)
    return;
  ef_look_style (&style);
  ef_draw_study (cr, &style, GPOINTER_TO_INT (data), self->table, &self->range, &self->variance, width, height);
}

static void
draw_rules_cb (GtkDrawingArea *area,
               cairo_t *cr,
               int width,
               int height,
               gpointer data)
{
  EfAgreementWindow *self = data;
  EfDrawStyle style;

  if (self->summary == NULL)
    return;
  ef_look_style (&style);
  ef_draw_rules_disagreed (cr, &style, self->summary, width, height);
}

static void
draw_kappas_cb (GtkDrawingArea *area,
                cairo_t *cr,
                int width,
                int height,
                gpointer data)
{
  EfAgreementWindow *self = data;
  EfDrawStyle style;

  if (self->summary == NULL)
    return;
  ef_look_style (&style);
  ef_draw_kappas (cr, &style, self->rating_table, self->summary, width, height);
}

static void
add_picture (GtkWidget *card,
             GtkDrawingAreaDrawFunc func,
             gpointer data,
             double height,
             const char *name)
{
  GtkWidget *area = gtk_drawing_area_new ();

  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (area), (int) ceil (height));
  gtk_widget_set_hexpand (area, TRUE);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (area), func, data, NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (area), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  ef_look_follow (area);
  gtk_box_append (GTK_BOX (card), area);
}

/* --- Gauge study -------------------------------------------------------------------------------------------------------------------- */

static double
percent (const EfGaugeComponents *c,
         double value)
{
  return c->total > 0 ? 100 * value / c->total : NAN;
}

static char *
number (double value)
{
  return isfinite (value) ? g_strdup_printf ("%.4g", value) : g_strdup ("–");
}

static void
put_cell (GtkWidget *grid,
          const char *text,
          int column,
          int row,
          gboolean heading)
{
  GtkWidget *label = gtk_label_new (text);

  gtk_label_set_xalign (GTK_LABEL (label), column == 0 ? 0 : 1);
  gtk_widget_set_hexpand (label, column == 0);
  gtk_widget_add_css_class (label, heading ? "heading" : "numeric");
  gtk_grid_attach (GTK_GRID (grid), label, column, row, 1, 1);
}

/* Both methods side by side. */
static GtkWidget *
study_grid (EfAgreementWindow *self)
{
  const EfGaugeComponents *a = &self->range.components, *b = &self->variance.components;
  const struct
  {
    const char *words;
    double one, other;
  } rows[] = {
    { N_ ("Repeating (equipment)"), a->equipment, b->equipment }, { N_ ("Who reads it (appraiser)"), a->appraiser, b->appraiser },
    { N_ ("Who at which part"), a->interaction, b->interaction }, { N_ ("Gauge in all (GRR)"), a->grr, b->grr },
    { N_ ("Parts"), a->part, b->part }, { N_ ("Total"), a->total, b->total },
    { N_ ("GRR, % of the total"), percent (a, a->grr), percent (b, b->grr) },
  };
  GtkWidget *grid = gtk_grid_new ();
  g_autofree char *one = number (floor (a->distinct)), *other = number (floor (b->distinct));

  gtk_grid_set_row_spacing (GTK_GRID (grid), 4);
  gtk_grid_set_column_spacing (GTK_GRID (grid), 24);
  put_cell (grid, _ ("Standard deviation"), 0, 0, TRUE);
  put_cell (grid, _ ("Average and range"), 1, 0, TRUE);
  put_cell (grid, _ ("Analysis of variance"), 2, 0, TRUE);
  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      g_autofree char *left = number (rows[i].one), *right = number (rows[i].other);

      put_cell (grid, _ (rows[i].words), 0, (int) i + 1, FALSE);
      put_cell (grid, left, 1, (int) i + 1, FALSE);
      put_cell (grid, right, 2, (int) i + 1, FALSE);
    }
  put_cell (grid, _ ("Distinct categories"), 0, G_N_ELEMENTS (rows) + 1, FALSE);
  put_cell (grid, one, 1, G_N_ELEMENTS (rows) + 1, FALSE);
  put_cell (grid, other, 2, G_N_ELEMENTS (rows) + 1, FALSE);

  return grid;
}

/* What it means. The limits of 10 and 30 % and of 5 categories are those of Measurement Systems Analysis, 4th edition (AIAG 2010). */
static char *
study_words (EfAgreementWindow *self)
{
  const EfGaugeComponents *c = &self->variance.components;
  double share = percent (c, c->grr);
  const char *word = share < 10 ? _ ("The gauge is good enough for these parts") : share <= 30 ? _ ("The gauge may do, depending on what hangs on it") : _ ("The gauge is too coarse, or people read it too differently");

  return g_strdup_printf (_ ("%s: by analysis of variance %.1f %% of the scatter is the gauge's, and %.0f categories can be told apart (5 or more are wanted)."), word, share,
                          isfinite (c->distinct) ? floor (c->distinct) : 0.0);
}

static void
show_study (EfAgreementWindow *self)
{
  GtkWidget *card;
  g_autofree char *words = study_words (self);
  g_autofree char *head = g_strdup_printf (_ ("%u parts, %u appraisers, %u trials"), self->table->parts->len, self->table->appraisers->len, self->table->readings.n_trials);

  ef_plain_clear (self->study.results);
  card = ef_plain_card (self->study.results, head);
  gtk_box_append (GTK_BOX (card), ef_plain_text (words, NULL));
  gtk_box_append (GTK_BOX (card), study_grid (self));
  if (self->variance.pooled)
    gtk_box_append (GTK_BOX (card), ef_plain_text (_ ("Who at which part makes no difference that could be told from chance: it's counted with repeating."), "dim-label"));
  for (int picture = 0; picture < EF_N_STUDY_PICTURES; picture++)
    {
      card = ef_plain_card (self->study.results, _ (ef_study_picture_title (picture)));
      add_picture (card, draw_study_cb, GINT_TO_POINTER (picture), picture == EF_STUDY_SHARES ? 13.5 * 1.7 * 13 * ef_look_text_scale () : PICTURE_HEIGHT, _ (ef_study_picture_title (picture)));
    }
  tell (&self->study, NULL);
  reveal (&self->study);
}

gboolean
ef_agreement_window_set_study (EfAgreementWindow *self,
                               const char *text,
                               const char *file)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStudyTable) table = ef_study_table_parse (text, file, &error);

  if (table == NULL || !ef_gauge_study_range (&table->readings, &self->range, &error) || !ef_gauge_study_variance (&table->readings, POOL, &self->variance, &error))
    {
      tell (&self->study, error->message);
      return FALSE;
    }
  g_clear_pointer (&self->table, ef_study_table_free);
  self->table = g_steal_pointer (&table);
  show_study (self);

  return TRUE;
}

/* --- Ratings ------------------------------------------------------------------------------------------------------------------------ */

static char *
kappa_words (const EfKappa *kappa)
{
  if (!isfinite (kappa->kappa))
    return g_strdup ("–");
  if (!isfinite (kappa->low))
    return g_strdup_printf ("%.2f", kappa->kappa);

  return g_strdup_printf (_ ("%.2f (%.2f to %.2f)"), kappa->kappa, kappa->low, kappa->high);
}

static GtkWidget *
pairs_grid (EfAgreementWindow *self)
{
  GtkWidget *grid = gtk_grid_new ();

  gtk_grid_set_row_spacing (GTK_GRID (grid), 4);
  gtk_grid_set_column_spacing (GTK_GRID (grid), 24);
  put_cell (grid, _ ("Two people"), 0, 0, TRUE);
  put_cell (grid, _ ("Items"), 1, 0, TRUE);
  put_cell (grid, _ ("Kappa (95 %)"), 2, 0, TRUE);
  put_cell (grid, _ ("Weighted by steps (95 %)"), 3, 0, TRUE);
  for (guint i = 0; i < self->summary->pairs->len; i++)
    {
      const EfRaterPair *pair = &g_array_index (self->summary->pairs, EfRaterPair, i);
      g_autofree char *names = g_strdup_printf ("%s – %s", (char *) self->rating_table->raters->pdata[pair->a], (char *) self->rating_table->raters->pdata[pair->b]);
      g_autofree char *n = g_strdup_printf ("%u", pair->n), *plain = kappa_words (&pair->plain), *weighted = kappa_words (&pair->weighted);

      put_cell (grid, names, 0, (int) i + 1, FALSE);
      put_cell (grid, n, 1, (int) i + 1, FALSE);
      put_cell (grid, plain, 2, (int) i + 1, FALSE);
      put_cell (grid, weighted, 3, (int) i + 1, FALSE);
    }

  return grid;
}

static char *
ratings_words (EfAgreementWindow *self)
{
  const EfRuleDisagreement *worst = &g_array_index (self->summary->rules, EfRuleDisagreement, 0);
  g_autofree char *all = self->summary->has_all ? kappa_words (&self->summary->all.all) : NULL;
  GString *text = g_string_new (NULL);

  if (all != NULL)
    g_string_append_printf (text, _ ("Fleiss' kappa of all: %s; 0 is chance, 1 full agreement."), all);
  else
    g_string_append (text, _ ("Not everybody rated every item, so there's no kappa of all; pairs are of what both rated."));
  if (worst->pairs > 0 && worst->differ > 0)
    g_string_append_printf (text, _ (" People disagree most on %s: %u of %u pairs chose differently."), *worst->rule != '\0' ? worst->rule : _ ("items without a rule"), worst->differ, worst->pairs);

  return g_string_free (text, FALSE);
}

static void
show_ratings (EfAgreementWindow *self)
{
  GtkWidget *card;
  EfDrawStyle style;
  g_autofree char *words = ratings_words (self);
  g_autofree char *head = g_strdup_printf (_ ("%u items, %u people, %u categories"), self->rating_table->items->len, self->rating_table->raters->len, self->rating_table->categories->len);

  ef_look_style (&style);
  ef_plain_clear (self->ratings.results);
  card = ef_plain_card (self->ratings.results, head);
  gtk_box_append (GTK_BOX (card), ef_plain_text (words, NULL));
  gtk_box_append (GTK_BOX (card), pairs_grid (self));
  card = ef_plain_card (self->ratings.results, _ ("Weighted kappa with its 95 % interval"));
  add_picture (card, draw_kappas_cb, self, ef_draw_kappas_height (&style, self->summary), _ ("Weighted kappa with its 95 % interval"));
  card = ef_plain_card (self->ratings.results, _ ("Which rule people disagree on"));
  add_picture (card, draw_rules_cb, self, ef_draw_rules_height (&style, self->summary), _ ("Which rule people disagree on"));
  tell (&self->ratings, NULL);
  reveal (&self->ratings);
}

gboolean
ef_agreement_window_take_ratings (EfAgreementWindow *self,
                                  EfRatingTable *table)
{
  g_autoptr (GError) error = NULL;
  EfRatingSummary *summary = ef_rating_summary_new (table, &error);

  if (summary == NULL)
    {
      ef_rating_table_free (table);
      tell (&self->ratings, error->message);
      return FALSE;
    }
  g_clear_pointer (&self->summary, ef_rating_summary_free);
  g_clear_pointer (&self->rating_table, ef_rating_table_free);
  self->summary = summary;
  self->rating_table = table;
  show_ratings (self);

  return TRUE;
}

gboolean
ef_agreement_window_set_ratings (EfAgreementWindow *self,
                                 const char *text,
                                 const char *file)
{
  g_autoptr (GError) error = NULL;
  EfRatingTable *table = ef_rating_table_parse (text, file, &error);

  if (table == NULL)
    {
      tell (&self->ratings, error->message);
      return FALSE;
    }

  return ef_agreement_window_take_ratings (self, table);
}

/* --- Attempts at a lesson ------------------------------------------------------------------------------------------------------------ */

typedef struct
{
  EfLesson *lesson;
  GPtrArray *attempts; /* EfAttempt * */
} Gathered;

static void
gathered_free (gpointer data)
{
  Gathered *gathered = data;

  g_clear_pointer (&gathered->lesson, ef_lesson_free);
  g_ptr_array_unref (gathered->attempts);
  g_free (gathered);
}

/* Those handed in at this version of it, first come first. */
static Gathered *
gather (EfStore *store,
        const EfLessonRow *row,
        GError **error)
{
  g_autoptr (EfLessonRow) whole = ef_store_lesson (store, row->name, error);
  g_autoptr (GPtrArray) rows = whole != NULL ? ef_store_attempts (store, NULL, error) : NULL;
  Gathered *gathered = g_new0 (Gathered, 1);

  gathered->attempts = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_attempt_free);
  gathered->lesson = rows != NULL ? ef_lesson_parse (whole->body, -1, row->title, error) : NULL;
  for (guint i = gathered->lesson != NULL ? rows->len : 0; i > 0; i--)
    {
      const EfAttemptRow *one = rows->pdata[i - 1];
      g_autoptr (EfDocument) document = NULL;

      if (!g_str_equal (one->lesson, whole->digest) || one->handed_in == NULL || *one->handed_in == '\0')
        continue;
      document = ef_store_open_document (store, one->job, error);
      if (document == NULL)
        {
          gathered_free (gathered);
          return NULL;
        }
      g_ptr_array_add (gathered->attempts, ef_attempt_new (one->lesson, one->title, one->apprentice, one->started, one->handed_in, ef_document_inspection (document)));
    }
  if (gathered->lesson != NULL)
    return gathered;
  gathered_free (gathered);

  return NULL;
}

static void
ratings_thread (GTask *task,
                gpointer source,
                gpointer task_data,
                GCancellable *cancellable)
{
  Gathered *gathered = task_data;
  GError *error = NULL;
  EfRatingTable *table = ef_lesson_ratings (gathered->lesson, gathered->attempts, &error);

  if (table == NULL)
    g_task_return_error (task, error);
  else
    g_task_return_pointer (task, table, (GDestroyNotify) ef_rating_table_free);
}

static void
ratings_done_cb (GObject *source,
                 GAsyncResult *result,
                 gpointer user_data)
{
  EfAgreementWindow *self = EF_AGREEMENT_WINDOW (source);
  g_autoptr (GError) error = NULL;
  EfRatingTable *table = g_task_propagate_pointer (G_TASK (result), &error);

  if (table != NULL)
    ef_agreement_window_take_ratings (self, table);
  else
    tell (&self->ratings, error->message);
}

static void
attempts_cb (GtkWidget *button)
{
  EfAgreementWindow *self = EF_AGREEMENT_WINDOW (gtk_widget_get_ancestor (button, EF_TYPE_AGREEMENT_WINDOW));
  guint chosen = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->lessons));
  g_autoptr (GError) error = NULL;
  g_autoptr (GTask) task = NULL;
  Gathered *gathered;

  if (chosen >= self->lesson_rows->len)
    return;
  gathered = gather (self->store, self->lesson_rows->pdata[chosen], &error);
  if (gathered == NULL)
    {
      tell (&self->ratings, error->message);
      return;
    }
  task = g_task_new (self, NULL, ratings_done_cb, NULL);
  g_task_set_source_tag (task, attempts_cb);
  g_task_set_task_data (task, gathered, gathered_free);
  g_task_run_in_thread (task, ratings_thread);
}

static void
offer_lessons (EfAgreementWindow *self,
               EfStore *store)
{
  g_autoptr (GPtrArray) rows = store != NULL ? ef_store_lessons (store, FALSE, NULL) : NULL;
  GtkStringList *titles = gtk_string_list_new (NULL);

  self->store = store;
  for (guint i = 0; rows != NULL && i < rows->len; i++)
    {
      EfLessonRow *row = rows->pdata[i];

      if (!row->whole || row->n_attempts == 0)
        continue;
      gtk_string_list_append (titles, row->title);
      g_ptr_array_add (self->lesson_rows, row);
      rows->pdata[i] = NULL;
    }
  gtk_drop_down_set_model (GTK_DROP_DOWN (self->lessons), G_LIST_MODEL (titles));
  gtk_widget_set_visible (gtk_widget_get_parent (self->lessons), self->lesson_rows->len > 0);
  g_object_unref (titles);
}

/* --- The window --------------------------------------------------------------------------------------------------------------------- */

static gboolean
is_study (EfAgreementWindow *self,
          const Side *side)
{
  return side == &self->study;
}

static void
work_out (EfAgreementWindow *self,
          Side *side,
          const char *file)
{
  GtkTextBuffer *buffer = gtk_text_view_get_buffer (GTK_TEXT_VIEW (side->text));
  GtkTextIter start, end;
  g_autofree char *text = NULL;

  gtk_text_buffer_get_bounds (buffer, &start, &end);
  text = gtk_text_buffer_get_text (buffer, &start, &end, FALSE);
  if (is_study (self, side))
    ef_agreement_window_set_study (self, text, file);
  else
    ef_agreement_window_set_ratings (self, text, file);
}

static Side *
side_of (GtkWidget *button)
{
  EfAgreementWindow *self = EF_AGREEMENT_WINDOW (gtk_widget_get_ancestor (button, EF_TYPE_AGREEMENT_WINDOW));

  return g_object_get_data (G_OBJECT (button), "side") != NULL ? &self->ratings : &self->study;
}

static void
work_out_cb (GtkWidget *button)
{
  work_out (EF_AGREEMENT_WINDOW (gtk_widget_get_ancestor (button, EF_TYPE_AGREEMENT_WINDOW)), side_of (button), _ ("the table"));
}

static void
example_cb (GtkWidget *button)
{
  EfAgreementWindow *self = EF_AGREEMENT_WINDOW (gtk_widget_get_ancestor (button, EF_TYPE_AGREEMENT_WINDOW));
  Side *side = side_of (button);

  gtk_text_buffer_set_text (gtk_text_view_get_buffer (GTK_TEXT_VIEW (side->text)), is_study (self, side) ? study_example : ratings_example, -1);
  work_out (self, side, _ ("the table"));
}

static void
load (EfAgreementWindow *self,
      Side *side,
      GFile *file)
{
  g_autofree char *name = g_file_get_basename (file);
  g_autofree char *text = NULL;
  g_autoptr (GError) error = NULL;
  gsize length;

  if (!g_file_load_contents (file, NULL, &text, &length, NULL, &error))
    {
      tell (side, error->message);
      return;
    }
  if (length > MOST_BYTES || !g_utf8_validate_len (text, length, NULL))
    {
      g_autofree char *words = g_strdup_printf (_ ("%s: expected text in UTF-8 of at most 8 MiB"), name);

      tell (side, words);
      return;
    }
  gtk_text_buffer_set_text (gtk_text_view_get_buffer (GTK_TEXT_VIEW (side->text)), text, -1);
  work_out (self, side, name);
}

static void
open_chosen_cb (GtkWidget *button,
                GListModel *files,
                gpointer data)
{
  EfAgreementWindow *self = EF_AGREEMENT_WINDOW (gtk_widget_get_ancestor (button, EF_TYPE_AGREEMENT_WINDOW));
  g_autoptr (GFile) file = g_list_model_get_item (files, 0);

  if (self != NULL)
    load (self, side_of (button), file);
}

static void
open_cb (GtkWidget *button)
{
  static const char *const endings[] = { "csv", NULL };
  const EfAskPath ask = { .title = _ ("Open a table"), .accept = _ ("_Open"), .kind = _ ("Comma-separated values"), .endings = endings };

  ef_ask_files (button, &ask, open_chosen_cb, NULL, NULL);
}

static void
add_button (GtkWidget *row,
            const char *label,
            GCallback callback,
            gboolean ratings,
            gboolean first)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  if (first)
    gtk_widget_add_css_class (button, "suggested-action");
  if (ratings)
    g_object_set_data (G_OBJECT (button), "side", GINT_TO_POINTER (1));
  g_signal_connect (button, "clicked", callback, NULL);
  gtk_box_append (GTK_BOX (row), button);
}

static GtkWidget *
make_field (Side *side,
            const char *name)
{
  GtkWidget *scrolled = gtk_scrolled_window_new ();

  side->text = gtk_text_view_new ();
  gtk_text_view_set_monospace (GTK_TEXT_VIEW (side->text), TRUE);
  gtk_text_view_set_accepts_tab (GTK_TEXT_VIEW (side->text), FALSE);
  gtk_text_view_set_left_margin (GTK_TEXT_VIEW (side->text), 8);
  gtk_text_view_set_top_margin (GTK_TEXT_VIEW (side->text), 6);
  gtk_accessible_update_property (GTK_ACCESSIBLE (side->text), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), side->text);
  gtk_scrolled_window_set_min_content_height (GTK_SCROLLED_WINDOW (scrolled), 150);
  gtk_widget_add_css_class (scrolled, "frame");

  return scrolled;
}

static GtkWidget *
make_side (Side *side,
           const char *words,
           const char *name,
           gboolean ratings)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *card;

  side->column = ef_plain_view_new (GTK_BOX (box), COLUMN);
  card = ef_plain_card (side->column, name);
  gtk_box_append (GTK_BOX (card), ef_plain_text (words, NULL));
  gtk_box_append (GTK_BOX (card), make_field (side, name));
  add_button (row, _ ("Work It Out"), G_CALLBACK (work_out_cb), ratings, TRUE);
  add_button (row, _ ("Open a File…"), G_CALLBACK (open_cb), ratings, FALSE);
  add_button (row, _ ("Show an Example"), G_CALLBACK (example_cb), ratings, FALSE);
  gtk_box_append (GTK_BOX (card), row);
  side->problem = ef_plain_text ("", "error");
  gtk_widget_set_visible (side->problem, FALSE);
  gtk_box_append (GTK_BOX (card), side->problem);
  side->results = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  gtk_box_append (GTK_BOX (side->column), side->results);

  return box;
}

/* "From attempts at": a lesson, and the button. */
static void
add_lessons (EfAgreementWindow *self)
{
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *card = gtk_widget_get_parent (self->ratings.problem);
  GtkWidget *caption = gtk_label_new (_ ("Or from a lesson:"));

  self->lessons = gtk_drop_down_new (NULL, NULL);
  gtk_widget_set_hexpand (self->lessons, TRUE);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->lessons), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Lesson"), -1);
  gtk_box_append (GTK_BOX (row), caption);
  gtk_box_append (GTK_BOX (row), self->lessons);
  add_button (row, _ ("Compare the Attempts"), G_CALLBACK (attempts_cb), TRUE, FALSE);
  gtk_widget_set_visible (row, FALSE);
  gtk_box_insert_child_after (GTK_BOX (card), row, gtk_widget_get_prev_sibling (self->ratings.problem));
}

static void
ef_agreement_window_finalize (GObject *object)
{
  EfAgreementWindow *self = EF_AGREEMENT_WINDOW (object);

  g_ptr_array_unref (self->lesson_rows);
  g_clear_pointer (&self->table, ef_study_table_free);
  g_clear_pointer (&self->summary, ef_rating_summary_free);
  g_clear_pointer (&self->rating_table, ef_rating_table_free);
  G_OBJECT_CLASS (ef_agreement_window_parent_class)->finalize (object);
}

static void
ef_agreement_window_class_init (EfAgreementWindowClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_agreement_window_finalize;
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
ef_agreement_window_init (EfAgreementWindow *self)
{
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *bar = adw_header_bar_new ();
  GtkWidget *switcher = gtk_stack_switcher_new ();

  self->stack = gtk_stack_new ();
  gtk_widget_set_vexpand (self->stack, TRUE);
  gtk_stack_add_titled (GTK_STACK (self->stack),
                        make_side (&self->study, _ ("Each person reads each part as often as the others, without seeing what was read before. One row a reading, columns part, appraiser, trial, value; all values in one unit."),
                                   _ ("Readings"), FALSE),
                        "study", _ ("Gauge Study"));
  gtk_stack_add_titled (GTK_STACK (self->stack),
                        make_side (&self->ratings, _ ("Several people judge the same parts or marks. One row a judgement, columns item, rater, category and, if it's known, rule: what the item is judged by."), _ ("Judgements"), TRUE),
                        "ratings", _ ("Agreement of People"));
  self->lesson_rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_row_free);
  add_lessons (self);
  gtk_stack_switcher_set_stack (GTK_STACK_SWITCHER (switcher), GTK_STACK (self->stack));
  adw_header_bar_set_title_widget (ADW_HEADER_BAR (bar), switcher);
  gtk_box_append (GTK_BOX (content), bar);
  gtk_box_append (GTK_BOX (content), self->stack);
  adw_window_set_content (ADW_WINDOW (self), content);
  gtk_window_set_title (GTK_WINDOW (self), _ ("Agreement"));
  gtk_window_set_default_size (GTK_WINDOW (self), WIDTH, HEIGHT);
}

EfAgreementWindow *
ef_agreement_window_show (GtkWindow *parent)
{
  EfAgreementWindow *self = g_object_new (EF_TYPE_AGREEMENT_WINDOW, "transient-for", parent, NULL);

  offer_lessons (self, EF_IS_WINDOW (parent) ? ef_window_store (EF_WINDOW (parent)) : NULL);
  gtk_window_present (GTK_WINDOW (self));

  return self;
}
