/* What all rules share: limits, the decision against a limit, and the sentence for it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "ef-rule.h"

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

  *question = (EfQuestion){ NAN, NAN, NAN, NAN, NAN, NAN, FALSE, c->rule->source };
  question->least = ef_rule_param (c, "least_mm", NAN);
  question->limit = ef_rule_param (c, "limit_mm", NAN);
  question->beyond = ef_rule_param (c, "rework_limit_mm", NAN);
  if (limit == NULL)
    return;

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

EfOutcome
ef_rule_decide (EfQuestion *q)
{
  double u = isnan (q->expanded) ? 0.0 : q->expanded;
  double first = isnan (q->limit) ? q->beyond : q->limit;

  q->decided = first;
  if (isnan (q->value))
    return EF_OUTCOME_UNKNOWN;
  if (q->value < q->least && q->least - q->value >= u)
    {
      q->decided = q->least;
      return EF_OUTCOME_UNDER;
    }
  if (fabs (q->value - first) < u)
    return EF_OUTCOME_COARSE;
  if (fabs (q->value - q->least) < u)
    {
      q->decided = q->least;
      return EF_OUTCOME_COARSE;
    }
  if (q->value > q->beyond && q->value - q->beyond >= u)
    {
      q->decided = q->beyond;
      return EF_OUTCOME_BEYOND;
    }
  if (q->value > first)
    return EF_OUTCOME_OVER;

  return EF_OUTCOME_OK;
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

double
ef_rule_gauge (const EfRuleCase *c,
               const char *gauge_id)
{
  const EfGauge *gauge = gauge_id != NULL ? ef_inspection_find (c->findings->inspection, EF_ITEM_GAUGE, gauge_id) : NULL;

  if (gauge == NULL)
    return NAN;
  if (gauge->uncertainty > 0.0)
    return gauge->uncertainty;

  return c->set->gauge_default[gauge->kind];
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

      q.value = depth->depth;
      q.expanded = ef_rule_gauge (c, depth->gauge_id);
      outcome = ef_rule_decide (&q);
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

/* The distance from the limit rounded down to one digit: what a gauge must be good for. */
static char *
needed_text (const EfQuestion *q)
{
  double distance = q != NULL ? fabs (q->value - q->decided) : NAN;
  double unit;

  if (isnan (distance) || distance < 1e-6)
    return ef_rule_length (1e-6);
  unit = pow (10.0, floor (log10 (distance) + 1e-9));

  return ef_rule_length (floor (distance / unit + 1e-9) * unit);
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
  if (q->is_share)
    return g_strdup_printf ("%.0f %%", number * 100.0);
  text = ef_rule_length (number);
  if (!with_uncertainty || isnan (q->expanded) || q->expanded <= 0.0)
    return g_steal_pointer (&text);
  uncertainty = ef_rule_length (q->expanded);

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

/* Past the first limit for certain, past the second perhaps. */
static void
add_doubt (const EfRuleCase *c,
           const EfQuestion *question,
           GHashTable *said,
           EfReason *reason)
{
  g_autofree char *advice = reason->advice;
  g_autofree char *doubt = fill (c, question, c->set->doubt.sentence, said);

  reason->advice = advice != NULL ? g_strdup_printf ("%s %s", advice, doubt) : g_strdup (doubt);
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
  if (outcome == EF_OUTCOME_OVER && question->value + question->expanded > question->beyond)
    add_doubt (c, question, said, reason);
  reason->action = g_strdup (wording->action);
  reason->target = g_strdup (target_of (c, said));
  reason->source = g_strdup (question != NULL ? question->source : c->rule->source);
  if (question != NULL)
    {
      reason->value = question->value;
      reason->limit = question->decided;
      reason->unit = question->is_share ? EF_UNIT_NONE : EF_UNIT_MM;
    }
  if (c->mark != NULL)
    g_ptr_array_add (reason->refs, g_strdup_printf ("mark:%s", c->mark->item.id));
  for (guint i = 0; refs != NULL && i < refs->len; i++)
    g_ptr_array_add (reason->refs, g_strdup_printf ("reading:%s", (char *) refs->pdata[i]));
  g_ptr_array_add (c->reasons, reason);
}
