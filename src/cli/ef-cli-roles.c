/* endfloat roles: who may do what in a store, and their PINs. PINs come from standard input, never from the arguments.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-action.h"
#include "ef-cli.h"
#include "../record/ef-store-roles.h"

typedef struct
{
  char *as, *kind, *reason;
} Options;

static void
options_clear (Options *options)
{
  g_free (options->as);
  g_free (options->kind);
  g_free (options->reason);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

/* --as, and its PIN from standard input where it has one. */
typedef struct
{
  EfWho who;
  char *pin;
} Asker;

static void
asker_clear (Asker *asker)
{
  g_free (asker->pin);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Asker, asker_clear)

static gboolean
read_asker (EfStore *store,
            const Options *options,
            Asker *asker,
            GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (EfRole) role = NULL;

  asker->who.name = options->as != NULL ? options->as : "";
  role = ef_store_role (store, asker->who.name, &local);
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  if (role == NULL || !role->has_pin)
    return TRUE;
  asker->pin = ef_cli_read_line ("-", error);
  asker->who.pin = asker->pin;

  return asker->pin != NULL;
}

static gboolean
read_kind (const Options *options,
           EfRoleKind *kind,
           GError **error)
{
  if (options->kind != NULL && ef_role_kind_from_name (options->kind, kind))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "--kind: expected bench, trainer, clerk or owner, found %s", options->kind != NULL ? options->kind : "none");

  return FALSE;
}

static gboolean
run_list (EfStore *store,
          const Options *options,
          const char *unused,
          GError **error)
{
  g_autoptr (GPtrArray) roles = ef_store_roles (store, TRUE, error);

  for (guint i = 0; roles != NULL && i < roles->len; i++)
    {
      const EfRole *role = roles->pdata[i];

      g_print ("%s\t%s\t%s%s%s\n", role->name, ef_role_kind_name (role->kind), role->has_pin ? "PIN" : "no PIN", role->removed != NULL ? "\tremoved: " : "",
               role->removed != NULL ? role->removed : "");
    }

  return roles != NULL;
}

static gboolean
run_history (EfStore *store,
             const Options *options,
             const char *unused,
             GError **error)
{
  g_autoptr (GPtrArray) rows = ef_store_role_history (store, error);

  for (guint i = 0; rows != NULL && i < rows->len; i++)
    {
      const EfHistoryRow *row = rows->pdata[i];

      g_print ("%s\t%s\t%s\tby %s\n", row->time, row->bench, row->label, *row->role != '\0' ? row->role : "nobody named");
    }

  return rows != NULL;
}

static gboolean
run_may (EfStore *store,
         const Options *options,
         const char *unused,
         GError **error)
{
  g_print ("act\tbench\ttrainer\tclerk\towner\n");
  for (guint act = 0; act < EF_N_ACTS; act++)
    {
      g_print ("%s", ef_act_words ((EfAct) act));
      for (guint kind = 0; kind < EF_N_ROLE_KINDS; kind++)
        g_print ("\t%s", ef_role_kind_may ((EfRoleKind) kind, (EfAct) act) ? "yes" : "no");
      g_print ("\n");
    }

  return TRUE;
}

static gboolean
run_add (EfStore *store,
         const Options *options,
         const char *name,
         GError **error)
{
  g_auto (Asker) asker = { 0 };
  EfRoleKind kind;

  return read_kind (options, &kind, error) && read_asker (store, options, &asker, error) && ef_store_add_role (store, name, kind, &asker.who, error);
}

static gboolean
run_change (EfStore *store,
            const Options *options,
            const char *name,
            GError **error)
{
  g_auto (Asker) asker = { 0 };
  EfRoleKind kind;

  return read_kind (options, &kind, error) && read_asker (store, options, &asker, error) && ef_store_change_role (store, name, kind, &asker.who, error);
}

static gboolean
run_remove (EfStore *store,
            const Options *options,
            const char *name,
            GError **error)
{
  g_auto (Asker) asker = { 0 };

  return read_asker (store, options, &asker, error) && ef_store_remove_role (store, name, options->reason, &asker.who, error);
}

static gboolean
run_set_pin (EfStore *store,
             const Options *options,
             const char *name,
             GError **error)
{
  g_auto (Asker) asker = { 0 };
  g_autofree char *pin = NULL;

  if (!read_asker (store, options, &asker, error))
    return FALSE;
  pin = ef_cli_read_line ("-", error);

  return pin != NULL && ef_store_set_pin (store, name, pin, NULL, &asker.who, error);
}

static gboolean
run_drop_pin (EfStore *store,
              const Options *options,
              const char *name,
              GError **error)
{
  g_auto (Asker) asker = { 0 };

  return read_asker (store, options, &asker, error) && ef_store_set_pin (store, name, NULL, NULL, &asker.who, error);
}

static gboolean
run_lost_pin (EfStore *store,
              const Options *options,
              const char *name,
              GError **error)
{
  return ef_store_lost_pin (store, name, error);
}

typedef struct
{
  EfCliAction action;
  gboolean (*run) (EfStore *store, const Options *options, const char *argument, GError **error);
} Action;

static const Action actions[] = {
  { { "list", NULL, "name, kind, whether there is a PIN" }, run_list },
  { { "may", NULL, "what each kind may do" }, run_may },
  { { "history", NULL, "every change of the list" }, run_history },
  { { "add", "NAME", "a new role (--kind); the first is the owner", TRUE }, run_add },
  { { "change", "NAME", "another --kind" }, run_change },
  { { "remove", "NAME", "take a role out of use, with --reason" }, run_remove },
  { { "set-pin", "NAME", "its PIN becomes the next line of standard input" }, run_set_pin },
  { { "drop-pin", "NAME", "no PIN any more" }, run_drop_pin },
  { { "lost-pin", "NAME", "take a forgotten PIN away without asking for it; the history tells" }, run_lost_pin },
};

int
ef_cli_roles (int argc,
              char **argv)
{
  g_auto (Options) options = { 0 };
  const GOptionEntry entries[] = {
    { "as", 'a', 0, G_OPTION_ARG_STRING, &options.as, "Role that does it; the first line of standard input is its PIN, where it has one", "ROLE" },
    { "kind", 'k', 0, G_OPTION_ARG_STRING, &options.kind, "bench, trainer, clerk or owner", "KIND" },
    { "reason", 0, 0, G_OPTION_ARG_STRING, &options.reason, "Why", "TEXT" },
    G_OPTION_ENTRY_NULL
  };
  g_autofree char *summary = ef_cli_actions_text ("Keeps the roles of a store's shop. Without any, everybody may do everything. Actions:", actions, G_N_ELEMENTS (actions), sizeof (Action));
  g_autoptr (EfStore) store = NULL;
  g_autoptr (GError) error = NULL;
  const Action *action;
  int code;

  if (!ef_cli_options (entries, "STORE ACTION [NAME]", summary, &argc, &argv, &code))
    return code;
  action = ef_cli_action ("roles", "a store and an action", actions, G_N_ELEMENTS (actions), sizeof (Action), MAX (argc - 2, 0), argv + MIN (argc, 2));
  if (action == NULL)
    return EF_EXIT_USAGE;

  store = ef_cli_action_store (&action->action, argv[1], &error);
  if (store == NULL || !action->run (store, &options, argc == 4 ? argv[3] : NULL, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
