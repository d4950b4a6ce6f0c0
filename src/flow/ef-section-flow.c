/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-section-flow.h"

#include "ef-gear-face.h"
#include "ef-gear-load.h"

#include <math.h>
#include <string.h>

#define SETTLED (0.05 * G_PI / 180.0)
#define MOST_ITERATIONS 60
#define DENSITY 900.0

/* What flows through the same geometry have in common: where films are, and what even ones conduct. */
typedef struct
{
  EfFlowGeometry geometry;
  guint cells, positions;
  EfMesh *meshes;
  EfFilmDomain **domains[2][2]; /* one a position; both ends' the same one where their ports are */
  double **units[2][2];         /* conductances of an even gap of 1 m; NULL until needed */
  double imbalance;             /* of the even ones */
  gint ref_count;
} Common;

/* The film of one gear end at one mesh position. */
typedef struct
{
  EfFilmSolver *solver; /* made when first needed */
  EfFilmLinks *links;   /* of the last uneven gap */
  double *c;            /* of the gap that is set */
} EndFilm;

typedef struct
{
  gboolean set;
  gboolean even;
  double h;
  guint64 serial;
  EndFilm *films; /* one a position */
} GearEnd;

struct _EfSectionFlow
{
  Common *common;
  EfFilmMethod method;
  GearEnd ends[2][2];
  double imbalance;
};

void
ef_flow_geometry_clear (EfFlowGeometry *geometry)
{
  for (guint i = 0; i < geometry->n_ports; i++)
    ef_ring_clear (&geometry->ports[i].outline);
  g_clear_pointer (&geometry->ports, g_free);
  geometry->n_ports = 0;
}

static void
copy_geometry (const EfFlowGeometry *from,
               EfFlowGeometry *to)
{
  *to = *from;
  to->ports = g_new0 (EfFlowPort, MAX (from->n_ports, 1));
  for (guint i = 0; i < from->n_ports; i++)
    {
      to->ports[i] = from->ports[i];
      to->ports[i].outline = ef_ring_new (from->ports[i].outline.n, from->ports[i].outline.xy);
    }
}

static EfFilmDomain *
make_domain (const Common *common,
             const EfMesh *mesh,
             int gear,
             int end,
             GError **error)
{
  g_auto (EfFilmShape) shape = ef_gear_face_shape (&common->geometry, mesh, gear, end);

  return ef_film_domain_new (&shape, common->cells, error);
}

static gboolean
same_ports (const EfFlowGeometry *geometry)
{
  for (guint i = 0; i < geometry->n_ports; i++)
    if (geometry->ports[i].at_end[0] != geometry->ports[i].at_end[1])
      return FALSE;

  return TRUE;
}

static gboolean
make_domains (Common *common,
              GError **error)
{
  gboolean same = same_ports (&common->geometry);

  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        common->domains[gear][end] = g_new0 (EfFilmDomain *, common->positions);
        common->units[gear][end] = g_new0 (double *, common->positions);
      }
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      for (guint k = 0; k < common->positions; k++)
        {
          EfFilmDomain **domain = &common->domains[gear][end][k];

          *domain = end == 1 && same ? ef_film_domain_ref (common->domains[gear][0][k]) : make_domain (common, &common->meshes[k], gear, end, error);
          if (*domain == NULL)
            return FALSE;
        }

  return TRUE;
}

static void
common_unref (Common *common)
{
  if (common == NULL || !g_atomic_int_dec_and_test (&common->ref_count))
    return;
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        for (guint k = 0; common->domains[gear][end] != NULL && k < common->positions; k++)
          {
            ef_film_domain_unref (common->domains[gear][end][k]);
            g_free (common->units[gear][end][k]);
          }
        g_free (common->domains[gear][end]);
        g_free (common->units[gear][end]);
      }
  ef_flow_geometry_clear (&common->geometry);
  g_free (common->meshes);
  g_free (common);
}
G_DEFINE_AUTOPTR_CLEANUP_FUNC (Common, common_unref)

