/* The pump sheet's model: memory and look-ups. Reading is in ef-pump-sheet-load.c, refusing in ef-pump-sheet-check.c.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-pump-sheet-private.h"

#include <math.h>
#include <string.h>

static const char *const part_kind_names[] = { "housing", "plate", "cover", "gear", "shaft", "pickup", "pin", "stud", NULL };

/* Memory */

static void
hole_clear (gpointer data)
{
  EfHole *hole = data;

  g_free (hole->id);
  g_free (hole->kind);
}

static void
cylinder_clear (gpointer data)
{
  EfCylinder *cylinder = data;

  g_free (cylinder->id);
  g_free (cylinder->runs_in);
}

static void
port_clear (gpointer data)
{
  EfPort *port = data;

  ef_ring_clear (&port->outline);
}

static void
limit_clear (gpointer data)
{
  EfLimit *limit = data;

  g_free (limit->quantity);
  g_free (limit->target);
  g_free (limit->source);
}

static void
rated_clear (gpointer data)
{
  EfRatedPoint *rated = data;

  g_free (rated->name);
}

static GArray *
array_new (gsize size,
           GDestroyNotify clear)
{
  GArray *array = g_array_new (FALSE, TRUE, (guint) size);

  g_array_set_clear_func (array, clear);

  return array;
}

EfPart *
ef_part_new_empty (void)
{
  EfPart *part = g_new0 (EfPart, 1);

  part->gear = -1;
  part->holes = array_new (sizeof (EfHole), hole_clear);
  part->bores = array_new (sizeof (EfCylinder), cylinder_clear);
  part->journals = array_new (sizeof (EfCylinder), cylinder_clear);
  part->keyways = array_new (sizeof (EfCylinder), cylinder_clear);
  part->pin_holes = array_new (sizeof (EfCylinder), cylinder_clear);

  return part;
}

static void
part_free (gpointer data)
{
  EfPart *part = data;

  g_free (part->id);
  g_free (part->name);
  g_free (part->material);
  g_free (part->section);
  g_free (part->check);
  g_array_unref (part->holes);
  g_array_unref (part->bores);
  g_array_unref (part->journals);
  g_array_unref (part->keyways);
  g_array_unref (part->pin_holes);
  g_free (part);
}

EfSection *
ef_section_new_empty (void)
{
  EfSection *section = g_new0 (EfSection, 1);

  section->rotation = 1;
  section->ports = array_new (sizeof (EfPort), port_clear);

  return section;
}

static void
section_free (gpointer data)
{
  EfSection *section = data;

  g_free (section->id);
  g_free (section->name);
  g_array_unref (section->ports);
  g_free (section->pocket_part);
  g_free (section->floor_face);
  g_free (section->facing_face);
  g_free (section->mating_face);
  g_free (section->gear_part[0]);
  g_free (section->gear_part[1]);
  g_free (section);
}

EfPumpSheet *
ef_pump_sheet_new_empty (const char *file)
{
  EfPumpSheet *sheet = g_new0 (EfPumpSheet, 1);

  sheet->ref_count = 1;
  sheet->file = g_strdup (file);
  sheet->sections = g_ptr_array_new_with_free_func (section_free);
  sheet->parts = g_ptr_array_new_with_free_func (part_free);
  sheet->limits = array_new (sizeof (EfLimit), limit_clear);
  sheet->rated = array_new (sizeof (EfRatedPoint), rated_clear);
  sheet->cautions = g_ptr_array_new_with_free_func (g_free);
  sheet->hazards = g_ptr_array_new_with_free_func (g_free);
  sheet->relief = NAN;

  return sheet;
}

const char *const ef_hazards[] = { "heat", "hot-oil", "solvent", "magnesium", "abrasive", "eyes", "pressure", NULL };

EfPumpSheet *
ef_pump_sheet_ref (EfPumpSheet *sheet)
{
  g_return_val_if_fail (sheet != NULL, NULL);
  g_atomic_int_inc (&sheet->ref_count);

  return sheet;
}

