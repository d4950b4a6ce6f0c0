/* Writing JSON so that numbers come back exactly and the same tree always gives the same text.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-json.h"

#include <math.h>
#include <string.h>

char *
ef_json_number_text (double value)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  char format[8];
  char *exponent;

  if (!isfinite (value))
    return g_strdup ("null");
  if (value == 0.0)
    return g_strdup (signbit (value) ? "-0.0" : "0");
  for (int digits = 15; digits <= 17; digits++)
    {
      g_snprintf (format, sizeof format, "%%.%dg", digits);
      g_ascii_formatd (buffer, sizeof buffer, format, value);
      if (g_ascii_strtod (buffer, NULL) == value)
        break;
    }

  /* "1e-05" -> "1e-5", "1e+22" -> "1e22" */
  exponent = strchr (buffer, 'e');
  if (exponent != NULL)
    {
      char *to = exponent + 1;
      char *from = to;

      if (*from == '-')
        to++;
      from++;
      while (*from == '0' && from[1] != '\0')
        from++;
      memmove (to, from, strlen (from) + 1);
    }

  return g_strdup (buffer);
}

static void
write_string (GString *out,
              const char *text)
{
  g_string_append_c (out, '"');
  for (const char *p = text; *p != '\0'; p++)
    switch (*p)
      {
      case '"':
        g_string_append (out, "\\\"");
        break;
      case '\\':
        g_string_append (out, "\\\\");
        break;
      case '\n':
        g_string_append (out, "\\n");
        break;
      case '\t':
        g_string_append (out, "\\t");
        break;
      case '\r':
        g_string_append (out, "\\r");
        break;
      default:
        if ((guchar) *p < 0x20)
          g_string_append_printf (out, "\\u%04x", (guint) (guchar) *p);
        else
          g_string_append_c (out, *p);
        break;
      }
  g_string_append_c (out, '"');
}

static void
write_scalar (GString *out,
              JsonNode *node)
{
  g_autofree char *text = NULL;

  if (json_node_get_value_type (node) == G_TYPE_STRING)
    {
      write_string (out, json_node_get_string (node));
      return;
    }
  if (json_node_get_value_type (node) == G_TYPE_BOOLEAN)
    text = g_strdup (json_node_get_boolean (node) ? "true" : "false");
  else if (json_node_get_value_type (node) == G_TYPE_INT64)
    text = g_strdup_printf ("%" G_GINT64_FORMAT, json_node_get_int (node));
  else
    text = ef_json_number_text (json_node_get_double (node));
  g_string_append (out, text);
}

static void write_node (GString *out, JsonNode *node, guint depth);

static void
new_line (GString *out,
          guint depth)
{
  g_string_append_printf (out, "\n%*s", (int) (2 * depth), "");
}

static void
write_object (GString *out,
              JsonObject *object,
              guint depth)
{
  JsonObjectIter iter;
  const char *name;
  JsonNode *node;
  gboolean first = TRUE;

  g_string_append_c (out, '{');
  json_object_iter_init_ordered (&iter, object);
  while (json_object_iter_next_ordered (&iter, &name, &node))
    {
      if (!first)
        g_string_append_c (out, ',');
      first = FALSE;
      new_line (out, depth + 1);
      write_string (out, name);
      g_string_append (out, ": ");
      write_node (out, node, depth + 1);
    }
  if (!first)
    new_line (out, depth);
  g_string_append_c (out, '}');
}

static gboolean
all_scalars (JsonArray *array)
{
  for (guint i = 0; i < json_array_get_length (array); i++)
    {
      JsonNode *node = json_array_get_element (array, i);

      if (JSON_NODE_HOLDS_OBJECT (node) || JSON_NODE_HOLDS_ARRAY (node))
        return FALSE;
    }

  return TRUE;
}

static void
write_array (GString *out,
             JsonArray *array,
             guint depth)
{
  guint n = json_array_get_length (array);
  gboolean flat = all_scalars (array);

  g_string_append_c (out, '[');
  for (guint i = 0; i < n; i++)
    {
      if (i > 0)
        g_string_append (out, flat ? ", " : ",");
      if (!flat)
        new_line (out, depth + 1);
      write_node (out, json_array_get_element (array, i), depth + 1);
    }
  if (!flat)
    new_line (out, depth);
  g_string_append_c (out, ']');
}

static void
write_node (GString *out,
            JsonNode *node,
            guint depth)
{
  switch (json_node_get_node_type (node))
    {
    case JSON_NODE_OBJECT:
      write_object (out, json_node_get_object (node), depth);
      break;
    case JSON_NODE_ARRAY:
      write_array (out, json_node_get_array (node), depth);
      break;
    case JSON_NODE_VALUE:
      write_scalar (out, node);
      break;
    case JSON_NODE_NULL:
    default:
      g_string_append (out, "null");
      break;
    }
}

char *
ef_json_to_text (JsonNode *node)
{
  GString *out = g_string_new (NULL);

  if (node != NULL)
    write_node (out, node, 0);
  else
    g_string_append (out, "null");
  g_string_append_c (out, '\n');

  return g_string_free (out, FALSE);
}

void
ef_json_put (JsonObject *object,
             const char *member,
             double value)
{
  if (isfinite (value))
    json_object_set_double_member (object, member, value);
  else
    json_object_set_null_member (object, member);
}

JsonNode *
ef_json_object_node (JsonObject *object)
{
  JsonNode *node = json_node_new (JSON_NODE_OBJECT);

  json_node_take_object (node, object);

  return node;
}
