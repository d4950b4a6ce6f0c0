/* Tips, loads and whole sections: the worked cases of the computation specification, and trends.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "flow/ef-gear-load.h"
#include "flow/ef-section-flow.h"
#include "flow/ef-slot.h"
#include "flow/ef-working-point.h"
#include "pump/ef-pump-sheet.h"

#include <math.h>
#include "../isolate.h"

#define MICRO 1e-6
#define LPM 6e4
#define DEG (G_PI / 180.0)
#define MU_100 0.0115071
#define MU_120 0.0074867

/* W1's gears. */
static void
worked_pair (EfGearPair *pair)
{
  EfGearPairInput in = {
    .teeth = { 12, 12 }, .module = 3e-3, .pressure_angle = 20 * DEG, .shift = { 0.3, 0.3 },
    .tip_radius = { 21.6e-3, 21.6e-3 }, .centre_distance = 37.70e-3, .face_width = 25e-3,
  };
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_gear_pair_solve (&in, pair, &error));
  g_assert_no_error (error);
}

/* W2(c)'s section: ports |x| < 5 mm, |y| > 6 mm in both faces. */
static void
worked_geometry (EfFlowGeometry *geometry)
{
  const double delivery[] = { -5e-3, 6e-3, 5e-3, 6e-3, 5e-3, 30e-3, -5e-3, 30e-3 };
  const double suction[] = { -5e-3, -30e-3, 5e-3, -30e-3, 5e-3, -6e-3, -5e-3, -6e-3 };

  *geometry = (EfFlowGeometry) { .face_width = 25e-3, .shaft_radius = { 9e-3, 9e-3 }, .suction_angle = 100 * DEG, .delivery_angle = 95 * DEG };
  worked_pair (&geometry->pair);
  /* The specification's outline runs radially from the base circle to the root circle, without fillets. */
  geometry->pair.fillet_radius[0] = geometry->pair.fillet_radius[1] = 0.0;
  geometry->n_ports = 2;
  geometry->ports = g_new0 (EfFlowPort, 2);
  geometry->ports[0] = (EfFlowPort) { EF_GROUP_DELIVERY, ef_ring_new (4, delivery), { TRUE, TRUE } };
  geometry->ports[1] = (EfFlowPort) { EF_GROUP_SUCTION, ef_ring_new (4, suction), { TRUE, TRUE } };
}

/* W2(b): six gaps in series, no side flow; values and tolerance 1e-3 of the specification (closed form). */
static void
test_tip_series (void)
{
  const double uneven[] = { 35, 39, 49, 62, 74, 82 };
  const double expected[] = { 0.0030, 0.5617, 0.9884, 0.9405, 0.7989, 0.7075 };
  EfGearPair pair;
  EfTipGap gaps[6];
  EfTipConditions conditions;
  double steps[6], pressure, net;

  worked_pair (&pair);
  conditions = (EfTipConditions) { 25e-3, pair.tip_thickness[0], 2 * G_PI * 50.0 * 21.6e-3, MU_100 };
  for (int i = 0; i < 6; i++)
    gaps[i] = (EfTipGap) { pow (60 * MICRO, 3), 60 * MICRO };
  g_assert_true (ef_tip_series (6, gaps, &conditions, 4e5, steps, &pressure, &net, NULL));
  g_assert_cmpfloat_with_epsilon (pressure * LPM, 0.088328, 1e-3 * 0.088328);
  g_assert_cmpfloat_with_epsilon (net * LPM, -0.217035, 1e-3 * 0.217035);
  g_assert_cmpfloat_with_epsilon (steps[3] / 1e5, 0.66667, 1e-3);

  for (int i = 0; i < 6; i++)
    gaps[i] = (EfTipGap) { pow (uneven[i] * MICRO, 3), uneven[i] * MICRO };
  g_assert_true (ef_tip_series (6, gaps, &conditions, 4e5, steps, &pressure, &net, NULL));
  g_assert_cmpfloat_with_epsilon (pressure * LPM, 0.042925, 1e-3 * 0.042925);
  g_assert_cmpfloat_with_epsilon (net * LPM, -0.178049, 1e-3 * 0.178049);
  for (int i = 0; i < 6; i++)
    g_assert_cmpfloat_with_epsilon (steps[i] / 1e5, expected[i], 1e-3);
}

