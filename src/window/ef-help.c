/* Help topics and the window that shows them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-help.h"

#include <glib/gi18n.h>

typedef struct
{
  const char *title;
  const char *text;
} Topic;

static const Topic topics[] = {
  { N_ ("A job from start to end"),
    N_ ("A job is one pump on the bench. Its five pages stand in the order of the work:\n\n"
        "1. Map — mark on each face what you see.\n"
        "2. Readings — measure what matters, with the gauge you used.\n"
        "3. Verdict — read what follows, and why.\n"
        "4. Rework — work through the steps and tick them off.\n"
        "5. Record — complete the job's details, sign off, print or export.\n\n"
        "You can go back and forth at any time: Alt+1 to Alt+5. Each entry is on disk as soon as it is made; there is nothing to save. "
        "Undo (Ctrl+Z) takes back the last entry on any page.") },
  { N_ ("Map"),
    N_ ("Press a part of the pump, then one of its faces. Choose what you see — scoring, groove, lip … — and draw it where it is: "
        "a point with a diameter, a line with a width, or a closed area. Then type how deep it is and say with which gauge. "
        "A fingernail is a gauge too, a coarse one.\n\n"
        "The figures at the foot of the page follow each mark. Where marks overlap, the deeper one counts.") },
  { N_ ("Readings"),
    N_ ("Choose a part at the left. The picture shows where the gauge goes. Type a value and press Enter: it is kept, and the next "
        "field is ready. Ctrl+Enter keeps it and stays, for a repeat. Repeats collect under the field and are averaged; press one to "
        "correct or remove it.\n\n"
        "“0.04”, “0,04”, “0.04 mm”, “40 um” and “1.5 thou” are all understood. A value without a unit is in the unit chosen above the "
        "fields. What can't be read stays in the field with a message beside it.") },
  { N_ ("Verdict"),
    N_ ("Four words: use again, measure again, rework, scrap. The worst of what a part carries decides the part; the parts decide the "
        "pair, the section and the pump. “Measure again” means that what was measured can't support a verdict; the reason says what "
        "is needed.\n\n"
        "Each reason names the value, the limit and where the limit comes from. You may set another verdict by hand, with a reason; "
        "the computed one stays in the record beside it.") },
  { N_ ("Rework"),
    N_ ("The steps follow from the verdict, in an order that can be worked. Read the cautions first. They do not replace the rules of "
        "your shop or your local codes.") },
  { N_ ("Record"),
    N_ ("Every entry stands in the history with its time, role and bench, also those that were undone. Nothing is ever deleted. "
        "The exchange file carries the whole job to another computer, where it can be imported.\n\n"
        "Where several people work at the shop, the main menu's People and Roles says who may sign, set a verdict by hand or withdraw a "
        "job, and with which PIN; the person in the header is who is at work. Withdrawn Jobs lists what was withdrawn, and puts it back.") },
  { N_ ("Pump sheets"),
    N_ ("A pump sheet describes a pump model in numbers; every outline is computed from them. Sheets shipped with the program are "
        "edited as a copy. Numbers that describe a pump that can't exist are refused with the reason.") },
  { N_ ("Without a mouse"),
    N_ ("Tab and Shift+Tab move between fields and buttons, arrow keys within lists and on the pump, Enter or Space presses. "
        "All keys are listed under Keyboard Shortcuts (Ctrl+?).") },
};

static GtkWidget *
make_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

static void
key_to_close (GtkWidget *window)
{
  GtkEventController *controller = gtk_shortcut_controller_new ();

  gtk_shortcut_controller_add_shortcut (GTK_SHORTCUT_CONTROLLER (controller),
                                        gtk_shortcut_new (gtk_keyval_trigger_new (GDK_KEY_Escape, 0),
                                                          gtk_named_action_new ("window.close")));
  gtk_widget_add_controller (window, controller);
}

void
ef_help_show (GtkWindow *parent)
{
  GtkWidget *window = g_object_new (ADW_TYPE_WINDOW, "transient-for", parent, "title", _ ("Help"),
                                    "default-width", 640, "default-height", 640, NULL);
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *scrolled = gtk_scrolled_window_new ();
  GtkWidget *clamp = adw_clamp_new ();
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  guint i;

  for (i = 0; i < G_N_ELEMENTS (topics); i++)
    {
      gtk_box_append (GTK_BOX (box), make_label (_ (topics[i].title), "title-4"));
      gtk_box_append (GTK_BOX (box), make_label (_ (topics[i].text), NULL));
    }
  g_object_set (box, "margin-start", 18, "margin-end", 18, "margin-top", 18, "margin-bottom", 24, NULL);
  adw_clamp_set_child (ADW_CLAMP (clamp), box);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), clamp);
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (scrolled), GTK_POLICY_NEVER, GTK_POLICY_AUTOMATIC);
  gtk_widget_set_vexpand (scrolled, TRUE);
  gtk_box_append (GTK_BOX (content), adw_header_bar_new ());
  gtk_box_append (GTK_BOX (content), scrolled);
  adw_window_set_content (ADW_WINDOW (window), content);
  key_to_close (window);
  gtk_window_present (GTK_WINDOW (window));
}
