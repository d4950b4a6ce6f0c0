/* Where the gauge goes: one small drawing for each quantity that is read.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Parts are grey, cut ones hatched; the gauge and what it spans have the accent colour. Sections are drawn in a scene of
 * 120 x 70 units; plan views use the pump's own outlines.
 */
#include "ef-draw-path.h"
#include "ef-draw-text.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

#define SCENE_W 120.0
#define SCENE_H 70.0

typedef struct
{
  cairo_t *cr;
  const EfDrawStyle *style;
  const EfPumpSheet *sheet;
  const char *target, *place;
  double width, height; /* of the picture above the caption */
  double scale, x, y;   /* scene to target */
  gboolean driven;
} Sketch;

static void
enter (const Sketch *s)
{
  cairo_save (s->cr);
  cairo_translate (s->cr, s->x, s->y);
  cairo_scale (s->cr, s->scale, s->scale);
  cairo_set_line_join (s->cr, CAIRO_LINE_JOIN_ROUND);
  cairo_set_line_cap (s->cr, CAIRO_LINE_CAP_BUTT);
}

static void
pen (const Sketch *s, EfInk ink, double px)
{
  ef_draw_set_ink (s->cr, s->style, ink, 1);
  cairo_set_line_width (s->cr, px * s->style->line_scale / s->scale);
}

/* Fills and outlines the path; @cut adds the hatch of a cut surface. */
static void
solid (const Sketch *s, EfInk fill, gboolean cut)
{
  double x0, y0, x1, y1;

  ef_draw_set_ink (s->cr, s->style, fill, 1);
  cairo_fill_preserve (s->cr);
  if (cut)
    {
      cairo_path_t *path = cairo_copy_path (s->cr);

      cairo_save (s->cr);
      cairo_path_extents (s->cr, &x0, &y0, &x1, &y1);
      cairo_clip (s->cr);
      pen (s, EF_INK_FAINT, 0.8);
      for (double d = floor (x0 - (y1 - y0)); d < x1; d += 3)
        {
          cairo_move_to (s->cr, d, y1);
          cairo_line_to (s->cr, d + (y1 - y0), y0);
        }
      cairo_stroke (s->cr);
      cairo_restore (s->cr);
      cairo_append_path (s->cr, path);
      cairo_path_destroy (path);
    }
  pen (s, EF_INK_EDGE, 1.2);
  cairo_stroke (s->cr);
}

static void
box (const Sketch *s, double x, double y, double w, double h, EfInk fill, gboolean cut)
{
  cairo_rectangle (s->cr, x, y, w, h);
  solid (s, fill, cut);
}

static void
gauge_box (const Sketch *s, double x, double y, double w, double h)
{
  cairo_rectangle (s->cr, x, y, w, h);
  ef_draw_set_ink (s->cr, s->style, EF_INK_ACCENT, 0.22);
  cairo_fill_preserve (s->cr);
  pen (s, EF_INK_ACCENT, 1.4);
  cairo_stroke (s->cr);
}

static void
head (const Sketch *s, double x, double y, double angle)
{
  double size = 2.6;

  cairo_move_to (s->cr, x, y);
  cairo_line_to (s->cr, x - size * cos (angle - 0.4), y - size * sin (angle - 0.4));
  cairo_line_to (s->cr, x - size * cos (angle + 0.4), y - size * sin (angle + 0.4));
  cairo_close_path (s->cr);
  cairo_fill (s->cr);
}

/* What is measured, between two places. */
static void
span (const Sketch *s, double x0, double y0, double x1, double y1)
{
  double angle = atan2 (y1 - y0, x1 - x0);

  pen (s, EF_INK_ACCENT, 1.4);
  cairo_move_to (s->cr, x0, y0);
  cairo_line_to (s->cr, x1, y1);
  cairo_stroke (s->cr);
  head (s, x1, y1, angle);
  head (s, x0, y0, angle + G_PI);
}

