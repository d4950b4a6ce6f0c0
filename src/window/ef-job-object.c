/* A jobs list row with a reference count.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-job-object.h"

struct _EfJobObject
{
  GObject parent_instance;

  EfJobRow *row;
};

G_DEFINE_FINAL_TYPE (EfJobObject, ef_job_object, G_TYPE_OBJECT)

static void
ef_job_object_finalize (GObject *object)
{
  g_clear_pointer (&EF_JOB_OBJECT (object)->row, ef_job_row_free);
  G_OBJECT_CLASS (ef_job_object_parent_class)->finalize (object);
}

static void
ef_job_object_class_init (EfJobObjectClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_job_object_finalize;
}

static void
ef_job_object_init (EfJobObject *self)
{
}

EfJobObject *
ef_job_object_new (EfJobRow *row)
{
  EfJobObject *self = g_object_new (EF_TYPE_JOB_OBJECT, NULL);

  self->row = row;
  return self;
}

const EfJobRow *
ef_job_object_row (EfJobObject *self)
{
  return self->row;
}
