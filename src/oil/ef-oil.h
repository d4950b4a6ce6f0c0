/* Oil at temperature: viscosity, density, viscosity index, grades.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * SI: kinematic viscosity m2/s, dynamic Pa s, kelvin, kg/m3. Not modelled, and a limit on every result that uses it: thinning
 * by shear (multigrade oils lose 10 to 30 % at high shear), fuel in the oil, air in the oil.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

/* Flags on a viscosity that a person should hear of. */
typedef enum
{
  EF_OIL_EXTRAPOLATED = 1 << 0, /* outside the two given temperatures */
  EF_OIL_THIN = 1 << 1,         /* below 2 mm2/s, where the two-point line holds less well */
} EfOilFlags;

typedef struct
{
  double temperature[2]; /* K, rising */
  double nu[2];          /* m2/s */
  double density15;      /* kg/m3 at 15 C */
  double constant;       /* 0.7 mm2/s (ASTM D341) or 0.8 (DIN 51563) */
  double a, b;           /* log10 log10 Z = a - b log10 T, Z in mm2/s */
} EfOil;

/* From two points in any order. Fails with EF_ERROR_RANGE or EF_ERROR_INVALID, naming the field: temperatures from 173.15 to
 * 673.15 K and at least 5 K apart, viscosities 0.3 to 1e7 mm2/s and falling with temperature, density 500 to 1500. */
gboolean ef_oil_init (EfOil *oil, const double temperature[2], const double nu[2], double density15, GError **error);
/* The same with the constant of DIN 51563 and no correction for thin oils. */
gboolean ef_oil_init_din (EfOil *oil, const double temperature[2], const double nu[2], double density15, GError **error);
/* From what a data sheet gives: 40 C and 100 C. */
gboolean ef_oil_init_40_100 (EfOil *oil, double nu40, double nu100, double density15, GError **error);

/* m2/s at @temperature; NAN outside 173.15 to 673.15 K. @flags may be NULL. Source: ASTM D341, with its terms for oils near and
 * below 2 mm2/s. */
double ef_oil_kinematic (const EfOil *oil, double temperature, EfOilFlags *flags);
/* kg/m3: density15 [1 - 0.00065 (t - 15 C)] (common practice, no source). */
double ef_oil_density (const EfOil *oil, double temperature);
/* Pa s. */
double ef_oil_dynamic (const EfOil *oil, double temperature, EfOilFlags *flags);

/* Z of ASTM D341 from viscosity and back by the standard's own approximation, both mm2/s. */
double ef_oil_d341_z (double nu_mm2_s);
double ef_oil_d341_from_z (double z);

typedef struct
{
  double l, h;       /* m2/s */
  double n;          /* exponent of procedure B; NAN in procedure A */
  double value;      /* unrounded */
  int reported;      /* nearest whole number, exact halves to even */
  char procedure;    /* 'A' up to 100, 'B' from there */
} EfViscosityIndex;

/* Viscosity index by ASTM D2270 / ISO 2909. @nu40, @nu100: m2/s. Fails with EF_ERROR_RANGE (EF_ERROR_INVALID where a number isn't finite) below
 * 2 mm2/s at 100 C, where it is undefined, and where the oil isn't thicker at 40 C. */
gboolean ef_oil_viscosity_index (double nu40, double nu100, EfViscosityIndex *index, GError **error);
/* The other viscosity, m2/s, that has @index: NAN and an error where there is none from 2 to 1000 mm2/s at 100 C. */
double ef_oil_nu100_from_index (double nu40, double index, GError **error);
double ef_oil_nu40_from_index (double nu100, double index, GError **error);

/* Presets read from data/oil/grades.json. */
typedef struct
{
  char *name; /* "SAE 30", "ISO VG 46" */
  double nu40, nu100;         /* m2/s; one given, the other from the viscosity index */
  double at;                  /* K: the temperature of the limits */
  double nu_min, nu_max;      /* m2/s there */
  double hths_min;            /* Pa s at 150 C and high shear; NAN where the grade has none */
  double viscosity_index;
  double density15;
  char *source;
} EfOilGrade;

typedef struct
{
  GPtrArray *grades; /* EfOilGrade *, in the order of the file */
} EfOilGrades;

/* Fails as ef_json_parse_file(), and with "file: path: expected …" for what isn't a list of grades. */
EfOilGrades *ef_oil_grades_load (const char *path, GError **error);
void ef_oil_grades_free (EfOilGrades *grades);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfOilGrades, ef_oil_grades_free)
/* Case and spaces don't matter: "15w40", "SAE 15W-40", "vg46". Fails with EF_ERROR_NOT_FOUND, naming the grades. */
const EfOilGrade *ef_oil_grades_find (const EfOilGrades *grades, const char *name, GError **error);

G_END_DECLS
