/* Pages of rows, the latest used kept.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-job-list.h"

#define PAGE 64
#define PAGES_KEPT 32

struct _EfJobList
{
  GObject parent_instance;

  EfStore *store; /* borrowed */
  GArray *ids;    /* gint64 */
  GHashTable *pages; /* number -> GPtrArray of EfJobObject */
  GQueue used;    /* page numbers, latest first */
  guint n_read;
};

static void ef_job_list_model_init (GListModelInterface *interface);

G_DEFINE_FINAL_TYPE_WITH_CODE (EfJobList, ef_job_list, G_TYPE_OBJECT, G_IMPLEMENT_INTERFACE (G_TYPE_LIST_MODEL, ef_job_list_model_init))

static GType
get_item_type (GListModel *model)
{
  return EF_TYPE_JOB_OBJECT;
}

static guint
get_n_items (GListModel *model)
{
  return EF_JOB_LIST (model)->ids->len;
}

/* A job that was there when the list was asked for may be gone from the store only if that is another one now: an empty row stands for it. */
static GPtrArray *
read_page (EfJobList *self,
           guint page)
{
  guint start = page * PAGE;
  guint n = MIN (PAGE, self->ids->len - start);
  const gint64 *ids = &g_array_index (self->ids, gint64, start);
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) rows = self->store != NULL ? ef_store_job_rows (self->store, ids, n, &error) : NULL;
  GPtrArray *objects = g_ptr_array_new_with_free_func (g_object_unref);
  guint next = 0;

  if (error != NULL)
    g_message ("%s", error->message);
  self->n_read++;
  for (guint i = 0; i < n; i++)
    {
      EfJobRow *row = rows != NULL && next < rows->len ? rows->pdata[next] : NULL;

      if (row != NULL && row->id == ids[i])
        rows->pdata[next++] = NULL;
      else
        {
          row = g_new0 (EfJobRow, 1);
          row->id = ids[i];
          row->number = g_strdup ("–");
        }
      g_ptr_array_add (objects, ef_job_object_new (row));
    }

  return objects;
}

static void
forget_old_pages (EfJobList *self)
{
  while (g_queue_get_length (&self->used) > PAGES_KEPT)
    g_hash_table_remove (self->pages, g_queue_pop_tail (&self->used));
}

static gpointer
get_item (GListModel *model,
          guint position)
{
  EfJobList *self = EF_JOB_LIST (model);
  gpointer key = GUINT_TO_POINTER (position / PAGE);
  GPtrArray *page;

  if (position >= self->ids->len)
    return NULL;
  page = g_hash_table_lookup (self->pages, key);
  if (page == NULL)
    {
      page = read_page (self, position / PAGE);
      g_hash_table_insert (self->pages, key, page);
      g_queue_push_head (&self->used, key);
      forget_old_pages (self);
    }
  else if (g_queue_peek_head (&self->used) != key)
    {
      g_queue_remove (&self->used, key);
      g_queue_push_head (&self->used, key);
    }

  return g_object_ref (page->pdata[position % PAGE]);
}

static void
ef_job_list_model_init (GListModelInterface *interface)
{
  interface->get_item_type = get_item_type;
  interface->get_n_items = get_n_items;
  interface->get_item = get_item;
}

static void
ef_job_list_finalize (GObject *object)
{
  EfJobList *self = EF_JOB_LIST (object);

  g_array_unref (self->ids);
  g_hash_table_unref (self->pages);
  g_queue_clear (&self->used);
  G_OBJECT_CLASS (ef_job_list_parent_class)->finalize (object);
}

static void
ef_job_list_class_init (EfJobListClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_job_list_finalize;
}

static void
ef_job_list_init (EfJobList *self)
{
  self->ids = g_array_new (FALSE, FALSE, sizeof (gint64));
  self->pages = g_hash_table_new_full (NULL, NULL, NULL, (GDestroyNotify) g_ptr_array_unref);
  g_queue_init (&self->used);
}

EfJobList *
ef_job_list_new (void)
{
  return g_object_new (EF_TYPE_JOB_LIST, NULL);
}

/* Takes @ids. */
static void
replace (EfJobList *self,
         EfStore *store,
         GArray *ids)
{
  guint before = self->ids->len;

  g_array_unref (self->ids);
  self->ids = ids;
  self->store = store;
  g_hash_table_remove_all (self->pages);
  g_queue_clear (&self->used);
  g_list_model_items_changed (G_LIST_MODEL (self), 0, before, ids->len);
}

gboolean
ef_job_list_ask (EfJobList *self,
                 EfStore *store,
                 const EfJobQuery *query,
                 GError **error)
{
  GArray *ids;

  g_return_val_if_fail (EF_IS_JOB_LIST (self) && store != NULL, FALSE);
  ids = ef_store_job_ids (store, query, error);
  if (ids == NULL)
    return FALSE;
  replace (self, store, ids);

  return TRUE;
}

void
ef_job_list_clear (EfJobList *self)
{
  g_return_if_fail (EF_IS_JOB_LIST (self));
  replace (self, NULL, g_array_new (FALSE, FALSE, sizeof (gint64)));
}

guint
ef_job_list_pages_read (EfJobList *self)
{
  g_return_val_if_fail (EF_IS_JOB_LIST (self), 0);

  return self->n_read;
}
