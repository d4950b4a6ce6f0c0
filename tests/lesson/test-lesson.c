/* Lesson, sheet and attempt files: nothing lost, nothing given away, nothing wrong let in; gauges that err as they say. Constructed unless said otherwise.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "lesson-fixture.h"

#include "../fixed-random.h"
#include "../isolate.h"
#include "lesson/ef-attempt.h"
#include "lesson/ef-lesson-place.h"
#include "lesson/ef-lesson-specimen.h"

#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <string.h>

#define MM 1e-3

static void
test_made (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (GPtrArray) marks = ef_lesson_marks (lesson);
  const EfLessonVerdict *plate = ef_lesson_verdict (lesson, "separator");

  g_assert_cmpuint (marks->len, ==, lesson->reference->items[EF_ITEM_MARK]->len);
  g_assert_true (g_strv_contains ((const char *const *) lesson->terms.faces, "separator/side-a"));
  /* Demo job 1: grooves across the separator plate; rework saves the pump. */
  g_assert_nonnull (plate);
  g_assert_cmpint (plate->verdict, ==, EF_VERDICT_REWORK);
}

static void
test_round_trip (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autofree char *before = ef_lesson_digest (lesson, NULL);
  g_autofree char *after = NULL;
  g_autofree char *changed = NULL;
  g_autofree char *text = NULL;
  g_autoptr (EfLesson) again = NULL;
  g_autoptr (GError) error = NULL;

  ef_lesson_set_note (lesson, "m003", "Joins delivery and suction: the oil goes straight back.");
  g_free (ef_lesson_verdict (lesson, "separator")->note);
  ef_lesson_verdict (lesson, "separator")->note = g_strdup ("Laps out.");
  changed = ef_lesson_digest (lesson, NULL);
  g_assert_cmpstr (changed, !=, before);
  text = ef_lesson_write (lesson);
  again = ef_lesson_parse (text, -1, "lesson.json", &error);
  g_assert_no_error (error);
  after = ef_lesson_digest (again, NULL);
  g_assert_cmpstr (after, ==, changed);
  g_assert_true (ef_inspection_equal (lesson->reference, again->reference));
  g_assert_cmpstr (ef_lesson_note (again, "m003"), ==, ef_lesson_note (lesson, "m003"));
  ef_lesson_set_note (again, "m003", " ");
  g_assert_null (ef_lesson_note (again, "m003"));
}

/* Not a mark's id, a note, a kind, a verdict or the seed stands in the apprentice's file. */
static void
test_no_peeking (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfLessonSheet) sheet = NULL;
  const GPtrArray *readings = lesson->reference->items[EF_ITEM_READING];
  g_autofree char *text = NULL;
  g_autoptr (GError) error = NULL;

  fixture_measure (lesson, "pocket-depth", "face-width");
  ef_lesson_set_note (lesson, "m003", "Joins delivery and suction.");
  /* Of a reading that is given, a bore's. */
  for (guint i = 0; i < readings->len; i++)
    if (((EfReading *) readings->pdata[i])->quantity == EF_READ_BORE_DIAMETER)
      ((EfReading *) readings->pdata[i])->note = g_strdup ("Long in the line of the load.");
  sheet = ef_lesson_sheet_new (lesson, NULL, &error);
  g_assert_no_error (error);
  text = ef_lesson_sheet_write (sheet);
  for (guint i = 0; i < lesson->reference->items[EF_ITEM_MARK]->len; i++)
    {
      const EfMark *mark = lesson->reference->items[EF_ITEM_MARK]->pdata[i];
      g_autofree char *id = g_strdup_printf ("\"%s\"", mark->item.id);

      g_assert_null (strstr (text, id));
      if (mark->note != NULL)
        g_assert_null (strstr (text, mark->note));
    }
  g_assert_null (strstr (text, "Joins delivery"));
  g_assert_nonnull (strstr (text, "\"bore-diameter\""));
  g_assert_null (strstr (text, "Long in the line"));
  g_assert_null (strstr (text, "\"kind\": \"groove\""));
  g_assert_null (strstr (text, "\"verdict\""));
  g_assert_null (strstr (text, "4711"));
  g_assert_null (strstr (text, "\"nodes_mm\""));
  /* What is to be measured isn't given: the true pocket depth of the job's file. */
  for (guint i = 0; i < sheet->bench->items[EF_ITEM_READING]->len; i++)
    g_assert_cmpint (((EfReading *) sheet->bench->items[EF_ITEM_READING]->pdata[i])->quantity, !=, EF_READ_POCKET_DEPTH);
  g_assert_cmpuint (sheet->places->len, >, 0);
}

