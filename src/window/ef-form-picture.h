/* The measured form of a face or bore, drawn from the readings as they are now, and in words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>
#include "ef-bench-plan.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_FORM_PICTURE (ef_form_picture_get_type ())
G_DECLARE_FINAL_TYPE (EfFormPicture, ef_form_picture, EF, FORM_PICTURE, GtkBox)

/* Whether there's a picture for the group: flatness, diameters. */
gboolean ef_form_picture_has (const EfSlotGroup *group);
/* @group is borrowed and must outlive the widget. Hidden while there's nothing read. */
GtkWidget *ef_form_picture_new (EfSession *session, const EfSlotGroup *group);
const char *ef_form_picture_words (EfFormPicture *self);

G_END_DECLS
