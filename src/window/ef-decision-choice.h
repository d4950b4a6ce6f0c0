/* Choosing how the limits of one job are decided on.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_DECISION_CHOICE (ef_decision_choice_get_type ())
G_DECLARE_FINAL_TYPE (EfDecisionChoice, ef_decision_choice, EF, DECISION_CHOICE, GtkBox)

GtkWidget *ef_decision_choice_new (EfSession *session);

G_END_DECLS
