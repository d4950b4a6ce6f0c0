/* Who does it: the role, and its PIN where it has one. Where the shop has no roles, a role is typed as ever and nothing is asked.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>
#include "ef-form-window.h"
#include "../record/ef-store-roles.h"

G_BEGIN_DECLS

#define EF_TYPE_WHO_FIELDS (ef_who_fields_get_type ())
G_DECLARE_FINAL_TYPE (EfWhoFields, ef_who_fields, EF, WHO_FIELDS, GtkBox)

/* The role at work is chosen at first. Signal "committed": Enter in one of the fields. */
GtkWidget *ef_who_fields_new (void);
/* Reads the list of roles anew. @store NULL: none; it must outlive the widget otherwise. */
void ef_who_fields_set_store (EfWhoFields *self, EfStore *store);
/* Chooses a role of the list, or writes it down. */
void ef_who_fields_choose (EfWhoFields *self, const char *role);
/* Where the role chosen may not do @act, chooses the first that may. */
void ef_who_fields_prefer (EfWhoFields *self, EfAct act);
/* What was typed: EfWho borrowed from the widget, until it changes. */
EfWho ef_who_fields_get (EfWhoFields *self);
/* Whether the shop has roles, so that something is asked at all. */
gboolean ef_who_fields_asks (EfWhoFields *self);
/* TRUE: may do it; @role_out receives the role, NULL where none was typed and none is @required. Otherwise a message stands at the field and has the cursor. */
gboolean ef_who_fields_authorise (EfWhoFields *self, EfAct act, gboolean required, char **role_out);
/* The same for an error that came from something that authorised by itself. FALSE: it isn't about who. */
gboolean ef_who_fields_take_error (EfWhoFields *self, const GError *error);

G_END_DECLS
