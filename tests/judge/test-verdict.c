/* The verdict tree: its shape, mates, overrides, reasons, and what must hold for any inspection.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "judge-fixture.h"
#include "../isolate.h"

static void
test_tree (void)
{
  static const char *const under[][2] = {
    { "pump", "section:pressure" },
    { "pump", "part:separator" },
    { "pump", "part:pickup" },
    { "section:pressure", "pair:pressure" },
    { "section:pressure", "part:pressure-housing" },
    { "pair:pressure", "part:pressure-drive-gear" },
    { "pair:scavenge", "part:scavenge-driven-gear" },
  };
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_judge (&f);
  for (guint i = 0; i < G_N_ELEMENTS (under); i++)
    {
      const EfVerdict *parent = ef_verdict_find (f.verdict, under[i][0]);
      gboolean found = FALSE;

      g_assert_nonnull (parent);
      for (guint k = 0; k < parent->children->len; k++)
        found = found || g_str_equal (((EfVerdict *) parent->children->pdata[k])->id, under[i][1]);
      if (!found)
        g_error ("%s isn't under %s", under[i][1], under[i][0]);
    }
  g_assert_null (ef_verdict_find (f.verdict, "part:nothing"));
  fixture_clear (&f);
}

static void
assert_reasons (const EfVerdict *node)
{
  g_assert_cmpuint (node->reasons->len, >, 0);
  for (guint i = 0; i < node->reasons->len; i++)
    {
      const EfReason *reason = node->reasons->pdata[i];

      g_assert_cmpuint (strlen (reason->sentence), >, 10);
      if (i > 0)
        g_assert_cmpint (reason->word, <=, ((EfReason *) node->reasons->pdata[i - 1])->word);
    }
  for (guint i = 0; i < node->children->len; i++)
    assert_reasons (node->children->pdata[i]);
}

/* Every node says why, worst first; and a worst mark's reason is read at the top. */
static void
test_reasons_everywhere (void)
{
  const EfVerdict *root;
  Fixture f;

  fixture_init (&f, "hl-24");
  assert_reasons (fixture_judge (&f));
  g_free (fixture_add_mark (&f, fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, 0.05 * MM, NULL)));
  g_free (fixture_add_mark (&f, fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, 0.15 * MM, NULL)));
  g_free (fixture_add_mark (&f, fixture_mark (&f, "separator/side-b", EF_MARK_GROOVE, 0.1, 0.08 * MM, NULL)));
  g_free (fixture_add_mark (&f, fixture_mark (&f, "separator/side-b", EF_MARK_SCORING, 0.1, 0.01 * MM, NULL)));
  root = fixture_judge (&f);
  assert_reasons (root);
  g_assert_cmpint (root->word, ==, EF_VERDICT_REWORK);
  g_assert_cmpstr (((EfReason *) root->reasons->pdata[0])->rule, ==, "plate-groove");
  g_assert_nonnull (strstr (((EfReason *) root->reasons->pdata[0])->sentence, "0.15 mm"));
  g_assert_nonnull (strstr (((EfReason *) root->reasons->pdata[0])->sentence, "And 2 more like it."));
  g_assert_cmpuint (((EfReason *) root->reasons->pdata[0])->refs->len, ==, 3);
  fixture_clear (&f);
}

static void
test_mates (void)
{
  Fixture f;

  fixture_init (&f, "hl-24");
  g_free (fixture_add_mark (&f, fixture_mark (&f, "pressure-driven-gear/flank-coast", EF_MARK_FLAT_SPOT, 0.5, 0.05 * MM, NULL)));
  fixture_judge (&f);
  assert_word (&f, "part:pressure-driven-gear", EF_VERDICT_SCRAP);
  assert_word (&f, "part:pressure-drive-gear", EF_VERDICT_SCRAP);
  assert_word (&f, "pair:pressure", EF_VERDICT_SCRAP);
  assert_word (&f, "part:scavenge-drive-gear", EF_VERDICT_USE);
  assert_word (&f, "part:pressure-housing", EF_VERDICT_USE);
  g_assert_nonnull (fixture_reason (&f, "part:pressure-drive-gear", "mate-condemned"));
  g_assert_null (fixture_reason (&f, "part:pressure-driven-gear", "mate-condemned"));
  /* What is worth keeping is said at the top. */
  g_assert_nonnull (strstr (fixture_reason (&f, "pump", "worth-keeping")->sentence, "separator plate"));
  fixture_clear (&f);
}

