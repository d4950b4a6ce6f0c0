/* Leaves parts out by what they hold.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-disclosure.h"
#include "ef-seal-private.h"

static gboolean holds (JsonNode *node, const char *const *members);

static gboolean
object_holds (JsonObject *object,
              const char *const *members)
{
  g_autoptr (GList) names = json_object_get_members (object);

  for (GList *name = names; name != NULL; name = name->next)
    {
      JsonNode *value = json_object_get_member (object, name->data);
      gboolean empty = JSON_NODE_HOLDS_NULL (value)
                       || (json_node_get_value_type (value) == G_TYPE_STRING && *json_node_get_string (value) == '\0');

      if ((g_strv_contains (members, name->data) && !empty) || holds (value, members))
        return TRUE;
    }

  return FALSE;
}

/* One of them is in it, with something in it. */
static gboolean
holds (JsonNode *node,
       const char *const *members)
{
  JsonArray *array;

  if (JSON_NODE_HOLDS_OBJECT (node))
    return object_holds (json_node_get_object (node), members);
  if (!JSON_NODE_HOLDS_ARRAY (node))
    return FALSE;
  array = json_node_get_array (node);
  for (guint i = 0; i < json_array_get_length (array); i++)
    if (holds (json_array_get_element (array, i), members))
      return TRUE;

  return FALSE;
}

static void
copy_member (JsonObject *from,
             JsonObject *to,
             const char *member)
{
  JsonNode *node = json_object_get_member (from, member);

  if (node != NULL)
    json_object_set_member (to, member, json_node_copy (node));
}

static gboolean
is_sealed (JsonObject *block,
           const char *part)
{
  JsonNode *statement = json_object_get_member (block, "statement");
  JsonNode *parts = statement != NULL && JSON_NODE_HOLDS_OBJECT (statement) ? json_object_get_member (json_node_get_object (statement), "parts") : NULL;

  return parts != NULL && JSON_NODE_HOLDS_OBJECT (parts) && json_object_has_member (json_node_get_object (parts), part);
}

char *
ef_disclosure_write (const char *sealed,
                     const char *name,
                     const char *const *members,
                     GError **error)
{
  g_autoptr (JsonNode) root = json_from_string (sealed, NULL);
  JsonNode *block = root != NULL && JSON_NODE_HOLDS_OBJECT (root) ? json_object_get_member (json_node_get_object (root), "seal") : NULL;
  JsonNode *form = block != NULL && JSON_NODE_HOLDS_OBJECT (block) ? json_object_get_member (json_node_get_object (block), "form") : NULL;
  g_autoptr (JsonNode) out = ef_json_object_node (json_object_new ());
  JsonObject *object = json_node_get_object (out), *seal, *parts;
  JsonArray *withheld;

  if (form == NULL || !JSON_NODE_HOLDS_OBJECT (form))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a sealed exchange file, found one without a seal", name);
      return NULL;
    }
  seal = json_object_new ();
  parts = json_object_new ();
  withheld = json_array_new ();
  copy_member (json_node_get_object (block), seal, "statement");
  copy_member (json_node_get_object (block), seal, "digest");
  copy_member (json_node_get_object (block), seal, "signature");
  copy_member (json_node_get_object (block), seal, "keys");
  for (guint i = 0; ef_seal_parts[i] != NULL; i++)
    {
      JsonNode *part = json_object_get_member (json_node_get_object (form), ef_seal_parts[i]);

      /* Which parts there are is signed. */
      if (!is_sealed (json_node_get_object (block), ef_seal_parts[i]))
        continue;
      if (part == NULL || holds (part, members))
        json_array_add_string_element (withheld, ef_seal_parts[i]);
      else
        copy_member (json_node_get_object (form), parts, ef_seal_parts[i]);
    }
  json_object_set_string_member (object, "format", EF_DISCLOSURE_FORMAT);
  json_object_set_int_member (object, "version", EF_DISCLOSURE_VERSION);
  json_object_set_object_member (object, "seal", seal);
  json_object_set_object_member (object, "parts", parts);
  json_object_set_array_member (object, "withheld", withheld);

  return ef_json_to_text (out);
}
