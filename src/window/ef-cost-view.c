/* What the rework costs: the shop's rates, kept for the next job and written into this one when used.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-cost-view.h"
#include "ef-field.h"
#include "ef-plain-view.h"
#include "ef-settings.h"
#include "ef-table.h"

#include <glib/gi18n.h>
#include <math.h>

enum { HOUR_RATE, PARTS, NEW_PUMP, N_AMOUNTS };

struct _EfCostView
{
  GtkBox parent_instance;

  EfSession *session;
  GtkWidget *sentence, *lines;
  EfField *currency;
  EfField *amounts[N_AMOUNTS];
  EfField *minutes[EF_N_COST_KINDS];
};

G_DEFINE_FINAL_TYPE (EfCostView, ef_cost_view, GTK_TYPE_BOX)

static const EfInspection *
inspection_of (EfCostView *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

/* The shop's rates as they were last used; parts belong to the job and aren't kept. NULL: none. */
static EfCost *
shop_cost (EfCostView *self)
{
  g_autofree char *text = g_settings_get_string (ef_settings_get (), "cost-rates");
  g_autoptr (GVariant) prices = g_settings_get_value (ef_settings_get (), "pump-prices");
  g_autoptr (EfJsonContext) context = *text != '\0' ? ef_json_parse (text, -1, "cost-rates", NULL) : NULL;
  g_auto (EfJson) root = { 0 };
  EfCost *cost = NULL;

  if (context != NULL)
    {
      root = ef_json_root (context);
      cost = (EfCost *) ef_item_from_json (EF_ITEM_COST, &root);
    }
  if (cost == NULL)
    cost = ef_cost_new ();
  cost->new_pump = cost->parts = NAN;
  g_variant_lookup (prices, inspection_of (self)->sheet->id, "d", &cost->new_pump);
  return cost;
}

static void
keep_for_shop (EfCostView *self,
               const EfCost *cost)
{
  g_autoptr (EfItem) copy = ef_item_copy (&cost->item);
  g_autoptr (JsonNode) node = NULL;
  g_autofree char *text = NULL;
  g_autoptr (GVariant) old = g_settings_get_value (ef_settings_get (), "pump-prices");
  g_auto (GVariantDict) prices;

  g_variant_dict_init (&prices, NULL);
  {
    GVariantIter iter;
    const char *model;
    double price;

    g_variant_iter_init (&iter, old);
    while (g_variant_iter_next (&iter, "{&sd}", &model, &price))
      g_variant_dict_insert (&prices, model, "d", price);
  }
  if (!isnan (cost->new_pump))
    g_variant_dict_insert (&prices, inspection_of (self)->sheet->id, "d", cost->new_pump);
  {
    g_autoptr (GVariant) loose = g_variant_ref_sink (g_variant_dict_end (&prices));
    GVariantBuilder builder;
    GVariantIter iter;
    const char *model;
    GVariant *value;

    g_variant_builder_init (&builder, G_VARIANT_TYPE ("a{sd}"));
    g_variant_iter_init (&iter, loose);
    while (g_variant_iter_loop (&iter, "{&sv}", &model, &value))
      g_variant_builder_add (&builder, "{sd}", model, g_variant_get_double (value));
    g_settings_set_value (ef_settings_get (), "pump-prices", g_variant_builder_end (&builder));
  }
  ((EfCost *) copy)->parts = ((EfCost *) copy)->new_pump = NAN;
  node = ef_item_to_json (copy);
  text = ef_json_to_text (node);
  g_settings_set_string (ef_settings_get (), "cost-rates", text);
}

static double *
amount_of (EfCost *cost,
           int which)
{
  double *const places[N_AMOUNTS] = { &cost->hour_rate, &cost->parts, &cost->new_pump };

  return places[which];
}

static gboolean
read_fields (EfCostView *self,
             EfCost *cost)
{
  for (int i = 0; i < N_AMOUNTS; i++)
    if (!ef_field_number (self->amounts[i], FALSE, 0, 1e9, amount_of (cost, i)))
      return FALSE;
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    if (!ef_field_number (self->minutes[i], FALSE, 0, 1e5, &cost->minutes[i]))
      return FALSE;
  if (*ef_field_text (self->currency) != '\0')
    cost->currency = g_strdup (ef_field_text (self->currency));
  return TRUE;
}

static gboolean
is_empty (const EfCost *cost)
{
  gboolean empty = cost->currency == NULL && isnan (cost->hour_rate) && isnan (cost->parts) && isnan (cost->new_pump);

  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    empty = empty && isnan (cost->minutes[i]);
  return empty;
}

static void
keep_cb (EfCostView *self)
{
  EfItem *before = ef_inspection_find (inspection_of (self), EF_ITEM_COST, "cost");
  g_autoptr (EfItem) item = (EfItem *) ef_cost_new ();
  g_autoptr (EfItem) kept = NULL;
  g_autoptr (EfChange) change = NULL;

  if (ef_session_read_only (self->session) || !read_fields (self, (EfCost *) item))
    return;
  kept = is_empty ((EfCost *) item) ? NULL : ef_item_ref (item);
  if (before == NULL ? kept == NULL : kept != NULL && ef_item_equal (before, kept))
    return;
  change = ef_change_new (_ ("Change the rates"));
  ef_change_add (change, before, kept);
  if (ef_session_apply (self->session, g_steal_pointer (&change)) && kept != NULL)
    keep_for_shop (self, (EfCost *) kept);
}