/* With no film at the ends the network is the series. */
static void
test_network_without_films (void)
{
  const double h[] = { 35, 39, 49, 62, 74, 82 };
  EfTipGap gaps[6];
  EfTipConditions conditions = { 25e-3, 1.77e-3, 6.8, MU_100 };
  double film[8 * 8] = { 0 };
  double steps[6], pressure, net, sum = 0.0;
  EfTipNetwork network;

  for (int i = 0; i < 6; i++)
    gaps[i] = (EfTipGap) { pow (h[i] * MICRO, 3), h[i] * MICRO };
  g_assert_true (ef_tip_series (6, gaps, &conditions, 4e5, steps, &pressure, &net, NULL));
  g_assert_true (ef_tip_network (6, gaps, &conditions, film, 4e5, &network, NULL));
  g_assert_cmpfloat_with_epsilon (network.loss / net, 1.0, 1e-9);
  for (int i = 0; i < 5; i++)
    {
      sum += steps[i];
      g_assert_cmpfloat_with_epsilon (network.spaces[i], sum, 1e-6 * 4e5);
    }
}

static EfSectionConditions
worked_conditions (void)
{
  return (EfSectionConditions) { .dp = 4e5, .mu = MU_100, .speed = 50.0, .tip_clearance = { 60 * MICRO, 60 * MICRO }, .side_play = { 25 * MICRO, 25 * MICRO } };
}

static void
solve_worked (guint cells,
              double end_clearance,
              const EfSectionConditions *conditions,
              EfSectionLoss *loss)
{
  EfFlowGeometry geometry;
  g_autoptr (EfSectionFlow) flow = NULL;
  g_autoptr (GError) error = NULL;

  worked_geometry (&geometry);
  flow = ef_section_flow_new (&geometry, cells, 4, EF_FILM_CHOLMOD, &error);
  g_assert_no_error (error);
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      g_assert_true (ef_section_flow_set_even (flow, gear, end, 0.5 * end_clearance, NULL));
  g_assert_true (ef_section_flow_solve (flow, conditions, loss, &error));
  g_assert_no_error (error);
  ef_flow_geometry_clear (&geometry);
}

/* W2(c): numerical reference of the specification at 512 cells, with its tolerances. */
static void
test_coupled (void)
{
  EfSectionConditions conditions = worked_conditions ();
  EfSectionLoss loss;

  solve_worked (512, 70 * MICRO, &conditions, &loss);
  g_test_message ("loss %.4f, drag %.4f, to the bores %.4f L/min, L %.3g m3; driver %.1f N at %.1f, driven %.1f N at %.1f deg; %u rounds, imbalance %.2g",
                  loss.pressure_loss * LPM, loss.drag * LPM, loss.to_bores * LPM, loss.constant, loss.load[0], loss.load_psi[0] / DEG,
                  loss.load[1], loss.load_psi[1] / DEG, loss.iterations, loss.worst_imbalance);
  g_assert_cmpfloat_with_epsilon (loss.pressure_loss * LPM, 0.314, 0.05 * 0.314);
  g_assert_cmpfloat_with_epsilon (loss.drag * LPM, 0.482, 0.01 * 0.482);
  g_assert_cmpfloat_with_epsilon (loss.to_bores * LPM, 0.1468, 0.015 * 0.1468);
  g_assert_cmpfloat_with_epsilon (loss.constant, 1.51e-13, 0.05 * 1.51e-13);
  g_assert_cmpfloat_with_epsilon (loss.load[0], 321.6, 0.02 * 321.6);
  g_assert_cmpfloat_with_epsilon (loss.load[1], 376.5, 0.02 * 376.5);
  g_assert_cmpfloat_with_epsilon (loss.load_psi[0] / DEG, -75.3, 2.0);
  g_assert_cmpfloat_with_epsilon (loss.load_psi[1] / DEG, -77.8, 2.0);
  g_assert_cmpfloat (loss.worst_imbalance, <, 1e-8);
}

