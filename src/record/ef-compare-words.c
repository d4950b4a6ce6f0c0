/* Members of an item's JSON and their values in words a person reads.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-compare.h"

#include <string.h>

/* More numbers than this in a list are told by their count. */
#define NUMBERS_SHOWN 8

static const struct
{
  const char *member, *words;
} words[] = {
  { "size_mm", "size" },
  { "nodes_mm", "outline" },
  { "at_mm", "place" },
  { "depth_mm", "depth" },
  { "value_mm", "value" },
  { "angle_deg", "direction" },
  { "temperature_c", "part temperature" },
  { "unit", "unit typed in" },
  { "resolution_mm", "resolution" },
  { "uncertainty_mm", "expanded uncertainty" },
  { "range_min_mm", "range from" },
  { "range_max_mm", "range to" },
  { "checked", "last check" },
  { "due", "next check due" },
  { "found_pressure_bar", "oil pressure found" },
  { "found_speed_rpm", "pump speed then" },
  { "found_temperature_c", "oil temperature then" },
  { "expected_pressure_bar", "oil pressure expected" },
  { "hours", "running hours" },
  { "serial", "serial number" },
  { "customer", "vessel or machine" },
  { "number", "number" },
  { "decision", "decision rule" },
  { "coverage", "coverage of the decision rule" },
  { "plan_goal", "goal of the lapping plan" },
  { "file", "content (SHA-256)" },
  { "type", "kind of file" },
  { "size_px", "size" },
  { "taken", "time taken" },
  { "turns", "quarter turns" },
  { "photo_px", "place on the photo" },
  { "face_mm", "place on the face" },
};

static const struct
{
  const char *ending, *unit;
} units[] = {
  { "_mm2", " mm²" },
  { "_mm3", " mm³" },
  { "_mm", " mm" },
  { "_um", " µm" },
  { "_bar", " bar" },
  { "_rpm", " rev/min" },
  { "_deg", "°" },
  { "_c", " °C" },
  { "_pa", " Pa" },
  { "_px", " px" },
  { "_percent", " %" },
};

static const char *
unit_of (const char *member,
         gsize *ending_length)
{
  for (guint i = 0; i < G_N_ELEMENTS (units); i++)
    if (g_str_has_suffix (member, units[i].ending))
      {
        *ending_length = strlen (units[i].ending);
        return units[i].unit;
      }
  *ending_length = 0;

  return "";
}

static void
append_member (GString *out,
               const char *member)
{
  gsize ending;

  for (guint i = 0; i < G_N_ELEMENTS (words); i++)
    if (g_str_equal (words[i].member, member))
      {
        g_string_append (out, words[i].words);
        return;
      }
  unit_of (member, &ending);
  for (gsize i = 0; i < strlen (member) - ending; i++)
    g_string_append_c (out, member[i] == '_' ? ' ' : member[i]);
}

/* "depths[1].depth_mm" -> "depth 2"; "depths[1].gauge" -> "depth 2, gauge": lists are named by what stands in them. */
char *
ef_compare_field_words (const char *path)
{
  g_autoptr (GString) out = g_string_new (NULL);
  g_auto (GStrv) parts = g_strsplit (path, ".", -1);

  for (guint i = 0; parts[i] != NULL; i++)
    {
      char *bracket = strchr (parts[i], '[');
      g_autofree char *member = bracket != NULL ? g_strndup (parts[i], bracket - parts[i]) : g_strdup (parts[i]);
      gsize length = strlen (member);
      gboolean own = i > 0 && parts[i + 1] == NULL && g_str_equal (parts[i], "depth_mm") && g_str_has_prefix (parts[i - 1], "depths[");

      if (own)
        break;
      if (out->len > 0)
        g_string_append (out, ", ");
      if (bracket != NULL && length > 1 && member[length - 1] == 's')
        member[length - 1] = '\0';
      append_member (out, member);
      for (; bracket != NULL; bracket = strchr (bracket + 1, '['))
        g_string_append_printf (out, " %" G_GINT64_FORMAT, g_ascii_strtoll (bracket + 1, NULL, 10) + 1);
    }

  return g_string_free (g_steal_pointer (&out), FALSE);
}

static const char *
last_member (const char *path,
             char **member_out)
{
  const char *dot = strrchr (path, '.');
  const char *start = dot != NULL ? dot + 1 : path;
  gsize length = strcspn (start, "[");

  *member_out = g_strndup (start, length);

  return *member_out;
}

