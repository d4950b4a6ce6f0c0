/* A sealed exchange file in a PDF: read by others, changed byte by byte, and PDFs made to do harm.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Read independently by pdfdetach (poppler) and qpdf --check. The PDFs are written here, object by object, by ISO 32000-1, 7.5; all constructed. -m slow makes
 * 1,000 changes of each sort.
 */
#include "sealed-store.h"
#include "../inspection/random-inspection.h"

#include "record/ef-pdf-attachment.h"

#include <glib/gstdio.h>
#include <string.h>
#include "../isolate.h"

#define ROUNDS(few) (g_test_slow () ? 1000u : (few))
#define CATALOG "<< /Type /Catalog /Pages 2 0 R >>"
#define PAGES "<< /Type /Pages /Kids [3 0 R] /Count 1 >>"
#define PAGE "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 100 100] >>"

static char *sealed;     /* the exchange file */
static char *public_key; /* it was sealed with */
static char *digest;

static void
make_sealed (void)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "pdf.sqlite", NULL);
  g_autoptr (GRand) rand = g_rand_new_with_seed (91);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  gint64 job = add_random_job (store, rand, 6);
  g_autoptr (GPtrArray) seals = NULL;

  seal_small (store, job, "clerk", "looked through", key);
  sealed = ef_seal_export (store, job, &error);
  g_assert_no_error (error);
  seals = ef_seals_of_job (store, job, &error);
  digest = g_strdup (((EfSeal *) seals->pdata[0])->digest);
  public_key = g_strdup (ef_seal_key_public (key));
  g_clear_pointer (&store, ef_store_close);
  remove_store (path);
}

/* @objects: texts, NULL-terminated; number 1 is the catalog. */
static GBytes *
pdf_of (const char *const *objects,
        const char *trailer)
{
  GByteArray *out = g_byte_array_new ();
  g_autoptr (GString) table = g_string_new ("0000000000 65535 f \n");
  g_autofree char *end = NULL;
  guint n = 0;

  g_byte_array_append (out, (const guint8 *) "%PDF-1.7\n", 9);
  for (; objects[n] != NULL; n++)
    {
      g_autofree char *text = g_strdup_printf ("%u 0 obj\n%s\nendobj\n", n + 1, objects[n]);

      g_string_append_printf (table, "%010u 00000 n \n", out->len);
      g_byte_array_append (out, (const guint8 *) text, (guint) strlen (text));
    }
  end = g_strdup_printf ("xref\n0 %u\n%strailer\n<< /Size %u /Root 1 0 R %s >>\nstartxref\n%u\n%%%%EOF\n", n + 1, table->str, n + 1, trailer, out->len);
  g_byte_array_append (out, (const guint8 *) end, (guint) strlen (end));

  return g_byte_array_free_to_bytes (out);
}

static GBytes *
plain_pdf (void)
{
  return pdf_of ((const char *const[]) { CATALOG, PAGES, PAGE, NULL }, "");
}

static GBytes *
attach (const char *text)
{
  g_autoptr (GBytes) pdf = plain_pdf ();
  g_autoptr (GBytes) file = g_bytes_new_static (text, strlen (text));
  const EfPdfAttachment attachment = { .name = "J-1.endfloat.json", .description = "sealed", .created = "2026-03-09T08:00:00Z", .file = file,
                                       .number = 2, .digest = digest, .key = public_key };
  g_autoptr (GError) error = NULL;
  GBytes *out = ef_pdf_attach (pdf, &attachment, &error);

  g_assert_no_error (error);

  return out;
}

static char *
write_pdf (GBytes *pdf)
{
  char *path = g_build_filename (g_get_user_data_dir (), "test.pdf", NULL);

  g_assert_true (g_file_set_contents (path, g_bytes_get_data (pdf, NULL), (gssize) g_bytes_get_size (pdf), NULL));

  return path;
}

