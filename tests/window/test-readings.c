/* Entering readings by keyboard alone: Enter moves on, decimals with a comma, other units, wrong text and values beyond the gauge refused at the field.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-reading-field.h"

#include <math.h>
#include <string.h>

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (ef_window_session (shell->window)));
}

static gboolean
is_tip_field (GtkWidget *widget,
              gpointer data)
{
  return EF_IS_READING_FIELD (widget) && gtk_widget_get_mapped (widget)
         && ef_reading_field_slot (EF_READING_FIELD (widget))->quantity == EF_READ_TIP_CLEARANCE;
}

static EfReadingField *
focused (Shell *shell)
{
  GtkWidget *focus = gtk_window_get_focus (GTK_WINDOW (shell->window));
  GtkWidget *field = focus != NULL ? gtk_widget_get_ancestor (focus, EF_TYPE_READING_FIELD) : NULL;

  return field != NULL ? EF_READING_FIELD (field) : NULL;
}

static const EfReading *
last_reading (Shell *shell)
{
  const GPtrArray *readings = inspection_of (shell)->items[EF_ITEM_READING];

  return g_ptr_array_index (readings, readings->len - 1);
}

static void
enter (const char *text)
{
  robot_type (text);
  robot_key (GDK_KEY_Return, 0);
}

static void
test_entry (Shell *shell,
            gconstpointer data)
{
  EfReadingField *first, *second;
  guint n;

  shell_open_demo (shell);
  ef_window_show_page (shell->window, "readings");
  robot_settle ();
  first = EF_READING_FIELD (robot_find (GTK_WIDGET (shell->window), is_tip_field, NULL));
  g_assert_nonnull (first);
  gtk_widget_grab_focus (GTK_WIDGET (ef_reading_field_field (first)));
  robot_settle ();
  n = inspection_of (shell)->items[EF_ITEM_READING]->len;

  /* the feeler blades of the demo begin at 0.03 mm */
  enter ("0.01 mm");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, n);
  g_assert_nonnull (ef_field_message (ef_reading_field_field (first)));
  g_assert_true (focused (shell) == first);
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  enter ("wide");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, n);
  g_assert_nonnull (ef_field_message (ef_reading_field_field (first)));
  g_assert_cmpstr (ef_field_text (ef_reading_field_field (first)), ==, "wide");

  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  enter ("0,09");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, n + 1);
  g_assert_cmpfloat_with_epsilon (last_reading (shell)->value, 0.09e-3, 1e-12);
  g_assert_null (ef_field_message (ef_reading_field_field (first)));
  second = focused (shell);
  g_assert_true (second != NULL && second != first);

  enter ("95 um");
  g_assert_cmpfloat_with_epsilon (last_reading (shell)->value, 95e-6, 1e-12);
  g_assert_cmpint (last_reading (shell)->unit, ==, EF_UNIT_UM);
  g_assert_true (focused (shell) != second);
  enter ("4 thou");
  /* 25.4 um a thou, by definition of the inch */
  g_assert_cmpfloat_with_epsilon (last_reading (shell)->value, 101.6e-6, 1e-12);
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, n + 3);
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/window/readings/entry", test_entry);
  return g_test_run ();
}
