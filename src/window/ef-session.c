/* A session: document, worker, selection.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One assessment runs at a time. A change while one runs cancels it; the next begins as soon as it has come back, so
 * threads never pile up and the newest state is always the next to be computed.
 */
#include "config.h"

#include "ef-session.h"
#include "../stats/ef-outcome.h"
#include "../record/ef-store-work.h"

#include "../record/ef-store-standing.h"

#include <glib/gi18n.h>

/* Shared with workers, which may outlive the session. */
typedef struct
{
  EfRuleSet *rules;
} RulesBox;

typedef struct
{
  EfInspection *snapshot;
  guint64 serial;
  RulesBox *rules;
  EfAssessCache *cache;
  EfFlowDetail detail;
} Work;

struct _EfSession
{
  GObject parent_instance;

  EfDocument *document;
  EfStore *store;
  gint64 job;
  gboolean read_only;
  gboolean closed; /* sealed or withdrawn */

  RulesBox *rules;
  char *rules_before, *judged_before; /* NULL: never judged under others */
  gboolean asked_before;
  EfAssessCache *cache;
  EfAssessment *assessment;
  EfFlowDetail shown;        /* how fine the shown assessment is */
  GCancellable *cancellable; /* of the running one; NULL when none runs */
  EfFlowDetail running;      /* how fine that will be */
  gboolean pending;
  gboolean stopped;
  char *last_verdict; /* as kept in the store */
  char *last_failure;

  GHashTable *surfaces; /* NULL: none */
  GHashTable *charts;
  char *part, *face, *mark;
  gulong document_changed;
};

enum
{
  PROP_0,
  PROP_PART,
  PROP_FACE,
  PROP_MARK,
  PROP_BUSY,
  N_PROPS
};
static GParamSpec *properties[N_PROPS];

enum
{
  CHANGED,
  ASSESSED,
  MESSAGE,
  N_SIGNALS
};
static guint signals[N_SIGNALS];
static EfFlowDetail finest = EF_DETAIL_FULL;

G_DEFINE_FINAL_TYPE (EfSession, ef_session, G_TYPE_OBJECT)

static void start_assessment (EfSession *self, EfFlowDetail detail);

static void
rules_box_clear (gpointer data)
{
  RulesBox *box = data;

  g_clear_pointer (&box->rules, ef_rule_set_free);
}

static void
work_free (gpointer data)
{
  Work *work = data;

  ef_inspection_free (work->snapshot);
  ef_assess_cache_unref (work->cache);
  g_atomic_rc_box_release_full (work->rules, rules_box_clear);
  g_free (work);
}

static void
assess_thread (GTask *task,
               gpointer source,
               gpointer task_data,
               GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;
  EfAssessment *result;

  result = ef_assess_in_detail (work->snapshot, work->rules->rules, work->cache, work->detail, cancellable, &error);
  if (result == NULL)
    {
      g_task_return_error (task, error);
      return;
    }
  result->serial = work->serial;
  g_task_return_pointer (task, result, (GDestroyNotify) ef_assessment_unref);
}

static void
keep_verdict (EfSession *self)
{
  const char *name = ef_verdict_name (self->assessment->verdict->word);
  g_autoptr (GError) error = NULL;

  if (self->store == NULL || self->read_only || g_strcmp0 (name, self->last_verdict) == 0)
    return;
  if (!ef_store_set_verdict (self->store, self->job, name, &error))
    {
      ef_session_message (self, error->message);
      return;
    }
  g_free (self->last_verdict);
  self->last_verdict = g_strdup (name);
}

/* For the statistics, once edits have come to rest. */
static void
keep_outcome (EfSession *self)
{
  g_autoptr (GError) error = NULL;

  if (self->store == NULL || self->read_only || self->shown != EF_DETAIL_FULL)
    return;
  if (!ef_outcome_keep (self->store, self->job, self->assessment, &error))
    g_message ("%s", error->message);
}

