/* Errors of the whole program.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One domain. A code is what a caller can act on; the message is for people and names the file,
 * the field and what was expected. A function that returns FALSE or NULL always sets the error.
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

#define EF_ERROR (ef_error_quark ())

typedef enum
{
  EF_ERROR_INVALID,       /* an argument or a field that makes no sense */
  EF_ERROR_RANGE,         /* a number outside what is possible or allowed */
  EF_ERROR_GEOMETRY,      /* numbers that describe a shape that can't exist */
  EF_ERROR_PARSE,         /* text or JSON that can't be read */
  EF_ERROR_NOT_FOUND,     /* an id, file or name that isn't there */
  EF_ERROR_NOT_CONVERGED, /* an iteration or a solve that didn't settle */
  EF_ERROR_BUSY,          /* somebody else holds the store */
  EF_ERROR_FULL,          /* no room left on the disk */
  EF_ERROR_CORRUPT,       /* a store or file that is damaged */
  EF_ERROR_NEWER_FORMAT,  /* written by a newer version */
  EF_ERROR_CANCELLED,
  EF_ERROR_IO,            /* any other failure of file or device */
  EF_ERROR_REFUSED,       /* a role that isn't known, or may not do this */
  EF_ERROR_PIN,           /* a PIN that is missing or wrong, or comes too soon after wrong ones */
} EfError;

/* The domain, as EF_ERROR has it. */
GQuark ef_error_quark (void);

G_END_DECLS
