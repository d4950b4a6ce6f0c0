/* The lamp over a face: by key, by its dial, by pointer; marks drawn under it; a specimen's own surface.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-lamp-view.h"
#include "ef-face-layer.h"
#include "robot.h"
#include "shell-fixture.h"
#include "teach/ef-specimen.h"

#include <math.h>
#include <string.h>

#define DEGREE (G_PI / 180.0)

static EfFaceCanvas *
canvas_of (Shell *shell)
{
  return EF_FACE_CANVAS (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_FACE_CANVAS));
}

static GtkWidget *
dial_of (Shell *shell)
{
  return robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_LAMP_VIEW);
}

static gboolean
is_lit (gpointer canvas)
{
  return ef_face_canvas_lamp_settled (canvas);
}

static gboolean
lamp_on (EfFaceCanvas *canvas)
{
  gboolean on;

  g_object_get (canvas, "lamp", &on, NULL);

  return on;
}

static void
open_lamp (Shell *shell)
{
  EfFaceCanvas *canvas;

  shell_open_demo (shell);
  canvas = canvas_of (shell);
  g_assert_nonnull (canvas);
  gtk_widget_grab_focus (GTK_WIDGET (canvas));
  robot_settle ();
  g_assert_null (dial_of (shell));
  robot_key (GDK_KEY_i, 0);
  robot_settle ();
  g_assert_true (lamp_on (canvas));
  robot_wait (is_lit, canvas, "the lit face");
}

static void
test_keys (Shell *shell,
           gconstpointer data)
{
  EfFaceCanvas *canvas;
  double azimuth, elevation, a, e;

  open_lamp (shell);
  canvas = canvas_of (shell);
  ef_face_canvas_lamp_place (canvas, &azimuth, &elevation);
  robot_key (GDK_KEY_comma, 0);
  robot_key (GDK_KEY_comma, 0);
  ef_face_canvas_lamp_place (canvas, &a, &e);
  g_assert_cmpfloat (fabs (remainder (a - azimuth - 20 * DEGREE, 2 * G_PI)), <, 1e-9);
  g_assert_cmpfloat (e, ==, elevation);
  robot_key (GDK_KEY_i, 0);
  robot_settle ();
  g_assert_false (lamp_on (canvas));
  g_assert_null (dial_of (shell));
}

static void
test_dial (Shell *shell,
           gconstpointer data)
{
  EfFaceCanvas *canvas;
  GtkWidget *dial;
  g_autofree char *words = NULL;
  double a, e, low;

  open_lamp (shell);
  canvas = canvas_of (shell);
  dial = dial_of (shell);
  g_assert_nonnull (dial);
  /* to the right edge: a lamp that lies on the face at 3 o'clock */
  robot_click_at (dial, gtk_widget_get_width (dial) / 2.0 + 37, gtk_widget_get_height (dial) / 2.0);
  ef_face_canvas_lamp_place (canvas, &a, &e);
  g_assert_cmpfloat (fabs (a), <, 3 * DEGREE);
  g_assert_cmpfloat (e, <, 20 * DEGREE);
  words = ef_lamp_view_words (EF_LAMP_VIEW (dial));
  g_assert_nonnull (strstr (words, "3 o'clock"));
  low = e;
  robot_key (GDK_KEY_Up, 0);
  robot_key (GDK_KEY_Left, 0);
  ef_face_canvas_lamp_place (canvas, &a, &e);
  g_assert_cmpfloat (fabs (e - low - 5 * DEGREE), <, 1e-9);
  g_assert_cmpfloat (a, >, 7 * DEGREE);
  robot_wait (is_lit, canvas, "the lamp at rest");
}

/* Pressure and lamp are one at a time. */
static void
test_instead_of_pressure (Shell *shell,
                          gconstpointer data)
{
  EfFaceCanvas *canvas;
  gboolean pressure;

  open_lamp (shell);
  canvas = canvas_of (shell);
  robot_key (GDK_KEY_o, 0);
  robot_settle ();
  g_object_get (canvas, "pressure", &pressure, NULL);
  g_assert_true (pressure);
  g_assert_false (lamp_on (canvas));
}

/* A mark drawn on the lit metal, and the metal is lit anew with it. */
static void
test_mark_under_the_lamp (Shell *shell,
                          gconstpointer data)
{
  EfFaceCanvas *canvas;
  EfSession *session;
  double xy[4];
  guint before;

  open_lamp (shell);
  canvas = canvas_of (shell);
  session = ef_window_session (shell->window);
  before = ef_document_inspection (ef_session_document (session))->items[EF_ITEM_MARK]->len;
  ef_face_canvas_set_tool (canvas, EF_TOOL_LINE);
  ef_face_canvas_to_widget (canvas, 32e-3, -4e-3, &xy[0], &xy[1]);
  ef_face_canvas_to_widget (canvas, 40e-3, 3e-3, &xy[2], &xy[3]);
  robot_drag (GTK_WIDGET (canvas), xy, 2);
  robot_settle ();
  g_assert_cmpuint (ef_document_inspection (ef_session_document (session))->items[EF_ITEM_MARK]->len, ==, before + 1);
  robot_wait (is_lit, canvas, "the face lit anew");
}

