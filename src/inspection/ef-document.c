/* The document: commands on an inspection, kept by the sink before they take effect, undone and redone as commands.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Both stacks hold changes as they were done, with the places their items had; an undo does a change's
 * edits backwards and the other way round. A change is tried on a copy first (a few pointer arrays), so
 * that one edit that doesn't fit, or a sink that can't write, leaves all as it was.
 */
#include "ef-document.h"

struct _EfDocument
{
  GObject parent_instance;

  EfInspection *inspection;
  GPtrArray *done;   /* EfChange *, oldest first */
  GPtrArray *undone; /* EfChange *, the next to redo last */
  guint64 serial;
  gboolean in_sink;

  EfDocumentSink sink;
  gpointer sink_data;
  GDestroyNotify sink_destroy;
};

G_DEFINE_FINAL_TYPE (EfDocument, ef_document, G_TYPE_OBJECT)

enum
{
  PROP_0,
  PROP_CAN_UNDO,
  PROP_CAN_REDO,
  PROP_UNDO_LABEL,
  PROP_REDO_LABEL,
  N_PROPS
};

static GParamSpec *properties[N_PROPS];

enum
{
  CHANGED,
  N_SIGNALS
};

static guint signals[N_SIGNALS];

static void
edit_clear (gpointer data)
{
  EfEdit *edit = data;

  g_clear_pointer (&edit->before, ef_item_unref);
  g_clear_pointer (&edit->after, ef_item_unref);
}

EfChange *
ef_change_new (const char *label)
{
  EfChange *change = g_new0 (EfChange, 1);

  change->label = g_strdup (label != NULL ? label : "");
  change->edits = g_array_new (FALSE, TRUE, sizeof (EfEdit));
  g_array_set_clear_func (change->edits, edit_clear);

  return change;
}

void
ef_change_free (EfChange *change)
{
  if (change == NULL)
    return;

  g_free (change->label);
  g_array_unref (change->edits);
  g_free (change);
}

void
ef_change_add (EfChange *change,
               gpointer before,
               gpointer after)
{
  EfEdit edit = { NULL, NULL, -1 };

  g_return_if_fail (change != NULL && (before != NULL || after != NULL));

  edit.before = before != NULL ? ef_item_on_grid (before) : NULL;
  edit.after = after != NULL ? ef_item_on_grid (after) : NULL;
  g_array_append_val (change->edits, edit);
}

static void
add_opposite (EfChange *opposite,
              const EfEdit *edit)
{
  EfEdit back = { NULL, NULL, edit->position };

  back.before = edit->after != NULL ? ef_item_ref (edit->after) : NULL;
  back.after = edit->before != NULL ? ef_item_ref (edit->before) : NULL;
  g_array_append_val (opposite->edits, back);
}

/* What takes @change back. */
static EfChange *
change_opposite (const EfChange *change)
{
  g_autofree char *label = g_strdup_printf ("Undo: %s", change->label);
  EfChange *opposite = ef_change_new (label);
  guint i;

  opposite->back_or_again = TRUE;
  for (i = change->edits->len; i > 0; i--)
    add_opposite (opposite, &g_array_index (change->edits, EfEdit, i - 1));

  return opposite;
}

static EfChange *
change_again (const EfChange *change)
{
  g_autofree char *label = g_strdup_printf ("Redo: %s", change->label);
  EfChange *again = ef_change_new (label);
  guint i;

  again->back_or_again = TRUE;
  for (i = 0; i < change->edits->len; i++)
    {
      EfEdit edit = g_array_index (change->edits, EfEdit, i);

      edit.before = edit.before != NULL ? ef_item_ref (edit.before) : NULL;
      edit.after = edit.after != NULL ? ef_item_ref (edit.after) : NULL;
      g_array_append_val (again->edits, edit);
    }

  return again;
}

static const char *
top_label (const GPtrArray *stack)
{
  const EfChange *change;

  if (stack->len == 0)
    return "";
  change = stack->pdata[stack->len - 1];

  return change->label;
}

