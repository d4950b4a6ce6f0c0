/* The lesson editor.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-lesson-editor.h"
#include "ef-field.h"
#include "ef-form-window.h"
#include "ef-look.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"
#include "../record/ef-permit.h"

#include <glib/gi18n.h>
#include <math.h>

typedef enum
{
  TOLERANCE_PLACE,
  TOLERANCE_SIZE,
  TOLERANCE_DEPTH,
  TOLERANCE_DEPTH_SHARE,
  TOLERANCE_VERDICT,
  N_TOLERANCES
} Tolerance;

struct _EfLessonEditor
{
  AdwWindow parent_instance;

  EfStore *store; /* borrowed */
  EfLesson *lesson;
  EfPermit *permit; /* to change it, as it was given before the editor was opened; NULL: nobody is asked */
  GtkWidget *toasts, *place;
  GtkWidget *task; /* text view */
  EfField *title, *tolerances[N_TOLERANCES];
  gboolean filling;
};

enum
{
  CHANGED,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfLessonEditor, ef_lesson_editor, ADW_TYPE_WINDOW)

static void rebuild (EfLessonEditor *self);

/* Each field is kept as it's left, and who may was asked once. Returns who. */
static char *
allow (EfLessonEditor *self)
{
  if (self->permit == NULL)
    return ef_settings_role ();
  ef_store_use_permit (self->store, self->permit);

  return g_strdup (ef_permit_role (self->permit));
}

static void
tell (EfLessonEditor *self,
      const char *text)
{
  g_autofree char *escaped = g_markup_escape_text (text, -1);

  adw_toast_overlay_add_toast (ADW_TOAST_OVERLAY (self->toasts), adw_toast_new (escaped));
}

/* Takes @next where it can be kept; what can't is told, and the fields show what holds. */
static gboolean
keep (EfLessonEditor *self,
      EfLesson *next,
      const char *label)
{
  g_autoptr (EfLesson) taken = next;
  g_autofree char *role = allow (self);
  g_autoptr (GError) error = NULL;

  if (!ef_lesson_store_put (self->store, next, role, label, &error))
    {
      tell (self, error->message);
      return FALSE;
    }
  ef_lesson_free (self->lesson);
  self->lesson = g_steal_pointer (&taken);
  g_signal_emit (self, signals[CHANGED], 0);

  return TRUE;
}

static void
walk (EfLessonEditor *self,
      gboolean (*step) (EfStore *, const char *, const char *, GError **),
      const char *none)
{
  g_autofree char *role = allow (self);
  g_autoptr (GError) error = NULL;
  EfLesson *other = step (self->store, self->lesson->terms.name, role, &error) ? ef_lesson_store_get (self->store, self->lesson->terms.name, &error) : NULL;

  if (other == NULL)
    {
      tell (self, g_error_matches (error, EF_ERROR, EF_ERROR_NOT_FOUND) ? none : error->message);
      return;
    }
  ef_lesson_free (self->lesson);
  self->lesson = other;
  rebuild (self);
  g_signal_emit (self, signals[CHANGED], 0);
}

void
ef_lesson_editor_undo (EfLessonEditor *self)
{
  walk (self, ef_store_undo_lesson, _ ("There's nothing before this."));
}

void
ef_lesson_editor_redo (EfLessonEditor *self)
{
  walk (self, ef_store_redo_lesson, _ ("There's nothing to redo."));
}

static void
undo_cb (GtkWidget *widget,
         const char *action,
         GVariant *parameter)
{
  ef_lesson_editor_undo (EF_LESSON_EDITOR (widget));
}

static void
redo_cb (GtkWidget *widget,
         const char *action,
         GVariant *parameter)
{
  ef_lesson_editor_redo (EF_LESSON_EDITOR (widget));
}

/* --- Words and tolerances --- */

static void
title_left_cb (EfLessonEditor *self)
{
  g_autofree char *text = NULL;
  EfLesson *next;

  if (self->filling || !ef_field_string (self->title, TRUE, &text) || g_str_equal (text, self->lesson->terms.title))
    return;
  next = ef_lesson_copy (self->lesson);
  g_free (next->terms.title);
  next->terms.title = g_steal_pointer (&text);
  keep (self, next, "Title");
}

