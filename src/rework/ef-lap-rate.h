/* What a pass of lapping takes off: a table to begin with, then learned from the shop's own readings.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Preston (1927): dz/dt = K p v, so a pass of pressure p over a way s takes off K p s. K depends on the material and the grit; the
 * shipped table (data/rules/lapping.json) gives it as the removal by one standard pass: common practice, no source.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_LAP_MOST_GRITS 8
/* An observation further from what the others say than this many standard uncertainties is doubtful. */
#define EF_LAP_DOUBTFUL 3.5

typedef struct
{
  char *name;    /* "coarse", "medium", "fine": as kept in records */
  char *paper;   /* "P400" */
  double grain;  /* mean, m */
  double damage; /* how deep its scratches reach, m */
  double effort; /* of one pass; any measure */
} EfLapGrit;

typedef struct
{
  char *name; /* as in pump sheets: "aluminium-alloy" */
  double removal[EF_LAP_MOST_GRITS]; /* m by one standard pass */
} EfLapMaterial;

typedef struct
{
  double pressure, stroke; /* of the standard pass: Pa, m of way */
  double uncertainty;      /* relative standard uncertainty of the table's rates */
  double scatter;          /* relative standard deviation of removal from time to time */
  guint n_grits;
  EfLapGrit grit[EF_LAP_MOST_GRITS]; /* coarsest first */
  guint n_materials;
  EfLapMaterial *material;
  char *note;
  guint learned;           /* measurements of the shop's own that its rates were learned from; 0: common practice only */
  gint ref_count;
} EfLapTable;

/* Strict; messages name file and field. */
EfLapTable *ef_lap_table_load (const char *path, GError **error);
EfLapTable *ef_lap_table_default (GError **error); /* the shipped one */
EfLapTable *ef_lap_table_ref (EfLapTable *self);
void ef_lap_table_unref (EfLapTable *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLapTable, ef_lap_table_unref)
/* -1 for one that isn't there. */
int ef_lap_table_grit (const EfLapTable *self, const char *name);
const EfLapMaterial *ef_lap_table_material (const EfLapTable *self, const char *name); /* NULL */
/* Preston's coefficient of the table, 1/Pa. */
double ef_lap_table_preston (const EfLapTable *self, const EfLapMaterial *material, guint grit);

/* Removal (m) at the coefficient (1/Pa), pressure (Pa), speed (m/s) and time (s). */
double ef_lap_preston_removal (double preston, double pressure, double speed, double time);

/* What is known of the rates of one material: removal by one standard pass of each grit with its covariance. */
typedef struct
{
  guint n;                              /* grits */
  double removal[EF_LAP_MOST_GRITS];    /* m */
  double covariance[EF_LAP_MOST_GRITS * EF_LAP_MOST_GRITS]; /* m2, symmetric, row by row */
  guint observations[EF_LAP_MOST_GRITS]; /* that each grit was learned from; 0: still the table's */
} EfLapRates;

/* Standard uncertainty of a grit's removal, m. */
double ef_lap_rates_u (const EfLapRates *rates, guint grit);
/* The table's, each rate on its own, uncertain by table->uncertainty. EF_ERROR_NOT_FOUND for a material that isn't in it. */
gboolean ef_lap_rates_prior (const EfLapTable *table, const char *material, EfLapRates *out, GError **error);
/* Predicted removal (m) by the passes and its standard uncertainty, that of the rates alone. @passes: of each grit. */
double ef_lap_rates_predict (const EfLapRates *rates, const double *passes, double *u_out);

/* One before/after measurement. */
typedef struct
{
  double passes[EF_LAP_MOST_GRITS]; /* of each grit */
  double pressure, stroke;          /* Pa, m by a pass; NAN: as in the table */
  double removal;                   /* m, before less after; noise may make it negative */
  double u;                         /* standard uncertainty of the removal, m, above 0 */
} EfLapObservation;

/* Numbers finite and possible. Names the field. */
gboolean ef_lap_observation_check (const EfLapObservation *observation, guint n_grits, GError **error);

/* One step of recursive least squares (Plackett 1950; with forgetting as in any text on adaptive filters): first the covariance is divided by
 * @forgetting (0 < f <= 1; 1 forgets nothing), then the observation's equation passes . removal = y, of @variance (m2), is taken in.
 * @h: passes of each grit, in standard passes. Returns the normalized innovation (y - h x) / sqrt (h P h' + variance) from before the step. */
double ef_lap_rates_update (EfLapRates *rates, const double *h, double y, double variance, double forgetting);

typedef struct
{
  EfLapRates rates;   /* learned */
  guint n;            /* observations */
  gboolean *doubtful; /* of each: left out */
  double *score;      /* of each: distance from what all the others that count say, in standard uncertainties */
} EfLapLearned;
void ef_lap_learned_clear (EfLapLearned *self);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfLapLearned, ef_lap_learned_clear)

/* From the table's rates and the observations, oldest first. The variance of each is its u2 and the scatter from time to time,
 * which is a share (table->scatter) of what the table has the passes take off. Where observations contradict the others by more than EF_LAP_DOUBTFUL, the
 * worst is left out and the rest is looked at again, so that one wrong reading early on can't make the right ones after it look wrong.
 * @forgetting: see ef_lap_rates_update(). Fails naming the observation and its field. */
gboolean ef_lap_learn (const EfLapTable *table, const char *material, const EfLapObservation *observations, guint n, double forgetting, EfLapLearned *out, GError **error);

/* For the plan of passes: removal by one pass of each grit, m: learned where that is above 0 by twice its uncertainty, else the table's. Any out may be NULL. */
void ef_lap_plan_removal (const EfLapTable *table, const char *material, const EfLapRates *learned, double removal_out[EF_LAP_MOST_GRITS], double u_out[EF_LAP_MOST_GRITS]);
/* A copy of the table whose rates of these @n materials are what was learned, as ef_lap_plan_removal() takes them. Materials that aren't in it are passed over. */
EfLapTable *ef_lap_table_taught (const EfLapTable *table, guint n, const char *const *materials, const EfLapLearned *learned);

G_END_DECLS
