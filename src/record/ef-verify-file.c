/* A sealed exchange file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-verify-private.h"
#include "ef-disclosure.h"
#include "ef-exchange.h"

#include <string.h>

/* The first line that isn't as this program lays it out. */
static guint
line_of_difference (const char *a,
                    const char *b)
{
  guint line = 1;

  for (; *a != '\0' && *a == *b; a++, b++)
    line += *a == '\n';

  return line;
}

static void
check_layout (const EfVerifyAt *at,
              const char *text,
              JsonNode *root)
{
  g_autofree char *own = ef_json_to_text (root);

  if (!g_str_equal (own, text))
    {
      g_autofree char *place = g_strdup_printf ("layout, line %u", line_of_difference (own, text));

      ef_verify_tell (at, EF_VERIFY_NOTE, place, "the text was laid out otherwise than this program does; what it says is judged without that");
    }
}

static gboolean
is_member (const char *name)
{
  static const char *const members[] = { "format", "version", "pump_sheet", "job", "seal", NULL };
  const char *list;

  for (guint i = 0; (list = ef_exchange_list (i, NULL)) != NULL; i++)
    if (g_str_equal (list, name))
      return TRUE;

  return g_strv_contains (members, name);
}

static void
check_head (const EfVerifyAt *at,
            JsonObject *object)
{
  g_autoptr (GList) names = json_object_get_members (object);

  for (GList *name = names; name != NULL; name = name->next)
    if (!is_member (name->data))
      ef_verify_tell (at, EF_VERIFY_BROKEN, name->data, "a member that doesn't belong in an exchange file");
  if (!g_str_equal (ef_verify_string (object, "format"), EF_EXCHANGE_FORMAT))
    ef_verify_tell (at, EF_VERIFY_BROKEN, "format", "expected \"%s\", found \"%.100s\"", EF_EXCHANGE_FORMAT, ef_verify_string (object, "format"));
  if (ef_verify_integer (object, "version") < 1 || ef_verify_integer (object, "version") > EF_EXCHANGE_VERSION)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "version", "expected %d, found %" G_GINT64_FORMAT, EF_EXCHANGE_VERSION, ef_verify_integer (object, "version"));
}

static void
check_expected (const EfVerifyAt *at,
                const EfVerifyOptions *options)
{
  if (options == NULL || options->digest == NULL)
    return;
  if (options->number > 0 && options->number != at->out->last)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "seal: number", "expected %" G_GINT64_FORMAT ", found %" G_GINT64_FORMAT, options->number, at->out->last);
  if (g_ascii_strcasecmp (options->digest, at->out->digest) != 0)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "seal: digest", "expected %s, found %s", options->digest, at->out->digest);
}

static void
check_disclosure (EfVerifyAt *at,
                  JsonObject *object,
                  const EfVerifyOptions *options)
{
  EfVerifyKeys keys;

  ef_verify_keys_init (&keys);
  ef_verify_disclosure (at, object, &keys);
  ef_verify_keys_anchor (at->out, &keys, options);
  ef_verify_keys_clear (&keys);
  check_expected (at, options);
  at->out->n_entries = at->out->n_jobs = at->out->n_seals;
}

