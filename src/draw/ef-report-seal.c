/* The seal as the report shows it: in words, and as a QR code.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "../base/ef-json-canonical.h"
#include "../record/ef-store-standing.h"
#include "../record/ef-verify.h"
#include "config.h"
#include "ef-draw-qr.h"
#include <glib/gi18n-lib.h>
#include <string.h>

#define QR_SIZE (42 / 25.4 * 72) /* 42 mm, so that a module is at least 0.6 mm */
#define SHORT_KEY 16             /* digits */

static void
clear (gpointer data)
{
  EfReportSeal *self = data;

  ef_seal_free (self->seal);
  g_free (self->broken);
  g_free (self->left_out);
  g_clear_pointer (&self->file, g_bytes_unref);
}

EfReportSeal *
ef_report_seal_ref (EfReportSeal *self)
{
  return g_atomic_rc_box_acquire (self);
}

void
ef_report_seal_unref (EfReportSeal *self)
{
  if (self != NULL)
    g_atomic_rc_box_release_full (self, clear);
}

gboolean
ef_report_seal_equal (const EfReportSeal *a, const EfReportSeal *b)
{
  const EfSeal *one = a != NULL ? a->seal : NULL, *other = b != NULL ? b->seal : NULL;

  if (one == NULL || other == NULL)
    return one == other;
  return a->stands == b->stands && one->elsewhere == other->elsewhere && g_str_equal (one->digest, other->digest) && g_strcmp0 (a->broken, b->broken) == 0;
}

/* The one that the job stands under; of an open job the last one. */
static EfSeal *
take_seal (GPtrArray *seals, gint64 sealed)
{
  for (guint i = seals->len; i > 0; i--)
    {
      const EfSeal *seal = seals->pdata[i - 1];

      if (sealed == 0 || (sealed < 0 && seal->elsewhere) || (!seal->elsewhere && seal->number == sealed))
        {
          g_ptr_array_set_free_func (seals, NULL);
          for (guint k = 0; k < seals->len; k++)
            if (k != i - 1)
              ef_seal_free (seals->pdata[k]);
          return (EfSeal *) seal;
        }
    }
  return NULL;
}

EfReportSeal *
ef_report_seal_of_job (EfStore *store, gint64 job, gboolean with_file, GError **error)
{
  g_autoptr (EfReportSeal) self = g_atomic_rc_box_new0 (EfReportSeal);
  g_autoptr (GPtrArray) seals = NULL;
  EfStanding standing;
  char *text;

  if (!ef_store_standing (store, job, &standing, error))
    return NULL;
  seals = ef_seals_of_job (store, job, error);
  if (seals == NULL)
    return NULL;
  self->seal = take_seal (seals, standing.sealed);
  self->stands = standing.sealed != 0;
  if (self->stands && self->seal == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, _("%s: expected the seal that the job stands under, found none; verify the store"), ef_store_path (store));
      return NULL;
    }
  if (self->stands && with_file)
    {
      text = ef_seal_export (store, job, error);
      if (text == NULL)
        return NULL;
      self->file = g_bytes_new_take (text, strlen (text));
    }
  return g_steal_pointer (&self);
}

EfReportSeal *
ef_report_seal_of_file (const char *path, GError **error)
{
  g_autoptr (EfReportSeal) self = g_atomic_rc_box_new0 (EfReportSeal);
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (EfJsonContext) context = NULL;
  g_auto (EfJson) root = { 0 };
  g_auto (EfJson) block = { 0 };
  char *text = NULL;
  gsize length;

  if (!g_file_get_contents (path, &text, &length, error))
    return NULL;
  self->file = g_bytes_new_take (text, length);
  context = ef_json_parse (text, (gssize) length, path, error);
  if (context == NULL)
    return NULL;
  root = ef_json_root (context);
  block = ef_json_optional (&root, "seal");
  if (block.node == NULL)
    {
      g_clear_pointer (&self->file, g_bytes_unref);
      return g_steal_pointer (&self);
    }
  verification = ef_verify_text (text, length, path, NULL, error);
  if (verification == NULL)
    return NULL;
  self->seal = ef_seal_of_block (block.node);
  self->stands = verification->holds && self->seal != NULL;
  if (!self->stands)
    {
      self->broken = ef_verification_first_broken (verification);
      g_clear_pointer (&self->file, g_bytes_unref);
    }
  return g_steal_pointer (&self);
}

