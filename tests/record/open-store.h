/* A store in a folder of its own, for the tests of what is kept in it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "record/ef-store.h"

static inline EfStore *
open_store (const char *path)
{
  g_autoptr (GError) error = NULL;
  EfStore *store = ef_store_open (path, &error);

  g_assert_no_error (error);

  return store;
}
