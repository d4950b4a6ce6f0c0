/* One seal: its statement, its key, its form, and the job beside it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-verify-private.h"
#include "ef-compare.h"
#include "../base/ef-json-canonical.h"

#include <string.h>

static const char *const job_members[] = {
  "form", "format", "history", "job", "job_id", "key", "kind", "locator", "note", "number", "parts", "previous", "program", "revision", "role", "time",
  "version", NULL
};
static const char *const key_members[] = {
  "break", "format", "key", "kind", "number", "previous", "previous_key", "program", "reason", "role", "time", "version", NULL
};
static const char *const integer_members[] = { "history", "job_id", "number", "revision", "version", NULL };

const char *
ef_verify_string (JsonObject *object,
                  const char *member)
{
  JsonNode *node = object != NULL ? json_object_get_member (object, member) : NULL;

  return node != NULL && JSON_NODE_HOLDS_VALUE (node) && json_node_get_value_type (node) == G_TYPE_STRING ? json_node_get_string (node) : "";
}

gint64
ef_verify_integer (JsonObject *object,
                   const char *member)
{
  JsonNode *node = json_object_get_member (object, member);

  return node != NULL && JSON_NODE_HOLDS_VALUE (node) && json_node_get_value_type (node) == G_TYPE_INT64 ? json_node_get_int (node) : 0;
}

gboolean
ef_verify_same (const EfVerifyAt *at,
                const char *place,
                const char *stated,
                const char *found)
{
  if (g_strcmp0 (stated, found) == 0)
    return TRUE;
  ef_verify_tell (at, EF_VERIFY_BROKEN, place, "sealed \"%.200s\", found \"%.200s\"", stated != NULL ? stated : "", found != NULL ? found : "");

  return FALSE;
}

static gboolean
right_type (JsonNode *node,
            const char *member)
{
  if (g_str_equal (member, "parts"))
    return JSON_NODE_HOLDS_OBJECT (node);
  if (!JSON_NODE_HOLDS_VALUE (node))
    return FALSE;
  if (g_strv_contains (integer_members, member))
    return json_node_get_value_type (node) == G_TYPE_INT64;
  if (g_str_equal (member, "break"))
    return json_node_get_value_type (node) == G_TYPE_BOOLEAN;

  return json_node_get_value_type (node) == G_TYPE_STRING;
}

gboolean
ef_verify_members (const EfVerifyAt *at,
                   JsonObject *statement,
                   const char *place)
{
  gboolean about_key = g_str_equal (ef_verify_string (statement, "kind"), "key");
  const char *const *members = about_key ? key_members : job_members;
  g_autoptr (GList) names = json_object_get_members (statement);
  gboolean right = TRUE;

  for (guint i = 0; members[i] != NULL; i++)
    if (!json_object_has_member (statement, members[i]) || !right_type (json_object_get_member (statement, members[i]), members[i]))
      {
        g_autofree char *where = g_strdup_printf ("%s: %s", place, members[i]);

        ef_verify_tell (at, EF_VERIFY_BROKEN, where, "missing, or of another type");
        right = FALSE;
      }
  for (GList *name = names; name != NULL; name = name->next)
    if (!g_strv_contains (members, name->data))
      {
        g_autofree char *where = g_strdup_printf ("%s: %s", place, (const char *) name->data);

        ef_verify_tell (at, EF_VERIFY_BROKEN, where, "a member that wasn't sealed");
        right = FALSE;
      }
  if (!about_key && !g_str_equal (ef_verify_string (statement, "kind"), "job"))
    {
      g_autofree char *where = g_strdup_printf ("%s: kind", place);

      ef_verify_tell (at, EF_VERIFY_BROKEN, where, "expected \"job\" or \"key\", found \"%.100s\"", ef_verify_string (statement, "kind"));
      right = FALSE;
    }
  if (!g_str_equal (ef_verify_string (statement, "format"), EF_SEAL_FORMAT) || ef_verify_integer (statement, "version") != EF_SEAL_VERSION)
    {
      g_autofree char *where = g_strdup_printf ("%s: format, version", place);

      ef_verify_tell (at, EF_VERIFY_BROKEN, where, "expected \"%s\", %d; a newer version of the program may know more", EF_SEAL_FORMAT, EF_SEAL_VERSION);
      right = FALSE;
    }

  return right;
}

typedef struct
{
  gint64 first, last;
  guint key; /* index */
} Run;

