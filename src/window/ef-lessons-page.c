/* Lessons, attempts, progress.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-lessons-page.h"
#include "ef-ask-path.h"
#include "ef-field.h"
#include "ef-form-window.h"
#include "ef-lesson-editor.h"
#include "ef-look.h"
#include "ef-settings.h"
#include "ef-specimen-form.h"
#include "ef-who-ask.h"
#include "ef-window.h"
#include "../draw/ef-draw-lesson.h"
#include "../lesson/ef-lesson-store.h"
#include "../record/ef-exchange.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfLessonsPage
{
  GtkBox parent_instance;

  EfStore *store;          /* borrowed */
  GtkWidget *stack, *list; /* @list: a box that is filled anew at each refresh */
  GtkWidget *apprentice, *plot;
  GPtrArray *apprentices; /* char *, as in the drop-down; the first stands for all */
  char *chosen;           /* apprentice; NULL all */
  GPtrArray *past;        /* EfLessonPast * of the chosen one */
  char *suggested;        /* name of a lesson */
  gboolean with_away;     /* those put away are listed too */
  gboolean filling;
};

G_DEFINE_FINAL_TYPE (EfLessonsPage, ef_lessons_page, GTK_TYPE_BOX)

static void
tell (EfLessonsPage *self,
      const char *text)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  if (window != NULL)
    ef_window_toast (window, text);
}

/* --- A small form with one field --- */

typedef void (*FormDone) (EfLessonsPage *self, const char *text, const char *name, char **refusal);

#define EF_TYPE_LESSON_FORM (ef_lesson_form_get_type ())
G_DECLARE_FINAL_TYPE (EfLessonForm, ef_lesson_form, EF, LESSON_FORM, EfFormWindow)

struct _EfLessonForm
{
  EfFormWindow parent_instance;

  EfLessonsPage *page; /* the form is modal over it */
  EfField *field;
  char *name;
  FormDone done;
};

G_DEFINE_FINAL_TYPE (EfLessonForm, ef_lesson_form, EF_TYPE_FORM_WINDOW)

static gboolean
ef_lesson_form_accept (EfFormWindow *window)
{
  EfLessonForm *self = EF_LESSON_FORM (window);
  g_autofree char *text = NULL;
  g_autofree char *refusal = NULL;

  if (!ef_field_string (self->field, TRUE, &text))
    {
      gtk_widget_grab_focus (GTK_WIDGET (self->field));
      return FALSE;
    }
  self->done (self->page, text, self->name, &refusal);
  if (refusal == NULL)
    return TRUE;
  ef_field_set_message (self->field, refusal);

  return FALSE;
}

static void
ef_lesson_form_finalize (GObject *object)
{
  g_free (EF_LESSON_FORM (object)->name);
  G_OBJECT_CLASS (ef_lesson_form_parent_class)->finalize (object);
}

static void
ef_lesson_form_class_init (EfLessonFormClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_lesson_form_finalize;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_lesson_form_accept;
}

static void
ef_lesson_form_init (EfLessonForm *self)
{
}

static void
ask (EfLessonsPage *page,
     const char *title,
     const char *accept,
     const char *about,
     const char *label,
     const char *text,
     const char *name,
     FormDone done)
{
  EfLessonForm *self = g_object_new (EF_TYPE_LESSON_FORM, "title", title, NULL);

  self->page = page;
  self->name = g_strdup (name);
  self->done = done;
  ef_form_window_set_accept_label (EF_FORM_WINDOW (self), accept);
  ef_form_window_add (EF_FORM_WINDOW (self), g_object_new (GTK_TYPE_LABEL, "label", about, "xalign", 0.0f, "wrap", TRUE, NULL));
  self->field = EF_FIELD (ef_field_new (label));
  ef_field_set_text (self->field, text);
  ef_form_window_add (EF_FORM_WINDOW (self), GTK_WIDGET (self->field));
  ef_form_window_show (EF_FORM_WINDOW (self), GTK_WIDGET (page));
  gtk_widget_grab_focus (GTK_WIDGET (self->field));
}

/* --- Making, starting, importing --- */