static void
append_value (GString *out,
              JsonNode *node,
              const char *unit)
{
  g_autofree char *text = NULL;

  if (JSON_NODE_HOLDS_ARRAY (node))
    {
      JsonArray *array = json_node_get_array (node);
      guint n = json_array_get_length (array);

      for (guint i = 0; i < MIN (n, NUMBERS_SHOWN); i++)
        {
          if (i > 0)
            g_string_append (out, JSON_NODE_HOLDS_ARRAY (json_array_get_element (array, i)) ? "; " : ", ");
          append_value (out, json_array_get_element (array, i), "");
        }
      if (n > NUMBERS_SHOWN)
        g_string_append_printf (out, " … (%u)", n);
      if (n == 0)
        g_string_append (out, "none");
      g_string_append (out, n > 0 ? unit : "");
      return;
    }
  if (JSON_NODE_HOLDS_OBJECT (node) || JSON_NODE_HOLDS_NULL (node))
    {
      g_string_append (out, JSON_NODE_HOLDS_NULL (node) ? "not said" : "…");
      return;
    }
  if (json_node_get_value_type (node) == G_TYPE_STRING)
    g_string_append (out, json_node_get_string (node));
  else if (json_node_get_value_type (node) == G_TYPE_BOOLEAN)
    g_string_append (out, json_node_get_boolean (node) ? "yes" : "no");
  else
    {
      text = json_node_get_value_type (node) == G_TYPE_INT64 ? g_strdup_printf ("%" G_GINT64_FORMAT, json_node_get_int (node))
                                                             : ef_json_number_text (json_node_get_double (node));
      g_string_append_printf (out, "%s%s", text, unit);
    }
}

char *
ef_compare_value_words (const char *path,
                        JsonNode *node)
{
  g_autoptr (GString) out = NULL;
  g_autofree char *member = NULL;
  gsize ending;

  if (node == NULL || JSON_NODE_HOLDS_NULL (node))
    return NULL;
  out = g_string_new (NULL);
  append_value (out, node, unit_of (last_member (path, &member), &ending));

  return g_string_free (g_steal_pointer (&out), FALSE);
}

/* "separator/side-a" -> "Separator plate, side a" */
static char *
face_words (const EfPumpSheet *sheet,
            const char *face)
{
  g_auto (GStrv) parts = g_strsplit (face, "/", 2);
  const EfPart *part = parts[0] != NULL ? ef_pump_sheet_part (sheet, parts[0]) : NULL;

  if (part == NULL || parts[1] == NULL)
    return g_strdup (face);

  return g_strdup_printf ("%s, %s", part->name, g_strdelimit (parts[1], "-", ' '));
}

static char *
mark_words (const EfPumpSheet *sheet,
            const EfMark *mark)
{
  g_autofree char *kind = g_utf8_strdown (ef_mark_kind_label (mark->kind), -1);
  g_autofree char *face = face_words (sheet, mark->face_id);

  return g_strdup_printf ("Mark %d (%s; %s)", mark->number, kind, face);
}

static char *
reading_words (const EfReading *reading)
{
  g_autofree char *quantity = g_utf8_strdown (ef_quantity_label (reading->quantity), -1);

  return g_strdup_printf ("Reading: %s, %s%s%s", quantity, reading->target, reading->place != NULL ? ", " : "",
                          reading->place != NULL ? reading->place : "");
}

char *
ef_compare_item_words (const EfInspection *inspection,
                       const EfItem *item)
{
  const EfPart *part;

  switch (item->klass->kind)
    {
    case EF_ITEM_HEADER:
      return g_strdup ("Job");
    case EF_ITEM_MARK:
      return mark_words (inspection->sheet, (const EfMark *) item);
    case EF_ITEM_READING:
      return reading_words ((const EfReading *) item);
    case EF_ITEM_GAUGE:
      return g_strdup_printf ("Gauge: %s", ((const EfGauge *) item)->name != NULL ? ((const EfGauge *) item)->name : item->id);
    case EF_ITEM_CHECK:
      part = ef_pump_sheet_part (inspection->sheet, item->id);
      return g_strdup_printf ("Check: %s", part != NULL ? part->name : item->id);
    case EF_ITEM_OVERRIDE:
      return g_strdup_printf ("Verdict set by hand: %s", item->id);
    case EF_ITEM_PHOTO:
      return g_strdup_printf ("Photo: %s", ((const EfPhoto *) item)->name);
    case EF_ITEM_TICK:
      return g_str_equal (item->id, "sign-off") ? g_strdup ("Sign-off") : g_strdup_printf ("Step done: %s", item->id);
    default:
      return g_strdup_printf ("%s %s", ef_item_kind_name (item->klass->kind), item->id);
    }
}
