/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-why.h"

#include <math.h>
#include <string.h>

/* A reason about a hundred places is told by its first. */
#define MOST_SHOWN 8
#define DATE_LENGTH 10

typedef struct
{
  const EfAssessment *assessment;
  const EfVerdict *node;
  const EfReason *reason;
  GPtrArray *links;
} Chain;

/* One thing that was taken with a gauge. */
typedef struct
{
  EfWhyKind kind;
  char *title, *text, *brief, *ref;
  const char *gauge_id; /* NULL: none noted */
  char *day;            /* it was taken on; NULL */
  gboolean measured;    /* seen only: no gauge is missed */
  gboolean told;
} Taken;

static void
link_free (EfWhyLink *link)
{
  g_free (link->title);
  g_free (link->text);
  g_free (link->brief);
  g_free (link->ref);
  g_free (link);
}

static void
taken_clear (gpointer data)
{
  Taken *taken = data;

  g_free (taken->title);
  g_free (taken->text);
  g_free (taken->brief);
  g_free (taken->ref);
  g_free (taken->day);
}

const char *
ef_why_kind_name (EfWhyKind kind)
{
  static const char *const names[EF_N_WHY_KINDS] = { "verdict", "rule", "limit", "decision", "value", "mark", "reading", "gauge", "more" };

  return (guint) kind < EF_N_WHY_KINDS ? names[kind] : "unknown";
}

/* Takes @text. */
static EfWhyLink *
add (Chain *chain,
     EfWhyKind kind,
     const char *title,
     char *text)
{
  EfWhyLink *link = g_new0 (EfWhyLink, 1);

  link->kind = kind;
  link->title = g_strdup (title);
  link->text = text;
  g_ptr_array_add (chain->links, link);

  return link;
}

static char *
number (double value,
        EfUnit unit)
{
  if (!isfinite (value))
    return g_strdup ("not known");

  return unit == EF_UNIT_NONE ? g_strdup_printf ("%.0f %%", value * 100.0) : ef_format_quantity (value, unit, -1);
}

static char *
probability (double p)
{
  if (p < 0.001)
    return g_strdup ("below 0.1 %");
  if (p > 0.999)
    return g_strdup ("above 99.9 %");

  return g_strdup_printf ("%.1f %%", p * 100.0);
}

static gboolean
is_override (const EfReason *reason)
{
  return g_strcmp0 (reason->rule, "override") == 0;
}

static void
add_verdict (Chain *chain)
{
  const EfVerdict *node = chain->node;
  EfWhyLink *link = add (chain, EF_WHY_VERDICT, "Verdict",
                         g_strdup_printf ("%s: %s. %s", node->title, ef_verdict_label (chain->reason->word), chain->reason->sentence));

  link->ref = g_strconcat ("verdict:", node->id, NULL);
}

static void
add_override (Chain *chain)
{
  const EfOverride *override = chain->node->override;
  GString *text = g_string_new ("Decided by hand");

  if (override != NULL && override->role != NULL)
    g_string_append_printf (text, ", %s", override->role);
  if (override != NULL && override->time != NULL)
    g_string_append_printf (text, ", %s", override->time);
  g_string_append (text, ".");
  if (override != NULL)
    g_string_append_printf (text, " Computed: %s.", ef_verdict_label (chain->node->computed));
  add (chain, EF_WHY_RULE, "Decision by hand", g_string_free (text, FALSE))->brief = g_strdup ("decision by hand");
}

/* What the check looks at, without the names of its numbers. */
static char *
summary_of (const EfReason *reason)
{
  const char *end = reason->summary != NULL ? strchr (reason->summary, ';') : NULL;

  if (reason->summary == NULL)
    return NULL;

  return end != NULL ? g_strndup (reason->summary, end - reason->summary) : g_strdup (reason->summary);
}

/* Of no rule, but of the plan of what the rules ask for. */
static gboolean
add_plan (Chain *chain)
{
  EfWhyLink *link;

  if (g_strcmp0 (chain->reason->rule, "not-lappable") != 0)
    return FALSE;
  link = add (chain, EF_WHY_RULE, "Lapping plan",
              g_strdup ("No rule of its own: what the rules ask to lap can't all be had within the limits of the pump sheet; see the plan for each of them."));
  link->brief = g_strdup ("lapping plan");

  return TRUE;
}