static void
test_sheet_round_trip (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfLessonSheet) sheet = NULL;
  g_autoptr (EfLessonSheet) again = NULL;
  g_autofree char *text = NULL;
  g_autofree char *second = NULL;
  g_autoptr (GError) error = NULL;

  fixture_measure (lesson, "bore-diameter", "flatness");
  sheet = ef_lesson_sheet_new (lesson, NULL, &error);
  g_assert_no_error (error);
  text = ef_lesson_sheet_write (sheet);
  again = ef_lesson_sheet_parse (text, -1, "sheet.json", &error);
  g_assert_no_error (error);
  second = ef_lesson_sheet_write (again);
  g_assert_cmpstr (text, ==, second);
  g_assert_cmpuint (again->surfaces->len, ==, g_strv_length (lesson->terms.faces));
}

/* A place of the face from which no mark is nearer than 5 mm. */
static void
find_bare (const EfLesson *lesson,
           const char *face_id,
           double *u_out,
           double *v_out)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (lesson->reference, face_id);

  for (double u = -45 * MM; u < 45 * MM; u += 3 * MM)
    for (double v = -25 * MM; v < 25 * MM; v += 3 * MM)
      {
        double nearest = INFINITY;

        for (guint i = 0; i < marks->len; i++)
          nearest = fmin (nearest, ef_mark_distance (marks->pdata[i], u, v));
        *u_out = u;
        *v_out = v;
        if (nearest > 5 * MM)
          return;
      }
  g_error ("%s: no bare place", face_id);
}

