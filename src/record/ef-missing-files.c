/* Files that a job names and the store doesn't have.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-missing-files.h"

#include "ef-store-files.h"

/* Of one sort: photos, or certificates. */
typedef struct
{
  guint n, n_missing;
} Count;

typedef struct
{
  EfStore *store;
  GHashTable *seen; /* digests; not owned */
  GString *names;   /* of what is missing */
  guint n_names;
} Look;

/* A file that several name counts once. */
static gboolean
look_for (Look *look,
          const char *digest,
          const char *name,
          Count *count,
          GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (EfFileRow) row = NULL;

  if (!g_hash_table_add (look->seen, (gpointer) digest))
    return TRUE;
  count->n++;
  row = ef_store_file_info (look->store, digest, &local);
  if (row != NULL)
    return TRUE;
  if (!g_error_matches (local, EF_ERROR, EF_ERROR_NOT_FOUND))
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  count->n_missing++;
  if (look->n_names++ < EF_MISSING_NAMES)
    g_string_append_printf (look->names, "%s%s", look->names->len > 0 ? ", " : "", name);

  return TRUE;
}

static void
append_count (GString *text,
              const Count *count,
              const char *one,
              const char *several)
{
  if (count->n_missing == 0)
    return;
  if (count->n_missing == count->n)
    g_string_append_printf (text, "%s%u %s", text->len > 0 ? " and " : "", count->n, count->n == 1 ? one : several);
  else
    g_string_append_printf (text, "%s%u of %u %s", text->len > 0 ? " and " : "", count->n_missing, count->n, several);
}

char *
ef_store_missing_files (EfStore *store,
                        gint64 job,
                        GError **error)
{
  g_autoptr (EfInspection) inspection = ef_store_load (store, job, error);
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GString) names = g_string_new (NULL);
  g_autoptr (GString) text = g_string_new (NULL);
  Look look = { store, seen, names, 0 };
  Count photos = { 0 }, certificates = { 0 };

  if (inspection == NULL)
    return NULL;
  for (guint i = 0; i < inspection->items[EF_ITEM_PHOTO]->len; i++)
    {
      const EfPhoto *photo = inspection->items[EF_ITEM_PHOTO]->pdata[i];

      if (!look_for (&look, photo->file, photo->name, &photos, error))
        return NULL;
    }
  for (guint i = 0; i < inspection->items[EF_ITEM_GAUGE]->len; i++)
    {
      const EfGauge *gauge = inspection->items[EF_ITEM_GAUGE]->pdata[i];

      for (guint k = 0; k < ef_certificates_length (gauge->certificates); k++)
        {
          const EfCertificate *one = gauge->certificates->pdata[k];

          if (!look_for (&look, one->file, one->name, &certificates, error))
            return NULL;
        }
    }
  if (look.n_names == 0)
    return NULL;
  append_count (text, &photos, "photo", "photos");
  append_count (text, &certificates, "certificate of a gauge", "certificates of gauges");
  if (look.n_names > EF_MISSING_NAMES)
    g_string_append_printf (names, " and %u more", look.n_names - EF_MISSING_NAMES);

  return g_strdup_printf ("%s: %s %s in this store: %s", ef_inspection_header (inspection)->number, text->str, look.n_names == 1 ? "isn't" : "aren't", names->str);
}
