/* The sheet: made from a lesson, read, written, and measured on.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-place.h"
#include "ef-lesson-private.h"

#include "../wear/ef-mark.h"

#include <math.h>
#include <string.h>

#define PLACES_MAX 5000
#define BENCH_NUMBER "lesson"

static void
shown_free (gpointer data)
{
  EfLessonShown *shown = data;

  g_free (shown->gauge);
  g_free (shown);
}

static void
place_free (gpointer data)
{
  ef_lesson_place_clear (data);
  g_free (data);
}

static EfLessonSheet *
sheet_alloc (void)
{
  EfLessonSheet *sheet = g_new0 (EfLessonSheet, 1);

  sheet->surfaces = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_lesson_surface_free);
  sheet->places = g_ptr_array_new_with_free_func (place_free);

  return sheet;
}

void
ef_lesson_sheet_free (EfLessonSheet *sheet)
{
  if (sheet == NULL)
    return;

  ef_lesson_terms_clear (&sheet->terms);
  g_free (sheet->digest);
  g_strfreev (sheet->decide);
  ef_inspection_free (sheet->bench);
  g_ptr_array_unref (sheet->surfaces);
  g_ptr_array_unref (sheet->places);
  g_free (sheet);
}

/* Making one */

/* What is told with the pump. Not its number: under it the job could be looked up, or a specimen made again. Nothing of how it was decided, noted or planned. */
static gboolean
put_header (EfInspection *bench,
            const EfJobHeader *from,
            GError **error)
{
  g_autoptr (GPtrArray) headers = g_ptr_array_new_with_free_func (ef_item_unref);
  EfJobHeader *header = ef_item_copy (ef_inspection_header (bench));

  g_ptr_array_add (headers, header);
  header->serial = g_strdup (from->serial);
  header->received = g_strdup (from->received);
  header->customer = g_strdup (from->customer);
  header->complaint = g_strdup (from->complaint);
  header->oil = g_strdup (from->oil);
  header->role = g_strdup ("apprentice");
  header->hours = from->hours;
  header->found_pressure = from->found_pressure;
  header->found_speed = from->found_speed;
  header->found_temperature = from->found_temperature;
  header->expected_pressure = from->expected_pressure;

  return ef_inspection_fill (bench, EF_ITEM_HEADER, headers, error);
}

/* Those allowed, and the ones that given readings were taken with. */
static gboolean
put_readings (EfInspection *bench,
              const EfLesson *lesson,
              GError **error)
{
  g_autoptr (GPtrArray) readings = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GPtrArray) gauges = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GHashTable) used = g_hash_table_new (g_str_hash, g_str_equal);
  const GPtrArray *all = lesson->reference->items[EF_ITEM_READING];
  const GPtrArray *all_gauges = lesson->reference->items[EF_ITEM_GAUGE];

  for (guint i = 0; i < all->len; i++)
    {
      EfReading *reading = all->pdata[i];

      if (reading->after || g_strv_contains ((const char *const *) lesson->terms.measure, ef_quantity_name (reading->quantity)))
        continue;
      if (reading->gauge_id != NULL)
        g_hash_table_add (used, reading->gauge_id);
      reading = ef_item_copy (reading);
      g_clear_pointer (&reading->note, g_free);
      g_ptr_array_add (readings, reading);
    }
  for (guint i = 0; i < all_gauges->len; i++)
    {
      EfItem *gauge = all_gauges->pdata[i];

      if (g_hash_table_contains (used, gauge->id) || g_strv_contains ((const char *const *) lesson->terms.gauges, gauge->id))
        g_ptr_array_add (gauges, ef_item_ref (gauge));
    }

  return ef_inspection_fill (bench, EF_ITEM_GAUGE, gauges, error) && ef_inspection_fill (bench, EF_ITEM_READING, readings, error);
}

static EfInspection *
bench_new (const EfLesson *lesson,
           GError **error)
{
  g_autoptr (EfInspection) bench = ef_inspection_new (lesson->reference->sheet, BENCH_NUMBER);

  if (!put_header (bench, ef_inspection_header (lesson->reference), error) || !put_readings (bench, lesson, error))
    return NULL;

  return g_steal_pointer (&bench);
}

