/* Random inspections for property tests.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "random-inspection.h"

#include <math.h>

static const char *const models[] = { "hl-24", "hl-27", "rc-4", "tg-3" };

EfPumpSheet *
random_sheet (GRand *rand)
{
  static EfPumpSheet *sheets[G_N_ELEMENTS (models)];
  guint i = g_rand_int_range (rand, 0, G_N_ELEMENTS (models));

  if (sheets[i] == NULL)
    {
      g_autofree char *name = g_strdup_printf ("%s.json", models[i]);
      g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", name, NULL);
      g_autoptr (GError) error = NULL;

      sheets[i] = ef_pump_sheet_load (path, &error);
      g_assert_no_error (error);
    }

  return ef_pump_sheet_ref (sheets[i]);
}

static const char *const pieces[] = {
  "groove", "the lip by the dowel", "0,04 mm", "\"quoted\"", "back\\slash", "line\nbreak", "tab\there", "'; DROP TABLE job; --",
  "%_%", "µm ± ½°", "Öldruck", "давление масла", "油ポンプ", "ضغط الزيت", "e\xcc\x81 combining", "👩🏽‍🔧", "\x01\x02\x1f\x7f",
  "</text>", "&amp;", "\xe2\x80\xa8 separator", "{\"json\": [1, 2]}", "\xc2\x85", "\r\n", " ", "null", "\xef\xbf\xbd",
};

char *
random_text (GRand *rand)
{
  int choice = g_rand_int_range (rand, 0, 12);
  GString *text;
  int n;

  if (choice < 3)
    return NULL;
  if (choice == 3)
    return g_strdup ("");

  text = g_string_new (NULL);
  n = choice == 4 ? 150 : g_rand_int_range (rand, 1, 5);
  while (n-- > 0 && text->len < 1900)
    g_string_append (text, pieces[g_rand_int_range (rand, 0, G_N_ELEMENTS (pieces))]);

  return g_string_free (text, FALSE);
}

static char *
random_filled (GRand *rand)
{
  char *text = random_text (rand);

  if (text != NULL && *text != '\0')
    return text;
  g_free (text);

  return g_strdup ("found with the lamp");
}

static char *
random_note (GRand *rand)
{
  GString *note;
  guint i;

  if (g_rand_int_range (rand, 0, 40) != 0)
    return random_text (rand);
  note = g_string_new (NULL);
  for (i = 0; i < 5000; i++)
    g_string_append (note, "long ");

  return g_string_free (note, FALSE);
}

char *
random_id (GRand *rand)
{
  static guint counter;

  return g_strdup_printf ("%s-%u", pieces[g_rand_int_range (rand, 0, G_N_ELEMENTS (pieces))], ++counter);
}

static char *
random_date (GRand *rand)
{
  if (g_rand_boolean (rand))
    return NULL;

  return g_strdup_printf ("%04d-%02d-%02d", g_rand_int_range (rand, 1990, 2040), g_rand_int_range (rand, 1, 13),
                          g_rand_int_range (rand, 1, 29));
}

static char *
random_time (GRand *rand)
{
  if (g_rand_boolean (rand))
    return NULL;

  return g_strdup_printf ("2026-%02d-%02dT%02d:%02d:%02dZ", g_rand_int_range (rand, 1, 13), g_rand_int_range (rand, 1, 29),
                          g_rand_int_range (rand, 0, 24), g_rand_int_range (rand, 0, 60), g_rand_int_range (rand, 0, 60));
}

static double
random_or_nan (GRand *rand,
               double min,
               double max)
{
  return g_rand_int_range (rand, 0, 3) == 0 ? NAN : g_rand_double_range (rand, min, max);
}

static GStrv
random_photos (GRand *rand)
{
  g_autoptr (GStrvBuilder) builder = NULL;
  int n = g_rand_int_range (rand, -2, 4);

  if (n < 0)
    return NULL;
  builder = g_strv_builder_new ();
  while (n-- > 0)
    {
      g_autofree char *photo = random_filled (rand);

      g_strv_builder_add (builder, photo);
    }

  return g_strv_builder_end (builder);
}

static gpointer
random_element (GRand *rand,
                GPtrArray *array)
{
  return array->len > 0 ? array->pdata[g_rand_int_range (rand, 0, array->len)] : NULL;
}

static char *
random_gauge_id (GRand *rand,
                 const EfInspection *inspection)
{
  const EfItem *gauge = random_element (rand, inspection->items[EF_ITEM_GAUGE]);

  return gauge != NULL && g_rand_boolean (rand) ? g_strdup (gauge->id) : NULL;
}

static EfUnit
random_length_unit (GRand *rand)
{
  return g_rand_int_range (rand, EF_UNIT_M, EF_UNIT_THOU + 1);
}

static EfItem *
random_header (GRand *rand)
{
  EfJobHeader *header = ef_item_new (&ef_job_header_class, "job");

  header->number = random_id (rand);
  header->serial = random_text (rand);
  header->received = random_date (rand);
  header->customer = random_text (rand);
  header->bench = random_text (rand);
  header->role = random_text (rand);
  header->hours = random_or_nan (rand, 0, 1e5);
  header->complaint = random_note (rand);
  header->found_pressure = random_or_nan (rand, 0, 1e6);
  header->found_speed = random_or_nan (rand, 0, 60);
  header->found_temperature = random_or_nan (rand, 250, 420);
  header->expected_pressure = random_or_nan (rand, 0, 1e6);
  header->oil = random_text (rand);
  if (g_rand_boolean (rand))
    {
      header->decision = g_strdup (g_rand_boolean (rand) ? "guard-band" : "shared-risk");
      header->coverage = 0.01 * g_rand_int_range (rand, 50, 99);
    }
  if (g_rand_boolean (rand))
    header->plan_goal = g_strdup (ef_plan_goals[g_rand_int_range (rand, 0, 3)]);
  header->note = random_note (rand);

  return &header->item;
}

static GPtrArray *
random_certificates (GRand *rand)
{
  GPtrArray *list = NULL;

  for (int i = g_rand_int_range (rand, -2, 3); i > 0; i--)
    {
      g_autofree char *words = g_strdup_printf ("%u", g_rand_int (rand));
      g_autofree char *digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, words, -1);

      list = ef_certificates_add (list, ef_certificate_new (digest, words, ef_certificate_types[g_rand_int_range (rand, 0, 3)]));
    }

  return list;
}

static EfItem *
random_gauge (GRand *rand)
{
  g_autofree char *id = random_id (rand);
  EfGauge *gauge = ef_item_new (&ef_gauge_class, id);

  gauge->kind = g_rand_int_range (rand, 0, EF_N_GAUGE_KINDS);
  gauge->name = random_text (rand);
  gauge->serial = random_text (rand);
  gauge->note = random_text (rand);
  gauge->resolution = g_rand_double_range (rand, 0, 1e-4);
  gauge->uncertainty = g_rand_double_range (rand, 0, 1e-4);
  gauge->range_min = gauge->range_max = NAN;
  if (g_rand_boolean (rand))
    {
      gauge->range_min = g_rand_double_range (rand, 0, 1e-2);
      gauge->range_max = g_rand_double_range (rand, 1e-2, 1);
    }
  gauge->checked = random_date (rand);
  gauge->due = random_date (rand);
  gauge->certificates = random_certificates (rand);

  return &gauge->item;
}

static const EfPart *
random_part (GRand *rand,
             const EfPumpSheet *sheet,
             gboolean (*fits) (const EfPart *))
{
  g_autoptr (GPtrArray) parts = g_ptr_array_new ();
  guint i;

  for (i = 0; i < sheet->parts->len; i++)
    if (fits (sheet->parts->pdata[i]))
      g_ptr_array_add (parts, sheet->parts->pdata[i]);
  g_assert_cmpuint (parts->len, >, 0);

  return random_element (rand, parts);
}

static gboolean
is_gear (const EfPart *part)
{
  return part->kind == EF_PART_GEAR;
}

static char *
random_face (GRand *rand,
             const EfPumpSheet *sheet)
{
  g_auto (GStrv) faces = ef_face_ids (sheet);

  return g_strdup (faces[g_rand_int_range (rand, 0, (int) g_strv_length (faces))]);
}

static void
random_depths (GRand *rand,
               const EfInspection *inspection,
               EfMark *mark)
{
  int n = g_rand_int_range (rand, 0, 4);

  while (n-- > 0)
    {
      g_autofree char *gauge_id = random_gauge_id (rand, inspection);

      ef_mark_add_depth (mark, g_rand_double_range (rand, -0.05, 0.05), g_rand_double_range (rand, -0.05, 0.05),
                         g_rand_double_range (rand, 0, 1e-3), random_length_unit (rand), gauge_id);
    }
}

static EfItem *
random_mark (GRand *rand,
             const EfInspection *inspection)
{
  g_autofree char *face = random_face (rand, inspection->sheet);
  g_autofree char *id = random_id (rand);
  EfMarkShape shape = g_rand_int_range (rand, 0, EF_N_SHAPES);
  EfMark *mark = ef_mark_new (face, g_rand_int_range (rand, 0, EF_N_MARK_KINDS), shape, g_rand_double_range (rand, 1e-5, 5e-3));
  double u = g_rand_double_range (rand, -0.05, 0.05);
  double v = g_rand_double_range (rand, -0.05, 0.05);
  int n = shape == EF_SHAPE_POINT ? 1 : g_rand_int_range (rand, 3, 12);
  int i;

  g_free (mark->item.id);
  mark->item.id = g_steal_pointer (&id);
  for (i = 0; i < n; i++)
    ef_mark_add_node (mark, u + 5e-3 * cos (2 * G_PI * i / n), v + 5e-3 * sin (2 * G_PI * i / n));
  random_depths (rand, inspection, mark);
  mark->number = ef_inspection_next_number (inspection);
  mark->note = random_note (rand);
  mark->photos = random_photos (rand);

  return &mark->item;
}

static gboolean
has_journals (const EfPart *part)
{
  return part->journals->len > 0;
}

static gboolean
has_bores (const EfPart *part)
{
  return part->bores->len > 0;
}

static void
set_cylinder (GRand *rand,
              EfReading *reading,
              const EfPart *part,
              GArray *cylinders)
{
  const EfCylinder *cylinder = &g_array_index (cylinders, EfCylinder, g_rand_int_range (rand, 0, cylinders->len));

  reading->target = g_strdup (part->id);
  reading->place = g_strdup (cylinder->id);
  reading->value = cylinder->diameter + g_rand_double_range (rand, -1e-4, 1e-4);
  reading->angle = random_or_nan (rand, -G_PI, G_PI);
}

static void
set_section (GRand *rand,
             EfReading *reading,
             const EfPumpSheet *sheet)
{
  const EfSection *section = random_element (rand, sheet->sections);

  reading->target = g_strdup (section->id);
  reading->place = g_strdup (g_rand_boolean (rand) ? "drive" : "driven");
  reading->value = g_rand_double_range (rand, 2e-5, 2e-4);
  if (reading->quantity == EF_READ_POCKET_DEPTH)
    reading->value += section->pocket_depth;
  if (reading->quantity == EF_READ_TIP_CLEARANCE || reading->quantity == EF_READ_SIDE_PLAY)
    reading->angle = random_or_nan (rand, -G_PI, G_PI);
}

static void
set_subject (GRand *rand,
             EfReading *reading,
             const EfPumpSheet *sheet)
{
  const EfPart *part;

  switch (reading->quantity)
    {
    case EF_READ_FACE_WIDTH:
      part = random_part (rand, sheet, is_gear);
      reading->target = g_strdup (part->id);
      reading->value = part->thickness + g_rand_double_range (rand, -1e-4, 1e-4);
      break;
    case EF_READ_JOURNAL_DIAMETER:
      part = random_part (rand, sheet, has_journals);
      set_cylinder (rand, reading, part, part->journals);
      break;
    case EF_READ_BORE_DIAMETER:
      part = random_part (rand, sheet, has_bores);
      set_cylinder (rand, reading, part, part->bores);
      break;
    case EF_READ_FLATNESS:
      part = random_part (rand, sheet, is_gear);
      reading->target = g_strdup_printf ("%s/end-a", part->id);
      reading->value = g_rand_double_range (rand, 0, 5e-5);
      reading->u = g_rand_double_range (rand, -0.05, 0.05);
      reading->v = g_rand_double_range (rand, -0.05, 0.05);
      break;
    default:
      set_section (rand, reading, sheet);
      break;
    }
}

static EfItem *
random_reading (GRand *rand,
                const EfInspection *inspection)
{
  g_autofree char *id = random_id (rand);
  EfReading *reading = ef_item_new (&ef_reading_class, id);

  reading->quantity = g_rand_int_range (rand, 0, EF_N_READINGS);
  reading->angle = reading->u = reading->v = NAN;
  set_subject (rand, reading, inspection->sheet);
  reading->unit = random_length_unit (rand);
  reading->gauge_id = random_gauge_id (rand, inspection);
  reading->temperature = random_or_nan (rand, 270, 350);
  reading->time = random_time (rand);
  reading->note = random_note (rand);
  reading->after = g_rand_int_range (rand, 0, 4) == 0;

  return &reading->item;
}

static EfItem *
random_check (GRand *rand,
              const EfInspection *inspection)
{
  const EfPart *part = random_element (rand, inspection->sheet->parts);
  EfCheck *check;

  if (ef_inspection_find (inspection, EF_ITEM_CHECK, part->id) != NULL)
    return NULL;
  check = ef_item_new (&ef_check_class, part->id);
  check->state = g_rand_int_range (rand, 0, EF_N_CHECK_STATES);
  check->note = random_note (rand);
  check->photos = random_photos (rand);

  return &check->item;
}

static EfItem *
random_override (GRand *rand)
{
  g_autofree char *mark = random_id (rand);
  g_autofree char *id = g_strdup_printf ("mark:%s", mark);
  EfOverride *override = ef_item_new (&ef_override_class, id);

  override->verdict = g_strdup (ef_override_verdicts[g_rand_int_range (rand, 0, 4)]);
  override->reason = random_filled (rand);
  override->role = random_text (rand);
  override->time = random_time (rand);

  return &override->item;
}

static EfItem *
random_tick (GRand *rand)
{
  g_autofree char *id = random_id (rand);
  EfTick *tick = ef_item_new (&ef_tick_class, id);

  tick->role = random_text (rand);
  tick->time = random_time (rand);
  tick->note = random_note (rand);

  return &tick->item;
}

/* A part with a gauge, marks and readings of its own. */
static EfItem *
random_replacement (GRand *rand,
                    const EfInspection *inspection)
{
  const EfPart *part = random_element (rand, inspection->sheet->parts);
  g_autoptr (EfInspection) own = ef_inspection_new (inspection->sheet, NULL);
  g_autofree char *shelf = random_filled (rand);
  EfReplacement *replacement;

  if (ef_inspection_find (inspection, EF_ITEM_REPLACEMENT, part->id) != NULL)
    return NULL;
  replacement = ef_replacement_new (part->id, shelf);
  replacement->sheet = g_strdup (inspection->sheet->id);
  replacement->pair = random_text (rand);
  replacement->name = random_text (rand);
  replacement->from_job = random_text (rand);
  replacement->verdict = g_strdup (g_rand_boolean (rand) ? "rework" : "use-again");
  replacement->note = random_note (rand);
  ef_replacement_add_size (replacement, "bore-diameter", "drive", g_rand_double_range (rand, 0, 0.1), random_or_nan (rand, 0, 1e-5));
  g_ptr_array_add (own->items[EF_ITEM_GAUGE], random_gauge (rand));
  g_ptr_array_add (replacement->gauges, ef_item_ref (own->items[EF_ITEM_GAUGE]->pdata[0]));
  for (int i = 0; i < 12; i++)
    {
      EfMark *mark = (EfMark *) random_mark (rand, own);
      EfReading *reading = (EfReading *) random_reading (rand, own);

      if (ef_face_of_part (mark->face_id, part->id))
        g_ptr_array_add (replacement->marks, ef_item_ref (mark));
      if (ef_reading_of_part (inspection->sheet, reading, part, FALSE))
        g_ptr_array_add (replacement->readings, ef_item_ref (reading));
      ef_item_unref (mark);
      ef_item_unref (reading);
    }

  return &replacement->item;
}

