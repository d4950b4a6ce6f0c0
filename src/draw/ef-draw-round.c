/* Roundness of a bore or journal: the points and the four reference circles, deviations exaggerated.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-form.h"
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define SMALL 260 /* px: below, what isn't the form itself is left out */
#define MOST_LABELS 24
#define BASE 0.56  /* of the half side: the least-squares circle */
#define REACH 0.2  /* of the half side: the largest deviation from it */

typedef struct
{
  cairo_t *cr;
  const EfDrawStyle *style;
  const EfRoundForm *form;
  const EfRoundPlace *place;
  EfUnit unit;
  double x, y, half;    /* centre of the plot, half its side */
  double base, gain;    /* of the least-squares circle; target units a metre of deviation */
  double centre[2];     /* of the least-squares circle, m */
  double exaggeration;  /* gain against the circle's own scale */
  double most;          /* largest deviation, m */
  gboolean small;
  EfOccupied occupied;
} Round;

void
ef_round_place_init (EfRoundPlace *place)
{
  *place = (EfRoundPlace) { .angle_sign = 1, .load = NAN, .load_angle = NAN };
}

void
ef_round_place_take (EfRoundPlace *place, const EfFaceChart *chart, const EfAssessment *assessment)
{
  gboolean fixed = chart->kind == EF_FACE_BORE && chart->map.form == EF_FORM_CYLINDER && ef_pump_sheet_part (chart->sheet, chart->part_id) != NULL
                   && ef_pump_sheet_part (chart->sheet, chart->part_id)->kind != EF_PART_GEAR;
  const EfPart *part = ef_pump_sheet_part (chart->sheet, chart->part_id);
  const EfFlowResult *flow = assessment != NULL ? assessment->flow : NULL;

  ef_round_place_init (place);
  place->angle0 = chart->map.angle0;
  place->angle_sign = chart->map.angle_sign != 0 ? chart->map.angle_sign : 1;
  place->sides = place->delivery_plus = fixed;
  /* The load in the wall frame has the bore's own angle. Parts of the other section aren't loaded by this one. */
  if (!fixed || flow == NULL || chart->gear < 0 || !flow->state[EF_STATE_FOUND].known || part == NULL)
    return;
  if (part->section != NULL && g_strcmp0 (part->section, flow->section) != 0)
    return;
  place->load = flow->state[EF_STATE_FOUND].idle.loss.load[chart->gear];
  place->load_angle = flow->state[EF_STATE_FOUND].idle.loss.load_psi[chart->gear];
}

char *
ef_round_face_id (const EfPumpSheet *sheet, EfQuantity quantity, const char *part_id, const char *place)
{
  const EfPart *part = ef_pump_sheet_part (sheet, part_id);

  if (part == NULL)
    return NULL;
  if (quantity == EF_READ_JOURNAL_DIAMETER)
    return g_strdup_printf ("%s/journal-%s", part_id, place);
  if (part->kind == EF_PART_GEAR)
    return g_strdup_printf ("%s/bore", part_id);
  return g_strdup_printf ("%s/%s-%s", part_id, part->kind == EF_PART_HOUSING ? "bore" : "hole", place);
}

/* --- From metres to the picture --------------------------------------------------------------------------------------------- */

/* Unit vector of the face's angle on the target: seen from the front, y down. */
static void
direction (const Round *self, double angle, double *dx, double *dy)
{
  double front = self->place->angle0 + self->place->angle_sign * angle;

  *dx = cos (front);
  *dy = -sin (front);
}

static void
at_polar (const Round *self, double angle, double radius, double *x, double *y)
{
  double dx, dy;

  direction (self, angle, &dx, &dy);
  *x = self->x + radius * dx;
  *y = self->y + radius * dy;
}

/* A measured point: its angle as it is, its deviation exaggerated. */
static void
map_point (const Round *self, guint i, double *x, double *y)
{
  double dx = self->form->xy[2 * i] - self->centre[0], dy = self->form->xy[2 * i + 1] - self->centre[1];
  double deviation = hypot (dx, dy) - self->form->circle[EF_CIRCLE_LSCI].radius;

  at_polar (self, atan2 (dy, dx), self->base + self->gain * deviation, x, y);
}

