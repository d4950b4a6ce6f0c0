/* A full set of readings of the demo pump by keyboard alone, as with a gauge that types: a new job, its gauges, every point of every form in
 * turn, repeats, a wrong value taken back, a part that isn't at 20 degrees, more directions of a bore. What follows from them is compared with
 * sums done here on what was typed; then the verdict, and the store opened anew.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-gauge-choice.h"
#include "ef-gauge-dialog.h"
#include "ef-new-job-dialog.h"
#include "ef-reading-field.h"
#include "ef-reading-form.h"
#include "ef-verdict-badge.h"

#include <math.h>
#include <string.h>

#define UM 1e-6
#define N_POINTS 122 /* two sections of 15, two housings of 17, four gears of 4, the plate's 26, two shafts of 8 */
#define WARM 26.0    /* degrees C of the drive shaft */

/* What was typed, kept by the test: the place's name and a value in um. */
typedef struct
{
  char *key;
  EfQuantity quantity;
  char *target, *place;
  double angle, u, v;
  GArray *values; /* double, um */
} Typed;

static void
typed_free (gpointer data)
{
  Typed *typed = data;

  g_free (typed->key);
  g_free (typed->target);
  g_free (typed->place);
  g_array_unref (typed->values);
  g_free (typed);
}

static EfSession *
session_of (Shell *shell)
{
  return ef_window_session (shell->window);
}

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (session_of (shell)));
}

static guint
n_readings (Shell *shell)
{
  return inspection_of (shell)->items[EF_ITEM_READING]->len;
}

static EfReadingField *
focused (Shell *shell)
{
  GtkWidget *focus = gtk_window_get_focus (GTK_WINDOW (shell->window));
  GtkWidget *field = focus != NULL ? gtk_widget_get_ancestor (focus, EF_TYPE_READING_FIELD) : NULL;

  return field != NULL ? EF_READING_FIELD (field) : NULL;
}

static void
enter (const char *text)
{
  robot_type (text);
  robot_key (GDK_KEY_Return, 0);
}

typedef struct
{
  Shell *shell;
  guint n;
} Count;

static gboolean
has_readings (gpointer data)
{
  Count *count = data;

  return n_readings (count->shell) == count->n;
}

/* Every reading starts an assessment, which would be waited for each time; here only for the reading to be kept. */
#define HASTE 30000

static void
await_readings (Shell *shell,
                guint n)
{
  Count count = { shell, n };

  robot_wait (has_readings, &count, "a reading to be kept or taken back");
}

/* --- The pump on the bench ------------------------------------------------------------------------------------------------- */

static gboolean
of (const EfSlot *slot,
    const char *target,
    const char *place)
{
  return g_str_has_prefix (slot->target, target) && (place == NULL || g_strcmp0 (slot->place, place) == 0);
}

/* An oval bore: the mean diameter and what it's longer one way than across, um, the long way at @degrees. */
static double
oval (double mean,
      double longer,
      double degrees,
      const EfSlot *slot)
{
  return round (mean + longer / 2 * cos (2 * (slot->angle - degrees * G_PI / 180)));
}

static double
diameter (const EfSlot *slot)
{
  if (slot->quantity == EF_READ_JOURNAL_DIAMETER)
    return oval (17968, 2, 90, slot);
  if (of (slot, "pressure-housing", "driven"))
    return oval (18031, 12, 60, slot);
  if (of (slot, "separator", NULL))
    return oval (18102, 4, 0, slot);
  if (g_str_equal (slot->place, "bore"))
    return oval (18003, 2, 45, slot);
  return oval (18022, 4, 30, slot);
}

/* A face with a dome and a tilt of the indicator's stand. */
static double
height (const EfSlot *slot)
{
  double u = slot->u * 1e3, v = slot->v * 1e3;

  return round (200 + 0.6 * u - 0.3 * v - 0.003 * (u * u + v * v) + 3 * sin (u * v));
}