static EfVerification *
verify (GBytes *pdf,
        const char *key,
        GError **error)
{
  g_autofree char *path = write_pdf (pdf);
  const EfVerifyOptions options = { .key = key };

  return ef_verify (path, &options, NULL, NULL, NULL, error);
}

/* Exit code 0, no words but on its output. */
static char *
run (const char *const *argv)
{
  g_autoptr (GError) error = NULL;
  char *output = NULL;
  int status = 0;

  g_spawn_sync (NULL, (char **) argv, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &output, NULL, &status, &error);
  g_assert_no_error (error);
  g_assert_true (g_spawn_check_wait_status (status, &error));

  return output;
}

static gboolean
names (const EfVerification *verification,
       const char *place)
{
  for (guint i = 0; i < verification->findings->len; i++)
    {
      const EfVerifyFinding *finding = verification->findings->pdata[i];

      if (finding->level == EF_VERIFY_BROKEN && g_str_equal (finding->place, place))
        return TRUE;
    }

  return FALSE;
}

static void
test_round_trip (void)
{
  g_autoptr (GBytes) pdf = attach (sealed);
  g_autoptr (GBytes) again = attach (sealed);
  g_autofree char *path = write_pdf (pdf);
  g_autofree char *out = g_strconcat (path, ".json", NULL);
  g_autofree char *checked = run ((const char *[]) { "qpdf", "--check", path, NULL });
  g_autofree char *listed = run ((const char *[]) { "pdfdetach", "-list", path, NULL });
  g_autofree char *saved = run ((const char *[]) { "pdfdetach", "-save", "1", "-o", out, path, NULL });
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (EfVerification) wrong = NULL;
  g_autoptr (EfPdfRead) read = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *detached = NULL;
  g_autofree char *other_key = g_strnfill (64, 'a');

  g_assert_true (g_bytes_equal (pdf, again));
  g_assert_nonnull (strstr (checked, "No syntax or stream encoding errors found"));
  g_assert_nonnull (strstr (listed, "1: J-1.endfloat.json"));
  g_assert_true (g_file_get_contents (out, &detached, NULL, NULL));
  g_assert_cmpstr (detached, ==, sealed);
  read = ef_pdf_read (pdf, "test.pdf", &error);
  g_assert_no_error (error);
  g_assert_cmpstr (read->name, ==, "J-1.endfloat.json");
  g_assert_cmpmem (g_bytes_get_data (read->file, NULL), g_bytes_get_size (read->file), sealed, strlen (sealed));
  verification = verify (pdf, public_key, &error);
  g_assert_no_error (error);
  assert_holds (verification);
  g_assert_true (verification->anchored);
  g_assert_cmpint (verification->last, ==, 2);
  g_assert_cmpstr (verification->digest, ==, digest);
  wrong = verify (pdf, other_key, &error);
  g_assert_no_error (error);
  g_assert_false (wrong->holds);
}

