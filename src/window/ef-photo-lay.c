/* Laying a photo onto the face that it shows.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Photo at the left, face at the right; a press on either sets a place, the next on the other makes the pair. What fits is computed at once, and shown on the face.
 */
#include "config.h"

#include "ef-photo-lay.h"
#include "ef-look.h"
#include "ef-photo-work.h"

#include <glib/gi18n.h>
#include <string.h>
#include <math.h>

/* Of the window; larger where there's room, as places are met better on a large picture. */
#define LEAST_WIDTH 1000
#define LEAST_HEIGHT 660
#define SHOWN_SIDE 3000    /* px */
#define PREVIEW_OPACITY 0.55

struct _EfPhotoLay
{
  AdwWindow parent_instance;

  EfSession *session;
  EfPhoto *kept;  /* as it is in the job */
  EfPhoto *photo; /* as it would become */
  EfFaceChart *chart;
  GCancellable *cancellable;
  GdkPixbuf *pixbuf; /* turned; NULL: not there yet */
  EfLaidPhoto laid;  /* for the preview */
  EfRegistration fit;
  gboolean fits;

  gboolean has_place[2]; /* of the pair under way: photo, face */
  EfRegistrationPair place;

  GtkWidget *photo_pane, *face_pane, *hint, *result, *model, *list, *keep, *drop;
};

G_DEFINE_FINAL_TYPE (EfPhotoLay, ef_photo_lay, ADW_TYPE_WINDOW)

static EfRegistrationPair *
pair_at (EfPhotoLay *self,
         guint i)
{
  return &g_array_index (self->photo->pairs, EfRegistrationPair, i);
}

/* --- Panes ---------------------------------------------------------------------------------------------------------------------- */

static void
draw_photo_cb (cairo_t *cr,
               const EfPhotoPaneView *view,
               gpointer user_data)
{
  EfPhotoLay *self = user_data;
  int width, height;

  if (self->pixbuf == NULL)
    return;
  ef_photo_turned_size (self->photo, &width, &height);
  cairo_translate (cr, view->x0, view->y0);
  cairo_scale (cr, view->scale * width / gdk_pixbuf_get_width (self->pixbuf), view->scale * height / gdk_pixbuf_get_height (self->pixbuf));
  gdk_cairo_set_source_pixbuf (cr, self->pixbuf, 0, 0);
  cairo_pattern_set_filter (cairo_get_source (cr), CAIRO_FILTER_BILINEAR);
  cairo_paint (cr);
}

/* The face's v goes up, the pane's y down. */
static void
draw_face_cb (cairo_t *cr,
              const EfPhotoPaneView *view,
              gpointer user_data)
{
  EfPhotoLay *self = user_data;
  EfFaceView face = { 0 };
  EfFaceLayers layers = { .labels = TRUE };
  EfDrawStyle style;

  face.scale = view->scale;
  face.x0 = view->x0;
  face.y0 = view->y0;
  ef_look_style (&style);
  ef_draw_face_ground (cr, &style, &face, self->chart, &layers);
  if (self->fits && self->laid.picture != NULL)
    {
      ef_draw_laid_photo (cr, &face, &self->laid, 0, 0, view->width, view->height);
      layers.over_photo = TRUE;
      ef_draw_face_ground (cr, &style, &face, self->chart, &layers);
    }
}

static const char *
snap_cb (double reach,
         double *x,
         double *y,
         gpointer user_data)
{
  EfPhotoLay *self = user_data;
  double u = *x, v = -*y;
  const char *name = ef_face_chart_snap (self->chart, reach, &u, &v);

  if (name != NULL)
    {
      *x = u;
      *y = -v;
    }

  return name;
}

static void
show_points (EfPhotoLay *self)
{
  guint n = self->photo->pairs->len;
  g_autofree double *on_photo = g_new (double, 2 * n + 2);
  g_autofree double *on_face = g_new (double, 2 * n + 2);

  for (guint i = 0; i <= n; i++)
    {
      const EfRegistrationPair *pair = i < n ? pair_at (self, i) : &self->place;

      ef_photo_turn_point (self->photo, pair->x, pair->y, &on_photo[2 * i], &on_photo[2 * i + 1]);
      on_face[2 * i] = pair->u;
      on_face[2 * i + 1] = -pair->v;
    }
  ef_photo_pane_set_points (EF_PHOTO_PANE (self->photo_pane), on_photo, n + self->has_place[0], self->has_place[0]);
  ef_photo_pane_set_points (EF_PHOTO_PANE (self->face_pane), on_face, n + self->has_place[1], self->has_place[1]);
}

