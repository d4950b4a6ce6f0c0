/* Which pump model suits a demand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-assess-cache.h"
#include "ef-flow-private.h"
#include "ef-right-pump.h"
#include "../flow/ef-displacement.h"
#include "../rework/ef-after.h"

#include <math.h>
#include <string.h>

#define POSITIONS 4

static void
choice_free (EfPumpChoice *choice)
{
  g_free (choice->id);
  g_free (choice->model);
  g_free (choice->label);
  g_free (choice->reason);
  g_free (choice->mounting);
  g_free (choice->pickup);
  g_free (choice->over_speed.x);
  g_free (choice->over_speed.y);
  g_free (choice->over_demand.x);
  g_free (choice->over_demand.y);
  g_free (choice);
}

void
ef_right_pump_free (EfRightPump *self)
{
  if (self == NULL)
    return;

  g_ptr_array_unref (self->choices);
  g_ptr_array_unref (self->notes);
  g_free (self->wanted_from);
  g_free (self->sentence);
  g_free (self);
}

/* What all pumps are put to. */
typedef struct
{
  const EfAssessment *assessment;
  const EfFlowResult *flow;
  double k;           /* engine and added consumers */
  double cooler;      /* c, INFINITY without one */
  double speed, temperature, mu;
  GCancellable *cancellable;
} Trial;

static double
seen_by_pump (double k,
              double cooler)
{
  return isinf (cooler) ? k : k * cooler / (k + cooler);
}

/* One pump's films with its gaps. */
typedef struct
{
  EfFlowGeometry geometry;
  EfFlowFilms *films;
  EfFlowGaps gaps;
  double displacement, relief;
} Bench;

static void
bench_clear (Bench *bench)
{
  g_clear_pointer (&bench->films, ef_flow_films_free);
  ef_flow_geometry_clear (&bench->geometry);
  ef_flow_gaps_clear (&bench->gaps);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Bench, bench_clear)

static gboolean
bench_init (Bench *bench,
            const EfFindings *findings,
            EfPumpState state,
            GHashTable *stock,
            const double after[2],
            GError **error)
{
  const EfSection *section = ef_flow_section (findings->inspection->sheet);
  EfSectionFlow *flow;
  EfDisplacement displacement;

  if (section == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s has no pressure section", findings->inspection->sheet->model);
      return FALSE;
    }
  if (!ef_displacement_solve (&section->pair, &displacement, error))
    return FALSE;
  bench->displacement = displacement.volume;
  bench->relief = findings->inspection->sheet->relief;
  bench->geometry = ef_flow_geometry (findings, section);
  bench->gaps = ef_flow_gaps (findings, section, state, stock, after, NULL, NULL);
  flow = ef_section_flow_new (&bench->geometry, EF_RIGHT_PUMP_CELLS, POSITIONS, EF_FILM_CONDENSE, error);
  if (flow == NULL)
    return FALSE;
  bench->films = ef_flow_films_new (flow, NULL);

  return TRUE;
}

static gboolean
bench_heat (Bench *bench,
            const Trial *trial,
            double temperature,
            GError **error)
{
  return ef_flow_gaps_heat (&bench->gaps, temperature, error) && ef_flow_films_set (bench->films, &bench->gaps, trial->cancellable, error);
}

static gboolean
bench_idle (Bench *bench,
            double k,
            double cooler,
            double speed,
            double mu,
            EfWorkingPoint *out,
            GError **error)
{
  EfFlowTask task = { speed, mu, bench->displacement, seen_by_pump (k, cooler), bench->relief, 1e5 };

  return ef_flow_films_idle (bench->films, &bench->gaps, &task, out, error);
}

static double
share_of (double k,
          double cooler)
{
  return isinf (cooler) ? 1.0 : cooler / (k + cooler);
}

/* @over_speed: else over multiples of the demand. */
static void
fill_curve (Bench *bench,
            const Trial *trial,
            gboolean over_speed,
            EfCurve *curve)
{
  curve->x = g_new (double, EF_RIGHT_PUMP_POINTS);
  curve->y = g_new (double, EF_RIGHT_PUMP_POINTS);
  for (guint i = 0; i < EF_RIGHT_PUMP_POINTS; i++)
    {
      double times = 0.5 + 1.5 * i / (EF_RIGHT_PUMP_POINTS - 1);
      double k = over_speed ? trial->k : times * trial->k;
      EfWorkingPoint point;

      if (!bench_idle (bench, k, trial->cooler, over_speed ? times * trial->speed : trial->speed, trial->mu, &point, NULL))
        continue;
      curve->x[curve->n] = over_speed ? times * trial->speed : times;
      curve->y[curve->n++] = point.pressure * share_of (k, trial->cooler);
    }
}