gboolean
ef_lessons_page_make (EfLessonsPage *self,
                      const char *job_number,
                      char **name_out,
                      GError **error)
{
  g_autoptr (EfInspection) job = NULL;
  g_autoptr (EfLesson) lesson = NULL;
  g_autofree char *role = ef_settings_role ();
  gint64 id;

  if (!ef_store_exists (self->store, job_number, &id, error))
    return FALSE;
  if (id == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, _ ("There is no job %s here."), job_number);
      return FALSE;
    }
  job = ef_store_load (self->store, id, error);
  lesson = job != NULL ? ef_lesson_new (job, NULL, error) : NULL;
  if (lesson == NULL || !ef_lesson_store_put (self->store, lesson, role, "Lesson made from a job", error))
    return FALSE;
  if (name_out != NULL)
    *name_out = g_strdup (lesson->terms.name);
  ef_lessons_page_refresh (self);

  return TRUE;
}

static gboolean
open_editor (gpointer owner,
             const char *role,
             const char *reason)
{
  EfLessonsPage *self = owner;
  g_autofree char *name = g_object_steal_data (owner, "ef-lesson");
  g_autoptr (GError) error = NULL;
  EfLessonEditor *editor = name != NULL ? ef_lesson_editor_show (GTK_WIDGET (self), self->store, name, &error) : NULL;

  if (name == NULL)
    return TRUE;

  if (editor == NULL)
    tell (self, error->message);
  else
    g_signal_connect_object (editor, "changed", G_CALLBACK (ef_lessons_page_refresh), self, G_CONNECT_SWAPPED);

  return TRUE;
}

/* Where the shop has roles, the reference is a trainer's or an owner's to change. */
static void
edit (EfLessonsPage *self,
      const char *name)
{
  g_object_set_data_full (G_OBJECT (self), "ef-lesson", g_strdup (name), g_free);
  ef_who_ask (GTK_WIDGET (self), self->store, EF_ACT_LESSONS, _ ("Change the Lesson"), _ ("_Open"), NULL, open_editor, G_OBJECT (self));
}

static void
make_done (EfLessonsPage *self,
           const char *text,
           const char *unused,
           char **refusal)
{
  g_autofree char *name = NULL;
  g_autoptr (GError) error = NULL;

  if (ef_lessons_page_make (self, text, &name, &error))
    edit (self, name);
  else
    *refusal = g_strdup (error->message);
}

static void
make_cb (EfLessonsPage *self)
{
  ask (self, _ ("Make a Lesson"), _ ("_Make"), _ ("The job's marks and verdicts become the reference. The job itself isn't changed."), _ ("From job number"), NULL, NULL, make_done);
}

static void
worn_cb (EfLessonsPage *self,
         const EfLesson *lesson)
{
  g_autofree char *role = ef_settings_role ();
  g_autoptr (GError) error = NULL;

  if (!ef_lesson_store_put (self->store, lesson, role, "Lesson made from a specimen", &error))
    {
      tell (self, error->message);
      return;
    }
  ef_lessons_page_refresh (self);
  edit (self, lesson->terms.name);
}

static void
specimen_cb (EfLessonsPage *self)
{
  g_signal_connect_object (ef_specimen_form_show (GTK_WIDGET (self), self->store), "worn", G_CALLBACK (worn_cb), self, G_CONNECT_SWAPPED);
}

gboolean
ef_lessons_page_start (EfLessonsPage *self,
                       const char *name,
                       const char *apprentice,
                       GError **error)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));
  gint64 job = ef_lesson_store_start (self->store, name, apprentice, error);

  if (job == 0)
    return FALSE;
  if (window != NULL)
    ef_window_open_attempt (window, job);

  return TRUE;
}

static void
start_done (EfLessonsPage *self,
            const char *text,
            const char *name,
            char **refusal)
{
  g_autoptr (GError) error = NULL;

  if (!ef_lessons_page_start (self, name, text, &error))
    *refusal = g_strdup (error->message);
}

static void
start (EfLessonsPage *self,
       const char *name)
{
  ask (self, _ ("Start an Attempt"), _ ("_Start"), _ ("A code for the apprentice, not a name: progress is told by it."), _ ("Role code"),
       self->chosen != NULL ? self->chosen : _ ("apprentice 1"), name, start_done);
}

