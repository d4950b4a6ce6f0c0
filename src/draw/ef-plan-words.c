/* The lapping plan for people.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-plan-words.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

#define ENOUGH 1e-9 /* m: less isn't lapping */

static const char *const places[2] = { "drive", "driven" };

static char *
lower_first (const char *name)
{
  if (name == NULL || name[0] == '\0' || !g_ascii_islower (name[1]))
    return g_strdup (name != NULL ? name : "");
  return g_strdup_printf ("%c%s", g_ascii_tolower (name[0]), name + 1);
}

/* With three decimals of a millimetre, whole micrometres, two decimals of a thou. */
static char *
length (double metres, EfUnit unit)
{
  return isfinite (metres) ? ef_format_quantity (metres, unit, -1) : g_strdup ("–");
}

static const EfPumpSheet *
sheet_of (const EfAssessment *assessment)
{
  return assessment->inspection->sheet;
}

/* --- State ------------------------------------------------------------------------------------------------------------------ */

static double
found_at (const EfAssessment *assessment, const EfSection *section, int gear)
{
  return ef_lap_clearance_found (&assessment->findings, section, gear);
}

GPtrArray *
ef_plan_missing (const EfAssessment *assessment)
{
  GPtrArray *missing = g_ptr_array_new_with_free_func (g_free);
  GPtrArray *sections = sheet_of (assessment)->sections;

  for (guint i = 0; i < sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sections, i);

      if (isnan (found_at (assessment, section, 0)) && isnan (found_at (assessment, section, 1)))
        g_ptr_array_add (missing, g_strdup (section->name));
    }
  return missing;
}

EfPlanState
ef_plan_state (const EfAssessment *assessment)
{
  g_autoptr (GPtrArray) missing = NULL;

  if (assessment->plan != NULL && assessment->plan->wanted)
    return assessment->plan->feasible ? EF_PLAN_DONE : EF_PLAN_PARTLY;
  missing = ef_plan_missing (assessment);
  return missing->len > 0 ? EF_PLAN_UNMEASURED : EF_PLAN_NOTHING;
}

const EfLapOption *
ef_plan_option (const EfAssessment *assessment)
{
  return assessment->plan != NULL ? assessment->plan->chosen : NULL;
}

/* --- Rows --------------------------------------------------------------------------------------------------------------------- */

static void
row_free (gpointer data)
{
  EfPlanRow *row = data;

  g_free (row->face_id);
  g_free (row->name);
  g_free (row->passes);
  ef_face_land_unref (row->land);
  g_free (row);
}

static char *
face_name (const EfAssessment *assessment, const char *face_id)
{
  const char *slash = strchr (face_id, '/');
  g_autofree char *part_id = slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : g_strdup (face_id);
  const EfPart *part = ef_pump_sheet_part (sheet_of (assessment), part_id);
  const EfFaceChart *chart = g_hash_table_lookup (assessment->findings.charts, face_id);
  g_autofree char *name = lower_first (part != NULL ? part->name : part_id);

  if (chart == NULL)
    return g_strdup (face_id);
  return g_strdup_printf (_("%s of the %s"), chart->name, name);
}

static char *
passes_text (const EfAssessment *assessment, const EfLapOption *option, guint face)
{
  const EfLapTable *table = assessment->plan->table;
  GString *text = g_string_new (NULL);

  if (option->passes != NULL && option->passes->feasible)
    for (guint k = 0; k < option->grits[face].n; k++)
      if (option->passes->counts[face][k] > 0)
        g_string_append_printf (text, "%s%d\302\240×\302\240%s", text->len > 0 ? ", " : "", option->passes->counts[face][k], k < table->n_grits ? table->grit[k].paper : "?");
  if (text->len == 0)
    g_string_append (text, "–");
  return g_string_free (text, FALSE);
}

