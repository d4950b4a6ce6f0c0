/* A timer, one worker at a time, and what came of it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-keeper.h"
#include "ef-settings.h"

#include "../record/ef-backup.h"

#include <glib/gi18n.h>

#define LOOK_SECONDS (3 * 60)

struct _EfKeeper
{
  GObject parent_instance;

  char *store_path;
  guint timer;
  gboolean running;           /* a look through the store, or a backup */
  GCancellable *cancellable;  /* of that */
  gboolean unchecked;         /* the store hasn't been looked through */
  GPtrArray *closing; /* GTask *: waiting for the last one */
  gboolean last_begun;
  char *failure;
};

G_DEFINE_FINAL_TYPE (EfKeeper, ef_keeper, G_TYPE_OBJECT)

enum
{
  MESSAGE,
  MADE,
  DAMAGED,
  N_SIGNALS
};

static guint signals[N_SIGNALS];

static void begin (EfKeeper *self, gint64 seconds, gint64 changes);
static void begin_last (EfKeeper *self);

static void
answer_closing (EfKeeper *self)
{
  g_autoptr (GPtrArray) closing = g_steal_pointer (&self->closing);
  guint i;

  self->closing = g_ptr_array_new_with_free_func (g_object_unref);
  for (i = 0; i < closing->len; i++)
    g_task_return_boolean (closing->pdata[i], TRUE);
}

static void
tell_failure (EfKeeper *self,
              const char *reason)
{
  gboolean told = self->failure != NULL;
  g_autofree char *text = NULL;

  g_free (self->failure);
  self->failure = g_strdup (reason);
  if (told)
    return;
  text = g_strdup_printf (_ ("No backup could be made: %s. The jobs themselves are on the disk."), reason);
  g_signal_emit (self, signals[MESSAGE], 0, text);
}

/* What comes next when a worker is done. */
static void
go_on (EfKeeper *self)
{
  self->running = FALSE;
  g_clear_object (&self->cancellable);
  if (self->unchecked)
    ef_keeper_look (self);
  else if (self->closing->len > 0 && !self->last_begun)
    begin_last (self);
  if (!self->running)
    answer_closing (self);
}

static void
done_cb (GObject *source,
         GAsyncResult *result,
         gpointer user_data)
{
  g_autoptr (EfKeeper) self = user_data;
  g_autoptr (GError) error = NULL;
  g_autofree char *path = NULL;
  gboolean stale = g_cancellable_is_cancelled (self->cancellable); /* the store is another now */

  if (ef_backup_auto_finish (result, &path, &error) && path != NULL && !stale)
    {
      g_clear_pointer (&self->failure, g_free);
      g_signal_emit (self, signals[MADE], 0);
    }
  else if (error != NULL && !stale)
    {
      /* The store, or only the copy? */
      if (self->failure == NULL && error->code == EF_ERROR_CORRUPT)
        self->unchecked = TRUE;
      tell_failure (self, error->message);
    }
  go_on (self);
}

static void
checked_cb (GObject *source,
            GAsyncResult *result,
            gpointer user_data)
{
  g_autoptr (EfKeeper) self = user_data;
  g_autoptr (GError) error = NULL;
  gboolean sound = ef_store_look_through_finish (result, &error);
  gboolean stale = g_cancellable_is_cancelled (self->cancellable);

  self->running = FALSE;
  /* Busy, or gone meanwhile: the next backup will tell. */
  if (g_error_matches (error, EF_ERROR, EF_ERROR_CORRUPT) && !stale)
    g_signal_emit (self, signals[DAMAGED], 0, error->message);
  else if (sound && !stale)
    ef_keeper_look (self);
  if (!self->running)
    go_on (self);
}

static void
begin (EfKeeper *self,
       gint64 seconds,
       gint64 changes)
{
  const EfBackupPolicy policy = ef_settings_backup_policy ();
  g_autofree char *folder = NULL;

  if (self->store_path == NULL || self->running || !g_settings_get_boolean (ef_settings_get (), "backup"))
    return;
  folder = ef_settings_backup_folder (self->store_path);
  self->running = TRUE;
  g_clear_object (&self->cancellable);
  self->cancellable = g_cancellable_new ();
  ef_backup_auto_async (self->store_path, folder, &policy, seconds, changes, self->cancellable, done_cb, g_object_ref (self));
}

static void
begin_last (EfKeeper *self)
{
  self->last_begun = TRUE;
  begin (self, 0, 1);
}

void
ef_keeper_look (EfKeeper *self)
{
  if (self->store_path != NULL && self->unchecked && !self->running)
    {
      self->unchecked = FALSE;
      self->running = TRUE;
      g_clear_object (&self->cancellable);
      self->cancellable = g_cancellable_new ();
      ef_store_look_through_async (self->store_path, self->cancellable, checked_cb, g_object_ref (self));
    }
  begin (self, EF_BACKUP_INTERVAL, EF_BACKUP_CHANGES);
}

static gboolean
look_cb (gpointer user_data)
{
  ef_keeper_look (user_data);

  return G_SOURCE_CONTINUE;
}

void
ef_keeper_set_store (EfKeeper *self,
                     const char *path)
{
  char *own = g_strdup (path);

  g_free (self->store_path);
  self->store_path = own;
  self->unchecked = path != NULL;
  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_pointer (&self->failure, g_free);
  ef_keeper_look (self);
}

void
ef_keeper_close_async (EfKeeper *self,
                       GAsyncReadyCallback callback,
                       gpointer user_data)
{
  g_ptr_array_add (self->closing, g_task_new (self, NULL, callback, user_data));
  self->last_begun = FALSE;
  /* One that is under way may not have all of it; another follows then. */
  if (!self->running)
    begin_last (self);
  if (!self->running)
    answer_closing (self);
}

void
ef_keeper_rest_async (EfKeeper *self,
                      GAsyncReadyCallback callback,
                      gpointer user_data)
{
  g_ptr_array_add (self->closing, g_task_new (self, NULL, callback, user_data));
  self->last_begun = TRUE;
  if (!self->running)
    answer_closing (self);
}

gboolean
ef_keeper_busy (EfKeeper *self)
{
  return self->running;
}

const char *
ef_keeper_failure (EfKeeper *self)
{
  return self->failure;
}

static void
ef_keeper_finalize (GObject *object)
{
  EfKeeper *self = EF_KEEPER (object);

  g_clear_handle_id (&self->timer, g_source_remove);
  g_ptr_array_unref (self->closing);
  g_clear_object (&self->cancellable);
  g_free (self->store_path);
  g_free (self->failure);
  G_OBJECT_CLASS (ef_keeper_parent_class)->finalize (object);
}

static void
ef_keeper_class_init (EfKeeperClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_keeper_finalize;
  signals[MESSAGE] = g_signal_new ("message", EF_TYPE_KEEPER, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  signals[DAMAGED] = g_signal_new ("damaged", EF_TYPE_KEEPER, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  signals[MADE] = g_signal_new ("made", EF_TYPE_KEEPER, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_keeper_init (EfKeeper *self)
{
  self->closing = g_ptr_array_new_with_free_func (g_object_unref);
  self->timer = g_timeout_add_seconds (LOOK_SECONDS, look_cb, self);
}

EfKeeper *
ef_keeper_new (void)
{
  return g_object_new (EF_TYPE_KEEPER, NULL);
}
