/* What was done and what was measured afterwards: entered here, compared here.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-after-view.h"
#include "ef-field.h"
#include "ef-form-window.h"
#include "ef-gauge-choice.h"
#include "ef-plain-view.h"
#include "ef-settings.h"
#include "ef-table.h"
#include "ef-verdict-badge.h"

#include "../record/ef-store-work.h"

#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

/* A value that is measured again. */
typedef struct
{
  EfQuantity quantity;
  char *target, *place;
  EfField *field; /* borrowed */
  GtkWidget *gauge;
} AfterSlot;

struct _EfAfterView
{
  GtkBox parent_instance;

  EfSession *session;
  EfLapTable *table;
  GtkWidget *badge, *summary, *compared, *records, *rates;
  GtkWidget *face, *work_gauge;
  char **face_ids;
  EfField *removed, *note;
  EfField *passes[EF_LAP_MOST_GRITS];
  GPtrArray *slots; /* AfterSlot * */
};

G_DEFINE_FINAL_TYPE (EfAfterView, ef_after_view, GTK_TYPE_BOX)

static void
slot_free (gpointer data)
{
  AfterSlot *slot = data;

  g_free (slot->target);
  g_free (slot->place);
  g_free (slot);
}

static const EfInspection *
inspection_of (EfAfterView *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

static char *
now_text (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();

  return g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
}

/* "Separator plate, side A (front)" */
static char *
face_text (EfAfterView *self,
           const char *face_id)
{
  const EfFaceChart *chart = ef_session_chart (self->session, face_id);
  const EfPart *part = chart != NULL ? ef_pump_sheet_part (inspection_of (self)->sheet, chart->part_id) : NULL;

  return part != NULL ? g_strdup_printf ("%s, %s", part->name, chart->name) : g_strdup (face_id);
}

/* --- Work ---------------------------------------------------------------------------------------------------------------- */

static const char *
chosen_face (EfAfterView *self)
{
  guint selected = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->face));

  return selected < g_strv_length (self->face_ids) ? self->face_ids[selected] : NULL;
}

static void
clear_work_fields (EfAfterView *self)
{
  ef_field_set_text (self->removed, NULL);
  ef_field_set_text (self->note, NULL);
  for (guint g = 0; g < self->table->n_grits; g++)
    ef_field_set_text (self->passes[g], NULL);
}

static gboolean
read_passes (EfAfterView *self,
             EfWork *work)
{
  for (guint g = 0; g < self->table->n_grits; g++)
    {
      double count;

      if (!ef_field_number (self->passes[g], FALSE, 0, 10000, &count))
        return FALSE;
      if (count > 0)
        ef_work_set_passes (work, self->table->grit[g].name, count);
    }
  return TRUE;
}

static void
record_cb (EfAfterView *self)
{
  g_autoptr (EfItem) item = NULL;
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = NULL;
  g_autofree char *face = NULL;
  g_autoptr (GError) error = NULL;
  double removed;
  EfWork *work;

  if (chosen_face (self) == NULL || !ef_field_quantity (self->removed, ef_settings_length_unit (), FALSE, &removed, NULL))
    return;
  work = ef_work_new (chosen_face (self), removed, isnan (removed) ? NULL : ef_gauge_choice_get (EF_GAUGE_CHOICE (self->work_gauge)));
  item = &work->item;
  if (!read_passes (self, work))
    return;
  work->role = ef_settings_role ();
  work->time = now_text ();
  if (*ef_field_text (self->note) != '\0')
    work->note = g_strdup (ef_field_text (self->note));
  if (!ef_inspection_check_item (inspection_of (self), item, &error))
    {
      ef_field_set_message (self->removed, isnan (removed) ? _ ("Enter what came off, or the passes.") : error->message);
      gtk_widget_grab_focus (GTK_WIDGET (self->removed));
      return;
    }
  face = face_text (self, work->face_id);
  label = g_strdup_printf (_ ("Record work: %s"), face);
  change = ef_change_new (label);
  ef_change_add (change, NULL, item);
  if (!ef_session_apply (self->session, g_steal_pointer (&change)))
    return;
  clear_work_fields (self);
  gtk_widget_grab_focus (GTK_WIDGET (self->removed));
}

