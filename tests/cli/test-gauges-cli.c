/* endfloat gauges and upgrade on the built program: certificates attached, listed, saved and taken off; a store of an earlier version.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <gio/gio.h>
#include <glib/gstdio.h>

#include "record/ef-backup.h"
#include "record/ef-store-gauges.h"
#include "../isolate.h"
#include "../photo/certificate-bytes.h"
#include "../record/samples.h"
#include "cli-run.h"

static char *store_path, *certificate, *page;

static void
set_up (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GBytes) pdf = certificate_pdf ("certificate 114");
  g_autoptr (EfItem) gauge = (EfItem *) ef_gauge_default (EF_GAUGE_DEPTH);
  g_autoptr (EfStore) store = NULL;

  store_path = store_with_demo ();
  certificate = g_build_filename (g_get_user_data_dir (), "certificate 114.pdf", NULL);
  page = g_build_filename (g_get_user_data_dir (), "page.pdf", NULL);
  store = ef_store_open (store_path, &error);
  ((EfGauge *) gauge)->serial = g_strdup ("D-7");
  g_assert_true (ef_store_put_gauge (store, (EfGauge *) gauge, 0, "", "", &error));
  g_assert_true (g_file_set_contents (certificate, g_bytes_get_data (pdf, NULL), (gssize) g_bytes_get_size (pdf), NULL));
  g_assert_true (g_file_set_contents (page, "<html>no certificate</html>", -1, NULL));
}

static void
test_shop (void)
{
  g_autofree char *saved = g_build_filename (g_get_user_data_dir (), "saved.pdf", NULL);
  g_autofree char *digest = NULL;
  char *text = NULL;

  g_assert_cmpint (run (&text, "gauges attach -s '%s' -g D-7 -r clerk -b 'bench 2' '%s'", store_path, certificate), ==, 0);
  assert_in (text, "  certificate 114.pdf");
  digest = g_strndup (text, 64);
  g_free (text);
  g_assert_cmpint (run (&text, "gauges list -s '%s'", store_path), ==, 0);
  assert_in (text, digest);
  assert_in (text, "\"name\": \"certificate 114.pdf\"");
  assert_in (text, "\"type\": \"application/pdf\"");
  assert_in (text, "\"sound\": true");
  g_free (text);
  assert_code (0, "gauges save -s '%s' %s -o '%s'", store_path, digest, saved);
  assert_same_file (certificate, saved);
  /* Attached again: the gauge has it already, nothing changes. */
  assert_code (0, "gauges attach -s '%s' -g D-7 '%s'", store_path, certificate);
  assert_code (0, "gauges remove -s '%s' -g D-7 %s", store_path, digest);
  g_assert_cmpint (run (&text, "gauges history -s '%s' -g D-7", store_path), ==, 0);
  assert_in (text, "1  ");
  assert_in (text, "clerk, bench 2  Certificate attached: certificate 114.pdf\n3  ");
  assert_in (text, "Certificate removed: certificate 114.pdf\n");
  g_assert_null (strstr (text, "\n4  "));
  g_free (text);
}

static void
test_job (void)
{
  const char *const name = "Depth micrometer 0–50 mm";
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = NULL;
  g_autoptr (GPtrArray) history = NULL;
  gint64 job;

  assert_code (0, "gauges attach -s '%s' -n J-0412 -g '%s' '%s'", store_path, name, certificate);
  assert_says (0, "certificate 114.pdf", "gauges list -s '%s' -n J-0412", store_path);
  store = ef_store_open (store_path, &error);
  g_assert_true (ef_store_exists (store, "J-0412", &job, &error));
  history = ef_store_history (store, job, &error);
  g_assert_cmpstr (((EfHistoryRow *) history->pdata[history->len - 1])->label, ==, "Attach certificate to gauge: Depth micrometer 0–50 mm");
}

static void
test_refused (void)
{
  g_autofree char *other = g_build_filename (g_get_user_data_dir (), "certificate 115.pdf", NULL);
  g_autoptr (GBytes) pdf = certificate_pdf ("certificate 115");
  g_autofree char *digest = g_compute_checksum_for_bytes (G_CHECKSUM_SHA256, pdf);
  char *text = NULL;

  assert_says (1, "page.pdf: expected a certificate as PDF, JPEG or PNG", "gauges attach -s '%s' -g D-7 '%s' '%s'", store_path, certificate, page);
  /* One of them refused: nothing of the others goes into the store. */
  g_assert_true (g_file_set_contents (other, g_bytes_get_data (pdf, NULL), (gssize) g_bytes_get_size (pdf), NULL));
  assert_says (1, "page.pdf: expected a certificate as PDF, JPEG or PNG", "gauges attach -s '%s' -g D-7 '%s' '%s'", store_path, other, page);
  assert_says (1, "found none with that digest", "gauges save -s '%s' %s -o '%s.again'", store_path, digest, other);
  g_assert_cmpint (run (&text, "gauges list -s '%s'", store_path), ==, 0);
  g_assert_null (strstr (text, "certificate 114.pdf"));
  g_free (text);
  assert_says (1, "gauge D-8: expected the id, serial number or name of one gauge, found 0", "gauges attach -s '%s' -g D-8 '%s'", store_path, certificate);
  assert_says (1, "expected a certificate with the digest 00, found none", "gauges remove -s '%s' -g D-7 00", store_path);
  assert_says (1, "expected --gauge", "gauges attach -s '%s' '%s'", store_path, certificate);
  assert_says (1, "expected job J-9, found none", "gauges list -s '%s' -n J-9", store_path);
  assert_says (1, "expected --store", "gauges list");
  assert_code (2, "gauges paint");
}

/* Any verb refuses where there can't be a backup; upgrade goes on without one when told to. */
static void
test_upgrade (void)
{
  g_autofree char *old = g_build_filename (g_get_user_data_dir (), "old.endfloat", NULL);
  g_autofree char *backups = ef_backup_default_folder (old);
  char *text = NULL;

  unpack_sample (8, old);
  g_assert_true (g_file_set_contents (backups, "in the way", -1, NULL));
  g_assert_cmpint (run (&text, "gauges list -s '%s'", old), !=, 0);
  assert_in (text, "it is of version 8 and has to be brought up to");
  g_free (text);
  assert_says (3, "Nothing was changed", "upgrade '%s'", old);
  assert_says (0, "from version 8 to ", "upgrade --without-backup '%s'", old);
  assert_says (0, "already", "upgrade '%s'", old);
  unpack_sample (7, old);
  g_unlink (backups);
  g_assert_cmpint (run (&text, "upgrade '%s'", old), ==, 0);
  assert_in (text, "old.backups/jobs-");
  assert_in (text, "from version 7 to ");
  g_free (text);
  assert_code (2, "upgrade");
  assert_says (2, "--most: expected 0 to 100000 GB", "backup --most -1 '%s'", old);
}

int
main (int argc,
      char **argv)
{
  int code;

  isolated_test_init (&argc, &argv);
  set_up ();
  g_test_add_func ("/cli/gauges-shop", test_shop);
  g_test_add_func ("/cli/gauges-job", test_job);
  g_test_add_func ("/cli/gauges-refused", test_refused);
  g_test_add_func ("/cli/upgrade", test_upgrade);
  code = g_test_run ();
  g_free (store_path);
  g_free (certificate);
  g_free (page);

  return code;
}
