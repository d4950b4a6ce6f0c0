/* Flatness and roundness in words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-form.h"

#include "../metrology/ef-bore.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

EfUnit
ef_draw_fine_unit (EfUnit unit)
{
  return unit == EF_UNIT_INCH || unit == EF_UNIT_THOU ? EF_UNIT_THOU : EF_UNIT_UM;
}

char *
ef_draw_fine (double metres, EfUnit unit, gboolean with_unit)
{
  EfUnit fine = ef_draw_fine_unit (unit);
  int decimals = fine == EF_UNIT_THOU ? 2 : fabs (metres * 1e7 - 10 * rint (metres * 1e6)) < 0.05 ? 0 : 1;
  double value = ef_unit_from_si (fine, metres);

  if (fabs (value) < 0.5 * pow (10, -decimals))
    value = 0;
  return with_unit ? g_strdup_printf ("%.*f %s", decimals, value, ef_unit_symbol (fine)) : g_strdup_printf ("%.*f", decimals, value);
}

/* "0.018 ± 0.005 mm", expanded with k = 2; "0.018 mm" where nothing is known about it. */
static char *
with_spread (double value, double u, EfUnit unit)
{
  g_autofree char *whole = ef_format_quantity (value, unit, -1);
  g_autofree char *spread = NULL;
  char *space;

  if (!isfinite (u))
    return g_steal_pointer (&whole);
  spread = ef_format_quantity (2 * u, unit, -1);
  space = strrchr (whole, ' ');
  if (space != NULL)
    *space = '\0';
  return g_strdup_printf ("%s ± %s", whole, spread);
}

/* "2, 5 and 7" */
static char *
list_numbers (const EfFlatForm *form, int side)
{
  GString *text = g_string_new (NULL);
  guint n = 0, i, k = 0;

  for (i = 0; i < form->n; i++)
    n += form->points[i].carries == side;
  for (i = 0; i < form->n; i++)
    if (form->points[i].carries == side)
      {
        g_string_append_printf (text, "%s%u", k == 0 ? "" : k + 1 == n ? _(" and ") : ", ", form->points[i].number);
        k++;
      }
  return g_string_free (text, FALSE);
}

/* ", limit 0.030 mm (shop limit)" */
static void
append_limit (GString *text, double limit, const char *source, EfUnit unit)
{
  g_autofree char *number = NULL;

  if (!isfinite (limit))
    return;
  number = ef_format_quantity (limit, unit, -1);
  g_string_append_printf (text, _(", limit %s"), number);
  if (source != NULL && source[0] != '\0')
    g_string_append_printf (text, " (%s)", source);
}

char *
ef_draw_flat_words (const EfFlatForm *form, EfUnit unit)
{
  GString *text = g_string_new (NULL);
  g_autofree char *zone = NULL;
  g_autofree char *high = NULL;
  g_autofree char *low = NULL;

  if (!form->known)
    {
      if (form->n < EF_FLAT_MIN_PLACES)
        g_string_printf (text, _("%u of %u places read. Flatness needs %d."), form->n, form->n_places, EF_FLAT_MIN_PLACES);
      else
        g_string_printf (text, _("Flatness can't be worked out: %s"), form->reason);
      return g_string_free (text, FALSE);
    }
  zone = with_spread (form->zone, form->uncertainty, unit);
  high = list_numbers (form, 1);
  low = list_numbers (form, -1);
  g_string_append_printf (text, _("Out of flat %s (minimum zone)"), zone);
  append_limit (text, form->limit, form->source, unit);
  g_string_append (text, ". ");
  if (high[0] != '\0' && low[0] != '\0')
    g_string_append_printf (text, _("Carried by places %s above and %s below."), high, low);
  return g_string_free (text, FALSE);
}

static int
degrees (double angle)
{
  int whole = (int) lrint (angle * 180 / G_PI) % 360;

  return whole < 0 ? whole + 360 : whole;
}

static void
append_axis (GString *text, const EfRoundForm *form, const EfRoundPlace *place)
{
  double between;

  if (!isfinite (form->direction))
    return;
  g_string_append_printf (text, _(", widest across %d°"), degrees (form->direction) % 180);
  if (isfinite (form->u_direction) && 2 * form->u_direction < G_PI / 2)
    g_string_append_printf (text, " ± %d°", (int) ceil (2 * form->u_direction * 180 / G_PI - 1e-9));
  else if (form->oval_known)
    g_string_append (text, _(" (direction uncertain)"));
  if (place == NULL || !isfinite (place->load_angle))
    return;
  between = ef_angle_modulo_pi (form->direction - place->load_angle);
  between = MIN (between, G_PI - between);
  g_string_append_printf (text, _("; the load at hot idle points to %d°, %d° from that axis"), degrees (place->load_angle), degrees (between));
}

char *
ef_draw_round_words (const EfRoundForm *form, const EfRoundPlace *place, EfUnit unit)
{
  GString *text = g_string_new (NULL);
  g_autofree char *zone = NULL;
  g_autofree char *squares = NULL;
  g_autofree char *oval = NULL;

  if (!form->known)
    {
      if (form->from_diameters && form->n_directions < EF_ROUND_MIN_DIRECTIONS)
        g_string_printf (text, _("Read in %u directions. Roundness needs %d, the direction of an ovality %d."), form->n_directions,
                         EF_ROUND_MIN_DIRECTIONS, EF_BORE_MIN_DIRECTIONS);
      else
        g_string_printf (text, _("Roundness can't be worked out: %s"), form->reason);
      return g_string_free (text, FALSE);
    }
  zone = ef_format_quantity (form->circle[EF_CIRCLE_MZCI].roundness, unit, -1);
  squares = ef_format_quantity (form->circle[EF_CIRCLE_LSCI].roundness, unit, -1);
  g_string_append_printf (text, _("Out of round %s (minimum zone; %s about the least-squares circle)"), zone, squares);
  if (isfinite (form->ovality))
    {
      oval = with_spread (form->ovality, form->u_ovality, unit);
      g_string_append_printf (text, _(". Ovality, on the diameter, %s"), oval);
      append_limit (text, form->limit, form->source, unit);
      append_axis (text, form, place);
    }
  g_string_append_c (text, '.');
  if (!form->oval_known)
    g_string_append_printf (text, _(" Read in %d directions or more for a direction that counts."), EF_BORE_MIN_DIRECTIONS);
  else if (form->from_diameters)
    g_string_append (text, _(" Diameters don't show lobes of an odd number."));
  return g_string_free (text, FALSE);
}
