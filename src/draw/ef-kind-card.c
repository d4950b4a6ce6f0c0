/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-kind-card.h"
#include "ef-draw-text.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

const char *const ef_kind_headings[] = { N_ ("What it looks like"), N_ ("What it feels like"), N_ ("Where it comes from"), N_ ("Is it harmless?"), N_ ("How to measure it"), NULL };

static const EfKindWords words[EF_N_MARK_KINDS] = {
  [EF_MARK_SCORING] = {
    N_ ("Fine scratches side by side, along the way the parts move: arcs on plates, floors and gear ends, lines round the pocket wall, lines along a journal. Low light from the side shows them, light along them hides them."),
    N_ ("A fingernail just catches, or only hears it."),
    N_ ("Fine grit in the oil, dragged between two faces that run on each other."),
    N_ ("Small scoring is harmless, and on gear ends hardly to be avoided. On plates and floors it counts as far as it joins the delivery side to the suction side, because oil gets back through it; on a flank a line worn right across the width condemns the gear and its mate."),
    N_ ("Dial indicator with a fine point across the lines, or straightedge and feeler; note the deepest, and the width of the whole band."),
  },
  [EF_MARK_LIP] = {
    N_ ("A bright, worn patch on the pocket wall that ends in an edge near the pocket's floor or mouth, where the gear didn't reach."),
    N_ ("You can feel it: the nail climbs a small step."),
    N_ ("The gear's tips have run against the wall. The oil's pressure pushes both gears away from the delivery side, so it's found on the suction side; it points to a shaft bore worn oval, on the front bearing first."),
    N_ ("The lip itself does little harm, what it tells does: measure the shaft bore in several directions. A lip that isn't on the suction side is no work of the pressure; look for damaged locating pins, parts out of line, or a foreign body."),
    N_ ("Depth gauge or indicator from the unworn rim down to the worn wall, at both ends and in the middle of its arc."),
  },
  [EF_MARK_GROOVE] = {
    N_ ("One furrow, wider than a scratch and rounded at its bottom, mostly running from the delivery port to the suction port across the plate or the floor."),
    N_ ("The nail drops in and stops at its edge."),
    N_ ("Hard debris that stuck or was dragged back with the leaking oil, as after a torn filter or strainer; once begun, the oil itself washes it deeper."),
    N_ ("Not when it joins delivery and suction: the end faces seal the pump, and a leak grows with the cube of the gap. Beside the sealing faces a groove is harmless."),
    N_ ("Indicator across it at both ends and in the middle; note width and the depth at each place."),
  },
  [EF_MARK_STEP] = {
    N_ ("A level lower than the rest, with an even floor and a clear edge: the shape of the gears stands in the plate or the pocket floor."),
    N_ ("Smooth on both levels, with an edge all the way round."),
    N_ ("The gears' ends have run on it for long, with thin or dirty oil between; the gear's ends are worn as well."),
    N_ ("It adds to the end clearance, and end clearance loses more pressure and volume than anything else in the pump. Lapping the face until it's level again takes it out, if there is stock to take off."),
    N_ ("Straightedge and feeler across the edge, or depth gauge from the unworn level, at several places; then pocket depth and gear widths."),
  },
  [EF_MARK_FLAT_SPOT] = {
    N_ ("The swell of a tooth's flank has become flat: a band that shines as one when the gear is turned in the light."),
    N_ ("The round of the flank is gone; a straightedge along the profile no longer rocks."),
    N_ ("Flanks that slid under load without oil, as at cold starts, or years of reversing load."),
    N_ ("No. A flank worn from its swell to a flat condemns the gear, and its mate with it, since both ran together."),
    N_ ("Width of the flat with a loupe or scale: its depth follows from the flank's curve. Look at every tooth, and at the mate."),
  },
  [EF_MARK_IMPRINT] = {
    N_ ("A round or ragged dent, with a rim of metal pushed up round it."),
    N_ ("First the rim, then the hole."),
    N_ ("A hard crumb that went through between the teeth or was pressed into a face."),
    N_ ("Small imprints on gears are harmless. Stone the rim off, so that nothing stands proud of a running or sealing face. Many of them tell of a filter that let through."),
    N_ ("Its width is enough; depth by an indicator with a fine point, where it lies on a sealing face."),
  },
  [EF_MARK_PITTING] = {
    N_ ("A field of small holes with sharp edges, mostly along the middle of the flanks."),
    N_ ("Like fine sandpaper; a pin's point catches in single holes."),
    N_ ("The metal is tired from rolling under load: small cracks under the skin let crumbs fall out."),
    N_ ("A few pits are watched. A field that spreads over the flank goes on by itself and its crumbs score the rest: then gear and mate go."),
    N_ ("Share of the tooth's flank that is pitted; count on the worst tooth."),
  },
  [EF_MARK_CHIP] = {
    N_ ("A piece gone from an edge: a tooth's corner, the rim of a port or of the plate."),
    N_ ("Sharp and rough where it broke."),
    N_ ("A knock at assembly, or something hard between the teeth."),
    N_ ("Small ones are, once their edge is stoned smooth and the missing piece is found, but not where they open a sealing edge. From a tooth's corner into its flank: no."),
    N_ ("Its greatest width by scale or calliper, and how far it reaches into the face that seals or carries."),
  },
  [EF_MARK_CRACK] = {
    N_ ("A hair-thin dark line, often zigzag, mostly from a hole, a keyway or a root; oil creeps out of it after wiping."),
    N_ ("Nothing, or just an edge; ringing the part sounds dull."),
    N_ ("Overload, a key that fits badly, a bolt drawn too tight, frost or a fall."),
    N_ ("Never. A cracked part isn't used again; look at the others with dye penetrant."),
    N_ ("Only its length and place matter. Its depth can't be seen."),
  },
  [EF_MARK_CORROSION] = {
    N_ ("Rough, dull spots or a rusty ground, mostly where water stood: under the pickup, on the mating face, in a pump that was laid up."),
    N_ ("Rough all over, without direction."),
    N_ ("Water or acid in the oil, or a part laid away without oil."),
    N_ ("On outer faces yes. On flanks, journals and sealing faces by its depth: what stands proud is polished off, what is deep stays a leak or a file to the mate."),
    N_ ("Depth of the deepest pits by indicator with a fine point; the area it covers."),
  },
};

