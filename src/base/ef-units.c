/* Units at the edges: one table, a strict reader of numbers, and the nanometre grid.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-units.h"

#include <math.h>
#include <string.h>

#include "ef-error.h"

typedef enum
{
  DIMENSION_NONE,
  DIMENSION_LENGTH,
  DIMENSION_ANGLE,
  DIMENSION_PRESSURE,
  DIMENSION_TEMPERATURE,
  DIMENSION_FLOW,
  DIMENSION_SPEED,
} Dimension;

typedef struct
{
  const char *name;
  const char *symbol;
  Dimension dimension;
  double factor; /* SI = value * factor / divisor + offset */
  double divisor;
  double offset;
  int decimals; /* what suits the unit on screen */
} UnitInfo;

/* Inch: 25.4 mm exactly (international yard and pound agreement, 1959).
 * psi: 0.45359237 kg * 9.80665 m/s2 over one square inch, all three exact by definition. */
static const UnitInfo units[] = {
  [EF_UNIT_NONE] = { "", "", DIMENSION_NONE, 1.0, 1.0, 0.0, 3 },
  [EF_UNIT_M] = { "m", "m", DIMENSION_LENGTH, 1.0, 1.0, 0.0, 6 },
  [EF_UNIT_MM] = { "mm", "mm", DIMENSION_LENGTH, 1.0, 1e3, 0.0, 3 },
  [EF_UNIT_UM] = { "um", "µm", DIMENSION_LENGTH, 1.0, 1e6, 0.0, 1 },
  [EF_UNIT_INCH] = { "in", "in", DIMENSION_LENGTH, 254.0, 1e4, 0.0, 4 },
  [EF_UNIT_THOU] = { "thou", "thou", DIMENSION_LENGTH, 254.0, 1e7, 0.0, 2 },
  [EF_UNIT_RAD] = { "rad", "rad", DIMENSION_ANGLE, 1.0, 1.0, 0.0, 4 },
  [EF_UNIT_DEG] = { "deg", "°", DIMENSION_ANGLE, G_PI, 180.0, 0.0, 1 },
  [EF_UNIT_PA] = { "Pa", "Pa", DIMENSION_PRESSURE, 1.0, 1.0, 0.0, 0 },
  [EF_UNIT_BAR] = { "bar", "bar", DIMENSION_PRESSURE, 1e5, 1.0, 0.0, 2 },
  [EF_UNIT_PSI] = { "psi", "psi", DIMENSION_PRESSURE, 0.45359237 * 9.80665, 0.0254 * 0.0254, 0.0, 1 },
  [EF_UNIT_K] = { "K", "K", DIMENSION_TEMPERATURE, 1.0, 1.0, 0.0, 1 },
  [EF_UNIT_CELSIUS] = { "C", "°C", DIMENSION_TEMPERATURE, 1.0, 1.0, 273.15, 1 },
  [EF_UNIT_M3S] = { "m3/s", "m³/s", DIMENSION_FLOW, 1.0, 1.0, 0.0, 8 },
  [EF_UNIT_LPM] = { "L/min", "L/min", DIMENSION_FLOW, 1.0, 6e4, 0.0, 2 },
  [EF_UNIT_RADS] = { "rad/s", "rad/s", DIMENSION_SPEED, 1.0, 1.0, 0.0, 2 },
  [EF_UNIT_RPM] = { "rpm", "rpm", DIMENSION_SPEED, 2.0 * G_PI, 60.0, 0.0, 0 },
};

static const struct
{
  const char *name; /* lower case */
  EfUnit unit;
} other_names[] = {
  { "µm", EF_UNIT_UM }, /* U+00B5 micro sign */
  { "μm", EF_UNIT_UM }, /* U+03BC Greek mu */
  { "µ", EF_UNIT_UM },  /* as it is said at the bench */
  { "μ", EF_UNIT_UM },
  { "micron", EF_UNIT_UM },
  { "microns", EF_UNIT_UM },
  { "micrometre", EF_UNIT_UM },
  { "micrometer", EF_UNIT_UM },
  { "mil", EF_UNIT_THOU },
  { "mils", EF_UNIT_THOU },
  { "inch", EF_UNIT_INCH },
  { "inches", EF_UNIT_INCH },
  { "\"", EF_UNIT_INCH },
  { "″", EF_UNIT_INCH },
  { "”", EF_UNIT_INCH },
  { "''", EF_UNIT_INCH },
  { "°", EF_UNIT_DEG },
  { "º", EF_UNIT_DEG },
  { "degree", EF_UNIT_DEG },
  { "degrees", EF_UNIT_DEG },
  { "°c", EF_UNIT_CELSIUS },
  { "ºc", EF_UNIT_CELSIUS },
  { "℃", EF_UNIT_CELSIUS },
  { "degc", EF_UNIT_CELSIUS },
  { "celsius", EF_UNIT_CELSIUS },
  { "m³/s", EF_UNIT_M3S },
  { "lpm", EF_UNIT_LPM },
  { "1/min", EF_UNIT_RPM },
  { "min-1", EF_UNIT_RPM },
  { "r/min", EF_UNIT_RPM },
};

