/* One reading that the others contradict, named.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two ways to the same value that disagree show that one reading is wrong; the mate's readings say which. Thresholds are common practice, no source.
 */
#include <math.h>
#include <string.h>

#include "../metrology/ef-flatness.h"
#include "ef-cross-private.h"
#include "ef-rule.h"

#define DISAGREE 4.0      /* standard uncertainties of the difference */
#define CLEARS_UP 3.0     /* times less that the others scatter without it */
#define WIDER 0.02e-3     /* m: a gear isn't wider than new by more */
#define LEAST_HEIGHTS 6

/* Readings of one gear: read clearance, depth less width, and what that is made of. */
typedef struct
{
  const EfDerived *direct, *difference, *depth, *width;
} End;

static void
find_end (const EfFindings *findings,
          const EfSection *section,
          int gear,
          End *end)
{
  memset (end, 0, sizeof *end);
  end->depth = ef_derived_find (findings->derived, "pocket-depth", section->id, ef_cross_sides[gear]);
  end->width = ef_derived_find (findings->derived, "face-width", section->gear_part[gear], NULL);
  for (guint i = 0; i < findings->derived->len; i++)
    {
      const EfDerived *one = findings->derived->pdata[i];

      if (!g_str_equal (one->quantity, "end-clearance") || g_strcmp0 (one->target, section->id) != 0 || g_strcmp0 (one->place, ef_cross_sides[gear]) != 0)
        continue;
      /* the direct one comes first and is one mean; the other is of two */
      if (one->terms >= 2)
        end->difference = one;
      else
        end->direct = one;
    }
}

static gboolean
sure (const EfDerived *one)
{
  return one != NULL && isfinite (one->uncertainty);
}

/* How far it lies from the mate's; NAN when the mate has none. */
static double
off_mate (const EfDerived *one,
          const EfDerived *mate)
{
  return one != NULL && mate != NULL ? fabs (one->value - mate->value) : NAN;
}

static const char *
name_of (guint which)
{
  static const char *const names[] = { "the clearance as read", "the pocket depth", "the gear's face width" };

  return names[which];
}

static void
name_suspect (EfCross *cross,
              GString *text,
              const End *end,
              const End *mate,
              double gap)
{
  const EfDerived *candidates[3] = { end->direct, end->depth, end->width };
  const double off[3] = { off_mate (end->direct, mate->direct), off_mate (end->depth, mate->depth), off_mate (end->width, mate->width) };
  guint suspect = 3, n = 0;

  for (guint i = 0; i < 3; i++)
    if (isfinite (off[i]) && off[i] > 0.5 * gap)
      {
        suspect = i;
        n++;
      }
  if (n == 1)
    {
      g_string_append_printf (text, " The mate's readings bear out the others: %s is the suspect.", name_of (suspect));
      ef_cross_add_readings (cross, candidates[suspect]);
      cross->next = g_strdup_printf ("Read %s again, and look for dirt under the gauge; check the figure as written down.", name_of (suspect));
      return;
    }
  for (guint i = 0; i < 3; i++)
    if (candidates[i] != NULL)
      ef_cross_add_readings (cross, candidates[i]);
  g_string_append (text, " Nothing else says which of the three readings is wrong.");
  cross->next = g_strdup ("Read the clearance, the pocket depth and the face width of this gear again, the clearance first.");
}

static void
check_end (const EfFindings *findings,
           const EfSection *section,
           int gear,
           const End ends[2],
           GPtrArray *list)
{
  const End *end = &ends[gear];
  g_autofree char *name = ef_rule_lower (section->name);
  GString *text;
  double gap;
  EfCross *cross;

  if (!sure (end->direct) || !sure (end->difference))
    return;
  gap = fabs (end->direct->value - end->difference->value);
  if (!(gap > DISAGREE * hypot (end->direct->uncertainty, end->difference->uncertainty)))
    return;
  cross = ef_cross_add (list, g_strdup_printf ("suspect:end-clearance:%s:%s", section->id, ef_cross_sides[gear]), section->id);
  text = g_string_new (NULL);
  g_string_append_printf (text, "End clearance of the %s at the %s gear was read as %.3f mm, but depth less width gives %.3f mm, %.3f mm apart.", name, ef_cross_sides[gear],
                          end->direct->value * 1e3, end->difference->value * 1e3, gap * 1e3);
  name_suspect (cross, text, end, &ends[1 - gear], gap);
  cross->sentence = g_string_free (text, FALSE);
}

