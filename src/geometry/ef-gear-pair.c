/* An external spur gear pair: what follows from its numbers, and what is refused.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-gear-pair.h"

#include <math.h>

#include "ef-gear-root.h"
#include "../base/ef-error.h"

static gboolean
in_range (const char *field,
          int gear,
          double value,
          double min,
          double max,
          const char *unit,
          double unit_size,
          GError **error)
{
  g_autofree char *index = gear >= 0 ? g_strdup_printf ("[%d]", gear) : g_strdup ("");

  if (value >= min && value <= max)
    return TRUE;
  g_set_error (error, EF_ERROR, isfinite (value) ? EF_ERROR_RANGE : EF_ERROR_INVALID, "%s%s: expected from %g to %g%s, found %g",
               field, index, min / unit_size, max / unit_size, unit, value / unit_size);

  return FALSE;
}

static gboolean
check_rack (const EfGearPairInput *in,
            GError **error)
{
  if (!in_range ("module", -1, in->module, 0.1e-3, 0.1, " mm", 1e-3, error) || !in_range ("pressure_angle", -1, in->pressure_angle, 10.0 * G_PI / 180.0, 35.0 * G_PI / 180.0, " deg", G_PI / 180.0, error))
    return FALSE;
  for (int i = 0; i < 2; i++)
    if (!in_range ("teeth", i, in->teeth[i], 4.0, 200.0, "", 1.0, error) || !in_range ("shift", i, in->shift[i], -2.0, 2.0, "", 1.0, error))
      return FALSE;

  return TRUE;
}

static gboolean
check_input (const EfGearPairInput *in,
             GError **error)
{
  if (!check_rack (in, error) || !in_range ("centre_distance", -1, in->centre_distance, 0.1e-3, 10.0, " mm", 1e-3, error) || !in_range ("face_width", -1, in->face_width, 0.01e-3, 10.0, " mm", 1e-3, error))
    return FALSE;
  for (int i = 0; i < 2; i++)
    if (!in_range ("tip_radius", i, in->tip_radius[i], 0.1e-3, 10.0, " mm", 1e-3, error) || !in_range ("root_radius", i, in->root_radius[i], 0.0, 10.0, " mm", 1e-3, error))
      return FALSE;

  return TRUE;
}

static gboolean G_GNUC_PRINTF (2, 3)
    refuse (GError **error,
            const char *format,
            ...)
{
  g_autofree char *message = NULL;
  va_list args;

  va_start (args, format);
  message = g_strdup_vprintf (format, args);
  va_end (args);
  g_set_error_literal (error, EF_ERROR, EF_ERROR_GEOMETRY, message);

  return FALSE;
}

gboolean
ef_gear_pair_standard (EfGearPairInput *in,
                       GError **error)
{
  double alpha = in->pressure_angle;
  double teeth;
  double shifts;
  double inv;
  double working;

  if (!check_rack (in, error))
    return FALSE;
  teeth = in->teeth[0] + in->teeth[1];
  shifts = in->shift[0] + in->shift[1];
  inv = 2.0 * tan (alpha) * shifts / teeth + ef_involute (alpha);
  if (inv <= 0.0)
    return refuse (error, "shift: expected a sum above %.4g, found %.4g: no centre distance is without backlash", -0.5 * teeth * ef_involute (alpha) / tan (alpha), shifts);
  working = ef_involute_inverse (inv, error);
  if (!isfinite (working))
    return FALSE;
  in->centre_distance = 0.5 * in->module * teeth * cos (alpha) / cos (working);
  for (int i = 0; i < 2; i++)
    in->tip_radius[i] = in->centre_distance - in->module * (0.5 * in->teeth[1 - i] - 1.25 + in->shift[1 - i]) - 0.25 * in->module;

  return TRUE;
}

double
ef_gear_thickness (const EfGearPair *pair,
                   int gear,
                   double r)
{
  double alpha = pair->in.pressure_angle;
  double half = (0.5 * G_PI + 2.0 * pair->in.shift[gear] * tan (alpha)) / pair->in.teeth[gear] + ef_involute (alpha);

  return 2.0 * r * (half - (r > pair->base_radius[gear] ? ef_involute (acos (pair->base_radius[gear] / r)) : 0.0));
}

/* Circles and what lies on them. */
static gboolean
compute_circles (EfGearPair *pair,
                 GError **error)
{
  EfGearPairInput *in = &pair->in;
  double cosine;

  for (int i = 0; i < 2; i++)
    {
      pair->base_radius[i] = 0.5 * in->module * in->teeth[i] * cos (in->pressure_angle);
      pair->undercut_limit[i] = 1.0 - 0.5 * in->teeth[i] * sin (in->pressure_angle) * sin (in->pressure_angle);
      if (in->root_radius[i] == 0.0)
        in->root_radius[i] = in->module * (0.5 * in->teeth[i] - 1.25 + in->shift[i]);
      if (in->root_radius[i] <= 0.0)
        return refuse (error, "root_radius[%d]: expected above 0, found %.6g mm from teeth and shift", i, 1e3 * in->root_radius[i]);
      if (in->tip_radius[i] <= pair->base_radius[i])
        return refuse (error, "tip_radius[%d]: expected above the base radius of %.6g mm, found %.6g mm", i, 1e3 * pair->base_radius[i], 1e3 * in->tip_radius[i]);
      if (in->root_radius[i] >= in->tip_radius[i])
        return refuse (error, "root_radius[%d]: expected below the tip radius of %.6g mm, found %.6g mm", i, 1e3 * in->tip_radius[i], 1e3 * in->root_radius[i]);
    }

  cosine = (pair->base_radius[0] + pair->base_radius[1]) / in->centre_distance;
  if (cosine >= 1.0)
    return refuse (error, "centre_distance: expected above %.6g mm, where the base circles touch, found %.6g mm",
                   1e3 * (pair->base_radius[0] + pair->base_radius[1]), 1e3 * in->centre_distance);
  pair->working_angle = acos (cosine);
  pair->base_pitch = G_PI * in->module * cos (in->pressure_angle);
  for (int i = 0; i < 2; i++)
    {
      pair->working_radius[i] = pair->base_radius[i] / cosine;
      pair->tip_thickness[i] = ef_gear_thickness (pair, i, in->tip_radius[i]);
      pair->tip_root_clearance[i] = in->centre_distance - in->tip_radius[i] - in->root_radius[1 - i];
    }
  pair->backlash = 2.0 * G_PI * pair->working_radius[0] / in->teeth[0] - ef_gear_thickness (pair, 0, pair->working_radius[0]) - ef_gear_thickness (pair, 1, pair->working_radius[1]);

  return TRUE;
}

