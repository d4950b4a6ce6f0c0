/* The verdict tree, grown from the leaves: mark -> part -> mated pair -> section -> pump.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A node's word is the worst of its own reasons and its children's words, unless it was set by hand. Reasons that are worse
 * than "use again" rise to the top; on the way from marks to their part those of one rule are gathered into one.
 */
#include <math.h>
#include <string.h>

#include "ef-rule.h"

typedef struct
{
  const EfRuleSet *set;
  const EfFindings *findings;
  const EfPumpSheet *sheet;
} Judge;

static gboolean
rule_applies (const EfRule *rule,
              const EfRuleCase *c)
{
  if (c->part != NULL && (rule->parts & (1u << c->part->kind)) == 0)
    return FALSE;
  if (c->mark == NULL)
    return TRUE;

  return (rule->kinds & (1u << c->mark->kind)) != 0 && c->face_kind < EF_N_FACE_KINDS && (rule->faces & (1u << c->face_kind)) != 0;
}

/* Rules on a gear that follow from what its mate came to. */
static gboolean
is_mate_rule (const EfRule *rule)
{
  return g_str_has_prefix (rule->check->name, "mate-");
}

static void
run_rules (const Judge *judge,
           EfLevel level,
           EfRuleCase *c)
{
  c->set = judge->set;
  c->findings = judge->findings;
  for (guint i = 0; i < judge->set->rules->len; i++)
    {
      const EfRule *rule = judge->set->rules->pdata[i];

      if (rule->level != level || is_mate_rule (rule) || !rule_applies (rule, c))
        continue;
      c->rule = rule;
      rule->check->run (c);
    }
}

/* Sets the node's words from its reasons and children; the override's reason comes first. */
static void
settle (const Judge *judge,
        EfVerdict *node)
{
  EfReason *reason;

  ef_reasons_rank (node->reasons);
  node->computed = EF_VERDICT_USE;
  for (guint i = 0; i < node->reasons->len; i++)
    node->computed = MAX (node->computed, ((EfReason *) node->reasons->pdata[i])->word);
  for (guint i = 0; i < node->children->len; i++)
    node->computed = MAX (node->computed, ((EfVerdict *) node->children->pdata[i])->word);
  node->word = node->computed;

  node->override = ef_inspection_find (judge->findings->inspection, EF_ITEM_OVERRIDE, node->id);
  if (node->override == NULL || !ef_verdict_from_name (node->override->verdict, &node->word))
    {
      node->override = NULL;
      return;
    }
  reason = ef_reason_new (node->word, "override",
                          g_strdup_printf ("%s: set to “%s” by hand%s%s: %s",
                                           node->title,
                                           ef_verdict_label (node->word),
                                           node->override->role != NULL ? ", " : "",
                                           node->override->role != NULL ? node->override->role : "",
                                           node->override->reason));
  reason->source = g_strdup ("decision at the bench");
  g_ptr_array_insert (node->reasons, 0, reason);
}

/* Reasons of a child that its parent takes over: all, or what was set by hand alone. */
static guint
n_standing (const EfVerdict *child)
{
  return child->override != NULL ? 1 : child->reasons->len;
}

static void
merge_refs (EfReason *into,
            const EfReason *from)
{
  for (guint i = 0; i < from->refs->len; i++)
    if (!g_ptr_array_find_with_equal_func (into->refs, from->refs->pdata[i], g_str_equal, NULL))
      g_ptr_array_add (into->refs, g_strdup (from->refs->pdata[i]));
}

/* Decisions by hand are read all the way up. */
static gboolean
is_override (const EfReason *reason)
{
  return g_str_equal (reason->rule, "override");
}

/* One reason for all that follows from the same rule: the worst of them, which says how many more there are. */
static void
gather (GPtrArray *reasons)
{
  ef_reasons_rank (reasons);
  for (guint i = 0; i < reasons->len; i++)
    {
      EfReason *kept = reasons->pdata[i];
      guint more = 0;

      for (guint k = i + 1; k < reasons->len;)
        {
          EfReason *other = reasons->pdata[k];

          if (other->word != kept->word || !g_str_equal (other->rule, kept->rule) || is_override (kept))
            {
              k++;
              continue;
            }
          merge_refs (kept, other);
          more++;
          ef_reason_free (g_ptr_array_steal_index (reasons, k));
        }
      if (more > 0)
        {
          g_autofree char *sentence = kept->sentence;

          kept->sentence = more == 1 ? g_strdup_printf ("%s And one more like it.", sentence)
                                     : g_strdup_printf ("%s And %u more like it.", sentence, more);
        }
    }
}

