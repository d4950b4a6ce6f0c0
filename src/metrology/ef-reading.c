/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-reading.h"

#include <math.h>
#include <string.h>

/* What a reading is of. */
typedef enum { OF_SECTION, OF_GEAR, OF_JOURNAL, OF_BORE, OF_FACE } Subject;

static const struct
{
  const char *name;
  const char *label;
  Subject subject;
  gboolean by_gear;  /* place is "drive" or "driven" */
  double low, high;  /* m; plausible where the sheet has no number */
} quantities[EF_N_READINGS] = {
  [EF_READ_END_CLEARANCE] = { "end-clearance", "End clearance", OF_SECTION, TRUE, 0, 2e-3 },
  [EF_READ_POCKET_DEPTH] = { "pocket-depth", "Pocket depth", OF_SECTION, TRUE, 1e-3, 0.3 },
  [EF_READ_FACE_WIDTH] = { "face-width", "Face width", OF_GEAR, FALSE, 1e-3, 0.3 },
  [EF_READ_TIP_CLEARANCE] = { "tip-clearance", "Tip clearance", OF_SECTION, TRUE, 0, 2e-3 },
  [EF_READ_BACKLASH] = { "backlash", "Backlash", OF_SECTION, FALSE, 0, 5e-3 },
  [EF_READ_SIDE_PLAY] = { "side-play", "Side play", OF_SECTION, TRUE, 0, 5e-3 },
  [EF_READ_JOURNAL_DIAMETER] = { "journal-diameter", "Journal diameter", OF_JOURNAL, FALSE, 1e-3, 0.3 },
  [EF_READ_BORE_DIAMETER] = { "bore-diameter", "Bore diameter", OF_BORE, FALSE, 1e-3, 0.3 },
  [EF_READ_FLATNESS] = { "flatness", "Flatness", OF_FACE, FALSE, -5e-3, 5e-3 },
};

static void
reading_clear (gpointer item)
{
  EfReading *reading = item;

  g_free (reading->target);
  g_free (reading->place);
  g_free (reading->gauge_id);
  g_free (reading->time);
  g_free (reading->note);
}

static void
reading_copy_fields (gpointer dest,
                     gconstpointer src)
{
  EfReading *to = dest;
  const EfReading *from = src;

  to->quantity = from->quantity;
  to->target = g_strdup (from->target);
  to->place = g_strdup (from->place);
  to->angle = from->angle;
  to->u = from->u;
  to->v = from->v;
  to->value = from->value;
  to->unit = from->unit;
  to->gauge_id = g_strdup (from->gauge_id);
  to->temperature = from->temperature;
  to->time = g_strdup (from->time);
  to->note = g_strdup (from->note);
  to->after = from->after;
}

static gboolean
same (double a,
      double b)
{
  return a == b || (isnan (a) && isnan (b));
}

static gboolean
reading_equal (gconstpointer left,
               gconstpointer right)
{
  const EfReading *a = left;
  const EfReading *b = right;

  return a->quantity == b->quantity && g_strcmp0 (a->target, b->target) == 0 && g_strcmp0 (a->place, b->place) == 0
         && same (a->angle, b->angle) && same (a->u, b->u) && same (a->v, b->v) && same (a->value, b->value)
         && a->unit == b->unit && g_strcmp0 (a->gauge_id, b->gauge_id) == 0 && same (a->temperature, b->temperature)
         && g_strcmp0 (a->time, b->time) == 0 && g_strcmp0 (a->note, b->note) == 0 && a->after == b->after;
}

const EfItemClass ef_reading_class = {
  .kind = EF_ITEM_READING,
  .name = "reading",
  .size = sizeof (EfReading),
  .clear = reading_clear,
  .copy_fields = reading_copy_fields,
  .equal = reading_equal,
};

EfReading *
ef_reading_new (EfQuantity quantity,
                const char *target,
                const char *place,
                double value,
                EfUnit unit,
                const char *gauge_id)
{
  EfReading *reading = ef_item_new (&ef_reading_class, NULL);

  reading->quantity = quantity;
  reading->target = g_strdup (target);
  reading->place = g_strdup (place);
  reading->angle = reading->u = reading->v = reading->temperature = NAN;
  reading->value = fabs (value) < 1e3 ? ef_length_on_grid (value) : value;
  reading->unit = unit;
  reading->gauge_id = g_strdup (gauge_id);

  return reading;
}