static gboolean
check_geometry (const EfFlowGeometry *geometry,
                guint positions,
                GError **error)
{
  if (positions < 1 || positions > 64)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "mesh positions: expected 1 to 64, found %u", positions);
      return FALSE;
    }
  if (!(geometry->face_width > 0.0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "face width: expected more than 0, found %g m", geometry->face_width);
      return FALSE;
    }
  for (int gear = 0; gear < 2; gear++)
    if (!(geometry->shaft_radius[gear] > 0.0) || geometry->shaft_radius[gear] >= geometry->pair.in.root_radius[gear])
      {
        g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "shaft radius of the %s gear: expected between 0 and the root radius %g mm, found %g mm",
                     gear == 0 ? "drive" : "driven", geometry->pair.in.root_radius[gear] * 1e3, geometry->shaft_radius[gear] * 1e3);
        return FALSE;
      }

  return TRUE;
}

static Common *
common_new (const EfFlowGeometry *geometry,
            guint cells,
            guint positions,
            GError **error)
{
  g_autoptr (Common) common = g_new0 (Common, 1);

  common->ref_count = 1;
  copy_geometry (geometry, &common->geometry);
  common->cells = cells;
  common->positions = positions;
  common->meshes = g_new0 (EfMesh, positions);
  for (guint k = 0; k < positions; k++)
    if (!ef_mesh_at (&geometry->pair, geometry->suction_angle, geometry->delivery_angle,
                     ef_mesh_position (&geometry->pair, k, positions), &common->meshes[k], error))
      return NULL;
  if (!make_domains (common, error))
    return NULL;

  return g_steal_pointer (&common);
}

static EfSectionFlow *
flow_of (Common *common,
         EfFilmMethod method)
{
  EfSectionFlow *flow = g_new0 (EfSectionFlow, 1);

  flow->common = common;
  flow->method = method;
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      flow->ends[gear][end].films = g_new0 (EndFilm, common->positions);

  return flow;
}

EfSectionFlow *
ef_section_flow_new (const EfFlowGeometry *geometry,
                     guint cells,
                     guint positions,
                     EfFilmMethod method,
                     GError **error)
{
  Common *common;

  if (!check_geometry (geometry, positions, error))
    return NULL;
  common = common_new (geometry, cells, positions, error);

  return common != NULL ? flow_of (common, method) : NULL;
}

EfSectionFlow *
ef_section_flow_new_like (EfSectionFlow *other)
{
  g_atomic_int_inc (&other->common->ref_count);

  return flow_of (other->common, other->method);
}

static void
film_clear (EndFilm *film)
{
  g_clear_pointer (&film->solver, ef_film_solver_free);
  g_clear_pointer (&film->links, ef_film_links_free);
}

void
ef_section_flow_free (EfSectionFlow *flow)
{
  if (flow == NULL)
    return;
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        for (guint k = 0; k < flow->common->positions; k++)
          {
            film_clear (&flow->ends[gear][end].films[k]);
            g_free (flow->ends[gear][end].films[k].c);
          }
        g_free (flow->ends[gear][end].films);
      }
  common_unref (flow->common);
  g_free (flow);
}

guint
ef_section_flow_cells (EfSectionFlow *flow)
{
  return flow->common->cells;
}

guint
ef_section_flow_positions (EfSectionFlow *flow)
{
  return flow->common->positions;
}

double
ef_section_flow_turn (EfSectionFlow *flow,
                      int gear,
                      guint position)
{
  return flow->common->meshes[position].gear[gear].psi0;
}

double
ef_section_flow_extent (EfSectionFlow *flow,
                        int gear)
{
  return flow->common->geometry.pair.in.tip_radius[gear];
}

/* Suction and bore are both at pressure 0: their own fields are never needed. */
static gboolean
solve_film (EfSectionFlow *flow,
            EfFilmDomain *domain,
            EfFilmSolver *solver,
            const EfFilmLinks *links,
            double *c,
            double *fields,
            double *imbalance,
            GCancellable *cancellable,
            GError **error)
{
  guint n_groups = ef_film_domain_n_groups (domain);
  g_autofree gboolean *wanted = g_new (gboolean, n_groups);
  EfFilmCheck check = { 0 };

  for (guint g = 0; g < n_groups; g++)
    wanted[g] = g != EF_GROUP_SUCTION && g != EF_GROUP_BORE;
  if (!ef_film_solve (solver, links, wanted, c, fields, &check, cancellable, error))
    return FALSE;
  *imbalance = MAX (*imbalance, check.imbalance);

  return TRUE;
}

