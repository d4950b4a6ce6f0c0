/* A part from the shelf that stands in for one of the pump's own, with all that is known of it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The item holds sizes, marks and readings itself, so that a job can be judged and shown without the shelf.
 */
#pragma once

#include "ef-inspection.h"

G_BEGIN_DECLS

/* A size of a part by itself. Quantities: see ef_part_size_quantities. */
typedef struct
{
  char *quantity;
  char *place;        /* bore or journal id; "drive" or "driven" in a pocket; NULL */
  double value;       /* m at 20 degrees C */
  double uncertainty; /* standard, m; NAN not known */
} EfPartSize;
void ef_part_size_clear (gpointer size);
/* "face-width" of a gear, "pocket-depth" and "pocket-diameter" of a housing at a gear, "bore-diameter", "journal-diameter", "tip-diameter" of a gear,
 * "backlash" of a pair with its mate, circumferential, "centre-distance" of a housing, "thickness" of a plate. NULL-terminated. */
extern const char *const ef_part_size_quantities[];
const char *ef_part_size_label (const char *quantity); /* "Face width": untranslated */

/* What a plane face of a part asks for and allows. */
typedef struct
{
  char *face_id; /* "cover/side-a" */
  double lap;    /* m to take off before it may be used; 0 */
  double room;   /* m that may come off in all, @lap included */
} EfPartFace;
void ef_part_face_clear (gpointer face);

typedef struct
{
  EfItem item;       /* id: the part it stands in for */
  char *shelf;       /* code on the shelf: "S-0004" */
  char *pair;        /* parts with the same code are mates and stay together; NULL */
  char *sheet;       /* id of its pump sheet: "rc-4" */
  char *name, *material;
  char *from_job, *from_date; /* where it came from, ISO date; NULL */
  char *verdict;     /* it had then: "use-again" or "rework" */
  char *note;
  GArray *sizes;     /* EfPartSize */
  GArray *faces;     /* EfPartFace */
  GPtrArray *gauges, *marks, *readings; /* EfGauge *, EfMark *, EfReading * of its own */
} EfReplacement;
extern const EfItemClass ef_replacement_class;

/* Without sizes, faces, marks or readings. Only while the item isn't handed on: adding a size, @value and @uncertainty in m. */
EfReplacement *ef_replacement_new (const char *part_id, const char *shelf);
void ef_replacement_add_size (EfReplacement *self, const char *quantity, const char *place, double value, double uncertainty);
/* NULL where it isn't known; @place NULL: the first of the quantity. */
const EfPartSize *ef_replacement_size (const EfReplacement *self, const char *quantity, const char *place);
const EfPartFace *ef_replacement_face (const EfReplacement *self, const char *face_id);

/* Its members in an object that also holds what others keep with it; ef_replacement_members lists them, NULL-terminated. */
extern const char *const ef_replacement_members[];
void ef_replacement_to_json (const EfReplacement *self, JsonObject *object);
void ef_replacement_read (EfReplacement *self, const EfJson *json);
/* Its part and sheet are those of @sheet; marks and readings lie on the part; each fits by itself. Names the field. */
gboolean ef_replacement_check (const EfReplacement *self, const EfPumpSheet *sheet, GError **error);
void ef_replacement_on_grid (EfReplacement *self);

/* Whether a reading tells of the part by itself (its width, its bores, …); with its mates: also clearances it takes part in. */
gboolean ef_reading_of_part (const EfPumpSheet *sheet, const EfReading *reading, const EfPart *part, gboolean with_mates);
gboolean ef_face_of_part (const char *face_id, const char *part_id);

/* The pump as it will be put together: marks and readings of replaced parts give way to those of the parts that stand in. Clearances
 * that were read with a replaced part go; tip clearance and backlash are worked out from the sizes where they are known, and say so in
 * their notes. Fails where nothing is replaced (EF_ERROR_NOT_FOUND) and where a part doesn't fit the job's sheet. */
EfInspection *ef_inspection_fitted (const EfInspection *self, GError **error);

G_END_DECLS