static gboolean
is_said (GPtrArray *reasons,
         const EfReason *reason)
{
  for (guint i = 0; i < reasons->len; i++)
    {
      const EfReason *other = reasons->pdata[i];

      if (g_str_equal (other->rule, reason->rule) && g_str_equal (other->sentence, reason->sentence))
        return TRUE;
    }

  return FALSE;
}

/* What the children give to @node: what is worse than use again; where nothing is and @keep_good, the good reasons. */
static void
raise_reasons (EfVerdict *node,
               gboolean gathered,
               gboolean keep_good)
{
  g_autoptr (GPtrArray) raised = g_ptr_array_new ();
  EfVerdictWord worst = EF_VERDICT_USE;

  for (guint i = 0; i < node->children->len; i++)
    worst = MAX (worst, ((EfVerdict *) node->children->pdata[i])->word);
  for (guint i = 0; i < node->reasons->len; i++)
    worst = MAX (worst, ((EfReason *) node->reasons->pdata[i])->word);

  for (guint i = 0; i < node->children->len; i++)
    {
      const EfVerdict *child = node->children->pdata[i];

      for (guint k = 0; k < n_standing (child); k++)
        {
          const EfReason *reason = child->reasons->pdata[k];

          if (reason->word > EF_VERDICT_USE || is_override (reason) || (keep_good && worst == EF_VERDICT_USE))
            g_ptr_array_add (raised, ef_reason_copy (reason));
        }
    }
  if (gathered)
    gather (raised);
  for (guint i = 0; i < raised->len; i++)
    {
      if (is_said (node->reasons, raised->pdata[i]))
        ef_reason_free (raised->pdata[i]);
      else
        g_ptr_array_add (node->reasons, raised->pdata[i]);
    }
}

static gint
compare_marks (gconstpointer a,
               gconstpointer b)
{
  const EfMark *left = *(EfMark *const *) a;
  const EfMark *right = *(EfMark *const *) b;

  if (left->number != right->number)
    return left->number < right->number ? -1 : 1;

  return g_strcmp0 (left->item.id, right->item.id);
}

static GPtrArray *
marks_of_part (const Judge *judge,
               const EfPart *part)
{
  GPtrArray *all = judge->findings->inspection->items[EF_ITEM_MARK];
  GPtrArray *marks = g_ptr_array_new ();
  g_autofree char *prefix = g_strconcat (part->id, "/", NULL);

  for (guint i = 0; i < all->len; i++)
    if (g_str_has_prefix (((EfMark *) all->pdata[i])->face_id, prefix))
      g_ptr_array_add (marks, all->pdata[i]);
  g_ptr_array_sort (marks, compare_marks);

  return marks;
}

static const EfSection *
section_of_part (const Judge *judge,
                 const EfPart *part)
{
  if (part->section != NULL)
    return ef_pump_sheet_section (judge->sheet, part->section);
  for (guint i = 0; i < judge->sheet->sections->len; i++)
    {
      const EfSection *section = judge->sheet->sections->pdata[i];

      if (g_strcmp0 (section->gear_part[0], part->id) == 0 || g_strcmp0 (section->gear_part[1], part->id) == 0)
        return section;
    }

  return NULL;
}

static void
say_no_rule (const EfRuleCase *c,
             EfVerdict *node)
{
  g_autofree char *kind = ef_rule_lower (ef_mark_kind_label (c->mark->kind));
  g_autofree char *face = ef_rule_face_name (c->chart, c->mark->face_id);
  EfReason *reason = ef_reason_new (EF_VERDICT_MEASURE, "no-rule",
                                    g_strdup_printf ("No rule covers mark %d, %s on %s.", c->mark->number, kind, face));

  reason->advice = g_strdup ("Decide by hand and give the reason.");
  g_ptr_array_add (reason->refs, g_strdup_printf ("mark:%s", c->mark->item.id));
  reason->n_own = reason->refs->len;
  g_ptr_array_add (node->reasons, reason);
}

