/* endfloat gauges: the shop's gauges or a job's, and the certificates attached to them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-action.h"
#include "ef-cli-inspection.h"
#include "ef-cli.h"
#include "../inspection/ef-document.h"
#include "../photo/ef-certificate-file.h"
#include "../record/ef-store-gauges.h"

#include <string.h>

typedef struct
{
  char *store_path, *number, *gauge, *output, *role, *bench;
  EfStore *store;
  gint64 job; /* 0: the shop's list */
} Options;

static void
options_clear (Options *options)
{
  g_clear_pointer (&options->store, ef_store_close);
  g_free (options->store_path);
  g_free (options->number);
  g_free (options->gauge);
  g_free (options->output);
  g_free (options->role);
  g_free (options->bench);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

static gboolean
open_store (Options *options,
            GError **error)
{
  if (options->store_path == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "expected --store");
      return FALSE;
    }
  options->store = ef_cli_can_read (options->store_path, error) ? ef_store_open (options->store_path, error) : NULL;
  if (options->store == NULL || options->number == NULL)
    return options->store != NULL;
  options->job = ef_cli_find_job (options->store, options->number, error);

  return options->job > 0;
}

static gboolean
is_called (const EfGauge *gauge,
           const char *words)
{
  return g_str_equal (gauge->item.id, words) || g_strcmp0 (gauge->serial, words) == 0 || g_strcmp0 (gauge->name, words) == 0;
}

/* The one of @gauges whose id, serial or name the words are; an index. G_MAXUINT and an error where it's none or more than one. */
static guint
find_gauge (const GPtrArray *gauges,
            const char *words,
            GError **error)
{
  guint found = G_MAXUINT, n = 0;

  if (words == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "expected --gauge");
      return G_MAXUINT;
    }
  for (guint i = 0; i < gauges->len; i++)
    if (is_called (gauges->pdata[i], words))
      {
        found = i;
        n++;
      }
  if (n == 1)
    return found;
  g_set_error (error, EF_ERROR, n == 0 ? EF_ERROR_NOT_FOUND : EF_ERROR_INVALID, "gauge %s: expected the id, serial number or name of one gauge, found %u", words, n);

  return G_MAXUINT;
}

static JsonArray *
describe_certificates (EfStore *store,
                       const EfGauge *gauge)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < ef_certificates_length (gauge->certificates); i++)
    {
      const EfCertificate *one = gauge->certificates->pdata[i];
      g_autoptr (EfFileRow) row = ef_store_file_info (store, one->file, NULL);
      JsonObject *object = json_object_new ();

      json_object_set_string_member (object, "file", one->file);
      json_object_set_string_member (object, "name", one->name);
      json_object_set_string_member (object, "type", one->type);
      json_object_set_boolean_member (object, "in_store", row != NULL);
      if (row != NULL)
        {
          json_object_set_int_member (object, "bytes", row->size);
          json_object_set_boolean_member (object, "sound", ef_store_check_file (store, one->file, NULL, NULL));
        }
      json_array_add_object_element (array, object);
    }

  return array;
}

/* As in files, with what the store has of the certificates. */
static JsonObject *
describe (EfStore *store,
          const EfGauge *gauge,
          const char *retired)
{
  g_autoptr (JsonNode) node = ef_item_to_json (&gauge->item);
  JsonObject *object = json_object_ref (json_node_get_object (node));

  if (ef_certificates_length (gauge->certificates) > 0)
    json_object_set_array_member (object, "certificates", describe_certificates (store, gauge));
  if (retired != NULL)
    json_object_set_string_member (object, "retired", retired);

  return object;
}

static gboolean
run_list (Options *options,
          char **unused,
          GError **error)
{
  JsonArray *array = json_array_new ();
  g_autoptr (JsonNode) node = json_node_init_array (json_node_alloc (), array);
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (GPtrArray) shop = NULL;
  g_autofree char *text = NULL;

  json_array_unref (array);
  if (!open_store (options, error))
    return FALSE;
  if (options->job != 0)
    inspection = ef_store_load (options->store, options->job, error);
  else
    shop = ef_store_gauges (options->store, TRUE, error);
  if (inspection == NULL && shop == NULL)
    return FALSE;
  for (guint i = 0; inspection != NULL && i < inspection->items[EF_ITEM_GAUGE]->len; i++)
    json_array_add_object_element (array, describe (options->store, inspection->items[EF_ITEM_GAUGE]->pdata[i], NULL));
  for (guint i = 0; shop != NULL && i < shop->len; i++)
    {
      const EfShopGauge *row = shop->pdata[i];

      json_array_add_object_element (array, describe (options->store, row->gauge, row->retired));
    }
  text = ef_json_to_text (node);

  return ef_cli_write (options->output, text, error);
}

