/* Canonical JSON: one text for one value, so that writing what was read again gives the same text.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "base/ef-json.h"
#include "base/ef-json-canonical.h"

#include <string.h>

static char *
canonical_of (const char *text,
              gssize length,
              gboolean *too_large)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfJsonContext) context = ef_json_parse (text, length, FUZZ_FILE, &error);
  g_auto (EfJson) root = { 0 };
  char *out;

  fuzz_check_answer (context != NULL, error);
  /* From 2^63 to 1e21 RFC 8785 writes whole numbers that the reader, whose whole numbers have 64 bits, refuses by this message. */
  *too_large = error != NULL && strstr (error->message, "a whole number of at most 64 bits") != NULL;
  if (context == NULL)
    return NULL;
  root = ef_json_root (context);
  out = ef_json_canonical (root.node, &error);
  fuzz_check_answer (out != NULL, error);

  return out;
}

void
fuzz_canonical (const guint8 *data,
                gsize size)
{
  gboolean too_large = FALSE;
  g_autofree char *once = canonical_of ((const char *) data, (gssize) size, &too_large);
  g_autofree char *twice = once != NULL ? canonical_of (once, -1, &too_large) : NULL;

  if (once != NULL && !too_large && g_strcmp0 (once, twice) != 0)
    g_error ("expected %s again, found %s", once, twice);
}
