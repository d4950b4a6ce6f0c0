/* endfloat specimen: a pump worn by simulation from a seed, as a job file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../assess/ef-specimen-trial.h"
#include "../draw/ef-draw-lamp.h"
#include "../lesson/ef-lesson-specimen.h"
#include "../record/ef-exchange.h"

#include <errno.h>
#include <glib/gstdio.h>
#include <stdio.h>
#include <string.h>

typedef struct
{
  char *sheet, *cause, *output, *truth, *lesson, *pictures;
  int seed, difficulty;
  gboolean tell;
} SpecimenOptions;

static void
options_clear (SpecimenOptions *options)
{
  g_free (options->sheet);
  g_free (options->cause);
  g_free (options->output);
  g_free (options->truth);
  g_free (options->lesson);
  g_free (options->pictures);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (SpecimenOptions, options_clear)

/* A file, or the id of a shipped sheet. */
static EfPumpSheet *
load_sheet (const char *name,
            GError **error)
{
  g_autofree char *file = g_strconcat (name, ".json", NULL);
  g_autofree char *path = strchr (name, '/') == NULL && !g_str_has_suffix (name, ".json") ? ef_data_path ("pump-sheets", file, NULL) : g_strdup (name);

  return ef_cli_can_read (path, error) ? ef_pump_sheet_load (path, error) : NULL;
}

static EfSpecimen *
make (const SpecimenOptions *options,
      EfCause cause,
      GError **error)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet (options->sheet, error);
  EfSpecimenOptions wear = { (guint32) options->seed, cause, options->difficulty, { 0, 0 } };

  if (sheet == NULL || !ef_specimen_load (sheet, wear.load_psi, error))
    return NULL;

  return ef_specimen_new (sheet, &wear, error);
}

/* From the left, then from above the chart: what lies along the light hides in one and shows in the other. */
static gboolean
write_face (const SpecimenOptions *options,
            const EfSpecimen *specimen,
            const char *face_id,
            GError **error)
{
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (specimen->truth->sheet, face_id, error);
  g_autoptr (EfSurface) surface = chart != NULL ? ef_specimen_surface (specimen, chart, 0.0, NULL, error) : NULL;
  const double azimuths[] = { G_PI, 0.5 * G_PI };
  const char *const names[] = { "left", "above" };

  for (guint i = 0; surface != NULL && i < G_N_ELEMENTS (azimuths); i++)
    {
      g_autofree char *flat = g_strdup (face_id);
      g_autofree char *file = g_strdup_printf ("%s-lamp-%s.png", g_strdelimit (flat, "/", '_'), names[i]);
      g_autofree char *path = g_build_filename (options->pictures, file, NULL);

      if (!ef_picture_write_lamp (chart, surface, azimuths[i], 15.0 * G_PI / 180.0, path, 1200, 900, error))
        return FALSE;
      g_printerr ("%s\n", path);
    }

  return surface != NULL;
}

static gboolean
write_pictures (const SpecimenOptions *options,
                const EfSpecimen *specimen,
                GError **error)
{
  g_auto (GStrv) faces = ef_face_ids (specimen->truth->sheet);

  if (g_mkdir_with_parents (options->pictures, 0777) != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: can't make the folder: %s", options->pictures, g_strerror (errno));
      return FALSE;
    }
  for (guint i = 0; faces[i] != NULL; i++)
    {
      g_autoptr (GPtrArray) marks = ef_inspection_face_marks (specimen->truth, faces[i]);

      if (marks->len > 0 && !write_face (options, specimen, faces[i], error))
        return FALSE;
    }

  return TRUE;
}

/* The lesson's name and seed are its own each time. */
static gboolean
write_lesson (const SpecimenOptions *options,
              const EfSpecimen *specimen,
              GError **error)
{
  g_autoptr (EfLesson) lesson = ef_lesson_from_specimen (specimen, NULL, error);
  g_autofree char *text = lesson != NULL ? ef_lesson_write (lesson) : NULL;

  return text != NULL && ef_cli_write (options->lesson, text, error);
}