/* All within limits but the end clearance of the pressure section, 0.157 mm where 0.130 mm is allowed. um. */
static double
truth (const EfSlot *slot)
{
  gboolean pressure = g_str_has_prefix (slot->target, "pressure");
  double driven = g_strcmp0 (slot->place, "driven") == 0 ? 1 : 0;

  switch (slot->quantity)
    {
    case EF_READ_POCKET_DEPTH:
      return (pressure ? 25160 : 34084) - driven;
    case EF_READ_FACE_WIDTH:
      return (pressure ? 25003 : 34001) - (strstr (slot->target, "driven") != NULL ? 2 : 0);
    case EF_READ_END_CLEARANCE:
      return pressure ? 160 : 80;
    case EF_READ_TIP_CLEARANCE:
      return 70 + 10 * driven + round (10 * cos (slot->angle));
    case EF_READ_BACKLASH:
      return 150;
    case EF_READ_SIDE_PLAY:
      return 55 + 5 * driven;
    case EF_READ_JOURNAL_DIAMETER:
    case EF_READ_BORE_DIAMETER:
      return diameter (slot);
    case EF_READ_FLATNESS:
      return height (slot);
    case EF_N_READINGS:
    default:
      g_assert_not_reached ();
    }
}

/* The ways people and gauges write it, in turn. */
static char *
spell (double um,
       guint turn)
{
  char dot[G_ASCII_DTOSTR_BUF_SIZE];

  g_ascii_formatd (dot, sizeof dot, "%.3f", um / 1000);
  switch (turn % 5)
    {
    case 1:
      return g_strdelimit (g_strdup (dot), ".", ',');
    case 2:
      return g_strdup_printf ("%smm", dot);
    case 3:
      return g_strdup_printf ("%.0f um", um);
    case 4:
      return g_strdup_printf ("+%s mm", dot);
    default:
      return g_strdup (dot);
    }
}

static char *
key_of (EfQuantity quantity,
        const char *target,
        const char *place,
        double angle,
        double u,
        double v)
{
  return g_strdup_printf ("%d %s %s %.1f %.6f %.6f", (int) quantity, target, place != NULL ? place : "", isnan (angle) ? 999 : angle * 180 / G_PI,
                          isnan (u) ? 9 : u, isnan (v) ? 9 : v);
}

static Typed *
note (GPtrArray *all,
      const EfSlot *slot)
{
  g_autofree char *key = key_of (slot->quantity, slot->target, slot->place, slot->angle, slot->u, slot->v);
  Typed *typed;
  guint i;

  for (i = 0; i < all->len; i++)
    {
      typed = g_ptr_array_index (all, i);
      if (g_str_equal (typed->key, key))
        return typed;
    }
  typed = g_new0 (Typed, 1);
  typed->key = g_steal_pointer (&key);
  typed->quantity = slot->quantity;
  typed->target = g_strdup (slot->target);
  typed->place = g_strdup (slot->place);
  typed->angle = slot->angle;
  typed->u = slot->u;
  typed->v = slot->v;
  typed->values = g_array_new (FALSE, FALSE, sizeof (double));
  g_ptr_array_add (all, typed);
  return typed;
}

/* --- Keys ------------------------------------------------------------------------------------------------------------------ */

static void
start_job (Shell *shell)
{
  EfNewJobDialog *dialog;

  /* Out of the way: a list that opens under the pointer takes its place for a choice. */
  robot_move (GTK_WIDGET (shell->window), 100, 760);
  robot_key (GDK_KEY_n, GDK_CONTROL_MASK);
  dialog = EF_NEW_JOB_DIALOG (robot_window (EF_TYPE_NEW_JOB_DIALOG));
  g_assert_nonnull (dialog);
  robot_focus (GTK_WINDOW (dialog));
  /* The first pump of the list is the HL-24; the cursor stands in the number. */
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  enter ("J-0500");
  g_assert_null (robot_window (EF_TYPE_NEW_JOB_DIALOG));
  robot_focus (GTK_WINDOW (shell->window));
  g_assert_nonnull (session_of (shell));
  g_assert_cmpstr (inspection_of (shell)->sheet->id, ==, "hl-24");
  g_assert_cmpuint (n_readings (shell), ==, 0);
  robot_key (GDK_KEY_2, GDK_ALT_MASK);
}

static gboolean
has_focus (gpointer window)
{
  return gtk_window_get_focus (window) != NULL;
}

static gboolean
list_is_open (gpointer window)
{
  GtkWidget *focus = gtk_window_get_focus (window);

  return focus != NULL && gtk_widget_get_ancestor (focus, GTK_TYPE_POPOVER) != NULL;
}