static void
remove_cb (GtkButton *button,
           EfAfterView *self)
{
  EfItem *item = ef_inspection_find (inspection_of (self), EF_ITEM_WORK, g_object_get_data (G_OBJECT (button), "ef-work"));
  g_autoptr (EfChange) change = ef_change_new (_ ("Take back a record of work"));

  if (item == NULL)
    return;
  ef_change_add (change, item, NULL);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

/* Enter moves on; from the last field it records. */
static void
work_committed_cb (EfAfterView *self,
                   EfField *field)
{
  guint n = self->table->n_grits;

  if (field == self->removed)
    {
      gtk_widget_grab_focus (GTK_WIDGET (self->passes[0]));
      return;
    }
  for (guint g = 0; g + 1 < n; g++)
    if (field == self->passes[g])
      {
        gtk_widget_grab_focus (GTK_WIDGET (self->passes[g + 1]));
        return;
      }
  record_cb (self);
}

static char *
passes_text (const EfWork *work)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < work->n_passes; i++)
    g_string_append_printf (text, "%s%g %s", i > 0 ? ", " : "", work->passes[i].count, work->passes[i].grit);
  return g_string_free (text, FALSE);
}

static void
fill_records (EfAfterView *self)
{
  GPtrArray *all = inspection_of (self)->items[EF_ITEM_WORK];

  ef_plain_clear (self->records);
  if (all->len == 0)
    gtk_box_append (GTK_BOX (self->records), ef_plain_text (_ ("Nothing is recorded yet."), "dim-label"));
  for (guint i = 0; i < all->len; i++)
    {
      const EfWork *work = all->pdata[i];
      GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
      GtkWidget *remove = gtk_button_new_from_icon_name ("user-trash-symbolic");
      g_autofree char *face = face_text (self, work->face_id);
      g_autofree char *removed = isnan (work->removed) ? g_strdup (_ ("not measured")) : ef_settings_format_length (work->removed);
      g_autofree char *passes = passes_text (work);
      g_autofree char *text = g_strdup_printf (_ ("%s: %s off%s%s. %s, %s"), face, removed, *passes != '\0' ? " · " : "", passes,
                                               work->role != NULL ? work->role : "–", work->time != NULL ? work->time : "–");
      GtkWidget *label = ef_plain_text (text, NULL);

      gtk_widget_set_hexpand (label, TRUE);
      gtk_widget_add_css_class (remove, "ef-touch");
      gtk_widget_add_css_class (remove, "flat");
      gtk_widget_set_valign (remove, GTK_ALIGN_CENTER);
      gtk_widget_set_tooltip_text (remove, _ ("Take back"));
      gtk_accessible_update_property (GTK_ACCESSIBLE (remove), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Take back"), -1);
      g_object_set_data_full (G_OBJECT (remove), "ef-work", g_strdup (work->item.id), g_free);
      g_signal_connect_object (remove, "clicked", G_CALLBACK (remove_cb), self, 0);
      gtk_box_append (GTK_BOX (row), label);
      gtk_box_append (GTK_BOX (row), remove);
      gtk_box_append (GTK_BOX (self->records), row);
    }
}

/* --- What the shop's own records say ----------------------------------------------------------------------------------------- */

static void
add_rates (EfAfterView *self,
           GtkWidget *table,
           const char *material,
           GPtrArray *doubtful)
{
  EfStore *store = ef_session_store (self->session);
  g_autoptr (GPtrArray) rows = store != NULL ? ef_store_work (store, self->table, material, NULL) : NULL;
  g_auto (EfLapLearned) learned = { 0 };
  EfLapRates rates;

  if (!ef_lap_rates_prior (self->table, material, &rates, NULL))
    return;
  if (rows != NULL && ef_store_lap_rates (self->table, material, rows, &learned, NULL))
    rates = learned.rates;
  for (guint g = 0; g < rates.n; g++)
    {
      g_autofree char *grit = g_strdup_printf ("%s (%s)", self->table->grit[g].name, self->table->grit[g].paper);
      g_autofree char *removal = g_strdup_printf ("%.1f ± %.1f µm", 1e6 * rates.removal[g], 2e6 * ef_lap_rates_u (&rates, g));
      g_autofree char *from = rates.observations[g] > 0 ? g_strdup_printf (_ ("learned from %u"), rates.observations[g]) : g_strdup (_ ("common practice, no source"));

      ef_table_row (table, g == 0 ? material : "", grit, removal, from, NULL);
    }
  for (guint i = 0; rows != NULL && i < learned.n; i++)
    if (learned.doubtful[i])
      {
        const EfWorkRow *row = rows->pdata[i];
        g_autofree char *removed = ef_settings_format_length (row->observation.removal);

        g_ptr_array_add (doubtful, g_strdup_printf (_ ("Doubtful, and not learned from: job %s, %s, %s off by %.0f passes. Measure such a face again before the next pass."),
                                                    row->number, row->work->face_id, removed,
                                                    row->observation.passes[0] + row->observation.passes[1] + row->observation.passes[2]));
      }
}

static void
fill_rates (EfAfterView *self)
{
  const EfPumpSheet *sheet = inspection_of (self)->sheet;
  GtkWidget *table = ef_table_new (_ ("Material"), _ ("Grit"), _ ("By one pass"), _ ("From"), NULL);
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GPtrArray) doubtful = g_ptr_array_new_with_free_func (g_free);

  ef_plain_clear (self->rates);
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = sheet->parts->pdata[i];

      if (part->lappable && part->material != NULL && g_hash_table_add (seen, part->material))
        add_rates (self, table, part->material, doubtful);
    }
  gtk_box_append (GTK_BOX (self->rates), table);
  for (guint i = 0; i < doubtful->len; i++)
    gtk_box_append (GTK_BOX (self->rates), ef_plain_text (doubtful->pdata[i], NULL));
}

