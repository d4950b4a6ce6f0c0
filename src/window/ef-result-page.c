/* The result of an attempt.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-result-page.h"
#include "ef-ask-path.h"
#include "ef-look.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"
#include "ef-window.h"

#include <glib/gi18n.h>
#include <math.h>

typedef struct Work Work;

struct _EfResultPage
{
  GtkBox parent_instance;

  EfStore *store; /* borrowed */
  gint64 job;
  EfAttemptRow *attempt;
  EfLesson *lesson; /* NULL: the store hasn't got it with its reference */
  EfInspection *inspection;
  EfLessonScore *score; /* NULL until it's there */
  gboolean ready;
  gboolean stopped; /* by the user, who stays on the page */
  GCancellable *cancellable;
  Work *work; /* under way, owned by its task; NULL */
  guint watch;

  GtkWidget *bar, *stop;
  GtkWidget *stack, *content, *faces, *pictures[2], *status, *certificate;
  EfFaceChart *chart;
};

G_DEFINE_FINAL_TYPE (EfResultPage, ef_result_page, GTK_TYPE_BOX)

/* --- Scoring --- */

struct Work
{
  EfLesson *lesson;
  EfInspection *attempt;
  char *digest, *kept; /* of the lesson; what was scored before */
  int percent;         /* atomic: how far it has come */
  char *result;        /* to be kept; NULL: it was */
};

static void
work_free (gpointer data)
{
  Work *work = data;

  ef_lesson_free (work->lesson);
  ef_inspection_free (work->attempt);
  g_free (work->digest);
  g_free (work->kept);
  g_free (work->result);
  g_free (work);
}

static void
told_cb (double share,
         gpointer data)
{
  g_atomic_int_set (&((Work *) data)->percent, (int) (100 * share));
}

/* Once for these inputs: after that, what was kept is enough. */
static EfLessonScore *
score_once (Work *work,
            GCancellable *cancellable,
            GError **error)
{
  g_autofree char *key = ef_lesson_score_key (work->digest, work->attempt, NULL, error);
  EfLessonScore *score = key != NULL ? ef_lesson_score_again (work->lesson, work->attempt, work->kept, key) : NULL;

  if (key == NULL || score != NULL)
    return score;
  score = ef_lesson_score_telling (work->lesson, work->attempt, NULL, NULL, told_cb, work, cancellable, error);
  if (score != NULL)
    work->result = ef_lesson_score_keep (score, key);

  return score;
}

static void
score_thread (GTask *task,
              gpointer source,
              gpointer data,
              GCancellable *cancellable)
{
  GError *error = NULL;
  EfLessonScore *score = score_once (data, cancellable, &error);

  if (score != NULL)
    g_task_return_pointer (task, score, (GDestroyNotify) ef_lesson_score_free);
  else
    g_task_return_error (task, error);
}

/* --- Faces side by side --- */

static void
draw_face (GtkDrawingArea *area,
           cairo_t *cr,
           int width,
           int height,
           gpointer data)
{
  EfResultPage *self = data;
  EfDrawStyle style;

  if (self->score == NULL || self->chart == NULL)
    return;
  ef_look_style (&style);
  ef_draw_lesson_face (cr, &style, self->chart, self->score, GTK_WIDGET (area) == self->pictures[1], width, height);
}

static void
face_cb (EfResultPage *self)
{
  guint at = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->faces));

  g_clear_pointer (&self->chart, ef_face_chart_unref);
  if (self->lesson != NULL && at < g_strv_length (self->lesson->terms.faces))
    self->chart = ef_face_chart_new (self->lesson->reference->sheet, self->lesson->terms.faces[at], NULL);
  for (guint i = 0; i < G_N_ELEMENTS (self->pictures); i++)
    gtk_widget_queue_draw (self->pictures[i]);
}

static guint
face_with_most (EfResultPage *self)
{
  guint best = 0, most = 0;

  for (guint i = 0; self->lesson->terms.faces[i] != NULL; i++)
    {
      guint n = 0;

      for (guint k = 0; k < self->score->mark_rows->len; k++)
        {
          const EfLessonMark *row = self->score->mark_rows->pdata[k];

          n += g_str_equal ((row->reference != NULL ? row->reference : row->attempt)->face_id, self->lesson->terms.faces[i]);
        }
      if (n > most)
        {
          most = n;
          best = i;
        }
    }

  return best;
}

