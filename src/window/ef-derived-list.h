/* What follows from the readings of a group: value, how it came about, its limit.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-bench-plan.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_DERIVED_LIST (ef_derived_list_get_type ())
G_DECLARE_FINAL_TYPE (EfDerivedList, ef_derived_list, EF, DERIVED_LIST, GtkBox)

GtkWidget *ef_derived_list_new (EfSession *session, const EfSlotGroup *group); /* the group is borrowed and must outlive it */

G_END_DECLS
