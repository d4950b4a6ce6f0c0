/* What all rules share: limits, the decision against a limit, and the sentence for it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "../metrology/ef-propagate.h"
#include "ef-rule.h"

#define MOST_REPEATS 20 /* nobody takes more */

static const char *const face_kind_names[EF_N_FACE_KINDS] = {
  [EF_FACE_FLOOR] = "floor",
  [EF_FACE_WALL] = "wall",
  [EF_FACE_MATING] = "mating",
  [EF_FACE_BORE] = "bore",
  [EF_FACE_SIDE] = "side",
  [EF_FACE_END] = "end",
  [EF_FACE_FLANK] = "flank",
  [EF_FACE_TIPS] = "tips",
  [EF_FACE_KEYWAY] = "keyway",
  [EF_FACE_JOURNAL] = "journal",
  [EF_FACE_PIN_HOLE] = "pin-hole",
};

const char *
ef_rule_face_kind_name (EfFaceKind kind)
{
  return (guint) kind < EF_N_FACE_KINDS ? face_kind_names[kind] : "unknown";
}

EfFaceKind
ef_rule_face_kind (const char *face_id)
{
  const char *face = face_id != NULL ? strchr (face_id, '/') : NULL;

  if (face == NULL)
    return EF_N_FACE_KINDS;
  face++;
  if (g_str_has_prefix (face, "hole-"))
    return EF_FACE_BORE;
  for (guint i = 0; i < EF_N_FACE_KINDS; i++)
    {
      gsize length = strlen (face_kind_names[i]);

      if (g_str_has_prefix (face, face_kind_names[i]) && (face[length] == '\0' || face[length] == '-'))
        return i;
    }

  return EF_N_FACE_KINDS;
}

/* "Separator plate" -> "separator plate", but "HL-24 plate" stays. */
char *
ef_rule_lower (const char *name)
{
  gunichar first = name != NULL ? g_utf8_get_char (name) : 0;
  gunichar second = first != 0 ? g_utf8_get_char (g_utf8_next_char (name)) : 0;
  char start[7] = { 0 };

  if (first == 0)
    return g_strdup ("");
  if (!g_unichar_islower (second) && second != ' ')
    return g_strdup (name);
  start[g_unichar_to_utf8 (g_unichar_tolower (first), start)] = '\0';

  return g_strconcat (start, g_utf8_next_char (name), NULL);
}

static char *
capitalise (const char *sentence)
{
  gunichar first = g_utf8_get_char (sentence);
  char start[7] = { 0 };

  if (first == 0)
    return g_strdup (sentence);
  start[g_unichar_to_utf8 (g_unichar_toupper (first), start)] = '\0';

  return g_strconcat (start, g_utf8_next_char (sentence), NULL);
}

char *
ef_rule_face_name (const EfFaceChart *chart,
                   const char *face_id)
{
  const char *face = strchr (face_id, '/');

  if (chart != NULL && chart->name != NULL)
    return ef_rule_lower (chart->name);

  return g_strdelimit (g_strdup (face != NULL ? face + 1 : face_id), "-", ' ');
}

/* Hundredths where that says it all, otherwise thousandths. */
char *
ef_rule_length (double metres)
{
  double hundredths = metres * 1e5;

  return ef_format_quantity (metres, EF_UNIT_MM, fabs (hundredths - round (hundredths)) < 1e-3 ? 2 : 3);
}

double
ef_rule_param (const EfRuleCase *c,
               const char *name,
               double fallback)
{
  const double *value = g_hash_table_lookup (c->rule->params, name);

  return value != NULL ? *value : fallback;
}

/* The more particular of the part's and the section's limit. */
static const EfLimit *
sheet_limit (const EfRuleCase *c)
{
  const EfPumpSheet *sheet = c->findings->inspection->sheet;
  const EfLimit *by_part = NULL;
  const EfLimit *by_section = NULL;

  if (c->rule->quantity == NULL)
    return NULL;
  if (c->part != NULL)
    by_part = ef_pump_sheet_limit (sheet, c->rule->quantity, c->part->id);
  if (by_part != NULL && by_part->target != NULL)
    return by_part;
  if (c->section != NULL)
    by_section = ef_pump_sheet_limit (sheet, c->rule->quantity, c->section->id);
  if (by_section != NULL)
    return by_section;

  return by_part != NULL ? by_part : ef_pump_sheet_limit (sheet, c->rule->quantity, NULL);
}

