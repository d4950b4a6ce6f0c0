/* Forms, groups and fields from a pump sheet, and what is still missing.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-bench-plan.h"
#include "../metrology/ef-flat-form.h"

#include <glib/gi18n.h>
#include <math.h>

#define DIAMETER_DIRECTIONS 4
#define SAME_ANGLE 1e-6
#define SAME_PLACE 1e-6

static const char *const gear_places[2] = { "drive", "driven" };

EfSlot *
ef_slot_new (EfQuantity quantity,
             const char *target,
             const char *place,
             double angle,
             const char *label)
{
  EfSlot *slot = g_new0 (EfSlot, 1);

  slot->quantity = quantity;
  slot->target = g_strdup (target);
  slot->place = g_strdup (place);
  slot->angle = angle;
  slot->u = slot->v = NAN;
  slot->label = g_strdup (label);
  return slot;
}

void
ef_slot_free (EfSlot *slot)
{
  g_free (slot->target);
  g_free (slot->place);
  g_free (slot->label);
  g_free (slot);
}

static void
group_free (gpointer data)
{
  EfSlotGroup *group = data;

  g_free (group->title);
  g_free (group->target);
  g_ptr_array_unref (group->slots);
  g_free (group);
}

static void
form_free (gpointer data)
{
  EfBenchForm *form = data;

  g_free (form->id);
  g_free (form->title);
  g_free (form->note);
  g_ptr_array_unref (form->groups);
  g_free (form);
}

static EfBenchForm *
form_new (const char *id,
          const char *title,
          const char *note)
{
  EfBenchForm *form = g_new0 (EfBenchForm, 1);

  form->id = g_strdup (id);
  form->title = g_strdup (title);
  form->note = g_strdup (note);
  form->groups = g_ptr_array_new_with_free_func (group_free);
  return form;
}

static EfSlotGroup *
add_group (EfBenchForm *form,
           EfQuantity quantity,
           const char *target,
           const char *title)
{
  EfSlotGroup *group = g_new0 (EfSlotGroup, 1);

  group->quantity = quantity;
  group->target = g_strdup (target);
  group->title = g_strdup (title);
  group->slots = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_slot_free);
  g_ptr_array_add (form->groups, group);
  return group;
}

static void
add_slot (EfSlotGroup *group,
          const char *target,
          const char *place,
          double angle,
          const char *label)
{
  g_ptr_array_add (group->slots, ef_slot_new (group->quantity, target, place, angle, label));
}

static const char *
gear_label (int gear)
{
  return gear == 0 ? _ ("At the drive gear") : _ ("At the driven gear");
}

static void
add_at_both_gears (EfBenchForm *form,
                   EfQuantity quantity,
                   const EfSection *section,
                   const char *title)
{
  EfSlotGroup *group = add_group (form, quantity, section->id, title);
  int gear;

  for (gear = 0; gear < 2; gear++)
    add_slot (group, section->id, gear_places[gear], NAN, gear_label (gear));
}

static void
add_face_widths (EfBenchForm *form,
                 const EfPumpSheet *sheet,
                 const EfSection *section)
{
  EfSlotGroup *group = add_group (form, EF_READ_FACE_WIDTH, section->id, _ ("Face width"));
  int gear;

  for (gear = 0; gear < 2; gear++)
    {
      const EfPart *part = ef_pump_sheet_part (sheet, section->gear_part[gear]);

      if (part != NULL)
        add_slot (group, part->id, NULL, NAN, part->name);
    }
}

static void
add_tip_clearance (EfBenchForm *form,
                   const EfSection *section)
{
  static const int degrees[] = { -60, 0, 60 };
  EfSlotGroup *group = add_group (form, EF_READ_TIP_CLEARANCE, section->id, _ ("Tip clearance"));
  int gear;
  guint i;

  group->directions = TRUE;
  for (gear = 0; gear < 2; gear++)
    for (i = 0; i < G_N_ELEMENTS (degrees); i++)
      {
        g_autofree char *label = g_strdup_printf (gear == 0 ? _ ("Drive gear, %d°") : _ ("Driven gear, %d°"), degrees[i]);

        add_slot (group, section->id, gear_places[gear], ef_angle_from_deg (degrees[i]), label);
      }
}

static EfBenchForm *
section_form (const EfPumpSheet *sheet,
              const EfSection *section)
{
  EfBenchForm *form = form_new (section->id, section->name,
                                _ ("Pocket depth less face width is the end clearance. Measured directly with straightedge and feeler, it stands beside it."));
  EfSlotGroup *group;

  add_at_both_gears (form, EF_READ_POCKET_DEPTH, section, _ ("Pocket depth"));
  add_face_widths (form, sheet, section);
  add_at_both_gears (form, EF_READ_END_CLEARANCE, section, _ ("End clearance, measured directly"));
  add_tip_clearance (form, section);
  group = add_group (form, EF_READ_BACKLASH, section->id, _ ("Backlash"));
  add_slot (group, section->id, NULL, NAN, _ ("Between the gears"));
  add_at_both_gears (form, EF_READ_SIDE_PLAY, section, _ ("Side play"));
  return form;
}

static void
add_diameters (EfBenchForm *form,
               EfQuantity quantity,
               const EfPart *part,
               const EfCylinder *cylinder)
{
  g_autofree char *title = NULL;
  EfSlotGroup *group;
  int i;

  title = g_strdup_printf (quantity == EF_READ_BORE_DIAMETER ? _ ("Shaft bore “%s”") : _ ("Journal “%s”"), cylinder->id);
  group = add_group (form, quantity, part->id, title);
  group->directions = TRUE;
  for (i = 0; i < DIAMETER_DIRECTIONS; i++)
    {
      int degrees = 180 * i / DIAMETER_DIRECTIONS;
      g_autofree char *label = g_strdup_printf (_ ("Across %d°"), degrees);

      add_slot (group, part->id, cylinder->id, ef_angle_from_deg (degrees), label);
    }
}

static void
fill_flatness (EfSlotGroup *group,
               const EfFaceChart *chart,
               EfReading *const *readings,
               guint n_readings)
{
  g_autoptr (GArray) places = ef_flat_places (chart, readings, n_readings);
  guint i;

  g_ptr_array_set_size (group->slots, 0);
  for (i = 0; i < places->len; i++)
    {
      const EfFlatPlace *place = &g_array_index (places, EfFlatPlace, i);
      g_autofree char *label = g_strdup_printf (_ ("Place %u"), i + 1);
      EfSlot *slot = ef_slot_new (EF_READ_FLATNESS, chart->id, NULL, NAN, label);

      slot->u = place->u;
      slot->v = place->v;
      g_ptr_array_add (group->slots, slot);
    }
}

static void
add_flatness (EfBenchForm *form,
              const EfFaceChart *chart)
{
  g_autofree char *title = g_strdup_printf (_ ("Flatness, %s: height at each place"), chart->name);
  EfSlotGroup *group = add_group (form, EF_READ_FLATNESS, chart->id, title);

  fill_flatness (group, chart, NULL, 0);
}

static void
add_part_flatness (EfBenchForm *form,
                   EfPumpSheet *sheet,
                   const EfPart *part)
{
  g_auto (GStrv) faces = ef_part_face_ids (sheet, part->id);
  guint i;

  for (i = 0; faces != NULL && faces[i] != NULL; i++)
    {
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, faces[i], NULL);

      if (chart != NULL && (chart->kind == EF_FACE_MATING || chart->kind == EF_FACE_SIDE))
        add_flatness (form, chart);
    }
}

static EfBenchForm *
part_form (EfPumpSheet *sheet,
           const EfPart *part)
{
  EfBenchForm *form = form_new (part->id, part->name, NULL);
  guint i;

  for (i = 0; part->bores != NULL && i < part->bores->len; i++)
    add_diameters (form, EF_READ_BORE_DIAMETER, part, &g_array_index (part->bores, EfCylinder, i));
  for (i = 0; part->journals != NULL && i < part->journals->len; i++)
    add_diameters (form, EF_READ_JOURNAL_DIAMETER, part, &g_array_index (part->journals, EfCylinder, i));
  if (part->kind == EF_PART_HOUSING || part->kind == EF_PART_PLATE || part->kind == EF_PART_COVER)
    add_part_flatness (form, sheet, part);
  return form;
}

GPtrArray *
ef_bench_plan (EfPumpSheet *sheet)
{
  GPtrArray *forms = g_ptr_array_new_with_free_func (form_free);
  guint i;

  for (i = 0; i < sheet->sections->len; i++)
    g_ptr_array_add (forms, section_form (sheet, g_ptr_array_index (sheet->sections, i)));
  for (i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (sheet->parts, i);
      EfBenchForm *form = part_form (sheet, part);

      if (form->groups->len > 0)
        g_ptr_array_add (forms, form);
      else
        form_free (form);
    }
  return forms;
}

void
ef_bench_plan_take_places (GPtrArray *plan,
                           const EfInspection *inspection)
{
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  guint i, j;

  for (i = 0; i < plan->len; i++)
    {
      const EfBenchForm *form = g_ptr_array_index (plan, i);

      for (j = 0; j < form->groups->len; j++)
        {
          EfSlotGroup *group = g_ptr_array_index (form->groups, j);
          g_autoptr (EfFaceChart) chart = group->quantity == EF_READ_FLATNESS ? ef_face_chart_new (inspection->sheet, group->target, NULL) : NULL;

          if (chart != NULL)
            fill_flatness (group, chart, (EfReading *const *) readings->pdata, readings->len);
        }
    }
}

static gboolean
same_angle (EfQuantity quantity,
            double a,
            double b)
{
  double turn = quantity == EF_READ_BORE_DIAMETER || quantity == EF_READ_JOURNAL_DIAMETER ? G_PI : 2 * G_PI;

  if (isnan (a) || isnan (b))
    return isnan (a) && isnan (b);
  return fabs (remainder (a - b, turn)) < SAME_ANGLE;
}

static gboolean
same_place (double a,
            double b)
{
  if (isnan (a) || isnan (b))
    return isnan (a) && isnan (b);
  return fabs (a - b) < SAME_PLACE;
}

gboolean
ef_slot_holds (const EfSlot *slot,
               const EfReading *reading)
{
  return !reading->after && reading->quantity == slot->quantity
         && g_strcmp0 (reading->target, slot->target) == 0
         && g_strcmp0 (reading->place, slot->place) == 0
         && same_angle (slot->quantity, reading->angle, slot->angle)
         && same_place (reading->u, slot->u)
         && same_place (reading->v, slot->v);
}

EfSlot *
ef_slot_at_direction (const EfSlot *like,
                      double angle)
{
  g_autofree char *label = NULL;
  double degrees = ef_angle_to_deg (angle);

  if (like->quantity != EF_READ_TIP_CLEARANCE && like->quantity != EF_READ_SIDE_PLAY)
    label = g_strdup_printf (_ ("Across %g°"), degrees);
  else if (g_strcmp0 (like->place, "driven") == 0)
    label = g_strdup_printf (_ ("Driven gear, %g°"), degrees);
  else
    label = g_strdup_printf (_ ("Drive gear, %g°"), degrees);
  return ef_slot_new (like->quantity, like->target, like->place, angle, label);
}

GPtrArray *
ef_slot_readings (const EfSlot *slot,
                  const EfInspection *inspection)
{
  GPtrArray *found = g_ptr_array_new ();
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  guint i;

  for (i = 0; i < readings->len; i++)
    if (ef_slot_holds (slot, g_ptr_array_index (readings, i)))
      g_ptr_array_add (found, g_ptr_array_index (readings, i));
  return found;
}

static gboolean
slot_filled (const EfSlot *slot,
             const EfInspection *inspection)
{
  g_autoptr (GPtrArray) readings = ef_slot_readings (slot, inspection);

  return readings->len > 0;
}

void
ef_bench_form_progress (const EfBenchForm *form,
                        const EfInspection *inspection,
                        guint *done_out,
                        guint *all_out)
{
  guint i, j;

  *done_out = *all_out = 0;
  for (i = 0; i < form->groups->len; i++)
    {
      const EfSlotGroup *group = g_ptr_array_index (form->groups, i);

      for (j = 0; j < group->slots->len; j++)
        {
          *all_out += 1;
          if (slot_filled (g_ptr_array_index (group->slots, j), inspection))
            *done_out += 1;
        }
    }
}

static gboolean
has_reading (const EfInspection *inspection,
             EfQuantity quantity,
             const char *target,
             const char *place)
{
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  guint i;

  for (i = 0; i < readings->len; i++)
    {
      const EfReading *reading = g_ptr_array_index (readings, i);

      if (reading->quantity == quantity && g_strcmp0 (reading->target, target) == 0
          && (place == NULL || g_strcmp0 (reading->place, place) == 0))
        return TRUE;
    }
  return FALSE;
}

static gboolean
end_clearance_known (const EfInspection *inspection,
                     const EfSection *section,
                     int gear)
{
  if (has_reading (inspection, EF_READ_END_CLEARANCE, section->id, gear_places[gear]))
    return TRUE;
  return has_reading (inspection, EF_READ_POCKET_DEPTH, section->id, gear_places[gear])
         && has_reading (inspection, EF_READ_FACE_WIDTH, section->gear_part[gear], NULL);
}

static void
add_missing_sections (const EfInspection *inspection,
                      GPtrArray *phrases)
{
  guint i;

  for (i = 0; i < inspection->sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (inspection->sheet->sections, i);

      if (!end_clearance_known (inspection, section, 0) || !end_clearance_known (inspection, section, 1))
        g_ptr_array_add (phrases, g_strdup_printf (_ ("end clearance (%s)"), section->name));
      if (!has_reading (inspection, EF_READ_TIP_CLEARANCE, section->id, NULL))
        g_ptr_array_add (phrases, g_strdup_printf (_ ("tip clearance (%s)"), section->name));
      if (!has_reading (inspection, EF_READ_BACKLASH, section->id, NULL))
        g_ptr_array_add (phrases, g_strdup_printf (_ ("backlash (%s)"), section->name));
    }
}

static gboolean
cylinders_read (const EfInspection *inspection,
                const EfPart *part,
                const GArray *cylinders,
                EfQuantity quantity)
{
  guint i;

  for (i = 0; cylinders != NULL && i < cylinders->len; i++)
    if (!has_reading (inspection, quantity, part->id, g_array_index (cylinders, EfCylinder, i).id))
      return FALSE;
  return TRUE;
}

static void
add_missing_parts (const EfInspection *inspection,
                   GPtrArray *phrases)
{
  guint unseen = 0;
  guint i;

  for (i = 0; i < inspection->sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (inspection->sheet->parts, i);
      const EfCheck *check = ef_inspection_find (inspection, EF_ITEM_CHECK, part->id);

      if ((part->kind == EF_PART_HOUSING || part->kind == EF_PART_COVER)
          && !cylinders_read (inspection, part, part->bores, EF_READ_BORE_DIAMETER))
        g_ptr_array_add (phrases, g_strdup_printf (_ ("bore diameters (%s)"), part->name));
      if (!cylinders_read (inspection, part, part->journals, EF_READ_JOURNAL_DIAMETER))
        g_ptr_array_add (phrases, g_strdup_printf (_ ("journal diameters (%s)"), part->name));
      if (part->kind >= EF_PART_PICKUP && (check == NULL || check->state == EF_CHECK_UNSEEN))
        unseen++;
    }
  if (unseen > 0)
    g_ptr_array_add (phrases, g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u part of the check list", "%u parts of the check list", unseen), unseen));
}

GPtrArray *
ef_missing_readings (const EfInspection *inspection)
{
  GPtrArray *phrases = g_ptr_array_new_with_free_func (g_free);

  add_missing_sections (inspection, phrases);
  add_missing_parts (inspection, phrases);
  return phrases;
}

static void
add_if_empty (GPtrArray *phrases,
              const char *text,
              const char *phrase)
{
  if (text == NULL || text[0] == '\0')
    g_ptr_array_add (phrases, g_strdup (phrase));
}

GPtrArray *
ef_missing_details (const EfInspection *inspection)
{
  const EfJobHeader *header = ef_inspection_header (inspection);
  GPtrArray *phrases = g_ptr_array_new_with_free_func (g_free);

  add_if_empty (phrases, header->serial, _ ("serial number"));
  add_if_empty (phrases, header->customer, _ ("vessel or machine"));
  add_if_empty (phrases, header->received, _ ("date received"));
  add_if_empty (phrases, header->complaint, _ ("complaint"));
  if (isnan (header->found_pressure))
    g_ptr_array_add (phrases, g_strdup (_ ("oil pressure found")));
  if (ef_inspection_find (inspection, EF_ITEM_TICK, EF_SIGN_OFF_ID) == NULL)
    g_ptr_array_add (phrases, g_strdup (_ ("sign-off")));
  return phrases;
}

#define SHOWN_PHRASES 4

char *
ef_missing_sentence (GPtrArray *phrases)
{
  GString *text;
  guint i;

  if (phrases->len == 0)
    return NULL;
  text = g_string_new (NULL);
  for (i = 0; i < MIN (phrases->len, SHOWN_PHRASES); i++)
    g_string_append_printf (text, "%s%s", i > 0 ? "; " : "", (const char *) g_ptr_array_index (phrases, i));
  if (phrases->len > SHOWN_PHRASES)
    {
      g_string_append_c (text, ' ');
      g_string_append_printf (text, _ ("and %u more"), phrases->len - SHOWN_PHRASES);
    }
  {
    g_autofree char *list = g_string_free (text, FALSE);

    return g_strdup_printf (_ ("Still missing: %s."), list);
  }
}
