/* A drop-down in step with the job's gauges.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-gauge-choice.h"
#include "ef-gauge-dialog.h"

#include <glib/gi18n.h>

struct _EfGaugeChoice
{
  GtkBox parent_instance;

  GtkWidget *drop_down;
  EfSession *session;
  GPtrArray *ids; /* char *: of the list's items after "no gauge" */
  char *chosen;
  gboolean filling;
};

G_DEFINE_FINAL_TYPE (EfGaugeChoice, ef_gauge_choice, GTK_TYPE_BOX)

static void
select_chosen (EfGaugeChoice *self)
{
  guint i;

  self->filling = TRUE;
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->drop_down), 0);
  for (i = 0; self->chosen != NULL && i < self->ids->len; i++)
    if (g_str_equal (g_ptr_array_index (self->ids, i), self->chosen))
      gtk_drop_down_set_selected (GTK_DROP_DOWN (self->drop_down), i + 1);
  self->filling = FALSE;
}

static gboolean
same_list (GListModel *old,
           GListModel *new)
{
  guint n = g_list_model_get_n_items (new);
  guint i;

  if (old == NULL || g_list_model_get_n_items (old) != n)
    return FALSE;
  for (i = 0; i < n; i++)
    if (g_strcmp0 (gtk_string_list_get_string (GTK_STRING_LIST (old), i), gtk_string_list_get_string (GTK_STRING_LIST (new), i)) != 0)
      return FALSE;
  return TRUE;
}

static void
fill (EfGaugeChoice *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  guint i;

  g_ptr_array_set_size (self->ids, 0);
  gtk_string_list_append (names, _ ("No gauge noted"));
  for (i = 0; i < gauges->len; i++)
    {
      const EfGauge *gauge = g_ptr_array_index (gauges, i);

      gtk_string_list_append (names, gauge->name);
      g_ptr_array_add (self->ids, g_strdup (gauge->item.id));
    }
  gtk_string_list_append (names, _ ("Add a gauge…"));
  if (!same_list (gtk_drop_down_get_model (GTK_DROP_DOWN (self->drop_down)), G_LIST_MODEL (names)))
    {
      self->filling = TRUE;
      gtk_drop_down_set_model (GTK_DROP_DOWN (self->drop_down), G_LIST_MODEL (names));
      self->filling = FALSE;
    }
  select_chosen (self);
}

static void
gauge_saved_cb (EfGaugeChoice *self,
                const char *id)
{
  ef_gauge_choice_set (self, id);
}

static void
selected_cb (EfGaugeChoice *self)
{
  guint selected = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->drop_down));
  EfGaugeDialog *dialog;

  if (self->filling || selected == GTK_INVALID_LIST_POSITION)
    return;
  if (selected <= self->ids->len)
    {
      g_free (self->chosen);
      self->chosen = selected > 0 ? g_strdup (g_ptr_array_index (self->ids, selected - 1)) : NULL;
      return;
    }
  select_chosen (self);
  dialog = ef_gauge_dialog_show (GTK_WIDGET (self), self->session, NULL);
  g_signal_connect_object (dialog, "saved", G_CALLBACK (gauge_saved_cb), self, G_CONNECT_SWAPPED);
}

static void
ef_gauge_choice_dispose (GObject *object)
{
  EfGaugeChoice *self = EF_GAUGE_CHOICE (object);

  g_clear_object (&self->session);
  g_clear_pointer (&self->ids, g_ptr_array_unref);
  g_clear_pointer (&self->chosen, g_free);
  G_OBJECT_CLASS (ef_gauge_choice_parent_class)->dispose (object);
}

static void
ef_gauge_choice_class_init (EfGaugeChoiceClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_gauge_choice_dispose;
}

/* Long gauge names are cut in the button, not in the list. */
static void
setup_name_cb (GtkSignalListItemFactory *factory,
               GtkListItem *item)
{
  gtk_list_item_set_child (item, g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "ellipsize", PANGO_ELLIPSIZE_END,
                                               "width-chars", 10, "max-width-chars", 26, NULL));
}

static void
bind_name_cb (GtkSignalListItemFactory *factory,
              GtkListItem *item)
{
  gtk_label_set_label (GTK_LABEL (gtk_list_item_get_child (item)),
                       gtk_string_object_get_string (gtk_list_item_get_item (item)));
}

static void
ef_gauge_choice_init (EfGaugeChoice *self)
{
  g_autoptr (GtkListItemFactory) factory = gtk_signal_list_item_factory_new ();

  self->ids = g_ptr_array_new_with_free_func (g_free);
  g_signal_connect (factory, "setup", G_CALLBACK (setup_name_cb), NULL);
  g_signal_connect (factory, "bind", G_CALLBACK (bind_name_cb), NULL);
  self->drop_down = g_object_new (GTK_TYPE_DROP_DOWN, "hexpand", TRUE, "factory", factory, NULL);
  gtk_widget_add_css_class (self->drop_down, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->drop_down), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Gauge"), -1);
  gtk_widget_set_tooltip_text (self->drop_down, _ ("Gauge these readings are taken with"));
  gtk_box_append (GTK_BOX (self), self->drop_down);
  g_signal_connect_swapped (self->drop_down, "notify::selected", G_CALLBACK (selected_cb), self);
}

GtkWidget *
ef_gauge_choice_new (EfSession *session)
{
  EfGaugeChoice *self = g_object_new (EF_TYPE_GAUGE_CHOICE, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "changed", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  fill (self);
  return GTK_WIDGET (self);
}

const char *
ef_gauge_choice_get (EfGaugeChoice *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));

  /* It may have been taken back by an undo. */
  if (self->chosen != NULL && ef_inspection_find (inspection, EF_ITEM_GAUGE, self->chosen) == NULL)
    return NULL;
  return self->chosen;
}

void
ef_gauge_choice_set (EfGaugeChoice *self,
                     const char *gauge_id)
{
  g_autofree char *id = g_strdup (gauge_id);

  g_free (self->chosen);
  self->chosen = g_steal_pointer (&id);
  select_chosen (self);
}
