/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "film-problem.h"

#include <glib/gstdio.h>
#include <json-glib/json-glib.h>
#include <math.h>
#include <string.h>

#define SUB 4

void
film_problem_geometry (EfFlowGeometry *geometry)
{
  const double delivery[] = { -5e-3, 6e-3, 5e-3, 6e-3, 5e-3, 30e-3, -5e-3, 30e-3 };
  const double suction[] = { -5e-3, -30e-3, 5e-3, -30e-3, 5e-3, -6e-3, -5e-3, -6e-3 };
  const EfGearPairInput in = {
    .teeth = { 12, 12 }, .module = 3e-3, .pressure_angle = 20 * G_PI / 180.0, .shift = { 0.3, 0.3 },
    .tip_radius = { 21.6e-3, 21.6e-3 }, .centre_distance = 37.70e-3, .face_width = 25e-3,
  };

  *geometry = (EfFlowGeometry) { .face_width = 25e-3, .shaft_radius = { 9e-3, 9e-3 }, .suction_angle = 100 * G_PI / 180.0, .delivery_angle = 95 * G_PI / 180.0 };
  g_assert_true (ef_gear_pair_solve (&in, &geometry->pair, NULL));
  geometry->n_ports = 2;
  geometry->ports = g_new0 (EfFlowPort, 2);
  geometry->ports[0] = (EfFlowPort) { EF_GROUP_DELIVERY, ef_ring_new (4, delivery), { TRUE, TRUE } };
  geometry->ports[1] = (EfFlowPort) { EF_GROUP_SUCTION, ef_ring_new (4, suction), { TRUE, TRUE } };
}

double
film_problem_gap (double x,
                  double y,
                  gpointer user_data)
{
  const double *depth = user_data;
  double h = 35e-6;

  for (int k = 0; k < 6; k++)
    if (fabs (x + 16e-3 - 2.2e-3 * k - 0.3e-3 * sin (600.0 * y)) < 0.25e-3 && fabs (y) < 14e-3)
      h = 35e-6 + *depth;

  return h * h * h;
}

static void
write_ring (JsonBuilder *builder,
            const EfFilmRing *ring)
{
  json_builder_begin_object (builder);
  json_builder_set_member_name (builder, "xy");
  json_builder_begin_array (builder);
  for (guint k = 0; k < 2 * ring->ring.n; k++)
    json_builder_add_double_value (builder, ring->ring.xy[k]);
  json_builder_end_array (builder);
  json_builder_set_member_name (builder, "group");
  json_builder_begin_array (builder);
  for (guint k = 0; k < ring->ring.n; k++)
    json_builder_add_int_value (builder, ring->group != NULL ? ring->group[k] : ring->all);
  json_builder_end_array (builder);
  json_builder_end_object (builder);
}

static void
write_number (JsonBuilder *builder,
              const char *name,
              double value)
{
  json_builder_set_member_name (builder, name);
  json_builder_add_double_value (builder, value);
}

static JsonNode *
problem_json (const EfFilmShape *shape,
              guint side,
              EfFilmGap gap,
              gpointer user_data)
{
  g_autoptr (JsonBuilder) builder = json_builder_new ();
  double step = shape->size / side / SUB;

  json_builder_begin_object (builder);
  write_number (builder, "x0", shape->x0);
  write_number (builder, "y0", shape->y0);
  write_number (builder, "size", shape->size);
  json_builder_set_member_name (builder, "side");
  json_builder_add_int_value (builder, side);
  json_builder_set_member_name (builder, "n_groups");
  json_builder_add_int_value (builder, shape->n_groups);
  json_builder_set_member_name (builder, "rings");
  json_builder_begin_array (builder);
  write_ring (builder, &shape->outer);
  for (guint k = 0; k < shape->n_holes; k++)
    write_ring (builder, &shape->holes[k]);
  json_builder_end_array (builder);
  json_builder_set_member_name (builder, "cubes");
  json_builder_begin_array (builder);
  for (guint j = 0; j < side * SUB; j++)
    for (guint i = 0; i < side * SUB; i++)
      json_builder_add_double_value (builder, gap (shape->x0 + (i + 0.5) * step, shape->y0 + (j + 0.5) * step, user_data));
  json_builder_end_array (builder);
  json_builder_end_object (builder);

  return json_builder_get_root (builder);
}

static char *
run_scipy (JsonNode *problem)
{
  g_autofree char *script = g_test_build_filename (G_TEST_DIST, "flow", "film_reference.py", NULL);
  g_autofree char *text = json_to_string (problem, FALSE);
  g_autofree char *file = g_build_filename (g_get_tmp_dir (), "film-problem-XXXXXX", NULL);
  const char *argv[] = { "/usr/bin/python3", script, file, NULL };
  g_autofree char *errors = NULL;
  g_autoptr (GError) error = NULL;
  char *output = NULL;
  int status;
  int descriptor = g_mkstemp (file);

  g_assert_cmpint (descriptor, >=, 0);
  g_assert_true (g_close (descriptor, NULL));
  g_assert_true (g_file_set_contents (file, text, -1, NULL));
  g_assert_true (g_spawn_sync (NULL, (char **) argv, NULL, G_SPAWN_DEFAULT, NULL, NULL, &output, &errors, &status, &error));
  g_assert_no_error (error);
  if (status != 0)
    g_error ("film_reference.py failed: %s", errors);
  g_assert_cmpint (g_unlink (file), ==, 0);

  return output;
}

double *
film_problem_scipy (const EfFilmShape *shape,
                    guint side,
                    EfFilmGap gap,
                    gpointer user_data,
                    double *seconds_out,
                    guint *cells_out)
{
  g_autoptr (JsonNode) problem = problem_json (shape, side, gap, user_data);
  g_autofree char *output = run_scipy (problem);
  g_autoptr (JsonNode) answer = json_from_string (output, NULL);
  JsonObject *object = json_node_get_object (answer);
  JsonArray *array = json_object_get_array_member (object, "conductance");
  double *c = g_new (double, json_array_get_length (array));

  for (guint k = 0; k < json_array_get_length (array); k++)
    c[k] = json_array_get_double_element (array, k);
  if (seconds_out != NULL)
    *seconds_out = json_object_get_double_member (object, "seconds");
  if (cells_out != NULL)
    *cells_out = (guint) json_object_get_int_member (object, "cells");

  return c;
}
