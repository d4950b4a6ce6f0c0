/* Rows of derived values.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The values are derived here at once from the document, not taken from the assessment, so that they follow each
 * reading without a wait.
 */
#include "config.h"

#include "ef-derived-list.h"
#include "ef-settings.h"

#include <glib/gi18n.h>
#include <math.h>

struct _EfDerivedList
{
  GtkBox parent_instance;

  EfSession *session;
  const EfSlotGroup *group;
};

G_DEFINE_FINAL_TYPE (EfDerivedList, ef_derived_list, GTK_TYPE_BOX)

/* The derived quantities that belong under a group of readings. */
static const char *const quantities[EF_N_READINGS][4] = {
  [EF_READ_END_CLEARANCE] = { "end-clearance" },
  [EF_READ_POCKET_DEPTH] = { "pocket-depth" },
  [EF_READ_FACE_WIDTH] = { "face-width", "width-difference" },
  [EF_READ_TIP_CLEARANCE] = { "tip-clearance", "tip-clearance-mean" },
  [EF_READ_BACKLASH] = { "backlash" },
  [EF_READ_SIDE_PLAY] = { "side-play" },
  [EF_READ_JOURNAL_DIAMETER] = { "journal-diameter", "journal-ovality" },
  [EF_READ_BORE_DIAMETER] = { "bore-diameter", "bore-ovality", "bore-clearance" },
  [EF_READ_FLATNESS] = { "flatness" },
};

static const struct
{
  const char *quantity, *label;
} labels[] = {
  { "end-clearance", N_ ("End clearance") },
  { "pocket-depth", N_ ("Pocket depth") },
  { "face-width", N_ ("Face width") },
  { "width-difference", N_ ("Difference of the face widths") },
  { "tip-clearance", N_ ("Tip clearance, largest") },
  { "tip-clearance-mean", N_ ("Tip clearance, mean") },
  { "backlash", N_ ("Backlash") },
  { "side-play", N_ ("Side play") },
  { "journal-diameter", N_ ("Journal diameter") },
  { "journal-ovality", N_ ("Journal ovality") },
  { "bore-diameter", N_ ("Bore diameter") },
  { "bore-ovality", N_ ("Bore ovality") },
  { "bore-clearance", N_ ("Clearance of the shaft in the bore") },
  { "flatness", N_ ("Flatness") },
};

static const char *
quantity_label (const char *quantity)
{
  guint i;

  for (i = 0; i < G_N_ELEMENTS (labels); i++)
    if (g_str_equal (labels[i].quantity, quantity))
      return _ (labels[i].label);
  return quantity;
}

static gboolean
is_diameter (EfQuantity quantity)
{
  return quantity == EF_READ_BORE_DIAMETER || quantity == EF_READ_JOURNAL_DIAMETER;
}

static gboolean
belongs (const EfSlotGroup *group,
         const EfDerived *derived)
{
  gboolean target = g_strcmp0 (derived->target, group->target) == 0;
  gboolean place = !is_diameter (group->quantity);
  gboolean quantity = FALSE;
  guint i;

  for (i = 0; i < G_N_ELEMENTS (quantities[0]) && quantities[group->quantity][i] != NULL; i++)
    quantity = quantity || g_str_equal (quantities[group->quantity][i], derived->quantity);
  for (i = 0; quantity && i < group->slots->len; i++)
    {
      const EfSlot *slot = g_ptr_array_index (group->slots, i);

      target = target || g_strcmp0 (derived->target, slot->target) == 0;
      place = place || g_strcmp0 (derived->place, slot->place) == 0;
    }
  return quantity && target && place;
}

/* "limit 0.020 mm – 0.100 mm (shop limit)": what the sheet allows before it must be reworked. */
/* The rule's own, where the sheet has none. */
static char *
default_text (EfSession *session,
              const EfDerived *derived,
              gboolean *beyond_out)
{
  const EfRuleSet *rules = ef_session_rules (session);
  const char *source = NULL;
  double limit = rules != NULL ? ef_rule_set_limit (rules, derived->quantity, &source) : NAN;
  g_autofree char *high = NULL;

  if (isnan (limit))
    return NULL;
  *beyond_out = derived->value > limit;
  high = ef_settings_format_length (limit);
  return g_strdup_printf (_ ("limit: at most %s by default, the pump sheet gives none (%s)"), high, source);
}

static char *
limit_text (EfSession *session,
            const EfPumpSheet *sheet,
            const EfDerived *derived,
            gboolean *beyond_out)
{
  const EfLimit *limit = ef_pump_sheet_limit (sheet, derived->quantity, derived->target);
  g_autofree char *low = NULL;
  g_autofree char *high = NULL;
  const char *source;

  *beyond_out = FALSE;
  if (limit == NULL || (isnan (limit->wear_max) && isnan (limit->wear_min)))
    return default_text (session, derived, beyond_out);
  *beyond_out = derived->value > limit->wear_max || derived->value < limit->wear_min;
  low = ef_settings_format_length (limit->wear_min);
  high = ef_settings_format_length (limit->wear_max);
  source = limit->source != NULL ? limit->source : _ ("no source");
  if (isnan (limit->wear_min))
    return g_strdup_printf (_ ("limit: at most %s (%s)"), high, source);
  if (isnan (limit->wear_max))
    return g_strdup_printf (_ ("limit: at least %s (%s)"), low, source);
  return g_strdup_printf (_ ("limit: %s to %s (%s)"), low, high, source);
}