/* Two arrows that point at a narrow gap from both sides. */
static void
pinch (const Sketch *s, double x, double top, double low)
{
  pen (s, EF_INK_ACCENT, 1.4);
  cairo_move_to (s->cr, x, top - 8);
  cairo_line_to (s->cr, x, top);
  cairo_move_to (s->cr, x, low + 8);
  cairo_line_to (s->cr, x, low);
  cairo_stroke (s->cr);
  head (s, x, top, G_PI / 2);
  head (s, x, low, -G_PI / 2);
}

/* The housing cut through both axes, open at the top. */
static void
housing_cut (const Sketch *s)
{
  cairo_move_to (s->cr, 10, 26);
  cairo_line_to (s->cr, 24, 26);
  cairo_line_to (s->cr, 24, 54);
  cairo_line_to (s->cr, 96, 54);
  cairo_line_to (s->cr, 96, 26);
  cairo_line_to (s->cr, 110, 26);
  cairo_line_to (s->cr, 110, 66);
  cairo_line_to (s->cr, 10, 66);
  cairo_close_path (s->cr);
  solid (s, EF_INK_MATERIAL, TRUE);
}

static void
side_gear (const Sketch *s, double x, double y, double w, double h, gboolean dim)
{
  box (s, x, y, w, h, dim ? EF_INK_RECESS : EF_INK_MATERIAL, FALSE);
  pen (s, EF_INK_EDGE, 0.7);
  for (int k = 1; k < 6; k++)
    {
      double t = x + w / 2 + w / 2 * sin ((k - 3) * 0.5);

      cairo_move_to (s->cr, t, y);
      cairo_line_to (s->cr, t, y + h);
    }
  cairo_stroke (s->cr);
}

static void
sketch_end_clearance (const Sketch *s)
{
  double gear = s->driven ? 61 : 25;

  enter (s);
  housing_cut (s);
  side_gear (s, 25, 30, 34, 24, s->driven);
  side_gear (s, 61, 30, 34, 24, !s->driven);
  box (s, 4, 18, 112, 8, EF_INK_SIDE, FALSE);
  gauge_box (s, gear + 8, 26.6, 18, 2.8);
  pinch (s, gear + 17, 26, 30.2);
  cairo_restore (s->cr);
}

static void
sketch_pocket_depth (const Sketch *s)
{
  double x = s->driven ? 78 : 42;

  enter (s);
  housing_cut (s);
  gauge_box (s, x - 32, 20, 64, 6);
  gauge_box (s, x - 1.4, 26, 2.8, 28);
  gauge_box (s, x - 5, 3, 10, 17);
  pen (s, EF_INK_ACCENT, 0.8);
  for (int k = 1; k < 5; k++)
    {
      cairo_move_to (s->cr, x - 5, 3 + 3.4 * k);
      cairo_line_to (s->cr, x - 1, 3 + 3.4 * k);
    }
  cairo_stroke (s->cr);
  span (s, x + 8, 26.4, x + 8, 53.6);
  cairo_restore (s->cr);
}

/* A micrometer standing over something @w wide at (x, y), its frame reaching @deep downwards. */
static void
micrometer (const Sketch *s, double x, double y, double w, double deep)
{
  cairo_move_to (s->cr, x - 12, y - 3);
  cairo_line_to (s->cr, x - 12, y + deep);
  cairo_curve_to (s->cr, x - 12, y + deep + 10, x + w + 12, y + deep + 10, x + w + 12, y + deep);
  cairo_line_to (s->cr, x + w + 12, y - 3);
  cairo_line_to (s->cr, x + w + 6, y - 3);
  cairo_line_to (s->cr, x + w + 6, y + deep - 2);
  cairo_curve_to (s->cr, x + w + 6, y + deep + 4, x - 6, y + deep + 4, x - 6, y + deep - 2);
  cairo_line_to (s->cr, x - 6, y - 3);
  cairo_close_path (s->cr);
  ef_draw_set_ink (s->cr, s->style, EF_INK_ACCENT, 0.22);
  cairo_fill_preserve (s->cr);
  pen (s, EF_INK_ACCENT, 1.4);
  cairo_stroke (s->cr);
  gauge_box (s, x - 6, y - 2, 6, 4);
  gauge_box (s, x + w, y - 2, 6, 4);
  gauge_box (s, x + w + 12, y - 3.4, 16, 6.8);
}