static void
set_scale (Round *self)
{
  const EfCircleFit *squares = &self->form->circle[EF_CIRCLE_LSCI];
  double most = 1e-7, per_metre = self->base / squares->radius;

  for (guint i = 0; i < self->form->n_points; i++)
    {
      double r = hypot (self->form->xy[2 * i] - squares->x, self->form->xy[2 * i + 1] - squares->y);

      most = MAX (most, fabs (r - squares->radius));
    }
  self->most = most;
  self->centre[0] = squares->x;
  self->centre[1] = squares->y;
  /* 1, 2 or 5 times a power of ten, rounded down, but never less than true to scale */
  self->exaggeration = MAX (ef_nice_step (REACH * self->half / most / per_metre, 1), 1);
  if (self->exaggeration * per_metre * most > REACH * self->half * 1.001 && self->exaggeration > 1)
    {
      double smaller = self->exaggeration / 2;

      while (ef_nice_step (smaller, 1) >= self->exaggeration * 0.999 && smaller > 1)
        smaller /= 2;
      self->exaggeration = ef_nice_step (smaller, 1);
    }
  self->gain = self->exaggeration * per_metre;
}

/* --- Circles ------------------------------------------------------------------------------------------------------------------ */

static void
set_circle_line (cairo_t *cr, const EfDrawStyle *style, EfCircleKind kind)
{
  static const double dashes[EF_N_CIRCLES][4] = { { 0 }, { 9, 3, 2, 3 }, { 7, 4, 7, 4 }, { 1.5, 3, 1.5, 3 } };
  static const double widths[EF_N_CIRCLES] = { 1.5, 1.3, 1.3, 1.8 };
  double dash[4];

  for (int k = 0; k < 4; k++)
    dash[k] = dashes[kind][k] * style->line_scale;
  ef_draw_set_ink (cr, style, kind == EF_CIRCLE_LSCI ? EF_INK_TEXT : kind == EF_CIRCLE_MZCI ? EF_INK_ACCENT : kind == EF_CIRCLE_MCCI ? EF_INK_DELIVERY : EF_INK_SUCTION, 1);
  ef_draw_set_width (cr, style, widths[kind]);
  cairo_set_dash (cr, dash, dash[0] > 0 ? 4 : 0, 0);
}

static void
one_circle (const Round *self, const EfCircleFit *fit, double radius)
{
  double ex = self->gain * (fit->x - self->centre[0]), ey = self->gain * (fit->y - self->centre[1]);
  double r = self->base + self->gain * (radius - self->form->circle[EF_CIRCLE_LSCI].radius);
  double dx, dy, length = hypot (ex, ey);

  direction (self, atan2 (ey, ex), &dx, &dy);
  cairo_new_sub_path (self->cr);
  cairo_arc (self->cr, self->x + length * dx, self->y + length * dy, MAX (r, 1), 0, 2 * G_PI);
}

static void
draw_circles (const Round *self)
{
  for (int kind = EF_N_CIRCLES - 1; kind >= 0; kind--)
    {
      const EfCircleFit *fit = &self->form->circle[kind];

      cairo_save (self->cr);
      cairo_new_path (self->cr);
      set_circle_line (self->cr, self->style, (EfCircleKind) kind);
      if (kind == EF_CIRCLE_MZCI)
        {
          one_circle (self, fit, fit->radius + fit->roundness / 2);
          one_circle (self, fit, fit->radius - fit->roundness / 2);
        }
      else
        one_circle (self, fit, fit->radius);
      cairo_stroke (self->cr);
      cairo_restore (self->cr);
    }
}

/* The oval that was fitted, thin. */
static void
draw_oval (const Round *self)
{
  const EfRoundForm *form = self->form;
  double mean = 0;

  if (!form->oval_known || !isfinite (form->direction))
    return;
  for (guint i = 0; i < form->n_points; i++)
    mean += hypot (form->xy[2 * i] - self->centre[0], form->xy[2 * i + 1] - self->centre[1]) / form->n_points;
  mean -= form->circle[EF_CIRCLE_LSCI].radius;
  cairo_new_path (self->cr);
  for (int k = 0; k < 180; k++)
    {
      double t = k * G_PI / 90, x, y;

      at_polar (self, t, self->base + self->gain * (mean + form->amplitude * cos (2 * (t - form->direction))), &x, &y);
      cairo_line_to (self->cr, x, y);
    }
  cairo_close_path (self->cr);
  ef_draw_set_ink (self->cr, self->style, EF_INK_EDGE, 0.25);
  ef_draw_set_width (self->cr, self->style, 4.5);
  cairo_stroke (self->cr);
}