/* W2(c)'s second case: bore wear of 45 um cos^2 (psi + 60 deg). */
static void
worn_wall (int gear,
           int tooth,
           double psi,
           double h,
           EfTipGap *out,
           gpointer data)
{
  double c = cos (psi + 60 * DEG);
  double wear = c > 0.0 ? 45 * MICRO * c * c : 0.0;

  out->gap = MAX (h + wear, EF_TIP_LEAST_GAP);
  out->cube = pow (out->gap, 3.0);
}

static void
test_coupled_worn_bore (void)
{
  EfSectionConditions conditions = worked_conditions ();
  EfSectionLoss loss;

  conditions.side_play[0] = conditions.side_play[1] = 70 * MICRO;
  conditions.wall = worn_wall;
  solve_worked (512, 60 * MICRO, &conditions, &loss);
  g_test_message ("worn bore: loss %.4f, to the bores %.4f L/min", loss.pressure_loss * LPM, loss.to_bores * LPM);
  g_assert_cmpfloat_with_epsilon (loss.pressure_loss * LPM, 0.255, 0.05 * 0.255);
  g_assert_cmpfloat_with_epsilon (loss.to_bores * LPM, 0.0998, 0.015 * 0.0998);
}

/* Common practice: end clearance doubled, its leakage times eight. */
static void
test_end_clearance_cubed (void)
{
  EfSectionConditions conditions = worked_conditions ();
  EfSectionLoss once, twice;

  solve_worked (96, 60 * MICRO, &conditions, &once);
  solve_worked (96, 120 * MICRO, &conditions, &twice);
  g_test_message ("to the bores, end clearance doubled: x %.2f", twice.to_bores / once.to_bores);
  g_assert_cmpfloat (twice.to_bores / once.to_bores, >, 6.0);
  g_assert_cmpfloat (twice.to_bores / once.to_bores, <, 10.0);
}

/* Common practice: for these pumps end leakage matters more than tip leakage at equal clearance; hot thin oil loses more. */
static void
test_trends (void)
{
  EfSectionConditions conditions = worked_conditions ();
  EfSectionLoss cool, hot;

  conditions.side_play[0] = conditions.side_play[1] = 0.0;
  solve_worked (96, 120 * MICRO, &conditions, &cool);
  g_assert_cmpfloat (cool.film_loss, >, 0.6 * cool.pressure_loss);
  conditions.mu = MU_120;
  solve_worked (96, 120 * MICRO, &conditions, &hot);
  g_assert_cmpfloat (hot.pressure_loss, >, 1.3 * cool.pressure_loss);
}

/* Newton's third law: mesh forces cancel and what remains on both gears together is the push of delivery on the row of teeth
 * across the mesh, towards suction. */
static void
test_loads_balance (void)
{
  EfGearPair pair;
  EfMesh mesh;
  double spaces[64] = { 0 };
  double f[2][2];

  worked_pair (&pair);
  g_assert_true (ef_mesh_at (&pair, 100 * DEG, 95 * DEG, 0.3e-3, &mesh, NULL));
  for (int gear = 0; gear < 2; gear++)
    {
      for (int s = 0; s < mesh.gear[gear].n_sealed; s++)
        spaces[s] = 4e5 * (s + 1) / (mesh.gear[gear].n_sealed + 1);
      ef_gear_load (&pair, &mesh, gear, 25e-3, spaces, 4e5, &f[gear][0], &f[gear][1]);
      g_assert_cmpfloat (f[gear][1], <, 0.0);
      g_assert_cmpfloat (hypot (f[gear][0], f[gear][1]), >, 0.5 * 4e5 * 25e-3 * 43.2e-3);
      g_assert_cmpfloat (hypot (f[gear][0], f[gear][1]), <, 1.2 * 4e5 * 25e-3 * 43.2e-3);
    }
  /* The driven gear carries more than the driver: textbook 0.85 against 0.75 (from memory). */
  g_assert_cmpfloat (hypot (f[1][0], f[1][1]), >, hypot (f[0][0], f[0][1]));
}