/* A groove read where it lies: within what the gauge may err; beside it: nothing but the gauge's error. */
static void
test_read_depth (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfLessonSheet) sheet = ef_lesson_sheet_new (lesson, NULL, NULL);
  const EfGauge *gauge = ef_inspection_find (lesson->reference, EF_ITEM_GAUGE, "dial");
  const EfMark *groove = ef_inspection_find (lesson->reference, EF_ITEM_MARK, "m003");
  guint none = 0;
  double depth, again, other, u, v;
  g_autoptr (GError) error = NULL;

  /* Mark 3's middle node: 0.16 mm deep by the demo's file. */
  g_assert_true (ef_lesson_sheet_read_depth (sheet, groove->face_id, 0.45 * MM, 0, "dial", 0, &depth, &error));
  g_assert_no_error (error);
  g_assert_cmpfloat (fabs (depth - 0.16 * MM), <, 2 * gauge->uncertainty);
  g_assert_true (ef_lesson_sheet_read_depth (sheet, groove->face_id, 0.45 * MM, 0, "dial", 0, &again, NULL));
  g_assert_cmpfloat (again, ==, depth);
  /* Beside it, between this groove and the next, within the place tolerance: whoever sets the gauge feels for the bottom. */
  g_assert_true (ef_lesson_sheet_read_depth (sheet, groove->face_id, 1.3 * MM, 0, "dial", 0, &again, NULL));
  g_assert_cmpfloat (fabs (again - 0.16 * MM), <, 2 * gauge->uncertainty);
  find_bare (lesson, groove->face_id, &u, &v);
  g_assert_true (ef_lesson_sheet_read_depth (sheet, groove->face_id, u, v, "dial", 0, &other, NULL));
  g_assert_cmpfloat (other, <=, 2 * gauge->uncertainty);
  /* No depth is less than none, however the gauge errs. */
  for (int k = 0; k < 40; k++)
    {
      const char *const gauges[] = { "dial", "depth" };

      g_assert_true (ef_lesson_sheet_read_depth (sheet, groove->face_id, u + (k % 5) * 0.2 * MM, v + (k / 5) * 0.2 * MM, gauges[k % 2], 0, &other, NULL));
      g_assert_cmpfloat (other, >=, 0);
      none += other == 0;
    }
  g_assert_cmpuint (none, >, 0);
  g_assert_false (ef_lesson_sheet_read_depth (sheet, groove->face_id, 0, 0, "none", 0, &depth, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_false (ef_lesson_sheet_read_depth (sheet, "separator/no-such", 0, 0, "dial", 0, &depth, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
}

static void
test_read_quantity (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfLessonSheet) sheet = NULL;
  g_autoptr (EfItem) item = NULL;
  g_autoptr (GError) error = NULL;
  EfReading *reading;
  double value;

  fixture_measure (lesson, "pocket-depth", "end-clearance");
  sheet = ef_lesson_sheet_new (lesson, NULL, NULL);
  reading = ef_reading_new (EF_READ_POCKET_DEPTH, "pressure", "drive", 0, EF_UNIT_MM, "depth");
  item = &reading->item;
  g_assert_true (ef_lesson_sheet_read (sheet, reading, 0, &value, &error));
  g_assert_no_error (error);
  g_assert_cmpfloat (fabs (value - 25.07 * MM), <, 0.2 * MM);
  /* Not with a micrometer; not what isn't asked for. */
  g_free (reading->gauge_id);
  reading->gauge_id = g_strdup ("mic");
  g_assert_false (ef_lesson_sheet_read (sheet, reading, 0, &value, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  reading->quantity = EF_READ_BACKLASH;
  g_assert_false (ef_lesson_sheet_read (sheet, reading, 0, &value, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  /* End clearance can be felt though the reference has pocket and gear only. */
  reading->quantity = EF_READ_END_CLEARANCE;
  g_free (reading->gauge_id);
  reading->gauge_id = g_strdup ("feeler");
  g_assert_true (ef_lesson_sheet_read (sheet, reading, 0, &value, &error));
  g_assert_cmpfloat (value, >, 0);
  g_assert_cmpfloat (value, <, 0.5 * MM);
}

/* A bore has the same diameter from both sides: what is read at 205 degrees is that of 25, nearest to 30; a clearance isn't. */
static void
test_both_sides (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfLessonSheet) sheet = NULL;
  EfReading *reading = ef_reading_new (EF_READ_BORE_DIAMETER, "pressure-housing", "drive", 0, EF_UNIT_MM, "bore");
  g_autoptr (EfItem) item = &reading->item;
  const EfLessonPlace *place;

  fixture_measure (lesson, "bore-diameter", NULL);
  sheet = ef_lesson_sheet_new (lesson, NULL, NULL);
  reading->angle = 205 * G_PI / 180;
  place = ef_lesson_sheet_place (sheet, reading);
  g_assert_nonnull (place);
  g_assert_cmpfloat (fabs (place->angle * 180 / G_PI - 30), <, 1e-6);
  {
    EfLessonPlace tip = { .quantity = EF_READ_TIP_CLEARANCE, .target = (char *) "pressure", .place = (char *) "drive", .angle = 25 * G_PI / 180, .u = NAN, .v = NAN };

    reading->quantity = EF_READ_TIP_CLEARANCE;
    g_free (reading->target);
    reading->target = g_strdup ("pressure");
    g_assert_true (isinf (ef_lesson_place_apart (&tip, reading)));
    reading->angle = 20 * G_PI / 180;
    g_assert_cmpfloat (ef_lesson_place_apart (&tip, reading), <, 1);
  }
}

/* Over many places and seeds a gauge errs with standard deviation U/2 sqrt (1 + 1/16), no bias; over places of one seed the common half shows as their mean. */
static void
test_gauge_errors (void)
{
  g_autoptr (EfItem) item = (EfItem *) ef_gauge_default (EF_GAUGE_MICROMETER);
  EfGauge *gauge = (EfGauge *) item;
  enum
  {
    SEEDS = 120,
    PLACES = 40
  };
  double *errors = g_new (double, SEEDS *PLACES), means[SEEDS];
  double u = gauge->uncertainty / 2;

  gauge->resolution = 1e-9;
  for (guint s = 0; s < SEEDS; s++)
    {
      g_autofree char *seed = g_strdup_printf ("%u", s);

      for (guint p = 0; p < PLACES; p++)
        {
          g_autofree char *where = g_strdup_printf ("place %u", p);

          errors[s * PLACES + p] = ef_lesson_gauge_shows (gauge, 25 * MM, seed, where, 0) - 25 * MM;
        }
      means[s] = gsl_stats_mean (errors + s * PLACES, 1, PLACES);
    }
  /* Standard error of the mean: mostly that of SEEDS common parts. */
  g_assert_cmpfloat (fabs (gsl_stats_mean (errors, 1, SEEDS * PLACES)), <, 4 * u * sqrt (0.5 / SEEDS));
  g_assert_cmpfloat (fabs (gsl_stats_sd (errors, 1, SEEDS * PLACES) / (u * sqrt (1 + 1.0 / 16)) - 1), <, 0.12);
  g_assert_cmpfloat (fabs (gsl_stats_sd (means, 1, SEEDS) / (u * sqrt (0.5 + (0.5 + 1.0 / 16) / PLACES)) - 1), <, 0.25);
  /* To the step of the scale. */
  gauge->resolution = 1e-5;
  g_assert_cmpfloat (fabs (remainder (ef_lesson_gauge_shows (gauge, 25 * MM, "1", "a", 0), 1e-5)), <, 1e-12);
  g_free (errors);
}

/* A corpus of wrong files: what is changed, and words that its message must have. */
static const struct
{
  const char *from, *to, *said;
  EfError code;
} wrong[] = {
  { "\"version\": 1", "\"version\": 2", "newer version", EF_ERROR_NEWER_FORMAT },
  { "\"endfloat-lesson\"", "\"endfloat-inspection\"", "format", EF_ERROR_INVALID },
  { "\"title\": \"HL-24 launch engine oil pump\"", "\"title\": \"  \"", "title", EF_ERROR_INVALID },
  { "\"made\": \"2026-03-16\"", "\"made\": \"2026-02-30\"", "made", EF_ERROR_INVALID },
  { "\"separator/side-a\"", "\"separator/side-z\"", "faces", EF_ERROR_NOT_FOUND },
  { "\"place_mm\": 2", "\"place_mm\": -2", "place_mm", EF_ERROR_RANGE },
  { "\"place_mm\": 2", "\"place_mm\": \"two\"", "place_mm", EF_ERROR_INVALID },
  { "\"size_share\": 0.5", "\"size_share\": 1.5", "size_share", EF_ERROR_RANGE },
  { "\"verdict_cost\": 0", "\"verdict_cost\": 2", "verdict_cost", EF_ERROR_RANGE },
  { "\"seed\": 4711", "\"seed\": -1", "seed", EF_ERROR_RANGE },
  { "\"seed\": 4711", "\"sead\": 4711", "seed", EF_ERROR_INVALID },
  { "\"seed\": 4711", "\"seed\": 4711, \"answer\": 1", "answer", EF_ERROR_INVALID },
  { "\"mark\": \"m003\"", "\"mark\": \"m999\"", "notes[0].mark", EF_ERROR_NOT_FOUND },
  { "\"part\": \"separator\"", "\"part\": \"pickup\"", "part with a face that is given", EF_ERROR_NOT_FOUND },
  { "\"verdict\": \"rework\"", "\"verdict\": \"burn\"", "verdict", EF_ERROR_INVALID },
  { "\"gauges\": [\"depth\"", "\"gauges\": [\"none\"", "gauges", EF_ERROR_NOT_FOUND },
  { "\"gauges\": [\"depth\"", "\"gauges\": [\"mic\"", "twice", EF_ERROR_INVALID },
  { "\"measure\": [\"pocket-depth\"", "\"measure\": [\"mood\"", "measure", EF_ERROR_NOT_FOUND },
  { "\"kind\": \"groove\"", "\"kind\": \"scar\"", "reference", EF_ERROR_INVALID },
};

static char *
replaced (const char *text,
          const char *from,
          const char *to)
{
  const char *at = strstr (text, from);

  if (at == NULL)
    g_error ("\"%s\" isn't in the lesson", from);

  return g_strdup_printf ("%.*s%s%s", (int) (at - text), text, to, at + strlen (from));
}

static void
test_wrong_lessons (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autofree char *text = NULL;

  fixture_measure (lesson, "pocket-depth", NULL);
  ef_lesson_set_note (lesson, "m003", "Joins delivery and suction.");
  text = ef_lesson_write (lesson);
  for (gsize i = 0; i < G_N_ELEMENTS (wrong); i++)
    {
      g_autofree char *bad = replaced (text, wrong[i].from, wrong[i].to);
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_lesson_parse (bad, -1, "bad.json", &error));
      g_assert_true (g_str_has_prefix (error->message, "bad.json"));
      if (strstr (error->message, wrong[i].said) == NULL)
        g_error ("\"%s\" isn't in: %s", wrong[i].said, error->message);
      if (error->code != (int) wrong[i].code)
        g_error ("%s: code %d", error->message, error->code);
    }
}

/* Cut short anywhere, it's refused. */
static void
test_truncated (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autofree char *text = ef_lesson_write (lesson);
  gsize length = strlen (text);

  for (gsize cut = 0; cut + 2 < length; cut += 1 + length / 60)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_lesson_parse (text, (gssize) cut, "cut.json", &error));
      g_assert_nonnull (error);
    }
}

static void
test_wrong_sheets (void)
{
  static const struct
  {
    const char *from, *to, *said;
  } cases[] = {
    { "\"version\": 1", "\"version\": 7", "newer version" },
    { "\"columns\": ", "\"columns\": 9", "rows" },
    { "\"rows\": ", "\"rows\": 1", "depths" },
    { "\"columns\": ", "\"columns\": -", "columns" },
    { "\"depths\": \"eN", "\"depths\": \"AA", "depths" },
    { "\"face\": \"separator/side-a\"", "\"face\": \"separator/side-b\"", "face" },
    { "\"decide\": [\"", "\"decide\": [\"x", "decide" },
    { "\"lesson\": \"", "\"lesson\": \"Z", "lesson" },
    { "\"quantity\": \"pocket-depth\"", "\"quantity\": \"luck\"", "quantity" },
    { "\"values_mm\": [", "\"values_mm\": [1, 1, 1, ", "values_mm" },
    /* Somebody puts the answer in: a sheet with marks is no sheet. */
    { "\"marks\": []", "\"marks\": [{\"id\": \"a\", \"number\": 1, \"face\": \"separator/side-a\", \"kind\": \"groove\", \"shape\": \"point\", \"size_mm\": 1, \"nodes_mm\": [[0, 0]], \"depths\": []}]",
      "bench" },
  };
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  const char *const faces[] = { "separator/side-a", NULL };
  g_autoptr (EfLessonSheet) sheet = NULL;
  g_autofree char *text = NULL;

  ef_lesson_set_faces (lesson, faces, EF_VERDICT_USE);
  fixture_measure (lesson, "pocket-depth", NULL);
  ef_lesson_set_note (lesson, "m003", NULL);
  sheet = ef_lesson_sheet_new (lesson, NULL, NULL);
  text = ef_lesson_sheet_write (sheet);
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *bad = replaced (text, cases[i].from, cases[i].to);
      g_autoptr (GError) error = NULL;

      if (ef_lesson_sheet_parse (bad, -1, "bad.json", &error) != NULL)
        g_error ("\"%s\" let in", cases[i].to);
      if (strstr (error->message, cases[i].said) == NULL || !g_str_has_prefix (error->message, "bad.json"))
        g_error ("\"%s\" isn't in: %s", cases[i].said, error->message);
    }
}

/* Bytes changed, left out and doubled at random: a clear error, or a lesson that can be written again. */
static void
test_mutations (void)
{
  const char *const faces[] = { "separator/side-a", NULL };
  GRand *random = fixed_random ();
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfLessonSheet) sheet = NULL;
  char *texts[2];

  ef_lesson_set_faces (lesson, faces, EF_VERDICT_USE);
  fixture_measure (lesson, "flatness", NULL);
  sheet = ef_lesson_sheet_new (lesson, NULL, NULL);
  texts[0] = ef_lesson_write (lesson);
  texts[1] = ef_lesson_sheet_write (sheet);
  for (guint round = 0; round < 160; round++)
    {
      const char *text = texts[round % 2];
      gsize length = strlen (text), at = (gsize) g_rand_int_range (random, 0, (gint32) MIN (length, 6000));
      gsize many = (gsize) g_rand_int_range (random, 0, 6);
      g_autoptr (GString) bad = g_string_new (text);
      g_autoptr (GError) error = NULL;
      gboolean read;

      if (round % 3 == 0)
        bad->str[at] = (char) g_rand_int_range (random, 1, 256);
      else if (round % 3 == 1)
        g_string_erase (bad, (gssize) at, (gssize) MIN (many + 1, length - at));
      else
        g_string_insert_len (bad, (gssize) at, text + at, (gssize) many);
      if (round % 2 == 0)
        {
          g_autoptr (EfLesson) again = ef_lesson_parse (bad->str, (gssize) bad->len, "bad.json", &error);

          read = again != NULL;
          if (read)
            g_free (ef_lesson_write (again));
        }
      else
        {
          g_autoptr (EfLessonSheet) again = ef_lesson_sheet_parse (bad->str, (gssize) bad->len, "bad.json", &error);

          read = again != NULL;
          if (read)
            g_free (ef_lesson_sheet_write (again));
        }
      g_assert_true (read == (error == NULL));
      g_assert_true (read || g_str_has_prefix (error->message, "bad.json"));
    }
  g_free (texts[0]);
  g_free (texts[1]);
}

