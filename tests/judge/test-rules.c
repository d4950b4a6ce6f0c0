/* Each rule just within and just past its limit. The limits are those of the invented pump sheets or, where a sheet has none, of
 * data/rules: common practice, no source.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "judge-fixture.h"
#include "../isolate.h"

#define USE EF_VERDICT_USE
#define AGAIN EF_VERDICT_MEASURE
#define REWORK EF_VERDICT_REWORK
#define SCRAP EF_VERDICT_SCRAP

/* Marks: a line over @share of the face, @depth deep. */
typedef struct
{
  const char *rule;
  const char *pump, *face;
  EfMarkKind kind;
  double share;
  double depth[3]; /* mm; NAN: not given, 0 past the first: no such case */
  EfVerdictWord word[3];
} MarkCase;

static const MarkCase mark_cases[] = {
  { "crack", "hl-24", "separator/side-a", EF_MARK_CRACK, 0.2, { NAN }, { SCRAP } },
  { "crack", "hl-24", "drive-shaft/keyway-coupling", EF_MARK_CRACK, 0.2, { NAN }, { SCRAP } },
  { "gear-imprint", "hl-24", "pressure-drive-gear/flank-drive", EF_MARK_IMPRINT, 0.1, { NAN, 0.3 }, { USE, USE } },
  { "imprint", "hl-24", "pressure-housing/floor", EF_MARK_IMPRINT, 0.1, { NAN, 0.3 }, { USE, USE } },
  { "flank-flat", "hl-24", "pressure-drive-gear/flank-coast", EF_MARK_FLAT_SPOT, 0.5, { 0.014, 0.016 }, { USE, SCRAP } },
  { "flank-line", "hl-24", "pressure-drive-gear/flank-drive", EF_MARK_SCORING, 0.8, { 0.019, 0.021, NAN }, { USE, SCRAP, AGAIN } },
  { "flank-line", "hl-24", "pressure-drive-gear/flank-drive", EF_MARK_SCORING, 0.3, { 0.021, 0.059, 0.061 }, { USE, USE, SCRAP } },
  { "gear-corrosion", "hl-24", "pressure-driven-gear/tips", EF_MARK_CORROSION, 0.3, { 0.019, 0.021 }, { USE, SCRAP } },
  { "gear-end", "hl-24", "pressure-driven-gear/end-a", EF_MARK_SCORING, 0.1, { 0.029, 0.031, 0.041 }, { USE, REWORK, SCRAP } },
  { "gear-tips", "hl-24", "pressure-driven-gear/tips", EF_MARK_SCORING, 0.3, { 0.049, 0.051, NAN }, { USE, SCRAP, AGAIN } },
  { "gear-fit", "hl-24", "pressure-driven-gear/keyway", EF_MARK_STEP, 0.3, { 0.049, 0.051 }, { USE, SCRAP } },
  { "shaft-fit", "hl-24", "drive-shaft/keyway-pressure", EF_MARK_STEP, 0.3, { 0.049, 0.051 }, { USE, SCRAP } },
  { "journal-scoring", "hl-24", "drive-shaft/journal-front", EF_MARK_SCORING, 0.3, { 0.009, 0.011, 0.031 }, { USE, REWORK, SCRAP } },
  { "wall-lip", "hl-24", "pressure-housing/wall-drive", EF_MARK_LIP, 0.3, { 0.029, 0.031, 0.101 }, { USE, SCRAP, SCRAP } },
  { "wall-scoring", "hl-24", "pressure-housing/wall-driven", EF_MARK_SCORING, 0.3, { 0.049, 0.051, 0.101 }, { USE, REWORK, SCRAP } },
  { "floor-scoring", "hl-24", "pressure-housing/floor", EF_MARK_GROOVE, 0.1, { 0.049, 0.051, 0.121 }, { USE, REWORK, SCRAP } },
  { "bore-scoring", "hl-24", "pressure-housing/bore-drive", EF_MARK_SCORING, 0.3, { 0.029, 0.031 }, { USE, REWORK } },
  { "bore-scoring", "hl-24", "separator/hole-drive", EF_MARK_SCORING, 0.3, { 0.029, 0.031 }, { USE, SCRAP } },
  { "plate-groove", "hl-24", "separator/side-a", EF_MARK_GROOVE, 0.1, { 0.029, 0.031, 0.201 }, { USE, REWORK, SCRAP } },
  { "plate-groove", "hl-24", "separator/side-b", EF_MARK_CORROSION, 0.1, { 0.029, 0.031, NAN }, { USE, REWORK, AGAIN } },
  { "plate-groove", "tg-3", "rear-plate/side-a", EF_MARK_GROOVE, 0.1, { 0.029, 0.031, 0.121 }, { USE, REWORK, SCRAP } },
  { "plate-step", "hl-24", "separator/side-a", EF_MARK_STEP, 0.1, { 0.019, 0.021, 0.201 }, { USE, REWORK, SCRAP } },
  { "plate-chip", "hl-24", "separator/side-a", EF_MARK_CHIP, 0.05, { 0.049, 0.051, 0.201 }, { USE, REWORK, SCRAP } },
  { "mating-damage", "hl-24", "pressure-housing/mating", EF_MARK_CORROSION, 0.1, { 0.029, 0.031, 0.151 }, { USE, REWORK, SCRAP } },
};