static EfVerdict *
judge_mark (const Judge *judge,
            const EfPart *part,
            const EfMark *mark)
{
  g_autofree char *kind = ef_rule_lower (ef_mark_kind_label (mark->kind));
  EfVerdict *node = ef_verdict_new (EF_LEVEL_MARK,
                                    g_strconcat ("mark:", mark->item.id, NULL),
                                    g_strdup_printf ("Mark %d: %s", mark->number, kind));
  EfRuleCase c = { 0 };

  c.part = part;
  c.mate = part->kind == EF_PART_GEAR ? ef_pump_sheet_mate (judge->sheet, part) : NULL;
  c.section = ef_pump_sheet_face_section (judge->sheet, mark->face_id);
  if (c.section == NULL)
    c.section = section_of_part (judge, part);
  c.mark = mark;
  c.face_kind = ef_rule_face_kind (mark->face_id);
  c.chart = g_hash_table_lookup (judge->findings->charts, mark->face_id);
  c.node = node;
  c.reasons = node->reasons;
  run_rules (judge, EF_LEVEL_MARK, &c);
  if (node->reasons->len == 0)
    say_no_rule (&c, node);
  settle (judge, node);

  return node;
}

static void
refer_to_marks (const Judge *judge,
                const char *face_id,
                EfReason *reason)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (judge->findings->inspection, face_id);

  for (guint i = 0; i < marks->len; i++)
    g_ptr_array_add (reason->refs, g_strdup_printf ("mark:%s", ((const EfMark *) marks->pdata[i])->item.id));
  reason->n_own = reason->refs->len;
}

/* The limits of lapping conflict: nothing brings this part, or this clearance, back. Where the shortfall isn't proved it stays with what the rules say. */
static EfReason *
bar_reason (const Judge *judge,
            const EfBar *bar,
            const char *name)
{
  gboolean proved = bar->shortfall > bar->uncertainty;
  EfReason *reason = ef_reason_new (proved ? EF_VERDICT_SCRAP : EF_VERDICT_REWORK, "not-lappable",
                                    g_strdup_printf (proved ? "%s can't be lapped within the limits: %s" : "%s may not be lappable within the limits: %s", name, bar->reason));

  reason->may_scrap = !proved;
  reason->source = g_strdup ("follows from the lapping plan and the limits of the pump sheet");
  reason->advice = g_strdup (!proved ? "Measure the clearance with a finer gauge before lapping: what is missing is less than its uncertainty."
                             : bar->face_id != NULL ? "Replace it, or fit parts of other sizes from the shelf."
                                                    : "Other gears or another housing would be needed: see the shelf.");
  reason->target = g_strdup (bar->face_id != NULL ? bar->face_id : bar->target);
  if (bar->face_id != NULL)
    refer_to_marks (judge, bar->face_id, reason);

  return reason;
}

static void
add_bars (const Judge *judge,
          const char *id,
          const char *name,
          GPtrArray *reasons)
{
  for (guint i = 0; judge->findings->barred != NULL && i < judge->findings->barred->len; i++)
    {
      const EfBar *bar = judge->findings->barred->pdata[i];

      if (g_str_equal (bar->target, id))
        g_ptr_array_add (reasons, bar_reason (judge, bar, name));
    }
}

static EfVerdict *
judge_part (const Judge *judge,
            const EfPart *part)
{
  g_autoptr (GPtrArray) marks = marks_of_part (judge, part);
  EfVerdict *node = ef_verdict_new (EF_LEVEL_PART, g_strconcat ("part:", part->id, NULL), g_strdup (part->name));
  EfRuleCase c = { 0 };

  for (guint i = 0; i < marks->len; i++)
    g_ptr_array_add (node->children, judge_mark (judge, part, marks->pdata[i]));
  c.part = part;
  c.mate = part->kind == EF_PART_GEAR ? ef_pump_sheet_mate (judge->sheet, part) : NULL;
  c.section = section_of_part (judge, part);
  c.face_kind = EF_N_FACE_KINDS;
  c.node = node;
  c.reasons = node->reasons;
  run_rules (judge, EF_LEVEL_PART, &c);
  add_bars (judge, part->id, part->name, node->reasons);
  raise_reasons (node, TRUE, TRUE);
  settle (judge, node);

  return node;
}