static EfItem *
random_work (GRand *rand,
             const EfInspection *inspection)
{
  static const char *const grits[] = { "coarse", "medium", "fine" };
  g_autofree char *face = random_face (rand, inspection->sheet);
  g_autofree char *id = random_id (rand);
  g_autofree char *gauge_id = random_gauge_id (rand, inspection);
  EfWork *work = ef_work_new (face, random_or_nan (rand, -1e-5, 2e-4), gauge_id);

  g_free (work->item.id);
  work->item.id = g_steal_pointer (&id);
  for (guint i = 0; i < G_N_ELEMENTS (grits); i++)
    if (i == 0 || g_rand_boolean (rand))
      ef_work_set_passes (work, grits[i], g_rand_int_range (rand, 1, 30));
  work->pressure = random_or_nan (rand, 1e3, 1e5);
  work->stroke = random_or_nan (rand, 0.1, 20);
  work->role = random_text (rand);
  work->time = random_time (rand);
  work->note = random_note (rand);

  return &work->item;
}

static EfItem *
random_photo (GRand *rand,
              const EfInspection *inspection)
{
  g_autofree char *seed = g_strdup_printf ("%u", g_rand_int (rand));
  g_autofree char *digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, seed, -1);
  g_autofree char *face = random_face (rand, inspection->sheet);
  g_autofree char *name = g_strdup_printf ("IMG %u.jpg", g_rand_int_range (rand, 0, 10000));
  g_autofree char *id = random_id (rand);
  EfPhoto *photo = ef_photo_new (digest, name, g_rand_boolean (rand) ? "image/jpeg" : "image/png", g_rand_int_range (rand, 1, 6000), g_rand_int_range (rand, 1, 6000));
  int n = g_rand_int_range (rand, 0, 7);

  g_free (photo->item.id);
  photo->item.id = g_steal_pointer (&id);
  photo->turns = g_rand_int_range (rand, 0, 4);
  photo->model = (EfRegistrationModel) g_rand_int_range (rand, 0, EF_N_REGISTRATION_MODELS);
  photo->note = random_note (rand);
  if (g_rand_boolean (rand))
    photo->taken = g_strdup ("2026-03-09T10:15:00");
  if (n > 0 || g_rand_boolean (rand))
    photo->shows = g_steal_pointer (&face);
  for (int i = 0; i < n; i++)
    ef_photo_add_pair (photo, g_rand_double_range (rand, 0, photo->width), g_rand_double_range (rand, 0, photo->height), g_rand_double_range (rand, -0.1, 0.1),
                       g_rand_double_range (rand, -0.1, 0.1));

  return &photo->item;
}

