/* The shop's gauges: added, changed, retired, never lost; two windows on one list.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "record/ef-store-gauges.h"
#include "record/ef-sql.h"
#include "record/ef-store-files.h"
#include "../isolate.h"
#include "open-store.h"

typedef struct
{
  char *folder, *path;
  EfStore *store;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  self->folder = g_dir_make_tmp ("gauges-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "jobs.sqlite", NULL);
  self->store = open_store (self->path);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  g_clear_pointer (&self->store, ef_store_close);
  isolated_remove (self->folder);
  g_free (self->folder);
  g_free (self->path);
}

static GPtrArray *
list (EfStore *store,
      gboolean with_retired)
{
  g_autoptr (GError) error = NULL;
  GPtrArray *gauges = ef_store_gauges (store, with_retired, &error);

  g_assert_no_error (error);

  return gauges;
}

static EfItem *
depth_gauge (const char *id)
{
  EfGauge *gauge = ef_gauge_default (EF_GAUGE_DEPTH);

  g_free (gauge->item.id);
  gauge->item.id = g_strdup (id);
  gauge->serial = g_strdup ("D-7");
  gauge->checked = g_strdup ("2026-01-10");
  gauge->due = g_strdup ("2027-01-10");
  gauge->note = g_strdup ("Certificate 114");

  return &gauge->item;
}

static void
test_kept (Fixture *self,
           gconstpointer unused)
{
  g_autoptr (EfItem) gauge = depth_gauge ("d7");
  g_autoptr (EfItem) finer = ef_item_copy (gauge);
  g_autoptr (GPtrArray) gauges = NULL;
  g_autoptr (GPtrArray) history = NULL;
  g_autoptr (GError) error = NULL;
  const EfShopGauge *one;

  g_assert_true (ef_store_put_gauge (self->store, (EfGauge *) gauge, 0, "rebuilder", "bench 2", &error));
  ((EfGauge *) finer)->uncertainty = 3e-6;
  g_assert_true (ef_store_put_gauge (self->store, (EfGauge *) finer, 1, "clerk", "", &error));
  g_assert_no_error (error);

  ef_store_close (self->store);
  self->store = open_store (self->path);
  gauges = list (self->store, FALSE);
  g_assert_cmpuint (gauges->len, ==, 1);
  one = gauges->pdata[0];
  g_assert_true (ef_item_equal (&one->gauge->item, finer));
  g_assert_cmpint (one->version, ==, 2);
  g_assert_null (one->retired);

  history = ef_store_gauge_history (self->store, "d7", &error);
  g_assert_cmpuint (history->len, ==, 2);
  g_assert_cmpstr (((EfHistoryRow *) history->pdata[0])->bench, ==, "bench 2");
  g_assert_cmpstr (((EfHistoryRow *) history->pdata[1])->role, ==, "clerk");
  g_assert_cmpstr (((EfHistoryRow *) history->pdata[1])->label, ==, "Gauge changed");
}

/* A new version of @gauge with these certificates ("a", "b": what is in the files), and what the history calls it. */
static void
put_with (EfStore *store,
          const EfItem *gauge,
          const char *letters,
          gint64 version,
          const char *label)
{
  g_autoptr (EfItem) changed = ef_item_copy (gauge);
  EfGauge *with = (EfGauge *) changed;
  g_autoptr (GPtrArray) gauges = NULL;
  g_autoptr (GPtrArray) history = NULL;
  g_autoptr (GError) error = NULL;

  g_clear_pointer (&with->certificates, g_ptr_array_unref);
  for (const char *letter = letters; *letter != '\0'; letter++)
    {
      g_autofree char *name = g_strdup_printf ("%c.pdf", *letter);
      g_autofree char *digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, letter, 1);

      with->certificates = ef_certificates_add (with->certificates, ef_certificate_new (digest, name, "application/pdf"));
    }
  g_assert_true (ef_store_put_gauge (store, with, version, "clerk", "", &error));
  g_assert_no_error (error);
  gauges = list (store, FALSE);
  g_assert_true (ef_item_equal (&((const EfShopGauge *) gauges->pdata[0])->gauge->item, changed));
  history = ef_store_gauge_history (store, gauge->id, &error);
  g_assert_cmpstr (((EfHistoryRow *) history->pdata[history->len - 1])->label, ==, label);
}

