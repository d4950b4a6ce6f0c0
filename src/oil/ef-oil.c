/* Viscosity and density of an oil at temperature.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-oil.h"

#include <math.h>

#define ZERO_CELSIUS 273.15
#define COLDEST 173.15
#define HOTTEST 673.15
#define MM2_S 1e-6

/* ASTM D341: log10 log10 Z = A - B log10 T, Z = nu + 0.7 + exp (-1.47 - 1.84 nu - 0.51 nu^2), nu in mm2/s (further terms
 * matter only below 0.5 mm2/s). */
double
ef_oil_d341_z (double nu)
{
  return nu + 0.7 + exp (-1.47 - 1.84 * nu - 0.51 * nu * nu);
}

double
ef_oil_d341_from_z (double z)
{
  double q = z - 0.7;

  /* The cubic turns round far below any oil; past 10 its term is nothing. */
  return q < 10.0 ? q - exp (-0.7487 - 3.295 * q + 0.6119 * q * q - 0.3193 * q * q * q) : q;
}

static double
to_z (const EfOil *oil,
      double nu)
{
  return oil->constant == 0.7 ? ef_oil_d341_z (nu / MM2_S) : nu / MM2_S + oil->constant;
}

static gboolean
check_points (const double temperature[2],
              const double nu[2],
              double density15,
              GError **error)
{
  for (int i = 0; i < 2; i++)
    {
      if (!(temperature[i] >= COLDEST && temperature[i] <= HOTTEST))
        {
          g_set_error (error, EF_ERROR, isfinite (temperature[i]) ? EF_ERROR_RANGE : EF_ERROR_INVALID, "temperature[%d]: expected from -100 to 400 °C, found %g °C", i, temperature[i] - ZERO_CELSIUS);
          return FALSE;
        }
      if (!(nu[i] >= 0.3 * MM2_S && nu[i] <= 1e7 * MM2_S))
        {
          g_set_error (error, EF_ERROR, isfinite (nu[i]) ? EF_ERROR_RANGE : EF_ERROR_INVALID, "nu[%d]: expected a kinematic viscosity from 0.3 to 1e7 mm²/s, found %g mm²/s", i, nu[i] / MM2_S);
          return FALSE;
        }
    }
  if (!(density15 >= 500.0 && density15 <= 1500.0))
    {
      g_set_error (error, EF_ERROR, isfinite (density15) ? EF_ERROR_RANGE : EF_ERROR_INVALID, "density15: expected from 500 to 1500 kg/m³, found %g kg/m³", density15);
      return FALSE;
    }

  return TRUE;
}

static gboolean
init (EfOil *oil,
      const double temperature[2],
      const double nu[2],
      double density15,
      double constant,
      GError **error)
{
  int cold = temperature[0] <= temperature[1] ? 0 : 1;
  double low;
  double high;

  if (!check_points (temperature, nu, density15, error))
    return FALSE;
  *oil = (EfOil){ .temperature = { temperature[cold], temperature[1 - cold] }, .nu = { nu[cold], nu[1 - cold] }, .density15 = density15, .constant = constant };
  if (oil->temperature[1] - oil->temperature[0] < 5.0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "temperature: expected two points at least 5 K apart, found %g and %g °C", oil->temperature[0] - ZERO_CELSIUS, oil->temperature[1] - ZERO_CELSIUS);
      return FALSE;
    }
  if (oil->nu[1] >= oil->nu[0])
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "nu: expected to fall with temperature, found %g mm²/s at %g °C and %g mm²/s at %g °C", oil->nu[0] / MM2_S, oil->temperature[0] - ZERO_CELSIUS,
                   oil->nu[1] / MM2_S, oil->temperature[1] - ZERO_CELSIUS);
      return FALSE;
    }

  low = log10 (log10 (to_z (oil, oil->nu[0])));
  high = log10 (log10 (to_z (oil, oil->nu[1])));
  oil->b = (low - high) / log10 (oil->temperature[1] / oil->temperature[0]);
  oil->a = low + oil->b * log10 (oil->temperature[0]);

  return TRUE;
}

gboolean
ef_oil_init (EfOil *oil,
             const double temperature[2],
             const double nu[2],
             double density15,
             GError **error)
{
  return init (oil, temperature, nu, density15, 0.7, error);
}

gboolean
ef_oil_init_din (EfOil *oil,
                 const double temperature[2],
                 const double nu[2],
                 double density15,
                 GError **error)
{
  return init (oil, temperature, nu, density15, 0.8, error);
}

gboolean
ef_oil_init_40_100 (EfOil *oil,
                    double nu40,
                    double nu100,
                    double density15,
                    GError **error)
{
  const double temperature[2] = { ZERO_CELSIUS + 40.0, ZERO_CELSIUS + 100.0 };
  const double nu[2] = { nu40, nu100 };

  return ef_oil_init (oil, temperature, nu, density15, error);
}

double
ef_oil_kinematic (const EfOil *oil,
                  double temperature,
                  EfOilFlags *flags)
{
  EfOilFlags found = 0;
  double z;
  double nu;

  if (flags != NULL)
    *flags = 0;
  if (!(temperature >= COLDEST && temperature <= HOTTEST))
    return NAN;

  z = pow (10.0, pow (10.0, oil->a - oil->b * log10 (temperature)));
  nu = MM2_S * (oil->constant == 0.7 ? ef_oil_d341_from_z (z) : z - oil->constant);
  /* A hair of a kelvin, so that the given points themselves aren't called extrapolated. */
  if (temperature < oil->temperature[0] - 1e-9 || temperature > oil->temperature[1] + 1e-9)
    found |= EF_OIL_EXTRAPOLATED;
  if (nu < 2.0 * MM2_S)
    found |= EF_OIL_THIN;
  if (flags != NULL)
    *flags = found;

  return isfinite (nu) && nu > 0.0 ? nu : NAN;
}

double
ef_oil_density (const EfOil *oil,
                double temperature)
{
  return oil->density15 * (1.0 - 0.00065 * (temperature - ZERO_CELSIUS - 15.0));
}

double
ef_oil_dynamic (const EfOil *oil,
                double temperature,
                EfOilFlags *flags)
{
  return ef_oil_kinematic (oil, temperature, flags) * ef_oil_density (oil, temperature);
}
