/* A lesson out of a pump that was worn by simulation.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../teach/ef-specimen.h"
#include "ef-lesson.h"

G_BEGIN_DECLS

/* Reference: the specimen as measured with a usual set of gauges, its true marks with the depths that were read. The words for the apprentice don't name the cause;
 * what happened to the pump is the note on the part with the worst verdict, shown with the result. Nothing that goes to the apprentice
 * holds the seed, from which the pump could be worn again: title and sheet don't; the reference's note tells the trainer. @rules NULL: the shipped ones. Errors as
 * ef_specimen_measure() and ef_lesson_new(). */
EfLesson *ef_lesson_from_specimen (const EfSpecimen *specimen, const EfRuleSet *rules, GError **error);
/* The whole way: the loads of @sheet are solved, the pump is worn, the lesson made. May take some seconds. */
EfLesson *ef_lesson_wear (EfPumpSheet *sheet, guint32 seed, EfCause cause, int difficulty, const EfRuleSet *rules, GError **error);

G_END_DECLS
