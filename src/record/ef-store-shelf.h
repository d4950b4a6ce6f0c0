/* The shelf in the store: what lies on it, who has it, and all that ever happened to it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each move is one transaction that takes the write lock before it looks, so of two windows or programs that reach for a part one gets it and
 * the other is told. Mates move together. Nothing is deleted; each move adds a row of history.
 *
 * A part is used by putting its replacement item into a job (ef_document_apply() or ef_store_commit()): the same transaction moves it on the shelf.
 * Taking the item out again (undo) brings the part back. A job that came in from a file keeps what it holds and moves nothing.
 */
#pragma once

#include "../shelf/ef-shelf-part.h"
#include "ef-store.h"

G_BEGIN_DECLS

typedef struct
{
  const char *text;     /* words, all to be found: code, name, model, part, material, job it came from, note, who has it; NULL all */
  const char *model;    /* exactly; NULL */
  const char *kind;     /* ef_part_kind_name(); NULL */
  const char *state;    /* ef_shelf_state_name(); NULL */
  const char *material; /* exactly; NULL */
  const char *sheet;    /* id of a pump sheet; NULL */
  const char *quantity; /* with a size of this quantity from @size_min to @size_max; NULL */
  double size_min, size_max; /* m; NAN open (0 and 0 without a quantity are ignored) */
  guint limit, offset;  /* limit 0: all */
} EfShelfQuery;

GPtrArray *ef_store_shelf (EfStore *store, const EfShelfQuery *query, GError **error); /* EfShelfPart *, by code */
gint64 ef_store_shelf_count (EfStore *store, const EfShelfQuery *query, GError **error); /* -1 on error */
EfShelfPart *ef_store_shelf_part (EfStore *store, const char *code, GError **error); /* EF_ERROR_NOT_FOUND */
/* The part and its mates, EfShelfPart *. */
GPtrArray *ef_store_shelf_unit (EfStore *store, const char *code, GError **error);
/* What there is to filter by, sorted: char *. @column: "model", "material", "kind". */
GPtrArray *ef_store_shelf_values (EfStore *store, const char *column, GError **error);

/* Puts parts on the shelf, each with a new code; parts with the same pair text become mates under a new pair code. A part that came from the same job before is passed over.
 * @codes_out (or NULL): char *, the new codes. All or none. */
gboolean ef_store_shelf_put (EfStore *store, GPtrArray *parts, const char *role, GPtrArray **codes_out, GError **error);

typedef enum
{
  EF_SHELF_RESERVE,  /* free -> reserved for a job */
  EF_SHELF_RELEASE,  /* reserved -> free */
  EF_SHELF_WITHDRAW, /* free or reserved -> withdrawn, with a reason */
  EF_SHELF_RESTORE,  /* withdrawn -> free, with a reason */
  EF_N_SHELF_MOVES
} EfShelfMove;
/* The part and its mates. EF_ERROR_BUSY, naming who has it, where its state doesn't allow the move; EF_ERROR_INVALID for a missing job or reason. */
gboolean ef_store_shelf_move (EfStore *store, const char *code, EfShelfMove move, const char *job_number, const char *reason, const char *role, GError **error);
/* Uses the part and its mates in a job; brings back what a job uses or has reserved. */
gboolean ef_store_shelf_use (EfStore *store, const char *code, gint64 job, GError **error);
gboolean ef_store_shelf_return (EfStore *store, const char *code, const char *reason, const char *role, GError **error);

typedef struct
{
  gint64 seq;
  char *code, *time, *role, *program, *label; /* "Put on the shelf", "Reserved for J-0418", … */
} EfShelfEvent;
void ef_shelf_event_free (EfShelfEvent *event);
GPtrArray *ef_store_shelf_history (EfStore *store, const char *code, GError **error); /* EfShelfEvent *, oldest first */

G_END_DECLS
