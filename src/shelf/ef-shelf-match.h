/* From the parts on the shelf and this pump's sound ones: assemblies that make a good pump.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Places to fill are each housing, each pair of gears (mates are one unit), each plate and cover, each shaft. For each section must hold, by the wear limits
 * of the pump sheet and with the guard band of the decision rule:
 *   end clearance   pocket depth less face width at both gears, after laps; mating face or gear ends may be lapped for it where stock is left
 *   tip clearance   half of pocket less tip diameter
 *   backlash        of the pair as it was read, changed by 2 tan (working angle) for each m of centre distance
 *   bore clearance  of each journal in the bore or hole it runs in
 * Sizes that weren't read are taken from the sheet with EF_SHELF_ASSUMED_U and named among the assumptions.
 * Least rework first (faces, then stock), then least leakage by simple films, a stand-in for the solve that only ranks:
 *   end   both ends with half the clearance each, over the half turn under pressure: half an annulus from shaft to root circle
 *   tip   slots in series, as many as teeth seal between the ports
 *   bore  a journal's ring gap at full eccentricity
 */
#pragma once

#include "../judge/ef-judge.h"
#include "../inspection/ef-document.h"
#include "ef-match.h"
#include "ef-shelf-part.h"

G_BEGIN_DECLS

#define EF_SHELF_ASSUMED_U 5e-6 /* standard, m, of a size taken from the sheet: common practice, no source */

typedef enum
{
  EF_SHELF_OPEN_UNSOUND, /* only places whose own part can't stay */
  EF_SHELF_OPEN_ALL,     /* sound parts may give way too */
} EfShelfOpen;

/* What fills one place. */
typedef struct
{
  char *place;      /* part id, or "pair:SECTION" */
  char *label;      /* "Gear pair, pressure section" */
  GPtrArray *parts; /* EfShelfPart *, both mates of a pair; empty: the pump's own stays */
} EfShelfChoice;

/* One limit, met. */
typedef struct
{
  char *quantity;        /* "end-clearance", … */
  char *label;           /* "End clearance, pressure section, drive gear" */
  double value, u;       /* m; standard uncertainty */
  double least, most;    /* m; NAN */
} EfShelfCheck;

typedef struct
{
  GPtrArray *choices;    /* EfShelfChoice * */
  GPtrArray *checks;     /* EfShelfCheck * */
  int faces;             /* to lap */
  double stock;          /* m, all together */
  double leak;           /* m3, to rank by */
  GPtrArray *laps;       /* char *: "0.015 mm off the mating face of the body" */
} EfShelfAssembly;

typedef struct
{
  EfShelfPart *part;
  char *reason;          /* a sentence */
} EfShelfMiss;

typedef struct
{
  GPtrArray *assemblies;  /* EfShelfAssembly *, best first */
  GPtrArray *misses;      /* EfShelfMiss *: parts for this pump that are in none of them */
  GPtrArray *assumptions; /* char * */
  GPtrArray *open;        /* char *: labels of the places to be filled from the shelf */
  guint considered;       /* parts on the shelf that could fill one */
  char *summary;          /* one sentence */
  EfMatchStats stats;
} EfShelfMatch;

void ef_shelf_match_free (EfShelfMatch *match);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfShelfMatch, ef_shelf_match_free)

/* @shelf: EfShelfPart *, any models. Those reserved for this job count as free. Up to @most assemblies. */
EfShelfMatch *ef_shelf_match (const EfFindings *findings, const EfVerdict *verdict, GPtrArray *shelf, const EfDecisionRule *rule, EfShelfOpen open,
                              guint most, GCancellable *cancellable, GError **error);
/* The edit that puts the assembly's shelf parts into the job, labelled; replacements that are there for the same parts give way. */
EfChange *ef_shelf_use_change (const EfInspection *inspection, GPtrArray *parts);
JsonNode *ef_shelf_match_to_json (const EfShelfMatch *match);

G_END_DECLS
