/* endfloat compare: what differs between two exchange files, or between two states of one job in a store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-inspection.h"
#include "ef-cli.h"
#include "../draw/ef-draw-difference.h"
#include "../record/ef-exchange.h"
#include "../record/ef-store.h"

/* px */
#define PICTURE_WIDTH 1200
#define PICTURE_HEIGHT 900

static EfInspection *
load_state (EfStore *store,
            const char *number,
            const char *row,
            GError **error)
{
  guint64 seq;
  gint64 job;

  if (!g_ascii_string_to_unsigned (row, 10, 1, G_MAXINT64, &seq, NULL))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "expected the number of a row of the job's history, found \"%s\"", row);
      return NULL;
    }
  job = ef_cli_find_job (store, number, error);

  return job > 0 ? ef_store_load_at (store, job, (gint64) seq, error) : NULL;
}

static gboolean
draw_difference (const EfInspection *a,
                 const EfInspection *b,
                 GPtrArray *differences,
                 const char *face,
                 const char *path,
                 GError **error)
{
  g_autoptr (GPtrArray) faces = ef_face_difference_faces (a, b, differences);
  g_autoptr (EfFaceDifference) difference = NULL;

  if (face == NULL && faces->len == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: the marks are the same on every face, so there is nothing to draw", path);
      return FALSE;
    }
  difference = ef_face_difference_new (a, b, differences, face != NULL ? face : g_ptr_array_index (faces, 0), NULL, error);

  return difference != NULL && ef_picture_write_difference (difference, path, PICTURE_WIDTH, PICTURE_HEIGHT, error);
}

int
ef_cli_compare (int argc,
                char **argv)
{
  g_autofree char *path = NULL;
  g_autofree char *number = NULL;
  g_autofree char *output = NULL;
  g_autofree char *picture = NULL;
  g_autofree char *face = NULL;
  gboolean json = FALSE;
  const GOptionEntry entries[] = {
    { "store", 's', 0, G_OPTION_ARG_FILENAME, &path, "Store of the job; A and B are rows of its history then", "FILE" },
    { "job", 'n', 0, G_OPTION_ARG_STRING, &number, "Number of the job in the store", "NUMBER" },
    { "json", 'j', 0, G_OPTION_ARG_NONE, &json, "As JSON instead of plain text", NULL },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &output, "Write here (default: standard output)", "FILE" },
    { "picture", 'p', 0, G_OPTION_ARG_FILENAME, &picture, "Also draw what differs on a face, as .png or .svg", "FILE" },
    { "face", 'f', 0, G_OPTION_ARG_STRING, &face, "Which face to draw (default: the first that differs)", "FACE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfStore) store = NULL;
  g_autoptr (EfInspection) a = NULL;
  g_autoptr (EfInspection) b = NULL;
  g_autoptr (GPtrArray) differences = NULL;
  g_autoptr (JsonNode) node = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  int code;

  if (!ef_cli_options (entries, "A B", "What differs between two inspections: item, field, before and after.", &argc, &argv, &code))
    return code;
  if (argc != 3)
    return ef_cli_usage_error ("compare", "expected two inspections, found %d", argc - 1);
  if ((path == NULL) != (number == NULL))
    return ef_cli_usage_error ("compare", "expected --store and --job together");
  if (face != NULL && picture == NULL)
    return ef_cli_usage_error ("compare", "expected --picture with --face");

  if (path != NULL)
    {
      store = ef_cli_can_read (path, &error) ? ef_store_open (path, &error) : NULL;
      a = store != NULL ? load_state (store, number, argv[1], &error) : NULL;
      b = a != NULL ? load_state (store, number, argv[2], &error) : NULL;
    }
  else
    {
      a = ef_cli_can_read (argv[1], &error) ? ef_exchange_load (argv[1], &error) : NULL;
      b = a != NULL && ef_cli_can_read (argv[2], &error) ? ef_exchange_load (argv[2], &error) : NULL;
    }
  if (b == NULL)
    return ef_cli_report_error (error);

  differences = ef_compare (a, b);
  node = json ? ef_compare_to_json (differences) : NULL;
  text = json ? ef_json_to_text (node) : ef_compare_to_text (differences);
  if (picture != NULL && !draw_difference (a, b, differences, face, picture, &error))
    return ef_cli_report_error (error);
  if (!ef_cli_write (output, text, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
