/* Canonical JSON.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-json-canonical.h"

#include <math.h>
#include <string.h>

/* Doubles of fewer digits than this, and not nearly subnormal, are told apart by that many. */
#define SURE_DIGITS 15
#define MOST_DIGITS 17
#define NEARLY_SUBNORMAL 1e-300

/* value = digits x 10 ^ (point - number of digits) */
typedef struct
{
  char digits[24];
  int point;
} Decimal;

static void
drop_zeros (Decimal *decimal)
{
  gsize length = strlen (decimal->digits);

  while (length > 1 && decimal->digits[length - 1] == '0')
    decimal->digits[--length] = '\0';
}

static gboolean
reads_back (double value,
            guint64 digits,
            int exponent,
            int point,
            Decimal *decimal)
{
  g_autofree char *text = g_strdup_printf ("%" G_GUINT64_FORMAT "e%d", digits, exponent);

  if (g_ascii_strtod (text, NULL) != value)
    return FALSE;
  g_snprintf (decimal->digits, sizeof decimal->digits, "%" G_GUINT64_FORMAT, digits);
  decimal->point = point;
  drop_zeros (decimal);

  return TRUE;
}

/* The decimal of @n digits nearest to the value; where that doesn't read back, one beside it may, since above a power of two the doubles lie
 * twice as far apart as below it. */
static gboolean
try_digits (double value,
            int n,
            Decimal *decimal)
{
  char format[8], text[G_ASCII_DTOSTR_BUF_SIZE], digits[24];
  const char *e;
  guint64 nearest;
  int exponent, n_digits = 0;

  g_snprintf (format, sizeof format, "%%.%de", n - 1);
  g_ascii_formatd (text, sizeof text, format, value);
  e = strchr (text, 'e');
  for (const char *p = text; p < e; p++)
    if (g_ascii_isdigit (*p))
      digits[n_digits++] = *p;
  digits[n_digits] = '\0';
  nearest = g_ascii_strtoull (digits, NULL, 10);
  exponent = (int) g_ascii_strtoll (e + 1, NULL, 10);

  return reads_back (value, nearest, exponent - n + 1, exponent + 1, decimal)
         || reads_back (value, nearest + 1, exponent - n + 1, exponent + 1, decimal)
         || reads_back (value, nearest - 1, exponent - n + 1, exponent + 1, decimal);
}

static void
shortest (double value,
          Decimal *decimal)
{
  int n = value < NEARLY_SUBNORMAL ? 1 : SURE_DIGITS;

  while (n < MOST_DIGITS && !try_digits (value, n, decimal))
    n++;
  if (n == MOST_DIGITS)
    try_digits (value, n, decimal);
}

/* ECMA-262, Number::toString: where the point goes. */
static void
write_decimal (GString *out,
               const Decimal *decimal)
{
  int k = (int) strlen (decimal->digits);
  int n = decimal->point;

  if (k <= n && n <= 21)
    {
      g_string_append (out, decimal->digits);
      for (int i = k; i < n; i++)
        g_string_append_c (out, '0');
    }
  else if (0 < n && n <= 21)
    {
      g_string_append_len (out, decimal->digits, n);
      g_string_append_printf (out, ".%s", decimal->digits + n);
    }
  else if (-6 < n && n <= 0)
    {
      g_string_append (out, "0.");
      for (int i = n; i < 0; i++)
        g_string_append_c (out, '0');
      g_string_append (out, decimal->digits);
    }
  else
    {
      g_string_append_c (out, decimal->digits[0]);
      if (k > 1)
        g_string_append_printf (out, ".%s", decimal->digits + 1);
      g_string_append_printf (out, "e%c%d", n > 0 ? '+' : '-', ABS (n - 1));
    }
}

static void
write_number (GString *out,
              double value)
{
  Decimal decimal = { "0", 1 };

  if (value == 0.0)
    {
      g_string_append_c (out, '0');
      return;
    }
  if (value < 0)
    g_string_append_c (out, '-');
  shortest (fabs (value), &decimal);
  write_decimal (out, &decimal);
}

char *
ef_json_canonical_number (double value)
{
  GString *out = g_string_new (NULL);

  g_return_val_if_fail (isfinite (value), g_string_free (out, FALSE));
  write_number (out, value);

  return g_string_free (out, FALSE);
}

static void
write_string (GString *out,
              const char *text)
{
  static const char named[] = { ['\b'] = 'b', ['\t'] = 't', ['\n'] = 'n', ['\f'] = 'f', ['\r'] = 'r', ['"'] = '"', ['\\'] = '\\' };

  g_string_append_c (out, '"');
  for (const char *p = text; *p != '\0'; p++)
    {
      guchar c = (guchar) *p;

      if (c < sizeof named && named[c] != '\0')
        g_string_append_printf (out, "\\%c", named[c]);
      else if (c < 0x20)
        g_string_append_printf (out, "\\u%04x", c);
      else
        g_string_append_c (out, *p);
    }
  g_string_append_c (out, '"');
}