/* Alt+G, then up to "no gauge", which is the list's first, and down to the one to be chosen. */
static void
pick_gauge (Shell *shell,
            guint index)
{
  robot_key (GDK_KEY_g, GDK_ALT_MASK);
  robot_wait (list_is_open, shell->window, "the list of gauges");
  robot_key (GDK_KEY_Home, 0);
  while (index-- > 0)
    robot_key (GDK_KEY_Down, 0);
  robot_key (GDK_KEY_Return, 0);
}

static const EfGauge *
gauge_of_kind (Shell *shell,
               EfGaugeKind kind,
               guint *index_out)
{
  const GPtrArray *gauges = inspection_of (shell)->items[EF_ITEM_GAUGE];

  for (*index_out = 0; *index_out < gauges->len; *index_out += 1)
    {
      const EfGauge *gauge = g_ptr_array_index (gauges, *index_out);

      if (gauge->kind == kind)
        return gauge;
    }
  return NULL;
}

/* The group's gauge: the job's one of this kind, or a new one as it's usual, begun from the list's last line. */
static void
choose_gauge (Shell *shell,
              EfGaugeKind kind)
{
  EfReadingField *field = focused (shell);
  guint index;
  EfGaugeDialog *dialog;

  if (gauge_of_kind (shell, kind, &index) != NULL)
    pick_gauge (shell, index + 1);
  else
    {
      pick_gauge (shell, index + 1);
      dialog = EF_GAUGE_DIALOG (robot_window (EF_TYPE_GAUGE_DIALOG));
      g_assert_nonnull (dialog);
      robot_focus (GTK_WINDOW (dialog));
      robot_wait (has_focus, dialog, "the cursor in the gauge's name");
      robot_key (GDK_KEY_Return, 0);
      g_assert_null (robot_window (EF_TYPE_GAUGE_DIALOG));
      robot_focus (GTK_WINDOW (shell->window));
      g_assert_nonnull (gauge_of_kind (shell, kind, &index));
    }
  g_assert_true (focused (shell) == field);
}

/* From the first field of a form back to its temperature, and on again by Enter. */
static void
note_temperature (Shell *shell,
                  const char *text)
{
  EfReadingField *first = focused (shell);
  guint i;

  for (i = 0; i < 3; i++)
    robot_key (GDK_KEY_Tab, GDK_SHIFT_MASK);
  enter (text);
  g_assert_true (focused (shell) == first);
}

static void
expect_last (Shell *shell,
             const EfSlot *slot,
             double um)
{
  const GPtrArray *readings = inspection_of (shell)->items[EF_ITEM_READING];
  const EfReading *last = g_ptr_array_index (readings, readings->len - 1);

  g_assert_cmpint (last->quantity, ==, slot->quantity);
  g_assert_cmpstr (last->target, ==, slot->target);
  g_assert_cmpstr (last->place, ==, slot->place);
  g_assert_cmpfloat_with_epsilon (last->value, um * UM, 1e-12);
  g_assert_nonnull (last->gauge_id);
}

/* A slip of the finger, taken back by Ctrl+Z: the cursor has gone on, maybe to the next form, and comes back. */
static void
slip (Shell *shell,
      EfReadingField *field,
      double um)
{
  guint n = n_readings (shell);
  g_autofree char *wrong = spell (um + 10, 0);

  enter (wrong);
  await_readings (shell, n + 1);
  g_assert_true (focused (shell) != field);
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  await_readings (shell, n);
  g_assert_true (focused (shell) == field);
}

/* Types the focused point, in some cases thrice, and checks that the cursor goes on. */
static void
read_point (Shell *shell,
            GPtrArray *all,
            guint turn)
{
  EfReadingField *field = focused (shell);
  const EfSlot *slot = ef_reading_field_slot (field);
  double value = truth (slot);
  gboolean repeated = slot->quantity == EF_READ_POCKET_DEPTH || slot->quantity == EF_READ_BACKLASH;
  Typed *typed = note (all, slot);
  g_autofree char *text = NULL;
  guint n, i;

  g_assert_cmpuint (typed->values->len, ==, 0);
  /* among them the last point of a group and the last of a form */
  if (turn == 3 || turn == 14 || turn == 40)
    slip (shell, field, value);
  for (i = 0; repeated && i < 2; i++)
    {
      double other = value + (i == 0 ? 2 : -1);
      g_autofree char *repeat = spell (other, turn + i);

      n = n_readings (shell);
      robot_type (repeat);
      robot_key (GDK_KEY_Return, GDK_CONTROL_MASK);
      await_readings (shell, n + 1);
      g_assert_true (focused (shell) == field);
      expect_last (shell, slot, other);
      g_array_append_val (typed->values, other);
    }
  n = n_readings (shell);
  text = spell (value, turn);
  enter (text);
  await_readings (shell, n + 1);
  expect_last (shell, slot, value);
  g_array_append_val (typed->values, value);
  g_assert_true (focused (shell) != field);
}

