/* Reading JSON with messages a person can act on: the cursors.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-json-private.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <glib/gstdio.h>

#define MAX_BYTES (64u * 1024u * 1024u)

struct _EfJsonContext
{
  JsonNode *root;
  char *file;
  GError *error; /* the first one */
};

/* Parsing */

EfJsonContext *
ef_json_parse (const char *text,
               gssize length,
               const char *file,
               GError **error)
{
  g_autoptr (JsonParser) parser = NULL;
  g_autoptr (GError) local = NULL;
  EfJsonContext *context;
  gsize size;

  g_return_val_if_fail (text != NULL || length == 0, NULL);
  if (file == NULL)
    file = "JSON";
  if (text == NULL)
    text = "";
  size = length < 0 ? strlen (text) : (gsize) length;
  if (size > MAX_BYTES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected at most %u MiB, found %" G_GSIZE_FORMAT " bytes", file, MAX_BYTES >> 20, size);
      return NULL;
    }
  if (size >= 3 && memcmp (text, "\xef\xbb\xbf", 3) == 0)
    {
      text += 3;
      size -= 3;
    }
  if (!ef_json_scan (text, size, file, error))
    return NULL;

  parser = json_parser_new ();
  if (!json_parser_load_from_data (parser, text, (gssize) size, &local))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: line %u: %s", file, json_parser_get_current_line (parser), local->message);
      return NULL;
    }

  context = g_new0 (EfJsonContext, 1);
  context->root = json_parser_steal_root (parser);
  context->file = g_strdup (file);

  return context;
}

EfJsonContext *
ef_json_parse_file (const char *path,
                    GError **error)
{
  g_autofree char *name = NULL;
  g_autoptr (GByteArray) bytes = NULL;
  guint8 buffer[16384];
  FILE *stream;
  gsize got;
  int failure = 0;

  g_return_val_if_fail (path != NULL, NULL);
  name = g_filename_display_name (path);
  stream = g_fopen (path, "rbe");
  if (stream == NULL)
    {
      failure = errno;
      g_set_error (error, EF_ERROR, failure == ENOENT ? EF_ERROR_NOT_FOUND : EF_ERROR_IO, "%s: %s", name, g_strerror (failure));
      return NULL;
    }

  bytes = g_byte_array_new ();
  while (bytes->len <= MAX_BYTES && (got = fread (buffer, 1, sizeof buffer, stream)) > 0)
    g_byte_array_append (bytes, buffer, (guint) got);
  if (ferror (stream))
    failure = errno != 0 ? errno : EIO;
  fclose (stream);
  if (failure != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: %s", name, g_strerror (failure));
      return NULL;
    }
  if (bytes->len > MAX_BYTES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected at most %u MiB, found more", name, MAX_BYTES >> 20);
      return NULL;
    }

  return ef_json_parse ((const char *) bytes->data, (gssize) bytes->len, name, error);
}

void
ef_json_context_free (EfJsonContext *context)
{
  if (context == NULL)
    return;
  g_clear_pointer (&context->root, json_node_unref);
  g_clear_error (&context->error);
  g_free (context->file);
  g_free (context);
}

gboolean
ef_json_finish (EfJsonContext *context,
                GError **error)
{
  if (context->error == NULL)
    return TRUE;
  g_propagate_error (error, g_error_copy (context->error));

  return FALSE;
}

/* Cursors */

EfJson
ef_json_root (EfJsonContext *context)
{
  EfJson root = { context, context->root, g_strdup ("$") };

  return root;
}

void
ef_json_clear (EfJson *self)
{
  g_clear_pointer (&self->path, g_free);
  self->node = NULL;
}

static gboolean
is_plain_name (const char *name)
{
  if (!g_ascii_isalpha (*name) && *name != '_')
    return FALSE;
  for (; *name != '\0'; name++)
    if (!g_ascii_isalnum (*name) && *name != '_' && *name != '-')
      return FALSE;

  return TRUE;
}

static char *
member_path (const EfJson *self,
             const char *member)
{
  g_autofree char *escaped = NULL;

  if (member == NULL)
    return g_strdup (self->path);
  if (is_plain_name (member))
    return g_strdup_printf ("%s.%s", self->path, member);
  escaped = g_strescape (member, NULL);

  return g_strdup_printf ("%s[\"%s\"]", self->path, escaped);
}

