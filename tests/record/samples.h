/* The kept samples of stores of every version, as tests use them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gio/gio.h>

/* Unpacks samples/VERSION.endfloat.gz to @path; fails the test where there is none, saying how to make it. */
static inline void
unpack_sample (gint64 version,
               const char *path)
{
  g_autofree char *name = g_strdup_printf ("%" G_GINT64_FORMAT ".endfloat.gz", version);
  g_autofree char *sample = g_test_build_filename (G_TEST_DIST, "record", "samples", name, NULL);
  g_autoptr (GZlibDecompressor) decompressor = g_zlib_decompressor_new (G_ZLIB_COMPRESSOR_FORMAT_GZIP);
  g_autoptr (GFile) file = g_file_new_for_path (sample);
  g_autoptr (GFile) out = g_file_new_for_path (path);
  g_autoptr (GError) error = NULL;
  g_autoptr (GFileInputStream) packed = NULL;
  g_autoptr (GInputStream) bytes = NULL;
  g_autoptr (GFileOutputStream) written = NULL;

  if (!g_file_test (sample, G_FILE_TEST_EXISTS))
    g_error ("%s: expected the kept sample of a store of version %" G_GINT64_FORMAT ", found none. Whoever adds a step to the tables makes it once, with the "
             "step built, and commits it:\n    ENDFLOAT_DATADIR=data BUILD/tests/record/write-sample tests/record/samples/%s", sample, version, name);
  packed = g_file_read (file, NULL, &error);
  g_assert_no_error (error);
  bytes = g_converter_input_stream_new (G_INPUT_STREAM (packed), G_CONVERTER (decompressor));
  written = g_file_replace (out, NULL, FALSE, G_FILE_CREATE_PRIVATE, NULL, &error);
  g_assert_no_error (error);
  g_output_stream_splice (G_OUTPUT_STREAM (written), bytes, G_OUTPUT_STREAM_SPLICE_CLOSE_TARGET, NULL, &error);
  g_assert_no_error (error);
}