/* --- Axis, load, sides --------------------------------------------------------------------------------------------------------- */

static void
arrow_head (cairo_t *cr, double x, double y, double dx, double dy, double size)
{
  cairo_move_to (cr, x, y);
  cairo_line_to (cr, x - size * dx - 0.42 * size * dy, y - size * dy + 0.42 * size * dx);
  cairo_line_to (cr, x - size * dx + 0.42 * size * dy, y - size * dy - 0.42 * size * dx);
  cairo_close_path (cr);
  cairo_fill (cr);
}

static double
axis_length (const Round *self)
{
  return self->base - self->gain * self->most - 5 * self->style->line_scale;
}

/* Both ways along the widest direction, with a sector as wide as it's uncertain. */
static void
draw_axis (const Round *self)
{
  const EfRoundForm *form = self->form;
  double length = MAX (axis_length (self), 0.5 * self->base), head = 9 * self->style->line_scale;
  double spread = form->oval_known && isfinite (form->u_direction) ? MIN (2 * form->u_direction, G_PI / 2) : 0;

  if (!isfinite (form->direction))
    return;
  for (int end = 0; end < 2; end++)
    {
      double angle = form->direction + end * G_PI, x, y, dx, dy;

      if (spread > 0)
        {
          cairo_move_to (self->cr, self->x, self->y);
          for (int k = -12; k <= 12; k++)
            {
              at_polar (self, angle + spread * k / 12, length, &x, &y);
              cairo_line_to (self->cr, x, y);
            }
          cairo_close_path (self->cr);
          ef_draw_set_ink (self->cr, self->style, EF_INK_DIM, 0.2);
          cairo_fill (self->cr);
        }
      direction (self, angle, &dx, &dy);
      ef_draw_set_ink (self->cr, self->style, EF_INK_TEXT, 1);
      ef_draw_set_width (self->cr, self->style, 1.4);
      cairo_move_to (self->cr, self->x, self->y);
      cairo_line_to (self->cr, self->x + (length - head) * dx, self->y + (length - head) * dy);
      cairo_stroke (self->cr);
      arrow_head (self->cr, self->x + length * dx, self->y + length * dy, dx, dy, head);
    }
}

/* Thick and open, so that it's no axis. */
static void
draw_load (Round *self)
{
  double length = 0.72 * MAX (axis_length (self), 0.5 * self->base), head = 13 * self->style->line_scale, dx, dy, x, y;

  if (!isfinite (self->place->load_angle))
    return;
  direction (self, self->place->load_angle, &dx, &dy);
  x = self->x + length * dx;
  y = self->y + length * dy;
  for (int pass = 0; pass < 2; pass++)
    {
      ef_draw_set_ink (self->cr, self->style, pass == 0 ? EF_INK_TEXT : EF_INK_PAPER, 1);
      ef_draw_set_width (self->cr, self->style, pass == 0 ? 5.5 : 3);
      cairo_move_to (self->cr, self->x, self->y);
      cairo_line_to (self->cr, x - head * 0.8 * dx, y - head * 0.8 * dy);
      cairo_stroke (self->cr);
    }
  ef_draw_set_ink (self->cr, self->style, EF_INK_TEXT, 1);
  arrow_head (self->cr, x, y, dx, dy, head);
}

static void
centre_cross (const Round *self)
{
  double r = 4 * self->style->line_scale;

  ef_draw_set_ink (self->cr, self->style, EF_INK_TEXT, 1);
  cairo_arc (self->cr, self->x, self->y, 0.7 * r, 0, 2 * G_PI);
  cairo_fill (self->cr);
}