static const UnitInfo *
unit_info (EfUnit unit)
{
  return (guint) unit < G_N_ELEMENTS (units) ? &units[unit] : &units[EF_UNIT_NONE];
}

const char *
ef_unit_name (EfUnit unit)
{
  return unit_info (unit)->name;
}

const char *
ef_unit_symbol (EfUnit unit)
{
  return unit_info (unit)->symbol;
}

gboolean
ef_unit_from_name (const char *name,
                   EfUnit *unit_out)
{
  g_autofree char *lower = NULL;

  if (name == NULL || *name == '\0' || !g_utf8_validate (name, -1, NULL))
    return FALSE;

  /* The micro sign is its own small letter, so it survives this. */
  lower = g_utf8_strdown (name, -1);
  for (guint i = EF_UNIT_NONE + 1; i < G_N_ELEMENTS (units); i++)
    if (g_ascii_strcasecmp (units[i].name, lower) == 0)
      {
        *unit_out = (EfUnit) i;
        return TRUE;
      }
  for (guint i = 0; i < G_N_ELEMENTS (other_names); i++)
    if (g_str_equal (other_names[i].name, lower))
      {
        *unit_out = other_names[i].unit;
        return TRUE;
      }

  return FALSE;
}

double
ef_unit_to_si (EfUnit unit,
               double value)
{
  const UnitInfo *info = unit_info (unit);

  return value * info->factor / info->divisor + info->offset;
}

double
ef_unit_from_si (EfUnit unit,
                 double value)
{
  const UnitInfo *info = unit_info (unit);

  return (value - info->offset) * info->divisor / info->factor;
}

/* Past this many steps of the grid a double can no longer count them one by one. */
#define GRID_LIMIT 1e15

static double
grid_steps (double value,
            double steps_per_one)
{
  return rint (value * steps_per_one);
}

double
ef_length_on_grid (double metres)
{
  return grid_steps (metres, 1e9) / 1e9;
}

double
ef_length_to_mm (double metres)
{
  return grid_steps (metres, 1e9) / 1e6;
}

double
ef_length_from_mm (double mm)
{
  return grid_steps (mm, 1e6) / 1e9;
}

double
ef_angle_on_grid (double radians)
{
  return ef_angle_from_deg (ef_angle_to_deg (radians));
}

double
ef_angle_to_deg (double radians)
{
  return grid_steps (radians * (180.0 / G_PI), 1e9) / 1e9;
}

double
ef_angle_from_deg (double degrees)
{
  return grid_steps (degrees, 1e9) / 1e9 * (G_PI / 180.0);
}

/* Reading */

static const char *
skip_spaces (const char *p)
{
  while (*p != '\0' && (g_unichar_isspace (g_utf8_get_char (p)) || g_utf8_get_char (p) == 0x2060))
    p = g_utf8_next_char (p);

  return p;
}

static gboolean
parse_failure (GError **error,
               const char *text,
               EfUnit unit,
               const char *reason)
{
  const UnitInfo *info = unit_info (unit);
  const char *example = "0.5";
  g_autofree char *safe = NULL;
  g_autofree char *shown = NULL;

  switch (info->dimension)
    {
    case DIMENSION_LENGTH:
      example = "0.04 mm, 40 µm or 1.5 thou";
      break;
    case DIMENSION_ANGLE:
      example = "12.5° or 0.2 rad";
      break;
    case DIMENSION_PRESSURE:
      example = "4 bar, 58 psi or 400000 Pa";
      break;
    case DIMENSION_TEMPERATURE:
      example = "100 °C or 373.15 K";
      break;
    case DIMENSION_FLOW:
      example = "25 L/min";
      break;
    case DIMENSION_SPEED:
      example = "3000 rpm";
      break;
    case DIMENSION_NONE:
    default:
      break;
    }
  safe = g_utf8_make_valid (text, (gssize) MIN (strlen (text), 60));
  shown = strlen (text) > 60 ? g_strconcat (safe, "…", NULL) : g_strdup (safe);
  g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "expected a value such as %s, found “%s”: %s", example, shown, reason);

  return FALSE;
}

/* Copies sign, digits, decimals and exponent to @number in the form strtod reads; NULL where it isn't a number. */
static const char *
read_number (const char *p,
             GString *number,
             const char **reason)
{
  gsize digits = 0;

  p = skip_spaces (p);
  if (*p == '+' || *p == '-')
    g_string_append_c (number, *p++);
  else if (g_str_has_prefix (p, "−")) /* U+2212 */
    {
      g_string_append_c (number, '-');
      p += strlen ("−");
    }
  p = skip_spaces (p);
  for (; g_ascii_isdigit (*p); digits++)
    g_string_append_c (number, *p++);
  if (*p == '.' || *p == ',')
    {
      g_string_append_c (number, '.');
      p++;
      for (; g_ascii_isdigit (*p); digits++)
        g_string_append_c (number, *p++);
    }
  if (digits == 0)
    {
      *reason = "there is no number";
      return NULL;
    }
  if (*p == '.' || *p == ',')
    {
      *reason = "more than one decimal mark; thousands are written without a separator";
      return NULL;
    }
  if ((*p == 'e' || *p == 'E') && (g_ascii_isdigit (p[1]) || ((p[1] == '-' || p[1] == '+') && g_ascii_isdigit (p[2]))))
    {
      g_string_append_c (number, *p++);
      g_string_append_c (number, *p++);
      while (g_ascii_isdigit (*p))
        g_string_append_c (number, *p++);
    }

  return p;
}

