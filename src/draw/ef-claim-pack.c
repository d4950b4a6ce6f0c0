/* Gathers and packs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-claim-pack.h"

#include "../base/ef-json-canonical.h"
#include "../inspection/ef-photo.h"
#include "../inspection/ef-replacement.h"
#include "../record/ef-claim-names.h"
#include "../record/ef-disclosure.h"
#include "../record/ef-exchange.h"
#include "../record/ef-store-files.h"
#include "../record/ef-store-work.h"
#include "../record/ef-zip.h"
#include "config.h"
#include "ef-report-photos.h"
#include "ef-report-private.h"
#include "ef-report-seal.h"
#include <glib/gi18n-lib.h>
#include <glib/gstdio.h>
#include <string.h>

static const char *const without_names[] = { "customer", "roles", "notes", "photos", "certificates" };

const char *
ef_claim_without_name (guint i)
{
  return i < G_N_ELEMENTS (without_names) ? without_names[i] : NULL;
}

gboolean
ef_claim_without_parse (const char *text, guint *without_out, GError **error)
{
  g_auto (GStrv) words = g_strsplit (text, ",", -1);

  *without_out = 0;
  for (guint i = 0; words[i] != NULL; i++)
    {
      guint k;

      for (k = 0; k < G_N_ELEMENTS (without_names); k++)
        if (g_str_equal (g_strstrip (words[i]), without_names[k]))
          break;
      if (k == G_N_ELEMENTS (without_names))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, _("expected customer, roles, notes, photos or certificates, found \"%s\""), words[i]);
          return FALSE;
        }
      *without_out |= 1u << k;
    }
  return TRUE;
}

/* A text or a file that goes into the pack; photos and certificates are read when their turn comes. */
typedef struct
{
  char *name;
  GBytes *bytes; /* NULL: a file of the store, by its digest */
  char *digest;
} Member;

typedef struct
{
  EfStore *store;
  gint64 job;
  EfPaper paper;
  guint without;
  const char *path;
  GCancellable *cancellable;
  EfVerifyProgress progress;
  gpointer user_data;
  EfInspection *inspection; /* as sealed */
  EfReportSeal *seal;
  GArray *members; /* Member */
  GString *missing; /* names of photos and certificates that the store doesn't have */
} Claim;

static void
member_clear (gpointer data)
{
  Member *member = data;

  g_free (member->name);
  g_clear_pointer (&member->bytes, g_bytes_unref);
  g_free (member->digest);
}

static void
claim_clear (Claim *claim)
{
  g_clear_pointer (&claim->inspection, ef_inspection_free);
  g_clear_pointer (&claim->seal, ef_report_seal_unref);
  g_clear_pointer (&claim->members, g_array_unref);
  if (claim->missing != NULL)
    g_string_free (claim->missing, TRUE);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Claim, claim_clear)

static gboolean
personal (const Claim *claim)
{
  return (claim->without & (EF_CLAIM_WITHOUT_CUSTOMER | EF_CLAIM_WITHOUT_ROLES | EF_CLAIM_WITHOUT_NOTES)) != 0;
}

static gboolean
go_on (const Claim *claim, double share, GError **error)
{
  if (claim->progress != NULL)
    claim->progress (share, claim->user_data);
  if (!g_cancellable_is_cancelled (claim->cancellable))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, _("%s: cancelled"), claim->path);
  return FALSE;
}

static void
add_bytes (Claim *claim, const char *name, GBytes *bytes)
{
  gsize length;
  const char *data = g_bytes_get_data (bytes, &length);
  Member member = { g_strdup (name), g_bytes_ref (bytes), ef_sha256 (data != NULL ? data : "", (gssize) length) };

  g_array_append_val (claim->members, member);
}

static void
add_text (Claim *claim, const char *name, const char *text)
{
  g_autoptr (GBytes) bytes = g_bytes_new (text, strlen (text));

  add_bytes (claim, name, bytes);
}

/* The members of files that a choice leaves out, NULL-terminated. */
static GPtrArray *
left_out_members (guint without)
{
  GPtrArray *members = g_ptr_array_new ();

  if (without & EF_CLAIM_WITHOUT_CUSTOMER)
    g_ptr_array_add (members, (char *) "customer");
  if (without & EF_CLAIM_WITHOUT_ROLES)
    {
      g_ptr_array_add (members, (char *) "role");
      g_ptr_array_add (members, (char *) "bench");
    }
  if (without & EF_CLAIM_WITHOUT_NOTES)
    g_ptr_array_add (members, (char *) "note");
  g_ptr_array_add (members, NULL);
  return members;
}