static gboolean
is_failed (const EfLapWork *work, const char *id)
{
  for (guint i = 0; i < work->failed->len; i++)
    if (g_str_equal (g_ptr_array_index (work->failed, i), id))
      return TRUE;
  return FALSE;
}

static double
wear_on (const EfAssessment *assessment, const EfLapFace *face)
{
  const EfFaceWear *wear = g_hash_table_lookup (assessment->findings.wear, face->id);

  if (face->needed > 0)
    return face->needed - face->flatness;
  return wear != NULL && wear->worn_area > 0 ? wear->deepest : NAN;
}

static EfPlanRow *
row_new (const EfAssessment *assessment, const EfLapOption *option, guint i)
{
  const EfLapFace *face = ef_lap_problem_face (option->problem, i);
  const EfDerived *flatness = ef_derived_find (assessment->findings.derived, "flatness", face->id, NULL);
  const EfFaceLand *land = ef_face_land_find (assessment->land, face->id);
  EfPlanRow *row = g_new0 (EfPlanRow, 1);

  row->land = land != NULL ? ef_face_land_ref ((EfFaceLand *) land) : NULL;
  row->face_id = g_strdup (face->id);
  row->name = face_name (assessment, face->id);
  row->wear = wear_on (assessment, face);
  row->residual = face->needed > 0 ? face->residual : NAN;
  row->flatness = flatness != NULL ? flatness->value : NAN;
  row->flatness_allowed = isfinite (face->flatness_allowed) ? face->flatness_allowed : NAN;
  row->least = ef_lap_face_least (face);
  row->bound = face->stock;
  row->removal = option->removal != NULL ? option->removal[i] : 0;
  row->cut = MAX (0, row->removal - (isnan (row->flatness) ? 0 : MAX (row->flatness, 0)));
  row->failed = is_failed (assessment->plan, face->id);
  row->passes = passes_text (assessment, option, i);
  return row;
}

static double
flatness_of (const EfPlanRow *row)
{
  return isnan (row->flatness) ? 0 : MAX (row->flatness, 0);
}

double
ef_plan_restored (const EfPlanRow *row, double removal)
{
  return row->land != NULL ? ef_face_land_restored (row->land, flatness_of (row), removal) : NAN;
}

char *
ef_plan_land_words (const EfPlanRow *row, EfUnit unit)
{
  g_autofree char *needed = NULL;

  if (row->land == NULL)
    return NULL;
  needed = length (ef_face_land_needed (row->land, flatness_of (row)), unit);
  return g_strdup_printf (_("Sealing land intact: %.1f %% found, %.1f %% after lapping; %.0f %% takes %s off. Weighed by %s."), 100 * ef_plan_restored (row, 0),
                          100 * ef_plan_restored (row, row->removal), 100 * EF_SEALING_SHARE, needed, row->land->rests_on);
}

GPtrArray *
ef_plan_rows (const EfAssessment *assessment, const EfLapOption *option)
{
  GPtrArray *rows = g_ptr_array_new_with_free_func (row_free);

  for (guint i = 0; option != NULL && i < option->problem->faces->len; i++)
    {
      EfPlanRow *row = row_new (assessment, option, i);

      if (row->removal > ENOUGH || row->least > ENOUGH || row->failed)
        g_ptr_array_add (rows, row);
      else
        row_free (row);
    }
  return rows;
}

/* --- Bars --------------------------------------------------------------------------------------------------------------------- */

static void
bar_free (gpointer data)
{
  EfPlanBar *bar = data;

  g_free (bar->title);
  g_free (bar);
}

static const EfLapSection *
problem_section (const EfLapOption *option, const char *id)
{
  for (guint i = 0; option != NULL && i < option->problem->sections->len; i++)
    if (g_str_equal (ef_lap_problem_section (option->problem, i)->id, id))
      return ef_lap_problem_section (option->problem, i);
  return NULL;
}

