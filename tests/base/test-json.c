/* The JSON reader refuses what isn't JSON, says where, and writes numbers that come back exactly.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/ef-json.h"

#include <float.h>
#include <math.h>
#include <string.h>
#include <glib/gstdio.h>

#include "fixed-random.h"
#include "../isolate.h"

static EfJsonContext *
parse (const char *text)
{
  GError *error = NULL;
  EfJsonContext *context = ef_json_parse (text, -1, "t.json", &error);

  g_assert_no_error (error);
  g_assert_nonnull (context);

  return context;
}

static void
test_syntax (void)
{
  /* RFC 8259 grammar; the messages are our own. */
  static const struct
  {
    const char *text;
    const char *message;
  } cases[] = {
    { "", "t.json: line 1: expected a value, found the end of the text" },
    { "{", "t.json: line 1: expected a member name in double quotes, found the end of the text" },
    { "{\n\n\"a\": x}", "t.json: line 3: expected a value, found “x”" },
    { "{\"a\" 1}", "t.json: line 1: expected “:”, found “1”" },
    { "{\"a\": 1,}", "t.json: line 1: expected a member name in double quotes, found “}”" },
    { "[1,]", "t.json: line 1: expected a value, found “]”" },
    { "[1 2]", "t.json: line 1: expected “,” or “]”, found “2”" },
    { "[1] x", "t.json: line 1: expected the end of the text, found “x”" },
    { "/* no */ 1", "t.json: line 1: expected a value, found “/”" },
    { "'a'", "t.json: line 1: expected a value, found “'”" },
    { "NaN", "t.json: line 1: expected a value, found “N”" },
    { "Infinity", "t.json: line 1: expected a value, found “I”" },
    { "-Infinity", "t.json: line 1: expected a digit, found “I”" },
    { "nul", "t.json: line 1: expected a value, found “n”" },
    { "01", "t.json: line 1: expected the end of the text, found “1”" },
    { "1.", "t.json: line 1: expected a digit after the decimal point, found the end of the text" },
    { ".5", "t.json: line 1: expected a value, found “.”" },
    { "+1", "t.json: line 1: expected a value, found “+”" },
    { "1e", "t.json: line 1: expected a digit in the exponent, found the end of the text" },
    { "0x10", "t.json: line 1: expected the end of the text, found “x”" },
    { "1e999", "t.json: line 1: expected a number that fits a double, found 1e999" },
    { "9223372036854775808", "t.json: line 1: expected a whole number of at most 64 bits, found 9223372036854775808" },
    { "\"a", "t.json: line 1: expected the end of the string, found the end of the text" },
    { "\"a\nb\"", "t.json: line 1: expected the end of the string, found the character U+000A" },
    { "\"\\x\"", "t.json: line 1: expected an escape such as \\n or \\u00b5, found “x”" },
    { "\"\\u12\"", "t.json: line 1: expected four hexadecimal digits, found “\"”" },
    { "\"\\u0000\"", "t.json: line 1: expected text without NUL, found \\u0000" },
    { "\"\\ud800\"", "t.json: line 1: expected the second half of a surrogate pair, found “\"”" },
    { "\"\\udc00\"", "t.json: line 1: expected a character, found half a surrogate pair" },
    { "{\"a\": 1, \"a\": 2}", "t.json: line 1: expected each member once, found “a” again" },
    { "{\"a\": 1,\n\"\\u0061\": 2}", "t.json: line 2: expected each member once, found “a” again" },
    { "\"\xff\"", "t.json: line 1: expected UTF-8 text, found the byte 0xff" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_json_parse (cases[i].text, -1, "t.json", &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_PARSE);
      g_assert_cmpstr (error->message, ==, cases[i].message);
    }
}