static EfItem *
random_demand (GRand *rand)
{
  EfDemand *demand = ef_item_new (&ef_demand_class, "demand");

  demand->cooler_flow = random_or_nan (rand, 1e-5, 1e-3);
  demand->cooler_drop = isnan (demand->cooler_flow) ? NAN : g_rand_double_range (rand, 0, 1e6);
  demand->extra_flow = random_or_nan (rand, 0, 1e-3);
  demand->extra_pressure = isnan (demand->extra_flow) ? NAN : g_rand_double_range (rand, 1e3, 1e6);
  demand->hotter = random_or_nan (rand, -20, 30);
  demand->speed = random_or_nan (rand, 1, 100);
  demand->note = random_note (rand);

  return &demand->item;
}

static EfItem *
random_cost (GRand *rand)
{
  EfCost *cost = ef_item_new (&ef_cost_class, "cost");

  cost->currency = random_text (rand);
  cost->hour_rate = random_or_nan (rand, 0, 200);
  cost->new_pump = random_or_nan (rand, 0, 5000);
  cost->parts = random_or_nan (rand, 0, 500);
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    cost->minutes[i] = random_or_nan (rand, 0, 120);
  cost->note = random_note (rand);

  return &cost->item;
}

static EfItem *
make_item (GRand *rand,
           const EfInspection *inspection,
           EfItemKind kind)
{
  switch (kind)
    {
    case EF_ITEM_HEADER:
      return random_header (rand);
    case EF_ITEM_MARK:
      return random_mark (rand, inspection);
    case EF_ITEM_READING:
      return random_reading (rand, inspection);
    case EF_ITEM_GAUGE:
      return random_gauge (rand);
    case EF_ITEM_CHECK:
      return random_check (rand, inspection);
    case EF_ITEM_OVERRIDE:
      return random_override (rand);
    case EF_ITEM_TICK:
      return random_tick (rand);
    case EF_ITEM_WORK:
      return random_work (rand, inspection);
    case EF_ITEM_DEMAND:
      return inspection->items[EF_ITEM_DEMAND]->len == 0 ? random_demand (rand) : NULL;
    case EF_ITEM_COST:
      return inspection->items[EF_ITEM_COST]->len == 0 ? random_cost (rand) : NULL;
    case EF_ITEM_REPLACEMENT:
      return random_replacement (rand, inspection);
    case EF_ITEM_PHOTO:
      return random_photo (rand, inspection);
    default:
      g_assert_not_reached ();
    }
}