static void
remove_members (JsonNode *node, const char *const *members)
{
  if (JSON_NODE_HOLDS_OBJECT (node))
    for (guint i = 0; members[i] != NULL; i++)
      if (json_object_has_member (json_node_get_object (node), members[i]))
        json_object_remove_member (json_node_get_object (node), members[i]);
}

/* The job without what is left out. Gauges keep their notes: those are their certificates. */
static EfInspection *
shortened (const EfInspection *inspection, guint without, const char *const *members, GError **error)
{
  g_autofree char *whole = ef_exchange_write (inspection);
  g_autoptr (JsonNode) root = json_from_string (whole, error);
  g_autofree char *text = NULL;
  const char *list;
  EfItemKind kind;

  if (root == NULL)
    return NULL;
  if (without & EF_CLAIM_WITHOUT_PHOTOS)
    json_object_remove_member (json_node_get_object (root), "photos");
  remove_members (json_object_get_member (json_node_get_object (root), "job"), members);
  for (guint i = 0; (list = ef_exchange_list (i, &kind)) != NULL; i++)
    {
      JsonNode *node = json_object_get_member (json_node_get_object (root), list);
      JsonArray *items = node != NULL && JSON_NODE_HOLDS_ARRAY (node) ? json_node_get_array (node) : NULL;

      for (guint k = 0; kind != EF_ITEM_GAUGE && items != NULL && k < json_array_get_length (items); k++)
        remove_members (json_array_get_element (items, k), members);
    }
  text = ef_json_to_text (root);
  return ef_exchange_parse (text, -1, _("the job without what is left out"), error);
}

static EfAssessment *
assess (Claim *claim, const EfInspection *inspection, GError **error)
{
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (error);
  g_autoptr (EfAssessCache) cache = NULL;
  EfLapTable *table = rules != NULL ? ef_store_lap_table (claim->store, claim->job, error) : NULL;

  if (table == NULL)
    return NULL;
  cache = ef_assess_cache_new ();
  ef_assess_cache_take_lapping (cache, table);
  return ef_assess (inspection, rules, cache, claim->cancellable, error);
}

/* "customer, roles": the choices in words. */
static char *
left_out_words (guint without)
{
  const char *const words[] = { _("customer"), _("roles and benches"), _("notes"), _("photos"), _("certificates of gauges") };
  GString *out = g_string_new (NULL);

  for (guint i = 0; i < G_N_ELEMENTS (words); i++)
    if (without & (1u << i))
      g_string_append_printf (out, "%s%s", out->len > 0 ? ", " : "", words[i]);
  return g_string_free (out, FALSE);
}

static gboolean
add_report (Claim *claim, GError **error)
{
  g_autoptr (EfAssessment) assessment = assess (claim, claim->inspection, error);
  g_autoptr (GPtrArray) members = left_out_members (claim->without);
  g_autoptr (EfInspection) less = NULL;
  g_autoptr (EfReportSeal) seal = NULL;
  g_autoptr (GBytes) pdf = NULL;

  if (assessment == NULL)
    return FALSE;
  if (claim->without != 0)
    {
      seal = ef_report_seal_left_out (claim->seal, left_out_words (claim->without), ef_report_seal_has_results (claim->seal, assessment));
      if (!personal (claim))
        seal->file = g_bytes_ref (claim->seal->file);
      less = shortened (claim->inspection, claim->without, (const char *const *) members->pdata, error);
      g_clear_pointer (&assessment, ef_assessment_unref);
      assessment = less != NULL ? assess (claim, less, error) : NULL;
    }
  else
    seal = ef_report_seal_ref (claim->seal);
  if (assessment != NULL)
    ef_report_take_photos (claim->store, assessment->inspection, claim->cancellable, NULL);
  pdf = assessment != NULL ? ef_report_make_pdf (assessment, seal, claim->path, claim->paper, claim->seal->seal->time, error) : NULL;
  if (pdf == NULL)
    return FALSE;
  add_bytes (claim, EF_CLAIM_REPORT, pdf);
  return TRUE;
}

static char *
plain_name (const char *text, gsize most)
{
  g_autofree char *valid = g_utf8_make_valid (text != NULL ? text : "", -1);
  char *name = g_strndup (valid, most);

  g_strcanon (name, G_CSET_A_2_Z G_CSET_a_2_z G_CSET_DIGITS "-_.", '-');
  for (char *at = name; at[0] != '\0' && !g_ascii_isalnum (*at); at++)
    *at = 'x';
  /* no two points in a row: readers take them for a way out of the folder */
  for (char *at = name; at[0] != '\0' && at[1] != '\0'; at++)
    if (at[0] == '.' && at[1] == '.')
      at[1] = '-';
  return name;
}

