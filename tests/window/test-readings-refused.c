/* What is typed wrongly on the Readings page is refused at its field, in words that name what was expected: a height where the face has no metal, a
 * unit of something else, a value the gauge can't show, a temperature that isn't one. What is let in but weakens the result is said beside it: no
 * gauge, too few places.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-form-picture.h"
#include "ef-gauge-choice.h"
#include "ef-reading-field.h"
#include "ef-reading-form.h"
#include "ef-readings-page.h"

#include <math.h>
#include <string.h>

#define FACE "separator/side-a"

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (ef_window_session (shell->window)));
}

static guint
n_readings (Shell *shell)
{
  return inspection_of (shell)->items[EF_ITEM_READING]->len;
}

typedef struct
{
  EfQuantity quantity;
  const char *target;
  double u, v; /* NAN: anywhere */
} Wanted;

static gboolean
is_field (GtkWidget *widget,
          gpointer data)
{
  const Wanted *wanted = data;
  const EfSlot *slot;

  if (!EF_IS_READING_FIELD (widget) || !gtk_widget_get_mapped (widget))
    return FALSE;
  slot = ef_reading_field_slot (EF_READING_FIELD (widget));
  return slot->quantity == wanted->quantity && g_str_equal (slot->target, wanted->target) && (isnan (wanted->u) || (slot->u == wanted->u && slot->v == wanted->v));
}

static EfReadingField *
find_field (Shell *shell,
            const char *form,
            const Wanted *wanted)
{
  EfReadingsPage *page;
  GtkWidget *field;

  ef_window_show_page (shell->window, "readings");
  page = EF_READINGS_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_READINGS_PAGE));
  g_assert_true (ef_readings_page_show (page, form));
  robot_settle ();
  field = robot_find (GTK_WIDGET (shell->window), is_field, (gpointer) wanted);
  g_assert_nonnull (field);
  return EF_READING_FIELD (field);
}

static void
type_into (EfField *field,
           const char *text)
{
  gtk_widget_grab_focus (GTK_WIDGET (field));
  robot_settle ();
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type (text);
  robot_key (GDK_KEY_Return, 0);
}

/* Refused: nothing kept, the text still there, the message says @words. */
static void
refused (Shell *shell,
         EfReadingField *field,
         const char *text,
         const char *words)
{
  EfField *entry = ef_reading_field_field (field);
  guint n = n_readings (shell);

  type_into (entry, text);
  g_assert_cmpuint (n_readings (shell), ==, n);
  g_assert_nonnull (ef_field_message (entry));
  g_test_message ("%s: %s", text, ef_field_message (entry));
  if (strstr (ef_field_message (entry), words) == NULL)
    g_error ("“%s” isn't in: %s", words, ef_field_message (entry));
  /* For people: no number of the item that isn't to be. */
  g_assert_false (g_str_has_prefix (ef_field_message (entry), "reading "));
  g_assert_cmpstr (ef_field_text (entry), ==, text);
}

static void
kept (Shell *shell,
      EfReadingField *field,
      const char *text)
{
  guint n = n_readings (shell);

  type_into (ef_reading_field_field (field), text);
  g_assert_cmpuint (n_readings (shell), ==, n + 1);
  g_assert_null (ef_field_message (ef_reading_field_field (field)));
}

/* A place in the shaft's bore of the plate: within the outline, off the metal. */
static void
find_hole (Shell *shell,
           double *u,
           double *v)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfFaceChart) chart = ef_face_chart_new ((EfPumpSheet *) inspection_of (shell)->sheet, FACE, &error);
  int i, k;

  g_assert_no_error (error);
  for (i = 1; i < 100; i++)
    for (k = 1; k < 100; k++)
      {
        *u = ef_length_on_grid (chart->u0 + (chart->u1 - chart->u0) * (0.2 + 0.006 * i));
        *v = ef_length_on_grid (chart->v0 + (chart->v1 - chart->v0) * (0.2 + 0.006 * k));
        if (!ef_region_contains (chart->solid, *u, *v))
          return;
      }
  g_assert_not_reached ();
}

static void
add_height (Shell *shell,
            double u,
            double v)
{
  EfReading *reading = ef_reading_new (EF_READ_FLATNESS, FACE, NULL, 2e-6, EF_UNIT_MM, NULL);
  EfChange *change = ef_change_new ("Height");

  reading->u = u;
  reading->v = v;
  ef_change_add (change, NULL, (EfItem *) reading);
  ef_item_unref (reading);
  g_assert_true (ef_session_apply (ef_window_session (shell->window), change));
  robot_settle ();
}

/* A file from elsewhere may have a height over a hole; its place gets a field, and nothing more is let in there. */
static void
test_off_metal (Shell *shell,
                gconstpointer data)
{
  Wanted wanted = { EF_READ_FLATNESS, FACE, NAN, NAN };

  shell_open_demo (shell);
  find_hole (shell, &wanted.u, &wanted.v);
  add_height (shell, wanted.u, wanted.v);
  refused (shell, find_field (shell, "separator", &wanted), "0.012", "in a hole, pocket or port, or past the edge");
  /* Elsewhere on the same face the same height is good. */
  wanted.u = NAN;
  kept (shell, find_field (shell, "separator", &wanted), "0.012");
}