static void
test_mark_case (gconstpointer data)
{
  const MarkCase *one = data;

  for (guint i = 0; i < 3 && (i == 0 || one->depth[i] != 0.0); i++)
    {
      g_autofree char *id = NULL;
      const EfReason *reason;
      Fixture f;

      fixture_init (&f, one->pump);
      id = fixture_add_mark (&f, fixture_mark (&f, one->face, one->kind, one->share, one->depth[i] * MM, NULL));
      fixture_judge (&f);
      reason = fixture_reason (&f, id, one->rule);
      g_assert_nonnull (reason);
      g_assert_cmpstr (ef_verdict_name (reason->word), ==, ef_verdict_name (one->word[i]));
      g_assert_cmpuint (strlen (reason->sentence), >, 20);
      g_assert_null (strchr (reason->sentence, '{'));
      g_assert_null (strchr (reason->sentence, '?'));
      g_assert_nonnull (reason->source);
      g_assert_cmpint (fixture_word (&f, id), >=, one->word[i]);
      g_assert_cmpint (fixture_word (&f, "pump"), >=, one->word[i]);
      fixture_clear (&f);
    }
}

/* Sizes and areas instead of depths. */
static void
test_chip (void)
{
  /* As drawn, +-0.2 mm: 1.645 times 0.1 either side of the limit of 1 mm. */
  const double sizes[3] = { 0.8, 1.2, 1.1 };
  const EfVerdictWord words[3] = { USE, SCRAP, AGAIN };

  for (guint i = 0; i < 3; i++)
    {
      EfMark *mark;
      g_autofree char *id = NULL;
      Fixture f;

      fixture_init (&f, "hl-24");
      mark = fixture_mark (&f, "pressure-drive-gear/flank-drive", EF_MARK_CHIP, 0.5, NAN, NULL);
      mark->shape = EF_SHAPE_POINT;
      mark->size = sizes[i] * MM;
      g_array_set_size (mark->nodes, 1);
      id = fixture_add_mark (&f, mark);
      fixture_judge (&f);
      assert_word (&f, id, words[i]);
      fixture_clear (&f);
    }
}

/* Ten per cent of one flank (common practice, no source; as drawn +-2 %), in one patch or in two; on two teeth neither is too much. */
static void
test_pitting (void)
{
  const double shares[2] = { 0.08, 0.12 };

  for (guint i = 0; i < 6; i++)
    {
      EfFaceChart *chart;
      double width, height;
      guint n = i < 2 ? 1 : 2;
      Fixture f;
      g_autofree char *id = NULL;

      fixture_init (&f, "hl-24");
      chart = fixture_chart (&f, "pressure-drive-gear/flank-drive");
      width = 0.5 * chart->strip_width;
      height = (chart->v1 - chart->v0) * shares[i % 2] / 0.5 / n;
      for (guint k = 0; k < n; k++)
        {
          double u = chart->u0 + 0.25 * chart->strip_width + (i >= 4 ? k * chart->strip_pitch : 0.0);
          double v = chart->v0 + 1e-4 + k * height * 1.2;
          EfMark *mark = ef_mark_new (chart->id, EF_MARK_PITTING, EF_SHAPE_AREA, 0.0);

          ef_mark_add_node (mark, u, v);
          ef_mark_add_node (mark, u + width, v);
          ef_mark_add_node (mark, u + width, v + height);
          ef_mark_add_node (mark, u, v + height);
          mark->number = (int) k + 1;
          g_free (id);
          id = fixture_add_mark (&f, mark);
        }
      fixture_judge (&f);
      assert_word (&f, id, i < 4 && i % 2 == 1 ? SCRAP : USE);
      fixture_clear (&f);
    }
}

/* A flat's depth from its width: w = 0.2 and 1.2 mm at about the middle of the flank, rho about 6 mm:
 * w^2/(8 rho) = 0.8 um and 30 um (closed form), on either side of the limit of 15 um. */