static void
test_attempt_file (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autofree char *digest = ef_lesson_digest (lesson, NULL);
  g_autoptr (EfAttempt) attempt = ef_attempt_new (digest, lesson->terms.title, "apprentice 3", "2026-03-17T08:00:00Z", NULL, lesson->reference);
  g_autofree char *text = ef_attempt_write (attempt);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfAttempt) again = ef_attempt_parse (text, -1, "attempt.json", &error);
  g_autofree char *newer = replaced (text, "\"version\": 1", "\"version\": 3");
  g_autofree char *late = replaced (text, "2026-03-17T08:00:00Z", "tomorrow");
  g_autofree char *nobody = replaced (text, "\"apprentice 3\"", "\"  \"");

  g_assert_no_error (error);
  g_assert_cmpstr (again->apprentice, ==, "apprentice 3");
  g_assert_null (again->handed_in);
  g_assert_true (ef_inspection_equal (again->inspection, lesson->reference));
  g_assert_null (ef_attempt_parse (newer, -1, "attempt.json", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NEWER_FORMAT);
  g_clear_error (&error);
  g_assert_null (ef_attempt_parse (late, -1, "attempt.json", &error));
  g_assert_nonnull (strstr (error->message, "started"));
  g_clear_error (&error);
  g_assert_null (ef_attempt_parse (nobody, -1, "attempt.json", &error));
  g_assert_nonnull (strstr (error->message, "apprentice: expected some words"));
}