/* Under which other rules the job was judged before; what is written from now on notes the present ones. */
static void
tell_before (EfSession *self)
{
  g_autoptr (GError) error = NULL;

  if (self->store != NULL && !self->asked_before)
    {
      if (!ef_store_rules_before (self->store, self->job, self->assessment->rule_set, &self->rules_before, &self->judged_before, &error))
        g_message ("%s", error->message);
      self->asked_before = TRUE;
    }
  ef_assessment_take_before (self->assessment, self->rules_before, self->judged_before);
}

/* The same failure is told once, not at each keystroke. */
static void
tell_failure (EfSession *self,
              const GError *error)
{
  if (g_strcmp0 (self->last_failure, error->message) == 0)
    return;
  g_free (self->last_failure);
  self->last_failure = g_strdup (error->message);
  ef_session_message (self, error->message);
}

/* Takes the reference that start_assessment() gave as user data. */
static void
assess_done_cb (GObject *source,
                GAsyncResult *result,
                gpointer user_data)
{
  g_autoptr (EfSession) self = user_data;
  g_autoptr (GError) error = NULL;
  EfAssessment *assessment = g_task_propagate_pointer (G_TASK (result), &error);
  gboolean cancelled = g_cancellable_is_cancelled (self->cancellable);
  gboolean refine = FALSE;

  g_clear_object (&self->cancellable);
  if (assessment != NULL && !cancelled && assessment->serial == ef_document_serial (self->document))
    {
      g_clear_pointer (&self->assessment, ef_assessment_unref);
      self->assessment = g_steal_pointer (&assessment);
      self->shown = self->running;
      refine = self->shown != finest;
      g_clear_pointer (&self->last_failure, g_free);
      tell_before (self);
      keep_verdict (self);
      keep_outcome (self);
    }
  else if (assessment == NULL && !cancelled)
    tell_failure (self, error);
  g_clear_pointer (&assessment, ef_assessment_unref);

  /* The next, finer one starts first: whoever hears "assessed" sees whether more is to come. */
  if (self->pending)
    start_assessment (self, EF_DETAIL_COARSE);
  else if (refine)
    start_assessment (self, self->shown + 1);
  if (refine || !(self->cancellable != NULL || cancelled))
    g_signal_emit (self, signals[ASSESSED], 0);
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_BUSY]);
}

/* The coarse answer comes at once, then the fine one, then the shares. */
static void
start_assessment (EfSession *self,
                  EfFlowDetail detail)
{
  g_autoptr (GTask) task = NULL;
  Work *work;

  self->pending = FALSE;
  if (self->rules->rules == NULL || self->stopped)
    return;
  work = g_new0 (Work, 1);
  work->snapshot = ef_document_snapshot (self->document);
  work->serial = ef_document_serial (self->document);
  work->rules = g_atomic_rc_box_acquire (self->rules);
  work->cache = ef_assess_cache_ref (self->cache);
  work->detail = detail;

  self->running = detail;
  self->cancellable = g_cancellable_new ();
  /* No source object: the thread may drop the task last, and a session must not die there. */
  task = g_task_new (NULL, self->cancellable, assess_done_cb, g_object_ref (self));
  g_task_set_source_tag (task, start_assessment);
  g_task_set_task_data (task, work, work_free);
  g_task_run_in_thread (task, assess_thread);
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_BUSY]);
}

static void
queue_assessment (EfSession *self)
{
  if (self->cancellable == NULL)
    {
      start_assessment (self, EF_DETAIL_COARSE);
      return;
    }
  /* A coarse one is let finish, so that the figures move while edits come fast; a finer one gives way. */
  self->pending = TRUE;
  if (self->running != EF_DETAIL_COARSE)
    g_cancellable_cancel (self->cancellable);
}

static void
document_changed_cb (EfDocument *document,
                     const EfChange *change,
                     EfSession *self)
{
  const EfInspection *inspection = ef_document_inspection (document);

  if (self->mark != NULL && ef_inspection_find (inspection, EF_ITEM_MARK, self->mark) == NULL)
    ef_session_select_mark (self, NULL);
  g_signal_emit (self, signals[CHANGED], 0);
  queue_assessment (self);
}