static void
test_flat_from_width (void)
{
  const double widths[2] = { 0.2, 1.2 };

  for (guint i = 0; i < 2; i++)
    {
      EfFaceChart *chart;
      EfMark *mark;
      double u, v;
      g_autofree char *id = NULL;
      const EfReason *reason;
      Fixture f;

      fixture_init (&f, "hl-24");
      chart = fixture_chart (&f, "pressure-drive-gear/flank-coast");
      u = chart->u0 + 0.5 * chart->strip_width - 0.5 * widths[i] * MM;
      v = chart->v0 + 0.3 * (chart->v1 - chart->v0);
      mark = ef_mark_new (chart->id, EF_MARK_FLAT_SPOT, EF_SHAPE_AREA, 0.0);
      ef_mark_add_node (mark, u, v);
      ef_mark_add_node (mark, u + widths[i] * MM, v);
      ef_mark_add_node (mark, u + widths[i] * MM, v + 5 * MM);
      ef_mark_add_node (mark, u, v + 5 * MM);
      id = fixture_add_mark (&f, mark);
      fixture_judge (&f);
      assert_word (&f, id, i == 0 ? USE : SCRAP);
      reason = fixture_reason (&f, id, "flank-flat");
      g_assert_cmpfloat (reason->value, >, i == 0 ? 0.3e-6 : 20e-6);
      g_assert_cmpfloat (reason->value, <, i == 0 ? 3e-6 : 80e-6);
      fixture_clear (&f);
    }
}

/* Measured values. */

typedef struct
{
  const char *rule;
  const char *node;
  EfQuantity quantity;
  const char *target, *place;
  double value[4]; /* mm; 0: no such case */
  EfVerdictWord word[4];
} ValueCase;

static const ValueCase value_cases[] = {
  { "end-clearance", "section:pressure", EF_READ_END_CLEARANCE, "pressure", "drive", { 0.129, 0.131, 0.039 }, { USE, REWORK, REWORK } },
  { "end-clearance", "section:scavenge", EF_READ_END_CLEARANCE, "scavenge", "driven", { 0.159, 0.161 }, { USE, REWORK } },
  { "tip-clearance", "section:pressure", EF_READ_TIP_CLEARANCE, "pressure", "drive", { 0.149, 0.151 }, { USE, SCRAP } },
  { "side-play", "section:pressure", EF_READ_SIDE_PLAY, "pressure", "driven", { 0.119, 0.121, 0.401 }, { USE, REWORK, SCRAP } },
  { "backlash", "pair:scavenge", EF_READ_BACKLASH, "scavenge", NULL, { 0.349, 0.351, 0.049 }, { USE, SCRAP, REWORK } },
};

static void
test_value_case (gconstpointer data)
{
  const ValueCase *one = data;

  for (guint i = 0; i < 4 && one->value[i] != 0.0; i++)
    {
      const EfReason *reason = NULL;
      EfVerdictWord worst = EF_VERDICT_USE;
      const EfVerdict *node;
      Fixture f;

      fixture_init (&f, "hl-24");
      if (one->quantity == EF_READ_END_CLEARANCE)
        {
          GPtrArray *readings = f.inspection->items[EF_ITEM_READING];

          for (guint k = readings->len; k-- > 0;)
            {
              EfReading *reading = readings->pdata[k];

              if (g_str_equal (reading->target, one->target) && g_strcmp0 (reading->place, one->place) == 0)
                g_assert_true (ef_inspection_swap (f.inspection, (EfItem *) reading, NULL, NULL));
            }
        }
      fixture_read (&f, one->quantity, one->target, one->place, one->value[i] * MM, NULL);
      fixture_judge (&f);
      node = ef_verdict_find (f.verdict, one->node);
      for (guint k = 0; k < node->reasons->len; k++)
        {
          reason = node->reasons->pdata[k];
          if (g_str_equal (reason->rule, one->rule))
            worst = MAX (worst, reason->word);
        }
      g_assert_nonnull (fixture_reason (&f, one->node, one->rule));
      g_assert_cmpstr (ef_verdict_name (worst), ==, ef_verdict_name (one->word[i]));
      assert_word (&f, one->node, one->word[i]);
      assert_word (&f, "pump", one->word[i]);
      fixture_clear (&f);
    }
}

static void
read_bore (Fixture *f,
           const char *part,
           const char *bore,
           double mean,
           double ovality)
{
  for (int i = 0; i < 6; i++)
    fixture_read_at (f, EF_READ_BORE_DIAMETER, part, bore, 30.0 * i, mean + 0.5 * ovality * cos (2.0 * G_PI * i / 6.0));
}

