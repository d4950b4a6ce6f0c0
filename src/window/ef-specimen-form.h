/* Asks which pump a specimen is to be worn of, by what, how hard, from which seed, and wears it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-form-window.h"
#include "../lesson/ef-lesson-specimen.h"
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_SPECIMEN_FORM (ef_specimen_form_get_type ())
G_DECLARE_FINAL_TYPE (EfSpecimenForm, ef_specimen_form, EF, SPECIMEN_FORM, EfFormWindow)

/* Signal "worn" (pointer: const EfLesson *, borrowed) when the lesson is made; the form then closes. Closing it sooner drops what is under way. */
EfSpecimenForm *ef_specimen_form_show (GtkWidget *parent, EfStore *store);

G_END_DECLS
