/* What the files of a claim pack are called.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#define EF_CLAIM_README "README.txt"
#define EF_CLAIM_SUMS "SHA256SUMS"
#define EF_CLAIM_GAUGES "gauges.txt"
#define EF_CLAIM_KEY "public-key.txt"
#define EF_CLAIM_REPORT "report.pdf"
#define EF_CLAIM_VERIFICATION "verification.txt"
#define EF_CLAIM_EXCHANGE ".endfloat.json"      /* how the name of the sealed exchange file ends */
#define EF_CLAIM_DISCLOSURE "disclosure.json"   /* stands in for it where something is left out */
#define EF_CLAIM_PHOTOS "photos/"
#define EF_CLAIM_CERTIFICATES "certificates/"