EfReportSeal *
ef_report_seal_left_out (const EfReportSeal *self, char *words, gboolean with_results)
{
  EfReportSeal *copy = g_atomic_rc_box_new0 (EfReportSeal);

  copy->seal = ef_seal_copy (self->seal);
  copy->stands = self->stands;
  copy->left_out = words;
  copy->with_results = with_results;
  return copy;
}

char *
ef_report_seal_text (const EfReportSeal *self)
{
  if (self == NULL || self->seal == NULL || !self->stands)
    return NULL;
  return g_strdup_printf ("endfloat-seal 1\nnumber %" G_GINT64_FORMAT "\ndigest %s\nkey %s\n", self->seal->number, self->seal->digest, self->seal->key);
}

/* In groups of eight, four a line, so that two can be compared by eye. */
static char *
grouped (const char *hex)
{
  GString *out = g_string_new (NULL);

  for (guint i = 0; hex[i] != '\0'; i++)
    {
      if (i > 0 && i % 8 == 0)
        g_string_append_c (out, i % 32 == 0 ? '\n' : ' ');
      g_string_append_c (out, hex[i]);
    }
  return g_string_free (out, FALSE);
}

/* "9f31 22ab 0c4d 77e0": enough to tell one shop's key from another's. */
static char *
short_key (const char *key)
{
  GString *out = g_string_new (NULL);

  for (guint i = 0; i < SHORT_KEY && key[i] != '\0'; i++)
    {
      if (i > 0 && i % 4 == 0)
        g_string_append_c (out, ' ');
      g_string_append_c (out, key[i]);
    }
  return g_string_free (out, FALSE);
}

gboolean
ef_report_seal_has_results (const EfReportSeal *self, const EfAssessment *assessment)
{
  g_autoptr (JsonNode) results = ef_assessment_to_json (assessment);
  g_autofree char *text = ef_json_canonical (results, NULL);
  g_autofree char *digest = text != NULL ? ef_sha256 (text, -1) : NULL;

  return g_strcmp0 (digest, self->seal->results) == 0;
}

/* One line: how the report stands. */
static char *
state_text (const EfReportSeal *self)
{
  const EfSeal *seal = self != NULL ? self->seal : NULL;

  if (self != NULL && self->broken != NULL)
    return g_strdup_printf (_("Not sealed: the file carries a seal that doesn't hold (%s)."), self->broken);
  if (seal == NULL)
    return g_strdup (_("Not sealed: what is said here may have been changed since, and may yet be."));
  if (!self->stands)
    return g_strdup_printf (_("Not sealed: revision %u was sealed as number %" G_GINT64_FORMAT ", and has been opened again since. What is said here isn't what was sealed."),
                            seal->revision, seal->number);
  return g_strdup_printf (seal->elsewhere ? _("Sealed as number %" G_GINT64_FORMAT " of another store's chain.") : _("Sealed as number %" G_GINT64_FORMAT " of the store's chain."),
                          seal->number);
}

char *
ef_report_seal_words (const EfReportSeal *self, gboolean whole_follows)
{
  char *state = state_text (self);
  g_autofree char *short_state = NULL;
  g_autofree char *begin = NULL;

  if (self == NULL || self->seal == NULL || !self->stands)
    return state;
  short_state = state;
  begin = g_strndup (self->seal->digest, 8);
  return g_strdup_printf (whole_follows ? _("%s Digest %s…; all of it on the last page.") : _("%s Digest %s…; all of it in the report."), short_state, begin);
}