gboolean
ef_lessons_page_import (EfLessonsPage *self,
                        const char *path,
                        GError **error)
{
  g_autofree char *role = ef_settings_role ();
  g_autofree char *told = NULL;

  if (!ef_lesson_store_import (self->store, path, role, &told, error))
    return FALSE;
  tell (self, told);
  ef_lessons_page_refresh (self);

  return TRUE;
}

/* The files that would take the place of a lesson, once somebody who may was asked: a permit is for one. */
static gboolean
replace_lessons (gpointer owner,
                 const char *role,
                 const char *reason)
{
  EfLessonsPage *self = owner;
  g_autoptr (GPtrArray) paths = g_object_steal_data (owner, "ef-replacing");
  g_autoptr (EfPermit) permit = ef_store_permit (self->store);

  for (guint i = 0; paths != NULL && i < paths->len; i++)
    {
      g_autofree char *told = NULL;
      g_autoptr (GError) error = NULL;

      ef_store_use_permit (self->store, permit);
      tell (self, ef_lesson_store_import (self->store, paths->pdata[i], role, &told, &error) ? told : error->message);
    }
  ef_lessons_page_refresh (self);

  return TRUE;
}

void
ef_lessons_page_import_files (EfLessonsPage *self,
                              GListModel *files)
{
  g_autoptr (GPtrArray) refused = g_ptr_array_new_with_free_func (g_free);

  for (guint i = 0; i < g_list_model_get_n_items (files); i++)
    {
      g_autoptr (GFile) file = g_list_model_get_item (files, i);
      g_autofree char *path = g_file_get_path (file);
      g_autoptr (GError) error = NULL;

      if (path == NULL || ef_lessons_page_import (self, path, &error))
        continue;
      if (g_error_matches (error, EF_ERROR, EF_ERROR_REFUSED))
        g_ptr_array_add (refused, g_steal_pointer (&path));
      else
        tell (self, error->message);
    }
  if (refused->len > 0)
    {
      g_object_set_data_full (G_OBJECT (self), "ef-replacing", g_steal_pointer (&refused), (GDestroyNotify) g_ptr_array_unref);
      ef_who_ask (GTK_WIDGET (self), self->store, EF_ACT_LESSONS, _ ("Change the Lesson"), _ ("_Replace"), NULL, replace_lessons, G_OBJECT (self));
    }
}

static void
import_chosen_cb (GtkWidget *owner,
                  GListModel *files,
                  gpointer data)
{
  ef_lessons_page_import_files (EF_LESSONS_PAGE (owner), files);
}

static void
import_cb (EfLessonsPage *self)
{
  static const char *const endings[] = { "json", NULL };
  const EfAskPath ask = { .title = _ ("Read in lessons, sheets, attempts"), .accept = _ ("_Import"), .kind = _ ("Lesson files"), .endings = endings };

  ef_ask_files (GTK_WIDGET (self), &ask, import_chosen_cb, NULL, NULL);
}

/* --- Exporting --- */

static void
export_chosen_cb (GtkWidget *owner,
                  const char *path,
                  gpointer text)
{
  g_autofree char *done = g_strdup_printf (_ ("Written to %s"), path);
  g_autoptr (GError) error = NULL;

  tell (EF_LESSONS_PAGE (owner), ef_exchange_save_text (text, path, &error) ? done : error->message);
}

/* Takes @text. */
static void
export_text (EfLessonsPage *self,
             char *text,
             const char *name)
{
  const EfAskPath ask = { .title = _ ("Export"), .accept = _ ("_Save"), .action = GTK_FILE_CHOOSER_ACTION_SAVE, .name = name };

  ef_ask_path (GTK_WIDGET (self), &ask, export_chosen_cb, text, g_free);
}

static void
export_lesson (EfLessonsPage *self,
               const char *name)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLesson) lesson = ef_lesson_store_get (self->store, name, &error);

  if (lesson == NULL)
    tell (self, error->message);
  else
    export_text (self, ef_lesson_write (lesson), _ ("lesson-with-reference.json"));
}

