/* The marks that each kind of wear leaves on a specimen.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-specimen-private.h"

#include <math.h>

#define LIP_FROM_END 0.65e-3 /* m: the gear's broken corner leaves that much of the wall by the pocket's end unworn */
#define LIP_WIDTH 0.6e-3
#define LIP_NODES 9
#define LIP_SHARE 0.2 /* of its depth: from here on it's a lip that can be felt and not just a wall that begins to wear */
#define ARC_NODES 17
#define DISC_NODES 72

/* A place of the plan, in the section's own frame (y towards delivery), on a plan face's chart. */
static void
add_plan_node (EfSpecimenMaker *m,
               const EfFaceChart *chart,
               EfMark *mark,
               double x,
               double y)
{
  double position[3];

  /* faces that look to the rear are mirrored */
  ef_face_chart_to_pump (chart, 1e-3, 0.0, position, NULL);
  ef_mark_add_node (mark, position[0] > 0.0 ? x : -x, y * ef_section_delivery_sign (m->section));
}

static double
axis_x (EfSpecimenMaker *m,
        int gear)
{
  return ef_section_axis_x (m->section, gear);
}

/* An arc about a gear's axis in its wall frame, from @psi0 to @psi1, a little uneven as grit runs. */
static void
add_arc (EfSpecimenMaker *m,
         const EfFaceChart *chart,
         EfMark *mark,
         int gear,
         double radius,
         double psi0,
         double psi1)
{
  double away = gear == 0 ? -1.0 : 1.0;

  for (int i = 0; i < ARC_NODES; i++)
    {
      double psi = psi0 + (psi1 - psi0) * i / (ARC_NODES - 1);
      double r = radius + ef_specimen_draw (m, -0.04e-3, 0.04e-3);

      add_plan_node (m, chart, mark, axis_x (m, gear) + away * r * cos (psi), r * sin (psi));
    }
}

/* Depth at the first node, the middle and the last. */
static void
add_depths (EfMark *mark,
            double first,
            double middle,
            double last)
{
  guint n = mark->nodes->len;
  const EfMarkNode *nodes = (const EfMarkNode *) mark->nodes->data;

  ef_mark_add_depth (mark, nodes[0].u, nodes[0].v, first, EF_UNIT_MM, NULL);
  if (n > 2)
    ef_mark_add_depth (mark, nodes[n / 2].u, nodes[n / 2].v, middle, EF_UNIT_MM, NULL);
  ef_mark_add_depth (mark, nodes[n - 1].u, nodes[n - 1].v, last, EF_UNIT_MM, NULL);
}

void
ef_specimen_lip (EfSpecimenMaker *m,
                 int gear,
                 double psi,
                 double depth)
{
  g_autofree char *face = g_strdup_printf ("%s/wall-%s", m->section->pocket_part, gear == 0 ? "drive" : "driven");
  g_autoptr (EfFaceChart) chart = ef_specimen_chart (m, face);
  EfCrescent crescent = { g_strdup (face), psi, depth + m->sizes.tip_clearance[gear], m->sizes.tip_clearance[gear], 0.0, 0.0 };
  EfMark *mark;
  double half, v;

  if (chart == NULL)
    {
      g_free (crescent.face_id);
      return;
    }
  v = chart->v1 - LIP_FROM_END;
  crescent.v0 = chart->v0;
  crescent.v1 = v;
  g_array_append_val (m->specimen->crescents, crescent);
  half = acos ((crescent.clearance + LIP_SHARE * depth) / crescent.reach);
  mark = ef_mark_new (face, EF_MARK_LIP, EF_SHAPE_LINE, LIP_WIDTH);
  for (int i = 0; i < LIP_NODES; i++)
    {
      double at = psi + half * (2.0 * i / (LIP_NODES - 1) - 1.0);
      double u = CLAMP (at * chart->cylinder_radius, chart->u0, chart->u1);
      double dv = ef_specimen_draw (m, -0.05e-3, 0.05e-3);

      ef_mark_add_node (mark, u, v + dv);
      if (i % 2 == 0)
        {
          const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

          ef_mark_add_depth (mark, node->u, node->v, ef_crescent_depth (&crescent, at), EF_UNIT_MM, NULL);
        }
    }
  ef_specimen_add_mark (m, mark);
}

/* Across the land by the mesh, from the delivery port to the suction port. */
static void
add_land_groove (EfSpecimenMaker *m,
                 const EfFaceChart *chart,
                 double x,
                 double depth)
{
  double reach = 0.22 * (axis_x (m, 1) - axis_x (m, 0));
  EfMark *mark = ef_mark_new (chart->id, EF_MARK_GROOVE, EF_SHAPE_LINE, ef_specimen_draw (m, 0.4e-3, 1.1e-3));

  for (int i = 0; i < 5; i++)
    add_plan_node (m, chart, mark, x + ef_specimen_draw (m, -0.25e-3, 0.25e-3), reach * (1.0 - 0.5 * i));
  add_depths (mark, depth, 0.85 * depth, 0.6 * depth);
  ef_specimen_add_mark (m, mark);
}