/* The same file put in by another program (qpdf's own way to attach) is read alike, but states no seal. */
static void
test_other_writer (void)
{
  g_autoptr (GBytes) pdf = plain_pdf ();
  g_autofree char *path = write_pdf (pdf);
  g_autofree char *json = g_build_filename (g_get_user_data_dir (), "J-1.json", NULL);
  g_autofree char *out = g_strconcat (path, ".out.pdf", NULL);
  g_autofree char *done = NULL;
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_true (g_file_set_contents (json, sealed, -1, NULL));
  done = run ((const char *[]) { "qpdf", "--add-attachment", json, "--", path, out, NULL });
  verification = ef_verify (out, NULL, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_false (verification->holds);
  g_assert_true (names (verification, "attachment: SHA-256"));
  g_assert_false (names (verification, "attachment: checksum"));
  g_assert_false (names (verification, "seal: form"));
}

/* What the document states beside the file. */
static void
test_stated (void)
{
  static const struct
  {
    const char *before, *after, *place;
  } changes[] = {
    { "/EndfloatSealNumber (2)", "/EndfloatSealNumber (3)", "PDF: number of the seal" },
    { "/EndfloatSealNumber (2)", "/EndfloatSealNumbex (2)", "PDF: number of the seal" },
    { "/EndfloatSealDigest (", "/EndfloatSealDigesx (", "PDF: digest of the seal" },
    { "/EndfloatSealKey (", "/EndfloatSealKex (", "PDF: public key" },
    { "/EndfloatFileSHA256 (", "/EndfloatFileSHA25x (", "attachment: SHA-256" },
    { "/CheckSum <", "/CheckSux <", "attachment: checksum" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (changes); i++)
    {
      g_autoptr (GBytes) pdf = attach (sealed);
      gsize length;
      const char *data = g_bytes_get_data (pdf, &length);
      g_autofree char *copy = g_memdup2 (data, length);
      char *at = memmem (copy, length, changes[i].before, strlen (changes[i].before));
      g_autoptr (GBytes) changed = NULL;
      g_autoptr (EfVerification) verification = NULL;
      g_autoptr (GError) error = NULL;

      if (at == NULL)
        g_error ("\"%s\" isn't in the PDF", changes[i].before);
      memcpy (at, changes[i].after, strlen (changes[i].after));
      changed = g_bytes_new_take (g_steal_pointer (&copy), length);
      verification = verify (changed, NULL, &error);
      g_assert_no_error (error);
      if (!names (verification, changes[i].place))
        g_error ("%s isn't named", changes[i].place);
    }
}

static void
test_attachment_bytes (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (92);
  g_autoptr (GBytes) pdf = attach (sealed);
  gsize length;
  const char *data = g_bytes_get_data (pdf, &length);
  const char *start = memmem (data, length, sealed, strlen (sealed));

  g_assert_nonnull (start);
  for (guint round = 0; round < ROUNDS (100); round++)
    {
      char *copy = g_memdup2 (data, length);
      gsize at = (gsize) (start - data) + (gsize) g_rand_int_range (rand, 0, (gint32) strlen (sealed));
      g_autoptr (GBytes) changed = g_bytes_new_take (copy, length);
      g_autoptr (EfVerification) verification = NULL;
      g_autoptr (GError) error = NULL;

      copy[at] = (char) (copy[at] ^ (1 << g_rand_int_range (rand, 0, 8)));
      verification = verify (changed, public_key, &error);
      if (verification != NULL && verification->holds)
        g_error ("byte %" G_GSIZE_FORMAT " was changed, and nothing found", at);
    }
}

/* Anywhere: what holds is the very file that was attached. */
static void
test_any_bytes (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (93);
  g_autoptr (GBytes) pdf = attach (sealed);
  gsize length;
  const char *data = g_bytes_get_data (pdf, &length);
  const char *start = memmem (data, length, sealed, strlen (sealed));
  gsize before = (gsize) (start - data), after = length - before - strlen (sealed);
  guint refused = 0;

  for (guint round = 0; round < ROUNDS (200); round++)
    {
      char *copy = g_memdup2 (data, length);
      gsize at = (gsize) g_rand_int_range (rand, 0, (gint32) (before + after));
      g_autoptr (GBytes) changed = g_bytes_new_take (copy, length);
      g_autoptr (EfVerification) verification = NULL;
      g_autoptr (GError) error = NULL;

      at += at >= before ? strlen (sealed) : 0;
      copy[at] = (char) (copy[at] ^ (1 << g_rand_int_range (rand, 0, 8)));
      verification = verify (changed, public_key, &error);
      refused += verification == NULL || !verification->holds;
      if (verification != NULL && verification->holds)
        {
          g_autoptr (EfPdfRead) read = ef_pdf_read (changed, "test.pdf", NULL);

          g_assert_cmpmem (g_bytes_get_data (read->file, NULL), g_bytes_get_size (read->file), sealed, strlen (sealed));
        }
    }
  g_test_message ("%u of %u refused", refused, ROUNDS (200));
  g_assert_cmpuint (refused, >, ROUNDS (200) / 10);
}

static void
assert_refused (GBytes *pdf,
                const char *words)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfVerification) verification = verify (pdf, NULL, &error);

  if (verification != NULL)
    g_error ("it isn't refused (%s)", words);
  g_assert_true (g_utf8_validate (error->message, -1, NULL));
  if (strstr (error->message, words) == NULL || strstr (error->message, "test.pdf") == NULL)
    g_error ("\"%s\" isn't in: %s", words, error->message);
}

