/* A part from the shelf: its fields, its JSON, its check.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-replacement.h"

#include <math.h>
#include <string.h>

#define MOST 100000
#define MM_MAX 1e4

const char *const ef_part_size_quantities[] = {
  "face-width", "pocket-depth", "pocket-diameter", "bore-diameter", "journal-diameter", "tip-diameter", "backlash", "centre-distance", "thickness", NULL
};

static const char *const labels[] = {
  "Face width", "Pocket depth", "Pocket diameter", "Bore diameter", "Journal diameter", "Tip diameter", "Backlash with its mate", "Centre distance", "Thickness",
};

const char *
ef_part_size_label (const char *quantity)
{
  for (guint i = 0; ef_part_size_quantities[i] != NULL; i++)
    if (g_strcmp0 (quantity, ef_part_size_quantities[i]) == 0)
      return labels[i];

  return quantity;
}

void
ef_part_size_clear (gpointer data)
{
  EfPartSize *size = data;

  g_clear_pointer (&size->quantity, g_free);
  g_clear_pointer (&size->place, g_free);
}

void
ef_part_face_clear (gpointer data)
{
  EfPartFace *face = data;

  g_clear_pointer (&face->face_id, g_free);
}

/* The texts, told once. */
static const gsize texts[] = {
  G_STRUCT_OFFSET (EfReplacement, shelf), G_STRUCT_OFFSET (EfReplacement, pair), G_STRUCT_OFFSET (EfReplacement, sheet),
  G_STRUCT_OFFSET (EfReplacement, name), G_STRUCT_OFFSET (EfReplacement, material), G_STRUCT_OFFSET (EfReplacement, from_job),
  G_STRUCT_OFFSET (EfReplacement, from_date), G_STRUCT_OFFSET (EfReplacement, verdict), G_STRUCT_OFFSET (EfReplacement, note),
};
static const char *const text_members[] = { "shelf", "pair", "sheet", "name", "material", "from_job", "from_date", "verdict", "note" };

static char **
text_at (gconstpointer item,
         guint i)
{
  return (char **) ((char *) item + texts[i]);
}

/* And the lists of items. */
static const struct
{
  gsize offset;
  const char *member;
  EfItemKind kind;
} lists[] = {
  { G_STRUCT_OFFSET (EfReplacement, gauges), "gauges", EF_ITEM_GAUGE },
  { G_STRUCT_OFFSET (EfReplacement, marks), "marks", EF_ITEM_MARK },
  { G_STRUCT_OFFSET (EfReplacement, readings), "readings", EF_ITEM_READING },
};

static GPtrArray **
list_at (gconstpointer item,
         guint i)
{
  return (GPtrArray **) ((char *) item + lists[i].offset);
}

static GArray *
sizes_new (void)
{
  GArray *sizes = g_array_new (FALSE, TRUE, sizeof (EfPartSize));

  g_array_set_clear_func (sizes, ef_part_size_clear);
  return sizes;
}

static GArray *
faces_new (void)
{
  GArray *faces = g_array_new (FALSE, TRUE, sizeof (EfPartFace));

  g_array_set_clear_func (faces, ef_part_face_clear);
  return faces;
}

static void
replacement_clear (gpointer item)
{
  EfReplacement *self = item;

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    g_clear_pointer (text_at (item, i), g_free);
  for (guint i = 0; i < G_N_ELEMENTS (lists); i++)
    g_clear_pointer (list_at (item, i), g_ptr_array_unref);
  g_clear_pointer (&self->sizes, g_array_unref);
  g_clear_pointer (&self->faces, g_array_unref);
}