static void
set_window (const EfAssessment *assessment, const EfSection *section, const EfLapSection *planned, EfPlanBar *bar)
{
  const EfLimit *limit = ef_pump_sheet_limit (sheet_of (assessment), "end-clearance", section->id);

  bar->use_min = limit != NULL ? limit->wear_min : NAN;
  bar->use_max = limit != NULL ? limit->wear_max : NAN;
  if (planned != NULL && isfinite (planned->clearance_min) && isfinite (planned->clearance_max))
    {
      bar->min = planned->clearance_min;
      bar->max = planned->clearance_max;
      ef_lap_section_window (planned, &bar->guard_min, &bar->guard_max);
    }
  else
    {
      ef_lap_clearance_window (sheet_of (assessment), section, &bar->min, &bar->max);
      bar->guard_min = bar->min;
      bar->guard_max = bar->max;
    }
}

static EfPlanBar *
bar_new (const EfAssessment *assessment, const EfLapOption *option, const EfSection *section, int gear)
{
  const EfLapSection *planned = problem_section (option, section->id);
  const EfDerived *derived = ef_derived_find (assessment->findings.derived, "end-clearance", section->id, places[gear]);
  const char *words[2] = { _("drive gear"), _("driven gear") };
  EfPlanBar *bar = g_new0 (EfPlanBar, 1);

  if (derived == NULL)
    derived = ef_derived_find (assessment->findings.derived, "end-clearance", section->id, NULL);
  bar->title = g_strdup_printf ("%s, %s", section->name, words[gear]);
  bar->found = found_at (assessment, section, gear);
  bar->uncertainty = derived != NULL && isfinite (derived->uncertainty) ? 2 * derived->uncertainty : NAN;
  bar->after = planned != NULL && option->removal != NULL ? ef_lap_section_clearance (planned, option->removal, gear) : bar->found;
  bar->changed = fabs (bar->after - bar->found) > 5e-7;
  set_window (assessment, section, planned, bar);
  return bar;
}

GPtrArray *
ef_plan_bars (const EfAssessment *assessment, const EfLapOption *option)
{
  GPtrArray *bars = g_ptr_array_new_with_free_func (bar_free);
  GPtrArray *sections = sheet_of (assessment)->sections;

  for (guint i = 0; i < sections->len; i++)
    for (int gear = 0; gear < 2; gear++)
      if (!isnan (found_at (assessment, g_ptr_array_index (sections, i), gear)))
        g_ptr_array_add (bars, bar_new (assessment, option, g_ptr_array_index (sections, i), gear));
  return bars;
}

char *
ef_plan_bar_values (const EfPlanBar *bar, EfUnit unit)
{
  g_autofree char *found = length (bar->found, unit);
  g_autofree char *after = length (bar->after, unit);

  return bar->changed ? g_strdup_printf ("%s → %s", found, after) : g_steal_pointer (&found);
}

char *
ef_plan_bar_words (const EfPlanBar *bar, EfUnit unit)
{
  g_autofree char *found = length (bar->found, unit);
  g_autofree char *after = length (bar->after, unit);
  g_autofree char *least = length (bar->min, unit);
  g_autofree char *most = length (bar->max, unit);

  if (!bar->changed)
    return g_strdup_printf (_("%s: end clearance %s, unchanged; window %s to %s"), bar->title, found, least, most);
  return g_strdup_printf (_("%s: end clearance found %s, after rework %s; window %s to %s"), bar->title, found, after, least, most);
}

/* --- Options ------------------------------------------------------------------------------------------------------------------ */

guint
ef_plan_passes (const EfLapOption *option)
{
  guint sum = 0;

  if (option->passes == NULL || !option->passes->feasible)
    return 0;
  for (guint i = 0; i < option->passes->n_faces; i++)
    for (guint k = 0; k < option->grits[i].n; k++)
      sum += (guint) option->passes->counts[i][k];
  return sum;
}

double
ef_plan_stock (const EfLapOption *option)
{
  return option->removal != NULL ? ef_lap_problem_stock (option->problem, option->removal) : NAN;
}

