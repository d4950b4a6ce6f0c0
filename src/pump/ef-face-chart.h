/* The faces of a part, each as a chart in the plane with a known map to pump axes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Chart coordinates (u, v) are metres. A plan face is seen as it lies when you look at it; a cylinder is unrolled, u along
 * the circumference (u = r angle), v along the axis; flanks and tips stand as one strip a tooth beside each other.
 * A face id is "part/face": "pressure-housing/floor", "separator/side-a", "pressure-drive-gear/flank-drive".
 *   housing   floor, wall-drive, wall-driven, mating, bore-drive, bore-driven
 *             with a through pocket: wall-drive, wall-driven, mating-front, mating-rear
 *   plate     side-a, side-b, hole-drive, hole-driven      (side-a looks to the front)
 *   cover     side-a or side-b: the ones that meet gears; hole-… where shafts pass
 *   gear      end-a, end-b (a: front), flank-drive, flank-coast, tips, bore, keyway where it has one
 *   shaft     journal-<id>, keyway-<id>, pin-hole-<id>
 * Where things lie on them:
 *   plan      u = x, v = y of the front view; on faces that look to the rear u = -x (mirrored)
 *   end       the gear's own frame, axis at 0, 0: tooth 1 on the +u axis, numbers rising anticlockwise on end-a; end-b mirrored, u = -x
 *   wall      u = R psi (0: away from the mate, positive towards delivery), v: depth from the mating face (through pockets: from the front one)
 *   bore      housing, plate, cover: u = R psi, v from the face that meets the gears (outer parts: from the front side, or the open end of a
 *             blind bore); gear: u = R angle from tooth 1, v from end-a
 *   flank     strip k is tooth k + 1: u = radius - strip_r0 (profile height, not length along the profile), v from end-a
 *             flank-drive is the flank that carries the drive when the pump turns as it should: driver's leading, driven gear's trailing one
 *   tips      strip k is tooth k + 1: u along the tip's arc, anticlockwise in the front view, v from end-a
 *   journal   u = R angle from the keyway (shaft angle 0), anticlockwise in the front view; v from the journal's front end
 *   keyway    unfolded: floor for |u| < width/2, the side walls beyond; v from its front end. At angle 0 of shaft or gear (under tooth 1)
 *   pin hole  u = r angle round the hole's axis from the direction to the front, v from the shaft's surface; bored 90 degrees on from the keyway
 * In the pump the drive gear and its shaft stand at angle 0 (tooth 1 towards the mate), the driven ones turned to mesh.
 */
#pragma once

#include "ef-pump-sheet.h"

G_BEGIN_DECLS

typedef enum
{
  EF_FACE_FLOOR, EF_FACE_WALL, EF_FACE_MATING, EF_FACE_BORE, /* housing; holes of plates are EF_FACE_BORE too */
  EF_FACE_SIDE,                                              /* plate, cover */
  EF_FACE_END, EF_FACE_FLANK, EF_FACE_TIPS,                  /* gear; its bore is EF_FACE_BORE */
  EF_FACE_KEYWAY, EF_FACE_JOURNAL, EF_FACE_PIN_HOLE,
  EF_N_FACE_KINDS
} EfFaceKind;

typedef enum
{
  EF_LINE_EDGE,   /* outline of the material */
  EF_LINE_HOLE,
  EF_LINE_PORT,
  EF_LINE_POCKET, /* footprint of the pocket on a plate */
  EF_LINE_GEAR,   /* a gear drawn where it runs, thin */
  EF_LINE_CIRCLE, /* tip, root, pitch circles; thin, dashed */
  EF_LINE_STRIP,  /* border between teeth on an unrolled chart */
} EfLineKind;

typedef struct
{
  EfLineKind kind;
  char *name; /* "suction port", "tip circle", "stud 3" */
  gboolean closed;
  EfRing path;
} EfChartLine;

/* A part of the face that seals: between pocket and outside, round a port, between delivery and suction. */
typedef struct
{
  char *name;
  EfRegion *region;
} EfChartBand;

typedef struct
{
  char *text; /* "1" … tooth numbers; "suction", "delivery" */
  char *role; /* "tooth", "suction", "delivery", "gear", "angle" */
  double u, v;
} EfChartLabel;

/* Something a mark snaps to. */
typedef struct
{
  enum { EF_SNAP_POINT, EF_SNAP_CIRCLE, EF_SNAP_RAY, EF_SNAP_LINE } kind;
  char *name;
  double u, v;   /* point, centre, start */
  double radius; /* circle */
  double angle;  /* ray, rad */
  double u2, v2; /* line's end */
} EfSnap;