/* Adds a reason to a part that was already settled. */
static void
condemn (const Judge *judge,
         EfVerdict *node)
{
  /* An override's reason is put back by settle(). */
  if (node->override != NULL)
    g_ptr_array_remove_index (node->reasons, 0);
  settle (judge, node);
}

/* @check: "mate-condemned" or "mate-undecided". */
static void
judge_by_mate (const Judge *judge,
               const char *check,
               const EfSection *section,
               EfVerdict *node,
               const EfPart *part,
               const EfPart *mate)
{
  EfRuleCase c = { 0 };

  c.set = judge->set;
  c.findings = judge->findings;
  c.part = part;
  c.mate = mate;
  c.section = section;
  c.face_kind = EF_N_FACE_KINDS;
  c.node = node;
  c.reasons = node->reasons;
  for (guint i = 0; i < judge->set->rules->len; i++)
    {
      c.rule = judge->set->rules->pdata[i];
      if (g_str_equal (c.rule->check->name, check))
        c.rule->check->run (&c);
    }
  condemn (judge, node);
}

static gboolean
may_be_scrap (const EfVerdict *node)
{
  for (guint i = 0; i < node->reasons->len && node->override == NULL; i++)
    if (((const EfReason *) node->reasons->pdata[i])->may_scrap)
      return TRUE;

  return FALSE;
}

/* What scraps the pair as such, or may do so, counts for both gears. */
static void
condemn_both (const Judge *judge,
              const EfVerdict *pair,
              guint n_own)
{
  for (guint i = 0; i < n_own; i++)
    {
      const EfReason *reason = pair->reasons->pdata[i];

      if (reason->word != EF_VERDICT_SCRAP && !reason->may_scrap)
        continue;
      for (guint k = 0; k < pair->children->len; k++)
        {
          EfVerdict *gear = pair->children->pdata[k];

          g_ptr_array_add (gear->reasons, ef_reason_copy (reason));
          condemn (judge, gear);
        }
    }
}

static EfVerdict *
judge_pair (const Judge *judge,
            const EfSection *section,
            const EfPart *const gears[2])
{
  g_autofree char *name = ef_rule_lower (section->name);
  EfVerdict *node = ef_verdict_new (EF_LEVEL_PAIR,
                                    g_strconcat ("pair:", section->id, NULL),
                                    g_strdup_printf ("Gear pair, %s", name));
  gboolean scrap[2], doubt[2];
  EfRuleCase c = { 0 };

  for (int i = 0; i < 2; i++)
    {
      g_ptr_array_add (node->children, judge_part (judge, gears[i]));
      scrap[i] = ((EfVerdict *) node->children->pdata[i])->word == EF_VERDICT_SCRAP;
      doubt[i] = may_be_scrap (node->children->pdata[i]);
    }
  for (int i = 0; i < 2; i++)
    {
      if (scrap[1 - i] && !scrap[i])
        judge_by_mate (judge, "mate-condemned", section, node->children->pdata[i], gears[i], gears[1 - i]);
      else if (doubt[1 - i] && !scrap[i])
        judge_by_mate (judge, "mate-undecided", section, node->children->pdata[i], gears[i], gears[1 - i]);
    }

  c.section = section;
  c.face_kind = EF_N_FACE_KINDS;
  c.node = node;
  c.reasons = node->reasons;
  run_rules (judge, EF_LEVEL_PAIR, &c);
  condemn_both (judge, node, node->reasons->len);
  raise_reasons (node, FALSE, FALSE);
  settle (judge, node);

  return node;
}