void
ef_rule_question (const EfRuleCase *c,
                  EfQuestion *question)
{
  const EfLimit *limit = sheet_limit (c);
  gboolean has_least = (c->rule->check->outcomes & EF_OUTCOME_BIT (EF_OUTCOME_UNDER)) != 0;

  *question = (EfQuestion){ .value = NAN, .u = NAN, .terms = 1, .source = c->rule->source, .decided = NAN, .probability = NAN, .needed_u = NAN };
  question->least = ef_rule_param (c, "least_mm", NAN);
  question->limit = ef_rule_param (c, "limit_mm", NAN);
  question->beyond = ef_rule_param (c, "rework_limit_mm", NAN);
  if (limit == NULL)
    return;

  question->from_sheet = TRUE;
  question->source = limit->source != NULL ? limit->source : c->rule->source;
  if (!isnan (limit->wear_max))
    {
      question->limit = limit->wear_max;
      question->beyond = limit->rework_max;
    }
  else if (!isnan (limit->rework_max))
    question->beyond = limit->rework_max;
  if (has_least && !isnan (limit->wear_min))
    question->least = limit->wear_min;
}

/* The day a reading was taken, or the job received, as ISO date. */
static char *
day_of (const EfRuleCase *c,
        const EfReading *reading)
{
  const EfJobHeader *header = ef_inspection_header (c->findings->inspection);

  if (reading != NULL && reading->time != NULL)
    return g_strndup (reading->time, strlen ("2026-05-31"));

  return g_strdup (header != NULL ? header->received : NULL);
}

static const EfGauge *
find_gauge (const EfRuleCase *c,
            const char *id)
{
  return id != NULL ? ef_inspection_find (c->findings->inspection, EF_ITEM_GAUGE, id) : NULL;
}

static void
note_overdue (const EfRuleCase *c,
              const EfGauge *gauge,
              const EfReading *reading,
              EfQuestion *question)
{
  g_autofree char *day = day_of (c, reading);

  if (gauge != NULL && question->overdue == NULL && ef_gauge_overdue (gauge, day))
    question->overdue = gauge;
}

static void
assume (EfQuestion *question,
        double expanded)
{
  question->assumed = TRUE;
  question->u = question->fixed = expanded / 2.0;
}

void
ef_rule_take_derived (const EfRuleCase *c,
                      const EfDerived *derived,
                      EfQuestion *question)
{
  question->value = derived->value;
  question->how = derived->how;
  question->u = derived->uncertainty;
  question->fixed = derived->fixed;
  question->scatter = derived->scatter;
  question->terms = MAX (derived->terms, 1);
  if (isnan (question->u))
    assume (question, c->set->no_gauge_reading * sqrt (question->terms));
  for (guint i = 0; i < derived->reading_ids->len; i++)
    {
      const EfReading *reading = ef_inspection_find (c->findings->inspection, EF_ITEM_READING, derived->reading_ids->pdata[i]);

      if (reading != NULL)
        note_overdue (c, find_gauge (c, reading->gauge_id), reading, question);
    }
}

/* Its expanded uncertainty, or its kind's; one step of its scale, rectangular. */
void
ef_rule_take_depth (const EfRuleCase *c,
                    const EfMarkDepth *depth,
                    EfQuestion *question)
{
  const EfGauge *gauge = find_gauge (c, depth->gauge_id);
  double expanded;

  question->value = depth->depth;
  question->scatter = 0.0;
  question->overdue = NULL;
  question->assumed = FALSE;
  if (gauge == NULL)
    {
      assume (question, c->set->no_gauge_depth);
      return;
    }
  expanded = gauge->uncertainty > 0.0 ? gauge->uncertainty : c->set->gauge_default[gauge->kind];
  question->u = question->fixed = hypot (expanded / 2.0, ef_u_rectangular (gauge->resolution / 2.0));
  note_overdue (c, gauge, NULL, question);
}