/* The sealed file, or what may be shown of it, and the answer of verifying that. */
static gboolean
add_sealed (Claim *claim, GError **error)
{
  const EfJobHeader *job = ef_inspection_header (claim->inspection);
  g_autofree char *number = plain_name (job->number, 64);
  g_autofree char *name = personal (claim) ? g_strdup (EF_CLAIM_DISCLOSURE) : g_strconcat (*number != '\0' ? number : "job", EF_CLAIM_EXCHANGE, NULL);
  g_autoptr (GPtrArray) members = left_out_members (claim->without);
  gsize length;
  const char *data = g_bytes_get_data (claim->seal->file, &length);
  g_autofree char *sealed = g_strndup (data, length);
  g_autofree char *text = personal (claim) ? ef_disclosure_write (sealed, name, (const char *const *) members->pdata, error) : g_strdup (sealed);
  g_autoptr (EfVerification) verification = text != NULL ? ef_verify_text (text, strlen (text), name, NULL, error) : NULL;
  g_autofree char *answer = NULL;
  g_autofree char *key = NULL;

  if (verification == NULL)
    return FALSE;
  if (!verification->holds)
    {
      g_autofree char *first = ef_verification_first_broken (verification);

      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, _("%s: expected a job whose seal holds, found that it doesn't: %s"), ef_store_path (claim->store), first);
      return FALSE;
    }
  answer = ef_verification_to_text (verification);
  key = g_strconcat (claim->seal->seal->key, "\n", NULL);
  add_text (claim, name, text);
  add_text (claim, EF_CLAIM_VERIFICATION, answer);
  add_text (claim, EF_CLAIM_KEY, key);
  return TRUE;
}

/* A file of the store as "photos/001-strainer.jpg"; one that the store doesn't have is noted as missing. @member_out (or NULL): its name in the pack, NULL where it's
 * missing; borrowed. */
static gboolean
add_file (Claim *claim, const char *folder, guint number, const char *what, const char *name, const char *digest, const char **member_out, GError **error)
{
  g_autofree char *plain = plain_name (name, 60);
  g_autoptr (GError) local = NULL;
  g_autoptr (EfFileRow) row = ef_store_file_info (claim->store, digest, &local);
  Member member;

  if (member_out != NULL)
    *member_out = NULL;
  if (g_error_matches (local, EF_ERROR, EF_ERROR_NOT_FOUND))
    {
      g_string_append_printf (claim->missing, "%s%s", claim->missing->len > 0 ? ", " : "", name);
      return TRUE;
    }
  if (row == NULL)
    {
      g_propagate_prefixed_error (error, g_steal_pointer (&local), "%s %s: ", what, name);
      return FALSE;
    }
  member = (Member) { g_strdup_printf ("%s%03u-%s", folder, number, plain), NULL, g_strdup (digest) };
  g_array_append_val (claim->members, member);
  if (member_out != NULL)
    *member_out = member.name;
  return TRUE;
}

/* Each file once, numbered in the order of the job's photos. */
static gboolean
add_photos (Claim *claim, GError **error)
{
  const GPtrArray *photos = claim->inspection->items[EF_ITEM_PHOTO];
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; !(claim->without & EF_CLAIM_WITHOUT_PHOTOS) && i < photos->len; i++)
    {
      const EfPhoto *photo = photos->pdata[i];

      if (g_hash_table_add (seen, photo->file)
          && !add_file (claim, EF_CLAIM_PHOTOS, i + 1, _("photo"), photo->name, photo->file, NULL, error))
        return FALSE;
    }
  return TRUE;
}

/* The job's own, then those that came with parts from the shelf. EfGauge *, borrowed. */
static GPtrArray *
all_gauges (const EfInspection *inspection)
{
  const GPtrArray *own = inspection->items[EF_ITEM_GAUGE], *replacements = inspection->items[EF_ITEM_REPLACEMENT];
  GPtrArray *gauges = g_ptr_array_new ();

  for (guint i = 0; i < own->len; i++)
    g_ptr_array_add (gauges, own->pdata[i]);
  for (guint i = 0; i < replacements->len; i++)
    {
      const GPtrArray *with_part = ((const EfReplacement *) replacements->pdata[i])->gauges;

      for (guint k = 0; k < with_part->len; k++)
        g_ptr_array_add (gauges, with_part->pdata[k]);
    }
  return gauges;
}

