/* The step sheet on screen: steps by phase, each to be ticked off.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-step-list.h"
#include "ef-bench-view.h"
#include "ef-print.h"
#include "ef-settings.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfStepList
{
  GtkBox parent_instance;

  GtkStack *stack;
  AdwStatusPage *none;
  GtkScrolledWindow *scrolled;
  GtkLabel *progress;
  GtkBox *cautions;
  GtkBox *steps;

  EfSession *session;
  char *shown; /* what the steps looked like when they were last laid out */
  GPtrArray *checks; /* GtkCheckButton *, borrowed */
  gboolean filling;
};

G_DEFINE_FINAL_TYPE (EfStepList, ef_step_list, GTK_TYPE_BOX)

static const struct
{
  const char *phase, *label;
} phases[] = {
  { "strip", N_ ("Strip") },
  { "rework", N_ ("Rework") },
  { "clean", N_ ("Clean") },
  { "measure", N_ ("Measure again") },
  { "assemble", N_ ("Assemble") },
};

const char *
ef_phase_label (const char *phase)
{
  guint i;

  for (i = 0; i < G_N_ELEMENTS (phases); i++)
    if (g_strcmp0 (phases[i].phase, phase) == 0)
      return _ (phases[i].label);
  return phase;
}

static const EfInspection *
inspection_of (EfStepList *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

static void
clear_box (GtkBox *box)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (box))) != NULL)
    gtk_box_remove (box, child);
}

static GtkWidget *
text_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, "hexpand", TRUE, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

static const EfStep *
find_step (EfStepList *self,
           const char *id)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  guint i;

  for (i = 0; assessment != NULL && i < assessment->steps->len; i++)
    {
      const EfStep *step = g_ptr_array_index (assessment->steps, i);

      if (g_str_equal (step->id, id))
        return step;
    }
  return NULL;
}

gboolean
ef_step_set_done (EfSession *session,
                  const char *id,
                  const char *text,
                  gboolean done)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  EfTick *before = ef_inspection_find (inspection, EF_ITEM_TICK, id);
  g_autoptr (EfItem) after = NULL;
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = NULL;

  if (done == (before != NULL))
    return TRUE;
  if (done)
    {
      g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
      EfTick *tick = ef_item_new (&ef_tick_class, id);

      tick->role = ef_settings_role ();
      tick->time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
      after = (EfItem *) tick;
    }
  label = g_strdup_printf (done ? _ ("Done: %s") : _ ("Not done after all: %s"), text);
  change = ef_change_new (label);
  ef_change_add (change, before, after);
  return ef_session_apply (session, g_steal_pointer (&change));
}

char *
ef_step_time (const EfTick *tick)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = tick->time != NULL ? g_date_time_new_from_iso8601 (tick->time, utc) : NULL;
  g_autoptr (GDateTime) local = time != NULL ? g_date_time_to_local (time) : NULL;

  return local != NULL ? g_date_time_format (local, "%Y-%m-%d %H:%M") : g_strdup (tick->time != NULL ? tick->time : "–");
}

static void
toggled_cb (EfStepList *self,
            GtkCheckButton *button)
{
  const char *id = g_object_get_data (G_OBJECT (button), "ef-step");
  const EfStep *step = find_step (self, id);

  if (!self->filling)
    ef_step_set_done (self->session, id, step != NULL ? step->text : id, gtk_check_button_get_active (button));
}

static void
append_list (GtkWidget *box,
             const GPtrArray *texts,
             const char *prefix,
             const char *css_class)
{
  guint i;

  for (i = 0; texts != NULL && i < texts->len; i++)
    {
      g_autofree char *text = g_strdup_printf ("%s%s", prefix, (const char *) g_ptr_array_index (texts, i));

      gtk_box_append (GTK_BOX (box), text_label (text, css_class));
    }
}

static char *
join (const GPtrArray *texts)
{
  GString *joined = g_string_new (NULL);
  guint i;

  for (i = 0; i < texts->len; i++)
    g_string_append_printf (joined, "%s%s", i > 0 ? ", " : "", (const char *) g_ptr_array_index (texts, i));
  return g_string_free (joined, FALSE);
}

