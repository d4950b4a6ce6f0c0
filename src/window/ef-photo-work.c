/* Work with photos off the main thread.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-photo-work.h"
#include "ef-ask-path.h"
#include "../draw/ef-report-photos.h"

#include <glib/gi18n.h>
#include <string.h>

#define PICTURE_SIDE 4096 /* px: what is laid under a face */

/* --- Attaching ------------------------------------------------------------------------------------------------------------------ */

typedef struct
{
  char *store;      /* path */
  GPtrArray *files; /* GFile * */
  GBytes *bytes;    /* instead of files, or NULL */
  char *name;       /* of the bytes */
  char *shows, *mark_id;
  GPtrArray *photos;   /* EfPhoto *: out */
  GPtrArray *refusals; /* char *: out */
} Attach;

static void
attach_free (gpointer data)
{
  Attach *attach = data;

  g_free (attach->store);
  g_ptr_array_unref (attach->files);
  g_clear_pointer (&attach->bytes, g_bytes_unref);
  g_free (attach->name);
  g_free (attach->shows);
  g_free (attach->mark_id);
  g_ptr_array_unref (attach->photos);
  g_ptr_array_unref (attach->refusals);
  g_free (attach);
}

static GQuark
attaching_quark (void)
{
  return g_quark_from_static_string ("ef-photo-attaching");
}

gboolean
ef_photo_attaching (EfSession *session)
{
  return GPOINTER_TO_UINT (g_object_get_qdata (G_OBJECT (session), attaching_quark ())) > 0;
}

static void
count_attaching (EfSession *session,
                 int step)
{
  guint n = GPOINTER_TO_UINT (g_object_get_qdata (G_OBJECT (session), attaching_quark ()));

  g_object_set_qdata (G_OBJECT (session), attaching_quark (), GUINT_TO_POINTER (n + step));
}

static void
take_one (Attach *attach,
          EfPhoto *photo,
          GError *error)
{
  if (photo != NULL)
    g_ptr_array_add (attach->photos, photo);
  else
    g_ptr_array_add (attach->refusals, g_strdup (error->message));
  g_clear_error (&error);
}

static void
attach_thread (GTask *task,
               gpointer source,
               gpointer task_data,
               GCancellable *cancellable)
{
  Attach *attach = task_data;
  GError *error = NULL;
  g_autoptr (EfStore) store = ef_store_open (attach->store, &error);

  if (store == NULL)
    {
      g_task_return_error (task, error);
      return;
    }
  if (attach->bytes != NULL)
    {
      EfPhoto *photo = ef_photo_take_in_bytes (store, attach->bytes, attach->name, cancellable, &error);

      take_one (attach, photo, error);
    }
  for (guint i = 0; i < attach->files->len; i++)
    {
      GError *local = NULL;
      EfPhoto *photo = ef_photo_take_in (store, attach->files->pdata[i], cancellable, &local);

      take_one (attach, photo, local);
    }
  g_task_return_boolean (task, TRUE);
}

static const EfPhoto *
photo_with_file (const EfInspection *inspection,
                 const char *file)
{
  GPtrArray *photos = inspection->items[EF_ITEM_PHOTO];

  for (guint i = 0; i < photos->len; i++)
    if (g_str_equal (((const EfPhoto *) photos->pdata[i])->file, file))
      return photos->pdata[i];

  return NULL;
}

static GStrv
with_name (GStrv names,
           const char *name)
{
  g_autoptr (GStrvBuilder) builder = g_strv_builder_new ();

  if (names != NULL)
    g_strv_builder_addv (builder, (const char **) names);
  if (names == NULL || !g_strv_contains ((const char *const *) names, name))
    g_strv_builder_add (builder, name);

  return g_strv_builder_end (builder);
}

/* All in one step: the new photos, and the mark that they show. */
static void
attach_photos (EfSession *session,
               Attach *attach)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  EfItem *mark = attach->mark_id != NULL ? ef_inspection_find (inspection, EF_ITEM_MARK, attach->mark_id) : NULL;
  g_autoptr (EfItem) changed = mark != NULL ? ef_item_copy (mark) : NULL;
  EfChange *change = ef_change_new (attach->photos->len == 1 ? _ ("Attach photo") : _ ("Attach photos"));
  guint n = 0;

  for (guint i = 0; i < attach->photos->len; i++)
    {
      EfPhoto *photo = attach->photos->pdata[i];
      const EfPhoto *there = photo_with_file (inspection, photo->file);
      GStrv names = changed != NULL ? with_name (((EfMark *) changed)->photos, photo->file) : NULL;

      if (names != NULL)
        {
          g_strfreev (((EfMark *) changed)->photos);
          ((EfMark *) changed)->photos = names;
        }
      for (guint k = 0; there == NULL && k < i; k++)
        if (g_str_equal (((EfPhoto *) attach->photos->pdata[k])->file, photo->file))
          there = attach->photos->pdata[k];
      if (there != NULL)
        {
          g_autofree char *text = g_strdup_printf (_ ("%s: the job has this photo already, as %s"), photo->name, there->name);

          if (changed == NULL)
            g_ptr_array_add (attach->refusals, g_steal_pointer (&text));
          continue;
        }
      photo->shows = g_strdup (attach->shows);
      ef_change_add (change, NULL, photo);
      n++;
    }
  if (changed != NULL && !ef_item_equal (mark, changed))
    {
      ef_change_add (change, mark, changed);
      n++;
    }
  if (n > 0)
    ef_session_apply (session, change);
  else
    ef_change_free (change);
}

