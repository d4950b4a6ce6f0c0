/* A part on the shelf: kept from a pump that was scrapped, with its sizes, its maps, where it came from, and whether it's free.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../inspection/ef-replacement.h"

G_BEGIN_DECLS

typedef enum { EF_SHELF_FREE, EF_SHELF_RESERVED, EF_SHELF_USED, EF_SHELF_WITHDRAWN, EF_N_SHELF_STATES } EfShelfState;
const char *ef_shelf_state_name (EfShelfState state);  /* "free", "reserved", "used", "withdrawn" */
const char *ef_shelf_state_label (EfShelfState state); /* "Free" …, untranslated */
/* FALSE for a name that is none of them. */
gboolean ef_shelf_state_from_name (const char *name, EfShelfState *state_out);

typedef struct
{
  EfReplacement *part; /* what a job gets when it's used; shelf is its code, item id the part of the pump it is */
  char *model;         /* "RC-4" */
  EfPartKind kind;
  EfShelfState state;
  char *holder;        /* number of the job it's reserved for or used in; NULL */
  char *reason;        /* why it was withdrawn or came back; NULL */
  char *changed;       /* when its state last changed, ISO 8601 UTC; NULL */
  gint ref_count;
} EfShelfPart;

EfShelfPart *ef_shelf_part_new (EfReplacement *part, const char *model, EfPartKind kind); /* takes @part; free */
EfShelfPart *ef_shelf_part_ref (EfShelfPart *self);
void ef_shelf_part_unref (EfShelfPart *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfShelfPart, ef_shelf_part_unref)

/* What is told of it in a list: "Free", "Reserved for J-0418", … Untranslated. */
char *ef_shelf_part_state_text (const EfShelfPart *self);
/* The size it's told by: face width, pocket depth, first journal or bore, thickness; NULL. */
const EfPartSize *ef_shelf_part_main_size (const EfShelfPart *self);
/* "28.012 mm", with its expanded uncertainty where known: "28.012 mm ± 0.004 mm". */
char *ef_part_size_text (const EfPartSize *size);

/* Schema: data/schemas/shelf.schema.json. */
JsonNode *ef_shelf_part_to_json (const EfShelfPart *self);
EfShelfPart *ef_shelf_part_from_json (const EfJson *json); /* sticks an error into the context; NULL then */
#define EF_SHELF_FORMAT "endfloat-shelf"
#define EF_SHELF_VERSION 1
char *ef_shelf_write (GPtrArray *parts); /* EfShelfPart *; a whole file */
/* EfShelfPart *, from text (@length -1: until NUL; @file for messages only) or from a file. Fails as ef_json_parse(), and with "file: path: expected …". */
GPtrArray *ef_shelf_parse (const char *text, gssize length, const char *file, GError **error);
GPtrArray *ef_shelf_load (const char *path, GError **error);

G_END_DECLS
