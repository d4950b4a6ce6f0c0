/* A new specimen.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-specimen-form.h"
#include "ef-field.h"
#include "ef-sheets.h"

#include <glib/gi18n.h>

struct _EfSpecimenForm
{
  EfFormWindow parent_instance;

  GPtrArray *sheets; /* EfSheetEntry *, in the order of the drop-down */
  GtkWidget *sheet, *cause, *difficulty, *busy;
  EfField *seed;
  GCancellable *cancellable; /* of the wearing under way; NULL none */
};

G_DEFINE_FINAL_TYPE (EfSpecimenForm, ef_specimen_form, EF_TYPE_FORM_WINDOW)

typedef struct
{
  EfPumpSheet *sheet;
  guint32 seed;
  EfCause cause;
  int difficulty;
} Order;

static void
order_free (Order *order)
{
  ef_pump_sheet_unref (order->sheet);
  g_free (order);
}

static void
wear_thread (GTask *task,
             gpointer source,
             gpointer data,
             GCancellable *cancellable)
{
  const Order *order = data;
  GError *error = NULL;
  EfLesson *lesson = ef_lesson_wear (order->sheet, order->seed, order->cause, order->difficulty, NULL, &error);

  if (lesson != NULL)
    g_task_return_pointer (task, lesson, (GDestroyNotify) ef_lesson_free);
  else
    g_task_return_error (task, error);
}

static void
set_busy (EfSpecimenForm *self,
          gboolean busy)
{
  gtk_widget_set_visible (self->busy, busy);
  gtk_widget_set_sensitive (self->sheet, !busy);
  gtk_widget_set_sensitive (self->cause, !busy);
  gtk_widget_set_sensitive (self->difficulty, !busy);
  gtk_widget_set_sensitive (GTK_WIDGET (self->seed), !busy);
  ef_form_window_refit (EF_FORM_WINDOW (self));
}

static void
worn_cb (GObject *source,
         GAsyncResult *result,
         gpointer data)
{
  EfSpecimenForm *self = EF_SPECIMEN_FORM (source);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLesson) lesson = g_task_propagate_pointer (G_TASK (result), &error);

  if (g_cancellable_is_cancelled (g_task_get_cancellable (G_TASK (result))))
    return;
  g_clear_object (&self->cancellable);
  set_busy (self, FALSE);
  if (lesson == NULL)
    {
      ef_field_set_message (self->seed, error->message);
      ef_form_window_refit (EF_FORM_WINDOW (self));
      return;
    }
  g_signal_emit_by_name (self, "worn", lesson);
  gtk_window_close (GTK_WINDOW (self));
}

/* What is worn is told by the signal; the window stays until then. */
static gboolean
ef_specimen_form_accept (EfFormWindow *window)
{
  EfSpecimenForm *self = EF_SPECIMEN_FORM (window);
  guint sheet = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->sheet));
  g_autoptr (GTask) task = NULL;
  Order *order;
  double seed;

  if (self->cancellable != NULL || sheet >= self->sheets->len)
    return FALSE;
  if (!ef_field_number (self->seed, TRUE, 0.0, G_MAXUINT32, &seed))
    return FALSE;
  if (seed != (guint32) seed)
    {
      ef_field_set_message (self->seed, _ ("A whole number is needed here."));
      return FALSE;
    }

  order = g_new0 (Order, 1);
  order->sheet = ef_pump_sheet_ref (((EfSheetEntry *) self->sheets->pdata[sheet])->sheet);
  order->seed = (guint32) seed;
  order->cause = (EfCause) gtk_drop_down_get_selected (GTK_DROP_DOWN (self->cause));
  order->difficulty = 1 + (int) gtk_drop_down_get_selected (GTK_DROP_DOWN (self->difficulty));
  self->cancellable = g_cancellable_new ();
  set_busy (self, TRUE);
  task = g_task_new (self, self->cancellable, worn_cb, NULL);
  g_task_set_task_data (task, order, (GDestroyNotify) order_free);
  g_task_run_in_thread (task, wear_thread);

  return FALSE;
}

static gboolean
ef_specimen_form_close_request (GtkWindow *window)
{
  g_cancellable_cancel (EF_SPECIMEN_FORM (window)->cancellable);

  return GTK_WINDOW_CLASS (ef_specimen_form_parent_class)->close_request (window);
}