/* Housing bores 18.02 mm, journals 17.97 mm: limits 0.12 mm of play, 0.03 mm of ovality; this housing may be bushed. */
static void
test_bore (void)
{
  static const struct
  {
    double mean, ovality;
    const char *rule;
    EfVerdictWord word;
  } rows[] = {
    { 18.02, 0.029, "bore-ovality", USE },
    { 18.02, 0.031, "bore-ovality", REWORK },
    { 18.089, 0.0, "bore-clearance", USE },
    { 18.091, 0.0, "bore-clearance", REWORK },
    { 18.371, 0.0, "bore-clearance", SCRAP },
    { 17.985, 0.0, "bore-clearance", REWORK },
  };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    {
      Fixture f;

      fixture_init (&f, "hl-24");
      read_bore (&f, "pressure-housing", "drive", rows[i].mean * MM, rows[i].ovality * MM);
      for (int k = 0; k < 4; k++)
        fixture_read_at (&f, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 45.0 * k, 17.97 * MM);
      fixture_judge (&f);
      g_assert_nonnull (fixture_reason (&f, "part:pressure-housing", rows[i].rule));
      assert_word (&f, "part:pressure-housing", rows[i].word);
      fixture_clear (&f);
    }
}

/* The separator's shaft holes may not be bushed: past the limit is scrap. */
static void
test_bore_not_bushable (void)
{
  const EfVerdictWord words[2] = { USE, SCRAP };
  const double ovality[2] = { 0.029, 0.031 };

  for (guint i = 0; i < 2; i++)
    {
      Fixture f;

      fixture_init (&f, "hl-24");
      read_bore (&f, "separator", "drive", 18.1 * MM, ovality[i] * MM);
      fixture_judge (&f);
      g_assert_nonnull (fixture_reason (&f, "part:separator", "bore-ovality"));
      assert_word (&f, "part:separator", words[i]);
      fixture_clear (&f);
    }
}

static void
test_journal (void)
{
  const double diameters[2] = { 17.941, 17.939 };

  for (guint i = 0; i < 2; i++)
    {
      Fixture f;

      fixture_init (&f, "hl-24");
      fixture_read_at (&f, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 0.0, diameters[i] * MM);
      fixture_read_at (&f, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 90.0, diameters[i] * MM);
      fixture_judge (&f);
      g_assert_nonnull (fixture_reason (&f, "part:drive-shaft", "journal-wear"));
      assert_word (&f, "part:drive-shaft", i == 0 ? USE : SCRAP);
      fixture_clear (&f);
    }
}

static void
test_journal_ovality (void)
{
  const double ovality[2] = { 0.019, 0.021 };

  for (guint i = 0; i < 2; i++)
    {
      Fixture f;

      fixture_init (&f, "hl-24");
      fixture_read_at (&f, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 0.0, 17.97 * MM);
      fixture_read_at (&f, EF_READ_JOURNAL_DIAMETER, "drive-shaft", "front", 90.0, (17.97 - ovality[i]) * MM);
      fixture_judge (&f);
      g_assert_nonnull (fixture_reason (&f, "part:drive-shaft", "journal-ovality"));
      assert_word (&f, "part:drive-shaft", i == 0 ? USE : SCRAP);
      fixture_clear (&f);
    }
}

static void
test_width_difference (void)
{
  const double differences[3] = { 0.019, 0.021, 0.081 };
  const EfVerdictWord words[3] = { USE, REWORK, SCRAP };

  for (guint i = 0; i < 3; i++)
    {
      Fixture f;

      fixture_init (&f, "hl-24");
      fixture_read (&f, EF_READ_FACE_WIDTH, "pressure-drive-gear", NULL, 25.0 * MM, NULL);
      fixture_read (&f, EF_READ_FACE_WIDTH, "pressure-driven-gear", NULL, (25.0 - differences[i]) * MM, NULL);
      fixture_judge (&f);
      assert_word (&f, "pair:pressure", words[i]);
      fixture_clear (&f);
    }
}

/* Heights on the corners of a square, +h -h +h -h: the least-squares plane is level, flatness 2 h. */
static void
test_flatness (void)
{
  const double flatness[3] = { 0.029, 0.031, 0.151 };
  const EfVerdictWord words[3] = { USE, REWORK, SCRAP };

  for (guint i = 0; i < 3; i++)
    {
      Fixture f;

      fixture_init (&f, "hl-24");
      for (int k = 0; k < 4; k++)
        {
          EfReading *reading = ef_reading_new (EF_READ_FLATNESS, "pressure-housing/mating", NULL, (k % 2 == 0 ? 0.5 : -0.5) * flatness[i] * MM, EF_UNIT_MM, FIXTURE_GAUGE);

          reading->u = (k == 0 || k == 3 ? -30.0 : 30.0) * MM;
          reading->v = (k < 2 ? -20.0 : 20.0) * MM;
          fixture_add (&f, reading);
        }
      fixture_judge (&f);
      g_assert_nonnull (fixture_reason (&f, "part:pressure-housing", "flatness"));
      assert_word (&f, "part:pressure-housing", words[i]);
      fixture_clear (&f);
    }
}

/* The check list. */

typedef struct
{
  const char *rule, *part;
  EfCheckState state;
  EfVerdictWord word;
} CheckCase;