/* Backlash belongs to neither gear alone. */
static void
test_pair_condemns_both (void)
{
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_read (&f, EF_READ_BACKLASH, "pressure", NULL, 0.5 * MM, NULL);
  fixture_judge (&f);
  assert_word (&f, "part:pressure-driven-gear", EF_VERDICT_SCRAP);
  assert_word (&f, "part:pressure-drive-gear", EF_VERDICT_SCRAP);
  fixture_clear (&f);
}

static void
override (Fixture *f,
          const char *id,
          const char *verdict)
{
  EfOverride *item = ef_item_new (&ef_override_class, id);

  item->verdict = g_strdup (verdict);
  item->reason = g_strdup ("seen under the microscope");
  item->role = g_strdup ("rebuilder");
  fixture_add (f, item);
}

static void
test_override (void)
{
  const EfVerdict *node;
  g_autofree char *mark = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  mark = fixture_add_mark (&f, fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, 0.05 * MM, NULL));
  override (&f, mark, "use-again");
  fixture_judge (&f);
  node = ef_verdict_find (f.verdict, mark);
  g_assert_cmpint (node->word, ==, EF_VERDICT_USE);
  g_assert_cmpint (node->computed, ==, EF_VERDICT_REWORK);
  g_assert_nonnull (node->override);
  g_assert_cmpstr (((EfReason *) node->reasons->pdata[0])->rule, ==, "override");
  g_assert_nonnull (strstr (((EfReason *) node->reasons->pdata[0])->sentence, "seen under the microscope"));
  assert_word (&f, "part:separator", EF_VERDICT_USE);
  assert_word (&f, "pump", EF_VERDICT_USE);
  /* It's read at the top as well. */
  g_assert_nonnull (fixture_reason (&f, "pump", "override"));
  fixture_clear (&f);
}

static void
test_override_keeps_mate (void)
{
  Fixture f;

  fixture_init (&f, "hl-24");
  g_free (fixture_add_mark (&f, fixture_mark (&f, "pressure-driven-gear/flank-coast", EF_MARK_FLAT_SPOT, 0.5, 0.05 * MM, NULL)));
  override (&f, "part:pressure-drive-gear", "use-again");
  fixture_judge (&f);
  assert_word (&f, "part:pressure-drive-gear", EF_VERDICT_USE);
  g_assert_cmpint (ef_verdict_find (f.verdict, "part:pressure-drive-gear")->computed, ==, EF_VERDICT_SCRAP);
  assert_word (&f, "pair:pressure", EF_VERDICT_SCRAP);
  fixture_clear (&f);
}

static void
test_override_worse (void)
{
  Fixture f;

  fixture_init (&f, "hl-24");
  override (&f, "part:separator", "scrap");
  fixture_judge (&f);
  assert_word (&f, "part:separator", EF_VERDICT_SCRAP);
  assert_word (&f, "pump", EF_VERDICT_SCRAP);
  fixture_clear (&f);
}

static void
test_words (void)
{
  for (guint i = 0; i < EF_N_VERDICTS; i++)
    {
      EfVerdictWord word = EF_N_VERDICTS;

      g_assert_true (ef_verdict_from_name (ef_verdict_name (i), &word));
      g_assert_cmpint (word, ==, i);
    }
  g_assert_false (ef_verdict_from_name ("fine", NULL));
}

/* Random inspections */

