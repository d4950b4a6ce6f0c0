/* The form of faces and bores as measured: flatness as contours over the face, roundness as a polar plot, and both in words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each picture fills width x height from the origin. @unit: the unit of lengths people prefer; what is small is given in its fine one (µm, thou).
 * Nothing is told by colour alone: contours above the middle plane are full, below dashed, the middle one thick; what carries the zone is a
 * triangle pointing up or down; the four circles differ by line.
 */
#pragma once

#include "../metrology/ef-flat-form.h"
#include "../metrology/ef-round-form.h"
#include "ef-draw-text.h"

G_BEGIN_DECLS

/* Contours of the deviation from the zone's middle plane. Between the places it's interpolated straight over the triangles of their Delaunay
 * triangulation, so it meets every reading, never goes beyond the readings beside it, and ends at their hull. */
void ef_draw_flat_form (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfFlatForm *form, EfUnit unit, double width, double height);

/* What stands round a bore, angles in the face's own angle as in the readings. */
typedef struct
{
  double angle0;     /* rad: where the face's angle 0 is in the front view */
  int angle_sign;    /* +1: the face's angle grows anticlockwise in the front view */
  gboolean sides;    /* suction and delivery are to be named */
  gboolean delivery_plus; /* delivery lies at +90 degrees of the face's angle, suction at -90 */
  double load;       /* N, of the oil and the mate on what runs in the bore, at hot idle as found; NAN not known */
  double load_angle; /* rad */
} EfRoundPlace;

/* Nothing known but the angles as they are. */
void ef_round_place_init (EfRoundPlace *place);
/* From the chart of a bore, hole or journal, and the load as worked out (@assessment may be NULL). */
void ef_round_place_take (EfRoundPlace *place, const EfFaceChart *chart, const EfAssessment *assessment);
/* The chart's id for a bore or journal of a part: "part/bore-drive", "part/hole-drive", "shaft/journal-front". Free with g_free(). */
char *ef_round_face_id (const EfPumpSheet *sheet, EfQuantity quantity, const char *part_id, const char *place);

/* Seen from the front: deviations from the least-squares circle, exaggerated as said in the picture. */
void ef_draw_round_form (cairo_t *cr, const EfDrawStyle *style, const EfRoundForm *form, const EfRoundPlace *place, EfUnit unit, double width, double height);

/* "Out of flat 0.018 ± 0.005 mm (minimum zone), limit 0.030 mm. Carried by places 2, 5 and 7 above and 3 below." */
char *ef_draw_flat_words (const EfFlatForm *form, EfUnit unit);
char *ef_draw_round_words (const EfRoundForm *form, const EfRoundPlace *place, EfUnit unit);
/* The fine unit that goes with @unit, and a small length in it: "12 µm", "0.5 thou". */
EfUnit ef_draw_fine_unit (EfUnit unit);
char *ef_draw_fine (double metres, EfUnit unit, gboolean with_unit);

G_END_DECLS