static void
replacement_copy_fields (gpointer dest,
                         gconstpointer src)
{
  EfReplacement *to = dest;
  const EfReplacement *from = src;

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    *text_at (dest, i) = g_strdup (*text_at (src, i));
  for (guint i = 0; i < G_N_ELEMENTS (lists); i++)
    {
      GPtrArray *copy = g_ptr_array_new_with_free_func (ef_item_unref);

      for (guint k = 0; k < (*list_at (src, i))->len; k++)
        g_ptr_array_add (copy, ef_item_ref ((*list_at (src, i))->pdata[k]));
      *list_at (dest, i) = copy;
    }
  to->sizes = sizes_new ();
  to->faces = faces_new ();
  for (guint i = 0; i < from->sizes->len; i++)
    {
      const EfPartSize *size = &g_array_index (from->sizes, EfPartSize, i);

      ef_replacement_add_size (to, size->quantity, size->place, size->value, size->uncertainty);
    }
  for (guint i = 0; i < from->faces->len; i++)
    {
      EfPartFace face = g_array_index (from->faces, EfPartFace, i);

      face.face_id = g_strdup (face.face_id);
      g_array_append_val (to->faces, face);
    }
}

static gboolean
same_numbers (double a,
              double b)
{
  return a == b || (isnan (a) && isnan (b));
}

static gboolean
same_sizes (const GArray *a,
            const GArray *b)
{
  if (a->len != b->len)
    return FALSE;
  for (guint i = 0; i < a->len; i++)
    {
      const EfPartSize *l = &g_array_index (a, EfPartSize, i), *r = &g_array_index (b, EfPartSize, i);

      if (g_strcmp0 (l->quantity, r->quantity) != 0 || g_strcmp0 (l->place, r->place) != 0 || l->value != r->value
          || !same_numbers (l->uncertainty, r->uncertainty))
        return FALSE;
    }

  return TRUE;
}

static gboolean
same_faces (const GArray *a,
            const GArray *b)
{
  if (a->len != b->len)
    return FALSE;
  for (guint i = 0; i < a->len; i++)
    {
      const EfPartFace *l = &g_array_index (a, EfPartFace, i), *r = &g_array_index (b, EfPartFace, i);

      if (g_strcmp0 (l->face_id, r->face_id) != 0 || l->lap != r->lap || l->room != r->room)
        return FALSE;
    }

  return TRUE;
}

static gboolean
replacement_equal (gconstpointer a,
                   gconstpointer b)
{
  const EfReplacement *left = a, *right = b;

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    if (g_strcmp0 (*text_at (a, i), *text_at (b, i)) != 0)
      return FALSE;
  for (guint i = 0; i < G_N_ELEMENTS (lists); i++)
    {
      const GPtrArray *l = *list_at (a, i), *r = *list_at (b, i);

      if (l->len != r->len)
        return FALSE;
      for (guint k = 0; k < l->len; k++)
        if (!ef_item_equal (l->pdata[k], r->pdata[k]))
          return FALSE;
    }

  return same_sizes (left->sizes, right->sizes) && same_faces (left->faces, right->faces);
}

const EfItemClass ef_replacement_class = {
  .kind = EF_ITEM_REPLACEMENT,
  .name = "replacement",
  .size = sizeof (EfReplacement),
  .clear = replacement_clear,
  .copy_fields = replacement_copy_fields,
  .equal = replacement_equal,
};

EfReplacement *
ef_replacement_new (const char *part_id,
                    const char *shelf)
{
  EfReplacement *self = ef_item_new (&ef_replacement_class, part_id);

  self->shelf = g_strdup (shelf);
  self->sizes = sizes_new ();
  self->faces = faces_new ();
  for (guint i = 0; i < G_N_ELEMENTS (lists); i++)
    *list_at (self, i) = g_ptr_array_new_with_free_func (ef_item_unref);

  return self;
}

void
ef_replacement_add_size (EfReplacement *self,
                         const char *quantity,
                         const char *place,
                         double value,
                         double uncertainty)
{
  EfPartSize size = { g_strdup (quantity), g_strdup (place), value, uncertainty };

  g_array_append_val (self->sizes, size);
}

