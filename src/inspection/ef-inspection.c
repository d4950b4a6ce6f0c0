/* The inspection: eight lists of shared, immutable items over one pump sheet.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-inspection.h"

#include <math.h>

EfInspection *
ef_inspection_new (EfPumpSheet *sheet,
                   const char *job_number)
{
  EfInspection *self = g_new0 (EfInspection, 1);
  EfJobHeader *header = ef_item_new (&ef_job_header_class, "job");
  guint kind;

  self->sheet = ef_pump_sheet_ref (sheet);
  for (kind = 0; kind < EF_N_ITEM_KINDS; kind++)
    self->items[kind] = g_ptr_array_new_with_free_func (ef_item_unref);

  header->number = g_strdup (job_number);
  header->hours = NAN;
  header->found_pressure = NAN;
  header->found_speed = NAN;
  header->found_temperature = NAN;
  header->expected_pressure = NAN;
  g_ptr_array_add (self->items[EF_ITEM_HEADER], header);

  return self;
}

static gpointer
ref_item (gconstpointer item,
          gpointer unused)
{
  return ef_item_ref ((gpointer) item);
}

EfInspection *
ef_inspection_copy (const EfInspection *self)
{
  EfInspection *copy = g_new0 (EfInspection, 1);
  guint kind;

  copy->sheet = ef_pump_sheet_ref (self->sheet);
  for (kind = 0; kind < EF_N_ITEM_KINDS; kind++)
    {
      copy->items[kind] = g_ptr_array_copy (self->items[kind], ref_item, NULL);
      g_ptr_array_set_free_func (copy->items[kind], ef_item_unref);
    }

  return copy;
}

void
ef_inspection_free (EfInspection *self)
{
  guint kind;

  if (self == NULL)
    return;

  for (kind = 0; kind < EF_N_ITEM_KINDS; kind++)
    g_clear_pointer (&self->items[kind], g_ptr_array_unref);
  g_clear_pointer (&self->sheet, ef_pump_sheet_unref);
  g_free (self);
}

static int
find_index (const EfInspection *self,
            EfItemKind kind,
            const char *id)
{
  const GPtrArray *items = self->items[kind];
  guint i;

  for (i = 0; i < items->len; i++)
    {
      const EfItem *item = items->pdata[i];

      if (g_str_equal (item->id, id))
        return (int) i;
    }

  return -1;
}

gpointer
ef_inspection_find (const EfInspection *self,
                    EfItemKind kind,
                    const char *id)
{
  int index;

  g_return_val_if_fail (self != NULL && kind < EF_N_ITEM_KINDS, NULL);
  if (id == NULL)
    return NULL;
  index = find_index (self, kind, id);

  return index >= 0 ? self->items[kind]->pdata[index] : NULL;
}

const EfJobHeader *
ef_inspection_header (const EfInspection *self)
{
  return self->items[EF_ITEM_HEADER]->pdata[0];
}

/* Where @before stands; -1 and an error when it isn't there or is another by now. */
static int
find_before (const EfInspection *self,
             const EfItem *before,
             GError **error)
{
  EfItemKind kind = before->klass->kind;
  int index = find_index (self, kind, before->id);

  if (index < 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s %s: expected it to be in this job, found none",
                   before->klass->name, before->id);
      return -1;
    }
  if (!ef_item_equal (self->items[kind]->pdata[index], before))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s %s: expected it unchanged, found it changed meanwhile",
                   before->klass->name, before->id);
      return -1;
    }

  return index;
}

static guint
count_gauge_uses (const EfInspection *self,
                  const char *gauge_id)
{
  guint uses = 0;
  guint i, k;

  for (i = 0; i < self->items[EF_ITEM_READING]->len; i++)
    {
      const EfReading *reading = self->items[EF_ITEM_READING]->pdata[i];

      uses += g_strcmp0 (reading->gauge_id, gauge_id) == 0;
    }
  for (i = 0; i < self->items[EF_ITEM_WORK]->len; i++)
    {
      const EfWork *work = self->items[EF_ITEM_WORK]->pdata[i];

      uses += g_strcmp0 (work->gauge_id, gauge_id) == 0;
    }
  for (i = 0; i < self->items[EF_ITEM_MARK]->len; i++)
    {
      const EfMark *mark = self->items[EF_ITEM_MARK]->pdata[i];

      for (k = 0; k < mark->depths->len; k++)
        uses += g_strcmp0 (g_array_index (mark->depths, EfMarkDepth, k).gauge_id, gauge_id) == 0;
    }

  return uses;
}

