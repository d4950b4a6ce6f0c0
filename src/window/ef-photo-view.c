/* The job's photos.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-photo-view.h"
#include "ef-field.h"
#include "ef-photo-lay.h"
#include "ef-photo-work.h"

#include <adwaita.h>

#include <glib/gi18n.h>
#include <string.h>

#define THUMB 112       /* px shown */
#define THUMB_READ 900  /* px read: the report shows them too */
#define LARGE_READ 2400 /* px */

struct _EfPhotoView
{
  GtkBox parent_instance;

  EfSession *session;
  GtkWidget *note, *list;
  GHashTable *thumbs; /* digest and turns -> GdkTexture *, or a string's sentence why there's none */
  GHashTable *asked;  /* the same keys, under way */
  GCancellable *cancellable;
  GPtrArray *shown;   /* EfPhoto *: the rows are of these */
  gboolean filled;
  GPtrArray *targets; /* char *: what the drop-downs choose from; the first is NULL */
  GtkStringList *target_words;
};

G_DEFINE_FINAL_TYPE (EfPhotoView, ef_photo_view, GTK_TYPE_BOX)

static const EfInspection *
inspection_of (EfPhotoView *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

static char *
key_of (const EfPhoto *photo)
{
  return g_strdup_printf ("%s/%d", photo->file, photo->turns);
}

/* --- Changing ------------------------------------------------------------------------------------------------------------------- */

/* The row's photo as it is now; NULL: it's gone. */
static EfPhoto *
photo_of (EfPhotoView *self,
          gpointer widget)
{
  const char *id = g_object_get_data (G_OBJECT (widget), "ef-photo");

  return id != NULL ? ef_inspection_find (inspection_of (self), EF_ITEM_PHOTO, id) : NULL;
}

/* Takes @changed. */
static void
change_photo (EfPhotoView *self,
              const char *label,
              EfPhoto *photo,
              EfPhoto *changed)
{
  g_autoptr (EfItem) item = &changed->item;
  EfChange *change;

  if (ef_item_equal (photo, changed))
    return;
  change = ef_change_new (label);
  ef_change_add (change, photo, changed);
  ef_session_apply (self->session, change);
}

static void
rotate_cb (EfPhotoView *self,
           GtkButton *button)
{
  EfPhoto *photo = photo_of (self, button);
  EfPhoto *changed = photo != NULL ? ef_item_copy (photo) : NULL;

  if (changed == NULL)
    return;
  changed->turns = (changed->turns + 1) % 4;
  change_photo (self, _ ("Turn photo"), photo, changed);
}

static void
remove_cb (EfPhotoView *self,
           GtkButton *button)
{
  EfPhoto *photo = photo_of (self, button);

  if (photo != NULL)
    ef_photo_remove (self->session, photo);
}

static void
lay_cb (EfPhotoView *self,
        GtkButton *button)
{
  EfPhoto *photo = photo_of (self, button);

  if (photo != NULL)
    ef_photo_lay_show (GTK_WIDGET (self), self->session, photo->item.id);
}

/* Laid on one face, it isn't on another. */
static void
shows_cb (EfPhotoView *self,
          GParamSpec *pspec,
          GtkDropDown *drop)
{
  EfPhoto *photo = photo_of (self, drop);
  guint i = gtk_drop_down_get_selected (drop);
  EfPhoto *changed;

  if (photo == NULL || i >= self->targets->len || g_strcmp0 (photo->shows, self->targets->pdata[i]) == 0)
    return;
  changed = ef_item_copy (photo);
  g_free (changed->shows);
  changed->shows = g_strdup (self->targets->pdata[i]);
  g_array_set_size (changed->pairs, 0);
  change_photo (self, _ ("Say what a photo shows"), photo, changed);
}

static void
note_cb (EfPhotoView *self,
         EfField *field)
{
  EfPhoto *photo = photo_of (self, field);
  EfPhoto *changed;

  if (photo == NULL)
    return;
  changed = ef_item_copy (photo);
  g_free (changed->note);
  changed->note = *ef_field_text (field) != '\0' ? g_strdup (ef_field_text (field)) : NULL;
  change_photo (self, _ ("Note on photo"), photo, changed);
}

/* --- Large ---------------------------------------------------------------------------------------------------------------------- */

static void
large_cb (GObject *source,
          GAsyncResult *result,
          gpointer user_data)
{
  g_autoptr (GtkWidget) picture = user_data;
  g_autoptr (GError) error = NULL;
  g_autoptr (GdkPixbuf) pixbuf = ef_photo_pixels_finish (result, &error);
  g_autoptr (GdkTexture) texture = NULL;

  if (pixbuf == NULL)
    {
      if (error->code != EF_ERROR_CANCELLED)
        ef_session_message (EF_SESSION (source), error->message);
      return;
    }
  texture = gdk_texture_new_for_pixbuf (pixbuf);
  gtk_picture_set_paintable (GTK_PICTURE (picture), GDK_PAINTABLE (texture));
}

static void
open_cb (EfPhotoView *self,
         GtkButton *button)
{
  EfPhoto *photo = photo_of (self, button);
  GtkRoot *root = gtk_widget_get_root (GTK_WIDGET (self));
  GtkWidget *window, *box, *picture;
  GtkEventController *keys;
  GtkShortcut *shortcut;

  if (photo == NULL)
    return;
  window = g_object_new (ADW_TYPE_WINDOW, "title", photo->name, "modal", TRUE, "default-width", 960, "default-height", 700, NULL);
  box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  picture = gtk_picture_new ();
  gtk_widget_set_vexpand (picture, TRUE);
  gtk_picture_set_alternative_text (GTK_PICTURE (picture), photo->note != NULL ? photo->note : photo->name);
  gtk_box_append (GTK_BOX (box), adw_header_bar_new ());
  gtk_box_append (GTK_BOX (box), picture);
  adw_window_set_content (ADW_WINDOW (window), box);
  keys = gtk_shortcut_controller_new ();
  shortcut = gtk_shortcut_new (gtk_keyval_trigger_new (GDK_KEY_Escape, 0), gtk_named_action_new ("window.close"));
  gtk_shortcut_controller_add_shortcut (GTK_SHORTCUT_CONTROLLER (keys), shortcut);
  gtk_widget_add_controller (window, keys);
  if (GTK_IS_WINDOW (root))
    gtk_window_set_transient_for (GTK_WINDOW (window), GTK_WINDOW (root));
  ef_photo_pixels_async (self->session, photo, LARGE_READ, TRUE, NULL, large_cb, g_object_ref (picture));
  gtk_window_present (GTK_WINDOW (window));
}

/* --- Small pictures ------------------------------------------------------------------------------------------------------------- */

typedef struct
{
  EfPhotoView *view;
  char *key;
} Thumb;

static void refresh (EfPhotoView *self);

static gboolean
is_picture_of (GtkWidget *widget,
               const char *key)
{
  return g_strcmp0 (g_object_get_data (G_OBJECT (widget), "ef-key"), key) == 0;
}

/* The small picture in a row, or why there's none. */
static void
show_thumb (EfPhotoView *self,
            GtkWidget *button,
            const char *key)
{
  GObject *thumb = g_hash_table_lookup (self->thumbs, key);

  if (thumb == NULL)
    return;
  if (GDK_IS_PAINTABLE (thumb))
    {
      GtkWidget *image = gtk_image_new_from_paintable (GDK_PAINTABLE (thumb));

      gtk_image_set_pixel_size (GTK_IMAGE (image), THUMB);
      gtk_button_set_child (GTK_BUTTON (button), image);
    }
  else
    {
      const char *why = gtk_string_object_get_string (GTK_STRING_OBJECT (thumb));

      gtk_button_set_icon_name (GTK_BUTTON (button), "dialog-warning-symbolic");
      gtk_widget_set_tooltip_text (button, why);
      gtk_widget_set_sensitive (button, FALSE);
      if (gtk_widget_get_next_sibling (button) != NULL)
        {
          GtkWidget *state = g_object_get_data (G_OBJECT (button), "ef-state");

          gtk_label_set_label (GTK_LABEL (state), why);
          gtk_widget_add_css_class (state, "error");
        }
    }
}

static void
show_thumbs (EfPhotoView *self,
             const char *key)
{
  for (GtkWidget *row = gtk_widget_get_first_child (self->list); row != NULL; row = gtk_widget_get_next_sibling (row))
    {
      GtkWidget *button = g_object_get_data (G_OBJECT (row), "ef-thumb");

      if (button != NULL && is_picture_of (button, key))
        show_thumb (self, button, key);
    }
}

/* Small, so that many are no burden. */
static GdkTexture *
thumb_of (GdkPixbuf *pixbuf)
{
  int width = gdk_pixbuf_get_width (pixbuf), height = gdk_pixbuf_get_height (pixbuf), longer = MAX (width, height);
  g_autoptr (GdkPixbuf) small = longer > 2 * THUMB ? gdk_pixbuf_scale_simple (pixbuf, MAX (1, width * 2 * THUMB / longer), MAX (1, height * 2 * THUMB / longer),
                                                                              GDK_INTERP_BILINEAR)
                                                   : g_object_ref (pixbuf);

  return gdk_texture_new_for_pixbuf (small);
}

static void
thumb_cb (GObject *source,
          GAsyncResult *result,
          gpointer user_data)
{
  Thumb *thumb = user_data;
  EfPhotoView *self = thumb->view;
  g_autoptr (GError) error = NULL;
  g_autoptr (GdkPixbuf) pixbuf = ef_photo_pixels_finish (result, &error);

  g_hash_table_remove (self->asked, thumb->key);
  if (pixbuf != NULL)
    g_hash_table_insert (self->thumbs, g_strdup (thumb->key), thumb_of (pixbuf));
  else if (error->code != EF_ERROR_CANCELLED)
    g_hash_table_insert (self->thumbs, g_strdup (thumb->key),
                         gtk_string_object_new (error->code == EF_ERROR_NOT_FOUND ? _ ("Its file isn't in this store: the job came from elsewhere, or without its photos.")
                                                                                  : error->message));
  show_thumbs (self, thumb->key);
  g_object_unref (thumb->view);
  g_free (thumb->key);
  g_free (thumb);
}

static void
ask_thumb (EfPhotoView *self,
           const EfPhoto *photo,
           const char *key)
{
  Thumb *thumb;

  if (g_hash_table_contains (self->thumbs, key) || g_hash_table_contains (self->asked, key))
    return;
  g_hash_table_add (self->asked, g_strdup (key));
  thumb = g_new0 (Thumb, 1);
  thumb->view = g_object_ref (self);
  thumb->key = g_strdup (key);
  ef_photo_pixels_async (self->session, photo, THUMB_READ, TRUE, self->cancellable, thumb_cb, thumb);
}

gboolean
ef_photo_view_settled (EfPhotoView *self)
{
  return g_hash_table_size (self->asked) == 0 && !ef_photo_attaching (self->session);
}

/* --- Rows ----------------------------------------------------------------------------------------------------------------------- */

/* "4000 × 3000 px, taken 2026-03-09 10:15:00 by the camera's clock" */
static char *
about_words (const EfPhoto *photo)
{
  g_autofree char *taken = photo->taken != NULL ? g_strdelimit (g_strdup (photo->taken), "T", ' ') : NULL;

  if (taken == NULL)
    return g_strdup_printf (_ ("%d × %d px; the file doesn't say when it was taken"), photo->width, photo->height);

  return g_strdup_printf (_ ("%d × %d px, taken %s by the camera's clock"), photo->width, photo->height, taken);
}

static char *
state_words (const EfPhoto *photo)
{
  g_auto (EfRegistration) fit = { 0 };
  g_autoptr (GError) error = NULL;

  if (photo->pairs->len == 0)
    return g_strdup ("");
  if (!ef_photo_fit (photo, &fit, &error))
    return g_strdup (error->message);
  if (fit.freedom == 0)
    return g_strdup_printf (_ ("Laid on the face by %u places; one more would tell how well they fit"), fit.n);

  return g_strdup_printf (_ ("Laid on the face by %u places, off by %.2f mm (root mean square)"), fit.n, 1e3 * fit.rms);
}

static GtkWidget *
add_button (EfPhotoView *self,
            GtkWidget *box,
            const EfPhoto *photo,
            const char *icon,
            const char *label,
            const char *name,
            GCallback callback)
{
  GtkWidget *button = icon != NULL ? gtk_button_new_from_icon_name (icon) : gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_tooltip_text (button, name);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  g_object_set_data_full (G_OBJECT (button), "ef-photo", g_strdup (photo->item.id), g_free);
  g_signal_connect_object (button, "clicked", callback, self, G_CONNECT_SWAPPED);
  gtk_box_append (GTK_BOX (box), button);

  return button;
}

static GtkWidget *
make_target (EfPhotoView *self,
             const EfPhoto *photo)
{
  GtkWidget *drop = gtk_drop_down_new (G_LIST_MODEL (g_object_ref (self->target_words)), gtk_property_expression_new (GTK_TYPE_STRING_OBJECT, NULL, "string"));

  gtk_drop_down_set_enable_search (GTK_DROP_DOWN (drop), TRUE);
  gtk_widget_add_css_class (drop, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (drop), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("What the photo shows"), -1);
  for (guint i = 0; i < self->targets->len; i++)
    if (g_strcmp0 (self->targets->pdata[i], photo->shows) == 0)
      gtk_drop_down_set_selected (GTK_DROP_DOWN (drop), i);
  g_object_set_data_full (G_OBJECT (drop), "ef-photo", g_strdup (photo->item.id), g_free);
  g_signal_connect_object (drop, "notify::selected", G_CALLBACK (shows_cb), self, G_CONNECT_SWAPPED);

  return drop;
}

static GtkWidget *
make_note (EfPhotoView *self,
           const EfPhoto *photo)
{
  GtkWidget *field = ef_field_new (_ ("Note"));

  ef_field_set_text (EF_FIELD (field), photo->note);
  g_object_set_data_full (G_OBJECT (field), "ef-photo", g_strdup (photo->item.id), g_free);
  g_signal_connect_object (field, "committed", G_CALLBACK (note_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (field, "left", G_CALLBACK (note_cb), self, G_CONNECT_SWAPPED);

  return field;
}

static GtkWidget *
make_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  gtk_widget_add_css_class (label, css_class);

  return label;
}

static GtkWidget *
make_words (const EfPhoto *photo,
            GtkWidget **state_out)
{
  GtkWidget *words = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 4, "hexpand", TRUE, NULL);
  g_autofree char *about = about_words (photo);
  g_autofree char *state = state_words (photo);

  *state_out = make_label (state, "caption");
  gtk_box_append (GTK_BOX (words), make_label (photo->name, "heading"));
  gtk_box_append (GTK_BOX (words), make_label (about, "caption"));
  gtk_box_append (GTK_BOX (words), *state_out);

  return words;
}

static GtkWidget *
make_row (EfPhotoView *self,
          EfPhoto *photo)
{
  GtkWidget *card = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 10, NULL);
  GtkWidget *top = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *buttons = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  g_autofree char *open = g_strdup_printf (_ ("Show %s large"), photo->name);
  g_autofree char *key = key_of (photo);
  gboolean face = photo->shows != NULL && strchr (photo->shows, '/') != NULL;
  GtkWidget *thumb, *state, *lay;

  gtk_widget_add_css_class (card, "card");
  gtk_widget_add_css_class (card, "ef-photo");
  thumb = add_button (self, top, photo, "image-x-generic-symbolic", NULL, open, G_CALLBACK (open_cb));
  gtk_widget_set_size_request (thumb, THUMB + 16, THUMB + 16);
  gtk_widget_set_valign (thumb, GTK_ALIGN_START);
  gtk_box_append (GTK_BOX (top), make_words (photo, &state));
  gtk_box_append (GTK_BOX (card), top);
  gtk_box_append (GTK_BOX (card), make_target (self, photo));
  gtk_box_append (GTK_BOX (card), make_note (self, photo));
  add_button (self, buttons, photo, "object-rotate-right-symbolic", NULL, _ ("Turn it by a quarter, clockwise"), G_CALLBACK (rotate_cb));
  lay = add_button (self, buttons, photo, NULL, _ ("Lay on Face…"), _ ("Lay it under the face that it shows, so that wear can be traced"), G_CALLBACK (lay_cb));
  gtk_widget_set_sensitive (lay, face && !ef_session_read_only (self->session));
  gtk_widget_set_hexpand (lay, TRUE);
  gtk_widget_set_halign (lay, GTK_ALIGN_START);
  add_button (self, buttons, photo, "user-trash-symbolic", NULL, _ ("Take the photo out of the job; undo brings it back"), G_CALLBACK (remove_cb));
  gtk_box_append (GTK_BOX (card), buttons);
  g_object_set_data (G_OBJECT (card), "ef-thumb", thumb);
  g_object_set_data (G_OBJECT (thumb), "ef-state", state);
  g_object_set_data_full (G_OBJECT (thumb), "ef-key", g_strdup (key), g_free);
  ask_thumb (self, photo, key);
  show_thumb (self, thumb, key);

  return card;
}