const EfPartSize *
ef_replacement_size (const EfReplacement *self,
                     const char *quantity,
                     const char *place)
{
  for (guint i = 0; i < self->sizes->len; i++)
    {
      const EfPartSize *size = &g_array_index (self->sizes, EfPartSize, i);

      if (g_strcmp0 (size->quantity, quantity) == 0 && (place == NULL || g_strcmp0 (size->place, place) == 0))
        return size;
    }

  return NULL;
}

const EfPartFace *
ef_replacement_face (const EfReplacement *self,
                     const char *face_id)
{
  for (guint i = 0; i < self->faces->len; i++)
    {
      const EfPartFace *face = &g_array_index (self->faces, EfPartFace, i);

      if (g_strcmp0 (face->face_id, face_id) == 0)
        return face;
    }

  return NULL;
}

void
ef_replacement_on_grid (EfReplacement *self)
{
  for (guint i = 0; i < self->sizes->len; i++)
    {
      EfPartSize *size = &g_array_index (self->sizes, EfPartSize, i);

      size->value = ef_length_on_grid (size->value) + 0.0;
      if (!isnan (size->uncertainty))
        size->uncertainty = ef_length_on_grid (size->uncertainty) + 0.0;
    }
  for (guint i = 0; i < self->faces->len; i++)
    {
      EfPartFace *face = &g_array_index (self->faces, EfPartFace, i);

      face->lap = ef_length_on_grid (face->lap) + 0.0;
      face->room = ef_length_on_grid (face->room) + 0.0;
    }
  for (guint i = 0; i < G_N_ELEMENTS (lists); i++)
    for (guint k = 0; k < (*list_at (self, i))->len; k++)
      {
        gpointer *slot = &(*list_at (self, i))->pdata[k];
        EfItem *on_grid = ef_item_on_grid (*slot);

        ef_item_unref (*slot);
        *slot = on_grid;
      }
}

/* JSON */

const char *const ef_replacement_members[] = {
  "id", "shelf", "pair", "sheet", "name", "material", "from_job", "from_date", "verdict", "note", "sizes", "faces", "gauges", "marks", "readings", NULL
};
static const char *const size_members[] = { "quantity", "place", "value_mm", "uncertainty_mm", NULL };
static const char *const face_members[] = { "face", "lap_mm", "room_mm", NULL };

void
ef_replacement_to_json (const EfReplacement *self,
                        JsonObject *object)
{
  JsonArray *sizes = json_array_new (), *faces = json_array_new ();

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    if (*text_at (self, i) != NULL)
      json_object_set_string_member (object, text_members[i], *text_at (self, i));
  for (guint i = 0; i < self->sizes->len; i++)
    {
      const EfPartSize *size = &g_array_index (self->sizes, EfPartSize, i);
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "quantity", size->quantity);
      if (size->place != NULL)
        json_object_set_string_member (one, "place", size->place);
      json_object_set_double_member (one, "value_mm", ef_length_to_mm (size->value) + 0.0);
      if (!isnan (size->uncertainty))
        json_object_set_double_member (one, "uncertainty_mm", ef_length_to_mm (size->uncertainty) + 0.0);
      json_array_add_object_element (sizes, one);
    }
  for (guint i = 0; i < self->faces->len; i++)
    {
      const EfPartFace *face = &g_array_index (self->faces, EfPartFace, i);
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "face", face->face_id);
      json_object_set_double_member (one, "lap_mm", ef_length_to_mm (face->lap) + 0.0);
      json_object_set_double_member (one, "room_mm", ef_length_to_mm (face->room) + 0.0);
      json_array_add_object_element (faces, one);
    }
  json_object_set_array_member (object, "sizes", sizes);
  json_object_set_array_member (object, "faces", faces);
  for (guint i = 0; i < G_N_ELEMENTS (lists); i++)
    {
      JsonArray *array = json_array_new ();

      for (guint k = 0; k < (*list_at (self, i))->len; k++)
        json_array_add_element (array, ef_item_to_json ((*list_at (self, i))->pdata[k]));
      json_object_set_array_member (object, lists[i].member, array);
    }
}

