/* How long a frame of the canvas takes with many marks: panning, zooming, drawing a line; against a plain fill of the same
 * canvas in the same run, so that the machine drops out of the comparison.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Prints medians and ratios. Fails when a frame while panning or drawing costs more than MOST_RATIO plain fills and more
 * than 33 ms: the canvas would no longer follow the hand.
 */
#include "window/ef-face-canvas.h"
#include "window/ef-face-index.h"
#include "window/ef-face-layer.h"

#include <adwaita.h>
#include <math.h>
#include <stdlib.h>

#define FRAMES 60
#define MOST_RATIO 40
#define MOST_SECONDS 0.033

/* --- A widget that fills itself, and nothing else ------------------------------------------------------------------------------ */

#define PLAIN_TYPE (plain_get_type ())
G_DECLARE_FINAL_TYPE (Plain, plain, PLAIN, FILL, GtkWidget)

struct _Plain
{
  GtkWidget parent_instance;
  float shade;
};

G_DEFINE_FINAL_TYPE (Plain, plain, GTK_TYPE_WIDGET)

static void
plain_snapshot (GtkWidget *widget,
                GtkSnapshot *snapshot)
{
  const GdkRGBA colour = { PLAIN_FILL (widget)->shade, 0.5f, 0.5f, 1 };

  gtk_snapshot_append_color (snapshot, &colour, &GRAPHENE_RECT_INIT (0, 0, gtk_widget_get_width (widget), gtk_widget_get_height (widget)));
}

static void
plain_class_init (PlainClass *klass)
{
  GTK_WIDGET_CLASS (klass)->snapshot = plain_snapshot;
}

static void
plain_init (Plain *self)
{
  gtk_widget_set_hexpand (GTK_WIDGET (self), TRUE);
  gtk_widget_set_vexpand (GTK_WIDGET (self), TRUE);
}

/* --- Frames ------------------------------------------------------------------------------------------------------------------------ */

typedef struct
{
  gint64 start;
  double seconds[FRAMES];
  int n;
} Frames;

static void
before_cb (GdkFrameClock *clock,
           Frames *frames)
{
  frames->start = g_get_monotonic_time ();
}

static void
after_cb (GdkFrameClock *clock,
          Frames *frames)
{
  if (frames->start != 0 && frames->n < FRAMES)
    frames->seconds[frames->n++] = (g_get_monotonic_time () - frames->start) * 1e-6;
  frames->start = 0;
}

static int
compare (gconstpointer a,
         gconstpointer b)
{
  double left = *(const double *) a, right = *(const double *) b;

  return (left > right) - (left < right);
}

/* Median seconds of FRAMES frames, each after @step has changed something. */
static double
measure (GtkWidget *widget,
         void (*step) (GtkWidget *widget, int i),
         double *worst)
{
  GdkFrameClock *clock = gtk_widget_get_frame_clock (widget);
  Frames frames = { 0 };
  gulong before = g_signal_connect (clock, "before-paint", G_CALLBACK (before_cb), &frames);
  gulong after = g_signal_connect (clock, "after-paint", G_CALLBACK (after_cb), &frames);
  int i = 0;

  while (frames.n < FRAMES)
    {
      int n = frames.n;

      step (widget, i++);
      gtk_widget_queue_draw (widget);
      while (frames.n == n)
        g_main_context_iteration (NULL, TRUE);
    }
  g_signal_handler_disconnect (clock, before);
  g_signal_handler_disconnect (clock, after);
  qsort (frames.seconds, FRAMES, sizeof (double), compare);
  if (worst != NULL)
    *worst = frames.seconds[FRAMES * 95 / 100];
  return frames.seconds[FRAMES / 2];
}

static void
step_fill (GtkWidget *widget,
           int i)
{
  PLAIN_FILL (widget)->shade = (i % 10) / 10.0f;
}

static void
step_pan (GtkWidget *widget,
          int i)
{
  ef_face_canvas_pan_by (EF_FACE_CANVAS (widget), i % 20 < 10 ? 4 : -4, i % 20 < 10 ? 2 : -2);
}