/* Wider than a new gear, or at odds with the clearances that were read. */
static void
check_width (const EfSection *section,
             int gear,
             const End ends[2],
             GPtrArray *list)
{
  const EfDerived *width = ends[gear].width;
  const EfDerived *mate = ends[1 - gear].width;
  double over;
  EfCross *cross;

  if (!sure (width))
    return;
  over = width->value - section->pair.in.face_width;
  if (!(over > WIDER + DISAGREE * width->uncertainty))
    return;
  cross = ef_cross_add (list, g_strdup_printf ("suspect:face-width:%s", section->gear_part[gear]), section->gear_part[gear]);
  ef_cross_add_readings (cross, width);
  cross->sentence = mate != NULL
                      ? g_strdup_printf ("Face width of the %s gear reads %.3f mm, %.3f mm wider than new, and its mate %.3f mm; wear only makes a gear narrower: suspect.",
                                         ef_cross_sides[gear], width->value * 1e3, over * 1e3, mate->value * 1e3)
                      : g_strdup_printf ("Face width of the %s gear reads %.3f mm, %.3f mm wider than new; wear only makes a gear narrower: suspect.", ef_cross_sides[gear],
                                         width->value * 1e3, over * 1e3);
  cross->next = g_strdup ("Clean the gear's ends, stone off burrs, and read its width again at three places.");
}

/* Mates are ground together: their widths differ as the clearances read at them do. */
static void
check_mates (const EfSection *section,
             const End ends[2],
             GPtrArray *list)
{
  double by_width, by_clearance, u;
  double nominal = section->pair.in.face_width;
  int suspect;
  EfCross *cross;

  if (!sure (ends[0].width) || !sure (ends[1].width) || !sure (ends[0].direct) || !sure (ends[1].direct) || ends[0].difference != NULL || ends[1].difference != NULL)
    return;
  by_width = ends[0].width->value - ends[1].width->value;
  by_clearance = ends[1].direct->value - ends[0].direct->value;
  u = sqrt (ends[0].width->uncertainty * ends[0].width->uncertainty + ends[1].width->uncertainty * ends[1].width->uncertainty
            + ends[0].direct->uncertainty * ends[0].direct->uncertainty + ends[1].direct->uncertainty * ends[1].direct->uncertainty);
  if (!(fabs (by_width - by_clearance) > DISAGREE * u))
    return;
  suspect = fabs (ends[0].width->value - nominal) > fabs (ends[1].width->value - nominal) ? 0 : 1;
  cross = ef_cross_add (list, g_strdup_printf ("suspect:mates:%s", section->id), section->gear_part[suspect]);
  ef_cross_add_readings (cross, ends[suspect].width);
  cross->sentence = g_strdup_printf ("Face widths of the mates read %.3f mm apart, but the end clearances read at them only %.3f mm: the %s gear's width, %.3f mm against %.3f mm as new, is the suspect.",
                                     fabs (by_width) * 1e3, fabs (by_clearance) * 1e3, ef_cross_sides[suspect], ends[suspect].width->value * 1e3, nominal * 1e3);
  cross->next = g_strdup_printf ("Read the %s gear's width again at three places, and both pocket depths.", ef_cross_sides[suspect]);
}

/* Flatness */

typedef struct
{
  guint n;
  double *xyz;
  const EfReading **readings;
  double u;
} Heights;