/* Only where photos have changed: an open drop-down or a note being written stays. */
static gboolean
is_current (EfPhotoView *self)
{
  GPtrArray *photos = inspection_of (self)->items[EF_ITEM_PHOTO];

  if (!self->filled || self->shown->len != photos->len)
    return FALSE;
  for (guint i = 0; i < photos->len; i++)
    if (self->shown->pdata[i] != photos->pdata[i])
      return FALSE;

  return TRUE;
}

static void
refresh (EfPhotoView *self)
{
  GPtrArray *photos = inspection_of (self)->items[EF_ITEM_PHOTO];
  g_autofree char *note = NULL;
  GtkWidget *child;

  if (is_current (self))
    return;
  self->filled = TRUE;
  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_box_remove (GTK_BOX (self->list), child);
  g_ptr_array_set_size (self->shown, 0);
  for (guint i = 0; i < photos->len; i++)
    {
      g_ptr_array_add (self->shown, ef_item_ref (photos->pdata[i]));
      gtk_box_append (GTK_BOX (self->list), make_row (self, photos->pdata[i]));
    }
  note = photos->len == 0 ? g_strdup (_ ("No photos yet. Attach JPEG or PNG files, drop them here, or paste a picture. They are kept whole in the store, with what the camera wrote in them."))
                          : g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u photo", "%u photos", photos->len), photos->len);
  gtk_label_set_label (GTK_LABEL (self->note), note);
}

