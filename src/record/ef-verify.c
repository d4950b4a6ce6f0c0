/* The answer of a verification: gathered, told, written.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-verify-private.h"

#include <string.h>

#define SQLITE_HEADER "SQLite format 3"
#define PDF_HEADER "%PDF-"
#define ZIP_HEADER "PK\3\4"

static void
finding_free (gpointer data)
{
  EfVerifyFinding *finding = data;

  g_free (finding->job);
  g_free (finding->place);
  g_free (finding->sentence);
  g_free (finding);
}

void
ef_verification_free (EfVerification *verification)
{
  if (verification == NULL)
    return;
  g_free (verification->file);
  g_free (verification->digest);
  g_ptr_array_unref (verification->keys);
  g_ptr_array_unref (verification->findings);
  g_free (verification);
}

EfVerification *
ef_verification_new (const char *file,
                     gboolean store)
{
  EfVerification *self = g_new0 (EfVerification, 1);

  self->file = g_strdup (file);
  self->store = store;
  self->digest = g_strdup ("");
  self->keys = g_ptr_array_new_with_free_func (g_free);
  self->findings = g_ptr_array_new_with_free_func (finding_free);

  return self;
}

void
ef_verify_tell (const EfVerifyAt *at,
                EfVerifyLevel level,
                const char *place,
                const char *format,
                ...)
{
  EfVerifyFinding *finding = g_new0 (EfVerifyFinding, 1);
  g_autofree char *sentence = NULL;
  va_list args;

  va_start (args, format);
  sentence = g_strdup_vprintf (format, args);
  va_end (args);
  finding->level = level;
  finding->seal = at->seal;
  finding->job = g_strdup (at->job);
  finding->place = g_utf8_make_valid (place, -1);
  finding->sentence = g_utf8_make_valid (sentence, -1);
  g_ptr_array_add (at->out->findings, finding);
}

void
ef_verification_finish (EfVerification *self,
                        const EfVerifyOptions *options)
{
  const EfVerifyAt at = { self, 0, NULL };
  g_autoptr (GPtrArray) sorted = NULL;

  if (self->n_seals == 0)
    ef_verify_tell (&at, EF_VERIFY_BROKEN, "seal", self->store ? "nothing in this store is sealed" : "this file isn't sealed");
  if (self->n_seals > 0 && (options == NULL || options->key == NULL))
    ef_verify_tell (&at, EF_VERIFY_NOTE, "key",
                    "no public key was given: nobody without the key has changed anything, but who holds that key isn't shown");

  sorted = g_ptr_array_new_with_free_func (finding_free);
  for (int level = EF_VERIFY_BROKEN; level <= EF_VERIFY_NOTE; level++)
    for (guint i = 0; i < self->findings->len; i++)
      if ((int) ((EfVerifyFinding *) self->findings->pdata[i])->level == level)
        g_ptr_array_add (sorted, self->findings->pdata[i]);
  g_ptr_array_set_free_func (self->findings, NULL);
  g_ptr_array_unref (self->findings);
  self->findings = g_steal_pointer (&sorted);
  self->holds = self->findings->len == 0 || ((EfVerifyFinding *) self->findings->pdata[0])->level != EF_VERIFY_BROKEN;
}

static gboolean
begins_with (const char *path,
             const char *words)
{
  char header[16] = { 0 };
  g_autoptr (GFile) file = g_file_new_for_path (path);
  g_autoptr (GFileInputStream) stream = g_file_read (file, NULL, NULL);

  return stream != NULL && g_input_stream_read_all (G_INPUT_STREAM (stream), header, strlen (words), NULL, NULL, NULL)
         && memcmp (header, words, strlen (words)) == 0;
}

EfVerification *
ef_verify (const char *path,
           const EfVerifyOptions *options,
           EfVerifyProgress progress,
           gpointer user_data,
           GCancellable *cancellable,
           GError **error)
{
  g_return_val_if_fail (path != NULL, NULL);
  if (begins_with (path, SQLITE_HEADER))
    return ef_verify_store (path, options, progress, user_data, cancellable, error);
  if (begins_with (path, PDF_HEADER))
    return ef_verify_pdf (path, options, cancellable, error);
  if (begins_with (path, ZIP_HEADER))
    return ef_verify_pack (path, options, progress, user_data, cancellable, error);

  return ef_verify_file (path, options, cancellable, error);
}

char *
ef_verification_first_broken (const EfVerification *verification)
{
  const EfVerifyFinding *first = verification->findings->len > 0 ? verification->findings->pdata[0] : NULL;

  return first != NULL && first->level == EF_VERIFY_BROKEN ? g_strdup_printf ("%s: %s", first->place, first->sentence) : NULL;
}

static void
append_findings (GString *out,
                 const EfVerification *self,
                 EfVerifyLevel level,
                 const char *title)
{
  gboolean any = FALSE;

  for (guint i = 0; i < self->findings->len; i++)
    {
      const EfVerifyFinding *finding = self->findings->pdata[i];

      if (finding->level != level)
        continue;
      if (!any)
        g_string_append_printf (out, "\n%s\n", title);
      any = TRUE;
      g_string_append (out, "  ");
      if (finding->job != NULL)
        g_string_append_printf (out, "job %s, ", finding->job);
      if (finding->seal > 0)
        g_string_append_printf (out, "seal %" G_GINT64_FORMAT ", ", finding->seal);
      g_string_append_printf (out, "%s: %s\n", finding->place, finding->sentence);
    }
}

char *
ef_verification_to_text (const EfVerification *self)
{
  g_autoptr (GString) out = g_string_new (NULL);

  g_string_append_printf (out, "%s: %s\n", self->file, self->holds ? "HOLDS" : "DOES NOT HOLD");
  if (self->store)
    g_string_append_printf (out,
                            "  %" G_GINT64_FORMAT " entries in the chain, %" G_GINT64_FORMAT " of them seals of jobs\n"
                            "  %" G_GINT64_FORMAT " jobs stand sealed, %" G_GINT64_FORMAT " have a revision open, %" G_GINT64_FORMAT
                            " were never sealed and aren't covered\n",
                            self->n_entries, self->n_seals, self->n_jobs, self->n_open, self->n_never);
  if (self->last > 0)
    g_string_append_printf (out, "  %s %" G_GINT64_FORMAT ", digest %s\n", self->store ? "last entry" : "seal", self->last, self->digest);
  for (guint i = 0; i < self->keys->len; i++)
    g_string_append_printf (out, "  key %u: %s\n", i + 1, (const char *) self->keys->pdata[i]);
  append_findings (out, self, EF_VERIFY_BROKEN, "What doesn't hold:");
  append_findings (out, self, EF_VERIFY_NOTE, "To know:");

  return g_string_free (g_steal_pointer (&out), FALSE);
}

static JsonArray *
findings_to_json (const EfVerification *self)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < self->findings->len; i++)
    {
      const EfVerifyFinding *finding = self->findings->pdata[i];
      JsonObject *object = json_object_new ();

      json_object_set_string_member (object, "level", finding->level == EF_VERIFY_BROKEN ? "broken" : "note");
      if (finding->seal > 0)
        json_object_set_int_member (object, "seal", finding->seal);
      if (finding->job != NULL)
        json_object_set_string_member (object, "job", finding->job);
      json_object_set_string_member (object, "place", finding->place);
      json_object_set_string_member (object, "sentence", finding->sentence);
      json_array_add_object_element (array, object);
    }

  return array;
}

JsonNode *
ef_verification_to_json (const EfVerification *self)
{
  JsonObject *object = json_object_new ();
  JsonArray *keys = json_array_new ();

  json_object_set_string_member (object, "format", "endfloat-verification");
  json_object_set_int_member (object, "version", 1);
  json_object_set_string_member (object, "file", self->file);
  json_object_set_string_member (object, "of", self->store ? "store" : "file");
  json_object_set_boolean_member (object, "holds", self->holds);
  json_object_set_int_member (object, "entries", self->n_entries);
  json_object_set_int_member (object, "seals", self->n_seals);
  json_object_set_int_member (object, "jobs_sealed", self->n_jobs);
  json_object_set_int_member (object, "jobs_open", self->n_open);
  json_object_set_int_member (object, "jobs_never_sealed", self->n_never);
  json_object_set_int_member (object, "last", self->last);
  json_object_set_string_member (object, "digest", self->digest);
  for (guint i = 0; i < self->keys->len; i++)
    json_array_add_string_element (keys, self->keys->pdata[i]);
  json_object_set_array_member (object, "keys", keys);
  json_object_set_boolean_member (object, "key_given", self->anchored);
  json_object_set_int_member (object, "breaks", self->n_breaks);
  json_object_set_array_member (object, "findings", findings_to_json (self));

  return ef_json_object_node (object);
}
