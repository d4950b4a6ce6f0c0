/* Assessing unassessed jobs in the background.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-verdict-filler.h"
#include "../assess/ef-assessment.h"

/* Of the newest jobs; a store full of old ones without a verdict isn't worked through. */
#define NEWEST_JOBS 20

struct _EfVerdictFiller
{
  GObject parent_instance;

  EfStore *store;             /* borrowed */
  GHashTable *tried;          /* job ids, so that one that can't be assessed isn't tried for ever */
  GCancellable *cancellable;  /* of what runs; NULL */
  gint64 job;                 /* what runs */
  gboolean held;
};

static guint filled_signal;

G_DEFINE_FINAL_TYPE (EfVerdictFiller, ef_verdict_filler, G_TYPE_OBJECT)

static void
assess_thread (GTask *task,
               gpointer source,
               gpointer task_data,
               GCancellable *cancellable)
{
  GError *error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  g_autoptr (EfAssessment) assessment = rules != NULL ? ef_assess_verdict (task_data, rules, NULL, cancellable, &error) : NULL;

  if (assessment == NULL)
    g_task_return_error (task, error);
  else
    g_task_return_pointer (task, g_strdup (ef_verdict_name (assessment->verdict->word)), g_free);
}

static gboolean
still_without (EfVerdictFiller *self,
               gint64 job)
{
  EfJobQuery query = { .verdict = "", .limit = 2 * NEWEST_JOBS };
  g_autoptr (GPtrArray) jobs = ef_store_jobs (self->store, &query, NULL);
  guint i;

  for (i = 0; jobs != NULL && i < jobs->len; i++)
    if (((EfJobRow *) g_ptr_array_index (jobs, i))->id == job)
      return TRUE;
  return FALSE;
}

/* Takes the reference that was given as user data. */
static void
assessed_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  g_autoptr (EfVerdictFiller) self = user_data;
  g_autofree char *verdict = g_task_propagate_pointer (G_TASK (result), NULL);
  gint64 job = self->job;
  gboolean stale = g_cancellable_is_cancelled (self->cancellable); /* the store is another now */

  g_clear_object (&self->cancellable);
  /* It may have been opened and changed meanwhile: then its session knows better. A failure is told when the job is opened. */
  if (!stale && verdict != NULL && self->store != NULL && still_without (self, job)
      && ef_store_set_verdict (self->store, job, verdict, NULL))
    g_signal_emit (self, filled_signal, 0);
  ef_verdict_filler_start (self);
}

static gint64
next_job (EfVerdictFiller *self)
{
  EfJobQuery query = { .verdict = "", .limit = NEWEST_JOBS };
  g_autoptr (GPtrArray) jobs = ef_store_jobs (self->store, &query, NULL);
  guint i;

  for (i = 0; jobs != NULL && i < jobs->len; i++)
    {
      gint64 job = ((EfJobRow *) g_ptr_array_index (jobs, i))->id;

      if (!g_hash_table_contains (self->tried, &job))
        return job;
    }
  return 0;
}

static void
ef_verdict_filler_finalize (GObject *object)
{
  g_clear_pointer (&EF_VERDICT_FILLER (object)->tried, g_hash_table_unref);
  G_OBJECT_CLASS (ef_verdict_filler_parent_class)->finalize (object);
}

static void
ef_verdict_filler_class_init (EfVerdictFillerClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_verdict_filler_finalize;
  filled_signal = g_signal_new ("filled", EF_TYPE_VERDICT_FILLER, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_verdict_filler_init (EfVerdictFiller *self)
{
  self->tried = g_hash_table_new_full (g_int64_hash, g_int64_equal, g_free, NULL);
}

EfVerdictFiller *
ef_verdict_filler_new (void)
{
  return g_object_new (EF_TYPE_VERDICT_FILLER, NULL);
}

void
ef_verdict_filler_set_store (EfVerdictFiller *self,
                             EfStore *store)
{
  self->store = store;
  g_hash_table_remove_all (self->tried);
  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
}

void
ef_verdict_filler_start (EfVerdictFiller *self)
{
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (GTask) task = NULL;

  if (self->store == NULL || self->held || self->cancellable != NULL)
    return;
  while ((self->job = next_job (self)) != 0 && inspection == NULL)
    {
      g_hash_table_add (self->tried, g_memdup2 (&self->job, sizeof self->job));
      inspection = ef_store_load (self->store, self->job, NULL);
      if (inspection != NULL)
        break;
    }
  if (inspection == NULL)
    return;
  self->cancellable = g_cancellable_new ();
  task = g_task_new (NULL, self->cancellable, assessed_cb, g_object_ref (self));
  g_task_set_source_tag (task, ef_verdict_filler_start);
  g_task_set_task_data (task, g_steal_pointer (&inspection), (GDestroyNotify) ef_inspection_free);
  g_task_run_in_thread (task, assess_thread);
}

void
ef_verdict_filler_hold (EfVerdictFiller *self,
                        gboolean held)
{
  self->held = held;
  if (!held)
    ef_verdict_filler_start (self);
}

gboolean
ef_verdict_filler_busy (EfVerdictFiller *self)
{
  return self->cancellable != NULL;
}