static GtkWidget *
make_faces (EfResultPage *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6), *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  const char *const labels[2] = { _ ("The reference's marks on the face"), _ ("The attempt's marks on the face") };

  for (guint i = 0; self->lesson->terms.faces[i] != NULL; i++)
    {
      g_autofree char *title = ef_lesson_face_title (self->lesson->reference->sheet, self->lesson->terms.faces[i]);

      gtk_string_list_append (names, title);
    }
  self->faces = gtk_drop_down_new (G_LIST_MODEL (g_steal_pointer (&names)), NULL);
  gtk_widget_set_halign (self->faces, GTK_ALIGN_START);
  gtk_widget_add_css_class (self->faces, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->faces), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Face"), -1);
  gtk_box_set_homogeneous (GTK_BOX (row), TRUE);
  for (guint i = 0; i < 2; i++)
    {
      self->pictures[i] = gtk_drawing_area_new ();
      gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->pictures[i]), 380);
      gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (self->pictures[i]), 320);
      gtk_widget_set_hexpand (self->pictures[i], TRUE);
      gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->pictures[i]), draw_face, self, NULL);
      ef_look_follow (self->pictures[i]);
      gtk_accessible_update_property (GTK_ACCESSIBLE (self->pictures[i]), GTK_ACCESSIBLE_PROPERTY_LABEL, labels[i], -1);
      gtk_box_append (GTK_BOX (row), self->pictures[i]);
    }
  gtk_box_append (GTK_BOX (box), self->faces);
  gtk_box_append (GTK_BOX (box), row);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->faces), face_with_most (self));
  g_signal_connect_swapped (self->faces, "notify::selected", G_CALLBACK (face_cb), self);
  face_cb (self);

  return box;
}

/* --- Score --- */

static GtkWidget *
part_of_score (const char *label,
               double share)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12), *bar = gtk_level_bar_new_for_interval (0, 1);
  g_autofree char *text = g_strdup_printf ("%.0f", 100 * share);

  gtk_level_bar_add_offset_value (GTK_LEVEL_BAR (bar), GTK_LEVEL_BAR_OFFSET_LOW, 0);
  gtk_level_bar_set_value (GTK_LEVEL_BAR (bar), share);
  gtk_widget_set_hexpand (bar, TRUE);
  gtk_widget_set_valign (bar, GTK_ALIGN_CENTER);
  gtk_box_append (GTK_BOX (box), g_object_new (GTK_TYPE_LABEL, "label", label, "xalign", 0.0f, "width-chars", 12, NULL));
  gtk_box_append (GTK_BOX (box), bar);
  gtk_box_append (GTK_BOX (box), g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 1.0f, "width-chars", 4, NULL));

  return box;
}

static GtkWidget *
paragraph (const char *text)
{
  return g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "selectable", TRUE, NULL);
}

static GtkWidget *
make_summary (EfResultPage *self)
{
  const EfLessonScore *score = self->score;
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6), *head;
  g_autofree char *text = g_strdup_printf (_ ("%.0f of 100"), 100 * score->score);
  g_autofree char *counts = g_strdup_printf (_ ("%u found, %u of the wrong kind, %u missed, %u not there"), score->marks->n_found, score->marks->n_wrong_kind,
                                             score->marks->n_missed, score->marks->n_false);

  head = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, NULL);
  gtk_widget_add_css_class (head, "title-1");
  gtk_box_append (GTK_BOX (box), head);
  gtk_box_append (GTK_BOX (box), paragraph (counts));
  gtk_box_append (GTK_BOX (box), part_of_score (_ ("Marks"), score->marks->score));
  if (score->decisions->len > 0)
    gtk_box_append (GTK_BOX (box), part_of_score (_ ("Decisions"), score->decisions_score));
  if (!isnan (score->readings_score))
    gtk_box_append (GTK_BOX (box), part_of_score (_ ("Readings"), score->readings_score));
  for (guint i = 0; i < score->remarks->len; i++)
    gtk_box_append (GTK_BOX (box), paragraph (score->remarks->pdata[i]));
  if (score->pressure_found_text != NULL)
    gtk_box_append (GTK_BOX (box), paragraph (score->pressure_found_text));
  if (score->pressure_decided_text != NULL)
    gtk_box_append (GTK_BOX (box), paragraph (score->pressure_decided_text));

  return box;
}

