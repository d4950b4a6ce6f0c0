/* Photos by pointer and keys: attached, refused, turned, taken out; laid under a face by five places, and wear traced from it found where it is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * With ENDFLOAT_PICTURES set to a folder, the screens are kept there as PNG.
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-face-canvas.h"
#include "ef-photo-bar.h"
#include "ef-photo-lay.h"
#include "ef-photo-view.h"
#include "ef-photo-work.h"

#include "../../src/draw/ef-demo-photo.h"
#include "record/ef-exchange.h"
#include "../photo/photo-bytes.h"

#include <math.h>

#define FACE "pressure-housing/mating"

static EfSession *
session_of (Shell *shell)
{
  return ef_window_session (shell->window);
}

static GPtrArray *
photos_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (session_of (shell)))->items[EF_ITEM_PHOTO];
}

static void
open_photos (Shell *shell)
{
  GtkWidget *button;

  ef_window_show_page (shell->window, "record");
  robot_settle ();
  button = robot_find_button (GTK_WIDGET (shell->window), "Photos");
  g_assert_nonnull (button);
  gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (button), TRUE);
  robot_settle ();
}

static EfPhotoView *
view_of (Shell *shell)
{
  return EF_PHOTO_VIEW (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_PHOTO_VIEW));
}

static gboolean
is_settled (gpointer data)
{
  return ef_photo_view_settled (view_of (data));
}

static gboolean
has_tooltip (GtkWidget *widget,
             gpointer data)
{
  const char *text = gtk_widget_get_tooltip_text (widget);

  return GTK_IS_BUTTON (widget) && gtk_widget_get_mapped (widget) && text != NULL && g_str_has_prefix (text, data);
}

/* By keyboard: what can be pressed so can be pressed by a pointer too. */
static void
press (GtkWidget *root,
       const char *tooltip)
{
  GtkWidget *button = robot_find (root, has_tooltip, (gpointer) tooltip);

  if (button == NULL)
    g_error ("no button \"%s …\"", tooltip);
  gtk_widget_grab_focus (button);
  robot_settle ();
  robot_key (GDK_KEY_space, 0);
  robot_settle ();
}

static void
keep_picture (const char *name)
{
  const char *folder = g_getenv ("ENDFLOAT_PICTURES");
  g_autofree char *command = NULL;

  if (folder == NULL)
    return;
  for (guint i = 0; i < 20; i++)
    {
      robot_settle ();
      g_usleep (20000);
    }
  command = g_strdup_printf ("import -window root %s/%s.png", folder, name);
  g_assert_true (g_spawn_command_line_sync (command, NULL, NULL, NULL, NULL));
}

static void
message_cb (EfSession *session,
            const char *text,
            GPtrArray *messages)
{
  g_ptr_array_add (messages, g_strdup (text));
}

static gboolean
one_says (GPtrArray *messages,
          const char *text)
{
  for (guint i = 0; i < messages->len; i++)
    if (strstr (messages->pdata[i], text) != NULL)
      return TRUE;

  return FALSE;
}

static GFile *
write_file (Shell *shell,
            const char *name,
            const guint8 *bytes,
            gsize length)
{
  g_autofree char *path = g_build_filename (shell->folder, name, NULL);

  g_assert_true (g_file_set_contents (path, (const char *) bytes, (gssize) length, NULL));

  return g_file_new_for_path (path);
}

static gboolean
find_drop_target (GtkWidget *widget,
                  GtkDropTarget **out)
{
  g_autoptr (GListModel) controllers = gtk_widget_observe_controllers (widget);

  for (guint i = 0; i < g_list_model_get_n_items (controllers); i++)
    {
      g_autoptr (GObject) one = g_list_model_get_item (controllers, i);

      if (GTK_IS_DROP_TARGET (one))
        *out = GTK_DROP_TARGET (one);
    }

  return *out != NULL;
}