void
ef_pump_sheet_unref (EfPumpSheet *sheet)
{
  if (sheet == NULL || !g_atomic_int_dec_and_test (&sheet->ref_count))
    return;
  g_ptr_array_unref (sheet->sections);
  g_ptr_array_unref (sheet->parts);
  g_array_unref (sheet->limits);
  g_array_unref (sheet->rated);
  g_ptr_array_unref (sheet->cautions);
  g_ptr_array_unref (sheet->hazards);
  g_free (sheet->file);
  g_free (sheet->id);
  g_free (sheet->name);
  g_free (sheet->model);
  g_free (sheet->notes);
  g_free (sheet->oil);
  g_free (sheet->mounting);
  g_free (sheet->pickup);
  g_free (sheet->rules);
  g_free (sheet->json);
  g_free (sheet);
}

/* Look-ups */

const EfPart *
ef_pump_sheet_part (const EfPumpSheet *sheet,
                    const char *id)
{
  if (id == NULL)
    return NULL;
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = g_ptr_array_index (sheet->parts, i);

      if (g_strcmp0 (part->id, id) == 0)
        return part;
    }

  return NULL;
}

const EfSection *
ef_pump_sheet_section (const EfPumpSheet *sheet,
                       const char *id)
{
  if (id == NULL)
    return NULL;
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sheet->sections, i);

      if (g_strcmp0 (section->id, id) == 0)
        return section;
    }

  return NULL;
}

static gboolean
meets_gears (const EfSection *section,
             const char *face_id)
{
  return g_strcmp0 (section->floor_face, face_id) == 0 || g_strcmp0 (section->facing_face, face_id) == 0;
}

/* A plate's or cover's side belongs to the section whose gears it meets and to none otherwise; every other face to its
 * part's section. */
const EfSection *
ef_pump_sheet_face_section (const EfPumpSheet *sheet,
                            const char *face_id)
{
  const char *slash = face_id != NULL ? strchr (face_id, '/') : NULL;
  g_autofree char *part_id = NULL;
  const EfPart *part;

  if (slash == NULL)
    return NULL;
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sheet->sections, i);

      if (meets_gears (section, face_id))
        return section;
    }
  part_id = g_strndup (face_id, (gsize) (slash - face_id));
  part = ef_pump_sheet_part (sheet, part_id);
  if (part == NULL || g_str_has_prefix (slash + 1, "side-"))
    return NULL;

  return ef_pump_sheet_section (sheet, part->section);
}

const EfPart *
ef_pump_sheet_mate (const EfPumpSheet *sheet,
                    const EfPart *gear)
{
  const EfSection *section;

  if (gear == NULL || gear->kind != EF_PART_GEAR)
    return NULL;
  section = ef_pump_sheet_section (sheet, gear->section);
  if (section == NULL || gear->gear < 0 || gear->gear > 1)
    return NULL;

  return ef_pump_sheet_part (sheet, section->gear_part[1 - gear->gear]);
}

static const EfLimit *
limit_for (const EfPumpSheet *sheet,
           const char *quantity,
           const char *target)
{
  for (guint i = 0; i < sheet->limits->len; i++)
    {
      const EfLimit *limit = &g_array_index (sheet->limits, EfLimit, i);

      if (g_strcmp0 (limit->quantity, quantity) == 0 && g_strcmp0 (limit->target, target) == 0)
        return limit;
    }

  return NULL;
}

const EfLimit *
ef_pump_sheet_limit (const EfPumpSheet *sheet,
                     const char *quantity,
                     const char *target)
{
  const EfLimit *limit = limit_for (sheet, quantity, target);
  const char *slash = target != NULL ? strchr (target, '/') : NULL;
  g_autofree char *part_id = slash != NULL ? g_strndup (target, (gsize) (slash - target)) : g_strdup (target);
  const EfPart *part = ef_pump_sheet_part (sheet, part_id);
  const EfSection *section = slash != NULL ? ef_pump_sheet_face_section (sheet, target) : NULL;

  if (limit == NULL && part != NULL)
    limit = limit_for (sheet, quantity, part->id);
  if (limit == NULL && section != NULL)
    limit = limit_for (sheet, quantity, section->id);
  if (limit == NULL && part != NULL && part->section != NULL)
    limit = limit_for (sheet, quantity, part->section);
  if (limit == NULL)
    limit = limit_for (sheet, quantity, NULL);

  return limit;
}