static void
add_gauge_words (GString *text, const EfGauge *gauge)
{
  g_autofree char *resolution = ef_report_number (gauge->resolution, EF_UNIT_MM);
  g_autofree char *uncertainty = ef_report_number (gauge->uncertainty, EF_UNIT_MM);

  g_string_append_printf (text, "\n%s\n  %s: %s\n  %s: %s\n  %s: %s\n  %s: %s\n  %s: %s\n  %s: %s\n  %s: %s\n", gauge->name != NULL ? gauge->name : "–", _("kind"),
                          _(ef_gauge_kind_label (gauge->kind)), _("serial number"), gauge->serial != NULL ? gauge->serial : _("not noted"), _("resolution"), resolution,
                          _("uncertainty (k = 2)"), uncertainty, _("checked"), gauge->checked != NULL ? gauge->checked : _("not noted"), _("due"),
                          gauge->due != NULL ? gauge->due : _("not noted"), _("certificate"), gauge->note != NULL ? gauge->note : _("not noted"));
}

/* Its file goes into the pack the first time it's met. @members: digest -> name in the pack. */
static gboolean
add_certificate (Claim *claim, const EfCertificate *one, GHashTable *members, GString *text, GError **error)
{
  const char *member = NULL;

  if (!(claim->without & EF_CLAIM_WITHOUT_CERTIFICATES) && !g_hash_table_contains (members, one->file))
    {
      if (!add_file (claim, EF_CLAIM_CERTIFICATES, g_hash_table_size (members) + 1, _("certificate"), one->name, one->file, &member, error))
        return FALSE;
      g_hash_table_insert (members, one->file, (gpointer) member);
    }
  member = g_hash_table_lookup (members, one->file);
  if (member == NULL)
    member = claim->without & EF_CLAIM_WITHOUT_CERTIFICATES ? _("left out by choice") : _("the shop's store doesn't have it");
  g_string_append_printf (text, "  %s: %s\n    %s\n    SHA-256 %s\n", _("certificate file"), one->name, member, one->file);
  return TRUE;
}

static gboolean
add_gauges (Claim *claim, GError **error)
{
  g_autoptr (GPtrArray) gauges = all_gauges (claim->inspection);
  g_autoptr (GHashTable) members = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GString) text = g_string_new (NULL);

  g_string_append_printf (text, "%s\n", _("Gauges of the job, as they were when it was sealed. Where a certificate file is named, its SHA-256 is in the seal; for other certificates ask the shop by serial number."));
  for (guint i = 0; i < gauges->len; i++)
    {
      const EfGauge *gauge = gauges->pdata[i];

      add_gauge_words (text, gauge);
      for (guint k = 0; k < ef_certificates_length (gauge->certificates); k++)
        if (!add_certificate (claim, gauge->certificates->pdata[k], members, text, error))
          return FALSE;
    }
  if (gauges->len == 0)
    g_string_append_printf (text, "\n%s\n", _("None was noted."));
  add_text (claim, EF_CLAIM_GAUGES, text->str);
  return TRUE;
}

static void
add_readme (Claim *claim)
{
  const EfSeal *seal = claim->seal->seal;
  const EfJobHeader *job = ef_inspection_header (claim->inspection);
  g_autoptr (GString) text = g_string_new (NULL);
  g_autofree char *words = left_out_words (claim->without);

  g_string_append_printf (text, _("Oil pump inspection %s: sealed as number %" G_GINT64_FORMAT ", revision %u, %s.\n\n"), job->number, seal->number, seal->revision, seal->time);
  g_string_append_printf (text, _("Digest of the seal (SHA-256): %s\nPublic key: %s\n\n"), seal->digest, seal->key);
  g_string_append (text, _("What is in this pack\n"
                           "  report.pdf        the report, for reading\n"));
  g_string_append (text, personal (claim)
                           ? _("  disclosure.json   the seal, with the parts of the sealed job that hold nothing of what was left out\n")
                           : _("  *.endfloat.json   the sealed job: pump sheet, readings, marks, results, history; also attached to report.pdf\n"));
  g_string_append (text, _("  photos/           the photos as they were sealed, with what the camera wrote into them\n"
                           "  certificates/     the gauges' certificates that the shop keeps as files\n"
                           "  gauges.txt        the gauges that were used, and what is noted of their certificates\n"
                           "  public-key.txt    the key that the seal can be checked with\n"
                           "  verification.txt  what the program said of the seal when this was packed\n"
                           "  SHA256SUMS        SHA-256 of each file\n\n"));
  if (claim->without != 0)
    g_string_append_printf (text, _("Left out by choice: %s. The shop keeps the whole sealed job; what it shows later has to fit the digests in the seal.\n"), words);
  if (claim->without != 0)
    g_string_append (text, _("Who sealed it, and the note beside the seal, are part of what was signed and can't be left out.\n\n"));
  if (claim->missing->len > 0)
    g_string_append_printf (text, _("Photos and certificates that are named in the job and that the shop's store doesn't have: %s.\n\n"), claim->missing->str);
  g_string_append (text, _("To check it with the program\n"
                           "  endfloat verify PACK.zip --key KEY\n"
                           "  KEY is the public key as you have it from elsewhere: from an earlier report, or from the shop itself. With the one in this pack you only see\n"
                           "  that nothing was changed since it was sealed, not who sealed it.\n\n"
                           "To check it without the program\n"
                           "  Unpack it, and in its folder:  sha256sum -c SHA256SUMS\n"
                           "  This shows damage to any file. That list is signed by nobody: for proof of who sealed what, the signature has to be checked. How the seal is made, with\n"
                           "  open standards (RFC 8785, SHA-256, Ed25519), is in docs/record.md of the program's source.\n"));
  if (!personal (claim))
    g_string_append (text, _("  The sealed job is also attached to report.pdf: any PDF reader that knows attachments saves it.\n"));
  g_string_append (text, _("\nWhat it doesn't prove\n"
                           "  That what was marked and measured was true; and the pages of report.pdf, which are a drawing of the sealed job that nobody has signed.\n"));
  add_text (claim, EF_CLAIM_README, text->str);
}

