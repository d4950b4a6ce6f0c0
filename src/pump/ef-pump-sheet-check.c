/* Refuses pump sheets whose parts don't fit together: references, limits, and the order of the stages.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The other stages: ef-pump-sheet-gears.c (gears, pockets, ports), ef-pump-sheet-stack.c (places along z, bores, shafts). */
#include "ef-pump-sheet-private.h"

#include <math.h>
#include <string.h>

/* Tools of all stages */

void
ef_check_refuse (const EfJson *at,
                 const char *member,
                 EfError code,
                 const char *format,
                 ...)
{
  g_auto (EfJson) place = ef_json_optional (at, member);
  g_autofree char *message = NULL;
  va_list args;

  va_start (args, format);
  message = g_strdup_vprintf (format, args);
  va_end (args);
  ef_json_fail (&place, code, "%s", message);
}

EfJson
ef_check_item (const EfJson *root,
               const char *list,
               guint i)
{
  g_auto (EfJson) array = ef_json_optional (root, list);

  return ef_json_element (&array, i);
}

EfJson
ef_check_sub_item (const EfJson *root,
                   const char *list,
                   guint i,
                   const char *member,
                   guint k)
{
  g_auto (EfJson) item = ef_check_item (root, list, i);

  return ef_check_item (&item, member, k);
}

gboolean
ef_check_failed (const EfJson *root)
{
  return !ef_json_finish (root->context, NULL);
}

gboolean
ef_pump_sheet_split_face (const EfPumpSheet *sheet,
                          const char *face_id,
                          const EfPart **part_out,
                          const char **face_out)
{
  const char *slash = face_id != NULL ? strchr (face_id, '/') : NULL;
  g_autofree char *part_id = slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : NULL;

  *part_out = ef_pump_sheet_part (sheet, part_id);
  *face_out = slash != NULL ? slash + 1 : NULL;

  return *part_out != NULL;
}

const EfCylinder *
ef_pump_sheet_bore_of_face (const EfPumpSheet *sheet,
                            const char *face_id,
                            const EfPart **part_out)
{
  const char *face;
  const char *prefix;

  if (!ef_pump_sheet_split_face (sheet, face_id, part_out, &face) || (*part_out)->kind > EF_PART_COVER)
    return NULL;
  prefix = (*part_out)->kind == EF_PART_HOUSING ? "bore-" : "hole-";
  if (!g_str_has_prefix (face, prefix))
    return NULL;

  return ef_part_cylinder ((*part_out)->bores, face + strlen (prefix));
}

/* References */

static void
check_pocket_part (const EfPumpSheet *sheet,
                   const EfSection *section,
                   const EfJson *at)
{
  const EfPart *part = ef_pump_sheet_part (sheet, section->pocket_part);

  if (part == NULL || part->kind != EF_PART_HOUSING)
    ef_check_refuse (at, "pocket_part", EF_ERROR_NOT_FOUND, "expected the id of a housing, found \"%s\"", section->pocket_part);
  else if (g_strcmp0 (part->section, section->id) != 0)
    ef_check_refuse (at, "pocket_part", EF_ERROR_INVALID, "expected a housing of section \"%s\", found \"%s\" of section \"%s\"",
                     section->id, part->id, part->section);
}

static void
check_gear_part (const EfPumpSheet *sheet,
                 const EfSection *section,
                 int k,
                 const EfJson *at)
{
  const EfPart *gear = ef_pump_sheet_part (sheet, section->gear_part[k]);

  if (gear == NULL || gear->kind != EF_PART_GEAR)
    ef_check_refuse (at, NULL, EF_ERROR_NOT_FOUND, "expected the id of a gear, found \"%s\"", section->gear_part[k]);
  else if (g_strcmp0 (gear->section, section->id) != 0 || gear->gear != k)
    ef_check_refuse (at, NULL, EF_ERROR_INVALID, "expected the %s gear of section \"%s\", found \"%s\", the %s gear of section \"%s\"",
                     k == 0 ? "drive" : "driven", section->id, gear->id, gear->gear == 0 ? "drive" : "driven", gear->section);
  else if (fabs (gear->thickness - section->pair.in.face_width) > 1e-9)
    ef_check_refuse (at, NULL, EF_ERROR_GEOMETRY, "expected a gear as thick as the face width %g mm, found \"%s\" of %g mm",
                     section->pair.in.face_width * 1e3, gear->id, gear->thickness * 1e3);
}

