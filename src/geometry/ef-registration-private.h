/* What fitting a registration and refusing bad sets of pairs share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-registration.h"

G_BEGIN_DECLS

/* Numbers, count, places that are one, points on one line. */
gboolean ef_registration_check_pairs (EfRegistrationModel model, const EfRegistrationPair *pairs, guint n, GError **error);

G_END_DECLS