static gboolean
plane_without (const Heights *h,
               guint left_out,
               double *off,
               double *rms)
{
  g_autofree double *xyz = g_new (double, 3 * h->n);
  EfFlatness flat;
  guint n = 0;

  for (guint i = 0; i < h->n; i++)
    if (i != left_out)
      memcpy (xyz + 3 * n++, h->xyz + 3 * i, 3 * sizeof (double));
  if (!ef_flatness_least_squares (xyz, n, &flat, NULL))
    return FALSE;
  *rms = flat.rms;
  *off = left_out < h->n ? h->xyz[3 * left_out + 2] - ef_plane_at (&flat.plane, h->xyz[3 * left_out], h->xyz[3 * left_out + 1]) : 0.0;

  return TRUE;
}

static void
take_heights (const EfFindings *findings,
              const EfDerived *derived,
              Heights *h)
{
  for (guint i = 0; i < derived->reading_ids->len; i++)
    {
      const EfReading *reading = ef_inspection_find (findings->inspection, EF_ITEM_READING, derived->reading_ids->pdata[i]);
      const EfGauge *gauge = reading != NULL && reading->gauge_id != NULL ? ef_inspection_find (findings->inspection, EF_ITEM_GAUGE, reading->gauge_id) : NULL;

      if (reading == NULL || gauge == NULL || !isfinite (reading->u) || !isfinite (reading->v))
        continue;
      h->u = fmax (h->u, fmax (gauge->uncertainty / 2.0, gauge->resolution / sqrt (12.0)));
      h->xyz[3 * h->n] = reading->u;
      h->xyz[3 * h->n + 1] = reading->v;
      h->xyz[3 * h->n + 2] = reading->value;
      h->readings[h->n++] = reading;
    }
}

/* Leave one out, as for diameters. */
static void
check_heights (const EfFindings *findings,
               const EfDerived *derived,
               GPtrArray *list)
{
  g_autofree double *xyz = g_new (double, 3 * derived->reading_ids->len + 3);
  g_autofree const EfReading **readings = g_new (const EfReading *, derived->reading_ids->len + 1);
  Heights h = { 0, xyz, readings, 0.0 };
  double all, none, worst = 0.0, worst_rms = INFINITY;
  guint suspect = 0;
  EfCross *cross;

  take_heights (findings, derived, &h);
  if (h.n < LEAST_HEIGHTS || !plane_without (&h, h.n, &none, &all))
    return;
  for (guint i = 0; i < h.n; i++)
    {
      double off, rms;

      if (plane_without (&h, i, &off, &rms) && rms < worst_rms)
        {
          worst = off;
          worst_rms = rms;
          suspect = i;
        }
    }
  if (!(fabs (worst) > DISAGREE * h.u) || !(all > CLEARS_UP * worst_rms) || worst_rms > 2.0 * h.u)
    return;
  cross = ef_cross_add (list, g_strdup_printf ("suspect:%s", readings[suspect]->item.id), derived->target);
  cross->sentence = g_strdup_printf ("Height at %.1f, %.1f mm of %s: %.3f mm lies %.3f mm out of the plane of the other %u: suspect, or a burr or dent just there.",
                                     readings[suspect]->u * 1e3, readings[suspect]->v * 1e3, derived->target, readings[suspect]->value * 1e3, worst * 1e3, h.n - 1);
  cross->next = g_strdup ("Wipe and stone this place, and read its height again.");
  g_ptr_array_add (cross->refs, g_strdup_printf ("reading:%s", readings[suspect]->item.id));
}

void
ef_cross_suspects (const EfFindings *findings,
                   GPtrArray *list)
{
  GPtrArray *sections = findings->inspection->sheet->sections;

  for (guint i = 0; i < sections->len; i++)
    {
      const EfSection *section = sections->pdata[i];
      End ends[2];

      for (int gear = 0; gear < 2; gear++)
        find_end (findings, section, gear, &ends[gear]);
      for (int gear = 0; gear < 2; gear++)
        {
          check_end (findings, section, gear, ends, list);
          check_width (section, gear, ends, list);
        }
      check_mates (section, ends, list);
    }
  for (guint i = 0; i < findings->derived->len; i++)
    if (g_str_equal (((const EfDerived *) findings->derived->pdata[i])->quantity, "flatness"))
      check_heights (findings, findings->derived->pdata[i], list);
}