static void
task_left_cb (EfLessonEditor *self)
{
  GtkTextBuffer *buffer = gtk_text_view_get_buffer (GTK_TEXT_VIEW (self->task));
  GtkTextIter start, end;
  g_autofree char *text = NULL;
  EfLesson *next;

  gtk_text_buffer_get_bounds (buffer, &start, &end);
  text = gtk_text_buffer_get_text (buffer, &start, &end, FALSE);
  if (self->filling || g_str_equal (text, self->lesson->terms.task))
    return;
  next = ef_lesson_copy (self->lesson);
  g_free (next->terms.task);
  next->terms.task = g_steal_pointer (&text);
  keep (self, next, "Task");
}

static double *
tolerance_of (EfLesson *lesson,
              Tolerance which)
{
  double *const places[N_TOLERANCES] = { &lesson->terms.tolerance.place, &lesson->terms.tolerance.size_share, &lesson->terms.tolerance.depth,
                                         &lesson->terms.tolerance.depth_share, &lesson->terms.verdict_tolerance };

  return places[which];
}

static const struct
{
  const char *label;
  double factor, least, most; /* shown = kept * factor */
} tolerances[N_TOLERANCES] = {
  { N_ ("Place, mm"), 1e3, 0.01, 100 },
  { N_ ("Size, % of the area"), 100, 0, 100 },
  { N_ ("Depth, mm"), 1e3, 0.0001, 10 },
  { N_ ("Depth, % of the reference's"), 100, 0, 100 },
  { N_ ("Verdict: cost that counts as right, 0 to 1"), 1, 0, 1 },
};

static void
tolerance_left_cb (EfField *field,
                   EfLessonEditor *self)
{
  Tolerance which = (Tolerance) GPOINTER_TO_INT (g_object_get_data (G_OBJECT (field), "ef-which"));
  double number, now = *tolerance_of (self->lesson, which);
  EfLesson *next;

  if (self->filling || !ef_field_number (field, TRUE, tolerances[which].least, tolerances[which].most, &number))
    return;
  number /= tolerances[which].factor;
  if (fabs (number - now) <= 1e-12)
    return;
  next = ef_lesson_copy (self->lesson);
  *tolerance_of (next, which) = number;
  keep (self, next, "Tolerance");
}

static EfField *
add_field (EfLessonEditor *self,
           GtkWidget *box,
           const char *label,
           const char *text,
           GCallback left)
{
  EfField *field = EF_FIELD (ef_field_new (label));

  ef_field_set_text (field, text);
  g_signal_connect_swapped (field, "left", left, self);
  g_signal_connect_swapped (field, "committed", left, self);
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (field));

  return field;
}

/* Some lines, kept when the field is left. */
static GtkWidget *
make_task (EfLessonEditor *self)
{
  GtkWidget *frame = gtk_scrolled_window_new ();
  GtkEventController *focus = gtk_event_controller_focus_new ();

  self->task = g_object_new (GTK_TYPE_TEXT_VIEW, "wrap-mode", GTK_WRAP_WORD_CHAR, "accepts-tab", FALSE, "left-margin", 8, "right-margin", 8, "top-margin", 8, "bottom-margin", 8, NULL);
  gtk_text_buffer_set_text (gtk_text_view_get_buffer (GTK_TEXT_VIEW (self->task)), self->lesson->terms.task, -1);
  g_signal_connect_swapped (focus, "leave", G_CALLBACK (task_left_cb), self);
  gtk_widget_add_controller (self->task, focus);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (frame), self->task);
  g_object_set (frame, "min-content-height", (int) (90 * ef_look_text_scale ()), "max-content-height", (int) (220 * ef_look_text_scale ()), "propagate-natural-height", TRUE, "hscrollbar-policy", GTK_POLICY_NEVER, NULL);
  gtk_widget_add_css_class (frame, "frame");
  frame = ef_labelled (_ ("Task, in words for the apprentice"), frame);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->task), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Task, in words for the apprentice"), -1);

  return frame;
}

static GtkWidget *
make_words (EfLessonEditor *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);

  self->title = add_field (self, box, _ ("Title"), self->lesson->terms.title, G_CALLBACK (title_left_cb));
  gtk_box_append (GTK_BOX (box), make_task (self));

  return box;
}