static const CheckCase check_cases[] = {
  { "pickup-sound", "pickup", EF_CHECK_SOUND, USE },
  { "pickup-loose", "pickup", EF_CHECK_LOOSE, REWORK },
  { "pickup-damaged", "pickup", EF_CHECK_DAMAGED, REWORK },
  { "pickup-damaged", "pickup", EF_CHECK_MISSING, REWORK },
  { "unseen", "pickup", EF_CHECK_UNSEEN, AGAIN },
  { "fastener-sound", "studs", EF_CHECK_SOUND, USE },
  { "fastener-bad", "studs", EF_CHECK_LOOSE, REWORK },
  { "fastener-bad", "dowels", EF_CHECK_MISSING, REWORK },
  { "fastener-bad", "split-pin", EF_CHECK_DAMAGED, REWORK },
  { "unseen", "studs", EF_CHECK_UNSEEN, AGAIN },
};

static void
test_check_case (gconstpointer data)
{
  const CheckCase *one = data;
  g_autofree char *node = g_strconcat ("part:", one->part, NULL);
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_check (&f, one->part, one->state);
  fixture_judge (&f);
  g_assert_nonnull (fixture_reason (&f, node, one->rule));
  assert_word (&f, node, one->word);
  assert_word (&f, "pump", one->word);
  fixture_clear (&f);
}

static void
test_loose_pickup_says_how (void)
{
  const EfReason *reason;
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_check (&f, "pickup", EF_CHECK_LOOSE);
  fixture_judge (&f);
  reason = fixture_reason (&f, "pump", "pickup-loose");
  g_assert_nonnull (reason);
  g_assert_nonnull (strstr (reason->advice, "points"));
  g_assert_cmpstr (reason->action, ==, "reset-pickup");
  g_assert_cmpstr (reason->target, ==, "pickup");
  fixture_clear (&f);
}

static void
test_required (void)
{
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_judge (&f);
  assert_word (&f, "pump", USE);
  g_assert_null (fixture_reason (&f, "section:pressure", "end-clearance-missing"));
  fixture_clear (&f);

  fixture_init_bare (&f, "hl-24");
  fixture_judge (&f);
  assert_word (&f, "pump", AGAIN);
  assert_word (&f, "section:pressure", AGAIN);
  g_assert_nonnull (strstr (fixture_reason (&f, "section:scavenge", "end-clearance-missing")->sentence, "not measured yet"));
  /* A part on which nothing is marked is sound all the same. */
  assert_word (&f, "part:separator", USE);
  g_assert_nonnull (fixture_reason (&f, "part:separator", "no-marks"));
  fixture_clear (&f);
}

/* A lip at angle psi = u / R of the wall: negative is the suction side. */
static void
test_lip_side (void)
{
  for (int side = -1; side <= 1; side += 2)
    for (int measured = 0; measured < 2; measured++)
      {
        EfFaceChart *chart;
        EfMark *mark;
        g_autofree char *id = NULL;
        const EfReason *reason;
        Fixture f;

        fixture_init (&f, "hl-24");
        chart = fixture_chart (&f, "pressure-housing/wall-driven");
        mark = ef_mark_new (chart->id, EF_MARK_LIP, EF_SHAPE_POINT, 1 * MM);
        ef_mark_add_node (mark, side * 0.3 * chart->u1, 0.5 * chart->v1);
        ef_mark_set_depth (mark, 0.01 * MM, EF_UNIT_MM, FIXTURE_GAUGE);
        id = fixture_add_mark (&f, mark);
        if (measured)
          read_bore (&f, "pressure-housing", "driven", 18.03 * MM, 0.004 * MM);
        fixture_judge (&f);
        reason = fixture_reason (&f, id, "wall-lip-suction");
        if (side > 0)
          {
            g_assert_null (reason);
          }
        else
          {
            g_assert_nonnull (reason);
            g_assert_nonnull (strstr (reason->sentence, "driven shaft bore of the pressure housing"));
          }
        assert_word (&f, id, side < 0 && !measured ? AGAIN : USE);
        /* Even the slightest lip asks for the bore. */
        g_assert_nonnull (strstr (fixture_reason (&f, id, "wall-lip")->advice, "measure the shaft bore"));
        fixture_clear (&f);
      }
}

