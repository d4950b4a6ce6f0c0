/* Two states of a job, item by item and field by field.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-compare.h"

#include <string.h>

void
ef_difference_free (EfDifference *difference)
{
  if (difference == NULL)
    return;
  g_free (difference->id);
  g_free (difference->title);
  g_free (difference->field);
  g_free (difference->path);
  g_free (difference->before);
  g_free (difference->after);
  g_free (difference);
}

static EfDifference *
add_difference (GPtrArray *out,
                const char *path,
                char *before,
                char *after)
{
  EfDifference *difference = g_new0 (EfDifference, 1);

  difference->kind = EF_N_ITEM_KINDS;
  difference->id = g_strdup ("");
  difference->title = g_strdup ("");
  difference->path = g_strdup (path);
  difference->field = ef_compare_field_words (path);
  difference->before = before;
  difference->after = after;
  g_ptr_array_add (out, difference);

  return difference;
}

/* Lists of numbers, and of pairs of them, are one value: an outline that was moved is one difference. */
static gboolean
is_numbers (JsonNode *node)
{
  JsonArray *array;

  if (!JSON_NODE_HOLDS_ARRAY (node))
    return FALSE;
  array = json_node_get_array (node);
  for (guint i = 0; i < json_array_get_length (array); i++)
    {
      JsonNode *element = json_array_get_element (array, i);

      if (JSON_NODE_HOLDS_OBJECT (element) || (JSON_NODE_HOLDS_ARRAY (element) && !is_numbers (element)))
        return FALSE;
    }

  return TRUE;
}

static void
compare_objects (JsonObject *a,
                 JsonObject *b,
                 const char *path,
                 GPtrArray *out)
{
  JsonObjectIter iter;
  const char *name;
  JsonNode *node;

  json_object_iter_init_ordered (&iter, a);
  while (json_object_iter_next_ordered (&iter, &name, &node))
    {
      g_autofree char *place = *path != '\0' ? g_strdup_printf ("%s.%s", path, name) : g_strdup (name);

      ef_compare_nodes (node, json_object_get_member (b, name), place, out);
    }
  json_object_iter_init_ordered (&iter, b);
  while (json_object_iter_next_ordered (&iter, &name, &node))
    if (!json_object_has_member (a, name))
      {
        g_autofree char *place = *path != '\0' ? g_strdup_printf ("%s.%s", path, name) : g_strdup (name);

        ef_compare_nodes (NULL, node, place, out);
      }
}

static void
compare_arrays (JsonArray *a,
                JsonArray *b,
                const char *path,
                GPtrArray *out)
{
  guint n = json_array_get_length (a), m = json_array_get_length (b);

  for (guint i = 0; i < MAX (n, m); i++)
    {
      g_autofree char *place = g_strdup_printf ("%s[%u]", path, i);

      ef_compare_nodes (i < n ? json_array_get_element (a, i) : NULL, i < m ? json_array_get_element (b, i) : NULL, place, out);
    }
}

/* 1 and 1.0 are the same number. */
static gboolean
same_value (JsonNode *a,
            JsonNode *b)
{
  GType types[2] = { json_node_get_value_type (a), json_node_get_value_type (b) };
  gboolean numbers = (types[0] == G_TYPE_INT64 || types[0] == G_TYPE_DOUBLE) && (types[1] == G_TYPE_INT64 || types[1] == G_TYPE_DOUBLE);

  return numbers ? json_node_get_double (a) == json_node_get_double (b) : json_node_equal (a, b);
}

static gboolean
same_numbers (JsonNode *a,
              JsonNode *b)
{
  g_autoptr (GPtrArray) inner = NULL;

  if (json_array_get_length (json_node_get_array (a)) != json_array_get_length (json_node_get_array (b)))
    return FALSE;
  inner = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_difference_free);
  compare_arrays (json_node_get_array (a), json_node_get_array (b), "", inner);

  return inner->len == 0;
}

