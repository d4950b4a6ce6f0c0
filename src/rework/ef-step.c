/* Making steps.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "ef-step.h"

void
ef_step_free (EfStep *step)
{
  if (step == NULL)
    return;

  g_free (step->id);
  g_free (step->phase);
  g_free (step->text);
  g_free (step->why);
  g_free (step->part_id);
  g_free (step->face_id);
  g_ptr_array_unref (step->tools);
  g_ptr_array_unref (step->cautions);
  g_ptr_array_unref (step->checks);
  g_ptr_array_unref (step->after);
  g_free (step);
}

static void
add_all (GPtrArray *array,
         va_list list)
{
  const char *text;

  while ((text = va_arg (list, const char *)) != NULL)
    g_ptr_array_add (array, g_strdup (text));
}

EfStep *
ef_step_add (EfStepPlan *plan,
             char *id,
             const char *phase,
             char *text,
             ...)
{
  EfStep *step = g_new0 (EfStep, 1);
  va_list after;

  step->id = id;
  step->phase = g_strdup (phase);
  step->text = text;
  step->stock = NAN;
  step->tools = g_ptr_array_new_with_free_func (g_free);
  step->cautions = g_ptr_array_new_with_free_func (g_free);
  step->checks = g_ptr_array_new_with_free_func (g_free);
  step->after = g_ptr_array_new_with_free_func (g_free);
  va_start (after, text);
  add_all (step->after, after);
  va_end (after);
  g_ptr_array_add (plan->steps, step);

  return step;
}

void
ef_step_tools (EfStep *step,
               ...)
{
  va_list list;

  va_start (list, step);
  add_all (step->tools, list);
  va_end (list);
}

void
ef_step_cautions (EfStep *step,
                  ...)
{
  va_list list;

  va_start (list, step);
  add_all (step->cautions, list);
  va_end (list);
}

void
ef_step_check (EfStep *step,
               char *check)
{
  g_ptr_array_add (step->checks, check);
}

void
ef_step_after (EfStep *step,
               const char *id)
{
  if (!g_str_equal (step->id, id) && !g_ptr_array_find_with_equal_func (step->after, id, g_str_equal, NULL))
    g_ptr_array_add (step->after, g_strdup (id));
}

void
ef_step_after_phase (EfStepPlan *plan,
                     EfStep *step,
                     const char *phase)
{
  for (guint i = 0; i < plan->steps->len; i++)
    {
      const EfStep *other = plan->steps->pdata[i];

      if (other != step && g_str_equal (other->phase, phase))
        ef_step_after (step, other->id);
    }
}

gboolean
ef_step_has (const EfStepPlan *plan,
             const char *id)
{
  for (guint i = 0; i < plan->steps->len; i++)
    if (g_str_equal (((EfStep *) plan->steps->pdata[i])->id, id))
      return TRUE;

  return FALSE;
}

gboolean
ef_step_part_is (const EfStepPlan *plan,
                 const EfPart *part,
                 EfVerdictWord word)
{
  g_autofree char *id = g_strconcat ("part:", part->id, NULL);
  const EfVerdict *node = ef_verdict_find (plan->verdict, id);

  return node != NULL && node->word == word;
}

static char *
lower_first (const char *name)
{
  if (name == NULL || name[0] == '\0' || !(g_ascii_islower (name[1]) || name[1] == ' '))
    return g_strdup (name != NULL ? name : "");

  return g_strdup_printf ("%c%s", g_ascii_tolower (name[0]), name + 1);
}

char *
ef_step_face_text (const EfStepPlan *plan,
                   const char *face_id)
{
  const EfFaceChart *chart = g_hash_table_lookup (plan->findings->charts, face_id);
  const char *slash = strchr (face_id, '/');
  g_autofree char *part_id = slash != NULL ? g_strndup (face_id, slash - face_id) : g_strdup (face_id);
  const EfPart *part = ef_pump_sheet_part (plan->sheet, part_id);
  g_autofree char *part_name = lower_first (part != NULL ? part->name : part_id);
  g_autofree char *face = NULL;

  if (slash == NULL)
    return g_strdup_printf ("the %s", part_name);
  if (chart != NULL && chart->name != NULL)
    face = lower_first (chart->name);
  else
    face = g_strdelimit (g_strdup (slash + 1), "-", ' ');

  return g_strdup_printf ("the %s, %s", part_name, face);
}

char *
ef_step_slug (const char *prefix,
              const char *face_id)
{
  return g_strdelimit (g_strdup_printf ("%s-%s", prefix, face_id), "/", '-');
}

char *
ef_step_length (double metres)
{
  double hundredths = metres * 1e5;

  return ef_format_quantity (metres, EF_UNIT_MM, fabs (hundredths - round (hundredths)) < 1e-3 ? 2 : 3);
}