const EfKindWords *
ef_kind_words (EfMarkKind kind)
{
  g_return_val_if_fail ((guint) kind < EF_N_MARK_KINDS, NULL);

  return &words[kind];
}

/* --- Heights ------------------------------------------------------------------------------------------------------------------------ */

static double
bump (double x,
      double width)
{
  double s = x / width;

  return fabs (s) < 1.0 ? (1.0 - s * s) : 0.0;
}

static double
smooth (double low,
        double high,
        double x)
{
  double s = CLAMP ((x - low) / (high - low), 0.0, 1.0);

  return s * s * (3.0 - 2.0 * s);
}

static double
grain (int i,
       int j)
{
  guint32 h = (guint32) i * 0x85ebca77u ^ (guint32) j * 0xc2b2ae3du ^ 0x51ed270bu;

  h ^= h >> 15;
  h *= 0x2c1b3c6du;
  h ^= h >> 13;

  return h / 4294967296.0;
}

static double
scoring (double x,
         double y)
{
  static const double at[] = { -0.52, -0.36, -0.22, -0.07, 0.05, 0.2, 0.31, 0.47, 0.58 }, deep[] = { 0.4, 0.75, 0.5, 1.0, 0.6, 0.85, 0.4, 0.7, 0.35 };
  double h = 0.0, fade = 1.0 - smooth (0.75, 0.95, fabs (y));

  for (guint i = 0; i < G_N_ELEMENTS (at); i++)
    h -= deep[i] * bump (x - at[i] - 0.06 * sin (1.4 * y + i % 3), 0.045);

  return fmax (h, -1.0) * fade;
}

/* A dish with its rim. */
static double
dent (double x,
      double y,
      double radius)
{
  double r = hypot (x, y) / radius;

  if (r < 1.0)
    return -(1.0 - r * r);

  return r < 1.45 ? 0.3 * sin (G_PI * (r - 1.0) / 0.45) : 0.0;
}

