/* The claim pack: what is in it, what is left out of it, what is found when it was changed, and zip files that shouldn't be read.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Held against unzip (Info-ZIP), sha256sum (coreutils), pdftotext (poppler); the hostile zips are made by Python's zipfile (hostile-zips.py, constructed). -m slow makes
 * 1,000 changes of bytes.
 */
#include "sample.h"
#include "draw/ef-claim-pack.h"
#include "inspection/ef-photo.h"
#include "record/ef-claim-names.h"
#include "record/ef-pdf-attachment.h"
#include "record/ef-seal.h"
#include "record/ef-store-files.h"
#include "record/ef-zip.h"

#include <glib/gstdio.h>
#include <string.h>
#include "../isolate.h"

#define CERTIFICATE "%PDF-1.4 nothing much\n"
#define ROUNDS(few) (g_test_slow () ? 1000u : (few))

static char *folder, *whole, *short_pack; /* packs of the job: all of it; without customer, roles, notes */
static EfStore *store;
static gint64 job, open_job;
static char *public_key, *lost; /* digest of a photo that the store doesn't have */

static char *
in_folder (const char *name)
{
  return g_build_filename (folder, name, NULL);
}

static char *
add_photo (EfInspection *inspection,
           guint grey,
           const char *name)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 40, 30);
  cairo_t *cr = cairo_create (surface);
  g_autofree char *path = in_folder ("photo.png");
  g_autoptr (GFile) file = g_file_new_for_path (path);
  g_autoptr (GFileInputStream) stream = NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfItem) item = NULL;
  g_autofree char *digest = NULL;

  cairo_set_source_rgb (cr, grey / 255.0, 0.5, 0.5);
  cairo_paint (cr);
  g_assert_cmpint (cairo_surface_write_to_png (surface, path), ==, CAIRO_STATUS_SUCCESS);
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
  stream = g_file_read (file, NULL, &error);
  digest = ef_store_add_file (store, G_INPUT_STREAM (stream), name, NULL, &error);
  g_assert_no_error (error);
  item = &ef_photo_new (digest, name, "image/png", 40, 30)->item;
  g_assert_true (ef_inspection_swap (inspection, NULL, item, &error));
  g_assert_no_error (error);

  return g_steal_pointer (&digest);
}

/* A gauge with a certificate that the store has, one that it doesn't, and the first again at another gauge. */
static void
add_certificates (EfInspection *inspection)
{
  g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_data (CERTIFICATE, -1, NULL);
  g_autoptr (GError) error = NULL;
  g_autofree char *digest = ef_store_add_file (store, stream, "Cert 114 ü.pdf", NULL, &error);
  g_autofree char *nowhere = g_strnfill (64, 'd');

  g_assert_no_error (error);
  for (guint i = 0; i < 2; i++)
    {
      g_autoptr (EfItem) item = (EfItem *) ef_gauge_default (EF_GAUGE_BORE);
      EfGauge *gauge = (EfGauge *) item;

      gauge->certificates = ef_certificates_add (NULL, ef_certificate_new (digest, "Cert 114 ü.pdf", "application/pdf"));
      if (i == 0)
        gauge->certificates = ef_certificates_add (gauge->certificates, ef_certificate_new (nowhere, "115.pdf", "application/pdf"));
      g_assert_true (ef_inspection_swap (inspection, NULL, item, &error));
      g_assert_no_error (error);
    }
}

