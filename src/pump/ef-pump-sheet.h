/* A pump sheet: a pump model in numbers, as read from JSON (data/pump-sheets/, schema beside them).
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pump axes: z points out of the drive end towards the viewer, x from the drive gear's axis to the driven gear's, y up in
 * the front view; origin midway between the axes, z = 0 at the front side of the frontmost housing, plate or cover. The drive shaft's axis is x = -a/2, the driven one's x = +a/2, for all
 * sections. Rotation +1: the drive gear turns anticlockwise in the front view. The mesh then moves towards +y, so oil is
 * carried round the outside from +y to -y: delivery is the side y < 0 for rotation +1, y > 0 for -1.
 */
#pragma once

#include "../geometry/ef-gear-pair.h"
#include "../base/ef-error.h"

G_BEGIN_DECLS

typedef enum { EF_SECTION_PRESSURE, EF_SECTION_SCAVENGE } EfSectionRole;
typedef enum { EF_SIDE_SUCTION, EF_SIDE_DELIVERY } EfSide;

typedef enum
{
  EF_PART_HOUSING,
  EF_PART_PLATE, /* separator or wear plate */
  EF_PART_COVER,
  EF_PART_GEAR,
  EF_PART_SHAFT,
  EF_PART_PICKUP, /* from here on: check list only, no chart */
  EF_PART_PIN,
  EF_PART_STUD,
  EF_N_PART_KINDS
} EfPartKind;

/* A hole through a plan face: stud, dowel, oil way or shaft. */
typedef struct
{
  char *id;
  char *kind; /* "stud", "dowel", "oil" */
  double x, y, diameter;
} EfHole;

typedef struct
{
  char *id; /* "drive", "driven" (bores); "front", "rear" … (journals); keyways, pin holes */
  int axis; /* 0 drive, 1 driven */
  double diameter; /* keyways: the width */
  double length;
  double z;      /* shafts: start of the journal along the shaft from its front end (pin holes: their middle); bores: 0 */
  double depth;  /* keyways: from the shaft's or bore's surface; else 0 */
  char *runs_in; /* journals: face id of the bore or hole they run in; NULL if none was named */
} EfCylinder;

/* Where a housing's pocket opens: that side is the mating face. Through: mating faces on both sides, no floor. */
typedef enum { EF_OPENS_NOT, EF_OPENS_FRONT, EF_OPENS_REAR, EF_OPENS_THROUGH } EfOpens;

typedef struct
{
  char *id;
  EfPartKind kind;
  char *name;     /* shown: "Separator plate" */
  char *material; /* "aluminium-alloy", "magnesium-alloy", "cast-iron", "steel" */
  char *section;  /* section id it belongs to, or NULL */
  int gear;       /* gears and shafts: 0 drive, 1 driven; else -1 */
  int order;      /* place along the axis, front (drive end) first; equal numbers stand side by side */
  double thickness; /* along z, m: for gears the face width, for shafts the length */
  double z_front;   /* pump z of its front side, m: stacked up from the order; gears midway in their pocket; shafts from the sheet */
  EfOpens opens;    /* housings */
  double margin;    /* plates and housings: footprint is the hull of the pockets grown by this */
  GArray *holes;    /* EfHole */
  GArray *bores;    /* EfCylinder: shaft bores of housings, covers, plates */
  GArray *journals; /* EfCylinder: journals of shafts */
  GArray *keyways;  /* EfCylinder: diameter field is the width */
  GArray *pin_holes; /* EfCylinder */
  gboolean lappable;       /* its plan faces may be lapped on a plate */
  double lap_stock;        /* m that may be taken off one face, in all */
  double lap_reserve;      /* m that may be taken off all faces together before threads, dowels or ports end too deep or the part gets too thin; 0: not limited */
  gboolean floor_lappable; /* housings: the pocket floor can be lapped, with a plate that fits into the pocket */
  double shoulder_play;    /* shafts: m by which the stack between its shoulders may get thinner; 0: it has none */
  gboolean bushable;       /* bores may be bushed */
  char *check;             /* check-list parts: what to look at */
} EfPart;

/* A port cut into the faces at the ends of the gears. */
typedef struct
{
  EfSide side;
  EfRing outline; /* plan frame of the section, front view, m, anticlockwise */
  gboolean in_floor, in_facing;
} EfPort;

typedef struct
{
  char *id;
  EfSectionRole role;
  char *name;
  EfGearPair pair; /* solved */
  int rotation;    /* +1, -1 */
  double pocket_radius[2];
  double pocket_depth;
  double shaft_radius[2];   /* at the gear ends: leakage runs to these bores; the larger of the two faces' bores */
  double z_front;           /* pump z of the pocket's front end, m; it reaches to z_front - pocket_depth */
  double suction_angle;     /* psi_s, delivery_angle: psi_d, rad: see flow */
  double delivery_angle;
  GArray *ports;            /* EfPort */
  char *pocket_part;        /* part whose pocket wall encloses the gears */
  char *floor_face;         /* face id at the rear end of the gears, "part/face" */
  char *facing_face;        /* face id at the front end of the gears, or the other way round as the pump is built */
  char *mating_face;        /* the housing face that seals against the facing part */
  char *gear_part[2];
} EfSection;

