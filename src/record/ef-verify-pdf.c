/* A report with the sealed exchange file attached to it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-verify-private.h"
#include "ef-pdf-attachment.h"
#include "../base/ef-json-canonical.h"

#include <string.h>

/* What the document states beside the file, against the file. */
static void
check_stated (const EfVerifyAt *at,
              const char *place,
              const char *stated,
              const char *found)
{
  if (stated == NULL)
    ef_verify_tell (at, EF_VERIFY_BROKEN, place, "expected it in the PDF's information, found none");
  else if (!g_str_equal (stated, found))
    ef_verify_tell (at, EF_VERIFY_BROKEN, place, "the PDF's information states \"%.100s\", the attached file has \"%.100s\"", stated, found);
}

static void
check_bytes (const EfVerifyAt *at,
             const EfPdfRead *read)
{
  gsize length;
  const guint8 *data = g_bytes_get_data (read->file, &length);
  g_autofree char *sha256 = ef_sha256 ((const char *) data, (gssize) length);
  g_autofree char *md5 = g_compute_checksum_for_data (G_CHECKSUM_MD5, data, length);

  check_stated (at, "attachment: SHA-256", read->sha256, sha256);
  if (read->md5 == NULL || !g_str_equal (read->md5, md5))
    ef_verify_tell (at, EF_VERIFY_BROKEN, "attachment: checksum", "the PDF states MD5 %.64s, the file has %s", read->md5 != NULL ? read->md5 : "none", md5);
  if (read->size != (gint64) length)
    ef_verify_tell (at, EF_VERIFY_BROKEN, "attachment: size", "the PDF states %" G_GINT64_FORMAT " bytes, the file has %" G_GSIZE_FORMAT, read->size, length);
}

gboolean
ef_verify_pdf_into (EfVerification *out,
                    GBytes *pdf,
                    const char *name,
                    const EfVerifyOptions *options,
                    GBytes **file_out,
                    GError **error)
{
  g_autoptr (EfPdfRead) read = ef_pdf_read (pdf, name, error);
  g_autofree char *number = NULL;
  g_autofree char *inner = NULL;
  const char *data;
  gsize length;
  EfVerifyAt at = { out, 0, NULL };

  if (read == NULL)
    return FALSE;
  data = g_bytes_get_data (read->file, &length);
  inner = g_strdup_printf ("%s: %s", name, read->name);
  if (!ef_verify_text_into (out, data != NULL ? data : "", length, inner, options, error))
    return FALSE;
  check_bytes (&at, read);
  at.seal = out->last;
  number = g_strdup_printf ("%" G_GINT64_FORMAT, out->last);
  check_stated (&at, "PDF: number of the seal", read->number, number);
  check_stated (&at, "PDF: digest of the seal", read->digest, out->digest);
  check_stated (&at, "PDF: public key", read->key, out->keys->len > 0 ? out->keys->pdata[out->keys->len - 1] : "");
  ef_verify_tell (&at, EF_VERIFY_NOTE, "pages",
                  "what holds is the attached file. The pages are a drawing of it that nobody has signed: compare them with a report made from that file");
  if (file_out != NULL)
    *file_out = g_bytes_ref (read->file);

  return TRUE;
}

EfVerification *
ef_verify_pdf (const char *path,
               const EfVerifyOptions *options,
               GCancellable *cancellable,
               GError **error)
{
  g_autofree char *name = g_filename_display_name (path);
  g_autoptr (EfVerification) out = ef_verification_new (name, FALSE);
  g_autoptr (GBytes) pdf = ef_verify_load (path, EF_PDF_LARGEST, cancellable, error);

  if (pdf == NULL || !ef_verify_pdf_into (out, pdf, name, options, NULL, error))
    return NULL;
  ef_verification_finish (out, options);

  return g_steal_pointer (&out);
}