static void
sketch_face_width (const Sketch *s)
{
  enter (s);
  cairo_translate (s->cr, SCENE_W / 2, 0);
  box (s, -15, 6, 30, 34, EF_INK_MATERIAL, FALSE);
  pen (s, EF_INK_EDGE, 0.7);
  for (int k = 1; k < 6; k++)
    {
      double y = 23 + 17 * sin ((k - 3) * 0.5);

      cairo_move_to (s->cr, -15, y);
      cairo_line_to (s->cr, 15, y);
    }
  cairo_stroke (s->cr);
  micrometer (s, -15, 18, 30, 32);
  span (s, -15, 10, 15, 10);
  cairo_restore (s->cr);
}

/* Plan views with the section's own outlines. */

static const EfSection *
section_of (const Sketch *s)
{
  const EfSection *section = s->target != NULL ? ef_pump_sheet_section (s->sheet, s->target) : NULL;

  if (section == NULL && s->target != NULL)
    {
      const EfPart *part = ef_pump_sheet_part (s->sheet, s->target);

      if (part != NULL && part->section != NULL)
        section = ef_pump_sheet_section (s->sheet, part->section);
    }
  if (section == NULL && s->sheet->sections->len > 0)
    section = g_ptr_array_index (s->sheet->sections, 0);
  return section;
}

static void
plan_gear (const Sketch *s, const EfFaceView *view, const EfSection *section, int gear, double turn, gboolean dim)
{
  EfRing ring = ef_gear_outline (&section->pair, gear, 8);
  double x0 = (gear == 0 ? -0.5 : 0.5) * section->pair.in.centre_distance;
  EfRing bore = ef_ring_circle (x0, 0, section->shaft_radius[gear], 48);

  for (guint i = 0; i < ring.n; i++)
    {
      double x = ring.xy[2 * i], y = ring.xy[2 * i + 1];

      ring.xy[2 * i] = x0 + cos (turn) * x - sin (turn) * y;
      ring.xy[2 * i + 1] = sin (turn) * x + cos (turn) * y;
    }
  ef_path_ring (s->cr, view, &ring, TRUE);
  ef_path_ring (s->cr, view, &bore, TRUE);
  cairo_set_fill_rule (s->cr, CAIRO_FILL_RULE_EVEN_ODD);
  ef_draw_set_ink (s->cr, s->style, dim ? EF_INK_RECESS : EF_INK_MATERIAL, 1);
  cairo_fill_preserve (s->cr);
  ef_draw_set_ink (s->cr, s->style, EF_INK_EDGE, 1);
  ef_draw_set_width (s->cr, s->style, 1.1);
  cairo_stroke (s->cr);
  ef_ring_clear (&ring);
  ef_ring_clear (&bore);
}