/* --- What fits -------------------------------------------------------------------------------------------------------------------- */

static void
show_hint (EfPhotoLay *self)
{
  guint next = self->photo->pairs->len + 1;
  g_autofree char *text = NULL;

  if (self->pixbuf == NULL)
    text = g_strdup (_ ("Reading the photo…"));
  else if (self->has_place[0])
    text = g_strdup_printf (_ ("Place %u is set on the photo. Press the same place on the face, at the right."), next);
  else if (self->has_place[1])
    text = g_strdup_printf (_ ("Place %u is set on the face. Press the same place on the photo, at the left."), next);
  else
    text = g_strdup_printf (_ ("Place %u: press an edge, stud or port on the photo, then the same on the face. Spread them wide; four or more tell how well they fit."), next);
  gtk_label_set_label (GTK_LABEL (self->hint), text);
}

static char *
result_words (EfPhotoLay *self)
{
  const EfRegistration *fit = &self->fit;
  g_autoptr (GString) text = g_string_new (NULL);
  double reach, x, y;

  if (fit->freedom == 0)
    g_string_append (text, _ ("As many places as the model has unknowns: it fits whatever was pressed. One more place tells how well."));
  else
    {
      ef_registration_to_photo (fit, (self->chart->u0 + self->chart->u1) / 2, (self->chart->v0 + self->chart->v1) / 2, &x, &y);
      reach = ef_registration_coverage (fit) * ef_registration_uncertainty (fit, x, y);
      g_string_append_printf (text, _ ("Off by %.2f mm (root mean square), at most %.2f mm. Traced in the middle of the face: ± %.2f mm (95 %%)"), 1e3 * fit->rms,
                              1e3 * fit->largest, 1e3 * reach);
    }
  if (fit->mirrored)
    g_string_append_printf (text, "\n%s", _ ("The photo lies mirrored: places were exchanged, or it shows another face."));

  return g_string_free (g_steal_pointer (&text), FALSE);
}

static void
compute (EfPhotoLay *self)
{
  guint least = ef_registration_least_pairs (self->photo->model), n = self->photo->pairs->len;
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;

  ef_registration_clear (&self->fit);
  self->fits = FALSE;
  gtk_widget_remove_css_class (self->result, "error");
  if (n < least)
    text = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u more pair is needed.", "%u more pairs are needed.", least - n), least - n);
  else if (ef_photo_fit (self->photo, &self->fit, &error))
    {
      self->fits = TRUE;
      memcpy (self->laid.to_photo, self->fit.to_photo, sizeof self->laid.to_photo);
      text = result_words (self);
    }
  else
    {
      gtk_widget_add_css_class (self->result, "error");
      text = g_strdup (error->message);
    }
  gtk_label_set_label (GTK_LABEL (self->result), text);
}

static void fill_list (EfPhotoLay *self);

static void
refresh (EfPhotoLay *self)
{
  compute (self);
  show_points (self);
  show_hint (self);
  fill_list (self);
  gtk_widget_set_sensitive (self->keep, !ef_item_equal (self->kept, self->photo) && (self->fits || self->photo->pairs->len == 0));
  gtk_widget_set_sensitive (self->drop, self->photo->pairs->len > 0 || self->has_place[0] || self->has_place[1]);
  gtk_widget_queue_draw (self->face_pane);
}

static void
remove_pair_cb (GtkButton *button,
                EfPhotoLay *self)
{
  guint i = GPOINTER_TO_UINT (g_object_get_data (G_OBJECT (button), "ef-pair"));

  if (i < self->photo->pairs->len)
    g_array_remove_index (self->photo->pairs, i);
  refresh (self);
}

