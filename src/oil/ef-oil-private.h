/* What the files of the oil share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-oil.h"

G_BEGIN_DECLS

typedef struct
{
  double nu100, l, h; /* mm2/s */
} EfOilIndexRow;

extern const EfOilIndexRow ef_oil_index_table[];
extern const guint ef_oil_index_rows;

G_END_DECLS