static gboolean
write_all (const SpecimenOptions *options,
           const EfSpecimen *specimen,
           GError **error)
{
  g_autoptr (EfInspection) measured = ef_specimen_measure (specimen, NULL, specimen->seed ^ EF_SPECIMEN_DEVIATIONS, error);
  g_autofree char *text = measured != NULL ? ef_exchange_write (measured) : NULL;

  if (text == NULL || !ef_cli_write (options->output, text, error))
    return FALSE;
  if (options->truth != NULL && !ef_exchange_save (specimen->truth, options->truth, error))
    return FALSE;
  if (options->lesson != NULL && !write_lesson (options, specimen, error))
    return FALSE;
  if (options->pictures != NULL && !write_pictures (options, specimen, error))
    return FALSE;
  if (options->tell)
    fprintf (stderr, "%s: %s\n", ef_cause_names[specimen->cause], specimen->story);

  return TRUE;
}

int
ef_cli_specimen (int argc,
                 char **argv)
{
  g_auto (SpecimenOptions) options = { .seed = 1, .difficulty = 1 };
  const GOptionEntry entries[] = {
    { "sheet", 's', 0, G_OPTION_ARG_FILENAME, &options.sheet, "Pump sheet: a file, or the id of a shipped one such as hl-24 (must be given)", "SHEET" },
    { "seed", 0, 0, G_OPTION_ARG_INT, &options.seed, "Seed, 0 or more (default 1): the same one makes the same pump", "N" },
    { "cause", 'c', 0, G_OPTION_ARG_STRING, &options.cause, "load, debris, end-wear, misfit, foreign-body or any (default: drawn from the seed)", "CAUSE" },
    { "difficulty", 'd', 0, G_OPTION_ARG_INT, &options.difficulty, "1 (default) to 3", "N" },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &options.output, "Job file as measured (default: standard output)", "FILE" },
    { "truth", 't', 0, G_OPTION_ARG_FILENAME, &options.truth, "Job file with the true marks and sizes", "FILE" },
    { "lesson", 'l', 0, G_OPTION_ARG_FILENAME, &options.lesson, "Write a lesson made of it, for \"endfloat lesson\"", "FILE" },
    { "pictures", 'p', 0, G_OPTION_ARG_FILENAME, &options.pictures, "Write each marked face as it looks under a lamp from the left and from above, as PNG, into this folder", "FOLDER" },
    { "tell", 0, 0, G_OPTION_ARG_NONE, &options.tell, "Say on standard error what happened to the pump", NULL },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfSpecimen) specimen = NULL;
  g_autoptr (GError) error = NULL;
  EfCause cause = EF_CAUSE_NONE;
  int code;

  if (!ef_cli_options (entries, NULL, "A pump worn by simulation from a seed, with gauges' deviations in its readings, for learning and testing.", &argc, &argv, &code))
    return code;
  if (argc != 1)
    return ef_cli_usage_error ("specimen", "expected options only, found \"%s\"", argv[1]);
  if (options.sheet == NULL)
    return ef_cli_usage_error ("specimen", "--sheet is missing: expected a pump sheet");
  if (options.seed < 0)
    return ef_cli_usage_error ("specimen", "--seed: expected 0 or more, found %d", options.seed);
  if (options.difficulty < 1 || options.difficulty > EF_SPECIMEN_HARDEST)
    return ef_cli_usage_error ("specimen", "--difficulty: expected 1 to %d, found %d", EF_SPECIMEN_HARDEST, options.difficulty);
  if (options.cause != NULL && !g_str_equal (options.cause, "any") && (!ef_cause_from_name (options.cause, &cause) || cause == EF_CAUSE_NONE))
    return ef_cli_usage_error ("specimen", "--cause: expected load, debris, end-wear, misfit, foreign-body or any, found \"%s\"", options.cause);

  specimen = make (&options, cause, &error);
  if (specimen == NULL || !write_all (&options, specimen, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