static void
test_faces (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  const char *const faces[] = { "separator/side-a", NULL };
  g_autoptr (GPtrArray) marks = NULL;

  ef_lesson_set_faces (lesson, faces, EF_VERDICT_USE);
  g_assert_cmpuint (lesson->verdicts->len, ==, 1);
  g_assert_cmpint (ef_lesson_verdict (lesson, "separator")->verdict, ==, EF_VERDICT_REWORK);
  marks = ef_lesson_marks (lesson);
  for (guint i = 0; i < marks->len; i++)
    g_assert_cmpstr (((EfMark *) marks->pdata[i])->face_id, ==, "separator/side-a");
}

/* The lesson knows what happened, the sheet doesn't tell; the same seed makes the same reference, another one another. */
static void
test_specimen (void)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "rc-4.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  const double load_psi[2] = { 0.3, -0.4 };
  g_autoptr (EfSpecimen) specimen = NULL;
  g_autoptr (EfSpecimen) other = NULL;
  g_autoptr (EfLesson) lesson = NULL;
  g_autoptr (EfLesson) again = NULL;
  g_autoptr (EfLesson) another = NULL;
  g_autoptr (EfLessonSheet) given = NULL;
  g_autofree char *text = NULL;
  g_autofree char *expected = NULL;
  EfSpecimenOptions options = { 11, EF_CAUSE_DEBRIS, 2, { load_psi[0], load_psi[1] } };
  gboolean told = FALSE;

  g_assert_no_error (error);
  specimen = ef_specimen_new (sheet, &options, &error);
  options.seed = 12;
  other = ef_specimen_new (sheet, &options, &error);
  g_assert_no_error (error);
  lesson = ef_lesson_from_specimen (specimen, NULL, &error);
  again = ef_lesson_from_specimen (specimen, NULL, &error);
  another = ef_lesson_from_specimen (other, NULL, &error);
  g_assert_no_error (error);

  expected = g_strdup_printf ("RC-4, specimen %.4s, difficulty 2", lesson->terms.name);
  g_assert_cmpstr (lesson->terms.title, ==, expected);
  g_assert_cmpuint (g_strv_length (lesson->terms.gauges), >, 2);
  g_assert_cmpuint (lesson->reference->items[EF_ITEM_MARK]->len, ==, specimen->truth->items[EF_ITEM_MARK]->len);
  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[i];

      if (verdict->note == NULL)
        continue;
      g_assert_cmpstr (verdict->note, ==, specimen->story);
      for (guint k = 0; k < lesson->verdicts->len; k++)
        g_assert_cmpint (((EfLessonVerdict *) lesson->verdicts->pdata[k])->verdict, <=, verdict->verdict);
      told = TRUE;
    }
  g_assert_true (told);
  g_assert_true (ef_inspection_equal (lesson->reference, again->reference));
  g_assert_false (ef_inspection_equal (lesson->reference, another->reference));

  given = ef_lesson_sheet_new (lesson, NULL, &error);
  g_assert_no_error (error);
  text = ef_lesson_sheet_write (given);
  g_assert_null (strstr (text, specimen->story));
  g_assert_null (strstr (text, "ebris"));
}