static void
draw_spokes (const Round *self, double outer)
{
  ef_draw_set_ink (self->cr, self->style, EF_INK_FAINT, 1);
  ef_draw_set_width (self->cr, self->style, 0.8);
  for (int k = 0; k < 12; k++)
    {
      double x0, y0, x1, y1, inner = k % 3 == 0 ? 0.1 * outer : outer - 5 * self->style->line_scale;

      at_polar (self, k * G_PI / 6, inner, &x0, &y0);
      at_polar (self, k * G_PI / 6, outer, &x1, &y1);
      cairo_move_to (self->cr, x0, y0);
      cairo_line_to (self->cr, x1, y1);
    }
  cairo_stroke (self->cr);
  cairo_arc (self->cr, self->x, self->y, outer, 0, 2 * G_PI);
  cairo_stroke (self->cr);
}

/* --- Words ------------------------------------------------------------------------------------------------------------------------ */

/* Outside the circle at an angle, moved outwards until it's free. */
static gboolean
put_outside (Round *self, const char *text, double share, EfTextFlags flags, EfInk ink, double angle, double radius)
{
  double size = ef_text_size (self->style, share), dx, dy, w, h;
  g_autoptr (PangoLayout) layout = ef_text_layout (self->cr, self->style, size, flags, text);

  ef_text_extent (layout, &w, &h);
  direction (self, angle, &dx, &dy);
  for (int step = 0; step < 4; step++)
    {
      double r = radius + step * 0.7 * size;
      double x = self->x + r * dx + (dx - 1) / 2 * w, y = self->y + r * dy + (dy - 1) / 2 * h;

      if (!ef_occupied_take (&self->occupied, x, y, w, h))
        continue;
      ef_text_show (self->cr, self->style, layout, ink, flags | EF_TEXT_HALO, x, y, 0, 0);
      return TRUE;
    }
  return FALSE;
}

static void
label_directions (Round *self, double outer)
{
  const EfRoundForm *form = self->form;

  for (guint i = 0; i < form->n_directions && form->n_directions <= MOST_LABELS; i++)
    {
      g_autofree char *diameter = ef_format_quantity (form->directions[i].diameter, self->unit, -1);
      g_autofree char *text = g_strdup_printf ("%.0f°: %s", form->directions[i].angle * 180 / G_PI, diameter);

      put_outside (self, text, 0.82, 0, EF_INK_TEXT, form->directions[i].angle, outer + 4 * self->style->line_scale);
    }
}

static gboolean
labelled (const Round *self, double angle)
{
  for (guint i = 0; i < self->form->n_directions && self->form->n_directions <= MOST_LABELS; i++)
    if (fabs (remainder (angle - self->form->directions[i].angle, 2 * G_PI)) < 0.02)
      return TRUE;
  return FALSE;
}

static void
label_surroundings (Round *self, double outer)
{
  double gap = 4 * self->style->line_scale, quarter = self->place->delivery_plus ? G_PI / 2 : -G_PI / 2;

  for (int k = 0; k < 4; k++)
    if (!labelled (self, k * G_PI / 2))
      {
        g_autofree char *text = g_strdup_printf ("%d°", 90 * k);

        put_outside (self, text, 0.82, 0, EF_INK_DIM, k * G_PI / 2, outer + gap);
      }
  if (self->place->sides)
    {
      put_outside (self, _("delivery side"), 0.82, EF_TEXT_BOLD, EF_INK_DELIVERY, quarter, outer + 1.6 * self->style->text_size);
      put_outside (self, _("suction side"), 0.82, EF_TEXT_BOLD, EF_INK_SUCTION, -quarter, outer + 1.6 * self->style->text_size);
    }
}

static void
draw_points (const Round *self)
{
  guint n = self->form->n_points, ends = self->form->from_diameters ? self->form->n_directions : n;
  double radius = (n > 200 ? 1.2 : 3.6) * self->style->line_scale;

  for (guint i = 0; i < n; i++)
    {
      double x, y;

      map_point (self, i, &x, &y);
      cairo_arc (self->cr, x, y, radius, 0, 2 * G_PI);
      ef_draw_set_ink (self->cr, self->style, i < ends ? EF_INK_TEXT : EF_INK_PAPER, 1);
      cairo_fill_preserve (self->cr);
      ef_draw_set_ink (self->cr, self->style, EF_INK_TEXT, 1);
      ef_draw_set_width (self->cr, self->style, 1.2);
      cairo_stroke (self->cr);
    }
}