/* --- Attaching ------------------------------------------------------------------------------------------------------------------ */

static void
attach_cb (EfPhotoView *self)
{
  ef_photo_attach_dialog (GTK_WIDGET (self), self->session, NULL, NULL);
}

static void
attach_list (EfPhotoView *self,
             GSList *files)
{
  g_autoptr (GListStore) list = g_list_store_new (G_TYPE_FILE);

  for (GSList *one = files; one != NULL; one = one->next)
    g_list_store_append (list, one->data);
  if (files != NULL)
    ef_photo_attach (self->session, G_LIST_MODEL (list), NULL, NULL);
}

static gboolean
drop_cb (GtkDropTarget *target,
         const GValue *value,
         double x,
         double y,
         EfPhotoView *self)
{
  attach_list (self, g_value_get_boxed (value));

  return TRUE;
}

static void
pasted_texture_cb (GObject *source,
                   GAsyncResult *result,
                   gpointer user_data)
{
  g_autoptr (EfPhotoView) self = user_data;
  g_autoptr (GError) error = NULL;
  g_autoptr (GdkTexture) texture = gdk_clipboard_read_texture_finish (GDK_CLIPBOARD (source), result, &error);
  g_autoptr (GDateTime) now = g_date_time_new_now_local ();
  g_autofree char *name = g_date_time_format (now, _ ("Pasted %Y-%m-%d %H.%M.%S.png"));
  g_autoptr (GBytes) bytes = NULL;

  if (texture == NULL)
    {
      ef_session_message (self->session, _ ("There is no photo to paste: copy a picture or photo files first"));
      return;
    }
  bytes = gdk_texture_save_to_png_bytes (texture);
  ef_photo_attach_bytes (self->session, bytes, name, NULL, NULL);
}