static void
ef_document_get_property (GObject *object,
                          guint prop_id,
                          GValue *value,
                          GParamSpec *pspec)
{
  EfDocument *self = EF_DOCUMENT (object);

  switch (prop_id)
    {
    case PROP_CAN_UNDO:
      g_value_set_boolean (value, ef_document_can_undo (self));
      break;
    case PROP_CAN_REDO:
      g_value_set_boolean (value, ef_document_can_redo (self));
      break;
    case PROP_UNDO_LABEL:
      g_value_set_string (value, ef_document_undo_label (self));
      break;
    case PROP_REDO_LABEL:
      g_value_set_string (value, ef_document_redo_label (self));
      break;
    default:
      G_OBJECT_WARN_INVALID_PROPERTY_ID (object, prop_id, pspec);
    }
}

static void
ef_document_finalize (GObject *object)
{
  EfDocument *self = EF_DOCUMENT (object);

  ef_document_set_sink (self, NULL, NULL, NULL);
  g_clear_pointer (&self->done, g_ptr_array_unref);
  g_clear_pointer (&self->undone, g_ptr_array_unref);
  g_clear_pointer (&self->inspection, ef_inspection_free);

  G_OBJECT_CLASS (ef_document_parent_class)->finalize (object);
}

static void
ef_document_class_init (EfDocumentClass *klass)
{
  GObjectClass *object_class = G_OBJECT_CLASS (klass);
  const GParamFlags flags = G_PARAM_READABLE | G_PARAM_EXPLICIT_NOTIFY | G_PARAM_STATIC_STRINGS;

  object_class->get_property = ef_document_get_property;
  object_class->finalize = ef_document_finalize;

  properties[PROP_CAN_UNDO] = g_param_spec_boolean ("can-undo", NULL, NULL, FALSE, flags);
  properties[PROP_CAN_REDO] = g_param_spec_boolean ("can-redo", NULL, NULL, FALSE, flags);
  properties[PROP_UNDO_LABEL] = g_param_spec_string ("undo-label", NULL, NULL, "", flags);
  properties[PROP_REDO_LABEL] = g_param_spec_string ("redo-label", NULL, NULL, "", flags);
  g_object_class_install_properties (object_class, N_PROPS, properties);

  signals[CHANGED] = g_signal_new ("changed", EF_TYPE_DOCUMENT, G_SIGNAL_RUN_LAST,
                                   0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_POINTER);
}

static void
ef_document_init (EfDocument *self)
{
  self->done = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_change_free);
  self->undone = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_change_free);
}

EfDocument *
ef_document_new (EfInspection *inspection)
{
  EfDocument *self;

  g_return_val_if_fail (inspection != NULL, NULL);
  self = g_object_new (EF_TYPE_DOCUMENT, NULL);
  self->inspection = inspection;

  return self;
}

void
ef_document_set_sink (EfDocument *self,
                      EfDocumentSink sink,
                      gpointer user_data,
                      GDestroyNotify destroy)
{
  g_return_if_fail (EF_IS_DOCUMENT (self));

  if (self->sink_destroy != NULL)
    self->sink_destroy (self->sink_data);
  self->sink = sink;
  self->sink_data = user_data;
  self->sink_destroy = destroy;
}

const EfInspection *
ef_document_inspection (EfDocument *self)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), NULL);

  return self->inspection;
}

EfInspection *
ef_document_snapshot (EfDocument *self)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), NULL);

  return ef_inspection_copy (self->inspection);
}

guint64
ef_document_serial (EfDocument *self)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), 0);

  return self->serial;
}

/* The inspection as it will be; fills in the places of @change's edits. */
static EfInspection *
try_change (EfDocument *self,
            EfChange *change,
            GError **error)
{
  g_autoptr (EfInspection) next = ef_inspection_copy (self->inspection);
  guint i;

  if (change->edits->len == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "change \"%s\": expected at least one edit, found none", change->label);
      return NULL;
    }
  for (i = 0; i < change->edits->len; i++)
    {
      EfEdit *edit = &g_array_index (change->edits, EfEdit, i);

      if (!ef_inspection_swap_at (next, edit->before, edit->after, edit->position, &edit->position, error))
        return NULL;
    }

  return g_steal_pointer (&next);
}