static void
draw_sign (GtkDrawingArea *area,
           cairo_t *cr,
           int width,
           int height,
           gpointer data)
{
  EfDrawStyle style;

  ef_look_style (&style);
  ef_draw_lesson_sign (cr, &style, (EfLessonMatch) GPOINTER_TO_INT (data), width / 2.0, height / 2.0, MIN (width, height));
}

static GtkWidget *
sign_of (EfLessonMatch match)
{
  GtkWidget *area = gtk_drawing_area_new ();

  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (area), 24);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (area), 24);
  gtk_widget_set_valign (area, GTK_ALIGN_CENTER);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (area), draw_sign, GINT_TO_POINTER (match), NULL);
  ef_look_follow (area);
  gtk_accessible_update_property (GTK_ACCESSIBLE (area), GTK_ACCESSIBLE_PROPERTY_LABEL, _ (ef_lesson_match_label (match)), -1);

  return area;
}

static GtkWidget *
text_row (const char *title,
          const char *subtitle)
{
  g_autofree char *escaped_title = g_markup_escape_text (title, -1);
  g_autofree char *escaped = g_markup_escape_text (subtitle != NULL ? subtitle : "", -1);

  return g_object_new (ADW_TYPE_ACTION_ROW, "title", escaped_title, "subtitle", escaped, "title-lines", 0, "subtitle-lines", 0, "activatable", FALSE, NULL);
}

static GtkWidget *
small_label (const char *text)
{
  GtkWidget *label = gtk_label_new (text);

  gtk_widget_add_css_class (label, "numeric");
  gtk_widget_add_css_class (label, "dim-label");

  return label;
}

static char *
mark_details (const EfLessonMark *row)
{
  g_autoptr (GString) text = g_string_new (NULL);

  if (!isnan (row->common))
    g_string_append_printf (text, _ ("Area in common %.0f %%"), 100 * row->common);
  if (!isnan (row->score->depth_error))
    g_string_append_printf (text, _ ("; depth off by %+.3f mm"), row->score->depth_error * 1e3);
  if (!isnan (row->depth_error_in_u))
    g_string_append_printf (text, _ (" (%.1f of the gauge's uncertainty)"), fabs (row->depth_error_in_u));
  if (row->note != NULL)
    g_string_append_printf (text, "%s“%s”", text->len > 0 ? "\n" : "", row->note);

  return g_string_free (g_steal_pointer (&text), FALSE);
}

static GtkWidget *
make_marks (EfResultPage *self)
{
  AdwPreferencesGroup *group = ADW_PREFERENCES_GROUP (adw_preferences_group_new ());

  adw_preferences_group_set_title (group, _ ("Mark by Mark"));
  for (guint i = 0; i < self->score->mark_rows->len; i++)
    {
      const EfLessonMark *row = self->score->mark_rows->pdata[i];
      EfLessonMatch match = ef_lesson_match (row);
      g_autofree char *details = mark_details (row);
      g_autofree char *worth = g_strdup_printf (_ ("%s · %.0f %%"), _ (ef_lesson_match_label (match)), 100 * row->score->score);
      GtkWidget *widget = text_row (row->score->sentence, details);

      adw_action_row_add_prefix (ADW_ACTION_ROW (widget), sign_of (match));
      adw_action_row_add_suffix (ADW_ACTION_ROW (widget), small_label (worth));
      adw_preferences_group_add (group, widget);
    }

  return GTK_WIDGET (group);
}

static GtkWidget *
make_decisions (EfResultPage *self)
{
  AdwPreferencesGroup *group = ADW_PREFERENCES_GROUP (adw_preferences_group_new ());

  adw_preferences_group_set_title (group, _ ("Decisions"));
  for (guint i = 0; i < self->score->decisions->len; i++)
    {
      const EfLessonDecision *decision = self->score->decisions->pdata[i];
      g_autofree char *cost = decision->cost > 0 ? g_strdup_printf (_ ("cost %.2f"), decision->cost) : g_strdup (_ ("right"));
      g_autofree char *details = g_strjoin ("\n", decision->reason != NULL ? decision->reason : "", decision->note != NULL ? decision->note : NULL, NULL);
      GtkWidget *widget = text_row (decision->sentence, g_strstrip (details));

      adw_action_row_add_prefix (ADW_ACTION_ROW (widget), sign_of (decision->agrees ? EF_MATCH_FOUND : decision->decided ? EF_MATCH_WRONG_KIND
                                                                                                                         : EF_MATCH_MISSED));
      adw_action_row_add_suffix (ADW_ACTION_ROW (widget), small_label (cost));
      adw_preferences_group_add (group, widget);
    }

  return GTK_WIDGET (group);
}