static void
pack (guint without,
      const char *path)
{
  g_autoptr (GError) error = NULL;

  ef_claim_pack_write (store, job, EF_PAPER_A4, without, path, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
}

static void
make_store (void)
{
  g_autofree char *path = in_folder ("store.endfloat");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (EfInspection) made = NULL;
  g_autoptr (EfInspection) other = ef_inspection_new (sheet, "J-2");
  g_autoptr (EfInspection) loaded = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (EfSealKey) key = NULL;
  g_autoptr (EfItem) missing = NULL;
  g_autofree char *first = NULL;
  g_autofree char *second = NULL;

  store = ef_store_open (path, &error);
  g_assert_no_error (error);
  made = sample_inspection (sheet, 4);
  first = add_photo (made, 10, "IMG 7 ä.png");
  second = add_photo (made, 90, "IMG_8.png");
  lost = g_strnfill (64, 'c');
  missing = &ef_photo_new (lost, "IMG 9.png", "image/png", 40, 30)->item;
  g_assert_true (ef_inspection_swap (made, NULL, missing, &error));
  add_certificates (made);
  job = ef_store_add (store, made, &error);
  open_job = ef_store_add (store, other, &error);
  g_assert_no_error (error);
  loaded = ef_store_load (store, job, &error);
  assessment = sample_assess (loaded);
  key = ef_seal_key_make (store, "brass and oil", &ef_seal_strength_least, "owner", &error);
  g_assert_no_error (error);
  public_key = g_strdup (ef_seal_key_public (key));
  g_assert_cmpint (ef_seal_assessed_job (store, job, assessment, "inspector", "seen", key, &error), >, 0);
  g_assert_no_error (error);
  whole = in_folder ("whole.zip");
  short_pack = in_folder ("short.zip");
  pack (0, whole);
  pack (EF_CLAIM_WITHOUT_CUSTOMER | EF_CLAIM_WITHOUT_ROLES | EF_CLAIM_WITHOUT_NOTES, short_pack);
}

static char *
run_in (const char *where,
        const char *const *argv)
{
  g_autoptr (GError) error = NULL;
  char *output = NULL;
  int status = 0;

  g_spawn_sync (where, (char **) argv, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &output, NULL, &status, &error);
  g_assert_no_error (error);
  if (!g_spawn_check_wait_status (status, &error))
    g_error ("%s: %s", argv[0], output);

  return output;
}

static EfVerification *
verify (const char *path,
        GError **error)
{
  const EfVerifyOptions options = { .key = public_key };

  return ef_verify (path, &options, NULL, NULL, NULL, error);
}

static void
assert_holds (const char *path)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfVerification) verification = verify (path, &error);

  g_assert_no_error (error);
  if (!verification->holds)
    {
      g_autofree char *what = ef_verification_to_text (verification);

      g_error ("%.2000s", what);
    }
  g_assert_true (verification->anchored);
}

static gboolean
finds (const EfVerification *verification,
       EfVerifyLevel level,
       const char *place,
       const char *sentence)
{
  for (guint i = 0; i < verification->findings->len; i++)
    {
      const EfVerifyFinding *finding = verification->findings->pdata[i];

      if (finding->level == level && g_str_equal (finding->place, place) && strstr (finding->sentence, sentence) != NULL)
        return TRUE;
    }

  return FALSE;
}

static gboolean
take (const char *name,
      GBytes *bytes,
      gpointer user_data,
      GError **error)
{
  g_hash_table_insert (user_data, g_strdup (name), g_bytes_ref (bytes));

  return TRUE;
}

static GHashTable *
members_of (const char *path)
{
  GHashTable *members = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) g_bytes_unref);
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_zip_read (path, take, members, NULL, &error));
  g_assert_no_error (error);

  return members;
}

static char *
text_of (GHashTable *members,
         const char *name)
{
  GBytes *bytes = g_hash_table_lookup (members, name);

  g_assert_nonnull (bytes);

  return g_strndup (g_bytes_get_data (bytes, NULL), g_bytes_get_size (bytes));
}

static const char *
named_like (GHashTable *members,
            const char *part)
{
  g_autoptr (GList) names = g_list_sort (g_hash_table_get_keys (members), (GCompareFunc) strcmp);

  for (GList *name = names; name != NULL; name = name->next)
    if (strstr (name->data, part) != NULL)
      return name->data;
  g_error ("no member like %s", part);
}

static void
put (GHashTable *members,
     const char *name,
     const char *text)
{
  g_hash_table_insert (members, g_strdup (name), g_bytes_new (text, strlen (text)));
}

/* As whoever changes a pack does it who isn't stupid. */
static void
put_sums (GHashTable *members)
{
  g_autoptr (GList) names = NULL;
  g_autoptr (GString) text = g_string_new (NULL);

  g_hash_table_remove (members, EF_CLAIM_SUMS);
  names = g_list_sort (g_hash_table_get_keys (members), (GCompareFunc) strcmp);
  for (GList *name = names; name != NULL; name = name->next)
    {
      g_autofree char *digest = g_compute_checksum_for_bytes (G_CHECKSUM_SHA256, g_hash_table_lookup (members, name->data));

      g_string_append_printf (text, "%s  %s\n", digest, (char *) name->data);
    }
  put (members, EF_CLAIM_SUMS, text->str);
}

