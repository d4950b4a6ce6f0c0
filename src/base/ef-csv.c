/* Writing comma-separated values.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-csv.h"

#include <math.h>
#include <string.h>

static void
separate (GString *csv)
{
  if (csv->len > 0 && csv->str[csv->len - 1] != '\n')
    g_string_append_c (csv, ',');
}

/* An empty first field leaves no trace by which the next would know that it isn't the first. */
static void
append_empty (GString *csv)
{
  separate (csv);
  g_string_append (csv, "\"\"");
}

static gboolean
is_number (const char *text)
{
  char *end;

  g_ascii_strtod (text, &end);

  return end != text && *end == '\0';
}

void
ef_csv_text (GString *csv,
             const char *text)
{
  gboolean formula;

  g_return_if_fail (csv != NULL);
  if (text == NULL || *text == '\0')
    {
      append_empty (csv);
      return;
    }
  formula = strchr ("=+-@\t\r", *text) != NULL && !is_number (text);
  separate (csv);
  if (!formula && strpbrk (text, ",\"\r\n") == NULL)
    {
      g_string_append (csv, text);
      return;
    }
  g_string_append_c (csv, '"');
  if (formula)
    g_string_append_c (csv, '\'');
  for (const char *c = text; *c != '\0'; c++)
    {
      if (*c == '"')
        g_string_append_c (csv, '"');
      g_string_append_c (csv, *c);
    }
  g_string_append_c (csv, '"');
}

void
ef_csv_number (GString *csv,
               double number)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];

  g_return_if_fail (csv != NULL);
  if (!isfinite (number))
    {
      append_empty (csv);
      return;
    }
  separate (csv);
  g_string_append (csv, g_ascii_formatd (text, sizeof text, "%.15g", number + 0.0));
}

void
ef_csv_integer (GString *csv,
                gint64 number)
{
  g_return_if_fail (csv != NULL);
  separate (csv);
  g_string_append_printf (csv, "%" G_GINT64_FORMAT, number);
}

void
ef_csv_end (GString *csv)
{
  g_return_if_fail (csv != NULL);
  g_string_append (csv, "\r\n");
}

void
ef_csv_head (GString *csv,
             ...)
{
  const char *name;
  va_list names;

  va_start (names, csv);
  while ((name = va_arg (names, const char *)) != NULL)
    ef_csv_text (csv, name);
  va_end (names);
  ef_csv_end (csv);
}
