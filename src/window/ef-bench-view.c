/* One step in large type, its keys and its buttons.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The keys are taken before any button gets them, so that Space goes on wherever the focus is.
 */
#include "config.h"

#include "ef-bench-view.h"
#include "ef-step-list.h"

#include <glib/gi18n.h>

#define LARGE_HEIGHT 1000 /* px from which on the type is larger still */

struct _EfBenchView
{
  AdwWindow parent_instance;

  GtkWidget *phase, *progress, *bar;
  GtkWidget *scrolled, *column;
  GtkWidget *previous, *done, *next;
  GtkWidget *done_text;

  EfSession *session;
  char *id; /* of the shown step */
  guint index;
};

G_DEFINE_FINAL_TYPE (EfBenchView, ef_bench_view, ADW_TYPE_WINDOW)

typedef enum
{
  GO_NEXT,
  GO_PREVIOUS,
  GO_FIRST,
  GO_LAST,
  TOGGLE_DONE,
  UNDO,
  REDO,
  LEAVE
} BenchKey;

static const struct
{
  guint keyval;
  GdkModifierType modifiers;
  BenchKey key;
} keys[] = {
  { GDK_KEY_space, 0, GO_NEXT },          { GDK_KEY_Page_Down, 0, GO_NEXT },     { GDK_KEY_Right, 0, GO_NEXT },
  { GDK_KEY_Down, 0, GO_NEXT },           { GDK_KEY_KP_Page_Down, 0, GO_NEXT },  { GDK_KEY_Page_Up, 0, GO_PREVIOUS },
  { GDK_KEY_Left, 0, GO_PREVIOUS },       { GDK_KEY_Up, 0, GO_PREVIOUS },        { GDK_KEY_BackSpace, 0, GO_PREVIOUS },
  { GDK_KEY_KP_Page_Up, 0, GO_PREVIOUS }, { GDK_KEY_Home, 0, GO_FIRST },         { GDK_KEY_End, 0, GO_LAST },
  { GDK_KEY_Return, 0, TOGGLE_DONE },     { GDK_KEY_KP_Enter, 0, TOGGLE_DONE },  { GDK_KEY_z, GDK_CONTROL_MASK, UNDO },
  { GDK_KEY_y, GDK_CONTROL_MASK, REDO },  { GDK_KEY_z, GDK_CONTROL_MASK | GDK_SHIFT_MASK, REDO },
  { GDK_KEY_Escape, 0, LEAVE },           { GDK_KEY_F11, 0, LEAVE },
};

static GPtrArray *
steps_of (EfBenchView *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);

  return assessment != NULL && assessment->steps != NULL && assessment->steps->len > 0 ? assessment->steps : NULL;
}

static const EfTick *
tick_of (EfBenchView *self,
         const EfStep *step)
{
  return ef_inspection_find (ef_document_inspection (ef_session_document (self->session)), EF_ITEM_TICK, step->id);
}

static GtkWidget *
big_label (const char *text,
           const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, "hexpand", TRUE, NULL);

  gtk_widget_add_css_class (label, css_class);
  return label;
}

/* A line with an icon before it, so that checks and cautions aren't told by colour. */
static void
append_row (EfBenchView *self,
            const char *icon_name,
            const char *what,
            const char *text,
            const char *css_class)
{
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 16);
  GtkWidget *icon = gtk_image_new_from_icon_name (icon_name);

  gtk_widget_set_valign (icon, GTK_ALIGN_START);
  gtk_widget_add_css_class (icon, "ef-bench-icon");
  gtk_accessible_update_property (GTK_ACCESSIBLE (icon), GTK_ACCESSIBLE_PROPERTY_LABEL, what, -1);
  gtk_widget_set_tooltip_text (icon, what);
  gtk_widget_add_css_class (row, css_class);
  gtk_box_append (GTK_BOX (row), icon);
  gtk_box_append (GTK_BOX (row), big_label (text, "ef-bench-line"));
  gtk_box_append (GTK_BOX (self->column), row);
}

static void
append_tools (EfBenchView *self,
              const GPtrArray *tools)
{
  g_autoptr (GString) line = g_string_new (NULL);
  g_autofree char *text = NULL;
  guint i;

  for (i = 0; tools != NULL && i < tools->len; i++)
    g_string_append_printf (line, "%s%s", i > 0 ? ", " : "", (const char *) g_ptr_array_index (tools, i));
  if (line->len == 0)
    return;
  text = g_strdup_printf (_ ("Tools: %s"), line->str);
  append_row (self, "ef-rework-symbolic", _ ("Tools"), text, "ef-bench-tools");
}

