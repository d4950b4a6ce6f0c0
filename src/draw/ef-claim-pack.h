/* The claim pack: what the other party gets of a sealed job, in one zip file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * README.txt, SHA256SUMS, report.pdf, the sealed exchange file, photos, certificates of gauges, gauges.txt, public-key.txt, verification.txt. A sealed file can't be shortened: where something
 * personal is left out, the pages are drawn without it, and in place of the exchange file (and of the report's attachment) goes a disclosure (ef-disclosure.h) with
 * the parts that don't hold it. docs/record.md says what each choice means.
 */
#pragma once

#include "../record/ef-store.h"
#include "../record/ef-verify.h"
#include "ef-draw.h"

G_BEGIN_DECLS

typedef enum
{
  EF_CLAIM_WITHOUT_CUSTOMER = 1 << 0, /* whose vessel or machine it is */
  EF_CLAIM_WITHOUT_ROLES = 1 << 1,    /* roles and benches */
  EF_CLAIM_WITHOUT_NOTES = 1 << 2,    /* notes; the complaint stays, as it's what the claim is about */
  EF_CLAIM_WITHOUT_PHOTOS = 1 << 3,   /* the photo files, and photos on the pages; what was sealed of them stays */
  EF_CLAIM_WITHOUT_CERTIFICATES = 1 << 4, /* the files of gauges' certificates; their digests stay */
} EfClaimWithout;
/* "customer", "roles", "notes", "photos", "certificates"; NULL after the last. */
const char *ef_claim_without_name (guint i);
/* From "customer,roles"; EF_ERROR_INVALID naming the word that isn't one. */
gboolean ef_claim_without_parse (const char *text, guint *without_out, GError **error);

/* The job's pack at @path, the same bytes each time: times are that of sealing. EF_ERROR_INVALID for a job that isn't sealed, EF_ERROR_CORRUPT for a photo or certificate
 * whose bytes aren't those that were added (one that the store never had is named in README.txt), EF_ERROR_CANCELLED; nothing is left at @path then. Takes seconds: assesses the job. For a worker with a store of its own. */
gboolean ef_claim_pack_write (EfStore *store, gint64 job, EfPaper paper, guint without, const char *path, EfVerifyProgress progress, gpointer user_data,
                              GCancellable *cancellable, GError **error);

G_END_DECLS
