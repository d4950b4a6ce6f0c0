/* What a lapping plan is asked for: faces, the sections whose end clearance they set, and every limit that must hold.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All lengths in m. A face's removal r >= 0 is how far the lapping plate comes down from the face's highest places. With D the pocket's depth and b the
 * width of a gear, the end clearance afterwards is
 *
 *   c_i = D + sum over the section's depth faces of (effect x r) - b_i + (r of end a + r of end b of gear i).
 *
 * A mating face has the effect -1 (the pocket gets shallower), a pocket floor +1. A housing open through has two mating faces in one section; a face that two sections
 * share stands in both. The formulas are those of rigid flat faces; no source needed.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

typedef enum
{
  EF_LAP_MATING,   /* housing mating face */
  EF_LAP_FLOOR,    /* pocket floor: only where the part's sheet says that it can be lapped */
  EF_LAP_PLATE,    /* side of a separator or wear plate */
  EF_LAP_GEAR_END, /* end a or b of a gear */
  EF_LAP_COVER,
  EF_LAP_OTHER,
  EF_N_LAP_ROLES
} EfLapRole;

const char *ef_lap_role_name (EfLapRole role); /* "mating", "floor", "plate", "gear-end", "cover", "other" */

typedef struct
{
  char *id;          /* "separator/side-a" */
  char *name;        /* as it stands in sentences: "Separator plate, side A"; NULL: the id */
  EfLapRole role;
  double needed;     /* depth of the deepest wear that counts, below the face's highest places */
  double residual;   /* of it that may stay */
  double flatness;   /* peak to valley as measured */
  double flatness_allowed; /* INFINITY: doesn't matter */
  double stock;      /* may come off in all; 0: not to be lapped */
  double weight;     /* effort for each m that comes off, >= 0 */
  double setup;      /* effort of touching the face at all, >= 0, in the unit of weight x m */
} EfLapFace;

typedef struct
{
  char *id;
  char *name;
  double depth;        /* D */
  double width[2];     /* b of the drive gear and the driven gear */
  double width_allowed; /* difference of the two widths afterwards; INFINITY: doesn't matter */
  double clearance_min, clearance_max; /* -INFINITY, INFINITY where there is none */
  double uncertainty;  /* standard uncertainty of the end clearance; 0 */
  double guard;        /* so many of it are kept off either end of the window; 0 */
  gboolean left_alone; /* the goal of small clearances doesn't count it */
  int ends[2][2];      /* face of each gear's ends a and b; -1: can't be lapped */
  GArray *effects;     /* EfLapTerm: the faces that change the pocket's depth */
} EfLapSection;

typedef struct
{
  int face;
  double effect;
} EfLapTerm;

/* A further limit on a weighted sum of removals: how deep a thread, dowel or port may end, the least thickness of a part, the stack between shoulders. */
typedef struct
{
  char *id;    /* "thickness:separator" */
  char *name;  /* "Separator plate, least thickness" */
  double min, max; /* of the sum; -INFINITY, INFINITY */
  GArray *terms;   /* EfLapTerm */
} EfLapLimit;

typedef struct
{
  GArray *faces;    /* EfLapFace */
  GArray *sections; /* EfLapSection */
  GArray *limits;   /* EfLapLimit */
} EfLapProblem;

/* Without faces, sections or limits. */
EfLapProblem *ef_lap_problem_new (void);
EfLapProblem *ef_lap_problem_copy (const EfLapProblem *problem);
void ef_lap_problem_free (EfLapProblem *problem);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLapProblem, ef_lap_problem_free)

/* Each returns a new one to be filled in, borrowed until the next of its kind is added: a face of weight 1 with nothing to take off and no stock; a section without window,
 * width rule or faces; a limit without terms that always holds. Texts are copied. */
EfLapFace *ef_lap_problem_add_face (EfLapProblem *problem, const char *id, EfLapRole role);
EfLapSection *ef_lap_problem_add_section (EfLapProblem *problem, const char *id);
EfLapLimit *ef_lap_problem_add_limit (EfLapProblem *problem, const char *id);
void ef_lap_section_add (EfLapSection *section, int face, double effect);
void ef_lap_limit_add (EfLapLimit *limit, int face, double effect);

/* By place, 0 …; borrowed. */
EfLapFace *ef_lap_problem_face (const EfLapProblem *problem, guint i);
EfLapSection *ef_lap_problem_section (const EfLapProblem *problem, guint i);
EfLapLimit *ef_lap_problem_limit (const EfLapProblem *problem, guint i);
/* -1: there is none. */
int ef_lap_problem_find_face (const EfLapProblem *problem, const char *id);
const char *ef_lap_face_name (const EfLapFace *face);
const char *ef_lap_section_name (const EfLapSection *section);

/* Least removal: max (needed - residual, flatness - flatness_allowed, 0). */
double ef_lap_face_least (const EfLapFace *face);
/* The window shrunk by guard x uncertainty at either end. */
void ef_lap_section_window (const EfLapSection *section, double *min_out, double *max_out);
/* End clearance of gear 0/1, its width, and the pocket's depth after the removals (one number a face). */
double ef_lap_section_clearance (const EfLapSection *section, const double *removal, int gear);
double ef_lap_section_width (const EfLapSection *section, const double *removal, int gear);
double ef_lap_section_depth (const EfLapSection *section, const double *removal);
double ef_lap_limit_sum (const EfLapLimit *limit, const double *removal);
/* Effort and stock of the removals. */
double ef_lap_problem_effort (const EfLapProblem *problem, const double *removal);
double ef_lap_problem_stock (const EfLapProblem *problem, const double *removal);
/* How far the removals break the limit they break most, m; <= 0: all hold. NULL @what_out, or receives that limit in words. */
double ef_lap_problem_violation (const EfLapProblem *problem, const double *removal, char **what_out);

/* Every number finite where it has to be, lengths not negative, faces that exist; fails with EF_ERROR_INVALID or _RANGE naming face or section and field. */
gboolean ef_lap_problem_check (const EfLapProblem *problem, GError **error);

G_END_DECLS
