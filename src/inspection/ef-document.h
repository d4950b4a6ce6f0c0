/* The one document model: an inspection that is changed by commands only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each command goes to the sink (the store) first; only when that is on disk does the inspection change and "changed" is
 * emitted. Undo and redo are commands too, so the store keeps an append-only history of everything.
 */
#pragma once

#include "ef-inspection.h"

#include <glib-object.h>

G_BEGIN_DECLS

typedef struct
{
  EfItem *before; /* NULL: made */
  EfItem *after;  /* NULL: deleted */
  int position;   /* place in the order of making: where an added item goes (-1 last); set by the document for deleted ones */
} EfEdit;

/* A command: edits that go together. */
typedef struct
{
  char *label; /* "Add groove": shown as "Undo: Add groove" */
  GArray *edits; /* EfEdit, owning */
  gboolean back_or_again; /* set by the document: an undo, or a redo, of what was done before */
} EfChange;

/* Without edits yet. @label is copied; NULL: "". */
EfChange *ef_change_new (const char *label);
void ef_change_free (EfChange *change);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfChange, ef_change_free)
void ef_change_add (EfChange *change, gpointer before, gpointer after); /* takes own references, of items on the grid (ef_item_on_grid); either may be NULL */

/* Called when a change has been found possible and before it takes effect; FALSE (with the error set) stops it: nothing changes then.
 * An undo comes as the opposite change, labelled "Undo: …", a redo as "Redo: …". The sink must not change the document. */
typedef gboolean (*EfDocumentSink) (const EfChange *change, gpointer user_data, GError **error);

#define EF_TYPE_DOCUMENT (ef_document_get_type ())
G_DECLARE_FINAL_TYPE (EfDocument, ef_document, EF, DOCUMENT, GObject)

EfDocument *ef_document_new (EfInspection *inspection); /* takes it */
/* In the place of the one before, whose @destroy is called. @sink NULL: changes take effect without being kept. */
void ef_document_set_sink (EfDocument *self, EfDocumentSink sink, gpointer user_data, GDestroyNotify destroy);
const EfInspection *ef_document_inspection (EfDocument *self); /* borrowed; valid until the next change */
EfInspection *ef_document_snapshot (EfDocument *self);         /* a copy of one's own */
guint64 ef_document_serial (EfDocument *self); /* grows with each change; tells stale results */

/* One item replaced where both are given; the rules of ef_inspection_swap_at() hold for each edit in turn, and either all edits
 * take effect or none. A successful apply forgets what could be redone. Undo and redo without limit; nothing to undo is
 * EF_ERROR_NOT_FOUND. The labels are those of the change that would be undone or redone, "" if none.
 * Properties "can-undo", "can-redo", "undo-label", "redo-label". Signal "changed" (EfDocument *, const EfChange *). */
gboolean ef_document_apply (EfDocument *self, EfChange *change, GError **error); /* takes the change */
gboolean ef_document_undo (EfDocument *self, GError **error);
gboolean ef_document_redo (EfDocument *self, GError **error);
gboolean ef_document_can_undo (EfDocument *self);
gboolean ef_document_can_redo (EfDocument *self);
const char *ef_document_undo_label (EfDocument *self);
const char *ef_document_redo_label (EfDocument *self);
/* Shorthands for one edit. */
gboolean ef_document_add (EfDocument *self, const char *label, gpointer item, GError **error);
gboolean ef_document_replace (EfDocument *self, const char *label, gpointer before, gpointer after, GError **error);
gboolean ef_document_remove (EfDocument *self, const char *label, gpointer item, GError **error);

G_END_DECLS
