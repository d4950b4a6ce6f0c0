/* A gauge's certificate as a file: which one, by its content. The bytes lie in the store; exchange files carry the digest.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Certificates are held in a GPtrArray of the gauge, in order of attaching; NULL: none.
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

#define EF_GAUGE_MOST_CERTIFICATES 20

typedef struct
{
  char *file; /* SHA-256 of its bytes */
  char *name; /* as it was called */
  char *type; /* one of ef_certificate_types */
} EfCertificate;

extern const char *const ef_certificate_types[]; /* "application/pdf", "image/jpeg", "image/png"; NULL-terminated */

EfCertificate *ef_certificate_new (const char *file, const char *name, const char *type);
void ef_certificate_free (EfCertificate *certificate);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfCertificate, ef_certificate_free)

/* Lists of them: NULL and an empty one are the same, and copying gives NULL for both. */
guint ef_certificates_length (const GPtrArray *list);
const EfCertificate *ef_certificates_find (const GPtrArray *list, const char *file); /* NULL */
GPtrArray *ef_certificates_copy (const GPtrArray *list);
gboolean ef_certificates_equal (const GPtrArray *a, const GPtrArray *b);
/* Takes @certificate; @list may be NULL. Returns the list. */
GPtrArray *ef_certificates_add (GPtrArray *list, EfCertificate *certificate);
/* Digests, names and kinds as they may be, none twice. EF_ERROR_INVALID or EF_ERROR_RANGE: "certificates[1].name: expected …". */
gboolean ef_certificates_check (const GPtrArray *list, GError **error);

G_END_DECLS