/* No kind of mark on any face of any shipped pump falls through. */
static void
test_coverage (void)
{
  static const char *const pumps[] = { "hl-24", "hl-27", "rc-4", "tg-3" };

  for (guint p = 0; p < G_N_ELEMENTS (pumps); p++)
    {
      g_auto (GStrv) faces = NULL;
      Fixture f;

      fixture_init (&f, pumps[p]);
      faces = ef_face_ids (f.sheet);
      for (guint i = 0; faces[i] != NULL; i++)
        for (guint kind = 0; kind < EF_N_MARK_KINDS; kind++)
          g_free (fixture_add_mark (&f, fixture_mark (&f, faces[i], kind, 0.1, 0.001 * MM, NULL)));
      fixture_judge (&f);
      for (guint i = 0; i < f.inspection->items[EF_ITEM_MARK]->len; i++)
        {
          const EfMark *mark = f.inspection->items[EF_ITEM_MARK]->pdata[i];
          g_autofree char *id = g_strconcat ("mark:", mark->item.id, NULL);

          if (fixture_reason (&f, id, "no-rule") != NULL)
            g_error ("%s: no rule for %s on %s", pumps[p], ef_mark_kind_name (mark->kind), mark->face_id);
        }
      fixture_clear (&f);
    }
}

/* Gauges */

typedef struct
{
  double depth, uncertainty; /* mm */
  EfVerdictWord word;
  const char *needed; /* in the advice; NULL: none asked for */
} GaugeCase;

/* Groove on the plate: limit 0.03 mm, stock 0.2 mm. Decided 1.645 u = 0.82 U from the limit; needed: U = distance / 0.82, rounded down. */
static const GaugeCase gauge_cases[] = {
  { 0.025, 0.0060, USE, NULL },
  { 0.025, 0.0062, AGAIN, "± 0.006 mm" },
  { 0.035, 0.0060, REWORK, NULL },
  { 0.035, 0.0500, AGAIN, "± 0.006 mm" },
  { 0.010, 0.0500, AGAIN, "± 0.02 mm" },
  { 0.190, 0.0500, REWORK, "rule out" },
  { 0.210, 0.0500, REWORK, "rule out" },
  { 0.210, 0.0050, SCRAP, NULL },
};

static void
test_gauges (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (gauge_cases); i++)
    {
      const GaugeCase *one = &gauge_cases[i];
      g_autofree char *id = NULL;
      const EfReason *reason;
      Fixture f;

      fixture_init (&f, "hl-24");
      fixture_gauge (&f, "g", EF_GAUGE_DEPTH, one->uncertainty * MM);
      id = fixture_add_mark (&f, fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, one->depth * MM, "g"));
      fixture_judge (&f);
      assert_word (&f, id, one->word);
      reason = fixture_reason (&f, id, "plate-groove");
      if (one->needed != NULL)
        g_assert_nonnull (strstr (reason->advice, one->needed));
      else if (reason->advice != NULL)
        g_assert_null (strstr (reason->advice, "±"));
      fixture_clear (&f);
    }
}

/* A coarse reading beside a fine one doesn't take back what the fine one says. */
static void
test_worst_depth_decides (void)
{
  EfMark *mark;
  g_autofree char *id = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_gauge (&f, "fine", EF_GAUGE_DIAL, 0.002 * MM);
  fixture_gauge (&f, "nail", EF_GAUGE_FINGERNAIL, 0.05 * MM);
  mark = fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.2, 0.06 * MM, "fine");
  ef_mark_add_depth (mark, 0.0, 0.0, 0.07 * MM, EF_UNIT_MM, "nail");
  id = fixture_add_mark (&f, mark);
  fixture_judge (&f);
  assert_word (&f, id, REWORK);
  fixture_clear (&f);
}

/* A gauge without an uncertainty of its own has its kind's. */
static void
test_gauge_default (void)
{
  g_autofree char *id = NULL;
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_gauge (&f, "nail", EF_GAUGE_FINGERNAIL, 0.0);
  id = fixture_add_mark (&f, fixture_mark (&f, "separator/side-a", EF_MARK_GROOVE, 0.1, 0.06 * MM, "nail"));
  fixture_judge (&f);
  assert_word (&f, id, AGAIN);
  fixture_clear (&f);
}

static void
test_clearance_gauge (void)
{
  const double uncertainty[2] = { 0.005, 0.03 };

  for (guint i = 0; i < 2; i++)
    {
      const EfReason *reason;
      Fixture f;

      fixture_init_bare (&f, "hl-24");
      fixture_gauge (&f, "feeler", EF_GAUGE_FEELER, uncertainty[i] * MM);
      fixture_clearances (&f, 0.11 * MM, "feeler");
      fixture_judge (&f);
      reason = fixture_reason (&f, "section:pressure", "end-clearance");
      g_assert_nonnull (reason);
      g_assert_cmpint (reason->word, ==, i == 0 ? USE : AGAIN);
      if (i == 1)
        g_assert_nonnull (strstr (reason->advice, "± 0.02 mm"));
      fixture_clear (&f);
    }
}

