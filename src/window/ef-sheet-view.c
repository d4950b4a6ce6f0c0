/* A pump sheet laid out for reading.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-sheet-view.h"
#include "ef-look.h"
#include "ef-settings.h"
#include "ef-table.h"

#include <glib/gi18n.h>
#include <math.h>

#define PICTURE_HEIGHT 280

struct _EfSheetView
{
  GtkBox parent_instance;

  EfPumpSheet *sheet;
  gboolean own;
};

static guint edit_signal;

G_DEFINE_FINAL_TYPE (EfSheetView, ef_sheet_view, GTK_TYPE_BOX)

static void
draw_exploded (GtkDrawingArea *area,
               cairo_t *cr,
               int width,
               int height,
               gpointer user_data)
{
  EfSheetView *self = user_data;
  g_autoptr (EfExploded) exploded = NULL;
  EfDrawStyle style;

  if (self->sheet == NULL || width < 10 || height < 10)
    return;
  ef_look_style (&style);
  exploded = ef_exploded_new (self->sheet, width, height);
  ef_exploded_draw (exploded, cr, &style, NULL, NULL, NULL);
}

static void
edit_cb (EfSheetView *self)
{
  g_signal_emit (self, edit_signal, 0);
}

static void
append (EfSheetView *self,
        GtkWidget *child)
{
  gtk_box_append (GTK_BOX (self), child);
}

static void
append_heading (EfSheetView *self,
                const char *text)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "margin-top", 12, NULL);

  gtk_widget_add_css_class (label, "title-4");
  append (self, label);
}

static void
append_text (EfSheetView *self,
             const char *text)
{
  GtkWidget *label;

  if (text == NULL || text[0] == '\0')
    return;
  label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "selectable", TRUE, NULL);
  append (self, label);
}

static void
append_title (EfSheetView *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *title = g_object_new (GTK_TYPE_LABEL, "label", self->sheet->name, "xalign", 0.0f, "wrap", TRUE, "hexpand", TRUE, NULL);
  GtkWidget *button = gtk_button_new_with_label (self->own ? _ ("Edit…") : _ ("Edit a Copy…"));

  gtk_widget_add_css_class (title, "title-2");
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_valign (button, GTK_ALIGN_START);
  g_signal_connect_swapped (button, "clicked", G_CALLBACK (edit_cb), self);
  gtk_box_append (GTK_BOX (box), title);
  gtk_box_append (GTK_BOX (box), button);
  append (self, box);
}

static void
append_picture (EfSheetView *self)
{
  GtkWidget *area = g_object_new (GTK_TYPE_DRAWING_AREA, "accessible-role", GTK_ACCESSIBLE_ROLE_IMG, NULL);

  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (area), PICTURE_HEIGHT);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (area), draw_exploded, self, NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (area), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("The pump taken apart along its axis"), -1);
  ef_look_follow (area);
  append (self, area);
}

static void
row_length (GtkWidget *table,
            const char *name,
            double metres)
{
  g_autofree char *text = ef_settings_format_length (metres);

  ef_table_row (table, name, text, NULL);
}

static void
row_pair (GtkWidget *table,
          const char *name,
          const double metres[2])
{
  g_autofree char *drive = ef_settings_format_length (metres[0]);
  g_autofree char *driven = ef_settings_format_length (metres[1]);

  ef_table_row (table, name, drive, driven, NULL);
}

static void
append_section (EfSheetView *self,
                const EfSection *section)
{
  const EfGearPair *pair = &section->pair;
  double tip_diameter[2] = { 2 * pair->in.tip_radius[0], 2 * pair->in.tip_radius[1] };
  GtkWidget *table = ef_table_new (_ ("Quantity"), _ ("Drive gear"), _ ("Driven gear"), NULL);
  g_autofree char *teeth_drive = g_strdup_printf ("%d", pair->in.teeth[0]);
  g_autofree char *teeth_driven = g_strdup_printf ("%d", pair->in.teeth[1]);
  g_autofree char *shift_drive = g_strdup_printf ("%.3f", pair->in.shift[0]);
  g_autofree char *shift_driven = g_strdup_printf ("%.3f", pair->in.shift[1]);
  g_autofree char *contact = g_strdup_printf ("%.3f", pair->contact_ratio);
  g_autofree char *pressure_angle = ef_format_quantity (pair->in.pressure_angle, EF_UNIT_DEG, 1);
  g_autofree char *working_angle = ef_format_quantity (pair->working_angle, EF_UNIT_DEG, 2);

  append_heading (self, section->name);
  ef_table_row (table, _ ("Number of teeth"), teeth_drive, teeth_driven, NULL);
  row_pair (table, _ ("Tip diameter"), tip_diameter);
  ef_table_row (table, _ ("Profile shift"), shift_drive, shift_driven, NULL);
  row_pair (table, _ ("Pocket radius"), section->pocket_radius);
  row_length (table, _ ("Module"), pair->in.module);
  ef_table_row (table, _ ("Pressure angle"), pressure_angle, NULL);
  ef_table_row (table, _ ("Working pressure angle"), working_angle, NULL);
  row_length (table, _ ("Centre distance"), pair->in.centre_distance);
  row_length (table, _ ("Face width"), pair->in.face_width);
  row_length (table, _ ("Pocket depth"), section->pocket_depth);
  row_length (table, _ ("End clearance as drawn"), section->pocket_depth - pair->in.face_width);
  row_length (table, _ ("Backlash"), pair->backlash);
  ef_table_row (table, _ ("Contact ratio"), contact, NULL);
  ef_table_row (table, _ ("Rotation of the drive gear, seen from the drive end"),
                section->rotation > 0 ? _ ("anticlockwise") : _ ("clockwise"), NULL);
  append (self, table);
}

static void
append_parts (EfSheetView *self)
{
  GtkWidget *table = ef_table_new (_ ("Part"), _ ("Material"), _ ("Section"), _ ("May be reworked"), NULL);
  guint i;

  append_heading (self, _ ("Parts in bench order"));
  for (i = 0; i < self->sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (self->sheet->parts, i);
      const EfSection *section = part->section != NULL ? ef_pump_sheet_section (self->sheet, part->section) : NULL;
      g_autofree char *stock = ef_settings_format_length (part->lap_stock);
      g_autofree char *rework = NULL;
      g_autofree char *material = g_strdelimit (g_strdup (part->material != NULL ? part->material : "–"), "-", ' ');

      if (part->lappable)
        rework = g_strdup_printf (part->bushable ? _ ("lapping, up to %s; bushing") : _ ("lapping, up to %s"), stock);
      else
        rework = g_strdup (part->bushable ? _ ("bushing") : "–");
      ef_table_row (table, part->name, material, section != NULL ? section->name : "–", rework, NULL);
    }
  append (self, table);
}

static char *
limit_range (double min,
             double max)
{
  g_autofree char *low = ef_settings_format_length (min);
  g_autofree char *high = ef_settings_format_length (max);

  if (isnan (min) && isnan (max))
    return g_strdup ("–");
  if (isnan (min))
    return g_strdup_printf (_ ("up to %s"), high);
  if (isnan (max))
    return g_strdup_printf (_ ("from %s"), low);
  return g_strdup_printf ("%s – %s", low, high);
}

static const char *
target_name (const EfPumpSheet *sheet,
             const char *target)
{
  const EfPart *part;
  const EfSection *section;

  if (target == NULL)
    return _ ("all");
  section = ef_pump_sheet_section (sheet, target);
  if (section != NULL)
    return section->name;
  part = ef_pump_sheet_part (sheet, target);
  return part != NULL ? part->name : target;
}

static void
append_limits (EfSheetView *self)
{
  GtkWidget *table = ef_table_new (_ ("Limit"), _ ("Where"), _ ("As new"), _ ("Worn, at most"), _ ("Source"), NULL);
  guint i;

  append_heading (self, _ ("Limits"));
  for (i = 0; i < self->sheet->limits->len; i++)
    {
      const EfLimit *limit = &g_array_index (self->sheet->limits, EfLimit, i);
      g_autofree char *as_new = limit_range (limit->as_new_min, limit->as_new_max);
      g_autofree char *worn = limit_range (limit->wear_min, limit->wear_max);
      g_autofree char *name = g_strdelimit (g_strdup (limit->quantity), "-", ' ');

      name[0] = g_ascii_toupper (name[0]);
      ef_table_row (table, name, target_name (self->sheet, limit->target), as_new, worn, limit->source != NULL ? limit->source : "–", NULL);
    }
  append (self, table);
}

static void
append_running (EfSheetView *self)
{
  GtkWidget *table = ef_table_new (_ ("Point"), _ ("Speed"), _ ("Pressure"), _ ("Oil"), _ ("Demand"), NULL);
  guint i;

  append_heading (self, _ ("Oil and rated points"));
  for (i = 0; i < self->sheet->rated->len; i++)
    {
      const EfRatedPoint *point = &g_array_index (self->sheet->rated, EfRatedPoint, i);
      g_autofree char *speed = ef_format_quantity (point->speed * 2 * G_PI, EF_UNIT_RPM, 0);
      g_autofree char *pressure = ef_settings_format_pressure (point->pressure);
      g_autofree char *temperature = ef_format_quantity (point->temperature, EF_UNIT_CELSIUS, 0);
      g_autofree char *demand = isnan (point->demand) ? g_strdup ("–") : ef_format_quantity (point->demand, EF_UNIT_LPM, 1);
      g_autofree char *oil = g_strdup_printf ("%s, %s", self->sheet->oil != NULL ? self->sheet->oil : "–", temperature);

      ef_table_row (table, point->name, speed, pressure, oil, demand, NULL);
    }
  append (self, table);
}

static void
append_cautions (EfSheetView *self)
{
  guint i;

  if (self->sheet->cautions == NULL || self->sheet->cautions->len == 0)
    return;
  append_heading (self, _ ("Cautions"));
  for (i = 0; i < self->sheet->cautions->len; i++)
    append_text (self, g_ptr_array_index (self->sheet->cautions, i));
}

static void
rebuild (EfSheetView *self)
{
  GtkWidget *child;
  guint i;

  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  if (self->sheet == NULL)
    return;
  append_title (self);
  append_text (self, self->sheet->notes);
  append_picture (self);
  append_cautions (self);
  for (i = 0; i < self->sheet->sections->len; i++)
    append_section (self, g_ptr_array_index (self->sheet->sections, i));
  append_parts (self);
  append_limits (self);
  append_running (self);
  append_text (self, self->sheet->mounting);
  append_text (self, self->sheet->pickup);
}

static void
ef_sheet_view_dispose (GObject *object)
{
  EfSheetView *self = EF_SHEET_VIEW (object);
  GtkWidget *child;

  g_signal_handlers_disconnect_by_data (ef_settings_get (), self);
  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_box_remove (GTK_BOX (self), child);
  g_clear_pointer (&self->sheet, ef_pump_sheet_unref);
  G_OBJECT_CLASS (ef_sheet_view_parent_class)->dispose (object);
}

static void
ef_sheet_view_class_init (EfSheetViewClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_sheet_view_dispose;
  edit_signal = g_signal_new ("edit", EF_TYPE_SHEET_VIEW, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_sheet_view_init (EfSheetView *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 12);
  g_signal_connect_swapped (ef_settings_get (), "changed::length-unit", G_CALLBACK (rebuild), self);
  g_signal_connect_swapped (ef_settings_get (), "changed::pressure-unit", G_CALLBACK (rebuild), self);
}

void
ef_sheet_view_set (EfSheetView *self,
                   EfPumpSheet *sheet,
                   gboolean own)
{
  EfPumpSheet *old = self->sheet;

  self->sheet = ef_pump_sheet_ref (sheet);
  self->own = own;
  rebuild (self);
  g_clear_pointer (&old, ef_pump_sheet_unref);
}