/* Files dropped on the view: one good, one the same again under another name, and three that are refused, each with its reason; the job and its history have the one. */
static void
test_attach (Shell *shell,
             gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  g_autoptr (GdkPixbuf) pixels = photo_pixels (320, 240);
  g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
  g_autoptr (GByteArray) bomb = photo_png_of_size (30000, 30000, FALSE);
  g_autoptr (GPtrArray) messages = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) files = g_ptr_array_new_with_free_func (g_object_unref);
  g_autoptr (EfFileRow) row = NULL;
  GtkDropTarget *target = NULL;
  g_auto (GValue) value = G_VALUE_INIT;
  GSList *list = NULL;
  GdkFileList *boxed;
  const EfPhoto *photo;
  gboolean taken = FALSE;
  guint before = photos_of (shell)->len;

  g_assert_cmpuint (before, ==, 1); /* the demo's own */
  photo_add_exif (jpeg, 6, "2026:03:11 08:30:00");
  g_ptr_array_add (files, write_file (shell, "IMG 0001.jpg", jpeg->data, jpeg->len));
  g_ptr_array_add (files, write_file (shell, "again.png", jpeg->data, jpeg->len));
  g_ptr_array_add (files, write_file (shell, "bomb.jpg", bomb->data, bomb->len));
  g_ptr_array_add (files, write_file (shell, "bad\xff name.jpg", jpeg->data, jpeg->len));
  g_ptr_array_add (files, write_file (shell, "letter.jpg", (const guint8 *) "Dear customer", 13));
  g_signal_connect (session, "message", G_CALLBACK (message_cb), messages);
  open_photos (shell);
  for (guint i = files->len; i > 0; i--)
    list = g_slist_prepend (list, files->pdata[i - 1]);
  boxed = (GdkFileList *) g_boxed_copy (GDK_TYPE_FILE_LIST, list);
  g_slist_free (list);
  g_value_init (&value, GDK_TYPE_FILE_LIST);
  g_value_take_boxed (&value, boxed);
  g_assert_true (find_drop_target (GTK_WIDGET (view_of (shell)), &target));
  g_signal_emit_by_name (target, "drop", &value, 5.0, 5.0, &taken);
  g_assert_true (taken);
  robot_wait (is_settled, shell, "the files to be taken in");
  g_signal_handlers_disconnect_by_data (session, messages);

  g_assert_cmpuint (photos_of (shell)->len, ==, before + 1);
  photo = photos_of (shell)->pdata[before];
  g_assert_cmpstr (photo->name, ==, "IMG 0001.jpg");
  g_assert_cmpint (photo->width, ==, 240); /* upright */
  g_assert_cmpstr (photo->taken, ==, "2026-03-11T08:30:00");
  g_assert_cmpuint (messages->len, ==, 4);
  g_assert_true (one_says (messages, "again.png: the job has this photo already, as IMG 0001.jpg"));
  g_assert_true (one_says (messages, "bomb.jpg: expected at most 64 million px"));
  g_assert_true (one_says (messages, "expected text in UTF-8"));
  g_assert_true (one_says (messages, "letter.jpg: expected a JPEG or PNG photo"));
  row = ef_store_file_info (ef_session_store (session), photo->file, NULL);
  g_assert_nonnull (row);
  g_assert_cmpint (row->size, ==, jpeg->len);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "IMG 0001.jpg"));
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "240 × 320 px, taken 2026-03-11 08:30:00 by the camera's clock"));
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Laid on the face by 6 places, off by "));
  keep_picture ("photos-list");

  /* One step back and forth. */
  ef_session_undo (session);
  g_assert_cmpuint (photos_of (shell)->len, ==, before);
  ef_session_redo (session);
  g_assert_cmpuint (photos_of (shell)->len, ==, before + 1);
}