G_GNUC_PRINTF (5, 6)
static gboolean
refuse (const EfReading *reading,
        EfError code,
        const char *field,
        GError **error,
        const char *format,
        ...)
{
  g_autofree char *expected = NULL;
  va_list arguments;

  va_start (arguments, format);
  expected = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  g_set_error (error, EF_ERROR, code, "reading %s (%s): %s: expected %s", reading->item.id,
               ef_quantity_name (reading->quantity), field, expected);
  return FALSE;
}

static gboolean
check_section (const EfReading *reading,
               const EfPumpSheet *sheet,
               double *nominal,
               GError **error)
{
  const EfSection *section = ef_pump_sheet_section (sheet, reading->target);

  if (section == NULL)
    return refuse (reading, EF_ERROR_NOT_FOUND, "target", error, "a section of the pump sheet, found “%s”", reading->target);
  if (quantities[reading->quantity].by_gear && g_strcmp0 (reading->place, "drive") != 0 && g_strcmp0 (reading->place, "driven") != 0)
    return refuse (reading, EF_ERROR_NOT_FOUND, "place", error, "drive or driven, found “%s”", reading->place != NULL ? reading->place : "");
  if (reading->quantity == EF_READ_POCKET_DEPTH)
    *nominal = section->pocket_depth;

  return TRUE;
}

static gboolean
check_part (const EfReading *reading,
            const EfPumpSheet *sheet,
            double *nominal,
            GError **error)
{
  const EfPart *part = ef_pump_sheet_part (sheet, reading->target);
  Subject subject = quantities[reading->quantity].subject;
  const EfCylinder *cylinder;

  if (part == NULL)
    return refuse (reading, EF_ERROR_NOT_FOUND, "target", error, "a part of the pump sheet, found “%s”", reading->target);
  if (subject == OF_GEAR)
    {
      if (part->kind != EF_PART_GEAR)
        return refuse (reading, EF_ERROR_NOT_FOUND, "target", error, "a gear, found “%s”", reading->target);
      *nominal = part->thickness;
      return TRUE;
    }

  cylinder = ef_part_cylinder (subject == OF_JOURNAL ? part->journals : part->bores, reading->place);
  if (cylinder == NULL)
    return refuse (reading, EF_ERROR_NOT_FOUND, "place", error, "a %s of %s, found “%s”", subject == OF_JOURNAL ? "journal" : "bore",
                   reading->target, reading->place != NULL ? reading->place : "");
  *nominal = cylinder->diameter;
  return TRUE;
}

/* Flatness is of plane faces only. */
static gboolean
check_face (const EfReading *reading,
            const EfPumpSheet *sheet,
            GError **error)
{
  static const struct
  {
    EfPartKind kind;
    const char *face;
  } plane[] = {
    { EF_PART_HOUSING, "floor" }, { EF_PART_HOUSING, "mating" }, { EF_PART_HOUSING, "mating-front" },
    { EF_PART_HOUSING, "mating-rear" }, { EF_PART_PLATE, "side-a" }, { EF_PART_PLATE, "side-b" },
    { EF_PART_COVER, "side-a" }, { EF_PART_COVER, "side-b" }, { EF_PART_GEAR, "end-a" }, { EF_PART_GEAR, "end-b" },
  };
  const char *slash = strchr (reading->target, '/');
  g_autofree char *part_id = slash != NULL ? g_strndup (reading->target, (gsize) (slash - reading->target)) : NULL;
  const EfPart *part = part_id != NULL ? ef_pump_sheet_part (sheet, part_id) : NULL;

  if (part == NULL)
    return refuse (reading, EF_ERROR_NOT_FOUND, "target", error, "a face of a part of the pump sheet (part/face), found “%s”", reading->target);
  for (guint i = 0; i < G_N_ELEMENTS (plane); i++)
    if (plane[i].kind == part->kind && g_str_equal (plane[i].face, slash + 1))
      {
        if (!(fabs (reading->u) <= 2))
          return refuse (reading, EF_ERROR_RANGE, "u", error, "a place within 2 m on the face, found %g m", reading->u);
        if (!(fabs (reading->v) <= 2))
          return refuse (reading, EF_ERROR_RANGE, "v", error, "a place within 2 m on the face, found %g m", reading->v);
        return TRUE;
      }

  return refuse (reading, EF_ERROR_NOT_FOUND, "target", error, "a plane face, found “%s”", reading->target);
}