void
ef_rule_take_drawn (const EfRuleCase *c,
                    double value,
                    EfQuestion *question)
{
  question->value = value;
  question->scatter = 0.0;
  assume (question, question->is_share ? c->set->drawn_share : c->set->drawn_length);
}

static gboolean
may_be_beyond (const EfRuleCase *c,
               const EfQuestion *q)
{
  EfDecision second;

  return !isnan (q->beyond) && ef_decide (&c->set->decision, q->value, q->u, NAN, q->beyond, &second, NULL) && second.zone != EF_ZONE_ACCEPT;
}

/* Past the first limit for sure: past the second as well? */
static EfOutcome
decide_beyond (const EfRuleCase *c,
               EfQuestion *q)
{
  EfDecision second;

  if (isnan (q->beyond) || !ef_decide (&c->set->decision, q->value, q->u, NAN, q->beyond, &second, NULL)
      || second.zone != EF_ZONE_REJECT)
    return EF_OUTCOME_OVER;
  q->decided = q->beyond;
  q->probability = second.probability;

  return EF_OUTCOME_BEYOND;
}

EfOutcome
ef_rule_decide (const EfRuleCase *c,
                EfQuestion *q)
{
  double first = isnan (q->limit) ? q->beyond : q->limit;
  double least = q->least > first ? NAN : q->least;
  EfDecision decision;

  q->decided = first;
  if (!isfinite (q->value) || isnan (q->u) || !ef_decide (&c->set->decision, q->value, q->u, least, first, &decision, NULL))
    return EF_OUTCOME_UNKNOWN;
  q->probability = decision.probability;
  q->needed_u = decision.needed_u;
  q->doubtful = may_be_beyond (c, q);
  if (decision.zone == EF_ZONE_ACCEPT)
    {
      q->decided = isnan (first) ? least : first;
      return EF_OUTCOME_OK;
    }
  q->decided = decision.limit;
  if (decision.zone == EF_ZONE_UNDECIDED)
    return EF_OUTCOME_COARSE;
  if (decision.side < 0)
    return EF_OUTCOME_UNDER;

  return decide_beyond (c, q);
}

static const EfWording *
wording_for (const EfRuleCase *c,
             EfOutcome outcome)
{
  return c->rule->wording[outcome].given ? &c->rule->wording[outcome] : &c->set->common[outcome];
}

EfVerdictWord
ef_rule_word (const EfRuleCase *c,
              EfOutcome outcome)
{
  return outcome < EF_N_OUTCOMES ? wording_for (c, outcome)->word : EF_VERDICT_USE;
}

EfOutcome
ef_rule_decide_depths (const EfRuleCase *c,
                       EfQuestion *question)
{
  EfOutcome worst = EF_OUTCOME_UNKNOWN;
  EfQuestion worst_question = *question;
  gboolean any = FALSE;

  for (guint i = 0; i < c->mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (c->mark->depths, EfMarkDepth, i);
      EfQuestion q = *question;
      EfOutcome outcome;

      ef_rule_take_depth (c, depth, &q);
      outcome = ef_rule_decide (c, &q);
      if (!any || ef_rule_word (c, outcome) > ef_rule_word (c, worst)
          || (ef_rule_word (c, outcome) == ef_rule_word (c, worst) && q.value > worst_question.value))
        {
          worst = outcome;
          worst_question = q;
        }
      any = TRUE;
    }

  *question = worst_question;

  return worst;
}

/* Sentences */

static const char *const placeholders[] = {
  "mark", "kind", "face", "part", "mate", "section", "pair",           /* who */
  "value", "limit", "beyond", "least", "needed", "gauge", "quantity", /* how much */
  "uncertainty", "probability", "overdue", "repeats",                  /* how sure */
  "place", "side", "bore", "runs", "tooth", "parts", "state", "note", "how", /* said by the check */
  NULL
};