static EfMark *
random_mark (Fixture *f,
             char **faces)
{
  const char *face = faces[g_test_rand_int_range (0, (int) g_strv_length (faces))];
  EfMarkKind kind = (EfMarkKind) g_test_rand_int_range (0, EF_N_MARK_KINDS);
  double depth = g_test_rand_int_range (0, 5) == 0 ? NAN : round (g_test_rand_double_range (0.0, 250.0)) * 1e-6;
  static const char *const gauges[] = { NULL, "fine", "coarse", FIXTURE_NO_GAUGE };

  return fixture_mark (f, face, kind, g_test_rand_double_range (0.05, 0.95), depth, gauges[g_test_rand_int_range (0, 4)]);
}

static const char *const pumps[] = { "hl-24", "hl-27", "rc-4", "tg-3" };

/* Of the pumps in turn. */
static void
random_fixture (Fixture *f,
                guint run)
{
  g_auto (GStrv) faces = NULL;
  const char *section;

  fixture_init (f, pumps[run % G_N_ELEMENTS (pumps)]);
  section = ((EfSection *) f->sheet->sections->pdata[0])->id;
  fixture_gauge (f, "fine", EF_GAUGE_DIAL, 0.004 * MM);
  fixture_gauge (f, "coarse", EF_GAUGE_FINGERNAIL, 0.05 * MM);
  faces = ef_face_ids (f->sheet);
  for (int n = g_test_rand_int_range (0, 6); n > 0; n--)
    g_free (fixture_add_mark (f, random_mark (f, faces)));
  fixture_read (f, EF_READ_TIP_CLEARANCE, section, "drive", g_test_rand_double_range (0.05, 0.2) * MM, "fine");
  fixture_read (f, EF_READ_SIDE_PLAY, section, "drive", g_test_rand_double_range (0.03, 0.5) * MM, "coarse");
  fixture_read (f, EF_READ_BACKLASH, section, NULL, g_test_rand_double_range (0.1, 0.4) * MM, "fine");
}

static void
collect (const EfVerdict *node,
         GHashTable *into)
{
  g_hash_table_insert (into, g_strdup (node->id), GINT_TO_POINTER (node->word + 1));
  for (guint i = 0; i < node->children->len; i++)
    collect (node->children->pdata[i], into);
}

/* Replaces a random depth, or a reading above its lower limit, by a greater one. */
static void
worsen (Fixture *f)
{
  GPtrArray *marks = f->inspection->items[EF_ITEM_MARK];
  GPtrArray *readings = f->inspection->items[EF_ITEM_READING];
  double more = g_test_rand_double_range (0.001, 0.08) * MM;
  g_autoptr (GError) error = NULL;

  if (marks->len > 0 && g_test_rand_bit ())
    {
      EfMark *before = marks->pdata[g_test_rand_int_range (0, (int) marks->len)];
      EfMark *after = ef_item_copy (before);

      for (guint i = 0; i < after->depths->len; i++)
        g_array_index (after->depths, EfMarkDepth, i).depth = ef_length_on_grid (g_array_index (after->depths, EfMarkDepth, i).depth + more);
      ef_inspection_swap (f->inspection, (EfItem *) before, (EfItem *) after, &error);
      ef_item_unref (after);
    }
  else
    {
      EfReading *before = readings->pdata[g_test_rand_int_range (0, (int) readings->len)];
      EfReading *after = ef_item_copy (before);

      after->value = ef_length_on_grid (after->value + more);
      ef_inspection_swap (f->inspection, (EfItem *) before, (EfItem *) after, &error);
      ef_item_unref (after);
    }
  g_assert_no_error (error);
}