static double
pits (double x,
      double y,
      double size,
      double share,
      double reach)
{
  int i0 = (int) floor (x / size), j0 = (int) floor (y / size);
  double h = 0.0;

  for (int i = i0 - 1; i <= i0 + 1; i++)
    for (int j = j0 - 1; j <= j0 + 1; j++)
      {
        double cx = (i + 0.25 + 0.5 * grain (i, j)) * size, cy = (j + 0.25 + 0.5 * grain (j + 31, i)) * size;

        if (grain (i + 7, j + 13) < share && fabs (cx) < reach && fabs (cy) < reach + 0.1)
          h = fmin (h, -(0.5 + 0.5 * grain (i + 3, j + 5)) * sqrt (bump (hypot (x - cx, y - cy), size * (0.3 + 0.25 * grain (i, j + 9)))));
      }

  return h;
}

static double
crack (double x,
       double y)
{
  double line = 0.0;

  /* a zigzag in six pieces */
  for (int k = 0; k < 6; k++)
    {
      double y0 = -0.9 + 0.3 * k, a = 0.24 * (grain (k, 2) - 0.5), b = 0.24 * (grain (k + 1, 2) - 0.5);

      if (y >= y0 && y < y0 + 0.3)
        line = a + (b - a) * (y - y0) / 0.3;
    }

  return fabs (y) < 0.9 ? -fmax (0.0, 1.0 - fabs (x - line) / 0.03) : 0.0;
}

double
ef_kind_height (EfMarkKind kind,
                double x,
                double y)
{
  switch (kind)
    {
    case EF_MARK_SCORING:
      return scoring (x, y);
    case EF_MARK_LIP:
      return x < 0.25 ? -smooth (-1.0, -0.1, x) * (1.0 - 0.5 * y * y) : x < 0.33 ? 0.12 : 0.0;
    case EF_MARK_GROOVE:
      return -bump (x - 0.08 * sin (1.5 * y), 0.26) * (1.0 - smooth (0.7, 0.95, fabs (y)));
    case EF_MARK_STEP:
      return -(1.0 - smooth (-0.02, 0.04, x - 0.25 * (1.0 - y * y) + 0.15));
    case EF_MARK_FLAT_SPOT:
      return fmin (0.0, 1.6 * (0.45 * 0.45 - x * x));
    case EF_MARK_IMPRINT:
      return dent (1.9 * (x + 0.2), y, 0.55) + dent (1.9 * (x - 0.55), y - 0.45, 0.26) + dent (1.9 * (x - 0.5), y + 0.5, 0.2);
    case EF_MARK_PITTING:
      return pits (1.9 * x, y, 0.28, 0.62, 0.8);
    case EF_MARK_CHIP:
      return x > 0.45 && hypot (x - 0.95, y - 0.1) < 0.42 + 0.06 * sin (9.0 * y) ? NAN : x > 0.8 ? NAN
             : hypot (x - 0.95, y - 0.1) < 0.62 + 0.05 * sin (7.0 * y) ? -1.0 + smooth (0.40, 0.62, hypot (x - 0.95, y - 0.1)) : 0.0;
    case EF_MARK_CRACK:
      return crack (x, y);
    case EF_MARK_CORROSION:
      return hypot (x * 0.9, y) < 0.8 + 0.1 * sin (5.0 * x + 3.0 * y) ? pits (x, y, 0.13, 0.95, 1.0) * 0.9 - 0.1 * grain ((int) floor (40 * x), (int) floor (40 * y)) : 0.0;
    default:
      return 0.0;
    }
}

/* --- Drawing ------------------------------------------------------------------------------------------------------------------------ */

#define RELIEF 0.10 /* depth as drawn from above, of half the picture's height */

/* A flank is round; what's worn off it is seen against that. */
static double
ground_height (EfMarkKind kind,
               double x)
{
  return kind == EF_MARK_FLAT_SPOT ? -1.6 * x * x + 1.6 * 0.45 * 0.45 : 0.0;
}

