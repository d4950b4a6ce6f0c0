/* A lesson out of a pump that was worn by simulation.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-lesson-specimen.h"
#include "../assess/ef-specimen-trial.h"

#include <glib/gi18n.h>

static EfLessonVerdict *
worst (const EfLesson *lesson)
{
  EfLessonVerdict *found = NULL;

  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      EfLessonVerdict *verdict = lesson->verdicts->pdata[i];

      if (found == NULL || verdict->verdict > found->verdict)
        found = verdict;
    }

  return found;
}

/* For the trainer, who may want the same pump again. */
static gboolean
note_origin (EfInspection *reference,
             const EfSpecimen *specimen,
             GError **error)
{
  g_autoptr (GPtrArray) headers = g_ptr_array_new_with_free_func (ef_item_unref);
  EfJobHeader *header = ef_item_copy (ef_inspection_header (reference));

  g_ptr_array_add (headers, header);
  g_free (header->note);
  header->note = g_strdup_printf (_ ("Specimen of seed %u, cause %s, difficulty %d"), specimen->seed, ef_cause_names[specimen->cause], specimen->difficulty);

  return ef_inspection_fill (reference, EF_ITEM_HEADER, headers, error);
}

EfLesson *
ef_lesson_from_specimen (const EfSpecimen *specimen,
                         const EfRuleSet *rules,
                         GError **error)
{
  g_autoptr (EfInspection) measured = ef_specimen_measure (specimen, NULL, specimen->seed ^ EF_SPECIMEN_DEVIATIONS, error);
  g_autoptr (EfLesson) lesson = measured != NULL && note_origin (measured, specimen, error) ? ef_lesson_new (measured, rules, error) : NULL;
  EfLessonVerdict *told;

  if (lesson == NULL)
    return NULL;
  ef_lesson_take_crescents (lesson, specimen->crescents);
  g_free (lesson->terms.title);
  lesson->terms.title = g_strdup_printf (_ ("%s, specimen %.4s, difficulty %d"), specimen->truth->sheet->model, lesson->terms.name, specimen->difficulty);
  g_free (lesson->terms.task);
  lesson->terms.task = g_strdup (_ ("Look the faces over under the lamp. Mark what you find, measure what matters, decide each part."));
  told = worst (lesson);
  if (told != NULL)
    {
      g_free (told->note);
      told->note = g_strdup (specimen->story);
    }

  return g_steal_pointer (&lesson);
}

EfLesson *
ef_lesson_wear (EfPumpSheet *sheet,
                guint32 seed,
                EfCause cause,
                int difficulty,
                const EfRuleSet *rules,
                GError **error)
{
  EfSpecimenOptions options = { seed, cause, difficulty, { 0.0, 0.0 } };
  g_autoptr (EfSpecimen) specimen = NULL;

  if (!ef_specimen_load (sheet, options.load_psi, error))
    return NULL;
  specimen = ef_specimen_new (sheet, &options, error);

  return specimen != NULL ? ef_lesson_from_specimen (specimen, rules, error) : NULL;
}