static void
ef_session_get_property (GObject *object,
                         guint prop_id,
                         GValue *value,
                         GParamSpec *pspec)
{
  EfSession *self = EF_SESSION (object);

  switch (prop_id)
    {
    case PROP_PART:
      g_value_set_string (value, self->part);
      break;
    case PROP_FACE:
      g_value_set_string (value, self->face);
      break;
    case PROP_MARK:
      g_value_set_string (value, self->mark);
      break;
    case PROP_BUSY:
      g_value_set_boolean (value, ef_session_busy (self));
      break;
    default:
      G_OBJECT_WARN_INVALID_PROPERTY_ID (object, prop_id, pspec);
    }
}

static void
ef_session_set_property (GObject *object,
                         guint prop_id,
                         const GValue *value,
                         GParamSpec *pspec)
{
  EfSession *self = EF_SESSION (object);

  switch (prop_id)
    {
    case PROP_PART:
      ef_session_select_part (self, g_value_get_string (value));
      break;
    case PROP_FACE:
      ef_session_select_face (self, g_value_get_string (value));
      break;
    case PROP_MARK:
      ef_session_select_mark (self, g_value_get_string (value));
      break;
    default:
      G_OBJECT_WARN_INVALID_PROPERTY_ID (object, prop_id, pspec);
    }
}

static void
ef_session_dispose (GObject *object)
{
  EfSession *self = EF_SESSION (object);

  if (self->document != NULL && self->document_changed != 0)
    g_clear_signal_handler (&self->document_changed, self->document);
  g_clear_object (&self->document);
  G_OBJECT_CLASS (ef_session_parent_class)->dispose (object);
}

static void
ef_session_finalize (GObject *object)
{
  EfSession *self = EF_SESSION (object);

  g_clear_pointer (&self->assessment, ef_assessment_unref);
  g_clear_pointer (&self->cache, ef_assess_cache_unref);
  g_free (self->rules_before);
  g_free (self->judged_before);
  g_atomic_rc_box_release_full (self->rules, rules_box_clear);
  g_clear_pointer (&self->charts, g_hash_table_unref);
  g_clear_pointer (&self->surfaces, g_hash_table_unref);
  g_free (self->last_verdict);
  g_free (self->last_failure);
  g_free (self->part);
  g_free (self->face);
  g_free (self->mark);
  G_OBJECT_CLASS (ef_session_parent_class)->finalize (object);
}

