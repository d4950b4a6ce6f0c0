/* Photo files: their headers with what the camera noted, and their pixels.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "photo/ef-photo-file.h"

#define MOST_SIDE 64 /* px */

void
fuzz_photo (const guint8 *data,
            gsize size)
{
  g_autoptr (GBytes) bytes = g_bytes_new (data, size);
  g_autoptr (GError) error = NULL;
  g_autoptr (GError) problem = NULL;
  g_autoptr (GdkPixbuf) pixels = NULL;
  EfPhotoProbe probe = { 0 };
  gboolean ok = ef_photo_probe (bytes, FUZZ_FILE, &probe, &error);

  fuzz_check_answer (ok, error);
  if (!ok)
    return;
  if (probe.width < 1 || probe.height < 1 || probe.orientation < 1 || probe.orientation > 8)
    g_error ("probed as %d x %d px, orientation %d", probe.width, probe.height, probe.orientation);
  pixels = ef_photo_decode (bytes, FUZZ_FILE, MOST_SIDE, NULL, &problem);
  fuzz_check_answer (pixels != NULL, problem);
}