/* The larger of both gears', NAN where it isn't known. */
static double
clearance_after (const EfAssessment *assessment, const EfLapOption *option, const EfSection *section)
{
  const EfLapSection *planned = problem_section (option, section->id);
  double largest = NAN;

  for (int gear = 0; gear < 2 && planned != NULL && option->removal != NULL; gear++)
    if (!isnan (found_at (assessment, section, gear)))
      largest = fmax (largest, ef_lap_section_clearance (planned, option->removal, gear));
  return largest;
}

char *
ef_plan_clearances (const EfAssessment *assessment, const EfLapOption *option, EfUnit unit)
{
  GPtrArray *sections = sheet_of (assessment)->sections;
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sections, i);
      g_autofree char *name = lower_first (section->name);
      g_autofree char *value = length (clearance_after (assessment, option, section), unit);

      if (sections->len > 1)
        g_string_append_printf (text, "%s%s: %s", text->len > 0 ? "; " : "", name, value);
      else
        g_string_append (text, value);
    }
  return g_string_free (text, FALSE);
}

const char *
ef_plan_level_words (EfLapLevel level)
{
  switch (level)
    {
    case EF_LAP_RESIDUAL:
      return _("Wear of up to half the depth allowed stays; end clearance as new");
    case EF_LAP_SEALING:
      return _("95 % of what seals is restored, weighed by leakage; deep places may stay; end clearance as new");
    case EF_LAP_WITHIN:
      return _("Wear of up to half the depth allowed stays; end clearance within its limits for use");
    default:
      return _("Wear cleans up wholly; end clearance as new");
    }
}

/* --- Sentences ---------------------------------------------------------------------------------------------------------------- */

/* "side A", "end B": called by name, so without an article. */
static gboolean
is_lettered (const char *face_id)
{
  const char *slash = strchr (face_id, '/');

  return slash != NULL && (g_str_has_prefix (slash, "/side-") || g_str_has_prefix (slash, "/end-"));
}

static void
append_removals (GString *text, const EfAssessment *assessment, const EfLapOption *option, EfUnit unit)
{
  g_autoptr (GPtrArray) rows = ef_plan_rows (assessment, option);
  gboolean first = TRUE;

  for (guint i = 0; i < rows->len; i++)
    {
      const EfPlanRow *row = g_ptr_array_index (rows, i);
      g_autofree char *removal = length (row->removal, unit);
      g_autofree char *name = lower_first (row->name);

      if (!(row->removal > ENOUGH))
        continue;
      g_string_append_printf (text, "%s", first ? "" : ", ");
      g_string_append_printf (text, is_lettered (row->face_id) ? _("%s off %s") : _("%s off the %s"), removal, name);
      first = FALSE;
    }
  if (first)
    g_string_append (text, _("nothing comes off"));
}

static void
append_clearances (GString *text, const EfAssessment *assessment, const EfLapOption *option, EfUnit unit)
{
  g_autoptr (GPtrArray) bars = ef_plan_bars (assessment, option);
  GPtrArray *sections = sheet_of (assessment)->sections;

  for (guint i = 0; i < sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sections, i);
      double after = clearance_after (assessment, option, section);
      double found = fmax (found_at (assessment, section, 0), found_at (assessment, section, 1));
      g_autofree char *value = length (after, unit);
      g_autofree char *name = lower_first (section->name);

      if (!isnan (after) && fabs (after - found) > 5e-7)
        g_string_append_printf (text, _("; end clearance of the %s comes to %s"), name, value);
    }
}

static char *
joined (GPtrArray *texts)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < texts->len; i++)
    {
      g_autofree char *one = lower_first (g_ptr_array_index (texts, i));

      g_string_append_printf (text, "%s%s", i == 0 ? "" : i + 1 < texts->len ? ", " : _(" and "), one);
    }
  return g_string_free (text, FALSE);
}

