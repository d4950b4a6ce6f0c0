/* A small certificate as a PDF, with cross-reference table and all (ISO 32000-1, 7.5; constructed).
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include <gio/gio.h>

static inline GBytes *
certificate_pdf (const char *words)
{
  const char *const objects[] = { "<</Type/Catalog/Pages 2 0 R>>", "<</Type/Pages/Kids[3 0 R]/Count 1>>",
                                  "<</Type/Page/Parent 2 0 R/MediaBox[0 0 200 100]/Contents 4 0 R/Resources<<>>>>" };
  g_autofree char *content = g_strdup_printf ("%% %s\n", words);
  GString *text = g_string_new ("%PDF-1.4\n");
  gsize at[4];

  for (guint i = 0; i < 3; i++)
    {
      at[i] = text->len;
      g_string_append_printf (text, "%u 0 obj%sendobj\n", i + 1, objects[i]);
    }
  at[3] = text->len;
  g_string_append_printf (text, "4 0 obj<</Length %u>>stream\n%sendstream endobj\n", (guint) strlen (content), content);
  {
    gsize table = text->len;

    g_string_append (text, "xref\n0 5\n0000000000 65535 f \n");
    for (guint i = 0; i < 4; i++)
      g_string_append_printf (text, "%010u 00000 n \n", (guint) at[i]);
    g_string_append_printf (text, "trailer<</Size 5/Root 1 0 R>>\nstartxref\n%u\n%%%%EOF\n", (guint) table);
  }

  return g_string_free_to_bytes (text);
}