static GtkWidget *
make_readings (EfResultPage *self)
{
  AdwPreferencesGroup *group = ADW_PREFERENCES_GROUP (adw_preferences_group_new ());

  adw_preferences_group_set_title (group, _ ("Readings"));
  for (guint i = 0; i < self->score->readings->len; i++)
    {
      const EfLessonReading *reading = self->score->readings->pdata[i];
      g_autofree char *worth = g_strdup_printf ("%.0f %%", 100 * reading->score);
      GtkWidget *widget = text_row (reading->sentence, NULL);

      adw_action_row_add_suffix (ADW_ACTION_ROW (widget), small_label (worth));
      adw_preferences_group_add (group, widget);
    }

  return GTK_WIDGET (group);
}

static void
show_score (EfResultPage *self)
{
  GtkWidget *box = self->content;

  gtk_box_append (GTK_BOX (box), make_summary (self));
  gtk_box_append (GTK_BOX (box), make_faces (self));
  if (self->score->decisions->len > 0)
    gtk_box_append (GTK_BOX (box), make_decisions (self));
  if (self->score->readings->len > 0)
    gtk_box_append (GTK_BOX (box), make_readings (self));
  gtk_box_append (GTK_BOX (box), make_marks (self));
  gtk_widget_set_sensitive (self->certificate, TRUE);
  /* Before the button that has it goes: else the first text would take the focus, and look chosen. */
  gtk_widget_grab_focus (self->certificate);
  gtk_stack_set_visible_child_name (GTK_STACK (self->stack), "result");
}

static void
show_status (EfResultPage *self,
             const char *title,
             const char *text)
{
  g_autofree char *escaped = g_markup_escape_text (text, -1);

  adw_status_page_set_title (ADW_STATUS_PAGE (self->status), title);
  adw_status_page_set_description (ADW_STATUS_PAGE (self->status), escaped);
  gtk_stack_set_visible_child_name (GTK_STACK (self->stack), "status");
}

static void
keep_result (EfResultPage *self,
             const char *text)
{
  g_autoptr (GError) error = NULL;
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  if (!ef_store_keep_result (self->store, self->job, self->score->score, text, &error) && window != NULL)
    ef_window_toast (window, error->message);
}

static void
stop_watching (EfResultPage *self)
{
  g_clear_handle_id (&self->watch, g_source_remove);
  self->work = NULL;
}

static void
scored_cb (GObject *source,
           GAsyncResult *result,
           gpointer data)
{
  g_autoptr (EfResultPage) self = data;
  g_autoptr (GError) error = NULL;
  const Work *work = g_task_get_task_data (G_TASK (result));
  EfLessonScore *score = g_task_propagate_pointer (G_TASK (result), &error);

  self->ready = TRUE;
  stop_watching (self);
  if (score == NULL && self->stopped)
    show_status (self, _ ("Not Scored"), _ ("You stopped it. Nothing is lost: open the result again to have the attempt scored."));
  else if (score == NULL && !g_cancellable_is_cancelled (self->cancellable))
    show_status (self, _ ("Can't Be Scored"), error->message);
  if (score == NULL)
    return;
  self->score = score;
  if (work->result != NULL)
    keep_result (self, work->result);
  show_score (self);
}

static gboolean
watch_cb (gpointer data)
{
  EfResultPage *self = data;

  gtk_progress_bar_set_fraction (GTK_PROGRESS_BAR (self->bar), g_atomic_int_get (&self->work->percent) / 100.0);

  return G_SOURCE_CONTINUE;
}

static void
stop_cb (EfResultPage *self)
{
  self->stopped = TRUE;
  gtk_widget_set_sensitive (self->stop, FALSE);
  g_cancellable_cancel (self->cancellable);
}

