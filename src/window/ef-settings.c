/* The program's GSettings in the program's own terms.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-settings.h"
#include "../record/ef-backup.h"

#include <adwaita.h>
#include <math.h>

GSettings *
ef_settings_get (void)
{
  static GSettings *settings;

  if (settings == NULL)
    settings = g_settings_new (EF_APP_ID);
  return settings;
}

static EfUnit
unit_setting (const char *key,
              EfUnit fallback)
{
  g_autofree char *name = g_settings_get_string (ef_settings_get (), key);
  EfUnit unit;

  return ef_unit_from_name (name, &unit) ? unit : fallback;
}

EfUnit
ef_settings_length_unit (void)
{
  return unit_setting ("length-unit", EF_UNIT_MM);
}

EfUnit
ef_settings_pressure_unit (void)
{
  return unit_setting ("pressure-unit", EF_UNIT_BAR);
}

EfPaper
ef_settings_paper (void)
{
  g_autofree char *paper = g_settings_get_string (ef_settings_get (), "paper");

  return g_str_equal (paper, "letter") ? EF_PAPER_LETTER : EF_PAPER_A4;
}

char *
ef_settings_bench (void)
{
  return g_settings_get_string (ef_settings_get (), "bench");
}

char *
ef_settings_role (void)
{
  return g_settings_get_string (ef_settings_get (), "role");
}

void
ef_settings_decision (char **decision_out,
                      double *coverage_out)
{
  g_autofree char *name = g_settings_get_string (ef_settings_get (), "decision");

  *decision_out = NULL;
  *coverage_out = 0;
  if (g_str_equal (name, "rule-set"))
    return;
  *decision_out = g_steal_pointer (&name);
  *coverage_out = g_settings_get_double (ef_settings_get (), "coverage");
}

EfUnit
ef_settings_shown_unit (EfUnit unit)
{
  switch (unit)
    {
    case EF_UNIT_M:
    case EF_UNIT_MM:
    case EF_UNIT_UM:
    case EF_UNIT_INCH:
    case EF_UNIT_THOU:
      return ef_settings_length_unit ();
    case EF_UNIT_PA:
    case EF_UNIT_BAR:
    case EF_UNIT_PSI:
      return ef_settings_pressure_unit ();
    case EF_UNIT_RAD:
      return EF_UNIT_DEG;
    case EF_UNIT_K:
      return EF_UNIT_CELSIUS;
    case EF_UNIT_RADS:
      return EF_UNIT_RPM;
    case EF_UNIT_M3S:
      return EF_UNIT_LPM;
    default:
      return unit;
    }
}

char *
ef_settings_format (double si,
                    EfUnit unit)
{
  if (!isfinite (si))
    return g_strdup ("–");
  return ef_format_quantity (si, ef_settings_shown_unit (unit), -1);
}

char *
ef_settings_exact (double si,
                   EfUnit unit)
{
  char digits[G_ASCII_DTOSTR_BUF_SIZE];
  g_autofree char *usual = NULL;
  double read;

  if (!isfinite (si))
    return NULL;
  usual = ef_format_quantity (si, unit, -1);
  if (ef_parse_quantity (usual, unit, &read, NULL, NULL) && read == si)
    return g_steal_pointer (&usual);
  /* Nine digits hold a length below a metre to the nanometre. */
  g_ascii_formatd (digits, sizeof digits, "%.9g", ef_unit_from_si (unit, si));
  return g_strdup_printf ("%s %s", digits, ef_unit_symbol (unit));
}

char *
ef_settings_format_length (double metres)
{
  return ef_settings_format (metres, EF_UNIT_MM);
}

char *
ef_settings_format_pressure (double pascal)
{
  return ef_settings_format (pascal, EF_UNIT_BAR);
}

EfBackupPolicy
ef_settings_backup_policy (void)
{
  EfBackupPolicy policy = ef_backup_policy_default;

  policy.most = (goffset) g_settings_get_uint (ef_settings_get (), "backup-most") * 1000000000;

  return policy;
}

char *
ef_settings_backup_folder (const char *store_path)
{
  g_autofree char *common = g_settings_get_string (ef_settings_get (), "backup-folder");

  return ef_backup_folder (store_path, common);
}

static void
text_size_changed_cb (GSettings *settings,
                      const char *key,
                      gpointer user_data)
{
  static int own_dpi; /* the desktop's, in 1024ths */
  GtkSettings *gtk_settings = gtk_settings_get_default ();

  if (gtk_settings == NULL)
    return;
  if (own_dpi == 0)
    g_object_get (gtk_settings, "gtk-xft-dpi", &own_dpi, NULL);
  if (own_dpi <= 0)
    own_dpi = 96 * 1024;
  g_object_set (gtk_settings, "gtk-xft-dpi",
                (int) ((gint64) own_dpi * g_settings_get_int (settings, "text-size") / 100), NULL);
}

static void
colour_scheme_changed_cb (GSettings *settings,
                          const char *key,
                          gpointer user_data)
{
  g_autofree char *scheme = g_settings_get_string (settings, "colour-scheme");
  AdwColorScheme value = ADW_COLOR_SCHEME_DEFAULT;

  if (g_str_equal (scheme, "light"))
    value = ADW_COLOR_SCHEME_FORCE_LIGHT;
  else if (g_str_equal (scheme, "dark"))
    value = ADW_COLOR_SCHEME_FORCE_DARK;
  adw_style_manager_set_color_scheme (adw_style_manager_get_default (), value);
}

void
ef_settings_follow_display (void)
{
  static gboolean following;
  GSettings *settings = ef_settings_get ();

  if (following)
    return;
  following = TRUE;
  g_signal_connect (settings, "changed::text-size", G_CALLBACK (text_size_changed_cb), NULL);
  g_signal_connect (settings, "changed::colour-scheme", G_CALLBACK (colour_scheme_changed_cb), NULL);
  text_size_changed_cb (settings, "text-size", NULL);
  colour_scheme_changed_cb (settings, "colour-scheme", NULL);
}
