/* The gaps of one section in one state: clearances with their growth when hot, and what the depth maps add.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-worn-map.h"
#include "../flow/ef-working-point.h"
#include "../judge/ef-judge.h"

G_BEGIN_DECLS

/* Ends: 0 is the front one, where the gears' end a is. */
typedef struct
{
  const EfSection *section;
  double delivery_sign;
  double end_clearance[2]; /* of each gear, both ends together, cold, m */
  double end_share;        /* of it at the front end */
  double tip_clearance[2]; /* cold */
  double side_play[2];
  double alpha_housing, alpha_gear;
  double temperature;      /* K, sets the hot clearances below */
  double hot_end[2];
  double hot_tip[2];
  EfWornMap *plate[2];     /* the face opposite the gears at each end; NULL: untouched */
  EfWornMap *gear_end[2][2]; /* gear, end */
  EfWornMap *wall[2];
  double tip_depth[2][EF_MESH_MOST_TEETH]; /* mean wear of each tooth's tip, m */
  EfDepthMap *tips[2]; /* borrowed: what they were taken from; NULL: untouched */
  /* Each gear end against the gaps that its films were last given; set by whoever gives them. */
  struct
  {
    gboolean known;
    const EfWornChange *plate, *gear_end; /* borrowed */
  } since[2][2];
} EfFlowGaps;

void ef_flow_gaps_clear (EfFlowGaps *gaps);
/* Mean depth of each strip of a tips chart; @map NULL: none. */
void ef_flow_gaps_set_tips (EfFlowGaps *gaps, int gear, const EfFaceChart *chart, EfDepthMap *map);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfFlowGaps, ef_flow_gaps_clear)
/* Sets temperature and hot clearances. Fails with EF_ERROR_RANGE, saying which, when one isn't above 0. */
gboolean ef_flow_gaps_heat (EfFlowGaps *gaps, double temperature, GError **error);
/* Whether a gear end's film is the same all over. */
gboolean ef_flow_gaps_even (const EfFlowGaps *gaps, int gear, int end);
double ef_flow_gaps_film (const EfFlowGaps *gaps, int gear, int end); /* m, without wear, hot */

/* For ef_section_flow_set_gap() and EfSectionConditions; user_data: const EfFlowGaps *. */
double ef_flow_end_gap (int gear, int end, double x, double y, double turn, gpointer user_data);
gboolean ef_flow_end_even (int gear, int end, double x, double y, double half, double turn, gpointer user_data, double *cube_out);
gboolean ef_flow_end_same (int gear, int end, double x, double y, double half, double turn, gpointer user_data);
void ef_flow_wall_gap (int gear, int tooth, double psi, double h, EfTipGap *out, gpointer user_data);

G_END_DECLS
