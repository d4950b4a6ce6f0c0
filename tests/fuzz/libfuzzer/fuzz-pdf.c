/* Files attached to PDFs. What begins with a byte 1 is a list of changes to a PDF that this program made: bytes by chance would hardly ever be one.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "record/ef-pdf-attachment.h"

#include <string.h>

#define CHANGED 1

/* The least that is a PDF: one empty page. */
static GBytes *
bare_pdf (void)
{
  static const char *const objects[] = { "<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
                                         "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 99 99] >>" };
  GString *text = g_string_new ("%PDF-1.7\n");
  gsize places[G_N_ELEMENTS (objects)], table;

  for (guint i = 0; i < G_N_ELEMENTS (objects); i++)
    {
      places[i] = text->len;
      g_string_append_printf (text, "%u 0 obj\n%s\nendobj\n", i + 1, objects[i]);
    }
  table = text->len;
  g_string_append (text, "xref\n0 4\n0000000000 65535 f \n");
  for (guint i = 0; i < G_N_ELEMENTS (objects); i++)
    g_string_append_printf (text, "%010u 00000 n \n", (guint) places[i]);
  g_string_append_printf (text, "trailer\n<< /Size 4 /Root 1 0 R >>\nstartxref\n%u\n%%%%EOF\n", (guint) table);

  return g_string_free_to_bytes (text);
}

static GBytes *
made_pdf (void)
{
  static GBytes *made;

  if (made == NULL)
    {
      static const char digits[] = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
      g_autoptr (GBytes) bare = bare_pdf ();
      g_autoptr (GBytes) file = g_bytes_new_static ("{}", 2);
      const EfPdfAttachment attachment = { "J-1.endfloat.json", "a job", "2026-03-01T08:00:00Z", file, 1, digits, digits };
      g_autoptr (GError) error = NULL;

      made = ef_pdf_attach (bare, &attachment, &error);
      g_assert_no_error (error);
    }

  return made;
}

static void
try_pdf (GBytes *pdf)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPdfRead) read = ef_pdf_read (pdf, FUZZ_FILE, &error);

  fuzz_check_answer (read != NULL, error);
}

void
fuzz_pdf (const guint8 *data,
          gsize size)
{
  g_autoptr (GBytes) pdf = NULL;

  if (size == 0 || data[0] != CHANGED)
    pdf = g_bytes_new (data, size);
  else
    {
      gsize length;
      const char *made = g_bytes_get_data (made_pdf (), &length);
      char *bytes = g_memdup2 (made, length);

      for (gsize i = 1; i + 3 <= size; i += 3)
        bytes[((gsize) data[i] << 8 | data[i + 1]) % length] = (char) data[i + 2];
      pdf = g_bytes_new_take (bytes, length);
    }
  try_pdf (pdf);
}
