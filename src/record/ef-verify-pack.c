/* A claim pack: its list of digests, the sealed file in it, the report's attachment, the photos and the gauges' certificates against that.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-verify-private.h"
#include "ef-claim-names.h"
#include "ef-pdf-attachment.h"
#include "ef-zip.h"
#include "../base/ef-json-canonical.h"

#include <string.h>

typedef struct
{
  EfVerifyAt at;
  GHashTable *digests; /* member -> SHA-256 */
  GBytes *sums, *sealed, *report, *key;
  char *sealed_name;   /* of the exchange file or the disclosure; NULL none */
  gboolean disclosure;
  guint64 done, size;  /* bytes */
  EfVerifyProgress progress;
  gpointer user_data;
} Pack;

static void
pack_clear (Pack *pack)
{
  g_clear_pointer (&pack->digests, g_hash_table_unref);
  g_clear_pointer (&pack->sums, g_bytes_unref);
  g_clear_pointer (&pack->sealed, g_bytes_unref);
  g_clear_pointer (&pack->report, g_bytes_unref);
  g_clear_pointer (&pack->key, g_bytes_unref);
  g_clear_pointer (&pack->sealed_name, g_free);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Pack, pack_clear)

static gboolean
visit (const char *name,
       GBytes *bytes,
       gpointer user_data,
       GError **error)
{
  Pack *pack = user_data;
  gsize length;
  const char *data = g_bytes_get_data (bytes, &length);
  gboolean disclosure = g_str_equal (name, EF_CLAIM_DISCLOSURE);

  g_hash_table_insert (pack->digests, g_strdup (name), ef_sha256 (data != NULL ? data : "", (gssize) length));
  if (g_str_equal (name, EF_CLAIM_SUMS))
    pack->sums = g_bytes_ref (bytes);
  else if (g_str_equal (name, EF_CLAIM_REPORT))
    pack->report = g_bytes_ref (bytes);
  else if (g_str_equal (name, EF_CLAIM_KEY))
    pack->key = g_bytes_ref (bytes);
  else if (disclosure || (g_str_has_suffix (name, EF_CLAIM_EXCHANGE) && strchr (name, '/') == NULL))
    {
      if (pack->sealed != NULL)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected one sealed file in the pack, found %s and %s", pack->at.out->file, pack->sealed_name, name);
          return FALSE;
        }
      pack->sealed = g_bytes_ref (bytes);
      pack->sealed_name = g_strdup (name);
      pack->disclosure = disclosure;
    }
  pack->done += length;
  if (pack->progress != NULL)
    pack->progress (MIN (1.0, (double) pack->done / (double) MAX (pack->size, pack->done)), pack->user_data);

  return TRUE;
}

/* "64 digits, two spaces, name", as sha256sum writes it. */
static gboolean
take_line (Pack *pack,
           const char *line,
           guint number,
           GHashTable *listed)
{
  g_autofree char *digest = strlen (line) > 66 ? g_strndup (line, 64) : NULL;
  const char *name = digest != NULL ? line + 66 : NULL;
  const char *found;

  if (digest == NULL || !ef_seal_public_key_valid (digest) || line[64] != ' ' || line[65] != ' ' || !ef_zip_name_is_plain (name)
      || g_str_equal (name, EF_CLAIM_SUMS) || !g_hash_table_add (listed, g_strdup (name)))
    {
      g_autofree char *place = g_strdup_printf ("%s: line %u", EF_CLAIM_SUMS, number);

      ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, place, "expected a digest, two spaces and the name of a file once, found something else");
      return FALSE;
    }
  found = g_hash_table_lookup (pack->digests, name);
  if (found == NULL)
    ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, name, "it is listed in %s and missing", EF_CLAIM_SUMS);
  else if (!g_str_equal (found, digest))
    ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, name, "it was changed since it was packed: its SHA-256 isn't the one in %s", EF_CLAIM_SUMS);

  return TRUE;
}