static void
show_step (EfBenchView *self,
           const EfStep *step)
{
  GtkWidget *child;
  guint i;

  while ((child = gtk_widget_get_first_child (self->column)) != NULL)
    gtk_box_remove (GTK_BOX (self->column), child);
  gtk_box_append (GTK_BOX (self->column), big_label (step->text, "ef-bench-step"));
  if (step->why != NULL)
    gtk_box_append (GTK_BOX (self->column), big_label (step->why, "ef-bench-why"));
  for (i = 0; step->cautions != NULL && i < step->cautions->len; i++)
    append_row (self, "dialog-warning-symbolic", _ ("Caution"), g_ptr_array_index (step->cautions, i), "ef-bench-caution");
  for (i = 0; step->checks != NULL && i < step->checks->len; i++)
    {
      g_autofree char *text = g_strdup_printf (_ ("Check: %s"), (const char *) g_ptr_array_index (step->checks, i));

      append_row (self, "object-select-symbolic", _ ("Check"), text, "ef-bench-check");
    }
  append_tools (self, step->tools);
  gtk_adjustment_set_value (gtk_scrolled_window_get_vadjustment (GTK_SCROLLED_WINDOW (self->scrolled)), 0);
}

static guint
count_done (EfBenchView *self,
            GPtrArray *steps)
{
  guint done = 0;
  guint i;

  for (i = 0; i < steps->len; i++)
    done += tick_of (self, g_ptr_array_index (steps, i)) != NULL;
  return done;
}

static void
show_state (EfBenchView *self)
{
  GPtrArray *steps = steps_of (self);
  const EfStep *step;
  const EfTick *tick;
  g_autofree char *progress = NULL;
  g_autofree char *text = NULL;
  guint done;

  if (steps == NULL)
    return;
  step = g_ptr_array_index (steps, self->index);
  tick = tick_of (self, step);
  done = count_done (self, steps);
  progress = g_strdup_printf (_ ("Step %u of %u · %u done"), self->index + 1, steps->len, done);
  gtk_label_set_label (GTK_LABEL (self->progress), progress);
  gtk_label_set_label (GTK_LABEL (self->phase), ef_phase_label (step->phase));
  gtk_level_bar_set_max_value (GTK_LEVEL_BAR (self->bar), steps->len);
  gtk_level_bar_set_value (GTK_LEVEL_BAR (self->bar), done);
  if (tick != NULL)
    {
      g_autofree char *time = ef_step_time (tick);

      text = g_strdup_printf (_ ("✓ Done by %s, %s"), tick->role != NULL ? tick->role : "–", time);
    }
  gtk_label_set_label (GTK_LABEL (self->done_text), text != NULL ? text : _ ("Mark as Done"));
  if (tick != NULL)
    gtk_widget_remove_css_class (self->done, "suggested-action");
  else
    gtk_widget_add_css_class (self->done, "suggested-action");
  gtk_widget_set_sensitive (self->previous, self->index > 0);
  gtk_widget_set_sensitive (self->next, self->index + 1 < steps->len);
  gtk_widget_set_sensitive (self->done, !ef_session_read_only (self->session));
}

static void
go_to (EfBenchView *self,
       guint index)
{
  GPtrArray *steps = steps_of (self);
  const EfStep *step;

  if (steps == NULL)
    return;
  self->index = MIN (index, steps->len - 1);
  step = g_ptr_array_index (steps, self->index);
  g_free (self->id);
  self->id = g_strdup (step->id);
  show_step (self, step);
  show_state (self);
}

/* What doesn't fit is read before the next step comes: TRUE while there's more below. */
static gboolean
scroll_on (EfBenchView *self)
{
  GtkAdjustment *adjustment = gtk_scrolled_window_get_vadjustment (GTK_SCROLLED_WINDOW (self->scrolled));
  double page = gtk_adjustment_get_page_size (adjustment);
  double value = gtk_adjustment_get_value (adjustment);

  if (value + page >= gtk_adjustment_get_upper (adjustment) - 1)
    return FALSE;
  gtk_adjustment_set_value (adjustment, value + 0.85 * page);
  return TRUE;
}