/* Unit and gauge of the group lie between, and the words under the bore's picture. */
static void
back_to_menu (Shell *shell)
{
  guint i;

  for (i = 0; i < 6; i++)
    {
      robot_key (GDK_KEY_Tab, GDK_SHIFT_MASK);
      if (gtk_widget_get_ancestor (gtk_window_get_focus (GTK_WINDOW (shell->window)), GTK_TYPE_MENU_BUTTON) != NULL)
        return;
    }
  g_assert_not_reached ();
}

/* More ways across a bore than the plan has, from the field after it: back to the button, a direction, its value. */
static void
read_more_directions (Shell *shell,
                      GPtrArray *all)
{
  static const char *const degrees[] = { "22.5", "112,5" };
  EfReadingField *next = focused (shell);
  guint i;

  for (i = 0; i < G_N_ELEMENTS (degrees); i++)
    {
      const EfSlot *slot;
      double value;
      Typed *typed;
      g_autofree char *text = NULL;

      back_to_menu (shell);
      robot_key (GDK_KEY_Return, 0);
      enter (degrees[i]);
      g_assert_nonnull (focused (shell));
      slot = ef_reading_field_slot (focused (shell));
      g_assert_cmpfloat_with_epsilon (slot->angle * 180 / G_PI, i == 0 ? 22.5 : 112.5, 1e-6);
      typed = note (all, slot);
      value = truth (slot);
      text = spell (value, i);
      enter (text);
      expect_last (shell, slot, value);
      g_array_append_val (typed->values, value);
      g_assert_true (focused (shell) == next);
    }
}

static gboolean
is_last_direction (const EfSlot *slot)
{
  return slot->quantity == EF_READ_BORE_DIAMETER && of (slot, "pressure-housing", "driven") && fabs (slot->angle - 0.75 * G_PI) < 1e-6;
}

static const EfGaugeKind kinds[EF_N_READINGS] = {
  [EF_READ_END_CLEARANCE] = EF_GAUGE_STRAIGHTEDGE, [EF_READ_POCKET_DEPTH] = EF_GAUGE_DEPTH, [EF_READ_FACE_WIDTH] = EF_GAUGE_MICROMETER,
  [EF_READ_TIP_CLEARANCE] = EF_GAUGE_FEELER, [EF_READ_BACKLASH] = EF_GAUGE_DIAL, [EF_READ_SIDE_PLAY] = EF_GAUGE_DIAL,
  [EF_READ_JOURNAL_DIAMETER] = EF_GAUGE_MICROMETER, [EF_READ_BORE_DIAMETER] = EF_GAUGE_BORE, [EF_READ_FLATNESS] = EF_GAUGE_DIAL,
};

/* Every point of every form, until the cursor leaves the forms. A gauge is chosen once for each quantity. */
static guint
read_all (Shell *shell,
          GPtrArray *all)
{
  gboolean chosen[EF_N_READINGS] = { FALSE };
  gboolean warm = FALSE;
  guint n;

  for (n = 0; focused (shell) != NULL; n++)
    {
      const EfSlot *slot = ef_reading_field_slot (focused (shell));
      gboolean last_direction = is_last_direction (slot);

      if (!warm && g_str_equal (slot->target, "drive-shaft"))
        {
          note_temperature (shell, "26");
          warm = TRUE;
        }
      if (!chosen[slot->quantity])
        choose_gauge (shell, kinds[slot->quantity]);
      chosen[slot->quantity] = TRUE;
      robot_set_patience (HASTE);
      read_point (shell, all, n);
      robot_set_patience (0);
      if (last_direction)
        read_more_directions (shell, all);
    }
  g_assert_true (warm);
  return n;
}

