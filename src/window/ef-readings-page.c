/* List of forms, the chosen form, the picture.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A form is built when it's first shown and kept, so that what was typed stays when another is looked at.
 */
#include "config.h"

#include "ef-readings-page.h"
#include "ef-bench-plan.h"
#include "ef-check-form.h"
#include "ef-field.h"
#include "ef-focus-sight.h"
#include "ef-gauge-list.h"
#include "ef-gauge-sketch.h"
#include "ef-missing-bar.h"
#include "ef-reading-form.h"

#include <glib/gi18n.h>

struct _EfReadingsPage
{
  GtkBox parent_instance;

  EfMissingBar *missing;
  GtkListBox *list;
  /* A bin, no stack: a stack asks a form how narrow it can be at its height, and for boxes of wrapping fields that question has
   * no end in GTK 4.8. */
  AdwBin *forms;
  GtkScrolledWindow *scrolled;
  GtkWidget *sketch_pane;
  GtkWidget *sketch_separator;
  AdwBin *sketch_bin;

  EfSession *session;
  GPtrArray *plan; /* EfBenchForm * */
  GPtrArray *progress; /* GtkLabel *, borrowed, as in the plan; then check list, gauges */
  EfGaugeSketch *sketch;
  GHashTable *made; /* form id (as in the plan) -> GtkWidget *, owned */
};

G_DEFINE_FINAL_TYPE (EfReadingsPage, ef_readings_page, GTK_TYPE_BOX)

static const char *
form_id (EfReadingsPage *self,
         guint index)
{
  if (index < self->plan->len)
    return ((EfBenchForm *) g_ptr_array_index (self->plan, index))->id;
  return index == self->plan->len ? "checks" : "gauges";
}

static void
slot_entered_cb (EfReadingsPage *self,
                 gpointer group,
                 gpointer slot)
{
  ef_gauge_sketch_show (self->sketch, group, slot);
}

void
ef_readings_page_focus (EfReadingsPage *self)
{
  GtkWidget *form = adw_bin_get_child (self->forms);

  if (EF_IS_READING_FORM (form))
    ef_reading_form_focus_first (EF_READING_FORM (form));
  else if (form != NULL)
    gtk_widget_child_focus (form, GTK_DIR_TAB_FORWARD);
}

/* The form @by further on; stays where there is none. */
static void
step_form (EfReadingsPage *self,
           int by)
{
  GtkListBoxRow *row = gtk_list_box_get_selected_row (self->list);
  int index = row != NULL ? gtk_list_box_row_get_index (row) + by : 0;
  GtkListBoxRow *next = index >= 0 ? gtk_list_box_get_row_at_index (self->list, index) : NULL;

  if (next == NULL)
    return;
  gtk_list_box_select_row (self->list, next);
  ef_readings_page_focus (self);
}

static void
finished_cb (EfReadingsPage *self)
{
  step_form (self, 1);
}

/* While the cursor stands at another point, of this form or another, it goes back to the one that has lost its reading: it may be typed anew. */
static void
taken_back_cb (EfReadingsPage *self,
               GtkWidget *field,
               EfReadingForm *form)
{
  GtkRoot *root = gtk_widget_get_root (GTK_WIDGET (self));
  GtkWidget *focus = root != NULL ? gtk_root_get_focus (root) : NULL;

  if (focus == NULL || !gtk_widget_is_ancestor (focus, GTK_WIDGET (self)) || !EF_IS_FIELD (gtk_widget_get_ancestor (focus, EF_TYPE_FIELD)))
    return;
  ef_readings_page_show (self, ef_reading_form_form (form)->id);
  gtk_widget_grab_focus (field);
}

static gboolean
step_cb (GtkWidget *widget,
         GVariant *args,
         gpointer user_data)
{
  step_form (EF_READINGS_PAGE (widget), g_variant_get_int32 (args));
  return TRUE;
}

/* A part warm from washing or handling is as warm on its next form: carried on, where it shows and can be changed. */
static void
carry_temperature (EfReadingsPage *self,
                   GtkWidget *form)
{
  GtkWidget *last = adw_bin_get_child (self->forms);

  if (EF_IS_READING_FORM (last))
    ef_reading_form_set_temperature (EF_READING_FORM (form), ef_reading_form_temperature (EF_READING_FORM (last)));
}