const EfRatedPoint *
ef_pump_sheet_rated (const EfPumpSheet *sheet,
                     const char *name)
{
  for (guint i = 0; i < sheet->rated->len; i++)
    {
      const EfRatedPoint *rated = &g_array_index (sheet->rated, EfRatedPoint, i);

      if (g_strcmp0 (rated->name, name) == 0)
        return rated;
    }

  return NULL;
}

const char *
ef_part_kind_name (EfPartKind kind)
{
  return (guint) kind < EF_N_PART_KINDS ? part_kind_names[kind] : "part";
}

const EfCylinder *
ef_part_cylinder (const GArray *cylinders,
                  const char *id)
{
  for (guint i = 0; i < cylinders->len; i++)
    {
      const EfCylinder *cylinder = &g_array_index (cylinders, EfCylinder, i);

      if (g_strcmp0 (cylinder->id, id) == 0)
        return cylinder;
    }

  return NULL;
}

/* Plan geometry */

int
ef_section_delivery_sign (const EfSection *section)
{
  return section->rotation > 0 ? -1 : 1;
}

double
ef_section_axis_x (const EfSection *section,
                   int axis)
{
  double half = section->pair.in.centre_distance / 2.0;

  return axis == 0 ? -half : half;
}

double
ef_section_psi (const EfSection *section,
                int axis,
                double x,
                double y)
{
  double away = (x - ef_section_axis_x (section, axis)) * (axis == 0 ? -1.0 : 1.0);

  return atan2 (y * ef_section_delivery_sign (section), away);
}

void
ef_section_at_psi (const EfSection *section,
                   int axis,
                   double r,
                   double psi,
                   double *x,
                   double *y)
{
  *x = ef_section_axis_x (section, axis) + (axis == 0 ? -1.0 : 1.0) * r * cos (psi);
  *y = ef_section_delivery_sign (section) * r * sin (psi);
}

/* The hull of two circles on the axes, radii r[0] and r[1]: seen in the direction phi from the +x axis the outermost point is on
 * the driven circle while |phi| < acos ((r0 - r1)/a), else on the drive one. */
static EfRing
two_circle_hull (double a,
                 const double r[2],
                 guint n)
{
  double turn = acos (CLAMP ((r[0] - r[1]) / a, -1.0, 1.0));
  g_autofree double *xy = g_new (double, 4 * (n + 1));
  guint m = 0;

  for (guint i = 0; i <= n; i++, m++)
    {
      double phi = -turn + 2.0 * turn * i / n;

      xy[2 * m] = a / 2.0 + r[1] * cos (phi);
      xy[2 * m + 1] = r[1] * sin (phi);
    }
  for (guint i = 0; i <= n; i++, m++)
    {
      double phi = turn + 2.0 * (G_PI - turn) * i / n;

      xy[2 * m] = -a / 2.0 + r[0] * cos (phi);
      xy[2 * m + 1] = r[0] * sin (phi);
    }

  return ef_ring_new (m, xy);
}

/* Encloses the part's own section, or all when it belongs to none. Growing the hull of two circles is the same as the hull
 * of the grown circles. */
EfRegion *
ef_part_footprint (const EfPumpSheet *sheet,
                   const EfPart *part,
                   GError **error)
{
  double r[2] = { 0.0, 0.0 };
  double a = 0.0;
  EfRegion *region;

  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sheet->sections, i);

      if (part->section != NULL && g_strcmp0 (part->section, section->id) != 0)
        continue;
      a = section->pair.in.centre_distance;
      for (int k = 0; k < 2; k++)
        r[k] = MAX (r[k], section->pocket_radius[k] + part->margin);
    }
  if (!(a > 0.0) || !(r[0] > 0.0) || !(r[1] > 0.0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "part \"%s\": expected a section that it encloses, found none", part->id);
      return NULL;
    }
  region = ef_region_new ();
  ef_region_take (region, two_circle_hull (a, r, 120));

  return region;
}
