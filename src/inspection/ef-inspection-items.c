/* The inspection's own small records: header, check, override and tick.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each is a row of fields of three types, told by a table; clearing, copying and comparing walk the table,
 * so a new field is one line here and can't be forgotten in one of the three.
 */
#include "ef-replacement.h"

typedef enum
{
  FIELD_TEXT,
  FIELD_NUMBER,
  FIELD_STRV,
  FIELD_CHECK_STATE,
} FieldType;

typedef struct
{
  FieldType type;
  gsize offset;
} Field;

static void
fields_clear (gpointer item,
              const Field *fields,
              gsize n_fields)
{
  gsize i;

  for (i = 0; i < n_fields; i++)
    {
      gpointer at = G_STRUCT_MEMBER_P (item, fields[i].offset);

      if (fields[i].type == FIELD_TEXT)
        g_clear_pointer ((char **) at, g_free);
      else if (fields[i].type == FIELD_STRV)
        g_clear_pointer ((char ***) at, g_strfreev);
    }
}

static void
fields_copy (gpointer dest,
             gconstpointer src,
             const Field *fields,
             gsize n_fields)
{
  gsize i;

  for (i = 0; i < n_fields; i++)
    {
      gpointer to = G_STRUCT_MEMBER_P (dest, fields[i].offset);
      gconstpointer from = (const char *) src + fields[i].offset;

      switch (fields[i].type)
        {
        case FIELD_TEXT:
          *(char **) to = g_strdup (*(char *const *) from);
          break;
        case FIELD_NUMBER:
          *(double *) to = *(const double *) from;
          break;
        case FIELD_STRV:
          *(char ***) to = g_strdupv (*(char **const *) from);
          break;
        case FIELD_CHECK_STATE:
          *(EfCheckState *) to = *(const EfCheckState *) from;
          break;
        default:
          g_assert_not_reached ();
        }
    }
}

static gboolean
same_numbers (double a,
              double b)
{
  return a == b || (a != a && b != b);
}

static gboolean
same_strvs (char *const *a,
            char *const *b)
{
  if (a == NULL || b == NULL)
    return a == b;

  return g_strv_equal ((const char *const *) a, (const char *const *) b);
}

static gboolean
fields_equal (gconstpointer a,
              gconstpointer b,
              const Field *fields,
              gsize n_fields)
{
  gsize i;
  gboolean equal = TRUE;

  for (i = 0; equal && i < n_fields; i++)
    {
      gconstpointer left = (const char *) a + fields[i].offset;
      gconstpointer right = (const char *) b + fields[i].offset;

      switch (fields[i].type)
        {
        case FIELD_TEXT:
          equal = g_strcmp0 (*(char *const *) left, *(char *const *) right) == 0;
          break;
        case FIELD_NUMBER:
          equal = same_numbers (*(const double *) left, *(const double *) right);
          break;
        case FIELD_STRV:
          equal = same_strvs (*(char **const *) left, *(char **const *) right);
          break;
        case FIELD_CHECK_STATE:
          equal = *(const EfCheckState *) left == *(const EfCheckState *) right;
          break;
        default:
          g_assert_not_reached ();
        }
    }

  return equal;
}

#define EF_DEFINE_RECORD(prefix, Type, item_kind, item_name)                  \
  static void prefix##_clear (gpointer item)                                  \
  {                                                                           \
    fields_clear (item, prefix##_fields, G_N_ELEMENTS (prefix##_fields));     \
  }                                                                           \
                                                                              \
  static void prefix##_copy_fields (gpointer dest, gconstpointer src)         \
  {                                                                           \
    fields_copy (dest, src, prefix##_fields, G_N_ELEMENTS (prefix##_fields)); \
  }                                                                           \
                                                                              \
  static gboolean prefix##_equal (gconstpointer a, gconstpointer b)           \
  {                                                                           \
    return fields_equal (a, b, prefix##_fields,                               \
                         G_N_ELEMENTS (prefix##_fields));                     \
  }                                                                           \
                                                                              \
  const EfItemClass ef_##prefix##_class = {                                   \
    .kind = item_kind,                                                        \
    .name = item_name,                                                        \
    .size = sizeof (Type),                                                    \
    .clear = prefix##_clear,                                                  \
    .copy_fields = prefix##_copy_fields,                                      \
    .equal = prefix##_equal,                                                  \
  };

/* clang-format off */
static const Field job_header_fields[] = {
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, number) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, serial) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, received) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, customer) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, bench) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, role) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfJobHeader, hours) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, complaint) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfJobHeader, found_pressure) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfJobHeader, found_speed) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfJobHeader, found_temperature) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfJobHeader, expected_pressure) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, oil) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, decision) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfJobHeader, coverage) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, plan_goal) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfJobHeader, note) },
};
EF_DEFINE_RECORD (job_header, EfJobHeader, EF_ITEM_HEADER, "header")

