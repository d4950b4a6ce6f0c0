/* The end of a PDF, byte by byte.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-pdf-shape.h"
#include "ef-pdf-attachment.h"

#include <string.h>

#define ENTRY 20 /* bytes of a line of the table: ISO 32000-1, 7.5.4 */

typedef struct
{
  const char *at, *end;
} Scan;

static void
skip_space (Scan *scan)
{
  while (scan->at < scan->end && strchr (" \t\r\n\f", *scan->at) != NULL && *scan->at != '\0')
    scan->at++;
}

static gboolean
take_word (Scan *scan,
           const char *word)
{
  gsize length = strlen (word);

  if ((gsize) (scan->end - scan->at) < length || memcmp (scan->at, word, length) != 0)
    return FALSE;
  scan->at += length;

  return TRUE;
}

/* At most ten digits. */
static gboolean
take_number (Scan *scan,
             guint64 *number_out)
{
  const char *start = scan->at;

  *number_out = 0;
  while (scan->at < scan->end && g_ascii_isdigit (*scan->at) && scan->at - start < 10)
    *number_out = *number_out * 10 + (guint64) (*scan->at++ - '0');

  return scan->at > start;
}

static gboolean
is_entry (const char *line)
{
  for (guint i = 0; i < 18; i++)
    if (i == 10 || i == 16 ? line[i] != ' ' : i == 17 ? line[i] != 'n' && line[i] != 'f' : !g_ascii_isdigit (line[i]))
      return FALSE;

  return strchr (" \r\n", line[18]) != NULL && line[18] != '\0' && strchr ("\r\n", line[19]) != NULL && line[19] != '\0';
}

/* "xref", then sections of lines, up to "trailer". */
static gboolean
take_table (Scan *scan)
{
  guint64 first, n;

  if (!take_word (scan, "xref"))
    return FALSE;
  skip_space (scan);
  while (!take_word (scan, "trailer"))
    {
      if (!take_number (scan, &first) || !take_word (scan, " ") || !take_number (scan, &n))
        return FALSE;
      skip_space (scan);
      if (n > (guint64) (scan->end - scan->at) / ENTRY)
        return FALSE;
      for (guint64 i = 0; i < n; i++, scan->at += ENTRY)
        if (!is_entry (scan->at))
          return FALSE;
      skip_space (scan);
    }

  return TRUE;
}

static gboolean
contains (const Scan *scan,
          const char *word)
{
  return memmem (scan->at, (gsize) (scan->end - scan->at), word, strlen (word)) != NULL;
}

static const char *
last_of (const char *data,
         gsize length,
         const char *word)
{
  gsize n = strlen (word);

  for (gsize i = length >= n ? length - n + 1 : 0; i > 0; i--)
    if (memcmp (data + i - 1, word, n) == 0)
      return data + i - 1;

  return NULL;
}

/* The table's place, as the last line but one says; FALSE for an end that isn't one. */
static gboolean
find_table (const char *data,
            gsize length,
            guint64 *offset_out,
            const char **start_out)
{
  gsize tail = MIN (length, 1024);
  const char *start = last_of (data + length - tail, tail, "startxref");
  Scan scan = { start, data + length };

  if (start == NULL || !take_word (&scan, "startxref"))
    return FALSE;
  skip_space (&scan);
  if (!take_number (&scan, offset_out))
    return FALSE;
  skip_space (&scan);
  if (!take_word (&scan, "%%EOF"))
    return FALSE;
  skip_space (&scan);
  *start_out = start;

  return scan.at == scan.end && *offset_out < (guint64) (start - data);
}

gboolean
ef_pdf_check_shape (const char *data,
                    gsize length,
                    const char *name,
                    GError **error)
{
  Scan scan = { data, NULL };
  guint64 offset = 0;

  if (length > EF_PDF_LARGEST)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected a PDF of at most %u MiB, found more", name, EF_PDF_LARGEST >> 20);
      return FALSE;
    }
  if (length < 8 || memcmp (data, "%PDF-", 5) != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected a PDF, found something else", name);
      return FALSE;
    }
  if (!find_table (data, length, &offset, &scan.end))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: the PDF is damaged or cut off: expected its end, found none", name);
      return FALSE;
    }
  scan.at = data + offset;
  if (take_table (&scan) && !contains (&scan, "/Encrypt"))
    {
      if (!contains (&scan, "/Prev") && !contains (&scan, "/XRefStm") && !contains (&scan, "#"))
        return TRUE;
    }
  else if (contains (&scan, "/Encrypt"))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected a PDF that anybody can read, found an encrypted one", name);
      return FALSE;
    }
  g_set_error (error, EF_ERROR, EF_ERROR_PARSE,
               "%s: expected a PDF as this program writes it, found one that was damaged, or saved anew by another program; take the attached exchange file out of it and verify that", name);

  return FALSE;
}