static void
ef_session_class_init (EfSessionClass *klass)
{
  GObjectClass *object_class = G_OBJECT_CLASS (klass);

  object_class->get_property = ef_session_get_property;
  object_class->set_property = ef_session_set_property;
  object_class->dispose = ef_session_dispose;
  object_class->finalize = ef_session_finalize;

  properties[PROP_PART] = g_param_spec_string ("part", NULL, NULL, NULL,
                                               G_PARAM_READWRITE | G_PARAM_EXPLICIT_NOTIFY | G_PARAM_STATIC_STRINGS);
  properties[PROP_FACE] = g_param_spec_string ("face", NULL, NULL, NULL,
                                               G_PARAM_READWRITE | G_PARAM_EXPLICIT_NOTIFY | G_PARAM_STATIC_STRINGS);
  properties[PROP_MARK] = g_param_spec_string ("mark", NULL, NULL, NULL,
                                               G_PARAM_READWRITE | G_PARAM_EXPLICIT_NOTIFY | G_PARAM_STATIC_STRINGS);
  properties[PROP_BUSY] = g_param_spec_boolean ("busy", NULL, NULL, FALSE,
                                                G_PARAM_READABLE | G_PARAM_STATIC_STRINGS);
  g_object_class_install_properties (object_class, N_PROPS, properties);

  signals[CHANGED] = g_signal_new ("changed", EF_TYPE_SESSION, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[ASSESSED] = g_signal_new ("assessed", EF_TYPE_SESSION, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[MESSAGE] = g_signal_new ("message", EF_TYPE_SESSION, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1,
                                   G_TYPE_STRING);
}

static void
ef_session_init (EfSession *self)
{
  self->rules = g_atomic_rc_box_new0 (RulesBox);
  self->cache = ef_assess_cache_new ();
  self->charts = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_face_chart_unref);
}

static gboolean
is_closed (EfSession *self)
{
  EfStanding standing;

  return self->store != NULL && ef_store_standing (self->store, self->job, &standing, NULL) && (standing.withdrawn || standing.sealed != 0);
}

void
ef_session_refresh_standing (EfSession *self)
{
  self->closed = is_closed (self);
  g_signal_emit (self, signals[CHANGED], 0);
}

/* Plans by what the shop's other jobs have taught about lapping; without that, by the shipped rates. */
static void
take_lapping (EfSession *self)
{
  g_autoptr (GError) error = NULL;
  EfLapTable *table;

  if (self->store == NULL)
    return;
  table = ef_store_lap_table (self->store, self->job, &error);
  if (table == NULL)
    g_message ("%s", error->message);
  ef_assess_cache_take_lapping (self->cache, table);
}

EfSession *
ef_session_new (EfDocument *document,
                EfStore *store,
                gint64 job,
                gboolean read_only)
{
  EfSession *self = g_object_new (EF_TYPE_SESSION, NULL);
  g_autoptr (GError) error = NULL;

  self->document = g_object_ref (document);
  self->store = store;
  self->job = job;
  self->read_only = read_only;
  self->closed = is_closed (self);
  take_lapping (self);
  self->document_changed = g_signal_connect (document, "changed", G_CALLBACK (document_changed_cb), self);
  self->rules->rules = ef_rule_set_default (&error);
  if (self->rules->rules != NULL)
    {
      EfRuleSet *shared = self->rules->rules;

      self->rules->rules = ef_rule_set_for_sheet (shared, ef_document_inspection (document)->sheet, &error);
      ef_rule_set_free (shared);
    }
  if (self->rules->rules == NULL)
    {
      g_message ("%s", error->message);
      self->last_failure = g_strdup (error->message);
    }
  start_assessment (self, EF_DETAIL_COARSE);
  return self;
}

EfDocument *
ef_session_document (EfSession *self)
{
  return self->document;
}

EfStore *
ef_session_store (EfSession *self)
{
  return self->store;
}

gint64
ef_session_job (EfSession *self)
{
  return self->job;
}

gboolean
ef_session_read_only (EfSession *self)
{
  return self->read_only || self->closed;
}

const EfRuleSet *
ef_session_rules (EfSession *self)
{
  return self->rules->rules;
}

EfAssessment *
ef_session_assessment (EfSession *self)
{
  return self->assessment;
}

static gboolean
is_behind (EfSession *self,
           EfFlowDetail detail)
{
  gboolean at_work = self->cancellable != NULL || self->pending;
  gboolean current = self->assessment != NULL && self->assessment->serial == ef_document_serial (self->document) && self->shown >= detail;

  return at_work && !current;
}

gboolean
ef_session_busy (EfSession *self)
{
  return is_behind (self, EF_DETAIL_COARSE);
}

void
ef_session_set_finest (EfFlowDetail detail)
{
  finest = detail;
}

gboolean
ef_session_refining (EfSession *self)
{
  return is_behind (self, finest);
}

EfFaceChart *
ef_session_chart (EfSession *self,
                  const char *face_id)
{
  const EfInspection *inspection = ef_document_inspection (self->document);
  g_autoptr (GError) error = NULL;
  EfFaceChart *chart;

  if (face_id == NULL)
    return NULL;
  chart = g_hash_table_lookup (self->charts, face_id);
  if (chart != NULL)
    return chart;
  chart = ef_face_chart_new (inspection->sheet, face_id, &error);
  if (chart == NULL)
    {
      ef_session_message (self, error->message);
      return NULL;
    }
  g_hash_table_insert (self->charts, g_strdup (face_id), chart);
  return chart;
}

void
ef_session_take_surfaces (EfSession *self,
                          GHashTable *surfaces)
{
  g_clear_pointer (&self->surfaces, g_hash_table_unref);
  self->surfaces = surfaces;
  g_signal_emit (self, signals[CHANGED], 0);
}

EfSurface *
ef_session_surface (EfSession *self,
                    const char *face_id)
{
  return self->surfaces != NULL && face_id != NULL ? g_hash_table_lookup (self->surfaces, face_id) : NULL;
}

const char *
ef_session_part (EfSession *self)
{
  return self->part;
}

const char *
ef_session_face (EfSession *self)
{
  return self->face;
}

const char *
ef_session_mark (EfSession *self)
{
  return self->mark;
}

/* TRUE when it's another value than before. */
static gboolean
take_id (char **field,
         const char *id)
{
  if (g_strcmp0 (*field, id) == 0)
    return FALSE;
  g_free (*field);
  *field = g_strdup (id);
  return TRUE;
}

/* Sets all three and then tells, so that nobody sees a mark on the wrong face. */
static void
select_all (EfSession *self,
            const char *part,
            const char *face,
            const char *mark)
{
  gboolean part_new = take_id (&self->part, part);
  gboolean face_new = take_id (&self->face, face);
  gboolean mark_new = take_id (&self->mark, mark);

  if (part_new)
    g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_PART]);
  if (face_new)
    g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_FACE]);
  if (mark_new)
    g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_MARK]);
}

