/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-error.h"

/* clang-format off */
G_DEFINE_QUARK (ef-error-quark, ef_error)
/* clang-format on */
