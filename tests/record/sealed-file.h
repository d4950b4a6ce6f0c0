/* A job with one file whose bytes lie in the store and one whose don't, and a key to seal it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "sealed-store.h"

#include "record/ef-store-files.h"

#include <string.h>

typedef struct
{
  char *path;
  EfStore *store;
  char *digest, *other; /* other: a file that the store doesn't have */
  gint64 job;
  EfSealKey *key;
} Fixture;

/* The store with a file of these words. */
static inline void
fixture_open (Fixture *self,
              const char *words,
              const char *name)
{
  g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_data (words, (gssize) strlen (words), NULL);
  g_autoptr (GError) error = NULL;

  self->path = g_build_filename (g_get_user_data_dir (), "files.endfloat", NULL);
  self->store = ef_store_open (self->path, &error);
  g_assert_no_error (error);
  self->digest = ef_store_add_file (self->store, stream, name, NULL, &error);
  g_assert_no_error (error);
  self->other = g_compute_checksum_for_string (G_CHECKSUM_SHA256, "elsewhere", -1);
}

static inline void
fixture_add (Fixture *self,
             const EfInspection *inspection)
{
  g_autoptr (GError) error = NULL;

  self->job = ef_store_add (self->store, inspection, &error);
  g_assert_no_error (error);
  self->key = ef_seal_key_make (self->store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_assert_no_error (error);
}

static inline void
tear_down (Fixture *self,
           gconstpointer data)
{
  ef_seal_key_free (self->key);
  ef_store_close (self->store);
  remove_store (self->path);
  g_free (self->path);
  g_free (self->digest);
  g_free (self->other);
}

/* Before SQL that changes files behind the program's back. */
#define DROP "DROP TRIGGER file_piece_no_update; DROP TRIGGER file_piece_no_delete; DROP TRIGGER file_no_delete; DROP TRIGGER file_no_update;"