/* --- Readings after the rework --------------------------------------------------------------------------------------------------- */

static EfReading *
reading_of (EfAfterView *self,
            const AfterSlot *slot,
            gboolean after)
{
  GPtrArray *readings = inspection_of (self)->items[EF_ITEM_READING];

  for (guint i = readings->len; i > 0; i--)
    {
      EfReading *reading = readings->pdata[i - 1];

      if (!reading->after == !after && reading->quantity == slot->quantity && g_strcmp0 (reading->target, slot->target) == 0
          && g_strcmp0 (reading->place, slot->place) == 0)
        return reading;
    }
  return NULL;
}

static AfterSlot *
slot_of (EfAfterView *self,
         EfField *field,
         guint *at_out)
{
  for (guint i = 0; i < self->slots->len; i++)
    {
      AfterSlot *slot = self->slots->pdata[i];

      if (slot->field == field)
        {
          if (at_out != NULL)
            *at_out = i;
          return slot;
        }
    }
  return NULL;
}

static void
fill_slot (EfAfterView *self,
           AfterSlot *slot)
{
  const EfReading *reading = reading_of (self, slot, TRUE);
  g_autofree char *text = reading != NULL ? ef_settings_exact (reading->value, reading->unit != EF_UNIT_NONE ? reading->unit : EF_UNIT_MM) : NULL;

  if (g_strcmp0 (ef_field_text (slot->field), text != NULL ? text : "") != 0)
    ef_field_set_text (slot->field, text);
}