static gboolean
add_surfaces (EfLessonSheet *sheet,
              const EfLesson *lesson,
              GCancellable *cancellable,
              GError **error)
{
  for (guint i = 0; lesson->terms.faces[i] != NULL; i++)
    {
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (lesson->reference->sheet, lesson->terms.faces[i], error);
      EfLessonSurface *surface = NULL;

      if (chart != NULL)
        surface = ef_lesson_surface_new (chart, lesson->reference->items[EF_ITEM_MARK], lesson->crescents, cancellable, error);
      if (surface == NULL)
        return FALSE;
      g_ptr_array_add (sheet->surfaces, surface);
    }

  return TRUE;
}

static gboolean
reaches (const EfGauge *gauge,
         double value)
{
  return (isnan (gauge->range_min) || value >= gauge->range_min) && (isnan (gauge->range_max) || value <= gauge->range_max);
}

static char *
where_of (const EfLessonPlace *place)
{
  return g_strdup_printf ("%s %s %s %.9f %.9f %.9f", ef_quantity_name (place->quantity), place->target, place->place != NULL ? place->place : "",
                          isnan (place->angle) ? 0 : place->angle, isnan (place->u) ? 0 : place->u, isnan (place->v) ? 0 : place->v);
}

static void
add_shown (EfLessonPlace *place,
           const EfLesson *lesson,
           double truth)
{
  g_autofree char *seed = g_strdup_printf ("%u", lesson->seed);
  g_autofree char *where = where_of (place);

  for (guint i = 0; lesson->terms.gauges[i] != NULL; i++)
    {
      const EfGauge *gauge = ef_inspection_find (lesson->reference, EF_ITEM_GAUGE, lesson->terms.gauges[i]);
      EfLessonShown *shown;

      if (gauge == NULL || !ef_lesson_gauge_suits (gauge->kind, place->quantity) || !reaches (gauge, truth))
        continue;
      shown = g_new0 (EfLessonShown, 1);
      shown->gauge = g_strdup (gauge->item.id);
      shown->n = EF_LESSON_REPEATS;
      for (guint k = 0; k < shown->n; k++)
        shown->values[k] = ef_lesson_gauge_shows (gauge, truth, seed, where, k);
      g_ptr_array_add (place->shown, shown);
    }
}

static void
add_places (EfLessonSheet *sheet,
            const EfLesson *lesson)
{
  g_autoptr (GPtrArray) truth = ef_lesson_truth (lesson);

  for (guint i = 0; i < truth->len; i++)
    {
      const EfLessonTruth *one = truth->pdata[i];
      EfLessonPlace *place = g_new0 (EfLessonPlace, 1);

      *place = one->place;
      place->target = g_strdup (one->place.target);
      place->place = g_strdup (one->place.place);
      place->shown = g_ptr_array_new_with_free_func (shown_free);
      add_shown (place, lesson, one->value);
      g_ptr_array_add (sheet->places, place);
    }
}

static GStrv
parts_to_decide (const EfLesson *lesson)
{
  g_autoptr (GStrvBuilder) builder = g_strv_builder_new ();

  for (guint i = 0; i < lesson->verdicts->len; i++)
    g_strv_builder_add (builder, ((EfLessonVerdict *) lesson->verdicts->pdata[i])->part);

  return g_strv_builder_end (builder);
}

EfLessonSheet *
ef_lesson_sheet_new (const EfLesson *lesson,
                     GCancellable *cancellable,
                     GError **error)
{
  g_autoptr (EfLessonSheet) sheet = sheet_alloc ();

  ef_lesson_terms_copy (&sheet->terms, &lesson->terms);
  sheet->digest = ef_lesson_digest (lesson, error);
  if (sheet->digest == NULL)
    return NULL;
  sheet->decide = parts_to_decide (lesson);
  sheet->bench = bench_new (lesson, error);
  if (sheet->bench == NULL || !add_surfaces (sheet, lesson, cancellable, error))
    return NULL;
  add_places (sheet, lesson);

  return g_steal_pointer (&sheet);
}

/* Measuring on it */

const EfLessonSurface *
ef_lesson_sheet_surface (const EfLessonSheet *sheet,
                         const char *face_id)
{
  for (guint i = 0; i < sheet->surfaces->len; i++)
    if (g_str_equal (((EfLessonSurface *) sheet->surfaces->pdata[i])->face_id, face_id))
      return sheet->surfaces->pdata[i];

  return NULL;
}

