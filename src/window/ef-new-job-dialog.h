/* The form a job begins with.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-window.h"

G_BEGIN_DECLS

#define EF_TYPE_NEW_JOB_DIALOG (ef_new_job_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfNewJobDialog, ef_new_job_dialog, EF, NEW_JOB_DIALOG, AdwWindow)

/* Opens the new job in @window when the form is accepted. */
EfNewJobDialog *ef_new_job_dialog_show (EfWindow *window);
/* The number after the highest of the store's latest jobs: "J-0413" after "J-0412". */
char *ef_suggest_job_number (EfStore *store);

G_END_DECLS