/* How the chart lies in the pump: for the code that builds and maps charts; others call ef_face_chart_to_pump(). */
typedef struct
{
  enum { EF_FORM_PLANE, EF_FORM_CYLINDER, EF_FORM_FLANK, EF_FORM_TIPS, EF_FORM_KEYWAY, EF_FORM_PIN_HOLE } form;
  double axis_x;     /* of the gear, bore or shaft; 0 where u, v are the plan's own */
  double turn;       /* gears and shafts: angle they stand at, front view, rad */
  int looks;         /* plane: sign of the normal's z */
  double z0;         /* plane: z; else z where v = 0 */
  int z_sign;        /* z = z0 + z_sign v */
  int outward;       /* cylinders: +1 the normal points away from the axis; keyways: +1 cut into the outside of a shaft */
  double angle0;     /* cylinders: angle in the front view = angle0 + angle_sign u / radius */
  int angle_sign;
  int side;          /* flanks: +1 the flank on a tooth's anticlockwise side */
  double width, depth, radius; /* keyways; pin holes: radius of the shaft */
  int teeth;
  EfGearPair pair;   /* gears */
} EfChartMap;

typedef struct
{
  char *id;       /* "part/face" */
  char *part_id;
  char *face;     /* after the slash */
  char *name;     /* "Pocket floor" */
  EfFaceKind kind;
  int gear;       /* 0, 1: the axis it belongs to; -1 none */
  const EfSection *section; /* borrowed from the sheet; NULL if none */
  double u0, v0, u1, v1;    /* bounds */
  gboolean wraps;           /* u1 joins u0 */
  EfRegion *solid;          /* the material: marks count here only */
  GPtrArray *lines;         /* EfChartLine * */
  GPtrArray *bands;         /* EfChartBand * */
  GPtrArray *labels;        /* EfChartLabel * */
  GArray *snaps;            /* EfSnap */
  int rotation;             /* sense of rotation as seen on this face: +1 anticlockwise, -1, 0 none to show */
  double rotation_u, rotation_v, rotation_radius; /* where the arrow goes (drive gear's axis on the chart) */
  /* Unrolled strips, one a tooth: strip k spans u0 + k pitch … + width. 0 strips elsewhere. */
  guint n_strips;
  double strip_pitch, strip_width;
  double base_radius;    /* flanks */
  double strip_r0;       /* flanks: radius at the start of each strip's u; u grows with the radius */
  double cylinder_radius; /* unrolled cylinders */
  EfChartMap map;
  EfPumpSheet *sheet;    /* holds the section */
  gint ref_count;
} EfFaceChart;

/* All face ids of the pump in bench order, NULL-terminated; free with g_strfreev(). */
char **ef_face_ids (const EfPumpSheet *sheet);
/* Those of one part; empty for check-list parts. */
char **ef_part_face_ids (const EfPumpSheet *sheet, const char *part_id);
/* Builds a chart. Charts are immutable; keep and share them. */
EfFaceChart *ef_face_chart_new (EfPumpSheet *sheet, const char *face_id, GError **error);
EfFaceChart *ef_face_chart_ref (EfFaceChart *chart);
void ef_face_chart_unref (EfFaceChart *chart);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFaceChart, ef_face_chart_unref)

/* Chart to pump axes: position (m) and outward normal of the face there; either may be NULL. */
void ef_face_chart_to_pump (const EfFaceChart *chart, double u, double v, double position[3], double normal[3]);
/* What to read out at a point: angle about the face's own axis (rad, NAN if none), radius (m, NAN if none), tooth (1…, 0 none). */
typedef struct
{
  double angle;
  double radius;
  int tooth;
  int gear; /* 0/1: nearest axis on faces that show both; -1 */
} EfChartPlace;
void ef_face_chart_place (const EfFaceChart *chart, double u, double v, EfChartPlace *place_out);
/* Nearest snap within @reach metres: moves *u, *v and returns its name (borrowed), or NULL. */
const char *ef_face_chart_snap (const EfFaceChart *chart, double reach, double *u, double *v);
/* The id of the same face of the mate gear; FALSE where there is no such face. */
gboolean ef_face_chart_mate_id (const EfFaceChart *chart, char **face_id_out);
/* The place on that face which (u, v) meets: ends are mirrored about the line of the axes at the same share of the tooth height; a flank
 * place goes to the mate's radius that touches it (along the line of action: rho1 + rho2 = a sin alpha_w), clamped to the
 * flank, on the strip of the same number; tips keep their strip. Where the mate has fewer teeth the number wraps round. */
gboolean ef_face_chart_mate_point (const EfFaceChart *chart, double u, double v, double *u_out, double *v_out);
/* (u, v) as repeated on tooth @k further (k may be negative): rotation about the axis for gear ends, shift by strips for flanks and tips.
 * FALSE for faces without teeth. */
gboolean ef_face_chart_to_tooth (const EfFaceChart *chart, int k, double u, double v, double *u_out, double *v_out);
const char *ef_face_kind_name (EfFaceKind kind);

G_END_DECLS