EfItem *
random_item (GRand *rand,
             const EfInspection *inspection,
             EfItemKind kind)
{
  g_autoptr (EfItem) item = make_item (rand, inspection, kind);

  return item != NULL ? ef_item_on_grid (item) : NULL;
}

static EfItem *
random_demand_on_grid (GRand *rand)
{
  g_autoptr (EfItem) item = random_demand (rand);

  return ef_item_on_grid (item);
}

EfItem *
random_variant (GRand *rand,
                const EfInspection *inspection,
                const EfItem *item)
{
  EfItem *variant;

  if (item->klass->kind == EF_ITEM_CHECK)
    {
      variant = ef_item_copy (item);
      g_free (((EfCheck *) variant)->note);
      ((EfCheck *) variant)->note = random_note (rand);

      return variant;
    }
  if (item->klass->kind == EF_ITEM_REPLACEMENT)
    {
      variant = ef_item_copy (item);
      g_free (((EfReplacement *) variant)->note);
      ((EfReplacement *) variant)->note = random_note (rand);

      return variant;
    }

  if (item->klass->kind == EF_ITEM_DEMAND)
    return random_demand_on_grid (rand);
  if (item->klass->kind == EF_ITEM_COST)
    return random_cost (rand);

  variant = random_item (rand, inspection, item->klass->kind);
  g_free (variant->id);
  variant->id = g_strdup (item->id);

  return variant;
}

