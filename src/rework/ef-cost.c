/* What the rework costs, against a new pump.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-cost.h"

#include <math.h>

static const struct
{
  const char *label;
  double minutes;
} kinds[EF_N_COST_KINDS] = {
  [EF_COST_STRIP] = { "Stripping, a step", 5 },
  [EF_COST_LAP] = { "Setting up to lap a face", 15 },
  [EF_COST_PASS] = { "A pass of lapping", 2 },
  [EF_COST_REWORK] = { "Other rework, a step", 20 },
  [EF_COST_CLEAN] = { "Cleaning, a step", 10 },
  [EF_COST_MEASURE] = { "Measuring, a step", 6 },
  [EF_COST_ASSEMBLE] = { "Assembling, a step", 6 },
  [EF_COST_FIT] = { "Fitting a new pump", 45 },
};

double
ef_cost_default_minutes (EfCostKind kind)
{
  g_return_val_if_fail (kind < EF_N_COST_KINDS, NAN);

  return kinds[kind].minutes;
}

const char *
ef_cost_kind_label (EfCostKind kind)
{
  g_return_val_if_fail (kind < EF_N_COST_KINDS, NULL);

  return kinds[kind].label;
}

EfCost *
ef_cost_new (void)
{
  EfCost *cost = ef_item_new (&ef_cost_class, "cost");

  cost->hour_rate = cost->new_pump = cost->parts = NAN;
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    cost->minutes[i] = NAN;

  return cost;
}

EfDemand *
ef_demand_new (void)
{
  EfDemand *demand = ef_item_new (&ef_demand_class, "demand");

  demand->cooler_flow = demand->cooler_drop = demand->extra_flow = demand->extra_pressure = demand->hotter = demand->speed = NAN;

  return demand;
}

EfCostKind
ef_cost_step_kind (const EfStep *step)
{
  static const struct
  {
    const char *phase;
    EfCostKind kind;
  } phases[] = {
    { "strip", EF_COST_STRIP }, { "clean", EF_COST_CLEAN }, { "measure", EF_COST_MEASURE }, { "assemble", EF_COST_ASSEMBLE },
  };

  for (guint i = 0; i < G_N_ELEMENTS (phases); i++)
    if (g_strcmp0 (step->phase, phases[i].phase) == 0)
      return phases[i].kind;

  return isnan (step->stock) ? EF_COST_REWORK : EF_COST_LAP;
}

char *
ef_cost_amount_text (double amount,
                     const char *currency)
{
  if (isnan (amount))
    return g_strdup ("not set");
  if (currency == NULL || *currency == '\0')
    return g_strdup_printf ("%.2f", amount);

  return g_strdup_printf ("%.2f %s", amount, currency);
}

static char *
money_words (const EfCostSummary *self)
{
  g_autofree char *rework = ef_cost_amount_text (self->rework, self->currency);
  g_autofree char *replacement = ef_cost_amount_text (self->replacement, self->currency);
  g_autofree char *apart = ef_cost_amount_text (fabs (self->saved), self->currency);
  const char *parts = isnan (self->parts) ? ", without parts (not set)" : "";

  if (isnan (self->rework))
    return g_strdup_printf ("The rework takes about %.1f hours; what an hour costs isn't set.", self->rework_minutes / 60.0);
  if (isnan (self->replacement))
    return g_strdup_printf ("The rework takes about %.1f hours and costs %s%s; the price of a new pump isn't set.",
                            self->rework_minutes / 60.0, rework, parts);

  return g_strdup_printf ("The rework takes about %.1f hours and costs %s%s; a new pump fitted costs %s: the rework is %s %s.",
                          self->rework_minutes / 60.0, rework, parts, replacement, apart, self->saved >= 0.0 ? "cheaper" : "dearer");
}

/* Where nothing is recorded yet the plan counts, and it's said. */
static char *
sentence_of (const EfCostSummary *self)
{
  g_autofree char *money = money_words (self);
  double all = self->line[EF_COST_PASS].count;

  if (self->passes_planned <= 0.0)
    return g_steal_pointer (&money);
  if (self->passes_planned >= all)
    return g_strdup_printf ("%s Its %g passes of lapping are the plan's: none is recorded yet.", money, all);

  return g_strdup_printf ("%s Of its %g passes of lapping %g are the plan's, on faces that none is recorded of yet.", money, all, self->passes_planned);
}

