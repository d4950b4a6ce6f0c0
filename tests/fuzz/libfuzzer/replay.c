/* Each file of the corpus once through its target: what fuzzing found stays found.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "../../isolate.h"

typedef struct
{
  const char *name;
  void (*run) (const guint8 *data, gsize size);
} Target;

static const Target targets[] = {
  { "canonical", fuzz_canonical }, { "compute", fuzz_compute }, { "exchange", fuzz_exchange }, { "lapping", fuzz_lapping },
  { "lesson", fuzz_lesson },       { "pdf", fuzz_pdf },             { "photo", fuzz_photo },
  { "oil", fuzz_oil },             { "rules", fuzz_rules },     { "sheet", fuzz_sheet },       { "shelf", fuzz_shelf },
  { "store", fuzz_store },         { "units", fuzz_units },     { "verify", fuzz_verify },
  { "zip", fuzz_zip },
};

static char *
corpus_of (const char *name)
{
  return g_test_build_filename (G_TEST_DIST, "fuzz", "corpus", name, NULL);
}

static void
replay (gconstpointer data)
{
  const Target *target = data;
  g_autofree char *folder = corpus_of (target->name);
  g_autoptr (GError) error = NULL;
  g_autoptr (GDir) dir = g_dir_open (folder, 0, &error);
  const char *file;
  guint n = 0;

  g_assert_no_error (error);
  while ((file = g_dir_read_name (dir)) != NULL)
    {
      g_autofree char *path = g_build_filename (folder, file, NULL);
      g_autofree char *bytes = NULL;
      gsize size;

      g_assert_true (g_file_get_contents (path, &bytes, &size, &error));
      target->run ((const guint8 *) bytes, size);
      n++;
    }
  g_assert_cmpuint (n, >, 0);
}

/* A file somebody put into the corpus by a name of no target is never read: that is said. */
static void
test_no_orphans (void)
{
  g_autofree char *folder = g_test_build_filename (G_TEST_DIST, "fuzz", "corpus", NULL);
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  const char *name;

  g_assert_nonnull (dir);
  while ((name = g_dir_read_name (dir)) != NULL)
    {
      gboolean known = FALSE;

      for (guint i = 0; i < G_N_ELEMENTS (targets); i++)
        known = known || g_str_equal (targets[i].name, name);
      g_assert_true (known);
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  for (guint i = 0; i < G_N_ELEMENTS (targets); i++)
    {
      g_autofree char *path = g_strconcat ("/fuzz/corpus/", targets[i].name, NULL);

      g_test_add_data_func (path, &targets[i], replay);
    }
  g_test_add_func ("/fuzz/corpus/no-orphans", test_no_orphans);

  return g_test_run ();
}