static double
drawn_height (EfMarkKind kind,
              double x,
              double y)
{
  return kind == EF_MARK_FLAT_SPOT ? fmin (0.0, ground_height (kind, x)) : ef_kind_height (kind, x, y);
}

static void
draw_above (cairo_t *cr,
            const EfDrawStyle *style,
            EfMarkKind kind,
            double x0,
            double y0,
            double width,
            double height)
{
  int w = (int) ceil (width), h = (int) ceil (height);
  cairo_surface_t *image = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, w, h);
  guint8 *data = cairo_image_surface_get_data (image);
  int stride = cairo_image_surface_get_stride (image);
  double step = 2.0 / h, aspect = (double) w / h;
  /* from the upper left, 25 degrees high */
  const double lx = -0.64, ly = 0.64, lz = 0.42;

  for (int j = 0; data != NULL && j < h; j++)
    for (int i = 0; i < w; i++)
      {
        double y = 1.0 - (j + 0.5) * step, x = ((i + 0.5) * step - aspect) / aspect;
        double here = drawn_height (kind, x, y), right = drawn_height (kind, x + step / aspect, y), up = drawn_height (kind, x, y + step);
        double px, py, light;
        guint8 value;

        if (!isfinite (here))
          continue;
        px = isfinite (right) ? RELIEF * (right - here) / step : 0.0;
        py = isfinite (up) ? RELIEF * (up - here) / step : 0.0;
        light = (-px * lx - py * ly + lz) / (sqrt (1.0 + px * px + py * py) * lz);
        /* a little of the tool's lay */
        light *= 1.0 + 0.03 * (grain (7, j / 2) - 0.5);
        value = (guint8) (255.0 * pow (CLAMP (0.5 * light, 0.0, 1.0), 0.6));
        ((guint32 *) (gpointer) (data + (gsize) j * stride))[i] = 0xff000000u | (guint32) value << 16 | (guint32) value << 8 | value;
      }
  cairo_surface_mark_dirty (image);
  cairo_set_source_surface (cr, image, x0, y0);
  cairo_paint (cr);
  cairo_surface_destroy (image);
}

static void
cut_line (cairo_t *cr,
          const EfDrawStyle *style,
          double x0,
          double y,
          double width)
{
  const double dashes[] = { 7.0 * style->line_scale, 4.0 * style->line_scale };

  cairo_save (cr);
  cairo_set_dash (cr, dashes, 2, 0);
  ef_draw_set_ink (cr, style, EF_INK_ACCENT, 1);
  ef_draw_set_width (cr, style, 1.5);
  cairo_move_to (cr, x0, y);
  cairo_line_to (cr, x0 + width, y);
  cairo_stroke (cr);
  cairo_restore (cr);
}

/* Where along the cut it's deepest. */
static double
deepest_at (EfMarkKind kind,
            double y)
{
  double at = 0.0, least = 0.0;

  for (double x = -0.95; x < 0.95; x += 0.01)
    {
      double h = ef_kind_height (kind, x, y);

      if (isfinite (h) && h < least - 1e-9)
        {
          least = h;
          at = x;
        }
    }

  return at;
}

static void
outline_cut (cairo_t *cr,
             EfMarkKind kind,
             double y,
             double x0,
             double width,
             double top,
             double deep)
{
  double last = x0;

  for (int i = 0; i <= 400; i++)
    {
      double x = -1.0 + i / 200.0, h = drawn_height (kind, x, y);

      if (!isfinite (h))
        break;
      last = x0 + width * i / 400.0;
      cairo_line_to (cr, last, top - deep * h);
    }
  cairo_line_to (cr, last, top - deep * -1.0);
}

