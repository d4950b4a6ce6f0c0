/* endfloat photos: those of a job, attaching more, taking some out of it, writing one out of the store, looking at a file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-action.h"
#include "ef-cli-inspection.h"
#include "ef-cli.h"
#include "../inspection/ef-document.h"
#include "../photo/ef-photo-file.h"
#include "../record/ef-store-roles.h"

typedef struct
{
  char *store_path, *number, *shows, *output, *role;
  EfStore *store;
  gint64 job;
} Options;

static void
options_clear (Options *options)
{
  g_clear_pointer (&options->store, ef_store_close);
  g_free (options->store_path);
  g_free (options->number);
  g_free (options->shows);
  g_free (options->output);
  g_free (options->role);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

static gboolean
open_store (Options *options,
            gboolean with_job,
            GError **error)
{
  if (options->store_path == NULL || (with_job && options->number == NULL))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "expected --store%s", with_job ? " and --job" : "");
      return FALSE;
    }
  options->store = ef_cli_can_read (options->store_path, error) ? ef_store_open (options->store_path, error) : NULL;
  if (options->store == NULL || !with_job)
    return options->store != NULL;
  options->job = ef_cli_find_job (options->store, options->number, error);

  return options->job > 0;
}

/* The history names who does it: where the shop has roles, one of them. It's no act that asks for a PIN. */
static gboolean
begin_work (Options *options,
            GError **error)
{
  g_autoptr (EfRole) role = NULL;

  if (!open_store (options, TRUE, error) || !ef_store_known_role (options->store, options->role, &role, error))
    return FALSE;
  ef_store_use_role (options->store, role != NULL ? role->name : options->role);

  return TRUE;
}

/* What the item says, how it lies on its face, and what the store has of it. */
static JsonObject *
describe (EfStore *store,
          const EfPhoto *photo)
{
  g_autoptr (JsonNode) node = ef_item_to_json (&photo->item);
  JsonObject *object = json_object_ref (json_node_get_object (node));
  g_autoptr (EfFileRow) row = ef_store_file_info (store, photo->file, NULL);
  g_autoptr (GError) damage = NULL;
  g_auto (EfRegistration) fit = { 0 };

  json_object_set_boolean_member (object, "in_store", row != NULL);
  if (row != NULL)
    {
      json_object_set_int_member (object, "bytes", row->size);
      json_object_set_boolean_member (object, "sound", ef_store_check_file (store, photo->file, NULL, &damage));
    }
  if (photo->pairs->len > 0 && ef_photo_fit (photo, &fit, NULL))
    {
      ef_json_put (object, "rms_mm", 1e3 * fit.rms);
      ef_json_put (object, "largest_mm", 1e3 * fit.largest);
      json_object_set_int_member (object, "degrees_of_freedom", fit.freedom);
    }

  return object;
}

static gboolean
run_list (Options *options,
          char **unused,
          GError **error)
{
  g_autoptr (EfInspection) inspection = open_store (options, TRUE, error) ? ef_store_load (options->store, options->job, error) : NULL;
  JsonArray *array = json_array_new ();
  g_autoptr (JsonNode) node = json_node_init_array (json_node_alloc (), array);
  g_autofree char *text = NULL;

  json_array_unref (array);
  if (inspection == NULL)
    return FALSE;
  for (guint i = 0; i < inspection->items[EF_ITEM_PHOTO]->len; i++)
    json_array_add_object_element (array, describe (options->store, inspection->items[EF_ITEM_PHOTO]->pdata[i]));
  text = ef_json_to_text (node);

  return ef_cli_write (options->output, text, error);
}

/* All or none: the first that is refused ends it. */
static gboolean
run_attach (Options *options,
            char **paths,
            GError **error)
{
  g_autoptr (EfChange) change = ef_change_new ("Attach photos");
  g_autoptr (EfDocument) document = NULL;

  if (!begin_work (options, error))
    return FALSE;
  for (guint i = 0; paths[i] != NULL; i++)
    {
      g_autoptr (GFile) file = g_file_new_for_commandline_arg (paths[i]);
      g_autoptr (EfItem) photo = (EfItem *) ef_photo_take_in (options->store, file, NULL, error);

      if (photo == NULL)
        return FALSE;
      ((EfPhoto *) photo)->shows = g_strdup (options->shows);
      ef_change_add (change, NULL, photo);
      g_print ("%s  %s\n", ((EfPhoto *) photo)->file, ((EfPhoto *) photo)->name);
    }
  document = ef_store_open_document (options->store, options->job, error);

  return document != NULL && ef_document_apply (document, g_steal_pointer (&change), error);
}

