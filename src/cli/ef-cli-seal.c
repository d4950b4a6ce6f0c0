/* endfloat seal: signing off and sealing without a window, and what belongs to the key.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-action.h"
#include "ef-cli.h"
#include "ef-cli-inspection.h"
#include "../record/ef-missing-files.h"
#include "../record/ef-seal.h"
#include "../record/ef-store-roles.h"
#include "../record/ef-store-standing.h"

#include <string.h>

typedef struct
{
  char *role, *note, *passphrase_file, *new_passphrase_file, *reason, *output, *pin_file;
  gboolean lost;
} Options;

static void
options_clear (Options *options)
{
  g_free (options->role);
  g_free (options->note);
  g_free (options->passphrase_file);
  g_free (options->new_passphrase_file);
  g_free (options->reason);
  g_free (options->output);
  g_free (options->pin_file);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

/* Where the shop has roles, --role must be one of them that may do it, with its PIN. */
static gboolean
authorise (EfStore *store,
           const Options *options,
           EfAct act,
           GError **error)
{
  g_autofree char *pin = NULL;
  EfWho who = { options->role != NULL ? options->role : "", NULL };

  if (act == EF_N_ACTS)
    return TRUE;
  if (options->pin_file != NULL)
    {
      pin = ef_cli_read_line (options->pin_file, error);
      if (pin == NULL)
        return FALSE;
    }
  who.pin = pin;

  return ef_store_authorise (store, &who, act, error);
}

/* The first line of the file. */
static char *
read_passphrase (const char *path,
                 GError **error)
{
  g_autofree char *text = NULL;

  if (path == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "expected --passphrase-file");
      return NULL;
    }
  if (!g_file_get_contents (path, &text, NULL, error))
    return NULL;
  text[strcspn (text, "\r\n")] = '\0';

  return g_steal_pointer (&text);
}

static EfSealKey *
unlock (EfStore *store,
        const Options *options,
        GError **error)
{
  g_autofree char *passphrase = read_passphrase (options->passphrase_file, error);

  return passphrase != NULL ? ef_seal_key_unlock (store, passphrase, error) : NULL;
}

static gboolean
run_make_key (EfStore *store,
              const Options *options,
              const char *unused,
              GError **error)
{
  g_autofree char *passphrase = read_passphrase (options->passphrase_file, error);
  g_autoptr (EfSealKey) key = passphrase != NULL ? ef_seal_key_make (store, passphrase, NULL, options->role, error) : NULL;

  if (key != NULL)
    g_print ("%s\n", ef_seal_key_public (key));

  return key != NULL;
}

static gboolean
run_change_key (EfStore *store,
                const Options *options,
                const char *unused,
                GError **error)
{
  g_autofree char *passphrase = read_passphrase (options->new_passphrase_file, error);
  g_autoptr (EfSealKey) old = passphrase != NULL && !options->lost ? unlock (store, options, error) : NULL;
  g_autoptr (EfSealKey) key = NULL;

  if (passphrase == NULL || (old == NULL && !options->lost))
    return FALSE;
  key = ef_seal_key_change (store, old, passphrase, NULL, options->role, options->reason, error);
  if (key != NULL)
    g_print ("%s\n", ef_seal_key_public (key));

  return key != NULL;
}

static gboolean
run_show_key (EfStore *store,
              const Options *options,
              const char *unused,
              GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autofree char *key = ef_seal_key_current (store, &local);

  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  g_print ("%s\n", key != NULL ? key : "none yet");

  return TRUE;
}

static gboolean
run_export_key (EfStore *store,
                const Options *options,
                const char *path,
                GError **error)
{
  return ef_seal_key_export (store, path, error);
}

static gboolean
run_restore_key (EfStore *store,
                 const Options *options,
                 const char *path,
                 GError **error)
{
  g_autofree char *passphrase = read_passphrase (options->passphrase_file, error);
  g_autoptr (EfSealKey) key = passphrase != NULL ? ef_seal_key_restore (store, path, passphrase, error) : NULL;

  return key != NULL;
}

static gboolean
run_job (EfStore *store,
         const Options *options,
         const char *number,
         GError **error)
{
  gint64 job = ef_cli_find_job (store, number, error);
  g_autoptr (EfSealKey) key = job > 0 ? unlock (store, options, error) : NULL;
  g_autoptr (EfAssessment) assessment = key != NULL ? ef_cli_assess_job (store, job, NULL, error) : NULL;
  gint64 seal = assessment != NULL ? ef_seal_assessed_job (store, job, assessment, options->role, options->note, key, error) : 0;
  g_autoptr (GPtrArray) seals = seal > 0 ? ef_seals_of_job (store, job, error) : NULL;

  if (seals == NULL)
    return FALSE;
  g_print ("%" G_GINT64_FORMAT ":%s\n", seal, ((EfSeal *) seals->pdata[seals->len - 1])->digest);

  return TRUE;
}

static gboolean
run_revise (EfStore *store,
            const Options *options,
            const char *number,
            GError **error)
{
  gint64 job = ef_cli_find_job (store, number, error);

  return job > 0 && ef_store_open_revision (store, job, options->role, options->reason, error);
}

static gboolean
run_withdraw (EfStore *store,
              const Options *options,
              const char *number,
              GError **error)
{
  gint64 job = ef_cli_find_job (store, number, error);

  return job > 0 && ef_store_withdraw (store, job, options->role, options->reason, error);
}

static gboolean
run_reinstate (EfStore *store,
               const Options *options,
               const char *number,
               GError **error)
{
  gint64 job = ef_cli_find_job (store, number, error);

  return job > 0 && ef_store_reinstate (store, job, options->role, options->reason, error);
}