/* --- Legend ------------------------------------------------------------------------------------------------------------------------- */

typedef enum { SIGN_CIRCLE = 0, SIGN_AXIS = EF_N_CIRCLES, SIGN_LOAD, N_SIGNS } Sign;

static char *
sign_text (const Round *self, int sign)
{
  const EfRoundForm *form = self->form;
  g_autofree char *number = NULL;

  if (sign < SIGN_AXIS)
    {
      number = ef_draw_fine (form->circle[sign].roundness, self->unit, TRUE);
      return g_strdup_printf (_("%s, %s: RONt %s"), ef_circle_abbreviation ((EfCircleKind) sign), _(ef_circle_label ((EfCircleKind) sign)), number);
    }
  if (sign == SIGN_AXIS)
    {
      if (!isfinite (form->direction))
        return NULL;
      number = ef_draw_fine (form->ovality, self->unit, TRUE);
      if (form->oval_known && isfinite (form->amplitude))
        {
          g_autofree char *ovality = g_steal_pointer (&number);
          g_autofree char *amplitude = ef_draw_fine (form->amplitude, self->unit, TRUE);

          /* diameters grow by four times what the radius swings by */
          number = g_strdup_printf (_("%s (second harmonic, amplitude %s)"), ovality, amplitude);
        }
      if (form->oval_known && isfinite (form->u_direction) && 2 * form->u_direction < G_PI / 2)
        return g_strdup_printf (_("ovality %s, axis %.0f° ± %.0f°"), number, form->direction * 180 / G_PI, ceil (2 * form->u_direction * 180 / G_PI - 1e-9));
      return g_strdup_printf (_("ovality %s, axis %.0f°, uncertain"), number, form->direction * 180 / G_PI);
    }
  if (!isfinite (self->place->load_angle))
    return NULL;
  return g_strdup_printf (_("load at hot idle %.0f N, to %.0f°"), self->place->load, fmod (self->place->load_angle * 180 / G_PI + 720, 360));
}

static void
draw_sign (const Round *self, int sign, double x, double y, double length)
{
  cairo_t *cr = self->cr;

  cairo_save (cr);
  if (sign < SIGN_AXIS)
    set_circle_line (cr, self->style, (EfCircleKind) sign);
  else
    {
      ef_draw_set_ink (cr, self->style, EF_INK_TEXT, 1);
      ef_draw_set_width (cr, self->style, sign == SIGN_AXIS ? 1.4 : 5.5);
    }
  cairo_move_to (cr, x, y);
  cairo_line_to (cr, x + length - (sign < SIGN_AXIS ? 0 : 6 * self->style->line_scale), y);
  cairo_stroke (cr);
  if (sign == SIGN_LOAD)
    {
      ef_draw_set_ink (cr, self->style, EF_INK_PAPER, 1);
      ef_draw_set_width (cr, self->style, 3);
      cairo_move_to (cr, x, y);
      cairo_line_to (cr, x + length - 6 * self->style->line_scale, y);
      cairo_stroke (cr);
      ef_draw_set_ink (cr, self->style, EF_INK_TEXT, 1);
    }
  if (sign >= SIGN_AXIS)
    arrow_head (cr, x + length, y, 1, 0, (sign == SIGN_LOAD ? 10 : 7) * self->style->line_scale);
  if (sign == SIGN_AXIS)
    arrow_head (cr, x, y, -1, 0, 7 * self->style->line_scale);
  cairo_restore (cr);
}

