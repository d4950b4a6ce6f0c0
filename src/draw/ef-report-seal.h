/* What a report says of the seal of its job, and the sealed file that goes with it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Read from the store or from a sealed exchange file before the report is laid out; the report itself only draws it.
 */
#pragma once

#include "../record/ef-seal.h"

G_BEGIN_DECLS

typedef struct _EfReportSeal
{
  EfSeal *seal;   /* the one that stands, or the last one; NULL: never sealed */
  gboolean stands; /* FALSE with a seal: a revision is open, so what the report shows isn't what was sealed */
  char *broken;   /* of a file whose seal doesn't hold: the first thing that doesn't; NULL */
  GBytes *file;   /* the sealed exchange file; NULL unless asked for, and where no seal stands */
  char *left_out; /* what the pages were drawn without, in words; NULL: nothing */
  gboolean with_results; /* with @left_out: whether the results of the whole are those that were sealed */
} EfReportSeal;

/* Counted by reference, never changed once read; for any thread. */
EfReportSeal *ef_report_seal_ref (EfReportSeal *self);
void ef_report_seal_unref (EfReportSeal *self); /* NULL is fine */
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfReportSeal, ef_report_seal_unref)
/* Whether reports say the same by both; each may be NULL. */
gboolean ef_report_seal_equal (const EfReportSeal *a, const EfReportSeal *b);

/* Of a job of the store; never NULL without an error. */
EfReportSeal *ef_report_seal_of_job (EfStore *store, gint64 job, gboolean with_file, GError **error);
/* Whether the assessment's results are, to the last digit, those that were sealed. */
gboolean ef_report_seal_has_results (const EfReportSeal *self, const EfAssessment *assessment);
/* The same seal for pages drawn without something personal, with no file to attach. Takes @words. */
EfReportSeal *ef_report_seal_left_out (const EfReportSeal *self, char *words, gboolean with_results);
/* How the job stands, in one line of a page: number in the chain and the first digits of the digest, or "Not sealed" and why. @whole_follows: the same paper says all of it at its end; otherwise
 * the report does. @self may be NULL: not sealed. */
char *ef_report_seal_words (const EfReportSeal *self, gboolean whole_follows);
/* Of an exchange file, whose seal is verified first. */
EfReportSeal *ef_report_seal_of_file (const char *path, GError **error);
/* What the QR code holds, plain text in four lines, each ended by a newline (docs/record.md):
 *   endfloat-seal 1
 *   number 12
 *   digest <64 small hexadecimal digits>
 *   key <64 small hexadecimal digits>
 * NULL where no seal stands. @self may be NULL: not sealed. */
char *ef_report_seal_text (const EfReportSeal *self);

G_END_DECLS