static char *
describe (JsonNode *node)
{
  if (node == NULL)
    return g_strdup ("nothing");
  switch (json_node_get_node_type (node))
    {
    case JSON_NODE_OBJECT:
      return g_strdup ("an object");
    case JSON_NODE_ARRAY:
      return g_strdup_printf ("an array of %u", json_array_get_length (json_node_get_array (node)));
    case JSON_NODE_NULL:
      return g_strdup ("null");
    case JSON_NODE_VALUE:
    default:
      break;
    }
  if (json_node_get_value_type (node) == G_TYPE_BOOLEAN)
    return g_strdup (json_node_get_boolean (node) ? "true" : "false");
  if (json_node_get_value_type (node) == G_TYPE_STRING)
    {
      const char *text = json_node_get_string (node);
      g_autofree char *start = g_utf8_substring (text, 0, MIN (40, g_utf8_strlen (text, -1)));

      return g_strdup_printf ("\"%s%s\"", start, strlen (start) < strlen (text) ? "…" : "");
    }
  if (json_node_get_value_type (node) == G_TYPE_INT64)
    return g_strdup_printf ("%" G_GINT64_FORMAT, json_node_get_int (node));

  return ef_json_number_text (json_node_get_double (node));
}

/* Keeps the first error only. */
static void
record (const EfJson *self,
        const char *member,
        EfError code,
        const char *message)
{
  g_autofree char *path = NULL;

  if (self->context->error != NULL)
    return;
  path = member_path (self, member);
  self->context->error = g_error_new (EF_ERROR, (int) code, "%s: %s: %s", self->context->file, path, message);
}

static void
record_expected (const EfJson *self,
                 const char *member,
                 EfError code,
                 const char *expected,
                 JsonNode *node)
{
  g_autofree char *found = describe (node);
  g_autofree char *message = g_strdup_printf ("expected %s, found %s", expected, found);

  record (self, member, code, message);
}

void
ef_json_fail (const EfJson *self,
              EfError code,
              const char *format,
              ...)
{
  g_autofree char *message = NULL;
  va_list args;

  va_start (args, format);
  message = g_strdup_vprintf (format, args);
  va_end (args);
  record (self, NULL, code, message);
}

/* The member's node, the own node where @member is NULL, or NULL; an own node that is no object is an error. */
static JsonNode *
lookup (const EfJson *self,
        const char *member)
{
  if (member == NULL || self->node == NULL)
    return self->node;
  if (!JSON_NODE_HOLDS_OBJECT (self->node))
    {
      record_expected (self, NULL, EF_ERROR_INVALID, "an object", self->node);
      return NULL;
    }

  return json_object_get_member (json_node_get_object (self->node), member);
}

gboolean
ef_json_has (const EfJson *self,
             const char *member)
{
  return self->node != NULL && JSON_NODE_HOLDS_OBJECT (self->node) && json_object_has_member (json_node_get_object (self->node), member);
}

EfJson
ef_json_optional (const EfJson *self,
                  const char *member)
{
  EfJson child = { self->context, lookup (self, member), member_path (self, member) };

  return child;
}

EfJson
ef_json_object (const EfJson *self,
                const char *member)
{
  EfJson child = ef_json_optional (self, member);

  if (child.node == NULL || !JSON_NODE_HOLDS_OBJECT (child.node))
    {
      record_expected (&child, NULL, EF_ERROR_INVALID, "an object", child.node);
      child.node = NULL;
    }

  return child;
}

EfJson
ef_json_array (const EfJson *self,
               const char *member,
               guint min_length,
               guint max_length)
{
  EfJson child = ef_json_optional (self, member);
  g_autofree char *expected = NULL;
  guint n;

  if (min_length == max_length)
    expected = g_strdup_printf ("an array of %u", min_length);
  else if (max_length == G_MAXUINT)
    expected = min_length > 0 ? g_strdup_printf ("an array of at least %u", min_length) : g_strdup ("an array");
  else
    expected = g_strdup_printf ("an array of %u to %u", min_length, max_length);
  if (child.node == NULL || !JSON_NODE_HOLDS_ARRAY (child.node))
    {
      record_expected (&child, NULL, EF_ERROR_INVALID, expected, child.node);
      child.node = NULL;
      return child;
    }
  n = json_array_get_length (json_node_get_array (child.node));
  if (n < min_length || n > max_length)
    {
      record_expected (&child, NULL, EF_ERROR_RANGE, expected, child.node);
      child.node = NULL;
    }

  return child;
}

