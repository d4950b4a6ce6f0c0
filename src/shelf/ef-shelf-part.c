/* A part on the shelf: its state and its file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-shelf-part.h"

#include <math.h>

#define PARTS_MAX 200000

static const struct
{
  const char *name, *label;
} states[EF_N_SHELF_STATES] = {
  [EF_SHELF_FREE] = { "free", "Free" },
  [EF_SHELF_RESERVED] = { "reserved", "Reserved" },
  [EF_SHELF_USED] = { "used", "Used" },
  [EF_SHELF_WITHDRAWN] = { "withdrawn", "Withdrawn" },
};

const char *
ef_shelf_state_name (EfShelfState state)
{
  g_return_val_if_fail (state < EF_N_SHELF_STATES, NULL);

  return states[state].name;
}

const char *
ef_shelf_state_label (EfShelfState state)
{
  g_return_val_if_fail (state < EF_N_SHELF_STATES, NULL);

  return states[state].label;
}

gboolean
ef_shelf_state_from_name (const char *name,
                          EfShelfState *state_out)
{
  for (guint i = 0; i < EF_N_SHELF_STATES; i++)
    if (g_strcmp0 (name, states[i].name) == 0)
      {
        *state_out = i;
        return TRUE;
      }

  return FALSE;
}

EfShelfPart *
ef_shelf_part_new (EfReplacement *part,
                   const char *model,
                   EfPartKind kind)
{
  EfShelfPart *self = g_new0 (EfShelfPart, 1);

  self->ref_count = 1;
  self->part = part;
  self->model = g_strdup (model);
  self->kind = kind;

  return self;
}

EfShelfPart *
ef_shelf_part_ref (EfShelfPart *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_shelf_part_unref (EfShelfPart *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;

  g_clear_pointer (&self->part, ef_item_unref);
  g_free (self->model);
  g_free (self->holder);
  g_free (self->reason);
  g_free (self->changed);
  g_free (self);
}

char *
ef_shelf_part_state_text (const EfShelfPart *self)
{
  switch (self->state)
    {
    case EF_SHELF_RESERVED:
      return g_strdup_printf ("Reserved for %s", self->holder != NULL ? self->holder : "?");
    case EF_SHELF_USED:
      return g_strdup_printf ("Used in %s", self->holder != NULL ? self->holder : "?");
    case EF_SHELF_WITHDRAWN:
      return self->reason != NULL ? g_strdup_printf ("Withdrawn: %s", self->reason) : g_strdup ("Withdrawn");
    default:
      return g_strdup ("Free");
    }
}

const EfPartSize *
ef_shelf_part_main_size (const EfShelfPart *self)
{
  static const char *const order[] = { "face-width", "pocket-depth", "journal-diameter", "thickness", "bore-diameter" };

  for (guint i = 0; i < G_N_ELEMENTS (order); i++)
    {
      const EfPartSize *size = ef_replacement_size (self->part, order[i], NULL);

      if (size != NULL)
        return size;
    }

  return NULL;
}

char *
ef_part_size_text (const EfPartSize *size)
{
  if (isnan (size->uncertainty))
    return g_strdup_printf ("%.3f mm", size->value * 1e3);

  return g_strdup_printf ("%.3f mm ± %.3f mm", size->value * 1e3, 2e3 * size->uncertainty);
}

JsonNode *
ef_shelf_part_to_json (const EfShelfPart *self)
{
  JsonObject *object = json_object_new ();

  json_object_set_string_member (object, "id", self->part->item.id);
  json_object_set_string_member (object, "model", self->model != NULL ? self->model : "");
  json_object_set_string_member (object, "kind", ef_part_kind_name (self->kind));
  json_object_set_string_member (object, "state", ef_shelf_state_name (self->state));
  if (self->holder != NULL)
    json_object_set_string_member (object, "holder", self->holder);
  if (self->reason != NULL)
    json_object_set_string_member (object, "reason", self->reason);
  if (self->changed != NULL)
    json_object_set_string_member (object, "changed", self->changed);
  ef_replacement_to_json (self->part, object);

  return ef_json_object_node (object);
}

static EfPartKind
read_kind (const EfJson *json)
{
  const char *names[EF_N_PART_KINDS + 1] = { NULL };

  for (guint i = 0; i < EF_N_PART_KINDS; i++)
    names[i] = ef_part_kind_name (i);

  return ef_json_choice (json, "kind", names);
}

static EfShelfState
read_state (const EfJson *json)
{
  const char *names[EF_N_SHELF_STATES + 1] = { NULL };

  if (!ef_json_has (json, "state"))
    return EF_SHELF_FREE;
  for (guint i = 0; i < EF_N_SHELF_STATES; i++)
    names[i] = states[i].name;

  return ef_json_choice (json, "state", names);
}

static void
read_only_known (const EfJson *json)
{
  static const char *const own[] = { "model", "kind", "state", "holder", "reason", "changed" };
  g_autoptr (GPtrArray) all = g_ptr_array_new ();

  for (guint i = 0; ef_replacement_members[i] != NULL; i++)
    g_ptr_array_add (all, (gpointer) ef_replacement_members[i]);
  for (guint i = 0; i < G_N_ELEMENTS (own); i++)
    g_ptr_array_add (all, (gpointer) own[i]);
  g_ptr_array_add (all, NULL);
  ef_json_only (json, (const char *const *) all->pdata);
}

EfShelfPart *
ef_shelf_part_from_json (const EfJson *json)
{
  g_autoptr (EfShelfPart) self = NULL;
  g_autofree char *id = NULL;
  g_autofree char *model = NULL;

  if (json->node == NULL || !JSON_NODE_HOLDS_OBJECT (json->node))
    {
      ef_json_fail (json, EF_ERROR_PARSE, "expected an object");
      return NULL;
    }
  read_only_known (json);
  id = ef_json_string (json, "id");
  model = ef_json_string_or (json, "model", "");
  if (!ef_json_finish (json->context, NULL))
    return NULL;
  self = ef_shelf_part_new (ef_replacement_new (id, NULL), model, read_kind (json));
  self->state = read_state (json);
  self->holder = ef_json_string_or (json, "holder", NULL);
  self->reason = ef_json_string_or (json, "reason", NULL);
  self->changed = ef_json_string_or (json, "changed", NULL);
  ef_replacement_read (self->part, json);
  if (!ef_json_finish (json->context, NULL))
    return NULL;

  return g_steal_pointer (&self);
}

char *
ef_shelf_write (GPtrArray *parts)
{
  g_autoptr (JsonNode) node = NULL;
  JsonObject *object = json_object_new ();
  JsonArray *array = json_array_new ();

  json_object_set_string_member (object, "format", EF_SHELF_FORMAT);
  json_object_set_int_member (object, "version", EF_SHELF_VERSION);
  for (guint i = 0; i < parts->len; i++)
    json_array_add_element (array, ef_shelf_part_to_json (parts->pdata[i]));
  json_object_set_array_member (object, "parts", array);
  node = ef_json_object_node (object);

  return ef_json_to_text (node);
}

static GPtrArray *
read_file (EfJsonContext *context,
           GError **error)
{
  static const char *const members[] = { "format", "version", "parts", NULL };
  static const char *const formats[] = { EF_SHELF_FORMAT, NULL };
  g_autoptr (GPtrArray) parts = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_shelf_part_unref);
  g_auto (EfJson) root = ef_json_root (context);
  g_auto (EfJson) array = { 0 };
  gint64 version;

  ef_json_only (&root, members);
  ef_json_choice (&root, "format", formats);
  version = ef_json_integer (&root, "version", 1, G_MAXINT64);
  if (version > EF_SHELF_VERSION)
    ef_json_fail (&root, EF_ERROR_NEWER_FORMAT, "version: expected at most %d, found %" G_GINT64_FORMAT, EF_SHELF_VERSION, version);
  array = ef_json_array (&root, "parts", 0, PARTS_MAX);
  for (guint i = 0; i < ef_json_length (&array) && ef_json_finish (context, NULL); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      EfShelfPart *part = ef_shelf_part_from_json (&one);

      if (part != NULL)
        g_ptr_array_add (parts, part);
    }

  return ef_json_finish (context, error) ? g_steal_pointer (&parts) : NULL;
}

GPtrArray *
ef_shelf_parse (const char *text,
                gssize length,
                const char *file,
                GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse (text, length, file, error);

  return context != NULL ? read_file (context, error) : NULL;
}

GPtrArray *
ef_shelf_load (const char *path,
               GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse_file (path, error);

  return context != NULL ? read_file (context, error) : NULL;
}
