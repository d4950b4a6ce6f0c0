/* The pump sheets there are: those shipped with the program and those of one's own in the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../record/ef-store.h"

G_BEGIN_DECLS

typedef struct
{
  EfPumpSheet *sheet;
  gboolean own; /* from the store */
} EfSheetEntry;

/* EfSheetEntry *, shipped ones first, each by name; owned by the caller. Files that can't be read are told in @failures_out
 * (char *, may be NULL) and passed over. @store may be NULL. */
GPtrArray *ef_sheets_all (EfStore *store, GPtrArray **failures_out);

G_END_DECLS
