/* Canonical JSON against the examples of RFC 8785, and SHA-256 against those of FIPS 180-4.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "base/ef-json-canonical.h"
#include "base/ef-json.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

static char *
canonical (const char *text)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (JsonNode) node = json_from_string (text, &error);
  char *out;

  g_assert_no_error (error);
  out = ef_json_canonical (node, &error);
  g_assert_no_error (error);

  return out;
}

static double
from_bits (guint64 bits)
{
  double value;

  memcpy (&value, &bits, sizeof value);

  return value;
}

/* RFC 8785, 3.2.2 and 3.2.3: from memory. */
static void
test_example (void)
{
  g_autofree char *out = canonical ("{ \"numbers\": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],"
                                    " \"string\": \"\\u20ac$\\u000F\\u000aA'\\u0042\\u0022\\u005c\\\\\\\"\\/\","
                                    " \"literals\": [null, true, false] }");

  g_assert_cmpstr (out, ==,
                   "{\"literals\":[null,true,false],\"numbers\":[333333333.3333333,1e+30,4.5,0.002,1e-27],"
                   "\"string\":\"\xe2\x82\xac$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
}

/* RFC 8785, 3.2.3: sorting by UTF-16 code units puts an emoji (two surrogates) before U+FB33. From memory. */
static void
test_order (void)
{
  g_autofree char *out = canonical ("{\"\\u20ac\": 1, \"\\r\": 2, \"\\ufb33\": 3, \"1\": 4, \"\\ud83d\\ude00\": 5, \"\\u0080\": 6, \"\\u00f6\": 7}");

  g_assert_cmpstr (out, ==,
                   "{\"\\r\":2,\"1\":4,\"\xc2\x80\":6,\"\xc3\xb6\":7,\"\xe2\x82\xac\":1,\"\xf0\x9f\x98\x80\":5,\"\xef\xac\xb3\":3}");
  g_assert_cmpint (ef_json_canonical_order ("\xf0\x9f\x98\x80", "\xef\xac\xb3"), <, 0);
  g_assert_cmpint (ef_json_canonical_order ("\xef\xac\xb3", "\xf0\x9f\x98\x80"), >, 0);
  g_assert_cmpint (ef_json_canonical_order ("\xf0\x9f\x98\x80", "\xed\x9f\xbf"), >, 0);
  g_assert_cmpint (ef_json_canonical_order ("a", "a"), ==, 0);
  g_assert_cmpint (ef_json_canonical_order ("a", "ab"), <, 0);
  g_assert_cmpint (ef_json_canonical_order ("ab", "a"), >, 0);
  g_assert_cmpint (ef_json_canonical_order ("\xf0\x9f\x98\x80", "\xf0\x9f\x98\x81"), <, 0);
  g_assert_cmpint (ef_json_canonical_order ("\xed\x9f\xbf", "\xf0\x9f\x98\x80"), <, 0); /* U+D7FF before the surrogates */
}

/* RFC 8785, appendix B: bits of the double, its text. From memory, compared with public copies of the table. */
static const struct
{
  guint64 bits;
  const char *text;
} numbers[] = {
  { 0x0000000000000000, "0" },
  { 0x8000000000000000, "0" },
  { 0x0000000000000001, "5e-324" },
  { 0x8000000000000001, "-5e-324" },
  { 0x7fefffffffffffff, "1.7976931348623157e+308" },
  { 0xffefffffffffffff, "-1.7976931348623157e+308" },
  { 0x4340000000000000, "9007199254740992" },
  { 0xc340000000000000, "-9007199254740992" },
  { 0x4430000000000000, "295147905179352830000" },
  { 0x44b52d02c7e14af5, "9.999999999999997e+22" },
  { 0x44b52d02c7e14af6, "1e+23" },
  { 0x44b52d02c7e14af7, "1.0000000000000001e+23" },
  { 0x444b1ae4d6e2ef4e, "999999999999999700000" },
  { 0x444b1ae4d6e2ef4f, "999999999999999900000" },
  { 0x444b1ae4d6e2ef50, "1e+21" },
  { 0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7" },
  { 0x3eb0c6f7a0b5ed8d, "0.000001" },
  { 0x41b3de4355555553, "333333333.3333332" },
  { 0x41b3de4355555554, "333333333.33333325" },
  { 0x41b3de4355555555, "333333333.3333333" },
  { 0x41b3de4355555556, "333333333.3333334" },
  { 0x41b3de4355555557, "333333333.33333343" },
  { 0xbecbf647612f3696, "-0.0000033333333333333333" },
  { 0x43143ff3c1cb0959, "1424953923781206.2" },
  /* Constructed: 2^-44 lies at the edge where doubles change their spacing: the nearest text of 16 digits reads back to its neighbour. */
  { 0x3d30000000000000, "5.684341886080802e-14" },
};

static void
test_numbers (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (numbers); i++)
    {
      g_autofree char *text = ef_json_canonical_number (from_bits (numbers[i].bits));

      g_assert_cmpstr (text, ==, numbers[i].text);
    }
}

/* Short texts and long ones read back to the same double, and no shorter text does. */
static void
test_numbers_read_back (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (8785);

  for (guint i = 0; i < 20000; i++)
    {
      double value = from_bits (((guint64) g_rand_int (rand) << 32) | g_rand_int (rand));
      g_autofree char *text = NULL;

      if (!isfinite (value))
        continue;
      text = ef_json_canonical_number (value);
      g_assert_cmpfloat (g_ascii_strtod (text, NULL), ==, value == 0 ? 0.0 : value);
    }
}

static void
test_refused (void)
{
  const double no_numbers[] = { NAN, INFINITY, -INFINITY };
  const gint64 between[] = { G_GINT64_CONSTANT (9007199254740993), -G_GINT64_CONSTANT (9007199254740993), G_MAXINT64 };
  g_autoptr (GError) error = NULL;

  for (guint i = 0; i < 3; i++)
    {
      g_autoptr (JsonNode) node = json_from_string ("{\"a\": [1]}", NULL);
      JsonArray *array = json_object_get_array_member (json_node_get_object (node), "a");

      json_array_add_double_element (array, no_numbers[i]);
      g_assert_null (ef_json_canonical (node, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
      g_assert_nonnull (strstr (error->message, "$.a[1]"));
      g_clear_error (&error);

      json_array_remove_element (array, 1);
      json_array_add_int_element (array, between[i]);
      g_assert_null (ef_json_canonical (node, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
      g_clear_error (&error);
    }
}

/* Laid out differently, members in another order, numbers written differently: one canonical text, and one read again is itself. */
static void
test_layout (void)
{
  g_autofree char *a = canonical ("{\"b\": [1.0, -0.0, 1e2], \"a\": {\"y\": 0.040, \"x\": \"\\u0041\"}}");
  g_autofree char *b = canonical ("{\"a\":{\"x\":\"A\",\"y\":4e-2},\"b\":[1,0,100]}");
  g_autofree char *again = canonical (a);

  g_assert_cmpstr (a, ==, b);
  g_assert_cmpstr (again, ==, a);
}

/* FIPS 180-4 examples (one block, two blocks, a million letters a): from memory. */
static void
test_sha256 (void)
{
  g_autofree char *one = ef_sha256 ("abc", -1);
  g_autofree char *two = ef_sha256 ("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", -1);
  g_autofree char *none = ef_sha256 ("", -1);
  g_autofree char *long_text = g_strnfill (1000000, 'a');
  g_autofree char *million = ef_sha256 (long_text, 1000000);

  g_assert_cmpstr (one, ==, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  g_assert_cmpstr (two, ==, "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  g_assert_cmpstr (none, ==, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  g_assert_cmpstr (million, ==, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/json-canonical/example", test_example);
  g_test_add_func ("/json-canonical/order", test_order);
  g_test_add_func ("/json-canonical/numbers", test_numbers);
  g_test_add_func ("/json-canonical/numbers-read-back", test_numbers_read_back);
  g_test_add_func ("/json-canonical/refused", test_refused);
  g_test_add_func ("/json-canonical/layout", test_layout);
  g_test_add_func ("/json-canonical/sha256", test_sha256);

  return g_test_run ();
}