/* The check list has the cursor now, on the first answer of the first part: Space says sound. Two more answers and the note follow. */
static void
check_parts (Shell *shell)
{
  const EfInspection *inspection = inspection_of (shell);
  guint i, k, n = 0;

  for (i = 0; i < inspection->sheet->parts->len; i++)
    n += ((const EfPart *) g_ptr_array_index (inspection->sheet->parts, i))->kind >= EF_PART_PICKUP;
  g_assert_cmpuint (n, ==, 4);
  for (i = 0; i < n; i++)
    {
      robot_key (GDK_KEY_space, 0);
      for (k = 0; k < EF_N_CHECK_STATES; k++)
        robot_key (GDK_KEY_Tab, 0);
    }
  inspection = inspection_of (shell);
  g_assert_cmpuint (inspection->items[EF_ITEM_CHECK]->len, ==, n);
  for (i = 0; i < n; i++)
    g_assert_cmpint (((const EfCheck *) g_ptr_array_index (inspection->items[EF_ITEM_CHECK], i))->state, ==, EF_CHECK_SOUND);
}

/* --- Sums ------------------------------------------------------------------------------------------------------------------ */

static double
mean_of (const Typed *typed)
{
  double sum = 0;
  guint i;

  for (i = 0; i < typed->values->len; i++)
    sum += g_array_index (typed->values, double, i);
  return sum / typed->values->len;
}

/* um, at 20 degrees C; steel grows by 11.5 um/m K (common handbook value, as the program's table has it). */
static double
at_20 (const Typed *typed)
{
  gboolean warm = g_str_has_suffix (typed->target, "-shaft");

  return mean_of (typed) * (warm ? 1 - 11.5e-6 * (WARM - 20) : 1);
}

/* All means of one quantity, target and place. */
static GPtrArray *
pick (GPtrArray *all,
      EfQuantity quantity,
      const char *target,
      const char *place)
{
  GPtrArray *found = g_ptr_array_new ();
  guint i;

  for (i = 0; i < all->len; i++)
    {
      Typed *typed = g_ptr_array_index (all, i);

      if (typed->quantity == quantity && g_str_equal (typed->target, target) && g_strcmp0 (typed->place, place) == 0)
        g_ptr_array_add (found, typed);
    }
  return found;
}

static double
only (GPtrArray *all,
      EfQuantity quantity,
      const char *target,
      const char *place)
{
  g_autoptr (GPtrArray) found = pick (all, quantity, target, place);

  g_assert_cmpuint (found->len, ==, 1);
  return at_20 (g_ptr_array_index (found, 0));
}

static double
mean_over (GPtrArray *found)
{
  double sum = 0;
  guint i;

  for (i = 0; i < found->len; i++)
    sum += at_20 (g_ptr_array_index (found, i));
  return sum / found->len;
}

/* Least squares d0 + c cos 2t + s sin 2t by the normal equations and Cramer's rule. */
static void
fit_oval (GPtrArray *found,
          double out[3])
{
  double a[3][3] = { { 0 } }, b[3] = { 0 };
  double whole;
  guint i, j, k;

  for (i = 0; i < found->len; i++)
    {
      const Typed *typed = g_ptr_array_index (found, i);
      double row[3] = { 1, cos (2 * typed->angle), sin (2 * typed->angle) };

      for (j = 0; j < 3; j++)
        {
          for (k = 0; k < 3; k++)
            a[j][k] += row[j] * row[k];
          b[j] += row[j] * at_20 (typed);
        }
    }
#define DET(m) ((m)[0][0] * ((m)[1][1] * (m)[2][2] - (m)[1][2] * (m)[2][1]) - (m)[0][1] * ((m)[1][0] * (m)[2][2] - (m)[1][2] * (m)[2][0]) \
                + (m)[0][2] * ((m)[1][0] * (m)[2][1] - (m)[1][1] * (m)[2][0]))
  whole = DET (a);
  for (j = 0; j < 3; j++)
    {
      double m[3][3];

      memcpy (m, a, sizeof m);
      for (k = 0; k < 3; k++)
        m[k][j] = b[k];
      out[j] = DET (m) / whole;
    }
#undef DET
}

/* Height between the two planes of one slope that hold all points, um. */
static double
height_at_slope (GPtrArray *found,
                 double p,
                 double q)
{
  double low = INFINITY, high = -INFINITY;
  guint i;

  for (i = 0; i < found->len; i++)
    {
      const Typed *typed = g_ptr_array_index (found, i);
      double over = mean_of (typed) - p * typed->u - q * typed->v;

      low = MIN (low, over);
      high = MAX (high, over);
    }
  return high - low;
}