static void
export_sheet (EfLessonsPage *self,
              const char *name)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLessonSheet) sheet = ef_lesson_store_sheet (self->store, name, &error);

  if (sheet == NULL)
    tell (self, error->message);
  else
    export_text (self, ef_lesson_sheet_write (sheet), _ ("lesson-sheet.json"));
}

static void
put_away (EfLessonsPage *self,
          const char *name)
{
  g_autofree char *role = ef_settings_role ();
  g_autoptr (GError) error = NULL;

  if (!ef_store_set_lesson_away (self->store, name, TRUE, role, &error))
    tell (self, error->message);
  ef_lessons_page_refresh (self);
}

static void
take_out (EfLessonsPage *self,
          const char *name)
{
  g_autofree char *role = ef_settings_role ();
  g_autoptr (GError) error = NULL;

  if (!ef_store_set_lesson_away (self->store, name, FALSE, role, &error))
    tell (self, error->message);
  ef_lessons_page_refresh (self);
}

static void
away_cb (GtkToggleButton *button,
         EfLessonsPage *self)
{
  self->with_away = gtk_toggle_button_get_active (button);
  ef_lessons_page_refresh (self);
}

static void
export_attempt (EfLessonsPage *self,
                gint64 job)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfAttempt) attempt = ef_lesson_store_attempt (self->store, job, &error);

  if (attempt == NULL)
    tell (self, error->message);
  else
    export_text (self, ef_attempt_write (attempt), _ ("attempt.json"));
}

/* --- Rows --- */

static GtkWidget *
row_button (const char *label,
            gboolean strong)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (button, "ef-touch");
  if (strong)
    gtk_widget_add_css_class (button, "suggested-action");

  return button;
}

typedef void (*LessonAction) (EfLessonsPage *self, const char *name);

static void
lesson_button_cb (GtkWidget *button,
                  EfLessonsPage *self)
{
  LessonAction action = (LessonAction) g_object_get_data (G_OBJECT (button), "ef-action");
  GtkWidget *popover = gtk_widget_get_ancestor (button, GTK_TYPE_POPOVER);
  g_autofree char *name = g_strdup (g_object_get_data (G_OBJECT (button), "ef-name"));

  if (popover != NULL)
    gtk_popover_popdown (GTK_POPOVER (popover));
  action (self, name);
}

static GtkWidget *
lesson_button (EfLessonsPage *self,
               const char *label,
               gboolean strong,
               const char *name,
               LessonAction action)
{
  GtkWidget *button = row_button (label, strong);

  g_object_set_data_full (G_OBJECT (button), "ef-name", g_strdup (name), g_free);
  g_object_set_data (G_OBJECT (button), "ef-action", (gpointer) action);
  g_signal_connect (button, "clicked", G_CALLBACK (lesson_button_cb), self);

  return button;
}

static GtkWidget *
lesson_menu (EfLessonsPage *self,
             const EfLessonRow *lesson)
{
  GtkWidget *menu = gtk_menu_button_new (), *popover = gtk_popover_new (), *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);

  if (lesson->whole)
    {
      gtk_box_append (GTK_BOX (box), lesson_button (self, _ ("Edit…"), FALSE, lesson->name, edit));
      gtk_box_append (GTK_BOX (box), lesson_button (self, _ ("Export with Reference…"), FALSE, lesson->name, export_lesson));
    }
  gtk_box_append (GTK_BOX (box), lesson_button (self, _ ("Export Sheet for Apprentices…"), FALSE, lesson->name, export_sheet));
  gtk_box_append (GTK_BOX (box), lesson_button (self, lesson->away ? _ ("Take Out Again") : _ ("Put Away"), FALSE, lesson->name, lesson->away ? take_out : put_away));
  gtk_popover_set_child (GTK_POPOVER (popover), box);
  gtk_menu_button_set_popover (GTK_MENU_BUTTON (menu), popover);
  gtk_menu_button_set_icon_name (GTK_MENU_BUTTON (menu), "view-more-symbolic");
  gtk_widget_set_valign (menu, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (menu, "ef-touch");
  gtk_widget_set_tooltip_text (menu, _ ("More"));
  gtk_accessible_update_property (GTK_ACCESSIBLE (menu), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("More"), -1);

  return menu;
}

