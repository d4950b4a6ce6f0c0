/* The strict check of a JSON text before it is parsed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parser of json-glib is friendlier than RFC 8259 (comments, trailing commas, duplicate members, deep nesting), so
 * the text is walked once by this check, which is bounded in depth and knows the line it is on.
 */
#include "ef-json-private.h"

#include <errno.h>
#include <math.h>
#include <string.h>

#define MAX_DEPTH 64

typedef struct
{
  const char *start;
  const char *p;
  const char *end;
  const char *file;
  GError **error;
} Scan;

static gboolean scan_value (Scan *scan, guint depth);

static guint
line_of (const Scan *scan)
{
  guint line = 1;

  for (const char *p = scan->start; p < scan->p; p++)
    if (*p == '\n')
      line++;

  return line;
}

static gboolean G_GNUC_PRINTF (2, 3)
    scan_fail (Scan *scan,
               const char *format,
               ...)
{
  g_autofree char *message = NULL;
  va_list args;

  va_start (args, format);
  message = g_strdup_vprintf (format, args);
  va_end (args);
  g_set_error (scan->error, EF_ERROR, EF_ERROR_PARSE, "%s: line %u: %s", scan->file, line_of (scan), message);

  return FALSE;
}

static gboolean
scan_unexpected (Scan *scan,
                 const char *expected)
{
  g_autofree char *found = NULL;

  if (scan->p >= scan->end)
    found = g_strdup ("the end of the text");
  else
    {
      gunichar c = g_utf8_get_char (scan->p);

      found = g_unichar_isprint (c) ? g_strdup_printf ("“%.*s”", (int) (g_utf8_next_char (scan->p) - scan->p), scan->p)
                                    : g_strdup_printf ("the character U+%04X", c);
    }

  return scan_fail (scan, "expected %s, found %s", expected, found);
}

static void
scan_space (Scan *scan)
{
  while (scan->p < scan->end && (*scan->p == ' ' || *scan->p == '\t' || *scan->p == '\n' || *scan->p == '\r'))
    scan->p++;
}

static gboolean
scan_at (const Scan *scan,
         char c)
{
  return scan->p < scan->end && *scan->p == c;
}

static gboolean
scan_digits (Scan *scan)
{
  const char *first = scan->p;

  while (scan->p < scan->end && g_ascii_isdigit (*scan->p))
    scan->p++;

  return scan->p > first;
}

static gboolean
scan_number (Scan *scan)
{
  const char *first = scan->p;
  gboolean whole = TRUE;
  g_autofree char *text = NULL;

  if (scan_at (scan, '-'))
    scan->p++;
  if (scan_at (scan, '0'))
    scan->p++;
  else if (!scan_digits (scan))
    return scan_unexpected (scan, "a digit");
  if (scan_at (scan, '.'))
    {
      whole = FALSE;
      scan->p++;
      if (!scan_digits (scan))
        return scan_unexpected (scan, "a digit after the decimal point");
    }
  if (scan_at (scan, 'e') || scan_at (scan, 'E'))
    {
      whole = FALSE;
      scan->p++;
      if (scan_at (scan, '+') || scan_at (scan, '-'))
        scan->p++;
      if (!scan_digits (scan))
        return scan_unexpected (scan, "a digit in the exponent");
    }

  text = g_strndup (first, (gsize) (scan->p - first));
  errno = 0;
  if (whole)
    {
      g_ascii_strtoll (text, NULL, 10);
      if (errno == ERANGE)
        return scan_fail (scan, "expected a whole number of at most 64 bits, found %.40s", text);
    }
  else if (!isfinite (g_ascii_strtod (text, NULL)))
    return scan_fail (scan, "expected a number that fits a double, found %.40s", text);

  return TRUE;
}

static gboolean
scan_hex4 (Scan *scan,
           gunichar *out)
{
  gunichar value = 0;

  for (guint i = 0; i < 4; i++)
    {
      if (scan->p >= scan->end || !g_ascii_isxdigit (*scan->p))
        return scan_unexpected (scan, "four hexadecimal digits");
      value = value * 16 + (gunichar) g_ascii_xdigit_value (*scan->p++);
    }
  *out = value;

  return TRUE;
}

static gboolean
scan_escape (Scan *scan,
             GString *text)
{
  static const char letters[] = "\"\\/bfnrt";
  static const char values[] = "\"\\/\b\f\n\r\t";
  const char *found;
  gunichar c;
  gunichar low;

  scan->p++;
  if (scan->p >= scan->end)
    return scan_unexpected (scan, "an escaped character");
  found = *scan->p != '\0' ? strchr (letters, *scan->p) : NULL;
  if (found != NULL)
    {
      scan->p++;
      if (text != NULL)
        g_string_append_c (text, values[found - letters]);
      return TRUE;
    }
  if (*scan->p != 'u')
    return scan_unexpected (scan, "an escape such as \\n or \\u00b5");
  scan->p++;
  if (!scan_hex4 (scan, &c))
    return FALSE;
  if (c >= 0xd800 && c < 0xdc00)
    {
      if (!scan_at (scan, '\\') || scan->p + 1 >= scan->end || scan->p[1] != 'u')
        return scan_unexpected (scan, "the second half of a surrogate pair");
      scan->p += 2;
      if (!scan_hex4 (scan, &low))
        return FALSE;
      if (low < 0xdc00 || low > 0xdfff)
        return scan_fail (scan, "expected the second half of a surrogate pair, found \\u%04x", low);
      c = 0x10000 + ((c - 0xd800) << 10) + (low - 0xdc00);
    }
  else if (c >= 0xdc00 && c <= 0xdfff)
    return scan_fail (scan, "expected a character, found half a surrogate pair");
  if (c == 0)
    return scan_fail (scan, "expected text without NUL, found \\u0000");
  if (text != NULL)
    g_string_append_unichar (text, c);

  return TRUE;
}