void
ef_verify_keys_init (EfVerifyKeys *keys)
{
  keys->publics = g_ptr_array_new_with_free_func (g_free);
  keys->groups = g_array_new (FALSE, FALSE, sizeof (guint));
  keys->runs = g_array_new (FALSE, FALSE, sizeof (Run));
}

void
ef_verify_keys_clear (EfVerifyKeys *keys)
{
  g_ptr_array_unref (keys->publics);
  g_array_unref (keys->groups);
  g_array_unref (keys->runs);
}

void
ef_verify_keys_sealed (EfVerifyKeys *keys,
                       gint64 number)
{
  Run *last = keys->runs->len > 0 ? &g_array_index (keys->runs, Run, keys->runs->len - 1) : NULL;
  Run run = { number, number, keys->publics->len - 1 };

  if (last != NULL && last->key == run.key && last->last + 1 == number)
    last->last = number;
  else
    g_array_append_val (keys->runs, run);
}

const char *
ef_verify_keys_current (const EfVerifyKeys *keys)
{
  return keys->publics->len > 0 ? keys->publics->pdata[keys->publics->len - 1] : NULL;
}

void
ef_verify_key_entry (const EfVerifyAt *at,
                     EfVerifyKeys *keys,
                     JsonObject *statement,
                     const char *text,
                     const char *signature,
                     const char *endorsement)
{
  const char *current = ef_verify_keys_current (keys);
  const char *key = ef_verify_string (statement, "key");
  const char *previous = current != NULL ? current : EF_SEAL_NOTHING;
  gboolean stated_break = json_object_get_boolean_member_with_default (statement, "break", FALSE);
  gboolean endorsed = FALSE;
  guint group = keys->groups->len > 0 ? g_array_index (keys->groups, guint, keys->groups->len - 1) : 0;

  ef_verify_same (at, "key entry: previous_key", ef_verify_string (statement, "previous_key"), previous);
  if (!ef_seal_signature_holds (key, text, signature))
    ef_verify_tell (at, EF_VERIFY_BROKEN, "key entry: signature", "it isn't the signature of this entry by its key: one of the two was changed");
  if (current != NULL && endorsement != NULL)
    {
      endorsed = ef_seal_signature_holds (current, text, endorsement);
      if (!endorsed)
        ef_verify_tell (at, EF_VERIFY_BROKEN, "key entry: endorsement", "it isn't the old key's signature of this entry");
    }
  if (current != NULL && stated_break != (endorsement == NULL))
    ef_verify_tell (at, EF_VERIFY_BROKEN, "key entry: break", stated_break ? "a break is stated, yet the old key has signed" : "the old key hasn't signed, and no break is stated");
  if (current != NULL && endorsement == NULL)
    {
      at->out->n_breaks++;
      ef_verify_tell (at, EF_VERIFY_NOTE, "key entry", "a break: from here on another key signs, which the old one hasn't signed (%s)", ef_verify_string (statement, "reason"));
    }

  group += current != NULL && !endorsed;
  g_ptr_array_add (keys->publics, g_strdup (key));
  g_array_append_val (keys->groups, group);
  g_ptr_array_add (at->out->keys, g_strdup (key));
}