/* Pocket and both gears; the view is left in @view, the gears' turns in @turn. @middle_u and @across: what to show, m. */
static void
plan_section (const Sketch *s, const EfSection *section, EfFaceView *view, double turn[2], double middle_u, double across, int dim)
{
  g_autoptr (EfRegion) pocket = ef_pocket_region (section->pair.in.centre_distance, section->pocket_radius, 96, NULL);

  view->scale = MIN (s->width, 1.6 * s->height) / across;
  view->x0 = s->width / 2 - view->scale * middle_u;
  view->y0 = s->height / 2;
  turn[0] = section->pair.in.teeth[0] % 2 == 0 ? 0 : G_PI / section->pair.in.teeth[0];
  turn[1] = ef_gear_pair_mesh_angle (&section->pair, turn[0], section->rotation);
  cairo_rectangle (s->cr, 0, 0, s->width, s->height);
  cairo_clip (s->cr);
  if (pocket != NULL)
    {
      cairo_rectangle (s->cr, 0, 0, s->width, s->height);
      ef_path_region (s->cr, view, pocket);
      cairo_set_fill_rule (s->cr, CAIRO_FILL_RULE_EVEN_ODD);
      ef_draw_set_ink (s->cr, s->style, EF_INK_SIDE, 1);
      cairo_fill (s->cr);
      ef_path_region (s->cr, view, pocket);
      ef_draw_set_ink (s->cr, s->style, EF_INK_EDGE, 1);
      ef_draw_set_width (s->cr, s->style, 1.4);
      cairo_stroke (s->cr);
    }
  plan_gear (s, view, section, 0, turn[0], dim == 0);
  plan_gear (s, view, section, 1, turn[1], dim == 1);
}

/* A feeler blade: a slim strip lying along @angle from (x, y), target units. */
static void
blade (const Sketch *s, double x, double y, double angle, double length, double thick)
{
  cairo_save (s->cr);
  cairo_translate (s->cr, x, y);
  cairo_rotate (s->cr, angle);
  cairo_rectangle (s->cr, -length * 0.15, -thick / 2, length, thick);
  ef_draw_set_ink (s->cr, s->style, EF_INK_ACCENT, 0.9);
  cairo_fill (s->cr);
  cairo_restore (s->cr);
}

static void
ring_round (const Sketch *s, double x, double y, double radius)
{
  cairo_new_sub_path (s->cr);
  cairo_arc (s->cr, x, y, radius, 0, 2 * G_PI);
  ef_draw_set_ink (s->cr, s->style, EF_INK_ACCENT, 1);
  ef_draw_set_width (s->cr, s->style, 1.6);
  cairo_stroke (s->cr);
}

static void
sketch_tip_clearance (const Sketch *s)
{
  const EfSection *section = section_of (s);
  int gear = s->driven ? 1 : 0;
  double sense = s->driven ? 1 : -1, out = s->driven ? 0 : G_PI;
  EfFaceView view;
  double x, y, turn[2], pitch, tooth, centre;

  if (section == NULL)
    return;
  cairo_save (s->cr);
  plan_section (s, section, &view, turn, sense * section->pair.in.centre_distance * 0.5, 2.7 * section->pocket_radius[gear], 1 - gear);
  /* at the tooth that stands farthest out */
  pitch = 2 * G_PI / section->pair.in.teeth[gear];
  tooth = turn[gear] + pitch * rint ((out - turn[gear]) / pitch);
  centre = sense * 0.5 * section->pair.in.centre_distance;
  ef_face_view_to_screen (&view, centre + section->pocket_radius[gear] * cos (tooth), section->pocket_radius[gear] * sin (tooth), &x, &y);
  blade (s, x, y, G_PI / 2 - tooth, 0.26 * s->height, 3 * s->style->line_scale);
  ring_round (s, x, y, 0.09 * s->height);
  cairo_restore (s->cr);
}

static void
sketch_backlash (const Sketch *s)
{
  const EfSection *section = section_of (s);
  EfFaceView view;
  double x, y, turn[2];

  if (section == NULL)
    return;
  cairo_save (s->cr);
  plan_section (s, section, &view, turn, 0, 1.1 * section->pair.in.centre_distance, 1);
  ef_face_view_to_screen (&view, 0, 0, &x, &y);
  blade (s, x, y, -1.2 * section->rotation, 0.4 * s->height, 3 * s->style->line_scale);
  ring_round (s, x, y, 0.12 * s->height);
  cairo_restore (s->cr);
}

