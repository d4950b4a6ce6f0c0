/* A sealed exchange file attached to a PDF: put in, and read back from files that come from anywhere.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An embedded file of ISO 32000-1, 7.11.4, with its size and MD5 as that standard has them, associated with the document (/AF, ISO 32000-2, 14.13). It
 * stands uncompressed, so that each of its bytes can be seen. Number, digest and key of the seal and the SHA-256 of the file stand in the document's
 * information dictionary. Done by qpdf.
 */
#pragma once

#include <gio/gio.h>
#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_PDF_LARGEST (256u << 20) /* bytes of a PDF that is read */
#define EF_PDF_FILE_LARGEST (64u << 20) /* of the file attached to it */

typedef struct
{
  const char *name;        /* of the file: "J-0412.endfloat.json"; ASCII */
  const char *description; /* for people */
  const char *created;     /* ISO 8601, UTC */
  GBytes *file;
  gint64 number;           /* of the seal in the chain */
  const char *digest, *key; /* 64 hexadecimal digits each */
} EfPdfAttachment;

/* The PDF with the file attached; the same bytes for the same input. EF_ERROR_RANGE for a file larger than EF_PDF_FILE_LARGEST. */
GBytes *ef_pdf_attach (GBytes *pdf, const EfPdfAttachment *attachment, GError **error);

typedef struct
{
  char *name;              /* as the PDF has it */
  GBytes *file;
  char *number, *digest, *key, *sha256; /* as the information dictionary has them; NULL: not there */
  char *md5;               /* 32 hexadecimal digits, as stated; NULL: not there */
  gint64 size;             /* as stated; -1: not there */
} EfPdfRead;
void ef_pdf_read_free (EfPdfRead *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfPdfRead, ef_pdf_read_free)

/* The one file attached to a PDF. EF_ERROR_NOT_FOUND: nothing is attached. EF_ERROR_CORRUPT: damaged. EF_ERROR_PARSE: not a PDF, or not one as this program writes it:
 * encrypted, several attachments, more than one cross-reference table, packed tables, which other programs make when they save a PDF anew; such a file is
 * refused, as reading it could take any amount of memory. EF_ERROR_RANGE: larger than the above. */
EfPdfRead *ef_pdf_read (GBytes *pdf, const char *name, GError **error);

G_END_DECLS
