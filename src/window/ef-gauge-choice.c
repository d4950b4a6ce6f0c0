/* A drop-down in step with the job's gauges.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-gauge-choice.h"
#include "ef-gauge-dialog.h"
#include "ef-gauge-row.h"
#include "../record/ef-store-gauges.h"

#include <glib/gi18n.h>

#define DUE_MARK " – " /* between a name and how its check stands */

struct _EfGaugeChoice
{
  GtkBox parent_instance;

  GtkWidget *drop_down;
  EfSession *session;
  GPtrArray *ids; /* char *: of the list's items after "no gauge": the job's, then the shop's that the job hasn't yet */
  guint n_own;    /* of them the job's */
  guint idle;     /* source that takes the chosen gauge into the job; 0 none */
  GtkWidget *due; /* words beside the choice when the chosen gauge's check is overdue */
  char *chosen;
  gboolean filling;
  gboolean said;
  guint frames_to_open;
  float y_last; /* of the button in the frame before: it opens once that stands still */
  EfGaugeKind kind; /* of one to be added */
};

#define MOST_FRAMES 30 /* to wait for the page to scroll */

static guint picked_signal;

G_DEFINE_FINAL_TYPE (EfGaugeChoice, ef_gauge_choice, GTK_TYPE_BOX)

static void
show_due (EfGaugeChoice *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const EfGauge *gauge = self->chosen != NULL ? ef_inspection_find (inspection, EF_ITEM_GAUGE, self->chosen) : NULL;
  const char *words = gauge != NULL ? ef_gauge_due_words (gauge) : NULL;

  gtk_label_set_label (GTK_LABEL (gtk_widget_get_last_child (self->due)), words != NULL ? words : "");
  gtk_widget_set_visible (self->due, words != NULL);
}

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
  show_due (self);
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
append_name (GtkStringList *names,
             const EfGauge *gauge,
             gboolean of_shop)
{
  const char *due = ef_gauge_due_words (gauge);
  g_autofree char *name = g_strdup_printf ("%s%s%s%s", gauge->name, due != NULL ? DUE_MARK : "", due != NULL ? due : "", of_shop ? _ (" (shop)") : "");

  gtk_string_list_append (names, name);
}

/* Those of the shop's list that the job hasn't used yet. */
static void
append_shop (EfGaugeChoice *self,
             GtkStringList *names)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  EfStore *store = ef_session_store (self->session);
  g_autoptr (GPtrArray) gauges = store != NULL ? ef_store_gauges (store, FALSE, NULL) : NULL;
  guint i;

  for (i = 0; gauges != NULL && i < gauges->len; i++)
    {
      const EfGauge *gauge = ((EfShopGauge *) g_ptr_array_index (gauges, i))->gauge;

      if (ef_inspection_find (inspection, EF_ITEM_GAUGE, gauge->item.id) != NULL)
        continue;
      append_name (names, gauge, TRUE);
      g_ptr_array_add (self->ids, g_strdup (gauge->item.id));
    }
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

      append_name (names, gauge, FALSE);
      g_ptr_array_add (self->ids, g_strdup (gauge->item.id));
    }
  self->n_own = self->ids->len;
  append_shop (self, names);
  gtk_string_list_append (names, _ ("Add a gauge…"));
  if (!same_list (gtk_drop_down_get_model (GTK_DROP_DOWN (self->drop_down)), G_LIST_MODEL (names)))
    {
      self->filling = TRUE;
      gtk_drop_down_set_model (GTK_DROP_DOWN (self->drop_down), G_LIST_MODEL (names));
      self->filling = FALSE;
    }
  select_chosen (self);
}

/* The job takes a copy, as the gauge is today. */
static gboolean
take_from_shop (EfGaugeChoice *self,
                const char *id)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) gauges = ef_store_gauges (ef_session_store (self->session), FALSE, &error);
  guint i;

  if (gauges == NULL)
    {
      ef_session_message (self->session, error->message);
      return FALSE;
    }
  for (i = 0; i < gauges->len; i++)
    {
      EfGauge *gauge = ((EfShopGauge *) g_ptr_array_index (gauges, i))->gauge;
      g_autofree char *label = g_strdup_printf (_ ("Use gauge: %s"), gauge->name);
      EfChange *change;

      if (!g_str_equal (gauge->item.id, id))
        continue;
      change = ef_change_new (label);
      ef_change_add (change, NULL, gauge);
      return ef_session_apply (self->session, change);
    }
  ef_session_message (self->session, _ ("That gauge isn't in the shop's list any more."));
  return FALSE;
}

static gboolean
take_chosen (gpointer user_data)
{
  EfGaugeChoice *self = user_data;

  self->idle = 0;
  if (!take_from_shop (self, self->chosen))
    g_clear_pointer (&self->chosen, g_free);
  fill (self);
  g_signal_emit (self, picked_signal, 0);
  return G_SOURCE_REMOVE;
}

static void
gauge_saved_cb (EfGaugeChoice *self,
                const char *id)
{
  self->said = TRUE;
  ef_gauge_choice_set (self, id);
  g_signal_emit (self, picked_signal, 0);
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
      self->said = TRUE;
      /* The list is made anew when the job has the gauge: not while the drop-down is still telling of the choice. */
      if (selected > self->n_own)
        {
          if (self->idle == 0)
            self->idle = g_idle_add (take_chosen, self);
          return;
        }
      show_due (self);
      g_signal_emit (self, picked_signal, 0);
      return;
    }
  select_chosen (self);
  dialog = ef_gauge_dialog_show (GTK_WIDGET (self), self->session, NULL);
  ef_gauge_dialog_suggest (dialog, self->kind);
  g_signal_connect_object (dialog, "saved", G_CALLBACK (gauge_saved_cb), self, G_CONNECT_SWAPPED);
}