static void
sketch_side_play (const Sketch *s)
{
  enter (s);
  box (s, 12, 30, 40, 10, EF_INK_MATERIAL, TRUE);
  box (s, 12, 50, 40, 10, EF_INK_MATERIAL, TRUE);
  box (s, 6, 41, 84, 8, EF_INK_SIDE, FALSE);
  side_gear (s, 56, 28, 22, 34, FALSE);
  /* dial gauge from above, at right angles to the shaft */
  gauge_box (s, 65.6, 16, 2.8, 12);
  cairo_arc (s->cr, 67, 9, 8, 0, 2 * G_PI);
  ef_draw_set_ink (s->cr, s->style, EF_INK_ACCENT, 0.22);
  cairo_fill_preserve (s->cr);
  pen (s, EF_INK_ACCENT, 1.4);
  cairo_stroke (s->cr);
  cairo_move_to (s->cr, 67, 9);
  cairo_line_to (s->cr, 71, 4.5);
  cairo_stroke (s->cr);
  span (s, 97, 34, 97, 56);
  cairo_restore (s->cr);
}

/* The journal's place along the shaft, 0 … 1. */
static double
journal_place (const Sketch *s)
{
  const EfPart *part = s->target != NULL ? ef_pump_sheet_part (s->sheet, s->target) : NULL;

  for (guint i = 0; part != NULL && part->journals != NULL && i < part->journals->len; i++)
    {
      const EfCylinder *journal = &g_array_index (part->journals, EfCylinder, i);

      if (g_strcmp0 (journal->id, s->place) == 0 && part->thickness > 0)
        return CLAMP ((journal->z + journal->length / 2) / part->thickness, 0.1, 0.9);
    }
  return 0.25;
}

/* End view with the directions in which diameters are taken. */
static void
directions (const Sketch *s, double x, double y, double radius)
{
  for (int k = 0; k < 4; k++)
    {
      double a = k * G_PI / 4;

      if (k == 0)
        {
          span (s, x - radius, y, x + radius, y);
          continue;
        }
      pen (s, EF_INK_ACCENT, 0.9);
      cairo_move_to (s->cr, x - radius * cos (a), y - radius * sin (a));
      cairo_line_to (s->cr, x + radius * cos (a), y + radius * sin (a));
      cairo_stroke (s->cr);
    }
}

static void
sketch_journal (const Sketch *s)
{
  double at = CLAMP (4 + 44 * journal_place (s), 12, 40);

  enter (s);
  box (s, 4, 24, 44, 15, EF_INK_MATERIAL, FALSE);
  box (s, at - 7, 24, 14, 15, EF_INK_SIDE, FALSE);
  pen (s, EF_INK_ACCENT, 1);
  cairo_move_to (s->cr, at, 20);
  cairo_line_to (s->cr, at, 44);
  cairo_stroke (s->cr);
  cairo_arc (s->cr, 77, 31.5, 12, 0, 2 * G_PI);
  solid (s, EF_INK_SIDE, FALSE);
  directions (s, 77, 31.5, 12);
  micrometer (s, 65, 31.5, 24, 16);
  cairo_restore (s->cr);
}

static void
sketch_bore (const Sketch *s)
{
  double x = s->driven ? 80 : 40, other = 120 - x;

  enter (s);
  cairo_arc (s->cr, 40, 35, 31, G_PI / 2, 1.5 * G_PI);
  cairo_arc (s->cr, 80, 35, 31, -G_PI / 2, G_PI / 2);
  cairo_close_path (s->cr);
  solid (s, EF_INK_MATERIAL, FALSE);
  cairo_arc (s->cr, other, 35, 11, 0, 2 * G_PI);
  solid (s, EF_INK_RECESS, FALSE);
  cairo_arc (s->cr, x, 35, 15, 0, 2 * G_PI);
  solid (s, EF_INK_PAPER, FALSE);
  directions (s, x, 35, 15);
  cairo_restore (s->cr);
}