/* Whoever has the specimen's seed can wear the same pump again and read the truth: nothing that goes to the apprentice holds it, nor the seed of the gauges' errors, nor the number
 * of a job under which the reference could be looked up. The trainer finds the seed with the reference. */
static void
test_seed_untold (void)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "rc-4.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  const EfSpecimenOptions options = { 1234567891, EF_CAUSE_DEBRIS, 3, { 0.3, -0.4 } };
  g_autoptr (GError) error = NULL;
  g_autoptr (EfSpecimen) specimen = ef_specimen_new (sheet, &options, &error);
  g_autoptr (EfLesson) lesson = ef_lesson_from_specimen (specimen, NULL, &error);
  g_autoptr (EfLesson) job_lesson = fixture_lesson ();
  g_autoptr (EfLessonSheet) given = NULL;
  g_autoptr (EfLessonSheet) job_given = NULL;
  g_autoptr (EfAttempt) attempt = NULL;
  g_autofree char *errors_seed = NULL;
  char *texts[3];
  g_autofree char *own = NULL;

  g_assert_no_error (error);
  given = ef_lesson_sheet_new (lesson, NULL, &error);
  job_given = ef_lesson_sheet_new (job_lesson, NULL, &error);
  g_assert_no_error (error);
  attempt = ef_attempt_new (given->digest, given->terms.title, "apprentice 1", "2026-03-17T08:00:00Z", NULL, given->bench);
  texts[0] = ef_lesson_sheet_write (given);
  texts[1] = ef_attempt_write (attempt);
  texts[2] = ef_lesson_sheet_write (job_given);
  errors_seed = g_strdup_printf ("%u", lesson->seed);
  own = ef_lesson_write (lesson);
  g_assert_nonnull (strstr (own, "1234567891"));
  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    {
      g_assert_null (strstr (texts[i], "1234567891"));
      g_assert_null (strstr (texts[i], errors_seed));
      g_assert_null (strstr (texts[i], "J-0412"));
      g_assert_null (strstr (texts[i], "ebris"));
      g_assert_null (strstr (texts[i], "\"note\""));
      g_assert_null (strstr (texts[i], "\"plan_goal\""));
    }
  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
}