guint
ef_json_length (const EfJson *self)
{
  if (self->node == NULL)
    return 0;
  if (!JSON_NODE_HOLDS_ARRAY (self->node))
    {
      record_expected (self, NULL, EF_ERROR_INVALID, "an array", self->node);
      return 0;
    }

  return json_array_get_length (json_node_get_array (self->node));
}

EfJson
ef_json_element (const EfJson *self,
                 guint i)
{
  EfJson child = { self->context, NULL, g_strdup_printf ("%s[%u]", self->path, i) };

  if (i < ef_json_length (self))
    child.node = json_array_get_element (json_node_get_array (self->node), i);
  else
    record_expected (&child, NULL, EF_ERROR_INVALID, "an element", NULL);

  return child;
}

/* Scalars */

static gboolean
node_number (JsonNode *node,
             double *out)
{
  if (node == NULL || !JSON_NODE_HOLDS_VALUE (node))
    return FALSE;
  if (json_node_get_value_type (node) == G_TYPE_INT64)
    *out = (double) json_node_get_int (node);
  else if (json_node_get_value_type (node) == G_TYPE_DOUBLE)
    *out = json_node_get_double (node);
  else
    return FALSE;

  return isfinite (*out);
}

/* A bound past this size stands for no bound. */
#define NO_BOUND 1e300

static char *
number_expected (double min,
                 double max)
{
  g_autofree char *low = ef_json_number_text (min);
  g_autofree char *high = ef_json_number_text (max);
  gboolean has_low = min > -NO_BOUND;
  gboolean has_high = max < NO_BOUND;
  gboolean above_zero = min > 0.0 && min < 1e-300;

  if (above_zero)
    return has_high ? g_strdup_printf ("a number above 0 and at most %s", high) : g_strdup ("a number above 0");
  if (has_low && has_high)
    return g_strdup_printf ("a number from %s to %s", low, high);
  if (has_low)
    return g_strdup_printf ("a number of at least %s", low);
  if (has_high)
    return g_strdup_printf ("a number of at most %s", high);

  return g_strdup ("a number");
}

static double
harmless (double min,
          double max)
{
  return CLAMP (0.0, min, max);
}

static double
read_node_number (const EfJson *self,
                  const char *member,
                  JsonNode *node,
                  double min,
                  double max)
{
  g_autofree char *expected = NULL;
  gboolean is_number;
  double value = 0.0;

  is_number = node_number (node, &value);
  if (is_number && value >= min && value <= max)
    return value;
  expected = number_expected (min, max);
  record_expected (self, member, is_number ? EF_ERROR_RANGE : EF_ERROR_INVALID, expected, node);

  return harmless (min, max);
}

double
ef_json_number (const EfJson *self,
                const char *member,
                double min,
                double max)
{
  return read_node_number (self, member, lookup (self, member), min, max);
}

double
ef_json_number_or (const EfJson *self,
                   const char *member,
                   double min,
                   double max,
                   double fallback)
{
  JsonNode *node = lookup (self, member);

  return node != NULL ? read_node_number (self, member, node, min, max) : fallback;
}

double
ef_json_value (const EfJson *self,
               double min,
               double max)
{
  return read_node_number (self, NULL, self->node, min, max);
}

