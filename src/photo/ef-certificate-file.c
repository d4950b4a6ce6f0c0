/* Taking certificates of gauges into the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-certificate-file.h"

#include "../base/ef-error.h"
#include "ef-file-read.h"
#include "ef-photo-file.h"

#include <string.h>

#define TAIL 1024 /* bytes at the end, where readers look for the marker (ISO 32000-1, annex H, note 18: from memory) */

const char *
ef_certificate_ending (const char *type)
{
  static const char *const endings[] = { ".pdf", ".jpg", ".png" };

  for (guint i = 0; i < G_N_ELEMENTS (endings); i++)
    if (g_strcmp0 (type, ef_certificate_types[i]) == 0)
      return endings[i];

  return "";
}

static gboolean
has (const char *data,
     gsize length,
     const char *word)
{
  return g_strstr_len (data, (gssize) length, word) != NULL;
}

/* ISO 32000-1, 7.5.5: the last lines are "startxref", a number and "%%EOF". */
static gboolean
check_pdf (GBytes *bytes,
           const char *name,
           GError **error)
{
  gsize length;
  const char *data = g_bytes_get_data (bytes, &length);
  gsize tail = MIN (length, TAIL);
  g_autofree char *end = g_memdup2 (data + length - tail, tail);

  /* Bytes of nought would end a text. */
  for (gsize i = 0; i < tail; i++)
    end[i] = end[i] == '\0' ? ' ' : end[i];
  if (has (end, tail, "%%EOF") && has (end, tail, "startxref"))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected a whole PDF, found one that is cut short or damaged; copy it again", name);

  return FALSE;
}

/* Decoded once, small: what can't be shown proves nothing. */
static gboolean
check_picture (GBytes *bytes,
               const char *name,
               GCancellable *cancellable,
               GError **error)
{
  g_autoptr (GdkPixbuf) trial = ef_photo_decode (bytes, name, 256, cancellable, error);

  return trial != NULL;
}

static EfCertificate *
look_at (GBytes *bytes,
         const char *name,
         GCancellable *cancellable,
         GError **error)
{
  g_autofree char *digest = NULL;
  const char *type;
  gsize length;
  gconstpointer data = g_bytes_get_data (bytes, &length);
  gboolean sound;

  if (!ef_file_name_check (name, error))
    return NULL;
  type = ef_file_type_of_bytes (data, length);
  if (!g_strv_contains (ef_certificate_types, type))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a certificate as PDF, JPEG or PNG, found another kind of file", name);
      return NULL;
    }
  sound = g_str_equal (type, "application/pdf") ? check_pdf (bytes, name, error) : check_picture (bytes, name, cancellable, error);
  if (!sound)
    return NULL;
  digest = g_compute_checksum_for_bytes (G_CHECKSUM_SHA256, bytes);

  return ef_certificate_new (digest, name, type);
}

EfCertificate *
ef_certificate_read (GFile *file,
                     GBytes **bytes_out,
                     GCancellable *cancellable,
                     GError **error)
{
  g_autofree char *name = g_file_get_basename (file);
  g_autoptr (GBytes) bytes = NULL;
  EfCertificate *certificate;

  g_return_val_if_fail (G_IS_FILE (file), NULL);
  if (!ef_file_name_check (name != NULL ? name : "", error))
    return NULL;
  bytes = ef_file_read_limited (file, name, "a certificate", cancellable, error);
  certificate = bytes != NULL ? look_at (bytes, name, cancellable, error) : NULL;
  if (certificate != NULL && bytes_out != NULL)
    *bytes_out = g_steal_pointer (&bytes);

  return certificate;
}

gboolean
ef_certificate_keep (EfStore *store,
                     const EfCertificate *certificate,
                     GBytes *bytes,
                     GCancellable *cancellable,
                     GError **error)
{
  g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_bytes (bytes);
  g_autofree char *digest = NULL;

  g_return_val_if_fail (store != NULL && certificate != NULL, FALSE);
  digest = ef_store_add_file (store, stream, certificate->name, cancellable, error);

  return digest != NULL;
}

EfCertificate *
ef_certificate_take_in_bytes (EfStore *store,
                              GBytes *bytes,
                              const char *name,
                              GCancellable *cancellable,
                              GError **error)
{
  g_autoptr (EfCertificate) certificate = look_at (bytes, name, cancellable, error);

  return certificate != NULL && ef_certificate_keep (store, certificate, bytes, cancellable, error) ? g_steal_pointer (&certificate) : NULL;
}

EfCertificate *
ef_certificate_take_in (EfStore *store,
                        GFile *file,
                        GCancellable *cancellable,
                        GError **error)
{
  g_autoptr (GBytes) bytes = NULL;
  g_autoptr (EfCertificate) certificate = ef_certificate_read (file, &bytes, cancellable, error);

  return certificate != NULL && ef_certificate_keep (store, certificate, bytes, cancellable, error) ? g_steal_pointer (&certificate) : NULL;
}