static void
begin (EfResultPage *self)
{
  g_autoptr (GTask) task = NULL;
  Work *work = g_new0 (Work, 1);

  work->lesson = ef_lesson_copy (self->lesson);
  work->attempt = ef_inspection_copy (self->inspection);
  work->digest = g_strdup (self->attempt->lesson);
  work->kept = g_strdup (self->attempt->result);
  self->work = work;
  self->watch = g_timeout_add (100, watch_cb, self);
  task = g_task_new (NULL, self->cancellable, scored_cb, g_object_ref (self));
  g_task_set_task_data (task, work, work_free);
  g_task_run_in_thread (task, score_thread);
}

static gboolean
load (EfResultPage *self,
      GError **error)
{
  g_autoptr (EfLessonRow) row = NULL;
  g_autoptr (GError) local = NULL;

  self->attempt = ef_store_attempt (self->store, self->job, error);
  self->inspection = self->attempt != NULL ? ef_store_load (self->store, self->job, error) : NULL;
  if (self->inspection == NULL)
    return FALSE;
  row = ef_store_lesson_by_digest (self->store, self->attempt->lesson, &local);
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  if (row == NULL || !row->whole)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_NOT_FOUND,
                           _ ("The attempt is handed in. The lesson with its reference isn't in this store: export the attempt and give it to your trainer, "
                              "or import the trainer's lesson here."));
      return FALSE;
    }
  self->lesson = ef_lesson_parse (row->body, -1, row->title, error);

  return self->lesson != NULL;
}

/* --- Files --- */

gboolean
ef_result_page_write_certificate (EfResultPage *self,
                                  const char *path,
                                  GError **error)
{
  const EfLessonCertificate certificate = { self->lesson, self->score, self->attempt->apprentice, self->attempt->handed_in };

  if (self->score == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_NOT_FOUND, _ ("There's no score yet."));
      return FALSE;
    }

  return ef_lesson_certificate_write_pdf (&certificate, path, ef_settings_paper (), NULL, error);
}

static void
save_chosen_cb (GtkWidget *owner,
                const char *path,
                gpointer data)
{
  EfWindow *window = ef_window_of (owner);
  g_autofree char *done = g_strdup_printf (_ ("Written to %s"), path);
  g_autoptr (GError) error = NULL;

  if (window != NULL)
    ef_window_toast (window, ef_result_page_write_certificate (EF_RESULT_PAGE (owner), path, &error) ? done : error->message);
}

static void
certificate_cb (EfResultPage *self)
{
  g_autofree char *name = g_strdup_printf ("%s.pdf", self->attempt->number);
  const EfAskPath ask = { .title = _ ("Record of the lesson"), .accept = _ ("_Save"), .action = GTK_FILE_CHOOSER_ACTION_SAVE, .name = name };

  ef_ask_path (GTK_WIDGET (self), &ask, save_chosen_cb, NULL, NULL);
}

/* --- Object --- */

static void
ef_result_page_dispose (GObject *object)
{
  EfResultPage *self = EF_RESULT_PAGE (object);

  stop_watching (self);
  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_pointer (&self->chart, ef_face_chart_unref);
  G_OBJECT_CLASS (ef_result_page_parent_class)->dispose (object);
}

static void
ef_result_page_finalize (GObject *object)
{
  EfResultPage *self = EF_RESULT_PAGE (object);

  g_clear_object (&self->cancellable);
  g_clear_pointer (&self->attempt, ef_attempt_row_free);
  g_clear_pointer (&self->lesson, ef_lesson_free);
  g_clear_pointer (&self->inspection, ef_inspection_free);
  g_clear_pointer (&self->score, ef_lesson_score_free);
  G_OBJECT_CLASS (ef_result_page_parent_class)->finalize (object);
}

static void
ef_result_page_class_init (EfResultPageClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_result_page_dispose;
  G_OBJECT_CLASS (klass)->finalize = ef_result_page_finalize;
}

static GtkWidget *
make_content (EfResultPage *self)
{
  GtkWidget *scrolled = gtk_scrolled_window_new (), *clamp = adw_clamp_new ();

  self->content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 24);
  g_object_set (self->content, "margin-start", 18, "margin-end", 18, "margin-top", 18, "margin-bottom", 18, NULL);
  adw_clamp_set_maximum_size (ADW_CLAMP (clamp), 1100);
  adw_clamp_set_child (ADW_CLAMP (clamp), self->content);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), clamp);
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (scrolled), GTK_POLICY_NEVER, GTK_POLICY_AUTOMATIC);

  return scrolled;
}

