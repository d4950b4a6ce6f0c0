/* Agreement: a gauge study by both methods, and how people agree when they judge the same parts.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Tables come from files of comma-separated values (ef-study-table.h) or are typed or pasted into the field; ratings also from attempts at a lesson.
 */
#pragma once

#include "../metrology/ef-study-table.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_AGREEMENT_WINDOW (ef_agreement_window_get_type ())
G_DECLARE_FINAL_TYPE (EfAgreementWindow, ef_agreement_window, EF, AGREEMENT_WINDOW, AdwWindow)

EfAgreementWindow *ef_agreement_window_show (GtkWindow *parent);
/* As typed into the fields; what's wrong with it is told beside them. FALSE then. */
gboolean ef_agreement_window_set_study (EfAgreementWindow *self, const char *text, const char *file);
gboolean ef_agreement_window_set_ratings (EfAgreementWindow *self, const char *text, const char *file);
/* Takes @table. */
gboolean ef_agreement_window_take_ratings (EfAgreementWindow *self, EfRatingTable *table);

G_END_DECLS