static GtkWidget *
plain_row (const char *title,
           const char *subtitle)
{
  g_autofree char *escaped_title = g_markup_escape_text (title, -1);
  g_autofree char *escaped = g_markup_escape_text (subtitle, -1);

  return g_object_new (ADW_TYPE_ACTION_ROW, "title", escaped_title, "subtitle", escaped, "subtitle-lines", 0, NULL);
}

static GtkWidget *
lesson_row (EfLessonsPage *self,
            const EfLessonRow *lesson)
{
  g_autofree char *kind = g_strdup (lesson->away ? _ ("put away") : lesson->whole ? _ ("with reference")
                                                                                  : _ ("sheet without reference"));
  g_autofree char *attempts = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u attempt", "%u attempts", lesson->n_attempts), lesson->n_attempts);
  g_autofree char *subtitle = g_strdup_printf (_ ("%s · %s · %s"), lesson->pump, kind, attempts);
  GtkWidget *row = plain_row (lesson->title, subtitle);

  adw_action_row_add_suffix (ADW_ACTION_ROW (row), lesson_button (self, _ ("Start…"), FALSE, lesson->name, start));
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), lesson_menu (self, lesson));

  return row;
}

static void
open_attempt_cb (GtkWidget *button,
                 EfLessonsPage *self)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));

  if (window != NULL)
    ef_window_open_attempt (window, *(gint64 *) g_object_get_data (G_OBJECT (button), "ef-job"));
}

static void
export_attempt_cb (GtkWidget *button,
                   EfLessonsPage *self)
{
  export_attempt (self, *(gint64 *) g_object_get_data (G_OBJECT (button), "ef-job"));
}

static GtkWidget *
attempt_button (EfLessonsPage *self,
                const char *label,
                gint64 job,
                GCallback callback)
{
  GtkWidget *button = row_button (label, FALSE);

  g_object_set_data_full (G_OBJECT (button), "ef-job", g_memdup2 (&job, sizeof job), g_free);
  g_signal_connect (button, "clicked", callback, self);

  return button;
}

static GtkWidget *
attempt_row (EfLessonsPage *self,
             const EfAttemptRow *attempt)
{
  gboolean handed_in = attempt->handed_in[0] != '\0';
  g_autofree char *state = NULL;
  g_autofree char *subtitle = NULL;
  GtkWidget *row;

  if (!handed_in)
    state = g_strdup_printf (_ ("under way, %u marks"), attempt->n_marks);
  else if (isnan (attempt->score))
    state = g_strdup (_ ("handed in, not scored yet"));
  else
    state = g_strdup_printf (_ ("%.0f of 100"), 100 * attempt->score);
  subtitle = g_strdup_printf (_ ("%s · %.10s · %s"), attempt->apprentice, attempt->started, state);
  row = plain_row (attempt->title, subtitle);
  if (handed_in)
    adw_action_row_add_suffix (ADW_ACTION_ROW (row), attempt_button (self, _ ("Export…"), attempt->job, G_CALLBACK (export_attempt_cb)));
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), attempt_button (self, handed_in ? _ ("Result") : _ ("Go On"), attempt->job, G_CALLBACK (open_attempt_cb)));

  return row;
}

/* --- Groups --- */

static AdwPreferencesGroup *
add_group (EfLessonsPage *self,
           const char *title)
{
  GtkWidget *group = adw_preferences_group_new ();

  if (title != NULL)
    adw_preferences_group_set_title (ADW_PREFERENCES_GROUP (group), title);
  gtk_box_append (GTK_BOX (self->list), group);

  return ADW_PREFERENCES_GROUP (group);
}

static void
apprentice_cb (EfLessonsPage *self)
{
  guint at = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->apprentice));

  if (self->filling)
    return;
  g_free (self->chosen);
  self->chosen = at > 0 && at < self->apprentices->len ? g_strdup (self->apprentices->pdata[at]) : NULL;
  ef_lessons_page_refresh (self);
}

