/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-item.h"

gpointer
ef_item_new (const EfItemClass *klass,
             const char *id)
{
  EfItem *item = g_malloc0 (klass->size);

  item->klass = klass;
  item->id = id != NULL ? g_strdup (id) : g_uuid_string_random ();
  item->ref_count = 1;

  return item;
}

gpointer
ef_item_ref (gpointer item)
{
  g_return_val_if_fail (item != NULL, NULL);
  g_atomic_int_inc (&((EfItem *) item)->ref_count);

  return item;
}

void
ef_item_unref (gpointer item)
{
  EfItem *self = item;

  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;

  self->klass->clear (self);
  g_free (self->id);
  g_free (self);
}

gpointer
ef_item_copy (gconstpointer item)
{
  const EfItem *source = item;
  EfItem *copy;

  g_return_val_if_fail (source != NULL, NULL);
  copy = ef_item_new (source->klass, source->id);
  source->klass->copy_fields (copy, source);

  return copy;
}

gboolean
ef_item_equal (gconstpointer a,
               gconstpointer b)
{
  const EfItem *left = a;
  const EfItem *right = b;

  if (left == right)
    return TRUE;
  if (left == NULL || right == NULL || left->klass != right->klass)
    return FALSE;

  return g_str_equal (left->id, right->id) && left->klass->equal (left, right);
}