static void
add_round_groove (EfSpecimenMaker *m,
                  const EfFaceChart *chart,
                  int gear,
                  double depth)
{
  double inner = m->section->shaft_radius[gear] + 2e-3;
  double outer = m->section->pair.in.tip_radius[gear] - 0.8e-3;
  EfMark *mark = ef_mark_new (chart->id, EF_MARK_SCORING, EF_SHAPE_LINE, ef_specimen_draw (m, 0.3e-3, 0.7e-3));

  add_arc (m, chart, mark, gear, ef_specimen_draw (m, inner, outer), ef_specimen_draw (m, 80, 95) * G_PI / 180.0, ef_specimen_draw (m, -95, -80) * G_PI / 180.0);
  add_depths (mark, depth, 0.8 * depth, 0.6 * depth);
  ef_specimen_add_mark (m, mark);
}

/* A ring on a gear's end: what sat in the plate has cut it too. Lighter, since steel is harder. */
static void
add_gear_ring (EfSpecimenMaker *m,
               int gear,
               int end,
               double depth)
{
  g_autofree char *face = g_strdup_printf ("%s/end-%c", m->section->gear_part[gear], 'a' + end);
  g_autoptr (EfFaceChart) chart = ef_specimen_chart (m, face);
  double root = m->section->pair.in.root_radius[gear];
  double radius = ef_specimen_draw (m, m->section->shaft_radius[gear] + 1.5e-3, root - 0.8e-3);
  double start = ef_specimen_draw (m, 0, 2 * G_PI), span = ef_specimen_draw (m, 0.6, 1.9) * G_PI;
  EfMark *mark;

  if (chart == NULL)
    return;
  mark = ef_mark_new (face, EF_MARK_SCORING, EF_SHAPE_LINE, ef_specimen_draw (m, 0.2e-3, 0.4e-3));
  for (int i = 0; i < ARC_NODES; i++)
    {
      double angle = start + span * i / (ARC_NODES - 1);

      ef_mark_add_node (mark, radius * cos (angle), radius * sin (angle));
    }
  add_depths (mark, depth, depth, depth);
  ef_specimen_add_mark (m, mark);
}

void
ef_specimen_debris (EfSpecimenMaker *m,
                    double depth)
{
  guint n = 3 + gsl_rng_uniform_int (m->rng, 3);

  for (int i = 0; i < 2; i++)
    {
      g_autoptr (EfFaceChart) chart = ef_specimen_faces (m->section, i) != NULL ? ef_specimen_chart (m, ef_specimen_faces (m->section, i)) : NULL;
      double share = i == 0 ? 1.0 : ef_specimen_draw (m, 0.5, 0.8); /* the softer or the nearer face takes more */

      for (guint k = 0; chart != NULL && k < n; k++)
        {
          /* the deepest first, the others less */
          double part = k == 0 ? 1.0 : ef_specimen_draw (m, 0.4, 0.9);

          add_land_groove (m, chart, (k - 0.5 * (n - 1)) * 1.5e-3, share * part * depth);
        }
      for (guint k = 0; chart != NULL && k < 2 + n; k++)
        add_round_groove (m, chart, k % 2, share * ef_specimen_draw (m, 0.4, 0.9) * depth);
    }
  for (int gear = 0; gear < 2; gear++)
    add_gear_ring (m, gear, gsl_rng_uniform_int (m->rng, 2), ef_specimen_draw (m, 4e-6, 9e-6));
}

/* Where the gears' ends run: a disc under each. */
static void
add_discs (EfSpecimenMaker *m,
           const char *face,
           double depth)
{
  g_autoptr (EfFaceChart) chart = face != NULL ? ef_specimen_chart (m, face) : NULL;

  for (int gear = 0; chart != NULL && gear < 2; gear++)
    {
      EfMark *mark = ef_mark_new (face, EF_MARK_STEP, EF_SHAPE_AREA, 0.0);
      double radius = m->section->pair.in.tip_radius[gear] - 0.1e-3;
      EfMarkNode *nodes;

      for (int i = 0; i < DISC_NODES; i++)
        add_plan_node (m, chart, mark, axis_x (m, gear) + radius * cos (2.0 * G_PI * i / DISC_NODES), radius * sin (2.0 * G_PI * i / DISC_NODES));
      nodes = (EfMarkNode *) mark->nodes->data;
      ef_mark_add_depth (mark, nodes[0].u, nodes[0].v, depth, EF_UNIT_MM, NULL);
      ef_specimen_add_mark (m, mark);
    }
}

