/* Units at the edges: reading what a person typed, writing what a person reads.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Inside the program every length is in metres, angle in radians, pressure in pascal, temperature
 * in kelvin, flow in m3/s. Only this file knows mm, um, inch, thou, bar, psi, degrees C, L/min.
 * Lengths that are kept in a record are whole nanometres and angles whole nanodegrees, so that
 * writing them in mm or degrees and reading them back gives the same number to the last bit.
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

typedef enum
{
  EF_UNIT_NONE,
  EF_UNIT_M, EF_UNIT_MM, EF_UNIT_UM, EF_UNIT_INCH, EF_UNIT_THOU,
  EF_UNIT_RAD, EF_UNIT_DEG,
  EF_UNIT_PA, EF_UNIT_BAR, EF_UNIT_PSI,
  EF_UNIT_K, EF_UNIT_CELSIUS,
  EF_UNIT_M3S, EF_UNIT_LPM,
  EF_UNIT_RADS, EF_UNIT_RPM,
} EfUnit;

/* Short name as written in files and on screen: "mm", "um", "in", "thou", "deg", "bar", … */
const char *ef_unit_name (EfUnit unit);
/* As shown to people: "µm", "°C", "°"; otherwise as ef_unit_name(). */
const char *ef_unit_symbol (EfUnit unit);
/* Returns FALSE when @name is no unit we know. Accepts "µm", "um", "micron", "mil", "thou", "\"", "in", … */
gboolean ef_unit_from_name (const char *name, EfUnit *unit_out);
double ef_unit_to_si (EfUnit unit, double value);
double ef_unit_from_si (EfUnit unit, double value);

/* Reads a length such as "0.04 mm", "1.5 thou", "40 um", "0,04" (comma or point decimals, a leading
 * sign, spaces anywhere, no thousands separators). A bare number has @default_unit. @unit_out may be
 * NULL; it receives the unit that was typed, so that the record shows it as it was entered.
 * Fails with EF_ERROR_PARSE and a message saying what was expected. Result in metres, on the
 * nanometre grid. */
gboolean ef_parse_length (const char *text, EfUnit default_unit, double *metres_out, EfUnit *unit_out, GError **error);
/* The same for an angle ("12.5 deg", "12,5°", "0.2 rad"), in radians. */
gboolean ef_parse_angle (const char *text, EfUnit default_unit, double *radians_out, EfUnit *unit_out, GError **error);
/* Any quantity: the unit typed must be of the same dimension as @default_unit. Result in SI. */
gboolean ef_parse_quantity (const char *text, EfUnit default_unit, double *si_out, EfUnit *unit_out, GError **error);

/* Nearest whole nanometre, in metres; nearest whole nanodegree, in radians. */
double ef_length_on_grid (double metres);
double ef_angle_on_grid (double radians);
/* Exact partners for files: mm from an on-grid length and back; degrees likewise. */
double ef_length_to_mm (double metres);
double ef_length_from_mm (double mm);
double ef_angle_to_deg (double radians);
double ef_angle_from_deg (double degrees);

/* "0.040 mm": @decimals in the shown unit, or -1 for what suits the unit. Free with g_free(). */
char *ef_format_quantity (double si, EfUnit unit, int decimals);

G_END_DECLS
