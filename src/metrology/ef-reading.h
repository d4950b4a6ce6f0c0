/* Readings at the bench, the gauges they were taken with, and what follows simply from them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../base/ef-error.h"
#include "../base/ef-item.h"
#include "../base/ef-units.h"
#include "../pump/ef-face-chart.h"
#include "ef-certificate.h"

G_BEGIN_DECLS

typedef enum
{
  EF_GAUGE_FEELER, EF_GAUGE_MICROMETER, EF_GAUGE_BORE, EF_GAUGE_DEPTH, EF_GAUGE_DIAL, EF_GAUGE_STRAIGHTEDGE,
  EF_GAUGE_PLASTIC_STRIP, EF_GAUGE_SCRAPER, EF_GAUGE_FINGERNAIL, EF_N_GAUGE_KINDS
} EfGaugeKind;

typedef struct
{
  EfItem item;
  EfGaugeKind kind;
  char *name;          /* "Depth micrometer 0–25 mm" */
  char *serial;
  double resolution;   /* m */
  double uncertainty;  /* expanded, k = 2, m */
  double range_min, range_max; /* m; NAN none */
  char *checked, *due; /* ISO dates or NULL */
  char *note;          /* its certificate, or that there is none; NULL */
  GPtrArray *certificates; /* EfCertificate *; NULL none */
} EfGauge;
extern const EfItemClass ef_gauge_class;

/* A gauge of the kind as a workshop usually has it: resolution, expanded uncertainty and range are common practice, no
 * source; replace them by the certificate's. Name filled in, no serial, no dates. */
EfGauge *ef_gauge_default (EfGaugeKind kind);
/* Numbers finite and plausible, range in order, dates ISO 8601 calendar dates. Names the field. */
gboolean ef_gauge_check (const EfGauge *gauge, GError **error);
/* And which field it is: "name", "resolution", "uncertainty", "range_min", "range_max", "checked", "due", "kind",
 * "certificates"; static. */
gboolean ef_gauge_check_field (const EfGauge *gauge, const char **field_out, GError **error);
/* TRUE when the gauge has a due date before @date ("2026-05-31"). */
gboolean ef_gauge_overdue (const EfGauge *gauge, const char *date);
/* TRUE when it falls due within EF_GAUGE_SOON_DAYS of @date. */
#define EF_GAUGE_SOON_DAYS 30
/* FALSE without a due date, and where it is past. */
gboolean ef_gauge_due_soon (const EfGauge *gauge, const char *date);

typedef enum
{
  EF_READ_END_CLEARANCE,  /* target: section; place: "drive" or "driven" */
  EF_READ_POCKET_DEPTH,   /* target: section; place: "drive" or "driven" */
  EF_READ_FACE_WIDTH,     /* target: gear part */
  EF_READ_TIP_CLEARANCE,  /* target: section; place: "drive"/"driven"; angle */
  EF_READ_BACKLASH,       /* target: section */
  EF_READ_SIDE_PLAY,      /* target: section; place: "drive"/"driven"; angle */
  EF_READ_JOURNAL_DIAMETER, /* target: shaft part; place: journal id; angle */
  EF_READ_BORE_DIAMETER,  /* target: part with bores; place: bore id; angle */
  EF_READ_FLATNESS,       /* target: face id; u, v: height at a place of the face */
  EF_N_READINGS
} EfQuantity;

typedef struct
{
  EfItem item;
  EfQuantity quantity;
  char *target;
  char *place;       /* or NULL */
  double angle;      /* rad, NAN where it doesn't apply; direction of a diameter, modulo pi, in the face's own angle */
  double u, v;       /* flatness, NAN elsewhere */
  double value;      /* m */
  EfUnit unit;       /* as typed */
  char *gauge_id;    /* or NULL */
  double temperature; /* K of the part; NAN not noted */
  char *time;        /* ISO 8601 UTC, or NULL */
  char *note;
  gboolean after;    /* taken after the rework */
} EfReading;
extern const EfItemClass ef_reading_class;

/* @value in m, brought onto the nanometre grid; what isn't given is NAN or NULL. Nothing is checked: ef_reading_check(). */
EfReading *ef_reading_new (EfQuantity quantity, const char *target, const char *place, double value, EfUnit unit, const char *gauge_id);
/* Target and place exist in the sheet, numbers finite and plausible for the quantity (diameters, depths and widths within
 * 20 % or 1 mm of the sheet's). Names the field. */