static void
test_limits (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GString) deep = g_string_new (NULL);
  g_autofree char *big = NULL;
  EfJsonContext *context;

  for (guint i = 0; i < 64; i++)
    g_string_append_c (deep, '[');
  for (guint i = 0; i < 64; i++)
    g_string_append_c (deep, ']');
  context = parse (deep->str);
  ef_json_context_free (context);

  /* Far deeper than any stack: must fail, not crash. */
  g_string_truncate (deep, 0);
  for (guint i = 0; i < 2000000; i++)
    g_string_append (deep, i % 2 == 0 ? "[" : "{\"a\":");
  g_assert_null (ef_json_parse (deep->str, -1, "t.json", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_PARSE);
  g_assert_cmpstr (error->message, ==, "t.json: line 1: expected at most 64 levels of nesting, found more");
  g_clear_error (&error);

  big = g_malloc (64u * 1024u * 1024u + 1u);
  memset (big, ' ', 64u * 1024u * 1024u + 1u);
  big[0] = '1';
  g_assert_null (ef_json_parse (big, 64 * 1024 * 1024 + 1, "t.json", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_clear_error (&error);
  context = ef_json_parse (big, 64 * 1024 * 1024, "t.json", &error);
  g_assert_no_error (error);
  ef_json_context_free (context);

  /* An embedded NUL. */
  g_assert_null (ef_json_parse ("1\0002", 3, "t.json", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_PARSE);
}

static void
test_file (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfJsonContext) context = NULL;
  g_autofree char *path = NULL;
  g_auto (EfJson) root = { 0 };
  int fd = g_file_open_tmp ("ef-json-XXXXXX", &path, &error);

  g_assert_no_error (error);
  g_close (fd, NULL);
  g_file_set_contents (path, "\xef\xbb\xbf{\"a\": 5}", -1, &error);
  g_assert_no_error (error);
  context = ef_json_parse_file (path, &error);
  g_assert_no_error (error);
  root = ef_json_root (context);
  g_assert_cmpint (ef_json_integer (&root, "a", 0, 10), ==, 5);
  g_unlink (path);

  g_assert_null (ef_json_parse_file (path, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_null (ef_json_parse_file (g_get_tmp_dir (), &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
  g_clear_error (&error);
  g_assert_null (ef_json_parse_file ("/dev/zero", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
}

typedef void (*Reader) (const EfJson *root);

static void
check_failure (const char *text,
               Reader reader,
               EfError code,
               const char *message)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfJsonContext) context = parse (text);
  g_auto (EfJson) root = ef_json_root (context);

  reader (&root);
  g_assert_false (ef_json_finish (context, &error));
  g_assert_error (error, EF_ERROR, (int) code);
  g_assert_cmpstr (error->message, ==, message);
}

static const char *const colours[] = { "red", "green", NULL };
static const char *const only_a[] = { "a", "b", NULL };

static void
read_above_zero (const EfJson *root)
{
  ef_json_number (root, "a", DBL_MIN, INFINITY);
}
static void
read_range (const EfJson *root)
{
  ef_json_number (root, "a", 0.5, 2.0);
}
static void
read_any (const EfJson *root)
{
  ef_json_number (root, "a", -INFINITY, INFINITY);
}
static void
read_optional_number (const EfJson *root)
{
  ef_json_number_or (root, "a", 0.0, G_MAXDOUBLE, 7.0);
}
static void
read_whole (const EfJson *root)
{
  ef_json_integer (root, "a", 3, 9);
}
static void
read_text (const EfJson *root)
{
  g_free (ef_json_string (root, "a"));
}
static void
read_boolean (const EfJson *root)
{
  ef_json_boolean_or (root, "a", FALSE);
}
static void
read_choice (const EfJson *root)
{
  ef_json_choice (root, "a", colours);
}
static void
read_only (const EfJson *root)
{
  ef_json_only (root, only_a);
}
static void
read_odd_name (const EfJson *root)
{
  ef_json_number (root, "a b", 0.0, 1.0);
}

static void
read_nested (const EfJson *root)
{
  g_auto (EfJson) list = ef_json_array (root, "sections", 1, G_MAXUINT);
  g_auto (EfJson) first = ef_json_element (&list, 0);

  ef_json_number (&first, "module_mm", DBL_MIN, INFINITY);
}

static void
read_element (const EfJson *root)
{
  g_auto (EfJson) list = ef_json_array (root, "a", 2, 3);

  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) element = ef_json_element (&list, i);

      ef_json_value (&element, 0.0, 1.0);
    }
}

static void
read_own (const EfJson *root)
{
  ef_json_fail (root, EF_ERROR_GEOMETRY, "expected %d teeth", 12);
  ef_json_fail (root, EF_ERROR_RANGE, "never seen");
}

static void
test_messages (void)
{
  check_failure ("{\"sections\": [{\"module_mm\": \"three\"}]}", read_nested, EF_ERROR_INVALID, "t.json: $.sections[0].module_mm: expected a number above 0, found \"three\"");
  check_failure ("{\"sections\": [{}]}", read_nested, EF_ERROR_INVALID, "t.json: $.sections[0].module_mm: expected a number above 0, found nothing");
  check_failure ("{\"sections\": [4]}", read_nested, EF_ERROR_INVALID, "t.json: $.sections[0]: expected an object, found 4");
  check_failure ("{\"sections\": []}", read_nested, EF_ERROR_RANGE, "t.json: $.sections: expected an array of at least 1, found an array of 0");
  check_failure ("{}", read_nested, EF_ERROR_INVALID, "t.json: $.sections: expected an array of at least 1, found nothing");
  check_failure ("[]", read_nested, EF_ERROR_INVALID, "t.json: $: expected an object, found an array of 0");
  check_failure ("{\"a\": 0}", read_above_zero, EF_ERROR_RANGE, "t.json: $.a: expected a number above 0, found 0");
  check_failure ("{\"a\": 2.5}", read_range, EF_ERROR_RANGE, "t.json: $.a: expected a number from 0.5 to 2, found 2.5");
  check_failure ("{\"a\": null}", read_any, EF_ERROR_INVALID, "t.json: $.a: expected a number, found null");
  check_failure ("{\"a\": true}", read_any, EF_ERROR_INVALID, "t.json: $.a: expected a number, found true");
  check_failure ("{\"a\": -1}", read_optional_number, EF_ERROR_RANGE, "t.json: $.a: expected a number of at least 0, found -1");
  check_failure ("{\"a\": 3.5}", read_whole, EF_ERROR_INVALID, "t.json: $.a: expected a whole number from 3 to 9, found 3.5");
  check_failure ("{\"a\": 12}", read_whole, EF_ERROR_RANGE, "t.json: $.a: expected a whole number from 3 to 9, found 12");
  check_failure ("{\"a\": 1}", read_text, EF_ERROR_INVALID, "t.json: $.a: expected a text, found 1");
  check_failure ("{\"a\": 1}", read_boolean, EF_ERROR_INVALID, "t.json: $.a: expected true or false, found 1");
  check_failure ("{\"a\": \"blue\"}", read_choice, EF_ERROR_INVALID, "t.json: $.a: expected one of \"red\", \"green\", found \"blue\"");
  check_failure ("{\"a\": 1, \"c\": 2}", read_only, EF_ERROR_INVALID, "t.json: $.c: expected a member out of \"a\", \"b\", found another");
  check_failure ("{}", read_odd_name, EF_ERROR_INVALID, "t.json: $[\"a b\"]: expected a number from 0 to 1, found nothing");
  check_failure ("{\"a\": [0.5, 7]}", read_element, EF_ERROR_RANGE, "t.json: $.a[1]: expected a number from 0 to 1, found 7");
  check_failure ("{\"a\": [0.5]}", read_element, EF_ERROR_RANGE, "t.json: $.a: expected an array of 2 to 3, found an array of 1");
  check_failure ("{}", read_own, EF_ERROR_GEOMETRY, "t.json: $: expected 12 teeth");
}

static void
test_reads (void)
{
  g_autoptr (EfJsonContext) context = parse ("{\"n\": 0.04, \"i\": 3.0, \"t\": \"µ\\ud83d\\ude00\", \"b\": true, \"o\": {\"x\": 1}, \"l\": [1, 2]}");
  g_auto (EfJson) root = ef_json_root (context);
  g_auto (EfJson) object = ef_json_object (&root, "o");
  g_auto (EfJson) missing = ef_json_optional (&root, "zz");
  g_auto (EfJson) list = ef_json_array (&root, "l", 2, 2);
  g_autofree char *text = ef_json_string (&root, "t");
  g_autofree char *fallback = ef_json_string_or (&root, "zz", "none");

  g_assert_cmpfloat (ef_json_number (&root, "n", 0.0, 1.0), ==, 0.04);
  g_assert_cmpint (ef_json_integer (&root, "i", 0, 9), ==, 3);
  g_assert_cmpstr (text, ==, "µ\xf0\x9f\x98\x80");
  g_assert_cmpstr (fallback, ==, "none");
  g_assert_null (ef_json_string_or (&root, "zz", NULL));
  g_assert_true (ef_json_boolean_or (&root, "b", FALSE));
  g_assert_true (ef_json_boolean_or (&root, "zz", TRUE));
  g_assert_cmpfloat (ef_json_number (&object, "x", 0.0, 1.0), ==, 1.0);
  g_assert_null (missing.node);
  g_assert_cmpfloat (ef_json_number_or (&missing, "x", 0.0, 1.0, 0.25), ==, 0.25);
  g_assert_cmpint (ef_json_integer_or (&root, "zz", 0, 1, 5), ==, 5);
  g_assert_cmpuint (ef_json_length (&list), ==, 2);
  g_assert_true (ef_json_has (&root, "n"));
  g_assert_false (ef_json_has (&root, "zz"));
  g_assert_true (ef_json_finish (context, NULL));
}

static double
random_double (void)
{
  union
  {
    guint64 bits;
    double value;
  } u;

  do
    u.bits = ((guint64) fixed_bits () << 32) | fixed_bits ();
  while (!isfinite (u.value));

  return u.value;
}

static void
test_numbers (void)
{
  static const struct
  {
    double value;
    const char *text;
  } cases[] = {
    { 0.04, "0.04" },
    { 0.1, "0.1" },
    { 0.1 + 0.2, "0.30000000000000004" },
    { 1.0 / 3.0, "0.3333333333333333" },
    { 3.0, "3" },
    { -2.5, "-2.5" },
    { 1e-5, "1e-5" },
    { 1e22, "1e22" },
    { 1.5e-300, "1.5e-300" },
    { 0.0, "0" },
    { -0.0, "-0.0" },
    { DBL_MAX, "1.7976931348623157e308" },
    { 4.9406564584124654e-324, "4.94065645841247e-324" },
    { NAN, "null" },
    { INFINITY, "null" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *text = ef_json_number_text (cases[i].value);

      g_assert_cmpstr (text, ==, cases[i].text);
    }

  for (guint i = 0; i < 20000; i++)
    {
      double value = i % 2 == 0 ? random_double () : fixed_double (-1.0, 1.0);
      g_autofree char *text = ef_json_number_text (value);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfJsonContext) context = ef_json_parse (text, -1, "t.json", &error);
      g_auto (EfJson) root = { 0 };

      g_assert_no_error (error);
      root = ef_json_root (context);
      g_assert_cmpfloat (ef_json_value (&root, -INFINITY, INFINITY), ==, value);
    }
}

static void
test_write (void)
{
  static const char text[] = "{\n"
                             "  \"z\": 0.04,\n"
                             "  \"a\": [1, 2.5, \"x\\n\\\"\\\\\\u0001µ\"],\n"
                             "  \"m\": [\n"
                             "    {\n"
                             "      \"k\": null\n"
                             "    },\n"
                             "    [],\n"
                             "    {}\n"
                             "  ],\n"
                             "  \"t\": true\n"
                             "}\n";
  g_autoptr (EfJsonContext) context = parse (text);
  g_auto (EfJson) root = ef_json_root (context);
  g_autofree char *written = ef_json_to_text (root.node);
  g_autofree char *nothing = ef_json_to_text (NULL);

  g_assert_cmpstr (written, ==, text);
  g_assert_cmpstr (nothing, ==, "null\n");
}

/* Every prefix and every one-byte change of a good text: an answer or an error, never a crash. */
static void
test_damage (void)
{
  static const char text[] = "{\"a\": [1.5e-3, -2, \"\\u00b5\\n\"], \"b\": {\"c\": null, \"d\": true}}";
  gsize n = strlen (text);

  for (gsize i = 0; i < n; i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_json_parse (text, (gssize) i, "t.json", &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_PARSE);
    }
  for (gsize i = 0; i < n; i++)
    for (guint c = 0; c < 256; c++)
      {
        g_autoptr (GError) error = NULL;
        g_autofree char *copy = g_strdup (text);
        EfJsonContext *context;

        copy[i] = (char) c;
        context = ef_json_parse (copy, (gssize) n, "t.json", &error);
        g_assert_true ((context != NULL) == (error == NULL));
        ef_json_context_free (context);
      }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/base/json/syntax", test_syntax);
  g_test_add_func ("/base/json/limits", test_limits);
  g_test_add_func ("/base/json/file", test_file);
  g_test_add_func ("/base/json/messages", test_messages);
  g_test_add_func ("/base/json/reads", test_reads);
  g_test_add_func ("/base/json/numbers", test_numbers);
  g_test_add_func ("/base/json/write", test_write);
  g_test_add_func ("/base/json/damage", test_damage);

  return g_test_run ();
}