/* TRUE when the field's value is kept, or there was nothing to keep. */
static gboolean
keep_slot (EfAfterView *self,
           AfterSlot *slot)
{
  EfReading *before = reading_of (self, slot, TRUE);
  g_autoptr (EfItem) item = NULL;
  g_autoptr (EfChange) change = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *label = NULL;
  EfUnit unit = EF_UNIT_MM;
  double value;

  if (!ef_field_quantity (slot->field, ef_settings_length_unit (), FALSE, &value, &unit))
    return FALSE;
  if (before == NULL ? isnan (value) : ef_length_on_grid (value) == before->value)
    return TRUE;
  if (!isnan (value))
    {
      EfReading *reading = ef_reading_new (slot->quantity, slot->target, slot->place, value, unit, ef_gauge_choice_get (EF_GAUGE_CHOICE (slot->gauge)));

      item = &reading->item;
      if (before != NULL)
        {
          g_free (item->id);
          item->id = g_strdup (before->item.id);
        }
      reading->after = TRUE;
      reading->time = now_text ();
      if (!ef_inspection_check_item (inspection_of (self), item, &error))
        {
          const char *colon = strstr (error->message, ": ");

          ef_field_set_message (slot->field, colon != NULL ? colon + 2 : error->message);
          return FALSE;
        }
    }
  label = g_strdup_printf (_ ("Reading after rework: %s"), _ (ef_quantity_label (slot->quantity)));
  change = ef_change_new (label);
  ef_change_add (change, before, item);
  return ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
slot_committed_cb (EfAfterView *self,
                   EfField *field)
{
  guint at = 0;
  AfterSlot *slot = slot_of (self, field, &at);

  if (slot != NULL && keep_slot (self, slot) && at + 1 < self->slots->len)
    gtk_widget_grab_focus (GTK_WIDGET (((AfterSlot *) self->slots->pdata[at + 1])->field));
}

static void
slot_left_cb (EfAfterView *self,
              EfField *field)
{
  AfterSlot *slot = slot_of (self, field, NULL);

  if (slot != NULL)
    keep_slot (self, slot);
}

static void
add_slot (EfAfterView *self,
          GtkWidget *flow,
          GtkWidget *gauge,
          EfQuantity quantity,
          const char *target,
          const char *place,
          const char *label)
{
  AfterSlot *slot = g_new0 (AfterSlot, 1);
  const EfReading *found;

  slot->quantity = quantity;
  slot->target = g_strdup (target);
  slot->place = g_strdup (place);
  slot->gauge = gauge;
  slot->field = EF_FIELD (ef_field_new (label));
  found = reading_of (self, slot, FALSE);
  if (found != NULL)
    {
      g_autofree char *value = ef_settings_format_length (found->value);
      g_autofree char *was = g_strdup_printf (_ ("was %s"), value);

      g_object_set (slot->field, "placeholder", was, NULL);
      if (ef_gauge_choice_get (EF_GAUGE_CHOICE (gauge)) == NULL)
        ef_gauge_choice_set (EF_GAUGE_CHOICE (gauge), found->gauge_id);
    }
  g_ptr_array_add (self->slots, slot);
  ef_plain_flow_add (flow, GTK_WIDGET (slot->field));
  g_signal_connect_object (slot->field, "committed", G_CALLBACK (slot_committed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (slot->field, "left", G_CALLBACK (slot_left_cb), self, G_CONNECT_SWAPPED);
}

static void
add_readings (EfAfterView *self,
              GtkWidget *column,
              EfQuantity quantity)
{
  static const char *const places[2] = { "drive", "driven" };
  const EfPumpSheet *sheet = inspection_of (self)->sheet;
  g_autofree char *title = g_strdup_printf (_ ("%s, measured after the rework"), _ (ef_quantity_label (quantity)));
  GtkWidget *card = ef_plain_card (column, title);
  GtkWidget *gauge = ef_gauge_choice_new (self->session);
  GtkWidget *flow;

  gtk_box_append (GTK_BOX (card), gauge);
  flow = ef_plain_flow (card);
  for (guint i = 0; i < sheet->sections->len; i++)
    for (int gear = 0; gear < 2; gear++)
      {
        const EfSection *section = sheet->sections->pdata[i];
        g_autofree char *label = g_strdup_printf (gear == 0 ? _ ("%s, drive gear") : _ ("%s, driven gear"), section->name);

        if (quantity == EF_READ_FACE_WIDTH)
          add_slot (self, flow, gauge, quantity, section->gear_part[gear], NULL, label);
        else
          add_slot (self, flow, gauge, quantity, section->id, places[gear], label);
      }
}

/* --- Compared -------------------------------------------------------------------------------------------------------------------------- */

static char *
with_uncertainty (double value,
                  double u)
{
  g_autofree char *number = ef_settings_format_length (value);
  g_autofree char *expanded = NULL;

  if (isnan (value) || isnan (u))
    return g_steal_pointer (&number);
  expanded = ef_settings_format_length (2 * u);
  return g_strdup_printf ("%s ± %s", number, expanded);
}

/* In the empty fields, what the plan asks of the chosen face. */
static void
show_planned (EfAfterView *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  const char *face = chosen_face (self);
  const EfLapStock *stock = assessment != NULL && assessment->plan != NULL && face != NULL ? ef_lap_stock_find (assessment->plan->stocks, face) : NULL;
  g_autofree char *removed = stock != NULL ? ef_settings_format_length (stock->stock) : NULL;

  g_object_set (self->removed, "placeholder", removed, NULL);
  for (guint g = 0; g < self->table->n_grits; g++)
    {
      gboolean planned = stock != NULL && g < stock->n_grits;
      g_autofree char *passes = planned ? g_strdup_printf ("%d", stock->passes[g]) : NULL;

      g_object_set (self->passes[g], "placeholder", passes, NULL);
    }
}

static void
assessed_cb (EfAfterView *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  const EfAfter *after = assessment != NULL ? assessment->after : NULL;
  GtkWidget *table;

  if (self->face != NULL) /* not where it can only be looked at */
    show_planned (self);
  ef_plain_clear (self->compared);
  ef_verdict_badge_set (EF_VERDICT_BADGE (self->badge), after != NULL ? (int) after->verdict->word : EF_VERDICT_UNKNOWN);
  gtk_widget_set_visible (self->badge, after != NULL);
  gtk_label_set_label (GTK_LABEL (self->summary), after != NULL ? after->summary : _ ("Record what came off each face and measure again: it is held against what was expected, and the verdict is taken anew."));
  if (after == NULL || after->rows->len == 0)
    return;
  table = ef_table_new (_ ("Measured again"), _ ("Expected"), _ ("Measured"), _ ("So"), NULL);
  for (guint i = 0; i < after->rows->len; i++)
    {
      const EfAfterRow *row = after->rows->pdata[i];
      g_autofree char *predicted = with_uncertainty (row->predicted, row->u_predicted);
      g_autofree char *measured = with_uncertainty (row->measured, row->u_measured);
      g_autofree char *so = isnan (row->en) ? g_strdup (_ ("can't be said"))
                                            : g_strdup_printf (row->outside ? _ ("⚠ outside (En %.1f)") : _ ("as expected (En %.1f)"), fabs (row->en) < 0.05 ? 0.0 : row->en);

      ef_table_row (table, row->label, predicted, measured, so, NULL);
    }
  gtk_box_append (GTK_BOX (self->compared), table);
  for (guint i = 0; i < after->rows->len; i++)
    if (((const EfAfterRow *) after->rows->pdata[i])->outside)
      gtk_box_append (GTK_BOX (self->compared), ef_plain_text (((const EfAfterRow *) after->rows->pdata[i])->sentence, NULL));
}

static void
changed_cb (EfAfterView *self)
{
  fill_records (self);
  fill_rates (self);
  for (guint i = 0; i < self->slots->len; i++)
    {
      AfterSlot *slot = self->slots->pdata[i];

      /* What is being typed stays. */
      if (!gtk_widget_has_focus (ef_field_entry (slot->field)) && ef_field_message (slot->field) == NULL
          && gtk_widget_get_focus_child (GTK_WIDGET (slot->field)) == NULL)
        fill_slot (self, slot);
    }
}

static void
ef_after_view_dispose (GObject *object)
{
  EfAfterView *self = EF_AFTER_VIEW (object);
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  g_clear_pointer (&self->slots, g_ptr_array_unref);
  g_clear_pointer (&self->face_ids, g_strfreev);
  g_clear_pointer (&self->table, ef_lap_table_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_after_view_parent_class)->dispose (object);
}

static void
ef_after_view_class_init (EfAfterViewClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_after_view_dispose;
}

static void
ef_after_view_init (EfAfterView *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  self->slots = g_ptr_array_new_with_free_func (slot_free);
}

/* Faces that may be lapped, those with marks first. */
static char **
lappable_faces (EfAfterView *self)
{
  const EfInspection *inspection = inspection_of (self);
  g_autoptr (GStrvBuilder) ids = g_strv_builder_new ();

  for (int marked = 1; marked >= 0; marked--)
    for (guint i = 0; i < inspection->sheet->parts->len; i++)
      {
        const EfPart *part = inspection->sheet->parts->pdata[i];
        g_auto (GStrv) faces = part->lappable ? ef_part_face_ids (inspection->sheet, part->id) : NULL;

        for (guint k = 0; faces != NULL && faces[k] != NULL; k++)
          {
            const EfFaceChart *chart = ef_session_chart (self->session, faces[k]);
            g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, faces[k]);
            gboolean plane = chart != NULL && (g_str_has_suffix (faces[k], "/mating") || strstr (faces[k], "/side-") != NULL || strstr (faces[k], "/end-") != NULL);

            if (plane && (marks->len > 0) == (marked == 1))
              g_strv_builder_add (ids, faces[k]);
          }
      }
  return g_strv_builder_end (ids);
}

/* What was used for the pockets' depth is the likeliest for what comes off. */
static const char *
depth_gauge (EfAfterView *self)
{
  GPtrArray *readings = inspection_of (self)->items[EF_ITEM_READING];

  for (guint i = 0; i < readings->len; i++)
    if (((const EfReading *) readings->pdata[i])->quantity == EF_READ_POCKET_DEPTH)
      return ((const EfReading *) readings->pdata[i])->gauge_id;
  return NULL;
}

static void
add_work_card (EfAfterView *self,
               GtkWidget *column)
{
  GtkWidget *card = ef_plain_card (column, _ ("Record what was lapped"));
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  GtkWidget *record = gtk_button_new_with_label (_ ("Record"));
  GtkWidget *flow;

  self->face_ids = lappable_faces (self);
  for (guint i = 0; self->face_ids[i] != NULL; i++)
    {
      g_autofree char *name = face_text (self, self->face_ids[i]);

      gtk_string_list_append (names, name);
    }
  self->face = gtk_drop_down_new (G_LIST_MODEL (g_steal_pointer (&names)), NULL);
  gtk_widget_add_css_class (self->face, "ef-touch");
  g_signal_connect_object (self->face, "notify::selected", G_CALLBACK (show_planned), self, G_CONNECT_SWAPPED);
  gtk_box_append (GTK_BOX (card), ef_labelled (_ ("Face"), self->face));
  self->work_gauge = ef_gauge_choice_new (self->session);
  ef_gauge_choice_set (EF_GAUGE_CHOICE (self->work_gauge), depth_gauge (self));
  gtk_box_append (GTK_BOX (card), self->work_gauge);
  flow = ef_plain_flow (card);
  self->removed = EF_FIELD (ef_field_new (_ ("Taken off: before less after")));
  ef_plain_flow_add (flow, GTK_WIDGET (self->removed));
  g_signal_connect_object (self->removed, "committed", G_CALLBACK (work_committed_cb), self, G_CONNECT_SWAPPED);
  for (guint g = 0; g < self->table->n_grits; g++)
    {
      g_autofree char *label = g_strdup_printf (_ ("Passes, %s (%s)"), self->table->grit[g].name, self->table->grit[g].paper);

      self->passes[g] = EF_FIELD (ef_field_new (label));
      ef_plain_flow_add (flow, GTK_WIDGET (self->passes[g]));
      g_signal_connect_object (self->passes[g], "committed", G_CALLBACK (work_committed_cb), self, G_CONNECT_SWAPPED);
    }
  self->note = EF_FIELD (ef_field_new (_ ("Note")));
  gtk_box_append (GTK_BOX (card), GTK_WIDGET (self->note));
  g_signal_connect_object (self->note, "committed", G_CALLBACK (work_committed_cb), self, G_CONNECT_SWAPPED);
  gtk_widget_add_css_class (record, "ef-touch");
  gtk_widget_add_css_class (record, "suggested-action");
  gtk_widget_set_halign (record, GTK_ALIGN_START);
  g_signal_connect_object (record, "clicked", G_CALLBACK (record_cb), self, G_CONNECT_SWAPPED);
  gtk_box_append (GTK_BOX (card), record);
  self->records = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
  gtk_box_append (GTK_BOX (card), self->records);
}

GtkWidget *
ef_after_view_new (EfSession *session)
{
  EfAfterView *self = g_object_new (EF_TYPE_AFTER_VIEW, NULL);
  GtkWidget *column = ef_plain_view_new (GTK_BOX (self), 900);
  GtkWidget *top = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  g_autoptr (GError) error = NULL;

  self->session = g_object_ref (session);
  self->table = ef_lap_table_default (&error);
  if (self->table == NULL)
    {
      gtk_box_append (GTK_BOX (column), ef_plain_text (error->message, NULL));
      return GTK_WIDGET (self);
    }
  self->badge = ef_verdict_badge_new ();
  gtk_widget_set_valign (self->badge, GTK_ALIGN_CENTER);
  self->summary = ef_plain_text ("", "ef-step");
  gtk_widget_set_hexpand (self->summary, TRUE);
  gtk_box_append (GTK_BOX (top), self->badge);
  gtk_box_append (GTK_BOX (top), self->summary);
  gtk_box_append (GTK_BOX (column), top);
  self->compared = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  gtk_box_append (GTK_BOX (column), self->compared);
  if (!ef_session_read_only (session))
    {
      add_work_card (self, column);
      add_readings (self, column, EF_READ_POCKET_DEPTH);
      add_readings (self, column, EF_READ_FACE_WIDTH);
      add_readings (self, column, EF_READ_END_CLEARANCE);
    }
  else
    {
      self->records = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
      gtk_box_append (GTK_BOX (column), self->records);
    }
  self->rates = ef_plain_card (column, _ ("What a pass takes off in this shop"));
  {
    GtkWidget *inside = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);

    gtk_box_append (GTK_BOX (self->rates), inside);
    self->rates = inside;
  }
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "changed", G_CALLBACK (changed_cb), self, G_CONNECT_SWAPPED);
  changed_cb (self);
  assessed_cb (self);
  return GTK_WIDGET (self);
}