/* Value and unit as typed. */
static gboolean
read_quantity (const char *text,
               EfUnit default_unit,
               double *value_out,
               EfUnit *unit_out,
               GError **error)
{
  g_autoptr (GString) number = g_string_new (NULL);
  g_autofree char *name = NULL;
  const char *reason = NULL;
  const char *rest;
  EfUnit unit = default_unit;

  if (text == NULL || !g_utf8_validate (text, -1, NULL))
    return parse_failure (error, text != NULL ? text : "", default_unit, "it is no text");
  rest = read_number (text, number, &reason);
  if (rest == NULL)
    return parse_failure (error, text, default_unit, reason);

  name = g_strdup (skip_spaces (rest));
  while (*name != '\0')
    {
      char *last = g_utf8_find_prev_char (name, name + strlen (name));

      if (!g_unichar_isspace (g_utf8_get_char (last)))
        break;
      *last = '\0';
    }
  if (*name != '\0' && !ef_unit_from_name (name, &unit))
    return parse_failure (error, text, default_unit, g_ascii_isdigit (*name) ? "there is a space inside the number" : "that unit isn't known");
  if (unit_info (unit)->dimension != unit_info (default_unit)->dimension)
    return parse_failure (error, text, default_unit, "that unit measures something else");

  *value_out = g_ascii_strtod (number->str, NULL);
  if (!isfinite (*value_out))
    return parse_failure (error, text, default_unit, "the number is too large");
  *unit_out = unit;

  return TRUE;
}

gboolean
ef_parse_quantity (const char *text,
                   EfUnit default_unit,
                   double *si_out,
                   EfUnit *unit_out,
                   GError **error)
{
  Dimension dimension = unit_info (default_unit)->dimension;
  EfUnit unit = default_unit;
  double value = 0.0;
  double si;

  if (!read_quantity (text, default_unit, &value, &unit, error))
    return FALSE;

  si = ef_unit_to_si (unit, value);
  if (!isfinite (si) || (dimension == DIMENSION_LENGTH && fabs (si) * 1e9 > GRID_LIMIT) || (dimension == DIMENSION_ANGLE && fabs (si) * 1e9 > GRID_LIMIT / 60.0))
    return parse_failure (error, text, default_unit, "the number is too large");
  if (dimension == DIMENSION_TEMPERATURE && si < 0.0)
    return parse_failure (error, text, default_unit, "it is below absolute zero");

  if (dimension == DIMENSION_LENGTH)
    si = ef_length_on_grid (si);
  else if (dimension == DIMENSION_ANGLE)
    si = unit == EF_UNIT_DEG ? ef_angle_from_deg (value) : ef_angle_on_grid (si);
  *si_out = si;
  if (unit_out != NULL)
    *unit_out = unit;

  return TRUE;
}

gboolean
ef_parse_length (const char *text,
                 EfUnit default_unit,
                 double *metres_out,
                 EfUnit *unit_out,
                 GError **error)
{
  g_return_val_if_fail (unit_info (default_unit)->dimension == DIMENSION_LENGTH, FALSE);

  return ef_parse_quantity (text, default_unit, metres_out, unit_out, error);
}

gboolean
ef_parse_angle (const char *text,
                EfUnit default_unit,
                double *radians_out,
                EfUnit *unit_out,
                GError **error)
{
  g_return_val_if_fail (unit_info (default_unit)->dimension == DIMENSION_ANGLE, FALSE);

  return ef_parse_quantity (text, default_unit, radians_out, unit_out, error);
}

char *
ef_format_quantity (double si,
                    EfUnit unit,
                    int decimals)
{
  const UnitInfo *info = unit_info (unit);
  double value = ef_unit_from_si (unit, si);
  char format[16];
  char number[512];
  const char *gap;

  if (decimals < 0)
    decimals = info->decimals;
  decimals = MIN (decimals, 17);
  if (isfinite (value))
    {
      /* Lengths come from whole nanometres: away with what the division left behind, so that a half rounds as written. */
      if (info->dimension == DIMENSION_LENGTH && fabs (value) < 1e6)
        value = g_ascii_strtod (g_ascii_formatd (number, sizeof number, "%.13g", value), NULL);
      g_snprintf (format, sizeof format, "%%.%df", decimals);
      g_ascii_formatd (number, sizeof number, format, value);
      if (number[0] == '-' && strspn (number + 1, "0.") == strlen (number + 1))
        memmove (number, number + 1, strlen (number));
    }
  else
    g_strlcpy (number, "—", sizeof number);

  gap = unit == EF_UNIT_NONE || unit == EF_UNIT_DEG ? "" : " ";

  return g_strconcat (number, gap, info->symbol, NULL);
}
