/* endfloat pictures: the exploded pump, what it delivers, the lapping plan, and every marked face (or all, or those named) with its oil pressure into a folder.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "ef-cli-inspection.h"
#include "../assess/ef-flow-field.h"
#include "../draw/ef-plan-words.h"
#include "../draw/ef-draw.h"

#include <errno.h>
#include <glib/gstdio.h>

typedef struct
{
  const char *folder;
  const char *format; /* "png" or "svg" */
  int width, height;
} PictureOptions;

static char *
picture_path (const PictureOptions *options,
              const char *name)
{
  g_autofree char *flat = g_strdup (name);
  g_autofree char *file = NULL;

  g_strdelimit (flat, "/", '_');
  file = g_strdup_printf ("%s.%s", flat, options->format);

  return g_build_filename (options->folder, file, NULL);
}

static gboolean
is_marked (const EfAssessment *assessment,
           const char *face_id)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (assessment->inspection, face_id);

  return marks->len > 0;
}

/* Faces that meet the gears' ends get a second picture. */
static gboolean
draw_pressure (const EfAssessment *assessment,
               const PictureOptions *options,
               const char *face_id,
               GError **error)
{
  g_autofree char *name = g_strdup_printf ("pressure-%s", face_id);
  g_autofree char *path = picture_path (options, name);

  if (!ef_flow_field_has (assessment->inspection->sheet, face_id) || !assessment->flow->state[EF_STATE_FOUND].known)
    return TRUE;
  if (!ef_picture_write_pressure (assessment, face_id, path, options->width, options->height, error))
    return FALSE;
  g_print ("%s\n", path);

  return TRUE;
}

static gboolean
draw_faces (const EfAssessment *assessment,
            const PictureOptions *options,
            gboolean all,
            char **named,
            GError **error)
{
  g_auto (GStrv) known = ef_face_ids (assessment->inspection->sheet);
  g_autofree char *list = g_strjoinv (", ", known);

  for (guint i = 0; named != NULL && named[i] != NULL; i++)
    if (!g_strv_contains ((const char *const *) known, named[i]))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "--face: this pump has no face \"%s\"; it has %s",
                     named[i], known[0] != NULL ? list : "none");
        return FALSE;
      }
  for (guint i = 0; known[i] != NULL; i++)
    {
      g_autofree char *path = NULL;

      if (named != NULL ? !g_strv_contains ((const char *const *) named, known[i])
                        : !all && !is_marked (assessment, known[i]))
        continue;
      path = picture_path (options, known[i]);
      if (!ef_picture_write_face (assessment, known[i], path, options->width, options->height, error))
        return FALSE;
      g_print ("%s\n", path);
      if (!draw_pressure (assessment, options, known[i], error))
        return FALSE;
    }

  return TRUE;
}

static gboolean
draw_flow (const EfAssessment *assessment,
           const PictureOptions *options,
           GError **error)
{
  for (int picture = 0; picture < EF_N_FLOW_PICTURES; picture++)
    {
      g_autofree char *path = picture_path (options, ef_flow_picture_name (picture));

      if (!ef_picture_write_flow (assessment, picture, path, options->width, options->height, error))
        return FALSE;
      g_print ("%s\n", path);
    }

  return TRUE;
}

/* End clearance before and after where one is known, and a curve for each face that is lapped. */
static gboolean
draw_plan (const EfAssessment *assessment,
           const PictureOptions *options,
           GError **error)
{
  g_autoptr (GPtrArray) bars = ef_plan_bars (assessment, ef_plan_option (assessment));
  g_autoptr (GPtrArray) rows = ef_plan_rows (assessment, ef_plan_option (assessment));

  if (bars->len > 0)
    {
      g_autofree char *path = picture_path (options, "plan");

      if (!ef_picture_write_plan (assessment, path, options->width, options->height, error))
        return FALSE;
      g_print ("%s\n", path);
    }
  for (guint i = 0; i < rows->len; i++)
    {
      const EfPlanRow *row = rows->pdata[i];
      g_autofree char *name = g_strdup_printf ("plan-%s", row->face_id);
      g_autofree char *path = picture_path (options, name);

      if (row->land == NULL)
        continue;
      if (!ef_picture_write_plan_curve (assessment, row->face_id, path, options->width, options->height, error))
        return FALSE;
      g_print ("%s\n", path);
    }

  return TRUE;
}

static gboolean
draw_all (const EfAssessment *assessment,
          const PictureOptions *options,
          gboolean all,
          char **named,
          GError **error)
{
  g_autofree char *exploded = picture_path (options, "exploded");

  if (g_mkdir_with_parents (options->folder, 0777) != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: can't make the folder: %s", options->folder, g_strerror (errno));
      return FALSE;
    }
  if (named == NULL)
    {
      if (!ef_picture_write_exploded (assessment, exploded, options->width, options->height, error))
        return FALSE;
      g_print ("%s\n", exploded);
      if (!draw_flow (assessment, options, error) || !draw_plan (assessment, options, error))
        return FALSE;
    }

  return draw_faces (assessment, options, all, named, error);
}

int
ef_cli_pictures (int argc,
                 char **argv)
{
  g_autofree char *folder = NULL;
  g_autofree char *format = NULL;
  g_autofree char *rules = NULL;
  g_auto (GStrv) named = NULL;
  gboolean all = FALSE;
  int width = 1200;
  int height = 900;
  const GOptionEntry entries[] = {
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &folder, "Folder to write into (must be given; made if missing)", "FOLDER" },
    { "format", 'f', 0, G_OPTION_ARG_STRING, &format, "png (default) or svg", "FORMAT" },
    { "face", 0, 0, G_OPTION_ARG_STRING_ARRAY, &named, "Only this face, such as separator/side-a; may be repeated", "FACE" },
    { "all", 'a', 0, G_OPTION_ARG_NONE, &all, "Every face, not only those with marks", NULL },
    { "width", 0, 0, G_OPTION_ARG_INT, &width, "Width in px, 200 to 8000 (default 1200)", "PX" },
    { "height", 0, 0, G_OPTION_ARG_INT, &height, "Height in px, 200 to 8000 (default 900)", "PX" },
    { "rules", 'r', 0, G_OPTION_ARG_FILENAME, &rules, "Rule set (default: the one shipped)", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GError) error = NULL;
  PictureOptions options;
  int code;

  if (!ef_cli_options (entries, "INSPECTION", "Pictures of an inspection's faces and the oil pressure over them, of its exploded pump, of what it delivers and of its lapping plan. Prints the name of each file written.", &argc, &argv, &code))
    return code;
  if (argc != 2)
    return ef_cli_usage_error ("pictures", "expected one inspection file, found %d", argc - 1);
  if (folder == NULL)
    return ef_cli_usage_error ("pictures", "--output is missing: expected the folder to write into");
  if (format != NULL && !g_str_equal (format, "png") && !g_str_equal (format, "svg"))
    return ef_cli_usage_error ("pictures", "--format: expected png or svg, found \"%s\"", format);
  if (width < 200 || width > 8000 || height < 200 || height > 8000)
    return ef_cli_usage_error ("pictures", "--width and --height: expected 200 to 8000 px, found %d and %d", width, height);

  options = (PictureOptions) { folder, format != NULL ? format : "png", width, height };
  assessment = ef_cli_assess_file (argv[1], rules, &error);
  if (assessment == NULL || !draw_all (assessment, &options, all, named, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