static EfVerification *
verify_members (GHashTable *members)
{
  g_autofree char *path = in_folder ("made.zip");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfZipWriter) writer = ef_zip_writer_new (path, 1772787600, &error);
  g_autoptr (GList) names = g_list_sort (g_hash_table_get_keys (members), (GCompareFunc) strcmp);
  EfVerification *verification;

  for (GList *name = names; name != NULL; name = name->next)
    ef_zip_writer_add (writer, name->data, g_hash_table_lookup (members, name->data), &error);
  ef_zip_writer_close (writer, &error);
  g_assert_no_error (error);
  verification = verify (path, &error);
  g_assert_no_error (error);

  return verification;
}

static void
test_whole (void)
{
  g_autofree char *again = in_folder ("again.zip");
  g_autofree char *out = in_folder ("unpacked");
  g_autofree char *tested = run_in (folder, (const char *const[]) { "unzip", "-tq", whole, NULL });
  g_autofree char *unpacked = run_in (folder, (const char *const[]) { "unzip", "-q", "-o", whole, "-d", out, NULL });
  g_autofree char *summed = run_in (out, (const char *const[]) { "sha256sum", "--strict", "-c", "SHA256SUMS", NULL });
  g_autofree char *same = NULL;
  g_autofree char *detached = run_in (out, (const char *const[]) { "pdfdetach", "-save", "1", "-o", "detached.json", "report.pdf", NULL });
  g_autoptr (GHashTable) members = members_of (whole);
  g_autofree char *readme = text_of (members, EF_CLAIM_README);
  g_autofree char *key = text_of (members, EF_CLAIM_KEY);
  g_autofree char *gauges = text_of (members, EF_CLAIM_GAUGES);
  g_autofree char *said = text_of (members, EF_CLAIM_VERIFICATION);
  g_autofree char *certificate = NULL;

  pack (0, again);
  same = run_in (folder, (const char *const[]) { "cmp", whole, again, NULL });
  same = (g_free (same), run_in (out, (const char *const[]) { "cmp", "detached.json", "J-0412.endfloat.json", NULL }));
  g_assert_nonnull (strstr (tested, "No errors detected"));
  g_assert_cmpuint (g_hash_table_size (members), ==, 10);
  g_assert_true (g_hash_table_contains (members, "photos/001-IMG-7---.png"));
  g_assert_true (g_hash_table_contains (members, "photos/002-IMG_8.png"));
  g_assert_nonnull (strstr (summed, "photos/002-IMG_8.png: OK"));
  g_assert_nonnull (strstr (readme, "sha256sum -c SHA256SUMS"));
  g_assert_nonnull (strstr (readme, public_key));
  g_assert_nonnull (strstr (readme, "Photos and certificates that are named in the job and that the shop's store doesn't have: IMG 9.png, 115.pdf"));
  g_assert_nonnull (strstr (gauges, "Depth micrometer 0–25 mm"));
  g_assert_nonnull (strstr (gauges, "certificate file: Cert 114 ü.pdf\n    certificates/001-Cert-114---.pdf\n    SHA-256 "));
  g_assert_nonnull (strstr (gauges, "certificate file: 115.pdf\n    the shop's store doesn't have it\n    SHA-256 dddd"));
  certificate = text_of (members, "certificates/001-Cert-114---.pdf");
  g_assert_cmpstr (certificate, ==, CERTIFICATE);
  g_assert_nonnull (strstr (said, "J-0412.endfloat.json: HOLDS"));
  g_assert_cmpuint (strlen (key), ==, 65);
  assert_holds (whole);
}