static gboolean
fill_choice (EfPumpChoice *choice,
             const Trial *trial,
             Bench *bench,
             GError **error)
{
  const EfFlowResult *flow = trial->flow;
  EfFlowTask rated = { flow->rated_speed, flow->rated_mu, bench->displacement, flow->demand, NAN, flow->rated_pressure };
  EfWorkingPoint plain, point, delivered;

  choice->displacement = bench->displacement;
  if (!bench_heat (bench, trial, flow->idle_temperature, error)
      || !bench_idle (bench, flow->demand, INFINITY, flow->idle_speed, flow->idle_mu, &plain, error)
      || !bench_heat (bench, trial, trial->temperature, error)
      || !bench_idle (bench, trial->k, trial->cooler, trial->speed, trial->mu, &point, error))
    return FALSE;
  choice->before = plain.pressure;
  choice->pump_pressure = point.pressure;
  choice->pressure = point.pressure * share_of (trial->k, trial->cooler);
  choice->at_relief = point.at_relief;
  choice->delivery = point.delivery - point.relieved;
  choice->scavenge_margin = choice->scavenge_ratio * bench->displacement * trial->speed / choice->delivery;
  fill_curve (bench, trial, TRUE, &choice->over_speed);
  fill_curve (bench, trial, FALSE, &choice->over_demand);
  if (!bench_heat (bench, trial, flow->rated_temperature, error) || !ef_flow_films_deliver (bench->films, &bench->gaps, &rated, flow->rated_pressure, &delivered, error))
    return FALSE;
  choice->rated_delivery = delivered.delivery;
  choice->known = TRUE;

  return TRUE;
}

static double
scavenge_ratio (const EfPumpSheet *sheet)
{
  const EfSection *section = ef_flow_section (sheet);
  EfDisplacement own, other;

  if (section == NULL || !ef_displacement_solve (&section->pair, &own, NULL))
    return NAN;
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *one = sheet->sections->pdata[i];

      if (one->role == EF_SECTION_SCAVENGE && ef_displacement_solve (&one->pair, &other, NULL))
        return ef_displacement_ratio (&other, &own);
    }

  return NAN;
}

static gboolean
same_note (const char *a,
           const char *b)
{
  return a != NULL && b != NULL && g_str_equal (a, b);
}

/* FALSE only when cancelled; what can't be computed says why. */
static gboolean
add_choice (EfRightPump *self,
            const Trial *trial,
            const EfFindings *findings,
            EfPumpState state,
            GHashTable *stock,
            const double after[2],
            GError **error)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;
  const EfPumpSheet *own = trial->assessment->inspection->sheet;
  EfPumpChoice *choice = g_new0 (EfPumpChoice, 1);
  g_auto (Bench) bench = { 0 };
  g_autoptr (GError) problem = NULL;

  g_ptr_array_add (self->choices, choice);
  choice->id = g_strdup (sheet->id);
  choice->model = g_strdup (sheet->model);
  choice->this_model = g_strcmp0 (sheet->id, own->id) == 0;
  choice->state = state;
  choice->label = state == EF_STATE_NEW ? g_strdup_printf ("%s as new", sheet->model)
                                        : g_strdup_printf ("this %s %s", sheet->model, state == EF_STATE_FOUND ? "as found" : "after rework");
  choice->mounting = g_strdup (sheet->mounting);
  choice->pickup = g_strdup (sheet->pickup);
  choice->same_mounting = choice->this_model || same_note (sheet->mounting, own->mounting);
  choice->same_pickup = choice->this_model || same_note (sheet->pickup, own->pickup);
  choice->scavenge_ratio = scavenge_ratio (sheet);
  choice->pressure = choice->before = choice->pump_pressure = choice->delivery = choice->rated_delivery = choice->scavenge_margin = NAN;
  if (bench_init (&bench, findings, state, stock, after, &problem) && fill_choice (choice, trial, &bench, &problem))
    return TRUE;
  if (g_error_matches (problem, EF_ERROR, EF_ERROR_CANCELLED))
    {
      g_propagate_error (error, g_steal_pointer (&problem));
      return FALSE;
    }
  choice->reason = g_strdup (problem->message);

  return TRUE;
}