#define assert_text_refused(trailer, words, ...) \
  G_STMT_START { \
    g_autoptr (GBytes) pdf_ = pdf_of ((const char *const[]) { __VA_ARGS__, NULL }, (trailer)); \
    assert_refused (pdf_, (words)); \
  } G_STMT_END

#define EMBEDDED(tree) "<< /Type /Catalog /Pages 2 0 R /Names << /EmbeddedFiles " tree " >> >>"
#define SPEC "<< /Type /Filespec /F (a.json) /EF << /F 5 0 R >> >>"
#define STREAM "<< /Length 2 >>\nstream\n{}\nendstream"

static void
test_no_pdf (void)
{
  g_autoptr (GBytes) whole = attach (sealed);
  gsize length = g_bytes_get_size (whole);

  for (guint i = 1; i < 60; i++)
    {
      g_autoptr (GBytes) cut = g_bytes_new_from_bytes (whole, 0, 8 + (length - 12) * i / 60);

      assert_refused (cut, "expected");
    }
  for (guint i = 0; i < 60; i++)
    {
      g_autoptr (GRand) rand = g_rand_new_with_seed (i);
      gsize n = (gsize) g_rand_int_range (rand, 10, 5000);
      char *noise = g_malloc (n);
      g_autoptr (GBytes) garbage = g_bytes_new_take (noise, n);

      for (gsize k = 0; k < n; k++)
        noise[k] = (char) g_rand_int_range (rand, 0, 256);
      memcpy (noise, "%PDF-", 5);
      assert_refused (garbage, "damaged or cut off");
    }
}

static void
test_attachments (void)
{
  g_autofree char *long_name = g_strnfill (300, 'n');
  g_autofree char *long_spec = g_strdup_printf ("<< /Type /Filespec /F (%s) /EF << /F 5 0 R >> >>", long_name);

  assert_text_refused ("", "a PDF with no attachment", CATALOG, PAGES, PAGE);
  assert_text_refused ("", "a PDF with no attachment", EMBEDDED ("<< /Names [] >>"), PAGES, PAGE);
  assert_text_refused ("", "found 2", EMBEDDED ("<< /Names [(a) 4 0 R (b) 4 0 R] >>"), PAGES, PAGE, SPEC, STREAM);
  assert_text_refused ("", "found 2", EMBEDDED ("<< /Kids [<< /Names [(a) 4 0 R] >> << /Names [(b) 4 0 R] >>] >>"), PAGES, PAGE, SPEC, STREAM);
  assert_text_refused ("", "runs in a circle", EMBEDDED ("6 0 R"), PAGES, PAGE, SPEC, STREAM, "<< /Kids [7 0 R] >>", "<< /Kids [6 0 R] >>");
  assert_text_refused ("", "runs in a circle", EMBEDDED ("6 0 R"), PAGES, PAGE, SPEC, STREAM, "<< /Kids [6 0 R] >>");
  assert_text_refused ("", "expected one file, found none", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, "<< /F (a) /EF << /F 1 0 R >> >>", STREAM);
  assert_text_refused ("", "another one under each", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, "<< /F (a) /EF << /F 5 0 R /UF 6 0 R >> >>", STREAM, STREAM);
  assert_text_refused ("", "one without", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, "<< /EF << /F 5 0 R >> >>", STREAM);
  /* marked as UTF-8 (ISO 32000-2, 7.9.2.2), which it isn't; a NUL; too long */
  assert_text_refused ("", "name of the attachment", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, "<< /UF <EFBBBF61FFFE> /EF << /F 5 0 R >> >>", STREAM);
  assert_text_refused ("", "name of the attachment", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, "<< /UF <610062> /EF << /F 5 0 R >> >>", STREAM);
  assert_text_refused ("", "name of the attachment", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, long_spec, STREAM);
  assert_text_refused ("", "found another way", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, SPEC, "<< /Length 5 /Filter /ASCIIHexDecode >>\nstream\n7b7d>\nendstream");
  assert_text_refused ("", "found another way", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, SPEC,
                       "<< /Length 2 /Filter [/FlateDecode /FlateDecode] >>\nstream\n{}\nendstream");
  assert_text_refused ("", "attachment: it is damaged", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, SPEC, "<< /Length 2 /Filter /FlateDecode >>\nstream\n{}\nendstream");
  assert_text_refused ("", "damaged", EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, SPEC, "<< /Length 2000000 >>\nstream\n{}\nendstream");
  assert_text_refused ("/Encrypt << /Filter /Standard /V 1 /R 2 /O (x) /U (y) /P 0 >>", "an encrypted one", CATALOG, PAGES, PAGE);
  assert_text_refused ("/Prev 9", "saved anew by another program", CATALOG, PAGES, PAGE);
  assert_text_refused ("/Pr#65v 9", "saved anew by another program", CATALOG, PAGES, PAGE);
  assert_text_refused ("/XRefStm 9", "saved anew by another program", CATALOG, PAGES, PAGE);
  assert_text_refused ("/Root 99 0 R", "", PAGES, PAGE);
}

