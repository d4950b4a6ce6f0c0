/* Which of the face's photos lies under it, and how strongly it shows.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-photo-bar.h"
#include "ef-photo-lay.h"
#include "ef-photo-work.h"

#include <glib/gi18n.h>
#include <string.h>

struct _EfPhotoBar
{
  GtkBox parent_instance;

  EfSession *session;
  EfFaceCanvas *canvas; /* borrowed */
  GtkWidget *choice, *opacity, *state, *lay, *attach;
  gboolean active, filling;
  GPtrArray *photos;    /* EfPhoto *: of the face, as the choice lists them */
  EfPhoto *shown;       /* whose picture is on the canvas or being read; NULL */
  EfPhotoPicture *picture;
  GCancellable *reading;
};

enum { PROP_0, PROP_ACTIVE, N_PROPS };
static GParamSpec *properties[N_PROPS];

G_DEFINE_FINAL_TYPE (EfPhotoBar, ef_photo_bar, GTK_TYPE_BOX)

static EfPhoto *
chosen (EfPhotoBar *self)
{
  guint i = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->choice));

  return i < self->photos->len ? self->photos->pdata[i] : NULL;
}

static void
stop_reading (EfPhotoBar *self)
{
  if (self->reading != NULL)
    g_cancellable_cancel (self->reading);
  g_clear_object (&self->reading);
}

static void
drop_picture (EfPhotoBar *self)
{
  stop_reading (self);
  g_clear_pointer (&self->picture, ef_photo_picture_unref);
  g_clear_pointer (&self->shown, ef_item_unref);
}

/* On the canvas where it's read and laid; the words say what is missing otherwise. */
static void
show (EfPhotoBar *self)
{
  EfPhoto *photo = self->active ? chosen (self) : NULL;
  g_auto (EfRegistration) fit = { 0 };
  g_autoptr (GError) error = NULL;
  g_autofree char *words = NULL;
  EfLaidPhoto laid = { .opacity = gtk_range_get_value (GTK_RANGE (self->opacity)) / 100 };

  if (photo == NULL)
    words = g_strdup (self->active ? _ ("No photo of this face yet") : "");
  else if (photo->pairs->len == 0)
    words = g_strdup (_ ("Not laid on the face yet"));
  else if (!ef_photo_fit (photo, &fit, &error))
    words = g_strdup (error->message);
  else
    {
      words = fit.freedom > 0 ? g_strdup_printf (_ ("off by %.2f mm"), 1e3 * fit.rms) : g_strdup_printf (_ ("by %u places"), fit.n);
      laid.picture = self->picture;
      memcpy (laid.to_photo, fit.to_photo, sizeof laid.to_photo);
    }
  gtk_label_set_label (GTK_LABEL (self->state), words);
  gtk_widget_set_tooltip_text (self->state, laid.picture != NULL ? _ ("Root mean square of the distances on the face between the places pressed and the photo as it lies") : words);
  gtk_widget_set_sensitive (self->lay, photo != NULL && !ef_session_read_only (self->session));
  gtk_widget_set_sensitive (self->opacity, laid.picture != NULL);
  ef_face_canvas_set_photo (self->canvas, &laid);
}

typedef struct
{
  EfPhotoBar *bar;
  GCancellable *cancellable;
} Reading;

static void
picture_cb (GObject *source,
            GAsyncResult *result,
            gpointer user_data)
{
  Reading *reading = user_data;
  EfPhotoBar *self = reading->bar;
  g_autoptr (GError) error = NULL;
  EfPhotoPicture *picture = ef_photo_picture_finish (result, &error);

  if (self->reading == reading->cancellable)
    {
      g_clear_object (&self->reading);
      if (picture != NULL)
        self->picture = g_steal_pointer (&picture);
      if (self->session != NULL)
        show (self);
      if (self->picture == NULL && error != NULL)
        gtk_label_set_label (GTK_LABEL (self->state), error->message);
    }
  g_clear_pointer (&picture, ef_photo_picture_unref);
  g_object_unref (reading->cancellable);
  g_object_unref (reading->bar);
  g_free (reading);
}