static void
ef_specimen_form_finalize (GObject *object)
{
  EfSpecimenForm *self = EF_SPECIMEN_FORM (object);

  g_clear_pointer (&self->sheets, g_ptr_array_unref);
  g_clear_object (&self->cancellable);
  G_OBJECT_CLASS (ef_specimen_form_parent_class)->finalize (object);
}

static void
ef_specimen_form_class_init (EfSpecimenFormClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_specimen_form_finalize;
  GTK_WINDOW_CLASS (klass)->close_request = ef_specimen_form_close_request;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_specimen_form_accept;
  g_signal_new ("worn", EF_TYPE_SPECIMEN_FORM, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_POINTER);
}

static GtkWidget *
cause_choice (void)
{
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);

  gtk_string_list_append (names, _ ("A puzzle: drawn from the seed"));
  for (int i = 1; i < EF_N_CAUSES; i++)
    gtk_string_list_append (names, _ (ef_cause_label (i)));

  return gtk_drop_down_new (G_LIST_MODEL (g_steal_pointer (&names)), NULL);
}

static GtkWidget *
difficulty_choice (void)
{
  const char *const names[EF_SPECIMEN_HARDEST + 1] = {
    _ ("1: plain and alone"), _ ("2: with harmless scoring and imprints"), _ ("3: near the limit, with traces of another origin"), NULL
  };

  return gtk_drop_down_new_from_strings (names);
}

static void
ef_specimen_form_init (EfSpecimenForm *self)
{
  GtkWidget *spinner = gtk_spinner_new (), *about;

  about = g_object_new (GTK_TYPE_LABEL, "label",
                        _ ("A pump worn by simulation becomes a lesson: its wear is known, and what happened to it is told with the result. The same seed makes the same pump; a short one could be guessed, and isn't told to the apprentice."),
                        "xalign", 0.0f, "wrap", TRUE, "max-width-chars", 50, NULL);
  self->cause = cause_choice ();
  self->difficulty = difficulty_choice ();
  self->sheet = gtk_drop_down_new (NULL, NULL);
  gtk_widget_add_css_class (self->sheet, "ef-touch");
  gtk_widget_add_css_class (self->cause, "ef-touch");
  gtk_widget_add_css_class (self->difficulty, "ef-touch");
  self->seed = EF_FIELD (ef_field_new (_ ("Seed, a whole number")));
  self->busy = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  gtk_spinner_start (GTK_SPINNER (spinner));
  gtk_box_append (GTK_BOX (self->busy), spinner);
  gtk_box_append (GTK_BOX (self->busy), gtk_label_new (_ ("The pump is running…")));
  gtk_widget_set_visible (self->busy, FALSE);

  ef_form_window_set_accept_label (EF_FORM_WINDOW (self), _ ("_Wear It"));
  ef_form_window_add (EF_FORM_WINDOW (self), about);
  ef_form_window_add (EF_FORM_WINDOW (self), ef_labelled (_ ("Pump"), self->sheet));
  ef_form_window_add (EF_FORM_WINDOW (self), ef_labelled (_ ("What wears it"), self->cause));
  ef_form_window_add (EF_FORM_WINDOW (self), ef_labelled (_ ("Difficulty"), self->difficulty));
  ef_form_window_add (EF_FORM_WINDOW (self), GTK_WIDGET (self->seed));
  ef_form_window_add (EF_FORM_WINDOW (self), self->busy);
}

EfSpecimenForm *
ef_specimen_form_show (GtkWidget *parent,
                       EfStore *store)
{
  EfSpecimenForm *self = g_object_new (EF_TYPE_SPECIMEN_FORM, "title", _ ("A New Specimen"), NULL);
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  g_autofree char *seed = g_strdup_printf ("%d", g_random_int_range (1000000, G_MAXINT));

  self->sheets = ef_sheets_all (store, NULL);
  for (guint i = 0; i < self->sheets->len; i++)
    gtk_string_list_append (names, ((EfSheetEntry *) self->sheets->pdata[i])->sheet->name);
  gtk_drop_down_set_model (GTK_DROP_DOWN (self->sheet), G_LIST_MODEL (names));
  ef_field_set_text (self->seed, seed);
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
  gtk_widget_grab_focus (self->sheet);

  return self;
}
