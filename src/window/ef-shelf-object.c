/* A part on the shelf, for list models.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-shelf-object.h"

#include <glib/gi18n.h>

struct _EfShelfObject
{
  GObject parent_instance;

  EfShelfPart *part;
};

G_DEFINE_FINAL_TYPE (EfShelfObject, ef_shelf_object, G_TYPE_OBJECT)

static void
ef_shelf_object_finalize (GObject *object)
{
  g_clear_pointer (&EF_SHELF_OBJECT (object)->part, ef_shelf_part_unref);
  G_OBJECT_CLASS (ef_shelf_object_parent_class)->finalize (object);
}

static void
ef_shelf_object_class_init (EfShelfObjectClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_shelf_object_finalize;
}

static void
ef_shelf_object_init (EfShelfObject *self)
{
}

EfShelfObject *
ef_shelf_object_new (EfShelfPart *part)
{
  EfShelfObject *self = g_object_new (EF_TYPE_SHELF_OBJECT, NULL);

  self->part = ef_shelf_part_ref (part);
  return self;
}

EfShelfPart *
ef_shelf_object_part (EfShelfObject *self)
{
  return self->part;
}

const char *
ef_shelf_state_shown (EfShelfState state)
{
  switch (state)
    {
    case EF_SHELF_FREE:
      return _ ("Free");
    case EF_SHELF_RESERVED:
      return _ ("Reserved");
    case EF_SHELF_USED:
      return _ ("Used");
    default:
      return _ ("Withdrawn");
    }
}

const char *
ef_shelf_state_icon (EfShelfState state)
{
  switch (state)
    {
    case EF_SHELF_FREE:
      return "object-select-symbolic";
    case EF_SHELF_RESERVED:
      return "user-bookmarks-symbolic";
    case EF_SHELF_USED:
      return "changes-prevent-symbolic";
    default:
      return "action-unavailable-symbolic";
    }
}

char *
ef_shelf_state_sentence (const EfShelfPart *part)
{
  switch (part->state)
    {
    case EF_SHELF_FREE:
      return g_strdup (_ ("Free"));
    case EF_SHELF_RESERVED:
      return g_strdup_printf (_ ("Reserved for %s"), part->holder != NULL ? part->holder : "?");
    case EF_SHELF_USED:
      return g_strdup_printf (_ ("Used in %s"), part->holder != NULL ? part->holder : "?");
    default:
      return part->reason != NULL ? g_strdup_printf (_ ("Withdrawn: %s"), part->reason) : g_strdup (_ ("Withdrawn"));
    }
}

const char *
ef_part_kind_shown (EfPartKind kind)
{
  switch (kind)
    {
    case EF_PART_HOUSING:
      return _ ("Housing");
    case EF_PART_PLATE:
      return _ ("Plate");
    case EF_PART_COVER:
      return _ ("Cover");
    case EF_PART_GEAR:
      return _ ("Gear");
    case EF_PART_SHAFT:
      return _ ("Shaft");
    case EF_PART_PICKUP:
      return _ ("Pickup tube");
    case EF_PART_PIN:
      return _ ("Pin");
    default:
      return _ ("Stud");
    }
}