static void
append_caution (GtkWidget *box,
                const char *text)
{
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *icon = gtk_image_new_from_icon_name ("dialog-warning-symbolic");

  gtk_widget_set_valign (icon, GTK_ALIGN_START);
  gtk_accessible_update_property (GTK_ACCESSIBLE (icon), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Caution"), -1);
  gtk_box_append (GTK_BOX (row), icon);
  gtk_box_append (GTK_BOX (row), text_label (text, NULL));
  gtk_box_append (GTK_BOX (box), row);
}

static GtkWidget *
make_step (EfStepList *self,
           const EfStep *step,
           guint number)
{
  GtkWidget *card = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *more = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
  GtkWidget *check = gtk_check_button_new ();
  g_autofree char *text = g_strdup_printf ("%u. %s", number, step->text);
  GtkWidget *done = text_label ("", "ef-small");
  guint i;

  gtk_widget_add_css_class (card, "ef-group");
  gtk_widget_add_css_class (card, "card");
  gtk_check_button_set_child (GTK_CHECK_BUTTON (check), text_label (text, "ef-step"));
  gtk_accessible_update_property (GTK_ACCESSIBLE (check), GTK_ACCESSIBLE_PROPERTY_LABEL, text, -1);
  gtk_widget_set_hexpand (check, TRUE);
  gtk_widget_add_css_class (check, "ef-touch");
  g_object_set_data_full (G_OBJECT (check), "ef-step", g_strdup (step->id), g_free);
  g_object_set_data (G_OBJECT (check), "ef-done", done);
  g_signal_connect_object (check, "toggled", G_CALLBACK (toggled_cb), self, G_CONNECT_SWAPPED);
  g_ptr_array_add (self->checks, check);
  gtk_box_append (GTK_BOX (card), check);
  /* Under the text, not under its tick box. */
  gtk_widget_set_margin_start (more, 34);
  gtk_box_append (GTK_BOX (card), more);
  if (step->why != NULL)
    gtk_box_append (GTK_BOX (more), text_label (step->why, NULL));
  for (i = 0; step->cautions != NULL && i < step->cautions->len; i++)
    append_caution (more, g_ptr_array_index (step->cautions, i));
  if (step->tools != NULL && step->tools->len > 0)
    {
      g_autofree char *tools = join (step->tools);
      g_autofree char *line = g_strdup_printf (_ ("Tools: %s"), tools);

      gtk_box_append (GTK_BOX (more), text_label (line, "ef-small"));
    }
  append_list (more, step->checks, _ ("Check: "), NULL);
  gtk_box_append (GTK_BOX (more), done);
  return card;
}

/* What the layout depends on; it's made anew only when this differs, so that ticking doesn't move the page. */
static char *
fingerprint (const EfAssessment *assessment)
{
  GString *text = g_string_new (NULL);
  guint i, j;

  for (i = 0; i < assessment->cautions->len; i++)
    g_string_append_printf (text, "%s\n", (const char *) g_ptr_array_index (assessment->cautions, i));
  for (i = 0; i < assessment->steps->len; i++)
    {
      const EfStep *step = g_ptr_array_index (assessment->steps, i);

      g_string_append_printf (text, "%s|%s|%s|%s\n", step->id, step->phase, step->text, step->why != NULL ? step->why : "");
      for (j = 0; step->checks != NULL && j < step->checks->len; j++)
        g_string_append_printf (text, "%s\n", (const char *) g_ptr_array_index (step->checks, j));
    }
  return g_string_free (text, FALSE);
}

static void
lay_out (EfStepList *self,
         const EfAssessment *assessment)
{
  g_autofree char *now = fingerprint (assessment);
  const char *phase = NULL;
  guint i;

  if (g_strcmp0 (now, self->shown) == 0)
    return;
  g_free (self->shown);
  self->shown = g_steal_pointer (&now);
  clear_box (self->cautions);
  clear_box (self->steps);
  g_ptr_array_set_size (self->checks, 0);
  for (i = 0; i < assessment->cautions->len; i++)
    append_caution (GTK_WIDGET (self->cautions), g_ptr_array_index (assessment->cautions, i));
  gtk_widget_set_visible (GTK_WIDGET (self->cautions), assessment->cautions->len > 0);
  for (i = 0; i < assessment->steps->len; i++)
    {
      const EfStep *step = g_ptr_array_index (assessment->steps, i);

      if (g_strcmp0 (step->phase, phase) != 0)
        gtk_box_append (self->steps, text_label (ef_phase_label (step->phase), "title-4"));
      phase = step->phase;
      gtk_box_append (self->steps, make_step (self, step, i + 1));
    }
}

static void
fill_ticks (EfStepList *self)
{
  const EfInspection *inspection = inspection_of (self);
  g_autofree char *text = NULL;
  g_autofree char *left = NULL;
  guint done = 0;
  guint i;

  self->filling = TRUE;
  for (i = 0; i < self->checks->len; i++)
    {
      GtkWidget *check = g_ptr_array_index (self->checks, i);
      GtkLabel *label = g_object_get_data (G_OBJECT (check), "ef-done");
      const EfTick *tick = ef_inspection_find (inspection, EF_ITEM_TICK, g_object_get_data (G_OBJECT (check), "ef-step"));
      g_autofree char *line = NULL;

      if (tick != NULL)
        {
          g_autofree char *time = ef_step_time (tick);

          line = g_strdup_printf (_ ("Done by %s, %s"), tick->role != NULL ? tick->role : "–", time);
          done++;
        }
      gtk_check_button_set_active (GTK_CHECK_BUTTON (check), tick != NULL);
      gtk_label_set_label (label, line != NULL ? line : "");
      gtk_widget_set_visible (GTK_WIDGET (label), tick != NULL);
    }
  self->filling = FALSE;
  text = g_strdup_printf (_ ("%u of %u steps done"), done, self->checks->len);
  gtk_label_set_label (self->progress, text);
}

static void
assessed_cb (EfStepList *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  gboolean any = assessment != NULL && assessment->steps->len > 0;

  gtk_stack_set_visible_child_name (self->stack, any ? "steps" : "none");
  if (assessment != NULL && !any)
    {
      adw_status_page_set_title (self->none, _ ("No steps"));
      adw_status_page_set_description (self->none, _ ("With this verdict there is nothing to work through."));
    }
  if (any)
    lay_out (self, assessment);
  fill_ticks (self);
}

static void
bench_cb (EfStepList *self)
{
  ef_bench_view_show (GTK_WIDGET (self), self->session);
}

static void
print_cb (EfStepList *self)
{
  ef_print_steps (GTK_WIDGET (self), self->session);
}

static void
ef_step_list_dispose (GObject *object)
{
  EfStepList *self = EF_STEP_LIST (object);

  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_STEP_LIST);
  g_clear_pointer (&self->checks, g_ptr_array_unref);
  g_clear_pointer (&self->shown, g_free);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_step_list_parent_class)->dispose (object);
}

static void
ef_step_list_class_init (EfStepListClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_step_list_dispose;
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/step-list.ui");
  gtk_widget_class_bind_template_child (widget_class, EfStepList, stack);
  gtk_widget_class_bind_template_child (widget_class, EfStepList, none);
  gtk_widget_class_bind_template_child (widget_class, EfStepList, scrolled);
  gtk_widget_class_bind_template_child (widget_class, EfStepList, progress);
  gtk_widget_class_bind_template_child (widget_class, EfStepList, cautions);
  gtk_widget_class_bind_template_child (widget_class, EfStepList, steps);
  gtk_widget_class_bind_template_callback (widget_class, print_cb);
  gtk_widget_class_bind_template_callback (widget_class, bench_cb);
}

static void
ef_step_list_init (EfStepList *self)
{
  self->checks = g_ptr_array_new ();
  gtk_widget_init_template (GTK_WIDGET (self));
}

EfStepList *
ef_step_list_new (EfSession *session)
{
  EfStepList *self = g_object_new (EF_TYPE_STEP_LIST, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "changed", G_CALLBACK (fill_ticks), self, G_CONNECT_SWAPPED);
  assessed_cb (self);
  return self;
}
