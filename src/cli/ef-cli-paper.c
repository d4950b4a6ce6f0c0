/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-paper.h"
#include "ef-cli.h"
#include "ef-cli-inspection.h"
#include "../draw/ef-report-photos.h"

gboolean
ef_cli_paper_from_name (const char *name,
                        EfPaper *paper_out)
{
  if (name == NULL || g_ascii_strcasecmp (name, "a4") == 0)
    *paper_out = EF_PAPER_A4;
  else if (g_ascii_strcasecmp (name, "letter") == 0)
    *paper_out = EF_PAPER_LETTER;
  else
    return FALSE;

  return TRUE;
}

int
ef_cli_paper_source (const char *verb,
                     int argc,
                     char **argv,
                     EfCliSource *source)
{
  if ((source->store == NULL) != (source->number == NULL))
    return ef_cli_usage_error (verb, "expected --store and --job together");
  if (argc != (source->store != NULL ? 1 : 2))
    return ef_cli_usage_error (verb, source->store != NULL ? "expected no inspection file beside --store, found %d" : "expected one inspection file, found %d", argc - 1);
  source->file = source->store == NULL ? argv[1] : NULL;

  return EF_EXIT_OK;
}

static EfAssessment *
read_file (const EfCliSource *source,
           EfReportSeal **seal_out,
           GError **error)
{
  g_autoptr (EfAssessment) assessment = ef_cli_assess_file (source->file, source->rules, error);

  *seal_out = assessment != NULL ? ef_report_seal_of_file (source->file, error) : NULL;

  return *seal_out != NULL ? g_steal_pointer (&assessment) : NULL;
}

/* Onto the pages, as the window has them there; a damaged one is no reason to have no report. */
static void
take_photos (EfStore *store,
             const EfAssessment *assessment)
{
  g_autoptr (GString) trouble = g_string_new (NULL);

  ef_report_take_photos (store, assessment->inspection, NULL, trouble);
  g_printerr ("%s", trouble->str);
}

static EfAssessment *
read_job (const EfCliSource *source,
          EfReportSeal **seal_out,
          GError **error)
{
  g_autoptr (EfStore) store = ef_cli_can_read (source->store, error) ? ef_store_open (source->store, error) : NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  gint64 job = store != NULL ? ef_cli_find_job (store, source->number, error) : 0;

  assessment = job > 0 ? ef_cli_assess_job (store, job, source->rules, error) : NULL;
  if (assessment != NULL && source->with_photos)
    take_photos (store, assessment);
  *seal_out = assessment != NULL ? ef_report_seal_of_job (store, job, TRUE, error) : NULL;

  return *seal_out != NULL ? g_steal_pointer (&assessment) : NULL;
}

EfAssessment *
ef_cli_paper_read (const EfCliSource *source,
                   EfReportSeal **seal_out,
                   GError **error)
{
  return source->file != NULL ? read_file (source, seal_out, error) : read_job (source, seal_out, error);
}