EfCostSummary *
ef_cost_summary_new (GPtrArray *steps,
                     double passes,
                     double planned,
                     const EfCost *cost)
{
  EfCostSummary *self = g_new0 (EfCostSummary, 1);
  double labour = 0.0;

  self->hour_rate = cost != NULL ? cost->hour_rate : NAN;
  self->parts = cost != NULL ? cost->parts : NAN;
  self->new_pump = cost != NULL ? cost->new_pump : NAN;
  self->currency = g_strdup (cost != NULL && cost->currency != NULL ? cost->currency : "");
  for (guint i = 0; i < steps->len; i++)
    self->line[ef_cost_step_kind (steps->pdata[i])].count += 1.0;
  self->passes_planned = MAX (planned, 0.0);
  self->line[EF_COST_PASS].count = MAX (passes, 0.0) + self->passes_planned;
  self->line[EF_COST_FIT].count = 1.0;
  for (guint kind = 0; kind < EF_N_COST_KINDS; kind++)
    {
      EfCostLine *line = &self->line[kind];

      line->own = cost != NULL && !isnan (cost->minutes[kind]);
      line->minutes = line->own ? cost->minutes[kind] : kinds[kind].minutes;
      line->total = line->count * line->minutes;
      line->amount = line->total / 60.0 * self->hour_rate;
      if (kind == EF_COST_FIT)
        {
          self->replace_minutes = line->total;
          continue;
        }
      self->rework_minutes += line->total;
      labour += line->amount;
    }
  self->rework = labour + (isnan (self->parts) ? 0.0 : self->parts);
  self->replacement = self->new_pump + self->line[EF_COST_FIT].amount;
  self->saved = self->replacement - self->rework;
  self->sentence = sentence_of (self);

  return self;
}

JsonNode *
ef_cost_summary_to_json (const EfCostSummary *self)
{
  JsonObject *out = json_object_new ();
  JsonArray *lines = json_array_new ();

  for (guint kind = 0; kind < EF_N_COST_KINDS; kind++)
    {
      const EfCostLine *line = &self->line[kind];
      JsonObject *row = json_object_new ();

      json_object_set_string_member (row, "kind", ef_cost_kind_name (kind));
      ef_json_put (row, "count", line->count);
      ef_json_put (row, "minutes", line->minutes);
      json_object_set_boolean_member (row, "own", line->own);
      ef_json_put (row, "total_minutes", line->total);
      ef_json_put (row, "amount", line->amount);
      json_array_add_object_element (lines, row);
    }
  json_object_set_string_member (out, "sentence", self->sentence);
  json_object_set_string_member (out, "currency", self->currency);
  ef_json_put (out, "hour_rate", self->hour_rate);
  ef_json_put (out, "parts", self->parts);
  ef_json_put (out, "new_pump", self->new_pump);
  ef_json_put (out, "passes_planned", self->passes_planned);
  ef_json_put (out, "rework_minutes", self->rework_minutes);
  ef_json_put (out, "rework", self->rework);
  ef_json_put (out, "replace_minutes", self->replace_minutes);
  ef_json_put (out, "replacement", self->replacement);
  ef_json_put (out, "saved", self->saved);
  json_object_set_array_member (out, "lines", lines);

  return ef_json_object_node (out);
}

void
ef_cost_summary_free (EfCostSummary *self)
{
  if (self == NULL)
    return;

  g_free (self->currency);
  g_free (self->sentence);
  g_free (self);
}