static void
ef_gauge_choice_dispose (GObject *object)
{
  EfGaugeChoice *self = EF_GAUGE_CHOICE (object);

  g_clear_handle_id (&self->idle, g_source_remove);
  g_clear_object (&self->session);
  g_clear_pointer (&self->ids, g_ptr_array_unref);
  g_clear_pointer (&self->chosen, g_free);
  G_OBJECT_CLASS (ef_gauge_choice_parent_class)->dispose (object);
}

static void
ef_gauge_choice_class_init (EfGaugeChoiceClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_gauge_choice_dispose;
  picked_signal = g_signal_new ("picked", EF_TYPE_GAUGE_CHOICE, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

/* Long gauge names are cut in the button, not in the list. */
static void
setup_name_cb (GtkSignalListItemFactory *factory,
               GtkListItem *item)
{
  gtk_list_item_set_child (item, g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "ellipsize", PANGO_ELLIPSIZE_END,
                                               "width-chars", 10, "max-width-chars", 26, NULL));
}

/* The button has the words beside it. */
static void
bind_button_cb (GtkSignalListItemFactory *factory,
                GtkListItem *item)
{
  g_autofree char *name = g_strdup (gtk_string_object_get_string (gtk_list_item_get_item (item)));
  char *due = g_strrstr (name, DUE_MARK);

  if (due != NULL)
    *due = '\0';
  gtk_label_set_label (GTK_LABEL (gtk_list_item_get_child (item)), name);
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
  g_autoptr (GtkListItemFactory) in_button = gtk_signal_list_item_factory_new ();

  self->ids = g_ptr_array_new_with_free_func (g_free);
  self->kind = EF_GAUGE_MICROMETER;
  g_signal_connect (factory, "setup", G_CALLBACK (setup_name_cb), NULL);
  g_signal_connect (factory, "bind", G_CALLBACK (bind_name_cb), NULL);
  g_signal_connect (in_button, "setup", G_CALLBACK (setup_name_cb), NULL);
  g_signal_connect (in_button, "bind", G_CALLBACK (bind_button_cb), NULL);
  self->drop_down = g_object_new (GTK_TYPE_DROP_DOWN, "hexpand", TRUE, "factory", in_button, "list-factory", factory, NULL);
  gtk_widget_add_css_class (self->drop_down, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->drop_down), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Gauge"), -1);
  gtk_widget_set_tooltip_text (self->drop_down, _ ("Gauge these readings are taken with"));
  gtk_box_append (GTK_BOX (self), self->drop_down);
  self->due = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);
  gtk_widget_add_css_class (self->due, "ef-due");
  /* Below, so that the choice stays as narrow as a small screen with large text asks for. */
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_widget_set_halign (self->due, GTK_ALIGN_START);
  gtk_widget_set_margin_top (self->due, 4);
  gtk_box_append (GTK_BOX (self->due), gtk_image_new_from_icon_name ("dialog-warning-symbolic"));
  gtk_box_append (GTK_BOX (self->due), gtk_label_new (NULL));
  gtk_box_append (GTK_BOX (self), self->due);
  g_signal_connect_swapped (self->drop_down, "notify::selected", G_CALLBACK (selected_cb), self);
}

GtkWidget *
ef_gauge_choice_new (EfSession *session)
{
  EfGaugeChoice *self = g_object_new (EF_TYPE_GAUGE_CHOICE, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "changed", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  g_signal_connect (self, "map", G_CALLBACK (ef_gauge_choice_refresh), NULL);
  fill (self);
  return GTK_WIDGET (self);
}

void
ef_gauge_choice_refresh (EfGaugeChoice *self)
{
  fill (self);
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

void
ef_gauge_choice_suggest (EfGaugeChoice *self,
                         EfGaugeKind kind)
{
  self->kind = kind;
}

gboolean
ef_gauge_choice_said (EfGaugeChoice *self)
{
  return self->said;
}

/* In sight and where it was in the frame before. */
static gboolean
stands_in_sight (EfGaugeChoice *self)
{
  GtkWidget *root = GTK_WIDGET (gtk_widget_get_root (self->drop_down));
  graphene_rect_t bounds;
  gboolean stands;

  if (root == NULL || !gtk_widget_get_mapped (self->drop_down) || !gtk_widget_compute_bounds (self->drop_down, root, &bounds))
    return FALSE;
  stands = bounds.origin.y == self->y_last;
  self->y_last = bounds.origin.y;

  return stands && bounds.origin.y >= 0 && bounds.origin.y + bounds.size.height <= gtk_widget_get_height (root);
}

static gboolean
open_tick_cb (GtkWidget *widget,
              GdkFrameClock *clock,
              gpointer user_data)
{
  EfGaugeChoice *self = EF_GAUGE_CHOICE (widget);

  self->frames_to_open--;
  if (stands_in_sight (self))
    {
      self->frames_to_open = 0;
      g_signal_emit_by_name (self->drop_down, "activate");
    }

  return self->frames_to_open > 0 ? G_SOURCE_CONTINUE : G_SOURCE_REMOVE;
}

void
ef_gauge_choice_open (EfGaugeChoice *self)
{
  gboolean waiting = self->frames_to_open > 0;

  /* The list belongs where the button is once the page has scrolled to it, some frames later. */
  gtk_widget_grab_focus (self->drop_down);
  self->frames_to_open = MOST_FRAMES;
  self->y_last = -1;
  if (!waiting)
    gtk_widget_add_tick_callback (GTK_WIDGET (self), open_tick_cb, NULL, NULL);
}