static void
test_never_improves (void)
{
  for (guint run = 0; run < 60; run++)
    {
      g_autoptr (GHashTable) words = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
      Fixture f;

      random_fixture (&f, run);
      collect (fixture_judge (&f), words);
      for (guint step = 0; step < 8; step++)
        {
          g_autoptr (GHashTable) then = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
          GHashTableIter iter;
          gpointer id, word;

          worsen (&f);
          collect (fixture_judge (&f), then);
          g_hash_table_iter_init (&iter, words);
          while (g_hash_table_iter_next (&iter, &id, &word))
            if (GPOINTER_TO_INT (g_hash_table_lookup (then, id)) < GPOINTER_TO_INT (word))
              g_error ("%s got better, from %s to %s, as wear grew", (char *) id,
                       ef_verdict_name (GPOINTER_TO_INT (word) - 1), ef_verdict_name (GPOINTER_TO_INT (g_hash_table_lookup (then, id)) - 1));
          g_hash_table_unref (g_steal_pointer (&words));
          words = g_steal_pointer (&then);
        }
      fixture_clear (&f);
    }
}

/* Makes every gauge's uncertainty greater. */
static void
coarsen (Fixture *f)
{
  GPtrArray *gauges = f->inspection->items[EF_ITEM_GAUGE];
  double by = g_test_rand_double_range (1.05, 3.0);

  for (guint i = 0; i < gauges->len; i++)
    {
      EfGauge *before = gauges->pdata[i];
      EfGauge *after = ef_item_copy (before);
      g_autoptr (GError) error = NULL;

      after->uncertainty *= by;
      ef_inspection_swap (f->inspection, (EfItem *) before, (EfItem *) after, &error);
      g_assert_no_error (error);
      ef_item_unref (after);
    }
}

/* Worse gauges prove less: nothing becomes fit for use, nothing that was fit is condemned or asked to be reworked. */
static void
test_coarser_never_improves (void)
{
  guint doubted = 0;

  for (guint run = 0; run < 60; run++)
    {
      g_autoptr (GHashTable) words = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
      Fixture f;

      random_fixture (&f, run);
      collect (fixture_judge (&f), words);
      for (guint step = 0; step < 6; step++)
        {
          g_autoptr (GHashTable) then = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
          GHashTableIter iter;
          gpointer id, word;

          coarsen (&f);
          collect (fixture_judge (&f), then);
          g_hash_table_iter_init (&iter, words);
          while (g_hash_table_iter_next (&iter, &id, &word))
            {
              EfVerdictWord before = GPOINTER_TO_INT (word) - 1;
              EfVerdictWord after = GPOINTER_TO_INT (g_hash_table_lookup (then, id)) - 1;

              doubted += before != after;
              if ((after == EF_VERDICT_USE && before != EF_VERDICT_USE) || (before == EF_VERDICT_USE && after > EF_VERDICT_MEASURE)
                  || (before == EF_VERDICT_MEASURE && after != EF_VERDICT_MEASURE))
                g_error ("%s went from %s to %s as the gauges got worse", (char *) id, ef_verdict_name (before), ef_verdict_name (after));
            }
          g_hash_table_unref (g_steal_pointer (&words));
          words = g_steal_pointer (&then);
        }
      fixture_clear (&f);
    }
  g_assert_cmpuint (doubted, >, 50);
}

/* Gives all end clearances this value, all gauges this expanded uncertainty. */
static void
set_ends (Fixture *f,
          double value,
          double uncertainty)
{
  GPtrArray *readings = f->inspection->items[EF_ITEM_READING];
  EfGauge *before = ef_inspection_find (f->inspection, EF_ITEM_GAUGE, FIXTURE_GAUGE);
  EfGauge *gauge = ef_item_copy (before);
  g_autoptr (GError) error = NULL;

  gauge->uncertainty = uncertainty;
  ef_inspection_swap (f->inspection, (EfItem *) before, (EfItem *) gauge, &error);
  g_assert_no_error (error);
  ef_item_unref (gauge);
  for (guint i = 0; i < readings->len; i++)
    {
      EfReading *old = readings->pdata[i];
      EfReading *reading;

      if (old->quantity != EF_READ_END_CLEARANCE)
        continue;
      reading = ef_item_copy (old);
      reading->value = ef_length_on_grid (value);
      ef_inspection_swap (f->inspection, (EfItem *) old, (EfItem *) reading, &error);
      g_assert_no_error (error);
      ef_item_unref (reading);
    }
}