static void
read_sizes (EfReplacement *self,
            const EfJson *json)
{
  g_auto (EfJson) array = ef_json_array (json, "sizes", 0, MOST);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      g_autofree char *place = ef_json_string_or (&one, "place", NULL);
      double u = ef_json_number_or (&one, "uncertainty_mm", 0, MM_MAX, NAN);

      ef_json_only (&one, size_members);
      ef_replacement_add_size (self, ef_part_size_quantities[ef_json_choice (&one, "quantity", ef_part_size_quantities)], place,
                               ef_length_from_mm (ef_json_number (&one, "value_mm", 0, MM_MAX)), isnan (u) ? NAN : ef_length_from_mm (u));
    }
}

static void
read_faces (EfReplacement *self,
            const EfJson *json)
{
  g_auto (EfJson) array = { 0 };

  if (!ef_json_has (json, "faces"))
    return;
  array = ef_json_array (json, "faces", 0, MOST);
  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      EfPartFace face = { 0 };

      ef_json_only (&one, face_members);
      face.face_id = ef_json_string (&one, "face");
      face.lap = ef_length_from_mm (ef_json_number_or (&one, "lap_mm", 0, MM_MAX, 0));
      face.room = ef_length_from_mm (ef_json_number_or (&one, "room_mm", 0, MM_MAX, 0));
      g_array_append_val (self->faces, face);
    }
}

static void
read_list (GPtrArray *list,
           const EfJson *json,
           const char *member,
           EfItemKind kind)
{
  g_auto (EfJson) array = { 0 };

  if (!ef_json_has (json, member))
    return;
  array = ef_json_array (json, member, 0, MOST);
  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      EfItem *item = ef_item_from_json (kind, &one);

      if (item == NULL)
        return;
      g_ptr_array_add (list, item);
    }
}

void
ef_replacement_read (EfReplacement *self,
                     const EfJson *json)
{
  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    {
      g_free (*text_at (self, i));
      *text_at (self, i) = ef_json_string_or (json, text_members[i], NULL);
    }
  read_sizes (self, json);
  read_faces (self, json);
  for (guint i = 0; i < G_N_ELEMENTS (lists); i++)
    read_list (*list_at (self, i), json, lists[i].member, lists[i].kind);
}

/* Check */

gboolean
ef_face_of_part (const char *face_id,
                 const char *part_id)
{
  gsize n = strlen (part_id);

  return face_id != NULL && strncmp (face_id, part_id, n) == 0 && face_id[n] == '/';
}

static int
place_of (const char *place)
{
  return g_strcmp0 (place, "drive") == 0 ? 0 : g_strcmp0 (place, "driven") == 0 ? 1 : -1;
}

gboolean
ef_reading_of_part (const EfPumpSheet *sheet,
                    const EfReading *reading,
                    const EfPart *part,
                    gboolean with_mates)
{
  const EfSection *section = reading->target != NULL ? ef_pump_sheet_section (sheet, reading->target) : NULL;
  gboolean pocket = section != NULL && g_strcmp0 (section->pocket_part, part->id) == 0;
  int gear = section == NULL ? -1 : g_strcmp0 (section->gear_part[0], part->id) == 0 ? 0 : g_strcmp0 (section->gear_part[1], part->id) == 0 ? 1 : -1;
  int place = place_of (reading->place);

  switch (reading->quantity)
    {
    case EF_READ_FACE_WIDTH:
    case EF_READ_JOURNAL_DIAMETER:
    case EF_READ_BORE_DIAMETER:
      return g_strcmp0 (reading->target, part->id) == 0;
    case EF_READ_FLATNESS:
      return ef_face_of_part (reading->target, part->id);
    case EF_READ_POCKET_DEPTH:
      return pocket;
    case EF_READ_END_CLEARANCE:
    case EF_READ_BACKLASH:
      return with_mates && (pocket || gear >= 0);
    case EF_READ_TIP_CLEARANCE:
      return with_mates && (pocket || (gear >= 0 && gear == place));
    case EF_READ_SIDE_PLAY:
      return with_mates && section != NULL
             && (pocket || (part->kind == EF_PART_SHAFT && part->gear == place) || ((part->kind == EF_PART_PLATE || part->kind == EF_PART_COVER) && part->bores->len > 0));
    default:
      return FALSE;
    }
}