static const EfGauge *
given_gauge (const EfLessonSheet *sheet,
             const char *id,
             GError **error)
{
  const EfGauge *gauge = id != NULL ? ef_inspection_find (sheet->bench, EF_ITEM_GAUGE, id) : NULL;

  if (gauge != NULL && g_strv_contains ((const char *const *) sheet->terms.gauges, id))
    return gauge;
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "gauge: expected one that this lesson gives, found \"%s\"", id != NULL ? id : "none");

  return NULL;
}

gboolean
ef_lesson_sheet_read_depth (const EfLessonSheet *sheet,
                            const char *face_id,
                            double u,
                            double v,
                            const char *gauge_id,
                            guint repeat,
                            double *depth_out,
                            GError **error)
{
  const EfLessonSurface *surface = ef_lesson_sheet_surface (sheet, face_id);
  const EfGauge *gauge = given_gauge (sheet, gauge_id, error);
  g_autofree char *where = g_strdup_printf ("depth %s %.4f %.4f", face_id, u * 1e3, v * 1e3);
  double truth;

  if (gauge == NULL)
    return FALSE;
  if (surface == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "face: expected one that this lesson gives, found \"%s\"", face_id);
      return FALSE;
    }
  truth = ef_lesson_surface_deepest (surface, u, v, sheet->terms.tolerance.place);
  if (truth > gauge->range_max)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "gauge: expected one that reaches so deep, found %s with too short a range", gauge->name);
      return FALSE;
    }
  /* What it shows where it reads less than nothing is nothing. */
  *depth_out = fmax (0, ef_lesson_gauge_shows (gauge, truth, sheet->digest, where, repeat));

  return TRUE;
}

const EfLessonPlace *
ef_lesson_sheet_place (const EfLessonSheet *sheet,
                       const EfReading *reading)
{
  const EfLessonPlace *found = NULL;
  double nearest = INFINITY;

  for (guint i = 0; i < sheet->places->len; i++)
    {
      double apart = ef_lesson_place_apart (sheet->places->pdata[i], reading);

      if (apart < nearest)
        {
          nearest = apart;
          found = sheet->places->pdata[i];
        }
    }

  return found;
}

gboolean
ef_lesson_sheet_read (const EfLessonSheet *sheet,
                      const EfReading *reading,
                      guint repeat,
                      double *value_out,
                      GError **error)
{
  const EfLessonPlace *place = ef_lesson_sheet_place (sheet, reading);
  const char *label = ef_quantity_label (reading->quantity);

  if (!g_strv_contains ((const char *const *) sheet->terms.measure, ef_quantity_name (reading->quantity)))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s isn't measured in this lesson: where it counts, it's given.", label);
      return FALSE;
    }
  if (given_gauge (sheet, reading->gauge_id, error) == NULL)
    return FALSE;
  if (place == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s can't be measured here in this lesson: the part was measured at other places.", label);
      return FALSE;
    }
  for (guint i = 0; i < place->shown->len; i++)
    {
      const EfLessonShown *shown = place->shown->pdata[i];

      if (shown->n == 0 || !g_str_equal (shown->gauge, reading->gauge_id))
        continue;
      *value_out = shown->values[repeat % shown->n];
      return TRUE;
    }
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s can't be taken with this gauge: choose one that is made for it and reaches so far.", label);

  return FALSE;
}

/* Reading and writing */

static JsonArray *
shown_to_json (const EfLessonPlace *place)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < place->shown->len; i++)
    {
      const EfLessonShown *shown = place->shown->pdata[i];
      JsonObject *object = json_object_new ();
      JsonArray *values = json_array_new ();

      for (guint k = 0; k < shown->n; k++)
        json_array_add_double_element (values, round (shown->values[k] * 1e9) / 1e6);
      json_object_set_string_member (object, "gauge", shown->gauge);
      json_object_set_array_member (object, "values_mm", values);
      json_array_add_object_element (array, object);
    }

  return array;
}

