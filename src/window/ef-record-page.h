/* Record: the job's details, its history, sealing, and the report as it will be printed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_RECORD_PAGE (ef_record_page_get_type ())
G_DECLARE_FINAL_TYPE (EfRecordPage, ef_record_page, EF, RECORD_PAGE, GtkBox)

EfRecordPage *ef_record_page_new (EfSession *session);

G_END_DECLS