void
ef_compare_nodes (JsonNode *a,
                  JsonNode *b,
                  const char *path,
                  GPtrArray *out)
{
  gboolean same_kind = a != NULL && b != NULL && json_node_get_node_type (a) == json_node_get_node_type (b);

  if (a == NULL && b == NULL)
    return;
  if (same_kind && JSON_NODE_HOLDS_OBJECT (a))
    compare_objects (json_node_get_object (a), json_node_get_object (b), path, out);
  else if (same_kind && JSON_NODE_HOLDS_ARRAY (a) && !(is_numbers (a) && is_numbers (b)))
    compare_arrays (json_node_get_array (a), json_node_get_array (b), path, out);
  else if (same_kind && (JSON_NODE_HOLDS_ARRAY (a) ? same_numbers (a, b) : JSON_NODE_HOLDS_NULL (a) || same_value (a, b)))
    return;
  else if (a == NULL && JSON_NODE_HOLDS_OBJECT (b))
    {
      g_autoptr (JsonNode) empty = json_node_init_object (json_node_alloc (), json_object_new ());

      json_object_unref (json_node_get_object (empty));
      ef_compare_nodes (empty, b, path, out);
    }
  else if (b == NULL && JSON_NODE_HOLDS_OBJECT (a))
    {
      g_autoptr (JsonNode) empty = json_node_init_object (json_node_alloc (), json_object_new ());

      json_object_unref (json_node_get_object (empty));
      ef_compare_nodes (a, empty, path, out);
    }
  else
    add_difference (out, path, ef_compare_value_words (path, a), ef_compare_value_words (path, b));
}

static void
name_differences (GPtrArray *out,
                  guint from,
                  const EfInspection *inspection,
                  const EfItem *item)
{
  for (guint i = from; i < out->len; i++)
    {
      EfDifference *difference = out->pdata[i];

      difference->kind = item->klass->kind;
      g_free (difference->id);
      difference->id = g_strdup (item->id);
      g_free (difference->title);
      difference->title = ef_compare_item_words (inspection, item);
    }
}

/* What an item says in a word, for one that was added or removed. */
static char *
summary (const EfItem *item)
{
  g_autoptr (JsonNode) node = ef_item_to_json (item);
  JsonObject *object = json_node_get_object (node);
  static const char *const telling[] = { "value_mm", "state", "verdict", "kind", "time" };

  if (item->klass->kind == EF_ITEM_MARK)
    {
      double deepest = ef_mark_deepest ((const EfMark *) item);
      g_autofree char *depth = deepest == deepest ? ef_json_number_text (ef_length_to_mm (deepest)) : NULL;

      return depth != NULL ? g_strdup_printf ("deepest %s mm", depth) : g_strdup ("no depth");
    }
  for (guint i = 0; i < G_N_ELEMENTS (telling); i++)
    if (json_object_has_member (object, telling[i]))
      return ef_compare_value_words (telling[i], json_object_get_member (object, telling[i]));

  return g_strdup ("there");
}

static void
compare_items (const EfInspection *a,
               const EfInspection *b,
               const EfItem *before,
               const EfItem *after,
               GPtrArray *out)
{
  guint from = out->len;

  if (before != NULL && after != NULL)
    {
      g_autoptr (JsonNode) one = NULL;
      g_autoptr (JsonNode) two = NULL;

      if (before == after || ef_item_equal (before, after))
        return;
      one = ef_item_to_json (before);
      two = ef_item_to_json (after);
      ef_compare_nodes (one, two, "", out);
    }
  else
    add_difference (out, "", before != NULL ? summary (before) : NULL, after != NULL ? summary (after) : NULL);

  name_differences (out, from, after != NULL ? b : a, after != NULL ? after : before);
}

/* The ids of those in both, each in its own order. */
static char *
order_of (const EfInspection *self,
          const EfInspection *other,
          EfItemKind kind)
{
  g_autoptr (GString) out = g_string_new (NULL);

  for (guint i = 0; i < self->items[kind]->len; i++)
    {
      const EfItem *item = self->items[kind]->pdata[i];

      if (ef_inspection_find (other, kind, item->id) != NULL)
        g_string_append_printf (out, "%s%s", out->len > 0 ? ", " : "", item->id);
    }

  return g_string_free (g_steal_pointer (&out), FALSE);
}