/* What can't be read again isn't kept: the store takes no lesson that check refuses. */
static void
test_words_too_long (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autofree char *title = g_strnfill (201, 't');
  g_autofree char *words = g_strnfill (20001, 'w');
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_lesson_check (lesson, &error));
  for (int which = 0; which < 5; which++)
    {
      g_autoptr (EfLesson) bad = ef_lesson_copy (lesson);
      char **const places[] = { &bad->terms.title, &bad->terms.title, &bad->terms.task, &ef_lesson_verdict (bad, "separator")->note, NULL };
      static const char *const says[] = { "title: expected at most 200", "title: expected some words", "task: expected at most 20000", "note on a verdict: expected at most",
                                          "note on a mark: expected at most" };

      if (which < 4)
        {
          g_free (*places[which]);
          *places[which] = g_strdup (which == 0 ? title : which == 1 ? "  " : words);
        }
      else
        ef_lesson_set_note (bad, "m003", words);
      g_assert_false (ef_lesson_check (bad, &error));
      g_assert_true (g_str_has_prefix (error->message, says[which]));
      g_clear_error (&error);
    }
}

static EfLesson *
load_lesson (guint32 seed,
             EfCause cause)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  EfLesson *lesson = sheet != NULL ? ef_lesson_wear (sheet, seed, cause, 1, NULL, &error) : NULL;

  g_assert_no_error (error);

  return lesson;
}

/* What load wears into a wall lies under the lamp and the gauge: as deep as the crescent's formula has it, whatever marks there are; after the file as before; and
 * the sheet doesn't say what it was worn by. */
static void
test_crescents (void)
{
  g_autoptr (EfLesson) lesson = load_lesson (7, EF_CAUSE_LOAD);
  g_autoptr (EfLesson) copy = ef_lesson_copy (lesson);
  g_autoptr (EfLesson) again = NULL;
  g_autoptr (EfLessonSheet) given = NULL;
  g_autoptr (EfLessonSheet) second = NULL;
  g_autofree char *text = ef_lesson_write (lesson);
  g_autofree char *digest = ef_lesson_digest (lesson, NULL);
  g_autofree char *digest_again = NULL;
  g_autofree char *digest_copy = ef_lesson_digest (copy, NULL);
  g_autofree char *sheet_text = NULL;
  g_autofree char *sheet_again = NULL;
  g_autoptr (GError) error = NULL;
  guint walls = 0, bores = 0;

  again = ef_lesson_parse (text, -1, "lesson.json", &error);
  g_assert_no_error (error);
  digest_again = ef_lesson_digest (again, NULL);
  g_assert_cmpstr (digest_again, ==, digest);
  g_assert_cmpstr (digest_copy, ==, digest);
  given = ef_lesson_sheet_new (lesson, NULL, &error);
  second = ef_lesson_sheet_new (again, NULL, &error);
  g_assert_no_error (error);
  sheet_text = ef_lesson_sheet_write (given);
  sheet_again = ef_lesson_sheet_write (second);
  g_assert_cmpstr (sheet_text, ==, sheet_again);
  g_assert_null (strstr (sheet_text, "crescent"));
  g_assert_null (strstr (sheet_text, "reach_mm"));

  for (guint i = 0; i < lesson->crescents->len; i++)
    {
      const EfCrescent *one = &g_array_index (lesson->crescents, EfCrescent, i);
      const EfLessonSurface *surface = ef_lesson_sheet_surface (given, one->face_id);
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (lesson->reference->sheet, one->face_id, NULL);
      double deepest, u;

      if (surface == NULL)
        {
          bores += strstr (one->face_id, "/bore-") != NULL;
          continue;
        }
      walls++;
      u = one->psi * chart->cylinder_radius;
      deepest = one->reach - one->clearance;
      g_assert_cmpfloat (deepest, >, 5e-6);
      /* Half way along, far from the lip at its end: within a step of the packing and what a cell of the surface turns by. */
      g_assert_cmpfloat (fabs (ef_lesson_surface_depth (surface, u, 0.5 * (one->v0 + one->v1)) - deepest), <, 0.3e-6);
      g_assert_cmpfloat (ef_lesson_surface_depth (surface, u + (u > 0 ? -1 : 1) * G_PI / 2 * chart->cylinder_radius, 0.5 * (one->v0 + one->v1)), ==, 0);
    }
  g_assert_cmpuint (walls, >, 0);
  g_assert_cmpuint (bores, >, 0); /* kept, though the face isn't given: no mark of the reference is there to be found */
}

