/* The roles of the shop in the store: who they are, their PINs, and whether one may do a thing.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A store without roles asks nobody anything: a shop of one isn't held up. The first role is an owner's, and the last owner stays while there are other
 * roles, so that there's always somebody who can put a forgotten PIN right. Nothing is deleted: a role no longer used is removed with a reason, and
 * each change is a row of history. A PIN is kept as Argon2id (RFC 9106) only.
 *
 * Wrong PINs make the next try wait, longer each time; the count lies in the store, so that closing the program doesn't help. It doesn't help against
 * whoever can write the file: they can change this list as well (docs/record.md).
 */
#pragma once

#include "ef-permit.h"
#include "ef-seal-key.h"

G_BEGIN_DECLS

#define EF_PIN_MIN 4  /* characters */
#define EF_PIN_MAX 64
#define EF_PIN_FREE 3 /* wrong ones before the next has to wait */
#define EF_PIN_FIRST_WAIT 5    /* seconds after the third wrong one; twice as long after each further */
#define EF_PIN_LONGEST_WAIT 900

extern const EfSealStrength ef_pin_strength_default; /* 2 passes over 19 MiB: some hundredths of a second */

typedef struct
{
  char *name; /* "bench 2" */
  EfRoleKind kind;
  gboolean has_pin;
  char *removed; /* why it isn't used any more; NULL in use */
  guint wrong;   /* PINs tried since the last right one */
} EfRole;
void ef_role_free (EfRole *role);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfRole, ef_role_free)

/* Who does it, and with which PIN; PIN NULL or "": none given. */
typedef struct
{
  const char *name;
  const char *pin;
} EfWho;

GPtrArray *ef_store_roles (EfStore *store, gboolean with_removed, GError **error); /* EfRole *, owners first, then by name */
/* NULL without an error where there is none of that name in use. */
EfRole *ef_store_role (EfStore *store, const char *name, GError **error);

/* For what asks for no PIN, but is to stand in the history under a name: TRUE where @name is a role in use (@role_out), or the shop has none (NULL). EF_ERROR_REFUSED, also for no name. */
gboolean ef_store_known_role (EfStore *store, const char *name, EfRole **role_out, GError **error);

/* TRUE: @who is a role in use that may do @act, and has given its PIN where it has one; or there are no roles at all. The store's own functions then do @act
 * once (ef-permit.h). EF_ERROR_REFUSED: not known, or may not. EF_ERROR_PIN: PIN missing, wrong, or too soon after wrong ones. */
gboolean ef_store_authorise (EfStore *store, const EfWho *who, EfAct act, GError **error);

/* EF_ACT_RESTORE in the place of the store at @path, by the roles that it has. TRUE where there's no such file, or it can't be read: a damaged store is what backups are
 * for. The store must be closed. @permit_out receives what ef_backup_restore() asks for; NULL where nobody was asked. */
gboolean ef_store_authorise_restore (const char *path, const EfWho *who, EfPermit **permit_out, GError **error);

/* Each asks for EF_ACT_ROLES. @kind must be an owner's for the first role (EF_ERROR_INVALID). A name that was removed comes back with this kind and no PIN. */
gboolean ef_store_add_role (EfStore *store, const char *name, EfRoleKind kind, const EfWho *who, GError **error);
gboolean ef_store_change_role (EfStore *store, const char *name, EfRoleKind kind, const EfWho *who, GError **error);
/* @reason must say something. The last owner can only go last. */
gboolean ef_store_remove_role (EfStore *store, const char *name, const char *reason, const EfWho *who, GError **error);
/* A role sets its own with the one it has; an owner sets everybody's. @pin NULL: none any more. @strength NULL: the default. EF_ERROR_INVALID for one that is
 * too short or too long. */
gboolean ef_store_set_pin (EfStore *store, const char *name, const char *pin, const EfSealStrength *strength, const EfWho *who, GError **error);
/* Takes away the PIN of an owner who has forgotten it, without asking: for the command line, where whoever can write the file is. It stands in the history. */
gboolean ef_store_lost_pin (EfStore *store, const char *name, GError **error);

/* EfHistoryRow *, oldest first: @role is who did it, @bench whom it was done to. */
GPtrArray *ef_store_role_history (EfStore *store, GError **error);

/* Seconds to wait after so many wrong ones. */
guint ef_pin_wait (guint wrong);

/* What is wrong with who may read or write the file, in words: "… can be written by others on this computer"; NULL where nothing is. */
char *ef_store_access_warning (const char *path);

G_END_DECLS
