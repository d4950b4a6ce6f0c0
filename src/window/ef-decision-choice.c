/* A drop-down in step with the job's decision rule; choosing is a change like any other.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-decision-choice.h"
#include "ef-form-window.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfDecisionChoice
{
  GtkBox parent_instance;

  GtkWidget *drop_down;
  EfSession *session;
  gboolean filling;
};

G_DEFINE_FINAL_TYPE (EfDecisionChoice, ef_decision_choice, GTK_TYPE_BOX)

static const struct
{
  const char *label;
  const char *decision; /* NULL: the rule set's own */
  double coverage;
} choices[] = {
  { N_ ("As the rule set says"), NULL, 0 },
  { N_ ("Guard band at 90 %"), "guard-band", 0.90 },
  { N_ ("Guard band at 95 %"), "guard-band", 0.95 },
  { N_ ("Guard band at 99 %"), "guard-band", 0.99 },
  { N_ ("Guard band of the expanded uncertainty, k = 2"), "expanded", 0.95 },
  { N_ ("No guard band: the risk is shared"), "shared-risk", 0.95 },
};

static EfJobHeader *
header_of (EfDecisionChoice *self)
{
  return (EfJobHeader *) ef_inspection_header (ef_document_inspection (ef_session_document (self->session)));
}

/* The nearest of the list: a file may hold a coverage between. */
static guint
chosen (const EfJobHeader *header)
{
  guint best = 0;
  double apart = INFINITY;
  guint i;

  if (header->decision == NULL)
    return 0;
  for (i = 1; i < G_N_ELEMENTS (choices); i++)
    if (g_str_equal (choices[i].decision, header->decision) && fabs (choices[i].coverage - header->coverage) < apart)
      {
        apart = fabs (choices[i].coverage - header->coverage);
        best = i;
      }
  return best;
}

static void
fill (EfDecisionChoice *self)
{
  self->filling = TRUE;
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->drop_down), chosen (header_of (self)));
  self->filling = FALSE;
  gtk_widget_set_sensitive (self->drop_down, !ef_session_read_only (self->session));
}

static void
selected_cb (EfDecisionChoice *self)
{
  guint selected = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->drop_down));
  EfJobHeader *before = header_of (self);
  g_autoptr (EfItem) item = NULL;
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = NULL;
  EfJobHeader *after;

  if (self->filling || selected >= G_N_ELEMENTS (choices) || selected == chosen (before))
    return;
  item = ef_item_copy (before);
  after = (EfJobHeader *) item;
  g_free (after->decision);
  after->decision = g_strdup (choices[selected].decision);
  after->coverage = choices[selected].coverage;
  label = g_strdup_printf (_ ("Limits: %s"), _ (choices[selected].label));
  change = ef_change_new (label);
  ef_change_add (change, before, item);
  if (!ef_session_apply (self->session, g_steal_pointer (&change)))
    fill (self);
}

static void
ef_decision_choice_dispose (GObject *object)
{
  g_clear_object (&EF_DECISION_CHOICE (object)->session);
  G_OBJECT_CLASS (ef_decision_choice_parent_class)->dispose (object);
}

static void
ef_decision_choice_class_init (EfDecisionChoiceClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_decision_choice_dispose;
}

static void
ef_decision_choice_init (EfDecisionChoice *self)
{
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  guint i;

  for (i = 0; i < G_N_ELEMENTS (choices); i++)
    gtk_string_list_append (names, _ (choices[i].label));
  self->drop_down = gtk_drop_down_new (G_LIST_MODEL (g_steal_pointer (&names)), NULL);
  gtk_widget_add_css_class (self->drop_down, "ef-touch");
  gtk_widget_set_tooltip_text (self->drop_down, _ ("How a value with its uncertainty is held against a limit in this job"));
  gtk_box_append (GTK_BOX (self), ef_labelled (_ ("Limits are decided on by"), self->drop_down));
  g_signal_connect_swapped (self->drop_down, "notify::selected", G_CALLBACK (selected_cb), self);
}

GtkWidget *
ef_decision_choice_new (EfSession *session)
{
  EfDecisionChoice *self = g_object_new (EF_TYPE_DECISION_CHOICE, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "changed", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  fill (self);
  return GTK_WIDGET (self);
}