static void
add_rule (Chain *chain)
{
  g_autofree char *summary = summary_of (chain->reason);
  const char *rule_set = chain->assessment->rule_set;
  EfWhyLink *link;

  if (add_plan (chain))
    return;
  link = add (chain, EF_WHY_RULE, "Rule",
              summary != NULL ? g_strdup_printf ("“%s” of rule set %s: looks at %s.", chain->reason->rule, rule_set, summary)
                              : g_strdup_printf ("“%s” of rule set %s.", chain->reason->rule, rule_set));
  link->brief = g_strdup_printf ("rule %s (%s)", chain->reason->rule, rule_set);
}

static void
append_other_limit (GString *text,
                    const Chain *chain,
                    double limit,
                    const char *before)
{
  g_autofree char *shown = NULL;

  if (!isfinite (limit) || limit == chain->reason->limit)
    return;
  shown = number (limit, chain->reason->unit);
  g_string_append_printf (text, " %s %s.", before, shown);
}

/* Where there is none, what was seen decides: the source is the rule's. */
static void
add_limit (Chain *chain)
{
  const EfReason *reason = chain->reason;
  const char *source = reason->source != NULL ? reason->source : "common practice, no source";
  g_autofree char *limit = number (reason->limit, reason->unit);
  GString *text = g_string_new (NULL);
  EfWhyLink *link;

  if (!isfinite (reason->limit))
    {
      g_string_append_printf (text, "No number decides here. Source of the rule: %s.", source);
      add (chain, EF_WHY_LIMIT, "Limit", g_string_free (text, FALSE));
      return;
    }
  g_string_append_printf (text, "%s%s. Source: %s.", reason->limit == reason->least ? "at least " : "at most ", limit, source);
  append_other_limit (text, chain, reason->wear, "Worn above");
  append_other_limit (text, chain, reason->beyond, "Rework ends at");
  append_other_limit (text, chain, reason->least, "Too tight below");
  if (reason->limit_assumed)
    g_string_append (text, " The pump sheet has no limit for this: a default from common practice was used.");
  link = add (chain, EF_WHY_LIMIT, reason->limit_assumed ? "Limit (default)" : g_str_has_prefix (source, "common practice") ? "Limit (common practice)" : "Limit",
              g_string_free (text, FALSE));
  link->brief = g_strdup_printf ("limit %s (%s%s)", limit, reason->limit_assumed ? "default, " : "", source);
  link->warning = reason->limit_assumed;
}

static const char *
zone_text (const EfReason *reason,
           double guard)
{
  double past = reason->limit == reason->least ? reason->limit - reason->value : reason->value - reason->limit;

  if (past > guard)
    return "past the limit by more than the guard band: proved";
  if (past <= -guard)
    return "within the limit by more than the guard band: proved";

  return "inside the guard band: neither proved";
}

static void
add_decision (Chain *chain)
{
  const EfReason *reason = chain->reason;
  g_autofree char *value = number (reason->value, reason->unit);
  g_autofree char *u = NULL;
  g_autofree char *band = NULL;
  g_autofree char *sure = NULL;
  g_autofree char *rule = ef_decision_rule_text (&chain->assessment->decision);
  double guard = ef_decision_factor (&chain->assessment->decision) * reason->uncertainty / 2.0;
  EfWhyLink *link;

  if (!isfinite (reason->value) || !isfinite (reason->limit) || !isfinite (reason->uncertainty))
    return;
  u = number (reason->uncertainty, reason->unit);
  band = number (guard, reason->unit);
  sure = isfinite (reason->probability) ? probability (reason->probability) : g_strdup ("not known");
  link = add (chain, EF_WHY_DECISION, "Decision",
              g_strdup_printf ("%s ± %s (k = 2), %s, %s wide; %s. Probability of lying within the limits: %s.%s", value, u, rule, band,
                               zone_text (reason, guard), sure, reason->u_assumed ? " No gauge speaks for the uncertainty: it is the rule set's." : ""));
  link->brief = g_strdup_printf ("%s ± %s, %s, P(within) %s", value, u, rule, sure);
  link->warning = reason->u_assumed;
}