static void
fill_list (EfPhotoLay *self)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_box_remove (GTK_BOX (self->list), child);
  for (guint i = 0; i < self->photo->pairs->len; i++)
    {
      GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 2);
      GtkWidget *remove = gtk_button_new_from_icon_name ("edit-delete-symbolic");
      g_autofree char *name = g_strdup_printf (_ ("Take place %u away"), i + 1);
      g_autofree char *text = self->fits && self->fit.freedom > 0 ? g_strdup_printf (_ ("%u: %.2f mm"), i + 1, 1e3 * self->fit.residual[i])
                                                                  : g_strdup_printf ("%u", i + 1);
      GtkWidget *label = gtk_label_new (text);

      gtk_widget_add_css_class (label, "numeric");
      if (self->fits && self->fit.freedom > 0 && self->fit.residual[i] == self->fit.largest)
        gtk_widget_add_css_class (label, "heading");
      gtk_widget_add_css_class (remove, "flat");
      gtk_widget_add_css_class (remove, "ef-touch");
      gtk_widget_set_tooltip_text (remove, name);
      gtk_accessible_update_property (GTK_ACCESSIBLE (remove), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
      g_object_set_data (G_OBJECT (remove), "ef-pair", GUINT_TO_POINTER (i));
      g_signal_connect (remove, "clicked", G_CALLBACK (remove_pair_cb), self);
      gtk_box_append (GTK_BOX (box), label);
      gtk_box_append (GTK_BOX (box), remove);
      gtk_box_append (GTK_BOX (self->list), box);
    }
}

/* A second place on the same side takes the first one's stead. */
static void
set_place (EfPhotoLay *self,
           guint side)
{
  self->has_place[side] = TRUE;
  if (self->has_place[0] && self->has_place[1])
    {
      if (self->photo->pairs->len < EF_REGISTRATION_MOST_PAIRS)
        ef_photo_add_pair (self->photo, self->place.x, self->place.y, self->place.u, self->place.v);
      ef_photo_on_grid (self->photo);
      self->has_place[0] = self->has_place[1] = FALSE;
    }
  refresh (self);
}

static void
photo_picked_cb (EfPhotoLay *self,
                 double x,
                 double y)
{
  if (self->pixbuf == NULL)
    return;
  ef_photo_upright_point (self->photo, x, y, &self->place.x, &self->place.y);
  set_place (self, 0);
}

static void
face_picked_cb (EfPhotoLay *self,
                double x,
                double y)
{
  self->place.u = x;
  self->place.v = -y;
  set_place (self, 1);
}

static void
drop_cb (EfPhotoLay *self)
{
  if (self->has_place[0] || self->has_place[1])
    self->has_place[0] = self->has_place[1] = FALSE;
  else if (self->photo->pairs->len > 0)
    g_array_set_size (self->photo->pairs, self->photo->pairs->len - 1);
  refresh (self);
}

static void
model_cb (EfPhotoLay *self)
{
  self->photo->model = (EfRegistrationModel) gtk_drop_down_get_selected (GTK_DROP_DOWN (self->model));
  refresh (self);
}

static void
keep_cb (EfPhotoLay *self)
{
  EfChange *change = ef_change_new (_ ("Lay photo on face"));

  ef_change_add (change, self->kept, self->photo);
  if (ef_session_apply (self->session, change))
    gtk_window_close (GTK_WINDOW (self));
}

/* --- Window --------------------------------------------------------------------------------------------------------------------- */

static void
pixels_cb (GObject *source,
           GAsyncResult *result,
           gpointer user_data)
{
  g_autoptr (EfPhotoLay) self = user_data;
  g_autoptr (GError) error = NULL;
  GdkPixbuf *pixbuf = ef_photo_pixels_finish (result, &error);
  int width, height;

  if (self->photo == NULL)
    {
      g_clear_object (&pixbuf);
      return; /* closed meanwhile */
    }
  if (pixbuf == NULL)
    {
      gtk_label_set_label (GTK_LABEL (self->hint), error->message);
      return;
    }
  g_set_object (&self->pixbuf, pixbuf);
  g_object_unref (pixbuf);
  ef_photo_turned_size (self->photo, &width, &height);
  ef_photo_pane_set_content (EF_PHOTO_PANE (self->photo_pane), 0, 0, width, height, draw_photo_cb, NULL, self);
  refresh (self);
}