/* A groove across the land that joins delivery to suction at one end shows as a short circuit. */
static double
grooved_end (int gear,
             int end,
             double x,
             double y,
             double turn,
             gpointer data)
{
  double cx, cy, h = 35 * MICRO;
  const EfGearPair *pair = data;

  ef_mesh_canonical_frame (pair, gear, x, y, &cx, &cy);
  if (end == 0 && cx > -6.5e-3 && cx < -5.5e-3 && fabs (cy) < 9e-3)
    h += 0.3e-3;

  return h * h * h;
}

static void
test_short_circuit (void)
{
  EfSectionConditions conditions = worked_conditions ();
  EfFlowGeometry geometry;
  g_autoptr (EfSectionFlow) flow = NULL;
  EfSectionLoss plain, grooved;
  EfEndGaps gaps = { .gap = grooved_end, .user_data = &geometry.pair };
  double groove;

  worked_geometry (&geometry);
  flow = ef_section_flow_new (&geometry, 128, 4, EF_FILM_CHOLMOD, NULL);
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      g_assert_true (ef_section_flow_set_even (flow, gear, end, 35 * MICRO, NULL));
  g_assert_true (ef_section_flow_solve (flow, &conditions, &plain, NULL));
  g_assert_true (ef_section_flow_set_gap (flow, 0, 0, 0, &gaps, NULL, NULL));
  g_assert_true (ef_section_flow_solve (flow, &conditions, &grooved, NULL));
  g_test_message ("groove from delivery to suction: loss x %.1f", grooved.pressure_loss / plain.pressure_loss);
  /* The groove as a slot of its own, 1 mm wide and 18 mm long: less what it takes from its neighbours, and the way into it. */
  g_assert_true (ef_slot_flow (1e-3, 0.335e-3, 18e-3, 4e5, MU_100, 0.0, &groove, NULL));
  g_assert_cmpfloat (grooved.pressure_loss - plain.pressure_loss, >, 0.5 * groove);
  g_assert_cmpfloat (grooved.pressure_loss - plain.pressure_loss, <, 1.2 * groove);
  ef_flow_geometry_clear (&geometry);
}

/* An even gap given as a function is the even gap. */
static double
even_end (int gear,
          int end,
          double x,
          double y,
          double turn,
          gpointer data)
{
  return pow (35 * MICRO, 3.0);
}

static void
test_even_by_function (void)
{
  EfSectionConditions conditions = worked_conditions ();
  EfFlowGeometry geometry;
  g_autoptr (EfSectionFlow) flow = NULL;
  EfSectionLoss loss, even;
  const EfEndGaps gaps = { .gap = even_end };

  worked_geometry (&geometry);
  flow = ef_section_flow_new (&geometry, 96, 4, EF_FILM_MULTIGRID, NULL);
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      g_assert_true (ef_section_flow_set_gap (flow, gear, end, 1, &gaps, NULL, NULL));
  g_assert_true (ef_section_flow_solve (flow, &conditions, &loss, NULL));
  solve_worked (96, 70 * MICRO, &conditions, &even);
  g_assert_cmpfloat_with_epsilon (loss.pressure_loss / even.pressure_loss, 1.0, 1e-6);
  ef_flow_geometry_clear (&geometry);
}