static void
attached_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  EfSession *session = EF_SESSION (source);
  Attach *attach = g_task_get_task_data (G_TASK (result));
  g_autoptr (GError) error = NULL;

  count_attaching (session, -1);
  if (!g_task_propagate_boolean (G_TASK (result), &error))
    {
      ef_session_message (session, error->message);
      return;
    }
  if (attach->photos->len > 0)
    attach_photos (session, attach);
  for (guint i = 0; i < attach->refusals->len; i++)
    ef_session_message (session, attach->refusals->pdata[i]);
}

static Attach *
new_attach (EfSession *session,
            const char *shows,
            const char *mark_id)
{
  Attach *attach;

  if (ef_session_store (session) == NULL || ef_session_read_only (session))
    {
      ef_session_message (session, _ ("Photos can be attached to jobs of a store that are open for changes"));
      return NULL;
    }
  attach = g_new0 (Attach, 1);
  attach->store = g_strdup (ef_store_path (ef_session_store (session)));
  attach->files = g_ptr_array_new_with_free_func (g_object_unref);
  attach->photos = g_ptr_array_new_with_free_func (ef_item_unref);
  attach->refusals = g_ptr_array_new_with_free_func (g_free);
  attach->shows = g_strdup (shows);
  attach->mark_id = g_strdup (mark_id);

  return attach;
}

static void
start_attach (EfSession *session,
              Attach *attach)
{
  g_autoptr (GTask) task = g_task_new (session, NULL, attached_cb, NULL);

  count_attaching (session, 1);
  g_task_set_task_data (task, attach, attach_free);
  g_task_run_in_thread (task, attach_thread);
}

void
ef_photo_attach (EfSession *session,
                 GListModel *files,
                 const char *shows,
                 const char *mark_id)
{
  Attach *attach = new_attach (session, shows, mark_id);

  if (attach == NULL)
    return;
  for (guint i = 0; i < g_list_model_get_n_items (files); i++)
    g_ptr_array_add (attach->files, g_list_model_get_item (files, i));
  start_attach (session, attach);
}

void
ef_photo_attach_bytes (EfSession *session,
                       GBytes *bytes,
                       const char *name,
                       const char *shows,
                       const char *mark_id)
{
  Attach *attach = new_attach (session, shows, mark_id);

  if (attach == NULL)
    return;
  attach->bytes = g_bytes_ref (bytes);
  attach->name = g_strdup (name);
  start_attach (session, attach);
}

typedef struct
{
  EfSession *session;
  char *shows, *mark_id;
} Ask;

static void
ask_free (gpointer data)
{
  Ask *ask = data;

  g_object_unref (ask->session);
  g_free (ask->shows);
  g_free (ask->mark_id);
  g_free (ask);
}

static void
chosen_cb (GtkWidget *owner,
           GListModel *files,
           gpointer data)
{
  const Ask *ask = data;

  ef_photo_attach (ask->session, files, ask->shows, ask->mark_id);
}

void
ef_photo_attach_dialog (GtkWidget *widget,
                        EfSession *session,
                        const char *shows,
                        const char *mark_id)
{
  static const char *const endings[] = { "jpg", "jpeg", "png", NULL };
  const EfAskPath dialog = { .title = _ ("Attach photos"), .accept = _ ("_Attach"), .kind = _ ("Photos (JPEG, PNG)"), .endings = endings };
  Ask *ask = g_new0 (Ask, 1);

  ask->session = g_object_ref (session);
  ask->shows = g_strdup (shows);
  ask->mark_id = g_strdup (mark_id);
  ef_ask_files (GTK_WIDGET (gtk_widget_get_root (widget)), &dialog, chosen_cb, ask, ask_free);
}

/* --- Removing ------------------------------------------------------------------------------------------------------------------- */

static GStrv
without_name (GStrv names,
              const char *name)
{
  g_autoptr (GStrvBuilder) builder = g_strv_builder_new ();

  for (guint i = 0; names[i] != NULL; i++)
    if (!g_str_equal (names[i], name))
      g_strv_builder_add (builder, names[i]);

  return g_strv_builder_end (builder);
}

