/* Malformed pump sheets: the shipped ones, changed in every way that comes to mind, by a fixed seed. Each must load or be
 * refused with a message that names the file; most are refused, at a place.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "pump/ef-face-chart.h"

#include <string.h>
#include "../isolate.h"

#define FILE_NAME "mutant.json"
#define PER_KIND 40

static const char *const shipped[] = { "hl-24", "hl-27", "rc-4", "tg-3" };

typedef char *(*Mutate) (const char *text, GRand *rand);

/* Tools */

static char *
text_of (const char *id)
{
  g_autofree char *file = g_strconcat (id, ".json", NULL);
  g_autofree char *path = ef_data_path ("pump-sheets", file, NULL);
  char *text = NULL;

  g_assert_true (g_file_get_contents (path, &text, NULL, NULL));

  return text;
}

/* Replaces @length bytes at @at. */
static char *
splice (const char *text,
        gsize at,
        gsize length,
        const char *with)
{
  g_autofree char *head = g_strndup (text, at);

  return g_strconcat (head, with, text + at + length, NULL);
}

/* A random place where one of @characters stands. */
static gsize
find_one_of (const char *text,
             const char *characters,
             GRand *rand)
{
  gsize n = strlen (text);
  gsize at = (gsize) g_rand_int_range (rand, 0, (gint32) n);

  while (strchr (characters, text[at]) == NULL || text[at] == '\0')
    at = (at + 1) % n;

  return at;
}

/* Start and length of a random number, as a value. */
static gsize
find_number (const char *text,
             gsize *length,
             GRand *rand)
{
  gsize at;

  do
    at = find_one_of (text, ":,[", rand) + 1;
  while (strchr (" -0123456789", text[at]) == NULL || strchr ("-0123456789", text[at + (text[at] == ' ')]) == NULL);
  at += text[at] == ' ';
  *length = strspn (text + at, "-+.0123456789eE");

  return at;
}

/* Start and length of a random `"name": ` */
static gsize
find_member (const char *text,
             gsize *length,
             GRand *rand)
{
  for (;;)
    {
      gsize colon = find_one_of (text, ":", rand);
      gsize start;

      if (colon < 3 || text[colon - 1] != '"')
        continue;
      start = colon - 2;
      while (start > 0 && text[start] != '"')
        start--;
      *length = colon - start;

      return start;
    }
}

/* Mutations */

static char *
rename_member (const char *text,
               GRand *rand)
{
  gsize length;
  gsize at = find_member (text, &length, rand);

  return splice (text, at + 1, 1, "Q");
}

/* Takes out a member with its value up to the end of its line or the next comma outside brackets. */
static char *
delete_member (const char *text,
               GRand *rand)
{
  gsize length;
  gsize at = find_member (text, &length, rand);
  gsize end = at + length;
  int depth = 0;
  gboolean quoted = FALSE;

  for (; text[end] != '\0'; end++)
    {
      quoted ^= text[end] == '"';
      if (quoted)
        continue;
      depth += strchr ("[{", text[end]) != NULL;
      if (depth == 0 && strchr (",]}", text[end]) != NULL)
        break;
      depth -= strchr ("]}", text[end]) != NULL;
    }

  return splice (text, at, end - at + (text[end] == ','), "");
}

static char *
duplicate_member (const char *text,
                  GRand *rand)
{
  gsize length;
  gsize at = find_member (text, &length, rand);
  g_autofree char *member = g_strndup (text + at, length);
  g_autofree char *twice = g_strdup_printf ("%s: 1, ", member);

  return splice (text, at, 0, twice);
}

static char *
wrong_type (const char *text,
            GRand *rand)
{
  static const char *const values[] = { "\"text\"", "null", "true", "{}", "[]", "[1, 2, 3]", "{ \"a\": 1 }", "\"\"" };
  gsize length;
  gsize at = find_number (text, &length, rand);

  return splice (text, at, length, values[g_rand_int_range (rand, 0, G_N_ELEMENTS (values))]);
}