static void
test_certificates (Fixture *self,
                   gconstpointer unused)
{
  g_autoptr (EfItem) gauge = depth_gauge ("d7");
  g_autoptr (EfItem) finer = ef_item_copy (gauge);
  g_autoptr (EfItem) lost = ef_item_copy (gauge);
  g_autofree char *nowhere = g_strnfill (64, 'c');
  g_autoptr (GError) error = NULL;

  for (const char *letter = "abc"; *letter != '\0'; letter++)
    {
      g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_data (letter, 1, NULL);
      g_autofree char *digest = ef_store_add_file (self->store, stream, "x.pdf", NULL, &error);

      g_assert_no_error (error);
    }
  ((EfGauge *) finer)->uncertainty = 3e-6;
  put_with (self->store, gauge, "a", 0, "Gauge added; certificate attached: a.pdf");
  put_with (self->store, gauge, "ab", 1, "Certificate attached: b.pdf");
  put_with (self->store, gauge, "c", 2, "Certificate attached: c.pdf; certificate removed: a.pdf; certificate removed: b.pdf");
  put_with (self->store, finer, "c", 3, "Gauge changed");
  put_with (self->store, gauge, "", 4, "Gauge changed; certificate removed: c.pdf");

  /* One that the store doesn't have: refused, nothing kept. */
  ((EfGauge *) lost)->certificates = ef_certificates_add (NULL, ef_certificate_new (nowhere, "lost.pdf", "application/pdf"));
  g_assert_false (ef_store_put_gauge (self->store, (EfGauge *) lost, 5, "clerk", "", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_assert_nonnull (strstr (error->message, "certificate lost.pdf"));
  g_clear_error (&error);
  g_free (((EfCertificate *) ((EfGauge *) lost)->certificates->pdata[0])->type);
  ((EfCertificate *) ((EfGauge *) lost)->certificates->pdata[0])->type = g_strdup ("text/html");
  g_assert_false (ef_store_put_gauge (self->store, (EfGauge *) lost, 5, "clerk", "", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "certificates[0].type: expected application/pdf"));
}

/* Each way in which a list of certificates can be wrong, and the best of them that is right. */
static void
test_certificates_checked (Fixture *self,
                           gconstpointer unused)
{
  static const struct
  {
    const char *file, *name, *type, *says;
  } cases[] = {
    { "c", "a.pdf", "application/pdf", "[0].file: expected a SHA-256" },
    { "C", "a.pdf", "application/pdf", NULL },
    { NULL, "a.pdf", "application/pdf", NULL },
    { NULL, "", "application/pdf", "[0].name: expected UTF-8 text" },
    { NULL, "\xff", "application/pdf", "[0].name: expected UTF-8 text" },
    { NULL, NULL, "application/pdf", "[0].name: expected UTF-8 text" },
    { NULL, "a.pdf", "application/zip", "[0].type: expected" },
    { NULL, "a.pdf", NULL, "[0].type: expected" },
  };
  g_autoptr (GPtrArray) twice = NULL;
  g_autoptr (GPtrArray) many = NULL;
  g_autofree char *digest = g_strnfill (64, 'e');
  g_autofree char *capital = g_strnfill (64, 'E');
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_certificates_check (NULL, &error));
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      const char *file = cases[i].file == NULL ? digest : *cases[i].file == 'C' ? capital : cases[i].file;
      g_autoptr (GPtrArray) one = ef_certificates_add (NULL, ef_certificate_new (file, cases[i].name, cases[i].type));
      gboolean right = file == digest && cases[i].says == NULL;

      g_assert_cmpint (ef_certificates_check (one, &error), ==, right);
      if (!right)
        g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
      if (cases[i].says != NULL)
        g_assert_nonnull (strstr (error->message, cases[i].says));
      g_clear_error (&error);
    }
  twice = ef_certificates_add (ef_certificates_add (NULL, ef_certificate_new (digest, "a", "image/png")), ef_certificate_new (digest, "b", "image/png"));
  g_assert_false (ef_certificates_check (twice, &error));
  g_assert_nonnull (strstr (error->message, "[1].file: expected each file once"));
  g_clear_error (&error);
  for (guint i = 0; i <= EF_GAUGE_MOST_CERTIFICATES; i++)
    {
      g_autofree char *file = g_strdup_printf ("%064x", i);

      many = ef_certificates_add (many, ef_certificate_new (file, "a", "image/png"));
    }
  g_assert_false (ef_certificates_check (many, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_ptr_array_set_size (many, EF_GAUGE_MOST_CERTIFICATES);
  g_clear_error (&error);
  g_assert_true (ef_certificates_check (many, &error));
}

static void
test_retired (Fixture *self,
              gconstpointer unused)
{
  g_autoptr (EfItem) gauge = depth_gauge ("d7");
  g_autoptr (GPtrArray) in_use = NULL;
  g_autoptr (GPtrArray) all = NULL;
  g_autoptr (GPtrArray) again = NULL;
  g_autoptr (GPtrArray) history = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_store_put_gauge (self->store, (EfGauge *) gauge, 0, "rebuilder", "", &error));
  g_assert_false (ef_store_retire_gauge (self->store, "d7", 1, "", "rebuilder", "", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "reason"));
  g_clear_error (&error);

  g_assert_true (ef_store_retire_gauge (self->store, "d7", 1, "dropped on the floor", "rebuilder", "", &error));
  in_use = list (self->store, FALSE);
  all = list (self->store, TRUE);
  g_assert_cmpuint (in_use->len, ==, 0);
  g_assert_cmpuint (all->len, ==, 1);
  g_assert_cmpstr (((EfShopGauge *) all->pdata[0])->retired, ==, "dropped on the floor");

  g_assert_true (ef_store_retire_gauge (self->store, "d7", 2, NULL, "clerk", "", &error));
  again = list (self->store, FALSE);
  g_assert_cmpuint (again->len, ==, 1);
  history = ef_store_gauge_history (self->store, "d7", &error);
  g_assert_cmpuint (history->len, ==, 3);
  g_assert_cmpstr (((EfHistoryRow *) history->pdata[1])->label, ==, "Gauge retired: dropped on the floor");
}

/* Both opened the gauge; the first to keep it wins, the other is told and has lost nothing of the first. */
static void
test_two_windows (Fixture *self,
                  gconstpointer unused)
{
  g_autoptr (EfStore) other = open_store (self->path);
  g_autoptr (EfItem) gauge = depth_gauge ("d7");
  g_autoptr (EfItem) first = NULL;
  g_autoptr (EfItem) second = NULL;
  g_autoptr (GPtrArray) gauges = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_store_put_gauge (self->store, (EfGauge *) gauge, 0, "", "", &error));
  first = ef_item_copy (gauge);
  second = ef_item_copy (gauge);
  ((EfGauge *) first)->uncertainty = 3e-6;
  ((EfGauge *) second)->uncertainty = 9e-6;
  g_assert_true (ef_store_put_gauge (other, (EfGauge *) first, 1, "", "", &error));
  g_assert_false (ef_store_put_gauge (self->store, (EfGauge *) second, 1, "", "", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_clear_error (&error);
  g_assert_false (ef_store_retire_gauge (self->store, "d7", 1, "worn", "", "", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_clear_error (&error);
  g_assert_false (ef_store_put_gauge (self->store, (EfGauge *) second, 0, "", "", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  gauges = list (self->store, TRUE);
  g_assert_cmpuint (gauges->len, ==, 1);
  g_assert_true (ef_item_equal (&((EfShopGauge *) gauges->pdata[0])->gauge->item, first));
}

static void
test_refused (Fixture *self,
              gconstpointer unused)
{
  g_autoptr (EfItem) gauge = depth_gauge ("d7");
  g_autoptr (GPtrArray) gauges = NULL;
  g_autoptr (GError) error = NULL;

  ((EfGauge *) gauge)->uncertainty = 0;
  g_assert_false (ef_store_put_gauge (self->store, (EfGauge *) gauge, 0, "", "", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_assert_nonnull (strstr (error->message, "uncertainty"));
  gauges = list (self->store, TRUE);
  g_assert_cmpuint (gauges->len, ==, 0);
}

/* One of each kind, once: not again after all were retired. */
static void
test_first_list (Fixture *self,
                 gconstpointer unused)
{
  g_autoptr (GPtrArray) gauges = NULL;
  g_autoptr (GPtrArray) after = NULL;
  g_autoptr (GError) error = NULL;
  guint i;

  g_assert_true (ef_store_seed_gauges (self->store, &error));
  gauges = list (self->store, FALSE);
  g_assert_cmpuint (gauges->len, ==, EF_N_GAUGE_KINDS);
  for (i = 0; i < gauges->len; i++)
    {
      const EfShopGauge *one = gauges->pdata[i];

      g_assert_cmpint (one->gauge->kind, ==, (int) i);
      g_assert_nonnull (strstr (one->gauge->note, "no certificate"));
      g_assert_true (ef_store_retire_gauge (self->store, one->gauge->item.id, one->version, "replaced", "", "", &error));
    }
  g_assert_true (ef_store_seed_gauges (self->store, &error));
  after = list (self->store, FALSE);
  g_assert_cmpuint (after->len, ==, 0);
}

/* History can't be touched, nor a gauge deleted, even past the program. */
static void
test_nothing_deleted (Fixture *self,
                      gconstpointer unused)
{
  static const char *const attempts[] = {
    "DELETE FROM gauge", "DELETE FROM gauge_change", "UPDATE gauge_change SET label = 'x'",
  };
  g_autoptr (EfItem) gauge = depth_gauge ("d7");
  EfSql sql = { NULL, (char *) "shop" };
  guint i;

  g_assert_true (ef_store_put_gauge (self->store, (EfGauge *) gauge, 0, "", "", NULL));
  g_assert_cmpint (sqlite3_open (self->path, &sql.db), ==, SQLITE_OK);
  for (i = 0; i < G_N_ELEMENTS (attempts); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_false (ef_sql_exec (&sql, attempts[i], &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
    }
  sqlite3_close (sql.db);
}

static void
test_due (void)
{
  g_autoptr (EfItem) item = depth_gauge ("d7");
  const EfGauge *gauge = (EfGauge *) item;

  g_assert_false (ef_gauge_due_soon (gauge, "2026-12-10"));
  g_assert_true (ef_gauge_due_soon (gauge, "2026-12-11"));
  g_assert_true (ef_gauge_due_soon (gauge, "2027-01-10"));
  g_assert_false (ef_gauge_overdue (gauge, "2027-01-10"));
  g_assert_false (ef_gauge_due_soon (gauge, "2027-01-11"));
  g_assert_true (ef_gauge_overdue (gauge, "2027-01-11"));
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  ADD ("/shop-gauges/kept", test_kept);
  ADD ("/shop-gauges/certificates", test_certificates);
  ADD ("/shop-gauges/certificates-checked", test_certificates_checked);
  ADD ("/shop-gauges/retired", test_retired);
  ADD ("/shop-gauges/two-windows", test_two_windows);
  ADD ("/shop-gauges/refused", test_refused);
  ADD ("/shop-gauges/first-list", test_first_list);
  ADD ("/shop-gauges/nothing-deleted", test_nothing_deleted);
  g_test_add_func ("/shop-gauges/due", test_due);

  return g_test_run ();
}
