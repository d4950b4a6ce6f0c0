/* The gauges of a job: what they can tell apart, when they were checked.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_GAUGE_LIST (ef_gauge_list_get_type ())
G_DECLARE_FINAL_TYPE (EfGaugeList, ef_gauge_list, EF, GAUGE_LIST, GtkBox)

GtkWidget *ef_gauge_list_new (EfSession *session);

G_END_DECLS