static gboolean
add_new (EfRightPump *self,
         const Trial *trial,
         EfPumpSheet *sheet,
         GError **error)
{
  g_autoptr (EfInspection) empty = ef_inspection_new (sheet, "");
  EfFindings findings = { 0 };
  gboolean ok;

  ef_assess_findings_init (&findings, empty);
  findings.derived = g_ptr_array_new ();
  ok = ef_assess_faces (&findings, NULL, trial->cancellable, error) && add_choice (self, trial, &findings, EF_STATE_NEW, NULL, NULL, error);
  ef_assess_findings_clear (&findings);

  return ok;
}

static gboolean
add_this (EfRightPump *self,
          const Trial *trial,
          GError **error)
{
  const EfAssessment *assessment = trial->assessment;
  const EfSection *section = ef_flow_section (assessment->inspection->sheet);
  g_autoptr (GHashTable) stock = ef_after_stock (assessment->inspection, assessment->steps);
  double after[2] = { NAN, NAN };
  GHashTableIter iter;
  gpointer value;
  gboolean any = ef_after_recorded (assessment->inspection);

  if (!add_choice (self, trial, &assessment->findings, EF_STATE_FOUND, NULL, NULL, error))
    return FALSE;
  g_hash_table_iter_init (&iter, stock);
  while (g_hash_table_iter_next (&iter, NULL, &value))
    any = any || *(const double *) value > 0.0;
  if (!any || section == NULL)
    return TRUE;
  ef_assessment_clearance_after (assessment, section, after);

  return add_choice (self, trial, &assessment->findings, EF_STATE_REWORKED, stock, after, error);
}

/* This pump, its model, those that go on the same mounting, the others, those that couldn't be worked out. */
static int
rank_of (const EfPumpChoice *choice)
{
  if (choice->state != EF_STATE_NEW)
    return (int) choice->state - EF_N_STATES;
  if (choice->this_model)
    return 0;
  if (!choice->known)
    return 3;

  return choice->same_mounting ? 1 : 2;
}

static int
by_pressure (gconstpointer a,
             gconstpointer b)
{
  const EfPumpChoice *left = *(const EfPumpChoice *const *) a;
  const EfPumpChoice *right = *(const EfPumpChoice *const *) b;

  if (rank_of (left) != rank_of (right))
    return rank_of (left) - rank_of (right);
  if (left->known && left->pressure != right->pressure)
    return left->pressure > right->pressure ? -1 : 1;

  return g_strcmp0 (left->model, right->model);
}

static gboolean
set_up (EfRightPump *self,
        Trial *trial,
        const EfDemand *demand,
        GError **error)
{
  const EfInspection *inspection = trial->assessment->inspection;
  const EfFlowResult *flow = trial->flow;
  const EfRatedPoint *idle = ef_pump_sheet_rated (inspection->sheet, "hot idle");
  const EfJobHeader *header = ef_inspection_header (inspection);

  if (flow == NULL || !(flow->demand > 0.0) || idle == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a rated point \"hot idle\" with a demand, found none", inspection->sheet->model);
      return FALSE;
    }
  trial->speed = demand != NULL && !isnan (demand->speed) ? demand->speed : flow->idle_speed;
  trial->temperature = flow->idle_temperature + (demand != NULL && !isnan (demand->hotter) ? demand->hotter : 0.0);
  if (!ef_flow_viscosity (inspection, trial->temperature, &trial->mu, self->notes, error))
    return FALSE;
  trial->k = flow->demand;
  trial->cooler = INFINITY;
  if (demand != NULL && demand->extra_flow > 0.0 && demand->extra_pressure > 0.0)
    trial->k += flow->idle_mu * demand->extra_flow / demand->extra_pressure;
  if (demand != NULL && demand->cooler_flow > 0.0 && demand->cooler_drop > 0.0)
    trial->cooler = flow->idle_mu * demand->cooler_flow / demand->cooler_drop;
  self->k = trial->k;
  self->k_pump = seen_by_pump (trial->k, trial->cooler);
  self->share = share_of (trial->k, trial->cooler);
  self->speed = trial->speed;
  self->temperature = trial->temperature;
  self->mu = trial->mu;
  self->wanted = !isnan (header->expected_pressure) ? header->expected_pressure : idle->pressure;
  self->wanted_from = g_strdup (!isnan (header->expected_pressure) ? "the job" : "the pump sheet");

  return TRUE;
}