/* The photo of the job with that digest, or so many first digits of it that no other has. */
static EfItem *
find_photo (const EfInspection *inspection,
            const char *digest,
            GError **error)
{
  const GPtrArray *photos = inspection->items[EF_ITEM_PHOTO];
  EfItem *found = NULL;

  for (guint i = 0; i < photos->len; i++)
    if (*digest != '\0' && g_str_has_prefix (((EfPhoto *) photos->pdata[i])->file, digest))
      {
        if (found != NULL)
          {
            g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a digest that one photo of the job has, found several", digest);
            return NULL;
          }
        found = photos->pdata[i];
      }
  if (found == NULL)
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected the digest of a photo of the job, found none", digest);

  return found;
}

/* All or none. The files stay in the store. */
static gboolean
run_take_out (Options *options,
              char **digests,
              GError **error)
{
  g_autoptr (EfChange) change = ef_change_new ("Take photos out");
  g_autoptr (EfDocument) document = begin_work (options, error) ? ef_store_open_document (options->store, options->job, error) : NULL;

  for (guint i = 0; document != NULL && digests[i] != NULL; i++)
    {
      EfItem *photo = find_photo (ef_document_inspection (document), digests[i], error);

      if (photo == NULL)
        return FALSE;
      ef_change_add (change, photo, NULL);
    }

  return document != NULL && ef_document_apply (document, g_steal_pointer (&change), error);
}

static gboolean
run_save (Options *options,
          char **digests,
          GError **error)
{
  return open_store (options, FALSE, error) && ef_cli_save_stored_file (options->store, digests[0], options->output, error);
}

static gboolean
run_look (Options *options,
          char **paths,
          GError **error)
{
  for (guint i = 0; paths[i] != NULL; i++)
    {
      g_autofree char *contents = NULL;
      g_autofree char *name = g_filename_display_basename (paths[i]);
      g_autoptr (GBytes) bytes = NULL;
      g_autoptr (GdkPixbuf) pixbuf = NULL;
      EfPhotoProbe probe;
      gsize length;

      if (!ef_cli_can_read (paths[i], error) || !g_file_get_contents (paths[i], &contents, &length, error))
        return FALSE;
      bytes = g_bytes_new_take (g_steal_pointer (&contents), length);
      pixbuf = ef_photo_probe (bytes, name, &probe, error) ? ef_photo_decode (bytes, name, 256, NULL, error) : NULL;
      if (pixbuf == NULL)
        return FALSE;
      g_print ("%s: %s, %d x %d px, EXIF orientation %d, taken %s\n", name, probe.type, probe.width, probe.height, probe.orientation,
               *probe.taken != '\0' ? probe.taken : "not said");
    }

  return TRUE;
}

typedef struct
{
  EfCliAction action;
  gboolean (*run) (Options *options, char **words, GError **error);
} Action;

static const Action actions[] = {
  { { "list", NULL, "the job's photos as JSON, with what the store has of them and how well they lie" }, run_list },
  { { "attach", "FILE…", "take JPEG and PNG files into the job", .repeats = TRUE }, run_attach },
  { { "take-out", "DIGEST…", "take photos out of the job; their files stay in the store", .repeats = TRUE }, run_take_out },
  { { "save", "DIGEST", "write a file of the store, checked against its digest" }, run_save },
  { { "look", "FILE…", "say what a photo file is, or why it is refused", .repeats = TRUE }, run_look },
};

int
ef_cli_photos (int argc,
               char **argv)
{
  g_auto (Options) options = { 0 };
  const GOptionEntry entries[] = {
    { "store", 's', 0, G_OPTION_ARG_FILENAME, &options.store_path, "Store with the job", "FILE" },
    { "job", 'n', 0, G_OPTION_ARG_STRING, &options.number, "Number of the job", "NUMBER" },
    { "shows", 0, 0, G_OPTION_ARG_STRING, &options.shows, "Part or face that attached photos show, such as separator/side-a", "ID" },
    { "role", 'r', 0, G_OPTION_ARG_STRING, &options.role, "attach, take-out: who does it, for the history; where the shop has roles, one of them", "ROLE" },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &options.output, "Write here", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autofree char *summary = ef_cli_actions_text ("The photos of a job. Actions:", actions, G_N_ELEMENTS (actions), sizeof (Action));
  g_autoptr (GError) error = NULL;
  const Action *action;
  int code;

  if (!ef_cli_options (entries, "ACTION [FILE…|DIGEST…]", summary, &argc, &argv, &code))
    return code;
  action = ef_cli_action ("photos", "an action", actions, G_N_ELEMENTS (actions), sizeof (Action), argc - 1, argv + 1);
  if (action == NULL)
    return EF_EXIT_USAGE;

  return action->run (&options, argv + 2, &error) ? EF_EXIT_OK : ef_cli_report_error (error);
}