static void
add_value (Chain *chain)
{
  const EfReason *reason = chain->reason;
  g_autofree char *value = number (reason->value, reason->unit);

  if (!isfinite (reason->value) || reason->how == NULL)
    return;
  add (chain, EF_WHY_VALUE, "Value", g_strdup_printf ("%s, from: %s.", value, reason->how))->brief = g_strdup (reason->how);
}

static char *
day_of (const Chain *chain,
        const char *time)
{
  const EfJobHeader *header = ef_inspection_header (chain->assessment->inspection);

  if (time != NULL && strlen (time) >= DATE_LENGTH)
    return g_strndup (time, DATE_LENGTH);

  return g_strdup (header != NULL ? header->received : NULL);
}

static char *
target_name (const Chain *chain,
             const char *target)
{
  const EfPumpSheet *sheet = chain->assessment->inspection->sheet;
  const EfFaceChart *chart = chain->assessment->findings.charts != NULL ? g_hash_table_lookup (chain->assessment->findings.charts, target) : NULL;
  const EfPart *part = ef_pump_sheet_part (sheet, chart != NULL ? chart->part_id : target);
  const EfSection *section = ef_pump_sheet_section (sheet, target);

  if (chart != NULL && part != NULL)
    return g_strdup_printf ("%s, %s", part->name, chart->name);
  if (part != NULL)
    return g_strdup (part->name);

  return g_strdup (section != NULL ? section->name : target);
}

static void
take_reading (const Chain *chain,
              const EfReading *reading,
              GArray *list)
{
  Taken taken = { .kind = EF_WHY_READING, .measured = TRUE, .gauge_id = reading->gauge_id };
  g_autofree char *target = target_name (chain, reading->target);
  g_autofree char *value = ef_format_quantity (reading->value, reading->unit, -1);
  GString *title = g_string_new (ef_quantity_label (reading->quantity));
  GString *text = g_string_new (value);

  g_string_append_printf (title, ", %s", target);
  if (reading->place != NULL)
    g_string_append_printf (title, ", %s", reading->place);
  if (isfinite (reading->angle))
    g_string_append_printf (title, ", %.0f°", reading->angle * 180.0 / G_PI);
  if (isfinite (reading->u) && isfinite (reading->v))
    g_string_append_printf (title, ", at %.1f, %.1f mm", reading->u * 1e3, reading->v * 1e3);
  if (isfinite (reading->temperature))
    g_string_append_printf (text, ", part at %.0f °C", reading->temperature - 273.15);
  if (reading->time != NULL)
    g_string_append_printf (text, ", read %s", reading->time);
  if (reading->note != NULL && *reading->note != '\0')
    g_string_append_printf (text, " (%s)", reading->note);
  taken.title = g_string_free (title, FALSE);
  taken.text = g_string_free (text, FALSE);
  taken.brief = g_steal_pointer (&value);
  taken.ref = g_strconcat ("reading:", reading->item.id, NULL);
  taken.day = day_of (chain, reading->time);
  g_array_append_val (list, taken);
}

static void
take_depth (const Chain *chain,
            const EfMark *mark,
            const EfMarkDepth *depth,
            GArray *list)
{
  g_autofree char *kind = g_ascii_strdown (ef_mark_kind_label (mark->kind), -1);
  g_autofree char *face = target_name (chain, mark->face_id);
  g_autofree char *value = depth != NULL ? ef_format_quantity (depth->depth, depth->unit, -1) : NULL;
  Taken taken = { .kind = EF_WHY_MARK, .measured = depth != NULL, .gauge_id = depth != NULL ? depth->gauge_id : NULL };

  taken.title = g_strdup_printf ("Mark %d, %s", mark->number, kind);
  taken.text = depth != NULL ? g_strdup_printf ("%s: %s deep at %.1f, %.1f mm", face, value, depth->u * 1e3, depth->v * 1e3)
                             : g_strdup_printf ("%s: no depth given", face);
  taken.brief = depth != NULL ? g_strdup_printf ("mark %d, %s deep", mark->number, value) : g_strdup_printf ("mark %d", mark->number);
  taken.ref = g_strconcat ("mark:", mark->item.id, NULL);
  taken.day = day_of (chain, NULL);
  g_array_append_val (list, taken);
}