void
ef_verify_keys_anchor (EfVerification *out,
                       const EfVerifyKeys *keys,
                       const EfVerifyOptions *options)
{
  EfVerifyAt at = { out, 0, NULL };
  g_autofree char *wanted = options != NULL && options->key != NULL ? g_ascii_strdown (options->key, -1) : NULL;
  guint trusted = G_MAXUINT;

  if (wanted == NULL)
    return;
  for (guint i = 0; i < keys->publics->len; i++)
    if (g_strcmp0 (keys->publics->pdata[i], wanted) == 0)
      trusted = g_array_index (keys->groups, guint, i);
  if (trusted == G_MAXUINT)
    {
      ef_verify_tell (&at, EF_VERIFY_BROKEN, "key", "the given key has signed nothing here: %s", wanted);
      return;
    }
  out->anchored = TRUE;
  for (guint i = 0; i < keys->runs->len; i++)
    {
      const Run *run = &g_array_index (keys->runs, Run, i);

      for (at.seal = run->first; g_array_index (keys->groups, guint, run->key) != trusted && at.seal <= run->last; at.seal++)
        ef_verify_tell (&at, EF_VERIFY_BROKEN, "seal: key", "signed by a key that the given one doesn't vouch for");
    }
}

gboolean
ef_verify_form (const EfVerifyAt *at,
                JsonObject *statement,
                const char *form_text,
                JsonNode *form,
                const char *locator)
{
  JsonObject *stated = json_object_has_member (statement, "parts") && JSON_NODE_HOLDS_OBJECT (json_object_get_member (statement, "parts"))
                         ? json_object_get_object_member (statement, "parts") : NULL;
  g_autoptr (JsonObject) parts = json_object_new ();
  g_autofree char *digest = ef_sha256 (form_text, -1);
  g_autofree char *locator_digest = ef_sha256 (locator, -1);
  g_autofree char *text = NULL;
  gboolean whole = g_strcmp0 (digest, ef_verify_string (statement, "form")) == 0;
  gboolean sound_locator = g_strcmp0 (locator_digest, ef_verify_string (statement, "locator")) == 0;
  gssize offset = sound_locator ? ef_seal_locate (form_text, locator) : -1;

  if (!sound_locator)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "seal: locator", "it isn't what was sealed");
  if (!whole && offset >= 0)
    {
      g_autofree char *path = ef_seal_path_at (form_text, (gsize) offset);
      g_autofree char *place = g_strdup_printf ("sealed form: %s", path);

      ef_verify_tell (at, EF_VERIFY_BROKEN, place, "it isn't what was sealed, here or in the next %" G_GSIZE_FORMAT " characters", ef_seal_piece ());
    }
  else if (!whole)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "seal: form", "the form isn't the one this digest was made of");
  text = JSON_NODE_HOLDS_OBJECT (form) ? ef_seal_form_text (form, parts, NULL) : NULL;
  if (text == NULL || stated == NULL)
    return FALSE;
  for (guint i = 0; whole && ef_seal_parts[i] != NULL; i++)
    {
      g_autofree char *place = g_strdup_printf ("seal: parts, %s", ef_seal_parts[i]);

      ef_verify_same (at, place, ef_verify_string (stated, ef_seal_parts[i]), ef_verify_string (parts, ef_seal_parts[i]));
    }
  if (json_object_get_size (stated) != json_object_get_size (parts))
    ef_verify_tell (at, EF_VERIFY_BROKEN, "seal: parts", "expected %u, found %u", json_object_get_size (parts), json_object_get_size (stated));

  return whole;
}

static void
tell_differences (const EfVerifyAt *at,
                  const char *title,
                  JsonNode *sealed,
                  JsonNode *present)
{
  g_autoptr (GPtrArray) differences = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_difference_free);

  ef_compare_nodes (sealed, present, "", differences);
  for (guint i = 0; i < differences->len; i++)
    {
      const EfDifference *one = differences->pdata[i];
      g_autofree char *place = *one->field != '\0' ? g_strdup_printf ("%s: %s", title, one->field) : g_strdup (title);

      ef_verify_tell (at, EF_VERIFY_BROKEN, place, "sealed %s, found %s", one->before != NULL ? one->before : "nothing",
                      one->after != NULL ? one->after : "nothing");
    }
}