static void
next_cb (EfBenchView *self)
{
  GPtrArray *steps = steps_of (self);

  if (!scroll_on (self) && steps != NULL && self->index + 1 < steps->len)
    go_to (self, self->index + 1);
}

static void
previous_cb (EfBenchView *self)
{
  if (self->index > 0)
    go_to (self, self->index - 1);
}

/* Done: on to the next. Done already: taken back, and it stays. */
static void
done_cb (EfBenchView *self)
{
  GPtrArray *steps = steps_of (self);
  const EfStep *step;
  gboolean done;

  if (steps == NULL || ef_session_read_only (self->session))
    return;
  step = g_ptr_array_index (steps, self->index);
  done = tick_of (self, step) == NULL;
  if (ef_step_set_done (self->session, step->id, step->text, done) && done && self->index + 1 < steps->len)
    go_to (self, self->index + 1);
}

static gboolean
key_cb (GtkWidget *widget,
        GVariant *args,
        gpointer user_data)
{
  EfBenchView *self = EF_BENCH_VIEW (widget);

  switch ((BenchKey) g_variant_get_int32 (args))
    {
    case GO_NEXT:
      next_cb (self);
      break;
    case GO_PREVIOUS:
      previous_cb (self);
      break;
    case GO_FIRST:
      go_to (self, 0);
      break;
    case GO_LAST:
      go_to (self, G_MAXUINT);
      break;
    case TOGGLE_DONE:
      done_cb (self);
      break;
    case UNDO:
      if (!ef_session_read_only (self->session))
        ef_session_undo (self->session);
      break;
    case REDO:
      if (!ef_session_read_only (self->session))
        ef_session_redo (self->session);
      break;
    case LEAVE:
      gtk_window_close (GTK_WINDOW (self));
      break;
    }
  return TRUE;
}

/* The step may have moved, or be gone: then the one in its place is shown. */
static void
assessed_cb (EfBenchView *self)
{
  GPtrArray *steps = steps_of (self);
  guint i;

  if (steps == NULL)
    return;
  for (i = 0; i < steps->len; i++)
    if (g_strcmp0 (((const EfStep *) g_ptr_array_index (steps, i))->id, self->id) == 0)
      {
        self->index = i;
        show_state (self);
        return;
      }
  go_to (self, self->index);
}

static void
layout_cb (EfBenchView *self,
           int width,
           int height)
{
  if (height >= LARGE_HEIGHT)
    gtk_widget_add_css_class (GTK_WIDGET (self), "ef-bench-large");
  else
    gtk_widget_remove_css_class (GTK_WIDGET (self), "ef-bench-large");
}

static void
ef_bench_view_realize (GtkWidget *widget)
{
  GTK_WIDGET_CLASS (ef_bench_view_parent_class)->realize (widget);
  g_signal_connect_object (gtk_native_get_surface (GTK_NATIVE (widget)), "layout", G_CALLBACK (layout_cb), widget, G_CONNECT_SWAPPED);
}

static void
ef_bench_view_dispose (GObject *object)
{
  EfBenchView *self = EF_BENCH_VIEW (object);

  g_clear_object (&self->session);
  g_clear_pointer (&self->id, g_free);
  G_OBJECT_CLASS (ef_bench_view_parent_class)->dispose (object);
}

static void
ef_bench_view_class_init (EfBenchViewClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_bench_view_dispose;
  GTK_WIDGET_CLASS (klass)->realize = ef_bench_view_realize;
}

static void
add_keys (EfBenchView *self)
{
  GtkEventController *controller = gtk_shortcut_controller_new ();
  guint i;

  for (i = 0; i < G_N_ELEMENTS (keys); i++)
    {
      GtkShortcut *shortcut = gtk_shortcut_new (gtk_keyval_trigger_new (keys[i].keyval, keys[i].modifiers), gtk_callback_action_new (key_cb, NULL, NULL));

      gtk_shortcut_set_arguments (shortcut, g_variant_new_int32 (keys[i].key));
      gtk_shortcut_controller_add_shortcut (GTK_SHORTCUT_CONTROLLER (controller), shortcut);
    }
  gtk_event_controller_set_propagation_phase (controller, GTK_PHASE_CAPTURE);
  gtk_widget_add_controller (GTK_WIDGET (self), controller);
}

