/* A seal with parts left out: what is there, against the statement.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-verify-private.h"
#include "ef-disclosure.h"
#include "../base/ef-json-canonical.h"

#include <string.h>

static void
check_members (const EfVerifyAt *at,
               JsonObject *object)
{
  static const char *const members[] = { "format", "version", "seal", "parts", "withheld", NULL };
  g_autoptr (GList) names = json_object_get_members (object);

  for (GList *name = names; name != NULL; name = name->next)
    if (!g_strv_contains (members, name->data))
      ef_verify_tell (at, EF_VERIFY_BROKEN, name->data, "a member that doesn't belong in a disclosure");
  if (ef_verify_integer (object, "version") != EF_DISCLOSURE_VERSION)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "version", "expected %d, found %" G_GINT64_FORMAT, EF_DISCLOSURE_VERSION, ef_verify_integer (object, "version"));
}

static gboolean
is_withheld (JsonObject *object,
             const char *part)
{
  JsonNode *list = json_object_get_member (object, "withheld");

  for (guint i = 0; list != NULL && JSON_NODE_HOLDS_ARRAY (list) && i < json_array_get_length (json_node_get_array (list)); i++)
    {
      JsonNode *node = json_array_get_element (json_node_get_array (list), i);

      if (JSON_NODE_HOLDS_VALUE (node) && json_node_get_value_type (node) == G_TYPE_STRING && g_str_equal (json_node_get_string (node), part))
        return TRUE;
    }

  return FALSE;
}

static void
check_part (const EfVerifyAt *at,
            JsonObject *object,
            JsonObject *given,
            const char *part,
            const char *stated)
{
  JsonNode *node = given != NULL ? json_object_get_member (given, part) : NULL;
  g_autofree char *text = node != NULL ? ef_json_canonical (node, NULL) : NULL;
  g_autofree char *digest = text != NULL ? ef_sha256 (text, -1) : NULL;
  g_autofree char *place = g_strdup_printf ("part %s", part);

  if (node == NULL && is_withheld (object, part))
    ef_verify_tell (at, EF_VERIFY_NOTE, place, "left out by choice; who has it can show it, and its SHA-256 has to be %s", stated);
  else if (node == NULL)
    ef_verify_tell (at, EF_VERIFY_BROKEN, place, "it was sealed, is missing, and isn't said to be left out");
  else if (g_strcmp0 (digest, stated) != 0)
    ef_verify_tell (at, EF_VERIFY_BROKEN, place, "it isn't what was sealed");
  else if (is_withheld (object, part))
    ef_verify_tell (at, EF_VERIFY_BROKEN, place, "it is there, and said to be left out");
}

void
ef_verify_disclosure (EfVerifyAt *at,
                      JsonObject *object,
                      EfVerifyKeys *keys)
{
  JsonNode *seal = json_object_get_member (object, "seal");
  JsonNode *given = json_object_get_member (object, "parts");
  JsonObject *parts = given != NULL && JSON_NODE_HOLDS_OBJECT (given) ? json_node_get_object (given) : NULL;
  JsonObject *statement = ef_verify_statement (at, seal, FALSE, keys);
  JsonNode *stated = statement != NULL ? json_object_get_member (statement, "parts") : NULL;
  g_autoptr (GList) names = parts != NULL ? json_object_get_members (parts) : NULL;

  check_members (at, object);
  if (stated == NULL || !JSON_NODE_HOLDS_OBJECT (stated))
    return;
  at->job = ef_verify_string (statement, "job");
  for (guint i = 0; ef_seal_parts[i] != NULL; i++)
    if (json_object_has_member (json_node_get_object (stated), ef_seal_parts[i]) || !g_str_equal (ef_seal_parts[i], EF_SEAL_CERTIFICATES))
      check_part (at, object, parts, ef_seal_parts[i], ef_verify_string (json_node_get_object (stated), ef_seal_parts[i]));
  for (GList *name = names; name != NULL; name = name->next)
    if (!g_strv_contains (ef_seal_parts, name->data) || !json_object_has_member (json_node_get_object (stated), name->data))
      ef_verify_tell (at, EF_VERIFY_BROKEN, name->data, "a part that wasn't sealed");
}