static char *
title_text (const EfPumpSheet *sheet,
            const EfSlotGroup *group,
            const EfDerived *derived)
{
  const EfPart *part = ef_pump_sheet_part (sheet, derived->target);
  const char *label = quantity_label (derived->quantity);

  if (g_strcmp0 (derived->place, "drive") == 0 && !is_diameter (group->quantity))
    return g_strdup_printf (_ ("%s, drive gear"), label);
  if (g_strcmp0 (derived->place, "driven") == 0 && !is_diameter (group->quantity))
    return g_strdup_printf (_ ("%s, driven gear"), label);
  if (group->quantity == EF_READ_FACE_WIDTH && part != NULL)
    return g_strdup_printf ("%s, %s", label, part->name);
  return g_strdup (label);
}

static char *
value_text (const EfDerived *derived)
{
  g_autofree char *value = ef_settings_format_length (derived->value);
  g_autofree char *spread = NULL;

  if (isnan (derived->uncertainty))
    return g_steal_pointer (&value);
  spread = ef_settings_format_length (2 * derived->uncertainty);
  return g_strdup_printf ("%s ± %s", value, spread);
}

static GtkWidget *
small_label (const char *text)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, NULL);

  gtk_widget_add_css_class (label, "caption");
  gtk_widget_add_css_class (label, "dim-label");
  return label;
}

static GtkWidget *
make_row (EfDerivedList *self,
          const EfPumpSheet *sheet,
          const EfDerived *derived)
{
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *top = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  g_autofree char *title = title_text (sheet, self->group, derived);
  g_autofree char *value = value_text (derived);
  gboolean beyond;
  g_autofree char *limit = limit_text (self->session, sheet, derived, &beyond);
  GtkWidget *name = g_object_new (GTK_TYPE_LABEL, "label", title, "xalign", 0.0f, "wrap", TRUE, "hexpand", TRUE, NULL);
  GtkWidget *number = g_object_new (GTK_TYPE_LABEL, "label", value, "xalign", 1.0f, "wrap", TRUE, NULL);

  gtk_widget_add_css_class (number, "numeric");
  gtk_widget_add_css_class (number, "heading");
  gtk_box_append (GTK_BOX (top), name);
  if (beyond)
    {
      GtkWidget *icon = gtk_image_new_from_icon_name ("dialog-warning-symbolic");

      gtk_widget_set_tooltip_text (icon, _ ("Beyond its limit"));
      gtk_accessible_update_property (GTK_ACCESSIBLE (icon), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Beyond its limit"), -1);
      gtk_box_append (GTK_BOX (top), icon);
    }
  gtk_box_append (GTK_BOX (top), number);
  gtk_box_append (GTK_BOX (row), top);
  gtk_box_append (GTK_BOX (row), small_label (derived->how));
  if (limit != NULL)
    gtk_box_append (GTK_BOX (row), small_label (limit));
  return row;
}

static void
refresh (EfDerivedList *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  const GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];
  g_autoptr (GPtrArray) derived = NULL;
  GtkWidget *child;
  gboolean any = FALSE;
  guint i;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  derived = ef_derive (inspection->sheet, (EfReading *const *) readings->pdata, readings->len, (EfGauge *const *) gauges->pdata, gauges->len);
  for (i = 0; i < derived->len; i++)
    if (belongs (self->group, g_ptr_array_index (derived, i)))
      {
        gtk_box_append (GTK_BOX (self), make_row (self, inspection->sheet, g_ptr_array_index (derived, i)));
        any = TRUE;
      }
  gtk_widget_set_visible (GTK_WIDGET (self), any);
}

static void
ef_derived_list_dispose (GObject *object)
{
  EfDerivedList *self = EF_DERIVED_LIST (object);

  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_derived_list_parent_class)->dispose (object);
}

static void
ef_derived_list_class_init (EfDerivedListClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_derived_list_dispose;
}

static void
ef_derived_list_init (EfDerivedList *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 10);
  gtk_widget_add_css_class (GTK_WIDGET (self), "ef-derived");
}

GtkWidget *
ef_derived_list_new (EfSession *session,
                     const EfSlotGroup *group)
{
  EfDerivedList *self = g_object_new (EF_TYPE_DERIVED_LIST, NULL);

  self->session = g_object_ref (session);
  self->group = group;
  g_signal_connect_object (session, "changed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed::length-unit", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  refresh (self);
  return GTK_WIDGET (self);
}