static void
pasted_files_cb (GObject *source,
                 GAsyncResult *result,
                 gpointer user_data)
{
  g_autoptr (EfPhotoView) self = user_data;
  const GValue *value = gdk_clipboard_read_value_finish (GDK_CLIPBOARD (source), result, NULL);

  if (value != NULL)
    attach_list (self, g_value_get_boxed (value));
  else
    gdk_clipboard_read_texture_async (GDK_CLIPBOARD (source), self->cancellable, pasted_texture_cb, g_object_ref (self));
}

static gboolean
paste_cb (GtkWidget *widget,
          GVariant *args,
          gpointer user_data)
{
  EfPhotoView *self = EF_PHOTO_VIEW (widget);
  GdkClipboard *clipboard = gtk_widget_get_clipboard (widget);

  if (gdk_content_formats_contain_gtype (gdk_clipboard_get_formats (clipboard), GDK_TYPE_FILE_LIST))
    gdk_clipboard_read_value_async (clipboard, GDK_TYPE_FILE_LIST, G_PRIORITY_DEFAULT, self->cancellable, pasted_files_cb, g_object_ref (self));
  else
    gdk_clipboard_read_texture_async (clipboard, self->cancellable, pasted_texture_cb, g_object_ref (self));

  return TRUE;
}