static gboolean
check_value (const EfReading *reading,
             double nominal,
             GError **error)
{
  double low = quantities[reading->quantity].low;
  double high = quantities[reading->quantity].high;

  if (nominal > 0)
    {
      double slack = MAX (1e-3, 0.2 * nominal);

      low = MAX (0, nominal - slack);
      high = nominal + slack;
    }
  if (!(reading->value >= low && reading->value <= high))
    return refuse (reading, EF_ERROR_RANGE, "value", error, "a length from %.6g to %.6g mm, found %.6g mm", low * 1e3, high * 1e3, reading->value * 1e3);
  if (reading->unit < EF_UNIT_M || reading->unit > EF_UNIT_THOU)
    return refuse (reading, EF_ERROR_INVALID, "unit", error, "a unit of length, found “%s”", ef_unit_name (reading->unit));
  if (!isnan (reading->angle) && !(fabs (reading->angle) <= 4 * G_PI))
    return refuse (reading, EF_ERROR_RANGE, "angle", error, "an angle within two turns, found %g rad", reading->angle);
  if (!isnan (reading->temperature) && !(reading->temperature >= 200 && reading->temperature <= 500))
    return refuse (reading, EF_ERROR_RANGE, "temperature", error, "a temperature from -73 to 227 °C, found %.6g °C", reading->temperature - 273.15);

  return TRUE;
}

gboolean
ef_reading_check (const EfReading *reading,
                  const EfPumpSheet *sheet,
                  GError **error)
{
  double nominal = NAN;
  gboolean found;

  if ((guint) reading->quantity >= EF_N_READINGS)
    return refuse (reading, EF_ERROR_INVALID, "quantity", error, "a quantity, found number %d", (int) reading->quantity);
  if (reading->target == NULL || *reading->target == '\0')
    return refuse (reading, EF_ERROR_NOT_FOUND, "target", error, "what was measured, found nothing");

  switch (quantities[reading->quantity].subject)
    {
    case OF_SECTION:
      found = check_section (reading, sheet, &nominal, error);
      break;
    case OF_FACE:
      found = check_face (reading, sheet, error);
      break;
    case OF_GEAR:
    case OF_JOURNAL:
    case OF_BORE:
    default:
      found = check_part (reading, sheet, &nominal, error);
      break;
    }

  return found && check_value (reading, nominal, error);
}

gboolean
ef_reading_on_metal (const EfReading *reading,
                     const EfFaceChart *chart)
{
  return reading->quantity != EF_READ_FLATNESS || !isfinite (reading->u) || !isfinite (reading->v)
         || ef_region_contains (chart->solid, reading->u, reading->v);
}

gboolean
ef_reading_check_place (const EfReading *reading,
                        const EfPumpSheet *sheet,
                        GError **error)
{
  g_autoptr (EfFaceChart) chart = NULL;

  if (reading->quantity != EF_READ_FLATNESS)
    return TRUE;
  chart = ef_face_chart_new ((EfPumpSheet *) sheet, reading->target, NULL);
  /* A face that can't be drawn has no metal to hold it against. */
  if (chart == NULL || ef_reading_on_metal (reading, chart))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "reading %s: at: expected a place on the metal of the %s, found %.1f, %.1f mm: in a hole, pocket or port, or past the edge",
               reading->item.id, chart->name, reading->u * 1e3, reading->v * 1e3);

  return FALSE;
}

gboolean
ef_reading_check_gauge (const EfReading *reading,
                        const EfGauge *gauge,
                        GError **error)
{
  if (reading->value < gauge->range_min || reading->value > gauge->range_max)
    return refuse (reading, EF_ERROR_RANGE, "value", error, "a length within the range of %s, %.6g to %.6g mm, found %.6g mm", gauge->name,
                   gauge->range_min * 1e3, gauge->range_max * 1e3, reading->value * 1e3);

  return TRUE;
}

const char *
ef_quantity_name (EfQuantity quantity)
{
  return (guint) quantity < EF_N_READINGS ? quantities[quantity].name : "unknown";
}

const char *
ef_quantity_label (EfQuantity quantity)
{
  return (guint) quantity < EF_N_READINGS ? quantities[quantity].label : "Unknown";
}

gboolean
ef_quantity_from_name (const char *name,
                       EfQuantity *quantity_out)
{
  for (guint i = 0; i < EF_N_READINGS; i++)
    if (g_strcmp0 (name, quantities[i].name) == 0)
      {
        *quantity_out = (EfQuantity) i;
        return TRUE;
      }

  return FALSE;
}