static void
start_reading (EfPhotoBar *self,
               EfPhoto *photo)
{
  Reading *reading = g_new0 (Reading, 1);

  self->shown = ef_item_ref (photo);
  self->reading = g_cancellable_new ();
  reading->bar = g_object_ref (self);
  reading->cancellable = g_object_ref (self->reading);
  ef_photo_picture_async (self->session, photo, self->reading, picture_cb, reading);
}

/* Reads anew only where it's another file: laying and notes leave the picture. */
static void
follow_choice (EfPhotoBar *self)
{
  EfPhoto *photo = self->active ? chosen (self) : NULL;

  if (self->filling)
    return;
  if (photo == NULL || self->shown == NULL || g_strcmp0 (photo->file, self->shown->file) != 0)
    drop_picture (self);
  if (photo != NULL && self->shown == NULL)
    start_reading (self, photo);
  show (self);
}

/* The face's photos, those that are laid first. */
static void
collect (EfPhotoBar *self)
{
  GPtrArray *all = ef_document_inspection (ef_session_document (self->session))->items[EF_ITEM_PHOTO];

  g_ptr_array_set_size (self->photos, 0);
  for (int laid = 1; laid >= 0; laid--)
    for (guint i = 0; i < all->len; i++)
      {
        EfPhoto *photo = all->pdata[i];

        if (ef_photo_of_face (photo, ef_session_face (self->session)) && (photo->pairs->len > 0) == laid)
          g_ptr_array_add (self->photos, ef_item_ref (photo));
      }
}

static void
refresh (EfPhotoBar *self)
{
  EfPhoto *before = chosen (self);
  g_autofree char *id = before != NULL ? g_strdup (before->item.id) : NULL;
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  guint selected = 0;

  if (!self->active)
    {
      follow_choice (self);
      return;
    }
  self->filling = TRUE;
  collect (self);
  for (guint i = 0; i < self->photos->len; i++)
    {
      const EfPhoto *photo = self->photos->pdata[i];

      gtk_string_list_append (names, photo->name);
      if (g_strcmp0 (photo->item.id, id) == 0)
        selected = i;
    }
  gtk_drop_down_set_model (GTK_DROP_DOWN (self->choice), G_LIST_MODEL (names));
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->choice), self->photos->len > 0 ? selected : GTK_INVALID_LIST_POSITION);
  gtk_widget_set_visible (self->choice, self->photos->len > 0);
  gtk_widget_set_visible (self->lay, self->photos->len > 0);
  gtk_widget_set_visible (self->opacity, self->photos->len > 0);
  gtk_widget_set_sensitive (self->attach, ef_session_face (self->session) != NULL && ef_session_store (self->session) != NULL && !ef_session_read_only (self->session));
  self->filling = FALSE;
  follow_choice (self);
}

static void
lay_cb (EfPhotoBar *self)
{
  EfPhoto *photo = chosen (self);

  if (photo != NULL)
    ef_photo_lay_show (GTK_WIDGET (self), self->session, photo->item.id);
}

static void
attach_cb (EfPhotoBar *self)
{
  ef_photo_attach_dialog (GTK_WIDGET (self), self->session, ef_session_face (self->session), NULL);
}

gboolean
ef_photo_bar_settled (EfPhotoBar *self)
{
  return self->reading == NULL;
}

static void
ef_photo_bar_get_property (GObject *object,
                           guint prop_id,
                           GValue *value,
                           GParamSpec *pspec)
{
  g_value_set_boolean (value, EF_PHOTO_BAR (object)->active);
}

static void
ef_photo_bar_set_property (GObject *object,
                           guint prop_id,
                           const GValue *value,
                           GParamSpec *pspec)
{
  EfPhotoBar *self = EF_PHOTO_BAR (object);

  if (self->active == g_value_get_boolean (value))
    return;
  self->active = g_value_get_boolean (value);
  gtk_widget_set_visible (GTK_WIDGET (self), self->active);
  refresh (self);
  g_object_notify_by_pspec (object, pspec);
}

