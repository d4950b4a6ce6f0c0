/* The exchange file: one JSON document with everything of one inspection.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-exchange.h"
#include "../judge/ef-judge.h"

#include <glib/gstdio.h>
#include <string.h>

/* Items of one list; a file with more is refused. */
#define ITEMS_MAX 200000

/* In this order: what others refer to comes first. */
static const struct
{
  const char *member;
  EfItemKind kind;
} lists[] = {
  { "gauges", EF_ITEM_GAUGE },
  { "marks", EF_ITEM_MARK },
  { "readings", EF_ITEM_READING },
  { "checks", EF_ITEM_CHECK },
  { "overrides", EF_ITEM_OVERRIDE },
  { "ticks", EF_ITEM_TICK },
  { "work", EF_ITEM_WORK },
  { "demands", EF_ITEM_DEMAND },
  { "costs", EF_ITEM_COST },
  { "replacements", EF_ITEM_REPLACEMENT },
  { "photos", EF_ITEM_PHOTO },
};

static const char *const members[] = {
  "format", "version", "pump_sheet", "job",
  "gauges", "marks", "readings", "checks", "overrides", "ticks", "work", "demands", "costs", "replacements", "photos", "seal", NULL
};

const char *
ef_exchange_list (guint i,
                  EfItemKind *kind_out)
{
  if (i >= G_N_ELEMENTS (lists))
    return NULL;
  if (kind_out != NULL)
    *kind_out = lists[i].kind;

  return lists[i].member;
}

static gboolean
check_format (const EfJson *root,
              EfJsonContext *context,
              GError **error)
{
  const char *const formats[] = { EF_EXCHANGE_FORMAT, NULL };
  gint64 version;

  ef_json_choice (root, "format", formats);
  version = ef_json_integer (root, "version", 1, G_MAXINT64);
  if (version > EF_EXCHANGE_VERSION)
    ef_json_fail (root, EF_ERROR_NEWER_FORMAT,
                  "version: expected at most %d, found %" G_GINT64_FORMAT
                  ". A newer version of this program wrote the file; open it with that one",
                  EF_EXCHANGE_VERSION, version);

  return ef_json_finish (context, error);
}

/* The sheet's own loader knows nothing of the file around it: its paths get the member's name here. */
static void
move_path (GError *error,
           const char *file)
{
  g_autofree char *prefix = g_strdup_printf ("%s: $", file);

  if (error != NULL && g_str_has_prefix (error->message, prefix))
    {
      char *moved = g_strdup_printf ("%s.pump_sheet%s", prefix, error->message + strlen (prefix));

      g_free (error->message);
      error->message = moved;
    }
}

static EfPumpSheet *
read_sheet (const EfJson *root,
            EfJsonContext *context,
            const char *file,
            GError **error)
{
  g_auto (EfJson) json = ef_json_object (root, "pump_sheet");
  g_autofree char *text = NULL;
  g_autoptr (GError) local = NULL;
  EfPumpSheet *sheet;

  if (!ef_json_finish (context, error))
    return NULL;

  text = ef_json_to_text (json.node);
  sheet = ef_pump_sheet_parse (text, file, &local);
  if (sheet != NULL && !ef_rule_set_check_sheet (sheet, &local))
    g_clear_pointer (&sheet, ef_pump_sheet_unref);
  if (sheet == NULL)
    {
      move_path (local, file);
      g_propagate_error (error, g_steal_pointer (&local));
    }

  return sheet;
}

/* Says at which element of the list the first item stands that doesn't fit. */
static void
fail_list (const EfInspection *inspection,
           const EfJson *array,
           GPtrArray *items,
           const GError *reason)
{
  guint i;

  for (i = 0; i < items->len; i++)
    if (!ef_inspection_check_item (inspection, items->pdata[i], NULL))
      {
        g_auto (EfJson) element = ef_json_element (array, i);

        ef_json_fail (&element, reason->code, "%s", reason->message);
        return;
      }

  ef_json_fail (array, reason->code, "%s", reason->message);
}

static gboolean
read_list (EfInspection *inspection,
           const EfJson *root,
           const char *member,
           EfItemKind kind,
           EfJsonContext *context,
           GError **error)
{
  g_autoptr (GPtrArray) items = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GError) local = NULL;
  g_auto (EfJson) array = { 0 };
  guint i;

  if (!ef_json_has (root, member))
    return TRUE;

  array = ef_json_array (root, member, 0, ITEMS_MAX);
  for (i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) element = ef_json_element (&array, i);
      EfItem *item = ef_item_from_json (kind, &element);

      if (item == NULL)
        break;
      g_ptr_array_add (items, item);
    }
  if (ef_json_finish (context, NULL) && !ef_inspection_fill (inspection, kind, items, &local))
    fail_list (inspection, &array, items, local);

  return ef_json_finish (context, error);
}