/* 65 MiB and a byte of nothing, packed a thousand to one. */
static void
test_bomb (void)
{
  g_autoptr (GConverter) converter = G_CONVERTER (g_zlib_compressor_new (G_ZLIB_COMPRESSOR_FORMAT_ZLIB, 1));
  g_autoptr (GOutputStream) memory = g_memory_output_stream_new_resizable ();
  g_autoptr (GOutputStream) stream = g_converter_output_stream_new (memory, converter);
  g_autofree char *nothing = g_malloc0 (1 << 20);
  g_autoptr (GByteArray) file = g_byte_array_new ();
  g_autoptr (GBytes) packed = NULL;
  g_autoptr (GBytes) pdf = NULL;
  g_autofree char *head = NULL;
  g_autofree char *tail = NULL;
  static const char *const before[] = { EMBEDDED ("<< /Names [(a) 4 0 R] >>"), PAGES, PAGE, SPEC };
  guint32 offsets[5], at;

  for (guint i = 0; i < 65; i++)
    g_assert_true (g_output_stream_write_all (stream, nothing, 1 << 20, NULL, NULL, NULL));
  g_assert_true (g_output_stream_close (stream, NULL, NULL));
  packed = g_memory_output_stream_steal_as_bytes (G_MEMORY_OUTPUT_STREAM (memory));
  g_byte_array_append (file, (const guint8 *) "%PDF-1.7\n", 9);
  for (guint i = 0; i < 5; i++)
    {
      g_autofree char *text = i < 4 ? g_strdup_printf ("%u 0 obj\n%s\nendobj\n", i + 1, before[i])
                                    : g_strdup_printf ("5 0 obj\n<< /Length %" G_GSIZE_FORMAT " /Filter /FlateDecode >>\nstream\n", g_bytes_get_size (packed));

      offsets[i] = file->len;
      g_byte_array_append (file, (const guint8 *) text, (guint) strlen (text));
    }
  g_byte_array_append (file, g_bytes_get_data (packed, NULL), (guint) g_bytes_get_size (packed));
  head = g_strdup ("\nendstream\nendobj\n");
  g_byte_array_append (file, (const guint8 *) head, (guint) strlen (head));
  at = file->len;
  tail = g_strdup_printf ("xref\n0 6\n0000000000 65535 f \n%010u 00000 n \n%010u 00000 n \n%010u 00000 n \n%010u 00000 n \n%010u 00000 n \n"
                          "trailer\n<< /Size 6 /Root 1 0 R >>\nstartxref\n%u\n%%%%EOF\n",
                          offsets[0], offsets[1], offsets[2], offsets[3], offsets[4], at);
  g_byte_array_append (file, (const guint8 *) tail, (guint) strlen (tail));
  g_assert_cmpuint (file->len, <, 1 << 20);
  pdf = g_byte_array_free_to_bytes (g_steal_pointer (&file));
  assert_refused (pdf, "expected at most 64 MiB");
}