/* An end face of the gears: the pocket's own floor, or a side of a plate or cover. */
static void
check_end_face (const EfPumpSheet *sheet,
                const EfSection *section,
                const char *member,
                const char *face_id,
                const EfJson *at)
{
  const EfPart *part;
  const char *face;
  gboolean floor_ok;
  gboolean side_ok;

  if (!ef_pump_sheet_split_face (sheet, face_id, &part, &face))
    {
      ef_check_refuse (at, member, EF_ERROR_NOT_FOUND, "expected a face of a part of this sheet, found \"%s\"", face_id);
      return;
    }
  floor_ok = g_str_equal (member, "floor_face") && part->kind == EF_PART_HOUSING && part->opens != EF_OPENS_THROUGH && g_str_equal (face, "floor") && g_strcmp0 (part->id, section->pocket_part) == 0;
  side_ok = (part->kind == EF_PART_PLATE || part->kind == EF_PART_COVER) && (g_str_equal (face, "side-a") || g_str_equal (face, "side-b"));
  if (!floor_ok && !side_ok)
    ef_check_refuse (at, member, EF_ERROR_INVALID, "expected %sside-a or side-b of a plate or cover, found \"%s\"",
                     g_str_equal (member, "floor_face") ? "the floor of the section's own housing, or " : "", face_id);
  else if (side_ok && part->section != NULL && g_strcmp0 (part->section, section->id) != 0)
    ef_check_refuse (at, member, EF_ERROR_INVALID, "expected a part of section \"%s\" or of none, found \"%s\" of section \"%s\"", section->id, part->id, part->section);
}

static void
check_mating_face (const EfPumpSheet *sheet,
                   const EfSection *section,
                   const EfJson *at)
{
  const EfPart *housing = ef_pump_sheet_part (sheet, section->pocket_part);
  const EfPart *part;
  const char *face;
  gboolean through;
  gboolean fits;

  if (housing == NULL)
    return;
  through = housing->opens == EF_OPENS_THROUGH;
  fits = ef_pump_sheet_split_face (sheet, section->mating_face, &part, &face) && part == housing;
  fits = fits && (through ? g_str_equal (face, "mating-front") || g_str_equal (face, "mating-rear") : g_str_equal (face, "mating"));
  if (!fits)
    ef_check_refuse (at, "mating_face", EF_ERROR_INVALID, "expected \"%s/%s\", found \"%s\"", housing->id,
                     through ? "mating-front\" or \"…/mating-rear" : "mating", section->mating_face);
}

static void
check_section_references (const EfPumpSheet *sheet,
                          guint i,
                          const EfJson *root)
{
  const EfSection *section = g_ptr_array_index (sheet->sections, i);
  g_auto (EfJson) at = ef_check_item (root, "sections", i);

  check_pocket_part (sheet, section, &at);
  for (guint k = 0; k < 2; k++)
    {
      g_auto (EfJson) gear = ef_check_item (&at, "gear_parts", k);

      check_gear_part (sheet, section, (int) k, &gear);
    }
  check_end_face (sheet, section, "floor_face", section->floor_face, &at);
  check_end_face (sheet, section, "facing_face", section->facing_face, &at);
  if (g_strcmp0 (section->floor_face, section->facing_face) == 0)
    ef_check_refuse (&at, "facing_face", EF_ERROR_INVALID, "expected another face than floor_face, found \"%s\" again", section->facing_face);
  check_mating_face (sheet, section, &at);
  for (guint k = 0; k < i; k++)
    {
      const EfSection *other = g_ptr_array_index (sheet->sections, k);

      if (g_strcmp0 (other->facing_face, section->facing_face) == 0 || g_strcmp0 (other->floor_face, section->facing_face) == 0 || g_strcmp0 (other->facing_face, section->floor_face) == 0)
        ef_check_refuse (&at, "facing_face", EF_ERROR_INVALID, "expected faces of its own, found one that section \"%s\" has", other->id);
    }
}