static void
compare_kind (const EfInspection *a,
              const EfInspection *b,
              EfItemKind kind,
              GPtrArray *out)
{
  g_autofree char *order_a = NULL;
  g_autofree char *order_b = NULL;

  for (guint i = 0; i < a->items[kind]->len; i++)
    {
      const EfItem *item = a->items[kind]->pdata[i];

      compare_items (a, b, item, ef_inspection_find (b, kind, item->id), out);
    }
  for (guint i = 0; i < b->items[kind]->len; i++)
    {
      const EfItem *item = b->items[kind]->pdata[i];

      if (ef_inspection_find (a, kind, item->id) == NULL)
        compare_items (a, b, NULL, item, out);
    }

  order_a = order_of (a, b, kind);
  order_b = order_of (b, a, kind);
  if (!g_str_equal (order_a, order_b))
    {
      EfDifference *difference = add_difference (out, "", g_steal_pointer (&order_a), g_steal_pointer (&order_b));

      difference->kind = kind;
      g_free (difference->title);
      difference->title = g_strdup_printf ("Order of the %ss", ef_item_kind_name (kind));
    }
}

GPtrArray *
ef_compare (const EfInspection *a,
            const EfInspection *b)
{
  GPtrArray *out = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_difference_free);

  g_return_val_if_fail (a != NULL && b != NULL, out);
  if (!g_str_equal (a->sheet->json, b->sheet->json))
    {
      g_autoptr (JsonNode) one = json_from_string (a->sheet->json, NULL);
      g_autoptr (JsonNode) two = json_from_string (b->sheet->json, NULL);

      ef_compare_nodes (one, two, "", out);
      for (guint i = 0; i < out->len; i++)
        {
          EfDifference *difference = out->pdata[i];

          g_free (difference->title);
          difference->title = g_strdup ("Pump sheet");
        }
    }
  for (int kind = 0; kind < EF_N_ITEM_KINDS; kind++)
    compare_kind (a, b, kind, out);

  return out;
}

static void
put_text (JsonObject *object,
          const char *member,
          const char *text)
{
  if (text != NULL)
    json_object_set_string_member (object, member, text);
  else
    json_object_set_null_member (object, member);
}

JsonNode *
ef_compare_to_json (GPtrArray *differences)
{
  JsonObject *object = json_object_new ();
  JsonArray *array = json_array_new ();

  json_object_set_string_member (object, "format", "endfloat-differences");
  json_object_set_int_member (object, "version", 1);
  for (guint i = 0; i < differences->len; i++)
    {
      const EfDifference *difference = differences->pdata[i];
      JsonObject *row = json_object_new ();

      json_object_set_string_member (row, "kind", difference->kind < EF_N_ITEM_KINDS ? ef_item_kind_name (difference->kind) : "pump-sheet");
      json_object_set_string_member (row, "id", difference->id);
      json_object_set_string_member (row, "title", difference->title);
      json_object_set_string_member (row, "field", difference->field);
      json_object_set_string_member (row, "path", difference->path);
      put_text (row, "before", difference->before);
      put_text (row, "after", difference->after);
      json_array_add_object_element (array, row);
    }
  json_object_set_array_member (object, "differences", array);

  return ef_json_object_node (object);
}

char *
ef_compare_to_text (GPtrArray *differences)
{
  g_autoptr (GString) out = g_string_new (NULL);

  if (differences->len == 0)
    g_string_append (out, "Nothing differs.\n");
  for (guint i = 0; i < differences->len; i++)
    {
      const EfDifference *difference = differences->pdata[i];
      gboolean whole = *difference->path == '\0';

      g_string_append_printf (out, "%s%s%s: ", difference->title, whole ? "" : ", ", difference->field);
      if (difference->before == NULL && whole)
        g_string_append_printf (out, "added (%s)\n", difference->after);
      else if (difference->after == NULL && whole)
        g_string_append_printf (out, "removed (%s)\n", difference->before);
      else
        g_string_append_printf (out, "%s → %s\n", difference->before != NULL ? difference->before : "not said",
                                difference->after != NULL ? difference->after : "not said");
    }

  return g_string_free (g_steal_pointer (&out), FALSE);
}