static const char *
id_of (JsonNode *node)
{
  return JSON_NODE_HOLDS_OBJECT (node) ? ef_verify_string (json_node_get_object (node), "id") : "";
}

static char *
item_title (const char *list,
            JsonNode *node)
{
  g_autofree char *kind = g_strndup (list, strlen (list) - (g_str_has_suffix (list, "s") ? 1 : 0));
  gint64 number = JSON_NODE_HOLDS_OBJECT (node) && g_str_equal (kind, "mark") ? ef_verify_integer (json_node_get_object (node), "number") : 0;

  return number > 0 ? g_strdup_printf ("mark %" G_GINT64_FORMAT " (%s)", number, id_of (node)) : g_strdup_printf ("%s %s", kind, id_of (node));
}

static GHashTable *
by_id (JsonArray *array,
       GString *order)
{
  GHashTable *table = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; i < json_array_get_length (array); i++)
    {
      JsonNode *node = json_array_get_element (array, i);

      g_hash_table_insert (table, (gpointer) id_of (node), node);
      g_string_append_printf (order, "%s%s", order->len > 0 ? ", " : "", id_of (node));
    }

  return table;
}

static void
compare_lists (const EfVerifyAt *at,
               const char *list,
               JsonArray *sealed,
               JsonArray *present)
{
  g_autoptr (GString) order = g_string_new (NULL);
  g_autoptr (GString) order_now = g_string_new (NULL);
  g_autoptr (GHashTable) before = by_id (sealed, order);
  g_autoptr (GHashTable) now = by_id (present, order_now);
  gboolean same_set = g_hash_table_size (before) == g_hash_table_size (now)
                      && json_array_get_length (sealed) == json_array_get_length (present);

  for (guint i = 0; i < json_array_get_length (sealed); i++)
    {
      JsonNode *node = json_array_get_element (sealed, i);
      JsonNode *found = g_hash_table_lookup (now, id_of (node));
      g_autofree char *title = item_title (list, node);

      if (found != NULL)
        tell_differences (at, title, node, found);
      else
        ef_verify_tell (at, EF_VERIFY_BROKEN, title, "it was removed after sealing");
      same_set = same_set && found != NULL;
    }
  for (guint i = 0; i < json_array_get_length (present); i++)
    {
      JsonNode *node = json_array_get_element (present, i);
      g_autofree char *title = item_title (list, node);

      if (!g_hash_table_contains (before, id_of (node)))
        ef_verify_tell (at, EF_VERIFY_BROKEN, title, "it was added after sealing");
    }
  if (same_set && !g_str_equal (order->str, order_now->str))
    ef_verify_tell (at, EF_VERIFY_BROKEN, list, "their order was sealed as %.300s, found as %.300s", order->str, order_now->str);
}

static void
compare_members (const EfVerifyAt *at,
                 const char *member,
                 JsonNode *sealed,
                 JsonNode *present)
{
  g_autoptr (JsonArray) empty = json_array_new ();
  gboolean lists = (sealed == NULL || JSON_NODE_HOLDS_ARRAY (sealed)) && (present == NULL || JSON_NODE_HOLDS_ARRAY (present));
  g_autofree char *title = g_strdelimit (g_strdup (member), "_", ' ');

  if (lists)
    compare_lists (at, member, sealed != NULL ? json_node_get_array (sealed) : empty, present != NULL ? json_node_get_array (present) : empty);
  else
    tell_differences (at, title, sealed, present);
}

