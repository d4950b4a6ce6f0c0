/* One open job: Map, Readings, Verdict, Rework, Record, in the order the work is done.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_JOB_PAGE (ef_job_page_get_type ())
G_DECLARE_FINAL_TYPE (EfJobPage, ef_job_page, EF, JOB_PAGE, GtkBox)

EfJobPage *ef_job_page_new (EfSession *session);
/* "map", "readings", "verdict", "rework", "record". */
void ef_job_page_show (EfJobPage *self, const char *page);
void ef_job_page_show_reading (EfJobPage *self, const EfReading *reading);
const char *ef_job_page_shown (EfJobPage *self);
/* The actions of the window that a job answers: "print", "export-report", "export-exchange", "export-pictures". */
void ef_job_page_do (EfJobPage *self, const char *action);

G_END_DECLS
