/* Certificates of gauges as files: what they are by their content, and taking them into the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * PDF (ISO 32000-1), JPEG and PNG, decided by the bytes and never by a name; pictures as photos are (ef-photo-file.h). A PDF is kept as it is and nothing in
 * it is run or drawn: only that it has its beginning and its end is looked at. Not for the main thread.
 */
#pragma once

#include <gio/gio.h>
#include "../metrology/ef-certificate.h"
#include "../record/ef-store-files.h"

G_BEGIN_DECLS

/* Reads the file and looks at it; nothing is added to a store. @bytes_out: for ef_certificate_keep(), NULL if they aren't wanted. EF_ERROR_INVALID: another kind of file, a folder or device, no bytes,
 * a bad name; EF_ERROR_PARSE: cut short; EF_ERROR_RANGE: above EF_STORE_FILE_LIMIT. */
EfCertificate *ef_certificate_read (GFile *file, GBytes **bytes_out, GCancellable *cancellable, GError **error);
/* Adds what was read to the store. It isn't a gauge's yet. FALSE: what ef_store_add_file() refuses. */
gboolean ef_certificate_keep (EfStore *store, const EfCertificate *certificate, GBytes *bytes, GCancellable *cancellable, GError **error);
/* Both at once. */
EfCertificate *ef_certificate_take_in (EfStore *store, GFile *file, GCancellable *cancellable, GError **error);
EfCertificate *ef_certificate_take_in_bytes (EfStore *store, GBytes *bytes, const char *name, GCancellable *cancellable, GError **error);
/* ".pdf", ".jpg", ".png"; "" for another type. */
const char *ef_certificate_ending (const char *type);

G_END_DECLS