/* What attaching and removing do to a gauge, in place. */
typedef gboolean (*Alter) (Options *options, EfGauge *gauge, char **words, GError **error);

static gboolean
alter_in_job (Options *options,
              Alter alter,
              const char *label,
              char **words,
              GError **error)
{
  g_autoptr (EfDocument) document = ef_store_open_document (options->store, options->job, error);
  const GPtrArray *gauges = document != NULL ? ef_document_inspection (document)->items[EF_ITEM_GAUGE] : NULL;
  guint i = gauges != NULL ? find_gauge (gauges, options->gauge, error) : G_MAXUINT;
  g_autoptr (EfItem) changed = i != G_MAXUINT ? ef_item_copy (gauges->pdata[i]) : NULL;
  g_autofree char *words_of_change = NULL;

  if (changed == NULL || !alter (options, (EfGauge *) changed, words, error))
    return FALSE;
  words_of_change = g_strdup_printf ("%s: %s", label, ((EfGauge *) changed)->name);

  return ef_item_equal (gauges->pdata[i], changed) || ef_document_replace (document, words_of_change, gauges->pdata[i], changed, error);
}

static gboolean
alter_in_shop (Options *options,
               Alter alter,
               char **words,
               GError **error)
{
  g_autoptr (GPtrArray) shop = ef_store_gauges (options->store, TRUE, error);
  g_autoptr (GPtrArray) gauges = g_ptr_array_new ();
  g_autoptr (EfItem) changed = NULL;
  guint at;

  if (shop == NULL)
    return FALSE;
  for (guint i = 0; i < shop->len; i++)
    g_ptr_array_add (gauges, ((const EfShopGauge *) shop->pdata[i])->gauge);
  at = find_gauge (gauges, options->gauge, error);
  changed = at != G_MAXUINT ? ef_item_copy (gauges->pdata[at]) : NULL;
  if (changed == NULL || !alter (options, (EfGauge *) changed, words, error))
    return FALSE;

  return ef_item_equal (gauges->pdata[at], changed)
         || ef_store_put_gauge (options->store, (EfGauge *) changed, ((const EfShopGauge *) shop->pdata[at])->version, options->role, options->bench, error);
}

/* Nothing goes into the store before all of them were looked at. */
static gboolean
look_at_all (char **paths,
             GError **error)
{
  for (guint i = 0; paths[i] != NULL; i++)
    {
      g_autoptr (GFile) file = g_file_new_for_commandline_arg (paths[i]);
      g_autoptr (EfCertificate) certificate = ef_certificate_read (file, NULL, NULL, error);

      if (certificate == NULL)
        return FALSE;
    }

  return TRUE;
}

static gboolean
attach (Options *options,
        EfGauge *gauge,
        char **paths,
        GError **error)
{
  if (!look_at_all (paths, error))
    return FALSE;
  for (guint i = 0; paths[i] != NULL; i++)
    {
      g_autoptr (GFile) file = g_file_new_for_commandline_arg (paths[i]);
      EfCertificate *certificate = ef_certificate_take_in (options->store, file, NULL, error);

      if (certificate == NULL)
        return FALSE;
      g_print ("%s  %s\n", certificate->file, certificate->name);
      if (ef_certificates_find (gauge->certificates, certificate->file) == NULL)
        gauge->certificates = ef_certificates_add (gauge->certificates, certificate);
      else
        ef_certificate_free (certificate);
    }

  return TRUE;
}

static gboolean
take_off (Options *options,
          EfGauge *gauge,
          char **digests,
          GError **error)
{
  for (guint i = 0; digests[i] != NULL; i++)
    {
      const EfCertificate *one = ef_certificates_find (gauge->certificates, digests[i]);

      if (one == NULL)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "gauge %s: expected a certificate with the digest %.64s, found none", gauge->name, digests[i]);
          return FALSE;
        }
      g_ptr_array_remove (gauge->certificates, (gpointer) one);
    }

  return TRUE;
}