static GtkWidget *
make_tolerances (EfLessonEditor *self)
{
  GtkWidget *flow = gtk_flow_box_new ();

  gtk_flow_box_set_selection_mode (GTK_FLOW_BOX (flow), GTK_SELECTION_NONE);
  gtk_flow_box_set_min_children_per_line (GTK_FLOW_BOX (flow), 2);
  gtk_flow_box_set_max_children_per_line (GTK_FLOW_BOX (flow), 3);
  gtk_flow_box_set_homogeneous (GTK_FLOW_BOX (flow), TRUE);
  for (int which = 0; which < N_TOLERANCES; which++)
    {
      EfField *field = EF_FIELD (ef_field_new (_ (tolerances[which].label)));
      g_autofree char *text = g_strdup_printf ("%.6g", *tolerance_of (self->lesson, which) * tolerances[which].factor);

      ef_field_set_text (field, text);
      g_object_set_data (G_OBJECT (field), "ef-which", GINT_TO_POINTER (which));
      g_signal_connect (field, "left", G_CALLBACK (tolerance_left_cb), self);
      g_signal_connect (field, "committed", G_CALLBACK (tolerance_left_cb), self);
      self->tolerances[which] = field;
      gtk_flow_box_append (GTK_FLOW_BOX (flow), GTK_WIDGET (field));
    }

  return flow;
}

/* --- Choosing of lists: faces, gauges, quantities --- */

typedef enum
{
  LIST_FACES,
  LIST_GAUGES,
  LIST_MEASURE
} List;

static GStrv
list_with (char *const *list,
           const char *id,
           gboolean in)
{
  g_autoptr (GStrvBuilder) builder = g_strv_builder_new ();

  for (guint i = 0; list[i] != NULL; i++)
    if (!g_str_equal (list[i], id))
      g_strv_builder_add (builder, list[i]);
  if (in)
    g_strv_builder_add (builder, id);

  return g_strv_builder_end (builder);
}

static void
set_list (EfLesson *lesson,
          List list,
          GStrv ids)
{
  if (list == LIST_FACES)
    {
      ef_lesson_set_faces (lesson, (const char *const *) ids, EF_VERDICT_USE);
      g_strfreev (ids);
      return;
    }
  g_strfreev (list == LIST_GAUGES ? lesson->terms.gauges : lesson->terms.measure);
  if (list == LIST_GAUGES)
    lesson->terms.gauges = ids;
  else
    lesson->terms.measure = ids;
}

static char **
get_list (const EfLesson *lesson,
          List list)
{
  return list == LIST_FACES ? lesson->terms.faces : list == LIST_GAUGES ? lesson->terms.gauges
                                                                        : lesson->terms.measure;
}

static void
listed_cb (GtkCheckButton *button,
           EfLessonEditor *self)
{
  List list = (List) GPOINTER_TO_INT (g_object_get_data (G_OBJECT (button), "ef-list"));
  const char *id = g_object_get_data (G_OBJECT (button), "ef-id");
  gboolean in = gtk_check_button_get_active (button);
  EfLesson *next;

  if (self->filling || g_strv_contains ((const char *const *) get_list (self->lesson, list), id) == in)
    return;
  next = ef_lesson_copy (self->lesson);
  set_list (next, list, list_with (get_list (self->lesson, list), id, in));
  if (!keep (self, next, list == LIST_FACES ? "Faces" : list == LIST_GAUGES ? "Gauges"
                                                                            : "To be measured"))
    {
      self->filling = TRUE;
      gtk_check_button_set_active (button, !in);
      self->filling = FALSE;
      return;
    }
  if (list == LIST_FACES)
    rebuild (self);
}

static void
add_listed (EfLessonEditor *self,
            GtkWidget *flow,
            List list,
            const char *id,
            const char *label)
{
  GtkWidget *button = gtk_check_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  gtk_check_button_set_active (GTK_CHECK_BUTTON (button), g_strv_contains ((const char *const *) get_list (self->lesson, list), id));
  g_object_set_data (G_OBJECT (button), "ef-list", GINT_TO_POINTER (list));
  g_object_set_data_full (G_OBJECT (button), "ef-id", g_strdup (id), g_free);
  g_signal_connect (button, "toggled", G_CALLBACK (listed_cb), self);
  gtk_flow_box_append (GTK_FLOW_BOX (flow), button);
}

static GtkWidget *
make_flow (void)
{
  GtkWidget *flow = gtk_flow_box_new ();

  gtk_flow_box_set_selection_mode (GTK_FLOW_BOX (flow), GTK_SELECTION_NONE);
  gtk_flow_box_set_max_children_per_line (GTK_FLOW_BOX (flow), 3);
  gtk_flow_box_set_homogeneous (GTK_FLOW_BOX (flow), TRUE);

  return flow;
}