static void
list_apprentices (EfLessonsPage *self,
                  const GPtrArray *attempts)
{
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);

  g_ptr_array_set_size (self->apprentices, 0);
  g_ptr_array_add (self->apprentices, g_strdup (_ ("All apprentices")));
  for (guint i = 0; i < attempts->len; i++)
    {
      const EfAttemptRow *row = attempts->pdata[i];

      if (g_hash_table_add (seen, row->apprentice))
        g_ptr_array_add (self->apprentices, g_strdup (row->apprentice));
    }
}

static void
add_next (EfLessonsPage *self,
          const GPtrArray *choices)
{
  AdwPreferencesGroup *group = add_group (self, _ ("What Next"));
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  g_autofree char *reason = NULL;
  int suggested = ef_lesson_suggest (self->past, choices, &reason);
  GtkWidget *row;
  guint chosen = 0;

  for (guint i = 0; i < self->apprentices->len; i++)
    {
      gtk_string_list_append (names, self->apprentices->pdata[i]);
      if (g_strcmp0 (self->apprentices->pdata[i], self->chosen) == 0)
        chosen = i;
    }
  self->apprentice = gtk_drop_down_new (G_LIST_MODEL (g_steal_pointer (&names)), NULL);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->apprentice), chosen);
  gtk_widget_set_valign (self->apprentice, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (self->apprentice, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->apprentice), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Apprentice"), -1);
  g_signal_connect_swapped (self->apprentice, "notify::selected", G_CALLBACK (apprentice_cb), self);
  adw_preferences_group_set_header_suffix (group, self->apprentice);
  g_clear_pointer (&self->suggested, g_free);
  if (suggested < 0)
    return;
  self->suggested = g_strdup (((EfLessonChoice *) choices->pdata[suggested])->name);
  row = plain_row (((EfLessonChoice *) choices->pdata[suggested])->title, reason);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), lesson_button (self, _ ("Start…"), TRUE, self->suggested, start));
  adw_preferences_group_add (group, row);
}

static void
draw_plot (GtkDrawingArea *area,
           cairo_t *cr,
           int width,
           int height,
           gpointer data)
{
  EfLessonsPage *self = data;
  EfDrawStyle style;

  ef_look_style (&style);
  ef_draw_lesson_progress (cr, &style, self->past, width, height);
}

static void
add_kind_rows (EfLessonsPage *self,
               AdwPreferencesGroup *group)
{
  EfLessonKind kinds[EF_N_MARK_KINDS];
  double needs[EF_N_MARK_KINDS];

  ef_lesson_progress_kinds (self->past, kinds);
  ef_lesson_progress_needs (self->past, needs);
  for (;;)
    {
      int most = -1;
      g_autofree char *text = NULL;

      for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
        if (needs[kind] > 0 && (most < 0 || needs[kind] > needs[most]))
          most = kind;
      if (most < 0)
        return;
      text = g_strdup_printf (_ ("%u of %u missed, %u of the wrong kind, %u not there"), kinds[most].missed, kinds[most].reference, kinds[most].wrong_kind,
                              kinds[most].wrongly_seen);
      adw_preferences_group_add (group, plain_row (_ (ef_mark_kind_label (most)), text));
      needs[most] = 0;
    }
}

static void
add_progress (EfLessonsPage *self)
{
  AdwPreferencesGroup *group = add_group (self, _ ("Progress"));

  adw_preferences_group_set_description (group, self->chosen != NULL ? self->chosen : _ ("All apprentices together"));
  self->plot = gtk_drawing_area_new ();
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->plot), (int) (220 * ef_look_text_scale ()));
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->plot), draw_plot, self, NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->plot), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Scores over the attempts"), -1);
  ef_look_follow (self->plot);
  adw_preferences_group_add (group, self->plot);
  if (self->past->len > 0)
    add_kind_rows (self, add_group (self, _ ("Kinds Most in Need of a Second Look")));
}