/* Slopes of the plane along two directions between points: a-b and c-d. FALSE where they run alike. */
static gboolean
slope_through (const Typed *a,
               const Typed *b,
               const Typed *c,
               const Typed *d,
               double *p,
               double *q)
{
  double x1 = b->u - a->u, y1 = b->v - a->v, z1 = mean_of (b) - mean_of (a);
  double x2 = d->u - c->u, y2 = d->v - c->v, z2 = mean_of (d) - mean_of (c);
  double det = x1 * y2 - x2 * y1;

  if (fabs (det) < 1e-12)
    return FALSE;
  *p = (z1 * y2 - z2 * y1) / det;
  *q = (x1 * z2 - x2 * z1) / det;
  return TRUE;
}

/* The least height of all slopes that three points, or two pairs, fix: the least of all there is, tried out one by one. */
static double
minimum_zone (GPtrArray *found)
{
  Typed **points = (Typed **) found->pdata;
  double least = INFINITY;
  double p, q;
  guint a, b, c, d;

  for (a = 0; a < found->len; a++)
    for (b = a + 1; b < found->len; b++)
      for (c = a; c < found->len; c++)
        for (d = c + 1; d < found->len; d++)
          if (slope_through (points[a], points[b], points[c], points[d], &p, &q))
            least = MIN (least, height_at_slope (found, p, q));
  return least;
}

/* --- What follows ---------------------------------------------------------------------------------------------------------- */

static const EfDerived *
derived (GPtrArray *list,
         const char *quantity,
         const char *target,
         const char *place)
{
  guint i;

  for (i = 0; i < list->len; i++)
    {
      const EfDerived *value = g_ptr_array_index (list, i);

      if (g_str_equal (value->quantity, quantity) && g_str_equal (value->target, target) && g_strcmp0 (value->place, place) == 0)
        return value;
    }
  g_test_message ("nothing derived: %s, %s, %s", quantity, target, place);
  g_assert_not_reached ();
}

static void
expect (const EfDerived *value,
        double um)
{
  g_assert_cmpfloat_with_epsilon (value->value / UM, um, 1e-3);
  g_assert_true (value->uncertainty > 0);
}

static void
expect_largest (GPtrArray *list,
                GPtrArray *all,
                EfQuantity quantity,
                const char *target,
                const char *place)
{
  g_autoptr (GPtrArray) found = pick (all, quantity, target, place);
  const EfDerived *value = derived (list, ef_quantity_name (quantity), target, place);
  double largest = -INFINITY;
  guint i;

  for (i = 0; i < found->len; i++)
    largest = MAX (largest, at_20 (g_ptr_array_index (found, i)));
  expect (value, largest);
  if (quantity == EF_READ_TIP_CLEARANCE)
    expect (derived (list, "tip-clearance-mean", target, place), mean_over (found));
}

static void
check_section (GPtrArray *list,
               GPtrArray *all,
               const EfSection *section)
{
  static const char *const places[2] = { "drive", "driven" };
  double width[2];
  guint i, direct = 0, i_derived;

  for (i = 0; i < 2; i++)
    {
      double depth = only (all, EF_READ_POCKET_DEPTH, section->id, places[i]);
      gboolean difference = FALSE;

      width[i] = only (all, EF_READ_FACE_WIDTH, section->gear_part[i], NULL);
      expect (derived (list, "pocket-depth", section->id, places[i]), depth);
      expect (derived (list, "face-width", section->gear_part[i], NULL), width[i]);
      /* Both are there: read with a feeler, and depth less width. */
      for (i_derived = 0; i_derived < list->len; i_derived++)
        {
          const EfDerived *value = g_ptr_array_index (list, i_derived);

          if (!g_str_equal (value->quantity, "end-clearance") || !g_str_equal (value->target, section->id) || !g_str_equal (value->place, places[i]))
            continue;
          if (g_str_has_prefix (value->how, "read directly"))
            {
              expect (value, only (all, EF_READ_END_CLEARANCE, section->id, places[i]));
              direct++;
            }
          else
            {
              expect (value, depth - width[i]);
              difference = TRUE;
            }
        }
      g_assert_true (difference);
      expect_largest (list, all, EF_READ_TIP_CLEARANCE, section->id, places[i]);
      expect_largest (list, all, EF_READ_SIDE_PLAY, section->id, places[i]);
    }
  g_assert_cmpuint (direct, ==, 2);
  expect (derived (list, "width-difference", section->id, NULL), fabs (width[0] - width[1]));
  expect (derived (list, "backlash", section->id, NULL), only (all, EF_READ_BACKLASH, section->id, NULL));
}