static guint
marks_on (const EfLesson *lesson,
          const char *face)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (lesson->reference, face);

  return marks->len;
}

static GtkWidget *
make_faces (EfLessonEditor *self)
{
  GtkWidget *flow = make_flow ();
  g_auto (GStrv) known = ef_face_ids (self->lesson->reference->sheet);

  for (guint i = 0; known[i] != NULL; i++)
    {
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (self->lesson->reference->sheet, known[i], NULL);
      const EfPart *part = chart != NULL ? ef_pump_sheet_part (self->lesson->reference->sheet, chart->part_id) : NULL;
      g_autofree char *label = NULL;

      if (part == NULL)
        continue;
      label = g_strdup_printf (_ ("%s · %s (%u)"), part->name, chart->name, marks_on (self->lesson, known[i]));
      add_listed (self, flow, LIST_FACES, known[i], label);
    }

  return flow;
}

static GtkWidget *
make_gauges (EfLessonEditor *self)
{
  GtkWidget *flow = make_flow ();
  const GPtrArray *gauges = self->lesson->reference->items[EF_ITEM_GAUGE];

  for (guint i = 0; i < gauges->len; i++)
    add_listed (self, flow, LIST_GAUGES, ((EfItem *) gauges->pdata[i])->id, ((EfGauge *) gauges->pdata[i])->name);

  return flow;
}

static GtkWidget *
make_measure (EfLessonEditor *self)
{
  GtkWidget *flow = make_flow ();

  for (int quantity = 0; quantity < EF_N_READINGS; quantity++)
    add_listed (self, flow, LIST_MEASURE, ef_quantity_name (quantity), _ (ef_quantity_label (quantity)));

  return flow;
}

/* --- Verdicts and notes --- */

static void
verdict_cb (GtkDropDown *drop_down,
            GParamSpec *pspec,
            EfLessonEditor *self)
{
  const char *part = g_object_get_data (G_OBJECT (drop_down), "ef-part");
  EfVerdictWord word = (EfVerdictWord) gtk_drop_down_get_selected (drop_down);
  EfLesson *next;

  if (self->filling || ef_lesson_verdict (self->lesson, part) == NULL || ef_lesson_verdict (self->lesson, part)->verdict == word)
    return;
  next = ef_lesson_copy (self->lesson);
  ef_lesson_verdict (next, part)->verdict = word;
  keep (self, next, "Verdict");
}

static void
verdict_note_cb (EfField *field,
                 EfLessonEditor *self)
{
  const char *part = g_object_get_data (G_OBJECT (field), "ef-part"), *text = ef_field_text (field);
  const EfLessonVerdict *now = ef_lesson_verdict (self->lesson, part);
  EfLessonVerdict *verdict;
  EfLesson *next;

  if (self->filling || now == NULL || g_strcmp0 (now->note != NULL ? now->note : "", text) == 0)
    return;
  next = ef_lesson_copy (self->lesson);
  verdict = ef_lesson_verdict (next, part);
  g_free (verdict->note);
  verdict->note = text[0] != '\0' ? g_strdup (text) : NULL;
  keep (self, next, "Note on a verdict");
}

static void
mark_note_cb (EfField *field,
              EfLessonEditor *self)
{
  const char *mark = g_object_get_data (G_OBJECT (field), "ef-mark"), *text = ef_field_text (field), *now = ef_lesson_note (self->lesson, mark);
  EfLesson *next;

  if (self->filling || g_strcmp0 (now != NULL ? now : "", text) == 0)
    return;
  next = ef_lesson_copy (self->lesson);
  ef_lesson_set_note (next, mark, text);
  keep (self, next, "Note on a mark");
}

static EfField *
note_field (EfLessonEditor *self,
            const char *label,
            const char *text,
            const char *key,
            const char *id,
            GCallback callback)
{
  EfField *field = EF_FIELD (ef_field_new (label));

  ef_field_set_text (field, text);
  g_object_set_data_full (G_OBJECT (field), key, g_strdup (id), g_free);
  g_signal_connect (field, "left", callback, self);
  g_signal_connect (field, "committed", callback, self);

  return field;
}