/* @text receives what the string says; may be NULL. */
static gboolean
scan_string (Scan *scan,
             GString *text)
{
  scan->p++;
  while (scan->p < scan->end && *scan->p != '"')
    {
      if ((guchar) *scan->p < 0x20)
        return scan_unexpected (scan, "the end of the string");
      if (*scan->p == '\\')
        {
          if (!scan_escape (scan, text))
            return FALSE;
          continue;
        }
      if (text != NULL)
        g_string_append_c (text, *scan->p);
      scan->p++;
    }
  if (scan->p >= scan->end)
    return scan_unexpected (scan, "the end of the string");
  scan->p++;

  return TRUE;
}

static gboolean
scan_member (Scan *scan,
             GHashTable *names,
             guint depth)
{
  g_autoptr (GString) name = g_string_new (NULL);

  scan_space (scan);
  if (!scan_at (scan, '"'))
    return scan_unexpected (scan, "a member name in double quotes");
  if (!scan_string (scan, name))
    return FALSE;
  if (!g_hash_table_add (names, g_strdup (name->str)))
    return scan_fail (scan, "expected each member once, found “%.60s” again", name->str);
  scan_space (scan);
  if (!scan_at (scan, ':'))
    return scan_unexpected (scan, "“:”");
  scan->p++;

  return scan_value (scan, depth);
}

static gboolean
scan_object (Scan *scan,
             guint depth)
{
  g_autoptr (GHashTable) names = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);

  scan->p++;
  scan_space (scan);
  if (scan_at (scan, '}'))
    {
      scan->p++;
      return TRUE;
    }
  while (scan_member (scan, names, depth))
    {
      scan_space (scan);
      if (scan_at (scan, '}'))
        {
          scan->p++;
          return TRUE;
        }
      if (!scan_at (scan, ','))
        return scan_unexpected (scan, "“,” or “}”");
      scan->p++;
    }

  return FALSE;
}

static gboolean
scan_array (Scan *scan,
            guint depth)
{
  scan->p++;
  scan_space (scan);
  if (scan_at (scan, ']'))
    {
      scan->p++;
      return TRUE;
    }
  while (scan_value (scan, depth))
    {
      scan_space (scan);
      if (scan_at (scan, ']'))
        {
          scan->p++;
          return TRUE;
        }
      if (!scan_at (scan, ','))
        return scan_unexpected (scan, "“,” or “]”");
      scan->p++;
    }

  return FALSE;
}

static gboolean
scan_word (Scan *scan)
{
  static const char *const words[] = { "true", "false", "null" };

  for (guint i = 0; i < G_N_ELEMENTS (words); i++)
    {
      gsize length = strlen (words[i]);

      if ((gsize) (scan->end - scan->p) >= length && memcmp (scan->p, words[i], length) == 0)
        {
          scan->p += length;
          return TRUE;
        }
    }

  return scan_unexpected (scan, "a value");
}

static gboolean
scan_value (Scan *scan,
            guint depth)
{
  scan_space (scan);
  if (scan->p >= scan->end)
    return scan_unexpected (scan, "a value");
  if (*scan->p == '{' || *scan->p == '[')
    {
      if (depth >= MAX_DEPTH)
        return scan_fail (scan, "expected at most %d levels of nesting, found more", MAX_DEPTH);
      return *scan->p == '{' ? scan_object (scan, depth + 1) : scan_array (scan, depth + 1);
    }
  if (*scan->p == '"')
    return scan_string (scan, NULL);
  if (*scan->p == '-' || g_ascii_isdigit (*scan->p))
    return scan_number (scan);

  return scan_word (scan);
}

gboolean
ef_json_scan (const char *text,
              gsize length,
              const char *file,
              GError **error)
{
  Scan scan = { text, text, text + length, file, error };
  const char *bad;

  if (!g_utf8_validate_len (text, length, &bad))
    {
      scan.p = bad;
      return scan_fail (&scan, "expected UTF-8 text, found the byte 0x%02x", (guchar) *bad);
    }
  if (!scan_value (&scan, 0))
    return FALSE;
  scan_space (&scan);
  if (scan.p < scan.end)
    return scan_unexpected (&scan, "the end of the text");

  return TRUE;
}