static const char *
fits_text (const EfPumpChoice *choice)
{
  if (choice->same_mounting)
    return choice->same_pickup ? "same mounting, same pickup" : "same mounting, other pickup";

  return "other mounting: it doesn't go on as it is";
}

static const EfPumpChoice *
this_new (const EfRightPump *self)
{
  for (guint i = 0; i < self->choices->len; i++)
    {
      const EfPumpChoice *choice = self->choices->pdata[i];

      if (choice->this_model && choice->state == EF_STATE_NEW)
        return choice;
    }

  return NULL;
}

/* What each would hold, those that fit the mounting first, and which of them is enough. */
static char *
sentence_of (const EfRightPump *self)
{
  GString *out = g_string_new (NULL);
  const EfPumpChoice *own = this_new (self);
  const EfPumpChoice *enough = NULL;
  guint told = 0;

  g_string_append_printf (out, "At hot idle (%.0f 1/min, %.0f °C) under this demand ", 60.0 * self->speed, self->temperature - 273.15);
  for (guint i = 0; i < self->choices->len; i++)
    {
      const EfPumpChoice *choice = self->choices->pdata[i];

      if (!choice->known || !choice->same_mounting)
        continue;
      g_string_append_printf (out, told == 0 ? "%s would hold %.2f bar" : ", %s %.2f bar", choice->label, 1e-5 * choice->pressure);
      told++;
      /* The own model stands before the others. */
      if (choice->state == EF_STATE_NEW && choice->pressure >= self->wanted && enough == NULL)
        enough = choice;
    }
  if (told == 0)
    {
      g_string_assign (out, "No pump of this mounting could be worked out.");
      return g_string_free (out, FALSE);
    }
  g_string_append_printf (out, ". %.2f bar is wanted (%s): ", 1e-5 * self->wanted, self->wanted_from);
  if (enough == NULL)
    g_string_append (out, "none of this mounting is enough.");
  else if (enough == own)
    g_string_append_printf (out, "a sound %s is enough.", own->model);
  else
    g_string_append_printf (out, "%s is enough; it has the %s.", enough->model, fits_text (enough));

  return g_string_free (out, FALSE);
}

static void
note_scavenge (EfRightPump *self)
{
  for (guint i = 0; i < self->choices->len; i++)
    {
      const EfPumpChoice *choice = self->choices->pdata[i];

      if (choice->state == EF_STATE_NEW && choice->known && choice->scavenge_margin < 1.0)
        ef_flow_assume (self->notes, "%s: the scavenge section displaces less than what goes to the engine; the sump would fill.", choice->model);
    }
  ef_flow_assume (self->notes, "Scavenge sections pump mostly air-laden oil: their margin is by displacement alone.");
  ef_flow_assume (self->notes, "Cooler, lines and added consumers are taken as laminar, as the engine's own demand is.");
  ef_flow_assume (self->notes, "Mounting and pickup are the same where the pump sheets say the same; hold the parts side by side before you order.");
}

EfRightPump *
ef_right_pump_new (const EfAssessment *assessment,
                   GPtrArray *sheets,
                   const EfDemand *demand,
                   GCancellable *cancellable,
                   GError **error)
{
  g_autoptr (EfRightPump) self = g_new0 (EfRightPump, 1);
  Trial trial = { .assessment = assessment, .flow = assessment->flow, .cancellable = cancellable };
  gboolean has_own = FALSE;

  self->choices = g_ptr_array_new_with_free_func ((GDestroyNotify) choice_free);
  self->notes = g_ptr_array_new_with_free_func (g_free);
  self->wanted = NAN;
  if (!set_up (self, &trial, demand, error) || !add_this (self, &trial, error))
    return NULL;
  for (guint i = 0; i < sheets->len; i++)
    {
      EfPumpSheet *sheet = sheets->pdata[i];

      /* Of the job's model the job's own sheet counts. */
      if (g_strcmp0 (sheet->id, assessment->inspection->sheet->id) == 0)
        {
          if (has_own)
            continue;
          has_own = TRUE;
          sheet = assessment->inspection->sheet;
        }
      if (!add_new (self, &trial, sheet, error))
        return NULL;
    }
  if (!has_own && !add_new (self, &trial, assessment->inspection->sheet, error))
    return NULL;
  g_ptr_array_sort (self->choices, by_pressure);
  self->sentence = sentence_of (self);
  note_scavenge (self);

  return g_steal_pointer (&self);
}