static void
sketch_flatness (const Sketch *s)
{
  enter (s);
  cairo_move_to (s->cr, 8, 44);
  cairo_curve_to (s->cr, 35, 41, 50, 49, 66, 48);
  cairo_curve_to (s->cr, 82, 47, 95, 42, 112, 44);
  cairo_line_to (s->cr, 112, 60);
  cairo_line_to (s->cr, 8, 60);
  cairo_close_path (s->cr);
  solid (s, EF_INK_MATERIAL, TRUE);
  box (s, 8, 30, 104, 12.4, EF_INK_SIDE, FALSE);
  gauge_box (s, 52, 43.2, 30, 3);
  pinch (s, 60, 42.4, 48.4);
  pen (s, EF_INK_ACCENT, 1.2);
  for (int k = 0; k < 7; k++)
    {
      cairo_new_sub_path (s->cr);
      cairo_arc (s->cr, 18 + 14 * k, 24, 1.3, 0, 2 * G_PI);
    }
  cairo_stroke (s->cr);
  cairo_restore (s->cr);
}

static const struct
{
  void (*draw) (const Sketch *);
  const char *caption;
} sketches[EF_N_READINGS] = {
  [EF_READ_END_CLEARANCE] = { sketch_end_clearance, N_("Straightedge across the mating face, feeler blade on the end of the gear") },
  [EF_READ_POCKET_DEPTH] = { sketch_pocket_depth, N_("Depth micrometer from the mating face down to the pocket floor") },
  [EF_READ_FACE_WIDTH] = { sketch_face_width, N_("Micrometer over both ends of the gear, on unworn ground beside the bore") },
  [EF_READ_TIP_CLEARANCE] = { sketch_tip_clearance, N_("Feeler blade between a tooth tip and the pocket wall, gear pushed away from it") },
  [EF_READ_BACKLASH] = { sketch_backlash, N_("Feeler blade between the flanks in mesh, one gear held still") },
  [EF_READ_SIDE_PLAY] = { sketch_side_play, N_("Dial gauge at right angles to the shaft, gear pushed to and fro") },
  [EF_READ_JOURNAL_DIAMETER] = { sketch_journal, N_("Micrometer over the journal, in several directions") },
  [EF_READ_BORE_DIAMETER] = { sketch_bore, N_("Bore gauge in several directions; angle from the line of the axes") },
  [EF_READ_FLATNESS] = { sketch_flatness, N_("Straightedge or surface plate, height at several places of the face") },
};

void
ef_draw_gauge_sketch (cairo_t *cr, const EfDrawStyle *style, const EfPumpSheet *sheet, EfQuantity quantity, const char *target, const char *place, double width, double height)
{
  Sketch s = { .cr = cr, .style = style, .sheet = sheet, .target = target, .place = place, .width = width };
  g_autoptr (PangoLayout) caption = NULL;
  const EfPart *part = target != NULL ? ef_pump_sheet_part (sheet, target) : NULL;
  double tall, below = 4 * style->line_scale;

  if ((guint) quantity >= EF_N_READINGS)
    return;
  s.driven = (place != NULL && strstr (place, "driven") != NULL) || (place == NULL && part != NULL && part->gear == 1);
  caption = ef_text_layout (cr, style, ef_text_size (style, 0.88), EF_TEXT_CENTRE, _(sketches[quantity].caption));
  ef_text_wrap (caption, width, 3);
  ef_text_extent (caption, NULL, &tall);
  s.height = MAX (height - tall - below - 6 * style->line_scale, 10);
  s.scale = MIN (width / SCENE_W, s.height / SCENE_H);
  s.x = (width - s.scale * SCENE_W) / 2;
  s.y = (s.height - s.scale * SCENE_H) / 2;
  cairo_save (cr);
  sketches[quantity].draw (&s);
  cairo_restore (cr);
  ef_text_show (cr, style, caption, EF_INK_DIM, 0, 0, height - tall - below, 0, 0);
}