void
ef_report_seal_line (EfPages *pages, const EfReportSeal *self)
{
  g_autofree char *text = ef_report_seal_words (self, TRUE);

  ef_pages_text (pages, text, 0.88, 0, EF_INK_DIM, 0);
}

static void
draw_code (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height)
{
  ef_draw_qr (cr, data, MIN (width, height));
}

static double
put_value (EfPages *pages, const char *name, const char *value, double dx, double dy, double width)
{
  g_autoptr (PangoLayout) head = ef_pages_layout (pages, name, 0.9, 0, width);
  g_autoptr (PangoLayout) text = ef_pages_layout (pages, value, 1, 0, width);
  double h0, h1;

  ef_text_extent (head, NULL, &h0);
  ef_text_extent (text, NULL, &h1);
  ef_pages_put (pages, head, EF_INK_DIM, dx, dy);
  ef_pages_put (pages, text, EF_INK_TEXT, dx, dy + h0);
  return h0 + h1 + 4;
}

static void
lay_values (EfPages *pages, const EfReportSeal *self)
{
  const EfSeal *seal = self->seal;
  char *code = ef_report_seal_text (self);
  g_autofree char *time = ef_report_time (seal->time);
  g_autofree char *number = g_strdup_printf (_("%" G_GINT64_FORMAT ", revision %u, by %s, %s UTC"), seal->number, seal->revision, seal->role, time);
  g_autofree char *digest = grouped (seal->digest);
  g_autofree char *small = short_key (seal->key);
  g_autofree char *key_name = g_strdup_printf (_("Public key %s …, in full"), small);
  g_autofree char *key = grouped (seal->key);
  double left = QR_SIZE + 16, width = ef_pages_width (pages) - left, dy = 6;

  ef_pages_picture (pages, 0, 0, QR_SIZE, QR_SIZE, draw_code, code, g_free);
  dy += put_value (pages, _("Number in the chain"), number, left, dy, width);
  dy += put_value (pages, _("SHA-256 digest of the sealed statement"), digest, left, dy, width);
  dy += put_value (pages, key_name, key, left, dy, width);
  ef_pages_move (pages, MAX (dy, QR_SIZE) + 4);
}

void
ef_report_seal (EfPages *pages, const EfAssessment *assessment, const EfReportSeal *self)
{
  g_autofree char *state = state_text (self);

  if (self == NULL || self->seal == NULL || !self->stands)
    {
      ef_pages_heading (pages, _("Seal"), 30);
      ef_pages_text (pages, state, 1, 0, EF_INK_TEXT, 0);
      return;
    }
  ef_pages_heading (pages, _("Seal"), QR_SIZE + 60);
  ef_pages_text (pages, state, 1, 0, EF_INK_TEXT, 0);
  if (self->left_out != NULL)
    {
      g_autofree char *words = g_strdup_printf (_("Left out of these pages by choice: %s. It stands in the sealed job."), self->left_out);

      ef_pages_text (pages, words, 1, 0, EF_INK_TEXT, 0);
    }
  lay_values (pages, self);
  if (*self->seal->note != '\0')
    {
      g_autofree char *note = g_strdup_printf (_("Note: %s"), self->seal->note);

      ef_pages_text (pages, note, 1, 0, EF_INK_TEXT, 0);
      ef_pages_move (pages, 3);
    }
  ef_pages_text (pages,
                 (self->left_out != NULL ? self->with_results : ef_report_seal_has_results (self, assessment))
                   ? _("The results on these pages are, to the last digit, those that were sealed.")
                   : _("The results on these pages were worked out anew, by another version or with other shop's data, and aren't to the last digit those that were sealed. The sealed ones stand in the exchange file."),
                 0.95, 0, EF_INK_TEXT, 0);
  ef_pages_move (pages, 3);
  ef_pages_text (pages,
                 _("The code holds number, digest and key as plain text. They say what the exchange file of this job has to be; \"endfloat verify\" says whether it is. "
                   "Paper alone proves nothing: compare the public key with the one that the shop has given out."),
                 0.88, 0, EF_INK_DIM, 0);
}