static char *
out_of_range (const char *text,
              GRand *rand)
{
  static const char *const values[] = { "-1", "0", "1e9", "-1e9", "1e308", "-1e308", "1e-308", "4503599627370497.5", "99999", "0.0001" };
  gsize length;
  gsize at = find_number (text, &length, rand);

  return splice (text, at, length, values[g_rand_int_range (rand, 0, G_N_ELEMENTS (values))]);
}

static char *
huge_number (const char *text,
             GRand *rand)
{
  static const char *const values[] = { "1e999", "-1e999", "NaN", "Infinity", "9223372036854775808", "-99999999999999999999999", "0x10", "1.2.3", "--1", "1e", "00012" };
  gsize length;
  gsize at = find_number (text, &length, rand);

  return splice (text, at, length, values[g_rand_int_range (rand, 0, G_N_ELEMENTS (values))]);
}

static char *
nudge_number (const char *text,
              GRand *rand)
{
  gsize length;
  gsize at = find_number (text, &length, rand);
  g_autofree char *old = g_strndup (text + at, length);
  char number[G_ASCII_DTOSTR_BUF_SIZE];

  g_ascii_dtostr (number, sizeof number, g_ascii_strtod (old, NULL) * g_rand_double_range (rand, -2.0, 4.0));

  return splice (text, at, length, number);
}

static char *
truncate_text (const char *text,
               GRand *rand)
{
  return g_strndup (text, (gsize) g_rand_int_range (rand, 0, (gint32) strlen (text) - 1));
}

static char *
flip_bytes (const char *text,
            GRand *rand)
{
  char *copy = g_strdup (text);
  gsize n = strlen (copy);
  int flips = g_rand_int_range (rand, 1, 6);

  for (int i = 0; i < flips; i++)
    {
      gsize at = (gsize) g_rand_int_range (rand, 0, (gint32) n);
      char flipped = (char) (copy[at] ^ (1 << g_rand_int_range (rand, 0, 8)));

      if (flipped != '\0')
        copy[at] = flipped;
    }

  return copy;
}

static char *
nest_deeply (const char *text,
             GRand *rand)
{
  gsize length;
  gsize at = find_number (text, &length, rand);
  int depth = g_rand_int_range (rand, 1, 3000);
  gboolean object = g_rand_boolean (rand);
  GString *nest = g_string_new (NULL);
  g_autofree char *whole = NULL;

  for (int i = 0; i < depth; i++)
    g_string_append (nest, object ? "{\"a\":" : "[");
  g_string_append (nest, "1");
  for (int i = 0; i < depth; i++)
    g_string_append (nest, object ? "}" : "]");
  whole = g_string_free (nest, FALSE);

  return splice (text, at, length, whole);
}

static char *
drop_punctuation (const char *text,
                  GRand *rand)
{
  return splice (text, find_one_of (text, "{}[]:,\"", rand), 1, "");
}

static char *
insert_rubbish (const char *text,
                GRand *rand)
{
  static const char *const rubbish[] = { ",", "]", "}", "\"", "\\", "\xff\xfe", "\xc3", "/* */", "\xed\xa0\x80", "\x01", "{", "[[[[" };
  gsize at = (gsize) g_rand_int_range (rand, 0, (gint32) strlen (text));

  return splice (text, at, 0, rubbish[g_rand_int_range (rand, 0, G_N_ELEMENTS (rubbish))]);
}

/* Points a reference or a word elsewhere. */
static char *
change_text (const char *text,
             GRand *rand)
{
  static const char *const words[] = { "\"\"", "\"separator\"", "\"separator/side-a\"", "\"pressure\"", "\"a b\"", "\"../../x\"", "\"drive\"", "\"%s%n\"", "\"\\u0000\"" };
  gsize length;
  gsize at;

  do
    {
      at = find_one_of (text, ":", rand) + 1;
      at += text[at] == ' ';
    }
  while (text[at] != '"');
  length = strcspn (text + at + 1, "\"") + 2;

  return splice (text, at, length, words[g_rand_int_range (rand, 0, G_N_ELEMENTS (words))]);
}