static JsonArray *
curve_to_json (const EfCurve *curve,
               double x_scale)
{
  JsonArray *rows = json_array_new ();

  for (guint i = 0; i < curve->n; i++)
    {
      JsonArray *pair = json_array_new ();

      json_array_add_double_element (pair, x_scale * curve->x[i]);
      json_array_add_double_element (pair, 1e-5 * curve->y[i]);
      json_array_add_array_element (rows, pair);
    }

  return rows;
}

static void
put_known (JsonObject *out,
           const char *member,
           double value)
{
  if (isfinite (value))
    json_object_set_double_member (out, member, value);
}

static JsonObject *
choice_to_json (const EfPumpChoice *choice)
{
  JsonObject *out = json_object_new ();

  json_object_set_string_member (out, "pump", choice->id);
  json_object_set_string_member (out, "model", choice->model);
  json_object_set_string_member (out, "label", choice->label);
  json_object_set_string_member (out, "state", ef_pump_state_name (choice->state));
  json_object_set_boolean_member (out, "same_mounting", choice->same_mounting);
  json_object_set_boolean_member (out, "same_pickup", choice->same_pickup);
  if (choice->mounting != NULL)
    json_object_set_string_member (out, "mounting", choice->mounting);
  if (choice->pickup != NULL)
    json_object_set_string_member (out, "pickup", choice->pickup);
  put_known (out, "scavenge_ratio", choice->scavenge_ratio);
  if (!choice->known)
    {
      json_object_set_string_member (out, "reason", choice->reason);
      return out;
    }
  ef_json_put (out, "displacement_cm3", 1e6 * choice->displacement);
  ef_json_put (out, "idle_pressure_bar", 1e-5 * choice->pressure);
  ef_json_put (out, "pump_pressure_bar", 1e-5 * choice->pump_pressure);
  ef_json_put (out, "before_bar", 1e-5 * choice->before);
  json_object_set_boolean_member (out, "at_relief", choice->at_relief);
  ef_json_put (out, "idle_delivery_l_min", 6e4 * choice->delivery);
  ef_json_put (out, "rated_delivery_l_min", 6e4 * choice->rated_delivery);
  put_known (out, "scavenge_margin", choice->scavenge_margin);
  json_object_set_array_member (out, "over_speed_rpm_bar", curve_to_json (&choice->over_speed, 60.0));
  json_object_set_array_member (out, "over_demand_bar", curve_to_json (&choice->over_demand, 1.0));

  return out;
}

JsonNode *
ef_right_pump_to_json (const EfRightPump *self)
{
  JsonObject *out = json_object_new ();
  JsonArray *choices = json_array_new ();
  JsonArray *notes = json_array_new ();

  json_object_set_string_member (out, "sentence", self->sentence);
  ef_json_put (out, "wanted_bar", 1e-5 * self->wanted);
  ef_json_put (out, "speed_rpm", 60.0 * self->speed);
  ef_json_put (out, "temperature_c", self->temperature - 273.15);
  ef_json_put (out, "viscosity_mPa_s", 1e3 * self->mu);
  ef_json_put (out, "demand_m3", self->k);
  ef_json_put (out, "demand_at_pump_m3", self->k_pump);
  ef_json_put (out, "pressure_share", self->share);
  for (guint i = 0; i < self->choices->len; i++)
    json_array_add_object_element (choices, choice_to_json (self->choices->pdata[i]));
  json_object_set_array_member (out, "choices", choices);
  for (guint i = 0; i < self->notes->len; i++)
    json_array_add_string_element (notes, self->notes->pdata[i]);
  json_object_set_array_member (out, "notes", notes);

  return ef_json_object_node (out);
}

GPtrArray *
ef_right_pump_sheets (GError **error)
{
  g_autofree char *folder = ef_data_path ("pump-sheets", NULL);
  g_autoptr (GPtrArray) sheets = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_pump_sheet_unref);
  g_autoptr (GError) problem = NULL;
  g_autoptr (GDir) dir = g_dir_open (folder, 0, &problem);
  const char *name;

  if (dir == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_IO, problem->message);
      return NULL;
    }
  while ((name = g_dir_read_name (dir)) != NULL)
    {
      g_autofree char *path = g_build_filename (folder, name, NULL);
      EfPumpSheet *sheet;

      if (!g_str_has_suffix (name, ".json"))
        continue;
      sheet = ef_pump_sheet_load (path, error);
      if (sheet == NULL)
        return NULL;
      g_ptr_array_add (sheets, sheet);
    }

  return g_steal_pointer (&sheets);
}
