/* Which pump model suits the demand: fields, answer, plots.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-right-pump-view.h"
#include "ef-field.h"
#include "ef-look.h"
#include "ef-plain-view.h"
#include "ef-settings.h"
#include "ef-sheets.h"
#include "ef-table.h"

#include "../assess/ef-right-pump.h"
#include "../draw/ef-draw-right-pump.h"

#include <glib/gi18n.h>
#include <math.h>

enum { COOLER_FLOW, COOLER_DROP, EXTRA_FLOW, EXTRA_PRESSURE, HOTTER, SPEED, N_FIELDS };

struct _EfRightPumpView
{
  GtkBox parent_instance;

  EfSession *session;
  EfField *fields[N_FIELDS];
  EfField *note;
  GtkWidget *sentence, *answer, *notes;
  GtkWidget *plots[2];
  EfRightPump *result;
  GCancellable *cancellable;
};

G_DEFINE_FINAL_TYPE (EfRightPumpView, ef_right_pump_view, GTK_TYPE_BOX)

typedef struct
{
  EfAssessment *assessment;
  GPtrArray *sheets;
  EfItem *demand;
} Task;

static void
task_free (gpointer data)
{
  Task *task = data;

  ef_assessment_unref (task->assessment);
  g_ptr_array_unref (task->sheets);
  g_clear_pointer (&task->demand, ef_item_unref);
  g_free (task);
}

static const EfInspection *
inspection_of (EfRightPumpView *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

/* --- The answer ---------------------------------------------------------------------------------------------------------- */

static void
show_result (EfRightPumpView *self)
{
  const EfRightPump *result = self->result;
  GtkWidget *table = ef_table_new (_ ("Pump"), _ ("Hot idle"), _ ("Before"), _ ("Delivery"), _ ("Scavenge margin"), _ ("Mounting, pickup"), NULL);

  gtk_label_set_label (GTK_LABEL (self->sentence), result->sentence);
  ef_plain_clear (self->answer);
  for (guint i = 0; i < result->choices->len; i++)
    {
      const EfPumpChoice *choice = result->choices->pdata[i];
      g_autofree char *pressure = ef_settings_format_pressure (choice->pressure);
      g_autofree char *before = ef_settings_format_pressure (choice->before);
      g_autofree char *delivery = ef_settings_format (choice->delivery, EF_UNIT_LPM);
      g_autofree char *scavenge = isfinite (choice->scavenge_margin) ? g_strdup_printf ("× %.2f", choice->scavenge_margin) : g_strdup ("–");
      const char *fits = choice->this_model ? _ ("as it is") : !choice->same_mounting ? _ ("other mounting") : choice->same_pickup ? _ ("same mounting and pickup") : _ ("same mounting, other pickup");

      ef_table_row (table, choice->label, pressure, before, delivery, scavenge, choice->known ? fits : choice->reason, NULL);
    }
  gtk_box_append (GTK_BOX (self->answer), table);
  ef_plain_clear (self->notes);
  for (guint i = 0; i < result->choices->len; i++)
    {
      const EfPumpChoice *choice = result->choices->pdata[i];
      g_autofree char *text = NULL;

      if (choice->state != EF_STATE_NEW || !choice->same_mounting || choice->pickup == NULL)
        continue;
      text = g_strdup_printf (_ ("%s, pickup: %s"), choice->model, choice->pickup);
      gtk_box_append (GTK_BOX (self->notes), ef_plain_text (text, NULL));
    }
  for (guint i = 0; i < result->notes->len; i++)
    gtk_box_append (GTK_BOX (self->notes), ef_plain_text (result->notes->pdata[i], "dim-label"));
  for (guint i = 0; i < G_N_ELEMENTS (self->plots); i++)
    {
      gtk_widget_queue_draw (self->plots[i]);
      gtk_accessible_update_property (GTK_ACCESSIBLE (self->plots[i]), GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, result->sentence, -1);
    }
}