/* The metal below the cut, hatched as drawings have it; the depth with arrows. */
static void
draw_cut (cairo_t *cr,
          const EfDrawStyle *style,
          EfMarkKind kind,
          double y,
          double x0,
          double y0,
          double width,
          double height)
{
  double top = y0 + 0.36 * height, deep = 0.34 * height, at = x0 + width * 0.5 * (1.0 + deepest_at (kind, y));
  double depth = -ef_kind_height (kind, deepest_at (kind, y), y) * deep;
  const double dashes[] = { 4.0 * style->line_scale, 3.0 * style->line_scale };

  cairo_save (cr);
  cairo_rectangle (cr, x0, y0, width, height);
  cairo_clip (cr);
  cairo_new_path (cr);
  cairo_move_to (cr, x0, y0 + height);
  outline_cut (cr, kind, y, x0, width, top, deep);
  {
    double px, py;

    cairo_get_current_point (cr, &px, &py);
    cairo_line_to (cr, px, y0 + height);
  }
  cairo_close_path (cr);
  ef_draw_set_ink (cr, style, EF_INK_MATERIAL, 1);
  cairo_fill_preserve (cr);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 1.8);
  cairo_stroke_preserve (cr);
  cairo_clip (cr);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 0.35);
  ef_draw_set_width (cr, style, 0.8);
  for (double x = x0 - height; x < x0 + width; x += 9.0 * style->line_scale)
    {
      cairo_move_to (cr, x, y0 + height);
      cairo_line_to (cr, x + height, y0);
    }
  cairo_stroke (cr);
  cairo_restore (cr);

  cairo_save (cr);
  cairo_set_dash (cr, dashes, 2, 0);
  ef_draw_set_ink (cr, style, EF_INK_DIM, 1);
  ef_draw_set_width (cr, style, 1);
  if (kind == EF_MARK_FLAT_SPOT)
    for (int i = 0; i <= 60; i++)
      {
        double x = -0.6 + 1.2 * i / 60.0;

        cairo_line_to (cr, x0 + width * 0.5 * (1.0 + x), top - deep * ground_height (kind, x));
      }
  else
    {
      cairo_move_to (cr, x0, top);
      cairo_line_to (cr, x0 + width, top);
    }
  cairo_stroke (cr);
  cairo_restore (cr);
  if (kind == EF_MARK_FLAT_SPOT)
    {
      at = x0 + 0.5 * width;
      depth = -ground_height (kind, 0.0) * deep;
    }
  ef_draw_set_ink (cr, style, EF_INK_ACCENT, 1);
  ef_draw_set_width (cr, style, 1.6);
  cairo_move_to (cr, at, top);
  cairo_line_to (cr, at, top + depth);
  cairo_stroke (cr);
  for (int end = 0; end < 2; end++)
    {
      double y1 = end == 0 ? top : top + depth, way = (end == 0) == (depth > 0) ? 1.0 : -1.0, tip = 4.0 * style->line_scale;

      cairo_move_to (cr, at - tip, y1 + way * tip);
      cairo_line_to (cr, at, y1);
      cairo_line_to (cr, at + tip, y1 + way * tip);
    }
  cairo_stroke (cr);
  ef_text_put (cr, style, ef_text_size (style, 0.9), EF_TEXT_HALO, EF_INK_ACCENT, kind == EF_MARK_CRACK ? _ ("depth unknown") : _ ("depth"), at + 8.0 * style->line_scale, top - 3.0 * style->line_scale, 0, 1);
  ef_text_put (cr, style, ef_text_size (style, 0.9), EF_TEXT_HALO, EF_INK_DIM, _ ("as new"), at < x0 + 0.4 * width ? x0 + width : x0 + 2.0 * style->line_scale,
               top - 3.0 * style->line_scale, at < x0 + 0.4 * width ? 1 : 0, 1);
}

void
ef_draw_kind_card (cairo_t *cr,
                   const EfDrawStyle *style,
                   EfMarkKind kind,
                   double width,
                   double height)
{
  double above = floor (0.58 * height), gap = 8.0 * style->line_scale;
  /* the cut goes where something is to be seen */
  double y = kind == EF_MARK_IMPRINT ? 0.0 : 0.1;

  g_return_if_fail ((guint) kind < EF_N_MARK_KINDS);
  cairo_save (cr);
  draw_above (cr, style, kind, 0, 0, width, above);
  cut_line (cr, style, 0, 0.5 * above * (1.0 - y), width);
  draw_cut (cr, style, kind, y, 0, above + gap, width, height - above - gap);
  cairo_restore (cr);
}
