/* Malformed exchange files, generated: each gets a clear error or, where the change still makes sense, reads and writes cleanly.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Run under the address and undefined-behaviour sanitizers too. A clear error is one of ours that begins with the
 * file's name, says where, and is valid UTF-8.
 */
#include "../inspection/random-inspection.h"

#include "record/ef-exchange.h"

#include <string.h>
#include "../isolate.h"

#define FILE_NAME "mutant.json"
#define ROUNDS(all) (g_test_slow () ? (all) : (all) / 4u) /* all of them with -m slow */

/* A value inside a document: the object or array it is in, and its name or index. */
typedef struct
{
  JsonNode *parent;
  char *member; /* NULL in an array */
  guint index;
  gboolean in_sheet;
} Place;

static void
place_clear (gpointer data)
{
  g_free (((Place *) data)->member);
}

static void
collect (JsonNode *node,
         gboolean in_sheet,
         GArray *places)
{
  guint i;

  if (JSON_NODE_HOLDS_ARRAY (node))
    for (i = 0; i < json_array_get_length (json_node_get_array (node)); i++)
      {
        Place place = { node, NULL, i, in_sheet };

        g_array_append_val (places, place);
        collect (json_array_get_element (json_node_get_array (node), i), in_sheet, places);
      }
  else if (JSON_NODE_HOLDS_OBJECT (node))
    {
      g_autoptr (GList) names = json_object_get_members (json_node_get_object (node));
      GList *l;

      for (l = names; l != NULL; l = l->next)
        {
          gboolean inside = in_sheet || g_str_equal (l->data, "pump_sheet");
          Place place = { node, g_strdup (l->data), 0, inside };

          g_array_append_val (places, place);
          collect (json_object_get_member (json_node_get_object (node), l->data), inside, places);
        }
    }
}

static JsonNode *
value_at (const Place *place)
{
  if (place->member != NULL)
    return json_object_get_member (json_node_get_object (place->parent), place->member);

  return json_array_get_element (json_node_get_array (place->parent), place->index);
}

static void
set_value (const Place *place,
           JsonNode *value)
{
  JsonArray *array;

  if (place->member != NULL)
    {
      json_object_set_member (json_node_get_object (place->parent), place->member, value);
      return;
    }
  /* No call replaces an element: take it out, add the new one last. */
  array = json_node_get_array (place->parent);
  json_array_remove_element (array, place->index);
  json_array_add_element (array, value);
}

static JsonNode *
parse_value (const char *text)
{
  return json_from_string (text, NULL);
}

/* Changes that make any document wrong, whatever they hit outside the pump sheet. */

static gboolean
make_null (const Place *place)
{
  set_value (place, json_node_init_null (json_node_alloc ()));

  return TRUE;
}

static gboolean
make_other_type (const Place *place)
{
  set_value (place, parse_value (JSON_NODE_HOLDS_ARRAY (value_at (place)) ? "{\"spoilt\": 1}" : "[[\"spoilt\"]]"));

  return TRUE;
}

static gboolean
add_unknown (const Place *place)
{
  JsonNode *value = value_at (place);

  if (!JSON_NODE_HOLDS_OBJECT (value))
    return FALSE;
  json_object_set_int_member (json_node_get_object (value), "unknown_member", 1);

  return TRUE;
}

static gboolean
is_number (JsonNode *value)
{
  return JSON_NODE_HOLDS_VALUE (value)
         && (json_node_get_value_type (value) == G_TYPE_INT64 || json_node_get_value_type (value) == G_TYPE_DOUBLE);
}

static gboolean
make_huge (const Place *place)
{
  if (!is_number (value_at (place)))
    return FALSE;
  set_value (place, json_node_init_double (json_node_alloc (), 1e300));

  return TRUE;
}

static gboolean
rename_member (const Place *place)
{
  JsonObject *object;
  JsonNode *value;

  if (place->member == NULL)
    return FALSE;
  object = json_node_get_object (place->parent);
  value = json_object_dup_member (object, place->member);
  json_object_remove_member (object, place->member);
  json_object_set_member (object, "renamed", value);

  return TRUE;
}

static gboolean
remove_required (const Place *place)
{
  static const char *const required[] = {
    "format", "version", "pump_sheet", "job", "id", "kind", "face", "shape", "nodes_mm", "at_mm", "depth_mm", "quantity",
    "target", "value_mm", "resolution_mm", "uncertainty_mm", "state", "verdict", "reason", NULL
  };

  /* A reading's own at_mm may be left out, and so may a part size's uncertainty and what verdict a part from the shelf once had. */
  if (place->member == NULL || !g_strv_contains (required, place->member)
      || ((g_str_equal (place->member, "at_mm") || g_str_equal (place->member, "uncertainty_mm"))
          && json_object_has_member (json_node_get_object (place->parent), "quantity"))
      || (g_str_equal (place->member, "verdict") && json_object_has_member (json_node_get_object (place->parent), "shelf")))
    return FALSE;
  json_object_remove_member (json_node_get_object (place->parent), place->member);

  return TRUE;
}

