/* One state's films: given to the section flow, and solved again only where they changed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

EfFlowFilms *
ef_flow_films_new (EfSectionFlow *flow,
                   EfWornMaps *worn)
{
  EfFlowFilms *films = g_new0 (EfFlowFilms, 1);

  films->flow = flow;
  films->worn = worn;

  return films;
}

void
ef_flow_films_free (EfFlowFilms *films)
{
  if (films == NULL)
    return;
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        g_clear_pointer (&films->key[gear][end].plate, ef_worn_map_unref);
        g_clear_pointer (&films->key[gear][end].gear_end, ef_worn_map_unref);
      }
  ef_section_flow_free (films->flow);
  g_free (films);
}

static void
hold (EfWornMap **held,
      EfWornMap *worn)
{
  if (*held == worn)
    return;
  g_clear_pointer (held, ef_worn_map_unref);
  *held = worn != NULL ? ef_worn_map_ref (worn) : NULL;
}

/* Gives the end a number that changes exactly when its film does, and tells the gaps where it does. */
static guint64
end_serial (EfFlowFilms *films,
            EfFlowGaps *gaps,
            int gear,
            int end)
{
  EfWornMap *plate = gaps->plate[end];
  EfWornMap *own = gaps->gear_end[gear][end];
  double film = ef_flow_gaps_film (gaps, gear, end);

  gaps->since[gear][end].known = FALSE;
  if (films->serial[gear][end] != 0 && films->key[gear][end].film == film)
    {
      if (films->key[gear][end].plate == plate && films->key[gear][end].gear_end == own)
        return films->serial[gear][end];
      gaps->since[gear][end].known = films->worn != NULL;
    }
  if (gaps->since[gear][end].known)
    {
      gaps->since[gear][end].plate = ef_worn_maps_change (films->worn, films->key[gear][end].plate, plate);
      gaps->since[gear][end].gear_end = ef_worn_maps_change (films->worn, films->key[gear][end].gear_end, own);
    }
  films->key[gear][end].film = film;
  hold (&films->key[gear][end].plate, plate);
  hold (&films->key[gear][end].gear_end, own);
  films->serial[gear][end] = ++films->last_serial;

  return films->serial[gear][end];
}

gboolean
ef_flow_films_set (EfFlowFilms *films,
                   EfFlowGaps *gaps,
                   GCancellable *cancellable,
                   GError **error)
{
  const EfEndGaps ends = { ef_flow_end_gap, ef_flow_end_even, ef_flow_end_same, gaps };

  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        gboolean ok;

        if (ef_flow_gaps_even (gaps, gear, end))
          ok = ef_section_flow_set_even (films->flow, gear, end, ef_flow_gaps_film (gaps, gear, end), error);
        else
          ok = ef_section_flow_set_gap (films->flow, gear, end, end_serial (films, gaps, gear, end), &ends, cancellable, error);
        if (!ok)
          return FALSE;
      }

  return TRUE;
}

static EfSectionConditions
conditions_of (EfFlowGaps *gaps,
               const EfFlowTask *task,
               double pressure)
{
  EfSectionConditions conditions = { .dp = pressure, .mu = task->mu, .speed = task->speed, .wall = ef_flow_wall_gap, .wall_data = gaps };

  for (int gear = 0; gear < 2; gear++)
    {
      conditions.tip_clearance[gear] = gaps->hot_tip[gear];
      conditions.side_play[gear] = gaps->side_play[gear];
    }

  return conditions;
}

gboolean
ef_flow_films_idle (EfFlowFilms *films,
                    EfFlowGaps *gaps,
                    const EfFlowTask *task,
                    EfWorkingPoint *out,
                    GError **error)
{
  EfSectionConditions conditions = conditions_of (gaps, task, task->guess);

  return ef_working_point (films->flow, &conditions, task->displacement, task->demand, task->relief, out, error);
}

gboolean
ef_flow_films_deliver (EfFlowFilms *films,
                       EfFlowGaps *gaps,
                       const EfFlowTask *task,
                       double pressure,
                       EfWorkingPoint *out,
                       GError **error)
{
  EfSectionConditions conditions = conditions_of (gaps, task, pressure);

  return ef_delivery_at (films->flow, &conditions, task->displacement, out, error);
}