static void
take_mark (const Chain *chain,
           const EfMark *mark,
           GArray *list)
{
  for (guint i = 0; i < mark->depths->len; i++)
    take_depth (chain, mark, &g_array_index (mark->depths, EfMarkDepth, i), list);
  if (mark->depths->len == 0)
    take_depth (chain, mark, NULL, list);
}

static void
take_ref (const Chain *chain,
          const char *ref,
          GArray *list)
{
  const EfInspection *inspection = chain->assessment->inspection;
  gconstpointer item = NULL;

  if (g_str_has_prefix (ref, "mark:"))
    {
      item = ef_inspection_find (inspection, EF_ITEM_MARK, ref + strlen ("mark:"));
      if (item != NULL)
        take_mark (chain, item, list);
    }
  else if (g_str_has_prefix (ref, "reading:"))
    {
      item = ef_inspection_find (inspection, EF_ITEM_READING, ref + strlen ("reading:"));
      if (item != NULL)
        take_reading (chain, item, list);
    }
}

static void
add_no_gauge (Chain *chain,
              guint n)
{
  EfWhyLink *link = add (chain, EF_WHY_GAUGE, "No gauge noted",
                         g_strdup (n == 1 ? "It isn't said what this was measured with." : "It isn't said what these were measured with."));

  link->brief = g_strdup ("no gauge noted");
  link->warning = TRUE;
}

static void
add_gauge (Chain *chain,
           const EfGauge *gauge,
           const char *first_day,
           guint n)
{
  g_autofree char *resolution = ef_format_quantity (gauge->resolution, EF_UNIT_MM, -1);
  g_autofree char *uncertainty = gauge->uncertainty > 0.0 ? ef_format_quantity (gauge->uncertainty, EF_UNIT_MM, -1) : NULL;
  gboolean overdue = ef_gauge_overdue (gauge, first_day);
  GString *text = g_string_new (gauge->name != NULL ? gauge->name : ef_gauge_kind_label (gauge->kind));
  EfWhyLink *link;

  if (gauge->serial != NULL && *gauge->serial != '\0')
    g_string_append_printf (text, ", serial %s", gauge->serial);
  g_string_append_printf (text, ". Resolution %s, ", resolution);
  if (uncertainty != NULL)
    g_string_append_printf (text, "uncertainty ± %s (k = 2).", uncertainty);
  else
    g_string_append (text, "no uncertainty noted.");
  if (gauge->checked != NULL)
    g_string_append_printf (text, " Last checked %s.", gauge->checked);
  else
    g_string_append (text, " No check noted.");
  if (gauge->due != NULL)
    g_string_append_printf (text, " %s %s.", overdue ? "Overdue when it was used: the check was due" : "Next check due", gauge->due);
  link = add (chain, EF_WHY_GAUGE, n == 1 ? "Gauge" : "Gauge of these", g_string_free (text, FALSE));
  link->brief = g_strdup_printf ("%s%s", gauge->name != NULL ? gauge->name : ef_gauge_kind_label (gauge->kind), overdue ? ", overdue" : "");
  link->ref = g_strconcat ("gauge:", gauge->item.id, NULL);
  link->warning = overdue;
}

/* The day of the later use counts: then the gauge was the longest overdue. */
static const char *
later (const char *a,
       const char *b)
{
  return g_strcmp0 (a, b) >= 0 ? a : b;
}