/* A limit with its source. NAN where not given. SI. */
typedef struct
{
  char *quantity; /* "end-clearance", "tip-clearance", "backlash", "side-play", "bore-clearance", "bore-ovality", "flatness",
                     "plate-groove", "wall-lip", "wall-scoring", "floor-scoring", … (see data/rules) */
  char *target;   /* section or part id, or NULL for all */
  double as_new_min, as_new_max;
  double wear_max;   /* above: not to be used again as it is */
  double rework_max; /* above: no rework allowed */
  double wear_min;   /* below: too tight; NAN mostly */
  char *source;      /* "common practice, no source" where so */
} EfLimit;

typedef struct
{
  char *name;     /* "hot idle", "rated" */
  double speed;   /* rev/s of the drive gear */
  double pressure;    /* Pa */
  double temperature; /* K */
  double demand;  /* m3/s; NAN where not given */
} EfRatedPoint;

typedef struct
{
  char *file;   /* for messages */
  char *id;     /* "hl-24" */
  char *name;   /* "HL-24 launch engine oil pump" */
  char *model;  /* "HL-24" */
  char *notes;
  GPtrArray *sections; /* EfSection * */
  GPtrArray *parts;    /* EfPart *, in bench order */
  GArray *limits;      /* EfLimit */
  GArray *rated;       /* EfRatedPoint */
  char *oil;           /* grade name, e.g. "SAE 30" */
  double nu40, nu100;  /* m2/s */
  double density15;    /* kg/m3 */
  double relief;       /* Pa; NAN none */
  GPtrArray *cautions; /* char * */
  GPtrArray *hazards;  /* char *, one a caution: which hazard it speaks of, of ef_hazards; NULL: one of its own */
  char *mounting, *pickup; /* notes */
  char *rules;         /* its own rules as {"rules": […]}, in canonical form; NULL: none. What they say is read where they are used. */
  char *json;          /* the text it was read from, kept whole for the exchange file */
  gint ref_count;
} EfPumpSheet;

/* "heat", "hot-oil", "solvent", "magnesium", "abrasive", "eyes", "pressure"; ended by NULL. Where a sheet speaks of one, its words stand for the program's own. */
extern const char *const ef_hazards[];

/* Each fails with a message of the form "file: path: expected …". */
EfPumpSheet *ef_pump_sheet_load (const char *path, GError **error);
EfPumpSheet *ef_pump_sheet_parse (const char *json, const char *file, GError **error);
EfPumpSheet *ef_pump_sheet_ref (EfPumpSheet *sheet);
void ef_pump_sheet_unref (EfPumpSheet *sheet);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfPumpSheet, ef_pump_sheet_unref)

/* By id; borrowed; NULL: the sheet has none such, or @id is NULL. */
const EfPart *ef_pump_sheet_part (const EfPumpSheet *sheet, const char *id);
const EfSection *ef_pump_sheet_section (const EfPumpSheet *sheet, const char *id);
/* Section a gear, housing or plate side belongs to by its face id "part/face"; NULL if none. */
const EfSection *ef_pump_sheet_face_section (const EfPumpSheet *sheet, const char *face_id);
/* The gear that runs with this one. */
const EfPart *ef_pump_sheet_mate (const EfPumpSheet *sheet, const EfPart *gear);
/* The limit for a quantity on a target (section, part or face id; NULL: the whole pump): the target's own, else its
 * part's, else its section's, else the one for all; NULL if the sheet has none. */
const EfLimit *ef_pump_sheet_limit (const EfPumpSheet *sheet, const char *quantity, const char *target);
const EfRatedPoint *ef_pump_sheet_rated (const EfPumpSheet *sheet, const char *name);
/* +1 when the delivery side is y > 0, -1 when y < 0. */
int ef_section_delivery_sign (const EfSection *section);
const char *ef_part_kind_name (EfPartKind kind);
/* Linear expansion of a pump sheet's material near 20 to 120 degrees C, 1/K (textbook figures, rounded; from memory). FALSE for an unknown one. */
gboolean ef_material_expansion (const char *material, double *alpha_out);
/* A hole, bore, journal … of the part by its id; NULL. */
const EfCylinder *ef_part_cylinder (const GArray *cylinders, const char *id);
/* Plan outline of a housing, plate or cover (front view): hull of its pockets grown by its margin. */
EfRegion *ef_part_footprint (const EfPumpSheet *sheet, const EfPart *part, GError **error);
/* psi (rad, (-pi, pi]) of a place in the plan, front view: angle about the axis from the direction pointing away from the mate,
 * positive towards delivery; and back: the place at psi on radius r. */
double ef_section_psi (const EfSection *section, int axis, double x, double y);
void ef_section_at_psi (const EfSection *section, int axis, double r, double psi, double *x, double *y);
/* Axis of gear 0/1 in the plan: -a/2, +a/2. */
double ef_section_axis_x (const EfSection *section, int axis);

/* Where the sheets shipped with the program are: $ENDFLOAT_DATADIR or the installed folder. */
char *ef_data_path (const char *first, ...) G_GNUC_NULL_TERMINATED;

G_END_DECLS
