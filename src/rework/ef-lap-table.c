/* Reading the table of lapping rates.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lap-rate.h"

#include "../base/ef-json.h"
#include "../pump/ef-pump-sheet.h"

#include <float.h>
#include <math.h>

#define MOST_MATERIALS 50

static void
read_pass (const EfJson *root,
           EfLapTable *table)
{
  static const char *const members[] = { "pressure_kpa", "stroke_m", "how", NULL };
  g_auto (EfJson) pass = ef_json_object (root, "pass");
  g_autofree char *how = ef_json_string_or (&pass, "how", NULL);

  ef_json_only (&pass, members);
  table->pressure = 1e3 * ef_json_number (&pass, "pressure_kpa", DBL_MIN, 10000);
  table->stroke = ef_json_number (&pass, "stroke_m", DBL_MIN, 1000);
}

static void
read_grits (const EfJson *root,
            EfLapTable *table)
{
  static const char *const members[] = { "name", "paper", "grain_um", "damage_um", "effort", NULL };
  g_auto (EfJson) list = ef_json_array (root, "grits", 1, EF_LAP_MOST_GRITS);

  for (guint i = 0; i < MIN (ef_json_length (&list), EF_LAP_MOST_GRITS); i++)
    {
      g_auto (EfJson) row = ef_json_element (&list, i);
      EfLapGrit *grit = &table->grit[i];

      ef_json_only (&row, members);
      grit->name = ef_json_string (&row, "name");
      grit->paper = ef_json_string (&row, "paper");
      grit->grain = 1e-6 * ef_json_number (&row, "grain_um", DBL_MIN, 2000);
      grit->damage = 1e-6 * ef_json_number (&row, "damage_um", 0, 2000);
      grit->effort = ef_json_number (&row, "effort", DBL_MIN, 1000);
      if (ef_lap_table_grit (table, grit->name) >= 0)
        ef_json_fail (&row, EF_ERROR_INVALID, "name: expected a grit that isn't there yet, found \"%s\"", grit->name);
      if (i > 0 && grit->grain >= table->grit[i - 1].grain)
        ef_json_fail (&row, EF_ERROR_INVALID, "grain_um: expected a finer grit than the one before it");
      table->n_grits++;
    }
}

static void
read_removal (const EfJson *row,
              EfLapTable *table,
              EfLapMaterial *material)
{
  g_auto (EfJson) list = ef_json_array (row, "removal_um", table->n_grits, table->n_grits);

  for (guint g = 0; g < MIN (ef_json_length (&list), table->n_grits); g++)
    {
      g_auto (EfJson) one = ef_json_element (&list, g);

      material->removal[g] = 1e-6 * ef_json_value (&one, DBL_MIN, 1000);
    }
}

static void
read_materials (const EfJson *root,
                EfLapTable *table)
{
  static const char *const members[] = { "name", "removal_um", NULL };
  g_auto (EfJson) list = ef_json_array (root, "materials", 1, MOST_MATERIALS);
  guint n = MIN (ef_json_length (&list), MOST_MATERIALS);

  table->material = g_new0 (EfLapMaterial, MAX (n, 1));
  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) row = ef_json_element (&list, i);
      EfLapMaterial *material = &table->material[i];

      ef_json_only (&row, members);
      material->name = ef_json_string (&row, "name");
      if (ef_lap_table_material (table, material->name) != NULL)
        ef_json_fail (&row, EF_ERROR_INVALID, "name: expected a material that isn't there yet, found \"%s\"", material->name);
      table->n_materials++;
      read_removal (&row, table, material);
    }
}

EfLapTable *
ef_lap_table_load (const char *path,
                   GError **error)
{
  static const char *const members[] = { "format", "version", "note", "pass", "relative_uncertainty", "relative_scatter", "grits", "materials", NULL };
  static const char *const formats[] = { "endfloat-lapping", NULL };
  g_autoptr (EfJsonContext) context = ef_json_parse_file (path, error);
  g_autoptr (EfLapTable) table = NULL;
  g_auto (EfJson) root = { 0 };

  if (context == NULL)
    return NULL;
  table = g_new0 (EfLapTable, 1);
  table->ref_count = 1;
  root = ef_json_root (context);
  ef_json_only (&root, members);
  ef_json_choice (&root, "format", formats);
  ef_json_integer (&root, "version", 1, 1);
  table->note = ef_json_string_or (&root, "note", NULL);
  table->uncertainty = ef_json_number (&root, "relative_uncertainty", DBL_MIN, 10);
  table->scatter = ef_json_number (&root, "relative_scatter", 0, 10);
  read_pass (&root, table);
  read_grits (&root, table);
  read_materials (&root, table);
  if (!ef_json_finish (context, error))
    return NULL;

  return g_steal_pointer (&table);
}

EfLapTable *
ef_lap_table_default (GError **error)
{
  g_autofree char *path = ef_data_path ("rules", "lapping.json", NULL);

  return ef_lap_table_load (path, error);
}

EfLapTable *
ef_lap_table_ref (EfLapTable *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_lap_table_unref (EfLapTable *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;

  for (guint g = 0; g < EF_LAP_MOST_GRITS; g++)
    {
      g_free (self->grit[g].name);
      g_free (self->grit[g].paper);
    }
  for (guint m = 0; m < self->n_materials; m++)
    g_free (self->material[m].name);
  g_free (self->material);
  g_free (self->note);
  g_free (self);
}

static EfLapTable *
table_copy (const EfLapTable *table)
{
  EfLapTable *copy = g_memdup2 (table, sizeof *table);

  copy->ref_count = 1;
  copy->note = g_strdup (table->note);
  for (guint g = 0; g < EF_LAP_MOST_GRITS; g++)
    {
      copy->grit[g].name = g_strdup (table->grit[g].name);
      copy->grit[g].paper = g_strdup (table->grit[g].paper);
    }
  copy->material = g_memdup2 (table->material, table->n_materials * sizeof *table->material);
  for (guint m = 0; m < copy->n_materials; m++)
    copy->material[m].name = g_strdup (table->material[m].name);

  return copy;
}

EfLapTable *
ef_lap_table_taught (const EfLapTable *table,
                     guint n,
                     const char *const *materials,
                     const EfLapLearned *learned)
{
  EfLapTable *taught = table_copy (table);

  for (guint i = 0; i < n; i++)
    {
      EfLapMaterial *material = (EfLapMaterial *) ef_lap_table_material (taught, materials[i]);

      if (material == NULL)
        continue;
      ef_lap_plan_removal (table, materials[i], &learned[i].rates, material->removal, NULL);
      for (guint k = 0; k < learned[i].n; k++)
        taught->learned += !learned[i].doubtful[k];
    }

  return taught;
}

int
ef_lap_table_grit (const EfLapTable *self,
                   const char *name)
{
  for (guint g = 0; g < self->n_grits; g++)
    if (g_strcmp0 (self->grit[g].name, name) == 0)
      return (int) g;

  return -1;
}

const EfLapMaterial *
ef_lap_table_material (const EfLapTable *self,
                       const char *name)
{
  for (guint m = 0; m < self->n_materials; m++)
    if (g_strcmp0 (self->material[m].name, name) == 0)
      return &self->material[m];

  return NULL;
}

double
ef_lap_table_preston (const EfLapTable *self,
                      const EfLapMaterial *material,
                      guint grit)
{
  return material->removal[grit] / (self->pressure * self->stroke);
}