static GtkWidget *
make_waiting (EfResultPage *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  GtkWidget *words = g_object_new (GTK_TYPE_LABEL, "label", _ ("The attempt is being scored, and the oil pressure worked out. That's done once and then kept."), "wrap", TRUE,
                                   "max-width-chars", 50, "justify", GTK_JUSTIFY_CENTER, NULL);

  g_object_set (box, "halign", GTK_ALIGN_CENTER, "valign", GTK_ALIGN_CENTER, "margin-start", 18, "margin-end", 18, NULL);
  self->bar = gtk_progress_bar_new ();
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->bar), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Scoring"), -1);
  self->stop = gtk_button_new_with_mnemonic (_ ("_Stop"));
  gtk_widget_set_halign (self->stop, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (self->stop, "ef-touch");
  g_signal_connect_swapped (self->stop, "clicked", G_CALLBACK (stop_cb), self);
  gtk_box_append (GTK_BOX (box), words);
  gtk_box_append (GTK_BOX (box), self->bar);
  gtk_box_append (GTK_BOX (box), self->stop);

  return box;
}

static void
ef_result_page_init (EfResultPage *self)
{
  GtkWidget *bar = adw_header_bar_new (), *back = gtk_button_new_from_icon_name ("go-previous-symbolic");

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  self->cancellable = g_cancellable_new ();
  gtk_actionable_set_action_name (GTK_ACTIONABLE (back), "win.back");
  gtk_widget_add_css_class (back, "ef-touch");
  gtk_widget_set_tooltip_text (back, _ ("Back to the lessons (Alt+Up)"));
  gtk_accessible_update_property (GTK_ACCESSIBLE (back), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Back to the lessons"), -1);
  adw_header_bar_pack_start (ADW_HEADER_BAR (bar), back);
  self->certificate = gtk_button_new_with_mnemonic (_ ("_Record as PDF…"));
  gtk_widget_add_css_class (self->certificate, "ef-touch");
  gtk_widget_set_sensitive (self->certificate, FALSE);
  g_signal_connect_swapped (self->certificate, "clicked", G_CALLBACK (certificate_cb), self);
  adw_header_bar_pack_end (ADW_HEADER_BAR (bar), self->certificate);
  self->status = adw_status_page_new ();
  adw_status_page_set_icon_name (ADW_STATUS_PAGE (self->status), "ef-lessons-symbolic");
  self->stack = gtk_stack_new ();
  gtk_widget_set_vexpand (self->stack, TRUE);
  gtk_stack_add_named (GTK_STACK (self->stack), make_waiting (self), "waiting");
  gtk_stack_add_named (GTK_STACK (self->stack), self->status, "status");
  gtk_stack_add_named (GTK_STACK (self->stack), make_content (self), "result");
  gtk_box_append (GTK_BOX (self), bar);
  gtk_box_append (GTK_BOX (self), self->stack);
}

static void
set_title (EfResultPage *self)
{
  GtkWidget *bar = gtk_widget_get_first_child (GTK_WIDGET (self));
  g_autofree char *day = g_strndup (self->attempt->handed_in, 10);
  g_autofree char *subtitle = g_strdup_printf (_ ("%s, %s"), self->attempt->apprentice, day);

  adw_header_bar_set_title_widget (ADW_HEADER_BAR (bar), adw_window_title_new (self->attempt->title, subtitle));
}

EfResultPage *
ef_result_page_new (EfStore *store,
                    gint64 job)
{
  EfResultPage *self = g_object_new (EF_TYPE_RESULT_PAGE, NULL);
  g_autoptr (GError) error = NULL;

  self->store = store;
  self->job = job;
  if (load (self, &error))
    begin (self);
  else
    {
      self->ready = TRUE;
      show_status (self, _ ("Handed In"), error->message);
    }
  if (self->attempt != NULL)
    set_title (self);

  return self;
}

gboolean
ef_result_page_ready (EfResultPage *self)
{
  return self->ready;
}

const EfLessonScore *
ef_result_page_score (EfResultPage *self)
{
  return self->score;
}