/* Turned four times it's where it was; taken out, its mark forgets it too; undone, both are back. */
static void
test_turn_and_remove (Shell *shell,
                      gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  EfMark *mark = inspection->items[EF_ITEM_MARK]->pdata[0];
  g_autoptr (EfItem) changed = ef_item_copy (mark);
  const char *const names[] = { ((EfPhoto *) photos_of (shell)->pdata[0])->file, NULL };
  g_autofree char *mark_id = g_strdup (mark->item.id);
  g_autofree char *digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, "elsewhere", -1);
  g_autoptr (EfItem) missing = &ef_photo_new (digest, "IMG 9.jpg", "image/jpeg", 40, 30)->item;
  EfChange *change = ef_change_new ("Photo of mark");

  ((EfMark *) changed)->photos = g_strdupv ((GStrv) names);
  ef_change_add (change, mark, changed);
  g_assert_true (ef_session_apply (session, change));
  robot_focus (GTK_WINDOW (shell->window));
  open_photos (shell);
  robot_wait (is_settled, shell, "the small picture");
  for (int i = 1; i <= 4; i++)
    {
      press (GTK_WIDGET (shell->window), "Turn it by a quarter");
      g_assert_cmpint (((EfPhoto *) photos_of (shell)->pdata[0])->turns, ==, i % 4);
      robot_wait (is_settled, shell, "the small picture, turned");
    }
  press (GTK_WIDGET (shell->window), "Take the photo out");
  g_assert_cmpuint (photos_of (shell)->len, ==, 0);
  mark = ef_inspection_find (ef_document_inspection (ef_session_document (session)), EF_ITEM_MARK, mark_id);
  g_assert_cmpuint (g_strv_length (mark->photos), ==, 0);
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "No photos yet"));
  ef_session_undo (session);
  g_assert_cmpuint (photos_of (shell)->len, ==, 1);
  mark = ef_inspection_find (ef_document_inspection (ef_session_document (session)), EF_ITEM_MARK, mark_id);
  g_assert_cmpuint (g_strv_length (mark->photos), ==, 1);

  /* A job that came without its photos says so. */
  change = ef_change_new ("Photo");
  ef_change_add (change, NULL, missing);
  g_assert_true (ef_session_apply (session, change));
  robot_wait (is_settled, shell, "the small pictures");
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Its file isn't in this store"));
}

/* --- Tracing -------------------------------------------------------------------------------------------------------------------- */

static gboolean
is_attached (gpointer data)
{
  return !ef_photo_attaching (session_of (data)) && photos_of (data)->len == 2;
}

static gboolean
is_loaded (gpointer data)
{
  GtkWindow *window = robot_window (EF_TYPE_PHOTO_LAY);

  return window != NULL && ef_photo_lay_loaded (EF_PHOTO_LAY (window));
}

static gboolean
is_shown (gpointer data)
{
  EfPhotoBar *bar = EF_PHOTO_BAR (robot_find_type (GTK_WIDGET (((Shell *) data)->window), EF_TYPE_PHOTO_BAR));

  return bar != NULL && ef_photo_bar_settled (bar);
}

static void
to_px (const double m[9],
       double u,
       double v,
       double *x,
       double *y)
{
  double w = m[6] * u + m[7] * v + m[8];

  *x = (m[0] * u + m[1] * v + m[2]) / w;
  *y = (m[3] * u + m[4] * v + m[5]) / w;
}

/* What stands in the photo and nowhere in the job: one groove from A to B. */
static const double groove[2][2] = { { -0.013, 0.0312 }, { 0.0125, 0.0322 } };

static GBytes *
make_photo (const EfFaceChart *chart,
            double to_photo[9])
{
  g_autoptr (GPtrArray) marks = g_ptr_array_new_with_free_func (ef_item_unref);
  EfMark *mark = ef_mark_new (FACE, EF_MARK_GROOVE, EF_SHAPE_LINE, 0.8e-3);
  g_autoptr (GError) error = NULL;
  GBytes *bytes;

  for (guint i = 0; i < 2; i++)
    ef_mark_add_node (mark, groove[i][0], groove[i][1]);
  g_ptr_array_add (marks, mark);
  bytes = ef_demo_photo_make (chart, marks, to_photo, &error);
  g_assert_no_error (error);

  return bytes;
}