/* All that was taken with the gauge of @first, then the gauge. */
static void
tell_gauge (Chain *chain,
            GArray *list,
            const Taken *first)
{
  const char *gauge_id = first->gauge_id;
  gboolean measured = first->measured;
  const EfGauge *gauge = gauge_id != NULL ? ef_inspection_find (chain->assessment->inspection, EF_ITEM_GAUGE, gauge_id) : NULL;
  const char *day = NULL;
  guint n = 0;

  for (guint i = 0; i < list->len; i++)
    {
      Taken *taken = &g_array_index (list, Taken, i);
      EfWhyLink *link;

      if (taken->told || taken->measured != measured || g_strcmp0 (taken->gauge_id, gauge_id) != 0)
        continue;
      taken->told = TRUE;
      day = later (taken->day, day);
      if (n++ >= MOST_SHOWN)
        continue;
      link = add (chain, taken->kind, taken->title, g_strdup (taken->text));
      link->brief = g_strdup (taken->brief);
      link->ref = g_strdup (taken->ref);
    }
  if (n > MOST_SHOWN)
    add (chain, EF_WHY_MORE, "More", g_strdup_printf ("And %u more taken with the same gauge.", n - MOST_SHOWN));
  if (!measured && isfinite (chain->reason->value))
    add (chain, EF_WHY_GAUGE, "By eye", g_strdup ("Taken from what was drawn on the face: no gauge."))->brief = g_strdup ("drawn by eye");
  if (!measured)
    return;
  if (gauge != NULL)
    add_gauge (chain, gauge, day, n);
  else
    add_no_gauge (chain, n);
}

static void
add_taken (Chain *chain)
{
  const EfReason *reason = chain->reason;
  g_autoptr (GArray) list = g_array_new (FALSE, TRUE, sizeof (Taken));

  g_array_set_clear_func (list, taken_clear);
  for (guint i = 0; i < reason->refs->len && i < reason->n_own; i++)
    take_ref (chain, reason->refs->pdata[i], list);
  for (guint i = 0; i < list->len; i++)
    if (!g_array_index (list, Taken, i).told)
      tell_gauge (chain, list, &g_array_index (list, Taken, i));
  if (reason->refs->len > reason->n_own)
    add (chain, EF_WHY_MORE, "More",
         g_strdup_printf ("%u more marks or readings stand behind reasons like this one, which were gathered into it.", reason->refs->len - reason->n_own));
}

GPtrArray *
ef_why_chain (const EfAssessment *assessment,
              const EfVerdict *node,
              const EfReason *reason)
{
  Chain chain = { assessment, node, reason, g_ptr_array_new_with_free_func ((GDestroyNotify) link_free) };

  add_verdict (&chain);
  if (is_override (reason))
    {
      add_override (&chain);
      return chain.links;
    }
  add_rule (&chain);
  add_limit (&chain);
  add_decision (&chain);
  add_value (&chain);
  add_taken (&chain);

  return chain.links;
}

/* Readings of one gauge after one another are joined by commas. */
char *
ef_why_line (GPtrArray *chain)
{
  GString *line = g_string_new (NULL);
  EfWhyKind before = EF_N_WHY_KINDS;

  for (guint i = 0; i < chain->len; i++)
    {
      const EfWhyLink *link = chain->pdata[i];

      if (link->brief == NULL)
        continue;
      if (line->len > 0)
        g_string_append (line, (link->kind == before && link->kind != EF_WHY_GAUGE) || before == EF_WHY_GAUGE ? ", " : " ← ");
      g_string_append (line, link->brief);
      before = link->kind;
    }

  return g_string_free (line, FALSE);
}

static void
add_text (JsonBuilder *builder,
          const char *name,
          const char *text)
{
  json_builder_set_member_name (builder, name);
  json_builder_add_string_value (builder, text);
}

void
ef_why_add_json (JsonBuilder *builder,
                 GPtrArray *chain)
{
  json_builder_begin_array (builder);
  for (guint i = 0; i < chain->len; i++)
    {
      const EfWhyLink *link = chain->pdata[i];

      json_builder_begin_object (builder);
      add_text (builder, "link", ef_why_kind_name (link->kind));
      add_text (builder, "title", link->title);
      add_text (builder, "text", link->text);
      if (link->ref != NULL)
        add_text (builder, "ref", link->ref);
      json_builder_set_member_name (builder, "warning");
      json_builder_add_boolean_value (builder, link->warning);
      json_builder_end_object (builder);
    }
  json_builder_end_array (builder);
}
