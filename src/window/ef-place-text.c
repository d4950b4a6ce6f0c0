/* Places on a face as typed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-place-text.h"

#include <glib/gi18n.h>
#include <string.h>

static gboolean
parse_two (const char *text,
           const char *split,
           gsize skip,
           EfUnit unit,
           double *u_out,
           double *v_out)
{
  g_autofree char *first = g_strndup (text, split - text);
  EfUnit second_unit = unit;

  /* A unit that is said once, after the second, counts for both: "12.5, -3 mm". */
  if (!ef_parse_length (split + skip, unit, v_out, &second_unit, NULL))
    return FALSE;
  return ef_parse_length (first, second_unit, u_out, NULL, NULL);
}

/* The ends of the first number's unit or digits where a space may part the two: tried from the left. */
static gboolean
parse_spaced (const char *text,
              EfUnit unit,
              double *u_out,
              double *v_out)
{
  const char *p;

  for (p = strchr (text, ' '); p != NULL; p = strchr (p + 1, ' '))
    if (parse_two (text, p, 1, unit, u_out, v_out))
      return TRUE;
  return FALSE;
}

gboolean
ef_parse_place (const char *text,
                EfUnit unit,
                double *u_out,
                double *v_out,
                GError **error)
{
  g_autofree char *clean = g_strdelimit (g_strdup (text != NULL ? text : ""), "\t", ' ');
  const char *p;

  g_strstrip (clean);
  /* A comma before a space always parts. */
  for (p = strstr (clean, ", "); p != NULL; p = strstr (p + 1, ", "))
    if (parse_two (clean, p, 2, unit, u_out, v_out))
      return TRUE;
  if (parse_spaced (clean, unit, u_out, v_out))
    return TRUE;
  /* A lone comma parts: "12,-3". With more commas the middle one does: "12,5,3,2". */
  for (p = strchr (clean, ','); p != NULL; p = strchr (p + 1, ','))
    {
      guint before = 0, after = 0;
      const char *q;

      for (q = clean; *q != '\0'; q++)
        if (*q == ',' && q != p)
          *(q < p ? &before : &after) += 1;
      if (before == after && parse_two (clean, p, 1, unit, u_out, v_out))
        return TRUE;
    }
  g_set_error (error, EF_ERROR, EF_ERROR_PARSE, _("“%s”: two lengths are expected, as in 12.5, -3 or 12,5 -3 mm"), clean);
  return FALSE;
}

GArray *
ef_parse_places (const char *text,
                 EfUnit unit,
                 GError **error)
{
  g_auto (GStrv) pieces = g_strsplit_set (text != NULL ? text : "", ";\n", -1);
  g_autoptr (GArray) nodes = g_array_new (FALSE, FALSE, sizeof (EfMarkNode));
  guint i;

  for (i = 0; pieces[i] != NULL; i++)
    {
      EfMarkNode node;

      if (g_strstrip (pieces[i])[0] == '\0')
        continue;
      if (!ef_parse_place (pieces[i], unit, &node.u, &node.v, error))
        {
          g_prefix_error (error, _("Place %u: "), nodes->len + 1);
          return NULL;
        }
      g_array_append_val (nodes, node);
    }
  if (nodes->len == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, _("At least one place is expected, as in 12.5, -3"));
      return NULL;
    }
  return g_steal_pointer (&nodes);
}

char *
ef_format_exact (double metres,
                 EfUnit unit)
{
  int decimals;

  for (decimals = 0; decimals <= 9; decimals++)
    {
      g_autofree char *text = ef_format_quantity (metres, unit, decimals);
      double back;

      if (ef_parse_length (text, unit, &back, NULL, NULL) && back == ef_length_on_grid (metres))
        return g_steal_pointer (&text);
    }
  return ef_format_quantity (metres, unit, 9);
}

char *
ef_format_place (double u,
                 double v,
                 EfUnit unit)
{
  g_autofree char *first = ef_format_exact (u, unit);
  g_autofree char *second = ef_format_exact (v, unit);
  char *space = strchr (first, ' ');

  if (space != NULL)
    *space = '\0';
  return g_strdup_printf ("%s, %s", first, second);
}