static JsonObject *
place_to_json (const EfLessonPlace *place)
{
  JsonObject *object = json_object_new ();

  json_object_set_string_member (object, "quantity", ef_quantity_name (place->quantity));
  json_object_set_string_member (object, "target", place->target);
  if (place->place != NULL)
    json_object_set_string_member (object, "place", place->place);
  if (!isnan (place->angle))
    ef_json_put (object, "angle_deg", round (place->angle * 180 / G_PI * 1e9) / 1e9);
  if (!isnan (place->u))
    {
      JsonArray *at = json_array_new ();

      json_array_add_double_element (at, round (place->u * 1e9) / 1e6);
      json_array_add_double_element (at, round (place->v * 1e9) / 1e6);
      json_object_set_array_member (object, "at_mm", at);
    }
  json_object_set_array_member (object, "shown", shown_to_json (place));

  return object;
}

char *
ef_lesson_sheet_write (const EfLessonSheet *sheet)
{
  JsonObject *object = json_object_new ();
  JsonArray *surfaces = json_array_new (), *places = json_array_new ();
  g_autoptr (JsonNode) node = NULL;

  for (guint i = 0; i < sheet->surfaces->len; i++)
    json_array_add_object_element (surfaces, ef_lesson_surface_to_json (sheet->surfaces->pdata[i]));
  for (guint i = 0; i < sheet->places->len; i++)
    json_array_add_object_element (places, place_to_json (sheet->places->pdata[i]));
  json_object_set_string_member (object, "format", EF_LESSON_SHEET_FORMAT);
  json_object_set_int_member (object, "version", EF_LESSON_VERSION);
  json_object_set_string_member (object, "lesson", sheet->digest);
  ef_lesson_terms_write (&sheet->terms, object);
  json_object_set_array_member (object, "decide", ef_lesson_list_to_json ((const char *const *) sheet->decide));
  json_object_set_array_member (object, "places", places);
  json_object_set_array_member (object, "surfaces", surfaces);
  json_object_set_member (object, "bench", ef_lesson_inspection_to_json (sheet->bench));
  node = ef_json_object_node (object);

  return ef_json_to_text (node);
}

static void
read_shown (EfLessonPlace *place,
            const EfJson *json)
{
  static const char *const members[] = { "gauge", "values_mm", NULL };
  g_auto (EfJson) array = ef_json_array (json, "shown", 0, EF_LESSON_LIST_MAX);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      g_auto (EfJson) values = ef_json_array (&one, "values_mm", 1, EF_LESSON_REPEATS);
      EfLessonShown *shown = g_new0 (EfLessonShown, 1);

      ef_json_only (&one, members);
      shown->gauge = ef_lesson_read_text (&one, "gauge", EF_LESSON_TITLE_MAX, FALSE);
      shown->n = MIN (ef_json_length (&values), EF_LESSON_REPEATS);
      for (guint k = 0; k < shown->n; k++)
        {
          g_auto (EfJson) value = ef_json_element (&values, k);

          shown->values[k] = ef_json_value (&value, -1000, 10000) * 1e-3;
        }
      g_ptr_array_add (place->shown, shown);
    }
}

static void
read_at (EfLessonPlace *place,
         const EfJson *json)
{
  g_auto (EfJson) at = { 0 };
  g_auto (EfJson) u = { 0 };
  g_auto (EfJson) v = { 0 };

  place->u = place->v = NAN;
  if (!ef_json_has (json, "at_mm"))
    return;
  at = ef_json_array (json, "at_mm", 2, 2);
  if (ef_json_length (&at) != 2)
    return;
  u = ef_json_element (&at, 0);
  v = ef_json_element (&at, 1);
  place->u = ef_json_value (&u, -10000, 10000) * 1e-3;
  place->v = ef_json_value (&v, -10000, 10000) * 1e-3;
}

static EfLessonPlace *
read_place (const EfJson *json)
{
  static const char *const members[] = { "quantity", "target", "place", "angle_deg", "at_mm", "shown", NULL };
  const char *names[EF_N_READINGS + 1] = { NULL };
  EfLessonPlace *place = g_new0 (EfLessonPlace, 1);

  for (int i = 0; i < EF_N_READINGS; i++)
    names[i] = ef_quantity_name (i);
  ef_json_only (json, members);
  place->quantity = (EfQuantity) ef_json_choice (json, "quantity", names);
  place->target = ef_lesson_read_text (json, "target", EF_LESSON_TITLE_MAX, FALSE);
  place->place = ef_json_string_or (json, "place", NULL);
  place->angle = ef_json_has (json, "angle_deg") ? ef_json_number (json, "angle_deg", -720, 720) * G_PI / 180 : NAN;
  place->shown = g_ptr_array_new_with_free_func (shown_free);
  read_at (place, json);
  read_shown (place, json);

  return place;
}