static const char *
nothing_sentence (const EfAssessment *assessment)
{
  switch (assessment->verdict->word)
    {
    case EF_VERDICT_SCRAP:
      return _("Nothing to lap: what condemns this pump can't be lapped away.");
    case EF_VERDICT_MEASURE:
      return _("Nothing to lap yet: measure again first.");
    case EF_VERDICT_REWORK:
      return _("Nothing to lap: the rework is of another kind, see the steps.");
    default:
      return _("Nothing to lap: wear and end clearances are within their limits.");
    }
}

/* The one to act on first; the others are listed. */
static const char *
first_reason (const EfLapWork *work)
{
  if (work->conflicts != NULL && work->conflicts->len > 0)
    return ((const EfLapConflict *) g_ptr_array_index (work->conflicts, 0))->sentence;
  return work->reason;
}

static const char *
opening (const EfAssessment *assessment)
{
  switch (assessment->verdict->word)
    {
    case EF_VERDICT_SCRAP:
      return _("Lapping alone doesn't save the pump, since parts of it are scrap; on the sound parts: ");
    case EF_VERDICT_MEASURE:
      return _("If finer readings confirm it, lapping does: ");
    default:
      return _("Lapping saves the pump: ");
    }
}

char *
ef_plan_sentence (const EfAssessment *assessment, EfUnit unit)
{
  const EfLapOption *option = ef_plan_option (assessment);
  EfPlanState state = ef_plan_state (assessment);
  GString *text = g_string_new (NULL);

  if (state == EF_PLAN_NOTHING)
    g_string_append (text, nothing_sentence (assessment));
  else if (state == EF_PLAN_UNMEASURED)
    {
      g_autoptr (GPtrArray) missing = ef_plan_missing (assessment);
      g_autofree char *names = joined (missing);

      g_string_append_printf (text, _("No plan yet: pocket depth and face widths, or end clearance, of the %s aren't measured."), names);
    }
  else if (state == EF_PLAN_PARTLY)
    {
      const char *reason = first_reason (assessment->plan);
      g_autofree char *lower = reason != NULL ? lower_first (reason) : NULL;

      g_string_append (text, _("It can't be lapped within the limits"));
      g_string_append (text, lower != NULL ? ": " : ".");
      g_string_append (text, lower != NULL ? lower : "");
    }
  else if (option != NULL)
    {
      g_string_append (text, opening (assessment));
      append_removals (text, assessment, option, unit);
      append_clearances (text, assessment, option, unit);
      g_string_append (text, ".");
    }
  return g_string_free (text, FALSE);
}

/* What the passes rest on. */
static char *
rates_words (const EfLapWork *work)
{
  if (work->table == NULL || work->table->learned == 0)
    return g_strdup (_("Passes by common-practice rates."));

  return g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "Passes by the shop's own rates, learned from %u measurement.", "Passes by the shop's own rates, learned from %u measurements.", work->table->learned),
                          work->table->learned);
}

char *
ef_plan_note (const EfAssessment *assessment)
{
  const EfLapOption *option = ef_plan_option (assessment);
  g_autofree char *rates = NULL;

  if (option == NULL || ef_plan_state (assessment) != EF_PLAN_DONE)
    return NULL;
  rates = rates_words (assessment->plan);
  if (option->level == EF_LAP_AS_NEW || assessment->plan->reason == NULL)
    return g_strdup_printf ("%s. %s", ef_plan_level_words (option->level), rates);
  return g_strdup_printf (_("%s. %s As new can't be had: %s"), ef_plan_level_words (option->level), rates, assessment->plan->reason);
}

char *
ef_plan_shortfall (const EfLapConflict *conflict, EfUnit unit)
{
  g_autofree char *by = length (conflict->shortfall, unit);

  if (conflict->restores)
    return g_strdup_printf (_("If it gives way by %s, all can be had"), by);
  return g_strdup_printf (_("Giving way by %s would not be enough on its own"), by);
}