static void
test_units (Shell *shell,
            gconstpointer data)
{
  const Wanted wanted = { EF_READ_TIP_CLEARANCE, "pressure", NAN, NAN };
  EfReadingField *field;

  shell_open_demo (shell);
  field = find_field (shell, "pressure", &wanted);
  refused (shell, field, "3 bar", "0.04 mm, 40 µm or 1.5 thou, found “3 bar”: that unit measures something else");
  refused (shell, field, "20 C", "that unit measures something else");
  refused (shell, field, "0.09 mn", "found “0.09 mn”");
  kept (shell, field, "0.09 mm");
}

/* In words that name the gauge and its range. */
static void
test_range (Shell *shell,
            gconstpointer data)
{
  const Wanted wanted = { EF_READ_TIP_CLEARANCE, "pressure", NAN, NAN };
  EfReadingField *field;

  shell_open_demo (shell);
  field = find_field (shell, "pressure", &wanted);
  refused (shell, field, "0.01", "within the range of Feeler blades 0.03–1 mm, 0.03 to 1 mm, found 0.01 mm");
  refused (shell, field, "1.2", "0.03 to 1 mm, found 1.2 mm");
  refused (shell, field, "-4000", "expected");
  kept (shell, field, "0.03");
}

static gboolean
is_choice (GtkWidget *widget,
           gpointer data)
{
  return EF_IS_GAUGE_CHOICE (widget) && gtk_widget_get_mapped (widget);
}

/* Let in, as there may have been none at hand, but said where it stands. */
static void
test_no_gauge (Shell *shell,
               gconstpointer data)
{
  const Wanted wanted = { EF_READ_BACKLASH, "pressure", NAN, NAN };
  EfReadingField *field;
  GtkWidget *group, *choice;

  shell_open_demo (shell);
  field = find_field (shell, "pressure", &wanted);
  g_assert_false (robot_sees (GTK_WIDGET (field), "No gauge noted"));
  for (group = GTK_WIDGET (field); (choice = robot_find (group, is_choice, NULL)) == NULL; group = gtk_widget_get_parent (group))
    ;
  gtk_drop_down_set_selected (GTK_DROP_DOWN (robot_find_type (choice, GTK_TYPE_DROP_DOWN)), 0);
  robot_settle ();
  g_assert_null (ef_gauge_choice_get (EF_GAUGE_CHOICE (choice)));
  kept (shell, field, "0.15");
  g_assert_true (robot_sees (GTK_WIDGET (field), "No gauge noted"));
  ef_session_undo (ef_window_session (shell->window));
  robot_settle ();
  g_assert_false (robot_sees (GTK_WIDGET (field), "No gauge noted"));
}

static gboolean
is_temperature (GtkWidget *widget,
                gpointer data)
{
  g_autofree char *label = NULL;

  if (!EF_IS_FIELD (widget) || !gtk_widget_get_mapped (widget))
    return FALSE;
  g_object_get (widget, "label", &label, NULL);
  return label != NULL && g_str_has_prefix (label, "Temperature of the parts");
}

static void
test_temperature (Shell *shell,
                  gconstpointer data)
{
  const Wanted wanted = { EF_READ_TIP_CLEARANCE, "pressure", NAN, NAN };
  EfReadingField *field;
  EfField *temperature;

  shell_open_demo (shell);
  field = find_field (shell, "pressure", &wanted);
  temperature = EF_FIELD (robot_find (GTK_WIDGET (shell->window), is_temperature, NULL));
  type_into (temperature, "26 mm");
  g_assert_nonnull (ef_field_message (temperature));
  g_assert_nonnull (strstr (ef_field_message (temperature), "found “26 mm”: that unit measures something else"));
  /* While it can't be read, no reading is kept as if the part were at 20 degrees. */
  refused (shell, field, "0.09", "the temperature of the parts, above, can't be read");
  type_into (temperature, "300 C");
  refused (shell, field, "0.09", "a temperature from -73 to 227");
  type_into (temperature, "26");
  g_assert_null (ef_field_message (temperature));
  kept (shell, field, "0.09");
}

static gboolean
removes_heights (Shell *shell)
{
  const EfInspection *inspection = inspection_of (shell);
  EfChange *change = ef_change_new ("None");
  guint i;

  for (i = 0; i < inspection->items[EF_ITEM_READING]->len; i++)
    {
      EfReading *reading = g_ptr_array_index (inspection->items[EF_ITEM_READING], i);

      if (reading->quantity == EF_READ_FLATNESS)
        ef_change_add (change, reading, NULL);
    }
  return ef_session_apply (ef_window_session (shell->window), change);
}

/* Not enough places for a plane: said where they're typed, and no flatness is made up. */
static void
test_too_few (Shell *shell,
              gconstpointer data)
{
  Wanted wanted = { EF_READ_FLATNESS, FACE, NAN, NAN };
  EfReadingField *field;

  shell_open_demo (shell);
  g_assert_true (removes_heights (shell));
  field = find_field (shell, "separator", &wanted);
  kept (shell, field, "0.012");
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "places read. Flatness needs 4."));
  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "minimum zone"));
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/window/readings-refused/off-metal", test_off_metal);
  SHELL_TEST ("/window/readings-refused/units", test_units);
  SHELL_TEST ("/window/readings-refused/range", test_range);
  SHELL_TEST ("/window/readings-refused/no-gauge", test_no_gauge);
  SHELL_TEST ("/window/readings-refused/temperature", test_temperature);
  SHELL_TEST ("/window/readings-refused/too-few", test_too_few);
  return g_test_run ();
}