static int
by_name (gconstpointer a, gconstpointer b)
{
  return strcmp (((const Member *) a)->name, ((const Member *) b)->name);
}

static void
add_sums (Claim *claim)
{
  g_autoptr (GString) text = g_string_new (NULL);

  g_array_sort (claim->members, by_name);
  for (guint i = 0; i < claim->members->len; i++)
    {
      const Member *member = &g_array_index (claim->members, Member, i);

      g_string_append_printf (text, "%s  %s\n", member->digest, member->name);
    }
  add_text (claim, EF_CLAIM_SUMS, text->str);
  g_array_sort (claim->members, by_name);
}

static gboolean
pack (Claim *claim, GError **error)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (claim->seal->seal->time, utc);
  g_autoptr (EfZipWriter) writer = ef_zip_writer_new (claim->path, time != NULL ? g_date_time_to_unix (time) : 0, error);

  if (writer == NULL)
    return FALSE;
  for (guint i = 0; i < claim->members->len; i++)
    {
      const Member *member = &g_array_index (claim->members, Member, i);
      g_autoptr (GBytes) bytes = member->bytes != NULL ? g_bytes_ref (member->bytes) : ef_store_read_file (claim->store, member->digest, claim->cancellable, error);

      if (bytes == NULL || !ef_zip_writer_add (writer, member->name, bytes, error) || !go_on (claim, 0.7 + 0.3 * (i + 1) / claim->members->len, error))
        return FALSE;
    }
  return ef_zip_writer_close (writer, error);
}

static gboolean
read_job (Claim *claim, GError **error)
{
  claim->inspection = ef_store_load (claim->store, claim->job, error);
  claim->seal = claim->inspection != NULL ? ef_report_seal_of_job (claim->store, claim->job, TRUE, error) : NULL;
  if (claim->seal == NULL)
    return FALSE;
  if (claim->seal->stands)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, _("job %s: expected a sealed job, found one that isn't sealed; seal it first, then pack"),
               ef_inspection_header (claim->inspection)->number);
  return FALSE;
}

gboolean
ef_claim_pack_write (EfStore *store, gint64 job, EfPaper paper, guint without, const char *path, EfVerifyProgress progress, gpointer user_data,
                     GCancellable *cancellable, GError **error)
{
  g_auto (Claim) claim = { .store = store, .job = job, .paper = paper, .without = without, .path = path, .cancellable = cancellable, .progress = progress,
                           .user_data = user_data };

  g_return_val_if_fail (store != NULL && path != NULL, FALSE);
  claim.members = g_array_new (FALSE, FALSE, sizeof (Member));
  claim.missing = g_string_new (NULL);
  g_array_set_clear_func (claim.members, member_clear);
  if (!read_job (&claim, error) || !go_on (&claim, 0.05, error)
      || !add_sealed (&claim, error) || !go_on (&claim, 0.15, error)
      || !add_report (&claim, error) || !go_on (&claim, 0.65, error)
      || !add_photos (&claim, error)
      || !add_gauges (&claim, error))
    return FALSE;
  add_readme (&claim);
  add_sums (&claim);
  return go_on (&claim, 0.7, error) && pack (&claim, error);
}
