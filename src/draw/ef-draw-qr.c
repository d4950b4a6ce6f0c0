/* A text as a QR code.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-qr.h"

#include <qrencode.h>
#include <string.h>

#define QUIET 4 /* modules, ISO/IEC 18004:2015, 9.1 */

static gboolean
dark (const QRcode *code, int x, int y)
{
  return x < code->width && (code->data[y * code->width + x] & 1) != 0;
}

gboolean
ef_draw_qr (cairo_t *cr, const char *text, double size)
{
  QRcode *code = QRcode_encodeData ((int) strlen (text), (const unsigned char *) text, 0, QR_ECLEVEL_M);
  double module;

  if (code == NULL)
    return FALSE;
  module = size / (code->width + 2 * QUIET);
  cairo_save (cr);
  cairo_new_path (cr);
  cairo_set_source_rgb (cr, 1, 1, 1);
  cairo_rectangle (cr, 0, 0, size, size);
  cairo_fill (cr);
  cairo_set_source_rgb (cr, 0, 0, 0);
  /* Neighbours in a row as one bar, and all in one path: no seams between modules. */
  for (int y = 0; y < code->width; y++)
    for (int x = 0; x < code->width; x++)
      {
        int first = x;

        while (dark (code, x, y))
          x++;
        if (x > first)
          cairo_rectangle (cr, (first + QUIET) * module, (y + QUIET) * module, (x - first) * module, module);
      }
  cairo_fill (cr);
  cairo_restore (cr);
  QRcode_free (code);
  return TRUE;
}