gboolean
ef_rule_placeholder_known (const char *name)
{
  return g_strv_contains (placeholders, name);
}

static const char *
gauge_for (const EfRuleCase *c)
{
  if (c->mark == NULL)
    {
      const char *quantity = c->rule->quantity != NULL ? c->rule->quantity : "";

      if (strstr (quantity, "bore") != NULL)
        return "a bore gauge";
      if (strstr (quantity, "journal") != NULL || strstr (quantity, "width") != NULL)
        return "a micrometer";
      if (g_str_equal (quantity, "flatness"))
        return "a straightedge and feeler blades, or a dial indicator";
      if (g_str_equal (quantity, "end-clearance"))
        return "a depth micrometer and a micrometer, or a straightedge and feeler blades";
      return "feeler blades or a dial indicator";
    }

  switch (c->face_kind)
    {
    case EF_FACE_WALL:
    case EF_FACE_BORE:
      return "a dial indicator or a bore gauge";
    case EF_FACE_JOURNAL:
      return "a micrometer";
    case EF_FACE_FLANK:
    case EF_FACE_TIPS:
      return "a dial indicator";
    default:
      return "a depth gauge or a dial indicator";
    }
}

/* Expanded uncertainty of a gauge that would have decided, rounded down to one digit: shared out where two go into the value. */
static char *
needed_text (const EfQuestion *q)
{
  double needed = q != NULL ? 2.0 * q->needed_u / sqrt (q->terms) : NAN;
  double unit;

  if (!isfinite (needed) || needed < 1e-6)
    return ef_rule_length (1e-6);
  unit = pow (10.0, floor (log10 (needed) + 1e-9));

  return ef_rule_length (floor (needed / unit + 1e-9) * unit);
}

static char *
probability_text (double p)
{
  if (p < 0.001)
    return g_strdup ("below 0.1 %");
  if (p > 0.999)
    return g_strdup ("above 99.9 %");

  return g_strdup_printf (p < 0.01 || p > 0.99 ? "%.1f %%" : "%.0f %%", p * 100.0);
}

static char *
overdue_text (const EfGauge *gauge)
{
  if (gauge == NULL)
    return NULL;
  if (gauge->serial == NULL || *gauge->serial == '\0')
    return g_strdup_printf ("%s, due %s", gauge->name, gauge->due);

  return g_strdup_printf ("%s, serial %s, due %s", gauge->name, gauge->serial, gauge->due);
}

static guint
repeats_needed (const EfRuleCase *c,
                const EfQuestion *q)
{
  if (!(q->scatter > 0.0))
    return 0;

  return ef_decision_repeats (&c->set->decision, fabs (q->value - q->decided), q->fixed, q->scatter, MOST_REPEATS);
}

static char *
uncertainty_text (const EfQuestion *q)
{
  return q->is_share ? g_strdup_printf ("%.0f %%", 2.0 * q->u * 100.0) : ef_rule_length (2.0 * q->u);
}

static char *
number_text (const EfQuestion *q,
             double number,
             gboolean with_uncertainty)
{
  g_autofree char *text = NULL;
  g_autofree char *uncertainty = NULL;

  if (isnan (number))
    return g_strdup ("not known");
  text = q->is_share ? g_strdup_printf ("%.0f %%", number * 100.0) : ef_rule_length (number);
  if (!with_uncertainty || isnan (q->u) || q->u <= 0.0)
    return g_steal_pointer (&text);
  uncertainty = uncertainty_text (q);

  return g_strdup_printf ("%s ± %s", text, uncertainty);
}

static char *
quantity_text (const EfRuleCase *c)
{
  return c->rule->quantity != NULL ? g_strdelimit (g_strdup (c->rule->quantity), "-", ' ') : g_strdup ("");
}