static GtkWidget *
make_verdicts (EfLessonEditor *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);

  for (guint i = 0; i < self->lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = self->lesson->verdicts->pdata[i];
      const EfPart *part = ef_pump_sheet_part (self->lesson->reference->sheet, verdict->part);
      const char *words[EF_N_VERDICTS + 1] = { NULL };
      GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12), *drop_down;
      g_autofree char *label = g_strdup_printf (_ ("%s: why"), part != NULL ? part->name : verdict->part);
      EfField *note = note_field (self, label, verdict->note, "ef-part", verdict->part, G_CALLBACK (verdict_note_cb));

      for (int word = 0; word < EF_N_VERDICTS; word++)
        words[word] = ef_verdict_shown (word);
      drop_down = gtk_drop_down_new_from_strings (words);
      gtk_drop_down_set_selected (GTK_DROP_DOWN (drop_down), verdict->verdict);
      gtk_widget_set_valign (drop_down, GTK_ALIGN_END);
      gtk_widget_add_css_class (drop_down, "ef-touch");
      gtk_accessible_update_property (GTK_ACCESSIBLE (drop_down), GTK_ACCESSIBLE_PROPERTY_LABEL, part != NULL ? part->name : verdict->part, -1);
      g_object_set_data_full (G_OBJECT (drop_down), "ef-part", g_strdup (verdict->part), g_free);
      g_signal_connect (drop_down, "notify::selected", G_CALLBACK (verdict_cb), self);
      gtk_widget_set_hexpand (GTK_WIDGET (note), TRUE);
      gtk_box_append (GTK_BOX (row), GTK_WIDGET (note));
      gtk_box_append (GTK_BOX (row), drop_down);
      gtk_box_append (GTK_BOX (box), row);
    }

  return box;
}

static GtkWidget *
make_notes (EfLessonEditor *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  g_autoptr (GPtrArray) marks = ef_lesson_marks (self->lesson);

  for (guint i = 0; i < marks->len; i++)
    {
      const EfMark *mark = marks->pdata[i];
      g_autofree char *face = ef_lesson_face_title (self->lesson->reference->sheet, mark->face_id);
      g_autofree char *kind = g_utf8_strdown (_ (ef_mark_kind_label (mark->kind)), -1);
      g_autofree char *label = g_strdup_printf (_ ("Mark %d, %s on %s"), mark->number, kind, face);

      gtk_box_append (GTK_BOX (box), GTK_WIDGET (note_field (self, label, ef_lesson_note (self->lesson, mark->item.id), "ef-mark", mark->item.id, G_CALLBACK (mark_note_cb))));
    }

  return box;
}

/* --- Frame --- */

static void
add_section (GtkWidget *box,
             const char *title,
             const char *about,
             GtkWidget *child)
{
  GtkWidget *heading = g_object_new (GTK_TYPE_LABEL, "label", title, "xalign", 0.0f, NULL);

  gtk_widget_add_css_class (heading, "title-4");
  gtk_box_append (GTK_BOX (box), heading);
  if (about != NULL)
    gtk_box_append (GTK_BOX (box), g_object_new (GTK_TYPE_LABEL, "label", about, "xalign", 0.0f, "wrap", TRUE, "css-classes", (const char *[]){ "dim-label", NULL }, NULL));
  gtk_box_append (GTK_BOX (box), child);
}

static void
rebuild (EfLessonEditor *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);

  self->filling = TRUE;
  g_object_set (box, "margin-start", 18, "margin-end", 18, "margin-top", 12, "margin-bottom", 24, NULL);
  add_section (box, _ ("Words"), NULL, make_words (self));
  add_section (box, _ ("Verdicts"), _ ("What is to be decided on each part whose faces are given, and why."), make_verdicts (self));
  add_section (box, _ ("Tolerances"), NULL, make_tolerances (self));
  add_section (box, _ ("Gauges the apprentice gets"), NULL, make_gauges (self));
  add_section (box, _ ("To be measured"), _ ("All other readings are given with the sheet."), make_measure (self));
  add_section (box, _ ("Faces the apprentice gets"), _ ("With the number of marks in the reference; marks on other faces don't count."), make_faces (self));
  add_section (box, _ ("Notes on the marks"), _ ("Why it is harmless, or what it does: shown with the result."), make_notes (self));
  adw_clamp_set_child (ADW_CLAMP (self->place), box);
  self->filling = FALSE;
}