/* By the longest and the shortest where few directions were read, by the second harmonic from five on. */
static double
check_round (GPtrArray *list,
             GPtrArray *all,
             EfQuantity quantity,
             const char *part,
             const char *id)
{
  gboolean bore = quantity == EF_READ_BORE_DIAMETER;
  g_autoptr (GPtrArray) found = pick (all, quantity, part, id);
  const EfDerived *oval_value = derived (list, bore ? "bore-ovality" : "journal-ovality", part, id);
  const Typed *longest, *shortest;
  double mean = mean_over (found);
  double direction, ovality;
  guint i;

  longest = shortest = g_ptr_array_index (found, 0);
  for (i = 1; i < found->len; i++)
    {
      const Typed *typed = g_ptr_array_index (found, i);

      if (at_20 (typed) > at_20 (longest))
        longest = typed;
      if (at_20 (typed) < at_20 (shortest))
        shortest = typed;
    }
  ovality = at_20 (longest) - at_20 (shortest);
  direction = longest->angle;
  if (found->len >= 5)
    {
      double fit[3];

      fit_oval (found, fit);
      mean = fit[0];
      ovality = 2 * hypot (fit[1], fit[2]);
      direction = atan2 (fit[2], fit[1]) / 2;
    }
  else
    g_assert_cmpuint (found->len, ==, 4);
  expect (derived (list, ef_quantity_name (quantity), part, id), mean);
  expect (oval_value, ovality);
  g_assert_cmpfloat_with_epsilon (remainder (oval_value->direction - direction, G_PI), 0, 1e-6);
  return mean;
}

static void
check_part (GPtrArray *list,
            GPtrArray *all,
            const EfPart *part)
{
  guint i;

  for (i = 0; part->bores != NULL && i < part->bores->len; i++)
    {
      const char *id = g_array_index (part->bores, EfCylinder, i).id;
      double bore = check_round (list, all, EF_READ_BORE_DIAMETER, part->id, id);
      g_autofree char *shaft = g_strdup_printf ("%s-shaft", id);

      /* The shaft's front journal runs in the front housing. */
      if (part->kind == EF_PART_HOUSING)
        {
          g_autoptr (GPtrArray) journal = pick (all, EF_READ_JOURNAL_DIAMETER, shaft, g_str_has_prefix (part->id, "pressure") ? "front" : "rear");

          g_assert_cmpuint (journal->len, ==, 4);
          expect (derived (list, "bore-clearance", part->id, id), bore - mean_over (journal));
        }
    }
  for (i = 0; part->journals != NULL && i < part->journals->len; i++)
    check_round (list, all, EF_READ_JOURNAL_DIAMETER, part->id, g_array_index (part->journals, EfCylinder, i).id);
}

static void
check_flatness (GPtrArray *list,
                GPtrArray *all)
{
  static const char *const faces[] = { "pressure-housing/mating", "scavenge-housing/mating", "separator/side-a", "separator/side-b" };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (faces); i++)
    {
      g_autoptr (GPtrArray) found = pick (all, EF_READ_FLATNESS, faces[i], NULL);
      const EfDerived *value = derived (list, "flatness", faces[i], NULL);

      g_assert_cmpuint (found->len, ==, 9);
      /* along z here, square to the planes there: a slope of 1 um/mm makes 1e-6 of it */
      expect (value, minimum_zone (found));
    }
}

static void
check_derived (Shell *shell,
               GPtrArray *all)
{
  const EfInspection *inspection = inspection_of (shell);
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  const GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];
  g_autoptr (GPtrArray) list = ef_derive (inspection->sheet, (EfReading *const *) readings->pdata, readings->len, (EfGauge *const *) gauges->pdata,
                                          gauges->len);
  guint i;

  for (i = 0; i < inspection->sheet->sections->len; i++)
    check_section (list, all, g_ptr_array_index (inspection->sheet->sections, i));
  for (i = 0; i < inspection->sheet->parts->len; i++)
    check_part (list, all, g_ptr_array_index (inspection->sheet->parts, i));
  check_flatness (list, all);
}