static void
check_sums (Pack *pack)
{
  g_autoptr (GHashTable) listed = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GList) names = g_list_sort (g_hash_table_get_keys (pack->digests), (GCompareFunc) strcmp);
  const char *data = NULL;
  gsize length = 0;

  if (pack->sums == NULL)
    {
      ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, EF_CLAIM_SUMS, "expected the list of digests, found none");
      return;
    }
  data = g_bytes_get_data (pack->sums, &length);
  if (data == NULL || !g_utf8_validate_len (data, length, NULL) || memchr (data, 0, length) != NULL)
    ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, EF_CLAIM_SUMS, "expected text, found other bytes");
  else
    {
      g_autofree char *text = g_strndup (data, length);
      g_auto (GStrv) lines = g_strsplit (text, "\n", EF_ZIP_MEMBERS_MOST + 2);

      for (guint i = 0; lines[i] != NULL && (*lines[i] != '\0' || lines[i + 1] != NULL); i++)
        if (!take_line (pack, lines[i], i + 1, listed))
          break;
    }
  for (GList *name = names; name != NULL; name = name->next)
    if (!g_str_equal (name->data, EF_CLAIM_SUMS) && !g_hash_table_contains (listed, name->data))
      ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, name->data, "it isn't listed in %s: it was added to the pack, or its line removed", EF_CLAIM_SUMS);
}

/* What is told of the report's own attachment, with the report's name before it. */
static void
check_report (Pack *pack,
              const EfVerifyOptions *options)
{
  g_autoptr (EfVerification) inner = NULL;
  g_autoptr (GBytes) attached = NULL;
  g_autoptr (GError) error = NULL;

  if (pack->report == NULL)
    {
      ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, EF_CLAIM_REPORT, "expected the report in the pack, found none");
      return;
    }
  if (pack->disclosure)
    {
      ef_verify_tell (&pack->at, EF_VERIFY_NOTE, EF_CLAIM_REPORT, "its pages are signed by nobody, and the sealed file isn't attached to it, by choice");
      return;
    }
  inner = ef_verification_new (EF_CLAIM_REPORT, FALSE);
  if (!ef_verify_pdf_into (inner, pack->report, EF_CLAIM_REPORT, options, &attached, &error))
    {
      ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, EF_CLAIM_REPORT, "%s", error->message);
      return;
    }
  for (guint i = 0; i < inner->findings->len; i++)
    {
      const EfVerifyFinding *finding = inner->findings->pdata[i];
      g_autofree char *place = g_strdup_printf ("%s: %s", EF_CLAIM_REPORT, finding->place);

      if (finding->level == EF_VERIFY_BROKEN || g_str_equal (finding->place, "pages"))
        ef_verify_tell (&pack->at, finding->level, place, "%s", finding->sentence);
    }
  if (pack->sealed != NULL && !g_bytes_equal (attached, pack->sealed))
    ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, EF_CLAIM_REPORT, "the file attached to it isn't the %s of the pack", pack->sealed_name);
}

/* The digests of a part of what was sealed; NULL where that part was left out, isn't there or can't be read. */
static JsonArray *
sealed_list (JsonNode *root,
             gboolean disclosure,
             const char *part)
{
  JsonNode *node = root;
  const char *const whole[] = { "seal", "form", part }, *const some[] = { "parts", part };
  const char *const *path = disclosure ? some : whole;
  guint n = disclosure ? G_N_ELEMENTS (some) : G_N_ELEMENTS (whole);

  for (guint i = 0; i < n && node != NULL; i++)
    node = JSON_NODE_HOLDS_OBJECT (node) ? json_object_get_member (json_node_get_object (node), path[i]) : NULL;

  return node != NULL && JSON_NODE_HOLDS_ARRAY (node) ? json_node_get_array (node) : NULL;
}

static const char *
text_at (JsonArray *array,
         guint i)
{
  JsonNode *node = json_array_get_element (array, i);

  return JSON_NODE_HOLDS_VALUE (node) && json_node_get_value_type (node) == G_TYPE_STRING ? json_node_get_string (node) : NULL;
}