/* Text for the placeholders that follow from the case itself; NULL for those the check must give. */
static char *
case_text (const EfRuleCase *c,
           const EfQuestion *q,
           const char *name)
{
  if (g_str_equal (name, "mark"))
    return c->mark != NULL ? g_strdup_printf ("mark %d", c->mark->number) : NULL;
  if (g_str_equal (name, "kind"))
    return c->mark != NULL ? ef_rule_lower (ef_mark_kind_label (c->mark->kind)) : NULL;
  if (g_str_equal (name, "face"))
    return c->mark != NULL ? ef_rule_face_name (c->chart, c->mark->face_id) : NULL;
  if (g_str_equal (name, "part"))
    return c->part != NULL ? ef_rule_lower (c->part->name) : NULL;
  if (g_str_equal (name, "mate"))
    return c->mate != NULL ? ef_rule_lower (c->mate->name) : NULL;
  if (g_str_equal (name, "section"))
    return c->section != NULL ? ef_rule_lower (c->section->name) : NULL;
  if (g_str_equal (name, "gauge"))
    return g_strdup (gauge_for (c));
  if (g_str_equal (name, "quantity"))
    return quantity_text (c);
  if (g_str_equal (name, "needed"))
    return needed_text (q);
  if (q == NULL)
    return NULL;
  if (g_str_equal (name, "value"))
    return number_text (q, q->value, TRUE);
  if (g_str_equal (name, "limit"))
    return number_text (q, isnan (q->decided) ? q->limit : q->decided, FALSE);
  if (g_str_equal (name, "beyond"))
    return number_text (q, q->beyond, FALSE);
  if (g_str_equal (name, "least"))
    return number_text (q, q->least, FALSE);
  if (g_str_equal (name, "uncertainty"))
    return uncertainty_text (q);
  if (g_str_equal (name, "probability"))
    return probability_text (q->probability);
  if (g_str_equal (name, "overdue"))
    return overdue_text (q->overdue);
  if (g_str_equal (name, "repeats"))
    return g_strdup_printf ("%u", repeats_needed (c, q));

  return NULL;
}

static char *
fill (const EfRuleCase *c,
      const EfQuestion *q,
      const char *template,
      GHashTable *said)
{
  GString *text = g_string_new (NULL);
  g_autofree char *whole = NULL;
  const char *p = template;

  if (template == NULL)
    return g_string_free (text, TRUE), NULL;
  while (*p != '\0')
    {
      const char *end = *p == '{' ? strchr (p, '}') : NULL;
      g_autofree char *name = NULL;
      g_autofree char *own = NULL;
      const char *given;

      if (end == NULL)
        {
          g_string_append_c (text, *p++);
          continue;
        }
      name = g_strndup (p + 1, end - p - 1);
      given = g_hash_table_lookup (said, name);
      if (given == NULL)
        own = case_text (c, q, name);
      g_string_append (text, given != NULL ? given : own != NULL ? own : "?");
      p = end + 1;
    }
  whole = g_string_free (text, FALSE);

  return capitalise (whole);
}

/* A gauge too coarse can't make a verdict worse than being past the limit would. */
static EfVerdictWord
word_for (const EfRuleCase *c,
          EfOutcome outcome)
{
  EfVerdictWord word = ef_rule_word (c, outcome);

  if (outcome != EF_OUTCOME_COARSE)
    return word;
  if (c->rule->wording[EF_OUTCOME_OVER].given)
    return MIN (word, c->rule->wording[EF_OUTCOME_OVER].word);

  return word;
}

static void
append (const EfRuleCase *c,
        const EfQuestion *question,
        GHashTable *said,
        const char *note,
        char **text)
{
  g_autofree char *before = *text;
  g_autofree char *more = fill (c, question, note, said);

  *text = before != NULL ? g_strdup_printf ("%s %s", before, more) : g_strdup (more);
}