static EfVerdict *
judge_section (const Judge *judge,
               const EfSection *section,
               GHashTable *done)
{
  EfVerdict *node = ef_verdict_new (EF_LEVEL_SECTION, g_strconcat ("section:", section->id, NULL), g_strdup (section->name));
  const EfPart *gears[2];
  EfRuleCase c = { 0 };

  for (int i = 0; i < 2; i++)
    gears[i] = ef_pump_sheet_part (judge->sheet, section->gear_part[i]);
  if (gears[0] != NULL && gears[1] != NULL)
    {
      g_ptr_array_add (node->children, judge_pair (judge, section, gears));
      g_hash_table_add (done, (gpointer) gears[0]);
      g_hash_table_add (done, (gpointer) gears[1]);
    }
  for (guint i = 0; i < judge->sheet->parts->len; i++)
    {
      EfPart *part = judge->sheet->parts->pdata[i];

      if (g_strcmp0 (part->section, section->id) == 0 && g_hash_table_add (done, part))
        g_ptr_array_add (node->children, judge_part (judge, part));
    }
  c.section = section;
  c.face_kind = EF_N_FACE_KINDS;
  c.node = node;
  c.reasons = node->reasons;
  run_rules (judge, EF_LEVEL_SECTION, &c);
  add_bars (judge, section->id, section->name, node->reasons);
  raise_reasons (node, FALSE, FALSE);
  settle (judge, node);

  return node;
}

static gboolean
marks_have_parts (const EfFindings *findings,
                  GError **error)
{
  GPtrArray *marks = findings->inspection->items[EF_ITEM_MARK];

  for (guint i = 0; i < marks->len; i++)
    {
      const EfMark *mark = marks->pdata[i];
      const char *slash = strchr (mark->face_id, '/');
      g_autofree char *part = slash != NULL ? g_strndup (mark->face_id, slash - mark->face_id) : NULL;

      if (part == NULL || ef_pump_sheet_part (findings->inspection->sheet, part) == NULL)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND,
                       "marks/%s/face: expected a face of this pump, found \"%s\"", mark->item.id, mark->face_id);
          return FALSE;
        }
    }

  return TRUE;
}

EfDecisionRule
ef_judge_decision (const EfRuleSet *rules,
                   const EfInspection *inspection)
{
  const EfJobHeader *header = ef_inspection_header (inspection);
  EfDecisionRule rule = rules->decision;

  if (header != NULL && header->decision != NULL && ef_decision_rule_from_name (header->decision, &rule.kind))
    rule.coverage = header->coverage;

  return rule;
}

EfVerdict *
ef_judge (const EfRuleSet *rules,
          const EfFindings *findings,
          GError **error)
{
  g_autoptr (GHashTable) done = g_hash_table_new (NULL, NULL);
  EfVerdict *node;
  EfRuleCase c = { 0 };
  g_autoptr (EfRuleSet) whole = NULL;
  EfRuleSet own;
  Judge judge;

  g_return_val_if_fail (rules != NULL && findings != NULL && findings->inspection != NULL, NULL);
  if (!marks_have_parts (findings, error))
    return NULL;

  whole = ef_rule_set_for_sheet (rules, findings->inspection->sheet, error);
  if (whole == NULL)
    return NULL;

  /* Borrows all but how the job decides. */
  own = *whole;
  own.decision = ef_judge_decision (rules, findings->inspection);
  judge = (Judge){ &own, findings, findings->inspection->sheet };
  node = ef_verdict_new (EF_LEVEL_PUMP, g_strdup ("pump"), g_strdup (judge.sheet->name));
  for (guint i = 0; i < judge.sheet->sections->len; i++)
    g_ptr_array_add (node->children, judge_section (&judge, judge.sheet->sections->pdata[i], done));
  for (guint i = 0; i < judge.sheet->parts->len; i++)
    {
      EfPart *part = judge.sheet->parts->pdata[i];

      if (g_hash_table_add (done, part))
        g_ptr_array_add (node->children, judge_part (&judge, part));
    }
  c.face_kind = EF_N_FACE_KINDS;
  c.node = node;
  c.reasons = node->reasons;
  run_rules (&judge, EF_LEVEL_PUMP, &c);
  raise_reasons (node, FALSE, FALSE);
  settle (&judge, node);

  return node;
}