static void
compare_thread (GTask *task,
                gpointer source,
                gpointer data,
                GCancellable *cancellable)
{
  Task *work = data;
  GError *error = NULL;
  EfRightPump *result = ef_right_pump_new (work->assessment, work->sheets, (const EfDemand *) work->demand, cancellable, &error);

  if (result != NULL)
    g_task_return_pointer (task, result, (GDestroyNotify) ef_right_pump_free);
  else
    g_task_return_error (task, error);
}

static void
compared_cb (GObject *source,
             GAsyncResult *result,
             gpointer data)
{
  EfRightPumpView *self = EF_RIGHT_PUMP_VIEW (source);
  g_autoptr (GError) error = NULL;
  EfRightPump *found = g_task_propagate_pointer (G_TASK (result), &error);

  if (g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED) || g_error_matches (error, G_IO_ERROR, G_IO_ERROR_CANCELLED))
    return;
  if (self->session == NULL || found == NULL)
    {
      if (self->session != NULL)
        gtk_label_set_label (GTK_LABEL (self->sentence), error->message);
      g_clear_pointer (&found, ef_right_pump_free);
      return;
    }
  g_clear_pointer (&self->result, ef_right_pump_free);
  self->result = found;
  show_result (self);
}

static GPtrArray *
all_sheets (EfRightPumpView *self)
{
  g_autoptr (GPtrArray) entries = ef_sheets_all (ef_session_store (self->session), NULL);
  GPtrArray *sheets = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_pump_sheet_unref);

  for (guint i = 0; i < entries->len; i++)
    g_ptr_array_add (sheets, ef_pump_sheet_ref (((EfSheetEntry *) entries->pdata[i])->sheet));
  return sheets;
}

/* Only while it's looked at. */
static void
compare (EfRightPumpView *self)
{
  EfAssessment *assessment = self->session != NULL ? ef_session_assessment (self->session) : NULL;
  EfItem *demand = self->session != NULL ? ef_inspection_find (inspection_of (self), EF_ITEM_DEMAND, "demand") : NULL;
  g_autoptr (GTask) task = NULL;
  Task *work;

  if (assessment == NULL || !gtk_widget_get_mapped (GTK_WIDGET (self)))
    return;
  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_object (&self->cancellable);
  self->cancellable = g_cancellable_new ();
  work = g_new0 (Task, 1);
  work->assessment = ef_assessment_ref (assessment);
  work->sheets = all_sheets (self);
  work->demand = demand != NULL ? ef_item_ref (demand) : NULL;
  task = g_task_new (self, self->cancellable, compared_cb, NULL);
  g_task_set_source_tag (task, compare);
  g_task_set_task_data (task, work, task_free);
  g_task_run_in_thread (task, compare_thread);
}

/* --- The demand ----------------------------------------------------------------------------------------------------------------- */

static const EfUnit field_units[N_FIELDS] = { EF_UNIT_LPM, EF_UNIT_BAR, EF_UNIT_LPM, EF_UNIT_BAR, EF_UNIT_NONE, EF_UNIT_RPM };

static double *
place_of (EfDemand *demand,
          int field)
{
  double *const places[N_FIELDS] = { &demand->cooler_flow, &demand->cooler_drop, &demand->extra_flow, &demand->extra_pressure, &demand->hotter, &demand->speed };

  return places[field];
}

static gboolean
read_demand (EfRightPumpView *self,
             EfDemand *demand)
{
  for (int i = 0; i < N_FIELDS; i++)
    {
      gboolean ok;

      if (i == HOTTER)
        ok = ef_field_number (self->fields[i], FALSE, -100, 100, &demand->hotter);
      else
        ok = ef_field_quantity (self->fields[i], i == COOLER_DROP || i == EXTRA_PRESSURE ? ef_settings_pressure_unit () : field_units[i], FALSE, place_of (demand, i), NULL);
      if (!ok)
        return FALSE;
    }
  /* rad/s of the unit table to turns a second. */
  demand->speed /= 2 * G_PI;
  if (*ef_field_text (self->note) != '\0')
    demand->note = g_strdup (ef_field_text (self->note));
  return TRUE;
}