static gboolean
repeat_item (const Place *place)
{
  JsonNode *value = value_at (place);

  if (place->member != NULL || !JSON_NODE_HOLDS_OBJECT (value) || !json_object_has_member (json_node_get_object (value), "id"))
    return FALSE;
  json_array_add_element (json_node_get_array (place->parent), json_node_copy (value));

  return TRUE;
}

static gboolean
unknown_word (const Place *place)
{
  static const char *const words[] = { "format", "kind", "shape", "quantity", "state", "verdict", "unit", "gauge", NULL };

  if (place->member == NULL || !g_strv_contains (words, place->member))
    return FALSE;
  set_value (place, json_node_init_string (json_node_alloc (), "no such word"));

  return TRUE;
}

static gboolean (*const certain[]) (const Place *) = {
  make_null, make_other_type, add_unknown, make_huge, rename_member, remove_required, repeat_item, unknown_word,
};

/* Changes that may leave a document that makes sense. */

static gboolean
make_empty_text (const Place *place)
{
  set_value (place, json_node_init_string (json_node_alloc (), ""));

  return TRUE;
}

static gboolean
make_negative (const Place *place)
{
  if (!is_number (value_at (place)))
    return FALSE;
  set_value (place, json_node_init_double (json_node_alloc (), -json_node_get_double (value_at (place)) - 0.1));

  return TRUE;
}

static gboolean
make_zero (const Place *place)
{
  if (!is_number (value_at (place)))
    return FALSE;
  set_value (place, json_node_init_int (json_node_alloc (), 0));

  return TRUE;
}

static gboolean
remove_any (const Place *place)
{
  if (place->member != NULL)
    json_object_remove_member (json_node_get_object (place->parent), place->member);
  else
    json_array_remove_element (json_node_get_array (place->parent), place->index);

  return TRUE;
}

static gboolean
make_empty_list (const Place *place)
{
  if (!JSON_NODE_HOLDS_ARRAY (value_at (place)))
    return FALSE;
  set_value (place, parse_value ("[]"));

  return TRUE;
}

static gboolean (*const uncertain[]) (const Place *) = {
  make_empty_text, make_negative, make_zero, remove_any, make_empty_list,
};

static char *
write_random (GRand *rand)
{
  g_autoptr (EfInspection) inspection = random_inspection (rand, 12);

  return ef_exchange_write (inspection);
}

/* TRUE when refused. */
static gboolean
assert_clear (const char *text,
              gssize length)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_exchange_parse (text, length, FILE_NAME, &error);
  g_autoptr (EfInspection) again = NULL;
  g_autofree char *written = NULL;

  if (inspection == NULL)
    {
      g_assert_nonnull (error);
      g_assert_true (error->domain == EF_ERROR);
      g_assert_true (g_str_has_prefix (error->message, FILE_NAME ": "));
      g_assert_true (g_utf8_validate (error->message, -1, NULL));
      g_assert_cmpuint (strlen (error->message), >, strlen (FILE_NAME) + 10);
      g_assert_cmpuint (strlen (error->message), <, 8000);
      return TRUE;
    }

  g_assert_no_error (error);
  written = ef_exchange_write (inspection);
  again = ef_exchange_parse (written, -1, FILE_NAME, &error);
  g_assert_no_error (error);
  assert_same_inspection (inspection, again);

  return FALSE;
}

/* One changed document, or NULL where the change doesn't apply to any of the places that were drawn. */
static char *
mutate (GRand *rand,
        const char *text,
        gboolean (*change) (const Place *),
        gboolean in_sheet)
{
  g_autoptr (JsonNode) root = parse_value (text);
  g_autoptr (GArray) places = g_array_new (FALSE, FALSE, sizeof (Place));
  guint i;

  g_array_set_clear_func (places, place_clear);
  collect (root, FALSE, places);
  for (i = 0; i < 200; i++)
    {
      const Place *place = &g_array_index (places, Place, g_rand_int_range (rand, 0, places->len));

      if (place->in_sheet == in_sheet && change (place))
        return ef_json_to_text (root);
    }

  return NULL;
}

static void
test_certain (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (61);
  guint i;

  for (i = 0; i < G_N_ELEMENTS (certain); i++)
    {
      guint refused = 0;
      guint tries = 0;

      while (refused < 50)
        {
          g_autofree char *text = write_random (rand);
          g_autofree char *mutant = mutate (rand, text, certain[i], FALSE);

          g_assert_cmpuint (++tries, <, 20000);
          if (mutant == NULL)
            continue;
          if (!assert_clear (mutant, -1))
            g_error ("change %u was not refused:\n%s", i, mutant);
          refused++;
        }
    }
}