static double
tangent_length (double radius,
                double base)
{
  return radius > base ? sqrt ((radius - base) * (radius + base)) : 0.0;
}

/* The line of action between the tip circles, cut off at the base circles, and again where undercut took the flank. */
static void
compute_contact (EfGearPair *pair)
{
  double whole = pair->in.centre_distance * sin (pair->working_angle);
  double usable = -whole;

  pair->length_of_contact = -whole;
  for (int i = 0; i < 2; i++)
    {
      double reach = tangent_length (pair->in.tip_radius[i], pair->base_radius[i]);
      double mate_reach = tangent_length (pair->in.tip_radius[1 - i], pair->base_radius[1 - i]);
      double start = fmax (whole - mate_reach, 0.0);
      double lost;

      pair->length_of_contact += fmin (reach, whole);
      pair->active_radius[i] = hypot (pair->base_radius[i], start);
      pair->undercut_radius[i] = ef_gear_undercut_radius (pair, i);
      lost = tangent_length (pair->undercut_radius[i], pair->base_radius[i]);
      usable += fmin (mate_reach, whole - lost);
      if (pair->in.shift[i] < pair->undercut_limit[i])
        pair->warnings |= i == 0 ? EF_GEAR_WARNING_UNDERCUT_0 : EF_GEAR_WARNING_UNDERCUT_1;
    }
  pair->contact_ratio = pair->length_of_contact / pair->base_pitch;
  pair->usable_contact_ratio = usable / pair->base_pitch;
}

