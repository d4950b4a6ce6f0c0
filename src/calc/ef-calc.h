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
  /* The input out of a table of comma-separated values, where it can be had from one; else NULL. @file for messages. See ef-calc-table.h. */
  char *(*from_table) (const char *text, const char *file, GError **error);
} EfCalc;

/* A NULL-terminated table each. */
extern const EfCalc ef_calc_geometry[], ef_calc_oil[], ef_calc_wear[], ef_calc_metrology[], ef_calc_decision[], ef_calc_coverage[], ef_calc_agreement[], ef_calc_flow[], ef_calc_film[], ef_calc_score[], ef_calc_specimen[], ef_calc_section[], ef_calc_why[];
extern const EfCalc ef_calc_lap[], ef_calc_lap_plan[];
extern const EfCalc ef_calc_after[];
extern const EfCalc ef_calc_land[];
extern const EfCalc ef_calc_monte_carlo[];
extern const EfCalc ef_calc_photo[];
extern const EfCalc ef_calc_record[];
extern const EfCalc ef_calc_shelf[];

/* By name, in any of the tables; NULL: there is none such. */
const EfCalc *ef_calc_find (const char *name);
/* All of them by table, ended by NULL; owned by the library. @n_out may be NULL. */
const EfCalc *const *ef_calc_all (guint *n_out);
/* Runs one on a text in JSON. Fails with EF_ERROR_NOT_FOUND for a name that isn't there, as ef_json_parse() for text that can't be read, and as the computation does;
 * messages name the field as "input: $.member". */
JsonNode *ef_calc_run (const char *name, const char *json, GError **error);

G_END_DECLS