/* Presses each place on the photo, where the photo shows it, and on the face. */
static void
lay (Shell *shell,
     const EfFaceChart *chart,
     const double to_photo[9])
{
  g_autoptr (EfItem) places = &ef_photo_new ("", "", "", EF_DEMO_PHOTO_WIDTH, EF_DEMO_PHOTO_HEIGHT)->item;
  EfPhotoLay *window = EF_PHOTO_LAY (robot_window (EF_TYPE_PHOTO_LAY));

  ef_demo_photo_lay ((EfPhoto *) places, chart, to_photo, 5);
  g_assert_cmpuint (((EfPhoto *) places)->pairs->len, ==, 5);
  for (guint i = 0; i < 5; i++)
    {
      const EfRegistrationPair *pair = &g_array_index (((EfPhoto *) places)->pairs, EfRegistrationPair, i);
      double x, y, wx, wy;

      to_px (to_photo, pair->u, pair->v, &x, &y);
      ef_photo_pane_to_widget (ef_photo_lay_photo_pane (window), x, y, &wx, &wy);
      robot_click_at (GTK_WIDGET (ef_photo_lay_photo_pane (window)), wx, wy);
      robot_settle ();
      g_assert_true (robot_sees (GTK_WIDGET (window), "is set on the photo. Press the same place on the face"));
      ef_photo_pane_to_widget (ef_photo_lay_face_pane (window), pair->u, -pair->v, &wx, &wy);
      robot_click_at (GTK_WIDGET (ef_photo_lay_face_pane (window)), wx, wy);
      robot_settle ();
      g_assert_true (robot_sees (GTK_WIDGET (window), i < 3 ? "needed" : i == 3 ? "One more place tells how well" : "Off by "));
    }
}

/* The darkest px of the photo as it lies, near a place: where a person sees the groove. */
static void
find_dark (const EfFaceView *view,
           const EfLaidPhoto *laid,
           double u,
           double v,
           double *x_out,
           double *y_out)
{
  const int reach = 10;
  double x, y, sum = 0, sum_y = 0;
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, 1, 2 * reach + 1);
  cairo_t *cr = cairo_create (surface);
  EfFaceView shifted = *view;
  const guint8 *data;
  int darkest = 255;

  ef_face_view_to_screen (view, u, v, &x, &y);
  x = floor (x);
  y = floor (y);
  shifted.x0 -= x;
  shifted.y0 -= y - reach;
  ef_draw_laid_photo (cr, &shifted, laid, 0, 0, 1, 2 * reach + 1);
  cairo_surface_flush (surface);
  data = cairo_image_surface_get_data (surface);
  for (int i = 0; i <= 2 * reach; i++)
    darkest = MIN (darkest, data[i * cairo_image_surface_get_stride (surface) + 1]);
  for (int i = 0; i <= 2 * reach; i++)
    {
      double dark = MAX (0, darkest + 40 - data[i * cairo_image_surface_get_stride (surface) + 1]);

      sum += dark;
      sum_y += dark * (i + 0.5);
    }
  *x_out = x + 0.5;
  *y_out = y - reach + sum_y / sum;
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
}

/* The same by keyboard alone: the cross is moved and set with Enter; Escape leaves the photo as it was. */
static void
lay_by_keys (Shell *shell,
             EfSession *session)
{
  EfPhotoLay *window;
  GtkWidget *pane;

  ef_photo_lay_show (GTK_WIDGET (shell->window), session, ((EfPhoto *) photos_of (shell)->pdata[0])->item.id);
  robot_wait (is_loaded, shell, "the photo to be read");
  window = EF_PHOTO_LAY (robot_window (EF_TYPE_PHOTO_LAY));
  robot_focus (GTK_WINDOW (window));
  pane = GTK_WIDGET (ef_photo_lay_photo_pane (window));
  gtk_widget_grab_focus (pane);
  robot_settle ();
  robot_key (GDK_KEY_Left, GDK_SHIFT_MASK);
  robot_key (GDK_KEY_Up, 0);
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (window), "Place 7 is set on the photo"));
  robot_key (GDK_KEY_Tab, 0);
  robot_settle ();
  g_assert_true (gtk_widget_has_focus (GTK_WIDGET (ef_photo_lay_face_pane (window))));
  robot_key (GDK_KEY_Left, GDK_SHIFT_MASK);
  robot_key (GDK_KEY_Up, 0);
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (window), "Place 8: press"));
  g_assert_true (robot_sees (GTK_WIDGET (window), "7: "));
  robot_key (GDK_KEY_Escape, 0);
  robot_settle ();
  g_assert_cmpuint (((EfPhoto *) photos_of (shell)->pdata[0])->pairs->len, ==, 6);
}