static void
step_zoom (GtkWidget *widget,
           int i)
{
  ef_face_canvas_zoom_at (EF_FACE_CANVAS (widget), i % 20 < 10 ? 1.05 : 1 / 1.05, 300, 200);
}

static void
step_draw (GtkWidget *widget,
           int i)
{
  ef_face_canvas_drag_to (EF_FACE_CANVAS (widget), 320 + i % 60, 260 + (i * 7) % 40);
}

/* --- The job ------------------------------------------------------------------------------------------------------------------------- */

static EfSession *
make_session (guint n)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (GRand) random = g_rand_new_with_seed (42);
  EfPumpSheet *sheet = ef_pump_sheet_load (path, &error);
  EfInspection *inspection;
  EfDocument *document;
  EfSession *session;
  guint i, k;

  g_assert_no_error (error);
  inspection = ef_inspection_new (sheet, "J-0500");
  ef_pump_sheet_unref (sheet);
  for (i = 0; i < n; i++)
    {
      EfMark *mark = ef_mark_new ("separator/side-a", (EfMarkKind) (i % EF_N_MARK_KINDS), EF_SHAPE_LINE, 2e-4);
      double u = g_rand_double_range (random, -0.045, 0.045), v = g_rand_double_range (random, -0.025, 0.025);

      for (k = 0; k < 12; k++)
        {
          ef_mark_add_node (mark, u, v);
          u += g_rand_double_range (random, -4e-4, 6e-4);
          v += g_rand_double_range (random, -5e-4, 5e-4);
        }
      ef_mark_set_depth (mark, 1e-5 * (1 + i % 9), EF_UNIT_MM, NULL);
      mark->number = (int) i + 1;
      ef_inspection_swap (inspection, NULL, &mark->item, &error);
      g_assert_no_error (error);
      ef_item_unref (mark);
    }
  document = ef_document_new (inspection);
  session = ef_session_new (document, NULL, 0, FALSE);
  g_object_unref (document);
  return session;
}

static void
wait_for_size (GtkWidget *widget)
{
  while (!gtk_widget_get_mapped (widget) || gtk_widget_get_width (widget) < 100)
    g_main_context_iteration (NULL, TRUE);
}

static GtkWidget *
show (GtkWidget *child,
      int width,
      int height)
{
  GtkWidget *window = gtk_window_new ();

  /* A margin: a frame that repaints exactly the whole window costs far more on X11, whatever is in it. */
  gtk_widget_set_margin_start (child, 4);
  gtk_widget_set_margin_end (child, 4);
  gtk_widget_set_margin_top (child, 4);
  gtk_widget_set_margin_bottom (child, 4);
  gtk_window_set_default_size (GTK_WINDOW (window), width, height);
  gtk_window_set_child (GTK_WINDOW (window), child);
  gtk_window_present (GTK_WINDOW (window));
  wait_for_size (child);
  return window;
}

static double
measure_layer (EfSession *session)
{
  EfFaceChart *chart = ef_session_chart (session, "separator/side-a");
  GPtrArray *marks = ef_document_inspection (ef_session_document (session))->items[EF_ITEM_MARK];
  EfAssessment *assessment = ef_session_assessment (session);
  EfDepthMap *map = assessment != NULL ? g_hash_table_lookup (assessment->findings.maps, chart->id) : NULL;
  g_autoptr (EfFaceLayerJob) job = ef_face_layer_job_new (chart, marks, map);
  double best = G_MAXDOUBLE;
  int i;

  ef_draw_style_screen (&job->style, FALSE, FALSE);
  job->layers.depth_colours = job->layers.labels = job->layers.mark_numbers = TRUE;
  job->width = 1260;
  job->height = 760;
  ef_face_view_fit (&job->view, chart, job->width, job->height, 36);
  for (i = 0; i < 5; i++)
    {
      gint64 start = g_get_monotonic_time ();
      g_autoptr (GdkTexture) texture = ef_face_layer_draw (job);

      best = MIN (best, (g_get_monotonic_time () - start) * 1e-6);
    }
  return best;
}