/* Where the session has a surface of its own, that's what is lit. */
static void
test_specimen (Shell *shell,
               gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfFaceCanvas *canvas = canvas_of (shell);
  EfFaceChart *chart = ef_face_canvas_chart (canvas);
  GHashTable *surfaces = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_surface_unref);
  g_autoptr (GError) error = NULL;
  EfSurface *surface = ef_surface_new (chart, NULL, 0, 0.0, 3, NULL, &error);

  g_assert_no_error (error);
  g_object_set (canvas, "lamp", TRUE, NULL);
  robot_wait (is_lit, canvas, "the lit face");
  g_hash_table_insert (surfaces, g_strdup (chart->id), surface);
  ef_session_take_surfaces (session, surfaces);
  g_assert_false (ef_face_canvas_lamp_settled (canvas));
  robot_wait (is_lit, canvas, "the specimen's surface");
  g_assert_true (ef_session_surface (session, chart->id) == surface);
  g_assert_null (ef_session_surface (session, "no/such"));
}

/* The layer's pixels: another lamp, another picture; the same one, the same. */
static void
test_layer (Shell *shell,
            gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfFaceChart *chart = ef_face_canvas_chart (canvas_of (shell));
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (ef_document_inspection (ef_session_document (session)), chart->id);
  g_autoptr (EfSurface) surface = ef_surface_new (chart, (EfMark *const *) marks->pdata, marks->len, 0.0, 1, NULL, NULL);
  const double azimuths[] = { 0, G_PI / 2, G_PI / 2 };
  cairo_surface_t *pictures[3];
  EfMetal metal;

  ef_metal_of ("cast-iron", &metal);
  for (guint i = 0; i < 3; i++)
    {
      g_autoptr (EfFaceLayerJob) job = ef_face_layer_job_new (chart, marks, NULL);

      ef_draw_style_screen (&job->style, FALSE, FALSE);
      job->width = 400;
      job->height = 300;
      ef_face_view_fit (&job->view, chart, 400, 300, 10);
      job->scene = ef_lamp_scene_new (surface, &metal, 1);
      job->azimuth = azimuths[i];
      job->elevation = 15 * DEGREE;
      job->bare = TRUE;
      pictures[i] = ef_face_layer_draw_surface (job);
    }
  g_assert_cmpint (memcmp (cairo_image_surface_get_data (pictures[1]), cairo_image_surface_get_data (pictures[2]), 300 * (gsize) cairo_image_surface_get_stride (pictures[1])), ==, 0);
  g_assert_cmpint (memcmp (cairo_image_surface_get_data (pictures[0]), cairo_image_surface_get_data (pictures[1]), 300 * (gsize) cairo_image_surface_get_stride (pictures[1])), !=, 0);
  for (guint i = 0; i < 3; i++)
    cairo_surface_destroy (pictures[i]);
}

/* Ink of the sides' words in a layer: what differs from the one without, over the same ground. */
static guint
words_in_layer (EfFaceChart *chart,
                GPtrArray *marks,
                EfLampScene *scene)
{
  cairo_surface_t *pictures[2];
  guint n = 0;

  for (guint i = 0; i < 2; i++)
    {
      g_autoptr (EfFaceLayerJob) job = ef_face_layer_job_new (chart, marks, NULL);

      ef_draw_style_screen (&job->style, FALSE, FALSE);
      job->width = 400;
      job->height = 300;
      ef_face_view_fit (&job->view, chart, 400, 300, 10);
      job->scene = scene != NULL ? ef_lamp_scene_ref (scene) : NULL;
      job->elevation = 15 * DEGREE;
      job->bare = TRUE;
      job->layers.labels = i == 1;
      pictures[i] = ef_face_layer_draw_surface (job);
    }
  for (int y = 0; y < 300; y++)
    for (int x = 0; x < 400; x++)
      {
        gsize at = (gsize) y * cairo_image_surface_get_stride (pictures[0]) + 4 * (gsize) x;

        n += memcmp (cairo_image_surface_get_data (pictures[0]) + at, cairo_image_surface_get_data (pictures[1]) + at, 4) != 0;
      }
  for (guint i = 0; i < 2; i++)
    cairo_surface_destroy (pictures[i]);

  return n;
}

/* The words that stand partly on the metal aren't cut by the lit picture. */
static void
test_words_on_top (Shell *shell,
                   gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfFaceChart *chart = ef_face_canvas_chart (canvas_of (shell));
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (ef_document_inspection (ef_session_document (session)), chart->id);
  g_autoptr (EfSurface) surface = ef_surface_new (chart, (EfMark *const *) marks->pdata, marks->len, 0.0, 1, NULL, NULL);
  g_autoptr (EfLampScene) scene = NULL;
  guint plain = words_in_layer (chart, marks, NULL);
  EfMetal metal;

  ef_metal_of ("cast-iron", &metal);
  scene = ef_lamp_scene_new (surface, &metal, 1);
  g_assert_cmpuint (plain, >, 100);
  /* The halo shows on metal, not on paper: rather more. */
  g_assert_cmpuint (words_in_layer (chart, marks, scene), >=, plain);
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);

  SHELL_TEST ("/lamp-view/keys", test_keys);
  SHELL_TEST ("/lamp-view/dial", test_dial);
  SHELL_TEST ("/lamp-view/instead-of-pressure", test_instead_of_pressure);
  SHELL_TEST ("/lamp-view/mark-under-the-lamp", test_mark_under_the_lamp);
  SHELL_TEST ("/lamp-view/specimen", test_specimen);
  SHELL_TEST ("/lamp-view/layer", test_layer);
  SHELL_TEST ("/lamp-view/words-on-top", test_words_on_top);

  return g_test_run ();
}
