/* The job's details as a form whose fields are kept one by one, as each is left.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_HEADER_FORM (ef_header_form_get_type ())
G_DECLARE_FINAL_TYPE (EfHeaderForm, ef_header_form, EF, HEADER_FORM, GtkBox)

GtkWidget *ef_header_form_new (EfSession *session);

G_END_DECLS