gboolean
ef_verify_text_into (EfVerification *out,
                     const char *text,
                     gsize length,
                     const char *name,
                     const EfVerifyOptions *options,
                     GError **error)
{
  EfVerifyAt at = { out, 0, NULL };
  g_autoptr (GError) local = NULL;
  g_autoptr (EfJsonContext) context = ef_json_parse (text, (gssize) length, name, &local);
  g_autoptr (JsonNode) present = NULL;
  g_auto (EfJson) root = { 0 };
  EfVerifyKeys keys;
  JsonObject *object, *job;
  JsonNode *header;

  if (context == NULL)
    {
      const char *line = strstr (local->message, "line ");
      g_autofree char *place = line != NULL ? g_strndup (line, strcspn (line, ":")) : g_strdup ("file");

      ef_verify_tell (&at, EF_VERIFY_BROKEN, place, "the file can't be read: %s", local->message);
      out->n_seals = 1; /* whether there was one can't be said */
      return TRUE;
    }
  root = ef_json_root (context);
  if (!JSON_NODE_HOLDS_OBJECT (root.node))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected an exchange file, found another document", name);
      return FALSE;
    }

  object = json_node_get_object (root.node);
  if (g_str_equal (ef_verify_string (object, "format"), EF_DISCLOSURE_FORMAT))
    {
      check_disclosure (&at, object, options);
      return TRUE;
    }
  header = json_object_get_member (object, "job");
  job = header != NULL && JSON_NODE_HOLDS_OBJECT (header) ? json_node_get_object (header) : NULL;
  at.job = job != NULL && *ef_verify_string (job, "number") != '\0' ? ef_verify_string (job, "number") : NULL;
  check_head (&at, object);
  if (json_object_has_member (object, "seal"))
    {
      ef_verify_keys_init (&keys);
      present = ef_seal_file_inspection_node (root.node);
      ef_verify_block (&at, json_object_get_member (object, "seal"), present, &keys);
      ef_verify_keys_anchor (out, &keys, options);
      ef_verify_keys_clear (&keys);
      check_expected (&at, options);
      if (memchr (text, 0, length) == NULL)
        {
          g_autofree char *whole = g_strndup (text, length);

          check_layout (&at, whole, root.node);
        }
    }
  out->n_entries = out->n_jobs = out->n_seals;

  return TRUE;
}

EfVerification *
ef_verify_text (const char *text,
                gsize length,
                const char *name,
                const EfVerifyOptions *options,
                GError **error)
{
  g_autoptr (EfVerification) out = ef_verification_new (name, FALSE);

  if (!ef_verify_text_into (out, text, length, name, options, error))
    return NULL;
  ef_verification_finish (out, options);

  return g_steal_pointer (&out);
}

GBytes *
ef_verify_load (const char *path,
                guint64 most,
                GCancellable *cancellable,
                GError **error)
{
  g_autoptr (GFile) file = g_file_new_for_path (path);
  g_autoptr (GFileInfo) info = NULL;
  g_autoptr (GError) local = NULL;
  g_autofree char *name = g_filename_display_name (path);
  char *data;
  gsize length;

  info = g_file_query_info (file, G_FILE_ATTRIBUTE_STANDARD_SIZE, G_FILE_QUERY_INFO_NONE, cancellable, &local);
  if (info != NULL && (guint64) g_file_info_get_size (info) > most)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected at most %" G_GUINT64_FORMAT " MiB, found more", name, most >> 20);
      return NULL;
    }
  if (info != NULL && g_file_load_contents (file, cancellable, &data, &length, NULL, &local))
    return g_bytes_new_take (data, length);
  g_set_error (error, EF_ERROR, g_error_matches (local, G_IO_ERROR, G_IO_ERROR_CANCELLED) ? EF_ERROR_CANCELLED : EF_ERROR_IO,
               "%s: can't be read: %s", name, local->message);

  return NULL;
}

EfVerification *
ef_verify_file (const char *path,
                const EfVerifyOptions *options,
                GCancellable *cancellable,
                GError **error)
{
  g_autoptr (GFile) file = NULL;
  g_autoptr (GError) local = NULL;
  g_autofree char *name = NULL;
  g_autofree char *text = NULL;
  gsize length;

  g_return_val_if_fail (path != NULL, NULL);
  file = g_file_new_for_path (path);
  name = g_filename_display_name (path);
  if (!g_file_load_contents (file, cancellable, &text, &length, NULL, &local))
    {
      g_set_error (error, EF_ERROR, g_error_matches (local, G_IO_ERROR, G_IO_ERROR_CANCELLED) ? EF_ERROR_CANCELLED : EF_ERROR_IO,
                   "%s: can't be read: %s", name, local->message);
      return NULL;
    }

  return ef_verify_text (text, length, name, options, error);
}