/* --- Object --------------------------------------------------------------------------------------------------------------------- */

static void
fill_targets (EfPhotoView *self)
{
  EfPumpSheet *sheet = inspection_of (self)->sheet;

  g_ptr_array_add (self->targets, NULL);
  gtk_string_list_append (self->target_words, _ ("What it shows: not said"));
  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *part = sheet->parts->pdata[i];
      g_auto (GStrv) faces = ef_part_face_ids (sheet, part->id);

      g_ptr_array_add (self->targets, g_strdup (part->id));
      gtk_string_list_append (self->target_words, part->name);
      for (guint k = 0; faces != NULL && faces[k] != NULL; k++)
        {
          EfFaceChart *chart = ef_session_chart (self->session, faces[k]);
          g_autofree char *words = g_strdup_printf ("%s: %s", part->name, chart != NULL ? chart->name : faces[k]);

          g_ptr_array_add (self->targets, g_strdup (faces[k]));
          gtk_string_list_append (self->target_words, words);
        }
    }
}

static void
ef_photo_view_dispose (GObject *object)
{
  EfPhotoView *self = EF_PHOTO_VIEW (object);

  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_object (&self->cancellable);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_photo_view_parent_class)->dispose (object);
}

static void
ef_photo_view_finalize (GObject *object)
{
  EfPhotoView *self = EF_PHOTO_VIEW (object);

  g_hash_table_unref (self->thumbs);
  g_hash_table_unref (self->asked);
  g_ptr_array_unref (self->shown);
  g_ptr_array_unref (self->targets);
  g_object_unref (self->target_words);
  G_OBJECT_CLASS (ef_photo_view_parent_class)->finalize (object);
}