static gboolean
call_sink (EfDocument *self,
           const EfChange *change,
           GError **error)
{
  gboolean kept;

  if (self->sink == NULL)
    return TRUE;

  self->in_sink = TRUE;
  kept = self->sink (change, self->sink_data, error);
  self->in_sink = FALSE;

  return kept;
}

static gboolean
perform (EfDocument *self,
         EfChange *change,
         GError **error)
{
  g_autoptr (EfInspection) next = NULL;

  if (self->in_sink)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_BUSY, "change \"%s\": expected the one before it to be done", change->label);
      return FALSE;
    }
  next = try_change (self, change, error);
  if (next == NULL || !call_sink (self, change, error))
    return FALSE;

  ef_inspection_free (self->inspection);
  self->inspection = g_steal_pointer (&next);
  self->serial++;

  return TRUE;
}

/* A handler may change the document again or let go of it. */
static void
tell (EfDocument *self,
      const EfChange *change)
{
  g_autoptr (EfDocument) alive = g_object_ref (self);
  guint i;

  g_signal_emit (alive, signals[CHANGED], 0, change);
  for (i = 1; i < N_PROPS; i++)
    g_object_notify_by_pspec (G_OBJECT (alive), properties[i]);
}

gboolean
ef_document_apply (EfDocument *self,
                   EfChange *change,
                   GError **error)
{
  g_autoptr (EfChange) owned = change;
  g_autoptr (EfChange) shown = NULL;

  g_return_val_if_fail (EF_IS_DOCUMENT (self) && change != NULL, FALSE);

  if (!perform (self, owned, error))
    return FALSE;

  shown = change_again (owned);
  g_free (shown->label);
  shown->label = g_strdup (owned->label);
  g_ptr_array_set_size (self->undone, 0);
  g_ptr_array_add (self->done, g_steal_pointer (&owned));
  tell (self, shown);

  return TRUE;
}

/* Does what @make gives for the top of @from and moves that top to @to. */
static gboolean
step (EfDocument *self,
      GPtrArray *from,
      GPtrArray *to,
      EfChange *(*make) (const EfChange *),
      const char *what,
      GError **error)
{
  g_autoptr (EfChange) change = NULL;

  if (from->len == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a change, found none", what);
      return FALSE;
    }
  change = make (from->pdata[from->len - 1]);
  if (!perform (self, change, error))
    return FALSE;

  g_ptr_array_add (to, g_ptr_array_steal_index (from, from->len - 1));
  tell (self, change);

  return TRUE;
}

gboolean
ef_document_undo (EfDocument *self,
                  GError **error)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), FALSE);

  return step (self, self->done, self->undone, change_opposite, "undo", error);
}

gboolean
ef_document_redo (EfDocument *self,
                  GError **error)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), FALSE);

  return step (self, self->undone, self->done, change_again, "redo", error);
}

gboolean
ef_document_can_undo (EfDocument *self)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), FALSE);

  return self->done->len > 0;
}

gboolean
ef_document_can_redo (EfDocument *self)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), FALSE);

  return self->undone->len > 0;
}

const char *
ef_document_undo_label (EfDocument *self)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), "");

  return top_label (self->done);
}

const char *
ef_document_redo_label (EfDocument *self)
{
  g_return_val_if_fail (EF_IS_DOCUMENT (self), "");

  return top_label (self->undone);
}

static gboolean
apply_one (EfDocument *self,
           const char *label,
           gpointer before,
           gpointer after,
           GError **error)
{
  EfChange *change = ef_change_new (label);

  ef_change_add (change, before, after);

  return ef_document_apply (self, change, error);
}

gboolean
ef_document_add (EfDocument *self,
                 const char *label,
                 gpointer item,
                 GError **error)
{
  return apply_one (self, label, NULL, item, error);
}

gboolean
ef_document_replace (EfDocument *self,
                     const char *label,
                     gpointer before,
                     gpointer after,
                     GError **error)
{
  return apply_one (self, label, before, after, error);
}

gboolean
ef_document_remove (EfDocument *self,
                    const char *label,
                    gpointer item,
                    GError **error)
{
  return apply_one (self, label, item, NULL, error);
}