/* In rows as wide as there is room; with @draw FALSE it only measures. Returns the height. */
static double
legend (const Round *self, double y, double width, gboolean draw)
{
  double size = ef_text_size (self->style, 0.82), row = 1.55 * size, left = 0.5 * size, at = left, top = y, sample = 2.4 * size;
  g_autofree char *closing = NULL;
  g_autoptr (PangoLayout) last = NULL;
  double h;

  for (int sign = 0; sign < N_SIGNS; sign++)
    {
      g_autofree char *text = sign_text (self, sign);
      g_autoptr (PangoLayout) layout = text != NULL ? ef_text_layout (self->cr, self->style, size, 0, text) : NULL;
      double w;

      if (layout == NULL)
        continue;
      ef_text_extent (layout, &w, NULL);
      if (at > left && at + sample + 0.5 * size + w > width - left)
        {
          at = left;
          top += row;
        }
      if (draw)
        {
          draw_sign (self, sign, at, top + row / 2, sample);
          ef_text_show (self->cr, self->style, layout, EF_INK_TEXT, 0, at + sample + 0.5 * size, top + row / 2, 0, 0.5);
        }
      at += sample + 0.5 * size + w + 1.3 * size;
    }
  top += row;
  closing = g_strdup_printf (_("Seen from the front. Deviations drawn %g times as large as the circle.%s"), self->exaggeration,
                             self->form->from_diameters ? _(" Open points lie across, from the same diameter.") : "");
  last = ef_text_layout (self->cr, self->style, size, 0, closing);
  ef_text_wrap (last, width - 2 * left, 0);
  ef_text_extent (last, NULL, &h);
  if (draw)
    ef_text_show (self->cr, self->style, last, EF_INK_DIM, 0, left, top + 0.2 * size, 0, 0);
  return top + h + 0.4 * size - y;
}

static void
draw_plot (Round *self, double top, double width, double height)
{
  double outer = self->base + REACH * self->half + 7 * self->style->line_scale;

  draw_spokes (self, outer);
  draw_oval (self);
  draw_axis (self);
  draw_load (self);
  centre_cross (self);
  draw_circles (self);
  draw_points (self);
  if (self->small)
    return;
  ef_occupied_init (&self->occupied, 0, top, width, height, 2 * self->style->line_scale);
  label_directions (self, outer);
  label_surroundings (self, outer);
  ef_occupied_clear (&self->occupied);
}

/* The plot as large as the legend leaves room for. */
static void
fit (Round *self, double top, double width, double height)
{
  self->x = width / 2;
  self->y = top + height / 2;
  self->half = MIN (MIN (width, height) / 2, 0.5 * height);
  if (self->small)
    self->base = self->half * (1 - REACH) - 10 * self->style->line_scale;
  else
    self->base = BASE * self->half;
  self->base = MAX (self->base, 4);
  set_scale (self);
}

static char *
headline (const EfRoundForm *form, EfUnit unit)
{
  g_autofree char *round = NULL;
  g_autofree char *oval = NULL;
  g_autofree char *limit = NULL;

  if (!form->known)
    return ef_draw_round_words (form, NULL, unit);
  round = ef_format_quantity (form->circle[EF_CIRCLE_MZCI].roundness, unit, -1);
  if (!isfinite (form->ovality))
    return g_strdup_printf (_("Out of round %s (minimum zone)"), round);
  oval = ef_format_quantity (form->ovality, unit, -1);
  if (!isfinite (form->limit))
    return g_strdup_printf (_("Out of round %s; ovality %s"), round, oval);
  limit = ef_format_quantity (form->limit, unit, -1);
  return g_strdup_printf (_("Out of round %s; ovality %s, limit %s"), round, oval, limit);
}

void
ef_draw_round_form (cairo_t *cr, const EfDrawStyle *style, const EfRoundForm *form, const EfRoundPlace *place, EfUnit unit, double width, double height)
{
  Round self = { .cr = cr, .style = style, .form = form, .place = place, .unit = unit };
  double size = style->text_size, top, bottom = 0;
  g_autofree char *head = headline (form, unit);
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, size, EF_TEXT_BOLD, head);

  cairo_save (cr);
  ef_text_wrap (layout, width - size, form->known ? 3 : 0);
  ef_text_extent (layout, NULL, &top);
  top += 0.5 * size;
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, 0.5 * size, 0.25 * size, 0, 0);
  if (form->known && width > 20 && height > 20)
    {
      self.small = MIN (width, height) < SMALL * style->text_size / 13 * (style->print ? 1.1 : 1);
      self.exaggeration = 1;
      if (!self.small)
        bottom = legend (&self, 0, width, FALSE);
      if (height - top - bottom < 0.4 * height)
        bottom = 0;
      fit (&self, top, width, MAX (height - top - bottom, 10));
      draw_plot (&self, top, width, MAX (height - top - bottom, 10));
      if (bottom > 0)
        legend (&self, height - bottom, width, TRUE);
    }
  cairo_restore (cr);
}