static void
ef_photo_view_class_init (EfPhotoViewClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_photo_view_dispose;
  G_OBJECT_CLASS (klass)->finalize = ef_photo_view_finalize;
  gtk_widget_class_add_binding (GTK_WIDGET_CLASS (klass), GDK_KEY_v, GDK_CONTROL_MASK, paste_cb, NULL);
}

static void
ef_photo_view_init (EfPhotoView *self)
{
  GtkWidget *attach = gtk_button_new_with_mnemonic (_ ("_Attach Photos…"));
  GtkDropTarget *target = gtk_drop_target_new (GDK_TYPE_FILE_LIST, GDK_ACTION_COPY);

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 12);
  self->thumbs = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_object_unref);
  self->asked = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  self->shown = g_ptr_array_new_with_free_func (ef_item_unref);
  self->targets = g_ptr_array_new_with_free_func (g_free);
  self->target_words = gtk_string_list_new (NULL);
  self->cancellable = g_cancellable_new ();
  self->note = make_label ("", "dim-label");
  self->list = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 14, NULL);
  gtk_widget_add_css_class (attach, "ef-touch");
  gtk_widget_set_halign (attach, GTK_ALIGN_START);
  g_signal_connect_swapped (attach, "clicked", G_CALLBACK (attach_cb), self);
  g_signal_connect (target, "drop", G_CALLBACK (drop_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), GTK_EVENT_CONTROLLER (target));
  gtk_box_append (GTK_BOX (self), attach);
  gtk_box_append (GTK_BOX (self), self->note);
  gtk_box_append (GTK_BOX (self), self->list);
}

GtkWidget *
ef_photo_view_new (EfSession *session)
{
  EfPhotoView *self = g_object_new (EF_TYPE_PHOTO_VIEW, NULL);

  self->session = g_object_ref (session);
  fill_targets (self);
  g_signal_connect_object (session, "changed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  refresh (self);

  return GTK_WIDGET (self);
}
