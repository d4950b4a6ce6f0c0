/* One parser each, fed bytes: whatever they are, it answers with a value or with a clear error.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A target is a file fuzz-NAME.c with a function fuzz_NAME(). The fuzzing engine (clang's libFuzzer, meson option "fuzz") calls it through engine.c; replay.c calls
 * it with each file of tests/fuzz/corpus/NAME in the ordinary tests. docs/fuzzing.md says how to run them and what they found.
 */
#pragma once

#include <glib.h>

#include "base/ef-error.h"

G_BEGIN_DECLS

#define FUZZ_FILE "fuzz"

void fuzz_canonical (const guint8 *data, gsize size);
void fuzz_compute (const guint8 *data, gsize size);
void fuzz_exchange (const guint8 *data, gsize size);
void fuzz_lapping (const guint8 *data, gsize size);
void fuzz_lesson (const guint8 *data, gsize size);
void fuzz_oil (const guint8 *data, gsize size);
void fuzz_pdf (const guint8 *data, gsize size);
void fuzz_photo (const guint8 *data, gsize size);
void fuzz_rules (const guint8 *data, gsize size);
void fuzz_sheet (const guint8 *data, gsize size);
void fuzz_shelf (const guint8 *data, gsize size);
void fuzz_store (const guint8 *data, gsize size);
void fuzz_units (const guint8 *data, gsize size);
void fuzz_verify (const guint8 *data, gsize size);
void fuzz_zip (const guint8 *data, gsize size);

/* There is one exactly where there is no value; it's one of ours, says something, and is UTF-8. */
static inline void
fuzz_check_answer (gboolean value,
                   const GError *error)
{
  if (value != (error == NULL))
    g_error ("expected a value or an error, found %s", value ? "both" : "neither");
  if (error == NULL)
    return;
  if (error->domain != EF_ERROR || error->message == NULL || error->message[0] == '\0' || !g_utf8_validate (error->message, -1, NULL))
    g_error ("expected a clear error, found \"%s\" of %s", error->message, g_quark_to_string (error->domain));
}

/* A file in memory with these bytes; its name. Closed with fuzz_file_close(). */
int fuzz_file_open (const guint8 *data, gsize size, char **name_out);
void fuzz_file_close (int fd);

G_END_DECLS