static gboolean
run_withdrawn (EfStore *store,
               const Options *options,
               const char *unused,
               GError **error)
{
  const EfJobQuery query = { .withdrawn = TRUE };
  g_autoptr (GPtrArray) jobs = ef_store_jobs (store, &query, error);

  for (guint i = 0; jobs != NULL && i < jobs->len; i++)
    {
      const EfJobRow *job = jobs->pdata[i];
      g_autoptr (EfWithdrawal) withdrawal = ef_store_withdrawal (store, job->id, error);

      if (withdrawal == NULL)
        return FALSE;
      g_print ("%s\t%s\t%s\t%s\n", job->number, withdrawal->time, withdrawal->role, withdrawal->reason);
    }

  return jobs != NULL;
}

static gboolean
run_import (EfStore *store,
            const Options *options,
            const char *path,
            GError **error)
{
  g_autofree char *missing = NULL;
  g_autoptr (GError) local = NULL;
  gint64 job = ef_cli_can_read (path, error) ? ef_seal_import (store, path, error) : 0;

  if (job <= 0)
    return FALSE;
  missing = ef_store_missing_files (store, job, &local);
  if (missing != NULL)
    g_print ("%s. An exchange file holds only their digests; attach the same files to have them\n", missing);
  if (local == NULL)
    return TRUE;
  g_propagate_error (error, g_steal_pointer (&local));

  return FALSE;
}

static gboolean
run_export (EfStore *store,
            const Options *options,
            const char *number,
            GError **error)
{
  gint64 job = ef_cli_find_job (store, number, error);
  g_autofree char *text = job > 0 ? ef_seal_export (store, job, error) : NULL;

  return text != NULL && ef_cli_write (options->output, text, error);
}

typedef struct
{
  EfCliAction action;
  gboolean (*run) (EfStore *store, const Options *options, const char *argument, GError **error);
  EfAct act; /* that the role must be allowed; EF_N_ACTS: anybody */
} Action;

static const Action actions[] = {
  { { "job", "NUMBER", "assess and seal a job; prints number and digest of the seal (--role, --passphrase-file)" }, run_job, EF_ACT_SIGN },
  { { "revise", "NUMBER", "open a sealed job as its next revision (--role, --reason)" }, run_revise, EF_ACT_REVISE },
  { { "withdraw", "NUMBER", "take a job out of the list (--role, --reason); nothing of it is deleted" }, run_withdraw, EF_ACT_WITHDRAW },
  { { "reinstate", "NUMBER", "put a withdrawn job back (--role, --reason)" }, run_reinstate, EF_ACT_WITHDRAW },
  { { "withdrawn", NULL, "list withdrawn jobs: number, when, by whom and why" }, run_withdrawn, EF_N_ACTS },
  { { "export", "NUMBER", "write a job's exchange file, with its seal where it has one" }, run_export, EF_N_ACTS },
  { { "import", "FILE", "take an exchange file in, with its seal where it has one", TRUE }, run_import, EF_N_ACTS },
  { { "make-key", NULL, "make the store's first key (--passphrase-file); prints the public key", TRUE }, run_make_key, EF_ACT_SIGN },
  { { "show-key", NULL, "print the public key" }, run_show_key, EF_N_ACTS },
  { { "change-key", NULL, "a new key (--new-passphrase-file, --reason), signed by the old one or, where that is lost, --lost" }, run_change_key, EF_ACT_KEY },
  { { "export-key", "FILE", "keep the locked key in a file" }, run_export_key, EF_ACT_KEY },
  { { "restore-key", "FILE", "put a key that was kept back (--passphrase-file)" }, run_restore_key, EF_ACT_KEY },
};

int
ef_cli_seal (int argc,
             char **argv)
{
  g_auto (Options) options = { 0 };
  const GOptionEntry entries[] = {
    { "role", 'r', 0, G_OPTION_ARG_STRING, &options.role, "Who does it, as a role", "ROLE" },
    { "note", 'n', 0, G_OPTION_ARG_STRING, &options.note, "Note beside the seal", "TEXT" },
    { "reason", 0, 0, G_OPTION_ARG_STRING, &options.reason, "Why", "TEXT" },
    { "passphrase-file", 'p', 0, G_OPTION_ARG_FILENAME, &options.passphrase_file, "File whose first line is the passphrase", "FILE" },
    { "new-passphrase-file", 0, 0, G_OPTION_ARG_FILENAME, &options.new_passphrase_file, "The same for a new key", "FILE" },
    { "lost", 0, 0, G_OPTION_ARG_NONE, &options.lost, "The old key is lost: the chain gets a break", NULL },
    { "pin-file", 0, 0, G_OPTION_ARG_FILENAME, &options.pin_file, "File whose first line is the role's PIN, where it has one; -: standard input", "FILE" },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &options.output, "Write here (default: standard output)", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autofree char *summary = ef_cli_actions_text ("Seals jobs of a store, and keeps its key. Actions:", actions, G_N_ELEMENTS (actions), sizeof (Action));
  g_autoptr (EfStore) store = NULL;
  g_autoptr (GError) error = NULL;
  const Action *action;
  int code;

  if (!ef_cli_options (entries, "STORE ACTION [ARGUMENT]", summary, &argc, &argv, &code))
    return code;
  action = ef_cli_action ("seal", "a store and an action", actions, G_N_ELEMENTS (actions), sizeof (Action), MAX (argc - 2, 0), argv + MIN (argc, 2));
  if (action == NULL)
    return EF_EXIT_USAGE;

  store = ef_cli_action_store (&action->action, argv[1], &error);
  if (store == NULL || !authorise (store, &options, action->act, &error) || !action->run (store, &options, argc == 4 ? argv[3] : NULL, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