/* Beside each other as far as there's room. */
static GtkWidget *
lesson_buttons (EfLessonsPage *self)
{
  GtkWidget *flow = gtk_flow_box_new (), *away = gtk_toggle_button_new_with_label (_ ("Show Put Away"));
  GtkWidget *const buttons[] = { row_button (_ ("Make from a Job…"), FALSE), row_button (_ ("New Specimen…"), FALSE), row_button (_ ("Import…"), FALSE), away };
  const GCallback callbacks[] = { G_CALLBACK (make_cb), G_CALLBACK (specimen_cb), G_CALLBACK (import_cb) };

  g_object_set (flow, "selection-mode", GTK_SELECTION_NONE, "max-children-per-line", 4, "column-spacing", 6, "row-spacing", 6, NULL);
  gtk_widget_add_css_class (away, "ef-touch");
  gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (away), self->with_away);
  g_signal_connect (away, "toggled", G_CALLBACK (away_cb), self);
  for (guint i = 0; i < G_N_ELEMENTS (callbacks); i++)
    g_signal_connect_swapped (buttons[i], "clicked", callbacks[i], self);
  for (guint i = 0; i < G_N_ELEMENTS (buttons); i++)
    {
      GtkWidget *child = gtk_flow_box_child_new ();

      /* The key stops at the button, not at the place that it stands in. */
      gtk_widget_set_focusable (child, FALSE);
      gtk_flow_box_child_set_child (GTK_FLOW_BOX_CHILD (child), buttons[i]);
      gtk_flow_box_append (GTK_FLOW_BOX (flow), child);
    }

  return flow;
}

static void
add_lessons (EfLessonsPage *self,
             const GPtrArray *lessons)
{
  AdwPreferencesGroup *head = add_group (self, _ ("Lessons")), *group = NULL;

  adw_preferences_group_add (head, lesson_buttons (self));
  for (guint i = 0; i < lessons->len; i++)
    {
      if (!self->with_away && ((EfLessonRow *) lessons->pdata[i])->away)
        continue;
      if (group == NULL)
        group = add_group (self, NULL);
      adw_preferences_group_add (group, lesson_row (self, lessons->pdata[i]));
    }
}

static void
add_attempts (EfLessonsPage *self,
              const GPtrArray *attempts)
{
  AdwPreferencesGroup *group = add_group (self, _ ("Attempts"));
  guint n = 0;

  for (guint i = 0; i < attempts->len; i++)
    if (self->chosen == NULL || g_str_equal (((EfAttemptRow *) attempts->pdata[i])->apprentice, self->chosen))
      {
        adw_preferences_group_add (group, attempt_row (self, attempts->pdata[i]));
        n++;
      }
  if (n == 0)
    adw_preferences_group_set_description (group, _ ("None yet."));
}

static void
fill (EfLessonsPage *self,
      const GPtrArray *lessons,
      const GPtrArray *attempts,
      const GPtrArray *choices)
{
  GtkWidget *child;

  self->filling = TRUE;
  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_box_remove (GTK_BOX (self->list), child);
  list_apprentices (self, attempts);
  add_next (self, choices);
  add_lessons (self, lessons);
  add_attempts (self, attempts);
  add_progress (self);
  self->filling = FALSE;
}

void
ef_lessons_page_refresh (EfLessonsPage *self)
{
  g_autoptr (GPtrArray) lessons = NULL;
  g_autoptr (GPtrArray) attempts = NULL;
  g_autoptr (GPtrArray) choices = NULL;
  g_autoptr (GPtrArray) past = NULL;
  g_autoptr (GError) error = NULL;

  if (self->store == NULL || self->filling)
    return;
  lessons = ef_store_lessons (self->store, TRUE, &error);
  attempts = lessons != NULL ? ef_store_attempts (self->store, NULL, &error) : NULL;
  choices = attempts != NULL ? ef_lesson_store_choices (self->store, self->chosen, &error) : NULL;
  past = choices != NULL ? ef_lesson_store_past (self->store, self->chosen, &error) : NULL;
  if (past == NULL)
    {
      tell (self, error->message);
      return;
    }
  g_ptr_array_unref (self->past);
  self->past = g_steal_pointer (&past);
  gtk_stack_set_visible_child_name (GTK_STACK (self->stack), lessons->len + attempts->len > 0 ? "list" : "empty");
  fill (self, lessons, attempts, choices);
}

