/* What the verbs that make paper of one job share: where it is read, how it is sealed, on what size.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "../assess/ef-assessment.h"
#include "../draw/ef-draw.h"
#include "../draw/ef-report-seal.h"

G_BEGIN_DECLS

/* Where the job stands: an exchange file, or a number in a store. */
typedef struct
{
  const char *file;          /* NULL: in the store */
  const char *store, *number;
  const char *rules;         /* rule set; NULL: the one shipped */
  gboolean with_photos;      /* for pages that show them; those that can't be read are named on standard error */
} EfCliSource;

/* "a4", "letter"; NULL: a4. FALSE for another. */
gboolean ef_cli_paper_from_name (const char *name, EfPaper *paper_out);
/* EF_EXIT_OK, or what was told to be wrong of the options and arguments of @verb: one file, or store and number. */
int ef_cli_paper_source (const char *verb, int argc, char **argv, EfCliSource *source);
/* @seal_out receives how the job stands, never NULL without an error. */
EfAssessment *ef_cli_paper_read (const EfCliSource *source, EfReportSeal **seal_out, GError **error);

G_END_DECLS