/* What lies in one folder of the pack against the digests that were sealed of it, both ways. */
static void
check_folder (Pack *pack,
              JsonArray *sealed,
              const char *folder,
              const char *part,
              const char *one)
{
  g_autoptr (GHashTable) wanted = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) there = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GList) names = g_list_sort (g_hash_table_get_keys (pack->digests), (GCompareFunc) strcmp);

  for (guint i = 0; sealed != NULL && i < json_array_get_length (sealed); i++)
    if (text_at (sealed, i) != NULL)
      g_hash_table_add (wanted, g_strdup (text_at (sealed, i)));
  for (GList *name = names; name != NULL; name = name->next)
    {
      const char *digest = g_hash_table_lookup (pack->digests, name->data);

      if (!g_str_has_prefix (name->data, folder))
        continue;
      g_hash_table_add (there, (gpointer) digest);
      if (sealed == NULL)
        ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, name->data, "nothing says which %s were sealed, so it isn't covered", part);
      else if (!g_hash_table_contains (wanted, digest))
        ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, name->data, "no %s with these bytes was sealed: changed, or added", one);
    }
  for (guint i = 0; sealed != NULL && i < json_array_get_length (sealed); i++)
    {
      const char *digest = text_at (sealed, i);

      if (digest != NULL && !g_str_has_prefix (digest, EF_SEAL_KEPT) && !g_hash_table_contains (there, digest))
        ef_verify_tell (&pack->at, EF_VERIFY_NOTE, part, "one that was sealed isn't in the pack: its SHA-256 is %.64s", digest);
    }
}

static void
check_files (Pack *pack)
{
  gsize length = 0;
  const char *text = pack->sealed != NULL ? g_bytes_get_data (pack->sealed, &length) : NULL;
  g_autoptr (JsonParser) parser = json_parser_new_immutable ();
  JsonNode *root = text != NULL && json_parser_load_from_data (parser, text, (gssize) length, NULL) ? json_parser_get_root (parser) : NULL;

  check_folder (pack, root != NULL ? sealed_list (root, pack->disclosure, "photos") : NULL, EF_CLAIM_PHOTOS, "photos", "photo");
  check_folder (pack, root != NULL ? sealed_list (root, pack->disclosure, EF_SEAL_CERTIFICATES) : NULL, EF_CLAIM_CERTIFICATES, EF_SEAL_CERTIFICATES,
                "certificate");
}

static void
check_key (Pack *pack)
{
  const GPtrArray *keys = pack->at.out->keys;
  const char *last = keys->len > 0 ? keys->pdata[keys->len - 1] : "";
  gsize length = 0;
  const char *data = pack->key != NULL ? g_bytes_get_data (pack->key, &length) : NULL;

  if (length != strlen (last) + 1 || memcmp (data, last, length - 1) != 0 || data[length - 1] != '\n')
    ef_verify_tell (&pack->at, EF_VERIFY_BROKEN, EF_CLAIM_KEY, "expected the key of the seal and nothing else, found other text");
}

EfVerification *
ef_verify_pack (const char *path,
                const EfVerifyOptions *options,
                EfVerifyProgress progress,
                gpointer user_data,
                GCancellable *cancellable,
                GError **error)
{
  g_autofree char *name = g_filename_display_name (path);
  g_autoptr (EfVerification) out = ef_verification_new (name, FALSE);
  g_auto (Pack) pack = { .at = { out, 0, NULL }, .progress = progress, .user_data = user_data };

  pack.digests = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  if (!ef_zip_read (path, visit, &pack, cancellable, error))
    return NULL;
  check_sums (&pack);
  if (pack.sealed == NULL)
    {
      ef_verify_tell (&pack.at, EF_VERIFY_BROKEN, "seal", "expected a sealed exchange file in the pack, found none");
      out->n_seals = 1; /* whether there was one can't be said */
    }
  else
    {
      gsize length;
      const char *data = g_bytes_get_data (pack.sealed, &length);
      g_autofree char *inner = g_strdup_printf ("%s: %s", name, pack.sealed_name);

      if (!ef_verify_text_into (out, data != NULL ? data : "", length, inner, options, error))
        return NULL;
    }
  check_report (&pack, options);
  check_files (&pack);
  check_key (&pack);
  ef_verify_tell (&pack.at, EF_VERIFY_NOTE, "pack",
                  "what is sealed is %s, and the photos and certificates that it names. The other files, and the list of digests, are signed by nobody: they show damage, not who packed them",
                  pack.sealed_name != NULL ? pack.sealed_name : "missing");
  ef_verification_finish (out, options);

  return g_steal_pointer (&out);
}
