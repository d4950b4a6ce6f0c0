/* Step sheet with boxes to tick, cautions, sign-off.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

const char *
ef_report_phase (const char *phase)
{
  static const struct
  {
    const char *name, *words;
  } phases[] = {
    { "strip", N_("Strip") }, { "rework", N_("Rework") }, { "clean", N_("Clean") }, { "measure", N_("Measure again") }, { "assemble", N_("Assemble") },
  };

  for (guint i = 0; i < G_N_ELEMENTS (phases); i++)
    if (g_strcmp0 (phase, phases[i].name) == 0)
      return _(phases[i].words);
  return phase != NULL ? phase : _("Other");
}

static char *
joined (GPtrArray *words, const char *between)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; words != NULL && i < words->len; i++)
    g_string_append_printf (text, "%s%s", i > 0 ? between : "", (const char *) g_ptr_array_index (words, i));
  return g_string_free (text, FALSE);
}

static void
labelled (EfPages *pages, const char *label, const char *text, double indent)
{
  g_autofree char *line = NULL;

  if (text == NULL || *text == '\0')
    return;
  line = g_strdup_printf ("%s: %s", label, text);
  ef_pages_text (pages, line, 0.9, 0, EF_INK_DIM, indent);
}

static void
lay_step (EfPages *pages, const EfAssessment *assessment, const EfStep *step, guint number)
{
  const EfTick *tick = ef_inspection_find (assessment->inspection, EF_ITEM_TICK, step->id);
  double size = ef_pages_style (pages)->text_size, indent = 2.2 * size;
  g_autofree char *text = g_strdup_printf ("%u. %s", number, step->text);
  g_autofree char *tools = joined (step->tools, ", ");
  g_autofree char *checks = joined (step->checks, "; ");

  ef_pages_need (pages, 3.5 * size);
  ef_pages_tick_box (pages, 1, 0.6, 1.2 * size, tick != NULL);
  ef_pages_text (pages, text, 1, 0, EF_INK_TEXT, indent);
  labelled (pages, _("Why"), step->why, indent);
  labelled (pages, _("Tools"), tools, indent);
  labelled (pages, _("Check"), checks, indent);
  for (guint i = 0; step->cautions != NULL && i < step->cautions->len; i++)
    {
      ef_pages_need (pages, 1.5 * size);
      ef_pages_caution_sign (pages, indent, 0.2, 1.15 * size);
      ef_pages_text (pages, g_ptr_array_index (step->cautions, i), 0.95, 0, EF_INK_TEXT, indent + 1.7 * size);
    }
  if (tick != NULL)
    {
      g_autofree char *time = tick->time != NULL ? ef_report_time (tick->time) : g_strdup ("–");
      g_autofree char *done = g_strdup_printf (_("Done: %s, %s%s%s"), tick->role != NULL ? tick->role : "–", time, tick->note != NULL && *tick->note != '\0' ? " — " : "", tick->note != NULL ? tick->note : "");

      ef_pages_text (pages, done, 0.9, 0, EF_INK_DIM, indent);
    }
  ef_pages_move (pages, 4);
}

static void
lay_cautions (EfPages *pages, const EfAssessment *assessment)
{
  double size = ef_pages_style (pages)->text_size;

  if (assessment->cautions == NULL || assessment->cautions->len == 0)
    return;
  ef_pages_heading (pages, _("Cautions"), 40);
  for (guint i = 0; i < assessment->cautions->len; i++)
    {
      ef_pages_need (pages, 2 * size);
      ef_pages_caution_sign (pages, 1, 0, 1.3 * size);
      ef_pages_text (pages, g_ptr_array_index (assessment->cautions, i), 1, 0, EF_INK_TEXT, 2.2 * size);
      ef_pages_move (pages, 3);
    }
  ef_pages_text (pages, _("Local codes for handling, fire and waste go before anything said here."), 0.95, 0, EF_INK_DIM, 2.2 * size);
}

void
ef_report_steps (EfPages *pages, const EfAssessment *assessment)
{
  const char *phase = NULL;

  /* what can hurt stands before the work that can do it */
  lay_cautions (pages, assessment);
  if (assessment->steps == NULL || assessment->steps->len == 0)
    return;
  ef_pages_heading (pages, _("Work steps"), 60);
  for (guint i = 0; i < assessment->steps->len; i++)
    {
      const EfStep *step = g_ptr_array_index (assessment->steps, i);

      if (g_strcmp0 (phase, step->phase) != 0)
        ef_pages_subheading (pages, ef_report_phase (step->phase), 30);
      phase = step->phase;
      lay_step (pages, assessment, step, i + 1);
    }
}

void
ef_report_sign_off (EfPages *pages, const EfAssessment *assessment)
{
  const EfJobHeader *job = ef_inspection_header (assessment->inspection);
  const char *heads[] = { _("Role"), _("Date"), _("Bench"), _("Signature") };
  static const double shares[] = { 26, 20, 20, 50 };
  const char *roles[] = { job != NULL && job->role != NULL ? job->role : "", "" };
  const char *benches[] = { job != NULL && job->bench != NULL ? job->bench : "", "" };
  double width = ef_pages_width (pages), row = 30, x = 0, sum = 116;

  ef_pages_heading (pages, _("Sign-off"), 3 * row + 10);
  for (int c = 0; c < 4; c++)
    {
      double w = shares[c] / sum * width;
      g_autoptr (PangoLayout) head = ef_pages_layout (pages, heads[c], 0.88, EF_TEXT_BOLD, w - 12);

      ef_pages_put (pages, head, EF_INK_DIM, x, 0);
      for (int r = 0; r < 2; r++)
        {
          if (c == 0 || c == 2)
            {
              g_autoptr (PangoLayout) text = ef_pages_layout (pages, c == 0 ? roles[r] : benches[r], 1, 0, w - 12);

              ef_pages_put (pages, text, EF_INK_TEXT, x, 12 + r * row + row - 13);
            }
          ef_pages_rule (pages, x, 12 + (r + 1) * row, w - 12, EF_INK_TEXT, 0.7);
        }
      x += w;
    }
  ef_pages_move (pages, 12 + 2 * row + 8);
}