static void
test_trace (Shell *shell,
            gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfFaceChart *chart = ef_session_chart (session, FACE);
  double to_photo[9];
  g_autoptr (GBytes) bytes = make_photo (chart, to_photo);
  g_auto (EfRegistration) fit = { 0 };
  g_autoptr (EfPhotoPicture) picture = NULL;
  g_autoptr (GdkPixbuf) pixbuf = NULL;
  EfLaidPhoto laid = { .opacity = 1 };
  GtkWidget *canvas, *button;
  EfFaceView view = { 0 };
  const EfPhoto *photo;
  const EfMark *mark;
  double x, y, at[2][2], reach;
  guint before;

  robot_focus (GTK_WINDOW (shell->window));
  lay_by_keys (shell, session);
  robot_focus (GTK_WINDOW (shell->window));
  ef_photo_attach_bytes (session, bytes, "housing.jpg", FACE, NULL);
  robot_wait (is_attached, shell, "the photo to be taken in");
  photo = photos_of (shell)->pdata[1];
  ef_photo_lay_show (GTK_WIDGET (shell->window), session, photo->item.id);
  robot_wait (is_loaded, shell, "the photo to be read");
  robot_focus (robot_window (EF_TYPE_PHOTO_LAY));
  lay (shell, chart, to_photo);
  keep_picture ("photos-lay");
  button = robot_find_button (GTK_WIDGET (robot_window (EF_TYPE_PHOTO_LAY)), "Keep");
  g_assert_nonnull (button);
  g_assert_true (gtk_widget_get_sensitive (button));
  robot_click (button);
  robot_settle ();
  photo = photos_of (shell)->pdata[1];
  g_assert_cmpuint (photo->pairs->len, ==, 5);
  g_assert_true (ef_photo_fit (photo, &fit, NULL));
  g_assert_false (fit.mirrored);
  g_assert_cmpfloat (fit.rms, <, 0.4e-3);
  g_assert_cmpfloat (fit.rms, >, 0);

  /* Under the face, by key; snap off, so that nothing but the photo leads the hand. */
  ef_window_show_page (shell->window, "map");
  ef_session_select_face (session, FACE);
  robot_focus (GTK_WINDOW (shell->window));
  canvas = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_FACE_CANVAS);
  gtk_widget_grab_focus (canvas);
  robot_settle ();
  robot_key (GDK_KEY_h, 0);
  robot_settle ();
  robot_wait (is_shown, shell, "the photo under the face");
  robot_key (GDK_KEY_m, 0);
  robot_key (GDK_KEY_l, 0);
  robot_settle ();
  ef_face_canvas_set_kind (EF_FACE_CANVAS (canvas), EF_MARK_GROOVE);
  keep_picture ("photos-map");

  /* Where the photo, as the job has it, shows the groove's ends. */
  pixbuf = ef_photo_load (ef_session_store (session), photo, 0, FALSE, NULL, NULL);
  picture = ef_photo_picture_new (pixbuf, photo->width, photo->height);
  laid.picture = picture;
  memcpy (laid.to_photo, fit.to_photo, sizeof laid.to_photo);
  ef_face_canvas_to_widget (EF_FACE_CANVAS (canvas), 0, 0, &view.x0, &view.y0);
  ef_face_canvas_to_widget (EF_FACE_CANVAS (canvas), 1, 0, &x, &y);
  view.scale = x - view.x0;
  for (guint i = 0; i < 2; i++)
    find_dark (&view, &laid, groove[i][0], groove[i][1], &at[i][0], &at[i][1]);
  before = ef_document_inspection (ef_session_document (session))->items[EF_ITEM_MARK]->len;
  for (guint i = 0; i < 2; i++)
    {
      robot_click_at (canvas, at[i][0], at[i][1]);
      robot_settle ();
    }
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_cmpuint (ef_document_inspection (ef_session_document (session))->items[EF_ITEM_MARK]->len, ==, before + 1);
  mark = ef_document_inspection (ef_session_document (session))->items[EF_ITEM_MARK]->pdata[before];
  g_assert_cmpstr (mark->face_id, ==, FACE);
  g_assert_cmpuint (mark->nodes->len, ==, 2);
  reach = ef_registration_coverage (&fit) * ef_registration_uncertainty (&fit, EF_DEMO_PHOTO_WIDTH / 2, EF_DEMO_PHOTO_HEIGHT / 2) + 1.0 / view.scale;
  g_assert_cmpfloat (reach, <, 2e-3);
  reach = MIN (reach, 3 * fit.largest + 1.0 / view.scale); /* and in fact as near as the places themselves */
  for (guint i = 0; i < 2; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      g_test_message ("end %u: off by %.3f mm in v, %.3f mm in u; 95 %% interval and a px: %.3f mm", i + 1, 1e3 * (node->v - groove[i][1]), 1e3 * (node->u - groove[i][0]), 1e3 * reach);
      g_assert_cmpfloat (fabs (node->v - groove[i][1]), <, reach);
      g_assert_cmpfloat (fabs (node->u - groove[i][0]), <, reach);
    }
  keep_picture ("photos-traced");
}

