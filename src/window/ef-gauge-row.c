/* A row of a list of gauges.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-gauge-row.h"
#include "ef-settings.h"

#include <glib/gi18n.h>
#include <math.h>

const char *
ef_gauge_due_words (const EfGauge *gauge)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_local ();
  g_autofree char *today = g_date_time_format (now, "%Y-%m-%d");

  if (ef_gauge_overdue (gauge, today))
    return _ ("check overdue");
  return ef_gauge_due_soon (gauge, today) ? _ ("check due soon") : NULL;
}

static void
append_text (GString *text,
             const char *before,
             const char *value)
{
  if (value != NULL && *value != '\0')
    g_string_append_printf (text, "%s%s", before, value);
}

static char *
describe (const EfGauge *gauge)
{
  g_autofree char *resolution = ef_settings_format_length (gauge->resolution);
  g_autofree char *uncertainty = ef_settings_format_length (gauge->uncertainty);
  guint n = ef_certificates_length (gauge->certificates);
  GString *text = g_string_new (_ (ef_gauge_kind_label (gauge->kind)));

  append_text (text, _ (", no. "), gauge->serial);
  g_string_append_printf (text, _ (" · resolution %s · uncertainty %s (k = 2)"), resolution, uncertainty);
  append_text (text, _ (" · checked "), gauge->checked);
  append_text (text, _ (" · due "), gauge->due);
  append_text (text, " · ", gauge->note);
  if (n > 0)
    g_string_append_printf (text, g_dngettext (GETTEXT_PACKAGE, " · %u certificate file", " · %u certificate files", n), n);
  return g_string_free (text, FALSE);
}

/* Icon and words, so that it reads without colour. */
static GtkWidget *
make_warning (const char *words)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);

  gtk_box_append (GTK_BOX (box), gtk_image_new_from_icon_name ("dialog-warning-symbolic"));
  gtk_box_append (GTK_BOX (box), gtk_label_new (words));
  gtk_widget_add_css_class (box, "ef-due");
  gtk_widget_set_valign (box, GTK_ALIGN_CENTER);
  return box;
}

static gboolean
differs (double a,
         double b)
{
  return isnan (a) != isnan (b) || fabs (a - b) > 1e-12;
}

static char *
change_words (const EfGauge *copy,
              const EfGauge *now)
{
  GString *text = g_string_new (NULL);
  g_autofree char *uncertainty = ef_settings_format_length (now->uncertainty);
  g_autofree char *resolution = ef_settings_format_length (now->resolution);

  if (differs (copy->uncertainty, now->uncertainty))
    g_string_append_printf (text, _ ("; uncertainty now %s"), uncertainty);
  if (differs (copy->resolution, now->resolution))
    g_string_append_printf (text, _ ("; resolution now %s"), resolution);
  if (g_strcmp0 (copy->checked, now->checked) != 0 && now->checked != NULL)
    g_string_append_printf (text, _ ("; checked %s"), now->checked);
  if (g_strcmp0 (copy->due, now->due) != 0 && now->due != NULL)
    g_string_append_printf (text, _ ("; due %s"), now->due);
  if (!ef_certificates_equal (copy->certificates, now->certificates))
    g_string_append (text, _ ("; other certificate files"));
  if (text->len == 0)
    return g_string_free (text, TRUE), NULL;
  g_string_erase (text, 0, 2);
  g_string_prepend (text, _ ("since rechecked: "));
  return g_string_free (text, FALSE);
}

char *
ef_gauge_since_words (const GPtrArray *shop,
                      const EfGauge *copy)
{
  for (guint i = 0; shop != NULL && i < shop->len; i++)
    {
      const EfShopGauge *entry = shop->pdata[i];

      if (g_strcmp0 (entry->gauge->item.id, copy->item.id) != 0)
        continue;
      return entry->retired != NULL ? g_strdup_printf (_ ("since retired: %s"), entry->retired) : change_words (copy, entry->gauge);
    }
  return NULL;
}

GtkWidget *
ef_gauge_row_new (const EfGauge *gauge)
{
  g_autofree char *text = describe (gauge);
  const char *due = ef_gauge_due_words (gauge);
  GtkWidget *row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", gauge->name, "subtitle", text, "activatable", TRUE, NULL);

  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
  if (due != NULL)
    adw_action_row_add_suffix (ADW_ACTION_ROW (row), make_warning (due));
  g_object_set_data_full (G_OBJECT (row), "ef-gauge", g_strdup (gauge->item.id), g_free);
  return row;
}