static void
forget_in (EfChange *change,
           GPtrArray *items,
           gsize offset,
           const char *file)
{
  for (guint i = 0; i < items->len; i++)
    {
      GStrv names = G_STRUCT_MEMBER (GStrv, items->pdata[i], offset);

      if (names != NULL && g_strv_contains ((const char *const *) names, file))
        {
          g_autoptr (EfItem) changed = ef_item_copy (items->pdata[i]);

          g_strfreev (G_STRUCT_MEMBER (GStrv, changed, offset));
          G_STRUCT_MEMBER (GStrv, changed, offset) = without_name (names, file);
          ef_change_add (change, items->pdata[i], changed);
        }
    }
}

void
ef_photo_remove (EfSession *session,
                 const EfPhoto *photo)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  EfChange *change = ef_change_new (_ ("Remove photo"));

  ef_change_add (change, (gpointer) photo, NULL);
  forget_in (change, inspection->items[EF_ITEM_MARK], G_STRUCT_OFFSET (EfMark, photos), photo->file);
  forget_in (change, inspection->items[EF_ITEM_CHECK], G_STRUCT_OFFSET (EfCheck, photos), photo->file);
  ef_session_apply (session, change);
}

/* --- Pixels --------------------------------------------------------------------------------------------------------------------- */

typedef struct
{
  char *store;
  EfPhoto *photo;
  int most_side;
  gboolean turned, picture;
} Pixels;

static void
pixels_free (gpointer data)
{
  Pixels *pixels = data;

  g_free (pixels->store);
  ef_item_unref (pixels->photo);
  g_free (pixels);
}

static void
pixels_thread (GTask *task,
               gpointer source,
               gpointer task_data,
               GCancellable *cancellable)
{
  const Pixels *pixels = task_data;
  g_autoptr (GdkPixbuf) pixbuf = NULL;
  GError *error = NULL;
  g_autoptr (EfStore) store = NULL;

  if (g_task_return_error_if_cancelled (task))
    return;
  store = ef_store_open (pixels->store, &error);
  if (store != NULL)
    pixbuf = ef_photo_load (store, pixels->photo, pixels->most_side, pixels->turned, cancellable, &error);
  if (pixbuf != NULL && pixels->turned)
    ef_report_keep_photo (pixels->photo, pixbuf);
  if (pixbuf == NULL)
    g_task_return_error (task, error);
  else if (pixels->picture)
    g_task_return_pointer (task, ef_photo_picture_new (pixbuf, pixels->photo->width, pixels->photo->height), (GDestroyNotify) ef_photo_picture_unref);
  else
    g_task_return_pointer (task, g_steal_pointer (&pixbuf), g_object_unref);
}

static void
start_pixels (EfSession *session,
              const EfPhoto *photo,
              int most_side,
              gboolean turned,
              gboolean picture,
              GCancellable *cancellable,
              GAsyncReadyCallback callback,
              gpointer user_data)
{
  g_autoptr (GTask) task = g_task_new (session, cancellable, callback, user_data);
  Pixels *pixels;

  if (ef_session_store (session) == NULL)
    {
      g_task_return_new_error (task, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: the job isn't in a store, so there are no photos", photo->name);
      return;
    }
  pixels = g_new0 (Pixels, 1);
  pixels->store = g_strdup (ef_store_path (ef_session_store (session)));
  pixels->photo = ef_item_ref ((gpointer) photo);
  pixels->most_side = most_side;
  pixels->turned = turned;
  pixels->picture = picture;
  g_task_set_task_data (task, pixels, pixels_free);
  g_task_run_in_thread (task, pixels_thread);
}

void
ef_photo_pixels_async (EfSession *session,
                       const EfPhoto *photo,
                       int most_side,
                       gboolean turned,
                       GCancellable *cancellable,
                       GAsyncReadyCallback callback,
                       gpointer user_data)
{
  start_pixels (session, photo, most_side, turned, FALSE, cancellable, callback, user_data);
}

GdkPixbuf *
ef_photo_pixels_finish (GAsyncResult *result,
                        GError **error)
{
  return g_task_propagate_pointer (G_TASK (result), error);
}

void
ef_photo_picture_async (EfSession *session,
                        const EfPhoto *photo,
                        GCancellable *cancellable,
                        GAsyncReadyCallback callback,
                        gpointer user_data)
{
  start_pixels (session, photo, PICTURE_SIDE, FALSE, TRUE, cancellable, callback, user_data);
}

EfPhotoPicture *
ef_photo_picture_finish (GAsyncResult *result,
                         GError **error)
{
  return g_task_propagate_pointer (G_TASK (result), error);
}
