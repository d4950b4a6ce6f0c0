/* A mark: one piece of wear or damage on one face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../base/ef-error.h"
#include "../base/ef-item.h"
#include "../base/ef-units.h"

G_BEGIN_DECLS

typedef enum
{
  EF_MARK_SCORING,
  EF_MARK_LIP,
  EF_MARK_GROOVE,
  EF_MARK_STEP,
  EF_MARK_FLAT_SPOT,
  EF_MARK_IMPRINT,
  EF_MARK_PITTING,
  EF_MARK_CHIP,
  EF_MARK_CRACK,
  EF_MARK_CORROSION,
  EF_N_MARK_KINDS
} EfMarkKind;

typedef enum
{
  EF_SHAPE_POINT, /* one node, size is the diameter */
  EF_SHAPE_LINE,  /* two or more nodes, size is the width */
  EF_SHAPE_AREA,  /* three or more nodes, closed; size unused */
  EF_N_SHAPES
} EfMarkShape;

typedef struct
{
  double u, v; /* on the chart, m */
} EfMarkNode;

/* A depth read at one place of the mark. */
typedef struct
{
  double u, v;
  double depth;   /* m, >= 0, below the face as new (a lip: height of the step felt) */
  EfUnit unit;    /* as it was typed */
  char *gauge_id; /* NULL: not said */
} EfMarkDepth;

typedef struct
{
  EfItem item;
  char *face_id;
  EfMarkKind kind;
  EfMarkShape shape;
  double size;   /* m */
  GArray *nodes;  /* EfMarkNode */
  GArray *depths; /* EfMarkDepth; may be empty: depth unknown */
  char *note;
  GStrv photos;   /* names or digests; may be NULL */
  int number;     /* shown on the face and in the report; 1 … in order of making */
} EfMark;

extern const EfItemClass ef_mark_class;

/* Without nodes or depths; @size in m, brought onto the nanometre grid. Nothing is checked: ef_mark_check(). */
EfMark *ef_mark_new (const char *face_id, EfMarkKind kind, EfMarkShape shape, double size);
void ef_mark_add_node (EfMark *mark, double u, double v); /* on the nanometre grid */
/* One reading of @depth m at a place of the chart, on the nanometre grid; @gauge_id NULL: not said. */
void ef_mark_add_depth (EfMark *mark, double u, double v, double depth, EfUnit unit, const char *gauge_id);
/* Drops all depths and sets one, at the first node. */
void ef_mark_set_depth (EfMark *mark, double depth, EfUnit unit, const char *gauge_id);
/* Numbers finite, node counts fit the shape, size > 0 where used, depths >= 0 and below 20 mm. Names the field. */
gboolean ef_mark_check (const EfMark *mark, GError **error);

/* Depth at a place inside the mark, m: one reading counts everywhere; along a line piecewise linear between the readings
 * projected onto it; over points and areas inverse-square-distance weighted. NAN when no depth is known. */
double ef_mark_depth_at (const EfMark *mark, double u, double v);
double ef_mark_deepest (const EfMark *mark); /* NAN when unknown */
/* Distance (m) from a place to the mark's body; 0 inside. For picking. */
double ef_mark_distance (const EfMark *mark, double u, double v);
void ef_mark_bounds (const EfMark *mark, double bounds[4]);
/* Length of the line or longest extent, m; area covered, m2. */
double ef_mark_length (const EfMark *mark);
double ef_mark_area (const EfMark *mark);
void ef_mark_translate (EfMark *mark, double du, double dv);

const char *ef_mark_kind_name (EfMarkKind kind);   /* "scoring", "flat-spot": in files */
const char *ef_mark_kind_label (EfMarkKind kind);  /* "Flat spot": untranslated, shown */
/* FALSE for a name that is none of them. */
gboolean ef_mark_kind_from_name (const char *name, EfMarkKind *kind_out);
/* "point", "line", "area", and back. */
const char *ef_mark_shape_name (EfMarkShape shape);
gboolean ef_mark_shape_from_name (const char *name, EfMarkShape *shape_out);

G_END_DECLS