/* Every pump, sound but for its end clearance, which grows by 2.5 um from where it's fit for use to far beyond any limit, read with a good, a usual and
 * a coarse gauge: use again, then measure again while it isn't proved, then worse, and never back. */
static void
test_end_clearance_grows (void)
{
  static const double uncertainties[] = { 0.5e-6, 6e-6, 25e-6 };

  for (guint p = 0; p < G_N_ELEMENTS (pumps); p++)
    for (guint k = 0; k < G_N_ELEMENTS (uncertainties); k++)
      {
        g_autofree char *section = NULL;
        EfVerdictWord last = EF_VERDICT_USE;
        gboolean seen[EF_N_VERDICTS] = { FALSE };
        Fixture f;

        fixture_init (&f, pumps[p]);
        section = g_strconcat ("section:", ((EfSection *) f.sheet->sections->pdata[0])->id, NULL);
        for (double value = 0.06 * MM; value < 0.6 * MM; value += 2.5e-6)
          {
            EfVerdictWord word;

            set_ends (&f, value, uncertainties[k]);
            fixture_judge (&f);
            word = fixture_word (&f, section);
            /* The sweep begins once it is proved to be wide enough. */
            if (!seen[EF_VERDICT_USE] && word != EF_VERDICT_USE)
              continue;
            if (word < last)
              g_error ("%s, U %g um: %s at %.4f mm, %s before", pumps[p], 1e6 * uncertainties[k], ef_verdict_name (word), value / MM, ef_verdict_name (last));
            g_assert_cmpint (fixture_word (&f, "pump"), >=, word);
            seen[word] = TRUE;
            last = word;
          }
        g_test_message ("%s, U %g um: use %d, measure %d, rework %d, scrap %d", pumps[p], 1e6 * uncertainties[k], seen[0], seen[1], seen[2], seen[3]);
        g_assert_true (seen[EF_VERDICT_USE]);
        g_assert_true (seen[EF_VERDICT_MEASURE]);
        g_assert_cmpint (last, >=, EF_VERDICT_REWORK);
        fixture_clear (&f);
      }
}

/* Every pump, at clearances on either side of its limits: the gauge gets worse from 1 to 60 um. What was fit stays so or is to be measured again;
 * what was condemned or to be reworked stays so or is to be measured again; and measure again stays. */
static void
test_end_clearance_less_sure (void)
{
  guint doubted = 0;

  for (guint p = 0; p < G_N_ELEMENTS (pumps); p++)
    for (double value = 0.06 * MM; value < 0.4 * MM; value += 7e-6)
      {
        g_autofree char *section = NULL;
        EfVerdictWord first, last;
        Fixture f;

        fixture_init (&f, pumps[p]);
        section = g_strconcat ("section:", ((EfSection *) f.sheet->sections->pdata[0])->id, NULL);
        set_ends (&f, value, 1e-6);
        fixture_judge (&f);
        first = last = fixture_word (&f, section);
        for (double uncertainty = 1.3e-6; uncertainty < 60e-6; uncertainty *= 1.3)
          {
            EfVerdictWord word;

            set_ends (&f, value, uncertainty);
            fixture_judge (&f);
            word = fixture_word (&f, section);
            if ((word == EF_VERDICT_USE && last != EF_VERDICT_USE) || (last == EF_VERDICT_USE && word > EF_VERDICT_MEASURE) ||
                (last == EF_VERDICT_MEASURE && word != EF_VERDICT_MEASURE))
              g_error ("%s at %.3f mm: %s, then with U %.1f um %s", pumps[p], value / MM, ef_verdict_name (last), 1e6 * uncertainty, ef_verdict_name (word));
            last = word;
          }
        doubted += first != last;
        fixture_clear (&f);
      }
  g_test_message ("%u clearances came into doubt", doubted);
  g_assert_cmpuint (doubted, >, 20);
}