void
ef_session_select_part (EfSession *self,
                        const char *part_id)
{
  g_autofree char *part = g_strdup (part_id);

  if (g_strcmp0 (self->part, part) == 0)
    return;
  select_all (self, part, NULL, NULL);
}

void
ef_session_select_face (EfSession *self,
                        const char *face_id)
{
  g_autofree char *face = g_strdup (face_id);
  g_autofree char *part = NULL;
  const char *slash;

  if (g_strcmp0 (self->face, face) == 0)
    return;
  if (face == NULL)
    {
      part = g_strdup (self->part);
      select_all (self, part, NULL, NULL);
      return;
    }
  slash = strchr (face, '/');
  part = slash != NULL ? g_strndup (face, slash - face) : g_strdup (face);
  select_all (self, part, face, NULL);
}

void
ef_session_select_mark (EfSession *self,
                        const char *mark_id)
{
  g_autofree char *id = g_strdup (mark_id);
  g_autofree char *part = NULL;
  g_autofree char *face = NULL;
  const EfMark *mark;

  if (id == NULL)
    {
      part = g_strdup (self->part);
      face = g_strdup (self->face);
      select_all (self, part, face, NULL);
      return;
    }
  mark = ef_inspection_find (ef_document_inspection (self->document), EF_ITEM_MARK, id);
  if (mark == NULL)
    return;
  face = g_strdup (mark->face_id);
  part = g_strndup (face, strcspn (face, "/"));
  select_all (self, part, face, id);
}

gboolean
ef_session_apply (EfSession *self,
                  EfChange *change)
{
  g_autoptr (GError) error = NULL;

  if (ef_session_read_only (self))
    {
      ef_change_free (change);
      ef_session_message (self, self->closed ? _ ("This job is sealed or withdrawn: on the Record page it can be opened again, with a reason.")
                                             : _ ("This job is open for reading only."));
      return FALSE;
    }
  if (ef_document_apply (self->document, change, &error))
    return TRUE;
  ef_session_message (self, error->message);
  return FALSE;
}

void
ef_session_undo (EfSession *self)
{
  g_autoptr (GError) error = NULL;

  if (ef_session_read_only (self) || !ef_document_can_undo (self->document))
    return;
  if (!ef_document_undo (self->document, &error))
    ef_session_message (self, error->message);
}

void
ef_session_redo (EfSession *self)
{
  g_autoptr (GError) error = NULL;

  if (ef_session_read_only (self) || !ef_document_can_redo (self->document))
    return;
  if (!ef_document_redo (self->document, &error))
    ef_session_message (self, error->message);
}

void
ef_session_message (EfSession *self,
                    const char *text)
{
  g_signal_emit (self, signals[MESSAGE], 0, text);
}

void
ef_session_settle (EfSession *self)
{
  while (ef_session_busy (self))
    g_main_context_iteration (NULL, TRUE);
}

void
ef_session_settle_fully (EfSession *self)
{
  while (ef_session_refining (self))
    g_main_context_iteration (NULL, TRUE);
}

void
ef_session_stop (EfSession *self)
{
  self->stopped = TRUE;
  self->pending = FALSE;
  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
}