static GtkWidget *
make_form (EfReadingsPage *self,
           guint index)
{
  GtkWidget *form;

  if (index == self->plan->len)
    return ef_check_form_new (self->session);
  if (index > self->plan->len)
    return ef_gauge_list_new (self->session);
  form = ef_reading_form_new (self->session, g_ptr_array_index (self->plan, index));
  g_signal_connect_object (form, "slot-entered", G_CALLBACK (slot_entered_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (form, "finished", G_CALLBACK (finished_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (form, "taken-back", G_CALLBACK (taken_back_cb), self, G_CONNECT_SWAPPED);
  carry_temperature (self, form);
  return form;
}

static void
show_first_sketch (EfReadingsPage *self,
                   guint index)
{
  gboolean readings = index < self->plan->len;

  gtk_widget_set_visible (self->sketch_pane, readings);
  gtk_widget_set_visible (self->sketch_separator, readings);
  if (readings)
    {
      const EfBenchForm *form = g_ptr_array_index (self->plan, index);
      const EfSlotGroup *group = g_ptr_array_index (form->groups, 0);

      if (group->slots->len > 0)
        ef_gauge_sketch_show (self->sketch, group, g_ptr_array_index (group->slots, 0));
    }
}

static void
row_selected_cb (EfReadingsPage *self,
                 GtkListBoxRow *row)
{
  guint index;
  const char *id;

  if (row == NULL)
    return;
  index = gtk_list_box_row_get_index (row);
  id = form_id (self, index);
  if (!g_hash_table_contains (self->made, id))
    g_hash_table_insert (self->made, g_strdup (id), g_object_ref_sink (make_form (self, index)));
  adw_bin_set_child (self->forms, g_hash_table_lookup (self->made, id));
  gtk_adjustment_set_value (gtk_scrolled_window_get_vadjustment (self->scrolled), 0);
  show_first_sketch (self, index);
}

static void
add_row (EfReadingsPage *self,
         const char *title)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *name = g_object_new (GTK_TYPE_LABEL, "label", title, "xalign", 0.0f, "wrap", TRUE, NULL);
  GtkWidget *progress = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);

  gtk_widget_add_css_class (progress, "caption");
  gtk_widget_add_css_class (progress, "dim-label");
  g_object_set (box, "margin-top", 6, "margin-bottom", 6, NULL);
  gtk_box_append (GTK_BOX (box), name);
  gtk_box_append (GTK_BOX (box), progress);
  g_ptr_array_add (self->progress, progress);
  gtk_list_box_append (self->list, box);
}

static char *
check_progress (const EfInspection *inspection)
{
  guint done = 0, all = 0;
  guint i;

  for (i = 0; i < inspection->sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (inspection->sheet->parts, i);
      const EfCheck *check = ef_inspection_find (inspection, EF_ITEM_CHECK, part->id);

      if (part->kind < EF_PART_PICKUP)
        continue;
      all++;
      if (check != NULL && check->state != EF_CHECK_UNSEEN)
        done++;
    }
  return g_strdup_printf (_ ("%u of %u seen"), done, all);
}

static void
session_changed_cb (EfReadingsPage *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  guint n_gauges = inspection->items[EF_ITEM_GAUGE]->len;
  g_autofree char *checks = check_progress (inspection);
  g_autofree char *gauges = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u gauge", "%u gauges", n_gauges), n_gauges);
  guint i;

  for (i = 0; i < self->plan->len; i++)
    {
      g_autofree char *text = NULL;
      guint done, all;

      ef_bench_form_progress (g_ptr_array_index (self->plan, i), inspection, &done, &all);
      text = g_strdup_printf (_ ("%u of %u read"), done, all);
      gtk_label_set_label (g_ptr_array_index (self->progress, i), text);
    }
  gtk_label_set_label (g_ptr_array_index (self->progress, self->plan->len), checks);
  gtk_label_set_label (g_ptr_array_index (self->progress, self->plan->len + 1), gauges);
  ef_missing_bar_take (self->missing, ef_missing_readings (inspection));
}

static void
ef_readings_page_dispose (GObject *object)
{
  EfReadingsPage *self = EF_READINGS_PAGE (object);

  if (self->sketch != NULL)
    ef_gauge_sketch_show (self->sketch, NULL, NULL);
  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_READINGS_PAGE);
  /* Forms borrow from the plan. */
  g_clear_pointer (&self->made, g_hash_table_unref);
  g_clear_pointer (&self->progress, g_ptr_array_unref);
  g_clear_pointer (&self->plan, g_ptr_array_unref);
  g_clear_object (&self->session);
  self->sketch = NULL;
  G_OBJECT_CLASS (ef_readings_page_parent_class)->dispose (object);
}

static void
ef_readings_page_class_init (EfReadingsPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_readings_page_dispose;
  g_type_ensure (EF_TYPE_MISSING_BAR);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/readings-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfReadingsPage, missing);
  gtk_widget_class_bind_template_child (widget_class, EfReadingsPage, list);
  gtk_widget_class_bind_template_child (widget_class, EfReadingsPage, forms);
  gtk_widget_class_bind_template_child (widget_class, EfReadingsPage, scrolled);
  gtk_widget_class_bind_template_child (widget_class, EfReadingsPage, sketch_pane);
  gtk_widget_class_bind_template_child (widget_class, EfReadingsPage, sketch_separator);
  gtk_widget_class_bind_template_child (widget_class, EfReadingsPage, sketch_bin);
  gtk_widget_class_bind_template_callback (widget_class, row_selected_cb);
}