static gboolean
check_removal (const EfInspection *self,
               const EfItem *item,
               GError **error)
{
  guint uses;

  if (item->klass->kind == EF_ITEM_HEADER)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "header: expected it to stay, found it removed");
      return FALSE;
    }
  if (item->klass->kind != EF_ITEM_GAUGE)
    return TRUE;

  uses = count_gauge_uses (self, item->id);
  if (uses > 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID,
                   "gauge %s: expected no reading or depth taken with it, found %u", item->id, uses);
      return FALSE;
    }

  return TRUE;
}

static gboolean
check_addition (const EfInspection *self,
                const EfItem *item,
                int position,
                GError **error)
{
  EfItemKind kind = item->klass->kind;

  if (kind == EF_ITEM_HEADER)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "header: expected exactly one, found another added");
      return FALSE;
    }
  if (find_index (self, kind, item->id) >= 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s %s: expected an id that isn't taken, found it taken",
                   item->klass->name, item->id);
      return FALSE;
    }
  if (position < -1 || position > (int) self->items[kind]->len)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s %s: expected a place from 0 to %u, found %d",
                   item->klass->name, item->id, self->items[kind]->len, position);
      return FALSE;
    }

  return TRUE;
}

static void
set_position (int *position_out,
              int position)
{
  if (position_out != NULL)
    *position_out = position;
}

static gboolean
add_item (EfInspection *self,
          EfItem *item,
          int position,
          int *position_out,
          GError **error)
{
  GPtrArray *items = self->items[item->klass->kind];

  if (!check_addition (self, item, position, error) || !ef_inspection_check_item (self, item, error))
    return FALSE;

  set_position (position_out, position >= 0 ? position : (int) items->len);
  g_ptr_array_insert (items, position, ef_item_ref (item));

  return TRUE;
}

static gboolean
remove_item (EfInspection *self,
             const EfItem *item,
             int *position_out,
             GError **error)
{
  int index = find_before (self, item, error);

  if (index < 0 || !check_removal (self, item, error))
    return FALSE;

  set_position (position_out, index);
  g_ptr_array_remove_index (self->items[item->klass->kind], index);

  return TRUE;
}

static gboolean
replace_item (EfInspection *self,
              const EfItem *before,
              EfItem *after,
              int *position_out,
              GError **error)
{
  EfItem **slot;
  int index;

  if (before->klass != after->klass || !g_str_equal (before->id, after->id))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s %s: expected the same kind and id after the change, found %s %s",
                   before->klass->name, before->id, after->klass->name, after->id);
      return FALSE;
    }
  index = find_before (self, before, error);
  if (index < 0 || !ef_inspection_check_item (self, after, error))
    return FALSE;

  slot = (EfItem **) &self->items[after->klass->kind]->pdata[index];
  ef_item_ref (after);
  ef_item_unref (*slot);
  *slot = after;
  set_position (position_out, index);

  return TRUE;
}

gboolean
ef_inspection_swap_at (EfInspection *self,
                       EfItem *before,
                       EfItem *after,
                       int position,
                       int *position_out,
                       GError **error)
{
  if (before == NULL && after == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "edit: expected an item before or after, found neither");
      return FALSE;
    }
  if (before == NULL)
    return add_item (self, after, position, position_out, error);
  if (after == NULL)
    return remove_item (self, before, position_out, error);

  return replace_item (self, before, after, position_out, error);
}

gboolean
ef_inspection_swap (EfInspection *self,
                    EfItem *before,
                    EfItem *after,
                    GError **error)
{
  return ef_inspection_swap_at (self, before, after, -1, NULL, error);
}

static gboolean
check_fill_item (const EfInspection *self,
                 EfItemKind kind,
                 const EfItem *item,
                 GHashTable *ids,
                 GError **error)
{
  if (item->klass->kind != kind)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s %s: expected a %s",
                   item->klass->name, item->id, ef_item_kind_name (kind));
      return FALSE;
    }
  if (!g_hash_table_add (ids, item->id))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s %s: expected an id that isn't taken, found it taken",
                   item->klass->name, item->id);
      return FALSE;
    }

  return ef_inspection_check_item (self, item, error);
}

gboolean
ef_inspection_fill (EfInspection *self,
                    EfItemKind kind,
                    GPtrArray *items,
                    GError **error)
{
  g_autoptr (GHashTable) ids = g_hash_table_new (g_str_hash, g_str_equal);
  guint i;

  if (kind == EF_ITEM_HEADER && items->len != 1)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "header: expected exactly one, found %u", items->len);
      return FALSE;
    }

  for (i = 0; kind != EF_ITEM_HEADER && i < self->items[kind]->len; i++)
    g_hash_table_add (ids, ((EfItem *) self->items[kind]->pdata[i])->id);
  for (i = 0; i < items->len; i++)
    if (!check_fill_item (self, kind, items->pdata[i], ids, error))
      return FALSE;

  if (kind == EF_ITEM_HEADER)
    g_ptr_array_set_size (self->items[kind], 0);
  for (i = 0; i < items->len; i++)
    g_ptr_array_add (self->items[kind], ef_item_ref (items->pdata[i]));

  return TRUE;
}

