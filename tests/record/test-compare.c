/* Comparing two states of a job: nothing where they are equal, each change named, the other way round the mirror image.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../inspection/random-inspection.h"

#include "record/ef-compare.h"
#include "record/ef-exchange.h"

#include <string.h>
#include "../isolate.h"

static char *
line_of (const EfDifference *difference,
         gboolean mirrored)
{
  const char *before = mirrored ? difference->after : difference->before;
  const char *after = mirrored ? difference->before : difference->after;

  return g_strdup_printf ("%d|%s|%s|%s|%s", difference->kind, difference->id, difference->path,
                          before != NULL ? before : "-", after != NULL ? after : "-");
}

static int
compare_lines (gconstpointer a,
               gconstpointer b)
{
  return strcmp (*(const char *const *) a, *(const char *const *) b);
}

static char *
lines_of (GPtrArray *differences,
          gboolean mirrored)
{
  g_autoptr (GPtrArray) lines = g_ptr_array_new_with_free_func (g_free);

  for (guint i = 0; i < differences->len; i++)
    g_ptr_array_add (lines, line_of (differences->pdata[i], mirrored));
  g_ptr_array_sort (lines, compare_lines);
  g_ptr_array_add (lines, NULL);

  return g_strjoinv ("\n", (char **) lines->pdata);
}

static void
test_random (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (61);
  guint n_changed = 0;

  for (guint round = 0; round < 150; round++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (rand, 12);
      g_autoptr (EfInspection) copy = ef_inspection_copy (inspection);
      EfDocument *document = ef_document_new (ef_inspection_copy (inspection));
      g_autoptr (GPtrArray) none = ef_compare (inspection, copy);
      g_autoptr (GPtrArray) there = NULL;
      g_autoptr (GPtrArray) back = NULL;
      g_autofree char *one = NULL;
      g_autofree char *two = NULL;
      g_autofree char *text = NULL;

      g_assert_cmpuint (none->len, ==, 0);
      for (guint i = g_rand_int_range (rand, 1, 4); i > 0; i--)
        ef_document_apply (document, random_change (rand, document), NULL);
      there = ef_compare (inspection, ef_document_inspection (document));
      back = ef_compare (ef_document_inspection (document), inspection);
      g_assert_true ((there->len == 0) == ef_inspection_equal (inspection, ef_document_inspection (document)));
      n_changed += there->len > 0;
      one = lines_of (there, FALSE);
      two = lines_of (back, TRUE);
      g_assert_cmpstr (one, ==, two);
      text = ef_compare_to_text (there);
      g_assert_true (g_utf8_validate (text, -1, NULL));
      g_object_unref (document);
    }
  g_assert_cmpuint (n_changed, >, 100);
}

static EfInspection *
load_demo (void)
{
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  EfInspection *inspection = ef_exchange_load (path, &error);

  g_assert_no_error (error);

  return inspection;
}

static void
replace (EfDocument *document,
         gconstpointer before,
         gpointer after)
{
  g_autoptr (GError) error = NULL;

  ef_document_replace (document, "Change", (gpointer) before, after, &error);
  g_assert_no_error (error);
  ef_item_unref (after);
}

/* Constructed: one change of each sort, and the words for it. */
static void
test_words (void)
{
  g_autoptr (EfInspection) before = load_demo ();
  EfDocument *document = ef_document_new (ef_inspection_copy (before));
  EfMark *mark = NULL;
  EfReading *reading = NULL;
  EfJobHeader *header = ef_item_copy (ef_inspection_header (before));
  g_autoptr (GPtrArray) differences = NULL;
  g_autofree char *text = NULL;
  g_autofree char *expected = NULL;
  g_autofree char *old_value = NULL;
  g_autofree char *old_depth = NULL;
  g_autoptr (JsonNode) json = NULL;

  for (guint i = 0; mark == NULL; i++)
    if (((EfMark *) before->items[EF_ITEM_MARK]->pdata[i])->depths->len > 0)
      mark = ef_item_copy (before->items[EF_ITEM_MARK]->pdata[i]);
  old_depth = ef_json_number_text (ef_length_to_mm (g_array_index (mark->depths, EfMarkDepth, 0).depth));
  g_array_index (mark->depths, EfMarkDepth, 0).depth = 0.0625e-3;
  reading = ef_item_copy (before->items[EF_ITEM_READING]->pdata[0]);
  old_value = ef_json_number_text (ef_length_to_mm (reading->value));
  reading->value += 0.001e-3;
  reading->value = ef_length_on_grid (reading->value);
  g_free (header->complaint);
  header->complaint = g_strdup ("Lamp lit at idle");
  g_free (header->note);
  header->note = NULL;

  expected = g_strdup_printf ("depth 1: %s mm → 0.0625 mm", old_depth);
  replace (document, ef_inspection_find (before, EF_ITEM_MARK, mark->item.id), mark);
  replace (document, before->items[EF_ITEM_READING]->pdata[0], reading);
  replace (document, ef_inspection_header (before), header);
  ef_document_remove (document, "Remove", ef_document_inspection (document)->items[EF_ITEM_READING]->pdata[1], NULL);

  differences = ef_compare (before, ef_document_inspection (document));
  text = ef_compare_to_text (differences);
  g_assert_nonnull (strstr (text, expected));
  g_assert_nonnull (strstr (text, "complaint: "));
  g_assert_nonnull (strstr (text, "→ Lamp lit at idle"));
  g_free (expected);
  expected = g_strdup_printf ("value: %s mm → ", old_value);
  g_assert_nonnull (strstr (text, expected));
  g_assert_nonnull (strstr (text, ": removed ("));
  json = ef_compare_to_json (differences);
  g_assert_cmpuint (json_array_get_length (json_object_get_array_member (json_node_get_object (json), "differences")), ==, differences->len);
  g_object_unref (document);
}