/* Nothing of what was left out is in any file of the pack; who sealed is, as it's part of what was signed. */
static void
test_left_out (void)
{
  static const char *const gone[] = { "working launch, port engine", "rebuilder", "bench 2", "From the delivery side", "can be felt with a nail" };
  g_autofree char *out = in_folder ("short");
  g_autofree char *unpacked = run_in (folder, (const char *const[]) { "unzip", "-q", "-o", short_pack, "-d", out, NULL });
  g_autofree char *pdf = run_in (out, (const char *const[]) { "pdftotext", "-layout", "report.pdf", "-", NULL });
  g_autofree char *info = run_in (out, (const char *const[]) { "pdfinfo", "report.pdf", NULL });
  g_autofree char *attached = run_in (out, (const char *const[]) { "pdfdetach", "-list", "report.pdf", NULL });
  g_autoptr (GHashTable) all = members_of (whole);
  g_autoptr (GHashTable) members = members_of (short_pack);
  g_autofree char *sealed = text_of (all, "J-0412.endfloat.json");
  g_autofree char *disclosure = text_of (members, EF_CLAIM_DISCLOSURE);
  GHashTableIter iter;
  gpointer name, bytes;
  guint there = 0;

  assert_holds (short_pack);
  for (guint i = 0; i < G_N_ELEMENTS (gone); i++)
    {
      there += strstr (sealed, gone[i]) != NULL;
      g_hash_table_iter_init (&iter, members);
      while (g_hash_table_iter_next (&iter, &name, &bytes))
        if (memmem (g_bytes_get_data (bytes, NULL), g_bytes_get_size (bytes), gone[i], strlen (gone[i])) != NULL)
          g_error ("\"%s\" is in %s", gone[i], (char *) name);
      if (strstr (pdf, gone[i]) != NULL || strstr (info, gone[i]) != NULL)
        g_error ("\"%s\" is on the pages", gone[i]);
    }
  g_assert_cmpuint (there, >, 2);
  g_assert_nonnull (strstr (pdf, "Left out of these pages by choice: customer, roles and benches, notes."));
  g_assert_nonnull (strstr (pdf, "are, to the last digit, those that were sealed"));
  g_assert_nonnull (strstr (attached, "0 embedded files"));
  g_assert_nonnull (strstr (disclosure, "inspector"));
  g_assert_nonnull (strstr (disclosure, "\"withheld\""));
}

static void
test_no_photos (void)
{
  g_autofree char *path = in_folder ("no-photos.zip");
  g_autofree char *out = in_folder ("no-photos");
  g_autofree char *all_out = in_folder ("photos-too");
  g_autofree char *unpacked = NULL;
  g_autofree char *pdf = NULL;
  g_autofree char *attached = NULL;
  g_autofree char *all = NULL;
  g_autofree char *all_pdf = NULL;
  g_autoptr (GHashTable) members = NULL;
  g_autoptr (EfVerification) verification = NULL;

  pack (EF_CLAIM_WITHOUT_PHOTOS, path);
  members = members_of (path);
  verification = verify (path, NULL);
  g_assert_true (verification->holds);
  g_assert_true (finds (verification, EF_VERIFY_NOTE, "photos", "isn't in the pack"));
  g_assert_false (g_hash_table_contains (members, "photos/002-IMG_8.png"));
  unpacked = run_in (folder, (const char *const[]) { "unzip", "-q", "-o", path, "-d", out, NULL });
  pdf = run_in (out, (const char *const[]) { "pdftotext", "-layout", "report.pdf", "-", NULL });
  attached = run_in (out, (const char *const[]) { "pdfdetach", "-list", "report.pdf", NULL });
  all = run_in (folder, (const char *const[]) { "unzip", "-q", "-o", whole, "-d", all_out, NULL });
  all_pdf = run_in (all_out, (const char *const[]) { "pdftotext", "-layout", "report.pdf", "-", NULL });
  g_assert_null (strstr (pdf, "IMG_8"));
  g_assert_nonnull (strstr (all_pdf, "IMG_8"));
  g_assert_nonnull (strstr (pdf, "Left out of these pages by choice: photos."));
  g_assert_nonnull (strstr (attached, "J-0412.endfloat.json"));
}

/* By choice: the files aren't there and gauges.txt says so; the sealed job is whole. In a disclosure they are there and still covered. */
static void
test_no_certificates (void)
{
  g_autofree char *path = in_folder ("no-certificates.zip");
  g_autoptr (GHashTable) members = NULL;
  g_autoptr (GHashTable) disclosed = members_of (short_pack);
  g_autoptr (EfVerification) verification = NULL;
  g_autofree char *gauges = NULL;
  g_autofree char *sealed = NULL;

  pack (EF_CLAIM_WITHOUT_CERTIFICATES, path);
  members = members_of (path);
  verification = verify (path, NULL);
  g_assert_true (verification->holds);
  g_assert_true (finds (verification, EF_VERIFY_NOTE, "certificates", "isn't in the pack"));
  g_assert_cmpuint (g_hash_table_size (members), ==, 9);
  gauges = text_of (members, EF_CLAIM_GAUGES);
  g_assert_nonnull (strstr (gauges, "certificate file: Cert 114 ü.pdf\n    left out by choice\n    SHA-256 "));
  sealed = text_of (members, "J-0412.endfloat.json");
  g_assert_nonnull (strstr (sealed, "Cert 114"));
  g_assert_true (g_hash_table_contains (disclosed, "certificates/001-Cert-114---.pdf"));
}

