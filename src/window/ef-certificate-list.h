/* The certificates of a gauge in its form: attach, open, save a copy, remove.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is listed counts for the gauge when its form is kept. A file that is attached is read in a worker and held in memory until then (at most 20 of 40 MB); a form that is cancelled leaves nothing in
 * the store. "kept", without arguments: what ef_certificate_list_keep() was asked for is done.
 */
#pragma once

#include "../record/ef-store.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_CERTIFICATE_LIST (ef_certificate_list_get_type ())
G_DECLARE_FINAL_TYPE (EfCertificateList, ef_certificate_list, EF, CERTIFICATE_LIST, GtkBox)

/* @store has to outlive it; NULL: what is there is listed, nothing can be attached, opened or saved. */
GtkWidget *ef_certificate_list_new (EfStore *store);
void ef_certificate_list_set (EfCertificateList *self, const GPtrArray *certificates); /* EfCertificate *; NULL none */
GPtrArray *ef_certificate_list_get (EfCertificateList *self); /* a copy; NULL none */
/* TRUE: the store has all that was attached. FALSE: it goes there now, in a worker, and "kept" follows; what went wrong stands below the list instead, and it can be tried again. */
gboolean ef_certificate_list_keep (EfCertificateList *self);
/* Files are being read, kept or saved: what it has isn't yet what was asked for. */
gboolean ef_certificate_list_busy (EfCertificateList *self);
void ef_certificate_list_attach (EfCertificateList *self, GFile *file);
/* Writes the file, of the store or just attached, to @path, in a worker; what went wrong stands below the list. For the file dialog and for tests. */
void ef_certificate_list_save (EfCertificateList *self, const char *digest, const char *path);

G_END_DECLS