/* A flat spot on a tooth of either mate condemns both, on every pump and section; the housing around them stays. */
static void
test_mates_on_all_pumps (void)
{
  for (guint p = 0; p < G_N_ELEMENTS (pumps); p++)
    for (int gear = 0; gear < 2; gear++)
      {
        Fixture f;
        guint n;

        fixture_init (&f, pumps[p]);
        n = f.sheet->sections->len;
        for (guint i = 0; i < n; i++)
          {
            const EfSection *section = f.sheet->sections->pdata[i];
            g_autofree char *face = g_strconcat (section->gear_part[gear], "/flank-drive", NULL);
            g_autofree char *mate = g_strconcat ("part:", section->gear_part[1 - gear], NULL);
            g_autofree char *own = g_strconcat ("part:", section->gear_part[gear], NULL);
            g_autofree char *pair = g_strconcat ("pair:", section->id, NULL);
            g_autofree char *housing = g_strconcat ("part:", section->pocket_part, NULL);

            fixture_judge (&f);
            g_assert_cmpint (fixture_word (&f, mate), ==, EF_VERDICT_USE);
            g_free (fixture_add_mark (&f, fixture_mark (&f, face, EF_MARK_FLAT_SPOT, 0.5, 0.05 * MM, NULL)));
            fixture_judge (&f);
            g_assert_cmpint (fixture_word (&f, own), ==, EF_VERDICT_SCRAP);
            g_assert_cmpint (fixture_word (&f, mate), ==, EF_VERDICT_SCRAP);
            g_assert_cmpint (fixture_word (&f, pair), ==, EF_VERDICT_SCRAP);
            g_assert_cmpint (fixture_word (&f, housing), ==, EF_VERDICT_USE);
            g_assert_nonnull (fixture_reason (&f, mate, "mate-condemned"));
            g_assert_null (fixture_reason (&f, own, "mate-condemned"));
          }
        fixture_clear (&f);
      }
}

static void
write_tree (const EfVerdict *node,
            GString *text)
{
  g_string_append_printf (text, "%s %s\n", node->id, ef_verdict_name (node->word));
  for (guint i = 0; i < node->reasons->len; i++)
    {
      const EfReason *reason = node->reasons->pdata[i];

      g_string_append_printf (text, "  %s %s | %s\n", reason->rule, reason->sentence, reason->advice != NULL ? reason->advice : "");
    }
  for (guint i = 0; i < node->children->len; i++)
    write_tree (node->children->pdata[i], text);
}

static char *
judged (Fixture *f)
{
  GString *text = g_string_new (NULL);

  write_tree (fixture_judge (f), text);

  return g_string_free (text, FALSE);
}

static void
shuffle (GPtrArray *items)
{
  for (guint i = items->len; i > 1; i--)
    {
      guint k = (guint) g_test_rand_int_range (0, (int) i);
      gpointer swap = items->pdata[i - 1];

      items->pdata[i - 1] = items->pdata[k];
      items->pdata[k] = swap;
    }
}

static void
test_order (void)
{
  for (guint run = 0; run < 40; run++)
    {
      g_autofree char *before = NULL;
      g_autofree char *after = NULL;
      Fixture f;

      random_fixture (&f, run);
      before = judged (&f);
      shuffle (f.inspection->items[EF_ITEM_MARK]);
      shuffle (f.inspection->items[EF_ITEM_READING]);
      shuffle (f.inspection->items[EF_ITEM_CHECK]);
      shuffle (f.inspection->items[EF_ITEM_GAUGE]);
      after = judged (&f);
      g_assert_cmpstr (before, ==, after);
      fixture_clear (&f);
    }
}

