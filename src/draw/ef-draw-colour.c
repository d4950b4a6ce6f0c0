/* The depth colour scale, constructed in CIELAB.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Along the scale lightness and hue angle run linearly and chroma stays the same: a helix. The distance between two
 * neighbouring steps in CIELAB is then the same everywhere, and lightness alone still tells shallow from deep, which is
 * what a colour-blind eye and a black-and-white print go by. Light ground: from a pale sand to a deep violet blue (deep is
 * dark); dark ground: the same way back (deep is light). The chroma is the largest even one that the whole helix keeps
 * inside sRGB; a test checks this.
 *
 * CIELAB: CIE 015, D65 white; sRGB transfer curve and primaries: IEC 61966-2-1.
 */
#include "ef-draw-ink.h"

#include <math.h>

#define CHROMA 28.0
#define HUE_SHALLOW 95.0
#define HUE_DEEP 300.0

static const double white[3] = { 0.95047, 1.0, 1.08883 };

static double
lab_f (double t)
{
  return t > 216.0 / 24389.0 ? cbrt (t) : (24389.0 / 27.0 * t + 16) / 116;
}

static double
lab_f_inverse (double t)
{
  return t > 6.0 / 29.0 ? t * t * t : (116 * t - 16) * 27.0 / 24389.0;
}

gboolean
ef_lab_to_rgb (const double lab[3], double rgb[3])
{
  static const double m[3][3] = {
    { 3.2404542, -1.5371385, -0.4985314 }, { -0.9692660, 1.8760108, 0.0415560 }, { 0.0556434, -0.2040259, 1.0572252 }
  };
  double fy = (lab[0] + 16) / 116;
  double xyz[3] = { lab_f_inverse (fy + lab[1] / 500), lab_f_inverse (fy), lab_f_inverse (fy - lab[2] / 200) };
  gboolean inside = TRUE;

  for (int i = 0; i < 3; i++)
    xyz[i] *= white[i];
  for (int i = 0; i < 3; i++)
    {
      double c = m[i][0] * xyz[0] + m[i][1] * xyz[1] + m[i][2] * xyz[2];

      inside = inside && c >= -1e-4 && c <= 1 + 1e-4;
      c = CLAMP (c, 0, 1);
      rgb[i] = c <= 0.0031308 ? 12.92 * c : 1.055 * pow (c, 1 / 2.4) - 0.055;
    }
  return inside;
}

void
ef_rgb_to_lab (const double rgb[3], double lab[3])
{
  static const double m[3][3] = {
    { 0.4124564, 0.3575761, 0.1804375 }, { 0.2126729, 0.7151522, 0.0721750 }, { 0.0193339, 0.1191920, 0.9503041 }
  };
  double linear[3], f[3];

  for (int i = 0; i < 3; i++)
    linear[i] = rgb[i] <= 0.04045 ? rgb[i] / 12.92 : pow ((rgb[i] + 0.055) / 1.055, 2.4);
  for (int i = 0; i < 3; i++)
    f[i] = lab_f ((m[i][0] * linear[0] + m[i][1] * linear[1] + m[i][2] * linear[2]) / white[i]);
  lab[0] = 116 * f[1] - 16;
  lab[1] = 500 * (f[0] - f[1]);
  lab[2] = 200 * (f[1] - f[2]);
}

void
ef_draw_depth_colour (double share, gboolean dark, double rgb[3])
{
  double s = isfinite (share) ? CLAMP (share, 0, 1) : 0;
  double along = dark ? 1 - s : s;
  double hue = (HUE_SHALLOW + along * (HUE_DEEP - HUE_SHALLOW)) * G_PI / 180;
  double lightness = dark ? 30 + 60 * s : 90 - 65 * s;
  double lab[3] = { lightness, CHROMA * cos (hue), CHROMA * sin (hue) };

  ef_lab_to_rgb (lab, rgb);
}

double
ef_draw_depth_scale (double deepest)
{
  static const double steps[] = { 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10 };
  double decade;

  if (!(deepest > 0))
    return 1e-5;
  decade = pow (10, floor (log10 (deepest)));
  for (guint i = 0; i < G_N_ELEMENTS (steps); i++)
    if (deepest <= steps[i] * decade * (1 + 1e-9))
      return MAX (steps[i] * decade, 1e-5);
  return MAX (10 * decade, 1e-5);
}