#define CHANGED(what, place, sentence) \
  G_STMT_START { \
    g_autoptr (GHashTable) members = members_of (whole); \
    g_autoptr (EfVerification) verification_ = NULL; \
    what; \
    verification_ = verify_members (members); \
    g_assert_false (verification_->holds); \
    if (!finds (verification_, EF_VERIFY_BROKEN, (place), (sentence))) \
      { \
        g_autofree char *text_ = ef_verification_to_text (verification_); \
        g_error ("%s isn't named: %.1000s", (place), text_); \
      } \
  } G_STMT_END

static void
change_sealed (GHashTable *members)
{
  g_autofree char *text = text_of (members, "J-0412.endfloat.json");
  char *at = strstr (text, "\"hours\": ");

  g_assert_nonnull (at);
  at[9] = at[9] == '1' ? '2' : '1';
  put (members, "J-0412.endfloat.json", text);
}

static void
swap_photo (GHashTable *members)
{
  GBytes *other = g_hash_table_lookup (members, named_like (members, "002-IMG"));
  gsize length;
  char *copy = g_memdup2 (g_bytes_get_data (other, &length), g_bytes_get_size (other));

  copy[length / 2] ^= 1;
  g_hash_table_insert (members, g_strdup (named_like (members, "002-IMG")), g_bytes_new_take (copy, length));
}

/* One thing each, with the list of digests as it was, or made to fit. */
static void
test_changed (void)
{
  CHANGED (put (members, EF_CLAIM_README, "trust us\n"), EF_CLAIM_README, "it was changed since it was packed");
  CHANGED (put (members, "more.txt", "more\n"), "more.txt", "it isn't listed");
  CHANGED (g_hash_table_remove (members, EF_CLAIM_GAUGES), EF_CLAIM_GAUGES, "missing");
  CHANGED (g_hash_table_remove (members, EF_CLAIM_SUMS), EF_CLAIM_SUMS, "found none");
  CHANGED (put (members, EF_CLAIM_SUMS, "no digests\n"), "SHA256SUMS: line 1", "expected a digest");
  CHANGED (put (members, EF_CLAIM_SUMS, "\xff\xfe\n"), EF_CLAIM_SUMS, "expected text");
  CHANGED (g_hash_table_remove (members, named_like (members, "002-IMG")), "photos/002-IMG_8.png", "missing");
  CHANGED (swap_photo (members), "photos/002-IMG_8.png", "it was changed since");
  CHANGED ((swap_photo (members), put_sums (members)), "photos/002-IMG_8.png", "no photo with these bytes was sealed");
  CHANGED ((put (members, "photos/003-x.png", "x"), put_sums (members)), "photos/003-x.png", "no photo with these bytes");
  CHANGED ((put (members, "certificates/001-Cert-114---.pdf", "%PDF-1.4 other\n"), put_sums (members)), "certificates/001-Cert-114---.pdf",
           "no certificate with these bytes was sealed");
  CHANGED ((put (members, "certificates/002-x.pdf", "x"), put_sums (members)), "certificates/002-x.pdf", "no certificate with these bytes");
  CHANGED (g_hash_table_remove (members, "certificates/001-Cert-114---.pdf"), "certificates/001-Cert-114---.pdf", "missing");
  CHANGED ((change_sealed (members), put_sums (members)), "job: running hours", "found");
  CHANGED ((change_sealed (members), put_sums (members)), EF_CLAIM_REPORT, "isn't the J-0412.endfloat.json of the pack");
  CHANGED ((put (members, EF_CLAIM_REPORT, "%PDF-1.7\n"), put_sums (members)), EF_CLAIM_REPORT, "damaged or cut off");
  CHANGED ((g_hash_table_remove (members, EF_CLAIM_REPORT), put_sums (members)), EF_CLAIM_REPORT, "found none");
  CHANGED ((g_hash_table_remove (members, "J-0412.endfloat.json"), put_sums (members)), "seal", "found none");
  CHANGED ((put (members, EF_CLAIM_KEY, "00\n"), put_sums (members)), EF_CLAIM_KEY, "expected the key of the seal");
}

#undef CHANGED