static const EfReason *
judge_groove (Fixture *f,
              const char **id,
              double depth,
              const char *gauge)
{
  static char *last = NULL;

  g_free (last);
  last = fixture_add_mark (f, fixture_mark (f, "separator/side-a", EF_MARK_GROOVE, 0.1, depth, gauge));
  *id = last;
  fixture_judge (f);

  return fixture_reason (f, last, "plate-groove");
}

/* Without a gauge it's taken as +-0.06 mm, and said so: nothing near the limit is decided. */
static void
test_no_gauge (void)
{
  const EfReason *reason;
  const char *id;
  Fixture f;

  fixture_init (&f, "hl-24");
  reason = judge_groove (&f, &id, 0.02 * MM, FIXTURE_NO_GAUGE);
  assert_word (&f, id, AGAIN);
  g_assert_nonnull (strstr (reason->sentence, "No gauge is noted: taken as ± 0.06 mm."));
  g_assert_cmpfloat (reason->uncertainty, ==, 0.06 * MM);
  reason = judge_groove (&f, &id, 0.08 * MM, FIXTURE_NO_GAUGE);
  assert_word (&f, id, REWORK);
  reason = judge_groove (&f, &id, 0.02 * MM, NULL);
  assert_word (&f, id, USE);
  g_assert_null (strstr (reason->sentence, "No gauge"));
  fixture_clear (&f);

  fixture_init_bare (&f, "hl-24");
  fixture_clearances (&f, 0.12 * MM, FIXTURE_NO_GAUGE);
  fixture_judge (&f);
  reason = fixture_reason (&f, "section:pressure", "end-clearance");
  g_assert_cmpint (reason->word, ==, AGAIN);
  g_assert_nonnull (strstr (reason->sentence, "No gauge is noted: taken as ± 0.02 mm."));
  fixture_clear (&f);
}

/* 0.028 mm, U 0.008 mm, limit 0.03 mm: Phi (2/4) = 0.6915 (table of the normal distribution). */
static void
test_probability (void)
{
  const EfReason *reason;
  const char *id;
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_gauge (&f, "g", EF_GAUGE_DEPTH, 0.008 * MM);
  reason = judge_groove (&f, &id, 0.028 * MM, "g");
  g_assert_cmpfloat (fabs (reason->probability - 0.6915), <, 2e-4);
  g_assert_nonnull (strstr (reason->sentence, "P(within limit) 69 %."));
  reason = judge_groove (&f, &id, 0.020 * MM, "g");
  g_assert_nonnull (strstr (reason->sentence, "P(within limit) 99.4 %."));
  reason = judge_groove (&f, &id, 0.1 * MM, "g");
  g_assert_nonnull (strstr (reason->sentence, "P(within limit) below 0.1 %."));
  g_assert_cmpfloat (reason->uncertainty, >, 0.008 * MM - 1e-12);
  fixture_clear (&f);
}

/* Due before the day of the reading, or for marks before the job was received. */
static void
test_overdue (void)
{
  const EfReason *reason;
  const char *id;
  EfGauge *gauge;
  EfReading *reading;
  EfJobHeader *header;
  Fixture f;

  fixture_init_bare (&f, "hl-24");
  header = ef_inspection_find (f.inspection, EF_ITEM_HEADER, "job");
  header->received = g_strdup ("2026-03-01");
  fixture_gauge (&f, "g", EF_GAUGE_DEPTH, 0.008 * MM);
  gauge = ef_inspection_find (f.inspection, EF_ITEM_GAUGE, "g");
  gauge->due = g_strdup ("2026-02-28");
  gauge->serial = g_strdup ("DM-07");
  reason = judge_groove (&f, &id, 0.01 * MM, "g");
  g_assert_nonnull (strstr (reason->sentence, "The gauge was overdue for its check: g, serial DM-07, due 2026-02-28."));
  gauge->due[6] = '3';
  reason = judge_groove (&f, &id, 0.01 * MM, "g");
  g_assert_null (strstr (reason->sentence, "overdue"));
  reading = ef_reading_new (EF_READ_BACKLASH, "pressure", NULL, 0.2 * MM, EF_UNIT_MM, "g");
  reading->time = g_strdup ("2026-03-29T08:00:00Z");
  fixture_add (&f, reading);
  fixture_judge (&f);
  g_assert_nonnull (strstr (fixture_reason (&f, "pair:pressure", "backlash")->sentence, "overdue"));
  fixture_clear (&f);
}

/* Repeats that scatter: so many would settle it. 0.32, 0.36, 0.34 mm: s 0.02; backlash limit 0.35 mm, so 0.01 away. */
static void
test_repeats_needed (void)
{
  static const double values[] = { 0.32, 0.36, 0.34 };
  const EfReason *reason;
  Fixture f;

  fixture_init (&f, "hl-24");
  for (guint i = 0; i < G_N_ELEMENTS (values); i++)
    fixture_read (&f, EF_READ_BACKLASH, "pressure", NULL, values[i] * MM, NULL);
  fixture_judge (&f);
  reason = fixture_reason (&f, "pair:pressure", "backlash");
  g_assert_cmpint (reason->word, ==, AGAIN);
  /* t (n - 1) 0.02 / sqrt n <= 0.01, one-sided 95 %: 12 are too few (1.796 / 3.464), 13 do (1.782 / 3.606). */
  g_assert_nonnull (strstr (reason->advice, "Or take 13 readings"));
  fixture_clear (&f);
}