static void
read_places (EfLessonSheet *sheet,
             const EfJson *root)
{
  g_auto (EfJson) array = ef_json_array (root, "places", 0, PLACES_MAX);

  for (guint i = 0; i < ef_json_length (&array) && ef_json_finish (root->context, NULL); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);

      g_ptr_array_add (sheet->places, read_place (&one));
    }
}

static void
read_surfaces (EfLessonSheet *sheet,
               const EfJson *root)
{
  g_auto (EfJson) array = ef_json_array (root, "surfaces", 0, 200);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      EfLessonSurface *surface = ef_lesson_surface_from_json (&one);

      if (surface == NULL)
        return;
      g_ptr_array_add (sheet->surfaces, surface);
      if (!g_strv_contains ((const char *const *) sheet->terms.faces, surface->face_id))
        ef_json_fail (&one, EF_ERROR_NOT_FOUND, "face: expected one of the faces that are given, found \"%s\"", surface->face_id);
      else if (ef_lesson_sheet_surface (sheet, surface->face_id) != surface)
        ef_json_fail (&one, EF_ERROR_INVALID, "face: expected one surface a face, found a second one of \"%s\"", surface->face_id);
    }
}

/* A sheet with marks or verdicts in it would give the answer away, or isn't one. */
static gboolean
check_sheet (const EfLessonSheet *sheet,
             GError **error)
{
  if (sheet->bench->items[EF_ITEM_MARK]->len + sheet->bench->items[EF_ITEM_OVERRIDE]->len > 0)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "bench: expected neither marks nor overrides in a sheet, found some");
      return FALSE;
    }
  for (guint i = 0; sheet->terms.faces[i] != NULL; i++)
    if (ef_lesson_sheet_surface (sheet, sheet->terms.faces[i]) == NULL)
      {
        g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "surfaces: expected one of each face that is given, found none of \"%s\"", sheet->terms.faces[i]);
        return FALSE;
      }
  for (guint i = 0; sheet->decide[i] != NULL; i++)
    if (!ef_lesson_part_given ((const char *const *) sheet->terms.faces, sheet->decide[i]))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "decide: expected a part with a face that is given, found \"%s\"", sheet->decide[i]);
        return FALSE;
      }

  return ef_lesson_terms_check (&sheet->terms, sheet->bench, error);
}

static EfLessonSheet *
read_context (EfJsonContext *context,
              const char *file,
              GError **error)
{
  static const char *const members[] = { "format", "version", "lesson", "name", "title", "task", "role", "made", "faces", "gauges", "measure", "tolerance",
                                         "decide", "places", "surfaces", "bench", NULL };
  g_auto (EfJson) root = ef_json_root (context);
  g_autoptr (EfLessonSheet) sheet = NULL;
  g_autoptr (GError) local = NULL;

  if (!ef_lesson_check_format (&root, EF_LESSON_SHEET_FORMAT, EF_LESSON_VERSION, error))
    return NULL;
  ef_json_only (&root, members);
  sheet = sheet_alloc ();
  sheet->digest = ef_lesson_read_digest (&root, "lesson");
  ef_lesson_terms_read (&sheet->terms, &root);
  sheet->decide = ef_lesson_read_list (&root, "decide");
  read_places (sheet, &root);
  read_surfaces (sheet, &root);
  if (!ef_json_finish (context, error))
    return NULL;
  sheet->bench = ef_lesson_read_inspection (&root, "bench", file, error);
  if (sheet->bench == NULL)
    return NULL;
  if (!check_sheet (sheet, &local))
    {
      ef_json_fail (&root, local->code, "%s", local->message);
      ef_json_finish (context, error);
      return NULL;
    }

  return g_steal_pointer (&sheet);
}

EfLessonSheet *
ef_lesson_sheet_parse (const char *text,
                       gssize length,
                       const char *file,
                       GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse (text, length, file, error);

  return context != NULL ? read_context (context, file, error) : NULL;
}

EfLessonSheet *
ef_lesson_sheet_load (const char *path,
                      GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse_file (path, error);
  g_autofree char *name = g_filename_display_name (path);

  return context != NULL ? read_context (context, name, error) : NULL;
}
