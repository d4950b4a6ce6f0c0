/* The oil pressure over faces: that it lies where the ports and the shafts say, on every chart, and that the load points the right way.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "assess/ef-flow-field.h"
#include "assess/ef-flow-input.h"
#include "record/ef-exchange.h"

static const char *const jobs[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-3-tg-3.json", "job-4-hl-27.json" };

static EfAssessment *
assess_anew (const char *name)
{
  g_autofree char *path = ef_data_path ("demo", name, NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  g_autoptr (EfInspection) inspection = NULL;
  EfAssessment *assessment;

  g_assert_no_error (error);
  inspection = ef_exchange_load (path, &error);
  g_assert_no_error (error);
  assessment = ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, &error);
  g_assert_no_error (error);

  return assessment;
}

/* Each job is worked out once for all tests. */
static EfAssessment *
assess_job (const char *name)
{
  static GHashTable *known;
  EfAssessment *assessment;

  if (known == NULL)
    known = g_hash_table_new_full (g_str_hash, g_str_equal, NULL, (GDestroyNotify) ef_assessment_unref);
  assessment = g_hash_table_lookup (known, name);
  if (assessment == NULL)
    {
      assessment = assess_anew (name);
      g_hash_table_insert (known, (gpointer) name, assessment);
    }

  return ef_assessment_ref (assessment);
}

static char **
film_faces (const EfAssessment *assessment)
{
  const EfSection *section = ef_flow_section (assessment->inspection->sheet);
  g_autoptr (GStrvBuilder) builder = g_strv_builder_new ();

  g_strv_builder_add (builder, section->floor_face);
  g_strv_builder_add (builder, section->facing_face);
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        g_autofree char *id = g_strdup_printf ("%s/end-%c", section->gear_part[gear], 'a' + end);

        g_strv_builder_add (builder, id);
      }

  return g_strv_builder_end (builder);
}

static EfFlowField *
field_of (const EfAssessment *assessment,
          const char *face_id)
{
  g_autoptr (GError) error = NULL;
  EfFlowField *field = ef_flow_field_new (assessment, face_id, EF_STATE_FOUND, NULL, &error);

  g_assert_no_error (error);

  return field;
}

static EfFaceChart *
chart_of (const EfAssessment *assessment,
          const char *face_id)
{
  return g_hash_table_lookup (assessment->findings.charts, face_id);
}