static gboolean
same_numbers (JsonNode *a,
              JsonNode *b)
{
  if (json_node_get_value_type (a) == G_TYPE_INT64 && json_node_get_value_type (b) == G_TYPE_INT64)
    return json_node_get_int (a) == json_node_get_int (b);

  return json_node_get_double (a) == json_node_get_double (b);
}

static gboolean same_nodes (JsonNode *a, JsonNode *b);

static gboolean
same_objects (JsonObject *a,
              JsonObject *b)
{
  g_autoptr (GList) names = json_object_get_members (a);
  GList *l;

  if (json_object_get_size (a) != json_object_get_size (b))
    return FALSE;
  for (l = names; l != NULL; l = l->next)
    if (!json_object_has_member (b, l->data)
        || !same_nodes (json_object_get_member (a, l->data), json_object_get_member (b, l->data)))
      return FALSE;

  return TRUE;
}

static gboolean
same_arrays (JsonArray *a,
             JsonArray *b)
{
  guint i;

  if (json_array_get_length (a) != json_array_get_length (b))
    return FALSE;
  for (i = 0; i < json_array_get_length (a); i++)
    if (!same_nodes (json_array_get_element (a, i), json_array_get_element (b, i)))
      return FALSE;

  return TRUE;
}

/* Same JSON whatever the spacing, the order of members, and whether a whole number is written 5 or 5.0. */
static gboolean
same_nodes (JsonNode *a,
            JsonNode *b)
{
  GType type;

  if (json_node_get_node_type (a) != json_node_get_node_type (b))
    return FALSE;
  if (JSON_NODE_HOLDS_OBJECT (a))
    return same_objects (json_node_get_object (a), json_node_get_object (b));
  if (JSON_NODE_HOLDS_ARRAY (a))
    return same_arrays (json_node_get_array (a), json_node_get_array (b));
  if (JSON_NODE_HOLDS_NULL (a))
    return TRUE;

  type = json_node_get_value_type (a);
  if (type == G_TYPE_INT64 || type == G_TYPE_DOUBLE)
    return (json_node_get_value_type (b) == G_TYPE_INT64 || json_node_get_value_type (b) == G_TYPE_DOUBLE)
           && same_numbers (a, b);
  if (type != json_node_get_value_type (b))
    return FALSE;
  if (type == G_TYPE_BOOLEAN)
    return json_node_get_boolean (a) == json_node_get_boolean (b);

  return g_strcmp0 (json_node_get_string (a), json_node_get_string (b)) == 0;
}

static gboolean
same_sheets (const EfPumpSheet *a,
             const EfPumpSheet *b)
{
  g_autoptr (JsonNode) left = NULL;
  g_autoptr (JsonNode) right = NULL;

  if (a == b || g_strcmp0 (a->json, b->json) == 0)
    return TRUE;
  if (a->json == NULL || b->json == NULL)
    return FALSE;

  left = json_from_string (a->json, NULL);
  right = json_from_string (b->json, NULL);

  return left != NULL && right != NULL && same_nodes (left, right);
}

static gboolean
same_items (const GPtrArray *a,
            const GPtrArray *b)
{
  guint i;

  if (a->len != b->len)
    return FALSE;
  for (i = 0; i < a->len; i++)
    if (!ef_item_equal (a->pdata[i], b->pdata[i]))
      return FALSE;

  return TRUE;
}

gboolean
ef_inspection_equal (const EfInspection *a,
                     const EfInspection *b)
{
  guint kind;

  if (a == b)
    return TRUE;
  if (a == NULL || b == NULL)
    return FALSE;
  for (kind = 0; kind < EF_N_ITEM_KINDS; kind++)
    if (!same_items (a->items[kind], b->items[kind]))
      return FALSE;

  return same_sheets (a->sheet, b->sheet);
}

GPtrArray *
ef_inspection_face_marks (const EfInspection *self,
                          const char *face_id)
{
  GPtrArray *marks = g_ptr_array_new ();
  guint i;

  for (i = 0; i < self->items[EF_ITEM_MARK]->len; i++)
    {
      EfMark *mark = self->items[EF_ITEM_MARK]->pdata[i];

      if (g_strcmp0 (mark->face_id, face_id) == 0)
        g_ptr_array_add (marks, mark);
    }

  return marks;
}

int
ef_inspection_next_number (const EfInspection *self)
{
  int highest = 0;
  guint i;

  for (i = 0; i < self->items[EF_ITEM_MARK]->len; i++)
    {
      const EfMark *mark = self->items[EF_ITEM_MARK]->pdata[i];

      highest = MAX (highest, mark->number);
    }

  return highest < G_MAXINT ? highest + 1 : highest;
}