/* Passing through a field doesn't bring the shop's rates into the job; changing one does. */
static void
left_cb (EfCostView *self)
{
  g_autoptr (EfItem) shop = &shop_cost (self)->item;
  g_autoptr (EfItem) shown = (EfItem *) ef_cost_new ();

  if (ef_inspection_find (inspection_of (self), EF_ITEM_COST, "cost") == NULL && read_fields (self, (EfCost *) shown) && ef_item_equal (shop, shown))
    return;
  keep_cb (self);
}

static void
fill_one (EfField *field,
          double value)
{
  g_autofree char *text = isnan (value) ? NULL : g_strdup_printf ("%g", value);

  if (gtk_widget_get_focus_child (GTK_WIDGET (field)) == NULL && ef_field_message (field) == NULL)
    ef_field_set_text (field, text);
}

static void
fill_fields (EfCostView *self)
{
  EfItem *own = ef_inspection_find (inspection_of (self), EF_ITEM_COST, "cost");
  g_autoptr (EfItem) item = own != NULL ? ef_item_ref (own) : &shop_cost (self)->item;
  EfCost *cost = (EfCost *) item;

  for (int i = 0; i < N_AMOUNTS; i++)
    fill_one (self->amounts[i], *amount_of (cost, i));
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    fill_one (self->minutes[i], cost->minutes[i]);
  if (gtk_widget_get_focus_child (GTK_WIDGET (self->currency)) == NULL)
    ef_field_set_text (self->currency, cost->currency);
}

static void
assessed_cb (EfCostView *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  const EfCostSummary *cost = assessment != NULL ? assessment->cost : NULL;
  GtkWidget *table;

  ef_plain_clear (self->lines);
  if (cost == NULL)
    return;
  gtk_label_set_label (GTK_LABEL (self->sentence), cost->sentence);
  table = ef_table_new (_ ("Kind of work"), _ ("Count"), _ ("Minutes each"), _ ("Minutes"), _ ("Amount"), NULL);
  for (guint kind = 0; kind < EF_N_COST_KINDS; kind++)
    {
      const EfCostLine *line = &cost->line[kind];
      g_autofree char *count = g_strdup_printf ("%g", line->count);
      g_autofree char *minutes = g_strdup_printf (line->own ? "%g" : _ ("%g (common practice)"), line->minutes);
      g_autofree char *total = g_strdup_printf ("%.0f", line->total);
      g_autofree char *amount = ef_cost_amount_text (line->amount, cost->currency);

      if (line->count > 0)
        ef_table_row (table, _ (ef_cost_kind_label (kind)), count, minutes, total, amount, NULL);
    }
  gtk_box_append (GTK_BOX (self->lines), table);
}

static void
ef_cost_view_dispose (GObject *object)
{
  EfCostView *self = EF_COST_VIEW (object);
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_cost_view_parent_class)->dispose (object);
}

static void
ef_cost_view_class_init (EfCostViewClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_cost_view_dispose;
}

static void
ef_cost_view_init (EfCostView *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
}

static EfField *
add_field (EfCostView *self,
           GtkWidget *flow,
           const char *label,
           const char *placeholder)
{
  EfField *field = EF_FIELD (ef_field_new (label));

  g_object_set (field, "placeholder", placeholder, NULL);
  gtk_widget_set_sensitive (GTK_WIDGET (field), !ef_session_read_only (self->session));
  ef_plain_flow_add (flow, GTK_WIDGET (field));
  g_signal_connect_object (field, "committed", G_CALLBACK (keep_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (field, "left", G_CALLBACK (left_cb), self, G_CONNECT_SWAPPED);
  return field;
}

GtkWidget *
ef_cost_view_new (EfSession *session)
{
  EfCostView *self = g_object_new (EF_TYPE_COST_VIEW, NULL);
  GtkWidget *column = ef_plain_view_new (GTK_BOX (self), 900);
  GtkWidget *card, *flow;

  self->session = g_object_ref (session);
  self->sentence = ef_plain_text ("", "title-4");
  gtk_box_append (GTK_BOX (column), self->sentence);
  card = ef_plain_card (column, _ ("The shop's rates"));
  gtk_box_append (GTK_BOX (card), ef_plain_text (_ ("They are kept for the next job, and written into this one as soon as you change or confirm one with Enter."), "dim-label"));
  flow = ef_plain_flow (card);
  self->currency = add_field (self, flow, _ ("Currency, as written"), _ ("not set"));
  self->amounts[HOUR_RATE] = add_field (self, flow, _ ("An hour of work"), _ ("not set"));
  self->amounts[PARTS] = add_field (self, flow, _ ("Parts and materials"), _ ("not set"));
  self->amounts[NEW_PUMP] = add_field (self, flow, _ ("A new pump of this model"), _ ("not set"));
  self->lines = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  gtk_box_append (GTK_BOX (column), self->lines);
  card = ef_plain_card (column, _ ("Minutes each"));
  gtk_box_append (GTK_BOX (card), ef_plain_text (_ ("Left empty, common practice counts: it has no source."), "dim-label"));
  flow = ef_plain_flow (card);
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    {
      g_autofree char *usual = g_strdup_printf (_ ("%g (common practice)"), ef_cost_default_minutes (i));

      self->minutes[i] = add_field (self, flow, _ (ef_cost_kind_label (i)), usual);
    }
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "changed", G_CALLBACK (fill_fields), self, G_CONNECT_SWAPPED);
  fill_fields (self);
  assessed_cb (self);
  return GTK_WIDGET (self);
}