static void
assert_disclosure (const char *before,
                   const char *after,
                   const char *place,
                   const char *sentence)
{
  g_autoptr (GHashTable) members = members_of (short_pack);
  g_autofree char *text = text_of (members, EF_CLAIM_DISCLOSURE);
  g_autoptr (GString) changed = g_string_new (text);
  g_autoptr (EfVerification) verification = NULL;

  if (g_string_replace (changed, before, after, 1) != 1)
    g_error ("\"%s\" isn't in the disclosure", before);
  verification = ef_verify_text (changed->str, changed->len, "d", NULL, NULL);
  g_assert_false (verification->holds);
  if (!finds (verification, EF_VERIFY_BROKEN, place, sentence))
    {
      g_autofree char *what = ef_verification_to_text (verification);

      g_error ("%s isn't named: %s", place, what);
    }
}

static void
test_disclosure (void)
{
  assert_disclosure ("\"decision\": \"", "\"decision\": \"x", "part rules", "it isn't what was sealed");
  assert_disclosure ("\"rules\": {", "\"rulez\": {", "part rules", "it was sealed, is missing");
  assert_disclosure ("\"rules\": {", "\"rulez\": {", "rulez", "a part that wasn't sealed");
  assert_disclosure ("\"inspection\",", "\"inspectiom\",", "part inspection", "isn't said to be left out");
  assert_disclosure ("\"seen\"", "\"unseen\"", "seal: statement", "signature");
  assert_disclosure ("\"withheld\"", "\"more\": 1, \"withheld\"", "more", "doesn't belong");
}

/* Bytes of members: all found, by digest or CRC. Bytes anywhere: what holds has the very same members. */
static void
test_bytes (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (17);
  g_autoptr (GHashTable) before = members_of (short_pack);
  g_autofree char *data = NULL;
  g_autofree char *path = in_folder ("flipped.zip");
  guint refused = 0;
  gsize length;

  g_assert_true (g_file_get_contents (short_pack, &data, &length, NULL));
  for (guint round = 0; round < ROUNDS (60); round++)
    {
      gsize at = (gsize) g_rand_int_range (rand, 0, (gint32) length);
      char kept = data[at];
      g_autoptr (GError) error = NULL;
      g_autoptr (EfVerification) verification = NULL;

      data[at] = (char) (data[at] ^ (1 << g_rand_int_range (rand, 0, 8)));
      g_assert_true (g_file_set_contents (path, data, (gssize) length, NULL));
      data[at] = kept;
      verification = verify (path, &error);
      refused += verification == NULL || !verification->holds;
      if (verification != NULL && verification->holds)
        {
          g_autoptr (GHashTable) after = members_of (path);
          GHashTableIter iter;
          gpointer name, bytes;

          g_assert_cmpuint (g_hash_table_size (after), ==, g_hash_table_size (before));
          g_hash_table_iter_init (&iter, before);
          while (g_hash_table_iter_next (&iter, &name, &bytes))
            g_assert_true (g_bytes_equal (bytes, g_hash_table_lookup (after, name)));
        }
    }
  g_test_message ("%u of %u refused", refused, ROUNDS (60));
  g_assert_cmpuint (refused, >, ROUNDS (60) * 9 / 10);
}

static gboolean
count (const char *name,
       GBytes *bytes,
       gpointer user_data,
       GError **error)
{
  ++*(guint *) user_data;

  return TRUE;
}