gboolean
ef_gear_pair_compute (const EfGearPairInput *input,
                      EfGearPair *pair,
                      GError **error)
{
  if (!check_input (input, error))
    return FALSE;
  *pair = (EfGearPair){ .in = *input };
  if (!compute_circles (pair, error))
    return FALSE;
  compute_contact (pair);
  for (int i = 0; i < 2; i++)
    {
      pair->fillet_radius[i] = ef_gear_fitting_fillet (pair, i);
      pair->form_radius[i] = fmax (ef_gear_root (pair, i, pair->fillet_radius[i]).top_radius, pair->base_radius[i]);
    }

  return TRUE;
}

static gboolean
check_teeth (const EfGearPair *pair,
             int i,
             GError **error)
{
  const EfGearPairInput *in = &pair->in;
  double whole = in->centre_distance * sin (pair->working_angle);

  if (ef_gear_flank_half_angle (pair, i, in->root_radius[i]) <= 0.0)
    return refuse (error, "shift[%d]: expected teeth with a space between them at the root circle of %.6g mm, found them grown together", i, 1e3 * in->root_radius[i]);
  if (pair->tip_thickness[i] < 0.2 * in->module)
    return refuse (error, "tip_radius[%d]: expected a tip thickness of at least 0.2 m = %.6g mm, found %.6g mm: the teeth are pointed", i, 200.0 * in->module, 1e3 * pair->tip_thickness[i]);
  if (pair->tip_root_clearance[i] <= 0.0)
    return refuse (error, "tip_radius[%d]: expected clear of the root circle of the mate, found %.6g mm of overlap: tip and root interfere", i, -1e3 * pair->tip_root_clearance[i]);
  if (tangent_length (in->tip_radius[1 - i], pair->base_radius[1 - i]) > whole + 1e-9)
    return refuse (error, "tip_radius[%d]: expected at most %.6g mm, found %.6g mm: the tip reaches below the base circle of the mate, where there is no involute to touch", 1 - i,
                   1e3 * hypot (pair->base_radius[1 - i], whole), 1e3 * in->tip_radius[1 - i]);

  return TRUE;
}

gboolean
ef_gear_pair_solve (const EfGearPairInput *input,
                    EfGearPair *pair,
                    GError **error)
{
  if (!ef_gear_pair_compute (input, pair, error))
    return FALSE;
  for (int i = 0; i < 2; i++)
    if (!check_teeth (pair, i, error))
      return FALSE;
  if (pair->backlash < -1e-9)
    return refuse (error, "centre_distance: expected a backlash of at least 0, found %.6g mm at %.6g mm: the teeth jam", 1e3 * pair->backlash, 1e3 * pair->in.centre_distance);
  if (pair->contact_ratio < 1.0)
    return refuse (error, "centre_distance: expected a contact ratio of at least 1, found %.4g: one pair of teeth lets go before the next takes over", pair->contact_ratio);
  if (pair->usable_contact_ratio < 1.0)
    {
      int worse = pair->undercut_radius[1] - pair->active_radius[1] > pair->undercut_radius[0] - pair->active_radius[0] ? 1 : 0;

      return refuse (error, "shift[%d]: expected %.4g or a little less, found %.4g: undercut takes the flank up to %.6g mm, which leaves a contact ratio of %.4g", worse,
                     pair->undercut_limit[worse], pair->in.shift[worse], 1e3 * pair->undercut_radius[worse], pair->usable_contact_ratio);
    }

  return TRUE;
}

GPtrArray *
ef_gear_pair_warnings (const EfGearPair *pair)
{
  GPtrArray *list = g_ptr_array_new_with_free_func (g_free);

  for (int i = 0; i < 2; i++)
    if ((pair->warnings & (i == 0 ? EF_GEAR_WARNING_UNDERCUT_0 : EF_GEAR_WARNING_UNDERCUT_1)) != 0)
      g_ptr_array_add (list, g_strdup_printf ("shift[%d]: %.4g is below %.4g, so the teeth are undercut; contact ratio without the part that is cut away: %.4g", i,
                                              pair->in.shift[i], pair->undercut_limit[i], pair->usable_contact_ratio));

  return list;
}