gboolean ef_reading_check (const EfReading *reading, const EfPumpSheet *sheet, GError **error);
/* FALSE for a height whose place on @chart, that of its face, lies in a hole or past the edge. */
gboolean ef_reading_on_metal (const EfReading *reading, const EfFaceChart *chart);
/* The same with a chart made for it, which takes some milliseconds: for one reading. A height is taken on the metal of its face, not in a hole or past the edge. TRUE for what isn't a height, and where the face can't be drawn. Job files
 * may have such heights: they are read, and marked. */
gboolean ef_reading_check_place (const EfReading *reading, const EfPumpSheet *sheet, GError **error);
/* The value lies within the gauge's range. */
gboolean ef_reading_check_gauge (const EfReading *reading, const EfGauge *gauge, GError **error);
const char *ef_quantity_name (EfQuantity quantity);  /* "end-clearance" */
const char *ef_quantity_label (EfQuantity quantity); /* "End clearance" */
gboolean ef_quantity_from_name (const char *name, EfQuantity *quantity_out);
const char *ef_gauge_kind_name (EfGaugeKind kind);
const char *ef_gauge_kind_label (EfGaugeKind kind);
gboolean ef_gauge_kind_from_name (const char *name, EfGaugeKind *kind_out);

/* A value that follows from readings. Quantities and what they are of:
 *   end-clearance     section, place "drive"/"driven": read directly; or pocket depth - face width
 *   pocket-depth      section, place;  face-width: gear part;  mean of the readings
 *   width-difference  section: face widths of the mates, larger - smaller
 *   tip-clearance, side-play  section, place: largest mean of one direction, which is told; tip-clearance-mean: over all directions
 *   backlash          section
 *   bore-diameter, journal-diameter  part, cylinder: mean over the directions (least-squares d0 when there are 5 or more)
 *   bore-clearance    part with the bore, bore id: mean bore - mean journal of the shaft that runs in it
 *   bore-ovality, journal-ovality  part, cylinder: largest - smallest diameter; direction of the largest
 *   flatness          face id: minimum zone (ISO 1101) from 4 places or more; the points that carry it count by their weights
 * Temperature: readings that note the part's temperature are brought to 20 degrees C by their material, gauges being taken as at 20 degrees C; diameters, widths,
 * depths, and end clearance (pocket less gear). The temperature counts as known within +-1 K, the coefficient within +-10 % (rectangular).
 * Uncertainty (GUM, first order):
 *   gauge       U/2. Repeating with the same gauge doesn't lessen it; readings of different gauges in one mean are independent.
 *   same gauge  of one gauge's variance half is taken as common to all it reads (zero setting, worn anvils), half as differing from
 *               place to place (scale, feel): correlation +0.5, an assumption, since certificates don't say. The sign matters: a
 *               common offset cancels in a difference and in an ovality or flatness, and stays whole in a mean.
 *   scatter     type A, s / sqrt n times the factor of ef_repeats() for few readings; s pooled over directions or places.
 *   resolution  rectangular over one step of the scale; of scatter and resolution the larger counts. */
#define EF_SAME_GAUGE_CORRELATION 0.5

typedef struct
{
  char *quantity; /* as in EfLimit: "end-clearance", "tip-clearance", "bore-clearance", "bore-ovality", "flatness", "width-difference", … */
  char *target;   /* section, part or face id */
  char *place;    /* or NULL */
  double value;   /* m */
  double direction; /* rad, of an ovality; NAN */
  double uncertainty; /* standard, m; NAN until every reading has a gauge with an uncertainty */
  double fixed;       /* what of it is left however often it's repeated with these gauges, m */
  double scatter;     /* of a single go at the value, m; 0 where nothing was repeated */
  guint repeats;      /* readings behind each of its means, the fewest */
  guint terms;        /* means in the value: 2 for a difference */
  double u_direction; /* standard, rad; NAN where there's no direction or no gauge; INFINITY where round */
  char *how;      /* "pocket depth 25.130 mm − face width 25.003 mm" */
  GPtrArray *reading_ids; /* char * */
} EfDerived;
void ef_derived_free (EfDerived *derived);

/* @readings: EfReading *, @gauges: EfGauge *. Those taken after the rework are passed over: they say nothing about how the pump was found (see rework/ef-after.h). Every value that can be had; a direct end-clearance reading wins over the difference
 * when both exist, and both are returned (the direct one first). Repeats are averaged. Readings whose numbers aren't finite or
 * whose target isn't in the sheet are passed over. Order of the readings doesn't matter. Returns EfDerived * elements. */
GPtrArray *ef_derive (const EfPumpSheet *sheet, EfReading *const *readings, guint n_readings, EfGauge *const *gauges, guint n_gauges);
/* The one that counts for a limit; NULL if none. @place NULL: the one without a place, or else the largest of all places. */
const EfDerived *ef_derived_find (GPtrArray *derived, const char *quantity, const char *target, const char *place);

G_END_DECLS