/* The conductances of an even gap of 1 m, worked out once for all that share the geometry. */
static const double *
unit_conductances (EfSectionFlow *flow,
                   int gear,
                   int end,
                   guint position,
                   GError **error)
{
  Common *common = flow->common;
  EfFilmDomain *domain = common->domains[gear][end][position];
  gboolean twin = common->domains[gear][1 - end][position] == domain;
  double **unit = &common->units[gear][twin ? 0 : end][position];
  guint n_groups = ef_film_domain_n_groups (domain);
  g_autoptr (EfFilmLinks) links = NULL;
  g_autoptr (EfFilmSolver) solver = NULL;
  g_autofree double *c = NULL;

  if (*unit != NULL)
    return *unit;
  links = ef_film_links_new_uniform (domain, 1.0, error);
  if (links == NULL)
    return NULL;
  solver = ef_film_solver_new (domain, flow->method);
  c = g_new (double, n_groups * n_groups);
  if (!solve_film (flow, domain, solver, links, c, NULL, &common->imbalance, NULL, error))
    return NULL;
  *unit = g_steal_pointer (&c);

  return *unit;
}

gboolean
ef_section_flow_set_even (EfSectionFlow *flow,
                          int gear,
                          int end,
                          double h,
                          GError **error)
{
  GearEnd *side = &flow->ends[gear][end];

  if (!(h > 0.0) || !isfinite (h))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "end clearance: expected a film above 0 at each gear end, found %.1f um", h * 1e6);
      return FALSE;
    }
  side->set = FALSE;
  for (guint k = 0; k < flow->common->positions; k++)
    {
      EndFilm *film = &side->films[k];
      guint n = ef_film_domain_n_groups (flow->common->domains[gear][end][k]);
      const double *unit = unit_conductances (flow, gear, end, k, error);

      if (unit == NULL)
        return FALSE;
      if (film->c == NULL)
        film->c = g_new (double, n * n);
      for (guint i = 0; i < n * n; i++)
        film->c[i] = unit[i] * h * h * h;
      film_clear (film);
    }
  side->set = side->even = TRUE;
  side->h = h;
  side->serial = 0;

  return TRUE;
}

/* Whole teeth that a gear is turned on by at a mesh position. */
static int
teeth_on (const EfSectionFlow *flow,
          int gear,
          guint position)
{
  return (int) position * flow->common->meshes[position].gear[gear].teeth / (int) flow->common->positions;
}

static double
gear_turn (const EfSectionFlow *flow,
           int gear,
           guint position)
{
  const EfMeshGear *side = &flow->common->meshes[position].gear[gear];

  return side->psi0 + side->pitch * teeth_on (flow, gear, position);
}

typedef struct
{
  int gear, end;
  double turn;
  const EfEndGaps *gaps;
} EndGapCall;

static double
call_end_gap (double x,
              double y,
              gpointer user_data)
{
  const EndGapCall *call = user_data;

  return call->gaps->gap (call->gear, call->end, x, y, call->turn, call->gaps->user_data);
}

static gboolean
call_end_even (double x,
               double y,
               double half,
               gpointer user_data,
               double *cube_out)
{
  const EndGapCall *call = user_data;

  return call->gaps->even (call->gear, call->end, x, y, half, call->turn, call->gaps->user_data, cube_out);
}

static gboolean
call_end_same (double x,
               double y,
               double half,
               gpointer user_data)
{
  const EndGapCall *call = user_data;

  return call->gaps->same (call->gear, call->end, x, y, half, call->turn, call->gaps->user_data);
}

/* Links of the new gap, from the last ones where they are still good. */
static gboolean
fill_links (const EfFilmDomain *domain,
            EndFilm *film,
            const EndGapCall *call,
            gboolean last_holds,
            GError **error)
{
  EfFilmEven even = call->gaps->even != NULL ? call_end_even : NULL;
  gpointer data = (gpointer) call;

  if (film->links != NULL && last_holds && call->gaps->same != NULL)
    {
      if (ef_film_links_update (domain, film->links, call_end_gap, even, call_end_same, data, EF_FILM_ROWS, error))
        return TRUE;
      g_clear_pointer (&film->links, ef_film_links_free);
      return FALSE;
    }
  g_clear_pointer (&film->links, ef_film_links_free);
  film->links = ef_film_links_new (domain, call_end_gap, even, data, EF_FILM_ROWS, error);

  return film->links != NULL;
}

