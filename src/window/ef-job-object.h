/* A row of the jobs list as an object that list views can hold.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <glib-object.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_JOB_OBJECT (ef_job_object_get_type ())
G_DECLARE_FINAL_TYPE (EfJobObject, ef_job_object, EF, JOB_OBJECT, GObject)

EfJobObject *ef_job_object_new (EfJobRow *row); /* takes it */
const EfJobRow *ef_job_object_row (EfJobObject *self);

G_END_DECLS
