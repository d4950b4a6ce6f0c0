/* The report as it will be printed, page under page.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_REPORT_VIEW (ef_report_view_get_type ())
G_DECLARE_FINAL_TYPE (EfReportView, ef_report_view, EF, REPORT_VIEW, GtkBox)

GtkWidget *ef_report_view_new (EfSession *session);

G_END_DECLS