gboolean
ef_section_flow_set_gap (EfSectionFlow *flow,
                         int gear,
                         int end,
                         guint64 serial,
                         const EfEndGaps *gaps,
                         GCancellable *cancellable,
                         GError **error)
{
  GearEnd *side = &flow->ends[gear][end];
  gboolean last_holds = side->set && !side->even;

  if (serial != 0 && last_holds && side->serial == serial)
    return TRUE;
  /* Where it ends early some films are of this gap and some of the last: then all are sampled anew the next time. */
  side->set = FALSE;
  for (guint k = 0; k < flow->common->positions; k++)
    {
      EfFilmDomain *domain = flow->common->domains[gear][end][k];
      EndFilm *film = &side->films[k];
      EndGapCall call = { gear, end, gear_turn (flow, gear, k), gaps };
      guint n = ef_film_domain_n_groups (domain);

      if (g_cancellable_is_cancelled (cancellable))
        {
          g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "film: cancelled");
          return FALSE;
        }
      if (!fill_links (domain, film, &call, last_holds, error))
        {
          g_prefix_error (error, "%s gear, end %c: ", gear == 0 ? "drive" : "driven", end == 0 ? 'a' : 'b');
          return FALSE;
        }
      if (film->c == NULL)
        film->c = g_new (double, n * n);
      if (film->solver == NULL)
        film->solver = ef_film_solver_new (domain, flow->method);
      if (!solve_film (flow, domain, film->solver, film->links, film->c, NULL, &flow->imbalance, cancellable, error))
        return FALSE;
    }
  side->set = TRUE;
  side->even = FALSE;
  side->serial = serial;

  return TRUE;
}

/* Both ends of a gear at one position, together. */
static double *
both_ends (const EfSectionFlow *flow,
           int gear,
           guint position)
{
  const EndFilm *a = &flow->ends[gear][0].films[position];
  const EndFilm *b = &flow->ends[gear][1].films[position];
  guint n = ef_film_domain_n_groups (flow->common->domains[gear][0][position]);
  double *c = g_new (double, n * n);

  for (guint i = 0; i < n * n; i++)
    c[i] = a->c[i] + b->c[i];

  return c;
}

static void
tip_gaps (const EfSectionFlow *flow,
          const EfSectionConditions *conditions,
          int gear,
          guint position,
          double play_psi,
          EfTipGap *gaps)
{
  const EfMeshGear *side = &flow->common->meshes[position].gear[gear];

  for (int k = 0; k <= side->n_sealed; k++)
    {
      double psi = side->psi0 + (side->first_tip + k) * side->pitch;
      double h = conditions->tip_clearance[gear] - conditions->side_play[gear] * cos (psi - play_psi);

      gaps[k].gap = MAX (h, EF_TIP_LEAST_GAP);
      gaps[k].cube = gaps[k].gap * gaps[k].gap * gaps[k].gap;
      if (conditions->wall != NULL)
        conditions->wall (gear, (side->first_tip + k - teeth_on (flow, gear, position) + side->teeth) % side->teeth, psi, h, &gaps[k], conditions->wall_data);
    }
}

static void
note_limits (const EfTipGap *gaps,
             const EfTipConditions *tip,
             const EfTipNetwork *network,
             guint n,
             double dp,
             EfSectionLoss *loss)
{
  for (guint i = 0; i < n; i++)
    {
      double low = i > 0 ? network->spaces[i - 1] : 0.0;
      double high = i + 1 < n ? network->spaces[i] : dp;
      double v = gaps[i].gap * gaps[i].gap * (high - low) / (12.0 * tip->mu * tip->thickness);

      loss->reynolds = MAX (loss->reynolds, DENSITY * tip->speed * gaps[i].gap / tip->mu);
      if (high - low > 0.01 * dp)
        loss->entry_share = MAX (loss->entry_share, 0.75 * DENSITY * v * v / (high - low));
    }
}

typedef struct
{
  double fx, fy;
} Force;