/* The same lengths typed in other units. */
static void
test_units (void)
{
  static const char *const texts[] = { "0.0508 mm", "2 thou", "50.8 um", "0.002 in", "0,0508 mm" };
  g_autofree char *first = NULL;

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    {
      g_autofree char *now = NULL;
      EfMark *mark;
      EfReading *reading;
      EfUnit unit;
      double length;
      Fixture f;

      g_assert_true (ef_parse_length (texts[i], EF_UNIT_MM, &length, &unit, NULL));
      fixture_init (&f, "hl-24");
      mark = fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.2, NAN, NULL);
      ef_mark_set_depth (mark, length, unit, FIXTURE_GAUGE);
      g_free (mark->item.id);
      mark->item.id = g_strdup ("m");
      fixture_add (&f, mark);
      reading = ef_reading_new (EF_READ_BACKLASH, "pressure", NULL, length * 4, unit, FIXTURE_GAUGE);
      reading->value = ef_length_on_grid (reading->value);
      fixture_add (&f, reading);
      now = judged (&f);
      if (first == NULL)
        first = g_steal_pointer (&now);
      else
        g_assert_cmpstr (first, ==, now);
      fixture_clear (&f);
    }
}

static void
test_mates_always_together (void)
{
  guint condemned = 0;

  for (guint run = 0; run < 80; run++)
    {
      Fixture f;

      random_fixture (&f, run);
      fixture_judge (&f);
      for (guint i = 0; i < f.sheet->sections->len; i++)
        {
          const EfSection *section = f.sheet->sections->pdata[i];
          g_autofree char *a = g_strconcat ("part:", section->gear_part[0], NULL);
          g_autofree char *b = g_strconcat ("part:", section->gear_part[1], NULL);

          g_assert_cmpint (fixture_word (&f, a) == EF_VERDICT_SCRAP, ==, fixture_word (&f, b) == EF_VERDICT_SCRAP);
          condemned += fixture_word (&f, a) == EF_VERDICT_SCRAP;
        }
      fixture_clear (&f);
    }
  g_assert_cmpuint (condemned, >, 10);
}

static void
test_foreign_mark (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) derived = g_ptr_array_new ();
  EfMark *mark;
  Fixture f;

  fixture_init (&f, "hl-24");
  mark = fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, 0.01 * MM, NULL);
  g_free (mark->face_id);
  mark->face_id = g_strdup ("other-plate/side-a");
  g_ptr_array_add (f.inspection->items[EF_ITEM_MARK], mark);
  f.findings.inspection = f.inspection;
  f.findings.charts = f.charts;
  f.findings.derived = derived;
  g_assert_null (ef_judge (f.rules, &f.findings, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_assert_nonnull (strstr (error->message, "other-plate/side-a"));
  f.findings.derived = NULL;
  fixture_clear (&f);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/judge/verdict/words", test_words);
  g_test_add_func ("/judge/verdict/tree", test_tree);
  g_test_add_func ("/judge/verdict/reasons-everywhere", test_reasons_everywhere);
  g_test_add_func ("/judge/verdict/mates", test_mates);
  g_test_add_func ("/judge/verdict/pair-condemns-both", test_pair_condemns_both);
  g_test_add_func ("/judge/verdict/override", test_override);
  g_test_add_func ("/judge/verdict/override-keeps-mate", test_override_keeps_mate);
  g_test_add_func ("/judge/verdict/override-worse", test_override_worse);
  g_test_add_func ("/judge/verdict/foreign-mark", test_foreign_mark);
  g_test_add_func ("/judge/property/never-improves", test_never_improves);
  g_test_add_func ("/judge/property/coarser-gauges", test_coarser_never_improves);
  g_test_add_func ("/judge/property/end-clearance-grows", test_end_clearance_grows);
  g_test_add_func ("/judge/property/end-clearance-less-sure", test_end_clearance_less_sure);
  g_test_add_func ("/judge/property/mates-on-all-pumps", test_mates_on_all_pumps);
  g_test_add_func ("/judge/property/order-of-entry", test_order);
  g_test_add_func ("/judge/property/units", test_units);
  g_test_add_func ("/judge/property/mates-together", test_mates_always_together);

  return g_test_run ();
}