static void
test_uncertain (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (62);
  guint i, refused = 0, made = 0;

  for (i = 0; i < ROUNDS (800u); i++)
    {
      g_autofree char *text = write_random (rand);
      g_autofree char *mutant = mutate (rand, text, uncertain[i % G_N_ELEMENTS (uncertain)], g_rand_boolean (rand));

      if (mutant == NULL)
        continue;
      made++;
      refused += assert_clear (mutant, -1);
    }
  g_test_message ("%u of %u refused", refused, made);
  g_assert_cmpuint (refused, >, ROUNDS (800u) / 16);
}

static void
test_sheet (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (63);
  guint i, refused = 0, made = 0;

  for (i = 0; i < ROUNDS (800u); i++)
    {
      g_autofree char *text = write_random (rand);
      g_autofree char *mutant = mutate (rand, text, certain[i % G_N_ELEMENTS (certain)], TRUE);

      if (mutant == NULL)
        continue;
      made++;
      refused += assert_clear (mutant, -1);
    }
  g_test_message ("%u of %u refused", refused, made);
  g_assert_cmpuint (refused, >, ROUNDS (1000u) / 4);
}

/* A damaged text: cut off, a byte changed, taken out or put in, a piece twice, bad UTF-8, NUL. */
static GString *
damage (GRand *rand,
        const char *text)
{
  static const char bytes[] = "{}[]\",:\\0919eE+-.nulltrue \n\t\xff\xc0\x80\0";
  GString *damaged = g_string_new (text);
  int n = g_rand_int_range (rand, 1, 4);

  while (n-- > 0 && damaged->len > 2)
    {
      gsize at = (gsize) g_rand_int_range (rand, 0, (int) damaged->len);
      gsize length = (gsize) g_rand_int_range (rand, 1, (int) MIN (60, damaged->len - at + 1));
      char byte = bytes[g_rand_int_range (rand, 0, sizeof bytes)];
      g_autofree char *piece = g_strndup (damaged->str + at, length);

      switch (g_rand_int_range (rand, 0, 6))
        {
        case 0:
          g_string_truncate (damaged, at);
          break;
        case 1:
          damaged->str[at] = byte;
          break;
        case 2:
          g_string_erase (damaged, at, 1);
          break;
        case 3:
          g_string_insert_c (damaged, at, byte);
          break;
        case 4:
          g_string_erase (damaged, at, length);
          break;
        default:
          g_string_insert (damaged, at, piece);
          break;
        }
    }

  return damaged;
}

static void
test_damaged_text (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (64);
  guint i, refused = 0;

  for (i = 0; i < ROUNDS (2000u); i++)
    {
      g_autofree char *text = write_random (rand);
      GString *damaged = damage (rand, text);

      refused += assert_clear (damaged->str, damaged->len);
      g_string_free (damaged, TRUE);
    }
  g_test_message ("%u of %u refused", refused, ROUNDS (2000u));
  g_assert_cmpuint (refused, >, ROUNDS (2000u) / 2);
}

static void
test_hostile (void)
{
  static const char *const texts[] = {
    "", " ", "null", "0", "\"\"", "[]", "{}", "{", "[[[[", "\xef\xbb\xbf", "{\"format\": \"endfloat-inspection\"}",
    "{\"format\": \"endfloat-inspection\", \"version\": 1e999}", "{\"format\": \"endfloat-inspection\", \"version\": 99999999999999999999}",
    "{\"format\": \"endfloat-inspection\", \"version\": NaN}", "{\"format\": \"endfloat-inspection\", \"format\": \"endfloat-inspection\"}",
    "{\"format\": \"endfloat-inspection\", \"version\": 1, \"pump_sheet\": {}}",
    "{\"format\": \"endfloat-inspection\", \"version\": 1, \"pump_sheet\": null}", "{\"\\ud800\": 1}", "{\"a\\u0000b\": 1}",
    "<?xml version=\"1.0\"?>", "%PDF-1.7", "SQLite format 3",
  };
  g_autofree char *deep = g_strnfill (200000, '[');
  g_autofree char *deep_objects = NULL;
  g_auto (GStrv) pieces = g_new0 (char *, 20001);
  guint i;

  for (i = 0; i < G_N_ELEMENTS (texts); i++)
    g_assert_true (assert_clear (texts[i], -1));
  g_assert_true (assert_clear (deep, -1));
  for (i = 0; i < 20000; i++)
    pieces[i] = g_strdup ("{\"a\":");
  deep_objects = g_strjoinv ("", pieces);
  g_assert_true (assert_clear (deep_objects, -1));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/exchange-mutations/certain-to-be-wrong", test_certain);
  g_test_add_func ("/exchange-mutations/may-make-sense", test_uncertain);
  g_test_add_func ("/exchange-mutations/pump-sheet", test_sheet);
  g_test_add_func ("/exchange-mutations/damaged-text", test_damaged_text);
  g_test_add_func ("/exchange-mutations/hostile", test_hostile);

  return g_test_run ();
}