void
ef_specimen_steps (EfSpecimenMaker *m,
                   double plate,
                   double floor)
{
  add_discs (m, m->section->facing_face, plate);
  add_discs (m, m->section->floor_face, floor);
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      add_gear_ring (m, gear, end, ef_specimen_draw (m, 3e-6, 8e-6));
}

/* What went round between a tip and the wall: a track along the wall's depth, and a dent in a tip. */
void
ef_specimen_track (EfSpecimenMaker *m,
                   int gear,
                   double psi,
                   double depth)
{
  g_autofree char *wall = g_strdup_printf ("%s/wall-%s", m->section->pocket_part, gear == 0 ? "drive" : "driven");
  g_autofree char *tips = g_strdup_printf ("%s/tips", m->section->gear_part[gear]);
  g_autoptr (EfFaceChart) wall_chart = ef_specimen_chart (m, wall);
  g_autoptr (EfFaceChart) tip_chart = ef_specimen_chart (m, tips);
  EfMark *mark;

  if (wall_chart == NULL || tip_chart == NULL)
    return;
  mark = ef_mark_new (wall, EF_MARK_GROOVE, EF_SHAPE_LINE, 0.8e-3);
  for (int i = 0; i < 7; i++)
    {
      double at = psi + (i / 6.0 - 0.5) * 0.5;

      ef_mark_add_node (mark, at * wall_chart->cylinder_radius, wall_chart->v0 + (0.35 + 0.03 * i) * (wall_chart->v1 - wall_chart->v0));
    }
  add_depths (mark, 0.4 * depth, depth, 0.4 * depth);
  ef_specimen_add_mark (m, mark);
  mark = ef_mark_new (tips, EF_MARK_IMPRINT, EF_SHAPE_POINT, 0.7e-3);
  ef_mark_add_node (mark, tip_chart->u0 + tip_chart->strip_pitch * gsl_rng_uniform_int (m->rng, tip_chart->n_strips) + 0.5 * tip_chart->strip_width,
                    tip_chart->v0 + 0.45 * (tip_chart->v1 - tip_chart->v0));
  ef_mark_set_depth (mark, 30e-6, EF_UNIT_MM, NULL);
  ef_specimen_add_mark (m, mark);
}

/* Short arcs on one side of the pump, well within the limits. */
void
ef_specimen_light_scoring (EfSpecimenMaker *m,
                           guint n)
{
  for (guint k = 0; k < n; k++)
    {
      const char *face = ef_specimen_faces (m->section, gsl_rng_uniform_int (m->rng, 2));
      g_autoptr (EfFaceChart) chart = face != NULL ? ef_specimen_chart (m, face) : NULL;
      int gear = gsl_rng_uniform_int (m->rng, 2);
      double side = gsl_rng_uniform (m->rng) < 0.5 ? -1.0 : 1.0;
      double radius = ef_specimen_draw (m, m->section->shaft_radius[gear] + 2e-3, m->section->pair.in.tip_radius[gear] - 1e-3);
      double depth = ef_specimen_draw (m, 4e-6, 12e-6);
      EfMark *mark;

      if (chart == NULL)
        continue;
      mark = ef_mark_new (face, EF_MARK_SCORING, EF_SHAPE_LINE, ef_specimen_draw (m, 0.2e-3, 0.4e-3));
      add_arc (m, chart, mark, gear, radius, side * ef_specimen_draw (m, 15, 30) * G_PI / 180.0, side * ef_specimen_draw (m, 50, 80) * G_PI / 180.0);
      add_depths (mark, depth, depth, depth);
      ef_specimen_add_mark (m, mark);
    }
}

void
ef_specimen_imprints (EfSpecimenMaker *m,
                      guint n)
{
  for (guint k = 0; k < n; k++)
    {
      int gear = gsl_rng_uniform_int (m->rng, 2);
      g_autofree char *face = g_strdup_printf ("%s/flank-drive", m->section->gear_part[gear]);
      g_autoptr (EfFaceChart) chart = ef_specimen_chart (m, face);
      EfMark *mark;

      if (chart == NULL)
        return;
      mark = ef_mark_new (face, EF_MARK_IMPRINT, EF_SHAPE_POINT, ef_specimen_draw (m, 0.4e-3, 0.7e-3));
      ef_mark_add_node (mark,
                        chart->u0 + chart->strip_pitch * gsl_rng_uniform_int (m->rng, chart->n_strips) + chart->strip_width * ef_specimen_draw (m, 0.4, 0.7),
                        chart->v0 + (chart->v1 - chart->v0) * ef_specimen_draw (m, 0.15, 0.85));
      ef_mark_set_depth (mark, ef_specimen_draw (m, 10e-6, 30e-6), EF_UNIT_MM, NULL);
      ef_specimen_add_mark (m, mark);
    }
}
