/* The picture of how sure a reason is, and that of directions: zones, limit and value where they belong without colour; the words for those who can't see it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "draw/ef-draw-sure.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"
#include "pixels.h"

#define WIDTH 600
#define MM 1e-3

/* Constructed: 0.10 mm found, U 0.02 mm, limit 0.13 mm: u 0.01, so the guard band is 1.645 x 0.01 mm at 95 %, 2.326 x 0.01 mm at 99 %. */
static EfReason
reason_of (double value)
{
  return (EfReason){
    .word = EF_VERDICT_USE, .sentence = (char *) "", .value = value, .limit = 0.13 * MM, .uncertainty = 0.02 * MM, .unit = EF_UNIT_MM,
    .wear = 0.13 * MM, .least = NAN,
  };
}

static cairo_surface_t *
paint (const EfReason *reason,
       double coverage,
       gboolean dark,
       double *middle_out)
{
  EfDecisionRule decision = { EF_DECISION_GUARD_BAND, coverage };
  EfDrawStyle style;
  cairo_surface_t *surface;
  cairo_t *cr;
  double height;

  ef_draw_style_screen (&style, dark, FALSE);
  height = ef_draw_sure_height (&style);
  surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, WIDTH, (int) ceil (height));
  cr = cairo_create (surface);
  ef_draw_paper (cr, &style);
  ef_draw_sure (cr, &style, reason, &decision, WIDTH, height);
  g_assert_cmpint (cairo_status (cr), ==, CAIRO_STATUS_SUCCESS);
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  if (middle_out != NULL)
    *middle_out = height * (2.15 + 0.5) / 4.6;

  return surface;
}

/* The scale's ends, by the rule in the picture: what is drawn, and a quarter of it on either side, not below 0. */
static double
place (const EfReason *r,
       double guard,
       double value)
{
  double low = fmin (r->value - r->uncertainty, r->limit - guard), high = fmax (r->value + r->uncertainty, r->limit + guard);
  double room = fmax (0.25 * (high - low), 0.1 * r->limit);

  low = fmax (low - room, fmin (0, r->value - r->uncertainty));
  high += room;

  return 2 + (WIDTH - 4) * (value - low) / (high - low);
}

static void
test_zones (void)
{
  EfReason reason = reason_of (0.10 * MM);
  double guard = 0.01645 * MM, y;
  cairo_surface_t *first = paint (&reason, 0.95, FALSE, &y);
  cairo_surface_t *second = paint (&reason, 0.95, FALSE, NULL);
  cairo_surface_t *wider = paint (&reason, 0.99, FALSE, NULL);
  double in_band = light (first, place (&reason, guard, 0.120 * MM), y, 4), past_in_band = light (first, place (&reason, guard, 0.140 * MM), y, 4);

  g_assert_true (same (first, second));
  g_assert_false (same (first, wider));
  g_assert_cmpfloat (light (first, place (&reason, guard, 0.105 * MM), y, 4), >, 0.97); /* within for sure: plain */
  g_assert_cmpfloat (in_band, <, 0.95);                                                /* hatched on both sides of the limit */
  g_assert_cmpfloat (in_band, >, 0.5);
  g_assert_cmpfloat (past_in_band, <, 0.95);
  g_assert_cmpfloat (past_in_band, >, 0.5);
  g_assert_cmpfloat (light (first, place (&reason, guard, 0.152 * MM), y, 4), <, 0.5); /* past for sure: dark */
  g_assert_cmpfloat (light (first, place (&reason, guard, 0.130 * MM), y, 0), <, 0.4); /* the limit */
  cairo_surface_destroy (first);
  cairo_surface_destroy (second);
  cairo_surface_destroy (wider);
}

