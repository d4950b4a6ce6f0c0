/* The start view's page of lessons: which there are, attempts at them, and how an apprentice gets on.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

#include "../record/ef-store-lessons.h"

G_BEGIN_DECLS

#define EF_TYPE_LESSONS_PAGE (ef_lessons_page_get_type ())
G_DECLARE_FINAL_TYPE (EfLessonsPage, ef_lessons_page, EF, LESSONS_PAGE, GtkBox)

void ef_lessons_page_set_store (EfLessonsPage *self, EfStore *store); /* borrowed; NULL none */
void ef_lessons_page_refresh (EfLessonsPage *self);
/* What the buttons do, without their dialogs. */
gboolean ef_lessons_page_import (EfLessonsPage *self, const char *path, GError **error);
/* As chosen in the file dialog (GFile *): who may is asked for those that would take the place of a lesson that is there, and what was done or refused is told on the page. */
void ef_lessons_page_import_files (EfLessonsPage *self, GListModel *files);
gboolean ef_lessons_page_make (EfLessonsPage *self, const char *job_number, char **name_out, GError **error);
gboolean ef_lessons_page_start (EfLessonsPage *self, const char *name, const char *apprentice, GError **error); /* opens the attempt */
const char *ef_lessons_page_suggested (EfLessonsPage *self); /* name of the lesson; NULL none */

G_END_DECLS