static void
test_field_words (void)
{
  static const char *const pairs[][2] = {
    { "depths[1].depth_mm", "depth 2" },
    { "depths[0].gauge", "depth 1, gauge" },
    { "found_pressure_bar", "oil pressure found" },
    { "sections[0].face_width_mm", "section 1, face width" },
    { "photos[2]", "photo 3" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (pairs); i++)
    {
      g_autofree char *words = ef_compare_field_words (pairs[i][0]);

      g_assert_cmpstr (words, ==, pairs[i][1]);
    }
}

/* Other pump sheets and another order of the same marks are differences too. */
static void
test_sheet_and_order (void)
{
  g_autoptr (EfInspection) a = load_demo ();
  g_autoptr (EfInspection) b = ef_inspection_copy (a);
  g_autoptr (EfPumpSheet) other = NULL;
  g_autoptr (GPtrArray) order = NULL;
  g_autoptr (GPtrArray) sheet = NULL;
  g_auto (GStrv) halves = g_strsplit (a->sheet->json, a->sheet->name, 2);
  g_autofree char *json = g_strjoinv ("Another", halves);
  gpointer first = b->items[EF_ITEM_MARK]->pdata[0];

  b->items[EF_ITEM_MARK]->pdata[0] = b->items[EF_ITEM_MARK]->pdata[1];
  b->items[EF_ITEM_MARK]->pdata[1] = first;
  order = ef_compare (a, b);
  g_assert_cmpuint (order->len, ==, 1);
  g_assert_cmpstr (((EfDifference *) order->pdata[0])->title, ==, "Order of the marks");

  other = ef_pump_sheet_parse (json, "other", NULL);
  g_assert_nonnull (other);
  ef_pump_sheet_unref (b->sheet);
  b->sheet = ef_pump_sheet_ref (other);
  sheet = ef_compare (a, b);
  g_assert_cmpuint (sheet->len, ==, 2);
  g_assert_cmpstr (((EfDifference *) sheet->pdata[0])->title, ==, "Pump sheet");
  g_assert_cmpstr (((EfDifference *) sheet->pdata[0])->after, ==, "Another");
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/compare/random-changes-both-ways", test_random);
  g_test_add_func ("/compare/words", test_words);
  g_test_add_func ("/compare/field-words", test_field_words);
  g_test_add_func ("/compare/sheet-and-order", test_sheet_and_order);

  return g_test_run ();
}