/* Undecided, or over and perhaps beyond, where that would mean scrap. */
static gboolean
may_scrap (const EfRuleCase *c,
           EfOutcome outcome,
           const EfQuestion *question)
{
  gboolean over = c->rule->wording[EF_OUTCOME_OVER].given && ef_rule_word (c, EF_OUTCOME_OVER) == EF_VERDICT_SCRAP;
  gboolean beyond = c->rule->wording[EF_OUTCOME_BEYOND].given && ef_rule_word (c, EF_OUTCOME_BEYOND) == EF_VERDICT_SCRAP;

  if (outcome == EF_OUTCOME_UNKNOWN)
    return over || beyond;
  if (question == NULL || (outcome != EF_OUTCOME_COARSE && outcome != EF_OUTCOME_OVER))
    return FALSE;

  return (over && outcome == EF_OUTCOME_COARSE && question->decided != question->least) || (beyond && question->doubtful);
}

/* How sure it is, and on what ground. */
static void
add_notes (const EfRuleCase *c,
           EfOutcome outcome,
           const EfQuestion *question,
           GHashTable *said,
           EfReason *reason)
{
  if (isnan (question->probability) || outcome == EF_OUTCOME_UNKNOWN || outcome == EF_OUTCOME_FOUND)
    return;
  append (c, question, said, c->set->notes.probability, &reason->sentence);
  if (question->assumed)
    append (c, question, said, c->set->notes.no_gauge, &reason->sentence);
  if (question->overdue != NULL)
    append (c, question, said, c->set->notes.overdue, &reason->sentence);
  if (outcome == EF_OUTCOME_OVER && question->doubtful)
    append (c, question, said, c->set->notes.doubt, &reason->advice);
  if (outcome == EF_OUTCOME_COARSE && repeats_needed (c, question) > 0)
    append (c, question, said, c->set->notes.repeats, &reason->advice);
}

static const char *
target_of (const EfRuleCase *c,
           GHashTable *said)
{
  const char *given = g_hash_table_lookup (said, "target");

  if (given != NULL)
    return given;
  if (c->mark != NULL)
    return c->mark->face_id;
  if (c->part != NULL)
    return c->part->id;

  return c->section != NULL ? c->section->id : NULL;
}

void
ef_rule_say (const EfRuleCase *c,
             EfOutcome outcome,
             const EfQuestion *question,
             GPtrArray *refs,
             ...)
{
  g_autoptr (GHashTable) said = g_hash_table_new (g_str_hash, g_str_equal);
  const EfWording *wording;
  const char *name;
  EfReason *reason;
  va_list pairs;

  if (outcome >= EF_N_OUTCOMES || wording_for (c, outcome)->sentence == NULL)
    return;

  va_start (pairs, refs);
  while ((name = va_arg (pairs, const char *)) != NULL)
    g_hash_table_insert (said, (gpointer) name, va_arg (pairs, char *));
  va_end (pairs);

  wording = wording_for (c, outcome);
  reason = ef_reason_new (word_for (c, outcome), c->rule->id, fill (c, question, wording->sentence, said));
  reason->advice = fill (c, question, wording->advice, said);
  if (question != NULL)
    add_notes (c, outcome, question, said, reason);
  reason->may_scrap = may_scrap (c, outcome, question);
  reason->action = g_strdup (wording->action);
  reason->target = g_strdup (target_of (c, said));
  reason->source = g_strdup (question != NULL ? question->source : c->rule->source);
  reason->summary = c->rule->check->summary;
  if (question != NULL)
    {
      reason->value = question->value;
      reason->limit = question->decided;
      reason->uncertainty = 2.0 * question->u;
      reason->probability = question->probability;
      reason->unit = question->is_share ? EF_UNIT_NONE : EF_UNIT_MM;
      reason->how = g_strdup (question->how);
      reason->least = question->least;
      reason->wear = question->limit;
      reason->beyond = question->beyond;
      reason->limit_assumed = !question->from_sheet && !c->rule->of_sheet;
      reason->u_assumed = question->assumed;
    }
  if (c->mark != NULL)
    g_ptr_array_add (reason->refs, g_strdup_printf ("mark:%s", c->mark->item.id));
  for (guint i = 0; refs != NULL && i < refs->len; i++)
    g_ptr_array_add (reason->refs, g_strdup_printf ("reading:%s", (char *) refs->pdata[i]));
  reason->n_own = reason->refs->len;
  g_ptr_array_add (c->reasons, reason);
}