/* A least value has its dark side below. */
static void
test_least (void)
{
  EfReason reason = reason_of (0.16 * MM);
  double guard = 0.01645 * MM, y;
  cairo_surface_t *surface;

  reason.least = reason.limit;
  reason.wear = NAN;
  surface = paint (&reason, 0.95, FALSE, &y);
  g_assert_cmpfloat (light (surface, place (&reason, guard, 0.107 * MM), y, 3), <, 0.5);
  g_assert_cmpfloat (light (surface, place (&reason, guard, 0.160 * MM), y, 4), >, 0.97);
  cairo_surface_destroy (surface);
}

/* The whiskers are the expanded uncertainty: moving the value moves them, doubling it spreads them. */
static void
test_value (void)
{
  EfReason reason = reason_of (0.10 * MM), coarse = reason_of (0.10 * MM);
  EfDrawStyle style;
  cairo_surface_t *fine_picture, *coarse_picture;
  double y;

  coarse.uncertainty *= 2;
  ef_draw_style_screen (&style, FALSE, FALSE);
  fine_picture = paint (&reason, 0.95, FALSE, NULL);
  coarse_picture = paint (&coarse, 0.95, FALSE, NULL);
  y = ef_draw_sure_height (&style) * (2.15 - 0.5) / 4.6;
  g_assert_cmpfloat (light (fine_picture, place (&reason, 0.01645 * MM, 0.10 * MM), y, 1), <, 0.3);
  g_assert_cmpfloat (light (fine_picture, place (&reason, 0.01645 * MM, 0.084 * MM), y, 0), <, 0.5);
  g_assert_cmpfloat (light (fine_picture, place (&reason, 0.01645 * MM, 0.076 * MM), y, 0), >, 0.97);
  g_assert_cmpfloat (light (coarse_picture, place (&coarse, 0.0329 * MM, 0.064 * MM), y, 0), <, 0.5);
  cairo_surface_destroy (fine_picture);
  cairo_surface_destroy (coarse_picture);
}

static void
test_words (void)
{
  EfReason reason = reason_of (0.10 * MM);
  EfDecisionRule decision = EF_DECISION_DEFAULT;
  g_autofree char *words = ef_draw_sure_words (&reason, &decision);

  g_assert_cmpstr (words, ==, "0.100 mm ± 0.020 mm against the limit 0.130 mm with a guard band of 0.016 mm on either side");
  reason.uncertainty = NAN;
  g_assert_false (ef_draw_sure_can (&reason));
}

/* An arrow to the right for 0, up for a quarter turn; the load dashed where it points. */
static void
test_directions (void)
{
  EfCross cross = { .direction = 0, .u_direction = 0.05, .load = G_PI / 2, .period = 2 * G_PI };
  EfDrawStyle style;
  cairo_surface_t *right, *up;
  cairo_t *cr;

  ef_draw_style_screen (&style, FALSE, FALSE);
  right = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 100, 100);
  cr = cairo_create (right);
  ef_draw_paper (cr, &style);
  ef_draw_cross (cr, &style, &cross, 100);
  cairo_destroy (cr);
  cairo_surface_flush (right);
  g_assert_cmpfloat (light (right, 75, 50, 2), <, 0.7);
  g_assert_cmpfloat (light (right, 25, 50, 2), >, 0.9);

  cross.direction = G_PI / 2;
  cross.load = 0;
  up = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 100, 100);
  cr = cairo_create (up);
  ef_draw_paper (cr, &style);
  ef_draw_cross (cr, &style, &cross, 100);
  cairo_destroy (cr);
  cairo_surface_flush (up);
  g_assert_cmpfloat (light (up, 50, 25, 2), <, 0.7);
  g_assert_cmpfloat (light (up, 50, 75, 2), >, 0.9);
  g_assert_false (same (right, up));
  cairo_surface_destroy (right);
  cairo_surface_destroy (up);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/draw/sure/zones", test_zones);
  g_test_add_func ("/draw/sure/least", test_least);
  g_test_add_func ("/draw/sure/value", test_value);
  g_test_add_func ("/draw/sure/words", test_words);
  g_test_add_func ("/draw/sure/directions", test_directions);
  return g_test_run ();
}