static GtkWidget *
make_top (EfBenchView *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 18);
  GtkWidget *leave = gtk_button_new_with_label (_ ("Leave (Esc)"));

  self->phase = big_label ("", "ef-bench-phase");
  g_object_set (self->phase, "hexpand", FALSE, "wrap", FALSE, NULL);
  self->progress = big_label ("", "ef-bench-progress");
  gtk_widget_add_css_class (leave, "ef-bench-leave");
  g_signal_connect_swapped (leave, "clicked", G_CALLBACK (gtk_window_close), self);
  gtk_box_append (GTK_BOX (box), self->phase);
  gtk_box_append (GTK_BOX (box), self->progress);
  gtk_box_append (GTK_BOX (box), leave);
  return box;
}

static GtkWidget *
big_button (EfBenchView *self,
            const char *label,
            GCallback callback,
            GtkWidget **text_out)
{
  GtkWidget *button = gtk_button_new ();
  GtkWidget *text = g_object_new (GTK_TYPE_LABEL, "label", label, "wrap", TRUE, "justify", GTK_JUSTIFY_CENTER, NULL);

  gtk_button_set_child (GTK_BUTTON (button), text);
  gtk_widget_add_css_class (button, "ef-bench-button");
  g_signal_connect_swapped (button, "clicked", callback, self);
  if (text_out != NULL)
    *text_out = text;
  return button;
}

static GtkWidget *
make_buttons (EfBenchView *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 18);

  self->previous = big_button (self, _ ("← Back"), G_CALLBACK (previous_cb), NULL);
  self->done = big_button (self, "", G_CALLBACK (done_cb), &self->done_text);
  self->next = big_button (self, _ ("Next →"), G_CALLBACK (next_cb), NULL);
  gtk_widget_set_hexpand (self->done, TRUE);
  gtk_box_append (GTK_BOX (box), self->previous);
  gtk_box_append (GTK_BOX (box), self->done);
  gtk_box_append (GTK_BOX (box), self->next);
  return box;
}

static void
ef_bench_view_init (EfBenchView *self)
{
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 18);

  self->bar = g_object_new (GTK_TYPE_LEVEL_BAR, "mode", GTK_LEVEL_BAR_MODE_CONTINUOUS, NULL);
  self->scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE, NULL);
  self->column = gtk_box_new (GTK_ORIENTATION_VERTICAL, 22);
  gtk_widget_set_margin_end (self->column, 18);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (self->scrolled), self->column);
  gtk_widget_add_css_class (content, "ef-bench");
  gtk_box_append (GTK_BOX (content), make_top (self));
  gtk_box_append (GTK_BOX (content), self->bar);
  gtk_box_append (GTK_BOX (content), self->scrolled);
  gtk_box_append (GTK_BOX (content), make_buttons (self));
  adw_window_set_content (ADW_WINDOW (self), content);
  gtk_window_set_title (GTK_WINDOW (self), _ ("Steps at the Bench"));
  gtk_window_set_modal (GTK_WINDOW (self), TRUE);
  add_keys (self);
}

static guint
first_open (EfBenchView *self,
            GPtrArray *steps)
{
  guint i;

  for (i = 0; i < steps->len; i++)
    if (tick_of (self, g_ptr_array_index (steps, i)) == NULL)
      return i;
  return 0;
}

EfBenchView *
ef_bench_view_show (GtkWidget *parent,
                    EfSession *session)
{
  GtkWindow *window = GTK_WINDOW (gtk_widget_get_root (parent));
  EfBenchView *self;

  if (ef_session_assessment (session) == NULL || ef_session_assessment (session)->steps->len == 0)
    {
      ef_session_message (session, _ ("There are no steps to work through yet."));
      return NULL;
    }
  self = g_object_new (EF_TYPE_BENCH_VIEW, "transient-for", window, "destroy-with-parent", TRUE, NULL);
  self->session = g_object_ref (session);
  gtk_window_set_default_size (GTK_WINDOW (self), gtk_widget_get_width (GTK_WIDGET (window)), gtk_widget_get_height (GTK_WIDGET (window)));
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "changed", G_CALLBACK (show_state), self, G_CONNECT_SWAPPED);
  go_to (self, first_open (self, steps_of (self)));
  gtk_window_fullscreen (GTK_WINDOW (self));
  gtk_window_present (GTK_WINDOW (self));
  gtk_widget_grab_focus (self->done);
  return self;
}

guint
ef_bench_view_step (EfBenchView *self)
{
  return self->index;
}