static void
test_hostile (void)
{
  static const struct
  {
    const char *name, *words;
  } cases[] = {
    { "up", "may lead out of it" }, { "up-within", "may lead out of it" }, { "absolute", "an absolute path" }, { "drive", "an absolute path" },
    { "backslash", "an absolute path" }, { "link", "found a link" }, { "device", "found something else" }, { "folder", "found a folder" },
    { "hidden-name", "expected a name of letters" }, { "twice", "found it twice" }, { "twice-case", "found it twice" }, { "bad-utf8", "expected a name in UTF-8" },
    { "not-ascii", "expected a name of letters" }, { "control", "expected a name of letters" }, { "nested", "a zip within the zip" }, { "bzip2", "method 12" },
    { "lzma", "method 14" }, { "bomb", "at most 64 MiB" }, { "bomb-lying", "at most 64 MiB" }, { "many", "at most 2000 members" }, { "encrypted", "encrypted" },
    { "two-names", "same name in both" }, { "two-crcs", "agree on size and CRC" }, { "wrong-crc", "it is damaged" }, { "wrong-size", "it is damaged" },
    { "trailing", "something follows its end" }, { "comment", "something follows its end" }, { "leading", "expected a zip file in one piece" },
    { "hidden-member", "hidden bytes" }, { "overlap", "hidden bytes" }, { "empty", "something else" }, { "zip64", "in one piece" }, { "cut-0", "cut off" },
    { "cut-1", "cut off" }, { "cut-2", "cut off" }, { "cut-3", "cut off" },
  };
  g_autofree char *script = g_test_build_filename (G_TEST_DIST, "draw", "hostile-zips.py", NULL);
  g_autofree char *made = run_in (folder, (const char *const[]) { "python3", script, folder, NULL });
  g_autofree char *good = in_folder ("good.zip");
  guint n = 0;

  g_assert_true (ef_zip_read (good, count, &n, NULL, NULL));
  g_assert_cmpuint (n, ==, 2);
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *name = g_strconcat (cases[i].name, ".zip", NULL);
      g_autofree char *path = in_folder (name);
      g_autoptr (GError) error = NULL;

      g_assert_true (g_file_test (path, G_FILE_TEST_EXISTS));
      if (ef_zip_read (path, count, &n, NULL, &error))
        g_error ("%s is read", name);
      g_assert_true (g_utf8_validate (error->message, -1, NULL));
      if (strstr (error->message, cases[i].words) == NULL || strstr (error->message, name) == NULL)
        g_error ("\"%s\" isn't in: %s", cases[i].words, error->message);
    }
}

static void
stop (double share,
      gpointer user_data)
{
  if (share > 0.5)
    g_cancellable_cancel (user_data);
}

static void
test_refused (void)
{
  g_autofree char *path = in_folder ("none.zip");
  g_autofree char *nowhere = in_folder ("no/such/folder.zip");
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GError) open = NULL;
  g_autoptr (GError) cancelled = NULL;
  g_autoptr (GError) no_place = NULL;
  g_autoptr (GError) word = NULL;
  g_autoptr (GDir) dir = NULL;
  const char *name;
  guint without = 0;

  g_assert_false (ef_claim_pack_write (store, open_job, EF_PAPER_A4, 0, path, NULL, NULL, NULL, &open));
  g_assert_error (open, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (open->message, "job J-2: expected a sealed job"));
  g_assert_false (ef_claim_pack_write (store, job, EF_PAPER_A4, 0, path, stop, cancellable, cancellable, &cancelled));
  g_assert_error (cancelled, EF_ERROR, EF_ERROR_CANCELLED);
  g_assert_false (ef_claim_pack_write (store, job, EF_PAPER_A4, 0, nowhere, NULL, NULL, NULL, &no_place));
  g_assert_error (no_place, EF_ERROR, EF_ERROR_IO);
  dir = g_dir_open (folder, 0, NULL);
  while ((name = g_dir_read_name (dir)) != NULL)
    g_assert_false (g_str_has_prefix (name, "none.zip"));
  g_assert_true (ef_claim_without_parse ("roles, photos", &without, NULL));
  g_assert_cmpuint (without, ==, EF_CLAIM_WITHOUT_ROLES | EF_CLAIM_WITHOUT_PHOTOS);
  g_assert_false (ef_claim_without_parse ("roles,faces", &without, &word));
  g_assert_nonnull (strstr (word->message, "\"faces\""));
}

int
main (int argc,
      char **argv)
{
  int result;

  isolated_test_init (&argc, &argv);
  folder = g_dir_make_tmp ("claim-pack-XXXXXX", NULL);
  make_store ();
  g_test_add_func ("/claim-pack/whole", test_whole);
  g_test_add_func ("/claim-pack/left-out", test_left_out);
  g_test_add_func ("/claim-pack/no-photos", test_no_photos);
  g_test_add_func ("/claim-pack/no-certificates", test_no_certificates);
  g_test_add_func ("/claim-pack/changed", test_changed);
  g_test_add_func ("/claim-pack/disclosure", test_disclosure);
  g_test_add_func ("/claim-pack/bytes", test_bytes);
  g_test_add_func ("/claim-pack/hostile", test_hostile);
  g_test_add_func ("/claim-pack/refused", test_refused);
  result = g_test_run ();
  ef_store_close (store);
  isolated_remove (folder);
  g_free (folder);
  g_free (whole);
  g_free (short_pack);
  g_free (public_key);
  g_free (lost);

  return result;
}
