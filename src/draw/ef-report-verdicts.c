/* Tables of verdicts and figures.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-report-private.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

static const char *
level_word (EfLevel level)
{
  switch (level)
    {
    case EF_LEVEL_PART:
      return _("part");
    case EF_LEVEL_PAIR:
      return _("mated pair");
    case EF_LEVEL_SECTION:
      return _("section");
    case EF_LEVEL_PUMP:
      return _("pump");
    default:
      return _("mark");
    }
}

#define REASONS 3

/* The first few reasons that are as bad as the verdict, each a line. */
static char *
why_text (const EfVerdict *verdict)
{
  GString *text = g_string_new (NULL);
  guint shown = 0;

  if (verdict->override != NULL)
    g_string_append_printf (text, _("Set by hand: %s (computed: %s)"), verdict->override->reason, _(ef_verdict_label (verdict->computed)));
  for (guint i = 0; i < verdict->reasons->len && shown < REASONS; i++)
    {
      const EfReason *reason = g_ptr_array_index (verdict->reasons, i);

      if (shown > 0 && (reason->word == EF_VERDICT_USE || verdict->level > EF_LEVEL_PART))
        break;
      g_string_append_printf (text, "%s%s%s", text->len > 0 ? "\n" : "", reason->sentence,
                              reason->limit_assumed && isfinite (reason->limit) ? _(" (Default limit.)") : "");
      shown++;
    }
  if (text->len == 0)
    g_string_append (text, _("Nothing found against it."));
  return g_string_free (text, FALSE);
}

static void
verdict_row (EfPages *pages, const EfVerdict *verdict)
{
  g_autofree char *why = why_text (verdict);

  ef_pages_table_row (pages, (EfPageCell[]) {
                                 EF_PAGE_CELL (verdict->title),
                                 EF_PAGE_CELL (level_word (verdict->level)),
                                 { _(ef_verdict_label (verdict->word)), verdict->word, -1 },
                                 EF_PAGE_CELL (why),
                             });
}

static void
verdict_rows (EfPages *pages, const EfVerdict *verdict, EfLevel level, GHashTable *seen)
{
  if (verdict->level == level && g_hash_table_add (seen, verdict->id))
    verdict_row (pages, verdict);
  for (guint i = 0; i < verdict->children->len; i++)
    verdict_rows (pages, g_ptr_array_index (verdict->children, i), level, seen);
}

static void
lay_verdicts (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 26, 13, 18, 60 };
  const char *heads[] = { _("What"), "", _("Verdict"), _("Why") };
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);

  if (assessment->verdict == NULL)
    return;
  ef_pages_heading (pages, _("Verdicts"), 60);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (int level = EF_LEVEL_PUMP; level >= EF_LEVEL_PART; level--)
    verdict_rows (pages, assessment->verdict, (EfLevel) level, seen);
  ef_pages_table_end (pages);
}

static char *
limits_text (const EfFigure *figure)
{
  g_autofree char *low = ef_report_number (figure->limit_min, figure->unit);
  g_autofree char *high = ef_report_number (figure->limit_max, figure->unit);

  if (isfinite (figure->limit_min) && isfinite (figure->limit_max))
    return g_strdup_printf (_("%s to %s"), low, high);
  if (isfinite (figure->limit_min))
    return g_strdup_printf (_("at least %s"), low);
  if (isfinite (figure->limit_max))
    return g_strdup_printf (_("at most %s"), high);
  return g_strdup ("–");
}

/* What stands under each face's own picture isn't said twice. */
static gboolean
belongs_to_face (const EfFigure *figure)
{
  return g_strcmp0 (figure->name, "deepest-wear") == 0 || g_strcmp0 (figure->name, "worn-share") == 0;
}

static void
lay_figures (EfPages *pages, const EfAssessment *assessment)
{
  static const double shares[] = { 34, 15, 15, 15, 24, 28 };
  const char *heads[] = { _("Figure"), _("As new"), _("As found"), _("After rework"), _("Limit"), _("Source") };

  if (assessment->figures == NULL || assessment->figures->len == 0)
    return;
  ef_pages_heading (pages, _("Figures"), 60);
  ef_pages_table_begin (pages, G_N_ELEMENTS (shares), heads, shares);
  for (guint i = 0; i < assessment->figures->len; i++)
    {
      const EfFigure *figure = g_ptr_array_index (assessment->figures, i);
      g_autofree char *as_new = ef_report_number (figure->as_new, figure->unit);
      g_autofree char *found = ef_report_number (figure->found, figure->unit);
      g_autofree char *reworked = ef_report_number (figure->reworked, figure->unit);
      g_autofree char *limits = limits_text (figure);

      if (belongs_to_face (figure))
        continue;
      ef_pages_table_row (pages, (EfPageCell[]) {
                                     EF_PAGE_CELL (figure->label), EF_PAGE_CELL (as_new), EF_PAGE_CELL (found),
                                     EF_PAGE_CELL (reworked), EF_PAGE_CELL (limits), EF_PAGE_CELL (figure->source != NULL ? figure->source : "–") });
    }
  ef_pages_table_end (pages);
}

void
ef_report_verdicts (EfPages *pages, const EfAssessment *assessment)
{
  lay_verdicts (pages, assessment);
  lay_figures (pages, assessment);
}