/* One gear at one position: with drag for the pressures and the load, without it for what pressure alone drives. */
static gboolean
solve_gear (EfSectionFlow *flow,
            const EfSectionConditions *conditions,
            int gear,
            guint position,
            double play_psi,
            EfSectionLoss *loss,
            Force *force,
            GError **error)
{
  const EfGearPair *pair = &flow->common->geometry.pair;
  const EfMeshGear *side = &flow->common->meshes[position].gear[gear];
  g_autofree double *c = both_ends (flow, gear, position);
  double turns = gear == 0 ? 1.0 : (double) pair->in.teeth[0] / pair->in.teeth[1];
  EfTipConditions tip = { flow->common->geometry.face_width, pair->tip_thickness[gear],
                          2.0 * G_PI * conditions->speed * turns * pair->in.tip_radius[gear], conditions->mu };
  EfTipGap gaps[EF_MESH_MOST_TEETH + 1];
  EfTipNetwork moving, still;
  guint n = side->n_sealed + 1;
  Force part;

  tip_gaps (flow, conditions, gear, position, play_psi, gaps);
  if (!ef_tip_network (n, gaps, &tip, c, conditions->dp, &moving, error))
    return FALSE;
  ef_gear_load (pair, &flow->common->meshes[position], gear, flow->common->geometry.face_width, moving.spaces, conditions->dp, &part.fx, &part.fy);
  force->fx += part.fx / flow->common->positions;
  force->fy += part.fy / flow->common->positions;

  note_limits (gaps, &tip, &moving, n, conditions->dp, loss);
  tip.speed = 0.0;
  if (!ef_tip_network (n, gaps, &tip, c, conditions->dp, &still, error))
    return FALSE;
  loss->pressure_loss += still.loss / flow->common->positions;
  loss->film_loss += still.film / flow->common->positions;
  loss->to_bores += moving.to_bore / flow->common->positions;
  loss->drag += (still.loss - moving.loss) / flow->common->positions;

  return TRUE;
}

static gboolean
solve_gears (EfSectionFlow *flow,
             const EfSectionConditions *conditions,
             const double *play_psi,
             EfSectionLoss *loss,
             GError **error)
{
  memset (loss, 0, sizeof *loss);
  for (int gear = 0; gear < 2; gear++)
    {
      Force force = { 0 };

      for (guint k = 0; k < flow->common->positions; k++)
        if (!solve_gear (flow, conditions, gear, k, play_psi[gear], loss, &force, error))
          return FALSE;
      loss->load[gear] = hypot (force.fx, force.fy);
      loss->load_psi[gear] = atan2 (force.fy, force.fx);
    }

  return TRUE;
}

static gboolean
check_solve (const EfSectionFlow *flow,
             const EfSectionConditions *conditions,
             GError **error)
{
  for (int gear = 0; gear < 2; gear++)
    {
      for (int end = 0; end < 2; end++)
        if (!flow->ends[gear][end].set)
          {
            g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s gear, end %c: no film is set", gear == 0 ? "drive" : "driven", end == 0 ? 'a' : 'b');
            return FALSE;
          }
      if (!(conditions->tip_clearance[gear] > 0.0) || !(conditions->side_play[gear] >= 0.0))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s gear: expected a tip clearance above 0 and a side play from 0, found %.1f um and %.1f um",
                       gear == 0 ? "drive" : "driven", conditions->tip_clearance[gear] * 1e6, conditions->side_play[gear] * 1e6);
          return FALSE;
        }
    }
  if (!(conditions->mu > 0.0) || !(conditions->dp > 0.0) || !(conditions->speed >= 0.0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "conditions: expected viscosity and pressure above 0 and a speed from 0, found %g Pa s, %g Pa, %g rev/s",
                   conditions->mu, conditions->dp, conditions->speed);
      return FALSE;
    }

  return TRUE;
}

static double
turned_by (double from,
           double to)
{
  return fabs (remainder (to - from, 2.0 * G_PI));
}

