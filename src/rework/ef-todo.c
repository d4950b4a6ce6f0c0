/* What the verdict asks to be done.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <string.h>

#include "ef-lap-stock.h"

static void
todo_free (EfTodo *todo)
{
  g_free (todo->target);
  g_free (todo->part_id);
  g_free (todo);
}

gboolean
ef_todo_has (GPtrArray *todo,
             const char *action,
             const char *target)
{
  for (guint i = 0; i < todo->len; i++)
    {
      const EfTodo *one = todo->pdata[i];

      if (g_str_equal (one->action, action) && (target == NULL || g_str_equal (one->target, target)))
        return TRUE;
    }

  return FALSE;
}

/* The part that a target lies on: the part itself or the one before the slash. NULL for a section. */
static char *
part_of_target (const EfPumpSheet *sheet,
                const char *target)
{
  const char *slash = strchr (target, '/');
  g_autofree char *part = slash != NULL ? g_strndup (target, slash - target) : g_strdup (target);

  return ef_pump_sheet_part (sheet, part) != NULL ? g_steal_pointer (&part) : NULL;
}

static gboolean
is_scrap (const EfVerdict *root,
          const char *level,
          const char *target)
{
  g_autofree char *id = g_strconcat (level, target, NULL);
  const EfVerdict *node = ef_verdict_find (root, id);

  return node != NULL && node->word == EF_VERDICT_SCRAP;
}

/* Nothing is done to what is scrap, nor to the clearances of a section whose gears are: other gears have other widths. */
static void
add_reason (const EfPumpSheet *sheet,
            const EfVerdict *root,
            GPtrArray *list,
            const EfReason *reason)
{
  g_autofree char *part = NULL;
  EfTodo *todo;

  if (reason->action == NULL || reason->target == NULL || ef_todo_has (list, reason->action, reason->target))
    return;
  part = part_of_target (sheet, reason->target);
  if (part != NULL ? is_scrap (root, "part:", part) : is_scrap (root, "pair:", reason->target))
    return;

  todo = g_new0 (EfTodo, 1);
  todo->action = reason->action;
  todo->target = g_strdup (reason->target);
  todo->part_id = g_steal_pointer (&part);
  todo->reason = reason;
  g_ptr_array_add (list, todo);
}

/* What was set to "use again" or "measure again" by hand is left alone. Reasons that rose to a node were met below it before. */
static void
walk (const EfPumpSheet *sheet,
      const EfVerdict *root,
      GPtrArray *list,
      const EfVerdict *node)
{
  if (node->override != NULL && node->word < EF_VERDICT_REWORK)
    return;
  for (guint i = 0; i < node->children->len; i++)
    walk (sheet, root, list, node->children->pdata[i]);
  for (guint i = 0; i < node->reasons->len; i++)
    add_reason (sheet, root, list, node->reasons->pdata[i]);
}

GPtrArray *
ef_todo_list (const EfFindings *findings,
              const EfVerdict *verdict)
{
  GPtrArray *list = g_ptr_array_new_with_free_func ((GDestroyNotify) todo_free);

  walk (findings->inspection->sheet, verdict, list, verdict);

  return list;
}