static gboolean
dialog_is_open (gpointer unused)
{
  GtkWindow *dialog = robot_window (ADW_TYPE_MESSAGE_DIALOG);

  return dialog != NULL && gtk_widget_get_mapped (GTK_WIDGET (dialog));
}

static gboolean
job_is_open (gpointer shell)
{
  return session_of (shell) != NULL && gtk_widget_get_mapped (GTK_WIDGET (((Shell *) shell)->window));
}

/* A job that comes in without its photo says so once, by name; one without photos says nothing. */
static void
test_imported_without (Shell *shell,
                       gconstpointer data)
{
  static const char *const demos[] = { "job-3-tg-3.json", "job-2-rc-4.json" };

  for (guint i = 0; i < G_N_ELEMENTS (demos); i++)
    {
      g_autofree char *demo = ef_data_path ("demo", demos[i], NULL);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfInspection) inspection = ef_exchange_load (demo, &error);
      g_autofree char *digest = g_strnfill (64, 'b');
      g_autofree char *path = g_build_filename (shell->folder, demos[i], NULL);
      g_autoptr (EfItem) photo = &ef_photo_new (digest, "IMG 7.jpg", "image/jpeg", 40, 30)->item;
      GFile *file = g_file_new_for_path (path);

      g_assert_no_error (error);
      if (i == 0)
        g_assert_true (ef_inspection_swap (inspection, NULL, photo, &error));
      g_assert_true (ef_exchange_save (inspection, path, &error));
      ef_window_import (shell->window, &file, 1);
      if (i == 0)
        {
          GtkWindow *dialog;

          robot_wait (dialog_is_open, NULL, "what didn't come along");
          dialog = robot_window (ADW_TYPE_MESSAGE_DIALOG);
          g_assert_true (robot_sees (GTK_WIDGET (dialog), "1 photo isn't in this store: IMG 7.jpg"));
          robot_focus (dialog);
          robot_click (robot_find_button (GTK_WIDGET (dialog), "Close"));
          robot_settle ();
        }
      robot_wait (job_is_open, shell, "the job");
      robot_settle ();
      g_assert_false (dialog_is_open (NULL));
      g_object_unref (file);
    }
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/photos/attach", test_attach);
  SHELL_TEST ("/photos/turn-and-remove", test_turn_and_remove);
  SHELL_TEST ("/photos/trace", test_trace);

  SHELL_TEST ("/photos/imported-without", test_imported_without);
  return g_test_run ();
}