static gboolean
read_header (EfInspection *inspection,
             const EfJson *root,
             EfJsonContext *context,
             GError **error)
{
  g_autoptr (GPtrArray) headers = g_ptr_array_new_with_free_func (ef_item_unref);
  g_auto (EfJson) json = ef_json_object (root, "job");
  g_autoptr (GError) local = NULL;
  EfItem *header;

  if (!ef_json_finish (context, error))
    return FALSE;
  header = ef_item_from_json (EF_ITEM_HEADER, &json);
  if (header == NULL)
    return ef_json_finish (context, error);

  g_ptr_array_add (headers, header);
  if (!ef_inspection_fill (inspection, EF_ITEM_HEADER, headers, &local))
    ef_json_fail (&json, local->code, "%s", local->message);

  return ef_json_finish (context, error);
}

static EfInspection *
read_context (EfJsonContext *context,
              const char *file,
              GError **error)
{
  g_auto (EfJson) root = ef_json_root (context);
  g_autoptr (EfPumpSheet) sheet = NULL;
  g_autoptr (EfInspection) inspection = NULL;
  guint i;

  if (!check_format (&root, context, error))
    return NULL;
  ef_json_only (&root, members);
  sheet = read_sheet (&root, context, file, error);
  if (sheet == NULL)
    return NULL;

  inspection = ef_inspection_new (sheet, NULL);
  if (!read_header (inspection, &root, context, error))
    return NULL;
  for (i = 0; i < G_N_ELEMENTS (lists); i++)
    if (!read_list (inspection, &root, lists[i].member, lists[i].kind, context, error))
      return NULL;

  return g_steal_pointer (&inspection);
}

EfInspection *
ef_exchange_parse (const char *text,
                   gssize length,
                   const char *file,
                   GError **error)
{
  g_autoptr (EfJsonContext) context = NULL;

  g_return_val_if_fail (text != NULL && file != NULL, NULL);
  context = ef_json_parse (text, length, file, error);
  if (context == NULL)
    return NULL;

  return read_context (context, file, error);
}

EfInspection *
ef_exchange_load (const char *path,
                  GError **error)
{
  g_autoptr (EfJsonContext) context = NULL;
  g_autofree char *name = NULL;

  g_return_val_if_fail (path != NULL, NULL);
  context = ef_json_parse_file (path, error);
  if (context == NULL)
    return NULL;
  name = g_filename_display_name (path);

  return read_context (context, name, error);
}

static JsonArray *
list_to_json (const GPtrArray *items)
{
  JsonArray *array = json_array_new ();
  guint i;

  for (i = 0; i < items->len; i++)
    json_array_add_element (array, ef_item_to_json (items->pdata[i]));

  return array;
}

char *
ef_exchange_write (const EfInspection *inspection)
{
  g_autoptr (JsonNode) node = NULL;
  JsonNode *sheet;
  JsonObject *object;
  guint i;

  g_return_val_if_fail (inspection != NULL, NULL);
  sheet = json_from_string (inspection->sheet->json, NULL);
  g_return_val_if_fail (sheet != NULL, NULL);

  object = json_object_new ();
  json_object_set_string_member (object, "format", EF_EXCHANGE_FORMAT);
  json_object_set_int_member (object, "version", EF_EXCHANGE_VERSION);
  json_object_set_member (object, "pump_sheet", sheet);
  json_object_set_member (object, "job", ef_item_to_json ((const EfItem *) ef_inspection_header (inspection)));
  for (i = 0; i < G_N_ELEMENTS (lists); i++)
    json_object_set_array_member (object, lists[i].member, list_to_json (inspection->items[lists[i].kind]));
  node = json_node_init_object (json_node_alloc (), object);
  json_object_unref (object);

  return ef_json_to_text (node);
}

gboolean
ef_exchange_save_text (const char *text,
                       const char *path,
                       GError **error)
{
  g_autoptr (GError) local = NULL;

  g_return_val_if_fail (text != NULL && path != NULL, FALSE);
  if (!g_file_set_contents_full (path, text, -1, G_FILE_SET_CONTENTS_CONSISTENT | G_FILE_SET_CONTENTS_DURABLE, 0666, &local))
    {
      gboolean full = g_error_matches (local, G_FILE_ERROR, G_FILE_ERROR_NOSPC);
      g_autofree char *name = g_filename_display_name (path);

      g_set_error (error, EF_ERROR, full ? EF_ERROR_FULL : EF_ERROR_IO, "%s: can't be written: %s", name, local->message);
      return FALSE;
    }

  return TRUE;
}

gboolean
ef_exchange_save (const EfInspection *inspection,
                  const char *path,
                  GError **error)
{
  g_autofree char *text = NULL;

  g_return_val_if_fail (inspection != NULL && path != NULL, FALSE);
  text = ef_exchange_write (inspection);

  return ef_exchange_save_text (text, path, error);
}