static gboolean
is_empty (const EfDemand *demand)
{
  return isnan (demand->cooler_flow) && isnan (demand->cooler_drop) && isnan (demand->extra_flow) && isnan (demand->extra_pressure)
         && isnan (demand->hotter) && isnan (demand->speed) && demand->note == NULL;
}

static void
keep_cb (EfRightPumpView *self)
{
  EfItem *before = ef_inspection_find (inspection_of (self), EF_ITEM_DEMAND, "demand");
  g_autoptr (EfItem) item = (EfItem *) ef_demand_new ();
  g_autoptr (EfItem) kept = NULL;
  g_autoptr (EfChange) change = NULL;
  g_autoptr (GError) error = NULL;
  EfDemand *demand = (EfDemand *) item;

  if (ef_session_read_only (self->session) || !read_demand (self, demand))
    return;
  if (isnan (demand->cooler_flow) != isnan (demand->cooler_drop))
    {
      ef_field_set_message (self->fields[isnan (demand->cooler_flow) ? COOLER_FLOW : COOLER_DROP], _ ("Needed with the other one"));
      return;
    }
  if (isnan (demand->extra_flow) != isnan (demand->extra_pressure))
    {
      ef_field_set_message (self->fields[isnan (demand->extra_flow) ? EXTRA_FLOW : EXTRA_PRESSURE], _ ("Needed with the other one"));
      return;
    }
  if (!ef_inspection_check_item (inspection_of (self), item, &error))
    {
      ef_field_set_message (self->note, error->message);
      return;
    }
  kept = is_empty (demand) ? NULL : ef_item_on_grid (item);
  if (before == NULL ? kept == NULL : kept != NULL && ef_item_equal (before, kept))
    return;
  change = ef_change_new (_ ("Change the demand"));
  ef_change_add (change, before, kept);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
committed_cb (EfRightPumpView *self,
              EfField *field)
{
  keep_cb (self);
  for (int i = 0; i + 1 < N_FIELDS; i++)
    if (self->fields[i] == field && ef_field_message (field) == NULL)
      {
        gtk_widget_grab_focus (GTK_WIDGET (self->fields[i + 1]));
        return;
      }
}

static void
fill_fields (EfRightPumpView *self)
{
  EfDemand *demand = ef_inspection_find (inspection_of (self), EF_ITEM_DEMAND, "demand");

  for (int i = 0; i < N_FIELDS; i++)
    {
      double value = demand != NULL ? *place_of (demand, i) : NAN;
      g_autofree char *text = NULL;

      if (gtk_widget_get_focus_child (GTK_WIDGET (self->fields[i])) != NULL || ef_field_message (self->fields[i]) != NULL)
        continue;
      if (!isnan (value))
        text = i == HOTTER ? g_strdup_printf ("%g", value) : ef_settings_exact (i == SPEED ? 2 * G_PI * value : value, ef_settings_shown_unit (field_units[i]));
      ef_field_set_text (self->fields[i], text);
    }
  if (gtk_widget_get_focus_child (GTK_WIDGET (self->note)) == NULL)
    ef_field_set_text (self->note, demand != NULL ? demand->note : NULL);
}

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer data)
{
  EfRightPumpView *self = data;
  EfDrawStyle style;

  if (self->result == NULL)
    return;
  ef_look_style (&style);
  ef_draw_right_pump (cr, &style, self->result, GTK_WIDGET (area) == self->plots[0], width, height);
}

static void
ef_right_pump_view_dispose (GObject *object)
{
  EfRightPumpView *self = EF_RIGHT_PUMP_VIEW (object);
  GtkWidget *child;

  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_object (&self->cancellable);
  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  g_clear_pointer (&self->result, ef_right_pump_free);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_right_pump_view_parent_class)->dispose (object);
}