static double
measure_picks (EfSession *session)
{
  GPtrArray *marks = ef_document_inspection (ef_session_document (session))->items[EF_ITEM_MARK];
  g_autoptr (EfFaceIndex) index = ef_face_index_new (marks);
  g_autoptr (GRand) random = g_rand_new_with_seed (1);
  gint64 start = g_get_monotonic_time ();
  int i;

  for (i = 0; i < 2000; i++)
    ef_face_index_pick (index, g_rand_double_range (random, -0.045, 0.045), g_rand_double_range (random, -0.025, 0.025), 1e-3);
  return (g_get_monotonic_time () - start) * 1e-6 / 2000;
}

static gboolean
report (const char *what,
        double seconds,
        double worst,
        double fill,
        gboolean must)
{
  gboolean good = !must || seconds <= MOST_RATIO * fill || seconds <= MOST_SECONDS;

  g_print ("#   %-22s %6.2f ms (95 %%: %6.2f ms), %5.1f plain fills%s\n", what, 1e3 * seconds, 1e3 * worst, seconds / fill, good ? "" : "  TOO SLOW");
  return good;
}

static gboolean
bench (guint n,
       int width,
       int height)
{
  EfSession *session = make_session (n);
  GtkWidget *canvas, *window, *plain;
  double fill, seconds, worst;
  gboolean good = TRUE;

  ef_session_settle (session);
  plain = g_object_new (PLAIN_TYPE, NULL);
  window = show (plain, width, height);
  fill = measure (plain, step_fill, &worst);
  gtk_window_destroy (GTK_WINDOW (window));

  canvas = ef_face_canvas_new (session);
  ef_session_select_face (session, "separator/side-a");
  window = show (canvas, width, height);
  ef_face_canvas_settle (EF_FACE_CANVAS (canvas));
  g_print ("# %u marks, canvas %d x %d, plain fill %.2f ms\n", n, gtk_widget_get_width (canvas), gtk_widget_get_height (canvas), 1e3 * fill);
  g_print ("#   whole picture, worker  %6.1f ms; a pick %.1f us\n", 1e3 * measure_layer (session), 1e6 * measure_picks (session));
  seconds = measure (canvas, step_pan, &worst);
  good = report ("pan", seconds, worst, fill, TRUE) && good;
  seconds = measure (canvas, step_zoom, &worst);
  good = report ("zoom", seconds, worst, fill, FALSE) && good;
  ef_face_canvas_fit (EF_FACE_CANVAS (canvas));
  ef_face_canvas_settle (EF_FACE_CANVAS (canvas));
  ef_face_canvas_set_tool (EF_FACE_CANVAS (canvas), EF_TOOL_LINE);
  ef_face_canvas_press (EF_FACE_CANVAS (canvas), 300, 250, 1, EF_TOUCH_POINTER);
  seconds = measure (canvas, step_draw, &worst);
  good = report ("draw a line", seconds, worst, fill, TRUE) && good;
  ef_face_canvas_cancel (EF_FACE_CANVAS (canvas));
  gtk_window_destroy (GTK_WINDOW (window));
  g_object_unref (session);
  return good;
}

int
main (int argc,
      char **argv)
{
  static const guint counts[] = { 2000, 10000 };
  gboolean all = TRUE;
  guint i;

  gtk_test_init (&argc, &argv, NULL);
  adw_init ();
  g_object_set (gtk_settings_get_default (), "gtk-enable-animations", FALSE, "gtk-font-name", "DejaVu Sans 10", NULL);
  g_print ("1..%u\n", (guint) G_N_ELEMENTS (counts));
  for (i = 0; i < G_N_ELEMENTS (counts); i++)
    {
      gboolean good = bench (counts[i], 1272, 792);

      g_print ("%s %u /canvas/frames/%u-marks\n", good ? "ok" : "not ok", i + 1, counts[i]);
      all = all && good;
    }
  return all ? 0 : 1;
}
