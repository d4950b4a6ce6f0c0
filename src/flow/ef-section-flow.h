/* One gear section: films at the four gear ends, tips round the walls, loads, averaged over the mesh positions.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A section flow holds the geometry's domains and, for each gear end, the conductances of its film at every mesh position. Giving one end a new gap
 * makes only its films new. Frames as in ef-mesh.h.
 */
#pragma once

#include "ef-film.h"
#include "ef-mesh.h"
#include "ef-tip.h"

G_BEGIN_DECLS

#define EF_CONTACT_PATCH 0.5e-3 /* radius of the no-flux patch round the contact, m: 0.3 to 1 mm change the loss by 3 % */

typedef struct
{
  int group; /* EF_GROUP_SUCTION or _DELIVERY */
  EfRing outline; /* canonical frame */
  gboolean at_end[2]; /* cut into the face at gear end 0, 1 */
} EfFlowPort;

typedef struct
{
  EfGearPair pair;
  double face_width;
  double shaft_radius[2];
  double suction_angle, delivery_angle; /* psi_s, psi_d */
  guint n_ports;
  EfFlowPort *ports;
} EfFlowGeometry;
void ef_flow_geometry_clear (EfFlowGeometry *geometry);

/* h^3 (m3) at a gear end, at a place of the gear's wall frame. @turn: psi of the gear's own first tooth; over the mesh positions the gear is
 * turned on by whole teeth too, so that wear on one tooth counts as what it is on average. */
typedef double (*EfEndGap) (int gear, int end, double x, double y, double turn, gpointer user_data);

/* The same where the gap is even over the square of @half to each side; NULL: never known to be. */
typedef gboolean (*EfEndEven) (int gear, int end, double x, double y, double half, double turn, gpointer user_data, double *cube_out);

/* Whether the gap there is what it was at the last successful ef_section_flow_set_gap() of this end; NULL: never known to be. */
typedef gboolean (*EfEndSame) (int gear, int end, double x, double y, double half, double turn, gpointer user_data);

typedef struct
{
  EfEndGap gap;
  EfEndEven even;
  EfEndSame same;
  gpointer user_data;
} EfEndGaps;

/* Mean gap and mean cube over the face width at a tip that stands at @psi. @h is the gap to an unworn wall, m: clearance less side play, so it may be
 * negative where the gear has worn its way in. @tooth: the gear's own, from 0. The function adds the wear and keeps the gap above EF_TIP_LEAST_GAP. */
typedef void (*EfWallGap) (int gear, int tooth, double psi, double h, EfTipGap *out, gpointer user_data);

typedef struct _EfSectionFlow EfSectionFlow;
/* Takes a copy of the geometry. @cells to the side of each gear face, @positions mesh positions (4; 8 for a report). */
EfSectionFlow *ef_section_flow_new (const EfFlowGeometry *geometry, guint cells, guint positions, EfFilmMethod method, GError **error);
/* Another with films of its own, which shares all that follows from the geometry alone. Those that share are for one thread at a time. */
EfSectionFlow *ef_section_flow_new_like (EfSectionFlow *other);
void ef_section_flow_free (EfSectionFlow *flow);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfSectionFlow, ef_section_flow_free)

/* The film at one gear end: even, or by a function. @serial tells gaps apart: nothing is solved when it's the same as before (0: always). */
gboolean ef_section_flow_set_even (EfSectionFlow *flow, int gear, int end, double h, GError **error);
gboolean ef_section_flow_set_gap (EfSectionFlow *flow, int gear, int end, guint64 serial, const EfEndGaps *gaps, GCancellable *cancellable, GError **error);

typedef struct
{
  double dp;    /* Pa */
  double mu;    /* Pa s */
  double speed; /* rev/s of the drive gear */
  double tip_clearance[2]; /* radial, m */
  double side_play[2];     /* how far the gear moves from the middle, m */
  EfWallGap wall;          /* NULL: unworn */
  gpointer wall_data;
} EfSectionConditions;

typedef struct
{
  double pressure_loss; /* m3/s, driven by pressure alone */
  double drag;          /* m3/s, dragged along the wall towards delivery: taken off the loss */
  double to_bores;      /* m3/s that reach the shaft bores, at the pressures of the turning gears */
  double film_loss;     /* m3/s of the pressure loss that leaves delivery by the gear ends */
  double constant;      /* L = mu pressure_loss / dp, m3 */
  double load[2];       /* N */
  double load_psi[2];   /* rad, direction of the load in the wall frame */
  guint iterations;     /* until the load's direction settled */
  double worst_imbalance; /* of the film solves */
  double reynolds;      /* rho U h / mu of the widest tip gap with rho 900: laminar below 1000 */
  double entry_share;   /* 0.75 rho v^2 / dp_i, worst: above 0.1 the tip loss is overestimated */
} EfSectionLoss;

/* Needs all four ends set. Iterates the direction of the side play until it settles to 0.05 degrees. */
gboolean ef_section_flow_solve (EfSectionFlow *flow, const EfSectionConditions *conditions, EfSectionLoss *loss, GError **error);

/* Pressure (share of dp, 0 … 1) in the film of one gear end at position 0, for drawing: solved when asked for. @values: cells x cells, row by row
 * in the gear's wall frame, NAN outside the film; free with g_free(). */
double *ef_section_flow_field (EfSectionFlow *flow, int gear, int end, const EfSectionConditions *conditions, GError **error);
/* The same at another of the mesh positions (0 … positions - 1). */
double *ef_section_flow_field_at (EfSectionFlow *flow, int gear, int end, guint position, const EfSectionConditions *conditions, GError **error);
/* How the gear stands then: psi of its first tooth in the wall frame. */
double ef_section_flow_turn (EfSectionFlow *flow, int gear, guint position);
guint ef_section_flow_positions (EfSectionFlow *flow);
guint ef_section_flow_cells (EfSectionFlow *flow);
double ef_section_flow_extent (EfSectionFlow *flow, int gear); /* half the side of the square, m */

G_END_DECLS