static void
ef_right_pump_view_class_init (EfRightPumpViewClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_right_pump_view_dispose;
}

static void
ef_right_pump_view_init (EfRightPumpView *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
}

GtkWidget *
ef_right_pump_view_new (EfSession *session)
{
  EfRightPumpView *self = g_object_new (EF_TYPE_RIGHT_PUMP_VIEW, NULL);
  const char *const labels[N_FIELDS] = {
    _ ("Extra cooler and lines: flow"), _ ("Pressure lost at that flow"), _ ("Added consumers: flow"),
    _ ("Pressure at which they take it"), _ ("Oil hotter by, K"), _ ("Pump speed at idle"),
  };
  const char *const hints[N_FIELDS] = { "8 L/min", "0.4 bar", "2 L/min", "1 bar", "5", "550 rpm" };
  GtkWidget *column = ef_plain_view_new (GTK_BOX (self), 1100);
  GtkWidget *card, *flow, *plots;

  self->session = g_object_ref (session);
  self->sentence = ef_plain_text (_ ("Not worked out yet"), "title-4");
  gtk_box_append (GTK_BOX (column), self->sentence);
  card = ef_plain_card (column, _ ("What the engine will ask for, beyond the pump sheet's hot idle"));
  gtk_box_append (GTK_BOX (card), ef_plain_text (_ ("Flows and pressures with the oil as at hot idle. Leave empty what doesn't apply."), "dim-label"));
  flow = ef_plain_flow (card);
  for (int i = 0; i < N_FIELDS; i++)
    {
      self->fields[i] = EF_FIELD (ef_field_new (labels[i]));
      g_object_set (self->fields[i], "placeholder", hints[i], NULL);
      gtk_widget_set_sensitive (GTK_WIDGET (self->fields[i]), !ef_session_read_only (session));
      ef_plain_flow_add (flow, GTK_WIDGET (self->fields[i]));
      g_signal_connect_object (self->fields[i], "committed", G_CALLBACK (committed_cb), self, G_CONNECT_SWAPPED);
      g_signal_connect_object (self->fields[i], "left", G_CALLBACK (keep_cb), self, G_CONNECT_SWAPPED);
    }
  self->note = EF_FIELD (ef_field_new (_ ("Note")));
  gtk_widget_set_sensitive (GTK_WIDGET (self->note), !ef_session_read_only (session));
  g_signal_connect_object (self->note, "committed", G_CALLBACK (keep_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->note, "left", G_CALLBACK (keep_cb), self, G_CONNECT_SWAPPED);
  gtk_box_append (GTK_BOX (card), GTK_WIDGET (self->note));
  self->answer = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  gtk_box_append (GTK_BOX (column), self->answer);
  plots = g_object_new (GTK_TYPE_BOX, "spacing", 18, "homogeneous", TRUE, NULL);
  for (guint i = 0; i < G_N_ELEMENTS (self->plots); i++)
    {
      self->plots[i] = g_object_new (GTK_TYPE_DRAWING_AREA, "content-width", 320, "content-height", 320, "hexpand", TRUE, NULL);
      gtk_accessible_update_property (GTK_ACCESSIBLE (self->plots[i]), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                      i == 0 ? _ ("Hot-idle pressure over speed") : _ ("Hot-idle pressure over demand"), -1);
      gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->plots[i]), draw_cb, self, NULL);
      ef_look_follow (self->plots[i]);
      gtk_box_append (GTK_BOX (plots), self->plots[i]);
    }
  gtk_box_append (GTK_BOX (column), plots);
  self->notes = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
  gtk_box_append (GTK_BOX (column), self->notes);
  g_signal_connect_object (session, "assessed", G_CALLBACK (compare), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "changed", G_CALLBACK (fill_fields), self, G_CONNECT_SWAPPED);
  g_signal_connect (self, "map", G_CALLBACK (compare), NULL);
  fill_fields (self);
  return GTK_WIDGET (self);
}