static gint64
read_node_integer (const EfJson *self,
                   const char *member,
                   JsonNode *node,
                   gint64 min,
                   gint64 max)
{
  g_autofree char *expected = NULL;
  gboolean whole = FALSE;
  gint64 value = 0;
  double number;

  if (node_number (node, &number))
    {
      whole = json_node_get_value_type (node) == G_TYPE_INT64 || (number == floor (number) && fabs (number) < 9007199254740992.0);
      if (whole)
        value = json_node_get_value_type (node) == G_TYPE_INT64 ? json_node_get_int (node) : (gint64) number;
    }
  if (whole && value >= min && value <= max)
    return value;

  if (min == G_MININT64 && max == G_MAXINT64)
    expected = g_strdup ("a whole number");
  else if (max == G_MAXINT64)
    expected = g_strdup_printf ("a whole number of at least %" G_GINT64_FORMAT, min);
  else
    expected = g_strdup_printf ("a whole number from %" G_GINT64_FORMAT " to %" G_GINT64_FORMAT, min, max);
  record_expected (self, member, whole ? EF_ERROR_RANGE : EF_ERROR_INVALID, expected, node);

  return CLAMP (0, min, max);
}

gint64
ef_json_integer (const EfJson *self,
                 const char *member,
                 gint64 min,
                 gint64 max)
{
  return read_node_integer (self, member, lookup (self, member), min, max);
}

gint64
ef_json_integer_or (const EfJson *self,
                    const char *member,
                    gint64 min,
                    gint64 max,
                    gint64 fallback)
{
  JsonNode *node = lookup (self, member);

  return node != NULL ? read_node_integer (self, member, node, min, max) : fallback;
}

gboolean
ef_json_boolean_or (const EfJson *self,
                    const char *member,
                    gboolean fallback)
{
  JsonNode *node = lookup (self, member);

  if (node == NULL)
    return fallback;
  if (JSON_NODE_HOLDS_VALUE (node) && json_node_get_value_type (node) == G_TYPE_BOOLEAN)
    return json_node_get_boolean (node);
  record_expected (self, member, EF_ERROR_INVALID, "true or false", node);

  return fallback;
}

static const char *
node_string (JsonNode *node)
{
  if (node == NULL || !JSON_NODE_HOLDS_VALUE (node) || json_node_get_value_type (node) != G_TYPE_STRING)
    return NULL;

  return json_node_get_string (node);
}

static char *
read_node_string (const EfJson *self,
                  const char *member,
                  JsonNode *node)
{
  const char *text = node_string (node);

  if (text == NULL)
    record_expected (self, member, EF_ERROR_INVALID, "a text", node);

  return g_strdup (text != NULL ? text : "");
}

char *
ef_json_string (const EfJson *self,
                const char *member)
{
  return read_node_string (self, member, lookup (self, member));
}

char *
ef_json_string_or (const EfJson *self,
                   const char *member,
                   const char *fallback)
{
  JsonNode *node = lookup (self, member);

  return node != NULL ? read_node_string (self, member, node) : g_strdup (fallback);
}

char *
ef_json_value_string (const EfJson *self)
{
  return read_node_string (self, NULL, self->node);
}

static char *
quoted_list (const char *const *names)
{
  GString *list = g_string_new (NULL);

  for (guint i = 0; names[i] != NULL; i++)
    g_string_append_printf (list, "%s\"%s\"", i > 0 ? ", " : "", names[i]);

  return g_string_free (list, FALSE);
}

int
ef_json_choice (const EfJson *self,
                const char *member,
                const char *const *names)
{
  JsonNode *node = lookup (self, member);
  const char *text = node_string (node);
  g_autofree char *list = NULL;
  g_autofree char *expected = NULL;

  if (text != NULL)
    for (int i = 0; names[i] != NULL; i++)
      if (g_str_equal (text, names[i]))
        return i;
  list = quoted_list (names);
  expected = g_strdup_printf ("one of %s", list);
  record_expected (self, member, EF_ERROR_INVALID, expected, node);

  return 0;
}

void
ef_json_only (const EfJson *self,
              const char *const *members)
{
  JsonObjectIter iter;
  const char *name;

  if (self->node == NULL || !JSON_NODE_HOLDS_OBJECT (self->node))
    return;
  json_object_iter_init_ordered (&iter, json_node_get_object (self->node));
  while (json_object_iter_next_ordered (&iter, &name, NULL))
    if (!g_strv_contains (members, name))
      {
        g_autofree char *list = quoted_list (members);
        g_autofree char *message = g_strdup_printf ("expected a member out of %s, found another", list);

        record (self, name, EF_ERROR_INVALID, message);
        return;
      }
}