/* Beyond U+FFFF a character is two surrogates, which sort before U+E000. */
int
ef_json_canonical_order (const char *a,
                         const char *b)
{
  while (*a != '\0' && *b != '\0')
    {
      gunichar c = g_utf8_get_char (a);
      gunichar d = g_utf8_get_char (b);

      if (c != d && (c > 0xffff) != (d > 0xffff))
        return c > 0xffff ? (d >= 0xe000 ? -1 : 1) : (c >= 0xe000 ? 1 : -1);
      if (c != d)
        return c < d ? -1 : 1;
      a = g_utf8_next_char (a);
      b = g_utf8_next_char (b);
    }

  return (*a != '\0') - (*b != '\0');
}

static int
order_of_pointers (gconstpointer a,
                   gconstpointer b)
{
  return ef_json_canonical_order (*(const char *const *) a, *(const char *const *) b);
}

static gboolean write_node (GString *out, JsonNode *node, const char *path, GError **error);

static gboolean
check_text (const char *text,
            const char *path,
            GError **error)
{
  if (g_utf8_validate (text, -1, NULL))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected UTF-8 text", path);

  return FALSE;
}

static gboolean
write_object (GString *out,
              JsonObject *object,
              const char *path,
              GError **error)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new ();
  g_autoptr (GList) members = json_object_get_members (object);

  for (GList *at = members; at != NULL; at = at->next)
    {
      if (!check_text (at->data, path, error))
        return FALSE;
      g_ptr_array_add (names, at->data);
    }
  g_ptr_array_sort (names, order_of_pointers);

  g_string_append_c (out, '{');
  for (guint i = 0; i < names->len; i++)
    {
      g_autofree char *place = g_strdup_printf ("%s.%s", path, (const char *) names->pdata[i]);

      if (i > 0)
        g_string_append_c (out, ',');
      write_string (out, names->pdata[i]);
      g_string_append_c (out, ':');
      if (!write_node (out, json_object_get_member (object, names->pdata[i]), place, error))
        return FALSE;
    }
  g_string_append_c (out, '}');

  return TRUE;
}

static gboolean
write_array (GString *out,
             JsonArray *array,
             const char *path,
             GError **error)
{
  g_string_append_c (out, '[');
  for (guint i = 0; i < json_array_get_length (array); i++)
    {
      g_autofree char *place = g_strdup_printf ("%s[%u]", path, i);

      if (i > 0)
        g_string_append_c (out, ',');
      if (!write_node (out, json_array_get_element (array, i), place, error))
        return FALSE;
    }
  g_string_append_c (out, ']');

  return TRUE;
}

static gboolean
write_integer (GString *out,
               gint64 value,
               const char *path,
               GError **error)
{
  /* 2^63 itself is a double, but no gint64. */
  if (value > G_MAXINT64 - 1024 || (gint64) (double) value != value)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected a number that a double holds exactly, found %" G_GINT64_FORMAT, path, value);
      return FALSE;
    }
  write_number (out, (double) value);

  return TRUE;
}

static gboolean
write_value (GString *out,
             JsonNode *node,
             const char *path,
             GError **error)
{
  GType type = json_node_get_value_type (node);
  double value;

  if (type == G_TYPE_STRING)
    {
      if (!check_text (json_node_get_string (node), path, error))
        return FALSE;
      write_string (out, json_node_get_string (node));
      return TRUE;
    }
  if (type == G_TYPE_BOOLEAN)
    {
      g_string_append (out, json_node_get_boolean (node) ? "true" : "false");
      return TRUE;
    }
  if (type == G_TYPE_INT64)
    return write_integer (out, json_node_get_int (node), path, error);

  value = json_node_get_double (node);
  if (!isfinite (value))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected a finite number", path);
      return FALSE;
    }
  write_number (out, value);

  return TRUE;
}

static gboolean
write_node (GString *out,
            JsonNode *node,
            const char *path,
            GError **error)
{
  switch (json_node_get_node_type (node))
    {
    case JSON_NODE_OBJECT:
      return write_object (out, json_node_get_object (node), path, error);
    case JSON_NODE_ARRAY:
      return write_array (out, json_node_get_array (node), path, error);
    case JSON_NODE_VALUE:
      return write_value (out, node, path, error);
    case JSON_NODE_NULL:
    default:
      g_string_append (out, "null");
      return TRUE;
    }
}

char *
ef_json_canonical (JsonNode *node,
                   GError **error)
{
  g_autoptr (GString) out = g_string_new (NULL);

  g_return_val_if_fail (node != NULL, NULL);
  if (!write_node (out, node, "$", error))
    return NULL;

  return g_string_free (g_steal_pointer (&out), FALSE);
}

char *
ef_sha256 (const char *data,
           gssize length)
{
  return g_compute_checksum_for_data (G_CHECKSUM_SHA256, (const guchar *) data, length < 0 ? strlen (data) : (gsize) length);
}