/* Every reading kept is one that was typed, with gauge and, for the shafts alone, a temperature. */
static void
check_kept (Shell *shell,
            GPtrArray *all)
{
  const GPtrArray *readings = inspection_of (shell)->items[EF_ITEM_READING];
  guint typed = 0;
  guint i;

  for (i = 0; i < all->len; i++)
    typed += ((Typed *) g_ptr_array_index (all, i))->values->len;
  g_assert_cmpuint (readings->len, ==, typed);
  for (i = 0; i < readings->len; i++)
    {
      const EfReading *reading = g_ptr_array_index (readings, i);
      const EfGauge *gauge = ef_inspection_find (inspection_of (shell), EF_ITEM_GAUGE, reading->gauge_id);

      g_assert_nonnull (gauge);
      g_assert_cmpint (gauge->kind, ==, kinds[reading->quantity]);
      if (g_str_has_suffix (reading->target, "-shaft"))
        g_assert_cmpfloat_with_epsilon (reading->temperature, 273.15 + WARM, 1e-9);
      else
        g_assert_true (isnan (reading->temperature));
    }
}

static gboolean
is_assessed (gpointer session)
{
  return ef_session_assessment (session) != NULL && !ef_session_busy (session);
}

static void
check_verdict (Shell *shell)
{
  const EfVerdict *verdict, *section;

  robot_wait (is_assessed, session_of (shell), "the verdict");
  verdict = ef_session_assessment (session_of (shell))->verdict;
  /* One section's end clearance lies past its limit by more than the gauges leave in doubt, and lapping its housing brings it back. */
  g_assert_cmpint (verdict->word, ==, EF_VERDICT_REWORK);
  section = ef_verdict_find (verdict, "section:scavenge");
  g_assert_nonnull (section);
  g_assert_cmpint (section->word, ==, EF_VERDICT_USE);
  robot_key (GDK_KEY_3, GDK_ALT_MASK);
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), ef_verdict_shown (EF_VERDICT_REWORK)));
}

static void
check_disk (Shell *shell)
{
  g_autofree char *path = g_build_filename (shell->folder, "jobs.db", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfInspection) kept = NULL;

  g_assert_no_error (error);
  kept = ef_store_load (store, ef_session_job (session_of (shell)), &error);
  g_assert_no_error (error);
  g_assert_true (ef_inspection_equal (kept, inspection_of (shell)));
}

static void
test_full_set (Shell *shell,
               gconstpointer data)
{
  g_autoptr (GPtrArray) all = g_ptr_array_new_with_free_func (typed_free);

  start_job (shell);
  g_assert_nonnull (focused (shell));
  g_assert_cmpuint (read_all (shell, all), ==, N_POINTS);
  check_parts (shell);
  check_kept (shell, all);
  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "Still missing"));
  check_derived (shell, all);
  check_disk (shell);
  check_verdict (shell);
}

/* From form to form and back with the cursor in the first field. */
static void
test_forms (Shell *shell,
            gconstpointer data)
{
  EfReadingField *first;

  start_job (shell);
  first = focused (shell);
  robot_key (GDK_KEY_Page_Down, GDK_CONTROL_MASK);
  g_assert_cmpstr (ef_reading_field_slot (focused (shell))->target, ==, "scavenge");
  robot_key (GDK_KEY_Page_Down, GDK_CONTROL_MASK);
  g_assert_cmpstr (ef_reading_field_slot (focused (shell))->target, ==, "pressure-housing");
  robot_key (GDK_KEY_Page_Up, GDK_CONTROL_MASK);
  robot_key (GDK_KEY_Page_Up, GDK_CONTROL_MASK);
  g_assert_true (focused (shell) == first);
  robot_key (GDK_KEY_Page_Up, GDK_CONTROL_MASK);
  g_assert_true (focused (shell) == first);
  /* Enter in an empty field goes on without a reading, Shift and Enter goes back. */
  robot_key (GDK_KEY_Return, 0);
  g_assert_true (focused (shell) != NULL && focused (shell) != first);
  robot_key (GDK_KEY_Return, 0);
  robot_key (GDK_KEY_Return, GDK_SHIFT_MASK);
  robot_key (GDK_KEY_Return, GDK_SHIFT_MASK);
  g_assert_true (focused (shell) == first);
  g_assert_cmpuint (n_readings (shell), ==, 0);
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/window/readings/forms", test_forms);
  SHELL_TEST ("/window/readings/full-set", test_full_set);
  return g_test_run ();
}
