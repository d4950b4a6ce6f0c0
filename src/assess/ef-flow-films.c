/* One state's films: given to the section flow, and solved again only where they changed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flow-private.h"

EfFlowFilms *
ef_flow_films_new (const EfFlowGeometry *geometry,
                   guint cells,
                   guint positions,
                   GError **error)
{
  EfSectionFlow *flow = ef_section_flow_new (geometry, cells, positions, EF_FILM_CHOLMOD, error);
  EfFlowFilms *films;

  if (flow == NULL)
    return NULL;
  films = g_new0 (EfFlowFilms, 1);
  films->flow = flow;

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
        g_clear_pointer (&films->key[gear][end].plate, ef_depth_map_unref);
        g_clear_pointer (&films->key[gear][end].gear_end, ef_depth_map_unref);
      }
  ef_section_flow_free (films->flow);
  g_free (films);
}

static void
hold_map (EfDepthMap **held,
          const EfWornMap *worn)
{
  EfDepthMap *map = worn != NULL ? ef_depth_map_ref (worn->map) : NULL;

  g_clear_pointer (held, ef_depth_map_unref);
  *held = map;
}

/* A number that changes exactly when the end's film does. */
static guint64
end_serial (EfFlowFilms *films,
            const EfFlowGaps *gaps,
            int gear,
            int end)
{
  const EfWornMap *plate = gaps->plate[end];
  const EfWornMap *own = gaps->gear_end[gear][end];
  double film = ef_flow_gaps_film (gaps, gear, end);

  if (films->serial[gear][end] != 0 && films->key[gear][end].film == film && films->key[gear][end].plate == (plate != NULL ? plate->map : NULL) &&
      films->key[gear][end].gear_end == (own != NULL ? own->map : NULL) &&
      films->key[gear][end].plate_stock == (plate != NULL ? plate->stock : 0.0) &&
      films->key[gear][end].gear_stock == (own != NULL ? own->stock : 0.0))
    return films->serial[gear][end];

  films->key[gear][end].film = film;
  films->key[gear][end].plate_stock = plate != NULL ? plate->stock : 0.0;
  films->key[gear][end].gear_stock = own != NULL ? own->stock : 0.0;
  hold_map (&films->key[gear][end].plate, plate);
  hold_map (&films->key[gear][end].gear_end, own);
  films->serial[gear][end] = ++films->last_serial;

  return films->serial[gear][end];
}

gboolean
ef_flow_films_set (EfFlowFilms *films,
                   EfFlowGaps *gaps,
                   GCancellable *cancellable,
                   GError **error)
{
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        gboolean ok;

        if (ef_flow_gaps_even (gaps, gear, end))
          ok = ef_section_flow_set_even (films->flow, gear, end, ef_flow_gaps_film (gaps, gear, end), error);
        else
          ok = ef_section_flow_set_gap (films->flow, gear, end, end_serial (films, gaps, gear, end), ef_flow_end_gap, ef_flow_end_even, gaps, cancellable, error);
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
