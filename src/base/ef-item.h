/* What an inspection is made of: small records, immutable once they are in it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A mark, a reading, a gauge … each begins with an EfItem and is counted by reference. To change one,
 * copy it, change the copy, and hand both to a command (inspection/ef-document.h). That makes undo
 * a swap of two pointers, a snapshot a copy of a pointer array, and "has this face changed" a
 * comparison of pointers.
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

typedef enum
{
  EF_ITEM_HEADER,   /* EfJobHeader, exactly one, id "job" */
  EF_ITEM_MARK,     /* EfMark */
  EF_ITEM_READING,  /* EfReading */
  EF_ITEM_GAUGE,    /* EfGauge */
  EF_ITEM_CHECK,    /* EfCheck: a check-list part such as the pickup tube */
  EF_ITEM_OVERRIDE, /* EfOverride: a verdict set by hand, with its reason */
  EF_ITEM_TICK,     /* EfTick: a rework step done */
  EF_ITEM_WORK,     /* EfWork: what came off a face, and by which passes */
  EF_ITEM_DEMAND,   /* EfDemand: what the engine will ask of the pump; one, id "demand" */
  EF_ITEM_COST,     /* EfCost: the shop's rates as this job used them; one, id "cost" */
  EF_ITEM_REPLACEMENT, /* EfReplacement: a part from the shelf that stands in for one of its own */
  EF_ITEM_PHOTO,    /* EfPhoto: what it shows, and how it lies on a face; its bytes are a file of the store */
  EF_N_ITEM_KINDS
} EfItemKind;

typedef struct _EfItem EfItem;

typedef struct
{
  EfItemKind kind;
  const char *name; /* as in files: "mark", "reading", … */
  gsize size;
  void (*clear) (gpointer item);                          /* frees the fields, not the struct */
  void (*copy_fields) (gpointer dest, gconstpointer src); /* deep; dest is zeroed but for its EfItem */
  gboolean (*equal) (gconstpointer a, gconstpointer b);   /* every field, exactly */
} EfItemClass;

struct _EfItem
{
  const EfItemClass *klass;
  char *id; /* unique within its kind and its inspection */
  gint ref_count;
};

/* A zeroed item of the class with a copy of @id, or a new random id where NULL. */
gpointer ef_item_new (const EfItemClass *klass, const char *id);
gpointer ef_item_ref (gpointer item);
void ef_item_unref (gpointer item);
/* A deep copy with one reference that may be changed until it's handed on. */
gpointer ef_item_copy (gconstpointer item);
gboolean ef_item_equal (gconstpointer a, gconstpointer b);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfItem, ef_item_unref)

G_END_DECLS