static void
picture_cb (GObject *source,
            GAsyncResult *result,
            gpointer user_data)
{
  g_autoptr (EfPhotoLay) self = user_data;
  EfPhotoPicture *picture = ef_photo_picture_finish (result, NULL);

  if (self->photo == NULL)
    {
      ef_photo_picture_unref (picture);
      return;
    }
  self->laid.picture = picture;
  gtk_widget_queue_draw (self->face_pane);
}

static GtkWidget *
make_header (EfPhotoLay *self)
{
  GtkWidget *header = g_object_new (ADW_TYPE_HEADER_BAR, "show-start-title-buttons", FALSE, "show-end-title-buttons", FALSE, NULL);
  GtkWidget *cancel = gtk_button_new_with_mnemonic (_ ("_Cancel"));

  self->keep = gtk_button_new_with_mnemonic (_ ("_Keep"));
  gtk_actionable_set_action_name (GTK_ACTIONABLE (cancel), "window.close");
  gtk_widget_add_css_class (cancel, "ef-touch");
  gtk_widget_add_css_class (self->keep, "ef-touch");
  gtk_widget_add_css_class (self->keep, "suggested-action");
  g_signal_connect_swapped (self->keep, "clicked", G_CALLBACK (keep_cb), self);
  adw_header_bar_pack_start (ADW_HEADER_BAR (header), cancel);
  adw_header_bar_pack_end (ADW_HEADER_BAR (header), self->keep);

  return header;
}

static GtkWidget *
make_controls (EfPhotoLay *self)
{
  const char *const models[] = { _ ("Square view: turned and scaled (2 places)"), _ ("Far and askew: sheared too (3 places)"), _ ("Any view of a flat face (4 places)"), NULL };
  GtkWidget *row = g_object_new (GTK_TYPE_BOX, "spacing", 12, NULL);

  self->model = gtk_drop_down_new_from_strings (models);
  gtk_widget_add_css_class (self->model, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->model), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("How the photo was taken"), -1);
  self->drop = gtk_button_new_with_mnemonic (_ ("Take the _Last Away"));
  gtk_widget_add_css_class (self->drop, "ef-touch");
  g_signal_connect_swapped (self->drop, "clicked", G_CALLBACK (drop_cb), self);
  self->list = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  gtk_box_append (GTK_BOX (row), self->model);
  gtk_box_append (GTK_BOX (row), self->drop);
  gtk_box_append (GTK_BOX (row), g_object_new (GTK_TYPE_SCROLLED_WINDOW, "vscrollbar-policy", GTK_POLICY_NEVER, "hexpand", TRUE, "child", self->list, NULL));

  return row;
}

static void
ef_photo_lay_dispose (GObject *object)
{
  EfPhotoLay *self = EF_PHOTO_LAY (object);

  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_object (&self->cancellable);
  if (self->photo != NULL)
    {
      ef_photo_pane_set_content (EF_PHOTO_PANE (self->photo_pane), 0, 0, 1, 1, NULL, NULL, NULL);
      ef_photo_pane_set_content (EF_PHOTO_PANE (self->face_pane), 0, 0, 1, 1, NULL, NULL, NULL);
    }
  g_clear_pointer (&self->photo, ef_item_unref);
  g_clear_pointer (&self->kept, ef_item_unref);
  g_clear_pointer (&self->chart, ef_face_chart_unref);
  g_clear_object (&self->pixbuf);
  g_clear_pointer (&self->laid.picture, ef_photo_picture_unref);
  ef_registration_clear (&self->fit);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_photo_lay_parent_class)->dispose (object);
}

