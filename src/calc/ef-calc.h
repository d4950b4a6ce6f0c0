/* Every computation of the library by name: JSON in, JSON out, so that anyone can hold the numbers against their own sources.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * To add one: write ef-calc-<topic>.c with a const table of EfCalc and name the table in ef-calc.c.
 */
#pragma once

#include "../base/ef-json.h"

G_BEGIN_DECLS

typedef struct
{
  const char *name;    /* "gear-pair" */
  const char *summary; /* one line */
  const char *input;   /* members with units, one a line: "module_mm: number, m > 0" */
  const char *output;
  const char *example; /* a whole input; tested to run */
  const char *source;  /* of the formulas */
  JsonNode *(*run) (const EfJson *input, GError **error);
} EfCalc;

/* A NULL-terminated table each. */
extern const EfCalc ef_calc_geometry[], ef_calc_oil[], ef_calc_wear[], ef_calc_metrology[], ef_calc_decision[], ef_calc_flow[], ef_calc_film[], ef_calc_section[];

const EfCalc *ef_calc_find (const char *name);
const EfCalc *const *ef_calc_all (guint *n_out);
JsonNode *ef_calc_run (const char *name, const char *json, GError **error);

G_END_DECLS