/* A gear or housing names its section; the section must name it back. */
static void
check_part_references (const EfPumpSheet *sheet,
                       guint i,
                       const EfJson *root)
{
  const EfPart *part = g_ptr_array_index (sheet->parts, i);
  const EfSection *section = ef_pump_sheet_section (sheet, part->section);
  g_auto (EfJson) at = ef_check_item (root, "parts", i);

  if (part->section == NULL)
    return;
  if (section == NULL)
    ef_check_refuse (&at, "section", EF_ERROR_NOT_FOUND, "expected the id of a section of this sheet, found \"%s\"", part->section);
  else if (part->kind == EF_PART_HOUSING && g_strcmp0 (section->pocket_part, part->id) != 0)
    ef_check_refuse (&at, "section", EF_ERROR_INVALID, "expected a section whose pocket_part is \"%s\", found \"%s\" with \"%s\"", part->id, section->id, section->pocket_part);
  else if (part->kind == EF_PART_GEAR && g_strcmp0 (section->gear_part[part->gear], part->id) != 0)
    ef_check_refuse (&at, "section", EF_ERROR_INVALID, "expected a section whose %s gear is \"%s\", found \"%s\" with \"%s\"",
                     part->gear == 0 ? "drive" : "driven", part->id, section->id, section->gear_part[part->gear]);
}

void
ef_check_references (const EfPumpSheet *sheet,
                     const EfJson *root)
{
  for (guint i = 0; i < sheet->sections->len; i++)
    check_section_references (sheet, i, root);
  for (guint i = 0; i < sheet->parts->len; i++)
    check_part_references (sheet, i, root);
}

/* Limits */

static void
check_limit_order (const EfJson *at,
                   const char *low_name,
                   double low,
                   const char *high_name,
                   double high)
{
  if (!isnan (low) && !isnan (high) && high < low)
    ef_check_refuse (at, high_name, EF_ERROR_RANGE, "expected at least %s, %g mm, found %g mm", low_name, low * 1e3, high * 1e3);
}

static gboolean
same_limit (const EfLimit *a,
            const EfLimit *b)
{
  return g_strcmp0 (a->quantity, b->quantity) == 0 && g_strcmp0 (a->target, b->target) == 0;
}

void
ef_check_limits (const EfPumpSheet *sheet,
                 const EfJson *root)
{
  for (guint i = 0; i < sheet->limits->len; i++)
    {
      const EfLimit *limit = &g_array_index (sheet->limits, EfLimit, i);
      g_auto (EfJson) at = ef_check_item (root, "limits", i);

      if (limit->target != NULL && ef_pump_sheet_part (sheet, limit->target) == NULL && ef_pump_sheet_section (sheet, limit->target) == NULL)
        ef_check_refuse (&at, "target", EF_ERROR_NOT_FOUND, "expected the id of a part or section of this sheet, found \"%s\"", limit->target);
      if (isnan (limit->wear_max) && isnan (limit->as_new_max))
        ef_check_refuse (&at, NULL, EF_ERROR_INVALID, "expected wear_max_mm or as_new_max_mm, found neither");
      check_limit_order (&at, "as_new_min_mm", limit->as_new_min, "as_new_max_mm", limit->as_new_max);
      check_limit_order (&at, "as_new_max_mm", limit->as_new_max, "wear_max_mm", limit->wear_max);
      check_limit_order (&at, "wear_max_mm", limit->wear_max, "rework_max_mm", limit->rework_max);
      check_limit_order (&at, "wear_min_mm", limit->wear_min, "as_new_min_mm", limit->as_new_min);
      check_limit_order (&at, "wear_min_mm", limit->wear_min, "wear_max_mm", limit->wear_max);
      for (guint k = 0; k < i; k++)
        if (same_limit (limit, &g_array_index (sheet->limits, EfLimit, k)))
          ef_check_refuse (&at, "quantity", EF_ERROR_INVALID, "expected one limit a quantity and target, found \"%s\" again", limit->quantity);
    }
}

/* All stages */

gboolean
ef_pump_sheet_check (EfPumpSheet *sheet,
                     const EfJson *root,
                     GError **error)
{
  ef_check_references (sheet, root);
  if (!ef_check_failed (root))
    ef_check_sections (sheet, root);
  if (!ef_check_failed (root))
    ef_check_stack (sheet, root);
  if (!ef_check_failed (root))
    ef_check_bores (sheet, root);
  if (!ef_check_failed (root))
    ef_check_shafts (sheet, root);
  if (!ef_check_failed (root))
    ef_check_ports (sheet, root);
  if (!ef_check_failed (root))
    ef_check_limits (sheet, root);

  return ef_json_finish (root->context, error);
}