static void
refuse_crescent (const EfLesson *lesson,
                 const char *member,
                 const char *value,
                 const char *told)
{
  g_autofree char *text = ef_lesson_write (lesson);
  g_autofree char *pattern = g_strdup_printf ("(\"crescents\".*?\"%s\": )[^,\n]*", member);
  g_autofree char *by = g_strdup_printf ("\\g<1>%s", value);
  g_autoptr (GRegex) regex = g_regex_new (pattern, G_REGEX_DOTALL, 0, NULL);
  g_autofree char *changed = g_regex_replace (regex, text, -1, 0, by, 0, NULL);
  g_autoptr (EfLesson) read = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_cmpstr (changed, !=, text);
  read = ef_lesson_parse (changed, -1, "worn.json", &error);
  g_assert_null (read);
  g_assert_nonnull (error);
  if (strstr (error->message, told) == NULL || strstr (error->message, "worn.json") == NULL)
    g_error ("%s: %s", member, error->message);
}

static void
test_crescents_refused (void)
{
  g_autoptr (EfLesson) lesson = load_lesson (7, EF_CAUSE_LOAD);

  refuse_crescent (lesson, "face", "\"separator/side-a\"", "expected a bore or wall");
  refuse_crescent (lesson, "face", "\"nowhere/wall-drive\"", "expected a bore or wall");
  refuse_crescent (lesson, "face", "7", "face");
  refuse_crescent (lesson, "reach_mm", "-0.1", "reach_mm");
  refuse_crescent (lesson, "reach_mm", "11", "reach_mm");
  refuse_crescent (lesson, "reach_mm", "0", "expected more than the clearance");
  refuse_crescent (lesson, "clearance_mm", "1", "expected more than the clearance");
  refuse_crescent (lesson, "clearance_mm", "null", "clearance_mm");
  refuse_crescent (lesson, "angle_deg", "1e3", "angle_deg");
  refuse_crescent (lesson, "from_mm", "9000", "expected more than from_mm");
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/lesson/made", test_made);
  g_test_add_func ("/lesson/round-trip", test_round_trip);
  g_test_add_func ("/lesson/no-peeking", test_no_peeking);
  g_test_add_func ("/lesson/sheet-round-trip", test_sheet_round_trip);
  g_test_add_func ("/lesson/read-depth", test_read_depth);
  g_test_add_func ("/lesson/read-quantity", test_read_quantity);
  g_test_add_func ("/lesson/both-sides", test_both_sides);
  g_test_add_func ("/lesson/gauge-errors", test_gauge_errors);
  g_test_add_func ("/lesson/wrong-lessons", test_wrong_lessons);
  g_test_add_func ("/lesson/truncated", test_truncated);
  g_test_add_func ("/lesson/wrong-sheets", test_wrong_sheets);
  g_test_add_func ("/lesson/mutations", test_mutations);
  g_test_add_func ("/lesson/attempt-file", test_attempt_file);
  g_test_add_func ("/lesson/faces", test_faces);
  g_test_add_func ("/lesson/specimen", test_specimen);
  g_test_add_func ("/lesson/seed-untold", test_seed_untold);
  g_test_add_func ("/lesson/words-too-long", test_words_too_long);
  g_test_add_func ("/lesson/crescents", test_crescents);
  g_test_add_func ("/lesson/crescents-refused", test_crescents_refused);

  return g_test_run ();
}