void
ef_verify_inspection (const EfVerifyAt *at,
                      const char *digest,
                      JsonNode *sealed,
                      JsonNode *present)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *text = ef_json_canonical (present, &error);
  g_autofree char *found = text != NULL ? ef_sha256 (text, -1) : NULL;
  guint before = at->out->findings->len;
  JsonObject *a, *b;
  JsonObjectIter iter;
  const char *name;
  JsonNode *node;

  if (text == NULL)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "job", "it has no canonical form: %s", error->message);
  if (g_strcmp0 (found, digest) == 0)
    return;
  if (sealed != NULL && JSON_NODE_HOLDS_OBJECT (sealed))
    {
      a = json_node_get_object (sealed);
      b = json_node_get_object (present);
      json_object_iter_init_ordered (&iter, a);
      while (json_object_iter_next_ordered (&iter, &name, &node))
        compare_members (at, name, node, json_object_get_member (b, name));
      json_object_iter_init_ordered (&iter, b);
      while (json_object_iter_next_ordered (&iter, &name, &node))
        if (!json_object_has_member (a, name))
          compare_members (at, name, NULL, node);
    }
  if (at->out->findings->len == before)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "job", "it isn't what was sealed");
}

/* The statement says again what stands elsewhere in the block: where its signature doesn't hold, that names the field. */
static void
check_statement (const EfVerifyAt *at,
                 JsonObject *statement,
                 JsonNode *form)
{
  JsonObject *object = JSON_NODE_HOLDS_OBJECT (form) ? json_node_get_object (form) : NULL;
  JsonNode *history = object != NULL ? json_object_get_member (object, "history") : NULL;
  JsonArray *rows = history != NULL && JSON_NODE_HOLDS_ARRAY (history) ? json_node_get_array (history) : NULL;
  guint n = rows != NULL ? json_array_get_length (rows) : 0;
  JsonNode *last = n > 0 ? json_array_get_element (rows, n - 1) : NULL;
  static const char *const pairs[][2] = { { "time", "time" }, { "role", "role" }, { "note", "reason" }, { "program", "program" } };

  if (last == NULL || !JSON_NODE_HOLDS_OBJECT (last))
    return;
  for (guint i = 0; i < G_N_ELEMENTS (pairs); i++)
    {
      g_autofree char *place = g_strdup_printf ("seal: %s", pairs[i][0]);

      ef_verify_same (at, place, ef_verify_string (json_node_get_object (last), pairs[i][1]), ef_verify_string (statement, pairs[i][0]));
    }
  if (ef_verify_integer (statement, "history") != ef_verify_integer (json_node_get_object (last), "row"))
    ef_verify_tell (at, EF_VERIFY_BROKEN, "seal: history", "it doesn't name the last row of the sealed history");
}

static const char *
text_member (JsonObject *object,
             const char *member)
{
  return json_object_has_member (object, member) ? ef_verify_string (object, member) : NULL;
}

static void
check_keys (const EfVerifyAt *at,
            JsonNode *entries,
            EfVerifyKeys *keys)
{
  if (entries == NULL || !JSON_NODE_HOLDS_ARRAY (entries))
    {
      ef_verify_tell (at, EF_VERIFY_BROKEN, "seal: keys", "expected a list");
      return;
    }
  for (guint i = 0; i < json_array_get_length (json_node_get_array (entries)); i++)
    {
      JsonNode *node = json_array_get_element (json_node_get_array (entries), i);
      JsonObject *entry = JSON_NODE_HOLDS_OBJECT (node) ? json_node_get_object (node) : NULL;
      JsonNode *statement = entry != NULL ? json_object_get_member (entry, "statement") : NULL;
      g_autofree char *text = statement != NULL && JSON_NODE_HOLDS_OBJECT (statement) ? ef_json_canonical (statement, NULL) : NULL;
      g_autofree char *place = g_strdup_printf ("seal: keys %u", i + 1);

      if (text == NULL)
        {
          ef_verify_tell (at, EF_VERIFY_BROKEN, place, "expected an entry about a key");
          continue;
        }
      ef_verify_members (at, json_node_get_object (statement), place);
      ef_verify_key_entry (at, keys, json_node_get_object (statement), text, text_member (entry, "signature"), text_member (entry, "endorsement"));
    }
}