/* What stands in the field that is being written in is kept as well. */
static gboolean
ef_lesson_editor_close_request (GtkWindow *window)
{
  gtk_window_set_focus (window, NULL);

  return GTK_WINDOW_CLASS (ef_lesson_editor_parent_class)->close_request (window);
}

static void
ef_lesson_editor_finalize (GObject *object)
{
  g_clear_pointer (&EF_LESSON_EDITOR (object)->lesson, ef_lesson_free);
  g_clear_pointer (&EF_LESSON_EDITOR (object)->permit, ef_permit_free);
  G_OBJECT_CLASS (ef_lesson_editor_parent_class)->finalize (object);
}

static void
ef_lesson_editor_class_init (EfLessonEditorClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->finalize = ef_lesson_editor_finalize;
  GTK_WINDOW_CLASS (klass)->close_request = ef_lesson_editor_close_request;
  gtk_widget_class_add_binding_action (widget_class, GDK_KEY_Escape, 0, "window.close", NULL);
  gtk_widget_class_install_action (widget_class, "lesson.undo", NULL, undo_cb);
  gtk_widget_class_install_action (widget_class, "lesson.redo", NULL, redo_cb);
  gtk_widget_class_add_binding_action (widget_class, GDK_KEY_z, GDK_CONTROL_MASK, "lesson.undo", NULL);
  gtk_widget_class_add_binding_action (widget_class, GDK_KEY_z, GDK_CONTROL_MASK | GDK_SHIFT_MASK, "lesson.redo", NULL);
  signals[CHANGED] = g_signal_new ("changed", EF_TYPE_LESSON_EDITOR, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
add_step (GtkWidget *bar,
          const char *icon,
          const char *label,
          const char *tip,
          const char *action)
{
  GtkWidget *button = gtk_button_new_from_icon_name (icon);

  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_tooltip_text (button, tip);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  gtk_actionable_set_action_name (GTK_ACTIONABLE (button), action);
  adw_header_bar_pack_start (ADW_HEADER_BAR (bar), button);
}

static void
ef_lesson_editor_init (EfLessonEditor *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0), *bar = adw_header_bar_new (), *scrolled = gtk_scrolled_window_new (), *viewport = gtk_viewport_new (NULL, NULL);

  gtk_window_set_title (GTK_WINDOW (self), _ ("Lesson"));
  gtk_window_set_default_size (GTK_WINDOW (self), 900, 700);
  gtk_window_set_modal (GTK_WINDOW (self), TRUE);
  add_step (bar, "edit-undo-symbolic", _ ("Undo"), _ ("Bring the version before back (Ctrl+Z)"), "lesson.undo");
  add_step (bar, "edit-redo-symbolic", _ ("Redo"), _ ("Bring what was undone back (Ctrl+Shift+Z)"), "lesson.redo");
  self->place = adw_clamp_new ();
  adw_clamp_set_maximum_size (ADW_CLAMP (self->place), 860);
  gtk_viewport_set_scroll_to_focus (GTK_VIEWPORT (viewport), TRUE);
  gtk_viewport_set_child (GTK_VIEWPORT (viewport), self->place);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), viewport);
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (scrolled), GTK_POLICY_NEVER, GTK_POLICY_AUTOMATIC);
  gtk_widget_set_vexpand (scrolled, TRUE);
  self->toasts = adw_toast_overlay_new ();
  adw_toast_overlay_set_child (ADW_TOAST_OVERLAY (self->toasts), scrolled);
  gtk_box_append (GTK_BOX (box), bar);
  gtk_box_append (GTK_BOX (box), self->toasts);
  adw_window_set_content (ADW_WINDOW (self), box);
}

EfLessonEditor *
ef_lesson_editor_show (GtkWidget *parent,
                       EfStore *store,
                       const char *name,
                       GError **error)
{
  EfLesson *lesson = ef_lesson_store_get (store, name, error);
  EfLessonEditor *self;

  if (lesson == NULL)
    return NULL;
  self = g_object_new (EF_TYPE_LESSON_EDITOR, "transient-for", gtk_widget_get_root (parent), NULL);
  self->store = store;
  self->permit = ef_store_permit (store);
  self->lesson = lesson;
  rebuild (self);
  gtk_window_present (GTK_WINDOW (self));

  return self;
}

const EfLesson *
ef_lesson_editor_lesson (EfLessonEditor *self)
{
  return self->lesson;
}
