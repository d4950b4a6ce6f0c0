/* Argon2id written out from RFC 9106, small and slow, to hold the library's against.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <glib.h>

typedef struct
{
  const guint8 *data;
  guint32 length;
} Argon2Text;

/* @lanes p, @memory KiB, @passes t; secret and associated data may be empty. */
void argon2id_reference (Argon2Text password, Argon2Text salt, Argon2Text secret, Argon2Text associated, guint32 lanes, guint32 memory, guint32 passes,
                         guint8 *tag, guint32 tag_length);