static void
check_block_members (const EfVerifyAt *at,
                     JsonObject *block,
                     gboolean whole)
{
  static const char *const all[] = { "statement", "digest", "signature", "keys", "locator", "form", NULL };
  static const char *const some[] = { "statement", "digest", "signature", "keys", NULL };
  const char *const *members = whole ? all : some;
  g_autoptr (GList) names = json_object_get_members (block);

  for (GList *name = names; name != NULL; name = name->next)
    if (!g_strv_contains (members, name->data))
      {
        g_autofree char *place = g_strdup_printf ("seal: %s", (const char *) name->data);

        ef_verify_tell (at, EF_VERIFY_BROKEN, place, "a member that doesn't belong there");
      }
}

JsonObject *
ef_verify_statement (const EfVerifyAt *at,
                     JsonNode *block,
                     gboolean whole,
                     EfVerifyKeys *keys)
{
  JsonObject *object = block != NULL && JSON_NODE_HOLDS_OBJECT (block) ? json_node_get_object (block) : NULL;
  JsonNode *node = object != NULL ? json_object_get_member (object, "statement") : NULL;
  g_autofree char *text = node != NULL && JSON_NODE_HOLDS_OBJECT (node) ? ef_json_canonical (node, NULL) : NULL;
  g_autofree char *digest = text != NULL ? ef_sha256 (text, -1) : NULL;
  JsonObject *statement;

  if (text == NULL)
    {
      ef_verify_tell (at, EF_VERIFY_BROKEN, "seal", "expected its statement, found none that can be read");
      return NULL;
    }
  statement = json_node_get_object (node);
  at->out->n_seals++;
  check_block_members (at, object, whole);
  ef_verify_members (at, statement, "seal");
  check_keys (at, json_object_get_member (object, "keys"), keys);
  if (ef_verify_keys_current (keys) == NULL || !g_str_equal (ef_verify_keys_current (keys), ef_verify_string (statement, "key")))
    ef_verify_tell (at, EF_VERIFY_BROKEN, "seal: key", "the last of the keys isn't the one that this seal names");
  else
    ef_verify_keys_sealed (keys, ef_verify_integer (statement, "number"));
  ef_verify_same (at, "seal: digest", digest, ef_verify_string (object, "digest"));
  if (!ef_seal_signature_holds (ef_verify_string (statement, "key"), text, text_member (object, "signature")))
    ef_verify_tell (at, EF_VERIFY_BROKEN, g_str_equal (digest, ef_verify_string (object, "digest")) ? "seal: signature" : "seal: statement",
                    "the signature isn't that of this statement by its key: one of them was changed");
  if (at->out->last == 0)
    {
      at->out->last = ef_verify_integer (statement, "number");
      g_free (at->out->digest);
      at->out->digest = g_steal_pointer (&digest);
    }

  return statement;
}

void
ef_verify_block (const EfVerifyAt *at,
                 JsonNode *block,
                 JsonNode *present,
                 EfVerifyKeys *keys)
{
  JsonObject *object = JSON_NODE_HOLDS_OBJECT (block) ? json_node_get_object (block) : NULL;
  JsonNode *form = object != NULL ? json_object_get_member (object, "form") : NULL;
  g_autofree char *form_text = form != NULL ? ef_json_canonical (form, NULL) : NULL;
  JsonObject *statement;
  JsonNode *parts, *inspection;

  if (form_text == NULL)
    {
      ef_verify_tell (at, EF_VERIFY_BROKEN, "seal", "expected its statement and form, found none that can be read");
      return;
    }
  statement = ef_verify_statement (at, block, TRUE, keys);
  if (statement == NULL)
    return;
  check_statement (at, statement, form);
  ef_verify_form (at, statement, form_text, form, ef_verify_string (object, "locator"));

  parts = json_object_get_member (statement, "parts");
  inspection = JSON_NODE_HOLDS_OBJECT (form) ? json_object_get_member (json_node_get_object (form), "inspection") : NULL;
  ef_verify_inspection (at, parts != NULL && JSON_NODE_HOLDS_OBJECT (parts) ? ef_verify_string (json_node_get_object (parts), "inspection") : NULL,
                        inspection, present);
}