EfInspection *
random_inspection (GRand *rand,
                   guint most_items)
{
  g_autoptr (EfPumpSheet) sheet = random_sheet (rand);
  EfInspection *inspection = ef_inspection_new (sheet, NULL);
  g_autoptr (EfItem) header = random_item (rand, inspection, EF_ITEM_HEADER);
  guint n = g_rand_int_range (rand, 0, most_items + 1);
  g_autoptr (GError) error = NULL;
  guint i;

  ef_inspection_swap (inspection, inspection->items[EF_ITEM_HEADER]->pdata[0], header, &error);
  g_assert_no_error (error);
  for (i = 0; i < n; i++)
    {
      g_autoptr (EfItem) item = random_item (rand, inspection, g_rand_int_range (rand, EF_ITEM_MARK, EF_N_ITEM_KINDS));

      if (item == NULL)
        continue;
      ef_inspection_swap (inspection, NULL, item, &error);
      g_assert_no_error (error);
    }

  return inspection;
}

/* Tries the edit on @trial first, so that the change as a whole fits. */
static void
add_random_edit (GRand *rand,
                 EfInspection *trial,
                 EfChange *change)
{
  EfItemKind kind = g_rand_int_range (rand, 0, EF_N_ITEM_KINDS);
  EfItem *there = random_element (rand, trial->items[kind]);
  int what = kind == EF_ITEM_HEADER ? 1 : g_rand_int_range (rand, 0, 3);
  g_autoptr (EfItem) before = NULL;
  g_autoptr (EfItem) after = NULL;

  if (what > 0 && there != NULL)
    before = ef_item_ref (there);
  if (before == NULL)
    after = random_item (rand, trial, kind);
  else if (what == 1)
    after = random_variant (rand, trial, before);

  if ((before != NULL || after != NULL) && ef_inspection_swap (trial, before, after, NULL))
    ef_change_add (change, before, after);
}