static void
ef_photo_lay_class_init (EfPhotoLayClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_photo_lay_dispose;
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
ef_photo_lay_init (EfPhotoLay *self)
{
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *column = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 10, "margin-start", 14, "margin-end", 14, "margin-top", 10,
                                    "margin-bottom", 14, NULL);
  GtkWidget *panes = g_object_new (GTK_TYPE_BOX, "spacing", 10, "homogeneous", TRUE, "vexpand", TRUE, NULL);

  self->hint = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  self->result = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (self->result, "heading");
  self->photo_pane = ef_photo_pane_new (_ ("The photo; Enter sets a place at the cross"));
  self->face_pane = ef_photo_pane_new (_ ("The face; Enter sets a place at the cross"));
  gtk_widget_add_css_class (self->photo_pane, "view");
  gtk_widget_add_css_class (self->face_pane, "view");
  gtk_box_append (GTK_BOX (panes), self->photo_pane);
  gtk_box_append (GTK_BOX (panes), self->face_pane);
  gtk_box_append (GTK_BOX (column), self->hint);
  gtk_box_append (GTK_BOX (column), panes);
  gtk_box_append (GTK_BOX (content), make_header (self));
  gtk_box_append (GTK_BOX (column), self->result);
  gtk_box_append (GTK_BOX (column), make_controls (self));
  gtk_box_append (GTK_BOX (content), column);
  adw_window_set_content (ADW_WINDOW (self), content);
  gtk_window_set_modal (GTK_WINDOW (self), TRUE);
  gtk_window_set_default_size (GTK_WINDOW (self), LEAST_WIDTH, LEAST_HEIGHT);
  self->cancellable = g_cancellable_new ();
  self->laid.opacity = PREVIEW_OPACITY;
}

static void
take_photo (EfPhotoLay *self,
            EfPhoto *photo)
{
  self->kept = ef_item_ref (photo);
  self->photo = ef_item_copy (photo);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->model), photo->model);
  g_signal_connect_object (self->model, "notify::selected", G_CALLBACK (model_cb), self, G_CONNECT_SWAPPED);
  ef_photo_pane_set_content (EF_PHOTO_PANE (self->face_pane), self->chart->u0, -self->chart->v1, self->chart->u1, -self->chart->v0, draw_face_cb, snap_cb, self);
  g_signal_connect_object (self->photo_pane, "picked", G_CALLBACK (photo_picked_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->face_pane, "picked", G_CALLBACK (face_picked_cb), self, G_CONNECT_SWAPPED);
  ef_photo_pixels_async (self->session, photo, SHOWN_SIDE, TRUE, self->cancellable, pixels_cb, g_object_ref (self));
  ef_photo_picture_async (self->session, photo, self->cancellable, picture_cb, g_object_ref (self));
  refresh (self);
}

void
ef_photo_lay_show (GtkWidget *parent,
                   EfSession *session,
                   const char *photo_id)
{
  EfPhoto *photo = ef_inspection_find (ef_document_inspection (ef_session_document (session)), EF_ITEM_PHOTO, photo_id);
  EfFaceChart *chart = photo != NULL && photo->shows != NULL ? ef_session_chart (session, photo->shows) : NULL;
  GtkRoot *root = gtk_widget_get_root (parent);
  g_autofree char *title = NULL;
  EfPhotoLay *self;

  if (chart == NULL)
    {
      ef_session_message (session, _ ("Say first which face the photo shows"));
      return;
    }
  self = g_object_new (EF_TYPE_PHOTO_LAY, NULL);
  self->session = g_object_ref (session);
  self->chart = ef_face_chart_ref (chart);
  title = g_strdup_printf (_ ("Lay %s on %s"), photo->name, chart->name);
  gtk_window_set_title (GTK_WINDOW (self), title);
  take_photo (self, photo);
  if (GTK_IS_WINDOW (root))
    {
      gtk_window_set_transient_for (GTK_WINDOW (self), GTK_WINDOW (root));
      gtk_window_set_default_size (GTK_WINDOW (self), MAX (LEAST_WIDTH, 0.85 * gtk_widget_get_width (GTK_WIDGET (root))),
                                   MAX (LEAST_HEIGHT, 0.85 * gtk_widget_get_height (GTK_WIDGET (root))));
    }
  gtk_window_present (GTK_WINDOW (self));
  gtk_widget_grab_focus (self->photo_pane);
}

EfPhotoPane *
ef_photo_lay_photo_pane (EfPhotoLay *self)
{
  return EF_PHOTO_PANE (self->photo_pane);
}

EfPhotoPane *
ef_photo_lay_face_pane (EfPhotoLay *self)
{
  return EF_PHOTO_PANE (self->face_pane);
}

gboolean
ef_photo_lay_loaded (EfPhotoLay *self)
{
  return self->pixbuf != NULL && self->laid.picture != NULL;
}