/* W2's hot idle: k from 25 L/min at 4 bar and 100 degrees C, then 500 1/min at 120 degrees C: 0.8537 bar (0.5 %). */
static void
test_hot_idle (void)
{
  EfSectionConditions conditions = worked_conditions ();
  EfFlowGeometry geometry;
  g_autoptr (EfSectionFlow) flow = NULL;
  g_autoptr (GError) error = NULL;
  EfWorkingPoint point;
  double k;

  worked_geometry (&geometry);
  flow = ef_section_flow_new (&geometry, 256, 4, EF_FILM_CHOLMOD, NULL);
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      g_assert_true (ef_section_flow_set_even (flow, gear, end, 35 * MICRO, NULL));
  g_assert_true (ef_demand_constant (25.0 / LPM, 4e5, MU_100, &k, NULL));
  g_assert_cmpfloat_with_epsilon (k, 1.19865e-11, 1e-4 * 1.19865e-11);

  conditions.mu = MU_120;
  conditions.speed = 500.0 / 60.0;
  g_assert_true (ef_working_point (flow, &conditions, 16.446424e-6, k, NAN, &point, &error));
  g_assert_no_error (error);
  g_test_message ("hot idle %.4f bar, delivery %.3f L/min, efficiency %.3f", point.pressure / 1e5, point.delivery * LPM, point.efficiency);
  g_assert_cmpfloat_with_epsilon (point.pressure / 1e5, 0.8537, 0.005 * 0.8537);
  g_assert_cmpfloat_with_epsilon (point.delivery, k * point.pressure / MU_120, 1e-5 * point.delivery);
  g_assert_false (point.at_relief);

  g_assert_true (ef_working_point (flow, &conditions, 16.446424e-6, k, 0.5e5, &point, &error));
  g_assert_true (point.at_relief);
  g_assert_cmpfloat (point.pressure, ==, 0.5e5);
  g_assert_cmpfloat (point.relieved, >, 0.0);
  ef_flow_geometry_clear (&geometry);
}

/* A 30 mm light-alloy pocket round a steel gear, 20 to 120 degrees C: 30 mm (23 - 11.5) 1e-6 100 = 34.5 um (arithmetic). */
static void
test_thermal_growth (void)
{
  double housing, gear;

  g_assert_true (ef_material_expansion ("aluminium-alloy", &housing));
  g_assert_true (ef_material_expansion ("steel", &gear));
  g_assert_false (ef_material_expansion ("cheese", &gear));
  g_assert_cmpfloat_with_epsilon (ef_hot_clearance (70e-6, 30e-3, housing, 30e-3, gear, 393.15), 104.5e-6, 1e-9);
}

static void
test_refusals (void)
{
  EfSectionConditions conditions = worked_conditions ();
  EfFlowGeometry geometry;
  g_autoptr (EfSectionFlow) flow = NULL;
  g_autoptr (GError) error = NULL;
  EfSectionLoss loss;

  worked_geometry (&geometry);
  flow = ef_section_flow_new (&geometry, 32, 4, EF_FILM_CHOLMOD, NULL);
  g_assert_false (ef_section_flow_solve (flow, &conditions, &loss, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_section_flow_set_even (flow, 0, 0, 0.0, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_clear_error (&error);
  geometry.shaft_radius[1] = 16e-3;
  g_assert_null (ef_section_flow_new (&geometry, 32, 4, EF_FILM_CHOLMOD, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_GEOMETRY);
  ef_flow_geometry_clear (&geometry);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/flow/tip/series", test_tip_series);
  g_test_add_func ("/flow/tip/network-without-films-is-series", test_network_without_films);
  g_test_add_func ("/flow/load/balance", test_loads_balance);
  g_test_add_func ("/flow/section/even-gap-by-function", test_even_by_function);
  g_test_add_func ("/flow/section/end-clearance-cubed", test_end_clearance_cubed);
  g_test_add_func ("/flow/section/trends", test_trends);
  g_test_add_func ("/flow/section/groove-is-short-circuit", test_short_circuit);
  g_test_add_func ("/flow/section/refusals", test_refusals);
  g_test_add_func ("/flow/working-point/hot-idle", test_hot_idle);
  g_test_add_func ("/flow/working-point/thermal-growth", test_thermal_growth);
  g_test_add_func ("/flow/section/worked-case", test_coupled);
  g_test_add_func ("/flow/section/worked-case-worn-bore", test_coupled_worn_bore);

  return g_test_run ();
}