/* Taken before the scrolled windows, which have these keys for themselves. */
static void
add_form_keys (EfReadingsPage *self)
{
  GtkEventController *keys = gtk_shortcut_controller_new ();
  guint i;

  for (i = 0; i < 2; i++)
    {
      GtkShortcut *shortcut = gtk_shortcut_new (gtk_keyval_trigger_new (i == 0 ? GDK_KEY_Page_Up : GDK_KEY_Page_Down, GDK_CONTROL_MASK),
                                                gtk_callback_action_new (step_cb, NULL, NULL));

      gtk_shortcut_set_arguments (shortcut, g_variant_new_int32 (i == 0 ? -1 : 1));
      gtk_shortcut_controller_add_shortcut (GTK_SHORTCUT_CONTROLLER (keys), shortcut);
    }
  gtk_event_controller_set_propagation_phase (keys, GTK_PHASE_CAPTURE);
  gtk_widget_add_controller (GTK_WIDGET (self), keys);
}

static void
ef_readings_page_init (EfReadingsPage *self)
{
  self->progress = g_ptr_array_new ();
  self->made = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_object_unref);
  gtk_widget_init_template (GTK_WIDGET (self));
  ef_keep_focus_in_sight (self->scrolled);
  add_form_keys (self);
}

EfReadingsPage *
ef_readings_page_new (EfSession *session)
{
  EfReadingsPage *self = g_object_new (EF_TYPE_READINGS_PAGE, NULL);
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  guint i;

  self->session = g_object_ref (session);
  self->plan = ef_bench_plan (inspection->sheet);
  ef_bench_plan_take_places (self->plan, inspection);
  self->sketch = EF_GAUGE_SKETCH (ef_gauge_sketch_new (session));
  adw_bin_set_child (self->sketch_bin, GTK_WIDGET (self->sketch));
  for (i = 0; i < self->plan->len; i++)
    add_row (self, ((EfBenchForm *) g_ptr_array_index (self->plan, i))->title);
  add_row (self, _ ("Check list"));
  add_row (self, _ ("Gauges"));
  g_signal_connect_object (session, "changed", G_CALLBACK (session_changed_cb), self, G_CONNECT_SWAPPED);
  session_changed_cb (self);
  gtk_list_box_select_row (self->list, gtk_list_box_get_row_at_index (self->list, 0));
  return self;
}

gboolean
ef_readings_page_show (EfReadingsPage *self,
                       const char *id)
{
  guint i;

  for (i = 0; i < self->plan->len + 2; i++)
    if (g_strcmp0 (form_id (self, i), id) == 0)
      {
        gtk_list_box_select_row (self->list, gtk_list_box_get_row_at_index (self->list, i));
        return TRUE;
      }
  return FALSE;
}