EfChange *
random_change (GRand *rand,
               EfDocument *document)
{
  g_autoptr (EfInspection) trial = ef_document_snapshot (document);
  g_autofree char *label = random_filled (rand);
  EfChange *change = ef_change_new (label);
  guint n = g_rand_int_range (rand, 1, 5);

  while (change->edits->len < n)
    add_random_edit (rand, trial, change);

  return change;
}

void
assert_same_inspection (const EfInspection *a,
                        const EfInspection *b)
{
  guint kind, i;

  for (kind = 0; kind < EF_N_ITEM_KINDS; kind++)
    {
      g_assert_cmpuint (a->items[kind]->len, ==, b->items[kind]->len);
      for (i = 0; i < a->items[kind]->len; i++)
        if (!ef_item_equal (a->items[kind]->pdata[i], b->items[kind]->pdata[i]))
          {
            g_autoptr (JsonNode) left = ef_item_to_json (a->items[kind]->pdata[i]);
            g_autoptr (JsonNode) right = ef_item_to_json (b->items[kind]->pdata[i]);
            g_autofree char *left_text = ef_json_to_text (left);
            g_autofree char *right_text = ef_json_to_text (right);

            g_error ("%s differs:\n%s\n%s", ef_item_kind_name (kind), left_text, right_text);
          }
    }
  g_assert_true (ef_inspection_equal (a, b));
}