gboolean
ef_section_flow_solve (EfSectionFlow *flow,
                       const EfSectionConditions *conditions,
                       EfSectionLoss *loss,
                       GError **error)
{
  double psi[2] = { -75.0 * G_PI / 180.0, -75.0 * G_PI / 180.0 };
  guint k;

  if (!check_solve (flow, conditions, error))
    return FALSE;
  for (k = 1; k <= MOST_ITERATIONS; k++)
    {
      double worst;

      if (!solve_gears (flow, conditions, psi, loss, error))
        return FALSE;
      worst = MAX (turned_by (psi[0], loss->load_psi[0]), turned_by (psi[1], loss->load_psi[1]));
      psi[0] = loss->load_psi[0];
      psi[1] = loss->load_psi[1];
      if (worst <= SETTLED)
        break;
    }
  if (k > MOST_ITERATIONS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "side play: the direction of the load didn't settle in %d rounds", MOST_ITERATIONS);
      return FALSE;
    }
  loss->iterations = k;
  loss->constant = conditions->mu * loss->pressure_loss / conditions->dp;
  loss->worst_imbalance = MAX (flow->imbalance, flow->common->imbalance);

  return TRUE;
}

static gboolean
spaces_at (EfSectionFlow *flow,
           int gear,
           guint position,
           const EfSectionConditions *conditions,
           double *spaces,
           GError **error)
{
  const EfGearPair *pair = &flow->common->geometry.pair;
  g_autofree double *c = both_ends (flow, gear, position);
  double turns = gear == 0 ? 1.0 : (double) pair->in.teeth[0] / pair->in.teeth[1];
  EfTipConditions tip = { flow->common->geometry.face_width, pair->tip_thickness[gear],
                          2.0 * G_PI * conditions->speed * turns * pair->in.tip_radius[gear], conditions->mu };
  EfTipGap gaps[EF_MESH_MOST_TEETH + 1];
  EfTipNetwork network;
  EfSectionLoss loss;

  if (!ef_section_flow_solve (flow, conditions, &loss, error))
    return FALSE;
  tip_gaps (flow, conditions, gear, position, loss.load_psi[gear], gaps);
  if (!ef_tip_network (flow->common->meshes[position].gear[gear].n_sealed + 1, gaps, &tip, c, conditions->dp, &network, error))
    return FALSE;
  memcpy (spaces, network.spaces, sizeof network.spaces);

  return TRUE;
}

double *
ef_section_flow_field (EfSectionFlow *flow,
                       int gear,
                       int end,
                       const EfSectionConditions *conditions,
                       GError **error)
{
  return ef_section_flow_field_at (flow, gear, end, 0, conditions, error);
}

double *
ef_section_flow_field_at (EfSectionFlow *flow,
                          int gear,
                          int end,
                          guint position,
                          const EfSectionConditions *conditions,
                          GError **error)
{
  const EndFilm *film = &flow->ends[gear][end].films[position];
  EfFilmDomain *domain = flow->common->domains[gear][end][position];
  guint n = ef_film_domain_n_cells (domain);
  guint n_groups = ef_film_domain_n_groups (domain);
  g_autofree double *fields = g_new0 (double, (gsize) n * n_groups);
  g_autofree double *c = g_new (double, n_groups * n_groups);
  g_autoptr (EfFilmLinks) even = NULL;
  g_autoptr (EfFilmSolver) solver = ef_film_solver_new (domain, EF_FILM_CHOLMOD);
  double imbalance = 0.0;
  double spaces[64];
  double *values;

  if (!spaces_at (flow, gear, position, conditions, spaces, error))
    return NULL;
  if (film->links == NULL)
    even = ef_film_links_new_uniform (domain, flow->ends[gear][end].h, error);
  if (film->links == NULL && even == NULL)
    return NULL;
  if (!solve_film (flow, domain, solver, film->links != NULL ? film->links : even, c, fields, &imbalance, NULL, error))
    return NULL;
  values = g_new (double, (gsize) flow->common->cells * flow->common->cells);
  for (guint j = 0; j < flow->common->cells; j++)
    for (guint i = 0; i < flow->common->cells; i++)
      {
        int cell = ef_film_domain_index (domain, i, j);
        double p = NAN;

        if (cell >= 0)
          {
            p = fields[(gsize) EF_GROUP_DELIVERY * n + cell];
            for (guint g = EF_GROUP_SPACE; g < n_groups; g++)
              p += fields[(gsize) g * n + cell] * spaces[g - EF_GROUP_SPACE] / conditions->dp;
          }
        values[(gsize) j * flow->common->cells + i] = p;
      }

  return values;
}