/* All or none: the first that is refused ends it. */
static gboolean
run_attach (Options *options,
            char **paths,
            GError **error)
{
  return open_store (options, error)
         && (options->job != 0 ? alter_in_job (options, attach, "Attach certificate to gauge", paths, error) : alter_in_shop (options, attach, paths, error));
}

static gboolean
run_remove (Options *options,
            char **digests,
            GError **error)
{
  return open_store (options, error)
         && (options->job != 0 ? alter_in_job (options, take_off, "Remove certificate of gauge", digests, error)
                               : alter_in_shop (options, take_off, digests, error));
}

static gboolean
run_save (Options *options,
          char **digests,
          GError **error)
{
  return open_store (options, error) && ef_cli_save_stored_file (options->store, digests[0], options->output, error);
}

/* A line a change, oldest first. */
static gboolean
run_history (Options *options,
             char **unused,
             GError **error)
{
  g_autoptr (GPtrArray) shop = open_store (options, error) ? ef_store_gauges (options->store, TRUE, error) : NULL;
  g_autoptr (GPtrArray) gauges = g_ptr_array_new ();
  g_autoptr (GPtrArray) rows = NULL;
  g_autoptr (GString) text = g_string_new (NULL);
  guint at;

  if (shop == NULL)
    return FALSE;
  for (guint i = 0; i < shop->len; i++)
    g_ptr_array_add (gauges, ((const EfShopGauge *) shop->pdata[i])->gauge);
  at = find_gauge (gauges, options->gauge, error);
  rows = at != G_MAXUINT ? ef_store_gauge_history (options->store, ((const EfGauge *) gauges->pdata[at])->item.id, error) : NULL;
  if (rows == NULL)
    return FALSE;
  for (guint i = 0; i < rows->len; i++)
    {
      const EfHistoryRow *row = rows->pdata[i];

      g_string_append_printf (text, "%" G_GINT64_FORMAT "  %s  %s%s%s  %s\n", row->seq, row->time, *row->role != '\0' ? row->role : "-", *row->bench != '\0' ? ", " : "",
                              row->bench, row->label);
    }

  return ef_cli_write (options->output, text->str, error);
}

typedef struct
{
  EfCliAction action;
  gboolean (*run) (Options *options, char **words, GError **error);
} Action;

static const Action actions[] = {
  { { "list", NULL, "the gauges as JSON, with what the store has of their certificates" }, run_list },
  { { "attach", "FILE…", "take PDF, JPEG and PNG files as certificates of a gauge", .repeats = TRUE }, run_attach },
  { { "remove", "DIGEST…", "take certificates off a gauge; their files stay in the store", .repeats = TRUE }, run_remove },
  { { "save", "DIGEST", "write a file of the store, checked against its digest" }, run_save },
  { { "history", NULL, "what was ever changed of a gauge of the shop" }, run_history },
};

int
ef_cli_gauges (int argc,
               char **argv)
{
  g_auto (Options) options = { 0 };
  const GOptionEntry entries[] = {
    { "store", 's', 0, G_OPTION_ARG_FILENAME, &options.store_path, "Store with the gauges", "FILE" },
    { "job", 'n', 0, G_OPTION_ARG_STRING, &options.number, "The gauges of this job; without it the shop's", "NUMBER" },
    { "gauge", 'g', 0, G_OPTION_ARG_STRING, &options.gauge, "Id, serial number or name of a gauge", "WORDS" },
    { "role", 'r', 0, G_OPTION_ARG_STRING, &options.role, "Who does it, for the history of the shop's list", "ROLE" },
    { "bench", 'b', 0, G_OPTION_ARG_STRING, &options.bench, "And where", "BENCH" },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &options.output, "Write here", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autofree char *summary
      = ef_cli_actions_text ("The shop's gauges or a job's, and their certificates. Actions:", actions, G_N_ELEMENTS (actions), sizeof (Action));
  g_autoptr (GError) error = NULL;
  const Action *action;
  int code;

  if (!ef_cli_options (entries, "ACTION [FILE…|DIGEST…]", summary, &argc, &argv, &code))
    return code;
  action = ef_cli_action ("gauges", "an action", actions, G_N_ELEMENTS (actions), sizeof (Action), argc - 1, argv + 1);
  if (action == NULL)
    return EF_EXIT_USAGE;

  return action->run (&options, argv + 2, &error) ? EF_EXIT_OK : ef_cli_report_error (error);
}
