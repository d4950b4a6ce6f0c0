/* Reading JSON with messages a person can act on.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A cursor keeps the name of the file and the path of the value it stands on, so that each
 * message reads like
 *   hl-24.json: $.sections[0].module_mm: expected a number above 0, found "three"
 * The first error sticks in the cursor's shared context; later reads return harmless defaults, so a
 * loader reads straight on and tests once at the end with ef_json_finish().
 */
#pragma once

#include <json-glib/json-glib.h>
#include "ef-error.h"

G_BEGIN_DECLS

typedef struct _EfJsonContext EfJsonContext;

typedef struct
{
  EfJsonContext *context;
  JsonNode *node; /* borrowed; NULL where the value is missing */
  char *path;     /* "$.sections[0]" */
} EfJson;

/* Parses @text (length -1: until NUL). @file is used in messages only. Limits: 64 MiB, depth 64, valid UTF-8,
 * no duplicate member names, no NaN. */
EfJsonContext *ef_json_parse (const char *text, gssize length, const char *file, GError **error);
EfJsonContext *ef_json_parse_file (const char *path, GError **error);
void ef_json_context_free (EfJsonContext *context);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfJsonContext, ef_json_context_free)

/* Cursors are freed with ef_json_clear() (g_auto works). */
EfJson ef_json_root (EfJsonContext *context);
void ef_json_clear (EfJson *self);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfJson, ef_json_clear)

/* Whether the cursor stands on an object with this member, be it null. No error either way. */
gboolean ef_json_has (const EfJson *self, const char *member);
/* Member cursors; a missing member of a required kind is an error, an optional one gives node == NULL. */
EfJson ef_json_object (const EfJson *self, const char *member);
EfJson ef_json_optional (const EfJson *self, const char *member);
EfJson ef_json_array (const EfJson *self, const char *member, guint min_length, guint max_length);
guint ef_json_length (const EfJson *self);
EfJson ef_json_element (const EfJson *self, guint i);

/* Scalars. A bound beyond 1e300 is no bound; a least value of DBL_MIN reads "above 0". Numbers must be
 * finite and within [min, max]. Strings are owned by the caller. null is a value like another, and no number. */
double ef_json_number (const EfJson *self, const char *member, double min, double max);
double ef_json_number_or (const EfJson *self, const char *member, double min, double max, double fallback);
gint64 ef_json_integer (const EfJson *self, const char *member, gint64 min, gint64 max);
gint64 ef_json_integer_or (const EfJson *self, const char *member, gint64 min, gint64 max, gint64 fallback);
gboolean ef_json_boolean_or (const EfJson *self, const char *member, gboolean fallback);
char *ef_json_string (const EfJson *self, const char *member);
char *ef_json_string_or (const EfJson *self, const char *member, const char *fallback); /* fallback may be NULL */
/* One of the NULL-terminated @names; returns its index, 0 on error. */
int ef_json_choice (const EfJson *self, const char *member, const char *const *names);
/* The cursor's own value as a number (for elements of arrays). */
double ef_json_value (const EfJson *self, double min, double max);
char *ef_json_value_string (const EfJson *self);
/* Refuses members that aren't in the NULL-terminated list. */
void ef_json_only (const EfJson *self, const char *const *members);
/* Records an error of our own at this place; printf-like. */
void ef_json_fail (const EfJson *self, EfError code, const char *format, ...) G_GNUC_PRINTF (3, 4);
/* FALSE and the first error, if there was one. */
gboolean ef_json_finish (EfJsonContext *context, GError **error);

/* Writing: pretty, 2 spaces, members in the order they were added, arrays of scalars on one line, numbers as the
 * shortest text that reads back to the same double ("0.04" stays "0.04"), a newline at the end. NaN and infinity, which
 * JSON can't say, become null. Free with g_free(). */
char *ef_json_to_text (JsonNode *node);
/* One number as ef_json_to_text() writes it. */
char *ef_json_number_text (double value);
/* Adds a number to @object; null where it isn't finite. */
void ef_json_put (JsonObject *object, const char *member, double value);
/* A node that owns @object. */
JsonNode *ef_json_object_node (JsonObject *object);

G_END_DECLS