/* Every face that a gear's end meets has one, no other has. */
static void
test_which_faces (void)
{
  g_autoptr (EfAssessment) assessment = assess_job (jobs[0]);
  g_auto (GStrv) with = film_faces (assessment);
  g_auto (GStrv) all = ef_face_ids (assessment->inspection->sheet);
  g_autoptr (GError) error = NULL;

  for (guint i = 0; all[i] != NULL; i++)
    g_assert_cmpint (ef_flow_field_has (assessment->inspection->sheet, all[i]), ==, g_strv_contains ((const char *const *) with, all[i]));
  g_assert_null (ef_flow_field_new (assessment, "pressure-housing/wall-drive", EF_STATE_FOUND, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_null (ef_flow_field_new (assessment, NULL, EF_STATE_FOUND, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
}

/* From the face's own map to pump axes, not from the field's: on the plane faces the pressure is high on the delivery side of the plan and low on
 * the suction side, whichever way the face looks. */
static void
test_sides (gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess_job (data);
  const EfSection *section = ef_flow_section (assessment->inspection->sheet);
  const char *faces[2] = { section->floor_face, section->facing_face };

  for (int f = 0; f < 2; f++)
    {
      EfFaceChart *chart = chart_of (assessment, faces[f]);
      g_autoptr (EfFlowField) field = field_of (assessment, faces[f]);
      double sum[2] = { 0 }, middle = 0;
      guint n[2] = { 0 }, n_middle = 0;

      g_assert_cmpuint (field->n_patches, ==, 2);
      for (int i = 0; i < 240; i++)
        for (int j = 0; j < 160; j++)
          {
            double u = chart->u0 + (chart->u1 - chart->u0) * (i + 0.5) / 240, v = chart->v0 + (chart->v1 - chart->v0) * (j + 0.5) / 160;
            double p = ef_flow_field_at (field, u, v), at[3], psi, r;
            int gear, side;

            if (isnan (p))
              continue;
            g_assert_cmpfloat (p, >=, -1e-9);
            g_assert_cmpfloat (p, <=, 1 + 1e-9);
            ef_face_chart_to_pump (chart, u, v, at, NULL);
            /* the gear whose tip circle it's further inside of */
            gear = hypot (at[0] - ef_section_axis_x (section, 0), at[1]) / section->pair.in.tip_radius[0] <
                           hypot (at[0] - ef_section_axis_x (section, 1), at[1]) / section->pair.in.tip_radius[1] ? 0 : 1;
            psi = ef_section_psi (section, gear, at[0], at[1]);
            r = hypot (at[0] - ef_section_axis_x (section, gear), at[1]);
            g_assert_cmpfloat (r, <, section->pair.in.tip_radius[gear] * 1.02);
            if (r < section->pair.in.root_radius[gear])
              continue;
            side = psi > section->delivery_angle + 0.3 && psi < 2.6 ? 1 : psi < -section->suction_angle - 0.3 && psi > -2.6 ? 0 : -1;
            if (side >= 0)
              {
                sum[side] += p;
                n[side]++;
              }
            else if (fabs (psi) < 0.3)
              {
                middle += p;
                n_middle++;
              }
          }
      g_assert_cmpuint (n[0], >, 20);
      g_assert_cmpuint (n[1], >, 20);
      g_assert_cmpuint (n_middle, >, 50);
      g_test_message ("%s: suction %.3f, away from the mate %.3f, delivery %.3f", faces[f], sum[0] / n[0], middle / n_middle, sum[1] / n[1]);
      g_assert_cmpfloat (sum[0] / n[0], <, 0.15);
      g_assert_cmpfloat (sum[1] / n[1], >, 0.85);
      g_assert_cmpfloat (middle / n_middle, >, sum[0] / n[0] + 0.1);
      g_assert_cmpfloat (middle / n_middle, <, sum[1] / n[1] - 0.1);
    }
}

/* The teeth on a gear end's chart are where the film is: all of it is metal of that chart, and nearly all metal outside the shaft has film. */
static void
test_teeth (gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess_job (data);
  g_auto (GStrv) faces = film_faces (assessment);

  for (guint f = 2; faces[f] != NULL; f++)
    {
      EfFaceChart *chart = chart_of (assessment, faces[f]);
      g_autoptr (EfFlowField) field = field_of (assessment, faces[f]);
      double radius = chart->section->pair.in.root_radius[field->patch[0].gear];
      guint both = 0, film = 0, metal = 0;

      g_assert_cmpuint (field->n_patches, ==, 1);
      for (int i = 0; i < 300; i++)
        for (int j = 0; j < 300; j++)
          {
            double u = chart->u0 + (chart->u1 - chart->u0) * (i + 0.5) / 300, v = chart->v0 + (chart->v1 - chart->v0) * (j + 0.5) / 300;
            gboolean has_film = !isnan (ef_flow_field_at (field, u, v)), is_metal = ef_region_contains (chart->solid, u, v);

            /* the teeth alone: ports are cut out of the film further in */
            if (hypot (u, v) < radius + 0.4e-3)
              continue;
            both += has_film && is_metal;
            film += has_film;
            metal += is_metal;
          }
      g_test_message ("%s: of the teeth's film %.3f lies on metal", faces[f], (double) both / film);
      g_assert_cmpuint (film, >, 1000);
      /* cells at the edge are half covered: constructed bound, a turn by half a pitch gives 0.4 */
      g_assert_cmpfloat ((double) both / film, >, 0.9);
    }
}

static void
to_plan (const EfFaceChart *chart,
         const EfFieldPatch *patch,
         double *dx,
         double *dy)
{
  double from[3], to[3];

  ef_face_chart_to_pump (chart, patch->origin[0], patch->origin[1], from, NULL);
  ef_face_chart_to_pump (chart, patch->origin[0] + 1e-3 * patch->load_u, patch->origin[1] + 1e-3 * patch->load_v, to, NULL);
  *dx = (to[0] - from[0]) / 1e-3;
  *dy = (to[1] - from[1]) / 1e-3;
}

/* On every plane face, brought back to the plan by the chart's own map, the arrow is the same one: it stands on the gear's axis and points to the
 * suction side, within 30 degrees of straight across the line of the axes. [common practice: gears wear the pocket wall on the suction side] */
static void
test_load (gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess_job (data);
  const EfSection *section = ef_flow_section (assessment->inspection->sheet);
  const char *faces[2] = { section->floor_face, section->facing_face };
  double sign = ef_section_delivery_sign (section);

  for (int f = 0; f < 2; f++)
    {
      EfFaceChart *chart = chart_of (assessment, faces[f]);
      g_autoptr (EfFlowField) field = field_of (assessment, faces[f]);

      for (int gear = 0; gear < 2; gear++)
        {
          double at[3], dx, dy;

          ef_face_chart_to_pump (chart, field->patch[gear].origin[0], field->patch[gear].origin[1], at, NULL);
          g_assert_cmpfloat_with_epsilon (at[0], ef_section_axis_x (section, gear), 1e-9);
          g_assert_cmpfloat_with_epsilon (at[1], 0, 1e-9);
          to_plan (chart, &field->patch[gear], &dx, &dy);
          g_assert_cmpfloat_with_epsilon (hypot (dx, dy), 1, 1e-6);
          g_assert_cmpfloat (-sign * dy, >, cos (G_PI / 6));
          g_assert_cmpfloat (field->patch[gear].load, ==, assessment->flow->state[EF_STATE_FOUND].idle.loss.load[gear]);
          g_assert_cmpfloat (field->patch[gear].load, >, 1);
        }
    }
}

/* On a gear's ends: the oil presses from where its pressure is. The sum of pressure over the sealing side can't be had from the ends' film, but the
 * arrow must point from the film's high side to its low side, the same on the mirrored end. */
static void
test_load_on_ends (gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess_job (data);
  g_auto (GStrv) faces = film_faces (assessment);

  for (guint f = 2; faces[f] != NULL; f++)
    {
      g_autoptr (EfFlowField) field = field_of (assessment, faces[f]);
      const EfFieldPatch *patch = &field->patch[0];
      double pitch = 2 * patch->extent / patch->cells, mean = 0, u_high = 0, v_high = 0, along;
      guint n = 0;

      for (guint k = 0; k < patch->cells * patch->cells; k++)
        if (!isnan (patch->values[k]))
          {
            mean += patch->values[k];
            n++;
          }
      mean /= n;
      for (guint j = 0; j < patch->cells; j++)
        for (guint i = 0; i < patch->cells; i++)
          {
            double p = patch->values[j * patch->cells + i], u, v;

            if (isnan (p))
              continue;
            ef_field_patch_to_chart (patch, -patch->extent + (i + 0.5) * pitch, -patch->extent + (j + 0.5) * pitch, &u, &v);
            u_high += (p - mean) * u;
            v_high += (p - mean) * v;
          }
      along = (u_high * patch->load_u + v_high * patch->load_v) / hypot (u_high, v_high);
      g_test_message ("%s: cosine between the arrow and the way to the high side %.3f", faces[f], along);
      g_assert_cmpfloat (along, <, -0.75);
    }
}

/* The two ends of a gear are mirror images: the same film under mirrored places where nothing is worn. */
static void
test_mirror (void)
{
  g_autoptr (EfAssessment) assessment = assess_job (jobs[2]);
  const EfSection *section = ef_flow_section (assessment->inspection->sheet);

  for (int gear = 0; gear < 2; gear++)
    {
      g_autofree char *a = g_strdup_printf ("%s/end-a", section->gear_part[gear]);
      g_autofree char *b = g_strdup_printf ("%s/end-b", section->gear_part[gear]);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfFlowField) front = ef_flow_field_new (assessment, a, EF_STATE_NEW, NULL, &error);
      g_autoptr (EfFlowField) rear = ef_flow_field_new (assessment, b, EF_STATE_NEW, NULL, &error);
      guint n = 0;

      g_assert_no_error (error);
      for (int i = -20; i <= 20; i++)
        for (int j = -20; j <= 20; j++)
          {
            double u = i * 1e-3, v = j * 1e-3;
            double p = ef_flow_field_at (front, u, v), q = ef_flow_field_at (rear, -u, v);

            g_assert_cmpint (isnan (p), ==, isnan (q));
            if (isnan (p))
              continue;
            /* exact but for the two ports' cuts, the same here */
            g_assert_cmpfloat_with_epsilon (p, q, 0.02);
            n++;
          }
      g_assert_cmpuint (n, >, 200);
      g_assert_cmpfloat_with_epsilon (front->patch[0].load_u, -rear->patch[0].load_u, 1e-9);
      g_assert_cmpfloat_with_epsilon (front->patch[0].load_v, rear->patch[0].load_v, 1e-9);
    }
}

/* Stale fields are known as such; a cancelled one says so. */
static void
test_stale (void)
{
  g_autoptr (EfAssessment) assessment = assess_anew (jobs[1]);
  const EfSection *section = ef_flow_section (assessment->inspection->sheet);
  g_autoptr (EfFlowField) field = field_of (assessment, section->floor_face);
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_flow_field_is_of (field, assessment));
  assessment->serial++;
  g_assert_false (ef_flow_field_is_of (field, assessment));
  assessment->serial--;
  assessment->flow->state[EF_STATE_FOUND].idle.pressure *= 1.01;
  g_assert_false (ef_flow_field_is_of (field, assessment));
  g_cancellable_cancel (cancellable);
  g_assert_null (ef_flow_field_new (assessment, section->floor_face, EF_STATE_FOUND, cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/flow-field/which-faces", test_which_faces);
  for (guint i = 0; i < G_N_ELEMENTS (jobs); i++)
    {
      const struct
      {
        const char *name;
        GTestDataFunc func;
      } tests[] = { { "sides", test_sides }, { "teeth", test_teeth }, { "load", test_load }, { "load-on-ends", test_load_on_ends } };

      for (guint k = 0; k < G_N_ELEMENTS (tests); k++)
        {
          g_autofree char *path = g_strdup_printf ("/flow-field/%s/%s", tests[k].name, jobs[i]);

          g_test_add_data_func (path, jobs[i], tests[k].func);
        }
    }
  g_test_add_func ("/flow-field/mirror", test_mirror);
  g_test_add_func ("/flow-field/stale", test_stale);

  return g_test_run ();
}
