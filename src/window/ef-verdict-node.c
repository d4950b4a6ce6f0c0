/* Verdict plus the assessment that owns it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-verdict-node.h"

struct _EfVerdictNode
{
  GObject parent_instance;

  EfAssessment *assessment;
  const EfVerdict *verdict;
};

G_DEFINE_FINAL_TYPE (EfVerdictNode, ef_verdict_node, G_TYPE_OBJECT)

static void
ef_verdict_node_finalize (GObject *object)
{
  g_clear_pointer (&EF_VERDICT_NODE (object)->assessment, ef_assessment_unref);
  G_OBJECT_CLASS (ef_verdict_node_parent_class)->finalize (object);
}

static void
ef_verdict_node_class_init (EfVerdictNodeClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_verdict_node_finalize;
}

static void
ef_verdict_node_init (EfVerdictNode *self)
{
}

EfVerdictNode *
ef_verdict_node_new (EfAssessment *assessment,
                     const EfVerdict *verdict)
{
  EfVerdictNode *self = g_object_new (EF_TYPE_VERDICT_NODE, NULL);

  self->assessment = ef_assessment_ref (assessment);
  self->verdict = verdict;
  return self;
}

const EfVerdict *
ef_verdict_node_verdict (EfVerdictNode *self)
{
  return self->verdict;
}

GListModel *
ef_verdict_node_children (EfVerdictNode *self)
{
  const GPtrArray *children = self->verdict->children;
  GListStore *store;
  guint i;

  if (children == NULL || children->len == 0)
    return NULL;
  store = g_list_store_new (EF_TYPE_VERDICT_NODE);
  for (i = 0; i < children->len; i++)
    {
      g_autoptr (EfVerdictNode) node = ef_verdict_node_new (self->assessment, g_ptr_array_index (children, i));

      g_list_store_append (store, node);
    }
  return G_LIST_MODEL (store);
}