static void
ef_photo_bar_dispose (GObject *object)
{
  EfPhotoBar *self = EF_PHOTO_BAR (object);

  drop_picture (self);
  self->canvas = NULL;
  g_clear_pointer (&self->photos, g_ptr_array_unref);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_photo_bar_parent_class)->dispose (object);
}

static void
ef_photo_bar_class_init (EfPhotoBarClass *klass)
{
  GObjectClass *object_class = G_OBJECT_CLASS (klass);

  object_class->get_property = ef_photo_bar_get_property;
  object_class->set_property = ef_photo_bar_set_property;
  object_class->dispose = ef_photo_bar_dispose;
  properties[PROP_ACTIVE] = g_param_spec_boolean ("active", NULL, NULL, FALSE, G_PARAM_READWRITE | G_PARAM_EXPLICIT_NOTIFY | G_PARAM_STATIC_STRINGS);
  g_object_class_install_properties (object_class, N_PROPS, properties);
}

static GtkWidget *
touch_button (const char *label)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");

  return button;
}

static void
ef_photo_bar_init (EfPhotoBar *self)
{
  self->photos = g_ptr_array_new_with_free_func (ef_item_unref);
  gtk_box_set_spacing (GTK_BOX (self), 8);
  gtk_widget_add_css_class (GTK_WIDGET (self), "ef-tools");
  gtk_widget_set_visible (GTK_WIDGET (self), FALSE);
  self->choice = gtk_drop_down_new (NULL, NULL);
  gtk_widget_add_css_class (self->choice, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->choice), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Photo under the face"), -1);
  self->opacity = gtk_scale_new_with_range (GTK_ORIENTATION_HORIZONTAL, 0, 100, 5);
  gtk_range_set_value (GTK_RANGE (self->opacity), 80);
  gtk_scale_set_draw_value (GTK_SCALE (self->opacity), FALSE);
  gtk_widget_set_size_request (self->opacity, 110, 44);
  gtk_widget_set_tooltip_text (self->opacity, _ ("How strongly the photo shows"));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->opacity), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("How strongly the photo shows"), -1);
  self->state = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "hexpand", TRUE, "ellipsize", PANGO_ELLIPSIZE_END, NULL);
  gtk_widget_add_css_class (self->state, "caption");
  self->lay = touch_button (_ ("Lay…"));
  gtk_widget_set_tooltip_text (self->lay, _ ("Say which places of the photo are which of the face"));
  self->attach = touch_button (_ ("Attach…"));
  gtk_widget_set_tooltip_text (self->attach, _ ("Attach photos of this face"));
  gtk_box_append (GTK_BOX (self), self->choice);
  gtk_box_append (GTK_BOX (self), self->opacity);
  gtk_box_append (GTK_BOX (self), self->state);
  gtk_box_append (GTK_BOX (self), self->lay);
  gtk_box_append (GTK_BOX (self), self->attach);
  g_signal_connect_swapped (self->choice, "notify::selected", G_CALLBACK (follow_choice), self);
  g_signal_connect_swapped (self->opacity, "value-changed", G_CALLBACK (show), self);
  g_signal_connect_swapped (self->lay, "clicked", G_CALLBACK (lay_cb), self);
  g_signal_connect_swapped (self->attach, "clicked", G_CALLBACK (attach_cb), self);
}

GtkWidget *
ef_photo_bar_new (EfSession *session,
                  EfFaceCanvas *canvas)
{
  EfPhotoBar *self = g_object_new (EF_TYPE_PHOTO_BAR, NULL);

  self->session = g_object_ref (session);
  self->canvas = canvas;
  g_signal_connect_object (session, "changed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "notify::face", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  refresh (self);

  return GTK_WIDGET (self);
}