static gboolean
fail (GError **error,
      const char *field,
      const char *expected,
      const char *found)
{
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected %s, found \"%s\"", field, expected, found != NULL ? found : "");
  return FALSE;
}

static gboolean
check_numbers (const EfReplacement *self,
               GError **error)
{
  for (guint i = 0; i < self->sizes->len; i++)
    {
      const EfPartSize *size = &g_array_index (self->sizes, EfPartSize, i);

      if (!g_strv_contains (ef_part_size_quantities, size->quantity != NULL ? size->quantity : "") || !(size->value >= 0.0 && size->value <= 10.0)
          || (!isnan (size->uncertainty) && !(size->uncertainty >= 0.0 && size->uncertainty <= 10.0)))
        return fail (error, "sizes", "a known size with a value and an uncertainty of 0 to 10 m", size->quantity);
    }
  for (guint i = 0; i < self->faces->len; i++)
    {
      const EfPartFace *face = &g_array_index (self->faces, EfPartFace, i);

      if (!ef_face_of_part (face->face_id, self->item.id) || !(face->lap >= 0.0 && face->lap <= 10.0) || !(face->room >= 0.0 && face->room <= 10.0))
        return fail (error, "faces", "faces of the part with stock of 0 to 10 m", face->face_id);
    }

  return TRUE;
}

static gboolean
check_texts (const EfReplacement *self,
             GError **error)
{
  static const char *const verdicts[] = { "use-again", "rework", NULL };

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    {
      const char *text = *text_at (self, i);

      if (text != NULL && (strlen (text) > (g_str_equal (text_members[i], "note") ? 200000 : 2000) || !g_utf8_validate (text, -1, NULL)))
        return fail (error, text_members[i], "valid text of bearable length", "too much");
    }
  if (self->shelf == NULL || *self->shelf == '\0')
    return fail (error, "shelf", "the code of a part on the shelf", self->shelf);
  if (self->verdict != NULL && !g_strv_contains (verdicts, self->verdict))
    return fail (error, "verdict", "use-again or rework", self->verdict);

  return TRUE;
}

static gboolean
check_belongs (const EfReplacement *self,
               const EfPumpSheet *sheet,
               const EfPart *part,
               GError **error)
{
  for (guint i = 0; i < self->marks->len; i++)
    {
      const EfMark *mark = self->marks->pdata[i];

      if (!ef_face_of_part (mark->face_id, part->id))
        return fail (error, "marks", "marks on faces of the part", mark->face_id);
    }
  for (guint i = 0; i < self->readings->len; i++)
    if (!ef_reading_of_part (sheet, self->readings->pdata[i], part, FALSE))
      return fail (error, "readings", "readings of the part by itself", ((EfReading *) self->readings->pdata[i])->target);

  return TRUE;
}

gboolean
ef_replacement_check (const EfReplacement *self,
                      const EfPumpSheet *sheet,
                      GError **error)
{
  const EfPart *part = ef_pump_sheet_part (sheet, self->item.id);
  g_autoptr (EfInspection) trial = NULL;

  if (part == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "id: expected a part of %s, found \"%s\"", sheet->model, self->item.id);
      return FALSE;
    }
  if (g_strcmp0 (self->sheet, sheet->id) != 0)
    return fail (error, "sheet", sheet->id, self->sheet);
  if (!check_texts (self, error) || !check_numbers (self, error) || !check_belongs (self, sheet, part, error))
    return FALSE;

  trial = ef_inspection_new ((EfPumpSheet *) sheet, "shelf");
  for (guint i = 0; i < G_N_ELEMENTS (lists); i++)
    if (!ef_inspection_fill (trial, lists[i].kind, *list_at (self, i), error))
      return FALSE;

  return TRUE;
}