void
ef_lessons_page_set_store (EfLessonsPage *self,
                           EfStore *store)
{
  self->store = store;
  g_clear_pointer (&self->chosen, g_free);
  ef_lessons_page_refresh (self);
}

const char *
ef_lessons_page_suggested (EfLessonsPage *self)
{
  return self->suggested;
}

static void
ef_lessons_page_finalize (GObject *object)
{
  EfLessonsPage *self = EF_LESSONS_PAGE (object);

  g_ptr_array_unref (self->apprentices);
  g_ptr_array_unref (self->past);
  g_free (self->chosen);
  g_free (self->suggested);
  G_OBJECT_CLASS (ef_lessons_page_parent_class)->finalize (object);
}

static void
ef_lessons_page_class_init (EfLessonsPageClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_lessons_page_finalize;
}

static GtkWidget *
pill (const char *label,
      gboolean strong)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "pill");
  if (strong)
    gtk_widget_add_css_class (button, "suggested-action");

  return button;
}

static GtkWidget *
make_empty (EfLessonsPage *self)
{
  GtkWidget *page = adw_status_page_new (), *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12), *make = pill (_ ("Make a Lesson from a Job…"), TRUE), *import = pill (_ ("Import…"), FALSE),
            *specimen = pill (_ ("New Specimen…"), FALSE), *demo = pill (_ ("Open the Demo"), FALSE);

  adw_status_page_set_icon_name (ADW_STATUS_PAGE (page), "ef-lessons-symbolic");
  adw_status_page_set_title (ADW_STATUS_PAGE (page), _ ("No lessons yet"));
  adw_status_page_set_description (ADW_STATUS_PAGE (page), _ ("A lesson is a job whose marking an apprentice is to find: look, mark, measure and decide without the reference, "
                                                              "then see side by side what was found and missed, and what it would have cost."));
  gtk_widget_set_halign (box, GTK_ALIGN_CENTER);
  g_signal_connect_swapped (make, "clicked", G_CALLBACK (make_cb), self);
  g_signal_connect_swapped (import, "clicked", G_CALLBACK (import_cb), self);
  g_signal_connect_swapped (specimen, "clicked", G_CALLBACK (specimen_cb), self);
  gtk_actionable_set_action_name (GTK_ACTIONABLE (demo), "win.demo");
  gtk_box_append (GTK_BOX (box), make);
  gtk_box_append (GTK_BOX (box), specimen);
  gtk_box_append (GTK_BOX (box), import);
  gtk_box_append (GTK_BOX (box), demo);
  adw_status_page_set_child (ADW_STATUS_PAGE (page), box);

  return page;
}

static void
ef_lessons_page_init (EfLessonsPage *self)
{
  GtkWidget *scrolled = gtk_scrolled_window_new (), *viewport = gtk_viewport_new (NULL, NULL), *clamp = adw_clamp_new ();

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  self->apprentices = g_ptr_array_new_with_free_func (g_free);
  self->past = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_past_free);
  self->list = gtk_box_new (GTK_ORIENTATION_VERTICAL, 24);
  g_object_set (self->list, "margin-start", 18, "margin-end", 18, "margin-top", 18, "margin-bottom", 24, NULL);
  adw_clamp_set_maximum_size (ADW_CLAMP (clamp), 1000);
  adw_clamp_set_child (ADW_CLAMP (clamp), self->list);
  gtk_viewport_set_scroll_to_focus (GTK_VIEWPORT (viewport), TRUE);
  gtk_viewport_set_child (GTK_VIEWPORT (viewport), clamp);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), viewport);
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (scrolled), GTK_POLICY_NEVER, GTK_POLICY_AUTOMATIC);
  self->stack = gtk_stack_new ();
  gtk_widget_set_vexpand (self->stack, TRUE);
  gtk_stack_add_named (GTK_STACK (self->stack), make_empty (self), "empty");
  gtk_stack_add_named (GTK_STACK (self->stack), scrolled, "list");
  gtk_box_append (GTK_BOX (self), self->stack);
}