/* As other programs save it: encrypted, or with packed tables. */
static void
test_saved_anew (void)
{
  static const struct
  {
    const char *const options[7];
    const char *words;
  } ways[] = {
    { { "--encrypt", "user", "owner", "256", "--", NULL }, "an encrypted one" },
    { { "--encrypt", "", "owner", "256", "--", NULL }, "an encrypted one" },
    { { "--object-streams=generate", NULL }, "saved anew by another program" },
    { { "--linearize", NULL }, "saved anew by another program" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (ways); i++)
    {
      g_autoptr (GBytes) pdf = attach (sealed);
      g_autofree char *path = write_pdf (pdf);
      g_autofree char *out = g_strconcat (path, ".test.pdf", NULL);
      g_autoptr (GPtrArray) argv = g_ptr_array_new ();
      g_autofree char *done = NULL;
      g_autoptr (EfVerification) verification = NULL;
      g_autoptr (GError) error = NULL;

      g_ptr_array_add (argv, (char *) "qpdf");
      for (guint k = 0; ways[i].options[k] != NULL; k++)
        g_ptr_array_add (argv, (char *) ways[i].options[k]);
      g_ptr_array_add (argv, path);
      g_ptr_array_add (argv, out);
      g_ptr_array_add (argv, NULL);
      done = run ((const char *const *) argv->pdata);
      verification = ef_verify (out, NULL, NULL, NULL, NULL, &error);
      g_assert_null (verification);
      if (strstr (error->message, ways[i].words) == NULL)
        g_error ("\"%s\" isn't in: %s", ways[i].words, error->message);
    }
}

static void
test_not_sealed (void)
{
  g_autoptr (GBytes) text = attach ("not JSON");
  g_autoptr (GBytes) other = attach ("[1, 2]");
  g_autoptr (GBytes) open = attach ("{\"format\": \"endfloat-inspection\", \"version\": 1}");
  g_autoptr (EfVerification) first = NULL;
  g_autoptr (EfVerification) third = NULL;
  g_autoptr (GError) error = NULL;

  first = verify (text, NULL, &error);
  g_assert_no_error (error);
  g_assert_false (first->holds);
  assert_refused (other, "");
  third = verify (open, NULL, &error);
  g_assert_no_error (error);
  g_assert_false (third->holds);
  g_assert_true (names (third, "seal"));
}

int
main (int argc,
      char **argv)
{
  int result;

  isolated_test_init (&argc, &argv);
  make_sealed ();
  g_test_add_func ("/verify-pdf/round-trip", test_round_trip);
  g_test_add_func ("/verify-pdf/other-writer", test_other_writer);
  g_test_add_func ("/verify-pdf/stated", test_stated);
  g_test_add_func ("/verify-pdf/attachment-bytes", test_attachment_bytes);
  g_test_add_func ("/verify-pdf/any-bytes", test_any_bytes);
  g_test_add_func ("/verify-pdf/no-pdf", test_no_pdf);
  g_test_add_func ("/verify-pdf/attachments", test_attachments);
  g_test_add_func ("/verify-pdf/bomb", test_bomb);
  g_test_add_func ("/verify-pdf/saved-anew", test_saved_anew);
  g_test_add_func ("/verify-pdf/not-sealed", test_not_sealed);
  result = g_test_run ();
  g_free (sealed);
  g_free (public_key);
  g_free (digest);

  return result;
}