/* The rule can be chosen; without a guard band nothing is undecided. */
static void
test_decision_rule (void)
{
  const EfDecisionRule shared = { EF_DECISION_SHARED_RISK, 0.95 };
  const EfDecisionRule old = { EF_DECISION_EXPANDED, 0.95 };
  const EfDecisionRule wrong = { EF_DECISION_GUARD_BAND, 0.2 };
  const char *id;
  Fixture f;

  fixture_init (&f, "hl-24");
  fixture_gauge (&f, "g", EF_GAUGE_DEPTH, 0.008 * MM);
  g_assert_cmpint (ef_rule_set_decision (f.rules).kind, ==, EF_DECISION_GUARD_BAND);
  g_assert_cmpfloat (ef_rule_set_decision (f.rules).coverage, ==, 0.95);
  /* 7 um inside: 1.645 x 4 = 6.6 is less, 2 x 4 more. */
  judge_groove (&f, &id, 0.023 * MM, "g");
  assert_word (&f, id, USE);
  g_assert_true (ef_rule_set_use_decision (f.rules, &old, NULL));
  fixture_judge (&f);
  assert_word (&f, id, AGAIN);
  g_assert_true (ef_rule_set_use_decision (f.rules, &shared, NULL));
  judge_groove (&f, &id, 0.0299 * MM, "g");
  assert_word (&f, id, USE);
  judge_groove (&f, &id, 0.0301 * MM, "g");
  assert_word (&f, id, REWORK);
  g_assert_false (ef_rule_set_use_decision (f.rules, &wrong, NULL));
  fixture_clear (&f);
}

static void
add_mark_tests (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (mark_cases); i++)
    {
      g_autofree char *path = g_strdup_printf ("/judge/rule/%s/%u", mark_cases[i].rule, i);

      g_test_add_data_func (path, &mark_cases[i], test_mark_case);
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  add_mark_tests ();
  for (guint i = 0; i < G_N_ELEMENTS (value_cases); i++)
    {
      g_autofree char *path = g_strdup_printf ("/judge/rule/%s/%u", value_cases[i].rule, i);

      g_test_add_data_func (path, &value_cases[i], test_value_case);
    }
  for (guint i = 0; i < G_N_ELEMENTS (check_cases); i++)
    {
      g_autofree char *path = g_strdup_printf ("/judge/rule/%s/%u", check_cases[i].rule, i);

      g_test_add_data_func (path, &check_cases[i], test_check_case);
    }
  g_test_add_func ("/judge/rule/gear-chip", test_chip);
  g_test_add_func ("/judge/rule/flank-pitting", test_pitting);
  g_test_add_func ("/judge/rule/flank-flat/from-width", test_flat_from_width);
  g_test_add_func ("/judge/rule/bore", test_bore);
  g_test_add_func ("/judge/rule/bore/not-bushable", test_bore_not_bushable);
  g_test_add_func ("/judge/rule/journal-wear", test_journal);
  g_test_add_func ("/judge/rule/journal-ovality", test_journal_ovality);
  g_test_add_func ("/judge/rule/width-difference", test_width_difference);
  g_test_add_func ("/judge/rule/flatness", test_flatness);
  g_test_add_func ("/judge/rule/pickup-loose/says-how", test_loose_pickup_says_how);
  g_test_add_func ("/judge/rule/end-clearance-missing", test_required);
  g_test_add_func ("/judge/rule/wall-lip-suction", test_lip_side);
  g_test_add_func ("/judge/rule/every-kind-on-every-face", test_coverage);
  g_test_add_func ("/judge/gauge/coarse-or-fine", test_gauges);
  g_test_add_func ("/judge/gauge/worst-depth-decides", test_worst_depth_decides);
  g_test_add_func ("/judge/gauge/default-of-kind", test_gauge_default);
  g_test_add_func ("/judge/gauge/end-clearance", test_clearance_gauge);
  g_test_add_func ("/judge/gauge/none-noted", test_no_gauge);
  g_test_add_func ("/judge/gauge/probability", test_probability);
  g_test_add_func ("/judge/gauge/overdue", test_overdue);
  g_test_add_func ("/judge/gauge/repeats-needed", test_repeats_needed);
  g_test_add_func ("/judge/gauge/decision-rule", test_decision_rule);

  return g_test_run ();
}