static const struct
{
  const char *name;
  Mutate mutate;
} mutations[] = {
  { "rename-member", rename_member }, { "delete-member", delete_member }, { "duplicate-member", duplicate_member },
  { "wrong-type", wrong_type }, { "out-of-range", out_of_range }, { "huge-number", huge_number }, { "nudge-number", nudge_number },
  { "truncate", truncate_text }, { "flip-bytes", flip_bytes }, { "nest-deeply", nest_deeply }, { "drop-punctuation", drop_punctuation },
  { "insert-rubbish", insert_rubbish }, { "change-text", change_text },
};

/* Runs */

static guint n_loaded, n_refused, n_placed;

/* What loads must be whole: all its faces can be drawn. */
static void
use_sheet (EfPumpSheet *sheet)
{
  g_auto (GStrv) ids = ef_face_ids (sheet);

  for (guint i = 0; ids[i] != NULL; i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, ids[i], &error);

      g_assert_no_error (error);
      g_assert_nonnull (chart);
    }
}

static void
try_text (const char *text)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_parse (text, FILE_NAME, &error);

  if (sheet != NULL)
    {
      g_assert_no_error (error);
      n_loaded++;
      use_sheet (sheet);
      return;
    }
  g_assert_nonnull (error);
  g_assert_true (error->domain == EF_ERROR);
  g_assert_true (g_str_has_prefix (error->message, FILE_NAME ": "));
  g_assert_cmpuint (strlen (error->message), >, strlen (FILE_NAME) + 10);
  g_assert_true (g_utf8_validate (error->message, -1, NULL));
  n_refused++;
  n_placed += strstr (error->message, "$") != NULL || strstr (error->message, "line ") != NULL;
}

static void
test_mutations (gconstpointer data)
{
  guint kind = GPOINTER_TO_UINT (data);

  for (guint i = 0; i < PER_KIND; i++)
    {
      g_autoptr (GRand) rand = g_rand_new_with_seed (1000 * kind + i);
      g_autofree char *text = text_of (shipped[i % G_N_ELEMENTS (shipped)]);
      g_autofree char *mutant = mutations[kind].mutate (text, rand);

      try_text (mutant);
    }
}

static void
test_two_at_once (void)
{
  for (guint i = 0; i < 3 * PER_KIND; i++)
    {
      g_autoptr (GRand) rand = g_rand_new_with_seed (70000 + i);
      g_autofree char *text = text_of (shipped[i % G_N_ELEMENTS (shipped)]);
      g_autofree char *first = mutations[g_rand_int_range (rand, 0, 7)].mutate (text, rand);
      g_autofree char *second = mutations[g_rand_int_range (rand, 0, 7)].mutate (first, rand);

      try_text (second);
    }
}

static void
test_nothing_like_a_sheet (void)
{
  static const char *const texts[] = { "", " ", "null", "1", "[]", "{}", "\"endfloat-pump-sheet\"", "{", "}", "[", "\xef\xbb\xbf{}",
                                       "{\"format\": \"endfloat-pump-sheet\"}", "{\"format\": \"endfloat-pump-sheet\", \"version\": 1}",
                                       "{\"parts\": [[[[]]]]}", "<xml/>", "%PDF-1.7", "\xff\xff\xff" };

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    try_text (texts[i]);
}

/* Runs last: the counts are of all that went before. */
static void
test_counts (void)
{
  g_test_message ("%u sheets: %u loaded, %u refused, %u of them with a path or line", n_loaded + n_refused, n_loaded, n_refused, n_placed);
  g_assert_cmpuint (n_loaded + n_refused, >=, 250);
  g_assert_cmpuint (n_placed, >=, 200);
  /* Only what is no JSON from its first byte on may go without a place. */
  g_assert_cmpuint (n_refused - n_placed, <, n_refused / 20);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  for (guint i = 0; i < G_N_ELEMENTS (mutations); i++)
    {
      g_autofree char *path = g_strconcat ("/pump-sheet/mutations/", mutations[i].name, NULL);

      g_test_add_data_func (path, GUINT_TO_POINTER (i), test_mutations);
    }
  g_test_add_func ("/pump-sheet/mutations/two-at-once", test_two_at_once);
  g_test_add_func ("/pump-sheet/mutations/nothing-like-a-sheet", test_nothing_like_a_sheet);
  g_test_add_func ("/pump-sheet/mutations/zz-counts", test_counts);

  return g_test_run ();
}