static const Field check_fields[] = {
  { FIELD_CHECK_STATE, G_STRUCT_OFFSET (EfCheck, state) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfCheck, note) },
  { FIELD_STRV, G_STRUCT_OFFSET (EfCheck, photos) },
};
EF_DEFINE_RECORD (check, EfCheck, EF_ITEM_CHECK, "check")

static const Field override_fields[] = {
  { FIELD_TEXT, G_STRUCT_OFFSET (EfOverride, verdict) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfOverride, reason) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfOverride, role) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfOverride, time) },
};
EF_DEFINE_RECORD (override, EfOverride, EF_ITEM_OVERRIDE, "override")

static const Field tick_fields[] = {
  { FIELD_TEXT, G_STRUCT_OFFSET (EfTick, role) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfTick, time) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfTick, note) },
};
EF_DEFINE_RECORD (tick, EfTick, EF_ITEM_TICK, "tick")

static const Field demand_fields[] = {
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfDemand, cooler_flow) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfDemand, cooler_drop) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfDemand, extra_flow) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfDemand, extra_pressure) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfDemand, hotter) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfDemand, speed) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfDemand, note) },
};
EF_DEFINE_RECORD (demand, EfDemand, EF_ITEM_DEMAND, "demand")

static const Field cost_fields[] = {
  { FIELD_TEXT, G_STRUCT_OFFSET (EfCost, currency) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, hour_rate) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, new_pump) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, parts) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, minutes[EF_COST_STRIP]) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, minutes[EF_COST_LAP]) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, minutes[EF_COST_PASS]) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, minutes[EF_COST_REWORK]) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, minutes[EF_COST_CLEAN]) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, minutes[EF_COST_MEASURE]) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, minutes[EF_COST_ASSEMBLE]) },
  { FIELD_NUMBER, G_STRUCT_OFFSET (EfCost, minutes[EF_COST_FIT]) },
  { FIELD_TEXT, G_STRUCT_OFFSET (EfCost, note) },
};
EF_DEFINE_RECORD (cost, EfCost, EF_ITEM_COST, "cost")
/* clang-format on */

const char *const ef_override_verdicts[] = { "use-again", "measure-again", "rework", "scrap", NULL };
const char *const ef_plan_goals[] = { "cheapest", "least-stock", "durable", "sealing", NULL };

static const EfItemClass *const classes[EF_N_ITEM_KINDS] = {
  [EF_ITEM_HEADER] = &ef_job_header_class,
  [EF_ITEM_MARK] = &ef_mark_class,
  [EF_ITEM_READING] = &ef_reading_class,
  [EF_ITEM_GAUGE] = &ef_gauge_class,
  [EF_ITEM_CHECK] = &ef_check_class,
  [EF_ITEM_OVERRIDE] = &ef_override_class,
  [EF_ITEM_TICK] = &ef_tick_class,
  [EF_ITEM_WORK] = &ef_work_class,
  [EF_ITEM_DEMAND] = &ef_demand_class,
  [EF_ITEM_COST] = &ef_cost_class,
  [EF_ITEM_REPLACEMENT] = &ef_replacement_class,
  [EF_ITEM_PHOTO] = &ef_photo_class,
};

const char *
ef_cost_kind_name (EfCostKind kind)
{
  static const char *const names[EF_N_COST_KINDS] = { "strip", "lap", "pass", "rework", "clean", "measure", "assemble", "fit" };

  g_return_val_if_fail (kind < EF_N_COST_KINDS, NULL);

  return names[kind];
}

const EfItemClass *
ef_item_kind_class (EfItemKind kind)
{
  g_return_val_if_fail (kind < EF_N_ITEM_KINDS, NULL);

  return classes[kind];
}

const char *
ef_item_kind_name (EfItemKind kind)
{
  g_return_val_if_fail (kind < EF_N_ITEM_KINDS, NULL);

  return classes[kind]->name;
}

static const struct
{
  const char *name, *label;
} check_states[EF_N_CHECK_STATES] = {
  [EF_CHECK_UNSEEN] = { "unseen", "Not looked at" },
  [EF_CHECK_SOUND] = { "sound", "Sound" },
  [EF_CHECK_LOOSE] = { "loose", "Loose" },
  [EF_CHECK_DAMAGED] = { "damaged", "Damaged" },
  [EF_CHECK_MISSING] = { "missing", "Missing" },
};

const char *
ef_check_state_name (EfCheckState state)
{
  g_return_val_if_fail (state < EF_N_CHECK_STATES, NULL);

  return check_states[state].name;
}

const char *
ef_check_state_label (EfCheckState state)
{
  g_return_val_if_fail (state < EF_N_CHECK_STATES, NULL);

  return check_states[state].label;
}

gboolean
ef_check_state_from_name (const char *name,
                          EfCheckState *state_out)
{
  guint i;

  for (i = 0; i < EF_N_CHECK_STATES; i++)
    if (g_strcmp0 (name, check_states[i].name) == 0)
      {
        *state_out = i;
        return TRUE;
      }

  return FALSE;
}
